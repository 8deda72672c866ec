//! The critical path: how early, how late, and how much play each activity has.
//!
//! ```text
//!   ├──────────┤·····total float·····│      early start + time = early finish
//!   ES        EF                     LF     total float = late start − early start
//!              ├─lag─▶ ES of the next       free float  = least (ES next − lag) − EF
//! ```

use crate::time::{HOURS_MAX, Time};

/// The most activities taken.
pub const ACTIVITIES_MAX: usize = 100_000;

/// One activity after another, with a wait between them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Follows {
    /// Position of the first activity.
    pub before: usize,
    /// Position of the next.
    pub after: usize,
    /// From the finish of the first to the earliest start of the next; not negative.
    pub lag: Time,
}

/// When an activity can and must happen, counted from the start of the whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dates {
    /// It cannot start sooner.
    pub early_start: Time,
    /// It cannot finish sooner.
    pub early_finish: Time,
    /// Starting later delays the end.
    pub late_start: Time,
    /// Finishing later delays the end.
    pub late_finish: Time,
    /// How much it can slip before the end slips.
    pub total_float: Time,
    /// How much it can slip before anything that follows slips.
    pub free_float: Time,
}

impl Dates {
    /// Whether any slip of it is a slip of the end.
    #[must_use]
    pub fn critical(&self) -> bool {
        self.total_float == Time::ZERO
    }
}

/// Why a network is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NetworkError {
    /// An activity's time is negative or far too long.
    #[error("activity {at} takes {given}; it must lie between 0 and {HOURS_MAX} h")]
    Time {
        /// Position.
        at: usize,
        /// As given.
        given: Time,
    },
    /// A link to nowhere, or a wait that cannot be.
    #[error(
        "the link from {} to {} with a wait of {} cannot be: both must exist and the wait lie \
         between 0 and {HOURS_MAX} h",
        .0.before, .0.after, .0.lag
    )]
    Link(Follows),
    /// The links go round.
    #[error("the activities {0:?} wait for each other in a loop")]
    Loop(Vec<usize>),
    /// Too many activities.
    #[error("{0} activities; at most {ACTIVITIES_MAX} are taken")]
    TooMany(usize),
}

/// Early and late dates and floats of every activity.
///
/// # Units and sign
/// Everything counts from the common start; late dates from the least possible end.
///
/// # Errors
/// A time or wait out of range, a link to an activity that does not exist, a loop.
///
/// # Source
/// Kelley, Walker, "Critical-path planning and scheduling", Proc. Eastern Joint Computer Conf.
/// (1959), 160; free float with a wait as in NAVEDTRA 14233, activity networks.
pub fn dates(times: &[Time], links: &[Follows]) -> Result<Vec<Dates>, NetworkError> {
    check(times, links)?;
    let sorted = sorted(times.len(), links)?;
    let mut onward = vec![Vec::new(); times.len()];
    for link in links {
        onward[link.before].push((link.after, link.lag));
    }
    let mut early = vec![Time::ZERO; times.len()];
    for &i in &sorted {
        for &(next, lag) in &onward[i] {
            early[next] = early[next].max(early[i] + times[i] + lag);
        }
    }
    let end = (0..times.len()).map(|i| early[i] + times[i]).max().unwrap_or(Time::ZERO);
    let mut late = vec![end; times.len()];
    for &i in sorted.iter().rev() {
        let limit = onward[i].iter().map(|&(next, lag)| late[next] - times[next] - lag).min();
        late[i] = limit.unwrap_or(end);
    }
    let one = |i: usize| {
        let early_finish = early[i] + times[i];
        let next = onward[i].iter().map(|&(next, lag)| early[next] - lag).min();
        Dates {
            early_start: early[i],
            early_finish,
            late_start: late[i] - times[i],
            late_finish: late[i],
            total_float: late[i] - early_finish,
            free_float: next.unwrap_or(end) - early_finish,
        }
    };
    Ok((0..times.len()).map(one).collect())
}

fn check(times: &[Time], links: &[Follows]) -> Result<(), NetworkError> {
    let sane = |time: Time| (Time::ZERO..=Time::LONGEST).contains(&time);
    if times.len() > ACTIVITIES_MAX {
        return Err(NetworkError::TooMany(times.len()));
    }
    if let Some((at, &given)) = times.iter().enumerate().find(|&(_, &time)| !sane(time)) {
        return Err(NetworkError::Time { at, given });
    }
    let bad = |l: &&Follows| l.before.max(l.after) >= times.len() || !sane(l.lag);
    links.iter().find(bad).map_or(Ok(()), |link| Err(NetworkError::Link(*link)))
}

fn sorted(len: usize, links: &[Follows]) -> Result<Vec<usize>, NetworkError> {
    let mut waits = vec![0_usize; len];
    let mut onward = vec![Vec::new(); len];
    for link in links {
        waits[link.after] += 1;
        onward[link.before].push(link.after);
    }
    let mut sorted: Vec<usize> = (0..len).filter(|&i| waits[i] == 0).collect();
    let mut at = 0;
    while let Some(&i) = sorted.get(at) {
        at += 1;
        for &next in &onward[i] {
            waits[next] -= 1;
            if waits[next] == 0 {
                sorted.push(next);
            }
        }
    }
    if sorted.len() == len {
        return Ok(sorted);
    }
    Err(NetworkError::Loop((0..len).filter(|&i| waits[i] > 0).collect()))
}

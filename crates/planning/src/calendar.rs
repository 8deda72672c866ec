//! When the work is done: evenings, parts still on their way, and steps for two.
//!
//! The work is done one task at a time, in the order of a plan. What cannot be done yet is passed
//! over for the next task that can; a task is begun only if it ends before the session does, unless
//! no session is long enough for it.

use crate::bits::Bits;
use crate::state::{State, set};
use crate::time::{HOURS_MAX, Time};
use crate::work::Work;

/// A stretch of time in which someone works.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Session {
    /// When it begins, counted from any zero; the same zero as for arrivals.
    pub start: Time,
    /// How long it lasts.
    pub length: Time,
    /// How many people are there.
    pub people: u8,
}

impl Session {
    fn end(&self) -> Time {
        self.start + self.length
    }
}

/// When work can be done and when parts come.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Calendar {
    /// In the order of time, not overlapping.
    pub sessions: Vec<Session>,
    /// (Position of a part, when it comes). A missing part that is not listed never comes.
    pub arrivals: Vec<(usize, Time)>,
}

/// What a task waited for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cause {
    /// Nothing: it is the first.
    Begin,
    /// The hands: another task was being done until then.
    Task(usize),
    /// The next session: the one before was over, or had too little time left.
    Session,
    /// A part came.
    Part(usize),
    /// A session with enough people.
    People,
}

/// One task, when it is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Slot {
    /// Position of the task.
    pub task: usize,
    /// Position of the session in which it begins.
    pub session: usize,
    /// When its changeover begins.
    pub start: Time,
    /// When it is done.
    pub finish: Time,
    /// The changeover before it.
    pub changeover: Time,
    /// What it waited for.
    pub cause: Cause,
    /// Whether it runs on into a later session, being longer than any.
    pub split: bool,
}

/// The work laid out in time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// The tasks in the order in which they are done.
    pub slots: Vec<Slot>,
    /// Tasks that the sessions given do not reach.
    pub unreached: Vec<usize>,
    /// What decides the end: positions in `slots`, from a wait for a part or people (or the
    /// beginning) to the last task, each waiting for the one before it.
    pub chain: Vec<usize>,
}

impl Schedule {
    /// When the last task is done; `None` while some task is not reached.
    #[must_use]
    pub fn finish(&self) -> Option<Time> {
        self.slots.last().filter(|_| self.unreached.is_empty()).map(|slot| slot.finish)
    }
}

/// Why a calendar is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CalendarError {
    /// A session that cannot be.
    #[error("session {at} lasts {length}; it must last more than 0 and at most {HOURS_MAX} h")]
    Length {
        /// Position.
        at: usize,
        /// As given.
        length: Time,
    },
    /// Sessions out of order.
    #[error("session {at} begins before the one before it ends; list them in order of time")]
    Overlap {
        /// Position of the later one.
        at: usize,
    },
    /// An arrival of nothing.
    #[error("arrival {at} names part {part}, which does not exist")]
    Part {
        /// Position of the arrival.
        at: usize,
        /// The part's position as given.
        part: usize,
    },
}

/// Lays tasks out in time.
///
/// # Errors
/// Sessions that overlap or have no length, arrivals of parts that do not exist; all at once.
pub fn schedule(
    work: &Work,
    state: &State,
    order: &[usize],
    calendar: &Calendar,
) -> Result<Schedule, Vec<CalendarError>> {
    let errors = check(work, calendar);
    if !errors.is_empty() {
        return Err(errors);
    }
    Ok(Layout::new(work, state, order, calendar).run())
}

/// How much later a part could come without the end moving: the latest session start that does,
/// less when it comes now. `None` if the part is not on its way or the end is not reached.
///
/// # Errors
/// As for [`schedule`].
pub fn part_float(
    work: &Work,
    state: &State,
    order: &[usize],
    calendar: &Calendar,
    part: usize,
) -> Result<Option<Time>, Vec<CalendarError>> {
    let Some(end) = schedule(work, state, order, calendar)?.finish() else { return Ok(None) };
    let Some(at) = calendar.arrivals.iter().position(|&(which, _)| which == part) else {
        return Ok(None);
    };
    let comes = calendar.arrivals[at].1;
    let mut later = calendar.clone();
    let mut float = Time::ZERO;
    for session in calendar.sessions.iter().filter(|session| session.start > comes) {
        later.arrivals[at].1 = session.start;
        let moved = schedule(work, state, order, &later)?.finish().is_none_or(|f| f > end);
        if moved {
            break;
        }
        float = session.start - comes;
    }
    Ok(Some(float))
}

fn check(work: &Work, calendar: &Calendar) -> Vec<CalendarError> {
    let mut errors = Vec::new();
    for (at, session) in calendar.sessions.iter().enumerate() {
        if !(Time::seconds(1)..=Time::LONGEST).contains(&session.length) {
            errors.push(CalendarError::Length { at, length: session.length });
        }
        let before = at.checked_sub(1).and_then(|at| calendar.sessions.get(at));
        if before.is_some_and(|before| before.end() > session.start) {
            errors.push(CalendarError::Overlap { at });
        }
    }
    for (at, &(part, _)) in calendar.arrivals.iter().enumerate() {
        if part >= work.parts().len() {
            errors.push(CalendarError::Part { at, part });
        }
    }
    errors
}

struct Layout<'a> {
    work: &'a Work,
    calendar: &'a Calendar,
    left: Vec<usize>,
    done: Bits,
    hand: Vec<Option<usize>>,
    /// When each part is there; `None`: never.
    comes: Vec<Option<Time>>,
    slots: Vec<Slot>,
}

impl<'a> Layout<'a> {
    fn new(work: &'a Work, state: &State, order: &[usize], calendar: &'a Calendar) -> Self {
        let len = work.tasks().len();
        let done = set(len, &state.done);
        let mut seen = done.clone();
        let mut left = Vec::new();
        for &task in order.iter().filter(|&&task| task < len) {
            if !seen.has(task) {
                left.push(task);
                seen.add(task);
            }
        }
        let mut comes = vec![Some(Time::seconds(i64::MIN)); work.parts().len()];
        for &part in &state.missing {
            let arrival = calendar.arrivals.iter().find(|&&(which, _)| which == part);
            comes[part] = arrival.map(|&(_, time)| time);
        }
        let hand = state.in_hand.clone();
        Self { work, calendar, left, done, hand, comes, slots: Vec::new() }
    }

    fn run(mut self) -> Schedule {
        let mut busy = Time::seconds(i64::MIN);
        for (at, session) in self.calendar.sessions.iter().enumerate() {
            let mut now = session.start.max(busy);
            while now < session.end() && !self.left.is_empty() {
                if let Some(place) = self.next(now, at) {
                    now = self.take(place, now, at);
                    busy = now;
                } else if let Some(later) = self.arrival(now, session.end()) {
                    now = later;
                } else {
                    break;
                }
            }
        }
        let chain = self.chain();
        Schedule { slots: self.slots, unreached: self.left, chain }
    }

    /// The first task of the order that can be begun.
    fn next(&self, now: Time, session: usize) -> Option<usize> {
        let here = self.calendar.sessions[session];
        self.left.iter().position(|&task| {
            let before = self.work.relation.before(task);
            let needs = self.changeover(task) + self.work.draft.tasks[task].time;
            let people = self.work.draft.tasks[task].people;
            before.iter().all(|t| self.done.has(t))
                && self.there(task).is_some_and(|time| time <= now)
                && people <= here.people
                && (needs <= here.end() - now || self.longer_than_any(needs, people))
        })
    }

    fn longer_than_any(&self, needs: Time, people: u8) -> bool {
        let fit = |s: &Session| s.people >= people && s.length >= needs;
        !self.calendar.sessions.iter().any(fit)
    }

    /// When everything a task needs is there.
    fn there(&self, task: usize) -> Option<Time> {
        let first = Some(Time::seconds(i64::MIN));
        self.work.needs[task]
            .iter()
            .fold(first, |latest, &part| Some(latest?.max(self.comes[part]?)))
    }

    fn changeover(&self, task: usize) -> Time {
        let asks = self.work.asks[task].iter().enumerate();
        asks.filter_map(|(f, ask)| self.work.changeover(f, self.hand[f], (*ask)?)).sum()
    }

    /// The next moment in the session at which a part comes.
    fn arrival(&self, now: Time, end: Time) -> Option<Time> {
        let times = self.comes.iter().flatten();
        times.copied().filter(|&time| now < time && time < end).min()
    }

    /// Does the task at `place` of what is left; when it is done.
    fn take(&mut self, place: usize, now: Time, session: usize) -> Time {
        let task = self.left.remove(place);
        let changeover = self.changeover(task);
        let cause = self.cause(task, now, session);
        let needs = changeover + self.work.draft.tasks[task].time;
        let people = self.work.draft.tasks[task].people;
        let (finish, split) = self.work_through(now, needs, session, people);
        for (hand, ask) in self.hand.iter_mut().zip(&self.work.asks[task]) {
            *hand = ask.or(*hand);
        }
        self.done.add(task);
        self.slots.push(Slot { task, session, start: now, finish, changeover, cause, split });
        finish
    }

    /// Uses up working time from `now` on, over as many sessions as it takes. Runs past the last
    /// session if it must.
    fn work_through(&self, now: Time, needs: Time, session: usize, people: u8) -> (Time, bool) {
        let (mut now, mut needs) = (now, needs);
        for (at, here) in self.calendar.sessions.iter().enumerate().skip(session) {
            if here.people < people {
                continue;
            }
            now = now.max(here.start);
            let room = here.end() - now;
            if needs <= room {
                return (now + needs, at > session);
            }
            needs = needs - room;
            now = here.end();
        }
        (now + needs, true)
    }

    fn cause(&self, task: usize, now: Time, session: usize) -> Cause {
        let last = self.slots.last();
        if let Some(last) = last.filter(|last| last.finish == now) {
            return Cause::Task(last.task);
        }
        // The part that came last, if it came after the hands were free.
        let free = last.map_or(Time::seconds(i64::MIN), |last| last.finish);
        let needs = self.work.needs[task].iter();
        let late = needs.filter_map(|&part| Some((self.comes[part]?, part))).max();
        if let Some((time, part)) = late.filter(|&(time, _)| time > free) {
            let earlier = self.calendar.sessions[..session].iter();
            if time == now || !earlier.clone().any(|s| s.start >= time && s.start >= free) {
                return Cause::Part(part);
            }
        }
        let people = self.work.draft.tasks[task].people;
        let before = session.checked_sub(1).map(|at| self.calendar.sessions[at]);
        match before {
            Some(before) if before.people < people && before.end() > free => Cause::People,
            None if last.is_none() => Cause::Begin,
            _ => Cause::Session,
        }
    }

    fn chain(&self) -> Vec<usize> {
        let mut chain = Vec::new();
        for (at, slot) in self.slots.iter().enumerate().rev() {
            chain.push(at);
            if matches!(slot.cause, Cause::Part(_) | Cause::People | Cause::Begin) {
                break;
            }
        }
        chain.reverse();
        chain
    }
}

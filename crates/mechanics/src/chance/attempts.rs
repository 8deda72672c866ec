//! What a log of attempts says: as counted, a tooth miscounted, misread, or something slipped.
//!
//! ```text
//!   attempt       teeth moved      read        the change a tooth makes
//!     1               –            34.9°        anchor ±9.47°, plate ±8.57°,
//!     2          anchor −1,        34.1°        both against each other ±0.90°
//!                plate +1                       → −0.8° read for −0.90° moved: as counted
//! ```
//!
//! Every attempt was made as counted, or with one tooth too many or too few at an end that came
//! apart, or its reading was misread, or the plate slipped by no whole tooth. For each story the
//! plate angle after it follows from the readings (a weighted mean), and so does how well the
//! readings fit the story. Stories are weighed by that fit and by how often such things happen.
//!
//! | symbol | meaning | here |
//! |---|---|---|
//! | u | scatter of one reading | [`Attempt::u`] |
//! | W | how far off a misreading or a slip is, typically | [`WILD`] |
//! | – | how often each happens, before anything is read | [`Habits`] |
//!
//! **Limits.** One thing per attempt goes wrong, and by one tooth per end. Two misreadings that
//! happen to agree are taken for the truth, by man and program alike. How often people miscount
//! is chosen, no source.
//!
//! **Source.** Bayes' rule; the angle of a story is the weighted mean of its readings (JCGM
//! 100:2008, 5.1.2, or one step of a Kalman filter). Checked against summing over a fine grid of
//! angles in the tests.

use axlewright_quantity::{Angle, Ratio};

use super::ChanceError;
use super::compare::normal_below;
use crate::splines::{Attempt, Choice, Move, SplineError, Splines, Wanted};

/// How far off a misreading or a slip is, typically, in degrees: a wrong edge of the plate, a
/// wrong column of ten, half a tooth.
///
/// # Source
/// Chosen, no source.
pub const WILD: Angle = Angle::deg(5.0);

/// Stories less likely than this beside the likeliest are given up.
const FORGET: f64 = 1e-9;
/// And at most so many are kept.
const STORIES_MAX: usize = 512;
/// Most attempts in one log.
pub const ATTEMPTS_MAX: usize = 100;

/// How often things go wrong, before anything is read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Habits {
    /// One tooth too many or too few, per end that comes apart.
    pub miscount: Ratio,
    /// A reading that is off by far more than its u.
    pub misread: Ratio,
    /// The plate moves by no whole tooth between two readings.
    pub slip: Ratio,
}

impl Habits {
    /// Three miscounts, two misreadings and one slip in a hundred.
    ///
    /// # Source
    /// Chosen, no source.
    pub const STATED: Self =
        Self { miscount: Ratio::one(0.03), misread: Ratio::one(0.02), slip: Ratio::one(0.01) };

    fn check(self) -> Result<Self, ChanceError> {
        // At a half and more, going wrong would be the rule.
        let fine = |share: Ratio| (0.0..0.5).contains(&share.to_one());
        if [self.miscount, self.misread, self.slip].into_iter().all(fine) {
            Ok(self)
        } else {
            Err(ChanceError::Nonsense { what: "how often things go wrong" })
        }
    }
}

/// What happened at an attempt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The teeth were moved as counted.
    AsCounted,
    /// So many more than counted, + tail down, one at most per end.
    Miscounted(Move),
    /// The reading is far off; the teeth are as counted.
    Misread,
    /// The plate has moved by no whole tooth.
    Slipped,
}

impl Cause {
    /// What to say of it.
    pub fn words(self) -> String {
        let one = |end: &str, teeth: i32| {
            let way = if teeth > 0 { "tail down" } else { "tail up" };
            (teeth != 0).then(|| format!("one tooth further {way} at the {end} than counted"))
        };
        match self {
            Self::AsCounted => "as counted".to_owned(),
            Self::Misread => "the reading is far off".to_owned(),
            Self::Slipped => "something moved by no whole tooth".to_owned(),
            Self::Miscounted(extra) => {
                let ends = [one("anchor", extra.anchor_teeth), one("plate end", extra.plate_teeth)];
                ends.into_iter().flatten().collect::<Vec<_>>().join(" and ")
            }
        }
    }
}

/// How likely each cause is for one attempt.
#[derive(Debug, Clone, PartialEq)]
pub struct Told {
    /// Counted from one.
    pub attempt: usize,
    /// Likeliest first; together one.
    pub causes: Vec<(Cause, Ratio)>,
}

impl Told {
    /// The likeliest cause.
    ///
    /// # Valid for
    /// Naming one. How much likelier it is than the next stands in `causes`.
    pub fn likeliest(&self) -> Cause {
        self.causes.first().map_or(Cause::AsCounted, |cause| cause.0)
    }

    /// How likely all causes are for which `which` holds.
    ///
    /// # Source
    /// Sum over causes that exclude each other.
    pub fn chance(&self, which: impl Fn(Cause) -> bool) -> Ratio {
        Ratio::one(self.causes.iter().filter(|c| which(c.0)).map(|c| c.1.to_one()).sum())
    }
}

/// A plate angle as one story has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// How likely the story is.
    pub chance: Ratio,
    /// Plate angle now, by it.
    pub angle: Angle,
    /// Standard uncertainty of that, k = 1.
    pub u: Angle,
}

/// What the whole log says.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    /// Attempt by attempt.
    pub attempts: Vec<Told>,
    /// Where the plate stands now, likeliest first; stories with the same angle put together.
    pub standings: Vec<Standing>,
    habits: Habits,
}

/// A move to make next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextMove {
    /// The move; its error is that of the likeliest standing.
    pub choice: Choice,
    /// Chance that the plate then stands within tolerance, the risk of a miscount included.
    pub chance: Ratio,
}

/// One way the log may have come about.
#[derive(Debug, Clone)]
struct Story {
    /// Logarithm of its weight.
    log: f64,
    /// Mean and variance of the plate angle now, degrees.
    mean: f64,
    variance: f64,
    causes: Vec<Cause>,
}

/// Reads a log of attempts, and weighs what may have happened where they do not agree.
///
/// # Valid for
/// Readings with independent scatter; see the module's limits.
/// # Errors
/// No attempt, more than 100; an angle beyond 90°, an uncertainty outside 0.000001° to 10°, more
/// teeth than go once round; habits that are no shares below a half.
/// # Source
/// Bayes' rule; see the module's text.
///
/// ```
/// use axlewright_mechanics::chance::attempts::{Cause, Habits, read};
/// use axlewright_mechanics::splines::{Attempt, Move, Splines};
/// use axlewright_quantity::Angle;
///
/// let splines = Splines::new(38, 42)?;
/// let tooth = Move { anchor_teeth: -1, plate_teeth: 0 };
/// let at = |made, deg| Attempt { made, angle: Angle::deg(deg), u: Angle::deg(0.15) };
/// // One tooth moved tail up, but the angle changed by two: 18.9°, not 9.5°.
/// let log = read(&splines, &[at(Move::default(), 35.2), at(tooth, 16.2)], Habits::STATED)?;
/// assert_eq!(log.attempts[1].likeliest(), Cause::Miscounted(tooth));
/// # Ok::<(), axlewright_mechanics::chance::ChanceError>(())
/// ```
pub fn read(splines: &Splines, attempts: &[Attempt], habits: Habits) -> Result<Log, ChanceError> {
    let habits = habits.check()?;
    if attempts.is_empty() {
        return Err(SplineError::NoAttempt.into());
    }
    if ATTEMPTS_MAX < attempts.len() {
        return Err(ChanceError::Nonsense { what: "number of attempts" });
    }
    for (number, attempt) in (1..).zip(attempts) {
        splines.check_attempt(number, attempt)?;
    }
    let mut stories: Vec<Story> = Vec::new();
    for (number, attempt) in attempts.iter().enumerate() {
        stories = if number == 0 {
            first(attempt, habits)
        } else {
            let further = |story: &Story| further(splines, story, attempt, habits);
            stories.iter().flat_map(further).collect()
        };
        forget(&mut stories);
    }
    let all: f64 = stories.iter().map(|story| story.log.exp()).sum();
    let weighed: Vec<(f64, Story)> =
        stories.into_iter().map(|story| (story.log.exp() / all, story)).collect();
    let attempts = (0..attempts.len()).map(|n| told(n, &weighed)).collect();
    Ok(Log { attempts, standings: standings(&weighed), habits })
}

/// The first reading: nothing is known before it, so it fits whatever it is.
fn first(attempt: &Attempt, habits: Habits) -> Vec<Story> {
    let (angle, u) = (attempt.angle.to_deg(), attempt.u.to_deg());
    let misread = habits.misread.to_one();
    let story = |weight: f64, variance: f64, cause| Story {
        log: weight.ln(),
        mean: angle,
        variance,
        causes: vec![cause],
    };
    let wild = WILD.to_deg();
    vec![
        story(1.0 - misread, u * u, Cause::AsCounted),
        story(misread, u * u + wild * wild, Cause::Misread),
    ]
    .into_iter()
    .filter(|story| story.log.is_finite())
    .collect()
}

/// What may have happened at an attempt, with how often it does.
fn causes(made: Move, habits: Habits) -> Vec<(Cause, f64)> {
    let [miscount, misread, slip] =
        [habits.miscount, habits.misread, habits.slip].map(Ratio::to_one);
    let extras = |moved: i32| -> Vec<(i32, f64)> {
        if moved == 0 {
            return vec![(0, 1.0)];
        }
        vec![(0, 1.0 - miscount), (1, 0.5 * miscount), (-1, 0.5 * miscount)]
    };
    let mut all = vec![(Cause::Misread, misread), (Cause::Slipped, slip)];
    for (anchor_teeth, p) in extras(made.anchor_teeth) {
        for (plate_teeth, q) in extras(made.plate_teeth) {
            let extra = Move { anchor_teeth, plate_teeth };
            let cause = if extra.ends() == 0 { Cause::AsCounted } else { Cause::Miscounted(extra) };
            all.push((cause, (1.0 - misread - slip) * p * q));
        }
    }
    all.retain(|&(_, weight)| 0.0 < weight);
    all
}

/// A story with one more attempt, in every way it may have gone.
fn further(splines: &Splines, story: &Story, attempt: &Attempt, habits: Habits) -> Vec<Story> {
    let (read, u, wild) = (attempt.angle.to_deg(), attempt.u.to_deg(), WILD.to_deg());
    let step = |(cause, weight): (Cause, f64)| {
        let extra = if let Cause::Miscounted(extra) = cause { extra } else { Move::default() };
        let expected = story.mean + (splines.change(attempt.made) + splines.change(extra)).to_deg();
        let wild_if = |is: bool| if is { wild * wild } else { 0.0 };
        let before = story.variance + wild_if(cause == Cause::Slipped);
        let reading = u * u + wild_if(cause == Cause::Misread);
        let (off, total) = (read - expected, before + reading);
        let gain = before / total;
        let mut causes = story.causes.clone();
        causes.push(cause);
        Story {
            log: story.log + weight.ln() - 0.5 * (off * off / total + total.ln()),
            mean: expected + gain * off,
            variance: before * (1.0 - gain),
            causes,
        }
    };
    causes(attempt.made, habits).into_iter().map(step).collect()
}

/// Likeliest first, scaled to it, the hopeless left out.
fn forget(stories: &mut Vec<Story>) {
    let best = stories.iter().map(|story| story.log).fold(f64::NEG_INFINITY, f64::max);
    stories.iter_mut().for_each(|story| story.log -= best);
    stories.retain(|story| FORGET.ln() <= story.log);
    stories.sort_by(|a, b| b.log.total_cmp(&a.log));
    stories.truncate(STORIES_MAX);
}

/// Causes of one attempt over all stories.
fn told(number: usize, weighed: &[(f64, Story)]) -> Told {
    let mut causes: Vec<(Cause, f64)> = Vec::new();
    for (weight, story) in weighed {
        let Some(&cause) = story.causes.get(number) else { continue };
        match causes.iter_mut().find(|had| had.0 == cause) {
            Some(had) => had.1 += weight,
            None => causes.push((cause, *weight)),
        }
    }
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    let causes = causes.into_iter().map(|(cause, p)| (cause, Ratio::one(p))).collect();
    Told { attempt: number + 1, causes }
}

/// Where the plate stands by the stories, those within half a standard uncertainty together.
fn standings(weighed: &[(f64, Story)]) -> Vec<Standing> {
    let mut told: Vec<(f64, f64, f64)> = Vec::new();
    for (weight, story) in weighed {
        let (mean, u) = (story.mean, story.variance.sqrt());
        let near = |had: &&mut (f64, f64, f64)| {
            (had.1 - mean).abs() <= 0.5 * u.min(had.2) && (had.2 / u - 1.0).abs() < 0.5
        };
        match told.iter_mut().find(near) {
            Some((had, m, v)) => {
                let all = *had + weight;
                let apart = mean - *m;
                let square = (*had * *v * *v + weight * u * u) / all
                    + *had * weight * apart * apart / (all * all);
                (*m, *v, *had) = (*m + weight / all * apart, square.sqrt(), all);
            }
            None => told.push((*weight, mean, u)),
        }
    }
    told.sort_by(|a, b| b.0.total_cmp(&a.0));
    let standing = |(p, mean, u): (f64, f64, f64)| Standing {
        chance: Ratio::one(p),
        angle: Angle::deg(mean),
        u: Angle::deg(u),
    };
    told.into_iter().map(standing).collect()
}

impl Log {
    /// Where the plate most likely stands.
    pub fn now(&self) -> Option<Standing> {
        self.standings.first().copied()
    }

    /// Chance that the plate stands within `within` of an angle now.
    ///
    /// # Source
    /// Normal distribution of each standing, weighed by its chance.
    pub fn chance_at(&self, angle: Angle, within: Angle) -> Ratio {
        let each = |standing: &Standing| {
            let u = standing.u.to_deg().max(1e-9);
            let off = (angle - standing.angle).to_deg();
            let half = within.to_deg();
            let share = normal_below((off + half) / u) - normal_below((off - half) / u);
            standing.chance.to_one() * share
        };
        Ratio::one(self.standings.iter().map(each).sum())
    }

    /// Whether the last reading should be taken again before any tooth is moved: a misreading or
    /// a slip explains it better than one chance in three.
    pub fn read_again(&self) -> bool {
        let odd = |cause| matches!(cause, Cause::Misread | Cause::Slipped);
        self.attempts.last().is_some_and(|last| 1.0 / 3.0 < last.chance(odd).to_one())
    }

    /// The next move, best chance first; among chances within one in a hundred the move that takes
    /// fewer ends apart, then fewer teeth.
    ///
    /// # Units and sign
    /// Angles are plate angles as in the attempts: with the same weights hanging on the bar.
    /// # Errors
    /// As [`Splines::choices`]; a tolerance that is not above zero.
    /// # Source
    /// [`chance_at`](Self::chance_at) of the target less the change, times (1 − miscount) for
    /// every end that comes apart.
    pub fn next(
        &self,
        splines: &Splines,
        (target, within): (Angle, Angle),
        wanted: Wanted,
    ) -> Result<Vec<NextMove>, ChanceError> {
        if !(0.0 < within.to_deg() && within.is_finite()) {
            return Err(ChanceError::Nonsense { what: "tolerance of the plate angle" });
        }
        let now = self.now().ok_or(SplineError::NoAttempt)?;
        let sure = 1.0 - self.habits.miscount.to_one();
        let next = |choice: Choice| {
            let stands = self.chance_at(target - choice.change, within).to_one();
            let chance = Ratio::one(stands * sure.powi(i32::from(choice.ends)));
            NextMove { choice, chance }
        };
        let choices = splines.choices(now.angle, target, wanted)?;
        let work = |next: &NextMove| (u32::from(next.choice.ends), next.choice.as_move().teeth());
        let moves = choices.into_iter().map(next).collect();
        Ok(ranked(moves, |next| next.chance.to_one(), work))
    }
}

/// One in a hundred: a chance that differs by no more is no reason for more work.
const TIE: f64 = 0.01;

/// Best first; whatever is within a tie of the best that is left, by the work it makes.
fn ranked<T>(
    mut items: Vec<T>,
    share: impl Fn(&T) -> f64,
    work: impl Fn(&T) -> (u32, u32),
) -> Vec<T> {
    let best_first = |a: &T, b: &T| share(b).total_cmp(&share(a)).then(work(a).cmp(&work(b)));
    items.sort_by(best_first);
    let mut told = Vec::with_capacity(items.len());
    let mut rest = items;
    while let Some(best) = rest.first().map(&share) {
        let tied = rest.iter().take_while(|item| best - share(item) <= TIE).count();
        let others = rest.split_off(tied);
        rest.sort_by(|a, b| work(a).cmp(&work(b)).then(best_first(a, b)));
        told.append(&mut rest);
        rest = others;
    }
    told
}

#[cfg(test)]
mod tests {
    use super::ranked;

    /// Chance, ends, teeth. 0.88 and 0.875 are one for the man under the car, so the one end comes
    /// before the two; 0.80 is not, though nothing comes apart for it.
    #[test]
    fn among_ties_the_less_work() {
        let moves = [(0.80, 0, 0), (0.88, 2, 9), (0.875, 1, 3), (0.871, 1, 2), (0.795, 1, 1)];
        let told = ranked(moves.to_vec(), |m| m.0, |m| (m.1, m.2));
        let order: Vec<f64> = told.into_iter().map(|m| m.0).collect();
        assert_eq!(order, [0.871, 0.875, 0.88, 0.80, 0.795]);
    }
}

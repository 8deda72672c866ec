//! Choosing teeth by the chance of landing, not by the nearest number.
//!
//! ```text
//!    free angle wanted, as each build would need it
//!            ▁▂▄█▇▄▂▁
//!    ──┼────────┼────────┼──   what teeth can reach
//!      31 of 100  │       12 of 100
//!              88 of 100 → this one; within one in a hundred, the move that is less work
//! ```
//!
//! The nearest angle need not be the best: a curve of trim over angle that steepens, a tolerance
//! that is not symmetric, or a move that takes both ends apart for one build in a thousand more.
//! And with two corners it is the pair that counts: both in their limits, and level.
//!
//! **Source.** Own arrangement over [`crate::splines`] and [`super::corner`]; counting.

use axlewright_quantity::{Amount, Angle};

use super::corner::{Ask, Case, Limits, Told, both};
use super::{ChanceError, Plan, Tally, Watch};
use crate::splines::{Choice, Splines, Wanted};

/// One in a hundred: a chance that differs by no more is no reason for more work.
const TIE: f64 = 0.01;

/// One corner that is to be indexed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corner<'a> {
    /// The corner and its doubts.
    pub case: &'a Case,
    /// What is asked of it; its free angle is the one it stands at now, as measured.
    pub ask: Ask<'a>,
    /// What is good enough.
    pub limits: Limits,
    /// Its teeth.
    pub splines: Splines,
    /// How many reachable angles are looked at, and which ends may come apart.
    pub wanted: Wanted,
}

/// Where a move lands.
#[derive(Debug, Clone, PartialEq)]
pub struct Landing {
    /// The move. Its target is the free angle that the best values ask for.
    pub choice: Choice,
    /// Builds within limits.
    pub within: Tally,
    /// Mean trim.
    pub trim: Amount,
    /// Its standard uncertainty.
    pub u: Amount,
}

/// Where a pair of moves lands.
#[derive(Debug, Clone, PartialEq)]
pub struct PairLanding {
    /// On the left.
    pub left: Landing,
    /// On the right.
    pub right: Landing,
    /// Builds with both corners in their limits and no further apart than allowed.
    pub within: Tally,
}

impl Corner<'_> {
    /// The moves worth looking at, each with the trims of its builds.
    fn landings(
        &self,
        plan: Plan,
        watch: Watch<'_>,
    ) -> Result<Vec<(Landing, Vec<f64>)>, ChanceError> {
        let needed = self.case.plain(&self.ask)?;
        let needed = needed.get(Told::FreeNeeded as usize).ok_or(ChanceError::NoOutcome)?;
        let target = Angle::rad(needed.to_si());
        let choices = self.splines.choices(self.ask.free, target, self.wanted)?;
        let mut landings = Vec::new();
        for choice in choices {
            let ask = Ask { free: choice.angle, ..self.ask };
            // A move so far off that the best values have no ride angle lands nowhere.
            let Ok(builds) = self.case.builds(&ask, plan, watch) else { continue };
            let trims = builds.of(Told::Trim);
            let within = builds.within(Told::Trim, &self.limits)?;
            let (trim, u) = (trims.mean()?, trims.u()?);
            landings.push((Landing { choice, within, trim, u }, builds.settled_trims()));
        }
        if landings.is_empty() { Err(ChanceError::NoOutcome) } else { Ok(landings) }
    }
}

/// Moves for one corner, best chance first; among chances within one in a hundred, the move that
/// takes fewer ends apart, then fewer teeth.
///
/// # Valid for
/// A corner by itself: what left and right may differ does not count here.
/// # Errors
/// As [`Case::builds`] and [`Splines::choices`].
/// # Source
/// Counting; see the module's text.
pub fn choose(
    corner: &Corner<'_>,
    plan: Plan,
    watch: Watch<'_>,
) -> Result<Vec<Landing>, ChanceError> {
    let landings = corner.landings(plan, watch)?;
    let landings = landings.into_iter().map(|(landing, _)| landing).collect();
    let work = |landing: &Landing| work(&landing.choice);
    Ok(ranked(landings, |landing| landing.within.share().to_one(), work))
}

/// Pairs of moves, best chance first, ties as in [`choose`]; at most `most` of them.
///
/// # Valid for
/// Both corners drawn with one seed; what they share is named in either's [`Ask::shared`].
/// # Errors
/// As [`choose`].
/// # Source
/// Counting; see the module's text.
pub fn choose_both(
    left: &Corner<'_>,
    right: &Corner<'_>,
    plan: Plan,
    most: usize,
    watch: Watch<'_>,
) -> Result<Vec<PairLanding>, ChanceError> {
    let (lefts, rights) = (left.landings(plan, watch)?, right.landings(plan, watch)?);
    let mut pairs = Vec::new();
    for (one, left_trims) in &lefts {
        for (other, right_trims) in &rights {
            let limits = (&left.limits, &right.limits);
            let within = both(left_trims, right_trims, limits);
            pairs.push(PairLanding { left: one.clone(), right: other.clone(), within });
        }
    }
    let work_of = |pair: &PairLanding| {
        let (one, other) = (work(&pair.left.choice), work(&pair.right.choice));
        (one.0 + other.0, one.1 + other.1)
    };
    let mut pairs = ranked(pairs, |pair| pair.within.share().to_one(), work_of);
    pairs.truncate(most);
    Ok(pairs)
}

/// Ends that come apart, then teeth.
fn work(choice: &Choice) -> (u32, u32) {
    (u32::from(choice.ends), choice.as_move().teeth())
}

/// Best first; whatever is within a tie of the best that is left, by the work it makes.
pub(super) fn ranked<T>(
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

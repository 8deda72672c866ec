//! Which measurement, made better, helps most.
//!
//! ```text
//!   trim, all doubts       ▁▂▄█▇▄▂▁      71 of 100 within
//!   the same builds, but
//!   the car was weighed    ▁▃██▅▂        83 of 100 within     → scales buy 12
//!   the gauge is finer     ▁▂▄█▇▄▂▁      71 of 100 within     → a finer gauge buys nothing
//! ```
//!
//! Two views of each measuring: the share of the variance it is behind (linear, cheap, says where
//! the spread comes from) and what bettering it does to the number of builds within limits (drawn,
//! says what it buys). The second run draws the same numbers as the first, only narrower where the
//! measuring is better, so the difference is the measuring and not luck.
//!
//! **Source.** JCGM 100:2008, 5.1 (parts of a variance); JCGM 101, 7 (counts). Own arrangement.

use axlewright_quantity::{Amount, Ratio};

use super::corner::{Ask, Case, Doubt, Limits, Measuring, Told};
use super::{ChanceError, Ended, Plan, Tally, Watch};

/// How much better a measuring could be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Better {
    /// Half its standard uncertainty: twice as good a tool, or four times as many readings.
    Halved,
    /// A stated standard uncertainty, for those of its items that are of that kind and are not
    /// better already.
    To(Amount),
}

/// One measuring.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// Which.
    pub measuring: Measuring,
    /// Standard uncertainty it alone gives to the outcome.
    pub alone: Amount,
    /// Its share of the outcome's variance.
    pub share: Ratio,
    /// Builds within limits if it were made better.
    pub better: Tally,
    /// How many more (or fewer) out of a hundred that is.
    pub gain_in_100: Ratio,
}

/// What each measuring is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    /// Builds within limits as things are.
    pub now: Tally,
    /// Standard uncertainty of the outcome, linear.
    pub u: Amount,
    /// Best buy first; with equal gains the larger share first.
    pub rows: Vec<Worth>,
    /// Whether all runs were made.
    pub ended: Ended,
}

/// Ranks the measurings of a corner.
///
/// # Valid for
/// An outcome whose limits are on `told`, a trim. One measuring is bettered at a time: two gains
/// together are not their sum.
/// # Accuracy
/// Gains to about one in a hundred with 10 000 builds.
/// # Errors
/// As [`Case::builds`]; an outcome that is no trim.
/// # Source
/// JCGM 100:2008, 5.1.3 note 2 for the parts; counting for the gains.
pub fn budget(
    case: &Case,
    ask: &Ask<'_>,
    (told, limits): (Told, &Limits),
    better: impl Fn(Measuring) -> Better,
    plan: Plan,
    watch: Watch<'_>,
) -> Result<Budget, ChanceError> {
    let first = case.builds(ask, plan, watch)?;
    let now = first.within(told, limits)?;
    let mut ended = first.ended();
    let parts = case.parts(ask, told)?;
    let variance: f64 = parts.iter().map(|(_, part)| part.to_si().powi(2)).sum();
    let of = |si| Amount::from_si(told.kind(), si);
    let mut rows = Vec::new();
    for &measuring in Measuring::ALL {
        let own = parts.iter().filter(|(item, _)| item.by() == measuring);
        let square: f64 = own.clone().map(|(_, part)| part.to_si().powi(2)).sum();
        if own.count() == 0 || ended == Ended::Stopped {
            continue;
        }
        let narrower = case.with(|doubt| narrowed(doubt, measuring, better(measuring)))?;
        let builds = narrower.builds(ask, plan, watch)?;
        ended = builds.ended();
        let better = builds.within(told, limits)?;
        let gain = 100.0 * (better.share().to_one() - now.share().to_one());
        rows.push(Worth {
            measuring,
            alone: of(square.sqrt()),
            share: Ratio::one(if 0.0 < variance { square / variance } else { 0.0 }),
            better,
            gain_in_100: Ratio::one(gain),
        });
    }
    let key = |row: &Worth| (row.gain_in_100.to_one(), row.share.to_one());
    rows.sort_by(|a, b| {
        let ((gain_a, share_a), (gain_b, share_b)) = (key(a), key(b));
        gain_b.total_cmp(&gain_a).then(share_b.total_cmp(&share_a))
    });
    Ok(Budget { now, u: of(variance.sqrt()), rows, ended })
}

fn narrowed(doubt: &Doubt, measuring: Measuring, better: Better) -> Amount {
    match better {
        _ if doubt.item.by() != measuring => doubt.u,
        Better::Halved => Amount::from_si(doubt.u.kind(), 0.5 * doubt.u.to_si()),
        Better::To(u) if u.kind() == doubt.u.kind() && u.to_si() < doubt.u.to_si() => u,
        Better::To(_) => doubt.u,
    }
}

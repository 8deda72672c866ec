//! Drawing until more draws would change nothing that is quoted.

use axlewright_quantity::{Amount, Ratio};

use super::compare::tolerance;
use super::{ChanceError, DRAWS_MAX, Draws, Ended, Inputs, Middle, Outcomes, Plan, Watch, run};

/// When to stop drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Until {
    /// The same seed, the same draws.
    pub seed: u64,
    /// Digits of the uncertainty that will be quoted, 1 or 2.
    pub digits: u8,
    /// Share of the interval that will be quoted.
    pub share: Ratio,
    /// Most draws, settled or not.
    pub most: usize,
}

/// Draws until they have settled.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled<const K: usize> {
    /// All draws made.
    pub draws: Draws<K>,
    /// Whether mean, uncertainty and both limits of every outcome are known to half of the last
    /// quoted digit; if not, the draws ran out or the caller stopped.
    pub settled: bool,
}

/// What one batch says of one outcome: mean, u, lower and upper limit.
type Statement = [f64; 4];

/// Runs a model batch by batch until mean, uncertainty and limits of every outcome have settled.
///
/// # Valid for
/// As [`run`]. An outcome that does not vary has settled at once.
/// # Accuracy
/// Twice the standard deviation of each statement over the batches is below half of the last
/// quoted digit.
/// # Errors
/// As [`run`]; digits that nobody quotes; a share that is not between 0 and 1; a limit below two
/// batches.
/// # Source
/// JCGM 101, 7.9.4.
pub fn run_until_settled<const K: usize>(
    inputs: &Inputs,
    until: Until,
    model: impl Fn(&[Amount]) -> Option<[Amount; K]> + Sync,
    watch: Watch<'_>,
) -> Result<Settled<K>, ChanceError> {
    let p = until.share.to_one();
    if !(0.0 < p && p < 1.0 && (1..=2).contains(&until.digits)) {
        return Err(ChanceError::Nonsense { what: "share or digits to settle" });
    }
    // 7.9.4 b): a hundred draws beyond the limits of each batch, and ten thousand at least.
    let batch = ((100.0 / (1.0 - p)).ceil() as usize).clamp(10_000, DRAWS_MAX);
    if until.most < 2 * batch || DRAWS_MAX < until.most {
        return Err(ChanceError::Draws { given: until.most });
    }
    let mut all: Option<Draws<K>> = None;
    let mut told: Vec<[Statement; K]> = Vec::new();
    loop {
        let seed = until.seed.wrapping_add(told.len() as u64);
        let plan = Plan { seed, draws: batch };
        let draws = run(inputs, plan, &model, watch)?;
        let ended = draws.ended;
        if ended == Ended::Done {
            told.push(statements(&draws, until.share)?);
        }
        let draws = match all.take() {
            Some(had) => had.and(draws),
            None => draws,
        };
        let settled = 2 <= told.len() && settled(&draws, &told, until.digits)?;
        if settled || ended == Ended::Stopped || until.most < draws.made + batch {
            return Ok(Settled { draws, settled });
        }
        all = Some(draws);
    }
}

fn outcome<const K: usize>(draws: &Draws<K>, number: usize) -> Result<Outcomes, ChanceError> {
    draws.outcome(number).ok_or(ChanceError::NoOutcome)
}

fn statements<const K: usize>(
    draws: &Draws<K>,
    share: Ratio,
) -> Result<[Statement; K], ChanceError> {
    let mut told = [[0.0; 4]; K];
    for (number, told) in told.iter_mut().enumerate() {
        let outcome = outcome(draws, number)?;
        let interval = outcome.interval(share, Middle::Symmetric)?;
        *told = [outcome.mean()?, outcome.u()?, interval.low, interval.high].map(Amount::to_si);
    }
    Ok(told)
}

fn settled<const K: usize>(
    draws: &Draws<K>,
    told: &[[Statement; K]],
    digits: u8,
) -> Result<bool, ChanceError> {
    let h = told.len() as f64;
    for number in 0..K {
        let u = outcome(draws, number)?.u()?;
        if u.to_si() == 0.0 {
            continue;
        }
        let delta = Amount::from_shown(u.kind(), tolerance(u.shown(), digits)).to_si();
        for which in 0..4 {
            let each = || told.iter().filter_map(|row| row.get(number)?.get(which));
            let mean = each().sum::<f64>() / h;
            let square = each().map(|x| (x - mean).powi(2)).sum::<f64>() / (h * (h - 1.0));
            if delta < 2.0 * square.sqrt() {
                return Ok(false);
            }
        }
    }
    Ok(true)
}

//! Drawing, in blocks, on as many threads as there are.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use axlewright_quantity::{Amount, Kind, Ratio};
use rayon::prelude::*;

use super::draw::{BLOCK, Well};
use super::{ChanceError, DRAWS_MAX, Distribution, Outcomes, Shape};

/// How many blocks are shared out at a time. When a run is stopped, the blocks of the last such
/// group that came after a missing one are dropped, so that what is left is a run of its own.
const GROUP: usize = 64;

/// How a run is to be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Plan {
    /// The same seed, the same draws.
    pub seed: u64,
    /// How many, 100 to [`DRAWS_MAX`].
    pub draws: usize,
}

/// How far a run is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Draws made.
    pub done: usize,
    /// Draws wanted.
    pub of: usize,
}

/// What the caller says after every block.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Go {
    /// Make the next.
    On,
    /// Keep what there is.
    Stop,
}

/// What ended a run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// All draws were made.
    Done,
    /// The caller stopped it.
    Stopped,
}

/// Told after every block, from whichever thread made it.
pub type Watch<'a> = &'a (dyn Fn(Progress) -> Go + Sync);

/// Nobody watches.
pub const fn unwatched(_: Progress) -> Go {
    Go::On
}

impl Plan {
    pub(crate) fn check(self) -> Result<Self, ChanceError> {
        if (100..=DRAWS_MAX).contains(&self.draws) {
            Ok(self)
        } else {
            Err(ChanceError::Draws { given: self.draws })
        }
    }
}

/// Inputs with their spreads, and which of them go together.
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    each: Vec<Distribution<Amount>>,
    /// Which inputs are mixed, and the lower triangle that mixes them.
    mixed: Vec<usize>,
    triangle: Vec<Vec<f64>>,
}

impl Inputs {
    /// Independent inputs, in the order in which the model will see them.
    pub const fn new(each: Vec<Distribution<Amount>>) -> Self {
        Self { each, mixed: Vec::new(), triangle: Vec::new() }
    }

    /// The same with some pairs correlated: two numbers from zero, and their r.
    ///
    /// # Valid for
    /// Normally distributed inputs: for other shapes a correlation does not say enough.
    /// # Errors
    /// An input that does not exist, is paired with itself or is not normal; correlations beyond
    /// ±1 or that no quantities can have together.
    /// # Source
    /// JCGM 101, 6.4.8 and C.5: z = L·w with L·Lᵀ the matrix of correlations (Cholesky).
    pub fn correlated(self, pairs: &[(usize, usize, Ratio)]) -> Result<Self, ChanceError> {
        let mut mixed: Vec<usize> = pairs.iter().flat_map(|&(i, j, _)| [i, j]).collect();
        mixed.sort_unstable();
        mixed.dedup();
        for &i in &mixed {
            let why = match self.each.get(i).map(Distribution::shape) {
                None => "there is none of that number",
                Some(Shape::Normal) => continue,
                Some(_) => "it is not normally distributed",
            };
            return Err(ChanceError::NotCorrelated { number: i + 1, why });
        }
        if let Some(&(i, ..)) = pairs.iter().find(|(i, j, _)| i == j) {
            return Err(ChanceError::NotCorrelated { number: i + 1, why: "with itself" });
        }
        let pairs: Vec<_> = pairs.iter().map(|&(i, j, r)| (i, j, r.to_one())).collect();
        let r = |i: usize, j: usize| {
            let among = |&&(a, b, _): &&(usize, usize, f64)| (a, b) == (i, j) || (b, a) == (i, j);
            if i == j { 1.0 } else { pairs.iter().find(among).map_or(0.0, |pair| pair.2) }
        };
        let triangle = triangle(&mixed, r)?;
        Ok(Self { each: self.each, mixed, triangle })
    }

    /// The inputs, in order.
    pub fn each(&self) -> &[Distribution<Amount>] {
        &self.each
    }

    /// Their best values.
    fn best(&self) -> Vec<Amount> {
        self.each.iter().map(Distribution::value).collect()
    }

    /// One block: for every input its draws, as numbers of mean 0 and deviation 1.
    fn block(&self, well: &Well, block: u64, len: usize) -> Vec<Vec<f64>> {
        let mut columns: Vec<Vec<f64>> = (0..)
            .zip(&self.each)
            .map(|(number, input)| {
                let mut column = vec![0.0; len];
                if 0.0 < input.u().to_si() {
                    well.stream(number, block).fill(input.shape(), &mut column);
                }
                column
            })
            .collect();
        for n in 0..len {
            let own: Vec<f64> = self.mixed.iter().map(|&i| at(&columns, i, n)).collect();
            for (&i, row) in self.mixed.iter().zip(&self.triangle) {
                if let Some(z) = columns.get_mut(i).and_then(|column| column.get_mut(n)) {
                    *z = row.iter().zip(&own).map(|(l, w)| l * w).sum();
                }
            }
        }
        columns
    }
}

fn at(columns: &[Vec<f64>], i: usize, n: usize) -> f64 {
    columns.get(i).and_then(|column| column.get(n)).copied().unwrap_or(f64::NAN)
}

/// Cholesky's lower triangle of the correlations among some inputs. Fully correlated inputs leave
/// a zero on the diagonal, which is fine as long as nothing more is asked of it.
fn triangle(
    inputs: &[usize],
    r: impl Fn(usize, usize) -> f64,
) -> Result<Vec<Vec<f64>>, ChanceError> {
    let mut rows: Vec<Vec<f64>> = Vec::new();
    for (n, &i) in inputs.iter().enumerate() {
        let mut row: Vec<f64> = Vec::new();
        for (m, &j) in inputs.iter().enumerate().take(n + 1) {
            let left = |other: &[f64]| row.iter().zip(other).map(|(a, b)| a * b).sum::<f64>();
            let contradiction = || Err(ChanceError::Correlation { number: i + 1 });
            if m == n {
                let square = 1.0 - left(&row);
                if square.is_nan() || square < -1e-9 {
                    return contradiction();
                }
                row.push(square.max(0.0).sqrt());
                continue;
            }
            let other = rows.get(m).map_or(&[][..], Vec::as_slice);
            let (rest, diagonal) = (r(i, j) - left(other), other.get(m).copied().unwrap_or(0.0));
            if rest.abs() > 1e-9 && diagonal < 1e-6 || rest.is_nan() {
                return contradiction();
            }
            row.push(if diagonal < 1e-6 { 0.0 } else { rest / diagonal });
        }
        rows.push(row);
    }
    Ok(rows)
}

/// The outcomes of a run, draw by draw.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws<const K: usize> {
    pub(super) kinds: [Kind; K],
    /// One column per outcome; a draw without outcome is NaN in all of them.
    pub(super) columns: [Vec<f64>; K],
    /// Draws made.
    pub made: usize,
    /// Draws for which the model had no outcome.
    pub refused: usize,
    /// What ended the run.
    pub ended: Ended,
}

impl<const K: usize> Draws<K> {
    /// One outcome of all draws; none when there is no such outcome.
    ///
    /// # Source
    /// JCGM 101, 7.5: the draws of one outcome, sorted.
    pub fn outcome(&self, number: usize) -> Option<Outcomes> {
        let kind = *self.kinds.get(number)?;
        Some(Outcomes::new(kind, self.columns.get(number)?.clone()))
    }

    /// Correlation of two outcomes over the draws; none when one of them does not vary.
    ///
    /// # Source
    /// JCGM 100:2008, 5.2.2: covariance over both standard deviations.
    pub fn correlation(&self, one: usize, other: usize) -> Option<Ratio> {
        let pairs = || {
            let columns = (self.columns.get(one)?, self.columns.get(other)?);
            Some(columns.0.iter().zip(columns.1).filter(|(a, b)| !a.is_nan() && !b.is_nan()))
        };
        let n = pairs()?.count() as f64;
        let sum = pairs()?.fold((0.0, 0.0), |(s, t), (a, b)| (s + a, t + b));
        let (x, y) = (sum.0 / n, sum.1 / n);
        let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
        for (a, b) in pairs()? {
            let (a, b) = (a - x, b - y);
            (xx, yy, xy) = (xx + a * a, yy + b * b, xy + a * b);
        }
        let r = xy / (xx * yy).sqrt();
        r.is_finite().then(|| Ratio::one(r))
    }
}

/// Runs a model over draws of its inputs. The model sees one amount per input, in order, and
/// answers with its outcomes, or with nothing where there are none.
///
/// # Valid for
/// A model that is the same function every time: no clock, no memory.
/// # Accuracy
/// The mean is good to u/√M; 95 % limits of a normal outcome to about 2.1·u/√M.
/// # Errors
/// Too few or too many draws; no outcome for the best values.
/// # Source
/// JCGM 101, 7.2 to 7.4.
///
/// ```
/// use axlewright_mechanics::chance::{Distribution, Inputs, Plan, run, unwatched};
/// use axlewright_quantity::{Amount, Length};
///
/// let arm = Distribution::normal(Length::mm(400.0), Length::mm(3.0))?.any();
/// let shim = Distribution::normal(Length::mm(5.0), Length::mm(4.0))?.any();
/// let plan = Plan { seed: 1, draws: 10_000 };
/// let sum = |x: &[Amount]| Some([Amount::from_si(x[0].kind(), x[0].to_si() + x[1].to_si())]);
/// let draws = run(&Inputs::new(vec![arm, shim]), plan, sum, &unwatched)?;
/// let length = draws.outcome(0).expect("one outcome");
/// assert!((length.u()?.shown() - 5.0).abs() < 0.2); // √(3² + 4²)
/// # Ok::<(), axlewright_mechanics::chance::ChanceError>(())
/// ```
pub fn run<const K: usize>(
    inputs: &Inputs,
    plan: Plan,
    model: impl Fn(&[Amount]) -> Option<[Amount; K]> + Sync,
    watch: Watch<'_>,
) -> Result<Draws<K>, ChanceError> {
    let kinds = model(&inputs.best()).ok_or(ChanceError::NoOutcome)?.map(Amount::kind);
    let well = Well::new(plan.seed);
    let work = |block: u64, len: usize| {
        let drawn = inputs.block(&well, block, len);
        let mut seen = inputs.best();
        let mut columns: [Vec<f64>; K] = std::array::from_fn(|_| Vec::with_capacity(len));
        for n in 0..len {
            for ((seen, input), z) in seen.iter_mut().zip(&inputs.each).zip(&drawn) {
                let z = z.get(n).copied().unwrap_or(f64::NAN);
                let value = input.value();
                *seen = Amount::from_si(value.kind(), value.to_si() + input.u().to_si() * z);
            }
            let fine = |outcome: &[Amount; K]| outcome.iter().all(|y| y.to_si().is_finite());
            let outcome = model(&seen).filter(fine).map(|outcome| outcome.map(Amount::to_si));
            let outcome = outcome.unwrap_or([f64::NAN; K]);
            columns.iter_mut().zip(outcome).for_each(|(column, y)| column.push(y));
        }
        columns
    };
    blocks(kinds, plan, work, watch)
}

/// Blocks on all threads, put together in their order.
pub(crate) fn blocks<const K: usize>(
    kinds: [Kind; K],
    plan: Plan,
    work: impl Fn(u64, usize) -> [Vec<f64>; K] + Sync,
    watch: Watch<'_>,
) -> Result<Draws<K>, ChanceError> {
    let Plan { draws, .. } = plan.check()?;
    let (done, stopped) = (AtomicUsize::new(0), AtomicBool::new(false));
    let all = draws.div_ceil(BLOCK);
    let one = |block: usize| {
        if stopped.load(Ordering::Relaxed) {
            return None;
        }
        let len = BLOCK.min(draws - block * BLOCK);
        let columns = work(block as u64, len);
        let done = done.fetch_add(len, Ordering::Relaxed) + len;
        if watch(Progress { done, of: draws }) == Go::Stop {
            stopped.store(true, Ordering::Relaxed);
        }
        Some(columns)
    };
    let mut columns: [Vec<f64>; K] = std::array::from_fn(|_| Vec::with_capacity(draws));
    let mut from = 0;
    while from < all && !stopped.load(Ordering::Relaxed) {
        let to = all.min(from + GROUP);
        let group: Vec<_> = (from..to).into_par_iter().map(one).collect();
        for block in group.into_iter().map_while(|block| block) {
            columns.iter_mut().zip(block).for_each(|(all, part)| all.extend(part));
        }
        from = to;
    }
    let made = columns.first().map_or(0, Vec::len);
    let refused = columns.first().map_or(0, |ys| ys.iter().filter(|y| y.is_nan()).count());
    let ended = if made == draws { Ended::Done } else { Ended::Stopped };
    Ok(Draws { kinds, columns, made, refused, ended })
}

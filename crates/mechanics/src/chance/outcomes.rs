//! What many draws came to: mean, spread, intervals, shares.

use axlewright_quantity::{Amount, Kind, Ratio};
use rayon::prelude::*;

use super::ChanceError;

/// One outcome of many draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcomes {
    kind: Kind,
    /// Ascending, draws without outcome left out.
    sorted: Vec<f64>,
    refused: usize,
}

/// A coverage interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower limit.
    pub low: Amount,
    /// Upper limit.
    pub high: Amount,
}

/// One bar of a histogram.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bin {
    /// From here.
    pub from: Amount,
    /// To here.
    pub to: Amount,
    /// Share of all draws between.
    pub share: Ratio,
}

/// How many draws out of how many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tally {
    /// So many.
    pub hits: usize,
    /// Out of so many, draws without outcome included.
    pub of: usize,
}

impl Tally {
    /// Hits over all.
    ///
    /// # Source
    /// Division.
    pub fn share(self) -> Ratio {
        Ratio::one(self.hits as f64 / self.of.max(1) as f64)
    }

    /// In a hundred, rounded; 0 and 100 only where it is none and all.
    ///
    /// # Source
    /// Rounding, away from 0 and 100 so that neither is said of what is merely rare.
    pub fn in_100(self) -> u32 {
        let rounded = (100.0 * self.share().to_one()).round() as u32;
        match (self.hits, self.of - self.hits.min(self.of)) {
            (0, _) => 0,
            (_, 0) => 100,
            _ => rounded.clamp(1, 99),
        }
    }
}

impl Outcomes {
    pub(crate) fn new(kind: Kind, mut values: Vec<f64>) -> Self {
        let all = values.len();
        values.retain(|y| !y.is_nan());
        // Equal numbers are alike, so an unstable sort on any number of threads gives one result.
        values.par_sort_unstable_by(f64::total_cmp);
        Self { kind, refused: all - values.len(), sorted: values }
    }

    /// Draws with an outcome.
    pub const fn count(&self) -> usize {
        self.sorted.len()
    }
    /// Draws without one.
    pub const fn refused(&self) -> usize {
        self.refused
    }
    /// What it is.
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    fn amount(&self, si: f64) -> Amount {
        Amount::from_si(self.kind, si)
    }

    fn enough(&self, what: &'static str, wanted: usize) -> Result<f64, ChanceError> {
        let had = self.count();
        if had < wanted {
            return Err(ChanceError::TooFew { what, had, wanted });
        }
        Ok(had as f64)
    }

    /// Mean over the draws.
    ///
    /// # Errors
    /// When no draw has an outcome.
    /// # Source
    /// JCGM 101, 7.6, equation (16).
    pub fn mean(&self) -> Result<Amount, ChanceError> {
        let n = self.enough("a mean", 1)?;
        // About the middle one, so that a large common value eats no digits.
        let about = self.at(self.count() / 2);
        Ok(self.amount(about + sum(self.sorted.iter().map(|y| y - about)) / n))
    }

    /// Standard deviation over the draws: the standard uncertainty, k = 1.
    ///
    /// # Errors
    /// When fewer than two draws have an outcome.
    /// # Source
    /// JCGM 101, 7.6, equation (17).
    pub fn u(&self) -> Result<Amount, ChanceError> {
        let n = self.enough("a standard uncertainty", 2)?;
        let mean = self.mean()?.to_si();
        let squares = sum(self.sorted.iter().map(|y| (y - mean).powi(2)));
        Ok(self.amount((squares / (n - 1.0)).sqrt()))
    }

    /// The sorted outcome of a number counted from zero.
    fn at(&self, number: usize) -> f64 {
        self.sorted.get(number).copied().unwrap_or(f64::NAN)
    }

    /// The outcome below which a share of the draws lies.
    ///
    /// # Errors
    /// A share outside 0 to 1; no draw with an outcome.
    /// # Source
    /// JCGM 101, D.5 to D.7: straight lines between the sorted draws, at shares (r − ½)/M.
    pub fn quantile(&self, share: Ratio) -> Result<Amount, ChanceError> {
        let n = self.enough("a quantile", 1)?;
        let p = share.to_one();
        if !(0.0..=1.0).contains(&p) {
            return Err(ChanceError::Nonsense { what: "share of a quantile" });
        }
        let place = (p * n - 0.5).clamp(0.0, n - 1.0);
        let (below, part) = (place.floor() as usize, place.fract());
        let (low, high) = (self.at(below), self.at((below + 1).min(self.count() - 1)));
        Ok(self.amount(low + part * (high - low)))
    }

    /// The interval that holds a share of the draws, with as many below it as above.
    ///
    /// # Errors
    /// A share that is not between 0 and 1; too few draws for it.
    /// # Source
    /// JCGM 101, 7.7.
    pub fn interval(&self, share: Ratio) -> Result<Interval, ChanceError> {
        let p = share.to_one();
        if !(0.0 < p && p < 1.0) {
            return Err(ChanceError::Nonsense { what: "share of an interval" });
        }
        // Two draws beyond either end, or the end is one draw's luck.
        let n = self.enough("an interval", (4.0 / (1.0 - p)).ceil().min(1e9) as usize)?;
        let inside = (p * n + 0.5).floor() as usize;
        let outside = self.count() - inside;
        let first = outside.div_ceil(2).max(1) - 1;
        let (low, high) = (self.at(first), self.at(first + inside));
        Ok(Interval { low: self.amount(low), high: self.amount(high) })
    }

    /// Bars of equal width that hold all draws but the outermost thousandth on either side.
    ///
    /// # Errors
    /// Fewer draws than ten per bar; no bar.
    /// # Source
    /// Counting.
    pub fn histogram(&self, bars: usize) -> Result<Vec<Bin>, ChanceError> {
        if bars == 0 {
            return Err(ChanceError::Nonsense { what: "number of bars" });
        }
        self.enough("a histogram", bars.saturating_mul(10))?;
        let [low, high] = [0.001, 0.999].map(|p| self.quantile(Ratio::one(p)));
        let (low, high) = (low?.to_si(), high?.to_si());
        let width = (high - low) / bars as f64;
        let all = (self.count() + self.refused) as f64;
        let edge = |n: usize| if n == bars { high } else { low + width * n as f64 };
        let upto = |y: f64| self.sorted.partition_point(|&other| other < y);
        let bin = |n: usize| {
            let (from, to) = (edge(n), edge(n + 1));
            // The last bar has its upper edge too; where all draws are one, the first has them.
            let last = n + 1 == bars;
            let end = if last { self.sorted.partition_point(|&y| y <= to) } else { upto(to) };
            let share = Ratio::one(end.saturating_sub(upto(from)) as f64 / all);
            Bin { from: self.amount(from), to: self.amount(to), share }
        };
        Ok((0..bars).map(bin).collect())
    }
}

/// Sum in parts of a thousand, so that rounding grows with their number and not with the draws'.
fn sum(values: impl Iterator<Item = f64>) -> f64 {
    let (mut all, mut part, mut n) = (0.0, 0.0, 0);
    for value in values {
        part += value;
        n += 1;
        if n == 1000 {
            all += part;
            (part, n) = (0.0, 0);
        }
    }
    all + part
}

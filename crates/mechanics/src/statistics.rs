//! How sure a reading is: repeats, resolution, and putting uncertainties together.
//!
//! ```text
//!    readings x₁ … xₙ        mean x̄, scatter s        gauge's step r
//!     ·  ··:·  ·      →      ├──s/√n──┤        ⊕      ├─r/(2√3)─┤     =  u(x̄)
//! ```
//!
//! | symbol | meaning | field |
//! |---|---|---|
//! | x̄ | mean of n readings | [`Estimate::value`] |
//! | s | standard deviation of the readings, n − 1 in the divisor | – |
//! | r | step of the gauge (its full resolution) | argument of [`repeats`] |
//! | u | standard uncertainty, k = 1 | [`Estimate::u`], [`Part::u`] |
//! | ν | degrees of freedom of u | [`Freedom`] |
//!
//! # Valid for
//! Readings that scatter independently. What is common to all of them (a gauge's own error, a
//! wrong seat) does not show in their scatter and has to be added as a part of its own; parts that
//! move together must not be combined here.
//! # Source
//! JCGM 100:2008 (GUM), 4.2 (Type A), 4.3.7 and F.2.2.1 (rectangular limits, resolution), 5.1.2
//! (quadrature), G.4.1 (Welch–Satterthwaite).

use axlewright_quantity::{Amount, Kind, Ratio};

/// A quantity that can be averaged: every typed quantity, and [`Amount`].
pub trait Measured: Copy + Into<Amount> + TryFrom<Amount> {}
impl<Q: Copy + Into<Amount> + TryFrom<Amount>> Measured for Q {}

/// Why nothing can be said.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum StatisticsError {
    /// No reading, or no part.
    #[error("there is no reading")]
    None,
    /// One reading and no resolution.
    #[error("one reading says nothing about its scatter; it takes two, or the gauge's resolution")]
    OneReading,
    /// Not a number, or infinite.
    #[error("reading {number} is not a number")]
    NotANumber {
        /// Counted from one.
        number: usize,
    },
    /// Values so large that their squares are lost.
    #[error("the readings are too large to average")]
    TooLarge,
    /// A resolution, an uncertainty or degrees of freedom below zero or not a number.
    #[error("{what} number {number} is not a number or below what it can be")]
    Nonsense {
        /// Which.
        what: &'static str,
        /// Counted from one.
        number: usize,
    },
    /// Quantities of different kinds.
    #[error("reading {number} is in {found}; the first is in {first}", found = .found.unit(),
        first = .first.unit())]
    Mixed {
        /// Counted from one.
        number: usize,
        /// Its kind.
        found: Kind,
        /// The first one's kind.
        first: Kind,
    },
}

impl StatisticsError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::None | Self::OneReading => "lift the gauge off, put it back and read again",
            Self::NotANumber { .. } | Self::TooLarge => "read it again and write down a number",
            Self::Nonsense { .. } => {
                "an uncertainty is 0 or more; degrees of freedom are more than 0"
            }
            Self::Mixed { .. } => "average readings of one quantity only",
        }
    }
}

/// Degrees of freedom: how well an uncertainty is itself known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Freedom {
    /// So many, not always a whole number.
    Of(Ratio),
    /// Known for certain, as limits from a data sheet are taken to be.
    Infinite,
}

impl Freedom {
    /// ν as a number, infinity included.
    const fn nu(self) -> f64 {
        match self {
            Self::Of(nu) => nu.to_one(),
            Self::Infinite => f64::INFINITY,
        }
    }
    const fn from_nu(nu: f64) -> Self {
        if nu.is_finite() { Self::Of(Ratio::one(nu)) } else { Self::Infinite }
    }
}

/// A value and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate<Q> {
    /// Best value.
    pub value: Q,
    /// Its standard uncertainty, k = 1.
    pub u: Q,
    /// Degrees of freedom of `u`.
    pub freedom: Freedom,
}

/// One contribution to an uncertainty, already multiplied by its sensitivity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part<Q> {
    /// Standard uncertainty it adds to the result, in the result's unit.
    pub u: Q,
    /// Degrees of freedom of that uncertainty.
    pub freedom: Freedom,
}

/// What several parts come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Combined<Q> {
    /// Combined standard uncertainty.
    pub u: Q,
    /// Effective degrees of freedom.
    pub freedom: Freedom,
}

/// Mean of repeated readings with `u² = s²/n + (r/2√3)²`.
///
/// # Units and sign
/// The resolution is the gauge's full step, its standard uncertainty that step over 2√3.
/// # Valid for
/// The gauge lifted off and put back between readings: reading a gauge that lies still five times
/// is one reading. A single reading needs the resolution, and then only the resolution speaks.
/// # Errors
/// No reading; one reading and no resolution; anything that is not a number; a negative
/// resolution; different quantities.
/// # Source
/// JCGM 100:2008, 4.2.1 to 4.2.3 and F.2.2.1; ν by G.4.1.
pub fn repeats<Q: Measured>(
    readings: &[Q],
    resolution: Option<Q>,
) -> Result<Estimate<Q>, StatisticsError> {
    let (kind, values) = same_kind(readings)?;
    let count = values.len() as f64;
    // Deviations from the first reading, so that a large common value does not eat the scatter.
    let first = values.first().copied().ok_or(StatisticsError::None)?;
    let mean = first + values.iter().map(|x| x - first).sum::<f64>() / count;
    let mut parts = Vec::new();
    if 1 < values.len() {
        let squares = values.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
        parts.push(((squares / (count - 1.0) / count).sqrt(), count - 1.0));
    }
    if let Some(step) = resolution {
        let step: Amount = step.into();
        if step.kind() != kind {
            return Err(StatisticsError::Mixed { number: 0, found: step.kind(), first: kind });
        }
        if !(0.0 <= step.to_si() && step.to_si().is_finite()) {
            return Err(StatisticsError::Nonsense { what: "resolution", number: 1 });
        }
        parts.push((step.to_si() / (2.0 * 3.0_f64.sqrt()), f64::INFINITY));
    }
    if parts.is_empty() {
        return Err(StatisticsError::OneReading);
    }
    let (u, nu) = quadrature(&parts)?;
    Ok(Estimate { value: typed(kind, mean)?, u: typed(kind, u)?, freedom: Freedom::from_nu(nu) })
}

/// Independent parts in quadrature, `u² = Σuᵢ²`, with `ν = u⁴/Σ(uᵢ⁴/νᵢ)`.
///
/// # Valid for
/// Parts that do not move together. Two readings with one gauge share its error: take the error as
/// one part of its own, not as two.
/// # Accuracy
/// The Welch–Satterthwaite ν is an approximation; the GUM truncates it to a whole number.
/// # Errors
/// No part; an uncertainty below zero; degrees of freedom not above zero; different quantities.
/// # Source
/// JCGM 100:2008, 5.1.2 and G.4.1 (equation G.2b).
pub fn combine<Q: Measured>(parts: &[Part<Q>]) -> Result<Combined<Q>, StatisticsError> {
    let us: Vec<Q> = parts.iter().map(|part| part.u).collect();
    let (kind, values) = same_kind(&us)?;
    let mut checked = Vec::with_capacity(values.len());
    for (number, (u, part)) in (1..).zip(values.into_iter().zip(parts)) {
        let nu = part.freedom.nu();
        if u < 0.0 {
            return Err(StatisticsError::Nonsense { what: "uncertainty", number });
        }
        if nu.is_nan() || nu <= 0.0 {
            return Err(StatisticsError::Nonsense { what: "degrees of freedom", number });
        }
        checked.push((u, nu));
    }
    let (u, nu) = quadrature(&checked)?;
    Ok(Combined { u: typed(kind, u)?, freedom: Freedom::from_nu(nu) })
}

/// Kind and SI values of readings that must all be of one kind and finite.
fn same_kind<Q: Measured>(readings: &[Q]) -> Result<(Kind, Vec<f64>), StatisticsError> {
    let amounts: Vec<Amount> = readings.iter().map(|&reading| reading.into()).collect();
    let kind = amounts.first().ok_or(StatisticsError::None)?.kind();
    for (number, amount) in (1..).zip(&amounts) {
        if amount.kind() != kind {
            return Err(StatisticsError::Mixed { number, found: amount.kind(), first: kind });
        }
        if !amount.to_si().is_finite() {
            return Err(StatisticsError::NotANumber { number });
        }
    }
    Ok((kind, amounts.into_iter().map(Amount::to_si).collect()))
}

/// `(u, ν)` of independent `(uᵢ, νᵢ)`. Scaled by the largest part, so that fourth powers of small
/// angles in radians neither vanish nor overflow.
fn quadrature(parts: &[(f64, f64)]) -> Result<(f64, f64), StatisticsError> {
    let largest = parts.iter().map(|&(u, _)| u).fold(0.0, f64::max);
    if largest == 0.0 {
        return Ok((0.0, f64::INFINITY));
    }
    let squares: f64 = parts.iter().map(|&(u, _)| (u / largest).powi(2)).sum();
    let fourths: f64 = parts.iter().map(|&(u, nu)| (u / largest).powi(4) / nu).sum();
    let u = largest * squares.sqrt();
    if !u.is_finite() {
        return Err(StatisticsError::TooLarge);
    }
    Ok((u, squares * squares / fourths))
}

fn typed<Q: Measured>(kind: Kind, si: f64) -> Result<Q, StatisticsError> {
    if !si.is_finite() {
        return Err(StatisticsError::TooLarge);
    }
    Q::try_from(Amount::from_si(kind, si)).map_err(|_| StatisticsError::TooLarge)
}

//! How a quantity may lie about its best value.
//!
//! ```text
//!    normal     rectangular
//!     ▁▃█▃▁      ████████
//!      ├u┤       ├─a─┤  u = a/√3
//! ```
//!
//! | symbol | meaning | here |
//! |---|---|---|
//! | x | best value, the middle | [`Distribution::value`] |
//! | u | standard uncertainty: the distribution's standard deviation | [`Distribution::u`] |
//!
//! # Source
//! JCGM 101, 6.4 and table 1; of its shapes the two that are entered.

use axlewright_quantity::Amount;

use super::ChanceError;
use crate::statistics::Measured;

/// The shape of a distribution, whatever its width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Many small causes together, or nothing known but a best value and an uncertainty.
    Normal,
    /// Anything between two limits, nothing beyond: a gauge's step, a bare tolerance.
    Rectangular,
}

/// A quantity that is not known exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distribution<Q> {
    value: Q,
    u: Q,
    shape: Shape,
}

impl<Q: Measured> Distribution<Q> {
    /// From best value, standard uncertainty (k = 1) and shape.
    ///
    /// # Errors
    /// A value that is not a number, an uncertainty below zero or of another kind.
    pub fn new(value: Q, u: Q, shape: Shape) -> Result<Self, ChanceError> {
        let (v, s): (Amount, Amount) = (value.into(), u.into());
        if v.kind() != s.kind() {
            let (what, found) = ("uncertainty of an input", s.kind());
            return Err(ChanceError::Kind { what, found, wanted: v.kind() });
        }
        if !v.to_si().is_finite() {
            return Err(ChanceError::Nonsense { what: "best value of an input" });
        }
        if !(0.0..f64::INFINITY).contains(&s.to_si()) {
            return Err(ChanceError::Nonsense { what: "uncertainty of an input" });
        }
        Ok(Self { value, u, shape })
    }

    /// Best value and standard uncertainty, normally distributed.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn normal(value: Q, u: Q) -> Result<Self, ChanceError> {
        Self::new(value, u, Shape::Normal)
    }

    /// Best value, the middle.
    pub const fn value(&self) -> Q {
        self.value
    }
    /// Standard uncertainty, the distribution's standard deviation.
    ///
    /// # Source
    /// JCGM 101, table 1.
    pub const fn u(&self) -> Q {
        self.u
    }
    /// Its shape.
    pub const fn shape(&self) -> Shape {
        self.shape
    }

    /// As one of a list of any kinds.
    pub fn any(self) -> Distribution<Amount> {
        Distribution { value: self.value.into(), u: self.u.into(), shape: self.shape }
    }
}

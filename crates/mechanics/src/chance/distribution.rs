//! How a quantity may lie about its best value.
//!
//! ```text
//!    normal     rectangular   trapezoid    triangular    arcsine     curvilinear
//!     ▁▃█▃▁      ████████      ▂▆██▆▂       ▂▄█▄▂        █▃▁▁▃█       ▃▇██▇▃
//!      ├u┤       ├─a─┤         ├─a─┤        ├─a─┤        ├─a─┤        ├─a─┤ ± d
//! ```
//!
//! | symbol | meaning | here |
//! |---|---|---|
//! | x | best value, the middle | [`Distribution::value`] |
//! | u | standard uncertainty: the distribution's standard deviation | [`Distribution::u`] |
//! | a | half width between limits | argument of the makers |
//! | β | width of the flat top over the whole width | [`Shape::Trapezoid`] |
//! | d | how far the limits themselves may be off | [`Shape::Curvilinear`] |
//! | ν | degrees of freedom | [`Shape::Student`] |
//!
//! # Source
//! JCGM 101, 6.4 and table 1. Not taken up: exponential, gamma and multivariate shapes other than
//! the normal one.

use axlewright_quantity::{Amount, Ratio};

use super::ChanceError;
use crate::statistics::Measured;

/// The shape of a distribution, whatever its width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Many small causes together, or nothing known but a best value and an uncertainty.
    Normal,
    /// Anything between two limits, nothing beyond: a gauge's step, a bare tolerance.
    Rectangular,
    /// Flat in the middle, falling to both limits: two rectangular causes together.
    Trapezoid {
        /// Width of the flat top over the whole width, 0 to 1.
        top: Ratio,
    },
    /// Two like rectangular causes together.
    Triangular,
    /// Something that swings evenly between its limits, as a thermostat makes it.
    Arcsine,
    /// Between limits that are themselves known only to a share of the half width.
    Curvilinear {
        /// How far the limits may be off, over the half width, 0 to 1.
        inexact: Ratio,
    },
    /// The mean of few repeats.
    Student {
        /// Degrees of freedom, more than 2.
        freedom: Ratio,
    },
}

impl Shape {
    /// Half width over standard deviation; none for shapes without limits.
    fn half_width(self) -> Option<f64> {
        match self {
            Self::Normal | Self::Student { .. } => None,
            Self::Rectangular => Some(3_f64.sqrt()),
            Self::Trapezoid { top } => Some((6.0 / (1.0 + top.to_one().powi(2))).sqrt()),
            Self::Triangular => Some(6_f64.sqrt()),
            Self::Arcsine => Some(2_f64.sqrt()),
            Self::Curvilinear { inexact } => {
                Some((1.0 / 3.0 + inexact.to_one().powi(2) / 9.0).sqrt().recip())
            }
        }
    }

    fn check(self) -> Result<(), ChanceError> {
        let fine = match self {
            Self::Trapezoid { top: share } | Self::Curvilinear { inexact: share } => {
                (0.0..=1.0).contains(&share.to_one())
            }
            // At 2 and below there is no standard deviation.
            Self::Student { freedom } => 2.0 < freedom.to_one() && freedom.is_finite(),
            _ => true,
        };
        if fine { Ok(()) } else { Err(ChanceError::Nonsense { what: "shape of a distribution" }) }
    }
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
    /// A value that is not a number, an uncertainty below zero or of another kind, a shape that
    /// cannot be.
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
        shape.check()?;
        Ok(Self { value, u, shape })
    }

    /// Between two limits `half_width` on each side of the best value.
    ///
    /// # Errors
    /// As [`new`](Self::new), and for a shape that has no limits.
    /// # Source
    /// JCGM 101, 6.4.2 to 6.4.6: u = a/√3, a·√((1 + β²)/6), a/√6, a/√2, √(a²/3 + d²/9).
    pub fn within(value: Q, half_width: Q, shape: Shape) -> Result<Self, ChanceError> {
        shape.check()?;
        let widths = shape.half_width();
        let per = widths.ok_or(ChanceError::Nonsense { what: "shape of a distribution" })?;
        let a: Amount = half_width.into();
        let u = Q::try_from(Amount::from_si(a.kind(), a.to_si() / per));
        Self::new(value, u.map_err(|_| ChanceError::Nonsense { what: "half width" })?, shape)
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

    /// The same with another standard uncertainty.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn with_u(self, u: Q) -> Result<Self, ChanceError> {
        Self::new(self.value, u, self.shape)
    }

    /// As one of a list of any kinds.
    pub fn any(self) -> Distribution<Amount> {
        Distribution { value: self.value.into(), u: self.u.into(), shape: self.shape }
    }
}

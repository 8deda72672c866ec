//! A value as it was written, with what was said about how sure it is.

use crate::Amount;

/// What follows a value: three different things with three spellings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// `tol 0.5 deg` or a bare `±`: limits that are to be met. The half width.
    Tolerance(Amount),
    /// `u 0.15 deg`: a standard uncertainty, k = 1.
    Uncertainty(Amount),
    /// `res 0.1 deg`: the step of the gauge that read it. The full step.
    Resolution(Amount),
}

impl Spread {
    /// The standard uncertainty this stands for when the value is used as an input.
    ///
    /// Limits of half width `a` and a gauge's step of `2a` are both taken as a rectangular
    /// distribution, `u = a/√3`.
    ///
    /// # Source
    /// JCGM 100:2008 (GUM), 4.3.7 (limits) and F.2.2.1 (resolution of an indication); clauses
    /// from memory.
    pub fn standard_uncertainty(self) -> Amount {
        let (amount, divisor) = match self {
            Self::Uncertainty(u) => (u, 1.0),
            Self::Tolerance(half_width) => (half_width, 3.0_f64.sqrt()),
            Self::Resolution(step) => (step, 2.0 * 3.0_f64.sqrt()),
        };
        Amount::from_si(amount.kind(), amount.to_si() / divisor)
    }
}

/// A value with the text it came from, kept word for word.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The value.
    pub amount: Amount,
    /// What was said of its spread, if anything.
    pub spread: Option<Spread>,
    /// The text as its writer wrote it.
    pub text: String,
}

impl Spread {
    /// The amount that was written: half width, standard uncertainty or full step.
    pub const fn amount(self) -> Amount {
        match self {
            Self::Tolerance(a) | Self::Uncertainty(a) | Self::Resolution(a) => a,
        }
    }

    /// How it is spelt: `±`, `u` or `res`.
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Tolerance(_) => "±",
            Self::Uncertainty(_) => "u",
            Self::Resolution(_) => "res",
        }
    }
}

impl Written {
    /// The standard uncertainty (k = 1) of the value as an input, or `None` if nothing was said.
    ///
    /// # Source
    /// As [`Spread::standard_uncertainty`].
    pub fn standard_uncertainty(&self) -> Option<Amount> {
        self.spread.map(Spread::standard_uncertainty)
    }
}

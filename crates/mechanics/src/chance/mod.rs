//! What chance makes of it: many draws of everything that is not known exactly, and what share of
//! them comes out right.
//!
//! ```text
//!   inputs, each with its spread          model            outcomes, sorted
//!      ▁▃█▃▁  bar diameter    ┐
//!      ▁███▁  gas force       ├──→  trim = f(d, P, m …)  ──→  ▁▂▄██▅▂▁
//!      ▁▃█▃▁  corner weight   ┘     once for every draw        ├─ 95 % ─┤
//!                                                         │ tolerance │  → 83 in 100 within
//! ```
//!
//! | symbol | meaning | here |
//! |---|---|---|
//! | x, u(x) | best value of an input and its standard uncertainty, k = 1 | [`Distribution`] |
//! | r(xᵢ, xⱼ) | correlation of two inputs | [`Inputs::correlated`] |
//! | M | number of draws | [`Plan::draws`] |
//! | y, u(y) | mean and standard deviation of the outcomes | [`Outcomes`] |
//! | δ | half of the last digit that an uncertainty is quoted to | [`Agreement::tolerance`] |
//!
//! **Repeatable.** Every input of every block of draws has a stream of its own, named by seed,
//! block and input, and sums run in a fixed order: the same seed gives the same bits on any number
//! of threads, and an input whose spread is changed leaves the draws of all the others as they
//! were. So two runs that differ in one input differ by that input alone, not by luck.
//!
//! **Limits.** A model that has no value for a draw (an arm that does not reach) is counted as
//! [`Draws::refused`], never left out silently. What is not among the inputs is not in the outcome:
//! a slipped gauge or a wrong part is no spread.
//!
//! **Source.** JCGM 101 (propagation of distributions by Monte Carlo); JCGM 100:2008, 5.1 and 5.2
//! for the linear road beside it.

pub mod attempts;
pub mod budget;
mod compare;
pub mod corner;
mod distribution;
mod draw;
mod first;
mod outcomes;
mod run;

pub use compare::{Agreement, compare};
pub use distribution::{Distribution, Shape};
pub use first::{Doubtful, First, first};
pub use outcomes::{Bin, Interval, Outcomes, Tally};
pub(crate) use run::blocks;
pub use run::{Draws, Ended, Go, Inputs, Plan, Progress, Watch, run, unwatched};

/// Most draws of one run: what is kept of them stays below a gigabyte.
pub const DRAWS_MAX: usize = 20_000_000;

/// Why chance has no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ChanceError {
    /// A number is not one, or below what it can be.
    #[error("{what} is not a number, or not what it can be")]
    Nonsense {
        /// Which.
        what: &'static str,
    },
    /// Two things of different kinds.
    #[error("{what} is {found}, where {wanted} is meant", found = .found.with_article(),
        wanted = .wanted.with_article())]
    Kind {
        /// Which.
        what: &'static str,
        /// Its kind.
        found: axlewright_quantity::Kind,
        /// The kind it should have.
        wanted: axlewright_quantity::Kind,
    },
    /// Correlations that no set of quantities can have.
    #[error("the correlations contradict each other at input {number}")]
    Correlation {
        /// Counted from one.
        number: usize,
    },
    /// A correlation of an input that is not normally distributed, or does not exist.
    #[error("input {number} cannot be correlated: {why}")]
    NotCorrelated {
        /// Counted from one.
        number: usize,
        /// Why.
        why: &'static str,
    },
    /// Too few or too many draws.
    #[error("{given} draws asked for; it must be 100 to {DRAWS_MAX}")]
    Draws {
        /// As given.
        given: usize,
    },
    /// The model says nothing even for the best values.
    #[error("there is no outcome for the best values themselves")]
    NoOutcome,
    /// Too few draws came out for what is asked.
    #[error("only {had} draws came out; {what} takes {wanted}")]
    TooFew {
        /// What was asked for.
        what: &'static str,
        /// How many there are.
        had: usize,
        /// How many it takes.
        wanted: usize,
    },
    /// The corner itself makes no sense.
    #[error(transparent)]
    Corner(#[from] crate::linkage::LinkageError),
    /// The bar makes no sense.
    #[error(transparent)]
    Bar(#[from] crate::bar::BarError),
    /// The teeth make no sense.
    #[error(transparent)]
    Teeth(#[from] crate::splines::SplineError),
}

impl ChanceError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Nonsense { .. } => {
                "a spread is 0 or more, a share lies between 0 and 1, values are finite"
            }
            Self::Kind { .. } => "give the quantity that is named",
            Self::Correlation { .. } => "a correlation lies between -1 and 1, and they go together",
            Self::NotCorrelated { .. } => "only normally distributed inputs can be correlated here",
            Self::Draws { .. } => "10 000 draws show the shape, 1 000 000 the third digit",
            Self::NoOutcome | Self::Corner(_) | Self::Bar(_) => {
                "the best values come first: see what the findings say about them"
            }
            Self::TooFew { .. } => "ask for more draws",
            Self::Teeth(error) => error.hint(),
        }
    }
}

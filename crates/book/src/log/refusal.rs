//! What is wrong with an entry, at which field, and what would be right.

use crate::problem::ProblemKind;

/// Why a body is not written, or not counted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what}; {right}")]
pub struct Refusal {
    /// The field of the body it is about: `value`, `reading.hung`, `weight.LF`.
    pub field: String,
    /// What is wrong: one sentence, lower case, no full stop.
    pub what: String,
    /// What would be right.
    pub right: String,
}

impl Refusal {
    pub(super) fn new(field: &str, what: impl Into<String>, right: impl Into<String>) -> Self {
        Self { field: field.to_owned(), what: what.into(), right: right.into() }
    }

    /// In the words in which the car file is told of the same slip.
    pub(super) fn of(field: &str, kind: &ProblemKind) -> Self {
        Self::new(field, kind.to_string(), kind.right())
    }

    /// The same, of a body inside another.
    pub(super) fn inside(mut self, outer: &str) -> Self {
        self.field = format!("{outer}.{}", self.field);
        self
    }
}

//! The general problem: any cost from each task to each other, and pairs that must keep order.
//!
//! This is the sequential ordering problem of the literature. Step sets with contexts are easier
//! and have a road of their own ([`crate::plan`]); this one is for costs that are no sum over
//! features, and it is where the search is measured against published instances.

use crate::bits::Relation;

/// The largest cost of one arc that is taken.
pub const COST_MAX: i64 = 50_000_000;
/// The most tasks that are taken.
pub const TASKS_MAX: usize = 2_000;

/// Costs between tasks and which must come before which.
#[derive(Debug, Clone)]
pub struct Matrix {
    pub(crate) len: usize,
    /// Row: from, column: to. Where the pair cannot follow directly the value is never used.
    pub(crate) cost: Vec<i64>,
    pub(crate) relation: Relation,
}

/// Why a matrix is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MatrixError {
    /// Not n × n.
    #[error("the matrix has {given} entries; {len} tasks need {}", len * len)]
    NotSquare {
        /// Tasks.
        len: usize,
        /// Entries found.
        given: usize,
    },
    /// Too many tasks.
    #[error("{given} tasks; at most {TASKS_MAX} are taken")]
    TooMany {
        /// Tasks asked for.
        given: usize,
    },
    /// A cost out of range.
    #[error("the cost from task {from} to task {to} is {given}; it must lie in 0 to {COST_MAX}")]
    Cost {
        /// Row, counted from 0.
        from: usize,
        /// Column, counted from 0.
        to: usize,
        /// As given.
        given: i64,
    },
    /// The pairs contradict each other.
    #[error("the precedences go round in a loop")]
    Loop,
    /// The text is no instance file.
    #[error("line {line}: {what}")]
    Text {
        /// Line, counted from 1.
        line: usize,
        /// What is wrong and what would be right.
        what: String,
    },
}

impl Matrix {
    /// From whole-number costs, row by row, and pairs (first, second).
    ///
    /// # Errors
    /// Wrong number of entries, too many tasks, a cost outside 0 to [`COST_MAX`] between two tasks
    /// that could follow each other, or pairs that go round in a loop.
    pub fn new(len: usize, cost: Vec<i64>, pairs: &[(usize, usize)]) -> Result<Self, MatrixError> {
        if len > TASKS_MAX {
            return Err(MatrixError::TooMany { given: len });
        }
        if cost.len() != len * len {
            return Err(MatrixError::NotSquare { len, given: cost.len() });
        }
        let relation = Relation::new(len, pairs).ok_or(MatrixError::Loop)?;
        for from in 0..len {
            for to in (0..len).filter(|&to| to != from && !relation.precedes(to, from)) {
                let given = cost[from * len + to];
                if !(0..=COST_MAX).contains(&given) {
                    return Err(MatrixError::Cost { from, to, given });
                }
            }
        }
        Ok(Self { len, cost, relation })
    }

    /// From the text of a TSPLIB `.sop` file: −1 at (i, j) means that j comes before i.
    ///
    /// # Errors
    /// A missing dimension or matrix, a word that is no number, a number too many or too few, and
    /// all that [`Matrix::new`] refuses.
    ///
    /// # Source
    /// Reinelt, "TSPLIB — a traveling salesman problem library", ORSA J. Computing 3 (1991), 376.
    pub fn parse_sop(text: &str) -> Result<Self, MatrixError> {
        let lines = text.lines().enumerate().map(|(at, line)| (at + 1, line.trim()));
        let mut body = lines.skip_while(|(_, line)| !line.starts_with("EDGE_WEIGHT_SECTION"));
        let missing = || MatrixError::Text {
            line: text.lines().count(),
            what: "no EDGE_WEIGHT_SECTION; the matrix follows that word".to_owned(),
        };
        body.next().ok_or_else(missing)?;
        let mut numbers = Vec::new();
        for (line, words) in body.take_while(|(_, line)| !line.starts_with("EOF")) {
            for word in words.split_whitespace() {
                numbers.push(word.parse::<i64>().map_err(|_| MatrixError::Text {
                    line,
                    what: format!("'{word}' is no whole number"),
                })?);
            }
        }
        let (&first, cost) = numbers.split_first().ok_or_else(missing)?;
        let len = usize::try_from(first).unwrap_or(usize::MAX);
        if len > TASKS_MAX {
            return Err(MatrixError::TooMany { given: len });
        }
        if cost.len() != len * len {
            return Err(MatrixError::NotSquare { len, given: cost.len() });
        }
        let entries = cost.iter().enumerate().filter(|&(_, &value)| value == -1);
        let pairs: Vec<_> = entries.map(|(at, _)| (at % len, at / len)).collect();
        Self::new(len, cost.to_vec(), &pairs)
    }

    /// How many tasks.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.len
    }

    /// Whether there is nothing to do.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.len == 0
    }

    /// The cost of a whole order; `None` where it misses a task or breaks a precedence.
    #[must_use]
    pub fn cost(&self, order: &[usize]) -> Option<i64> {
        self.relation.allows(order).then(|| self.sum(order))
    }

    pub(crate) fn sum(&self, order: &[usize]) -> i64 {
        order.windows(2).map(|pair| self.cost[pair[0] * self.len + pair[1]]).sum()
    }
}

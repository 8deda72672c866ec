//! In which order.
mod anneal;
mod bits;
mod exchange;
mod frame;
mod lagrange;
mod layers;
mod matrix;
mod random;
mod search;
mod tree;
mod watch;

pub use matrix::{Matrix, MatrixError};
pub use search::{Found, solve_matrix};
pub use watch::{Control, Effort, Progress, StoppedBy};

//! The log of a book: entries that are only ever added, and the state they fold to.

pub mod body;

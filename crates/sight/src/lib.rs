//! Measuring with photographs.
mod edge;
pub mod family;
pub mod find;
pub mod grey;
pub mod sheet;

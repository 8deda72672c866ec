//! Measuring with photographs.
pub mod family;
pub mod sheet;

//! Everything at once: lenses, cameras, sheets and points that fit all corners and taps best.

pub(crate) mod model;
pub(crate) mod solve;

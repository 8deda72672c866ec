//! Four builds abreast.

use super::{Case, OUTCOMES};

/// A case made ready for many builds.
#[derive(Debug, Clone)]
pub(super) struct Fast {}

impl Fast {
    /// None for corners that are solved one by one.
    pub(super) fn new(_case: &Case, _free: f64, _trim: f64) -> Option<Self> {
        None
    }

    /// Fills what it can of a block; the rest stays NaN.
    pub(super) fn block(&self, _drawn: &[(usize, Vec<f64>)], _columns: &mut [Vec<f64>; OUTCOMES]) {}
}

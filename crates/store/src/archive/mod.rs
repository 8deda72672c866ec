//! A whole book in one file, to hand on or to put away: a tar archive that any system unpacks.
//!
//! ```text
//! README.txt          how to read the rest without this program
//! log.jsonl           one line per entry, as they stand in the book, byte for byte
//! photos/ab/ab….jpg   the photos that entries name, unchanged
//! ```
//!
//! The same book gives the same archive, to the last byte: names in order, no owner, and as the
//! time of each file that of the last entry.

mod read;
mod write;

pub use read::{Imported, import, import_retold};
pub use write::{Exported, export};

/// The largest `log.jsonl` that is read, in bytes.
pub const ARCHIVE_BYTES_MAX: u64 = 4 * 1024 * 1024 * 1024;

const README_NAME: &str = "README.txt";
const LOG_NAME: &str = "log.jsonl";
const PHOTOS_NAME: &str = "photos";

/// Goes into every archive.
const README: &str = include_str!("readme.txt");

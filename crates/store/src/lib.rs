//! The only SQL and the only files of a book.
//!
//! ```text
//! FOLDER/
//!   book.sqlite      the log: one row per entry, each with its line as text
//!   book.lock        who has the book open for writing
//!   photos/ab/ab….jpg  each photo under its own SHA-256
//!   thumbs/ab/ab….jpg  small pictures; may be deleted, are made anew
//! ```
//!
//! [`Store`] keeps these promises:
//!
//! - what [`Store::append`] and [`Store::add_photo`] return is on the disk; a killed process or a
//!   full disk takes nothing of it away
//! - nothing is changed or taken out: rows are only ever added, photos never rewritten
//! - one process writes at a time, and another one is told which; readers need no leave
//! - what is damaged is told by [`verify`], with what is still good
//!
//! This crate knows the clock only as a text the caller hands in.

mod archive;
mod backup;
mod error;
mod files;
mod ground;
mod head;
mod lock;
mod pages;
mod photo;
mod salvage;
mod schema;
mod store;
mod table;
mod verify;

pub use archive::{ARCHIVE_BYTES_MAX, Exported, Imported, export, import, import_retold};
pub use backup::{BackedUp, Checked, LastBackup, backup, check_backup};
pub use error::{ArchiveFault, StoreError};
pub use ground::{Ground, Part as GroundPart};
pub use head::{HEAD_FILE, Loss};
pub use lock::Holder;
pub use photo::{
    GreyPhoto, Media, PHOTO_BYTES_MAX, PHOTO_PIXELS_MAX, PhotoError, PhotoFile, PhotoGone,
    Prepared, THUMB_SIDE_MAX,
};
pub use salvage::{Salvaged, Salvager, salvage};
pub use schema::{APPLICATION_ID, FORMAT};
pub use store::{BOOK_FILE, Draft, Entries, Lines, Store, is_book};
pub use table::write_table;
pub use verify::{Backwards, Fault, Verified, verify};

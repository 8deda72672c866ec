//! Why an entry was not written.

use std::fmt;
use std::path::PathBuf;

use axlewright_book::log::Refusal;
use axlewright_store::StoreError;

use crate::desk::DeskError;

/// Why an entry was not written.
#[derive(Debug)]
pub enum Refused {
    /// What was opened is a car file: nothing can be added to it.
    NotABook(PathBuf),
    /// The entry makes no sense, at one of its fields.
    Body(Refusal),
    /// The clock says what no log can hold.
    Clock(String),
    /// The photo, the book's files, or the disk.
    Store(StoreError),
    /// Another file or folder.
    Desk(DeskError),
}

impl From<StoreError> for Refused {
    fn from(why: StoreError) -> Self {
        Self::Store(why)
    }
}

impl From<DeskError> for Refused {
    fn from(why: DeskError) -> Self {
        match why {
            DeskError::Book(why) => Self::Store(why),
            other => Self::Desk(other),
        }
    }
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotABook(path) => {
                write!(f, "`{}` is a car file; only a book takes entries", path.display())
            }
            Self::Body(refusal) => f.write_str(&refusal.what),
            Self::Clock(what) => write!(f, "the clock of this machine is wrong: {what}"),
            Self::Store(why) => write!(f, "{why}"),
            Self::Desk(why) => write!(f, "{why}"),
        }
    }
}

impl std::error::Error for Refused {}

impl Refused {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::NotABook(path) => format!(
                "start a book from it with `axlewright book new FOLDER --car {}`",
                path.display()
            ),
            Self::Body(refusal) => refusal.right.clone(),
            Self::Clock(_) => "set the clock and write it again".to_owned(),
            Self::Store(why) => why.hint().to_string(),
            Self::Desk(why) => why.hint(),
        }
    }

    /// The field of the entry it is about, `value` or `reading.hung`, for a form to mark.
    pub fn field(&self) -> Option<&str> {
        match self {
            Self::Body(refusal) => Some(&refusal.field),
            Self::NotABook(_) | Self::Clock(_) | Self::Store(_) | Self::Desk(_) => None,
        }
    }

    /// Whether what was given is at fault, and not the file, the lock or the disk.
    pub const fn is_input(&self) -> bool {
        matches!(self, Self::Body(_) | Self::Store(StoreError::Photo(_)))
    }
}

//! What can go wrong with a book's files, as facts.

use std::io;
use std::path::{Path, PathBuf};

use axlewright_book::log::LineError;

use crate::ground::Part;
use crate::head::Loss;
use crate::photo::PhotoError;
use crate::schema::FORMAT;

/// What went wrong with a book.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// There is nothing.
    #[error("there is no book at `{}`", .path.display())]
    Missing {
        /// Where one was looked for.
        path: PathBuf,
    },
    /// There is something else.
    #[error("`{}` is not a book", .path.display())]
    NotABook {
        /// What was looked at.
        path: PathBuf,
    },
    /// A copy was to go into the very book it is a copy of.
    #[error("`{}` lies inside the book that is to be copied", .path.display())]
    Inside {
        /// Where it was to go.
        path: PathBuf,
    },
    /// Something stands where something new was to be made.
    #[error("`{}` is there already and is left alone", .path.display())]
    Taken {
        /// What stands there.
        path: PathBuf,
    },
    /// The book was written by a newer program.
    #[error(
        "the book `{}` has format {found}; formats up to {FORMAT} are read here",
        .path.display()
    )]
    Newer {
        /// The book.
        path: PathBuf,
        /// Its format.
        found: i64,
        /// The program's version that reads it, as the book says.
        needs: Option<String>,
    },
    /// Somebody else has it open for writing.
    #[error(
        "the book `{}` is open elsewhere{}",
        .path.display(),
        .holder.as_ref().map(|holder| format!(": {holder}")).unwrap_or_default()
    )]
    Locked {
        /// The book.
        path: PathBuf,
        /// Who has it, as its lock file says.
        holder: Option<String>,
    },
    /// The path no longer leads to what was opened.
    #[error(
        "the book `{}` is not where it was opened: {} {}",
        .path.display(),
        .part.word(),
        if *.gone { "is gone" } else { "is another one now" }
    )]
    Moved {
        /// Where it was.
        path: PathBuf,
        /// What is not the same.
        part: Part,
        /// Whether nothing stands there, rather than something else.
        gone: bool,
    },
    /// Something that was acknowledged is not here.
    #[error("the book `{}` is not whole: {loss}", .path.display())]
    Lost {
        /// The book.
        path: PathBuf,
        /// What is not here.
        loss: Loss,
    },
    /// It was opened for reading only.
    #[error("the book `{}` was opened for reading only", .path.display())]
    Reader {
        /// The book.
        path: PathBuf,
    },
    /// The system does not let us write.
    #[error("`{}` may not be written", .path.display())]
    ReadOnly {
        /// The file or folder.
        path: PathBuf,
    },
    /// No room.
    #[error("no room is left on the disk for `{}`", .path.display())]
    Full {
        /// What was being written.
        path: PathBuf,
    },
    /// The database is damaged.
    #[error("`{}` is damaged: {what}", .path.display())]
    Corrupt {
        /// The file.
        path: PathBuf,
        /// What was noticed.
        what: String,
    },
    /// A line of the log is not right.
    #[error("the log of `{}` is damaged at entry {seq}: {why}", .path.display())]
    Line {
        /// The book.
        path: PathBuf,
        /// The row's number.
        seq: i64,
        /// What is wrong.
        why: LineError,
    },
    /// An entry cannot be written as it is.
    #[error("the entry cannot be written: {0}")]
    Entry(LineError),
    /// An entry names a photo that is not there.
    #[error("the photo `{name}` is not in the book `{}`", .path.display())]
    NoPhoto {
        /// The book.
        path: PathBuf,
        /// Its name under `photos`.
        name: String,
    },
    /// A photo is not taken in.
    #[error(transparent)]
    Photo(#[from] PhotoError),
    /// An archive is not one of a book.
    #[error("this is no exported book: {0}")]
    Archive(ArchiveFault),
    /// The system refused.
    #[error("cannot {doing} `{}`: {}", .path.display(), in_words(.why))]
    System {
        /// What was tried: `read`, `write`, `make`.
        doing: &'static str,
        /// On what.
        path: PathBuf,
        /// What it said.
        why: io::Error,
    },
    /// The database refused for another reason.
    #[error("the database `{}` refuses: {why}", .path.display())]
    Database {
        /// The file.
        path: PathBuf,
        /// What it said.
        why: String,
    },
}

/// What is wrong with an archive.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ArchiveFault {
    /// A name that an archive of a book does not hold.
    #[error("it holds `{name}`, which no book has")]
    Name {
        /// The name.
        name: String,
    },
    /// A link, a device or another thing that is not a file.
    #[error("`{name}` in it is not a plain file")]
    NotAFile {
        /// The name.
        name: String,
    },
    /// Too big to be right.
    #[error("`{name}` in it has {bytes} bytes; {most} are allowed")]
    TooBig {
        /// The name.
        name: String,
        /// Its size.
        bytes: u64,
        /// The limit.
        most: u64,
    },
    /// A name twice.
    #[error("`{name}` stands in it twice")]
    Twice {
        /// The name.
        name: String,
    },
    /// A photo before the log that names it.
    #[error("`{name}` stands before `log.jsonl`")]
    BeforeLog {
        /// The name.
        name: String,
    },
    /// No log.
    #[error("`log.jsonl` is not in it")]
    NoLog,
    /// A line of the log is not right.
    #[error("line {line} of `log.jsonl`: {why}")]
    Line {
        /// Counted from 1.
        line: u64,
        /// What is wrong.
        why: LineError,
    },
    /// A line is not UTF-8 text.
    #[error("line {line} of `log.jsonl` is not UTF-8 text")]
    NotText {
        /// Counted from 1.
        line: u64,
    },
    /// A photo's bytes are not those its name promises.
    #[error("`{name}` is not the photo its name promises")]
    PhotoAltered {
        /// The name.
        name: String,
    },
    /// A photo that no entry names.
    #[error("no entry names `{name}`")]
    PhotoUnlogged {
        /// The name.
        name: String,
    },
    /// Not even its beginning is that of an archive.
    #[error("it is no tar archive")]
    NoArchive,
    /// It ends in the middle or is damaged.
    #[error("it cannot be read: {what}")]
    Broken {
        /// What was noticed.
        what: String,
    },
}

impl StoreError {
    /// What would be right.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "check the name, or start a book with `axlewright book new`",
            Self::NotABook { .. } => "name the folder that holds `book.sqlite`",
            Self::Taken { .. } => "choose another name, or move that away if it is not needed",
            Self::Inside { .. } => {
                "choose a folder outside the book, best on another disk or stick: what becomes of \
                 the book must not become of its copy"
            }
            Self::Newer { needs: Some(_), .. } => {
                "open it with the version that the book asks for, or a newer one"
            }
            Self::Newer { .. } => "open it with the newer axlewright that wrote it",
            Self::Locked { .. } => {
                "close it there, or only look: reading, backup and export work all the same"
            }
            Self::Moved { .. } => {
                "put the book back where it was, or end this program and start it again on the \
                 book that is to be written to; nothing more is written until then"
            }
            Self::Lost { loss: Loss::Unknown { .. }, .. } => {
                "`axlewright book verify` says what is still good; opening the book to write makes \
                 the file anew"
            }
            Self::Lost { .. } => {
                "look for a newer copy of the folder, or for the rest of its files; nothing is \
                 written over it meanwhile. `axlewright book salvage BOOK NEW` makes a book of \
                 what is here"
            }
            Self::Reader { .. } => "open it for writing",
            Self::ReadOnly { .. } => {
                "ask for the right to write there, or copy the book to a folder of your own"
            }
            Self::Full { .. } => {
                "make room on the disk and try again; what was acknowledged is safe"
            }
            Self::Corrupt { .. } | Self::Line { .. } => {
                "`axlewright book verify` says what is still good, and `axlewright book salvage \
                 BOOK NEW` makes a book of everything that is; change nothing before a copy is \
                 made of the whole folder"
            }
            Self::Entry(_) => "correct what is named and write it again",
            Self::NoPhoto { .. } => "take the photo in first, then write the entry that names it",
            Self::Photo(why) => why.hint(),
            Self::Archive(_) => "take an archive that `axlewright book export` wrote, unchanged",
            Self::System { why, .. } if why.kind() == io::ErrorKind::PermissionDenied => {
                "ask for the right to it, or copy the book to a folder of your own"
            }
            Self::System { .. } | Self::Database { .. } => {
                "check that the disk or the stick is still there, healthy and not full"
            }
        }
    }

    /// What the system said while something was done to a path.
    pub(crate) fn system(doing: &'static str, path: &Path, why: io::Error) -> Self {
        let path = path.to_owned();
        match why.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full { path },
            io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly { path },
            io::ErrorKind::PermissionDenied if doing != "read" => Self::ReadOnly { path },
            io::ErrorKind::NotFound if doing == "read" => Self::Missing { path },
            _ => Self::System { doing, path, why },
        }
    }

    /// What the database said.
    pub(crate) fn database(path: &Path, why: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let path = path.to_owned();
        let what = why.to_string();
        match why.sqlite_error_code() {
            Some(Code::DiskFull) => Self::Full { path },
            Some(Code::ReadOnly | Code::PermissionDenied) => Self::ReadOnly { path },
            Some(Code::DatabaseCorrupt) => Self::Corrupt { path, what },
            Some(Code::NotADatabase) => Self::NotABook { path },
            Some(Code::DatabaseBusy | Code::DatabaseLocked) => Self::Locked { path, holder: None },
            Some(_) => Self::Database { path, why: what },
            // A column that holds something else than it should.
            None => Self::Corrupt { path, what },
        }
    }
}

/// The system's own message without its number.
pub(crate) fn in_words(why: &io::Error) -> String {
    let text = why.to_string();
    let plain = text.split(" (os error").next().unwrap_or(&text);
    let mut letters = plain.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}

//! Whether a book is still where it was opened.
//!
//! A process goes on writing to a file that was deleted, renamed, or replaced by another of the
//! same name, and nobody ever finds again what it wrote. So the folder, the database and the lock
//! are compared with what was opened, before and after each write.

use std::fs::{self, File, Metadata};
use std::io;
use std::path::{Path, PathBuf};

use crate::StoreError;
use crate::lock::LOCK_FILE;
use crate::store::BOOK_FILE;

/// What was found to be gone or another one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The folder.
    Folder,
    /// `book.sqlite`.
    Database,
    /// `book.lock`.
    Lock,
    /// `book.sqlite-wal`.
    Wal,
}

impl Part {
    /// Its name, as a sentence has it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Folder => "the folder",
            Self::Database => BOOK_FILE,
            Self::Lock => LOCK_FILE,
            Self::Wal => "book.sqlite-wal",
        }
    }
}

/// A file or folder, whatever it is called. An open file's number is not given to another one.
#[cfg(unix)]
type Id = (u64, u64);
/// Where an open file can be neither renamed nor deleted, that it is there says enough.
#[cfg(not(unix))]
type Id = ();

#[cfg(unix)]
fn id(found: &Metadata) -> Id {
    use std::os::unix::fs::MetadataExt;
    (found.dev(), found.ino())
}

#[cfg(not(unix))]
fn id(_: &Metadata) -> Id {}

fn is_gone(why: &io::Error) -> bool {
    matches!(why.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

/// What was opened for writing, for whoever wants to know whether it is still there.
#[derive(Debug, Clone)]
pub struct Ground {
    path: PathBuf,
    folder: Id,
    database: Id,
    lock: Id,
}

impl Ground {
    /// Of a folder whose lock is held through this file.
    pub(crate) fn of(path: &Path, lock: &File) -> io::Result<Self> {
        let (folder, database) = (fs::metadata(path)?, fs::metadata(path.join(BOOK_FILE))?);
        let (folder, database, lock) = (id(&folder), id(&database), id(&lock.metadata()?));
        Ok(Self { path: path.to_owned(), folder, database, lock })
    }

    /// Whether the path still leads to it.
    ///
    /// # Errors
    /// What is gone, or another one.
    pub fn stands(&self) -> Result<(), StoreError> {
        let rows = [
            (Part::Folder, self.folder, self.path.clone()),
            (Part::Database, self.database, self.path.join(BOOK_FILE)),
            (Part::Lock, self.lock, self.path.join(LOCK_FILE)),
        ];
        for (part, was, path) in rows {
            let moved = |gone| StoreError::Moved { path: self.path.clone(), part, gone };
            match fs::metadata(&path) {
                Ok(found) if id(&found) == was => {}
                Ok(_) => return Err(moved(false)),
                Err(why) if is_gone(&why) => return Err(moved(true)),
                Err(why) => return Err(StoreError::system("read", &path, why)),
            }
        }
        Ok(())
    }
}

//! One process writes to a book at a time, and says who it is.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;

use crate::StoreError;

/// The file that is locked.
const LOCK_FILE: &str = "book.lock";
/// More than this is not read from a lock file.
const HOLDER_BYTES_MAX: u64 = 300;

/// Who opens a book for writing, for others to read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Holder {
    /// A person or a program.
    pub by: String,
    /// Since when, `2026-11-25T21:00:00Z`.
    pub since: String,
}

/// The lock; given back when it is dropped, also by a killed process.
#[derive(Debug)]
pub struct Lock {
    file: File,
}

impl Lock {
    /// Takes the lock of a book's folder, or says who has it.
    pub fn take(folder: &Path, holder: &Holder) -> Result<Self, StoreError> {
        let path = folder.join(LOCK_FILE);
        let refused = |why| StoreError::system("write", &path, why);
        // Not truncated: the holder's words stand in it.
        let open =
            OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = open.map_err(refused)?;
        match file.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                let holder = held_by(&mut file);
                return Err(StoreError::Locked { path: folder.to_owned(), holder });
            }
            Err(TryLockError::Error(why)) => return Err(refused(why)),
        }
        let Holder { by, since } = holder;
        let words = format!("process {}, {by}, since {since}\n", std::process::id());
        // A courtesy to others: the lock holds without it, so a full disk is no reason to refuse.
        let _ = file.set_len(0).and_then(|()| file.write_all(words.as_bytes()));
        Ok(Self { file })
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = self.file.set_len(0);
        let _ = self.file.unlock();
    }
}

fn held_by(file: &mut File) -> Option<String> {
    let mut bytes = Vec::new();
    file.rewind().ok()?;
    file.take(HOLDER_BYTES_MAX).read_to_end(&mut bytes).ok()?;
    let text = String::from_utf8_lossy(&bytes);
    let line = text.lines().next()?.trim();
    let plain: String = line.chars().filter(|letter| !letter.is_control()).collect();
    Some(plain).filter(|words| !words.is_empty())
}

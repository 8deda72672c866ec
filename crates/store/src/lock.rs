//! One process writes to a book at a time, and says who it is.

use std::fs::{File, OpenOptions, TryLockError};
use std::io::{Read, Seek, Write};
use std::path::Path;

use crate::{StoreError, files};

/// The file that is locked.
pub const LOCK_FILE: &str = "book.lock";
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
        // Not truncated: the holder's words stand in it. A link in its place is not followed, or
        // opening somebody else's book would empty whatever it points to.
        let mut file = files::open_or_make(&path).map_err(refused)?;
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

    /// The locked file.
    pub fn file(&self) -> &File {
        &self.file
    }
}

impl Drop for Lock {
    fn drop(&mut self) {
        let _ = self.file.set_len(0);
        let _ = self.file.unlock();
    }
}

/// Refuses where somebody writes to a book. Takes nothing and changes nothing.
pub fn nobody_writes(folder: &Path) -> Result<(), StoreError> {
    let path = folder.join(LOCK_FILE);
    let Ok(mut file) = files::open_plain(&path, OpenOptions::new().read(true)) else {
        return Ok(());
    };
    match file.try_lock_shared() {
        Err(TryLockError::WouldBlock) => {
            let holder = held_by(&mut file);
            Err(StoreError::Locked { path: folder.to_owned(), holder })
        }
        _ => Ok(()),
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

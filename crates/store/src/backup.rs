//! A second copy of a book, made while it is in use.

use std::fs::{self, File};
use std::path::Path;

use axlewright_book::log::Body;
use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use crate::files::DraftFolder;
use crate::head::Head;
use crate::photo::{self, PhotoFile, PhotoGone};
use crate::store::BOOK_FILE;
use crate::{Loss, Store, StoreError, files};

/// What a backup holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BackedUp {
    /// The number of its last entry.
    pub entries: u64,
    /// How many photos were copied.
    pub photos: u64,
    /// Photos that entries name and that are not in the backup.
    pub missing: Vec<PhotoGone>,
    /// What was acknowledged and is not here, so not in the backup either.
    pub loss: Option<Loss>,
}

/// Copies an open book into a folder that must not be there yet. The copy is a book in its own
/// right, as it was at one moment; writing may go on meanwhile. Every photo is compared with its
/// hash on the way; one that is missing, altered or cannot be read is named and left out.
///
/// # Errors
/// Something stands there already, it lies in the book itself, the log is damaged, or what the
/// system says. Then there is no folder of that name.
pub fn backup(store: &Store, to: &Path) -> Result<BackedUp, StoreError> {
    if fs::symlink_metadata(to).is_ok() {
        return Err(StoreError::Taken { path: to.to_owned() });
    }
    if is_inside(to, store.folder()) {
        return Err(StoreError::Inside { path: to.to_owned() });
    }
    let draft = DraftFolder::beside(to)?;
    let done = copy(store, draft.path())?;
    draft.finish()?;
    Ok(done)
}

/// Whether a path that is not there yet lies in a folder, whichever way it is written.
fn is_inside(path: &Path, folder: &Path) -> bool {
    let Ok(folder) = folder.canonicalize() else { return false };
    let mut above = files::above(path);
    loop {
        match above.canonicalize() {
            Ok(found) => return found.starts_with(&folder),
            Err(_) if above == files::above(&above) => return false,
            Err(_) => above = files::above(&above),
        }
    }
}

fn copy(store: &Store, draft: &Path) -> Result<BackedUp, StoreError> {
    let file = draft.join(BOOK_FILE);
    copy_database(store.db(), &file)?;
    // What was copied is read again, from the copy, before it is called a backup.
    let copy = Store::read_only(draft)?;
    let loss = store.loss().cloned();
    let mut done = BackedUp { loss, ..BackedUp::default() };
    let mut head = Head::NONE;
    for line in copy.lines() {
        let line = line?;
        let entry = line.entry();
        head = Head { seq: entry.seq, hash: line.hash() };
        let Body::Photo(said) = &entry.body else { continue };
        let Ok(photo) = PhotoFile::from_entry(said) else { continue };
        if draft.join(photo.path()).is_file() {
            continue;
        }
        match photo::find(store.folder(), &photo) {
            Ok(bytes) => {
                put(draft, &photo, &bytes)?;
                done.photos += 1;
            }
            Err(gone) if done.missing.contains(&gone) => {}
            Err(gone) => done.missing.push(gone),
        }
    }
    done.entries = head.seq;
    drop(copy);
    // Even a reader leaves small files beside a database; nothing is in them, the copy was closed.
    for ending in ["-wal", "-shm"] {
        let _ = fs::remove_file(draft.join(format!("{BOOK_FILE}{ending}")));
    }
    let last = File::open(&file).and_then(|file| file.sync_all());
    last.map_err(|why| StoreError::system("write", &file, why))?;
    head.write(draft)?;
    Ok(done)
}

/// A photo's bytes into the folder of a book that is being made.
pub(crate) fn put(draft: &Path, photo: &PhotoFile, bytes: &[u8]) -> Result<(), StoreError> {
    let path = draft.join(photo.path());
    let folder = files::above(&path);
    files::make_inside(draft, &files::above(&photo.path()))
        .map_err(|why| StoreError::system("make", &folder, why))?;
    files::write_whole(&path, bytes, draft)
}

fn copy_database(from: &Connection, file: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(file, why);
    files::make_file(file).map_err(|why| StoreError::system("make", file, why))?;
    let mut to = Connection::open(file).map_err(refused)?;
    {
        let copying = Backup::new(from, &mut to).map_err(refused)?;
        // All at once: one moment, whoever writes meanwhile.
        match copying.step(-1).map_err(refused)? {
            StepResult::Done => {}
            _ => return Err(StoreError::Locked { path: file.to_owned(), holder: None }),
        }
    }
    to.close().map_err(|(_, why)| refused(why))
}

//! A second copy of a book, made while it is in use.

use std::fs::{self, File};
use std::path::Path;

use axlewright_book::log::Body;
use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use crate::photo::{self, PhotoFile};
use crate::store::BOOK_FILE;
use crate::{Store, StoreError, files};

/// What a backup holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BackedUp {
    /// The number of its last entry.
    pub entries: u64,
    /// How many photos were copied.
    pub photos: u64,
    /// Photos that entries name and that were not there or no longer what they were: by name. They
    /// are not in the backup.
    pub missing: Vec<String>,
}

/// Copies an open book into a folder that must not be there yet. The copy is a book in its own
/// right, as it was at one moment; writing may go on meanwhile. Every photo is compared with its
/// hash on the way.
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
    let above = files::above(to);
    files::make_folder(&above)?;
    let draft = files::draft_in(&above);
    files::make_folder(&draft)?;
    let copied = copy(store, &draft).and_then(|done| {
        fs::rename(&draft, to)
            .and_then(|()| files::sync_folder(&above))
            .map_err(|why| StoreError::system("make", to, why))?;
        Ok(done)
    });
    if copied.is_err() {
        let _ = fs::remove_dir_all(&draft);
    }
    copied
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
    let mut done = BackedUp::default();
    for entry in copy.entries() {
        let entry = entry?;
        done.entries = entry.seq;
        let Body::Photo(said) = &entry.body else { continue };
        let Ok(photo) = PhotoFile::from_entry(said) else { continue };
        let to = draft.join(photo.path());
        if to.is_file() {
            continue;
        }
        match photo::read(store.folder(), &photo) {
            Ok(bytes) => {
                files::make_folder(&files::above(&to))?;
                files::write_whole(&to, &bytes, draft)?;
                done.photos += 1;
            }
            Err(StoreError::NoPhoto { .. } | StoreError::Corrupt { .. }) => {
                done.missing.push(photo.name());
            }
            Err(why) => return Err(why),
        }
    }
    drop(copy);
    // Even a reader leaves small files beside a database; nothing is in them, the copy was closed.
    for ending in ["-wal", "-shm"] {
        let _ = fs::remove_file(draft.join(format!("{BOOK_FILE}{ending}")));
    }
    let last = File::open(&file).and_then(|file| file.sync_all());
    last.and_then(|()| files::sync_folder(draft))
        .map_err(|why| StoreError::system("write", &file, why))?;
    Ok(done)
}

fn copy_database(from: &Connection, file: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(file, why);
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

//! Files that are whole or not there.

use std::fs::{self, File};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use crate::StoreError;

/// How the names of files begin that are not yet what they are to become.
pub const DRAFT: &str = ".incoming-";

/// Tells two drafts of one process apart.
static DRAFTS: AtomicU64 = AtomicU64::new(0);

/// Makes what was done in a folder (files made, renamed) last.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    // Windows does not open folders as files; its renames are journalled.
    if cfg!(windows) { Ok(()) } else { File::open(folder)?.sync_all() }
}

/// Makes a folder and lets it last; one that is there is fine.
pub fn make_folder(folder: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::system("make", folder, why);
    match fs::create_dir(folder) {
        Ok(()) => {}
        Err(why) if why.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => return Ok(()),
        Err(why) if why.kind() == io::ErrorKind::NotFound => {
            let Some(above) = folder.parent().filter(|above| *above != Path::new("")) else {
                return Err(refused(why));
            };
            make_folder(above)?;
            fs::create_dir(folder).map_err(refused)?;
        }
        Err(why) => return Err(refused(why)),
    }
    sync_folder(&above(folder)).map_err(refused)
}

/// The folder in which something stands.
pub fn above(path: &Path) -> PathBuf {
    match path.parent() {
        Some(above) if above != Path::new("") => above.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// A name in a folder for a file that is not yet what it is to become.
pub fn draft_in(folder: &Path) -> PathBuf {
    let number = DRAFTS.fetch_add(1, Ordering::Relaxed);
    folder.join(format!("{DRAFT}{}-{number}", std::process::id()))
}

/// Writes a file under another name, makes it last, and gives it its name; then makes the name
/// last too. Whatever fails, the name leads to the old file, the new one, or nothing.
pub fn write_whole(path: &Path, bytes: &[u8], drafts: &Path) -> Result<(), StoreError> {
    let draft = draft_in(drafts);
    let written = File::create_new(&draft)
        .and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        })
        .and_then(|()| fs::rename(&draft, path))
        .and_then(|()| sync_folder(&above(path)));
    if written.is_err() {
        // Gone already if only the last step failed.
        let _ = fs::remove_file(&draft);
    }
    written.map_err(|why| StoreError::system("write", path, why))
}

/// Reads a file that may have at most so many bytes; one byte more is read, so that a longer one is
/// noticed by its length.
pub fn read_at_most(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?.take(most.saturating_add(1)).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// Removes drafts that a killed process left in a folder. Only the book's owner may.
pub fn clear_drafts(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        if entry.file_name().to_string_lossy().starts_with(DRAFT) {
            // Left over again if it cannot be removed; it harms nobody.
            let _ = fs::remove_file(entry.path());
        }
    }
}

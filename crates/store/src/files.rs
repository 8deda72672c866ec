//! Files that are whole or not there, for nobody's eyes but the owner's, and never through a link.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

use crate::StoreError;

/// How the names of files begin that are not yet what they are to become.
pub const DRAFT: &str = ".incoming-";
/// In a folder that is not yet what it is to become: locked for as long as somebody fills it.
const FILLING: &str = "filling.lock";

/// Tells two drafts of one process apart.
static DRAFTS: AtomicU64 = AtomicU64::new(0);

/// Makes what was done in a folder (files made, renamed) last.
pub fn sync_folder(folder: &Path) -> io::Result<()> {
    // Windows does not open folders as files; its renames are journalled.
    if cfg!(windows) { Ok(()) } else { File::open(folder)?.sync_all() }
}

/// Makes one folder, which nobody else may look into.
fn make_one(folder: &Path) -> io::Result<()> {
    let mut maker = DirBuilder::new();
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut maker, 0o700);
    maker.create(folder)
}

/// Options for a file that is made, which nobody else may read.
fn making() -> OpenOptions {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options
}

/// Makes a file that must not be there yet.
pub fn make_file(path: &Path) -> io::Result<File> {
    making().open(path)
}

/// Opens a plain file. A link is not followed, and a pipe is not waited on.
pub fn open_plain(path: &Path, options: &OpenOptions) -> io::Result<File> {
    let plain = |found: &fs::Metadata| {
        let why = "it is a link, or no plain file";
        let refused = || io::Error::new(io::ErrorKind::InvalidInput, why);
        found.is_file().then_some(()).ok_or_else(refused)
    };
    let named = fs::symlink_metadata(path)?;
    plain(&named)?;
    let file = options.open(path)?;
    let opened = file.metadata()?;
    plain(&opened)?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        if (named.dev(), named.ino()) != (opened.dev(), opened.ino()) {
            return Err(io::Error::other("another file took its place just now"));
        }
    }
    Ok(file)
}

/// Opens a plain file for reading and writing; one that is not there is made.
pub fn open_or_make(path: &Path) -> io::Result<File> {
    match making().read(true).open(path) {
        Err(why) if why.kind() == io::ErrorKind::AlreadyExists => {
            open_plain(path, OpenOptions::new().read(true).write(true))
        }
        made => made,
    }
}

/// Makes a folder and lets it last; one that is there is fine, a link is not.
pub fn make_folder(folder: &Path) -> Result<(), StoreError> {
    let refused = |why| StoreError::system("make", folder, why);
    match make_one(folder) {
        Ok(()) => {}
        Err(why) if why.kind() == io::ErrorKind::AlreadyExists && folder.is_dir() => return Ok(()),
        Err(why) if why.kind() == io::ErrorKind::NotFound => {
            let Some(above) = folder.parent().filter(|above| *above != Path::new("")) else {
                return Err(refused(why));
            };
            make_folder(above)?;
            make_one(folder).map_err(refused)?;
        }
        Err(why) => return Err(refused(why)),
    }
    sync_folder(&above(folder)).map_err(refused)
}

/// Makes `photos/ab` or `thumbs/ab` inside a book's folder, which has to be there; neither of the
/// two may be a link to elsewhere.
pub fn make_inside(book: &Path, inside: &Path) -> io::Result<()> {
    let mut folder = book.to_owned();
    for name in inside {
        folder.push(name);
        match make_one(&folder) {
            Ok(()) => sync_folder(&above(&folder))?,
            Err(why) if why.kind() == io::ErrorKind::AlreadyExists => {
                if !fs::symlink_metadata(&folder)?.is_dir() {
                    let why = "it is a link, or no folder";
                    return Err(io::Error::new(io::ErrorKind::NotADirectory, why));
                }
            }
            Err(why) => return Err(why),
        }
    }
    Ok(())
}

/// The folder in which something stands.
pub fn above(path: &Path) -> PathBuf {
    match path.parent() {
        Some(above) if above != Path::new("") => above.to_owned(),
        _ => PathBuf::from("."),
    }
}

/// Whether a path that is not there yet lies in a folder, whichever way it is written.
pub fn is_inside(path: &Path, folder: &Path) -> bool {
    let Ok(folder) = folder.canonicalize() else { return false };
    let mut top = above(path);
    loop {
        match top.canonicalize() {
            Ok(found) => return found.starts_with(&folder),
            Err(_) if top == above(&top) => return false,
            Err(_) => top = above(&top),
        }
    }
}

/// Removes what even a reader leaves beside a database that was closed; nothing is in it.
pub fn remove_beside(database: &Path) {
    for ending in ["-wal", "-shm"] {
        let mut name = database.as_os_str().to_owned();
        name.push(ending);
        let _ = fs::remove_file(name);
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
    let written = make_file(&draft)
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

/// Reads a plain file that may have at most so many bytes; one byte more is read, so that a longer
/// one is noticed by its length.
pub fn read_at_most(path: &Path, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    let file = open_plain(path, OpenOptions::new().read(true))?;
    file.take(most.saturating_add(1)).read_to_end(&mut bytes)?;
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

/// A folder that is being filled, under a name that nobody else has, and that gets its own name
/// when it is whole; given up, it goes away.
#[derive(Debug)]
pub struct DraftFolder {
    path: PathBuf,
    to: PathBuf,
    filling: Option<File>,
}

impl DraftFolder {
    /// Beside what it is to become, which must not be there yet. What killed processes left there
    /// of the same kind is removed.
    pub fn beside(to: &Path) -> Result<Self, StoreError> {
        if fs::symlink_metadata(to).is_ok() {
            return Err(StoreError::Taken { path: to.to_owned() });
        }
        let above = above(to);
        make_folder(&above)?;
        sweep(&above);
        let refused = |why| StoreError::system("make", to, why);
        // A name that is taken may be anything: a link to elsewhere, files that somebody planted.
        let path = loop {
            let path = draft_in(&above);
            match make_one(&path) {
                Ok(()) => break path,
                Err(why) if why.kind() == io::ErrorKind::AlreadyExists => {}
                Err(why) => return Err(refused(why)),
            }
        };
        let mut draft = Self { path, to: to.to_owned(), filling: None };
        let filling = make_file(&draft.path.join(FILLING)).map_err(refused)?;
        // Where no lock can be had, the draft is only not swept up by others.
        let _ = filling.try_lock();
        draft.filling = Some(filling);
        Ok(draft)
    }

    /// Where it is filled.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Makes it last under its own name.
    pub fn finish(mut self) -> Result<(), StoreError> {
        let done = || {
            fs::remove_file(self.path.join(FILLING))?;
            sync_folder(&self.path)?;
            fs::rename(&self.path, &self.to)?;
            sync_folder(&above(&self.to))
        };
        done().map_err(|why| StoreError::system("make", &self.to, why))?;
        self.path = PathBuf::new();
        Ok(())
    }
}

impl Drop for DraftFolder {
    fn drop(&mut self) {
        if self.path != Path::new("") {
            let _ = fs::remove_dir_all(&self.path);
        }
    }
}

/// Removes folders that a killed process was filling: those with our name, and with our lock in
/// them that nobody holds.
fn sweep(folder: &Path) {
    for entry in fs::read_dir(folder).into_iter().flatten().flatten() {
        let ours = entry.file_name().to_string_lossy().starts_with(DRAFT)
            && entry.file_type().is_ok_and(|kind| kind.is_dir());
        let lock = entry.path().join(FILLING);
        if !ours {
            continue;
        }
        let Ok(lock) = open_plain(&lock, OpenOptions::new().read(true).write(true)) else {
            continue;
        };
        if lock.try_lock().is_ok() {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[cfg(unix)]
    #[test]
    fn a_link_and_a_pipe_are_not_opened() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("victim"), "precious").unwrap();
        std::os::unix::fs::symlink(at("victim"), at("link")).unwrap();
        assert!(std::process::Command::new("mkfifo").arg(at("pipe")).status().unwrap().success());
        for name in ["link", "pipe"] {
            assert!(read_at_most(&at(name), 100).is_err(), "{name}");
            assert!(open_or_make(&at(name)).is_err(), "{name}");
        }
        assert_eq!(fs::read_to_string(at("victim")).unwrap(), "precious");
        assert_eq!(read_at_most(&at("victim"), 100).unwrap(), b"precious");
    }

    #[cfg(unix)]
    #[test]
    fn what_is_made_is_for_the_owner_alone() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let draft = DraftFolder::beside(&folder.path().join("new")).unwrap();
        write_whole(&draft.path().join("file"), b"x", draft.path()).unwrap();
        draft.finish().unwrap();
        let mode = |name: &str| {
            fs::metadata(folder.path().join(name)).unwrap().permissions().mode() & 0o777
        };
        assert_eq!((mode("new"), mode("new/file")), (0o700, 0o600));
    }

    #[test]
    fn what_a_killed_process_left_is_swept_up_and_what_is_in_use_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        let used = DraftFolder::beside(&at("one")).unwrap();
        let left = DraftFolder::beside(&at("two")).unwrap();
        let path = left.path().to_owned();
        // As a killed process leaves it: there, and unlocked.
        let kept = left.path.clone();
        let mut left = left;
        (left.path, left.filling) = (PathBuf::new(), None);
        fs::create_dir(at(".incoming-1-1")).unwrap();
        let planted = at(".incoming-1-1").join("planted");
        fs::write(&planted, "somebody's own").unwrap();
        assert!(kept.is_dir());
        let third = DraftFolder::beside(&at("three")).unwrap();
        assert!(!path.exists() && used.path().is_dir() && planted.is_file());
        drop((used, third));
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}

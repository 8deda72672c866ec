//! A second copy of a book, made while it is in use.

use std::fs::File;
use std::path::Path;

use axlewright_book::log::Body;
use rusqlite::Connection;
use rusqlite::backup::{Backup, StepResult};

use crate::files::DraftFolder;
use crate::head::{HEAD_FILE, Head};
use crate::photo::{self, PhotoFile, PhotoGone};
use crate::store::BOOK_FILE;
use crate::{Holder, Loss, Store, StoreError, files};

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
    if files::is_inside(to, store.folder()) {
        return Err(StoreError::Inside { path: to.to_owned() });
    }
    let draft = DraftFolder::beside(to)?;
    let done = copy(store, draft.path())?;
    draft.finish()?;
    Ok(done)
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
        head = Head { seq: entry.seq, hash: line.link() };
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
    files::remove_beside(&file);
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

/// What was found of a backup.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Checked {
    /// The number of its last entry.
    pub entries: u64,
    /// The number of the book's own last entry.
    pub of: u64,
    /// The first entry that is not the book's.
    pub differs: Option<u64>,
    /// How many of its photos are what they were.
    pub photos: u64,
    /// Photos that its entries name and that are not in it.
    pub missing: Vec<PhotoGone>,
}

/// Puts a backup back, into a folder that goes away again, and compares it with the book: opened as
/// a book is that is to be written to, every line held against the book's own, every photo against
/// its hash.
///
/// # Errors
/// A backup that is no whole book, a damaged book, or what the system says.
pub fn check_backup(store: &Store, backup: &Path) -> Result<Checked, StoreError> {
    let kept = Store::read_only(backup)?;
    let place = std::env::temp_dir().join(format!("axlewright-check-{}", std::process::id()));
    let draft = DraftFolder::beside(&place)?;
    let file = draft.path().join(BOOK_FILE);
    copy_database(kept.db(), &file)?;
    let noted = files::read_at_most(&backup.join(HEAD_FILE), NOTE_BYTES_MAX);
    if let Ok(noted) = noted {
        files::write_whole(&draft.path().join(HEAD_FILE), &noted, draft.path())?;
    }
    let holder = Holder { by: "a check".to_owned(), since: String::new() };
    let restored = Store::open(draft.path(), &holder)?;
    let mut done = Checked { of: last(store)?, ..Checked::default() };
    let mut own = store.lines();
    let mut seen = std::collections::BTreeSet::new();
    for line in restored.lines() {
        let line = line?;
        let seq = line.entry().seq;
        done.entries = seq;
        if own.next().transpose()?.is_none_or(|own| own != line) {
            done.differs.get_or_insert(seq);
        }
        let Body::Photo(said) = &line.entry().body else { continue };
        let Ok(photo) = PhotoFile::from_entry(said) else { continue };
        if !seen.insert(photo.name()) {
            continue;
        }
        match photo::find(backup, &photo) {
            Ok(_) => done.photos += 1,
            Err(gone) => done.missing.push(gone),
        }
    }
    Ok(done)
}

fn last(store: &Store) -> Result<u64, StoreError> {
    // Of a reader, not of the moment of the last look.
    store.lines().try_fold(0, |_, line| Ok(line?.entry().seq))
}

/// The last copy of a book that was made, as it is noted in the book's folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastBackup {
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// The number of its last entry.
    pub entries: u64,
    /// Whether it lies on the same disk as the book, as far as the system tells.
    pub same_disk: bool,
    /// Where.
    pub to: String,
}

/// The file with the note.
const NOTE_FILE: &str = "book.backup";
const NOTE_WORDS: &str = "axlewright backup 1";
const NOTE_BYTES_MAX: u64 = 16 * 1024;

impl LastBackup {
    /// Of a copy that was just made.
    pub fn of(folder: &Path, to: &Path, at: &str, entries: u64) -> Self {
        let to = to.canonicalize().unwrap_or_else(|_| to.to_owned());
        let same_disk = same_disk(folder, &to);
        // On one line, whatever the name holds.
        let to = to.to_string_lossy().replace(char::is_control, "?");
        Self { at: at.to_owned(), entries, same_disk, to }
    }

    /// What is noted in a book's folder; nothing where there is no note, or none that can be read.
    pub fn read(folder: &Path) -> Option<Self> {
        let bytes = files::read_at_most(&folder.join(NOTE_FILE), NOTE_BYTES_MAX).ok()?;
        let text = String::from_utf8(bytes).ok()?;
        let mut lines = text.lines();
        let mut next = |word: &str| lines.next()?.strip_prefix(word)?.strip_prefix(' ');
        next("axlewright backup").filter(|version| *version == "1")?;
        let (at, entries) = (next("at")?.to_owned(), next("entries")?.parse().ok()?);
        let same_disk = next("same-disk")? == "yes";
        Some(Self { at, entries, same_disk, to: next("to")?.to_owned() })
    }

    /// Writes the note.
    ///
    /// # Errors
    /// What the system says; the copy is no worse for it.
    pub fn write(&self, folder: &Path) -> Result<(), StoreError> {
        let Self { at, entries, same_disk, to } = self;
        let same_disk = if *same_disk { "yes" } else { "no" };
        let text =
            format!("{NOTE_WORDS}\nat {at}\nentries {entries}\nsame-disk {same_disk}\nto {to}\n");
        files::write_whole(&folder.join(NOTE_FILE), text.as_bytes(), folder)
    }
}

/// Whether two places are on one file system. Two parts of one disk are not told apart from two
/// disks.
#[cfg(unix)]
fn same_disk(one: &Path, other: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let disk = |path: &Path| std::fs::metadata(path).ok().map(|found| found.dev());
    disk(one).is_some() && disk(one) == disk(other)
}

/// By the letter of the drive.
#[cfg(not(unix))]
fn same_disk(one: &Path, other: &Path) -> bool {
    let drive = |path: &Path| {
        path.canonicalize().ok()?.components().next().map(|c| c.as_os_str().to_owned())
    };
    drive(one).is_some() && drive(one) == drive(other)
}

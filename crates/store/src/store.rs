//! A book that is open.

use std::fs;
use std::path::{Path, PathBuf};

use axlewright_book::log::{Body, Entry, Line, Sha, seal};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

use crate::lock::{Holder, Lock};
use crate::photo::{self, PhotoFile, Prepared};
use crate::{StoreError, files, schema};

/// The database in a book's folder.
pub const BOOK_FILE: &str = "book.sqlite";

/// Lines are fetched so many at a time, so that a log of any length takes little memory.
const PAGE: i64 = 256;

/// What is to be written, before it has a number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Draft {
    /// The moment, RFC 3339 in UTC.
    pub at: String,
    /// Who writes it.
    pub by: String,
    /// What it says; whether it makes sense is for the caller to ask first.
    pub body: Body,
}

/// An open book.
#[derive(Debug)]
pub struct Store {
    folder: PathBuf,
    file: PathBuf,
    db: Connection,
    /// The last entry's number and hash; unknown after a write that failed.
    tail: Option<(u64, Sha)>,
    lock: Option<Lock>,
}

/// Whether a folder holds a book, going by the names in it.
pub fn is_book(folder: &Path) -> bool {
    folder.join(BOOK_FILE).is_file()
}

impl Store {
    /// Makes a new book in a folder, which is made too if it is not there. Other files in it are
    /// left alone.
    ///
    /// # Errors
    /// A book that is there already or is just being made, or what the system says. Then no book
    /// has been made.
    pub fn create(folder: &Path, holder: &Holder) -> Result<Self, StoreError> {
        files::make_folder(folder)?;
        let lock = Lock::take(folder, holder)?;
        let file = folder.join(BOOK_FILE);
        if fs::symlink_metadata(&file).is_ok() {
            return Err(StoreError::Taken { path: file });
        }
        files::clear_drafts(folder);
        let draft = files::draft_in(folder);
        let made = make_file(&draft, &file);
        if made.is_err() {
            for ending in ["", "-wal", "-shm", "-journal"] {
                let mut name = draft.clone().into_os_string();
                name.push(ending);
                let _ = fs::remove_file(name);
            }
        }
        made?;
        Self::with_lock(folder, lock)
    }

    /// Opens a book for writing; one process at a time may. An older format is brought up to date.
    ///
    /// # Errors
    /// No book, a newer one, one that is open elsewhere, a damaged one, or what the system says.
    pub fn open(folder: &Path, holder: &Holder) -> Result<Self, StoreError> {
        found(folder)?;
        let lock = Lock::take(folder, holder)?;
        Self::with_lock(folder, lock)
    }

    fn with_lock(folder: &Path, lock: Lock) -> Result<Self, StoreError> {
        let file = folder.join(BOOK_FILE);
        let db = schema::open(&file)?;
        files::clear_drafts(folder);
        files::clear_drafts(&folder.join(photo::FOLDER));
        files::clear_drafts(&folder.join(photo::THUMBS));
        let folder = folder.to_owned();
        let mut store = Self { folder, file, db, tail: None, lock: Some(lock) };
        store.tail = Some(store.read_tail()?);
        Ok(store)
    }

    /// Opens a book for reading, whoever else has it open.
    ///
    /// # Errors
    /// No book, a newer one, a damaged one, or what the system says.
    pub fn read_only(folder: &Path) -> Result<Self, StoreError> {
        found(folder)?;
        let file = folder.join(BOOK_FILE);
        let db = schema::open_reader(&file)?;
        Ok(Self { folder: folder.to_owned(), file, db, tail: None, lock: None })
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Whether it was opened for reading only.
    pub fn is_reader(&self) -> bool {
        self.lock.is_none()
    }

    /// Writes entries, all of them or none, and gives them back with their numbers. What comes back
    /// is on the disk. A photo that an entry names has to be there already.
    ///
    /// # Errors
    /// Nothing has been written then, and the book can be written to again.
    pub fn append(&mut self, drafts: &[Draft]) -> Result<Vec<Entry>, StoreError> {
        if self.is_reader() {
            return Err(StoreError::Reader { path: self.folder.clone() });
        }
        for draft in drafts {
            if let Body::Photo(said) = &draft.body {
                self.has_photo(&PhotoFile::from_entry(said)?)?;
            }
        }
        // Not known again until the commit has come back: a write that failed halfway may or may
        // not have reached the disk.
        let tail = match self.tail.take() {
            Some(tail) => tail,
            None => self.read_tail()?,
        };
        let written = self.write(drafts, tail);
        match written {
            Ok((entries, tail)) => {
                self.tail = Some(tail);
                Ok(entries)
            }
            Err(why) => Err(why),
        }
    }

    fn write(
        &mut self,
        drafts: &[Draft],
        (mut last, mut hash): (u64, Sha),
    ) -> Result<(Vec<Entry>, (u64, Sha)), StoreError> {
        let file = &self.file;
        let refused = |why| StoreError::database(file, why);
        let behaviour = TransactionBehavior::Immediate;
        let write = self.db.transaction_with_behavior(behaviour).map_err(refused)?;
        let mut entries = Vec::with_capacity(drafts.len());
        for draft in drafts {
            let Draft { at, by, body } = draft.clone();
            let entry = Entry { seq: last.saturating_add(1), at, by, body };
            // Sealing reads the line again: nothing is stored that would not come back as it is.
            let line = seal(&entry, hash).map_err(StoreError::Entry)?;
            line.follows_on((last, hash)).map_err(StoreError::Entry)?;
            insert(&write, &line).map_err(refused)?;
            (last, hash) = (entry.seq, line.hash());
            entries.push(entry);
        }
        write.commit().map_err(refused)?;
        Ok((entries, (last, hash)))
    }

    /// The number and the hash of the last line; `(0, NOTHING)` for an empty log.
    fn read_tail(&self) -> Result<(u64, Sha), StoreError> {
        let select = "SELECT seq, line FROM entry ORDER BY seq DESC LIMIT 1";
        let row = self
            .db
            .query_row(select, [], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?)))
            .optional()
            .map_err(|why| self.refused(why))?;
        let Some((seq, text)) = row else { return Ok((0, Sha::NOTHING)) };
        let line = Line::read(&text).map_err(|why| self.bad_line(seq, why))?;
        self.same_number(seq, &line)?;
        Ok((line.entry().seq, line.hash()))
    }

    /// The number of the last entry, 0 for an empty log.
    ///
    /// # Errors
    /// A damaged database.
    pub fn last(&self) -> Result<u64, StoreError> {
        match self.tail {
            Some((seq, _)) => Ok(seq),
            None => self.read_tail().map(|(seq, _)| seq),
        }
    }

    /// The hash of one entry's line, which seals every line up to it; nothing if there is no such
    /// entry.
    ///
    /// # Errors
    /// A damaged line or database.
    pub fn hash(&self, seq: u64) -> Result<Option<Sha>, StoreError> {
        let Ok(row) = i64::try_from(seq) else { return Ok(None) };
        let select = "SELECT line FROM entry WHERE seq = ?1";
        let text = self
            .db
            .query_row(select, [row], |row| row.get::<_, String>(0))
            .optional()
            .map_err(|why| self.refused(why))?;
        let Some(text) = text else { return Ok(None) };
        let line = Line::read(&text).map_err(|why| self.bad_line(row, why))?;
        self.same_number(row, &line)?;
        Ok(Some(line.hash()))
    }

    /// Every line from the first, each checked against the one before. Stops at the first error.
    pub fn lines(&self) -> Lines<'_> {
        let page = Vec::new().into_iter();
        Lines { store: self, page, last: (0, Sha::NOTHING), stopped: false }
    }

    /// Every entry from the first, as [`Store::lines`].
    pub fn entries(&self) -> Entries<'_> {
        Entries { lines: self.lines() }
    }

    /// The rows after a number, a page of them.
    pub(crate) fn page(&self, after: i64) -> rusqlite::Result<Vec<(i64, String)>> {
        let select = "SELECT seq, line FROM entry WHERE ?1 < seq ORDER BY seq LIMIT ?2";
        let mut select = self.db.prepare_cached(select)?;
        let rows = select.query_map(params![after, PAGE], |row| Ok((row.get(0)?, row.get(1)?)))?;
        rows.collect()
    }

    /// Takes a photo in: checked, freed of everything that is not the picture, written under its
    /// own hash. What comes back is on the disk; an entry that names it comes after.
    ///
    /// # Errors
    /// Not a photo that is taken in, or what the system says; then no photo has been added.
    pub fn add_photo(&self, bytes: &[u8]) -> Result<PhotoFile, StoreError> {
        self.put_photo(&Prepared::of(bytes)?)
    }

    /// The second half of [`Store::add_photo`], for whoever prepares photos elsewhere.
    ///
    /// # Errors
    /// What the system says.
    pub fn put_photo(&self, photo: &Prepared) -> Result<PhotoFile, StoreError> {
        if self.is_reader() {
            return Err(StoreError::Reader { path: self.folder.clone() });
        }
        photo::put(&self.folder, photo)
    }

    /// A photo's bytes, as they were taken in; compared with its hash.
    ///
    /// # Errors
    /// Not there, altered, or what the system says.
    pub fn photo(&self, photo: &PhotoFile) -> Result<Vec<u8>, StoreError> {
        photo::read(&self.folder, photo)
    }

    /// A small JPEG of a photo, upright; made anew if there is none.
    ///
    /// # Errors
    /// As [`Store::photo`], and a photo that cannot be decoded.
    pub fn thumb(&self, photo: &PhotoFile) -> Result<Vec<u8>, StoreError> {
        photo::thumb(&self.folder, photo)
    }

    fn has_photo(&self, photo: &PhotoFile) -> Result<(), StoreError> {
        let path = self.folder.join(photo.path());
        match fs::metadata(&path) {
            Ok(found) if found.is_file() && found.len() == photo.bytes => Ok(()),
            _ => Err(StoreError::NoPhoto { path: self.folder.clone(), name: photo.name() }),
        }
    }

    pub(crate) fn db(&self) -> &Connection {
        &self.db
    }

    pub(crate) fn refused(&self, why: rusqlite::Error) -> StoreError {
        StoreError::database(&self.file, why)
    }

    pub(crate) fn bad_line(&self, seq: i64, why: axlewright_book::log::LineError) -> StoreError {
        StoreError::Line { path: self.folder.clone(), seq, why }
    }

    fn same_number(&self, seq: i64, line: &Line) -> Result<(), StoreError> {
        if u64::try_from(seq).is_ok_and(|seq| seq == line.entry().seq) {
            return Ok(());
        }
        let what = format!("row {seq} holds the line of entry {}", line.entry().seq);
        Err(StoreError::Corrupt { path: self.file.clone(), what })
    }
}

/// A folder that holds a book, or what is there instead.
fn found(folder: &Path) -> Result<(), StoreError> {
    match fs::metadata(folder) {
        Err(why) => Err(StoreError::system("read", folder, why)),
        Ok(found) if !found.is_dir() => Err(StoreError::NotABook { path: folder.to_owned() }),
        Ok(_) if is_book(folder) => Ok(()),
        Ok(_) => Err(StoreError::NotABook { path: folder.to_owned() }),
    }
}

/// An empty database under another name, whole before it gets its own.
fn make_file(draft: &Path, file: &Path) -> Result<(), StoreError> {
    let db = schema::make(draft, file)?;
    db.close().map_err(|(_, why)| StoreError::database(file, why))?;
    fs::File::open(draft)
        .and_then(|made| made.sync_all())
        .and_then(|()| fs::rename(draft, file))
        .and_then(|()| files::sync_folder(&files::above(file)))
        .map_err(|why| StoreError::system("make", file, why))
}

/// One line into its row.
pub(crate) fn insert(db: &Connection, line: &Line) -> rusqlite::Result<()> {
    let insert = "INSERT INTO entry (seq, kind, line) VALUES (?1, ?2, ?3)";
    let entry = line.entry();
    // A line's number is never larger than a row's can be; it was read so.
    let seq = i64::try_from(entry.seq).unwrap_or(i64::MAX);
    db.prepare_cached(insert)?.execute(params![seq, entry.body.kind(), line.text()])?;
    Ok(())
}

/// The lines of a log, in order, each checked.
#[derive(Debug)]
pub struct Lines<'a> {
    store: &'a Store,
    page: std::vec::IntoIter<(i64, String)>,
    last: (u64, Sha),
    stopped: bool,
}

impl Lines<'_> {
    fn read(&mut self) -> Result<Option<Line>, StoreError> {
        let row = match self.page.next() {
            Some(row) => row,
            None => {
                let after = i64::try_from(self.last.0).unwrap_or(i64::MAX);
                let page = self.store.page(after).map_err(|why| self.store.refused(why))?;
                self.page = page.into_iter();
                let Some(row) = self.page.next() else { return Ok(None) };
                row
            }
        };
        let (seq, text) = row;
        let line = Line::read(&text).map_err(|why| self.store.bad_line(seq, why))?;
        self.store.same_number(seq, &line)?;
        line.follows_on(self.last).map_err(|why| self.store.bad_line(seq, why))?;
        self.last = (line.entry().seq, line.hash());
        Ok(Some(line))
    }
}

impl Iterator for Lines<'_> {
    type Item = Result<Line, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        if self.stopped {
            return None;
        }
        let read = self.read().transpose();
        self.stopped = !matches!(read, Some(Ok(_)));
        read
    }
}

/// The entries of a log, in order.
#[derive(Debug)]
pub struct Entries<'a> {
    lines: Lines<'a>,
}

impl Iterator for Entries<'_> {
    type Item = Result<Entry, StoreError>;

    fn next(&mut self) -> Option<Self::Item> {
        Some(self.lines.next()?.map(Line::into_entry))
    }
}

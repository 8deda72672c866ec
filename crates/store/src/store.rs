//! A book that is open.

use std::path::{Path, PathBuf};
use std::time::Duration;
use std::{fs, io};

use axlewright_book::log::{Body, Entry, Line, Sha, seal};
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};

use crate::ground::{Ground, Part};
use crate::head::{self, HEAD_FILE, Head, HeadFile, Loss, Noted};
use crate::lock::{Holder, Lock};
use crate::photo::{self, PhotoFile, Prepared};
use crate::{StoreError, files, schema};

/// The database in a book's folder.
pub const BOOK_FILE: &str = "book.sqlite";

/// Lines are fetched so many at a time, so that a log of any length takes little memory.
const PAGE: i64 = 256;

/// A write-ahead log longer than this is folded in without waiting for quiet.
const WAL_BYTES: u64 = 4 * 1024 * 1024;

/// How long the end of a program waits for somebody who reads, so that the book is one file.
const CLOSING: Duration = Duration::from_millis(300);

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
    tail: Option<Head>,
    /// What a reader found to be missing; a writer is not opened then.
    loss: Option<Loss>,
    pen: Option<Pen>,
}

/// What it takes to write. Given back, lock last, when the book is closed.
#[derive(Debug)]
struct Pen {
    head: HeadFile,
    ground: Ground,
    _lock: Lock,
}

/// Whether a folder holds a book, going by the names in it.
pub fn is_book(folder: &Path) -> bool {
    folder.join(BOOK_FILE).is_file()
}

impl Store {
    /// Makes a new, empty book in a folder, which is made too if it is not there. Other files in it
    /// are left alone.
    ///
    /// # Errors
    /// As [`Store::begin`].
    pub fn create(folder: &Path, holder: &Holder) -> Result<Self, StoreError> {
        Self::begin(folder, holder, &[])
    }

    /// Makes a new book that holds its first entries from the beginning: whatever happens
    /// meanwhile, there is no book without them.
    ///
    /// # Errors
    /// A book that is there already or is just being made, an entry that cannot be written, or what
    /// the system says. Then no book has been made.
    pub fn begin(folder: &Path, holder: &Holder, first: &[Draft]) -> Result<Self, StoreError> {
        files::make_folder(folder)?;
        let lock = Lock::take(folder, holder)?;
        let file = folder.join(BOOK_FILE);
        if fs::symlink_metadata(&file).is_ok() {
            return Err(StoreError::Taken { path: file });
        }
        files::clear_drafts(folder);
        // Left by a book that was deleted, it would speak of that one.
        let old = folder.join(HEAD_FILE);
        match fs::remove_file(&old) {
            Err(why) if why.kind() != io::ErrorKind::NotFound => {
                return Err(StoreError::system("write", &old, why));
            }
            _ => {}
        }
        let draft = files::draft_in(folder);
        let made = make_file(&draft, &file, first);
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
    /// No book, a newer one, one that is open elsewhere, a damaged one or one that lacks entries
    /// that were acknowledged, or what the system says. Then nothing in it has been changed.
    pub fn open(folder: &Path, holder: &Holder) -> Result<Self, StoreError> {
        found(folder)?;
        let lock = Lock::take(folder, holder)?;
        Self::with_lock(folder, lock)
    }

    fn with_lock(folder: &Path, lock: Lock) -> Result<Self, StoreError> {
        let file = folder.join(BOOK_FILE);
        let db = schema::open(&file)?;
        let ground = Ground::of(folder, lock.file())
            .map_err(|why| StoreError::system("read", folder, why))?;
        let mut store =
            Self { folder: folder.to_owned(), file, db, tail: None, loss: None, pen: None };
        let tail = store.read_tail()?;
        let noted = head::read(folder);
        match store.compare(&noted)? {
            // The file is made anew; that it was damaged is said to whoever asks.
            loss @ (None | Some(Loss::Unknown { .. })) => store.loss = loss,
            Some(loss) => return Err(StoreError::Lost { path: store.folder.clone(), loss }),
        }
        schema::check_shape(&store.db, &store.file)?;
        // From here on it may be written to.
        schema::take_up(&mut store.db, &store.file)?;
        files::clear_drafts(folder);
        files::clear_drafts(&folder.join(photo::FOLDER));
        files::clear_drafts(&folder.join(photo::THUMBS));
        store.tail = Some(tail);
        store.pen = Some(Pen { head: HeadFile::open(folder, tail)?, ground, _lock: lock });
        // What a killed process left waiting is folded in now, or a little later.
        store.fold(CLOSING)?;
        Ok(store)
    }

    /// Opens a book for reading, whoever else has it open. What was acknowledged and is not here is
    /// no reason not to look at the rest: see [`Store::loss`].
    ///
    /// # Errors
    /// No book, a newer one, a damaged one, or what the system says.
    pub fn read_only(folder: &Path) -> Result<Self, StoreError> {
        found(folder)?;
        // Read before the log: whoever writes meanwhile is further on in the log, never behind.
        let noted = head::read(folder);
        let file = folder.join(BOOK_FILE);
        let db = schema::open_reader(&file)?;
        let mut store =
            Self { folder: folder.to_owned(), file, db, tail: None, loss: None, pen: None };
        store.loss = store.compare(&noted)?;
        Ok(store)
    }

    /// What was acknowledged and is not here.
    pub fn loss(&self) -> Option<&Loss> {
        self.loss.as_ref()
    }

    /// The log beside what was noted of it. Of the log, only numbers and hashes are looked at here;
    /// a last line that cannot be read is for whoever reads the lines.
    fn compare(&self, noted: &Noted) -> Result<Option<Loss>, StoreError> {
        let head = match noted {
            Noted::Nothing => return Ok(None),
            Noted::Damaged { what } => return Ok(Some(Loss::Unknown { what: what.clone() })),
            Noted::Head { head, .. } => head,
        };
        let here = self.last_row()?;
        if here < head.seq {
            return Ok(Some(Loss::End { acknowledged: head.seq, here }));
        }
        let is_it = match head.seq {
            0 => true,
            seq => match self.hash(seq) {
                Ok(hash) => hash == Some(head.hash),
                // Damaged, and told as that.
                Err(StoreError::Line { .. } | StoreError::Corrupt { .. }) => true,
                Err(why) => return Err(why),
            },
        };
        Ok((!is_it).then_some(Loss::Another { seq: head.seq }))
    }

    fn last_row(&self) -> Result<u64, StoreError> {
        let last = "SELECT max(seq) FROM entry";
        let last = self.db.query_row(last, [], |row| row.get::<_, Option<i64>>(0));
        let last = last.map_err(|why| self.refused(why))?;
        Ok(last.and_then(|last| u64::try_from(last).ok()).unwrap_or(0))
    }

    /// Its folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Whether it was opened for reading only.
    pub fn is_reader(&self) -> bool {
        self.pen.is_none()
    }

    /// Where the book was when it was opened for writing.
    pub fn ground(&self) -> Option<&Ground> {
        self.pen.as_ref().map(|pen| &pen.ground)
    }

    fn stands(&self) -> Result<(), StoreError> {
        self.ground().map_or(Ok(()), Ground::stands)
    }

    /// Brings the book to rest: what was acknowledged is noted for good, and `book.sqlite` alone
    /// holds the log. A reader in the middle of something may put that off; nothing is lost by it.
    ///
    /// # Errors
    /// What the system says. Nothing that was acknowledged is touched by it.
    pub fn settle(&mut self) -> Result<(), StoreError> {
        self.stands()?;
        self.fold(Duration::ZERO).map(drop)
    }

    /// True when nothing is left in the write-ahead log.
    fn fold(&mut self, patience: Duration) -> Result<bool, StoreError> {
        let (Some(pen), Some(tail)) = (&mut self.pen, self.tail) else { return Ok(false) };
        // First this: what leaves the write-ahead log is noted for good before.
        pen.head.settle(tail)?;
        schema::fold(&self.db, patience).map_err(|why| self.refused(why))
    }

    /// Looks after the write-ahead log when something was written to it: folded in when it has
    /// grown long; at once when its name is gone, or nobody will find what stands in it.
    fn tend_wal(&mut self) -> Result<(), StoreError> {
        match fs::metadata(schema::wal_of(&self.file)) {
            Ok(wal) if wal.len() <= WAL_BYTES => Ok(()),
            // Tried again after the next entry if a reader is in the way or the disk refuses.
            Ok(_) => self.fold(Duration::ZERO).map(drop).or(Ok(())),
            Err(_) if self.fold(CLOSING).is_ok_and(|all| all) => Ok(()),
            Err(_) => {
                let (path, part) = (self.folder.clone(), Part::Wal);
                Err(StoreError::Moved { path, part, gone: true })
            }
        }
    }

    /// Writes entries, all of them or none, and gives them back with their numbers. What comes back
    /// is on the disk. A photo that an entry names has to be there already.
    ///
    /// # Errors
    /// Nothing has been written then, and the book can be written to again. Only where the book was
    /// moved in the very moment of writing may the entry stand in the book that was moved.
    pub fn append(&mut self, drafts: &[Draft]) -> Result<Vec<Entry>, StoreError> {
        self.append_once(drafts, None)
    }

    /// The same for entries that come from a form: with them stands which form it was, so that it
    /// is known again when it comes a second time ([`Store::written_as`]).
    ///
    /// # Errors
    /// As [`Store::append`].
    pub fn append_once(
        &mut self,
        drafts: &[Draft],
        once: Option<Sha>,
    ) -> Result<Vec<Entry>, StoreError> {
        if self.is_reader() {
            return Err(StoreError::Reader { path: self.folder.clone() });
        }
        self.stands()?;
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
        let (entries, tail) = self.write(drafts, tail, once)?;
        self.tail = Some(tail);
        // Moved between the first look and the commit, the entry is where nobody will look for it.
        self.stands()?;
        self.tend_wal()?;
        if let Some(pen) = &mut self.pen {
            pen.head.say(tail);
        }
        Ok(entries)
    }

    fn write(
        &mut self,
        drafts: &[Draft],
        tail: Head,
        once: Option<Sha>,
    ) -> Result<(Vec<Entry>, Head), StoreError> {
        let file = &self.file;
        let refused = |why| StoreError::database(file, why);
        let behaviour = TransactionBehavior::Immediate;
        let write = self.db.transaction_with_behavior(behaviour).map_err(refused)?;
        let (entries, tail) = add(&write, file, drafts, tail, once)?;
        write.commit().map_err(refused)?;
        Ok((entries, tail))
    }

    /// The numbers of the entries that were written from a form; none if it was not written yet.
    ///
    /// # Errors
    /// A damaged database.
    pub fn written_as(&self, once: Sha) -> Result<Vec<u64>, StoreError> {
        let find = || -> rusqlite::Result<Vec<i64>> {
            let select = "SELECT seq FROM entry WHERE once = ?1 ORDER BY seq";
            let mut select = self.db.prepare_cached(select)?;
            let rows = select.query_map([once.to_string()], |row| row.get(0))?;
            rows.collect()
        };
        let rows = find().map_err(|why| self.refused(why))?;
        Ok(rows.into_iter().filter_map(|row| u64::try_from(row).ok()).collect())
    }

    /// The number and the hash of the last line.
    fn read_tail(&self) -> Result<Head, StoreError> {
        let select = "SELECT seq, line FROM entry ORDER BY seq DESC LIMIT 1";
        let row = self
            .db
            .query_row(select, [], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?)))
            .optional()
            .map_err(|why| self.refused(why))?;
        let Some((seq, text)) = row else { return Ok(Head::NONE) };
        let line = Line::read(&text).map_err(|why| self.bad_line(seq, why))?;
        self.same_number(seq, &line)?;
        Ok(Head { seq: line.entry().seq, hash: line.link() })
    }

    /// The number of the last entry, 0 for an empty log.
    ///
    /// # Errors
    /// A damaged database.
    pub fn last(&self) -> Result<u64, StoreError> {
        match self.tail {
            Some(tail) => Ok(tail.seq),
            None => self.read_tail().map(|tail| tail.seq),
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
        Ok(Some(line.link()))
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
        self.stands()?;
        let put = photo::put(&self.folder, photo)?;
        self.stands()?;
        Ok(put)
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
        match fs::symlink_metadata(&path) {
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

impl Drop for Store {
    fn drop(&mut self) {
        // On the disk it is all the same; at rest it is to be one file.
        if self.stands().is_ok() {
            let _ = self.fold(CLOSING);
        }
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

/// A database with its first entries under another name, whole before it gets its own.
fn make_file(draft: &Path, file: &Path, first: &[Draft]) -> Result<(), StoreError> {
    let refused = |why| StoreError::database(file, why);
    let db = schema::make(draft, file)?;
    if !first.is_empty() {
        let write = db.unchecked_transaction().map_err(refused)?;
        add(&write, file, first, Head::NONE, None)?;
        write.commit().map_err(refused)?;
    }
    db.close().map_err(|(_, why)| refused(why))?;
    fs::File::open(draft)
        .and_then(|made| made.sync_all())
        .and_then(|()| fs::rename(draft, file))
        .and_then(|()| files::sync_folder(&files::above(file)))
        .map_err(|why| StoreError::system("make", file, why))
}

/// Entries after the last one, and what is the last one then.
fn add(
    db: &Connection,
    file: &Path,
    drafts: &[Draft],
    mut tail: Head,
    once: Option<Sha>,
) -> Result<(Vec<Entry>, Head), StoreError> {
    let mut entries = Vec::with_capacity(drafts.len());
    for draft in drafts {
        let Draft { at, by, body } = draft.clone();
        let entry = Entry { seq: tail.seq.saturating_add(1), at, by, body };
        // Sealing reads the line again: nothing is stored that would not come back as it is.
        let line = seal(&entry, tail.hash).map_err(StoreError::Entry)?;
        line.follows_on((tail.seq, tail.hash)).map_err(StoreError::Entry)?;
        insert(db, &line, once.map(|once| once.to_string()).as_deref(), file)?;
        tail = Head { seq: entry.seq, hash: line.link() };
        entries.push(entry);
    }
    Ok((entries, tail))
}

/// One line into its row.
pub(crate) fn insert(
    db: &Connection,
    line: &Line,
    once: Option<&str>,
    file: &Path,
) -> Result<(), StoreError> {
    let insert = "INSERT INTO entry (seq, kind, line, once) VALUES (?1, ?2, ?3, ?4)";
    let entry = line.entry();
    // A line's number is never larger than a row's can be; it was read so.
    let seq = i64::try_from(entry.seq).unwrap_or(i64::MAX);
    let row = params![seq, entry.body.kind(), line.text(), once];
    let added = db.prepare_cached(insert).and_then(|mut insert| insert.execute(row));
    match added.map_err(|why| StoreError::database(file, why))? {
        1 => Ok(()),
        rows => {
            let what = format!("entry {} was to become one row and became {rows}", entry.seq);
            Err(StoreError::Corrupt { path: file.to_owned(), what })
        }
    }
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
        self.last = (line.entry().seq, line.link());
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

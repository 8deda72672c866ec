//! What is wrong with a book, and what of it is safe.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use axlewright_book::Day;
use axlewright_book::log::{Body, Line, LineError, Sha};

use crate::head::{self, HEAD_FILE, Loss, Noted};
use crate::photo::{self, PhotoFile, PhotoGone};
use crate::store::BOOK_FILE;
use crate::{Store, StoreError, schema};

/// No more than this many remarks are taken from SQLite's own check.
const REMARKS_MAX: usize = 20;
/// Clocks are set back by so many seconds without anybody noticing.
const SET_BACK: u64 = 120;

/// What was found.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Verified {
    /// How many rows of the log could be read.
    pub rows: u64,
    /// Entries 1 up to this one are whole: each line says what it was sealed with and follows the
    /// one before.
    pub safe: u64,
    /// Photos that entries name and that are what they were.
    pub photos: u64,
    /// The last entry that was acknowledged, as `book.head` has it; nothing where there is no such
    /// file, and then an end that was cut off does not show.
    pub acknowledged: Option<u64>,
    /// What is wrong, in the order it was found.
    pub faults: Vec<Fault>,
    /// Files among the photos that no entry names: taken in and then not logged. They harm nobody.
    pub unlogged: Vec<String>,
    /// Entries that bear an earlier moment than the one before: the clock was set back between the
    /// two, or one of them was written by a clock that was wrong. No damage, and not to be mended.
    pub backwards: Vec<Backwards>,
}

/// An entry that bears an earlier moment than the one before.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("entry {seq} is of {at}, the entry before it of {before}")]
pub struct Backwards {
    /// Its number.
    pub seq: u64,
    /// The moment it bears.
    pub at: String,
    /// The moment of the entry before.
    pub before: String,
}

impl Backwards {
    /// Nothing where it is not, or not by more than clocks are set every day.
    fn of(seq: u64, at: &str, before: &str) -> Option<Self> {
        let is_back = seconds(at)?.checked_add(SET_BACK)? < seconds(before)?;
        is_back.then(|| Self { seq, at: at.to_owned(), before: before.to_owned() })
    }
}

/// `2026-11-25T21:00:00Z` as seconds from a moment long ago.
fn seconds(at: &str) -> Option<u64> {
    let day = u64::from(Day::parse(at.get(..10)?)?.number());
    let mut parts = at.get(11..19)?.split(':').map(|part| part.parse::<u64>().ok());
    let (hour, minute, second) = (parts.next()??, parts.next()??, parts.next()??);
    Some(((day * 24 + hour) * 60 + minute) * 60 + second)
}

/// One thing that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The database as such.
    #[error("the database: {what}")]
    Database {
        /// What was noticed.
        what: String,
    },
    /// A line that is not right in itself, or does not follow the one before.
    #[error("row {row} of the log: {why}")]
    Line {
        /// The row's number.
        row: i64,
        /// What is wrong.
        why: LineError,
    },
    /// A row's number or kind is not that of its line.
    #[error("row {row} of the log: its {column} is not that of its line")]
    Row {
        /// The row's number.
        row: i64,
        /// `number` or `kind`.
        column: &'static str,
    },
    /// An entry that names no photo properly.
    #[error("entry {seq} does not name a photo: {what}")]
    PhotoNamed {
        /// The entry.
        seq: u64,
        /// What is wrong.
        what: String,
    },
    /// A photo is missing, altered or cannot be read.
    #[error("entry {seq}: {gone}")]
    Photo {
        /// The first entry that names it.
        seq: u64,
        /// What became of it.
        gone: PhotoGone,
    },
    /// Something that was acknowledged is not here.
    #[error("{0}")]
    Lost(Loss),
    /// One of the two lines of `book.head` is not right; the other is.
    #[error("`{HEAD_FILE}`: one of its two lines is damaged")]
    Head,
}

impl Fault {
    /// Whether only a photo is concerned.
    pub fn is_of_a_photo(&self) -> bool {
        matches!(self, Self::Photo { .. } | Self::PhotoNamed { .. })
    }
}

impl Verified {
    /// Whether nothing is wrong.
    pub fn is_whole(&self) -> bool {
        self.faults.is_empty()
    }
}

/// Looks at everything in a book: SQLite's own check, every line and its place in the chain, every
/// photo. Changes nothing and needs no lock.
///
/// # Errors
/// Only where there is nothing to look at, or a book of a newer format; damage is in the answer.
pub fn verify(folder: &Path) -> Result<Verified, StoreError> {
    let mut found = Verified::default();
    let noted = head::read(folder);
    let store = match Store::read_only(folder) {
        Ok(store) => store,
        Err(why @ (StoreError::Missing { .. } | StoreError::Newer { .. })) => return Err(why),
        Err(why) if !folder.join(BOOK_FILE).is_file() => return Err(why),
        Err(why) => {
            found.faults.push(Fault::Database { what: why.to_string() });
            return Ok(found);
        }
    };
    acknowledged(&store, &noted, &mut found);
    if let Err(StoreError::Corrupt { what, .. }) = schema::check_shape(store.db(), folder) {
        found.faults.push(Fault::Database { what });
    }
    integrity(&store, &mut found);
    let photos = lines(&store, &mut found);
    for (photo, seq) in &photos {
        one_photo(folder, photo, *seq, &mut found);
    }
    unlogged(folder, &photos, &mut found);
    Ok(found)
}

fn integrity(store: &Store, found: &mut Verified) {
    let check = || -> rusqlite::Result<Vec<String>> {
        let mut check = store.db().prepare("SELECT integrity_check FROM pragma_integrity_check")?;
        check.query_map([], |row| row.get(0))?.take(REMARKS_MAX).collect()
    };
    match check() {
        Ok(remarks) => {
            let bad = remarks.into_iter().filter(|remark| remark != "ok");
            found.faults.extend(bad.map(|what| Fault::Database { what }));
        }
        Err(why) => found.faults.push(Fault::Database { what: why.to_string() }),
    }
}

/// Every row; the photos they name, each with the first entry that does.
fn lines(store: &Store, found: &mut Verified) -> BTreeMap<PhotoFile, u64> {
    let mut photos = BTreeMap::new();
    // The last line that is right in itself, with whether all before it is.
    let mut last = (0, Sha::NOTHING);
    let mut before = String::new();
    let mut whole = true;
    let read = rows(store, |row, kind, text| {
        found.rows += 1;
        let line = match text
            .map_err(|what| LineError::Body { seq: u64::try_from(row).unwrap_or(0), what })
            .and_then(Line::read)
        {
            Ok(line) => line,
            Err(why) => {
                whole = false;
                found.faults.push(Fault::Line { row, why });
                return;
            }
        };
        let entry = line.entry();
        if let Err(why) = line.follows_on(last) {
            // After a line that could not be read the next one cannot follow: said once.
            if whole {
                found.faults.push(Fault::Line { row, why });
            }
            whole = false;
        }
        if !u64::try_from(row).is_ok_and(|row| row == entry.seq) {
            whole = false;
            found.faults.push(Fault::Row { row, column: "number" });
        }
        // The column only helps to search; the line itself is sealed and still good.
        if entry.body.kind() != kind {
            found.faults.push(Fault::Row { row, column: "kind" });
        }
        found.backwards.extend(Backwards::of(entry.seq, &entry.at, &before));
        before.clone_from(&entry.at);
        last = (entry.seq, line.link());
        if whole {
            found.safe = entry.seq;
        }
        if let Body::Photo(said) = &entry.body {
            match PhotoFile::from_entry(said) {
                Ok(photo) => {
                    photos.entry(photo).or_insert(entry.seq);
                }
                Err(why) => {
                    let (seq, what) = (entry.seq, why.to_string());
                    found.faults.push(Fault::PhotoNamed { seq, what });
                }
            }
        }
    });
    if let Err(why) = read {
        found.faults.push(Fault::Database { what: why.to_string() });
    }
    photos
}

/// Hands over every row that the database can still give, as raw as it is.
fn rows(
    store: &Store,
    mut each: impl FnMut(i64, &str, Result<&str, String>),
) -> rusqlite::Result<()> {
    let mut select = store.db().prepare("SELECT seq, kind, line FROM entry ORDER BY seq")?;
    let mut rows = select.query([])?;
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let kind = row.get_ref(1)?.as_str().unwrap_or_default().to_owned();
        let line = row.get_ref(2)?;
        each(number, &kind, line.as_str().map_err(|why| why.to_string()));
    }
    Ok(())
}

fn one_photo(folder: &Path, photo: &PhotoFile, seq: u64, found: &mut Verified) {
    match photo::find(folder, photo) {
        Ok(_) => found.photos += 1,
        Err(gone) => found.faults.push(Fault::Photo { seq, gone }),
    }
}

/// The log beside what `book.head` says of it.
fn acknowledged(store: &Store, noted: &Noted, found: &mut Verified) {
    if let Noted::Head { head, whole } = noted {
        found.acknowledged = Some(head.seq);
        if !whole {
            found.faults.push(Fault::Head);
        }
    }
    found.faults.extend(store.loss().cloned().map(Fault::Lost));
}

/// Files among the photos that no entry names.
fn unlogged(folder: &Path, photos: &BTreeMap<PhotoFile, u64>, found: &mut Verified) {
    let top = folder.join(photo::FOLDER);
    let logged: std::collections::BTreeSet<String> = photos.keys().map(PhotoFile::name).collect();
    let names = |folder: &Path| -> Vec<(String, bool)> {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        let name = |entry: fs::DirEntry| {
            let is_folder = entry.file_type().is_ok_and(|kind| kind.is_dir());
            (entry.file_name().to_string_lossy().into_owned(), is_folder)
        };
        entries.map(name).collect()
    };
    for (outer, is_folder) in names(&top) {
        if !is_folder {
            found.unlogged.push(outer);
            continue;
        }
        let inside =
            names(&top.join(&outer)).into_iter().map(|(name, _)| format!("{outer}/{name}"));
        found.unlogged.extend(inside.filter(|name| !logged.contains(name)));
    }
    found.unlogged.sort();
}

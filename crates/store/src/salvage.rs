//! Everything of a damaged book that is whole, as a new book.
//!
//! ```text
//!   … 171 ─ 172 ─ x ─ 174 ─ 175 …      173 cannot be read
//!   … 171 ─ 172 ─ L ─ 174 ─ 175 …      L says so, and hands on the hash that 174 names
//! ```
//!
//! A line that is right in itself is taken over letter for letter, under its number. Where one is
//! missing or damaged, a [`Lost`] entry stands in its place: later numbers stay what they were, and
//! so do their hashes, up to the last one, which may be written down on paper.

use std::path::Path;

use axlewright_book::log::{Body, Entry, Line, Lost, Sha, seal};

use crate::backup::put;
use crate::files::DraftFolder;
use crate::head::{self, Head, Noted};
use crate::pages::{self, Rows};
use crate::photo::{self, PhotoFile, PhotoGone};
use crate::store::{BOOK_FILE, insert};
use crate::{Store, StoreError, files, lock, schema, verify};

/// What is kept of a damaged line's text, in bytes.
const LEFT_BYTES_MAX: usize = 20_000;
/// A line up to this long is searched for one flipped bit, in bytes: a second's work.
const MENDED_BYTES_MAX: usize = 20_000;

/// A book of which more than this is missing is none, or its numbers are.
const LOST_MAX: u64 = 1_000_000;

/// Who salvages, and when.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Salvager {
    /// The moment, RFC 3339 in UTC.
    pub at: String,
    /// Who does it.
    pub by: String,
}

/// What a salvaged book holds.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Salvaged {
    /// The number of its last entry.
    pub entries: u64,
    /// Entries that are as they were written.
    pub whole: u64,
    /// Entries of these in which one flipped bit was put right; the hash proves it.
    pub mended: Vec<u64>,
    /// Entries that were lost: the number, and what became of it.
    pub lost: Vec<(u64, String)>,
    /// How many photos it holds.
    pub photos: u64,
    /// Photos that entries name and that are not in it.
    pub missing: Vec<PhotoGone>,
}

/// Makes a new book of everything in a damaged one that is whole, in a folder that must not be
/// there yet. The damaged one is only read. Nobody may be writing to it.
///
/// # Errors
/// Something stands there already, somebody writes to the book, no entry of it is whole, or what
/// the system says. Then there is no folder of that name.
pub fn salvage(folder: &Path, to: &Path, by: &Salvager) -> Result<Salvaged, StoreError> {
    if !folder.is_dir() || !folder.join(BOOK_FILE).exists() {
        let path = folder.to_owned();
        let there = folder.exists();
        return Err(if there {
            StoreError::NotABook { path }
        } else {
            StoreError::Missing { path }
        });
    }
    if files::is_inside(to, folder) {
        return Err(StoreError::Inside { path: to.to_owned() });
    }
    lock::nobody_writes(folder)?;
    let noted = match head::read(folder) {
        Noted::Head { head, .. } => Some(head),
        Noted::Nothing | Noted::Damaged { .. } => None,
    };
    let mut rows = pages::rows(folder);
    let mut done = Salvaged::default();
    let places = chosen(&mut rows, noted, &mut done).ok_or_else(|| {
        let what = format!("more than {LOST_MAX} entries are missing in it");
        StoreError::Corrupt { path: folder.join(BOOK_FILE), what }
    })?;
    if done.whole == 0 {
        let what = "no entry in it is whole".to_owned();
        return Err(StoreError::Corrupt { path: folder.join(BOOK_FILE), what });
    }
    let draft = DraftFolder::beside(to)?;
    write_log(draft.path(), places, by, &mut done)?;
    copy_photos(folder, draft.path(), &mut done)?;
    // What was put together is looked through before it is called a book.
    let found = verify(draft.path())?;
    if let Some(fault) = found.faults.iter().find(|fault| !fault.is_of_a_photo()) {
        let (path, what) = (to.to_owned(), fault.to_string());
        return Err(StoreError::Corrupt { path, what });
    }
    files::remove_beside(&draft.path().join(BOOK_FILE));
    draft.finish()?;
    Ok(done)
}

/// What comes under a number: the line with the form it came from, or what became of it.
enum Place {
    Line(Box<Line>, Option<String>),
    Lost(Lost),
}

/// For every number up to the last, the line that belongs there. From the end backwards: each line
/// names the hash of the one before it, so of two lines that are whole the right one is known.
/// Nothing where the numbers are beyond sense.
fn chosen(rows: &mut Rows, noted: Option<Head>, done: &mut Salvaged) -> Option<Vec<Place>> {
    let whole = rows.iter().rev().find(|(_, found)| !found.lines.is_empty());
    let last = whole.map_or(0, |(seq, _)| *seq).max(noted.map_or(0, |head| head.seq));
    if LOST_MAX < last.saturating_sub(rows.len() as u64) {
        return None;
    }
    let mut wanted = None;
    let mut places = Vec::new();
    for seq in (1..=last).rev() {
        let found = rows.remove(&seq).unwrap_or_default();
        let named = wanted.or(noted.filter(|head| head.seq == seq).map(|head| head.hash));
        let is_first = |line: &Line| 1 < seq || line.before() == Sha::NOTHING;
        let is_named = |line: &Line| named.is_none_or(|hash| line.link() == hash) && is_first(line);
        let right = found.lines.iter().position(|(line, _)| is_named(line));
        let mut lines = found.lines;
        let (another, left) = (lines.first().map(|(line, _)| line.text().to_owned()), found.left);
        let is_named = |line: &Line| line.entry().seq == seq && is_named(line);
        let place = match right.map(|at| lines.swap_remove(at)) {
            Some((line, once)) => Place::Line(Box::new(line), once),
            None => match left.as_deref().and_then(|left| mended(left, &is_named)) {
                Some(line) => {
                    done.mended.push(seq);
                    Place::Line(Box::new(line), None)
                }
                None => Place::Lost(lost(named, another, left)),
            },
        };
        wanted = match &place {
            Place::Line(line, _) => Some(line.before()),
            Place::Lost(_) => None,
        };
        match &place {
            Place::Line(..) => done.whole += 1,
            Place::Lost(lost) => done.lost.push((seq, lost.what.clone())),
        }
        places.push(place);
    }
    places.reverse();
    done.lost.reverse();
    done.mended.reverse();
    done.entries = last;
    Some(places)
}

fn lost(named: Option<Sha>, another: Option<String>, left: Option<Vec<u8>>) -> Lost {
    let what = match (&another, &left) {
        (Some(_), _) => "another line stood in its place than the one that the next entry follows",
        (None, Some(_)) => "its line was damaged",
        (None, None) => "its line was gone",
    };
    let cut = |text: String| {
        let end = text.floor_char_boundary(LEFT_BYTES_MAX.min(text.len()));
        text[..end].to_owned()
    };
    let hash = named.map(|hash| hash.to_string());
    let left = left.map(|left| String::from_utf8_lossy(&left).into_owned());
    Lost { hash, what: what.to_owned(), left: another.or(left).map(cut) }
}

/// A damaged line in which one bit is flipped, put right. The sum at its end, or the one that the
/// next line names, leaves no doubt: one in 2²⁵⁶ would fit by chance.
fn mended(left: &[u8], is_it: &impl Fn(&Line) -> bool) -> Option<Line> {
    if MENDED_BYTES_MAX < left.len() {
        return None;
    }
    let mut bytes = left.to_vec();
    for at in 0..bytes.len() {
        for bit in 0..8 {
            bytes[at] ^= 1 << bit;
            let line = std::str::from_utf8(&bytes).ok().and_then(|text| Line::read(text).ok());
            if let Some(line) = line.filter(is_it) {
                return Some(line);
            }
            bytes[at] ^= 1 << bit;
        }
    }
    None
}

/// The lines into a database, byte for byte, and what stands for those that were lost.
fn write_log(
    draft: &Path,
    places: Vec<Place>,
    by: &Salvager,
    done: &mut Salvaged,
) -> Result<(), StoreError> {
    let file = draft.join(BOOK_FILE);
    let db = schema::make(&file, &file)?;
    let refused = |why| StoreError::database(&file, why);
    let write = db.unchecked_transaction().map_err(refused)?;
    let mut tail = Head::NONE;
    for place in places {
        let seq = tail.seq.saturating_add(1);
        let (line, once) = match place {
            Place::Line(line, once) => (*line, once),
            Place::Lost(lost) => {
                let (at, by, body) = (by.at.clone(), by.by.clone(), Body::Lost(lost));
                let entry = Entry { seq, at, by, body };
                (seal(&entry, tail.hash).map_err(StoreError::Entry)?, None)
            }
        };
        insert(&write, &line, once.as_deref(), &file)?;
        tail = Head { seq, hash: line.link() };
    }
    write.commit().map_err(refused)?;
    db.close().map_err(|(_, why)| refused(why))?;
    let last = std::fs::File::open(&file).and_then(|file| file.sync_all());
    last.map_err(|why| StoreError::system("write", &file, why))?;
    done.entries = tail.seq;
    tail.write(draft)
}

fn copy_photos(folder: &Path, draft: &Path, done: &mut Salvaged) -> Result<(), StoreError> {
    let store = Store::read_only(draft)?;
    for entry in store.entries() {
        let Body::Photo(said) = &entry?.body else { continue };
        let Ok(photo) = PhotoFile::from_entry(said) else { continue };
        if draft.join(photo.path()).is_file() {
            continue;
        }
        match photo::find(folder, &photo) {
            Ok(bytes) => {
                put(draft, &photo, &bytes)?;
                done.photos += 1;
            }
            Err(gone) if done.missing.contains(&gone) => {}
            Err(gone) => done.missing.push(gone),
        }
    }
    Ok(())
}

//! The rows of a log straight from the bytes of its files, without SQLite: what of them is whole,
//! whatever else is not.
//!
//! SQLite gives up a table whose inner pages are damaged, and a write-ahead file from the first
//! sum that is not right. A line of the log says itself whether it is whole, so each page is looked
//! at by itself: every page of `book.sqlite`, and every picture of a page that the write-ahead file
//! holds. Where a page's own bookkeeping is damaged, lines are searched for in its bytes.
//!
//! The form of the files: SQLite, *Database File Format*, sections 1.5 and 1.6 (b-tree pages), 2.1
//! (records) and 4.1 (write-ahead log).

use std::collections::BTreeMap;
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, SeekFrom};
use std::path::Path;

use axlewright_book::log::Line;
use axlewright_book::log::line::LINE_BYTES_MAX;

use crate::store::BOOK_FILE;
use crate::{files, schema};

/// A page of ours; also taken where the file's head no longer says so.
const PAGE: usize = 4096;
/// Head of a write-ahead file, and of each page in it.
const WAL_HEAD: u64 = 32;
const FRAME_HEAD: u64 = 24;
/// First byte of a page with rows of a table.
const LEAF: u8 = 0x0D;
/// How a line begins.
const START: &[u8] = br#"{"seq":"#;

/// What was found under one number.
#[derive(Debug, Default)]
pub struct Found {
    /// Lines that are whole in themselves, each once, with the form each came from.
    pub lines: Vec<(Line, Option<String>)>,
    /// What stood in the place of one that is not.
    pub left: Option<Vec<u8>>,
}

/// Everything that can be found of a log, by number.
pub type Rows = BTreeMap<u64, Found>;

/// The two files of a log, page by page.
struct Files {
    db: Option<File>,
    wal: Option<File>,
    size: usize,
    /// Where pictures of a page are, the newest last: in the write-ahead file, or in the database.
    pictures: BTreeMap<u32, Vec<(bool, u64)>>,
}

/// Every row that can be found in a book's folder. Nothing is written.
pub fn rows(folder: &Path) -> Rows {
    let mut files = Files::open(folder);
    let numbers: Vec<u32> = files.pictures.keys().copied().collect();
    let mut rows = Rows::new();
    for number in numbers {
        for which in 0..files.pictures.get(&number).map_or(0, Vec::len) {
            let Some(page) = files.picture(number, which) else { continue };
            let whole = files.rows_of(number, &page, &mut rows);
            if whole < starts(&page).count() {
                searched(&page, &mut rows);
            }
        }
    }
    rows
}

/// Puts a line among the others of its number, with the form it came from where that is known.
fn keep(rows: &mut Rows, line: Line, once: Option<String>) {
    let found = rows.entry(line.entry().seq).or_default();
    match found.lines.iter_mut().find(|(known, _)| *known == line) {
        Some((_, known)) => *known = known.take().or(once),
        None => found.lines.push((line, once)),
    }
}

impl Files {
    fn open(folder: &Path) -> Self {
        let db = folder.join(BOOK_FILE);
        let open = |path: &Path| files::open_plain(path, OpenOptions::new().read(true)).ok();
        let (wal, db) = (open(&schema::wal_of(&db)), open(&db));
        let mut files = Self { db, wal, size: PAGE, pictures: BTreeMap::new() };
        let length = |file: Option<&File>| {
            file.and_then(|file| file.metadata().ok()).map_or(0, |found| found.len())
        };
        let size = PAGE as u64;
        let pages = length(files.db.as_ref()).div_ceil(size);
        for page in 0..pages {
            let number = u32::try_from(page + 1).unwrap_or(u32::MAX);
            files.pictures.entry(number).or_default().push((false, page * size));
        }
        let frames = length(files.wal.as_ref()).saturating_sub(WAL_HEAD) / (FRAME_HEAD + size);
        for frame in 0..frames {
            let at = WAL_HEAD + frame * (FRAME_HEAD + size);
            let Some(number) = files.bytes(true, at, 4).and_then(|bytes| be_u32(&bytes)) else {
                continue;
            };
            files.pictures.entry(number).or_default().push((true, at + FRAME_HEAD));
        }
        files
    }

    /// So many bytes of one of the two; filled up with zeros where the file ends. Nothing where the
    /// disk does not give them.
    fn bytes(&mut self, wal: bool, at: u64, length: usize) -> Option<Vec<u8>> {
        let file = if wal { self.wal.as_mut()? } else { self.db.as_mut()? };
        let mut bytes = Vec::with_capacity(length);
        file.seek(SeekFrom::Start(at)).ok()?;
        file.take(length as u64).read_to_end(&mut bytes).ok()?;
        bytes.resize(length, 0);
        Some(bytes)
    }

    fn picture(&mut self, number: u32, which: usize) -> Option<Vec<u8>> {
        let (wal, at) = *self.pictures.get(&number)?.get(which)?;
        self.bytes(wal, at, self.size)
    }

    /// The rows that a page's own bookkeeping leads to; how many of them are whole.
    fn rows_of(&mut self, number: u32, page: &[u8], rows: &mut Rows) -> usize {
        // The first page begins with the head of the file.
        let head = if number == 1 { 100 } else { 0 };
        if page.get(head) != Some(&LEAF) {
            return 0;
        }
        let cells = page.get(head + 3..).and_then(be_u16).map_or(0, usize::from);
        let mut whole = 0;
        for cell in 0..cells.min(PAGE / 2) {
            let pointer = page.get(head + 8 + 2 * cell..).and_then(be_u16);
            let Some(cell) = pointer.and_then(|at| page.get(usize::from(at)..)) else { continue };
            // Where the rest of a long row is in both files, either may be the damaged one.
            let tried = [true, false].map(|newest| self.row(cell, newest));
            let mut left = None;
            for row in tried.into_iter().flatten() {
                match row {
                    Row::Whole(line, once) => {
                        whole += 1;
                        keep(rows, *line, once);
                        left = None;
                        break;
                    }
                    Row::Left(seq, text) => left = Some((seq, text)),
                }
            }
            if let Some((seq, text)) = left {
                rows.entry(seq).or_default().left.get_or_insert(text);
            }
        }
        whole
    }

    /// One cell: length of the record, number of the row, the record, and where the rest of it is.
    fn row(&mut self, cell: &[u8], newest: bool) -> Option<Row> {
        let (length, cell) = varint(cell)?;
        let (seq, cell) = varint(cell)?;
        let length = usize::try_from(length).ok().filter(|length| *length <= LINE_BYTES_MAX)?;
        let here = local(length);
        let mut record = cell.get(..here.min(cell.len()))?.to_vec();
        if here < length {
            let mut next = cell.get(here..).and_then(be_u32)?;
            while record.len() < length && next != 0 {
                let Some(page) = self.rest(next, newest) else { break };
                next = be_u32(&page)?;
                record.extend(page.get(4..)?);
            }
            record.truncate(length);
        }
        row_of(seq, &record)
    }

    /// A page that holds the rest of a row: its newest picture, or its oldest.
    fn rest(&mut self, number: u32, newest: bool) -> Option<Vec<u8>> {
        let count = self.pictures.get(&number)?.len();
        let which = if newest { count.checked_sub(1)? } else { 0 };
        self.picture(number, which)
    }
}

/// A row as it was found: its line, or what stood in the place of one.
enum Row {
    Whole(Box<Line>, Option<String>),
    Left(u64, Vec<u8>),
}

/// How much of a record of that length stands in the page itself, for pages of 4096 bytes without
/// reserved room. SQLite, *Database File Format*, section 1.6: `X` is `U-35`, `M` is
/// `((U-12)*32/255)-23`, `K` is `M+((P-M)%(U-4))`.
fn local(length: usize) -> usize {
    const MOST: usize = PAGE - 35;
    const LEAST: usize = (PAGE - 12) * 32 / 255 - 23;
    if length <= MOST {
        return length;
    }
    let part = LEAST + (length - LEAST) % (PAGE - 4);
    if part <= MOST { part } else { LEAST }
}

/// A record: its head says which columns follow and how long each is.
fn row_of(seq: i64, record: &[u8]) -> Option<Row> {
    let (head, mut types) = varint(record)?;
    let head = usize::try_from(head).ok()?;
    let mut columns = record.get(head..)?;
    let mut texts: Vec<&[u8]> = Vec::new();
    // Number, kind, line and form; the number stands with the row.
    while texts.len() < 4 && record.len() - types.len() < head {
        let (kind, rest) = varint(types)?;
        types = rest;
        // Even from 12 on: bytes, odd from 13 on: text. The number is told with the row and empty
        // here; anything else is no row of a log.
        let length = match kind {
            0 => 0,
            12.. => usize::try_from((kind - 12) / 2).ok()?,
            _ => return None,
        };
        let (text, after) = columns.split_at(length.min(columns.len()));
        columns = after;
        texts.push(text);
    }
    let line = *texts.get(2)?;
    let once = texts.get(3).filter(|text| !text.is_empty());
    let once = once.and_then(|text| String::from_utf8(text.to_vec()).ok());
    let whole = std::str::from_utf8(line).ok().and_then(|text| Line::read(text).ok());
    match whole {
        Some(line) => Some(Row::Whole(Box::new(line), once)),
        None => {
            let seq = u64::try_from(seq).ok()?;
            Some(Row::Left(seq, line.to_vec()))
        }
    }
}

/// Where a line may begin among the bytes of a page.
fn starts(page: &[u8]) -> impl Iterator<Item = usize> {
    let parts = page.windows(START.len()).enumerate();
    parts.filter(|(_, part)| *part == START).map(|(at, _)| at)
}

/// Whole lines among the bytes of a page, wherever they are.
fn searched(page: &[u8], rows: &mut Rows) {
    for start in starts(page) {
        // Wherever a line may end: only the right end has the sum that is named before it.
        let rest = &page[start..];
        let ends = rest.windows(2).enumerate().filter(|(_, part)| *part == br#""}"#);
        let line = ends.map(|(at, _)| &rest[..at + 2]).find_map(|bytes| {
            std::str::from_utf8(bytes).ok().and_then(|text| Line::read(text).ok())
        });
        if let Some(line) = line {
            keep(rows, line, None);
        }
    }
}

fn be_u16(bytes: &[u8]) -> Option<u16> {
    bytes.first_chunk().map(|bytes| u16::from_be_bytes(*bytes))
}

fn be_u32(bytes: &[u8]) -> Option<u32> {
    bytes.first_chunk().map(|bytes| u32::from_be_bytes(*bytes))
}

/// One to nine bytes, seven bits each, the highest first; the ninth gives eight.
fn varint(bytes: &[u8]) -> Option<(i64, &[u8])> {
    let mut value: u64 = 0;
    for (at, byte) in bytes.iter().enumerate().take(9) {
        if at == 8 {
            value = value << 8 | u64::from(*byte);
        } else {
            value = value << 7 | u64::from(byte & 0x7F);
        }
        if byte & 0x80 == 0 || at == 8 {
            return Some((value.cast_signed(), bytes.get(at + 1..)?));
        }
    }
    None
}

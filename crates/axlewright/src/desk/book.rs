//! What is done with a whole book: begun from a car file, given another car file, written out as
//! tables.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use axlewright_book::log::{Body, PartLife, State, import_of};
use axlewright_book::{self as book, CarFile, PartState};
use axlewright_setup::{self as setup, FindingChange};
use axlewright_store as store;

use super::bench::{Bench, Hand, Refused, View};
use super::{DeskError, Fault, assess, clock, make_folder, say, write_new, write_streamed};

/// A book that was begun.
#[derive(Debug)]
pub struct Begun {
    /// Open for writing.
    pub bench: Bench,
    /// How many readings of the car file became entries.
    pub readings: usize,
}

/// Begins a book with a car file: its text is the first entry, its readings are the next.
///
/// # Errors
/// A book that is there already, or what the system says.
pub fn begin_book(folder: &Path, by: &str, text: &str) -> Result<Begun, Refused> {
    let (car, _) = book::read(text);
    let mut bodies = vec![Body::CarFile { text: text.to_owned() }];
    bodies.extend(import_of(&car));
    let readings = bodies.len() - 1;
    let bench = Bench::begin_with(folder, by, bodies)?;
    Ok(Begun { bench, readings })
}

/// What is wrong with a car file's text, before it is taken into a book.
pub fn faults_of(text: &str) -> Vec<Fault> {
    let (car, problems) = book::read(text);
    assess(&car, &problems).1
}

/// A car file that takes the place of another one in a book.
#[derive(Debug)]
pub struct CarChange {
    /// The entries that were written; the car file's first.
    pub seqs: Vec<u64>,
    /// What differs in the text: the changed lines with their numbers and a few round them.
    pub diff: String,
    /// Readings of the file that are new in it and became entries.
    pub readings: Vec<String>,
    /// Findings that changed because of it.
    pub findings: Vec<FindingChange>,
}

/// Takes another car file into a book: mid-job, when something turned out otherwise.
///
/// A reading that is new in the file becomes an entry, as it does when a book is begun; one that
/// is gone from it stays in the log until it is struck.
///
/// # Errors
/// Then nothing was written.
pub fn change_car<'a>(
    bench: &Bench,
    by: impl Into<Hand<'a>>,
    text: &str,
) -> Result<CarChange, Refused> {
    let before = bench.look();
    let (car, _) = book::read(text);
    let old = before.state().file().map(|file| import_of(&file.car)).unwrap_or_default();
    let new = import_of(&car).into_iter().filter(|body| !old.contains(body));
    let mut bodies = vec![Body::CarFile { text: text.to_owned() }];
    bodies.extend(new);
    let readings = bodies.iter().skip(1).map(say::in_words).collect();
    // Asked for before the entry is written, so that there is something to compare with.
    let _ = before.assessment();
    let seqs = bench.write_all(by, bodies)?;
    let after = bench.look();
    Ok(CarChange {
        seqs,
        diff: book::log::diff(before.text(), text).to_string(),
        readings,
        findings: setup::changed(before.assessment(), after.assessment()),
    })
}

/// Writes the parts and the joints of a car as tables for a spreadsheet; returns the files.
///
/// # Errors
/// [`DeskError::TableThere`] where one of the files is there already; otherwise what the system
/// says.
pub fn write_tables(view: &View, folder: &Path) -> Result<Vec<PathBuf>, DeskError> {
    let parts = table(&PART_COLUMNS, part_rows(view), folder)?;
    let joints = table(&BOLT_COLUMNS, bolt_rows(view), folder)?;
    make_folder(folder)?;
    let mut written = Vec::new();
    for (name, text) in [("parts.csv", parts), ("joints.csv", joints)] {
        let path = folder.join(name);
        write_new(&text, &path).map_err(|why| match why {
            DeskError::Foreign(path) => DeskError::TableThere(path),
            why => why,
        })?;
        written.push(path);
    }
    Ok(written)
}

fn table(columns: &[&str], rows: Vec<Vec<String>>, folder: &Path) -> Result<String, DeskError> {
    let mut bytes = Vec::new();
    store::write_table(&mut bytes, columns, rows)
        .map_err(|why| DeskError::Write(folder.to_owned(), why))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

/// One part, from the car file and from the log.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPart<'a> {
    /// Its id.
    pub id: &'a str,
    /// What people call it.
    pub name: &'a str,
    /// Where it is.
    pub place: Option<PartState>,
    /// When it is expected, while it is out: a day, or in so many days from the calendar's first.
    pub due: Option<String>,
    /// Its life in the log.
    pub life: Option<&'a PartLife>,
}

/// Every part, those of the car file first, in its order.
pub fn parts_of(view: &View) -> Vec<KeptPart<'_>> {
    let (car, state) = (view.car(), view.state());
    let lives = &state.facts().parts;
    let mut parts: Vec<KeptPart> = car.parts.iter().map(|row| of_row(row, car, lives)).collect();
    let own = lives.iter().filter(|(id, _)| car.part(id).is_none());
    parts.extend(own.map(|(id, life)| KeptPart {
        id,
        name: life.name.as_deref().unwrap_or_default(),
        place: life.place,
        due: life.due.map(|day| day.to_string()),
        life: Some(life),
    }));
    parts
}

fn of_row<'a>(
    row: &'a book::PartRow,
    car: &CarFile,
    lives: &'a BTreeMap<String, PartLife>,
) -> KeptPart<'a> {
    let life = lives.get(&row.id.value);
    let day = life.and_then(|life| life.due).map(|day| day.to_string());
    let days = row.back_in_days.as_ref().map(|days| days.value);
    let start = car.calendar.as_ref().and_then(|calendar| calendar.start.as_ref());
    let from = start.map(|start| format!(" from {}", start.value)).unwrap_or_default();
    KeptPart {
        id: &row.id.value,
        name: row.name.as_ref().map_or("", |name| &name.value),
        place: row.state,
        due: day.or_else(|| days.map(|days| format!("{days} days{from}"))),
        life,
    }
}

impl KeptPart<'_> {
    /// Whether it is still to come.
    pub fn is_out(&self) -> bool {
        self.place == Some(PartState::Out)
    }

    /// The verdict of its last inspection.
    pub fn verdict(&self, state: &State) -> Option<String> {
        let entry = state.entry(self.life?.inspected?)?;
        match &entry.body {
            Body::Part(part) => part.verdict.clone(),
            _ => None,
        }
    }
}

const PART_COLUMNS: [&str; 8] =
    ["part", "name", "where", "due", "verdict", "decided", "fitted to", "entries"];

fn part_rows(view: &View) -> Vec<Vec<String>> {
    let rows = parts_of(view).into_iter().map(|part| {
        let life = part.life;
        let fate = life.and_then(|life| life.fate).map(|(what, _)| say::happened_to(what));
        let side = life.and_then(|life| life.side).map(|side| side.word().to_owned());
        let events = life.map(|life| life.events.iter().map(u64::to_string).collect::<Vec<_>>());
        vec![
            part.id.to_owned(),
            part.name.to_owned(),
            part.place.map_or(String::new(), |place| place.word().to_owned()),
            part.due.clone().unwrap_or_default(),
            part.verdict(view.state()).unwrap_or_default(),
            fate.unwrap_or_default().to_owned(),
            side.unwrap_or_default(),
            events.unwrap_or_default().join(" "),
        ]
    });
    rows.collect()
}

const BOLT_COLUMNS: [&str; 8] =
    ["joint", "name", "bolt", "state", "torque", "wrench", "position", "entry"];

/// A row for every bolt of every joint, as it is now.
fn bolt_rows(view: &View) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for (joint, now) in
        view.car().joints.iter().zip(book::joint_states(&view.car().joints, &view.car().bolts))
    {
        let name = joint.name.as_ref().map_or("", |name| &name.value);
        for bolt in &now.bolts {
            let of =
                |row: &&book::BoltRow| row.joint.value == joint.id.value && row.bolt == bolt.bolt;
            let last = view.car().bolts.iter().rfind(of);
            let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
            rows.push(vec![
                joint.id.value.clone(),
                name.to_owned(),
                bolt.bolt.to_string(),
                bolt.state.word().to_owned(),
                text(last.and_then(|row| row.value.as_ref()).map(|value| value.text.as_str())),
                text(last.and_then(|row| row.wrench.as_ref()).map(|name| name.value.as_str())),
                text(last.and_then(|row| row.position).map(|position| position.word())),
                last.and_then(|row| row.entry).map(|seq| seq.to_string()).unwrap_or_default(),
            ]);
        }
    }
    rows
}

/// Writes a book as one archive; the file must not be there yet.
///
/// # Errors
/// Something is there already, a damaged log, or what the system says; then no file of that name
/// is left behind.
pub fn export_book(book: &Path, file: &Path) -> Result<store::Exported, DeskError> {
    let open = store::Store::read_only(book)?;
    let done = write_streamed(file, |out| {
        let done = store::export(&open, out);
        // What cannot be written is the archive's own trouble, not the book's.
        done.map_err(|why| about_the_archive(why, file))
    })?;
    note_backup(book, file, done.entries);
    Ok(done)
}

/// A refusal while an archive is written is of that file.
fn about_the_archive(why: store::StoreError, file: &Path) -> DeskError {
    match why {
        store::StoreError::Full { .. } => {
            DeskError::Write(file.to_owned(), io::ErrorKind::StorageFull.into())
        }
        store::StoreError::System { doing: "export", why, .. } => {
            DeskError::Write(file.to_owned(), why)
        }
        why => why.into(),
    }
}

/// Makes a book from an archive, in a folder that must not be there yet.
///
/// # Errors
/// Not an archive of a book, a damaged one, or what the system says; then there is no book.
pub fn import_book(file: &Path, book: &Path) -> Result<store::Imported, DeskError> {
    let archive = File::open(file).map_err(|why| match why.kind() {
        io::ErrorKind::NotFound => DeskError::NoFile(file.to_owned()),
        _ => DeskError::Read(file.to_owned(), why),
    })?;
    Ok(store::import(io::BufReader::new(archive), book)?)
}

/// Looks through a whole book for damage.
///
/// # Errors
/// Only where there is no book to look at, or one of a newer format.
pub fn verify_book(book: &Path) -> Result<store::Verified, DeskError> {
    Ok(store::verify(book)?)
}

/// Copies a book while it may be in use, into a folder that must not be there yet. That it was done
/// is noted in the book's folder, where that can be written to.
///
/// # Errors
/// Something stands there already, a damaged log, or what the system says.
pub fn backup_book(book: &Path, to: &Path) -> Result<store::BackedUp, DeskError> {
    let done = store::backup(&store::Store::read_only(book)?, to)?;
    note_backup(book, to, done.entries);
    Ok(done)
}

fn note_backup(book: &Path, to: &Path, entries: u64) {
    // The copy is no worse without it, and what is looked at may lie where nothing can be written.
    let _ = store::LastBackup::of(book, to, &clock::now(), entries).write(book);
}

/// Puts a copy of a book back, into a folder that goes away again, and compares it with the book.
///
/// # Errors
/// A copy that is no whole book, a damaged book, or what the system says.
pub fn check_backup(book: &Path, copy: &Path) -> Result<store::Checked, DeskError> {
    Ok(store::check_backup(&store::Store::read_only(book)?, copy)?)
}

/// Makes a new book of everything in a damaged one that is whole.
///
/// # Errors
/// Something stands there already, somebody writes to the book, nothing in it is whole, or what the
/// system says.
pub fn salvage_book(
    book: &Path,
    new: &Path,
    at: &str,
    by: &str,
) -> Result<store::Salvaged, DeskError> {
    let by = store::Salvager { at: at.to_owned(), by: by.to_owned() };
    Ok(store::salvage(book, new, &by)?)
}

/// A copy of a book is old after so many days.
const BACKUP_DAYS: i64 = 14;

/// What there is to say about the last copy of a book: that it is old, that it lies on the same
/// disk, or that there is none; nothing where all is well.
pub fn last_backup_in_words(book: &Path) -> Option<String> {
    let how = "`axlewright book backup` makes one, best onto another disk or stick";
    let Some(last) = store::LastBackup::read(book) else {
        return Some(format!("No copy of this book was made from here yet: {how}."));
    };
    let days = clock::days_since(&last.at);
    let old = match days {
        Some(days) if BACKUP_DAYS <= days => {
            format!("The last copy of this book is {days} days old: {how}.")
        }
        _ => String::new(),
    };
    let near = if last.same_disk {
        "The last copy of this book lies on the same disk as the book: what becomes of the disk \
         becomes of both."
    } else {
        ""
    };
    let said = [old.as_str(), near].join(" ");
    Some(said.trim().to_owned()).filter(|said| !said.is_empty())
}

/// Reads a photo from disk, no more of it than a photo may have.
///
/// # Errors
/// Not there, or what the system says.
pub fn read_photo(file: &Path) -> Result<Vec<u8>, DeskError> {
    let mut bytes = Vec::new();
    // One byte over the limit is enough for the store to refuse it.
    let read = File::open(file)
        .and_then(|file| file.take(store::PHOTO_BYTES_MAX + 1).read_to_end(&mut bytes));
    match read {
        Ok(_) => Ok(bytes),
        Err(why) if why.kind() == io::ErrorKind::NotFound => {
            Err(DeskError::NoFile(file.to_owned()))
        }
        Err(why) => Err(DeskError::Read(file.to_owned(), why)),
    }
}

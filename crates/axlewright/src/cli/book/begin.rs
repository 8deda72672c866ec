//! `axlewright book new` and `book car`: a car file into a book.

use std::io::Write;
use std::path::PathBuf;

use axlewright_setup::{FindingChange, Item, State, Subject};
use clap::Args;
use serde_json::json;

use super::{Hand, Writing, car_name, print_json};
use crate::cli::{Outcome, check, complain};
use crate::desk::book::{self, CarChange};
use crate::desk::{self, Fault};
use crate::{Exit, Streams, text};

/// Begin a book with a car file; its readings become the first entries
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book new larch --car my-car/car.toml
  axlewright book new larch --car my-car/car.toml --by Ida

The file itself is left as it is; the book keeps its whole text. From then on
readings are written into the book: a later one takes the place of an earlier
one. When the file has to change, `axlewright book car` takes the new one in.")]
pub struct New {
    /// The book's folder; made if it is not there
    #[arg(value_name = "BOOK")]
    folder: PathBuf,
    /// The car file
    #[arg(long, value_name = "FILE")]
    car: PathBuf,
    #[command(flatten)]
    hand: Hand,
}

impl New {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let by = self.hand.name()?;
        let text = desk::read_car_file(&self.car)?;
        if refuse(streams, &self.car, &text)? {
            return Ok(Exit::Problems);
        }
        let begun = book::begin_book(&self.folder, &by, &text)?;
        if self.hand.json {
            let seqs: Vec<u64> = (1..=begun.bench.look().seq()).collect();
            print_json(streams, car_name(&begun.bench).as_deref(), "written", json!(seqs))?;
            return Ok(Exit::Fine);
        }
        writeln!(streams.out, "{}", self.folder.display())?;
        let readings = text::counted(begun.readings, "reading");
        let shown = self.folder.display();
        let words = format!(
            "The book holds the car file and its {readings}, written by {by}. Add to it with \
             `axlewright book add`; `axlewright sheet {shown}` shows what follows from it."
        );
        text::paragraph(streams.err, "", &words)?;
        Ok(Exit::Fine)
    }
}

/// Says what is wrong in a car file that is to go into a book; true if it may not.
fn refuse(streams: &mut Streams<'_>, file: &std::path::Path, text: &str) -> std::io::Result<bool> {
    let faults = book::faults_of(text);
    check::print_faults_of(streams.err, (text, &file.display().to_string()), &faults)?;
    let is_wrong = faults.iter().any(|fault: &Fault| fault.is_error);
    if is_wrong {
        let right = format!("mend it; `axlewright check {}` shows how far it is", file.display());
        complain(streams.err, "no book takes a car file with errors", Some(&right))?;
    }
    Ok(is_wrong)
}

/// Take in a changed car file mid-job: shows what differs and which findings it changed
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book car larch my-car/car.toml
  axlewright book car larch my-car/car.toml --by Ida --json

Readings that are new in the file become entries. Readings of the book stand
until a later one takes their place or they are struck.")]
pub struct Car {
    #[command(flatten)]
    writing: Writing,
    /// The changed car file
    #[arg(value_name = "FILE")]
    file: PathBuf,
}

impl Car {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let text = desk::read_car_file(&self.file)?;
        if refuse(streams, &self.file, &text)? {
            return Ok(Exit::Problems);
        }
        let (bench, by) = self.writing.open(streams)?;
        let change = book::change_car(&bench, &by, &text)?;
        if self.writing.hand.json {
            let changes: Vec<_> = change.findings.iter().map(crate::json::change).collect();
            let value = json!({ "written": change.seqs, "diff": change.diff, "findings": changes });
            print_json(streams, car_name(&bench).as_deref(), "change", value)?;
            return Ok(Exit::Fine);
        }
        tell(streams, &change)?;
        Ok(Exit::Fine)
    }
}

fn tell(streams: &mut Streams<'_>, change: &CarChange) -> std::io::Result<()> {
    let out = &mut *streams.out;
    writeln!(out, "entry {}: car file", change.seqs.first().copied().unwrap_or_default())?;
    for (seq, words) in change.seqs.iter().skip(1).zip(&change.readings) {
        text::hanging(out, "", "  ", &format!("entry {seq}: reading {words}"))?;
    }
    text::heading(out, "What differs")?;
    writeln!(out, "{}", change.diff.trim_end())?;
    let count = text::counted(change.findings.len(), "finding");
    text::heading(out, &format!("What follows: {count} changed"))?;
    if change.findings.is_empty() {
        writeln!(out, "  No figure depends on it.")?;
    }
    change.findings.iter().try_for_each(|one| tell_change(out, one))
}

fn tell_change(out: &mut dyn Write, change: &FindingChange) -> std::io::Result<()> {
    let of = match &change.of {
        None => String::new(),
        Some(Subject::Corner(corner)) => format!(" {}", corner.code()),
        Some(Subject::Stand(name) | Subject::Step(name) | Subject::Joint(name)) => {
            format!(" {name}")
        }
        Some(Subject::Sighted(what)) => format!(" {what}"),
    };
    let of = match change.at {
        None => of,
        Some(State::Target) => format!("{of}, at target"),
        Some(State::Now) => format!("{of}, now"),
    };
    let shown =
        |item: Option<&Item>| item.map_or("not known".to_owned(), |item| text::cell(Some(item)));
    let (before, after) = (shown(change.before.as_ref()), shown(change.after.as_ref()));
    let words = if before == after {
        format!("{}{of}: changed in its details", change.id)
    } else {
        format!("{}{of}: {before} → {after}", change.id)
    };
    text::hanging(out, "  ", "    ", &words)
}

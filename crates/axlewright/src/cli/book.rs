//! `axlewright book`: the record of the job, from the first reading to the last re-check.

mod add;
mod begin;
mod files;
mod kept;
mod log;

use std::io;
use std::path::{Path, PathBuf};

use axlewright_setup::Assessment;
use clap::{Args, Subcommand};
use serde_json::Value;

use super::{Failure, Outcome, complain};
use crate::desk::bench::Bench;
use crate::desk::{Fault, clock};
use crate::{Exit, Streams, json, text};

/// Keep the book of the job: what was read, marked, fitted and tightened, and by whom
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book new larch --car my-car/car.toml        begin one
  axlewright book add reading larch \"plate angle\" \"35.2 deg\" --side left \\
      --arrow nose --hung plate --lash lifted --seat \"reference line\"
  axlewright book add step larch bar-in-left --done --minutes 20
  axlewright book photo larch mark.jpg --for \"left rear eccentric\"
  axlewright book log larch --since 2026-11-25
  axlewright book strike larch 57 --why \"read on the wrong side\"
  axlewright sheet larch                                 what follows from it

A book is a folder. What is written in it stays: a mistake is struck out by a
later entry and does not count any more. When a command says which entry it
wrote, the entry is on the disk. One program writes at a time; looking, export
and backup are always possible. Who writes is said with --by, else by the
variable AXLEWRIGHT_BY, else by the system.")]
pub struct Book {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    New(begin::New),
    Add(Box<add::Add>),
    Car(begin::Car),
    Photo(add::PhotoOf),
    Strike(add::Strike),
    Log(log::Log),
    Parts(kept::Parts),
    Marks(kept::Marks),
    Export(files::Export),
    Import(files::Import),
    Csv(files::Csv),
    Verify(files::Verify),
    Backup(files::Backup),
    Salvage(files::Salvage),
}

impl Book {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        match &self.what {
            What::New(new) => new.run(streams),
            What::Add(add) => add.run(streams),
            What::Car(car) => car.run(streams),
            What::Photo(photo) => photo.run(streams),
            What::Strike(strike) => strike.run(streams),
            What::Log(log) => log.run(streams),
            What::Parts(parts) => parts.run(streams),
            What::Marks(marks) => marks.run(streams),
            What::Export(export) => export.run(streams),
            What::Import(import) => import.run(streams),
            What::Csv(csv) => csv.run(streams),
            What::Verify(verify) => verify.run(streams),
            What::Backup(backup) => backup.run(streams),
            What::Salvage(salvage) => salvage.run(streams),
        }
    }
}

/// The arguments of everything that is written into a book.
#[derive(Debug, Args)]
struct Writing {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    #[command(flatten)]
    hand: Hand,
}

/// Who writes, and how it is told.
#[derive(Debug, Args)]
struct Hand {
    /// Who writes [default: AXLEWRIGHT_BY, else whoever is logged in]
    #[arg(long, value_name = "NAME")]
    by: Option<String>,
    /// Print what was written as JSON
    #[arg(long)]
    json: bool,
}

impl Hand {
    fn name(&self) -> Result<String, Failure> {
        clock::who(self.by.as_deref()).ok_or_else(|| Failure::Call {
            what: "nobody says who writes".to_owned(),
            right: format!("say it with --by, or once for all in {}", clock::BY_VARIABLE),
        })
    }
}

impl Writing {
    /// Opens the book to write in it; with the name of whoever writes.
    fn open(&self, streams: &mut Streams<'_>) -> Result<(Bench, String), Failure> {
        let by = self.hand.name()?;
        let bench = Bench::own(&self.book, &by)?;
        warn(streams, &bench)?;
        Ok((bench, by))
    }
}

/// Says what is odd about a book that may be written to all the same.
pub(super) fn warn(streams: &mut Streams<'_>, bench: &Bench) -> io::Result<()> {
    if let Some(why) = bench.trouble() {
        complain(streams.err, &why.to_string(), Some(why.hint()))?;
    }
    if let Some(what) = bench.clock_trouble() {
        let what = format!("the clock of this machine may be wrong: {what}");
        let right = "set it; what is written meanwhile bears the moment that the clock says";
        complain(streams.err, &what, Some(right))?;
    }
    Ok(())
}

/// Opens a book to look at what of it is whole, and says what is not; with the exit code for a call
/// in which nothing else goes wrong.
fn look_at(streams: &mut Streams<'_>, book: &Path) -> Result<(Bench, Exit), Failure> {
    let bench = Bench::look_at(book)?;
    let Some(why) = bench.trouble() else { return Ok((bench, Exit::Fine)) };
    complain(streams.err, &why.to_string(), Some(why.hint()))?;
    let words = match bench.look().seq() {
        0 => "No entry can be shown.".to_owned(),
        last => format!("Only entries 1 to {last} are shown; the rest is not known here."),
    };
    text::paragraph(streams.err, "", &words)?;
    Ok((bench, Exit::Disk))
}

/// The document of the contract, without findings, and one more key.
fn print_json(
    streams: &mut Streams<'_>,
    car: Option<&str>,
    key: &str,
    value: Value,
) -> io::Result<()> {
    let nothing = Assessment { car: car.map(str::to_owned), ..Assessment::default() };
    let mut document = json::document(&nothing, &[] as &[Fault]);
    if let Value::Object(map) = &mut document {
        map.insert(key.to_owned(), value);
    }
    super::write_json(streams, &document)
}

/// The name of the car a bench has open.
fn car_name(bench: &Bench) -> Option<String> {
    bench.look().car().name.as_ref().map(|name| name.value.clone())
}

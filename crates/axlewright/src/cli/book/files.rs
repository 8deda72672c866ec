//! `axlewright book export`, `import`, `csv`, `verify` and `backup`: the book as files.

use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::{look_at, print_json};
use crate::cli::{Outcome, complain};
use crate::desk::book;
use crate::{Exit, Streams, text};

/// Write the whole book as one archive that can be read without this program
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book export larch larch.tar

The archive holds the log as text, one entry on a line, the photos, and a page
that says how to read them. It may be made while somebody writes.")]
pub struct Export {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The archive; must not be there yet
    #[arg(value_name = "FILE.tar")]
    file: PathBuf,
}

impl Export {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let done = book::export_book(&self.book, &self.file)?;
        writeln!(streams.out, "{}", self.file.display())?;
        said_missing(streams, done.entries, done.photos, &done.missing)?;
        Ok(Exit::Fine)
    }
}

/// How much there was, and which photos were not.
fn said_missing(
    streams: &mut Streams<'_>,
    entries: u64,
    photos: u64,
    missing: &[String],
) -> std::io::Result<()> {
    writeln!(streams.err, "entries: {entries}, photos: {photos}")?;
    for name in missing {
        let right = "look for it in an older backup";
        complain(streams.err, &format!("the photo `{name}` is missing or altered"), Some(right))?;
    }
    Ok(())
}

/// Make a book from an archive
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book import larch.tar larch

Every entry and every photo is checked on the way; the archive's log comes back
letter for letter.")]
pub struct Import {
    /// The archive
    #[arg(value_name = "FILE.tar")]
    file: PathBuf,
    /// The folder of the new book; must not be there yet
    #[arg(value_name = "BOOK")]
    book: PathBuf,
}

impl Import {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let done = book::import_book(&self.file, &self.book)?;
        writeln!(streams.out, "{}", self.book.display())?;
        said_missing(streams, done.entries, done.photos, &done.missing)?;
        Ok(Exit::Fine)
    }
}

/// Write the parts and the joints as tables for a spreadsheet
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book csv larch
  axlewright book csv larch --out tables

Writes parts.csv and joints.csv; files that are there already are left alone.")]
pub struct Csv {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The folder for the two files; made if it is not there
    #[arg(long, value_name = "FOLDER", default_value = ".")]
    out: PathBuf,
}

impl Csv {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (bench, exit) = look_at(streams, &self.book)?;
        for file in book::write_tables(&bench.look(), &self.out)? {
            writeln!(streams.out, "{}", file.display())?;
        }
        Ok(Exit::Fine)
    }
}

/// Look through the whole book for damage; says what is wrong and what is safe
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book verify larch
  axlewright book verify larch --json

Ends with 0 when nothing is wrong, with 3 when something is. Nothing is changed.")]
pub struct Verify {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// Print what was found as JSON instead
    #[arg(long)]
    json: bool,
}

impl Verify {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let found = book::verify_book(&self.book)?;
        let exit = if found.is_whole() { Exit::Fine } else { Exit::Disk };
        let faults: Vec<String> = found.faults.iter().map(ToString::to_string).collect();
        if self.json {
            let value = json!({
                "whole": found.is_whole(),
                "entries": found.rows,
                "safe": found.safe,
                "photos": found.photos,
                "faults": faults,
                "unlogged": found.unlogged,
            });
            print_json(streams, None, "verified", value)?;
            return Ok(exit);
        }
        for fault in &faults {
            complain(streams.err, fault, None)?;
        }
        let out = &mut *streams.out;
        let (rows, safe, photos) = (found.rows, found.safe, found.photos);
        if found.is_whole() {
            let entries = if rows == 1 { "entry" } else { "entries" };
            let photos = text::counted(usize::try_from(photos).unwrap_or(usize::MAX), "photo");
            writeln!(out, "Nothing is wrong: {rows} {entries} in one chain, {photos} whole.")?;
        } else {
            let words = format!(
                "Something is wrong. Entries 1 to {safe} of {rows} are as they were written, and \
                 {photos} photos. Copy the folder before anything else is done with it, then take \
                 a backup or an export from before."
            );
            text::paragraph(out, "", &words)?;
        }
        if !found.unlogged.is_empty() {
            let count = found.unlogged.len();
            let words = format!(
                "{count} photos lie there that no entry names: taken in, and then not written \
                 down. They harm nobody."
            );
            text::paragraph(out, "", &words)?;
        }
        Ok(exit)
    }
}

/// Copy the book while it is in use
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book backup larch /media/stick/larch-2026-11-25

The copy is a book too. It is read again before it is called one.")]
pub struct Backup {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The folder of the copy; must not be there yet
    #[arg(value_name = "FOLDER")]
    to: PathBuf,
}

impl Backup {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let done = book::backup_book(&self.book, &self.to)?;
        writeln!(streams.out, "{}", self.to.display())?;
        said_missing(streams, done.entries, done.photos, &done.missing)?;
        Ok(Exit::Fine)
    }
}

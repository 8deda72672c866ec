//! `axlewright book export`, `import`, `csv`, `verify`, `backup` and `salvage`: the book as files.

use std::io;
use std::path::PathBuf;

use axlewright_store::{Backwards, Loss, PhotoGone, Verified};
use clap::Args;
use serde_json::{Value, json};

use super::{Hand, look_at, print_json};
use crate::cli::{Failure, Outcome, complain};
use crate::desk::{book, clock};
use crate::{Exit, Streams, text};

/// Write the whole book as one archive that can be read without this program
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book export larch larch.tar

The archive holds the log as text, one entry on a line, the photos, and a page
that says how to read them. It may be made while somebody writes. What cannot be
read is named and left out; the call then ends with 3, or with 0 if --partial
was given.")]
pub struct Export {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The archive; must not be there yet
    #[arg(value_name = "FILE.tar")]
    file: PathBuf,
    #[command(flatten)]
    partial: Partial,
}

/// Whether a copy that lacks something will do.
#[derive(Debug, Args)]
struct Partial {
    /// End with 0 though something is missing; it is named all the same
    #[arg(long)]
    partial: bool,
}

impl Export {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let done = book::export_book(&self.book, &self.file)?;
        writeln!(streams.out, "{}", self.file.display())?;
        let lacks = Lacks { missing: &done.missing, loss: done.loss.as_ref() };
        Ok(self.partial.told(streams, (done.entries, done.photos), lacks)?)
    }
}

/// What a copy of a book lacks.
#[derive(Clone, Copy)]
struct Lacks<'a> {
    missing: &'a [PhotoGone],
    loss: Option<&'a Loss>,
}

impl Partial {
    /// Says how much there was and what is not in the copy; how the call ends.
    fn told(
        &self,
        streams: &mut Streams<'_>,
        (entries, photos): (u64, u64),
        lacks: Lacks<'_>,
    ) -> io::Result<Exit> {
        writeln!(streams.err, "entries: {entries}, photos: {photos}")?;
        if let Some(loss) = lacks.loss {
            let right = "look for a newer copy of the book, or for the rest of its files";
            complain(streams.err, &loss.to_string(), Some(right))?;
        }
        for gone in lacks.missing {
            let right = "look for it in an older backup";
            complain(streams.err, &gone.to_string(), Some(right))?;
        }
        let is_whole = lacks.missing.is_empty() && lacks.loss.is_none();
        Ok(if is_whole || self.partial { Exit::Fine } else { Exit::Disk })
    }
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
    #[command(flatten)]
    partial: Partial,
}

impl Import {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let done = book::import_book(&self.file, &self.book)?;
        writeln!(streams.out, "{}", self.book.display())?;
        let lacks = Lacks { missing: &done.missing, loss: None };
        Ok(self.partial.told(streams, (done.entries, done.photos), lacks)?)
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
        Ok(exit)
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
                "acknowledged": found.acknowledged,
                "faults": faults,
                "unlogged": found.unlogged,
                "backwards": found.backwards.iter().map(backwards).collect::<Vec<_>>(),
            });
            print_json(streams, None, "verified", value)?;
            return Ok(exit);
        }
        for fault in &faults {
            complain(streams.err, fault, None)?;
        }
        self.tell(streams, &found)?;
        Ok(exit)
    }

    fn tell(&self, streams: &mut Streams<'_>, found: &Verified) -> io::Result<()> {
        let out = &mut *streams.out;
        let (rows, safe, photos) = (found.rows, found.safe, found.photos);
        if found.is_whole() {
            let entries = if rows == 1 { "entry" } else { "entries" };
            let photos = text::counted(usize::try_from(photos).unwrap_or(usize::MAX), "photo");
            writeln!(out, "Nothing is wrong: {rows} {entries} in one chain, {photos} whole.")?;
        } else {
            let words = format!(
                "Something is wrong. Entries 1 to {safe} of {} are as they were written, and \
                 {photos} photos. Copy the folder before anything else is done with it. \
                 `axlewright book salvage` makes a book of everything that is whole, also of what \
                 comes after the damage; a backup from before may hold the rest.",
                rows.max(found.acknowledged.unwrap_or(0))
            );
            text::paragraph(out, "", &words)?;
        }
        if found.acknowledged.is_none() {
            let words = format!(
                "No {} lies beside the log: whether entries are missing at its end cannot be \
                 told. The next time the book is opened to write, it is made.",
                axlewright_store::HEAD_FILE
            );
            text::paragraph(out, "", &words)?;
        }
        if let Some(said) = book::last_backup_in_words(&self.book) {
            text::paragraph(out, "", &said)?;
        }
        if !found.unlogged.is_empty() {
            let count = found.unlogged.len();
            let words = format!(
                "{count} photos lie there that no entry names: taken in, and then not written \
                 down. They harm nobody."
            );
            text::paragraph(out, "", &words)?;
        }
        if let Some(first) = found.backwards.first() {
            let more = match found.backwards.len() - 1 {
                0 => String::new(),
                more => format!(" So it is in {more} other places."),
            };
            let words = format!(
                "The clock was set back, or stood wrong, while the log was written: {first}.{more} \
                 In which order things were done, the numbers of the entries say."
            );
            text::paragraph(out, "", &words)?;
        }
        Ok(())
    }
}

fn backwards(found: &Backwards) -> Value {
    json!({ "entry": found.seq, "at": found.at, "before": found.before })
}

/// Copy the book while it is in use, or check a copy that was made
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book backup larch /media/stick/larch-2026-11-25
  axlewright book backup larch /media/stick/larch-2026-11-25 --check

The copy is a book too. It is read again before it is called one. What cannot be
read is named and left out; the call then ends with 3, or with 0 if --partial
was given. With --check, a copy that is there is put back into a folder for the
moment, opened, and compared with the book, line by line and photo by photo.")]
pub struct Backup {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The folder of the copy; must not be there yet, unless it is checked
    #[arg(value_name = "FOLDER")]
    to: PathBuf,
    /// Check the copy that is there instead of making one
    #[arg(long)]
    check: bool,
    #[command(flatten)]
    partial: Partial,
}

impl Backup {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        if self.check {
            return self.check(streams);
        }
        let done = book::backup_book(&self.book, &self.to)?;
        writeln!(streams.out, "{}", self.to.display())?;
        let lacks = Lacks { missing: &done.missing, loss: done.loss.as_ref() };
        let exit = self.partial.told(streams, (done.entries, done.photos), lacks)?;
        if let Some(said) = book::last_backup_in_words(&self.book) {
            text::paragraph(streams.err, "", &said)?;
        }
        Ok(exit)
    }

    fn check(&self, streams: &mut Streams<'_>) -> Outcome {
        let found = book::check_backup(&self.book, &self.to)?;
        let (entries, of) = (found.entries, found.of);
        if let Some(seq) = found.differs {
            let what = format!("entry {seq} of the copy is not the book's");
            let right = "it is a copy of another book, or one that was written to by itself";
            complain(streams.err, &what, Some(right))?;
        }
        let lacks = Lacks { missing: &found.missing, loss: None };
        let exit = self.partial.told(streams, (entries, found.photos), lacks)?;
        if found.differs.is_some() {
            return Ok(Exit::Disk);
        }
        let words = match of.saturating_sub(entries) {
            0 => format!("Put back, the copy is the book: all {of} entries are in it."),
            later => format!(
                "Put back, the copy is the book up to entry {entries}; {later} of {of} came later."
            ),
        };
        text::paragraph(streams.out, "", &words)?;
        Ok(exit)
    }
}

/// Make a new book of everything in a damaged one that is whole
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright book salvage larch larch-whole

The damaged book is only read. Every entry that is whole is taken over letter for
letter under its number, and every photo that is; one flipped bit in an entry is
put right. Where an entry was lost, the new book says so, and no figures are made
until somebody strikes that place, with a word on what stood there. Ends with 0
when nothing was lost, else with 3.")]
pub struct Salvage {
    /// The damaged book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// The folder of the new book; must not be there yet
    #[arg(value_name = "NEW")]
    new: PathBuf,
    #[command(flatten)]
    hand: Hand,
    #[command(flatten)]
    partial: Partial,
}

impl Salvage {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let by = self.hand.name()?;
        let done = book::salvage_book(&self.book, &self.new, &clock::now(), &by)?;
        let is_whole = done.lost.is_empty() && done.missing.is_empty();
        let exit = if is_whole || self.partial.partial { Exit::Fine } else { Exit::Disk };
        let (entries, whole, photos) = (done.entries, done.whole, done.photos);
        if self.hand.json {
            let lost = done.lost.iter().map(|(seq, what)| json!({ "entry": seq, "what": what }));
            let missing = done.missing.iter().map(ToString::to_string);
            let value = json!({
                "entries": entries,
                "whole": whole,
                "mended": done.mended,
                "lost": lost.collect::<Vec<_>>(),
                "photos": photos,
                "missing": missing.collect::<Vec<_>>(),
            });
            print_json(streams, None, "salvaged", value)?;
            return Ok(exit);
        }
        writeln!(streams.out, "{}", self.new.display())?;
        self.tell(streams, &done)?;
        Ok(exit)
    }

    fn tell(
        &self,
        streams: &mut Streams<'_>,
        done: &axlewright_store::Salvaged,
    ) -> Result<(), Failure> {
        let err = &mut *streams.err;
        let (entries, whole, photos) = (done.entries, done.whole, done.photos);
        writeln!(err, "entries: {whole} of {entries} as they were written, photos: {photos}")?;
        for seq in &done.mended {
            writeln!(err, "entry {seq}: one flipped bit was put right; its hash proves it")?;
        }
        for (seq, what) in &done.lost {
            complain(err, &format!("entry {seq} is lost: {what}"), None)?;
        }
        for gone in &done.missing {
            complain(err, &gone.to_string(), Some("look for it in an older backup"))?;
        }
        if !done.lost.is_empty() {
            let words = format!(
                "No figures and no plan are made from it while an entry counts as lost. \
                 `axlewright book log {} --kind lost` shows what could still be read. Strike each \
                 with a word on what stood there, and write that again; if it was itself a \
                 strike, what it struck counts again until it is struck anew.",
                self.new.display()
            );
            text::paragraph(err, "", &words)?;
        }
        Ok(())
    }
}

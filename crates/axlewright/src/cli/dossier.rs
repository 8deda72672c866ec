//! `axlewright dossier`: everything that is known and was done, as one page to keep.

use std::path::{Path, PathBuf};

use clap::Args;

use super::{Failure, Outcome, car, check, complain};
use crate::desk::bench::Bench;
use crate::{Exit, Streams, desk};

/// Make the dossier: what was found, done, measured and signed, as one page that prints
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright dossier larch                      writes dossier.html into the book
  axlewright dossier larch --out larch.html     writes it there
  axlewright dossier larch --out - > l.html     writes it to the output
  axlewright dossier car.toml                   of a car file: the build sheet,
                                                and a record that is still empty

For the owner, the alignment shop, the inspector, the next owner: the build
sheet first, then the record of the book with its photos, a page for the
alignment shop, and on the last page the hash that seals the log. A dossier
replaces only a page made by this program. While the car file holds an error
no page is made; `axlewright check` explains every error.")]
pub struct Dossier {
    /// The book; or the car file, or the folder it lies in
    #[arg(value_name = "CAR")]
    path: PathBuf,
    /// Where the dossier goes; `-` is the output [default: in the book, or beside the car file]
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
}

impl Dossier {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let bench = Bench::open(&self.path)?;
        let view = bench.look();
        if !view.faults().is_empty() {
            check::print_faults(streams.err, &view, view.faults())?;
        }
        if view.has_errors() {
            let right = format!(
                "mend the car file; `axlewright check {}` shows how far it is",
                self.path.display()
            );
            complain(streams.err, "no dossier is made from a car file with errors", Some(&right))?;
            return Ok(Exit::Problems);
        }
        let html = desk::dossier_html(&bench, &view).map_err(Failure::from)?;
        if self.out.as_deref() == Some(Path::new("-")) {
            streams.out.write_all(html.as_bytes())?;
        } else {
            let path = self.out.clone().unwrap_or_else(|| desk::dossier_path(&self.path));
            desk::write_sheet(&html, &path)?;
            writeln!(streams.out, "{}", path.display())?;
            let words = match view.state().entries().len() {
                _ if !bench.is_book() => {
                    "A car file has no record; a book has: `axlewright book new`.".to_owned()
                }
                1 => "1 entry in it.".to_owned(),
                entries => format!("{entries} entries in it."),
            };
            writeln!(streams.err, "{words}")?;
        }
        Ok(car::verdict(view.faults(), view.assessment(), false))
    }
}

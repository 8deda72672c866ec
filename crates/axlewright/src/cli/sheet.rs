//! `axlewright sheet`: the build sheet of a car, as a page or as JSON.

use std::path::{Path, PathBuf};

use axlewright_quantity::{Corner, Side};
use axlewright_setup::wheels::{self, Question};
use axlewright_setup::{Assessment, Subject};
use clap::Args;

use super::car::{Begun, CarCall};
use super::{Outcome, complain, forecast};
use crate::{Exit, Streams, desk, text};

/// Make the build sheet: a page that opens in any browser and prints
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright sheet car.toml                     writes car-sheet.html beside it
  axlewright sheet car.toml --out sheet.html    writes it there
  axlewright sheet car.toml --out - > s.html    writes it to the output
  axlewright sheet car.toml --forecast          with where a hundred builds land
  axlewright sheet car.toml --json              every finding as JSON

A sheet replaces only a sheet made before, never another file. While the car
file holds an error no page is made, because a page outlives the warning beside
it; `axlewright check` explains every error.")]
pub struct Sheet {
    #[command(flatten)]
    car: CarCall,
    /// Where the sheet goes; `-` is the output [default: beside the car file]
    #[arg(long, value_name = "FILE", conflicts_with = "json")]
    out: Option<PathBuf>,
    /// Put the forecast on it: how many of a hundred builds land
    #[arg(long, conflicts_with = "json")]
    forecast: bool,
}

impl Sheet {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let exit = match self.car.begin(streams, &view, view.assessment(), view.faults())? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        if view.has_errors() {
            self.car.refuse(streams, "no sheet is made from a car file with errors")?;
            return Ok(Exit::Problems);
        }
        let mut with_order = view.with_order();
        // The page says it too: the rest of it holds, only the order cannot be.
        let of_order = with_order.problems.iter().skip(view.assessment().problems.len());
        let exit = if of_order.len() == 0 { exit } else { Exit::Problems };
        of_order.clone().try_for_each(|problem| complain(streams.err, problem, None))?;
        if self.forecast {
            let found = forecast::watched(streams, |watch| {
                wheels::forecast(view.car(), view.assessment(), Question::default(), watch)
            })?;
            with_order.findings.extend(found.findings);
        }
        let html = desk::sheet_html(&with_order);
        if self.out.as_deref() == Some(Path::new("-")) {
            streams.out.write_all(html.as_bytes())?;
            return Ok(exit);
        }
        let path = self.out.clone().unwrap_or_else(|| desk::sheet_path(&self.car.path));
        desk::write_sheet(&html, &path)?;
        writeln!(streams.out, "{}", path.display())?;
        first_answer(streams, view.assessment())?;
        let gaps = view.assessment().gaps.len();
        let findings = text::counted(view.assessment().findings.len(), "finding");
        let still = text::counted(gaps, "gap");
        writeln!(streams.err, "{findings}, {still} still to be measured or looked up.")?;
        if gaps != 0 {
            writeln!(streams.err, "`axlewright check {}` lists them.", self.car.path.display())?;
        }
        Ok(exit)
    }
}

/// The one figure he came for, so that the sheet need not be opened to see whether it is there.
fn first_answer(streams: &mut Streams<'_>, assessment: &Assessment) -> std::io::Result<()> {
    for side in Side::BOTH {
        let of = Subject::Corner(Corner::rear(side));
        let known = |id| assessment.find(id, Some(&of)).and_then(|f| f.value.as_leaf());
        let (found, how) = match known("free-angle.target") {
            Some(leaf) => (Some(leaf), ""),
            None => (known("free-angle.by-four-numbers"), ", from four numbers only"),
        };
        if let Some(leaf) = found {
            let angle = text::value_and_u(leaf.value, leaf.u);
            writeln!(streams.err, "{side} rear: free angle {angle}{how}")?;
        }
    }
    text::cautions(streams.err, &assessment.cautions)
}

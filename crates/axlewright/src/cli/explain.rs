//! `axlewright explain`: what a finding is, with its formula and source.

use std::io::{self, Write};
use std::path::PathBuf;

use axlewright_setup::order::{self, Control, OrderQuestion};
use axlewright_setup::wheels::{self, Go, Question};
use axlewright_setup::{Assessment, Finding};
use clap::Args;

use super::{Outcome, complain, print_json};
use crate::desk::DEMO_CAR;
use crate::desk::bench::Bench;
use crate::{Exit, Streams, text};

/// Explain a finding by its id: what it says, the formula, the source, what it is made from
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright explain free-angle.target --car my-car/car.toml
  axlewright explain car.moves
  axlewright explain car                      every id that begins so

Without --car the invented demo car stands in, and its figures are not yours.")]
pub struct Explain {
    /// The finding's id, or how it begins
    #[arg(value_name = "ID")]
    id: String,
    /// The car file, the folder it lies in, or a book
    #[arg(long, value_name = "CAR")]
    car: Option<PathBuf>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

/// Builds for an explanation: enough for the words.
const BUILDS: usize = 10_000;

impl Explain {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let all = match &self.car {
            Some(path) => {
                let view = Bench::open(path)?.look();
                let mut all = view.with_order();
                all.findings.extend(builds(view.car(), view.assessment()));
                if all.find("car.state", None).is_none() {
                    all.gaps.extend(wheels::waits(view.car(), view.assessment()));
                }
                all
            }
            None => demo(),
        };
        let wanted = self.id.trim();
        let begins = |id: &str| {
            id == wanted || id.strip_prefix(wanted).is_some_and(|rest| rest.starts_with('.'))
        };
        let mut found = all.clone();
        found.findings.retain(|finding| begins(finding.id));
        found.gaps.retain(|gap| begins(&gap.id) || gap.blocks.iter().any(|id| begins(id)));
        let mut told: Vec<String> = Vec::new();
        found.gaps.retain(|gap| {
            let is_new = !told.contains(&gap.id.to_string());
            told.push(gap.id.to_string());
            is_new
        });
        if found.findings.is_empty() && found.gaps.is_empty() {
            // What a car file is too young for is known by the demo car.
            let whole = demo();
            let (what, right) = if whole.findings.iter().any(|finding| begins(finding.id)) {
                let right = "`axlewright check` and the car file show what is still missing";
                (format!("nothing can be said of `{wanted}` yet"), right.to_owned())
            } else {
                let near: Vec<&str> = near(&whole, wanted);
                let right = format!("there is {}", text::first_few(&near, 12));
                (format!("nothing is called `{wanted}`"), right)
            };
            complain(streams.err, &what, Some(&right))?;
            return Ok(Exit::Problems);
        }
        if self.json {
            print_json(streams, &found, &[])?;
            return Ok(Exit::Fine);
        }
        if self.car.is_none() {
            writeln!(streams.out, "Of the invented demo car; --car takes your own.\n")?;
        }
        tell(streams.out, &found)?;
        Ok(Exit::Fine)
    }
}

/// The demo car with all that can be said of it.
fn demo() -> Assessment {
    let (car, _) = axlewright_book::read(DEMO_CAR);
    let mut all = axlewright_setup::assess(&car);
    let question = OrderQuestion::default();
    if let Ok(order) = order::order(&car, &all, &question, &mut |_| Control::Go) {
        all.findings.extend(order.findings);
    }
    let more = builds(&car, &all);
    all.findings.extend(more);
    all
}

fn builds(car: &axlewright_book::CarFile, facts: &Assessment) -> Vec<Finding> {
    let question = Question { builds: BUILDS, ..Question::default() };
    wheels::forecast(car, facts, question, &|_| Go::On).findings
}

/// Ids that share a word with what was typed, or all of them.
fn near<'a>(all: &'a Assessment, wanted: &str) -> Vec<&'a str> {
    let mut ids: Vec<&str> = all.findings.iter().map(|finding| finding.id).collect();
    ids.sort_unstable();
    ids.dedup();
    let parts: Vec<&str> = wanted.split(['.', '-']).filter(|part| 2 < part.len()).collect();
    let shared: Vec<&str> =
        ids.iter().copied().filter(|id| parts.iter().any(|part| id.contains(part))).collect();
    if shared.is_empty() { ids } else { shared }
}

/// Each id once, with the corners, joints or steps it is said of.
fn tell(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let mut told: Vec<&str> = Vec::new();
    for finding in &found.findings {
        if told.contains(&finding.id) {
            continue;
        }
        told.push(finding.id);
        let twins = found.findings.iter().filter(|other| other.id == finding.id).count();
        let times = if twins == 1 { String::new() } else { format!(" ({twins} of them)") };
        writeln!(out, "{}{times}", finding.id)?;
        text::how_known(out, finding)?;
        writeln!(out)?;
    }
    found.gaps.iter().try_for_each(|gap| text::gap(out, gap))
}

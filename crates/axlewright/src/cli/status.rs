//! `axlewright status`: where the job stands, what comes next, what is open.

use std::io::{self, Write};

use axlewright_setup::Severity;
use clap::Args;

use super::car::{Begun, CarCall};
use super::{Outcome, order};
use crate::desk::bench::View;
use crate::{Streams, text};

/// Gaps that are named.
const GAPS_SHOWN: usize = 3;

/// Say where the job stands: the energy, the next step, what is open
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright status larch                 of a book
  axlewright status my-car/car.toml       of a car file: nothing is done yet")]
pub struct Status {
    #[command(flatten)]
    car: CarCall,
}

impl Status {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        // With the parts that are on the bench, as on the page.
        let found = if self.car.json { view.with_order() } else { view.tonight().clone() };
        let exit = match self.car.begin(streams, &view, &found, view.faults())? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        tell(streams.out, &view)?;
        Ok(exit)
    }
}

fn tell(out: &mut dyn Write, view: &View) -> io::Result<()> {
    let (car, all, order) = (view.car(), view.assessment(), view.tonight());
    let name = all.car.as_deref().unwrap_or("The car");
    let done = car.steps.iter().filter(|step| car.done.contains(&step.id.value)).count();
    match car.steps.len() {
        0 => writeln!(out, "{name}: no steps yet")?,
        steps => writeln!(out, "{name}: {done} of {} done", text::counted(steps, "step"))?,
    }
    if let Some(energy) = view.energy() {
        text::hanging(out, "energy: ", "        ", &energy)?;
    }
    let stops = all.cautions.iter().filter(|caution| caution.severity == Severity::Stop);
    stops.clone().try_for_each(|caution| text::caution(out, caution))?;
    order::next_step(out, order)?;
    if !all.gaps.is_empty() {
        let gaps = text::counted(all.gaps.len(), "figure");
        text::heading(out, &format!("Still to measure or look up: {gaps}"))?;
        for gap in all.gaps.iter().take(GAPS_SHOWN) {
            text::hanging(out, "  * ", "    ", &format!("{}: {}", gap.id, gap.measure))?;
        }
        if GAPS_SHOWN < all.gaps.len() {
            writeln!(out, "    `axlewright check` lists all.")?;
        }
    }
    Ok(())
}

//! `axlewright level`: the body's slope and the gauge's own error, by turning the gauge round.

use std::io::{self, Write};

use axlewright_book::Arrow;
use axlewright_quantity::{Amount, Angle};
use axlewright_setup::quick::{self, Given, LevelQuestion, PlateReading};
use axlewright_setup::{Assessment, Finding};
use clap::{Args, ValueEnum};

use super::{Outcome, answer, typed};
use crate::{Streams, text};

/// Take the gauge's own error out: the same place read twice, gauge turned end for end
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright level --first 0.3 --turned 0.1
  axlewright level --first 0.3 --turned 0.1 --plate 35.2 --arrow nose

Lay the gauge on the sill, its arrow to the nose, and read it; turn it end for
end on the same spot and read again. Both times plus is when the end the arrow
points to is the higher one. A gauge that shows no sign has to be looked at: on
a level sill a true gauge shows 0 both ways. Read each side's own sill: old
shells differ.")]
pub struct Level {
    /// Reading with the gauge's arrow to the nose; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    first: Given<Angle>,
    /// Reading on the same spot with the gauge turned end for end
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    turned: Given<Angle>,
    /// A reading on the spring plate, as the gauge shows it, to be corrected
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    #[arg(requires = "arrow")]
    plate: Option<Given<Angle>>,
    /// Which way the gauge's arrow pointed when it lay on the plate
    #[arg(long, value_enum, requires = "plate")]
    arrow: Option<ArrowWord>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ArrowWord {
    /// Towards the nose of the car
    Nose,
    /// Towards the tail
    Tail,
}

impl Level {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let plate = self.plate.clone().zip(self.arrow).map(|(value, arrow)| PlateReading {
            value,
            arrow: match arrow {
                ArrowWord::Nose => Arrow::Nose,
                ArrowWord::Tail => Arrow::Tail,
            },
        });
        let (first, turned) = (self.first.clone(), self.turned.clone());
        let question = LevelQuestion { first, turned, plate };
        answer(streams, self.json, quick::level(&question), tell)
    }
}

fn tell(out: &mut dyn Write, assessment: &Assessment) -> io::Result<()> {
    let find = |id| assessment.find(id, None);
    let mut line = |name: &str, found: Option<&Finding>, way: fn(&str) -> &'static str| {
        let Some(leaf) = found.and_then(|finding| finding.value.as_leaf()) else { return Ok(()) };
        let signed = text::signed(leaf.value, leaf.u);
        let sign = signed.get(..1).unwrap_or_default();
        let words = way(sign);
        // Where the words only explain the sign it is shown; elsewhere they stand for it.
        let shown = if sign == "-" && words.starts_with(':') {
            text::value_and_u(leaf.value, leaf.u).replacen('-', "\u{2212}", 1)
        } else {
            let size = Amount::from_si(leaf.value.kind(), leaf.value.to_si().abs());
            text::value_and_u(size, leaf.u)
        };
        writeln!(out, "{name}{shown}{words}")
    };
    line("Plate angle:       ", find("plate.angle"), |sign| match sign {
        "-" => ": the tail of the plate is up",
        _ => " tail down",
    })?;
    line("Body at this sill: ", find("body.level"), |sign| match sign {
        "-" => " nose down",
        "+" => " nose up",
        _ => ": level",
    })?;
    line("The gauge itself:  ", find("gauge.offset"), |sign| match sign {
        "-" => " too little",
        "+" => " too much",
        _ => ": right",
    })?;
    writeln!(out)?;
    for finding in &assessment.findings {
        text::how_known(out, finding)?;
    }
    Ok(())
}

//! `axlewright bar`: rate, twist and stress of a torsion bar, and the free angle after a change
//! of bars, without a car file.

use std::io::{self, Write};

use axlewright_quantity::{Angle, Kind, Length, Stress, Torque};
use axlewright_setup::quick::{self, BarLoad, BarQuestion, FourNumbers, Given};
use axlewright_setup::{Assessment, Item};
use clap::{Args, Subcommand};

use super::{NOTE_U, Outcome, answer, typed};
use crate::{Streams, text};

/// Work out a torsion bar: rate, twist, stress; `bar change`: the angle for other bars
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true, subcommand_negates_reqs = true)]
#[command(after_help = "\
Examples:
  axlewright bar --diameter 23 --length 540 --modulus 78.5
  axlewright bar --diameter 23 --length 540 --modulus 78.5 --twist 16 \\
      --allowable 800
  axlewright bar --diameter \"1 in\" --bore 8 --length \"21.5 in\" --modulus 78.5 \\
      --torque 900
  axlewright bar change --manual 30 --ride 11 --old 22 --new 23

A bare number is in mm, degrees, N·m, GPa (modulus) or MPa (allowable stress).")]
pub struct Bar {
    #[command(subcommand)]
    other: Option<Other>,
    #[command(flatten)]
    rate: Option<Rate>,
}

#[derive(Debug, Subcommand)]
enum Other {
    Change(Change),
}

#[derive(Debug, Args)]
struct Rate {
    /// Diameter of the bar between its splines; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    diameter: Given<Length>,
    /// Bore of a hollow bar; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    bore: Option<Given<Length>>,
    /// Active length between the splines; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    length: Given<Length>,
    /// Shear modulus of its steel; GPa if no unit is written. Its maker knows; spring steels lie
    /// close together
    #[arg(long, value_name = "STRESS", value_parser = typed::modulus)]
    modulus: Given<Stress>,
    /// Twist it; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    twist: Option<Given<Angle>>,
    /// Or load it with a torque; N·m if no unit is written
    #[arg(long, value_name = "TORQUE", allow_hyphen_values = true, value_parser = typed::torque)]
    #[arg(conflicts_with = "twist")]
    torque: Option<Given<Torque>>,
    /// Shear stress its maker allows; MPa if no unit is written
    #[arg(long, value_name = "STRESS", value_parser = typed::stress)]
    allowable: Option<Given<Stress>>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

/// The free angle after a change of bars, from four numbers
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright bar change --manual 30 --ride 11 --old 22 --new 23

Good to about a degree: it takes the load at ride as unchanged. The car file
gives the angle for a wanted trim, with what gas dampers add.")]
struct Change {
    /// Free angle the manual gives; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    manual: Given<Angle>,
    /// Plate angle at ride; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    ride: Given<Angle>,
    /// Diameter of the bars the manual was written for; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    old: Given<Length>,
    /// Diameter of the bars to be fitted; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    new: Given<Length>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

impl Bar {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        match (&self.other, &self.rate) {
            (Some(Other::Change(change)), _) => change.run(streams),
            (None, Some(rate)) => rate.run(streams),
            // Not reached while --diameter is required; an empty answer is no lie.
            (None, None) => Ok(crate::Exit::WrongCall),
        }
    }
}

impl Rate {
    fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let twist = self.twist.clone().map(BarLoad::Twist);
        let question = BarQuestion {
            diameter: self.diameter.clone(),
            bore: self.bore.clone(),
            length: self.length.clone(),
            modulus: self.modulus.clone(),
            load: twist.or_else(|| self.torque.clone().map(BarLoad::Torque)),
            allowable: self.allowable.clone(),
        };
        answer(streams, self.json, quick::bar(&question), tell_rate)
    }
}

fn tell_rate(out: &mut dyn Write, assessment: &Assessment) -> io::Result<()> {
    let mut rows = Vec::new();
    let mut has_u = false;
    let mut row = |name: &str, item: Option<&Item>| {
        if let Some(leaf) = item.and_then(Item::as_leaf) {
            has_u |= leaf.u.is_some();
            let shown = match leaf.value.kind() {
                Kind::Ratio => text::percent(leaf.value),
                _ => text::value_and_u(leaf.value, leaf.u),
            };
            rows.push(vec![name.to_owned(), shown]);
        }
    };
    row("Rate", assessment.find("bar.rate", None).map(|found| &found.value));
    if let Some(loaded) = assessment.find("bar.shear", None).map(|found| &found.value) {
        row("Twist", loaded.get("twist"));
        row("Torque", loaded.get("torque"));
        row("Shear stress at the surface", loaded.get("shear"));
        row("Share of the allowable stress", loaded.get("share_of_allowable"));
    }
    text::table(out, "", &rows)?;
    if has_u {
        text::paragraph(out, "", NOTE_U)?;
    }
    for finding in &assessment.findings {
        writeln!(out)?;
        text::how_known(out, finding)?;
    }
    Ok(())
}

impl Change {
    fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let question = FourNumbers {
            manual: self.manual.clone(),
            ride: self.ride.clone(),
            old: self.old.clone(),
            new: self.new.clone(),
        };
        answer(streams, self.json, quick::four_numbers(&question), tell_change)
    }
}

fn tell_change(out: &mut dyn Write, assessment: &Assessment) -> io::Result<()> {
    let Some(found) = assessment.find("free-angle.by-four-numbers", None) else { return Ok(()) };
    if let Some(leaf) = found.value.as_leaf() {
        let angle = text::value_and_u(leaf.value, leaf.u);
        writeln!(out, "Free angle with the new bars: {angle}, good to about a degree.")?;
    }
    if let Some(ratio) = assessment.find("bar.rate-ratio", None).and_then(|f| f.value.amount()) {
        let times = text::value(ratio, None);
        writeln!(out, "The new bars are {times} times as stiff as the old ones.")?;
    }
    writeln!(out)?;
    text::how_known(out, found)
}

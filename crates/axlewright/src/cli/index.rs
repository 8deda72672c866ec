//! `axlewright index`: which teeth to choose, without a car file.

use std::io::{self, Write};

use axlewright_quantity::{Angle, Side};
use axlewright_setup::quick::{self, Given, IndexQuestion};
use axlewright_setup::{Assessment, Item, cautions};
use clap::{Args, ValueEnum};

use super::{Outcome, answer, typed};
use crate::{Streams, text};

/// Choose teeth: which moves at anchor and plate bring the plate to its angle
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright index --anchor-teeth 38 --plate-teeth 42 --now 34.9 --target 26.4
  axlewright index --anchor-teeth 38 --plate-teeth 42 --now 26.8 --target 26.4 \\
      --side right

Angles are plate angles with no load on the bar, below the body's horizontal,
tail down positive; both taken the same way, on the same seat of the gauge.
Units and uncertainty may be written: --now \"34.9 u 0.15 deg\".")]
pub struct Index {
    /// Teeth of the splines at the anchor, the inner end of the bar
    #[arg(long, value_name = "COUNT")]
    anchor_teeth: u32,
    /// Teeth of the splines at the plate, the outer end of the bar
    #[arg(long, value_name = "COUNT")]
    plate_teeth: u32,
    /// Free angle as it is; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    now: Given<Angle>,
    /// Free angle wanted; degrees if no unit is written
    #[arg(long, value_name = "ANGLE", allow_hyphen_values = true, value_parser = typed::angle)]
    target: Given<Angle>,
    /// The side of the car: adds clockwise or anticlockwise, seen from outside it
    #[arg(long, value_enum)]
    side: Option<SideWord>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

/// A side as it is typed.
#[derive(Debug, Clone, Copy, ValueEnum)]
pub enum SideWord {
    /// Left, as seen by the driver
    Left,
    /// Right, as seen by the driver
    Right,
}

impl From<SideWord> for Side {
    fn from(word: SideWord) -> Self {
        match word {
            SideWord::Left => Self::Left,
            SideWord::Right => Self::Right,
        }
    }
}

impl Index {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let question = IndexQuestion {
            anchor_teeth: self.anchor_teeth,
            plate_teeth: self.plate_teeth,
            now: self.now.clone(),
            target: self.target.clone(),
            side: self.side.map(Side::from),
        };
        answer(streams, self.json, quick::index(&question), |out, found| {
            tell(out, found, self.side.is_some())
        })
    }
}

fn tell(out: &mut dyn Write, assessment: &Assessment, sided: bool) -> io::Result<()> {
    let Some(choices) = assessment.find("index.choices", None) else { return Ok(()) };
    text::cautions(out, &cautions::before_teeth())?;
    writeln!(out)?;
    let Some(best) = choices.value.items().first() else {
        return writeln!(out, "No choice of teeth was found.");
    };
    text::hanging(out, "Best: ", "      ", &text::cell(best.get("words")))?;
    if let Some(angle) = best.get("angle").and_then(Item::as_leaf) {
        let error = best.get("error").and_then(Item::as_leaf);
        let off = error.map(|e| format!(", {} off the target", text::signed(e.value, None)));
        let after = text::value_and_u(angle.value, angle.u);
        writeln!(out, "      Free angle then {after}{}.", off.unwrap_or_default())?;
    }
    writeln!(out)?;
    text::table(out, "  ", &choice_rows(choices.value.items()))?;
    writeln!(out, "\nTeeth and angles: + tail down, - tail up.")?;
    if !sided {
        writeln!(out, "With --side, clockwise and anticlockwise are said too.")?;
    }
    if let Some(step) = assessment.find("vernier.step", None).and_then(|f| f.value.amount()) {
        writeln!(
            out,
            "Both ends together step by {} (the vernier step).",
            text::value(step, None)
        )?;
    }
    writeln!(out, "\nHow known:")?;
    text::grounds(out, choices)
}

/// The choices as a table, best first, under a row of headings.
pub fn choice_rows(choices: &[Item]) -> Vec<Vec<String>> {
    let heads = ["anchor teeth", "plate teeth", "ends", "change", "angle", "error"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    rows.extend(choices.iter().map(|choice| {
        let leaf = |name| choice.get(name).and_then(Item::as_leaf);
        let signed = |name| leaf(name).map_or("-".into(), |l| text::signed(l.value, None));
        vec![
            text::signed_count(choice.get("anchor_teeth")),
            text::signed_count(choice.get("plate_teeth")),
            text::cell(choice.get("ends")),
            signed("change"),
            leaf("angle").map_or("-".into(), |l| text::value(l.value, None)),
            signed("error"),
        ]
    }));
    rows
}

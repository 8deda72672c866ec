//! `axlewright torque`: one bolt, without a car file.

use std::io::{self, Write};

use axlewright_book::TorqueUnit;
use axlewright_quantity::{Amount, Angle, Force, Kind, Length, Torque, parse_amount};
use axlewright_setup::joints::quick::{self, QuickWrench, TorqueQuestion, Wanted};
use axlewright_setup::quick::Given;
use axlewright_setup::{Assessment, Finding, Item, capital, cautions};
use clap::Args;

use super::joints::{strain, wrench_line};
use super::{Outcome, answer, typed};
use crate::{Streams, text};

/// Tighten one bolt: what to set, how much it then pulls, what to beware of
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright torque --thread M12x1.5 --class 8.8 --torque \"4.9 kgf m\" \\
      --surface zinc-oiled
  axlewright torque --thread M12x1.5 --class 8.8 --torque \"5.2 kgf m\" \\
      --surface zinc-oiled --wrench \"20..100 N m\" --adapter \"60 mm\" \\
      --wrench-arm \"420 mm\"
  axlewright torque --thread M10 --class 10.9 --preload \"30 kN\" --surface oiled

Surfaces: dry, oiled, zinc-dry, zinc-oiled, phosphate-oiled, cadmium, greased,
moly, graphite, unknown. Of a nut known by its class alone: --class 8.")]
pub struct TorqueOf {
    /// Thread: M12x1.5, or M12 for the coarse one
    #[arg(long, value_name = "THREAD")]
    thread: String,
    /// Property class, as marked on the head
    #[arg(long, value_name = "CLASS")]
    class: String,
    /// Torque of the list; N·m if no unit is written
    #[arg(long, value_name = "TORQUE", value_parser = typed::torque)]
    #[arg(required_unless_present = "preload", conflicts_with = "preload")]
    #[arg(allow_hyphen_values = true)]
    torque: Option<Given<Torque>>,
    /// Or the preload wanted; N if no unit is written
    #[arg(long, value_name = "FORCE", value_parser = typed::force, allow_hyphen_values = true)]
    preload: Option<Given<Force>>,
    /// What is on thread and under the head today
    #[arg(long, value_name = "SURFACE")]
    surface: String,
    /// What the list's torque assumes, if something else
    #[arg(long, value_name = "SURFACE")]
    list_surface: Option<String>,
    /// The scale of a click wrench at hand; may be given several times
    #[arg(long, value_name = "SCALE", value_parser = scale)]
    wrench: Vec<QuickWrench>,
    /// Extension from the bolt to the wrench's square; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length, requires = "wrench_arm")]
    adapter: Option<Given<Length>>,
    /// Its angle to the wrench: 0 straight on, 90 square to it [default: 0]
    #[arg(long, value_name = "ANGLE", value_parser = typed::angle, requires = "adapter")]
    #[arg(allow_hyphen_values = true)]
    adapter_angle: Option<Given<Angle>>,
    /// From the square to the mark of the grip; mm if no unit is written
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    wrench_arm: Option<Given<Length>>,
    /// The unit to read torques in [default: N m]
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    unit: Option<TorqueUnit>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

fn unit(text: &str) -> Result<TorqueUnit, String> {
    unit_of(text).ok_or_else(|| format!("`{text}` is none of {}", TorqueUnit::WORDS.join(", ")))
}

/// The unit by any spelling in which it may stand behind a number.
fn unit_of(text: &str) -> Option<TorqueUnit> {
    let one = parse_amount(&format!("1 {text}"), Kind::Torque).ok()?.amount;
    let is = |unit: &&TorqueUnit| {
        let own = parse_amount(&format!("1 {unit}"), Kind::Torque);
        own.is_ok_and(|own| own.amount == one)
    };
    TorqueUnit::ALL.iter().find(is).copied()
}

/// `20..100 N m`: both ends of the scale, the unit once or twice.
fn scale(text: &str) -> Result<QuickWrench, String> {
    let right = "write both ends of its scale: \"20..100 N m\"";
    let Some((from, to)) = text.split_once("..") else { return Err(right.to_owned()) };
    let to = to.trim_start_matches('.').trim();
    let after = to.trim_start_matches(|c: char| c.is_ascii_digit() || ".,".contains(c)).trim();
    let is_bare = from.trim().parse::<f64>().is_ok();
    let from = if is_bare { format!("{} {after}", from.trim()) } else { from.to_owned() };
    let ends = (typed::torque(&from)?.value, typed::torque(to)?.value);
    let unit = if after.is_empty() { Some(TorqueUnit::NM) } else { unit_of(after) };
    Ok(QuickWrench { from: ends.0, to: ends.1, unit, text: text.trim().to_owned() })
}

impl TorqueOf {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let wanted = match (&self.torque, &self.preload) {
            (Some(torque), _) => Wanted::Torque(torque.clone()),
            (None, Some(preload)) => Wanted::Preload(preload.clone()),
            // Not reached while one of the two is required; an empty answer is no lie.
            (None, None) => return Ok(crate::Exit::WrongCall),
        };
        let question = TorqueQuestion {
            thread: self.thread.clone(),
            class: self.class.clone(),
            surface: self.surface.clone(),
            list_surface: self.list_surface.clone(),
            wanted,
            wrenches: self.wrench.clone(),
            adapter: self.adapter.clone(),
            adapter_angle: self.adapter_angle.clone(),
            wrench_arm: self.wrench_arm.clone(),
            unit: self.unit.unwrap_or(TorqueUnit::NM),
        };
        answer(streams, self.json, quick::torque(&question), tell)
    }
}

fn tell(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    text::cautions(out, &cautions::before_a_wrench(&[]))?;
    writeln!(out)?;
    // What speaks against it comes before what the hand does.
    let warnings = found.find("joint.warning", None).map_or(&[][..], |f| f.value.items());
    for row in warnings {
        let part = |name| text::cell(row.get(name));
        let words = format!("{}: {}.", warned_of(&part("id")), part("words"));
        text::hanging(out, "  ! ", "    ", &words)?;
        text::hanging(out, "    do: ", "        ", &part("advice"))?;
    }
    if is_withheld(found) {
        text::caution(out, &cautions::NO_SETTING.caution())?;
    } else {
        set(out, found.find("joint.setting", None))?;
    }
    for id in ["joint.preload", "joint.utilisation"] {
        if let Some(finding) = found.find(id, None) {
            writeln!(out)?;
            strain(out, finding)?;
        }
    }
    Ok(())
}

/// What the wrench is set to, and what that is at the bolt.
fn set(out: &mut dyn Write, setting: Option<&Finding>) -> io::Result<()> {
    text::hanging(out, "", "  ", &format!("{}.", capital(&wrench_line(setting))))?;
    let in_units = setting.and_then(|setting| setting.value.get("torque")).and_then(Item::amount);
    if let Some(torque) = in_units {
        writeln!(out, "At the bolt: {}", every_unit(torque))?;
    }
    Ok(())
}

/// Whether nothing is told to be set, though the torque is known.
fn is_withheld(found: &Assessment) -> bool {
    let setting = found.find("joint.setting", None).and_then(|f| f.value.get("withheld"));
    setting.is_some_and(|why| *why != Item::Nothing)
}

/// A warning's id in words.
fn warned_of(id: &str) -> String {
    match id {
        "over-yield-share" => "too much for the bolt".to_owned(),
        "under-used" => "too little for the bolt".to_owned(),
        id => id.replace('-', " "),
    }
}

/// `48.1 N·m = 4.90 kgf m = 35.4 lbf ft`.
fn every_unit(torque: Amount) -> String {
    let units = [TorqueUnit::NM, TorqueUnit::KgfM, TorqueUnit::LbfFt];
    let shown = units.iter().filter_map(|unit| torque.in_unit(unit.word()).ok());
    shown.map(|shown| shown.to_string()).collect::<Vec<_>>().join(" = ")
}

//! `axlewright trim`: what the readings on the wheels say, the fewest corrections, and what the car
//! should read after them.

use std::io::{self, Write};

use axlewright_quantity::Kind;
use axlewright_setup::{Assessment, Finding, Item, cautions, duration, wheels};
use clap::Args;

use super::car::{Begun, CarCall};
use super::{NOTE_U, Outcome};
use crate::{Streams, text};

/// Read the round on the wheels: what it says, the fewest corrections, what it reads then
#[derive(Debug, Args)]
#[command(visible_alias = "round")]
#[command(after_help = "\
Examples:
  axlewright trim my-car/car.toml           the last round and what to do
  axlewright trim my-car                    the same of a folder or a book
  axlewright trim my-car/car.toml --why     and how it is known
  axlewright trim my-car/car.toml --json    everything as JSON

A round is a [[round]] row of the car file, or an entry of a book. Trims alone
do; scales, camber and toe say more. Cross weight is corrected only where the
car file asks for it and scales were read.")]
pub struct Trim {
    #[command(flatten)]
    car: CarCall,
    /// Say how it is known: formulas, sources and every reading
    #[arg(long)]
    why: bool,
}

impl Trim {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let mut found = wheels::of(view.assessment());
        if found.find("car.state", None).is_none() {
            // An assessment keeps silent about the wheels until something of them is written.
            let told = found.gaps.clone();
            let more = wheels::waits(view.car(), view.assessment()).into_iter();
            found.gaps.extend(more.filter(|gap| told.iter().all(|old| old.id != gap.id)));
        }
        found.findings.extend(wheels::bar_hours(view.car(), view.assessment()));
        let found = &found;
        let exit = match self.car.begin(streams, &view, found, view.faults())? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        answer(streams.out, found, self.why)?;
        Ok(exit)
    }
}

/// The parts of the answer, in the order in which they are needed.
fn answer(out: &mut dyn Write, found: &Assessment, why: bool) -> io::Result<()> {
    writeln!(out, "{}: on its wheels", found.car.as_deref().unwrap_or("The car"))?;
    text::cautions(out, &found.cautions)?;
    if let Some(suspect) = found.find("car.suspect-reading", None) {
        text::warned(out, &suspect.why.words)?;
    }
    if let Some(state) = found.find("car.state", None) {
        text::heading(out, "What the readings say")?;
        text::paragraph(out, "", &state.why.words)?;
        writeln!(out)?;
        readings(out, state)?;
    } else if let Some(expected) = found.find("car.expected", None) {
        text::heading(out, "What it should read")?;
        text::paragraph(out, "", &expected.why.words)?;
    }
    for id in ["car.read-first", "car.rear-only"] {
        if let Some(told) = found.find(id, None) {
            text::heading(out, "What to do")?;
            text::paragraph(out, "", &told.why.words)?;
        }
    }
    if let Some(moves) = found.find("car.moves", None) {
        corrections(out, moves)?;
        for hours in found.findings.iter().filter(|one| one.id == "car.bar-hours") {
            text::paragraph(out, "  ", &hours.why.words)?;
        }
    }
    if let Some(after) = found.find("car.after", None) {
        text::heading(out, "What it should read then")?;
        text::paragraph(out, "", &after.why.words)?;
        writeln!(out)?;
        hand_over(out, found)?;
        text::paragraph(out, "", NOTE_U)?;
    }
    if let Some(rechecks) = found.find("car.rechecks", None) {
        text::heading(out, "Look again")?;
        schedule(out, rechecks)?;
    }
    if !found.gaps.is_empty() {
        text::heading(out, "Still to be measured or decided")?;
        found.gaps.iter().try_for_each(|gap| text::gap(out, gap))?;
    }
    if why {
        for found in &found.findings {
            writeln!(out)?;
            writeln!(out, "{}", found.id)?;
            text::how_known(out, found)?;
        }
    } else if found.find("car.state", None).is_some() {
        writeln!(out, "\nHow it is known: --why")?;
    }
    Ok(())
}

/// A word of a finding's part.
pub fn word<'a>(item: &'a Item, key: &str) -> &'a str {
    match item.get(key) {
        Some(Item::Word(word)) => word,
        _ => "",
    }
}

/// A number with its uncertainty, in the words of the trade: weights to the kilogram, shares in per
/// cent.
pub fn number(item: Option<&Item>) -> String {
    let Some(leaf) = item.and_then(Item::as_leaf) else { return "-".to_owned() };
    match leaf.value.kind() {
        Kind::Ratio if leaf.u.is_some() => text::percent_and_u(leaf.value, leaf.u),
        Kind::Ratio => leaf.value.in_unit("%").map_or_else(|_| "-".into(), |one| one.to_string()),
        Kind::Length if leaf.u.is_none() => format!("{:.1} mm", leaf.value.shown()),
        Kind::Mass if leaf.u.is_none() => format!("{:.1} kg", leaf.value.shown()),
        Kind::Angle if leaf.u.is_none() => format!("{:.2} deg", leaf.value.shown()),
        _ => text::value_and_u(leaf.value, leaf.u),
    }
}

/// Every reading beside what it was expected to be.
fn readings(out: &mut dyn Write, state: &Finding) -> io::Result<()> {
    let rows = state.value.get("readings").map(Item::items).unwrap_or_default();
    let heads = ["", "read", "expected", "left over", ""];
    let mut table = vec![heads.map(str::to_owned).to_vec()];
    table.extend(rows.iter().map(|row| {
        let fits = row.get("fits") != Some(&Item::Flag(false));
        vec![
            format!("{} {}", word(row, "what"), word(row, "corner")),
            number(row.get("read")),
            number(row.get("expected")),
            number(row.get("left_over")),
            if fits { String::new() } else { "fits nothing".to_owned() },
        ]
    }));
    text::table(out, "  ", &table)
}

fn corrections(out: &mut dyn Write, moves: &Finding) -> io::Result<()> {
    text::heading(out, "What to do")?;
    text::paragraph(out, "", &moves.why.words)?;
    plan(out, &moves.value)?;
    for beside in moves.value.get("beside").map(Item::items).unwrap_or_default() {
        let (head, what) = match word(beside, "rung") {
            "wish" => ("  For your own wish, in place of that:", "wish"),
            _ => ("  With a bar drawn, in place of that:", "bars"),
        };
        let cross = number(beside.get("leaves").and_then(|leaves| leaves.get("cross_weight")));
        writeln!(out, "\n{head}")?;
        plan(out, beside)?;
        if what == "wish" {
            writeln!(out, "     cross weight then {cross}")?;
        }
    }
    Ok(())
}

fn plan(out: &mut dyn Write, plan: &Item) -> io::Result<()> {
    let steps = plan.get("steps").map(Item::items).unwrap_or_default();
    if steps.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    if steps.iter().any(|step| word(step, "what") == "teeth") {
        text::cautions(out, &cautions::before_teeth())?;
    }
    for (number, step) in (1..).zip(steps) {
        let minutes = match step.get("minutes") {
            Some(Item::Count(minutes, _)) => format!(" (about {})", duration(*minutes)),
            _ => String::new(),
        };
        let words = format!("{}{minutes}", word(step, "words"));
        text::hanging(out, &format!("  {number}. "), "     ", &words)?;
    }
    Ok(())
}

/// Wanted, read, after the corrections, and after settling.
fn hand_over(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    let Some(sheet) = found.find("car.hand-over", None) else { return Ok(()) };
    let heads = ["", "wanted", "tol", "read", "then", "settled"];
    let mut table = vec![heads.map(str::to_owned).to_vec()];
    table.extend(sheet.value.items().iter().map(|row| {
        let name = match word(row, "what") {
            "trim, left less right" => "trims apart",
            name => name,
        };
        vec![
            name.to_owned(),
            number(row.get("wanted")),
            number(row.get("within")),
            plain(row.get("last_read")),
            plain(row.get("after_moves")),
            plain(row.get("settled")),
        ]
    }));
    text::table(out, "  ", &table)?;
    writeln!(out)
}

/// A number without its uncertainty, with the digits that leaves known.
pub fn plain(item: Option<&Item>) -> String {
    let Some(leaf) = item.and_then(Item::as_leaf) else { return number(item) };
    let unit = if leaf.value.kind() == Kind::Ratio { "%" } else { leaf.value.kind().unit() };
    let both = leaf.value.in_unit(unit).ok().zip(leaf.u.and_then(|u| u.in_unit(unit).ok()));
    let doubted = both.and_then(|(value, u)| value.doubted(u));
    doubted.map_or_else(|| number(item), |doubted| doubted.value())
}

fn schedule(out: &mut dyn Write, rechecks: &Finding) -> io::Result<()> {
    for row in rechecks.value.items() {
        let km = |key| match row.get(key) {
            Some(Item::Count(km, _)) => *km,
            _ => 0,
        };
        let (from, to) = (km("from"), km("to"));
        let at = if from == to { format!("{from} km") } else { format!("{from} to {to} km") };
        let what: Vec<&str> = (row.get("what").map(Item::items).unwrap_or_default())
            .iter()
            .filter_map(|item| match item {
                Item::Word(word) => Some(word.as_str()),
                _ => None,
            })
            .collect();
        text::hanging(out, &format!("  after {at}: "), "    ", &format!("{}.", what.join("; ")))?;
    }
    Ok(())
}

//! What came of it, as Markdown.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::aside::is_aside;
use super::judge::Outcome;
use super::sites::{Hand, Slipped};
use super::{sound, unknowable};

fn count(all: &[(&Slipped, Outcome)], is: impl Fn(&Slipped, Outcome) -> bool) -> usize {
    all.iter().filter(|(slip, outcome)| is(slip, *outcome)).count()
}

fn row(out: &mut String, name: &str, all: &[(&Slipped, Outcome)]) {
    let _ = write!(out, "| {name} | {} |", all.len());
    for outcome in Outcome::ALL {
        let _ = write!(out, " {} |", count(all, |_, o| o == outcome));
    }
    let known = count(all, |_, o| o != Outcome::Unknowable).max(1) as f64;
    for outcome in [Outcome::Named, Outcome::Missed] {
        let share = 100.0 * count(all, |_, o| o == outcome) as f64 / known;
        let _ = write!(out, " {share:.0} |");
    }
    out.push('\n');
}

fn head(out: &mut String, first: &str) {
    let words: Vec<&str> = Outcome::ALL.iter().map(|o| o.word()).collect();
    let _ = writeln!(out, "| {first} | slips | {} | named % | missed % |", words.join(" | "));
    let _ = writeln!(out, "|---|{}", "---|".repeat(Outcome::ALL.len() + 3));
}

/// Fields seen and set aside.
pub fn fields(slips: &[Slipped], outcomes: &[Outcome]) -> String {
    let all: Vec<(&Slipped, Outcome)> = slips.iter().zip(outcomes.iter().copied()).collect();
    let mut out = String::new();
    head(&mut out, "fields");
    let part = |aside: bool| -> Vec<(&Slipped, Outcome)> {
        all.iter().copied().filter(|(slip, _)| is_aside(&slip.name) == aside).collect()
    };
    row(&mut out, "seen while the checks were written", &part(false));
    row(&mut out, "set aside", &part(true));
    row(&mut out, "all", &all);
    out
}

pub fn table(slips: &[Slipped], outcomes: &[Outcome]) -> String {
    let all: Vec<(&Slipped, Outcome)> = slips.iter().zip(outcomes.iter().copied()).collect();
    let mut out = fields(slips, outcomes);
    out.push('\n');
    head(&mut out, "slip");
    for hand in Hand::ALL {
        let of: Vec<_> = all.iter().copied().filter(|(slip, _)| slip.hand == hand).collect();
        row(&mut out, hand.word(), &of);
    }
    let names: BTreeSet<&str> = slips.iter().map(|slip| slip.name.as_str()).collect();
    let aside: Vec<&str> = names.iter().copied().filter(|name| is_aside(name)).collect();
    let _ = writeln!(
        out,
        "\nShares are of what the file could show. {} of {} fields are set aside: `{}`.",
        aside.len(),
        names.len(),
        aside.join("`, `"),
    );
    out
}

/// False alarms among sound cars.
pub fn sound(cars: u64, alarmed: &[sound::Alarmed]) -> String {
    let mut out =
        format!("\nFalse alarms: {} of {cars} sound cars, seed {}.\n", alarmed.len(), sound::SEED);
    for one in alarmed.iter().take(12) {
        let _ = writeln!(out, "- car {}: {}", one.car, one.words.join("; "));
    }
    out
}

/// What nothing in the file could show, with the reasons.
pub fn unknown(slips: &[Slipped], outcomes: &[Outcome]) -> String {
    let mut reasons: BTreeMap<&str, (usize, BTreeSet<&str>)> = BTreeMap::new();
    let all = slips.iter().zip(outcomes).filter(|(_, o)| **o == Outcome::Unknowable);
    for (slip, _) in all {
        let why = unknowable::why(slip).unwrap_or_default();
        let row = reasons.entry(why).or_default();
        row.0 += 1;
        row.1.insert(&slip.number);
    }
    let mut out = "\n| not knowable, because | slips | in |\n|---|---|---|\n".to_owned();
    for (why, (count, of)) in reasons {
        let of: Vec<&str> = of.into_iter().collect();
        let _ = writeln!(out, "| {why} | {count} | `{}` |", of.join("`, `"));
    }
    out
}

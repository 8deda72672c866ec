//! What am I looking at? The last round's trims held against every stage, load, miscount, side and
//! unit that the file knows, before anything is told to be turned.
//!
//! ```text
//!   χ² = ((mean read − mean expected)/u)² + ((left − right read − that expected)/u)²
//! ```
//! What is doubted of both sides alike moves the mean alone, so the two are held apart.
//!
//! # Source
//! Levels are own judgement, docs/method.md: of sound rounds read as said one in thirty is asked
//! about, where something else fits besides.

use axlewright_book::{Class, Entry, MassKind, RoundRow};
use axlewright_mechanics::splines::Move;
use axlewright_quantity::{Amount, Angle, Corner, Length, Side};

use super::bench::Bench;
use super::expected;
use super::round::case_of;
use super::whole::{Case, Cause, Key, Sight};
use crate::cautions::{self, Caution};
use crate::finding::{Finding, Item, Why};
use crate::model;
use crate::say::mm;

/// Its name for the file's `[[set_aside]]`.
pub(crate) const NAME: &str = "round-state";

/// From here what was said does not fit: χ² with two degrees of freedom, one round in thirty.
const DOUBTED: f64 = 7.0;
/// The same where nobody says that the car had settled.
const UNSETTLED: f64 = 4.0;
/// So well something else has to fit: nine in ten of true ones do.
const FITS: f64 = 4.6;
/// And by so much better than what was said.
const BETTER: f64 = 3.0;
/// How much higher than at rest a car stands that was let down and not rolled: common practice, no
/// source.
const NOT_ROLLED: (Length, Length) = (Length::mm(10.0), Length::mm(5.0));

/// Both trims, left then right, in metres.
type Trims = [f64; 2];

/// What the car may be in truth.
struct Guess {
    what: &'static str,
    words: String,
    /// What the gauge would show.
    shows: Trims,
    /// What is doubted of the mean besides.
    besides: f64,
    /// What it costs before it is believed.
    rarity: f64,
}

/// The last round's trims, each with its uncertainty.
fn read(bench: &Bench, row: &RoundRow) -> Option<(Trims, f64)> {
    let class = bench.facts.car.class_uncertainty(Class::TrimReading);
    let share = if row.settled == Some(true) { 0.5 } else { 1.0 };
    let u = |entry: &Entry<Amount>| match entry.spread {
        Some(spread) => Some(spread.standard_uncertainty().to_si()),
        None => class.map(|u| u.to_si() * share),
    };
    let of = |corner: Corner| row.trim.iter().find(|(own, _)| **own == corner).map(|(_, e)| e);
    let (left, right) = (of(Corner::LeftRear)?, of(Corner::RightRear)?);
    Some(([left.value.to_si(), right.value.to_si()], u(left)?.max(u(right)?)))
}

/// How sure mean and difference of what is foretold are.
fn doubts(bench: &Bench) -> Option<[f64; 2]> {
    let found = bench.findings.iter().find(|found| found.id == "car.expected")?;
    let u = |item: Option<&Item>| item.and_then(Item::as_leaf)?.u.map(Amount::to_si);
    let mean = u(found.value.get("trim_read").and_then(|trims| trims.get("LR")))?;
    Some([mean, u(found.value.get("trim_difference"))?])
}

fn shows(bench: &Bench, case: &Case, moved: Option<(Side, Angle)>) -> Option<Trims> {
    let f = |sight: &Sight| {
        let rest = expected::rest(sight, case)?;
        Some(Side::BOTH.map(|side| rest.rear[side].trim.to_si()))
    };
    match moved {
        None => bench.plain(f),
        Some((side, by)) => {
            f(&Sight::nudged(bench.facts, Cause::Extra(Key::Free(side)), by.into()))
        }
    }
}

/// Every other state that the file knows.
fn guesses(bench: &Bench, said: &Case, row: &RoundRow, at: Trims) -> Vec<Guess> {
    let mut all = Vec::new();
    let facts = bench.facts;
    let mut put = |what, words: String, shows: Option<Trims>, rarity| {
        all.extend(shows.map(|shows| Guess { what, words, shows, besides: 0.0, rarity }));
    };
    let name = |i: usize| facts.car.masses.get(i).map_or("", |m| m.name.value.trim()).to_owned();
    let stages = facts.stages().map(|(i, _)| Some(i)).chain([None]);
    for stage in stages.filter(|stage| *stage != said.stage) {
        let case = Case { stage, loads: said.loads.clone() };
        let words = stage.map_or_else(
            || "finished".to_owned(),
            |i| format!("with `{}` on it and nothing of what comes after", name(i)),
        );
        put("stage", words, shows(bench, &case, None), 0.0);
    }
    let loads = facts.car.masses.iter().enumerate().filter(|(_, m)| m.kind == MassKind::Load);
    for (i, _) in loads {
        let mut case = said.clone();
        let words = if case.loads.contains(&i) {
            case.loads.retain(|own| *own != i);
            format!("without `{}` in it", name(i))
        } else {
            case.loads.push(i);
            case.loads.sort_unstable();
            format!("with `{}` in it", name(i))
        };
        put("load", words, shows(bench, &case, None), 0.0);
    }
    for side in Side::BOTH {
        for (words, by) in teeth(bench, side) {
            let words = format!("with the {side} bar {words} from where it was counted");
            put("tooth", words, shows(bench, said, Some((side, by))), 1.0);
        }
    }
    for (words, factor) in [
        ("read in centimetres", 0.1),
        ("with a decimal point too far left", 0.1),
        ("with a decimal point too far right", 10.0),
        ("read in inches", 1.0 / 25.4),
        ("with the other sign", -1.0),
    ] {
        put("unit", words.to_owned(), Some(at.map(|trim| trim * factor)), 1.0);
    }
    put("side", "with left and right changed over".to_owned(), Some([at[1], at[0]]), 1.0);
    if row.settled != Some(true) {
        let high = at.map(|trim| trim + NOT_ROLLED.0.to_si());
        let words = "before it was rolled and had settled".to_owned();
        let besides = NOT_ROLLED.1.to_si();
        all.push(Guess { what: "settling", words, shows: high, besides, rarity: 0.0 });
    }
    all
}

/// One tooth of either end, either way.
fn teeth(bench: &Bench, side: Side) -> Vec<(String, Angle)> {
    let splines = bench.plain(|sight| model::splines(sight.at(side)));
    let Some(splines) = splines else { return Vec::new() };
    let mut all = Vec::new();
    for (n, way) in [(1, "further tail down"), (-1, "further tail up")] {
        for (end, made) in [
            ("anchor", Move { anchor_teeth: n, plate_teeth: 0 }),
            ("plate", Move { anchor_teeth: 0, plate_teeth: n }),
        ] {
            all.push((format!("one tooth {way} at the {end}"), splines.change(made)));
        }
    }
    all
}

fn halves([left, right]: Trims) -> [f64; 2] {
    [(left + right) / 2.0, left - right]
}

/// Held against what the round says of itself, and told where something else fits and that does
/// not: then nothing is told to be turned until the round's own row says which it was.
pub(super) fn add(bench: &mut Bench) -> Option<Caution> {
    let row = bench.facts.car.rounds.last()?;
    let (said, _) = case_of(bench.facts, row);
    let ((trims, u), [mean, apart]) = (read(bench, row)?, doubts(bench)?);
    let at = shows(bench, &said, None)?;
    let score = |shows: Trims, besides: f64| {
        let (read, shown) = (halves(trims), halves(shows));
        let mean = (u * u / 2.0 + mean * mean + besides * besides).sqrt();
        let apart = (2.0 * u * u + apart * apart).sqrt();
        ((read[0] - shown[0]) / mean).powi(2) + ((read[1] - shown[1]) / apart).powi(2)
    };
    let own = score(at, 0.0);
    if own < UNSETTLED {
        return None;
    }
    let mut all: Vec<(f64, Guess)> = guesses(bench, &said, row, at)
        .into_iter()
        .map(|guess| (score(guess.shows, guess.besides), guess))
        .filter(|(fit, guess)| {
            let least = if guess.what == "settling" { UNSETTLED } else { DOUBTED };
            least <= own && *fit <= FITS && *fit + guess.rarity + BETTER <= own
        })
        .collect();
    all.sort_by(|a, b| (a.0 + a.1.rarity).total_cmp(&(b.0 + b.1.rarity)));
    all.truncate(3);
    let (_, first) = all.first()?;
    let both = |[left, right]: Trims| {
        format!("{} left and {} right", mm(Length::m(left), 0), mm(Length::m(right), 0))
    };
    let head = format!(
        "The last round reads {}: that is what this car shows {}, {}.",
        both(trims),
        first.words,
        both(first.shows),
    );
    let also: Vec<&str> = all.iter().skip(1).map(|(_, guess)| guess.words.as_str()).collect();
    let also = match also.as_slice() {
        [] => String::new(),
        more => format!(" So it would {}.", more.join(", or ")),
    };
    let rest = format!("{also} As the round says of itself it should read {}.", both(at));
    let fits = all.iter().map(|(fit, guess)| {
        let trim = expected::by_rear(|side| {
            Item::leaf(Length::m(guess.shows[usize::from(side == Side::Right)]))
        });
        Item::Object(vec![
            ("kind", Item::Word(guess.what.to_owned())),
            ("what", Item::Word(guess.words.clone())),
            ("trim", trim),
            ("chi_squared", Item::leaf(axlewright_quantity::Ratio::one(*fit))),
        ])
    });
    let value = Item::List(fits.collect());
    let why = Why {
        words: format!("{head}{rest}"),
        formula: "χ² = (Δmean/u)² + (Δdifference/u)²; told from 7 (settling: 4) where another \
                  state has at most 4.6 and 3 less",
        source: "own judgement; docs/method.md, what am I looking at",
        inputs: Vec::new(),
    };
    bench.findings.push(Finding { id: "car.looks-like", of: None, at: None, value, why });
    let aside = bench
        .facts
        .car
        .set_aside
        .iter()
        .find(|row| row.checks.iter().any(|check| check.value.trim() == NAME));
    Some(match aside {
        Some(row) => cautions::set_aside(&head, NAME, row.reason.value.trim()),
        None => cautions::looks_like(&head, &rest, NAME),
    })
}

/// Whether a caution of this module holds back what is to be turned.
pub(super) fn holds(caution: &Caution) -> bool {
    caution.id == cautions::LOOKS_LIKE
}

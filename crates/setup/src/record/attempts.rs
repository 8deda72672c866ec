//! The fits of a bar: what each reading means as a free angle, whether the teeth counted agree with
//! it, and what to do next.
//!
//! **Uncertainty of where it stands.** Readings of one bar share what the level, the bar and the
//! geometry have wrong; what scatters from reading to reading averages out. So u² of the place is
//! u² of the last angle, less the gauge's part in it, plus the part that is left after averaging.

use axlewright_book::log::{AttemptAt, Body, readings_in};
use axlewright_mechanics::chance::attempts::{Habits, Log, NextMove, read};
use axlewright_mechanics::splines::{Attempt, Move, Splines, Wanted};
use axlewright_quantity::{Amount, Angle, Corner, Side};

use super::{Book, Fit, SideAttempts, Stamp, readings};
use crate::engine::{Bench, Recipe, Waiting};
use crate::finding::{Finding, Item, Leaf, State, Subject, Why};
use crate::inputs::{Inputs, Slot};
use crate::look::Look;
use crate::model;
use crate::say::{deg, deg_signed};

const ANGLE: Recipe = Recipe {
    id: "attempt.angle",
    at: None,
    formula: "θ = ±(ρ − o) − β − seat, less lash and the twist by what hung on it; off: θ − θ₀",
    source: "docs/method.md, level and free angle",
};

/// A fit that could be worked out.
struct Known {
    /// Its place among the fits.
    at: usize,
    angle: Leaf,
    off: Option<Leaf>,
    /// What of its uncertainty scatters from reading to reading.
    scatter: Angle,
}

/// The fits of each bar that was fitted, left first.
pub(super) fn sides(book: Book<'_>) -> Vec<SideAttempts> {
    let all = &book.state.facts().attempts;
    let sides = Side::BOTH.into_iter().filter_map(|side| Some((side, all.get(&side)?)));
    sides.filter(|(_, fits)| !fits.is_empty()).map(|(side, fits)| one(book, side, fits)).collect()
}

fn one(book: Book<'_>, side: Side, made: &[AttemptAt]) -> SideAttempts {
    let of = Subject::Corner(Corner::rear(side));
    let target = ["free-angle.target", "free-angle.by-four-numbers"]
        .iter()
        .find_map(|id| book.found.find(id, Some(&of))?.value.as_leaf().cloned());
    let base = Inputs::from_car(book.car, side);
    let splines = Look::plain(&base).attempt(model::splines);
    let mut fits: Vec<Fit> = Vec::new();
    let mut known: Vec<Known> = Vec::new();
    for at in made {
        if let Some((fit, scatter)) = fit(book, &base, at, fits.len()) {
            known.extend(scatter.and_then(|scatter| known_of(&fit, fits.len(), scatter)));
            fits.push(fit);
        }
    }
    let log = splines.and_then(|splines| log(&splines, &fits, &known));
    if let Some((log, first)) = &log {
        for (fit, told) in fits.iter_mut().skip(*first).zip(&log.attempts).skip(1) {
            fit.told = Some(told.likeliest().words());
        }
    }
    let within = splines.map(|splines| splines.vernier_step() / 2.0);
    let aim = target.as_ref().and_then(|leaf| Angle::try_from(leaf.value).ok()).zip(within);
    // Nobody moves a tooth by figures that disagree.
    let held = book.found.caution(crate::CrossCheck::ID, None).is_some();
    let next = match (&log, splines, aim, known.last()) {
        (Some((log, _)), Some(splines), Some(aim), Some(last)) if !held => {
            let ends = model::ends(&Look::plain(&base));
            let wanted = Wanted { count: 3, ends };
            let moves = log.next(&splines, aim, wanted).unwrap_or_default();
            next(side, (log, last), aim, &moves)
        }
        _ => None,
    };
    let within = within.map(|within| Leaf { value: within.into(), u: None, written: None });
    SideAttempts { side, target, within, fits, next }
}

/// A fit, and what of its reading scatters.
fn fit(
    book: Book<'_>,
    base: &Inputs,
    at: &AttemptAt,
    before: usize,
) -> Option<(Fit, Option<Angle>)> {
    let entry = book.state.entry(at.seq)?;
    let Body::Attempt(attempt) = &entry.body else { return None };
    let reading = readings_in(entry).into_iter().next()?;
    let mut inputs = base.clone();
    inputs.read_as(book.car, &reading);
    let mut waiting = Waiting::default();
    let mut bench = Bench::corner(&inputs, &mut waiting);
    let number = u32::try_from(before + 1).unwrap_or(u32::MAX);
    bench.add(ANGLE, angle_item, |item, _| angle_words(item, number));
    let angle = bench.findings.pop();
    let scatter = inputs.numbers.get(&Slot::PlateReading).and_then(|known| known.u);
    let how = readings::how(entry);
    let leaf = readings::leaf(book, reading.what, &reading.value, false);
    let stamp = Stamp::of(entry).done_on(reading.date.as_deref());
    let text = attempt.reading.value.trim().to_owned();
    let fit = Fit {
        number,
        anchor_teeth: attempt.anchor_teeth,
        plate_teeth: attempt.plate_teeth,
        anchor_at: attempt.anchor_at,
        plate_at: attempt.plate_at,
        read: super::Said { text, leaf: Some(leaf), how, stamp },
        angle,
        told: None,
    };
    Some((fit, scatter.and_then(|u| Angle::try_from(u).ok())))
}

fn angle_item(look: &Look) -> Option<Item> {
    let now = model::free_now(look)?;
    let goal = look.attempt(model::free_goal);
    let off = goal.map_or(Item::Nothing, |goal| Item::leaf(now - goal));
    Some(Item::Object(vec![("angle", Item::leaf(now)), ("off", off)]))
}

fn angle_words(item: &Item, number: u32) -> String {
    let angle = |name| item.get(name).and_then(Item::amount).and_then(|a| Angle::try_from(a).ok());
    let (Some(now), off) = (angle("angle"), angle("off")) else { return String::new() };
    let off = off.map_or(String::new(), |off| {
        let way = if off < Angle::ZERO { "less tail down" } else { "further tail down" };
        format!(", {} {way} than this car needs", deg(off.abs(), 1))
    });
    format!("Fit {number} left the unloaded plate at {}{off}.", deg(now, 1))
}

fn known_of(fit: &Fit, at: usize, scatter: Angle) -> Option<Known> {
    let value = &fit.angle.as_ref()?.value;
    let part = |name| value.get(name).and_then(Item::as_leaf).cloned();
    Some(Known { at, angle: part("angle")?, off: part("off"), scatter })
}

/// What the fits say together: those since the last one that could not be worked out. With it, the
/// place of the first of them.
fn log(splines: &Splines, fits: &[Fit], known: &[Known]) -> Option<(Log, usize)> {
    let follow = known.iter().rev().zip((0..fits.len()).rev());
    let run = follow.take_while(|(known, at)| known.at == *at).count();
    let run = known.get(known.len() - run..)?;
    let first = run.first()?.at;
    let attempts: Option<Vec<Attempt>> = run
        .iter()
        .map(|known| {
            let fit = fits.get(known.at)?;
            let made = Move { anchor_teeth: fit.anchor_teeth, plate_teeth: fit.plate_teeth };
            let angle = Angle::try_from(known.angle.value).ok()?;
            Some(Attempt { made, angle, u: known.scatter })
        })
        .collect();
    Some((read(splines, &attempts?, Habits::STATED).ok()?, first))
}

/// u of the place: what every reading shares, and the scatter that averaging leaves.
fn pooled(u: Option<Amount>, scatter: Angle, left: Angle) -> Option<Amount> {
    let u = Angle::try_from(u?).ok()?.to_deg();
    let shared = (u * u - scatter.to_deg().powi(2)).max(0.0);
    Some(Angle::deg((shared + left.to_deg().powi(2)).sqrt()).into())
}

fn next(
    side: Side,
    (log, last): (&Log, &Known),
    (target, within): (Angle, Angle),
    moves: &[NextMove],
) -> Option<Finding> {
    let now = log.now()?;
    let off = now.angle - target;
    let best = moves.first()?;
    let made = best.choice.as_move();
    let is_there = off.abs() <= within || made.ends() == 0;
    let words = if log.read_again() {
        "The last reading does not fit the teeth that were counted: read it again before a tooth \
         is moved."
            .to_owned()
    } else if is_there {
        format!("Leave the teeth: no move comes nearer. It stands {} off.", deg_signed(off, 2))
    } else {
        let (to, moved) = (deg(now.angle + best.choice.change, 1), made.words(side));
        format!("Next: {moved}. That brings the unloaded plate to about {to}.")
    };
    let move_to = |teeth: i32| Item::Count(if is_there { 0 } else { i64::from(teeth) }, "teeth");
    let leaf = |value: Angle, u| Item::Leaf(Leaf { value: value.into(), u, written: None });
    let u = pooled(last.angle.u, last.scatter, now.u);
    let u_off = pooled(last.off.as_ref().and_then(|off| off.u), last.scatter, now.u);
    let after = if is_there { now.angle } else { now.angle + best.choice.change };
    let value = Item::Object(vec![
        ("angle", leaf(now.angle, u)),
        ("off", leaf(off, u_off)),
        ("anchor_teeth", move_to(made.anchor_teeth)),
        ("plate_teeth", move_to(made.plate_teeth)),
        ("after", leaf(after, u)),
        ("read_again", Item::Flag(log.read_again())),
    ]);
    let why = Why {
        words,
        formula: "mean of the readings carried to the present teeth; u² = u² shared + u² scatter",
        source: "JCGM 100:2008, 5.1.2; docs/method.md, log of attempts",
        inputs: Vec::new(),
    };
    let of = Some(Subject::Corner(Corner::rear(side)));
    Some(Finding { id: "attempt.next", of, at: Some(State::Now), value, why })
}

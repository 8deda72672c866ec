//! Which teeth to choose.

use axlewright_book::{Adjuster, Field, Value};
use axlewright_mechanics::splines::{Move, Wanted};
use axlewright_quantity::{Angle, Length};

use crate::engine::{Bench, Recipe};
use crate::finding::Item;
use crate::inputs::{Need, Slot};
use crate::look::Look;
use crate::model;
use crate::say::{deg, deg_signed};

/// How many of the nearest reachable angles are listed, besides those no other choice beats.
const NEAREST: usize = 3;

pub(crate) fn add(bench: &mut Bench) {
    if bench.plain(|look| Some(is_screw(look))) == Some(true) {
        return screw(bench);
    }
    step(bench);
    trim_per_step(bench);
    choices(bench);
}

/// No teeth where a screw sets the plate: only how far it has to bring it.
fn screw(bench: &mut Bench) {
    let recipe = Recipe {
        id: "screw.change",
        at: None,
        formula: "θ₀ − θ now",
        source: "docs/method.md, level and free angle",
    };
    bench.add(
        recipe,
        |look| {
            let (now, goal) = (start(look), model::free_goal(look));
            let (now, goal) = (now?, goal?);
            Some(Item::Object(vec![
                ("change", Item::leaf(goal - now)),
                ("angle", Item::leaf(goal)),
                ("counted_from", Item::Word(counted_from(look).to_owned())),
            ]))
        },
        |item, look| {
            let angle = |name| {
                let amount = item.get(name).and_then(Item::amount)?;
                Angle::try_from(amount).ok()
            };
            let (Some(change), Some(goal)) = (angle("change"), angle("angle")) else {
                return String::new();
            };
            let way = if change < Angle::ZERO { "tail up" } else { "tail down" };
            let words = format!(
                "A screw sets this plate: turn it until the unloaded plate stands at {}, {} {way} \
                 from where it stands.",
                deg(goal, 1),
                deg(change.abs(), 1),
            );
            if is_read(look) {
                return words;
            }
            format!("{words} Counted from the manual's angle: no reading is entered yet.")
        },
    );
}

pub(crate) fn is_screw(look: &Look) -> bool {
    let word = match look.optional(Field::SplinesAdjuster) {
        Some(Value::Word(word)) => Adjuster::from_word(word),
        _ => None,
    };
    word == Some(Adjuster::Screw)
}

pub(crate) fn step(bench: &mut Bench) {
    let recipe = Recipe {
        id: "vernier.step",
        at: None,
        formula: "360°/lcm(N_i, N_o)",
        source: "arithmetic; docs/method.md, splines",
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(model::splines(look)?.vernier_step())),
        |item, look| {
            let step = item.amount().map_or(f64::NAN, |a| a.shown());
            let Some(splines) = look.attempt(model::splines) else { return String::new() };
            format!(
                "One tooth at the anchor is {:.2}°, one at the plate {:.2}°; both ends together \
                 reach every {step:.2}°.",
                splines.anchor_step().to_deg(),
                splines.plate_step().to_deg(),
            )
        },
    );
}

fn trim_per_step(bench: &mut Bench) {
    let recipe = Recipe {
        id: "vernier.trim-per-step",
        at: None,
        formula: "(trim(θ₀ + s/2) − trim(θ₀ − s/2)) for one vernier step s, at the target",
        source: "docs/method.md, load and splines",
    };
    bench.add(
        recipe,
        |look| {
            let (splines, free) = (model::splines(look), model::free_target(look));
            let half = splines?.vernier_step() / 2.0;
            let free = free?;
            let up = model::first_trim(look, free + half)?;
            Some(Item::leaf(up - model::first_trim(look, free - half)?))
        },
        |item, _| {
            let per = item.amount().map_or(f64::NAN, |a| a.shown());
            format!("One vernier step raises or lowers the car by {per:.1} mm at this corner.")
        },
    );
}

/// The angle the teeth are chosen from: the reading, or the manual's angle while there is none.
///
/// A reading is held against a target from the manual's own angle only where the manual says
/// where that angle is to be read: a tapered plate reads degrees wrong on its edges.
fn start(look: &Look) -> Option<Angle> {
    if !is_read(look) {
        // A bar that has set hangs so much less tail down on the same teeth.
        let sag = look.get_optional::<Angle>(Field::BarSag).unwrap_or(Angle::ZERO);
        return Some(model::manual_free(look)? - sag);
    }
    let now = model::free_now(look);
    let by_manual = !look.inputs.numbers.contains_key(&Slot::Goal)
        && look.attempt(model::free_target).is_none();
    if by_manual && look.inputs.spec_seat.is_none() {
        return look.missing(Need::SpecSeat);
    }
    now
}

/// Whether there is an angle to start from, read or typed.
pub(crate) fn is_read(look: &Look) -> bool {
    let numbers = &look.inputs.numbers;
    numbers.contains_key(&Slot::PlateReading) || numbers.contains_key(&Slot::Start)
}

fn moves(look: &Look) -> Option<Vec<Move>> {
    let (splines, now) = (model::splines(look), start(look));
    let goal = model::free_goal(look);
    let wanted = Wanted { count: NEAREST, ends: model::ends(look) };
    let found = look.ok(splines?.choices(now?, goal?, wanted))?;
    Some(shortened(found.iter().map(|choice| choice.as_move()).collect()))
}

/// One choice with the figures that follow from it.
fn choice(look: &Look, made: Move) -> Option<Item> {
    let (splines, now) = (model::splines(look)?, start(look)?);
    let goal = model::free_goal(look)?;
    let change = splines.change(made);
    let angle = now + change;
    let when_new = look.attempt(|look| model::first_trim(look, angle));
    let settling = look.get_optional::<Length>(Field::LoadSettling);
    let trim = when_new.zip(settling).map(|(new, settling)| new - settling);
    let within = trim.and_then(|trim| within_tolerance(look, trim));
    let words = made.words(look.inputs.side_said.then_some(look.inputs.side));
    Some(Item::Object(vec![
        ("anchor_teeth", Item::Count(i64::from(made.anchor_teeth), "teeth")),
        ("plate_teeth", Item::Count(i64::from(made.plate_teeth), "teeth")),
        ("ends", Item::Count(i64::from(made.ends()), "ends")),
        ("change", Item::leaf(change)),
        ("angle", Item::leaf(angle)),
        ("error", Item::leaf(angle - goal)),
        ("trim", Item::maybe(trim)),
        ("trim_when_new", Item::maybe(when_new)),
        ("counted_from", Item::Word(counted_from(look).to_owned())),
        ("within_tolerance", within.map_or(Item::Nothing, Item::Flag)),
        ("words", Item::Word(words)),
    ]))
}

/// Which angle the teeth are counted from.
fn counted_from(look: &Look) -> &'static str {
    let numbers = &look.inputs.numbers;
    if numbers.contains_key(&Slot::Start) {
        "the angle given"
    } else if numbers.contains_key(&Slot::PlateReading) {
        "the reading"
    } else {
        "the manual's angle: no reading is entered yet"
    }
}

/// Whether a trim meets the manual's, if the manual gives limits.
fn within_tolerance(look: &Look, trim: Length) -> Option<bool> {
    let asked = look.attempt(model::trim)?;
    let limit = look.inputs.trim_tolerance?;
    Some((trim - asked).abs() <= limit)
}

pub(crate) fn choices(bench: &mut Bench) {
    let recipe = Recipe {
        id: "index.choices",
        at: None,
        formula: "change = 360°·(p/N_i + q/N_o), p teeth at anchor, q at plate, + tail down",
        source: "arithmetic, all moves searched; docs/method.md, splines",
    };
    let fixed = bench.plain(moves);
    bench.add(
        recipe,
        |look| match &fixed {
            Some(moves) => {
                let items: Option<Vec<Item>> = moves.iter().map(|m| choice(look, *m)).collect();
                items.map(Item::List)
            }
            None => moves(look).map(|_| Item::Nothing),
        },
        words,
    );
}

/// The most choices that are listed; the best for each number of ends is always among them.
const LISTED: usize = 8;

fn shortened(moves: Vec<Move>) -> Vec<Move> {
    let first_of = |ends| moves.iter().position(|m| m.ends() == ends);
    let firsts = [first_of(0), first_of(1), first_of(2)];
    let kept = moves.iter().enumerate();
    kept.filter(|(at, _)| *at < LISTED || firsts.contains(&Some(*at))).map(|(_, m)| *m).collect()
}

fn words(item: &Item, look: &Look) -> String {
    let Some(best) = item.items().first() else { return String::new() };
    let text = match best.get("words") {
        Some(Item::Word(words)) => words.clone(),
        _ => String::new(),
    };
    let angle = |item: &Item, name| {
        let amount = item.get(name).and_then(Item::amount)?;
        Angle::try_from(amount).ok()
    };
    let error = angle(best, "error").unwrap_or(Angle::ZERO);
    let goal = if look.inputs.numbers.contains_key(&Slot::Goal) {
        "the angle wanted"
    } else if look.attempt(model::free_target).is_some() {
        "the target"
    } else {
        "the angle from four numbers"
    };
    let mut words = format!("Best: {text}. That lands {} from {goal}.", deg_signed(error, 2));
    if !is_read(look) {
        words += " Counted from the manual's angle: no reading is entered yet.";
    }
    let untouched = |row: &&Item| row.get("ends") == Some(&Item::Count(0, "ends"));
    if let Some(left_alone) = item.items().iter().find(untouched)
        && left_alone.get("within_tolerance") == Some(&Item::Flag(true))
        && best.get("ends") != Some(&Item::Count(0, "ends"))
    {
        let trim = left_alone.get("trim").and_then(Item::amount).map_or(f64::NAN, |a| a.shown());
        words += &format!(
            " Left as it is, this side settles to {trim:.0} mm, which the manual's tolerance \
             allows too: moving teeth is worth it only to bring both sides together."
        );
    }
    words
}

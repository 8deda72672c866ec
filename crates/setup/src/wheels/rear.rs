//! A round on a car of which only the rear is known: what its trims ask for, in whole vernier
//! steps. Camber, toe and cross weight need the whole car.

use axlewright_book::{CarFile, Field, MassRow, Pick, SpecWhat, Value};
use axlewright_mechanics::car::Pair;
use axlewright_quantity::{Corner, Length, Side, Spread};

use crate::Assessment;
use crate::finding::{Finding, Input, Item, Subject, Why};
use crate::inputs::Inputs;
use crate::look::Look;
use crate::say::mm;

/// The manual's trim and what it may be off by.
fn wanted(car: &CarFile) -> Option<(Length, Length)> {
    let Pick::One(spec) = car.pick(SpecWhat::Trim) else { return None };
    let Value::Amount(value) = spec.value.value else { return None };
    let Some(Spread::Tolerance(within)) = spec.value.spread else { return None };
    Some((Length::try_from(value).ok()?, Length::try_from(within).ok()?))
}

/// One side: what it reads, and the steps that bring it nearest; + is tail down, which raises.
fn side_words(
    side: Side,
    read: Length,
    goal: Length,
    within: Length,
    step: Length,
) -> (i64, String) {
    let off = read - goal;
    let way = if off < Length::ZERO { "low" } else { "high" };
    let head = format!(
        "The {side} trim reads {}, {} {way} ({} is wanted as long as new parts have not given, \
         within {}).",
        mm(read, 0),
        mm(off.abs(), 0),
        mm(goal, 0),
        mm(within, 0),
    );
    if off.abs() <= within {
        return (0, format!("{head} Leave that bar."));
    }
    let steps = -(off / step).round();
    let lands = read + step * steps;
    if steps == 0.0 {
        return (0, format!("{head} A vernier step is {}: leave that bar.", mm(step, 1)));
    }
    let turn = if steps < 0.0 { "tail up" } else { "tail down" };
    let count = match steps.abs() {
        1.0 => "One vernier step".to_owned(),
        n => format!("{n:.0} vernier steps"),
    };
    let words =
        format!("{head} {count} {turn}, {} each, brings it to {}.", mm(step, 1), mm(lands, 0));
    (steps as i64, words)
}

/// Adds `car.rear-only` where the last round of the finished car cannot be read as a whole.
pub(super) fn add(car: &CarFile, sides: Pair<&Inputs>, out: &mut Assessment) {
    if out.find("car.state", None).is_some() {
        return;
    }
    let Some(row) = car.rounds.last() else { return };
    let finished = |stage: &str| stage.trim().eq_ignore_ascii_case(MassRow::FINISHED);
    if row.settled == Some(false) || row.stage.as_ref().is_some_and(|s| !finished(&s.value)) {
        return;
    }
    let Some((target, within)) = wanted(car) else { return };
    let (mut rows, mut words, mut inputs) = (Vec::new(), Vec::new(), Vec::new());
    for side in Side::BOTH {
        let corner = Corner::rear(side);
        let read = row.trim.iter().find(|(own, _)| **own == corner);
        let Some(read) = read.and_then(|(_, e)| Length::try_from(e.value).ok()) else { continue };
        let of = Subject::Corner(corner);
        let step = out.find("vernier.trim-per-step", Some(&of));
        let step = step.and_then(|found| found.value.amount());
        let Some(step) = step.and_then(|step| Length::try_from(step).ok()) else { continue };
        let settling = Look::plain(sides[side]).get_optional::<Length>(Field::LoadSettling);
        let goal = target + settling.unwrap_or(Length::ZERO);
        let (steps, said) = side_words(side, read, goal, within, step.abs());
        words.push(said);
        rows.push(Item::Object(vec![
            ("corner", Item::Word(corner.code().to_owned())),
            ("read", Item::leaf(read)),
            ("wanted", Item::leaf(goal)),
            ("within", Item::leaf(within)),
            ("step", Item::leaf(step.abs())),
            ("steps", Item::Count(steps, "steps")),
        ]));
        inputs.push(Input {
            name: format!("trim at {}", corner.code()),
            value: Some(read.into()),
            u: None,
            from: format!("car file, line {}", row.line),
            share: None,
        });
    }
    if rows.is_empty() {
        return;
    }
    words.push(
        "That is by the rear figures alone, each side by itself: a bar moved lifts the other side \
         a little too, so one side first, then roll, settle and read again. What the front would \
         say, camber, toe and cross weight are not judged. No bar is touched before the car was \
         rolled and read twice."
            .to_owned(),
    );
    let why = Why {
        words: words.join(" "),
        formula: "steps = (wanted + settling − read) / trim per vernier step, to the nearest",
        source: "docs/method.md, trim per vernier step",
        inputs,
    };
    let value = Item::List(rows);
    out.findings.push(Finding { id: "car.rear-only", of: None, at: None, value, why });
}

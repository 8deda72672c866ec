//! How long a bar takes: what has to come off to be at it and go on again, from the order of work.

use axlewright_book::{CarFile, Phase};
use axlewright_quantity::{Corner, Side};

use crate::Assessment;
use crate::finding::{Finding, Item, Subject};
use crate::order::{self, Control, OrderQuestion};

/// Work on a bar of the car on its wheels.
fn of_side(car: &CarFile, found: &Assessment, side: Side) -> Option<Finding> {
    let puts_in = |step: &&axlewright_book::Step| {
        step.side == Some(side)
            && step.does.iter().any(|act| act.value == axlewright_book::Act::BarIn)
    };
    let step = car.steps.iter().find(puts_in)?;
    let built = |step: &&axlewright_book::Step| step.phase <= Phase::OnTheWheels;
    let done = car.steps.iter().filter(built).map(|step| step.id.value.clone()).collect();
    let question = OrderQuestion { done, ..OrderQuestion::default() };
    let id = &step.id.value;
    let out = order::back_out(car, found, &question, id, &mut |_| Control::Go).ok()?;
    let back = out.find("order.back-out", None)?;
    let minutes = |name| match back.value.get(name) {
        Some(Item::Count(minutes, _)) => Some(*minutes),
        _ => None,
    };
    let (undo, again) = (minutes("undo_minutes")?, minutes("again_minutes")?);
    let mut why = back.why.clone();
    why.words = format!(
        "A tooth of the {side} rear bar takes {} in all: {} to be at it, {} to put it right again.",
        crate::duration(undo + again),
        crate::duration(undo),
        crate::duration(again),
    );
    let value = Item::Object(vec![
        ("minutes", Item::Count(undo + again, "min")),
        ("undo_minutes", Item::Count(undo, "min")),
        ("again_minutes", Item::Count(again, "min")),
    ]);
    let of = Some(Subject::Corner(Corner::rear(side)));
    Some(Finding { id: "car.bar-hours", of, at: None, value, why })
}

/// `car.bar-hours` of every bar that some plan of `car.moves` draws.
///
/// # Valid for
/// `found` made from the same car file; steps of its order of work.
/// # Source
/// [`order::back_out`] of a car on its wheels, at the step that puts the bar in.
pub fn bar_hours(car: &CarFile, found: &Assessment) -> Vec<Finding> {
    let Some(moves) = found.find("car.moves", None) else { return Vec::new() };
    let beside = moves.value.get("beside").map(Item::items).unwrap_or_default();
    let plans = [&moves.value].into_iter().chain(beside);
    let steps: Vec<&Item> =
        plans.filter_map(|plan| plan.get("steps")).flat_map(Item::items).collect();
    let is =
        |step: &Item, key: &str, word: &str| step.get(key) == Some(&Item::Word(word.to_owned()));
    let draws = |side: Side| {
        let code = Corner::rear(side).code();
        steps.iter().any(|step| is(step, "what", "teeth") && is(step, "corner", code))
    };
    let sides = Side::BOTH.into_iter().filter(|side| draws(*side));
    sides.filter_map(|side| of_side(car, found, side)).collect()
}

//! What follows from the figures and must be heeded before anything is done.

use axlewright_book::{BarFinish, Field, Value};
use axlewright_quantity::{Angle, Corner};

use crate::inputs::Inputs;
use crate::look::Look;
use crate::say::deg;
use crate::{Assessment, Item, Subject, bars, model};

/// A free angle this far from where it should be, that its opposite sign would bring near, was
/// read with the sign the wrong way round: own choice, far beyond any bar change.
const FAR: Angle = Angle::deg(20.0);
const NEAR: Angle = Angle::deg(12.0);

pub(crate) fn add(sides: [&Inputs; 2], out: &mut Assessment) {
    let mut cautions = Vec::new();
    for inputs in sides {
        cautions.extend(sign(inputs));
        cautions.extend(spoilt(inputs));
        for id in ["bar.shear-at-ride", "bar.shear-at-full-bump"] {
            cautions.extend(overstressed(inputs, out, id));
        }
    }
    out.cautions.append(&mut cautions);
}

/// A bar that was plated, ground or stamped.
fn spoilt(inputs: &Inputs) -> Option<String> {
    let look = Look::plain(inputs);
    if let Some(warning) = bars::plated(&look) {
        return Some(format!("{}: {}.", warning.words(), warning.advice()));
    }
    let ground = BarFinish::Ground.word();
    (look.optional(Field::BarFinish) == Some(Value::Word(ground))).then(|| {
        format!(
            "The {} bar was ground or stamped: a nick in spring steel is where it breaks. Do not \
             load it before somebody competent has looked for cracks.",
            inputs.side
        )
    })
}

/// More stress than the bar may bear.
fn overstressed(inputs: &Inputs, out: &Assessment, id: &'static str) -> Option<String> {
    let found = out.find(id, Some(&Subject::Corner(Corner::rear(inputs.side))))?;
    let share = found.value.get("share_of_allowable").and_then(Item::amount)?.to_si();
    let side = inputs.side;
    (1.0 < share).then(|| {
        format!("{side} rear: {} Do not drive it: other bars, or other rings.", found.why.words)
    })
}

/// A reading whose sign looks like a slip.
fn sign(inputs: &Inputs) -> Option<String> {
    let look = Look::plain(inputs);
    let now = model::free_now(&look)?;
    let goal = model::free_goal(&look).or_else(|| model::manual_free(&look))?;
    let (as_read, turned) = ((now - goal).abs(), (-now - goal).abs());
    (FAR < as_read && turned < NEAR).then(|| {
        format!(
            "{} rear: the plate reading gives a free angle of {}, {} from where it should be, and \
             with the other sign it would be near. Was the sign written as the gauge shows it? \
             With the arrow to the tail, a plate whose tail hangs down reads minus.",
            inputs.side,
            deg(now, 1),
            deg(as_read, 0),
        )
    })
}

//! Steps that may not be called done yet. What bars them is worked out elsewhere and handed in;
//! here alone an entry is refused for it.

use super::body::{Body, StepHappened};
use super::refusal::Refusal;
use crate::words::Found;

/// Something that bars the doing of a step; the step and what follows it stay in the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Gate {
    /// The step's id.
    pub step: String,
    /// Why not yet: one sentence without its full stop.
    pub why: String,
    /// What comes first.
    pub first: String,
    /// What the person may find at the car that opens it; nothing where only a measurement or a
    /// change does.
    pub opens: Option<Found>,
}

/// Whether an entry calls a step done that something still bars.
///
/// # Errors
/// The first gate that bars it.
pub fn gated(body: &Body, gates: &[Gate]) -> Result<(), Refusal> {
    let Body::Step(step) = body else { return Ok(()) };
    let Some(gate) = gates.iter().find(|gate| {
        let opened = step.found.as_deref().and_then(Found::from_word);
        gate.step == step.step && (gate.opens.is_none() || gate.opens != opened)
    }) else {
        return Ok(());
    };
    if step.happened != StepHappened::Done {
        return Ok(());
    }
    let what = format!("`{}` is NOT YET to be done: {}", gate.step, gate.why);
    let right = match gate.opens {
        None => gate.first.clone(),
        Some(found) => format!("{}; then write it done with `{found}`", gate.first),
    };
    Err(Refusal::new("happened", what, right))
}

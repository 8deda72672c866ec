//! Which step of the taking apart undoes what a step of the putting together did.
//!
//! A way back is told in the words of removing: what warns of fitting says nothing of it.

use axlewright_book::{Act, CarFile, Phase, Spanning, Step};

use crate::physical::acts;

/// An act and what undoes it, in the order in which a way back comes to them.
const PAIRS: [(Act, Act); 8] = [
    (Act::WheelsOn, Act::WheelsOff),
    (Act::CarDown, Act::CarUp),
    (Act::EngineIn, Act::EngineOut),
    (Act::Winds, Act::LetsDown),
    (Act::ArmOn, Act::ArmOff),
    (Act::CoverOn, Act::CoverOff),
    (Act::PlateOn, Act::PlateOff),
    (Act::BarIn, Act::BarOut),
];

/// An act and a step that does nothing but what goes with undoing it: the holds stand again before
/// what they stood for comes off, and the bar is found free once its arm is.
const ALONE: [(Act, Act); 2] = [(Act::HoldsAway, Act::Holds), (Act::ArmOn, Act::FindsFree)];

fn takes_apart(step: &Step) -> bool {
    matches!(step.phase, Phase::BeforeStripDown | Phase::StripDown)
}

fn undoes(twin: &Step, step: &Step) -> bool {
    let spans = |list: &[axlewright_book::Entry<Spanning>], span: Spanning| {
        list.iter().any(|entry| entry.value == span)
    };
    let by_part = step.fits.iter().any(|entry| spans(&twin.removes, entry.value));
    let (does, undoes) = (acts(step), acts(twin));
    let by_act = PAIRS.iter().any(|(on, off)| does.contains(on) && undoes.contains(off));
    let sets_its_own = does.contains(&Act::Holds);
    let alone = ALONE.iter().any(|(on, off)| does.contains(on) && undoes == [*off]);
    by_part || by_act || (alone && !sets_its_own)
}

/// The steps that take off what this one put on, in the order of taking apart; nothing for a step
/// that puts nothing on, or where the method has no such step.
pub(super) fn removing<'a>(car: &'a CarFile, step: &Step) -> Vec<&'a Step> {
    let is_put_together =
        !takes_apart(step) && !matches!(step.phase, Phase::InspectAndOrder | Phase::DryRun);
    let twins = car.steps.iter().filter(|twin| {
        let is_of_side = twin.side == step.side || twin.side.is_none() || step.side.is_none();
        is_put_together && takes_apart(twin) && is_of_side && undoes(twin, step)
    });
    let mut twins: Vec<&Step> = twins.collect();
    // The bolt comes out before the arm is let down.
    twins.sort_by_key(|twin| acts(twin).contains(&Act::LetsDown));
    twins
}

//! What bars the doing of a step, what the plan could not know, and what would decide it.
//!
//! A gate is never an arc: the step and all that follows it stay in the plan, so every plan reaches
//! the wheels; only Done is refused, and no figure is told for the act.

use axlewright_book::log::Gate;
use axlewright_book::{Act, Adjuster, CarFile, Field, Found, Phase, Spanning, Step};
use axlewright_quantity::{Corner, Side};

use super::geometry::{Geometry, Reach};
use crate::cautions::{FOUND_OUT_FIRST, RAISED_FIRST};
use crate::physical::{Bar, State, acts};
use crate::raising::Raise;
use crate::{Assessment, Subject};

/// Something that was not known when the order was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unknown {
    /// What is taken the careful way for it.
    pub edge: String,
    /// Why it is not known.
    pub why: String,
    /// What would decide it.
    pub measure: String,
}

fn sides(step: &Step) -> Vec<Side> {
    step.side.map_or(Side::BOTH.to_vec(), |side| vec![side])
}

const fn is_put_together(phase: Phase) -> bool {
    matches!(phase, Phase::Assembly | Phase::Brakes)
}

/// What goes on after the stop: all that reaches from body to arm, but for the stop itself.
fn goes_on(car: &CarFile, step: &Step) -> Vec<Spanning> {
    if !is_put_together(step.phase) {
        return Vec::new();
    }
    let listed = |other: &Step| {
        other.removes.iter().chain(&other.fits).any(|entry| entry.value == Spanning::StopBolt)
    };
    let stop = if car.steps.iter().any(listed) { Spanning::StopBolt } else { Spanning::Damper };
    step.fits.iter().map(|entry| entry.value).filter(|span| *span != stop).collect()
}

fn found(out: &Assessment, id: &str, side: Side) -> bool {
    out.find(id, Some(&Subject::Corner(Corner::rear(side)))).is_some()
}

/// Whether it is settled which teeth the bar goes on.
fn teeth_are_known(car: &CarFile, out: &Assessment, side: Side) -> bool {
    let by_screw = car.word(Field::SplinesAdjuster, side) == Some(Adjuster::Screw.word());
    by_screw || found(out, "index.choices", side)
}

/// What a gate waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GateKind {
    /// That somebody offers the part up.
    OfferedUp,
    /// Another part: this one does not reach.
    TooShort,
    /// That it is settled which teeth.
    Teeth,
    /// Stands that bear the raising.
    Stands,
    /// That somebody finds out what the bar carries.
    Remembered,
}

/// What is done only to a bar that carries no more than its arm.
const UNLOADED: [Act; 6] =
    [Act::ArmOff, Act::CoverOff, Act::PlateOff, Act::BarOut, Act::Swings, Act::Tries];

/// A gate, and what it waits for.
pub(super) type Barred = (GateKind, Gate);

/// Everything that bars a step which is not done yet.
pub(super) fn gates(car: &CarFile, out: &Assessment, geometry: &Geometry) -> Vec<Barred> {
    let open = car.steps.iter().filter(|step| !car.done.contains(&step.id.value));
    let now = super::standing(car);
    open.flat_map(|step| {
        let mut gates = of_step(car, out, geometry, step);
        gates.extend(not_remembered(&now, step));
        gates
    })
    .collect()
}

/// A bar of which nobody remembers what it carries is wound: nothing is done to it that is done to
/// an unloaded one.
fn not_remembered(now: &State, step: &Step) -> Vec<Barred> {
    let is_for_unloaded = acts(step).iter().any(|act| UNLOADED.contains(act));
    let sides = sides(step).into_iter();
    let sides = sides.filter(|side| is_for_unloaded && now.corner(*side).bar == Bar::Unknown);
    let gate = |side: Side| {
        let why = format!("nobody remembers what the {side} bar carries: it is wound");
        let (step, first) = (step.id.value.clone(), FOUND_OUT_FIRST.to_owned());
        (GateKind::Remembered, Gate { step, why, first, opens: None })
    };
    sides.map(gate).collect()
}

fn of_step(car: &CarFile, out: &Assessment, geometry: &Geometry, step: &Step) -> Vec<Barred> {
    let gate = |kind: GateKind, why: String, first: &str| {
        let opens = match kind {
            GateKind::OfferedUp => Some(Found::SlackAtRest),
            GateKind::Teeth => Some(Found::BackToThePaint),
            GateKind::TooShort | GateKind::Stands | GateKind::Remembered => None,
        };
        let (step, first) = (step.id.value.clone(), first.to_owned());
        (kind, Gate { step, why, first, opens })
    };
    let mut gates = Vec::new();
    for side in sides(step) {
        let figures = geometry.side(side);
        for span in goes_on(car, step) {
            match figures.reach(span) {
                Reach::Fits => {}
                Reach::Unknown => gates.push(gate(
                    GateKind::OfferedUp,
                    format!("it is not known whether the {span} reaches where the arm rests"),
                    "offer it up with the plate on its stop, nothing on the jack: slack at rest, \
                     or stop",
                )),
                Reach::Short(why) => gates.push(gate(
                    GateKind::TooShort,
                    format!("the {span}: {why}"),
                    &format!("another {span} that reaches, or another stop"),
                )),
            }
        }
        if !acts(step).contains(&Act::Winds) {
            continue;
        }
        if !teeth_are_known(car, out, side) {
            gates.push(gate(
                GateKind::Teeth,
                format!("it is not settled on the {side} which teeth the bar belongs on"),
                "measure what the teeth wait for, or go back to the paint marks",
            ));
        }
        if let Raise::Forbidden(why) = &figures.raise {
            gates.push(gate(GateKind::Stands, why.clone(), RAISED_FIRST));
        }
    }
    gates
}

/// What would be measured for a finding, the cheapest first; where nothing is named, the finding
/// waits for what other gaps name.
fn measure_for(out: &Assessment, id: &str, side: Side) -> String {
    let of = Subject::Corner(Corner::rear(side));
    let gap = out
        .gaps
        .iter()
        .find(|gap| gap.blocks.contains(&id) && gap.of.as_ref().is_none_or(|own| *own == of));
    gap.map_or_else(
        || "`check` lists what is still open; offered up at the car it decides itself".to_owned(),
        |gap| gap.measure.clone(),
    )
}

/// Everything the order was made without.
pub(super) fn unknown(car: &CarFile, out: &Assessment, geometry: &Geometry) -> Vec<Unknown> {
    let mut all: Vec<Unknown> = Vec::new();
    let mut add = |edge: String, why: &str, measure: String| {
        let fresh = Unknown { edge, why: why.to_owned(), measure };
        if !all.contains(&fresh) {
            all.push(fresh);
        }
    };
    for step in car.steps.iter().filter(|step| !car.done.contains(&step.id.value)) {
        for side in sides(step) {
            let figures = geometry.side(side);
            for span in goes_on(car, step) {
                let id = super::geometry::window_id(span);
                if !found(out, id, side) {
                    add(
                        format!("the {span}, {side}: off at hang, on only after the stop"),
                        "where it reaches is not known",
                        measure_for(out, id, side),
                    );
                }
            }
            if !goes_on(car, step).is_empty() && !figures.knows_rest() {
                let id = if figures.knows_hang() { "droop" } else { "hang.arm" };
                add(
                    format!("the {side} arm: where it hangs and where its stop holds it"),
                    "its angles are not known",
                    measure_for(out, id, side),
                );
            }
            if acts(step).contains(&Act::Winds) && figures.raise == Raise::Unknown {
                add(
                    format!("raising the {side} arm: no figure, the cards at the saddles decide"),
                    "what it takes, or what the stands then carry, is not known",
                    measure_for(out, "raise.stop-bolt", side),
                );
            }
        }
    }
    let mute = car.steps.iter().filter(|step| step.does.is_empty());
    let mute: Vec<&str> = mute.map(|step| step.id.value.as_str()).collect();
    if let Some(first) = mute.first() {
        let more = mute.len() - 1;
        let more = if more == 0 { String::new() } else { format!(" and {more} more") };
        add(
            format!("what `{first}`{more} does to arm, bar and car"),
            "the file does not say",
            "a line `does = [\"nothing\"]`, or what it does, in each [[step]]".to_owned(),
        );
    }
    all
}

//! The whole car on its wheels: what it should read at each stage, what a round of readings says,
//! the fewest corrections, and how sure it all is.

mod bench;
mod expected;
mod forecast;
mod hours;
mod ladder;
mod looks;
mod moves;
mod rear;
mod round;
mod share;
mod state;
mod today;
mod whole;

use axlewright_book::CarFile;
use axlewright_mechanics::car::Pair;
use axlewright_quantity::{Amount, Angle, Corner, Side};

use crate::Assessment;
use crate::engine::Waiting;
use crate::finding::{Item, Subject};
use crate::inputs::{Inputs, Known};
use bench::Bench;
pub(crate) use looks::NAME as ROUND_STATE;
pub(crate) use whole::Rear;
use whole::{Facts, Key};

pub use forecast::{Go, Progress, Question, Watch, forecast};
pub use hours::bar_hours;
pub use today::{Unknown, of, today, waits};

/// Whether anything of the whole car is written, so that its gaps are worth telling.
fn is_begun(car: &CarFile) -> bool {
    use axlewright_book::Field;
    let has = |field: Field| Side::BOTH.into_iter().any(|side| car.get(field, side).is_some());
    let front = Field::of_section("front").any(has);
    front || !car.masses.is_empty() || !car.rounds.is_empty()
}

/// A number of one rear corner, with its uncertainty.
fn leaf(out: &Assessment, id: &str, side: Side) -> Option<(Angle, Option<Amount>)> {
    let found = out.find(id, Some(&Subject::Corner(Corner::rear(side))))?.value.as_leaf()?;
    Some((Angle::try_from(found.value).ok()?, found.u))
}

/// Whether the teeth are still to be moved as far as the readings go: a plate was read more than a
/// vernier step from where it should be. Before that nobody puts a car on its wheels, so the moves
/// chosen are taken as made, on both sides.
fn is_before_indexing(out: &Assessment) -> bool {
    Side::BOTH.into_iter().any(|side| {
        let step = leaf(out, "vernier.step", side).map_or(Angle::deg(0.5), |(step, _)| step);
        let (now, target) =
            (leaf(out, "free-angle.now", side), leaf(out, "free-angle.target", side));
        now.zip(target).is_some_and(|((now, _), (target, _))| step < (now - target).abs())
    })
}

/// The free angle at which a side's bar is thought to stand when the car is on its wheels: as the
/// plate was last read; where the teeth were still to be moved then, what the chosen moves make of
/// that, as sure as the reading; and with no reading at all the target itself.
fn free_angle(out: &Assessment, inputs: &Inputs, side: Side) -> Option<Known> {
    let now = leaf(out, "free-angle.now", side);
    if let Some((now, u)) = now.filter(|_| !is_before_indexing(out)) {
        return Some(Known::number(now, u, "the plate as it was last read"));
    }
    let angle = |item: &Item| {
        let amount = item.get("angle").and_then(Item::amount)?;
        Angle::try_from(amount).ok()
    };
    let of = Subject::Corner(Corner::rear(side));
    let both = out.find("index.both-sides", None).and_then(|found| found.value.get(side.word()));
    let own = out.find("index.choices", Some(&of)).and_then(|f| f.value.items().first());
    let chosen = both.or(own).and_then(angle);
    let gauge = reading_uncertainty(inputs);
    if let (Some(chosen), Some((_, u))) = (chosen, now) {
        let from = "the teeth as chosen, counted from the last reading of the plate";
        return Some(Known::number(chosen, u.or(gauge), from));
    }
    let (target, _) = leaf(out, "free-angle.target", side)?;
    Some(Known::number(target, gauge, "the target: no plate has been read"))
}

/// How sure a plate's angle is when it is read as the file says.
fn reading_uncertainty(inputs: &Inputs) -> Option<Amount> {
    use axlewright_book::Field;
    let of = |field| {
        let known = inputs.fields.get(&field)?;
        match known.value {
            axlewright_book::Value::Amount(amount) => Some(amount),
            _ => None,
        }
    };
    let (gauge, level) = (of(Field::UncertaintyGauge)?, of(Field::UncertaintyLevel)?);
    Some(Amount::from_si(gauge.kind(), gauge.to_si().hypot(level.to_si())))
}

/// What is known of the whole car, the free angles as its teeth are thought to stand with it.
fn facts<'a>(car: &'a CarFile, sides: Pair<&'a Inputs>, found: &Assessment) -> Facts<'a> {
    let mut facts = Facts::new(car, sides);
    for side in Side::BOTH {
        if let Some(known) = free_angle(found, sides[side], side) {
            facts.extras.insert(Key::Free(side), known);
        }
    }
    facts
}

/// Puts the findings of the whole car into an assessment that has those of its corners.
pub(crate) fn add(
    car: &CarFile,
    sides: Pair<&Inputs>,
    out: &mut Assessment,
    waiting: &mut Waiting,
) {
    if !is_begun(car) {
        return;
    }
    let facts = facts(car, sides, out);
    let mut bench = Bench { facts: &facts, findings: Vec::new(), waiting };
    if let Some(survey) = expected::Survey::of(&mut bench) {
        survey.add(&mut bench);
        const IDS: [&str; 3] = ["car.state", "car.moves", "car.after"];
        let looks = looks::add(&mut bench);
        if let Some(taught) = round::teach(&mut bench, &survey, &IDS) {
            state::add(&mut bench, &taught);
            if !looks.as_ref().is_some_and(looks::holds) {
                moves::add(&mut bench, &taught);
            }
        }
        out.cautions.extend(looks);
    }
    share::add(&mut bench, &mut out.cautions);
    share::add_rechecks(&mut bench.findings);
    assumed(out, &mut bench.findings);
    out.findings.append(&mut bench.findings);
    rear::add(car, sides, out);
}

/// Says with what the car should read that teeth are taken as moved, where they are.
fn assumed(out: &Assessment, findings: &mut [crate::Finding]) {
    if !is_before_indexing(out) {
        return;
    }
    for found in findings.iter_mut().filter(|found| found.id == "car.expected") {
        found.why.words += " The teeth chosen are taken as moved on both sides: the plates were \
                            last read before that. Read them again where they were not.";
    }
}

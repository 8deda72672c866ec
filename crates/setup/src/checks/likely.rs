//! What most cars of this layout are like. It alarms nobody: of two slips that explain a difference
//! equally well it puts the one first that leaves the likelier car. Own judgement; no source.

use axlewright_book::{Field, Value};
use axlewright_mechanics::linkage::Span;
use axlewright_quantity::{Angle, Length, Place, Side};

use super::rows::{self, What};
use super::ways::{beyond, span_at_ride, worse};
use crate::look::Look;
use crate::{model, windows};

/// A figure of a car, less what most have, in what most differ by.
pub(super) const LIKELY: &[fn(&Look) -> Option<f64>] = &[
    |look| in_the_middle(look, Field::DamperFittedClosed, Field::DamperFittedOpen),
    |look| in_the_middle(look, Field::DamperOriginalClosed, Field::DamperOriginalOpen),
    |look| slack(look, model::hose(look), Field::HoseFreeLength),
    |look| slack(look, model::cable(look), Field::CableFreeLength),
    travel,
    shaft_rise,
    |look| on_the_arm(look, Field::DamperArmEye),
    |look| on_the_arm(look, Field::HoseArmEnd),
    |look| on_the_arm(look, Field::CableArmEnd),
    |look| on_the_arm(look, Field::ArmMassAt),
    |look| on_the_arm(look, Field::ArmJackPoint),
    |look| above(look, Field::DamperBodyEye, Field::DamperArmEye),
    |look| above(look, Field::HoseBodyEnd, Field::HoseArmEnd),
    |look| above(look, Field::CableBodyEnd, Field::CableArmEnd),
    wrenches,
    uncovered,
    |look| level_gauge(look, Side::Left),
    |look| level_gauge(look, Side::Right),
    round_camber,
];

fn at(look: &Look, field: Field) -> Option<Place> {
    match look.optional(field)? {
        Value::Place(place) => Some(place),
        _ => None,
    }
}

/// At ride a damper is half open.
fn in_the_middle(look: &Look, closed: Field, open: Field) -> Option<f64> {
    let closed = look.get_optional::<Length>(closed)?.to_si();
    let open = look.get_optional::<Length>(open)?.to_si();
    let apart = span_at_ride(look, model::damper(look))?;
    Some(((apart - closed) / (open - closed) - 0.5) / 0.15)
}

/// What spans body and arm is a seventh longer than the way it spans.
fn slack(look: &Look, span: Option<Span>, length: Field) -> Option<f64> {
    let length = look.get_optional::<Length>(length)?.to_si();
    Some((length / span_at_ride(look, span)? - 1.15) / 0.15)
}

/// A wheel comes up 80 mm or so to full bump.
fn travel(look: &Look) -> Option<f64> {
    let (ride, bump) = (look.attempt(model::ride_angle)?, look.attempt(windows::full_bump)?);
    let linkage = model::linkage(look)?;
    let trim = |angle: Angle| Some(linkage.trim(model::at(angle)).ok()?.to_si());
    Some((trim(ride)? - trim(bump)? - 0.08) / 0.03)
}

/// A half-shaft lies about level at ride.
fn shaft_rise(look: &Look) -> Option<f64> {
    let (inner, wheel) = (at(look, Field::HalfShaftInnerJoint)?, at(look, Field::ArmWheelCentre)?);
    let along = (wheel.y - inner.y).to_si();
    Some(((wheel.z - inner.z).to_si() / along).atan() / 0.09)
}

/// What sits on an arm lies about where the arm is, from its pivots down to the wheel.
fn on_the_arm(look: &Look, field: Field) -> Option<f64> {
    let (at, wheel) = (at(look, field)?, at(look, Field::ArmWheelCentre)?);
    let arm = wheel.z.to_si() * (at.x.to_si() / wheel.x.to_si()).clamp(0.0, 1.2);
    Some((at.z.to_si() - arm) / 0.05)
}

/// The end on the body is above the end on the arm.
fn above(look: &Look, body: Field, arm: Field) -> Option<f64> {
    let apart = (at(look, body)?.z - at(look, arm)?.z).to_si();
    Some(beyond(apart, 0.02, f64::INFINITY) / 0.03)
}

/// A hand's wrench ends somewhere from 15 to 350 N·m.
fn wrenches(look: &Look) -> Option<f64> {
    let ends = rows::all(look, What::WrenchTo);
    let off = ends.into_iter().map(|end| beyond(end.ln(), f64::ln(15.0), f64::ln(350.0)) / 0.3);
    off.reduce(worse)
}

/// Who lists a torque mostly has a wrench for it.
fn uncovered(look: &Look) -> Option<f64> {
    let (from, to) = (rows::all(look, What::WrenchFrom), rows::all(look, What::WrenchTo));
    if from.is_empty() || from.len() != to.len() {
        return None;
    }
    let torques = rows::torques_listed(look);
    let covered = |torque: &f64| from.iter().zip(&to).any(|(a, b)| a <= torque && torque <= b);
    Some(torques.iter().filter(|torque| !covered(torque)).count() as f64)
}

/// A gauge is right to half a degree, and a body is about level.
fn level_gauge(look: &Look, side: Side) -> Option<f64> {
    let nose = rows::one(look, What::Sill(side))?.to_degrees();
    let tail = rows::one(look, What::SillTurned(side))?.to_degrees();
    Some((nose + tail).hypot(nose - tail) / 2.0 / 0.5)
}

/// Wheels stand about as the manual says before anybody turns an eccentric.
fn round_camber(look: &Look) -> Option<f64> {
    let manual = rows::one(look, What::ManualCamber)?;
    let [left, right] = Side::BOTH.map(|side| rows::one(look, What::Camber(side)));
    Some((f64::midpoint(left?, right?) - manual).to_degrees() / 0.7)
}

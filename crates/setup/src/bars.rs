//! Rate, stress and ride of the bar that is going in.

use axlewright_book::{BarFinish, Field, Value};
use axlewright_mechanics::joints::Warning;
use axlewright_mechanics::linkage::Linkage;
use axlewright_mechanics::load::{in_series, natural_frequency};
use axlewright_quantity::{Angle, LinearRate, Ratio, Stress, Torque};

use crate::engine::{Bench, Recipe};
use crate::finding::Item;
use crate::inputs::Slot;
use crate::look::Look;
use crate::{model, windows};

const TORSION: &str = "torsion of a round bar (strength of materials); docs/method.md";
const DERIVED: &str = "virtual work; own derivation, docs/method.md";

pub(crate) fn add(bench: &mut Bench) {
    rate(bench);
    warning(bench);
    shear_at_ride(bench);
    shear_at_full_bump(bench);
    wheel_rate(bench);
    ride_frequency(bench);
}

/// `bar.warning`, in the shape of a joint's warnings: only where there is one.
fn warning(bench: &mut Bench) {
    let Some(warning) = bench.plain(plated) else { return };
    let recipe = Recipe {
        id: "bar.warning",
        at: None,
        formula: "spring steel is never electroplated",
        source: "ISO 2081, ISO 4042; docs/method.md, bolted joints",
    };
    bench.add(
        recipe,
        |look| {
            let warning = plated(look)?;
            Some(Item::List(vec![Item::Object(vec![
                ("id", Item::Word(warning.id().to_owned())),
                ("words", Item::Word(warning.words())),
                ("advice", Item::Word(warning.advice())),
            ])]))
        },
        |_, _| format!("{}: {}.", warning.words(), warning.advice()),
    );
}

/// The warning of a bar that was plated.
pub(crate) fn plated(look: &Look) -> Option<Warning> {
    let Value::Word(word) = look.optional(Field::BarFinish)? else { return None };
    let part = format!("the {} bar", look.inputs.side);
    (BarFinish::from_word(word)? == BarFinish::Plated).then_some(Warning::PlatedSpring { part })
}

pub(crate) fn rate(bench: &mut Bench) {
    let recipe = Recipe {
        id: "bar.rate",
        at: None,
        formula: "k = G·J/L, J = π(D⁴ − d⁴)/32",
        source: TORSION,
    };
    bench.add(
        recipe,
        |look| Some(Item::leaf(model::bar(look)?.rate())),
        |item, _| {
            let rate = item.amount().map_or(f64::NAN, |a| a.shown());
            format!("Each degree of twist of the fitted bar takes {rate:.1} N·m.")
        },
    );
}

/// Stress, torque and twist at a plate angle, the bar at its target.
fn stress_at(look: &Look, angle: Option<Angle>) -> Option<(Stress, Vec<(&'static str, Item)>)> {
    let (bar, free) = (model::bar(look), model::free_settled(look));
    let allowable = look.get_optional::<Stress>(Field::BarAllowableShear);
    let (bar, angle) = (bar?, angle?);
    let twist = free? - angle;
    let torque = bar.torque(twist);
    let shear = bar.shear(torque);
    let share = allowable.map(|most| Ratio::one(shear / most));
    let parts = vec![
        ("shear", Item::leaf(shear)),
        ("share_of_allowable", Item::maybe(share)),
        ("torque", Item::leaf(torque)),
        ("twist", Item::leaf(twist)),
        ("angle", Item::leaf(angle)),
    ];
    Some((shear, parts))
}

fn stress_words(item: &Item, place: &str) -> String {
    let number = |name: &str| item.get(name).and_then(Item::amount).map(|a| a.shown());
    let shear = number("shear").unwrap_or(f64::NAN);
    match number("share_of_allowable") {
        Some(share) if 1.0 < share => format!(
            "{place} the bar is stressed to {shear:.0} MPa, MORE than it may bear \
             ({:.0} % of the allowable).",
            100.0 * share
        ),
        Some(share) => format!(
            "{place} the bar is stressed to {shear:.0} MPa, {:.0} % of the allowable.",
            100.0 * share
        ),
        None => format!("{place} the bar is stressed to {shear:.0} MPa; its limit is not entered."),
    }
}

fn shear_at_ride(bench: &mut Bench) {
    let recipe = Recipe {
        id: "bar.shear-at-ride",
        at: None,
        formula: "τ = T·D/(2J), T = k(θ₀ − θ_ride)",
        source: TORSION,
    };
    bench.add(
        recipe,
        |look| {
            let angle = model::ride_angle(look);
            Some(Item::Object(stress_at(look, angle)?.1))
        },
        |item, _| stress_words(item, "At ride"),
    );
}

/// Stress under a typed twist or torque.
pub(crate) fn shear_under_load(bench: &mut Bench) {
    let recipe =
        Recipe { id: "bar.shear", at: None, formula: "τ = T·D/(2J), T = k·φ", source: TORSION };
    bench.add(
        recipe,
        |look| {
            let bar = model::bar(look)?;
            let twist = match look.number_optional::<Angle>(Slot::BarLoad) {
                Some(twist) => twist,
                None => bar.twist(look.number_optional::<Torque>(Slot::BarLoad)?),
            };
            let allowable = look.get_optional::<Stress>(Field::BarAllowableShear);
            let torque = bar.torque(twist);
            let shear = bar.shear(torque);
            Some(Item::Object(vec![
                ("shear", Item::leaf(shear)),
                ("share_of_allowable", Item::maybe(allowable.map(|a| Ratio::one(shear / a)))),
                ("torque", Item::leaf(torque)),
                ("twist", Item::leaf(twist)),
            ]))
        },
        |item, _| stress_words(item, "Under this load"),
    );
}

fn shear_at_full_bump(bench: &mut Bench) {
    let recipe = Recipe {
        id: "bar.shear-at-full-bump",
        at: None,
        formula: "τ = T·D/(2J) where the damper is at closed + rings × height × squash",
        source: TORSION,
    };
    bench.add(
        recipe,
        |look| {
            let angle = windows::full_bump(look);
            Some(Item::Object(stress_at(look, angle)?.1))
        },
        |item, _| stress_words(item, "At full bump, rings squashed,"),
    );
}

/// Wheel rate at ride, the bar at its target.
fn rate_at_ride(look: &Look) -> Option<LinearRate> {
    let (corner, ride) = (model::corner(look), model::ride_angle(look));
    let free = model::free_settled(look);
    look.ok(corner?.wheel_rate(ride?, free?))
}

fn wheel_rate(bench: &mut Bench) {
    let recipe = Recipe { id: "wheel-rate", at: None, formula: "dF/dz at ride", source: DERIVED };
    bench.add(
        recipe,
        |look| Some(Item::leaf(rate_at_ride(look)?)),
        |item, _| {
            let rate = item.amount().map_or(f64::NAN, |a| a.shown());
            format!("One more millimetre of bump takes {rate:.1} N more at the wheel.")
        },
    );
}

fn ride_frequency(bench: &mut Bench) {
    let recipe = Recipe {
        id: "ride-frequency",
        at: None,
        formula: "f = √(c/m)/2π, m = F/g; with the tyre c·c_t/(c + c_t) in place of c",
        source: "natural frequency of a mass on a spring; docs/method.md",
    };
    bench.add(
        recipe,
        |look| {
            let (rate, load) = (rate_at_ride(look), model::spring_load(look));
            let tyre = look.get_optional::<LinearRate>(Field::TyreRate);
            let (rate, mass) = (rate?, load?.as_weight());
            let frequency = look.ok(natural_frequency(rate, mass))?;
            let with_tyre = match tyre {
                Some(tyre) => Some(look.ok(natural_frequency(in_series(rate, tyre), mass))?),
                None => None,
            };
            Some(Item::Object(vec![
                ("frequency", Item::leaf(frequency)),
                ("with_tyre", Item::maybe(with_tyre)),
            ]))
        },
        |_, look| match look.attempt(model::linkage) {
            Some(Linkage::Lever(_)) => {
                "The body on this corner's spring, by the plain lever.".into()
            }
            _ => "How fast the body bobs on this corner's spring alone, and on spring and tyre."
                .to_owned(),
        },
    );
}

//! The checks: each has one quantity two ways, or holds it against what can be at all.

use axlewright_book::{Field, SpecWhat};
use axlewright_mechanics::bar::Bar;
use axlewright_mechanics::linkage::Span;
use axlewright_quantity::{Angle, Corner, Force, Kind, Length, Mass, Side};

use super::rows::{self, What};
use crate::inputs::{Need, Slot};
use crate::look::Look;
use crate::{angles, model};

/// One quantity, two ways to it. Numbers are in SI base units.
pub(super) struct Way {
    /// Its name, for the file's `[[set_aside]]`.
    pub(super) id: &'static str,
    /// The quantity, in words that begin a sentence.
    pub(super) what: &'static str,
    /// Where the two ways come from, in words.
    pub(super) between: [&'static str; 2],
    pub(super) kind: Kind,
    /// One for each rear corner, or one for the car.
    pub(super) each_side: bool,
    /// The first way less the second; nothing where one of them is not known.
    pub(super) differ: fn(&Look) -> Option<f64>,
    /// What the two may differ by besides, as a standard uncertainty: what the model leaves out,
    /// what a manual lets be.
    pub(super) allow: fn(&Look) -> f64,
}

pub(super) const fn way(
    id: &'static str,
    kind: Kind,
    each_side: bool,
    (what, between): (&'static str, [&'static str; 2]),
    differ: fn(&Look) -> Option<f64>,
    allow: fn(&Look) -> f64,
) -> Way {
    Way { id, what, between, kind, each_side, differ, allow }
}

/// Every check, the one that matters most first.
pub(super) const WAYS: &[Way] = &[
    way(
        "free-angle",
        Kind::Angle,
        true,
        (
            "The free angle this car needs",
            ["its weight, bars and geometry", "the manual's angle and the change of bars"],
        ),
        free_angle,
        |_| 0.0,
    ),
    way(
        "ride-trim",
        Kind::Length,
        true,
        ("The trim at the stated ride angle", ["the arm's coordinates", "the manual's trim"]),
        ride_trim,
        trim_allowed,
    ),
    way(
        "rear-axle",
        Kind::Mass,
        false,
        ("What the rear springs carry", ["the stages of [[masses]]", "the corner weights"]),
        |look| axle(look, true),
        |_| 8.0,
    ),
    way(
        "front-axle",
        Kind::Mass,
        false,
        ("What the front springs carry", ["the stages of [[masses]]", "the corner weights"]),
        |look| axle(look, false),
        |_| 8.0,
    ),
    way(
        "car-mass",
        Kind::Mass,
        false,
        ("What all springs carry", ["the stages of [[masses]]", "the corner weights"]),
        |look| Some(axle(look, true)? + axle(look, false)?),
        |_| 10.0,
    ),
    // What is too much on one axle is too little on the other: sharper than each alone.
    way(
        "car-balance",
        Kind::Mass,
        false,
        (
            "What lies on the rear springs rather than on the front ones",
            ["the places of the [[masses]]", "the corner weights"],
        ),
        |look| Some((axle(look, true)? - axle(look, false)?) / 2.0),
        |_| 5.0,
    ),
    way(
        "bar-rate",
        Kind::TorsionalRate,
        true,
        ("The rate of the bar", ["bar.rate", "its measures"]),
        bar_rate,
        // Fillets, seats and steel.
        |look| 0.02 * look.get_optional(Field::BarRate).map_or(0.0, rate_si),
    ),
    way(
        "plate-reading",
        Kind::Angle,
        true,
        ("The unloaded plate", ["its reading", "the angle this car needs"]),
        plate_reading,
        // A first fit, by the nearest tooth of the plate.
        |look| {
            look.attempt(model::splines).map_or(5.0, |s| s.plate_step().to_deg() / 2.0).to_radians()
        },
    ),
    way(
        "manual-rows",
        Kind::Angle,
        true,
        ("The plate angle at ride", ["two rows of the manual for two bars", "ride.plate_angle"]),
        manual_rows,
        |_| 1.5_f64.to_radians(),
    ),
    way(
        "manual-bar",
        Kind::Length,
        true,
        (
            "The bar the manual was written for",
            ["bar.original_diameter", "its row of the free angle"],
        ),
        manual_bar,
        |_| 0.1e-3,
    ),
    way(
        "manual-damper",
        Kind::Force,
        true,
        (
            "The push of the damper the manual was written for",
            ["damper.original.gas", "damper_gas in its row of the free angle"],
        ),
        |look| {
            let row = rows::one(look, What::ManualGas)?;
            Some(look.get_optional::<Force>(Field::DamperOriginalGas)?.to_si() - row)
        },
        |_| 15.0,
    ),
    way(
        "shaft-lengths",
        Kind::Length,
        true,
        ("The half-shaft at ride", ["half_shaft.lengths", "its joints' places"]),
        shaft_lengths,
        |_| 2e-3,
    ),
    way(
        "sides-bars",
        Kind::Length,
        false,
        ("The diameter of the bars", ["the left one", "the right one"]),
        sides_bars,
        |_| 0.1e-3,
    ),
    way(
        "sides-gauge",
        Kind::Angle,
        false,
        (
            "What the gauge shows on a level face",
            ["the left sill, both ways round", "the right sill, both ways round"],
        ),
        |look| Some(gauge(look, Side::Left)? - gauge(look, Side::Right)?),
        |_| 0.05_f64.to_radians(),
    ),
    way(
        "sides-level",
        Kind::Angle,
        false,
        ("The level of the body", ["the left sill", "the right sill"]),
        |look| Some(slope(look, Side::Left)? - slope(look, Side::Right)?),
        |_| 0.15_f64.to_radians(),
    ),
    way(
        "sill-level",
        Kind::Angle,
        true,
        ("The slope of the sill", ["its readings", "a body about level"]),
        |look| Some(look.number_optional::<Angle>(Slot::BodySlope)?.to_rad()),
        |_| 0.55_f64.to_radians(),
    ),
    way(
        "round-rear",
        Kind::Mass,
        false,
        ("The weight on the rear wheels", ["the scales of the last round", "load.corner_weight"]),
        |look| round(look, true),
        |_| 4.0,
    ),
    way(
        "round-front",
        Kind::Mass,
        false,
        ("The weight on the front wheels", ["the scales of the last round", "front.corner_weight"]),
        |look| round(look, false),
        |_| 4.0,
    ),
    way(
        "round-trim",
        Kind::Length,
        false,
        ("The trim of a rear wheel", ["the last round", "the manual's, 60 mm more or less"]),
        |look| {
            let asked = look.spec::<Length>(SpecWhat::Trim)?.to_si();
            let read = Side::BOTH.into_iter().filter_map(|side| rows::one(look, What::Trim(side)));
            read.map(|read| beyond(read - asked, -0.06, 0.06)).reduce(worse)
        },
        |_| 2e-3,
    ),
    way(
        "round-camber",
        Kind::Angle,
        false,
        ("The camber of a rear wheel", ["the last round", "the manual's, 1.2° more or less"]),
        |look| {
            let (asked, most) = (rows::one(look, What::ManualCamber)?, 1.2_f64.to_radians());
            let read =
                Side::BOTH.into_iter().filter_map(|side| rows::one(look, What::Camber(side)));
            read.map(|read| beyond(read - asked, -most, most)).reduce(worse)
        },
        |_| 0.1_f64.to_radians(),
    ),
    way(
        "hose-length",
        Kind::Length,
        true,
        ("The brake hose at ride", ["its length", "the distance between its ends"]),
        |look| slack(look, model::hose, Field::HoseFreeLength),
        |_| 3e-3,
    ),
    way(
        "cable-length",
        Kind::Length,
        true,
        ("The handbrake cable at ride", ["its length", "the distance between its ends"]),
        |look| slack(look, model::cable, Field::CableFreeLength),
        |_| 3e-3,
    ),
    way(
        "damper-length",
        Kind::Length,
        true,
        ("The fitted damper at ride", ["the distance between its bolts", "its stroke"]),
        |look| in_stroke(look, Field::DamperFittedClosed, Field::DamperFittedOpen),
        |_| 3e-3,
    ),
    way(
        "old-damper-length",
        Kind::Length,
        true,
        ("The original damper at ride", ["the distance between its bolts", "its stroke"]),
        |look| in_stroke(look, Field::DamperOriginalClosed, Field::DamperOriginalOpen),
        |_| 3e-3,
    ),
];

fn rate_si(rate: axlewright_quantity::TorsionalRate) -> f64 {
    rate.to_si()
}

/// The larger of two, by size.
pub(super) fn worse(a: f64, b: f64) -> f64 {
    if a.abs() < b.abs() { b } else { a }
}

/// How far a number is outside its limits; nought inside.
pub(super) fn beyond(number: f64, low: f64, high: f64) -> f64 {
    if number < low {
        number - low
    } else if high < number {
        number - high
    } else {
        0.0
    }
}

/// The full target less the four numbers with what they leave out and the file knows.
fn free_angle(look: &Look) -> Option<f64> {
    let (full, four) = (model::free_target(look)?, model::four_numbers(look)?);
    let gas = look.attempt(angles::gas_part).unwrap_or(Angle::ZERO);
    let settling = look.attempt(angles::settling_part).unwrap_or(Angle::ZERO);
    Some((full - four - gas - settling).to_rad())
}

/// Trim by the arm's coordinates at the stated ride angle, less the manual's.
fn ride_trim(look: &Look) -> Option<f64> {
    if !model::has_arm(look) {
        return None;
    }
    let (linkage, asked) = (model::linkage(look)?, model::trim(look)?);
    let ride = look.get::<Angle>(Field::RidePlateAngle)?;
    Some((linkage.trim(model::at(ride)).ok()? - asked).to_si())
}

/// A car may stand anywhere in its manual's tolerance.
fn trim_allowed(look: &Look) -> f64 {
    look.inputs.trim_tolerance.unwrap_or(Length::mm(5.0)).to_si() / 3.0_f64.sqrt()
}

/// Both corner weights of an axle, less what the springs do not carry.
fn sprung(look: &Look, weight: Field, unsprung: Field) -> Option<f64> {
    let left = look.get::<Mass>(weight)?.to_kg();
    let right = rows::one(look, What::Right(weight)).unwrap_or(left);
    Some(left + right - 2.0 * look.get::<Mass>(unsprung)?.to_kg())
}

/// How far forward the rear and the front wheels stand, in metres.
pub(super) fn axles(look: &Look) -> Option<(f64, f64)> {
    let front_x = look.get::<Length>(Field::FrontContactX)?.to_si();
    let rear_x = match look.optional(Field::ArmWheelCentre) {
        Some(axlewright_book::Value::Place(place)) => place.x.to_si(),
        _ => -look.get::<Length>(Field::LeverHubToWheel)?.to_si(),
    };
    Some((rear_x, front_x))
}

/// What the stages put on an axle by their levers, less what its corner weights say.
pub(super) fn axle(look: &Look, rear: bool) -> Option<f64> {
    let (masses, places) = (rows::all(look, What::StageMass), rows::all(look, What::StageX));
    if masses.is_empty() || masses.len() != places.len() {
        return None;
    }
    let (rear_x, front_x) = axles(look)?;
    let base = front_x - rear_x;
    let carried: f64 = masses
        .iter()
        .zip(&places)
        .map(|(mass, x)| mass * if rear { front_x - x } else { x - rear_x } / base)
        .sum();
    let by_wheels = if rear {
        sprung(look, Field::LoadCornerWeight, Field::LoadUnsprung)
    } else {
        sprung(look, Field::FrontCornerWeight, Field::FrontUnsprung)
    };
    (0.1 < base.abs()).then_some(carried - by_wheels?)
}

fn bar_rate(look: &Look) -> Option<f64> {
    let given = look.get_optional::<axlewright_quantity::TorsionalRate>(Field::BarRate)?;
    let measured = Bar::new(model::bar_size(look)?).ok()?.rate();
    Some(given.to_si() - measured.to_si())
}

fn plate_reading(look: &Look) -> Option<f64> {
    look.number::<Angle>(Slot::PlateReading, Need::PlateReading)?;
    Some((model::free_now(look)? - model::free_goal(look)?).to_rad())
}

/// The ride angle at which one car, on two bars, hangs as two rows of the manual say, less the
/// stated one: (θ₁ − θ)·d₁⁴ = (θ₂ − θ)·d₂⁴.
fn manual_rows(look: &Look) -> Option<f64> {
    let (free, bar) = (rows::one(look, What::OtherFree)?, rows::one(look, What::OtherBar)?);
    let own = look.spec::<Angle>(SpecWhat::FreeAngle)?.to_rad();
    let own_bar = model::manual_bar(look)?.to_si();
    let (thin, thick) = (bar.powi(4), own_bar.powi(4));
    // Bars so alike leave the angle open.
    if (thin / thick - 1.0).abs() < 0.08 {
        return None;
    }
    let ride = (own * thick - free * thin) / (thick - thin);
    Some(ride - look.get::<Angle>(Field::RidePlateAngle)?.to_rad())
}

fn manual_bar(look: &Look) -> Option<f64> {
    let row = look.number_optional::<Length>(Slot::SpecBar)?;
    Some((look.get_optional::<Length>(Field::BarOriginalDiameter)? - row).to_si())
}

fn sides_bars(look: &Look) -> Option<f64> {
    let right = rows::one(look, What::Right(Field::BarFittedDiameter))?;
    Some(look.get::<Length>(Field::BarFittedDiameter)?.to_si() - right)
}

fn sill(look: &Look, side: Side) -> Option<(f64, f64)> {
    Some((rows::one(look, What::Sill(side))?, rows::one(look, What::SillTurned(side))?))
}

fn gauge(look: &Look, side: Side) -> Option<f64> {
    let (nose, tail) = sill(look, side)?;
    Some((nose + tail) / 2.0)
}

fn slope(look: &Look, side: Side) -> Option<f64> {
    let (nose, tail) = sill(look, side)?;
    Some((nose - tail) / 2.0)
}

/// Both scales of an axle less its corner weights.
fn round(look: &Look, rear: bool) -> Option<f64> {
    let [left, right] = Side::BOTH.map(|side| {
        let corner = if rear { Corner::rear(side) } else { Corner::front(side) };
        rows::one(look, What::Weight(corner))
    });
    let field = if rear { Field::LoadCornerWeight } else { Field::FrontCornerWeight };
    let stated = look.get::<Mass>(field)?.to_kg();
    let other = rows::one(look, What::Right(field)).unwrap_or(stated);
    Some(left? + right? - stated - other)
}

/// Length of what spans body and arm at the stated ride angle.
pub(super) fn span_at_ride(look: &Look, span: Option<Span>) -> Option<f64> {
    let linkage = model::linkage(look)?;
    let ride = look.get::<Angle>(Field::RidePlateAngle)?;
    Some(span?.at(&linkage, model::at(ride)).ok()?.length?.to_si())
}

/// Lengths read at three angles, against the coordinates of both joints.
fn shaft_lengths(look: &Look) -> Option<f64> {
    if !look.has(Field::HalfShaftInnerJoint) {
        return None;
    }
    let read = Span::Lengths(look.lengths_optional(Field::HalfShaftLengths)?);
    let inboard = look.get_optional::<Length>(Field::HalfShaftOuterInboard)?;
    let (arm, body) = (model::arm_linkage(look)?, look.place(Field::HalfShaftInnerJoint)?);
    let points = Span::Points { body, arm_at_design: arm.on_axle(inboard) };
    Some(span_at_ride(look, Some(read))? - span_at_ride(look, Some(points))?)
}

/// A hose or a cable reaches at ride, and is no more than half as long again: own judgement.
fn slack(look: &Look, span: fn(&Look) -> Option<Span>, length: Field) -> Option<f64> {
    let length = look.get_optional::<Length>(length)?.to_si();
    let apart = span_at_ride(look, span(look))?;
    Some(beyond(length, apart, 1.5 * apart))
}

/// At ride a damper is between a tenth and nine tenths of its stroke: own judgement.
fn in_stroke(look: &Look, closed: Field, open: Field) -> Option<f64> {
    let closed = look.get_optional::<Length>(closed)?.to_si();
    let open = look.get_optional::<Length>(open)?.to_si();
    let apart = span_at_ride(look, model::damper(look))?;
    let edge = 0.1 * (open - closed);
    Some(beyond(apart, closed + edge, open - edge))
}

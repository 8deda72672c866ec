//! What can be at all: figures held against the parts they belong to. Limits are own judgement,
//! wide enough for any car of this layout; no source.

use axlewright_book::{Field, Value};
use axlewright_quantity::{
    Angle, Force, Frequency, Kind, Length, LinearRate, Mass, Place, PlatePoint,
};

use super::rows::{self, What};
use super::ways::{Way, beyond, way, worse};
use crate::look::Look;

pub(super) const LIMITS: &[Way] = &[
    way(
        "joint-torque",
        Kind::Ratio,
        false,
        (
            "A listed torque, as a share of what its bolt takes,",
            ["the list", "its size and class, a quarter to twice"],
        ),
        |look| {
            let shares = rows::torque_shares(look);
            (!shares.is_empty())
                .then(|| shares.into_iter().map(|s| beyond(s, 0.25, 2.0)).fold(0.0, worse))
        },
        |_| 0.02,
    ),
    way(
        "how-sure",
        Kind::Ratio,
        false,
        (
            "How sure a reading is, as a logarithm,",
            ["a row of [uncertainty]", "what a hand and a gauge can do"],
        ),
        how_sure,
        |_| 0.08,
    ),
    way(
        "jack-point",
        Kind::Length,
        true,
        ("The jack point", ["arm.jack_point", "a place under the arm, near its wheel"]),
        |look| {
            let (wheel, pivot) =
                (at(look, Field::ArmWheelCentre)?, at(look, Field::ArmInnerPivot)?);
            let (wheel, pivot) = (si(wheel), si(pivot));
            let low = [1.15 * wheel[0], pivot[1] + 0.05, -0.35];
            let high = [0.5 * wheel[0], wheel[1], -0.05];
            Some(outside(at(look, Field::ArmJackPoint)?, low, high))
        },
        |_| 8e-3,
    ),
    way(
        "arm-balance",
        Kind::Length,
        true,
        ("The arm's balance point", ["arm.mass_at", "a place between its pivots and its wheel"]),
        |look| {
            let (wheel, pivot) =
                (at(look, Field::ArmWheelCentre)?, at(look, Field::ArmInnerPivot)?);
            let (wheel, pivot) = (si(wheel), si(pivot));
            let low = [1.1 * wheel[0], pivot[1] + 0.05, wheel[2] - 0.1];
            let high = [0.5 * wheel[0], wheel[1] + 0.03, 0.03];
            Some(outside(at(look, Field::ArmMassAt)?, low, high))
        },
        |_| 12e-3,
    ),
    way(
        "plate-holes",
        Kind::Length,
        true,
        (
            "The plate's two holes",
            ["plate.hole_front and plate.hole_rear", "one line, 40 to 160 mm apart"],
        ),
        |look| {
            let [front, rear] = [Field::PlateHoleFront, Field::PlateHoleRear].map(|field| {
                let Value::PlatePoint(at) = look.optional(field)? else { return None };
                Some([at.u.to_si(), at.w.to_si()])
            });
            let (front, rear) = (front?, rear?);
            let apart = beyond(rear[0] - front[0], 0.04, 0.16);
            Some(worse(apart, beyond(rear[1] - front[1], -3e-3, 3e-3)))
        },
        |_| 1e-3,
    ),
    way(
        "shaft-outer",
        Kind::Length,
        true,
        ("The half-shaft's outer joint", ["half_shaft.outer_inboard", "40 to 200 mm"]),
        |look| {
            let inboard = look.get_optional::<Length>(Field::HalfShaftOuterInboard)?.to_si();
            Some(beyond(inboard, 0.04, 0.2))
        },
        |_| 5e-3,
    ),
    way(
        "arm-places",
        Kind::Length,
        true,
        ("A place on the arm", ["its coordinates", "the arm between hub, pivot and wheel"]),
        arm_places,
        |_| 15e-3,
    ),
    way(
        "body-places",
        Kind::Length,
        true,
        ("A place on the body", ["its coordinates", "the room around the arm"]),
        body_places,
        |_| 15e-3,
    ),
    way(
        "shaft-place",
        Kind::Length,
        true,
        ("The half-shaft's inner joint", ["its coordinates", "a place abreast of the wheel"]),
        shaft_place,
        |_| 10e-3,
    ),
    way(
        "wheel-offset",
        Kind::Length,
        true,
        ("The wheel outboard of the hub", ["their coordinates", "20 to 160 mm"]),
        |look| {
            let off = at(look, Field::ArmWheelCentre)?.y - at(look, Field::ArmHub)?.y;
            Some(beyond(off.to_si(), 0.02, 0.16))
        },
        |_| 8e-3,
    ),
    way(
        "pivot-place",
        Kind::Length,
        true,
        ("The arm's inner pivot", ["its coordinates", "a place near the bar's axis"]),
        pivot_place,
        |_| 8e-3,
    ),
    way(
        "plate-thickness",
        Kind::Length,
        true,
        ("The plate's thickness", ["its mass over its outline, in steel", "4.5 to 11 mm"]),
        |look| {
            let area = area(&look.outline()?).abs();
            let mass = look.get_optional::<Mass>(Field::PlateMass)?.to_si();
            // Density of steel, kg/m³: common practice, no source.
            (1e-4 < area).then(|| beyond(mass / (area * 7850.0), 4.5e-3, 11e-3))
        },
        |_| 0.3e-3,
    ),
    way(
        "plate-balance",
        Kind::Length,
        true,
        ("The plate's balance point along it", ["plate.mass_at", "the middle of its outline"]),
        |look| {
            let Value::PlatePoint(at) = look.optional(Field::PlateMassAt)? else { return None };
            Some(at.u.to_si() - centroid_u(&look.outline()?)?)
        },
        |_| 25e-3,
    ),
    way(
        "plate-outline",
        Kind::Ratio,
        true,
        ("The share of its hull that the plate fills", ["its outline", "0.85 to 1"]),
        |look| {
            let outline = look.outline()?;
            let whole = area(&hull(outline.clone())).abs();
            (1e-4 < whole).then(|| beyond(area(&outline).abs() / whole, 0.85, 1.01))
        },
        |_| 0.02,
    ),
    way(
        "stop-bolt-reach",
        Kind::Length,
        true,
        ("The stop bolt's distance from the hub", ["stop_bolt.at", "the reach of the plate"]),
        stop_bolt_reach,
        |_| 8e-3,
    ),
    way(
        "front-rate",
        Kind::Frequency,
        false,
        ("How fast the nose bobs", ["front.wheel_rate under its weight", "0.8 to 2.6 Hz"]),
        front_rate,
        |_| 0.1,
    ),
    way(
        "half-tracks",
        Kind::Length,
        false,
        ("Half of the front track", ["front.half_track", "the rear wheel's place, within 15 %"]),
        |look| {
            let front = look.get_optional::<Length>(Field::FrontHalfTrack)?.to_si();
            let rear = at(look, Field::ArmWheelCentre)?.y.to_si();
            Some(beyond(front, 0.85 * rear, 1.15 * rear))
        },
        |_| 8e-3,
    ),
    way(
        "shell-mass",
        Kind::Mass,
        false,
        ("The shell on its stands", ["shell.mass", "the stages it is made of"]),
        |look| Some(shell(look)?.0),
        |_| 20.0,
    ),
    way(
        "shell-place",
        Kind::Length,
        false,
        ("The shell's centre, forward of the axis", ["shell.mass_at", "its stages"]),
        |look| Some(shell(look)?.1),
        |_| 80e-3,
    ),
    way(
        "shell-height",
        Kind::Length,
        false,
        ("The shell's centre above the bar axis", ["shell.mass_at", "100 to 600 mm"]),
        |look| {
            let Value::Place(at) = look.optional(Field::ShellMassAt)? else { return None };
            Some(beyond(at.z.to_si(), 0.1, 0.6))
        },
        |_| 18e-3,
    ),
    way(
        "gas-push",
        Kind::Force,
        true,
        ("The push of a gas damper", ["damper.fitted.gas", "70 to 500 N"]),
        |look| {
            let push = look.get_optional::<Force>(Field::DamperFittedGas)?.to_si();
            Some(if push == 0.0 { 0.0 } else { beyond(push, 70.0, 500.0) })
        },
        |_| 12.0,
    ),
    way(
        "settling",
        Kind::Length,
        true,
        ("What new parts give", ["load.settling", "up to 12 mm"]),
        |look| Some(beyond(look.get_optional::<Length>(Field::LoadSettling)?.to_si(), 0.0, 12e-3)),
        |_| 1e-3,
    ),
    way(
        "ring-heights",
        Kind::Length,
        true,
        ("The height of a ring", ["the fitted damper", "the original one, half to twice"]),
        |look| {
            let [own, other] = [Field::DamperFittedRingHeight, Field::DamperOriginalRingHeight]
                .map(|field| look.get_optional::<Length>(field));
            let other = other?.to_si();
            Some(beyond(own?.to_si(), 0.5 * other, 2.0 * other))
        },
        |_| 0.5e-3,
    ),
    way(
        "bar-sag",
        Kind::Angle,
        true,
        ("What a used bar has set", ["bar.sag", "up to 6°"]),
        |look| {
            let sag = look.get_optional::<Angle>(Field::BarSag)?.to_deg();
            Some(beyond(sag, 0.0, 6.0).to_radians())
        },
        |_| 0.2_f64.to_radians(),
    ),
    way(
        "toe-over",
        Kind::Length,
        false,
        (
            "The length over which millimetres of toe are read",
            ["toe.over", "a rim for strings, 0.2 to 0.8 m; 1 to 20 m for a light"],
        ),
        |look| {
            let over = look.get_optional::<Length>(Field::ToeOver)?.to_si();
            let Value::Word(by) = look.optional(Field::ToeBy)? else { return None };
            let light = by == axlewright_book::ToeBy::Light.word();
            let (low, high) = if light { (1.0, 20.0) } else { (0.2, 0.8) };
            Some(beyond(over, low, high))
        },
        |_| 10e-3,
    ),
    way(
        "arm-mass",
        Kind::Mass,
        true,
        ("The arm with hub and brake", ["arm.mass", "load.unsprung, 0.45 to 1.2 of it"]),
        |look| {
            let arm = look.get_optional::<Mass>(Field::ArmMass)?.to_si();
            let part = look.get_optional::<Mass>(Field::LoadUnsprung)?.to_si();
            Some(beyond(arm, 0.45 * part, 1.2 * part))
        },
        |_| 0.5,
    ),
    way(
        "unsprung-ends",
        Kind::Mass,
        false,
        ("What a front spring does not carry", ["front.unsprung", "load.unsprung, 0.6 to 1.5"]),
        |look| {
            let front = look.get_optional::<Mass>(Field::FrontUnsprung)?.to_si();
            let rear = look.get_optional::<Mass>(Field::LoadUnsprung)?.to_si();
            Some(beyond(front, 0.6 * rear, 1.5 * rear))
        },
        |_| 1.0,
    ),
    way(
        "wheel-mass",
        Kind::Mass,
        true,
        (
            "Wheel, tyre and shaft, which load.unsprung has beside the arm,",
            ["load.unsprung less the arm's share at the wheel", "8 to 27 kg"],
        ),
        |look| {
            let unsprung = look.get_optional::<Mass>(Field::LoadUnsprung)?.to_si();
            let mass = look.get_optional::<Mass>(Field::ArmMass)?.to_si();
            let lever = |field| at(look, field).map(|place| place.x.to_si());
            let share = lever(Field::ArmMassAt)? / lever(Field::ArmWheelCentre)?;
            Some(beyond(unsprung - mass * share.clamp(0.5, 1.2), 8.0, 27.0))
        },
        |_| 1.0,
    ),
    way(
        "unsprung-front",
        Kind::Mass,
        false,
        (
            "What a front spring does not carry",
            ["front.unsprung", "10 to 25 % of its corner weight"],
        ),
        |look| unsprung(look, Field::FrontUnsprung, Field::FrontCornerWeight),
        |_| 1.0,
    ),
    way(
        "unsprung-rear",
        Kind::Mass,
        true,
        ("What a rear spring does not carry", ["load.unsprung", "10 to 25 % of its corner weight"]),
        |look| unsprung(look, Field::LoadUnsprung, Field::LoadCornerWeight),
        |_| 1.0,
    ),
    way(
        "wrench-scale",
        Kind::Ratio,
        false,
        (
            "The end of a wrench's scale over its beginning, as a logarithm,",
            ["its [[wrench]]", "3 to 12 times"],
        ),
        |look| {
            let (from, to) = (rows::all(look, What::WrenchFrom), rows::all(look, What::WrenchTo));
            let spans = from.iter().zip(&to).map(|(from, to)| (to / from).ln());
            spans.map(|span| beyond(span, 3_f64.ln(), 12_f64.ln())).reduce(worse)
        },
        |_| 0.05,
    ),
    way(
        "stands-ratings",
        Kind::Ratio,
        false,
        (
            "What a stand is rated for, as a logarithm,",
            ["its rating", "that of the other stands, half to twice"],
        ),
        |look| {
            let ratings = rows::all(look, What::StandRating);
            let mut sorted = ratings.clone();
            sorted.sort_by(f64::total_cmp);
            let middle = *sorted.get(sorted.len() / 2)?;
            let off = ratings.into_iter().map(|kg| (kg / middle).ln());
            off.map(|off| beyond(off, -2_f64.ln(), 2_f64.ln())).reduce(worse)
        },
        |_| 0.02,
    ),
    way(
        "arm-camber",
        Kind::Angle,
        false,
        ("Camber of the wheel at ride", ["arm.camber", "the manual"]),
        |look| {
            let own = look.get_optional::<Angle>(Field::ArmCamber)?.to_si();
            Some(own - rows::one(look, What::ManualCamber)?)
        },
        |_| 0.6_f64.to_radians(),
    ),
    way(
        "arm-toe",
        Kind::Angle,
        false,
        ("Toe of the wheel at ride", ["arm.toe", "the manual"]),
        |look| {
            let own = look.get_optional::<Angle>(Field::ArmToe)?.to_si();
            Some(own - rows::one(look, What::ManualToe)?)
        },
        |_| 0.2_f64.to_radians(),
    ),
    way(
        "stands-floor",
        Kind::Length,
        false,
        ("The floor under the stands", ["top and height of one stand", "those of the others"]),
        stands_floor,
        |_| 12e-3,
    ),
    way(
        "stands-places",
        Kind::Length,
        false,
        ("Where a stand stands", ["its place", "that of the stand across the car"]),
        stands_places,
        |_| 15e-3,
    ),
];

/// Standard uncertainties against what a hand and a gauge can do, each way; own judgement, no
/// source. In SI: metres, kilograms, radians, shares.
fn how_sure(look: &Look) -> Option<f64> {
    let deg = std::f64::consts::PI / 180.0;
    let rows = [
        (Field::UncertaintyHardpoint, 0.3e-3, 5e-3),
        (Field::UncertaintyDistance, 0.2e-3, 5e-3),
        (Field::UncertaintyBarDiameter, 0.005e-3, 0.15e-3),
        (Field::UncertaintyBarRate, 0.004, 0.1),
        (Field::UncertaintyCornerWeight, 1.2, 30.0),
        (Field::UncertaintyScale, 0.5, 15.0),
        (Field::UncertaintyGauge, 0.03 * deg, 0.6 * deg),
        (Field::UncertaintyLevel, 0.02 * deg, 0.5 * deg),
        (Field::UncertaintyTrimReading, 0.6e-3, 12e-3),
        (Field::UncertaintyCamberReading, 0.03 * deg, 0.6 * deg),
        (Field::UncertaintyToeReading, 0.01 * deg, 0.25 * deg),
    ];
    let known = rows.into_iter().filter_map(|(field, low, high)| {
        let Value::Amount(u) = look.optional(field)? else { return None };
        let u = u.to_si();
        (0.0 < u).then(|| beyond(u.ln(), f64::ln(low), f64::ln(high)))
    });
    known.reduce(worse)
}

fn at(look: &Look, field: Field) -> Option<Place> {
    match look.optional(field)? {
        Value::Place(place) => Some(place),
        _ => None,
    }
}

fn si(place: Place) -> [f64; 3] {
    [place.x.to_si(), place.y.to_si(), place.z.to_si()]
}

/// How far a place is outside a box, along the axis where it is farthest.
fn outside(place: Place, low: [f64; 3], high: [f64; 3]) -> f64 {
    let along = si(place).into_iter().zip(low.into_iter().zip(high));
    along.map(|(x, (low, high))| beyond(x, low, high)).fold(0.0, worse)
}

/// Everything on the arm lies within 120 mm of where hub, pivot and wheel are.
fn arm_places(look: &Look) -> Option<f64> {
    const ROOM: f64 = 0.12;
    let corners = [Field::ArmHub, Field::ArmInnerPivot, Field::ArmWheelCentre];
    let [a, b, c] = corners.map(|field| at(look, field).map(si));
    let (a, b, c) = (a?, b?, c?);
    let (mut low, mut high) = (a, a);
    for corner in [b, c] {
        for ((low, high), x) in low.iter_mut().zip(&mut high).zip(corner) {
            *low = low.min(x);
            *high = high.max(x);
        }
    }
    let (low, high) = (low.map(|x| x - ROOM), high.map(|x| x + ROOM));
    let places = [
        Field::DamperArmEye,
        Field::ArmJackPoint,
        Field::ArmMassAt,
        Field::HoseArmEnd,
        Field::CableArmEnd,
    ];
    let known = places.into_iter().filter_map(|field| at(look, field));
    Some(known.map(|place| outside(place, low, high)).fold(0.0, worse))
}

/// What hangs on the body beside the arm.
fn body_places(look: &Look) -> Option<f64> {
    let wheel = si(at(look, Field::ArmWheelCentre)?);
    let (low, high) = ([wheel[0] - 0.15, 0.0, -0.25], [0.15, wheel[1], 0.5]);
    let places = [Field::DamperBodyEye, Field::HoseBodyEnd, Field::CableBodyEnd];
    let known = places.into_iter().filter_map(|field| at(look, field));
    Some(known.map(|place| outside(place, low, high)).fold(0.0, worse))
}

fn shaft_place(look: &Look) -> Option<f64> {
    let wheel = si(at(look, Field::ArmWheelCentre)?);
    let joint = at(look, Field::HalfShaftInnerJoint)?;
    let low = [wheel[0] - 0.08, 0.08, wheel[2] - 0.12];
    let high = [wheel[0] + 0.08, wheel[1] - 0.15, wheel[2] + 0.12];
    Some(outside(joint, low, high))
}

fn pivot_place(look: &Look) -> Option<f64> {
    let wheel = si(at(look, Field::ArmWheelCentre)?);
    let pivot = at(look, Field::ArmInnerPivot)?;
    Some(outside(pivot, [wheel[0] / 2.0, 0.12, -0.1], [0.02, wheel[1], 0.1]))
}

fn stop_bolt_reach(look: &Look) -> Option<f64> {
    let Value::SidePoint(bolt) = look.optional(Field::StopBoltAt)? else { return None };
    let size = |a: Length, b: Length| a.to_si().hypot(b.to_si());
    let reach = look.outline()?.iter().map(|p| size(p.u, p.w)).fold(0.0, f64::max);
    Some(beyond(size(bolt.x, bolt.z), 0.06, reach))
}

fn front_rate(look: &Look) -> Option<f64> {
    let rate = look.get_optional::<LinearRate>(Field::FrontWheelRate)?;
    let weight = look.get_optional::<Mass>(Field::FrontCornerWeight)?;
    let carried = weight - look.get_optional::<Mass>(Field::FrontUnsprung)?;
    let bobs: Frequency = axlewright_mechanics::load::natural_frequency(rate, carried).ok()?;
    Some(beyond(bobs.to_si(), 0.8, 2.6))
}

/// Shell less the nearest sum of stages, in the order of the build, with both arms or without; and
/// its centre less theirs.
fn shell(look: &Look) -> Option<(f64, f64)> {
    let mass = look.get_optional::<Mass>(Field::ShellMass)?.to_si();
    let Value::Place(place) = look.optional(Field::ShellMassAt)? else { return None };
    let arms = 2.0 * look.get_optional::<Mass>(Field::ArmMass)?.to_si();
    let (masses, places) = (rows::all(look, What::StageMass), rows::all(look, What::StageX));
    let (mut sum, mut moment) = (0.0, 0.0);
    let mut nearest: Option<(f64, f64)> = None;
    for (stage, x) in masses.iter().zip(&places) {
        sum += stage;
        moment += stage * x;
        for more in [0.0, arms] {
            let off = mass - sum - more;
            if nearest.is_none_or(|(least, _)| off.abs() < least.abs()) {
                nearest = Some((off, place.x.to_si() - moment / sum));
            }
        }
    }
    nearest
}

/// The stand whose floor is farthest from the middle one.
fn stands_floor(look: &Look) -> Option<f64> {
    let (tops, heights) = (rows::all(look, What::StandTop), rows::all(look, What::StandHeight));
    if tops.len() != heights.len() || tops.len() < 3 {
        return None;
    }
    let floors: Vec<f64> = tops.iter().zip(&heights).map(|(top, height)| top - height).collect();
    let mut sorted = floors.clone();
    sorted.sort_by(f64::total_cmp);
    let middle = *sorted.get(sorted.len() / 2)?;
    Some(floors.into_iter().map(|floor| floor - middle).fold(0.0, worse))
}

fn unsprung(look: &Look, part: Field, weight: Field) -> Option<f64> {
    let part = look.get_optional::<Mass>(part)?.to_si();
    let weight = look.get_optional::<Mass>(weight)?.to_si();
    Some(beyond(part, 0.1 * weight, 0.25 * weight))
}

/// Stands across the car from each other: X alike, Y alike but for its sign, within 60 mm.
fn stands_places(look: &Look) -> Option<f64> {
    let (xs, ys) = (rows::all(look, What::StandX), rows::all(look, What::StandY));
    let [a, b, c, d]: [(f64, f64); 4] =
        xs.into_iter().zip(ys).collect::<Vec<_>>().try_into().ok()?;
    // Written left then right, front then rear: other orders are not judged.
    let across = |(x, y): (f64, f64), (u, v): (f64, f64)| {
        worse(beyond(x - u, -0.06, 0.06), beyond(y.abs() - v.abs(), -0.06, 0.06))
    };
    // Two feet side by side need more than their own width, and a car is no wider than 2 m.
    let off = |(_, y): (f64, f64)| beyond(y.abs(), 0.15, 1.0);
    let each = [a, b, c, d].map(off).into_iter().fold(0.0, worse);
    let pairs = 0.0 < a.1 && b.1 < 0.0 && 0.0 < c.1 && d.1 < 0.0;
    pairs.then(|| worse(each, worse(across(a, b), across(c, d))))
}

/// Twice signed area halved: the shoelace formula. m².
fn area(points: &[PlatePoint]) -> f64 {
    let next = points.iter().skip(1).chain(points.first());
    let each = points.iter().zip(next);
    each.map(|(a, b)| a.u.to_si() * b.w.to_si() - b.u.to_si() * a.w.to_si()).sum::<f64>() / 2.0
}

fn centroid_u(points: &[PlatePoint]) -> Option<f64> {
    let area = area(points);
    let next = points.iter().skip(1).chain(points.first());
    let moment: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| {
            let cross = a.u.to_si() * b.w.to_si() - b.u.to_si() * a.w.to_si();
            (a.u.to_si() + b.u.to_si()) * cross
        })
        .sum();
    (1e-6 < area.abs()).then(|| moment / (6.0 * area))
}

/// The convex hull, by Andrew's monotone chain.
fn hull(mut points: Vec<PlatePoint>) -> Vec<PlatePoint> {
    let key = |p: &PlatePoint| (p.u.to_si(), p.w.to_si());
    points.sort_by(|a, b| key(a).0.total_cmp(&key(b).0).then(key(a).1.total_cmp(&key(b).1)));
    let half = |points: &mut dyn Iterator<Item = PlatePoint>| {
        let mut chain: Vec<PlatePoint> = Vec::new();
        for p in points {
            while let [.., a, b] = chain.as_slice() {
                let turn = (b.u - a.u).to_si() * (p.w - a.w).to_si()
                    - (b.w - a.w).to_si() * (p.u - a.u).to_si();
                if 0.0 < turn {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut whole = half(&mut points.iter().copied());
    whole.extend(half(&mut points.iter().rev().copied()));
    whole
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(u: f64, w: f64) -> PlatePoint {
        PlatePoint { u: Length::mm(u), w: Length::mm(w) }
    }

    /// A rectangle of 200 by 100 mm with its middle at u = 100 mm; a spike does not fill its hull.
    #[test]
    fn areas_by_hand() {
        let flat = [point(0.0, -50.0), point(200.0, -50.0), point(200.0, 50.0), point(0.0, 50.0)];
        assert!((area(&flat) - 0.02).abs() < 1e-12);
        assert!((centroid_u(&flat).unwrap() - 0.1).abs() < 1e-12);
        let mut spiked = flat.to_vec();
        spiked.insert(3, point(100.0, 10.0));
        assert_eq!(hull(spiked.clone()).len(), 4);
        // The notch is a triangle of 200 by 40 mm.
        assert!((area(&spiked) - 0.016).abs() < 1e-12);
        assert!((area(&hull(spiked)) - 0.02).abs() < 1e-12);
    }
}

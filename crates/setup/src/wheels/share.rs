//! What the change of bars does to the share of roll stiffness, and what is looked at again.

use axlewright_book::Field;
use axlewright_mechanics::car::Pair;
use axlewright_mechanics::car::stages::{Axle, RollShare, roll_share};
use axlewright_quantity::{Length, LinearRate, Side};

use super::bench::Bench;
use super::whole::Sight;
use crate::cautions::{self, Caution};
use crate::engine::Recipe;
use crate::finding::{Finding, Item, Why};
use crate::look::Look;
use crate::model;

/// Shares that differ by less are the same to any driver: own choice.
const FELT: f64 = 0.01;

/// Wheel rate and distance of the contact from the middle, at ride, the bar's rate multiplied.
fn rear_corner(look: &Look, of_bar: f64) -> Option<(LinearRate, Length)> {
    let corner = model::corner(look);
    let ride = model::ride_angle(look);
    let load = model::spring_load(look);
    let mut corner = corner?;
    let (ride, load) = (ride?, load?);
    corner.bar_rate = corner.bar_rate * of_bar;
    let free = look.ok(corner.free_angle_for(ride, load))?;
    let rate = look.ok(corner.wheel_rate(ride, free))?;
    let contact = look.ok(corner.linkage.stance(corner.shift.at(ride)))?.contact;
    Some((rate, contact.y))
}

/// What the original bar's rate was to the fitted one's: both round, one length and one steel.
fn of_original(look: &Look) -> Option<f64> {
    let (old, new) = (model::manual_bar(look), look.get::<Length>(Field::BarFittedDiameter));
    let bore = look.get::<Length>(Field::BarBore)?;
    let fourth = |length: Length| length.to_mm().powi(4);
    let (old, new) = (fourth(old?), fourth(new?) - fourth(bore));
    Some(old / new)
}

fn share(sight: &Sight, of_bar: Pair<f64>) -> Option<RollShare> {
    let rears = Pair::of(|side| rear_corner(sight.at(side), of_bar[side]));
    let fronts = Pair::of(|side| {
        let look = sight.at(side);
        let rate = look.get::<LinearRate>(Field::FrontWheelRate);
        let half = look.get::<Length>(Field::FrontHalfTrack);
        Some((rate?, half?))
    });
    let left = sight.at(Side::Left);
    let couplings = (left.get(Field::AntiRollFront), left.get(Field::AntiRollRear));
    let (tyre_front, tyre_rear) =
        (left.get_optional(Field::FrontTyreRate), left.get_optional(Field::TyreRate));
    let axle = |both: Pair<Option<(LinearRate, Length)>>, tyre_rate, coupling| {
        let (left, right) = (both.left?, both.right?);
        let wheel_rate = LinearRate::n_per_m((left.0.to_n_per_m() + right.0.to_n_per_m()) / 2.0);
        Some(Axle { wheel_rate, tyre_rate, coupling, track: left.1 + right.1 })
    };
    let front = axle(fronts, tyre_front, couplings.0);
    let rear = axle(rears, tyre_rear, couplings.1);
    couplings.0?;
    couplings.1?;
    sight.ok(roll_share(&front?, &rear?))
}

fn part(share: &RollShare) -> Item {
    Item::Object(vec![
        ("front", Item::leaf(share.front)),
        ("rear", Item::leaf(share.rear)),
        ("front_share", Item::leaf(share.front_share)),
    ])
}

/// Adds `car.roll-share`; where the share moves, the caution too.
pub(crate) fn add(bench: &mut Bench, told: &mut Vec<Caution>) {
    let recipe = Recipe {
        id: "car.roll-share",
        at: None,
        formula: "K = ½·c·t² + c_a·t², tyres in series; front share = K_f/(K_f + K_r)",
        source: "statics, elastic parts only; docs/method.md, whole car",
    };
    let f = |sight: &Sight| {
        let ratios = Pair::of(|side| of_original(sight.at(side)));
        let after = share(sight, Pair::both(1.0));
        let ratios = Pair { left: ratios.left?, right: ratios.right? };
        let before = share(sight, ratios)?;
        let after = after?;
        let moved = after.front_share - before.front_share;
        Some(Item::Object(vec![
            ("front_share", Item::leaf(after.front_share)),
            ("change", Item::leaf(moved)),
            ("before", part(&before)),
            ("after", part(&after)),
        ]))
    };
    bench.add(recipe, f, words);
    if let Some(found) = bench.findings.last().filter(|f| f.id == "car.roll-share") {
        let moved = found.value.get("change").and_then(Item::amount).map_or(0.0, |a| a.to_si());
        if FELT <= moved.abs() {
            told.push(cautions::roll_share(&found.why.words, moved < 0.0));
        }
    }
}

fn words(item: &Item) -> String {
    let number = |path: &[&str]| {
        let found = path.iter().try_fold(item, |item, name| item.get(name));
        found.and_then(Item::amount).map_or(f64::NAN, |a| a.to_si() * 100.0)
    };
    let (before, after) = (number(&["before", "front_share"]), number(&["front_share"]));
    format!(
        "With the bars the manual was written for, the front carried {before:.0} % of the roll \
         stiffness; with those going in it carries {after:.0} %."
    )
}

/// One look again: after how many kilometres, and what at.
struct Recheck {
    from: i64,
    to: i64,
    what: &'static [&'static str],
}

/// Common practice, no source.
const RECHECKS: [Recheck; 3] = [
    Recheck {
        from: 5,
        to: 5,
        what: &[
            "hub nuts to their torque, wheels on the floor, cotters in",
            "paint marks on every bolt of the rear in line",
            "brake hoses and joints dry, hose free of twist at full droop and full bump",
            "trim left and right, written down",
        ],
    },
    Recheck {
        from: 100,
        to: 100,
        what: &[
            "trim left and right: new bars and bushes have given most of what they will",
            "paint marks in line; a bolt that moved is renewed or brought to torque again",
            "hub nuts and cotters",
            "brake hoses, handbrake cable",
        ],
    },
    Recheck {
        from: 500,
        to: 1000,
        what: &[
            "trim left and right, another round on the wheels if it moved more than 2 mm",
            "camber and toe, alignment sheet",
            "paint marks, hub nuts and cotters, hoses",
            "damper rings and stop bolts for marks of hard contact",
        ],
    },
];

/// Adds `car.rechecks`.
pub(crate) fn add_rechecks(findings: &mut Vec<Finding>) {
    let row = |recheck: &Recheck| {
        let what = recheck.what.iter().map(|what| Item::Word((*what).to_owned())).collect();
        Item::Object(vec![
            ("from", Item::Count(recheck.from, "km")),
            ("to", Item::Count(recheck.to, "km")),
            ("what", Item::List(what)),
        ])
    };
    let why = Why {
        words: "Bars, bushes and joints settle in the first kilometres: at 5, at 100 and between \
                500 and 1000 km the same things are looked at again, and what was found is written \
                down."
            .to_owned(),
        formula: "5 km, 100 km, 500 to 1000 km",
        source: "common practice, no source",
        inputs: Vec::new(),
    };
    let value = Item::List(RECHECKS.iter().map(row).collect());
    findings.push(Finding { id: "car.rechecks", of: None, at: None, value, why });
}

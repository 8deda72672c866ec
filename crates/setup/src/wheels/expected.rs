//! What the car should read on its wheels, stage by stage, so that a half-built car sitting high
//! alarms nobody.

use axlewright_book::Field;
use axlewright_mechanics::car::{Rest, Wheel};
use axlewright_quantity::{Length, Side};

use super::bench::Bench;
use super::whole::{Case, Sight, car_on_floor};
use crate::engine::Recipe;
use crate::finding::Item;
use crate::say::{kg, mm};

pub(crate) const MODEL: &str = "least potential energy of body, bars, tyres and gas on four wheels; own derivation, \
                     docs/method.md, whole car";

/// The four wheels, each with its name in a finding.
pub(crate) const WHEELS: [(&str, Wheel); 4] = [
    ("LF", Wheel::LeftFront),
    ("RF", Wheel::RightFront),
    ("LR", Wheel::LeftRear),
    ("RR", Wheel::RightRear),
];

/// The two rear wheels, each with its name in a finding.
pub(crate) const REARS: [(&str, Side); 2] = [("LR", Side::Left), ("RR", Side::Right)];

/// An object with one part for each wheel.
pub(crate) fn by_wheel(of: impl Fn(Wheel) -> Item) -> Item {
    Item::Object(WHEELS.map(|(name, wheel)| (name, of(wheel))).into())
}

/// An object with one part for each rear wheel.
pub(crate) fn by_rear(of: impl Fn(Side) -> Item) -> Item {
    Item::Object(REARS.map(|(name, side)| (name, of(side))).into())
}

/// All that scales, tape and gauges read off a car at rest.
pub(crate) fn readings(rest: &Rest) -> Vec<(&'static str, Item)> {
    let total = WHEELS.iter().map(|(_, wheel)| rest.weights[*wheel]).reduce(|a, b| a + b);
    vec![
        ("total", Item::maybe(total)),
        ("weight", by_wheel(|wheel| Item::leaf(rest.weights[wheel]))),
        ("cross_weight", Item::leaf(rest.cross_weight)),
        ("trim", by_rear(|side| Item::leaf(rest.rear[side].trim))),
        ("trim_difference", Item::leaf(rest.rear.left.trim - rest.rear.right.trim)),
        ("plate_angle", by_rear(|side| Item::leaf(rest.rear[side].plate_angle))),
        ("camber", by_rear(|side| Item::maybe(rest.rear[side].angles.map(|a| a.camber)))),
        ("toe", by_rear(|side| Item::maybe(rest.rear[side].angles.map(|a| a.toe)))),
        ("nose_up", Item::leaf(rest.attitude.pitch)),
        ("left_up", Item::leaf(rest.attitude.roll)),
    ]
}

/// The car of a case, at rest on the floor as measured.
pub(crate) fn rest(sight: &Sight, case: &Case) -> Option<Rest> {
    let car = car_on_floor(sight, case)?;
    sight.ok(car.rest())
}

/// What new bars and bushes will still give, the same for both sides or each its own.
pub(crate) fn settling(sight: &Sight, side: Side) -> Option<Length> {
    sight.at(side).get(Field::LoadSettling)
}

/// The finding of one case.
pub(crate) fn value(sight: &Sight, case: &Case) -> Option<Item> {
    let settled: [Option<Length>; 2] = Side::BOTH.map(|side| settling(sight, side));
    let rest = rest(sight, case)?;
    let [left, right] = settled;
    let (left, right) = (left?, right?);
    let (stage, load) = sight.facts.words(case);
    let mut parts = vec![("stage", Item::Word(stage)), ("load", Item::Word(load))];
    parts.extend(readings(&rest));
    let after = |side: Side| {
        let settling = if side == Side::Left { left } else { right };
        Item::leaf(rest.rear[side].trim - settling)
    };
    parts.push(("trim_settled", by_rear(after)));
    Some(Item::Object(parts))
}

/// The finding of one case in words.
fn words(item: &Item) -> String {
    let text = |name: &str| match item.get(name) {
        Some(Item::Word(word)) => word.clone(),
        _ => String::new(),
    };
    let length = |of: &str, name: &str| {
        let amount = item.get(of).and_then(|all| all.get(name)).and_then(Item::amount);
        amount.and_then(|a| Length::try_from(a).ok()).map_or("?".to_owned(), |l| mm(l, 0))
    };
    let mass = |name: &str| {
        let amount = item.get("weight").and_then(|all| all.get(name)).and_then(Item::amount);
        let mass = amount.and_then(|a| axlewright_quantity::Mass::try_from(a).ok());
        mass.map_or("?".to_owned(), kg)
    };
    let (stage, load) = (text("stage"), text("load"));
    let what = if load.is_empty() { stage } else { format!("{stage}, {load}") };
    format!(
        "Rolled and settled, {what}: trim {} left and {} right, {} and {} once new parts have \
         given; scales {} and {} in front, {} and {} behind.",
        length("trim", "LR"),
        length("trim", "RR"),
        length("trim_settled", "LR"),
        length("trim_settled", "RR"),
        mass("LF"),
        mass("RF"),
        mass("LR"),
        mass("RR"),
    )
}

pub(crate) const fn recipe(id: &'static str) -> Recipe {
    Recipe {
        id,
        at: None,
        formula: "H + G_i − h_i + (N_i − N_0)/c_t = 0; M_i(q) + F_i·dG_i/dq = 0; ΣF_i = m·g; \
                  ΣF_i·P_i = m·g·c",
        source: MODEL,
    }
}

/// The finding of one case, or what it waits for.
pub(crate) fn add(bench: &mut Bench, case: &Case) -> bool {
    bench.add(recipe("car.expected"), |sight| value(sight, case), words)
}

/// Trims and weights of each stage in one list.
pub(crate) fn add_stages(bench: &mut Bench) {
    let stages: Vec<usize> = bench.facts.stages().map(|(i, _)| i).collect();
    if stages.is_empty() {
        return;
    }
    // A stage that does not stand on four wheels is left out: that is said where it is asked for.
    let stands = |i: &usize| {
        let case = Case { stage: Some(*i), loads: Vec::new() };
        bench.plain(|sight| rest(sight, &case)).is_some()
    };
    let standing: Vec<usize> = stages.into_iter().filter(stands).collect();
    if standing.is_empty() {
        return;
    }
    let f = |sight: &Sight| {
        let one = |i: &usize| value(sight, &Case { stage: Some(*i), loads: Vec::new() });
        standing.iter().map(one).collect::<Option<Vec<Item>>>().map(Item::List)
    };
    bench.add(recipe("car.stages"), f, |item| {
        let first = item.items().first();
        let trim = first.and_then(|one| one.get("trim")).and_then(|t| t.get("LR"));
        let high = trim.and_then(Item::amount).and_then(|a| Length::try_from(a).ok());
        let high = high.map_or("high".to_owned(), |l| mm(l, 0));
        format!(
            "On its wheels the car comes down stage by stage, each with all those before it: it \
             starts at a trim of {high} on the left, and no bar is wrong for that."
        )
    });
}

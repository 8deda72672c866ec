//! What the car should read on its wheels, stage by stage, so that a half-built car sitting high
//! alarms nobody.

use std::cell::RefCell;

use axlewright_book::Field;
use axlewright_mechanics::car::{Car, CarError, Rest, Wheel};
use axlewright_quantity::{Length, Side};

use super::bench::{Bench, Moves};
use super::whole::{Case, Seen, Sight, car_on_floor, chassis};
use crate::engine::Recipe;
use crate::finding::Item;
use crate::say::{kg, mm};

pub(crate) const MODEL: &str = "least potential energy of body, bars, tyres and gas on four \
    wheels; own derivation, docs/method.md, whole car";

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
        ("trim_read", by_rear(|side| Item::leaf(rest.rear[side].trim))),
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

/// The finding of one case, if the car stands on four wheels.
fn value_of(sight: &Sight, case: &Case, rest: &Rest, settled: [Length; 2]) -> Item {
    let (stage, load) = sight.facts.words(case);
    let mut parts = vec![("stage", Item::Word(stage)), ("load", Item::Word(load))];
    parts.extend(readings(rest));
    let [left, right] = settled;
    let after = |side: Side| {
        let settling = if side == Side::Left { left } else { right };
        Item::leaf(rest.rear[side].trim - settling)
    };
    parts.push(("trim_settled", by_rear(after)));
    Item::Object(parts)
}

fn both_settlings(sight: &Sight) -> Option<[Length; 2]> {
    let [left, right] = Side::BOTH.map(|side| settling(sight, side));
    Some([left?, right?])
}

/// The finding of one case.
pub(crate) fn value(sight: &Sight, case: &Case) -> Option<Item> {
    let settled = both_settlings(sight);
    let rest = rest(sight, case)?;
    Some(value_of(sight, case, &rest, settled?))
}

/// What is worked out once for the finished car and its stages together: the nudging of every
/// number is what takes time.
pub(crate) struct Survey {
    pub(crate) seen: Seen,
    moves: Moves,
    finished: Item,
    stages: Vec<Item>,
}

/// Leaves behind those of the cases: sprung mass and its centre, forward and to the left.
const CARRIED: usize = 3;

impl Survey {
    /// The finished car and every stage that stands on four wheels; or what that waits for.
    pub(crate) fn of(bench: &mut Bench) -> Option<Self> {
        let stages: Vec<Case> = (bench.facts.stages())
            .map(|(i, _)| Case { stage: Some(i), loads: Vec::new() })
            .filter(|case| bench.plain(|sight| rest(sight, case)).is_some())
            .collect();
        let cases: Vec<Case> = [Case::default()].into_iter().chain(stages).collect();
        // Where each case rests as the facts stand: moved by a doubt it rests nearby.
        let known: RefCell<Vec<Rest>> = RefCell::default();
        let rest_of = |car: &Car, at: usize| {
            let near = known.borrow().get(at).copied();
            let rest = near.map_or_else(|| car.rest(), |near| car.rest_near(&near))?;
            if near.is_none() {
                known.borrow_mut().push(rest);
            }
            Ok::<_, CarError>(rest)
        };
        let f = |sight: &Sight| {
            let settled = both_settlings(sight);
            let Some(chassis) = chassis(sight) else {
                // Asks for what the springs carry too, for the gaps.
                return car_on_floor(sight, &Case::default()).map(|_| Item::Nothing);
            };
            let mut items = Vec::new();
            let mut carried = None;
            for (at, case) in cases.iter().enumerate() {
                let car = chassis.carrying(sight, case)?;
                carried = carried.or(Some(car.sprung));
                let rest = sight.ok(rest_of(&car, at))?;
                items.push(value_of(sight, case, &rest, settled?));
            }
            let sprung = carried?;
            items.push(Item::leaf(sprung.mass));
            items.push(Item::leaf(sprung.centre.x));
            items.push(Item::leaf(sprung.centre.y));
            Some(Item::List(items))
        };
        let sight = Sight::plain(bench.facts);
        let Some(all) = f(&sight) else {
            bench.wait_for("car.expected", &sight.into_seen());
            return None;
        };
        let seen = sight.into_seen();
        let moves = bench.moves(&seen, &all, &f);
        let mut items = all.items().to_vec();
        items.truncate(items.len().saturating_sub(CARRIED));
        let finished = items.first()?.clone();
        let stages = items.into_iter().skip(1).collect();
        Some(Self { seen, moves, finished, stages })
    }

    /// Of the finished car: what each cause does to each of its leaves.
    pub(crate) fn finished_moves(&self) -> Moves {
        self.moves.of(0..self.finished.leaves().len())
    }

    /// What each cause does to sprung mass and centre.
    pub(crate) fn carried_moves(&self) -> Moves {
        let before: usize = self.finished.leaves().len()
            + self.stages.iter().map(|stage| stage.leaves().len()).sum::<usize>();
        self.moves.of(before..before + CARRIED)
    }

    /// The place of a leaf of the finished car among [`Self::finished_moves`].
    pub(crate) fn leaf(&self, path: [&str; 2]) -> Option<usize> {
        let wanted = self.finished.get(path[0])?.get(path[1])?.as_leaf()?;
        self.finished.leaves().into_iter().position(|leaf| std::ptr::eq(leaf, wanted))
    }

    /// Adds `car.expected` and `car.stages`.
    pub(crate) fn add(&self, bench: &mut Bench) {
        let moves = self.finished_moves();
        let all = (&self.seen, &moves);
        bench.put(recipe("car.expected"), self.finished.clone(), all, words);
        if self.stages.is_empty() {
            return;
        }
        let from = self.finished.leaves().len();
        let to = from + self.stages.iter().map(|stage| stage.leaves().len()).sum::<usize>();
        let moves = self.moves.of(from..to);
        let value = Item::List(self.stages.clone());
        bench.put(recipe("car.stages"), value, (&self.seen, &moves), stage_words);
    }
}

fn stage_words(item: &Item) -> String {
    let first = item.items().first();
    let trim = first.and_then(|one| one.get("trim_read")).and_then(|t| t.get("LR"));
    let high = trim.and_then(Item::amount).and_then(|a| Length::try_from(a).ok());
    let high = high.map_or("high".to_owned(), |l| mm(l, 0));
    format!(
        "On its wheels the car comes down stage by stage, each with all those before it: it starts \
         at a trim of {high} on the left, and no bar is wrong for that."
    )
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
        length("trim_read", "LR"),
        length("trim_read", "RR"),
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

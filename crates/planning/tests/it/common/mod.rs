//! Invented work for tests and benches: mirrored halves, several places, shared tools.
#![allow(dead_code, reason = "each test file uses its own part")]

use axlewright_planning::{Arc, Change, Draft, Feature, Part, Reason, Task, Time};

/// A chance sequence of the tests' own (Marsaglia, "Xorshift RNGs", J. Stat. Software 8 (2003)).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 33) % limit.max(1) as u64) as usize
    }
    pub fn one_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }
}

fn feature(name: &str, one: &str, values: &[&str], start: Option<&str>, otherwise: i64) -> Feature {
    Feature {
        name: name.to_owned(),
        change: one.to_owned(),
        changes: format!("{one}s"),
        values: values.iter().map(|v| (*v).to_owned()).collect(),
        start: start.map(str::to_owned),
        otherwise: Time::seconds(otherwise),
        costs: Vec::new(),
    }
}

fn cost(feature: &mut Feature, from: &str, to: &str, seconds: i64) {
    let (from, to) = (from.to_owned(), to.to_owned());
    feature.costs.push(Change { from, to, time: Time::seconds(seconds) });
}

pub fn features() -> Vec<Feature> {
    let places = ["bench", "left", "right", "front", "below"];
    let mut station = feature("station", "walk", &places, Some("bench"), 40);
    cost(&mut station, "left", "right", 60);
    cost(&mut station, "right", "left", 60);
    cost(&mut station, "front", "below", 80);
    let mut jack = feature("jack", "jack move", &["hang", "raised", "ride"], Some("hang"), 240);
    cost(&mut jack, "hang", "ride", 300);
    let mut hands = feature("hands", "hand wash", &["clean", "greasy", "dry"], Some("clean"), 0);
    cost(&mut hands, "greasy", "clean", 120);
    cost(&mut hands, "greasy", "dry", 150);
    cost(&mut hands, "clean", "dry", 20);
    let tools = ["socket", "wrench", "small wrench", "hammer", "gauge", "brush", "pliers", "press"];
    let tool = feature("tool", "tool change", &tools, None, 15);
    vec![station, jack, hands, tool]
}

/// About `steps` tasks in phases, most of them twice (left and right), with arcs inside a phase and
/// from phase to phase.
pub fn invented(steps: usize, seed: u64) -> Draft {
    invented_in(1 + steps / 14, steps, seed)
}

/// The same in a given number of phases; fewer phases leave more freedom and are harder.
pub fn invented_in(phases: usize, steps: usize, seed: u64) -> Draft {
    let mut chance = Chance::new(seed);
    let mut draft = Draft { features: features(), ..Draft::default() };
    let pairs = steps / 2;
    for pair in 0..pairs {
        let phase = pair * phases / pairs;
        let jack = ["hang", "hang", "raised", "ride", ""][chance.below(5)];
        let hands = ["clean", "greasy", "greasy", "dry", "", ""][chance.below(6)];
        let tool = chance.below(11);
        let place = chance.below(8);
        for side in ["left", "right"] {
            let id = format!("p{phase}-{pair}-{side}");
            let station = match place {
                0 => "bench",
                1 => "below",
                2 => "front",
                _ => side,
            };
            let time = Time::minutes(3 + (pair * 7 % 20) as i64);
            let mut task = Task::new(&id, "an invented step", time).at("station", station);
            if !jack.is_empty() {
                task = task.at("jack", jack);
            }
            if !hands.is_empty() {
                task = task.at("hands", hands);
            }
            if let Some(tool) = draft.features[3].values.get(tool) {
                task = task.at("tool", &tool.clone());
            }
            if chance.one_in(9) {
                let part = format!("part-{pair}-{side}");
                draft.parts.push(Part { id: part.clone(), words: "an invented part".to_owned() });
                task = task.with(&part);
            }
            draft.tasks.push(task);
        }
    }
    arcs(&mut draft, pairs, phases, &mut chance);
    draft
}

fn arcs(draft: &mut Draft, pairs: usize, phases: usize, chance: &mut Chance) {
    let phase = |pair: usize| pair * phases / pairs;
    let id = |pair: usize, side: &str| format!("p{}-{pair}-{side}", phase(pair));
    for pair in 1..pairs {
        for _ in 0..2 {
            let back = 1 + chance.below(5);
            if back > pair {
                continue;
            }
            let reason = [Reason::Said, Reason::Part, Reason::Geometry][chance.below(3)];
            let crossed = chance.one_in(8);
            for (side, other) in [("left", "right"), ("right", "left")] {
                let from = id(pair - back, if crossed { other } else { side });
                let words = "an invented reason";
                draft.arcs.push(Arc::new(&from, &id(pair, side), reason, words));
            }
        }
        // Two phases on, nothing may be left behind.
        for earlier in (0..pair).filter(|&e| phase(e) + 2 == phase(pair)) {
            for (a, b) in [("left", "left"), ("right", "right")] {
                let (from, to) = (id(earlier, a), id(pair, b));
                draft.arcs.push(Arc::new(&from, &to, Reason::Said, "phase after phase"));
            }
        }
    }
}

/// What one change costs by its cheapest way, worked out here and not by the crate.
pub fn changeovers(feature: &Feature) -> Vec<Vec<i64>> {
    let len = feature.values.len();
    let find = |name: &String| feature.values.iter().position(|v| v == name).unwrap();
    let mut cost = vec![vec![feature.otherwise.to_seconds(); len]; len];
    for change in &feature.costs {
        cost[find(&change.from)][find(&change.to)] = change.time.to_seconds();
    }
    for (at, row) in cost.iter_mut().enumerate() {
        row[at] = 0;
    }
    // As long as some third value helps, use it.
    let mut helped = true;
    while helped {
        helped = false;
        for a in 0..len {
            for b in 0..len {
                for c in 0..len {
                    if cost[a][b] + cost[b][c] < cost[a][c] {
                        cost[a][c] = cost[a][b] + cost[b][c];
                        helped = true;
                    }
                }
            }
        }
    }
    cost
}

pub fn start(draft: &Draft) -> Vec<Option<usize>> {
    let find = |f: &Feature| f.values.iter().position(|v| Some(v) == f.start.as_ref());
    draft.features.iter().map(find).collect()
}

pub fn asks(draft: &Draft, task: &Task) -> Vec<Option<usize>> {
    let ask = |feature: &Feature| {
        let (_, value) = task.context.iter().find(|(name, _)| *name == feature.name)?;
        feature.values.iter().position(|v| v == value)
    };
    draft.features.iter().map(ask).collect()
}

/// Replays a whole order from the draft alone: every task once, every arc kept. The changeover in
/// seconds.
pub fn check(draft: &Draft, order: &[usize]) -> i64 {
    check_rest(draft, &[], order, &start(draft)).0
}

/// The same from a state on; also what is in hand at the end.
pub fn check_rest(
    draft: &Draft,
    done: &[usize],
    order: &[usize],
    hand: &[Option<usize>],
) -> (i64, Vec<Option<usize>>) {
    let mut finished: Vec<&str> = done.iter().map(|&t| draft.tasks[t].id.as_str()).collect();
    let cost: Vec<_> = draft.features.iter().map(changeovers).collect();
    let (mut hand, mut sum) = (hand.to_vec(), 0);
    for &at in order {
        let task = &draft.tasks[at];
        assert!(!finished.contains(&task.id.as_str()), "{} twice", task.id);
        for arc in draft.arcs.iter().filter(|arc| arc.after == task.id) {
            assert!(finished.contains(&arc.before.as_str()), "{} too soon", task.id);
        }
        for (f, ask) in asks(draft, task).into_iter().enumerate() {
            if let Some(to) = ask {
                sum += hand[f].map_or(0, |from| cost[f][from][to]);
                hand[f] = Some(to);
            }
        }
        finished.push(&task.id);
    }
    assert_eq!(finished.len(), draft.tasks.len(), "some task is missing");
    (sum, hand)
}

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
    let tools =
        ["socket", "wrench", "small wrench", "hammer", "gauge", "brush", "pliers", "press"];
    let tool = feature("tool", "tool change", &tools, None, 15);
    vec![station, jack, hands, tool]
}

/// About `steps` tasks in phases, most of them twice (left and right), with arcs inside a phase and
/// from phase to phase.
pub fn invented(steps: usize, seed: u64) -> Draft {
    let mut chance = Chance::new(seed);
    let mut draft = Draft { features: features(), ..Draft::default() };
    let phases = 1 + steps / 14;
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

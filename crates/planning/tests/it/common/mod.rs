//! Invented work for tests and benches: jobs like the demo car's.
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

/// What the demo car's steps ask for, and what its changeovers cost.
pub fn features() -> Vec<Feature> {
    let places = ["left", "right", "under left", "under right", "bench", "round the car", "nose"];
    let mut station = feature("station", "walk", &places, None, 60);
    for (one, other) in [
        ("left", "right"),
        ("under left", "under right"),
        ("left", "under right"),
        ("right", "under left"),
        ("nose", "left"),
        ("nose", "right"),
    ] {
        cost(&mut station, one, other, 120);
        cost(&mut station, other, one, 120);
    }
    let mut hands = feature("hands", "hand wash", &["clean", "greasy", "dry"], None, 0);
    cost(&mut hands, "greasy", "clean", 180);
    cost(&mut hands, "greasy", "dry", 180);
    let tool = feature("tool", "tool change", &TOOLS, None, 60);
    let car = feature("car", "time up or down", &["on stands", "on its wheels"], None, 0);
    let arm = |name: &str| {
        let mut arm = feature(name, "jack move", &["bar out", "hang", "clear", "ride"], None, 360);
        cost(&mut arm, "bar out", "hang", 0);
        cost(&mut arm, "hang", "bar out", 0);
        arm
    };
    vec![station, hands, tool, car, arm("left arm"), arm("right arm")]
}

/// The first is asked for far more often than any other.
const TOOLS: [&str; 17] = [
    "ratchet",
    "angle gauge",
    "steel rule",
    "lamp",
    "torque wrench",
    "paint pen",
    "hub nut wrench",
    "line spanner",
    "jack handle",
    "micrometer",
    "drill",
    "brush",
    "mallet",
    "large torque wrench",
    "spring pliers",
    "ring spanner",
    "wheel brace",
];

/// About `steps` tasks in phases of some fourteen.
pub fn invented(steps: usize, seed: u64) -> Draft {
    job(1 + steps / 14, steps, seed)
}

/// A job like the demo car's: phases one after the other, most steps twice (left and right), some
/// for the whole car; shares of what is asked for, and of hold points, counted from the demo.
pub fn job(phases: usize, steps: usize, seed: u64) -> Draft {
    let mut chance = Chance::new(seed);
    let mut draft = Draft { features: features(), ..Draft::default() };
    let mut rows: Vec<Row> = Vec::new();
    while draft.tasks.len() < steps {
        let phase = draft.tasks.len() * phases / steps;
        let last = (draft.tasks.len() + 2) * phases / steps > phase;
        let closes = last && !chance.one_in(4);
        let mirrored = !closes && draft.tasks.len() + 2 <= steps && !chance.one_in(3);
        let mut row = Row::new(&mut chance, rows.len(), (phase, phases), mirrored);
        row.closes = closes;
        row.hold |= closes;
        for &side in row.sides {
            let task = row.task(side);
            for part in &task.parts {
                let words = "an invented part".to_owned();
                draft.parts.push(Part { id: part.clone(), words });
            }
            draft.tasks.push(task);
        }
        row.comes_after(&mut draft, &rows, &mut chance);
        rows.push(row);
    }
    draft
}

/// One line of an invented job: one step, or one for each side.
struct Row {
    number: usize,
    phase: usize,
    sides: &'static [&'static str],
    station: &'static str,
    hands: &'static str,
    tool: Option<&'static str>,
    /// Of the arm; `wheels` for the whole car on its wheels.
    position: Option<&'static str>,
    minutes: i64,
    needs: bool,
    hold: bool,
    /// Whether all of its phase comes before it.
    closes: bool,
}

impl Row {
    fn new(
        chance: &mut Chance,
        number: usize,
        (phase, phases): (usize, usize),
        mirrored: bool,
    ) -> Self {
        let outer = phase == 0 || phase + 2 >= phases;
        let arms = ["hang", "hang", "hang", "clear", "clear", "bar out", "ride"];
        let position = match (outer, mirrored) {
            (true, _) if chance.one_in(3) => Some("wheels"),
            (false, true) if chance.one_in(3) => Some(arms[chance.below(arms.len())]),
            _ => None,
        };
        let stations = if mirrored {
            ["", "", "", "", "", "under "]
        } else {
            ["bench", "bench", "bench", "round the car", "round the car", "nose"]
        };
        let hands = ["clean", "clean", "clean", "clean", "clean", "clean", "greasy", "greasy"];
        let tools = [0, 0, 0, 1 + chance.below(TOOLS.len() - 1), 1 + chance.below(6)];
        Self {
            number,
            phase,
            sides: if mirrored { &["left", "right"] } else { &["both"] },
            station: stations[chance.below(6)],
            hands: if chance.one_in(60) { "dry" } else { hands[chance.below(8)] },
            tool: (!chance.one_in(4)).then(|| TOOLS[tools[chance.below(5)]]),
            position,
            minutes: 5 + 5 * chance.below(6) as i64,
            needs: chance.one_in(9),
            hold: chance.one_in(4),
            closes: false,
        }
    }

    fn id(&self, side: &str) -> String {
        format!("p{}-{}-{side}", self.phase, self.number)
    }

    fn task(&self, side: &str) -> Task {
        let place = if side == "both" { String::new() } else { side.to_owned() };
        let station = format!("{}{place}", self.station);
        let time = Time::minutes(self.minutes);
        let mut task = Task::new(&self.id(side), "an invented step", time)
            .at("station", &station)
            .at("hands", self.hands);
        if let Some(tool) = self.tool {
            task = task.at("tool", tool);
        }
        match self.position {
            Some("wheels") => task = task.at("car", "on its wheels"),
            Some(position) => {
                task = task.at("car", "on stands").at(&format!("{side} arm"), position);
            }
            None => {}
        }
        if self.needs {
            task = task.with(&format!("part-{}-{side}", self.number));
        }
        task
    }

    /// After one or two of the rows before it, mostly near ones, and after every hold point of an
    /// earlier phase on its side.
    fn comes_after(&self, draft: &mut Draft, rows: &[Self], chance: &mut Chance) {
        let reasons = [Reason::Said, Reason::Part, Reason::Geometry];
        let mut before: Vec<(&Self, Reason)> = Vec::new();
        for _ in 0..[0, 1, 1, 1, 1, 2, 2, 3, 3, 4][chance.below(10)] {
            let back = 1 + chance.below(5);
            let earlier = rows.len().checked_sub(back).and_then(|at| rows.get(at));
            before.extend(earlier.map(|row| (row, reasons[chance.below(3)])));
        }
        let earlier = rows.iter().filter(|row| {
            (row.hold && row.phase < self.phase) || (self.closes && row.phase == self.phase)
        });
        before.extend(earlier.map(|row| (row, Reason::Said)));
        for (row, reason) in before {
            for from in row.sides {
                for to in self.sides {
                    if *from == *to || *from == "both" || *to == "both" {
                        let (from, to) = (row.id(from), self.id(to));
                        draft.arcs.push(Arc::new(&from, &to, reason, "an invented reason"));
                    }
                }
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

//! Published orders: best known values are come close to and never beaten, bounds never above them.
//!
//! An instance of the literature is work for this planner where no arc is dearer than a way round:
//! each task then asks for a place of its own, and going from place to place costs what the
//! instance says.
//!
//! Instances: TSPLIB, SOP, Reinelt, ORSA J. Computing 3 (1991), 376. Best known values from the
//! later literature's tables, second hand.

use axlewright_planning::{
    Arc, Change, Control, Draft, Effort, Feature, Reason, State, Task, Time, Work, plan,
};

/// Name, text, best known value.
const INSTANCES: [(&str, &str, i64); 3] = [
    ("ESC07", include_str!("../sop/ESC07.sop"), 2_125),
    ("ft53.3", include_str!("../sop/ft53.3.sop"), 10_262),
    ("ft70.4", include_str!("../sop/ft70.4.sop"), 53_530),
];
/// How far above the best known value an order may stay after few moves, in parts per thousand.
const EXCESS: i64 = 50;

/// Row: from, column: to; −1 where the column comes before the row.
struct Instance {
    len: usize,
    cost: Vec<i64>,
}

impl Instance {
    fn read(text: &str) -> Self {
        let body = text.split("EDGE_WEIGHT_SECTION").nth(1).unwrap().replace("EOF", " ");
        let numbers: Vec<i64> = body.split_whitespace().map(|w| w.parse().unwrap()).collect();
        let (len, cost) = (numbers[0] as usize, numbers[1..].to_vec());
        assert_eq!(cost.len(), len * len);
        Self { len, cost }
    }

    /// What going there directly costs; `None` where no order does: to itself, backwards, and from
    /// the first to the last past all the others.
    fn arc(&self, from: usize, to: usize) -> Option<i64> {
        let cost = self.cost[from * self.len + to];
        (from != to && cost >= 0 && (from, to) != (0, self.len - 1)).then_some(cost)
    }

    fn draft(&self) -> Draft {
        let name = |at: usize| format!("{at}");
        let pairs = || (0..self.len).flat_map(|i| (0..self.len).map(move |j| (i, j)));
        let costs = pairs().filter_map(|(i, j)| {
            Some(Change { from: name(i), to: name(j), time: Time::seconds(self.arc(i, j)?) })
        });
        let place = Feature {
            name: "place".to_owned(),
            change: "walk".to_owned(),
            changes: "walks".to_owned(),
            values: (0..self.len).map(name).collect(),
            start: None,
            otherwise: Time::LONGEST,
            costs: costs.collect(),
        };
        let task = |at: usize| Task::new(&name(at), "as published", Time::ZERO);
        let before = pairs().filter(|(i, j)| i != j && self.cost[i * self.len + j] == -1);
        Draft {
            features: vec![place],
            tasks: (0..self.len).map(|at| task(at).at("place", &name(at))).collect(),
            arcs: before
                .map(|(i, j)| Arc::new(&name(j), &name(i), Reason::Said, "as published"))
                .collect(),
            ..Draft::default()
        }
    }

    /// Precedences and cost of an order, from the numbers alone.
    fn replay(&self, order: &[usize]) -> i64 {
        let mut sorted = order.to_vec();
        sorted.sort_unstable();
        assert_eq!(sorted, (0..self.len).collect::<Vec<_>>());
        for (place, &i) in order.iter().enumerate() {
            for &later in &order[place + 1..] {
                assert_ne!(self.cost[i * self.len + later], -1, "{later} must come before {i}");
            }
        }
        order.windows(2).map(|pair| self.arc(pair[0], pair[1]).unwrap()).sum()
    }
}

#[test]
fn no_arc_is_dearer_than_a_way_round() {
    for (name, text, _) in INSTANCES {
        let it = Instance::read(text);
        for (i, j, k) in
            (0..it.len.pow(3)).map(|n| (n % it.len, n / it.len % it.len, n / it.len / it.len))
        {
            if let (Some(direct), Some(there), Some(on)) =
                (it.arc(i, j), it.arc(i, k), it.arc(k, j))
            {
                assert!(direct <= there + on, "{name}: {i} to {j} by {k}");
            }
        }
    }
}

#[test]
fn best_known_orders_are_come_close_to_and_never_beaten() {
    for (name, text, best) in INSTANCES {
        let it = Instance::read(text);
        let work = Work::new(it.draft()).unwrap();
        let effort = Effort::of(60_000);
        let found = plan(&work, &State::fresh(&work), None, effort, &mut |_| Control::Go);
        let value = it.replay(&found.order());
        assert_eq!(value, found.cost.changeover.to_seconds(), "{name}");
        assert!(value >= best, "{name}: {value} beats {best}: a bug or news");
        let bound = found.bound.to_seconds();
        assert!(bound <= best, "{name}: bound {bound} above {best}");
        let above = 1000 * (value - best);
        assert!(above <= EXCESS * best, "{name}: {value} instead of {best}");
        assert_eq!(found.proven(), name == "ESC07", "{name}: bound {bound}");
    }
}

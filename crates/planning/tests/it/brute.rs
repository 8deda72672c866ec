//! The search against every possible order, on thousands of small random pieces of work.

use crate::common::{self, Chance, check};
use axlewright_planning::{
    Arc, Change, Control, Draft, Effort, Feature, Reason, State, StoppedBy, Task, Time, Work,
    WorkError, plan,
};

fn random_feature(chance: &mut Chance, name: &str) -> Feature {
    let values: Vec<String> = (0..2 + chance.below(3)).map(|v| format!("v{v}")).collect();
    let mut costs = Vec::new();
    for from in &values {
        for to in values.iter().filter(|to| *to != from) {
            let time = Time::seconds(chance.below(12) as i64);
            costs.push(Change { from: from.clone(), to: to.clone(), time });
        }
    }
    Feature {
        name: name.to_owned(),
        change: "change".to_owned(),
        changes: "changes".to_owned(),
        start: (!chance.one_in(3)).then(|| values[0].clone()),
        values,
        otherwise: Time::seconds(5),
        costs,
    }
}

/// Up to nine tasks; with `loops` the arcs may go round.
fn random_draft(chance: &mut Chance, loops: bool) -> Draft {
    let len = if chance.one_in(12) { 8 + chance.below(2) } else { 1 + chance.below(7) };
    let features: Vec<Feature> =
        (0..1 + chance.below(3)).map(|f| random_feature(chance, &format!("f{f}"))).collect();
    let mut draft = Draft { features, ..Draft::default() };
    for at in 0..len {
        let mut task = Task::new(&format!("t{at}"), "words", Time::seconds(60));
        for feature in &draft.features {
            if !chance.one_in(3) {
                let value = &feature.values[chance.below(feature.values.len())];
                task = task.at(&feature.name, value);
            }
        }
        draft.tasks.push(task);
    }
    for _ in 0..chance.below(2 * len) {
        let (a, b) = (chance.below(len), chance.below(len));
        let (a, b) = if loops || a < b { (a, b) } else { (b, a) };
        if a != b {
            let (a, b) = (format!("t{a}"), format!("t{b}"));
            draft.arcs.push(Arc::new(&a, &b, Reason::Said, "so it is"));
        }
    }
    draft
}

/// Every allowed order, cut off where it is no better than the best so far.
struct Brute<'a> {
    draft: &'a Draft,
    cost: Vec<Vec<Vec<i64>>>,
    asks: Vec<Vec<Option<usize>>>,
    before: Vec<u32>,
    best: Option<i64>,
}

impl Brute<'_> {
    fn least(draft: &Draft) -> Option<i64> {
        let id = |name: &str| draft.tasks.iter().position(|t| t.id == name).unwrap();
        let mut before = vec![0_u32; draft.tasks.len()];
        for arc in &draft.arcs {
            before[id(&arc.after)] |= 1 << id(&arc.before);
        }
        let hand = common::start(draft);
        let cost = draft.features.iter().map(common::changeovers).collect();
        let asks = draft.tasks.iter().map(|task| common::asks(draft, task)).collect();
        let mut it = Brute { draft, cost, asks, before, best: None };
        it.go(0, hand, 0);
        it.best
    }

    fn go(&mut self, done: u32, hand: Vec<Option<usize>>, paid: i64) {
        if self.best.is_some_and(|best| paid >= best) {
            return;
        }
        if done.count_ones() as usize == self.draft.tasks.len() {
            self.best = Some(paid);
            return;
        }
        for task in 0..self.draft.tasks.len() {
            if done >> task & 1 == 0 && self.before[task] & !done == 0 {
                let mut next = hand.clone();
                let mut more = 0;
                for (f, ask) in self.asks[task].iter().enumerate() {
                    if let Some(to) = *ask {
                        more += next[f].map_or(0, |from| self.cost[f][from][to]);
                        next[f] = Some(to);
                    }
                }
                self.go(done | 1 << task, next, paid + more);
            }
        }
    }
}

#[test]
fn five_thousand_pieces_of_work_against_every_order() {
    let mut chance = Chance::new(11);
    let (mut looped, mut cut) = (0, 0);
    for round in 0..5_000 {
        let draft = random_draft(&mut chance, round % 4 == 0);
        let least = Brute::least(&draft);
        let work = match (Work::new(draft.clone()), least) {
            (Ok(work), Some(_)) => work,
            (Err(errors), None) => {
                assert!(errors.iter().any(|e| matches!(e, WorkError::Loop(_))), "{errors:?}");
                looped += 1;
                continue;
            }
            (work, least) => panic!("{least:?} but {work:?} for {draft:?}"),
        };
        let state = State::fresh(&work);
        let found = plan(&work, &state, None, Effort::of(200_000), &mut |_| Control::Go);
        let cost = check(&draft, &found.order());
        assert_eq!(Some(cost), least, "round {round}: {draft:?}");
        assert_eq!(found.cost.changeover.to_seconds(), cost);
        assert_eq!(found.bound.to_seconds(), cost, "round {round}");
        assert_eq!(found.stopped_by, StoppedBy::Proof);
        let parts: i64 = found.at_least.iter().map(|share| share.time.to_seconds()).sum();
        assert!(parts <= cost, "{parts} > {cost}");
        for (most, least) in found.cost.features.iter().zip(&found.at_least) {
            assert!(least.changes <= most.changes && least.time <= most.time);
        }
        // Stopped at once, the bound still holds and the order is still allowed.
        let hasty = plan(&work, &state, None, Effort::of(0), &mut |_| Control::Stop);
        assert!(hasty.bound.to_seconds() <= cost && check(&draft, &hasty.order()) >= cost);
        cut += i32::from(hasty.stopped_by != StoppedBy::Proof);
    }
    assert!(looped > 200, "{looped} loops met");
    assert!(cut < 5_000, "{cut}");
}

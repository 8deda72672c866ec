//! Plans of larger work: checked by replay, improved by less, never spoilt by starting again.

use crate::common::{self, Chance, check, check_rest, invented};
use axlewright_planning::{
    Arc, Blocker, Control, Draft, Effort, Feature, Plan, Reason, State, StoppedBy, Task, Time,
    Work, plan, standing, why,
};

fn solve(work: &Work, state: &State, known: Option<&[usize]>, moves: u64) -> Plan {
    plan(work, state, known, Effort::of(moves), &mut |_| Control::Go)
}

#[test]
fn forty_steps_are_proven_and_replay() {
    for seed in 1..6 {
        let draft = invented(40, seed);
        let work = Work::new(draft.clone()).unwrap();
        let found = solve(&work, &State::fresh(&work), None, 300_000);
        assert!(found.proven(), "seed {seed}: {found:?}");
        assert_eq!(check(&draft, &found.order()), found.cost.changeover.to_seconds());
        let parts: Time = found.cost.features.iter().map(|share| share.time).sum();
        assert_eq!(parts, found.cost.changeover);
        let stops: Time = found.stops.iter().flat_map(|s| &s.changes).map(|c| c.time).sum();
        assert_eq!(stops, found.cost.changeover);
    }
}

#[test]
fn same_input_same_plan() {
    let work = Work::new(invented(70, 2)).unwrap();
    let state = State::fresh(&work);
    let once = solve(&work, &state, None, 8_000);
    assert_eq!(once, solve(&work, &state, None, 8_000));
    assert_eq!(once.stopped_by, StoppedBy::Effort);
    assert!(once.bound < once.cost.changeover, "not proven: otherwise this says little");
}

#[test]
fn an_arc_less_never_costs_more() {
    let mut chance = Chance::new(5);
    let mut cheaper = 0;
    for seed in 1..40 {
        let draft = invented(16, seed);
        let work = Work::new(draft.clone()).unwrap();
        let with = solve(&work, &State::fresh(&work), None, 200_000);
        let mut less = draft.clone();
        less.arcs.remove(chance.below(less.arcs.len()));
        let work = Work::new(less).unwrap();
        let without = solve(&work, &State::fresh(&work), None, 200_000);
        assert!(with.proven() && without.proven());
        assert!(without.cost.changeover <= with.cost.changeover);
        cheaper += i32::from(without.cost.changeover < with.cost.changeover);
    }
    assert!(cheaper > 0, "some arc must have mattered");
}

#[test]
fn planning_again_on_the_way_never_spoils_the_rest() {
    for seed in 1..4 {
        let draft = invented(40, seed);
        let work = Work::new(draft.clone()).unwrap();
        // Cut short, so that the rest can still be improved.
        let first = solve(&work, &State::fresh(&work), None, 2_000);
        let order = first.order();
        for k in [1, 7, 20, 33, 40] {
            let mut state = State::fresh(&work);
            order[..k].iter().for_each(|&task| state.finish(&work, task));
            let start = common::start(&draft);
            let (done, rest) = order.split_at(k);
            let until: Vec<usize> = done.to_vec();
            let hand = hand_after(&draft, &until, &start);
            let (old, _) = check_rest(&draft, done, rest, &hand);
            let again = solve(&work, &state, Some(rest), 500);
            let (new, _) = check_rest(&draft, done, &again.order(), &hand);
            assert_eq!(new, again.cost.changeover.to_seconds());
            assert!(new <= old, "seed {seed}, after {k}: {new} > {old}");
        }
    }
}

fn hand_after(draft: &Draft, done: &[usize], hand: &[Option<usize>]) -> Vec<Option<usize>> {
    let mut hand = hand.to_vec();
    for &task in done {
        for (slot, ask) in hand.iter_mut().zip(common::asks(draft, &draft.tasks[task])) {
            *slot = ask.or(*slot);
        }
    }
    hand
}

#[test]
fn stopping_gives_the_best_so_far_with_a_bound() {
    let draft = invented(70, 2);
    let work = Work::new(draft.clone()).unwrap();
    for (control, by) in
        [(Control::Stop, StoppedBy::User), (Control::OutOfTime, StoppedBy::Seconds)]
    {
        let mut calls = 0;
        let found =
            plan(&work, &State::fresh(&work), None, Effort::of(u64::MAX), &mut |progress| {
                calls += 1;
                assert!(progress.bound <= progress.value);
                if calls < 3 { Control::Go } else { control }
            });
        assert_eq!(found.stopped_by, by);
        assert!(found.bound <= found.cost.changeover);
        check(&draft, &found.order());
    }
}

/// Bench, car and a missing part, small enough to see.
fn small() -> Draft {
    let mut draft = Draft {
        features: vec![Feature {
            name: "station".into(),
            change: "walk".into(),
            changes: "walks".into(),
            values: vec!["bench".into(), "car".into()],
            start: Some("bench".into()),
            otherwise: Time::seconds(30),
            costs: Vec::new(),
        }],
        parts: vec![axlewright_planning::Part { id: "bush".into(), words: "a bush".into() }],
        ..Draft::default()
    };
    draft.tasks = vec![
        Task::new("clean", "clean it", Time::minutes(5)).at("station", "bench"),
        Task::new("press", "press the bush in", Time::minutes(9))
            .at("station", "bench")
            .with("bush"),
        Task::new("fit", "fit it", Time::minutes(15)).at("station", "car"),
        Task::new("sweep", "sweep the floor", Time::minutes(4)),
        Task::new("measure", "measure the car", Time::minutes(3)).at("station", "car"),
    ];
    draft.arcs = vec![
        Arc::new("clean", "press", Reason::Said, "grease does not press"),
        Arc::new("press", "fit", Reason::Part, "it is fitted with its bush in"),
    ];
    draft
}

#[test]
fn what_now_and_what_waits() {
    let work = Work::new(small()).unwrap();
    let state = State::named(&work, &[], &["bush"]).unwrap();
    let stands = standing(&work, &state);
    let [clean, press, fit, sweep, measure] = [0, 1, 2, 3, 4];
    assert_eq!(stands.now, [clean, sweep, measure]);
    assert_eq!(stands.blocked.len(), 2);
    assert_eq!(stands.blocked[0].0, press);
    assert_eq!(stands.blocked[0].1, [Blocker::Task { task: clean, link: 0 }, Blocker::Part(0)]);
    assert_eq!(stands.held_up, [(0, vec![press, fit])]);
    let tonight = solve(&work, &state, None, 1_000);
    assert_eq!(tonight.waiting, [press, fit]);
    assert_eq!(tonight.cost.changeover, Time::seconds(30));
    assert_eq!(tonight.cost.work, Time::minutes(12));
    assert_eq!(tonight.bound_in_words(&work), "at least 1 walk");
    assert_eq!(why(&work, fit), [0, 1]);
    assert!(why(&work, clean).is_empty());
    // Done out of turn: said, not refused.
    let state = State::named(&work, &["fit"], &[]).unwrap();
    assert_eq!(standing(&work, &state).skipped, [(fit, press)]);
}

#[test]
fn every_mistake_is_named_at_once() {
    let mut draft = small();
    draft.tasks[0].time = Time::seconds(-1);
    draft.tasks[1].parts.push("nut".into());
    draft.tasks[2] = draft.tasks[2].clone().at("station", "bench").at("mood", "good");
    draft.tasks[3].context.push(("station".into(), "moon".into()));
    draft.tasks[4].id = "fit".into();
    draft.arcs.push(Arc::new("fit", "ghost", Reason::Said, "?"));
    draft.arcs.push(Arc::new("clean", "clean", Reason::Said, "?"));
    draft.features[0].otherwise = Time::days(9_999);
    let mut words: Vec<String> =
        Work::new(draft).unwrap_err().iter().map(ToString::to_string).collect();
    words.sort();
    let want = [
        "'clean' is asked to come before itself",
        "'fit' asks for both 'car' and 'bench' of station; split it in two",
        "task 'fit' names the feature 'mood', which does not exist",
        "task 'press' names the part 'nut', which does not exist",
        "task 'sweep' names the value 'moon', which does not exist",
        "the arc 'fit' before 'ghost' names the task 'ghost', which does not exist",
        "the time of feature 'station' is 239976 h; it must lie between 0 and 10000 h",
        "the time of task 'clean' is −1 s; it must lie between 0 and 10000 h",
        "two tasks are called 'fit'; each needs a name of its own",
    ];
    assert_eq!(words, want);
}

#[test]
fn nothing_to_do_is_a_plan() {
    let work = Work::new(Draft::default()).unwrap();
    let found = solve(&work, &State::fresh(&work), None, 1_000);
    assert!(found.proven() && found.stops.is_empty());
    assert_eq!(found.bound_in_words(&work), "no changes are needed");
}

//! Getting back to something: the least to undo, in an order that works, and the way forward again.

use crate::common::{self, Chance, invented};
use axlewright_planning::{
    Arc, BackOutError, Control, Draft, Effort, Reason, State, Task, Time, Undo, Work, back_out,
};

fn draft() -> Draft {
    let mut draft = Draft { features: common::features(), ..Draft::default() };
    let task = |id: &str, minutes: i64, station: &str| {
        Task::new(id, "words", Time::minutes(minutes)).at("station", station)
    };
    draft.tasks = vec![
        task("plate", 10, "left"),
        Task { undo: Undo::Nothing, ..task("read", 5, "left") },
        task("cover", 20, "left"),
        task("hose", 5, "right"),
        Task { undo: Undo::Never, ..task("seal", 5, "bench") },
        task("arm", 30, "left"),
    ];
    draft.arcs = vec![
        Arc::new("plate", "read", Reason::Part, "it is read on the plate"),
        Arc::new("read", "cover", Reason::Said, "read it before it is covered"),
        Arc::new("plate", "cover", Reason::Geometry, "the plate does not go in past the cover"),
        Arc::new("cover", "arm", Reason::Part, "the arm hangs on the cover's bolts"),
        Arc::new("hose", "seal", Reason::Part, "the seal closes the hose's way"),
    ];
    draft
}

fn go(
    work: &Work,
    done: &[&str],
    ways: &[&[&str]],
) -> Result<(Vec<String>, Vec<String>, usize), BackOutError> {
    let state = State::named(work, done, &[]).unwrap();
    let ways: Vec<Vec<usize>> =
        ways.iter().map(|way| way.iter().map(|id| work.task(id).unwrap()).collect()).collect();
    let found = back_out(work, &state, &ways, Effort::of(5_000), &mut |_| Control::Go)?;
    let names = |stops: &[axlewright_planning::Stop]| {
        stops.iter().map(|stop| work.tasks()[stop.task].id.clone()).collect()
    };
    Ok((names(&found.undo), names(&found.again), found.way))
}

#[test]
fn what_rests_on_it_goes_first_and_readings_are_taken_again() {
    let work = Work::new(draft()).unwrap();
    let all = ["plate", "read", "cover", "arm", "hose"];
    let (undo, again, _) = go(&work, &all, &[&["plate"]]).unwrap();
    assert_eq!(undo, ["arm", "cover", "plate"], "the hose stays");
    assert_eq!(again, ["plate", "read", "cover", "arm"]);
    let (undo, again, _) = go(&work, &["plate", "read"], &[&["plate"]]).unwrap();
    assert_eq!((undo, again), (vec!["plate".into()], vec!["plate".into(), "read".into()]));
}

#[test]
fn the_cheapest_way_in_is_taken_and_the_impossible_is_named() {
    let work = Work::new(draft()).unwrap();
    let all = ["plate", "read", "cover", "arm", "hose"];
    let (undo, _, way) = go(&work, &all, &[&["plate"], &["hose"]]).unwrap();
    assert_eq!((undo, way), (vec!["hose".into()], 1));
    let sealed = ["plate", "read", "cover", "arm", "hose", "seal"];
    let (undo, _, way) = go(&work, &sealed, &[&["hose"], &["arm"]]).unwrap();
    assert_eq!((undo, way), (vec!["arm".into()], 1));
    assert_eq!(go(&work, &sealed, &[&["hose"]]), Err(BackOutError::Never("seal".into())));
    assert_eq!(go(&work, &["plate"], &[&["arm"]]), Err(BackOutError::NotDone("arm".into())));
    assert_eq!(go(&work, &["plate"], &[&[]]), Err(BackOutError::Nothing));
}

/// On larger work: taking the steps of the answer off one by one never takes away what something
/// still done rests on, nothing less would do, and doing them again breaks no arc.
#[test]
fn undoing_never_pulls_the_ground_away() {
    let mut chance = Chance::new(41);
    for seed in 1..25 {
        let draft = invented(30, seed);
        let work = Work::new(draft.clone()).unwrap();
        let mut state = State::fresh(&work);
        let order: Vec<usize> = (0..30).collect();
        order.iter().for_each(|&task| state.finish(&work, task));
        let target = chance.below(30);
        let found =
            back_out(&work, &state, &[vec![target]], Effort::of(2_000), &mut |_| Control::Go)
                .unwrap();
        let mut done: Vec<usize> = order;
        let holds = |done: &[usize], task: usize| {
            let rests = |l: &&axlewright_planning::Link| {
                l.arc.holds && l.before == task && done.contains(&l.after)
            };
            work.links().iter().find(rests).map(|link| link.after)
        };
        for stop in &found.undo {
            assert_eq!(holds(&done, stop.task), None, "seed {seed}");
            done.retain(|&task| task != stop.task);
        }
        assert!(!done.contains(&target));
        for stop in found.undo.iter().filter(|stop| stop.task != target) {
            let rests = work
                .links()
                .iter()
                .any(|l| l.after == stop.task && l.arc.holds && !done.contains(&l.before));
            assert!(rests, "seed {seed}: {} need not be undone", stop.task);
        }
        for stop in &found.again {
            for link in work.links().iter().filter(|link| link.after == stop.task) {
                assert!(done.contains(&link.before), "seed {seed}");
            }
            done.push(stop.task);
        }
        assert_eq!(done.len(), 30);
    }
}

//! The car file, superseded by the log.

use super::*;
use axlewright_book::log::{Unfigured, check, import_of};
use axlewright_book::{CarFile, Origin, PartState, Problem, ReadingWhat, read};
use axlewright_quantity::{Angle, Side};

fn plate_angle(car: &CarFile, side: Side) -> Option<(f64, Origin)> {
    let reading =
        car.readings.iter().rfind(|r| r.what == ReadingWhat::PlateAngle && r.side == Some(side))?;
    let angle = Angle::try_from(reading.value.value).ok()?;
    Some(((angle.to_deg() * 10.0).round() / 10.0, reading.origin()))
}

fn words(problems: &[Problem]) -> Vec<&str> {
    problems.iter().map(|problem| problem.what.as_str()).collect()
}

#[test]
fn the_car_file_is_the_state_before_the_first_entry() {
    let (car, problems) = book(&[]).car();
    let (alone, own) = read(CAR);
    assert!(own.is_empty(), "{own:?}");
    assert_eq!((car, problems), (alone, own));
    assert_eq!(fold(log(&[])).car(), (CarFile::default(), Vec::new()));
}

#[test]
fn a_reading_supersedes_that_of_its_side_only() {
    let state = book(&[Body::Reading(plate_reading("left", "33.0 deg"))]);
    let (car, _) = state.car();
    assert_eq!(plate_angle(&car, Side::Left), Some((33.0, Origin::Entry(2))));
    assert_eq!(plate_angle(&car, Side::Right), Some((27.1, Origin::Line(19))));
    let of_left = car
        .readings
        .iter()
        .filter(|r| r.what == ReadingWhat::PlateAngle && r.side == Some(Side::Left));
    assert_eq!(of_left.count(), 1);
    assert_eq!(Origin::Entry(2).to_string(), "entry 2");
}

#[test]
fn the_last_attempt_is_the_plate_reading_of_its_side() {
    let mut state = book(&[
        Body::Attempt(attempt("left", (-7, 8), "30.6 deg")),
        Body::Attempt(attempt("left", (1, 0), "31.1 deg")),
    ]);
    assert_eq!(plate_angle(&state.car().0, Side::Left), Some((31.1, Origin::Entry(3))));
    state.after(entry(4, strike(3)));
    assert_eq!(plate_angle(&state.car().0, Side::Left), Some((30.6, Origin::Entry(2))));
    state.after(entry(5, strike(2)));
    assert_eq!(plate_angle(&state.car().0, Side::Left), Some((35.2, Origin::Line(10))));
}

#[test]
fn how_the_car_was_before_strip_down_is_not_how_it_is() {
    let before = axlewright_book::log::Reading {
        stage: text("before strip-down"),
        ..plate_reading("left", "12.0 deg")
    };
    let state = book(&[Body::Reading(before)]);
    assert_eq!(plate_angle(&state.car().0, Side::Left), Some((35.2, Origin::Line(10))));
    let kept = state.facts().readings.keys().filter(|key| key.stage.is_some());
    assert_eq!(kept.count(), 1);
}

#[test]
fn rounds_and_what_was_moved_after_them_come_in_order() {
    let moved = |by: &str| {
        let (corner, adjuster) = ("LR".to_owned(), "anchor".to_owned());
        Body::Moved(axlewright_book::log::Moved { corner, adjuster, by: by.to_owned() })
    };
    let state =
        book(&[Body::Round(round("99 mm")), moved("-1"), moved("2"), Body::Round(round("96 mm"))]);
    let (car, problems) = state.car();
    let told: Vec<(Option<u64>, usize)> =
        car.rounds.iter().map(|round| (round.entry, round.moved_after.len())).collect();
    assert_eq!(told, [(Some(2), 2), (Some(5), 0)]);
    let trim: Vec<(&str, Origin)> = car
        .readings
        .iter()
        .filter(|r| r.what == ReadingWhat::Trim)
        .map(|r| (r.value.text.as_str(), r.origin()))
        .collect();
    assert_eq!(trim, [("96 mm", Origin::Entry(5))]);
    // 99 mm was in a round of the log: it was taken over, not contradicted.
    assert!(problems.is_empty(), "{problems:?}");
}

#[test]
fn bolts_go_on_from_where_the_car_file_leaves_them() {
    let marked = bolt("hub-cover-left", 1, "paint-marked", None);
    let (car, problems) = book(&[marked]).car();
    assert!(problems.is_empty(), "{problems:?}");
    let states = car.joint_states();
    let first = &states.iter().find(|s| s.joint == "hub-cover-left").unwrap().bolts[0];
    assert_eq!(first.marked, Some(Origin::Entry(2)));
    assert!(matches!(first.torqued.as_ref().map(|t| t.origin), Some(Origin::Line(_))));
    let opened = bolt("hub-cover-left", 1, "open", None);
    let (car, _) = book(&[opened]).car();
    let states = car.joint_states();
    let first = &states.iter().find(|s| s.joint == "hub-cover-left").unwrap().bolts[0];
    assert_eq!(first.loosened, Some(Origin::Entry(2)));
}

#[test]
fn parts_and_steps_are_where_the_log_says() {
    let due = Part { due: text("1964-05-13"), ..part("bar-left", PartHappened::Due) };
    let early = Part { due: text("1964-05-01"), ..part("bar-right", PartHappened::Ordered) };
    let fitted = part("plate-left", PartHappened::Fitted);
    let parts = [due, early, fitted].map(Body::Part);
    let bodies = [parts.as_slice(), &[step("look", StepHappened::Done)]].concat();
    let (car, problems) = book(&bodies).car();
    assert!(problems.is_empty(), "{problems:?}");
    let told = |id: &str| {
        let part = car.part(id).unwrap();
        (part.state, part.back_in_days.as_ref().map(|days| days.value), part.entry)
    };
    assert_eq!(told("bar-left"), (Some(PartState::Out), Some(9), Some(2)));
    assert_eq!(told("bar-right"), (Some(PartState::Out), Some(0), Some(3)));
    assert_eq!(told("plate-left"), (Some(PartState::Fitted), None, Some(4)));
    assert_eq!(told("plate-right"), (Some(PartState::Out), None, None));
    assert_eq!(car.done, ["look"]);
}

#[test]
fn what_the_changed_car_file_no_longer_has_is_told() {
    let smaller =
        "format = 1\n[[reading]]\nwhat = \"plate angle\"\nside = \"left\"\nvalue = \"1 deg\"\n";
    let bodies = [
        bolt("hub-cover-left", 2, "snug", None),
        Body::Part(part("bar-left", PartHappened::Fitted)),
        step("look", StepHappened::Done),
        Body::Reading(plate_reading("left", "33 deg")),
        Body::CarFile { text: smaller.to_owned() },
    ];
    let state = book(&bodies);
    let (car, problems) = state.car();
    assert_eq!(plate_angle(&car, Side::Left), Some((33.0, Origin::Entry(5))));
    assert!(car.done.is_empty() && car.bolts.is_empty());
    let told = words(&problems);
    for said in [
        "entry 2 speaks of the joint `hub-cover-left`, which the car file does not have",
        "entry 3 speaks of the part `bar-left`, which the car file does not have",
        "entry 4 speaks of the step `look`, which the car file does not have",
        "this plate angle reads 1 deg; entry 5 of the log reads 33 deg, and that holds",
    ] {
        assert!(told.contains(&said), "{said}: {told:?}");
    }
    assert_eq!(state.car_texts().map(|(seq, _)| seq).collect::<Vec<_>>(), [1, 6]);
    // The car file before counts again once the later one is struck.
    let mut state = state;
    state.after(entry(7, strike(6)));
    let (_, problems) = state.car();
    let told = words(&problems);
    let superseded =
        "this plate angle reads 35.2 deg; entry 5 of the log reads 33 deg, and that holds";
    assert_eq!(told, [superseded]);
    assert_eq!(state.file().map(|file| file.seq), Some(1));
}

#[test]
fn what_is_taken_over_from_the_car_file_says_the_same() {
    let (car, _) = read(CAR);
    let bodies = import_of(&car);
    assert_eq!(bodies.len(), 3);
    let begun = book(&[]);
    for body in &bodies {
        check(&begun, body, &Unfigured).unwrap();
    }
    let (after, problems) = book(&bodies).car();
    assert!(problems.is_empty(), "{problems:?}");
    assert_eq!(after.readings.len(), car.readings.len());
    for (was, is) in car.readings.iter().zip(&after.readings) {
        assert_eq!((was.what, was.side, was.corner), (is.what, is.side, is.corner));
        assert_eq!((was.value.value, &was.value.text), (is.value.value, &is.value.text));
        assert_eq!(
            (was.arrow, was.hung, was.lash, was.seat),
            (is.arrow, is.hung, is.lash, is.seat)
        );
        assert!(is.entry.is_some());
    }
    // The demo's too.
    let demo = include_str!("../../../../../examples/larch-1300/car.toml");
    let file = Body::CarFile { text: demo.to_owned() };
    let bodies = import_of(&read(demo).0);
    assert!(4 <= bodies.len());
    let state = fold(log(&[vec![file], bodies].concat()));
    assert_eq!(state.unfolded().count(), 0);
    let (car, problems) = state.car();
    let spoken: Vec<&Problem> = problems.iter().filter(|p| p.what.contains("entry")).collect();
    assert!(spoken.is_empty(), "{spoken:?}");
    assert!(car.readings.iter().all(|reading| reading.entry.is_some()));
}

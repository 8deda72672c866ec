//! What the log says counts in the findings, and says where it comes from.

use super::{LARCH, LEFT, RIGHT, assessed, demo, finding};
use axlewright_book::log::{self, Body, Entry, StepHappened, import_of};
use axlewright_setup::order::{Control, OrderQuestion, order};
use axlewright_setup::{Assessment, Subject, assess, changed};

fn book(bodies: Vec<Body>) -> log::State {
    let at = "2026-11-25T21:00:00Z".to_owned();
    let file = Body::CarFile { text: LARCH.to_owned() };
    let bodies = std::iter::once(file).chain(bodies).zip(1..);
    log::fold(bodies.map(|(body, seq)| Entry { seq, at: at.clone(), by: "me".to_owned(), body }))
}

fn left_at(value: &str) -> Body {
    let text = |text: &str| Some(text.to_owned());
    Body::Reading(log::Reading {
        what: "plate angle".to_owned(),
        side: text("left"),
        value: value.to_owned(),
        arrow: text("nose"),
        hung: text("plate"),
        lash: text("lifted"),
        seat: text("reference line"),
        ..log::Reading::default()
    })
}

fn ids(before: &Assessment, after: &Assessment) -> Vec<(&'static str, Option<Subject>)> {
    changed(before, after).into_iter().map(|change| (change.id, change.of)).collect()
}

#[test]
fn a_reading_in_the_log_changes_its_side_and_a_strike_changes_it_back() {
    let before = assess(&book(vec![]).car().0);
    assert_eq!(ids(&before, demo()), []);
    let mut state = book(vec![left_at("33.2 deg")]);
    let after = assess(&state.car().0);
    let told = ids(&before, &after);
    assert!(told.contains(&("free-angle.now", Some(LEFT))), "{told:?}");
    assert!(told.contains(&("free-angle.left-right", None)), "{told:?}");
    assert!(told.iter().all(|(_, of)| *of != Some(RIGHT)), "{told:?}");
    let now = finding(&after, "free-angle.now", &LEFT, None);
    let from: Vec<&str> = now.why.inputs.iter().map(|input| input.from.as_str()).collect();
    assert!(from.iter().any(|from| from.ends_with("entry 2")), "{from:?}");
    let change = changed(&before, &after);
    let change = change.iter().find(|c| c.id == "free-angle.now").unwrap();
    let shown = |item: &Option<axlewright_setup::Item>| {
        item.as_ref().and_then(|item| item.amount()).map(|amount| amount.shown())
    };
    let (was, is) = (shown(&change.before).unwrap(), shown(&change.after).unwrap());
    assert!((was - is - 2.0).abs() < 1e-9, "{was} to {is}");

    let at = "2026-11-25T22:00:00Z".to_owned();
    let strike = Body::Strike { seq: 2, why: "read on the wrong edge".to_owned() };
    state.after(Entry { seq: 3, at, by: "me".to_owned(), body: strike });
    assert_eq!(ids(&before, &assess(&state.car().0)), []);
}

#[test]
fn what_is_taken_over_into_the_log_changes_no_finding() {
    let (car, _) = axlewright_book::read(LARCH);
    let state = book(import_of(&car));
    assert_eq!(ids(demo(), &assess(&state.car().0)), []);
}

#[test]
fn a_finding_that_is_gone_or_new_is_told() {
    let (whole, less) = (demo(), assessed(&super::without(LARCH, "bar.length")));
    let gone = changed(whole, &less);
    let only = gone.iter().filter(|change| change.after.is_none()).count();
    assert!(0 < only && gone.iter().all(|change| change.before != change.after));
    let back = changed(&less, whole);
    assert_eq!(back.iter().filter(|change| change.before.is_none()).count(), only);
    assert_eq!(back.len(), gone.len());
}

#[test]
fn steps_done_in_the_log_are_done_in_the_order() {
    let question = OrderQuestion { moves: Some(20_000), ..OrderQuestion::default() };
    let planned = |car: &axlewright_book::CarFile, question: &OrderQuestion| {
        let out = order(car, &assess(car), question, &mut |_| Control::Go).unwrap();
        let found = out.findings.iter().find(|finding| finding.id == "order.sequence");
        found.map_or(0, |finding| finding.value.items().len())
    };
    let car = book(vec![]).car().0;
    let all = planned(&car, &question);
    let out = order(&car, &assess(&car), &question, &mut |_| Control::Go).unwrap();
    let first = &out.findings.iter().find(|f| f.id == "order.sequence").unwrap().value.items()[0];
    let Some(axlewright_setup::Item::Word(first)) = first.get("step") else { panic!("{first:?}") };
    let step = log::Step {
        step: first.clone(),
        happened: StepHappened::Done,
        minutes: None,
        found: None,
        in_spite: None,
        note: None,
    };
    let car = book(vec![Body::Step(step)]).car().0;
    assert_eq!(car.done, std::slice::from_ref(first));
    assert_eq!(planned(&car, &question), all - 1);
    // Named once more on the command line, it is still done once.
    let again = OrderQuestion { done: vec![first.clone()], ..question };
    assert_eq!(planned(&car, &again), all - 1);
}

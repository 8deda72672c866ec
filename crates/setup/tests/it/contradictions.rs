//! Steps that ask for what cannot be: no plan pays for it with what keeps a hand safe.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use super::{LARCH, assessed, demo};
use axlewright_book::log::Gate;
use axlewright_book::{CarFile, Entry, Phase, Step, read};
use axlewright_setup::order::{Control, OrderQuestion, gates, order};
use axlewright_setup::physical::replay;
use axlewright_setup::{Assessment, Item};
use proptest::prelude::*;

/// Demo, and demo with a hose that is torn where the arm droops to.
fn facts(short: bool) -> &'static Assessment {
    static SHORT: LazyLock<Assessment> =
        LazyLock::new(|| assessed(&LARCH.replacen("\"166 mm ± 2 mm\"", "\"152 mm ± 2 mm\"", 1)));
    if short { &SHORT } else { demo() }
}

/// The demo's steps; of each pair the later one of the file is said to come first.
fn seeded(pairs: &[(usize, usize)]) -> CarFile {
    let (mut car, _) = read(LARCH);
    for (a, b) in pairs {
        let (first, then) = (*a.min(b) % car.steps.len(), *a.max(b) % car.steps.len());
        let id = car.steps[first.max(then)].id.value.clone();
        let text = format!("\"{id}\"");
        let after = Entry { value: id, spread: None, text, line: 1, span: 0..0 };
        if first != then {
            car.steps[first.min(then)].after.push(after);
        }
    }
    car
}

fn texts(item: &Item, all: &mut Vec<String>) {
    match item {
        Item::Word(word) => all.push(word.clone()),
        Item::List(items) => items.iter().for_each(|item| texts(item, all)),
        Item::Object(keys) => keys.iter().for_each(|(_, item)| texts(item, all)),
        _ => {}
    }
}

/// Everything a plan says.
fn said(out: &Assessment) -> Vec<String> {
    let mut all = out.problems.clone();
    for finding in &out.findings {
        all.push(finding.why.words.clone());
        texts(&finding.value, &mut all);
    }
    all
}

fn ids(out: &Assessment) -> Vec<String> {
    let step = |item: &Item| match item.get("step") {
        Some(Item::Word(id)) => id.clone(),
        other => panic!("{other:?}"),
    };
    out.find("order.sequence", None).unwrap().value.items().iter().map(step).collect()
}

/// What is offered for a price, whatever it is called.
const OFFERS: [&str; 4] = ["give up", "way out", "get round", "given up"];
const NOT_GIVEN_UP: &str = "what keeps a hand safe is not given up";

fn number(phase: Phase) -> usize {
    Phase::ALL.iter().position(|p| *p == phase).unwrap()
}

/// What a plan has bought its order with: something said, a hold point, or a brake.
fn sold(car: &CarFile, order: &[String]) -> Vec<String> {
    let place: BTreeMap<&str, usize> =
        order.iter().enumerate().map(|(at, id)| (id.as_str(), at)).collect();
    let at = |step: &Step| place[step.id.value.as_str()];
    let mut sold = Vec::new();
    for step in &car.steps {
        for earlier in &step.after {
            if at(step) < place[earlier.value.as_str()] {
                sold.push(format!("{} before {}, said", step.id.value, earlier.value));
            }
        }
        let is_of = |hold: &&Step| hold.side.is_none() || hold.side == step.side;
        for hold in car.steps.iter().filter(|hold| hold.hold).filter(is_of) {
            if number(hold.phase) < number(step.phase) && at(step) < at(hold) {
                sold.push(format!("{} before the hold {}", step.id.value, hold.id.value));
            }
        }
    }
    let acts = replay(car, order.iter().map(String::as_str)).forbidden;
    sold.extend(acts.iter().map(|act| format!("{}: {}", act.step, act.words)));
    sold
}

fn planned(car: &CarFile, facts: &Assessment) -> Result<Assessment, Vec<String>> {
    let question = OrderQuestion { moves: Some(500), ..Default::default() };
    order(car, facts, &question, &mut |_| Control::Go)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::slow::cases(60, 300)))]

    /// Steps said to come the wrong way round, some of them near each other: a plan that keeps
    /// everything, or none, with the reasons that go round.
    #[test]
    fn a_contradiction_is_never_paid_with_safety(
        short in any::<bool>(),
        near in prop::collection::vec((0..110_usize, 1..6_usize), 0..3),
        far in prop::collection::vec((0..110_usize, 0..110_usize), 0..2),
    ) {
        let near = near.iter().map(|(at, by)| (*at, at + by));
        let pairs: Vec<(usize, usize)> = near.chain(far.iter().copied()).collect();
        let car = seeded(&pairs);
        match planned(&car, facts(short)) {
            Ok(out) => {
                let order = ids(&out);
                prop_assert_eq!(order.len(), car.steps.len());
                prop_assert_eq!(sold(&car, &order), Vec::<String>::new());
                let all = said(&out);
                let offer = all.iter().find(|words| OFFERS.iter().any(|o| words.contains(o)));
                prop_assert_eq!(offer, None);
                if short {
                    let torn = |words: &&String| words.contains("torn") && words.contains('°');
                    prop_assert!(all.iter().any(|words| torn(&words)), "the hose is not told");
                }
            }
            Err(errors) => {
                prop_assert_eq!(errors.len(), 1, "{:?}", errors);
                let words = errors[0].replace(NOT_GIVEN_UP, "");
                prop_assert!(words.contains("contradict") && words.contains("(said: "), "{words}");
                prop_assert!(!words.contains("(geometry: "), "{words}");
                prop_assert!(!OFFERS.iter().any(|offer| words.contains(offer)), "{words}");
            }
        }
    }
}

/// Where a hose would tear the arm does not rest: it goes on down to bolt or damper, and the hose
/// is too short for that.
#[test]
fn a_part_that_would_tear_is_no_place_to_rest() {
    let (car, _) = read(LARCH);
    for short in [true, false] {
        let barred = gates(&car, facts(short));
        let torn = |gate: &Gate| gate.step == "hose-on-left" && gate.why.contains("it is torn");
        assert_eq!(barred.iter().any(torn), short, "{barred:?}");
    }
    let droops = facts(true).findings.iter().filter(|found| found.id == "droop");
    let first: Vec<String> = droops
        .map(|found| {
            let rows = found.value.get("limits").unwrap().items().iter();
            let angle = |row: &Item| row.get("angle").unwrap().amount().unwrap().shown();
            let least = rows.min_by(|a, b| angle(a).total_cmp(&angle(b))).unwrap();
            format!("{:?}", least.get("by"))
        })
        .collect();
    assert!(first.iter().all(|by| by.contains("hose")), "the hose ends first: {first:?}");
}

/// What the test looks for can be seen: both answers come, and a plan that sells is found out.
#[test]
fn what_would_be_sold_is_seen() {
    let (car, facts) = (seeded(&[]), facts(false));
    let order_of_demo = ids(&planned(&car, facts).unwrap());
    assert_eq!(sold(&car, &order_of_demo), Vec::<String>::new());
    let at = |id: &str| car.steps.iter().position(|step| step.id.value == id).unwrap();
    // Wheels before the hold that all torques are signed; car rolled before its brakes are proven.
    for (first, then) in [("bar-in-left", "cover-torque-left"), ("wheels-down", "settle")] {
        let wrong = seeded(&[(at(first), at(then))]);
        let errors = planned(&wrong, facts).unwrap_err();
        assert!(errors[0].contains(first) && errors[0].contains(then), "{errors:?}");
        let mut turned = order_of_demo.clone();
        let place = |id: &str| order_of_demo.iter().position(|step| step == id).unwrap();
        turned.swap(place(first), place(then));
        assert_ne!(sold(&car, &turned), Vec::<String>::new(), "{first}, {then}");
    }
}

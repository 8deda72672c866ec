//! The order of work: on the demo and on invented cars, each plan replayed by a checker.

use std::collections::BTreeMap;

use super::{LARCH, assessed, demo};
use axlewright_book::{CarFile, Position, Spanning, Step, read};
use axlewright_quantity::{Angle, Corner, Side};
use axlewright_setup::order::{Control, OrderQuestion, back_out, order, why};
use axlewright_setup::{Assessment, Finding, Item, State, Subject, Why};
use proptest::prelude::*;

fn word(item: &Item, name: &str) -> String {
    match item.get(name) {
        Some(Item::Word(word)) => word.clone(),
        other => panic!("{name}: {other:?}"),
    }
}

fn value<'a>(out: &'a Assessment, id: &str) -> &'a Item {
    &out.findings.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("no {id}")).value
}

fn sequence(out: &Assessment) -> Vec<String> {
    value(out, "order.sequence").items().iter().map(|item| word(item, "step")).collect()
}

fn planned(car: &CarFile, facts: &Assessment, question: &OrderQuestion) -> Assessment {
    order(car, facts, question, &mut |_| Control::Go).unwrap()
}

fn larch() -> (CarFile, Assessment) {
    let (car, _) = read(LARCH);
    (car, demo().clone())
}

// ---- A checker that knows nothing of arcs ----

/// One side's figures as the checker reads them, in degrees.
#[derive(Debug, Clone, Default)]
struct Facts {
    hang: f64,
    rest: f64,
    clear: f64,
    ride: f64,
    windows: BTreeMap<Spanning, (f64, f64)>,
}

const IDS: [(Spanning, &str); 5] = [
    (Spanning::Damper, "window.damper"),
    (Spanning::HalfShaft, "window.half-shaft"),
    (Spanning::Hose, "window.hose"),
    (Spanning::Cable, "window.cable"),
    (Spanning::StopBolt, "window.stop-bolt"),
];

fn degrees(out: &Assessment, side: Side, id: &str, at: Option<State>, path: &str) -> Option<f64> {
    let of = Some(Subject::Corner(Corner::rear(side)));
    let found = out.findings.iter().find(|f| f.id == id && f.of == of && f.at == at)?;
    let item = path.split('.').filter(|p| !p.is_empty());
    let mut item = item;
    item.try_fold(&found.value, |item, part| item.get(part))?.amount().map(|a| a.shown())
}

fn facts(out: &Assessment, side: Side) -> Facts {
    let target = Some(State::Target);
    let far = 1e9;
    let windows = IDS.map(|(span, id)| {
        let end = |name| degrees(out, side, id, None, name);
        (span, (end("from").unwrap_or(-far), end("to").unwrap_or(far)))
    });
    Facts {
        hang: degrees(out, side, "hang.arm", target, "").unwrap(),
        rest: degrees(out, side, "droop", target, "angle").unwrap(),
        clear: degrees(out, side, "raise.stop-bolt", target, "angle").unwrap(),
        ride: degrees(out, side, "window.damper", None, "fit.ride.angle").unwrap(),
        windows: windows.into(),
    }
}

/// Walks through a plan: which spanning parts are on, where the arm is, whether that goes together.
/// Returns what goes wrong first.
fn strands(car: &CarFile, out: &Assessment, order: &[String]) -> Option<String> {
    let mut on: BTreeMap<(Side, Spanning), bool> = BTreeMap::new();
    // A part that some step takes off was on at the beginning.
    for step in &car.steps {
        for span in &step.removes {
            on.insert((step.side.unwrap(), span.value), true);
        }
    }
    for id in order {
        let step = car.step(id).unwrap();
        let Some(side) = step.side else { continue };
        let facts = facts(out, side);
        for span in &step.removes {
            on.insert((side, span.value), false);
        }
        if let Some(trouble) = stands_wrong(step, &facts, &on, side) {
            return Some(trouble);
        }
        for span in &step.fits {
            on.insert((side, span.value), true);
        }
    }
    None
}

fn stands_wrong(
    step: &Step,
    facts: &Facts,
    on: &BTreeMap<(Side, Spanning), bool>,
    side: Side,
) -> Option<String> {
    let is_on = |span| on.get(&(side, span)).copied().unwrap_or(false);
    let hair = 1e-4;
    let asked = match step.arm {
        Some(Position::Hang) => Some(facts.hang),
        Some(Position::StopBoltClear) => Some(facts.clear),
        Some(Position::Ride | Position::WheelsDown) => Some(facts.ride),
        Some(Position::BarOut) => return None,
        None | Some(Position::Any) => None,
    };
    let low = if is_on(Spanning::StopBolt) { facts.rest } else { facts.hang };
    let angle = asked.unwrap_or(low);
    if asked.is_some() {
        for (span, (from, to)) in &facts.windows {
            let to = if *span == Spanning::StopBolt { facts.rest } else { *to };
            let from = if *span == Spanning::StopBolt { -1e9 } else { *from };
            if is_on(*span) && !(from - hair <= angle && angle <= to + hair) {
                return Some(format!("{}: at {angle}° with the {span} on", step.id.value));
            }
        }
    }
    for span in &step.fits {
        let (from, to) = facts.windows[&span.value];
        if !(from - hair <= angle && angle <= to + hair) {
            return Some(format!("{}: the {} does not fit at {angle}°", step.id.value, span.value));
        }
    }
    None
}

// ---- The demo ----

#[test]
fn the_demo_is_proven_and_strands_nobody() {
    let (car, facts) = larch();
    let out = planned(&car, &facts, &OrderQuestion::default());
    let order = sequence(&out);
    assert_eq!(order.len(), car.steps.len());
    assert_eq!(value(&out, "order.cost").get("proven"), Some(&Item::Flag(true)));
    assert_eq!(strands(&car, &facts, &order), None);
    // The checker can tell: with the half-shaft before the stop bolt it must find somebody stuck.
    let mut wrong = order.clone();
    let at = |order: &[String], id: &str| order.iter().position(|s| s == id).unwrap();
    let shaft = at(&wrong, "half-shaft-in-left");
    let bolt = at(&wrong, "stop-bolt-in-left");
    let moved = wrong.remove(shaft);
    wrong.insert(bolt, moved);
    assert!(strands(&car, &facts, &wrong).unwrap().contains("half-shaft"));
    assert!(out.problems.is_empty(), "{:?}", out.problems);
}

#[test]
fn everything_said_is_kept() {
    let (car, facts) = larch();
    let order = sequence(&planned(&car, &facts, &OrderQuestion::default()));
    let place: BTreeMap<&str, usize> =
        order.iter().enumerate().map(|(at, id)| (id.as_str(), at)).collect();
    for step in &car.steps {
        for earlier in &step.after {
            assert!(place[earlier.value.as_str()] < place[step.id.value.as_str()]);
        }
    }
}

#[test]
fn geometry_speaks_with_figures() {
    let (car, facts) = larch();
    let out = planned(&car, &facts, &OrderQuestion::default());
    let arcs = value(&out, "order.arcs").items();
    let of = |arc: &&Item| word(arc, "reason") == "geometry";
    let shaft = arcs.iter().filter(of).find(|arc| {
        word(arc, "before") == "stop-bolt-in-left" && word(arc, "after") == "half-shaft-in-left"
    });
    let words = word(shaft.unwrap(), "words");
    for figure in ["25.0°", "27.5°", "23.0°"] {
        assert!(words.contains(figure), "{figure} in {words}");
    }
    let needed = arcs.iter().filter(of).filter(|a| a.get("implied") == Some(&Item::Flag(false)));
    assert!(4 <= needed.count());
}

#[test]
fn without_the_bushes_there_is_still_something_to_do() {
    let (car, facts) = larch();
    let all = car.parts.iter().map(|part| part.id.value.clone());
    let have = all.filter(|id| !id.contains("bush")).collect();
    let question = OrderQuestion { have: Some(have), ..Default::default() };
    let out = planned(&car, &facts, &question);
    let waiting = value(&out, "order.cost").get("waiting").unwrap().items();
    assert!(!waiting.is_empty());
    let order = sequence(&out);
    assert!(!order.is_empty() && order.len() + waiting.len() == car.steps.len());
    assert_eq!(strands(&car, &facts, &order), None);
    let parts = value(&out, "order.blocked-by").get("parts").unwrap().items();
    let held = parts.iter().find(|row| word(row, "part").contains("bush")).unwrap();
    assert!(!held.get("holds_up").unwrap().items().is_empty());
}

#[test]
fn from_any_state_the_rest_is_no_worse() {
    let (car, facts) = larch();
    let whole = planned(&car, &facts, &OrderQuestion::default());
    let order = sequence(&whole);
    let rest_of = |out: &Assessment, from: usize| -> i64 {
        let minutes = |item: &Item| match item.get("change_minutes") {
            Some(Item::Count(minutes, _)) => *minutes,
            other => panic!("{other:?}"),
        };
        value(out, "order.sequence").items().iter().skip(from).map(minutes).sum()
    };
    for k in [10, 40, 70, 100] {
        let done = order[..k].to_vec();
        let again = planned(&car, &facts, &OrderQuestion { done, ..Default::default() });
        assert!(rest_of(&again, 0) <= rest_of(&whole, k), "after {k}");
    }
}

#[test]
fn back_to_the_left_plate_after_half_the_job() {
    let (car, facts) = larch();
    let order = sequence(&planned(&car, &facts, &OrderQuestion::default()));
    let bolt = order.iter().position(|id| id == "stop-bolt-in-left").unwrap();
    let question = OrderQuestion { done: order[..=bolt].to_vec(), ..Default::default() };
    let out = back_out(&car, &facts, &question, "plate-left", &mut |_| Control::Go).unwrap();
    let found = value(&out, "order.back-out");
    let undo: Vec<String> =
        found.get("undo").unwrap().items().iter().map(|item| word(item, "step")).collect();
    // The bolt went in last and holds the arm the plate is bolted to: it comes out first of these.
    let at = |id: &str| undo.iter().position(|s| s == id);
    assert!(at("stop-bolt-in-left").unwrap() < at("arm-on-left").unwrap());
    assert!(undo.iter().all(|id| !id.ends_with("-right")), "the other side stays: {undo:?}");
    assert!(!found.get("again").unwrap().items().is_empty());
    let early = OrderQuestion::default();
    let error = back_out(&car, &facts, &early, "plate-left", &mut |_| Control::Go).unwrap_err();
    assert!(error[0].contains("not fitted yet"), "{error:?}");
}

#[test]
fn a_step_tells_why_it_waits() {
    let (car, facts) = larch();
    let out = why(&car, &facts, &OrderQuestion::default(), "half-shaft-in-left").unwrap();
    let direct = value(&out, "order.why").get("direct").unwrap().items();
    assert!(direct.iter().any(|arc| word(arc, "reason") == "geometry"));
    let chain = value(&out, "order.why").get("chain").unwrap().items();
    for pair in chain.windows(2) {
        assert_eq!(word(&pair[0], "after"), word(&pair[1], "before"), "one chain");
    }
}

#[test]
fn a_loop_is_told_by_its_reasons() {
    let text = LARCH.to_owned()
        + "\n[[step]]\nid = \"wish\"\nphase = \"assembly\"\nwords = \"half-shaft first\"\n\
           side = \"none\"\nafter = [\"half-shaft-in-left\"]\nminutes = 1\n"
        + "[[step]]\nid = \"bolt-after-wish\"\nphase = \"assembly\"\nwords = \"then the bolt\"\n\
           side = \"left\"\nfits = [\"stop bolt\"]\narm = \"stop bolt clear\"\nafter = [\"wish\"]\n\
           minutes = 1\n";
    let (car, problems) = read(&text);
    assert!(problems.is_empty(), "{problems:?}");
    let out = order(&car, &assessed(&text), &OrderQuestion::default(), &mut |_| Control::Go);
    let errors = out.unwrap_err();
    assert!(errors[0].contains("wish") && errors[0].contains("half-shaft"), "{errors:?}");
}

#[test]
fn unknown_names_come_all_at_once() {
    let (car, facts) = larch();
    let question = OrderQuestion {
        done: vec!["no-such-step".to_owned()],
        have: Some(vec!["no-such-part".to_owned()]),
        moves: None,
    };
    let errors = order(&car, &facts, &question, &mut |_| Control::Go).unwrap_err();
    assert!(errors.iter().any(|e| e.contains("no-such-step")), "{errors:?}");
    assert!(errors.iter().any(|e| e.contains("no-such-part")), "{errors:?}");
}

#[test]
fn the_calendar_waits_for_what_is_out() {
    let (car, facts) = larch();
    let out = planned(&car, &facts, &OrderQuestion::default());
    let finish = value(&out, "order.finish");
    let date = word(finish, "date");
    // 43 h 49 min of work in evenings of three hours and a Saturday of seven in two weeks is at
    // least four weeks; nothing is done before the plater is, twelve days in.
    assert!(
        "Mon 1964-06-01" <= &date[..14].replace("Wed", "Mon").replace("Fri", "Mon")[..],
        "{date}"
    );
    let floats = finish.get("part_floats").unwrap().items();
    assert!(floats.iter().any(|row| word(row, "part").starts_with("hose")));
    assert!(!finish.get("chain").unwrap().items().is_empty());
}

#[test]
fn ride_under_load_is_sent_elsewhere() {
    let text = LARCH.to_owned()
        + "\n[[step]]\nid = \"dream\"\nphase = \"assembly\"\nwords = \"torque at ride\"\n\
           side = \"left\"\narm = \"ride\"\nminutes = 1\n";
    let (car, _) = read(&text);
    let out = planned(&car, &assessed(&text), &OrderQuestion::default());
    let said = out.problems.iter().find(|p| p.contains("dream")).unwrap();
    assert!(said.contains("dry run") && said.contains("wheels"), "{said}");
}

// ---- Invented cars ----

/// An invented assessment: only what the order looks at.
fn invented(hang: f64, rest: f64, clear: f64, ride: f64, ends: &[(f64, f64)]) -> Assessment {
    let mut findings = Vec::new();
    let deg = |value: f64| Item::leaf(Angle::deg(value));
    for side in Side::BOTH {
        let mut put = |id, at, value| {
            let of = Some(Subject::Corner(Corner::rear(side)));
            findings.push(Finding { id, of, at, value, why: Why::default() });
        };
        let target = Some(State::Target);
        put("hang.arm", target, deg(hang));
        put("raise.stop-bolt", target, Item::Object(vec![("angle", deg(clear))]));
        put(
            "droop",
            target,
            Item::Object(vec![
                ("angle", deg(rest)),
                ("stopped_by", Item::Word("stop bolt".to_owned())),
                (
                    "limits",
                    Item::List(vec![Item::Object(vec![
                        ("by", Item::Word("stop bolt".to_owned())),
                        ("angle", deg(rest)),
                    ])]),
                ),
            ]),
        );
        for ((span, id), (from, to)) in IDS.iter().zip(ends) {
            let at_ride = Item::Object(vec![("ride", Item::Object(vec![("angle", deg(ride))]))]);
            let from = if *span == Spanning::StopBolt { Item::Nothing } else { deg(*from) };
            let to = if *span == Spanning::StopBolt { deg(clear) } else { deg(*to) };
            put(id, None, Item::Object(vec![("from", from), ("to", to), ("fit", at_ride)]));
        }
    }
    Assessment { findings, ..Default::default() }
}

const SPANS: [&str; 5] = ["damper", "half-shaft", "hose", "cable", "stop bolt"];
const ARMS: [&str; 4] = ["hang", "stop bolt clear", "any", "any"];

/// A step set: the stop bolt always goes in raised; the others go in wherever the arm is.
fn steps(fits: &[bool], others: &[(usize, bool, usize)]) -> String {
    let mut text = "format = 1\n".to_owned();
    let mut step = |id: &str, arm: &str, more: &str, side: &str| {
        text += &format!(
            "[[step]]\nid = \"{id}\"\nphase = \"assembly\"\nwords = \"w\"\nside = \"{side}\"\n\
             minutes = 5\narm = \"{arm}\"\n{more}\n"
        );
    };
    for side in ["left", "right"] {
        step(&format!("bolt-{side}"), "stop bolt clear", "fits = [\"stop bolt\"]", side);
        for (span, _) in SPANS.iter().take(4).zip(fits).filter(|(_, fits)| **fits) {
            let id = format!("fit-{}-{side}", span.replace(' ', "-"));
            step(&id, "any", &format!("fits = [\"{span}\"]"), side);
        }
    }
    for (at, (arm, left, after)) in others.iter().enumerate() {
        let after = match after.checked_sub(1).filter(|a| *a < at) {
            Some(earlier) => format!("after = [\"other-{earlier}\"]"),
            None => String::new(),
        };
        let side = if *left { "left" } else { "right" };
        step(&format!("other-{at}"), ARMS[*arm], &after, side);
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(crate::slow::cases(200, 2000)))]

    /// No plan for an invented car asks for a step outside a fitted part's window.
    #[test]
    fn no_invented_plan_strands_anybody(
        hang in 20.0..35.0_f64,
        below in 0.5..8.0_f64,
        raised in 1.0..4.0_f64,
        room in prop::array::uniform4(-6.0..10.0_f64),
        fits in prop::array::uniform4(any::<bool>()),
        others in prop::collection::vec((0..4_usize, any::<bool>(), 0..6_usize), 0..7),
    ) {
        let (rest, ride) = (hang - below, 11.0);
        let clear = (rest - raised).max(ride + 1.0);
        // Every part fits at ride and where the arm rests on the bolt, some at hang, some not.
        let mut ends: Vec<(f64, f64)> =
            room.iter().map(|room| (ride - 5.0, (rest + 0.2).max(hang + room))).collect();
        ends.push((0.0, clear));
        let facts = invented(hang, rest, clear, ride, &ends);
        let text = steps(&fits, &others);
        let (car, problems) = read(&text);
        prop_assert!(problems.is_empty(), "{problems:?}");
        let question = OrderQuestion { moves: Some(20_000), ..Default::default() };
        match order(&car, &facts, &question, &mut |_| Control::Go) {
            Ok(out) => {
                let order = sequence(&out);
                prop_assert_eq!(order.len(), car.steps.len());
                prop_assert_eq!(strands(&car, &facts, &order), None, "{:?}\n{}", order, text);
            }
            // "Hang after what closes it": said the other way round, which is told as a loop.
            Err(errors) => prop_assert!(errors[0].contains("other-"), "{errors:?}"),
        }
    }
}

//! Where the energy is: the demo's plan replayed, and each rule broken once.

use super::{LARCH, assessed, demo};
use axlewright_book::{CarFile, read};
use axlewright_quantity::Side;
use axlewright_setup::order::{Control, OrderQuestion, gates, order, standing};
use axlewright_setup::physical::{Bar, Held, Replay, Rule, replay};
use axlewright_setup::{Assessment, Item};

fn plan(car: &CarFile, facts: &Assessment) -> Assessment {
    let question = OrderQuestion { moves: Some(20_000), ..OrderQuestion::default() };
    order(car, facts, &question, &mut |_| Control::Go).unwrap()
}

fn ids(out: &Assessment) -> Vec<String> {
    let sequence = &out.find("order.sequence", None).unwrap().value;
    let step = |item: &Item| match item.get("step") {
        Some(Item::Word(id)) => id.clone(),
        other => panic!("{other:?}"),
    };
    sequence.items().iter().map(step).collect()
}

fn list<'a>(out: &'a Assessment, key: &str) -> &'a [Item] {
    out.find("order.safety", None).unwrap().value.get(key).unwrap().items()
}

fn replayed(car: &CarFile, order: &[String]) -> Replay {
    replay(car, order.iter().map(String::as_str))
}

/// The plan with one step put right before another.
fn moved(order: &[String], id: &str, before: &str) -> Vec<String> {
    let mut order: Vec<String> = order.iter().filter(|step| *step != id).cloned().collect();
    let at = order.iter().position(|step| step == before).unwrap();
    order.insert(at, id.to_owned());
    order
}

#[test]
fn the_demo_has_no_forbidden_act_and_nothing_open() {
    let (car, _) = read(LARCH);
    let out = plan(&car, demo());
    let order = ids(&out);
    assert_eq!(order.len(), car.steps.len());
    assert_eq!(replayed(&car, &order).forbidden, []);
    assert!(list(&out, "unknown").is_empty(), "{:?}", list(&out, "unknown"));
    assert!(list(&out, "gates").is_empty(), "{:?}", list(&out, "gates"));
    assert!(8 <= list(&out, "proved").len());
    assert!(out.problems.is_empty(), "{:?}", out.problems);
    assert!(car.steps.iter().all(|step| !step.does.is_empty()), "every step says what it does");
}

#[test]
fn each_rule_is_broken_by_a_step_out_of_place() {
    let (car, _) = read(LARCH);
    let order = ids(&plan(&car, demo()));
    let wrong = [
        ("bar-out-left", "arm-off-left", Rule::Bar),
        ("arm-off-right", "unload-bar-right", Rule::Bar),
        ("unload-bar-left", "stop-bolt-off-left", Rule::Bar),
        ("damper-bottom-on-left", "stop-bolt-in-left", Rule::Spans),
        ("hose-on-right", "stop-bolt-in-right", Rule::Spans),
        ("stop-bolt-off-left", "lines-off-left", Rule::Spans),
        ("stop-bolt-in-left", "plates-compare", Rule::Winding),
        ("cover-torque-left", "wheels-down", Rule::Torque),
        ("stop-bolt-in-left", "arm-torque-left", Rule::Winding),
        ("hub-nut-torque-left", "wheels-down", Rule::Phase),
        ("shoes-on-left", "bar-in-left", Rule::Phase),
        ("brakes-proven", "wheels-down", Rule::Push),
        ("stop-bolt-off-right", "unload-bar-left", Rule::Moves),
        ("engine-out", "unload-bar-left", Rule::Moves),
        ("settle", "brakes-proven", Rule::Moves),
        ("wheels-down", "arm-torque-left", Rule::Moves),
    ];
    for (id, before, rule) in wrong {
        let found = replayed(&car, &moved(&order, id, before)).forbidden;
        assert!(found.iter().any(|act| act.rule == rule), "{id} before {before}: {found:?}");
    }
}

/// Without the second hold the arm is not moved, with every other step where it belongs.
#[test]
fn a_plan_without_second_hold_or_untying_is_forbidden() {
    for (act, rule) in [("\"holds\", ", Rule::Holds), ("\"unties\", ", Rule::Bar)] {
        let (car, problems) = read(&LARCH.replace(act, ""));
        assert!(problems.is_empty(), "{problems:?}");
        let (whole, _) = read(LARCH);
        let found = replayed(&car, &ids(&plan(&whole, demo()))).forbidden;
        assert!(found.iter().any(|act| act.rule == rule), "{act}: {found:?}");
    }
}

/// On a lift, a dolly, a rotisserie or a ramp bars are neither wound nor let down.
#[test]
fn on_a_lift_no_bar_is_wound_or_let_down() {
    for after in ["hose-off-left", "teeth-chosen", "ballast"] {
        let (whole, _) = read(LARCH);
        let order = ids(&plan(&whole, demo()));
        let Some(at) = order.iter().position(|id| id == after) else { continue };
        let (mut car, _) = read(LARCH);
        let index = car.steps.iter().position(|step| step.id.value == after).unwrap();
        let act = axlewright_book::Entry {
            value: axlewright_book::Act::CarOnLift,
            spread: None,
            text: "\"car on lift\"".to_owned(),
            line: 1,
            span: 0..0,
        };
        car.steps[index].does.push(act);
        let found = replayed(&car, &order).forbidden;
        let moves: Vec<&str> = found
            .iter()
            .filter(|act| act.rule == Rule::Moves && act.words.contains("lift"))
            .map(|act| act.step.as_str())
            .collect();
        assert!(moves.iter().any(|id| id.starts_with("stop-bolt-in")), "{after}: {moves:?}");
        assert!(moves.iter().all(|id| order[..=at].iter().all(|done| done != id)), "{moves:?}");
    }
}

#[test]
fn the_energy_is_told_for_each_side() {
    let (car, _) = read(LARCH);
    let order = ids(&plan(&car, demo()));
    let upto = |id: &str| {
        let at = order.iter().position(|step| step == id).unwrap();
        replayed(&car, &order[..=at]).after
    };
    let found = upto("load-state");
    assert_eq!(found.energy(), "L WOUND, held by the wheel · R WOUND, held by the wheel");
    let left = upto("stop-bolt-off-left");
    assert_eq!(left.corner(Side::Left).held, Held::Jack);
    assert!(left.energy().starts_with("L WOUND, held by the jack and a second hold · R WOUND"));
    assert_eq!(upto("unload-bar-left").corner(Side::Left).bar, Bar::Hanging);
    assert!(upto("arm-off-left").energy().starts_with("L free"));
    assert!(upto("bar-out-left").energy().starts_with("L bar out"));
    assert!(upto("engine-in").energy().starts_with("L WOUND, held by the stop bolt"));
    let mut forgotten = upto("arm-off-left");
    forgotten.forget(Side::Left);
    assert!(forgotten.energy().starts_with("L WOUND"), "{}", forgotten.energy());
}

/// What nobody remembers is wound: nothing is done to it that is done to an unloaded bar, until it
/// is let down once more or somebody has looked.
#[test]
fn what_nobody_remembers_is_wound_and_bars_what_is_done_to_an_unloaded_bar() {
    let (mut car, _) = read(LARCH);
    let order = ids(&plan(&car, demo()));
    let upto = |id: &str| order.iter().position(|step| step == id).unwrap() + 1;
    car.done = order[..upto("unload-bar-left")].to_vec();
    let barred = |car: &CarFile| -> Vec<String> {
        let all = gates(car, demo()).into_iter();
        all.filter(|gate| gate.why.contains("remembers")).map(|gate| gate.step).collect()
    };
    assert_eq!(barred(&car), Vec::<String>::new());
    car.not_remembered = vec![(Side::Left, car.done.len())];
    let now = standing(&car);
    assert_eq!(now.corner(Side::Left).bar, Bar::Unknown);
    assert!(now.energy().starts_with("L WOUND, for nobody remembers"), "{}", now.energy());
    let steps = barred(&car);
    for id in ["arm-off-left", "cover-off-left", "bar-out-left"] {
        assert!(car.step(id).is_none() || steps.iter().any(|step| step == id), "{id}: {steps:?}");
    }
    assert!(steps.iter().all(|id| !id.ends_with("-right")), "{steps:?}");
    let gate = gates(&car, demo()).into_iter().find(|gate| gate.step == "arm-off-left").unwrap();
    assert!(gate.first.contains("second hold") && gate.opens.is_none(), "{gate:?}");
    // The plan keeps all its steps and is no less safe; the line of the energy says it is wound.
    let question = OrderQuestion { moves: Some(2_000), ..OrderQuestion::default() };
    let out = order_of(&car, &question);
    assert_eq!(ids(&out).len() + car.done.len(), car.steps.len());
    assert!(out.problems.is_empty(), "{:?}", out.problems);
    let first = &out.find("order.sequence", None).unwrap().value.items()[0];
    assert!(matches!(first.get("energy"), Some(Item::Word(w)) if w.contains("nobody remembers")));
    // Forgotten before it was let down, it is known again since.
    car.not_remembered = vec![(Side::Left, car.done.len() - 1)];
    assert_eq!(standing(&car).corner(Side::Left).bar, Bar::Hanging);
    assert_eq!(barred(&car), Vec::<String>::new());
}

fn order_of(car: &CarFile, question: &OrderQuestion) -> Assessment {
    order(car, demo(), question, &mut |_| Control::Go).unwrap()
}

/// The plate's mass moves every angle at which the arm hangs: none of it may move the stop bolt.
#[test]
fn without_the_plates_mass_the_order_is_as_safe() {
    let text = LARCH.replacen("mass = \"2.1 kg\"\n", "", 1);
    assert_ne!(text, LARCH);
    let (car, _) = read(&text);
    let facts = assessed(&text);
    let out = plan(&car, &facts);
    let order = ids(&out);
    assert_eq!(order.len(), 110);
    assert_eq!(replayed(&car, &order).forbidden, []);
    assert!(!list(&out, "unknown").is_empty());
    let head = &out.find("order.sequence", None).unwrap().why.words;
    assert!(head.starts_with("Safe order; not known: "), "{head}");
    let barred = gates(&car, &facts);
    assert!(barred.iter().any(|gate| gate.step == "damper-bottom-on-left"), "{barred:?}");
    // What follows what somebody has to find out first is marked; what does not is not.
    assert!(head.contains("provisional"), "{head}");
    let rows = out.find("order.sequence", None).unwrap().value.items();
    let waits = |id: &str| {
        let row = rows.iter().find(|row| row.get("step") == Some(&Item::Word(id.to_owned())));
        row.unwrap().get("provisional").cloned().unwrap()
    };
    assert!(matches!(waits("wheels-down"), Item::Word(_)));
    for id in ["car-up", "stop-bolt-off-left", "stop-bolt-in-left"] {
        assert_eq!(waits(id), Item::Nothing, "{id}");
    }
}

/// What the steps do keeps them in order, with no `after` in the whole file.
#[test]
fn with_nothing_said_of_the_order_the_plan_is_as_safe() {
    let mut text = String::new();
    let mut is_after = false;
    for line in LARCH.lines() {
        is_after |= line.starts_with("after = [");
        if !is_after {
            text += line;
            text.push('\n');
        }
        is_after &= !line.ends_with(']');
    }
    assert!(!text.contains("\nafter = "));
    let (car, problems) = read(&text);
    assert!(problems.is_empty(), "{problems:?}");
    let out = plan(&car, demo());
    let order = ids(&out);
    assert_eq!(order.len(), car.steps.len());
    assert_eq!(replayed(&car, &order).forbidden, []);
    assert!(out.problems.is_empty(), "{:?}", out.problems);
}

#[test]
fn a_step_left_out_stops_the_plan_and_is_named() {
    for gone in [
        "stop-bolt-off-left",
        "unload-bar",
        "arm-off",
        "lines-off",
        "plates-compare",
        "cover-torque",
        "stop-bolt-in",
        "wheels-down",
        "brakes-proven",
        "car-up",
        "bar-out",
        "dry-on",
        "dry-off",
        "plate-on",
        "ballast",
        "hose-on",
        "run-check",
    ] {
        let blocks: Vec<&str> = LARCH.split("[[step]]").collect();
        let own = format!("\nid = \"{gone}\"\n");
        let kept = blocks.iter().filter(|block| !block.starts_with(&own));
        let kept: Vec<&str> = kept.copied().collect();
        assert_eq!(kept.len() + 1, blocks.len());
        let mut text = kept.join("[[step]]");
        for suffix in ["-left", "-right", "-both", ""] {
            text = text.replace(&format!("\"{gone}{suffix}\", "), "");
            text = text.replace(&format!("    \"{gone}{suffix}\",\n"), "");
            text = text.replace(&format!(", \"{gone}{suffix}\"]"), "]");
            text = text.replace(&format!("[\"{gone}{suffix}\"]"), "[]");
        }
        // The last block of the steps is followed by other sections: none of these is the last.
        let (car, problems) = read(&text);
        assert!(problems.is_empty(), "{gone}: {problems:?}");
        let out = plan(&car, demo());
        let stops = out.problems.iter().any(|words| words.contains("no step like this"));
        assert!(stops, "{gone}: {:?}", out.problems);
        assert!(ids(&out).len() < car.steps.len(), "{gone}: the plan goes on");
        let safe = out.problems.iter().all(|words| !words.contains("NOT SAFE"));
        assert!(safe, "{gone}: {:?}", out.problems);
    }
}

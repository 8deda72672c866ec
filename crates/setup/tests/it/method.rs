//! A car that follows the method in the program, nothing measured.

use axlewright_book::{CarFile, Phase, Severity, read};
use axlewright_setup::order::{Control, OrderQuestion, back_out, order};
use axlewright_setup::physical::{Rule, replay};
use axlewright_setup::{Assessment, Item, assess};

fn car(rest: &str) -> CarFile {
    let (car, problems) = read(&format!("format = 1\nmethod = \"trailing-arm 1\"\n{rest}"));
    assert!(problems.iter().all(|p| p.severity != Severity::Error), "{problems:?}");
    car
}

fn planned(rest: &str) -> Assessment {
    let car = car(rest);
    let question = OrderQuestion { moves: Some(1), ..OrderQuestion::default() };
    order(&car, &assess(&car), &question, &mut |_| Control::Go).unwrap()
}

fn ids(plan: &Assessment) -> Vec<String> {
    let word = |row: &Item| match row.get("step") {
        Some(Item::Word(id)) => id.clone(),
        other => panic!("{other:?}"),
    };
    plan.find("order.sequence", None).unwrap().value.items().iter().map(word).collect()
}

#[test]
fn with_nothing_measured_the_plan_has_every_step_and_is_safe() {
    let plan = planned("");
    assert_eq!(plan.problems, [] as [String; 0]);
    let order = ids(&plan);
    assert_eq!(order.len(), car("").steps.len());
    let at = |id: &str| order.iter().position(|own| own == id).unwrap();
    let first_to_last = [
        "load-state",
        "car-up",
        "stand-check",
        "lines-off-left",
        "holds-on-left",
        "damper-off-left",
        "stop-bolt-off-left",
        "unload-bar-left",
        "lines-off-right",
        "stop-bolt-off-right",
        "unload-bar-right",
        "arm-off-right",
        "plate-wags-right",
        "cover-off-right",
        "plate-off-right",
        "bar-out-right",
        "dry-swing-right",
        "bar-in-right",
        "plate-on-right",
        "plate-read-right",
        "plates-compare",
        "cover-torque-right",
        "arm-on-right",
        "holds-ready-left",
        "stop-bolt-in-left",
        "damper-bottom-on-left",
        "holds-ready-right",
        "stop-bolt-in-right",
        "shoes-on-right",
        "hose-on-right",
        "run-check-right",
        "bleed-right",
        "bleed-front",
        "last-look",
        "wheel-on-right",
        "wheels-down",
        "hub-nut-torque-right",
        "brakes-proven",
        "settle",
        "first-road",
    ];
    for pair in first_to_last.windows(2) {
        assert!(at(pair[0]) < at(pair[1]), "{} before {}", pair[0], pair[1]);
    }
}

/// Between a stop bolt that is out and a bar that hangs nothing else is done, on either side.
#[test]
fn nobody_is_sent_away_from_an_arm_on_the_jack() {
    for answers in ["", "[answers]\nengine = \"comes out\"\n", "[answers]\nstop = \"damper\"\n"] {
        let order = ids(&planned(answers));
        let opens = if answers.contains("damper") { "damper-off" } else { "stop-bolt-off" };
        for side in ["left", "right"] {
            let at = order.iter().position(|id| *id == format!("{opens}-{side}")).unwrap();
            assert_eq!(order[at + 1], format!("unload-bar-{side}"), "{answers}");
        }
    }
}

#[test]
fn the_engine_is_in_before_a_bar_is_wound_or_bags_are() {
    for (engine, first) in [("comes out", "engine-in"), ("in front", "ballast")] {
        let order = ids(&planned(&format!("[answers]\nengine = \"{engine}\"\n")));
        let at = |id: &str| order.iter().position(|own| own == id).unwrap();
        assert!(at(first) < at("holds-ready-left"), "{first}");
    }
}

#[test]
fn a_step_that_keeps_a_hand_safe_is_not_struck_without_a_word() {
    let strikes = [
        ("holds-on", "second hold"),
        ("plate-wags", "wagging its plate"),
        ("plates-compare", "compares the teeth"),
        ("brakes-proven", "proves the brakes"),
        ("run-check", "under watch"),
    ];
    for (id, words) in strikes {
        let plan = planned(&format!("[[step]]\nid = \"{id}\"\nstrike = true\n"));
        let named = plan.problems.iter().any(|told| told.contains(words));
        assert!(named, "{id}: {:?}", plan.problems);
    }
}

#[test]
fn what_nobody_answered_is_a_gap_that_says_what_is_taken_for_it() {
    let plan = planned("[answers]\nbrake = \"disc\"\n");
    let gap = |id: &str| plan.gaps.iter().find(|gap| gap.id == id);
    assert!(gap("answers.brake").is_none());
    assert!(gap("answers.engine").unwrap().how.contains("takes it for: stays in"));
}

/// Back to a bar from the car on its wheels: told in the words of removing, both holds and the
/// wagging of the plate among them; readings, bleeding and settling are void and not undone; the
/// engine stays in; and the steps told, replayed after the job, hold no forbidden act.
#[test]
fn a_way_back_is_safe_and_undoes_no_reading() {
    for answers in ["", "[answers]\nengine = \"comes out\"\n", "[answers]\nstop = \"damper\"\n"] {
        let (car, plan) = (car(answers), planned(answers));
        let is_built = |id: &String| car.step(id).is_some_and(|s| s.phase <= Phase::OnTheWheels);
        let done: Vec<String> = ids(&plan).into_iter().filter(is_built).collect();
        let question = OrderQuestion { done: done.clone(), ..OrderQuestion::default() };
        let facts = assess(&car);
        let back = back_out(&car, &facts, &question, "bar-in-right", &mut |_| Control::Go).unwrap();
        let found = &back.find("order.back-out", None).unwrap().value;
        let text = |row: &Item, key: &str| match row.get(key) {
            Some(Item::Word(id)) => id.clone(),
            _ => String::new(),
        };
        let undo = found.get("undo").unwrap().items();
        let undone: Vec<String> = undo.iter().map(|row| text(row, "step")).collect();
        for void in ["round-one", "settle", "bleed-right", "corner-read-right", "run-check-right"] {
            assert!(!undone.contains(&void.to_owned()), "{void} is undone: {undone:?}");
        }
        for stays in ["engine-in", "weight-in", "bar-in-left", "arm-on-left"] {
            assert!(!undone.contains(&stays.to_owned()), "{stays} is undone: {undone:?}");
        }
        let twins = |id: &str| -> Vec<String> {
            let row = undo.iter().find(|row| text(row, "step") == id).unwrap();
            let list = row.get("as").map(Item::items).unwrap_or_default();
            list.iter().map(|twin| text(twin, "step")).collect()
        };
        let damper = twins("damper-bottom-on-right");
        assert_eq!(damper[..2], ["holds-on-right", "damper-off-right"], "{answers}");
        assert_eq!(twins("arm-on-right"), ["arm-off-right", "plate-wags-right"]);
        assert_eq!(twins("wheel-on-right"), ["wheel-off-right"]);
        let all: Vec<String> = undone.iter().flat_map(|id| twins(id)).collect();
        let told = done.iter().chain(&all).map(String::as_str);
        let act = replay(&car, told).forbidden.into_iter().find(|act| act.rule != Rule::Phase);
        assert_eq!(act, None, "{answers}: {all:?}");
    }
}

//! `trim`, `forecast`, `today` and `explain` from outside.

use std::path::Path;

use crate::common::run;
use serde_json::Value;
use tempfile::{TempDir, tempdir};

fn demo() -> TempDir {
    let folder = tempdir().unwrap();
    let text = include_str!("../../../../examples/larch-1300/car.toml");
    std::fs::write(folder.path().join("car.toml"), text).unwrap();
    folder
}

fn json(folder: &Path, args: &[&str]) -> Value {
    let said = run(folder, args).ends_with(0);
    assert_eq!(said.err, "");
    said.json()
}

fn found<'a>(document: &'a Value, id: &str) -> &'a Value {
    let findings = document["findings"].as_array().unwrap();
    findings.iter().find(|finding| finding["id"] == id).unwrap_or_else(|| panic!("no {id}"))
}

#[test]
fn trim_of_the_demo_explains_and_corrects_its_first_round() {
    let folder = demo();
    let document = json(folder.path(), &["trim", ".", "--json"]);
    assert_eq!(document["schema"], 1);
    for id in [
        "car.expected",
        "car.stages",
        "car.state",
        "car.moves",
        "car.after",
        "car.hand-over",
        "car.roll-share",
        "car.rechecks",
    ] {
        let why = &found(&document, id)["why"];
        assert!(!why["words"].as_str().unwrap().is_empty(), "{id} says nothing");
        assert!(!why["source"].as_str().unwrap().is_empty(), "{id} has no source");
    }
    let after = &found(&document, "car.after")["value"];
    assert_eq!(after["all_within"], true);
    for corner in ["LR", "RR"] {
        assert!(after["trim_read"][corner]["u"].as_f64().unwrap() < 4.0);
    }
    let ids = document["findings"].as_array().unwrap();
    assert!(ids.iter().all(|finding| finding["id"].as_str().unwrap().starts_with("car.")));
    let said = run(folder.path(), &["trim", "car.toml"]).ends_with(0);
    for part in ["What the readings say", "A wound-up torsion bar can kill", "seen from outside"] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    let caution = said.out.find("can kill").unwrap();
    assert!(caution < said.out.find("seen from outside").unwrap(), "the caution comes first");
    assert!(said.out.lines().all(|line| line.chars().count() <= 80), "{}", said.out);
    let again = run(folder.path(), &["round", "car.toml"]).ends_with(0);
    assert_eq!(again.out, said.out);
    let why = run(folder.path(), &["trim", "car.toml", "--why"]).ends_with(0);
    assert!(why.out.contains("formula: "), "{}", why.out);
}

#[test]
fn today_tells_each_stage_and_refuses_a_stage_that_is_not_there() {
    let folder = demo();
    let document = json(folder.path(), &["today", "car.toml", "--stage", "shell", "--json"]);
    let high = found(&document, "car.expected")["value"]["trim_read"]["LR"]["value"].as_f64();
    assert!(140.0 < high.unwrap(), "{high:?}");
    let said = run(folder.path(), &["today", "car.toml", "--load", "driver"]).ends_with(0);
    assert!(said.out.contains("finished, empty, half a tank, driver"), "{}", said.out);
    let said = run(folder.path(), &["today", "car.toml", "--stage", "roof"]).ends_with(1);
    assert!(said.err.contains("there is no stage `roof`"), "{}", said.err);
    assert!(said.err.contains("engine and gearbox"), "{}", said.err);
}

#[test]
fn a_forecast_is_the_same_twice_and_says_what_helps() {
    let folder = demo();
    let call = ["forecast", "car.toml", "--builds", "1000", "--seed", "5"];
    let said = run(folder.path(), &call).ends_with(0);
    for part in ["in 100 such builds", "Which measurement helps most", "weigh the car"] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    assert_eq!(said.err, "");
    assert_eq!(run(folder.path(), &call).ends_with(0).out, said.out);
    let document = json(folder.path(), &[&call[..], &["--json"]].concat());
    let forecast = &found(&document, "car.forecast")["value"];
    assert_eq!(forecast["stopped_by"], "effort");
    let few = run(folder.path(), &["forecast", "car.toml", "--builds", "1"]).ends_with(2);
    assert!(few.err.contains("100..=20000000"), "{}", few.err);
}

#[test]
fn explain_knows_every_id_and_offers_near_ones() {
    let folder = demo();
    let said = run(folder.path(), &["explain", "free-angle.target"]).ends_with(0);
    for part in ["Of the invented demo car", "formula: ", "source: "] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    let said = run(folder.path(), &["explain", "car.moves", "--car", "car.toml"]).ends_with(0);
    assert!(!said.out.contains("invented"), "{}", said.out);
    let said = run(folder.path(), &["explain", "free-angel.target"]).ends_with(1);
    assert!(said.err.contains("free-angle.target"), "{}", said.err);
    run(folder.path(), &["explain", "car", "--car", "gone.toml"]).ends_with(3);
}

#[test]
fn a_new_car_is_told_what_its_wheels_wait_for() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    let said = run(folder.path(), &["trim", "car"]).ends_with(0);
    for part in ["Still to be measured", "  * round: ", "front.corner_weight"] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    run(folder.path(), &["trim", "car", "--strict"]).ends_with(1);
    let said = run(folder.path(), &["explain", "car.moves", "--car", "car"]).ends_with(0);
    assert!(said.out.contains("  * round: "), "{}", said.out);
    assert!(said.out.contains("front.corner_weight"), "{}", said.out);
    assert_eq!(said.out.matches("  * round: ").count(), 1);
    let said = run(folder.path(), &["explain", "car.mooves", "--car", "car"]).ends_with(1);
    assert!(said.err.contains("there is car."), "{}", said.err);
}

#[test]
fn a_car_without_a_front_is_told_what_to_measure() {
    let folder = tempdir().unwrap();
    let text = include_str!("../../../../examples/larch-1300/car.toml");
    let (head, _) = text.split_once("# ---- The car on its wheels").unwrap();
    let text = format!("{head}\n[front]\nwheel_rate = \"15.5 N/mm\"\n");
    std::fs::write(folder.path().join("car.toml"), text).unwrap();
    let said = run(folder.path(), &["trim", "car.toml"]).ends_with(0);
    for part in ["front.corner_weight", "how: ", "unlocks: car.expected"] {
        assert!(said.out.contains(part), "{part}:\n{}", said.out);
    }
    run(folder.path(), &["trim", "car.toml", "--strict"]).ends_with(1);
}

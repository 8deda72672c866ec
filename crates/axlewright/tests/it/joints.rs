//! `joints` and `torque` from outside.

use std::path::Path;

use crate::common::run;
use serde_json::Value;
use tempfile::{TempDir, tempdir};

/// A folder with the demo car's file in it.
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

/// The findings of one joint with that id; all of them where no joint is named.
fn found<'a>(document: &'a Value, id: &str, joint: Option<&str>) -> Vec<&'a Value> {
    let is = |finding: &&Value| {
        finding["id"] == id && joint.is_none_or(|joint| finding["of"]["joint"] == joint)
    };
    document["findings"].as_array().unwrap().iter().filter(is).collect()
}

const SHAPE: [&str; 6] = ["car", "cautions", "findings", "gaps", "problems", "schema"];

#[test]
fn joints_prints_the_contracts_shape_with_every_joint() {
    let folder = demo();
    let document = json(folder.path(), &["joints", "car.toml", "--json"]);
    for key in SHAPE {
        assert!(document.get(key).is_some(), "no {key}");
    }
    let settings = found(&document, "joint.setting", None);
    assert_eq!(settings.len(), 20);
    for setting in &settings {
        let of = setting["of"].as_object().unwrap();
        assert_eq!(of.len(), 1, "{of:?}");
        let joint = of["joint"].as_str().unwrap();
        assert!(setting["corner"].is_null());
        for id in ["joint.order", "joint.warning", "joint.position", "joint.preload"] {
            assert_eq!(found(&document, id, Some(joint)).len(), 1, "{id} of {joint}");
        }
        let torque = &setting["value"]["torque"];
        assert_eq!(torque["unit"], "N·m");
        assert!(torque["written"].as_str().unwrap().ends_with("kgf m"), "{torque}");
    }
    for finding in document["findings"].as_array().unwrap() {
        assert!(finding["id"].as_str().unwrap().starts_with("joint"), "{}", finding["id"]);
        for key in ["words", "formula", "source"] {
            let text = finding["why"][key].as_str().unwrap();
            assert!(!text.is_empty(), "{}: {key}", finding["id"]);
        }
    }
}

#[test]
fn the_demos_four_catches_are_in_the_json() {
    let folder = demo();
    let document = json(folder.path(), &["joints", "car.toml", "--json"]);
    let value = |id: &str, joint: &str| found(&document, id, Some(joint))[0]["value"].clone();
    for side in ["left", "right"] {
        let warnings = value("joint.warning", &format!("damper-bottom-{side}"));
        let ids: Vec<&Value> = warnings.as_array().unwrap().iter().map(|w| &w["id"]).collect();
        assert!(ids.contains(&&Value::from("plated-high-strength")), "{ids:?}");
        let rear = value("joint.setting", &format!("rear-eccentric-{side}"));
        let setting = rear["setting"]["value"].as_f64().unwrap();
        // 5.2 kgf m over 480 mm where the wrench has 420; 1 kgf m is 9.806 65 N·m (NIST SP 811).
        assert!((setting - 5.2 * 9.806_65 * 420.0 / 480.0).abs() < 1e-9, "{setting}");
        assert!(setting < rear["torque"]["value"].as_f64().unwrap());
        assert_eq!(value("joint.position", &format!("inner-pivot-{side}")), "ride");
        let nut = value("joint.setting", &format!("hub-nut-{side}"));
        assert!(nut["setting"].is_null() && nut["wrench"].is_null());
        assert!(313.8 < nut["beyond"]["top_least"]["value"].as_f64().unwrap());
    }
}

#[test]
fn what_the_hands_need_comes_first_and_the_theory_only_when_asked_for() {
    let folder = demo();
    let plain = run(folder.path(), &["joints", "car.toml"]).ends_with(0);
    assert_eq!(plain.err, "");
    let at = |text: &str| plain.out.find(text).unwrap_or_else(|| panic!("no {text}"));
    assert!(at("CAUTION") < at("wrench    set"));
    assert!(at("rear eccentric, left and right") < at("set 44.6 N·m on the middle click wrench"));
    assert!(at("hub nut, left and right") < at("BORROW ONE whose scale ends between 314 and"));
    assert!(at("WHEELS ON THE FLOOR") < at("\nWarnings"));
    assert!(at("order     bolts A - C - D - B") < at("\nWarnings"));
    assert!(at("\nWarnings") < at("plated-high-strength"));
    assert!(at("plated-high-strength") < at("changed-surface"), "the manual's own comes last");
    assert!(!plain.out.contains("VDI 2230"), "theory without being asked");
    assert!(plain.out.lines().all(|line| line.chars().count() <= 80), "a line too wide");
    let theory = run(folder.path(), &["joints", "car.toml", "--theory"]).ends_with(0);
    assert!(theory.out.starts_with(plain.out.split("\nHow much each").next().unwrap()));
    assert!(theory.out.contains("VDI 2230") && theory.out.contains("preload of each bolt"));
}

#[test]
fn a_file_without_joints_says_how_to_write_one() {
    let folder = tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), "format = 1\n").unwrap();
    let said = run(folder.path(), &["joints", "car.toml"]).ends_with(0);
    assert!(said.out.contains("[[joint]]"), "{}", said.out);
    assert_eq!(
        json(folder.path(), &["joints", "car.toml", "--json"])["findings"],
        Value::from([0; 0].as_slice())
    );
    run(folder.path(), &["joints", "nothing.toml"]).ends_with(3);
    let bad = "format = 1\n[[joint]]\nid = \"a\"\nside = \"none\"\nthread = \"M13\"\n";
    std::fs::write(folder.path().join("car.toml"), bad).unwrap();
    let said = run(folder.path(), &["joints", "car.toml"]).ends_with(1);
    assert!(said.err.contains("no thread M13"), "{}", said.err);
    let gaps = "format = 1\n[[joint]]\nid = \"a\"\nside = \"none\"\n";
    std::fs::write(folder.path().join("car.toml"), gaps).unwrap();
    run(folder.path(), &["joints", "car.toml"]).ends_with(0);
    run(folder.path(), &["joints", "car.toml", "--strict"]).ends_with(1);
}

const QUICK: [&str; 9] = [
    "torque",
    "--thread",
    "M12x1.5",
    "--class",
    "8.8",
    "--torque",
    "6.2 kgf m",
    "--surface",
    "zinc-oiled",
];

fn with<'a>(more: &[&'a str]) -> Vec<&'a str> {
    QUICK.iter().copied().chain(more.iter().copied()).collect()
}

#[test]
fn torque_answers_in_the_contracts_shape() {
    let folder = tempdir().unwrap();
    let document = json(folder.path(), &with(&["--json"]));
    let ids: Vec<&str> = document["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| finding["id"].as_str().unwrap())
        .collect();
    for id in ["joint.setting", "joint.preload", "joint.utilisation", "joint.warning"] {
        assert!(ids.contains(&id), "{ids:?}");
    }
    let setting = &found(&document, "joint.setting", None)[0]["value"];
    assert_eq!(setting["torque"]["written"], "6.2 kgf m");
    assert!((setting["torque"]["value"].as_f64().unwrap() - 6.2 * 9.806_65).abs() < 1e-9);
    let preload = &found(&document, "joint.preload", None)[0]["value"];
    let kn = |part: &str| preload[part]["value"].as_f64().unwrap() / 1e3;
    assert!(kn("least") < kn("preload") && kn("preload") < kn("most"));
    assert!(0.0 < preload["preload"]["u"].as_f64().unwrap());
}

#[test]
fn torque_takes_wrenches_extensions_units_and_preloads() {
    let folder = tempdir().unwrap();
    let reach = ["--wrench", "20..100 N m", "--adapter", "60 mm", "--wrench-arm", "420 mm"];
    let out = run(folder.path(), &with(&reach)).ends_with(0).out.replace("\n  ", " ");
    // 60.8 · 420/480.
    assert!(out.contains("Set 53.2 N·m on the wrench of 20..100 N m"), "{out}");
    assert!(out.contains("60 mm extension, hand at 420 mm"), "{out}");
    let square: Vec<&str> = reach.iter().copied().chain(["--adapter-angle", "90"]).collect();
    assert!(run(folder.path(), &with(&square)).ends_with(0).out.contains("Set 60.8 N·m"));
    let weak = run(folder.path(), &with(&["--wrench", "1..4 kgf m"])).ends_with(0).out;
    assert!(weak.contains("BORROW ONE whose scale ends between 61 and 304 N·m"), "{weak}");
    assert!(weak.contains("wrench out of range"));
    let two = ["--wrench", "5..25", "--wrench", "1..20 kgf m", "--unit", "lb ft"];
    let two = run(folder.path(), &with(&two)).ends_with(0).out;
    assert!(two.contains("Set 6.20 kgf m on the wrench of 1..20 kgf m"), "{two}");
    assert!(two.contains("60.8 N·m = 6.20 kgf m = 44.8 lbf ft"), "{two}");
    let pull = ["torque", "--thread", "M10", "--class", "10.9", "--preload", "30 kN"];
    let pull: Vec<&str> = pull.into_iter().chain(["--surface", "oiled"]).collect();
    assert!(run(folder.path(), &pull).ends_with(0).out.contains("30000 u "));
}

#[test]
fn a_torque_over_yield_is_no_setting() {
    let folder = tempdir().unwrap();
    let far = ["torque", "--thread", "M10", "--class", "8.8", "--torque", "400 N m"];
    let far: Vec<&str> = far.into_iter().chain(["--surface", "dry"]).collect();
    let out = run(folder.path(), &far).ends_with(0).out;
    assert!(out.contains("  ! too much for the bolt: "), "{out}");
    assert!(out.contains("No setting is told") && !out.contains("Set 400"), "{out}");
    assert!(!out.contains("over-yield-share"), "{out}");
    // Within reason the warning still comes before what the hand does.
    let weak = run(folder.path(), &with(&["--wrench", "1..4 kgf m"])).ends_with(0).out;
    assert!(weak.find("  ! wrench out of range") < weak.find("BORROW ONE"), "{weak}");
}

#[test]
fn torque_refuses_what_there_is_not() {
    let folder = tempdir().unwrap();
    let bad = |from: &'static str, to: &'static str| -> Vec<&'static str> {
        QUICK.iter().map(|arg| if *arg == from { to } else { *arg }).collect()
    };
    for (args, says) in [
        (bad("M12x1.5", "M12x1.6"), "M12 has no pitch of 1.6 mm"),
        (bad("8.8", "8.9"), "not a property class"),
        (bad("zinc-oiled", "zinc"), "did you mean `zinc-dry`"),
        (bad("6.2 kgf m", "9000 kgf m"), "must lie between"),
        (bad("6.2 kgf m", "-3 N m"), "must lie between"),
    ] {
        let said = run(folder.path(), &args).ends_with(1);
        assert!(said.err.starts_with("error: ") && said.err.contains(says), "{}", said.err);
        assert!(said.err.contains("= help: "), "{}", said.err);
        let document = run(folder.path(), &[&args[..], &["--json"]].concat()).ends_with(1).json();
        assert_eq!(document["problems"].as_array().unwrap().len(), 1);
    }
    for wrong in [
        vec!["--wrench", "20 N m"],
        vec!["--wrench", "20..100 parsec"],
        vec!["--adapter", "60 mm"],
        vec!["--adapter-angle", "10"],
        vec!["--preload", "3 kN"],
        vec!["--unit", "N"],
    ] {
        run(folder.path(), &with(&wrong)).ends_with(2);
    }
}

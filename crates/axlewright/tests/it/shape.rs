//! The JSON shape as the contract has it, walked over every document the program prints.

use std::path::Path;

use crate::common::run;
use serde_json::{Map, Value};
use tempfile::tempdir;

const LEAF: [&str; 4] = ["value", "unit", "u", "written"];

#[track_caller]
fn keys_are(map: &Map<String, Value>, keys: &[&str], place: &str) {
    let mut have: Vec<&str> = map.keys().map(String::as_str).collect();
    let mut want = keys.to_vec();
    have.sort_unstable();
    want.sort_unstable();
    assert_eq!(have, want, "keys of {place}");
}

fn is_number_or_null(value: &Value) -> bool {
    value.is_number() || value.is_null()
}

fn walk_leaf(map: &Map<String, Value>, place: &str) {
    keys_are(map, &LEAF, place);
    assert!(is_number_or_null(&map["value"]), "{place}: {}", map["value"]);
    assert!(map["unit"].is_string(), "{place}");
    assert!(is_number_or_null(&map["u"]), "{place}");
    assert!(map["u"].as_f64().is_none_or(|u| 0.0 <= u), "{place}: negative u");
    assert!(map["written"].is_string() || map["written"].is_null(), "{place}");
}

/// A leaf, or objects and lists of leaves, words, flags and nulls; never a bare number.
fn walk_value(value: &Value, place: &str) {
    match value {
        Value::Object(map) if map.contains_key("unit") => walk_leaf(map, place),
        Value::Object(map) => {
            map.iter().for_each(|(key, part)| walk_value(part, &format!("{place}.{key}")));
        }
        Value::Array(items) => {
            let walk = |(n, part)| walk_value(part, &format!("{place}[{n}]"));
            items.iter().enumerate().for_each(walk);
        }
        Value::Number(number) => panic!("{place}: the bare number {number}"),
        Value::String(_) | Value::Bool(_) | Value::Null => {}
    }
}

fn walk_finding(finding: &Value) {
    let map = finding.as_object().expect("a finding is an object");
    let id = map["id"].as_str().expect("an id is a text");
    let mut keys = vec!["id", "of", "corner", "at", "value", "why"];
    if map.contains_key("unit") {
        keys.extend(["unit", "u", "written"]);
        let leaf = LEAF.iter().map(|key| ((*key).to_owned(), map[*key].clone())).collect();
        walk_leaf(&leaf, id);
    } else {
        assert!(!map["value"].is_number(), "{id}: a number without its unit");
        walk_value(&map["value"], id);
    }
    if id == "index.choices" {
        keys.push("step");
        walk_leaf(map["step"].as_object().expect("the step is a leaf"), "index.choices.step");
    }
    keys_are(map, &keys, id);
    match &map["of"] {
        Value::Null => assert!(map["corner"].is_null(), "{id}"),
        Value::Object(of) => {
            assert_eq!(of.len(), 1, "{id}");
            let (kind, name) = of.iter().next().unwrap();
            assert!(["corner", "joint", "stand", "step"].contains(&kind.as_str()), "{id}: {kind}");
            assert!(name.is_string(), "{id}");
            let corner = if kind == "corner" { name } else { &Value::Null };
            assert_eq!(&map["corner"], corner, "{id}");
        }
        other => panic!("{id}: of is {other}"),
    }
    assert!([Value::Null, "target".into(), "now".into()].contains(&map["at"]), "{id}");
    walk_why(&map["why"], id);
}

fn walk_why(why: &Value, id: &str) {
    let map = why.as_object().expect("why is an object");
    keys_are(map, &["words", "formula", "source", "inputs"], &format!("{id}.why"));
    for key in ["words", "formula", "source"] {
        assert!(map[key].as_str().is_some_and(|text| !text.is_empty()), "{id}.why.{key} is empty");
    }
    for input in map["inputs"].as_array().expect("inputs are a list") {
        let input = input.as_object().expect("an input is an object");
        keys_are(input, &["name", "value", "unit", "u", "from", "share"], id);
        assert_eq!(input["value"].is_null(), input["unit"].is_null(), "{id}: {input:?}");
        assert!(input["name"].as_str().is_some_and(|name| !name.is_empty()), "{id}");
        assert!(input["from"].is_string(), "{id}");
        let share = &input["share"];
        assert!(is_number_or_null(share), "{id}");
        assert!(share.as_f64().is_none_or(|s| (-1e-9..=1.0 + 1e-9).contains(&s)), "{id}: {share}");
    }
}

fn walk_gap(gap: &Value) {
    let map = gap.as_object().expect("a gap is an object");
    let id = map["id"].as_str().expect("an id is a text");
    keys_are(map, &["id", "of", "measure", "how", "blocks", "rows"], id);
    assert!(map["measure"].as_str().is_some_and(|words| !words.is_empty()), "{id}");
    assert!(map["how"].is_string(), "{id}");
    assert!(map["blocks"].as_array().unwrap().iter().all(Value::is_string), "{id}");
    for row in map["rows"].as_array().unwrap() {
        keys_are(row.as_object().unwrap(), &["written", "builds", "source", "line"], id);
    }
}

/// Walks a document and gives the ids of its findings.
fn walk(document: &Value) -> Vec<String> {
    let map = document.as_object().expect("the document is an object");
    keys_are(map, &["schema", "car", "findings", "gaps", "problems", "cautions"], "the document");
    assert_eq!(map["schema"], 1);
    assert!(map["car"].is_string() || map["car"].is_null());
    let findings = map["findings"].as_array().unwrap();
    findings.iter().for_each(walk_finding);
    map["gaps"].as_array().unwrap().iter().for_each(walk_gap);
    for caution in map["cautions"].as_array().unwrap() {
        let caution = caution.as_object().unwrap();
        keys_are(caution, &["id", "of", "severity", "words"], "a caution");
        let severity = caution["severity"].as_str().unwrap();
        assert!(["note", "caution", "stop"].contains(&severity), "{severity}");
        assert!(caution["words"].as_str().is_some_and(|words| !words.is_empty()));
    }
    for problem in map["problems"].as_array().unwrap() {
        let problem = problem.as_object().unwrap();
        keys_are(problem, &["severity", "line", "column", "what", "right"], "a problem");
    }
    findings.iter().map(|finding| finding["id"].as_str().unwrap().to_owned()).collect()
}

fn document(folder: &Path, args: &[&str], code: i32) -> Value {
    let args: Vec<&str> = args.iter().copied().chain(["--json"]).collect();
    let said = run(folder, &args).ends_with(code);
    assert_eq!(said.err, "", "words beside JSON: {args:?}");
    said.json()
}

#[test]
fn quick_calculators_print_the_same_shape() {
    let folder = tempdir().unwrap();
    let index = ["index", "--anchor-teeth", "45", "--plate-teeth", "50", "--now", "20.1"];
    let index: Vec<&str> = index.into_iter().chain(["--target", "22.4"]).collect();
    let sided: Vec<&str> = index.iter().copied().chain(["--side", "right"]).collect();
    let bar = ["bar", "--diameter", "23", "--length", "540", "--modulus", "78.5"];
    let twisted: Vec<&str> =
        bar.into_iter().chain(["--twist", "16", "--allowable", "800 MPa"]).collect();
    let change = ["bar", "change", "--manual", "30", "--ride", "11", "--old", "22", "--new", "23"];
    let level = ["level", "--first", "0.3", "--turned", "0.1"];
    let plate: Vec<&str> =
        level.into_iter().chain(["--plate", "35.2", "--arrow", "nose"]).collect();
    let rows: [(&[&str], &[&str]); 7] = [
        (&index, &["vernier.step", "index.choices"]),
        (&sided, &["vernier.step", "index.choices"]),
        (&bar, &["bar.rate"]),
        (&twisted, &["bar.rate", "bar.shear"]),
        (&change, &["free-angle.by-four-numbers"]),
        (&level, &["body.level"]),
        (&plate, &["body.level", "plate.angle"]),
    ];
    for (args, ids) in rows {
        let have = walk(&document(folder.path(), args, 0));
        for id in ids {
            assert!(have.iter().any(|have| have == id), "{args:?} gives {have:?}");
        }
    }
}

#[test]
fn a_question_that_makes_no_sense_prints_the_same_shape_with_its_problem() {
    let folder = tempdir().unwrap();
    let index = ["index", "--anchor-teeth", "0", "--plate-teeth", "50", "--now", "20.1"];
    let index: Vec<&str> = index.into_iter().chain(["--target", "22.4"]).collect();
    let hollow =
        ["bar", "--diameter", "23", "--bore", "24", "--length", "540", "--modulus", "78.5"];
    let change = ["bar", "change", "--manual", "30", "--ride", "11", "--old", "22", "--new", "0"];
    for args in [&index[..], &hollow, &change] {
        let found = document(folder.path(), args, 1);
        walk(&found);
        assert_eq!(found["problems"].as_array().unwrap().len(), 1, "{args:?}");
        let said = run(folder.path(), args).ends_with(1);
        assert!(said.err.starts_with("error: "), "{}", said.err);
        assert_eq!(said.out, "");
    }
}

#[test]
fn car_files_whole_half_and_empty_print_the_same_shape() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["demo", "--no-open", "--out", "demo"]).ends_with(0);
    run(folder.path(), &["new", "new"]).ends_with(0);
    let half = "format = 1\n[bar]\noriginal_diameter = \"22 mm\"\nfitted_diameter = \"23 mm\"\n";
    std::fs::write(folder.path().join("half.toml"), half).unwrap();
    std::fs::write(folder.path().join("empty.toml"), "format = 1\n").unwrap();
    for command in ["sheet", "check"] {
        let whole = walk(&document(folder.path(), &[command, "demo/car.toml"], 0));
        assert!(60 < whole.len(), "only {} findings", whole.len());
        let told = &document(folder.path(), &[command, "demo/car.toml"], 0)["cautions"][0];
        assert_eq!((&told["id"], &told["of"]), (&"car.roll-share".into(), &Value::Null));
        assert_eq!(told["severity"], "caution");
        for file in ["new/car.toml", "half.toml", "empty.toml"] {
            let found = document(folder.path(), &[command, file], 0);
            walk(&found);
            assert!(!found["gaps"].as_array().unwrap().is_empty(), "{file} has no gaps");
        }
    }
}

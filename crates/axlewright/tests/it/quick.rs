//! Answers of the quick calculators against figures worked out by hand.

use crate::common::run;
use serde_json::Value;
use tempfile::tempdir;

fn ask(args: &[&str]) -> Value {
    let folder = tempdir().unwrap();
    let args: Vec<&str> = args.iter().copied().chain(["--json"]).collect();
    run(folder.path(), &args).ends_with(0).json()
}

fn finding<'a>(document: &'a Value, id: &str) -> &'a Value {
    let findings = document["findings"].as_array().unwrap();
    findings.iter().find(|finding| finding["id"] == id).unwrap_or_else(|| panic!("no {id}"))
}

#[track_caller]
fn near(value: &Value, expected: f64, within: f64) {
    let number = value["value"].as_f64().unwrap_or_else(|| panic!("no number in {value}"));
    assert!((number - expected).abs() <= within, "{number} is not {expected} ± {within}");
}

/// By hand: 45 and 50 teeth are 8° and 7.2° per tooth, 360/lcm(45, 50) = 360/450 = 0.8° a step.
/// From 20.1° to 22.4° is 2.3°, three steps are 2.4°: +3 anchor teeth (24°) and -3 plate teeth
/// (21.6°).
#[test]
fn teeth_by_hand() {
    let args = ["index", "--anchor-teeth", "45", "--plate-teeth", "50", "--now", "20.1"];
    let args: Vec<&str> = args.into_iter().chain(["--target", "22.4"]).collect();
    let found = ask(&args);
    near(finding(&found, "vernier.step"), 0.8, 1e-9);
    let choices = finding(&found, "index.choices");
    near(&choices["step"], 0.8, 1e-9);
    let best = &choices["value"][0];
    near(&best["anchor_teeth"], 3.0, 0.0);
    near(&best["plate_teeth"], -3.0, 0.0);
    near(&best["ends"], 2.0, 0.0);
    near(&best["change"], 2.4, 1e-9);
    near(&best["angle"], 22.5, 1e-9);
    near(&best["error"], 0.1, 1e-9);
    let all = choices["value"].as_array().unwrap();
    assert!(1 < all.len(), "a list, best first");
}

#[test]
fn the_text_gives_the_answer_before_its_reasons() {
    let folder = tempdir().unwrap();
    let args = ["index", "--anchor-teeth", "45", "--plate-teeth", "50", "--now", "20.1"];
    let args: Vec<&str> = args.into_iter().chain(["--target", "22.4"]).collect();
    let said = run(folder.path(), &args).ends_with(0);
    let place = |words: &str| {
        said.out.find(words).unwrap_or_else(|| panic!("`{words}` is missing in\n{}", said.out))
    };
    assert!(place("CAUTION") < place("Best: "), "the caution stands before the action");
    assert!(place("Best: ") < place("How known:"));
    assert!(place("0.80 deg") < place("How known:"));
    assert!(!said.out.contains("(clockwise"), "of which side?\n{}", said.out);
    let right: Vec<&str> = args.iter().copied().chain(["--side", "right"]).collect();
    let right = run(folder.path(), &right).ends_with(0).out;
    assert!(right.contains("tail down (anticlockwise"), "a right wheel turns the other way");
    assert!(said.out.lines().all(|line| line.chars().count() <= 80), "{}", said.out);
}

#[test]
fn negative_numbers_and_units_are_values() {
    let teeth = ["index", "--anchor-teeth", "45", "--plate-teeth", "50"];
    let args: Vec<&str> = teeth.into_iter().chain(["--now", "-3.2", "--target", "4.8"]).collect();
    near(&finding(&ask(&args), "index.choices")["value"][0]["change"], 8.0, 1e-9);
    let args: Vec<&str> =
        teeth.into_iter().chain(["--now", "-3.2 deg", "--target", "-11°12'"]).collect();
    near(&finding(&ask(&args), "index.choices")["value"][0]["change"], -8.0, 1e-9);
}

/// k = π·G·d⁴/(32·L): 78.5 GPa, 23 mm, 540 mm → 3993.9 N·m/rad = 69.707 N·m/deg, computed by hand
/// from the formula; τ = G·d·φ/(2·L): at 16° 466.8 MPa.
#[test]
fn rate_twist_and_stress_of_a_bar() {
    let args = ["bar", "--diameter", "23", "--length", "540", "--modulus", "78.5", "--twist", "16"];
    let args: Vec<&str> = args.into_iter().chain(["--allowable", "800"]).collect();
    let found = ask(&args);
    let (g, d, l) = (78.5e9, 0.023_f64, 0.54);
    let rate = std::f64::consts::PI * g * d.powi(4) / (32.0 * l) * std::f64::consts::PI / 180.0;
    near(finding(&found, "bar.rate"), rate, 1e-6 * rate);
    let shear = g * d * 16.0_f64.to_radians() / (2.0 * l) / 1e6;
    let loaded = &finding(&found, "bar.shear")["value"];
    near(&loaded["shear"], shear, 1e-6 * shear);
    near(&loaded["torque"], rate * 16.0, 1e-6 * rate * 16.0);
    near(&loaded["twist"], 16.0, 1e-9);
    near(&loaded["share_of_allowable"], shear / 800.0, 1e-6);
    // The same bar by its torque, in other units.
    let torque = format!("{} N·m", rate * 16.0);
    let found = ask(&[
        "bar",
        "--diameter",
        "2.3 cm",
        "--length",
        "0.54 m",
        "--modulus",
        "78500 MPa",
        "--torque",
        &torque,
    ]);
    near(&finding(&found, "bar.shear")["value"]["twist"], 16.0, 1e-6);
}

#[test]
fn uncertainty_that_is_typed_comes_out_again() {
    let bare = ask(&["bar", "--diameter", "23", "--length", "540", "--modulus", "78.5"]);
    let typed =
        ask(&["bar", "--diameter", "23 mm u 0.03 mm", "--length", "540", "--modulus", "78.5"]);
    let u = |found: &Value| finding(found, "bar.rate")["u"].as_f64();
    let rate = finding(&typed, "bar.rate")["value"].as_f64().unwrap();
    let share = u(&typed).expect("the diameter's uncertainty reaches the rate") / rate;
    // Fourth power: four times 0.03/23.
    assert!((share - 4.0 * 0.03 / 23.0).abs() < 1e-4, "{share}");
    assert!(u(&bare).is_none_or(|u| u < 1e-9), "nothing typed, nothing known");
}

/// 11° + (30° − 11°)·(22/23)⁴ = 26.905°.
#[test]
fn four_numbers_give_the_free_angle_for_other_bars() {
    let args = ["bar", "change", "--manual", "30", "--ride", "11", "--old", "22", "--new", "23"];
    let found = ask(&args);
    let expected = 11.0 + 19.0 * (22.0_f64 / 23.0).powi(4);
    near(finding(&found, "free-angle.by-four-numbers"), expected, 1e-9);
    let folder = tempdir().unwrap();
    let said = run(folder.path(), &args).ends_with(0);
    assert!(said.out.contains("26.9"), "{}", said.out);
    assert!(said.out.contains("about a degree"), "{}", said.out);
}

/// Readings 0.3° and, turned, 0.1°: slope (0.3 − 0.1)/2 = 0.1° nose up, gauge (0.3 + 0.1)/2 = 0.2°
/// too much; a plate read at 35.2° with the arrow to the nose is at 35.2 − 0.2 − 0.1 = 34.9°.
#[test]
fn a_gauge_turned_round_gives_away_its_error() {
    let args = ["level", "--first", "0.3", "--turned", "0.1", "--plate", "35.2", "--arrow"];
    let args: Vec<&str> = args.into_iter().chain(["nose"]).collect();
    let found = ask(&args);
    near(finding(&found, "body.level"), 0.1, 1e-9);
    near(finding(&found, "gauge.offset"), 0.2, 1e-9);
    near(finding(&found, "plate.angle"), 34.9, 1e-9);
    let folder = tempdir().unwrap();
    let said = run(folder.path(), &args).ends_with(0);
    assert!(said.out.contains("nose up"), "{}", said.out);
    assert!(said.out.contains("too much"), "{}", said.out);
    let down = ["level", "--first", "-0.5", "--turned", "-0.1"];
    let said = run(folder.path(), &down).ends_with(0);
    assert!(said.out.contains("nose down"), "{}", said.out);
    assert!(said.out.contains("too little"), "{}", said.out);
    let mut tail = args.clone();
    tail.pop();
    tail.push("tail");
    let said = run(folder.path(), &tail).ends_with(0);
    // −(35.2 − 0.2) − 0.1: with the arrow to the tail the gauge counts the other way.
    assert!(said.out.contains("\u{2212}35.10 deg: the tail of the plate is up"), "{}", said.out);
}

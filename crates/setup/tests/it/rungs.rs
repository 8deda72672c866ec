//! Each rung works without the next.

use super::{LARCH, LEFT, assessed, finding, number};
use axlewright_setup::Item;
use axlewright_setup::cautions::NO_READING;

/// Four numbers and two tooth counts.
const SIX: &str = r#"
format = 1
[[spec]]
what = "free angle"
value = "30 deg"
builds = "all"
source = "a page"
[bar]
original_diameter = "22 mm"
fitted_diameter = "23 mm"
[ride]
plate_angle = "11 deg"
[splines]
anchor_teeth = 38
plate_teeth = 42
"#;

/// What a plain lever needs on top.
const TEN: &str = r#"
[lever]
hub_to_wheel = "465 mm"
hub_to_damper = "536 mm"
[load]
corner_weight = "280 kg"
unsprung = "36 kg"
settling = "3 mm"
[bush]
kind = "greased"
[damper.fitted]
gas = "120 N"
[car]
load_state = "empty, half a tank"
[[spec]]
what = "trim"
value = "95 mm ± 5 mm"
builds = "all"
source = "a page"
"#;

fn ten() -> String {
    let bar = "[bar]\nbore = \"0 mm\"\nlength = \"540 mm\"\nshear_modulus = \"78.5 GPa\"\n";
    SIX.replace("[bar]\n", bar) + TEN
}

#[test]
fn six_numbers_give_the_angle_and_the_teeth() {
    let out = assessed(SIX);
    let angle = number(&finding(&out, "free-angle.by-four-numbers", &LEFT, None).value, "").shown();
    // 11 + 19·(22/23)⁴ by hand.
    assert!((angle - 26.90498).abs() < 1e-4);
    let choices = finding(&out, "index.choices", &LEFT, None);
    // From 30°: seven steps of 0.4511° down are −3.158°, within 0.07° of the −3.095° wanted.
    let best = &choices.value.items()[0];
    assert!((number(best, "change").shown() + 7.0 * 360.0 / 798.0).abs() < 1e-9);
    assert!(choices.why.words.contains("no reading"), "{}", choices.why.words);
    let told = out.caution(NO_READING, Some(&LEFT)).unwrap();
    assert!(told.words.contains("Read the plate before you draw a bar."), "{told:?}");
    assert_eq!(assessed(LARCH).caution(NO_READING, None), None);
    assert_eq!(best.get("trim"), Some(&Item::Nothing), "no trim is made up");
}

/// The plain lever by hand: r = 465, trim 95 + 3 → lever arm √(465² − 98²) = 454.556 mm; with the
/// damper upright at 536 mm its arm there is 536·cos of the angle it has turned (0.366°) ≈ 535.99,
/// less than its drop. T = 244·9.80665·0.454556 − 120·0.53599·… ; the angle is T/k + θ.
#[test]
fn ten_numbers_give_trim() {
    let out = assessed(&ten());
    let target = number(&finding(&out, "free-angle.target", &LEFT, None).value, "").shown();
    let (r, gas_arm) = (0.465_f64, 0.536);
    let theta =
        11.0_f64 + (98.0_f64 / 465.0).asin().to_degrees() - (95.0_f64 / 465.0).asin().to_degrees();
    let arm = (r * r - 0.098 * 0.098).sqrt();
    let k = 78.5e9 * std::f64::consts::PI * 0.023_f64.powi(4) / 32.0 / 0.540;
    let by_hand = theta + ((244.0 * 9.80665 * arm - 120.0 * gas_arm) / k).to_degrees();
    // The damper's arm is known only as "about its horizontal distance": 0.02° of its 0.9°.
    assert!((target - by_hand).abs() < 0.05, "{target} by hand {by_hand}");
    finding(&out, "trim.at-manual-angle", &LEFT, None);
    finding(&out, "bar.shear-at-ride", &LEFT, None);
    let full = assessed(super::LARCH);
    let with_arm = number(&finding(&full, "free-angle.target", &LEFT, None).value, "").shown();
    assert!((target - with_arm).abs() < 0.6, "lever {target}, arm {with_arm}");
}

#[test]
fn three_lengths_do_for_coordinates() {
    let lengths = "
[damper]
squash = \"50 %\"
lengths = [\"317.0 mm at 5 deg\", \"365.4 mm at 11 deg\", \"484.4 mm at 25 deg\"]
";
    let text = ten().replace(
        "[damper.fitted]\ngas = \"120 N\"\n",
        "[damper.fitted]\ngas = \"120 N\"\nclosed = \"252 mm\"\nopen = \"474 mm\"\nrings = 7\n\
         ring_height = \"12 mm\"\n",
    ) + lengths;
    let out = assessed(&text);
    let window = &finding(&out, "window.damper", &LEFT, None).value;
    let full = assessed(super::LARCH);
    let by_places = &finding(&full, "window.damper", &LEFT, None).value;
    for end in ["from", "to"] {
        let (a, b) = (number(window, end).shown(), number(by_places, end).shown());
        assert!((a - b).abs() < 1.0, "{end}: {a} by lengths, {b} by coordinates");
        assert!(a != b, "two roads");
    }
}

#[test]
fn an_empty_file_is_all_gaps() {
    let out = assessed("format = 1\n");
    assert!(out.findings.is_empty(), "{:?}", out.findings);
    assert!(out.gaps.len() > 10);
    assert!(out.gaps.iter().all(|gap| !gap.measure.is_empty() && !gap.how.is_empty()));
    // What pays first stands first.
    let first: Vec<&str> = out.gaps.iter().take(4).map(|gap| gap.id.as_str()).collect();
    for id in ["bar.fitted_diameter", "ride.plate_angle", "spec.free-angle"] {
        assert!(first.contains(&id), "{id} in {first:?}");
    }
}

#[test]
fn the_starter_file_is_all_gaps_and_no_problem() {
    let out = assessed(&axlewright_book::starter(&[]));
    assert!(out.findings.is_empty());
    assert!(out.problems.is_empty(), "{:?}", out.problems);
}

//! Hollow bars, plain levers, screws, teeth that come no nearer, bars near their limit.

use super::{LARCH, LEFT, RIGHT, assessed, demo, finding, number, without};
use axlewright_setup::{CrossCheck, Severity, State};

fn with(was: &str, is: &str) -> String {
    assert!(LARCH.contains(was), "{was}");
    LARCH.replace(was, is)
}

/// By hand: 23⁴ − 17⁴ = 196 320 mm⁴ and 22⁴ = 234 256 mm⁴: 11° + 19°·1.19324 = 33.67°.
#[test]
fn four_numbers_know_a_hollow_bar() {
    let out = assessed(&with("bore = \"0 mm\"", "bore = \"17 mm\""));
    let four = finding(&out, "free-angle.by-four-numbers", &LEFT, None);
    assert!((number(&four.value, "").shown() - 33.671).abs() < 0.002, "{four:?}");
    assert!(four.why.words.contains("softer, its bore taken in"), "{four:?}");
    // Both ways know it, and agree.
    assert_eq!(out.caution(CrossCheck::ID, None), None);
}

#[test]
fn eccentrics_of_a_plain_lever_are_a_gap_and_no_error() {
    let text = without(&without(LARCH, "arm.inner_pivot"), "arm.wheel_centre");
    let lever = "[lever]\nhub_to_wheel = \"464.8 mm\"\nhub_to_damper = \"536 mm\"\n\
                 half_track = \"668 mm\"\n\n[arm]\n";
    let out = assessed(&text.replacen("[arm]\n", lever, 1));
    assert_eq!(out.problems, Vec::<String>::new());
    let gap = out.gaps.iter().find(|gap| gap.id == "arm.wheel_centre").unwrap();
    assert!(gap.blocks.contains(&"car.after"), "{gap:?}");
    assert!(out.find("car.moves", None).is_some());
}

#[test]
fn a_plate_set_by_a_screw_has_no_teeth_and_no_error() {
    let out = assessed(&with("adjuster = \"splines\"", "adjuster = \"screw\""));
    assert_eq!(out.problems, Vec::<String>::new());
    for id in ["vernier.step", "vernier.trim-per-step", "index.choices"] {
        assert!(out.find(id, None).is_none(), "{id}");
    }
    let at = |id, path| number(&finding(&out, id, &LEFT, None).value, path).shown();
    let change = at("free-angle.target", "") - at("free-angle.now", "");
    assert!((at("screw.change", "change") - change).abs() < 1e-9);
    assert!(finding(&out, "screw.change", &LEFT, None).why.words.contains("tail up"));
    assert!(demo().find("screw.change", None).is_none());
}

/// At full bump the demo's bars bear some 676 MPa, known to some 20 MPa.
#[test]
fn stress_is_held_against_its_limit_with_its_doubt() {
    let told = |limit: &str| {
        let was = "allowable_shear = \"800 MPa\"";
        let out = assessed(&with(was, &format!("allowable_shear = \"{limit}\"")));
        let all = out.cautions.iter().filter(|c| c.id.starts_with("bar."));
        all.map(|c| (c.id, c.severity)).collect::<Vec<_>>()
    };
    let near = ("bar.near-its-limit", Severity::Caution);
    assert_eq!(told("690 MPa"), [near, near]);
    assert_eq!(told("760 MPa"), []);
    let over = ("bar.overstressed", Severity::Stop);
    assert_eq!(told("660 MPa"), [over, over]);
}

/// With 38 teeth at both ends the left plate, 8.5° off, moves by 9.47° or not at all.
#[test]
fn equal_counts_of_teeth_are_told() {
    let out = assessed(&with("plate_teeth = 42", "plate_teeth = 38"));
    assert!(out.caution("teeth.too-coarse", Some(&LEFT)).is_some());
    assert_eq!(out.caution("teeth.too-coarse", Some(&RIGHT)), None);
    assert_eq!(demo().caution("teeth.too-coarse", None), None);
    assert!(out.findings.iter().any(|f| f.at == Some(State::Now)));
}

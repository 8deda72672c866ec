//! The demo: what it writes, what it leaves alone, and what it says.

use std::fs;

use crate::common::run;
use tempfile::tempdir;

/// Every id the first build sheet promises for each rear corner.
const OF_A_CORNER: [&str; 24] = [
    "bar.rate",
    "bar.shear-at-ride",
    "bar.shear-at-full-bump",
    "free-angle.manual",
    "free-angle.by-four-numbers",
    "free-angle.target",
    "trim.at-manual-angle",
    "vernier.step",
    "vernier.trim-per-step",
    "wheel-rate",
    "ride-frequency",
    "body.level",
    "free-angle.now",
    "hang.plate",
    "hang.arm",
    "index.choices",
    "window.stop-bolt",
    "window.damper",
    "window.hose",
    "damper.rings",
    "raise.stop-bolt",
    "droop",
    "ride.stick",
    "travel",
];

#[test]
fn the_demo_car_has_no_problems_and_every_finding_for_both_rear_corners() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["demo", "--no-open"]).ends_with(0);
    let said = run(folder.path(), &["sheet", "larch-1300-demo/car.toml", "--json"]).ends_with(0);
    let found = said.json();
    assert_eq!(found["problems"].as_array().unwrap().len(), 0, "{}", found["problems"]);
    let findings = found["findings"].as_array().unwrap();
    for id in OF_A_CORNER {
        for corner in ["LR", "RR"] {
            let is_it = |f: &&serde_json::Value| f["id"] == id && f["corner"] == corner;
            assert!(findings.iter().any(|f| is_it(&f)), "{id} is missing for {corner}");
        }
    }
    for id in ["window.cable", "window.half-shaft", "window.plate-bend", "stands", "stands.upset"] {
        assert!(findings.iter().any(|f| f["id"] == id), "{id} is missing");
    }
    for at in ["target", "now"] {
        let is_it = |f: &&serde_json::Value| f["id"] == "raise.stop-bolt" && f["at"] == at;
        assert_eq!(findings.iter().filter(is_it).count(), 2, "raise.stop-bolt at {at}");
    }
}

#[test]
fn the_demo_says_what_matters_in_the_order_of_the_work() {
    let folder = tempdir().unwrap();
    let said = run(folder.path(), &["demo", "--no-open"]).ends_with(0);
    assert_eq!(said.err, "");
    let mut at = 0;
    for words in [
        "Larch 1300",
        "CAUTION  A wound-up torsion bar can kill",
        "as the manual has it",
        "30.0",
        "right for this car",
        "Why: ",
        "Which teeth to choose",
        "left:",
        "right:",
        "What fits at which plate angle",
        "stop bolt",
        "does not fit",
        "Raising the arm",
        "CAUTION",
        "teeth as now",
        "jack force",
        "at the target",
        "Still to be measured",
        "The build sheet",
        "car-sheet.html",
        "The book",
        "axlewright book log",
    ] {
        let found = said.out[at..].find(words);
        at += found.unwrap_or_else(|| panic!("`{words}` is missing after\n{}", &said.out[..at]));
    }
    assert!(!said.out.contains("not known yet"), "{}", said.out);
    for line in said.out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
}

#[test]
fn the_demo_writes_its_files_again_and_again_but_never_over_foreign_ones() {
    let folder = tempdir().unwrap();
    let at = |name: &str| folder.path().join("demo").join(name);
    let demo = || run(folder.path(), &["demo", "--no-open", "--out", "demo"]);
    demo().ends_with(0);
    let page = fs::read_to_string(at("car-sheet.html")).unwrap();
    demo().ends_with(0);
    assert_eq!(fs::read_to_string(at("car-sheet.html")).unwrap(), page, "the same every time");
    let names = fs::read_dir(folder.path().join("demo")).unwrap();
    let mut names: Vec<_> = names.map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["book", "car-sheet.html", "car.toml"]);

    fs::write(at("car-sheet.html"), "mine").unwrap();
    let said = demo().ends_with(3);
    assert!(said.err.contains("car-sheet.html"), "{}", said.err);
    assert_eq!(fs::read_to_string(at("car-sheet.html")).unwrap(), "mine");
    fs::remove_file(at("car-sheet.html")).unwrap();

    let changed = fs::read_to_string(at("car.toml")).unwrap() + "# my notes\n";
    fs::write(at("car.toml"), &changed).unwrap();
    let said = demo().ends_with(3);
    assert!(said.err.contains("car.toml` is no longer the demo car"), "{}", said.err);
    assert_eq!(fs::read_to_string(at("car.toml")).unwrap(), changed);
}

#[test]
fn the_sheet_needs_nothing_from_outside() {
    let folder = tempdir().unwrap();
    run(folder.path(), &["demo", "--no-open", "--out", "demo"]).ends_with(0);
    let page = fs::read_to_string(folder.path().join("demo/car-sheet.html")).unwrap();
    for from_outside in ["src=\"http", "href=\"http", "src=\"//", "@import", "url(http", "<link"] {
        assert!(!page.contains(from_outside), "{from_outside}");
    }
    assert!(10_000 < page.len());
}

//! Mistakes as a tired person makes them at hose, cable, stand and jack, each answered where it is
//! made. Those at papers, bolts, bars and marks stand with the papers.

use std::path::Path;

use serde_json::Value;
use tempfile::{TempDir, tempdir};

use axlewright::desk::bench::Bench;

use crate::common::run;
use crate::web::Page;

const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");

fn with_car(text: &str) -> TempDir {
    assert_ne!(text, LARCH, "nothing was changed");
    let folder = tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), text).unwrap();
    folder
}

fn json(folder: &Path, args: &[&str], code: i32) -> Value {
    run(folder, args).ends_with(code).json()
}

fn value<'a>(document: &'a Value, id: &str) -> &'a Value {
    let findings = document["findings"].as_array().unwrap();
    let found = findings.iter().find(|finding| finding["id"] == id);
    &found.unwrap_or_else(|| panic!("no {id}"))["value"]
}

fn steps(document: &Value) -> Vec<&str> {
    let rows = value(document, "order.sequence").as_array().unwrap();
    rows.iter().map(|row| row["step"].as_str().unwrap()).collect()
}

fn place(steps: &[&str], id: &str) -> usize {
    steps.iter().position(|step| *step == id).unwrap_or_else(|| panic!("no {id}"))
}

/// The step called done is refused, whatever else is said.
fn barred(folder: &Path, step: &str, more: &[&str]) -> String {
    if !folder.join("book").exists() {
        run(folder, &["book", "new", "book", "--car", "car.toml", "--by", "Ida"]).ends_with(0);
    }
    let done = ["book", "add", "step", "book", step, "--done", "--by", "Ida"];
    let call = [&done[..], &["--in-spite", "it was late"], more].concat();
    run(folder, &call).ends_with(1).err
}

#[test]
fn a_hose_that_is_taut_before_the_arm_rests_is_told_everywhere_and_never_done() {
    let short = LARCH.replacen("free_length = \"166 mm ± 2 mm\"", "free_length = \"152 mm\"", 1);
    let folder = with_car(&short);
    let here = folder.path();
    let mut angles = String::new();
    for call in [["check", "car.toml", "--json"], ["sheet", "car.toml", "--json"]] {
        let told = json(here, &call, 0);
        let cautions = told["cautions"].as_array().unwrap();
        let hose = cautions.iter().find(|caution| caution["id"] == "droop.hose").unwrap();
        let words = hose["words"].as_str().unwrap();
        assert!(2 <= words.matches('°').count(), "{call:?}: {words}");
        let last = words.rfind('°').unwrap() + '°'.len_utf8();
        words[words.find("the hose").unwrap()..last].clone_into(&mut angles);
    }
    // The screen of the moment tells both angles too, on each side.
    let now = Page::of(Bench::open(&here.join("car.toml")).unwrap()).get("/").is(200).text();
    let now = now.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(now.matches(&angles).count(), 2, "{angles}: {now}");
    let plan = json(here, &["order", "car.toml", "--json"], 0);
    assert_eq!(steps(&plan).len(), 110, "the rest is planned all the same");
    let err = barred(here, "hose-on-left", &["--found", "slack at rest"]);
    assert!(err.contains("NOT YET") && err.contains("another hose"), "{err}");
}

/// Nobody remembers in the evening what a bar carries: it is wound, on the command line as on the
/// page, until somebody has looked.
#[test]
fn a_bar_that_nobody_remembers_is_wound_until_somebody_looked() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    std::fs::write(here.join("car.toml"), LARCH).unwrap();
    run(here, &["book", "new", "book", "--car", "car.toml", "--by", "Ida"]).ends_with(0);
    let said = |words: &str| {
        let call = ["book", "add", "energy", "book", words, "--side", "left", "--by", "Ida"];
        run(here, &call)
    };
    assert!(said("perhaps").ends_with(1).err.contains("not remembered"));
    let told = said("not remembered").ends_with(0).out;
    assert!(told.contains("left: not remembered, to be taken as wound"), "{told}");
    let barred = barred(here, "arm-off-left", &[]);
    assert!(barred.contains("NOT YET") && barred.contains("second hold"), "{barred}");
    json(here, &["order", "book", "--json", "--strict"], 1);
    let plan = run(here, &["order", "book"]).ends_with(0).out;
    assert!(plan.contains("L WOUND, for nobody remembers"), "{plan}");
    said("as told").ends_with(0);
    json(here, &["order", "book", "--json", "--strict"], 0);
    let page = Page::open();
    let asked = page.get("/").is(200).text();
    assert!(asked.contains("action=\"/energy\"") && asked.contains("Don’t remember"));
    page.writes_nothing(|page| page.post("/energy", &[("said", "perhaps")])).is(422);
    page.post("/energy", &[("said", "not remembered"), ("side", "right")]).is(303);
    let wound = page.get("/").is(200).text();
    assert!(wound.contains("R WOUND, for nobody remembers"), "{wound}");
    let step = page.get("/step/arm-off-right").is(200).text();
    assert!(step.contains("NOT YET"), "{step}");
    page.writes_nothing(|page| page.post("/step/arm-off-right", &[("happened", "done")])).is(422);
    page.post("/energy", &[("said", "as told")]).is(303);
    assert!(!page.get("/").text().contains("nobody remembers"));
}

/// A cable that snags is seen at the first movement: raised and let down on both holds, after all
/// that was fitted, before the wheels; whether or not the file says so.
#[test]
fn what_was_fitted_is_watched_as_it_moves_first_before_the_wheels_are_down() {
    let after = "after = [\"hose-on\", \"cable-on\"]\n";
    let folder = with_car(&LARCH.replacen(after, "", 1));
    let plan = json(folder.path(), &["order", "car.toml", "--json"], 0);
    let order = steps(&plan);
    for side in ["left", "right"] {
        let watched = place(&order, &format!("run-check-{side}"));
        for id in ["damper-bottom-on", "half-shaft-in", "hose-on", "cable-on"] {
            assert!(place(&order, &format!("{id}-{side}")) < watched, "{id}-{side}");
        }
        assert!(watched < place(&order, "wheels-down"));
        let row = &value(&plan, "order.sequence")[watched];
        assert_eq!(row["hold"], true, "it is signed");
    }
    // With no such step in the method, the car does not come down.
    let begin = LARCH.find("[[step]]\nid = \"run-check\"").unwrap();
    let end = begin + 8 + LARCH[begin + 8..].find("[[step]]").unwrap();
    let mut text = LARCH.replacen(&LARCH[begin..end], "", 1);
    for name in ["run-check-both", "run-check"] {
        for written in
            [format!("\"{name}\", "), format!(", \"{name}\""), format!("    \"{name}\",\n")]
        {
            text = text.replace(&written, "");
        }
    }
    let folder = with_car(&text);
    let plan = json(folder.path(), &["order", "car.toml", "--json"], 1);
    let problems = plan["problems"].to_string();
    assert!(problems.contains("under watch") && problems.contains("wheels-down"), "{problems}");
    assert!(!steps(&plan).contains(&"wheels-down"));
}

/// Stands that would go light when the arm is raised: not yet, on every face, and no figure.
#[test]
fn an_arm_is_not_raised_on_stands_that_do_not_bear_it() {
    let folder = with_car(&LARCH.replacen("mass = \"520 kg\"", "mass = \"300 kg\"", 1));
    let here = folder.path();
    let plan = json(here, &["order", "car.toml", "--json"], 0);
    for side in ["left", "right"] {
        let id = format!("stop-bolt-in-{side}");
        let row = &value(&plan, "order.sequence")[place(&steps(&plan), &id)];
        assert!(!row["gate"].is_null(), "{id}");
        let first = row["changes"].to_string();
        let has_figure = first.contains(|c: char| c.is_ascii_digit());
        assert!(first.contains("NOT YET") && !has_figure, "{first}");
    }
    let err = barred(here, "stop-bolt-in-left", &["--found", "back to the paint"]);
    assert!(err.contains("NOT YET") && err.contains("more weight"), "{err}");
    json(here, &["order", "car.toml", "--json", "--strict"], 1);
}

/// A stand nobody measured: no figure; the plan goes on by strips of card at the saddles.
#[test]
fn with_a_stand_unknown_the_cards_decide_and_no_figure_is_told() {
    let begin = LARCH.find("[[stand]]\nname = \"right rear\"").unwrap();
    let end = begin + 9 + LARCH[begin + 9..].find("\n# ----").unwrap();
    let folder = with_car(&LARCH.replacen(&LARCH[begin..end], "", 1).replacen(
        "mass_at = \"900, 0, 250 mm\"\n",
        "",
        1,
    ));
    let plan = json(folder.path(), &["order", "car.toml", "--json"], 0);
    assert_eq!(steps(&plan).len(), 110);
    let row = &value(&plan, "order.sequence")[place(&steps(&plan), "stop-bolt-in-left")];
    let first = row["changes"].to_string();
    assert!(first.contains("strip of card"), "{first}");
    let of_raising = first.split("strip of card").next().unwrap();
    assert!(!of_raising.contains(" kg") && !of_raising.contains(" N,"), "{first}");
    let unknown = value(&plan, "order.safety")["unknown"].to_string();
    assert!(unknown.contains("raising the left arm"), "{unknown}");
}

/// A joint torqued by a step with the arm elsewhere than the joint asks for: no safe plan.
#[test]
fn a_joint_gets_its_torque_where_its_row_says() {
    let whole = "torques = [\"front-eccentric\", \"rear-eccentric\", \"damper-top\", ";
    assert!(LARCH.contains(whole));
    for joint in ["stop-bolt", "inner-pivot", "hub-nut"] {
        let text = LARCH.replacen(whole, &format!("{whole}\"{joint}\", "), 1);
        let folder = with_car(&text);
        let plan = json(folder.path(), &["order", "car.toml", "--json"], 1);
        let problems = plan["problems"].to_string();
        let told = format!("NOT SAFE at `corner-torque-left`: `{joint}-left` gets its torque at");
        assert!(problems.contains(&told), "{joint}: {problems}");
    }
}

/// Pushing at a car on stands, sitting in it, heat beside a bar: no plan holds it.
#[test]
fn nobody_pushes_or_sits_or_heats_on_stands() {
    for act in ["pushes car", "sits in car", "heats"] {
        let step = format!(
            "[[step]]\nid = \"tired\"\nwords = \"One more thing.\"\nphase = \"strip-down\"\n\
             does = [\"{act}\"]\nside = \"none\"\nminutes = 5\nafter = [\"car-up\"]\n\n[[step]]\n\
             id = \"lines-off\""
        );
        let folder = with_car(&LARCH.replacen("[[step]]\nid = \"lines-off\"", &step, 1));
        let plan = json(folder.path(), &["order", "car.toml", "--json"], 1);
        let problems = plan["problems"].to_string();
        assert!(problems.contains("NOT SAFE at `tired`"), "{act}: {problems}");
    }
}

/// What `sheet --json` says of a car file, teeth and cautions by their ids.
fn sheet_of(text: &str) -> Value {
    json(with_car(text).path(), &["sheet", "car.toml", "--json"], 0)
}

fn has_teeth(sheet: &Value, corner: &str) -> bool {
    let findings = sheet["findings"].as_array().unwrap();
    findings.iter().any(|f| f["id"] == "index.choices" && f["corner"] == corner)
}

fn cautions<'a>(document: &'a Value, id: &str) -> Vec<&'a str> {
    let all = document["cautions"].as_array().unwrap().iter();
    all.filter(|c| c["id"] == id).map(|c| c["words"].as_str().unwrap()).collect()
}

/// The manual's angle is for its own bars: with thicker ones the sheet says what they make, and a
/// weight under which both ways to the angle disagree holds the teeth back.
#[test]
fn the_manuals_angle_is_not_that_of_other_bars() {
    let sheet = sheet_of(&LARCH.replacen("Larch 1300", "Larch", 1));
    let target = sheet["findings"].as_array().unwrap().iter();
    let words = target.filter(|f| f["id"] == "free-angle.target").map(|f| f["why"].to_string());
    for words in words {
        assert!(words.contains("the bars' diameter makes"), "{words}");
    }
    assert!(has_teeth(&sheet, "LR") && cautions(&sheet, "cross-check").is_empty());
    let sheet =
        sheet_of(&LARCH.replacen("corner_weight = \"280 kg\"", "corner_weight = \"230 kg\"", 1));
    assert!(!has_teeth(&sheet, "LR"));
    let told = cautions(&sheet, "cross-check").join("\n");
    assert!(told.contains("What the rear springs carry differs by 100 kg"), "{told}");
}

const LEFT_PLATE: &str = concat!(
    "value = \"35.2 deg\"\narrow = \"nose\"\nhung = \"plate\"\n",
    "lash = \"lifted\"\nseat = \"reference line\"",
);

/// A gauge held the other way round stops the teeth; one on an edge of which nobody says how far it
/// slopes gives no angle at all.
#[test]
fn a_gauge_the_other_way_or_on_the_edge_moves_no_tooth() {
    assert!(LARCH.contains(LEFT_PLATE));
    let turned = LARCH.replacen(LEFT_PLATE, &LEFT_PLATE.replace("nose", "tail"), 1);
    let sheet = sheet_of(&turned);
    assert!(!has_teeth(&sheet, "LR"));
    assert!(!cautions(&sheet, "reading.sign").is_empty());
    let edge = LARCH.replacen(LEFT_PLATE, &LEFT_PLATE.replace("reference line", "edge"), 1);
    let sheet = sheet_of(&edge);
    assert!(!has_teeth(&sheet, "LR") && has_teeth(&sheet, "RR"));
}

/// The arm that hung on the bar is taken out of the reading; where nobody says what hung, no tooth.
#[test]
fn what_hung_on_the_bar_is_in_the_reading() {
    let free = |text: &str| {
        let sheet = sheet_of(text);
        let all = sheet["findings"].as_array().unwrap();
        let now = all.iter().find(|f| f["id"] == "free-angle.now" && f["corner"] == "LR");
        (now.map(|now| now["value"].as_f64().unwrap()), has_teeth(&sheet, "LR"))
    };
    let said = |hung: &str| {
        let hung = LEFT_PLATE.replace("hung = \"plate\"\nlash = \"lifted\"", hung);
        free(&LARCH.replacen(LEFT_PLATE, &hung, 1))
    };
    let alone = said("hung = \"plate\"\nlash = \"hanging\"").0.unwrap();
    let arm = said("hung = \"plate and arm\"\nlash = \"hanging\"").0.unwrap();
    // 22 kg, 400 mm behind the axis, twist 69.7 N·m a degree by about a degree.
    assert!((0.6..1.6).contains(&(alone - arm)), "{alone} {arm}");
    assert_eq!(said("lash = \"lifted\""), (None, false));
}

/// A half-built car sits high and one with its driver in sits low: what it looks like is told, and
/// nothing is turned.
#[test]
fn a_round_of_another_stage_or_load_turns_nothing() {
    let was = "trim = { LR = \"99 mm\", RR = \"94 mm\" }";
    assert!(LARCH.contains(was));
    let weight =
        "weight = { LF = \"210 kg\", RF = \"215 kg\", LR = \"288 kg\", RR = \"272 kg\" }\n";
    let trims_alone = LARCH.replacen(weight, "", 1);
    let stage = (129, 128, "with `engine and gearbox`");
    for (left, right, looks) in [stage, (81, 93, "with `driver`")] {
        let is = format!("trim = {{ LR = \"{left} mm\", RR = \"{right} mm\" }}");
        let folder = with_car(&trims_alone.replacen(was, &is, 1));
        let told = json(folder.path(), &["trim", "car.toml", "--json"], 0);
        let words = cautions(&told, "round.looks-like").join("\n");
        assert!(words.contains(looks), "{looks}: {words}");
        let findings = told["findings"].as_array().unwrap();
        assert!(findings.iter().all(|f| f["id"] != "car.moves"), "{looks}");
    }
}

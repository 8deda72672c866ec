//! Joints: from the car file's rows to wrench, order, position, warnings and sign-off.

use super::{LARCH, assessed, demo, finding, number};
use axlewright_book::TorqueUnit;
use axlewright_quantity::{Amount, Angle, Force, Kind, Length, Torque};
use axlewright_setup::joints::IDS;
use axlewright_setup::joints::quick::{QuickWrench, TorqueQuestion, Wanted, torque};
use axlewright_setup::quick::Given;
use axlewright_setup::{Assessment, Gap, Item, Subject, assess};
use proptest::prelude::*;

/// Exact: 1 kgf = 9.806 65 N (NIST SP 811).
const KGF_M: f64 = 9.806_65;

fn joint(id: &str) -> Subject {
    Subject::Joint(id.to_owned())
}

fn value<'a>(out: &'a Assessment, id: &str, of: &str) -> &'a Item {
    &finding(out, id, &joint(of), None).value
}

fn word<'a>(item: &'a Item, part: &str) -> &'a str {
    match item.get(part) {
        Some(Item::Word(word)) => word,
        other => panic!("{part} is {other:?}"),
    }
}

/// The ids of a joint's warnings.
fn warned<'a>(out: &'a Assessment, of: &str) -> Vec<&'a str> {
    value(out, "joint.warning", of).items().iter().map(|row| word(row, "id")).collect()
}

/// Reasons that forbid signing off, with the bolt's number or 0.
fn forbidden<'a>(out: &'a Assessment, of: &str) -> Vec<(i64, &'a str)> {
    let found = value(out, "joint.sign-off", of);
    let rows = found.get("forbids").unwrap().items();
    let bolt = |row: &Item| match row.get("bolt") {
        Some(Item::Count(number, _)) => *number,
        _ => 0,
    };
    let all: Vec<_> = rows.iter().map(|row| (bolt(row), word(row, "reason"))).collect();
    assert_eq!(found.get("ready"), Some(&Item::Flag(all.is_empty())));
    all
}

#[track_caller]
fn near(found: Amount, expected: f64, within: f64) {
    assert!((found.shown() - expected).abs() <= within, "{found} is not {expected}");
}

#[test]
fn the_demo_has_a_setting_an_order_and_warnings_for_every_joint() {
    let out = demo();
    assert_eq!(out.joints.len(), 20);
    for scene in &out.joints {
        for id in IDS {
            finding(out, id, &joint(&scene.joint), None);
        }
    }
    let left = out.find("joints.sign-off", None).unwrap();
    assert_eq!(left.value.get("joints_left"), Some(&Item::Count(20, "joints")));
}

#[test]
fn the_two_hard_bolts_plated_without_a_record_are_found_and_no_others() {
    let out = demo();
    let ids = out.joints.iter().map(|scene| scene.joint.as_str());
    let plated: Vec<&str> =
        ids.filter(|id| warned(out, id).contains(&"plated-high-strength")).collect();
    assert_eq!(plated, ["damper-bottom-left", "damper-bottom-right"]);
    let row = &value(out, "joint.warning", "damper-bottom-left").items()[0];
    assert!(word(row, "advice").contains("renew the bolt"));
    assert!(word(row, "advice").contains("do not bake it now"));
    // With a record there is nothing to say; with none said, it counts as none and is asked for.
    let with = LARCH.replace("process_record = false", "process_record = true");
    assert!(!warned(&assessed(&with), "damper-bottom-left").contains(&"plated-high-strength"));
    let silent = assessed(&LARCH.replace("process_record = false", ""));
    assert!(warned(&silent, "damper-bottom-left").contains(&"plated-high-strength"));
    gap(&silent, "joint.damper-bottom.process_record");
}

#[test]
fn with_the_extension_the_wrench_is_set_lower_than_the_bolt_gets() {
    let out = demo();
    let found = value(out, "joint.setting", "rear-eccentric-left");
    near(number(found, "torque"), 5.2 * KGF_M, 1e-9);
    near(number(found, "setting"), 5.2 * KGF_M * 420.0 / 480.0, 1e-9);
    assert_eq!(word(found, "wrench"), "middle click wrench");
    assert_eq!(word(found, "reading"), "44.6 N·m");
    near(number(found, "wrench_arm"), 420.0, 1e-9);
    let Some(Item::Leaf(list)) = found.get("torque") else { panic!() };
    assert_eq!(list.written.as_deref(), Some("5.2 kgf m"));
    // Square to the arm the extension changes nothing; turned back it takes away.
    let square = LARCH.replace("adapter_angle = \"0 deg\"", "adapter_angle = \"90 deg\"");
    let square = assessed(&square);
    near(
        number(value(&square, "joint.setting", "rear-eccentric-left"), "setting"),
        50.994_58,
        1e-9,
    );
}

/// An extension without its length: no figure is told, and the length is asked for.
#[test]
fn an_extension_without_its_length_has_no_setting() {
    let text = LARCH.replace("adapter = \"60 mm\"", "");
    let out = assessed(&text);
    assert!(out.problems.is_empty(), "{:?}", out.problems);
    let found = value(&out, "joint.setting", "rear-eccentric-left");
    assert_eq!(found.get("setting"), Some(&Item::Nothing));
    let why = word(found, "withheld");
    assert!(why.contains("extension") && why.contains("measure"), "{why}");
    let gap = out.gaps.iter().find(|gap| gap.id == "joint.rear-eccentric.adapter").unwrap();
    assert!(gap.blocks.contains(&"joint.setting"), "{gap:?}");
}

#[test]
fn the_inner_pivot_only_at_ride_and_the_hub_nut_beyond_every_wrench() {
    let out = demo();
    for side in ["left", "right"] {
        let pivot = value(out, "joint.position", &format!("inner-pivot-{side}"));
        assert_eq!(*pivot, Item::Word("ride".to_owned()));
        let nut = format!("hub-nut-{side}");
        let found = value(out, "joint.setting", &nut);
        for part in ["wrench", "setting", "reading", "of_scale"] {
            assert_eq!(found.get(part), Some(&Item::Nothing), "{part}");
        }
        near(number(found, "beyond.needed"), 32.0 * KGF_M, 1e-9);
        near(number(found, "beyond.top_least"), 32.0 * KGF_M, 1e-9);
        near(number(found, "beyond.top_most"), 32.0 * KGF_M / 0.2, 1e-9);
        near(number(found, "beyond.nearest_end"), 210.0, 1e-9);
        assert!(warned(out, &nut).contains(&"wrench-out-of-range"));
        let position = value(out, "joint.position", &nut);
        assert_eq!(*position, Item::Word("wheels down".to_owned()));
    }
    let beyond = out
        .joints
        .iter()
        .filter(|scene| warned(out, &scene.joint).contains(&"wrench-out-of-range"));
    assert_eq!(beyond.count(), 2);
}

#[test]
fn a_pass_below_a_wrenchs_scale_goes_to_a_smaller_wrench() {
    let out = demo();
    let passes = value(out, "joint.setting", "hub-cover-left").get("passes").unwrap().items();
    let seen: Vec<(&str, f64)> =
        passes.iter().map(|pass| (word(pass, "wrench"), number(pass, "setting").shown())).collect();
    // 40 % of 43.15 N·m is under the 20 N·m at which the middle one's scale begins.
    let names: Vec<&str> = seen.iter().map(|(name, _)| *name).collect();
    assert_eq!(names, ["small click wrench", "middle click wrench", "middle click wrench"]);
    for ((_, setting), share) in seen.iter().zip([0.4, 0.7, 1.0]) {
        assert!((setting - share * 4.4 * KGF_M).abs() < 1e-9, "{setting}");
    }
}

#[test]
fn left_and_right_are_mirrored_and_tightened_alike() {
    let out = demo();
    let order = |of: &str| value(out, "joint.order", of).get("bolts").cloned();
    assert_eq!(order("hub-cover-left"), order("hub-cover-right"));
    let words = |of: &str| &finding(out, "joint.order", &joint(of), None).why.words;
    for side in ["left", "right"] {
        let said = format!(
            "Bolts A – C – D – B in every pass, seen from the heads with the nose \
            of the car to the {side}"
        );
        assert!(words(&format!("hub-cover-{side}")).starts_with(&said), "{said}");
    }
    let scene = |of: &str| out.joints.iter().find(|scene| scene.joint == of).unwrap();
    let (left, right) = (scene("hub-cover-left"), scene("hub-cover-right"));
    for (a, b) in left.layout.iter().zip(&right.layout) {
        assert_eq!((a.number, a.turn, a.y), (b.number, b.turn, b.y));
        assert!((a.x + b.x).to_mm().abs() < 1e-9);
    }
    // A cross: the second is opposite the first.
    let at = |turn: u32| left.layout.iter().find(|bolt| bolt.turn == turn).unwrap();
    assert!((at(1).x + at(2).x).to_mm().abs() < 1e-9 && (at(1).y + at(2).y).to_mm().abs() < 1e-9);
}

/// Preload by VDI 2230, written out once more for M12×1.5 with the head of ISO 4014.
fn preload(torque_nm: f64, mu: f64) -> f64 {
    let (d, p) = (12.0, 1.5);
    let d2 = d - 0.649_519_05 * p;
    let lead = (p / (std::f64::consts::PI * d2)).atan();
    let rub = (mu / 30.0_f64.to_radians().cos()).atan();
    let mean = (16.63 + 13.5) / 2.0;
    torque_nm * 1e3 / (0.5 * d2 * (lead + rub).tan() + 0.5 * mean * mu)
}

#[test]
fn the_preloads_spread_is_that_of_friction_and_wrench_together() {
    let out = demo();
    let found = finding(out, "joint.preload", &joint("damper-top-left"), None);
    let nm = 7.2 * KGF_M;
    // The range of friction by the finding's own words is not used: the ends come back from it.
    let (least, most) = (number(&found.value, "least"), number(&found.value, "most"));
    let mu = |wanted: f64| {
        let (mut low, mut high) = (0.01, 0.9);
        for _ in 0..80 {
            let middle = f64::midpoint(low, high);
            if preload(nm, middle) < wanted { high = middle } else { low = middle }
        }
        low
    };
    let (rough, slick) = (mu(least.shown()), mu(most.shown()));
    assert!((0.07..0.08).contains(&slick) && (0.175..0.185).contains(&rough), "{slick} {rough}");
    near(number(&found.value, "preload"), preload(nm, f64::midpoint(rough, slick)), 1.0);
    // Every friction and every wrench reading equally likely: mean and scatter over a grid.
    let grid = |n: u32| (0..n).map(move |i| (f64::from(i) + 0.5) / f64::from(n));
    let all: Vec<f64> = grid(200)
        .flat_map(|a| grid(40).map(move |b| (a, b)))
        .map(|(a, b)| preload(nm * (0.96 + 0.08 * b), slick + (rough - slick) * a))
        .collect();
    let mean = all.iter().sum::<f64>() / all.len() as f64;
    let scatter = (all.iter().map(|f| (f - mean).powi(2)).sum::<f64>() / all.len() as f64).sqrt();
    let u = match found.value.get("preload") {
        Some(Item::Leaf(leaf)) => leaf.u.unwrap().shown(),
        other => panic!("{other:?}"),
    };
    // Half the spread over √3 is the first-order figure; 1/μ is not straight.
    assert!((u / scatter - 1.0).abs() < 0.2, "{u} against {scatter}");
    let shares: f64 = found.why.inputs.iter().filter_map(|input| input.share).sum();
    assert!((shares - 1.0).abs() < 1e-9, "{shares}");
}

#[test]
fn a_better_wrench_makes_the_preload_surer_and_not_larger() {
    let coarse = LARCH.replace("tolerance = \"4 %\"", "tolerance = \"20 %\"");
    let (a, b) = (demo(), assessed(&coarse));
    let leaf =
        |out: &Assessment| match value(out, "joint.preload", "damper-top-left").get("preload") {
            Some(Item::Leaf(leaf)) => (leaf.value, leaf.u.unwrap().shown()),
            other => panic!("{other:?}"),
        };
    assert_eq!(leaf(a).0, leaf(&b).0);
    let (fine, rough) = (leaf(a).1, leaf(&b).1);
    let wrench = |share: f64| leaf(a).0.shown() * share / 3.0_f64.sqrt();
    let expected = fine.powi(2) - wrench(0.04).powi(2) + wrench(0.20).powi(2);
    assert!((rough.powi(2) / expected - 1.0).abs() < 1e-6, "{rough}");
    // Least and most are those of friction alone.
    let ends = |out: &Assessment, end| number(value(out, "joint.preload", "damper-top-left"), end);
    assert_eq!(ends(a, "least"), ends(&b, "least"));
    assert_eq!(ends(a, "most"), ends(&b, "most"));
}

fn gap<'a>(out: &'a Assessment, id: &str) -> &'a Gap {
    let ids = || out.gaps.iter().map(|gap| gap.id.as_str()).collect::<Vec<_>>();
    out.gaps.iter().find(|gap| gap.id == id).unwrap_or_else(|| panic!("no {id} in {:?}", ids()))
}

/// A car of one joint on one side, with everything known.
const COVER: &str = r#"
format = 1

[[joint]]
id = "cover"
name = "cover"
side = "left"
thread = "M10x1.5"
class = "10.9"
count = 4
layout = ["-40, 30 mm", "40, 30 mm", "40, -30 mm", "-40, -30 mm"]
torque = "4.4 kgf m"
list_surface = "oiled"
surface = "oiled"
plated = "none"
position = "ride"
kind = "friction"
load = "3000 N"
faces = 1
face_friction = 0.15
engagement = "14 mm"
one_time = true
reused = false
locking = "washer"

[[wrench]]
name = "clicker"
from = "10 N m"
to = "100 N m"
length = "400 mm"
kind = "click"
unit = "kgf m"
"#;

fn without_key(key: &str) -> String {
    let is = |line: &&str| line.split(" = ").next() != Some(key);
    assert!(COVER.lines().any(|line| !is(&line)), "{key} is not there");
    COVER.lines().filter(is).map(|line| format!("{line}\n")).collect()
}

/// What is missing is one gap with what waits for it, and what does not need it is still said.
#[test]
fn half_filled_joints_give_gaps_and_the_rest() {
    let cover = joint("cover");
    let whole = assessed(COVER);
    assert!(whole.gaps.iter().all(|gap| !gap.id.starts_with("joint.")), "{:?}", whole.gaps);
    let rows: [(&str, &[&str], &[&str]); 7] = [
        ("thread", &["joint.preload", "joint.utilisation"], &["joint.setting", "joint.order"]),
        ("class", &["joint.utilisation"], &["joint.setting", "joint.preload"]),
        ("layout", &["joint.order"], &["joint.setting", "joint.preload"]),
        ("torque", &["joint.setting", "joint.preload"], &["joint.order", "joint.position"]),
        ("surface", &["joint.preload", "joint.utilisation"], &["joint.setting"]),
        ("position", &["joint.position"], &["joint.setting", "joint.preload"]),
        ("load", &[], &["joint.setting", "joint.preload", "joint.warning"]),
    ];
    for (key, gone, still) in rows {
        let out = assessed(&without_key(key));
        let found = gap(&out, &format!("joint.cover.{key}"));
        assert_eq!(found.of.as_ref(), Some(&cover), "{key}");
        assert!(!found.how.is_empty() && !found.blocks.is_empty(), "{key}");
        for id in gone {
            assert!(out.find(id, Some(&cover)).is_none(), "{id} without {key}");
            assert!(found.blocks.contains(id), "{key} does not name {id}");
        }
        for id in still {
            assert!(out.find(id, Some(&cover)).is_some(), "no {id} without {key}");
        }
    }
    let bare = "format = 1\n[[joint]]\nid = \"cover\"\nside = \"each\"\n";
    let out = assessed(bare);
    let thread = gap(&out, "joint.cover.thread");
    assert_eq!(thread.of, None, "one gap for both sides");
    assert_eq!(out.gaps.iter().filter(|gap| gap.id == "joint.cover.thread").count(), 1);
    gap(&out, "wrench");
    assert_eq!(out.problems, Vec::<String>::new());
}

#[test]
fn a_joint_without_a_torque_takes_the_manuals_row_that_holds_for_this_car() {
    let row = |value: &str, builds: &str| {
        format!(
            "\n[[spec]]\nwhat = \"torque\"\njoint = \"cover\"\nvalue = \"{value}\"\n\
             builds = \"{builds}\"\nsource = \"manual, p. 3\"\n"
        )
    };
    let car = |number: u32, rows: &[String]| {
        let text = without_key("torque").replacen(
            "format = 1",
            &format!("format = 1\n[car]\nbuild_number = {number}\n"),
            1,
        );
        let (car, _) = axlewright_book::read(&format!("{text}{}", rows.concat()));
        assess(&car)
    };
    let two = [row("4.4 kgf m", "1001-2000"), row("5.0 kgf m", "2005-3000")];
    let first = car(1500, &two);
    let of = Some(joint("cover"));
    let setting =
        |out: &Assessment| out.find("joint.setting", of.as_ref()).map(|f| f.value.clone());
    near(number(&setting(&first).unwrap(), "torque"), 4.4 * KGF_M, 1e-9);
    near(number(&setting(&car(2500, &two)).unwrap(), "torque"), 5.0 * KGF_M, 1e-9);
    // With a torque of its own the joint waits for nothing; that the manual contradicts itself is
    // told all the same, and how the rows differ from its own figure.
    let contradicting = [row("4.4 kgf m", "1001-2000"), row("4.0 kgf m", "1900-3000")];
    let text = COVER.replacen("format = 1", "format = 1\n[car]\nbuild_number = 1950\n", 1);
    let (file, _) = axlewright_book::read(&format!("{text}{}", contradicting.concat()));
    let own = assess(&file);
    near(number(&setting(&own).unwrap(), "torque"), 4.4 * KGF_M, 1e-9);
    let told = gap(&own, "joint.cover.torque");
    assert_eq!((told.rows.len(), told.blocks.len()), (2, 0));
    assert!(told.measure.contains("several rows hold for this car and differ"), "{told:?}");
    let hole = car(2002, &two);
    assert_eq!(setting(&hole), None);
    let found = gap(&hole, "joint.cover.torque");
    assert_eq!(found.rows.len(), 2);
    assert!(found.measure.contains("no row holds"), "{}", found.measure);
    assert!(found.blocks.contains(&"joint.setting"));
    let overlap = [row("4.4 kgf m", "1001-2000"), row("5.0 kgf m", "1900-3000")];
    let found = car(1950, &overlap);
    let found = gap(&found, "joint.cover.torque");
    assert_eq!(found.rows.len(), 2);
    assert!(found.measure.contains("differ"), "{}", found.measure);
}

#[test]
fn what_there_is_not_is_said_once_with_what_would_be_right() {
    let rows = [
        ("thread = \"M10x1.5\"", "thread = \"M10x1.4\"", "made with"),
        ("thread = \"M10x1.5\"", "thread = \"M99\"", "the sizes are"),
        ("class = \"10.9\"", "class = \"7.7\"", "not a property class"),
        ("surface = \"oiled\"\np", "surface = \"buttered\"\np", "not a surface"),
    ];
    for (good, bad, says) in rows {
        let text = COVER.replace(good, bad).replace("side = \"left\"", "side = \"each\"");
        let (car, _) = axlewright_book::read(&text);
        let out = assess(&car);
        assert_eq!(out.problems.len(), 1, "{bad}: {:?}", out.problems);
        assert!(out.problems[0].contains(says), "{}", out.problems[0]);
        assert!(out.problems[0].starts_with("joint cover (line "), "{}", out.problems[0]);
        assert!(out.gaps.iter().all(|gap| !gap.id.starts_with("joint.")), "{bad}");
    }
}

#[test]
fn every_warning_is_raised_by_what_it_warns_of() {
    let rows: [(&str, &[(&str, &str)]); 9] = [
        ("plated-high-strength", &[("plated = \"none\"", "plated = \"zinc\"")]),
        ("joint-slip", &[("load = \"3000 N\"", "load = \"90000 N\"")]),
        ("changed-surface", &[("list_surface = \"oiled\"", "list_surface = \"dry\"")]),
        ("over-yield-share", &[("torque = \"4.4 kgf m\"", "torque = \"9 kgf m\"")]),
        ("under-used", &[("torque = \"4.4 kgf m\"", "torque = \"2.1 kgf m\"")]),
        ("short-engagement", &[("engagement = \"14 mm\"", "engagement = \"7 mm\"")]),
        ("one-time-part-reused", &[("reused = false", "reused = true")]),
        ("wrench-out-of-range", &[("to = \"100 N m\"", "to = \"40 N m\"")]),
        (
            "wrong-arm-position",
            &[(
                "[[wrench]]",
                "[[bolt]]\njoint = \"cover\"\nbolt = 3\nstate = \"torqued\"\n\
                 value = \"4.4 kgf m\"\nposition = \"hang\"\n\n[[wrench]]",
            )],
        ),
    ];
    let whole = assessed(COVER);
    let of = "cover";
    assert_eq!(warned(&whole, of), Vec::<&str>::new());
    for (id, changes) in rows {
        let text = changes.iter().fold(COVER.to_owned(), |text, (good, bad)| {
            assert!(text.contains(good), "{good}");
            text.replacen(good, bad, 1)
        });
        let out = assessed(&text);
        assert_eq!(warned(&out, of), [id], "{changes:?}");
        let row = &value(&out, "joint.warning", of).items()[0];
        assert!(!word(row, "words").is_empty() && !word(row, "advice").is_empty());
    }
}

/// COVER with rows of its bolts.
fn with_bolts(rows: &[(u32, &str, &str)]) -> Assessment {
    let of = "cover";
    let rows: String = rows
        .iter()
        .map(|(bolt, state, more)| {
            format!("\n[[bolt]]\njoint = \"{of}\"\nbolt = {bolt}\nstate = \"{state}\"\n{more}\n")
        })
        .collect();
    let (car, problems) = axlewright_book::read(&format!("{COVER}{rows}"));
    let errors: Vec<_> = problems
        .iter()
        .filter(|problem| problem.severity == axlewright_book::Severity::Error)
        .collect();
    assert!(errors.is_empty(), "{errors:?}");
    assess(&car)
}

#[test]
fn sign_off_names_every_bolt_that_forbids_it_and_why() {
    let good = "value = \"4.4 kgf m\"\nwrench = \"clicker\"\nposition = \"ride\"";
    let of = "cover";
    let all = |first: (u32, &'static str, &'static str)| {
        with_bolts(&[first, (2, "torqued", good), (3, "torqued", good), (4, "torqued", good)])
    };
    let whole = all((1, "torqued", good));
    assert_eq!(forbidden(&whole, of), []);
    let ready = whole.find("joints.sign-off", None).unwrap();
    assert_eq!(ready.value.get("ready"), Some(&Item::Flag(true)));
    // On its wheels the car is at ride.
    let wheels = "value = \"4.4 kgf m\"\nposition = \"wheels down\"";
    assert_eq!(forbidden(&all((1, "torqued", wheels)), of), []);
    let rows: [(&str, &str, &str); 8] = [
        ("open", "", "open"),
        ("snug", "", "snug"),
        ("torqued", "value = \"4.4 kgf m\"\nposition = \"hang\"", "wrong-arm-position"),
        ("torqued", "value = \"4.4 kgf m\"", "position-not-said"),
        ("torqued", "value = \"4.0 kgf m\"\nposition = \"ride\"", "wrong-value"),
        ("torqued", "value = \"44 N m\"\nposition = \"ride\"", ""),
        ("torqued", "position = \"ride\"", "no-value"),
        ("paint-marked", "value = \"4.4 kgf m\"\nposition = \"any\"", "position-not-said"),
    ];
    for (state, more, reason) in rows {
        let out = all((1, state, more));
        let expected: Vec<(i64, &str)> =
            [reason].into_iter().filter(|r| !r.is_empty()).map(|r| (1, r)).collect();
        assert_eq!(forbidden(&out, of), expected, "{state} {more}");
    }
    let bolts = [(1, "torqued", good), (1, "snug", ""), (2, "torqued", good), (3, "snug", "")];
    let out = with_bolts(&bolts);
    assert_eq!(forbidden(&out, of), [(1, "loosened"), (3, "snug"), (4, "open")]);
    let states: Vec<&str> =
        value(&out, "joint.state", of).items().iter().map(|row| word(row, "state")).collect();
    assert_eq!(states, ["snug", "torqued", "snug", "open"]);
    let words = &finding(&out, "joint.sign-off", &joint(of), None).why.words;
    for said in ["bolt A: loosened", "bolt C: snug", "bolt D: open"] {
        assert!(words.contains(said), "{words}");
    }
}

#[test]
fn through_an_extension_the_wrenchs_own_reading_is_asked_for() {
    let text = COVER
        .replace("count = 4\n", "count = 1\nadapter = \"100 mm\"\n")
        .lines()
        .filter(|line| !line.starts_with("layout"))
        .map(|line| format!("{line}\n"))
        .collect::<String>();
    let of = "cover";
    let state = |value: &str| {
        let row = format!(
            "\n[[bolt]]\njoint = \"{of}\"\nbolt = 1\nstate = \"torqued\"\nvalue = \"{value}\"\n\
             position = \"ride\"\n"
        );
        let out = assessed(&format!("{text}{row}"));
        forbidden(&out, of).iter().map(|(_, why)| (*why).to_owned()).collect::<Vec<_>>()
    };
    // 4.4 · 400/500 = 3.52.
    assert_eq!(state("3.5 kgf m"), Vec::<String>::new());
    assert_eq!(state("4.4 kgf m"), ["value-in-doubt"]);
    assert_eq!(state("6 kgf m"), ["wrong-value"]);
}

#[test]
fn a_value_off_the_wrenchs_scale_is_not_believed() {
    let of = "cover";
    let text = COVER.replace("to = \"100 N m\"", "to = \"300 N m\"");
    let row = format!(
        "\n[[bolt]]\njoint = \"{of}\"\nbolt = 1\nstate = \"torqued\"\nvalue = \"4.4 kgf m\"\n\
         wrench = \"clicker\"\nposition = \"ride\"\n"
    );
    let out = assessed(&format!("{text}{row}"));
    // A click wrench of 300 N·m is used from 60 N·m; 4.4 kgf m are 43.
    assert!(forbidden(&out, of).contains(&(1, "wrench-out-of-range")));
}

fn question() -> TorqueQuestion {
    let text = "4.9 kgf m".to_owned();
    TorqueQuestion {
        thread: "M12x1.5".to_owned(),
        class: "8.8".to_owned(),
        surface: "zinc, oiled".to_owned(),
        list_surface: None,
        wanted: Wanted::Torque(Given { value: Torque::kgf_m(4.9), spread: None, text }),
        wrenches: Vec::new(),
        adapter: None,
        adapter_angle: None,
        wrench_arm: None,
        unit: TorqueUnit::NM,
    }
}

#[test]
fn the_quick_question_says_what_the_car_file_says() {
    let quick = torque(&question()).unwrap();
    let car = demo();
    let own = &quick.find("joint.preload", None).unwrap().value;
    assert_eq!(own, value(car, "joint.preload", "front-eccentric-left"));
    let back = match own.get("preload") {
        Some(Item::Leaf(leaf)) => Force::try_from(leaf.value).unwrap(),
        other => panic!("{other:?}"),
    };
    let wanted = Wanted::Preload(Given { value: back, spread: None, text: "typed".to_owned() });
    let again = torque(&TorqueQuestion { wanted, ..question() }).unwrap();
    let setting = &again.find("joint.setting", None).unwrap().value;
    near(number(setting, "setting"), 4.9 * KGF_M, 1e-6);
}

#[test]
fn the_quick_question_refuses_what_there_is_not() {
    let given = |mm: f64| Given { value: Length::mm(mm), spread: None, text: String::new() };
    let asks: [TorqueQuestion; 5] = [
        TorqueQuestion { thread: "M12x9".to_owned(), ..question() },
        TorqueQuestion { class: "8,9".to_owned(), ..question() },
        TorqueQuestion { surface: "butter".to_owned(), ..question() },
        TorqueQuestion { adapter: Some(given(60.0)), ..question() },
        TorqueQuestion {
            adapter: Some(given(400.0)),
            adapter_angle: Some(Given {
                value: Angle::deg(180.0),
                spread: None,
                text: String::new(),
            }),
            wrench_arm: Some(given(420.0)),
            ..question()
        },
    ];
    for ask in asks {
        let error = torque(&ask).unwrap_err();
        assert!(!error.to_string().is_empty() && !error.hint().is_empty());
    }
}

fn is_sound(out: &Assessment) -> Result<(), TestCaseError> {
    for found in out.findings.iter().filter(|found| found.id.starts_with("joint")) {
        for leaf in found.value.leaves() {
            prop_assert!(leaf.value.to_si().is_finite(), "{}: {leaf:?}", found.id);
            prop_assert!(leaf.u.is_none_or(|u| u.to_si().is_finite()), "{}: {leaf:?}", found.id);
        }
        prop_assert!(!found.why.words.contains("NaN"), "{}: {}", found.id, found.why.words);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, ..ProptestConfig::default() })]

    /// Whatever stands in the place of a value, nothing breaks.
    #[test]
    fn wild_values_never_break_a_joint(
        at in any::<prop::sample::Index>(),
        text in prop_oneof![
            "[0-9]{1,12}(\\.[0-9]{1,4})? ?(N m|kgf m|mm|deg|%|N)?",
            "-?[0-9]{1,3}e[0-9]{1,3} N m",
            "M[0-9]{1,4}(x[0-9]{1,3}(\\.[0-9])?)?",
            "[a-z ,-]{0,12}",
        ],
    ) {
        let lines: Vec<&str> = COVER.lines().collect();
        let keyed: Vec<usize> =
            (0..lines.len()).filter(|n| lines[*n].contains(" = \"")).collect();
        let at = keyed[at.index(keyed.len())];
        let key = lines[at].split(" = ").next().unwrap();
        let mut changed: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        changed[at] = format!("{key} = \"{text}\"");
        let (car, _) = axlewright_book::read(&changed.join("\n"));
        is_sound(&assess(&car))?;
    }

    /// Whatever is asked, there is an answer or a reason why not.
    #[test]
    fn wild_questions_never_break(
        nm in prop_oneof![any::<f64>(), 0.0..500.0_f64],
        arm in prop_oneof![any::<f64>(), 0.0..1000.0_f64],
        reach in prop_oneof![any::<f64>(), 0.0..500.0_f64],
        turn in prop_oneof![any::<f64>(), -200.0..200.0_f64],
        from in prop_oneof![any::<f64>(), 0.0..50.0_f64],
        to in prop_oneof![any::<f64>(), 0.0..500.0_f64],
        thread in prop_oneof![Just("M6".to_owned()), Just("M24x1.5".to_owned()), ".{0,12}"],
        as_preload in any::<bool>(),
    ) {
        let length = |mm: f64| Given { value: Length::mm(mm), spread: None, text: String::new() };
        let text = String::new();
        let wanted = if as_preload {
            Wanted::Preload(Given { value: Force::n(nm), spread: None, text })
        } else {
            Wanted::Torque(Given { value: Torque::nm(nm), spread: None, text })
        };
        let (from, to) = (Torque::nm(from), Torque::nm(to));
        let wrench = QuickWrench { from, to, unit: None, text: String::new() };
        let ask = TorqueQuestion {
            thread,
            wanted,
            wrenches: vec![wrench],
            adapter: Some(length(reach)),
            adapter_angle: Some(Given {
                value: Angle::deg(turn),
                spread: None,
                text: String::new(),
            }),
            wrench_arm: Some(length(arm)),
            ..question()
        };
        if let Ok(out) = torque(&ask) {
            is_sound(&out)?;
            let leaves = out.findings.iter().flat_map(|found| found.value.leaves());
            for leaf in leaves.filter(|leaf| leaf.value.kind() == Kind::Torque) {
                prop_assert!(0.0 <= leaf.value.to_si(), "{leaf:?}");
            }
        }
    }
}

//! A row for each side becomes two, and what it names becomes the same side's.

use axlewright_book::{CarFile, Entry, Pick, TorqueUnit, read};
use axlewright_quantity::{Amount, Length, Side, Torque};

fn sound(text: &str) -> CarFile {
    let (car, problems) = read(&format!("format = 1\n{text}"));
    assert!(problems.is_empty(), "{problems:#?}");
    car
}

fn names(list: &[Entry<String>]) -> Vec<&str> {
    list.iter().map(|entry| entry.value.as_str()).collect()
}

const ROWS: &str = r#"
[[joint]]
id = "cover"
side = "each"
layout = ["10, 20 mm", "-10, -20 mm"]
[[joint]]
id = "drain"
[[part]]
id = "plate"
side = "each"
[[part]]
id = "grease"
[[part]]
id = "clip"
side = "left"
"#;

const STEP: &str = "[[step]]\nphase = \"assembly\"\nwords = \"do it\"\n";

#[test]
fn a_row_for_each_side_is_a_left_and_a_right_one_on_the_same_line() {
    let car = sound(ROWS);
    let joints: Vec<(&str, &str, Option<Side>, u32)> = car
        .joints
        .iter()
        .map(|j| (j.id.value.as_str(), j.id.text.as_str(), j.side, j.line))
        .collect();
    assert_eq!(
        joints,
        [
            ("cover-left", "cover", Some(Side::Left), 3),
            ("cover-right", "cover", Some(Side::Right), 3),
            ("drain", "drain", None, 7),
        ]
    );
    let parts: Vec<(&str, Option<Side>)> =
        car.parts.iter().map(|p| (p.id.value.as_str(), p.side)).collect();
    assert_eq!(
        parts,
        [
            ("plate-left", Some(Side::Left)),
            ("plate-right", Some(Side::Right)),
            ("grease", None),
            ("clip", Some(Side::Left)),
        ]
    );
    assert_eq!(car.joint("cover-right").map(|j| j.side), Some(Some(Side::Right)));
    assert!(car.joint("cover").is_none() && car.part("plate-left").is_some());
}

#[test]
fn the_right_ones_bolts_are_seen_in_the_mirror() {
    let car = sound(ROWS);
    let points = |id: &str| -> Vec<(Length, Length)> {
        let layout = car.joint(id).and_then(|j| j.layout.as_ref()).expect("it has a layout");
        layout.value.iter().map(|p| (p.x, p.y)).collect()
    };
    let left = points("cover-left");
    assert_eq!(left[0], (Length::mm(10.0), Length::mm(20.0)));
    let right: Vec<_> = left.iter().map(|(x, y)| (*x * -1.0, *y)).collect();
    assert_eq!(points("cover-right"), right);
    assert_eq!(car.joint("cover-right").and_then(|j| j.bolt_count()), Some(2));
}

#[test]
fn in_a_step_for_each_side_a_name_means_the_same_sides() {
    let car = sound(&format!(
        "{ROWS}{STEP}id = \"first\"\nside = \"each\"\n{STEP}id = \"second\"\nside = \"each\"\n\
         needs = [\"plate\", \"grease\"]\nsnug = [\"cover\"]\ntorques = [\"cover\", \"drain\"]\n\
         after = [\"first\"]\n"
    ));
    for side in ["left", "right"] {
        let step = car.step(&format!("second-{side}")).expect("there is one for each side");
        assert_eq!(names(&step.needs), [&format!("plate-{side}"), "grease"]);
        assert_eq!(names(&step.snug), [&format!("cover-{side}")]);
        assert_eq!(names(&step.torques), [&format!("cover-{side}"), "drain"]);
        assert_eq!(names(&step.after), [&format!("first-{side}")]);
        assert_eq!(step.needs[0].text, "plate");
    }
}

#[test]
fn a_side_may_be_named_from_elsewhere() {
    let car = sound(&format!(
        "{ROWS}{STEP}id = \"first\"\nside = \"each\"\nafter = [\"between-left\"]\n\
         {STEP}id = \"between\"\nside = \"each\"\n\
         {STEP}id = \"last\"\nneeds = [\"plate-both\"]\ntorques = [\"cover-right\"]\n\
         after = [\"first-both\", \"between-right\"]\n\
         {STEP}id = \"left-only\"\nside = \"left\"\nneeds = [\"plate\", \"clip\"]\n\
         after = [\"between-both\"]\n"
    ));
    let step = |id: &str| car.step(id).expect("it is there");
    assert_eq!(names(&step("first-right").after), ["between-left"]);
    assert_eq!(names(&step("last").needs), ["plate-left", "plate-right"]);
    assert_eq!(names(&step("last").torques), ["cover-right"]);
    assert_eq!(names(&step("last").after), ["first-left", "first-right", "between-right"]);
    assert_eq!(names(&step("left-only").needs), ["plate-left", "clip"]);
    assert_eq!(names(&step("left-only").after), ["between-left", "between-right"]);
}

#[test]
fn a_station_takes_its_side() {
    let stations = |side: &str, station: &str| -> Vec<String> {
        let car = sound(&format!("{STEP}id = \"x\"\nside = \"{side}\"\nstation = \"{station}\"\n"));
        car.steps.iter().filter_map(|s| s.station.clone()).map(|s| s.value).collect()
    };
    assert_eq!(stations("each", "rear"), ["left rear", "right rear"]);
    assert_eq!(stations("each", "Front"), ["left front", "right front"]);
    assert_eq!(stations("each", "under"), ["under left", "under right"]);
    assert_eq!(stations("each", "bench"), ["bench", "bench"]);
    assert_eq!(stations("left", " Left   Rear"), ["left rear"]);
    assert_eq!(stations("none", "left rear"), ["left rear"]);
}

#[test]
fn rows_may_name_what_stands_further_down() {
    let car = sound(&format!(
        "{STEP}id = \"a\"\nafter = \"b\"\nneeds = \"grease\"\n{STEP}id = \"b\"\n{ROWS}"
    ));
    assert_eq!(names(&car.steps[0].after), ["b"]);
    assert_eq!(names(&car.steps[0].needs), ["grease"]);
}

#[test]
fn no_list_names_what_could_not_be_read() {
    let text = format!(
        "format = 1\n{ROWS}{STEP}id = \"good\"\nneeds = [\"grease\", \"plate-both\"]\n\
         after = [\"bad\"]\n[[step]]\nid = \"bad\"\nphase = \"some day\"\nwords = \"x\"\n"
    )
    .replace("id = \"grease\"\n", "id = \"grease\"\nside = \"top\"\n");
    let (car, problems) = read(&text);
    let said: Vec<&str> = problems.iter().map(|p| p.what.as_str()).collect();
    assert_eq!(
        said,
        [
            "`part.side` is `top`; it must be one of a few words",
            "`step.phase` is `some day`; it must be one of a few words"
        ]
    );
    assert_eq!(names(&car.steps[0].needs), ["plate-left", "plate-right"]);
    assert!(car.steps[0].after.is_empty() && car.steps.len() == 1);
}

#[test]
fn a_joint_finds_its_row_of_the_manual_by_id_or_name() {
    for name in ["cover", "Cover-Left", "Hub Cover"] {
        let car = sound(&format!(
            "[[spec]]\nwhat = \"torque\"\njoint = \"{name}\"\nvalue = \"4.4 kgf m\"\n\
             [[joint]]\nid = \"cover\"\nname = \"hub cover\"\nside = \"each\"\n\
             [[joint]]\nid = \"drain\"\n"
        ));
        let Pick::One(row) = car.torque_row(&car.joints[0]) else { panic!("{name} is found") };
        assert_eq!(row.line, 2);
        assert_eq!(car.torque_row(&car.joints[2]), Pick::NoRow);
    }
}

#[test]
fn the_owners_unit_may_be_spelt_as_behind_a_number() {
    let unit = |text: &str| sound(&format!("[units]\ntorque = \"{text}\"\n")).torque_unit;
    for text in ["N m", "N·m", "Nm", "nm"] {
        assert_eq!(unit(text), Some(TorqueUnit::NM), "{text}");
    }
    for text in ["kgf m", "kgm", "m·kg", "kp m"] {
        assert_eq!(unit(text), Some(TorqueUnit::KgfM), "{text}");
    }
    for text in ["lbf ft", "ft lb", "ft·lbf"] {
        assert_eq!(unit(text), Some(TorqueUnit::LbfFt), "{text}");
    }
    assert_eq!(unit(""), None);
}

#[test]
fn everything_that_may_be_written_of_a_joint_is_kept() {
    let car = sound(
        r#"
[[joint]]
id = "x"
name = "a name"
side = "none"
thread = "M12x1.5"
class = "10.9"
count = "1"
layout = ["0, 0 mm"]
heads = "outboard"
torque = "8.0 kgf m"
torque_source = "p. 3"
list_surface = "dry"
surface = "greased"
plated = "none"
process_record = false
position = "Ride"
kind = "friction"
load = "2500 N"
faces = 2
face_friction = 0.15
locking = "washer"
one_time = true
reused = false
engagement = "14 mm"
nut_class = "10"
head_width = "18 mm"
hole = "13 mm"
adapter = "60 mm"
adapter_angle = "90 deg"
wrench_arm = "420 mm"
caution = "hot"
safety = "steering"
eccentric = "rear"
[[wrench]]
name = "w"
from = "5 N m"
to = "25 N m"
length = "300 mm"
kind = "beam"
tolerance = "4 %"
unit = "m kg"
"#,
    );
    let joint = format!("{:?}", car.joints[0]);
    assert_eq!(joint.matches("None").count(), spreads(&joint), "{joint}");
    let torque = car.joints[0].torque.as_ref().map(|t| t.value);
    assert_eq!(torque, Some(Amount::from(Torque::kgf_m(8.0))));
    assert_eq!(car.wrenches[0].unit, Some(TorqueUnit::KgfM));
    assert!(car.wrenches[0].tolerance.is_some() && car.wrenches[0].kind.is_some());
}

/// How often nothing is written of a spread, or of a side.
fn spreads(debug: &str) -> usize {
    debug.matches("spread: None").count() + debug.matches("side: None").count()
}

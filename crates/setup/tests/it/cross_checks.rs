//! One quantity two ways: what disagrees is told, with the slip that explains it.

use super::{LARCH, LEFT, RIGHT, assessed, demo};
use axlewright_quantity::{Amount, Mass};
use axlewright_setup::{Assessment, CrossCheck, Severity, Slip, Subject};

fn check<'a>(out: &'a Assessment, id: &str) -> &'a CrossCheck {
    let found = out.cross_checks.iter().find(|check| check.id == id);
    found.unwrap_or_else(|| panic!("no {id} among {:?}", out.cross_checks))
}

fn stops(out: &Assessment) -> Vec<&str> {
    let all = out.cautions.iter().filter(|c| c.id == CrossCheck::ID);
    all.map(|c| c.words.as_str()).collect()
}

fn slipped(was: &str, is: &str) -> Assessment {
    assert!(LARCH.contains(was), "{was}");
    assessed(&LARCH.replacen(was, is, 1))
}

const WEIGHT: &str = "corner_weight = \"280 kg\"";

#[test]
fn nothing_disagrees_in_the_demo() {
    assert_eq!(stops(demo()), Vec::<&str>::new());
    assert!(demo().find("index.choices", Some(&LEFT)).is_some());
}

/// By hand: 22 mm for 23 mm makes 11° + 19°·(22/23)⁴ = 26.9°. A wheel that carries 280 lb, 127 kg,
/// in place of 280 kg loads the bar with 153 kg · 9.81 N/kg · 0.45 m = 675 N·m less, and at
/// 69.7 N·m a degree that is 9.7° less twist.
#[test]
fn pounds_for_kilograms_under_a_wheel_stop_everything() {
    let out = slipped(WEIGHT, "corner_weight = \"280 lb\"");
    let found = check(&out, "free-angle");
    assert!((found.differ.shown() + 9.7).abs() < 1.0, "{found:?}");
    assert!(8.0 < found.times_u().unwrap().to_one(), "{found:?}");
    let first = &found.suspects[0];
    assert_eq!((first.what.as_str(), first.slip), ("load.corner_weight", Slip::Unit));
    let meant = first.meant.map(|amount| Mass::try_from(amount).unwrap().to_kg());
    assert!((meant.unwrap() - 280.0).abs() < 0.1, "{first:?}");
    let told = out.caution(CrossCheck::ID, Some(&LEFT)).unwrap();
    assert_eq!(told.severity, Severity::Stop);
    assert!(told.words.contains("280 kg in place of 127 kg"), "{told:?}");
    assert!(out.must_stop());
}

/// Nobody moves a tooth by figures that disagree; the gap says what would free them.
#[test]
fn teeth_and_corrections_wait_while_figures_disagree() {
    let out = slipped(WEIGHT, "corner_weight = \"280 lb\"");
    for id in ["index.choices", "index.both-sides", "car.moves", "car.after"] {
        assert!(out.find(id, None).is_none(), "{id}");
        assert!(demo().find(id, None).is_some(), "{id} is not in the demo: nothing is proved");
    }
    let gap = out.gaps.iter().find(|gap| gap.id == "cross-check.free-angle").unwrap();
    assert!(gap.blocks.contains(&"index.choices"));
}

#[test]
fn a_check_is_set_aside_with_a_reason() {
    let light = LARCH.replacen(WEIGHT, "corner_weight = \"280 lb\"", 1);
    let all = "check = [\"free-angle\", \"rear-axle\", \"car-mass\", \"car-balance\", \
               \"round-rear\", \"plate-reading\"]";
    let row = format!("{light}\n[[set_aside]]\n{all}\nreason = \"a racing shell\"\n");
    let out = assessed(&row);
    assert_eq!(stops(&out), Vec::<&str>::new());
    assert!(out.find("index.choices", Some(&LEFT)).is_some());
    let told = out.caution("cross-check.set-aside", Some(&LEFT)).unwrap();
    assert!(told.words.contains("a racing shell"), "{told:?}");
    let unknown = format!("{LARCH}\n[[set_aside]]\ncheck = \"free-angel\"\nreason = \"none\"\n");
    let out = assessed(&unknown);
    assert!(out.problems.iter().any(|p| p.contains("`free-angel`")), "{:?}", out.problems);
}

/// The arm's coordinates are read at the stated ride angle: 150 mm below the axis is no 95 mm.
#[test]
fn a_wheel_centre_that_is_not_at_the_manuals_trim_is_told() {
    let out =
        slipped("wheel_centre = \"-455, 668, -95 mm\"", "wheel_centre = \"-455, 668, -150 mm\"");
    let found = check(&out, "ride-trim");
    assert!((found.differ.shown() - 55.0).abs() < 0.1, "{found:?}");
}

#[test]
fn a_stage_left_out_and_a_scale_in_pounds_are_told() {
    let row = "[[masses]]\nname = \"engine and gearbox\"\nkind = \"stage\"\nmass = \"165 kg\"\n\
               at = \"-480, 0 mm\"\n";
    let out = slipped(row, "");
    // By its lever of 2325 mm in 2300 mm the engine is 166.8 kg on the rear wheels.
    assert!((check(&out, "rear-axle").differ.shown() + 166.8).abs() < 0.5);
    let out = slipped("LR = \"288 kg\"", "LR = \"288 lb\"");
    let first = &check(&out, "round-rear").suspects[0];
    assert_eq!((first.what.as_str(), first.slip), ("round 1.weight.LR", Slip::Unit));
}

#[test]
fn one_gauge_shows_one_error_on_both_sills() {
    let out = slipped("value = \"0.3 deg\"", "value = \"3.0 deg\"");
    let found = check(&out, "sides-gauge");
    // Half of what was written too much.
    assert!((found.differ.shown() - 1.35).abs() < 1e-6, "{found:?}");
    let first = &found.suspects[0];
    assert_eq!(first.what, "reading.sill-level.left");
    assert!((first.meant.map_or(0.0, Amount::shown) - 0.3).abs() < 1e-9);
}

#[test]
fn a_gauge_held_the_other_way_round_is_the_first_suspect() {
    let was = "value = \"27.1 deg\"\narrow = \"nose\"";
    let out = slipped(was, "value = \"27.1 deg\"\narrow = \"tail\"");
    let found = check(&out, "plate-reading");
    assert_eq!(found.of, Some(RIGHT));
    let slips: Vec<Slip> = found.suspects.iter().map(|s| s.slip).collect();
    assert!(slips.contains(&Slip::GaugeTurned), "{found:?}");
}

#[test]
fn rate_and_measures_of_a_bar_are_held_against_each_other() {
    // 23 mm over 540 mm at 78.5 GPa: 69.7 N·m a degree, π·d⁴·G/(32·L) by hand.
    let rate = |text: &str| {
        let with = format!("length = \"540 mm\"\nrate = \"{text}\"");
        slipped("length = \"540 mm\"", &with)
    };
    let differs = |out: &Assessment| out.cross_checks.iter().any(|c| c.id == "bar-rate");
    assert!(!differs(&rate("69.7 N·m/deg")));
    let out = rate("80.2 N·m/deg");
    assert!((check(&out, "bar-rate").differ.shown() - 10.5).abs() < 0.1);
}

/// What is not about a corner is about the car.
#[test]
fn a_check_of_the_car_names_no_corner() {
    let out = slipped("LR = \"288 kg\"", "LR = \"288 lb\"");
    assert_eq!(check(&out, "round-rear").of, None::<Subject>);
}

/// Somebody of 75 kg, 800 mm forward, has 75 · (1845 − 800)/2300 / 2 = 17.0 kg on each rear wheel;
/// the engine, 480 mm behind the bar axis, 165 · (1845 + 480)/2300 / 2 = 83.4 kg.
#[test]
fn a_weight_from_another_stage_names_the_stage() {
    let out = slipped(WEIGHT, "corner_weight = \"196.6 kg\"");
    let first = &check(&out, "rear-axle").suspects[0];
    assert_eq!((first.what.as_str(), first.slip), ("load.corner_weight", Slip::Stage));
    assert!((first.meant.map_or(0.0, Amount::shown) - 280.0).abs() < 0.1, "{first:?}");
}

/// What is missing from the stages follows from both axles: the row that was taken out.
#[test]
fn a_stage_left_out_is_told_with_its_mass_and_its_place() {
    let row = "[[masses]]\nname = \"doors, glass, trim, seats\"\nkind = \"stage\"\n\
               mass = \"190 kg\"\nat = \"333, 0 mm\"\n";
    let out = slipped(row, "");
    let first = &check(&out, "car-mass").suspects[0];
    assert_eq!((first.what.as_str(), first.slip), ("masses", Slip::Stage));
    assert!(first.explains.contains("190 kg, 333 mm forward"), "{first:?}");
}

/// A list is written in one unit and in round numbers: 78.5 kgf m is 8.0 kgf m read in newton
/// metres, and 80 kgf m has lost its point.
#[test]
fn a_list_tells_a_wrong_unit_from_a_lost_point() {
    let first = |is: &str| {
        let out = slipped("torque = \"8.0 kgf m\"", &format!("torque = \"{is}\""));
        let first = check(&out, "joint-torque").suspects[0].clone();
        assert_eq!(first.what, "joint.damper-bottom.torque");
        (first.slip, (first.meant.unwrap().to_si() * 10.0).round() / 10.0)
    };
    assert_eq!(first("78.5 kgf m"), (Slip::Unit, 78.5));
    assert_eq!(first("8.0 N m"), (Slip::Unit, 78.5));
    assert_eq!(first("8.0 lbf ft"), (Slip::Unit, 78.5));
    assert_eq!(first("80 kgf m"), (Slip::Decimal, 78.5));
}

/// From 2.5 to 3.6 times its doubt a difference is told, and nothing is held back.
#[test]
fn what_nearly_disagrees_is_a_note() {
    let out = slipped("jack_point = \"-440, 600, -150 mm\"", "jack_point = \"-440, 600, -15 mm\"");
    let times = check(&out, "jack-point").times_u().unwrap().to_one();
    assert!((2.5..3.6).contains(&times), "{times}");
    let note = out.caution("cross-check.note", Some(&LEFT)).unwrap();
    assert_eq!(note.severity, Severity::Note);
    assert!(note.words.contains("arm.jack_point Z"), "{note:?}");
    assert!(out.find("index.choices", Some(&LEFT)).is_some());
    assert_eq!(demo().caution("cross-check.note", None), None);
}

/// Of two slips that explain it alike, the one that leaves the likelier car stands first: a
/// damper's lower eye is not above the axis.
#[test]
fn the_likelier_car_decides_between_two_slips() {
    let out = slipped("arm_eye = \"-525, 590, -110 mm\"", "arm_eye = \"-525, 590, 110 mm\"");
    let first = &check(&out, "damper-length").suspects[0];
    assert_eq!((first.what.as_str(), first.slip), ("damper.arm_eye Z", Slip::Sign));
}

//! What can be at all: every limit broken once by a figure of the demo, and by that figure told.

use std::collections::BTreeSet;

use super::{LARCH, demo};
use axlewright_setup::{Assessment, CrossCheck, Severity};

/// The check, a line of the demo, what a hand made of it, and how far that is beyond the limit by
/// hand, in the unit shown; nothing where the sum is not done by hand.
const BROKEN: &[(&str, &str, &str, Option<f64>)] = &[
    // The box of hub, pivot and wheel begins at X −455 mm, and 120 mm of room behind it.
    ("arm-places", "jack_point = \"-440, ", "jack_point = \"-4400, ", Some(-3825.0)),
    // 150 mm before the axis at most.
    ("body-places", "body_eye = \"-470, 560", "body_eye = \"470, 560", Some(320.0)),
    (
        "shaft-place",
        "inner_joint = \"-455, 170, -70",
        "inner_joint = \"-45.5, 170, -70",
        Some(329.5),
    ),
    // 808 − 610 mm, and 160 mm at most.
    ("wheel-offset", "wheel_centre = \"-455, 668", "wheel_centre = \"-455, 808", Some(38.0)),
    ("pivot-place", "inner_pivot = \"-55, 235, -20", "inner_pivot = \"-550, 235, -20", None),
    // 2.1 kg in steel over the outline are some 6 mm; ten times that is some 63.
    ("plate-thickness", "mass = \"2.1 kg\"", "mass = \"21 kg\"", None),
    ("plate-balance", "mass_at = \"160, 0 mm\"", "mass_at = \"1600, 0 mm\"", None),
    ("plate-outline", "\"370, -36 mm\"", "\"370, -360 mm\"", None),
    // √(2140² + 146²) mm, and the farthest corner is √(370² + 38²) mm from the hub.
    ("stop-bolt-reach", "at = \"-214, -146", "at = \"-2140, -146", Some(1773.03)),
    // √(155 000 N/m / 180.5 kg) / 2π = 4.664 Hz, and 2.6 Hz at most.
    ("front-rate", "wheel_rate = \"15.5", "wheel_rate = \"155", Some(2.064)),
    // 1.15 × 668 mm at most.
    ("half-tracks", "half_track = \"645", "half_track = \"1000", Some(231.8)),
    // 476 + 44 kg with the arms, and 849 kg with everything: nearest to 236 kg is 476.
    ("shell-mass", "mass = \"520 kg\"", "mass = \"520 lb\"", Some(-240.1)),
    ("shell-place", "mass_at = \"900, 0, 250", "mass_at = \"90, 0, 250", Some(-810.0)),
    ("shell-height", "mass_at = \"900, 0, 250", "mass_at = \"900, 0, 2500", Some(1900.0)),
    ("gas-push", "gas = \"120 N ", "gas = \"1200 N ", Some(700.0)),
    ("settling", "settling = \"3 mm", "settling = \"30 mm", Some(18.0)),
    (
        "ring-heights",
        "rings = 7\nring_height = \"12 mm",
        "rings = 7\nring_height = \"1.2 mm",
        Some(-4.8),
    ),
    // 0.45 × 36 kg.
    ("arm-mass", "mass = \"22 kg\"", "mass = \"2.2 kg\"", Some(-14.0)),
    // 36 − 48.5 × 400/455 kg are left for the wheel, and 8 kg at least.
    ("wheel-mass", "mass = \"22 kg\"", "mass = \"48.5 kg\"", Some(-14.637)),
    // 10 % of 212.5 kg, 25 % of 280 kg.
    ("unsprung-front", "unsprung = \"32 kg\"", "unsprung = \"3.2 kg\"", Some(-18.05)),
    ("unsprung-rear", "unsprung = \"36 kg\"", "unsprung = \"140 kg\"", Some(70.0)),
    // ln(100) − ln(12), ln(10) − ln(2).
    ("wrench-scale", "from = \"5 N m\"", "from = \"0.25 N m\"", Some(2.12)),
    ("stands-ratings", "rating = \"1000 kg\"", "rating = \"10000 kg\"", Some(1.609)),
    ("bar-sag", "sag = \"0 deg\"", "sag = \"15 deg\"", Some(9.0)),
    // 3.2 kg, and 0.6 × 36 kg at least.
    ("unsprung-ends", "unsprung = \"32 kg\"", "unsprung = \"3.2 kg\"", Some(-18.4)),
    ("arm-camber", "camber = \"-0.50 deg\"\ntoe", "camber = \"-5.0 deg\"\ntoe", Some(-4.5)),
    ("arm-toe", "toe = \"0.10 deg\"\nmass", "toe = \"1.0 deg\"\nmass", Some(0.9)),
    ("stands-floor", "top_z = \"-120 mm\"", "top_z = \"-12 mm\"", Some(108.0)),
    ("stands-places", "at = \"20, 450 mm\"", "at = \"1200, 450 mm\"", Some(1120.0)),
];

/// What the second half of the list is broken by.
const MORE: &[(&str, &str, &str, Option<f64>)] = &[
    ("joint-torque", "torque = \"5.2 kgf m\"", "torque = \"52 kgf m\"", None),
    // ln(0.015° / 0.03°).
    ("how-sure", "gauge = \"0.15 deg\"", "gauge = \"0.015 deg\"", Some(-0.693)),
    // 50 mm below the axis at least.
    ("jack-point", "jack_point = \"-440, 600, -150", "jack_point = \"-440, 600, -15", Some(35.0)),
    // Half the wheel's 455 mm at least.
    ("arm-balance", "mass_at = \"-400, 590", "mass_at = \"-40, 590", Some(187.5)),
    // 12 mm apart, 3 mm at most.
    ("plate-holes", "hole_rear = \"330, 6 mm\"", "hole_rear = \"330, -6 mm\"", Some(-9.0)),
    // 100 N in the row's stead.
    ("manual-damper", "gas = \"0 N\"\nrings", "gas = \"100 N\"\nrings", Some(100.0)),
    // 94 mm written in inches is 3.7 mm; 95 − 60 mm at least.
    ("round-trim", "RR = \"94 mm\"", "RR = \"3.7 mm\"", Some(-31.3)),
    ("round-camber", "RR = \"-0.60 deg\"", "RR = \"-6.0 deg\"", Some(-4.3)),
    ("shaft-outer", "outer_inboard = \"95 mm\"", "outer_inboard = \"9.5 mm\"", Some(-30.5)),
];

/// A file that cannot be names the slip that made it so.
#[test]
fn an_error_names_the_mend() {
    for (was, is, what, meant) in [
        ("jack_point = \"-440, ", "jack_point = \"440, ", "arm.jack_point X", Some(-440.0)),
        ("hole_front = \"250, 6", "hole_front = \"2500, 6", "plate.hole_front u", Some(250.0)),
        ("length = \"540 mm\"", "length = \"5400 mm\"", "bar.length", Some(540.0)),
        ("body_end = \"-150, 400, 30 mm", "body_end = \"-150, 400, 30 in", "hose.body_end", None),
    ] {
        assert!(LARCH.contains(was), "{was}");
        let told = axlewright_setup::mends(&LARCH.replacen(was, is, 1));
        let first = told.first().unwrap_or_else(|| panic!("nothing of {is}"));
        assert_eq!(first.what, what, "{told:#?}");
        assert_eq!(first.meant.map(|m| m.shown()), meant, "{told:#?}");
    }
    assert_eq!(axlewright_setup::mends(LARCH), []);
}

fn ids(out: &Assessment) -> BTreeSet<&'static str> {
    out.cross_checks.iter().map(|check| check.id).collect()
}

#[test]
fn every_limit_is_kept_by_the_demo_and_broken_by_a_slip() {
    assert_eq!(ids(demo()), BTreeSet::new());
    let mut wrong = Vec::new();
    for (id, was, is, by) in BROKEN.iter().chain(MORE) {
        assert!(LARCH.contains(was), "{was}");
        let (car, problems) = axlewright_book::read(&LARCH.replacen(was, is, 1));
        if problems.iter().any(|p| p.severity == axlewright_book::Severity::Error) {
            wrong.push(format!("{id}: {is}: the file refuses it already: {problems:?}"));
            continue;
        }
        let out = axlewright_setup::assess(&car);
        let Some(check) = out.cross_checks.iter().find(|check| check.id == *id) else {
            wrong.push(format!("{id}: {is}: only {:?}, {:?}", ids(&out), out.problems));
            continue;
        };
        let differ = check.differ.shown();
        if by.is_some_and(|by| 0.006 * by.abs().max(1.0) < (differ - by).abs()) {
            wrong.push(format!("{id}: {is}: {differ} and not {by:?}"));
        }
        let stops =
            out.cautions.iter().any(|c| c.id == CrossCheck::ID && c.severity == Severity::Stop);
        if 4.0 < check.times_u().unwrap().to_one() && !stops {
            wrong.push(format!("{id}: no stop"));
        }
    }
    assert_eq!(wrong, Vec::<String>::new());
}

//! The demo car's file says what it is meant to say.

use axlewright_book::{Field, Pick, Severity, SpecWhat, Value, read};
use axlewright_quantity::{Angle, Length, Place, PlatePoint, Side};

const DEMO: &str = include_str!("../../../examples/larch-1300/car.toml");

#[test]
fn the_demo_file_has_no_problems() {
    let (_, problems) = read(DEMO);
    assert!(problems.is_empty(), "{problems:#?}");
}

#[test]
fn every_field_of_the_demo_is_there_but_the_ones_it_can_do_without() {
    let (car, _) = read(DEMO);
    let without: Vec<&str> = Field::ALL
        .iter()
        .filter(|f| car.get(**f, Side::Left).is_none())
        .map(|f| f.path())
        .collect();
    let alternatives = [
        "bar.rate",
        "lever.hub_to_wheel",
        "lever.hub_to_damper",
        "bush.rate",
        "bush.neutral_angle",
        "damper.lengths",
        "hose.lengths",
        "cable.lengths",
        "half_shaft.lengths",
        "arm.at",
    ];
    assert_eq!(without, alternatives);
}

#[test]
fn both_sides_read_as_left() {
    let (car, _) = read(DEMO);
    for side in Side::BOTH {
        assert_eq!(car.place(Field::ArmHub, side), Some(Place::mm(0.0, 610.0, 0.0)));
        assert_eq!(car.plate_point(Field::PlateHoleFront, side), Some(PlatePoint::mm(250.0, 6.0)));
        assert_eq!(car.arm_measured_at(side), Some(Angle::deg(11.0)));
        assert_eq!(car.count(Field::SplinesPlateTeeth, side), Some(42));
    }
}

#[test]
fn the_build_number_picks() {
    let (car, _) = read(DEMO);
    let Pick::One(free) = car.pick(SpecWhat::FreeAngle) else { panic!("one row holds") };
    assert_eq!(free.value.text, "30.0 deg ± 0.5 deg");
    let Pick::Overlap(rings) = car.pick(SpecWhat::DamperRings) else { panic!("two rows hold") };
    let counts: Vec<&Value> = rings.iter().map(|row| &row.value.value).collect();
    assert_eq!(counts, [&Value::Count(6), &Value::Count(7)]);
    assert!(matches!(car.pick_torque("Stop bolt"), Pick::One(_)));
    assert_eq!(car.pick_torque("hub nut"), Pick::NoRow);
}

#[test]
fn the_printers_slip_is_seen_though_it_spares_this_car() {
    let (car, _) = read(DEMO);
    let holes: Vec<(SpecWhat, u32, u32)> =
        car.build_holes().iter().map(|h| (h.before.what, h.first, h.last)).collect();
    assert_eq!(holes, [(SpecWhat::Torque, 2468, 2469)]);
}

#[test]
fn a_figure_without_a_spread_takes_it_from_its_class() {
    let (car, _) = read(DEMO);
    let u = |field| car.uncertainty(field, Side::Left).map(|u| u.shown());
    let near = |got: Option<f64>, want: f64| {
        assert!(got.is_some_and(|got| (got - want).abs() < 1e-9), "{got:?} is not {want}");
    };
    near(u(Field::ArmHub), 1.5);
    near(u(Field::BarFittedDiameter), 0.03);
    near(u(Field::LoadCornerWeight), 8.0);
    // Limits ± 2 mm, taken as rectangular.
    near(u(Field::HoseFreeLength), 2.0 / 3.0_f64.sqrt());
    assert_eq!(u(Field::BarShearModulus), None);
}

#[test]
fn a_side_of_its_own_goes_before_both() {
    let text = format!(
        "{DEMO}\n[right.bar]\nfitted_diameter = \"22.9 mm\"\n[right.arm]\nhub = \"0, -612, 0 mm\"\n"
    );
    let (car, problems) = read(&text);
    assert!(problems.iter().all(|p| p.severity != Severity::Error), "{problems:#?}");
    let hub = |side| car.place(Field::ArmHub, side).map(|p| p.y);
    assert_eq!(hub(Side::Right), Some(Length::mm(612.0)));
    assert_eq!(hub(Side::Left), Some(Length::mm(610.0)));
    let bar = |side| car.length(Field::BarFittedDiameter, side).map(|l| (l.to_mm() * 10.0).round());
    assert_eq!((bar(Side::Left), bar(Side::Right)), (Some(230.0), Some(229.0)));
}

//! The demo car's file says what it is meant to say.

use axlewright_book::{
    BoltState, Field, PartState, Phase, Pick, Position, Severity, Spanning, SpecWhat, TorqueUnit,
    Value, read,
};
use axlewright_quantity::{Amount, Angle, Length, Place, PlatePoint, Side, Torque};

const DEMO: &str = include_str!("../../../../examples/larch-1300/car.toml");

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
        "bar.finish",
        "lever.hub_to_wheel",
        "lever.hub_to_damper",
        "lever.half_track",
        "bush.rate",
        "bush.neutral_angle",
        "damper.lengths",
        "hose.lengths",
        "cable.lengths",
        "half_shaft.lengths",
        "arm.at",
        "front.tyre_rate",
        "floor.left_front",
        "floor.right_front",
        "floor.left_rear",
        "floor.right_rear",
        "toe.by",
        "toe.over",
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
    let Pick::Overlap(covers) = car.pick_torque("hub-cover") else { panic!("two rows hold") };
    let torques: Vec<&str> = covers.iter().map(|row| row.value.text.as_str()).collect();
    assert_eq!(torques, ["4.4 kgf m", "4.0 kgf m"]);
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

/// Joint, thread, class, bolts of one side, list torque in kgf·m.
const JOINTS: &[(&str, &str, &str, u32, f64)] = &[
    ("hub-cover", "M10x1.5", "8.8", 4, 4.4),
    ("arm-to-plate", "M14x1.5", "10.9", 2, 11.0),
    ("front-eccentric", "M12x1.5", "8.8", 1, 4.9),
    ("rear-eccentric", "M12x1.5", "8.8", 1, 5.2),
    ("stop-bolt", "M10x1.5", "8.8", 1, 4.6),
    ("damper-top", "M12x1.5", "8.8", 1, 7.2),
    ("damper-bottom", "M12x1.5", "10.9", 1, 8.0),
    ("inner-pivot", "M14x1.5", "8.8", 1, 9.6),
    ("hose-bracket", "M6x1.0", "8.8", 1, 0.9),
    ("hub-nut", "M24x1.5", "8", 1, 32.0),
];

#[test]
fn the_joints_are_those_of_the_car_on_both_sides() {
    let (car, _) = read(DEMO);
    assert_eq!(car.joints.len(), 2 * JOINTS.len());
    for (id, thread, class, bolts, kgf_m) in JOINTS {
        for side in Side::BOTH {
            let joint = car.joint(&format!("{id}-{side}")).expect("it is there");
            assert_eq!(joint.thread.as_ref().map(|e| e.value.as_str()), Some(*thread), "{id}");
            assert_eq!(joint.class.as_ref().map(|e| e.value.as_str()), Some(*class), "{id}");
            assert_eq!(joint.bolt_count(), Some(*bolts), "{id}");
            let row = || match car.torque_row(joint) {
                Pick::One(row) => row.value.value.clone(),
                other => panic!("{id}: {other:?}"),
            };
            let torque = joint.torque.as_ref().map_or_else(row, |t| Value::Amount(t.value));
            assert_eq!(torque, Value::Amount(Amount::from(Torque::kgf_m(*kgf_m))), "{id}");
        }
    }
    let without: Vec<&str> =
        car.joints.iter().filter(|j| j.torque.is_none()).map(|j| j.id.text.as_str()).collect();
    assert_eq!(without, ["stop-bolt"; 2], "the manual's rows with the printer's slip give it");
}

#[test]
fn what_is_special_about_its_joints() {
    let (car, _) = read(DEMO);
    let at = |position| -> Vec<&str> {
        let there = car.joints.iter().filter(|j| j.position == Some(position));
        there.map(|j| j.id.text.as_str()).collect()
    };
    assert_eq!(at(Position::Ride), ["inner-pivot"; 2]);
    assert_eq!(at(Position::WheelsDown), ["hub-nut"; 2]);
    let without_record: u32 = car
        .joints
        .iter()
        .filter(|j| j.process_record == Some(false))
        .filter_map(|j| j.bolt_count())
        .sum();
    assert_eq!(without_record, 2, "two bolts came back plated without a record");
    let length = |e: &Option<axlewright_book::Entry<Amount>>| e.as_ref().map(|e| e.value.shown());
    let rear = car.joint("rear-eccentric-left").expect("it is there");
    assert!(length(&rear.adapter).is_some_and(|l| (l - 60.0).abs() < 1e-9));
    assert!(length(&rear.wrench_arm).is_some_and(|l| (l - 420.0).abs() < 1e-9));
    let cover = car.joint("hub-cover-left").and_then(|j| j.layout.clone()).expect("it has one");
    let span = |pick: fn(&axlewright_book::BoltPoint) -> Length| {
        let all: Vec<f64> = cover.value.iter().map(|p| pick(p).to_mm()).collect();
        let most = all.iter().copied().fold(f64::MIN, f64::max);
        (most - all.iter().copied().fold(f64::MAX, f64::min)).round()
    };
    assert_eq!((span(|p| p.x), span(|p| p.y)), (96.0, 64.0));
    let ranges: Vec<(f64, f64)> = car
        .wrenches
        .iter()
        .filter_map(|w| Some((w.from.as_ref()?.value.to_si(), w.to.as_ref()?.value.to_si())))
        .collect();
    assert_eq!(ranges, [(5.0, 25.0), (20.0, 100.0), (40.0, 210.0)]);
    assert_eq!(car.torque_unit, Some(TorqueUnit::NM));
    let open = |b: &axlewright_book::BoltNow| b.state == BoltState::Open;
    let states = car.joint_states();
    assert_eq!(states.iter().map(|j| j.bolts.len()).sum::<usize>(), 28);
    assert!(states.iter().all(|j| j.bolts.iter().all(open)), "nothing has been tightened yet");
}

#[test]
fn the_work_covers_every_phase_joint_and_part() {
    let (car, _) = read(DEMO);
    assert!((90..=130).contains(&car.steps.len()), "{}", car.steps.len());
    for phase in Phase::ALL {
        assert!(car.steps.iter().any(|s| s.phase == *phase), "{phase} has no step");
    }
    for joint in &car.joints {
        let named = |list: &[axlewright_book::Entry<String>]| {
            list.iter().any(|name| name.value == joint.id.value)
        };
        assert!(car.steps.iter().any(|s| named(&s.torques)), "{} stays slack", joint.id.value);
    }
    for part in &car.parts {
        let used = car.steps.iter().any(|s| s.needs.iter().any(|n| n.value == part.id.value));
        assert!(used, "nothing uses {}", part.id.value);
    }
    for what in Spanning::ALL {
        let fits = car.steps.iter().filter(|s| s.fits.iter().any(|f| f.value == *what)).count();
        assert_eq!(fits, 2, "{what} goes on once on each side");
    }
    let out: Vec<u32> = car
        .parts
        .iter()
        .filter(|p| p.state == Some(PartState::Out))
        .filter_map(|p| p.back_in_days.as_ref())
        .map(|days| days.value)
        .collect();
    assert!([4, 9, 12].iter().all(|days| out.contains(days)), "{out:?}");
    assert!(car.steps.iter().all(|s| s.minutes.is_some() && s.station.is_some()));
    assert!(car.changeover.is_some() && car.calendar.is_some_and(|c| c.sessions.len() == 4));
}

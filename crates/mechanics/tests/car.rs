//! The whole car: the demo by hand, slopes against differences, statics that no spring changes.

mod larch;

use axlewright_mechanics::car::{Car, FIGURES, WHEELS, Wheel, Wheels};
use axlewright_quantity::{Amount, Angle, Kind, Length, LinearRate, Mass, Side};

fn near(what: &str, got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{what}: {got}, not {want}");
}

#[test]
fn the_demo_stands_as_its_manual_says() {
    let rest = larch::car().rest().unwrap();
    println!("{rest:#?}");
    for wheel in WHEELS {
        let want =
            if matches!(wheel, Wheel::LeftFront | Wheel::RightFront) { 212.5 } else { 280.0 };
        // Build stages and corner weights of the demo agree within 30 g.
        near(wheel.code(), rest.weights[wheel].to_kg(), want, 0.03);
    }
    for side in Side::BOTH {
        near("trim", rest.rear[side].trim.to_mm(), 95.0, 0.05);
        near("angle", rest.rear[side].plate_angle.to_deg(), 11.0, 0.005);
        near("camber", rest.rear[side].angles.unwrap().camber.to_deg(), -0.5, 0.005);
        near("toe", rest.rear[side].angles.unwrap().toe.to_deg(), 0.1, 0.005);
    }
    assert!(rest.left_over.to_n() < 1e-6);
}

/// A step small enough for the cube of it to be lost, large enough for rounding.
fn step(kind: Kind) -> Amount {
    let shown = match kind {
        Kind::Angle => 0.02,
        Kind::Length => 0.1,
        Kind::Mass => 0.1,
        Kind::Force => 1.0,
        Kind::LinearRate => 0.05,
        _ => 1e-3,
    };
    Amount::from_shown(kind, shown)
}

fn check_slopes(car: &Car) {
    let (rest, slopes) = car.rest_with_slopes().unwrap();
    let (mut largest, mut count) = (0.0_f64, 0);
    for &knob in slopes.knobs() {
        let by = step(knob.kind());
        let back = Amount::from_si(by.kind(), -by.to_si());
        let [plus, minus] = [by, back].map(|s| car.turned(knob, s).unwrap().rest().unwrap());
        for figure in FIGURES {
            let Ok(now) = rest.figure(figure) else { continue };
            let exact = slopes.change(figure, knob, by).unwrap().shown();
            let [p, m] = [plus, minus].map(|r| r.figure(figure).unwrap().shown());
            let difference = 0.5 * (p - m);
            let size = 1e-6 * (exact.abs() + 1e-2);
            let what = format!("{} by {} (now {})", figure.name(), knob.name(), now.shown());
            near(&what, exact, difference, size.max(3e-7));
            largest = largest.max((exact - difference).abs());
            count += usize::from(exact.abs() > 1e-9);
        }
    }
    assert!(count > 150, "{count}");
    assert!(largest > 0.0);
}

fn uneven() -> Car {
    let mut car = larch::car();
    car.sprung.centre.y = Length::mm(12.0);
    car.sprung.mass = car.sprung.mass + Mass::kg(40.0);
    car.rear.left.free = car.rear.left.free + Angle::deg(0.8);
    car.rear.right.corner.shift.u = Length::mm(1.5);
    car.rear.left.corner.shift.w = Length::mm(-2.0);
    car.front.left.raised = Length::mm(5.0);
    car.front_coupling = Some(LinearRate::n_per_mm(6.0));
    car.rear_coupling = Some(LinearRate::n_per_mm(4.0));
    car.floor = Wheels::of(|w| Length::mm(if w == Wheel::RightFront { 9.0 } else { 2.0 }));
    car
}

#[test]
fn slopes_are_those_of_differences() {
    check_slopes(&larch::car());
    check_slopes(&uneven());
}

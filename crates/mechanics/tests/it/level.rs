//! Level readings against a gauge modelled as a direction in space, and against hand figures.

use axlewright_mechanics::level::{
    Arrow, FlankReading, HalfTurn, Held, LevelError, PlateReading, RimToe, Seat, Shown, reversal,
};
use axlewright_quantity::{Angle, Length};
use proptest::prelude::*;

fn near(ours: Angle, degrees: f64) {
    assert!((ours.to_deg() - degrees).abs() < 1e-9, "{} is not {degrees}", ours.to_deg());
}

/// The second road: what a gauge shows is how far its arrow end stands above its other end, plus
/// its error. The body is turned nose up by β, the plate hangs from the hub by θ below it.
fn shown_by_gauge(plate: f64, body: f64, error: f64, arrow: Arrow) -> Angle {
    let (theta, beta) = (plate.to_radians(), body.to_radians());
    // From hub to tail in body axes (X, Z), turned about Y so that +X rises.
    let (x, z) = (-theta.cos(), -theta.sin());
    let tail = (x * beta.cos() - z * beta.sin(), x * beta.sin() + z * beta.cos());
    let end = match arrow {
        Arrow::Nose => (-tail.0, -tail.1),
        Arrow::Tail => tail,
    };
    Angle::rad(end.1.asin()) + Angle::deg(error)
}

proptest! {
    #[test]
    fn plate_angle_undoes_the_gauge(
        plate in -60.0..60.0_f64, body in -10.0..10.0_f64, error in -3.0..3.0_f64,
        edge in -5.0..5.0_f64, to_nose in any::<bool>(),
    ) {
        let arrow = if to_nose { Arrow::Nose } else { Arrow::Tail };
        let on_seat = |seat, theta| PlateReading {
            shown: shown_by_gauge(theta, body, error, arrow), arrow,
            gauge_offset: Angle::deg(error), body_slope: Angle::deg(body), seat,
        };
        let line = on_seat(Seat::ReferenceLine, plate).plate_angle().unwrap();
        prop_assert!((line.to_deg() - plate).abs() < 1e-9);
        let edge_seat = Seat::Edge { tail_down: Angle::deg(edge) };
        let edge = on_seat(edge_seat, plate + edge).plate_angle().unwrap();
        prop_assert!((edge.to_deg() - plate).abs() < 1e-9);
    }

    #[test]
    fn reversal_undoes_the_gauge(body in -20.0..20.0_f64, error in -5.0..5.0_f64) {
        let shown = Shown {
            first: shown_by_gauge(0.0, body, error, Arrow::Nose),
            turned: shown_by_gauge(0.0, body, error, Arrow::Tail),
        };
        let found = reversal(shown).unwrap();
        prop_assert!((found.slope.to_deg() - body).abs() < 1e-9);
        prop_assert!((found.offset.to_deg() - error).abs() < 1e-9);
    }

    #[test]
    fn rim_toe_is_the_angle_drawn(toe in -30.0..30.0_f64, diameter in 60.0..1900.0_f64) {
        let difference = Length::mm(diameter * toe.to_radians().sin());
        let rim = RimToe { difference, diameter: Length::mm(diameter) };
        prop_assert!((rim.angle().unwrap().to_deg() - toe).abs() < 1e-9);
    }

    #[test]
    fn no_reading_panics(bits in prop::array::uniform5(any::<u64>())) {
        let [a, b, c, d, e] = bits.map(|bits| Angle::rad(f64::from_bits(bits)));
        let _ = reversal(Shown { first: a, turned: b });
        let _ = HalfTurn { first: a, turned: b }.camber();
        let _ = FlankReading { angle: a, lash: b, held: Held::Hanging }.on_loaded_flank();
        let seat = Seat::Edge { tail_down: d };
        let reading = PlateReading {
            shown: a, arrow: Arrow::Tail, gauge_offset: b, body_slope: c, seat,
        };
        if let Ok(theta) = reading.plate_angle() { prop_assert!(theta.is_finite()); }
        let (difference, diameter) = (Length::m(e.to_rad()), Length::m(a.to_rad()));
        let _ = RimToe { difference, diameter }.angle();
    }
}

/// Worked by hand: sill 0.3° and, turned, 0.1°: slope 0.1° nose up, gauge reads 0.2° too much.
/// Plate 35.2°: less 0.2°, less 0.1°, is 34.9°.
#[test]
fn demo_readings_by_hand() {
    let shown = Shown { first: Angle::deg(0.3), turned: Angle::deg(0.1) };
    let sill = reversal(shown).unwrap();
    near(sill.slope, 0.1);
    near(sill.offset, 0.2);
    let reading = PlateReading {
        shown: Angle::deg(35.2),
        arrow: Arrow::Nose,
        gauge_offset: sill.offset,
        body_slope: sill.slope,
        seat: Seat::ReferenceLine,
    };
    near(reading.plate_angle().unwrap(), 34.9);
    // The same plate with the gauge turned end for end shows −35.0° + 0.2°.
    let turned = PlateReading { shown: Angle::deg(-34.8), arrow: Arrow::Tail, ..reading };
    near(turned.plate_angle().unwrap(), 34.9);
}

#[test]
fn lash_camber_and_toe_by_hand() {
    let hanging =
        FlankReading { angle: Angle::deg(33.0), lash: Angle::deg(0.1), held: Held::Hanging };
    near(hanging.on_loaded_flank().unwrap(), 32.9);
    near(FlankReading { held: Held::Lifted, ..hanging }.on_loaded_flank().unwrap(), 33.0);
    let camber = HalfTurn { first: Angle::deg(-0.2), turned: Angle::deg(-0.6) }.camber().unwrap();
    near(camber.camber, -0.4);
    near(camber.run_out, 0.2);
    // ISO 8855 toe over rim diameters in inches; derived from Δ = D·sin(toe), no publication.
    for (inches, one_degree_mm) in [(13.0, 5.762_785), (14.0, 6.206_076), (16.0, 7.092_658)] {
        let difference = Length::mm(one_degree_mm);
        let toe = RimToe { difference, diameter: Length::inches(inches) }.angle().unwrap();
        assert!((toe.to_deg() - 1.0).abs() < 1e-7);
    }
}

#[test]
fn refusals_say_what_and_how_much() {
    let text = |error: LevelError| format!("{error}; {}", error.hint());
    let refused = |first, turned| text(reversal(Shown { first, turned }).unwrap_err());
    assert_eq!(
        refused(Angle::deg(95.0), Angle::ZERO),
        "first reading is 95.00°; it must lie between -90° and 90°; \
         enter degrees as the gauge shows them, with its sign and its way round"
    );
    assert!(refused(Angle::deg(f64::NAN), Angle::ZERO).starts_with("first reading is not a num"));
    assert!(refused(Angle::deg(45.0), Angle::deg(-45.0)).starts_with("slope is 45.00°"));
    let wide = RimToe { difference: Length::mm(400.0), diameter: Length::mm(330.0) };
    assert!(text(wide.angle().unwrap_err()).contains("400.0 mm over a diameter of 330.0 mm"));
    let lash = FlankReading { angle: Angle::ZERO, lash: Angle::deg(-0.1), held: Held::Lifted };
    assert!(text(lash.on_loaded_flank().unwrap_err()).starts_with("lash is -0.10°"));
}

//! Toe by strings and beams, thrust, and the floor in a camber reading: by hand, and against the
//! whole car standing on such a floor.

use axlewright_mechanics::car::alignment::{
    Beam, StringLine, Strings, ToeTwice, camber_off_floor, floor_slope, string_skew, thrust,
    toe_with_half_turn,
};
use axlewright_mechanics::car::{Pair, Wheel, Wheels};
use axlewright_quantity::{Angle, Length, Side};

use crate::larch;

const fn mm(n: f64) -> Length {
    Length::mm(n)
}

fn near(what: &str, got: Angle, want_deg: f64, within: f64) {
    assert!((got.to_deg() - want_deg).abs() <= within, "{what}: {}, not {want_deg}", got.to_deg());
}

/// Derived: 1° over 330.2 mm is 5.762785 mm, 10′ 0.960512 mm.
#[test]
fn strings_tell_toe_by_the_difference_over_the_rim() {
    let strings = |front, rear| Strings { front: mm(front), rear: mm(rear), diameter: mm(330.2) };
    near("one degree", strings(105.762785, 100.0).toe().unwrap(), 1.0, 1e-6);
    near("ten minutes out", strings(100.0, 100.960512).toe().unwrap(), -1.0 / 6.0, 1e-6);
    assert!(strings(f64::NAN, 100.0).toe().is_err());
    assert!(Strings { diameter: mm(10.0), ..strings(1.0, 1.0) }.toe().is_err());
}

/// A wheel drawn in coordinates, a string that is not parallel: what its skew adds comes off.
#[test]
fn a_string_that_is_not_parallel_is_put_right() {
    let toe = 0.25_f64.to_radians();
    // Left wheel, centre at (0, 650); the string passes (1000, 870) and (−1500, 880).
    let string_y = |x: f64| 870.0 + (x - 1000.0) * (880.0 - 870.0) / (-1500.0 - 1000.0);
    let rim = |way: f64| {
        let (x, y) = (way * 165.0 * toe.cos(), 650.0 - way * 165.0 * toe.sin());
        string_y(x) - y
    };
    let read = Strings { front: mm(rim(1.0)), rear: mm(rim(-1.0)), diameter: mm(330.0) };
    let line = StringLine { front: mm(870.0), rear: mm(880.0), apart: mm(2500.0) };
    let skew = string_skew(&line).unwrap();
    near("skew", skew, (10.0_f64 / 2500.0).atan().to_degrees(), 1e-9);
    let put_right = read.toe().unwrap() + skew;
    near("toe", put_right, 0.25, 2e-5);
    assert!((read.toe().unwrap() - put_right).abs().to_deg() > 0.2);
    assert!(string_skew(&StringLine { apart: mm(100.0), ..line }).is_err());
}

#[test]
fn a_beam_tells_toe_by_its_spot() {
    let beam = Beam { at_wheel: mm(700.0), at_target: mm(695.0), distance: mm(3000.0) };
    near("in", beam.toe().unwrap(), (5.0_f64 / 3000.0).atan().to_degrees(), 1e-9);
    // Thrown to the rear, a toed-in wheel's beam leaves the centre line.
    let back = Beam { at_target: mm(705.0), distance: mm(-3000.0), ..beam };
    near("in", back.toe().unwrap(), (5.0_f64 / 3000.0).atan().to_degrees(), 1e-9);
    assert!(Beam { distance: mm(20.0), ..beam }.toe().is_err());
    let twice = ToeTwice { first: Angle::deg(0.3), turned: Angle::deg(-0.1) };
    near("half turn", toe_with_half_turn(twice).unwrap(), 0.1, 1e-12);
}

/// Left wheel toed in by 0.2°, right straight: together they point 0.1° to the right.
#[test]
fn thrust_points_where_the_wheels_do() {
    let toe = Pair { left: Angle::deg(0.2), right: Angle::ZERO };
    near("thrust", thrust(toe).unwrap(), -0.1, 1e-12);
    // As headings, + to the left: the left wheel at −0.2°, the right at 0°.
    let mut car = larch::car();
    car.rear.right.corner.shift.u = mm(2.0);
    let rest = car.rest().unwrap();
    let toe = Pair::of(|s| rest.rear[s].angles.unwrap().toe);
    near("of the car", thrust(toe).unwrap(), rest.thrust.unwrap().to_deg(), 1e-12);
}

/// A garage that slopes evenly across: the whole car in the model leans with it, and the simple
/// rule takes most of it off both cambers.
#[test]
fn an_even_slope_comes_off_both_cambers() {
    let car = larch::car();
    let level = car.rest().unwrap();
    let slope = 0.6_f64.to_radians();
    let mut sloping = car.clone();
    sloping.floor = Wheels::of(|w| {
        let y = match w {
            Wheel::LeftFront => 645.0,
            Wheel::RightFront => -645.0,
            Wheel::LeftRear => 668.0,
            Wheel::RightRear => -668.0,
        };
        mm(y * slope.sin())
    });
    let rest = sloping.rest().unwrap();
    let heights = Pair { left: sloping.floor.rear.left, right: sloping.floor.rear.right };
    let seen = floor_slope(heights, mm(1336.0)).unwrap();
    near("slope", seen, 0.6, 1e-9);
    for side in Side::BOTH {
        let read = rest.rear[side].angles.unwrap().camber;
        let want = level.rear[side].angles.unwrap().camber.to_deg();
        let off = camber_off_floor(side, read, seen).unwrap();
        // The centre of mass, 0.6 m up, moves 6 mm to the low side and leans the body further, by
        // about a sixth of the slope: the simple rule leaves that in.
        near(side.word(), off, want, 0.12);
        assert!((read.to_deg() - want).abs() > 0.4, "{read:?}");
    }
    // The model takes it off to the last digit.
    assert_eq!(sloping.on_level_floor().rest().unwrap(), level);
    assert!(floor_slope(heights, mm(20.0)).is_err());
    assert!(camber_off_floor(Side::Left, Angle::deg(80.0), seen).is_err());
}

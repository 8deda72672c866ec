//! The whole car: the demo by hand, slopes against differences, statics that no spring changes.

use axlewright_mechanics::arm::{PoseAt, TrailingArm};
use axlewright_mechanics::car::stages::{self, Axle, Item, roll_share};
use axlewright_mechanics::car::{
    Car, CarError, FIGURES, Figure, FrontCorner, Knob, Pair, Rest, Tyre, WHEELS, Wheel, Wheels,
};
use axlewright_mechanics::lever::{LeverDesign, PlaneLever};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::Gas;
use axlewright_quantity::{Amount, Angle, Force, Kind, Length, LinearRate, Mass, Place, Side};
use proptest::prelude::*;

use crate::larch;

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
        let at = |n: f64| {
            let step = Amount::from_si(by.kind(), n * by.to_si());
            car.turned(knob, step).unwrap().rest().unwrap()
        };
        let around = [at(1.0), at(-1.0), at(2.0), at(-2.0)];
        for figure in FIGURES {
            let Ok(now) = rest.figure(figure) else { continue };
            let exact = slopes.change(figure, knob, by).unwrap().shown();
            let [a, b, c, d] = around.map(|r| r.figure(figure).unwrap().shown());
            // Five points: wrong only by the fifth power of the step, and by rounding.
            let difference = (8.0 * (a - b) - (c - d)) / 12.0;
            let size = 1e-7 * exact.abs() + 3e-9;
            let what = format!("{} by {} (now {})", figure.name(), knob.name(), now.shown());
            near(&what, exact, difference, size);
            largest = largest.max((exact - difference).abs());
            count += usize::from(exact.abs() > 1e-9);
        }
    }
    assert!(count > 100, "{count}");
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

/// Sprung and unsprung masses together.
fn parts(car: &Car) -> Mass {
    let unsprung = [
        car.front.left.unsprung,
        car.front.right.unsprung,
        car.rear.left.unsprung,
        car.rear.right.unsprung,
    ];
    unsprung.into_iter().fold(car.sprung.mass, |sum, mass| sum + mass)
}

/// Total and moments know no springs: a bar wound up on one side lifts one diagonal, and what front
/// and rear, left and right carry moves only as the body's tilt moves its centre.
#[test]
fn springs_move_weight_along_the_diagonals_and_the_lean_moves_the_rest() {
    let car = larch::car();
    let before = car.rest().unwrap();
    let total = |r: &Rest| WHEELS.iter().map(|w| r.weights[*w].to_kg()).sum::<f64>();
    near("total", total(&before), parts(&car).to_kg(), 1e-9);
    let by = Amount::from_shown(Kind::Angle, 2.0);
    let after = car.turned(Knob::FreeAngle(Side::Left), by).unwrap().rest().unwrap();
    near("total", total(&after), parts(&car).to_kg(), 1e-9);
    let w = |r: &Rest, a: Wheel, b: Wheel| r.weights[a].to_kg() + r.weights[b].to_kg();
    // Two degrees more on the left: the left rear takes on some kilograms …
    let more = after.weights[Wheel::LeftRear].to_kg() - before.weights[Wheel::LeftRear].to_kg();
    assert!(more > 4.0, "{more}");
    // … of which the axle and the side keep little. By hand: the body's slopes times the height of
    // its centre over the road, about 0.6 m, over wheelbase and track; a contact that the swinging
    // arm carries 3 mm along the car is worth another 280·3/2300 kg.
    let height = 0.387 + car.sprung.centre.z.to_m();
    let d = |f: fn(&Rest) -> Angle| (f(&after) - f(&before)).to_rad();
    let front = w(&after, Wheel::LeftFront, Wheel::RightFront)
        - w(&before, Wheel::LeftFront, Wheel::RightFront);
    let by_hand = -849.0 * height * d(|r| r.attitude.pitch) / 2.3;
    near("front axle", front, by_hand, 1.0);
    let left = w(&after, Wheel::LeftFront, Wheel::LeftRear)
        - w(&before, Wheel::LeftFront, Wheel::LeftRear);
    let by_hand = -849.0 * height * d(|r| r.attitude.roll) / 1.31;
    near("left side", left, by_hand, 1.0);
    assert!(front.abs() < 0.1 * more, "{front}");
}

/// What is left becomes right: the same car seen in a mirror.
fn mirrored(car: &Car) -> Car {
    let mut m = car.clone();
    m.sprung.centre.y = -m.sprung.centre.y;
    let flip = |mut f: FrontCorner| {
        f.contact.y = -f.contact.y;
        f
    };
    m.front = Pair { left: flip(car.front.right), right: flip(car.front.left) };
    m.rear = Pair { left: car.rear.right.clone(), right: car.rear.left.clone() };
    let swap = |p: Pair<Length>| Pair { left: p.right, right: p.left };
    m.floor = Wheels { front: swap(car.floor.front), rear: swap(car.floor.rear) };
    m
}

fn check_mirror(car: &Car) {
    let (here, there) = (car.rest().unwrap(), mirrored(car).rest().unwrap());
    for side in Side::BOTH {
        let (a, b) = (&here.rear[side], &there.rear[side.other()]);
        near("trim", a.trim.to_mm(), b.trim.to_mm(), 1e-9);
        near("angle", a.plate_angle.to_deg(), b.plate_angle.to_deg(), 1e-9);
        if let (Some(a), Some(b)) = (a.angles, b.angles) {
            near("camber", a.camber.to_deg(), b.camber.to_deg(), 1e-9);
            near("toe", a.toe.to_deg(), b.toe.to_deg(), 1e-9);
        }
        let (a, b) = (here.weights.front[side], there.weights.front[side.other()]);
        near("front", a.to_kg(), b.to_kg(), 1e-8);
        let (a, b) = (here.weights.rear[side], there.weights.rear[side.other()]);
        near("rear", a.to_kg(), b.to_kg(), 1e-8);
    }
    near("roll", here.attitude.roll.to_deg(), -there.attitude.roll.to_deg(), 1e-9);
    if let (Some(a), Some(b)) = (here.thrust, there.thrust) {
        near("thrust", a.to_deg(), -b.to_deg(), 1e-9);
    }
}

#[test]
fn a_tyre_that_does_not_give_is_the_end_of_ever_stiffer_ones() {
    let with = |rate: Option<LinearRate>| {
        let mut car = uneven();
        for side in Side::BOTH {
            car.front[side].tyre_rate = rate;
            car.rear[side].tyre.rate = rate;
        }
        car.rest().unwrap()
    };
    let rigid = with(None);
    let mut off = Vec::new();
    for n_per_mm in [1e3, 1e4, 1e5] {
        let soft = with(Some(LinearRate::n_per_mm(n_per_mm)));
        let worst = WHEELS.map(|w| (soft.weights[w].to_kg() - rigid.weights[w].to_kg()).abs());
        off.push(worst.iter().fold(0.0_f64, |m, a| m.max(*a)));
    }
    // Ten times as stiff, a tenth as far off.
    assert!(off[0] > 1e-3 && off[1] < 0.12 * off[0] && off[2] < 0.12 * off[1], "{off:?}");
}

/// Lean by a sideways shift of the centre, against the roll stiffnesses that the stages tell.
#[test]
fn the_body_leans_by_its_roll_stiffness() {
    let mut car = larch::car();
    let rest = car.rest().unwrap();
    let rear_rate = |r: &Rest| {
        car.rear.left.corner.wheel_rate(r.rear.left.plate_angle, car.rear.left.free).unwrap()
    };
    let tyre_rate = Some(LinearRate::n_per_mm(190.0));
    let rear = Axle {
        wheel_rate: rear_rate(&rest),
        tyre_rate,
        coupling: None,
        track: Length::mm(2.0 * 668.0),
    };
    let front = Axle {
        wheel_rate: LinearRate::n_per_mm(15.5),
        tyre_rate,
        coupling: Some(LinearRate::n_per_mm(5.0)),
        track: Length::mm(1290.0),
    };
    car.front_coupling = front.coupling;
    let share = roll_share(&front, &rear).unwrap();
    let stiffness = share.front.to_nm_per_rad() + share.rear.to_nm_per_rad();
    let shift = Length::mm(10.0);
    car.sprung.centre.y = shift;
    let lean = -car.rest().unwrap().attitude.roll.to_rad();
    // The weight tips further as it leans: its height over the road comes off the stiffness.
    let weight = car.sprung.mass.weight().to_n();
    let height = 0.387 + car.sprung.centre.z.to_m();
    let by_hand = weight * shift.to_m() / (stiffness - weight * height);
    // Swinging arms lean the wheels and carry the contacts sideways, which this leaves out.
    near("lean", lean / by_hand, 1.0, 0.08);
    assert!((0.2..0.8).contains(&share.front_share.to_one()));
}

#[test]
fn a_stage_is_the_sum_of_its_items() {
    let sprung = larch::car().sprung;
    near("mass", sprung.mass.to_kg(), 849.0, 1e-9);
    // (476·900 − 165·480 + 18·1750 + 190·333)/849
    near("centre", sprung.centre.x.to_mm(), 443_970.0 / 849.0, 1e-6);
    let item = |kg: f64| Item { mass: Mass::kg(kg), at: Place::mm(1.0, 2.0, 3.0) };
    assert!(stages::sprung(&[item(10.0), item(-10.0)]).is_err());
    assert!(stages::sprung(&[]).is_err());
    assert!(stages::sprung(&[item(f64::NAN)]).is_err());
}

/// A shell without its engine stands high behind; with the driver aboard the car leans to him.
#[test]
fn build_stages_read_as_one_would_expect() {
    let finished = larch::car();
    let stage = |items: &[Item]| {
        let mut car = finished.clone();
        car.sprung = stages::sprung(items).unwrap();
        car.rest().unwrap()
    };
    let at = |kg: f64, x: f64, y: f64, z: f64| Item { mass: Mass::kg(kg), at: Place::mm(x, y, z) };
    let shell = at(476.0, 900.0, 0.0, 250.0);
    let rest = stage(&[shell]);
    let trim = rest.rear.left.trim.to_mm();
    assert!((130.0..230.0).contains(&trim), "{trim}");
    let weight: f64 = WHEELS.iter().map(|w| rest.weights[*w].to_kg()).sum();
    near("shell on scales", weight, 476.0 + 2.0 * 32.0 + 2.0 * 36.0, 1e-6);
    let base = finished.sprung;
    let all = Item { mass: base.mass, at: base.centre };
    let driven = stage(&[all, at(75.0, 800.0, 350.0, 300.0)]);
    assert!(driven.attitude.roll.to_deg() < -0.1);
    assert!(driven.weights.front.left > driven.weights.front.right);
    near("driver", driven.rear.left.trim.to_mm(), 95.0, 25.0);
    assert!(driven.rear.left.trim < finished.rest().unwrap().rear.left.trim);
}

#[test]
fn what_cannot_be_is_said() {
    let car = larch::car();
    let says = |change: &dyn Fn(&mut Car), words: &str| {
        let mut car = car.clone();
        change(&mut car);
        let error = car.rest().unwrap_err();
        assert!(error.to_string().contains(words), "{error}");
        assert!(!error.hint().is_empty());
    };
    says(&|c| c.sprung.mass = Mass::kg(f64::NAN), "sprung mass");
    says(&|c| c.sprung.centre.z = Length::mm(f64::INFINITY), "centre of the sprung mass");
    says(&|c| c.front.right.contact.y = Length::mm(645.0), "contact RF");
    says(&|c| c.front.left.rate = LinearRate::n_per_mm(0.0), "wheel rate LF");
    says(&|c| c.front.left.raised = Length::mm(900.0), "height at the screw LF");
    says(&|c| c.rear.left.tyre.rate = Some(LinearRate::n_per_mm(-1.0)), "tyre rate LR");
    says(&|c| c.rear.right.unsprung = Mass::kg(-1.0), "unsprung mass RR");
    says(&|c| c.rear.right.free = Angle::deg(400.0), "free angle RR");
    says(&|c| c.floor.rear.left = Length::mm(f64::NAN), "floor LR");
    says(&|c| c.front_coupling = Some(LinearRate::n_per_mm(-3.0)), "front anti-roll bar");
    // The whole weight outside the left wheels.
    says(&|c| c.sprung.centre.y = Length::mm(900.0), "");
    // A front so light that a hand lifts it.
    says(&|c| c.sprung.centre.x = Length::mm(-650.0), "LF would leave the road");
}

#[test]
fn a_plain_lever_tells_no_camber_and_says_so() {
    let mut car = larch::car();
    let design = LeverDesign {
        hub: Place::mm(0.0, 668.0, 0.0),
        reach: Length::mm(464.8),
        ride_angle: Angle::deg(11.0),
        trim_at_ride: Length::mm(95.0),
        tyre_radius: Length::mm(292.0),
    };
    for side in Side::BOTH {
        car.rear[side].corner.linkage = PlaneLever::new(design).unwrap().into();
    }
    let (rest, slopes) = car.rest_with_slopes().unwrap();
    near("trim", rest.rear.left.trim.to_mm(), 95.0, 3.0);
    assert!(rest.figure(Figure::Camber(Side::Left)).is_err());
    assert!(rest.figure(Figure::Thrust).is_err());
    let knob = Knob::FreeAngle(Side::Left);
    let degree = Amount::from_shown(Kind::Angle, 1.0);
    assert!(slopes.change(Figure::Toe(Side::Left), knob, degree).is_err());
    assert!(slopes.change(Figure::Trim(Side::Left), knob, degree).unwrap().shown() > 1.0);
    let mm = Amount::from_shown(Kind::Length, 1.0);
    assert!(slopes.change(Figure::Trim(Side::Left), knob, mm).is_err());
    assert!(car.turned(Knob::ShiftU(Side::Left), mm).is_err());
}

/// Far beyond what stands in a garage: three tonnes on these bars, bars wound up by half a
/// radian, a centre of mass outside the wheels. Each has a rest or a reason, and hardly any is
/// given up.
#[test]
fn wild_cars_have_a_rest_or_a_reason() {
    let mut seed = 77_u64;
    let mut draw = |low: f64, high: f64| {
        seed = seed * 48_271 % 2_147_483_647;
        low + (high - low) * (seed as f64 / 2_147_483_647.0)
    };
    let (mut rests, mut along_a_path, mut given_up) = (0, 0, 0);
    for _ in 0..1500 {
        let mut car = larch::car();
        car.sprung.mass = Mass::kg(draw(50.0, 3000.0));
        car.sprung.centre.x = Length::mm(draw(-300.0, 1700.0));
        car.sprung.centre.y = Length::mm(draw(-300.0, 300.0));
        for side in Side::BOTH {
            car.rear[side].free = Angle::deg(draw(-10.0, 70.0));
            if draw(0.0, 1.0) < 0.5 {
                car.rear[side].tyre.rate = None;
            }
            car.front[side].rate = LinearRate::n_per_mm(draw(2.0, 80.0));
        }
        match car.rest() {
            Ok(rest) => {
                assert!(rest.left_over.to_n() < 1e-4);
                rests += 1;
                along_a_path += usize::from(rest.steps > 12);
            }
            Err(CarError::NoRest { left_over, steps, .. }) => {
                assert!(left_over.to_n().is_finite() && 0 < steps);
                given_up += 1;
            }
            Err(other) => assert!(!other.to_string().is_empty()),
        }
    }
    println!("{rests} rest, {along_a_path} of them along a path, {given_up} given up");
    assert!(rests > 700 && along_a_path > 5, "{rests} {along_a_path}");
    assert!(given_up <= 8, "{given_up}");
}

prop_compose! {
    /// Cars of the three arms and of levers, everything within what a garage sees.
    fn any_car()(
        arm in 0..4_usize,
        mass in 450.0..1300.0_f64,
        (x, y, z) in (-0.15..0.35_f64, -60.0..60.0_f64, 0.0..500.0_f64),
        bar in 0.8..1.5_f64,
        free in prop::array::uniform2(-4.0..4.0_f64),
        shift in prop::array::uniform4(-4.0..4.0_f64),
        rate in prop::array::uniform2(9.0..40.0_f64),
        raised in prop::array::uniform2(-15.0..15.0_f64),
        floor in prop::array::uniform4(-15.0..15.0_f64),
        tyre in prop::option::of(120.0..300.0_f64),
        coupling in prop::array::uniform2(1.0..20.0_f64),
        gas in 0.0..250.0_f64,
    ) -> Car {
        let base = larch::car();
        let design = larch::designs()[arm % 3].1;
        let linkage: Linkage = if arm == 3 {
            PlaneLever::new(LeverDesign {
                hub: Place::mm(0.0, 650.0, 0.0),
                reach: Length::mm(450.0),
                ride_angle: Angle::deg(9.0),
                trim_at_ride: Length::mm(80.0),
                tyre_radius: Length::mm(290.0),
            }).unwrap().into()
        } else {
            TrailingArm::new(design).unwrap().into()
        };
        let mut car = base.clone();
        // A wheelbase of 2.2 m; the centre between 45 and 65 % of it behind.
        let wheel = linkage.stance(PoseAt::angle(design.design_angle)).unwrap().wheel_centre;
        let (back, low) = (wheel.x, wheel.z - design.tyre_radius);
        let ahead = back + Length::m(2.2);
        car.sprung.mass = Mass::kg(mass);
        let share = 0.45 - 0.5 * (x - 0.1);
        let forward = back + Length::m(2.2 * share);
        car.sprung.centre = Place { x: forward, y: Length::mm(y), z: Length::mm(z) };
        let tyre_rate = tyre.map(LinearRate::n_per_mm);
        for (i, side) in Side::BOTH.into_iter().enumerate() {
            let front = &mut car.front[side];
            front.contact = Place { x: ahead, z: low, ..front.contact };
            front.weight = Mass::kg(0.5 * mass * share) + front.unsprung;
            (front.rate, front.raised) = (LinearRate::n_per_mm(rate[i]), Length::mm(raised[i]));
            front.tyre_rate = tyre_rate;
            let rear = &mut car.rear[side];
            rear.corner.linkage = linkage.clone();
            rear.corner.bar_rate = rear.corner.bar_rate * bar;
            if arm != 3 {
                rear.corner.shift = Shift { u: Length::mm(shift[i]), w: Length::mm(shift[i + 2]) };
            }
            rear.corner.gas = Some(Gas {
                span: Span::Upright { reach: Length::mm(420.0) },
                force: Force::n(gas),
            });
            let load = Mass::kg(0.5 * mass * (1.0 - share));
            rear.tyre = Tyre { rate: tyre_rate, weight: load + rear.unsprung };
            let angle = if arm == 3 { Angle::deg(9.0) } else { design.design_angle };
            let at_ride = rear.corner.free_angle_for(angle, load.weight()).unwrap();
            rear.free = at_ride + Angle::deg(free[i]);
        }
        car.front_coupling = Some(LinearRate::n_per_mm(coupling[0]));
        car.rear_coupling = Some(LinearRate::n_per_mm(coupling[1]));
        let [a, b, c, d] = floor.map(Length::mm);
        car.floor = Wheels { front: Pair { left: a, right: b }, rear: Pair { left: c, right: d } };
        car
    }
}

proptest! {
    /// No car of this range is given up: it stands, balanced to a millionth of a newton, its
    /// weight all there; or a wheel is named that would leave the road.
    #[test]
    fn every_car_comes_to_rest(car in any_car()) {
        match car.rest() {
            Ok(rest) => {
                prop_assert!(rest.left_over.to_n() < 1e-6);
                let total: f64 = WHEELS.iter().map(|w| rest.weights[*w].to_kg()).sum();
                prop_assert!((total - parts(&car).to_kg()).abs() < 1e-8);
                check_mirror(&car);
            }
            Err(CarError::OffTheRoad { .. }) => {}
            Err(other) => prop_assert!(false, "{other}"),
        }
    }

    /// Slopes of random cars against differences, a handful of knobs each.
    #[test]
    fn slopes_hold_on_any_car(car in any_car()) {
        if car.rest().is_ok() {
            check_slopes(&car);
        }
    }

    /// Whatever is entered, no panic.
    #[test]
    fn nonsense_is_answered(any in prop::array::uniform4(prop::num::f64::ANY)) {
        let [mass, y, free, shift] = any;
        let mut car = larch::car();
        car.sprung.mass = Mass::kg(mass);
        car.sprung.centre.y = Length::mm(y);
        let _ = car.rest();
        let mut car = larch::car();
        car.rear.left.free = Angle::deg(free);
        car.rear.right.corner.shift.u = Length::mm(shift);
        let _ = car.rest_with_slopes();
    }
}

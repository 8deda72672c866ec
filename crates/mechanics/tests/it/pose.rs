//! The arm on its plate: slopes, what must stay constant, the mirrored side, what is refused.

use axlewright_mechanics::arm::{
    ArmDesign, ArmError, HolesMoved, Pose, PoseAt, PoseStep, Shift, TrailingArm,
};
use axlewright_mechanics::lever::{LeverDesign, LeverError, PlaneLever};
use axlewright_quantity::{Angle, Length, Place, PlatePoint, Side};
use proptest::prelude::*;

use crate::larch;

fn mm(p: Place) -> [f64; 3] {
    [p.x.to_mm(), p.y.to_mm(), p.z.to_mm()]
}

fn apart(a: Place, b: Place) -> f64 {
    let (a, b) = (mm(a), mm(b));
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
}

fn at(angle: f64, u: f64, w: f64) -> PoseAt {
    PoseAt { angle: Angle::deg(angle), shift_u: Length::mm(u), shift_w: Length::mm(w) }
}

/// Everything a pose says, in millimetres and degrees.
fn told(p: &Pose) -> Vec<f64> {
    let mut all = mm(p.wheel_centre).to_vec();
    all.extend(mm(p.contact));
    all.extend([p.camber.to_deg(), p.toe.to_deg()]);
    all.extend(p.bend.map(Length::to_mm));
    all
}

#[test]
fn slopes_agree_with_central_differences_at_several_steps() {
    let steps = [
        PoseStep { angle: Angle::deg(1.0), ..PoseStep::default() },
        PoseStep { shift_u: Length::mm(1.0), ..PoseStep::default() },
        PoseStep { shift_w: Length::mm(1.0), ..PoseStep::default() },
    ];
    for (name, design) in larch::designs() {
        let arm = TrailingArm::new(design).unwrap();
        for angle in [-8.0, 2.0, 13.0, 29.0] {
            for step in steps {
                let here = at(angle, 1.0, -2.0);
                let slopes = arm.pose_with_slopes(here).unwrap();
                let change = slopes.change(step);
                let mut exact = mm(change.wheel_centre).to_vec();
                exact.extend(mm(change.contact));
                exact.extend([change.camber.to_deg(), change.toe.to_deg()]);
                exact.extend(change.bend.map(Length::to_mm));
                for (h, within) in [(1e-1, 2e-4), (1e-2, 2e-6), (1e-3, 2e-8)] {
                    let moved = |k: f64| {
                        told(
                            &arm.pose(PoseAt {
                                angle: here.angle + step.angle * k,
                                shift_u: here.shift_u + step.shift_u * k,
                                shift_w: here.shift_w + step.shift_w * k,
                            })
                            .unwrap(),
                        )
                    };
                    let (up, down) = (moved(h), moved(-h));
                    let near = exact.iter().zip(up.iter().zip(&down));
                    let mut bits_differ = 0;
                    for (k, (exact, (up, down))) in near.enumerate() {
                        let difference = (up - down) / (2.0 * h);
                        let off = (difference - exact).abs();
                        let what = format!("{name} {angle} {step:?} h {h} output {k}");
                        assert!(off <= within, "{what}: {exact} and {difference}");
                        bits_differ += usize::from(difference.to_bits() != exact.to_bits());
                    }
                    assert!(bits_differ > 5, "{name}: one road compared with itself");
                }
                let moves = exact.iter().filter(|e| e.abs() > 1e-6).count();
                assert!(moves > 5, "{name} {angle} {step:?}: hardly anything moves");
            }
        }
    }
}

/// At the design angle the pose must be what was entered.
#[test]
fn the_design_pose_comes_back() {
    for (name, design) in larch::designs() {
        let arm = TrailingArm::new(design).unwrap();
        let pose = arm.pose(PoseAt::angle(design.design_angle)).unwrap();
        assert!(apart(pose.wheel_centre, design.wheel_centre) < 1e-9, "{name}");
        assert!((pose.camber - design.camber).to_deg().abs() < 1e-12, "{name}");
        assert!((pose.toe - design.toe).to_deg().abs() < 1e-12, "{name}");
        assert!(pose.bend.iter().all(|b| b.to_mm().abs() < 1e-9), "{name}");
        // The rim's lowest point is no farther below than the radius, and square to the axle.
        let drop = (pose.wheel_centre.z - pose.contact.z).to_mm();
        assert!(drop <= design.tyre_radius.to_mm() && drop > 0.999 * design.tyre_radius.to_mm());
    }
}

/// Pivot in line with the bar: the arm must turn about Y with the plate, a fixed hinge. The
/// rise is the derived value for λ = 0: 400·sin 20° = 136.808 057 mm.
#[test]
fn a_pivot_on_the_bars_axis_makes_a_plain_hinge() {
    let arm = TrailingArm::new(ArmDesign {
        hub: Place::mm(0.0, 610.0, 0.0),
        inner_pivot: Place::mm(0.0, 400.0, 0.0),
        hole_front: larch::point(250.0, 0.0),
        hole_rear: larch::point(330.0, 0.0),
        w_moves: HolesMoved::Both,
        design_angle: Angle::ZERO,
        wheel_centre: Place::mm(-400.0, 700.0, 0.0),
        camber: Angle::ZERO,
        toe: Angle::ZERO,
        tyre_radius: Length::mm(300.0),
    })
    .unwrap();
    let bump = arm.pose(PoseAt::angle(Angle::deg(-20.0))).unwrap();
    assert!((bump.wheel_centre.z.to_mm() - 136.808_057).abs() < 5e-7);
    assert!(bump.camber.to_deg().abs() < 1e-12 && bump.toe.to_deg().abs() < 1e-12);
    assert!(bump.bend.iter().all(|b| b.to_mm().abs() < 1e-9));
}

prop_compose! {
    /// Plausible left arms of every proportion.
    fn some_design()(
        pivot in (-150.0..150.0, 150.0..400.0, -80.0..80.0),
        front in (150.0..320.0, -30.0..30.0),
        more in (50.0..200.0, -25.0..25.0),
        wheel in (-650.0..-350.0, 600.0..800.0, -200.0..50.0),
        (camber, toe, angle) in (-3.0..3.0, -1.0..1.0, -10.0..25.0),
    ) -> ArmDesign {
        ArmDesign {
            hub: Place::mm(5.0, 600.0, -3.0),
            inner_pivot: Place::mm(pivot.0, pivot.1, pivot.2),
            hole_front: larch::point(front.0, front.1),
            hole_rear: larch::point(front.0 + more.0, front.1 + more.1),
            w_moves: HolesMoved::Both,
            design_angle: Angle::deg(angle),
            wheel_centre: Place::mm(wheel.0, wheel.1, wheel.2),
            camber: Angle::deg(camber),
            toe: Angle::deg(toe),
            tyre_radius: Length::mm(300.0),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    /// The arm is rigid and the bolts hold: all distances between pivot, holes and wheel stay,
    /// and the holes keep their u, w, w in the plate.
    #[test]
    fn distances_and_plate_coordinates_stay(
        design in some_design(), share in 0.02..0.98, du in -4.0..4.0, dw in -4.0..4.0,
    ) {
        let arm = TrailingArm::new(design).unwrap();
        let (low, high) = arm.reach(Shift::default()).unwrap();
        let angle = low + (high - low) * share;
        let asked = PoseAt { angle, shift_u: Length::mm(du), shift_w: Length::mm(dw) };
        // A shift can put the last degrees out of reach.
        let Ok(pose) = arm.pose(asked) else { return Ok(()) };
        let start = arm.pose(PoseAt::angle(design.design_angle)).unwrap();
        let points = |p: &Pose| [design.inner_pivot, p.holes[0], p.holes[1], p.wheel_centre];
        let (then, now) = (points(&start), points(&pose));
        for i in 0..4 {
            for j in 0..i {
                let off = apart(now[i], now[j]) - apart(then[i], then[j]);
                prop_assert!(off.abs() < 1e-8, "{i} {j}: {off}");
            }
        }
        let in_plate = |p: Place| {
            let (x, z) = ((p.x - design.hub.x).to_mm(), (p.z - design.hub.z).to_mm());
            let (s, c) = (angle.sin(), angle.cos());
            (-x * c - z * s, -x * s + z * c)
        };
        let (front, rear) = (in_plate(pose.holes[0]), in_plate(pose.holes[1]));
        prop_assert!((front.0 - design.hole_front.u.to_mm() - du).abs() < 1e-8);
        prop_assert!((front.1 - design.hole_front.w.to_mm() - dw).abs() < 1e-8);
        prop_assert!((rear.1 - design.hole_rear.w.to_mm() - dw).abs() < 1e-8);
    }

    /// A right corner entered mirrored is the left one mirrored back: the distances a tape would
    /// read between any two of its points are those of the left side.
    #[test]
    fn a_right_corner_is_the_mirrored_left(design in some_design(), swing in -8.0..8.0) {
        let right = |p: Place| Side::Right.to_left(p);
        let on_the_right_car = ArmDesign {
            hub: right(design.hub),
            inner_pivot: right(design.inner_pivot),
            wheel_centre: right(design.wheel_centre),
            ..design
        };
        // Entered as it stands, a right corner is refused ...
        let refused = TrailingArm::new(on_the_right_car);
        let refused_so = matches!(refused, Err(ArmError::PivotNotInboard { .. }));
        prop_assert!(refused_so);
        // ... and mirrored in, it gives the left one's pose, mirrored out on the right.
        let entered = ArmDesign {
            hub: right(on_the_right_car.hub),
            inner_pivot: right(on_the_right_car.inner_pivot),
            wheel_centre: right(on_the_right_car.wheel_centre),
            ..on_the_right_car
        };
        let asked = PoseAt::angle(design.design_angle + Angle::deg(swing));
        let mirrored = TrailingArm::new(entered).unwrap().pose(asked);
        let left = TrailingArm::new(design).unwrap().pose(asked);
        if let (Ok(left), Ok(mirrored)) = (left, mirrored) {
            let out = right(mirrored.wheel_centre);
            prop_assert_eq!(out.y, -left.wheel_centre.y);
            prop_assert_eq!((out.x, out.z), (left.wheel_centre.x, left.wheel_centre.z));
            let tape = |p: Place, q: Place| apart(p, q);
            let across = tape(out, right(design.inner_pivot));
            prop_assert!((across - tape(left.wheel_centre, design.inner_pivot)).abs() < 1e-9);
        }
    }

    /// No number makes it panic, and what it accepts it can pose.
    #[test]
    fn any_numbers_are_refused_or_posed(
        n in proptest::array::uniform20(any::<f64>()),
        small in proptest::array::uniform20(-900.0..900.0),
        which in proptest::array::uniform20(prop::bool::weighted(0.9)),
    ) {
        let v: Vec<f64> = (0..20).map(|i| if which[i] { small[i] } else { n[i] }).collect();
        let design = ArmDesign {
            hub: Place::mm(v[0], v[1], v[2]),
            inner_pivot: Place::mm(v[3], v[4], v[5]),
            hole_front: larch::point(v[6], v[7]),
            hole_rear: larch::point(v[8], v[9]),
            w_moves: HolesMoved::Front,
            design_angle: Angle::deg(v[10] / 20.0),
            wheel_centre: Place::mm(v[11], v[12], v[13]),
            camber: Angle::deg(v[14] / 30.0),
            toe: Angle::deg(v[15] / 30.0),
            tyre_radius: Length::mm(v[16]),
        };
        if let Ok(arm) = TrailingArm::new(design) {
            prop_assert!(arm.pose(PoseAt::angle(design.design_angle)).is_ok());
            let (low, high) = arm.reach(Shift::default()).unwrap();
            prop_assert!(low <= design.design_angle && design.design_angle <= high);
            // Whatever is asked, the answer is a number or a refusal.
            if let Ok(pose) = arm.pose(at(v[17], v[18], v[19])) {
                prop_assert!(told(&pose).iter().all(|t| t.is_finite()), "{pose:?}");
            }
            let _ = arm.pose_with_slopes(at(v[17], v[18], v[19]));
        }
    }
}

#[test]
fn what_is_refused_says_what_and_how_much() {
    let good = larch::design();
    let far = Length::m(500.0);
    let rows: [(ArmDesign, &str); 9] = [
        (
            ArmDesign { hub: Place { x: Length::mm(f64::NAN), ..good.hub }, ..good },
            "hub is not a number a car can have",
        ),
        (
            ArmDesign { inner_pivot: Place { z: far, ..good.inner_pivot }, ..good },
            "inner pivot is not a number a car can have",
        ),
        (
            ArmDesign { wheel_centre: Place { y: -far, ..good.wheel_centre }, ..good },
            "wheel centre is not a number a car can have",
        ),
        (
            ArmDesign { tyre_radius: Length::mm(-292.0), ..good },
            "loaded tyre radius is -292.0 mm; it must be greater than zero",
        ),
        (
            ArmDesign { camber: Angle::deg(60.0), ..good },
            "camber at the design angle is 60.00°; it must lie between -45° and 45°",
        ),
        (
            ArmDesign { design_angle: Angle::deg(80.0), ..good },
            "design plate angle is 80.00°; it must lie between -60° and 60°",
        ),
        (
            ArmDesign { inner_pivot: Place { y: Length::mm(700.0), ..good.inner_pivot }, ..good },
            "inner pivot at Y 700.0 mm is not inboard of the hub at Y 610.0 mm",
        ),
        (
            ArmDesign { hole_rear: PlatePoint { u: Length::mm(251.0), ..good.hole_front }, ..good },
            "the two bolt holes are 1.0 mm apart; they must be at least 5 mm apart",
        ),
        (
            // The rear hole straight above the front one: the bolts fix it no better than one.
            ArmDesign {
                inner_pivot: Place::mm(-240.0, 235.0, -45.0),
                hole_rear: larch::point(250.0, 90.0),
                ..good
            },
            "pivot and bolt holes lie so that the bolts do not hold the arm at its design angle",
        ),
    ];
    for (design, says) in rows {
        let error = TrailingArm::new(design).unwrap_err();
        assert_eq!(error.to_string(), says);
        assert!(!error.hint().is_empty());
    }
}

#[test]
fn out_of_reach_names_the_angle() {
    let arm = larch::arm();
    let (low, high) = arm.reach(Shift::default()).unwrap();
    // The pivot is 375 mm inboard; the front hole leaves the sphere only far beyond a swing, so
    // shorten the arm to meet the end of its reach.
    assert!(low < Angle::deg(-38.9) && high > Angle::deg(60.9));
    let tight = TrailingArm::new(ArmDesign {
        inner_pivot: Place::mm(-55.0, 560.0, -20.0),
        ..larch::design()
    })
    .unwrap();
    let (low, high) = tight.reach(Shift::default()).unwrap();
    assert!(high - low < Angle::deg(95.0));
    for (inside, outside) in [(low, low - Angle::deg(0.01)), (high, high + Angle::deg(0.01))] {
        assert!(tight.pose(PoseAt::angle(inside)).is_ok());
        if (outside - Angle::deg(11.0)).abs() < Angle::deg(50.0) {
            let error = tight.pose(PoseAt::angle(outside)).unwrap_err();
            let named =
                format!("at a plate angle of {:.2}° the arm cannot reach", outside.to_deg());
            assert!(error.to_string().starts_with(&named), "{error}");
        }
    }
}

#[test]
fn a_lever_refuses_what_cannot_be() {
    let good = LeverDesign {
        hub: Place::mm(0.0, 610.0, 0.0),
        reach: Length::mm(460.0),
        ride_angle: Angle::deg(11.0),
        trim_at_ride: Length::mm(95.0),
        tyre_radius: Length::mm(292.0),
    };
    assert!(PlaneLever::new(good).is_ok());
    let refused = |design| PlaneLever::new(design).unwrap_err();
    assert!(matches!(
        refused(LeverDesign { trim_at_ride: Length::mm(480.0), ..good }),
        LeverError::TrimBeyondReach { .. }
    ));
    assert!(matches!(
        refused(LeverDesign { reach: Length::mm(f64::NAN), ..good }),
        LeverError::NotPositive { .. }
    ));
    assert!(matches!(
        refused(LeverDesign { ride_angle: Angle::deg(f64::NAN), ..good }),
        LeverError::RideAngle { .. }
    ));
    assert!(matches!(
        refused(LeverDesign { tyre_radius: Length::ZERO, ..good }),
        LeverError::NotPositive { .. }
    ));
    assert!(matches!(
        refused(LeverDesign { reach: Length::m(1e12), ..good }),
        LeverError::NotSane { .. }
    ));
}

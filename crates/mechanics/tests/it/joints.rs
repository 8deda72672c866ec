//! Torque and preload by other roads; threads and names as people write them; wrenches, slip,
//! engagement and warnings by hand.

use axlewright_mechanics::joints::engagement::Into;
use axlewright_mechanics::joints::sequence::{passes, usual_passes};
use axlewright_mechanics::joints::slip::FrictionJoint;
use axlewright_mechanics::joints::warnings::{ArmPosition, PlatingRecord};
use axlewright_mechanics::joints::wrench::{Choice, WrenchKind, choose};
use axlewright_mechanics::joints::{
    Adapter, Bolt, Class, Face, Friction, FrictionRange, JointError, Surface, Thread, Warning,
    Wrench,
};
use axlewright_quantity::{Angle, Force, Length, Ratio, Torque};
use proptest::prelude::*;

fn thread(name: &str) -> Thread {
    Thread::parse(name).unwrap()
}

fn bolt(name: &str) -> Bolt {
    Bolt::hexagon(thread(name)).unwrap()
}

fn mu(both: f64) -> Friction {
    Friction::same(Ratio::one(both)).unwrap()
}

#[track_caller]
fn near(ours: f64, other: f64, relative: f64) {
    assert!((ours - other).abs() <= relative * other.abs(), "{ours} against {other}");
}

/// Threads with a head on record.
fn bolts() -> impl Iterator<Item = Bolt> {
    Thread::all().filter_map(|thread| Bolt::hexagon(thread).ok())
}

// Threads ------------------------------------------------------------------------------------

#[test]
fn designations_as_people_write_them() {
    for text in ["M12x1.5", "M12×1.5", " m12 X 1.5 ", "M12*1,5", "M12x1.50-6g", "M12x1.5 - 6H"] {
        assert_eq!(thread(text), thread("M12x1.5"), "{text}");
    }
    assert_eq!(thread("M12").pitch(), Length::mm(1.75));
    assert_eq!(thread("M12"), thread("M12x1.75"));
    let left = thread("M24x1.5 LH");
    assert_eq!(left.to_string(), "M24×1.5 LH");
    assert_eq!(left.stress_area(), thread("M24x1.5").stress_area());
    // Every one reads back from its own name.
    for one in Thread::all() {
        assert_eq!(thread(&one.to_string()), one);
    }
}

#[test]
fn what_is_no_thread_says_what_would_be() {
    let words = |text: &str| {
        let error = Thread::parse(text).unwrap_err();
        assert!(!error.hint().is_empty());
        error.to_string()
    };
    assert_eq!(words("M13"), "no thread M13; the sizes are M6 to M24, next to it M12, M14");
    assert_eq!(words("M30"), "no thread M30; the sizes are M6 to M24");
    assert_eq!(
        words("M12x2"),
        "M12 has no pitch of 2 mm; it is made with 1.75 mm, 1.5 mm, 1.25 mm, 1 mm"
    );
    assert_eq!(words("M15"), "M15 has no coarse pitch; write the pitch, 1.5 mm, 1 mm");
    for text in ["", "12x1.5", "M", "M12x", "M12-1.5", "M-12", "M1e1", "3/8-16", "M12x1.5x9"] {
        assert!(matches!(Thread::parse(text), Err(JointError::NotAThread { .. })), "{text}");
    }
    assert!(Thread::new(Length::mm(f64::NAN), None).is_err());
    assert!(Thread::new(Length::mm(12.0), Some(Length::mm(f64::INFINITY))).is_err());
}

/// The areas of bolt and nut leave room for each other: D₁ lies between d₃ and d₂.
#[test]
fn diameters_are_nested() {
    for one in Thread::all() {
        assert!(one.root_diameter() < one.nut_crest_diameter());
        assert!(one.nut_crest_diameter() < one.pitch_diameter());
        assert!(one.pitch_diameter() < one.diameter());
        // By geometry: the flanks of a 60° triangle at pitch P rise √3 for 1, and at d₂ groove and
        // ridge are as wide as each other; d₂ lies ⅜ of the sharp height inside the crest.
        let sharp = one.pitch().to_mm() / 2.0 / 30.0_f64.to_radians().tan();
        near(one.pitch_diameter().to_mm(), one.diameter().to_mm() - 0.75 * sharp, 1e-12);
    }
}

#[test]
fn classes_as_people_write_them() {
    for class in Class::ALL {
        assert_eq!(Class::parse(class.name()), Ok(class));
    }
    assert_eq!(Class::parse(" 10,9 "), Ok(Class::Bolt10_9));
    let old = Class::parse("8G").unwrap_err();
    assert_eq!(old, JointError::OldClass { given: "8G".to_owned(), today: "8.8" });
    assert!(Class::parse("8.9").unwrap_err().to_string().contains("8.8, 9.8, 10.9"));
    assert!(Class::Bolt9_8.strength(&thread("M18")).is_err());
    // A nut of 8 on the M24 of a hub: the strongest bolt it is made for.
    let (nut, m24) = (Class::parse("8").unwrap(), thread("M24x1.5"));
    assert!(nut.is_nut());
    assert_eq!(nut.strength(&m24), Class::Bolt8_8.strength(&m24));
    assert_eq!(nut.strength(&m24).unwrap().yields.to_mpa(), 660.0);
}

#[test]
fn surfaces_as_people_write_them() {
    for surface in Surface::ALL {
        assert_eq!(Surface::parse(surface.name()), Ok(surface));
        let range = surface.range();
        assert!(range.least().thread() <= range.most().thread());
        // What every statement says lies in the range.
        for statement in surface.statements() {
            assert!(range.least().thread() <= statement.range().least().thread());
            assert!(statement.range().most().thread() <= range.most().thread());
        }
    }
    assert_eq!(Surface::parse("Zinc oiled"), Ok(Surface::ZincOiled));
    let error = Surface::parse("zinc").unwrap_err().to_string();
    assert!(error.contains("did you mean `zinc-dry`"), "{error}");
}

// Torque and preload -------------------------------------------------------------------------

/// By forces: a block pushed up a wedge of the lead angle by a level push at d₂/2, its friction
/// made larger by the leaning flank; the head rubs at D_km/2.
#[test]
fn torque_by_a_block_on_a_wedge() {
    for bolt in bolts() {
        for rub in [0.04, 0.10, 0.17, 0.30] {
            let preload = 20_000.0;
            let d2 = bolt.thread().pitch_diameter().to_m();
            let lead = (bolt.thread().pitch().to_m() / (std::f64::consts::PI * d2)).atan();
            let flank = rub / 30.0_f64.to_radians().cos();
            // Across and along the wedge: N − F·cos − H·sin = 0, H·cos − F·sin − flank·N = 0.
            let push =
                preload * (lead.sin() + flank * lead.cos()) / (lead.cos() - flank * lead.sin());
            let normal = preload * lead.cos() + push * lead.sin();
            near(push * lead.cos(), preload * lead.sin() + flank * normal, 1e-12);
            let face = bolt.face();
            let km = (face.outer() + face.hole()).to_m() / 2.0;
            let by_forces = push * d2 / 2.0 + rub * preload * km / 2.0;
            let ours = bolt.torque(Force::n(preload), &mu(rub)).unwrap().to_nm();
            near(ours, by_forces, 1e-12);
        }
    }
}

/// By work: with friction going to nothing a turn of the wrench lifts the load by one pitch,
/// 2π·T = F·P.
#[test]
fn without_friction_work_is_kept() {
    for bolt in bolts() {
        let lever = |rub: f64| bolt.lever(&mu(rub)).to_m();
        // A parabola through three points, at nought.
        let none = 3.0 * lever(0.02) - 3.0 * lever(0.04) + lever(0.06);
        near(none * std::f64::consts::TAU, bolt.thread().pitch().to_m(), 1e-3);
    }
}

/// The mean diameter of the face against an even pressure over the ring, whose friction acts at
/// ⅔·(R³ − r³)/(R² − r²): within the 1 % that is claimed.
#[test]
fn face_against_an_even_pressure() {
    for bolt in bolts() {
        let (outer, inner) = (bolt.face().outer() / 2.0, bolt.face().hole() / 2.0);
        let (big, small) = (outer.to_mm(), inner.to_mm());
        let even = 2.0 / 3.0 * (big.powi(3) - small.powi(3)) / (big.powi(2) - small.powi(2));
        let ours = bolt.face().friction_diameter().to_mm() / 2.0;
        near(ours, even, 0.01);
        assert!(ours != even);
    }
}

/// The share of twist by its own road: torque in the thread over a round bar yielding all through.
#[test]
fn reduced_stress_by_hand() {
    let bolt = bolt("M12x1.5");
    let (preload, rub) = (40_000.0, 0.13);
    let d2 = 12.0 - 0.649_519 * 1.5;
    let ds = (d2 + 12.0 - 1.226_869 * 1.5) / 2.0;
    let angle =
        (1.5 / (std::f64::consts::PI * d2)).atan() + (rub / 30.0_f64.to_radians().cos()).atan();
    let twist = preload * d2 / 2.0 * angle.tan() / (std::f64::consts::PI * ds.powi(3) / 12.0);
    let pull = preload / (std::f64::consts::PI / 4.0 * ds * ds);
    let by_hand = (pull * pull + 3.0 * twist * twist).sqrt();
    let ours = bolt.reduced_stress(Force::n(preload), &mu(rub)).unwrap().to_mpa();
    near(ours, by_hand, 1e-6);
    let strength = Class::Bolt8_8.strength(bolt.thread()).unwrap();
    let demand = bolt.demand(Force::n(preload), &mu(rub), &strength).unwrap();
    near(demand.of_yield.to_one(), by_hand / 640.0, 1e-6);
    near(demand.of_proof.to_one(), pull / 580.0, 1e-6);
}

/// 4.9 kgf m on M12×1.5, zinc and oil: the range by the extremes, the uncertainty by hand.
#[test]
fn range_of_a_torque() {
    let bolt = bolt("M12x1.5");
    let friction = FrictionRange::new(Ratio::one(0.08), Ratio::one(0.16)).unwrap();
    let torque = Torque::kgf_m(4.9);
    let range = bolt.range(torque, &friction, Ratio::one(0.04)).unwrap();
    let at = |rub: f64| bolt.preload(torque, &mu(rub)).unwrap().to_n();
    near(range.middle.to_n(), at(0.12), 1e-12);
    near(range.least.to_n(), at(0.16) * 0.96, 1e-12);
    near(range.most.to_n(), at(0.08) * 1.04, 1e-12);
    near(range.tightening_factor().to_one(), at(0.08) * 1.04 / (at(0.16) * 0.96), 1e-12);
    let (rub, tool) = ((at(0.08) - at(0.16)) / 12.0_f64.sqrt(), at(0.12) * 0.04 / 3.0_f64.sqrt());
    near(range.u.to_n(), (rub * rub + tool * tool).sqrt(), 1e-12);
    // A true wrench on a known friction leaves one figure.
    let sure = bolt.range(torque, &mu(0.12).into(), Ratio::ZERO).unwrap();
    assert_eq!((sure.least, sure.most, sure.u), (sure.middle, sure.middle, Force::ZERO));
}

#[test]
fn changed_surface_keeps_the_preload() {
    let bolt = bolt("M12x1.5");
    let list = Torque::nm(60.0);
    let (then, now) = (Surface::Dry.range(), Surface::Greased.range());
    let change = bolt.changed_surface(list, &then, &now).unwrap();
    let back = bolt.preload(change.torque, &now.middle()).unwrap();
    near(back.to_n(), change.preload_then.to_n(), 1e-12);
    // Grease in place of bare steel: the same torque pulls harder, the same pull takes less.
    assert!(change.preload_then < change.preload_now && change.torque < list);
    assert!(change.torque_least < change.torque && change.torque < change.torque_most);
    // The same surface: nothing changes.
    let same = bolt.changed_surface(list, &then, &then).unwrap();
    near(same.torque.to_nm(), 60.0, 1e-12);
}

#[test]
fn absurd_figures_are_refused() {
    let bolt = bolt("M12");
    for torque in [0.0, -5.0, f64::NAN, f64::INFINITY, 1e9] {
        let error = bolt.preload(Torque::nm(torque), &mu(0.12)).unwrap_err();
        assert!(!error.hint().is_empty() && !error.to_string().is_empty());
    }
    for force in [0.0, -1.0, f64::NAN, 1e12] {
        assert!(bolt.torque(Force::n(force), &mu(0.12)).is_err());
        assert!(bolt.reduced_stress(Force::n(force), &mu(0.12)).is_err());
    }
    for rub in [0.0, -0.1, 0.9, f64::NAN] {
        assert!(Friction::same(Ratio::one(rub)).is_err());
    }
    assert!(FrictionRange::new(Ratio::one(0.2), Ratio::one(0.1)).is_err());
    assert!(Face::new(Length::mm(10.0), Length::mm(11.0)).is_err());
    assert!(Face::new(Length::mm(f64::NAN), Length::mm(11.0)).is_err());
    assert!(Face::hexagon(&thread("M11")).is_err());
    let small = Face::new(Length::mm(16.0), Length::mm(9.0)).unwrap();
    assert!(Bolt::new(thread("M12"), small).is_err());
}

proptest! {
    #[test]
    fn torque_and_preload_are_each_others_inverse(
        which in 0..40_usize, newtons in 100.0..300_000.0_f64,
        in_thread in 0.03..0.5_f64, under_head in 0.03..0.5_f64, more in 1.001..3.0_f64,
    ) {
        let all: Vec<Bolt> = bolts().collect();
        let bolt = all[which % all.len()];
        let friction = Friction::new(Ratio::one(in_thread), Ratio::one(under_head)).unwrap();
        let torque = bolt.torque(Force::n(newtons), &friction).unwrap();
        prop_assume!(torque < Torque::nm(1500.0) && Torque::nm(0.1) < torque);
        let back = bolt.preload(torque, &friction).unwrap();
        prop_assert!((back.to_n() / newtons - 1.0).abs() < 1e-12);
        // More torque, more preload; more friction in either place, less preload.
        prop_assert!(back < bolt.preload(torque * more, &friction).unwrap());
        let rough = Friction::new(Ratio::one(in_thread * 1.5), friction.head()).unwrap();
        prop_assert!(bolt.preload(torque, &rough).unwrap() < back);
        let rough = Friction::new(friction.thread(), Ratio::one(under_head * 1.5)).unwrap();
        prop_assert!(bolt.preload(torque, &rough).unwrap() < back);
        // Twist only adds to pull.
        let pull = back / bolt.thread().stress_area();
        prop_assert!(pull < bolt.reduced_stress(back, &friction).unwrap());
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,60}", near in "M[0-9x.×LH -]{0,12}") {
        for text in [&text, &near] {
            let refusals = [
                Thread::parse(text).err(),
                Class::parse(text).err(),
                Surface::parse(text).err(),
            ];
            for error in refusals.into_iter().flatten() {
                prop_assert!(!error.to_string().is_empty() && !error.hint().is_empty());
                prop_assert!(error.to_string().chars().count() < 200);
            }
        }
    }

    #[test]
    fn any_figure_is_taken_or_refused(
        a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>(),
    ) {
        let _ = Thread::new(Length::mm(a), Some(Length::mm(b)));
        let _ = FrictionRange::new(Ratio::one(a), Ratio::one(b));
        if let (Ok(face), Ok(friction)) =
            (Face::new(Length::mm(a), Length::mm(b)), Friction::new(Ratio::one(c), Ratio::one(d)))
            && let Ok(bolt) = Bolt::new(thread("M10"), face)
        {
            prop_assert!(bolt.lever(&friction).is_finite());
        }
        let m10 = bolt("M10");
        if let Ok(range) = m10.range(Torque::nm(a), &mu(0.12).into(), Ratio::one(b)) {
            prop_assert!(range.least <= range.middle && range.middle <= range.most);
            prop_assert!(range.u.is_finite());
        }
        let _ = m10.torque(Force::n(a), &mu(0.12));
        let _ = m10.demand(
            Force::n(a), &mu(0.12), &Class::Bolt8_8.strength(m10.thread()).unwrap());
        let _ = Wrench::new(WrenchKind::Click, Torque::nm(a), Torque::nm(b));
        if let Ok(adapter) = Adapter::new(Length::mm(a), Angle::deg(b)) {
            let _ = adapter.setting(Torque::nm(c), Length::mm(d));
        }
        let _ = passes(Torque::nm(a), &[Ratio::one(b), Ratio::one(c), Ratio::one(1.0)]);
        if let Ok(joint) = FrictionJoint::new(2, 1, Ratio::one(a), Force::n(b)) {
            let _ = joint.slip(Force::n(c));
        }
        let _ = Into::Steel.engagement(&thread("M10"), Class::Bolt8_8, Length::mm(a));
    }
}

// Wrenches -----------------------------------------------------------------------------------

fn click(least: f64, most: f64) -> Wrench {
    let arm = Length::mm(420.0);
    let wrench = Wrench::new(WrenchKind::Click, Torque::nm(least), Torque::nm(most));
    wrench.unwrap().with_arm(arm).unwrap()
}

fn owned() -> [Wrench; 3] {
    [click(5.0, 25.0), click(20.0, 100.0), click(40.0, 210.0)]
}

/// By moments: the pull of the hand at both levers, drawn out in coordinates.
#[test]
fn adapter_by_moments() {
    for (reach, angle) in [(60.0, 0.0), (60.0, 45.0), (100.0, 120.0), (80.0, 90.0), (80.0, -30.0)] {
        // Square at the origin, hand on the +x side at L, pulling along y; the bolt beyond the
        // square, at −x for an adapter straight on.
        let (arm, pull) = (420.0_f64, 100.0);
        let turn = f64::to_radians(angle);
        let bolt = (-reach * turn.cos(), reach * turn.sin());
        let at_bolt = (arm - bolt.0) * pull;
        let at_square = arm * pull;
        let adapter = Adapter::new(Length::mm(reach), Angle::deg(angle)).unwrap();
        let setting = adapter.setting(Torque::nm(at_bolt / 1000.0), Length::mm(arm)).unwrap();
        near(setting.to_nm(), at_square / 1000.0, 1e-12);
    }
}

#[test]
fn wrench_from_the_list() {
    let pick = |torque: Torque, adapter: Option<&Adapter>| choose(&owned(), torque, adapter);
    // 44 N·m lies in two ranges: the finer scale is taken.
    let Ok(Choice::Set(set)) = pick(Torque::kgf_m(4.4), None) else { panic!() };
    assert_eq!((set.wrench, set.tolerance.to_one()), (1, 0.04));
    near(set.of_scale.to_one(), 4.4 * 9.806_65 / 100.0, 1e-12);
    // 5.2 kgf m through 60 mm on 420 mm: 50.99·420/480.
    let adapter = Adapter::new(Length::mm(60.0), Angle::ZERO).unwrap();
    let Ok(Choice::Set(set)) = pick(Torque::kgf_m(5.2), Some(&adapter)) else { panic!() };
    near(set.setting.to_nm(), 5.2 * 9.806_65 * 420.0 / 480.0, 1e-12);
    // 314 N·m is beyond all: the range to borrow is said, and no setting.
    let Ok(Choice::Beyond(beyond)) = pick(Torque::kgf_m(32.0), None) else { panic!() };
    assert_eq!((beyond.nearest, beyond.nearest_end.to_nm()), (2, 210.0));
    near(beyond.top_least.to_nm(), 313.8, 1e-3);
    near(beyond.top_most.to_nm(), 1569.0, 1e-3);
    // Under the smallest.
    let Ok(Choice::Beyond(beyond)) = pick(Torque::nm(3.0), None) else { panic!() };
    assert_eq!((beyond.nearest, beyond.nearest_end.to_nm()), (0, 5.0));
    // 30 N·m is on the scale of a click wrench from 20 to 200, under 20 % of it: not used there.
    let wide = [click(20.0, 200.0)];
    assert!(matches!(choose(&wide, Torque::nm(30.0), None), Ok(Choice::Beyond(_))));
    assert!(matches!(choose(&wide, Torque::nm(40.0), None), Ok(Choice::Set(_))));
    let beam = Wrench::new(WrenchKind::Beam, Torque::nm(20.0), Torque::nm(200.0)).unwrap();
    assert!(matches!(choose(&[beam], Torque::nm(30.0), None), Ok(Choice::Set(_))));
    // With an adapter the arm counts.
    assert_eq!(choose(&[beam], Torque::nm(30.0), Some(&adapter)), Err(JointError::NoArm));
    assert_eq!(choose(&[], Torque::nm(30.0), None), Err(JointError::NoWrench));
    let long = Adapter::new(Length::mm(400.0), Angle::deg(180.0)).unwrap();
    let left = choose(&owned(), Torque::nm(30.0), Some(&long)).unwrap_err();
    assert!(matches!(left, JointError::NoLever { .. }));
    assert!(Wrench::new(WrenchKind::Beam, Torque::nm(9.0), Torque::nm(9.0)).is_err());
}

#[test]
fn passes_rise_to_the_whole() {
    let three = usual_passes(Torque::nm(50.0), 4).unwrap();
    let torques: Vec<f64> = three.iter().map(|pass| pass.torque.to_nm()).collect();
    assert_eq!(torques, [20.0, 35.0, 50.0]);
    assert_eq!(usual_passes(Torque::nm(50.0), 1).unwrap().len(), 1);
    assert!(usual_passes(Torque::nm(50.0), 0).is_err());
    for shares in [&[0.5][..], &[0.7, 0.4, 1.0], &[0.0, 1.0], &[], &[f64::NAN, 1.0]] {
        let shares: Vec<Ratio> = shares.iter().copied().map(Ratio::one).collect();
        assert_eq!(passes(Torque::nm(50.0), &shares), Err(JointError::Passes), "{shares:?}");
    }
}

// Slip, engagement, warnings -----------------------------------------------------------------

#[test]
fn slip_by_hand() {
    // Two bolts of 60 kN, one face at 0.15: 18 kN.
    let joint = FrictionJoint::new(2, 1, Ratio::one(0.15), Force::kn(15.0)).unwrap();
    let slip = joint.slip(Force::kn(60.0)).unwrap();
    near(slip.holds.to_kn(), 18.0, 1e-12);
    near(slip.reserve.to_one(), 1.2, 1e-12);
    assert_eq!(Warning::slip(joint.slip(Force::kn(60.1)).unwrap()), None);
    let warning = Warning::slip(joint.slip(Force::kn(59.9)).unwrap()).unwrap();
    assert_eq!(warning.id(), "joint-slip");
    for (bolts, faces) in [(0, 1), (1, 0), (65, 1), (1, 5)] {
        assert!(FrictionJoint::new(bolts, faces, Ratio::one(0.15), Force::kn(1.0)).is_err());
    }
}

#[test]
fn engagement_by_hand() {
    let m10 = thread("M10");
    let check = |into: Into, class, mm| {
        let engagement = into.engagement(&m10, class, Length::mm(mm)).unwrap();
        Warning::engagement(into, engagement).map(|warning| warning.id())
    };
    assert_eq!(check(Into::Steel, Class::Bolt8_8, 10.0), None);
    assert_eq!(check(Into::Steel, Class::Bolt8_8, 9.9), Some("short-engagement"));
    assert_eq!(check(Into::Steel, Class::Bolt10_9, 12.0), Some("short-engagement"));
    assert_eq!(check(Into::Nut, Class::Bolt10_9, 8.0), None);
}

/// ISO 4042 by class: 8.8 free, 9.8 at the edge, 10.9 a proven process, 12.9 baked.
#[test]
fn plated_bolts() {
    use PlatingRecord::{Baked, None as Nothing, ProvenProcess};
    let m12 = thread("M12x1.5");
    let warned = |class: &str, record| {
        let class = Class::parse(class).unwrap();
        Warning::plated(class, &m12, record).unwrap().is_some()
    };
    for (class, bad) in [
        ("8.8", [false, false, false]),
        ("9.8", [true, false, false]),
        ("10.9", [true, false, false]),
        ("12.9", [true, true, false]),
        ("10", [false, false, false]),
    ] {
        let ours = [Nothing, ProvenProcess, Baked].map(|record| warned(class, record));
        assert_eq!(ours, bad, "{class}");
    }
    let warning = Warning::plated(Class::Bolt10_9, &m12, Nothing).unwrap().unwrap();
    assert!(warning.words().contains("380 HV"));
    assert!(warning.advice().contains("renew") && warning.advice().contains("late bake"));
}

#[test]
fn where_the_arm_must_be() {
    use ArmPosition::{Hang, OnWheels, Raised, Ride};
    let warned = |must, now| Warning::position(must, now).map(|warning| warning.id());
    assert_eq!(warned(Ride, Hang), Some("wrong-arm-position"));
    assert_eq!(warned(Ride, Ride), None);
    assert_eq!(warned(Ride, OnWheels), None);
    assert_eq!(warned(OnWheels, Ride), Some("wrong-arm-position"));
    assert_eq!(warned(Hang, Raised), Some("wrong-arm-position"));
}

/// M10 8.8 at 0.12: 48 N·m is 90 % of yield, so 55 N·m is over; a third of it hardly tight.
#[test]
fn too_much_and_too_little() {
    let bolt = bolt("M10");
    let strength = Class::Bolt8_8.strength(bolt.thread()).unwrap();
    let demand = |nm: f64| {
        let preload = bolt.preload(Torque::nm(nm), &mu(0.12)).unwrap();
        bolt.demand(preload, &mu(0.12), &strength).unwrap()
    };
    let ids = |nm: f64| {
        let demand = demand(nm);
        [Warning::yield_share(demand), Warning::proof_share(Class::Bolt8_8, demand)]
            .map(|w| w.map(|w| w.id()))
    };
    assert_eq!(ids(55.0), [Some("over-yield-share"), None]);
    assert_eq!(ids(45.0), [None, None]);
    assert_eq!(ids(16.0), [None, Some("under-used")]);
    assert_eq!(Warning::proof_share(Class::Nut8, demand(16.0)), None);
}

/// Ids are the ten of the list, each once, and every warning says something.
#[test]
fn every_warning_speaks() {
    let bolt = bolt("M12x1.5");
    let m12 = *bolt.thread();
    let list = Torque::nm(60.0);
    let change =
        bolt.changed_surface(list, &Surface::Dry.range(), &Surface::Greased.range()).unwrap();
    let strength = Class::Bolt8_8.strength(&m12).unwrap();
    let demand = bolt.demand(Force::kn(60.0), &mu(0.1), &strength).unwrap();
    let slight = bolt.demand(Force::kn(5.0), &mu(0.1), &strength).unwrap();
    let joint = FrictionJoint::new(1, 1, Ratio::one(0.1), Force::kn(10.0)).unwrap();
    let Ok(Choice::Beyond(beyond)) = choose(&owned(), Torque::kgf_m(32.0), None) else { panic!() };
    let short = Into::Steel.engagement(&m12, Class::Bolt8_8, Length::mm(5.0)).unwrap();
    let part = || "cotter".to_owned();
    let all = [
        Warning::plated(Class::Bolt12_9, &m12, PlatingRecord::None).unwrap(),
        Some(Warning::PlatedSpring { part: "torsion bar".to_owned() }),
        Warning::slip(joint.slip(Force::kn(40.0)).unwrap()),
        Warning::surface(Surface::Dry, Surface::Greased, list, change),
        Warning::yield_share(demand),
        Warning::proof_share(Class::Bolt8_8, slight),
        Warning::engagement(Into::Steel, short),
        Some(Warning::OneTimePartReused { part: part() }),
        Warning::position(ArmPosition::OnWheels, ArmPosition::Hang),
        Some(Warning::WrenchOutOfRange(beyond)),
    ];
    let ids = all.clone().map(|warning| warning.unwrap().id());
    assert_eq!(
        ids,
        [
            "plated-high-strength",
            "plated-spring",
            "joint-slip",
            "changed-surface",
            "over-yield-share",
            "under-used",
            "short-engagement",
            "one-time-part-reused",
            "wrong-arm-position",
            "wrench-out-of-range",
        ]
    );
    for warning in all.into_iter().flatten() {
        let (words, advice) = (warning.words(), warning.advice());
        assert!(15 < words.len() && 9 < advice.len(), "{words} / {advice}");
        assert!(!words.contains("NaN") && !words.ends_with('.'), "{words}");
        println!("{}: {words}. {advice}.", warning.id());
    }
    assert_eq!(Warning::surface(Surface::Dry, Surface::Dry, list, change), None);
}

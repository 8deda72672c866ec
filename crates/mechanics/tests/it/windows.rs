//! Windows, damper rings, raising, droop and travel of the invented car, by dense scans, by hand
//! and by energy.

use axlewright_mechanics::arm::PoseAt;
use axlewright_mechanics::droop::{Droop, StoppedBy, Stops};
use axlewright_mechanics::linkage::{Linkage, LinkageError, Shift, Span};
use axlewright_mechanics::load::{Corner, Hanging};
use axlewright_mechanics::raise::Lift;
use axlewright_mechanics::travel::Run;
use axlewright_mechanics::windows::{
    BoltBehind, Cord, Damper, HalfShaft, Look, ShaftLimit, SpanLimit, Stack, Window,
};
use axlewright_quantity::{Angle, Length, Place, PlatePoint, Ratio};

use crate::larch;

const HUB: Place = Place::mm(0.0, 610.0, 0.0);
const OLD: Damper =
    Damper { span: larch::DAMPER, closed: Length::mm(262.0), open: Length::mm(462.0) };
const NEW: Damper =
    Damper { span: larch::DAMPER, closed: Length::mm(252.0), open: Length::mm(474.0) };
const HOSE: Span = Span::Points {
    body: Place::mm(-150.0, 400.0, 30.0),
    arm_at_design: Place::mm(-260.0, 430.0, -30.0),
};
const AIR: Hanging = Hanging { weights: &[larch::PLATE, larch::ARM], damper: true };
const BARE: Hanging = Hanging { weights: &[larch::PLATE, larch::ARM], damper: false };

fn outline() -> Vec<PlatePoint> {
    let corners = [(-60., 55.), (250., 50.), (370., 38.), (370., -36.), (250., -46.), (-60., -55.)];
    corners.map(|(u, w)| larch::point(u, w)).to_vec()
}

fn bolt() -> BoltBehind {
    BoltBehind::new(HUB, Place::mm(-214.0, 590.0, -146.0), &outline()).unwrap()
}

fn rings(rings: u32) -> Stack {
    Stack { rings, height: Length::mm(12.0), squashed: Ratio::percent(50.0) }
}

fn ride() -> Angle {
    Angle::deg(11.0)
}

fn free(corner: &Corner) -> Angle {
    corner.free_angle_for(ride(), larch::load()).unwrap()
}

/// Every angle of a dense scan lies in a window exactly when it fits.
fn same_as_scan(
    what: &str,
    windows: &[Window],
    (low, high): (Angle, Angle),
    fits: impl Fn(Angle) -> bool,
) {
    let (low, high) = (low.to_deg(), high.to_deg());
    let (mut inside, mut outside) = (0, 0);
    for n in 0..=20_000 {
        let angle = Angle::deg(low + (high - low) * f64::from(n) / 20_000.0);
        let edge = windows.iter().flat_map(|w| [w.from, w.to]).flatten();
        if edge.into_iter().any(|e| (e - angle).to_deg().abs() < 1e-6) {
            continue;
        }
        let contained = windows.iter().any(|w| w.contains(angle));
        assert_eq!(contained, fits(angle), "{what} at {}°", angle.to_deg());
        if contained { inside += 1 } else { outside += 1 }
    }
    assert!(inside > 0 && outside > 0, "{what}: the scan saw one kind only");
}

#[test]
fn windows_hold_what_a_dense_scan_finds() {
    let corner = larch::corner();
    let look = Look::all(&corner.linkage, corner.shift).unwrap();
    let at = |a: Angle| PoseAt::angle(a);
    let length = |span: &Span, a: Angle| span.at(&corner.linkage, at(a)).unwrap().length.unwrap();

    let found = bolt().windows(Length::mm(14.0), look.range).unwrap();
    assert_eq!(found.len(), 2, "above the bolt and below it");
    same_as_scan("bolt", &found, look.range, |a| bolt().clearance(a) >= Length::mm(14.0));

    let found = NEW.windows(&look, &rings(7)).unwrap();
    let by: Vec<_> = found.iter().map(|b| (b.from_by, b.to_by)).collect();
    assert_eq!(by, [(Some(SpanLimit::Shortest), Some(SpanLimit::Longest))]);
    let found: Vec<Window> = found.into_iter().map(|b| b.window).collect();
    same_as_scan("damper", &found, look.range, |a| {
        let l = length(&larch::DAMPER, a).to_mm();
        (252.0 + 84.0..=474.0).contains(&l)
    });

    let hose = Cord { span: HOSE, free_length: Length::mm(166.0), share: Ratio::percent(95.0) };
    let found = look.cord(&hose).unwrap();
    same_as_scan("hose", &found, look.range, |a| length(&HOSE, a).to_mm() <= 166.0 * 0.95);

    let bends = look.plate_bend(Length::mm(12.0)).unwrap();
    let found: Vec<Window> = bends.into_iter().map(|b| b.window).collect();
    let Linkage::Arm(arm) = &corner.linkage else { panic!("an arm") };
    same_as_scan("bend", &found, look.range, |a| {
        arm.pose(at(a)).unwrap().bend.iter().all(|b| b.to_mm().abs() <= 12.0)
    });

    let shaft = HalfShaft {
        inner: Place::mm(-455.0, 170.0, -70.0),
        outer_at_design: arm.on_axle(Length::mm(95.0)),
        joint_max: Angle::deg(20.0),
        plunge_max: Length::mm(22.0),
    };
    let found = look.half_shaft(&shaft).unwrap();
    let by: Vec<_> = found.iter().map(|b| (b.from_by, b.to_by)).collect();
    assert_eq!(by, [(Some(ShaftLimit::InnerJoint), Some(ShaftLimit::DrawnOut))]);
    let found: Vec<Window> = found.into_iter().map(|b| b.window).collect();
    // The axle runs from the outer joint to the wheel's centre.
    let mm =
        |from: Place, to: Place| [to.x - from.x, to.y - from.y, to.z - from.z].map(Length::to_mm);
    let dot = |a: [f64; 3], b: [f64; 3]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let between = |a, b| (dot(a, b) / (dot(a, a) * dot(b, b)).sqrt()).acos().to_degrees();
    let drawn = dot(mm(shaft.inner, shaft.outer_at_design), mm(shaft.inner, shaft.outer_at_design));
    same_as_scan("half-shaft", &found, look.range, |a| {
        let stance = corner.linkage.stance(at(a)).unwrap();
        let outer = stance.carry(shaft.outer_at_design);
        let line = mm(shaft.inner, outer);
        between(line, [0.0, 1.0, 0.0]) <= 20.0
            && between(line, mm(outer, stance.wheel_centre)) <= 20.0
            && (dot(line, line).sqrt() - drawn.sqrt()).abs() <= 22.0
    });
}

/// A rectangle and a bolt: distances a ruler gives.
#[test]
fn clearance_is_what_a_ruler_reads() {
    let box_of =
        [(0., 20.), (200., 20.), (200., -20.), (0., -20.)].map(|(u, w)| larch::point(u, w));
    // With the plate level, u runs rearward: X = −u, Z = w.
    let rows = [
        ((-100.0, 50.0), 30.0),
        ((-100.0, -20.0), 0.0),
        ((-100.0, 5.0), -15.0),
        ((-195.0, 0.0), -5.0),
        ((-230.0, 60.0), 50.0),
        ((30.0, 0.0), 30.0),
    ];
    for ((x, z), reads) in rows {
        let bolt = BoltBehind::new(Place::mm(0., 0., 0.), Place::mm(x, 7.0, z), &box_of).unwrap();
        let clear = bolt.clearance(Angle::ZERO).to_mm();
        assert!((clear - reads).abs() < 1e-9, "{x} {z}: {clear}");
        // The way round does not matter.
        let back: Vec<PlatePoint> = box_of.iter().rev().copied().collect();
        let other = BoltBehind::new(Place::mm(0., 0., 0.), Place::mm(x, 7.0, z), &back).unwrap();
        assert!((other.clearance(Angle::ZERO).to_mm() - reads).abs() < 1e-9);
    }
}

/// A window so short that no sample falls inside it is still found.
#[test]
fn a_window_between_two_samples_is_found() {
    let corner = larch::corner();
    // Just where the hose is nearly at its shortest: a length that only a tenth of a degree has.
    let look = Look {
        linkage: &corner.linkage,
        shift: Shift::default(),
        range: (Angle::deg(-38.0), Angle::deg(55.0)),
        swept: None,
    };
    let length = |a: f64| {
        let at = PoseAt::angle(Angle::deg(a));
        HOSE.at(&corner.linkage, at).unwrap().length.unwrap().to_mm()
    };
    let (mut least, mut there) = (f64::MAX, 0.0);
    for n in 0..93_000 {
        let a = -38.0 + f64::from(n) * 1e-3;
        if length(a) < least {
            (least, there) = (length(a), a);
        }
    }
    assert!(there > -37.0 && there < 54.0, "the shortest lies inside: {there}");
    let longest = Length::mm(length(there + 0.04).max(length(there - 0.04)));
    let found = look.span(&HOSE, None, Some(longest)).unwrap();
    let [one] = found.as_slice() else { panic!("{found:?}") };
    let (from, to) = (one.window.from.unwrap().to_deg(), one.window.to.unwrap().to_deg());
    assert!(from < there && there < to && to - from < 0.1, "{from} {there} {to}");
    // The same short run, now the only one that does not fit.
    let found = look.span(&HOSE, Some(longest), None).unwrap();
    let [before, after] = found.as_slice() else { panic!("{found:?}") };
    let (to, from) = (before.window.to.unwrap().to_deg(), after.window.from.unwrap().to_deg());
    assert!(to < there && there < from && from - to < 0.1, "{to} {there} {from}");
}

#[test]
fn rings_for_the_new_damper_meet_the_buffer_where_the_old_did() {
    let corner = larch::corner();
    let look = Look::all(&corner.linkage, corner.shift).unwrap();
    let choice = NEW.rings_like(&look, ride(), (&OLD, &rings(6)), &rings(9)).unwrap();
    // 262 + 6·12 = 334 mm; 252 + n·12 comes nearest with n = 7 (336 mm).
    assert_eq!(choice.best.rings, 7);
    assert_eq!(choice.original.rings, 6);
    let at = PoseAt::angle(choice.original.angle);
    let there = larch::DAMPER.at(&corner.linkage, at).unwrap().length.unwrap();
    assert!((there.to_mm() - 334.0).abs() < 1e-6);
    // More rings, earlier contact.
    assert!(choice.choices.windows(2).all(|w| w[1].travel < w[0].travel));
    let full = NEW.full_bump(&look, ride(), &rings(7)).unwrap();
    let metal = NEW.angle_at(&look, ride(), NEW.closed).unwrap();
    assert!(metal < full && full < choice.best.angle && choice.best.angle < ride());
    let squashed = larch::DAMPER.at(&corner.linkage, PoseAt::angle(full)).unwrap();
    assert!((squashed.length.unwrap().to_mm() - (252.0 + 42.0)).abs() < 1e-6);
}

#[test]
fn raising_takes_the_work_the_energies_say() {
    let corner = larch::corner();
    let free = free(&corner);
    let lift = Lift { free, on: BARE, jack_point: larch::JACK };
    let top = bolt().windows(Length::mm(14.0), (Angle::deg(0.0), Angle::deg(40.0))).unwrap();
    let to = top[0].to.unwrap();
    let raise = lift.to(&corner, to).unwrap();
    assert!(raise.from > to && raise.lift.to_mm() > 0.0 && raise.force.to_n() > 0.0);
    // Work of the jack, Simpson over its path, against bar and weights.
    let n = 200;
    let (mut work, step) = (0.0, (to - raise.from) / f64::from(n));
    let force = |a| lift.to(&corner, a).unwrap().force.to_n();
    let z = |p: Place, a: Angle| corner.linkage.stance(PoseAt::angle(a)).unwrap().carry(p).z.to_m();
    for k in 0..n / 2 {
        let a = [0.0, 1.0, 2.0].map(|j| raise.from + step * (f64::from(2 * k) + j));
        let slope = |a: Angle| {
            let h = Angle::deg(1e-4);
            (z(larch::JACK, a + h) - z(larch::JACK, a - h)) / (h.to_rad() * 2.0)
        };
        let f = a.map(|a| force(a) * slope(a));
        work += (f[0] + 4.0 * f[1] + f[2]) / 3.0 * step.to_rad();
    }
    let bar = raise.energy - corner.bar_energy(raise.from, free).unwrap();
    let arm = 22.0
        * 9.806_65
        * (z(Place::mm(-400., 590., -100.), to) - z(Place::mm(-400., 590., -100.), raise.from));
    let plate_z = |a: Angle| -0.160 * a.sin();
    let plate = 2.1 * 9.806_65 * (plate_z(to) - plate_z(raise.from));
    let stored = bar.to_j() + arm + plate;
    assert!((work - stored).abs() < 1e-5 * stored, "{work} J in, {stored} J there");
    // Going nowhere takes nothing.
    let hang = lift.to(&corner, raise.from).unwrap();
    assert!(hang.force.to_n().abs() < 1e-4 && hang.lift.to_mm().abs() < 1e-9);
    // A jack under the inner pivot lifts nothing.
    let at_pivot = Lift { jack_point: Place::mm(-55.0, 235.0, -20.0), ..lift };
    let error = at_pivot.to(&corner, to).unwrap_err();
    assert_eq!(error, LinkageError::NoLever { what: "the jack point", angle: to });
    // One ahead of the bar would lower it.
    let ahead = Lift { jack_point: Place::mm(440.0, 600.0, -150.0), ..lift };
    let error = ahead.to(&corner, to).unwrap_err();
    assert!(error.to_string().starts_with("the jack point is X 440 mm; it must be behind"));
}

/// Which part stops the wheel: with the old damper it is the damper, with the longer new one it
/// has quietly become the bolt.
#[test]
fn a_longer_damper_makes_the_bolt_the_droop_stop() {
    let corner = larch::corner();
    let free = free(&corner);
    let bolt = bolt();
    let droop = |bolt: Option<&BoltBehind>, damper: Option<&Damper>| -> Droop {
        let stops = Stops { bolt: bolt.map(|b| (b, Length::mm(5.0))), damper };
        corner.droop(free, ride(), &AIR, &stops).unwrap()
    };
    let old = droop(Some(&bolt), Some(&OLD));
    let new = droop(Some(&bolt), Some(&NEW));
    assert_eq!((old.stopped_by, new.stopped_by), (StoppedBy::Damper, StoppedBy::StopBolt));
    assert_eq!(droop(None, Some(&NEW)).stopped_by, StoppedBy::Damper);
    let bare = droop(None, None);
    assert_eq!((bare.stopped_by, bare.force.to_n()), (StoppedBy::Nothing, 0.0));
    assert!((bare.angle - corner.hang(free, &AIR).unwrap()).to_deg().abs() < 1e-9);
    // Force times how far its part gives is what the energies fall by: a small step past the
    // stop, bolt and damper alike.
    let energy = |a: Angle| {
        let at = PoseAt::angle(a);
        let z = |p| corner.linkage.stance(at).unwrap().carry(p).z.to_m();
        let arm = 22.0 * 9.806_65 * z(Place::mm(-400., 590., -100.));
        let gas = -120.0 * larch::DAMPER.at(&corner.linkage, at).unwrap().length.unwrap().to_m();
        corner.bar_energy(a, free).unwrap().to_j() + arm - 2.1 * 9.806_65 * 0.160 * a.sin() + gas
    };
    let h = Angle::deg(1e-3);
    let fall = |a: Angle| energy(a - h) - energy(a + h);
    let gives = (bolt.clearance(new.angle - h) - bolt.clearance(new.angle + h)).to_m();
    let by_energy = fall(new.angle) / gives;
    assert!((by_energy - new.force.to_n()).abs() < 1e-3 * by_energy, "{by_energy} {new:?}");
    assert!(new.force.to_n() > 500.0);
    let length = |a| larch::DAMPER.at(&corner.linkage, PoseAt::angle(a)).unwrap().length.unwrap();
    let by_energy = fall(old.angle) / (length(old.angle + h) - length(old.angle - h)).to_m();
    assert!((by_energy - old.force.to_n()).abs() < 1e-5 * by_energy, "{by_energy} {old:?}");
    // Let down from where the plate already lies on the bolt.
    let stops = Stops { bolt: Some((&bolt, Length::mm(5.0))), damper: None };
    let error = corner.droop(free, Angle::deg(30.0), &AIR, &stops).unwrap_err();
    assert!(error.to_string().starts_with("the stop bolt is already reached"), "{error}");
}

#[test]
fn travel_runs_from_droop_to_full_bump_in_equal_steps() {
    let corner = larch::corner();
    let free = free(&corner);
    let run = Run {
        free,
        ride: ride(),
        droop: Angle::deg(23.0),
        full_bump: Angle::deg(3.0),
        step: Length::mm(10.0),
        damper: Some(&larch::DAMPER),
        hose: Some(&HOSE),
    };
    let rows = corner.travel(&run).unwrap();
    let (first, last) = (rows.first().unwrap(), rows.last().unwrap());
    assert_eq!((first.angle, last.angle), (run.droop, run.full_bump));
    let inner = &rows[1..rows.len() - 1];
    for (n, row) in inner.iter().enumerate() {
        let travel = row.travel.to_mm();
        assert!((travel / 10.0 - (travel / 10.0).round()).abs() < 1e-6, "{travel}");
        if n > 0 {
            assert!((travel - inner[n - 1].travel.to_mm() - 10.0).abs() < 1e-6);
        }
    }
    assert!(inner[0].travel - first.travel <= Length::mm(10.0));
    let zero = inner.iter().find(|r| r.travel.to_mm().abs() < 1e-6).unwrap();
    assert!((zero.camber.unwrap().to_deg() + 0.5).abs() < 1e-6);
    assert!(zero.contact_shift_x.to_mm().abs() < 1e-6);
    // The pivot of this arm is ahead of and above the wheel: in droop it swings forward.
    let forward = |a: Angle| {
        let stance = |a| corner.linkage.stance(PoseAt::angle(a)).unwrap();
        (stance(a).contact.x - stance(ride()).contact.x).to_mm()
    };
    assert!((first.contact_shift_x.to_mm() - forward(run.droop)).abs() < 1e-9);
    assert!(first.contact_shift_x.to_mm() > 20.0 && last.contact_shift_x.to_mm() < -5.0);
    assert!((zero.load - larch::load()).to_n().abs() < 1e-4);
    // Up the wheel goes, the load grows and the damper shortens.
    assert!(rows.windows(2).all(|w| w[1].load > w[0].load && w[1].damper < w[0].damper));
    for (wrong, says) in [
        (Run { step: Length::ZERO, ..run }, "wheel travel between rows is 0.0 mm"),
        (Run { step: Length::mm(f64::NAN), ..run }, "wheel travel between rows is NaN mm"),
        (Run { droop: Angle::deg(5.0), ..run }, "wheel travel at droop and full bump is"),
    ] {
        let error = corner.travel(&wrong).unwrap_err().to_string();
        assert!(error.starts_with(says), "{error}");
    }
}

#[test]
fn what_is_refused_says_what() {
    let corner = larch::corner();
    let look = Look::all(&corner.linkage, corner.shift).unwrap();
    let flat = [(0., 0.), (100., 0.), (200., 0.)].map(|(u, w)| larch::point(u, w));
    let said = |e: LinkageError| e.to_string();
    let line = BoltBehind::new(HUB, HUB, &flat).unwrap_err();
    assert!(said(line).starts_with("plate outline is 3 points enclosing 0.0 cm²"));
    assert!(BoltBehind::new(HUB, HUB, &[]).is_err());
    let nowhere = Place { x: Length::mm(f64::NAN), ..HUB };
    assert!(BoltBehind::new(HUB, nowhere, &outline()).is_err());
    let backward = bolt().windows(Length::mm(14.0), (Angle::deg(20.0), Angle::deg(10.0)));
    assert!(said(backward.unwrap_err()).starts_with("range of plate angles to look at"));
    assert!(bolt().windows(Length::mm(f64::NAN), look.range).is_err());
    let swapped = Damper { closed: NEW.open, open: NEW.closed, ..NEW };
    assert_eq!(
        said(swapped.windows(&look, &rings(7)).unwrap_err()),
        "open length of the damper is 252.0 mm; it must be more than its closed length"
    );
    let upright = Damper { span: Span::Upright { reach: Length::mm(500.0) }, ..NEW };
    assert!(upright.windows(&look, &rings(7)).is_err());
    assert!(upright.full_bump(&look, ride(), &rings(7)).is_err());
    let slack = Cord { span: HOSE, free_length: Length::mm(166.0), share: Ratio::percent(150.0) };
    assert!(said(look.cord(&slack).unwrap_err()).contains("150.0 %"));
    assert!(look.plate_bend(Length::mm(-1.0)).is_err());
    let too_far = NEW.angle_at(&look, ride(), Length::mm(1500.0)).unwrap_err();
    assert!(said(too_far).ends_with("gives a damper length of 1500.0 mm"));
    let huge = Stack { rings: u32::MAX, ..rings(7) };
    assert_eq!(NEW.rings_like(&look, ride(), (&OLD, &rings(6)), &huge).unwrap().best.rings, 7);
}

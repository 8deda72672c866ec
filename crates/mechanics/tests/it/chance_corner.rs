//! Builds of a corner: begun where the best values rest, against each begun from its free angle.

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, TrailingArm};
use axlewright_mechanics::bar::{Bar, BarSize};
use axlewright_mechanics::chance::corner::{
    Ask, Best, Builds, Carrier, Case, Doubt, Item, Limits, Told,
};
use axlewright_mechanics::chance::{
    Distribution, Draws, Ended, Go, Inputs, Outcomes, Plan, Shape, run, unwatched,
};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Bush, Corner, Gas};
use axlewright_quantity::{
    Amount, Angle, Force, Length, Mass, Place, PlatePoint, Ratio, Side, Stress, TorsionalRate,
};

use proptest::prelude::*;

use crate::{doubts, larch};

const ASK: Ask<'static> =
    Ask { free: Angle::deg(27.0), trim: Length::mm(95.0), side: Side::Left, shared: &[] };

fn si(x: &[Amount], item: Item) -> f64 {
    x[item as usize].to_si()
}

fn place(x: &[Amount], items: [Item; 3]) -> Place {
    let [x, y, z] = items.map(|item| Length::m(si(x, item)));
    Place { x, y, z }
}

/// The same build by the crate's load equation, written here from the items.
fn by_hand(x: &[Amount], moves: HolesMoved, ask: &Ask) -> Option<[Amount; 6]> {
    let length = |item| Length::m(si(x, item));
    let angle = |item| Angle::rad(si(x, item));
    let arm = TrailingArm::new(ArmDesign {
        hub: place(x, [Item::HubX, Item::HubY, Item::HubZ]),
        inner_pivot: place(x, [Item::PivotX, Item::PivotY, Item::PivotZ]),
        hole_front: PlatePoint { u: length(Item::HoleFrontU), w: length(Item::HoleFrontW) },
        hole_rear: PlatePoint { u: length(Item::HoleRearU), w: length(Item::HoleRearW) },
        w_moves: moves,
        design_angle: angle(Item::DesignAngle),
        wheel_centre: place(x, [Item::WheelX, Item::WheelY, Item::WheelZ]),
        camber: angle(Item::Camber),
        toe: angle(Item::Toe),
        tyre_radius: length(Item::TyreRadius),
    })
    .ok()?;
    let bar = Bar::new(BarSize {
        diameter: length(Item::BarDiameter),
        bore: length(Item::BarBore),
        length: length(Item::BarLength),
        modulus: Stress::pa(si(x, Item::BarModulus)),
    });
    let share = Ratio::one(si(x, Item::RateShare));
    let span = Span::Points {
        body: place(x, [Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ]),
        arm_at_design: place(x, [Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ]),
    };
    let corner = Corner {
        linkage: Linkage::Arm(arm),
        bar_rate: bar.ok()?.with_rate_share(share).ok()?.rate(),
        gas: Some(Gas { span, force: Force::n(si(x, Item::Gas)) }),
        bush: Some(Bush {
            rate: TorsionalRate::nm_per_rad(si(x, Item::BushRate)),
            neutral: angle(Item::BushNeutral),
        }),
        shift: Shift { u: length(Item::ShiftU), w: length(Item::ShiftW) },
    };
    let load = Mass::kg(si(x, Item::Weight) - si(x, Item::Unsprung)).weight();
    let free = ask.free + angle(Item::Reading) + angle(Item::Level) + angle(Item::Lash);
    let ride = corner.angle_for(free, load).ok()?;
    let trim = corner.trim(ride).ok()? - length(Item::Settling);
    let wanted = corner.angle_at_trim(ask.trim + length(Item::Settling)).ok()?;
    let stance = corner.linkage.stance(corner.shift.at(ride)).ok()?;
    Some([
        trim.into(),
        (trim + length(Item::Friction)).into(),
        ride.into(),
        corner.free_angle_for(wanted, load).ok()?.into(),
        stance.camber?.into(),
        stance.toe?.into(),
    ])
}

fn apart(one: &Outcomes, other: &Outcomes) -> f64 {
    assert_eq!((one.count(), one.refused()), (other.count(), other.refused()));
    let n = one.count();
    let at = |of: &Outcomes, r: usize| {
        of.quantile(Ratio::one((r as f64 + 0.5) / n as f64)).unwrap().to_si()
    };
    (0..n).map(|r| (at(one, r) - at(other, r)).abs()).fold(0.0, f64::max)
}

/// Three arms that look quite different, with a bush, eccentrics off their middle, and every item
/// in doubt: each sorted outcome of 20 000 builds is that of the load equation solved one by one.
/// An item's number in the list is its stream, so both roads draw the same numbers.
#[test]
fn builds_are_the_load_equation() {
    for (name, design) in larch::designs() {
        let bush = Bush { rate: TorsionalRate::nm_per_deg(2.0), neutral: design.design_angle };
        let shift = Shift { u: Length::mm(1.5), w: Length::mm(-2.0) };
        let best =
            Best { carrier: Carrier::Arm(design), bush: Some(bush), shift, ..doubts::best() };
        let more = [
            (Item::BarModulus, Amount::from(Stress::gpa(0.8))),
            (Item::Unsprung, Mass::kg(1.0).into()),
            (Item::DesignAngle, Angle::deg(0.2).into()),
            (Item::Camber, Angle::deg(0.1).into()),
            (Item::Toe, Angle::deg(0.1).into()),
            (Item::ShiftU, Length::mm(0.2).into()),
            (Item::ShiftW, Length::mm(0.2).into()),
            (Item::BushRate, TorsionalRate::nm_per_deg(0.3).into()),
            (Item::BushNeutral, Angle::deg(0.5).into()),
        ];
        let more = more.map(|(item, u)| Doubt { item, u, shape: Shape::Rectangular });
        let doubts: Vec<Doubt> = doubts::doubts().into_iter().chain(more).collect();
        let case = Case::new(best, &doubts).unwrap();
        let ask = Ask { free: design.design_angle + Angle::deg(16.0), ..ASK };
        let plan = Plan { seed: 3, draws: 20_000 };
        let builds = case.builds(&ask, plan, &unwatched).unwrap();
        let inputs = doubts::values(&design, &best).into_iter().map(|(item, value)| {
            let doubt = doubts.iter().find(|doubt| doubt.item == item);
            let none = Amount::from_si(item.kind(), 0.0);
            let (u, shape) = doubt.map_or((none, Shape::Normal), |d| (d.u, d.shape));
            Distribution::new(value, u, shape).unwrap()
        });
        let inputs = Inputs::new(inputs.collect());
        let model = |x: &[Amount]| by_hand(x, design.w_moves, &ask);
        let slow: Draws<6> = run(&inputs, plan, model, &unwatched).unwrap();
        for (number, told) in Told::ALL.into_iter().enumerate() {
            let apart = apart(&builds.of(told), &slow.outcome(number).unwrap());
            // Either search ends within 1e-8°, 1.7e-10 rad.
            assert!(0.0 < apart && apart < 1e-9, "{name} {told:?} {apart:e}");
        }
        assert!(builds.of(Told::Trim).u().unwrap().shown() > 3.0, "{name}");
    }
}

fn many(case: &Case, ask: &Ask, draws: usize) -> Builds {
    case.builds(ask, Plan { seed: 5, draws }, &unwatched).unwrap()
}

#[test]
fn the_same_seed_gives_the_same_bits_on_any_number_of_threads() {
    let case = doubts::case();
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| many(&case, &ASK, 70_001))
    };
    let (one, three) = (on(1), on(3));
    assert_eq!(one, three);
    assert_eq!(one.made(), 70_001);
    let other = case.builds(&ASK, Plan { seed: 6, draws: 70_001 }, &unwatched).unwrap();
    assert_ne!(one, other);
}

#[test]
fn a_stopped_run_is_the_beginning_of_the_whole_one() {
    let case = doubts::case();
    let plan = Plan { seed: 5, draws: 400_000 };
    let stop = |progress: axlewright_mechanics::chance::Progress| {
        assert_eq!(progress.of, 400_000);
        if progress.done >= 100_000 { Go::Stop } else { Go::On }
    };
    let part = case.builds(&ASK, plan, &stop).unwrap();
    assert_eq!(part.ended(), Ended::Stopped);
    assert!((65_536..400_000).contains(&part.made()), "{}", part.made());
    assert_eq!(part.of(Told::Trim), many(&case, &ASK, part.made()).of(Told::Trim));
}

/// Linear parts in quadrature beside the drawn spread, and what is shared left to right.
#[test]
fn spread_of_the_demo_corner() {
    let case = doubts::case();
    let builds = many(&case, &ASK, 200_000);
    let parts = case.parts(&ASK, Told::Trim).unwrap();
    let linear = parts.iter().map(|(_, part)| part.to_si().powi(2)).sum::<f64>().sqrt();
    let trim = builds.of(Told::Trim);
    let drawn = trim.u().unwrap().to_si();
    assert!((drawn / linear - 1.0).abs() < 0.03, "{drawn} {linear}");
    // Friction is in the reading and in nothing else: 4 mm in quadrature.
    let read =
        builds.of(Told::TrimRead).u().unwrap().to_mm_squared() - trim.u().unwrap().to_mm_squared();
    assert!((read - 16.0).abs() < 0.5, "{read}");
    // Nothing shared: the difference spreads by √2. All shared: left and right are one.
    let right = Ask { side: Side::Right, ..ASK };
    let apart = builds.less(&many(&case, &right, 200_000), Told::Trim).u().unwrap().to_si();
    assert!((apart / drawn / 2_f64.sqrt() - 1.0).abs() < 0.01);
    let twin = Ask { shared: Item::ALL, ..right };
    assert_eq!(many(&case, &twin, 1000), many(&case, &ASK, 1000));
}

trait Squared {
    fn to_mm_squared(self) -> f64;
}
impl Squared for Amount {
    fn to_mm_squared(self) -> f64 {
        self.shown() * self.shown()
    }
}

/// A rate share that may be anything: what no bar can have is refused, counted, and within no
/// limits, however wide.
#[test]
fn builds_that_cannot_be_are_within_nothing() {
    let share = Doubt { item: Item::RateShare, u: Ratio::one(0.4).into(), shape: Shape::Normal };
    let case = Case::new(doubts::best(), &[share]).unwrap();
    let builds = many(&case, &ASK, 5000);
    // Outside 0.5 to 1.5 about 1: beyond 1.25 standard deviations, 21 in 100.
    assert!((0.18..0.24).contains(&(builds.refused() as f64 / 5000.0)), "{}", builds.refused());
    let wide = Length::m(9.0);
    let limits = Limits { low: -wide, high: wide, left_right: None };
    let tally = builds.within(Told::Trim, &limits).unwrap();
    assert_eq!((tally.of, tally.hits), (5000, 5000 - builds.refused()));
    let both = builds.both_within(&builds, Told::Trim, (&limits, &limits)).unwrap();
    assert_eq!(both, tally);
}

/// A lever instead of the arm, its damper upright: solved one by one, by the same equation.
#[test]
fn a_plain_lever_has_builds_too() {
    use axlewright_mechanics::lever::LeverDesign;
    let lever = LeverDesign {
        hub: Place::mm(0.0, 610.0, 0.0),
        reach: Length::mm(465.0),
        ride_angle: Angle::deg(11.0),
        trim_at_ride: Length::mm(95.0),
        tyre_radius: Length::mm(292.0),
    };
    let gas = Gas { span: Span::Upright { reach: Length::mm(500.0) }, force: Force::n(120.0) };
    let best = Best { carrier: Carrier::Lever(lever), gas: Some(gas), ..doubts::best() };
    let u = Amount::from(Mass::kg(8.0));
    let weight = Doubt { item: Item::Weight, u, shape: Shape::Normal };
    let case = Case::new(best, &[weight]).unwrap();
    let builds = many(&case, &ASK, 2000);
    let trim = builds.of(Told::Trim);
    // By hand: 8 kg over the wheel rate F/z of this lever at ride.
    let plain = case.plain(&ASK).unwrap();
    let ride = Angle::rad(plain[Told::Ride as usize].to_si());
    let load = Mass::kg(244.0).weight();
    let corner = Corner {
        linkage: Linkage::Lever(axlewright_mechanics::lever::PlaneLever::new(lever).unwrap()),
        bar_rate: larch::bar(23.0),
        gas: Some(gas),
        bush: None,
        shift: Shift::default(),
    };
    assert!((corner.angle_for(ASK.free, load).unwrap() - ride).abs() < Angle::deg(1e-7));
    let rate = corner.wheel_rate(ride, ASK.free).unwrap();
    let by_hand = Mass::kg(8.0).weight().to_n() / rate.to_n_per_mm();
    assert!((trim.u().unwrap().shown() / by_hand - 1.0).abs() < 0.06, "{by_hand}");
}

proptest! {
    #[test]
    fn nothing_panics(bits in prop::array::uniform8(any::<u64>()), which in 0..48_usize) {
        let x = bits.map(f64::from_bits);
        let item = Item::ALL[which];
        let u = Amount::from_si(item.kind(), x[0]);
        let doubt = Doubt { item, u, shape: Shape::Rectangular };
        let best = Best { weight: Mass::kg(x[1]), ..doubts::best() };
        let ask = Ask { free: Angle::deg(x[2]), trim: Length::mm(x[3]), ..ASK };
        let plan = Plan { seed: bits[4], draws: 150 };
        for best in [best, doubts::best()] {
            if let Ok(case) = Case::new(best, &[doubt]) {
                for ask in [ask, ASK] {
                    let _ = case.plain(&ask);
                    let _ = case.parts(&ask, Told::Trim);
                    if let Ok(builds) = case.builds(&ask, plan, &unwatched) {
                        prop_assert_eq!(builds.made(), 150);
                        prop_assert!(builds.of(Told::Trim).count() + builds.refused() == 150);
                    }
                }
            }
        }
    }
}

#[test]
fn limits_count_what_is_within() {
    let case = doubts::case();
    let builds = many(&case, &ASK, 20_000);
    let trim = builds.of(Told::Trim);
    let [low, high] = [0.2, 0.7].map(|p| trim.quantile(Ratio::one(p)).unwrap());
    let limits = Limits {
        low: Length::m(low.to_si()),
        high: Length::m(high.to_si()),
        left_right: Some(Length::mm(5.0)),
    };
    let tally = builds.within(Told::Trim, &limits).unwrap();
    assert!((tally.share().to_one() - 0.5).abs() < 1e-3);
    assert_eq!(tally.in_100(), 50);
    assert!(builds.within(Told::Ride, &limits).is_err());
    let right = many(&case, &Ask { side: Side::Right, ..ASK }, 20_000);
    let both = builds.both_within(&right, Told::Trim, (&limits, &limits)).unwrap();
    let loose = Limits { left_right: None, ..limits };
    let apart = builds.both_within(&right, Told::Trim, (&loose, &loose)).unwrap();
    // Independent corners: a half of a half; and the difference takes some more.
    assert!((apart.share().to_one() - 0.25).abs() < 0.02);
    assert!(both.hits < apart.hits && 0 < both.hits);
}

//! Stands against hand statics, balance, and loads made up on the spot.

use axlewright_mechanics::supports::{
    Direction, GivesWay, Load, PointForce, Spot, Stand, Stands, SupportError,
};
use axlewright_quantity::{Force, Length, Mass, Place, Ratio};
use proptest::prelude::*;

fn spot(x_mm: f64, y_mm: f64) -> Spot {
    Spot { x: Length::mm(x_mm), y: Length::mm(y_mm) }
}

fn stand(x: f64, y: f64) -> Stand {
    Stand {
        at: spot(x, y),
        height: Length::mm(480.0),
        foot_half_width: Length::mm(110.0),
        friction: Ratio::one(0.2),
        rating: Mass::kg(1000.0),
    }
}

fn shell() -> (Stands, Load) {
    let corners =
        vec![stand(1500.0, 480.0), stand(1500.0, -480.0), stand(20.0, 450.0), stand(20.0, -450.0)];
    (Stands::new(corners).unwrap(), Load::of_mass(Mass::kg(520.0), spot(900.0, 0.0)))
}

fn newtons(loads: &[Force]) -> Vec<f64> {
    loads.iter().map(|load| load.to_n()).collect()
}

/// Force and both moments of a division, about the origin, in N and N·m.
fn sums(stands: &Stands, loads: &[f64]) -> [f64; 3] {
    stands.all().iter().zip(loads).fold([0.0; 3], |[f, x, y], (stand, n)| {
        [f + n, x + n * stand.at.x.to_m(), y + n * stand.at.y.to_m()]
    })
}

/// Stands near the corners and sides of a car, never in one line.
fn some_stands(count: usize) -> impl Strategy<Value = Stands> {
    let around = [
        (1500.0, 480.0),
        (0.0, -450.0),
        (1500.0, -480.0),
        (0.0, 450.0),
        (750.0, 700.0),
        (750.0, -700.0),
    ];
    prop::collection::vec((-200.0..200.0_f64, -200.0..200.0_f64, 300.0..600.0_f64), count).prop_map(
        move |moved| {
            let stands = around.iter().zip(moved).map(|(at, (dx, dy, height))| Stand {
                height: Length::mm(height),
                ..stand(at.0 + dx, at.1 + dy)
            });
            Stands::new(stands.collect()).unwrap()
        },
    )
}

/// A load made up from what each stand is to carry, so that one balanced division is known.
fn made_up(stands: &Stands, loads: &[f64]) -> Load {
    let [force, x, y] = sums(stands, loads);
    Load {
        weight: Force::n(force),
        centre: Spot { x: Length::m(x / force), y: Length::m(y / force) },
    }
}

/// By hand: levers. 520 kg at X 900 between X 1500 and X 20: front 880/1480, halved by symmetry.
#[test]
fn four_stands_by_hand() {
    let (stands, load) = shell();
    let weight = 520.0 * 9.806_65;
    let (front, rear) = (weight * 880.0 / 1480.0 / 2.0, weight * 600.0 / 1480.0 / 2.0);
    let loads = stands.loads(&load, &[]).unwrap();
    for (one, by_hand) in loads.iter().zip([front, front, rear, rear]) {
        assert!((one.estimate.to_n() - by_hand).abs() < 1e-9);
        // The share of the rating is that of the most the stand may carry.
        assert!((one.share_of_rating.to_one() - one.most.to_n() / 9806.65).abs() < 1e-12);
    }
    // On a floor that is not level the four rock: the centre lies on X 900, the diagonals cross at
    // X 736, so the rear stands may carry nothing, one at a time, the front ones never nothing.
    assert!(loads[0].least.to_n() > 0.0 && loads[2].least.to_n() == 0.0);
}

/// By hand: areas. Stands at (0, 0), (1000, 0), (0, 1000), load at (200, 300): shares of 0.5, 0.2
/// and 0.3.
#[test]
fn three_stands_by_hand() {
    let three = Stands::new(vec![stand(0.0, 0.0), stand(1000.0, 0.0), stand(0.0, 1000.0)]).unwrap();
    let load = Load { weight: Force::n(1000.0), centre: spot(200.0, 300.0) };
    for (one, by_hand) in three.loads(&load, &[]).unwrap().iter().zip([500.0, 200.0, 300.0]) {
        for ours in [one.estimate, one.least, one.most] {
            assert!((ours.to_n() - by_hand).abs() < 1e-9);
        }
    }
}

proptest! {
    #[test]
    fn estimates_balance_and_are_what_equal_springs_do(
        stands in (3..=6_usize).prop_flat_map(some_stands),
        x in -500.0..2000.0_f64, y in -600.0..600.0_f64, jack in 0.0..3000.0_f64,
    ) {
        let load = Load { weight: Force::n(5000.0), centre: spot(x, y) };
        let lift = PointForce { at: spot(-440.0, 600.0), up: Force::n(jack) };
        let ours = newtons(&stands.estimates(&load, &[lift]).unwrap());
        let [force, mx, my] = sums(&stands, &ours);
        prop_assert!((force - (5000.0 - jack)).abs() < 1e-6);
        prop_assert!((mx - (5.0 * x - jack * -0.44)).abs() < 1e-6);
        prop_assert!((my - (5.0 * y - jack * 0.6)).abs() < 1e-6);
        // Equal springs under a rigid body: all loads lie in one plane over (x, y). Any three
        // stands give it; the others must lie in it.
        let at: Vec<(f64, f64, f64)> = stands.all().iter().zip(&ours)
            .map(|(stand, n)| (stand.at.x.to_m(), stand.at.y.to_m(), *n)).collect();
        let off = |i: usize| {
            let d = |k: usize| (at[k].0 - at[0].0, at[k].1 - at[0].1, at[k].2 - at[0].2);
            let (a, b, c) = (d(1), d(2), d(i));
            a.0 * (b.1 * c.2 - b.2 * c.1) - a.1 * (b.0 * c.2 - b.2 * c.0)
                + a.2 * (b.0 * c.1 - b.1 * c.0)
        };
        for i in 3..at.len() { prop_assert!(off(i).abs() < 1e-6); }
    }

    #[test]
    fn every_balanced_division_lies_in_the_range(
        (stands, loads) in (3..=6_usize).prop_flat_map(|count| {
            (some_stands(count), prop::collection::vec(0.0..3000.0_f64, count))
        }),
        empty in any::<u8>(),
    ) {
        // Some stands empty, so that the ends of the range are tried as well.
        let mut loads = loads;
        for (at, load) in loads.iter_mut().enumerate() {
            if empty >> at & 1 == 1 { *load = 0.0; }
        }
        prop_assume!(1.0 < loads.iter().sum::<f64>());
        let load = made_up(&stands, &loads);
        let found = stands.loads(&load, &[]).unwrap();
        let all_press = found.iter().all(|one| Force::ZERO <= one.estimate);
        for (one, made) in found.iter().zip(&loads) {
            prop_assert!(one.least.to_n() <= made + 1e-3 && *made <= one.most.to_n() + 1e-3);
            prop_assert!(Force::ZERO <= one.least);
            let (low, high) = (one.least - Force::n(1e-3), one.most + Force::n(1e-3));
            prop_assert!(!all_press || (low <= one.estimate && one.estimate <= high));
        }
    }

    /// Four stands leave one free parameter: N = estimate + t·v with v the twist that balances by
    /// itself. Its limits are where a stand empties.
    #[test]
    fn four_stands_in_closed_form(
        stands in some_stands(4), loads in prop::collection::vec(1.0..3000.0_f64, 4),
    ) {
        let load = made_up(&stands, &loads);
        let still = newtons(&stands.estimates(&load, &[]).unwrap());
        let at: Vec<(f64, f64)> =
            stands.all().iter().map(|stand| (stand.at.x.to_m(), stand.at.y.to_m())).collect();
        // v by areas of the triangles of the other three, signs alternating.
        let area = |i: usize, j: usize, k: usize| {
            (at[j].0 - at[i].0) * (at[k].1 - at[i].1) - (at[j].1 - at[i].1) * (at[k].0 - at[i].0)
        };
        let twist = [area(1, 2, 3), -area(0, 2, 3), area(0, 1, 3), -area(0, 1, 2)];
        let own = sums(&stands, &twist);
        prop_assert!(own.iter().all(|sum| sum.abs() < 1e-9));
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        for (n, v) in still.iter().zip(twist) {
            if 0.0 < v { low = low.max(-n / v) } else { high = high.min(-n / v) }
        }
        for ((one, n), v) in stands.loads(&load, &[]).unwrap().iter().zip(&still).zip(twist) {
            let ends = [n + low * v, n + high * v];
            prop_assert!((one.least.to_n() - ends[0].min(ends[1])).abs() < 1e-6);
            prop_assert!((one.most.to_n() - ends[0].max(ends[1])).abs() < 1e-6);
        }
    }

    /// At the push found exactly the named thing gives way, and nothing has before. The moment is
    /// put on by a second road: a pair of forces, up on one side and down on the other.
    #[test]
    fn upset_makes_the_named_thing_tight(
        (stands, loads) in (3..=6_usize).prop_flat_map(|count| {
            (some_stands(count), prop::collection::vec(500.0..2500.0_f64, count))
        }),
        height in 100.0..1500.0_f64,
    ) {
        let load = made_up(&stands, &loads);
        let count = stands.all().len() as f64;
        let saddles = stands.all().iter().map(|stand| stand.height.to_m()).sum::<f64>() / count;
        let Ok(found) = stands.upset(&load, &[], Length::mm(height)) else {
            return Err(TestCaseError::reject("unbalanced"));
        };
        prop_assert_eq!(found.len(), 8);
        for (turn, upset) in (0..).zip(found) {
            prop_assert_eq!(upset.direction, Direction::ALL[turn]);
            let (sin, cos) = (45.0 * turn as f64).to_radians().sin_cos();
            let push = upset.push.to_n();
            if push == 0.0 {
                prop_assert_eq!(upset.gives_way, GivesWay::Unloads);
                continue;
            }
            // One metre to either side along the push: a pair of F = H·lever/2.
            let pair = push * (height / 1000.0 - saddles) / 2.0;
            let pair = [(1000.0, -pair), (-1000.0, pair)].map(|(arm, up)| PointForce {
                at: spot(arm * cos, arm * sin), up: Force::n(up),
            });
            let pushed = newtons(&stands.estimates(&load, &pair).unwrap());
            let each = push / count;
            for (number, (stand, n)) in stands.all().iter().zip(pushed).enumerate() {
                let slides = stand.friction.to_one() * n - each;
                let tips =
                    n * stand.foot_half_width.to_m() - each * stand.height.to_m();
                prop_assert!(-1e-6 < slides && -1e-6 < tips && -1e-6 < n);
                if number == upset.stand {
                    let tight = match upset.gives_way {
                        GivesWay::SaddleSlides => slides,
                        GivesWay::StandTips => tips,
                        GivesWay::Unloads => n,
                    };
                    prop_assert!(tight.abs() < 1e-6, "{:?} {}", upset, tight);
                }
            }
        }
    }

    #[test]
    fn ballast_is_enough_and_not_more(
        (stands, loads) in (3..=5_usize).prop_flat_map(|count| {
            (some_stands(count), prop::collection::vec(0.0..1500.0_f64, count))
        }),
        over in prop::collection::vec(0..3_usize, 1..3), keep in 0.0..600.0_f64,
        jack in 0.0..2500.0_f64,
    ) {
        prop_assume!(1.0 < loads.iter().sum::<f64>());
        let load = made_up(&stands, &loads);
        let lift = PointForce { at: spot(-440.0, 600.0), up: Force::n(jack) };
        let least_with = |each: f64| {
            let mut forces = vec![lift];
            for (at, stand) in stands.all().iter().enumerate() {
                if over.contains(&at) {
                    forces.push(PointForce { at: stand.at, up: -Mass::kg(each).weight() });
                }
            }
            let loads = newtons(&stands.estimates(&load, &forces).unwrap());
            loads.into_iter().fold(f64::INFINITY, f64::min)
        };
        match stands.ballast(&load, &[lift], &over, Force::n(keep)).unwrap() {
            Some(mass) => {
                prop_assert!(keep - 1e-6 < least_with(mass.to_kg()));
                prop_assert!(mass == Mass::ZERO || least_with(mass.to_kg() * 0.999) < keep);
            }
            None => {
                // Concave in the ballast: if no step of a fine ladder does it, none does.
                for step in 0..2000 { prop_assert!(least_with(f64::from(step)) < keep + 1e-6); }
            }
        }
    }

    #[test]
    fn nothing_panics(
        bits in prop::collection::vec(any::<[u64; 6]>(), 2..8), count in 0..8_usize,
        pick in any::<usize>(),
    ) {
        let given = bits.iter().take(count).map(|bits| {
            let [x, y, h, a, mu, kg] = bits.map(f64::from_bits);
            Stand {
                at: Spot { x: Length::m(x), y: Length::m(y) }, height: Length::m(h),
                foot_half_width: Length::m(a), friction: Ratio::one(mu), rating: Mass::kg(kg),
            }
        });
        let _ = Stands::new(given.collect());
        let [w, x, y, up, h, keep] = bits[0].map(f64::from_bits);
        let at = Spot { x: Length::m(x), y: Length::m(y) };
        let (stands, sound) = shell();
        for load in [Load { weight: Force::n(w), centre: at }, sound] {
            for forces in [vec![], vec![PointForce { at, up: Force::n(up) }]] {
                if let Ok(loads) = stands.loads(&load, &forces) {
                    prop_assert!(loads.iter().all(|one| one.most.is_finite()));
                }
                let _ = stands.upset(&load, &forces, Length::m(h));
                let _ = stands.ballast(&load, &forces, &[pick, 1], Force::n(keep));
            }
        }
        prop_assert!(stands.nearest(at) < 4);
    }
}

/// By hand, push to the left at 900 mm on saddles 480 mm high: lever 0.42 m, Ση² = 0.8658 m². The
/// right rear loses 0.42·0.45/0.8658 = 0.21830 N per N, so it slides at
/// 0.2·1033.67/(0.25 + 0.2·0.21830) = 704 N, before it would tip (0.22917 for 0.2: 789 N).
#[test]
fn upset_by_hand() {
    let (stands, load) = shell();
    let found = stands.upset(&load, &[], Length::mm(900.0)).unwrap();
    let left = found.iter().find(|upset| upset.direction == Direction::Left).unwrap();
    assert_eq!((left.stand, left.gives_way), (3, GivesWay::SaddleSlides));
    let rear = 520.0 * 9.806_65 * 600.0 / 1480.0 / 2.0;
    let by_hand = 0.2 * rear / (0.25 + 0.2 * 0.42 * 0.45 / 0.8658);
    assert!((left.push.to_n() - by_hand).abs() < 1e-9);
    assert!((left.push.to_n() - 704.0).abs() < 0.5);
    // On a narrow foot it tips instead.
    let narrow =
        stands.all().iter().map(|stand| Stand { foot_half_width: Length::mm(70.0), ..*stand });
    let narrow = Stands::new(narrow.collect()).unwrap();
    let found = narrow.upset(&load, &[], Length::mm(900.0)).unwrap();
    assert!(found.iter().all(|upset| upset.gives_way == GivesWay::StandTips));
    // A jack that empties a stand leaves nothing to push for. Lifting right at the left rear takes
    // 1/4 + 0.74²/2.1904 + 0.45²/0.8658 of the jack's force off that stand.
    let relief = 0.25 + 0.74 * 0.74 / 2.1904 + 0.45 * 0.45 / 0.8658;
    let jack = PointForce { at: spot(20.0, 450.0), up: Force::n(rear / relief) };
    let found = stands.upset(&load, &[jack], Length::mm(900.0)).unwrap();
    assert!(found.iter().all(|upset| upset.push.to_n() < 1e-6 && upset.stand == 2));
}

/// Four stands in a square of a metre, the centre 100 mm from one corner. Equal springs would have
/// the far stand pull with 0.25 − 0.2 − 0.2 = −0.15 of the weight; lifted off, the other three
/// carry 0.8, 0.1 and 0.1 by levers.
#[test]
fn a_stand_that_would_pull_is_lifted_off() {
    let square = [stand(0.0, 0.0), stand(1000.0, 0.0), stand(0.0, 1000.0), stand(1000.0, 1000.0)];
    let stands = Stands::new(square.to_vec()).unwrap();
    let load = Load { weight: Force::n(1000.0), centre: spot(100.0, 100.0) };
    assert!((newtons(&stands.estimates(&load, &[]).unwrap())[3] + 150.0).abs() < 1e-9);
    let pressing = stands.pressing(&load, &[]).unwrap();
    assert_eq!(pressing, [0, 1, 2]);
    let loads = newtons(&stands.only(&pressing).unwrap().estimates(&load, &[]).unwrap());
    for (got, by_hand) in loads.iter().zip([800.0, 100.0, 100.0]) {
        assert!((got - by_hand).abs() < 1e-9, "{loads:?}");
    }
    let middle = Load { centre: spot(500.0, 500.0), ..load };
    assert_eq!(stands.pressing(&middle, &[]).unwrap(), [0, 1, 2, 3]);
    let off = Load { centre: spot(-100.0, 500.0), ..load };
    assert!(matches!(stands.pressing(&off, &[]), Err(SupportError::Outside { .. })));
}

/// The least of what each stand bears is what the whole bears.
#[test]
fn the_first_stand_to_give_way_is_one_of_them() {
    let (stands, load) = shell();
    let each = stands.upset_of_each(&load, &[], Length::mm(900.0)).unwrap();
    for first in stands.upset(&load, &[], Length::mm(900.0)).unwrap() {
        let here = each.iter().filter(|one| one.direction == first.direction);
        let least = here.map(|one| one.push.to_n()).fold(f64::INFINITY, f64::min);
        assert!((least - first.push.to_n()).abs() < 1e-9, "{first:?}");
    }
}

#[test]
fn nearest_stand_and_ballast_by_hand() {
    let (stands, load) = shell();
    let jack_point = Place::mm(-440.0, 600.0, -150.0);
    assert_eq!(stands.nearest(jack_point.into()), 2);
    let none = stands.ballast(&load, &[], &[2, 3], Force::n(200.0)).unwrap();
    assert_eq!(none, Some(Mass::ZERO));
    // Three stands: a bag over one rests on that one alone. 300 N there, 500 N wanted.
    let three = Stands::new(vec![stand(0.0, 0.0), stand(1000.0, 0.0), stand(0.0, 1000.0)]).unwrap();
    let load = Load { weight: Force::n(1000.0), centre: spot(300.0, 300.0) };
    let one = three.ballast(&load, &[], &[2], Force::n(300.0)).unwrap().unwrap();
    assert!(one.to_kg() < 1e-9);
    let all = three.ballast(&load, &[], &[1, 2], Force::n(350.0)).unwrap().unwrap();
    assert!((all.to_kg() - 50.0 / 9.806_65).abs() < 1e-9);
    assert_eq!(three.ballast(&load, &[], &[0], Force::n(350.0)).unwrap(), None);
    let wrong = three.ballast(&load, &[], &[3], Force::n(350.0)).unwrap_err();
    assert_eq!(wrong.to_string(), "there is no stand 4; there are 3");
}

#[test]
fn refusals_say_what_and_how_much() {
    let (stands, load) = shell();
    let refused = |error: SupportError| format!("{error}; {}", error.hint());
    let behind = Load { centre: spot(-80.0, 0.0), ..load };
    let text = refused(stands.loads(&behind, &[]).unwrap_err());
    assert!(
        text.starts_with(
            "the load's centre is 100 mm outside the line from stand 3 to stand 4; \
         the body tips over that line; stop:"
        ),
        "{text}"
    );
    assert!(stands.estimates(&behind, &[]).is_ok());
    let jack = PointForce { at: spot(900.0, 0.0), up: Force::n(6000.0) };
    let text = refused(stands.loads(&load, &[jack]).unwrap_err());
    assert!(text.starts_with("the stands are left with -901 N; the body is off them"), "{text}");
    let make = |stands| refused(Stands::new(stands).unwrap_err());
    assert!(
        make(vec![stand(0.0, 0.0), stand(1.0e3, 0.0)]).starts_with("2 stands; it takes 3 to 6")
    );
    let line = vec![stand(0.0, 0.0), stand(500.0, 1.0), stand(1000.0, 0.0)];
    assert!(make(line).starts_with("the stands are all in one line"));
    let twice = vec![stand(0.0, 0.0), stand(500.0, 300.0), stand(0.0, 5.0)];
    assert!(make(twice).starts_with("stands 1 and 3 are in one place"));
    let low = Stand { height: Length::mm(0.48), ..stand(0.0, 0.0) };
    let odd = |odd| make(vec![odd, stand(1000.0, 0.0), stand(0.0, 900.0)]);
    assert!(odd(low).starts_with("stand 1: saddle height is 0.5 mm; it must lie between 10 mm"));
    let slick = Stand { friction: Ratio::ZERO, ..stand(0.0, 0.0) };
    assert!(odd(slick).starts_with("stand 1: friction is 0.000; it must be more than 0"));
    let pair = Stand { rating: Mass::kg(0.5), ..stand(0.0, 0.0) };
    assert!(odd(pair).starts_with("stand 1: rated 0.5 kg"));
    let far = Stand { at: spot(1.5e6, 0.0), ..stand(0.0, 0.0) };
    assert!(odd(far).starts_with("a stand lies at X 1500000 mm"));
    let high = stands.upset(&load, &[], Length::m(900.0)).unwrap_err();
    assert!(refused(high).starts_with("push at 900000 mm above the floor"));
}

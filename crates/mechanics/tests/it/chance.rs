//! Draws in general: linear problems, intervals, refusals; budget, teeth and the log of attempts.

use axlewright_mechanics::chance::attempts::{self, Cause, Habits};
use axlewright_mechanics::chance::budget::{Better, budget};
use axlewright_mechanics::chance::corner::{Ask, Case, Limits, Measuring, Told};
use axlewright_mechanics::chance::{
    ChanceError, Distribution, Draws, Inputs, Outcomes, Plan, Shape, Tally, run, unwatched,
};
use axlewright_mechanics::splines::{Attempt, Ends, Move, Splines, Wanted};
use axlewright_quantity::{Amount, Angle, Kind, Length, Mass, Ratio, Side};
use proptest::prelude::*;

use crate::doubts;

fn mm(x: f64) -> Amount {
    Amount::from_shown(Kind::Length, x)
}

fn drawn(inputs: &Inputs, draws: usize, model: impl Fn(&[f64]) -> Option<f64> + Sync) -> Outcomes {
    let typed = |x: &[Amount]| {
        let plain: Vec<f64> = x.iter().map(|x| x.shown()).collect();
        Some([mm(model(&plain)?)])
    };
    let told: Draws<1> = run(inputs, Plan { seed: 9, draws }, typed, &unwatched).unwrap();
    told.outcome(0).unwrap()
}

/// Numbers 1 to 1000 as outcomes: everything can be counted by hand.
fn thousand() -> Outcomes {
    let inputs = Inputs::new(vec![Distribution::normal(mm(0.0), mm(0.0)).unwrap()]);
    let counter = std::sync::atomic::AtomicUsize::new(0);
    // The first call is the best value itself.
    let next = |_: &[f64]| Some(counter.fetch_add(1, std::sync::atomic::Ordering::Relaxed) as f64);
    let all = drawn(&inputs, 1000, next);
    assert_eq!((all.count(), all.refused()), (1000, 0));
    all
}

#[test]
fn intervals_and_quantiles_by_counting() {
    let all = thousand();
    assert!((all.mean().unwrap().shown() - 500.5).abs() < 1e-9);
    // n(n + 1)/12 for 1 … n, n − 1 in the divisor.
    assert!((all.u().unwrap().shown() - (1000.0_f64 * 1001.0 / 12.0).sqrt()).abs() < 1e-9);
    let interval = all.interval(Ratio::percent(95.0)).unwrap();
    // JCGM 101, 7.7.2: q = 950, r = 25, from y(25) to y(975).
    assert!((interval.low.shown() - 25.0).abs() < 1e-9);
    assert!((interval.high.shown() - 975.0).abs() < 1e-9);
    assert!((all.quantile(Ratio::one(0.5)).unwrap().shown() - 500.5).abs() < 1e-9);
    assert!((all.quantile(Ratio::one(0.0)).unwrap().shown() - 1.0).abs() < 1e-9);
    assert!((all.quantile(Ratio::one(1.0)).unwrap().shown() - 1000.0).abs() < 1e-9);
    let in_100 = |hits| Tally { hits, of: 1000 }.in_100();
    assert_eq!([0, 1, 100, 999, 1000].map(in_100), [0, 1, 10, 99, 100]);
    let bars = all.histogram(10).unwrap();
    let shares: f64 = bars.iter().map(|bar| bar.share.to_one()).sum();
    assert!((0.997..=1.0).contains(&shares), "{shares}");
    assert!(bars.iter().all(|bar| (bar.share.to_one() - 0.0998).abs() < 0.002), "{bars:?}");
    assert!(all.histogram(101).is_err() && all.histogram(0).is_err());
    // Fewer than two beyond either end: no such interval.
    assert!(all.interval(Ratio::percent(99.7)).is_err());
}

#[test]
fn a_model_without_an_answer_is_counted() {
    let inputs = Inputs::new(vec![Distribution::normal(mm(0.0), mm(1.0)).unwrap()]);
    let half = drawn(&inputs, 100_000, |x| (x[0] <= 0.0).then_some(x[0]));
    assert!((half.refused() as f64 / 1e5 - 0.5).abs() < 0.01);
    assert_eq!(half.count() + half.refused(), 100_000);
    let none = run::<1>(&inputs, Plan { seed: 1, draws: 100 }, |_| None, &unwatched);
    assert_eq!(none.unwrap_err(), ChanceError::NoOutcome);
}

#[test]
fn refusals() {
    assert!(Distribution::normal(mm(0.0), mm(-1.0)).is_err());
    assert!(Distribution::normal(mm(f64::NAN), mm(1.0)).is_err());
    let angle = Amount::from_shown(Kind::Angle, 1.0);
    assert_eq!(
        Distribution::normal(mm(0.0), angle).unwrap_err().to_string(),
        "uncertainty of an input is an angle, where a length is meant"
    );
    let three = || Inputs::new(vec![Distribution::normal(mm(0.0), mm(1.0)).unwrap(); 3]);
    let r = Ratio::one;
    // All three against each other: no three quantities do that.
    let pairs = [(0, 1, r(-0.9)), (0, 2, r(-0.9)), (1, 2, r(-0.9))];
    assert_eq!(three().correlated(&pairs).unwrap_err(), ChanceError::Correlation { number: 3 });
    assert!(three().correlated(&[(0, 0, r(0.5))]).is_err());
    assert!(three().correlated(&[(0, 3, r(0.5))]).is_err());
    assert!(three().correlated(&[(0, 1, r(1.1))]).is_err());
    assert!(three().correlated(&[(0, 1, r(f64::NAN))]).is_err());
    let plan = Plan { seed: 0, draws: 99 };
    let same = |x: &[Amount]| Some([x[0]]);
    assert!(run(&three(), plan, same, &unwatched).is_err());
}

/// Fully correlated inputs move as one, opposite ones cancel.
#[test]
fn full_correlation() {
    for (r, u) in [(1.0, 5.0), (-1.0, 1.0)] {
        let each = vec![
            Distribution::normal(mm(0.0), mm(2.0)).unwrap(),
            Distribution::normal(mm(0.0), mm(3.0)).unwrap(),
        ];
        let inputs = Inputs::new(each).correlated(&[(0, 1, Ratio::one(r))]).unwrap();
        let sum = drawn(&inputs, 50_000, |x| Some(x[0] + x[1]));
        assert!((sum.u().unwrap().shown() / u - 1.0).abs() < 0.02, "{r}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A linear model: mean and variance of the draws are those of the parts, whatever the shapes.
    #[test]
    fn linear_problems(
        parts in prop::collection::vec((-3.0..3.0_f64, 0.1..2.0_f64, any::<bool>()), 1..6),
        r in -0.95..0.95_f64,
    ) {
        let shape = |normal| if normal { Shape::Normal } else { Shape::Rectangular };
        let each: Vec<Distribution<Amount>> = parts.iter()
            .map(|&(c, u, normal)| Distribution::new(mm(c), mm(u), shape(normal)).unwrap())
            .collect();
        let mut variance: f64 = parts.iter().map(|&(c, u, _)| (c * u).powi(2)).sum();
        let normals: Vec<usize> = (0..parts.len()).filter(|&i| parts[i].2).collect();
        let mut inputs = Inputs::new(each);
        if let [i, j, ..] = normals[..] {
            inputs = inputs.correlated(&[(i, j, Ratio::one(r))]).unwrap();
            variance += 2.0 * r * parts[i].0 * parts[i].1 * parts[j].0 * parts[j].1;
        }
        prop_assume!(variance > 1e-3);
        let weights: Vec<f64> = parts.iter().map(|part| part.0).collect();
        let model = |x: &[Amount]| {
            let sum = x.iter().zip(&weights).map(|(x, c)| c * x.shown()).sum();
            Some([mm(sum)])
        };
        let u = variance.sqrt();
        let draws: Draws<1> =
            run(&inputs, Plan { seed: 4, draws: 40_000 }, model, &unwatched).unwrap();
        let told = draws.outcome(0).unwrap();
        let centre: f64 = parts.iter().map(|&(c, ..)| c * c).sum();
        prop_assert!((told.mean().unwrap().shown() - centre).abs() < 5.0 * u / 200.0);
        prop_assert!((told.u().unwrap().shown() / u - 1.0).abs() < 0.02);
    }

    #[test]
    fn nothing_panics(bits in prop::array::uniform6(any::<u64>()), teeth in -300..300_i32) {
        let x = bits.map(f64::from_bits);
        let splines = Splines::new(38, 42).unwrap();
        let made = Move { anchor_teeth: teeth, plate_teeth: -teeth };
        let attempt = |angle, u| Attempt { made, angle: Angle::deg(angle), u: Angle::deg(u) };
        let habits = Habits {
            miscount: Ratio::one(x[4]), misread: Ratio::one(x[5]), slip: Ratio::one(x[0]),
        };
        let log = [attempt(x[0], x[1]), attempt(x[2], x[3])];
        let _ = attempts::read(&splines, &log, habits);
        let _ = attempts::read(&splines, &log, Habits::STATED);
        if let Ok(input) = Distribution::normal(mm(x[0]), mm(x[1])) {
            let inputs = Inputs::new(vec![input]);
            let same = |x: &[Amount]| Some([x[0]]);
            let told: Result<Draws<1>, _> =
                run(&inputs, Plan { seed: bits[2], draws: 200 }, same, &unwatched);
            if let Ok(told) = told {
                let all = told.outcome(0).unwrap();
                let _ = (all.mean(), all.u(), all.histogram(5));
                let _ = all.interval(Ratio::one(x[3]));
            }
        }
    }
}

const ASK: Ask<'static> =
    Ask { free: Angle::deg(26.0), trim: Length::mm(95.0), side: Side::Left, shared: &[] };
const LIMITS: Limits = Limits { low: Length::mm(90.0), high: Length::mm(100.0), left_right: None };
const SMALL: Plan = Plan { seed: 2, draws: 10_000 };

/// The free angle that the best values ask for.
fn target(case: &Case) -> Angle {
    Angle::rad(case.plain(&ASK).unwrap()[Told::FreeNeeded as usize].to_si())
}

/// Weighing, 8 kg to 3 kg, against a finer gauge; friction counts only in what is read.
#[test]
fn the_budget_ranks_what_a_better_measurement_buys() {
    let case = doubts::case();
    let ask = Ask { free: target(&case), ..ASK };
    let better = |measuring| match measuring {
        Measuring::Scales => Better::To(Mass::kg(3.0).into()),
        _ => Better::Halved,
    };
    let told = |told| budget(&case, &ask, (told, &LIMITS), better, SMALL, &unwatched).unwrap();
    let trim = told(Told::Trim);
    let row = |budget: &axlewright_mechanics::chance::budget::Budget, which| {
        *budget.rows.iter().find(|row| row.measuring == which).unwrap()
    };
    let shares: f64 = trim.rows.iter().map(|row| row.share.to_one()).sum();
    assert!((shares - 1.0).abs() < 1e-9);
    assert!(trim.rows.iter().all(|row| row.gain_in_100.to_one() > -1.0), "{:?}", trim.rows);
    // The same draws: what has no part in the outcome changes no build at all.
    let friction = row(&trim, Measuring::Friction);
    assert_eq!((friction.gain_in_100.to_one(), friction.better), (0.0, trim.now));
    let scales = row(&trim, Measuring::Scales);
    assert!(scales.gain_in_100.to_one() > 2.0, "{scales:?}");
    assert!(scales.gain_in_100.to_one() > row(&trim, Measuring::Gauge).gain_in_100.to_one());
    assert!(trim.rows[0].gain_in_100.to_one() >= trim.rows[1].gain_in_100.to_one());
    let read = told(Told::TrimRead);
    assert!(row(&read, Measuring::Friction).gain_in_100.to_one() > 0.5);
    assert!(read.now.hits < trim.now.hits);
}

fn attempt(anchor_teeth: i32, plate_teeth: i32, angle: f64) -> Attempt {
    let made = Move { anchor_teeth, plate_teeth };
    Attempt { made, angle: Angle::deg(angle), u: Angle::deg(0.15) }
}

fn read(log: &[Attempt]) -> attempts::Log {
    attempts::read(&Splines::new(38, 42).unwrap(), log, Habits::STATED).unwrap()
}

const ANCHOR: f64 = 360.0 / 38.0;
const PLATE: f64 = 360.0 / 42.0;

#[test]
fn a_log_as_counted_and_its_errors() {
    let as_counted =
        read(&[attempt(0, 0, 34.9), attempt(-2, 1, 34.9 - 2.0 * ANCHOR + PLATE + 0.1)]);
    assert_eq!(as_counted.attempts[1].likeliest(), Cause::AsCounted);
    assert!(!as_counted.read_again());
    let now = as_counted.now().unwrap();
    assert!(now.u < Angle::deg(0.15) && now.chance.to_one() > 0.9, "{now:?}");

    let extra = Move { anchor_teeth: 1, plate_teeth: 0 };
    let miscounted = read(&[attempt(0, 0, 34.9), attempt(-2, 1, 34.9 - ANCHOR + PLATE - 0.1)]);
    assert_eq!(miscounted.attempts[1].likeliest(), Cause::Miscounted(extra));
    assert_eq!(
        miscounted.attempts[1].likeliest().words(),
        "one tooth further tail down at the anchor than counted"
    );
    assert!(!miscounted.read_again());
    // An end that stayed together was not miscounted: the same reading cannot be told so.
    let plate_only = read(&[attempt(0, 0, 34.9), attempt(0, 1, 34.9 + PLATE + ANCHOR)]);
    let at_anchor = |cause| matches!(cause, Cause::Miscounted(m) if m.anchor_teeth != 0);
    assert_eq!(plate_only.attempts[1].chance(at_anchor).to_one(), 0.0);
    assert!(plate_only.read_again());
}

#[test]
fn what_is_no_attempt_is_refused() {
    let read = |log: &[Attempt]| {
        let error = attempts::read(&Splines::new(38, 42).unwrap(), log, Habits::STATED);
        error.unwrap_err().to_string()
    };
    assert_eq!(read(&[]), "there is no attempt to go on from");
    let sure = Attempt { u: Angle::ZERO, ..attempt(0, 0, 30.0) };
    assert!(
        read(&[attempt(0, 0, 30.0), sure]).starts_with("uncertainty of attempt 2 is 0.000000°")
    );
    let round = read(&[attempt(0, 0, 30.0), attempt(39, 0, 30.0)]);
    assert!(round.starts_with("attempt 2 moved 39 teeth at the anchor end"), "{round}");
}

/// A third reading tells a misreading from a slip: back to the old angle, or at the new one.
#[test]
fn a_third_reading_tells_misread_from_slipped() {
    let odd = 34.9 + 4.0;
    let open = read(&[attempt(0, 0, 34.9), attempt(0, 0, odd)]);
    assert!(open.read_again());
    let back = read(&[attempt(0, 0, 34.9), attempt(0, 0, odd), attempt(0, 0, 34.8)]);
    assert_eq!(back.attempts[1].likeliest(), Cause::Misread);
    assert!((back.now().unwrap().angle.to_deg() - 34.85).abs() < 0.05);
    let stays = read(&[attempt(0, 0, 34.9), attempt(0, 0, odd), attempt(0, 0, odd + 0.1)]);
    assert!(!stays.read_again());
    assert!((stays.now().unwrap().angle.to_deg() - odd - 0.05).abs() < 0.05, "{stays:?}");
    // Either the first was misread or the plate moved at the second.
    let first = stays.attempts[0].chance(|cause| cause == Cause::Misread).to_one();
    let second = stays.attempts[1].chance(|cause| cause == Cause::Slipped).to_one();
    assert!((first + second - 1.0).abs() < 0.01, "{first} {second}");
}

/// Two attempts by brute force: the angle before the move on a grid, every story summed up.
#[test]
fn chances_by_a_grid_of_angles() {
    let splines = Splines::new(38, 42).unwrap();
    let habits = Habits::STATED;
    let wild = attempts::WILD.to_deg();
    let density = |off: f64, s: f64| (-0.5 * (off / s).powi(2)).exp() / s;
    for second in [20.5, 21.0, 21.5, 23.0, 29.6, 12.0] {
        let log = [attempt(0, 0, 30.0), attempt(-1, 0, second)];
        let told = read(&log);
        let change = splines.change(log[1].made).to_deg();
        let anchor = splines.anchor_step().to_deg();
        let stories = [
            (Cause::AsCounted, 0.97 * 0.97, 0.0, 0.15),
            (
                Cause::Miscounted(Move { anchor_teeth: 1, plate_teeth: 0 }),
                0.97 * 0.015,
                anchor,
                0.15,
            ),
            (
                Cause::Miscounted(Move { anchor_teeth: -1, plate_teeth: 0 }),
                0.97 * 0.015,
                -anchor,
                0.15,
            ),
            (Cause::Misread, 0.02, 0.0, 0.15_f64.hypot(wild)),
            // A slip widens where the plate is; seen from the reading that is the same width.
            (Cause::Slipped, 0.01, 0.0, 0.15_f64.hypot(wild)),
        ];
        let weights = stories.map(|(_, prior, extra, width)| {
            let mut sum = 0.0;
            for n in -40_000..40_000 {
                let before = 30.0 + f64::from(n) * 0.001;
                let misread = habits.misread.to_one();
                let first = (1.0 - misread) * density(30.0 - before, 0.15)
                    + misread * density(30.0 - before, 0.15_f64.hypot(wild));
                sum += first * density(second - before - change - extra, width);
            }
            prior * sum
        });
        let all: f64 = weights.iter().sum();
        for ((cause, ..), weight) in stories.into_iter().zip(weights) {
            let ours = told.attempts[1].chance(|other| other == cause).to_one();
            assert!(
                (ours - weight / all).abs() < 1e-4,
                "{second} {cause:?}: {ours} {}",
                weight / all
            );
        }
    }
}

#[test]
fn the_next_move_counts_the_risk() {
    let splines = Splines::new(38, 42).unwrap();
    let log = read(&[attempt(0, 0, 35.2)]);
    let wanted = Wanted { count: 5, ends: Ends::Both };
    let (target, within) = (Angle::deg(26.0), Angle::deg(0.6));
    let told = log.next(&splines, (target, within), wanted).unwrap();
    let best = told[0];
    assert!(best.choice.error.abs() <= within);
    // Nothing is surer than not to miscount.
    let most = 0.97_f64.powi(i32::from(best.choice.ends));
    assert!(best.chance.to_one() <= most + 1e-12 && 0.5 < best.chance.to_one(), "{best:?}");
    assert!(log.next(&splines, (target, Angle::ZERO), wanted).is_err());
    // Staying where it stands, when that is good enough.
    let there = log.next(&splines, (Angle::deg(35.3), within), wanted).unwrap();
    assert_eq!(there[0].choice.ends, 0);
}

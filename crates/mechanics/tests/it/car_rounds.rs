//! Rounds on the wheels: what the readings say, and moves that bring everything inside.

use axlewright_mechanics::car::correct::{
    Adjusters, Band, Eccentrics, Goals, Plan, Screws, Step, ToothMove, ToothTimes, Turned, Why,
    correct, tooth_moves,
};
use axlewright_mechanics::car::learn::{Belief, Doubt, Lesson, Reading, Round, learn};
use axlewright_mechanics::car::{Car, FIGURES, Figure, Knob, Pair, Wheel};
use axlewright_mechanics::splines::{Ends, Splines};
use axlewright_quantity::{Amount, Angle, Kind, Length, Mass, Ratio, Side};

use crate::{larch, rounds};

fn near(what: &str, got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{what}: {got}, not {want}");
}

/// Numbers that look random and are the same on every run (Lehmer's generator).
struct Dice(u64);

impl Dice {
    fn even(&mut self) -> f64 {
        self.0 = self.0 * 48_271 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }
    /// Normal, by Box and Muller.
    fn normal(&mut self) -> f64 {
        let (a, b) = (self.even(), self.even());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

fn turned(car: &Car, moves: &[(Knob, Amount)]) -> Car {
    moves.iter().fold(car.clone(), |car, (knob, by)| car.turned(*knob, *by).unwrap())
}

fn scaled(amount: Amount, by: f64) -> Amount {
    Amount::from_si(amount.kind(), amount.to_si() * by)
}

/// A car that is off by a draw of every doubt.
fn truth(dice: &mut Dice) -> (Car, Vec<(Knob, Amount)>) {
    let off: Vec<(Knob, Amount)> =
        rounds::doubts().iter().map(|d| (d.knob, scaled(d.u, dice.normal()))).collect();
    (turned(&larch::car(), &off), off)
}

/// What is read off a car, each reading off by a draw of its u.
fn read(car: &Car, dice: &mut Dice) -> Round {
    let rest = car.rest().unwrap();
    let mut round = rounds::first();
    for reading in &mut round.readings {
        let value = rest.figure(reading.figure).unwrap();
        let si = value.to_si() + dice.normal() * reading.u.to_si();
        reading.value = Amount::from_si(value.kind(), si);
    }
    round
}

fn of(lesson: &Lesson, knob: Knob) -> f64 {
    lesson.knobs.iter().find(|k| k.knob == knob).unwrap().by.shown()
}

#[test]
fn the_demo_round_says_which_bar_on_which_side() {
    let lesson = learn(&larch::car(), &rounds::doubts(), &[rounds::first()]).unwrap();
    // Left stands high and carries more, right low and carries less: the left bar is wound up.
    assert!(of(&lesson, Knob::FreeAngle(Side::Left)) > 0.2);
    assert!(of(&lesson, Knob::FreeAngle(Side::Right)) < -0.05);
    assert!(lesson.readings.iter().all(|r| !r.misread));
    assert!((0.2..2.0).contains(&lesson.fit.to_one()), "{:?}", lesson.fit);
    let heavy =
        lesson.readings.iter().find(|r| r.reading.figure == Figure::Weight(Wheel::LeftRear));
    let first = heavy.unwrap().says.first().unwrap();
    assert_eq!(first.0, Knob::FreeAngle(Side::Left));
    assert!(first.1.to_si() > 0.0);
    // Everything is at least as sure as it was, and camber and toe are told by the eccentrics.
    assert!(lesson.knobs.iter().all(|k| k.u.to_si() <= k.u_before.to_si() * (1.0 + 1e-12)));
    let u = lesson.belief.u(Knob::ShiftU(Side::Left)).unwrap();
    assert!(u.shown() < 0.5, "{u:?}");
}

/// The sum that is to be least, by the public road: turn, rest, compare.
fn sum(off: &[f64], doubts: &[Doubt], rounds: &[Round]) -> f64 {
    let moves: Vec<_> = doubts.iter().zip(off).map(|(d, s)| (d.knob, scaled(d.u, *s))).collect();
    let mut car = turned(&larch::car(), &moves);
    let mut total: f64 = off.iter().map(|s| s * s).sum();
    for round in rounds {
        car = turned(&car, &round.moved);
        let rest = car.rest().unwrap();
        for r in &round.readings {
            let left = r.value.to_si() - rest.figure(r.figure).unwrap().to_si();
            total += (left / r.u.to_si()).powi(2);
        }
    }
    total
}

#[test]
fn the_fit_is_the_least_there_is() {
    let mut dice = Dice(7);
    let (car, _) = truth(&mut dice);
    let moved = vec![(Knob::FreeAngle(Side::Left), Amount::from_shown(Kind::Angle, -1.2))];
    let second = Round { moved: moved.clone(), ..read(&turned(&car, &moved), &mut dice) };
    let all = [read(&car, &mut dice), second];
    let doubts = rounds::doubts();
    let lesson = learn(&larch::car(), &doubts, &all).unwrap();
    assert!(lesson.readings.iter().all(|r| !r.misread));
    let best: Vec<f64> = lesson.knobs.iter().map(|k| k.by.to_si() / k.u_before.to_si()).collect();
    let least = sum(&best, &doubts, &all);
    for i in 0..best.len() {
        for by in [-0.02, 0.02] {
            let mut other = best.clone();
            other[i] += by;
            assert!(sum(&other, &doubts, &all) > least, "{i} {by}");
        }
    }
    // The curvature along one knob, by differences, against the covariance: with all others let
    // follow, (Δ/u)² is what the sum grows by. Here along the eigenvector of the first.
    let u = lesson.belief.u(doubts[0].knob).unwrap().to_si() / doubts[0].u.to_si();
    let along: Vec<f64> = doubts
        .iter()
        .map(|d| {
            let r = lesson.belief.correlation(doubts[0].knob, d.knob).unwrap().to_one();
            r * lesson.belief.u(d.knob).unwrap().to_si() / d.u.to_si()
        })
        .collect();
    let grown = |by: f64| {
        let other: Vec<f64> = best.iter().zip(&along).map(|(b, a)| b + by * a).collect();
        sum(&other, &doubts, &all) - least
    };
    near("growth", 0.5 * (grown(0.1) + grown(-0.1)), 0.01, 2e-4);
    assert!(u < 1.0);
}

/// Sixty hidden truths: what is learned is off by as much as is said, no more and no less.
#[test]
fn what_is_learned_is_as_sure_as_it_says() {
    let mut dice = Dice(2611);
    let (mut squares, mut count, mut left, mut before) = (0.0, 0.0, 0.0, 0.0);
    let (mut foretold_squares, mut foretold_count) = (0.0, 0.0);
    for _ in 0..60 {
        let (car, off) = truth(&mut dice);
        let lesson = learn(&larch::car(), &rounds::doubts(), &[read(&car, &mut dice)]).unwrap();
        for (knob, (_, real)) in lesson.knobs.iter().zip(&off) {
            let z = (knob.by.to_si() - real.to_si()) / knob.u.to_si();
            squares += z * z;
            count += 1.0;
            left += (knob.by.to_si() - real.to_si()).powi(2) / knob.u_before.to_si().powi(2);
            before += (real.to_si() / knob.u_before.to_si()).powi(2);
        }
        // The prediction of the next round, after a move that is known.
        let step = (Knob::FreeAngle(Side::Right), Amount::from_shown(Kind::Angle, 0.9));
        let next = turned(&car, &[step]).rest().unwrap();
        let (_, foretold) = lesson.belief.forecast(&turned(&lesson.car, &[step])).unwrap();
        for f in foretold {
            if matches!(f.figure, Figure::Weight(_) | Figure::Trim(_) | Figure::Camber(_)) {
                let off = next.figure(f.figure).unwrap().to_si() - f.value.to_si();
                foretold_squares += (off / f.u.to_si()).powi(2);
                foretold_count += 1.0;
            }
        }
    }
    // 1020 squares of which those of one car hang together: 1 ± 0.1 or so.
    near("learned", squares / count, 1.0, 0.15);
    near("foretold", foretold_squares / foretold_count, 1.0, 0.2);
    assert!(left < 0.6 * before, "{left} {before}");
}

#[test]
fn a_misread_scale_is_named_and_left_out() {
    let mut dice = Dice(44);
    let (car, _) = truth(&mut dice);
    let honest = [read(&car, &mut dice), read(&car, &mut dice)];
    let lesson = learn(&larch::car(), &rounds::doubts(), &honest).unwrap();
    assert!(lesson.readings.iter().all(|r| !r.misread));
    for (round, index) in [(1, 2), (0, 5), (1, 6), (0, 8)] {
        let mut rounds_ = honest.clone();
        let reading = &mut rounds_[round].readings[index];
        // As if digits were swapped: ten u off.
        let si = reading.value.to_si() + 10.0 * reading.u.to_si();
        reading.value = Amount::from_si(reading.value.kind(), si);
        let found = learn(&larch::car(), &rounds::doubts(), &rounds_).unwrap();
        let named: Vec<(usize, Figure)> = found
            .readings
            .iter()
            .filter(|r| r.misread)
            .map(|r| (r.round, r.reading.figure))
            .collect();
        assert_eq!(named, [(round + 1, rounds_[round].readings[index].figure)]);
        // Left out, the rest says what it said before, within what one reading is worth.
        for (a, b) in found.knobs.iter().zip(&lesson.knobs) {
            let apart = (a.by.to_si() - b.by.to_si()).abs();
            assert!(apart < 0.8 * b.u_before.to_si(), "{}: {apart}", a.knob.name());
        }
    }
}

#[test]
fn nonsense_is_refused_with_the_reason() {
    let car = larch::car();
    let doubt = |knob, u| Doubt { knob, u };
    let says = |doubts: &[Doubt], rounds: &[Round], words: &str| {
        let error = learn(&car, doubts, rounds).unwrap_err();
        assert!(error.to_string().contains(words), "{error}");
    };
    let degree = Amount::from_shown(Kind::Angle, 1.0);
    let free = Knob::FreeAngle(Side::Left);
    says(&[doubt(free, Mass::kg(1.0).into())], &[], "free angle of the left bar");
    says(&[doubt(free, degree), doubt(free, degree)], &[], "named twice");
    says(&[doubt(free, Angle::ZERO.into())], &[], "above zero");
    says(&[doubt(Knob::FrontCoupling, Amount::from_shown(Kind::LinearRate, 1.0))], &[], "");
    let round =
        |figure, value, u| [Round { moved: vec![], readings: vec![Reading { figure, value, u }] }];
    let trim = Figure::Trim(Side::Left);
    says(&[], &round(trim, degree, degree), "trim left");
    let mm = |n: f64| Amount::from_shown(Kind::Length, n);
    says(&[], &round(trim, mm(f64::NAN), mm(1.0)), "trim left");
    says(&[], &round(trim, mm(95.0), mm(0.0)), "trim left");
    // Nothing doubted, nothing read: nothing learned, and no harm.
    let lesson = learn(&car, &[], &[]).unwrap();
    assert_eq!(lesson.car, car);
    assert!(Belief::of(&[]).unwrap().forecast(&car).unwrap().1.iter().all(|f| f.u.to_si() == 0.0));
}

/// The plan's moves done by hand, knob by knob.
fn by_hand(car: &Car, plan: &Plan, per_turn: Length) -> Car {
    let mut moves: Vec<(Knob, Amount)> = Vec::new();
    for step in &plan.steps {
        match step {
            Step::Teeth(side, m) => moves.push((Knob::FreeAngle(*side), m.change.into())),
            Step::Screw(side, turns) => {
                moves.push((Knob::FrontRaised(*side), (per_turn * turns.to_one()).into()));
            }
            Step::Eccentrics(side, t) => {
                moves.push((Knob::ShiftU(*side), t.u.mark().into()));
                moves.push((Knob::ShiftW(*side), t.w.mark().into()));
            }
            Step::RollAndSettle | Step::Read => {}
        }
    }
    turned(car, &moves)
}

fn inside(car: &Car, goals: &Goals) -> bool {
    let rest = car.on_level_floor().rest().unwrap();
    let off = |f: Figure, target: f64, within: f64| {
        (rest.figure(f).unwrap().to_si() - target).abs() <= within * (1.0 + 1e-6)
    };
    let trim = goals.trim.unwrap();
    let (camber, toe) = (goals.camber.unwrap(), goals.toe.unwrap());
    let cross = goals.cross_weight.unwrap();
    Side::BOTH.iter().all(|s| {
        off(Figure::Trim(*s), trim.target.to_m(), trim.within.to_m())
            && off(Figure::Camber(*s), camber.target.to_rad(), camber.within.to_rad())
            && off(Figure::Toe(*s), toe.target.to_rad(), toe.within.to_rad())
    }) && off(Figure::TrimDifference, 0.0, goals.trim_difference.unwrap().to_m())
        && off(Figure::CrossWeight, cross.target.to_one(), cross.within.to_one())
}

#[test]
fn the_demo_is_brought_inside_and_reads_as_foretold() {
    let lesson = learn(&larch::car(), &rounds::doubts(), &[rounds::first()]).unwrap();
    let (goals, adjusters) = (rounds::goals(), rounds::adjusters());
    assert!(!inside(&lesson.car, &goals));
    let plan = correct(&lesson.car, &goals, &adjusters).unwrap();
    assert!(plan.missed.is_empty(), "{:?}", plan.missed);
    assert!(plan.worst.to_one() <= 1.0 + 1e-6);
    assert!(inside(&plan.car, &goals));
    let done = by_hand(&lesson.car, &plan, adjusters.screws.unwrap().per_turn);
    assert!(inside(&done, &goals));
    let rest = done.rest().unwrap();
    for figure in FIGURES {
        let (a, b) = (rest.figure(figure).unwrap(), plan.after.figure(figure).unwrap());
        near(&figure.name(), a.shown(), b.shown(), 1e-6);
    }
    assert!(plan.after.thrust.unwrap().to_deg().abs() < 0.05);
}

/// Random truths, one round, learned, corrected: the model after the moves is inside, and the
/// moves done by hand give what is foretold.
#[test]
fn corrections_bring_random_cars_inside() {
    let mut dice = Dice(31);
    let (goals, adjusters) = (rounds::goals(), rounds::adjusters());
    let mut done = 0;
    for _ in 0..12 {
        let (mut car, _) = truth(&mut dice);
        // Bars a few teeth out, as after a first fit.
        car.rear.left.free = car.rear.left.free + Angle::deg(2.0 * dice.normal());
        car.rear.right.free = car.rear.right.free + Angle::deg(2.0 * dice.normal());
        let plan = correct(&car, &goals, &adjusters).unwrap();
        let by_hand = by_hand(&car, &plan, adjusters.screws.unwrap().per_turn);
        assert_eq!(inside(&by_hand, &goals), plan.missed.is_empty(), "{:?}", plan.missed);
        for side in Side::BOTH {
            let screw = plan.screws[side].to_one();
            assert!(screw.abs() <= 6.0 + 1e-9);
            let offered = &adjusters.teeth[side];
            assert!(offered.contains(&plan.teeth[side]));
            if let Some(t) = plan.eccentrics[side] {
                assert!(t.u.shift.abs() <= Length::mm(4.0 + 1e-6));
                assert!(t.w.shift.abs() <= Length::mm(4.0 + 1e-6));
            }
        }
        done += usize::from(plan.missed.is_empty());
    }
    assert!(done >= 10, "{done}");
}

/// Fewest minutes: no pair of offered tooth moves with less time, screws free, keeps everything.
#[test]
fn nothing_quicker_keeps_all_tolerances() {
    let mut car = larch::car();
    car.rear.left.free = car.rear.left.free + Angle::deg(2.1);
    let goals = Goals { camber: None, toe: None, ..rounds::goals() };
    let adjusters = Adjusters { screws: None, eccentrics: None, ..rounds::adjusters() };
    let plan = correct(&car, &goals, &adjusters).unwrap();
    assert!(plan.missed.is_empty());
    for l in &adjusters.teeth.left {
        for r in &adjusters.teeth.right {
            if l.takes + r.takes >= plan.takes {
                continue;
            }
            let mut tried = car.clone();
            tried.rear.left.free = tried.rear.left.free + l.change;
            tried.rear.right.free = tried.rear.right.free + r.change;
            let rest = tried.rest().unwrap();
            let trims = Side::BOTH.map(|s| rest.rear[s].trim.to_mm());
            let keeps = trims.iter().all(|t| (t - 95.0).abs() <= 5.0)
                && (trims[0] - trims[1]).abs() <= 5.0
                && (rest.cross_weight.to_one() - 0.5).abs() <= 0.005;
            assert!(!keeps, "{l:?} {r:?} would do in {:?}", l.takes + r.takes);
        }
    }
}

fn why(plan: &Plan, figure: Figure) -> Option<Why> {
    plan.missed.iter().find(|m| m.figure == figure).map(|m| m.why)
}

#[test]
fn what_cannot_be_reached_has_its_reason() {
    let car = larch::car();
    let none = Adjusters { screws: None, eccentrics: None, ..rounds::adjusters() };
    let goals = Goals { camber: None, toe: None, cross_weight: None, ..rounds::goals() };
    // A step of 0.45° is some 4 mm of trim: half a millimetre can be missed.
    let fine = Band { target: Length::mm(96.9), within: Length::mm(0.3) };
    let plan = correct(&car, &Goals { trim: Some(fine), ..goals }, &none).unwrap();
    assert_eq!(why(&plan, Figure::Trim(Side::Left)), Some(Why::StepTooCoarse));
    // Farther than the moves offered.
    let far = Band { target: Length::mm(200.0), within: Length::mm(2.0) };
    let plan = correct(&car, &Goals { trim: Some(far), ..goals }, &none).unwrap();
    assert_eq!(why(&plan, Figure::Trim(Side::Right)), Some(Why::BeyondTheMoves));
    // Camber with nothing to turn but bars, on a car whose bars are not to be moved.
    let still = Adjusters { teeth: Pair::both(Vec::new()), ..none.clone() };
    let camber = Some(Band { target: Angle::deg(1.0), within: Angle::deg(0.1) });
    let plan = correct(&car, &Goals { camber, ..goals }, &still).unwrap();
    assert_eq!(why(&plan, Figure::Camber(Side::Left)), Some(Why::NothingMovesIt));
    assert!(plan.steps.is_empty());
    // With eccentrics, but farther than their throw.
    let throw = Length::mm(4.0);
    let takes = rounds::minutes(25);
    let eccentrics = Some(Pair::both(Eccentrics { throw_u: throw, throw_w: throw, takes }));
    let wide = Adjusters { eccentrics, ..still.clone() };
    let camber = Some(Band { target: Angle::deg(4.0), within: Angle::deg(0.1) });
    let plan = correct(&car, &Goals { camber, toe: rounds::goals().toe, ..goals }, &wide).unwrap();
    let missed = why(&plan, Figure::Camber(Side::Left)).or(why(&plan, Figure::Toe(Side::Left)));
    assert_eq!(missed, Some(Why::EccentricAtEnd(Side::Left)));
    assert!(plan.eccentrics.left.unwrap().w.at_end || plan.eccentrics.left.unwrap().u.at_end);
    // Cross weight wanted far off: screws go to their ends.
    let cross = Some(Band { target: Ratio::percent(60.0), within: Ratio::percent(0.1) });
    let screws = Adjusters { screws: rounds::adjusters().screws, ..still };
    let plan = correct(
        &car,
        &Goals { trim: None, trim_difference: None, cross_weight: cross, ..goals },
        &screws,
    )
    .unwrap();
    assert!(matches!(why(&plan, Figure::CrossWeight), Some(Why::ScrewAtEnd(_))));
    // A trim and a difference that exclude each other: the difference can be had by itself.
    let mut uneven = car.clone();
    uneven.sprung.centre.y = Length::mm(60.0);
    let tight = Goals {
        trim_difference: Some(Length::mm(1.0)),
        cross_weight: Some(Band { target: Ratio::percent(50.0), within: Ratio::percent(0.05) }),
        ..goals
    };
    let plan = correct(&uneven, &tight, &none).unwrap();
    assert!(!plan.missed.is_empty());
    assert!(
        plan.missed.iter().any(|m| matches!(m.why, Why::StandsAgainst(_) | Why::WithTheOthers))
    );
}

/// Camber and toe solved together; turned one after the other they would be out again.
#[test]
fn eccentrics_are_solved_together_and_the_trim_change_is_told() {
    let mut car = larch::car();
    car.rear.left.corner.shift.u = Length::mm(2.0);
    car.rear.left.corner.shift.w = Length::mm(-2.5);
    let adjusters = Adjusters {
        teeth: Pair::both(Vec::new()),
        screws: None,
        eccentrics: rounds::adjusters().eccentrics,
    };
    let goals = Goals { cross_weight: None, trim: None, trim_difference: None, ..rounds::goals() };
    let plan = correct(&car, &goals, &adjusters).unwrap();
    let left = plan.eccentrics.left.unwrap();
    assert!(plan.eccentrics.right.is_none());
    let angles = plan.after.rear.left.angles.unwrap();
    near("camber", angles.camber.to_deg(), -0.5, 1e-4);
    near("toe", angles.toe.to_deg(), 0.1, 1e-4);
    // Half the throw is a twelfth of a turn from the middle.
    let from = |t: Turned| (t.from.to_mm() / 4.0).asin();
    near(
        "turns u",
        left.u.turns.to_one() * 360.0,
        (left.u.angle.to_rad() - from(left.u)).to_degrees(),
        1e-9,
    );
    near("throw", 4.0 * left.w.angle.sin(), left.w.shift.to_mm(), 1e-9);
    assert!(!left.u.near_end && !left.w.near_end);
    let trims = [car.rest().unwrap(), plan.after].map(|r| r.rear.left.trim.to_mm());
    assert!((trims[0] - trims[1]).abs() > 0.2, "{trims:?}");
    assert_eq!(plan.steps.len(), 3);
}

#[test]
fn moves_within_a_span_are_every_step_by_the_quickest_teeth() {
    let splines = Splines::new(38, 42).unwrap();
    let times = ToothTimes { end: rounds::minutes(40), tooth: rounds::minutes(1) };
    let moves = tooth_moves(&splines, Ends::Both, Angle::deg(6.0), times).unwrap();
    // 360°/lcm(38, 42) = 0.4511°: thirteen steps each way, and none.
    assert_eq!(moves.len(), 27);
    let takes = |m: &ToothMove| {
        40 * u64::from(m.made.ends())
            + u64::from(m.made.anchor_teeth.unsigned_abs() + m.made.plate_teeth.unsigned_abs())
    };
    for m in &moves {
        near("change", m.change.to_deg(), splines.change(m.made).to_deg(), 1e-12);
        assert_eq!(m.takes, rounds::minutes(takes(m)));
        // Every pair of teeth once round: none quicker.
        for p in -38..=38 {
            for q in -42..=42 {
                let other = axlewright_mechanics::splines::Move { anchor_teeth: p, plate_teeth: q };
                let same = (splines.change(other) - m.change).to_deg().abs() < 1e-9;
                if same {
                    let other = ToothMove { made: other, ..*m };
                    assert!(takes(&other) >= takes(m), "{other:?} {m:?}");
                }
            }
        }
    }
    assert!(tooth_moves(&splines, Ends::Both, Angle::deg(40.0), times).is_err());
    assert!(tooth_moves(&splines, Ends::Both, Angle::deg(f64::NAN), times).is_err());
}

#[test]
fn adjusters_that_cannot_be_are_refused() {
    let car = larch::car();
    let (goals, good) = (rounds::goals(), rounds::adjusters());
    let screws = Screws { per_turn: Length::ZERO, ..good.screws.unwrap() };
    let bad = Adjusters { screws: Some(screws), ..good.clone() };
    assert!(correct(&car, &goals, &bad).is_err());
    let mut far = car.clone();
    far.rear.left.corner.shift.u = Length::mm(5.0);
    assert!(correct(&far, &goals, &good).unwrap_err().to_string().contains("fore-aft eccentric"));
    let none = Goals { keep: Ratio::one(0.0), ..goals };
    assert!(correct(&car, &none, &good).is_err());
    let trim = Some(Band { target: Length::mm(95.0), within: Length::ZERO });
    assert!(correct(&car, &Goals { trim, ..goals }, &good).is_err());
}

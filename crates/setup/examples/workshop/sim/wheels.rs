//! Rounds on the wheels: by the tool, and by hand.

use std::time::Duration;

use axlewright_mechanics::car::correct::{
    Adjusters, Band, Eccentrics, Goals, Plan, Screws, ToothTimes, correct, tooth_moves,
};
use axlewright_mechanics::car::learn::{Doubt, Reading, Round, learn};
use axlewright_mechanics::car::{Car, Figure, Knob, Pair, WHEELS, Wheel};
use axlewright_mechanics::splines::{Ends, Move};
use axlewright_quantity::{Amount, Angle, Force, Kind, Length, LinearRate, Mass, Ratio, Side};

use super::bench::fits_of;
use super::dice::Dice;
use super::world::{File, SCREW_MM, SCREW_TURNS, THROW_MM, Truth, errors};
use super::{Fault, Procedure};

/// Half widths: trim and its difference, mm; cross weight; camber and toe, deg.
const TRIM: f64 = 5.0;
const CROSS: f64 = 0.005;
const CAMBER: f64 = 20.0 / 60.0;
const TOE: f64 = 5.0 / 60.0;

/// What is inside its tolerance.
#[derive(Debug, Clone, Copy, Default)]
pub struct Inside {
    pub trims: bool,
    pub difference: bool,
    pub camber: bool,
    pub toe: bool,
    pub cross: bool,
    /// Larger of the two misses, mm, and of the difference.
    pub trim_off: f64,
    pub difference_mm: f64,
}

impl Inside {
    pub fn alignment(&self) -> bool {
        self.camber && self.toe
    }
    pub fn alignment_and_cross(&self) -> bool {
        self.alignment() && self.cross
    }
    pub fn all(&self) -> bool {
        self.alignment_and_cross() && self.trims && self.difference
    }
}

/// A figure as it is read or as it is.
type See<'a> = &'a dyn Fn(Figure) -> Result<f64, Fault>;

fn judge(see: See, truth: &Truth) -> Result<Inside, Fault> {
    let spec = truth.spec;
    let mut inside =
        Inside { trims: true, difference: true, camber: true, toe: true, ..Inside::default() };
    let mut trims = [0.0; 2];
    for (i, side) in Side::BOTH.into_iter().enumerate() {
        trims[i] = 1e3 * see(Figure::Trim(side))? - spec.trim.to_mm();
        let deg = |figure| see(figure).map(f64::to_degrees);
        inside.trims &= trims[i].abs() <= TRIM;
        inside.camber &= (deg(Figure::Camber(side))? - spec.camber.to_deg()).abs() <= CAMBER;
        inside.toe &= (deg(Figure::Toe(side))? - spec.toe.to_deg()).abs() <= TOE;
    }
    inside.trim_off = if trims[0].abs() < trims[1].abs() { trims[1] } else { trims[0] };
    inside.difference_mm = trims[0] - trims[1];
    inside.difference = inside.difference_mm.abs() <= TRIM;
    inside.cross = (see(Figure::CrossWeight)? - 0.5).abs() <= CROSS;
    Ok(inside)
}

/// By the truth: rolled and settled until no friction is left.
pub fn judge_truth(car: &Car, truth: &Truth) -> Result<Inside, Fault> {
    let rest = car.rest()?;
    judge(&|figure| Ok(rest.figure(figure)?.to_si()), truth)
}

/// The car as assembled with plates that hang so.
pub fn assembled(truth: &Truth, hung: Pair<Angle>) -> Result<Car, Fault> {
    let mut car = truth.car.clone();
    for side in Side::BOTH {
        let free = truth.plates[side].free_from_hanging(hung[side])?;
        car.rear[side].free = free - truth.settles[side];
    }
    Ok(car)
}

/// What scales, tape and gauges show, friction holding the car a little off its rest.
struct Shown {
    readings: Vec<Reading>,
}

struct Care {
    friction: f64,
    settlings: u32,
    alignment: u32,
    weighings: u32,
}

impl Care {
    const fn of(p: &Procedure) -> Self {
        let friction = if p.lift_and_push { errors::FRICTION / 2.0 } else { errors::FRICTION };
        Self {
            friction,
            settlings: p.settlings,
            alignment: p.alignment_readings,
            weighings: p.weighings,
        }
    }
    fn trim_u(&self) -> f64 {
        (self.friction.powi(2) + errors::TAPE.powi(2)).sqrt() / f64::from(self.settlings).sqrt()
    }
}

fn shown(truth: &Car, per: Pair<f64>, dice: &mut Dice, care: &Care) -> Result<Shown, Fault> {
    let mut stuck = truth.clone();
    for side in Side::BOTH {
        let mm = dice.mean(care.friction, care.settlings);
        stuck.rear[side].free = stuck.rear[side].free + Angle::deg(mm / per[side]);
    }
    let rest = stuck.rest()?;
    let mut readings = Vec::new();
    let mut read = |figure: Figure, scatter: f64, u: f64| -> Result<(), Fault> {
        let true_value = rest.figure(figure)?;
        let amount = |si| Amount::from_si(figure.kind(), si);
        let unit = Amount::from_shown(figure.kind(), 1.0).to_si();
        let value = amount(true_value.to_si() + scatter * unit);
        readings.push(Reading { figure, value, u: amount(u * unit) });
        Ok(())
    };
    let root = |n: u32| f64::from(n).sqrt();
    for at in WHEELS {
        let scatter = dice.mean(errors::SCALES, care.weighings);
        read(Figure::Weight(at), scatter, errors::SCALES / root(care.weighings))?;
    }
    for side in Side::BOTH {
        let scatter = dice.mean(errors::TAPE, care.settlings);
        read(Figure::Trim(side), scatter, care.trim_u())?;
    }
    for side in Side::BOTH {
        for figure in [Figure::Camber(side), Figure::Toe(side)] {
            let scatter = dice.mean(errors::ALIGNMENT, care.alignment);
            read(figure, scatter, errors::ALIGNMENT / root(care.alignment))?;
        }
    }
    Ok(Shown { readings })
}

impl Shown {
    fn see(&self, figure: Figure) -> Result<f64, Fault> {
        let of = |figure| {
            let reading = self.readings.iter().find(|r| r.figure == figure);
            reading.map(|r| r.value.to_si()).ok_or("nothing read")
        };
        if figure == Figure::CrossWeight {
            let kg: Vec<f64> =
                WHEELS.iter().map(|w| of(Figure::Weight(*w))).collect::<Result<_, _>>()?;
            let diagonal =
                of(Figure::Weight(Wheel::RightFront))? + of(Figure::Weight(Wheel::LeftRear))?;
            return Ok(diagonal / kg.iter().sum::<f64>());
        }
        Ok(of(figure)?)
    }
}

/// The file's car with the bars as they were taken to hang.
pub fn as_filed(file: &File, taken_for: Pair<Angle>) -> Result<Car, Fault> {
    let mut car = file.car.clone();
    for side in Side::BOTH {
        let free = file.plates[side].free_from_hanging(taken_for[side])?;
        car.rear[side].free = free - Angle::deg(errors::SETTLING / file.mm_per_deg[side]);
    }
    Ok(car)
}

/// What is doubted, as the tool puts it together from the file's uncertainties.
fn doubts(file: &File, procedure: &Procedure) -> Vec<Doubt> {
    let mass = file.car.sprung.mass.to_kg();
    let u = file.weight_u;
    let mut all = vec![
        Doubt { knob: Knob::SprungMass, u: Mass::kg(2.0 * u).into() },
        Doubt { knob: Knob::CentreX, u: Length::mm(2.0 * u * 1150.0 / mass).into() },
        Doubt { knob: Knob::CentreY, u: Length::mm(2.0 * u * 655.0 / mass).into() },
    ];
    for side in Side::BOTH {
        let mm = errors::SETTLING_U.hypot(1.5 * errors::POINT);
        let free = (mm / file.mm_per_deg[side]).hypot(procedure.index_u());
        let throw = THROW_MM * std::f64::consts::FRAC_1_SQRT_2;
        all.extend([
            Doubt { knob: Knob::FreeAngle(side), u: Angle::deg(free).into() },
            Doubt { knob: Knob::BarShare(side), u: Ratio::one(errors::RATE).into() },
            Doubt { knob: Knob::Gas(side), u: Force::n(errors::GAS / 3_f64.sqrt()).into() },
            Doubt { knob: Knob::ShiftU(side), u: Length::mm(throw).into() },
            Doubt { knob: Knob::ShiftW(side), u: Length::mm(throw).into() },
            Doubt { knob: Knob::FrontRaised(side), u: Length::mm(errors::FRONT).into() },
            Doubt {
                knob: Knob::FrontRate(side),
                u: LinearRate::n_per_mm(errors::FRONT_RATE).into(),
            },
        ]);
    }
    all
}

fn goals(truth: &Truth, keep: f64) -> Goals {
    let spec = truth.spec;
    let mm = Length::mm;
    Goals {
        trim: Some(Band { target: spec.trim, within: mm(TRIM) }),
        trim_difference: Some(mm(TRIM)),
        cross_weight: Some(Band { target: Ratio::one(0.5), within: Ratio::one(CROSS) }),
        camber: Some(Band { target: spec.camber, within: Angle::deg(CAMBER) }),
        toe: Some(Band { target: spec.toe, within: Angle::deg(TOE) }),
        keep: Ratio::one(keep),
    }
}

const fn minutes(n: u64) -> Duration {
    Duration::from_secs(60 * n)
}

/// What can be turned, as far as it is needed.
fn adjusters(
    truth: &Truth,
    file: &File,
    car: &Car,
    screwed: Pair<f64>,
) -> Result<Adjusters, Fault> {
    let rest = car.rest()?;
    let off = Pair::of(|side| (rest.rear[side].trim - truth.spec.trim).to_mm());
    let times = ToothTimes { end: minutes(30), tooth: minutes(1) };
    let moves = |side: Side| {
        let span = (1.2 + (off[side] / file.mm_per_deg[side]).abs()).min(8.0);
        tooth_moves(&truth.splines, Ends::Both, Angle::deg(span), times)
    };
    let left =
        |sign: f64| Pair::of(|side| Ratio::one((SCREW_TURNS - sign * screwed[side]).max(0.0)));
    let throw = Length::mm(THROW_MM);
    Ok(Adjusters {
        teeth: Pair { left: moves(Side::Left)?, right: moves(Side::Right)? },
        screws: Some(Screws {
            per_turn: Length::mm(SCREW_MM),
            turns_up: left(1.0),
            turns_down: left(-1.0),
            takes: minutes(10),
        }),
        eccentrics: Some(Pair::both(Eccentrics {
            throw_u: throw,
            throw_w: throw,
            takes: minutes(25),
        })),
    })
}

/// What came of it.
#[derive(Debug, Clone, Copy, Default)]
pub struct Done {
    /// Before anything was turned on the wheels.
    pub assembled: Inside,
    /// After the corrections of the first round, of the second, of all.
    pub after: [Inside; 3],
    /// As what is read afterwards has it.
    pub by_reading: [Inside; 3],
    /// Rounds of reading in which something had to be turned.
    pub rounds: u32,
    /// Settings of eccentrics and screws.
    pub settings: u32,
    /// Times a plate came off again.
    pub fits: u32,
    /// As the model has it at last, not all can be had at once with what can be turned.
    pub unreachable: bool,
}

impl Done {
    fn note(&mut self, round: u32, truth: Inside, by_reading: Inside) {
        let from = (round.clamp(1, 3) - 1) as usize;
        self.after[from..].fill(truth);
        self.by_reading[from..].fill(by_reading);
    }
}

/// The plan of the tool as hands carry it out: what was meant, and the car as it is then.
struct Hands<'a> {
    dice: &'a mut Dice,
    miscount: f64,
}

impl Hands<'_> {
    fn turn(
        &mut self,
        plan: &Plan,
        car: &mut Car,
        done: &mut Done,
    ) -> Result<Vec<(Knob, Amount)>, Fault> {
        let mut meant: Vec<(Knob, Amount)> = Vec::new();
        let mut turn = |knob: Knob, by: Amount, off: Amount| -> Result<(), Fault> {
            let real = Amount::from_si(by.kind(), by.to_si() + off.to_si());
            *car = car.turned(knob, real)?;
            meant.push((knob, by));
            Ok(())
        };
        for side in Side::BOTH {
            let teeth = plan.teeth[side];
            if teeth.made != Move::default() {
                done.fits += fits_of(self.dice, teeth.made, self.miscount);
                turn(Knob::FreeAngle(side), teeth.change.into(), Angle::ZERO.into())?;
            }
            let turns = plan.screws[side].to_one();
            if turns.abs() > 1e-6 {
                done.settings += 1;
                let mm = |n: f64| Amount::from_shown(Kind::Length, n * SCREW_MM);
                let off = mm(self.dice.normal(errors::SCREW));
                turn(Knob::FrontRaised(side), mm(turns), off)?;
            }
            if let Some(t) = plan.eccentrics[side] {
                done.settings += 2;
                for (knob, by) in [(Knob::ShiftU(side), t.u), (Knob::ShiftW(side), t.w)] {
                    let off = Length::mm(self.dice.normal(errors::MARK));
                    turn(knob, by.mark().into(), off.into())?;
                }
            }
        }
        Ok(meant)
    }
}

/// The plan that leaves most room to what is not known, as the tool looks for it.
fn roomiest(
    model: &Car,
    truth: &Truth,
    adjusters: &Adjusters,
    procedure: &Procedure,
) -> Result<Plan, Fault> {
    let mut last = None;
    for keep in procedure.keeps {
        let plan = correct(model, &goals(truth, *keep), adjusters)?;
        if plan.missed.is_empty() {
            return Ok(plan);
        }
        last = Some(plan);
    }
    last.ok_or_else(|| "no share of the tolerances to use".into())
}

/// Rounds as the tool leads them: read, learn, correct, read again.
pub fn by_tool(
    truth: &Truth,
    file: &File,
    (mut car, filed): (Car, Car),
    dice: &mut Dice,
    procedure: &Procedure,
) -> Result<Done, Fault> {
    let per = file.mm_per_deg;
    let care = Care::of(procedure);
    let doubts = doubts(file, procedure);
    let start = judge_truth(&car, truth)?;
    let mut done = Done { assembled: start, ..Done::default() };
    let mut rounds: Vec<Round> = Vec::new();
    let mut moved = Vec::new();
    let mut screwed = Pair::both(0.0);
    let mut read = shown(&car, per, dice, &care)?;
    done.note(1, start, judge(&|f| read.see(f), truth)?);
    for round in 1..=4 {
        rounds.push(Round { moved: std::mem::take(&mut moved), readings: read.readings });
        let lesson = learn(&filed, &doubts, &rounds)?;
        let mut model = lesson.car;
        for side in Side::BOTH {
            // Learned or not, an eccentric stands within its throw.
            let shift = &mut model.rear[side].corner.shift;
            let most = THROW_MM - 0.01;
            shift.u = Length::mm(shift.u.to_mm().clamp(-most, most));
            shift.w = Length::mm(shift.w.to_mm().clamp(-most, most));
        }
        let adjusters = adjusters(truth, file, &model, screwed)?;
        let plan = roomiest(&model, truth, &adjusters, procedure)?;
        done.unreachable = !plan.missed.is_empty();
        if plan.steps.is_empty() {
            break;
        }
        done.rounds = round;
        let mut hands = Hands { dice, miscount: procedure.miscount() };
        moved = hands.turn(&plan, &mut car, &mut done)?;
        for side in Side::BOTH {
            screwed[side] += plan.screws[side].to_one();
        }
        read = shown(&car, per, dice, &care)?;
        done.note(round, judge_truth(&car, truth)?, judge(&|f| read.see(f), truth)?);
    }
    Ok(done)
}

/// By hand: trim by trial, camber then toe then again, cross weight by trial; then from the start
/// until all of it reads right, four times at most.
pub fn by_hand(truth: &Truth, file: &File, mut car: Car, dice: &mut Dice) -> Result<Done, Fault> {
    let per = file.mm_per_deg;
    let care = Care::of(&Procedure::PLAIN);
    let start = judge_truth(&car, truth)?;
    let mut done = Done { assembled: start, ..Done::default() };
    for round in 1..=4 {
        let read = shown(&car, per, dice, &care)?;
        let inside = judge(&|f| read.see(f), truth)?;
        if round == 1 {
            done.note(1, start, inside);
        }
        if inside.all() {
            break;
        }
        done.rounds = round;
        trims_by_trial(truth, &mut car, per, dice, &mut done)?;
        alignment_by_trial(truth, &mut car, per, dice, &mut done)?;
        cross_by_trial(truth, &mut car, per, dice, &mut done)?;
        let read = shown(&car, per, dice, &care)?;
        done.note(round, judge_truth(&car, truth)?, judge(&|f| read.see(f), truth)?);
    }
    Ok(done)
}

/// One tooth against one, at the bar that is worse, until both trims read right; six at most.
fn trims_by_trial(
    truth: &Truth,
    car: &mut Car,
    per: Pair<f64>,
    dice: &mut Dice,
    done: &mut Done,
) -> Result<(), Fault> {
    let against = Move { anchor_teeth: 1, plate_teeth: -1 };
    let step = truth.splines.change(against);
    for _ in 0..6 {
        let read = shown(car, per, dice, &Care::of(&Procedure::PLAIN))?;
        let inside = judge(&|f| read.see(f), truth)?;
        if inside.trims && inside.difference {
            break;
        }
        let off = |side| -> Result<f64, Fault> {
            Ok(read.see(Figure::Trim(side))? - truth.spec.trim.to_m())
        };
        let (left, right) = (off(Side::Left)?, off(Side::Right)?);
        let (side, off) =
            if left.abs() < right.abs() { (Side::Right, right) } else { (Side::Left, left) };
        let by = if off > 0.0 { Angle::ZERO - step.abs() } else { step.abs() };
        *car = car.turned(Knob::FreeAngle(side), by.into())?;
        done.fits += fits_of(dice, against, errors::MISCOUNT);
    }
    Ok(())
}

/// He watches the gauge and turns until it shows what is wanted: camber, then toe, then camber.
fn alignment_by_trial(
    truth: &Truth,
    car: &mut Car,
    per: Pair<f64>,
    dice: &mut Dice,
    done: &mut Done,
) -> Result<(), Fault> {
    let spec = truth.spec;
    for side in Side::BOTH {
        for _ in 0..5 {
            let mut turned = false;
            for (figure, knob, wanted, within) in [
                (Figure::Camber(side), Knob::ShiftW(side), spec.camber, CAMBER),
                (Figure::Toe(side), Knob::ShiftU(side), spec.toe, TOE),
            ] {
                let read = shown(car, per, dice, &Care::of(&Procedure::PLAIN))?;
                let off = wanted.to_rad() - read.see(figure)?;
                if off.to_degrees().abs() <= within {
                    continue;
                }
                let (_, slopes) = car.rest_with_slopes()?;
                let mm = Length::mm(1.0);
                let per_mm = slopes.change(figure, knob, mm.into())?.to_si();
                let shift = car.rear[side].corner.shift;
                let at = if matches!(knob, Knob::ShiftU(_)) { shift.u } else { shift.w };
                let to = (at.to_mm() + off / per_mm).clamp(-THROW_MM, THROW_MM);
                *car = car.turned(knob, Length::mm(to - at.to_mm()).into())?;
                done.settings += 1;
                turned = true;
            }
            if !turned {
                break;
            }
        }
    }
    Ok(())
}

/// Half a turn of a front screw and on the scales again, until the diagonal reads right; ten at
/// most, left and right by turns.
fn cross_by_trial(
    truth: &Truth,
    car: &mut Car,
    per: Pair<f64>,
    dice: &mut Dice,
    done: &mut Done,
) -> Result<(), Fault> {
    for n in 0..10 {
        let read = shown(car, per, dice, &Care::of(&Procedure::PLAIN))?;
        if judge(&|f| read.see(f), truth)?.cross {
            break;
        }
        let heavy = read.see(Figure::CrossWeight)? > 0.5;
        let side = if n % 2 == 0 { Side::Left } else { Side::Right };
        // The diagonal counts the right front: raising it there loads it.
        let up = heavy == (side == Side::Left);
        let by = Length::mm(if up { 0.5 * SCREW_MM } else { -0.5 * SCREW_MM });
        *car = car.turned(Knob::FrontRaised(side), by.into())?;
        done.settings += 1;
    }
    Ok(())
}

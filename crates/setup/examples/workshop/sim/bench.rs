//! Plates hung on their bars: by the tool, and by hand.

use axlewright_mechanics::car::Pair;
use axlewright_mechanics::chance::attempts::{Habits, read};
use axlewright_mechanics::splines::{Attempt, Ends, Move, Splines, Wanted};
use axlewright_quantity::{Angle, Ratio, Side};

use super::dice::Dice;
use super::world::errors;
use super::{Fault, Procedure};

/// Fits after which he gives up.
const FITS_MAX: u32 = 12;

/// One plate, hung.
#[derive(Debug, Clone, Copy)]
pub struct Hung {
    /// Where it hangs in truth.
    pub angle: Angle,
    /// What he takes it for.
    pub taken_for: Angle,
    /// Times it was put on anew after the first reading.
    pub fits: u32,
    /// Within half a vernier step of the wanted angle in truth: after one fit, after two, at last.
    pub inside: [bool; 3],
    /// The same as his readings have it.
    pub by_reading: [bool; 3],
    /// Off the wanted angle after the first fit and at last, in vernier steps.
    pub first_in_steps: f64,
    pub off_in_steps: f64,
}

/// What a plate reads on one side of one car.
struct Gauge<'a> {
    dice: &'a mut Dice,
    /// What the sill has wrong however often the level is laid on it, deg.
    lasting: f64,
    procedure: Procedure,
}

impl Gauge<'_> {
    fn new(dice: &mut Dice, procedure: Procedure) -> Gauge<'_> {
        let lasting = dice.normal(errors::LEVEL * procedure.level_lasts.sqrt());
        Gauge { dice, lasting, procedure }
    }
    fn read(&mut self, hangs: Angle) -> Angle {
        let Procedure { plate_readings: n, sill_readings: m, level_lasts, .. } = self.procedure;
        let plate = self.dice.mean(errors::GAUGE, n);
        let lash: f64 = (0..n).map(|_| self.dice.within(errors::LASH)).sum::<f64>() / f64::from(n);
        let sill = self.dice.mean(errors::LEVEL * (1.0 - level_lasts).sqrt(), m);
        hangs + Angle::deg(plate + lash + sill + self.lasting)
    }
    /// What scatters from one such mean to the next; what lasts is in all of them alike.
    fn u(&self) -> Angle {
        let Procedure { plate_readings: n, sill_readings: m, level_lasts, .. } = self.procedure;
        let plate = errors::GAUGE.powi(2) + errors::LASH.powi(2) / 3.0;
        let sill = errors::LEVEL.powi(2) * (1.0 - level_lasts);
        Angle::deg((plate / f64::from(n) + sill / f64::from(m)).sqrt())
    }
}

/// The teeth as they are moved when so many were meant.
fn moved(dice: &mut Dice, meant: Move, miscount: f64) -> Move {
    let mut end = |teeth: i32| {
        let wrong = teeth != 0 && dice.happens(miscount);
        let extra = if dice.happens(0.5) { 1 } else { -1 };
        teeth + if wrong { extra } else { 0 }
    };
    Move { anchor_teeth: end(meant.anchor_teeth), plate_teeth: end(meant.plate_teeth) }
}

fn within(at: Angle, wanted: Angle, half: Angle) -> bool {
    (at - wanted).abs() <= half
}

/// Where the plate hangs when it is first put on: anywhere.
fn first(dice: &mut Dice, wanted: Angle) -> Angle {
    wanted + Angle::deg(dice.within(20.0))
}

struct Log {
    inside: [bool; 3],
    by_reading: [bool; 3],
    first_in_steps: f64,
}

impl Log {
    fn new() -> Self {
        Self { inside: [false; 3], by_reading: [false; 3], first_in_steps: 0.0 }
    }
    /// After so many fits; what is never touched again stays as it is.
    fn note(&mut self, fits: u32, off_in_steps: f64, by_reading: bool) {
        let inside = off_in_steps.abs() <= 0.5;
        if fits <= 1 {
            self.first_in_steps = off_in_steps;
        }
        let from = (fits.max(1) - 1).min(2) as usize;
        self.inside[from..].fill(inside);
        self.by_reading[from..].fill(by_reading);
    }
}

/// Readings into the log of attempts, the move of the best chance, again until none is better.
pub fn by_tool(
    (splines, wanted): (&Splines, Angle),
    dice: &mut Dice,
    procedure: Procedure,
) -> Result<Hung, Fault> {
    let half = splines.vernier_step() / 2.0;
    let miscount = procedure.miscount();
    let habits = Habits { miscount: Ratio::one(miscount), ..Habits::STATED };
    let mut angle = first(dice, wanted);
    let mut hands = dice.clone();
    let mut gauge = Gauge::new(dice, procedure);
    let u = gauge.u();
    let mut attempts = vec![Attempt { made: Move::default(), angle: gauge.read(angle), u }];
    let (mut fits, mut again, mut told) = (0, 0, Log::new());
    loop {
        let log = read(splines, &attempts, habits)?;
        if log.read_again() && again < 3 {
            again += 1;
            attempts.push(Attempt { made: Move::default(), angle: gauge.read(angle), u });
            continue;
        }
        let now = log.now().ok_or("no standing")?.angle;
        told.note(fits, (angle - wanted) / splines.vernier_step(), within(now, wanted, half));
        let ways = log.next(splines, (wanted, half), Wanted { count: 8, ends: Ends::Both })?;
        let best = ways.first().ok_or("no move")?.choice;
        if best.as_move() == Move::default() || fits == FITS_MAX {
            return Ok(Hung {
                angle,
                taken_for: now,
                fits,
                inside: told.inside,
                by_reading: told.by_reading,
                first_in_steps: told.first_in_steps,
                off_in_steps: (angle - wanted) / splines.vernier_step(),
            });
        }
        let made = moved(&mut hands, best.as_move(), miscount);
        angle = angle + splines.change(made);
        fits += 1;
        attempts.push(Attempt { made: best.as_move(), angle: gauge.read(angle), u });
    }
}

/// One tooth at a time towards the wanted angle, at the anchor, at the plate or one against the
/// other, reading once each time, until it reads right or no tooth makes it better.
pub fn by_hand((splines, wanted): (&Splines, Angle), dice: &mut Dice) -> Hung {
    let half = splines.vernier_step() / 2.0;
    let mut angle = first(dice, wanted);
    let mut hands = dice.clone();
    let mut gauge = Gauge::new(dice, Procedure::PLAIN);
    let one = |anchor_teeth, plate_teeth| Move { anchor_teeth, plate_teeth };
    let ways = [one(1, 0), one(-1, 0), one(0, 1), one(0, -1), one(1, -1), one(-1, 1)];
    let (mut fits, mut told) = (0, Log::new());
    loop {
        let now = gauge.read(angle);
        let by_reading = within(now, wanted, half);
        told.note(fits, (angle - wanted) / splines.vernier_step(), by_reading);
        let off = |made: &Move| (now + splines.change(*made) - wanted).abs();
        let best = ways.iter().min_by(|a, b| off(a).to_rad().total_cmp(&off(b).to_rad()));
        let better = best.filter(|made| off(made) < (now - wanted).abs());
        match better {
            Some(made) if !by_reading && fits < FITS_MAX => {
                angle = angle + splines.change(moved(&mut hands, *made, errors::MISCOUNT));
                fits += 1;
            }
            _ => {
                return Hung {
                    angle,
                    taken_for: now,
                    fits,
                    inside: told.inside,
                    by_reading: told.by_reading,
                    first_in_steps: told.first_in_steps,
                    off_in_steps: (angle - wanted) / splines.vernier_step(),
                };
            }
        }
    }
}

/// Teeth moved on the assembled car: the plate is read before and after, so a tooth miscounted is
/// found at once and costs one more fit. The fits it took.
pub fn fits_of(dice: &mut Dice, meant: Move, miscount: f64) -> u32 {
    if meant == Move::default() {
        return 0;
    }
    1 + u32::from(moved(dice, meant, miscount) != meant)
}

/// Both sides.
pub fn both(mut of: impl FnMut(Side) -> Result<Hung, Fault>) -> Result<Pair<Hung>, Fault> {
    Ok(Pair { left: of(Side::Left)?, right: of(Side::Right)? })
}

//! What to turn, so that it reads right: whole teeth behind, screws in front, eccentrics last.
//!
//! ```text
//!   bars, vernier steps ─→ screws ─→ roll, settle, read ─→ eccentrics, camber and toe together
//!   (every reachable pair of moves tried in the model)     δ = e·sin α
//!                                                           ╭───╮
//!    worst of |off|/tolerance,  minutes                     │ ╱α│  mid: a degree of turn does
//!                                                           ╰───╯  most; at the end, nothing
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | e | throw of an eccentric, each way | m | [`Eccentrics`] |
//! | α | how far it is turned from the middle | rad | [`Turned::angle`] |
//! | δ | shift of the holes it makes: how far a witness mark moves | m | [`Turned::shift`] |
//!
//! **Search.** Each pair of tooth moves is solved in the model as it is, quickest first, until none
//! that is left could be quicker than one that keeps everything. Screws do what is best
//! by their slopes there: the least of the worst `|off|/tolerance` over their turns is a linear
//! programme in two unknowns, whose corners are tried one by one. Of what keeps all tolerances,
//! the fewest minutes win; where nothing does, the least bad. The best few are then worked out in
//! full, screws and eccentrics solved again until nothing moves.
//!
//! **Order.** Bars first: they move everything else. Screws before eccentrics: a change of height
//! changes camber and toe. Camber and toe of one side together: each eccentric moves both.
//!
//! **Limits.** The tolerances are judged on a level floor. What is foretold is only as sure as the
//! model: [`super::learn::Belief::forecast`] on [`Plan::car`] says how sure.
//!
//! **Source.** Own arrangement; a linear programme's optimum lies at a corner (textbook).

use std::time::Duration;

use axlewright_quantity::{Amount, Angle, Length, Ratio, Side};

use super::knob::{Figure, Knob};
use super::rest::{Rest, Sensitivities, rest_with_slopes};
use super::{Car, CarError, Pair, input};
use crate::linkage::Linkage;
use crate::splines::{Ends, Move, SplineError, Splines, Wanted};

/// A wanted value and how far off it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<Q> {
    /// Wanted.
    pub target: Q,
    /// Half the width of what is allowed.
    pub within: Q,
}

/// What has to be kept; `None` is not asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Goals {
    /// Of each rear wheel, by plumb.
    pub trim: Option<Band<Length>>,
    /// Left and right may differ by so much.
    pub trim_difference: Option<Length>,
    /// (RF + LR)/total.
    pub cross_weight: Option<Band<Ratio>>,
    /// Of each rear wheel.
    pub camber: Option<Band<Angle>>,
    /// Of each rear wheel.
    pub toe: Option<Band<Angle>>,
    /// The share of each tolerance that a prediction may use up: 1 for all of it, less to leave
    /// room for what is not known.
    pub keep: Ratio,
}

/// One way of moving teeth on one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToothMove {
    /// Teeth at both ends.
    pub made: Move,
    /// What it does to the free angle, tail down +.
    pub change: Angle,
    /// How long it takes.
    pub takes: Duration,
}

/// How long teeth take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ToothTimes {
    /// For each end that comes apart.
    pub end: Duration,
    /// For each tooth counted.
    pub tooth: Duration,
}

/// Height screws in front.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screws {
    /// Body height at that corner per turn.
    pub per_turn: Length,
    /// Turns left that raise the body, each side.
    pub turns_up: Pair<Ratio>,
    /// Turns left that lower it.
    pub turns_down: Pair<Ratio>,
    /// How long a side takes.
    pub takes: Duration,
}

/// The two eccentrics of one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Eccentrics {
    /// Throw of the fore-aft one, each way.
    pub throw_u: Length,
    /// Throw of the up-down one, each way.
    pub throw_w: Length,
    /// How long a side takes, both together.
    pub takes: Duration,
}

/// What can be turned.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjusters {
    /// Reachable moves; staying is always among them. See [`tooth_moves`].
    pub teeth: Pair<Vec<ToothMove>>,
    /// Height screws in front, if any.
    pub screws: Option<Screws>,
    /// Eccentrics of each side, if any.
    pub eccentrics: Option<Pair<Eccentrics>>,
}

/// One eccentric turned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// Shift of the holes where it stood.
    pub from: Length,
    /// Shift of the holes where it is to stand.
    pub shift: Length,
    /// Its angle from the middle there, −90° to 90°.
    pub angle: Angle,
    /// Turns from where it stands.
    pub turns: Ratio,
    /// It stands within a fifth of the end of its throw, where a turn does little more.
    pub near_end: bool,
    /// It stands at the end of its throw, and more was wanted.
    pub at_end: bool,
}

impl Turned {
    /// How far arm and plate move against each other: what a witness mark across them shows.
    ///
    /// # Source
    /// Difference of the two shifts.
    pub fn mark(&self) -> Length {
        self.shift - self.from
    }
}

/// Both eccentrics of one side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SideTurned {
    /// Fore-aft.
    pub u: Turned,
    /// Up-down.
    pub w: Turned,
}

/// Why a tolerance is missed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// The nearest whole vernier step still misses it.
    StepTooCoarse,
    /// It can be had, but only by missing this other one.
    StandsAgainst(Figure),
    /// It can be had, but not together with all the others.
    WithTheOthers,
    /// A screw would have to turn beyond its end.
    ScrewAtEnd(Side),
    /// An eccentric would have to turn beyond its throw.
    EccentricAtEnd(Side),
    /// No move offered reaches far enough.
    BeyondTheMoves,
    /// Nothing that can be turned moves it.
    NothingMovesIt,
}

/// A tolerance that is missed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Missed {
    /// Which.
    pub figure: Figure,
    /// What it would read.
    pub reads: Amount,
    /// What was wanted.
    pub wanted: Amount,
    /// Allowed either way.
    pub within: Amount,
    /// What stands in the way.
    pub why: Why,
}

/// One thing to do, in order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Step {
    /// Move teeth on this side.
    Teeth(Side, ToothMove),
    /// Turn this side's screw, + raises the body.
    Screw(Side, Ratio),
    /// Roll the car, settle it.
    RollAndSettle,
    /// Turn both eccentrics of this side, to the marks given.
    Eccentrics(Side, SideTurned),
    /// Read everything again.
    Read,
}

/// What to do, and what it should read then.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Teeth to move on each side; a move of no teeth is none.
    pub teeth: Pair<ToothMove>,
    /// Turns of each front screw, + raises the body.
    pub screws: Pair<Ratio>,
    /// Eccentrics, where they are turned.
    pub eccentrics: Pair<Option<SideTurned>>,
    /// All of it in its order.
    pub steps: Vec<Step>,
    /// How long it takes.
    pub takes: Duration,
    /// The car with it done.
    pub car: Car,
    /// What it should read then, on the floor it stands on.
    pub after: Rest,
    /// And on a level floor, where the tolerances are judged.
    pub after_level: Rest,
    /// Tolerances missed; none when all are kept.
    pub missed: Vec<Missed>,
    /// Largest share of a tolerance used up; above one when one is missed.
    pub worst: Ratio,
}

/// Every vernier step within a span, by the quickest teeth.
///
/// # Valid for
/// Splines whose ends may both come apart, or the one given.
/// # Errors
/// A span beyond 30°, or splines with more than 400 steps in it.
/// # Source
/// [`Splines::choices`].
pub fn tooth_moves(
    splines: &Splines,
    ends: Ends,
    span: Angle,
    times: ToothTimes,
) -> Result<Vec<ToothMove>, CarError> {
    let step = match ends {
        Ends::Both => splines.vernier_step(),
        Ends::AnchorOnly => splines.anchor_step(),
        Ends::PlateOnly => splines.plate_step(),
    };
    let count = (span / step).floor();
    if !(0.0..=200.0).contains(&count) || 30.0 < span.to_deg() {
        let given = format!("{:.2}°", span.to_deg());
        return Err(input("span of the moves", given, "a few degrees, at most 30°"));
    }
    let takes = |made: Move| {
        let teeth = made.anchor_teeth.unsigned_abs() + made.plate_teeth.unsigned_abs();
        times.end * u32::from(made.ends()) + times.tooth * teeth
    };
    let mut moves = Vec::new();
    let count = count as i32;
    for n in -count..=count {
        let target = step * f64::from(n);
        let wanted = Wanted { count: 1, ends };
        let refuse = |e: SplineError| input("teeth", e, "splines and a few degrees");
        let choices = splines.choices(Angle::ZERO, target, wanted).map_err(refuse)?;
        let exact = choices.iter().filter(|c| c.error.to_deg().abs() < 1e-6);
        let quickest = exact
            .map(|c| (takes(c.as_move()), c))
            .min_by_key(|(takes, c)| (*takes, c.anchor_teeth.abs()));
        if let Some((takes, choice)) = quickest {
            moves.push(ToothMove { made: choice.as_move(), change: choice.change, takes });
        }
    }
    Ok(moves)
}

const STAY: ToothMove = ToothMove {
    made: Move { anchor_teeth: 0, plate_teeth: 0 },
    change: Angle::ZERO,
    takes: Duration::ZERO,
};

/// More pairs of tooth moves than anyone wants tried.
const PAIRS_MAX: usize = 40_000;

/// How much of their tolerances camber and toe are left, the first with which everything is kept:
/// their middle, and where that throws a height out, nearer to where they are. Own choice.
const ROOMS: [f64; 3] = [0.0, 0.5, 0.8];

/// One thing to be kept: figure, target, half width; SI.
#[derive(Debug, Clone, Copy)]
struct Keep {
    figure: Figure,
    target: f64,
    within: f64,
}

impl Keep {
    fn off(&self, rest: &Rest) -> Result<f64, CarError> {
        Ok((rest.figure(self.figure)?.to_si() - self.target) / self.within)
    }
}

impl Goals {
    fn keeps(&self) -> Result<Vec<Keep>, CarError> {
        let share = self.keep.to_one();
        if !(0.01..=1.0).contains(&share) {
            let given = format!("{share:.3}");
            return Err(input("share of the tolerance to use", given, "between 0.01 and 1"));
        }
        let mut keeps = Vec::new();
        let mut add = |figure: Figure, target: f64, within: f64| {
            keeps.push(Keep { figure, target, within: within * share });
        };
        for side in Side::BOTH {
            if let Some(band) = self.trim {
                add(Figure::Trim(side), band.target.to_m(), band.within.to_m());
            }
            if let Some(band) = self.camber {
                add(Figure::Camber(side), band.target.to_rad(), band.within.to_rad());
            }
            if let Some(band) = self.toe {
                add(Figure::Toe(side), band.target.to_rad(), band.within.to_rad());
            }
        }
        if let Some(within) = self.trim_difference {
            add(Figure::TrimDifference, 0.0, within.to_m());
        }
        if let Some(band) = self.cross_weight {
            add(Figure::CrossWeight, band.target.to_one(), band.within.to_one());
        }
        for keep in &keeps {
            if !(keep.target.is_finite() && 1e-9 < keep.within && keep.within < 1e3) {
                let what = format!("tolerance of {}", keep.figure.name());
                return Err(input(what, "none or far off", "a number above zero"));
            }
        }
        Ok(keeps)
    }
}

/// Corners of two lines each cuts the other at, and where they cross the bounds.
fn corners(lines: &[(f64, [f64; 2])], bounds: [[f64; 2]; 2], mut offer: impl FnMut([f64; 2])) {
    for [x, y] in [[0, 0], [0, 1], [1, 0], [1, 1]] {
        offer([bounds[0][x], bounds[1][y]]);
    }
    for (i, (o, a)) in lines.iter().enumerate() {
        for at in bounds[0] {
            offer([at, -(o + a[0] * at) / a[1]]);
        }
        for at in bounds[1] {
            offer([-(o + a[1] * at) / a[0], at]);
        }
        if bounds.iter().any(|[low, high]| low >= high) {
            continue;
        }
        for (p, b) in &lines[i + 1..] {
            let size = a[0] * b[1] - a[1] * b[0];
            if size.abs() > 1e-30 {
                offer([(a[1] * p - b[1] * o) / size, (b[0] * o - a[0] * p) / size]);
            }
        }
    }
}

/// How bad: what exceeds one in all, and the worst.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct Bad {
    excess: f64,
    worst: f64,
}

impl Bad {
    fn of(offs: impl Iterator<Item = f64>) -> Self {
        let add = |bad: Self, off: f64| Self {
            excess: bad.excess + (off.abs() - 1.0 - 1e-9).max(0.0),
            worst: bad.worst.max(off.abs()),
        };
        offs.fold(Self { excess: 0.0, worst: 0.0 }, add)
    }
    fn is_less(&self, other: &Self) -> bool {
        let same = (self.excess - other.excess).abs() <= 1e-9;
        if same { self.worst < other.worst - 1e-9 } else { self.excess < other.excess }
    }
}

/// A figure's `off` in tolerances, and its slopes with two unknowns.
type Row = (f64, [f64; 2]);

/// The least bad over two unknowns within bounds: the corners of a linear programme, one by one.
fn least_bad(rows: &[Row], bounds: [[f64; 2]; 2]) -> (Bad, [f64; 2]) {
    let bad = |s: [f64; 2]| Bad::of(rows.iter().map(|(o, a)| o + a[0] * s[0] + a[1] * s[1]));
    let clamp = |s: [f64; 2]| {
        let c = |i: usize| s[i].clamp(bounds[i][0], bounds[i][1]);
        [c(0), c(1)]
    };
    let mut best = (bad(clamp([0.0; 2])), clamp([0.0; 2]));
    let signed: Vec<Row> =
        rows.iter().flat_map(|(o, a)| [(*o, *a), (-o, [-a[0], -a[1]])]).collect();
    // Where two signed rows are equal, and where one just keeps its tolerance.
    let mut lines = Vec::new();
    for (i, (o, a)) in signed.iter().enumerate() {
        lines.push((o - 1.0, *a));
        lines.extend(signed[i + 1..].iter().map(|(p, b)| (o - p, [a[0] - b[0], a[1] - b[1]])));
    }
    corners(&lines, bounds, |s| {
        if s.iter().all(|c| c.is_finite()) {
            let s = clamp(s);
            let b = bad(s);
            if b.is_less(&best.0) {
                best = (b, s);
            }
        }
    });
    best
}

/// One pair of tooth moves as solved, before screws and eccentrics.
struct Solved {
    teeth: [usize; 2],
    /// Of every tolerance.
    offs: Vec<f64>,
}

/// A pair with what its screws should do.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    teeth: [usize; 2],
    raise: [f64; 2],
    screws: [bool; 2],
    bad: Bad,
    takes: Duration,
}

impl Candidate {
    /// Kept or not, then how much is not, then the time, then how near to a limit.
    fn before(&self, other: &Self) -> std::cmp::Ordering {
        // Millionths of a tolerance: finer differences are rounding, and whole numbers sort.
        let excess = |c: &Self| (c.bad.excess * 1e6).min(1e15).round() as i64;
        excess(self)
            .cmp(&excess(other))
            .then(self.takes.cmp(&other.takes))
            .then(self.bad.worst.total_cmp(&other.bad.worst))
            .then(self.teeth.cmp(&other.teeth))
    }
}

/// Everything the search needs.
struct Search<'a> {
    /// As it stands, on a level floor.
    car: Car,
    adjusters: &'a Adjusters,
    teeth: [Vec<ToothMove>; 2],
    keeps: Vec<Keep>,
    solved: Vec<Solved>,
    /// Slopes of every tolerance with the height at each front corner, per tolerance.
    slopes: Vec<[f64; 2]>,
    /// Least and most change of that height, per side.
    reach: [[f64; 2]; 2],
}

fn number(side: Side) -> usize {
    usize::from(side == Side::Right)
}

fn slope_rows(
    keeps: &[Keep],
    slopes: &Sensitivities,
    knobs: [Knob; 2],
) -> Result<Vec<[f64; 2]>, CarError> {
    let slope = |keep: &Keep, knob: Knob| {
        let what = || format!("{} with {}", keep.figure.name(), knob.name());
        let slope =
            slopes.slope(keep.figure, knob).ok_or_else(|| CarError::NotKnown { what: what() })?;
        Ok::<f64, CarError>(slope / keep.within)
    };
    keeps.iter().map(|k| Ok([slope(k, knobs[0])?, slope(k, knobs[1])?])).collect()
}

impl<'a> Search<'a> {
    fn new(
        car: &Car,
        goals: &Goals,
        adjusters: &'a Adjusters,
        quickest: bool,
    ) -> Result<Self, CarError> {
        let keeps = goals.keeps()?;
        let list = |side: Side| {
            let mut moves = adjusters.teeth[side].clone();
            if moves.iter().all(|m| m.change != Angle::ZERO) {
                moves.push(STAY);
            }
            moves
        };
        let reach = |side: Side| match &adjusters.screws {
            None => Ok([0.0, 0.0]),
            Some(screws) => {
                let per = screws.per_turn.to_m();
                let (down, up) = (screws.turns_down[side].to_one(), screws.turns_up[side].to_one());
                let sane = |turns: f64| (0.0..=1000.0).contains(&turns);
                if 0.0 < per && per <= 0.1 && sane(down) && sane(up) {
                    Ok([-down * per, up * per])
                } else {
                    Err(input(
                        "front screw",
                        "none",
                        "millimetres per turn and turns left above zero",
                    ))
                }
            }
        };
        let mut search = Self {
            car: car.on_level_floor(),
            adjusters,
            teeth: [list(Side::Left), list(Side::Right)],
            keeps,
            solved: Vec::new(),
            slopes: Vec::new(),
            reach: [reach(Side::Left)?, reach(Side::Right)?],
        };
        search.solve_pairs(quickest)?;
        Ok(search)
    }

    fn with_teeth(&self, teeth: [usize; 2]) -> Car {
        let mut car = self.car.clone();
        for side in Side::BOTH {
            let i = number(side);
            car.rear[side].free = car.rear[side].free + self.teeth[i][teeth[i]].change;
        }
        car
    }

    /// Solves the pairs, quickest first; with `quickest`, as far as something quicker may come.
    fn solve_pairs(&mut self, quickest: bool) -> Result<(), CarError> {
        // As it stands it must have a rest; else there is nothing to correct.
        let knobs = Side::BOTH.map(Knob::FrontRaised);
        let (_, slopes) = rest_with_slopes(&self.car, knobs.to_vec())?;
        self.slopes = slope_rows(&self.keeps, &slopes, knobs)?;
        let takes = |[l, r]: [usize; 2]| self.teeth[0][l].takes + self.teeth[1][r].takes;
        let right = 0..self.teeth[1].len();
        let mut pairs: Vec<[usize; 2]> =
            (0..self.teeth[0].len()).flat_map(|l| right.clone().map(move |r| [l, r])).collect();
        if PAIRS_MAX < pairs.len() {
            let given = format!("{} pairs", pairs.len());
            return Err(input(
                "tooth moves offered",
                given,
                "at most 40 000 pairs: a smaller span",
            ));
        }
        pairs.sort_by_key(|pair| (takes(*pair), *pair));
        let mut least = Duration::MAX;
        for teeth in pairs {
            if quickest && least < self.teeth[0][teeth[0]].takes + self.teeth[1][teeth[1]].takes {
                break;
            }
            let Ok(rest) = self.with_teeth(teeth).rest() else { continue };
            let offs = self.keeps.iter().map(|k| k.off(&rest)).collect::<Result<_, _>>()?;
            let solved = Solved { teeth, offs };
            for screws in self.masks().iter().filter(|_| quickest) {
                let found = self.candidate(&solved, *screws, &|_| true);
                if found.bad.excess <= 0.0 {
                    least = least.min(found.takes);
                }
            }
            self.solved.push(solved);
        }
        let none = || CarError::NotKnown { what: "a rest with any of these moves".to_owned() };
        let bad = |s: &&Solved| Bad::of(self.judged(s));
        let best = self.solved.iter().min_by(|a, b| {
            let (a, b) = (bad(a), bad(b));
            a.excess.total_cmp(&b.excess).then(a.worst.total_cmp(&b.worst))
        });
        let teeth = best.ok_or_else(none)?.teeth;
        let (_, slopes) = rest_with_slopes(&self.with_teeth(teeth), knobs.to_vec())?;
        self.slopes = slope_rows(&self.keeps, &slopes, knobs)?;
        Ok(())
    }

    /// Whether eccentrics see to it.
    fn by_eccentric(&self, keep: &Keep) -> Option<Side> {
        match keep.figure {
            Figure::Camber(side) | Figure::Toe(side) if self.adjusters.eccentrics.is_some() => {
                Some(side)
            }
            _ => None,
        }
    }

    fn judged(&self, solved: &Solved) -> impl Iterator<Item = f64> {
        let own = self.keeps.iter().zip(&solved.offs);
        own.filter(|(k, _)| self.by_eccentric(k).is_none()).map(|(_, off)| *off)
    }

    /// The best of one pair with the screws of these sides free.
    fn candidate(
        &self,
        solved: &Solved,
        screws: [bool; 2],
        of: &dyn Fn(&Keep) -> bool,
    ) -> Candidate {
        let rows: Vec<Row> = (self.keeps.iter().zip(&solved.offs).zip(&self.slopes))
            .filter(|((k, _), _)| self.by_eccentric(k).is_none() && of(k))
            .map(|((_, off), slopes)| (*off, *slopes))
            .collect();
        let free = |i: usize| if screws[i] { self.reach[i] } else { [0.0, 0.0] };
        let (bad, raise) = if screws == [false; 2] {
            (Bad::of(rows.iter().map(|r| r.0)), [0.0; 2])
        } else {
            least_bad(&rows, [free(0), free(1)])
        };
        let teeth = |i: usize| self.teeth[i][solved.teeth[i]].takes;
        let mut takes = teeth(0) + teeth(1);
        if let Some(s) = &self.adjusters.screws {
            takes += s.takes * screws.iter().map(|s| u32::from(*s)).sum::<u32>();
        }
        if let Some(eccentrics) = &self.adjusters.eccentrics {
            for side in Side::BOTH {
                let out = self.keeps.iter().zip(&solved.offs);
                if out.clone().any(|(k, o)| self.by_eccentric(k) == Some(side) && 1.0 < o.abs()) {
                    takes += eccentrics[side].takes;
                }
            }
        }
        Candidate { teeth: solved.teeth, raise, screws, bad, takes }
    }

    /// Which screws may be turned: none, one, both.
    fn masks(&self) -> &'static [[bool; 2]] {
        match self.adjusters.screws {
            None => &[[false, false]],
            Some(_) => &[[false, false], [true, false], [false, true], [true, true]],
        }
    }

    fn candidates(&self) -> Vec<Candidate> {
        let all = |_: &Keep| true;
        let of = |s: &Solved| {
            self.masks().iter().map(|m| self.candidate(s, *m, &all)).collect::<Vec<_>>()
        };
        let mut found: Vec<Candidate> = self.solved.iter().flat_map(of).collect();
        found.sort_by(Candidate::before);
        found
    }

    /// Whether some pair keeps all of these.
    fn possible(&self, of: &dyn Fn(&Keep) -> bool) -> bool {
        let screws = [self.adjusters.screws.is_some(); 2];
        self.solved.iter().any(|s| self.candidate(s, screws, of).bad.excess <= 0.0)
    }
}

/// A candidate worked out in full.
struct Refined {
    candidate: Candidate,
    car: Car,
    rest: Rest,
    eccentrics: [Option<[bool; 2]>; 2],
}

impl Search<'_> {
    /// What screws and eccentrics turn.
    fn turnable(&self) -> Vec<Knob> {
        let mut knobs = Side::BOTH.map(Knob::FrontRaised).to_vec();
        if self.adjusters.eccentrics.is_some() {
            knobs.extend(Side::BOTH.iter().flat_map(|s| [Knob::ShiftU(*s), Knob::ShiftW(*s)]));
        }
        knobs
    }

    /// The best of the most promising, worked out in full.
    fn best(&self) -> Option<Refined> {
        let mut best: Option<Refined> = None;
        for candidate in self.candidates().iter().take(24) {
            if let Some(had) = &best {
                // The rest are slower, and these keep everything.
                if had.candidate.bad.excess <= 0.0 && had.candidate.takes < candidate.takes {
                    break;
                }
            }
            for room in ROOMS {
                let Ok(refined) = self.refine(candidate, room) else { continue };
                let kept = refined.candidate.bad.excess <= 0.0;
                let better = best.as_ref().is_none_or(|had| {
                    refined.candidate.before(&had.candidate) == std::cmp::Ordering::Less
                });
                if better {
                    best = Some(refined);
                }
                if kept || self.adjusters.eccentrics.is_none() {
                    break;
                }
            }
        }
        best
    }

    /// Screws and eccentrics in turn until nothing moves.
    fn refine(&self, candidate: &Candidate, room: f64) -> Result<Refined, CarError> {
        let mut car = self.with_teeth(candidate.teeth);
        let mut raise = candidate.raise;
        let mut eccentrics = [None; 2];
        for _ in 0..6 {
            for side in Side::BOTH {
                let raised = self.car.front[side].raised;
                car.front[side].raised = raised + Length::m(raise[number(side)]);
            }
            let (rest, slopes) = rest_with_slopes(&car, self.turnable())?;
            let offs: Vec<f64> =
                self.keeps.iter().map(|k| k.off(&rest)).collect::<Result<_, _>>()?;
            let mut moved =
                self.turn_eccentrics(&mut car, (&offs, room), &slopes, &mut eccentrics)?;
            if candidate.screws != [false; 2] {
                let by = self.turn_screws(candidate, raise, &offs, &slopes)?;
                moved = moved.max(by[0].abs()).max(by[1].abs());
                raise = [raise[0] + by[0], raise[1] + by[1]];
            }
            if moved < 1e-7 {
                break;
            }
        }
        for side in Side::BOTH {
            let raised = self.car.front[side].raised;
            car.front[side].raised = raised + Length::m(raise[number(side)]);
        }
        let rest = car.rest()?;
        let offs = self.keeps.iter().map(|k| k.off(&rest)).collect::<Result<Vec<_>, _>>()?;
        let teeth = |i: usize| self.teeth[i][candidate.teeth[i]].takes;
        let mut takes = teeth(0) + teeth(1);
        for side in Side::BOTH {
            let i = number(side);
            if let (Some(s), true) = (&self.adjusters.screws, candidate.screws[i]) {
                takes += s.takes;
            }
            if let (Some(e), Some(_)) = (&self.adjusters.eccentrics, eccentrics[i]) {
                takes += e[side].takes;
            }
        }
        let bad = Bad::of(offs.into_iter());
        let candidate = Candidate { raise, bad, takes, ..*candidate };
        Ok(Refined { candidate, car, rest, eccentrics })
    }

    fn turn_screws(
        &self,
        candidate: &Candidate,
        raise: [f64; 2],
        offs: &[f64],
        slopes: &Sensitivities,
    ) -> Result<[f64; 2], CarError> {
        let fresh = slope_rows(&self.keeps, slopes, Side::BOTH.map(Knob::FrontRaised))?;
        let rows: Vec<Row> = (self.keeps.iter().zip(offs).zip(fresh))
            .filter(|((k, _), _)| self.by_eccentric(k).is_none())
            .map(|((_, off), slopes)| (*off, slopes))
            .collect();
        let free = |i: usize| match candidate.screws[i] {
            true => self.reach[i].map(|end| end - raise[i]),
            false => [0.0, 0.0],
        };
        Ok(least_bad(&rows, [free(0), free(1)]).1)
    }

    /// Turns the eccentrics of each side whose camber or toe is out (or that is already being
    /// turned); answers with the largest shift.
    fn turn_eccentrics(
        &self,
        car: &mut Car,
        (offs, room): (&[f64], f64),
        slopes: &Sensitivities,
        turned: &mut [Option<[bool; 2]>; 2],
    ) -> Result<f64, CarError> {
        let Some(eccentrics) = &self.adjusters.eccentrics else { return Ok(0.0) };
        let mut largest = 0.0_f64;
        for side in Side::BOTH {
            let mine = |k: &Keep| self.by_eccentric(k) == Some(side);
            let out = self.keeps.iter().zip(offs).any(|(k, o)| mine(k) && 1.0 < o.abs());
            if !out && turned[number(side)].is_none() {
                continue;
            }
            let own: Vec<Keep> = self.keeps.iter().filter(|k| mine(k)).copied().collect();
            let knobs = [Knob::ShiftU(side), Knob::ShiftW(side)];
            let own_offs = self.keeps.iter().zip(offs).filter(|(k, _)| mine(k));
            let own_offs = own_offs.map(|(_, o)| o - o.clamp(-room, room));
            let rows: Vec<Row> = own_offs.zip(slope_rows(&own, slopes, knobs)?).collect();
            let shift = &mut car.rear[side].corner.shift;
            let throws = [eccentrics[side].throw_u.to_m(), eccentrics[side].throw_w.to_m()];
            let at = [shift.u.to_m(), shift.w.to_m()];
            let bounds = [0, 1].map(|i| [-throws[i] - at[i], throws[i] - at[i]]);
            let by = both(&rows)
                .filter(|s| (0..2).all(|i| bounds[i][0] <= s[i] && s[i] <= bounds[i][1]));
            let inside = by.is_some();
            let by = by.unwrap_or_else(|| least_bad(&rows, bounds).1);
            let end = |i: usize| !inside && throws[i] - (at[i] + by[i]).abs() <= 1e-9;
            turned[number(side)] = Some([end(0), end(1)]);
            shift.u = shift.u + Length::m(by[0]);
            shift.w = shift.w + Length::m(by[1]);
            largest = largest.max(by[0].abs()).max(by[1].abs());
        }
        Ok(largest)
    }

    fn missed(&self, refined: &Refined) -> Result<Vec<Missed>, CarError> {
        let mut missed = Vec::new();
        for keep in &self.keeps {
            if 1.0 + 1e-6 < keep.off(&refined.rest)?.abs() {
                let amount = |si| Amount::from_si(keep.figure.kind(), si);
                missed.push(Missed {
                    figure: keep.figure,
                    reads: refined.rest.figure(keep.figure)?,
                    wanted: amount(keep.target),
                    within: amount(keep.within),
                    why: self.why(keep, refined),
                });
            }
        }
        Ok(missed)
    }

    fn why(&self, keep: &Keep, refined: &Refined) -> Why {
        if let Some(side) = self.by_eccentric(keep) {
            return match refined.eccentrics[number(side)] {
                Some(ends) if ends.contains(&true) => Why::EccentricAtEnd(side),
                _ => Why::WithTheOthers,
            };
        }
        // Both trims are one wish: one side alone could be had by putting the other anywhere.
        let trim = |k: &Keep| matches!(k.figure, Figure::Trim(_));
        let same = |k: &Keep| k.figure == keep.figure || (trim(k) && trim(keep));
        if self.possible(&same) {
            if self.possible(&|_: &Keep| true) {
                return Why::WithTheOthers;
            }
            let others = self.keeps.iter().filter(|k| !same(k) && self.by_eccentric(k).is_none());
            for other in others {
                if self.possible(&|k: &Keep| k.figure != other.figure) {
                    return Why::StandsAgainst(other.figure);
                }
            }
            return Why::WithTheOthers;
        }
        for side in Side::BOTH {
            let (raise, ends) = (refined.candidate.raise[number(side)], self.reach[number(side)]);
            let at_end = ends.iter().any(|e| (raise - e).abs() < 1e-6);
            if self.adjusters.screws.is_some() && at_end {
                return Why::ScrewAtEnd(side);
            }
        }
        let index = self.keeps.iter().position(|k| k.figure == keep.figure).unwrap_or(0);
        let offs = self.solved.iter().filter_map(|s| s.offs.get(index).copied());
        let (low, high) = offs.fold((f64::MAX, f64::MIN), |(l, h), o| (l.min(o), h.max(o)));
        if high - low < 1e-6 {
            Why::NothingMovesIt
        } else if low < 0.0 && 0.0 < high {
            Why::StepTooCoarse
        } else {
            Why::BeyondTheMoves
        }
    }
}

/// Two rows, two unknowns, both to zero.
fn both(rows: &[Row]) -> Option<[f64; 2]> {
    let [(o, a), (p, b)] = rows else { return None };
    let size = a[0] * b[1] - a[1] * b[0];
    let s = [(a[1] * p - b[1] * o) / size, (b[0] * o - a[0] * p) / size];
    s.iter().all(|c| c.is_finite()).then_some(s)
}

fn turned(from: Length, to: Length, throw: Length, at_end: bool) -> Turned {
    let angle = |shift: Length| (shift / throw).clamp(-1.0, 1.0).asin();
    let (was, is) = (angle(from), angle(to));
    Turned {
        from,
        shift: to,
        angle: Angle::rad(is),
        turns: Ratio::one((is - was) / std::f64::consts::TAU),
        near_end: 0.8 < (to / throw).abs(),
        at_end,
    }
}

fn check_eccentrics(car: &Car, adjusters: &Adjusters) -> Result<(), CarError> {
    let Some(eccentrics) = &adjusters.eccentrics else { return Ok(()) };
    for side in Side::BOTH {
        let corner = &car.rear[side].corner;
        if matches!(corner.linkage, Linkage::Lever(_)) {
            return Err(CarError::LeverOnly { what: "what an eccentric does", side });
        }
        for (what, throw, at) in [
            ("fore-aft", eccentrics[side].throw_u, corner.shift.u),
            ("up-down", eccentrics[side].throw_w, corner.shift.w),
        ] {
            if !(1e-5 <= throw.to_m() && throw.to_m() <= 0.05 && at.abs().to_m() <= throw.to_m()) {
                let what = format!("{what} eccentric {}", side.word());
                let given = format!("{:.2} mm of {:.2} mm each way", at.to_mm(), throw.to_mm());
                return Err(input(what, given, "within its throw"));
            }
        }
    }
    Ok(())
}

/// The moves that bring every tolerance in, in the fewest minutes; or the least bad and why.
///
/// # Units and sign
/// Screw turns + raise the body; eccentrics + rearward and + up the plate, as [`super::Knob`].
/// # Valid for
/// The car as the model has it: learn from a round first ([`super::learn::learn`]). Teeth are
/// whole, screws and eccentrics are not rounded.
/// # Accuracy
/// Eccentrics and screws to 1e-4 mm; every pair of tooth moves tried that could be quicker, and
/// every one when none keeps all.
/// # Errors
/// No rest as it stands; a tolerance that is none; eccentrics beyond their throw or on a corner
/// known as a plain lever.
/// # Source
/// See the module.
pub fn correct(car: &Car, goals: &Goals, adjusters: &Adjusters) -> Result<Plan, CarError> {
    check_eccentrics(car, adjusters)?;
    let quick = Search::new(car, goals, adjusters, true)?;
    if let Some(refined) = quick.best()
        && refined.candidate.bad.excess <= 0.0
    {
        return plan(car, adjusters, &quick, refined);
    }
    // What promised to be quick does not hold, or nothing does: every pair, then.
    let search = Search::new(car, goals, adjusters, false)?;
    let none = || CarError::NotKnown { what: "a rest with any of these moves".to_owned() };
    let refined = search.best().ok_or_else(none)?;
    plan(car, adjusters, &search, refined)
}

fn plan(
    car: &Car,
    adjusters: &Adjusters,
    search: &Search,
    refined: Refined,
) -> Result<Plan, CarError> {
    let missed = search.missed(&refined)?;
    let Candidate { teeth, raise, takes, bad, .. } = refined.candidate;
    let teeth = Pair::of(|side| search.teeth[number(side)][teeth[number(side)]]);
    let per_turn = adjusters.screws.map_or(1.0, |s| s.per_turn.to_m());
    let screws = Pair::of(|side| Ratio::one(raise[number(side)] / per_turn));
    let eccentrics = Pair::of(|side| {
        let ends = refined.eccentrics[number(side)]?;
        let throws = &adjusters.eccentrics.as_ref()?[side];
        let (from, to) = (car.rear[side].corner.shift, refined.car.rear[side].corner.shift);
        Some(SideTurned {
            u: turned(from.u, to.u, throws.throw_u, ends[0]),
            w: turned(from.w, to.w, throws.throw_w, ends[1]),
        })
    });
    let mut steps = Vec::new();
    for side in Side::BOTH {
        if teeth[side].change != Angle::ZERO {
            steps.push(Step::Teeth(side, teeth[side]));
        }
    }
    for side in Side::BOTH {
        if screws[side].to_one().abs() > 1e-6 {
            steps.push(Step::Screw(side, screws[side]));
        }
    }
    if !steps.is_empty() {
        steps.push(Step::RollAndSettle);
        if eccentrics.left.is_some() || eccentrics.right.is_some() {
            // Heights move camber and toe: nobody turns an eccentric by a reading from before.
            steps.push(Step::Read);
        }
    }
    for side in Side::BOTH {
        if let Some(turned) = eccentrics[side] {
            steps.push(Step::Eccentrics(side, turned));
        }
    }
    if !steps.is_empty() {
        steps.extend([Step::RollAndSettle, Step::Read]);
        steps.dedup();
    }
    let after_level = refined.rest;
    let mut done = refined.car;
    done.floor = car.floor;
    let after = done.rest()?;
    let worst = Ratio::one(bad.worst);
    Ok(Plan {
        teeth,
        screws,
        eccentrics,
        steps,
        takes,
        car: done,
        after,
        after_level,
        missed,
        worst,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every point of a fine grid, against the corners.
    #[test]
    fn no_point_of_a_grid_is_less_bad_than_the_corner_found() {
        let mut seed = 12_345_u64;
        let mut draw = || {
            seed = seed * 48_271 % 2_147_483_647;
            4.0 * (seed as f64 / 2_147_483_647.0) - 2.0
        };
        let mut kept = 0;
        for case in 0..60 {
            let rows: Vec<Row> = (0..4).map(|_| (draw(), [draw(), draw()])).collect();
            let bounds = if case % 3 == 0 { [[-1.0, 1.0], [0.0, 0.0]] } else { [[-1.0, 1.0]; 2] };
            let (found, at) = least_bad(&rows, bounds);
            let bad =
                |s: [f64; 2]| Bad::of(rows.iter().map(|(o, a)| o + a[0] * s[0] + a[1] * s[1]));
            assert_eq!(bad(at), found);
            for i in 0..=80 {
                for j in 0..=80 {
                    let on = |b: [f64; 2], n: i32| b[0] + (b[1] - b[0]) * f64::from(n) / 80.0;
                    let other = bad([on(bounds[0], i), on(bounds[1], j)]);
                    // Within the same excess the worst may differ by what the excess may.
                    let less = other.excess < found.excess - 1e-9
                        || (found.excess == 0.0 && other.is_less(&found));
                    assert!(!less, "{case}: {other:?} at {i} {j} beats {found:?} at {at:?}");
                }
            }
            kept += usize::from(found.excess == 0.0);
        }
        assert!((5..55).contains(&kept), "{kept}");
    }
}

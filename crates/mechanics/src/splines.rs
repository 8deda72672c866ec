//! Choosing teeth: what angles the two splines of a bar can reach, and how to get there.
//!
//! ```text
//!   anchor end, Nᵢ teeth             bar              plate end, Nₒ teeth
//!   (under the car)  ▒▓▓▓═══════════════════════▓▓▓▒  (what one sees from outside)
//!
//!   p teeth at the anchor turn bar and plate together by 360°·p/Nᵢ
//!   q teeth at the plate turn the plate on the bar by    360°·q/Nₒ     both + = tail down
//!
//!   Seen from outside, left side:           Seen from outside, right side:
//!        nose ←                                                 → nose
//!          ┌───O────────┐                        ┌────────O───┐
//!              hub      ↓ tail                  tail ↓      hub
//!          tail down = clockwise ↻           tail down = anticlockwise ↺
//! ```
//!
//! Who stands beside the left of the car and faces it has the nose on the left hand: he looks
//! along −Y with Z up, so his right hand points along −Y × Z = −X, to the tail. The tail is at the
//! right of the hub, and what is at the right goes down in a clockwise turn. From the right of the
//! car everything is mirrored. Moving bar and plate together at the anchor turns what he sees in
//! the same sense, although nobody looks at the anchor from outside.
//!
//! | symbol | meaning | field or function |
//! |---|---|---|
//! | Nᵢ, Nₒ | teeth at the anchor and at the plate end | [`Splines::new`] |
//! | p, q | teeth moved there, + tail down | [`Move::anchor_teeth`], [`Move::plate_teeth`] |
//! | v | vernier step, 360°/lcm(Nᵢ, Nₒ) | [`Splines::vernier_step`] |
//! | θ | plate angle, tail down + | [`Choice::angle`] |
//!
//! With g = gcd(Nᵢ, Nₒ), a = Nₒ/g and b = Nᵢ/g a move changes the angle by s = a·p + b·q vernier
//! steps. As a and b have no common divisor, every whole s can be had, by p = p₀ + t·b,
//! q = q₀ − t·a for every whole t. Teeth to count, |p| + |q|, is a convex function of t with its
//! corners where p or q passes zero, so the fewest are found next to one of those corners.
//!
//! A whole turn is not used as a shortcut: the change of a move is always the change it states.
//!
//! # Valid for
//! Evenly cut splines. A master tooth or a blocked gap leaves fewer choices.
//! # Source
//! Arithmetic. For 40 and 44 teeth, 9° and 8.18° per tooth: common practice, no source.

use axlewright_quantity::{Angle, Ratio, Side};

/// Fewest teeth of a spline that is taken for one.
pub const TEETH_MIN: u32 = 2;
/// Most teeth of a spline that is taken for one.
pub const TEETH_MAX: u32 = 200;
/// Most angles that may be asked for at once.
pub const COUNT_MAX: usize = 100;

/// Two errors closer than this, in degrees, are a tie: far below anything a gauge shows, far above
/// the rounding of the arithmetic.
const TIE_DEG: f64 = 1e-9;

/// Why no teeth can be named.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum SplineError {
    /// A count no spline has.
    #[error("{end} has {given} teeth; it must have {TEETH_MIN} to {TEETH_MAX}")]
    Teeth {
        /// Which end.
        end: &'static str,
        /// As given.
        given: u32,
    },
    /// Not a number, or infinite.
    #[error("{what} is not a number")]
    NotANumber {
        /// Which.
        what: &'static str,
    },
    /// A plate angle beyond a quarter turn.
    #[error("{what} is {:.2}°; it must lie between -90° and 90°", .given.to_deg())]
    Angle {
        /// Which.
        what: &'static str,
        /// As given.
        given: Angle,
    },
    /// More angles asked for than anyone reads.
    #[error("{given} angles asked for; at most {COUNT_MAX}")]
    Count {
        /// As given.
        given: usize,
    },
    /// An uncertainty that cannot be one.
    #[error("uncertainty of attempt {number} is {:.6}°; it must lie between 0.000001° and 10°",
        .given.to_deg())]
    Uncertainty {
        /// Counted from one.
        number: usize,
        /// As given.
        given: Angle,
    },
    /// Teeth moved that nobody moves.
    #[error("attempt {number} moved {given} teeth at the {end}; at most {teeth}, once round")]
    Moved {
        /// Counted from one.
        number: usize,
        /// Which end.
        end: &'static str,
        /// As given.
        given: i32,
        /// How many it has.
        teeth: u32,
    },
    /// An empty log.
    #[error("there is no attempt to go on from")]
    NoAttempt,
    /// A screw that does not turn the plate, or has a range that cannot be.
    #[error("{what} of the screw is not a number or out of range")]
    Screw {
        /// Which figure.
        what: &'static str,
    },
}

impl SplineError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Teeth { .. } => "paint one tooth and count once round; count twice",
            Self::NotANumber { .. } | Self::Angle { .. } => {
                "plate angles are degrees below the body's horizontal, tail down +"
            }
            Self::Count { .. } => "ask for the few nearest the target",
            Self::Uncertainty { .. } => "give the standard uncertainty of one reading, k = 1",
            Self::Moved { .. } => "give the teeth moved since the attempt before",
            Self::NoAttempt => "fit the plate, read its angle, and log it",
            Self::Screw { .. } => "give degrees per turn above 0 and the turns left each way",
        }
    }
}

/// Which way the plate turns about the bar axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Turn {
    /// The plate angle grows.
    TailDown,
    /// The plate angle shrinks.
    TailUp,
}

/// A sense of turning as someone sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rotation {
    /// As the hands of a clock.
    Clockwise,
    /// Against them.
    Anticlockwise,
}

impl Turn {
    /// The turn of a signed number of teeth, + tail down; none for none.
    pub const fn of_teeth(teeth: i32) -> Option<Self> {
        match teeth {
            0 => None,
            1.. => Some(Self::TailDown),
            _ => Some(Self::TailUp),
        }
    }

    /// `"tail down"` or `"tail up"`.
    pub const fn words(self) -> &'static str {
        match self {
            Self::TailDown => "tail down",
            Self::TailUp => "tail up",
        }
    }

    /// The sense in which the plate is seen to turn by someone beside the car who faces it.
    ///
    /// # Source
    /// The module's picture.
    pub const fn seen_from_outside(self, side: Side) -> Rotation {
        match (self, side) {
            (Self::TailDown, Side::Left) | (Self::TailUp, Side::Right) => Rotation::Clockwise,
            (Self::TailUp, Side::Left) | (Self::TailDown, Side::Right) => Rotation::Anticlockwise,
        }
    }
}

impl Rotation {
    /// `"clockwise"` or `"anticlockwise"`.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Clockwise => "clockwise",
            Self::Anticlockwise => "anticlockwise",
        }
    }
}

/// Teeth to move at each end, + tail down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Move {
    /// At the anchor: bar and plate together.
    pub anchor_teeth: i32,
    /// At the plate end: the plate on the bar.
    pub plate_teeth: i32,
}

impl Move {
    /// How many ends come apart: 0, 1 or 2.
    pub const fn ends(self) -> u8 {
        (self.anchor_teeth != 0) as u8 + (self.plate_teeth != 0) as u8
    }

    /// Teeth to count, both ends together.
    pub const fn teeth(self) -> u32 {
        self.anchor_teeth.unsigned_abs().saturating_add(self.plate_teeth.unsigned_abs())
    }

    /// The move in words for one side, for example "anchor end: bar and plate together 3 teeth
    /// tail down (clockwise seen from outside)". Without a side the turning sense is left out: on
    /// the wrong side it would be the wrong one.
    pub fn words(self, side: impl Into<Option<Side>>) -> String {
        let side = side.into();
        let anchor = end_words("anchor end: bar and plate together", self.anchor_teeth, side);
        let plate = end_words("plate end: the plate on the bar", self.plate_teeth, side);
        match (anchor, plate) {
            (None, None) => "leave both ends as they are".to_owned(),
            (Some(one), None) | (None, Some(one)) => one,
            (Some(anchor), Some(plate)) => format!("{anchor}; {plate}"),
        }
    }
}

fn end_words(end: &str, teeth: i32, side: Option<Side>) -> Option<String> {
    let turn = Turn::of_teeth(teeth)?;
    let seen = side.map_or(String::new(), |side| {
        format!(" ({} seen from outside)", turn.seen_from_outside(side).words())
    });
    Some(format!("{end} {} {}{seen}", teeth_words(teeth), turn.words()))
}

/// How many teeth, whichever way: `"1 tooth"`, `"3 teeth"`.
pub fn teeth_words(teeth: i32) -> String {
    match teeth.unsigned_abs() {
        1 => "1 tooth".to_owned(),
        count => format!("{count} teeth"),
    }
}

/// Which ends may come apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ends {
    /// Either or both.
    Both,
    /// Only the anchor; the plate stays on the bar.
    AnchorOnly,
    /// Only the plate end; the bar stays in its anchor.
    PlateOnly,
}

/// What to list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    /// How many of the reachable angles nearest the target, at most 100.
    pub count: usize,
    /// Which ends may come apart.
    pub ends: Ends,
}

/// One way to choose teeth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Teeth at the anchor, + tail down.
    pub anchor_teeth: i32,
    /// Teeth at the plate end, + tail down.
    pub plate_teeth: i32,
    /// How many ends come apart: 0, 1 or 2.
    pub ends: u8,
    /// Change of the plate angle, tail down +.
    pub change: Angle,
    /// Plate angle after the move.
    pub angle: Angle,
    /// That angle less the target.
    pub error: Angle,
    /// No other choice is at least as good in error, ends and teeth and better in one of them.
    pub undominated: bool,
}

impl Choice {
    /// The teeth to move.
    pub const fn as_move(&self) -> Move {
        Move { anchor_teeth: self.anchor_teeth, plate_teeth: self.plate_teeth }
    }

    /// Sorting key: size of the error, ends, teeth; then a fixed order among equals that leaves
    /// the anchor alone (under the car, and often the harder to draw).
    fn key(&self) -> (i64, u8, u32, u32, bool, i32) {
        let size = (self.error.to_deg().abs() / TIE_DEG).round() as i64;
        let (p, q) = (self.anchor_teeth, self.plate_teeth);
        (size, self.ends, self.as_move().teeth(), p.unsigned_abs(), p < 0, -q)
    }
}

/// The teeth at both ends of a bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Splines {
    anchor: u32,
    plate: u32,
}

fn plate_angle(what: &'static str, given: Angle) -> Result<Angle, SplineError> {
    if !given.is_finite() {
        return Err(SplineError::NotANumber { what });
    }
    if 90.000_001 < given.to_deg().abs() {
        return Err(SplineError::Angle { what, given });
    }
    Ok(given)
}

/// Greatest common divisor; never 0 when one of them is not.
const fn gcd(mut a: u32, mut b: u32) -> u32 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl Splines {
    /// From the tooth counts.
    ///
    /// # Errors
    /// A count outside 2 to 200.
    pub const fn new(anchor_teeth: u32, plate_teeth: u32) -> Result<Self, SplineError> {
        if anchor_teeth < TEETH_MIN || TEETH_MAX < anchor_teeth {
            return Err(SplineError::Teeth { end: "the anchor end", given: anchor_teeth });
        }
        if plate_teeth < TEETH_MIN || TEETH_MAX < plate_teeth {
            return Err(SplineError::Teeth { end: "the plate end", given: plate_teeth });
        }
        Ok(Self { anchor: anchor_teeth, plate: plate_teeth })
    }

    /// Teeth at the anchor end.
    pub const fn anchor_teeth(&self) -> u32 {
        self.anchor
    }
    /// Teeth at the plate end.
    pub const fn plate_teeth(&self) -> u32 {
        self.plate
    }

    /// One tooth at the anchor, 360°/Nᵢ.
    ///
    /// # Source
    /// Arithmetic.
    pub fn anchor_step(&self) -> Angle {
        Angle::deg(360.0 / f64::from(self.anchor))
    }

    /// One tooth at the plate end, 360°/Nₒ.
    ///
    /// # Source
    /// Arithmetic.
    pub fn plate_step(&self) -> Angle {
        Angle::deg(360.0 / f64::from(self.plate))
    }

    /// The smallest change that both ends together can make, 360°/lcm(Nᵢ, Nₒ).
    ///
    /// # Source
    /// Arithmetic; see the module's text.
    pub fn vernier_step(&self) -> Angle {
        Angle::deg(360.0 / self.steps_per_turn() as f64)
    }

    /// Vernier steps in a turn, lcm(Nᵢ, Nₒ).
    fn steps_per_turn(&self) -> i64 {
        i64::from(self.anchor) * i64::from(self.plate) / i64::from(gcd(self.anchor, self.plate))
    }

    /// Vernier steps in one tooth at the anchor and in one at the plate end.
    fn steps_per_tooth(&self) -> (i64, i64) {
        let g = i64::from(gcd(self.anchor, self.plate));
        (i64::from(self.plate) / g, i64::from(self.anchor) / g)
    }

    /// Change of the plate angle by a move, `360°·(p/Nᵢ + q/Nₒ)`, tail down +.
    ///
    /// # Accuracy
    /// Counted in whole vernier steps, so moves that cancel cancel exactly.
    /// # Source
    /// Arithmetic; see the module's text.
    pub fn change(&self, made: Move) -> Angle {
        let (a, b) = self.steps_per_tooth();
        let steps = a * i64::from(made.anchor_teeth) + b * i64::from(made.plate_teeth);
        Angle::deg(360.0 * steps as f64 / self.steps_per_turn() as f64)
    }

    /// The ways to choose teeth: the `count` reachable angles nearest the target, each with the
    /// fewest teeth to count, and every choice that no other beats.
    ///
    /// A choice is beaten when another is at least as good in all three of size of error, ends
    /// that come apart and teeth to count, and better in one. Beaten choices are left out, except
    /// among the nearest angles: there they stay, marked, because the neighbour on the other side
    /// of the target is wanted when a window or a reading speaks against the nearest. Leaving
    /// everything as it is (no end, no tooth) is never beaten and always listed.
    ///
    /// Best first: smallest error, then fewer ends, then fewer teeth (once an end is out, the
    /// number of teeth costs nothing but the risk of a miscount), then fewer at the anchor.
    ///
    /// # Units and sign
    /// Angles and teeth are positive tail down; `error` is the angle reached less the target.
    /// # Errors
    /// An angle beyond 90°, more than 100 angles asked for.
    /// # Source
    /// The module's text; checked against trying every pair of teeth.
    pub fn choices(
        &self,
        now: Angle,
        target: Angle,
        wanted: Wanted,
    ) -> Result<Vec<Choice>, SplineError> {
        let now = plate_angle("plate angle now", now)?;
        let target = plate_angle("target angle", target)?;
        if COUNT_MAX < wanted.count {
            return Err(SplineError::Count { given: wanted.count });
        }
        let choice = |made: Move| self.choice(now, target, made);
        let grid = Grid::new(self, wanted.ends);
        let steps = (target - now) / grid.step;
        let mut listed = undominated(grid.between(steps).map(choice));
        let mut nearest: Vec<Choice> = grid
            .around(steps, wanted.count)
            .filter_map(|s| grid.moves(s).into_iter().map(choice).min_by_key(fewest_teeth))
            .collect();
        nearest.sort_by_key(Choice::key);
        nearest.truncate(wanted.count);
        let fresh: Vec<Choice> = nearest
            .into_iter()
            .filter(|near| listed.iter().all(|had| had.as_move() != near.as_move()))
            .collect();
        listed.extend(fresh);
        listed.sort_by_key(Choice::key);
        Ok(listed)
    }

    fn choice(&self, now: Angle, target: Angle, made: Move) -> Choice {
        let change = self.change(made);
        let angle = now + change;
        Choice {
            anchor_teeth: made.anchor_teeth,
            plate_teeth: made.plate_teeth,
            ends: made.ends(),
            change,
            angle,
            error: angle - target,
            undominated: false,
        }
    }
}

/// As [`Choice::key`] for one angle, but teeth before ends.
fn fewest_teeth(choice: &Choice) -> (u32, u8, u32, bool, i32) {
    let (_, ends, teeth, at_anchor, up, plate) = choice.key();
    (teeth, ends, at_anchor, up, plate)
}

/// The choices no other beats, marked. Of several alike in all three, the first in order stays.
fn undominated(choices: impl Iterator<Item = Choice>) -> Vec<Choice> {
    let mut sorted: Vec<Choice> = choices.collect();
    sorted.sort_by_cached_key(Choice::key);
    // Errors only grow along the list, so a choice is beaten exactly when an earlier one has no
    // more ends and no more teeth.
    let mut kept: Vec<Choice> = Vec::new();
    for choice in sorted {
        let teeth = choice.as_move().teeth();
        if kept.iter().all(|had| choice.ends < had.ends || teeth < had.as_move().teeth()) {
            kept.push(Choice { undominated: true, ..choice });
        }
    }
    kept
}

/// The angles that can be reached with the ends that may come apart, as whole steps.
struct Grid {
    step: Angle,
    ends: Ends,
    /// Steps per tooth at the anchor and at the plate end, without common divisor.
    a: i64,
    b: i64,
    /// `a·x ≡ 1` modulo `b`.
    x: i64,
}

impl Grid {
    fn new(splines: &Splines, ends: Ends) -> Self {
        let (a, b) = splines.steps_per_tooth();
        let step = match ends {
            Ends::Both => splines.vernier_step(),
            Ends::AnchorOnly => splines.anchor_step(),
            Ends::PlateOnly => splines.plate_step(),
        };
        // b is at most 200: trying each is as good as Euclid's algorithm and easier to see through.
        let x = (0..b).find(|x| (a * x - 1).rem_euclid(b) == 0).unwrap_or(0);
        Self { step, ends, a, b, x }
    }

    /// The moves by `s` steps worth considering: those next to where p or q passes zero.
    fn moves(&self, s: i64) -> Vec<Move> {
        match self.ends {
            Ends::AnchorOnly => vec![teeth(s, 0)],
            Ends::PlateOnly => vec![teeth(0, s)],
            Ends::Both => {
                let p = (self.x * s).rem_euclid(self.b);
                let q = (s - self.a * p) / self.b;
                let corner = q.div_euclid(self.a);
                let mut turns = vec![-1, 0, corner, corner + 1];
                turns.sort_unstable();
                turns.dedup();
                turns.into_iter().map(|t| teeth(p + t * self.b, q - t * self.a)).collect()
            }
        }
    }

    /// All moves that do no worse than staying, staying included.
    fn between(&self, steps: f64) -> impl Iterator<Item = Move> {
        let far = (2.0 * steps).trunc() as i64;
        (far.min(0)..=far.max(0)).flat_map(|s| self.moves(s))
    }

    /// Step numbers on both sides of the target, at least `count` on each.
    fn around(&self, steps: f64, count: usize) -> impl Iterator<Item = i64> + use<> {
        let (below, count) = (steps.floor() as i64, count as i64);
        below - count..=below + count + 1
    }
}

/// Steps are bounded by half a turn of at most 39 800, so teeth always fit.
fn teeth(p: i64, q: i64) -> Move {
    Move { anchor_teeth: p as i32, plate_teeth: q as i32 }
}

/// One fit and measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attempt {
    /// Teeth moved since the attempt before; of no account for the first.
    pub made: Move,
    /// Plate angle measured then, tail down +.
    pub angle: Angle,
    /// Standard uncertainty of that one reading, k = 1: what scatters from reading to reading, not
    /// what the gauge has wrong every time.
    pub u: Angle,
}

impl Splines {
    /// Whether an attempt is one.
    pub(crate) fn check_attempt(
        &self,
        number: usize,
        attempt: &Attempt,
    ) -> Result<(), SplineError> {
        plate_angle("plate angle of an attempt", attempt.angle)?;
        let u = attempt.u;
        if !(1e-6..=10.000_001).contains(&u.to_deg()) {
            return Err(SplineError::Uncertainty { number, given: u });
        }
        let moved = [
            ("anchor end", attempt.made.anchor_teeth, self.anchor),
            ("plate end", attempt.made.plate_teeth, self.plate),
        ];
        match moved.into_iter().find(|(_, given, teeth)| *teeth < given.unsigned_abs()) {
            Some((end, given, teeth)) => Err(SplineError::Moved { number, end, given, teeth }),
            None => Ok(()),
        }
    }
}

/// An adjuster without teeth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Screw {
    /// Change of the plate angle per turn, its size.
    pub per_turn: Angle,
    /// Turns left towards tail down.
    pub turns_down: Ratio,
    /// Turns left towards tail up.
    pub turns_up: Ratio,
}

/// What sets the plate angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Adjuster {
    /// Whole teeth.
    Splines(Splines),
    /// A screw.
    Screw(Screw),
}

/// How near an adjuster comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Change of the plate angle, tail down +.
    pub change: Angle,
    /// Plate angle after it.
    pub angle: Angle,
    /// That angle less the target.
    pub error: Angle,
    /// How it is done.
    pub by: ReachBy,
}

/// How an adjuster comes there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ReachBy {
    /// Teeth moved.
    Teeth(Move),
    /// Turns of the screw, + tail down.
    Turns {
        /// How many.
        turns: Ratio,
        /// The screw stands at its end and the target is beyond.
        at_end: bool,
    },
}

impl Adjuster {
    /// The nearest this adjuster comes to a target.
    ///
    /// # Units and sign
    /// Tail down is positive.
    /// # Valid for
    /// A screw that changes the angle evenly with its turns: good near where its rate was measured.
    /// # Errors
    /// An angle beyond 90°; a screw with no rate or a negative range.
    /// # Source
    /// [`Splines::choices`]; division.
    pub fn nearest(&self, now: Angle, target: Angle) -> Result<Reach, SplineError> {
        match self {
            Self::Splines(splines) => {
                let wanted = Wanted { count: 1, ends: Ends::Both };
                let choices = splines.choices(now, target, wanted)?;
                // Staying is always listed, so there is a first.
                let best = choices.first().ok_or(SplineError::NoAttempt)?;
                let by = ReachBy::Teeth(best.as_move());
                Ok(Reach { change: best.change, angle: best.angle, error: best.error, by })
            }
            Self::Screw(screw) => screw.nearest(now, target),
        }
    }
}

impl Screw {
    fn nearest(&self, now: Angle, target: Angle) -> Result<Reach, SplineError> {
        let now = plate_angle("plate angle now", now)?;
        let target = plate_angle("target angle", target)?;
        let per_turn = self.per_turn.to_deg();
        if !(1e-6..=360.0).contains(&per_turn) {
            return Err(SplineError::Screw { what: "degrees per turn" });
        }
        let (down, up) = (self.turns_down.to_one(), self.turns_up.to_one());
        if !(0.0..=1e6).contains(&down) || !(0.0..=1e6).contains(&up) {
            return Err(SplineError::Screw { what: "turns left" });
        }
        let wanted = (target - now).to_deg() / per_turn;
        let turns = wanted.clamp(-up, down);
        let change = self.per_turn * turns;
        let angle = now + change;
        let by = ReachBy::Turns { turns: Ratio::one(turns), at_end: turns != wanted };
        Ok(Reach { change, angle, error: angle - target, by })
    }
}

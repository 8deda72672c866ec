//! Droop: what stops the wheel first as it hangs, and with what force on that part.
//!
//! ```text
//!    O────────___                       tail-down moment left at the stop
//!    │  ● stop   ‾‾‾──___               M = k(θ₀ − θ) + Σ m·g·(−dz/dθ) + P·dℓ/dθ + bush
//!    │   bolt            ⊙
//!    o═══════════ damper, fully open    bolt: F = M/(−dc/dθ)   damper: F = M/(dℓ/dθ)
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | c | clearance between the bolt's centre and the plate | m | [`BoltBehind::clearance`] |
//! | ℓ | damper, eye to eye | m | [`Damper::span`] |
//! | M | what still turns the plate tail down | N·m | |
//!
//! The wheel goes down from ride until the plate rests on the bolt, the damper is open, or the
//! weights are in balance with the bar, whichever comes first. A longer damper can so make a
//! bolt the droop stop without anyone having meant it. What spans arm and body besides, a hose, a
//! cable, a half-shaft, ends the way where its window does; it bears nothing there, and where it
//! comes first the arm tears it.
//!
//! **Limits.** Slow, no friction: a wheel that drops onto its stop hits harder.
//!
//! **Source.** Principle of virtual work; own derivation.

use axlewright_quantity::{Angle, Force, Length};

use crate::linkage::LinkageError;
use crate::load::{Corner, Hanging};
use crate::windows::{BoltBehind, Damper, Look, Window};

/// What can stop the wheel.
#[derive(Debug, Clone, Copy)]
pub struct Stops<'a> {
    /// The bolt behind the plate and its radius, once it is in.
    pub bolt: Option<(&'a BoltBehind, Length)>,
    /// The damper, once it is fitted and where its length is known.
    pub damper: Option<&'a Damper>,
}

/// What stops the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum StoppedBy {
    /// The plate rests on the bolt behind it.
    StopBolt,
    /// The damper is fully open.
    Damper,
    /// The brake hose is drawn as straight as it may be.
    Hose,
    /// So is the handbrake cable.
    Cable,
    /// The half-shaft is at the end of a joint or of its plunge.
    HalfShaft,
    /// Nothing: bar and weights are in balance.
    Nothing,
}

impl StoppedBy {
    /// Whether the arm's way may end on it: all else tears.
    pub const fn is_stop(self) -> bool {
        matches!(self, Self::StopBolt | Self::Damper | Self::Nothing)
    }
}

/// One thing that ends the way down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct End {
    /// What.
    pub by: StoppedBy,
    /// At which plate angle.
    pub angle: Angle,
    /// What it bears there if it is the one that holds the arm: nothing for what tears.
    pub force: Option<Force>,
}

/// Where the wheel hangs when nothing holds it up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Droop {
    /// Plate angle.
    pub angle: Angle,
    /// What stops it there.
    pub stopped_by: StoppedBy,
    /// Force on that part, zero when it hangs free.
    pub force: Force,
}

/// Least and greatest plate angle.
type Range = (Angle, Angle);

/// Where each stop is met on the way down, whatever hangs on the bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Met {
    bolt: Option<Angle>,
    damper: Option<Angle>,
    looked_to: Angle,
}

impl Stops<'_> {
    /// Where each is met as the wheel is let down from `start`, within the range of the look.
    ///
    /// # Valid for
    /// Stops met slowly; what hangs on the bar, and the bar itself, are of no matter to it.
    /// # Errors
    /// When the start lies outside that range or already beyond a stop.
    pub fn met(&self, over: &Look, start: Angle) -> Result<Met, LinkageError> {
        self.met_where(over, start, BoltBehind::windows)
    }

    /// The same, where the windows of a bolt are kept: `clear` gives those of
    /// [`BoltBehind::windows`] over the whole range of the look.
    ///
    /// # Valid for
    /// As [`met`](Self::met).
    /// # Errors
    /// As [`met`](Self::met), and what `clear` answers.
    pub fn met_where(
        &self,
        over: &Look,
        start: Angle,
        clear: impl FnOnce(&BoltBehind, Length, Range) -> Result<Vec<Window>, LinkageError>,
    ) -> Result<Met, LinkageError> {
        let reach = over.range;
        if !(reach.0 <= start && start < reach.1) {
            return Err(LinkageError::Input {
                what: "plate angle from which the wheel is let down",
                given: format!("{:.1}°", start.to_deg()),
                must: "within the arm's reach",
            });
        }
        let mut met = Met { bolt: None, damper: None, looked_to: reach.1 };
        if let Some((bolt, radius)) = self.bolt {
            let rest = clear(bolt, radius, reach)?;
            met.bolt = end_of(rest.into_iter().find(|w| w.contains(start)), "the stop bolt")?;
        }
        if let Some(damper) = self.damper {
            damper.check()?;
            // Over the whole range, where the linkage's stands may be known already.
            let open = over.span(&damper.span, None, Some(damper.open))?;
            let holds = open.iter().map(|b| b.window).find(|window| window.contains(start));
            met.damper = end_of(holds, "the open damper")?;
        }
        Ok(met)
    }
}

impl Corner {
    /// Where the wheel comes to rest as it is let down from `start` (usually ride).
    ///
    /// # Valid for
    /// A wheel let down slowly and without friction; one that drops onto its stop hits harder. Only
    /// the stops given are looked at: a hose that is taut before them is not.
    /// # Errors
    /// When the start lies outside the arm's reach or already beyond a stop, or nothing stops
    /// the wheel within the reach.
    /// # Source
    /// Principle of virtual work, see the module's text; the forces checked as the slope of energy
    /// over how far the stop gives.
    pub fn droop(
        &self,
        free: Angle,
        start: Angle,
        on: &Hanging,
        stops: &Stops,
    ) -> Result<Droop, LinkageError> {
        let met = stops.met(&Look::all(&self.linkage, self.shift)?, start)?;
        self.droop_onto(free, on, stops, &met)
    }

    /// The same, where it is known already where the stops are met.
    ///
    /// # Valid for
    /// Stops that were met by this linkage; otherwise as [`droop`](Self::droop).
    /// # Errors
    /// When nothing stops the wheel within the reach.
    pub fn droop_onto(
        &self,
        free: Angle,
        on: &Hanging,
        stops: &Stops,
        met: &Met,
    ) -> Result<Droop, LinkageError> {
        let ends = self.droop_ends(free, on, stops, met)?;
        let first = ends.iter().min_by(|a, b| a.angle.to_rad().total_cmp(&b.angle.to_rad()));
        let first = first.ok_or(LinkageError::NoSuchAngle {
            what: "rest to the hanging wheel".into(),
            looked_to: met.looked_to,
        })?;
        let force = first.force.unwrap_or(Force::ZERO);
        Ok(Droop { angle: first.angle, stopped_by: first.by, force })
    }

    /// Everything that stops the wheel's way down, each at the plate angle at which it would if it
    /// were alone: balance, bolt, damper, as far as given and within the arm's reach.
    ///
    /// # Valid for
    /// As [`droop_onto`](Self::droop_onto).
    /// # Errors
    /// When the arm does not reach where a stop was met.
    /// # Source
    /// Principle of virtual work, see the module's text; the forces checked as the slope of energy
    /// over how far the stop gives.
    pub fn droop_ends(
        &self,
        free: Angle,
        on: &Hanging,
        stops: &Stops,
        met: &Met,
    ) -> Result<Vec<End>, LinkageError> {
        let mut ends = Vec::new();
        let mut add = |by, angle, force| ends.push(End { by, angle, force: Some(Force::n(force)) });
        let moment = |angle| self.moment_in_air(free, angle, on);
        // Beyond the arm's reach is no rest, but a stop may come before.
        if let Ok(hangs) = self.hang(free, on) {
            add(StoppedBy::Nothing, hangs, 0.0);
        }
        if let (Some(at), Some((bolt, _))) = (met.bolt, stops.bolt) {
            add(StoppedBy::StopBolt, at, -moment(at)? / bolt.distance(at.to_rad()).1);
        }
        if let (Some(at), Some(damper)) = (met.damper, stops.damper) {
            let motion = damper.span.at(&self.linkage, self.shift.at(at))?;
            add(StoppedBy::Damper, at, moment(at)? / motion.change(Angle::rad(1.0)).to_m());
        }
        Ok(ends)
    }
}

/// The end of the window the start lies in; none when it is open to the end of the reach.
fn end_of(holds: Option<Window>, what: &'static str) -> Result<Option<Angle>, LinkageError> {
    match holds {
        Some(window) => Ok(window.to),
        None => Err(LinkageError::Input {
            what,
            given: "already reached at the plate angle it is let down from".into(),
            must: "clear of the plate and the damper at ride",
        }),
    }
}

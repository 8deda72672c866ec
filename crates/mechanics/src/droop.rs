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
//! cable, a half-shaft, ends the way where it is drawn as far as it may be; it bears nothing there,
//! and where it comes first the arm tears it.
//!
//! **Limits.** Slow, no friction: a wheel that drops onto its stop hits harder.
//!
//! **Source.** Principle of virtual work; own derivation.

use axlewright_quantity::{Angle, Force, Length};

use crate::linkage::LinkageError;
use crate::load::{Corner, Hanging};
use crate::windows::{BoltBehind, Cord, Damper, HalfShaft, Look, Window};

/// What tears is looked for as far beyond the first stop as this: farther no doubt reaches.
const FAR: Angle = Angle::deg(10.0);

/// What can stop the wheel, or ends its way.
#[derive(Debug, Clone, Copy, Default)]
pub struct Stops<'a> {
    /// The bolt behind the plate and its radius, once it is in.
    pub bolt: Option<(&'a BoltBehind, Length)>,
    /// The damper, once it is fitted and where its length is known.
    pub damper: Option<&'a Damper>,
    /// The brake hose.
    pub hose: Option<&'a Cord>,
    /// The handbrake cable.
    pub cable: Option<&'a Cord>,
    /// The half-shaft.
    pub half_shaft: Option<&'a HalfShaft>,
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

impl Corner {
    /// Where the wheel comes to rest as it is let down from `start` (usually ride): the first of
    /// [`Corner::droop_ends`].
    ///
    /// # Valid for
    /// A wheel let down slowly and without friction; one that drops onto its stop hits harder. Only
    /// what is given is looked at.
    /// # Errors
    /// As [`Corner::droop_ends`].
    /// # Source
    /// As [`Corner::droop_ends`].
    pub fn droop(
        &self,
        free: Angle,
        start: Angle,
        on: &Hanging,
        stops: &Stops,
    ) -> Result<Droop, LinkageError> {
        let ends = self.droop_ends(free, start, on, stops)?;
        let first = ends.iter().min_by(|a, b| a.angle.to_rad().total_cmp(&b.angle.to_rad()));
        let first = first.ok_or(LinkageError::NoSuchAngle {
            what: "rest to the hanging wheel".into(),
            looked_to: self.linkage.reach(self.shift)?.1,
        })?;
        let force = first.force.unwrap_or(Force::ZERO);
        Ok(Droop { angle: first.angle, stopped_by: first.by, force })
    }

    /// Everything that ends the wheel's way down from `start`, each with the plate angle at which
    /// it would if it were alone: balance, bolt, damper, hose, cable, half-shaft, as far as given
    /// and within the arm's reach.
    ///
    /// # Valid for
    /// As [`Corner::droop`].
    /// # Errors
    /// When the start lies outside the arm's reach or already beyond a stop.
    /// # Source
    /// Principle of virtual work, see the module's text; the forces checked as the slope of energy
    /// over how far the stop gives.
    pub fn droop_ends(
        &self,
        free: Angle,
        start: Angle,
        on: &Hanging,
        stops: &Stops,
    ) -> Result<Vec<End>, LinkageError> {
        let reach = self.linkage.reach(self.shift)?;
        if !(reach.0 <= start && start < reach.1) {
            return Err(LinkageError::Input {
                what: "plate angle from which the wheel is let down",
                given: format!("{:.1}°", start.to_deg()),
                must: "within the arm's reach",
            });
        }
        let range = (start, reach.1);
        let look = Look { linkage: &self.linkage, shift: self.shift, range };
        let mut ends = Vec::new();
        let mut add = |by, angle: Option<Angle>, force: Option<Force>| {
            ends.extend(angle.map(|angle| End { by, angle, force }));
        };
        // Beyond the arm's reach is no rest, but a stop may come before.
        add(StoppedBy::Nothing, self.hang(free, on).ok(), Some(Force::ZERO));
        let moment = |angle| self.moment_in_air(free, angle, on);
        if let Some((bolt, radius)) = stops.bolt {
            let rest = bolt.windows(radius, range)?;
            let at = end_of_first(rest.first().copied(), "the stop bolt")?;
            let force = |at: Angle| -> Result<Force, LinkageError> {
                Ok(Force::n(-moment(at)? / bolt.distance(at.to_rad()).1))
            };
            add(StoppedBy::StopBolt, at, at.map(force).transpose()?);
        }
        if let Some(damper) = stops.damper {
            damper.check()?;
            let rest = look.span(&damper.span, None, Some(damper.open))?;
            let at = end_of_first(rest.first().map(|b| b.window), "the open damper")?;
            let force = |at: Angle| -> Result<Force, LinkageError> {
                let motion = damper.span.at(&self.linkage, self.shift.at(at))?;
                Ok(Force::n(moment(at)? / motion.change(Angle::rad(1.0)).to_m()))
            };
            add(StoppedBy::Damper, at, at.map(force).transpose()?);
        }
        let least = ends.iter().map(|end| end.angle).reduce(Angle::min);
        let far = least.map_or(reach.1, |least| reach.1.min(least + FAR));
        if start < far {
            ends.extend(tearing(&Look { range: (start, far), ..look }, stops)?);
        }
        Ok(ends)
    }
}

/// What would tear, where it ends within the range looked at; at its start what is drawn out there
/// already.
fn tearing(look: &Look, stops: &Stops) -> Result<Vec<End>, LinkageError> {
    let mut ends = Vec::new();
    let mut add = |by, first: Option<Window>| {
        let angle = match first {
            Some(window) if window.from.is_none() => window.to,
            _ => Some(look.range.0),
        };
        ends.extend(angle.map(|angle| End { by, angle, force: None }));
    };
    for (cord, by) in [(stops.hose, StoppedBy::Hose), (stops.cable, StoppedBy::Cable)] {
        if let Some(cord) = cord {
            add(by, look.cord(cord)?.first().copied());
        }
    }
    if let Some(shaft) = stops.half_shaft {
        let found = look.half_shaft(shaft)?;
        add(StoppedBy::HalfShaft, found.first().map(|bound| bound.window));
    }
    Ok(ends)
}

/// The end of the window the start lies in; none when it is open to the end of the reach.
fn end_of_first(first: Option<Window>, what: &'static str) -> Result<Option<Angle>, LinkageError> {
    match first {
        Some(window) if window.from.is_none() => Ok(window.to),
        _ => Err(LinkageError::Input {
            what,
            given: "already reached at the plate angle it is let down from".into(),
            must: "clear at ride",
        }),
    }
}

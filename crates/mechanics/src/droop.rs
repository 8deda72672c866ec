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
//! bolt the droop stop without anyone having meant it.
//!
//! **Limits.** Slow, no friction: a wheel that drops onto its stop hits harder.
//!
//! **Source.** Principle of virtual work; own derivation.

use axlewright_quantity::{Angle, Force, Length};

use crate::linkage::LinkageError;
use crate::load::{Corner, Hanging};
use crate::windows::{BoltBehind, Damper, Look};

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
    /// Nothing: bar and weights are in balance.
    Nothing,
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
        let reach = over.range;
        if !(reach.0 <= start && start < reach.1) {
            return Err(LinkageError::Input {
                what: "plate angle from which the wheel is let down",
                given: format!("{:.1}°", start.to_deg()),
                must: "within the arm's reach",
            });
        }
        let range = (start, reach.1);
        let mut met = Met { bolt: None, damper: None, looked_to: reach.1 };
        if let Some((bolt, radius)) = self.bolt {
            let rest = bolt.windows(radius, range)?;
            met.bolt = end_of_first(rest.first().copied(), "the stop bolt")?;
        }
        if let Some(damper) = self.damper {
            damper.check()?;
            let look = Look { range, swept: None, ..*over };
            let rest = look.span(&damper.span, None, Some(damper.open))?;
            met.damper = end_of_first(rest.first().map(|b| b.window), "the open damper")?;
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
        // Beyond the arm's reach is no rest, but a stop may come before.
        let hangs = self.hang(free, on).ok();
        let each = [
            (hangs, StoppedBy::Nothing),
            (met.bolt, StoppedBy::StopBolt),
            (met.damper, StoppedBy::Damper),
        ];
        let mut found = None;
        for (at, by) in each {
            if let Some(angle) = at
                && found.is_none_or(|(first, _)| angle < first)
            {
                found = Some((angle, by));
            }
        }
        let (angle, stopped_by) = found.ok_or(LinkageError::NoSuchAngle {
            what: "rest to the hanging wheel".into(),
            looked_to: met.looked_to,
        })?;
        let moment = self.moment_in_air(free, angle, on)?;
        let force = match (stopped_by, stops.bolt, stops.damper) {
            (StoppedBy::StopBolt, Some((bolt, _)), _) => -moment / bolt.distance(angle.to_rad()).1,
            (StoppedBy::Damper, _, Some(damper)) => {
                let at = damper.span.at(&self.linkage, self.shift.at(angle))?;
                moment / at.change(Angle::rad(1.0)).to_m()
            }
            _ => 0.0,
        };
        Ok(Droop { angle, stopped_by, force: Force::n(force) })
    }
}

/// The end of the window the start lies in; none when it is open to the end of the reach.
fn end_of_first(
    first: Option<crate::windows::Window>,
    what: &'static str,
) -> Result<Option<Angle>, LinkageError> {
    match first {
        Some(window) if window.from.is_none() => Ok(window.to),
        _ => Err(LinkageError::Input {
            what,
            given: "already reached at the plate angle it is let down from".into(),
            must: "clear of the plate and the damper at ride",
        }),
    }
}

//! Travel: how everything goes with the wheel between droop and full bump.
//!
//! ```text
//!   travel + bump ↑ full bump ──⊙
//!                 │             │  rows every 10 mm from ride, and one at each end
//!                 0 ride ───────⊙
//!                 │             │
//!                 ↓ droop ──────⊙
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | travel | wheel centre's rise from ride, + bump | m | [`TravelRow::travel`] |
//! | θ | plate angle, + tail down | rad | [`TravelRow::angle`] |
//!
//! **Source.** Poses and loads of [`crate::arm`] and [`crate::load`] at the plate angles whose
//! trims differ by equal steps.

use axlewright_quantity::{Angle, Force, Length};

use crate::linkage::{LinkageError, Span};
use crate::load::Corner;
use crate::root::Near;

/// What to run through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run<'a> {
    /// Free angle of the bar.
    pub free: Angle,
    /// Where travel is zero.
    pub ride: Angle,
    /// Lowest.
    pub droop: Angle,
    /// Highest.
    pub full_bump: Angle,
    /// Wheel travel between rows.
    pub step: Length,
    /// The damper, where its place is known.
    pub damper: Option<&'a Span>,
    /// The hose, where its place is known.
    pub hose: Option<&'a Span>,
}

/// Everything at one wheel travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TravelRow {
    /// Rise of the wheel centre from ride.
    pub travel: Length,
    /// Plate angle.
    pub angle: Angle,
    /// + top outward; not known to a plain lever.
    pub camber: Option<Angle>,
    /// + toe-in; not known to a plain lever.
    pub toe: Option<Angle>,
    /// How far forward of its place at ride the contact is.
    pub contact_shift_x: Length,
    /// Damper, eye to eye.
    pub damper: Option<Length>,
    /// Hose, end to end.
    pub hose: Option<Length>,
    /// Plate bend at front and rear hole, + outward.
    pub bend: Option<[Length; 2]>,
    /// Spring load at the contact.
    pub load: Force,
}

impl Corner {
    /// Rows from droop up to full bump: both ends and every whole step from ride between them.
    ///
    /// # Valid for
    /// The body held still. The load is that of bar, gas and bush: rings met on the way up carry
    /// more and are not in it.
    /// # Errors
    /// When the step is not positive or would make more than 500 rows, when droop, ride and full
    /// bump are not in order, or the arm does not reach.
    /// # Source
    /// Row by row [`Corner::angle_at_trim`] and [`Corner::spring_load`].
    pub fn travel(&self, run: &Run) -> Result<Vec<TravelRow>, LinkageError> {
        let at_ride = self.linkage.stance(self.shift.at(run.ride))?;
        let trim_ride = self.trim(run.ride)?;
        let lowest = (trim_ride - self.trim(run.droop)?).to_m();
        let highest = (trim_ride - self.trim(run.full_bump)?).to_m();
        let step = run.step.to_m();
        if !(0.0 < step && (highest - lowest) / step <= 500.0) {
            let given = format!("{:.1} mm", run.step.to_mm());
            let what = "wheel travel between rows";
            return Err(LinkageError::Input { what, given, must: "a few millimetres or more" });
        }
        if !(lowest <= 0.0 && 0.0 <= highest) {
            return Err(LinkageError::Input {
                what: "wheel travel at droop and full bump",
                given: format!("{:.1} mm and {:.1} mm", lowest * 1e3, highest * 1e3),
                must: "below and above ride",
            });
        }
        let mut angles = vec![run.droop];
        let (mut n, last) = ((lowest / step).floor() + 1.0, (highest / step).ceil() - 1.0);
        // Each row is begun where the line through the two before it has its trim.
        let ends = [(run.ride.to_rad(), 0.0), (run.droop.to_rad(), lowest)];
        let (mut here, mut before) = (ends[1], ends[0]);
        while n <= last {
            let rise = step * n;
            let per_rad = (here.1 - before.1) / (here.0 - before.0);
            let near = Near { at: here.0 + (rise - here.1) / per_rad, slope: per_rad };
            let found = self.linkage.at_trim(
                trim_ride - run.step * n,
                self.shift,
                Some(near).filter(|near| near.at.is_finite()),
            )?;
            // The row at ride is ride itself.
            angles.push(if n == 0.0 { run.ride } else { found });
            (before, here) = (here, (found.to_rad(), rise));
            n += 1.0;
        }
        angles.push(run.full_bump);
        let from = (trim_ride, at_ride.contact.x);
        angles.into_iter().map(|a| self.travel_row(run, a, from)).collect()
    }

    fn travel_row(
        &self,
        run: &Run,
        angle: Angle,
        (trim_ride, contact_x): (Length, Length),
    ) -> Result<TravelRow, LinkageError> {
        let stance = self.linkage.stance(self.shift.at(angle))?;
        let length = |span: Option<&Span>| match span {
            Some(span) => Ok::<_, LinkageError>(span.seen(&stance, angle)?.length),
            None => Ok(None),
        };
        Ok(TravelRow {
            travel: trim_ride - self.linkage.trim_of(&stance),
            angle,
            camber: stance.camber,
            toe: stance.toe,
            contact_shift_x: stance.contact.x - contact_x,
            damper: length(run.damper)?,
            hose: length(run.hose)?,
            bend: stance.bend,
            load: self.spring_load(angle, run.free)?,
        })
    }
}

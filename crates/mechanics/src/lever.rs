//! A wheel on a plain lever about the bar's axis: what can be said before the arm is measured.
//!
//! ```text
//!  Seen from the left, front of the car to the left
//!
//!      B hub (bar, end on)
//!      O──────────────────────── horizontal
//!       ‾‾──__   L             ↕ trim: bar axis above wheel centre
//!             ‾‾──__⊙ wheel
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | B | hub | m | [`LeverDesign::hub`] |
//! | L | hub to wheel centre, in side view | m | [`LeverDesign::reach`] |
//! | θᵣ | plate angle at ride, + tail down | rad | [`LeverDesign::ride_angle`] |
//! | h | bar axis above wheel centre at ride | m | [`LeverDesign::trim_at_ride`] |
//!
//! **Model.** The wheel centre turns about the bar's axis: at plate angle θ the lever lies
//! asin(h/L) + θ − θᵣ below the horizontal. Camber, toe and plate bend are not known to it.
//!
//! **Limits.** A semi-trailing arm's wheel does not quite follow this circle. Against the arm of
//! the invented demo car, within 4° of ride (some 30 mm of wheel travel), trims differ by less
//! than 1 mm and wheel rates by 5 % (`tests/it/load.rs`); other geometry may differ more. Left
//! corner, no play.
//!
//! **Source.** Plane trigonometry (own derivation).

use axlewright_quantity::{Angle, Length, Place};

use crate::arm::kernel::Real;
use crate::arm::kernel::{Motion, Stand, V3, above, up_to};
use crate::arm::si;

/// The few numbers a plain lever needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeverDesign {
    /// Centre of the bar's end where the plate sits.
    pub hub: Place,
    /// Hub to wheel centre in side view.
    pub reach: Length,
    /// Plate angle at ride, + tail down.
    pub ride_angle: Angle,
    /// Bar axis above wheel centre at ride.
    pub trim_at_ride: Length,
    /// Wheel centre to road under load.
    pub tyre_radius: Length,
}

/// Why there is no such lever.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LeverError {
    /// A number is not one, or no car's.
    #[error("{what} is not a number a car can have")]
    NotSane {
        /// Which input.
        what: &'static str,
    },
    /// A length must be greater than zero.
    #[error("{what} is {:.1} mm; it must be greater than zero", .given.to_mm())]
    NotPositive {
        /// Which input.
        what: &'static str,
        /// As given.
        given: Length,
    },
    /// The wheel would be farther below the bar than the lever is long.
    #[error(
        "trim of {:.1} mm does not go with a lever of {:.1} mm",
        .trim.to_mm(), .reach.to_mm()
    )]
    TrimBeyondReach {
        /// As given.
        trim: Length,
        /// As given.
        reach: Length,
    },
    /// The ride angle is no trailing arm's.
    #[error("plate angle at ride is {:.2}°; it must lie between -60° and 60°", .given.to_deg())]
    RideAngle {
        /// As given.
        given: Angle,
    },
}

/// A wheel on a lever that turns with the plate about the bar's axis.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneLever {
    design: LeverDesign,
    hub: V3<f64>,
    wheel: V3<f64>,
}

impl PlaneLever {
    /// From the few numbers.
    ///
    /// # Errors
    /// When a length is not positive, or the trim exceeds 0.95 of the lever.
    pub fn new(design: LeverDesign) -> Result<Self, LeverError> {
        let hub = si(design.hub);
        if !hub.iter().all(|c| c.abs() <= 20.0) {
            return Err(LeverError::NotSane { what: "hub" });
        }
        for (what, given) in
            [("hub to wheel centre", design.reach), ("loaded tyre radius", design.tyre_radius)]
        {
            if !above(given.to_m(), 0.0) {
                return Err(LeverError::NotPositive { what, given });
            }
            if !up_to(given.to_m(), 20.0) {
                return Err(LeverError::NotSane { what });
            }
        }
        if !up_to(design.ride_angle.to_deg(), 60.0) {
            return Err(LeverError::RideAngle { given: design.ride_angle });
        }
        let (reach, trim) = (design.reach.to_m(), design.trim_at_ride.to_m());
        if !up_to(trim, 0.95 * reach) {
            return Err(LeverError::TrimBeyondReach {
                trim: design.trim_at_ride,
                reach: design.reach,
            });
        }
        let behind = (reach * reach - trim * trim).sqrt();
        let wheel = [hub[0] - behind, hub[1], hub[2] - trim];
        Ok(Self { design, hub, wheel })
    }

    /// What it was made from.
    pub const fn design(&self) -> &LeverDesign {
        &self.design
    }

    pub(crate) fn motion<D: Real>(&self, angle: D) -> Motion<D> {
        let (s, c) = (angle - self.design.ride_angle.to_rad()).sin_cos();
        let (o, l) = (D::from(0.0), D::from(1.0));
        let stand = Stand { centre: self.hub, turn: [[c, o, -s], [o, l, o], [s, o, c]] };
        Motion { stand, spin: [o, -l, o] }
    }
    pub(crate) const fn wheel(&self) -> (V3<f64>, V3<f64>, f64) {
        (self.wheel, [0.0, 1.0, 0.0], self.design.tyre_radius.to_m())
    }
    pub(crate) const fn hub(&self) -> V3<f64> {
        self.hub
    }
}

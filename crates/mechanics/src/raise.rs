//! Raising the arm on a jack from where it hangs: how far, how hard, how much is stored.
//!
//! ```text
//!    O────___  hang: everything fitted so far hangs on the bar
//!     \      ‾‾‾──⊙
//!      ‾‾──__   ↑ │ lift at the jack point
//!            ‾‾─●─┘
//!               ↑ F_j
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | F_j | force of the jack on the arm, upward | N | [`Raise::force`] |
//! | z_j | height of the jack point | m | from [`Lift::jack_point`] |
//! | θ₀ | free angle | rad | [`Lift::free`] |
//!
//! **Virtual work** at the jack point: F_j·(−dz_j/dθ) = k(θ₀ − θ) + Σ m·g·(−dz_m/dθ), plus bush
//! and gas where fitted. At the hang angle this is zero.
//!
//! **Limits.** Slow, no friction, the body does not move. The same force pushes the car up: what
//! it does to the stands is asked of [`crate::supports`].
//!
//! **Source.** Principle of virtual work; own derivation.

use axlewright_quantity::{Angle, Energy, Force, Length, Place};

use crate::arm::kernel::up_to;
use crate::linkage::LinkageError;
use crate::load::{Corner, Hanging};

/// What is raised, and from which free angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lift<'a> {
    /// Free angle of the bar as it is indexed.
    pub free: Angle,
    /// What hangs on it.
    pub on: Hanging<'a>,
    /// Where the jack pushes the arm, at the design angle.
    pub jack_point: Place,
}

/// What it takes to get to an angle from where the arm hangs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Raise {
    /// Where the arm hangs.
    pub from: Angle,
    /// Where it is raised to.
    pub to: Angle,
    /// How far the jack point rises.
    pub lift: Length,
    /// What the jack pushes with at the end.
    pub force: Force,
    /// What the bar then stores, ½k(θ₀ − θ)²: what is let go if the jack slips.
    pub energy: Energy,
}

impl Lift<'_> {
    /// Lift, force and energy to raise the arm to a plate angle.
    ///
    /// # Units and sign
    /// Force + upward on the arm; a negative one says that the arm must be pulled down there.
    /// # Valid for
    /// Raising slowly, without friction, the body held still on its stands.
    /// # Errors
    /// When hang or target lie outside the arm's reach, or the jack point does not rise there.
    /// # Source
    /// Principle of virtual work; checked by the slope of energy over height
    /// (`reference/load_oracle.py`) and by the work over the whole path.
    pub fn to(&self, corner: &Corner, to: Angle) -> Result<Raise, LinkageError> {
        let from = corner.hang(self.free, &self.on)?;
        let height = |angle| -> Result<(Length, Length), LinkageError> {
            let stance = corner.linkage.stance(corner.shift.at(angle))?;
            let slope = stance.carry_change(self.jack_point, Angle::rad(1.0)).z;
            Ok((stance.carry(self.jack_point).z, slope))
        };
        let ((low, _), (high, slope)) = (height(from)?, height(to)?);
        let drop = -slope.to_m();
        if up_to(drop, 0.006) || !drop.is_finite() {
            return Err(LinkageError::NoLever { what: "the jack point", angle: to });
        }
        // Ahead of the bar a point goes down as the wheel goes up: nothing is raised there.
        if drop < 0.0 {
            return Err(LinkageError::Input {
                what: "the jack point",
                given: format!("X {:.0} mm", self.jack_point.x.to_mm()),
                must: "behind the bar, where X is minus, so that the arm rises with the jack",
            });
        }
        let moment = corner.moment_in_air(self.free, to, &self.on)?;
        Ok(Raise {
            from,
            to,
            lift: high - low,
            force: Force::n(moment / drop),
            energy: corner.bar_energy(to, self.free)?,
        })
    }
}

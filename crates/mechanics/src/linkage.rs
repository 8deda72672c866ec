//! What carries the wheel, whichever way it is known, and lengths that span body and arm.
//!
//! ```text
//!        o body point                       ↑ + bump: wheel travel
//!        │ ℓ(θ)                             │
//!   O────┼──____ plate                 z ___⊙___ wheel centre
//!        o      ‾‾──__                      │
//!        arm point, carried                 ● contact
//! ```
//!
//! | symbol | meaning | unit | here |
//! |---|---|---|---|
//! | θ | plate angle, + tail down | rad | [`PoseAt::angle`] |
//! | z | height of the contact point in body axes, + up | m | [`Stance::contact`] |
//! | trim | bar axis above wheel centre | m | [`Linkage::trim`] |
//! | travel | wheel centre's rise from ride, + bump | m | [`Linkage::travel`] |
//! | ℓ | a spanning length: damper, hose, cable, half-shaft | m | [`Span`] |
//!
//! Slopes with θ are exact: v = ω × (point − centre) for every point fixed to the arm, and
//! dℓ/dθ = v·(direction of the span).
//!
//! **Source.** Kinematics of a rigid body; own derivation. Three measured lengths are joined by
//! the parabola through them (Lagrange), which between angles 10° apart misses an ordinary
//! damper's length by less than 0.2 mm.

use axlewright_quantity::{Angle, Length, Place};

pub use crate::arm::Shift;
use crate::arm::kernel::Real;
use crate::arm::kernel::{self, At, Motion, Short, Stand, V3};
use crate::arm::{ArmError, PoseAt, Still, TrailingArm, out_of_reach, place, si};
use crate::lever::{LeverError, PlaneLever};
use crate::root::{Lost, Near, Walk, settle, settle_near};

/// What carries the wheel.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "one per corner; a box would cost every pose")]
pub enum Linkage {
    /// A rigid arm between plate and inner pivot.
    Arm(TrailingArm),
    /// A plain lever about the bar's axis.
    Lever(PlaneLever),
}

impl From<TrailingArm> for Linkage {
    fn from(arm: TrailingArm) -> Self {
        Self::Arm(arm)
    }
}
impl From<PlaneLever> for Linkage {
    fn from(lever: PlaneLever) -> Self {
        Self::Lever(lever)
    }
}

/// Why there is no answer about a corner.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LinkageError {
    /// The arm makes no sense or does not reach.
    #[error(transparent)]
    Arm(#[from] ArmError),
    /// The lever makes no sense.
    #[error(transparent)]
    Lever(#[from] LeverError),
    /// A number is not one, or outside what makes sense.
    #[error("{what} is {given}; it must be {must}")]
    Input {
        /// Which input.
        what: &'static str,
        /// As given, with its unit.
        given: String,
        /// What would be right.
        must: &'static str,
    },
    /// Three measured lengths at angles too close together.
    #[error(
        "lengths measured at {:.1}°, {:.1}° and {:.1}° are too close together",
        .at[0], .at[1], .at[2]
    )]
    LengthsTooClose {
        /// The three plate angles, deg.
        at: [f64; 3],
    },
    /// What was measured does not tell.
    #[error("{what} cannot be told from what was measured")]
    NotKnown {
        /// What is not known.
        what: &'static str,
    },
    /// Nothing in the arm's reach answers.
    #[error("no plate angle up to {:.1}° gives {what}", .looked_to.to_deg())]
    NoSuchAngle {
        /// What was asked for.
        what: String,
        /// Where the search ended.
        looked_to: Angle,
    },
    /// The wheel does not move up and down with the plate there.
    #[error("at a plate angle of {:.1}° {what} does not move up and down", .angle.to_deg())]
    NoLever {
        /// Which point.
        what: &'static str,
        /// Where.
        angle: Angle,
    },
}

/// Where the wheel and what goes with it stand, with slopes per plate angle.
#[derive(Debug, Clone, Copy)]
pub struct Stance {
    /// Wheel centre.
    pub wheel_centre: Place,
    /// Lowest point of the tyre.
    pub contact: Place,
    /// + top outward; not known to a plain lever.
    pub camber: Option<Angle>,
    /// + toe-in; not known to a plain lever.
    pub toe: Option<Angle>,
    /// Plate bend at the front and rear hole, + outward; not known to a plain lever.
    pub bend: Option<[Length; 2]>,
    motion: Motion<f64>,
}

impl Stance {
    /// Where a point is that moves with the arm and was at `design` at the design angle.
    pub fn carry(&self, design: Place) -> Place {
        place(self.motion.carry(si(design)))
    }
    /// How that point moves for a small step of plate angle: the exact slope times the step.
    pub fn carry_change(&self, design: Place, step: Angle) -> Place {
        place(kernel::scale(self.motion.velocity(si(design)), step.to_rad()))
    }
}

/// Plain numbers of one angle, for the load equations.
pub(crate) struct Raw<D> {
    pub(crate) motion: Motion<D>,
    /// −dz/dθ of the contact.
    pub(crate) contact_drop: D,
}

impl Linkage {
    pub(crate) fn motion<D: Real>(&self, angle: D, shift: Shift) -> Result<Motion<D>, Short> {
        match self {
            Self::Arm(arm) => arm.motion(&At::new(angle, shift.u.to_m(), shift.w.to_m())),
            Self::Lever(lever) => Ok(lever.motion(angle)),
        }
    }

    /// Where it stands, without how it moves on: less work than [`Self::motion`].
    pub(crate) fn stand(&self, angle: f64, shift: Shift) -> Result<Stand<f64>, Short> {
        Ok(self.still(angle, shift)?.stand)
    }

    /// The same, and how the plate is bent there.
    #[inline]
    pub(crate) fn still(&self, angle: f64, shift: Shift) -> Result<Still, Short> {
        match self {
            Self::Arm(arm) => arm.still(&At::new(angle, shift.u.to_m(), shift.w.to_m())),
            Self::Lever(lever) => Ok(Still { stand: lever.motion(angle).stand, bend: None }),
        }
    }

    /// Wheel centre and outward axle at the design angle, and the tyre's loaded radius.
    pub(crate) const fn wheel(&self) -> (V3<f64>, V3<f64>, f64) {
        match self {
            Self::Arm(arm) => arm.wheel(),
            Self::Lever(lever) => lever.wheel(),
        }
    }

    pub(crate) const fn hub(&self) -> V3<f64> {
        match self {
            Self::Arm(arm) => arm.kernel().hub,
            Self::Lever(lever) => lever.hub(),
        }
    }

    pub(crate) const fn design_rad(&self) -> f64 {
        match self {
            Self::Arm(arm) => arm.design().design_angle.to_rad(),
            Self::Lever(lever) => lever.design().ride_angle.to_rad(),
        }
    }

    pub(crate) fn raw<D: Real>(&self, angle: D, shift: Shift) -> Result<Raw<D>, Short> {
        let motion = self.motion(angle, shift)?;
        let (wheel, axle, radius) = self.wheel();
        let s = motion.direction(axle);
        let ds = kernel::cross(motion.spin, s);
        let disc = kernel::lowest_of_disc_rate(s, ds, radius);
        let contact_drop = -(motion.velocity(wheel)[2] + disc[2]);
        Ok(Raw { motion, contact_drop })
    }

    /// Least and greatest plate angle that can be asked for, at most 50° either way from the
    /// design angle.
    ///
    /// # Valid for
    /// Where the arm can follow, not where bolt, damper and hose let it (see [`crate::windows`]). A
    /// plain lever has no end of its own: 50° is only how far it is asked.
    /// # Errors
    /// When the eccentrics stand so far off that the arm does not reach its design angle.
    pub fn reach(&self, shift: Shift) -> Result<(Angle, Angle), LinkageError> {
        match self {
            Self::Arm(arm) => Ok(arm.reach(shift)?),
            Self::Lever(lever) => {
                let (ride, swing) = (lever.design().ride_angle, Angle::deg(50.0));
                Ok((ride - swing, ride + swing))
            }
        }
    }

    /// Where everything stands.
    ///
    /// # Valid for
    /// A rigid arm, the body held still, the tyre a thin disc. A plain lever tells no camber, toe
    /// or bend.
    /// # Errors
    /// When the arm does not reach, naming the angle.
    /// # Source
    /// [`crate::arm`] and [`crate::lever`] in closed form; slopes v = ω × (point − centre).
    pub fn stance(&self, at: PoseAt) -> Result<Stance, LinkageError> {
        let (motion, pose) = match self {
            Self::Arm(arm) => arm.stand(at).map(|(motion, pose)| (motion, Some(pose)))?,
            Self::Lever(lever) => (lever.motion(at.angle.to_rad()), None),
        };
        let (wheel, axle, radius) = self.wheel();
        let s = motion.direction(axle);
        let centre = motion.carry(wheel);
        Ok(Stance {
            wheel_centre: place(centre),
            contact: place(kernel::add(centre, kernel::lowest_of_disc(s, radius))),
            camber: pose.map(|p| p.camber),
            toe: pose.map(|p| p.toe),
            bend: pose.map(|p| p.bend),
            motion,
        })
    }

    /// Trim: bar axis above wheel centre.
    ///
    /// # Valid for
    /// A height along the body's own upright: on a body that leans or stands nose up it is not what
    /// a plumb line gives.
    /// # Errors
    /// When the arm does not reach.
    pub fn trim(&self, at: PoseAt) -> Result<Length, LinkageError> {
        let shift = Shift { u: at.shift_u, w: at.shift_w };
        let stand =
            self.stand(at.angle.to_rad(), shift).map_err(|short| out_of_reach(at.angle, short))?;
        Ok(Length::m(self.trim_m(&stand)))
    }

    /// The trim where everything stands so.
    pub(crate) fn trim_of(&self, stance: &Stance) -> Length {
        Length::m(self.trim_m(&stance.motion))
    }

    fn trim_m(&self, stand: &Stand<f64>) -> f64 {
        self.hub()[2] - stand.carry(self.wheel().0)[2]
    }

    /// The plate angle at which the trim is so.
    ///
    /// # Valid for
    /// The angle nearest to the design angle on the way the trim has to go, at most 90° off. Past
    /// the arm's highest or lowest point trims come back; that second angle is not given.
    /// # Accuracy
    /// 1e-8°.
    /// # Errors
    /// When no angle in the arm's reach gives it.
    pub fn angle_at_trim(&self, trim: Length, shift: Shift) -> Result<Angle, LinkageError> {
        self.at_trim(trim, shift, None)
    }

    /// [`angle_at_trim`](Self::angle_at_trim), begun where a linkage much like this one has it.
    pub(crate) fn at_trim(
        &self,
        trim: Length,
        shift: Shift,
        near: Option<Near>,
    ) -> Result<Angle, LinkageError> {
        let target = trim.to_m();
        let what = || format!("a trim of {:.1} mm", trim.to_mm());
        self.settle((self.design_rad(), near), what, |angle| {
            Some(target - self.trim_m(&self.stand(angle, shift).ok()?))
        })
    }

    /// Rise of the wheel centre from one plate angle to another, + bump.
    ///
    /// # Valid for
    /// Heights along the body's own upright, as [`trim`](Self::trim); the eccentrics may stand
    /// differently at either end.
    /// # Errors
    /// When the arm does not reach one of them.
    pub fn travel(&self, from: PoseAt, to: PoseAt) -> Result<Length, LinkageError> {
        Ok(self.trim(from)? - self.trim(to)?)
    }

    /// Where a falling function of the plate angle passes zero: next to a known such place, or by
    /// a walk from `start` (or the design angle, where that is not reached).
    pub(crate) fn settle(
        &self,
        (start, near): (f64, Option<Near>),
        what: impl Fn() -> String,
        mut f: impl FnMut(f64) -> Option<f64>,
    ) -> Result<Angle, LinkageError> {
        let within = 1e-8_f64.to_radians();
        // A zero far from where it was looked for may not be the one next to the start.
        let close = |found: f64, near: Near| (found - near.at).abs() < 0.3;
        let found = near
            .and_then(|near| settle_near(near, within, &mut f).filter(|found| close(*found, near)));
        if let Some(found) = found {
            return Ok(Angle::rad(found));
        }
        let mut walk = |start: f64| {
            let walk =
                Walk { start, step: 2_f64.to_radians(), farthest: 90_f64.to_radians(), within };
            settle(walk, &mut f)
        };
        let found = match walk(start) {
            Err(Lost::NoStart) => walk(self.design_rad()),
            other => other,
        };
        found.map(Angle::rad).map_err(|lost| {
            let looked_to = match lost {
                Lost::NoStart => start,
                Lost::Until(at) => at,
            };
            LinkageError::NoSuchAngle { what: what(), looked_to: Angle::rad(looked_to) }
        })
    }
}

/// A length between a point of the body and a point of the arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Span {
    /// Both ends are known.
    Points {
        /// The end on the body.
        body: Place,
        /// The end on the arm, at the design angle.
        arm_at_design: Place,
    },
    /// Three lengths measured at three plate angles, joined by a parabola.
    Lengths([(Angle, Length); 3]),
    /// Taken as upright at a horizontal distance behind the hub; only its change is known.
    Upright {
        /// Hub to lower eye, horizontally rearward.
        reach: Length,
    },
}

/// A span at one plate angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpanAt {
    /// Its length, where known.
    pub length: Option<Length>,
    slope: f64,
}

impl SpanAt {
    /// How much longer it gets for a small step of plate angle: the exact slope times the step.
    ///
    /// # Valid for
    /// Small steps: the length itself leaves this line by the square of the step.
    /// # Source
    /// dℓ/dθ = v·(direction of the span); through measured lengths, the slope of their parabola.
    pub fn change(&self, step: Angle) -> Length {
        Length::m(self.slope * step.to_rad())
    }
}

impl Span {
    /// Length and slope at a plate angle.
    ///
    /// # Valid for
    /// Measured lengths: between the three angles; beyond them the parabola is a guess. `Upright`:
    /// an eye that moves straight up and down, so the slope is its reach and no length is told.
    /// # Errors
    /// When the arm does not reach, or three measured lengths are no curve.
    pub fn at(&self, linkage: &Linkage, at: PoseAt) -> Result<SpanAt, LinkageError> {
        self.check()?;
        let shift = Shift { u: at.shift_u, w: at.shift_w };
        let angle = at.angle.to_rad();
        let motion = linkage.motion(angle, shift).map_err(|short| out_of_reach(at.angle, short))?;
        let (length, slope) = self.raw(&motion, angle);
        Ok(SpanAt { length: length.map(Length::m), slope })
    }

    /// The same, where everything stands so at that angle.
    pub(crate) fn seen(&self, stance: &Stance, angle: Angle) -> Result<SpanAt, LinkageError> {
        self.check()?;
        let (length, slope) = self.raw(&stance.motion, angle.to_rad());
        Ok(SpanAt { length: length.map(Length::m), slope })
    }

    /// # Errors
    /// When the three measured angles are within a degree of each other, or a number is none.
    pub(crate) fn check(&self) -> Result<(), LinkageError> {
        let sane = |p: Place| si(p).iter().all(|c| c.abs() <= 20.0);
        let bad = |what, must| {
            Err(LinkageError::Input { what, given: "not a number a car can have".into(), must })
        };
        match self {
            Self::Points { body, arm_at_design } if !(sane(*body) && sane(*arm_at_design)) => {
                bad("an end of a damper, hose or cable", "within 20 m")
            }
            Self::Upright { reach } if !kernel::up_to(reach.to_m(), 20.0) => {
                bad("the damper's distance behind the hub", "within 20 m")
            }
            Self::Lengths(rows) => {
                if !rows.iter().all(|(a, l)| a.is_finite() && 0.0 < l.to_m() && l.to_m() <= 20.0) {
                    return bad("a measured length", "greater than zero");
                }
                let at = rows.map(|(a, _)| a.to_deg());
                let apart = |i: usize, j: usize| (at[i] - at[j]).abs();
                if apart(0, 1).min(apart(1, 2)).min(apart(0, 2)) < 1.0 {
                    return Err(LinkageError::LengthsTooClose { at });
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Length alone in metres, as [`Self::raw`] has it.
    pub(crate) fn length(&self, stand: &Stand<f64>, angle: f64) -> Option<f64> {
        match self {
            Self::Points { body, arm_at_design } => {
                let seen = kernel::sub(stand.carry(si(*arm_at_design)), si(*body));
                Some(kernel::norm(seen))
            }
            // Of these the length takes no stand.
            Self::Lengths(_) | Self::Upright { .. } => self.measured(angle).0,
        }
    }

    /// Length and dℓ/dθ in metres.
    pub(crate) fn raw<D: Real>(&self, motion: &Motion<D>, angle: D) -> (Option<D>, D) {
        match self {
            Self::Points { body, arm_at_design } => {
                let arm = si(*arm_at_design);
                let seen = kernel::sub(motion.carry(arm), kernel::lift(si(*body)));
                let length = kernel::dot(seen, seen).sqrt();
                (Some(length), kernel::dot(seen, motion.velocity(arm)) / length)
            }
            Self::Lengths(_) | Self::Upright { .. } => self.measured(angle),
        }
    }

    /// The same of a span that is known by no points; nothing and no slope of one that is.
    fn measured<D: Real>(&self, angle: D) -> (Option<D>, D) {
        match self {
            Self::Points { .. } => (None, D::from(0.0)),
            Self::Lengths(rows) => {
                let [(a, p), (b, q), (c, r)] = rows.map(|(a, l)| (a.to_rad(), l.to_m()));
                let first = (q - p) / (b - a);
                let second = ((r - q) / (c - b) - first) / (c - a);
                let length = (angle - a) * first + (angle - a) * (angle - b) * second + p;
                (Some(length), (angle * 2.0 - a - b) * second + first)
            }
            Self::Upright { reach } => (None, D::from(reach.to_m())),
        }
    }
}

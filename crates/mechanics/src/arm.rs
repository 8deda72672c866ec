//! A rigid trailing arm carried by a spring plate and one inner pivot, in closed form.
//!
//! ```text
//!  Seen from above, left rear corner            Seen from the left side
//!  (X up the page is forward)                   (front of the car to the left)
//!
//!   centre plane                                 Z up
//!   │        A inner pivot                        ↑      w
//!   │        o\                    B hub          │     ↗ hub B
//!   │          \ arm               ║ (bar)      ──┼────O────────────── horizontal
//!   │           \                  ║ plate        │     ‾‾──__  θ    θ > 0: tail down
//!   │            \________________ ● hole 1       │           ‾●──●──→ u (plate's reference line)
//!   │             \_______________ ● hole 2       │          hole 1  hole 2
//!   │              ‾‾‾‾\                          │
//!   │                   ⊙═══ wheel                │             ⊙ wheel centre
//!   Y left →                                      └→ rear
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | θ | plate angle: hub–hole line below the horizontal, + tail down | rad | [`PoseAt::angle`] |
//! | u, w | from the hub: along the plate rearward, square to it upward | m | [`PlatePoint`] |
//! | δu, δw | what the eccentrics shift the holes by, along u and w | m | [`Shift`] |
//! | A | ball-like inner pivot | m | [`ArmDesign::inner_pivot`] |
//! | B | hub: centre of the bar's end in the plate | m | [`ArmDesign::hub`] |
//! | s | outward direction of the wheel's axle, left wheel | 1 | from camber and toe |
//! | R | radius of the loaded tyre | m | [`ArmDesign::tyre_radius`] |
//!
//! **Model.** The plate turns about Y at the hub. It is stiff in its own plane and free to bend
//! out of it. Two bolts hold the arm to it: the front hole keeps its u and w, the rear hole its
//! w (its u follows, the holes being a fixed distance apart on the arm), and neither keeps its
//! Y: those are three constraints on the three turns a ball pivot leaves. How far a hole moves
//! in Y from where it was at the design angle is the *bend* of the plate there.
//!
//! **Closed form, no iteration.** With r̂ = (−cos θ, 0, −sin θ) along the plate and
//! n̂ = (−sin θ, 0, cos θ) square to it, the front hole lies at hub + u·r̂ + w·n̂ + y·Ŷ and at its
//! fixed distance from A: one square root gives y (the outboard one). Let e₁ be the unit vector
//! from A to it, and the rear hole p along and q across that line. Its w asks for
//! e₂·n̂ = c; with t = n̂·e₁, e₂ = (c·(n̂ − t·e₁) ± √(1 − t² − c²)·(e₁ × n̂))/(1 − t²): a second
//! square root, its sign that of the design pose. That is the equation a·cos φ + b·sin φ = c for
//! the turn φ about the line A–hole 1, solved without the angle.
//!
//! **Slopes.** The arm's angular velocity ω per unit of θ, δu or δw follows from the same three
//! constraints differentiated, and every point of the arm moves at ω × (point − A): exact, and
//! one linear solve. Second derivatives (for the wheel rate) run this code on dual numbers.
//!
//! **Limits.** Rigid arm and plate (in its plane), no play in bolts or pivot, thin tyre disc.
//! Left corner; the caller mirrors a right one with [`axlewright_quantity::Side::to_left`].
//! Within a few hundredths of a degree of the end of the arm's reach the square roots lose
//! digits.
//!
//! **Source.** Own derivation from the constraints; camber and toe as projected angles after
//! ISO 8855:2011, 7.1 (wording of the camber sign from secondary sources). Checked against an
//! independently formulated constraint solver (`reference/pose_oracle.py`).

use axlewright_quantity::{Angle, Length, Place, PlatePoint};

use crate::root::{Search, edge};

pub(crate) mod kernel;

use kernel::{At, Frame, Kernel, Motion, Real, Short, Stand, V3};

/// Which of the two holes the up-down eccentric moves in the plate.
///
/// Moving one hole tilts the arm about the other, moving both lifts it: the effect on camber
/// differs several-fold and in sign, so there is no default.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum HolesMoved {
    /// Both holes go up and down together.
    Both,
    /// Only the hole nearer the hub.
    Front,
    /// Only the hole farther from the hub.
    Rear,
}

/// A left trailing arm as it stands at its design angle (usually ride), in vehicle axes.
///
/// # Valid for
/// A left corner: the inner pivot lies inboard of the hub (smaller Y). Both eccentrics in the
/// middle of their throw. The plate is taken as flat at this angle, so both holes have the hub's
/// Y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmDesign {
    /// Centre of the bar's end where the plate sits.
    pub hub: Place,
    /// Centre of the inner pivot.
    pub inner_pivot: Place,
    /// The bolt hole nearer the hub, in the plate. The fore-aft eccentric moves the arm along
    /// the plate, so both holes together.
    pub hole_front: PlatePoint,
    /// The bolt hole farther from the hub, in the plate.
    pub hole_rear: PlatePoint,
    /// Which holes the up-down eccentric moves.
    pub w_moves: HolesMoved,
    /// Plate angle at which the rest of this was measured.
    pub design_angle: Angle,
    /// Wheel centre at that angle.
    pub wheel_centre: Place,
    /// Camber at that angle, + top outward.
    pub camber: Angle,
    /// Toe of this wheel at that angle, + toe-in.
    pub toe: Angle,
    /// Wheel centre to road under load.
    pub tyre_radius: Length,
}

/// What a pose is asked for: plate angle and where the eccentrics stand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseAt {
    /// Plate angle, + tail down.
    pub angle: Angle,
    /// Fore-aft shift of the holes along the plate, + rearward.
    pub shift_u: Length,
    /// Up-down shift of the holes, + up the plate.
    pub shift_w: Length,
}

impl PoseAt {
    /// Both eccentrics in the middle.
    pub const fn angle(angle: Angle) -> Self {
        Self { angle, shift_u: Length::ZERO, shift_w: Length::ZERO }
    }
}

/// Where the eccentrics stand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shift {
    /// Fore-aft shift of the holes along the plate, + rearward.
    pub u: Length,
    /// Up-down shift of the holes, + up the plate.
    pub w: Length,
}

impl Shift {
    /// With the plate at an angle.
    pub const fn at(self, angle: Angle) -> PoseAt {
        PoseAt { angle, shift_u: self.u, shift_w: self.w }
    }
}

/// Why there is no such arm, or no such pose.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ArmError {
    /// A number is not one, or so large that it is no car's.
    #[error("{what} is not a number a car can have")]
    NotSane {
        /// Which input.
        what: &'static str,
    },
    /// The tyre has no radius.
    #[error("loaded tyre radius is {:.1} mm; it must be greater than zero", .given.to_mm())]
    TyreRadius {
        /// As given.
        given: Length,
    },
    /// Camber or toe of a wheel lying on its side.
    #[error(
        "{what} at the design angle is {:.2}°; it must lie between -45° and 45°",
        .given.to_deg()
    )]
    WheelAngle {
        /// `"camber"` or `"toe"`.
        what: &'static str,
        /// As given.
        given: Angle,
    },
    /// The design angle is no trailing arm's.
    #[error("design plate angle is {:.2}°; it must lie between -60° and 60°", .given.to_deg())]
    DesignAngle {
        /// As given.
        given: Angle,
    },
    /// The pivot is not inboard of the plate.
    #[error(
        "inner pivot at Y {:.1} mm is not inboard of the hub at Y {:.1} mm",
        .pivot_y.to_mm(), .hub_y.to_mm()
    )]
    PivotNotInboard {
        /// Y of the pivot.
        pivot_y: Length,
        /// Y of the hub.
        hub_y: Length,
    },
    /// The two holes hardly differ.
    #[error(
        "the two bolt holes are {:.1} mm apart; they must be at least 5 mm apart",
        .apart.to_mm()
    )]
    HolesTooClose {
        /// Distance between them.
        apart: Length,
    },
    /// The bolts do not hold the arm from turning about the line from pivot to front hole.
    #[error("pivot and bolt holes lie so that the bolts do not hold the arm at its design angle")]
    NotHeld,
    /// The arm cannot follow the plate there.
    #[error("at a plate angle of {:.2}° the arm cannot reach {hole} in the plate", .angle.to_deg())]
    OutOfReach {
        /// The plate angle asked for.
        angle: Angle,
        /// Which hole it misses.
        hole: &'static str,
    },
}

impl ArmError {
    /// What to look at first.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NotSane { .. } => "lengths in mm from the body's origin, angles in degrees",
            Self::TyreRadius { .. } => {
                "measure from the road to the wheel centre, car on its wheels"
            }
            Self::WheelAngle { .. } => "camber and toe are a few degrees at most",
            Self::DesignAngle { .. } => {
                "the plate angle at which the arm was measured, + tail down"
            }
            Self::PivotNotInboard { .. } => {
                "Y grows towards the car's left; a right corner is entered mirrored"
            }
            Self::HolesTooClose { .. } => "u is measured along the plate from the hub's centre",
            Self::NotHeld => "check the pivot's place and the holes' u: one of them is far off",
            Self::OutOfReach { .. } => "check the pivot's place, or ask for a smaller swing",
        }
    }
}

/// A left trailing arm with everything that does not change worked out once.
#[derive(Debug, Clone, PartialEq)]
pub struct TrailingArm {
    design: ArmDesign,
    kernel: Kernel,
    wheel: V3<f64>,
    axle: V3<f64>,
    wheel_in_arm: V3<f64>,
    axle_in_arm: V3<f64>,
    radius: f64,
}

#[inline]
pub(crate) fn si(place: Place) -> V3<f64> {
    [place.x.to_m(), place.y.to_m(), place.z.to_m()]
}

#[inline]
pub(crate) fn place([x, y, z]: V3<f64>) -> Place {
    Place { x: Length::m(x), y: Length::m(y), z: Length::m(z) }
}

/// Outward unit vector of a left wheel's axle.
fn axle(camber: Angle, toe: Angle) -> V3<f64> {
    let s = [toe.to_rad().tan(), 1.0, -camber.to_rad().tan()];
    kernel::scale(s, 1.0 / kernel::norm(s))
}

/// A length no car exceeds; beyond it a slip of the unit is likelier.
const CAR_M: f64 = 20.0;

fn sane_place(what: &'static str, at: Place) -> Result<V3<f64>, ArmError> {
    let v = si(at);
    if v.iter().all(|c| c.abs() <= CAR_M) { Ok(v) } else { Err(ArmError::NotSane { what }) }
}

fn sane_point(what: &'static str, at: PlatePoint) -> Result<[f64; 2], ArmError> {
    let v = [at.u.to_m(), at.w.to_m()];
    if v.iter().all(|c| c.abs() <= CAR_M) { Ok(v) } else { Err(ArmError::NotSane { what }) }
}

impl ArmDesign {
    fn check_numbers(&self) -> Result<(), ArmError> {
        for (what, angle) in [("camber", self.camber), ("toe", self.toe)] {
            if !kernel::up_to(angle.to_deg(), 45.0) {
                return Err(ArmError::WheelAngle { what, given: angle });
            }
        }
        if !kernel::up_to(self.design_angle.to_deg(), 60.0) {
            return Err(ArmError::DesignAngle { given: self.design_angle });
        }
        let radius = self.tyre_radius.to_m();
        if !(0.0 < radius && radius <= CAR_M) {
            return Err(ArmError::TyreRadius { given: self.tyre_radius });
        }
        Ok(())
    }

    fn kernel(&self) -> Result<Kernel, ArmError> {
        let hub = sane_place("hub", self.hub)?;
        let pivot = sane_place("inner pivot", self.inner_pivot)?;
        let front = sane_point("front bolt hole", self.hole_front)?;
        let rear = sane_point("rear bolt hole", self.hole_rear)?;
        if hub[1] - pivot[1] < 0.001 {
            return Err(ArmError::PivotNotInboard {
                pivot_y: self.inner_pivot.y,
                hub_y: self.hub.y,
            });
        }
        let apart = (rear[0] - front[0]).hypot(rear[1] - front[1]);
        if apart < 0.005 {
            return Err(ArmError::HolesTooClose { apart: Length::m(apart) });
        }
        let (sin, cos) = self.design_angle.to_rad().sin_cos();
        let seen = |[u, w]: [f64; 2]| {
            let hole = [hub[0] - u * cos - w * sin, hub[1], hub[2] - u * sin + w * cos];
            kernel::sub(hole, pivot)
        };
        let (to_front, to_rear) = (seen(front), seen(rear));
        let reach = kernel::norm(to_front);
        let first = kernel::scale(to_front, 1.0 / reach);
        let along = kernel::dot(first, to_rear);
        let aside = kernel::sub(to_rear, kernel::scale(first, along));
        let across = kernel::norm(aside);
        let second = kernel::scale(aside, 1.0 / across);
        let normal = [-sin, 0.0, cos];
        let held = kernel::dot(second, kernel::cross(first, normal));
        // Below a degree or so from the fold, a hair of error in a place swings the arm about.
        if !(across >= 0.001 && held.abs() >= 0.02) {
            return Err(ArmError::NotHeld);
        }
        let w_moves = match self.w_moves {
            HolesMoved::Both => [1.0, 1.0],
            HolesMoved::Front => [1.0, 0.0],
            HolesMoved::Rear => [0.0, 1.0],
        };
        let design = [first, second, kernel::cross(first, second)];
        let branch = held.signum();
        Ok(Kernel {
            per_reach: 1.0 / reach,
            per_across: 1.0 / across,
            hub,
            pivot,
            holes: [front, rear],
            w_moves,
            reach,
            along,
            across,
            branch,
            design,
        })
    }
}

impl TrailingArm {
    /// Works out what does not change with the plate angle.
    ///
    /// # Errors
    /// When a number is none or no car's, when the pivot is not inboard, when the holes coincide
    /// or do not hold the arm.
    pub fn new(design: ArmDesign) -> Result<Self, ArmError> {
        design.check_numbers()?;
        let kernel = design.kernel()?;
        let wheel = sane_place("wheel centre", design.wheel_centre)?;
        let axle = axle(design.camber, design.toe);
        let in_arm = |v: V3<f64>| kernel.design.map(|axis| kernel::dot(axis, v));
        let (wheel_in_arm, axle_in_arm) = (in_arm(kernel::sub(wheel, kernel.pivot)), in_arm(axle));
        let radius = design.tyre_radius.to_m();
        let arm = Self { design, kernel, wheel, axle, wheel_in_arm, axle_in_arm, radius };
        arm.frame(PoseAt::angle(design.design_angle))?;
        Ok(arm)
    }

    /// What it was made from.
    pub const fn design(&self) -> &ArmDesign {
        &self.design
    }

    /// A place on the wheel's axle at the design angle, inboard of the wheel centre.
    pub fn on_axle(&self, inboard: Length) -> Place {
        place(kernel::sub(self.wheel, kernel::scale(self.axle, inboard.to_m())))
    }

    /// Where arm and wheel stand with the plate at an angle and the holes shifted.
    ///
    /// # Units and sign
    /// Vehicle axes; camber + top outward, toe + in, bend + outward.
    /// # Valid for
    /// The whole of the arm's [`reach`](Self::reach).
    /// # Accuracy
    /// Rounding only (below 1e-9 mm away from the ends of the reach).
    /// # Errors
    /// [`ArmError::OutOfReach`] naming the angle.
    /// # Source
    /// Own derivation, see the module; checked by `reference/pose_oracle.py`.
    #[inline]
    pub fn pose(&self, at: PoseAt) -> Result<Pose, ArmError> {
        self.frame(at).map(|(_, frame)| self.read(at, &frame))
    }

    #[inline]
    fn frame(&self, at: PoseAt) -> Result<(At<f64>, Frame<f64>), ArmError> {
        let position = At::new(at.angle.to_rad(), at.shift_u.to_m(), at.shift_w.to_m());
        match self.kernel.frame(&position) {
            Ok(frame) => Ok((position, frame)),
            Err(short) => Err(out_of_reach(at.angle, short)),
        }
    }

    /// The motion and the pose, of one frame.
    pub(crate) fn stand(&self, at: PoseAt) -> Result<(Motion<f64>, Pose), ArmError> {
        let (position, frame) = self.frame(at)?;
        Ok((self.kernel.motion_of(&position, &frame), self.read(at, &frame)))
    }

    /// What is fixed to the arm, in its frame.
    #[inline]
    fn read(&self, at: PoseAt, frame: &Frame<f64>) -> Pose {
        let pivot = self.kernel.pivot;
        let wheel = kernel::add(pivot, frame.place(self.wheel_in_arm));
        let axle = frame.place(self.axle_in_arm);
        let contact = kernel::add(wheel, kernel::lowest_of_disc(axle, self.radius));
        let [front, rear] = self.kernel.holes_now(frame);
        let [x, y, z] = axle;
        let hub_y = self.kernel.hub[1];
        Pose {
            at,
            wheel_centre: place(wheel),
            contact: place(contact),
            camber: Angle::rad(-z.atan2(y)),
            toe: Angle::rad(x.atan2(y)),
            holes: [place(front), place(rear)],
            bend: [Length::m(front[1] - hub_y), Length::m(rear[1] - hub_y)],
            pivot,
        }
    }

    /// The pose and how it changes with plate angle and both shifts, exactly.
    ///
    /// # Accuracy
    /// Rounding only; agrees with central differences to their own error.
    /// # Errors
    /// As [`pose`](Self::pose).
    /// # Source
    /// The constraints differentiated (own derivation, see the module).
    #[inline]
    pub fn pose_with_slopes(&self, at: PoseAt) -> Result<PoseSlopes, ArmError> {
        let (position, frame) = self.frame(at)?;
        let kernel = &self.kernel;
        Ok(PoseSlopes {
            pose: self.read(at, &frame),
            spins: [
                kernel.spin_angle(&position, &frame),
                kernel.spin_u(&position, &frame),
                kernel.spin_w(&position, &frame),
            ],
            axle: frame.place(self.axle_in_arm),
            radius: self.radius,
        })
    }

    /// Least and greatest plate angle the arm can follow without a break from its design angle,
    /// at most 50° either way.
    ///
    /// # Valid for
    /// The unbroken run of angles that holds the design angle, tried degree by degree: a gap
    /// narrower than 1° can be stepped over, and what lies beyond a wider one is not looked for.
    /// # Accuracy
    /// 1e-7°, on the reachable side.
    /// # Errors
    /// When the eccentrics stand so far off that the design angle itself is out of reach.
    pub fn reach(&self, shift: Shift) -> Result<(Angle, Angle), ArmError> {
        self.pose(shift.at(self.design.design_angle))?;
        let design = self.design.design_angle.to_rad();
        let (du, dw) = (shift.u.to_m(), shift.w.to_m());
        let reaches = |a: f64| self.kernel.frame(&At::new(a, du, dw)).is_ok();
        let end = |way: f64| {
            let step = way * 1_f64.to_radians();
            let search = Search { within: 1e-7_f64.to_radians(), steps_max: 60 };
            let mut last = design;
            for n in 1..=50 {
                let next = design + step * f64::from(n);
                if !reaches(next) {
                    return edge(search, (last, next), reaches);
                }
                last = next;
            }
            last
        };
        Ok((Angle::rad(end(-1.0)), Angle::rad(end(1.0))))
    }

    pub(crate) const fn kernel(&self) -> &Kernel {
        &self.kernel
    }
    pub(crate) const fn wheel(&self) -> (V3<f64>, V3<f64>, f64) {
        (self.wheel, self.axle, self.radius)
    }
}

pub(crate) fn out_of_reach(angle: Angle, short: Short) -> ArmError {
    let hole = match short {
        Short::FrontHole => "the front bolt hole",
        Short::RearHole => "the rear bolt hole",
    };
    ArmError::OutOfReach { angle, hole }
}

/// Where the arm and what is fixed to it stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// What was asked for.
    pub at: PoseAt,
    /// Wheel centre.
    pub wheel_centre: Place,
    /// Lowest point of the tyre, taken as a thin disc.
    pub contact: Place,
    /// + top outward.
    pub camber: Angle,
    /// + toe-in, of this wheel.
    pub toe: Angle,
    /// Front and rear bolt hole.
    pub holes: [Place; 2],
    /// How far the plate is bent outward at the front and rear hole.
    pub bend: [Length; 2],
    pivot: V3<f64>,
}

/// Where a linkage stands at one plate angle, in plain numbers.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Still {
    pub(crate) stand: Stand<f64>,
    /// The plate's bend at the front and rear hole, m; not known to a plain lever.
    pub(crate) bend: Option<[f64; 2]>,
}

/// A pose and its slopes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseSlopes {
    /// The pose itself.
    pub pose: Pose,
    spins: [V3<f64>; 3],
    axle: V3<f64>,
    radius: f64,
}

/// A small step of what a pose is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PoseStep {
    /// Change of plate angle.
    pub angle: Angle,
    /// Change of the fore-aft shift.
    pub shift_u: Length,
    /// Change of the up-down shift.
    pub shift_w: Length,
}

/// What a small step changes, to first order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PoseChange {
    /// Of the wheel centre.
    pub wheel_centre: Place,
    /// Of the contact point (the lowest point of the disc, not a mark on it).
    pub contact: Place,
    /// Of the camber.
    pub camber: Angle,
    /// Of the toe.
    pub toe: Angle,
    /// Of the bend at the front and rear hole.
    pub bend: [Length; 2],
}

impl PoseSlopes {
    /// The arm's small turn for a small step.
    fn turn_of(&self, step: PoseStep) -> V3<f64> {
        let [angle, u, w] = self.spins;
        let turned = kernel::scale(angle, step.angle.to_rad());
        let by_u = kernel::scale(u, step.shift_u.to_m());
        kernel::add(turned, kernel::add(by_u, kernel::scale(w, step.shift_w.to_m())))
    }

    /// The exact slopes times a step: the linear part of what it changes.
    ///
    /// # Valid for
    /// Any step: the result is linear in it (ask for 1° or 1 mm to get a slope per degree or per
    /// millimetre).
    pub fn change(&self, step: PoseStep) -> PoseChange {
        let turn = self.turn_of(step);
        let moved = |p: Place| kernel::cross(turn, kernel::sub(si(p), self.pose.pivot));
        let wheel = moved(self.pose.wheel_centre);
        let axle = kernel::cross(turn, self.axle);
        let contact = kernel::lowest_of_disc_rate(self.axle, axle, self.radius);
        let [sx, sy, sz] = self.axle;
        let [dx, dy, dz] = axle;
        PoseChange {
            wheel_centre: place(wheel),
            contact: place(kernel::add(wheel, contact)),
            camber: Angle::rad(-(dz * sy - sz * dy) / (sy * sy + sz * sz)),
            toe: Angle::rad((dx * sy - sx * dy) / (sy * sy + sx * sx)),
            bend: self.pose.holes.map(|h| Length::m(moved(h)[1])),
        }
    }
}

impl TrailingArm {
    /// Where the arm stands and how the plate is bent there.
    #[inline]
    pub(crate) fn still(&self, at: &At<f64>) -> Result<Still, Short> {
        let frame = self.kernel.frame(at)?;
        let [front, rear] = self.kernel.holes_now(&frame);
        let hub_y = self.kernel.hub[1];
        let bend = Some([front[1] - hub_y, rear[1] - hub_y]);
        Ok(Still { stand: self.kernel.stand_of(&frame), bend })
    }

    /// The arm's motion with the plate angle, for the rest of the crate.
    pub(crate) fn motion<D: Real>(&self, at: &At<D>) -> Result<Motion<D>, Short> {
        self.kernel.motion(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rodrigues: v turned by an angle about a unit axis.
    fn turned(v: V3<f64>, axis: V3<f64>, angle: f64) -> V3<f64> {
        let (s, c) = angle.sin_cos();
        let along = kernel::scale(axis, kernel::dot(axis, v) * (1.0 - c));
        let across = kernel::scale(kernel::cross(axis, v), s);
        kernel::add(kernel::scale(v, c), kernel::add(across, along))
    }

    fn upright_wheel() -> TrailingArm {
        TrailingArm::new(ArmDesign {
            hub: Place::mm(0.0, 610.0, 0.0),
            inner_pivot: Place::mm(0.0, 400.0, 0.0),
            hole_front: PlatePoint { u: Length::mm(250.0), w: Length::mm(0.0) },
            hole_rear: PlatePoint { u: Length::mm(330.0), w: Length::mm(0.0) },
            w_moves: HolesMoved::Both,
            design_angle: Angle::ZERO,
            wheel_centre: Place::mm(-400.0, 700.0, 0.0),
            camber: Angle::ZERO,
            toe: Angle::ZERO,
            tyre_radius: Length::mm(300.0),
        })
        .unwrap()
    }

    /// The wheel as it is read off an arm that was turned about a horizontal hinge 15° askew,
    /// k = (sin λ, cos λ, 0), by ±5° (bump +). Figures derived apart from the program:
    /// W′ = (−398.294444, 699.542998, 40.441663) mm, toe 0.054 520 82° both ways, the
    /// axle's slope ∓1.292 562 97°. Sanity of the turn: k = (1,1,1)/√3 by 120° maps x → y → z.
    #[test]
    fn a_turn_about_a_skew_hinge_reads_as_derived() {
        let third = 1.0 / 3.0_f64.sqrt();
        let y = turned([1.0, 0.0, 0.0], [third; 3], 120_f64.to_radians());
        assert!(kernel::norm(kernel::sub(y, [0.0, 1.0, 0.0])) < 1e-15);

        let arm = upright_wheel();
        let hinge = [15_f64.to_radians().sin(), 15_f64.to_radians().cos(), 0.0];
        for (bump, camber) in [(5.0_f64, -1.292_562_97), (-5.0, 1.292_562_97)] {
            let axes = arm.kernel.design.map(|a| turned(a, hinge, bump.to_radians()));
            let pose = arm.read(PoseAt::default(), &Frame { axes });
            assert!((pose.toe.to_deg() - 0.054_520_82).abs() < 5e-9, "{:?}", pose.toe.to_deg());
            // The derived figure is the axle's slope; the projected angle differs from it at
            // second order, by the closed form s_y = cos θ + k_y²(1 − cos θ).
            let axle = kernel::rotate(&arm.kernel.turn(&Frame { axes }), arm.axle);
            assert!((-axle[2].asin().to_degrees() - camber).abs() < 5e-9);
            let (s, c) = bump.to_radians().sin_cos();
            let projected = -(hinge[0] * s).atan2(c + hinge[1].powi(2) * (1.0 - c));
            assert!((pose.camber.to_rad() - projected).abs() < 1e-15);
            assert!((pose.camber.to_deg() - camber).abs() < 1e-6);
            let by_rodrigues = turned([-0.4, 0.3, 0.0], hinge, bump.to_radians());
            let seen = kernel::sub(si(pose.wheel_centre), [0.0, 0.4, 0.0]);
            assert!(kernel::norm(kernel::sub(seen, by_rodrigues)) < 1e-15);
            if bump > 0.0 {
                let derived = [-0.398_294_444, 0.699_542_998, 0.040_441_663];
                let off = kernel::norm(kernel::sub(si(pose.wheel_centre), derived));
                assert!(off < 1e-9, "{off:e}");
            }
        }
    }

    /// To first order in the turn of any axis: dcamber = −k_x·dθ, d(toe) = −k_z·dθ,
    /// dz = (k_x·r_y − k_y·r_x)·dθ (derived), with dθ·k the arm's small turn.
    #[test]
    fn small_turns_of_an_upright_wheel_follow_the_first_order_rules() {
        let arm = upright_wheel();
        let spins = [[0.3, 0.9, -0.2], [-0.5, 0.4, 0.7], [0.0, -1.0, 0.0]];
        let at = PoseAt::angle(Angle::ZERO);
        for turn in spins {
            let slopes = PoseSlopes {
                spins: [turn, [0.0; 3], [0.0; 3]],
                ..arm.pose_with_slopes(at).unwrap()
            };
            let step = PoseStep { angle: Angle::rad(1.0), ..PoseStep::default() };
            let change = slopes.change(step);
            let [kx, ky, kz] = turn;
            assert!((change.camber.to_rad() + kx).abs() < 1e-12);
            assert!((change.toe.to_rad() + kz).abs() < 1e-12);
            let rise = kx * 0.3 - ky * -0.4;
            assert!((change.wheel_centre.z.to_m() - rise).abs() < 1e-12);
        }
    }

    /// The spin by hand against dual numbers through the closed form.
    #[test]
    fn slopes_by_hand_are_the_dual_numbers() {
        use num_dual::{Dual64, DualNum};
        let arm = upright_wheel();
        let hand = |at: PoseAt| arm.pose_with_slopes(at).unwrap();
        let seeds = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        for angle in [-0.4_f64, 0.0, 0.3] {
            for (k, [a, u, w]) in seeds.into_iter().enumerate() {
                let (sin, cos) = Dual64::new(angle, a).sin_cos();
                let (du, dw) = (Dual64::new(0.002, u), Dual64::new(-0.001, w));
                let frame = arm.kernel.frame(&At { sin, cos, du, dw }).unwrap();
                let dual = frame.place(arm.wheel_in_arm);
                let at = PoseAt {
                    angle: Angle::rad(angle),
                    shift_u: Length::m(0.002),
                    shift_w: Length::m(-0.001),
                };
                let slopes = hand(at);
                let seen = kernel::sub(si(slopes.pose.wheel_centre), arm.kernel.pivot);
                let by_hand = kernel::cross(slopes.spins[k], seen);
                for i in 0..3 {
                    assert!((dual[i].eps - by_hand[i]).abs() < 1e-13, "{angle} {k} {i}");
                }
            }
        }
    }
}

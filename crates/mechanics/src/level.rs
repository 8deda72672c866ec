//! Reading angles with a level or an angle gauge: reversal, the plate angle, lash, rim toe, camber.
//!
//! ```text
//! Left side of the car, nose to the left, the gauge lying on the plate's reference line.
//!
//!        z up                 arrow of the gauge to the nose: shows ρ = s + o
//!         ↑            ←━━━┓  arrow to the tail:               shows ρ = −s + o
//!  x fwd ←┘       O───___  ┃
//!               hub   θ  ‾‾‾───___  tail of the plate          θ > 0: tail down
//!                 ╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌ the body's own horizontal   β > 0: nose of the body up
//! ```
//!
//! A gauge shows the slope `s` of what it lies on, nose-up positive while its arrow points to the
//! nose, plus its own error `o`. The plate hangs from its front end, the hub; when its tail is
//! down, its nose end is the higher one, so *tail down* and *nose up* are the same sign. The error
//! is fixed to the gauge and does not turn with it: it comes off what is shown first, and only
//! then is a reading with the arrow to the tail turned over, `s = −(ρ − o)`.
//!
//! | symbol | meaning | sign | field |
//! |---|---|---|---|
//! | ρ | what the gauge shows | as shown | [`PlateReading::shown`], [`Shown`] |
//! | o | the gauge's own error | shown less true | [`Reversal::offset`] |
//! | β | slope of the body at the same side's sill | nose up + | [`Reversal::slope`] |
//! | σ | slope of the seat against the reference line | tail down + | [`Seat::Edge`] |
//! | θ | plate angle below the body's horizontal | tail down + | [`PlateReading::plate_angle`] |
//! | λ | lash of the splines, at the plate | ≥ 0 | [`FlankReading::lash`] |
//!
//! # Valid for
//! One vertical plane along the car; a gauge whose error is the same both ways round. Half a
//! degree of body slope left out is more than one vernier step of most bars.
//! # Source
//! Geometry as drawn; reversal is the surveyor's two-face reading (the two-peg test of a levelling
//! instrument rests on the same sum and difference).

use axlewright_quantity::{Angle, Length};

/// The largest angle a gauge reading may have, in degrees.
const READING_DEG_MAX: f64 = 90.0;
/// The largest slope of a body that is taken for a reading and not for a slip of the pen.
const BODY_DEG_MAX: f64 = 30.0;
/// The largest lash, in degrees, that is still lash and not a stripped spline.
const LASH_DEG_MAX: f64 = 10.0;

/// Why a reading was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum LevelError {
    /// Not a number, or infinite.
    #[error("{what} is not a number")]
    NotANumber {
        /// Which reading.
        what: &'static str,
    },
    /// An angle outside what it can be.
    #[error("{what} is {:.2}°; it must lie between {:.0}° and {:.0}°",
        .given.to_deg(), .least.to_deg(), .most.to_deg())]
    OutOfRange {
        /// Which reading.
        what: &'static str,
        /// As given.
        given: Angle,
        /// Least that is taken.
        least: Angle,
        /// Most that is taken.
        most: Angle,
    },
    /// A measuring diameter that no wheel has.
    #[error("measuring diameter is {:.1} mm; it must lie between 50 mm and 2000 mm",
        .given.to_mm())]
    Diameter {
        /// As given.
        given: Length,
    },
    /// A toe difference longer than the diameter it was measured over.
    #[error("toe difference is {:.1} mm over a diameter of {:.1} mm; it cannot be the larger",
        .difference.to_mm(), .diameter.to_mm())]
    Difference {
        /// As given.
        difference: Length,
        /// As given.
        diameter: Length,
    },
}

impl LevelError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NotANumber { .. } => "read it again and write down what the gauge shows",
            Self::OutOfRange { .. } => {
                "enter degrees as the gauge shows them, with its sign and its way round"
            }
            Self::Diameter { .. } => "measure across the rim between the two points used for toe",
            Self::Difference { .. } => {
                "enter the difference between the rear and the front distance, per wheel"
            }
        }
    }
}

fn within(what: &'static str, given: Angle, least: f64, most: f64) -> Result<Angle, LevelError> {
    if !given.is_finite() {
        return Err(LevelError::NotANumber { what });
    }
    // Half a millionth of a degree of room: exactly 90° must not be lost to radians.
    if given.to_deg() < least - 5e-7 || most + 5e-7 < given.to_deg() {
        let (least, most) = (Angle::deg(least), Angle::deg(most));
        return Err(LevelError::OutOfRange { what, given, least, most });
    }
    Ok(given)
}

fn reading(what: &'static str, given: Angle) -> Result<Angle, LevelError> {
    within(what, given, -READING_DEG_MAX, READING_DEG_MAX)
}

/// Which end of the car the gauge's arrow pointed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Arrow {
    /// To the nose: the gauge shows nose up as positive.
    Nose,
    /// To the tail.
    Tail,
}

/// The two readings of a reversal, as the gauge showed them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// With the arrow to the nose.
    pub first: Angle,
    /// Turned end for end on the same spot.
    pub turned: Angle,
}

/// What a reversal gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reversal {
    /// Slope of what the gauge lay on, nose up +.
    pub slope: Angle,
    /// What the gauge shows on a truly level surface.
    pub offset: Angle,
}

/// Slope `s = (ρ₁ − ρ₂)/2` and gauge error `o = (ρ₁ + ρ₂)/2` from a gauge turned end for end.
///
/// # Units and sign
/// Nose up is positive.
/// # Accuracy
/// Two readings of standard uncertainty u give the slope and the error each within u/√2.
/// # Errors
/// A reading that is not a number or beyond 90°, a slope beyond 30°.
/// # Source
/// From `ρ₁ = s + o` and `ρ₂ = −s + o`; see the module's picture.
pub fn reversal(shown: Shown) -> Result<Reversal, LevelError> {
    let first = reading("first reading", shown.first)?;
    let turned = reading("reading of the turned gauge", shown.turned)?;
    let slope = within("slope", (first - turned) / 2.0, -BODY_DEG_MAX, BODY_DEG_MAX)?;
    Ok(Reversal { slope, offset: (first + turned) / 2.0 })
}

impl Arrow {
    /// True slope, nose up +, from what a gauge of a known error shows this way round.
    fn slope(self, shown: Angle, offset: Angle) -> Angle {
        match self {
            Self::Nose => shown - offset,
            Self::Tail => offset - shown,
        }
    }
}

/// Where the gauge sat on the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Seat {
    /// On the plate's reference line: hub centre to the line of the bolt holes.
    ReferenceLine,
    /// On an edge that is not parallel to that line.
    Edge {
        /// The edge's slope against the reference line, + when the edge falls away to the tail.
        tail_down: Angle,
    },
}

impl Seat {
    /// The seat's slope against the reference line, tail down +.
    ///
    /// # Valid for
    /// A straight edge; of a cranked one, the slope where the gauge sat.
    pub const fn angle(self) -> Angle {
        match self {
            Self::ReferenceLine => Angle::ZERO,
            Self::Edge { tail_down } => tail_down,
        }
    }
}

/// One reading on the plate with everything that decides what it means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateReading {
    /// What the gauge showed.
    pub shown: Angle,
    /// Which way round it stood.
    pub arrow: Arrow,
    /// Its own error, from a reversal.
    pub gauge_offset: Angle,
    /// Slope of the body at this side's sill, nose up +, from a reversal.
    pub body_slope: Angle,
    /// What it sat on.
    pub seat: Seat,
}

impl PlateReading {
    /// Plate angle below the body's horizontal, `θ = (ρ − o) − β − σ`; with the arrow to the tail
    /// `θ = −(ρ − o) − β − σ`.
    ///
    /// # Units and sign
    /// Tail down is positive.
    /// # Accuracy
    /// Standard uncertainties of ρ, o, β and σ add in quadrature, each at full weight. Readings of
    /// left and right with one gauge share its o, which leaves their difference.
    /// # Errors
    /// Anything that is not a number, a reading beyond 90°, a body slope beyond 30°.
    /// # Source
    /// The module's picture.
    pub fn plate_angle(&self) -> Result<Angle, LevelError> {
        let shown = reading("reading on the plate", self.shown)?;
        let offset = reading("the gauge's own error", self.gauge_offset)?;
        let body = within("body slope", self.body_slope, -BODY_DEG_MAX, BODY_DEG_MAX)?;
        let seat = reading("slope of the seat", self.seat.angle())?;
        Ok(self.arrow.slope(shown, offset) - body - seat)
    }
}

/// How the plate was held while it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Held {
    /// Tail lifted by hand until the lash was just taken up. The splines touch on the flanks the
    /// car's weight will use, the hand carries the plate, and the bar carries nothing.
    Lifted,
    /// Left to hang. The splines touch on the other flanks, so the tail stands lower by the lash,
    /// and the bar carries what hangs on it.
    Hanging,
}

/// A plate angle, and on which flanks of the splines it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FlankReading {
    /// Plate angle as read, tail down +.
    pub angle: Angle,
    /// Free play of the plate about the bar axis, both ends together.
    pub lash: Angle,
    /// How the plate was held.
    pub held: Held,
}

impl FlankReading {
    /// The plate angle on the loaded flanks: `θ` when lifted, `θ − λ` when hanging.
    ///
    /// # Valid for
    /// Lash only. A hanging plate also twists the bar by its own weight; that twist is taken out
    /// with the weight's moment and the bar's rate, not here.
    /// # Errors
    /// An angle beyond 90°, or a lash outside 0° to 10°.
    /// # Source
    /// The car's weight turns the plate tail up, gravity on a bare plate turns it tail down: two
    /// opposite flanks, one lash apart.
    pub fn on_loaded_flank(&self) -> Result<Angle, LevelError> {
        let angle = reading("plate angle", self.angle)?;
        let lash = within("lash", self.lash, 0.0, LASH_DEG_MAX)?;
        Ok(match self.held {
            Held::Lifted => angle,
            Held::Hanging => angle - lash,
        })
    }
}

/// A toe measurement on one wheel's rim.
///
/// ```text
///  plan view, left wheel            nose ←
///    A ───────────── A   A: front and rear measuring points, a diameter D apart
///     (front)   (rear)
///  ╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌╌  line along the car; difference = rear distance − front distance
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimToe {
    /// Rear distance less front distance from the car's centre line, this wheel alone, toe-in +.
    pub difference: Length,
    /// Distance between the two measuring points on the rim.
    pub diameter: Length,
}

impl RimToe {
    /// Toe angle of this wheel, `toe = asin(Δ/D)`, toe-in +.
    ///
    /// # Accuracy
    /// Exact; a toe of 1° over 330 mm is 5.76 mm.
    /// # Errors
    /// A diameter outside 50 mm to 2000 mm, or a difference larger than it.
    /// # Source
    /// ISO 8855:2011, 7.1.6 for the angle and its sign; the triangle above.
    pub fn angle(&self) -> Result<Angle, LevelError> {
        let diameter = measuring_diameter(self.diameter)?;
        if !self.difference.is_finite() {
            return Err(LevelError::NotANumber { what: "toe difference" });
        }
        if diameter < self.difference.abs() {
            let (difference, diameter) = (self.difference, self.diameter);
            return Err(LevelError::Difference { difference, diameter });
        }
        Ok(Angle::rad((self.difference / diameter).asin()))
    }
}

fn measuring_diameter(diameter: Length) -> Result<Length, LevelError> {
    if !diameter.is_finite() {
        return Err(LevelError::NotANumber { what: "measuring diameter" });
    }
    if (50.0..=2000.0).contains(&diameter.to_mm()) {
        Ok(diameter)
    } else {
        Err(LevelError::Diameter { given: diameter })
    }
}

/// Camber read twice, the wheel turned half a turn in between.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HalfTurn {
    /// First reading.
    pub first: Angle,
    /// After half a turn of the wheel.
    pub turned: Angle,
}

/// What two camber readings half a turn apart give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camber {
    /// The wheel's camber with the rim's run-out taken out, top leaning outward +.
    pub camber: Angle,
    /// The rim's run-out against its axis at the first reading: what it added there and took away
    /// half a turn later.
    pub run_out: Angle,
}

impl HalfTurn {
    /// Camber is the mean of the two, run-out half their difference.
    ///
    /// # Units and sign
    /// Camber is positive with the top leaning outward (ISO 8855).
    /// # Valid for
    /// A rim that wobbles as a flat disc does; the car not moved between the readings.
    /// # Errors
    /// A reading that is not a number or beyond 90°.
    /// # Source
    /// A disc fixed askew on its axis leans by `c + e·cos φ`; φ and φ + 180° cancel e.
    pub fn camber(&self) -> Result<Camber, LevelError> {
        let first = reading("first camber reading", self.first)?;
        let turned = reading("camber reading after half a turn", self.turned)?;
        Ok(Camber { camber: (first + turned) / 2.0, run_out: (first - turned) / 2.0 })
    }
}

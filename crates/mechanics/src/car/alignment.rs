//! Toe by strings or a beam, where the rear axle points, and the floor's slope in a camber reading.
//!
//! ```text
//!  Seen from above, left wheel, nose ←            Seen from behind, floor rising to the left
//!
//!  ──────────┬────────────┬──── string                 \        \
//!            │ a      b   │     along the car           \ wheel  \       reads γ less than it is:
//!          ▭▭▭▭▭▭▭▭▭▭▭▭▭▭▭▭                             ▔▔▔▔──__▔        the right one γ more
//!            front   rear       toe-in: a > b                γ ‾‾──__
//!            ├──── D ─────┤
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | a, b | string to the rim's front and rear edge | m | [`Strings`] |
//! | D | between those two points | m | [`Strings::diameter`] |
//! | L, y | beam's length and how far its spot has come nearer the centre line | m | [`Beam`] |
//! | γ | slope of the floor across, left up + | rad | [`floor_slope`] |
//!
//! Half a turn of the wheel takes the rim's run-out off: [`crate::level::HalfTurn`] for camber,
//! [`toe_with_half_turn`] here.
//!
//! **Source.** Plane trigonometry; signs of camber and toe after ISO 8855:2011, 7.1.6.

use axlewright_quantity::{Angle, Length, Side};

use super::{CarError, Pair, input};
use crate::level::{LevelError, RimToe};

/// Distances from a string that runs along the car, outside one wheel at hub height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strings {
    /// String to the front edge of the rim.
    pub front: Length,
    /// String to the rear edge of the rim.
    pub rear: Length,
    /// Between the two points on the rim.
    pub diameter: Length,
}

impl From<LevelError> for CarError {
    fn from(error: LevelError) -> Self {
        let hint = error.hint();
        Self::Input { what: "alignment reading".into(), given: error.to_string(), must: hint }
    }
}

fn sane(what: &'static str, length: Length, most_m: f64) -> Result<f64, CarError> {
    let m = length.to_m();
    if m.abs() <= most_m {
        Ok(m)
    } else {
        Err(input(what, format!("{:.1} mm", m * 1e3), "a length around a car"))
    }
}

impl Strings {
    /// Toe of this wheel, `asin((a − b)/D)`, toe-in +.
    ///
    /// # Valid for
    /// A string parallel to the car's centre line; else add [`string_skew`].
    /// # Errors
    /// A length that is none, a diameter outside 50 mm to 2000 mm.
    /// # Source
    /// The triangle above; [`RimToe::angle`].
    pub fn toe(&self) -> Result<Angle, CarError> {
        let (a, b) =
            (sane("string to rim", self.front, 5.0)?, sane("string to rim", self.rear, 5.0)?);
        Ok(RimToe { difference: Length::m(a - b), diameter: self.diameter }.angle()?)
    }
}

/// Distances of a string from the centre line at two stations along the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StringLine {
    /// At the front station.
    pub front: Length,
    /// At the rear station.
    pub rear: Length,
    /// Between the stations, along the car.
    pub apart: Length,
}

/// What a string that is not parallel adds to a toe read from it, `atan((y_r − y_f)/ℓ)`: to be
/// added to what [`Strings::toe`] gives.
///
/// # Units and sign
/// Toe-in +, for the wheel beside this string, on either side of the car.
/// # Errors
/// Lengths that are none, stations less than half a metre apart.
/// # Source
/// A string that closes in towards the front makes `a` too small by that slope times D.
pub fn string_skew(line: &StringLine) -> Result<Angle, CarError> {
    let (front, rear) = (sane("string", line.front, 10.0)?, sane("string", line.rear, 10.0)?);
    let apart = sane("distance between the stations", line.apart, 20.0)?;
    if apart < 0.5 {
        let given = format!("{:.0} mm", apart * 1e3);
        return Err(input("distance between the stations", given, "at least 500 mm"));
    }
    Ok(Angle::rad(((rear - front) / apart).atan()))
}

/// A beam square to a wheel's axle, its spot caught ahead of the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beam {
    /// Beam from the car's centre line where it leaves the wheel.
    pub at_wheel: Length,
    /// Spot from the centre line on the target.
    pub at_target: Length,
    /// From there to the target, along the car, + forward.
    pub distance: Length,
}

impl Beam {
    /// Toe of this wheel, `atan((y_w − y_t)/L)`, toe-in +.
    ///
    /// # Valid for
    /// A beam trued on its holder by half a turn of the wheel ([`toe_with_half_turn`]).
    /// # Errors
    /// Lengths that are none, a target nearer than half a metre.
    /// # Source
    /// The triangle of beam and centre line.
    pub fn toe(&self) -> Result<Angle, CarError> {
        let (wheel, target) =
            (sane("beam", self.at_wheel, 10.0)?, sane("beam", self.at_target, 10.0)?);
        let distance = sane("distance to the target", self.distance, 50.0)?;
        if distance.abs() < 0.5 {
            let given = format!("{:.0} mm", distance * 1e3);
            return Err(input("distance to the target", given, "at least 500 mm either way"));
        }
        Ok(Angle::rad(((wheel - target) / distance).atan()))
    }
}

/// Two toe readings, the wheel rolled half a turn between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToeTwice {
    /// First.
    pub first: Angle,
    /// After half a turn.
    pub turned: Angle,
}

/// Toe with the rim's run-out taken out: the mean of the two.
///
/// # Valid for
/// A rim that wobbles as a flat disc does, the same two points half a turn on.
/// # Errors
/// A reading beyond 45°.
/// # Source
/// A disc fixed askew adds e·cos φ; φ and φ + 180° cancel.
pub fn toe_with_half_turn(readings: ToeTwice) -> Result<Angle, CarError> {
    for angle in [readings.first, readings.turned] {
        wheel_angle(angle)?;
    }
    Ok((readings.first + readings.turned) / 2.0)
}

fn wheel_angle(angle: Angle) -> Result<Angle, CarError> {
    if angle.to_deg().abs() <= 45.0 {
        Ok(angle)
    } else {
        let given = format!("{:.2}°", angle.to_deg());
        Err(input("camber or toe", given, "between -45° and 45°"))
    }
}

/// Where the rear wheels together point: half of right toe less left toe, + to the left.
///
/// # Valid for
/// Both toes against one centre line.
/// # Errors
/// A toe beyond 45°.
/// # Source
/// Mean heading of the two wheels: a left wheel's toe-in points to the right, a right one's to
/// the left.
pub fn thrust(toe: Pair<Angle>) -> Result<Angle, CarError> {
    Ok((wheel_angle(toe.right)? - wheel_angle(toe.left)?) / 2.0)
}

/// Slope of the floor across one axle, `asin((h_L − h_R)/t)`, left up +.
///
/// # Errors
/// Heights or a track that no garage has.
/// # Source
/// The triangle of heights and track.
pub fn floor_slope(heights: Pair<Length>, track: Length) -> Result<Angle, CarError> {
    let rise = sane("floor", heights.left, 2.0)? - sane("floor", heights.right, 2.0)?;
    let track = sane("track", track, 10.0)?;
    if !(0.1 <= track && rise.abs() < 0.5 * track) {
        let given = format!("{:.0} mm over {:.0} mm", rise * 1e3, track * 1e3);
        return Err(input("floor across the axle", given, "a slope a car can stand on"));
    }
    Ok(Angle::rad((rise / track).asin()))
}

/// Camber with the floor's slope taken out: on the left read + γ, on the right read − γ.
///
/// # Valid for
/// A gauge that reads against plumb, the whole floor sloping alike. On its springs the body leans
/// downhill by a further sixth or so of the slope, which stays in; and where the four heights do
/// not lie in one plane the springs share the twist. For both, solve [`super::Car`] with its floor.
/// # Errors
/// An angle beyond 45°.
/// # Source
/// The car leans with the floor: left side up leans both wheels to the right, which is inward for
/// the left one.
pub fn camber_off_floor(side: Side, read: Angle, slope: Angle) -> Result<Angle, CarError> {
    let (read, slope) = (wheel_angle(read)?, wheel_angle(slope)?);
    Ok(match side {
        Side::Left => read + slope,
        Side::Right => read - slope,
    })
}

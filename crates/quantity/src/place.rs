//! Sides, corners and places in the car's axes.

use crate::{Length, Spread};

/// Left or right, as seen by the driver facing forward.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Driver facing forward: left.
    Left,
    /// Driver facing forward: right.
    Right,
}

/// One wheel's corner of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Corner {
    /// Left front.
    LeftFront,
    /// Right front.
    RightFront,
    /// Left rear.
    LeftRear,
    /// Right rear.
    RightRear,
}

/// A point in vehicle axes (ISO 8855): X forward, Y left, Z up; origin on the centre plane at
/// the rear bar axis, body level. The same struct serves for a displacement.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Place {
    /// Forward.
    pub x: Length,
    /// To the left.
    pub y: Length,
    /// Up.
    pub z: Length,
}

/// A point of the spring plate, from the hub: the same plate whichever way it hangs and on
/// whichever side of the car.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlatePoint {
    /// Rearward along the reference line, hub to bolt holes.
    pub u: Length,
    /// Up, square to the reference line.
    pub w: Length,
}

/// A place with the text it came from, kept word for word.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenPlace {
    /// Where.
    pub place: Place,
    /// What was said of the spread of each coordinate, if anything.
    pub spread: Option<Spread>,
    /// The text as its writer wrote it.
    pub text: String,
}

/// A point of the plate with the text it came from, kept word for word.
#[derive(Debug, Clone, PartialEq)]
pub struct WrittenPlatePoint {
    /// Where on the plate.
    pub point: PlatePoint,
    /// What was said of the spread of each coordinate, if anything.
    pub spread: Option<Spread>,
    /// The text as its writer wrote it.
    pub text: String,
}

impl WrittenPlace {
    /// The standard uncertainty of each coordinate, if a spread was written.
    pub fn standard_uncertainty(&self) -> Option<Length> {
        self.spread.map(|s| Length::from_si(s.standard_uncertainty().to_si()))
    }
}

impl WrittenPlatePoint {
    /// The standard uncertainty of each coordinate, if a spread was written.
    pub fn standard_uncertainty(&self) -> Option<Length> {
        self.spread.map(|s| Length::from_si(s.standard_uncertainty().to_si()))
    }
}

impl PlatePoint {
    /// From millimetres.
    pub const fn mm(u: f64, w: f64) -> Self {
        Self { u: Length::mm(u), w: Length::mm(w) }
    }
}

impl Place {
    /// From millimetres.
    pub const fn mm(x: f64, y: f64, z: f64) -> Self {
        Self { x: Length::mm(x), y: Length::mm(y), z: Length::mm(z) }
    }
}

impl Side {
    /// Both, left first.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];

    /// The other one.
    pub const fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// Left as it is, right reflected in the car's centre plane: every corner is computed as a
    /// left one, and this is the only place where the sides differ. Its own inverse.
    pub fn to_left(self, place: Place) -> Place {
        match self {
            Self::Left => place,
            Self::Right => Place { y: -place.y, ..place },
        }
    }

    /// `"left"` or `"right"`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

impl Corner {
    /// All four: front before rear, left before right.
    pub const ALL: [Self; 4] = [Self::LeftFront, Self::RightFront, Self::LeftRear, Self::RightRear];

    /// From its code, in either case.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|corner| corner.code().eq_ignore_ascii_case(code.trim()))
    }

    /// `LF`, `RF`, `LR` or `RR`.
    pub const fn code(self) -> &'static str {
        match self {
            Self::LeftFront => "LF",
            Self::RightFront => "RF",
            Self::LeftRear => "LR",
            Self::RightRear => "RR",
        }
    }

    /// Its side of the car.
    pub const fn side(self) -> Side {
        match self {
            Self::LeftFront | Self::LeftRear => Side::Left,
            Self::RightFront | Self::RightRear => Side::Right,
        }
    }

    /// Whether it is one of the two in front.
    pub const fn is_front(self) -> bool {
        matches!(self, Self::LeftFront | Self::RightFront)
    }

    /// The front corner on that side.
    pub const fn front(side: Side) -> Self {
        match side {
            Side::Left => Self::LeftFront,
            Side::Right => Self::RightFront,
        }
    }

    /// The rear corner on that side.
    pub const fn rear(side: Side) -> Self {
        match side {
            Side::Left => Self::LeftRear,
            Side::Right => Self::RightRear,
        }
    }
}

impl std::fmt::Display for Side {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}
impl std::fmt::Display for Corner {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.code())
    }
}

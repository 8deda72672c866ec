//! Sides, corners and places in the car's axes.

use crate::Length;

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

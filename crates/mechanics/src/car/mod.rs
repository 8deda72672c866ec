//! The whole car on its wheels: what scales and gauges read, and what to turn so that they read
//! right.
//!
//! ```text
//!  Seen from above, nose up the page            Seen from behind, body leaning to the right
//!
//!     LF ▯──────┬──────▯ RF                            n (plumb, in body axes)
//!        │      │X      │                      ┌────────┴┐
//!        │  Y ←─⊕ c     │   c: centre of mass  │   ⊕ c   │   H: origin above the road
//!        │      │       │      of what is      └─┬─────┬─┘
//!     LR ▯══O───┼───O══▯ RR    sprung          O═▯     ▯═O
//!           hub  hub                             ▔▔▔▔▔▔▔ road, h: floor under each wheel
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | H | height of the body's origin over the floor's reference | m | [`Attitude::height`] |
//! | n | unit vector straight up, in body axes (sin of pitch, sin of roll, …) | 1 | [`Attitude`] |
//! | qᵢ | travel of a wheel: plate angle behind, millimetres of bump in front | rad, m | |
//! | Gᵢ | height of the tyre's lowest point over the body's origin, along n | m | |
//! | Nᵢ, Fᵢ | load of the wheel on the road; less what is not sprung | N | [`Rest::weights`] |
//! | hᵢ | floor under the wheel | m | [`Car::floor`] |
//! | c_t, N₀ | tyre's rate, and the load at which its radius was measured | N/m, N | [`Tyre`] |
//! | m, c | sprung mass and its centre | kg, m | [`Sprung`] |
//!
//! **Model.** Body and arms are rigid; behind, each wheel hangs on a [`load::Corner`] (bar, gas,
//! bush; arm or plain lever); in front it goes straight up and down in the body on a linear
//! spring. The wheels roll and have settled, so the road pushes straight up only. Rest is where
//! the energy has no slope: for each wheel `H + Gᵢ − hᵢ + (Nᵢ − N₀)/c_t = 0` and
//! `Mᵢ(q) + Fᵢ·dGᵢ/dq = 0`, for the body `ΣFᵢ = m·g` and `ΣFᵢ·Pᵢ − m·g·c` along n. Eleven unknowns,
//! eleven equations, exact derivatives (dual numbers), Newton with limited steps; where that does
//! not close, the same along a path from the design position, or an error with what is left over.
//!
//! **Limits.** No friction and no stiction: what is read before the car has been rolled and
//! settled may be off by several millimetres. Front wheels have no camber or toe of their own
//! here. Unsprung weight acts at the tyre's contact. A wheel that would leave the road is an
//! error, not a state.
//!
//! **Source.** Principle of least potential energy (own derivation); camber and toe after ISO
//! 8855:2011, 7.1. Checked against an independent program (`reference/car_oracle.py`, energy
//! minimised with SciPy on arms solved as constraint systems) and against a rigid-body engine
//! (`reference/engine_oracle.py`).
//!
//! [`load::Corner`]: crate::load::Corner

use std::ops::{Index, IndexMut};

use axlewright_quantity::{Amount, Angle, Force, Length, LinearRate, Mass, Place, Ratio, Side};

pub use axlewright_quantity::Corner as Wheel;

use crate::linkage::LinkageError;
use crate::load;

pub mod correct;
mod kernel;
pub mod knob;
pub mod learn;
pub mod rest;
pub mod stages;

pub use knob::{FIGURES, Figure, Knob};
pub use rest::{Attitude, RearRest, Rest, Sensitivities, WheelAngles};

/// One of a thing on each side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Pair<T> {
    /// Driver facing forward: left.
    pub left: T,
    /// Driver facing forward: right.
    pub right: T,
}

impl<T> Pair<T> {
    /// Both sides alike.
    pub fn both(of: T) -> Self
    where
        T: Clone,
    {
        Self { left: of.clone(), right: of }
    }
    /// Each side through a function.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Pair<U> {
        Pair { left: f(self.left), right: f(self.right) }
    }
    /// Each side made by a function.
    pub fn of(mut f: impl FnMut(Side) -> T) -> Self {
        Self { left: f(Side::Left), right: f(Side::Right) }
    }
}

impl<T> Index<Side> for Pair<T> {
    type Output = T;
    fn index(&self, side: Side) -> &T {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}
impl<T> IndexMut<Side> for Pair<T> {
    fn index_mut(&mut self, side: Side) -> &mut T {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }
}

/// One of a thing at each wheel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Wheels<T> {
    /// The front axle's.
    pub front: Pair<T>,
    /// The rear axle's.
    pub rear: Pair<T>,
}

/// The four wheels in the order of the tables: LF, RF, LR, RR.
pub const WHEELS: [Wheel; 4] =
    [Wheel::LeftFront, Wheel::RightFront, Wheel::LeftRear, Wheel::RightRear];

impl<T> Wheels<T> {
    /// Each wheel's made by a function.
    pub fn of(mut f: impl FnMut(Wheel) -> T) -> Self {
        let front = Pair { left: f(Wheel::LeftFront), right: f(Wheel::RightFront) };
        Self { front, rear: Pair { left: f(Wheel::LeftRear), right: f(Wheel::RightRear) } }
    }
}

const fn is_front(wheel: Wheel) -> bool {
    matches!(wheel, Wheel::LeftFront | Wheel::RightFront)
}

impl<T> Index<Wheel> for Wheels<T> {
    type Output = T;
    fn index(&self, wheel: Wheel) -> &T {
        let axle = if is_front(wheel) { &self.front } else { &self.rear };
        &axle[wheel.side()]
    }
}
impl<T> IndexMut<Wheel> for Wheels<T> {
    fn index_mut(&mut self, wheel: Wheel) -> &mut T {
        let axle = if is_front(wheel) { &mut self.front } else { &mut self.rear };
        &mut axle[wheel.side()]
    }
}

/// What rides on the springs, with everything and everybody in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sprung {
    /// How heavy.
    pub mass: Mass,
    /// Its centre of mass.
    pub centre: Place,
}

/// A tyre as a spring about the load at which its radius was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    /// Load per sinking; `None` is a tyre that keeps its loaded radius whatever it carries.
    pub rate: Option<LinearRate>,
    /// Load on the road, as scales tell it, at which the loaded radius (behind) or the height of
    /// the contact (in front) holds.
    pub weight: Mass,
}

/// A front corner, as far as scales and heights need it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrontCorner {
    /// Where the tyre touches at the design height, in the car's own axes (a right one has Y
    /// below zero).
    pub contact: Place,
    /// Load per travel at the wheel, without the tyre.
    pub rate: LinearRate,
    /// What the wheel weighs on scales at the design height.
    pub weight: Mass,
    /// Of that, what does not ride on the spring.
    pub unsprung: Mass,
    /// The tyre's rate; `None` is one that does not give.
    pub tyre_rate: Option<LinearRate>,
    /// How much higher than at the design setting the body stands at this corner under the same
    /// load: what the screw adjuster does, or a spring that has set (below zero).
    pub raised: Length,
}

/// A rear corner: everything of [`load::Corner`], the free angle its teeth stand at, and the tyre.
#[derive(Debug, Clone, PartialEq)]
pub struct RearCorner {
    /// Arm or lever, bar, gas, bush and eccentrics, as a left corner.
    pub corner: load::Corner,
    /// Free angle as indexed, less what the bar has set.
    pub free: Angle,
    /// Wheel-equivalent mass that does not ride on the bar.
    pub unsprung: Mass,
    /// The tyre.
    pub tyre: Tyre,
}

/// A car that is to stand on its four wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct Car {
    /// What rides on the springs.
    pub sprung: Sprung,
    /// Front corners.
    pub front: Pair<FrontCorner>,
    /// Rear corners, each as a left one.
    pub rear: Pair<RearCorner>,
    /// Anti-roll bar in front: force at each wheel per millimetre by which the two wheels' travels
    /// differ; at ease when they do not.
    pub front_coupling: Option<LinearRate>,
    /// The same behind.
    pub rear_coupling: Option<LinearRate>,
    /// Height of the floor under each wheel, over any level reference.
    pub floor: Wheels<Length>,
}

/// Why the car has no rest, or a question no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CarError {
    /// A number is not one, or no car's.
    #[error("{what} is {given}; it must be {must}")]
    Input {
        /// Which input.
        what: String,
        /// As given, with its unit.
        given: String,
        /// What would be right.
        must: &'static str,
    },
    /// A rear corner makes no sense or does not reach.
    #[error("{} rear: {source}", .side.word())]
    Rear {
        /// Which side.
        side: Side,
        /// What is wrong there.
        source: LinkageError,
    },
    /// No position balances it.
    #[error(
        "no rest found after {steps} steps: {:.1} N left over, most at {}",
        .left_over.to_n(), .at.code()
    )]
    NoRest {
        /// Steps spent.
        steps: u32,
        /// Largest force that is not balanced (moments over half the wheelbase).
        left_over: Force,
        /// The corner at which it is.
        at: Wheel,
    },
    /// A wheel would hang in the air.
    #[error(
        "{} would leave the road: it takes {:.1} kg to keep it there",
        .at.code(), .pull.to_kg()
    )]
    OffTheRoad {
        /// Which wheel.
        at: Wheel,
        /// By how much.
        pull: Mass,
    },
    /// A corner on which the wheel would run away instead of coming to rest.
    #[error("at {} the spring gives way as the wheel rises: that is no rest", .at.code())]
    GivesWay {
        /// Which wheel.
        at: Wheel,
    },
    /// Camber or toe asked of a corner known as a plain lever only.
    #[error(
        "{what} of the {} rear cannot be told: its arm is known as a plain lever", .side.word()
    )]
    LeverOnly {
        /// What was asked for.
        what: &'static str,
        /// Which side.
        side: Side,
    },
    /// Something was asked about a figure or knob that this car has not.
    #[error("{what} is not known of this car")]
    NotKnown {
        /// What.
        what: String,
    },
}

impl CarError {
    /// What to look at first.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Input { .. } => {
                "masses in kg on scales, places in mm, rates in N/mm at the wheel"
            }
            Self::Rear { .. } => "check this corner's geometry and free angle",
            Self::NoRest { .. } => {
                "check that corner's weight, rate and free angle: one is far off"
            }
            Self::OffTheRoad { .. } => {
                "check the centre of mass and the free angles; a car should stand on four wheels"
            }
            Self::GivesWay { .. } => {
                "check free angle and geometry: the arm stands past its middle"
            }
            Self::LeverOnly { .. } => "measure the arm's places; then camber and toe follow",
            Self::NotKnown { .. } => "leave it out, or enter what it belongs to",
        }
    }
}

pub(crate) fn input(
    what: impl Into<String>,
    given: impl std::fmt::Display,
    must: &'static str,
) -> CarError {
    CarError::Input { what: what.into(), given: given.to_string(), must }
}

impl Car {
    /// The same car on a level floor.
    pub fn on_level_floor(&self) -> Self {
        Self { floor: Wheels::default(), ..self.clone() }
    }

    /// Where it comes to rest, with every figure that scales and gauges can read.
    ///
    /// # Units and sign
    /// Trim is the bar axis above the wheel centre; nose up and left side up are positive; camber
    /// + top outward, toe + in.
    /// # Valid for
    /// A car rolled and settled, within the reach of its arms and 15° of lean; see the module.
    /// # Accuracy
    /// Forces balanced within 1e-6 N, places closed within 1e-9 mm.
    /// # Errors
    /// When an input is no car's, no rest is found (with what is left over and at which corner) or
    /// a wheel would leave the road.
    /// # Source
    /// Least potential energy, see the module.
    pub fn rest(&self) -> Result<Rest, CarError> {
        rest::rest(self, None)
    }

    /// The same, sooner, where a car much like this one is known to rest.
    ///
    /// # Valid for
    /// As [`rest`](Self::rest). Where the search from there finds nothing, it begins as designed.
    /// # Errors
    /// As [`rest`](Self::rest).
    pub fn rest_near(&self, known: &Rest) -> Result<Rest, CarError> {
        rest::rest(self, Some(known))
    }

    /// The same, and how every figure follows every knob: exact slopes at the rest.
    ///
    /// # Valid for
    /// Small steps; a whole vernier step is better solved again.
    /// # Accuracy
    /// Exact (dual numbers through the equations, implicit function theorem); agrees with
    /// differences to their own error.
    /// # Errors
    /// As [`rest`](Self::rest).
    /// # Source
    /// dx/dp = −(∂r/∂x)⁻¹·∂r/∂p at the rest r(x, p) = 0.
    pub fn rest_with_slopes(&self) -> Result<(Rest, Sensitivities), CarError> {
        rest::rest_with_slopes(self, Knob::all_of(self))
    }

    /// The car with one knob turned by a step.
    ///
    /// # Errors
    /// When the step is of another kind than the knob, or the car has no such knob.
    pub fn turned(&self, knob: Knob, by: Amount) -> Result<Self, CarError> {
        knob.turn(self, by)
    }
}

fn tyre_rate(car: &Car, at: Wheel) -> Option<LinearRate> {
    match is_front(at) {
        true => car.front[at.side()].tyre_rate,
        false => car.rear[at.side()].tyre.rate,
    }
}

/// The diagonal's share of the weight, (RF + LR)/total.
///
/// # Valid for
/// Four wheels on scales. A car may have no such spec.
/// # Source
/// Common practice, no source.
pub fn cross_weight(weights: &Wheels<Mass>) -> Ratio {
    let total = weights.front.left + weights.front.right + weights.rear.left + weights.rear.right;
    Ratio::one((weights.front.right + weights.rear.left) / total)
}

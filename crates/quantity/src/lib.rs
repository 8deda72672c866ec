//! Typed quantities for work on a car's suspension.
//!
//! A number with a unit enters through a constructor that names the unit ([`Length::mm`]) and
//! leaves through a getter that names it again ([`Length::to_mm`]); between the two it is one SI
//! base value that nobody needs to know about. Only the products and quotients that mean
//! something exist, so a torque can never be added to an energy.
//!
//! This crate knows no physics: what a bar or an arm does is `axlewright-mechanics`.

mod amount;
mod error;
mod parse;
mod place;
mod scan;
mod show;
mod strokes;
mod types;
mod uncertain;
mod unit;

pub use amount::{Amount, Kind};
pub use error::{QuantityError, cut};
pub use parse::{parse_amount, parse_place, parse_plate_point};
pub use place::{Corner, Place, PlatePoint, Side, WrittenPlace, WrittenPlatePoint};
pub use show::{Doubted, InUnit, format_rounded};
pub use types::{
    Angle, Area, Energy, Force, Frequency, Length, LinearRate, Mass, Pixels, Ratio, Stress, Torque,
    TorsionalRate, exact,
};
pub use uncertain::{Spread, Written};

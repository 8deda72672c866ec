//! What is known of one car: the car file, read with everything that is wrong in it at once.
//!
//! [`read`] turns text into a [`CarFile`] and a list of [`Problem`]s; it never fails, since a
//! half-measured car is the usual case. A key that is absent or blank is neither a value nor a
//! problem. No value is ever put in for one that is missing.
//!
//! [`Field`] is the one table behind it all: what may be written, how it is measured, how good it
//! has to be and what it makes possible.
//!
//! This crate opens no file and computes no result.

mod builds;
mod calendar;
mod car_file;
mod field;
mod joint;
mod joint_state;
pub mod log;
mod method;
mod problem;
mod read;
mod starter;
mod step;
mod wheels;
mod words;

pub use builds::{Builds, Dates, Range, YearMonth};
pub use calendar::{Day, Session};
pub use car_file::{
    BuildHole, CarFile, Entry, FORMAT, Origin, Pick, PlanPoint, Reading, SetAside, SidePoint, Spec,
    StandRow, Value,
};
pub use field::{Class, Field, Shape};
pub use joint::{BoltPoint, BoltRow, Joint, Wrench, bolt_letter, bolt_number};
pub use joint_state::{BoltNow, JointState, Torqued, joint_states};
pub use method::{Answer, Follows, Method, Question};
pub use problem::{Problem, ProblemKind, Severity};
pub use read::{LARGEST, read};
pub use starter::starter;
pub use step::{CalendarRows, Changeover, PartRow, Step, Way};
pub use wheels::{MassRow, MoveBy, MoveRow, RoundRow};
pub use words::{
    Act, Adjuster, Arrow, BarFinish, BoltState, BushKind, Correction, Eccentric, Found, Hands,
    Heads, Hung, JointKind, Lash, Locking, MassKind, PartKind, PartState, Phase, Position, Preset,
    ReadingWhat, Recall, Safety, Seat, Shift, Spanning, SpecWhat, ToeBy, TorqueUnit, Weekday,
    WrenchKind,
};

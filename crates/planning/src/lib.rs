//! In which order: arcs with reasons, changeovers, the best order and the proof of it.
//!
//! The crate knows tasks, what they ask for and what must come before what. It knows no cars, no
//! clock and no files: whoever calls it says what the time is, and when to stop.
//!
//! ```text
//!   Draft ──check──▶ Work ──┬── standing: what can be done now, what blocks the rest
//!                           ├── plan: the order with the least changeover, and its bound
//!                           ├── schedule: when it is done, evening by evening
//!                           ├── back_out: what to undo to get back to something
//!                           └── why: the chain of arcs that makes a task wait
//! ```
mod anneal;
mod back_out;
mod bits;
mod calendar;
mod context;
mod contexts;
mod loops;
mod patterns;
mod plan;
mod random;
mod state;
mod time;
mod watch;
mod work;

pub use back_out::{BackOut, BackOutError, back_out};
pub use calendar::{Calendar, CalendarError, Cause, Schedule, Session, Slot, part_float, schedule};
pub use loops::WayOut;
pub use plan::{Changed, Cost, Plan, Share, Stop, plan, walk};
pub use state::{Blocker, Standing, State, standing, why};
pub use time::Time;
pub use watch::{Control, Effort, Progress, StoppedBy};
pub use work::{
    Arc, Change, Draft, FEATURES_MAX, Feature, Link, Part, Reason, STEPS_MAX, Task, Undo,
    VALUES_MAX, Work, WorkError,
};

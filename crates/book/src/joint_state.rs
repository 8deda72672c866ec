//! How far every bolt is: the rows of bolts, folded in the order in which they were written.
//!
//! ```text
//!   open ──snug──→ snug ──torqued──→ torqued ──paint-marked──→ paint-marked
//!     ↑              ↑                  ↑ torqued again: the mark is void ──┘
//!     └── open, or snug again: loosened, and all that was torqued is void ──┘
//! ```
//!
//! A paint mark proves nothing on a bolt that no row has brought to its torque: such a row leaves
//! the bolt where it was, and is kept beside it. A mark that carries a value is a torque as well.

use crate::car_file::{CarFile, Entry, Origin};
use crate::joint::{BoltRow, Joint};
use crate::words::{BoltState, Position};
use axlewright_quantity::Amount;

/// How far the bolts of one joint are.
#[derive(Debug, Clone, PartialEq)]
pub struct JointState {
    /// The joint's id.
    pub joint: String,
    /// Its bolts, bolt 1 first. As many as the joint has; where that is not known, as many as
    /// there are rows for.
    pub bolts: Vec<BoltNow>,
}

/// How far one bolt is.
#[derive(Debug, Clone, PartialEq)]
pub struct BoltNow {
    /// Which bolt, the first being 1.
    pub bolt: u32,
    /// How far it is; open if nothing was ever written of it.
    pub state: BoltState,
    /// How it got its torque; always there from [`BoltState::Torqued`] on, and only then.
    pub torqued: Option<Torqued>,
    /// The row that marked it; only of a bolt that is [`BoltState::PaintMarked`].
    pub marked: Option<Origin>,
    /// The row that loosened it last, until it is at its torque again.
    pub loosened: Option<Origin>,
    /// A row that marked it without any torque before.
    pub mark_without_torque: Option<Origin>,
}

/// How a bolt got its torque.
#[derive(Debug, Clone, PartialEq)]
pub struct Torqued {
    /// To what.
    pub value: Option<Entry<Amount>>,
    /// With which wrench.
    pub wrench: Option<Entry<String>>,
    /// How the arm stood.
    pub position: Option<Position>,
    /// When.
    pub date: Option<Entry<String>>,
    /// Where the row stands.
    pub origin: Origin,
}

impl BoltNow {
    /// A bolt of which nothing is known.
    pub const fn open(bolt: u32) -> Self {
        Self {
            bolt,
            state: BoltState::Open,
            torqued: None,
            marked: None,
            loosened: None,
            mark_without_torque: None,
        }
    }

    /// The bolt after one more row. Rows of other bolts must not come here.
    pub fn after(self, row: &BoltRow) -> Self {
        match row.state {
            BoltState::Open | BoltState::Snug => self.run_down(row),
            BoltState::Torqued => self.torqued_by(row),
            BoltState::PaintMarked if row.value.is_some() => {
                Self { marked: Some(row.origin()), state: row.state, ..self.torqued_by(row) }
            }
            BoltState::PaintMarked if self.torqued.is_some() => {
                Self { marked: Some(row.origin()), state: row.state, ..self }
            }
            BoltState::PaintMarked => Self { mark_without_torque: Some(row.origin()), ..self },
        }
    }

    fn run_down(self, row: &BoltRow) -> Self {
        let was_tight = self.torqued.is_some() || self.state > row.state;
        let loosened = if was_tight { Some(row.origin()) } else { self.loosened };
        Self { state: row.state, loosened, ..Self::open(self.bolt) }
    }

    fn torqued_by(self, row: &BoltRow) -> Self {
        let torqued = Torqued {
            value: row.value.clone(),
            wrench: row.wrench.clone(),
            position: row.position,
            date: row.date.clone(),
            origin: row.origin(),
        };
        Self { state: BoltState::Torqued, torqued: Some(torqued), ..Self::open(self.bolt) }
    }
}

/// How far every bolt of every joint is: open, if no row speaks of it; else as its rows say, the
/// later superseding the earlier. Rows of joints that are not among `joints` count for nothing,
/// nor do rows of a bolt that its joint does not have.
pub fn joint_states(joints: &[Joint], rows: &[BoltRow]) -> Vec<JointState> {
    joints.iter().map(|joint| joint_state(joint, rows)).collect()
}

fn joint_state(joint: &Joint, rows: &[BoltRow]) -> JointState {
    let id = &joint.id.value;
    let own = || rows.iter().filter(|row| row.joint.value == *id);
    let seen = || own().map(|row| row.bolt).max().unwrap_or(0).min(Joint::MOST_BOLTS);
    let count = joint.bolt_count().unwrap_or_else(seen);
    let bolts = (1..=count)
        .map(|bolt| {
            let rows = own().filter(|row| row.bolt == bolt);
            rows.fold(BoltNow::open(bolt), BoltNow::after)
        })
        .collect();
    JointState { joint: id.clone(), bolts }
}

impl CarFile {
    /// How far every bolt is by the rows of this file; see [`joint_states`].
    pub fn joint_states(&self) -> Vec<JointState> {
        joint_states(&self.joints, &self.bolts)
    }
}

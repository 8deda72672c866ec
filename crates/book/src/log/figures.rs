//! What the rules of what may be written have to know and the log does not: it is figured elsewhere
//! and asked for here.

use super::state::State;
use super::torque::Asked;
use crate::car_file::CarFile;
use crate::joint::Joint;
use crate::joint::bolt_letter;
use crate::joint_state::JointState;
use crate::words::BoltState;

/// Answers for a car. Whoever figures has an implementation; [`Unfigured`] knows only what the log
/// itself says.
pub trait Figures {
    /// What a joint asks of its torque; nothing where that is not known.
    fn asked(&self, _car: &CarFile, _joint: &Joint) -> Option<Asked> {
        None
    }

    /// What forbids signing a joint off, one sentence each, without a full stop.
    fn forbids(&self, _car: &CarFile, _joint: &Joint, now: &JointState) -> Vec<String> {
        let short = now.bolts.iter().filter(|bolt| bolt.state < BoltState::Torqued);
        short.map(|bolt| format!("bolt {}: {}", bolt_letter(bolt.bolt), bolt.state)).collect()
    }

    /// What the manual wants read on the wheels and no entry before `before` has read.
    fn unread(&self, _state: &State, _car: &CarFile, _before: u64) -> Vec<String> {
        Vec::new()
    }
}

/// Nothing is figured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unfigured;

impl Figures for Unfigured {}

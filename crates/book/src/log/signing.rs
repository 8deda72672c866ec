//! What a signature covers, whether that was done when it was given, and what undid it since.
//!
//! ```text
//!   step    done; every joint it brings to its torque fit to be signed off
//!   joint   every bolt at its torque, as the joint asks
//!   job     every step done or given up, every joint fit, every hold point signed, no part away,
//!           nothing left unread on the wheels
//! ```
//!
//! A signature holds if all of it was done before, in the order of the log without what is struck,
//! and nothing of it was undone since. So it is never the signature that makes a thing done.

use std::collections::BTreeMap;
use std::fmt;

use super::body::{Body, PartHappened, StepHappened};
use super::figures::Figures;
use super::state::{State, StepLife};
use crate::car_file::CarFile;
use crate::joint::Joint;
use crate::joint_state::{BoltNow, JointState};
use crate::step::Step;
use crate::words::{BoltState, PartState};

/// What the whole job is called when it is signed.
pub const JOB: &str = "job";

/// After every entry there is.
pub const NOW: u64 = u64::MAX;

/// Something that a signature covers and that is not done.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum StillOpen {
    /// A step that is not done.
    Step(String),
    /// A joint that is not fit to be signed off, and why.
    Joint(String, Vec<String>),
    /// A hold point that is done and not signed.
    Hold(String),
    /// A part that is away.
    Part(String),
    /// A reading that nobody has taken.
    Reading(String),
}

/// Why a signature holds no more.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Overtaken {
    /// The step was undone.
    Undone(u64),
    /// A bolt of the joint was loosened.
    Loosened(u64),
    /// Something was done to the car after the job was signed.
    Touched(u64),
    /// An entry on which it stood was struck, by another.
    Struck(u64, u64),
    /// What it covers is not done any more.
    OpenAgain(String),
}

impl fmt::Display for Overtaken {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Undone(seq) => write!(f, "the step was undone after it (entry {seq})"),
            Self::Loosened(seq) => write!(f, "a bolt was loosened after it (entry {seq})"),
            Self::Touched(seq) => {
                write!(f, "something was done to the car after it (entry {seq})")
            }
            Self::Struck(seq, by) => {
                write!(f, "entry {seq}, on which it stood, was struck after it (entry {by})")
            }
            Self::OpenAgain(what) => write!(f, "what it covers is open again: {what}"),
        }
    }
}

/// How a signature stands.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    /// What was open when it was given; it never holds then.
    pub open: Vec<StillOpen>,
    /// What undid it since.
    pub overtaken: Option<Overtaken>,
}

impl Standing {
    /// Whether all it covers was done before it, and is.
    pub fn holds(&self) -> bool {
        self.open.is_empty() && self.overtaken.is_none()
    }
}

/// What is open, counted: `109 steps open, 20 joints not fit to be signed off`. Of a single thing
/// it says what is the matter with it.
pub fn open_in_words(open: &[StillOpen]) -> String {
    match open {
        [StillOpen::Step(id)] => return format!("1 step open: `{id}` is not done"),
        [StillOpen::Joint(id, why)] => {
            return format!("1 joint not fit to be signed off: `{id}`, {}", why.join("; "));
        }
        _ => {}
    }
    let count = |of: fn(&StillOpen) -> bool| open.iter().filter(|one| of(one)).count();
    let kinds = [
        (count(|one| matches!(one, StillOpen::Step(_))), "step", "steps", "open"),
        (
            count(|one| matches!(one, StillOpen::Joint(..))),
            "joint",
            "joints",
            "not fit to be signed off",
        ),
        (count(|one| matches!(one, StillOpen::Hold(_))), "hold point", "hold points", "unsigned"),
        (count(|one| matches!(one, StillOpen::Reading(_))), "reading", "readings", "not taken"),
        (count(|one| matches!(one, StillOpen::Part(_))), "part", "parts", "away"),
    ];
    let said = kinds.iter().filter(|(n, ..)| 0 < *n).map(|(n, one, many, what)| {
        let noun = if *n == 1 { one } else { many };
        format!("{n} {noun} {what}")
    });
    said.collect::<Vec<_>>().join(", ")
}

/// Whether a step was done by then, and not undone again.
pub(super) fn was(state: &State, life: Option<&StepLife>, before: u64) -> Option<StepHappened> {
    let last = life?.events.iter().rev().find(|seq| **seq < before)?;
    match &state.entry(*last)?.body {
        Body::Step(step) => Some(step.happened),
        _ => None,
    }
}

/// How far the bolts of a joint were by then: by the car file's rows, then by the log's.
pub fn joint_at(state: &State, car: &CarFile, joint: &Joint, before: u64) -> JointState {
    let id = joint.id.value.as_str();
    let log = state.facts().bolts.get(id);
    let of_file = || car.bolts.iter().filter(|row| row.joint.value == id && row.entry.is_none());
    let seen = || {
        let in_log = log.and_then(|bolts| bolts.keys().next_back().copied());
        of_file().map(|row| row.bolt).chain(in_log).max().unwrap_or(0).min(Joint::MOST_BOLTS)
    };
    let one = |bolt: u32| {
        let rows = of_file().filter(|row| row.bolt == bolt);
        let first = rows.fold(BoltNow::open(bolt), BoltNow::after);
        let seqs = log.and_then(|bolts| bolts.get(&bolt)).map(Vec::as_slice).unwrap_or_default();
        let rows = seqs.iter().filter(|seq| **seq < before).filter_map(|seq| state.bolt_row(*seq));
        rows.fold(first, |now, (_, row)| now.after(&row))
    };
    let bolts = (1..=joint.bolt_count().unwrap_or_else(seen)).map(one).collect();
    JointState { joint: id.to_owned(), bolts }
}

/// A book to be judged: its log, its car and what is figured of it.
#[derive(Clone, Copy)]
pub struct Judge<'a> {
    pub(super) state: &'a State,
    /// The car file alone, without what the log says of the car.
    pub(super) car: &'a CarFile,
    pub(super) figures: &'a dyn Figures,
}

impl fmt::Debug for Judge<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Judge").field("last", &self.state.last_seq()).finish_non_exhaustive()
    }
}

impl<'a> Judge<'a> {
    /// Of a log by its own car file; nothing where it has none.
    pub fn of(state: &'a State, figures: &'a dyn Figures) -> Option<Self> {
        Some(Self { state, car: &state.file()?.car, figures })
    }

    /// What was open before an entry of all that a signature of this covers: a step, a joint, or
    /// the [`JOB`].
    pub fn open(self, of: &str, before: u64) -> Vec<StillOpen> {
        let of = of.trim();
        if of == JOB {
            return self.open_of_job(before);
        }
        match (self.car.step(of), self.car.joint(of)) {
            (Some(step), _) => self.open_of_step(step, before),
            (None, Some(joint)) => self.unfit(joint, before).into_iter().collect(),
            // It is not in the car file any more: nothing says that it was done.
            (None, None) => vec![StillOpen::Step(of.to_owned())],
        }
    }

    fn open_of_step(self, step: &Step, before: u64) -> Vec<StillOpen> {
        let id = &step.id.value;
        let life = self.state.facts().steps.get(id);
        let is_done = was(self.state, life, before) == Some(StepHappened::Done);
        let open = (!is_done).then(|| StillOpen::Step(id.clone()));
        open.into_iter().chain(self.unfit_of(step, before)).collect()
    }

    /// The joints that a step brings to their torque and that are not there.
    pub(super) fn unfit_of(self, step: &Step, before: u64) -> Vec<StillOpen> {
        let joints = step.torques.iter().filter_map(|id| self.car.joint(&id.value));
        joints.filter_map(|joint| self.unfit(joint, before)).collect()
    }

    fn unfit(self, joint: &Joint, before: u64) -> Option<StillOpen> {
        let now = joint_at(self.state, self.car, joint, before);
        let why = self.figures.forbids(self.car, joint, &now);
        (!why.is_empty()).then(|| StillOpen::Joint(joint.id.value.clone(), why))
    }

    fn open_of_job(self, before: u64) -> Vec<StillOpen> {
        let mut open = Vec::new();
        for step in &self.car.steps {
            let id = &step.id.value;
            let settled = was(self.state, self.state.facts().steps.get(id), before);
            if !matches!(settled, Some(StepHappened::Done | StepHappened::Waived)) {
                open.push(StillOpen::Step(id.clone()));
            } else if step.is_signed() && !self.is_signed(id, before) {
                open.push(StillOpen::Hold(id.clone()));
            }
        }
        open.extend(self.car.joints.iter().filter_map(|joint| self.unfit(joint, before)));
        open.extend(self.away(before).into_iter().map(StillOpen::Part));
        let unread = self.figures.unread(self.state, self.car, before);
        open.extend(unread.into_iter().map(StillOpen::Reading));
        open
    }

    /// Whether a signature of this that was given before an entry holds.
    pub fn is_signed(self, of: &str, before: u64) -> bool {
        let seqs = self.state.facts().signed.get(of.trim());
        let mut seqs = seqs.into_iter().flatten().filter(|seq| **seq < before);
        seqs.any(|seq| self.standing(*seq).is_some_and(|standing| standing.holds()))
    }

    /// Parts that were away before an entry.
    fn away(self, before: u64) -> Vec<String> {
        let in_file = self.car.parts.iter().map(|row| (row.id.value.as_str(), row.state));
        let mut places: BTreeMap<&str, Option<PartState>> = in_file.collect();
        for (id, life) in &self.state.facts().parts {
            let seqs = life.events.iter().filter(|seq| **seq < before);
            let last = seqs.rev().find_map(|seq| match &self.state.entry(*seq)?.body {
                Body::Part(part) => placed(part.happened),
                _ => None,
            });
            if let Some(place) = last {
                places.insert(id, Some(place));
            }
        }
        let out = places.into_iter().filter(|(_, place)| *place == Some(PartState::Out));
        out.map(|(id, _)| id.to_owned()).collect()
    }

    /// How a signature stands; nothing where the entry is none.
    pub fn standing(self, seq: u64) -> Option<Standing> {
        let Body::Signed(signed) = &self.state.entry(seq)?.body else { return None };
        let of = signed.of.trim();
        let open = self.open(of, seq);
        let overtaken = self.undone(of, seq).or_else(|| {
            if open.is_empty() || of == JOB {
                return None;
            }
            self.struck(of, seq)
        });
        let again = || {
            // The job is overtaken by anything that is done to the car, so that it need not be
            // gone through twice.
            let now = if open.is_empty() && of != JOB { self.open(of, NOW) } else { Vec::new() };
            (!now.is_empty()).then(|| Overtaken::OpenAgain(open_in_words(&now)))
        };
        let overtaken = overtaken.or_else(again);
        Some(Standing { open, overtaken })
    }

    /// What undid what was signed: of a step, that it was backed out of; of a joint, that one of
    /// its bolts was loosened; of the job, anything done to the car, or no longer counted as done.
    fn undone(self, of: &str, signed: u64) -> Option<Overtaken> {
        let facts = self.state.facts();
        if of == JOB {
            let steps = facts.steps.values().flat_map(|life| &life.events);
            let bolts = facts.bolts.values().flat_map(|bolts| bolts.values().flatten());
            let fits = facts.attempts.values().flatten().map(|fit| &fit.seq);
            let parts = facts.parts.values().flat_map(|life| &life.events);
            let all = steps.chain(bolts).chain(fits).chain(&facts.moves).chain(parts);
            let touched = all.copied().filter(|seq| signed < *seq).min();
            return touched.map(Overtaken::Touched).or_else(|| self.struck(of, signed));
        }
        if let Some(life) = facts.steps.get(of) {
            let undone = |seq: &u64| {
                let body = self.state.entry(*seq).map(|entry| &entry.body);
                matches!(body, Some(Body::Step(step)) if step.happened == StepHappened::BackedOut)
            };
            let seq = life.events.iter().copied().filter(|seq| signed < *seq).find(undone);
            return seq.map(Overtaken::Undone);
        }
        let loosened = |seq: &u64| {
            let body = self.state.entry(*seq).map(|entry| &entry.body);
            let Some(Body::Bolt(bolt)) = body else { return false };
            let state = BoltState::from_word(&bolt.state);
            matches!(state, Some(BoltState::Open | BoltState::Snug))
        };
        let bolts = facts.bolts.get(of)?;
        let seq = bolts.values().flatten().copied().filter(|seq| signed < *seq).find(loosened);
        seq.map(Overtaken::Loosened)
    }

    /// An entry before a signature, of what it covers, that was struck after it.
    fn struck(self, of: &str, signed: u64) -> Option<Overtaken> {
        let joints = self.car.step(of).map(|step| step.torques.as_slice()).unwrap_or_default();
        let covers = |body: &Body| match body {
            Body::Step(step) => of == JOB || step.step == of,
            Body::Bolt(bolt) => {
                of == JOB || bolt.joint == of || joints.iter().any(|id| id.value == bolt.joint)
            }
            Body::Part(_) | Body::Attempt(_) | Body::Moved(_) | Body::Signed(_) => of == JOB,
            _ => false,
        };
        let mut struck = self.state.struck().iter();
        let found = struck.find(|(seq, by)| {
            let is_it = **seq < signed && signed < **by;
            is_it && self.state.entry(**seq).is_some_and(|entry| covers(&entry.body))
        });
        found.map(|(seq, by)| Overtaken::Struck(*seq, *by))
    }
}

/// Where what happened to a part leaves it; nothing where it moves nothing.
pub(super) const fn placed(happened: PartHappened) -> Option<PartState> {
    match happened {
        PartHappened::Ordered | PartHappened::Due => Some(PartState::Out),
        PartHappened::Tagged
        | PartHappened::Arrived
        | PartHappened::Removed
        | PartHappened::Refinished => Some(PartState::OnTheBench),
        PartHappened::Fitted => Some(PartState::Fitted),
        PartHappened::Inspected | PartHappened::Kept | PartHappened::Replaced => None,
    }
}

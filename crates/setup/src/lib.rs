//! From a car file to everything that follows from it: findings, and gaps where something is
//! still to be measured.
//!
//! This is the one place where what is known (`book`) meets what the metal does (`mechanics`).
//! It does no I/O and is deterministic: the same car file gives the same assessment.

mod angles;
mod assess;
mod bars;
pub mod cautions;
mod changed;
mod checks;
mod cross_check;
mod droop;
mod engine;
mod finding;
mod gaps;
mod inputs;
pub mod joints;
mod look;
pub mod marks;
mod memo;
mod model;
pub mod order;
mod pair;
pub mod photographs;
pub mod physical;
pub mod quick;
mod raising;
pub mod record;
mod say;
mod scene;
mod stands;
mod teeth;
pub mod wheels;
mod windows;

pub use assess::{assess, at_angle};
pub use axlewright_mechanics::splines::{Rotation, Turn, teeth_words};
pub use cautions::{Caution, Severity};
pub use changed::{FindingChange, changed};
pub use checks::mends;
pub use cross_check::{CrossCheck, Slip, Suspect};
pub use finding::{Finding, Gap, GapRow, Input, Item, Leaf, Sighted, State, Subject, Why};
pub use say::{capital, duration};
pub use scene::{
    CornerScene, NamedWindow, Pose, SceneState, SplineScene, StandScene, SupportScene, UpsetArrow,
};

/// Everything a car file leads to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Assessment {
    /// The car's name as written, if it has one.
    pub car: Option<String>,
    /// What can be said, in the order a restorer needs it.
    pub findings: Vec<Finding>,
    /// What is still to be measured, found or decided, and what each would unlock.
    pub gaps: Vec<Gap>,
    /// What was written but cannot be: one sentence each.
    pub problems: Vec<String>,
    /// Two ways to one quantity that disagree, beside their findings.
    pub cross_checks: Vec<CrossCheck>,
    /// What follows from the figures and has to be known before anything is done.
    pub cautions: Vec<Caution>,
    /// Drawing material per rear corner, left first.
    pub corners: Vec<CornerScene>,
    /// Drawing material for the stands in plan.
    pub supports: Option<SupportScene>,
    /// Names and drawing material of the joints, in the order of the car file.
    pub joints: Vec<joints::JointScene>,
}

impl Assessment {
    /// The caution with this id for that subject; `None` as subject matches any.
    pub fn caution(&self, id: &str, of: Option<&Subject>) -> Option<&Caution> {
        self.cautions.iter().find(|c| c.id == id && (of.is_none() || c.of.as_ref() == of))
    }

    /// Every caution but those that stand elsewhere: with the teeth they are about, or where the
    /// car goes on the road.
    pub fn cautions_of_the_work(&self) -> impl Iterator<Item = &Caution> {
        let elsewhere = [cautions::NO_READING, cautions::ROLL_SHARE];
        self.cautions.iter().filter(move |caution| !elsewhere.contains(&caution.id))
    }

    /// Whether something is not to be gone on with before it is settled.
    pub fn must_stop(&self) -> bool {
        self.cautions.iter().any(|caution| caution.severity == Severity::Stop)
    }

    /// The first finding with this id for that subject; `None` as subject matches any.
    pub fn find(&self, id: &str, of: Option<&Subject>) -> Option<&Finding> {
        self.findings.iter().find(|f| f.id == id && (of.is_none() || f.of.as_ref() == of))
    }
}

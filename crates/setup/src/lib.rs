//! From a car file to everything that follows from it: findings, and gaps where something is
//! still to be measured.
//!
//! This is the one place where what is known (`book`) meets what the metal does (`mechanics`).
//! It does no I/O and is deterministic: the same car file gives the same assessment.

mod angles;
mod assess;
mod bars;
mod cautions;
mod changed;
mod engine;
mod finding;
mod gaps;
mod inputs;
pub mod joints;
mod look;
pub mod marks;
mod model;
pub mod order;
mod pair;
pub mod photographs;
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
pub use changed::{FindingChange, changed};
pub use finding::{Finding, Gap, GapRow, Input, Item, Leaf, Sighted, State, Subject, Why};
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
    /// What follows from the figures and must be heeded before anything is done: one sentence each.
    pub cautions: Vec<String>,
    /// Drawing material per rear corner, left first.
    pub corners: Vec<CornerScene>,
    /// Drawing material for the stands in plan.
    pub supports: Option<SupportScene>,
    /// Names and drawing material of the joints, in the order of the car file.
    pub joints: Vec<joints::JointScene>,
}

impl Assessment {
    /// The caution that speaks of driving the finished car: it belongs where the car goes on its
    /// wheels, not before a step on the bench.
    pub fn caution_of_the_road(&self) -> Option<&str> {
        let share = self.find("car.roll-share", None)?;
        self.cautions.iter().map(String::as_str).find(|said| said.starts_with(&share.why.words))
    }

    /// Every caution but [`Self::caution_of_the_road`].
    pub fn cautions_of_the_work(&self) -> impl Iterator<Item = &str> {
        let road = self.caution_of_the_road();
        self.cautions.iter().map(String::as_str).filter(move |said| Some(*said) != road)
    }

    /// The first finding with this id for that subject; `None` as subject matches any.
    pub fn find(&self, id: &str, of: Option<&Subject>) -> Option<&Finding> {
        self.findings.iter().find(|f| f.id == id && (of.is_none() || f.of.as_ref() == of))
    }
}

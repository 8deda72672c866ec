//! One joint asked about without a car file.

use axlewright_book::TorqueUnit;
use axlewright_mechanics::joints::wrench::WrenchKind;
use axlewright_mechanics::joints::{Adapter, Bolt, Class, JointError, Thread, Wrench};
use axlewright_quantity::{Angle, Force, Length, Spread, Torque};

use super::case::{Case, Listed, surface};
use super::wrenches::Owned;
use super::{findings, setting, strain, warnings};
use crate::Assessment;
use crate::quick::{Given, QuickError};

/// A bolt, and a torque or preload for it.
#[derive(Debug, Clone, PartialEq)]
pub struct TorqueQuestion {
    /// Designation of the thread.
    pub thread: String,
    /// Property class.
    pub class: String,
    /// What is on thread and head.
    pub surface: String,
    /// What the list's torque assumes, where that is something else.
    pub list_surface: Option<String>,
    /// What is wanted.
    pub wanted: Wanted,
    /// Click wrenches at hand.
    pub wrenches: Vec<QuickWrench>,
    /// Length of an extension, bolt to square.
    pub adapter: Option<Given<Length>>,
    /// Its angle to the wrench; in line where not said.
    pub adapter_angle: Option<Given<Angle>>,
    /// From the square to the mark where the hand pulls.
    pub wrench_arm: Option<Given<Length>>,
    /// The unit torques are read in.
    pub unit: TorqueUnit,
}

/// What a bolt is to get.
#[derive(Debug, Clone, PartialEq)]
pub enum Wanted {
    /// A torque.
    Torque(Given<Torque>),
    /// A preload; the torque is computed.
    Preload(Given<Force>),
}

/// A click wrench as it was typed.
#[derive(Debug, Clone, PartialEq)]
pub struct QuickWrench {
    /// Least of its scale.
    pub from: Torque,
    /// Most of its scale.
    pub to: Torque,
    /// The unit of its scale.
    pub unit: Option<TorqueUnit>,
    /// The text word for word.
    pub text: String,
}

/// What to set and what it does: `joint.setting`, `joint.preload`, `joint.utilisation`,
/// `joint.warning` and `joint.caution`.
///
/// # Errors
/// A thread, class, surface, torque or wrench that there is not.
pub fn torque(question: &TorqueQuestion) -> Result<Assessment, QuickError> {
    let wrenches = question.wrenches.iter().map(owned).collect::<Result<Vec<_>, _>>()?;
    let mut case = Case::new("this joint", question.unit, &wrenches);
    let thread = Thread::parse(&question.thread)?;
    let class = Class::parse(&question.class)?;
    let bolt = Bolt::hexagon(thread)?;
    let now = surface(&question.surface)?;
    case.thread = Some(thread);
    case.class = Some(class);
    case.strength = Some(class.strength(&thread)?);
    case.bolt = Some(bolt);
    case.count = Some(1);
    case.now = Some(now);
    case.then = question.list_surface.as_deref().map(surface).transpose()?;
    if let Some(reach) = &question.adapter {
        let angle = question.adapter_angle.as_ref().map_or(Angle::ZERO, |angle| angle.value);
        case.adapter = Some(Adapter::new(reach.value, angle)?);
    }
    case.arm = question.wrench_arm.as_ref().map(|arm| arm.value);
    if case.adapter.is_some() && case.arm.is_none() {
        return Err(JointError::NoArm.into());
    }
    case.listed = Some(match &question.wanted {
        Wanted::Torque(given) => from_torque(given),
        Wanted::Preload(given) => Listed {
            torque: bolt.torque(given.value, &now.range().middle())?,
            written: None,
            tolerance: None,
            u: None,
            from: format!("computed for {}, at the middle of the friction", given.text),
        },
    });
    case.reach = setting::reach(&case)?;
    case.strain = strain::strain(&case)?;
    case.withheld = setting::over_yield(&case);
    let warned = warnings::found(&case, &[])?;
    let mut out = Assessment::default();
    findings::add(&case, &warned, &mut out.findings);
    out.findings.retain(|finding| finding.id != "joint.order");
    Ok(out)
}

fn from_torque(given: &Given<Torque>) -> Listed {
    let (tolerance, u) = match given.spread {
        Some(Spread::Tolerance(half)) => (Torque::try_from(half).ok(), None),
        Some(other) => (None, Torque::try_from(other.standard_uncertainty()).ok()),
        None => (None, None),
    };
    let written = Some(given.text.clone());
    Listed { torque: given.value, written, tolerance, u, from: "typed".to_owned() }
}

fn owned(typed: &QuickWrench) -> Result<Owned, JointError> {
    let wrench = Wrench::new(WrenchKind::Click, typed.from, typed.to)?;
    Ok(Owned {
        name: format!("wrench of {}", typed.text),
        wrench,
        tolerance: wrench.tolerance(),
        tolerance_from: "ISO 6789, for a sound click wrench".to_owned(),
        unit: typed.unit,
    })
}

//! What each bolted joint asks for: the wrench and what to set on it, the order, the arm's
//! position, what that does to the bolt, what to beware of, and what still forbids signing it off.
//!
//! ```text
//!   car file ──→ case ──→ findings          one joint in, one joint's findings out
//!    [[joint]]   typed,    joint.setting     joint.preload      joint.utilisation
//!    [[wrench]]  or a gap, joint.order       joint.position     joint.warning
//!    [[spec]]    or a      joint.caution
//!    [[bolt]]    fault     joint.state       joint.sign-off     ← how far its bolts are
//! ```
//!
//! **Uncertainty.** The preload is the one figure that carries a u: half the spread over the range
//! of friction and the wrench's tolerance, both taken as rectangular. Its least and most are those
//! of the friction alone.
//!
//! **What decides.** The maker's manual. A torque or preload computed here is information.
//!
//! # Source
//! VDI 2230 for preload; JCGM 100:2008, 4.3.7 and 5.1.2, for u; `docs/method.md`, joints.

mod case;
mod findings;
mod gaps;
pub mod quick;
mod scene;
mod setting;
mod signoff;
mod strain;
mod warnings;
mod wrenches;

use axlewright_book::log::Asked;
use axlewright_book::{CarFile, Joint, JointState};

use crate::finding::{Finding, Item, Subject, Why};
use crate::{Assessment, cautions};

pub use axlewright_book::{Eccentric, Position, bolt_letter};
pub use scene::{BoltScene, JointScene, Nose};

/// Every public id of a joint's findings, in the order in which they come.
pub const IDS: [&str; 9] = [
    "joint.caution",
    "joint.position",
    "joint.setting",
    "joint.order",
    "joint.warning",
    "joint.preload",
    "joint.utilisation",
    "joint.state",
    "joint.sign-off",
];

/// One row of `forbids` of `joint.sign-off` in words, the bolt in front where it is about one.
pub fn forbids_words(row: &Item) -> String {
    let words = match row.get("words") {
        Some(Item::Word(words)) => words.as_str(),
        _ => "",
    };
    match row.get("bolt") {
        Some(Item::Count(bolt, _)) => format!("{}: {words}", named(*bolt)),
        _ => words.to_owned(),
    }
}

/// `bolt A`.
pub fn named(bolt: i64) -> String {
    format!("bolt {}", bolt_letter(u32::try_from(bolt).unwrap_or(0)))
}

/// What forbids signing a joint off, one sentence each, as in `joint.sign-off`.
pub(crate) fn forbids(car: &CarFile, joint: &Joint, now: &JointState) -> Vec<String> {
    let mut waiting = gaps::Waiting::default();
    let owned = wrenches::read(car, &mut waiting);
    signoff::in_words(&case::from_car(car, joint, &owned, &mut waiting), now)
}

/// What a joint asks of its torque.
pub(crate) fn asked(car: &CarFile, joint: &Joint) -> Option<Asked> {
    let mut waiting = gaps::Waiting::default();
    let owned = wrenches::read(car, &mut waiting);
    let case = case::from_car(car, joint, &owned, &mut waiting);
    signoff::asked(&case).filter(|_| case.withheld.is_none())
}

/// Adds what follows from the joints of a car file.
pub(crate) fn add(car: &CarFile, out: &mut Assessment) {
    if car.joints.is_empty() {
        return;
    }
    let mut waiting = gaps::Waiting::default();
    let owned = wrenches::read(car, &mut waiting);
    let states = car.joint_states();
    let mut verdicts = Vec::new();
    for (joint, state) in car.joints.iter().zip(&states) {
        let case = case::from_car(car, joint, &owned, &mut waiting);
        let wrong = signoff::wrong_positions(&case, state);
        let warned = warnings::found(&case, &wrong).unwrap_or_else(|error| {
            waiting.fault(joint, &error);
            Vec::new()
        });
        findings::add(&case, &warned, &mut out.findings);
        verdicts.push(signoff::add(&case, joint, state, &mut out.findings));
        for now in &state.bolts {
            let fault = signoff::not_as_asked(&case, now);
            out.cautions.extend(fault.map(|fault| {
                let bolt = named(i64::from(now.bolt));
                let of = Subject::Joint(joint.id.value.clone());
                cautions::not_as_asked(&case.name, &bolt, &fault).about(of)
            }));
        }
        out.joints.push(scene::scene(&case, joint));
    }
    out.findings.push(signoff::of_the_car(&verdicts));
    let (gaps, faults) = waiting.into_gaps(car);
    out.gaps.extend(gaps);
    out.problems.extend(faults);
}

/// A finding of a joint.
fn finding(id: &'static str, of: Option<&Subject>, value: Item, why: Why) -> Finding {
    Finding { id, of: of.cloned(), at: None, value, why }
}

fn words(text: impl Into<String>) -> Item {
    Item::Word(text.into())
}

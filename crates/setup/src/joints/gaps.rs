//! What is still to be looked up or measured at the joints, and what was written but cannot be.

use std::collections::BTreeSet;

use axlewright_book::{self as book, CarFile, Joint, Spec};
use axlewright_mechanics::joints::JointError;

use super::case::name_of;
use crate::finding::{Gap, GapRow, Subject};

/// What a joint's row may leave out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Key {
    Torque,
    Thread,
    Class,
    Count,
    Layout,
    Surface,
    Position,
    Adapter,
    WrenchArm,
    HeadWidth,
    Hole,
    Plated,
    ProcessRecord,
    Load,
    Faces,
    FaceFriction,
    Reused,
}

const SETTING: &[&str] =
    &["joint.setting", "joint.preload", "joint.utilisation", "joint.warning", "joint.sign-off"];
const STRAIN: &[&str] = &["joint.preload", "joint.utilisation", "joint.warning"];
const WARNING: &[&str] = &["joint.warning"];

impl Key {
    const fn word(self) -> &'static str {
        match self {
            Self::Torque => "torque",
            Self::Thread => "thread",
            Self::Class => "class",
            Self::Count => "count",
            Self::Layout => "layout",
            Self::Surface => "surface",
            Self::Position => "position",
            Self::Adapter => "adapter",
            Self::WrenchArm => "wrench_arm",
            Self::HeadWidth => "head_width",
            Self::Hole => "hole",
            Self::Plated => "plated",
            Self::ProcessRecord => "process_record",
            Self::Load => "load",
            Self::Faces => "faces",
            Self::FaceFriction => "face_friction",
            Self::Reused => "reused",
        }
    }

    const fn measure(self) -> &'static str {
        match self {
            Self::Torque => "the torque the manual gives",
            Self::Thread => "the thread",
            Self::Class => "the property class",
            Self::Count => "how many bolts",
            Self::Layout => "where the bolts sit",
            Self::Surface => "what is on thread and head today",
            Self::Position => "how the arm has to stand for the final torque",
            Self::Adapter => "how far the extension carries the wrench's square from the bolt",
            Self::WrenchArm => "the arm of the wrench, for the extension",
            Self::HeadWidth => "the face under the head",
            Self::Hole => "the hole under the head",
            Self::Plated => "what the bolts were plated with",
            Self::ProcessRecord => "whether the plater gave a record of what was done",
            Self::Load => "the force that must not make it slip",
            Self::Faces => "how many faces rub",
            Self::FaceFriction => "the friction of those faces",
            Self::Reused => "whether the part for one use was used before",
        }
    }

    const fn how(self) -> &'static str {
        match self {
            Self::Torque => {
                "The manual's torque list, in its own unit, with the page: torque in the joint's \
                 row, or a [[spec]] with the build numbers it is for."
            }
            Self::Thread => {
                "Diameter over the crests, pitch with a thread gauge or over ten crests: \
                 \"M10x1.5\"."
            }
            Self::Class => {
                "The figures on the bolt's head, as \"8.8\"; of a hub nut, the figure on the nut. \
                 Unmarked bolts are renewed, not guessed."
            }
            Self::Count => "Count them.",
            Self::Layout => {
                "A rule across the bolt heads: x to the right, y up, from any zero, bolt 1 first. \
                 Good to 1 mm."
            }
            Self::Surface => {
                "In words: dry, oiled, zinc-dry, zinc-oiled, phosphate-oiled, cadmium, greased, \
                 moly, graphite; \"unknown\" where nobody can say."
            }
            Self::Position => {
                "\"ride\" where rubber twists with the arm, \"wheels down\" for the hub nut, \
                 \"any\" where it does not matter. The manual says it."
            }
            Self::Adapter => {
                "Rule from the middle of its jaw to the middle of the wrench's square, good to \
                 1 mm; or take its angle out of the row where none is used."
            }
            Self::WrenchArm => {
                "From the square to the mark where the hand pulls, tape, good to 5 mm; in the \
                 joint's row, or as length of the wrench."
            }
            Self::HeadWidth => "Vernier across the ring that bears, in mm.",
            Self::Hole => "Vernier across the clearance hole, in mm.",
            Self::Plated => {
                "\"none\" or the metal: \"zinc\". A bolt this hard may have taken up hydrogen in \
                 the bath, and the eye cannot tell."
            }
            Self::ProcessRecord => "Ask the plater for it in writing; true or false.",
            Self::Load => "From who designed it, or leave it: slipping is then not checked.",
            Self::Faces => "Count the faces that would slide on each other.",
            Self::FaceFriction => {
                "0.15 for bare, clean, dry steel (common practice, no source); less for anything \
                 else."
            }
            Self::Reused => "true or false; such a part is cheap and is renewed.",
        }
    }

    const fn blocks(self) -> &'static [&'static str] {
        match self {
            Self::Torque => SETTING,
            Self::Count => &["joint.order", "joint.state", "joint.sign-off"],
            Self::Layout => &["joint.order"],
            Self::Position => &["joint.position", "joint.sign-off"],
            Self::Adapter | Self::WrenchArm => &["joint.setting"],
            Self::Thread | Self::Surface | Self::HeadWidth | Self::Hole => STRAIN,
            Self::Class => &["joint.utilisation", "joint.warning"],
            Self::Plated
            | Self::ProcessRecord
            | Self::Load
            | Self::Faces
            | Self::FaceFriction
            | Self::Reused => WARNING,
        }
    }
}

/// One gap of one row of the car file; a row written for both sides has one.
#[derive(Debug)]
struct Need {
    line: u32,
    id: String,
    joints: Vec<String>,
    gap: Gap,
}

/// What the joints wait for, and what is wrong with them.
#[derive(Debug, Default)]
pub(super) struct Waiting {
    needs: Vec<Need>,
    faults: BTreeSet<String>,
}

/// The joint's name without its side.
fn plain_name(joint: &Joint) -> String {
    joint.name.as_ref().map_or(&joint.id.text, |name| &name.value).trim().to_owned()
}

impl Waiting {
    /// Notes that a joint's row leaves something out.
    pub(super) fn missing(&mut self, joint: &Joint, key: Key) {
        let measure = format!("{}: {}", plain_name(joint), key.measure());
        self.need(joint, key.word(), measure, key.how(), key.blocks().to_vec(), Vec::new());
    }

    /// Notes that the manual's rows do not give one torque.
    pub(super) fn torque_rows(&mut self, joint: &Joint, why: &str, rows: &[&Spec]) {
        let measure = format!("{}: torque, {why}", plain_name(joint));
        let how =
            "Compare the pages and the part on the car; keep the row that fits, with its page.";
        let blocks = if joint.torque.is_some() { Vec::new() } else { SETTING.to_vec() };
        let rows = rows.iter().map(|row| gap_row(row)).collect();
        self.need(joint, Key::Torque.word(), measure, how, blocks, rows);
    }

    fn need(
        &mut self,
        joint: &Joint,
        key: &str,
        measure: String,
        how: &str,
        blocks: Vec<&'static str>,
        rows: Vec<GapRow>,
    ) {
        let id = format!("joint.{}.{key}", joint.id.text.trim());
        let same = |need: &&mut Need| need.line == joint.line && need.id == id;
        if let Some(need) = self.needs.iter_mut().find(same) {
            need.joints.push(joint.id.value.clone());
            return;
        }
        let gap = Gap { id: id.clone(), of: None, measure, how: how.to_owned(), blocks, rows };
        let joints = vec![joint.id.value.clone()];
        self.needs.push(Need { line: joint.line, id, joints, gap });
    }

    /// Notes that a joint as written cannot be.
    pub(super) fn fault(&mut self, joint: &Joint, error: &JointError) {
        let (id, line, hint) = (joint.id.text.trim(), joint.line, error.hint());
        self.faults.insert(format!("joint {id} (line {line}): {error}; {hint}"));
    }

    /// Notes that no wrench is on the list.
    pub(super) fn no_wrench(&mut self) {
        self.of_wrenches(
            "wrench".to_owned(),
            "the torque wrenches at hand".to_owned(),
            "One [[wrench]] for each: the ends of its scale in its own unit, click or beam, its \
             length from grip to square.",
        );
    }

    /// Notes that a wrench's row leaves something out.
    pub(super) fn wrench(&mut self, row: &book::Wrench, keys: &[&str]) {
        self.of_wrenches(
            format!("wrench.{}", keys.join("+")),
            format!("{}: {}", row.name.value, keys.join(", ")),
            "The ends of its scale as printed on it; \"click\" or \"beam\". Until then it is not \
             used.",
        );
    }

    fn of_wrenches(&mut self, id: String, measure: String, how: &str) {
        let blocks = vec!["joint.setting"];
        let gap = Gap {
            id: id.clone(),
            of: None,
            measure,
            how: how.to_owned(),
            blocks,
            rows: Vec::new(),
        };
        self.needs.push(Need { line: 0, id, joints: Vec::new(), gap });
    }

    /// Notes that a wrench as written cannot be.
    pub(super) fn wrench_fault(&mut self, row: &book::Wrench, error: &JointError) {
        let (name, line, hint) = (&row.name.value, row.line, error.hint());
        self.faults.insert(format!("wrench {name} (line {line}): {error}; {hint}"));
    }

    /// The gaps, those that hold up most in front; a gap of one joint only is that joint's.
    pub(super) fn into_gaps(self, car: &CarFile) -> (Vec<Gap>, BTreeSet<String>) {
        let mut needs = self.needs;
        needs.sort_by_key(|need| std::cmp::Reverse(need.gap.blocks.len()));
        let gaps = needs.into_iter().map(|need| {
            let of = match need.joints.as_slice() {
                [only] => Some(Subject::Joint(only.clone())),
                _ => None,
            };
            let mut gap = Gap { of, ..need.gap };
            if let Some(joint) = need.joints.first().and_then(|id| car.joint(id))
                && gap.of.is_some()
            {
                gap.measure = gap.measure.replacen(&plain_name(joint), &name_of(joint), 1);
            }
            gap
        });
        (gaps.collect(), self.faults)
    }
}

fn gap_row(spec: &Spec) -> GapRow {
    GapRow {
        written: spec.value.text.clone(),
        builds: spec.builds.as_ref().map_or_else(|| "not said".to_owned(), ToString::to_string),
        source: spec.source.as_ref().map_or_else(|| "no source".to_owned(), |s| s.value.clone()),
        line: spec.line,
    }
}

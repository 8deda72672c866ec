//! Slips that nothing in the file could show, each with its reason. A row names a number, or the
//! beginning of several, and the slips it speaks of.

use super::sites::{Hand, Slipped};

const CHOICE: &str = "a choice or a rating of the owner's, with no second source in the file";
const ALONE: &str = "a property of one part, read once; nothing else in the file depends on it \
                     twice";
const DOUBT: &str = "the slip moves the number by less than it is doubted anyway";

const OWN: &str = "how sure the owner is of his own reading, within what a hand and a gauge can do";

const PLACE: &str = "a place of a part, moved by less than such places differ from car to car, \
                     and read once";
const TURNED: &str = "it is what the eccentrics are there to turn: any value within their reach \
                      may be";
const FIT: &str = "a first fit stands anywhere within half a tooth of the plate end";
const SIDE: &str = "which side carries more is what the teeth decide, and where they stood in that \
                    round is not in the file";

const TABLE: &[(&str, Option<Hand>, &str)] = &[
    ("shell.bag", None, CHOICE),
    ("shell.push_height", None, CHOICE),
    ("hose.drawn_to", None, CHOICE),
    ("cable.drawn_to", None, CHOICE),
    ("wrench.", None, CHOICE),
    ("plate.bend_limit", None, ALONE),
    ("half_shaft.joint_limit", None, ALONE),
    ("half_shaft.plunge_limit", None, ALONE),
    ("eccentrics.throw", None, ALONE),
    ("front.screw", None, ALONE),
    ("tyre.rate", None, ALONE),
    ("bar.allowable_shear", None, ALONE),
    ("damper.original.rings", None, ALONE),
    ("damper.fitted.rings", None, ALONE),
    ("joint.stop-bolt.count", None, ALONE),
    ("joint.damper-top.count", None, ALONE),
    ("joint.damper-bottom.count", None, ALONE),
    ("joint.hose-bracket.count", None, ALONE),
    ("joint.hub-nut.count", None, ALONE),
    ("load.settling", None, DOUBT),
    ("arm.inner_pivot Z", Some(Hand::Tenth), DOUBT),
    ("arm.camber", Some(Hand::Tenth), DOUBT),
    ("masses.fuel, half a tank", None, DOUBT),
    ("uncertainty.corner_weight", Some(Hand::UnitWritten), OWN),
    ("uncertainty.corner_weight", Some(Hand::UnitRead), OWN),
    ("uncertainty.scale", Some(Hand::UnitWritten), OWN),
    ("uncertainty.scale", Some(Hand::UnitRead), OWN),
    ("reading.sill-level.left", Some(Hand::Tenth), DOUBT),
    ("reading.sill-level.right", Some(Hand::Tenth), DOUBT),
    ("reading.sill-level.", Some(Hand::Turned), DOUBT),
    ("reading.sill-level.left.turned", Some(Hand::Sign), DOUBT),
    ("reading.sill-level.right.turned", Some(Hand::Sign), DOUBT),
    ("load.corner_weight", Some(Hand::Stage), DOUBT),
    ("spec.free-angle", Some(Hand::Edge), DOUBT),
    ("masses.engine and gearbox.at", None, DOUBT),
    ("masses.doors, glass, trim, seats.at", None, DOUBT),
    ("shell.mass_at Z", Some(Hand::Tenth), PLACE),
    ("arm.mass_at Z", Some(Hand::Tenth), PLACE),
    ("arm.inner_pivot Z", Some(Hand::Sign), PLACE),
    ("plate.hole_front w", Some(Hand::Tenth), PLACE),
    ("plate.hole_rear w", Some(Hand::Tenth), PLACE),
    ("hose.body_end Z", None, PLACE),
    ("hose.arm_end", None, PLACE),
    ("cable.arm_end", None, PLACE),
    ("stand.left rear.at X", None, PLACE),
    ("stand.right rear.at X", None, PLACE),
    ("spec.toe", None, TURNED),
    ("round 1.camber.", None, TURNED),
    ("reading.plate-angle.", Some(Hand::Edge), FIT),
    ("round 1.weight.", Some(Hand::Sides), SIDE),
];

/// Why a slip cannot be known; nothing for one that can.
pub fn why(slipped: &Slipped) -> Option<&'static str> {
    let row = TABLE.iter().find(|(name, hand, _)| {
        slipped.number.starts_with(name) && hand.is_none_or(|hand| hand == slipped.hand)
    });
    row.map(|(_, _, why)| *why)
}

//! Slips that nothing in the file could show, each with its reason. A row names a number, or the
//! beginning of several, and the slips it speaks of.

use super::sites::{Hand, Slipped};

const CHOICE: &str = "a choice or a rating of the owner's, with no second source in the file";
const ALONE: &str = "a property of one part, read once; nothing else in the file depends on it \
                     twice";
const DOUBT: &str = "the slip moves the number by less than it is doubted anyway";

const OWN: &str = "how sure the owner is of his own reading, within what a hand and a gauge can do";

const TABLE: &[(&str, Option<Hand>, &str)] = &[
    ("shell.bag", None, CHOICE),
    ("shell.push_height", None, CHOICE),
    ("hose.drawn_to", None, CHOICE),
    ("cable.drawn_to", None, CHOICE),
    ("wrench.", None, CHOICE),
    ("stand.left front.rating", None, CHOICE),
    ("stand.right front.rating", None, CHOICE),
    ("stand.left rear.rating", None, CHOICE),
    ("stand.right rear.rating", None, CHOICE),
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
];

/// Why a slip cannot be known; nothing for one that can.
pub fn why(slipped: &Slipped) -> Option<&'static str> {
    let row = TABLE.iter().find(|(name, hand, _)| {
        slipped.number.starts_with(name) && hand.is_none_or(|hand| hand == slipped.hand)
    });
    row.map(|(_, _, why)| *why)
}

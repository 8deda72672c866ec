//! Drawing material for the bolts of a joint.

use axlewright_book::Joint;
use axlewright_quantity::Length;

use super::case::Case;

/// Where the bolts of a joint sit, and in what order they are tightened.
#[derive(Debug, Clone, PartialEq)]
pub struct JointScene {
    /// The joint's id.
    pub joint: String,
    /// What people call it, with its side.
    pub name: String,
    /// Its bolts, bolt 1 first.
    pub bolts: Vec<BoltScene>,
    /// Outer diameter of the face under a head.
    pub head: Length,
    /// Nominal diameter of the thread.
    pub thread: Length,
}

/// One bolt, seen from the heads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoltScene {
    /// Its number in the layout, from 1.
    pub number: u32,
    /// To the right.
    pub x: Length,
    /// Up.
    pub y: Length,
    /// As the how-manieth it is tightened, from 1.
    pub turn: u32,
}

/// Nothing without a layout of two bolts or more, or without the size of their heads.
pub(super) fn scene(case: &Case, joint: &Joint) -> Option<JointScene> {
    let (layout, bolt) = (case.layout.as_ref()?, case.bolt.as_ref()?);
    if layout.spots().len() < 2 {
        return None;
    }
    let order = layout.order();
    let bolts = layout.spots().iter().zip(0_usize..).filter_map(|(spot, place)| {
        let turn = order.bolts.iter().position(|bolt| *bolt == place)?;
        let counted = |place: usize| u32::try_from(place + 1).ok();
        Some(BoltScene { number: counted(place)?, x: spot.x, y: spot.y, turn: counted(turn)? })
    });
    Some(JointScene {
        joint: joint.id.value.clone(),
        name: case.name.clone(),
        bolts: bolts.collect(),
        head: bolt.face().outer(),
        thread: bolt.thread().diameter(),
    })
}

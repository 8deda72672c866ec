//! What names and draws a joint.

use axlewright_book::{Eccentric, Heads, Joint, Position};
use axlewright_quantity::{Length, Side};

use super::case::Case;
use super::findings;
use crate::Caution;

/// A joint by its names, and where its bolts sit.
#[derive(Debug, Clone, PartialEq)]
pub struct JointScene {
    /// The joint's id.
    pub joint: String,
    /// What people call it, with its side.
    pub name: String,
    /// The same without the side.
    pub called: String,
    /// Which side of the car, if it is of one.
    pub side: Option<Side>,
    /// Which eccentric its bolt is, if it is one.
    pub eccentric: Option<Eccentric>,
    /// How the arm stands when it gets its torque, if that is known.
    pub position: Option<Position>,
    /// Its cautions, the owner's own first.
    pub cautions: Vec<Caution>,
    /// Its bolts in few words, `4 × M10×1.5, class 8.8`; as much of it as is known.
    pub bolts: String,
    /// Where they sit, bolt 1 first; none without a layout of two or more.
    pub layout: Vec<BoltScene>,
    /// Where the nose of the car is, if it is known how the heads look.
    pub nose: Option<Nose>,
    /// Outer diameter of the face under a head, if known.
    pub head: Option<Length>,
    /// Nominal diameter of the thread, if known.
    pub thread: Option<Length>,
}

/// Where the nose of the car is, seen from the heads of a joint's bolts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nose {
    /// To the left.
    Left,
    /// To the right.
    Right,
}

impl Nose {
    /// Someone beside the left of the car who faces it has the nose to the left.
    pub(super) const fn seen(side: Side, heads: Heads) -> Self {
        match (side, heads) {
            (Side::Left, Heads::Outboard) | (Side::Right, Heads::Inboard) => Self::Left,
            (Side::Right, Heads::Outboard) | (Side::Left, Heads::Inboard) => Self::Right,
        }
    }

    /// `left` or `right`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
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
    /// Its place in the order of tightening, from 1.
    pub turn: u32,
}

pub(super) fn scene(case: &Case, joint: &Joint) -> JointScene {
    let count = case.count.filter(|count| 1 < *count).map(|count| format!("{count} × "));
    let thread = case.thread.map(|thread| thread.to_string());
    let class = case.class.map(|class| {
        if class.is_nut() { format!("nut of class {class}") } else { format!("class {class}") }
    });
    let bolts: Vec<String> = [thread, class].into_iter().flatten().collect();
    JointScene {
        joint: joint.id.value.clone(),
        name: case.name.clone(),
        called: joint.called().to_owned(),
        side: joint.side,
        eccentric: joint.eccentric,
        position: case.position,
        cautions: findings::cautions(case),
        bolts: format!("{}{}", count.unwrap_or_default(), bolts.join(", ")),
        layout: layout(case),
        nose: case.nose,
        head: case.bolt.map(|bolt| bolt.face().outer()),
        thread: case.thread.map(|thread| thread.diameter()),
    }
}

fn layout(case: &Case) -> Vec<BoltScene> {
    let Some(layout) = case.layout.as_ref().filter(|layout| 1 < layout.spots().len()) else {
        return Vec::new();
    };
    let order = layout.order();
    let bolts = layout.spots().iter().zip(0_usize..).filter_map(|(spot, place)| {
        let turn = order.bolts.iter().position(|bolt| *bolt == place)?;
        let counted = |place: usize| u32::try_from(place + 1).ok();
        Some(BoltScene { number: counted(place)?, x: spot.x, y: spot.y, turn: counted(turn)? })
    });
    bolts.collect()
}

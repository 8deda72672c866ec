//! Joints, the bolts in them, and the wrenches: what is to be tightened, how far it is, and with
//! what.

use crate::car_file::{CarFile, Entry, Origin, Pick, same_name};
use crate::words::{
    BoltState, Eccentric, Heads, JointKind, Locking, Position, Safety, TorqueUnit, WrenchKind,
};
use axlewright_quantity::{Amount, Length, Side};

/// Where a bolt sits among the others of its joint, seen from the bolt heads.
///
/// # Units and sign
/// From any zero of the joint's own; a joint written once for each side has the right one's
/// mirrored, so that bolt 2 is the same bolt on both sides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoltPoint {
    /// To the right.
    pub x: Length,
    /// Up.
    pub y: Length,
}

/// What people call a bolt of a joint: A for 1, B for 2, and AA after Z. Letters name bolts and
/// numerals the turns in which they are tightened, so that neither is taken for the other.
pub fn bolt_letter(number: u32) -> String {
    let Some(before) = number.checked_sub(1) else { return "?".to_owned() };
    let letter = char::from(b'A' + u8::try_from(before % 26).unwrap_or(0));
    match before / 26 {
        0 => letter.to_string(),
        rounds => format!("{}{letter}", bolt_letter(rounds)),
    }
}

/// The number of a bolt that is named by its letter, or by its number.
pub fn bolt_number(name: &str) -> Option<u32> {
    let name = name.trim();
    name.parse().ok().or_else(|| {
        (1..=Joint::MOST_BOLTS).find(|number| bolt_letter(*number).eq_ignore_ascii_case(name))
    })
}

/// A joint of one side of the car, or of the car. What was written once for each side is two of
/// these.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Its name in the file, `hub-cover-left`; as written, `hub-cover`, in the entry's text.
    pub id: Entry<String>,
    /// What people call it.
    pub name: Option<Entry<String>>,
    /// Which side of the car; nothing for a joint of neither.
    pub side: Option<Side>,
    /// As written; whether it is a thread that is made is for mechanics to say.
    pub thread: Option<Entry<String>>,
    /// Property class, as written.
    pub class: Option<Entry<String>>,
    /// How many bolts.
    pub count: Option<Entry<u32>>,
    /// Where they sit, bolt 1 first; as many as `count`.
    pub layout: Option<Entry<Vec<BoltPoint>>>,
    /// Which way the bolts' heads look; says where the nose of the car is in the layout.
    pub heads: Option<Heads>,
    /// The list's torque. Where there is none, see [`CarFile::torque_row`].
    pub torque: Option<Entry<Amount>>,
    /// Manual and page.
    pub torque_source: Option<Entry<String>>,
    /// The surface the list's torque assumes.
    pub list_surface: Option<Entry<String>>,
    /// The surface as it is now.
    pub surface: Option<Entry<String>>,
    /// What the bolts were plated with, `none` if with nothing.
    pub plated: Option<Entry<String>>,
    /// Whether the plater gave a record of what was done.
    pub process_record: Option<bool>,
    /// How the arm has to stand when it gets its torque; never [`Position::BarOut`].
    pub position: Option<Position>,
    /// How it carries its load.
    pub kind: Option<JointKind>,
    /// What a friction joint must hold without slipping: a force.
    pub load: Option<Entry<Amount>>,
    /// Faces that rub.
    pub faces: Option<Entry<u32>>,
    /// Friction of those faces.
    pub face_friction: Option<Entry<Amount>>,
    /// What keeps it from working loose.
    pub locking: Option<Locking>,
    /// Whether something in it may be used only once.
    pub one_time: Option<bool>,
    /// Whether that something has been used before.
    pub reused: Option<bool>,
    /// Length of thread engaged.
    pub engagement: Option<Entry<Amount>>,
    /// Property class of the nut, as written.
    pub nut_class: Option<Entry<String>>,
    /// Outer diameter of the face under the head or nut.
    pub head_width: Option<Entry<Amount>>,
    /// Diameter of the clearance hole.
    pub hole: Option<Entry<Amount>>,
    /// How far an extension carries the wrench's square from the bolt.
    pub adapter: Option<Entry<Amount>>,
    /// The extension's angle to the wrench, 0 in line with it.
    pub adapter_angle: Option<Entry<Amount>>,
    /// From the middle of the grip to the wrench's square.
    pub wrench_arm: Option<Entry<Amount>>,
    /// What to beware of.
    pub caution: Option<Entry<String>>,
    /// What its failure would cost.
    pub safety: Option<Safety>,
    /// Which eccentric its bolt is, if it is one.
    pub eccentric: Option<Eccentric>,
    /// Keys of its row that are there, change what is set on the wrench, and could not be read.
    pub unread: Vec<&'static str>,
    /// The line its `[[joint]]` stands in.
    pub line: u32,
}

/// What was done to one bolt. Of several rows of a bolt the later hold.
#[derive(Debug, Clone, PartialEq)]
pub struct BoltRow {
    /// The joint's id.
    pub joint: Entry<String>,
    /// Which bolt of it, the first being 1.
    pub bolt: u32,
    /// How far it is now.
    pub state: BoltState,
    /// The torque, as read on the wrench's scale or worked back from it.
    pub value: Option<Entry<Amount>>,
    /// With which wrench.
    pub wrench: Option<Entry<String>>,
    /// How the arm stood; never [`Position::BarOut`].
    pub position: Option<Position>,
    /// When.
    pub date: Option<Entry<String>>,
    /// The line its `[[bolt]]` stands in; 0 if it stands in the log.
    pub line: u32,
    /// The entry of the log it stands in.
    pub entry: Option<u64>,
}

impl BoltRow {
    /// Where it was written.
    pub fn origin(&self) -> Origin {
        Origin::of(self.line, self.entry)
    }
}

/// A torque wrench the owner has.
#[derive(Debug, Clone, PartialEq)]
pub struct Wrench {
    /// What it is called.
    pub name: Entry<String>,
    /// Least torque on its scale.
    pub from: Option<Entry<Amount>>,
    /// Greatest torque on its scale.
    pub to: Option<Entry<Amount>>,
    /// From the middle of the grip to the square.
    pub length: Option<Entry<Amount>>,
    /// How it tells.
    pub kind: Option<WrenchKind>,
    /// How far off it may be, as a share of the reading.
    pub tolerance: Option<Entry<Amount>>,
    /// The unit of its scale.
    pub unit: Option<TorqueUnit>,
    /// The line its `[[wrench]]` stands in.
    pub line: u32,
}

impl Joint {
    /// The most bolts a joint may have.
    pub const MOST_BOLTS: u32 = 64;

    /// What people call it, without its side: its name, else its id as written.
    pub fn called(&self) -> &str {
        self.name.as_ref().map_or(&self.id.text, |name| &name.value).trim()
    }

    /// How many bolts: as counted, or as many as the layout has.
    pub fn bolt_count(&self) -> Option<u32> {
        let layout = || u32::try_from(self.layout.as_ref()?.value.len()).ok();
        self.count.as_ref().map(|count| count.value).or_else(layout)
    }

    /// Whether a row of the manual that names a joint means this one: by id, with or without the
    /// side, or by name.
    pub fn is_called(&self, joint: &str) -> bool {
        let name = self.name.as_ref().map(|name| name.value.as_str());
        let names = [Some(self.id.value.as_str()), Some(self.id.text.as_str()), name];
        names.into_iter().flatten().any(|name| same_name(name, joint))
    }
}

impl CarFile {
    /// The joint of that id.
    pub fn joint(&self, id: &str) -> Option<&Joint> {
        self.joints.iter().find(|joint| joint.id.value == id)
    }

    /// The manual's torque row for a joint, of those that hold for this car.
    pub fn torque_row(&self, joint: &Joint) -> Pick<'_> {
        self.pick_torque_of(|name| joint.is_called(name))
    }
}

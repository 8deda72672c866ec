//! Parts and steps: what goes on the car, and what is done in which order.

use crate::calendar::{Day, Session};
use crate::car_file::{CarFile, Entry};
use crate::words::{Act, Hands, PartKind, PartState, Phase, Position, Spanning, Weekday};
use axlewright_quantity::{Amount, Side};

/// A part of one side of the car, or of the car. What was written once for each side is two of
/// these.
#[derive(Debug, Clone, PartialEq)]
pub struct PartRow {
    /// Its name in the file, `bar-left`; as written, `bar`, in the entry's text.
    pub id: Entry<String>,
    /// What people call it.
    pub name: Option<Entry<String>>,
    /// What it is, where something follows from it and the file says so.
    pub kind: Option<PartKind>,
    /// Which side of the car; nothing for a part of neither.
    pub side: Option<Side>,
    /// Where it is.
    pub state: Option<PartState>,
    /// When it is back, in days from [`CalendarRows::start`]; only of a part that is out.
    pub back_in_days: Option<Entry<u32>>,
    /// Whether it is marked, or set, for its own side and must not go on the other.
    pub handed: bool,
    /// To which side it is fitted, and why against its hand, where the log says so.
    pub against_hand: Option<(Side, String)>,
    /// The part that, once fitted, holds the arm between two angles.
    pub spans: Option<Spanning>,
    /// Anything else.
    pub note: Option<Entry<String>>,
    /// The line its `[[part]]` stands in.
    pub line: u32,
    /// The entry of the log that says where it is, where the log says it.
    pub entry: Option<u64>,
}

/// A step of the work, on one side of the car or on neither. What was written once for each side
/// is two of these. Every id in it is that of a row of the file, side and all; the entry's text is
/// what was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Its name in the file, `plate-on-left`; as written, `plate-on`, in the entry's text.
    pub id: Entry<String>,
    /// The phase it belongs to.
    pub phase: Phase,
    /// What to do.
    pub words: Entry<String>,
    /// What it does to arm, bar and car, in that order; empty where nobody said.
    pub does: Vec<Entry<Act>>,
    /// Which side of the car; nothing for a step of neither.
    pub side: Option<Side>,
    /// Where one stands to do it, the side in it: `left rear`, `under left`, `bench`.
    pub station: Option<Entry<String>>,
    /// How long it takes, in minutes.
    pub minutes: Option<Entry<u32>>,
    /// How many people it takes.
    pub people: Option<Entry<u32>>,
    /// How the hands have to be; nothing if it does not matter.
    pub hands: Option<Hands>,
    /// What is in the hand; nothing if it does not matter.
    pub tool: Option<Entry<String>>,
    /// How the arm has to stand.
    pub arm: Option<Position>,
    /// The plate angle at which the arm has to stand, + tail down; never together with `arm`.
    pub arm_at: Option<Entry<Amount>>,
    /// Ids of the parts it uses.
    pub needs: Vec<Entry<String>>,
    /// What reaches from body to arm after it.
    pub fits: Vec<Entry<Spanning>>,
    /// What no longer does.
    pub removes: Vec<Entry<Spanning>>,
    /// Ids of the joints it leaves snug.
    pub snug: Vec<Entry<String>>,
    /// Ids of the joints it brings to their torque.
    pub torques: Vec<Entry<String>>,
    /// Ids of the steps it comes after.
    pub after: Vec<Entry<String>>,
    /// Whether it is a hold point: signed before work goes on.
    pub hold: bool,
    /// What is lost for good if it is left out, in words.
    pub reading: Option<Entry<String>>,
    /// What to beware of.
    pub caution: Option<Entry<String>>,
    /// Where it is done instead if no position on the stands allows it.
    pub place: Option<Phase>,
    /// The line its `[[step]]` stands in.
    pub line: u32,
}

/// What it costs to change from one thing to another. All in minutes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Changeover {
    /// From one station to another.
    pub walk: Option<Entry<u32>>,
    /// To raise or lower an arm.
    pub jack: Option<Entry<u32>>,
    /// To wash.
    pub wash: Option<Entry<u32>>,
    /// To put one tool down and find another.
    pub tool: Option<Entry<u32>>,
    /// Ways that are longer or shorter than `walk`.
    pub walk_between: Vec<Way>,
    /// The line `[changeover]` begins with.
    pub line: u32,
}

/// The way between two stations, the same there and back.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// One station, side and all.
    pub one: String,
    /// The other.
    pub other: String,
    /// Minutes.
    pub minutes: u32,
    /// The line it stands in.
    pub line: u32,
}

/// When there is time to work.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CalendarRows {
    /// The first day; parts that are out are counted from here.
    pub start: Option<Entry<Day>>,
    /// When the owner works, in the order of the file.
    pub sessions: Vec<Entry<Session>>,
    /// Days with a second person.
    pub helper: Vec<Entry<Weekday>>,
    /// The line `[calendar]` begins with.
    pub line: u32,
}

impl Step {
    /// The parts marked for one side that it puts on the car: in the dry run and in assembly, those
    /// that it uses.
    pub fn fits_handed<'a>(&self, car: &'a CarFile) -> Vec<&'a PartRow> {
        if !matches!(self.phase, Phase::DryRun | Phase::Assembly) {
            return Vec::new();
        }
        let used = self.needs.iter().filter_map(|id| car.part(&id.value));
        used.filter(|part| part.handed && part.side == self.side).collect()
    }

    /// Whether it is a hold point that is signed. One that is a reading is read, not signed.
    pub const fn is_signed(&self) -> bool {
        self.hold && self.reading.is_none()
    }
}

impl CarFile {
    /// The part of that id.
    pub fn part(&self, id: &str) -> Option<&PartRow> {
        self.parts.iter().find(|part| part.id.value == id)
    }

    /// The step of that id.
    pub fn step(&self, id: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.id.value == id)
    }
}

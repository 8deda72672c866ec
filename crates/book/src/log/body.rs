//! What an entry of the log can say, in the words it was said in.
//!
//! Quantities are kept as they were written (`"35.2 deg"`, `"4.6 kgf m"`), words as the car file
//! spells them, so that a log can be read without the tool and a value keeps its form. Whether
//! they make sense is asked before they are written ([`crate::log::check()`]) and again when they
//! are folded; a body that no longer makes sense is reported and never guessed at.
//!
//! A field that was not said is left out of the JSON. Fields may be added in later versions; none
//! is renamed or given another meaning.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

/// A reading, as a gauge, tape or scale showed it. The key is (what, side or corner, when).
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What was read: a [`crate::ReadingWhat`] word, or free words for what no part computes with.
    pub what: String,
    /// `left` or `right`, where it belongs to a side.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub side: Option<String>,
    /// `LF`, `RF`, `LR` or `RR`, where it belongs to a wheel.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub corner: Option<String>,
    /// As shown, with its unit and, if said, its spread.
    pub value: String,
    /// As shown with the gauge turned end for end.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub turned: Option<String>,
    /// `nose` or `tail`: where the gauge's arrow pointed.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub arrow: Option<String>,
    /// What hung on the bar: a [`crate::Hung`] word.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub hung: Option<String>,
    /// `lifted` or `hanging`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub lash: Option<String>,
    /// `reference line` or `edge`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub seat: Option<String>,
    /// Offset of an edge from the reference line.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub seat_offset: Option<String>,
    /// With what it was read.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub gauge: Option<String>,
    /// What was in the car: needed for a trim, a weight, a camber, a toe.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub load: Option<String>,
    /// `before strip-down` for what can never be read again; such a reading records how the car
    /// was and never stands in for how it is.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub stage: Option<String>,
    /// When it was taken, where that is not the day of the entry.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub date: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// What happened to a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartHappened {
    /// Taken off and labelled.
    Tagged,
    /// Looked at; the verdict says how it is.
    Inspected,
    /// To be used again as it is.
    Kept,
    /// Worked on: plated, painted, turned, bushed; marks over it are void.
    Refinished,
    /// Another part takes its place; marks over the old one are void.
    Replaced,
    /// Ordered, or sent away.
    Ordered,
    /// Expected on a day.
    Due,
    /// On the bench.
    Arrived,
    /// On the car.
    Fitted,
    /// Off the car again.
    Removed,
}

/// One event in a part's life.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Its id in the car file, or a new one for a part the file does not list.
    pub part: String,
    /// What happened.
    pub happened: PartHappened,
    /// For `fitted`: to which side. A handed part refuses the other one.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub side: Option<String>,
    /// For `inspected`: `good`, `doubtful` or `scrap`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub verdict: Option<String>,
    /// For `due` and `ordered`: the day, `2026-11-25`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub due: Option<String>,
    /// Fitted against its hand all the same, and why.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub in_spite: Option<String>,
    /// Its name, for a part the car file does not list.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub name: Option<String>,
    /// Where from, where to, what was seen.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// A witness mark across two parts, or what became of it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mark {
    /// Its name, unique in the book: `left rear eccentric`.
    pub mark: String,
    /// The two parts it joins, by id.
    pub between: [String; 2],
    /// Other parts that it crosses, by id.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub also: Vec<String>,
    /// The plates that it tells of besides, by id: those of the side of an eccentric, by the kinds
    /// of parts in the car file. Filled in when the mark is made; not there where the file did not
    /// say the kinds.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub over: Option<Vec<String>>,
    /// `left` or `right`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub side: Option<String>,
    /// On return: by how much the two halves miss each other, and which way.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub offset: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// A photo that lies in the book's `photos` folder.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Photo {
    /// SHA-256 of the file, lower-case hexadecimal; also its name.
    pub sha256: String,
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub media: String,
    /// Length of the file.
    pub bytes: u64,
    /// Pixels across, as shown upright.
    pub width: u32,
    /// Pixels down, as shown upright.
    pub height: u32,
    /// What it shows: a mark, part, step or joint by its id, or free words.
    pub of: String,
    /// `before` or `after`, for a pair.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub when: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// What happened to a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StepHappened {
    /// Begun.
    Started,
    /// Finished.
    Done,
    /// Undone again.
    BackedOut,
    /// Given up: what was to be read cannot be read any more. The note says why.
    Waived,
}

/// A step of the order of work.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Its id in the car file.
    pub step: String,
    /// What happened.
    pub happened: StepHappened,
    /// Minutes it took, if timed.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub minutes: Option<u32>,
    /// What was found at the car that opens the step: `slack at rest`, `back to the paint`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub found: Option<String>,
    /// Begun or done with something against it all the same, and why.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub in_spite: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// A hold point, a joint or the whole job signed by a person.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Signed {
    /// The step's or joint's id, or `job`.
    pub of: String,
    /// Who signs, by name.
    pub name: String,
    /// As what: `restorer`, `inspector`.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub as_what: Option<String>,
    /// Signed with something open all the same, and why. Such a signature never holds.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub in_spite: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// One bolt of a joint.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bolt {
    /// The joint's id.
    pub joint: String,
    /// Its number, from 1.
    pub bolt: u32,
    /// A [`crate::BoltState`] word.
    pub state: String,
    /// Torque as read.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub value: Option<String>,
    /// The wrench's name.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub wrench: Option<String>,
    /// How the arm stood: a [`crate::Position`] word.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub position: Option<String>,
    /// When, where that is not the day of the entry.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub date: Option<String>,
}

/// One fit-and-measure attempt at a bar.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Attempt {
    /// `left` or `right`.
    pub side: String,
    /// Teeth the bar was turned in its anchor since the attempt before, tail down positive.
    pub anchor_teeth: i32,
    /// Teeth the plate was moved on the bar since the attempt before, tail down positive.
    pub plate_teeth: i32,
    /// Tooth of the anchor against the body's paint mark, counted as seen from outside.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub anchor_at: Option<u32>,
    /// Tooth of the plate's hub against the bar's paint mark.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub plate_at: Option<u32>,
    /// The plate reading that followed, in every particular.
    pub reading: Reading,
}

/// One pass of readings on the wheels. Keys are corners (`LF`, `RF`, `LR`, `RR`).
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Round {
    /// What was in the car.
    pub load: String,
    /// `finished`, or the build stage's name.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub stage: Option<String>,
    /// Weight on each scale.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub weight: BTreeMap<String, String>,
    /// Trim at each wheel that has one.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub trim: BTreeMap<String, String>,
    /// Camber of each wheel.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub camber: BTreeMap<String, String>,
    /// Toe-in of each wheel.
    #[serde(skip_serializing_if = "BTreeMap::is_empty", default)]
    pub toe: BTreeMap<String, String>,
    /// Read after lift-and-release and push-and-release, which halves the friction's share.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub settled: Option<bool>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// A correction that was made between two rounds.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Moved {
    /// `LF`, `RF`, `LR` or `RR`.
    pub corner: String,
    /// `anchor`, `plate`, `front eccentric`, `rear eccentric` or `front screw`.
    pub adjuster: String,
    /// `2` (teeth, tail down positive), `0.25` (turns, up positive), or a distance such as
    /// `1.2 mm`.
    pub by: String,
}

/// A re-check that falls due by distance, was done, or how far the car has come.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Recheck {
    /// What is to be looked at; empty where only the distance is told.
    pub what: String,
    /// Distance since hand-over at which it is due.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub due_km: Option<u32>,
    /// Distance at which it was done.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub done_km: Option<u32>,
    /// What was found.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub found: Option<String>,
}

/// What somebody says of where the energy is, asked first thing each evening.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Energy {
    /// A [`crate::Recall`] word.
    pub said: String,
    /// `left` or `right`; of both sides where it is not there.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub side: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub note: Option<String>,
}

/// What stands in the place of an entry that was lost: written when a damaged book was salvaged, by
/// nobody else and at no other time.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lost {
    /// The hash of the line that was lost, where the next line or a note of it tells. The next line
    /// follows it, and not this one: so the lines after a hole stay what they were.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub hash: Option<String>,
    /// What became of it.
    pub what: String,
    /// What could still be read in its place; not to be relied on.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub left: Option<String>,
}

/// One thing that was known or done. The kind and the version stand beside the body in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// A car file was loaded; its whole text is kept.
    CarFile {
        /// The text.
        text: String,
    },
    /// A reading was taken.
    Reading(Reading),
    /// Something happened to a part.
    Part(Part),
    /// A witness mark was made or looked at again.
    Mark(Mark),
    /// A photo was taken.
    Photo(Photo),
    /// A step was started, done or backed out of.
    Step(Step),
    /// A hold point was signed.
    Signed(Signed),
    /// A bolt was turned.
    Bolt(Bolt),
    /// A bar was fitted and the plate's angle read.
    Attempt(Attempt),
    /// The car was read on its wheels.
    Round(Round),
    /// A correction was made on the wheels.
    Moved(Moved),
    /// A re-check.
    Recheck(Recheck),
    /// Where the energy is, looked at or not remembered.
    Energy(Energy),
    /// Anything worth keeping.
    Note {
        /// What it is about: an id or free words; may be empty.
        about: String,
        /// The words.
        text: String,
    },
    /// An earlier entry does not count.
    Strike {
        /// The entry that is struck; a strike may itself be struck.
        seq: u64,
        /// Why.
        why: String,
    },
    /// Here stood an entry that was lost.
    Lost(Lost),
    /// What this version cannot read, kept as it stands.
    Unread(super::Unread),
}

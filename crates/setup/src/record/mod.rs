//! What a book has recorded, as plain values that a document can show without computing.
//!
//! ```text
//!   log ──→ State ─┐
//!   car file ──────┼──→ Record: readings then and now, fits of the bars, bolts, parts, marks,
//!   assessment ────┘            steps and minutes, signatures, rounds, re-checks, strikes,
//!                               and what is still unsigned, untorqued, unread or away
//! ```
//!
//! Every line carries its [`Stamp`]: the entry it stands in, when and by whom. What was written
//! keeps the words it was written in. Angles of the fits and the worth of a mark are findings, with
//! their reasons.
//!
//! **A struck entry** appears under [`Record::strikes`] and nowhere else: the record of a log with
//! an entry struck is that of the log without it, strikes and counts apart.

mod attempts;
mod joints;
mod open;
mod parts;
mod readings;
mod steps;
mod strikes;
mod wheels;

use axlewright_book::log::{Asked, Body, Entry, Figures, Judge, Sha, State};
use axlewright_book::{CarFile, Joint, JointState};
use axlewright_quantity::{Corner, Side};

pub use axlewright_book::log::StepHappened;
pub use axlewright_book::log::{JOB, Overtaken, StillOpen, open_in_words};
pub use axlewright_book::{BoltState, Origin, PartState};

use crate::Assessment;
use crate::finding::{Finding, Gap, Leaf};

/// Where a thing was written, when, and by whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// The entry, or the line of the car file.
    pub origin: Origin,
    /// The day, `2026-11-25`, where one is known: when it was done, as far as anybody wrote.
    pub day: Option<String>,
    /// The moment of the entry, `2026-11-25T21:00:00Z`.
    pub at: Option<String>,
    /// Who wrote it; nobody's name stands beside a line of the car file.
    pub by: Option<String>,
}

/// A figure or words, as they were written.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Word for word.
    pub text: String,
    /// The same as a number with its uncertainty, where it is one.
    pub leaf: Option<Leaf>,
    /// With what, how and under what load, in few words; may be empty.
    pub how: String,
    /// Where it was written.
    pub stamp: Stamp,
}

/// One thing that was read, before anything was touched and since.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingLine {
    /// What was read: `plate angle`, or the words it was given.
    pub what: String,
    /// At which wheel, if at one.
    pub corner: Option<Corner>,
    /// The stage of building in which it was read, if one was named.
    pub stage: Option<String>,
    /// Before strip-down.
    pub before: Option<Said>,
    /// The reading that holds now.
    pub now: Option<Said>,
    /// Readings that a later one superseded, the first in front.
    pub earlier: Vec<Said>,
}

/// The fits of one bar, from the first to where it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct SideAttempts {
    /// Which bar.
    pub side: Side,
    /// The free angle to be reached, if it is known.
    pub target: Option<Leaf>,
    /// How near to it the teeth can always come: half a vernier step.
    pub within: Option<Leaf>,
    /// The fits, in order.
    pub fits: Vec<Fit>,
    /// What to do next: the finding `attempt.next`.
    pub next: Option<Finding>,
}

/// One fit of a bar and the reading that followed.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// The first is 1.
    pub number: u32,
    /// Teeth turned at the anchor since the fit before, tail down positive.
    pub anchor_teeth: i32,
    /// Teeth moved at the plate since the fit before, tail down positive.
    pub plate_teeth: i32,
    /// The tooth counted at the anchor's paint mark.
    pub anchor_at: Option<u32>,
    /// The tooth counted at the plate's paint mark.
    pub plate_at: Option<u32>,
    /// The plate reading.
    pub read: Said,
    /// The finding `attempt.angle`: the free angle it means, and how far it is off the target.
    pub angle: Option<Finding>,
    /// What became of the teeth counted, where the readings tell: `as counted`.
    pub told: Option<String>,
}

/// What was done to a joint.
#[derive(Debug, Clone, PartialEq)]
pub struct JointRecord {
    /// Its id.
    pub joint: String,
    /// What people call it, with its side.
    pub name: String,
    /// Its bolts, bolt 1 first.
    pub bolts: Vec<BoltLine>,
    /// Whether nothing that was written forbids signing it.
    pub ready: bool,
    /// What forbids it, one sentence each.
    pub forbids: Vec<String>,
    /// Who has signed it.
    pub signed: Vec<Signature>,
}

/// How far one bolt is.
#[derive(Debug, Clone, PartialEq)]
pub struct BoltLine {
    /// Its number, from 1.
    pub bolt: u32,
    /// Where it is now.
    pub state: BoltState,
    /// The torque it got, as written.
    pub value: Option<Said>,
    /// With which wrench.
    pub wrench: Option<String>,
    /// How the arm stood.
    pub position: Option<&'static str>,
    /// When it got its torque and from whom.
    pub torqued: Option<Stamp>,
    /// When it was paint-marked.
    pub marked: Option<Stamp>,
    /// What is wrong with the torque it got, if anything is.
    pub fault: Option<String>,
    /// When it was loosened, if it has not been at its torque since.
    pub loosened: Option<Stamp>,
}

/// The life of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartRecord {
    /// Its id.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// Where it is, as far as anybody wrote.
    pub place: Option<PartState>,
    /// The day it is expected, while it is away.
    pub due: Option<String>,
    /// What the last inspection found.
    pub verdict: Option<String>,
    /// What was decided: kept, refinished or replaced.
    pub fate: Option<String>,
    /// Why it is fitted against its hand, if it is.
    pub in_spite: Option<String>,
    /// What happened to it, in order.
    pub life: Vec<Happened>,
}

/// Something that happened, in words.
#[derive(Debug, Clone, PartialEq)]
pub struct Happened {
    /// What.
    pub words: String,
    /// Where it was written.
    pub stamp: Stamp,
}

/// A witness mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkRecord {
    /// Its name.
    pub name: String,
    /// The two parts it joins, as people call them.
    pub between: [String; 2],
    /// Which side of the car.
    pub side: Option<Side>,
    /// When it was made.
    pub made: Stamp,
    /// By how much its halves missed each other on return, and which way.
    pub offset: Option<Said>,
    /// Why it tells nothing any more.
    pub void: Option<String>,
    /// What the offset is worth: the finding `mark.worth`.
    pub worth: Option<Finding>,
    /// Why there is no such finding, where there is an offset.
    pub no_worth: Option<String>,
    /// Photos from before, the first in front.
    pub before: Vec<PhotoRecord>,
    /// Photos from after, and those of which nobody said when.
    pub after: Vec<PhotoRecord>,
}

/// A photo of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhotoRecord {
    /// SHA-256 of its file, in hexadecimal digits; also its name.
    pub sha256: String,
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub media: String,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// What it shows, as people call it.
    pub of: String,
    /// `before` or `after`.
    pub when: Option<String>,
    /// What was said of it.
    pub note: Option<String>,
    /// Where it was written.
    pub stamp: Stamp,
}

/// A step of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct StepRecord {
    /// Its id.
    pub id: String,
    /// What is done in it, by its first sentence, with its side.
    pub title: String,
    /// What happened last, and where that was written.
    pub now: Option<(StepHappened, Stamp)>,
    /// Minutes it was thought to take.
    pub estimate: Option<u32>,
    /// Minutes it took, as far as it was timed.
    pub minutes: Option<u32>,
    /// Whether it must be signed before work goes on.
    pub hold: bool,
    /// Who has signed it.
    pub signed: Vec<Signature>,
}

/// Minutes of the steps that were timed and have an estimate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Minutes {
    /// How many steps these are.
    pub steps: u32,
    /// What they took, together.
    pub took: u64,
    /// What they were thought to take, together.
    pub estimate: u64,
}

/// A signature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signature {
    /// What was signed: a step's or joint's id, or `job`.
    pub of: String,
    /// The same in words.
    pub what: String,
    /// By whom.
    pub name: String,
    /// As what.
    pub as_what: Option<String>,
    /// What was said with it.
    pub note: Option<String>,
    /// Where it was written.
    pub stamp: Stamp,
    /// Why it was signed with something open.
    pub in_spite: Option<String>,
    /// What was open of what it covers when it was given; it never holds then.
    pub open: Vec<StillOpen>,
    /// Why it no longer holds: what was signed was undone after it.
    pub overtaken: Option<String>,
}

impl Signature {
    /// Whether all it covers was done before it, and is.
    pub fn holds(&self) -> bool {
        self.open.is_empty() && self.overtaken.is_none()
    }

    /// How it stands, in words: `holds`, or why it does not.
    pub fn standing(&self) -> String {
        let open =
            (!self.open.is_empty()).then(|| format!("signed with {}", open_in_words(&self.open)));
        let over = self.overtaken.as_ref().map(|why| format!("no longer: {why}"));
        let all: Vec<String> = open.into_iter().chain(over).collect();
        if all.is_empty() { "holds".to_owned() } else { all.join("; ") }
    }
}

/// One pass of readings on the wheels, and what was moved after it.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundRecord {
    /// The first is 1.
    pub number: u32,
    /// Where it was written.
    pub stamp: Stamp,
    /// What was in the car.
    pub load: Option<String>,
    /// The stage of building.
    pub stage: Option<String>,
    /// Whether it was read after lift-and-release and push-and-release.
    pub settled: Option<bool>,
    /// What was read, wheel by wheel.
    pub figures: Vec<WheelFigures>,
    /// What was moved before the next round.
    pub moved: Vec<Happened>,
    /// What was said of it.
    pub note: Option<String>,
}

/// One kind of reading at each wheel that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelFigures {
    /// `weight`, `trim`, `camber` or `toe`.
    pub what: &'static str,
    /// By wheel.
    pub at: Vec<(Corner, Said)>,
}

/// Something to be looked at again after a distance.
#[derive(Debug, Clone, PartialEq)]
pub struct RecheckRecord {
    /// What.
    pub what: String,
    /// Distances since hand-over at which it is still to be done, in kilometres.
    pub due_km: Vec<u32>,
    /// Whether the car has come further than the first of them.
    pub overdue: bool,
    /// When it was done: at how many kilometres, and what was found.
    pub done: Vec<(u32, Happened)>,
}

/// An entry that does not count.
#[derive(Debug, Clone, PartialEq)]
pub struct StrikeRecord {
    /// The entry.
    pub struck: Stamp,
    /// Its kind: `reading`.
    pub kind: String,
    /// What it said.
    pub said: String,
    /// Why it does not count.
    pub why: String,
    /// The entry that strikes it.
    pub by: Stamp,
}

/// What the alignment shop is to reach, and how the car stands.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Alignment {
    /// The load for which trim, camber and toe are stated.
    pub load: Option<String>,
    /// What is wanted of each wheel, what was found before and what was read last.
    pub rows: Vec<AlignmentRow>,
    /// What moving the arm on its plate does: the findings `mark.rate`.
    pub rates: Vec<Finding>,
    /// Throw of an eccentric, each way, as written.
    pub throw: Option<Said>,
}

/// One figure of one wheel.
#[derive(Debug, Clone, PartialEq)]
pub struct AlignmentRow {
    /// `camber`, `toe`, `trim` or `corner weight`.
    pub what: &'static str,
    /// Which wheel.
    pub corner: Corner,
    /// What the manual wants, with its page.
    pub wanted: Option<(String, String)>,
    /// Before strip-down.
    pub before: Option<Said>,
    /// Read last.
    pub last: Option<Said>,
}

/// What is still open.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Open {
    /// Hold points, joints and the job without a signature.
    pub unsigned: Vec<Gap>,
    /// Bolts that are not at their torque.
    pub untorqued: Vec<Gap>,
    /// What was to be read and was not.
    pub unread: Vec<Gap>,
    /// Parts that are away.
    pub away: Vec<Gap>,
}

/// How many entries there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// All of them.
    pub entries: u64,
    /// Those that are struck, strikes of strikes included.
    pub struck: u64,
    /// Those that this version cannot read.
    pub unread: u64,
    /// Those that count and make no sense.
    pub unfolded: u64,
}

/// What a book has recorded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Record {
    /// The car's build number, if it has one.
    pub build_number: Option<u32>,
    /// The first entry.
    pub first: Option<Stamp>,
    /// The last entry.
    pub last: Option<Stamp>,
    /// Everybody who wrote in it, in the order in which they came.
    pub writers: Vec<String>,
    /// How many entries.
    pub counts: Counts,
    /// The number and the hash of the last line, which seals all lines before it.
    pub head: Option<(u64, String)>,
    /// Car files that were loaded, the current one last.
    pub car_files: Vec<Stamp>,
    /// What was read, then and now.
    pub readings: Vec<ReadingLine>,
    /// Fits of the bars, left first.
    pub attempts: Vec<SideAttempts>,
    /// Joints, in the order of the car file.
    pub joints: Vec<JointRecord>,
    /// Parts: those of the car file in its order, then those the log alone knows.
    pub parts: Vec<PartRecord>,
    /// Witness marks by name.
    pub marks: Vec<MarkRecord>,
    /// Steps, in the order of the car file.
    pub steps: Vec<StepRecord>,
    /// Minutes against estimates.
    pub minutes: Minutes,
    /// Every signature, in order.
    pub signatures: Vec<Signature>,
    /// Rounds on the wheels, the oldest first.
    pub rounds: Vec<RoundRecord>,
    /// Re-checks by what is looked at.
    pub rechecks: Vec<RecheckRecord>,
    /// How far the car has come since hand-over, in kilometres.
    pub came_km: Option<u32>,
    /// Notes: what each is about, and the words.
    pub notes: Vec<(String, Happened)>,
    /// Photos that belong to no mark, by what they show.
    pub photos: Vec<PhotoRecord>,
    /// The hand-over to the alignment shop.
    pub alignment: Alignment,
    /// Entries that do not count.
    pub strikes: Vec<StrikeRecord>,
    /// Entries that count and make no sense, with the reason.
    pub unfolded: Vec<(u64, String)>,
    /// What is still open.
    pub open: Open,
}

/// What is figured of a car, for the rules of what may be written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figured;

impl Figures for Figured {
    fn asked(&self, car: &CarFile, joint: &Joint) -> Option<Asked> {
        crate::joints::asked(car, joint)
    }

    fn forbids(&self, car: &CarFile, joint: &Joint, now: &JointState) -> Vec<String> {
        crate::joints::forbids(car, joint, now)
    }

    fn unread(&self, state: &State, car: &CarFile, before: u64) -> Vec<String> {
        wheels::unread(Book { state, car, found: &Assessment::default() }, before)
    }
}

/// What a record is made from.
#[derive(Clone, Copy)]
struct Book<'a> {
    state: &'a State,
    car: &'a CarFile,
    found: &'a Assessment,
}

/// The fits of each bar, as the record has them, without the rest of it.
pub fn attempts(state: &State, car: &CarFile, found: &Assessment) -> Vec<SideAttempts> {
    attempts::sides(Book { state, car, found })
}

/// Who has signed a step, a joint, or the [`JOB`], without the rest of the record.
pub fn signed(state: &State, car: &CarFile, found: &Assessment, of: &str) -> Vec<Signature> {
    steps::signed(Book { state, car, found }, of)
}

/// What is still open, without the rest of the record: a log of years is not gone through for it.
pub fn still_open(state: &State, car: &CarFile, found: &Assessment) -> Open {
    let book = Book { state, car, found };
    let record = Record {
        joints: joints::joints(book),
        parts: parts::places(book),
        steps: steps::steps(book),
        signatures: steps::signatures(book),
        alignment: wheels::alignment(book, &readings::holding(book)),
        ..Record::default()
    };
    open::open(book, &record)
}

impl Record {
    /// What a book has recorded. `car` is [`State::car`]'s, `found` what follows from it, `head`
    /// the hash of the last line of the log, where it is known.
    pub fn of(state: &State, car: &CarFile, found: &Assessment, head: Option<Sha>) -> Self {
        let book = Book { state, car, found };
        let counting = || {
            let all = state.entries().iter();
            all.map(AsRef::as_ref).filter(|entry| state.struck_by(entry.seq).is_none())
        };
        let mut record = Self {
            build_number: car.build_number.as_ref().map(|number| number.value),
            first: counting().next().map(Stamp::of),
            last: counting().last().map(Stamp::of),
            writers: writers(counting()),
            counts: Counts {
                entries: count(state.entries().len()),
                struck: count(state.struck().len()),
                unread: count(counting().filter(|e| matches!(e.body, Body::Unread(_))).count()),
                unfolded: count(state.unfolded().count()),
            },
            head: head.map(|sha| (state.last_seq(), sha.to_string())),
            car_files: book.stamps(&state.facts().car_files),
            readings: readings::lines(book),
            attempts: attempts::sides(book),
            joints: joints::joints(book),
            parts: parts::parts(book),
            marks: parts::marks(book),
            steps: steps::steps(book),
            signatures: steps::signatures(book),
            rounds: wheels::rounds(book),
            rechecks: wheels::rechecks(book),
            came_km: state.facts().came_km.map(|(km, _)| km),
            notes: strikes::notes(book),
            photos: parts::photos(book),
            strikes: strikes::strikes(book),
            unfolded: state.unfolded().map(|one| (one.seq, one.why.clone())).collect(),
            ..Self::default()
        };
        record.minutes = steps::minutes(&record.steps);
        record.alignment = wheels::alignment(book, &record.readings);
        record.open = open::open(book, &record);
        record
    }
}

fn count(number: usize) -> u64 {
    u64::try_from(number).unwrap_or(u64::MAX)
}

fn writers<'a>(entries: impl Iterator<Item = &'a Entry>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for entry in entries {
        if !all.contains(&entry.by) {
            all.push(entry.by.clone());
        }
    }
    all
}

impl Stamp {
    /// Of an entry of the log.
    fn of(entry: &Entry) -> Self {
        Self {
            origin: Origin::Entry(entry.seq),
            day: entry.day().map(str::to_owned),
            at: Some(entry.at.clone()),
            by: Some(entry.by.clone()),
        }
    }

    /// With the day on which it was done, where that was written.
    fn done_on(self, day: Option<&str>) -> Self {
        Self { day: day.map(str::to_owned).or(self.day), ..self }
    }

    /// The number of its entry.
    pub const fn seq(&self) -> Option<u64> {
        match self.origin {
            Origin::Entry(seq) => Some(seq),
            Origin::Line(_) => None,
        }
    }
}

impl<'a> Book<'a> {
    /// Whoever says how a signature stands.
    fn judge(self) -> Option<Judge<'a>> {
        Judge::of(self.state, &Figured)
    }

    fn stamp(self, seq: u64) -> Option<Stamp> {
        self.state.entry(seq).map(Stamp::of)
    }

    fn stamps(self, seqs: &[u64]) -> Vec<Stamp> {
        seqs.iter().filter_map(|seq| self.stamp(*seq)).collect()
    }

    /// Of a row, in the log or in the car file.
    fn stamp_at(self, origin: Origin, day: Option<&str>) -> Stamp {
        let of_entry = match origin {
            Origin::Entry(seq) => self.stamp(seq),
            Origin::Line(_) => None,
        };
        of_entry.unwrap_or(Stamp { origin, day: None, at: None, by: None }).done_on(day)
    }

    fn body(self, seq: u64) -> Option<&'a Body> {
        self.state.entry(seq).map(|entry| &entry.body)
    }

    /// What people call a thing that an entry names: a step, joint, part, or the words themselves.
    fn called(self, id: &str) -> String {
        let part = || self.car.part(id).map(|_| parts::name(self, id));
        let step = || self.car.step(id).map(steps::title);
        let joint = || self.car.joint(id).map(|_| joints::name(self, id));
        part().or_else(joint).or_else(step).unwrap_or_else(|| id.trim().to_owned())
    }
}

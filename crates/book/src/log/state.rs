//! What the entries of a log come to.
//!
//! ```text
//!   entries ──(without those that are struck)──→ form ──→ facts
//!      1 2 3 4 …        strike: an entry that       │
//!                       makes another one not       └──→ unfolded: what makes no sense,
//!                       count; may be struck too                   with the reason
//! ```
//!
//! The facts hold numbers of entries and what follows from them; words and figures stay in the
//! entries. What the facts are does not depend on the car file, so that a car file can be changed
//! or struck without anything else being lost. A struck entry changes nothing: the facts are those
//! of the log without it.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Arc, OnceLock};

use axlewright_quantity::{Corner, Side};

use super::Entry;
use super::body::{
    Attempt, Body, Energy, Mark, Part, PartHappened, Recheck, Round, Step, StepHappened,
};
use super::form::{self, Form, OfRound, ReadingKey, Spot, What};
use crate::calendar::Day;
use crate::car_file::CarFile;
use crate::problem::Problem;
use crate::words::{PartState, ReadingWhat, Recall};

/// A log, and what it comes to.
#[derive(Debug, Clone, Default)]
pub struct State {
    log: Vec<Arc<Entry>>,
    struck: BTreeMap<u64, u64>,
    facts: Facts,
    /// Entries whose number is not greater than that of one before them.
    stray: Vec<Unfolded>,
    /// The current car file, read when it is first asked for.
    file: OnceLock<Option<Arc<LoadedFile>>>,
}

/// A car file that was loaded, as it reads without the log.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadedFile {
    /// The entry that holds its text.
    pub seq: u64,
    /// What is in it.
    pub car: CarFile,
    /// What is wrong with it.
    pub problems: Vec<Problem>,
}

/// What follows from the entries that count. Lists of entries are in the order of the log.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// Car files loaded; the last is the current one.
    pub car_files: Vec<u64>,
    /// What was read of each thing; the last reading is the one that holds. Rounds and attempts
    /// are among them.
    pub readings: BTreeMap<ReadingKey, Vec<u64>>,
    /// The life of each part.
    pub parts: BTreeMap<String, PartLife>,
    /// Witness marks by name.
    pub marks: BTreeMap<String, MarkLife>,
    /// Photos by what they show.
    pub photos: BTreeMap<String, Vec<u64>>,
    /// Steps that were begun, done or backed out of.
    pub steps: BTreeMap<String, StepLife>,
    /// Who signed what, by what was signed.
    pub signed: BTreeMap<String, Vec<u64>>,
    /// What was done to each bolt, by joint and number.
    pub bolts: BTreeMap<String, BTreeMap<u32, Vec<u64>>>,
    /// Fits of each bar.
    pub attempts: BTreeMap<Side, Vec<AttemptAt>>,
    /// Rounds on the wheels.
    pub rounds: Vec<u64>,
    /// Corrections on the wheels.
    pub moves: Vec<u64>,
    /// Re-checks by what is looked at.
    pub rechecks: BTreeMap<String, RecheckLife>,
    /// How far the car has come since hand-over, in kilometres, and the entry that says so.
    pub came_km: Option<(u32, u64)>,
    /// Sides whose bar nobody remembers, with the entry that says so.
    pub not_remembered: BTreeMap<Side, u64>,
    /// Notes.
    pub notes: Vec<u64>,
    /// Entries that count and make no sense.
    pub unfolded: Vec<Unfolded>,
    /// Marks by the parts under them; by `plate of left` those over whatever plate is there.
    marks_of_part: BTreeMap<String, BTreeSet<String>>,
}

/// An entry that could not be folded.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfolded {
    /// Which.
    pub seq: u64,
    /// Why, and what would be right.
    pub why: String,
}

/// What became of a part.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PartLife {
    /// Its name, where an entry gave one.
    pub name: Option<String>,
    /// Everything that happened to it.
    pub events: Vec<u64>,
    /// Where it is now, as far as the log says.
    pub place: Option<PartState>,
    /// The entry that says where it is.
    pub since: Option<u64>,
    /// The entry that fitted it, while it is fitted.
    pub fitted: Option<u64>,
    /// The side it is fitted to, if said.
    pub side: Option<Side>,
    /// The last inspection.
    pub inspected: Option<u64>,
    /// What was decided last: kept, refinished or replaced.
    pub fate: Option<(PartHappened, u64)>,
    /// When it is expected, while it is away.
    pub due: Option<Day>,
}

/// What became of a witness mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkLife {
    /// The two parts it joins.
    pub between: [String; 2],
    /// Other parts that it crosses.
    pub also: Vec<String>,
    /// Plates that it tells of besides, by the kinds of parts; nothing where no kinds were said.
    pub over: Option<Vec<String>>,
    /// Which side of the car, if said.
    pub side: Option<Side>,
    /// The entry that made it.
    pub made: u64,
    /// Everything said of it since, and before if it was made anew.
    pub events: Vec<u64>,
    /// The entry with its offset on return.
    pub offset: Option<u64>,
    /// Why it tells nothing any more.
    pub void: Option<Void>,
}

/// A mark is void: a part under it was replaced or worked on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Void {
    /// The part.
    pub part: String,
    /// What happened to it: [`PartHappened::Replaced`] or [`PartHappened::Refinished`].
    pub happened: PartHappened,
    /// The entry that says so.
    pub seq: u64,
}

impl Void {
    /// `replaced`, or `refinished`.
    pub const fn word(&self) -> &'static str {
        match self.happened {
            PartHappened::Refinished => "refinished",
            _ => "replaced",
        }
    }
}

impl MarkLife {
    /// Whether a part is under it: one that it joins or crosses; of a mark on an eccentric, the
    /// plate of that side too, against which the eccentric holds the arm. Where the kinds of the
    /// parts were not said when it was made, the words `eccentric` and `plate` in the ids tell.
    pub fn crosses(&self, part: &str) -> bool {
        let named = self.between.iter().chain(&self.also).any(|joined| joined == part);
        if let Some(over) = &self.over {
            return named || over.iter().any(|plate| plate == part);
        }
        let eccentric = self.between.iter().find(|id| has_word(id, "eccentric"));
        named
            || eccentric
                .is_some_and(|one| has_word(part, "plate") && plate_of(one) == plate_of(part))
    }
}

/// Where marks are kept that lie over the plate on the side of a part. No id has blanks.
fn plate_of(id: &str) -> String {
    format!("plate of {}", id.rsplit('-').next().unwrap_or_default())
}

/// Whether a word stands in an id.
fn has_word(id: &str, word: &str) -> bool {
    id.split(|letter: char| !letter.is_alphanumeric()).any(|one| one.eq_ignore_ascii_case(word))
}

/// What became of a step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepLife {
    /// Everything that happened to it.
    pub events: Vec<u64>,
    /// What happened last.
    pub now: StepHappened,
    /// The entry that says so.
    pub since: u64,
    /// Minutes it took, all times together, as far as they were timed.
    pub minutes: Option<u32>,
}

/// A fit of a bar, with the teeth counted through from the first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttemptAt {
    /// The entry.
    pub seq: u64,
    /// Teeth at the anchor, all moves added up, tail down positive.
    pub anchor_moved: i64,
    /// Teeth at the plate, all moves added up, tail down positive.
    pub plate_moved: i64,
    /// Where the anchor's paint mark was counted last.
    pub anchor_at: Option<Tooth>,
    /// Where the plate's paint mark was counted last.
    pub plate_at: Option<Tooth>,
}

/// A tooth that was counted against a paint mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tooth {
    /// The tooth.
    pub counted: u32,
    /// The entry in which it was counted.
    pub seq: u64,
    /// Teeth moved since, tail down positive.
    pub moved_since: i64,
}

/// A re-check: when it is due, when it was done. In kilometres since hand-over, by distance.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RecheckLife {
    /// When it is due, and the entries that say so.
    pub due: Vec<(u32, u64)>,
    /// When it was done, and the entries that say so.
    pub done: Vec<(u32, u64)>,
}

impl RecheckLife {
    /// The distances at which it is still to be done. Each time it was done answers for every one
    /// that was due by then; done early, for the next.
    pub fn open(&self) -> Vec<u32> {
        let mut open: Vec<u32> = self.due.iter().map(|(km, _)| *km).collect();
        for (done, _) in &self.done {
            let due_by_then = open.iter().take_while(|km| *km <= done).count();
            open.drain(..due_by_then.max(1).min(open.len()));
        }
        open
    }
}

impl PartialEq for State {
    fn eq(&self, other: &Self) -> bool {
        (&self.log, &self.struck, &self.facts, &self.stray)
            == (&other.log, &other.struck, &other.facts, &other.stray)
    }
}

/// What a log comes to. Entries come in the order of the log.
///
/// # Valid for
/// Any entries; what makes no sense is in [`State::unfolded`].
pub fn fold<E: Into<Arc<Entry>>>(entries: impl IntoIterator<Item = E>) -> State {
    let mut state = State::default();
    for entry in entries {
        state.keep(entry.into());
    }
    state.refold();
    state
}

impl State {
    /// The state after one more entry. A strike folds the whole log anew.
    pub fn after(&mut self, entry: impl Into<Arc<Entry>>) {
        let entry = entry.into();
        if !self.keep(Arc::clone(&entry)) {
            return;
        }
        if matches!(entry.body, Body::Strike { .. }) {
            self.refold();
        } else {
            self.facts.add(&entry);
            if matches!(entry.body, Body::CarFile { .. }) {
                self.file = OnceLock::new();
            }
        }
    }

    /// Folds the whole log anew: what [`Self::after`] does at a strike.
    pub fn refold(&mut self) {
        let was = self.facts.car_files.last().copied();
        self.strike();
        self.facts = Facts::default();
        for entry in &self.log {
            if self.struck.contains_key(&entry.seq) {
                continue;
            }
            self.facts.add(entry);
            if let Body::Strike { seq, .. } = &entry.body
                && (entry.seq <= *seq || self.entry(*seq).is_none())
            {
                let why = format!("it strikes entry {seq}, and there was none before it");
                self.facts.unfolded.push(Unfolded { seq: entry.seq, why });
            }
        }
        if was != self.facts.car_files.last().copied() {
            self.file = OnceLock::new();
        }
    }

    /// Every entry, struck ones too, in order.
    pub fn entries(&self) -> &[Arc<Entry>] {
        &self.log
    }

    /// The entry of that number.
    pub fn entry(&self, seq: u64) -> Option<&Entry> {
        // In a whole log the entry of number n is the n-th.
        let straight = usize::try_from(seq).ok().and_then(|n| self.log.get(n.checked_sub(1)?));
        let found = straight.filter(|entry| entry.seq == seq).or_else(|| {
            let at = self.log.binary_search_by_key(&seq, |entry| entry.seq).ok()?;
            self.log.get(at)
        });
        found.map(AsRef::as_ref)
    }

    /// The number of the last entry; 0 if there is none.
    pub fn last_seq(&self) -> u64 {
        self.log.last().map_or(0, |entry| entry.seq)
    }

    /// The entry that strikes this one, if it does not count.
    pub fn struck_by(&self, seq: u64) -> Option<u64> {
        self.struck.get(&seq).copied()
    }

    /// Every entry that does not count, with the one that strikes it.
    pub const fn struck(&self) -> &BTreeMap<u64, u64> {
        &self.struck
    }

    /// What follows from the entries that count.
    pub const fn facts(&self) -> &Facts {
        &self.facts
    }

    /// Entries that could not be folded, with the reason.
    pub fn unfolded(&self) -> impl Iterator<Item = &Unfolded> {
        self.facts.unfolded.iter().chain(&self.stray)
    }

    /// The text of the current car file.
    pub fn car_text(&self) -> Option<&str> {
        self.text_of(*self.facts.car_files.last()?)
    }

    /// Every car file that was loaded and counts, the current one last.
    pub fn car_texts(&self) -> impl Iterator<Item = (u64, &str)> {
        let texts = self.facts.car_files.iter();
        texts.filter_map(|seq| Some((*seq, self.text_of(*seq)?)))
    }

    /// The current car file, as it reads without the log.
    pub fn file(&self) -> Option<&LoadedFile> {
        let read = || {
            let (seq, text) = (*self.facts.car_files.last()?, self.car_text()?);
            let (car, problems) = crate::read(text);
            Some(Arc::new(LoadedFile { seq, car, problems }))
        };
        self.file.get_or_init(read).as_deref()
    }

    /// The reading that holds for a key: the last one.
    pub fn reading(&self, key: &ReadingKey) -> Option<ReadingAt<'_>> {
        self.reading_at(key, *self.facts.readings.get(key)?.last()?)
    }

    /// Every reading for a key, the one that holds last.
    pub fn readings_of(&self, key: &ReadingKey) -> impl Iterator<Item = ReadingAt<'_>> {
        let all = self.facts.readings.get(key).into_iter().flatten();
        all.filter_map(|seq| self.reading_at(key, *seq))
    }

    /// Ids of the steps that are done, in the order in which they were.
    pub fn steps_done(&self) -> Vec<&str> {
        let done = self.facts.steps.iter().filter(|(_, step)| step.now == StepHappened::Done);
        let mut done: Vec<(u64, &str)> = done.map(|(id, step)| (step.since, id.as_str())).collect();
        done.sort_unstable();
        done.into_iter().map(|(_, id)| id).collect()
    }

    /// The same with those that were given up: no work is left in either.
    pub(super) fn steps_settled(&self) -> Vec<&str> {
        let settled =
            |life: &StepLife| matches!(life.now, StepHappened::Done | StepHappened::Waived);
        let all = self.facts.steps.iter().filter(|(_, life)| settled(life));
        let mut all: Vec<(u64, &str)> = all.map(|(id, life)| (life.since, id.as_str())).collect();
        all.sort_unstable();
        all.into_iter().map(|(_, id)| id).collect()
    }

    /// Re-checks that are still to be done: the distance, and what is looked at; nearest first.
    pub fn rechecks_open(&self) -> Vec<(u32, &str)> {
        let all = self.facts.rechecks.iter();
        let mut open: Vec<(u32, &str)> = all
            .flat_map(|(what, life)| life.open().into_iter().map(|km| (km, what.as_str())))
            .collect();
        open.sort_unstable();
        open
    }

    fn text_of(&self, seq: u64) -> Option<&str> {
        match &self.entry(seq)?.body {
            Body::CarFile { text } => Some(text),
            _ => None,
        }
    }

    /// The reading for a key that an entry holds; nothing if it holds none.
    pub fn reading_at<'a>(&'a self, key: &ReadingKey, seq: u64) -> Option<ReadingAt<'a>> {
        let entry = self.entry(seq)?;
        let value = match &entry.body {
            Body::Reading(reading) => reading.value.as_str(),
            Body::Attempt(attempt) => attempt.reading.value.as_str(),
            Body::Round(round) => of_round(round, key)?,
            _ => return None,
        };
        Some(ReadingAt { entry, value })
    }

    /// Takes an entry in; nothing if its number does not follow.
    fn keep(&mut self, entry: Arc<Entry>) -> bool {
        let last = self.last_seq();
        if entry.seq <= last {
            let seq = entry.seq;
            let why = format!("its number does not follow {last}; the log is to be verified");
            self.stray.push(Unfolded { seq, why });
            return false;
        }
        self.log.push(entry);
        true
    }

    /// Which entries do not count. A strike is always later than what it strikes, so that going
    /// back from the end each strike is known to count, or not, before what it strikes is met.
    fn strike(&mut self) {
        self.struck.clear();
        for entry in self.log.iter().rev() {
            let Body::Strike { seq, .. } = &entry.body else { continue };
            if *seq < entry.seq
                && !self.struck.contains_key(&entry.seq)
                && form::form(&entry.body).is_ok()
            {
                self.struck.entry(*seq).or_insert(entry.seq);
            }
        }
        let mut struck = std::mem::take(&mut self.struck);
        struck.retain(|seq, _| self.entry(*seq).is_some());
        self.struck = struck;
    }
}

/// A reading of the log: a reading's, an attempt's or a round's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReadingAt<'a> {
    /// The entry it stands in.
    pub entry: &'a Entry,
    /// As shown, with its unit.
    pub value: &'a str,
}

/// The figure of a round that belongs to a key.
fn of_round<'a>(round: &'a Round, key: &ReadingKey) -> Option<&'a str> {
    let Spot::Corner(corner) = key.spot else { return None };
    let mut maps = form::of_round(round).into_iter();
    let (.., map) = maps.find(|(_, what, _)| What::Known(*what) == key.what)?;
    let mut figures = map.iter();
    let found = figures.find(|(at, _)| crate::read::corner_from(at.trim()) == Some(corner))?;
    Some(found.1)
}

impl Facts {
    /// One more entry that counts.
    fn add(&mut self, entry: &Entry) {
        let seq = entry.seq;
        let form = match form::form(&entry.body) {
            Ok(form) => form,
            Err(refusal) => {
                self.unfolded.push(Unfolded { seq, why: refusal.to_string() });
                return;
            }
        };
        match (&entry.body, form) {
            (Body::Attempt(attempt), Form::Attempt(side, read)) => {
                self.readings.entry(read.key).or_default().push(seq);
                self.attempt(attempt, side, seq);
            }
            (Body::Round(round), Form::Round(figures)) => self.round(round, figures, seq),
            (_, Form::Reading(read)) => self.readings.entry(read.key).or_default().push(seq),
            (body, _) => self.plain(body, seq),
        }
    }

    fn plain(&mut self, body: &Body, seq: u64) {
        match body {
            Body::CarFile { .. } => self.car_files.push(seq),
            Body::Part(part) => self.part(part, seq),
            Body::Mark(mark) => self.mark(mark, seq),
            Body::Photo(photo) => of(&mut self.photos, photo.of.trim()).push(seq),
            Body::Step(step) => self.step(step, seq),
            Body::Signed(signed) => of(&mut self.signed, signed.of.trim()).push(seq),
            Body::Bolt(bolt) => {
                of(&mut self.bolts, &bolt.joint).entry(bolt.bolt).or_default().push(seq);
            }
            Body::Moved(_) => self.moves.push(seq),
            Body::Recheck(recheck) => self.recheck(recheck, seq),
            Body::Energy(energy) => self.energy(energy, seq),
            Body::Note { .. } => self.notes.push(seq),
            Body::Lost(lost) => {
                let why = format!("it was lost: {}; what it said is not known here", lost.what);
                self.unfolded.push(Unfolded { seq, why });
            }
            // A strike that counts is in the state's list. An unread body has no form, and what is
            // read has its own.
            Body::Strike { .. }
            | Body::Unread(_)
            | Body::Reading(_)
            | Body::Attempt(_)
            | Body::Round(_) => {}
        }
    }

    /// What was said last of a side holds.
    fn energy(&mut self, energy: &Energy, seq: u64) {
        let side = energy.side.as_deref().and_then(|side| form::side("side", side).ok());
        let sides = side.map_or(Side::BOTH.to_vec(), |side| vec![side]);
        for side in sides {
            match Recall::from_word(&energy.said) {
                Some(Recall::AsTold) => drop(self.not_remembered.remove(&side)),
                // Whatever else it were, it is not known to be unloaded.
                Some(Recall::NotRemembered) | None => {
                    self.not_remembered.insert(side, seq);
                }
            }
        }
    }

    fn part(&mut self, part: &Part, seq: u64) {
        let life = of(&mut self.parts, &part.part);
        life.events.push(seq);
        if part.name.is_some() {
            life.name.clone_from(&part.name);
        }
        match part.happened {
            PartHappened::Ordered | PartHappened::Due => {
                life.moved_to(PartState::Out, seq);
                life.due = part.due.as_deref().and_then(Day::parse).or(life.due);
            }
            PartHappened::Tagged | PartHappened::Arrived | PartHappened::Removed => {
                life.moved_to(PartState::OnTheBench, seq);
            }
            PartHappened::Fitted => {
                life.moved_to(PartState::Fitted, seq);
                life.fitted = Some(seq);
                life.side = part.side.as_deref().and_then(|side| form::side("side", side).ok());
            }
            PartHappened::Inspected => life.inspected = Some(seq),
            PartHappened::Refinished => {
                life.moved_to(PartState::OnTheBench, seq);
                life.fate = Some((part.happened, seq));
                self.void(part, seq);
            }
            PartHappened::Kept => life.fate = Some((part.happened, seq)),
            PartHappened::Replaced => {
                life.fate = Some((part.happened, seq));
                self.void(part, seq);
            }
        }
    }

    /// Marks over a part tell nothing once it is replaced, or stripped and coated anew: the paint
    /// is gone with what it stood on.
    fn void(&mut self, part: &Part, seq: u64) {
        let (id, happened) = (part.part.as_str(), part.happened);
        let plate = has_word(id, "plate").then(|| plate_of(id));
        let over = [Some(id), plate.as_deref()].into_iter().flatten();
        let over = over.filter_map(|key| self.marks_of_part.get(key)).flatten();
        for mark in over {
            let Some(life) = self.marks.get_mut(mark) else { continue };
            if life.void.is_none() && life.crosses(id) {
                life.void = Some(Void { part: id.to_owned(), happened, seq });
            }
        }
    }

    fn mark(&mut self, mark: &Mark, seq: u64) {
        let name = named(&mark.mark);
        let refused = match (&mark.offset, self.marks.get_mut(&name)) {
            (None, old) => {
                let mut events = old.map(|old| std::mem::take(&mut old.events)).unwrap_or_default();
                events.push(seq);
                let side = mark.side.as_deref().and_then(|side| form::side("side", side).ok());
                let (between, also) = (mark.between.clone(), mark.also.clone());
                let by_words = mark.over.is_none();
                let plate = between.iter().find(|id| by_words && has_word(id, "eccentric"));
                let over = mark.over.clone();
                let under = between.iter().chain(&also).chain(over.iter().flatten()).cloned();
                for key in under.chain(plate.map(|id| plate_of(id))) {
                    of(&mut self.marks_of_part, &key).insert(name.clone());
                }
                let (offset, void) = (None, None);
                let made = seq;
                let life = MarkLife { between, also, over, side, made, events, offset, void };
                self.marks.insert(name, life);
                return;
            }
            (Some(_), None) => format!("no mark is called `{name}`; it is made before it is read"),
            (Some(_), Some(life)) => match &life.void {
                Some(void) => void_words(&name, void),
                None => {
                    life.events.push(seq);
                    life.offset = Some(seq);
                    return;
                }
            },
        };
        self.unfolded.push(Unfolded { seq, why: refused });
    }

    fn step(&mut self, step: &Step, seq: u64) {
        let life = self.steps.entry(step.step.clone()).or_insert_with(|| StepLife {
            events: Vec::new(),
            now: step.happened,
            since: seq,
            minutes: None,
        });
        life.events.push(seq);
        (life.now, life.since) = (step.happened, seq);
        if let Some(minutes) = step.minutes {
            life.minutes = Some(life.minutes.unwrap_or(0).saturating_add(minutes));
        }
    }

    fn attempt(&mut self, attempt: &Attempt, side: Side, seq: u64) {
        let all = self.attempts.entry(side).or_default();
        let last = all.last();
        let (anchor, plate) = (i64::from(attempt.anchor_teeth), i64::from(attempt.plate_teeth));
        let at = |counted: Option<u32>, before: Option<Tooth>, moved: i64| match counted {
            Some(counted) => Some(Tooth { counted, seq, moved_since: 0 }),
            None => before.map(|tooth| Tooth {
                moved_since: tooth.moved_since.saturating_add(moved),
                ..tooth
            }),
        };
        let next = AttemptAt {
            seq,
            anchor_moved: last.map_or(0, |last| last.anchor_moved).saturating_add(anchor),
            plate_moved: last.map_or(0, |last| last.plate_moved).saturating_add(plate),
            anchor_at: at(attempt.anchor_at, last.and_then(|last| last.anchor_at), anchor),
            plate_at: at(attempt.plate_at, last.and_then(|last| last.plate_at), plate),
        };
        all.push(next);
    }

    fn round(&mut self, round: &Round, figures: Vec<OfRound>, seq: u64) {
        self.rounds.push(seq);
        let stage = form::stage_of(round).map(str::to_owned);
        for figure in figures {
            let key = key_of(figure.what, figure.corner, stage.clone());
            self.readings.entry(key).or_default().push(seq);
        }
    }

    fn recheck(&mut self, recheck: &Recheck, seq: u64) {
        let what = named(&recheck.what);
        if let Some(km) = recheck.done_km
            && self.came_km.is_none_or(|(far, _)| far < km)
        {
            self.came_km = Some((km, seq));
        }
        if what.is_empty() {
            return;
        }
        let life = self.rechecks.entry(what).or_default();
        for (list, km) in [(&mut life.due, recheck.due_km), (&mut life.done, recheck.done_km)] {
            let Some(km) = km else { continue };
            let at = list.partition_point(|one| *one <= (km, seq));
            list.insert(at, (km, seq));
        }
    }
}

impl PartLife {
    fn moved_to(&mut self, place: PartState, seq: u64) {
        (self.place, self.since) = (Some(place), Some(seq));
        if place != PartState::Fitted {
            (self.fitted, self.side) = (None, None);
        }
        if place != PartState::Out {
            self.due = None;
        }
    }
}

/// The key of a reading at a wheel.
pub(super) const fn key_of(what: ReadingWhat, corner: Corner, stage: Option<String>) -> ReadingKey {
    ReadingKey { what: What::Known(what), spot: Spot::Corner(corner), stage }
}

/// Why a mark tells nothing any more.
pub(super) fn void_words(name: &str, void: &Void) -> String {
    let Void { part, seq, .. } = void;
    format!("the mark `{name}` is void: `{part}` was {} (entry {seq})", void.word())
}

/// What a map holds for a name.
fn of<'m, T: Default>(map: &'m mut BTreeMap<String, T>, name: &str) -> &'m mut T {
    map.entry(name.to_owned()).or_default()
}

/// A name without blanks round it.
fn named(name: &str) -> String {
    name.trim().to_owned()
}

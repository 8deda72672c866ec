//! Whether an entry may be written: asked before, never after.
//!
//! What stands in the log is folded whatever the car file says later. What is to be written is held
//! against what is known at that moment: the ids of the car file, the sides of parts, what is
//! fitted, torqued, done, void or struck already.

use std::collections::BTreeSet;

use axlewright_quantity::{Side, Torque};

use super::body::{
    self, Attempt, Body, Mark, Part, PartHappened, Recheck, Signed, Step, StepHappened,
};
use super::figures::Figures;
use super::form;
use super::refusal::Refusal;
use super::signing::{JOB, Judge, NOW, StillOpen, joint_at, open_in_words};
use super::state::{State, void_words};
use super::torque::{Asked, position_refused};
use crate::car_file::{CarFile, FORMAT};
use crate::field::Field;
use crate::joint::Joint;
use crate::problem::{ProblemKind, cut};
use crate::read::closest_to;
use crate::step::Step as StepRow;
use crate::words::{BoltState, PartKind, PartState};

/// Whether a body may be written after what is in the log; if not, at which field it fails, why,
/// and what would be right. This is the one place that refuses; command line and page ask it.
///
/// # Errors
/// The first thing that is wrong.
pub fn check(state: &State, body: &Body, figures: &dyn Figures) -> Result<(), Refusal> {
    form::form(body)?;
    plain_text(body)?;
    let (car, judge) = (state.file().map(|file| &file.car), Judge::of(state, figures));
    let look = Look { state, car, judge };
    match body {
        Body::CarFile { text } => look.car_file(text),
        Body::Part(part) => look.part(part),
        Body::Mark(mark) => look.mark(mark),
        Body::Step(step) => look.step(step),
        Body::Signed(signed) => look.signed(signed),
        Body::Bolt(bolt) => look.bolt(bolt),
        Body::Attempt(attempt) => look.attempt(attempt),
        Body::Recheck(recheck) => look.recheck(recheck),
        Body::Strike { seq, .. } => look.strike(*seq),
        Body::Photo(photo) => look.photo(photo),
        Body::Reading(_)
        | Body::Round(_)
        | Body::Moved(_)
        | Body::Energy(_)
        | Body::Note { .. } => Ok(()),
        Body::Lost(_) => {
            let what = "an entry is not written as one that was lost";
            Err(Refusal::new("kind", what, "strike the entry that does not count any more"))
        }
        // It has no form, so it does not come here.
        Body::Unread(_) => Ok(()),
    }
}

/// A body with what the car file adds to it when it is written: under a mark that is made on an
/// eccentric lies the plate of its side as well. Where the car file does not say the kinds of these
/// parts, nothing is added.
pub fn completed(state: &State, mut body: Body) -> Body {
    if let Body::Mark(mark) = &mut body
        && mark.offset.is_none()
        && let Some(file) = state.file()
    {
        mark.over = plates_under(&file.car, mark);
    }
    body
}

/// The plates that a mark tells of beside the parts it joins; nothing where kinds are not said.
fn plates_under(car: &CarFile, mark: &Mark) -> Option<Vec<String>> {
    let joined: Vec<_> = mark.between.iter().filter_map(|id| car.part(id)).collect();
    let is_said = joined.len() == mark.between.len() && joined.iter().all(|p| p.kind.is_some());
    let eccentric = joined.iter().find(|part| part.kind == Some(PartKind::Eccentric));
    let Some(eccentric) = eccentric.filter(|_| is_said) else {
        return is_said.then(Vec::new);
    };
    let is_of = |side| eccentric.side.is_none() || side == eccentric.side;
    let plates = car.parts.iter().filter(|part| part.kind == Some(PartKind::Plate));
    let plates: Vec<String> =
        plates.filter(|part| is_of(part.side)).map(|part| part.id.value.clone()).collect();
    (!plates.is_empty()).then_some(plates)
}

/// What is to be told of a body that may be written and is not as asked: a torque that list and
/// wrench do not give. It is what happened, so it is kept; it brings nothing to its torque.
pub fn answer(state: &State, body: &Body, figures: &dyn Figures) -> Option<String> {
    let Body::Bolt(bolt) = body else { return None };
    let read = form::bolt(bolt).ok()?;
    let value = read.value.as_ref().filter(|_| BoltState::Torqued <= read.state)?;
    let car = &state.file()?.car;
    let asked = figures.asked(car, car.joint(&bolt.joint)?)?;
    let got = Torque::try_from(value.amount).ok()?;
    asked.fault(Some((&value.text, got))).map(|fault| fault.words)
}

/// Refuses what nobody types and what commands a terminal that shows it: control characters other
/// than tabs and line breaks. What stands in the log already is read all the same.
fn plain_text(body: &Body) -> Result<(), Refusal> {
    // A car file has rules of its own, and its lines are told by their numbers.
    if matches!(body, Body::CarFile { .. }) {
        return Ok(());
    }
    let read = serde_json::from_str::<serde_json::Value>(&body.to_json());
    read.map_or(Ok(()), |value| plain_value("", &value))
}

fn plain_value(field: &str, value: &serde_json::Value) -> Result<(), Refusal> {
    use serde_json::Value;
    match value {
        Value::String(text) => plain_words(field, text),
        Value::Array(all) => all.iter().try_for_each(|one| plain_value(field, one)),
        Value::Object(all) => all.iter().try_for_each(|(key, one)| {
            let inner = if field.is_empty() { key.clone() } else { format!("{field}.{key}") };
            plain_words(&inner, key)?;
            plain_value(&inner, one)
        }),
        Value::Null | Value::Bool(_) | Value::Number(_) => Ok(()),
    }
}

/// Refuses a text with control characters other than tabs and line breaks.
fn plain_words(field: &str, text: &str) -> Result<(), Refusal> {
    let text = text.replace("\r\n", "\n");
    match text.chars().find(|letter| letter.is_control() && !matches!(letter, '\n' | '\t')) {
        None => Ok(()),
        Some(letter) => {
            let code = u32::from(letter);
            let what = format!("`{field}` holds the control character U+{code:04X}");
            Err(Refusal::new(field, what, "take it out; tabs and line breaks are fine"))
        }
    }
}

/// What there is to hold a body against.
#[derive(Clone, Copy)]
struct Look<'a> {
    state: &'a State,
    car: Option<&'a CarFile>,
    judge: Option<Judge<'a>>,
}

/// `entry 7`, for a message.
fn entry(seq: Option<u64>) -> String {
    seq.map_or_else(|| "the car file".to_owned(), |seq| format!("entry {seq}"))
}

impl<'a> Look<'a> {
    fn car_of(self, field: &str) -> Result<&'a CarFile, Refusal> {
        self.car.ok_or_else(|| {
            let what = "the book has no car file yet";
            Refusal::new(field, what, "load the car file first; it names parts, joints and steps")
        })
    }

    fn car_file(self, text: &str) -> Result<(), Refusal> {
        if let Some(seq) = self.state.facts().car_files.last()
            && self.state.car_text() == Some(text)
        {
            let what = format!("the car file is the one of entry {seq}, letter for letter");
            return Err(Refusal::new("text", what, "change it and load it again"));
        }
        let (car, problems) = crate::read(text);
        let cannot = |kind: &ProblemKind| {
            matches!(kind, ProblemKind::NewerFormat { .. } | ProblemKind::NoSuchFormat { .. })
        };
        if let Some(problem) = problems.iter().find(|problem| cannot(&problem.kind)) {
            return Err(Refusal::new("text", problem.what.clone(), problem.right.clone()));
        }
        if car.format != FORMAT {
            return Err(Refusal::of("text", &ProblemKind::NoFormat));
        }
        Ok(())
    }

    /// Ids of parts, of the car file and of the log.
    fn part_ids(self) -> BTreeSet<&'a str> {
        let rows = self.car.into_iter().flat_map(|car| &car.parts);
        let own = self.state.facts().parts.iter().filter(|(_, life)| life.name.is_some());
        rows.map(|row| row.id.value.as_str()).chain(own.map(|(id, _)| id.as_str())).collect()
    }

    fn part_is_known(self, id: &str) -> bool {
        let named = |id| self.state.facts().parts.get(id).is_some_and(|life| life.name.is_some());
        named(id) || self.car.is_some_and(|car| car.part(id).is_some())
    }

    /// An id that nothing has, with what was probably meant.
    fn unknown(
        field: &str,
        given: &str,
        what: &'static str,
        known: &BTreeSet<&str>,
        more_right: &str,
    ) -> Refusal {
        let mut all: Vec<&str> = known.iter().copied().collect();
        // Half an id was typed: those that begin so come first.
        all.sort_by_key(|id| !id.starts_with(given.trim()));
        let close = closest_to(given, &all).map(str::to_owned);
        let few: Vec<String> =
            all.iter().take(ProblemKind::FEW).map(|id| (*id).to_owned()).collect();
        let more = all.len() - few.len();
        let (key, given) = (field.to_owned(), cut(given));
        let kind = ProblemKind::UnknownId { key, given, what, is: None, close, known: few, more };
        let mut refusal = Refusal::of(field, &kind);
        refusal.right.push_str(more_right);
        refusal
    }

    fn part(self, part: &Part) -> Result<(), Refusal> {
        let id = part.part.as_str();
        if !self.part_is_known(id) && part.name.is_none() {
            let more = "; a part that is not in the car file is given its `name`";
            return Err(Self::unknown("part", id, "part", &self.part_ids(), more));
        }
        match part.happened {
            PartHappened::Fitted => self.fitted(part),
            PartHappened::Removed => self.removed(id),
            _ => Ok(()),
        }
    }

    /// Where a part is, and what says so.
    fn place(self, id: &str) -> (Option<PartState>, Option<u64>) {
        let life = self.state.facts().parts.get(id);
        match life.and_then(|life| Some((life.place?, life.since))) {
            Some((place, since)) => (Some(place), since),
            None => (self.car.and_then(|car| car.part(id)?.state), None),
        }
    }

    fn fitted(self, part: &Part) -> Result<(), Refusal> {
        let id = part.part.as_str();
        if let (Some(PartState::Fitted), since) = self.place(id) {
            let what = format!("`{id}` is fitted already ({})", entry(since));
            return Err(Refusal::new("happened", what, "write first that it was removed"));
        }
        let row = self.car.and_then(|car| car.part(id));
        let own = row.and_then(|row| row.side);
        if row.is_some_and(|row| row.handed) && part.side.is_none() {
            let what = format!("`{id}` is marked for one side, and to which it went is not said");
            let right =
                "read the mark on its end; then say the side it is fitted to: left or right";
            return Err(Refusal::new("side", what, right));
        }
        let to = part.side.as_deref().map(|side| form::side("side", side)).transpose()?;
        match (own, to) {
            (Some(own), Some(to)) if own != to && part.in_spite.is_none() => {
                Err(wrong_side(id, own, to))
            }
            (own, to)
                if part.in_spite.is_some() && (own.is_none() || to.is_none() || own == to) =>
            {
                let what = format!("nothing is against fitting `{id}` there");
                Err(Refusal::new("in_spite", what, "leave it out"))
            }
            _ => Ok(()),
        }
    }

    fn removed(self, id: &str) -> Result<(), Refusal> {
        match self.place(id) {
            (Some(place @ (PartState::OnTheBench | PartState::Out)), since) => {
                let what = format!("`{id}` is not fitted: it is {place} ({})", entry(since));
                Err(Refusal::new("happened", what, "strike the entry that is wrong, if one is"))
            }
            _ => Ok(()),
        }
    }

    fn mark(self, mark: &Mark) -> Result<(), Refusal> {
        for id in mark.between.iter().chain(&mark.also) {
            if !self.part_is_known(id) {
                let more = "; a part that is not in the car file is entered first, with its name";
                return Err(Self::unknown("between", id, "part", &self.part_ids(), more));
            }
        }
        let marks = &self.state.facts().marks;
        let name = mark.mark.trim();
        let life = match (marks.get(name), &mark.offset) {
            (None, Some(_)) => {
                let known = marks.keys().map(String::as_str).collect();
                let more = "; a mark is made before it is read";
                return Err(Self::unknown("mark", name, "mark", &known, more));
            }
            (Some(life), None) if life.void.is_none() => {
                let what = format!("there is a mark `{name}` already (entry {})", life.made);
                return Err(Refusal::new("mark", what, "give this one another name"));
            }
            // A void mark may be made anew.
            (_, None) => return Ok(()),
            (Some(life), Some(_)) => life,
        };
        if let Some(void) = &life.void {
            let right = "set it by measurement; then make the mark anew";
            return Err(Refusal::new("mark", void_words(name, void), right));
        }
        let [one, other] = &life.between;
        let same =
            |a: &[String; 2]| (&a[0], &a[1]) == (one, other) || (&a[0], &a[1]) == (other, one);
        if !same(&mark.between) {
            let what = format!("the mark `{name}` joins `{one}` and `{other}`");
            return Err(Refusal::new("between", what, "name these two, or another mark"));
        }
        Ok(())
    }

    fn photo(self, photo: &body::Photo) -> Result<(), Refusal> {
        let seqs = self.state.facts().photos.get(photo.of.trim());
        let same = seqs.into_iter().flatten().find(|seq| {
            let entry = self.state.entry(**seq);
            entry.is_some_and(|entry| matches!(&entry.body, Body::Photo(old) if old == photo))
        });
        match same {
            Some(seq) => {
                let what = format!("the same photo is there already (entry {seq})");
                Err(Refusal::new("sha256", what, "choose another picture"))
            }
            None => Ok(()),
        }
    }

    fn step(self, step: &Step) -> Result<(), Refusal> {
        let car = self.car_of("step")?;
        let id = step.step.as_str();
        let Some(row) = car.step(id) else {
            let known = car.steps.iter().map(|step| step.id.value.as_str()).collect();
            return Err(Self::unknown("step", id, "step", &known, ""));
        };
        let life = self.state.facts().steps.get(id);
        let (now, since) = (life.map(|life| life.now), life.map_or(0, |life| life.since));
        let refused = |what: String, right: &str| Err(Refusal::new("happened", what, right));
        match (step.happened, now) {
            (StepHappened::BackedOut, None | Some(StepHappened::BackedOut)) => {
                let what = format!("`{id}` is neither begun nor done");
                refused(what, "what was not begun cannot be backed out of")
            }
            (StepHappened::BackedOut, _) => Ok(()),
            (_, Some(StepHappened::Done)) => {
                let what = format!("`{id}` is done already (entry {since})");
                refused(what, "write that it was backed out of, if it is to be done again")
            }
            (StepHappened::Started, Some(StepHappened::Started)) => {
                refused(format!("`{id}` is begun already (entry {since})"), "write when it is done")
            }
            (StepHappened::Waived, _) if row.reading.is_none() => {
                let what = format!("`{id}` is no reading that cannot be taken again");
                refused(what, "only such a reading is given up; another step is done, or left")
            }
            (StepHappened::Waived, _) => Ok(()),
            (StepHappened::Started | StepHappened::Done, _) => self.may_go_on(step, row),
        }
    }

    /// Whether nothing is left behind that had to come first: a hold point, or a joint's torque.
    fn may_go_on(self, step: &Step, row: &'a StepRow) -> Result<(), Refusal> {
        let (Some(car), Some(judge)) = (self.car, self.judge) else { return Ok(()) };
        if step.happened == StepHappened::Done {
            self.says_which(car, row)?;
        }
        let mut against: Vec<String> = Vec::new();
        let (mut seen, mut waiting) = (BTreeSet::new(), vec![row]);
        while let Some(at) = waiting.pop() {
            let before = at.after.iter().filter_map(|before| car.step(&before.value));
            for before in before.filter(|before| seen.insert(before.id.value.clone())) {
                if !self.settled(judge, before, &mut against) {
                    waiting.push(before);
                }
            }
        }
        if step.happened == StepHappened::Done {
            let behind = if row.is_signed() { all_before(car, row) } else { Vec::new() };
            for at in std::iter::once(row).chain(behind) {
                for open in judge.unfit_of(at, NOW) {
                    let short = short_of(&at.id.value, &open);
                    if !against.contains(&short) {
                        against.push(short);
                    }
                }
            }
        }
        match (against.as_slice(), step.in_spite.is_some()) {
            ([], false) | ([_, ..], true) => Ok(()),
            ([], true) => {
                let what = format!("nothing is against `{}`", row.id.value);
                Err(Refusal::new("in_spite", what, "leave it out"))
            }
            ([first, more @ ..], false) => {
                let more = match more.len() {
                    0 => String::new(),
                    more => format!(" (and {more} more)"),
                };
                let right = "do that first; if it has to be, `in_spite` says why, and the log \
                             keeps it";
                Err(Refusal::new("in_spite", format!("{first}{more}"), right))
            }
        }
    }

    /// Refuses a step that fits a part marked for one side while nobody wrote which one went in.
    fn says_which(self, car: &CarFile, row: &StepRow) -> Result<(), Refusal> {
        let lives = &self.state.facts().parts;
        let is_fitted = |stem: &str| {
            let twins = car.parts.iter().filter(|part| part.id.text == stem);
            let mut lives = twins.filter_map(|part| lives.get(&part.id.value));
            lives.any(|life| life.place == Some(PartState::Fitted) && life.side == row.side)
        };
        let mut parts = row.fits_handed(car).into_iter();
        let Some(part) = parts.find(|part| !is_fitted(&part.id.text)) else { return Ok(()) };
        let (step, id) = (&row.id.value, &part.id.value);
        let what = format!(
            "`{step}` fits `{id}`, which is marked for one side, and nobody wrote which one went in"
        );
        let right = "read the mark on its end and say which it is (`fitted`), with the step or \
                     as an entry of its own";
        Err(Refusal::new("fitted", what, right))
    }

    /// Whether a step that comes before is behind us, so that what comes before it need not be
    /// looked at; what it leaves in the way goes to `against`.
    fn settled(self, judge: Judge<'_>, before: &StepRow, against: &mut Vec<String>) -> bool {
        let id = before.id.value.as_str();
        let now = self.state.facts().steps.get(id).map(|life| life.now);
        match now {
            Some(StepHappened::Waived) => return true,
            Some(StepHappened::Done) => {
                if before.is_signed() && !judge.is_signed(id, NOW) {
                    against.push(format!("the hold point `{id}` is done and not signed"));
                }
                return true;
            }
            _ => {}
        }
        if before.hold {
            against.push(match before.reading {
                Some(_) => format!(
                    "`{id}` is not read yet, and later it cannot be: read it, or give it up \
                     (`waived`) and say why"
                ),
                None => format!("the hold point `{id}` is neither done nor signed"),
            });
            return false;
        }
        against.extend(judge.unfit_of(before, NOW).iter().map(|open| short_of(id, open)));
        false
    }

    fn signed(self, signed: &Signed) -> Result<(), Refusal> {
        let of = signed.of.trim();
        let car = self.car_of("of")?;
        let (step, joint) = (car.step(of), car.joint(of));
        if of != JOB && step.is_none() && joint.is_none() {
            let steps = car.steps.iter().map(|step| step.id.value.as_str());
            let joints = car.joints.iter().map(|joint| joint.id.value.as_str());
            let known: BTreeSet<&str> = steps.chain(joints).collect();
            return Err(Self::unknown(
                "of",
                of,
                "step or joint",
                &known,
                "; the whole job is `job`",
            ));
        }
        if step.is_some_and(|step| step.reading.is_some()) {
            let what = format!("`{of}` is a reading: it is taken, or given up, and not signed");
            let right = "write that the step is done; if it cannot be read any more, that it is \
                         `waived`, and why";
            return Err(Refusal::new("of", what, right));
        }
        let open = self.judge.map(|judge| judge.open(of, NOW)).unwrap_or_default();
        let undone = open.iter().any(|one| matches!(one, StillOpen::Step(id) if id == of));
        match (open.is_empty(), &signed.in_spite) {
            (true, Some(_)) => {
                let what = "nothing is open of what is signed";
                Err(Refusal::new("in_spite", what, "leave it out"))
            }
            (false, _) if undone => {
                let what = format!("`{of}` is not done, so there is nothing to be signed yet");
                Err(Refusal::new("of", what, "write first that it is done"))
            }
            (false, None) => {
                let (what, first) = (open_in_words(&open), first_few(&open));
                let what = format!("it cannot be signed yet: {what}{first}");
                let right = "do that first. If it has to be signed now, `in_spite` says why: the \
                             record then says what was open, and never that it holds";
                Err(Refusal::new("in_spite", what, right))
            }
            _ => Ok(()),
        }
    }

    fn bolt(self, bolt: &body::Bolt) -> Result<(), Refusal> {
        let car = self.car_of("joint")?;
        let Some(joint) = car.joint(&bolt.joint) else {
            let known = car.joints.iter().map(|joint| joint.id.value.as_str()).collect();
            return Err(Self::unknown("joint", &bolt.joint, "joint", &known, ""));
        };
        let count = joint.bolt_count().unwrap_or(Joint::MOST_BOLTS);
        if count < bolt.bolt {
            let (bolt, joint) = (bolt.bolt, bolt.joint.clone());
            return Err(Refusal::of("bolt", &ProblemKind::NoSuchBolt { bolt, joint, count }));
        }
        let read = form::bolt(bolt)?;
        self.gets_its_torque(joint, bolt, &read)?;
        if read.state == BoltState::PaintMarked
            && read.value.is_none()
            && !self.is_torqued(car, joint, bolt.bolt)
        {
            let (bolt, joint) = (bolt.bolt, bolt.joint.clone());
            let kind = ProblemKind::MarkWithoutTorque { bolt, joint };
            let right = "write first that it was torqued, and to what";
            return Err(Refusal::new("state", kind.to_string(), right));
        }
        Ok(())
    }

    /// Refuses a torque with the arm in the wrong place, which would only have to be loosened
    /// again, and one of which nobody says what it was.
    fn gets_its_torque(
        self,
        joint: &Joint,
        bolt: &body::Bolt,
        read: &form::ReadBolt,
    ) -> Result<(), Refusal> {
        let is_torque = read.state == BoltState::Torqued
            || (read.state == BoltState::PaintMarked && read.value.is_some());
        if !is_torque {
            return Ok(());
        }
        if let Some(why) = joint.position.and_then(|must| position_refused(must, read.position)) {
            let right = "bring the arm there first, and say so (`position`); snug is as far as it \
                         goes until then";
            return Err(Refusal::new("position", why, right));
        }
        if bolt.value.is_none() {
            let asked = self.asked(joint).map(|asked| asked.written);
            let asked = asked.map_or_else(String::new, |list| format!("; the list says {list}"));
            let what = format!("the torque reached is not said{asked}");
            return Err(Refusal::new("value", what, "write what the wrench read, with its unit"));
        }
        Ok(())
    }

    fn asked(self, joint: &Joint) -> Option<Asked> {
        self.judge?.figures.asked(self.car?, joint)
    }

    /// Whether a bolt has its torque: by the car file's rows, then by the log's.
    fn is_torqued(self, car: &CarFile, joint: &Joint, bolt: u32) -> bool {
        let now = joint_at(self.state, car, joint, NOW);
        now.bolts.iter().any(|one| one.bolt == bolt && one.torqued.is_some())
    }

    fn attempt(self, attempt: &Attempt) -> Result<(), Refusal> {
        let Some(car) = self.car else { return Ok(()) };
        let side = form::side("side", &attempt.side)?;
        let ends = [
            ("anchor_at", attempt.anchor_at, Field::SplinesAnchorTeeth),
            ("plate_at", attempt.plate_at, Field::SplinesPlateTeeth),
        ];
        for (field, at, teeth) in ends {
            if let (Some(at), Some(teeth)) = (at, car.count(teeth, side))
                && teeth < at
            {
                let (key, given) = (field.to_owned(), at.to_string());
                let (low, high) = ("0".to_owned(), teeth.to_string());
                let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
                return Err(Refusal::new(field, kind.to_string(), "teeth are counted once round"));
            }
        }
        Ok(())
    }

    fn recheck(self, recheck: &Recheck) -> Result<(), Refusal> {
        let what = recheck.what.trim();
        let all = &self.state.facts().rechecks;
        if let Some(due) = recheck.due_km
            && let Some((_, seq)) =
                all.get(what).and_then(|life| life.due.iter().find(|(km, _)| *km == due))
        {
            let said = format!("`{what}` is due at {due} km already (entry {seq})");
            return Err(Refusal::new("due_km", said, "once is enough"));
        }
        Ok(())
    }

    fn strike(self, seq: u64) -> Result<(), Refusal> {
        let refused = |what: String, right: &str| Err(Refusal::new("seq", what, right));
        let Some(old) = self.state.entry(seq) else {
            let last = self.state.last_seq();
            let what = format!("there is no entry {seq}");
            return refused(what, &format!("entries run from 1 to {last}"));
        };
        if let Some(by) = self.state.struck_by(seq) {
            let what = format!("entry {seq} is struck already (entry {by})");
            return refused(what, &format!("to have it count again, strike entry {by}"));
        }
        let files = &self.state.facts().car_files;
        if matches!(old.body, Body::CarFile { .. }) && files.as_slice() == [seq] {
            let what = format!("entry {seq} holds the only car file of the book");
            return refused(what, "load the right one first");
        }
        Ok(())
    }
}

fn wrong_side(id: &str, own: Side, to: Side) -> Refusal {
    let what = format!("`{id}` belongs on the {own} and is to go on the {to}");
    let right = "take the other side's part. A bar set for one side and wound the other way can \
                 break. If it has to be, `in_spite` says why, and the log keeps it";
    Refusal::new("side", what, right)
}

/// A joint that a step should have brought to its torque.
fn short_of(step: &str, open: &StillOpen) -> String {
    match open {
        StillOpen::Joint(joint, why) => {
            format!("`{step}` brings `{joint}` to its torque, and it is not: {}", why.join("; "))
        }
        other => open_in_words(std::slice::from_ref(other)),
    }
}

/// The first of many that are open, by name.
fn first_few(open: &[StillOpen]) -> String {
    let name = |one: &StillOpen| match one {
        StillOpen::Step(id)
        | StillOpen::Joint(id, _)
        | StillOpen::Hold(id)
        | StillOpen::Part(id)
        | StillOpen::Reading(id) => format!("`{id}`"),
    };
    let names: Vec<String> = open.iter().take(3).map(name).collect();
    match open.len() {
        0 | 1 => String::new(),
        _ => format!(" (first {})", names.join(", ")),
    }
}

/// Every step that comes before one, at whatever distance.
fn all_before<'a>(car: &'a CarFile, row: &'a StepRow) -> Vec<&'a StepRow> {
    let (mut seen, mut all, mut waiting) = (BTreeSet::new(), Vec::new(), vec![row]);
    while let Some(at) = waiting.pop() {
        for before in at.after.iter().filter_map(|before| car.step(&before.value)) {
            if seen.insert(before.id.value.as_str()) {
                all.push(before);
                waiting.push(before);
            }
        }
    }
    all
}

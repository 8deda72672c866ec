//! The car as it stands: the car file, with what the log says of it since.
//!
//! Readings are superseded one by one, each by the last reading of the same thing that counts: a
//! reading's, an attempt's or a round's. What the car file says of bolts is the state before the
//! first entry, and the log's rows come after it. Where a part is, the log knows better.

use std::collections::BTreeMap;

use axlewright_quantity::{Amount, Corner, Written};

use super::body::{self, Body};
use super::form::{self, Read, ReadBolt, ReadingKey, Spot, What};
use super::state::{PartLife, State};
use crate::car_file::{CarFile, Entry as WrittenEntry, Reading};
use crate::joint::BoltRow;
use crate::problem::{Lines, Problem, ProblemKind, cut};
use crate::step::PartRow;
use crate::wheels::RoundRow;
use crate::words::{PartState, ReadingWhat};

/// What stands in an entry of the log, as a value of the car.
fn written<T>(value: T, text: &str) -> WrittenEntry<T> {
    WrittenEntry { value, spread: None, text: text.to_owned(), line: 0, span: 0..0 }
}

fn amount(written: Written) -> WrittenEntry<Amount> {
    let Written { amount, spread, text } = written;
    WrittenEntry { value: amount, spread, text, line: 0, span: 0..0 }
}

impl State {
    /// The car as it stands: the current car file, superseded by the log as the head of this module
    /// says. The problems are those of the file, and what of the log cannot be brought together
    /// with it. Without a car file there is an empty car.
    pub fn car(&self) -> (CarFile, Vec<Problem>) {
        let (mut car, mut problems) = match self.file() {
            Some(file) => (file.car.clone(), file.problems.clone()),
            None => (CarFile::default(), Vec::new()),
        };
        self.readings_into(&mut car, &mut problems);
        self.rounds_into(&mut car);
        self.bolts_into(&mut car, &mut problems);
        self.parts_into(&mut car, &mut problems);
        self.steps_into(&mut car, &mut problems);
        let lines = Lines::new("");
        for unfolded in self.unfolded() {
            let (seq, why) = (unfolded.seq, unfolded.why.clone());
            problems.push(Problem::new(ProblemKind::EntryNotCounted { seq, why }, 0..0, &lines));
        }
        (car, problems)
    }

    fn readings_into(&self, car: &mut CarFile, problems: &mut Vec<Problem>) {
        let lines = Lines::new(self.car_text().unwrap_or_default());
        car.readings.retain(|reading| {
            let Some(key) = key_of(reading) else { return true };
            let mut said = self.readings_of(&key).peekable();
            if said.peek().is_none() {
                return true;
            }
            // A row that the log has word for word was taken over when the book was begun.
            let text = reading.value.text.trim();
            if !said.any(|known| known.value.trim() == text)
                && let Some(holds) = self.reading(&key)
            {
                let (what, given) = (reading.what.word(), cut(text));
                let (seq, now) = (holds.entry.seq, cut(holds.value.trim()));
                let kind = ProblemKind::ReadingSuperseded { what, given, seq, now };
                problems.push(Problem::new(kind, reading.value.span.clone(), &lines));
            }
            false
        });
        let now = self.facts().readings.iter().filter(|(key, _)| key.stage.is_none());
        let mut holding: Vec<(u64, Reading)> = now
            .filter_map(|(_, all)| {
                let seq = *all.last()?;
                Some((seq, self.entry(seq)?))
            })
            .flat_map(|(seq, entry)| readings_in(entry).into_iter().map(move |one| (seq, one)))
            .filter(|(seq, one)| {
                // Of a round only the figures that no later entry supersedes.
                key_of(one).and_then(|key| self.facts().readings.get(&key)?.last()) == Some(seq)
            })
            .collect();
        holding.sort_by_key(|(seq, one)| (*seq, one.what, one.corner));
        holding.dedup_by_key(|(seq, one)| (*seq, one.what, one.corner));
        car.readings.extend(holding.into_iter().map(|(_, reading)| reading));
    }

    /// The file's rounds, then the log's; what was moved belongs to the round before it.
    fn rounds_into(&self, car: &mut CarFile) {
        let facts = self.facts();
        let mut seqs: Vec<u64> = facts.rounds.iter().chain(&facts.moves).copied().collect();
        seqs.sort_unstable();
        for entry in seqs.into_iter().filter_map(|seq| self.entry(seq)) {
            match &entry.body {
                Body::Round(round) => {
                    let (row, _) = RoundRow::from_log(round, entry.seq);
                    let date = entry.day().map(str::to_owned);
                    car.rounds.push(RoundRow { date, ..row });
                }
                Body::Moved(moved) => {
                    let row = form::moved(moved, entry.seq).ok();
                    if let Some(round) = car.rounds.last_mut() {
                        round.moved_after.extend(row);
                    }
                }
                _ => {}
            }
        }
    }

    fn bolts_into(&self, car: &mut CarFile, problems: &mut Vec<Problem>) {
        let mut rows: Vec<(u64, BoltRow)> = Vec::new();
        for (joint, bolts) in &self.facts().bolts {
            let count = car.joint(joint).map(|joint| joint.bolt_count());
            for (bolt, seqs) in bolts {
                let last = seqs.last().copied().unwrap_or_default();
                match count {
                    None => problems.push(nothing_called(last, "joint", joint)),
                    Some(Some(count)) if count < *bolt => {
                        let (bolt, joint) = (*bolt, joint.clone());
                        let kind = ProblemKind::NoSuchBolt { bolt, joint, count };
                        problems.push(Problem::new(kind, 0..0, &Lines::new("")));
                    }
                    Some(_) => rows.extend(seqs.iter().filter_map(|seq| self.bolt_row(*seq))),
                }
            }
        }
        rows.sort_by_key(|(seq, _)| *seq);
        car.bolts.extend(rows.into_iter().map(|(_, row)| row));
    }

    /// A bolt's entry as a row.
    pub(super) fn bolt_row(&self, seq: u64) -> Option<(u64, BoltRow)> {
        let entry = self.entry(seq)?;
        let Body::Bolt(bolt) = &entry.body else { return None };
        let ReadBolt { state, value, position } = form::bolt(bolt).ok()?;
        let text = |text: &String| written(text.clone(), text);
        let date = bolt.date.clone().or_else(|| entry.day().map(str::to_owned));
        Some((
            seq,
            BoltRow {
                joint: text(&bolt.joint),
                bolt: bolt.bolt,
                state,
                value: value.map(amount),
                wrench: bolt.wrench.as_ref().map(text),
                position,
                date: date.as_ref().map(text),
                line: 0,
                entry: Some(seq),
            },
        ))
    }

    fn parts_into(&self, car: &mut CarFile, problems: &mut Vec<Problem>) {
        let start = car.calendar.as_ref().and_then(|calendar| calendar.start.as_ref());
        let start = start.map(|start| start.value);
        let at: BTreeMap<String, usize> =
            (car.parts.iter().enumerate()).map(|(at, part)| (part.id.value.clone(), at)).collect();
        for (id, life) in &self.facts().parts {
            match at.get(id).and_then(|at| car.parts.get_mut(*at)) {
                Some(row) => {
                    part_into(row, life, start);
                    row.against_hand = self.against_hand(life);
                }
                None if life.name.is_some() => {}
                None => {
                    let last = life.events.last().copied().unwrap_or_default();
                    problems.push(nothing_called(last, "part", id));
                }
            }
        }
    }

    /// To which side a part is fitted against its hand, and why.
    fn against_hand(&self, life: &PartLife) -> Option<(axlewright_quantity::Side, String)> {
        let Body::Part(part) = &self.entry(life.fitted?)?.body else { return None };
        Some((life.side?, part.in_spite.as_ref()?.trim().to_owned()))
    }

    fn steps_into(&self, car: &mut CarFile, problems: &mut Vec<Problem>) {
        let since = |id: &str| self.facts().steps.get(id).map_or(0, |step| step.since);
        let known: Vec<u64> = self
            .steps_settled()
            .into_iter()
            .filter(|id| car.step(id).is_some())
            .map(since)
            .collect();
        car.not_remembered = self
            .facts()
            .not_remembered
            .iter()
            .map(|(side, seq)| (*side, known.iter().filter(|since| *since < seq).count()))
            .collect();
        for id in self.steps_settled() {
            if car.step(id).is_some() {
                car.done.push(id.to_owned());
                continue;
            }
            let since = self.facts().steps.get(id).map_or(0, |step| step.since);
            problems.push(nothing_called(since, "step", id));
        }
    }
}

fn nothing_called(seq: u64, what: &'static str, id: &str) -> Problem {
    let kind = ProblemKind::EntryOfNothing { seq, what, id: cut(id) };
    Problem::new(kind, 0..0, &Lines::new(""))
}

fn part_into(row: &mut PartRow, life: &PartLife, start: Option<crate::Day>) {
    let Some(place) = life.place else { return };
    row.state = Some(place);
    row.entry = life.since;
    row.back_in_days = None;
    if let (PartState::Out, Some(due), Some(start)) = (place, life.due, start) {
        // What was due before the first day is there on the first day.
        let days = due.number().saturating_sub(start.number());
        row.back_in_days = Some(written(days, &due.to_string()));
    }
}

/// The key of a car file's reading.
pub(super) fn key_of(reading: &Reading) -> Option<ReadingKey> {
    let corner = reading.corner.or_else(|| reading.side.map(Corner::rear))?;
    Some(super::state::key_of(reading.what, corner, None))
}

/// The readings in an entry, as the car file has them: one of a reading or an attempt, one for each
/// figure of a round; none of anything else, nor of what no part computes with.
pub fn readings_in(entry: &super::Entry) -> Vec<Reading> {
    match &entry.body {
        Body::Reading(body) => {
            let read = form::reading(body).ok();
            read.and_then(|read| reading(entry, body, read)).into_iter().collect()
        }
        Body::Attempt(attempt) => {
            let read = form::attempt(attempt).ok();
            let body = &attempt.reading;
            read.and_then(|(_, read)| reading(entry, body, read)).into_iter().collect()
        }
        Body::Round(round) => {
            let figures = form::round(round).unwrap_or_default();
            let note = || {
                let note = round.note.as_deref().unwrap_or_default();
                Some(format!("{} {note}", round.load).trim().to_owned())
            };
            let one = |figure: form::OfRound| {
                let bare = body::Reading { note: note(), ..body::Reading::default() };
                let key = super::state::key_of(figure.what, figure.corner, None);
                let read = Read { value: Some(figure.value), ..Read::of(key) };
                reading(entry, &bare, read)
            };
            figures.into_iter().filter_map(one).collect()
        }
        _ => Vec::new(),
    }
}

fn reading(entry: &super::Entry, body: &body::Reading, read: Read) -> Option<Reading> {
    let (What::Known(what), Spot::Corner(corner)) = (read.key.what, read.key.spot) else {
        return None;
    };
    let words = [body.load.as_deref(), body.gauge.as_deref(), body.note.as_deref()];
    let note = words.into_iter().flatten().map(str::trim).filter(|word| !word.is_empty());
    let note = note.collect::<Vec<_>>().join("; ");
    let value = amount(read.value?);
    // A toe in millimetres is for whoever works on the round.
    if value.value.kind() != crate::read::reading_limits(what).kind {
        return None;
    }
    Some(Reading {
        what,
        side: Some(corner.side()),
        corner: Some(corner),
        value,
        turned: read.turned.map(amount),
        arrow: read.arrow,
        hung: read.hung,
        lash: read.lash,
        seat: read.seat,
        seat_offset: read.seat_offset.map(amount),
        date: body.date.clone().or_else(|| entry.day().map(str::to_owned)),
        note: (!note.is_empty()).then_some(note),
        line: 0,
        entry: Some(entry.seq),
    })
}

/// The readings of a car file as entries, in its order: what a new book begins with. A later row of
/// the same thing supersedes an earlier one here as it does there.
pub fn import_of(car: &CarFile) -> Vec<Body> {
    let load = car.load_state.as_ref().map_or("not said", |load| load.value.trim());
    car.readings.iter().map(|reading| Body::Reading(import(reading, load))).collect()
}

fn import(reading: &Reading, load: &str) -> body::Reading {
    let text = |entry: &Option<WrittenEntry<Amount>>| {
        entry.as_ref().map(|entry| entry.text.trim().to_owned())
    };
    let word = |word: Option<&'static str>| word.map(str::to_owned);
    let is_angle = matches!(reading.what, ReadingWhat::SillLevel | ReadingWhat::PlateAngle);
    // A side stands for its rear wheel; what names a front one keeps it.
    let is_rear = reading.corner == reading.side.map(Corner::rear);
    let corner = reading.corner.filter(|_| !is_rear).map(Corner::code);
    let side = reading.side.filter(|_| corner.is_none()).map(axlewright_quantity::Side::word);
    body::Reading {
        what: reading.what.word().to_owned(),
        side: word(side),
        corner: word(corner),
        value: reading.value.text.trim().to_owned(),
        turned: text(&reading.turned),
        arrow: word(reading.arrow.map(crate::Arrow::word)),
        hung: word(reading.hung.map(crate::Hung::word)),
        lash: word(reading.lash.map(crate::Lash::word)),
        seat: word(reading.seat.map(crate::Seat::word)),
        seat_offset: text(&reading.seat_offset),
        gauge: None,
        load: (!is_angle).then(|| load.to_owned()),
        stage: None,
        date: reading.date.clone(),
        note: reading.note.clone(),
    }
}

//! What was read, before anything was touched and since.

use std::collections::BTreeMap;

use axlewright_book::log::{BEFORE_STRIP_DOWN, Body, Entry, ReadingKey, Spot, What, readings_in};
use axlewright_book::{Class, Entry as Written, MassRow, Origin, Reading, ReadingWhat, RoundRow};
use axlewright_quantity::{Amount, Corner};

use super::{Book, ReadingLine, Said, Stamp};
use crate::finding::Leaf;

/// What one line is about; in this order they stand in the record.
type Key = (What, Spot, Option<String>);

/// What was read, thing by thing.
pub(super) fn lines(book: Book<'_>) -> Vec<ReadingLine> {
    lines_of(book, |seqs| seqs)
}

/// What holds, thing by thing, without what was read earlier.
pub(super) fn holding(book: Book<'_>) -> Vec<ReadingLine> {
    lines_of(book, |seqs| seqs.last().map_or(&[], std::slice::from_ref))
}

fn lines_of(book: Book<'_>, wanted: fn(&[u64]) -> &[u64]) -> Vec<ReadingLine> {
    let mut all: BTreeMap<Key, ReadingLine> = BTreeMap::new();
    for reading in book.car.readings.iter().filter(|reading| reading.entry.is_none()) {
        let at = reading.corner.or_else(|| reading.side.map(Corner::rear));
        let spot = at.map_or(Spot::Car, Spot::Corner);
        let line = line(&mut all, (What::Known(reading.what), spot, None));
        line.push(from_car_file(book, reading));
    }
    for row in book.car.rounds.iter().filter(|row| row.entry.is_none()) {
        of_round(book, row, &mut all);
    }
    for (key, seqs) in &book.state.facts().readings {
        let is_before = key.stage.as_deref() == Some(BEFORE_STRIP_DOWN);
        let stage = key.stage.clone().filter(|_| !is_before);
        let line = line(&mut all, (key.what.clone(), key.spot, stage));
        for said in wanted(seqs).iter().filter_map(|seq| said(book, key, *seq)) {
            // What was there before anything was touched is read once; a second time counts.
            if is_before { line.before = Some(said) } else { line.push(said) }
        }
    }
    all.into_values().collect()
}

/// The figures of a round that stands in the car file.
fn of_round(book: Book<'_>, row: &RoundRow, all: &mut BTreeMap<Key, ReadingLine>) {
    let load = row.load.as_ref().map_or("load not said", |load| load.value.trim());
    let stage = row.stage.as_ref().map(|stage| stage.value.trim());
    let stage = stage.filter(|stage| !stage.eq_ignore_ascii_case(MassRow::FINISHED));
    let kinds = [
        (ReadingWhat::CornerWeight, &row.weight),
        (ReadingWhat::Trim, &row.trim),
        (ReadingWhat::Camber, &row.camber),
        (ReadingWhat::Toe, &row.toe),
    ];
    for (what, map) in kinds {
        for (corner, value) in map {
            let key = (What::Known(what), Spot::Corner(*corner), stage.map(str::to_owned));
            line(all, key).push(Said {
                text: value.text.trim().to_owned(),
                leaf: Some(leaf(book, what, value, row.settled == Some(true))),
                how: format!("on the wheels, {load}"),
                stamp: book.stamp_at(Origin::Line(row.line), row.date.as_deref()),
            });
        }
    }
}

fn line(all: &mut BTreeMap<Key, ReadingLine>, key: Key) -> &mut ReadingLine {
    let (what, spot, stage) = key.clone();
    all.entry(key).or_insert_with(|| ReadingLine {
        what: match what {
            What::Known(what) => what.word().to_owned(),
            What::Free(words) => words,
        },
        corner: match spot {
            Spot::Corner(corner) => Some(corner),
            Spot::Side(side) => Some(Corner::rear(side)),
            Spot::Car => None,
        },
        stage,
        before: None,
        now: None,
        earlier: Vec::new(),
    })
}

impl ReadingLine {
    fn push(&mut self, said: Said) {
        self.earlier.extend(self.now.replace(said));
    }
}

/// A reading of the log.
pub(super) fn said(book: Book<'_>, key: &ReadingKey, seq: u64) -> Option<Said> {
    let at = book.state.reading_at(key, seq)?;
    let is_it = |reading: &Reading| {
        key.what == What::Known(reading.what) && reading.corner.map(Spot::Corner) == Some(key.spot)
    };
    let read = readings_in(at.entry).into_iter().find(is_it);
    let is_settled = matches!(&at.entry.body, Body::Round(round) if round.settled == Some(true));
    let leaf = read.as_ref().map(|read| leaf(book, read.what, &read.value, is_settled));
    let day = read.as_ref().and_then(|read| read.date.as_deref()).or_else(|| day_of(at.entry));
    Some(Said {
        text: at.value.trim().to_owned(),
        leaf,
        how: how(at.entry),
        stamp: Stamp::of(at.entry).done_on(day),
    })
}

fn day_of(entry: &Entry) -> Option<&str> {
    match &entry.body {
        Body::Reading(reading) => reading.date.as_deref(),
        Body::Attempt(attempt) => attempt.reading.date.as_deref(),
        _ => None,
    }
}

fn from_car_file(book: Book<'_>, reading: &Reading) -> Said {
    let parts = [
        reading.turned.as_ref().map(|turned| format!("turned end for end {}", turned.text.trim())),
        reading.hung.map(|hung| format!("hung on the bar: {hung}")),
        reading.lash.map(|lash| format!("lash: {lash}")),
        reading.note.clone(),
    ];
    Said {
        text: reading.value.text.trim().to_owned(),
        leaf: Some(leaf(book, reading.what, &reading.value, false)),
        how: parts.into_iter().flatten().collect::<Vec<_>>().join("; "),
        stamp: book.stamp_at(reading.origin(), reading.date.as_deref()),
    }
}

/// With what, how, under what load.
pub(super) fn how(entry: &Entry) -> String {
    let reading = match &entry.body {
        Body::Reading(reading) => reading,
        Body::Attempt(attempt) => &attempt.reading,
        Body::Round(round) => {
            let settled = match round.settled {
                Some(true) => "; settled first",
                Some(false) => "; not settled first",
                None => "",
            };
            return format!("on the wheels, {}{settled}", round.load.trim());
        }
        _ => return String::new(),
    };
    let with = |before: &str, text: &Option<String>| {
        text.as_ref().map(|text| format!("{before}{}", text.trim()))
    };
    let parts = [
        with("turned end for end ", &reading.turned),
        with("arrow to the ", &reading.arrow),
        with("hung on the bar: ", &reading.hung),
        with("lash: ", &reading.lash),
        with("on the ", &reading.seat),
        with("offset of that edge ", &reading.seat_offset),
        with("with the ", &reading.gauge),
        with("", &reading.load),
        with("", &reading.note),
    ];
    parts.into_iter().flatten().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}

/// A reading as a number: its spread as written, else the car file's for readings of its kind. A
/// trim read after lift-and-release and push-and-release has half the friction in it.
pub(super) fn leaf(
    book: Book<'_>,
    what: ReadingWhat,
    value: &Written<Amount>,
    is_settled: bool,
) -> Leaf {
    let class = match what {
        ReadingWhat::SillLevel => Class::Level,
        ReadingWhat::PlateAngle => Class::Gauge,
        ReadingWhat::Trim => Class::TrimReading,
        ReadingWhat::Camber => Class::CamberReading,
        ReadingWhat::Toe => Class::ToeReading,
        ReadingWhat::CornerWeight => Class::Scale,
    };
    let of_class = || {
        let u = book.car.class_uncertainty(class).filter(|u| u.kind() == value.value.kind())?;
        let share = if is_settled && what == ReadingWhat::Trim { 0.5 } else { 1.0 };
        Some(Amount::from_si(u.kind(), u.to_si() * share))
    };
    let u = value.spread.map(|spread| spread.standard_uncertainty()).or_else(of_class);
    Leaf { value: value.value, u, written: Some(value.text.trim().to_owned()) }
}

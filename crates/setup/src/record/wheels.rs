//! Rounds on the wheels, re-checks, and what the alignment shop is handed.

use axlewright_book::log::{Body, ReadingKey, RecheckLife, Spot, What};
use axlewright_book::{
    Entry, Field, MassRow, Origin, Pick, ReadingWhat, RoundRow, SpecWhat, Value,
};
use axlewright_quantity::{Amount, Corner, Side};
use std::collections::BTreeMap;

use super::{
    Alignment, AlignmentRow, Book, Happened, ReadingLine, RecheckRecord, RoundRecord, Said,
    WheelFigures, readings,
};
use crate::finding::Leaf;
use crate::marks;

/// Rounds, the oldest first.
pub(super) fn rounds(book: Book<'_>) -> Vec<RoundRecord> {
    (1..).zip(&book.car.rounds).map(|(number, row)| round(book, number, row)).collect()
}

fn origin(line: u32, entry: Option<u64>) -> Origin {
    entry.map_or(Origin::Line(line), Origin::Entry)
}

/// What was read of one kind, wheel by wheel.
type Figures<'a> = (&'static str, ReadingWhat, &'a BTreeMap<Corner, Entry<Amount>>);

fn round(book: Book<'_>, number: u32, row: &RoundRow) -> RoundRecord {
    let stamp = book.stamp_at(origin(row.line, row.entry), row.date.as_deref());
    let kinds: [Figures<'_>; 4] = [
        ("weight", ReadingWhat::CornerWeight, &row.weight),
        ("trim", ReadingWhat::Trim, &row.trim),
        ("camber", ReadingWhat::Camber, &row.camber),
        ("toe", ReadingWhat::Toe, &row.toe),
    ];
    let is_settled = row.settled == Some(true);
    let one = |(what, kind, map): Figures<'_>| {
        let said = |(corner, entry): (&Corner, &Entry<Amount>)| {
            let leaf = readings::leaf(book, kind, entry, is_settled);
            let text = entry.text.trim().to_owned();
            let (how, stamp) = (String::new(), stamp.clone());
            (*corner, Said { text, leaf: Some(leaf), how, stamp })
        };
        WheelFigures { what, at: map.iter().map(said).collect() }
    };
    let figures = kinds.into_iter().map(one).filter(|figures| !figures.at.is_empty());
    let moved = row.moved_after.iter().map(|moved| Happened {
        words: moved.text.clone(),
        stamp: book.stamp_at(origin(moved.line, moved.entry), None),
    });
    RoundRecord {
        number,
        load: row.load.as_ref().map(|load| load.value.trim().to_owned()),
        stage: row.stage.as_ref().map(|stage| stage.value.trim().to_owned()),
        settled: row.settled,
        figures: figures.collect(),
        moved: moved.collect(),
        note: row.note.clone(),
        stamp,
    }
}

/// Re-checks by what is looked at.
pub(super) fn rechecks(book: Book<'_>) -> Vec<RecheckRecord> {
    let facts = book.state.facts();
    let far = facts.came_km.map(|(km, _)| km);
    let one = |(what, life): (&String, &RecheckLife)| {
        let due_km = life.open();
        let done = life.done.iter().filter_map(|(km, seq)| {
            let Body::Recheck(recheck) = book.body(*seq)? else { return None };
            let found = recheck.found.as_deref().unwrap_or("nothing written of what was found");
            Some((*km, Happened { words: found.trim().to_owned(), stamp: book.stamp(*seq)? }))
        });
        RecheckRecord {
            what: what.clone(),
            overdue: far.zip(due_km.first()).is_some_and(|(far, due)| *due <= far),
            done: done.collect(),
            due_km,
        }
    };
    facts.rechecks.iter().map(one).collect()
}

const FIGURES: [(&str, ReadingWhat, Option<SpecWhat>); 4] = [
    ("trim", ReadingWhat::Trim, Some(SpecWhat::Trim)),
    ("camber", ReadingWhat::Camber, Some(SpecWhat::Camber)),
    ("toe", ReadingWhat::Toe, Some(SpecWhat::Toe)),
    ("corner weight", ReadingWhat::CornerWeight, None),
];
const WHEELS: [Corner; 4] =
    [Corner::LeftRear, Corner::RightRear, Corner::LeftFront, Corner::RightFront];

/// What the manual wants of the rear wheels and nobody read before an entry.
pub(super) fn unread(book: Book<'_>, before: u64) -> Vec<String> {
    let rows = FIGURES.iter().filter(|(_, _, spec)| {
        spec.is_some_and(|spec| matches!(book.car.pick(spec), Pick::One(_)))
    });
    let at = |kind: ReadingWhat, corner: Corner| {
        let key = ReadingKey { what: What::Known(kind), spot: Spot::Corner(corner), stage: None };
        let seqs = book.state.facts().readings.get(&key);
        let in_log = seqs.into_iter().flatten().any(|seq| *seq < before);
        let in_file = book.car.readings.iter().any(|row| {
            let corner_of = row.corner.or_else(|| row.side.map(Corner::rear));
            row.entry.is_none() && row.what == kind && corner_of == Some(corner)
        });
        let rounds = book.car.rounds.iter().filter(|row| row.entry.is_none());
        let mut rounds = rounds.filter(|row| {
            let stage = row.stage.as_ref().map(|stage| stage.value.trim());
            stage.is_none_or(|stage| stage.eq_ignore_ascii_case(MassRow::FINISHED))
        });
        in_log
            || in_file
            || rounds.any(|row| {
                let map = match kind {
                    ReadingWhat::Trim => &row.trim,
                    ReadingWhat::Camber => &row.camber,
                    ReadingWhat::Toe => &row.toe,
                    _ => &row.weight,
                };
                map.contains_key(&corner)
            })
    };
    let all = rows.flat_map(|(what, kind, _)| {
        let never = WHEELS.into_iter().filter(|corner| !corner.is_front() && !at(*kind, *corner));
        never.map(move |corner| format!("{what} of the {} rear wheel", corner.side()))
    });
    all.collect()
}

/// What is wanted of each wheel, what it was, what was read last. Of the front wheels only what
/// was read: the manual's rows here are of the rear ones.
pub(super) fn alignment(book: Book<'_>, lines: &[ReadingLine]) -> Alignment {
    let mut rows = Vec::new();
    for (what, kind, spec) in FIGURES {
        let wanted = spec.and_then(|spec| match book.car.pick(spec) {
            Pick::One(row) => {
                let page = row.source.as_ref().map_or("no page named", |page| page.value.trim());
                Some((row.value.text.trim().to_owned(), page.to_owned()))
            }
            _ => None,
        });
        for corner in WHEELS {
            let line = lines.iter().find(|line| {
                line.what == kind.word() && line.corner == Some(corner) && line.stage.is_none()
            });
            let wanted = wanted.clone().filter(|_| !corner.is_front());
            let (before, last) =
                (line.and_then(|line| line.before.clone()), line.and_then(|line| line.now.clone()));
            if wanted.is_some() || before.is_some() || last.is_some() {
                rows.push(AlignmentRow { what, corner, wanted, before, last });
            }
        }
    }
    let throw = book.car.get(Field::EccentricsThrow, Side::Left).map(|entry| {
        let text = entry.text.trim().to_owned();
        let leaf = match &entry.value {
            Value::Amount(value) => {
                let u = book.car.uncertainty(Field::EccentricsThrow, Side::Left);
                Some(Leaf { value: *value, u, written: Some(text.clone()) })
            }
            _ => None,
        };
        let stamp = book.stamp_at(Origin::Line(entry.line), None);
        Said { text, leaf, how: String::new(), stamp }
    });
    let (rates, _) = marks::rates(book.car);
    let load = book.car.load_state.as_ref().map(|load| load.value.trim().to_owned());
    Alignment { load, rows, rates, throw }
}

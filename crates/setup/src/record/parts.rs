//! Parts and their lives, witness marks, and the photos of both.

use axlewright_book::log::{Body, Mark, MarkLife, Part, PartHappened, PartLife};

use super::{Book, Happened, MarkRecord, PartRecord, PhotoRecord, Said, Stamp};
use crate::marks;

/// What people call a part, with its side.
pub(super) fn name(book: Book<'_>, id: &str) -> String {
    let Some(row) = book.car.part(id) else {
        let life = book.state.facts().parts.get(id);
        return life.and_then(|life| life.name.clone()).unwrap_or_else(|| id.to_owned());
    };
    let name = row.name.as_ref().map_or(id, |name| name.value.trim());
    match row.side.filter(|_| row.name.is_some()) {
        Some(side) => format!("{name}, {side}"),
        None => name.to_owned(),
    }
}

/// Every part: those of the car file, then those the log alone knows.
pub(super) fn parts(book: Book<'_>) -> Vec<PartRecord> {
    let mut all = places(book);
    for record in &mut all {
        record.life = lived(book, &record.id);
    }
    all
}

/// Every part as it is now, without what happened to it before.
pub(super) fn places(book: Book<'_>) -> Vec<PartRecord> {
    let lives = &book.state.facts().parts;
    let of_file = book.car.parts.iter().map(|row| {
        let id = row.id.value.as_str();
        let mut record = part(book, id, lives.get(id));
        record.place = record.place.or(row.state);
        let due =
            row.back_in_days.as_ref().zip(book.car.calendar.as_ref()).and_then(|(in_, all)| {
                let start = all.start.as_ref()?.value.number();
                axlewright_book::Day::from_number(start.checked_add(in_.value)?)
            });
        record.due = record.due.or_else(|| due.map(|day| day.to_string()));
        record
    });
    let of_log = lives.iter().filter(|(id, _)| book.car.part(id).is_none());
    of_file.chain(of_log.map(|(id, life)| part(book, id, Some(life)))).collect()
}

fn part(book: Book<'_>, id: &str, life: Option<&PartLife>) -> PartRecord {
    let body = |seq: u64| match book.body(seq) {
        Some(Body::Part(part)) => Some(part),
        _ => None,
    };
    let fitted = life.and_then(|life| life.fitted).and_then(body);
    let inspected = life.and_then(|life| life.inspected).and_then(body);
    PartRecord {
        id: id.to_owned(),
        name: name(book, id),
        place: life.and_then(|life| life.place),
        due: life.and_then(|life| life.due).map(|day| day.to_string()),
        verdict: inspected.and_then(|part| part.verdict.clone()),
        fate: life.and_then(|life| life.fate).map(|(fate, _)| happened(fate).to_owned()),
        in_spite: fitted.and_then(|part| part.in_spite.clone()),
        life: Vec::new(),
    }
}

fn lived(book: Book<'_>, id: &str) -> Vec<Happened> {
    let life = book.state.facts().parts.get(id);
    let events = life.map(|life| life.events.as_slice()).unwrap_or_default();
    let one = |seq: &u64| {
        let Some(Body::Part(part)) = book.body(*seq) else { return None };
        Some(Happened { words: words(part), stamp: book.stamp(*seq)? })
    };
    events.iter().filter_map(one).collect()
}

const fn happened(happened: PartHappened) -> &'static str {
    match happened {
        PartHappened::Tagged => "taken off and tagged",
        PartHappened::Inspected => "inspected",
        PartHappened::Kept => "kept",
        PartHappened::Refinished => "refinished",
        PartHappened::Replaced => "replaced",
        PartHappened::Ordered => "ordered",
        PartHappened::Due => "expected",
        PartHappened::Arrived => "arrived",
        PartHappened::Fitted => "fitted",
        PartHappened::Removed => "taken off again",
    }
}

fn words(part: &Part) -> String {
    let mut words = happened(part.happened).to_owned();
    let said = [
        part.side.as_ref().map(|side| format!(" on the {}", side.trim())),
        part.verdict.as_ref().map(|verdict| format!(": {}", verdict.trim())),
        part.due.as_ref().map(|due| format!(", due {}", due.trim())),
        part.in_spite.as_ref().map(|why| format!(", against its hand: {}", why.trim())),
        part.note.as_ref().map(|note| format!(" ({})", note.trim())),
    ];
    words.extend(said.into_iter().flatten());
    words
}

/// Every witness mark, by name.
pub(super) fn marks(book: Book<'_>) -> Vec<MarkRecord> {
    let all = book.state.facts().marks.iter();
    all.filter_map(|(name, life)| mark(book, name, life)).collect()
}

fn mark(book: Book<'_>, name: &str, life: &MarkLife) -> Option<MarkRecord> {
    let body = |seq: u64| match book.body(seq) {
        Some(Body::Mark(mark)) => Some(mark),
        _ => None,
    };
    let offset = life.offset.and_then(|seq| {
        let mark = body(seq)?;
        let how = mark.note.clone().unwrap_or_default();
        let text = mark.offset.as_ref()?.trim().to_owned();
        Some(Said { text, leaf: None, how, stamp: book.stamp(seq)? })
    });
    let void = life.void.as_ref().map(|void| {
        let name = self::name(book, &void.part);
        format!("{name} was {} ({})", void.word(), origin(void.seq))
    });
    let read = offset.as_ref().filter(|_| void.is_none()).map(|offset| Mark {
        mark: name.to_owned(),
        between: life.between.clone(),
        also: life.also.clone(),
        over: life.over.clone(),
        side: life.side.map(|side| side.word().to_owned()),
        offset: Some(offset.text.clone()),
        note: None,
    });
    let (worth, no_worth) = match read.map(|mark| marks::worth(book.car, &mark)) {
        None => (None, None),
        Some(Ok(worth)) => (Some(worth), None),
        Some(Err(why)) => (None, Some(why.words())),
    };
    let photos = book.state.facts().photos.get(name).map(Vec::as_slice).unwrap_or_default();
    let photos = photos.iter().filter_map(|seq| photo(book, *seq));
    let (before, after) = photos.partition(|photo| photo.when.as_deref() == Some("before"));
    Some(MarkRecord {
        name: name.to_owned(),
        between: life.between.each_ref().map(|id| self::name(book, id)),
        side: life.side,
        made: book.stamp(life.made)?,
        offset,
        void,
        worth,
        no_worth,
        before,
        after,
    })
}

fn origin(seq: u64) -> String {
    axlewright_book::Origin::Entry(seq).to_string()
}

/// Photos that show no mark, by what they show.
pub(super) fn photos(book: Book<'_>) -> Vec<PhotoRecord> {
    let facts = book.state.facts();
    let others = facts.photos.iter().filter(|(of, _)| !facts.marks.contains_key(*of));
    others.flat_map(|(_, seqs)| seqs.iter().filter_map(|seq| photo(book, *seq))).collect()
}

fn photo(book: Book<'_>, seq: u64) -> Option<PhotoRecord> {
    let entry = book.state.entry(seq)?;
    let Body::Photo(photo) = &entry.body else { return None };
    let when = photo.when.as_ref().map(|when| when.trim().to_lowercase());
    Some(PhotoRecord {
        sha256: photo.sha256.clone(),
        media: photo.media.clone(),
        width: photo.width,
        height: photo.height,
        of: book.called(&photo.of),
        when,
        note: photo.note.clone(),
        stamp: Stamp::of(entry),
    })
}

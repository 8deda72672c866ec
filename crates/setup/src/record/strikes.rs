//! Entries that do not count, and notes.

use axlewright_book::bolt_letter;
use axlewright_book::log::Body;

use super::{Book, Happened, Stamp, StrikeRecord};

/// Every entry that is struck, with the reason.
pub(super) fn strikes(book: Book<'_>) -> Vec<StrikeRecord> {
    let one = |(seq, by): (&u64, &u64)| {
        let (entry, by) = (book.state.entry(*seq)?, book.state.entry(*by)?);
        let Body::Strike { why, .. } = &by.body else { return None };
        Some(StrikeRecord {
            struck: Stamp::of(entry),
            kind: entry.body.kind().to_owned(),
            said: said(&entry.body),
            why: why.trim().to_owned(),
            by: Stamp::of(by),
        })
    };
    book.state.struck().iter().filter_map(one).collect()
}

/// What an entry said, in few words.
fn said(body: &Body) -> String {
    match body {
        Body::CarFile { text } => format!("{} lines", text.lines().count()),
        Body::Reading(reading) => {
            let at = reading.corner.as_deref().or(reading.side.as_deref()).unwrap_or_default();
            format!("{} {at} {}", reading.what.trim(), reading.value.trim())
        }
        Body::Part(part) => part.part.clone(),
        Body::Mark(mark) => match &mark.offset {
            Some(offset) => format!("{}: {}", mark.mark.trim(), offset.trim()),
            None => mark.mark.clone(),
        },
        Body::Photo(photo) => photo.of.clone(),
        Body::Step(step) => step.step.clone(),
        Body::Signed(signed) => format!("{} by {}", signed.of.trim(), signed.name.trim()),
        Body::Bolt(bolt) => {
            let value = bolt.value.as_deref().unwrap_or_default();
            let letter = bolt_letter(bolt.bolt);
            format!("{} bolt {letter} {} {value}", bolt.joint, bolt.state.trim())
        }
        Body::Attempt(attempt) => {
            let (anchor, plate) = (attempt.anchor_teeth, attempt.plate_teeth);
            let value = attempt.reading.value.trim();
            format!("{} anchor {anchor:+}, plate {plate:+}, {value}", attempt.side.trim())
        }
        Body::Round(round) => round.load.clone(),
        Body::Moved(moved) => format!("{} {} {}", moved.corner, moved.adjuster, moved.by),
        Body::Recheck(recheck) => recheck.what.clone(),
        Body::Energy(energy) => {
            format!("the energy {} {}", energy.side.as_deref().unwrap_or_default(), energy.said)
        }
        Body::Note { about, text } => format!("{} {}", about.trim(), text.trim()),
        Body::Strike { seq, .. } => format!("that entry {seq} does not count"),
        Body::Lost(lost) => lost.what.clone(),
        Body::Unread(unread) => unread.to_string(),
    }
}

/// Notes: what each is about, and the words.
pub(super) fn notes(book: Book<'_>) -> Vec<(String, Happened)> {
    let one = |seq: &u64| {
        let entry = book.state.entry(*seq)?;
        let Body::Note { about, text } = &entry.body else { return None };
        let words = text.trim().to_owned();
        Some((book.called(about), Happened { words, stamp: Stamp::of(entry) }))
    };
    book.state.facts().notes.iter().filter_map(one).collect()
}

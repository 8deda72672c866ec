//! Steps, the minutes they took, and who signed what.

use axlewright_book::Step;
use axlewright_book::log::{Body, JOB, StepLife, StillOpen};

use super::{Book, Minutes, Signature, Stamp, StepRecord};

/// A step by its first sentence, with its side.
pub(super) fn title(step: &Step) -> String {
    let words = step.words.value.split_whitespace().collect::<Vec<_>>().join(" ");
    let first = words.split_once(". ").map_or(words.as_str(), |(first, _)| first);
    let first = first.trim_end_matches('.');
    step.side.map_or_else(|| first.to_owned(), |side| format!("{first} ({side})"))
}

/// The steps of the car file, then those the log alone knows.
pub(super) fn steps(book: Book<'_>) -> Vec<StepRecord> {
    let lives = &book.state.facts().steps;
    let now = |life: &StepLife| Some((life.now, book.stamp(life.since)?));
    let of_file = book.car.steps.iter().map(|step| {
        let id = step.id.value.as_str();
        let life = lives.get(id);
        StepRecord {
            id: id.to_owned(),
            title: title(step),
            now: life.and_then(now),
            estimate: step.minutes.as_ref().map(|minutes| minutes.value),
            minutes: life.and_then(|life| life.minutes),
            hold: step.is_signed(),
            signed: signed(book, id),
        }
    });
    let of_log = lives.iter().filter(|(id, _)| book.car.step(id).is_none());
    let of_log = of_log.map(|(id, life)| StepRecord {
        id: id.clone(),
        title: id.clone(),
        now: now(life),
        estimate: None,
        minutes: life.minutes,
        hold: false,
        signed: signed(book, id),
    });
    of_file.chain(of_log).collect()
}

/// Minutes against estimates, over the steps that have both.
pub(super) fn minutes(steps: &[StepRecord]) -> Minutes {
    let both = steps.iter().filter_map(|step| Some((step.minutes?, step.estimate?)));
    both.fold(Minutes::default(), |sum, (took, estimate)| Minutes {
        steps: sum.steps.saturating_add(1),
        took: sum.took.saturating_add(u64::from(took)),
        estimate: sum.estimate.saturating_add(u64::from(estimate)),
    })
}

/// Who has signed this.
pub(super) fn signed(book: Book<'_>, of: &str) -> Vec<Signature> {
    let seqs = book.state.facts().signed.get(of).map(Vec::as_slice).unwrap_or_default();
    seqs.iter().filter_map(|seq| signature(book, *seq)).collect()
}

/// Every signature, in order.
pub(super) fn signatures(book: Book<'_>) -> Vec<Signature> {
    let mut seqs: Vec<u64> = book.state.facts().signed.values().flatten().copied().collect();
    seqs.sort_unstable();
    seqs.into_iter().filter_map(|seq| signature(book, seq)).collect()
}

fn signature(book: Book<'_>, seq: u64) -> Option<Signature> {
    let entry = book.state.entry(seq)?;
    let Body::Signed(signed) = &entry.body else { return None };
    let of = signed.of.trim();
    let what = if of == JOB { "the whole job".to_owned() } else { book.called(of) };
    // Without a car file nothing says that anything was done.
    let standing = book.judge().and_then(|judge| judge.standing(seq));
    let (open, overtaken) = match standing {
        Some(standing) => (standing.open, standing.overtaken.map(|why| why.to_string())),
        None => (vec![StillOpen::Step(of.to_owned())], None),
    };
    Some(Signature {
        of: of.to_owned(),
        what,
        name: signed.name.trim().to_owned(),
        as_what: signed.as_what.as_ref().map(|what| what.trim().to_owned()),
        note: signed.note.clone(),
        stamp: Stamp::of(entry),
        in_spite: signed.in_spite.clone(),
        open,
        overtaken,
    })
}

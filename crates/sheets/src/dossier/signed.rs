//! Signatures, what is still open, and entries that do not count.

use axlewright_setup::Gap;
use axlewright_setup::record::{Record, Signature, StepHappened, StepRecord};
use maud::{Markup, html};

use super::{nothing, part as numbered, stamp, stamp_to_the_minute, table};
use crate::capital;

pub(super) fn is_done(step: &StepRecord) -> bool {
    step.now.as_ref().is_some_and(|(now, _)| *now == StepHappened::Done)
}

pub(super) const fn happened(now: StepHappened) -> &'static str {
    match now {
        StepHappened::Started => "begun",
        StepHappened::Done => "done",
        StepHappened::BackedOut => "undone again",
        StepHappened::Waived => "given up",
    }
}

/// Names in a row, those that no longer hold said to be so.
pub(super) fn signatures(all: &[Signature]) -> Markup {
    html! {
        @for (n, one) in all.iter().enumerate() {
            @if 0 < n { "; " }
            @if one.holds() { (one.name) }
            @else if one.open.is_empty() { s { (one.name) } " (no longer holds)" }
            @else { s { (one.name) } " (" (one.standing()) ")" }
            " " (stamp(&one.stamp))
        }
    }
}

pub(super) fn part(record: &Record) -> Markup {
    let rows = record.signatures.iter().map(|one| {
        let name = html! {
            b { (one.name) }
            @if let Some(what) = &one.as_what { ", " (what) }
            @if let Some(note) = &one.note { small.how { (note) } }
        };
        let holds = html! {
            @if one.holds() { "holds" } @else { b { (one.standing()) } }
            @if let Some(why) = &one.in_spite { small.how { "in spite of it: " (why) } }
        };
        vec![html! { (capital(&one.what)) }, name, stamp_to_the_minute(&one.stamp), holds]
    });
    numbered(
        "signed",
        "5",
        "Signatures, and what is open",
        html! {
            h3 { "Signed" }
            @if record.signatures.is_empty() { (nothing("Nothing is signed.")) }
            @else { (table(&["What", "By whom", "When", "Holds"], rows)) }
            (open(record))
        },
    )
}

fn open(record: &Record) -> Markup {
    let open = &record.open;
    let lists = [
        ("Not signed", &open.unsigned),
        ("Not at the list’s torque", &open.untorqued),
        ("Not read", &open.unread),
        ("Away", &open.away),
    ];
    html! {
        div #open {
            h3 { "Still open" }
            @if lists.iter().all(|(_, gaps)| gaps.is_empty()) {
                (nothing("By what was written nothing is open."))
            }
            @for (title, gaps) in lists.into_iter().filter(|(_, gaps)| !gaps.is_empty()) {
                h4 { (title) ": " (gaps.len()) }
                ul.open-list { @for gap in gaps { (item(gap)) } }
            }
        }
    }
}

fn item(gap: &Gap) -> Markup {
    html! {
        li data-gap=(gap.id) {
            (capital(&gap.measure)) "."
            @if !gap.how.is_empty() { " " small.how { (capital(&gap.how)) } }
        }
    }
}

/// Entries that do not count, and those that count and make no sense.
pub(super) fn strikes(record: &Record) -> Markup {
    let rows = record.strikes.iter().map(|one| {
        let said = html! { (capital(&one.kind)) ": " (one.said) " " (stamp(&one.struck)) };
        vec![said, html! { (one.why) }, stamp(&one.by)]
    });
    numbered(
        "struck",
        "8",
        "Struck out",
        html! {
            p.soft {
                "A mistake is struck out by a later entry and stays to be read. Nothing here \
                 counts anywhere else in this dossier."
            }
            @if record.strikes.is_empty() { (nothing("Nothing is struck out.")) }
            @else { (table(&["What it said", "Why it does not count", "Struck by"], rows)) }
            @if !record.unfolded.is_empty() {
                h3 { "Entries that make no sense" }
                ul { @for (seq, why) in &record.unfolded { li { "Entry " (seq) ": " (why) "." } } }
            }
            @if 0 < record.counts.unread {
                p.beware {
                    b { "Not read: " } (record.counts.unread)
                    " entries were written by a later version of the program; they are kept as \
                     they stand, and nothing in this dossier comes from them."
                }
            }
        },
    )
}

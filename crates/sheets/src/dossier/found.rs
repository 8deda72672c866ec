//! What was found: readings before anything was touched and now, parts looked at, marks, notes.

use axlewright_setup::record::{MarkRecord, PartRecord, ReadingLine, Record};
use maud::{Markup, html};

use super::photos::Album;
use super::{dash, nothing, part as numbered, said, stamp, table};
use crate::build_sheet::pieces;
use crate::capital;
use crate::words;

pub(super) fn part(record: &Record, album: &mut Album<'_>) -> Markup {
    numbered(
        "found",
        "2",
        "What was found",
        html! {
            h3 { "Read before strip-down, and now" }
            @if record.readings.is_empty() { (nothing("No reading was written.")) }
            @else {
                (table(&["What", "Before strip-down", "Now"], record.readings.iter().map(reading)))
            }
            (parts(record))
            (marks(record, album))
            @if !record.notes.is_empty() {
                h3 { "Notes" }
                ul.notes {
                    @for (about, note) in &record.notes {
                        li {
                            @if !about.is_empty() { b { (about) ": " } }
                            (note.words) " " (stamp(&note.stamp))
                        }
                    }
                }
            }
        },
    )
}

fn reading(line: &ReadingLine) -> Vec<Markup> {
    let name = html! {
        (capital(&line.what))
        @match line.corner {
            // A sill belongs to a side, not to a wheel.
            Some(corner) if line.what.contains("sill") => { ", " (corner.side()) }
            Some(corner) => { ", " (pieces::corner(corner).to_lowercase()) }
            None => {}
        }
        @if let Some(stage) = &line.stage { small.how { "while: " (stage) } }
    };
    let open = || html! { span.open { "not read" } };
    let now = html! {
        @match &line.now { Some(now) => (said(now)), None => (open()) }
        @if !line.earlier.is_empty() {
            small.how {
                "earlier: "
                @for (n, earlier) in line.earlier.iter().enumerate() {
                    @if 0 < n { ", " }
                    "“" (earlier.text) "” (" (earlier.stamp.origin) ")"
                }
            }
        }
    };
    vec![name, line.before.as_ref().map_or_else(open, said), now]
}

/// Parts that somebody looked at or decided about.
fn parts(record: &Record) -> Markup {
    let looked = |part: &&PartRecord| part.verdict.is_some() || part.fate.is_some();
    let rows = record.parts.iter().filter(looked).map(|part| {
        let word = |word: &Option<String>| match word {
            Some(word) => html! { (word) },
            None => dash(),
        };
        vec![html! { (part.name) }, word(&part.verdict), word(&part.fate)]
    });
    let rows: Vec<Vec<Markup>> = rows.collect();
    html! {
        @if !rows.is_empty() {
            h3 { "Parts looked at" }
            (table(&["Part", "Found", "Decided"], rows))
        }
    }
}

fn marks(record: &Record, album: &mut Album<'_>) -> Markup {
    html! {
        h3 { "Witness marks" }
        @if record.marks.is_empty() { (nothing("No mark was made.")) }
        @for mark in &record.marks { (one_mark(mark, album)) }
    }
}

fn one_mark(mark: &MarkRecord, album: &mut Album<'_>) -> Markup {
    let [one, other] = &mark.between;
    html! {
        article.mark {
            h4 { (mark.name) @if mark.void.is_some() { " " span.void { "void" } } }
            p { "Across " (one) " and " (other) ". " (stamp(&mark.made)) }
            @if let Some(void) = &mark.void {
                p.beware { b { "Tells nothing any more: " } (void) "." }
            }
            @match &mark.offset {
                Some(offset) => p { "On return: " (said(offset)) },
                None => @if mark.void.is_none() { (nothing("Not looked at on return.")) },
            }
            @if let Some(worth) = &mark.worth { (self::worth(worth)) }
            @if let Some(why) = &mark.no_worth { p.open { (why) } }
            @if !mark.before.is_empty() || !mark.after.is_empty() {
                div.album {
                    @for photo in mark.before.iter().chain(&mark.after) { (album.photo(photo)) }
                }
            }
        }
    }
}

/// Camber and toe on the line, reasons below.
fn worth(worth: &axlewright_setup::Finding) -> Markup {
    html! {
        details.figure.key data-finding=(worth.id) {
            summary {
                span.name { (words::title(worth.id)) }
                span.value {
                    @if let Some(camber) = worth.value.get("camber") {
                        "camber " (pieces::item(camber))
                    }
                    @if let Some(toe) = worth.value.get("toe") { ", toe-in " (pieces::item(toe)) }
                }
                span.why-mark { "why?" }
            }
            div.reasons { (pieces::why(&worth.why)) }
        }
    }
}

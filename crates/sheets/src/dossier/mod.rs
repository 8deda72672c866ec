//! The dossier: what was found, done, measured and signed, as one file that needs nothing else.
//!
//! ```text
//!   title, what is still open
//!   1 build sheet       what the car needs, as figured from what is known
//!   2 what was found    readings before strip-down and now, parts looked at, marks, notes
//!   3 what was done     steps and minutes, fits of the bars, bolts, lives of the parts
//!   4 on its wheels     rounds, what was moved between them, re-checks
//!   5 signatures        and what is still open
//!   6 for the alignment shop, a page of its own
//!   7 photos · 8 entries that do not count
//!   last page           the hash that seals the log, and how to check it
//! ```
//!
//! A photo is put in as a small picture. A log holds thousands of entries and the dossier tells
//! them by thing, not by moment.

mod alignment;
mod done;
mod found;
mod photos;
mod seal;
mod signed;
mod wheels;

use axlewright_setup::record::{PhotoRecord, Record, Said, Stamp};
use axlewright_setup::{Assessment, cautions};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::build_sheet::{contents, page_rules, pieces, ways};
use photos::Album;

const STYLE: &str = include_str!("dossier.css");

/// A small picture of a photo.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// `image/jpeg`, `image/png` or `image/webp`.
    pub media: String,
    /// The file.
    pub bytes: Vec<u8>,
}

/// The whole dossier as one HTML document, without script and without anything loaded from
/// elsewhere. `photo` gives the small picture of a photo, or nothing where its file is missing; it
/// is asked for at most 240 of them.
///
/// # Accuracy
/// Numbers are rounded as on the build sheet; what was written stands beside them word for word.
pub fn dossier(
    found: &Assessment,
    record: &Record,
    photo: &mut dyn FnMut(&PhotoRecord) -> Option<Picture>,
) -> String {
    let mut album = Album::new(photo);
    let car = found.car.as_deref().unwrap_or("unnamed car");
    let body = html! {
        header { (title_block(car, record)) (contents_of_it()) }
        main {
            (glance(record))
            (part("build-sheet", "1", "Build sheet", html! {
                p.soft { "What this car needs, as it follows from what is known of it now." }
                (ways(found))
                (contents(found))
            }))
            (found::part(record, &mut album))
            (done::part(record))
            (wheels::part(record))
            (signed::part(record))
            (alignment::part(found, record))
            (photos::part(record, &mut album))
            (signed::strikes(record))
            (seal::part(record))
        }
    };
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Dossier: " (car) }
                style {
                    (PreEscaped(pieces::STYLE)) (PreEscaped(STYLE))
                    (PreEscaped(page_rules("Dossier", car)))
                }
            }
            body { (body) }
        }
    }
    .into_string()
}

fn title_block(car: &str, record: &Record) -> Markup {
    let day = record.last.as_ref().and_then(|stamp| stamp.day.as_deref());
    html! {
        div.title-block {
            h1 { "Dossier" }
            dl {
                div { dt { "Car" } dd { (car) } }
                div { dt { "Build number" } dd {
                    @match record.build_number { Some(n) => (n), None => "not known" }
                } }
                div { dt { "As of" } dd.num { (day.unwrap_or("no entry yet")) } }
            }
        }
    }
}

fn contents_of_it() -> Markup {
    let all = [
        ("build-sheet", "Build sheet"),
        ("found", "Found"),
        ("done", "Done"),
        ("on-its-wheels", "On its wheels"),
        ("signed", "Signatures"),
        ("alignment", "Alignment shop"),
        ("photos", "Photos"),
        ("struck", "Struck out"),
        ("seal", "How to check it"),
    ];
    html! {
        nav aria-label="in this dossier" {
            @for (id, words) in all { a href={ "#" (id) } { (words) } }
        }
    }
}

/// What it is, who wrote in it, and what is still open.
fn glance(record: &Record) -> Markup {
    let done = record.steps.iter().filter(|step| signed::is_done(step)).count();
    let open = &record.open;
    let counts = [
        (open.unsigned.len(), "signature", "signatures", "to be given"),
        (open.untorqued.len(), "joint", "joints", "not at the list's torque"),
        (open.unread.len(), "reading", "readings", "not taken"),
        (open.away.len(), "part", "parts", "away"),
    ];
    html! {
        section.at-a-glance aria-labelledby="at-a-glance" {
            h2 id="at-a-glance" { "At a glance" }
            p.lead {
                (counted(record.counts.entries, "entry", "entries"))
                @if let Some((first, last)) = between(record) {
                    " from " span.num { (first) } " to " span.num { (last) }
                }
                @if !record.writers.is_empty() { ", written by " (record.writers.join(", ")) }
                ". " (done) " of " (counted(record.steps.len() as u64, "step", "steps")) " done."
            }
            ul.still-open {
                @for (n, one, many, what) in counts.into_iter().filter(|(n, ..)| 0 < *n) {
                    li { a href="#open" { (counted(n as u64, one, many)) " " (what) } }
                }
                @if counts.iter().all(|(n, ..)| *n == 0) {
                    li { "By what was written nothing is open." }
                }
            }
            p.soft { (cautions::DOSSIER.rest) " " (cautions::WORK.rest) }
        }
    }
}

fn between(record: &Record) -> Option<(&str, &str)> {
    let day = |stamp: &'_ Option<Stamp>| stamp.as_ref().map(|stamp| stamp.day.is_some());
    (day(&record.first)? && day(&record.last)?).then_some(())?;
    Some((record.first.as_ref()?.day.as_deref()?, record.last.as_ref()?.day.as_deref()?))
}

/// One numbered part of the dossier.
fn part(id: &str, number: &str, title: &str, body: Markup) -> Markup {
    html! {
        section.part id=(id) aria-labelledby={ (id) "-title" } {
            h2.part-title id={ (id) "-title" } { span.part-no { (number) } " " (title) }
            (body)
        }
    }
}

/// `3 entries`, `1 entry`.
fn counted(n: u64, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

/// Where, when, by whom.
fn stamp(stamp: &Stamp) -> Markup {
    stamp_of(&stamp_parts(stamp, false))
}

/// The same with the time of day, for what is answered for to the minute.
fn stamp_to_the_minute(stamp: &Stamp) -> Markup {
    stamp_of(&stamp_parts(stamp, true))
}

/// Breaks over lines between its parts alone.
fn stamp_of(parts: &[String]) -> Markup {
    html! {
        small.stamp {
            @for (n, part) in parts.iter().enumerate() {
                @if 0 < n { " · " }
                span.whole { (part) }
            }
        }
    }
}

fn stamp_parts(stamp: &Stamp, to_the_minute: bool) -> Vec<String> {
    let mut parts = vec![match stamp.seq() {
        Some(_) => stamp.origin.to_string(),
        None => format!("car file, {}", stamp.origin),
    }];
    let of_entry = stamp.at.as_deref().and_then(|at| at.get(..10)) == stamp.day.as_deref();
    let minute = stamp.at.as_deref().and_then(|at| at.get(11..16));
    match (&stamp.day, minute.filter(|_| to_the_minute && of_entry)) {
        (Some(day), Some(minute)) => parts.push(format!("{day} {minute} UTC")),
        (Some(day), None) => parts.push(day.clone()),
        (None, _) => {}
    }
    parts.extend(stamp.by.clone());
    parts
}

/// A figure as a number with its doubt, the words it was written in, how, where and by whom.
fn said(said: &Said) -> Markup {
    html! {
        (figure(said))
        small.how {
            @if said.leaf.is_some() { "“" (said.text) "”" @if !said.how.is_empty() { "; " } }
            (said.how)
        }
        (stamp(&said.stamp))
    }
}

/// The figure alone.
fn figure(said: &Said) -> Markup {
    match &said.leaf {
        Some(leaf) => {
            let bare = axlewright_setup::Leaf { written: None, ..leaf.clone() };
            html! { b { (pieces::number(&bare)) } }
        }
        None => html! { b { (said.text) } },
    }
}

/// A table whose rows stand one under the other on a telephone, each cell with its head.
fn table(heads: &[&str], rows: impl IntoIterator<Item = Vec<Markup>>) -> Markup {
    html! {
        table.kept {
            thead { tr { @for head in heads { th scope="col" { (head) } } } }
            tbody {
                @for row in rows {
                    tr {
                        @for (n, cell) in row.into_iter().enumerate() {
                            @if n == 0 { th scope="row" { (cell) } }
                            @else { td data-head=[heads.get(n)] { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

/// Nothing to say in a cell.
fn dash() -> Markup {
    html! { span.dash { "–" } }
}

/// What is missing, in the place where it would stand.
fn nothing(words: &str) -> Markup {
    html! { p.open { (words) } }
}

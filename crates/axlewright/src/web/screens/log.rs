//! Everything written, newest first; one entry in full; striking what was wrong.

use std::sync::Arc;

use axlewright_book::log::{Body, Entry, KINDS};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::desk::say::in_words;
use crate::web::fields::{Fill, Look};
use crate::web::form::{Asked, Sent, escape};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

/// Entries on one screen.
const SHOWN: usize = 40;
/// The name of the form for a note.
const NOTE: &str = "note";
/// Letters of a search.
const SOUGHT_MAX: usize = 100;

/// What is asked of the log.
#[derive(Debug, Clone, Default)]
struct Search {
    words: String,
    kind: String,
    /// Only entries before this one.
    before: Option<u64>,
}

/// `GET /log?q=…&kind=…&before=…`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let search = Search {
        words: asked.get("q").unwrap_or_default().chars().take(SOUGHT_MAX).collect(),
        kind: asked.text("kind").unwrap_or_default(),
        before: asked.get("before").and_then(|before| before.parse().ok()),
    };
    let key = format!("{}\n{}\n{:?}", search.words, search.kind, search.before);
    let make = move |view: &View| body(view, &search, &Fill::default());
    site.screen(&prefs, Screen::Log, key, make).await
}

/// `POST /log`: a note.
pub async fn note(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let about = sent.text("about").unwrap_or_default();
    let text = sent.text("text").unwrap_or_default();
    let (name, then) = (NOTE.to_owned(), "/log".to_owned());
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Log, name, sent, then };
    form.write(Ok(Body::Note { about, text }), |view, fill| body(view, &Search::default(), fill))
        .await
}

/// `GET /log/{seq}`
pub async fn one(State(site): State<Shared>, prefs: Prefs, Path(seq): Path<String>) -> Response {
    let Some(seq) = seq.parse().ok().filter(|seq| site.bench.look().state().entry(*seq).is_some())
    else {
        return guard::nowhere().await;
    };
    let make = move |view: &View| entry(view, seq, &Fill::default());
    site.screen(&prefs, Screen::Log, format!("entry {seq}"), make).await
}

/// `POST /log/{seq}`: strikes the entry.
pub async fn strike(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(seq): Path<String>,
    Sent(sent): Sent,
) -> Response {
    let Ok(seq) = seq.parse::<u64>() else { return guard::nowhere().await };
    let why = sent.text("why").unwrap_or_default();
    let (name, then) = (format!("strike-{seq}"), format!("/log/{seq}"));
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Log, name, sent, then };
    let again = move |view: &View, fill: &Fill| entry(view, seq, fill);
    form.act(move |bench, hand| bench.strike(hand, seq, &why), again).await
}

fn body(view: &View, search: &Search, fill: &Fill) -> Markup {
    html! {
        (page::may_write(view))
        (list(view, search))
        (search_form(search))
        (note_form(fill))
    }
}

fn note_form(fill: &Fill) -> Markup {
    let typed = fill.of(NOTE);
    html! {
        section id="note" {
            h2 { "Write a note" }
            form method="post" action="/log" data-key=(typed.key()) {
                (typed.head())
                (typed.text("about", "About", Look { hint: "A part, a step, anything",
                    ..Look::default() }))
                (typed.area("text", "Note", Look { needed: true, ..Look::default() }))
                button type="submit" { "Write this note" }
            }
        }
    }
}

fn search_form(search: &Search) -> Markup {
    html! {
        section id="search" {
            h2 { "Search" }
            form method="get" action="/log" role="search" {
                div.field {
                    label for="log-q" { "Words in it" }
                    input type="search" id="log-q" name="q" value=(search.words)
                        maxlength=(SOUGHT_MAX);
                }
                div.field {
                    label for="log-kind" { "Kind" }
                    select id="log-kind" name="kind" {
                        option value="" { "every kind" }
                        @for (_, word, _) in KINDS {
                            option value=(word) selected[*word == search.kind] { (word) }
                        }
                    }
                }
                button type="submit" { "Search" }
            }
        }
    }
}

impl Search {
    fn fits(&self, entry: &Entry, words: &str) -> bool {
        self.before.is_none_or(|before| entry.seq < before)
            && (self.kind.is_empty() || entry.body.kind() == self.kind)
            && (words.is_empty() || speaks_of(entry, words))
    }
}

fn speaks_of(entry: &Entry, words: &str) -> bool {
    in_words(&entry.body).to_lowercase().contains(words)
        || entry.by.to_lowercase().contains(words)
        || entry.at.starts_with(words)
}

fn list(view: &View, search: &Search) -> Markup {
    let state = view.state();
    let words = search.words.trim().to_lowercase();
    let fitting = state.entries().iter().rev().filter(|entry| search.fits(entry, &words));
    let found: Vec<&Arc<Entry>> = fitting.take(SHOWN + 1).collect();
    let last = found.get(SHOWN - 1).filter(|_| SHOWN < found.len()).map(|entry| entry.seq);
    html! {
        p { a.button href="#note-text" { "Write a note" } " "
            a.button href="#search" { "Search" } }
        @if found.is_empty() { p.lead { "Nothing found." } }
        ul.links.log {
            @for entry in found.iter().take(SHOWN) {
                li { a href={ "/log/" (entry.seq) } {
                    span .struck[state.struck_by(entry.seq).is_some()] {
                        b { (entry.seq) } " " (cut(&in_words(&entry.body)))
                    }
                    span.soft {
                        @if state.struck_by(entry.seq).is_some() { b { "struck" } " · " }
                        (page::moment(&entry.at)) " · " (entry.by) " · " (entry.body.kind())
                    }
                } }
            }
        }
        @if let Some(last) = last {
            p { a.button href={ "/log?q=" (escape(&search.words)) "&kind=" (escape(&search.kind))
                "&before=" (last) "#search" } { "Earlier" } }
        }
    }
}

/// A long text is shown in full on its own screen.
fn cut(text: &str) -> String {
    let mut short: String = text.chars().take(200).collect();
    if short.len() < text.len() {
        short.push('…');
    }
    short
}

fn entry(view: &View, seq: u64, fill: &Fill) -> Markup {
    let state = view.state();
    let Some(entry) = state.entry(seq) else { return html! {} };
    let struck_by = state.struck_by(seq);
    let unfolded = state.unfolded().find(|one| one.seq == seq);
    html! {
        h2 { "Entry " (entry.seq) }
        @match struck_by {
            Some(by) => p.state { "Struck: it does not count any more, by "
                a href={ "/log/" (by) } { "entry " (by) } ". Strike that one, and this counts \
                again." },
            None => {}
        }
        @if let Some(unfolded) = unfolded { p.fault { "Not counted: " (unfolded.why) "." } }
        p.lead .struck[struck_by.is_some()] { (in_words(&entry.body)) }
        dl.block-list {
            div { dt { "When (UTC)" } dd { (page::moment(&entry.at)) } }
            div { dt { "Who" } dd { (entry.by) } }
            div { dt { "Kind" } dd { (entry.body.kind()) } }
        }
        @if let Body::Photo(photo) = &entry.body { (super::marks::picture(photo)) }
        @if let Body::CarFile { text } = &entry.body {
            details.fold id="text" {
                summary { span.name { "Its text" } span.value {} span.why-mark { "open" } }
                pre.text { (text) }
            }
        }
        @if struck_by.is_none() { (strike_form(seq, fill)) }
        p { a.button href="/log" { "The whole log" } }
    }
}

fn strike_form(seq: u64, fill: &Fill) -> Markup {
    let name = format!("strike-{seq}");
    let typed = fill.of(&name);
    html! {
        section id="strike" {
            h2 { "Strike this entry" }
            p { "It stays in the log, struck through, and counts no more. Nothing is ever taken \
                out." }
            form method="post" action={ "/log/" (seq) } data-key=(typed.key()) {
                (typed.head())
                (typed.text("why", "Why", Look { needed: true, ..Look::default() }))
                button type="submit" { "Strike entry " (seq) }
            }
        }
    }
}

//! One finding on one line, with its reasons one tap below.

use axlewright_setup::{Finding, Input, Item, Leaf, Subject, Why};
use maud::{Markup, html};

use super::item;
use crate::{format, words};

/// Inputs with less than this share of the variance stand one tap further down.
const SMALL_SHARE: f64 = 0.01;
/// So many inputs are shown in any case, and no more than so many.
const INPUTS_MIN: usize = 4;
const INPUTS_MAX: usize = 10;

/// How much of its name a line needs where it stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Name {
    /// The section names the subject.
    Short,
    /// The line names it.
    WithSubject,
}

/// Reasons only, for figures that a table has shown already.
pub(super) fn reasons(finding: &Finding) -> Markup {
    html! {
        details.figure.bare data-finding=(finding.id) data-of=[finding.of.as_ref().map(code)]
            data-at=[finding.at.map(words::state_code)] {
            summary {
                span.name {
                    (words::title(finding.id))
                    @if let Some(state) = finding.at { " " small { "(" (words::state(state)) ")" } }
                }
                span.value {}
                span.why-mark { "why?" }
            }
            div.reasons { (why(&without_bar(finding))) }
        }
    }
}

/// The reasons, without the sentence that bars an act: it stands before the act, once.
fn without_bar(finding: &Finding) -> Why {
    let is_barred =
        matches!(finding.value.get("barred_by"), Some(Item::Word(why)) if !why.is_empty());
    let words = if is_barred { String::new() } else { finding.why.words.clone() };
    Why { words, ..finding.why.clone() }
}

/// A line that opens: title, main number, "why?".
pub(super) fn figure(finding: &Finding, name: Name) -> Markup {
    line(finding, name, "figure")
}

/// The same for what the sheet is about: its reasons are printed too.
pub(super) fn key_figure(finding: &Finding, name: Name) -> Markup {
    line(finding, name, "figure key")
}

fn line(finding: &Finding, name: Name, class: &str) -> Markup {
    let (main, shown) = main_value(&finding.value);
    let subject = match name {
        Name::Short => None,
        Name::WithSubject => finding.of.as_ref().map(words::subject),
    };
    html! {
        details class=(class) data-finding=(finding.id) data-of=[finding.of.as_ref().map(code)]
            data-at=[finding.at.map(words::state_code)] {
            summary {
                span.name {
                    (words::title(finding.id))
                    @if let Some(subject) = subject { " · " (subject) }
                    @if let Some(state) = finding.at {
                        " " small { "(" (words::state(state)) ")" }
                    }
                }
                span.value { (main) }
                span.why-mark { "why?" }
            }
            div.reasons {
                (item::other_parts(&finding.value, &shown))
                (why(&finding.why))
            }
        }
    }
}

fn code(subject: &Subject) -> &str {
    match subject {
        Subject::Corner(corner) => corner.code(),
        Subject::Stand(name) | Subject::Step(name) | Subject::Joint(name) => name,
        Subject::Sighted(_) => "photo",
    }
}

/// What stands on the line, and which parts of the value that covers.
pub(super) fn main_value(value: &Item) -> (Markup, Vec<&'static str>) {
    match value {
        Item::Object(_) if value.get("from").is_some() && value.get("to").is_some() => {
            (html! { (span(value)) }, vec!["from", "to", "fit"])
        }
        Item::Object(_) if value.get("windows").is_some() => {
            let windows = value.get("windows").map(Item::items).unwrap_or_default();
            let spans = html! {
                @for (n, row) in windows.iter().enumerate() { @if n > 0 { ", " } (span(row)) }
                @if windows.is_empty() { "nowhere" }
            };
            (spans, vec!["fit"])
        }
        Item::Object(_) if value.get("stopped_by").is_some() => {
            let force = value.get("force").map(item::item);
            let by = value.get("stopped_by").map(item::item).unwrap_or_default();
            let main = html! { (by) @if let Some(force) = force { ", " (force) } };
            (main, vec!["stopped_by", "force"])
        }
        Item::Object(parts) => {
            let known = words::main_parts().iter().find(|key| value.get(key).is_some());
            let first = parts.first().map(|(key, _)| key);
            match known.or(first) {
                Some(key) => {
                    let main = value.get(key).map(item::item).unwrap_or_default();
                    (main, vec![*key])
                }
                None => (html! {}, Vec::new()),
            }
        }
        Item::List(rows) => (html! { (rows.len()) " rows" }, Vec::new()),
        other => (item::item(other), Vec::new()),
    }
}

/// From and to of a window; what nothing limits is said in words.
pub(super) fn span(window: &Item) -> Markup {
    let end = |key| window.get(key).and_then(Item::as_leaf);
    match (end("from"), end("to")) {
        (Some(from), Some(to)) => html! { (item::number(from)) " to " (item::number(to)) },
        (None, Some(to)) => html! { "up to " (item::number(to)) },
        (Some(from), None) => html! { "from " (item::number(from)) },
        (None, None) => html! { "at every angle" },
    }
}

/// In words, by which formula, after whom, from what.
pub(super) fn why(why: &Why) -> Markup {
    let mut inputs: Vec<&Input> = why.inputs.iter().collect();
    inputs.sort_by(|a, b| b.share.unwrap_or(-1.0).total_cmp(&a.share.unwrap_or(-1.0)));
    let heavy = inputs.iter().filter(|i| i.share.is_none_or(|s| SMALL_SHARE <= s)).count();
    let (main, rest) = inputs.split_at(heavy.clamp(INPUTS_MIN, INPUTS_MAX).min(inputs.len()));
    html! {
        @if !why.words.is_empty() { p { (why.words) } }
        @if !why.formula.is_empty() { p { "Formula: " span.formula { (why.formula) } } }
        @if !why.source.is_empty() { p { "Source: " (why.source) } }
        @if !inputs.is_empty() {
            (inputs_table(main))
            @if !rest.is_empty() {
                details.more {
                    summary {
                        span.name { (rest.len()) " more inputs, each a small share of u" }
                        span.why-mark { "show" }
                    }
                    // A table of sixty rows under each figure made the page twice as heavy.
                    p {
                        @for (at, input) in rest.iter().enumerate() {
                            @if 0 < at { "; " }
                            (input.name)
                            @if let Some(value) = input.value {
                                " " (format::amount_and_u(value, input.u))
                            }
                        }
                        "."
                    }
                }
            }
        }
    }
}

fn inputs_table(inputs: &[&Input]) -> Markup {
    html! {
        table.inputs {
            thead { tr {
                th scope="col" { "From" } th scope="col" { "Value" }
                th scope="col" { "Share of u" }
            } }
            tbody { @for input in inputs { (input_row(input)) } }
        }
    }
}

fn input_row(input: &Input) -> Markup {
    html! {
        tr {
            td { (input.name) @if !input.from.is_empty() { br; small { (input.from) } } }
            td {
                @if let Some(value) = input.value {
                    (item::number(&Leaf { value, u: input.u, written: None }))
                }
            }
            td { @if let Some(share) = input.share {
                span.num { (format::share(share)) span.of { " of u" } }
            } }
        }
    }
}

//! The car: what the manual says of it, what is still open, and its file.

use axlewright_book::{CarFile, Spec};
use axlewright_setup::{Assessment, Finding};
use axlewright_sheets::{capital, pieces};
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use maud::{Markup, html};

use super::has_a_screen;
use crate::desk::bench::{Bench, Hand, View, Written};
use crate::desk::{self, Fault};
use crate::web::fields::{Fill, Wrong};
use crate::web::form::Sent;
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;
use crate::web::writing::Form;

/// The largest car file in a form, in bytes; escaping can treble it.
pub(super) const TEXT_BYTES_MAX: usize = 3 * 1024 * 1024;

/// `GET /car`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Car, String::new(), body).await
}

/// `GET /car/text`
pub async fn text(State(site): State<Shared>, prefs: Prefs) -> Response {
    let make =
        |view: &View| editor(view, (view.text(), &base_of(view)), view.faults(), &Fill::default());
    site.screen(&prefs, Screen::Car, "text".to_owned(), make).await
}

fn body(view: &View) -> Markup {
    let (car, all) = (view.car(), view.assessment());
    html! {
        dl.block-list {
            @if let Some(number) = &car.build_number {
                div { dt { "Build number" } dd { (number.value) } }
            }
            @if let Some(date) = &car.build_date { div { dt { "Built" } dd { (date.text) } } }
            div { dt { "Corners computed" } dd { "left rear, right rear" } }
        }
        p { a.button href="/car/text" { "The car file’s text" } }
        (pieces::problems(all))
        section.gaps id="gaps" {
            h2 { "Still to measure or decide: " (all.gaps.len()) }
            @if all.gaps.is_empty() { p { "Nothing is missing." } }
            @for (n, gap) in all.gaps.iter().enumerate() { (pieces::gap(n, gap)) }
        }
        (specs(car))
        (other_figures(all))
    }
}

/// What no other screen shows: nothing is left out.
fn other_figures(all: &Assessment) -> Markup {
    let others = all.findings.iter().filter(|finding| !has_a_screen(finding.id));
    let others: Vec<&Finding> = others.collect();
    html! {
        @if !others.is_empty() {
            section id="figures" {
                h2 { "Other figures" }
                @for finding in others {
                    @let of = finding.of.as_ref().map(pieces::subject).map(|of| format!(" · {of}"));
                    @let name = [pieces::title(finding.id), &of.unwrap_or_default()].concat();
                    (page::line_called(finding, &name))
                }
            }
        }
    }
}

/// The manual's rows, several of one kind together, each with the cars it is for.
fn specs(car: &CarFile) -> Markup {
    let mut seen: Vec<(String, Vec<&Spec>)> = Vec::new();
    for spec in &car.specs {
        let name = match &spec.joint {
            Some(joint) => format!("{} of {joint}", spec.what.word()),
            None => spec.what.word().to_owned(),
        };
        match seen.iter_mut().find(|(had, _)| *had == name) {
            Some((_, rows)) => rows.push(spec),
            None => seen.push((name, vec![spec])),
        }
    }
    html! {
        section id="specs" {
            h2 { "What the manual says" }
            @for (name, rows) in &seen {
                @let holding = rows.iter().filter(|row| car.holds(row) == Some(true)).count();
                article.spec {
                    h3 { (capital(name)) }
                    @if 1 < holding && 1 < rows.len() {
                        p.fault { "Several rows claim to hold for this car. If they differ, that \
                            is a gap: see above." }
                    }
                    ul { @for row in rows { (spec(car, row)) } }
                }
            }
        }
    }
}

fn spec(car: &CarFile, row: &Spec) -> Markup {
    html! {
        li {
            b.num { (row.value.text) } " "
            @match car.holds(row) {
                Some(true) => span.state { "holds for this car" },
                Some(false) => span.state { "for other cars" },
                None => span.state { "not known whether it holds" },
            }
            span.soft {
                (row.source.as_ref().map_or("no source", |source| source.value.as_str()))
                ", line " (row.line)
                @if let Some(note) = &row.note { ": " (note) }
            }
        }
    }
}

const TEXT: &str = "car-text";
/// Which car file the text in a form was made from.
const BASE: &str = "base";

/// The entry with the car file that holds.
fn base_of(view: &View) -> String {
    view.state().facts().car_files.last().map(u64::to_string).unwrap_or_default()
}

/// The file's text with all that is wrong in it.
fn editor(view: &View, (text, base): (&str, &str), faults: &[Fault], fill: &Fill) -> Markup {
    let typed = fill.of(TEXT);
    html! {
        (page::may_write(view))
        p { "This is the file in which everything known about the car is written. A change is \
            looked through before it counts, and the text before it stays in the log." }
        form.wide-form method="post" action="/car/text" data-key=(typed.key()) {
            (typed.head())
            input type="hidden" name=(BASE) value=(base);
            (fault_list(faults))
            label.above for="car-text-text" { "Car file" }
            textarea.file id="car-text-text" name="text" rows="24" spellcheck="false" wrap="off"
                autocapitalize="off" autocomplete="off" { (text) }
            p.taps {
                button type="submit" name="do" value="look" { "Look it through" }
                button.main type="submit" name="do" value="write" { "Write it into the book" }
            }
        }
    }
}

/// `POST /car/text`: looked through, and written if it was asked and nothing is wrong in it.
pub async fn write(
    State(site): State<Shared>,
    prefs: Prefs,
    Sent(sent): Sent<TEXT_BYTES_MAX>,
) -> Response {
    let text = sent.raw("text").unwrap_or_default().to_owned();
    let seen = text.clone();
    let looked = tokio::task::spawn_blocking(move || desk::book::faults_of(&seen)).await;
    let Ok(faults) = looked else { return tell::sorry() };
    let is_wrong = faults.iter().any(|fault| fault.is_error);
    let (name, then) = (TEXT.to_owned(), "/car".to_owned());
    let is_look = sent.get("do") != Some("write");
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Car, name, sent, then };
    let now = base_of(&site.bench.look());
    let base = form.sent.get(BASE).unwrap_or(&now).to_owned();
    let is_overtaken = base != now;
    let (kept, made_from) = (text.clone(), if is_look { base } else { now.clone() });
    let again = move |view: &View, fill: &Fill| editor(view, (&kept, &made_from), &faults, fill);
    if is_look {
        let body = html! {
            @if !is_wrong { p.written-now role="status" { "Nothing is wrong in this text. It is \
                not written yet." } }
            (again(&site.bench.look(), &Fill::default()))
        };
        return site.once(&prefs, Screen::Car, body);
    }
    if is_wrong {
        let wrong = Wrong::new("text", "something in it is wrong", "put right what stands below");
        return form.refuse(StatusCode::UNPROCESSABLE_ENTITY, wrong, again).await;
    }
    if let Some(written) = form.already().await {
        return written;
    }
    if is_overtaken {
        let what = format!("the car file was changed meanwhile, by entry {now}");
        let right = "look at that entry in the log and put its change into this text, too; what is \
                     written then stands";
        let wrong = Wrong::new("text", what, right);
        return form.refuse(StatusCode::CONFLICT, wrong, again).await;
    }
    let act = move |bench: &Bench, hand: Hand<'_>| {
        let change = desk::book::change_car(bench, hand, &text)?;
        // The car file's own entry comes first.
        Ok(Written { seq: change.seqs.first().copied().unwrap_or_default() })
    };
    form.act(act, again).await
}

/// What `check` says, in the same words.
pub(super) fn fault_list(faults: &[Fault]) -> Markup {
    html! {
        @if !faults.is_empty() {
            section.caution role="alert" id="faults" {
                h2 { "Wrong in this text" }
                ul { @for fault in faults { li {
                    @if !fault.is_error { b { "To look at: " } }
                    @if let (Some(line), Some(column)) = (fault.line, fault.column) {
                        b { "Line " (line) ", column " (column) ": " }
                    }
                    (fault.what) "."
                    @if let Some(right) = &fault.right { " " (capital(right)) "." }
                } } }
            }
        }
    }
}

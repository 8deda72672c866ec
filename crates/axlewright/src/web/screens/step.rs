//! One step: its caution, what to change first, the work in large type, and what comes of it.

use axlewright_setup::order::Control;
use axlewright_setup::{Item, Subject};
use axlewright_sheets::{both_sides, first_lines, is, listed, pieces, word};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::desk::{Asked, OrderCall};
use crate::web::form::escape;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// Where a step's screen is.
pub(super) fn path(id: &str) -> String {
    format!("/step/{}", escape(id))
}

/// `GET /step/{step}`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Path(id): Path<String>) -> Response {
    if site.bench.look().car().step(&id).is_none() {
        return guard::nowhere().await;
    }
    site.screen(&prefs, Screen::Step, id.clone(), move |view| body(view, &id)).await
}

fn body(view: &View, id: &str) -> Markup {
    let order = view.order();
    let sequence = page::value(order, "order.sequence").map(Item::items).unwrap_or_default();
    let at = sequence.iter().position(|step| word(step, "step") == Some(id));
    let step = at.and_then(|at| sequence.get(at));
    html! {
        section.next {
            @if let Some(step) = step {
                p.soft { "Step " (at.unwrap_or_default() + 1) " of " (sequence.len()) " that are left"
                    @if let Some(phase) = word(step, "phase") { ", " (phase) } }
                (before(step))
                (work(step))
            } @else {
                (as_written(view, id))
            }
        }
        (shows(view, step))
        (reasons(view, id))
    }
}

/// A step that is not in the plan: it is done, or nothing is planned.
fn as_written(view: &View, id: &str) -> Markup {
    let Some(step) = view.car().step(id) else { return html! {} };
    html! {
        p.soft { "Not among the steps that are left." }
        @if let Some(caution) = &step.caution { p.beware { b { "Caution. " } (caution.value) } }
        p.work { (step.words.value) }
    }
}

/// What comes before a step: its caution, then what to change.
pub(super) fn before(step: &Item) -> Markup {
    html! {
        @if let Some(caution) = word(step, "caution") {
            div.caution { p { b { "Caution. " } (caution) } }
        }
        p.place { (pieces::step_place(step)) }
        @for change in first_lines(step) { p.change { b { "First " } (change) } }
    }
}

/// The step itself, what it needs, what is to be read and signed.
pub(super) fn work(step: &Item) -> Markup {
    let parts = both_sides(&listed(step, "parts"));
    html! {
        p.work { (word(step, "words").unwrap_or_default()) }
        @if !parts.is_empty() { p.with { b { "Needs: " } (parts.join("; ")) } }
        @if let Some(reading) = word(step, "reading") { p.with { b { "Read: " } (reading) } }
        @if is(step, "hold") {
            p.hold { b { "Hold point." } " Go on only when it is signed." }
        }
    }
}

/// The drawing that belongs to the arm's position in this step.
fn shows(view: &View, step: Option<&Item>) -> Markup {
    let Some(step) = step else { return html! {} };
    let side = word(step, "side");
    let all = view.assessment();
    let of = page::corners(all).into_iter().find(|corner| Some(corner.side().word()) == side);
    let raises =
        of.map(|corner| page::find_all(all, &["raise.stop-bolt"], Some(&Subject::Corner(corner))));
    let needs_raise = word(step, "arm") == Some("stop bolt clear");
    html! {
        @if needs_raise { @if let Some(raises) = raises { (pieces::raise_caution(&raises)) } }
        @if let Some(corner) = of {
            p { a.button href={ "/geometry/" (corner.code()) } {
                (pieces::corner(corner)) ": what fits where"
            } }
        }
    }
}

/// Why it stands where it stands.
fn reasons(view: &View, id: &str) -> Markup {
    let call = OrderCall { asked: Asked::Why(id.to_owned()), ..OrderCall::default() };
    let (found, _) = view.answer_order(&call, &mut |_| Control::Go);
    let Some(why) = found.findings.first() else { return html! {} };
    let direct = why.value.get("direct").map(Item::items).unwrap_or_default();
    let words = |before: &str| {
        view.car().step(before).map_or_else(|| before.to_owned(), |step| step.words.value.clone())
    };
    html! {
        section {
            h2 { "Why here" }
            p { (plain(&why.why.words)) }
            ul.links {
                @for arc in direct.iter().filter(|arc| !is(arc, "implied")) {
                    @if let Some(before) = word(arc, "before") {
                        li { a href=(path(before)) {
                            b { "After: " } (words(before))
                            @if word(arc, "reason") != Some("said") {
                                span.soft { (plain(word(arc, "words").unwrap_or_default())) }
                            }
                        } }
                    }
                }
            }
        }
    }
}

/// Reasons name steps between backticks; on the screen they stand between quotation marks.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (at, piece) in text.split('`').enumerate() {
        if 0 < at {
            out.push(if at % 2 == 1 { '“' } else { '”' });
        }
        out.push_str(piece);
    }
    out
}

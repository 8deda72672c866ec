//! Today: the next step and what it needs, what else can be done, what waits, what is to be signed.

use axlewright_book::Recall;
use axlewright_book::log::{Body, Energy};
use axlewright_quantity::Side;
use axlewright_setup::{Assessment, Item};
use axlewright_sheets::{both_sides, capital, count, duration, is, listed, pieces, word};
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use super::step;
use crate::desk::bench::View;
use crate::web::fields::Fill;
use crate::web::form::Sent;
use crate::web::frame::Screen;
use crate::web::parts_of_pages::{self as page, no_order};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

/// Hold points ahead that are named.
const HOLDS_SHOWN: usize = 4;
/// Steps that can be done now and are named.
const NOW_SHOWN: usize = 8;

/// `GET /`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    let make = |view: &View| body(view, &Fill::default());
    site.screen(&prefs, Screen::Today, String::new(), make).await
}

const ENERGY: &str = "energy";

/// `POST /energy`: whether the energy is where it is told to be.
pub async fn energy(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let said = sent.text("said").unwrap_or_default();
    let body_of = Energy { said, side: sent.text("side"), note: None };
    let (name, then) = (ENERGY.to_owned(), "/".to_owned());
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Today, name, sent, then };
    form.write(Ok(Body::Energy(body_of)), body).await
}

/// Asked first thing each evening.
fn where_it_is(view: &View, fill: &Fill) -> Markup {
    let typed = fill.of(ENERGY);
    let sides = Side::BOTH.map(Side::word);
    html! {
        details.fold id="energy" open[typed.asks_for("said")] {
            summary {
                span.name { "First thing each evening: is the energy where the line above says?" }
                span.value {}
                span.why-mark { "answer" }
            }
            p.soft { "Look. Whatever you do not remember is wound." }
            @if view.seq() != 0 {
                form method="post" action="/energy" data-key=(typed.key()) {
                    (typed.head())
                    (typed.words("side", "Which side", &sides, Some("both")))
                    p.taps {
                        button type="submit" name="said" value=(Recall::AsTold.word()) {
                            "Looked: it is so"
                        }
                        button type="submit" name="said" value=(Recall::NotRemembered.word()) {
                            "Don’t remember"
                        }
                    }
                }
            }
        }
    }
}

fn body(view: &View, fill: &Fill) -> Markup {
    let (all, order) = (view.assessment(), view.tonight());
    let sequence = page::value(order, "order.sequence").map(Item::items).unwrap_or_default();
    html! {
        (pieces::first(all))
        (pieces::problems(all))
        @if view.energy().is_some() {
            (where_it_is(view, fill))
        }
        @match sequence.first() {
            Some(next) => (next_step(next)),
            None if view.car().steps.is_empty() || !order.problems.is_empty() => (no_order(view)),
            None => section.next { h2 { "Nothing is left to do" }
                p.lead { "Every step that can be done is done." } },
        }
        (also_now(view, order, sequence))
        (waiting(view, order))
        (holds(view, sequence))
        (ends(view))
    }
}

fn next_step(next: &Item) -> Markup {
    let id = word(next, "step").unwrap_or_default();
    html! {
        section.next aria-labelledby="next" {
            h2 id="next" { "Next" }
            (step::before(next))
            (step::work(next))
            p { a.button.main href=(step::path(id)) { "Open this step" } }
        }
    }
}

/// What else could be done at this moment.
fn also_now(view: &View, order: &Assessment, sequence: &[Item]) -> Markup {
    let next = sequence.first().and_then(|step| word(step, "step"));
    let now = page::value(order, "order.now").map(Item::items).unwrap_or_default();
    let others: Vec<&Item> = now.iter().filter(|step| word(step, "step") != next).collect();
    html! {
        @if !others.is_empty() {
            section {
                h2 { "Could also be done now" }
                ul.links.sided {
                    @for step in others.iter().take(NOW_SHOWN) {
                        @let id = word(step, "step").unwrap_or_default();
                        li { a href=(step::path(id)) {
                            (page::side_of_step(view, id))
                            span { (mark(view, step)) (word(step, "words").unwrap_or_default()) }
                        } }
                    }
                }
                @if NOW_SHOWN < others.len() {
                    p { a href="/order" { (others.len() - NOW_SHOWN) " more in the order" } }
                }
            }
        }
    }
}

/// That a step has a caution: it is read before the step is chosen.
fn mark(view: &View, step: &Item) -> Markup {
    let known = word(step, "step").and_then(|id| view.car().step(id));
    let warned = word(step, "caution").is_some() || known.is_some_and(|s| s.caution.is_some());
    html! { @if warned { b.mark { "Caution · " } } }
}

/// Parts that are out and what they hold up.
fn waiting(view: &View, order: &Assessment) -> Markup {
    let blocked = page::value(order, "order.blocked-by");
    let parts = blocked.and_then(|b| b.get("parts")).map(Item::items).unwrap_or_default();
    let out = blocked.map(|b| listed(b, "out_of_order")).unwrap_or_default();
    html! {
        @if !parts.is_empty() || !out.is_empty() {
            section {
                h2 { "What waits" }
                ul {
                    @for (names, steps) in held(view, parts) {
                        li { b { "Holds up " (steps) @if steps == 1 { " step: " }
                            @else { " steps: " } } (names) ": not there." }
                    }
                    @for words in out { li { (step::plain(words)) } }
                }
            }
        }
    }
}

/// Parts by how many steps they hold up, left and right ones in one.
fn held(view: &View, parts: &[Item]) -> Vec<(String, usize)> {
    let mut groups: Vec<(usize, Vec<String>)> = Vec::new();
    for part in parts {
        let (id, steps) = (word(part, "part").unwrap_or_default(), listed(part, "holds_up").len());
        let row = view.car().part(id);
        let name = row.and_then(|row| row.name.as_ref()).map_or(id, |name| name.value.as_str());
        let side = row.and_then(|row| row.side).map(|side| format!("{} ", side.word()));
        let name = format!("{}{name}", side.unwrap_or_default());
        match groups.iter_mut().find(|(count, _)| *count == steps) {
            Some((_, names)) => names.push(name),
            None => groups.push((steps, vec![name])),
        }
    }
    let told = groups.into_iter().map(|(steps, names)| {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        (capital(&both_sides(&names).join("; ")), steps)
    });
    told.collect()
}

/// The next hold points.
fn holds(view: &View, sequence: &[Item]) -> Markup {
    let ahead: Vec<(usize, &Item)> =
        sequence.iter().enumerate().filter(|(_, step)| is(step, "hold")).collect();
    html! {
        @if !ahead.is_empty() {
            section {
                h2 { "Hold points ahead" }
                p.soft { "To be signed before work goes on." }
                ul.links.sided {
                    @for (at, step) in ahead.iter().take(HOLDS_SHOWN) {
                        li { a href=(step::path(word(step, "step").unwrap_or_default())) {
                            (pieces::side_tab(pieces::side_of(step)))
                            b { @match at {
                                0 => "This step",
                                1 => "After 1 step",
                                n => { "After " (n) " steps" },
                            } }
                            span { (mark(view, step)) (word(step, "words").unwrap_or_default()) }
                        } }
                    }
                }
            }
        }
    }
}

/// When it will be done, how much is left, and what is still to be measured.
fn ends(view: &View) -> Markup {
    let order = view.order();
    let finish = page::find(order, "order.finish", None, None);
    let cost = page::find(order, "order.cost", None, None);
    let left = cost.and_then(|found| count(&found.value, "total")).map(duration);
    let gaps = view.assessment().gaps.len();
    html! {
        section {
            h2 { "How far" }
            @if let Some(finish) = finish {
                a.line href=(page::why_path(finish)) data-finding=(finish.id) {
                    span.name { "Finished on" }
                    span.value { (word(&finish.value, "date").unwrap_or("not to be said yet")) }
                    span.why-mark { "why?" }
                }
            }
            @if let (Some(cost), Some(left)) = (cost, left) {
                a.line href=(page::why_path(cost)) data-finding=(cost.id) {
                    span.name { "Work left" } span.value { (left) } span.why-mark { "why?" }
                }
            }
            a.line href="/car#gaps" {
                span.name { "Still to measure or look up" } span.value { (gaps) }
                span.why-mark { "show" }
            }
        }
    }
}

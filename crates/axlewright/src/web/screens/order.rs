//! The order of work: stretches, each with its map and its steps.

use axlewright_book::Step;
use axlewright_quantity::Side;
use axlewright_setup::order::Control;
use axlewright_setup::{Finding, Item, cautions};
use axlewright_sheets::{
    capital, count, duration, is, map_arcs, order_map, pieces, stretches, word,
};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use super::step;
use crate::desk::bench::View;
use crate::desk::{Asked as Question, OrderCall};
use crate::web::form::Asked;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page, no_order};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

const FINDINGS: [&str; 7] = [
    "order.safety",
    "order.finish",
    "order.cost",
    "order.now",
    "order.blocked-by",
    "order.arcs",
    "order.sequence",
];

/// Letters of a step's words in a list to choose from.
const CUT: usize = 22;

/// `GET /order`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Order, String::new(), body).await
}

/// `GET /order/{stretch}`
pub async fn stretch(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(number): Path<String>,
) -> Response {
    let Some(number) = number.parse::<usize>().ok().filter(|number| 0 < *number) else {
        return guard::nowhere().await;
    };
    let key = number.to_string();
    site.screen(&prefs, Screen::Order, key, move |view| one(view, number)).await
}

/// `GET /order/back-out?what=…`: what to undo to be at a step or a part again.
pub async fn back_out(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let what = asked.text("what").unwrap_or_default();
    let key = format!("back-out {what}");
    site.screen(&prefs, Screen::Order, key, move |view| undo(view, &what)).await
}

fn undo(view: &View, what: &str) -> Markup {
    let done = view.state().steps_done();
    let step = |id: &str| view.car().step(id);
    let known = done.iter().enumerate().filter_map(|(n, id)| Some((n + 1, *id, step(id)?)));
    // The last one first: that is where a mistake is noticed.
    let known: Vec<(usize, &str, &Step)> = known.rev().collect();
    html! {
        h2 { "What to undo" }
        form method="get" action="/order/back-out" {
            div.field {
                label for="back-out-what" { "To be again at" }
                select id="back-out-what" name="what" {
                    @for (number, id, step) in &known {
                        option value=(id) selected[*id == what] {
                            (letter(step.side)) " " (number) ". " (cut(&step.words.value))
                        }
                    }
                }
                p.hint { "Numbered as they were done, the last one first." }
            }
            button type="submit" { "Show what to undo" }
        }
        @if known.is_empty() { p { "No step is written as done yet." } }
        @else if !what.is_empty() { (undone(view, what)) }
    }
}

/// The steps to undo, in the order in which they are undone.
fn undone(view: &View, what: &str) -> Markup {
    let done = view.state().steps_done().into_iter().map(str::to_owned).collect();
    let asked = Question::BackOut(what.to_owned());
    let call = OrderCall { asked, done, ..OrderCall::default() };
    let (found, faults) = view.answer_order(&call, &mut |_| Control::Go);
    let back = found.findings.first().map(|f| &f.value);
    let steps = back.map(|back| back.get("undo").unwrap_or(back));
    html! {
        @for fault in &faults { p.fault { (capital(&step::plain(&fault.what))) "." } }
        @if let Some(finding) = found.findings.first() {
            p.lead { (step::plain(&finding.why.words)) }
        }
        @if let Some(steps) = steps.filter(|steps| !steps.items().is_empty()) {
            (page::cautions("Before anything is undone", &cautions::before_undoing()))
            ol.links.sided { @for row in steps.items() {
                @let id = word(row, "step").unwrap_or_default();
                li { a href=(step::path(id)) {
                    (page::side_of_step(view, id))
                    span { @if let Some(words) = word(row, "words") { (words) } @else { (id) } }
                }
                @for twin in row.get("as").map(Item::items).unwrap_or_default() {
                    @if let Some(words) = word(twin, "caution") {
                        p.beware { b { "Caution " } (words) }
                    }
                    p { "As in " a href=(step::path(word(twin, "step").unwrap_or_default())) {
                        (word(twin, "step").unwrap_or_default())
                    } ": " (word(twin, "words").unwrap_or_default()) }
                }
                @if let Some(then) = word(row, "then") { p.beware { b { "Then " } (then) "." } } }
            } }
        }
    }
}

/// L or R in a list that holds nothing but text.
const fn letter(side: Option<Side>) -> &'static str {
    match side {
        Some(Side::Left) => "L",
        Some(Side::Right) => "R",
        None => "–",
    }
}

/// The first words of a long text, as many as a telephone's list has room for.
fn cut(text: &str) -> String {
    let mut words: String = text.chars().take(CUT).collect();
    if words.len() < text.len() {
        words.truncate(words.trim_end().len());
        words.push('…');
    }
    words
}

fn sequence(view: &View) -> &[Item] {
    page::value(view.order(), "order.sequence").map(Item::items).unwrap_or_default()
}

fn body(view: &View) -> Markup {
    let steps = sequence(view);
    if steps.is_empty() {
        return no_order(view);
    }
    let order = view.order();
    html! {
        p.lead { (steps.len()) " steps are left. Do them by their numbers; at a hold point, sign \
            before you go on." }
        div.caution { (pieces::cautions(&[cautions::NOT_AS_WRITTEN.caution()])) }
        p { a.button href="/order/back-out" { "Back out: what to undo" } }
        ol.stretches {
            @for (at, stretch) in stretches(steps).iter().enumerate() {
                @let holds = stretch.steps.iter().filter(|step| is(step, "hold")).count();
                li { a href={ "/order/" (at + 1) } {
                    b { (stretch.title) }
                    span { "from step " (stretch.first) ": " (stretch.steps.len())
                        @if stretch.steps.len() == 1 { " step, " } @else { " steps, " }
                        (duration(stretch.minutes))
                        @if holds == 1 { ", 1 hold point" }
                        @else if 1 < holds { ", " (holds) " hold points" }
                    }
                } }
            }
        }
        section {
            h2 { "Why in this order" }
            @for finding in page::find_all(order, &FINDINGS, None) {
                a.line href=(page::why_path(finding)) data-finding=(finding.id) {
                    span.name { (pieces::title(finding.id)) }
                    span.value { (in_short(finding)) }
                    span.why-mark { "why?" }
                }
            }
        }
    }
}

/// A finding of the order in a few words.
fn in_short(finding: &Finding) -> String {
    let steps = |n: usize| if n == 1 { "1 step".to_owned() } else { format!("{n} steps") };
    let value = &finding.value;
    match finding.id {
        "order.finish" => word(value, "date").unwrap_or("not to be said yet").to_owned(),
        "order.cost" => count(value, "total").map(duration).unwrap_or_default(),
        "order.blocked-by" => steps(value.get("steps").map_or(0, |list| list.items().len())),
        "order.safety" => {
            let many = |key| value.get(key).map_or(0, |list| list.items().len());
            format!("{} not known, {} not yet", many("unknown"), many("gates"))
        }
        "order.arcs" => format!("{} reasons", value.items().len()),
        _ => steps(value.items().len()),
    }
}

fn one(view: &View, number: usize) -> Markup {
    let all = stretches(sequence(view));
    let Some(stretch) = all.get(number - 1) else {
        return html! { p.lead { "There is no such stretch any more." }
        p { a.button href="/order" { "The whole order" } } };
    };
    let arcs = page::find(view.order(), "order.arcs", None, None);
    let drawn = arcs.map(|arcs| map_arcs(stretch, arcs)).unwrap_or_default();
    let map = order_map(stretch, &drawn);
    html! {
        h2 { (stretch.title) }
        p { b { (stretch.steps.len()) " steps, " (duration(stretch.minutes)) "." } }
        @if !stretch.tools.is_empty() { p { b { "Tools: " } (stretch.tools.join(", ")) } }
        @if !stretch.parts.is_empty() { p { b { "Parts: " } (stretch.parts.join("; ")) } }
        ol.steps start=(stretch.first) {
            @for (at, step) in stretch.steps.iter().enumerate() {
                @let id = word(step, "step").unwrap_or_default();
                li { a href=(step::path(id)) {
                    (pieces::side_tab(pieces::side_of(step)))
                    span.no { (stretch.first + at) }
                    span {
                        @if word(step, "caution").is_some() { b.mark { "Caution · " } }
                        @if is(step, "hold") { b.mark { "Hold point · " } }
                        (word(step, "words").unwrap_or_default())
                    }
                } }
            }
        }
        @if let Some(map) = map {
            section {
                h2 { "Map" }
                figure.map { (pieces::plain_drawing(&map)) }
                @let lettered = drawn.iter().filter(|arc| arc.is_geometry);
                ul { @for arc in lettered { li {
                    b { @if let Some(letter) = arc.letter { (letter) ", " }
                        (arc.before) " before " (arc.after) ": " }
                    (step::plain(&arc.words)) "."
                } } }
            }
        }
        nav.on aria-label="stretches" {
            @if 1 < number { a.button href={ "/order/" (number - 1) } { "Stretch before" } }
            @if number < all.len() { a.button href={ "/order/" (number + 1) } { "Next stretch" } }
        }
    }
}

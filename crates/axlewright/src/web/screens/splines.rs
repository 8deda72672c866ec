//! The teeth: what to draw at both ends of each bar, and how sure that is.

use axlewright_quantity::Corner;
use axlewright_setup::{Assessment, CornerScene, Item, SplineScene, Subject};
use axlewright_sheets::{pieces, spline_rings};
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

const CAUTIONS: [&str; 3] = [
    "A twisted bar stores energy and gives it back at once. Take all load off the bar before a \
     spline, a cover or the stop bolt is loosened.",
    "Hold the plate while its stop bolt is out, and keep hands and head out of its swing.",
    "The body stands on stands, never on the jack. Manual and local rules first.",
];

const FIGURES: [&str; 6] = [
    "free-angle.target",
    "free-angle.now",
    "hang.plate",
    "free-angle.manual",
    "vernier.step",
    "body.level",
];

/// `GET /splines`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Splines, String::new(), body).await
}

fn body(view: &View) -> Markup {
    let all = view.assessment();
    let corners = page::corners(all);
    let both = page::find(all, "index.both-sides", None, None);
    html! {
        (page::caution("Before a tooth is moved", &CAUTIONS))
        @if corners.is_empty() { p.lead { "Nothing is known of the bars yet." } }
        div.pair { @for corner in &corners { (side(all, *corner)) } }
        @if let Some(both) = both {
            section {
                h2 { "Both sides together" }
                p { (both.why.words) } (page::why_link(both))
            }
        }
        @for corner in corners { (choices(all, corner)) }
    }
}

fn side(all: &Assessment, corner: Corner) -> Markup {
    let of = Subject::Corner(corner);
    let scene = all.corners.iter().find(|scene| scene.corner == corner);
    let found = page::find(all, "index.choices", Some(&of), None);
    let best = found.and_then(|found| found.value.items().first());
    html! {
        section.card id={ "teeth-" (corner.code()) } {
            h2 { (pieces::corner(corner)) }
            @match scene.and_then(|scene: &CornerScene| scene.splines.as_ref()) {
                Some(splines) => (moves(splines, best)),
                None => p.lead { "Not known yet." },
            }
            (page::waits(all, &["index.choices", "free-angle.now"], Some(&of)))
            @for finding in page::find_all(all, &FIGURES, Some(&of)) { (page::line(finding)) }
        }
    }
}

/// The move in words and as a drawing.
pub(super) fn moves(splines: &SplineScene, best: Option<&Item>) -> Markup {
    html! {
        @match best.and_then(|best| best.get("counted_from")) {
            Some(Item::Word(from)) if from.contains("no reading") => p {
                b { "Counted from " (from) "." } " Read the plate before you draw a bar."
            },
            _ => {}
        }
        @if splines.anchor_move == 0 && splines.plate_move == 0 {
            p.do { "Leave both ends as they are." }
        } @else {
            @for words in pieces::moves(splines) { p.do { (words) } }
        }
        p { "Free angle now " b { (pieces::amount(splines.now.into())) } ", afterwards "
            b { (pieces::amount(splines.after.into())) } "; wanted "
            (pieces::amount(splines.target.into())) "." }
        @if let Some(best) = best { (pieces::outcome(best)) }
        (pieces::drawing(Some(spline_rings(splines)), "Not to scale: count from your own paint \
            marks, tooth by tooth."))
    }
}

fn choices(all: &Assessment, corner: Corner) -> Markup {
    let of = Subject::Corner(corner);
    let Some(found) = page::find(all, "index.choices", Some(&of), None) else { return html! {} };
    let rows = found.value.items();
    html! {
        details.fold id={ "choices-" (corner.code()) } {
            summary { span.name { (pieces::corner(corner)) ": all choices, best first" }
                span.value { (rows.len()) } span.why-mark { "show" } }
            ol.choices { @for row in rows { (pieces::choice(row)) } }
            (page::why_link(found))
        }
    }
}

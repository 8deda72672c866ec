//! A corner in side view: what fits where, what raising it takes, and how it travels.

use axlewright_quantity::{Angle, Corner};
use axlewright_setup::{
    Assessment, CornerScene, Item, State as Teeth, Subject, at_angle, cautions,
};
use axlewright_sheets::{pieces, side_view, stands_plan};
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::fields::hidden;
use crate::web::form::{Asked, Fields};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;

const WINDOWS: [&str; 6] = [
    "window.stop-bolt",
    "window.damper",
    "window.hose",
    "window.cable",
    "window.half-shaft",
    "window.plate-bend",
];
/// What the slider spans, in tenths of a degree, and where it stands at first.
const TENTHS_MIN: i16 = -150;
const TENTHS_MAX: i16 = 450;
const TENTHS_AT_FIRST: i16 = 110;

const RAISING: [&str; 2] = ["droop", "ride.stick"];
const BAR: [&str; 7] = [
    "bar.rate",
    "bar.shear-at-ride",
    "bar.shear-at-full-bump",
    "wheel-rate",
    "ride-frequency",
    "damper.rings",
    "travel",
];

/// Shown in a table, or on a drawing.
const IN_TABLES: [&str; 3] = ["raise.stop-bolt", "stands", "stands.upset"];

/// Whether findings with this id stand on this screen.
pub(super) fn shows(id: &str) -> bool {
    [&WINDOWS[..], &RAISING, &BAR, &IN_TABLES].iter().any(|ids| ids.contains(&id))
}

/// `GET /geometry`: straight to the first corner.
pub async fn show() -> Response {
    Redirect::to("/geometry/LR").into_response()
}

/// `GET /geometry/{corner}`
pub async fn corner(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(code): Path<String>,
    Asked(asked): Asked,
) -> Response {
    let Some(corner) = corner_of(&code) else { return guard::nowhere().await };
    let angle = angle_of(&asked);
    let key = format!("{code} {angle:?}");
    site.screen(&prefs, Screen::Geometry, key, move |view| body(view, corner, angle)).await
}

/// `GET /preview/angle?corner=…&angle=…`: what holds at that plate angle, as a piece of the screen.
pub async fn preview(State(site): State<Shared>, Asked(asked): Asked) -> Response {
    let corner = asked.get("corner").and_then(corner_of);
    let Some((corner, angle)) = corner.zip(angle_of(&asked)) else {
        return guard::nowhere().await;
    };
    let view = site.bench.look();
    let made = tokio::task::spawn_blocking(move || here(&view, corner, angle).into_string());
    made.await.map_or_else(|_| tell::sorry(), |made| Html(made).into_response())
}

/// The angle asked for, in tenths of a degree, so that a slider asks for a few hundred at most.
fn angle_of(asked: &Fields) -> Option<i16> {
    let degrees: f64 = asked.get("angle")?.parse().ok()?;
    let tenths = (degrees * 10.0).round();
    (TENTHS_MIN..=TENTHS_MAX).contains(&(tenths as i16)).then_some(tenths as i16)
}

/// The slider, and what holds where it stands.
fn probe(view: &View, corner: Corner, angle: Option<i16>) -> Markup {
    let tenths = angle.unwrap_or(TENTHS_AT_FIRST);
    html! {
        section id="at" {
            h2 { "At one plate angle" }
            form method="get" action={ "/geometry/" (corner.code()) "#at" }
                data-preview="/preview/angle" data-into="at-here" {
                (hidden("corner", corner.code()))
                div.field {
                    label for="at-angle" { "Plate angle, tail down: "
                        output for="at-angle" { (degrees(tenths)) } "°" }
                    input type="range" id="at-angle" name="angle" step="0.5"
                        min=(degrees(TENTHS_MIN)) max=(degrees(TENTHS_MAX))
                        value=(degrees(tenths));
                }
                noscript { button type="submit" { "Show what holds there" } }
            }
            div id="at-here" aria-live="polite" {
                @if let Some(tenths) = angle { (here(view, corner, tenths)) }
            }
        }
    }
}

fn degrees(tenths: i16) -> String {
    format!("{:.1}", f64::from(tenths) / 10.0)
}

fn here(view: &View, corner: Corner, tenths: i16) -> Markup {
    let angle = Angle::deg(f64::from(tenths) / 10.0);
    let found = at_angle(view.car(), view.assessment(), corner.side(), angle);
    let holds = found.findings.iter().filter(|finding| finding.id == "at.hold");
    html! {
        @let drawing = found.corners.first().and_then(side_view).map(|mut drawing| {
            // The corner is drawn on this screen once already; names are to stay apart.
            drawing.name = format!("here-{}", corner.code());
            drawing
        });
        (pieces::drawing(drawing, "The arm where you ask."))
        table.fits {
            thead { tr { th scope="col" { "At " (degrees(tenths)) "°" } th scope="col" { "Fits" }
                th scope="col" { "Margin" } } }
            tbody { @for finding in found.findings.iter().filter(|f| f.id != "at.hold") { tr {
                th scope="row" { (pieces::title(finding.id)) }
                td { (pieces::verdict(axlewright_sheets::word(&finding.value, "verdict")
                    .unwrap_or_default())) }
                td { @match finding.value.get("margin").and_then(Item::as_leaf) {
                    Some(margin) => (pieces::number(margin)),
                    None => "no limit in reach",
                } }
            } } }
        }
        @for hold in holds {
            @if hold.value.get("force").and_then(Item::as_leaf).is_some() {
                p { b { (pieces::main_value(&hold.value)) } ": " (hold.why.words) }
            } @else { p { (hold.why.words) } }
            @if let Some(energy) = hold.value.get("energy").and_then(Item::as_leaf) {
                (pieces::cautions(&[cautions::held(&pieces::number_text(energy))]))
            }
        }
    }
}

/// The rear corner that an address names.
pub(super) fn corner_of(code: &str) -> Option<Corner> {
    [Corner::LeftRear, Corner::RightRear].into_iter().find(|corner| corner.code() == code)
}

fn body(view: &View, corner: Corner, angle: Option<i16>) -> Markup {
    let all = view.assessment();
    let of = Subject::Corner(corner);
    let scene = all.corners.iter().find(|scene| scene.corner == corner);
    let windows = page::find_all(all, &WINDOWS, Some(&of));
    let raises = page::find_all(all, &["raise.stop-bolt"], Some(&of));
    html! {
        (other_side(corner))
        h2 { (pieces::corner(corner)) }
        @if scene.is_none() && windows.is_empty() { p.lead { "Not known yet." } }
        (pieces::drawing(scene.and_then(side_view), "Plate angles read at the letters; the \
            numbered arcs span the angles at which each thing fits."))
        @if scene.is_some() { (probe(view, corner, angle)) }
        section id="fits" {
            h2 { "What fits at which arm position" }
            (pieces::fits_table(&windows))
            @for finding in &windows { (page::line(finding)) }
            (page::waits(all, &WINDOWS, Some(&of)))
        }
        section id="raising" {
            h2 { "Raising the arm to the stop bolt" }
            (pieces::raise_caution(&raises))
            @if !raises.is_empty() { (pieces::raise_table(&raises)) }
            @for finding in &raises { (page::line(finding)) }
            @for finding in page::find_all(all, &RAISING, Some(&of)) { (page::line(finding)) }
            (page::waits(all, &["raise.stop-bolt"], Some(&of)))
        }
        (travel(all, scene, &of))
        (page::lines("Bar and wheel", &page::find_all(all, &BAR, Some(&of))))
        (stands(all))
    }
}

fn other_side(corner: Corner) -> Markup {
    html! {
        nav.sides aria-label="corner" {
            @for side in [Corner::LeftRear, Corner::RightRear] {
                a href={ "/geometry/" (side.code()) }
                    aria-current=[(side == corner).then_some("page")] { (pieces::corner(side)) }
            }
        }
    }
}

fn travel(all: &Assessment, scene: Option<&CornerScene>, of: &Subject) -> Markup {
    let Some(finding) = page::find(all, "travel", Some(of), None) else { return html! {} };
    let droop = page::find(all, "droop", Some(of), Some(Teeth::Target));
    html! {
        section id="travel" {
            h2 { "Over wheel travel" }
            (pieces::travel(finding, droop, scene))
        }
    }
}

/// The car on its stands, where that is known.
fn stands(all: &Assessment) -> Markup {
    let Some(scene) = &all.supports else { return html! {} };
    let upset = page::find(all, "stands.upset", None, None);
    let stands = all.findings.iter().filter(|finding| finding.id == "stands");
    html! {
        section id="stands" {
            h2 { "The car on its stands" }
            (pieces::stands_caution(upset))
            (pieces::drawing(stands_plan(scene), "Loads in newtons. An arrow is as long as the \
                push that can bring the car off is strong."))
            @for finding in stands {
                @let name = finding.of.as_ref().map(pieces::subject).unwrap_or_default();
                (page::line_called(finding, &format!("Load on {name}")))
            }
            @if let Some(upset) = upset { (page::line(upset)) }
        }
    }
}

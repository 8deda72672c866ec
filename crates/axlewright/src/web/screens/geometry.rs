//! A corner in side view: what fits where, what raising it takes, and how it travels.

use axlewright_quantity::{Angle, Corner};
use axlewright_setup::{Assessment, CornerScene, State as Teeth, Subject};
use axlewright_sheets::{pieces, side_view, stands_plan, travel_curves};
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

const WINDOWS: [&str; 6] = [
    "window.stop-bolt",
    "window.damper",
    "window.hose",
    "window.cable",
    "window.half-shaft",
    "window.plate-bend",
];
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

/// `GET /geometry`: straight to the first corner.
pub async fn show() -> Response {
    Redirect::to("/geometry/LR").into_response()
}

/// `GET /geometry/{corner}`
pub async fn corner(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(code): Path<String>,
) -> Response {
    let Some(corner) = corner_of(&code) else { return guard::nowhere().await };
    site.screen(&prefs, Screen::Geometry, code, move |view| body(view, corner)).await
}

/// The rear corner that an address names.
pub(super) fn corner_of(code: &str) -> Option<Corner> {
    [Corner::LeftRear, Corner::RightRear].into_iter().find(|corner| corner.code() == code)
}

fn body(view: &View, corner: Corner) -> Markup {
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
    let droop = droop.and_then(|f| f.value.get("angle")?.amount()).map(Angle::try_from);
    let states = scene.map(|s| s.states.as_slice()).unwrap_or_default();
    let states = states.iter().filter(|s| matches!(s.name, "ride" | "full bump"));
    let marks: Vec<(&'static str, Angle)> = droop
        .and_then(Result::ok)
        .map(|angle| ("droop", angle))
        .into_iter()
        .chain(states.map(|s| (s.name, s.angle)))
        .collect();
    html! {
        section id="travel" {
            h2 { "Over wheel travel" }
            (pieces::drawing(travel_curves(finding, &marks), ""))
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

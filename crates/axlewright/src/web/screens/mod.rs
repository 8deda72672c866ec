//! The screens, one file each, and the one table of where they are.

mod car;
mod dossier;
mod forecast;
mod geometry;
mod joints;
mod log;
mod marks;
mod order;
mod pair;
mod parts;
mod readings;
mod settings;
mod sign;
mod splines;
mod step;
mod today;
mod wheels;
mod why;

pub(super) use dossier::Document;

use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::middleware;
use axum::response::Response;
use axum::routing::{get, post};
use tower_http::compression::CompressionLayer;

use super::frame::{self, Screen};
use super::prefs::Prefs;
use super::site::Shared;
use super::{assets, guard, live};

/// A form with a photo in it, in bytes.
const PHOTO_FORM: usize = marks::PHOTO_BYTES + marks::AROUND_PHOTO;

/// Whether a screen of its own shows findings with this id; the Car screen shows the others.
fn has_a_screen(id: &str) -> bool {
    // These three show every finding that begins so.
    let whole = ["joint", "car.", "order."];
    whole.iter().any(|begins| id.starts_with(begins)) || splines::shows(id) || geometry::shows(id)
}

/// The whole page as one service.
pub(super) fn app(site: Shared) -> Router {
    Router::new()
        .route("/", get(today::show))
        .route("/energy", post(today::energy))
        .route("/all", get(all))
        .route("/order", get(order::show))
        .route("/order/back-out", get(order::back_out))
        .route("/order/{stretch}", get(order::stretch))
        .route("/step/{step}", get(step::show).post(step::write))
        .route("/splines", get(splines::show).post(splines::write))
        .route("/readings", get(readings::show).post(readings::write))
        .route("/geometry", get(geometry::show))
        .route("/geometry/{corner}", get(geometry::corner))
        .route("/joints", get(joints::show))
        .route("/joints/{joint}", get(joints::joint).post(joints::write))
        .route("/wheels", get(wheels::show))
        .route("/wheels/forecast", get(forecast::show))
        .route("/wheels/round", post(wheels::round))
        .route("/wheels/moved", post(wheels::moved))
        .route("/wheels/recheck", post(wheels::recheck))
        .route("/parts", get(parts::show).post(parts::add))
        .route("/parts/{part}", get(parts::part).post(parts::write))
        .route("/car", get(car::show))
        .route("/car/text", get(car::text).post(car::write))
        .route("/marks", get(marks::show).post(marks::write))
        .route("/marks/photo", post(marks::photo).layer(DefaultBodyLimit::max(PHOTO_FORM)))
        .route("/photo/{sha256}", get(marks::full))
        .route("/thumb/{sha256}", get(marks::thumb))
        .route("/log", get(log::show).post(log::note))
        .route("/log/{seq}", get(log::one).post(log::strike))
        .route("/dossier", get(dossier::show))
        .route("/dossier/sheet", get(dossier::sheet))
        .route("/dossier/file", get(dossier::file))
        .route("/dossier/print", get(dossier::print))
        .route("/dossier/sheet/print", get(dossier::sheet_print))
        .route("/sign", post(sign::write))
        .route("/settings", get(settings::show).post(settings::save))
        .route("/settings/device", post(settings::device))
        .route("/pair", get(pair::show).post(pair::pair))
        .route("/why/{finding}", get(why::show))
        .route("/preview/angle", get(geometry::preview))
        .route("/preview/attempt", get(splines::preview))
        .route("/events", get(live::events))
        .route("/assets/{name}", get(assets::serve))
        .fallback(guard::nowhere)
        .method_not_allowed_fallback(guard::no_form)
        .layer(middleware::from_fn_with_state(site.clone(), guard::guard))
        // Texts only: pictures are packed already, and events must not wait for more of them.
        .layer(CompressionLayer::new())
        .with_state(site)
}

async fn all(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.once(&prefs, Screen::All, frame::all_screens())
}

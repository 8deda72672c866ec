//! The screens, one file each, and the one table of where they are.

mod car;
mod dossier;
mod geometry;
mod joints;
mod log;
mod marks;
mod order;
mod pair;
mod parts;
mod settings;
mod splines;
mod step;
mod today;
mod wheels;
mod why;

use axum::Router;
use axum::extract::State;
use axum::middleware;
use axum::response::Response;
use axum::routing::get;

use super::frame::{self, Screen};
use super::prefs::Prefs;
use super::site::Shared;
use super::{assets, guard, live};

/// The whole page as one service.
pub(super) fn app(site: Shared) -> Router {
    Router::new()
        .route("/", get(today::show))
        .route("/all", get(all))
        .route("/order", get(order::show))
        .route("/order/{stretch}", get(order::stretch))
        .route("/step/{step}", get(step::show))
        .route("/splines", get(splines::show))
        .route("/geometry", get(geometry::show))
        .route("/geometry/{corner}", get(geometry::corner))
        .route("/joints", get(joints::show))
        .route("/joints/{joint}", get(joints::joint))
        .route("/wheels", get(wheels::show))
        .route("/parts", get(parts::show))
        .route("/car", get(car::show))
        .route("/car/text", get(car::text))
        .route("/marks", get(marks::show))
        .route("/log", get(log::show))
        .route("/dossier", get(dossier::show))
        .route("/dossier/sheet", get(dossier::sheet))
        .route("/settings", get(settings::show).post(settings::save))
        .route("/pair", get(pair::show).post(pair::pair))
        .route("/why/{finding}", get(why::show))
        .route("/events", get(live::events))
        .route("/assets/{name}", get(assets::serve))
        .fallback(guard::nowhere)
        .method_not_allowed_fallback(guard::no_form)
        .layer(middleware::from_fn_with_state(site.clone(), guard::guard))
        .with_state(site)
}

async fn all(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.once(&prefs, Screen::All, frame::all_screens())
}

//! Everything written, newest first.

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /log`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Log, String::new(), body).await
}

fn body(_: &View) -> Markup {
    html! {
        p.lead { "Nothing is written yet." }
    }
}

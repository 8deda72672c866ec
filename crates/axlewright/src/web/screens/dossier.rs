//! The record to print, to keep, and to hand over.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::desk;
use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;

/// `GET /dossier`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Dossier, String::new(), body).await
}

fn body(_: &View) -> Markup {
    html! {
        p { "One file that needs nothing else: for the owner, the alignment shop, the inspector, \
            the next owner. Open it in a browser and print it from there." }
        p { a.button.main href="/dossier/sheet" download="build-sheet.html" {
            "Keep the build sheet" } }
    }
}

/// `GET /dossier/sheet`: the build sheet as a file of its own.
pub async fn sheet(State(site): State<Shared>) -> Response {
    let view = site.bench.look();
    let made = tokio::task::spawn_blocking(move || desk::sheet_html(&view.with_order())).await;
    let Ok(html) = made else { return tell::sorry() };
    (
        [
            (header::CONTENT_TYPE, "text/html; charset=utf-8"),
            (header::CONTENT_DISPOSITION, "attachment; filename=\"build-sheet.html\""),
        ],
        html,
    )
        .into_response()
}

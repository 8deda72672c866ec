//! Witness marks and photos: before, after, and what a mark missed by so much is worth.

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /marks`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Marks, String::new(), body).await
}

fn body(_: &View) -> Markup {
    html! {
        p.lead { "No marks and no photos yet." }
        p { "Scribe or paint a mark across two parts before a nut turns, and take its picture from \
            the side you will see it from again." }
    }
}

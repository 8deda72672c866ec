//! The car on its wheels: rounds of readings and what to correct.

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /wheels`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Wheels, String::new(), body).await
}

fn body(view: &View) -> Markup {
    let all = view.assessment();
    let found: Vec<_> = all.findings.iter().filter(|f| f.id.starts_with("car.")).collect();
    html! {
        (page::caution("Before the car stands on its wheels", &[
            "Brakes are checked by a competent person before the car moves.",
            "Joints that wait for the wheels on the floor are not torqued yet: drive no further \
             than it takes to settle.",
            "Hands off the wheels while the car is rocked or rolled.",
        ]))
        @if found.is_empty() {
            p.lead { "No figures for the wheels yet. They come with the first round." }
        }
        (page::lines("What it says", &found))
    }
}

//! How sure it all is: where a hundred builds of this car land, and what to measure better first.

use axlewright_sheets::pieces;
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /wheels/forecast`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Wheels, "forecast".to_owned(), body).await
}

fn body(view: &View) -> Markup {
    let all = view.forecast();
    let told = |id| page::find(all, id, None, None);
    html! {
        section.forecast {
            h2 { "How sure: where builds land" }
            @match told("car.forecast") {
                Some(forecast) => {
                    p { "Each of these builds has parts and readings a little other than they are \
                        thought to be, as far as the car file says how sure they are." }
                    (pieces::where_builds_land(forecast, told("car.budget")))
                },
                None => {
                    p.lead { "Nothing can be foretold yet. What is missing:" }
                    @for (n, gap) in all.gaps.iter().enumerate() { (pieces::gap(n, gap)) }
                    (pieces::problems(all))
                },
            }
        }
        p { a.button href="/wheels" { "Back to the wheels" } }
    }
}

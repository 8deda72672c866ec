//! The parts: where each is and what waits for it.

use axlewright_book::PartRow;
use axlewright_setup::Item;
use axlewright_sheets::{capital, float_lines};
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /parts`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Parts, String::new(), body).await
}

/// What people call a part, with its side.
pub(super) fn name(part: &PartRow) -> String {
    let name = part.name.as_ref().map_or(&part.id.value, |name| &name.value);
    let side = part.side.map(|side| format!(", {}", side.word())).unwrap_or_default();
    format!("{}{side}", capital(name))
}

fn body(view: &View) -> Markup {
    let parts = &view.car().parts;
    let floats = page::value(view.order(), "order.finish").and_then(|f| f.get("part_floats"));
    let floats = floats.map(Item::items).unwrap_or_default();
    html! {
        @if parts.is_empty() { p.lead { "The car file lists no parts yet." } }
        @if !floats.is_empty() {
            section {
                h2 { "Still to come" }
                ul { @for line in float_lines(floats) { li { (line) } } }
            }
        }
        section {
            h2 { "All parts" }
            ul.rows {
                @for part in parts {
                    li id={ "part-" (part.id.value) } {
                        b { (name(part)) }
                        span.state {
                            (part.state.map_or("not said where", axlewright_book::PartState::word))
                            @if let Some(days) = &part.back_in_days {
                                ", back in " (days.value) " days"
                            }
                        }
                        @if let Some(note) = &part.note { span.soft { (note.value) } }
                    }
                }
            }
        }
    }
}

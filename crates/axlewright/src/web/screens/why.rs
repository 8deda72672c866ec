//! Why: one figure with its words, formula, source and inputs.

use axlewright_sheets::pieces;
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::form::Asked;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::by_code;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;

/// `GET /why/{finding}?of=…&at=…`
pub async fn show(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Response {
    let (of, at) = (asked.text("of"), asked.text("at"));
    let view = site.bench.look();
    if body(&view, &id, of.as_deref(), at.as_deref()).is_none() {
        return guard::nowhere().await;
    }
    let key = format!("{id}\n{}\n{}", of.as_deref().unwrap_or(""), at.as_deref().unwrap_or(""));
    let make = move |view: &View| body(view, &id, of.as_deref(), at.as_deref()).unwrap_or_default();
    site.screen(&prefs, Screen::Why, key, make).await
}

fn body(view: &View, id: &str, of: Option<&str>, at: Option<&str>) -> Option<Markup> {
    let order = id.starts_with("order.").then(|| view.order());
    let finding = by_code(order.unwrap_or(view.assessment()), id, of, at)?;
    Some(html! {
        h2 {
            (pieces::title(finding.id))
            @if let Some(subject) = &finding.of { " · " (pieces::subject(subject)) }
            @if let Some(state) = finding.at { " " small { "(" (pieces::state(state)) ")" } }
        }
        p.big { (pieces::main_value(&finding.value)) }
        div.reasons { (pieces::why(&finding.why)) }
        @let others = pieces::other_parts(&finding.value);
        @if !others.0.is_empty() { section { h2 { "The rest of it" } (others) } }
        p.soft { "± is one standard uncertainty (k = 1): the true figure lies inside about two \
            times in three; double it to be right nineteen times in twenty." }
    })
}

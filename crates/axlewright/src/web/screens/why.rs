//! Why: one figure with its words, formula, source and inputs.

use axlewright_setup::{Finding, Item};
use axlewright_sheets::{is, pieces, word};
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

/// Rows up to which a list stands as a table.
const FEW: usize = 20;
/// Rows of a long list that are shown.
const ROWS_MAX: usize = 400;

/// `GET /why/{finding}?of=…&at=…`
pub async fn show(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(id): Path<String>,
    Asked(asked): Asked,
) -> Response {
    let (of, at) = (asked.text("of"), asked.text("at"));
    let (view, of_what) = (site.bench.look(), (id.clone(), of.clone(), at.clone()));
    // A forecast or an order may have to be made first; others are not to wait for it.
    let is_there = tokio::task::spawn_blocking(move || {
        let (id, of, at) = of_what;
        body(&view, &id, of.as_deref(), at.as_deref()).is_some()
    });
    if !is_there.await.unwrap_or_default() {
        return guard::nowhere().await;
    }
    let key = format!("{id}\n{}\n{}", of.as_deref().unwrap_or(""), at.as_deref().unwrap_or(""));
    let make = move |view: &View| body(view, &id, of.as_deref(), at.as_deref()).unwrap_or_default();
    site.screen(&prefs, Screen::Why, key, make).await
}

fn body(view: &View, id: &str, of: Option<&str>, at: Option<&str>) -> Option<Markup> {
    let all = match id {
        "car.forecast" | "car.budget" => view.forecast(),
        id if id.starts_with("order.") => view.order(),
        _ => view.assessment(),
    };
    let finding = by_code(all, id, of, at)?;
    Some(html! {
        h2 {
            (pieces::title(finding.id))
            @if let Some(subject) = &finding.of { " · " (pieces::subject(subject)) }
            @if let Some(state) = finding.at { " " small { "(" (pieces::state(state)) ")" } }
        }
        @let is_short = !matches!(&finding.value, Item::List(rows) if FEW < rows.len());
        @if is_short && id != "order.blocked-by" { p.big { (pieces::main_value(&finding.value)) } }
        div.reasons { (pieces::why(&finding.why)) }
        (rest(finding))
        p.soft { "u is one standard uncertainty (k = 1): the true figure lies within it about two \
            times in three, within twice of it nineteen times in twenty." }
    })
}

/// What a finding says besides its main figure; long lists as plain lines.
fn rest(finding: &Finding) -> Markup {
    let long = match &finding.value {
        Item::List(rows) if FEW < rows.len() => Some(rows),
        _ => None,
    };
    let others = if long.is_none() {
        pieces::other_parts(&finding.value)
    } else {
        html! {}
    };
    html! {
        @if !others.0.is_empty() { section { h2 { "The rest of it" } (others) } }
        @if let Some(rows) = long {
            section {
                h2 { (rows.len()) " rows" }
                ul { @for row in rows.iter().filter(|row| !is(row, "implied")).take(ROWS_MAX) {
                    li { (in_one_line(row)) }
                } }
            }
        }
    }
}

/// A row's words, or its parts one after another.
fn in_one_line(row: &Item) -> Markup {
    let part = |key| word(row, key);
    html! {
        @if let (Some(before), Some(after)) = (part("before"), part("after")) {
            b { (before) " before " (after) }
            @if part("reason") != Some("said") { ": " (part("words").unwrap_or_default()) }
        } @else if let Some(words) = part("words") {
            @if let Some(step) = part("step") { b { (step) } ": " } (words)
        } @else { (pieces::item(row)) }
    }
}

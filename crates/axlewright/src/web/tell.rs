//! Answers that are a plain sentence and what to do, and nothing of the inside.

use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{DOCTYPE, html};

use super::assets;

/// A refusal as a small page.
pub(super) fn refuse(status: StatusCode, what: &str, right: &str) -> Response {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (what) }
                link rel="stylesheet" href=(assets::css().path());
                link rel="icon" href=(assets::icon().path()) type="image/svg+xml";
            }
            body.bare {
                main.refused id="main" {
                    h1 { (what) }
                    p { (right) }
                    p { a.button href="/" { "To today’s step" } }
                }
            }
        }
    };
    (status, Html(page.into_string())).into_response()
}

/// Something went wrong inside; what, is nobody's business but the terminal's.
pub(super) fn sorry() -> Response {
    refuse(
        StatusCode::INTERNAL_SERVER_ERROR,
        "This screen could not be made. Nothing was written.",
        "Try again; if it stays so, `axlewright check` on the car file says more.",
    )
}

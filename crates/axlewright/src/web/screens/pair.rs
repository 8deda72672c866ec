//! Where a device that is not let in yet types the code.

use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{DOCTYPE, Markup, html};

use crate::web::assets;
use crate::web::form::{Asked, Sent};
use crate::web::pairing::{COOKIE, Paired};
use crate::web::site::Shared;

/// `GET /pair`: the code from the picture stands in the field already. Looking uses nothing up, so
/// that a telephone that fetches links beforehand does not spend the code.
pub async fn show(Asked(asked): Asked) -> Response {
    Html(page(asked.get("code").unwrap_or_default(), false).into_string()).into_response()
}

/// `POST /pair`
pub async fn pair(State(site): State<Shared>, Sent(sent): Sent) -> Response {
    let typed = sent.get("code").unwrap_or_default();
    let Some(pairing) = &site.pairing else { return Redirect::to("/").into_response() };
    match pairing.try_code(typed) {
        Paired::Yes(cookie) => {
            let mut response = Redirect::to("/").into_response();
            let cookie = format!("{COOKIE}={cookie}; Path=/; HttpOnly; SameSite=Strict");
            if let Ok(value) = HeaderValue::from_str(&cookie) {
                response.headers_mut().insert(header::SET_COOKIE, value);
            }
            site.tell_code();
            response
        }
        Paired::No => {
            site.tell_code();
            (StatusCode::FORBIDDEN, Html(page("", true).into_string())).into_response()
        }
    }
}

fn page(code: &str, wrong: bool) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { "Pair this device" }
                link rel="stylesheet" href=(assets::css().path());
                link rel="icon" href=(assets::icon().path()) type="image/svg+xml";
            }
            body.bare {
                main id="main" {
                    h1 { "Pair this device" }
                    p { "The other machine shows a code. It is good for one device." }
                    form method="post" action="/pair" {
                        div.field {
                            label for="code" { "Code" }
                            @if wrong { p.wrong id="code-wrong" role="alert" {
                                "That is not the code that stands there now." } }
                            input.code type="text" id="code" name="code" value=(code) required
                                autocomplete="off" autocapitalize="characters" spellcheck="false"
                                maxlength="20" aria-invalid=[wrong.then_some("true")]
                                aria-describedby=[wrong.then_some("code-wrong")];
                        }
                        button.main type="submit" { "Pair" }
                    }
                }
            }
        }
    }
}

//! Where a device that is not let in yet types the code.

use std::time::{Duration, Instant};

use axum::Extension;
use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{DOCTYPE, Markup, html};

use crate::web::assets;
use crate::web::form::{Asked, Sent};
use crate::web::pairing::{Paired, cookie_name};
use crate::web::prefs;
use crate::web::serve::Reached;
use crate::web::site::Shared;

/// `GET /pair`: the code from the picture stands in the field already. Looking uses nothing up, so
/// that a telephone that fetches links beforehand does not spend the code.
pub async fn show(State(site): State<Shared>, Asked(asked): Asked) -> Response {
    site.tell_code();
    let code = asked.get("code").unwrap_or_default();
    Html(page(code, None).into_string()).into_response()
}

/// How long a guesser waits for an answer; whoever typed it wrong by hand does not notice.
const SLOWLY: Duration = Duration::from_secs(1);

/// `POST /pair`
pub async fn pair(
    State(site): State<Shared>,
    Extension(reached): Extension<Reached>,
    Sent(sent): Sent,
) -> Response {
    let typed = sent.get("code").unwrap_or_default();
    let person = sent.get("by").filter(|name| prefs::is_name(name));
    let Some(pairing) = &site.pairing else { return Redirect::to("/").into_response() };
    match pairing.try_code((typed, person), reached.peer, Instant::now()) {
        Paired::Yes(cookie) => {
            let mut response = Redirect::to("/").into_response();
            // Given in secret, it is never sent otherwise.
            let secret = if reached.is_secret { "; Secure" } else { "" };
            let name = cookie_name(reached.is_secret);
            let cookie = format!("{name}={cookie}; Path=/; HttpOnly; SameSite=Strict{secret}");
            if let Ok(value) = HeaderValue::from_str(&cookie) {
                response.headers_mut().insert(header::SET_COOKIE, value);
            }
            let whose = person.map(|name| format!(", {name}'s")).unwrap_or_default();
            site.say(&format!("A device at {} was paired{whose}.", reached.peer));
            response
        }
        Paired::No => {
            site.tell_code();
            let words = "That is not the code that stands there now.";
            (StatusCode::FORBIDDEN, Html(page("", Some(words)).into_string())).into_response()
        }
        Paired::Wait(is_new) => {
            if is_new {
                let from = reached.peer;
                site.say_rarely(&format!("Too many wrong codes from {from}: it has to wait."));
            }
            tokio::time::sleep(SLOWLY).await;
            let words = "Too many wrong codes came from this device. Wait a minute and try again.";
            let page = Html(page("", Some(words)).into_string());
            (StatusCode::TOO_MANY_REQUESTS, [(header::RETRY_AFTER, "60")], page).into_response()
        }
    }
}

fn page(code: &str, wrong: Option<&str>) -> Markup {
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
                    p { "The other machine shows a code. It is good for one device, and for ten \
                        minutes." }
                    form method="post" action="/pair" {
                        div.field {
                            label for="code" { "Code" }
                            @if let Some(wrong) = wrong {
                                p.wrong id="code-wrong" role="alert" { (wrong) }
                            }
                            input.code type="text" id="code" name="code" value=(code) required
                                autocomplete="off" autocapitalize="characters" spellcheck="false"
                                maxlength="20" aria-invalid=[wrong.map(|_| "true")]
                                aria-describedby=[wrong.map(|_| "code-wrong")];
                        }
                        div.field {
                            label for="by" { "Whose device this is" small { " (if known)" } }
                            input type="text" id="by" name="by" maxlength=(prefs::NAME_MAX)
                                autocomplete="name" aria-describedby="by-hint";
                            p.hint id="by-hint" { "Stands beside every entry made on it, and is \
                                the only name it signs with." }
                        }
                        button.main type="submit" { "Pair" }
                    }
                }
            }
        }
    }
}

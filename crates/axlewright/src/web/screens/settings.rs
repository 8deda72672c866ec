//! How this device sees the page, who writes on it, and letting other devices in.

use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use fast_qr::convert::svg::SvgBuilder;
use fast_qr::qr::QRBuilder;
use maud::{Markup, PreEscaped, html};

use crate::web::form::{Asked, Fields, Sent};
use crate::web::frame::Screen;
use crate::web::prefs::{self, Prefs, Theme, Torque};
use crate::web::site::{Shared, Site};

/// A year, in seconds.
const KEEP: u32 = 365 * 24 * 3600;
/// Where a device goes once it is saved; with the form's key it forgets what was typed before.
const SAVED: &str = "/settings?saved=1&form=settings";

/// `GET /settings`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let saved = asked.get("saved").is_some();
    site.once(&prefs, Screen::Settings, body(&site, &prefs, saved, None))
}

/// `POST /settings`
pub async fn save(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    match cookies(&sent) {
        Ok(cookies) => {
            let mut response = Redirect::to(SAVED).into_response();
            for cookie in cookies {
                if let Ok(value) = HeaderValue::from_str(&cookie) {
                    response.headers_mut().append(header::SET_COOKIE, value);
                }
            }
            response
        }
        Err(why) => {
            let body = body(&site, &prefs, false, Some(why));
            let page = site.once(&prefs, Screen::Settings, body);
            (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
        }
    }
}

fn cookies(sent: &Fields) -> Result<Vec<String>, &'static str> {
    let theme = sent.get("theme").and_then(Theme::of_word).unwrap_or_default();
    let torque = sent.get("torque").and_then(Torque::of_word).unwrap_or_default();
    let by = sent.get("by").unwrap_or_default();
    if !by.is_empty() && !prefs::is_name(by) {
        return Err("A name has up to 60 letters, on one line.");
    }
    let rows = [
        (prefs::THEME, theme.word().to_owned()),
        (prefs::TORQUE, torque.word().to_owned()),
        (prefs::BY, prefs::to_cookie(by)),
    ];
    let cookie = |(name, value): (&str, String)| {
        format!("{name}={value}; Path=/; Max-Age={KEEP}; HttpOnly; SameSite=Strict")
    };
    Ok(rows.into_iter().map(cookie).collect())
}

fn body(site: &Site, prefs: &Prefs, saved: bool, wrong: Option<&str>) -> Markup {
    html! {
        @if saved { p.written-now role="status" { "Saved for this device." } }
        form method="post" action="/settings" data-key="settings" {
            fieldset {
                legend { "How it looks" }
                @for (theme, word, name) in Theme::ALL {
                    label.choice for={ "theme-" (word) } {
                        input type="radio" id={ "theme-" (word) } name="theme" value=(word)
                            checked[theme == prefs.theme];
                        span { (name) }
                    }
                }
            }
            fieldset {
                legend { "Torques" }
                @for (torque, word, name) in Torque::ALL {
                    label.choice for={ "torque-" (word) } {
                        input type="radio" id={ "torque-" (word) } name="torque" value=(word)
                            checked[torque == prefs.torque];
                        span { (name) }
                    }
                }
            }
            div.field {
                label for="by-name" { "Who is writing on this device" }
                @if let Some(wrong) = wrong { p.wrong id="by-wrong" { (wrong) } }
                input type="text" id="by-name" name="by" maxlength=(prefs::NAME_MAX)
                    autocomplete="name" placeholder=(site.by)
                    value=(prefs.by.as_deref().unwrap_or_default())
                    aria-invalid=[wrong.map(|_| "true")]
                    aria-describedby=[wrong.map(|_| "by-wrong")];
                p.hint { "Stands beside every entry, and is what signs a hold point." }
            }
            button.main type="submit" { "Save" }
        }
        (devices(site))
    }
}

fn devices(site: &Site) -> Markup {
    html! {
        section id="devices" {
            h2 { "Another device" }
            @match (site.invitation(), &site.pairing) {
                (Some(address), _) => {
                    p { "Point its camera here, or open the address and type the code. The code \
                        lets one device in; after that there is another." }
                    figure.qr { (qr(&address)) figcaption { (address) } }
                }
                (None, Some(pairing)) => p { "Code: " b.code { (pairing.code()) } },
                (None, None) => p { "Only this machine is served. Start the program with "
                    code { "--lan" } " to use a telephone on the same network." },
            }
        }
    }
}

/// A text as a square of squares.
fn qr(text: &str) -> Markup {
    match QRBuilder::new(text).build() {
        Ok(code) => PreEscaped(SvgBuilder::default().to_str(&code)),
        Err(_) => html! {},
    }
}

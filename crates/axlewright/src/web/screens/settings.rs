//! How this device sees the page, who writes on it, and letting other devices in.

use axum::extract::State;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use fast_qr::convert::svg::SvgBuilder;
use fast_qr::qr::QRBuilder;
use maud::{Markup, PreEscaped, html};

use crate::desk::book::last_backup_in_words;
use crate::web::fields::hidden;
use crate::web::form::{Asked, Fields, Sent};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::pairing::{Device, Pairing};
use crate::web::parts_of_pages as page;
use crate::web::prefs::{self, Prefs, Theme, Torque};
use crate::web::site::{Shared, Site};
use crate::web::tell;

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
            if let (Some(device), Some(by)) = (&prefs.device, sent.get("by"))
                && device.person.is_none()
                && let Some(pairing) = &site.pairing
            {
                pairing.name(device.id, by);
            }
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

/// `POST /settings/device`: whose a device is, or that it is let in no longer. At the machine with
/// the book that is said of any; a device says of itself alone that it leaves.
pub async fn device(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let id = sent.get("id").and_then(|id| id.parse::<u32>().ok());
    let own = prefs.device.as_ref().map(|device| device.id);
    let (Some(id), Some(pairing)) = (id, &site.pairing) else { return guard::nowhere().await };
    let forget = sent.get("do") == Some("forget");
    if own.is_some_and(|own| own != id || !forget) {
        return tell::refuse(
            StatusCode::FORBIDDEN,
            "That is said at the machine with the book.",
            "Open Settings there.",
        );
    }
    let known = match (forget, sent.get("by")) {
        (true, _) => pairing.forget(id),
        (false, Some(by)) if prefs::is_name(by) => pairing.name(id, by),
        (false, _) => {
            let why = Some("A name has up to 60 letters, on one line.");
            let page = site.once(&prefs, Screen::Settings, body(&site, &prefs, false, why));
            return (StatusCode::UNPROCESSABLE_ENTITY, page).into_response();
        }
    };
    if known { Redirect::to("/settings#devices").into_response() } else { guard::nowhere().await }
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
            @if !is_named(prefs) { (by_name(site, prefs, wrong)) }
            button.main type="submit" { "Save" }
        }
        @match &prefs.device {
            Some(device) => (this_device(device)),
            None => { (devices(site)) (copies(site)) }
        }
    }
}

/// Whether it was said whose device this is, so that it cannot say so itself.
fn is_named(prefs: &Prefs) -> bool {
    prefs.device.as_ref().is_some_and(|device| device.person.is_some())
}

fn by_name(site: &Site, prefs: &Prefs, wrong: Option<&str>) -> Markup {
    html! {
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
    }
}

/// What a paired device sees of itself.
fn this_device(device: &Device) -> Markup {
    html! {
        section id="devices" {
            h2 { "This device" }
            p { "Paired on " (page::moment(&device.since)) " (UTC)." }
            @if let Some(person) = &device.person {
                p { "It is " b { (person) } "’s: the name stands under what is written on it, \
                    and it signs with no other. That is changed at the machine with the book." }
            }
            form method="post" action="/settings/device" {
                (hidden("id", &device.id.to_string()))
                button type="submit" name="do" value="forget" { "Leave: let it in no longer" }
            }
        }
    }
}

/// Every device that is let in: whose it is, and how to let it in no longer.
fn let_in(pairing: &Pairing) -> Markup {
    let devices = pairing.devices();
    html! {
        @if !devices.is_empty() { h3 { "Let in until this program ends, thirty days at most" } }
        @for device in devices {
            @let field = format!("device-{}-by", device.id);
            form method="post" action="/settings/device" {
                (hidden("id", &device.id.to_string()))
                div.field {
                    label for=(field) { "Device " (device.id) ": whose it is" }
                    input type="text" id=(field) name="by" maxlength=(prefs::NAME_MAX)
                        value=(device.person.as_deref().unwrap_or_default()) autocomplete="off";
                    p.hint { "Paired on " (page::moment(&device.since)) " (UTC), from "
                        (device.from) "." }
                }
                button type="submit" name="do" value="name" { "Save the name" } " "
                button type="submit" name="do" value="forget" {
                    "Forget device " (device.id) }
            }
        }
    }
}

fn devices(site: &Site) -> Markup {
    html! {
        section id="devices" {
            h2 { "Another device" }
            @match (site.invitation(), &site.pairing) {
                (Some(address), _) => {
                    p { "Point its camera here, or open the address and type the code. The code \
                        lets one device in, within ten minutes; after that there is another." }
                    figure.qr {
                        (qr(&address))
                        figcaption { (address.split('#').next().unwrap_or(&address)) }
                    }
                    (certificate(site))
                }
                (None, Some(_)) => {
                    p { "Code: " b.code { (site.code().unwrap_or_default()) } }
                    (certificate(site))
                }
                (None, None) => p { "Only this machine is served. Start the program with "
                    code { "--lan" } " to use a telephone on the same network." },
            }
            @if let Some(pairing) = &site.pairing { (let_in(pairing)) }
        }
    }
}

/// A word on the last copy of the book, for whoever sits where copies are made.
fn copies(site: &Site) -> Markup {
    let said = last_backup_in_words(site.bench.path()).filter(|_| site.bench.is_book());
    html! {
        @if let Some(said) = said {
            section id="copies" { h2 { "Copies of the book" } p { (said) } }
        }
    }
}

/// By what a person knows that the encrypted page is this one.
fn certificate(site: &Site) -> Markup {
    html! {
        @if let Some(tls) = &site.tls {
            p { "Its browser will say that nobody vouches for the certificate, and ask. The \
                certificate is the right one if its SHA-256 fingerprint is" }
            p.code { (tls.fingerprint()) }
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

//! What stands before every screen: is this request meant for us, from a device that was let in,
//! and, where it changes something, from our own page? What is asked of a page so `[ASVS]`, and
//! where it is met, stands in `docs/security.md`.

use std::time::{Duration, Instant};

use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};

use super::pairing::Device;
use super::serve::Reached;
use super::site::Shared;
use super::{pairing, tell};

/// No script and no style but our own files, nothing from elsewhere, no frame around us.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; \
    frame-ancestors 'none'";

/// What our own page may ask a browser for; no other page may, and a browser asks its owner first.
const PERMISSIONS: &str = "camera=(self), accelerometer=(self), gyroscope=(self), \
    magnetometer=(self), microphone=(), geolocation=(), payment=(), usb=()";

/// From the end of a request's head to the answer; a photo over a weak network needs a while.
const ANSWER_WITHIN: Duration = Duration::from_secs(30);
const UPLOAD_WITHIN: Duration = Duration::from_secs(180);

/// Paths whose answers take long to make.
const HEAVY_PATHS: [&str; 2] = ["/dossier/", "/wheels/forecast"];

/// Paths that a device which is not paired may see.
const OPEN_PATHS: [&str; 2] = ["/pair", "/assets/"];

/// Checks a request, lets the screen answer, and puts the protecting headers on the answer.
pub(super) async fn guard(
    State(site): State<Shared>,
    mut request: Request,
    next: Next,
) -> Response {
    let device = paired(&site, &request);
    request.extensions_mut().insert(Caller(device));
    let is_upload = request.uri().path() == "/marks/photo";
    let within = if is_upload { UPLOAD_WITHIN } else { ANSWER_WITHIN };
    let mut response = match refusal(&site, &request) {
        Some(refused) => refused,
        None => match tokio::time::timeout(within, next.run(request)).await {
            Ok(response) => response,
            Err(_) => tell::refuse(
                StatusCode::REQUEST_TIMEOUT,
                "That took too long.",
                "Look in the log whether it was written; if not, go nearer to the other machine \
                 and send it again.",
            ),
        },
    };
    protect(response.headers_mut());
    response
}

fn refusal(site: &Shared, request: &Request) -> Option<Response> {
    // Whoever came by no way that we know is not let in.
    let Some(reached) = request.extensions().get::<Reached>() else { return Some(tell::sorry()) };
    let headers = request.headers();
    let Some(host) = text(headers, header::HOST).filter(|host| is_ours(host, reached)) else {
        return Some(tell::refuse(
            StatusCode::MISDIRECTED_REQUEST,
            "This page was asked for under a name that is not this machine's.",
            "Open it by the address that the program showed when it started.",
        ));
    };
    if site.tls.is_some() && !reached.is_own() && !reached.is_secret {
        // Whoever typed the address without its beginning. Nothing is told in clear but this.
        return Some(Redirect::permanent(&format!("https://{host}/pair")).into_response());
    }
    if !matches!(*request.method(), Method::GET | Method::HEAD | Method::POST) {
        return Some(tell::refuse(
            StatusCode::METHOD_NOT_ALLOWED,
            "This page is only read, and written to by its forms.",
            "Open it in a browser.",
        ));
    }
    if *request.method() == Method::POST && !is_from_our_page(headers, host, reached.is_secret) {
        return Some(tell::refuse(
            StatusCode::FORBIDDEN,
            "That came from another page, and nothing was written.",
            "Go back to this program's own page and do it there.",
        ));
    }
    if comes_from_elsewhere(request) {
        return Some(tell::refuse(
            StatusCode::FORBIDDEN,
            "Another page asked for this.",
            "Open this program's own page and find the way from there.",
        ));
    }
    if !is_let_in(site, request, reached) {
        return Some(ask_to_pair(request));
    }
    None
}

/// The device that asks, where it is one that was paired.
#[derive(Debug, Clone)]
pub(super) struct Caller(pub(super) Option<Device>);

fn paired(site: &Shared, request: &Request) -> Option<Device> {
    let reached = request.extensions().get::<Reached>()?;
    if reached.is_own() {
        return None;
    }
    let cookie = cookie(request.headers(), pairing::cookie_name(reached.is_secret))?;
    let device = site.pairing.as_ref()?.device(cookie, Instant::now())?;
    // Without a place among the paired it stays where it is, and is served from there.
    reached.place.befriend();
    Some(device)
}

/// Whether another page has a browser ask for this: not to go there, but in the background or in a
/// frame, or for something that takes long to make. Nothing could be read by it, but much could be
/// asked for.
fn comes_from_elsewhere(request: &Request) -> bool {
    let said = |name| text(request.headers(), HeaderName::from_static(name));
    if matches!(said("sec-fetch-site"), None | Some("same-origin" | "none")) {
        return false;
    }
    let is_visit =
        said("sec-fetch-mode") == Some("navigate") && said("sec-fetch-dest") == Some("document");
    let path = request.uri().path();
    !is_visit || HEAVY_PATHS.iter().any(|heavy| path.starts_with(heavy))
}

fn text(headers: &HeaderMap, name: HeaderName) -> Option<&str> {
    let mut values = headers.get_all(name).iter();
    let only = values.next()?.to_str().ok()?;
    values.next().is_none().then_some(only)
}

/// Whether the name in the request is the address it came in at. A page elsewhere can make a
/// browser come here under its own name, never under ours.
fn is_ours(host: &str, reached: &Reached) -> bool {
    let (name, port) = match host.rsplit_once(':') {
        Some((name, port)) if !port.contains(']') => (name, port.parse().ok()),
        _ => (host, Some(if reached.is_secret { 443 } else { 80 })),
    };
    let name = name.trim_start_matches('[').trim_end_matches(']');
    let local = reached.local.ip();
    let is_localhost = local.is_loopback() && name.eq_ignore_ascii_case("localhost");
    let is_name = is_localhost || name.parse() == Ok(local);
    is_name && port == Some(reached.local.port())
}

/// Whether the browser says that the form stood on our own page. Every browser says one or the
/// other with a form; who says neither is none.
fn is_from_our_page(headers: &HeaderMap, host: &str, is_secret: bool) -> bool {
    let site = headers.contains_key("sec-fetch-site");
    let says_same = text(headers, HeaderName::from_static("sec-fetch-site")) == Some("same-origin");
    let origin = headers.contains_key(header::ORIGIN);
    let is_same = text(headers, header::ORIGIN)
        .and_then(|origin| origin.strip_prefix(if is_secret { "https://" } else { "http://" }))
        .is_some_and(|origin| origin.eq_ignore_ascii_case(host));
    (site || origin) && (!site || says_same) && (!origin || is_same)
}

/// This machine's own browser needs no code; another device does.
fn is_let_in(site: &Shared, request: &Request, reached: &Reached) -> bool {
    if reached.is_own() {
        return true;
    }
    if site.pairing.is_none() {
        return false;
    }
    let path = request.uri().path();
    let is_open = |open: &str| path == open || open.ends_with('/') && path.starts_with(open);
    let is_paired = request.extensions().get::<Caller>().is_some_and(|caller| caller.0.is_some());
    is_paired || OPEN_PATHS.iter().any(|open| is_open(open))
}

/// The value of a cookie.
pub(super) fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    all.flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(its, value)| (its == name).then_some(value))
}

/// A person is led to where the code is typed; everything else is refused.
fn ask_to_pair(request: &Request) -> Response {
    let is_page = *request.method() == Method::GET
        && text(request.headers(), header::ACCEPT).is_some_and(|accept| accept.contains("html"));
    if is_page {
        return Redirect::to("/pair").into_response();
    }
    tell::refuse(
        StatusCode::UNAUTHORIZED,
        "This device is not paired with the book, and nothing was written.",
        "Type the code that the program shows, at the address /pair.",
    )
}

fn protect(headers: &mut HeaderMap) {
    let mut set = |name: HeaderName, value: &'static str| {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    };
    set(header::CONTENT_SECURITY_POLICY, POLICY);
    set(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    // Not `no-referrer`: a form would then name no origin, and be refused.
    set(header::REFERRER_POLICY, "same-origin");
    set(header::CACHE_CONTROL, "no-cache, private");
    set(HeaderName::from_static("cross-origin-opener-policy"), "same-origin");
    set(HeaderName::from_static("cross-origin-resource-policy"), "same-origin");
    set(HeaderName::from_static("permissions-policy"), PERMISSIONS);
}

/// The answer to a path that leads nowhere.
pub(super) async fn nowhere() -> Response {
    tell::refuse(
        StatusCode::NOT_FOUND,
        "There is no such screen.",
        "Go to Today and find the way from there.",
    )
}

/// The answer to a form sent where none is.
pub(super) async fn no_form() -> Response {
    tell::refuse(
        StatusCode::METHOD_NOT_ALLOWED,
        "Nothing can be written here.",
        "Go to Today and find the way from there.",
    )
}

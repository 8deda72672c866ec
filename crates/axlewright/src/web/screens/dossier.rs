//! The record to print, to keep, and to hand over.

use std::sync::Arc;

use axlewright_setup::record::{JOB, Open, still_open};
use axlewright_setup::{Gap, Subject};
use axlewright_sheets::{base64, capital, pieces};
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, header};
use axum::response::{IntoResponse, Response};
use hyper::body::Bytes;
use maud::{Markup, html};
use sha2::{Digest, Sha256};

use super::{joints, sign, step};
use crate::desk;
use crate::desk::bench::{Bench, Refused, View};
use crate::web::fields::Fill;
use crate::web::frame::Screen;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;

/// What can be kept, or shown to be printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Document {
    /// Everything that was recorded, with the build sheet in front.
    Dossier,
    /// The build sheet alone.
    Sheet,
}

impl Document {
    fn make(self, bench: &Bench, view: &View) -> Result<String, Refused> {
        match self {
            Self::Dossier => desk::dossier_html(bench, view),
            Self::Sheet => Ok(desk::sheet_html(&view.with_order())),
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Dossier => "dossier.html",
            Self::Sheet => "build-sheet.html",
        }
    }
}

/// `GET /dossier`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    site.screen(&prefs, Screen::Dossier, String::new(), body).await
}

fn body(view: &View) -> Markup {
    let still = still_open(view.state(), view.car(), view.assessment());
    html! {
        p { "What was found, done, measured and signed, in one file that needs nothing else: for \
            the owner, the alignment shop, the inspector, the next owner. Its last page says how \
            to check it against the log." }
        @if view.seq() == 0 {
            p.waits { "There is no book behind this page: there is only the build sheet." }
        } @else {
            p { a.button.main href="/dossier/file" download="dossier.html" { "Keep the dossier" } }
            p { a.button href="/dossier/print" { "Show it, to print" } }
        }
        @if view.seq() != 0 {
            (open(view, &still))
            (sign::section(view, JOB, &Fill::default()))
        }
        section {
            h2 { "The build sheet alone" }
            p { a.button href="/dossier/sheet" download="build-sheet.html" { "Keep the sheet" } " "
                a.button href="/dossier/sheet/print" { "Show it, to print" } }
        }
    }
}

/// What is not signed, not tightened, not read, or away.
fn open(view: &View, open: &Open) -> Markup {
    let lists = [
        ("Not signed", &open.unsigned),
        ("Not at the list’s torque", &open.untorqued),
        ("Not read", &open.unread),
        ("Away", &open.away),
    ];
    html! {
        section id="open" {
            h2 { "Still open" }
            @if lists.iter().all(|(_, gaps)| gaps.is_empty()) {
                p { "By what was written nothing is open." }
            }
            @for (at, (title, gaps)) in lists.into_iter().enumerate() { @if !gaps.is_empty() {
                details.fold id={ "open-" (at) } {
                    summary { span.name { (title) } span.value { (gaps.len()) }
                        span.why-mark { "show" } }
                    ul.links.sided { @for gap in gaps { li { (line(view, gap)) } } }
                }
            } }
        }
    }
}

fn line(view: &View, gap: &Gap) -> Markup {
    let car = view.car();
    let side = match &gap.of {
        Some(Subject::Step(id)) => car.step(id).and_then(|step| step.side),
        Some(Subject::Joint(id)) => car.joint(id).and_then(|joint| joint.side),
        Some(Subject::Corner(corner)) => Some(corner.side()),
        Some(Subject::Stand(_) | Subject::Sighted(_)) | None => None,
    };
    let words = html! {
        (pieces::side_tab(side))
        b { (capital(&gap.measure)) } span.soft { (capital(&gap.how)) }
    };
    html! {
        @match &gap.of {
            Some(Subject::Step(id)) => a href=(step::path(id)) { (words) },
            Some(Subject::Joint(id)) => a href=(joints::path(id)) { (words) },
            _ => p { (words) },
        }
    }
}

/// `GET /dossier/file`: the dossier as a file of its own.
pub async fn file(State(site): State<Shared>) -> Response {
    kept(site, Document::Dossier).await
}

/// `GET /dossier/print`: the same in the browser.
pub async fn print(State(site): State<Shared>) -> Response {
    shown(site, Document::Dossier).await
}

/// `GET /dossier/sheet`: the build sheet as a file of its own.
pub async fn sheet(State(site): State<Shared>) -> Response {
    kept(site, Document::Sheet).await
}

/// `GET /dossier/sheet/print`: the same in the browser.
pub async fn sheet_print(State(site): State<Shared>) -> Response {
    shown(site, Document::Sheet).await
}

/// A document of the car as it is now: made one at a time, and kept until the car is another. Made
/// to its end by whoever asked first, also when nobody waits for it any more: the next one finds
/// it.
async fn made(site: Shared, which: Document) -> Option<Arc<str>> {
    let work = async move {
        let mut kept = site.document.lock().await;
        let view = site.bench.look();
        if let Some((of, seen, html)) = &*kept
            && *of == which
            && Arc::ptr_eq(seen, &view)
        {
            return Some(Arc::clone(html));
        }
        // The old one goes first: two of them are twice the memory.
        *kept = None;
        let (at, seen) = (Arc::clone(&site), Arc::clone(&view));
        let made = tokio::task::spawn_blocking(move || {
            which.make(&at.bench, &seen).map_err(|why| at.say(&format!("not made: {why}")))
        });
        let html: Arc<str> = made.await.ok()?.ok()?.into();
        *kept = Some((which, view, Arc::clone(&html)));
        Some(html)
    };
    tokio::spawn(work).await.ok()?
}

/// A document's bytes, shared with whoever else is sent them.
struct Sent(Arc<str>);

impl AsRef<[u8]> for Sent {
    fn as_ref(&self) -> &[u8] {
        self.0.as_bytes()
    }
}

async fn kept(site: Shared, which: Document) -> Response {
    let Some(html) = made(site, which).await else { return tell::sorry() };
    let disposition = format!("attachment; filename=\"{}\"", which.name());
    let kept = HeaderValue::from_str(&disposition).ok().map(|v| (header::CONTENT_DISPOSITION, v));
    let mut response = as_html(html);
    response.headers_mut().extend(kept);
    response
}

/// A document carries its own style and its own pictures; exactly that style is allowed.
async fn shown(site: Shared, which: Document) -> Response {
    let Some(html) = made(site, which).await else { return tell::sorry() };
    let styles: Vec<String> = html
        .split("<style>")
        .skip(1)
        .filter_map(|rest| rest.split("</style>").next())
        .map(|style| format!("'sha256-{}'", base64(&Sha256::digest(style.as_bytes()))))
        .collect();
    let policy = format!(
        "default-src 'none'; style-src {}; img-src data:; form-action 'none'; base-uri 'none'; \
         frame-ancestors 'none'",
        styles.join(" ")
    );
    let name: HeaderName = header::CONTENT_SECURITY_POLICY;
    let policy = HeaderValue::from_str(&policy).ok().map(|value| (name, value));
    let mut response = as_html(html);
    response.headers_mut().extend(policy);
    response
}

fn as_html(html: Arc<str>) -> Response {
    let bytes = Bytes::from_owner(Sent(html));
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], bytes).into_response()
}

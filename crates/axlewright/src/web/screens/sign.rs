//! Signing a hold point, a joint or the whole job: by name, never by a tap alone.

use axlewright_book::log::{Body, Judge, NOW, Signed, open_in_words};
use axlewright_setup::record::{self, Figured, JOB, Signature};
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use maud::{Markup, html};

use super::{joints, step};
use crate::desk::bench::View;
use crate::web::fields::{Fill, Look, Wrong, hidden};
use crate::web::form::Sent;
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::pairing::Device;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

/// `POST /sign`
pub async fn write(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let Some(of) = sent.text("of") else { return guard::nowhere().await };
    let Some(then) = place(&site.bench.look(), &of) else { return guard::nowhere().await };
    let said = Ok(Body::Signed(Signed {
        of: of.clone(),
        name: sent.text("name").unwrap_or_default(),
        as_what: sent.text("as_what"),
        in_spite: sent.text("in_spite"),
        note: sent.text("note"),
    }));
    let signs = sent.text("name").unwrap_or_default();
    let form =
        Form { site: &site, prefs: &prefs, screen: Screen::Step, name: name(&of), sent, then };
    let again = move |view: &View, fill: &Fill| section(view, &of, fill);
    match prefs.device.as_ref().and_then(|device| not_theirs(device, &signs)) {
        Some(wrong) => form.refuse(StatusCode::UNPROCESSABLE_ENTITY, wrong, again).await,
        None => form.write(said, again).await,
    }
}

/// Why somebody does not sign on a paired device: it is another's, or nobody said whose it is. At
/// the machine with the book whoever sits there signs.
fn not_theirs(device: &Device, signs: &str) -> Option<Wrong> {
    let wrong = |what, right: &str| Some(Wrong::new("name", what, right));
    match &device.person {
        Some(person) if person.trim().eq_ignore_ascii_case(signs.trim()) => None,
        Some(person) => wrong(
            format!("this device is {person}’s, and signs with no other name"),
            "sign on a device of your own, or at the machine with the book",
        ),
        None => wrong(
            "nobody has said whose device this is".to_owned(),
            "say it under Settings, then sign; or sign at the machine with the book",
        ),
    }
}

/// The screen of what can be signed.
fn place(view: &View, of: &str) -> Option<String> {
    if of == JOB {
        return Some("/dossier#sign".to_owned());
    }
    if view.car().step(of).is_some() {
        return Some(format!("{}#sign", step::path(of)));
    }
    let is_joint = view.assessment().joints.iter().any(|scene| scene.joint == of);
    is_joint.then(|| format!("{}#sign", joints::path(of)))
}

fn name(of: &str) -> String {
    format!("sign-{of}")
}

/// The signature that holds, and the form where there is none.
pub(super) fn section(view: &View, of: &str, fill: &Fill) -> Markup {
    let all = record::signed(view.state(), view.car(), view.assessment(), of);
    let held = all.iter().rev().find(|one| one.holds());
    let (title, words) = match of {
        JOB => ("The whole job", "By whoever answers for it, once nothing is open."),
        step if view.car().step(step).is_some() => {
            ("Hold point", "Whoever signs has looked, and says so with a name.")
        }
        _ => ("This joint", "Every bolt at its torque and marked, seen by whoever signs."),
    };
    html! {
        section id="sign" {
            h2 { (title) }
            @match (held, all.last()) {
                (Some(one), _) => p.state { (signature(one)) },
                (None, Some(one)) => p.fault { (signature(one)) " It does not hold: "
                    (one.standing()) "." },
                (None, None) => {},
            }
            @if held.is_none() { (form(view, of, words, fill)) }
        }
    }
}

fn signature(one: &Signature) -> Markup {
    html! {
        "Signed by " (one.name) @if let Some(what) = &one.as_what { ", " (what) }
        @if let Some(seq) = one.stamp.seq() { ", " a href={ "/log/" (seq) } { "entry " (seq) } }
        "."
    }
}

fn form(view: &View, of: &str, words: &str, fill: &Fill) -> Markup {
    let judge = Judge::of(view.state(), &Figured);
    let open = judge.map(|judge| judge.open(of, NOW)).unwrap_or_default();
    let name = name(of);
    let typed = fill.of(&name);
    html! {
        p { (words) }
        form method="post" action="/sign" data-key=(typed.key()) {
            (typed.head())
            (hidden("of", of))
            (typed.text("name", "Name", Look { needed: true, ..Look::default() }))
            (typed.words("as_what", "Signs as", &["restorer", "helper", "inspector"],
                Some("not said")))
            @if !open.is_empty() {
                p.fault { "Not to be signed yet: " (open_in_words(&open)) "." }
                (typed.area("in_spite", "If it has to be signed all the same: why",
                    Look { hint: "The dossier then says what was open, and never that it holds",
                        ..Look::default() }))
            }
            (typed.area("note", "Note", Look::default()))
            button type="submit" { "Sign" }
        }
    }
}

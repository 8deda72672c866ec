//! The car on its wheels: rounds of readings, what to correct, and what to look at again later.

use std::collections::BTreeMap;

use axlewright_book::Correction;
use axlewright_book::log::{Body, Moved, Recheck, Round};
use axlewright_setup::{Finding, cautions};
use axlewright_sheets::{capital, pieces, wheels_plan};
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::desk::say::in_words;
use crate::web::fields::{Fill, Look, Typed, Wrong};
use crate::web::form::{Fields, Sent};
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

const WHEELS: [(&str, &str); 4] =
    [("LF", "left front"), ("RF", "right front"), ("LR", "left rear"), ("RR", "right rear")];

/// What a round reads: its field, what it is called, whether front wheels have it too, an example.
const READ: [(&str, &str, bool, &str); 4] = [
    ("weight", "Weight on the scale", true, "280 kg"),
    ("trim", "Trim", false, "95 mm"),
    ("camber", "Camber", true, "-0.5 deg"),
    ("toe", "Toe-in", true, "0.1 deg, or 1.2 mm at the rim"),
];

/// `GET /wheels`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    let make = |view: &View| body(view, &Fill::default());
    site.screen(&prefs, Screen::Wheels, String::new(), make).await
}

/// `POST /wheels/{what}`: a round, a correction, a re-check.
pub async fn round(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let said = Ok(Body::Round(round_of(&sent)));
    send(&site, &prefs, "round", sent, said).await
}

/// See [`round`].
pub async fn moved(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let text = |name: &str| sent.text(name).unwrap_or_default();
    let moved = Moved { corner: text("corner"), adjuster: text("adjuster"), by: text("by") };
    send(&site, &prefs, "moved", sent, Ok(Body::Moved(moved))).await
}

/// See [`round`].
pub async fn recheck(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let said = recheck_of(&sent).map(Body::Recheck);
    send(&site, &prefs, "recheck", sent, said).await
}

async fn send(
    site: &Shared,
    prefs: &Prefs,
    name: &str,
    sent: Fields,
    said: Result<Body, Wrong>,
) -> Response {
    let (name, then) = (name.to_owned(), "/wheels".to_owned());
    let form = Form { site, prefs, screen: Screen::Wheels, name, sent, then };
    form.write(said, body).await
}

fn round_of(sent: &Fields) -> Round {
    let of = |what: &str| -> BTreeMap<String, String> {
        let wheels = WHEELS.iter();
        wheels
            .filter_map(|(code, _)| {
                Some(((*code).to_owned(), sent.text(&format!("{what}.{code}"))?))
            })
            .collect()
    };
    Round {
        load: sent.text("load").unwrap_or_default(),
        stage: sent.text("stage"),
        weight: of("weight"),
        trim: of("trim"),
        camber: of("camber"),
        toe: of("toe"),
        // Nothing chosen is nothing said, which is not the same as no.
        settled: sent.get("settled").map(|said| said == "yes"),
        note: sent.text("note"),
    }
}

fn recheck_of(sent: &Fields) -> Result<Recheck, Wrong> {
    let km = |name: &str| {
        let wrong = |_| Wrong::new(name, "the distance is no whole number", "in km, as in 100");
        sent.get(name).map(str::parse).transpose().map_err(wrong)
    };
    Ok(Recheck {
        what: sent.text("what").unwrap_or_default(),
        due_km: km("due_km")?,
        done_km: km("done_km")?,
        found: sent.text("found"),
    })
}

fn body(view: &View, fill: &Fill) -> Markup {
    let all = view.assessment();
    let told = |id| page::find(all, id, None, None);
    let shown = [
        "car.suspect-reading",
        "car.looks-like",
        "car.read-first",
        "car.state",
        "car.moves",
        "car.after",
    ];
    let rest = all.findings.iter();
    let rest: Vec<_> =
        rest.filter(|f| f.id.starts_with("car.") && !shown.contains(&f.id)).collect();
    html! {
        (page::cautions("Before the car stands on its wheels", &cautions::before_wheels()))
        @if let Some(road) = all.caution(cautions::ROLL_SHARE, None) {
            (page::cautions("Before it goes on the road", std::slice::from_ref(road)))
        }
        @if let Some(suspect) = told("car.suspect-reading") {
            section.caution { h2 { "Read this one again" } p { (suspect.why.words) } }
        }
        @if let Some(looks) = all.caution(cautions::LOOKS_LIKE, None) {
            (page::cautions("What am I looking at?", std::slice::from_ref(looks)))
        }
        @match (told("car.state"), told("car.expected")) {
            (Some(state), _) => (said("What the readings say", state)),
            (None, Some(expected)) => (said("What it should read", expected)),
            (None, None) => p.lead { "No figures for the wheels yet. They come with the first \
                round." },
        }
        // The drawing names the teeth already.
        @if let Some(moves) = told("car.moves") { (pieces::teeth_caution(moves)) }
        (pieces::drawing(wheels_plan(all), "As read last; below it, in the other colour, what to \
            turn at that wheel. A reading with a question mark fits nothing. To no scale."))
        @if let Some(first) = told("car.read-first") { (said("What to do", first)) }
        @if let Some(moves) = told("car.moves") { (to_do(moves)) }
        @if let Some(after) = told("car.after") { (said("What it should read then", after)) }
        p { a.button href="/wheels/forecast" { "How sure that is" } }
        @if !rest.is_empty() {
            section { h2 { "More of it" } @for finding in rest { (page::line_bare(finding)) } }
        }
        (page::may_write(view))
        (rounds(view))
        (round_form(fill.of("round")))
        (moved_form(fill.of("moved")))
        (rechecks(view, fill.of("recheck")))
    }
}

fn said(title: &str, finding: &Finding) -> Markup {
    html! { section { h2 { (title) } p { (finding.why.words) } (page::why_link(finding)) } }
}

fn to_do(moves: &Finding) -> Markup {
    html! {
        section id="moves" {
            h2 { "What to correct" }
            (pieces::what_to_correct(moves))
            (page::why_link(moves))
        }
    }
}

/// What was read and what was corrected, in the order of the log.
fn rounds(view: &View) -> Markup {
    let (state, facts) = (view.state(), view.state().facts());
    let mut seqs: Vec<u64> = facts.rounds.iter().chain(&facts.moves).copied().collect();
    seqs.sort_unstable();
    html! {
        @if !seqs.is_empty() {
            section id="rounds" {
                h2 { "Rounds and corrections" }
                ol.links { @for seq in seqs {
                    @if let Some(entry) = state.entry(seq) {
                        li { a href={ "/log/" (seq) } {
                            b { (capital(entry.body.kind())) }
                            span { (in_words(&entry.body)) }
                            span.soft { (page::moment(&entry.at)) " · " (entry.by) }
                        } }
                    }
                } }
            }
        }
    }
}

fn round_form(typed: Typed<'_>) -> Markup {
    html! {
        section id="round" {
            h2 { "Write a round" }
            p { "Roll the car a length to and fro, let it settle, and read all of it without \
                moving anything in between. What was not read stays empty." }
            form method="post" action="/wheels/round" data-key=(typed.key()) {
                (typed.head())
                (typed.text("load", "What is in the car", Look { hint: "empty, half a tank",
                    needed: true, ..Look::default() }))
                (typed.text("stage", "How far it is built", Look { hint: "finished; or the last \
                    stage that is on, as in engine and gearbox", ..Look::default() }))
                @for (what, name, front, example) in READ {
                    fieldset {
                        legend { (name) small { ", as in " (example) } }
                        div.field.two {
                            @for (code, wheel) in WHEELS {
                                @if front || code.ends_with('R') {
                                    (typed.text(&format!("{what}.{code}"), wheel,
                                        Look { quiet: true, ..Look::default() }))
                                }
                            }
                        }
                    }
                }
                (typed.choice("settled", "Read after lift-and-release and push-and-release",
                    &[("yes", "yes"), ("no", "no, and trim is not to be gone by")],
                    Some("not said")))
                (typed.area("note", "Note", Look::default()))
                button.main type="submit" { "Write this round" }
            }
        }
    }
}

fn moved_form(typed: Typed<'_>) -> Markup {
    html! {
        section id="moved" {
            h2 { "Write a correction" }
            form method="post" action="/wheels/moved" data-key=(typed.key()) {
                (typed.head())
                (typed.choice("corner", "At", &WHEELS, Some("choose")))
                (typed.words("adjuster", "What was moved", Correction::WORDS, Some("choose")))
                (typed.text("by", "By", Look { hint: "Teeth, tail down positive: -2. Turns of a \
                    screw, up positive: 0.25. A mark’s way: 1.2 mm", needed: true,
                    ..Look::default() }))
                button type="submit" { "Write this correction" }
            }
        }
    }
}

fn rechecks(view: &View, typed: Typed<'_>) -> Markup {
    let open = view.state().rechecks_open();
    let came = view.state().facts().came_km;
    html! {
        section id="rechecks" {
            h2 { "To look at again" }
            @if let Some((km, _)) = came { p { "The car has come " b { (km) " km" } "." } }
            @if open.is_empty() { p { "Nothing is due." } }
            ul.rows { @for (km, what) in open {
                li { b { (capital(what)) } span.state {
                    "at " (km) " km"
                    @if came.is_some_and(|(came, _)| km <= came) { ", due now" }
                } }
            } }
            form method="post" action="/wheels/recheck" data-key=(typed.key()) {
                (typed.head())
                (typed.text("what", "What is looked at", Look { hint: "hub nuts; empty to say \
                    only how far the car has come", ..Look::default() }))
                div.field.two {
                    (typed.text("due_km", "Due at km", Look { keys: Some("numeric"),
                        ..Look::default() }))
                    (typed.text("done_km", "Done at km", Look { keys: Some("numeric"),
                        ..Look::default() }))
                }
                (typed.text("found", "What was found", Look::default()))
                button type="submit" { "Write it" }
            }
        }
    }
}

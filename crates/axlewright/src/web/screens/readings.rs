//! Readings: what a gauge, tape or scale showed, then and now.

use axlewright_book::log::{BEFORE_STRIP_DOWN, Body, Reading, ReadingKey, Spot, What};
use axlewright_book::{Arrow, Hung, Lash, ReadingWhat, Seat};
use axlewright_sheets::capital;
use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::web::fields::{Fill, Look, Typed, Wrong};
use crate::web::form::{Asked, Fields, Sent};
use crate::web::frame::Screen;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

const FORM: &str = "reading";
/// Of no side: chosen like the others, so that a place that was forgotten is not one.
const CAR: &str = "car";

/// `GET /readings?what=…&side=…`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let names = ["what", "side", "stage", "hung"];
    let begun: Vec<(String, String)> =
        names.iter().filter_map(|name| Some(((*name).to_owned(), asked.text(name)?))).collect();
    if begun.is_empty() {
        let make = |view: &View| body(view, &Fill::default());
        return site.screen(&prefs, Screen::Readings, String::new(), make).await;
    }
    let view = site.bench.look();
    let fill = Fill::begun(FORM, Fields::from(begun));
    site.once(&prefs, Screen::Readings, body(&view, &fill))
}

/// `POST /readings`
pub async fn write(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let reading = match sent.raw("side") {
        // The list stands as it came: where is not chosen.
        Some("") => {
            let what = "where it was read is not said";
            Err(Wrong::new("side", what, "choose a side, a wheel, or the whole car"))
        }
        _ => Ok(Body::Reading(reading_of(&sent, ""))),
    };
    let (name, then) = (FORM.to_owned(), "/readings".to_owned());
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Readings, name, sent, then };
    form.write(reading, body).await
}

/// The reading that was typed; `prefix` stands before the names of its fields.
pub(super) fn reading_of(sent: &Fields, prefix: &str) -> Reading {
    let text = |name: &str| sent.text(&format!("{prefix}{name}"));
    let place = text("side").filter(|place| place != CAR);
    let is_corner = place.as_deref().is_some_and(|place| place.len() == 2);
    Reading {
        what: text("else").or_else(|| text("what")).unwrap_or_default(),
        side: place.clone().filter(|_| !is_corner),
        corner: place.filter(|_| is_corner),
        value: text("value").unwrap_or_default(),
        turned: text("turned"),
        arrow: text("arrow"),
        hung: text("hung"),
        lash: text("lash"),
        seat: text("seat"),
        seat_offset: text("seat_offset"),
        gauge: text("gauge"),
        load: text("load"),
        stage: text("stage"),
        note: text("note"),
        ..Reading::default()
    }
}

fn body(view: &View, fill: &Fill) -> Markup {
    html! {
        (page::may_write(view))
        (form(fill.of(FORM)))
        (list(view))
    }
}

fn form(typed: Typed<'_>) -> Markup {
    let places = [
        ("left", "left side"),
        ("right", "right side"),
        ("LF", "left front wheel"),
        ("RF", "right front wheel"),
        ("LR", "left rear wheel"),
        ("RR", "right rear wheel"),
        (CAR, "the whole car"),
    ];
    html! {
        section id="new" {
            h2 { "Write a reading" }
            form method="post" action="/readings" data-key=(typed.key()) {
                (typed.head())
                (typed.words("what", "What was read", ReadingWhat::WORDS, None))
                (typed.text("else", "Or something else", Look { hint: "damper length, plate angle \
                    at droop: kept as a record, and nothing is computed from it", quiet: true,
                    ..Look::default() }))
                (typed.choice("side", "Where", &places, Some("choose")))
                (typed.text("value", "Shown", Look { hint: "With its unit, as the gauge shows it: \
                    35.2 deg, 95 mm, 280 kg", needed: true, ..Look::default() }))
                (typed.text("load", "What was in the car", Look { hint: "For a trim, a weight, a \
                    camber or a toe: empty, half a tank", ..Look::default() }))
                (gauge_fields(typed, ""))
                (typed.choice("stage", "When", &[(BEFORE_STRIP_DOWN,
                    "before strip-down: how the car was")], Some("now: how the car is")))
                (typed.text("gauge", "Read with", Look::default()))
                (typed.area("note", "Note", Look::default()))
                button.main type="submit" { "Write this reading" }
            }
        }
    }
}

/// What an angle reading needs besides: how the gauge lay and what hung on the bar.
pub(super) fn gauge_fields(typed: Typed<'_>, prefix: &str) -> Markup {
    let name = |of: &str| format!("{prefix}{of}");
    html! {
        details.fold id={ (typed.key()) "-how" } open {
            summary { span.name { "How the gauge lay" } span.value {} span.why-mark { "open" } }
            (typed.words(&name("arrow"), "The gauge’s arrow pointed to the", Arrow::WORDS,
                Some("not said")))
            (typed.text(&name("turned"), "Shown with the gauge turned end for end",
                Look { hint: "Takes the gauge’s own error out.", ..Look::default() }))
            (typed.words(&name("hung"), "On the bar hung", Hung::WORDS, Some("not said")))
            (typed.words(&name("lash"), "The play in the teeth was", Lash::WORDS,
                Some("not said")))
            (typed.words(&name("seat"), "The gauge sat on the", Seat::WORDS, Some("not said")))
            (typed.text(&name("seat_offset"), "The edge off the reference line by",
                Look::default()))
        }
    }
}

fn list(view: &View) -> Markup {
    let state = view.state();
    let readings = &state.facts().readings;
    html! {
        section id="taken" {
            h2 { "Taken" }
            @if readings.is_empty() {
                p { "None in the log yet. What the car file says stands until there is one." }
            }
            ul.rows {
                @for (key, all) in readings {
                    @if let Some(last) = state.reading(key) {
                        li {
                            b { (name(key)) }
                            span.state { (last.value) }
                            span.soft {
                                a href={ "/log/" (last.entry.seq) } { "entry " (last.entry.seq) }
                                ", " (page::moment(&last.entry.at)) ", " (last.entry.by)
                                @if 1 < all.len() {
                                    ". Before: "
                                    @let before = state.readings_of(key).collect::<Vec<_>>();
                                    @for (n, one) in before.iter().rev().skip(1).take(4).enumerate()
                                    {
                                        @if 0 < n { ", " } (one.value)
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// `Plate angle, left rear`.
fn name(key: &ReadingKey) -> String {
    let what = match &key.what {
        What::Known(what) => what.word().to_owned(),
        What::Free(words) => words.clone(),
    };
    let place = match key.spot {
        Spot::Car => String::new(),
        Spot::Side(side) => format!(", {}", side.word()),
        Spot::Corner(corner) => {
            format!(", {}", axlewright_sheets::pieces::corner(corner).to_lowercase())
        }
    };
    let stage = key.stage.as_ref().map(|stage| format!(", {stage}")).unwrap_or_default();
    format!("{}{place}{stage}", capital(&what))
}

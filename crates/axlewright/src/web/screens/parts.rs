//! The parts: where each is, what waits for it, and what happened to it.

use axlewright_book::PartRow;
use axlewright_book::log::{Body, Part, PartHappened, PartLife};
use axlewright_setup::Item;
use axlewright_sheets::{capital, float_lines};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::desk::say::in_words;
use crate::web::fields::{Fill, Look, Wrong};
use crate::web::form::{Fields, Sent, escape};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

const NEW: &str = "part-new";

/// What can happen to a part: as the form sends it, as people say it.
const HAPPENED: [(&str, &str, PartHappened); 10] = [
    ("tagged", "taken off and labelled", PartHappened::Tagged),
    ("inspected", "inspected", PartHappened::Inspected),
    ("kept", "to be used again as it is", PartHappened::Kept),
    ("refinished", "refinished: plated, painted, bushed", PartHappened::Refinished),
    ("replaced", "replaced by another (its marks are void)", PartHappened::Replaced),
    ("ordered", "ordered or sent away", PartHappened::Ordered),
    ("due", "expected on a day", PartHappened::Due),
    ("arrived", "arrived on the bench", PartHappened::Arrived),
    ("fitted", "fitted to the car", PartHappened::Fitted),
    ("removed", "taken off the car again", PartHappened::Removed),
];

fn path(id: &str) -> String {
    format!("/parts/{}", escape(id))
}

/// `GET /parts`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    let make = |view: &View| body(view, &Fill::default());
    site.screen(&prefs, Screen::Parts, String::new(), make).await
}

/// `POST /parts`: a part that the car file does not list.
pub async fn add(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let id = sent.text("part").unwrap_or_default();
    let said = said(&id, &sent);
    let (name, then) = (NEW.to_owned(), "/parts".to_owned());
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Parts, name, sent, then };
    form.write(said, body).await
}

/// `GET /parts/{part}`
pub async fn part(State(site): State<Shared>, prefs: Prefs, Path(id): Path<String>) -> Response {
    if !is_known(&site.bench.look(), &id) {
        return guard::nowhere().await;
    }
    let key = id.clone();
    let make = move |view: &View| one(view, &id, &Fill::default());
    site.screen(&prefs, Screen::Parts, key, make).await
}

/// `POST /parts/{part}`
pub async fn write(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(id): Path<String>,
    Sent(sent): Sent,
) -> Response {
    let said = said(&id, &sent);
    let (name, then) = (format!("part-{id}"), path(&id));
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Parts, name, sent, then };
    form.write(said, move |view, fill| one(view, &id, fill)).await
}

fn is_known(view: &View, id: &str) -> bool {
    view.car().part(id).is_some() || view.state().facts().parts.contains_key(id)
}

fn said(id: &str, sent: &Fields) -> Result<Body, Wrong> {
    let word = sent.get("happened").unwrap_or_default();
    let Some((.., happened)) = HAPPENED.iter().find(|(known, ..)| *known == word) else {
        return Err(Wrong::new("happened", "what happened is not said", "choose one of the list"));
    };
    let only =
        |name: &str, with: &[PartHappened]| sent.text(name).filter(|_| with.contains(happened));
    let away = [PartHappened::Ordered, PartHappened::Due];
    Ok(Body::Part(Part {
        part: id.to_owned(),
        happened: *happened,
        // The form shows all of these at once; what does not belong is not sent on.
        side: only("side", &[PartHappened::Fitted]),
        in_spite: only("in_spite", &[PartHappened::Fitted]),
        verdict: only("verdict", &[PartHappened::Inspected]),
        due: only("due", &away),
        name: sent.text("name"),
        note: sent.text("note"),
    }))
}

/// What people call a part, with its side.
pub(super) fn name(part: &PartRow) -> String {
    let name = part.name.as_ref().map_or(&part.id.value, |name| &name.value);
    let side = part.side.map(|side| format!(", {}", side.word())).unwrap_or_default();
    format!("{}{side}", capital(name))
}

fn name_of(view: &View, id: &str) -> String {
    let own = view.state().facts().parts.get(id).and_then(|life| life.name.clone());
    view.car().part(id).map(name).or(own.map(|name| capital(&name))).unwrap_or_else(|| id.into())
}

fn where_it_is(view: &View, id: &str) -> String {
    let life = view.state().facts().parts.get(id);
    let row = view.car().part(id);
    let place = life.and_then(|life| life.place).or(row.and_then(|row| row.state));
    let due = life.and_then(|life| life.due).map(|due| format!(", due {due}"));
    let days = row.and_then(|row| row.back_in_days.as_ref()).filter(|_| due.is_none());
    let days = days.map(|days| format!(", back in {} days", days.value));
    let place = place.map_or("not said where", axlewright_book::PartState::word);
    format!("{place}{}", due.or(days).unwrap_or_default())
}

fn body(view: &View, fill: &Fill) -> Markup {
    let parts = &view.car().parts;
    let floats = page::value(view.order(), "order.finish").and_then(|f| f.get("part_floats"));
    let floats = floats.map(Item::items).unwrap_or_default();
    let own = view.state().facts().parts.iter();
    let own = own.filter(|(id, _)| view.car().part(id).is_none());
    html! {
        (page::may_write(view))
        @if parts.is_empty() { p.lead { "The car file lists no parts yet." } }
        @if !floats.is_empty() {
            section {
                h2 { "Still to come" }
                ul { @for line in float_lines(floats) { li { (line) } } }
            }
        }
        section {
            h2 { "All parts" }
            ul.links.part-list {
                @for part in parts { (row(view, &part.id.value)) }
                @for (id, _) in own { (row(view, id)) }
            }
        }
        (new_part(fill))
    }
}

fn row(view: &View, id: &str) -> Markup {
    html! {
        li { a href=(path(id)) { b { (name_of(view, id)) } span { (where_it_is(view, id)) } } }
    }
}

fn one(view: &View, id: &str, fill: &Fill) -> Markup {
    let life = view.state().facts().parts.get(id);
    let note = view.car().part(id).and_then(|part| part.note.as_ref());
    html! {
        h2 { (name_of(view, id)) }
        p.lead { (capital(&where_it_is(view, id))) "." }
        @if let Some(note) = note { p { (note.value) } }
        (page::may_write(view))
        (event_form(id, fill))
        @if let Some(life) = life { (history(view, life)) }
        p { a.button href="/parts" { "All parts" } }
    }
}

fn happened_field(typed: crate::web::fields::Typed<'_>) -> Markup {
    let options: Vec<(&str, &str)> =
        HAPPENED.iter().map(|(word, said, _)| (*word, *said)).collect();
    typed.choice("happened", "What happened", &options, Some("choose"))
}

fn event_form(id: &str, fill: &Fill) -> Markup {
    let name = format!("part-{id}");
    let typed = fill.of(&name);
    html! {
        form method="post" action=(path(id)) data-key=(typed.key()) {
            (typed.wrong())
            (happened_field(typed))
            (typed.words("verdict", "Inspected: it is", &["good", "doubtful", "scrap"],
                Some("not said")))
            (typed.words("side", "Fitted on the", &["left", "right"], Some("not said")))
            (typed.text("due", "Ordered or expected: due on", Look { is_day: true,
                ..Look::default() }))
            (typed.area("note", "Note", Look { hint: "Where from, where to, what was seen",
                ..Look::default() }))
            details.fold id={ (typed.key()) "-spite" } {
                summary { span.name { "Fitted against its hand" } span.value {}
                    span.why-mark { "open" } }
                p { "A bar set for one side and wound the other way can break. If it has to be, \
                    say why, and the log keeps it." }
                (typed.text("in_spite", "Why all the same", Look::default()))
            }
            button.main type="submit" { "Write it" }
        }
    }
}

fn history(view: &View, life: &PartLife) -> Markup {
    html! {
        section {
            h2 { "Its life" }
            ul.links { @for seq in life.events.iter().rev() {
                @if let Some(entry) = view.state().entry(*seq) {
                    li { a href={ "/log/" (seq) } {
                        (in_words(&entry.body))
                        span.soft { (page::moment(&entry.at)) " · " (entry.by) }
                    } }
                }
            } }
        }
    }
}

fn new_part(fill: &Fill) -> Markup {
    let typed = fill.of(NEW);
    html! {
        section id="new" {
            h2 { "A part that the car file does not list" }
            form method="post" action="/parts" data-key=(typed.key()) {
                (typed.wrong())
                (typed.text("part", "Short name", Look { hint: "small letters and hyphens: \
                    spring-plate-left", needed: true, ..Look::default() }))
                (typed.text("name", "Name", Look { needed: true, ..Look::default() }))
                (happened_field(typed))
                (typed.area("note", "Note", Look::default()))
                button type="submit" { "Add this part" }
            }
        }
    }
}

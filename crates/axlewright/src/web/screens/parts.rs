//! The parts: where each is, what waits for it, and what happened to it.

use axlewright_book::log::{Body, Part, PartHappened, PartLife};
use axlewright_book::{PartRow, PartState};
use axlewright_setup::{Item, cautions};
use axlewright_sheets::{capital, float_lines, pieces};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use crate::desk::bench::View;
use crate::desk::say::in_words;
use crate::web::fields::{Fill, Look, Wrong};
use crate::web::form::{Asked, Fields, Sent, escape};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages as page;
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

const NEW: &str = "part-new";
/// Parts on one screen; a whole car has thousands.
const SHOWN: usize = 100;
/// Letters of a search.
const SOUGHT_MAX: usize = 100;

/// Which parts are asked for.
#[derive(Debug, Clone, Default)]
struct Search {
    words: String,
    place: Option<PartState>,
    /// So many of them are passed over.
    after: usize,
}

/// What can happen to a part: as the form sends it, as people say it.
const HAPPENED: [(&str, &str, PartHappened); 10] = [
    ("tagged", "taken off and labelled", PartHappened::Tagged),
    ("inspected", "inspected", PartHappened::Inspected),
    ("kept", "to be used again as it is", PartHappened::Kept),
    ("refinished", "refinished: plated, painted, bushed", PartHappened::Refinished),
    ("replaced", "replaced by another (marks over it are void)", PartHappened::Replaced),
    ("ordered", "ordered or sent away", PartHappened::Ordered),
    ("due", "expected on a day", PartHappened::Due),
    ("arrived", "arrived on the bench", PartHappened::Arrived),
    ("fitted", "fitted to the car", PartHappened::Fitted),
    ("removed", "taken off the car again", PartHappened::Removed),
];

fn path(id: &str) -> String {
    format!("/parts/{}", escape(id))
}

/// `GET /parts?q=…&at=…&after=…`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Asked(asked): Asked) -> Response {
    let search = Search {
        words: asked.get("q").unwrap_or_default().chars().take(SOUGHT_MAX).collect(),
        place: asked.get("at").and_then(PartState::from_word),
        after: asked.get("after").and_then(|after| after.parse().ok()).unwrap_or_default(),
    };
    let key = format!("?{}\n{:?}\n{}", search.words, search.place, search.after);
    let make = move |view: &View| body(view, &search, &Fill::default());
    site.screen(&prefs, Screen::Parts, key, make).await
}

/// `POST /parts`: a part that the car file does not list.
pub async fn add(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let id = sent.text("part").unwrap_or_default();
    let said = said(&id, &sent);
    let (name, then) = (NEW.to_owned(), "/parts".to_owned());
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Parts, name, sent, then };
    form.write(said, |view, fill| body(view, &Search::default(), fill)).await
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

fn place_of(view: &View, id: &str) -> Option<PartState> {
    let place = view.state().facts().parts.get(id).and_then(|life| life.place);
    place.or(view.car().part(id).and_then(|row| row.state))
}

fn where_it_is(view: &View, id: &str) -> String {
    let life = view.state().facts().parts.get(id);
    let row = view.car().part(id);
    let due = life.and_then(|life| life.due).map(|due| format!(", due {due}"));
    let days = row.and_then(|row| row.back_in_days.as_ref()).filter(|_| due.is_none());
    let days = days.map(|days| format!(", back in {} days", days.value));
    let place = place_of(view, id).map_or("not said where", PartState::word);
    format!("{place}{}", due.or(days).unwrap_or_default())
}

fn body(view: &View, search: &Search, fill: &Fill) -> Markup {
    let floats = page::value(view.order(), "order.finish").and_then(|f| f.get("part_floats"));
    let floats = floats.map(Item::items).unwrap_or_default();
    html! {
        (page::may_write(view))
        @if view.car().parts.is_empty() { p.lead { "The car file lists no parts yet." } }
        @if !floats.is_empty() {
            section {
                h2 { "Still to come" }
                ul { @for line in float_lines(floats) { li { (line) } } }
            }
        }
        (list(view, search))
        (search_form(search))
        (new_part(fill))
    }
}

impl Search {
    fn fits(&self, view: &View, id: &str, words: &str) -> bool {
        let speaks_of = |text: &str| text.to_lowercase().contains(words);
        self.place.is_none_or(|place| place_of(view, id) == Some(place))
            && (words.is_empty() || id.contains(words) || speaks_of(&name_of(view, id)))
    }

    fn is_of_all(&self) -> bool {
        self.words.is_empty() && self.place.is_none()
    }
}

/// Those of the car file first, as it has them; then those that the log alone knows.
fn list(view: &View, search: &Search) -> Markup {
    let words = search.words.trim().to_lowercase();
    let of_file = view.car().parts.iter().map(|part| part.id.value.as_str());
    let own = view.state().facts().parts.keys().map(String::as_str);
    let own = own.filter(|id| view.car().part(id).is_none());
    let fitting = of_file.chain(own).filter(|id| search.fits(view, id, &words));
    let found: Vec<&str> = fitting.skip(search.after).take(SHOWN + 1).collect();
    let more = search.after.saturating_add(SHOWN);
    let at = search.place.map(PartState::word).unwrap_or_default();
    html! {
        section id="list" {
            h2 { @if search.is_of_all() { "All parts" } @else { "Parts found" } }
            p { a.button href="#search" { "Search" } }
            @if found.is_empty() { p { "No part fits this search." } }
            ul.links.sided.part-list { @for id in found.iter().take(SHOWN) { (row(view, id)) } }
            @if SHOWN < found.len() {
                p { a.button href={ "/parts?q=" (escape(&search.words)) "&at=" (escape(at))
                    "&after=" (more) "#list" } { "More parts" } }
            }
        }
    }
}

fn search_form(search: &Search) -> Markup {
    html! {
        section id="search" {
            h2 { "Search" }
            form method="get" action="/parts" role="search" {
                div.field {
                    label for="parts-q" { "Words in its name" }
                    input type="search" id="parts-q" name="q" value=(search.words)
                        maxlength=(SOUGHT_MAX);
                }
                div.field {
                    label for="parts-at" { "Where it is" }
                    select id="parts-at" name="at" {
                        option value="" { "anywhere" }
                        @for word in PartState::WORDS {
                            option value=(word) selected[search.place.map(PartState::word)
                                == Some(*word)] { (word) }
                        }
                    }
                }
                button type="submit" { "Search" }
            }
        }
    }
}

fn row(view: &View, id: &str) -> Markup {
    html! {
        li { a href=(path(id)) {
            (pieces::side_tab(view.car().part(id).and_then(|part| part.side)))
            b { (name_of(view, id)) } span { (where_it_is(view, id)) }
        } }
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
            (typed.head())
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
                (pieces::cautions(&[cautions::WRONG_SIDE.caution()]))
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
                (typed.head())
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

//! One step: its caution, what to change first, the work in large type, and what comes of it.

use axlewright_book::Spanning;
use axlewright_book::log::{Body, Part, PartHappened, Signed, Step as StepEntry, StepHappened};
use axlewright_quantity::Side;
use axlewright_setup::order::Control;
use axlewright_setup::{Finding, Item, State as Teeth, Subject, cautions};
use axlewright_sheets::{both_sides, capital, first_lines, is, listed, pieces, word};
use axum::extract::{Path, State};
use axum::response::Response;
use maud::{Markup, html};

use super::sign;
use crate::desk::bench::{Bench, Hand, View, Written};
use crate::desk::{Asked, OrderCall};
use crate::web::fields::{Fill, Look, Typed, Wrong};
use crate::web::form::{Fields, Sent, escape};
use crate::web::frame::Screen;
use crate::web::guard;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::writing::Form;

/// Where a step's screen is.
pub(super) fn path(id: &str) -> String {
    format!("/step/{}", escape(id))
}

/// `GET /step/{step}`
pub async fn show(State(site): State<Shared>, prefs: Prefs, Path(id): Path<String>) -> Response {
    if site.bench.look().car().step(&id).is_none() {
        return guard::nowhere().await;
    }
    let key = id.clone();
    let make = move |view: &View| body(view, &id, &Fill::default());
    site.screen(&prefs, Screen::Step, key, make).await
}

/// `POST /step/{step}`: begun, done, backed out of, or signed.
pub async fn write(
    State(site): State<Shared>,
    prefs: Prefs,
    Path(id): Path<String>,
    Sent(sent): Sent,
) -> Response {
    let said = said(&id, &sent);
    let is_done = sent.get("happened") == Some("done");
    let step = axlewright_book::Step::is_signed;
    let is_hold = site.bench.look().car().step(&id).is_some_and(step);
    let then = match (is_done, is_hold) {
        // What is done and not signed holds everything up: the name is asked for at once.
        (true, true) => format!("{}#sign", path(&id)),
        (true, false) => "/".to_owned(),
        (false, _) => path(&id),
    };
    let is_sign = sent.get("happened") == Some("signed");
    let name = format!("{}-{id}", if is_sign { "sign" } else { "step" });
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Step, name, sent, then };
    let fitted = form.sent.text("fitted").filter(|_| is_done);
    let (of, again) = (id.clone(), move |view: &View, fill: &Fill| body(view, &id, fill));
    match (said, fitted) {
        // What went in is written before the step that put it there, both or neither.
        (Ok(step), Some(part)) => {
            let act = move |bench: &Bench, hand: Hand<'_>| {
                let view = bench.look();
                let side = view.car().step(&of).and_then(|step| step.side);
                let seqs = bench.write_all(hand, vec![fitted_to(part, side), step])?;
                Ok(Written { seq: seqs.last().copied().unwrap_or_default() })
            };
            form.act(act, again).await
        }
        (said, _) => form.write(said, again).await,
    }
}

/// That a part which is marked for one side was put on the car.
fn fitted_to(part: String, side: Option<Side>) -> Body {
    let (happened, none) = (PartHappened::Fitted, None);
    let side = side.map(|side| side.word().to_owned());
    let (verdict, due, in_spite) = (none.clone(), none.clone(), none.clone());
    Body::Part(Part {
        part,
        happened,
        side,
        verdict,
        due,
        in_spite,
        name: none.clone(),
        note: none,
    })
}

/// Which of the parts marked for one side went in, where the step fits one.
fn which(view: &View, id: &str, typed: Typed<'_>) -> Markup {
    let car = view.car();
    let handed = car.step(id).map(|step| step.fits_handed(car)).unwrap_or_default();
    let twins = handed.first().map(|part| {
        let twins = car.parts.iter().filter(|twin| twin.id.text == part.id.text);
        twins.map(|twin| twin.id.value.as_str()).collect::<Vec<&str>>()
    });
    html! {
        @if let Some(twins) = twins {
            (typed.words("fitted", "Which one went in, by the mark on it", &twins,
                Some("not said")))
        }
    }
}

fn said(id: &str, sent: &Fields) -> Result<Body, Wrong> {
    if sent.get("happened") == Some("signed") {
        return Ok(Body::Signed(Signed {
            of: id.to_owned(),
            name: sent.text("name").unwrap_or_default(),
            as_what: sent.text("as_what"),
            in_spite: sent.text("in_spite"),
            note: sent.text("note"),
        }));
    }
    let happened = match sent.get("happened") {
        Some("started") => StepHappened::Started,
        Some("done") => StepHappened::Done,
        Some("backed-out") => StepHappened::BackedOut,
        Some("waived") => StepHappened::Waived,
        _ => {
            return Err(Wrong::new(
                "happened",
                "what became of the step is not said",
                "tap one \
            of the buttons",
            ));
        }
    };
    let minutes = sent.get("minutes").map(str::parse).transpose().map_err(|_| {
        Wrong::new("minutes", "the minutes are no whole number", "write them as in 25")
    })?;
    let (found, in_spite, note) = (sent.text("found"), sent.text("in_spite"), sent.text("note"));
    let step = id.to_owned();
    Ok(Body::Step(StepEntry { step, happened, minutes, found, in_spite, note }))
}

fn body(view: &View, id: &str, fill: &Fill) -> Markup {
    let order = view.order();
    let sequence = page::value(order, "order.sequence").map(Item::items).unwrap_or_default();
    let at = sequence.iter().position(|step| word(step, "step") == Some(id));
    let step = at.and_then(|at| sequence.get(at));
    html! {
        section.next {
            @if let Some(step) = step {
                p.soft { "Step " (at.unwrap_or_default() + 1) " of " (sequence.len())
                    " that are left"
                    @if let Some(phase) = word(step, "phase") { ", " (phase) } }
                (raising(view, step))
                (before(step))
                (work(step))
            } @else {
                (as_written(view, id))
            }
        }
        (shows(view, step))
        (forms(view, id, fill))
        (reasons(view, id))
    }
}

/// A step that is not in the plan: it is done, or nothing is planned.
fn as_written(view: &View, id: &str) -> Markup {
    let Some(step) = view.car().step(id) else { return html! {} };
    html! {
        p.soft {
            @if step.side.is_some() { (pieces::side_tab(step.side)) " " }
            "Not among the steps that are left."
        }
        @if let Some(caution) = &step.caution { p.beware { b { "Caution. " } (caution.value) } }
        p.work { (step.words.value) }
    }
}

/// What comes before a step: its caution, then what to change.
pub(super) fn before(step: &Item) -> Markup {
    let gate = step.get("gate").filter(|gate| **gate != Item::Nothing);
    html! {
        @if let Some(gate) = gate {
            div.caution.not-yet { p { b { "NOT YET. " }
                (capital(word(gate, "why").unwrap_or_default())) ". First: "
                (word(gate, "first").unwrap_or_default()) "." } }
        }
        @if let Some(caution) = word(step, "caution") {
            div.caution { p { b { "Caution. " } (caution) } }
        }
        p.place {
            @if let Some(side) = pieces::side_of(step) { (pieces::side_tab(Some(side))) " " }
            (pieces::step_place(step))
        }
        @for change in first_lines(step) { p.change { b { "First " } (change) } }
    }
}

/// The step itself, what it needs, what is to be read and signed.
pub(super) fn work(step: &Item) -> Markup {
    let parts = both_sides(&listed(step, "parts"));
    html! {
        p.work { (word(step, "words").unwrap_or_default()) }
        @if !parts.is_empty() { p.with { b { "Needs: " } (parts.join("; ")) } }
        @if let Some(reading) = word(step, "reading") { p.with { b { "Read: " } (reading) } }
        @if is(step, "hold") {
            p.hold { b { "Hold point." }
                @if word(step, "reading").is_some() { " Go on only when it is read." }
                @else { " Go on only when it is signed." } }
        }
    }
}

/// What can be written of it now.
fn forms(view: &View, id: &str, fill: &Fill) -> Markup {
    let facts = view.state().facts();
    let now = facts.steps.get(id);
    let row = view.car().step(id);
    let is_hold = row.is_some_and(axlewright_book::Step::is_signed);
    let is_reading = row.is_some_and(|step| step.reading.is_some());
    let is_done = now.is_some_and(|life| life.now == StepHappened::Done);
    let name = format!("step-{id}");
    let typed = fill.of(&name);
    html! {
        (page::may_write(view))
        @if let Some(life) = now {
            p.state id="is" { (became(life.now)) ", "
                a href={ "/log/" (life.since) } { "entry " (life.since) }
                @if let Some(minutes) = life.minutes { ", " (minutes) " min in all" } "." }
        }
        form.step-form method="post" action=(path(id)) data-key=(typed.key()) {
            (typed.head())
            @if now.is_none_or(|life| life.now != StepHappened::Done) {
                (found(view, id))
                button.main type="submit" name="happened" value="done" { "Done" }
                p.taps {
                    @if now.is_none_or(|life| life.now == StepHappened::BackedOut) {
                        button type="submit" name="happened" value="started" { "Begun" }
                    } @else {
                        button type="submit" name="happened" value="backed-out" { "Back out of it" }
                    }
                    span data-timer=(id) data-into={ (typed.key()) "-minutes" } hidden {}
                }
                (which(view, id, typed))
                (typed.text("minutes", "Minutes it took", Look { keys: Some("numeric"),
                    ..Look::default() }))
                (typed.area("note", "Note", Look::default()))
                @if typed.asks_for("in_spite") {
                    (typed.area("in_spite", "Done in spite of that, because", Look::default()))
                }
                @if is_reading {
                    button type="submit" name="happened" value="waived" {
                        "Cannot be read any more: the note says why" }
                }
            } @else {
                (typed.area("note", "Note", Look::default()))
                button type="submit" name="happened" value="backed-out" {
                    "It is undone again" }
            }
        }
        @if is_hold {
            @if is_done { (sign::section(view, id, fill)) }
            @else { section id="sign" { h2 { "Hold point" }
                p { "It can be signed once it is done." } } }
        }
        nav.on aria-label="for this step" {
            a.button href="/readings?what=plate+angle" { "Write a reading" }
            a.button href={ "/marks?of=" (escape(id)) "#photo" } { "Add a photo" }
            @if now.is_some_and(|life| life.now == StepHappened::Done) {
                a.button href={ "/order/back-out?what=" (escape(id)) } { "What to undo" }
            }
        }
    }
}

/// What somebody may find at the car that opens a step which is not to be done yet.
fn found(view: &View, id: &str) -> Markup {
    let gates = view.gates();
    let opens: Vec<_> =
        gates.iter().filter(|gate| gate.step == id).filter_map(|gate| gate.opens).collect();
    html! {
        @if let Some(found) = opens.first() {
            label.tick {
                input type="checkbox" name="found" value=(found.word());
                " I looked: " (found.word())
            }
        }
    }
}

const fn became(now: StepHappened) -> &'static str {
    match now {
        StepHappened::Started => "Begun",
        StepHappened::Done => "Done",
        StepHappened::BackedOut => "Backed out of",
        StepHappened::Waived => "Given up",
    }
}

/// What to know before this step's arm goes up; before the act.
fn raising(view: &View, step: &Item) -> Markup {
    let side = word(step, "side");
    let all = view.assessment();
    let of = page::corners(all).into_iter().find(|corner| Some(corner.side().word()) == side);
    let raises =
        of.map(|corner| page::find_all(all, &["raise.stop-bolt"], Some(&Subject::Corner(corner))));
    let needs_raise = word(step, "arm") == Some("stop bolt clear");
    // The figures hold for the teeth aimed at, and for the step that puts the stop bolt in.
    let id = word(step, "step").unwrap_or_default();
    let row = view.car().step(id);
    let is_told = row.is_some_and(|row| row.fits.iter().any(|f| f.value == Spanning::StopBolt))
        && !view.gates().iter().any(|gate| gate.step == id);
    let raises: Vec<&Finding> = raises
        .into_iter()
        .flatten()
        .filter(|raise| is_told && raise.at == Some(Teeth::Target))
        .collect();
    html! {
        @if needs_raise && is_told { (pieces::raise_caution(&raises)) }
        @else if needs_raise {
            div.caution { (pieces::cautions(&cautions::before_raising())) }
        }
    }
}

/// The drawing that belongs to the arm's position in this step.
fn shows(view: &View, step: Option<&Item>) -> Markup {
    let side = step.and_then(|step| word(step, "side"));
    let corners = page::corners(view.assessment());
    let of = corners.into_iter().find(|corner| Some(corner.side().word()) == side);
    html! {
        @if let Some(corner) = of {
            p { a.button href={ "/geometry/" (corner.code()) } {
                (pieces::corner(corner)) ": what fits where"
            } }
        }
    }
}

/// Why it stands where it stands.
fn reasons(view: &View, id: &str) -> Markup {
    let call = OrderCall { asked: Asked::Why(id.to_owned()), ..OrderCall::default() };
    let (found, _) = view.answer_order(&call, &mut |_| Control::Go);
    let Some(why) = found.findings.first() else { return html! {} };
    let direct = why.value.get("direct").map(Item::items).unwrap_or_default();
    let words = |before: &str| {
        view.car().step(before).map_or_else(|| before.to_owned(), |step| step.words.value.clone())
    };
    html! {
        section {
            h2 { "Why here" }
            p { (plain(&why.why.words)) }
            ul.links.sided {
                @for arc in direct.iter().filter(|arc| !is(arc, "implied")) {
                    @if let Some(before) = word(arc, "before") {
                        li { a href=(path(before)) {
                            (page::side_of_step(view, before))
                            span { b { "After: " } (words(before)) }
                            @if word(arc, "reason") != Some("said") {
                                span.soft { (plain(word(arc, "words").unwrap_or_default())) }
                            }
                        } }
                    }
                }
            }
        }
    }
}

/// Reasons name steps between backticks; on the screen they stand between quotation marks.
pub(super) fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for (at, piece) in text.split('`').enumerate() {
        if 0 < at {
            out.push(if at % 2 == 1 { '“' } else { '”' });
        }
        out.push_str(piece);
    }
    out
}

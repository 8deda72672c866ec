//! The teeth: what to draw at both ends of each bar, and how sure that is.

use axlewright_book::ReadingWhat;
use axlewright_book::log::{Attempt, AttemptAt, Body, Reading};
use axlewright_quantity::{Corner, Side};
use axlewright_setup::record::{self, SideAttempts};
use axlewright_setup::{Assessment, CornerScene, Item, SplineScene, Subject, cautions};
use axlewright_sheets::{attempts_chart, pieces, spline_rings};
use axum::extract::State;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};

use super::readings::{gauge_fields, reading_of};
use crate::desk::bench::View;
use crate::desk::say::in_words;
use crate::web::fields::{Fill, Look, Typed, Wrong, hidden};
use crate::web::form::{Asked, Fields, Sent};
use crate::web::frame::Screen;
use crate::web::parts_of_pages::{self as page};
use crate::web::prefs::Prefs;
use crate::web::site::Shared;
use crate::web::tell;
use crate::web::writing::Form;

const FIGURES: [&str; 10] = [
    "free-angle.target",
    "free-angle.now",
    "hang.plate",
    "hang.arm",
    "free-angle.manual",
    "trim.at-manual-angle",
    "free-angle.by-four-numbers",
    "vernier.step",
    "vernier.trim-per-step",
    "body.level",
];
/// Shown in words, or as a list.
const IN_WORDS: [&str; 3] = ["free-angle.left-right", "index.both-sides", "index.choices"];

/// Whether findings with this id stand on this screen.
pub(super) fn shows(id: &str) -> bool {
    FIGURES.contains(&id) || IN_WORDS.contains(&id)
}

/// `GET /splines`
pub async fn show(State(site): State<Shared>, prefs: Prefs) -> Response {
    let make = |view: &View| body(view, &Fill::default());
    site.screen(&prefs, Screen::Splines, String::new(), make).await
}

/// `POST /splines`: a bar was fitted and its plate read.
pub async fn write(State(site): State<Shared>, prefs: Prefs, Sent(sent): Sent) -> Response {
    let said = attempt_of(&sent).map(Body::Attempt);
    let side = sent.get("side").unwrap_or_default();
    let (name, then) = (form_name(side), format!("/splines#attempts-{side}"));
    let form = Form { site: &site, prefs: &prefs, screen: Screen::Splines, name, sent, then };
    form.write(said, body).await
}

/// `GET /preview/attempt?…`: what the screen would say of that side if this were written.
pub async fn preview(State(site): State<Shared>, Asked(asked): Asked) -> Response {
    let said = attempt_of(&asked).map(Body::Attempt);
    let view = site.bench.look();
    let corner = match asked.get("side") {
        Some("left") => Corner::LeftRear,
        _ => Corner::RightRear,
    };
    let made = tokio::task::spawn_blocking(move || supposed(&view, said, corner));
    match made.await {
        Ok(made) => Html(made.into_string()).into_response(),
        Err(_) => tell::sorry(),
    }
}

fn supposed(view: &View, said: Result<Body, Wrong>, corner: Corner) -> Markup {
    let then = match said {
        Ok(body) => view.supposing(body).map_err(|refusal| refusal.to_string()),
        Err(wrong) => Err(format!("{}; {}", wrong.what, wrong.right)),
    };
    match then {
        Ok(then) => html! {
            p.soft { "If this is written:" }
            (teeth(then.assessment(), corner, "supposed-"))
        },
        Err(why) => html! { p.soft { "Not yet: " (why) "." } },
    }
}

fn form_name(side: &str) -> String {
    format!("attempt-{side}")
}

/// The attempt that was typed. Which way is said in words, so that nobody has to think of a sign.
fn attempt_of(sent: &Fields) -> Result<Attempt, Wrong> {
    let reading = reading_of(sent, "reading.");
    let what = ReadingWhat::PlateAngle.word().to_owned();
    let at = |name: &str| {
        let wrong = |_| Wrong::new(name, "the tooth is no whole number", "count from your mark");
        sent.get(name).map(str::parse).transpose().map_err(wrong)
    };
    Ok(Attempt {
        side: sent.text("side").unwrap_or_default(),
        anchor_teeth: moved(sent, "anchor_teeth")?,
        plate_teeth: moved(sent, "plate_teeth")?,
        anchor_at: at("anchor_at")?,
        plate_at: at("plate_at")?,
        reading: Reading { what, ..reading },
    })
}

fn moved(sent: &Fields, name: &str) -> Result<i32, Wrong> {
    let typed = sent.get(name).unwrap_or("0").replace('\u{2212}', "-");
    let teeth: i32 = typed.parse().map_err(|_| {
        Wrong::new(
            name,
            format!("`{typed}` is no whole number of teeth"),
            "write 0 if that end \
            was left alone",
        )
    })?;
    let way = format!("{name}_way");
    match (teeth, sent.get(&way)) {
        (0, _) => Ok(0),
        (_, Some("up")) => Ok(teeth.checked_neg().unwrap_or(teeth)),
        (_, Some("down")) => Ok(teeth),
        _ => {
            let what = "which way these teeth were turned is not said";
            Err(Wrong::new(&way, what, "choose tail down or tail up beside the number"))
        }
    }
}

fn body(view: &View, fill: &Fill) -> Markup {
    let all = view.assessment();
    let corners = page::corners(all);
    let both = page::find(all, "index.both-sides", None, None);
    html! {
        (page::cautions("Before a tooth is moved", &cautions::before_teeth()))
        @if corners.is_empty() { p.lead { "Nothing is known of the bars yet." } }
        // Surer than either side alone, so it comes before them.
        @if let Some(apart) = all.find("free-angle.left-right", None) {
            p.lead { (apart.why.words) } (page::why_link(apart))
        }
        div.pair { @for corner in &corners { (side(all, *corner)) } }
        @if let Some(both) = both {
            section {
                h2 { "Both sides together" }
                p { (both.why.words) } (page::why_link(both))
            }
        }
        @for corner in &corners { (choices(all, *corner)) }
        (page::may_write(view))
        @let told = record::attempts(view.state(), view.car(), all);
        @for side in Side::BOTH {
            (attempts(view, told.iter().find(|t| t.side == side), side, fill))
        }
    }
}

fn side(all: &Assessment, corner: Corner) -> Markup {
    let of = Subject::Corner(corner);
    html! {
        section.card id={ "teeth-" (corner.code()) } {
            h2 { (pieces::corner(corner)) }
            (teeth(all, corner, ""))
            @for finding in page::find_all(all, &FIGURES, Some(&of)) { (page::line(finding)) }
        }
    }
}

/// What to draw at both ends, or what that waits for.
fn teeth(all: &Assessment, corner: Corner, before: &str) -> Markup {
    let of = Subject::Corner(corner);
    let scene = all.corners.iter().find(|scene| scene.corner == corner);
    let found = page::find(all, "index.choices", Some(&of), None);
    let best = found.and_then(|found| found.value.items().first());
    html! {
        @match scene.and_then(|scene: &CornerScene| scene.splines.as_ref()) {
            Some(splines) => {
                (pieces::counted_from(all, corner))
                (moves(splines, best, before))
            }
            None => p.lead { "Not known yet." },
        }
        (page::waits(all, &["index.choices", "free-angle.now"], Some(&of)))
    }
}

/// The move in words and as a drawing; `before` keeps its name apart from that of another one.
fn moves(splines: &SplineScene, best: Option<&Item>, before: &str) -> Markup {
    let mut drawing = spline_rings(splines);
    drawing.name = format!("{before}{}", drawing.name);
    html! {
        @if splines.anchor_move == 0 && splines.plate_move == 0 {
            p.do { "Leave both ends as they are." }
        } @else {
            @for words in pieces::moves(splines) { p.do { (words) } }
        }
        p { "Free angle now " b { (pieces::amount(splines.now.into())) } ", afterwards "
            b { (pieces::amount(splines.after.into())) } "; wanted "
            (pieces::amount(splines.target.into())) "." }
        @if let Some(best) = best { (pieces::outcome(best)) }
        (pieces::drawing(Some(drawing), "Not to scale: count from your own paint \
            marks, tooth by tooth."))
    }
}

fn choices(all: &Assessment, corner: Corner) -> Markup {
    let of = Subject::Corner(corner);
    let Some(found) = page::find(all, "index.choices", Some(&of), None) else { return html! {} };
    let rows = found.value.items();
    html! {
        details.fold id={ "choices-" (corner.code()) } {
            summary { span.name { (pieces::corner(corner)) ": all choices, best first" }
                span.value { (rows.len()) } span.why-mark { "show" } }
            ol.choices { @for row in rows { (pieces::choice(row)) } }
            (page::why_link(found))
        }
    }
}

/// The attempts of one side, and the form for the next.
fn attempts(view: &View, told: Option<&SideAttempts>, side: Side, fill: &Fill) -> Markup {
    let made = view.state().facts().attempts.get(&side).map(Vec::as_slice).unwrap_or_default();
    let name = form_name(side.word());
    let typed = fill.of(&name);
    let into = format!("preview-{}", side.word());
    html! {
        section id={ "attempts-" (side.word()) } {
            h2 { "Attempts, " (side.word()) }
            @if made.is_empty() { p { "None written yet." } }
            @if let Some(told) = told {
                (pieces::drawing(attempts_chart(told), ""))
                @if let Some(next) = &told.next { p.do { (next.why.words) } }
                @for fit in &told.fits { @if let Some(words) = &fit.told {
                    p { "Fit " (fit.number) ": " (words) "." }
                } }
            }
            ol.links { @for (n, attempt) in made.iter().enumerate() {
                (made_row(view, n, attempt))
            } }
            form method="post" action="/splines" data-key=(typed.key())
                data-preview="/preview/attempt" data-into=(into) {
                h3 { "Fitted and read" }
                (typed.head())
                (hidden("side", side.word()))
                (turned(typed, "anchor_teeth", "Bar and plate turned together in the anchor"))
                (turned(typed, "plate_teeth", "Plate moved on the bar"))
                (typed.text("reading.value", "Plate angle now, as shown", Look { hint: "With its \
                    unit: 26.4 deg", needed: true, ..Look::default() }))
                (gauge_fields(typed, "reading."))
                div.field.two {
                    (typed.text("anchor_at", "Anchor stands at tooth", Look { keys:
                        Some("numeric"), ..Look::default() }))
                    (typed.text("plate_at", "Plate stands at tooth", Look { keys:
                        Some("numeric"), ..Look::default() }))
                }
                (typed.area("reading.note", "Note", Look::default()))
                button.main type="submit" { "Write this attempt" }
                div.preview id=(into) aria-live="polite" {}
            }
        }
    }
}

/// How many teeth, and which way.
fn turned(typed: Typed<'_>, name: &str, label: &str) -> Markup {
    let ways = [("down", "tail down"), ("up", "tail up")];
    html! {
        div.field.two {
            (typed.text(name, label, Look { value: "0", keys: Some("numeric"), needed: true,
                ..Look::default() }))
            (typed.choice(&format!("{name}_way"), "Which way (teeth)", &ways,
                Some("choose")))
        }
    }
}

fn made_row(view: &View, n: usize, attempt: &AttemptAt) -> Markup {
    let Some(entry) = view.state().entry(attempt.seq) else { return html! {} };
    html! {
        li { a href={ "/log/" (attempt.seq) } {
            b { "Attempt " (n + 1) }
            span { (in_words(&entry.body)) }
            span.soft { "In all: anchor " (attempt.anchor_moved) ", plate " (attempt.plate_moved)
                " teeth, tail down positive · " (page::moment(&entry.at)) }
        } }
    }
}

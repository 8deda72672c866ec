//! The car on its wheels: what a round says, what to correct, what it reads then.

use axlewright_quantity::{Amount, Kind};
use axlewright_setup::{Finding, Item, cautions};
use maud::{Markup, html};

use super::figure::{Name, figure, key_figure, reasons};
use super::{Sheet, Which, drawing, item, open};
use crate::{capital, forecast_chart, format, wheels_plan};

/// A measuring that takes away less than this share of the doubt is only named.
const LITTLE: f64 = 0.01;

const fn of_car(id: &str) -> Which<'_> {
    Which { id, of: None, at: None }
}

fn word<'a>(row: &'a Item, key: &str) -> &'a str {
    match row.get(key) {
        Some(Item::Word(word)) => word,
        _ => "",
    }
}

/// Cautions and doubtful readings first, then what to do, then the figures.
pub(super) fn section(sheet: &mut Sheet<'_>) -> Markup {
    let plan = wheels_plan(sheet.all);
    let suspect = sheet.take(of_car("car.suspect-reading"));
    let state = sheet.take(of_car("car.state"));
    let moves = sheet.take(of_car("car.moves"));
    let after = sheet.take(of_car("car.after"));
    let hand_over = sheet.take(of_car("car.hand-over"));
    let expected = sheet.take(of_car("car.expected"));
    let stages = sheet.take(of_car("car.stages"));
    let share = sheet.take(of_car("car.roll-share"));
    let rechecks = sheet.take(of_car("car.rechecks"));
    let waiting = sheet.waiting(&["car.expected", "car.state", "car.moves"], None);
    let found = [suspect, state, moves, after, hand_over, expected, stages, share, rechecks];
    if found.iter().all(Option::is_none) && waiting.0.is_empty() {
        return html! {};
    }
    html! {
        section.wheels {
            h2 { "The car on its wheels" }
            @if let Some(suspect) = suspect {
                div.caution { p { (suspect.why.words) } }
                (reasons(suspect))
            }
            @if let Some(state) = state { p { (state.why.words) } }
            @if let Some(moves) = moves { (teeth_caution(moves)) }
            (drawing(plan, "As read last; below it, in the other colour, what to turn at that \
                wheel: teeth, turns of a screw, how far the eccentrics' marks move. A reading with \
                a question mark fits nothing. To no scale."))
            @if let Some(moves) = moves { (corrections(moves)) }
            @if let Some(sheet) = hand_over { (table(sheet)) }
            @if let Some(state) = state { (figure(state, Name::Short)) }
            @if let Some(after) = after { (key_figure(after, Name::Short)) }
            @if let Some(expected) = expected { (figure(expected, Name::Short)) }
            @if let Some(stages) = stages { (half_built(stages)) }
            @if let Some(share) = share { (figure(share, Name::Short)) }
            @if let Some(rechecks) = rechecks { (schedule(rechecks)) }
            (waiting)
        }
    }
}

/// The forecast, where somebody had it made.
pub(super) fn forecast(sheet: &mut Sheet<'_>) -> Markup {
    let forecast = sheet.take(of_car("car.forecast"));
    let budget = sheet.take(of_car("car.budget"));
    let Some(forecast) = forecast else { return html! {} };
    html! {
        section.forecast {
            h2 { "How sure: where builds land" }
            (where_builds_land(forecast, budget))
        }
    }
}

/// A forecast in words and as a picture, and which measurement helps most.
pub(super) fn where_builds_land(forecast: &Finding, budget: Option<&Finding>) -> Markup {
    html! {
        p { (forecast.why.words) }
        (drawing(forecast_chart(forecast), "Hatched bars land within the tolerance, empty ones do \
            not; the line is the mean."))
        @if let Some(budget) = budget { (worths(budget)) }
        (reasons(forecast))
    }
}

fn corrections(moves: &Finding) -> Markup {
    html! {
        h3 { "What to correct" }
        (what_to_correct(moves))
        (reasons(moves))
    }
}

fn steps_in(plan: &Item) -> &[Item] {
    plan.get("steps").map(Item::items).unwrap_or_default()
}

/// Plans beside the first: what a wish adds, what a bar would.
fn beside_of(moves: &Finding) -> &[Item] {
    moves.value.get("beside").map(Item::items).unwrap_or_default()
}

/// What can kill when teeth are moved; nothing where none are. It stands before whatever says
/// which teeth, the plan drawing too.
pub(super) fn teeth_caution(moves: &Finding) -> Markup {
    let plans = [&moves.value].into_iter().chain(beside_of(moves));
    let has_teeth = plans.flat_map(steps_in).any(|step| word(step, "what") == "teeth");
    html! {
        @if has_teeth {
            div.caution { (open::cautions(&cautions::before_teeth())) }
        }
    }
}

/// The corrections in the order in which they are made; [`teeth_caution`] stands before them.
pub(super) fn what_to_correct(moves: &Finding) -> Markup {
    let plan = |plan: &Item| {
        html! {
            @if !steps_in(plan).is_empty() {
                ol.moves { @for step in steps_in(plan) { li { (one_correction(step)) } } }
            }
        }
    };
    html! {
        p { (moves.why.words) }
        (plan(&moves.value))
        @for beside in beside_of(moves) {
            p { b {
                @if word(beside, "rung") == "wish" { "For your own wish, in place of that" }
                @else { "With a bar drawn, in place of that" }
            } }
            (plan(beside))
        }
    }
}

/// Where, how long, and below it what to do, thing by thing.
fn one_correction(step: &Item) -> Markup {
    let words = word(step, "words");
    let (at, acts) = words.split_once(": ").unwrap_or((words, ""));
    html! {
        b { (capital(at)) }
        @if let Some(Item::Count(minutes, _)) = step.get("minutes") {
            " " span.unit { "about " (minutes) " min" }
        }
        @if !acts.is_empty() { ul { @for act in acts.split("; ") { li { (act) } } } }
    }
}

/// A table of an object's parts, row by row.
fn table(sheet: &Finding) -> Markup {
    let heads = [
        ("what", "figure"),
        ("wanted", "wanted"),
        ("within", "within"),
        ("last_read", "read"),
        ("after_moves", "after that"),
        ("settled", "settled"),
    ];
    html! {
        h3 { "Hand-over to alignment" }
        div.wide tabindex="0" role="group" aria-label="table, scrolls sideways" {
            table {
                thead { tr { @for (_, head) in heads { th scope="col" { (head) } } } }
                tbody { @for row in sheet.value.items() { tr {
                    @for (key, _) in heads { td { (cell(row.get(key))) } }
                } } }
            }
        }
        (reasons(sheet))
    }
}

fn cell(value: Option<&Item>) -> Markup {
    match value {
        None | Some(Item::Nothing) => html! { "–" },
        // A tolerance of half a per cent is not nothing.
        Some(Item::Leaf(leaf)) if leaf.u.is_none() && leaf.value.kind() == Kind::Ratio => {
            let number = format::figures(format::printed(leaf.value), 1);
            html! { span.num { (number) span.unit { (format::with_space("%")) } } }
        }
        Some(value) => item::item(value),
    }
}

/// A count whose unit stands in the head of its column.
fn bare(value: Option<&Item>) -> Markup {
    match value {
        Some(Item::Count(n, _)) => html! { span.num { (n) } },
        other => cell(other),
    }
}

/// One row for each stage: the figures a half-built car shows.
fn half_built(stages: &Finding) -> Markup {
    let of =
        |row: &Item, what: &str, corner: &str| cell(row.get(what).and_then(|all| all.get(corner)));
    html! {
        h3 { "What a half-built car shows" }
        p { (stages.why.words) }
        div.wide tabindex="0" role="group" aria-label="table, scrolls sideways" {
            table {
                thead { tr {
                    th scope="col" { "with" }
                    th scope="col" { "trim left" } th scope="col" { "trim right" }
                    th scope="col" { "plate left" } th scope="col" { "plate right" }
                    th scope="col" { "LF" } th scope="col" { "RF" }
                    th scope="col" { "LR" } th scope="col" { "RR" }
                } }
                tbody { @for row in stages.value.items() { tr {
                    td { (word(row, "stage")) }
                    td { (of(row, "trim_read", "LR")) } td { (of(row, "trim_read", "RR")) }
                    td { (of(row, "plate_angle", "LR")) } td { (of(row, "plate_angle", "RR")) }
                    td { (of(row, "weight", "LF")) } td { (of(row, "weight", "RF")) }
                    td { (of(row, "weight", "LR")) } td { (of(row, "weight", "RR")) }
                } } }
            }
        }
        (reasons(stages))
    }
}

fn schedule(rechecks: &Finding) -> Markup {
    let km = |row: &Item| {
        let of = |key| match row.get(key) {
            Some(Item::Count(km, _)) => *km,
            _ => 0,
        };
        let (from, to) = (of("from"), of("to"));
        if from == to { format!("{from} km") } else { format!("{from} to {to} km") }
    };
    html! {
        h3 { "Look again" }
        p { (rechecks.why.words) }
        @for row in rechecks.value.items() {
            p { b { "After " (km(row)) } }
            ul { @for what in row.get("what").map(Item::items).unwrap_or_default() {
                li { (item::item(what)) }
            } }
        }
        (reasons(rechecks))
    }
}

fn worths(budget: &Finding) -> Markup {
    let rows = budget.value.get("rows").map(Item::items).unwrap_or_default();
    let share = |row: &Item| row.get("share").and_then(Item::amount).map(Amount::to_si);
    let (rows, little): (Vec<_>, Vec<_>) =
        rows.iter().partition(|row| share(row).is_none_or(|share| LITTLE <= share));
    let little: Vec<&str> = little.into_iter().map(|row| word(row, "how")).collect();
    html! {
        h3 { "Which measurement helps most" }
        p { (budget.why.words) }
        div.wide tabindex="0" role="group" aria-label="table, scrolls sideways" {
            table {
                thead { tr {
                    th scope="col" { "what to do" }
                    th scope="col" { "share of the doubt" }
                    th scope="col" { "then land within, of 100" }
                } }
                tbody { @for row in rows { tr {
                    td { (word(row, "how")) }
                    td { (cell(row.get("share"))) }
                    td { (bare(row.get("within_then"))) }
                } } }
            }
        }
        @if !little.is_empty() {
            p.soft { "Less than a hundredth of the doubt each: " (little.join("; ")) "." }
        }
        (reasons(budget))
    }
}

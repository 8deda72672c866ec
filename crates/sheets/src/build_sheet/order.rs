//! The order of work as pages to work from: per stretch what to lay out and a map, then the steps
//! in big type with a box to tick, cautions first, and a line to sign at every hold point.

use axlewright_setup::{Finding, Item, capital, cautions, duration};
use maud::{Markup, PreEscaped, html};

use super::{Sheet, Which, figure, open, pieces};
use crate::order_map::{MapArc, map_arcs, order_map};
use crate::stretches::{
    Numbers, Stretch, both_sides, by_measure, count, first_lines, float_lines, is, listed,
    stretches, word,
};
use crate::svg::to_svg;
use crate::words;

/// Arcs of one reason that are listed; a long file has hundreds, and all of them are in the data.
const ARCS_SHOWN_MAX: usize = 400;

/// Everything about the order of work; nothing where no order was worked out.
pub(super) fn section(sheet: &mut Sheet<'_>) -> Markup {
    let mut take = |id| sheet.take(Which { id, of: None, at: None });
    let Some(sequence) = take("order.sequence") else { return html! {} };
    let (cost, finish) = (take("order.cost"), take("order.finish"));
    let safety = take("order.safety");
    let (now, blocked, arcs) = (take("order.now"), take("order.blocked-by"), take("order.arcs"));
    let waiting = sheet.waiting(&["order.finish"], None);
    let numbers = Numbers::new(sequence.value.items());
    let pages = Pages { numbers: &numbers, arcs };
    html! {
        section.order {
            h2 { "The order of work" }
            (lead(sequence, cost, finish))
            (findings(&numbers, &[(safety, safety_body)]))
            (findings(&numbers, &[(finish, finish_body), (now, now_body), (blocked, blocked_body)]))
            (findings(&numbers, &[(arcs, arcs_body), (cost, cost_body), (Some(sequence), nothing)]))
            (waiting)
            @for stretch in stretches(sequence.value.items()) { (pages.stretch(&stretch)) }
        }
    }
}

fn lead(sequence: &Finding, cost: Option<&Finding>, finish: Option<&Finding>) -> Markup {
    let minutes = |key| cost.and_then(|found| count(&found.value, key)).map(duration);
    html! {
        p.lead {
            (sequence.why.words)
            @if let (Some(work), Some(change)) = (minutes("work"), minutes("minutes")) {
                " " (work) " of work, " (change) " of walking, washing, jacking and changing tools."
            }
            @if let Some(finish) = finish { " " (finish.why.words) }
        }
        p {
            "Do the steps by their numbers. At a hold point you sign before you go on; on the maps \
             it is a diamond. Ticks on a screen last only as long as the page is open: what counts \
             is the paper, or the log."
        }
        div.caution { (open::cautions(&cautions::before_the_work())) }
    }
}

type Body = fn(&Finding, &Numbers<'_>) -> (Markup, Markup);

/// One line each, what is behind it one tap below.
fn findings(numbers: &Numbers<'_>, rows: &[(Option<&Finding>, Body)]) -> Markup {
    html! {
        @for (finding, body) in rows {
            @if let Some(finding) = finding { (line(finding, *body, numbers)) }
        }
    }
}

fn line(finding: &Finding, body: Body, numbers: &Numbers<'_>) -> Markup {
    let (main, more) = body(finding, numbers);
    // What sets the day is worth its place on paper; the rest stays one tap below.
    let class = if finding.id == "order.finish" { "figure key" } else { "figure" };
    html! {
        details class=(class) data-finding=(finding.id) {
            summary {
                span.name { (words::title(finding.id)) }
                span.value { (main) }
                span.why-mark { "why?" }
            }
            div.reasons { (more) (figure::why(&finding.why)) }
        }
    }
}

fn nothing(finding: &Finding, _: &Numbers<'_>) -> (Markup, Markup) {
    (html! { (finding.value.items().len()) " steps" }, html! {})
}

/// What the order was made without, and which steps are not to be done yet.
fn safety_body(finding: &Finding, numbers: &Numbers<'_>) -> (Markup, Markup) {
    let list = |key| finding.value.get(key).map(Item::items).unwrap_or_default();
    let (unknown, gates) = (list("unknown"), list("gates"));
    let more = html! {
        @for (measure, rows) in by_measure(unknown) {
            ul { @for row in rows {
                li {
                    (word(row, "edge").unwrap_or_default()) ": "
                    (word(row, "why").unwrap_or_default()) "."
                }
            } }
            p { "Measure this first and the plan may get shorter: " (measure) "." }
        }
        @for gate in gates {
            p { b { "Not yet: " (numbers.name(word(gate, "step").unwrap_or_default())) ": " }
                (gate_words(gate)) }
        }
        p { "Proved: " (listed(&finding.value, "proved").join("; ")) "." }
    };
    (html! { (unknown.len()) " not known, " (gates.len()) " not yet" }, more)
}

/// Why a step is not to be done yet, and what comes first.
fn gate_words(gate: &Item) -> String {
    let of = |key| word(gate, key).unwrap_or_default();
    format!("{}. First: {}.", of("why"), of("first"))
}

fn cost_body(finding: &Finding, _: &Numbers<'_>) -> (Markup, Markup) {
    let minutes = |key| count(&finding.value, key).map(duration);
    let main = html! { @if let Some(total) = minutes("total") { (total) } };
    let features = finding.value.get("features").map(Item::items).unwrap_or_default();
    let more = html! {
        ul { @for feature in features {
            li {
                (word(feature, "what").unwrap_or_default()) ": "
                (count(feature, "changes").unwrap_or(0))
                @if let Some(least) = count(feature, "at_least") { " (at least " (least) ")" }
                @if let Some(time) = count(feature, "minutes") { ", " (duration(time)) }
            }
        } }
        p {
            @if is(&finding.value, "proven") { "Proven: no order has less." }
            @else if let (Some(bound), Some(by)) =
                (minutes("bound"), word(&finding.value, "stopped_by")) {
                "Not proven: no order has less than " (bound) " of changes. The search was ended \
                 by: " (by) "."
            }
        }
    };
    (main, more)
}

fn finish_body(finding: &Finding, numbers: &Numbers<'_>) -> (Markup, Markup) {
    let main = word(&finding.value, "date").unwrap_or("not to be said yet");
    let list = |key| finding.value.get(key).map(Item::items).unwrap_or_default();
    let more = html! {
        @if !list("chain").is_empty() {
            p { "The chain that sets the day; what is on it must not slip:" }
            ul { @for link in list("chain") {
                li {
                    b { (capital(&numbers.name(word(link, "step").unwrap_or_default()))) }
                    " begins " (word(link, "begins").unwrap_or_default()) ", "
                    (numbers.told(word(link, "waits_for").unwrap_or_default()))
                }
            } }
        }
        @if !list("part_floats").is_empty() {
            p { "How late each part may come without moving the day:" }
            ul { @for line in float_lines(list("part_floats")) { li { (line) } } }
        }
    };
    (html! { (main) }, more)
}

fn now_body(finding: &Finding, numbers: &Numbers<'_>) -> (Markup, Markup) {
    let steps = finding.value.items();
    let more = html! {
        ul { @for step in steps {
            li {
                b { (capital(&numbers.name(word(step, "step").unwrap_or_default()))) } ": "
                (word(step, "words").unwrap_or_default())
            }
        } }
    };
    (html! { (steps.len()) " steps" }, more)
}

fn blocked_body(finding: &Finding, numbers: &Numbers<'_>) -> (Markup, Markup) {
    let list = |key| finding.value.get(key).map(Item::items).unwrap_or_default();
    let more = html! {
        @for part in list("parts") {
            p {
                b { (word(part, "part").unwrap_or_default()) } " is not there; it holds up "
                (listed(part, "holds_up").iter().map(|id| numbers.name(id)).collect::<Vec<_>>()
                    .join(", ")) "."
            }
        }
        @for words in listed(&finding.value, "out_of_order") { p { (numbers.told(words)) } }
    };
    (html! { (list("steps").len()) " steps" }, more)
}

fn arcs_body(finding: &Finding, numbers: &Numbers<'_>) -> (Markup, Markup) {
    let arcs: Vec<&Item> = finding.value.items().iter().filter(|arc| !is(arc, "implied")).collect();
    let of = |reason: &str| -> Vec<&Item> {
        arcs.iter().copied().filter(|arc| word(arc, "reason") == Some(reason)).collect()
    };
    let name = |arc: &Item, end| numbers.name(word(arc, end).unwrap_or_default());
    let heads = [
        ("safety", "Because the other way round can hurt somebody"),
        ("geometry", "Because of the arm’s angle"),
        ("part", "Because one step makes another possible"),
        ("said", "Because the car file says so"),
    ];
    let more = html! {
        @for (reason, head) in heads {
            @let rows = of(reason);
            @if !rows.is_empty() {
                p { b { (head) ": " (rows.len()) } }
                ul { @for arc in rows.iter().take(ARCS_SHOWN_MAX) {
                    li {
                        (name(arc, "before")) " before " (name(arc, "after"))
                        // What the file says needs no words beside the two names.
                        @if reason != "said" {
                            ": " (numbers.told(word(arc, "words").unwrap_or_default()))
                        }
                    }
                } }
            }
        }
        p { "What follows from two of these is left out here." }
    };
    (html! { (of("geometry").len()) " by the arm’s angle" }, more)
}

/// What the pages of all stretches share.
struct Pages<'a> {
    numbers: &'a Numbers<'a>,
    arcs: Option<&'a Finding>,
}

impl Pages<'_> {
    /// One stretch: heading, what to lay out, map, steps.
    fn stretch(&self, stretch: &Stretch<'_>) -> Markup {
        let drawn = self.arcs.map(|arcs| map_arcs(stretch, arcs)).unwrap_or_default();
        let steps = stretch.steps.len();
        let map = order_map(stretch, &drawn);
        html! {
            div.stretch {
                h3 { (stretch.title) }
                div.lay {
                    div {
                        p {
                            b { (steps) @if steps == 1 { " step, " } @else { " steps, " }
                                (duration(stretch.minutes)) "." }
                        }
                        (lay_out("Parts to lay out", &stretch.parts))
                        (lay_out("Tools to lay out", &stretch.tools))
                    }
                    @if let Some(map) = map { figure.map { (PreEscaped(to_svg(&map))) } }
                }
                (self.reasons(stretch, &drawn))
                @for (at, step) in stretch.steps.iter().enumerate() {
                    (self.step(step, stretch.first + at, stretch.phase))
                }
            }
        }
    }

    /// The letters of the map in words, and reasons that come from stretches before.
    fn reasons(&self, stretch: &Stretch<'_>, drawn: &[MapArc]) -> Markup {
        let ids = stretch.steps.iter().filter_map(|step| word(step, "step"));
        let from_before: Vec<(&str, &str, &Item)> = ids
            .flat_map(|id| self.geometry_before(id).map(move |arc| (id, arc)))
            .filter_map(|(id, arc)| Some((word(arc, "before")?, id, arc)))
            .filter(|(before, ..)| !stretch.steps.iter().any(|s| word(s, "step") == Some(before)))
            .collect();
        let lettered: Vec<&MapArc> = drawn.iter().filter(|arc| arc.is_geometry).collect();
        html! {
            @if !lettered.is_empty() || !from_before.is_empty() {
                div.letters {
                    h4 { "In this order because of the arm’s angle" }
                    ul.things {
                    @for arc in lettered {
                        li {
                            b {
                                @if let Some(letter) = arc.letter { (letter) ", " }
                                (arc.before) " before " (arc.after) ": "
                            }
                            (self.numbers.told(&arc.words)) "."
                        }
                    }
                    @for (before, after, arc) in from_before {
                        li {
                            b { (self.numbers.name(before)) " before " (self.numbers.name(after)) }
                            ": " (self.numbers.told(word(arc, "words").unwrap_or_default())) "."
                        }
                    }
                    }
                }
            }
        }
    }

    /// Arcs by which the arm's angle puts other steps before this one.
    fn geometry_before<'b>(&'b self, id: &'b str) -> impl Iterator<Item = &'b Item> {
        let arcs = self.arcs.map(|arcs| arcs.value.items()).unwrap_or_default();
        arcs.iter().filter(move |arc| {
            word(arc, "after") == Some(id)
                && word(arc, "reason") == Some("geometry")
                && !is(arc, "implied")
        })
    }

    /// One step: caution, what to change first, words, hold point.
    fn step(&self, step: &Item, number: usize, phase: &str) -> Markup {
        let id = word(step, "step").unwrap_or_default();
        let before = self.geometry_before(id).filter_map(|arc| word(arc, "before"));
        let before = self.numbers.listed(before);
        html! {
            div.step data-step=(id) {
                label.tick {
                    input type="checkbox" aria-label={ "step " (number) " done" };
                    span.no { (number) }
                    (pieces::side_tab(pieces::side_of(step)))
                }
                div {
                    p.place { (place(step, phase)) }
                    @if let Some(energy) = word(step, "energy").filter(|words| !words.is_empty()) {
                        p.place { "Energy: " (energy) }
                    }
                    @if let Some(gate) = step.get("gate").filter(|gate| **gate != Item::Nothing) {
                        p.beware { b { "NOT YET. " } (gate_words(gate)) }
                    }
                    @if let Some(caution) = word(step, "caution") {
                        p.beware { b { "Caution. " } (caution) }
                    }
                    @if let Some(before) = before {
                        p.change { b { "Only after " (before) ":" }
                            " before that the arm’s angle is in the way." }
                    }
                    @for change in first_lines(step) {
                        p.change { b { "First " } (change) }
                    }
                    p.work { (word(step, "words").unwrap_or_default()) }
                    @if !listed(step, "parts").is_empty() {
                        p.with { "With: " (both_sides(&listed(step, "parts")).join("; ")) }
                    }
                    (signature(step))
                }
            }
        }
    }
}

fn lay_out<T: AsRef<str>>(head: &str, things: &[T]) -> Markup {
    html! {
        @if !things.is_empty() {
            h4 { (head) }
            ul.things { @for thing in things { li { (thing.as_ref()) } } }
        }
    }
}

/// The line to sign at a hold point.
fn signature(step: &Item) -> Markup {
    let reading = word(step, "reading");
    html! {
        @if is(step, "hold") {
            p.hold {
                b { "Hold point" }
                @if let Some(reading) = reading { " (" (reading) ")" }
                ": go on only when signed."
                span.sign { "Signed" span.rule {} "Date" span.rule.short {} }
            }
        } @else if let Some(reading) = reading {
            p.hold { b { "Reading: " } (reading) }
        }
    }
}

/// Where, with what in the hand, how long.
pub(super) fn place(step: &Item, phase: &str) -> Markup {
    let mut said: Vec<String> = Vec::new();
    said.extend(word(step, "station").map(capital));
    said.extend(word(step, "tool").map(str::to_owned));
    said.extend(word(step, "hands").map(|hands| format!("{hands} hands")));
    said.extend(word(step, "arm").map(arm_words));
    said.extend(count(step, "minutes").map(duration));
    let people = count(step, "people").unwrap_or(1);
    if 1 < people {
        said.push(format!("{people} people"));
    }
    let other = word(step, "phase").filter(|of| *of != phase);
    said.extend(other.map(|of| format!("belongs to: {of}")));
    html! {
        @for (at, piece) in said.iter().enumerate() {
            @if 0 < at { " · " }
            @if at == 0 { b { (piece) } } @else { (piece) }
        }
        " · " span.id { (word(step, "step").unwrap_or_default()) }
    }
}

fn arm_words(position: &str) -> String {
    match position {
        "bar out" => "bar out".to_owned(),
        "wheels down" => "car on its wheels".to_owned(),
        "hang" => "arm hanging".to_owned(),
        "ride" => "arm at ride".to_owned(),
        other => format!("arm: {other}"),
    }
}

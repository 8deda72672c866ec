//! One corner: angles, what fits where, raising, damper, bar, travel.

use axlewright_quantity::{Angle, Corner};
use axlewright_setup::{Caution, CornerScene, Finding, Item, Leaf, State, Subject, cautions};
use maud::{Markup, html};

use super::figure::{Name, figure, key_figure, reasons};
use super::{Sheet, Which, drawing, item, open};
use crate::{format, side_view, travel_curves, words};

const ANGLES: &[&str] = &[
    "free-angle.target",
    "hang.plate",
    "hang.arm",
    "free-angle.now",
    "free-angle.manual",
    "trim.at-manual-angle",
    "free-angle.by-four-numbers",
    "vernier.step",
    "vernier.trim-per-step",
    "body.level",
];
const WINDOWS: &[&str] = &[
    "window.stop-bolt",
    "window.damper",
    "window.hose",
    "window.cable",
    "window.half-shaft",
    "window.plate-bend",
];
const DAMPER: &[&str] = &["damper.rings", "ride.stick"];
const BAR: &[&str] =
    &["bar.rate", "bar.shear-at-ride", "bar.shear-at-full-bump", "wheel-rate", "ride-frequency"];

/// Everything about one corner.
pub(super) fn section(sheet: &mut Sheet<'_>, corner: Corner) -> Markup {
    let of = Subject::Corner(corner);
    let scene = sheet.all.corners.iter().find(|s| s.corner == corner);
    html! {
        section.corner {
            h2 { (words::corner(corner)) }
            (drawing(scene.and_then(side_view), "Plate angles read at the letters; the numbered \
                arcs span the angles at which each thing fits."))
            (windows(sheet, &of))
            (raising(sheet, &of))
            (choices(sheet, &of))
            (figures(sheet, "Angles", ANGLES, &of))
            (figures(sheet, "Damper", DAMPER, &of))
            (figures(sheet, "Bar and wheel", BAR, &of))
            (travel(sheet, &of, scene))
        }
    }
}

/// A heading with a line for each finding, or what it waits for; nothing if there is neither.
fn figures(sheet: &mut Sheet<'_>, title: &str, ids: &[&str], of: &Subject) -> Markup {
    let waiting = sheet.waiting(ids, Some(of));
    let findings = sheet.take_all(ids, Some(of));
    html! {
        @if !findings.is_empty() || !waiting.0.is_empty() {
            div.block {
                h3 { (title) }
                @for finding in findings {
                    @if finding.id == "free-angle.target" { (key_figure(finding, Name::Short)) }
                    @else { (figure(finding, Name::Short)) }
                }
                (waiting)
            }
        }
    }
}

/// What fits at which arm position, in words; the angles below.
fn windows(sheet: &mut Sheet<'_>, of: &Subject) -> Markup {
    let waiting = sheet.waiting(WINDOWS, Some(of));
    let findings = sheet.take_all(WINDOWS, Some(of));
    if findings.is_empty() && waiting.0.is_empty() {
        return html! {};
    }
    html! {
        div.block {
            h3 { "What fits at which arm position" }
            (fits_table(&findings))
            @for finding in &findings { (figure(finding, Name::Short)) }
            (waiting)
        }
    }
}

/// The verdicts alone: one row for each window, one column for each position that is known.
pub(super) fn fits_table(findings: &[&Finding]) -> Markup {
    let positions = [("hang_now", "hang now"), ("hang_target", "hang at target"), ("ride", "ride")];
    let has = |key: &str| findings.iter().any(|f| fit(&f.value, key).is_some());
    let columns: Vec<_> = positions.into_iter().filter(|(key, _)| has(key)).collect();
    html! {
        @if !columns.is_empty() {
            table.fits {
                thead { tr {
                    td {}
                    @for (key, name) in &columns { th scope="col" {
                        (name)
                        @if let Some(at) = position_angle(findings, key) {
                            br; span.num { (format::amount(at.value)) }
                        }
                    } }
                } }
                tbody { @for finding in findings { tr {
                    th scope="row" { (words::window(finding.id)) }
                    @for (key, _) in &columns { td { (verdict(fit(&finding.value, key))) } }
                } } }
            }
            p.soft {
                "Hang: plate and arm on the bar, nothing else. “Try it”: the margin is smaller \
                 than its uncertainty; offer it up, never force it."
            }
        }
    }
}

/// The verdict for a position.
fn fit<'a>(value: &'a Item, key: &str) -> Option<&'a str> {
    let position = value.get("fit").and_then(|f| f.get(key))?;
    match position.get("verdict").unwrap_or(position) {
        Item::Word(word) => Some(word.as_str()),
        _ => None,
    }
}

/// The plate angle of a position, from the first window that names it.
fn position_angle<'a>(findings: &[&'a Finding], key: &str) -> Option<&'a Leaf> {
    let angle = |f: &&'a Finding| f.value.get("fit")?.get(key)?.get("angle")?.as_leaf();
    findings.iter().find_map(angle)
}

pub(super) fn verdict(word: Option<&str>) -> Markup {
    html! {
        @match word {
            Some(w @ "fits") => span.verdict { span aria-hidden="true" { "✓ " } (w) },
            Some(w @ "try it") => span.verdict { span aria-hidden="true" { "≈ " } b { (w) } },
            Some(w) => span.verdict { span aria-hidden="true" { "✕ " } b { (w) } },
            None => span.open { "open" },
        }
    }
}

/// Raising to the stop bolt: the caution with its figures, then the figures.
fn raising(sheet: &mut Sheet<'_>, of: &Subject) -> Markup {
    let ids = ["raise.stop-bolt", "droop"];
    let waiting = sheet.waiting(&ids, Some(of));
    let raises = sheet.take_all(&["raise.stop-bolt"], Some(of));
    let droops = sheet.take_all(&["droop"], Some(of));
    if raises.is_empty() && droops.is_empty() && waiting.0.is_empty() {
        return html! {};
    }
    html! {
        div.block {
            h3 { "Raising the arm to the stop bolt" }
            (raise_caution(&raises))
            @if !raises.is_empty() { (raise_table(&raises)) }
            @for finding in raises { (reasons(finding)) }
            @for finding in droops { (figure(finding, Name::Short)) }
            (waiting)
        }
    }
}

/// What stands before the act: what was judged, with the figures only where it may be done.
pub(super) fn raise_caution(raises: &[&Finding]) -> Markup {
    if raises.is_empty() {
        return html! {};
    }
    let each = raises.iter().flat_map(|raise| told(raise));
    let all: Vec<Caution> = each.chain([cautions::ON_STANDS.caution()]).collect();
    html! {
        div.caution {
            p.head { "Before the jack goes under the arm" }
            (open::cautions(&all))
        }
    }
}

/// Of one choice of teeth: what the bar then holds and what the jack does to the car, or why it is
/// not to be done.
fn told(raise: &Finding) -> Vec<Caution> {
    let word = |key| match raise.value.get(key) {
        Some(Item::Word(word)) if !word.is_empty() => Some(word.as_str()),
        _ => None,
    };
    let shown = |key| raise.value.get(key).and_then(Item::as_leaf).map(|l| format::shown(l).text());
    let advice = word("advice").unwrap_or_default();
    let (Some(push), Some(energy)) = (shown("force"), shown("energy")) else {
        let barred = word("barred_by").zip(raise.at);
        let advised = (!advice.is_empty()).then(|| cautions::raising(advice));
        return barred
            .map(|(why, at)| cautions::not_yet(at, why))
            .or(advised)
            .into_iter()
            .collect();
    };
    let stand = word("stand").map_or("a stand".to_owned(), |name| format!("the {name} stand"));
    let lifts = raise.value.get("lifts_car") == Some(&Item::Flag(true));
    vec![cautions::raised(&energy, raise.at), cautions::jack(&push, &stand, lifts, advice)]
}

pub(super) fn raise_table(raises: &[&Finding]) -> Markup {
    let rows = [
        "may",
        "angle",
        "from_angle",
        "clear_by",
        "lift",
        "force",
        "energy",
        "stand",
        "stand_before",
        "stand_after",
        "lifts_car",
        "ballast_with_margin",
        "bags",
    ];
    let has =
        |key: &&&str| raises.iter().any(|f| f.value.get(key).is_some_and(|v| *v != Item::Nothing));
    html! {
        table.compare {
            thead { tr {
                td {}
                @for f in raises {
                    th scope="col" { (f.at.map_or("", words::state)) }
                }
            } }
            tbody { @for key in rows.iter().filter(has) { tr {
                th scope="row" { (raise_word(key)) }
                @for f in raises { td {
                    @if let Some(value) = f.value.get(key) { (item::item(value)) }
                } }
            } } }
        }
    }
}

fn raise_word(key: &str) -> String {
    match key {
        "may" => "judgement".to_owned(),
        "angle" => "plate angle, bolt clear".to_owned(),
        "force" => "jack force".to_owned(),
        "stand" => "nearest stand".to_owned(),
        "stand_before" => "load on it before".to_owned(),
        "stand_after" => "load on it, jack pushing".to_owned(),
        "bags" => "in bags at hand".to_owned(),
        other => words::part(other),
    }
}

/// Every choice of teeth worth a thought, best first.
fn choices(sheet: &mut Sheet<'_>, of: &Subject) -> Markup {
    let Some(finding) = sheet.take(Which { id: "index.choices", of: Some(of), at: None }) else {
        return html! {};
    };
    let rows = finding.value.items();
    html! {
        div.block {
            h3 { "Choices of teeth" }
            details.figure.key data-finding=(finding.id) data-of=[corner_code(of)] {
                summary {
                    span.name { "All choices, best first" }
                    span.value { (rows.len()) }
                    span.why-mark { "show" }
                }
                div.reasons {
                    ol.choices { @for row in rows { (choice(row)) } }
                    div.formal { (super::figure::why(&finding.why)) }
                }
            }
        }
    }
}

fn corner_code(of: &Subject) -> Option<&'static str> {
    match of {
        Subject::Corner(corner) => Some(corner.code()),
        _ => None,
    }
}

pub(super) fn choice(row: &Item) -> Markup {
    let leaf = |key| row.get(key).and_then(Item::as_leaf);
    html! {
        li {
            @match row.get("words") {
                Some(Item::Word(text)) => b { (text) },
                _ => b {
                    "anchor " (row.get("anchor_teeth").map(item::item).unwrap_or_default())
                    ", plate " (row.get("plate_teeth").map(item::item).unwrap_or_default())
                },
            }
            br;
            @if let Some(angle) = leaf("angle") { "free angle " (item::number(angle)) }
            @if let Some(error) = leaf("error") { " · off the target " (item::number(error)) }
            @if let Some(trim) = leaf("trim") { " · trim " (item::number(trim)) }
            @if let Some(Item::Count(n, what)) = row.get("ends") {
                " · " (item::count(*n, what)) " to draw"
            }
            @if let Some(Item::Flag(false)) = row.get("within_tolerance") {
                " · " b { "outside the tolerance" }
            }
        }
    }
}

/// The angles that the travel curves mark: full droop, ride, full bump.
pub(super) fn travel_marks(
    droop: Option<&Finding>,
    scene: Option<&CornerScene>,
) -> Vec<(&'static str, Angle)> {
    let droop = droop.and_then(|f| f.value.get("angle")?.amount()).map(Angle::try_from);
    let states = scene.map(|s| s.states.as_slice()).unwrap_or_default();
    let states = states.iter().filter(|s| matches!(s.name, "ride" | "full bump"));
    let droop = droop.and_then(Result::ok).map(|angle| ("droop", angle));
    droop.into_iter().chain(states.map(|s| (s.name, s.angle))).collect()
}

fn travel(sheet: &mut Sheet<'_>, of: &Subject, scene: Option<&CornerScene>) -> Markup {
    let waiting = sheet.waiting(&["travel"], Some(of));
    let finding = sheet.take(Which { id: "travel", of: Some(of), at: None });
    let at = Some(State::Target);
    let droop = sheet.peek(Which { id: "droop", of: Some(of), at });
    let marks = travel_marks(droop, scene);
    html! {
        @if finding.is_some() || !waiting.0.is_empty() {
            div.block {
                h3 { "Over wheel travel" }
                @if let Some(finding) = finding {
                    (drawing(travel_curves(finding, &marks), ""))
                    (figure(finding, Name::Short))
                }
                (waiting)
            }
        }
    }
}

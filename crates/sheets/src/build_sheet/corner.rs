//! One corner: angles, what fits where, raising, damper, bar, travel.

use axlewright_quantity::Corner;
use axlewright_setup::{CornerScene, Finding, Item, State, Subject};
use maud::{Markup, html};

use super::figure::{Name, figure, key_figure};
use super::{Sheet, Which, drawing, item};
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
    let positions = [
        ("hang_now", "hanging, teeth as now"),
        ("hang_target", "hanging, planned teeth"),
        ("ride", "at ride"),
    ];
    let has = |key: &str| findings.iter().any(|f| fit(&f.value, key).is_some());
    let columns: Vec<_> = positions.into_iter().filter(|(key, _)| has(key)).collect();
    html! {
        div.block {
            h3 { "What fits at which arm position" }
            @if !columns.is_empty() {
                table.fits {
                    thead { tr {
                        th scope="col" { "" }
                        @for (_, name) in &columns { th scope="col" { (name) } }
                    } }
                    tbody { @for finding in &findings { tr {
                        th scope="row" { (words::title(finding.id)) }
                        @for (key, _) in &columns { td { (verdict(fit(&finding.value, key))) } }
                    } } }
                }
                p.soft {
                    "“Try it” means the margin is smaller than its uncertainty: offer it up, \
                     never force it."
                }
            }
            @for finding in &findings { (figure(finding, Name::Short)) }
            (waiting)
        }
    }
}

/// The verdict for a position; of several windows the kindest.
fn fit<'a>(value: &'a Item, key: &str) -> Option<&'a str> {
    let one = |window: &'a Item| match window.get("fit").and_then(|f| f.get(key)) {
        Some(Item::Word(word)) => Some(word.as_str()),
        _ => None,
    };
    let rank = |word: &&str| match *word {
        "fits" => 2,
        "try it" => 1,
        _ => 0,
    };
    one(value).or_else(|| value.items().iter().filter_map(one).max_by_key(rank))
}

fn verdict(word: Option<&str>) -> Markup {
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
            @for finding in raises { (key_figure(finding, Name::Short)) }
            @for finding in droops { (figure(finding, Name::Short)) }
            (waiting)
        }
    }
}

/// What counts before the act is the bar as it is now.
fn raise_caution(raises: &[&Finding]) -> Markup {
    let now = raises.iter().find(|f| f.at == Some(State::Now)).or(raises.first());
    let Some(raise) = now else { return html! {} };
    let energy = raise.value.get("energy").and_then(Item::as_leaf);
    let force = raise.value.get("force").and_then(Item::as_leaf);
    let stand = match raise.value.get("stand") {
        Some(Item::Word(name)) => format!("stand {name}"),
        _ => "a stand".to_owned(),
    };
    let ballast = raise.value.get("ballast").and_then(Item::as_leaf);
    html! {
        div.caution {
            h4 { "Before the jack goes under the arm" }
            ul {
                @if let Some(energy) = energy {
                    li { "Raised, the bar holds " b { (format::shown(energy).text()) }
                        ". If the jack slips, the arm throws it all at whatever is in its way. \
                         Swing path clear; block the arm before you reach in." }
                }
                @if let Some(Item::Flag(true)) = raise.value.get("lifts_car") {
                    li { b { "The jack takes the car off " (stand) "." }
                        " Do not raise the arm without ballast"
                        @if let Some(ballast) = ballast {
                            ": " b { (format::shown(ballast).text()) } " over each rear stand"
                        } "." }
                } @else if let Some(force) = force {
                    li { "The jack pushes up with " b { (format::shown(force).text()) }
                        " and takes that much off the stands; watch " (stand) "." }
                }
                li { "Stands carry the car; the jack carries the arm and nothing else." }
            }
        }
    }
}

fn raise_table(raises: &[&Finding]) -> Markup {
    let rows = [
        "angle",
        "from_angle",
        "lift",
        "force",
        "energy",
        "stand",
        "stand_before",
        "stand_after",
        "lifts_car",
        "ballast",
        "bags",
    ];
    let has =
        |key: &&&str| raises.iter().any(|f| f.value.get(key).is_some_and(|v| *v != Item::Nothing));
    html! {
        table.compare {
            thead { tr {
                th scope="col" { "" }
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
            h3 { "Other choices of teeth" }
            details.figure data-finding=(finding.id) data-of=[corner_code(of)] {
                summary {
                    span.name { "All choices, best first" }
                    span.value { (rows.len()) }
                    span.why-mark { "show" }
                }
                div.reasons {
                    ol.choices { @for row in rows { (choice(row)) } }
                    (super::figure::why(&finding.why))
                }
            }
        }
    }
}

fn corner_code(of: &Subject) -> Option<&'static str> {
    match of {
        Subject::Corner(corner) => Some(corner.code()),
        Subject::Stand(_) => None,
    }
}

fn choice(row: &Item) -> Markup {
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

fn travel(sheet: &mut Sheet<'_>, of: &Subject, scene: Option<&CornerScene>) -> Markup {
    let waiting = sheet.waiting(&["travel"], Some(of));
    let finding = sheet.take(Which { id: "travel", of: Some(of), at: None });
    html! {
        @if finding.is_some() || !waiting.0.is_empty() {
            div.block {
                h3 { "Over wheel travel" }
                @if let Some(finding) = finding {
                    (drawing(travel_curves(finding, scene), ""))
                    (figure(finding, Name::Short))
                }
                (waiting)
            }
        }
    }
}

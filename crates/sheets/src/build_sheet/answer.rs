//! The head of the sheet: the angle, why it is not the manual's, cautions, and the teeth.

use axlewright_quantity::Corner;
use axlewright_setup::{Assessment, CornerScene, Finding, Item, Leaf, State, Subject, cautions};
use maud::{Markup, html};

use super::figure::{Name, figure};
use super::{Sheet, Which, drawing, item, open};
use crate::spline_rings::{anchor_words, plate_words};
use crate::{format, spline_rings, words};

fn peek<'a>(
    sheet: &Sheet<'a>,
    id: &'static str,
    corner: Corner,
    at: Option<State>,
) -> Option<&'a Finding> {
    let of = Subject::Corner(corner);
    sheet.peek(Which { id, of: Some(&of), at }).or_else(|| sheet.peek(Which { id, of: None, at }))
}

fn leaf(finding: Option<&Finding>) -> Option<&Leaf> {
    finding.and_then(|f| f.value.as_leaf())
}

/// What to hang the plates at, and why the manual's angle is wrong for this car.
pub(super) fn angles(sheet: &mut Sheet<'_>, corners: &[Corner]) -> Markup {
    let targets: Vec<_> = corners
        .iter()
        .filter_map(|c| Some((*c, peek(sheet, "free-angle.target", *c, None)?)))
        .collect();
    if targets.is_empty() {
        return nothing_yet(sheet, corners);
    }
    let at = Some(State::Now);
    let difference = sheet.take(Which { id: "free-angle.left-right", of: None, at });
    html! {
        section.answer {
            h2 { "What this car’s plates must hang at" }
            div.pair {
                @for (corner, target) in &targets { (angle_card(sheet, *corner, target)) }
            }
            (manual(sheet, &targets))
            @if let Some(difference) = difference { (figure(difference, Name::Short)) }
            @for corner in corners.iter().filter(|c| !targets.iter().any(|(t, _)| t == *c)) {
                (sheet.waiting(&["free-angle.target"], Some(&Subject::Corner(*corner))))
            }
        }
    }
}

fn angle_card(sheet: &Sheet<'_>, corner: Corner, target: &Finding) -> Markup {
    let hang = leaf(peek(sheet, "hang.plate", corner, Some(State::Target)));
    let now = leaf(peek(sheet, "hang.plate", corner, Some(State::Now)));
    let free = target.value.as_leaf();
    html! {
        div.card {
            h3 { (words::corner(corner)) }
            @if let Some(main) = hang.or(free) { p.big { (item::number(main)) } }
            @if hang.is_some() {
                p { "plate alone on the bar, level body" }
                @if let Some(free) = free { p.soft { "Free angle " (item::number(free)) } }
            } @else {
                p { "free angle: no load on the bar" }
            }
            @if let Some(now) = now { p.soft { "Hangs now at " (item::number(now)) } }
        }
    }
}

/// In words: the manual's angle against this car's, and what following it would do. What is
/// the same on both sides is said once.
fn manual(sheet: &Sheet<'_>, targets: &[(Corner, &Finding)]) -> Markup {
    let mut said: Vec<String> = Vec::new();
    for (corner, target) in targets {
        let manual = leaf(peek(sheet, "free-angle.manual", *corner, None));
        if let (Some(manual), Some(needed)) = (manual, target.value.as_leaf()) {
            let manual = format::amount(manual.value);
            let needed = format::shown(needed).text();
            said.push(format!("Free angle: the manual says {manual}, this car needs {needed}."));
        }
        said.push(target.why.words.clone());
        let trim = peek(sheet, "trim.at-manual-angle", *corner, None);
        said.extend(trim.map(|f| f.why.words.clone()));
    }
    let mut once: Vec<String> = Vec::new();
    for words in said {
        if !words.is_empty() && !once.contains(&words) {
            once.push(words);
        }
    }
    html! {
        @for (n, words) in once.iter().enumerate() {
            p.lead { @if n == 0 { b { (words) } } @else { (words) } }
        }
    }
}

/// What is missing, and the estimate from four numbers where it can be had.
fn nothing_yet(sheet: &Sheet<'_>, corners: &[Corner]) -> Markup {
    let gaps = sheet.gaps_before("free-angle.target", None);
    let estimates = corners
        .iter()
        .filter_map(|c| Some((*c, leaf(peek(sheet, "free-angle.by-four-numbers", *c, None))?)));
    html! {
        section.answer {
            h2 { "What this car’s plates must hang at" }
            @for (corner, estimate) in estimates {
                p { (words::corner(corner)) ", a first estimate of the free angle from four \
                    numbers: " b { (format::shown(estimate).text()) } }
            }
            p.lead { "Not known yet. " @if gaps.is_empty() {
                "The car file does not say enough about this car."
            } @else { "Still to measure or decide:" } }
            @if !gaps.is_empty() {
                ul { @for (n, gap) in gaps {
                    li { a href={ "#gap-" (n) } { (gap.measure) } }
                } }
            }
        }
    }
}

/// What can hurt, before anything is to be done.
pub(super) fn cautions() -> Markup {
    html! {
        section.caution aria-labelledby="cautions" {
            h2 id="cautions" { "Read before you touch a bar" }
            (open::cautions(&cautions::before_a_bar()))
        }
    }
}

/// Which teeth, side by side.
pub(super) fn moves(sheet: &Sheet<'_>, corners: &[Corner]) -> Markup {
    let scene = |c: &Corner| sheet.all.corners.iter().find(|s| s.corner == *c);
    html! {
        section {
            h2 { "The teeth" }
            div.pair {
                @for corner in corners { (move_card(sheet, *corner, scene(corner))) }
            }
        }
    }
}

fn move_card(sheet: &Sheet<'_>, corner: Corner, scene: Option<&CornerScene>) -> Markup {
    let of = Subject::Corner(corner);
    let choices = peek(sheet, "index.choices", corner, None);
    let best = choices.and_then(|f| f.value.items().first());
    html! {
        div.card {
            h3 { (words::corner(corner)) }
            (counted_from(sheet.all, corner))
            @match scene.and_then(|s| s.splines.as_ref()) {
                Some(splines) => {
                    @if splines.anchor_move == 0 && splines.plate_move == 0 {
                        p.do { "Leave both ends as they are." }
                    } @else {
                        p.do { (anchor_words(splines)) }
                        p.do { (plate_words(splines)) }
                    }
                    p {
                        "Free angle now " b { (format::amount(splines.now.into())) }
                        ", afterwards " b { (format::amount(splines.after.into())) }
                        "; wanted " (format::amount(splines.target.into())) "."
                    }
                    @if let Some(best) = best { (outcome(best)) }
                    @if let Some(choices) = choices { (left_alone(&choices.value)) }
                    (drawing(Some(spline_rings(splines)), "Not to scale: count from your own \
                        paint marks, tooth by tooth."))
                }
                None => {
                    @if let Some(Item::Word(text)) = best.and_then(|b| b.get("words")) {
                        p.do { (text) }
                    } @else {
                        p { "Not known yet." }
                    }
                    (sheet.waiting(&["index.choices", "free-angle.now"], Some(&of)))
                }
            }
        }
    }
}

/// Both sides together, where the manual says how far their trims may differ.
pub(super) fn both_sides(sheet: &mut Sheet<'_>) -> Markup {
    let found = sheet.take(Which { id: "index.both-sides", of: None, at: None });
    html! {
        @if let Some(found) = found {
            section data-finding=(found.id) {
                h3 { "Both sides together" }
                p { (found.why.words) }
            }
        }
    }
}

/// Where the teeth are counted from anything but a reading, that has to be known first.
pub(super) fn counted_from(all: &Assessment, corner: Corner) -> Markup {
    let told = all.caution(cautions::NO_READING, Some(&Subject::Corner(corner)));
    html! {
        @if let Some(told) = told { p data-caution=(told.id) { (open::caution_words(told)) } }
    }
}

/// Whether the manual would have been content with the teeth as they are.
fn left_alone(choices: &Item) -> Markup {
    let untouched = |row: &&Item| row.get("ends") == Some(&Item::Count(0, "ends"));
    let rows = choices.items();
    let content = |row: &&Item| row.get("within_tolerance") == Some(&Item::Flag(true));
    let trim = rows.iter().skip(1).find(untouched).filter(content).and_then(|row| row.get("trim"));
    html! {
        @if let Some(trim) = trim.and_then(Item::as_leaf) {
            p {
                "Left as it is, this side settles to " (item::number(trim)) ": within the \
                 manual’s tolerance too."
            }
        }
    }
}

/// What the best choice leads to.
pub(super) fn outcome(best: &Item) -> Markup {
    let trim = best.get("trim").and_then(Item::as_leaf);
    html! {
        @if let Some(trim) = trim { p { "Trim then, settled: " (item::number(trim)) "." } }
        @match best.get("within_tolerance") {
            Some(Item::Flag(true)) => p { "Within the manual’s tolerance." },
            Some(Item::Flag(false)) => p { b { "Outside the manual’s tolerance." } },
            _ => {}
        }
    }
}

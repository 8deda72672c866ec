//! The sheet's building blocks, for pages that show the same findings one screen at a time.
//!
//! A screen on a telephone cannot carry the whole sheet; what a number, a window or a torque looks
//! like, and how it is rounded, stays the same on both because both are set here.

use axlewright_quantity::{Amount, Corner, Side};
use axlewright_setup::joints::JointScene;
use axlewright_setup::{
    Assessment, Caution, CornerScene, Finding, Gap, Item, Leaf, SplineScene, State, Subject, Why,
};
use maud::{Markup, PreEscaped, html};

use crate::drawing::Drawing;
use crate::svg::to_svg;
use crate::{format, spline_rings, travel_curves, words};

/// The sheet's own style, on which a page builds.
pub const STYLE: &str = concat!(include_str!("style.css"), include_str!("joints.css"));

/// What a finding is called.
pub fn title(id: &str) -> &str {
    words::title(id)
}

/// What a part of a finding is called.
pub fn part(key: &str) -> String {
    words::part(key)
}

/// Whom a finding is about.
pub fn subject(subject: &Subject) -> String {
    words::subject(subject)
}

/// `Left rear`.
pub const fn corner(corner: Corner) -> &'static str {
    words::corner(corner)
}

/// With which teeth a finding holds: `at target`, `now`.
pub const fn state(state: State) -> &'static str {
    words::state(state)
}

/// The same as the public interface writes it.
pub const fn state_code(state: State) -> &'static str {
    words::state_code(state)
}

/// What a window is for.
pub fn window(id: &str) -> &str {
    words::window(id)
}

/// A number with its unit and how sure it is.
pub fn number(leaf: &Leaf) -> Markup {
    super::item::number(leaf)
}

/// A number with its unit and how sure it is, as plain text.
pub fn number_text(leaf: &Leaf) -> String {
    format::shown(leaf).text()
}

/// An amount with the decimals its kind usually has.
pub fn amount(value: Amount) -> String {
    format::amount(value)
}

/// Any item in place.
pub fn item(value: &Item) -> Markup {
    super::item::item(value)
}

/// A finding on one line, its subject named where it stands, its reasons one tap below.
pub fn figure(finding: &Finding) -> Markup {
    super::figure::figure(finding, super::figure::Name::Short)
}

/// The same for what a page is about: its reasons are printed too.
pub fn key_figure(finding: &Finding) -> Markup {
    super::figure::key_figure(finding, super::figure::Name::Short)
}

/// Reasons only, for figures that a table has shown already.
pub fn reasons(finding: &Finding) -> Markup {
    super::figure::reasons(finding)
}

/// What stands on a finding's line.
pub fn main_value(value: &Item) -> Markup {
    super::figure::main_value(value).0
}

/// Everything else the finding says.
pub fn other_parts(value: &Item) -> Markup {
    let shown = super::figure::main_value(value).1;
    super::item::other_parts(value, &shown)
}

/// In words, by which formula, after whom, from what.
pub fn why(why: &Why) -> Markup {
    super::figure::why(why)
}

/// A drawing with its caption, if there is something to draw.
pub fn drawing(drawing: Option<Drawing>, caption: &str) -> Markup {
    super::drawing(drawing, caption)
}

/// Camber, toe and damper length over wheel travel, with full droop, ride and full bump marked.
pub fn travel(curves: &Finding, droop: Option<&Finding>, scene: Option<&CornerScene>) -> Markup {
    drawing(travel_curves(curves, &super::corner::travel_marks(droop, scene)), "")
}

/// A drawing alone.
pub fn plain_drawing(drawing: &Drawing) -> Markup {
    PreEscaped(to_svg(drawing))
}

/// Cautions as a list; in each the words that stand out come first.
pub fn cautions(all: &[Caution]) -> Markup {
    super::open::cautions(all)
}

/// What follows from the figures and is known before a step of the work; nothing if there is none.
/// What is about the road stands with the wheels.
pub fn first(assessment: &Assessment) -> Markup {
    super::open::first(assessment.cautions_of_the_work())
}

/// That the teeth of a corner are counted from no reading, where they are.
pub fn counted_from(assessment: &Assessment, corner: Corner) -> Markup {
    super::answer::counted_from(assessment, corner)
}

/// Sentences about what was written but cannot be; nothing if there are none.
pub fn problems(assessment: &Assessment) -> Markup {
    super::open::problems(assessment)
}

/// One gap: what, how, what it unlocks, and rows that contradict each other.
pub fn gap(n: usize, gap: &Gap) -> Markup {
    super::open::entry(n, gap)
}

/// What to do at the anchor, and what at the plate.
pub fn moves(scene: &SplineScene) -> [String; 2] {
    [spline_rings::anchor_words(scene), spline_rings::plate_words(scene)]
}

/// One choice of teeth, a row of `index.choices`, as a line of a list.
pub fn choice(row: &Item) -> Markup {
    super::corner::choice(row)
}

/// What a choice of teeth leads to.
pub fn outcome(row: &Item) -> Markup {
    super::answer::outcome(row)
}

/// What fits at which arm position, in words.
pub fn fits_table(windows: &[&Finding]) -> Markup {
    super::corner::fits_table(windows)
}

/// What to know before the jack goes under an arm.
pub fn raise_caution(raises: &[&Finding]) -> Markup {
    super::corner::raise_caution(raises)
}

/// The figures of raising an arm.
pub fn raise_table(raises: &[&Finding]) -> Markup {
    super::corner::raise_table(raises)
}

/// What brings the car off its stands.
pub fn stands_caution(upset: Option<&Finding>) -> Markup {
    super::car::caution(upset)
}

/// A verdict on a fit, told by sign and word.
pub fn verdict(word: &str) -> Markup {
    super::corner::verdict(Some(word))
}

/// The figure on the wrench's scale, or what there is in its place.
pub fn torque_reading(setting: Option<&Item>) -> Markup {
    super::joints::reading(setting)
}

/// Where the torque comes from, the extension, and the passes.
pub fn torque_passes(setting: Option<&Item>) -> Markup {
    super::joints::how(setting)
}

/// How the arm has to stand for the final torque.
pub fn arm_position(joint: &JointScene) -> Markup {
    super::joints::position(joint)
}

/// What to know before a wrench is set on one of these joints.
pub fn torque_cautions(joints: &[JointScene]) -> Markup {
    super::joints::general_cautions(joints)
}

/// Where a step is done, with what in the hand, how long.
pub fn step_place(step: &Item) -> Markup {
    super::order::place(step, crate::stretches::word(step, "phase").unwrap_or_default())
}

/// What can kill when `car.moves` moves teeth, or nothing: before the drawing that says which.
pub fn teeth_caution(moves: &Finding) -> Markup {
    super::wheels::teeth_caution(moves)
}

/// The corrections of `car.moves` in the order in which they are made, [`teeth_caution`] apart.
pub fn what_to_correct(moves: &Finding) -> Markup {
    super::wheels::what_to_correct(moves)
}

/// A forecast in words and as a picture, and which measurement helps most.
pub fn where_builds_land(forecast: &Finding, budget: Option<&Finding>) -> Markup {
    super::wheels::where_builds_land(forecast, budget)
}

/// Several figures on one line each, apart from their reasons.
pub fn parts_list(parts: &[(&'static str, Item)]) -> Markup {
    html! { (super::item::item(&Item::Object(parts.to_vec()))) }
}

/// L or R, for the left edge of a row; a row of neither side keeps the place free.
pub fn side_tab(side: Option<Side>) -> Markup {
    html! {
        @match side {
            Some(side) => span.tab.right[side == Side::Right] data-side=(side.word()) {
                span aria-hidden="true" { @if side == Side::Left { "L" } @else { "R" } }
                span.sr { (side.word()) ": " }
            },
            None => span.tab.none {},
        }
    }
}

/// The side of a step, a row of `order.sequence` or of a list made from it.
pub fn side_of(step: &Item) -> Option<Side> {
    let word = crate::stretches::word(step, "side")?;
    Side::BOTH.into_iter().find(|side| side.word() == word)
}

//! The build sheet: one HTML file that needs nothing else, for telephone, laptop and paper.
//!
//! Order of the page: what the plates must hang at and why; cautions; the teeth; then each
//! corner; the car on its stands; the order of work; what is still to be measured. The simple
//! answer stands on the line, formula, source and inputs one tap below it ("why?").

mod answer;
mod car;
mod corner;
mod figure;
mod item;
mod joints;
mod open;
mod order;
pub mod pieces;
mod wheels;

use axlewright_quantity::Corner;
use axlewright_setup::{Assessment, Caution, Finding, Gap, State, Subject, cautions};
use maud::{DOCTYPE, Markup, PreEscaped, html};

use crate::drawing::Drawing;
use crate::svg::to_svg;
use crate::words;

/// The whole sheet as one HTML document, without script and without anything loaded from
/// elsewhere.
///
/// A half-measured car gives a sheet with what can be said, and says what is missing where it
/// is missing. Every finding of the assessment is on the sheet, marked with its id in
/// `data-finding`.
///
/// # Accuracy
/// Numbers are rounded to their standard uncertainty (k = 1) and never finer than the tools of
/// a garage read.
pub fn build_sheet(assessment: &Assessment) -> String {
    let body = html! {
        header { (title_block(assessment)) (ways(assessment)) }
        main { (contents(assessment)) }
    };
    let title = assessment.car.as_deref().unwrap_or("unnamed car");
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { "Build sheet: " (title) }
                style {
                    (PreEscaped(pieces::STYLE))
                    (PreEscaped(page_rules("Build sheet", title)))
                }
            }
            body { (body) }
        }
    }
    .into_string()
}

/// What stands on the sheet, without its title block.
pub(crate) fn contents(assessment: &Assessment) -> Markup {
    let mut sheet = Sheet::new(assessment);
    let corners = sheet.corners();
    html! {
        (answer::angles(&mut sheet, &corners))
        (open::first(of_the_sheet(assessment)))
        (open::problems(assessment))
        (answer::cautions())
        div id="teeth" {
            (answer::moves(&sheet, &corners))
            (answer::both_sides(&mut sheet))
        }
        @for corner in &corners {
            div id={ "corner-" (corner) } { (corner::section(&mut sheet, *corner)) }
        }
        div id="stands" { (car::section(&mut sheet)) }
        div id="wheels" { (wheels::section(&mut sheet)) (wheels::forecast(&mut sheet)) }
        (joints::section(&mut sheet))
        div id="order" { (order::section(&mut sheet)) }
        (open::gaps(&sheet))
        (rest(&sheet))
        (notes())
    }
}

/// Keeps account of which findings have found their place on the sheet.
struct Sheet<'a> {
    all: &'a Assessment,
    placed: Vec<bool>,
}

/// Which of several findings with one id is meant.
#[derive(Clone, Copy)]
struct Which<'a> {
    id: &'a str,
    of: Option<&'a Subject>,
    at: Option<State>,
}

impl<'a> Sheet<'a> {
    fn new(all: &'a Assessment) -> Self {
        Self { all, placed: vec![false; all.findings.len()] }
    }

    fn position(&self, which: Which<'_>) -> Option<usize> {
        self.all
            .findings
            .iter()
            .position(|f| f.id == which.id && f.of.as_ref() == which.of && f.at == which.at)
    }

    /// The finding, wherever else it stands.
    fn peek(&self, which: Which<'_>) -> Option<&'a Finding> {
        self.position(which).and_then(|n| self.all.findings.get(n))
    }

    /// The finding, now having its place.
    fn take(&mut self, which: Which<'_>) -> Option<&'a Finding> {
        let n = self.position(which)?;
        if let Some(placed) = self.placed.get_mut(n) {
            *placed = true;
        }
        self.all.findings.get(n)
    }

    /// All findings with these ids for that subject, in the order of the ids, now having their
    /// place.
    fn take_all(&mut self, ids: &[&str], of: Option<&Subject>) -> Vec<&'a Finding> {
        let states = [Some(State::Target), Some(State::Now), None];
        ids.iter()
            .flat_map(|id| states.map(|at| (*id, at)))
            .filter_map(|(id, at)| self.take(Which { id, of, at }))
            .collect()
    }

    fn not_placed(&self) -> Vec<&'a Finding> {
        self.all
            .findings
            .iter()
            .zip(&self.placed)
            .filter_map(|(finding, placed)| (!placed).then_some(finding))
            .collect()
    }

    /// Rear corners that anything is known or missing of, left first.
    fn corners(&self) -> Vec<Corner> {
        let is_about = |of: Option<&Subject>, c| of == Some(&Subject::Corner(c));
        [Corner::LeftRear, Corner::RightRear]
            .into_iter()
            .filter(|c| {
                self.all.corners.iter().any(|scene| scene.corner == *c)
                    || self.all.findings.iter().any(|f| is_about(f.of.as_ref(), *c))
                    || self.all.gaps.iter().any(|g| is_about(g.of.as_ref(), *c))
            })
            .collect()
    }

    /// The gaps that keep a finding back.
    fn gaps_before(&self, id: &str, of: Option<&Subject>) -> Vec<(usize, &'a Gap)> {
        let fits = |gap: &Gap| gap.of.is_none() || of.is_none() || gap.of.as_ref() == of;
        self.all
            .gaps
            .iter()
            .enumerate()
            .filter(|(_, gap)| gap.blocks.contains(&id) && fits(gap))
            .collect()
    }

    /// For what could not be found: what each waits for, as links into the list of gaps.
    fn waiting(&self, ids: &[&str], of: Option<&Subject>) -> Markup {
        let missing = ids
            .iter()
            .filter(|id| !self.all.findings.iter().any(|f| f.id == **id && f.of.as_ref() == of));
        let rows: Vec<_> = missing
            .map(|id| (*id, self.gaps_before(id, of)))
            .filter(|(_, gaps)| !gaps.is_empty())
            .collect();
        html! {
            @for (id, gaps) in rows {
                p.waits {
                    b { (words::title(id)) } ": not known yet. Waits for "
                    @for (n, (number, gap)) in gaps.iter().enumerate() {
                        @if n > 0 { ", " }
                        a href={ "#gap-" (number) } { (gap.measure) }
                    }
                    "."
                }
            }
        }
    }
}

/// Title block.
fn title_block(assessment: &Assessment) -> Markup {
    html! {
        div.title-block {
            h1 { "Build sheet" }
            dl {
                div { dt { "Car" } dd { (assessment.car.as_deref().unwrap_or("no name yet")) } }
                div { dt { "Plate angles" } dd { "+ tail down" } }
                div { dt { "u" } dd { "k = 1" } }
            }
        }
    }
}

/// The ways into the sheet.
pub(crate) fn ways(assessment: &Assessment) -> Markup {
    html! {
        nav aria-label="on this sheet" {
            a href="#teeth" { "Teeth" }
            @for corner in Sheet::new(assessment).corners() {
                a href={ "#corner-" (corner) } { (words::corner(corner)) }
            }
            @if assessment.supports.is_some() { a href="#stands" { "Stands" } }
            @if assessment.find("car.expected", None).is_some() { a href="#wheels" { "Wheels" } }
            @if !assessment.joints.is_empty() { a href="#joints" { "Torques" } }
            @if assessment.find("order.sequence", None).is_some() {
                a href="#order" { "Order of work" }
            }
            a href="#gaps" { "To measure: " (assessment.gaps.len()) }
        }
    }
}

/// What found no place above: nothing is left out.
fn rest(sheet: &Sheet<'_>) -> Markup {
    let findings = sheet.not_placed();
    html! {
        @if !findings.is_empty() {
            section {
                h2 { "Other figures" }
                @for finding in findings { (figure::figure(finding, figure::Name::WithSubject)) }
            }
        }
    }
}

fn notes() -> Markup {
    html! {
        footer {
            p {
                "Plate angles are below the body’s horizontal, + tail down. u is one standard \
                 uncertainty (k = 1): the true figure lies within it about two times in three, \
                 within twice of it nineteen times in twenty. “At target” is with the free \
                 angle this car needs, “now” with the teeth the bar sits on. Tap a line with \
                 “why?” for its formula, source and inputs, the one that matters most first."
            }
            p.print-only {
                "Formula, source and inputs of the other figures are in this sheet’s file, one \
                 tap below each line."
            }
            p { (cautions::SHEET.rest) " " (cautions::WORK.rest) }
        }
    }
}

/// The cautions that stand on top: those of the road too, for the sheet has no other place.
fn of_the_sheet(assessment: &Assessment) -> impl Iterator<Item = &Caution> {
    let road = assessment.caution(cautions::ROLL_SHARE, None);
    assessment.cautions_of_the_work().chain(road)
}

/// A drawing with its caption, if there is something to draw.
pub(crate) fn drawing(drawing: Option<Drawing>, caption: &str) -> Markup {
    html! {
        @if let Some(drawing) = drawing {
            figure.plate {
                (PreEscaped(to_svg(&drawing)))
                figcaption { (drawing.title) ". " (caption) }
            }
        }
    }
}

/// Header and footer of printed pages: the document, the car's name and page numbers.
pub(crate) fn page_rules(document: &str, car: &str) -> String {
    format!(
        "@page{{@top-left{{content:\"{document}\"}}@top-right{{content:\"{}\"}}\
         @bottom-left{{content:\"{}\"}}\
         @bottom-right{{content:counter(page) \" / \" counter(pages)}}}}",
        css_string(car),
        css_string(cautions::ON_STANDS.head),
    )
}

/// A text inside a CSS string: all but letters, digits and spaces are written as code points,
/// so nothing in a car's name can end the string or the style sheet.
fn css_string(text: &str) -> String {
    text.chars()
        .map(|c| match c {
            ' ' => c.to_string(),
            c if c.is_alphanumeric() => c.to_string(),
            c if c.is_control() => " ".to_owned(),
            c => format!("\\{:06x}", u32::from(c)),
        })
        .collect()
}

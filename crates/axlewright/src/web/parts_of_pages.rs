//! Pieces that several screens use: a figure on one line with the way to its reasons, findings by
//! name, the note where nothing can be written.

use axlewright_quantity::Corner;
use axlewright_setup::{Assessment, Caution, Finding, Gap, Item, State, Subject};
use axlewright_sheets::pieces;
use maud::{Markup, html};

use super::form::escape;
use crate::desk::bench::View;

/// Where a finding's reasons are.
pub(super) fn why_path(finding: &Finding) -> String {
    let mut path = format!("/why/{}", escape(finding.id));
    let of = finding.of.as_ref().map(subject_code);
    let parts = [("of", of), ("at", finding.at.map(|at| pieces::state_code(at).to_owned()))];
    let mut sign = '?';
    for (name, value) in parts {
        if let Some(value) = value {
            path.push_str(&format!("{sign}{name}={}", escape(&value)));
            sign = '&';
        }
    }
    path
}

/// Whom a finding is about, in an address.
pub(super) fn subject_code(subject: &Subject) -> String {
    match subject {
        Subject::Corner(corner) => corner.code().to_owned(),
        Subject::Stand(name) => format!("stand:{name}"),
        Subject::Step(id) => format!("step:{id}"),
        Subject::Joint(id) => format!("joint:{id}"),
        Subject::Sighted(what) => format!("photo:{what}"),
    }
}

/// The finding that an address names.
pub(super) fn by_code<'a>(
    all: &'a Assessment,
    id: &str,
    of: Option<&str>,
    at: Option<&str>,
) -> Option<&'a Finding> {
    let is_it = |finding: &&Finding| {
        finding.id == id
            && finding.of.as_ref().map(subject_code).as_deref() == of
            && finding.at.map(pieces::state_code) == at
    };
    all.findings.iter().find(is_it)
}

/// A finding by its id, for whom, with which teeth.
pub(super) fn find<'a>(
    all: &'a Assessment,
    id: &str,
    of: Option<&Subject>,
    at: Option<State>,
) -> Option<&'a Finding> {
    all.findings.iter().find(|f| f.id == id && f.of.as_ref() == of && f.at == at)
}

/// All findings with these ids for that subject, in the order of the ids.
pub(super) fn find_all<'a>(
    all: &'a Assessment,
    ids: &[&str],
    of: Option<&Subject>,
) -> Vec<&'a Finding> {
    let states = [Some(State::Target), Some(State::Now), None];
    ids.iter()
        .flat_map(|id| states.map(|at| (*id, at)))
        .filter_map(|(id, at)| find(all, id, of, at))
        .collect()
}

/// A figure on one line; a tap leads to its reasons.
pub(super) fn line(finding: &Finding) -> Markup {
    line_called(finding, pieces::title(finding.id))
}

/// The same under another name.
pub(super) fn line_called(finding: &Finding, name: &str) -> Markup {
    html! {
        a.line href=(why_path(finding)) data-finding=(finding.id) {
            span.name {
                (name)
                @if let Some(state) = finding.at { " " small { "(" (pieces::state(state)) ")" } }
            }
            span.value { (pieces::main_value(&finding.value)) }
            span.why-mark { "why?" }
        }
    }
}

/// The way to a finding whose value is no single figure.
pub(super) fn line_bare(finding: &Finding) -> Markup {
    html! {
        a.line href=(why_path(finding)) data-finding=(finding.id) {
            span.name { (pieces::title(finding.id)) } span.value {} span.why-mark { "why?" }
        }
    }
}

/// A heading with a line for each finding; nothing if there is none.
pub(super) fn lines(title: &str, findings: &[&Finding]) -> Markup {
    html! {
        @if !findings.is_empty() {
            section {
                h2 { (title) }
                @for finding in findings { (line(finding)) }
            }
        }
    }
}

/// The way to a finding's reasons, beside something that shows it already.
pub(super) fn why_link(finding: &Finding) -> Markup {
    html! {
        a.why-link href=(why_path(finding)) data-finding=(finding.id) {
            "why?" span.sr { " " (pieces::title(finding.id)) }
        }
    }
}

/// The gaps that keep a finding back, as links.
pub(super) fn waits(all: &Assessment, ids: &[&str], of: Option<&Subject>) -> Markup {
    let missing = ids.iter().filter(|id| {
        !all.findings.iter().any(|f| f.id == **id && (of.is_none() || f.of.as_ref() == of))
    });
    let before = |id: &str| -> Vec<(usize, &Gap)> {
        let fits = |gap: &Gap| gap.of.is_none() || of.is_none() || gap.of.as_ref() == of;
        let all = all.gaps.iter().enumerate();
        all.filter(|(_, gap)| gap.blocks.contains(&id) && fits(gap)).collect()
    };
    let rows: Vec<_> = missing.map(|id| (*id, before(id))).filter(|(_, g)| !g.is_empty()).collect();
    html! {
        @for (id, gaps) in rows {
            p.waits {
                b { (pieces::title(id)) } ": not known yet. Waits for "
                @for (n, (number, gap)) in gaps.iter().enumerate() {
                    @if n > 0 { ", " }
                    a href={ "/car#gap-" (number) } { (gap.measure) }
                }
                "."
            }
        }
    }
}

/// Cautions, before what they are about.
pub(super) fn cautions(title: &str, all: &[Caution]) -> Markup {
    html! {
        @if !all.is_empty() { section.caution { h2 { (title) } (pieces::cautions(all)) } }
    }
}

/// L or R before the words of a step that the car file knows.
pub(super) fn side_of_step(view: &View, id: &str) -> Markup {
    pieces::side_tab(view.car().step(id).and_then(|step| step.side))
}

/// The rear corners that anything is known of, left first.
pub(super) fn corners(all: &Assessment) -> Vec<Corner> {
    let known = |corner: &Corner| {
        all.corners.iter().any(|scene| scene.corner == *corner)
            || all.findings.iter().any(|f| f.of == Some(Subject::Corner(*corner)))
    };
    [Corner::LeftRear, Corner::RightRear].into_iter().filter(known).collect()
}

/// The value of a finding about the whole car.
pub(super) fn value<'a>(all: &'a Assessment, id: &str) -> Option<&'a Item> {
    find(all, id, None, None).map(|finding| &finding.value)
}

/// What went wrong with the order of the work, if it is not there.
pub(super) fn no_order(view: &View) -> Markup {
    html! {
        p.lead { "No order of work yet." }
        @if view.car().steps.is_empty() {
            p { "The car file lists no steps. They are written as rows " code { "[[step]]" } "; "
                a href="/car" { "the Car screen" } " shows the file." }
        } @else {
            p { "The steps cannot be put in order as they are written:" }
            ul { @for problem in &view.order().problems { li { (problem) } } }
        }
    }
}

/// A note where nothing can be written: what is served is a car file, or a book open elsewhere.
pub(super) fn may_write(view: &View) -> Markup {
    html! {
        @if view.seq() == 0 {
            p.waits { b { "To look at only." } " This is a car file without a book. Start a book \
                from it with " code { "axlewright book new" } ", and what is done is kept." }
        }
    }
}

/// `2026-11-25 21:00`, in UTC, as the log has it.
pub(super) fn moment(at: &str) -> String {
    at.replace('T', " ").trim_end_matches('Z').chars().take(16).collect()
}

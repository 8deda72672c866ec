//! What is still to be measured, and what was written but cannot be.

use axlewright_setup::{Assessment, Caution, Gap};
use maud::{Markup, html};

use super::Sheet;
use crate::{capital, words};

/// Cautions as a list; in each the words that stand out come first.
pub(super) fn cautions<'a>(all: impl IntoIterator<Item = &'a Caution>) -> Markup {
    html! { ul { @for caution in all {
        li data-caution=(caution.id) data-severity=(caution.severity.word()) {
            (caution_words(caution))
        }
    } } }
}

/// The words of a caution, those that stand out in bold.
pub(super) fn caution_words(caution: &Caution) -> Markup {
    let (head, rest) = caution.parts();
    // The owner's own words begin as he wrote them.
    html! { @if head.is_empty() { (capital(rest)) } @else { b { (head) } (rest) } }
}

/// What follows from the figures and is known before anything is done; nothing if there is none.
pub(super) fn first<'a>(all: impl Iterator<Item = &'a Caution>) -> Markup {
    let mut all = all.peekable();
    html! {
        @if all.peek().is_some() {
            section.caution aria-labelledby="first" {
                h2 id="first" { "Stop and look at this first" }
                (cautions(all))
            }
        }
    }
}

/// Sentences about what was written but cannot be; nothing if there are none.
pub(super) fn problems(assessment: &Assessment) -> Markup {
    html! {
        @if !assessment.problems.is_empty() {
            section.caution aria-labelledby="problems" {
                h2 id="problems" { "Wrong in the car file" }
                p { "Put these right first; the figures below leave them out." }
                ul { @for problem in &assessment.problems { li { (problem) } } }
            }
        }
    }
}

/// Each gap: what, how, what it unlocks, and rows that contradict each other.
pub(super) fn gaps(sheet: &Sheet<'_>) -> Markup {
    let gaps = &sheet.all.gaps;
    html! {
        section.gaps id="gaps" {
            h2 { "Still to measure or decide" }
            @if gaps.is_empty() { p { "Nothing is missing." } }
            @for (n, gap) in gaps.iter().enumerate() { (entry(n, gap)) }
        }
    }
}

pub(super) fn entry(n: usize, gap: &Gap) -> Markup {
    let mut unlocks: Vec<&str> = gap.blocks.iter().map(|id| words::title(id)).collect();
    unlocks.dedup();
    html! {
        article.gap id={ "gap-" (n) } data-gap=(gap.id) {
            h3 {
                (gap.measure)
                @if let Some(of) = &gap.of { span.soft { " · " (words::subject(of)) } }
            }
            @if !gap.how.is_empty() { p { (gap.how) } }
            @if !unlocks.is_empty() { p.soft { b { "Unlocks: " } (unlocks.join(", ")) "." } }
            @if !gap.rows.is_empty() {
                table.rows {
                    thead { tr {
                        th scope="col" { "Written" } th scope="col" { "For" }
                        th scope="col" { "Source" } th scope="col" { "Line" }
                    } }
                    tbody { @for row in &gap.rows { tr {
                        td { (row.written) } td { (row.builds) } td { (row.source) }
                        td { span.num { (row.line) } }
                    } } }
                }
            }
        }
    }
}

//! `axlewright check`: everything wrong in a car file at once, then what it already answers and
//! what is still to be measured.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use axlewright_setup::{Assessment, Subject};
use clap::Args;
use std::io::{self, Write};
use std::ops::Range;

use super::car::CarCall;
use super::{Outcome, print_json};
use crate::desk::Fault;
use crate::desk::bench::View;
use crate::{Streams, text};

/// Gaps shown without `--all`.
const GAPS_SHOWN: usize = 5;

/// Problems shown; a file with more was not meant as a car file.
const FAULTS_SHOWN: usize = 200;

/// Longest piece of a source line that is shown, in bytes.
const LINE_BYTES_SHOWN: usize = 160;

/// Explain everything wrong in a car file, and what is still to be measured
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright check my-car/car.toml             what is wrong, the first gaps
  axlewright check my-car/car.toml --all       all gaps
  axlewright check my-car/car.toml --strict    ends with 1 while a gap is left
  axlewright check my-car/car.toml --json      the same for a program

Ends with 0 when nothing is wrong (gaps are not wrong), with 1 when something
is.")]
pub struct Check {
    #[command(flatten)]
    car: CarCall,
    /// List every gap, not only the first few
    #[arg(long)]
    all: bool,
}

impl Check {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let exit = self.car.verdict(view.faults(), view.assessment());
        if self.car.json {
            print_json(streams, view.assessment(), view.faults())?;
            return Ok(exit);
        }
        print_faults(streams.out, &view, view.faults())?;
        if view.faults().iter().any(|fault| fault.is_error) {
            let mends = axlewright_setup::mends(view.text());
            let each = mends.iter().map(|one| format!("`{}`: {}", one.what, one.explains));
            let each: Vec<String> = each.collect();
            if !each.is_empty() {
                let words = format!("With one of these the file can be: {}.", each.join("; "));
                text::paragraph(streams.out, "", &words)?;
            }
        }
        writeln!(streams.out, "{}", summary(view.faults()))?;
        text::cautions(streams.out, &view.assessment().cautions)?;
        print_rungs(streams.out, &view)?;
        self.print_gaps(streams.out, view.assessment())?;
        Ok(exit)
    }

    fn print_gaps(&self, out: &mut dyn Write, assessment: &Assessment) -> io::Result<()> {
        let gaps = &assessment.gaps;
        if gaps.is_empty() {
            return writeln!(out, "\nNo gaps: nothing is left to be measured.");
        }
        let shown = if self.all { gaps.len() } else { gaps.len().min(GAPS_SHOWN) };
        let which = if shown < gaps.len() { ". The first ones" } else { "" };
        let title = format!("{}{which}", text::counted(gaps.len(), "gap"));
        text::heading(out, &title)?;
        for gap in gaps.iter().take(shown) {
            text::gap(out, gap)?;
        }
        if shown < gaps.len() {
            let rest = gaps.len() - shown;
            let file = self.car.path.display();
            writeln!(out, "\n{rest} more: axlewright check {file} --all")?;
        }
        Ok(())
    }
}

fn summary(faults: &[Fault]) -> String {
    let errors = faults.iter().filter(|fault| fault.is_error).count();
    let warnings = text::counted(faults.len() - errors, "warning");
    match errors {
        0 => format!("No problems, {warnings}."),
        _ => format!("{}, {warnings}.", text::counted(errors, "problem")),
    }
}

/// Every fault with its line, the text underlined, and what would be right.
pub fn print_faults(out: &mut dyn Write, view: &View, faults: &[Fault]) -> io::Result<()> {
    print_faults_of(out, (view.text(), view.name()), faults)
}

/// The same for a text that goes by a name.
pub fn print_faults_of(
    out: &mut dyn Write,
    (text, name): (&str, &str),
    faults: &[Fault],
) -> io::Result<()> {
    for fault in faults.iter().take(FAULTS_SHOWN) {
        writeln!(out, "{}\n", picture(fault, text, name))?;
    }
    match faults.len().saturating_sub(FAULTS_SHOWN) {
        0 => Ok(()),
        rest => writeln!(out, "… and {rest} more of the kind. Is this a car file?\n"),
    }
}

fn picture(fault: &Fault, text: &str, path: &str) -> String {
    let level = if fault.is_error { Level::ERROR } else { Level::WARNING };
    let title = level.primary_title(&fault.what);
    let mut group = match fault.span.clone().and_then(|span| excerpt(text, span)) {
        Some(excerpt) => title.element(
            Snippet::source(excerpt.text)
                .path(path)
                .line_start(excerpt.line)
                .annotation(AnnotationKind::Primary.span(excerpt.span)),
        ),
        None => annotate_snippets::Group::with_title(title),
    };
    if let Some(right) = &fault.right {
        group = group.element(Level::HELP.message(right));
    }
    Renderer::styled().term_width(text::COLUMNS).render(&[group])
}

/// The piece of the text that is shown for a fault.
#[derive(Debug, PartialEq, Eq)]
struct Excerpt<'a> {
    text: &'a str,
    /// Number of its first line, from 1.
    line: usize,
    /// The fault in it, in bytes.
    span: Range<usize>,
}

/// Cuts out the lines the span touches, at most two of them, and of a very long line only the
/// part around the span: rendering must stay quick for any file.
fn excerpt(text: &str, span: Range<usize>) -> Option<Excerpt<'_>> {
    let floor = |at: usize| {
        let mut at = at.min(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        at
    };
    let start = floor(span.start);
    let from_line = text.get(..start)?.rfind('\n').map_or(0, |at| at + 1);
    let from = floor(from_line.max(start.saturating_sub(LINE_BYTES_SHOWN / 2)));
    let end_of_line = text.get(start..)?.find('\n').map_or(text.len(), |at| start + at);
    let to = end_of_line.min(floor(start + LINE_BYTES_SHOWN)).max(start);
    let end = floor(span.end).clamp(start, to);
    let line = 1 + text.get(..from)?.matches('\n').count();
    Some(Excerpt { text: text.get(from..to)?, line, span: start - from..end - from })
}

/// A step of the way from the first measurement to the full car: what it answers, by findings.
struct Rung {
    answers: &'static str,
    findings: &'static [&'static str],
}

const RUNGS: [Rung; 5] = [
    Rung {
        answers: "the free angle after a bar change, to about a degree",
        findings: &["free-angle.by-four-numbers"],
    },
    Rung {
        answers: "which teeth to move",
        findings: &["vernier.step", "free-angle.now", "index.choices"],
    },
    Rung {
        answers: "the free angle for the trim, stress, rates",
        findings: &["bar.rate", "free-angle.target", "bar.shear-at-ride", "wheel-rate"],
    },
    Rung {
        answers: "what fits at which plate angle, raising the arm",
        findings: &["window.damper", "window.hose", "window.stop-bolt", "raise.stop-bolt"],
    },
    Rung {
        answers: "camber, toe and everything else over the travel",
        findings: &["travel", "window.plate-bend"],
    },
];

fn print_rungs(out: &mut dyn Write, view: &View) -> io::Result<()> {
    let assessment = view.assessment();
    text::heading(out, "What the car file answers already")?;
    let mut named: Vec<&str> = Vec::new();
    for (number, rung) in RUNGS.iter().enumerate() {
        let missing: Vec<&str> =
            rung.findings.iter().copied().filter(|id| !is_answered(assessment, id)).collect();
        let state = match missing.len() {
            0 => "yes    ",
            all if all == rung.findings.len() => "not yet",
            _ => "in part",
        };
        writeln!(out, "  {}  {state}  {}", number + 1, rung.answers)?;
        let needs = needs(assessment, &missing, &named);
        if !needs.is_empty() {
            let first = if named.is_empty() { "     needs: " } else { "     needs also: " };
            text::hanging(out, first, "            ", &text::first_few(&needs, 4))?;
        }
        named.extend(needs);
    }
    if view.faults().iter().any(|fault| fault.is_error) {
        writeln!(out, "What is wrong above counts as not measured.")?;
    }
    Ok(())
}

/// Answered for the car, or for both rear corners.
fn is_answered(assessment: &Assessment, id: &str) -> bool {
    let found: Vec<_> = assessment.findings.iter().filter(|finding| finding.id == id).collect();
    let has = |side| {
        let corner = Subject::Corner(axlewright_quantity::Corner::rear(side));
        found.iter().any(|finding| finding.of.as_ref() == Some(&corner))
    };
    found.iter().any(|finding| finding.of.is_none())
        || axlewright_quantity::Side::BOTH.into_iter().all(has)
}

/// The gaps that keep the missing findings from being answered, without those named before.
fn needs<'a>(assessment: &'a Assessment, missing: &[&str], named: &[&str]) -> Vec<&'a str> {
    let mut ids: Vec<&str> = Vec::new();
    for gap in &assessment.gaps {
        let id = gap.id.as_str();
        let is_blocking = gap.blocks.iter().any(|blocked| missing.contains(blocked));
        if is_blocking && !ids.contains(&id) && !named.contains(&id) {
            ids.push(id);
        }
    }
    ids
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_excerpt_is_the_line_of_the_span() {
        let text = "a = 1\nb = 23 mm\nc = 3\n";
        let found = excerpt(text, 10..12).unwrap();
        assert_eq!(found, Excerpt { text: "b = 23 mm", line: 2, span: 4..6 });
    }

    #[test]
    fn no_span_however_wrong_is_out_of_bounds() {
        let texts = ["", "\n", "é", "ü\nö = 1", &"x".repeat(10_000), &"ä\n".repeat(400)];
        for text in texts {
            for (from, to) in [(0, 0), (1, 1), (1, 0), (3, 9), (9_999, 20_000), (usize::MAX, 0)] {
                let found = excerpt(text, from..to).unwrap();
                assert!(found.text.get(found.span.clone()).is_some(), "{from}..{to} in {text:.9}");
                assert!(found.text.len() <= 2 * LINE_BYTES_SHOWN);
                let fault = Fault { span: Some(from..to), ..Fault::of_the_whole("wrong") };
                assert!(picture(&fault, text, "car.toml").contains("wrong"));
            }
        }
    }
}

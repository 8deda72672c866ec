//! The order of work, for every face of the program: what is asked in names as people type them,
//! and the findings that answer it.

use axlewright_book::{CarFile, Phase, Problem, ProblemKind, Severity};
use axlewright_setup::Assessment;
use axlewright_setup::order::{self as setup_order, Control, OrderQuestion, Progress};

use super::Fault;

/// The word among the parts at hand that means: what the car file says is there.
pub const BENCH: &str = "bench";

/// Names offered where one is not known.
const OFFERED: usize = 4;

/// What is asked of the order of work.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Asked {
    /// The whole plan.
    #[default]
    Plan,
    /// Why this step stands where it stands.
    Why(String),
    /// What to undo to be at this step or part again.
    BackOut(String),
    /// When it is done.
    When,
}

/// A question about the order of work, in names as they are typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct OrderCall {
    /// What is asked.
    pub asked: Asked,
    /// Steps done, in the order they were done; `name-both` and `name` mean both sides.
    pub done: Vec<String>,
    /// Every step of the phases up to this one is done.
    pub done_phase: Option<Phase>,
    /// Parts at hand; one with `-` before it is taken out of all parts. Empty: all come in time.
    pub have: Vec<String>,
}

/// What a search is asked while it runs.
pub type Ask<'a> = &'a mut dyn FnMut(&Progress<'_>) -> Control;

/// Answers a question about the order of a car's work, from its facts and all that is wrong with
/// it. The assessment holds only what belongs to the order.
///
/// Where something [`bars`] every plan there is none.
pub(super) fn answer(
    car: &CarFile,
    (facts, faults, barred): (&Assessment, &[Fault], bool),
    call: &OrderCall,
    ask: Ask<'_>,
) -> (Assessment, Vec<Fault>) {
    let mut faults = faults.to_vec();
    let cautions = facts.cautions.clone();
    let nothing = Assessment { car: facts.car.clone(), cautions, ..Assessment::default() };
    if barred {
        return (nothing, faults);
    }
    let unknown = call.unknown(car);
    if !unknown.is_empty() {
        faults.extend(unknown);
        return (nothing, faults);
    }
    let question = call.question(car);
    let answered = match &call.asked {
        Asked::Plan | Asked::When => setup_order::order(car, facts, &question, ask),
        Asked::Why(step) => setup_order::why(car, facts, &question, step),
        Asked::BackOut(what) => setup_order::back_out(car, facts, &question, what, ask),
    };
    match answered {
        Ok(mut found) => {
            if call.asked == Asked::When {
                found.findings.retain(|finding| finding.id == "order.finish");
            }
            faults.extend(found.problems.iter().map(|what| Fault::of_the_whole(what)));
            found.cautions = nothing.cautions;
            (found, faults)
        }
        Err(problems) => {
            faults.extend(problems.iter().map(|what| Fault::of_the_whole(what)));
            (nothing, faults)
        }
    }
}

/// What is said where nothing is planned because of an error.
pub(super) const NOT_PLANNED: &str = "no order is made: a step, or an entry of the log, could not \
    be read, and a plan without it strands whoever follows it. Mend the errors of the car file \
    first";

/// Whether an error leaves no plan: one in a step, in where a joint takes its torque, in an entry
/// of the log, or one that may hide a step. All other rows are planned without what is wrong in
/// them: what is not known is taken the careful way, and no figure is told from it.
pub(super) fn bars(text: &str, problem: &Problem) -> bool {
    if problem.severity != Severity::Error {
        return false;
    }
    match problem.kind {
        ProblemKind::Syntax { .. }
        | ProblemKind::ListNotClosed
        | ProblemKind::TooLong { .. }
        | ProblemKind::TooBroken { .. }
        | ProblemKind::NoFormat
        | ProblemKind::NewerFormat { .. }
        | ProblemKind::NoSuchFormat { .. }
        | ProblemKind::UnknownSection { .. }
        | ProblemKind::EntryNotCounted { .. }
        | ProblemKind::EntryOfNothing { .. } => true,
        _ => {
            let (section, key) = place_in(text, problem.line);
            match section {
                None | Some("step") => true,
                Some("joint") => key == "position",
                Some(_) => false,
            }
        }
    }
}

/// The section that a line of a car file belongs to, and the key that stands in it.
fn place_in(text: &str, line: u32) -> (Option<&str>, &str) {
    let last = usize::try_from(line).unwrap_or(usize::MAX);
    let above = || text.lines().take(last);
    let section = above().filter_map(header).last();
    let key = above().last().and_then(|line| line.split('=').next()).unwrap_or_default().trim();
    (section, key)
}

/// `step` of `[[step]]`; nothing for any other line.
fn header(line: &str) -> Option<&str> {
    let (name, rest) = line.trim().strip_prefix('[')?.trim_start_matches('[').split_once(']')?;
    let rest = rest.trim_start_matches(']').trim();
    let is_word = |b: u8| b.is_ascii_alphabetic() || matches!(b, b'_' | b'.' | b'-');
    let name = name.trim();
    let is_name = !name.is_empty() && name.bytes().all(is_word);
    (is_name && (rest.is_empty() || rest.starts_with('#'))).then_some(name)
}

/// An assessment with an order of the work added, for documents that show both.
pub(super) fn joined(assessment: &Assessment, order: &Assessment) -> Assessment {
    let mut all = assessment.clone();
    all.findings.extend(order.findings.iter().cloned());
    all.problems.extend(order.problems.iter().cloned());
    let had: Vec<String> = all.gaps.iter().map(|gap| gap.id.clone()).collect();
    all.gaps.extend(order.gaps.iter().filter(|gap| !had.contains(&gap.id)).cloned());
    all
}

impl OrderCall {
    fn question(&self, car: &CarFile) -> OrderQuestion {
        let mut done: Vec<String> = Vec::new();
        let last = self.done_phase.and_then(place);
        let of_phases = car.steps.iter().filter(|step| place(step.phase) <= last);
        let of_phases = of_phases.map(|step| step.id.value.clone());
        let named = self.done.iter().flat_map(|name| steps_named(car, name).unwrap_or_default());
        for id in of_phases.chain(named) {
            if !done.contains(&id) {
                done.push(id);
            }
        }
        OrderQuestion { done, have: self.parts(car), moves: None }
    }

    /// The parts at hand, or nothing where all of them come in time.
    fn parts(&self, car: &CarFile) -> Option<Vec<String>> {
        let first = self.have.first()?;
        let mut have: Vec<String> = Vec::new();
        if first.starts_with('-') {
            have.extend(car.parts.iter().map(|part| part.id.value.clone()));
        }
        for name in &self.have {
            if name == BENCH {
                have.extend(setup_order::parts_at_hand(car));
            } else if let Some(out) = name.strip_prefix('-') {
                let out = parts_named(car, out).unwrap_or_default();
                have.retain(|part| !out.contains(part));
            } else {
                have.extend(parts_named(car, name).unwrap_or_default());
            }
        }
        Some(have)
    }

    /// Every name that the car file does not know, with names near it.
    fn unknown(&self, car: &CarFile) -> Vec<Fault> {
        let steps: Vec<&str> = car.steps.iter().map(|step| step.id.value.as_str()).collect();
        let parts: Vec<&str> = car.parts.iter().map(|part| part.id.value.as_str()).collect();
        let mut faults = Vec::new();
        for name in self.done.iter().filter(|name| steps_named(car, name).is_none()) {
            faults.push(not_called("step", name, &steps));
        }
        let wanted = self.have.iter().filter(|name| *name != BENCH);
        for name in wanted.map(|name| name.strip_prefix('-').unwrap_or(name)) {
            if parts_named(car, name).is_none() {
                let mut fault = not_called("part", name, &parts);
                if is_nearly(name, BENCH) {
                    let right = format!("did you mean `{BENCH}`, all that is on the bench?");
                    fault.right = Some(right);
                }
                faults.push(fault);
            }
        }
        match &self.asked {
            Asked::Why(name) if car.step(name).is_none() => {
                faults.push(not_called("step", name, &steps));
            }
            Asked::BackOut(name) if car.step(name).is_none() && car.part(name).is_none() => {
                let both: Vec<&str> = steps.into_iter().chain(parts).collect();
                faults.push(not_called("step or part", name, &both));
            }
            _ => {}
        }
        faults
    }
}

/// Whether a word is another one with at most two letters put wrong, left out or too many.
fn is_nearly(given: &str, word: &str) -> bool {
    let (given, word): (Vec<char>, Vec<char>) = (given.chars().collect(), word.chars().collect());
    let front = given.iter().zip(&word).take_while(|(a, b)| a == b).count();
    let back = given.iter().rev().zip(word.iter().rev()).take_while(|(a, b)| a == b).count();
    let longer = given.len().max(word.len());
    0 < front && longer.saturating_sub(front + back) <= 2
}

fn place(phase: Phase) -> Option<usize> {
    Phase::ALL.iter().position(|other| *other == phase)
}

fn steps_named(car: &CarFile, name: &str) -> Option<Vec<String>> {
    named(name, |id| car.step(id).is_some())
}

fn parts_named(car: &CarFile, name: &str) -> Option<Vec<String>> {
    named(name, |id| car.part(id).is_some())
}

/// The id itself, or both sides' ids for `name-both` and `name`.
fn named(name: &str, is_id: impl Fn(&str) -> bool) -> Option<Vec<String>> {
    if is_id(name) {
        return Some(vec![name.to_owned()]);
    }
    let plain = name.strip_suffix("-both").unwrap_or(name);
    let both = vec![format!("{plain}-left"), format!("{plain}-right")];
    both.iter().all(|id| is_id(id)).then_some(both)
}

fn not_called(what: &str, name: &str, ids: &[&str]) -> Fault {
    let mut fault = Fault::of_the_whole(&format!("no {what} is called `{name}`"));
    let plain = name.split('-').next().unwrap_or(name);
    let whole = ids.iter().filter(|id| !name.is_empty() && id.starts_with(name));
    let near = ids.iter().filter(|id| !plain.is_empty() && id.split('-').any(|p| p == plain));
    let mut offered: Vec<String> = Vec::new();
    for id in whole.chain(near).map(|id| format!("`{id}`")) {
        if offered.len() < OFFERED && !offered.contains(&id) {
            offered.push(id);
        }
    }
    fault.right = Some(if offered.is_empty() {
        "the car file's [[step]] and [[part]] rows have the names; -left and -right tell the \
         sides apart"
            .to_owned()
    } else {
        format!("there is {}", offered.join(", "))
    });
    fault
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "format = 1\n[[ step ]] # one\nid = \"a\"\n[[joint]]\nposition = 7\n\
                        spare = [\n  [1]\n]\n[bar]\nlength = 5\n";

    #[test]
    fn the_section_of_a_line_is_that_of_the_header_above_it() {
        assert_eq!(place_in(FILE, 1), (None, "format"));
        assert_eq!(place_in(FILE, 3), (Some("step"), "id"));
        assert_eq!(place_in(FILE, 5), (Some("joint"), "position"));
        assert_eq!(place_in(FILE, 8).0, Some("joint"));
        assert_eq!(place_in(FILE, 10), (Some("bar"), "length"));
        assert_eq!(place_in(FILE, 99).0, Some("bar"));
    }
}

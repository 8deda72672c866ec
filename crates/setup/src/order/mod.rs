//! The order of work: from the car file's steps and the measured geometry to a plan.
//!
//! ```text
//!   steps, parts, changeovers ─┐
//!                              ├─ draft ─→ planning ─→ order.* findings
//!   windows, hang, raise ──────┘  (arcs with their reasons and figures)
//! ```
//!
//! Arcs come from three places and each remembers which: what the file says (`after`, hold points),
//! what a step makes available to another (a bolt is snug before it is torqued, a part is off
//! before it goes on), and geometry (see the module of that name).

mod answers;
mod draft;
mod geometry;

use axlewright_book::CarFile;
use axlewright_planning::{Effort, Plan, State, Work, WorkError};

pub use axlewright_planning::{Control, Progress, StoppedBy};

use crate::Assessment;

/// What is asked of the order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OrderQuestion {
    /// Ids of the steps done, in the order they were done; after those of [`CarFile::done`].
    pub done: Vec<String>,
    /// Ids of the parts at hand; `None` where all may be taken to be there in time.
    pub have: Option<Vec<String>>,
    /// Moves the search may spend; `None` for the usual effort.
    pub moves: Option<u64>,
}

/// Moves a search spends where nobody says: a few seconds on an ordinary machine.
const USUAL_MOVES: u64 = 3_000_000;

impl OrderQuestion {
    const fn effort(&self) -> Effort {
        Effort::of(match self.moves {
            Some(moves) => moves,
            None => USUAL_MOVES,
        })
    }
}

/// Everything the questions below share.
struct Ready<'a> {
    car: &'a CarFile,
    work: Work,
    geometry: geometry::Geometry,
    state: State,
}

fn words_of(errors: Vec<WorkError>) -> Vec<String> {
    errors.iter().map(ToString::to_string).collect()
}

impl<'a> Ready<'a> {
    fn new(
        car: &'a CarFile,
        assessed: &Assessment,
        question: &OrderQuestion,
    ) -> Result<Self, Vec<String>> {
        if car.steps.is_empty() {
            return Err(vec![
                "the car file has no [[step]] yet: there is nothing to put in order".to_owned(),
            ]);
        }
        let geometry = geometry::Geometry::of(car, assessed);
        let work = Work::new(draft::draft(car, &geometry)).map_err(words_of)?;
        // What the log says is done was done before what is asked about on top of it.
        let asked = question.done.iter().filter(|id| !car.done.contains(id));
        let done: Vec<&str> = car.done.iter().chain(asked).map(String::as_str).collect();
        let mut errors = Vec::new();
        let missing: Vec<&str> = match &question.have {
            None => Vec::new(),
            Some(have) => {
                let unknown = have.iter().filter(|id| car.part(id).is_none());
                errors.extend(unknown.map(|id| format!("no part is called `{id}`")));
                let absent = |id: &&str| !have.iter().any(|had| had == id);
                car.parts.iter().map(|part| part.id.value.as_str()).filter(absent).collect()
            }
        };
        let state = State::named(&work, &done, &missing);
        match state {
            Ok(state) if errors.is_empty() => Ok(Self { car, work, geometry, state }),
            Ok(_) => Err(errors),
            Err(more) => {
                errors.extend(words_of(more));
                Err(errors)
            }
        }
    }

    fn plan(
        &self,
        question: &OrderQuestion,
        ask: &mut dyn FnMut(&Progress<'_>) -> Control,
    ) -> Plan {
        axlewright_planning::plan(&self.work, &self.state, None, question.effort(), ask)
    }
}

/// The parts of a car file that are on the bench or on the car already.
pub fn parts_at_hand(car: &CarFile) -> Vec<String> {
    use axlewright_book::PartState;
    let there = |state| matches!(state, Some(PartState::OnTheBench | PartState::Fitted));
    let parts = car.parts.iter().filter(|part| there(part.state));
    parts.map(|part| part.id.value.clone()).collect()
}

/// The whole order: `order.sequence`, `order.cost`, `order.arcs`, `order.now`, `order.blocked-by`,
/// `order.finish`.
///
/// The same question gives the same answer, unless `ask` stops the search.
///
/// # Errors
/// Everything that cannot be, in words: unknown names, and loops of reasons with the way out.
pub fn order(
    car: &CarFile,
    assessed: &Assessment,
    question: &OrderQuestion,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Result<Assessment, Vec<String>> {
    let ready = Ready::new(car, assessed, question)?;
    let plan = ready.plan(question, ask);
    let findings = answers::all(&ready, &plan);
    let (problems, gaps) = (ready.geometry.problems.clone(), answers::gaps(car));
    Ok(Assessment { car: assessed.car.clone(), findings, problems, gaps, ..Default::default() })
}

/// Why a step stands where it stands: `order.why`, the chain of arcs that leads to it.
///
/// # Errors
/// As [`order`], and when no step has that name.
pub fn why(
    car: &CarFile,
    assessed: &Assessment,
    question: &OrderQuestion,
    step: &str,
) -> Result<Assessment, Vec<String>> {
    let ready = Ready::new(car, assessed, question)?;
    let finding = answers::why(&ready, step).map_err(|words| vec![words])?;
    Ok(Assessment { car: assessed.car.clone(), findings: vec![finding], ..Default::default() })
}

/// What to undo to get at something: `order.back-out`. `what` is a step done, or a part fitted.
///
/// # Errors
/// As [`order`], and when nothing done stands in the way.
pub fn back_out(
    car: &CarFile,
    assessed: &Assessment,
    question: &OrderQuestion,
    what: &str,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Result<Assessment, Vec<String>> {
    let ready = Ready::new(car, assessed, question)?;
    let finding = answers::back_out(&ready, question.effort(), what, ask);
    let finding = finding.map_err(|words| vec![words])?;
    Ok(Assessment { car: assessed.car.clone(), findings: vec![finding], ..Default::default() })
}

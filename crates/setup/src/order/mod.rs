//! The order of work: from the car file's steps and the measured geometry to a plan.
//!
//! ```text
//!   steps, parts, changeovers ─┐
//!                              ├─ draft ─→ planning ─→ order.* findings
//!   windows, hang, raise ──────┘  (arcs with their reasons and figures)
//! ```
//!
//! Arcs come from four places and each remembers which: what the file says (`after`, hold points),
//! what a step makes available to another (a bolt is snug before it is torqued, a part is off
//! before it goes on), what each step does (safety: it holds with nothing measured), and geometry
//! (see the modules of those names). Geometry only adds; where it contradicts the rest, the rest
//! stands and the step that cannot be done has a gate.
//!
//! The finished plan is replayed by [`physical`], which built nothing of it.

mod answers;
mod draft;
pub mod drill;
mod gates;
mod geometry;
mod safe;
mod safety;
mod twins;

use axlewright_book::CarFile;
use axlewright_book::log::Gate;
use axlewright_planning::{Arc, Effort, Link, Plan, State, Work, WorkError};

pub use axlewright_planning::{Control, Progress, StoppedBy};
pub use gates::Unknown;

use crate::{Assessment, physical};
use safety::Safety;

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
    safety: Safety,
    gates: Vec<Gate>,
    unknown: Vec<Unknown>,
    /// What geometry asks for and the rest does not allow.
    yielded: Vec<Arc>,
}

fn words_of(errors: Vec<WorkError>) -> Vec<String> {
    let words = |error: &WorkError| match error {
        WorkError::Loop(way) => contradiction(&way.shortest),
        other => other.to_string(),
    };
    errors.iter().map(words).collect()
}

impl<'a> Ready<'a> {
    fn new(
        car: &'a CarFile,
        assessed: &Assessment,
        question: &OrderQuestion,
    ) -> Result<Self, Vec<String>> {
        Self::drilled(car, assessed, question, &drill::Drill::default())
    }

    fn drilled(
        car: &'a CarFile,
        assessed: &Assessment,
        question: &OrderQuestion,
        drill: &drill::Drill,
    ) -> Result<Self, Vec<String>> {
        if car.steps.is_empty() {
            return Err(vec![
                "the car file has no [[step]] yet: there is nothing to put in order".to_owned(),
            ]);
        }
        let geometry = geometry::Geometry::of(car, assessed);
        let mut safety = Safety::of(car);
        let mut gates = gates::gates(car, assessed, &geometry);
        drill.spoil(&mut safety, &mut gates);
        let gates = gates.into_iter().map(|(_, gate)| gate).collect();
        let (work, yielded) = work(car, &geometry, &safety, drill)?;
        let unknown = gates::unknown(car, assessed, &geometry);
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
        let wants = safety.wants.iter().map(|want| want.id.as_str());
        let mut absent: Vec<&str> = Vec::new();
        for id in missing.into_iter().chain(wants) {
            if !absent.contains(&id) {
                absent.push(id);
            }
        }
        let state = State::named(&work, &done, &absent);
        match state {
            Ok(state) if errors.is_empty() => {
                Ok(Self { car, work, geometry, state, safety, gates, unknown, yielded })
            }
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

/// The work, checked, and what of geometry gave way to the rest: a fact that no order of work gets
/// round, and is told as one. The rest is never offered to be given up.
fn work(
    car: &CarFile,
    geometry: &geometry::Geometry,
    safety: &Safety,
    drill: &drill::Drill,
) -> Result<(Work, Vec<Arc>), Vec<String>> {
    let mut arcs = geometry.arcs(car);
    let mut yielded = Vec::new();
    loop {
        let draft = drill.thinned(draft::draft(car, arcs.clone(), safety));
        let errors = match Work::new(draft) {
            Ok(work) => return Ok((work, yielded)),
            Err(errors) => errors,
        };
        let [WorkError::Loop(way)] = errors.as_slice() else { return Err(words_of(errors)) };
        let gives_way = |arc: &Arc| way.give_up.iter().any(|link| link.arc == *arc);
        let (gone, kept): (Vec<Arc>, Vec<Arc>) = arcs.into_iter().partition(gives_way);
        if gone.is_empty() {
            return Err(vec![contradiction(&way.shortest)]);
        }
        yielded.extend(gone);
        arcs = kept;
    }
}

fn contradiction(round: &[Link]) -> String {
    let one = |link: &Link| {
        let Arc { before, after, reason, words, .. } = &link.arc;
        format!("'{before}' before '{after}' ({}: {words})", reason.word())
    };
    let round: Vec<String> = round.iter().map(one).collect();
    format!(
        "these contradict each other: {}. Mend the `after`, `phase` or `does` that is wrong; what \
         keeps a hand safe is not given up",
        round.join("; ")
    )
}

/// What bars the doing of steps that are not done yet, for whoever writes an entry.
pub fn gates(car: &CarFile, assessed: &Assessment) -> Vec<Gate> {
    let all = gates::gates(car, assessed, &geometry::Geometry::of(car, assessed));
    all.into_iter().map(|(_, gate)| gate).collect()
}

/// The car now: what each bar carries and what holds its arm, by the steps that are done and by
/// what somebody remembers of it.
pub fn standing(car: &CarFile) -> physical::State {
    physical::replay_remembered(car, car.done.iter().map(String::as_str)).after
}

/// The parts of a car file that are on the bench or on the car already.
pub fn parts_at_hand(car: &CarFile) -> Vec<String> {
    use axlewright_book::PartState;
    let there = |state| matches!(state, Some(PartState::OnTheBench | PartState::Fitted));
    let parts = car.parts.iter().filter(|part| there(part.state));
    parts.map(|part| part.id.value.clone()).collect()
}

/// The whole order: `order.sequence`, `order.safety`, `order.cost`, `order.arcs`, `order.now`,
/// `order.blocked-by`, `order.finish`.
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
    let mut out = plan_told(&ready, question, ask);
    out.car = assessed.car.clone();
    Ok(out)
}

fn plan_told(
    ready: &Ready<'_>,
    question: &OrderQuestion,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Assessment {
    let plan = ready.plan(question, ask);
    let findings = answers::all(ready, &plan);
    let (mut problems, gaps) = (ready.geometry.problems.clone(), answers::gaps(ready.car));
    problems.extend(safe::problems(ready, &plan));
    Assessment { findings, problems, gaps, ..Default::default() }
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

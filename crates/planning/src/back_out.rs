//! Getting back to something: what to undo, in which order, and how to return.

use crate::bits::Bits;
use crate::context::Open;
use crate::plan::{Stop, search, walk};
use crate::state::{State, set};
use crate::time::Time;
use crate::watch::{Control, Effort, Progress};
use crate::work::{Undo, Work};

/// The way back and the way forward again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BackOut {
    /// Tasks to undo, in order, with what to change before each.
    pub undo: Vec<Stop>,
    /// What undoing takes, changeovers included.
    pub undo_time: Time,
    /// Tasks to do again afterwards, in order: those undone, and readings that no longer hold.
    pub again: Vec<Stop>,
    /// What doing them again takes, changeovers included.
    pub again_time: Time,
    /// Which of the ways given was cheapest.
    pub way: usize,
}

/// Why nothing can be backed out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BackOutError {
    /// No task to undo was given.
    #[error("there is nothing to get back to: no way in names a task")]
    Nothing,
    /// A way names a task that is not done.
    #[error("'{0}' is not done, so it cannot be undone")]
    NotDone(String),
    /// Every way is barred by something that cannot be undone.
    #[error("'{0}' cannot be undone, and it would have to be")]
    Never(String),
}

/// The least to undo so that something is free again.
///
/// `ways` are alternatives, each a list of done tasks that have to be undone to be there; the one
/// that takes the least time to undo is chosen. Whatever rests on a task by a holding arc goes
/// first. Tasks that leave nothing in place are not undone but done again.
///
/// # Errors
/// A way that names a task not done; every way barred by a task that can never be undone.
pub fn back_out(
    work: &Work,
    state: &State,
    ways: &[Vec<usize>],
    effort: Effort,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Result<BackOut, BackOutError> {
    let done = set(work.tasks().len(), &state.done);
    let mut best: Option<(Time, usize, Vec<usize>)> = None;
    let mut barred = None;
    for (at, way) in ways.iter().enumerate().filter(|(_, way)| !way.is_empty()) {
        if let Some(&task) = way.iter().find(|&&task| !done.has(task)) {
            return Err(BackOutError::NotDone(work.id(task).to_owned()));
        }
        let resting = resting(work, &done, way);
        let undo = |&task: &usize| work.draft.tasks[task].undo;
        if let Some(&task) = resting.iter().find(|task| undo(task) == Undo::Never) {
            barred = Some(BackOutError::Never(work.id(task).to_owned()));
            continue;
        }
        let time = resting.iter().map(|&task| undo_time(work, task)).sum();
        if best.as_ref().is_none_or(|(t, _, all)| (time, resting.len()) < (*t, all.len())) {
            best = Some((time, at, resting));
        }
    }
    let Some((time, way, resting)) = best else {
        return Err(barred.unwrap_or(BackOutError::Nothing));
    };
    Ok(there_and_back(work, state, (time, way), &resting, effort, ask))
}

fn there_and_back(
    work: &Work,
    state: &State,
    (time, way): (Time, usize),
    resting: &[usize],
    effort: Effort,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> BackOut {
    let stays = |task: &usize| work.draft.tasks[*task].undo != Undo::Nothing;
    let undo: Vec<usize> = resting.iter().copied().filter(stays).collect();
    let mut order = |tasks: &[usize], backwards: bool, state: &State| -> Vec<usize> {
        let open = Open::new(work, tasks, &state.in_hand);
        let open = open.map(|open| if backwards { open.reversed() } else { open });
        let found = open.map(|open| search(&open, None, effort, ask).order);
        found.unwrap_or_default().into_iter().map(|at| tasks[at]).collect()
    };
    let undo = order(&undo, true, state);
    let (undo, undo_cost) = walk(work, state, &undo);
    let mut after = State { done: Vec::new(), ..state.clone() };
    for stop in &undo {
        after.finish(work, stop.task);
    }
    let again = order(resting, false, &after);
    let (again, again_cost) = walk(work, &after, &again);
    BackOut {
        undo,
        undo_time: time + undo_cost.changeover,
        again,
        again_time: again_cost.work + again_cost.changeover,
        way,
    }
}

/// The tasks given and every done one that rests on them.
fn resting(work: &Work, done: &Bits, way: &[usize]) -> Vec<usize> {
    let mut all = set(work.tasks().len(), way);
    let mut ring = way.to_vec();
    while let Some(task) = ring.pop() {
        for link in work.links().iter().filter(|link| link.before == task && link.arc.holds) {
            if done.has(link.after) && !all.has(link.after) {
                all.add(link.after);
                ring.push(link.after);
            }
        }
    }
    all.iter().collect()
}

fn undo_time(work: &Work, task: usize) -> Time {
    match work.draft.tasks[task].undo {
        Undo::Takes(time) => time,
        Undo::Nothing | Undo::Never => Time::ZERO,
    }
}

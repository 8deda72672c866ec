//! How the work stands: what is done, what is missing, what is in hand; what can be done now.

use crate::bits::Bits;
use crate::work::{Work, WorkError};

/// What has been done so far and what is to hand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    /// Tasks done, in the order they were done.
    pub(crate) done: Vec<usize>,
    /// Parts that are not there.
    pub(crate) missing: Vec<usize>,
    /// The value each feature has now; `None` where nothing has been chosen.
    pub(crate) in_hand: Vec<Option<usize>>,
}

impl State {
    /// Nothing done, nothing missing.
    #[must_use]
    pub fn fresh(work: &Work) -> Self {
        Self { done: Vec::new(), missing: Vec::new(), in_hand: work.start.clone() }
    }

    /// From names. What is in hand follows from the tasks done.
    ///
    /// # Errors
    /// Every name nobody knows and every task named twice, all at once.
    pub fn named(work: &Work, done: &[&str], missing: &[&str]) -> Result<Self, Vec<WorkError>> {
        let mut errors = Vec::new();
        let unknown = |what, name: &str| {
            let (by, name) = ("the state of the work".to_owned(), name.to_owned());
            WorkError::Unknown { by, what, name }
        };
        let mut state = Self::fresh(work);
        for &name in done {
            match work.task(name) {
                Some(task) if state.done.contains(&task) => {
                    errors.push(WorkError::Twice { what: "done task", name: name.to_owned() });
                }
                Some(task) => state.finish(work, task),
                None => errors.push(unknown("task", name)),
            }
        }
        for &name in missing {
            match work.part(name) {
                Some(part) => state.missing.push(part),
                None => errors.push(unknown("part", name)),
            }
        }
        if errors.is_empty() { Ok(state) } else { Err(errors) }
    }

    /// Marks a task as done just now; its context is in hand from here on. A task done before, or
    /// one that does not exist, changes nothing.
    pub fn finish(&mut self, work: &Work, task: usize) {
        let Some(asks) = work.asks.get(task).filter(|_| !self.done.contains(&task)) else { return };
        self.done.push(task);
        for (hand, ask) in self.in_hand.iter_mut().zip(asks) {
            *hand = ask.or(*hand);
        }
    }

    /// The tasks done, in the order they were done.
    #[must_use]
    pub fn done(&self) -> &[usize] {
        &self.done
    }

    /// The parts that are missing.
    #[must_use]
    pub fn missing(&self) -> &[usize] {
        &self.missing
    }
}

/// What keeps a task from being done now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Blocker {
    /// A task not done yet, by this arc (position in [`Work::links`]).
    Task {
        /// Position of the task that has to come first.
        task: usize,
        /// Position of the arc that says so.
        link: usize,
    },
    /// A part that is missing.
    Part(usize),
}

/// Which tasks can be done now and what blocks the others.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    /// Tasks nothing is in the way of.
    pub now: Vec<usize>,
    /// The other open tasks, with everything directly in their way.
    pub blocked: Vec<(usize, Vec<Blocker>)>,
    /// For each missing part, every open task that cannot be done before it comes.
    pub held_up: Vec<(usize, Vec<usize>)>,
    /// Arcs broken by the order in which things were done: (done task, its open predecessor).
    pub skipped: Vec<(usize, usize)>,
}

/// What can be done now, and what is in the way of the rest.
#[must_use]
pub fn standing(work: &Work, state: &State) -> Standing {
    let len = work.tasks().len();
    let done = set(len, &state.done);
    let mut blockers = vec![Vec::new(); len];
    let mut skipped = Vec::new();
    for (at, link) in work.links().iter().enumerate() {
        match (done.has(link.before), done.has(link.after)) {
            (false, false) => {
                blockers[link.after].push(Blocker::Task { task: link.before, link: at });
            }
            (false, true) => skipped.push((link.after, link.before)),
            _ => {}
        }
    }
    for (task, parts) in work.needs.iter().enumerate().filter(|(task, _)| !done.has(*task)) {
        let missing = parts.iter().filter(|part| state.missing.contains(part));
        blockers[task].extend(missing.map(|&part| Blocker::Part(part)));
    }
    let open: Vec<usize> = (0..len).filter(|&task| !done.has(task)).collect();
    let held_up = state.missing.iter().map(|&part| {
        let stuck = |&task: &usize| {
            let needs = |t: usize| !done.has(t) && work.needs[t].contains(&part);
            needs(task) || work.relation.before(task).iter().any(needs)
        };
        (part, open.iter().copied().filter(stuck).collect())
    });
    Standing {
        held_up: held_up.collect(),
        now: open.iter().copied().filter(|&task| blockers[task].is_empty()).collect(),
        blocked: open
            .iter()
            .filter(|&&task| !blockers[task].is_empty())
            .map(|&task| (task, blockers[task].clone()))
            .collect(),
        skipped,
    }
}

/// A chain of arcs that explains why a task comes so late: from a task nothing precedes to this
/// one, the longest by time. Positions in [`Work::links`].
#[must_use]
pub fn why(work: &Work, task: usize) -> Vec<usize> {
    let len = work.tasks().len();
    let mut into = vec![Vec::new(); len];
    for (at, link) in work.links().iter().enumerate() {
        into[link.after].push(at);
    }
    let mut sorted: Vec<usize> = (0..len).collect();
    sorted.sort_by_key(|&t| work.relation.before(t).count());
    let mut reach = vec![0_i64; len];
    let mut by: Vec<Option<usize>> = vec![None; len];
    for t in sorted {
        for &at in &into[t] {
            let before = work.links[at].before;
            let here = reach[before] + work.draft.tasks[before].time.to_seconds();
            if by[t].is_none() || here > reach[t] {
                (reach[t], by[t]) = (here, Some(at));
            }
        }
    }
    let mut chain = Vec::new();
    let mut here = task;
    while let Some(at) = by.get(here).copied().flatten() {
        chain.push(at);
        here = work.links[at].before;
    }
    chain.reverse();
    chain
}

/// Tasks that can be planned: open, and not behind a missing part; and those that wait.
pub(crate) fn split(work: &Work, state: &State) -> (Vec<usize>, Vec<usize>) {
    let len = work.tasks().len();
    let done = set(len, &state.done);
    let stuck =
        |t: usize| !done.has(t) && work.needs[t].iter().any(|part| state.missing.contains(part));
    let waits = |&t: &usize| stuck(t) || work.relation.before(t).iter().any(stuck);
    (0..len).filter(|&t| !done.has(t)).partition(|t| !waits(t))
}

pub(crate) fn set(len: usize, tasks: &[usize]) -> Bits {
    let mut set = Bits::new(len);
    for &task in tasks {
        set.add(task);
    }
    set
}

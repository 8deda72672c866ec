//! Safeguards taken out of the builder one at a time, so that a judge of plans can be seen to fail.
//!
//! For harnesses alone: nothing that a person is shown is made with a safeguard less.

use axlewright_book::CarFile;
use axlewright_planning::{Arc, Draft, Reason, Work};

use super::gates::Barred;
pub use super::gates::GateKind;
use super::geometry::Geometry;
use super::safety::Safety;
use super::{Control, OrderQuestion, Progress, Ready, draft, gates, plan_told};
use crate::Assessment;

/// One safeguard of the builder, by what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Safeguard {
    /// All arcs with these words.
    Arcs(String),
    /// Stopping where no step does this.
    Want(String),
    /// All gates of a kind.
    Gates(GateKind),
}

/// The builder with some safeguards less, for a car file that asks for some steps the wrong way
/// round.
#[derive(Debug, Clone, Default)]
pub struct Drill {
    /// What is left out; nothing for the builder as it is.
    pub without: Vec<Safeguard>,
    /// Steps that the file is made to ask for: the first before the second.
    pub asked: Vec<(String, String)>,
}

impl Drill {
    fn lacks(&self, arc: &Arc) -> bool {
        let is_it = |out: &Safeguard| matches!(out, Safeguard::Arcs(words) if *words == arc.words);
        arc.reason != Reason::Said && self.without.iter().any(is_it)
    }

    /// Takes out what it is to be without, and asks for what it asks for.
    pub(super) fn spoil(&self, safety: &mut Safety, gates: &mut Vec<Barred>) {
        safety.arcs.retain(|arc| !self.lacks(arc));
        for out in &self.without {
            match out {
                Safeguard::Arcs(_) => {}
                Safeguard::Want(words) => safety.wants.retain(|want| want.words != *words),
                Safeguard::Gates(kind) => gates.retain(|gate| gate.0 != *kind),
            }
        }
        safety.arcs.extend(self.asked.iter().map(|(first, then)| {
            let mut arc = Arc::new(first, then, Reason::Said, "asked for, to see it refused");
            arc.holds = false;
            arc
        }));
    }

    /// The draft without what one step makes available to another, where that is left out too.
    pub(super) fn thinned(&self, mut draft: Draft) -> Draft {
        draft.arcs.retain(|arc| !self.lacks(arc));
        draft
    }
}

/// One kind of arc, tried.
#[derive(Debug, Clone)]
pub struct Tried {
    /// Its words.
    pub words: String,
    /// Two of its steps, in the order it keeps.
    pub pair: (String, String),
    /// The words of other arcs that hold these two as well: they are taken out first.
    pub others: Vec<String>,
}

/// Every kind of safety arc, with a pair of steps that it alone keeps in order once the others
/// that do are out; as an error the words of a kind that cannot be tried.
pub fn arcs(car: &CarFile, assessed: &Assessment) -> Vec<Result<Tried, String>> {
    let geometry = Geometry::of(car, assessed);
    let safety = Safety::of(car);
    let mut kinds: Vec<&str> = Vec::new();
    for arc in &safety.arcs {
        if !kinds.contains(&arc.words.as_str()) {
            kinds.push(&arc.words);
        }
    }
    let tried = |words: &str| {
        let of_kind = safety.arcs.iter().filter(|arc| arc.words == words).take(PAIRS);
        let mut all: Vec<Tried> =
            of_kind.filter_map(|arc| tried(car, &geometry, &safety, arc)).collect();
        all.sort_by_key(|tried| tried.others.len());
        all.into_iter().next().ok_or_else(|| words.to_owned())
    };
    kinds.into_iter().map(tried).collect()
}

/// Pairs of one kind that are looked at.
const PAIRS: usize = 6;

/// A pair with all that also holds it taken out; nothing where what the file says holds it.
fn tried(car: &CarFile, geometry: &Geometry, safety: &Safety, arc: &Arc) -> Option<Tried> {
    let mut out = vec![arc.words.clone()];
    loop {
        let drill = Drill {
            without: out.iter().cloned().map(Safeguard::Arcs).collect(),
            asked: Vec::new(),
        };
        let mut less = safety.clone();
        drill.spoil(&mut less, &mut Vec::new());
        let work = Work::new(drill.thinned(draft::draft(car, geometry.arcs(car), &less))).ok()?;
        let (first, then) = (work.task(&arc.before)?, work.task(&arc.after)?);
        if !work.precedes(first, then) {
            let others = out.split_off(1);
            let pair = (arc.before.clone(), arc.after.clone());
            return Some(Tried { words: arc.words.clone(), pair, others });
        }
        let ways = work.links().iter().filter(|link| {
            let begins = link.before == first || work.precedes(first, link.before);
            begins && (link.after == then || work.precedes(link.after, then))
        });
        let mut ways: Vec<&Arc> = ways.map(|link| &link.arc).collect();
        ways.retain(|way| way.reason != Reason::Said);
        // What leads there directly first: it is the same act in other words.
        ways.sort_by_key(|way| (way.before != arc.before, way.after != arc.after));
        out.push(ways.first()?.words.clone());
    }
}

/// What the steps of a file lack, in the words of [`Safeguard::Want`].
pub fn wants(car: &CarFile) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for want in Safety::of(car).wants {
        if !all.contains(&want.words) {
            all.push(want.words);
        }
    }
    all
}

/// The kinds of gate that a plan of this car has.
pub fn gate_kinds(car: &CarFile, assessed: &Assessment) -> Vec<GateKind> {
    let all = gates::gates(car, assessed, &Geometry::of(car, assessed));
    all.into_iter().map(|(kind, _)| kind).collect()
}

/// The order of work as a builder with some safeguards less makes it.
///
/// # Errors
/// As [`order`](super::order).
pub fn order(
    car: &CarFile,
    assessed: &Assessment,
    question: &OrderQuestion,
    drill: &Drill,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Result<Assessment, Vec<String>> {
    let ready = Ready::drilled(car, assessed, question, drill)?;
    Ok(plan_told(&ready, question, ask))
}

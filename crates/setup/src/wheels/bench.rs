//! Turns a way of computing something of the whole car into a finding, or into the gaps before it;
//! the counterpart of [`crate::engine`], over both sides' inputs and those of the whole car.
//!
//! # Source
//! JCGM 100:2008 (GUM), 5.1.2 with the numerical sensitivities of 5.1.3, note 2.

use std::collections::BTreeSet;

use axlewright_quantity::{Amount, Side};

use super::whole::{Cause, Facts, Seen, Sight};
use crate::engine::{Recipe, Waiting, by_share};
use crate::finding::{Finding, Input, Item, Why};

/// Collects the findings of the whole car.
#[derive(Debug)]
pub(crate) struct Bench<'a, 'w> {
    pub(crate) facts: &'a Facts<'a>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) waiting: &'w mut Waiting,
}

/// A cause's part of each leaf's variance, with its sign: what leaf i gains when it is moved up.
pub(crate) struct Moves {
    pub(crate) parts: Vec<(Cause, Vec<f64>)>,
    /// Every measured input has an uncertainty and could be moved both ways by it.
    pub(crate) whole: bool,
}

impl Moves {
    /// The part of these moves that belongs to some of the leaves.
    pub(crate) fn of(&self, leaves: std::ops::Range<usize>) -> Self {
        let part = |(cause, parts): &(Cause, Vec<f64>)| {
            (*cause, parts.get(leaves.clone()).unwrap_or_default().to_vec())
        };
        Self { parts: self.parts.iter().map(part).collect(), whole: self.whole }
    }
}

fn causes(seen: &Seen) -> BTreeSet<Cause> {
    let extras = seen.extras.iter().map(|key| Cause::Extra(*key));
    let of = |side: Side| seen.sides[side].seen.iter().map(move |slot| Cause::Of(side, *slot));
    extras.chain(of(Side::Left)).chain(of(Side::Right)).collect()
}

impl<'a> Bench<'a, '_> {
    /// A value as the facts stand, without noting anything.
    pub(crate) fn plain<T>(&self, f: impl Fn(&Sight) -> Option<T>) -> Option<T> {
        f(&Sight::plain(self.facts))
    }

    /// Notes what stands before a finding.
    pub(crate) fn wait_for(&mut self, id: &'static str, seen: &Seen) {
        let mut faults = BTreeSet::new();
        for side in Side::BOTH {
            let trace = &seen.sides[side];
            for need in &trace.missing {
                let of_side = self.waiting.needs.entry(*need).or_default();
                let ids = of_side.entry(side).or_default();
                if !ids.contains(&id) {
                    ids.push(id);
                }
            }
            // A linkage that does not close is told of by its own corner.
            let own = trace.faults.iter().filter(|f| f.starts_with("on its wheels"));
            faults.extend(own.cloned());
        }
        self.waiting.faults.extend(faults);
    }

    /// Adds a finding, or what it waits for; says whether it was added.
    pub(crate) fn add(
        &mut self,
        recipe: Recipe,
        f: impl Fn(&Sight) -> Option<Item>,
        words: impl FnOnce(&Item) -> String,
    ) -> bool {
        let sight = Sight::plain(self.facts);
        let Some(value) = f(&sight) else {
            self.wait_for(recipe.id, &sight.into_seen());
            return false;
        };
        let seen = sight.into_seen();
        let moves = self.moves(&seen, &value, &f);
        self.put(recipe, value, (&seen, &moves), words);
        true
    }

    /// Adds a finding whose uncertainties were worked out beforehand.
    pub(crate) fn put(
        &mut self,
        recipe: Recipe,
        mut value: Item,
        (seen, moves): (&Seen, &Moves),
        words: impl FnOnce(&Item) -> String,
    ) {
        fill(&mut value, moves);
        let inputs = self.inputs_of(seen, moves);
        let why =
            Why { words: words(&value), formula: recipe.formula, source: recipe.source, inputs };
        let Recipe { id, at, .. } = recipe;
        self.findings.push(Finding { id, of: None, at, value, why });
    }

    fn unsure(&self, cause: Cause) -> bool {
        self.facts.known(cause).is_some_and(|(.., known)| known.unsure)
    }

    /// What each cause does to each leaf when it is moved by its uncertainty.
    pub(crate) fn moves(
        &self,
        seen: &Seen,
        base: &Item,
        f: &impl Fn(&Sight) -> Option<Item>,
    ) -> Moves {
        let count = base.leaves().len();
        let causes = causes(seen);
        let whole = !causes.iter().any(|cause| self.unsure(*cause));
        let mut moves = Moves { parts: Vec::new(), whole };
        for cause in causes {
            let Some((_, Some(u), _)) = self.facts.known(cause) else { continue };
            let moved = |by: f64| {
                let by = Amount::from_si(u.kind(), by);
                let numbers = f(&Sight::nudged(self.facts, cause, by))?.numbers();
                (numbers.len() == count).then_some(numbers)
            };
            match (moved(u.to_si()), moved(-u.to_si())) {
                (Some(up), Some(down)) => {
                    let halves = up.iter().zip(&down).map(|(a, b)| (a - b) / 2.0);
                    moves.parts.push((cause, halves.collect()));
                }
                _ => moves.whole = false,
            }
        }
        moves
    }

    /// What went in, the one that matters most to the first number in front. Coordinates of one
    /// place, and one line written for both sides, are one input here.
    pub(crate) fn inputs_of(&self, seen: &Seen, moves: &Moves) -> Vec<Input> {
        let total: f64 =
            moves.parts.iter().filter_map(|(_, parts)| parts.first()).map(|p| p * p).sum();
        let mut inputs: Vec<Input> = Vec::new();
        for cause in causes(seen) {
            let Some((value, u, known)) = self.facts.known(cause) else { continue };
            let part = moves.parts.iter().find(|(c, _)| *c == cause);
            let share = part.and_then(|(_, parts)| parts.first()).map(|p| p * p / total);
            let share = share.filter(|share| share.is_finite());
            let name = self.facts.name(cause);
            let twin = inputs
                .iter_mut()
                .find(|old| old.name == name && old.from == known.from && old.value == Some(value));
            match twin {
                Some(old) => {
                    old.share = match (old.share, share) {
                        (Some(a), Some(b)) => Some(a + b),
                        (a, b) => a.or(b),
                    };
                }
                None => {
                    let from = known.from.clone();
                    inputs.push(Input { name, value: Some(value), u, from, share });
                }
            }
        }
        for side in Side::BOTH {
            for field in &seen.sides[side].exact {
                let Some(known) = self.facts.sides[side].fields.get(field) else { continue };
                let name = format!("{}: {}", field.name(), known.text);
                if inputs.iter().all(|old| old.name != name) {
                    let from = known.from.clone();
                    inputs.push(Input { name, value: None, u: None, from, share: None });
                }
            }
        }
        by_share(&mut inputs);
        inputs
    }
}

/// Puts the uncertainties into the leaves.
fn fill(value: &mut Item, moves: &Moves) {
    if !moves.whole {
        return;
    }
    for (i, leaf) in value.leaves_mut().into_iter().enumerate() {
        let variance: f64 =
            moves.parts.iter().filter_map(|(_, parts)| parts.get(i)).map(|p| p * p).sum();
        if 0.0 < variance {
            leaf.u = Some(Amount::from_si(leaf.value.kind(), variance.sqrt()));
        }
    }
}

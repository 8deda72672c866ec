//! Turns a way of computing something into a finding with its uncertainty and reasons, or into
//! the gaps that stand before it.
//!
//! **Uncertainty.** Each finding is computed once as the inputs stand and twice more for every
//! input that carries a standard uncertainty u: with that input moved up and down by u. Half the
//! difference is that input's part, and the parts are combined in quadrature.
//!
//! # Source
//! JCGM 100:2008 (GUM), 5.1.2 with the numerical sensitivities of 5.1.3, note 2.

use std::collections::{BTreeMap, BTreeSet};

use axlewright_book::Field;
use axlewright_quantity::{Amount, Corner, Side};

use crate::finding::{Finding, Input, Item, State, Subject, Why};
use crate::inputs::{Inputs, Need, Slot, Slots, coordinates, fits};
use crate::look::Look;

/// What a finding is called and what stands behind it.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Recipe {
    pub(crate) id: &'static str,
    pub(crate) at: Option<State>,
    pub(crate) formula: &'static str,
    pub(crate) source: &'static str,
}

/// Which findings wait for what, and on which sides.
#[derive(Debug, Default)]
pub(crate) struct Waiting {
    pub(crate) needs: BTreeMap<Need, BTreeMap<Side, Vec<&'static str>>>,
    /// What cannot be, in words, and where.
    pub(crate) faults: BTreeSet<String>,
}

/// Collects the findings of one corner.
#[derive(Debug)]
pub(crate) struct Bench<'a> {
    pub(crate) inputs: &'a Inputs,
    /// What the findings are about; `None` for the whole car.
    pub(crate) of: Option<Subject>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) waiting: &'a mut Waiting,
}

/// How far each input's standard uncertainty moves each leaf, with its sign.
pub(crate) struct Spread {
    parts: Vec<(Slot, Vec<f64>)>,
    /// Every measured input has an uncertainty and could be moved both ways by it.
    whole: bool,
}

impl Spread {
    /// How far each input moves the leaf with that number, in SI: the same inputs in the same
    /// order for every leaf. Nothing where that cannot be told of all inputs.
    pub(crate) fn of_leaf(&self, leaf: usize) -> Option<Vec<f64>> {
        let of = |(_, parts): &(Slot, Vec<f64>)| parts.get(leaf).copied();
        if self.whole { self.parts.iter().map(of).collect() } else { None }
    }
}

impl<'a> Bench<'a> {
    /// For one corner.
    pub(crate) fn corner(inputs: &'a Inputs, waiting: &'a mut Waiting) -> Self {
        let of = Some(Subject::Corner(Corner::rear(inputs.side)));
        Self { inputs, of, findings: Vec::new(), waiting }
    }

    /// A value as the inputs stand, without noting anything.
    pub(crate) fn plain<T>(&self, f: impl Fn(&Look) -> Option<T>) -> Option<T> {
        f(&Look::plain(self.inputs))
    }

    /// Adds a finding, or what it waits for.
    pub(crate) fn add(
        &mut self,
        recipe: Recipe,
        f: impl Fn(&Look) -> Option<Item>,
        words: impl FnOnce(&Item, &Look) -> String,
    ) {
        self.add_judged(recipe, f, |_| (), words);
    }

    /// The same, with a judgement that needs the uncertainties filled in before the words.
    pub(crate) fn add_judged(
        &mut self,
        recipe: Recipe,
        f: impl Fn(&Look) -> Option<Item>,
        judge: impl FnOnce(&mut Item),
        words: impl FnOnce(&Item, &Look) -> String,
    ) {
        self.add_weighed(recipe, f, |item, _| judge(item), words);
    }

    /// The same, with a judgement that also needs what the leaves have in common.
    pub(crate) fn add_weighed(
        &mut self,
        recipe: Recipe,
        f: impl Fn(&Look) -> Option<Item>,
        judge: impl FnOnce(&mut Item, &Spread),
        words: impl FnOnce(&Item, &Look) -> String,
    ) {
        let look = Look::plain(self.inputs);
        let Some(mut value) = f(&look) else {
            self.wait(recipe.id, look);
            return;
        };
        let trace = look.into_trace();
        self.wait_for_uncertainty(recipe.id, &trace.seen);
        let spread = self.spread(&trace.seen, &value, &f);
        let total = combine(&spread, value.leaves().len());
        for (leaf, variance) in value.leaves_mut().into_iter().zip(&total) {
            if spread.whole && 0.0 < *variance {
                leaf.u = Some(Amount::from_si(leaf.value.kind(), variance.sqrt()));
            }
        }
        judge(&mut value, &spread);
        let inputs = self.inputs_of(&trace.seen, &trace.exact, &spread, total.first().copied());
        let why = Why {
            words: words(&value, &Look::plain(self.inputs)),
            formula: recipe.formula,
            source: recipe.source,
            inputs,
        };
        let Recipe { id, at, .. } = recipe;
        self.findings.push(Finding { id, of: self.of.clone(), at, value, why });
    }

    /// A measured input of which nobody says how sure it is makes the figure look surer than it
    /// is: a gap of its own, though the figure stands.
    fn wait_for_uncertainty(&mut self, id: &'static str, seen: &Slots) {
        for slot in seen {
            let Slot::Field(field, _) = slot else { continue };
            if let Some(class) = field.class().filter(|_| self.is_unsure(*slot)) {
                self.note(Need::Field(class.field()), id);
            }
        }
    }

    fn is_unsure(&self, slot: Slot) -> bool {
        self.inputs.known(slot).is_some_and(|(known, _)| known.unsure)
    }

    fn note(&mut self, need: Need, id: &'static str) {
        let of_side = self.waiting.needs.entry(need).or_default();
        let ids = of_side.entry(self.inputs.side).or_default();
        if !ids.contains(&id) {
            ids.push(id);
        }
    }

    fn wait(&mut self, id: &'static str, look: Look) {
        let trace = look.into_trace();
        for need in trace.missing {
            self.note(need, id);
        }
        for fault in trace.faults {
            let place = match &self.of {
                Some(Subject::Corner(corner)) => format!("{} rear: ", corner.side()),
                _ => String::new(),
            };
            self.waiting.faults.insert(format!("{place}{fault}"));
        }
    }

    fn spread(&self, seen: &Slots, base: &Item, f: &impl Fn(&Look) -> Option<Item>) -> Spread {
        let count = base.leaves().len();
        let unsure = seen.iter().any(|slot| self.is_unsure(*slot));
        let mut spread = Spread { parts: Vec::new(), whole: !unsure };
        for slot in seen {
            let Some(u) = self.uncertainty(*slot) else { continue };
            let moved = |by: f64| {
                let by = Amount::from_si(u.kind(), by);
                let numbers = f(&Look::nudged(self.inputs, *slot, by))?.numbers();
                (numbers.len() == count).then_some(numbers)
            };
            match (moved(u.to_si()), moved(-u.to_si())) {
                (Some(up), Some(down)) => {
                    let halves = up.iter().zip(&down).map(|(a, b)| (a - b) / 2.0);
                    spread.parts.push((*slot, halves.collect()));
                }
                // Moved by its own uncertainty this input changes what there is to say (a window
                // that opens or closes): a single number would claim too much.
                _ => spread.whole = false,
            }
        }
        spread
    }

    fn uncertainty(&self, slot: Slot) -> Option<Amount> {
        let (known, part) = self.inputs.known(slot)?;
        let u = known.u?;
        let coordinate = *coordinates(&known.value).get(usize::from(part))?;
        (fits(u, coordinate) && 0.0 < u.to_si()).then_some(u)
    }

    fn inputs_of(
        &self,
        seen: &Slots,
        exact: &BTreeSet<Field>,
        spread: &Spread,
        total: Option<f64>,
    ) -> Vec<Input> {
        let share = |slot: &Slot| {
            let parts = &spread.parts.iter().find(|(s, _)| s == slot)?.1;
            let total = total.filter(|t| 0.0 < *t)?;
            Some(parts.first()?.powi(2) / total)
        };
        let mut inputs: Vec<Input> = seen
            .iter()
            .filter_map(|slot| {
                let (known, part) = self.inputs.known(*slot)?;
                Some(Input {
                    name: self.inputs.name(*slot),
                    value: coordinates(&known.value).get(usize::from(part)).copied(),
                    u: self.uncertainty(*slot),
                    from: known.from.clone(),
                    share: share(slot),
                })
            })
            .collect();
        inputs.extend(exact.iter().filter_map(|field| {
            let known = self.inputs.fields.get(field)?;
            let name = format!("{}: {}", field.name(), known.text);
            Some(Input { name, value: None, u: None, from: known.from.clone(), share: None })
        }));
        by_share(&mut inputs);
        inputs
    }
}

/// The input that matters most in front; those of no weight, whose shares are what rounding leaves,
/// stay as they come.
pub(crate) fn by_share(inputs: &mut [Input]) {
    let weight = |input: &Input| match input.share {
        Some(share) if share < 1e-12 => 0.0,
        share => share.unwrap_or(-1.0),
    };
    inputs.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
}

fn combine(spread: &Spread, count: usize) -> Vec<f64> {
    let mut total = vec![0.0; count];
    for (_, parts) in &spread.parts {
        for (sum, part) in total.iter_mut().zip(parts) {
            *sum += part * part;
        }
    }
    total
}

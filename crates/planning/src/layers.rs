//! Every way to begin, layer by layer: what is done, and what was done last.
//!
//! Two ways of doing the same tasks that end with the same task differ only in what they have
//! cost, so the cheaper one is kept. A beginning is dropped when it and the least that is to come
//! cannot beat the best known order. When a layer grows wider than allowed only the most promising
//! beginnings stay; the least that a dropped one could still reach is remembered, and the smaller
//! of that and the best known cost is a lower bound in any case: a proof when nothing was dropped.

use crate::bits::fixed;
use crate::frame::{FAR, Frame};
use crate::lagrange::{FINE, Priced};
use crate::tree::Entries;
use crate::watch::Watch;

#[derive(Debug, Clone, Copy)]
struct State<const W: usize> {
    set: [u64; W],
    /// Cost so far.
    cost: i64,
    /// Cost so far and the least to come, in parts of 1/[`FINE`].
    least: i64,
    parent: u32,
    last: u16,
}

/// What one pass over the layers proves and finds.
#[derive(Debug, Clone)]
pub(crate) struct Passed {
    /// No order costs less, in whole cost units.
    pub(crate) bound: i64,
    /// A better order than the one given, if the pass met one.
    pub(crate) order: Option<Vec<usize>>,
    /// False when the watch stopped it; the bound then says nothing.
    pub(crate) complete: bool,
}

/// What a pass is told about the least that is to come.
#[derive(Debug, Clone)]
pub(crate) struct Hints {
    pub(crate) priced: Vec<Priced>,
    pub(crate) entries: Entries,
    /// Whether the entries say more than the paths: then every beginning is priced by them at once.
    pub(crate) entries_lead: bool,
}

/// One pass.
pub(crate) struct Layers<'a, const W: usize> {
    frame: &'a Frame,
    priced: &'a [Priced],
    entries: &'a Entries,
    entries_lead: bool,
    before: Vec<[u64; W]>,
    /// Per task, those that can follow it directly.
    onward: Vec<[u64; W]>,
    width: usize,
    /// Beginnings that reach this are dropped, in parts of 1/[`FINE`].
    limit: i64,
    value: i64,
    states: Vec<State<W>>,
    slots: Vec<u32>,
    dropped: i64,
}

/// A table slot that holds nothing.
const EMPTY: u32 = u32::MAX;

impl<'a, const W: usize> Layers<'a, W> {
    pub(crate) fn new(
        frame: &'a Frame,
        hints: &'a Hints,
        width: usize,
        value: i64,
        grain: i64,
    ) -> Self {
        let onward = |i: usize| {
            let mut set = [0; W];
            let usable = (0..frame.len).filter(|&j| frame.arc(i, j) < FAR);
            usable.for_each(|j| fixed::add(&mut set, j));
            set
        };
        Self {
            frame,
            onward: (0..frame.len).map(onward).collect(),
            priced: &hints.priced,
            entries: &hints.entries,
            entries_lead: hints.entries_lead,
            before: (0..frame.len).map(|i| frame.relation.before(i).fixed()).collect(),
            width,
            limit: (value - grain) * FINE,
            value,
            states: Vec::new(),
            slots: vec![EMPTY; (width * 8).next_power_of_two()],
            dropped: i64::MAX,
        }
    }

    /// Bytes one pass takes at a width, about.
    pub(crate) const fn bytes(len: usize, width: usize) -> usize {
        let layer = 4 * width * (size_of::<State<W>>() + 4 * 4);
        layer + width * (size_of::<State<W>>() + len * 8)
    }

    pub(crate) fn pass(mut self, watch: &mut Watch<'_>) -> Passed {
        let n = self.frame.len;
        let mut set = [0; W];
        fixed::add(&mut set, self.frame.source);
        let last = self.frame.source as u16;
        let mut layer = vec![State { set, cost: 0, least: 0, parent: EMPTY, last }];
        let mut trail: Vec<Vec<(u32, u16)>> = vec![vec![(EMPTY, last)]];
        let cost = 1 + n as u64 / 20;
        for place in 1..n {
            for (at, state) in layer.iter().enumerate() {
                if !watch.spend(cost) {
                    return Passed { bound: 0, order: None, complete: false };
                }
                self.expand(state, at as u32, place);
            }
            self.thin(self.width);
            layer.clone_from(&self.states);
            self.states.clear();
            self.slots.fill(EMPTY);
            trail.push(layer.iter().map(|state| (state.parent, state.last)).collect());
        }
        let bound = self.value.min(self.dropped.saturating_add(FINE - 1).div_euclid(FINE));
        let order = (!layer.is_empty()).then(|| back(&trail));
        let found = layer.first().map_or(i64::MAX, |state| state.cost);
        Passed { bound: bound.min(found), order, complete: true }
    }

    fn expand(&mut self, state: &State<W>, parent: u32, place: usize) {
        let n = self.frame.len;
        if !self.entries_lead {
            let rest = self.entries.rest(&state.set, usize::from(state.last));
            if state.cost * FINE + rest > self.limit {
                return;
            }
        }
        let row = usize::from(state.last) * n;
        let mut paid = [0_i64; 4];
        for (paid, priced) in paid.iter_mut().zip(self.priced) {
            let tasks = fixed::iter(&state.set).filter(|&i| i != self.frame.source);
            *paid = tasks.map(|i| priced.price(i)).sum();
        }
        let onward = &self.onward[usize::from(state.last)];
        let open: [u64; W] = std::array::from_fn(|w| onward[w] & !state.set[w]);
        for next in fixed::iter(&open) {
            if !fixed::holds(&state.set, &self.before[next]) {
                continue;
            }
            let arc = self.frame.cost[row + next];
            let mut set = state.set;
            fixed::add(&mut set, next);
            let cost = state.cost + arc;
            let mut least = state.least;
            for (paid, priced) in paid.iter().zip(self.priced) {
                let rest = priced.rest(&set, place, next, paid + priced.price(next));
                least = least.max(if rest >= FAR { FAR } else { cost * FINE + rest });
            }
            if least <= self.limit && self.entries_lead {
                least = least.max(cost * FINE + self.entries.rest(&set, next));
            }
            if least <= self.limit {
                self.keep(State { set, cost, least, parent, last: next as u16 });
            }
        }
        if self.states.len() >= 4 * self.width {
            self.thin(self.width);
        }
    }

    fn keep(&mut self, state: State<W>) {
        let mask = self.slots.len() - 1;
        let mut slot = fixed::hash(&state.set, u64::from(state.last)) as usize & mask;
        loop {
            let at = self.slots[slot];
            if at == EMPTY {
                self.slots[slot] = self.states.len() as u32;
                self.states.push(state);
                return;
            }
            let there = &mut self.states[at as usize];
            if there.last == state.last && there.set == state.set {
                if state.cost < there.cost {
                    *there = state;
                }
                return;
            }
            slot = (slot + 1) & mask;
        }
    }

    /// Keeps the most promising, remembers what the others could reach.
    fn thin(&mut self, width: usize) {
        if self.states.len() <= width {
            return;
        }
        let mut order: Vec<(i64, u32)> =
            self.states.iter().zip(0..).map(|(state, at)| (state.least, at)).collect();
        order.select_nth_unstable(width);
        let gone = order[width..].iter().map(|&(least, _)| least).min();
        self.dropped = self.dropped.min(gone.unwrap_or(i64::MAX));
        order.truncate(width);
        order.sort_unstable_by_key(|&(_, at)| at);
        self.states = order.iter().map(|&(_, at)| self.states[at as usize]).collect();
        self.slots.fill(EMPTY);
        let mask = self.slots.len() - 1;
        for (at, state) in self.states.iter().enumerate() {
            let mut slot = fixed::hash(&state.set, u64::from(state.last)) as usize & mask;
            while self.slots[slot] != EMPTY {
                slot = (slot + 1) & mask;
            }
            self.slots[slot] = at as u32;
        }
    }
}

/// The order that leads to the first state of the last layer.
fn back(trail: &[Vec<(u32, u16)>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(trail.len());
    let mut at = 0;
    for layer in trail.iter().rev() {
        if let Some(&(parent, last)) = layer.get(at) {
            order.push(usize::from(last));
            at = parent as usize;
        }
    }
    order.reverse();
    order
}

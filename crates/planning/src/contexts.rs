//! Layered search over contexts: finish what this context allows, then choose the next one.
//!
//! Doing at once every task that the present context allows is never worse than leaving it: it
//! costs nothing now, and taking it out of its later place saves or costs nothing because no
//! changeover gets cheaper by a third value. So a state is what is done, closed under the context,
//! and the context; only the next context is chosen. Of two states with the same tasks done, one
//! that can change into the other's context for what it is cheaper by makes the other useless.

use crate::bits::fixed;
use crate::context::{BLANK, Context, Gate, Open};
use crate::patterns::Patterns;
use crate::watch::Watch;
use crate::work::FEATURES_MAX;

#[derive(Debug, Clone, Copy)]
struct State<const W: usize> {
    set: [u64; W],
    context: Context,
    cost: i64,
    least: i64,
    /// Layer and place of the state it came from.
    from: (u16, u32),
    /// The task that asked for the context.
    via: u16,
}

/// What one pass proves and finds.
pub(crate) struct Passed {
    pub(crate) bound: i64,
    pub(crate) order: Option<Vec<usize>>,
    /// False when the watch stopped it; the bound then says nothing.
    pub(crate) complete: bool,
}

const EMPTY: u32 = u32::MAX;
const NOBODY: u16 = u16::MAX;
/// Contexts of one set compared with each other at most.
const RIVALS: usize = 48;

#[derive(Default)]
struct Layer<const W: usize> {
    states: Vec<State<W>>,
    slots: Vec<u32>,
}

impl<const W: usize> Layer<W> {
    fn keep(&mut self, state: State<W>) {
        if self.states.len() * 2 >= self.slots.len() {
            self.grow();
        }
        let slot = self.slot(&state);
        match self.states.get_mut(self.slots[slot] as usize) {
            Some(there) if state.cost < there.cost => *there = state,
            Some(_) => {}
            None => {
                self.slots[slot] = self.states.len() as u32;
                self.states.push(state);
            }
        }
    }

    fn slot(&self, state: &State<W>) -> usize {
        let mask = self.slots.len() - 1;
        let more = u64::from_le_bytes(state.context);
        let mut slot = fixed::hash(&state.set, more) as usize & mask;
        while let Some(there) = self.states.get(self.slots[slot] as usize) {
            if there.set == state.set && there.context == state.context {
                break;
            }
            slot = (slot + 1) & mask;
        }
        slot
    }

    fn grow(&mut self) {
        self.slots = vec![EMPTY; (self.states.len() * 4).max(64).next_power_of_two()];
        for at in 0..self.states.len() {
            let state = self.states[at];
            let slot = self.slot(&state);
            self.slots[slot] = at as u32;
        }
    }
}

pub(crate) struct Contexts<'a, 'b, const W: usize> {
    open: &'a Open,
    gate: &'a Gate<W>,
    patterns: &'b mut Patterns<'a, W>,
    width: usize,
    limit: i64,
    layers: Vec<Layer<W>>,
    trail: Vec<Vec<(u16, u32, u16)>>,
    dropped: i64,
}

impl<'a, 'b, const W: usize> Contexts<'a, 'b, W> {
    /// Looks for orders that cost less than `value`.
    pub(crate) fn new(
        open: &'a Open,
        gate: &'a Gate<W>,
        patterns: &'b mut Patterns<'a, W>,
        width: usize,
        value: i64,
    ) -> Self {
        let layers = (0..=open.len()).map(|_| Layer::default()).collect();
        let trail = vec![Vec::new(); open.len() + 1];
        let limit = value - 1;
        Self { open, gate, patterns, width, limit, layers, trail, dropped: i64::MAX }
    }

    /// Bytes a pass takes at a width, about: a few layers are full at a time.
    pub(crate) const fn bytes(len: usize, width: usize) -> usize {
        width * (12 * (size_of::<State<W>>() + 16) + len * 8 / 2)
    }

    pub(crate) fn pass(mut self, watch: &mut Watch<'_>) -> Passed {
        let n = self.open.len();
        let mut set = [0; W];
        let (start, open) = (self.open.start, self.open);
        self.gate.finish(&mut set, |task| fits(open, &start, task), |_| {});
        let first = State { set, context: start, cost: 0, least: 0, from: (0, EMPTY), via: NOBODY };
        self.layers[count(&set)].keep(first);
        for at in 0..n {
            let mut layer = std::mem::take(&mut self.layers[at]);
            self.weed(&mut layer.states);
            self.thin(&mut layer.states);
            let trail = layer.states.iter().map(|s| (s.from.0, s.from.1, s.via)).collect();
            self.trail[at] = trail;
            for (place, state) in layer.states.iter().enumerate() {
                if !watch.spend(4) {
                    return Passed { bound: 0, order: None, complete: false };
                }
                self.expand(state, (at as u16, place as u32));
            }
        }
        let best = self.layers[n].states.iter().min_by_key(|s| s.cost).copied();
        let found = best.map_or(i64::MAX, |state| state.cost);
        Passed {
            bound: found.min(self.limit + 1).min(self.dropped),
            order: best.map(|state| self.replay(&state)),
            complete: true,
        }
    }

    fn expand(&mut self, state: &State<W>, from: (u16, u32)) {
        let mut tried: [Context; 32] = [[BLANK; FEATURES_MAX]; 32];
        let mut count_tried = 0;
        for task in fixed::iter(&self.gate.left(&state.set)) {
            if !self.gate.ready(&state.set, task) {
                continue;
            }
            let context = self.open.after(&state.context, task);
            if tried[..count_tried].contains(&context) {
                continue;
            }
            if count_tried < tried.len() {
                tried[count_tried] = context;
                count_tried += 1;
            }
            let cost = state.cost + self.open.between(&state.context, &context);
            if cost > self.limit {
                continue;
            }
            let mut set = state.set;
            let open = self.open;
            self.gate.finish(&mut set, |task| fits(open, &context, task), |_| {});
            let least = (cost + self.patterns.rest(&set, &context)).max(state.least);
            if least <= self.limit {
                let layer = &mut self.layers[count(&set)];
                layer.keep(State { set, context, cost, least, from, via: task as u16 });
                if layer.states.len() >= 4 * self.width {
                    let mut states = std::mem::take(&mut layer.states);
                    self.thin(&mut states);
                    let layer = &mut self.layers[count(&set)];
                    layer.states = states;
                    layer.grow();
                }
            }
        }
    }

    /// Drops states that another one with the same tasks done makes useless.
    fn weed(&self, states: &mut Vec<State<W>>) {
        states.sort_unstable_by_key(|state| (state.set, state.cost, state.context));
        let mut kept: Vec<State<W>> = Vec::with_capacity(states.len());
        let mut group = 0;
        for state in states.iter() {
            if kept.get(group).is_none_or(|first| first.set != state.set) {
                group = kept.len();
            }
            let rivals = kept[group..].iter().take(RIVALS);
            // With the same tasks done, the same features are still blank in both.
            let useless = |rival: &State<W>| {
                rival.cost + self.open.between(&rival.context, &state.context) <= state.cost
            };
            if !rivals.into_iter().any(useless) {
                kept.push(*state);
            }
        }
        *states = kept;
    }

    fn thin(&mut self, states: &mut Vec<State<W>>) {
        if states.len() <= self.width {
            return;
        }
        states.select_nth_unstable_by_key(self.width, |s| (s.least, s.cost, s.set, s.context));
        let gone = states[self.width..].iter().map(|state| state.least).min();
        self.dropped = self.dropped.min(gone.unwrap_or(i64::MAX));
        states.truncate(self.width);
    }

    /// The tasks in order: back along the trail, then forward again.
    fn replay(&self, last: &State<W>) -> Vec<usize> {
        let mut vias = Vec::new();
        let (mut via, mut from) = (last.via, last.from);
        while via != NOBODY {
            vias.push(usize::from(via));
            let Some(&(layer, place, earlier)) =
                self.trail.get(usize::from(from.0)).and_then(|l| l.get(from.1 as usize))
            else {
                break;
            };
            (from, via) = ((layer, place), earlier);
        }
        let (mut set, mut context, mut order) = ([0; W], self.open.start, Vec::new());
        self.gate.finish(&mut set, |t| fits(self.open, &context, t), |t| order.push(t));
        for &via in vias.iter().rev() {
            context = self.open.after(&context, via);
            self.gate.finish(&mut set, |t| fits(self.open, &context, t), |t| order.push(t));
        }
        order
    }
}

fn fits(open: &Open, context: &Context, task: usize) -> bool {
    let asks = &open.asks[task];
    (0..open.features).all(|f| asks[f] == BLANK || asks[f] == context[f])
}

fn count<const W: usize>(set: &[u64; W]) -> usize {
    set.iter().map(|word| word.count_ones() as usize).sum()
}

//! The tasks still to do, with what each asks for, in the form the searches read.
//!
//! A *context* is the value every feature has just now. A task that leaves a feature open neither
//! asks for a value nor changes it. Changing a feature costs its changeover, and no changeover can
//! be made cheaper by a third value, so a feature is best changed only when a task asks for it.

use crate::bits::{Relation, fixed};
use crate::work::{FEATURES_MAX, Work};

/// Eight bits per feature: the value, or [`BLANK`].
pub(crate) type Context = [u8; FEATURES_MAX];
/// As something asked for: left open. As something in hand: nothing chosen yet.
pub(crate) const BLANK: u8 = u8::MAX;

/// A plan's open tasks, renumbered from 0.
#[derive(Debug, Clone)]
pub(crate) struct Open {
    /// Positions of the tasks in the work.
    pub(crate) tasks: Vec<usize>,
    pub(crate) features: usize,
    pub(crate) asks: Vec<Context>,
    pub(crate) start: Context,
    pub(crate) relation: Relation,
    /// Cost of each change, in seconds: feature, from (or blank), to.
    cost: Vec<i32>,
    /// A power of two with room for a blank beside every value: the blank's low bits are its row.
    stride: usize,
}

impl Open {
    /// `None` only if the relation among the tasks loops, which checked work does not.
    pub(crate) fn new(work: &Work, tasks: &[usize], start: &[Option<usize>]) -> Option<Self> {
        let features = work.changeovers.len().min(FEATURES_MAX);
        let pack = |row: &[Option<usize>]| {
            let mut context = [BLANK; FEATURES_MAX];
            for (slot, value) in context.iter_mut().zip(row) {
                *slot = value.map_or(BLANK, |v| v as u8);
            }
            context
        };
        let mut pairs = Vec::new();
        for (i, &a) in tasks.iter().enumerate() {
            let after = tasks.iter().enumerate().filter(|&(_, &b)| work.relation.precedes(a, b));
            pairs.extend(after.map(|(j, _)| (i, j)));
        }
        let values = work.changeovers.iter().map(Vec::len).max().unwrap_or(0);
        let stride = (values + 1).next_power_of_two().min(256);
        let mut cost = vec![0; features * stride * stride];
        for (f, matrix) in work.changeovers.iter().enumerate().take(features) {
            for (a, row) in matrix.iter().enumerate() {
                for (b, &seconds) in row.iter().enumerate() {
                    cost[(f * stride + a) * stride + b] = seconds as i32;
                }
            }
        }
        Some(Self {
            features,
            asks: tasks.iter().map(|&task| pack(&work.asks[task])).collect(),
            start: pack(start),
            relation: Relation::new(tasks.len(), &pairs)?,
            cost,
            stride,
            tasks: tasks.to_vec(),
        })
    }

    /// The same tasks, with every change that costs anything costing one: sums count changes.
    pub(crate) fn counting(&self) -> Self {
        let cost = self.cost.iter().map(|&c| i32::from(c > 0)).collect();
        Self { cost, ..self.clone() }
    }

    /// The same tasks in the opposite order, for taking things off again.
    pub(crate) fn reversed(&self) -> Self {
        Self { relation: self.relation.reversed(), ..self.clone() }
    }

    pub(crate) fn len(&self) -> usize {
        self.asks.len()
    }

    /// What one change costs; nothing from or to a blank.
    pub(crate) fn change(&self, feature: usize, from: u8, to: u8) -> i64 {
        let low = self.stride - 1;
        let row = feature * self.stride + (usize::from(from) & low);
        let at = row * self.stride + (usize::from(to) & low);
        i64::from(self.cost[at])
    }

    /// What going from one context to another costs.
    pub(crate) fn between(&self, from: &Context, to: &Context) -> i64 {
        (0..self.features).map(|f| self.change(f, from[f], to[f])).sum()
    }

    /// The context after a task is done in this one.
    pub(crate) fn after(&self, context: &Context, task: usize) -> Context {
        let mut next = *context;
        for (slot, &ask) in next.iter_mut().zip(&self.asks[task]) {
            if ask != BLANK {
                *slot = ask;
            }
        }
        next
    }

    pub(crate) fn price_of(&self, order: &[usize]) -> i64 {
        let mut context = self.start;
        let mut sum = 0;
        for &task in order {
            let next = self.after(&context, task);
            sum += self.between(&context, &next);
            context = next;
        }
        sum
    }
}

/// The order relation in the form a layered search uses.
pub(crate) struct Gate<const W: usize> {
    pub(crate) before: Vec<[u64; W]>,
    pub(crate) all: [u64; W],
}

impl<const W: usize> Gate<W> {
    pub(crate) fn new(relation: &Relation) -> Self {
        let mut all = [0; W];
        for i in 0..relation.len() {
            fixed::add(&mut all, i);
        }
        Self { before: (0..relation.len()).map(|i| relation.before(i).fixed()).collect(), all }
    }

    pub(crate) fn ready(&self, set: &[u64; W], task: usize) -> bool {
        fixed::holds(set, &self.before[task])
    }

    pub(crate) fn left(&self, set: &[u64; W]) -> [u64; W] {
        std::array::from_fn(|w| self.all[w] & !set[w])
    }

    /// Adds every task that `fits` the context and whose turn has come, until none is left; calls
    /// `done` for each in order.
    pub(crate) fn finish(
        &self,
        set: &mut [u64; W],
        fits: impl Fn(usize) -> bool,
        mut done: impl FnMut(usize),
    ) {
        let mut more = true;
        while more {
            more = false;
            for task in fixed::iter(&self.left(set)) {
                if fits(task) && self.ready(set, task) {
                    fixed::add(set, task);
                    done(task);
                    more = true;
                }
            }
        }
    }
}

/// The annealing's view: what one more step costs at each place of an order.
pub(crate) struct Places<'a> {
    open: &'a Open,
    /// Per gap and feature: the value standing before it, and the next one asked for after it.
    before: Vec<Context>,
    after: Vec<Context>,
}

impl<'a> Places<'a> {
    pub(crate) const fn new(open: &'a Open) -> Self {
        Self { open, before: Vec::new(), after: Vec::new() }
    }

    pub(crate) const fn relation(&self) -> &Relation {
        &self.open.relation
    }

    /// The cost of an order.
    pub(crate) fn whole(&self, order: &[u16]) -> i64 {
        let mut context = self.open.start;
        let mut sum = 0;
        for &task in order {
            let asks = &self.open.asks[usize::from(task)];
            for f in 0..self.open.features {
                if asks[f] != BLANK && asks[f] != context[f] {
                    sum += self.open.change(f, context[f], asks[f]);
                    context[f] = asks[f];
                }
            }
        }
        sum
    }

    /// Makes the places of an order ready to be priced.
    pub(crate) fn look(&mut self, order: &[u16]) {
        self.before.clear();
        self.before.push(self.open.start);
        let mut context = self.open.start;
        for &task in order {
            context = self.open.after(&context, usize::from(task));
            self.before.push(context);
        }
        self.after.clear();
        self.after.resize(order.len() + 1, [BLANK; FEATURES_MAX]);
        let mut context = [BLANK; FEATURES_MAX];
        for (slot, &task) in self.after.iter_mut().zip(order).rev() {
            context = self.open.after(&context, usize::from(task));
            *slot = context;
        }
    }

    /// What `task` adds if put in at `gap`, 0 for the front, into the order last looked at.
    pub(crate) fn price(&self, gap: usize, task: u16) -> i64 {
        let asks = &self.open.asks[usize::from(task)];
        let (before, after) = (&self.before[gap], &self.after[gap]);
        let mut sum = 0;
        for f in 0..self.open.features {
            if asks[f] != BLANK && asks[f] != before[f] {
                sum += self.open.change(f, before[f], asks[f]);
                sum += self.open.change(f, asks[f], after[f]);
                sum -= self.open.change(f, before[f], after[f]);
            }
        }
        sum
    }
}

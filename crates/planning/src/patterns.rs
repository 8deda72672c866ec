//! The least that is to come, feature by feature.
//!
//! Changeovers are a sum over features, so the work looked at through one feature only, or a few,
//! costs at least what the best order for those alone would cost; over a division of the features
//! into groups these add up. The best order for a group is found exactly, by remembering every
//! state met, so long as there are not too many; beyond that a chain of tasks and the values still
//! to be visited give a weaker answer that holds just as well. A group made of two asks the two for
//! the least that is to come, and so meets only the states that could still be best.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hash, Hasher};

use crate::bits::fixed;
use crate::context::{BLANK, Context, Gate, Open};
use crate::watch::Watch;
use crate::work::FEATURES_MAX;

/// What is done and in hand, hashed by the mixing the layered searches use.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Key<const W: usize> {
    set: [u64; W],
    here: Context,
}

impl<const W: usize> Hash for Key<W> {
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u64(fixed::hash(&self.set, u64::from_le_bytes(self.here)));
    }
}

/// Hands on a hash that is mixed already.
#[derive(Default)]
struct Mixed(u64);

impl Hasher for Mixed {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write(&mut self, bytes: &[u8]) {
        for &byte in bytes {
            self.0 = self.0.rotate_left(8) ^ u64::from(byte);
        }
    }
    fn write_u64(&mut self, value: u64) {
        self.0 = value;
    }
}

/// An answer, and whether it is the exact one or only holds as a bound.
#[derive(Clone, Copy)]
struct Known {
    cost: i64,
    exact: bool,
}

/// What is remembered of one group of features.
struct Pattern<const W: usize> {
    /// Features looked at.
    group: Vec<usize>,
    /// Tasks that ask for none of them: always done.
    idle: [u64; W],
    /// Asks, with the other features blanked.
    asks: Vec<Context>,
    /// For a single feature, per task: the cost of the dearest chain of tasks after it.
    tail: Vec<i64>,
    /// The two patterns it was made of, by their places in the list.
    parts: Option<(usize, usize)>,
    known: HashMap<Key<W>, Known, BuildHasherDefault<Mixed>>,
}

impl<const W: usize> Pattern<W> {
    fn new(open: &Open, group: &[usize], parts: Option<(usize, usize)>) -> Self {
        let mut idle = [0; W];
        let mut asks = vec![[BLANK; FEATURES_MAX]; open.len()];
        for (task, row) in asks.iter_mut().enumerate() {
            for &f in group {
                row[f] = open.asks[task][f];
            }
            if row.iter().all(|&v| v == BLANK) {
                fixed::add(&mut idle, task);
            }
        }
        let single = group.first().filter(|_| parts.is_none());
        let tail = single.map(|&f| tails(open, f)).unwrap_or_default();
        Self { group: group.to_vec(), idle, asks, tail, parts, known: HashMap::default() }
    }

    fn after(&self, here: &Context, task: usize) -> Context {
        let mut next = *here;
        for &f in &self.group {
            if self.asks[task][f] != BLANK {
                next[f] = self.asks[task][f];
            }
        }
        next
    }

    /// Adds what costs nothing more in this context. A task that is idle for the group still keeps
    /// its place between others through the closed relation.
    fn close(&self, gate: &Gate<W>, set: &mut [u64; W], here: &Context) {
        let fits = |task: usize| {
            self.group.iter().all(|&f| {
                let ask = self.asks[task][f];
                ask == BLANK || ask == here[f]
            })
        };
        gate.finish(set, fits, |_| {});
    }

    /// Without search, for a single feature: the dearest chain, or the cheapest way into every
    /// value asked for and not in hand, whichever is more.
    fn rough(&self, open: &Open, left: &[u64; W], here: &Context) -> i64 {
        let Some(&f) = self.group.first() else { return 0 };
        let mut chain = 0;
        let mut wanted = [false; 256];
        for task in fixed::iter(left) {
            let ask = self.asks[task][f];
            if ask != BLANK {
                chain = chain.max(open.change(f, here[f], ask) + self.tail[task]);
                wanted[usize::from(ask)] = ask != here[f];
            }
        }
        let values: Vec<u8> = (0..BLANK).filter(|&v| wanted[usize::from(v)]).collect();
        let into = |&to: &u8| {
            let others = values.iter().filter(|&&v| v != to).chain([&here[f]]);
            others.map(|&from| open.change(f, from, to)).min().unwrap_or(0)
        };
        chain.max(values.iter().map(into).sum())
    }
}

/// For each task, the cost in one feature of the dearest chain of tasks that has to follow it.
fn tails(open: &Open, feature: usize) -> Vec<i64> {
    let n = open.len();
    let mut tail = vec![0; n];
    let mut sorted: Vec<usize> = (0..n).collect();
    sorted.sort_by_key(|&i| open.relation.after(i).count());
    for i in sorted {
        let from = open.asks[i][feature];
        if from == BLANK {
            continue;
        }
        let onward = open.relation.after(i).iter().filter(|&j| open.asks[j][feature] != BLANK);
        tail[i] = onward
            .map(|j| open.change(feature, from, open.asks[j][feature]) + tail[j])
            .max()
            .unwrap_or(0);
    }
    tail
}

/// Two groups that give more together.
struct Pair<const W: usize> {
    first: usize,
    second: usize,
    more: i64,
    joined: Pattern<W>,
}

/// A division of the features into groups whose answers add up.
pub(crate) struct Patterns<'a, const W: usize> {
    open: &'a Open,
    gate: &'a Gate<W>,
    /// Singles first, then what was made of others; parts stand before what they make.
    all: Vec<Pattern<W>>,
    groups: Vec<usize>,
    /// Pairs of groups known exactly to give no more together than apart.
    dull: Vec<(usize, usize)>,
    room: usize,
}

impl<'a, const W: usize> Patterns<'a, W> {
    /// Bytes one remembered state takes, about.
    pub(crate) const STATE_BYTES: usize = 2 * (size_of::<(Key<W>, Known)>() + 1);

    /// Every feature by itself; each group remembers at most `room` states.
    pub(crate) fn new(open: &'a Open, gate: &'a Gate<W>, room: usize) -> Self {
        let all: Vec<_> = (0..open.features).map(|f| Pattern::new(open, &[f], None)).collect();
        let groups = (0..all.len()).collect();
        Self { open, gate, all, groups, dull: Vec::new(), room }
    }

    /// Room for more; answers that were not exact are forgotten.
    pub(crate) fn grow(&mut self, room: usize) {
        self.room = room;
        for pattern in &mut self.all {
            pattern.known.retain(|_, known| known.exact);
        }
    }

    /// Joins the groups that give more together than apart, the best pair first.
    pub(crate) fn join(&mut self, watch: &mut Watch<'_>) {
        watch.raise(self.rest(&[0; W], &self.open.start));
        while let Some(best) = self.best_pair(watch) {
            self.groups.retain(|&group| group != best.first && group != best.second);
            self.groups.push(self.all.len());
            self.all.push(best.joined);
            watch.raise(self.rest(&[0; W], &self.open.start));
        }
    }

    fn best_pair(&mut self, watch: &mut Watch<'_>) -> Option<Pair<W>> {
        let (none, start) = ([0; W], self.open.start);
        let mut best: Option<Pair<W>> = None;
        for a in 0..self.groups.len() {
            for b in a + 1..self.groups.len() {
                let (first, second) = (self.groups[a], self.groups[b]);
                if self.dull.contains(&(first, second)) {
                    continue;
                }
                let apart =
                    self.look(first, &none, &start).cost + self.look(second, &none, &start).cost;
                let group = [&self.all[first].group[..], &self.all[second].group[..]].concat();
                self.all.push(Pattern::new(self.open, &group, Some((first, second))));
                let together = self.look(self.all.len() - 1, &none, &start);
                let joined = self.all.pop()?;
                if !watch.spend(2 * joined.known.len() as u64 + 1) {
                    return None;
                }
                let more = together.cost - apart;
                if more <= 0 && together.exact {
                    self.dull.push((first, second));
                }
                if more > best.as_ref().map_or(0, |best| best.more) {
                    best = Some(Pair { first, second, more, joined });
                }
            }
        }
        best
    }

    /// At least this much changeover is to come.
    pub(crate) fn rest(&mut self, set: &[u64; W], context: &Context) -> i64 {
        let groups = self.groups.clone();
        groups.into_iter().map(|group| self.look(group, set, context).cost).sum()
    }

    /// At least this much of one feature's changeover is to come from the start on.
    pub(crate) fn of_feature(&mut self, feature: usize) -> i64 {
        self.look(feature, &[0; W], &self.open.start).cost
    }

    fn look(&mut self, which: usize, set: &[u64; W], context: &Context) -> Known {
        let pattern = &self.all[which];
        let mut here = [BLANK; FEATURES_MAX];
        for &f in &pattern.group {
            here[f] = context[f];
        }
        let mut seen: [u64; W] = std::array::from_fn(|w| set[w] | pattern.idle[w]);
        pattern.close(self.gate, &mut seen, &here);
        self.answer(which, seen, here)
    }

    fn answer(&mut self, which: usize, set: [u64; W], here: Context) -> Known {
        let left = self.gate.left(&set);
        if left == [0; W] {
            return Known { cost: 0, exact: true };
        }
        let pattern = &self.all[which];
        if let Some(&known) = pattern.known.get(&Key { set, here }) {
            return known;
        }
        if pattern.known.len() >= self.room {
            return Known { cost: self.lower(which, &set, &here), exact: false };
        }
        let mut ways = self.ways(which, &set, &here);
        ways.sort_unstable();
        let mut best = Known { cost: i64::MAX, exact: true };
        for (least, paid, closed, next) in ways {
            if least >= best.cost {
                break;
            }
            let onward = self.answer(which, closed, next);
            best.exact &= onward.exact;
            best.cost = best.cost.min(paid + onward.cost);
        }
        self.all[which].known.insert(Key { set, here }, best);
        best
    }

    /// The contexts to choose from: least cost from here on, cost of the change, what is done then.
    fn ways(
        &mut self,
        which: usize,
        set: &[u64; W],
        here: &Context,
    ) -> Vec<(i64, i64, [u64; W], Context)> {
        let mut ways: Vec<(i64, i64, [u64; W], Context)> = Vec::new();
        for task in fixed::iter(&self.gate.left(set)) {
            if !self.gate.ready(set, task) {
                continue;
            }
            let next = self.all[which].after(here, task);
            if ways.iter().any(|way| way.3 == next) {
                continue;
            }
            let paid = self.open.between(here, &next);
            let mut closed = *set;
            self.all[which].close(self.gate, &mut closed, &next);
            ways.push((0, paid, closed, next));
        }
        if ways.len() > 1 {
            for way in &mut ways {
                way.0 = way.1 + self.lower(which, &way.2, &way.3);
            }
        }
        ways
    }

    /// What is known without search in this group.
    fn lower(&mut self, which: usize, set: &[u64; W], here: &Context) -> i64 {
        let pattern = &self.all[which];
        if let Some(known) = pattern.known.get(&Key { set: *set, here: *here }) {
            return known.cost;
        }
        match pattern.parts {
            Some((a, b)) => self.look(a, set, here).cost + self.look(b, set, here).cost,
            None => pattern.rough(self.open, &self.gate.left(set), here),
        }
    }
}

//! The least that is to come, feature by feature.
//!
//! Changeovers are a sum over features, so the work looked at through one feature only, or a few,
//! costs at least what the best order for those alone would cost; over a division of the features
//! into groups these add up. The best order for a group is found exactly, by remembering every
//! state met, so long as there are not too many; beyond that a chain of tasks and the values still
//! to be visited give a weaker answer that holds just as well.

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

/// The answer for one group of features.
pub(crate) struct Pattern<'a, const W: usize> {
    open: &'a Open,
    gate: &'a Gate<W>,
    /// Features looked at.
    group: Vec<usize>,
    /// Tasks that ask for none of them: always done.
    idle: [u64; W],
    /// Asks, with the other features blanked.
    asks: Vec<Context>,
    /// Per feature of the group, per task: the cost of the dearest chain of tasks after it.
    tail: Vec<Vec<i64>>,
    known: HashMap<Key<W>, i64, BuildHasherDefault<Mixed>>,
    room: usize,
}

impl<'a, const W: usize> Pattern<'a, W> {
    pub(crate) fn new(open: &'a Open, gate: &'a Gate<W>, group: &[usize], room: usize) -> Self {
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
        let tail = group.iter().map(|&f| tails(open, f)).collect();
        let (group, known) = (group.to_vec(), HashMap::default());
        Self { open, gate, group, idle, asks, tail, known, room }
    }

    /// Bytes one remembered state takes, about.
    pub(crate) const STATE_BYTES: usize = 2 * (size_of::<Key<W>>() + 9);

    fn states(&self) -> u64 {
        self.known.len() as u64
    }

    /// At least this much changeover of the group is to come.
    pub(crate) fn rest(&mut self, set: &[u64; W], context: &Context) -> i64 {
        let mut here = [BLANK; FEATURES_MAX];
        for &f in &self.group {
            here[f] = context[f];
        }
        let mut seen: [u64; W] = std::array::from_fn(|w| set[w] | self.idle[w]);
        self.close(&mut seen, &here);
        self.answer(seen, here)
    }

    fn close(&self, set: &mut [u64; W], here: &Context) {
        // A task that is idle for this group still keeps its place between others through the
        // closed relation, so looking at the tasks that ask for something is enough.
        let fits = |task: usize| {
            self.group.iter().all(|&f| {
                let ask = self.asks[task][f];
                ask == BLANK || ask == here[f]
            })
        };
        self.gate.finish(set, fits, |_| {});
    }

    fn answer(&mut self, set: [u64; W], here: Context) -> i64 {
        let left = self.gate.left(&set);
        if left == [0; W] {
            return 0;
        }
        if let Some(&known) = self.known.get(&Key { set, here }) {
            return known;
        }
        if self.known.len() >= self.room {
            return self.rough(&left, &here);
        }
        let mut tried: Vec<Context> = Vec::new();
        let mut best = i64::MAX;
        for task in fixed::iter(&left).filter(|&task| self.gate.ready(&set, task)) {
            let mut next = here;
            for &f in &self.group {
                if self.asks[task][f] != BLANK {
                    next[f] = self.asks[task][f];
                }
            }
            if tried.contains(&next) {
                continue;
            }
            tried.push(next);
            let paid = self.open.between(&here, &next);
            let mut closed = set;
            self.close(&mut closed, &next);
            best = best.min(paid + self.answer(closed, next));
        }
        self.known.insert(Key { set, here }, best);
        best
    }

    /// Without search: per feature the dearest chain, or the cheapest way into every value asked
    /// for and not in hand, whichever is more.
    fn rough(&self, left: &[u64; W], here: &Context) -> i64 {
        let mut sum = 0;
        for (&f, tail) in self.group.iter().zip(&self.tail) {
            let mut chain = 0;
            let mut wanted = [false; 256];
            for task in fixed::iter(left) {
                let ask = self.asks[task][f];
                if ask != BLANK {
                    chain = chain.max(self.open.change(f, here[f], ask) + tail[task]);
                    wanted[usize::from(ask)] = ask != here[f];
                }
            }
            let values: Vec<u8> = (0..BLANK).filter(|&v| wanted[usize::from(v)]).collect();
            let into = |&to: &u8| {
                let others = values.iter().filter(|&&v| v != to).chain([&here[f]]);
                others.map(|&from| self.open.change(f, from, to)).min().unwrap_or(0)
            };
            sum += chain.max(values.iter().map(into).sum());
        }
        sum
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
struct Pair<'a, const W: usize> {
    first: usize,
    second: usize,
    more: i64,
    joined: Pattern<'a, W>,
}

/// A division of the features into groups whose answers add up.
pub(crate) struct Patterns<'a, const W: usize> {
    pub(crate) groups: Vec<Pattern<'a, W>>,
}

impl<'a, const W: usize> Patterns<'a, W> {
    /// Starts with every feature by itself and joins what gives more together than apart. Each
    /// group remembers at most `room` states.
    pub(crate) fn new(
        open: &'a Open,
        gate: &'a Gate<W>,
        room: usize,
        watch: &mut Watch<'_>,
    ) -> Self {
        let singles = (0..open.features).map(|f| Pattern::new(open, gate, &[f], room));
        let mut it = Self { groups: singles.collect() };
        let none = [0; W];
        let mut worth: Vec<i64> =
            it.groups.iter_mut().map(|g| g.rest(&none, &open.start)).collect();
        watch.raise(worth.iter().sum());
        while let Some(best) = it.best_pair(open, gate, room, &worth, watch) {
            worth[best.first] += best.more + worth[best.second];
            it.groups[best.first] = best.joined;
            it.groups.remove(best.second);
            worth.remove(best.second);
            watch.raise(worth.iter().sum());
        }
        it
    }

    fn best_pair(
        &self,
        open: &'a Open,
        gate: &'a Gate<W>,
        room: usize,
        worth: &[i64],
        watch: &mut Watch<'_>,
    ) -> Option<Pair<'a, W>> {
        let mut best: Option<Pair<'a, W>> = None;
        for first in 0..self.groups.len() {
            for second in first + 1..self.groups.len() {
                let both = [&self.groups[first].group[..], &self.groups[second].group[..]].concat();
                let mut joined = Pattern::new(open, gate, &both, room);
                let more = joined.rest(&[0; W], &open.start) - worth[first] - worth[second];
                if !watch.spend(joined.states() * 2) {
                    return None;
                }
                if more > best.as_ref().map_or(0, |best| best.more) {
                    best = Some(Pair { first, second, more, joined });
                }
            }
        }
        best
    }

    pub(crate) fn rest(&mut self, set: &[u64; W], context: &Context) -> i64 {
        self.groups.iter_mut().map(|group| group.rest(set, context)).sum()
    }
}

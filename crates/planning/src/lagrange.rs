//! A bound from paths that count places instead of tasks.
//!
//! Let a path take n places from the source to the sink, each task only in places its precedences
//! leave it, never going to a task and straight back; but let it visit tasks twice or not at all.
//! The cheapest such path is quickly found place by place. A price on each task, raised where the
//! path comes too often and lowered where it does not come, draws it towards visiting each once:
//! the path's cost less the sum of the prices is a lower bound for whatever the prices are.
//! Prices are found in floating point and then rounded; the bound is computed from the rounded
//! ones in whole numbers, so it holds exactly.
//!
//! # Source
//! Held, Karp, Operations Research 18 (1970), 1138 (prices on tasks); Houck et al., "The travelling
//! salesman problem as a constrained shortest path problem", Opsearch 17 (1980), 93 (no two-step
//! circles).

use crate::bits::fixed;
use crate::frame::{FAR, Frame};

/// Whole-number prices are in this part of a cost unit.
pub(crate) const FINE: i64 = 64;
const NONE: u16 = u16::MAX;

/// Prices, and the least cost to the end from every task in every place at those prices.
#[derive(Debug, Clone)]
pub(crate) struct Priced {
    len: usize,
    /// In parts of 1/[`FINE`].
    price: Vec<i64>,
    all: i64,
    /// Least cost from (place, task) on, and the task it goes to next.
    least: Vec<i64>,
    next: Vec<u16>,
    /// Least cost by any other next task.
    second: Vec<i64>,
    /// The bound for the whole, in parts of 1/[`FINE`].
    pub(crate) bound: i64,
}

impl Priced {
    /// Exact, in whole numbers, whatever the prices are.
    pub(crate) fn new(frame: &Frame, price: Vec<i64>) -> Self {
        let n = frame.len;
        let all = (0..n).filter(|&j| j != frame.source).map(|j| price[j]).sum();
        let (least, second) = (vec![FAR; n * n], vec![FAR; n * n]);
        let mut it = Self { len: n, price, all, least, next: vec![NONE; n * n], second, bound: 0 };
        it.least[(n - 1) * n + frame.sink] = 0;
        it.second[(n - 1) * n + frame.sink] = 0;
        for place in (0..n - 1).rev() {
            it.fill(frame, place);
        }
        it.bound = it.least[frame.source] - it.all;
        it
    }

    fn fill(&mut self, frame: &Frame, place: usize) {
        let n = self.len;
        let at = |place: usize, j: usize| place * n + j;
        let fits = |place: usize, j: usize| frame.earliest(j) <= place && place <= frame.latest(j);
        let onward: Vec<usize> = (0..n).filter(|&j| fits(place + 1, j)).collect();
        for i in (0..n).filter(|&i| fits(place, i)) {
            let (mut first, mut other, mut to) = (FAR, FAR, NONE);
            for &j in &onward {
                let arc = frame.cost[i * n + j];
                let cell = at(place + 1, j);
                let back = usize::from(self.next[cell]) == i;
                let rest = if back { self.second[cell] } else { self.least[cell] };
                if arc >= FAR || rest >= FAR {
                    continue;
                }
                let cost = arc * FINE + self.price[j] + rest;
                if cost < first {
                    (other, first, to) = (first, cost, j as u16);
                } else if cost < other {
                    other = cost;
                }
            }
            let cell = at(place, i);
            (self.least[cell], self.second[cell], self.next[cell]) = (first, other, to);
        }
    }

    /// What no order of at most `limit` (in parts of 1/[`FINE`]) uses: marks arcs in `gone`, and
    /// returns the places still open to each task.
    pub(crate) fn useless(
        &self,
        frame: &Frame,
        limit: i64,
        gone: &mut [bool],
    ) -> Vec<(usize, usize)> {
        let n = self.len;
        let mut needed = vec![false; n * n];
        let mut windows = vec![(n, 0); n];
        let mut reach = vec![FAR; n];
        reach[frame.source] = 0;
        for place in 0..n {
            let mut onward = vec![FAR; n];
            for i in (0..n).filter(|&i| reach[i] < FAR) {
                let here = self.least[place * n + i];
                if here >= FAR || reach[i] + here - self.all > limit {
                    continue;
                }
                windows[i] = (windows[i].0.min(place), windows[i].1.max(place));
                for j in (0..n).filter(|&j| frame.cost[i * n + j] < FAR && place + 1 < n) {
                    let cell = (place + 1) * n + j;
                    let back = usize::from(self.next[cell]) == i;
                    let rest = if back { self.second[cell] } else { self.least[cell] };
                    let to = reach[i] + frame.cost[i * n + j] * FINE + self.price[j];
                    if rest < FAR && to + rest - self.all <= limit {
                        needed[i * n + j] = true;
                        onward[j] = onward[j].min(to);
                    }
                }
            }
            reach = onward;
        }
        for (gone, needed) in gone.iter_mut().zip(needed) {
            *gone |= !needed;
        }
        windows
    }

    /// At least this much is to come, in parts of 1/[`FINE`], when the tasks in `set` are done,
    /// `last` was the latest of them and `paid` is the sum of the set's prices.
    pub(crate) fn rest<const W: usize>(
        &self,
        set: &[u64; W],
        place: usize,
        last: usize,
        paid: i64,
    ) -> i64 {
        let cell = place * self.len + last;
        let next = self.next[cell];
        let free = next == NONE || !fixed::has(set, usize::from(next));
        let path = if free { self.least[cell] } else { self.second[cell] };
        if path >= FAR { FAR } else { path - (self.all - paid) }
    }

    pub(crate) fn price(&self, task: usize) -> i64 {
        self.price[task]
    }
}

/// The search for good prices, in floating point; it can be paused.
pub(crate) struct Prices<'a> {
    frame: &'a Frame,
    cost: Vec<f32>,
    /// Tasks that fit each place.
    fits: Vec<Vec<u16>>,
    price: Vec<f64>,
    pub(crate) best_price: Vec<f64>,
    best: f64,
    stride: f64,
    idle: u32,
    least: Vec<f32>,
    second: Vec<f32>,
    next: Vec<u16>,
}

const FAR_F: f32 = 1e30;

impl<'a> Prices<'a> {
    pub(crate) fn new(frame: &'a Frame, price: &[f64]) -> Self {
        let n = frame.len;
        let far = |&c: &i64| if c >= FAR { FAR_F } else { c as f32 };
        let fit = |p: usize| {
            let fits = |&j: &usize| frame.earliest(j) <= p && p <= frame.latest(j);
            (0..n).filter(fits).map(|j| j as u16).collect()
        };
        Self {
            frame,
            cost: frame.cost.iter().map(far).collect(),
            fits: (0..n).map(fit).collect(),
            price: price.to_vec(),
            best_price: price.to_vec(),
            best: f64::NEG_INFINITY,
            stride: 1.0,
            idle: 0,
            least: vec![FAR_F; n * n],
            second: vec![FAR_F; n * n],
            next: vec![NONE; n * n],
        }
    }

    /// One evaluation and one step uphill; `value` is the cost of a known order.
    pub(crate) fn step(&mut self, value: i64) {
        let n = self.frame.len;
        for place in (0..n - 1).rev() {
            self.fill(place);
        }
        let paid: f64 = self.price.iter().sum::<f64>() - self.price[self.frame.source];
        let bound = f64::from(self.least[self.frame.source]) - paid;
        if bound > self.best {
            let much = bound > self.best + 1e-4 * bound.abs();
            self.idle = if much { 0 } else { self.idle + 1 };
            self.best = bound;
            self.best_price.clone_from(&self.price);
        } else {
            self.idle += 1;
        }
        if self.idle >= 12 {
            self.idle = 0;
            self.stride *= 0.6;
            self.price.clone_from(&self.best_price);
        }
        let visits = self.visits();
        let norm: f64 = visits.iter().map(|v| (v - 1.0) * (v - 1.0)).sum();
        if norm > 0.0 {
            let length = self.stride * (value as f64 * 1.01 + 1.0 - bound).max(1e-6) / norm;
            for (price, visit) in self.price.iter_mut().zip(&visits) {
                *price += length * (visit - 1.0);
            }
        }
    }

    fn fill(&mut self, place: usize) {
        let n = self.frame.len;
        let (here, there) = self.least.split_at_mut((place + 1) * n);
        let (here2, there2) = self.second.split_at_mut((place + 1) * n);
        let (to_here, to_there) = self.next.split_at_mut((place + 1) * n);
        if place + 2 == n {
            there[..n].fill(FAR_F);
            there2[..n].fill(FAR_F);
            there[self.frame.sink] = 0.0;
            there2[self.frame.sink] = 0.0;
        }
        let base = place * n;
        for &i in &self.fits[place] {
            let row = &self.cost[usize::from(i) * n..(usize::from(i) + 1) * n];
            let (mut first, mut other, mut to) = (FAR_F, FAR_F, NONE);
            for &j in &self.fits[place + 1] {
                let j_at = usize::from(j);
                let rest = if to_there[j_at] == i { there2[j_at] } else { there[j_at] };
                let cost = row[j_at] + rest + self.price[j_at] as f32;
                if cost < first {
                    (other, first, to) = (first, cost, j);
                } else if cost < other {
                    other = cost;
                }
            }
            let cell = base + usize::from(i);
            (here[cell], here2[cell], to_here[cell]) = (first, other, to);
        }
    }

    /// How often the cheapest path comes to each task.
    fn visits(&self) -> Vec<f64> {
        let n = self.frame.len;
        let mut visits = vec![0.0; n];
        let (mut from, mut at) = (NONE, self.frame.source);
        visits[at] += 1.0;
        for place in 0..n - 1 {
            let cell = place * n + at;
            let mut to = self.next[cell];
            if to == from || to == NONE {
                to = self.other(place, at, from);
            }
            from = at as u16;
            at = usize::from(to).min(n - 1);
            visits[at] += 1.0;
        }
        visits
    }

    /// The second best way on: not to where the path came from.
    fn other(&self, place: usize, i: usize, not: u16) -> u16 {
        let n = self.frame.len;
        let (mut found, mut least) = (self.frame.sink as u16, f32::INFINITY);
        for &j in self.fits[place + 1].iter().filter(|&&j| j != not) {
            let cell = (place + 1) * n + usize::from(j);
            let back = usize::from(self.next[cell]) == i;
            let rest = if back { self.second[cell] } else { self.least[cell] };
            let cost = self.cost[i * n + usize::from(j)] + rest;
            let cost = cost + self.price[usize::from(j)] as f32;
            if cost < least {
                (found, least) = (j, cost);
            }
        }
        found
    }

    /// The best prices so far, rounded, with the bound computed from them exactly.
    pub(crate) fn exact(&self) -> Priced {
        let rounded = |p: &f64| (p.clamp(-1e12, 1e12) * FINE as f64).round() as i64;
        Priced::new(self.frame, self.best_price.iter().map(rounded).collect())
    }
}

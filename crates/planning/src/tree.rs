//! A bound from trees: every task entered once, from somewhere, and all of them from the source.
//!
//! An order of all tasks is a tree that grows out of the source and never branches. The cheapest
//! tree that may branch costs no more. A price on leaving each task, raised where the tree branches
//! and lowered where it ends, draws it towards a single line; the tree's cost less the prices is a
//! lower bound whatever they are. All sums are whole numbers.
//!
//! # Source
//! Held, Karp, Operations Research 18 (1970), 1138; the tree by Edmonds, J. Res. NBS 71B (1967),
//! 233, with the path growing of Gabow et al., Combinatorica 6 (1986), 109.

use crate::bits::{Ones, fixed};
use crate::frame::{FAR, Frame};
use crate::lagrange::FINE;

const NONE: usize = usize::MAX;
/// Longer than any sum of arcs, far from overflow when added up.
const LONG: i64 = 1 << 44;

/// Working room for the cheapest tree.
struct Grove {
    n: usize,
    /// For each node and contracted node: cost of entering it from each task, and where.
    enter: Vec<i64>,
    head: Vec<u32>,
    group: Vec<usize>,
    parent: Vec<usize>,
    children: Vec<Vec<usize>>,
    previous: Vec<usize>,
    /// The chosen way in: from, to.
    way: Vec<(usize, usize)>,
    paid: Vec<i64>,
}

impl Grove {
    /// How much dearer a tree is, at least, that uses each arc of finite cost: what entering the
    /// arc's end costs beyond what has been paid for the circles it enters. Row: from.
    fn excess(n: usize, root: usize, cost: &[i64]) -> Vec<i64> {
        let mut grove = Self::new(n, root, cost);
        grove.contract(root);
        let holds_root = |grove: &Self, group: usize| {
            let mut at = root;
            while at != NONE && at != group {
                at = grove.parent[at];
            }
            at == group
        };
        let rooted: Vec<bool> = (0..2 * n).map(|group| holds_root(&grove, group)).collect();
        let mut excess = vec![0; n * n];
        let mut above = vec![false; 2 * n];
        for from in 0..n {
            above.fill(false);
            let mut at = from;
            while at != NONE {
                above[at] = true;
                at = grove.parent[at];
            }
            for to in (0..n).filter(|&to| to != root && to != from) {
                let (mut paid, mut at) = (0, to);
                while at != NONE && !above[at] {
                    paid += if rooted[at] { 0 } else { grove.paid[at] };
                    at = grove.parent[at];
                }
                excess[from * n + to] = cost[from * n + to] - paid;
            }
        }
        excess
    }

    /// The parent of each task in the cheapest tree out of `root`; `cost` is row: from.
    fn tree(n: usize, root: usize, cost: &[i64]) -> Vec<usize> {
        let mut grove = Self::new(n, root, cost);
        grove.contract(root);
        grove.expand(root)
    }

    fn new(n: usize, root: usize, cost: &[i64]) -> Self {
        let mut it = Self {
            n,
            enter: vec![LONG; 2 * n * n],
            head: vec![0; 2 * n * n],
            group: (0..2 * n).collect(),
            parent: vec![NONE; 2 * n],
            children: vec![Vec::new(); 2 * n],
            previous: vec![NONE; 2 * n],
            way: vec![(NONE, NONE); 2 * n],
            paid: vec![0; 2 * n],
        };
        for to in 0..n {
            for from in 0..n {
                let at = to * n + from;
                it.enter[at] = if to == root { LONG } else { cost[from * n + to].min(LONG) };
                it.head[at] = to as u32;
            }
        }
        it
    }

    fn find(&mut self, mut at: usize) -> usize {
        while self.group[at] != at {
            self.group[at] = self.group[self.group[at]];
            at = self.group[at];
        }
        at
    }

    /// Grows a path backwards by the cheapest way in and closes every circle it runs into, until
    /// one node is left.
    fn contract(&mut self, start: usize) {
        let (mut at, mut made, mut left) = (start, self.n, self.n);
        while left > 1 {
            let (mut least, mut from) = (i64::MAX, NONE);
            for task in 0..self.n {
                if self.enter[at * self.n + task] < least && self.find(task) != at {
                    (least, from) = (self.enter[at * self.n + task], task);
                }
            }
            self.way[at] = (from, self.head[at * self.n + from] as usize);
            self.paid[at] = least;
            let other = self.find(from);
            if self.way[other].0 == NONE {
                self.previous[at] = other;
                at = other;
                continue;
            }
            self.previous[at] = other;
            let (mut member, new) = (at, made);
            made += 1;
            while self.find(member) != new {
                self.join(member, new);
                left -= 1;
                member = self.find(self.previous[member]);
            }
            left += 1;
            at = new;
        }
    }

    fn join(&mut self, member: usize, new: usize) {
        self.group[member] = new;
        self.parent[member] = new;
        self.children[new].push(member);
        for task in 0..self.n {
            let here = member * self.n + task;
            let cost = self.enter[here].saturating_sub(self.paid[member]);
            let there = new * self.n + task;
            if self.children[new].len() == 1 || cost < self.enter[there] {
                self.enter[there] = cost;
                self.head[there] = self.head[here];
            }
        }
    }

    /// Opens the circles again from the outside, leaving each where it is entered.
    fn expand(&mut self, root: usize) -> Vec<usize> {
        let mut open = Vec::new();
        self.dismantle(root, &mut open);
        while let Some(group) = open.pop() {
            let (from, to) = self.way[group];
            self.way[to] = (from, to);
            self.dismantle(to, &mut open);
        }
        (0..self.n).map(|to| if to == root { NONE } else { self.way[to].0 }).collect()
    }

    fn dismantle(&mut self, task: usize, open: &mut Vec<usize>) {
        let mut at = task;
        while self.parent[at] != NONE {
            at = self.parent[at];
            for child in std::mem::take(&mut self.children[at]) {
                self.parent[child] = NONE;
                if !self.children[child].is_empty() {
                    open.push(child);
                }
            }
        }
    }
}

/// Prices on leaving tasks, and the search for good ones; every bound on the way is exact.
pub(crate) struct Leaving<'a> {
    frame: &'a Frame,
    price: Vec<i64>,
    pub(crate) best_price: Vec<i64>,
    /// Proven, in parts of 1/[`FINE`].
    pub(crate) bound: i64,
    stride: f64,
    idle: u32,
    work: Vec<i64>,
}

impl<'a> Leaving<'a> {
    pub(crate) fn new(frame: &'a Frame, price: &[i64]) -> Self {
        let n = frame.len;
        let (price, best_price) = (price.to_vec(), price.to_vec());
        let work = vec![LONG; n * n];
        Self { frame, price, best_price, bound: 0, stride: 1.0, idle: 0, work }
    }

    /// Costs with prices, at the best prices or at the present ones.
    fn fill(&mut self, best: bool) {
        let n = self.frame.len;
        let price = if best { &self.best_price } else { &self.price };
        for (at, work) in self.work.iter_mut().enumerate() {
            let arc = self.frame.cost[at];
            *work = if arc >= FAR { LONG } else { arc * FINE + price[at / n] };
        }
    }

    /// Marks arcs that no order of at most `limit` (in parts of 1/[`FINE`]) uses; `turned` if the
    /// marks are for the frame read backwards.
    pub(crate) fn useless(&mut self, limit: i64, turned: bool, gone: &mut [bool]) {
        let n = self.frame.len;
        self.fill(true);
        let excess = Grove::excess(n, self.frame.source, &self.work);
        for (at, more) in excess.iter().enumerate() {
            let spot = if turned { (at % n) * n + at / n } else { at };
            gone[spot] |= self.bound.saturating_add(*more) > limit;
        }
    }

    /// One tree and one step uphill; `value` is the cost of a known order.
    pub(crate) fn step(&mut self, value: i64) {
        let n = self.frame.len;
        self.fill(false);
        let parents = Grove::tree(n, self.frame.source, &self.work);
        let mut leaves = vec![0_i64; n];
        let mut cost = 0;
        for (to, &from) in parents.iter().enumerate().filter(|(_, from)| **from != NONE) {
            leaves[from] += 1;
            cost += self.work[from * n + to];
        }
        let sink = self.frame.sink;
        let paid: i64 = (0..n).filter(|&i| i != sink).map(|i| self.price[i]).sum();
        let bound = cost - paid;
        if bound > self.bound {
            self.idle =
                if bound > self.bound + self.bound.abs() / 10_000 { 0 } else { self.idle + 1 };
            self.bound = bound;
            self.best_price.clone_from(&self.price);
        } else {
            self.idle += 1;
        }
        if self.idle >= 12 {
            self.idle = 0;
            self.stride *= 0.6;
            self.price.clone_from(&self.best_price);
        }
        leaves[sink] = 1;
        let norm: i64 = leaves.iter().map(|v| (v - 1) * (v - 1)).sum();
        if norm > 0 {
            let short = (value as f64 * 1.01 + 1.0) * FINE as f64 - bound as f64;
            let length = self.stride * short.max(1.0) / norm as f64;
            for (price, leave) in self.price.iter_mut().zip(&leaves) {
                let step = length * (leave - 1) as f64;
                *price = (*price as f64 + step).clamp(-1e12, 1e12).round() as i64;
            }
        }
    }
}

/// What is to come, at least: every remaining task is entered from somewhere that remains.
#[derive(Debug, Clone)]
pub(crate) struct Entries {
    /// For each task, where it can be entered from, cheapest first, prices included.
    ways: Vec<Vec<(i64, u16)>>,
    price: Vec<i64>,
}

impl Entries {
    pub(crate) fn new(frame: &Frame, price: &[i64]) -> Self {
        let way = |to: usize| {
            let open = (0..frame.len).filter(|&from| frame.arc(from, to) < FAR);
            let mut ways: Vec<(i64, u16)> =
                open.map(|from| (frame.arc(from, to) * FINE + price[from], from as u16)).collect();
            ways.sort_unstable();
            ways
        };
        let mut price = price.to_vec();
        let ways = (0..frame.len).map(way).collect();
        price[frame.sink] = 0;
        Self { ways, price }
    }

    /// In parts of 1/[`FINE`], when the tasks in `set` are done and `last` was the latest of them.
    pub(crate) fn rest<const W: usize>(&self, set: &[u64; W], last: usize) -> i64 {
        let mut sum = -self.price[last];
        for (word, &done) in set.iter().enumerate() {
            let here = self.ways.len().saturating_sub(word * 64).min(64);
            let all = if here == 64 { u64::MAX } else { (1 << here) - 1 };
            for bit in Ones(all & !done) {
                let task = word * 64 + bit;
                let open =
                    |from: u16| usize::from(from) == last || !fixed::has(set, usize::from(from));
                let Some(&(cost, _)) = self.ways[task].iter().find(|way| open(way.1)) else {
                    return FAR;
                };
                sum += cost - self.price[task];
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::{Grove, NONE};
    use crate::random::Random;

    /// What an arc costs more, against every tree that uses it.
    #[test]
    fn excess_never_says_too_much() {
        let mut random = Random::new(5);
        let mut tight = 0;
        for round in 0..200 {
            let n = 3 + round % 3;
            let root = random.below(n);
            let cost: Vec<i64> = (0..n * n).map(|_| random.below(30) as i64).collect();
            let least = brute(n, root, &cost);
            let excess = Grove::excess(n, root, &cost);
            for at in (0..n * n).filter(|at| at / n != at % n && at % n != root) {
                // Force the arc by making every other way into its end dear.
                let forced: Vec<i64> = (0..n * n)
                    .map(|k| cost[k] + if k % n == at % n && k != at { 1_000_000 } else { 0 })
                    .collect();
                let with = brute(n, root, &forced);
                assert!(least + excess[at] <= with, "{n} {root} {at} {cost:?}");
                tight += i32::from(with < 1_000_000 && least + excess[at] == with);
            }
        }
        assert!(tight > 500, "{tight}");
    }

    /// Every choice of a parent for each task that hangs together, tried one by one.
    fn brute(n: usize, root: usize, cost: &[i64]) -> i64 {
        let mut best = i64::MAX;
        let choices = (n as u64).pow(n as u32);
        for code in 0..choices {
            let mut rest = code;
            let parents: Vec<usize> = (0..n)
                .map(|_| {
                    let p = (rest % n as u64) as usize;
                    rest /= n as u64;
                    p
                })
                .collect();
            let reaches = |mut at: usize| {
                for _ in 0..n {
                    if at == root {
                        return true;
                    }
                    at = parents[at];
                }
                at == root
            };
            if (0..n).all(reaches) {
                let all = (0..n).filter(|&to| to != root);
                best = best.min(all.map(|to| cost[parents[to] * n + to]).sum());
            }
        }
        best
    }

    #[test]
    fn bigger_trees_hang_together() {
        let mut random = Random::new(4);
        for round in 0..300 {
            let n = 2 + round % 40;
            let root = random.below(n);
            let cost: Vec<i64> = (0..n * n).map(|_| random.below(30) as i64 - 8).collect();
            let parents = Grove::tree(n, root, &cost);
            for start in 0..n {
                let mut at = start;
                for _ in 0..n {
                    at = if at == root { root } else { parents[at] };
                }
                assert_eq!(at, root);
            }
        }
    }

    #[test]
    fn cheapest_tree_against_every_tree() {
        let mut random = Random::new(3);
        for round in 0..300 {
            let n = 2 + round % 4;
            let root = random.below(n);
            let cost: Vec<i64> = (0..n * n).map(|_| random.below(30) as i64 - 8).collect();
            let parents = Grove::tree(n, root, &cost);
            assert_eq!(parents[root], NONE);
            let all = (0..n).filter(|&to| to != root);
            let sum: i64 = all.map(|to| cost[parents[to] * n + to]).sum();
            assert_eq!(sum, brute(n, root, &cost), "{n} {root} {cost:?} {parents:?}");
        }
    }
}

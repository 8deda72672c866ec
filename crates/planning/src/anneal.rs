//! Better orders by taking a few steps out and putting them back.
//!
//! One to three short strings of steps are taken out and put back one by one at the cheapest place
//! that breaks no precedence; now and then a place is passed over, so that the same hole is not
//! filled the same way for ever. What is worse is kept with a chance that falls as the search
//! cools; cycles of cooling grow longer.
//!
//! The way of thinking is from Schrimpf et al., "Record breaking optimization results using the
//! ruin and recreate principle", J. Comp. Physics 159 (2000), 139, with the strings and the blinks
//! of Christiaens and Vanden Berghe, Transportation Science 54 (2020), 417.

use crate::context::Places;
use crate::random::Random;
use crate::watch::Watch;

const STRINGS: usize = 3;
const STRING_LEN: usize = 5;
/// Steps of the first cooling; each later one is longer by half.
const CYCLE_FIRST: u64 = 20_000;
/// Temperatures at the ends of a cycle, as multiples of the mean arc.
const HOT: f64 = 2.0;
const COLD: f64 = 0.1;

/// A search that can be paused and taken up again.
pub(crate) struct Anneal {
    random: Random,
    order: Vec<u16>,
    value: i64,
    best: i64,
    best_order: Vec<u16>,
    step: u64,
    cycle: u64,
    rest: Vec<u16>,
    out: Vec<u16>,
    taken: Vec<bool>,
}

impl Anneal {
    pub(crate) fn new(order: &[usize], value: i64, seed: u64) -> Self {
        let order: Vec<u16> = order.iter().map(|&i| i as u16).collect();
        Self {
            random: Random::new(seed),
            taken: vec![false; order.len()],
            best_order: order.clone(),
            best: value,
            rest: Vec::new(),
            out: Vec::new(),
            order,
            value,
            step: 0,
            cycle: CYCLE_FIRST,
        }
    }

    /// Takes over a better order found by someone else.
    pub(crate) fn adopt(&mut self, order: &[usize], value: i64) {
        if value < self.best {
            self.order = order.iter().map(|&i| i as u16).collect();
            (self.value, self.best) = (value, value);
            self.best_order.clone_from(&self.order);
        }
    }

    /// Until the watch says pause or stop.
    pub(crate) fn run(&mut self, places: &mut Places<'_>, watch: &mut Watch<'_>) {
        self.adopt(&watch.order, watch.value);
        if self.order.len() < 2 {
            return;
        }
        let cost = 1 + self.order.len() as u64 / 40;
        while watch.moves < watch.pause && watch.spend(cost) {
            self.one(places);
            watch.offer(self.best, self.best_order.iter().map(|&i| usize::from(i)));
        }
    }

    fn one(&mut self, places: &mut Places<'_>) {
        let mean = self.best as f64 / self.order.len() as f64;
        let share = self.step as f64 / self.cycle as f64;
        let heat = mean.max(1e-3) * HOT * (COLD / HOT).powf(share);
        self.ruin();
        self.recreate(places);
        let value = places.whole(&self.rest);
        let allowed = self.value as f64 - heat * self.random.unit().ln();
        if (value as f64) < allowed {
            std::mem::swap(&mut self.order, &mut self.rest);
            self.value = value;
        }
        if self.value < self.best {
            self.best = self.value;
            self.best_order.clone_from(&self.order);
        }
        self.step += 1;
        if self.step >= self.cycle {
            self.step = 0;
            self.cycle += self.cycle / 2;
            self.order.clone_from(&self.best_order);
            self.value = self.best;
        }
    }

    fn ruin(&mut self) {
        let len = self.order.len();
        self.out.clear();
        for _ in 0..=self.random.below(STRINGS) {
            let from = self.random.below(len);
            let to = (from + 1 + self.random.below(STRING_LEN)).min(len);
            for &task in &self.order[from..to] {
                if !std::mem::replace(&mut self.taken[usize::from(task)], true) {
                    self.out.push(task);
                }
            }
        }
        self.rest.clear();
        let taken = &self.taken;
        self.rest.extend(self.order.iter().filter(|&&task| !taken[usize::from(task)]));
        for &task in &self.out {
            self.taken[usize::from(task)] = false;
        }
        for i in (1..self.out.len()).rev() {
            let j = self.random.below(i + 1);
            self.out.swap(i, j);
        }
    }

    fn recreate(&mut self, places: &mut Places<'_>) {
        places.look(&self.rest);
        for at in 0..self.out.len() {
            let task = self.out[at];
            let gap = cheapest_gap(places, &self.rest, task, &mut self.random);
            self.rest.insert(gap, task);
            places.look(&self.rest);
        }
    }
}

/// The cheapest place that keeps every precedence, each passed over with chance 1/128.
fn cheapest_gap(places: &Places<'_>, order: &[u16], task: u16, random: &mut Random) -> usize {
    let signs = places.relation().signs(usize::from(task));
    let sign = |at: usize| signs[usize::from(order[at])];
    let low = (0..order.len()).rev().find(|&at| sign(at) < 0).map_or(0, |at| at + 1);
    let (mut found, mut least) = (low, i64::MAX);
    let mut blink = 0_u64;
    for gap in low..=order.len() {
        blink >>= 7;
        if blink == 0 {
            blink = random.next() | 1 << 63;
        }
        if blink & 127 != 0 {
            let price = places.price(gap, task);
            if price < least {
                (found, least) = (gap, price);
            }
        }
        if gap < order.len() && sign(gap) > 0 {
            break;
        }
    }
    found
}

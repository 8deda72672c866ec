//! The general search: orders from annealing, proofs from layers, by turns until one of them ends.

use crate::anneal::{Anneal, Seats};
use crate::exchange::Table;
use crate::frame::Frame;
use crate::lagrange::{FINE, Prices};
use crate::layers::{Hints, Layers, Passed};
use crate::matrix::Matrix;
use crate::tree::{Entries, Leaving};
use crate::watch::{Control, Effort, Progress, StoppedBy, Watch};

/// The best order found, and what is proven about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Positions in the list of tasks.
    pub order: Vec<usize>,
    /// What it costs.
    pub value: i64,
    /// No order costs less.
    pub bound: i64,
    /// Moves spent.
    pub moves: u64,
    /// Why the search ended; by proof exactly when `bound` equals `value`.
    pub stopped_by: StoppedBy,
}

impl Found {
    /// Whether no better order exists.
    #[must_use]
    pub fn proven(&self) -> bool {
        self.bound == self.value
    }
}

/// Orders the tasks of a matrix at the least cost.
///
/// The same matrix and effort give the same result, unless `ask` stops the search early. `ask` is
/// called every few milliseconds.
///
/// # Accuracy
/// `bound` is computed in whole numbers from rounded prices and holds exactly.
pub fn solve_matrix(
    matrix: &Matrix,
    effort: Effort,
    ask: &mut dyn FnMut(&Progress<'_>) -> Control,
) -> Found {
    let mut table = Table::new(matrix);
    let start = greedy(matrix);
    let mut watch = Watch::new(effort, start.clone(), matrix.sum(&start), ask);
    if matrix.len() < 3 && watch.value > 0 {
        let swapped = start.iter().rev().copied();
        if let Some(value) = matrix.cost(&swapped.clone().collect::<Vec<_>>()) {
            watch.offer(value, swapped);
        }
        watch.raise(watch.value);
    }
    watch.grain = grain(matrix);
    if !watch.over() {
        match (matrix.len() + 2).div_ceil(64) {
            1 => turns::<1>(matrix, &mut table, &mut watch),
            2 => turns::<2>(matrix, &mut table, &mut watch),
            3 => turns::<3>(matrix, &mut table, &mut watch),
            4..=6 => turns::<6>(matrix, &mut table, &mut watch),
            _ => only_anneal(matrix, &mut table, &mut watch),
        }
    }
    Found {
        value: watch.value,
        bound: watch.bound,
        moves: watch.moves,
        stopped_by: watch.stopped.unwrap_or(StoppedBy::Effort),
        order: watch.order,
    }
}

/// The greatest number every usable cost is a multiple of: so is the cost of every order.
fn grain(matrix: &Matrix) -> i64 {
    let n = matrix.len;
    let usable =
        |&(at, _): &(usize, &i64)| at / n != at % n && !matrix.relation.precedes(at % n, at / n);
    let costs = matrix.cost.iter().enumerate().filter(usable);
    costs.fold(0, |common, (_, &cost)| divisor(common, cost)).max(1)
}

const fn divisor(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Always the nearest task that may come next.
fn greedy(matrix: &Matrix) -> Vec<usize> {
    let n = matrix.len;
    let mut waits: Vec<usize> = (0..n).map(|i| matrix.relation.before(i).count()).collect();
    let mut placed = vec![false; n];
    let mut order: Vec<usize> = Vec::with_capacity(n);
    while order.len() < n {
        let open = (0..n).filter(|&i| !placed[i] && waits[i] == 0);
        let from = order.last().copied();
        let Some(next) = open.min_by_key(|&i| from.map_or(0, |f| matrix.cost[f * n + i])) else {
            break;
        };
        placed[next] = true;
        order.push(next);
        for j in matrix.relation.after(next).iter() {
            waits[j] -= 1;
        }
    }
    order
}

fn only_anneal(matrix: &Matrix, seats: &mut impl Seats, watch: &mut Watch<'_>) {
    let mut anneal = Anneal::new(&watch.order, watch.value, watch.effort.seed);
    watch.pause = u64::MAX;
    anneal.run(seats, watch);
    debug_assert!(matrix.cost(&watch.order).is_some());
}

/// Moves of annealing before the first proof is tried, at most: few for few tasks.
const TURN_FIRST: u64 = 600_000;
/// Steps uphill for the first prices.
const STEPS: u32 = 300;
/// Steps from prices found before.
const STEPS_AGAIN: u32 = 100;
/// Times useless arcs are looked for in a row, at most.
const ROUNDS: usize = 4;
const WIDTH_FIRST: usize = 500;
const WIDTH_GROWS: usize = 4;
/// From this width on only the direction with the better bound is followed.
const WIDTH_BOTH: usize = 8_000;

fn turns<const W: usize>(matrix: &Matrix, table: &mut Table, watch: &mut Watch<'_>) {
    let mut anneal = Anneal::new(&watch.order, watch.value, watch.effort.seed);
    let first = TURN_FIRST.min((matrix.len().pow(3) / 2) as u64);
    turn(&mut anneal, table, watch, first);
    let mut known = Known::new(matrix);
    known.sharpen(watch);
    let mut width = WIDTH_FIRST;
    let mut sides = vec![0, 1];
    let (len, bytes) = (known.frames[0].len, watch.effort.bytes);
    let room = |width: usize| Layers::<W>::bytes(len, width) <= bytes;
    let width_max =
        (0..20).map(|k| WIDTH_FIRST * WIDTH_GROWS.pow(k)).take_while(|&w| room(w)).last();
    while !watch.over() && width_max.is_some_and(|max| width <= max) {
        let before = watch.moves;
        let mut bounds = [i64::MIN; 2];
        for &side in &sides {
            let (frame, value, grain) = (&known.frames[side], watch.value, watch.grain);
            let Some(hints) = &known.hints[side] else { continue };
            let passed = Layers::<W>::new(frame, hints, width, value, grain).pass(watch);
            bounds[side] = passed.bound;
            take(matrix, passed, side == 1, watch);
            if watch.over() {
                return;
            }
        }
        if width >= WIDTH_BOTH && bounds[0] != bounds[1] {
            sides = vec![usize::from(bounds[1] > bounds[0])];
        }
        width *= WIDTH_GROWS;
        let spent = watch.moves - before;
        turn(&mut anneal, table, watch, (spent / 3).max(first / 4));
        known.sharpen(watch);
    }
    turn(&mut anneal, table, watch, u64::MAX / 2);
}

fn turn(anneal: &mut Anneal, table: &mut Table, watch: &mut Watch<'_>, moves: u64) {
    watch.pause = watch.moves.saturating_add(moves);
    anneal.run(table, watch);
}

fn take(matrix: &Matrix, passed: Passed, backwards: bool, watch: &mut Watch<'_>) {
    if let Some(mut order) = passed.order {
        if backwards {
            order.reverse();
        }
        order.retain(|&i| i < matrix.len);
        if let Some(value) = matrix.cost(&order) {
            watch.offer(value, order.into_iter());
        }
    }
    if passed.complete {
        watch.raise(passed.bound);
    }
}

/// What is known of a matrix, forwards and backwards; it grows sharper as better orders are found.
struct Known {
    frames: [Frame; 2],
    hints: [Option<Hints>; 2],
    /// Prices on visiting and on leaving, to start from.
    visiting: [Vec<f64>; 2],
    leaving: [Vec<i64>; 2],
    /// The best order's cost when this was last sharpened.
    value: i64,
}

impl Known {
    fn new(matrix: &Matrix) -> Self {
        let frame = Frame::new(matrix);
        let n = frame.len;
        let visiting = [vec![0.0; n], vec![0.0; n]];
        let leaving = [vec![0; n], vec![0; n]];
        let frames = [frame.clone(), frame.reversed()];
        Self { frames, hints: [None, None], visiting, leaving, value: i64::MAX }
    }

    /// Finds prices, takes away what no better order can use, and again while that takes much.
    fn sharpen(&mut self, watch: &mut Watch<'_>) {
        if watch.value >= self.value {
            return;
        }
        for _ in 0..ROUNDS {
            self.value = watch.value;
            let arcs = self.frames[0].arcs();
            if watch.over() || !self.round(watch) {
                return;
            }
            if self.frames[0].arcs() * 20 > arcs * 19 {
                return;
            }
        }
    }

    /// False when no better order exists, or the watch says stop.
    fn round(&mut self, watch: &mut Watch<'_>) -> bool {
        let n = self.frames[0].len;
        let limit = (watch.value - watch.grain) * FINE;
        let mut gone = vec![false; n * n];
        let mut open = vec![(0, n - 1); n];
        let cost = (n * n / 20).max(1) as u64;
        for side in 0..2 {
            let frame = &self.frames[side];
            let mut leaving = Leaving::new(frame, &self.leaving[side]);
            let mut prices = Prices::new(frame, &self.visiting[side]);
            let steps = if self.hints[side].is_some() { STEPS_AGAIN } else { STEPS };
            for _ in 0..steps {
                prices.step(watch.value);
                leaving.step(watch.value);
                watch.raise(up(leaving.bound));
                if !watch.spend(cost) {
                    return false;
                }
            }
            let priced = prices.exact();
            watch.raise(up(priced.bound));
            let mut here = vec![false; n * n];
            let windows = priced.useless(frame, limit, &mut here);
            leaving.useless(limit, false, &mut here);
            for (task, (open, window)) in open.iter_mut().zip(windows).enumerate() {
                let (a, b) = if side == 0 { window } else { turn_round(n, window) };
                *open = (open.0.max(a), open.1.min(b));
                debug_assert!(task < n);
            }
            for (at, useless) in here.into_iter().enumerate() {
                gone[if side == 0 { at } else { (at % n) * n + at / n }] |= useless;
            }
            self.visiting[side].clone_from(&prices.best_price);
            self.leaving[side].clone_from(&leaving.best_price);
            let entries = Entries::new(frame, &leaving.best_price);
            let entries_lead = leaving.bound > priced.bound;
            self.hints[side] = Some(Hints { priced: vec![priced], entries, entries_lead });
        }
        match self.frames[0].narrowed(&gone, &open) {
            Some(frame) => self.frames = [frame.clone(), frame.reversed()],
            None => watch.raise(watch.value),
        }
        !watch.over()
    }
}

/// A window of places, counted from the other end. An empty one stays empty.
fn turn_round(n: usize, (from, to): (usize, usize)) -> (usize, usize) {
    if to < from { (n, 0) } else { (n - 1 - to, n - 1 - from) }
}

/// From parts of 1/[`FINE`] to whole units that cost no less.
const fn up(bound: i64) -> i64 {
    bound.saturating_add(FINE - 1).div_euclid(FINE)
}

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
const TURN_FIRST: u64 = 20_000;
/// Steps uphill for the first prices.
const STEPS: u32 = 400;
const WIDTH_FIRST: usize = 500;
const WIDTH_GROWS: usize = 4;
/// From this width on only the direction with the better bound is followed.
const WIDTH_BOTH: usize = 8_000;

fn turns<const W: usize>(matrix: &Matrix, table: &mut Table, watch: &mut Watch<'_>) {
    let mut anneal = Anneal::new(&watch.order, watch.value, watch.effort.seed);
    let frames = [Frame::new(matrix)];
    let frames = [frames[0].clone(), frames[0].reversed()];
    let first = TURN_FIRST.min(4 * (matrix.len() * matrix.len()) as u64);
    turn(&mut anneal, table, watch, first);
    let hints: Vec<Hints> = frames.iter().map(|frame| hints(frame, watch)).collect();
    let mut width = WIDTH_FIRST;
    let mut sides = vec![0, 1];
    let room = |width: usize| Layers::<W>::bytes(frames[0].len, width) <= watch.effort.bytes;
    let width_max =
        (0..20).map(|k| WIDTH_FIRST * WIDTH_GROWS.pow(k)).take_while(|&w| room(w)).last();
    while !watch.over() && width_max.is_some_and(|max| width <= max) {
        let before = watch.moves;
        let mut bounds = [i64::MIN; 2];
        for &side in &sides {
            let value = watch.value;
            let passed = Layers::<W>::new(&frames[side], &hints[side], width, value).pass(watch);
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
        turn(&mut anneal, table, watch, (spent / 2).max(10 * first));
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

fn hints(frame: &Frame, watch: &mut Watch<'_>) -> Hints {
    let mut leaving = Leaving::new(frame);
    let mut prices = Prices::new(frame);
    let cost = (frame.len * frame.len / 50).max(1) as u64;
    for _ in 0..STEPS {
        prices.step(watch.value);
        leaving.step(watch.value);
        watch.raise(up(leaving.bound));
        if !watch.spend(cost) {
            break;
        }
    }
    let priced = prices.exact();
    watch.raise(up(priced.bound));
    Hints { priced: vec![priced], entries: Entries::new(frame, &leaving.best_price) }
}

/// From parts of 1/[`FINE`] to whole units that cost no less.
const fn up(bound: i64) -> i64 {
    bound.saturating_add(FINE - 1).div_euclid(FINE)
}

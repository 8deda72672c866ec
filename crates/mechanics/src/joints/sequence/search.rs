//! The search for the best order of tightening. Places are metres from the middle of all bolts.

/// Sums equal to within this share of the layout's size are equal.
const SAME: f64 = 1e-9;
/// Moments and distances within this share of the layout's size make no difference.
const NO_MATTER: f64 = 0.02;
/// Distances within this share are equal when mirror images are told from other orders.
const CONGRUENT: f64 = 1e-6;
/// Rounds of swapping, each of which makes the order better.
const ROUNDS_MAX: usize = 500;

type Point = (f64, f64);

fn norm(p: Point) -> f64 {
    p.0.hypot(p.1)
}

fn apart(a: Point, b: Point) -> f64 {
    norm((a.0 - b.0, a.1 - b.1))
}

/// The layout's size: the bolt farthest from the middle.
fn size(at: &[Point]) -> f64 {
    at.iter().copied().map(norm).fold(0.0, f64::max)
}

/// e after each bolt of an order. After the last it is nothing, by what the middle is.
pub(super) fn off_middle(at: &[Point], order: &[usize]) -> Vec<f64> {
    let mut sum = (0.0, 0.0);
    let mut off = Vec::with_capacity(order.len());
    for (done, bolt) in order.iter().enumerate() {
        let (x, y) = at[*bolt];
        sum = (sum.0 + x, sum.1 + y);
        let tight = (done + 1) as f64;
        off.push(if done + 1 == at.len() { 0.0 } else { norm(sum) / tight });
    }
    off
}

fn total(at: &[Point], order: &[usize]) -> f64 {
    off_middle(at, order).iter().sum()
}

/// What no order can go below, Σ y_k·r_k with y_1 = ln 2 and y_(k+1) = 1/k − y_k.
pub(super) fn bound(at: &[Point]) -> f64 {
    let mut radii: Vec<f64> = at.iter().copied().map(norm).collect();
    radii.sort_by(f64::total_cmp);
    let mut y = std::f64::consts::LN_2;
    let mut sum = 0.0;
    for (k, r) in (1_u32..).zip(radii) {
        sum += y * r;
        y = 1.0 / f64::from(k) - y;
    }
    sum
}

/// Every order of up to twelve bolts, by sets of tight bolts: set → bolts that may come next.
struct Ways<'a> {
    at: &'a [Point],
    /// Bolts that may be tightened next, as bits, for each set of tight ones.
    next: Vec<u32>,
    /// Sum of the places of each set: the tilting moment per preload.
    moment: Vec<f64>,
}

/// The bits that are set, from the lowest up.
fn bits(set: u32) -> impl Iterator<Item = usize> {
    (0..u32::BITS).filter(move |bit| set >> bit & 1 == 1).map(|bit| bit as usize)
}

impl<'a> Ways<'a> {
    /// All orders of the least crookedness.
    fn straightest(at: &'a [Point]) -> Self {
        let sets = 1_usize << at.len();
        let all = (sets - 1) as u32;
        let mut moment = vec![0.0; sets];
        let mut off = vec![0.0; sets];
        for set in 1..sets - 1 {
            let sum = bits(set as u32)
                .fold((0.0, 0.0), |sum: Point, i| (sum.0 + at[i].0, sum.1 + at[i].1));
            moment[set] = norm(sum);
            off[set] = moment[set] / f64::from((set as u32).count_ones());
        }
        // Crookedness still to come from each set, and on the way to it with its own.
        let mut to_come = vec![0.0_f64; sets];
        for set in (0..sets - 1).rev() {
            to_come[set] = bits(all & !(set as u32))
                .map(|i| set | 1 << i)
                .map(|then| off[then] + to_come[then])
                .fold(f64::INFINITY, f64::min);
        }
        let mut so_far = vec![0.0_f64; sets];
        for set in 1..sets {
            so_far[set] = bits(set as u32)
                .map(|i| so_far[set & !(1 << i)] + off[set])
                .fold(f64::INFINITY, f64::min);
        }
        let limit = to_come[0] + SAME * size(at);
        let fits = |set: usize, i: usize| {
            let then = set | 1 << i;
            so_far[set] + off[then] + to_come[then] <= limit
        };
        let next = (0..sets)
            .map(|set| {
                let open = bits(all & !(set as u32)).filter(|i| fits(set, *i));
                open.fold(0, |kept, i| kept | 1 << i)
            })
            .collect();
        Self { at, next, moment }
    }

    /// Keeps the ways whose key is least at the first bolt, of those at the second, and so on.
    fn narrow(&mut self, slack: f64, key: impl Fn(&Self, usize, usize) -> f64) {
        let mut kept = vec![0_u32; self.next.len()];
        let mut levels: Vec<Vec<usize>> = vec![vec![0]];
        for level in 0..self.at.len() {
            let open: Vec<(usize, usize, f64)> = levels[level]
                .iter()
                .flat_map(|set| bits(self.next[*set]).map(|i| (*set, i)))
                .map(|(set, i)| (set, i, key(self, set, i)))
                .collect();
            let least = open.iter().map(|way| way.2).fold(f64::INFINITY, f64::min);
            let mut reached: Vec<usize> = Vec::new();
            for (set, i, _) in open.into_iter().filter(|way| way.2 <= least + slack) {
                kept[set] |= 1 << i;
                reached.push(set | 1 << i);
            }
            reached.sort_unstable();
            reached.dedup();
            levels.push(reached);
        }
        // Sets that were reached and lead nowhere any more go, from the last level back.
        for level in (0..self.at.len().saturating_sub(1)).rev() {
            for set in &levels[level] {
                let alive = bits(kept[*set]).filter(|i| kept[*set | 1 << i] != 0);
                kept[*set] = alive.fold(0, |alive, i| alive | 1 << i);
            }
        }
        self.next = kept;
    }
}

/// From a bolt to the nearest of those tight; nothing where none is.
fn clear(at: &[Point], tight: impl Iterator<Item = usize>, bolt: usize) -> f64 {
    let nearest = tight.map(|i| apart(at[i], at[bolt])).fold(f64::INFINITY, f64::min);
    if nearest.is_finite() { nearest } else { 0.0 }
}

/// Keeps the entries whose key is least.
fn keep_least<T>(all: &mut Vec<T>, slack: f64, key: impl Fn(&T) -> f64) {
    let keys: Vec<f64> = all.iter().map(key).collect();
    let least = keys.iter().copied().fold(f64::INFINITY, f64::min);
    let mut keys = keys.into_iter();
    all.retain(|_| keys.next().is_some_and(|key| key <= least + slack));
}

/// Of orders so far, each with one more bolt at its end, those alike but for a turn or a mirror:
/// the distances of the last bolt from the middle and from those before it are the least.
fn keep_congruent(at: &[Point], orders: &mut Vec<Vec<usize>>) {
    let slack = CONGRUENT * size(at);
    let last = |order: &[usize]| order.last().copied().unwrap_or(0);
    keep_least(orders, slack, |order| norm(at[last(order)]));
    let before = orders.first().map_or(0, |order| order.len().saturating_sub(1));
    for place in 0..before {
        keep_least(orders, slack, |order| apart(at[order[place]], at[last(order)]));
    }
}

/// The best order of up to twelve bolts.
pub(super) fn exact(at: &[Point]) -> Vec<usize> {
    let slack = NO_MATTER * size(at);
    let mut ways = Ways::straightest(at);
    ways.narrow(slack, |ways, set, i| ways.moment[set | 1 << i]);
    ways.narrow(slack, |ways, set, i| -clear(ways.at, bits(set as u32), i));
    let mut orders: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in at {
        orders = extended(&orders, |order| {
            let set = order.iter().fold(0, |set, i| set | 1 << i);
            bits(ways.next[set]).collect()
        });
        keep_congruent(at, &mut orders);
    }
    orders.into_iter().min().unwrap_or_default()
}

/// Every order with every bolt that may follow it.
fn extended(orders: &[Vec<usize>], next: impl Fn(&[usize]) -> Vec<usize>) -> Vec<Vec<usize>> {
    let longer = |order: &Vec<usize>, bolt: usize| {
        let mut longer = order.clone();
        longer.push(bolt);
        longer
    };
    orders
        .iter()
        .flat_map(|order| next(order).into_iter().map(move |bolt| longer(order, bolt)))
        .collect()
}

/// A good order of any number of bolts: one by one, then swapped in pairs. Never worse than the
/// order of entry.
pub(super) fn stepwise(at: &[Point]) -> Vec<usize> {
    let slack = NO_MATTER * size(at);
    let mut orders: Vec<Vec<usize>> = vec![Vec::new()];
    for _ in at {
        orders =
            extended(&orders, |order| (0..at.len()).filter(|bolt| !order.contains(bolt)).collect());
        keep_least(&mut orders, slack, |order| {
            norm(order.iter().fold((0.0, 0.0), |sum, i| (sum.0 + at[*i].0, sum.1 + at[*i].1)))
        });
        keep_least(&mut orders, slack, |order| match order.split_last() {
            Some((last, before)) => -clear(at, before.iter().copied(), *last),
            None => 0.0,
        });
        keep_congruent(at, &mut orders);
    }
    let built = improved(at, orders.into_iter().min().unwrap_or_default());
    let entered = improved(at, (0..at.len()).collect());
    let better = total(at, &entered) < total(at, &built) - SAME * size(at);
    if better { entered } else { built }
}

/// Swapped in pairs, always the swap that helps most, until none helps.
fn improved(at: &[Point], mut order: Vec<usize>) -> Vec<usize> {
    let slack = SAME * size(at);
    let mut now = total(at, &order);
    for _ in 0..ROUNDS_MAX {
        let mut best: Option<(f64, usize, usize)> = None;
        for second in 1..order.len() {
            for first in 0..second {
                order.swap(first, second);
                let then = total(at, &order);
                order.swap(first, second);
                if then < best.map_or(now, |(least, _, _)| least) - slack {
                    best = Some((then, first, second));
                }
            }
        }
        let Some((then, first, second)) = best else { break };
        order.swap(first, second);
        now = then;
    }
    order
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Where every order can be weighed, taking bolts one by one and swapping comes near it.
        #[test]
        fn stepwise_is_near_the_best(
            places in prop::collection::vec((0.0..0.3_f64, 0.0..0.2_f64), 3..=11),
        ) {
            let share = 1.0 / places.len() as f64;
            let mean = |of: fn(&Point) -> f64| places.iter().map(of).sum::<f64>() * share;
            let (x, y) = (mean(|p| p.0), mean(|p| p.1));
            let at: Vec<Point> = places.iter().map(|p| (p.0 - x, p.1 - y)).collect();
            let (best, good) = (total(&at, &exact(&at)), total(&at, &stepwise(&at)));
            prop_assert!(best <= good + 1e-9);
            // Of 2000 the worst was 13 % above the best.
            prop_assert!(good <= 1.25 * best, "{good} against {best}");
        }
    }
}

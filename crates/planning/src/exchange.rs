//! Costs from a matrix, as the search sees them, and the precedence-safe exchange.

use crate::anneal::Seats;
use crate::bits::Relation;
use crate::matrix::Matrix;

/// A matrix in the form the search reads fastest.
pub(crate) struct Table {
    len: usize,
    cost: Vec<i32>,
    /// The same, row: to.
    turned: Vec<i32>,
    /// Cost of the arc that ends at each place of the order being filled; 0 for the first.
    link: Vec<i32>,
    relation: Relation,
    /// Stamp of the last left-hand string a task must not overtake.
    mark: Vec<u64>,
    stamp: u64,
}

impl Table {
    pub(crate) fn new(matrix: &Matrix) -> Self {
        let n = matrix.len;
        Self {
            len: n,
            cost: matrix.cost.iter().map(|&c| c as i32).collect(),
            turned: (0..n * n).map(|at| matrix.cost[(at % n) * n + at / n] as i32).collect(),
            link: Vec::new(),
            relation: matrix.relation.clone(),
            mark: vec![0; matrix.len],
            stamp: 0,
        }
    }

    fn arc(&self, from: u16, to: u16) -> i64 {
        i64::from(self.cost[usize::from(from) * self.len + usize::from(to)])
    }

    /// Swaps two neighbouring strings so long as that helps, looking from `first` on.
    ///
    /// Turning A B into B A reverses nothing, so only a pair (a in A before b in B) can break; the
    /// successors of A are stamped while A grows, and B ends before the first stamped task.
    ///
    /// # Source
    /// Gambardella, Dorigo, INFORMS J. Computing 12 (2000), 237: the path-preserving 3-exchange.
    fn best_swap(&mut self, order: &[u16], first: usize) -> Option<(i64, usize, usize)> {
        let last = order.len();
        let head = order[first];
        self.stamp += 1;
        let mut best = (0, 0, 0);
        for middle in first + 1..last - 1 {
            let end_left = order[middle];
            for next in self.relation.after(usize::from(end_left)).iter() {
                self.mark[next] = self.stamp;
            }
            let start_left = order[first + 1];
            let start_right = order[middle + 1];
            let gone = self.arc(head, start_left) + self.arc(end_left, start_right);
            let fixed = self.arc(head, start_right) - gone;
            for right in middle + 1..last {
                let end_right = order[right];
                if self.mark[usize::from(end_right)] == self.stamp {
                    break;
                }
                let mut gain = fixed + self.arc(end_right, start_left);
                if let Some(&follow) = order.get(right + 1) {
                    gain += self.arc(end_left, follow) - self.arc(end_right, follow);
                }
                if gain < best.0 {
                    best = (gain, middle, right);
                }
            }
        }
        (best.0 < 0).then_some(best)
    }
}

impl Seats for Table {
    fn relation(&self) -> &Relation {
        &self.relation
    }

    fn whole(&self, order: &[u16]) -> i64 {
        order.windows(2).map(|pair| self.arc(pair[0], pair[1])).sum()
    }

    fn look(&mut self, order: &[u16]) {
        self.link.clear();
        self.link.push(0);
        let arcs = order.windows(2).map(|p| usize::from(p[0]) * self.len + usize::from(p[1]));
        self.link.extend(arcs.map(|at| self.cost[at]));
    }

    fn put(&mut self, order: &[u16], gap: usize) {
        let arc = |from: usize| order.get(from + 1).map_or(0, |&to| self.arc(order[from], to));
        let into = if gap > 0 { arc(gap - 1) as i32 } else { 0 };
        let onward = arc(gap) as i32;
        self.link.insert(gap.min(self.link.len()), into);
        if gap + 1 < order.len() {
            self.link[gap + 1] = onward;
        }
    }

    fn price(&self, order: &[u16], gap: usize, task: u16) -> i64 {
        let row = usize::from(task) * self.len;
        let mut price = 0;
        if gap > 0 {
            price += self.turned[row + usize::from(order[gap - 1])];
        }
        if let Some(&next) = order.get(gap) {
            price += self.cost[row + usize::from(next)] - self.link[gap];
        }
        i64::from(price)
    }

    fn descend(&mut self, order: &mut [u16], value: i64) -> i64 {
        let mut value = value;
        if order.len() < 4 {
            return value;
        }
        let (mut first, mut quiet) = (0, 0);
        while quiet < order.len() - 2 {
            if let Some((gain, middle, right)) = self.best_swap(order, first) {
                order[first + 1..=right].rotate_left(middle - first);
                value += gain;
                quiet = 0;
            } else {
                quiet += 1;
                first = (first + 1) % (order.len() - 2);
            }
        }
        value
    }
}

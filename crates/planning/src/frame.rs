//! A matrix made ready for proofs: one first task, one last, and only arcs that can be used.

use crate::bits::Relation;
use crate::matrix::Matrix;

/// Marks an arc that no complete order can use.
pub(crate) const FAR: i64 = i64::MAX / 8;

/// Every order starts at `source` and ends at `sink`.
#[derive(Debug, Clone)]
pub(crate) struct Frame {
    pub(crate) len: usize,
    pub(crate) source: usize,
    pub(crate) sink: usize,
    /// [`FAR`] where the column cannot directly follow the row.
    pub(crate) cost: Vec<i64>,
    pub(crate) relation: Relation,
    /// The places each task can take, from and to.
    windows: Vec<(usize, usize)>,
}

impl Frame {
    /// Adds a source or a sink of no cost where the matrix has none of its own. The tasks keep
    /// their numbers; numbers from `matrix.len()` on are additions.
    pub(crate) fn new(matrix: &Matrix) -> Self {
        let n = matrix.len;
        let relation = &matrix.relation;
        let own_source = (0..n).find(|&i| relation.after(i).count() + 1 == n);
        let own_sink =
            (0..n).find(|&i| Some(i) != own_source && relation.before(i).count() + 1 == n);
        let source = own_source.unwrap_or(n);
        let sink = own_sink.unwrap_or(n + usize::from(own_source.is_none()));
        let len = n.max(source + 1).max(sink + 1);
        let mut pairs = Vec::new();
        for i in 0..len {
            if i < n {
                pairs.extend(relation.after(i).iter().map(|j| (i, j)));
            }
            if i != source {
                pairs.push((source, i));
            }
            if i != sink {
                pairs.push((i, sink));
            }
        }
        // Cannot loop: the matrix has none, and a source or sink added hangs at one end.
        let closed = Relation::new(len, &pairs).unwrap_or_else(|| relation.clone());
        let mut cost = vec![FAR; len * len];
        for i in 0..len {
            for j in (0..len).filter(|&j| can_follow(&closed, i, j)) {
                cost[i * len + j] = if i < n && j < n { matrix.cost[i * n + j] } else { 0 };
            }
        }
        if len > 2 {
            cost[source * len + sink] = FAR;
        }
        let windows = windows(&closed);
        Self { len, source, sink, cost, relation: closed, windows }
    }

    /// The same without arcs and places found useless; `None` when nothing is left.
    ///
    /// `gone` has one entry per arc; `windows` holds the places still open to each task.
    pub(crate) fn narrowed(&self, gone: &[bool], windows: &[(usize, usize)]) -> Option<Self> {
        let n = self.len;
        let mut pairs = Vec::new();
        for i in 0..n {
            pairs.extend(self.relation.after(i).iter().map(|j| (i, j)));
            let always = (0..n).filter(|&j| j != i && windows[i].1 < windows[j].0);
            pairs.extend(always.map(|j| (i, j)));
        }
        let relation = Relation::new(n, &pairs)?;
        let narrow = |(a, b): (&(usize, usize), (usize, usize))| (a.0.max(b.0), a.1.min(b.1));
        let windows: Vec<(usize, usize)> =
            windows.iter().zip(self::windows(&relation)).map(narrow).collect();
        if windows.iter().any(|window| window.1 < window.0) {
            return None;
        }
        let mut cost = self.cost.clone();
        for i in 0..n {
            for j in 0..n {
                let meet = windows[j].0 <= windows[i].1 + 1 && windows[i].0 < windows[j].1 + 1;
                if gone[i * n + j] || !meet || !can_follow(&relation, i, j) {
                    cost[i * n + j] = FAR;
                }
            }
        }
        Some(Self { cost, relation, windows, ..*self })
    }

    /// How many arcs are left.
    pub(crate) fn arcs(&self) -> usize {
        self.cost.iter().filter(|&&cost| cost < FAR).count()
    }

    /// Last task first: its orders are this one's, read backwards.
    pub(crate) fn reversed(&self) -> Self {
        let n = self.len;
        let cost = (0..n * n).map(|at| self.cost[(at % n) * n + at / n]).collect();
        let (source, sink) = (self.sink, self.source);
        let windows = self.windows.iter().map(|&(a, b)| (n - 1 - b, n - 1 - a)).collect();
        Self { len: n, source, sink, cost, relation: self.relation.reversed(), windows }
    }

    /// The earliest place a task can take.
    pub(crate) fn earliest(&self, i: usize) -> usize {
        self.windows[i].0
    }

    /// The latest place a task can take.
    pub(crate) fn latest(&self, i: usize) -> usize {
        self.windows[i].1
    }

    pub(crate) fn arc(&self, from: usize, to: usize) -> i64 {
        self.cost[from * self.len + to]
    }
}

fn windows(relation: &Relation) -> Vec<(usize, usize)> {
    let n = relation.len();
    let one = |i: usize| (relation.before(i).count(), n - 1 - relation.after(i).count());
    (0..n).map(one).collect()
}

/// Not if `j` comes before `i`, nor if some third task has to come between.
fn can_follow(relation: &Relation, i: usize, j: usize) -> bool {
    i != j
        && !relation.precedes(j, i)
        && !(relation.precedes(i, j) && relation.after(i).meets(relation.before(j)))
}

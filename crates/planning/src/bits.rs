//! Sets of tasks as bits, and the order relation built of them.

/// A set of small numbers, as long as it needs to be.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub(crate) struct Bits(Vec<u64>);

impl Bits {
    pub(crate) fn new(len: usize) -> Self {
        Self(vec![0; len.div_ceil(64)])
    }

    pub(crate) fn has(&self, i: usize) -> bool {
        self.0.get(i / 64).is_some_and(|word| word >> (i % 64) & 1 == 1)
    }

    pub(crate) fn add(&mut self, i: usize) {
        if let Some(word) = self.0.get_mut(i / 64) {
            *word |= 1 << (i % 64);
        }
    }

    pub(crate) fn join(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }

    pub(crate) fn count(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = usize> + '_ {
        self.0.iter().enumerate().flat_map(|(w, &word)| Ones(word).map(move |b| w * 64 + b))
    }

    /// The same set in a fixed number of words; what does not fit is cut off.
    pub(crate) fn fixed<const W: usize>(&self) -> [u64; W] {
        std::array::from_fn(|w| self.0.get(w).copied().unwrap_or(0))
    }
}

/// The positions of the ones in a word, lowest first.
pub(crate) struct Ones(pub(crate) u64);

impl Iterator for Ones {
    type Item = usize;
    fn next(&mut self) -> Option<usize> {
        if self.0 == 0 {
            return None;
        }
        let at = self.0.trailing_zeros() as usize;
        self.0 &= self.0 - 1;
        Some(at)
    }
}

/// A fixed set: the form the layered searches store by the million.
pub(crate) mod fixed {
    use super::Ones;

    pub(crate) fn add<const W: usize>(set: &mut [u64; W], i: usize) {
        set[i / 64] |= 1 << (i % 64);
    }
    pub(crate) fn holds<const W: usize>(set: &[u64; W], part: &[u64; W]) -> bool {
        (0..W).all(|w| part[w] & !set[w] == 0)
    }
    pub(crate) fn iter<const W: usize>(set: &[u64; W]) -> impl Iterator<Item = usize> + '_ {
        set.iter().enumerate().flat_map(|(w, &word)| Ones(word).map(move |b| w * 64 + b))
    }
    /// Mixes a set and a few more bits; only its spread matters.
    pub(crate) fn hash<const W: usize>(set: &[u64; W], more: u64) -> u64 {
        let mut h = more.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x1234_5678_9abc_def1;
        for &word in set {
            h = (h ^ word).wrapping_mul(0xff51_afd7_ed55_8ccd);
            h ^= h >> 32;
        }
        h.wrapping_mul(0xc4ce_b9fe_1a85_ec53) ^ (h >> 29)
    }
}

/// What must come before what, followed through to the end (transitively closed).
#[derive(Debug, Clone)]
pub(crate) struct Relation {
    len: usize,
    before: Vec<Bits>,
    after: Vec<Bits>,
    /// −1: column comes before row, +1: after, 0: either way; one row per task.
    sign: Vec<i8>,
}

impl Relation {
    /// `None` where the pairs go round in a loop. Pairs outside `len` are ignored.
    pub(crate) fn new(len: usize, pairs: &[(usize, usize)]) -> Option<Self> {
        let mut direct = vec![Vec::new(); len];
        let mut waits = vec![0_usize; len];
        for &(a, b) in pairs.iter().filter(|&&(a, b)| a < len && b < len) {
            direct[a].push(b);
            waits[b] += 1;
        }
        let mut sorted: Vec<usize> = (0..len).filter(|&i| waits[i] == 0).collect();
        let mut at = 0;
        while let Some(&i) = sorted.get(at) {
            at += 1;
            for &j in &direct[i] {
                waits[j] -= 1;
                if waits[j] == 0 {
                    sorted.push(j);
                }
            }
        }
        (sorted.len() == len).then(|| Self::close(len, &sorted, &direct))
    }

    fn close(len: usize, sorted: &[usize], direct: &[Vec<usize>]) -> Self {
        let mut after = vec![Bits::new(len); len];
        for &i in sorted.iter().rev() {
            let mut set = Bits::new(len);
            for &j in &direct[i] {
                set.add(j);
                set.join(&after[j]);
            }
            after[i] = set;
        }
        let mut before = vec![Bits::new(len); len];
        let mut sign = vec![0; len * len];
        for i in 0..len {
            for j in after[i].iter() {
                before[j].add(i);
                sign[i * len + j] = 1;
                sign[j * len + i] = -1;
            }
        }
        Self { len, before, after, sign }
    }

    pub(crate) const fn len(&self) -> usize {
        self.len
    }
    pub(crate) fn before(&self, i: usize) -> &Bits {
        &self.before[i]
    }
    pub(crate) fn after(&self, i: usize) -> &Bits {
        &self.after[i]
    }
    /// One entry per other task: −1 it comes before `i`, +1 after, 0 either way.
    pub(crate) fn signs(&self, i: usize) -> &[i8] {
        &self.sign[i * self.len..(i + 1) * self.len]
    }
    pub(crate) fn precedes(&self, a: usize, b: usize) -> bool {
        self.after[a].has(b)
    }
    /// The same with every pair turned round.
    pub(crate) fn reversed(&self) -> Self {
        Self {
            len: self.len,
            before: self.after.clone(),
            after: self.before.clone(),
            sign: self.sign.iter().map(|s| -s).collect(),
        }
    }
    /// Whether the order holds every task once and breaks no pair.
    pub(crate) fn allows(&self, order: &[usize]) -> bool {
        let mut done = Bits::new(self.len);
        order.len() == self.len
            && order.iter().all(|&i| {
                let fine =
                    i < self.len && !done.has(i) && self.before[i].iter().all(|p| done.has(p));
                done.add(i);
                fine
            })
    }
}

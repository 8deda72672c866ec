//! Numbers that look random and are the same on every run and any number of threads.

/// A stream of its own for every car and purpose (SplitMix64).
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    pub fn new(seed: u64, car: u64, stream: u64) -> Self {
        let mut dice = Self(seed ^ (car << 8 | stream).wrapping_mul(0x9e37_79b9_7f4a_7c15));
        dice.bits();
        dice.bits();
        dice
    }
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
    /// Above 0, at most 1.
    pub fn even(&mut self) -> f64 {
        ((self.bits() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }
    /// As likely anywhere from −`half` to `half`.
    pub fn within(&mut self, half: f64) -> f64 {
        half * (2.0 * self.even() - 1.0)
    }
    /// Normal, by Box and Muller.
    pub fn normal(&mut self, u: f64) -> f64 {
        let (a, b) = (self.even(), self.even());
        u * (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
    /// Mean of `n` readings that scatter by `u`.
    pub fn mean(&mut self, u: f64, n: u32) -> f64 {
        self.normal(u / f64::from(n.max(1)).sqrt())
    }
    pub fn happens(&mut self, share: f64) -> bool {
        self.even() <= share
    }
    pub fn one_of<T: Copy>(&mut self, all: &[T]) -> Option<T> {
        let n = (self.even() * all.len() as f64).ceil() as usize;
        all.get(n.saturating_sub(1)).copied()
    }
}

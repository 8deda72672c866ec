//! Chance that repeats: one seed, one sequence, on every machine.

/// SplitMix64: a counter stepped by the golden ratio, then mixed.
///
/// Small and portable is all that is asked of it here; nothing secret depends on it.
///
/// # Source
/// Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014, fig. 11.
#[derive(Debug, Clone)]
pub(crate) struct Random(u64);

impl Random {
    pub(crate) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `limit`; 0 where `limit` is 0. The bias is below `limit` / 2³².
    pub(crate) const fn below(&mut self, limit: usize) -> usize {
        (((self.next() >> 32) * limit as u64) >> 32) as usize
    }

    /// In (0, 1]; never 0, so that its logarithm is finite.
    pub(crate) fn unit(&mut self) -> f64 {
        ((self.next() >> 11) + 1) as f64 / (1_u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::Random;

    /// Widely published test values for seed 1234567 (from memory).
    #[test]
    fn first_values_for_a_known_seed() {
        let mut random = Random::new(1_234_567);
        for want in [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ] {
            assert_eq!(random.next(), want);
        }
    }

    #[test]
    fn below_stays_below_and_reaches_all() {
        let mut random = Random::new(7);
        let mut seen = [0_u32; 6];
        for _ in 0..6000 {
            seen[random.below(6)] += 1;
        }
        assert!(seen.iter().all(|&n| (850..1150).contains(&n)), "{seen:?}");
    }
}

//! Numbers by chance: streams that can be entered anywhere, and every shape made from them.
//!
//! A stream is named by seed, input and block, so that no draw depends on how many others were
//! taken before it, or on which thread.
//!
//! Normal numbers come from 256 layers of equal area under exp(−x²/2): the layer and the place
//! across it by one draw of 64 bits; 99 in 100 are done with that, the rest by rejection, so the
//! numbers are exactly normal, not nearly.
//!
//! **Source.** Layers: G. Marsaglia and W. W. Tsang, J. Stat. Software 5 (2000) (from memory;
//! the layers are worked out and checked here). Shapes: JCGM 101, 6.4.

use std::sync::LazyLock;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::Shape;

/// Draws per block: the inputs of one block fit the second cache.
pub(crate) const BLOCK: usize = 1024;

/// Where every stream of one run comes from.
#[derive(Debug, Clone)]
pub(crate) struct Well(ChaCha8Rng);

impl Well {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// The stream of one input in one block.
    pub(crate) fn stream(&self, input: u64, block: u64) -> Stream {
        let mut rng = self.0.clone();
        rng.set_stream(input);
        // 2²⁴ words for a block of 1024 draws: no shape comes near it.
        rng.set_word_pos(u128::from(block) << 24);
        Stream(rng)
    }
}

/// A stream of numbers by chance.
pub(crate) struct Stream(ChaCha8Rng);

/// 2⁻⁵³.
const ULP: f64 = 1.0 / 9_007_199_254_740_992.0;

impl Stream {
    /// Evenly in (0, 1), neither end included.
    #[inline]
    fn unit(&mut self) -> f64 {
        ((self.0.next_u64() >> 11) as f64 + 0.5) * ULP
    }

    /// Evenly in (−1, 1).
    #[inline]
    fn both_ways(&mut self) -> f64 {
        2.0 * self.unit() - 1.0
    }

    /// Normal, mean 0 and standard deviation 1, from 64 bits at hand, and more from the stream
    /// where they do not do.
    #[inline]
    fn normal_from(&mut self, bits: u64, layers: &Layers) -> f64 {
        let [wide, narrow, ..] = layers.of(bits);
        let x = across(bits) * wide;
        if x.abs() < narrow { x } else { self.normal_slow(bits, layers) }
    }

    /// The one in a hundred that lies beyond its layer's sure part.
    #[cold]
    fn normal_slow(&mut self, mut bits: u64, layers: &Layers) -> f64 {
        loop {
            let [wide, narrow, low, high] = layers.of(bits);
            let x = across(bits) * wide;
            if x.abs() < narrow {
                return x;
            }
            if bits & 0xff == 0 {
                return self.tail().copysign(x);
            }
            if low + (high - low) * self.unit() < (-0.5 * x * x).exp() {
                return x;
            }
            bits = self.0.next_u64();
        }
    }

    /// Many normal numbers: the bits of a hundred or so are taken from the stream at once.
    fn normals(&mut self, layers: &Layers, out: &mut [f64]) {
        let mut bytes = [0; 8 * 128];
        for part in out.chunks_mut(128) {
            self.0.fill_bytes(&mut bytes);
            for (z, bytes) in part.iter_mut().zip(bytes.as_chunks().0) {
                *z = self.normal_from(u64::from_le_bytes(*bytes), layers);
            }
        }
    }

    /// Beyond the last layer: an exponential number, accepted by exp(−x²/2).
    #[cold]
    fn tail(&mut self) -> f64 {
        loop {
            let x = -self.unit().ln() / EDGE;
            let y = -self.unit().ln();
            if x * x < 2.0 * y {
                return EDGE + x;
            }
        }
    }

    /// Fills with numbers of mean 0 and standard deviation 1 of that shape.
    pub(crate) fn fill(&mut self, shape: Shape, out: &mut [f64]) {
        let layers = &*LAYERS;
        match shape {
            Shape::Normal => self.normals(layers, out),
            Shape::Rectangular => {
                let a = 3_f64.sqrt();
                out.iter_mut().for_each(|z| *z = a * self.both_ways());
            }
        }
    }
}

/// Where the last layer ends and the tail begins, for 256 layers of equal area.
const EDGE: f64 = 3.654_152_885_361_009;

/// From −1 to 1 across a layer, by the upper bits; the lowest eight name the layer.
#[inline]
fn across(bits: u64) -> f64 {
    ((bits >> 11) as f64 + 0.5) * (2.0 * ULP) - 1.0
}

/// Per layer its width and the next one's, and the heights of its two edges.
struct Layers([[f64; 4]; 256]);

impl Layers {
    #[inline]
    fn of(&self, bits: u64) -> [f64; 4] {
        // A byte is always one of 256.
        self.0.get(usize::from(bits as u8)).copied().unwrap_or_default()
    }
}

static LAYERS: LazyLock<Layers> = LazyLock::new(|| {
    let height = |x: f64| (-0.5 * x * x).exp();
    // Area of a layer: the last one's rectangle and the tail beyond it.
    let area = EDGE * height(EDGE) + tail_area(EDGE);
    let mut layers = Layers([[0.0; 4]; 256]);
    let (mut x, mut next) = (area / height(EDGE), EDGE);
    for layer in &mut layers.0 {
        *layer = [x, next, height(x), height(next)];
        let above = height(next) + area / next;
        (x, next) = (next, if above < 1.0 { (-2.0 * above.ln()).sqrt() } else { 0.0 });
    }
    layers
});

/// ∫ exp(−x²/2) from a positive edge on, by the continued fraction of Laplace.
fn tail_area(edge: f64) -> f64 {
    let fraction = (1..=200).rev().fold(edge, |below, k| edge + f64::from(k) / below);
    (-0.5 * edge * edge).exp() / fraction
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The layers close: 256 of them, each of the same area, end at x = 0.
    #[test]
    fn the_layers_fill_the_curve() {
        let layers = &*LAYERS;
        let area = EDGE * (-0.5 * EDGE * EDGE).exp() + tail_area(EDGE);
        for (n, &[wide, narrow, low, high]) in layers.0.iter().enumerate().skip(1) {
            assert!(narrow < wide, "{n}");
            let this = wide * (high - low);
            assert!((this / area - 1.0).abs() < 1e-9, "{n}: {this} {area}");
        }
        assert_eq!(layers.0[255][1], 0.0);
        // 0.004 928 673 233 99 (the layers' authors, from memory).
        assert!((area - 0.004_928_673_233_99).abs() < 1e-13, "{area}");
    }

    fn moments(shape: Shape) -> [f64; 4] {
        let well = Well::new(7);
        let (mut sums, mut n) = ([0.0; 4], 0.0);
        let mut out = vec![0.0; BLOCK];
        for block in 0..1000 {
            well.stream(3, block).fill(shape, &mut out);
            for z in &out {
                sums.iter_mut().zip(1..).for_each(|(s, k)| *s += z.powi(k));
                n += 1.0;
            }
        }
        sums.map(|s| s / n)
    }

    /// Mean 0, variance 1, third moment 0, and the fourth moment of each shape worked out by
    /// hand: 3 for the normal, a⁴/5 with a = √3 for the rectangular.
    #[test]
    fn every_shape_has_its_moments() {
        let rows = [(Shape::Normal, 3.0), (Shape::Rectangular, 9.0 / 5.0)];
        for (shape, fourth) in rows {
            let [mean, variance, third, four] = moments(shape);
            assert!(mean.abs() < 4e-3, "{shape:?} {mean}");
            assert!((variance - 1.0).abs() < 6e-3, "{shape:?} {variance}");
            assert!(third.abs() < 2e-2, "{shape:?} {third}");
            assert!((four - fourth).abs() < 0.05, "{shape:?} {four} {fourth}");
        }
    }

    /// Shares of the normal curve within 1, 1.96, 3 and 4 standard deviations: 0.682 689,
    /// 0.950 004, 0.997 300, 0.999 937 (any table of the normal distribution, from memory;
    /// 2·Φ(x) − 1).
    #[test]
    fn normal_numbers_fall_as_the_table_says() {
        let (well, mut out) = (Well::new(11), vec![0.0; BLOCK]);
        let limits = [(1.0, 0.682_689), (1.96, 0.950_004), (3.0, 0.997_300), (4.0, 0.999_937)];
        let mut within = [0.0; 4];
        let blocks = 2000;
        for block in 0..blocks {
            well.stream(0, block).fill(Shape::Normal, &mut out);
            for z in &out {
                for (n, (limit, _)) in within.iter_mut().zip(limits) {
                    *n += f64::from(u8::from(z.abs() < limit));
                }
            }
        }
        let all = blocks as f64 * BLOCK as f64;
        for (n, (limit, share)) in within.into_iter().zip(limits) {
            let within = 4.0 * (share * (1.0 - share) / all).sqrt();
            assert!((n / all - share).abs() < within, "{limit}: {} {share}", n / all);
        }
    }

    /// Eighty slices of the curve, 0.05 wide: χ² with 80 degrees of freedom is 80 ± 13.
    #[test]
    fn normal_numbers_fill_every_slice_of_the_curve() {
        use crate::chance::compare::normal_below;
        let (well, mut out) = (Well::new(12), vec![0.0; BLOCK]);
        let (mut slices, blocks) = ([0.0; 80], 2000);
        for block in 0..blocks {
            well.stream(0, block).fill(Shape::Normal, &mut out);
            for z in &out {
                let slice = (z.abs() * 20.0) as usize;
                slices.get_mut(slice).into_iter().for_each(|n| *n += 1.0);
            }
        }
        let all = blocks as f64 * BLOCK as f64;
        let edge = |n: usize| normal_below(n as f64 / 20.0);
        let off = slices.iter().enumerate().map(|(n, had)| {
            let wanted = 2.0 * (edge(n + 1) - edge(n)) * all;
            (had - wanted).powi(2) / wanted
        });
        let chi_squared: f64 = off.sum();
        assert!((20.0..140.0).contains(&chi_squared), "{chi_squared}");
    }

    #[test]
    fn streams_stand_apart_and_can_be_entered_again() {
        let well = Well::new(1);
        let take = |input, block| {
            let mut out = [0.0; 8];
            well.stream(input, block).fill(Shape::Normal, &mut out);
            out
        };
        assert_eq!(take(2, 5), take(2, 5));
        for other in [take(2, 6), take(3, 5)] {
            assert!(take(2, 5).iter().zip(other).all(|(a, b)| *a != b));
        }
    }
}

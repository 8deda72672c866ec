//! The first of several doubtful limits: where the way ends when whichever comes first ends it.
//!
//! ```text
//!       bolt    damper
//!       ╭─╮      ╭─╮          the least of two doubtful limits lies below either, and is
//!    ╭──╯ ╰─╮ ╭──╯ ╰──╮       narrower than the wider of them; which one it is has a chance
//!   ─┴──────┴─┴───────┴──→ θ
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | μᵢ, σᵢ | a limit and its standard uncertainty | rad | [`Doubtful::at`], [`Doubtful::parts`] |
//! | cᵢⱼ | covariance, Σ of the products of the parts | rad² | |
//! | a² | σ₁² + σ₂² − 2·c₁₂ | rad² | |
//! | α | (μ₂ − μ₁)/a | 1 | |
//!
//! **Two limits**, normal with a common doubt: P = Φ(α) that the first comes first,
//! E = μ₁·Φ(α) + μ₂·Φ(−α) − a·φ(α), E of the square = (μ₁² + σ₁²)·Φ(α) + (μ₂² + σ₂²)·Φ(−α) −
//! (μ₁ + μ₂)·a·φ(α), and the covariance of the least with a third is Φ(α)·c₁₃ + Φ(−α)·c₂₃. Exact.
//! **More**: the least of two is taken for normal and put against the next, the farthest first.
//!
//! **Source.** C. E. Clark 1961, for the greatest of a set; the least is the greatest of the
//! negatives.

use axlewright_quantity::{Angle, Ratio};

use super::compare::normal_below;

/// A limit that is known to some doubt.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubtful {
    /// Where it lies.
    pub at: Angle,
    /// How far each input's standard uncertainty moves it, with its sign: the same inputs in the
    /// same order for every limit.
    pub parts: Vec<Angle>,
}

/// Where the first of several limits lies, and which it is.
#[derive(Debug, Clone, PartialEq)]
pub struct First {
    /// Mean of the least.
    pub at: Angle,
    /// Its standard uncertainty.
    pub u: Angle,
    /// The chance of each limit, in the order given, to be the first; together one.
    pub chances: Vec<Ratio>,
}

/// A limit, or the least of some taken for normal.
#[derive(Debug, Clone)]
struct Normal {
    mean: f64,
    variance: f64,
    parts: Vec<f64>,
}

impl Normal {
    fn of(limit: &Doubtful) -> Self {
        let parts: Vec<f64> = limit.parts.iter().map(|part| part.to_rad()).collect();
        Self { mean: limit.at.to_rad(), variance: product(&parts, &parts), parts }
    }

    /// Standard deviation of the difference, and how many of it `self` lies before `other`.
    fn before(&self, other: &Self) -> (f64, f64) {
        let common = product(&self.parts, &other.parts);
        let a = (self.variance + other.variance - 2.0 * common).max(0.0).sqrt();
        let ahead = other.mean - self.mean;
        // Limits that move together have an order without doubt.
        if a < 1e-12 { (0.0, ahead * 1e12) } else { (a, ahead / a) }
    }

    fn least(&self, other: &Self) -> Self {
        let (a, alpha) = self.before(other);
        let (p, q) = (normal_below(alpha), normal_below(-alpha));
        let density = a * (-0.5 * alpha * alpha).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let mean = self.mean * p + other.mean * q - density;
        // About the mean, so that nothing is lost in a difference of squares.
        let (d1, d2) = (self.mean - mean, other.mean - mean);
        let square =
            (d1 * d1 + self.variance) * p + (d2 * d2 + other.variance) * q - (d1 + d2) * density;
        let parts = self.parts.iter().zip(&other.parts).map(|(x, y)| x * p + y * q).collect();
        Self { mean, variance: square.max(0.0), parts }
    }
}

fn product(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The least of some, the farthest taken first.
fn least_of(mut limits: Vec<Normal>) -> Option<Normal> {
    limits.sort_by(|a, b| b.mean.total_cmp(&a.mean));
    limits.into_iter().reduce(|least, next| next.least(&least))
}

/// Where whichever limit comes first lies, how surely, and the chance of each to be it; nothing
/// for no limits.
///
/// # Valid for
/// Limits that are about normal. Exact for two; for more, the least of some is taken for normal,
/// which three equal ones miss by 2 % of their u in the mean.
/// # Source
/// C. E. Clark 1961, see the module's text.
pub fn first(limits: &[Doubtful]) -> Option<First> {
    let each: Vec<Normal> = limits.iter().map(Normal::of).collect();
    let all = least_of(each.clone())?;
    let chance = |at: usize| {
        let mine = each.get(at)?;
        let others = each.iter().enumerate().filter(|(other, _)| *other != at);
        Some(match least_of(others.map(|(_, one)| one.clone()).collect()) {
            Some(rest) => normal_below(mine.before(&rest).1),
            None => 1.0,
        })
    };
    let chances: Vec<f64> = (0..each.len()).filter_map(chance).collect();
    let sum: f64 = chances.iter().sum();
    Some(First {
        at: Angle::rad(all.mean),
        u: Angle::rad(all.variance.sqrt()),
        chances: chances.into_iter().map(|chance| Ratio::one(chance / sum)).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limit(at: f64, parts: &[f64]) -> Doubtful {
        let parts = parts.iter().map(|part| Angle::rad(*part)).collect();
        Doubtful { at: Angle::rad(at), parts }
    }

    /// Order statistics of the normal curve: the least of two alike lies σ/√π below, with the
    /// variance 1 − 1/π; of three 3/(2·√π) below (both from memory).
    #[test]
    fn the_least_of_equals_lies_below_them() {
        let pi = std::f64::consts::PI;
        let two = first(&[limit(5.0, &[1.0, 0.0]), limit(5.0, &[0.0, 1.0])]).unwrap();
        assert!((two.at.to_rad() - (5.0 - 1.0 / pi.sqrt())).abs() < 1e-12, "{two:?}");
        assert!((two.u.to_rad() - (1.0 - 1.0 / pi).sqrt()).abs() < 1e-12, "{two:?}");
        assert!(two.chances.iter().all(|c| (c.to_one() - 0.5).abs() < 1e-12));
        let three: Vec<Doubtful> =
            (0..3).map(|k| limit(0.0, &[0, 1, 2].map(|i| f64::from(u8::from(i == k))))).collect();
        let three = first(&three).unwrap();
        assert!((three.at.to_rad() + 1.5 / pi.sqrt()).abs() < 0.02, "{three:?}");
        assert!(three.chances.iter().all(|c| (c.to_one() - 1.0 / 3.0).abs() < 1e-3), "{three:?}");
    }

    /// Two limits with one common and one own doubt each, summed over a grid of the three.
    #[test]
    fn two_with_a_common_doubt_agree_with_a_sum_over_a_grid() {
        let (a, b) = (limit(1.0, &[0.4, 0.5, 0.0]), limit(1.3, &[0.4, 0.0, 0.8]));
        let found = first(&[a, b]).unwrap();
        let axis: Vec<f64> = (-60..=60).map(|i| f64::from(i) / 10.0).collect();
        let weight = |x: f64| (-0.5 * x * x).exp();
        let (mut sum, mut mean, mut square, mut ahead) = (0.0, 0.0, 0.0, 0.0);
        for x in &axis {
            for y in &axis {
                for z in &axis {
                    let w = weight(*x) * weight(*y) * weight(*z);
                    let (p, q) = (1.0 + 0.4 * x + 0.5 * y, 1.3 + 0.4 * x + 0.8 * z);
                    let least = p.min(q);
                    sum += w;
                    mean += w * least;
                    square += w * least * least;
                    ahead += if p < q {
                        w
                    } else if p == q {
                        0.5 * w
                    } else {
                        0.0
                    };
                }
            }
        }
        let (mean, square, ahead) = (mean / sum, square / sum, ahead / sum);
        assert!((found.at.to_rad() - mean).abs() < 2e-3, "{found:?} {mean}");
        assert!((found.u.to_rad() - (square - mean * mean).sqrt()).abs() < 2e-3, "{found:?}");
        assert!((found.chances[0].to_one() - ahead).abs() < 2e-3, "{found:?} {ahead}");
    }

    #[test]
    fn what_moves_together_keeps_its_order() {
        let found = first(&[limit(2.0, &[0.7]), limit(1.0, &[0.7]), limit(40.0, &[0.1])]).unwrap();
        assert!((found.at.to_rad() - 1.0).abs() < 1e-12 && (found.u.to_rad() - 0.7).abs() < 1e-12);
        assert_eq!(
            found.chances.iter().map(|c| c.to_one().round()).collect::<Vec<_>>(),
            [0.0, 1.0, 0.0]
        );
        assert_eq!(first(&[]), None);
    }
}

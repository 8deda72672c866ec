//! The linear road beside the drawn one, and whether they agree.

use axlewright_quantity::{Amount, Ratio};

use super::{ChanceError, Outcomes};

/// Whether both roads say the same within what an uncertainty is quoted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Agreement {
    /// Half of the last quoted digit of u.
    pub tolerance: Amount,
    /// How far the lower limits of the two 95 % (or other) intervals are apart.
    pub low_apart: Amount,
    /// How far the upper limits are apart.
    pub high_apart: Amount,
    /// Neither is farther apart than the tolerance.
    pub agrees: bool,
}

/// The linear interval y ± k·u beside the drawn one of the same share.
///
/// # Valid for
/// The linear outcome taken as normal with known u, as the linear road assumes. `digits` is how
/// many digits of u are quoted, 1 or 2.
/// # Errors
/// Another kind; a share that is not between 0 and 1; digits that nobody quotes; too few draws.
/// # Source
/// JCGM 101, 7.9.2 (δ from u = c·10ˡ) and 8.1 (comparison of the limits).
pub fn compare(
    linear: (Amount, Amount),
    drawn: &Outcomes,
    share: Ratio,
    digits: u8,
) -> Result<Agreement, ChanceError> {
    let (value, u) = linear;
    for found in [value.kind(), u.kind()] {
        if found != drawn.kind() {
            let what = "the linear outcome";
            return Err(ChanceError::Kind { what, found, wanted: drawn.kind() });
        }
    }
    if !((1..=4).contains(&digits) && 0.0 < u.to_si() && u.to_si().is_finite()) {
        return Err(ChanceError::Nonsense { what: "quoted digits of an uncertainty" });
    }
    let interval = drawn.interval(share)?;
    let half = normal_quantile(0.5 + 0.5 * share.to_one()) * u.to_si();
    let low = (value.to_si() - half - interval.low.to_si()).abs();
    let high = (value.to_si() + half - interval.high.to_si()).abs();
    // In the unit it is quoted in: half a digit of 4 mm is not half a digit of 0.004 m only in
    // name, but of degrees and radians it is.
    let delta = tolerance(u.shown(), digits);
    let delta = Amount::from_shown(u.kind(), delta);
    let of = |si| Amount::from_si(u.kind(), si);
    let agrees = low <= delta.to_si() && high <= delta.to_si();
    Ok(Agreement { tolerance: delta, low_apart: of(low), high_apart: of(high), agrees })
}

/// ½·10ˡ, with u = c·10ˡ and c a whole number of so many digits.
fn tolerance(u: f64, digits: u8) -> f64 {
    let first = u.log10().floor() as i32;
    let place = |first: i32| first - i32::from(digits) + 1;
    // 9.96 to two digits is 10: one digit more.
    let rounded = (u / 10_f64.powi(place(first))).round();
    let carried = rounded >= 10_f64.powi(i32::from(digits));
    0.5 * 10_f64.powi(place(first + i32::from(carried)))
}

/// x with Φ(x) = p, by Newton on the error function's series.
fn normal_quantile(p: f64) -> f64 {
    if p == 0.5 {
        return 0.0;
    }
    if p < 0.5 {
        return -normal_quantile(1.0 - p);
    }
    let mut x: f64 = 0.0;
    // From the middle outwards the curve only flattens, so Newton comes from below and never
    // overshoots; 60 steps reach Φ = 1 − 1e-15.
    for _ in 0..60 {
        let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let step = (p - normal_below(x)) / density;
        x += step;
        if step.abs() < 1e-13 {
            break;
        }
    }
    x
}

/// Φ(x) for x ≥ 0: ½ + φ(x)·(x + x³/3 + x⁵/15 + …) near the middle, Laplace's fraction beyond.
pub(crate) fn normal_below(x: f64) -> f64 {
    if x < 0.0 {
        return 1.0 - normal_below(-x);
    }
    let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    if x > 5.0 {
        let fraction = (1..=60).rev().fold(x, |below, k| x + f64::from(k) / below);
        return 1.0 - density / fraction;
    }
    let (mut term, mut sum, mut n) = (x, x, 3.0);
    while term.abs() > 1e-17 * sum.abs() && n < 400.0 {
        term *= x * x / n;
        sum += term;
        n += 2.0;
    }
    0.5 + density * sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1.644 854, 1.959 964, 2.575 829 (any table of the normal distribution, from memory).
    #[test]
    fn quantiles_of_the_normal_curve() {
        for (p, x) in [(0.95, 1.644_854), (0.975, 1.959_964), (0.995, 2.575_829)] {
            assert!((normal_quantile(p) - x).abs() < 6e-7, "{p}");
            assert!((normal_quantile(1.0 - p) + x).abs() < 6e-7, "{p}");
        }
        for x in [-7.0_f64, -3.0, -0.2, 0.0, 0.5, 2.0, 4.99, 5.01, 6.5] {
            // The density by differences: a road without the series.
            let h = 1e-4;
            let slope = (normal_below(x + h) - normal_below(x - h)) / (2.0 * h);
            let density = (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
            assert!((slope - density).abs() < 1e-8, "{x}");
        }
    }

    /// JCGM 101, 7.9.2: 0.000 35 to two digits is 35·10⁻⁵, so δ = ½·10⁻⁵; and by hand.
    #[test]
    fn half_of_the_last_digit() {
        let rows = [(0.000_35, 2, 0.5e-5), (2.0, 1, 0.5), (2.0, 2, 0.05), (9.96, 2, 0.5)];
        for (u, digits, delta) in rows {
            assert!((tolerance(u, digits) / delta - 1.0).abs() < 1e-9, "{u}");
        }
    }
}

//! Sine, cosine and arc tangent for the angles of a suspension, fast enough to inline.
//!
//! Taylor series on a short range, so the coefficients are exact fractions that anyone can check;
//! outside the range the standard library answers. Within two units in the last place of it
//! (tested).

use super::kernel::{above, up_to};
use super::number::{Lanes, Real};

/// π/2 as its first 33 bits and the rest, so that the first product is exact.
const FIRST: f64 = f64::from_bits(0x3FF9_21FB_5440_0000);
const REST: f64 = std::f64::consts::FRAC_PI_2 - FIRST + LOST;
/// What π/2 has beyond a double.
const LOST: f64 = 6.123_233_995_736_766e-17;
/// Adding and taking away 1.5·2⁵² rounds to the nearest whole number.
const ROUND: f64 = 6_755_399_441_055_744.0;

/// Sine and cosine.
#[inline]
pub(crate) fn sin_cos(x: f64) -> (f64, f64) {
    // A plate turns by less than this; the split of π/2 below is good to it.
    if !up_to(x, 8.0) {
        return x.sin_cos();
    }
    let quarters = (x * std::f64::consts::FRAC_2_PI + ROUND) - ROUND;
    let r = (x - quarters * FIRST) - quarters * REST;
    let (s, c) = short(r);
    let turn = quarters as i32;
    let (s, c) = if turn & 1 == 0 { (s, c) } else { (c, s) };
    let sine = if turn & 2 == 0 { s } else { -s };
    let cosine = if (turn + 1) & 2 == 0 { c } else { -c };
    (sine, cosine)
}

/// Taylor series to x¹⁷ and x¹⁶, for |x| up to π/4: what is left out is below 1e-18.
#[inline]
fn short<D: Real>(x: D) -> (D, D) {
    const fn over_factorial(n: u32) -> f64 {
        let (mut k, mut product) = (1, 1.0);
        while k < n {
            k += 1;
            product *= k as f64;
        }
        1.0 / product
    }
    const S: [f64; 8] = [
        -over_factorial(3),
        over_factorial(5),
        -over_factorial(7),
        over_factorial(9),
        -over_factorial(11),
        over_factorial(13),
        -over_factorial(15),
        over_factorial(17),
    ];
    const C: [f64; 8] = [
        -over_factorial(2),
        over_factorial(4),
        -over_factorial(6),
        over_factorial(8),
        -over_factorial(10),
        over_factorial(12),
        -over_factorial(14),
        over_factorial(16),
    ];
    let y = x * x;
    (x + x * (y * eight(S, y)), y * eight(C, y) + 1.0)
}

/// Eight coefficients in pairs (Estrin), so that the products do not wait for each other.
#[inline]
fn eight<D: Real>([a, b, c, d, e, f, g, h]: [f64; 8], y: D) -> D {
    let y2 = y * y;
    let low = (y * b + a) + y2 * (y * d + c);
    let high = (y * f + e) + y2 * (y * h + g);
    low + (y2 * y2) * high
}

/// Arc tangents of `a/x` and `b/x` for a wheel's angles: `x` is positive, the others small
/// beside it.
#[inline]
pub(crate) fn wheel_angles(a: f64, b: f64, x: f64) -> (f64, f64) {
    let per_x = 1.0 / x;
    let (s, t) = (a * per_x, b * per_x);
    if above(x, 0.0) && up_to(s, SMALL) && up_to(t, SMALL) {
        (small(s), small(t))
    } else {
        (a.atan2(x), b.atan2(x))
    }
}

/// The same abreast.
#[inline]
pub(crate) fn wheel_angles_abreast(a: Lanes, b: Lanes, x: Lanes) -> (Lanes, Lanes) {
    let per_x = x.over();
    let (s, t) = (a * per_x, b * per_x);
    if x.is_above(0.0) && s.all_up_to(SMALL) && t.all_up_to(SMALL) {
        return (small(s), small(t));
    }
    // Each for itself, so that a pose is the same alone and in company.
    let mut both = (a, b);
    for (lane, x) in x.0.into_iter().enumerate() {
        let (Some(s), Some(t)) = (both.0.0.get_mut(lane), both.1.0.get_mut(lane)) else { continue };
        (*s, *t) = wheel_angles(*s, *t, x);
    }
    both
}

/// 1/8 is 7.1°.
const SMALL: f64 = 0.125;

/// Taylor series to t¹⁷. Left out: t¹⁹/19, below 3e-18 of the angle.
#[inline]
fn small<D: Real>(t: D) -> D {
    const A: [f64; 8] = [
        -1.0 / 3.0,
        1.0 / 5.0,
        -1.0 / 7.0,
        1.0 / 9.0,
        -1.0 / 11.0,
        1.0 / 13.0,
        -1.0 / 15.0,
        1.0 / 17.0,
    ];
    let u = t * t;
    t + t * (u * eight(A, u))
}

/// Sine and cosine abreast: the choices are made by multiplying with 0 and ±1, which is exact.
#[inline]
pub(crate) fn sin_cos_abreast(x: Lanes) -> (Lanes, Lanes) {
    if !x.all_up_to(8.0) {
        return (x.each(|x| sin_cos(x).0), x.each(|x| sin_cos(x).1));
    }
    let whole = |x: Lanes| (x + ROUND) - ROUND;
    // 0 for even whole numbers and 1 for odd ones.
    let odd = |n: Lanes| n - whole(n * 0.5 - 0.25) * 2.0;
    let quarters = whole(x * std::f64::consts::FRAC_2_PI);
    let r = (x - quarters * FIRST) - quarters * REST;
    let (s, c) = short(r);
    let swap = odd(quarters);
    let stay = -swap + 1.0;
    let halves = (quarters - swap) * 0.5;
    let sine_sign = odd(halves) * -2.0 + 1.0;
    // The cosine changes its sign one quarter earlier.
    let cosine_sign = odd(halves + swap) * -2.0 + 1.0;
    ((s * stay + c * swap) * sine_sign, (c * stay + s * swap) * cosine_sign)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sine_and_cosine_agree_with_the_standard_library() {
        let mut differ = 0;
        for n in -160_000..=160_000 {
            let x = f64::from(n) * 5e-5;
            let (s, c) = sin_cos(x);
            assert!((s - x.sin()).abs() <= 2.3e-16, "sin {x}: {s:e}");
            assert!((c - x.cos()).abs() <= 2.3e-16, "cos {x}: {c:e}");
            differ += usize::from(s != x.sin());
        }
        // A different road: it must not be the same bits throughout.
        assert!(differ > 0);
        for n in -36_000..=36_000 {
            let x = f64::from(n) * 2e-4;
            let four = Lanes([x, x + 0.7, -x, 0.5 * x]);
            let (s, c) = sin_cos_abreast(four);
            for (lane, x) in four.0.into_iter().enumerate() {
                let alone = sin_cos(x);
                assert_eq!((s.0[lane], c.0[lane]), alone, "{x}");
            }
        }
        for x in [f64::NAN, f64::INFINITY, 1e300] {
            assert_eq!(sin_cos(x).0.to_bits(), x.sin_cos().0.to_bits());
        }
    }

    #[test]
    fn wheel_angles_agree_with_the_standard_library() {
        for n in -4000..=4000 {
            let (y, x) = (f64::from(n) * 5e-5, 0.97);
            let (one, other) = wheel_angles(y, -0.5 * y, x);
            for (told, y) in [(one, y), (other, -0.5 * y)] {
                assert!((told - y.atan2(x)).abs() <= 4e-16 * y.abs(), "{y}: {told:e}");
            }
        }
        assert_eq!(wheel_angles(0.5, 0.1, -1.0), (0.5_f64.atan2(-1.0), 0.1_f64.atan2(-1.0)));
        assert!(wheel_angles(f64::NAN, 0.1, 1.0).0.is_nan());
        let mixed = [0.01, 0.5, -0.02, f64::NAN];
        let (a, b) = wheel_angles_abreast(Lanes(mixed), Lanes([0.1; 4]), Lanes([0.9; 4]));
        for (lane, y) in mixed.into_iter().enumerate() {
            let alone = wheel_angles(y, 0.1, 0.9);
            assert_eq!(a.0[lane].to_bits(), alone.0.to_bits());
            assert_eq!(b.0[lane].to_bits(), alone.1.to_bits());
        }
    }
}

//! Sine, cosine and arc tangent for the angles of a suspension, fast enough to inline.
//!
//! Taylor series on a short range, so the coefficients are exact fractions that anyone can check;
//! outside the range the standard library answers. Within two units in the last place of it
//! (tested).

use super::kernel::up_to;

/// Sine and cosine.
#[inline]
pub(crate) fn sin_cos(x: f64) -> (f64, f64) {
    // A plate turns by less than this; the split of π/2 below is good to it.
    if !up_to(x, 8.0) {
        return x.sin_cos();
    }
    // π/2 as its first 33 bits and the rest, so that the first product is exact.
    const FIRST: f64 = f64::from_bits(0x3FF9_21FB_5440_0000);
    const REST: f64 = std::f64::consts::FRAC_PI_2 - FIRST + LOST;
    // What π/2 has beyond a double.
    const LOST: f64 = 6.123_233_995_736_766e-17;
    // Adding and taking away 1.5·2⁵² rounds to the nearest whole number.
    const ROUND: f64 = 6_755_399_441_055_744.0;
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
fn short(x: f64) -> (f64, f64) {
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
    (x + x * (y * eight(S, y)), 1.0 + y * eight(C, y))
}

/// Eight coefficients in pairs (Estrin), so that the products do not wait for each other.
#[inline]
fn eight([a, b, c, d, e, f, g, h]: [f64; 8], y: f64) -> f64 {
    let y2 = y * y;
    let (low, high) = ((a + b * y) + y2 * (c + d * y), (e + f * y) + y2 * (g + h * y));
    low + (y2 * y2) * high
}

/// Arc tangent of `y/x` for a wheel's angles: `x` is positive and `y` small beside it.
#[inline]
pub(crate) fn wheel_angle(y: f64, x: f64) -> f64 {
    let t = y / x;
    // 1/8 is 7.1°. NaN goes to the standard library as well.
    if x > 0.0 && t.abs() <= 0.125 {
        // Left out: t¹⁹/19, below 3e-18 of the angle.
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
    } else {
        y.atan2(x)
    }
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
        for x in [f64::NAN, f64::INFINITY, 1e300] {
            assert_eq!(sin_cos(x).0.to_bits(), x.sin_cos().0.to_bits());
        }
    }

    #[test]
    fn wheel_angles_agree_with_the_standard_library() {
        for n in -4000..=4000 {
            let (y, x) = (f64::from(n) * 5e-5, 0.97);
            let near = wheel_angle(y, x) - y.atan2(x);
            assert!(near.abs() <= 3e-16 * y.abs(), "{y}: {near:e}");
        }
        assert_eq!(wheel_angle(0.5, -1.0), 0.5_f64.atan2(-1.0));
        assert!(wheel_angle(f64::NAN, 1.0).is_nan());
    }
}

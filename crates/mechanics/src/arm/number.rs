//! What the closed form is written in: numbers, dual numbers, or four numbers abreast.

use std::ops::{Add, Div, Mul, Neg, Sub};

use num_dual::{Dual64, DualNum};

use super::trig;

/// A number of some kind.
pub(crate) trait Real:
    Copy
    + Neg<Output = Self>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Add<f64, Output = Self>
    + Sub<f64, Output = Self>
    + Mul<f64, Output = Self>
{
    /// A constant.
    fn of(value: f64) -> Self;
    /// Its value; the first of several.
    fn value(self) -> f64;
    /// Whether it, or each of several, is larger than a number; false for NaN.
    fn is_above(self, floor: f64) -> bool;
    /// Square root.
    fn root(self) -> Self;
    /// One over it.
    fn over(self) -> Self;
    /// Sine and cosine of an angle.
    fn sin_and_cos(self) -> (Self, Self);
}

impl Real for f64 {
    #[inline]
    fn of(value: f64) -> Self {
        value
    }
    #[inline]
    fn value(self) -> f64 {
        self
    }
    #[inline]
    fn is_above(self, floor: f64) -> bool {
        self > floor
    }
    #[inline]
    fn root(self) -> Self {
        self.sqrt()
    }
    #[inline]
    fn over(self) -> Self {
        1.0 / self
    }
    #[inline]
    fn sin_and_cos(self) -> (Self, Self) {
        trig::sin_cos(self)
    }
}

impl Real for Dual64 {
    #[inline]
    fn of(value: f64) -> Self {
        Self::from(value)
    }
    #[inline]
    fn value(self) -> f64 {
        self.re
    }
    #[inline]
    fn is_above(self, floor: f64) -> bool {
        self.re > floor
    }
    #[inline]
    fn root(self) -> Self {
        DualNum::sqrt(&self)
    }
    #[inline]
    fn over(self) -> Self {
        DualNum::recip(&self)
    }
    #[inline]
    fn sin_and_cos(self) -> (Self, Self) {
        DualNum::sin_cos(&self)
    }
}

/// How many numbers stand abreast.
pub(crate) const ABREAST: usize = 4;

/// Numbers abreast: plain loops over an array, which the compiler turns into the wide
/// instructions of whatever machine it builds for.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(32))]
pub(crate) struct Lanes(pub(crate) [f64; ABREAST]);

impl Lanes {
    #[inline]
    pub(crate) fn each(self, f: impl Fn(f64) -> f64) -> Self {
        let Self([a, b, c, d]) = self;
        Self([f(a), f(b), f(c), f(d)])
    }
    #[inline]
    pub(crate) fn with(self, other: Self, f: impl Fn(f64, f64) -> f64) -> Self {
        let (Self([a, b, c, d]), Self([e, g, h, i])) = (self, other);
        Self([f(a, e), f(b, g), f(c, h), f(d, i)])
    }
    /// Whether each is no larger than a limit, either way; false for NaN.
    #[inline]
    pub(crate) fn all_up_to(self, most: f64) -> bool {
        let Self([a, b, c, d]) = self.each(f64::abs);
        (a <= most) & (b <= most) & (c <= most) & (d <= most)
    }
}

impl Neg for Lanes {
    type Output = Self;
    #[inline]
    fn neg(self) -> Self {
        self.each(|x| -x)
    }
}

macro_rules! lane_by_lane {
    ($($trait:ident $method:ident $op:tt)+) => { $(
        impl $trait for Lanes {
            type Output = Self;
            #[inline]
            fn $method(self, other: Self) -> Self {
                self.with(other, |a, b| a $op b)
            }
        }
        impl $trait<f64> for Lanes {
            type Output = Self;
            #[inline]
            fn $method(self, other: f64) -> Self {
                self.each(|a| a $op other)
            }
        }
    )+ };
}
lane_by_lane! { Add add + Sub sub - Mul mul * Div div / }

impl Real for Lanes {
    #[inline]
    fn of(value: f64) -> Self {
        Self([value; ABREAST])
    }
    #[inline]
    fn value(self) -> f64 {
        self.0[0]
    }
    #[inline]
    fn is_above(self, floor: f64) -> bool {
        let Self([a, b, c, d]) = self;
        // Not `&&`: one wide comparison is cheaper than three branches.
        (a > floor) & (b > floor) & (c > floor) & (d > floor)
    }
    #[inline]
    fn root(self) -> Self {
        self.each(f64::sqrt)
    }
    #[inline]
    fn over(self) -> Self {
        self.each(|x| 1.0 / x)
    }
    #[inline]
    fn sin_and_cos(self) -> (Self, Self) {
        trig::sin_cos_abreast(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_of_several_is_enough_to_fail() {
        for lane in 0..ABREAST {
            for (odd_one, above) in [(f64::NAN, false), (-1.0, false), (1.0, true)] {
                let mut several = Lanes([0.5, 1.0, 2.0, 0.25]);
                several.0[lane] = odd_one;
                assert_eq!(several.is_above(0.0), above, "{several:?}");
                assert_eq!(several.all_up_to(2.0), !odd_one.is_nan(), "{several:?}");
            }
        }
        assert!(!Lanes([0.0, 0.0, 0.0, -2.1]).all_up_to(2.0));
    }
}

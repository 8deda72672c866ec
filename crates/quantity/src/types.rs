//! The quantities: one newtype each, SI inside, unit in every name at the edge.

use std::ops::{Add, Div, Mul, Neg, Sub};

/// Exact definitions from which every other factor is multiplied out.
///
/// # Source
/// NIST SP 811 (2008), App. B: the pound, the inch and standard gravity are exact by definition.
pub mod exact {
    /// Kilograms in one avoirdupois pound; exact by definition.
    pub const POUND_KG: f64 = 0.453_592_37;
    /// Metres in one inch; exact by definition.
    pub const INCH_M: f64 = 0.025_4;
    /// Metres in one foot; exact, twelve inches.
    pub const FOOT_M: f64 = 0.304_8;
    /// Standard acceleration of free fall in m/s²; exact by definition.
    pub const STANDARD_GRAVITY: f64 = 9.806_65;
    /// Newtons in one kilogram-force (kilopond); exact.
    pub const KILOGRAM_FORCE_N: f64 = STANDARD_GRAVITY;
    /// Newtons in one pound-force; exact.
    pub const POUND_FORCE_N: f64 = POUND_KG * STANDARD_GRAVITY;
    /// Newton metres in one pound-force foot; exact.
    pub const POUND_FORCE_FOOT_NM: f64 = POUND_FORCE_N * FOOT_M;
    /// Newton metres in one pound-force inch; exact.
    pub const POUND_FORCE_INCH_NM: f64 = POUND_FORCE_N * INCH_M;
    /// Pascals in one pound-force per square inch; exact.
    pub const PSI_PA: f64 = POUND_FORCE_N / (INCH_M * INCH_M);
}

macro_rules! operator {
    ($name:ident: $trait:ident::$method:ident($other:ty) -> $out:ty = $compute:expr) => {
        impl $trait<$other> for $name {
            type Output = $out;
            fn $method(self, other: $other) -> $out {
                let compute: fn(Self, $other) -> $out = $compute;
                compute(self, other)
            }
        }
    };
}

macro_rules! quantity {
    (
        $(#[$doc:meta])* $name:ident, $base:literal;
        $($unit:ident, $to:ident, $factor:expr, $udoc:literal;)+
    ) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0.0);
            #[doc = concat!("From the SI base value in ", $base, ".")]
            pub const fn from_si(value: f64) -> Self { Self(value) }
            #[doc = concat!("The SI base value in ", $base, ".")]
            pub const fn to_si(self) -> f64 { self.0 }
            $(
                #[doc = concat!("From ", $udoc, ".")]
                pub const fn $unit(value: f64) -> Self { Self(value * $factor) }
                #[doc = concat!("In ", $udoc, ".")]
                pub const fn $to(self) -> f64 { self.0 / $factor }
            )+
            /// Without its sign.
            pub const fn abs(self) -> Self { Self(self.0.abs()) }
            /// False for NaN and the infinities.
            pub const fn is_finite(self) -> bool { self.0.is_finite() }
            /// The smaller of the two.
            pub const fn min(self, other: Self) -> Self { Self(self.0.min(other.0)) }
            /// The larger of the two.
            pub const fn max(self, other: Self) -> Self { Self(self.0.max(other.0)) }
        }
        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self { Self(-self.0) }
        }
        operator! { $name: Add::add($name) -> $name = |a, b| Self(a.0 + b.0) }
        operator! { $name: Sub::sub($name) -> $name = |a, b| Self(a.0 - b.0) }
        operator! { $name: Mul::mul(f64) -> $name = |a, k| Self(a.0 * k) }
        operator! { $name: Div::div(f64) -> $name = |a, k| Self(a.0 / k) }
        operator! { $name: Div::div($name) -> f64 = |a, b| a.0 / b.0 }
    };
}

quantity! {
    /// A length or a distance.
    Length, "metres";
    m, to_m, 1.0, "metres";
    mm, to_mm, 1e-3, "millimetres";
    cm, to_cm, 1e-2, "centimetres";
    inches, to_inches, exact::INCH_M, "inches";
}
quantity! {
    /// An area: a cross-section that carries a force.
    Area, "square metres";
    m2, to_m2, 1.0, "square metres";
    mm2, to_mm2, 1e-6, "square millimetres";
}
quantity! {
    /// A plane angle, or a difference of two.
    Angle, "radians";
    rad, to_rad, 1.0, "radians";
    deg, to_deg, (std::f64::consts::PI / 180.0), "degrees";
}
quantity! {
    /// A mass.
    Mass, "kilograms";
    kg, to_kg, 1.0, "kilograms";
    lb, to_lb, exact::POUND_KG, "avoirdupois pounds";
}
quantity! {
    /// A force.
    Force, "newtons";
    n, to_n, 1.0, "newtons";
    kn, to_kn, 1e3, "kilonewtons";
    kgf, to_kgf, exact::KILOGRAM_FORCE_N, "kilograms-force";
    lbf, to_lbf, exact::POUND_FORCE_N, "pounds-force";
}
quantity! {
    /// A torque (moment of force). Not an energy.
    Torque, "newton metres";
    nm, to_nm, 1.0, "newton metres";
    kgf_m, to_kgf_m, exact::KILOGRAM_FORCE_N, "kilogram-force metres";
    lbf_ft, to_lbf_ft, exact::POUND_FORCE_FOOT_NM, "pound-force feet";
    lbf_in, to_lbf_in, exact::POUND_FORCE_INCH_NM, "pound-force inches";
}
quantity! {
    /// A stress, or a modulus of elasticity.
    Stress, "pascals";
    pa, to_pa, 1.0, "pascals";
    mpa, to_mpa, 1e6, "megapascals";
    gpa, to_gpa, 1e9, "gigapascals";
    kgf_mm2, to_kgf_mm2, (exact::KILOGRAM_FORCE_N * 1e6), "kilograms-force per square millimetre";
    psi, to_psi, exact::PSI_PA, "pounds-force per square inch";
}
quantity! {
    /// Torque per angle of twist.
    TorsionalRate, "newton metres per radian";
    nm_per_rad, to_nm_per_rad, 1.0, "newton metres per radian";
    nm_per_deg, to_nm_per_deg, (180.0 / std::f64::consts::PI), "newton metres per degree";
}
quantity! {
    /// Force per length: a spring rate, a wheel rate.
    LinearRate, "newtons per metre";
    n_per_m, to_n_per_m, 1.0, "newtons per metre";
    n_per_mm, to_n_per_mm, 1e3, "newtons per millimetre";
    lbf_per_in, to_lbf_per_in, (exact::POUND_FORCE_N / exact::INCH_M), "pounds-force per inch";
}
quantity! {
    /// Energy stored or work done. Not a torque.
    Energy, "joules";
    j, to_j, 1.0, "joules";
}
quantity! {
    /// Cycles per second.
    Frequency, "hertz";
    hz, to_hz, 1.0, "hertz";
    per_minute, to_per_minute, (1.0 / 60.0), "cycles per minute";
}
quantity! {
    /// A distance in a picture.
    Pixels, "pixels";
    px, to_px, 1.0, "pixels";
}
quantity! {
    /// A pure number: a share, a coefficient of friction.
    Ratio, "one";
    one, to_one, 1.0, "parts of one";
    percent, to_percent, 1e-2, "per cent";
}

impl Mul<Angle> for TorsionalRate {
    type Output = Torque;
    fn mul(self, twist: Angle) -> Torque {
        Torque::from_si(self.to_si() * twist.to_si())
    }
}
impl Div<TorsionalRate> for Torque {
    type Output = Angle;
    fn div(self, rate: TorsionalRate) -> Angle {
        Angle::from_si(self.to_si() / rate.to_si())
    }
}
impl Mul<Length> for Force {
    type Output = Torque;
    fn mul(self, lever: Length) -> Torque {
        Torque::from_si(self.to_si() * lever.to_si())
    }
}
impl Div<Length> for Torque {
    type Output = Force;
    fn div(self, lever: Length) -> Force {
        Force::from_si(self.to_si() / lever.to_si())
    }
}
impl Mul<Area> for Stress {
    type Output = Force;
    fn mul(self, section: Area) -> Force {
        Force::from_si(self.to_si() * section.to_si())
    }
}
impl Div<Area> for Force {
    type Output = Stress;
    fn div(self, section: Area) -> Stress {
        Stress::from_si(self.to_si() / section.to_si())
    }
}
impl Mul<Length> for LinearRate {
    type Output = Force;
    fn mul(self, travel: Length) -> Force {
        Force::from_si(self.to_si() * travel.to_si())
    }
}
impl Mass {
    /// Weight under standard gravity, `m·gₙ`.
    pub const fn weight(self) -> Force {
        Force::from_si(self.to_si() * exact::STANDARD_GRAVITY)
    }
}
impl Force {
    /// The mass whose weight under standard gravity this force is.
    pub const fn as_weight(self) -> Mass {
        Mass::from_si(self.to_si() / exact::STANDARD_GRAVITY)
    }
}
impl Angle {
    /// Sine.
    pub fn sin(self) -> f64 {
        self.0.sin()
    }
    /// Cosine.
    pub fn cos(self) -> f64 {
        self.0.cos()
    }
}

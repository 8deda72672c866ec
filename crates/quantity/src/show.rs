//! A quantity as a person reads it: rounded here and nowhere else.

use std::fmt;

use crate::unit::{self, Unit};
use crate::{
    Amount, Angle, Energy, Force, Frequency, Kind, Length, LinearRate, Mass, Place, PlatePoint,
    QuantityError, Ratio, Stress, Torque, TorsionalRate, Written, WrittenPlace, WrittenPlatePoint,
};

/// An amount in a unit of the reader's choice, from [`Amount::in_unit`].
///
/// Shown with the decimals that make sense in that unit, more if it is so small that two digits
/// would not be seen otherwise, or with as many as the format asks for: `{:.3}`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InUnit {
    number: f64,
    name: &'static str,
    places: usize,
}

impl InUnit {
    fn new(amount: Amount, unit: &Unit) -> Self {
        Self { number: amount.to_si() / unit.si, name: unit.name, places: unit.places }
    }
    /// The number in front of the unit, not rounded.
    pub const fn number(self) -> f64 {
        self.number
    }
    /// The unit's name; empty for a bare share.
    pub const fn unit(self) -> &'static str {
        self.name
    }

    /// The value and its standard uncertainty (k = 1), each with the digits that are known; nothing
    /// without a positive finite uncertainty of the same unit, or where the value is no number.
    ///
    /// Every face of the program shows a doubt with these digits.
    ///
    /// # Source
    /// JCGM 100:2008 (GUM), 7.2.6, clauses from memory: two significant digits at most, and the
    /// value rounded to be consistent with it. Two up to 3.54, one for 3.0 and from 3.55 on, so
    /// that rounding changes the doubt by an eighth at most, and the value by a sixth of the doubt:
    /// own choice.
    pub fn doubted(self, u: Self) -> Option<Doubted> {
        if self.name != u.name || !self.number.is_finite() {
            return None;
        }
        let place = last_place(u.number, |d| 3.545 <= d || (2.95..3.05).contains(&d))?;
        let [number, u] = [self.number, u.number].map(|number| to_place(number, place));
        Some(Doubted { number, u, unit: self.name })
    }

    /// The value with its standard uncertainty (k = 1) as it can be typed back, `"96 u 5 mm"`; see
    /// [`Self::doubted`]. Without such an uncertainty the value stands alone.
    pub fn with_uncertainty(self, u: Self) -> String {
        self.doubted(u).map_or_else(|| self.to_string(), |doubted| doubted.typed())
    }

    /// The value with limits to be met, `"96 mm ± 5 mm"`: both to the place of the last digit that
    /// is not 0 among the first two of the half width. `parse_amount` reads it back.
    pub fn with_tolerance(self, half_width: Self) -> String {
        let same = self.name == half_width.name && self.number.is_finite();
        let place = last_place(half_width.number, |digits| (digits * 10.0).round() % 10.0 == 0.0);
        let Some(place) = place.filter(|_| same) else { return self.to_string() };
        let show = |number| with_unit(&to_place(number, place), self.name);
        format!("{} ± {}", show(self.number), show(half_width.number))
    }
}

/// A value and its standard uncertainty, both rounded to what is known: from
/// [`InUnit::doubted`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubted {
    number: String,
    u: String,
    unit: &'static str,
}

impl Doubted {
    /// The digits of the value, a hyphen before a negative one.
    pub fn number(&self) -> &str {
        &self.number
    }
    /// The digits of the uncertainty.
    pub fn u(&self) -> &str {
        &self.u
    }
    /// As it can be typed back, `"26.4 u 0.7 deg"`: `parse_amount` reads it.
    pub fn typed(&self) -> String {
        format!("{} u {}", self.number, with_unit(&self.u, self.unit))
    }
    /// The value alone, with its unit.
    pub fn value(&self) -> String {
        with_unit(&self.number, self.unit)
    }
}

/// The power of ten of the second significant digit, or of the first where the first two, as a
/// number from 1.0 to 9.9, say that one is enough. `None` unless greater than zero and finite.
fn last_place(spread: f64, is_one_enough: fn(f64) -> bool) -> Option<i32> {
    if !(spread > 0.0 && spread.is_finite()) {
        return None;
    }
    // Rounds first, so that 0.996 counts as 1.0 and not as 0.99.
    let text = format!("{spread:.2e}");
    let (digits, exponent) = text.split_once('e')?;
    let (digits, exponent): (f64, i32) = (digits.parse().ok()?, exponent.parse().ok()?);
    Some(if is_one_enough(digits) { exponent } else { exponent - 1 })
}

/// Rounded to a power of ten, with no more decimals than that.
fn to_place(number: f64, place: i32) -> String {
    if place <= 0 {
        let places = usize::try_from(-place).unwrap_or(0).min(MOST_PLACES);
        return plain(number, places);
    }
    let step = 10f64.powi(place);
    plain((number / step).round() * step, 0)
}

/// As many decimals as an f64 can mean anything by, for numbers as they occur on a car.
const MOST_PLACES: usize = 15;

/// Fixed decimals; no minus before a zero, no three hundred digits.
fn plain(number: f64, places: usize) -> String {
    if number.is_finite() && number.abs() >= 1e15 {
        return format!("{number:e}");
    }
    let text = format!("{number:.places$}");
    match text.strip_prefix('-') {
        Some(size) if !size.contains(|c: char| matches!(c, '1'..='9' | 'N' | 'i')) => {
            size.to_owned()
        }
        _ => text,
    }
}

/// The usual decimals, more for a small number so that two of its digits are seen; what is a
/// thousand times smaller than the last usual place is a zero with rounding noise.
fn sensible(number: f64, places: usize) -> String {
    let size = number.abs();
    let last = 10f64.powi(-i32::try_from(places).unwrap_or(0));
    if !size.is_finite() || size < last * 5e-4 || size >= 10.0 {
        return plain(number, places);
    }
    let needed = (1.0 - size.log10().floor()) as usize;
    let text = plain(number, needed.clamp(places, MOST_PLACES));
    let Some((_, decimals)) = text.split_once('.') else { return text };
    let spare = decimals.len().saturating_sub(places);
    let zeros = decimals.len() - decimals.trim_end_matches('0').len();
    let kept = text.get(..text.len() - spare.min(zeros)).unwrap_or(&text);
    kept.trim_end_matches('.').to_owned()
}

/// The strokes and the per cent: no blank before a stroke.
fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "" => number.to_owned(),
        "'" | "\"" => format!("{number}{unit}"),
        _ => format!("{number} {unit}"),
    }
}

impl fmt::Display for InUnit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let number = match f.precision() {
            Some(places) => plain(self.number, places),
            None => sensible(self.number, self.places),
        };
        let text = with_unit(&number, self.name);
        // `Formatter::pad` would take the precision for a length.
        let Some(width) = f.width() else { return f.write_str(&text) };
        match f.align() {
            Some(fmt::Alignment::Left) => write!(f, "{text:<width$}"),
            Some(fmt::Alignment::Center) => write!(f, "{text:^width$}"),
            _ => write!(f, "{text:>width$}"),
        }
    }
}

impl Amount {
    /// In the unit its kind is shown in.
    fn as_shown(self) -> Option<InUnit> {
        unit::of_kind(self.kind()).next().map(|u| InUnit::new(self, u))
    }

    /// In another unit of its kind, named as a person would write it: `in_unit("lbf ft")`.
    ///
    /// # Errors
    /// The text is no unit, or one of another kind.
    pub fn in_unit(self, name: &str) -> Result<InUnit, QuantityError> {
        let kind = self.kind();
        let span = 0..name.len();
        match unit::find(name.trim(), kind) {
            Some(found) if found.kind == kind => Ok(InUnit::new(self, found)),
            None if kind == Kind::Ratio && name.trim().is_empty() => {
                Ok(InUnit { number: self.to_si(), name: "", places: 3 })
            }
            Some(found) => {
                let unit = crate::error::cut(name);
                Err(QuantityError::WrongKind { unit, is: found.kind, kind, span })
            }
            None => {
                let (unit, nearest) = (crate::error::cut(name), unit::nearest(name, kind));
                Err(QuantityError::UnknownUnit { unit, nearest, kind, span })
            }
        }
    }

    /// The value with its standard uncertainty in the shown unit; see
    /// [`InUnit::with_uncertainty`].
    pub fn with_uncertainty(self, u: Self) -> String {
        self.beside(u, InUnit::with_uncertainty)
    }

    /// The value with its limits in the shown unit; see [`InUnit::with_tolerance`].
    pub fn with_tolerance(self, half_width: Self) -> String {
        self.beside(half_width, InUnit::with_tolerance)
    }

    fn beside(self, other: Self, show: fn(InUnit, InUnit) -> String) -> String {
        match (self.as_shown(), other.as_shown()) {
            (Some(value), Some(spread)) => show(value, spread),
            _ => self.to_string(),
        }
    }
}

/// The amount rounded to whole steps of the tool that will be used, in the shown unit: 45.11 N·m
/// to 0.5 N·m is `"45.0 N·m"`. A step of another kind, or none greater than zero, does not round.
pub fn format_rounded(amount: Amount, to: Amount) -> String {
    let step = to.shown();
    let usable = to.kind() == amount.kind() && step > 0.0 && step.is_finite();
    let Some(shown) = amount.as_shown().filter(|s| usable && s.number.is_finite()) else {
        return amount.to_string();
    };
    let is_whole = |x: f64| (x - x.round()).abs() < 1e-6 && x.round() != 0.0;
    let places = (0..=6_i32).find(|p| is_whole(step * 10f64.powi(*p))).unwrap_or(6);
    let rounded = (shown.number / step).round() * step;
    with_unit(&plain(rounded, usize::try_from(places).unwrap_or(0)), shown.name)
}

impl Angle {
    /// In degrees and whole minutes, `"-0°30'"`; the sign belongs to the whole.
    pub fn degrees_minutes(self) -> String {
        let minutes = (self.to_deg().abs() * 60.0).round();
        // Beyond this a whole minute is no longer exact, and beyond any angle that was meant.
        if minutes.is_nan() || minutes >= 1e12 {
            return self.to_string();
        }
        let minus = if self.to_si() < 0.0 && minutes > 0.0 { "-" } else { "" };
        format!("{minus}{}°{:02}'", (minutes / 60.0).floor(), minutes % 60.0)
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.as_shown() {
            Some(shown) => shown.fmt(f),
            None => write!(f, "{} {}", self.shown(), self.kind().unit()),
        }
    }
}

macro_rules! shown_as_amount {
    ($($name:ident)+) => { $(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                Amount::from(*self).fmt(f)
            }
        }
    )+ };
}
shown_as_amount! {
    Length Angle Mass Force Torque Stress TorsionalRate LinearRate Energy Frequency Ratio
}

/// `-55.0, 235.0, -20.0 mm`: X, Y, Z.
impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [x, y, z] =
            [self.x, self.y, self.z].map(|l| plain(l.to_mm(), f.precision().unwrap_or(1)));
        write!(f, "{x}, {y}, {z} mm")
    }
}

/// `250.0, 6.0 mm`: u, w.
impl fmt::Display for PlatePoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [u, w] = [self.u, self.w].map(|l| plain(l.to_mm(), f.precision().unwrap_or(1)));
        write!(f, "{u}, {w} mm")
    }
}

macro_rules! shown_as_written {
    ($($name:ident)+) => { $(
        /// The writer's own words, never a conversion of them.
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.text)
            }
        }
    )+ };
}
shown_as_written! { Written WrittenPlace WrittenPlatePoint }

//! Numbers as people read them: rounded to what is known, units beside them.

use axlewright_quantity::{Amount, Kind};
use axlewright_setup::Leaf;

/// Minus as a reader expects it; also keeps its place in a column of figures.
const MINUS: char = '\u{2212}';
/// Keeps number and unit on one line.
const NARROW_SPACE: char = '\u{202f}';
/// From here on a number is written with a power of ten.
const PLAIN_BELOW: f64 = 1e7;
/// An uncertainty below this, in printed units, is rounding in the calculation, not knowledge.
const EXACT_BELOW: f64 = 1e-6;
/// Thousands are set apart from here on.
const GROUP_FROM: usize = 5;

/// A number ready to be set: figures, ± figures, unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shown {
    pub(crate) number: String,
    pub(crate) plus_minus: Option<String>,
    pub(crate) unit: &'static str,
}

impl Shown {
    /// In one piece that does not break over lines: `26.3 ± 0.4°`.
    pub(crate) fn text(&self) -> String {
        let spread =
            self.plus_minus.as_ref().map(|u| format!("\u{a0}±\u{a0}{u}")).unwrap_or_default();
        format!("{}{spread}{}", self.number, with_space(self.unit))
    }
}

/// The unit with the space that belongs before it.
pub(crate) fn with_space(unit: &str) -> String {
    match unit {
        "" | "°" => unit.to_owned(),
        _ => format!("{NARROW_SPACE}{unit}"),
    }
}

/// The unit as it is printed beside a number.
pub(crate) const fn unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Angle => "°",
        Kind::TorsionalRate => "N·m/°",
        Kind::Ratio => "%",
        other => other.unit(),
    }
}

/// The number in [`unit`].
pub(crate) fn printed(amount: Amount) -> f64 {
    match amount.kind() {
        Kind::Ratio => amount.shown() * 100.0,
        _ => amount.shown(),
    }
}

/// Decimals when nothing is said of the uncertainty.
fn usual_places(kind: Kind, value: f64) -> usize {
    match kind {
        Kind::Angle | Kind::Length if value.abs() < 1.0 => 2,
        Kind::Angle | Kind::Length | Kind::Mass | Kind::Torque | Kind::LinearRate => 1,
        Kind::TorsionalRate | Kind::Frequency | Kind::Pixels => 2,
        Kind::Force | Kind::Stress | Kind::Energy | Kind::Ratio => 0,
    }
}

/// Decimals that an uncertainty justifies: one figure of it, two where it starts with a 1
/// (JCGM 100:2008, 7.2.6, allows up to two), and no hundredths of what is not even known to a
/// tenth: angle gauges and tapes are not read finer.
fn places_for(kind: Kind, u: f64) -> usize {
    if u <= 0.0 || !u.is_finite() {
        return usual_places(kind, 0.0);
    }
    let exponent = u.log10().floor();
    let leading = u / 10f64.powf(exponent);
    let places = -exponent + if leading < 1.95 { 1.0 } else { 0.0 };
    let finest = match kind {
        Kind::Force | Kind::Stress | Kind::Energy => 0.0,
        Kind::Angle | Kind::Length | Kind::Mass if u >= 0.1 => 1.0,
        _ => 2.0,
    };
    places.clamp(0.0, finest) as usize
}

/// Tens, hundreds … below which an uncertainty leaves nothing known; 1 where single units are.
fn whole_step(u: f64) -> f64 {
    let exponent = u.log10().floor();
    let leading = u / 10f64.powf(exponent);
    let step = 10f64.powf(exponent - if leading < 1.95 { 1.0 } else { 0.0 });
    if step.is_finite() { step.max(1.0) } else { 1.0 }
}

/// A leaf, rounded to its uncertainty.
pub(crate) fn shown(leaf: &Leaf) -> Shown {
    let kind = leaf.value.kind();
    let value = printed(leaf.value);
    let u = leaf.u.map(printed).filter(|u| u.is_finite() && *u > EXACT_BELOW);
    let places = u.map_or_else(|| usual_places(kind, value), |u| places_for(kind, u));
    let step = u.map_or(1.0, whole_step);
    let whole = |number: f64| if 1.0 < step { (number / step).round() * step } else { number };
    Shown {
        number: figures(whole(value), places),
        plus_minus: u.map(|u| spread_figures(whole(u), places)),
        unit: unit(kind),
    }
}

/// An amount with the decimals its kind usually has.
pub(crate) fn amount(amount: Amount) -> String {
    let value = printed(amount);
    let kind = amount.kind();
    format!("{}{}", figures(value, usual_places(kind, value)), with_space(unit(kind)))
}

/// An amount with its uncertainty, if any, in one piece.
pub(crate) fn amount_and_u(value: Amount, u: Option<Amount>) -> String {
    shown(&Leaf { value, u, written: None }).text()
}

/// A ± that would round to nothing says so.
fn spread_figures(u: f64, places: usize) -> String {
    let text = figures(u, places);
    if text.contains(|c: char| c.is_ascii_digit() && c != '0') {
        return text;
    }
    let least = 10f64.powi(-i32::try_from(places).unwrap_or(0));
    format!("< {}", figures(least, places))
}

/// A number with so many decimals, a true minus and thousands apart.
pub(crate) fn figures(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "no number".to_owned();
    }
    if value.abs() >= PLAIN_BELOW {
        return format!("{value:.3e}").replace('-', &MINUS.to_string());
    }
    let text = format!("{:.places$}", value.abs());
    let (whole, rest) = text.split_at(text.find('.').unwrap_or(text.len()));
    let mut out = String::new();
    if value < 0.0 && text.contains(|c: char| c.is_ascii_digit() && c != '0') {
        out.push(MINUS);
    }
    for (n, digit) in whole.chars().enumerate() {
        if n > 0 && whole.len() >= GROUP_FROM && (whole.len() - n) % 3 == 0 {
            out.push(NARROW_SPACE);
        }
        out.push(digit);
    }
    out.push_str(rest);
    out
}

/// A whole number with its sign: `+2`, `−10`, `0`.
pub(crate) fn signed(n: i64) -> String {
    let text = figures(n as f64, 0);
    if 0 < n { format!("+{text}") } else { text }
}

/// A share of the variance in per cent, or that it is small.
pub(crate) fn share(share: f64) -> String {
    let percent = share * 100.0;
    if percent < 0.5 { "under 1 %".to_owned() } else { format!("{} %", figures(percent, 0)) }
}

#[cfg(test)]
mod tests {
    use axlewright_quantity::{Angle, Force, Length, Ratio};

    use super::*;

    fn check(value: impl Into<Amount>, u: Option<Amount>, expected: &str) {
        assert_eq!(amount_and_u(value.into(), u).replace('\u{a0}', " "), expected);
    }

    #[test]
    fn numbers_are_rounded_to_what_is_known() {
        check(Angle::deg(26.283), Some(Angle::deg(0.42).into()), "26.3 ± 0.4°");
        check(Angle::deg(26.283), Some(Angle::deg(0.137).into()), "26.3 ± 0.1°");
        check(Angle::deg(0.104), Some(Angle::deg(0.083).into()), "0.10 ± 0.08°");
        check(Length::mm(23.0), Some(Length::mm(0.03).into()), "23.00 ± 0.03\u{202f}mm");
        check(Length::mm(-90.0), Some(Length::mm(1e-9).into()), "−90.0\u{202f}mm");
        check(Angle::deg(-0.5), None, "−0.50°");
        check(Length::mm(96.4), Some(Length::mm(5.2).into()), "96 ± 5\u{202f}mm");
        check(Force::n(12_753.4), None, "12\u{202f}753\u{202f}N");
        check(Ratio::one(0.873), None, "87\u{202f}%");
        check(Force::n(2603.8), Some(Force::n(113.2).into()), "2600 ± 110\u{202f}N");
        check(Force::n(1509.9), Some(Force::n(284.0).into()), "1500 ± 300\u{202f}N");
        check(Force::n(1033.7), Some(Force::n(16.6).into()), "1034 ± 17\u{202f}N");
    }

    #[test]
    fn nothing_rounds_to_a_lie() {
        check(Angle::deg(-0.001), None, "0.00°");
        check(Length::mm(12.0), Some(Length::mm(0.001).into()), "12.00 ± < 0.01\u{202f}mm");
        check(Force::n(f64::NAN), None, "no number\u{202f}N");
        check(Force::n(-1e300), None, "−1.000e300\u{202f}N");
    }
}

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
const EXACT_BELOW: f64 = 1e-4;
/// Thousands are set apart from here on.
const GROUP_FROM: usize = 5;

/// A number ready to be set: figures, those of its standard uncertainty, unit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Shown {
    pub(crate) number: String,
    pub(crate) u: Option<String>,
    pub(crate) unit: &'static str,
}

impl Shown {
    /// In one piece: `26.3° (u 0.4°)`.
    pub(crate) fn text(&self) -> String {
        let unit = with_space(self.unit);
        let doubt = self.doubt(true).map(|doubt| format!(" {doubt}")).unwrap_or_default();
        format!("{}{unit}{doubt}", self.number)
    }

    /// The doubt alone, which does not break over lines: `(u 0.4°)`; without its unit where that
    /// stands elsewhere.
    pub(crate) fn doubt(&self, with_unit: bool) -> Option<String> {
        let unit = if with_unit { with_space(self.unit) } else { String::new() };
        self.u.as_ref().map(|u| format!("(u\u{a0}{u}{unit})"))
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

/// The unit as it is typed.
const fn typed_unit(kind: Kind) -> &'static str {
    match kind {
        Kind::Ratio => "%",
        other => other.unit(),
    }
}

/// A leaf with the digits that its uncertainty leaves known.
pub(crate) fn shown(leaf: &Leaf) -> Shown {
    let kind = leaf.value.kind();
    let in_unit = |amount: Amount| amount.in_unit(typed_unit(kind)).ok();
    let u = leaf.u.filter(|u| EXACT_BELOW < printed(*u));
    let doubted = u.and_then(in_unit).and_then(|u| in_unit(leaf.value)?.doubted(u));
    let (number, u) = match doubted {
        Some(doubted) => (set(doubted.number()), Some(set(doubted.u()))),
        None => {
            let value = printed(leaf.value);
            (figures(value, usual_places(kind, value)), None)
        }
    };
    Shown { number, u, unit: unit(kind) }
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

/// A number with so many decimals, a true minus and thousands apart.
pub(crate) fn figures(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "no number".to_owned();
    }
    if value.abs() >= PLAIN_BELOW {
        return format!("{value:.3e}").replace('-', &MINUS.to_string());
    }
    set(&format!("{value:.places$}"))
}

/// Digits with a true minus, none before a zero, and thousands apart.
fn set(digits: &str) -> String {
    let size = digits.trim_start_matches('-');
    let (whole, rest) = size.split_at(size.find(['.', 'e']).unwrap_or(size.len()));
    let mut out = String::new();
    if size.len() < digits.len() && size.contains(|c: char| ('1'..='9').contains(&c)) {
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
    use axlewright_quantity::{Angle, Force, Length, Ratio, parse_amount};

    use super::*;

    fn check(value: impl Into<Amount>, u: Option<Amount>, expected: &str) {
        let shown = amount_and_u(value.into(), u);
        assert_eq!(shown.replace(['\u{a0}', NARROW_SPACE], " "), expected);
    }

    #[test]
    fn numbers_are_rounded_to_what_is_known() {
        check(Angle::deg(26.283), Some(Angle::deg(0.42).into()), "26.3° (u 0.4°)");
        check(Angle::deg(26.283), Some(Angle::deg(0.137).into()), "26.28° (u 0.14°)");
        check(Angle::deg(0.104), Some(Angle::deg(0.083).into()), "0.10° (u 0.08°)");
        check(Length::mm(23.0), Some(Length::mm(0.03).into()), "23.00 mm (u 0.03 mm)");
        check(Length::mm(-90.0), Some(Length::mm(1e-9).into()), "−90.0 mm");
        check(Angle::deg(-0.5), None, "−0.50°");
        check(Length::mm(96.4), Some(Length::mm(5.2).into()), "96 mm (u 5 mm)");
        check(Force::n(12_753.4), None, "12 753 N");
        check(Force::n(-12_753.4), Some(Force::n(113.2).into()), "−12 750 N (u 110 N)");
        check(Ratio::one(0.873), None, "87 %");
        check(Ratio::one(0.873), Some(Ratio::one(0.02).into()), "87.3 % (u 2.0 %)");
        check(Force::n(2603.8), Some(Force::n(113.2).into()), "2600 N (u 110 N)");
        check(Force::n(1509.9), Some(Force::n(284.0).into()), "1510 N (u 280 N)");
        check(Force::n(1033.7), Some(Force::n(16.6).into()), "1034 N (u 17 N)");
    }

    #[test]
    fn nothing_rounds_to_a_lie() {
        check(Angle::deg(-0.001), None, "0.00°");
        check(Length::mm(12.0), Some(Length::mm(0.001).into()), "12.0000 mm (u 0.0010 mm)");
        check(Force::n(f64::NAN), None, "no number N");
        check(Force::n(f64::NAN), Some(Force::n(1.0).into()), "no number N");
        check(Force::n(-1e300), None, "−1.000e300 N");
    }

    /// What a person reads can be typed back and means the same, of every kind.
    #[test]
    fn what_is_read_is_typed_back() {
        for kind in Kind::ALL {
            for (value, u) in [(26.283, 0.42), (-12_753.4, 113.2), (3.0, 0.0215), (0.91, 0.3)] {
                if kind.limit().shown() < f64::abs(value) {
                    continue;
                }
                let [value, u] = [value, u].map(|shown| Amount::from_shown(kind, shown));
                let text = amount_and_u(value, Some(u));
                let read = parse_amount(&text, kind).unwrap_or_else(|why| panic!("{text}: {why}"));
                let again = amount_and_u(read.amount, read.standard_uncertainty());
                assert_eq!(again, text);
                let back = read.standard_uncertainty().unwrap().to_si() / u.to_si();
                assert!((back - 1.0).abs() < 0.142, "{text}");
            }
        }
    }
}

//! What holds for every unit, every number and every text.

use axlewright_quantity::{
    Amount, Angle, Kind, QuantityError, Spread, parse_amount, parse_place, parse_plate_point,
};
use proptest::prelude::*;

fn kinds() -> impl Strategy<Value = Kind> {
    prop::sample::select(Kind::ALL.to_vec())
}

fn units() -> impl Strategy<Value = (Kind, &'static str)> {
    let all: Vec<_> = Kind::ALL.iter().flat_map(|k| k.units().map(|u| (*k, u))).collect();
    prop::sample::select(all)
}

/// A text of ours that was not read.
fn refused(text: &str, e: &QuantityError) -> TestCaseError {
    TestCaseError::fail(format!("{text}: {e}"))
}

/// How many units of the last shown digit a number is off.
fn half_digit(number: &str) -> f64 {
    let decimals = number.split_once('.').map_or(0, |(_, d)| d.len());
    0.5 * 10f64.powi(-i32::try_from(decimals).unwrap())
}

/// Text made of the pieces of the grammar in any order: reaches far deeper than random letters.
fn nearly_right() -> impl Strategy<Value = String> {
    let pieces = [
        "32.5", "-0", "30", "0", "1e400", "1e-400", "nan", "inf", ".", "-", "−", "+", ",", ", ",
        " ", " ", "±", "+/-", "tol", "u", "U", "res", "°", "'", "′", "\"", "''", "deg", "mm",
        "kgf m", "N·m", "lb", "%", "/", "1/min", "to", "X", "y", "Z", "w", ";", "=", "·", "²",
        "\u{a0}", "\u{0}", "\u{301}", "🔧", "e", "x",
    ];
    prop::collection::vec(prop::sample::select(pieces.to_vec()), 0..14).prop_map(|v| v.concat())
}

/// Whatever comes back, it is fit to be shown and to be counted with.
fn look_at(text: &str, kind: Kind) {
    let fine = |e: QuantityError| {
        let span = e.span();
        assert!(text.get(span.clone()).is_some(), "{text:?}: {span:?} of {e}");
        assert!(e.to_string().chars().count() < 240, "{text:?}: {e}");
        assert!(!e.to_string().chars().any(char::is_control), "{text:?}: {e:?}");
        let _ = e.hint();
    };
    let sure = |s: Spread| {
        assert!(s.amount().to_si() > 0.0 && s.amount().to_si().is_finite(), "{text:?}: {s:?}");
    };
    match parse_amount(text, kind) {
        Ok(read) => {
            assert!(read.amount.to_si().abs() <= kind.limit().to_si(), "{text:?}");
            assert_eq!(read.amount.kind(), kind);
            assert_eq!(read.text, text);
            if let Some(s) = read.spread {
                assert_eq!(s.amount().kind(), kind);
                sure(s);
            }
        }
        Err(e) => fine(e),
    }
    match parse_place(text) {
        Ok(read) => read.spread.map(sure).unwrap_or_default(),
        Err(e) => fine(e),
    }
    match parse_plate_point(text) {
        Ok(read) => read.spread.map(sure).unwrap_or_default(),
        Err(e) => fine(e),
    }
}

fn config() -> ProptestConfig {
    ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    /// Display and back, every unit of every kind: off by no more than the digits not shown.
    #[test]
    fn display_then_parse((kind, unit) in units(), number in -3000.0..3000.0f64, small in 0..4) {
        let one = parse_amount(format!("1 {unit}").trim(), kind).unwrap().amount.to_si();
        let number = number / 10f64.powi(small);
        prop_assume!((number * one).abs() < kind.limit().to_si());
        let shown = Amount::from_si(kind, number * one).in_unit(unit).unwrap();
        let text = shown.to_string();
        let read = parse_amount(&text, kind).map_err(|e| refused(&text, &e))?;
        let digits = text.trim_end_matches(unit).trim();
        let off = (read.amount.to_si() / one - number).abs();
        prop_assert!(off <= half_digit(digits) * (1.0 + 1e-9), "{number} {unit}: {text} off {off}");
        // What was read shows itself the same way again.
        prop_assert_eq!(read.amount.in_unit(unit).unwrap().to_string(), text);
    }

    /// In full digits nothing is lost but the last bits.
    #[test]
    fn full_digits((kind, unit) in units(), number in -60.0..60.0f64) {
        let read = parse_amount(&format!("{number} {unit}"), kind);
        let back = read.unwrap().amount.in_unit(unit).unwrap().number();
        prop_assert!((back - number).abs() <= 4.0 * f64::EPSILON * number.abs());
    }

    /// Every spread, in every unit, beside a value in the same unit.
    #[test]
    fn spreads(
        (kind, unit) in units(),
        number in -60.0..60.0f64,
        spread in 0.001..60.0f64,
        mark in prop::sample::select(vec!["±", "+/-", "tol", "u", "res"]),
    ) {
        let text = format!("{number} {unit} {mark} {spread} {unit}");
        let read = parse_amount(&text, kind).map_err(|e| refused(&text, &e))?;
        let found = read.spread.unwrap();
        prop_assert_eq!(found.mark(), if mark.len() == 3 && mark != "res" { "±" } else { mark });
        let back = found.amount().in_unit(unit).unwrap().number();
        prop_assert!((back - spread).abs() <= 4.0 * f64::EPSILON * spread);
        let divisor = match mark { "u" => 1.0, "res" => 12f64.sqrt(), _ => 3f64.sqrt() };
        let u = read.standard_uncertainty().unwrap().in_unit(unit).unwrap().number();
        prop_assert!((u * divisor / spread - 1.0).abs() < 1e-14);
    }

    /// `value u uncertainty` is read back to the digits shown.
    #[test]
    fn uncertainty_then_parse(kind in kinds(), number in -900.0..900.0f64, u in 0.001..100.0f64) {
        let (value, u) = (Amount::from_shown(kind, number), Amount::from_shown(kind, u));
        let text = value.with_uncertainty(u);
        let read = parse_amount(&text, kind).map_err(|e| refused(&text, &e))?;
        let back = read.standard_uncertainty().unwrap().to_si();
        prop_assert!((back / u.to_si() - 1.0).abs() <= 0.142, "{text}");
        prop_assert!((read.amount.to_si() - value.to_si()).abs() <= 0.17 * u.to_si(), "{text}");
    }

    /// Degrees and minutes, and back, to half a minute.
    #[test]
    fn strokes_then_parse(deg in -90.0..90.0f64) {
        let read = parse_amount(&Angle::deg(deg).degrees_minutes(), Kind::Angle).unwrap();
        prop_assert!((read.amount.shown() - deg).abs() <= 0.5 / 60.0 + 1e-9);
    }

    #[test]
    fn any_text_is_answered(text in ".*", kind in kinds()) {
        look_at(&text, kind);
    }

    #[test]
    fn nearly_right_text_is_answered(text in nearly_right(), kind in kinds()) {
        look_at(&text, kind);
    }
}

/// A page of anything is answered at once: no step looks at all of it again and again.
#[test]
fn long_texts_are_answered() {
    for part in ["9", " ", "u ", "± ", "1 ", "mm ", "-", ",", "1, ", "1,1", "°", "1° ", "N·", "é"]
    {
        let long = part.repeat(30_000 / part.len());
        for text in [long.clone(), format!("1{long}"), format!("1 mm{long}u 1 mm")] {
            look_at(&text, Kind::Angle);
            look_at(&text, Kind::Length);
        }
    }
}

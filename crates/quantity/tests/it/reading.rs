//! What is read: spellings, spreads, places.

use axlewright_quantity::{
    Amount, Angle, Kind, Length, Place, PlatePoint, Spread, parse_amount, parse_place,
    parse_plate_point,
};

/// Reads a text and compares value and spread, both in the shown unit.
fn check(text: &str, kind: Kind, value: f64, spread: Option<(char, f64)>) {
    let read = parse_amount(text, kind).unwrap_or_else(|e| panic!("{text}: {e}"));
    assert_eq!(read.text, text);
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs().max(1e-3);
    assert!(near(read.amount.shown(), value), "{text}: read as {:?}", read.amount);
    let found = read.spread.map(|s| match s {
        Spread::Tolerance(a) => ('t', a.shown()),
        Spread::Uncertainty(a) => ('u', a.shown()),
        Spread::Resolution(a) => ('r', a.shown()),
    });
    let same = match (found, spread) {
        (Some((a, x)), Some((b, y))) => a == b && near(x, y),
        (a, b) => a.is_none() && b.is_none(),
    };
    assert!(same, "{text}: spread {found:?}, expected {spread:?}");
}

#[test]
fn angles() {
    for (text, value, spread) in [
        ("32.5 deg", 32.5, None),
        ("32.5°", 32.5, None),
        ("  +32.5 DEG ", 32.5, None),
        ("-11 degrees", -11.0, None),
        ("\u{2212}5\u{a0}deg", -5.0, None),
        ("–5 deg", -5.0, None),
        (".5 deg", 0.5, None),
        ("5. deg", 5.0, None),
        ("3.25e1 deg", 32.5, None),
        ("0 deg", 0.0, None),
        ("32.5 deg ± 0.5 deg", 32.5, Some(('t', 0.5))),
        ("32.5 ± 0.5 deg", 32.5, Some(('t', 0.5))),
        ("32.5 deg ± 0.5", 32.5, Some(('t', 0.5))),
        ("32.5deg±0.5deg", 32.5, Some(('t', 0.5))),
        ("34.0° ± 0.5°", 34.0, Some(('t', 0.5))),
        ("32.5 deg +/- 0.5 deg", 32.5, Some(('t', 0.5))),
        ("32.5 deg +- 0.5 deg", 32.5, Some(('t', 0.5))),
        ("32.5 deg tol 0.5 deg", 32.5, Some(('t', 0.5))),
        ("32.5° tol 0.5°", 32.5, Some(('t', 0.5))),
        ("32.5 deg u 0.15 deg", 32.5, Some(('u', 0.15))),
        ("32.5°u 0.15°", 32.5, Some(('u', 0.15))),
        ("32.5 deg res 0.1 deg", 32.5, Some(('r', 0.1))),
        ("32.5 deg ± 30'", 32.5, Some(('t', 0.5))),
        ("32°30'", 32.5, None),
        ("32° 30' 36\"", 32.51, None),
        ("32°30′36″", 32.51, None),
        ("32°30'36''", 32.51, None),
        ("32 deg 30'", 32.5, None),
        ("32°30.6'", 32.51, None),
        ("-0°30' ± 20'", -0.5, Some(('t', 1.0 / 3.0))),
        ("\u{2212}0°30′ ± 20′", -0.5, Some(('t', 1.0 / 3.0))),
        ("-1°15'", -1.25, None),
        ("0°06′", 0.1, None),
        ("0°06′ ± 5′", 0.1, Some(('t', 5.0 / 60.0))),
        ("0°00'", 0.0, None),
        ("-0°30' ± 0°20'", -0.5, Some(('t', 1.0 / 3.0))),
        ("90'", 1.5, None),
        ("30' ± 20'", 0.5, Some(('t', 1.0 / 3.0))),
        ("0°59'59\"", 3_599.0 / 3_600.0, None),
    ] {
        check(text, Kind::Angle, value, spread);
    }
}

#[test]
fn torques() {
    // One kilogram-force metre is 9.806 65 N·m and one pound-force foot 1.355 817 948 331 400 4.
    for unit in
        ["kgf m", "kgf·m", "kgfm", "kgf-m", "kgf.m", "kgm", "kg m", "mkg", "m kg", "kp m", "MKG"]
    {
        check(&format!("4.6 {unit}"), Kind::Torque, 45.110_59, None);
    }
    for unit in [
        "lbf ft", "ft lb", "lb-ft", "ft·lb", "ft-lbs", "lbf·ft", "lbft", "FT LB", "Ft-Lb", "ft.lbf",
    ] {
        check(&format!("10 {unit}"), Kind::Torque, 13.558_179_483_314_004, None);
    }
    for unit in ["N·m", "Nm", "N m", "N*m", "N-m", "N.m", "N⋅m", "N•m", "nm", "NM"] {
        check(&format!("45 {unit}"), Kind::Torque, 45.0, None);
    }
    check("4.6 kgf m ± 0.2 kgf m", Kind::Torque, 45.110_59, Some(('t', 1.961_33)));
    check("4.6 ± 0.2 kgf m", Kind::Torque, 45.110_59, Some(('t', 1.961_33)));
    check("4.6 kgf m ± 1 N·m", Kind::Torque, 45.110_59, Some(('t', 1.0)));
    check("80 N·m ± 4 %", Kind::Torque, 80.0, Some(('t', 3.2)));
    check("-80 N·m u 5%", Kind::Torque, -80.0, Some(('u', 4.0)));
    check("3 daN·m", Kind::Torque, 30.0, None);
}

#[test]
fn other_kinds() {
    check("210 mm u 1 mm", Kind::Length, 210.0, Some(('u', 1.0)));
    check("21 CM", Kind::Length, 210.0, None);
    check("10 in", Kind::Length, 254.0, None);
    check("1 m ± 2 mm", Kind::Length, 1000.0, Some(('t', 2.0)));
    check("212.5 Kg", Kind::Mass, 212.5, None);
    check("500 g", Kind::Mass, 0.5, None);
    check("2 lbs", Kind::Mass, 0.907_184_74, None);
    check("120 ± 20 N", Kind::Force, 120.0, Some(('t', 20.0)));
    check("2 kN", Kind::Force, 2000.0, None);
    check("78.5 GPa", Kind::Stress, 78_500.0, None);
    check("78.5e9 Pa", Kind::Stress, 78_500.0, None);
    check("800 N/mm²", Kind::Stress, 800.0, None);
    check("800 N / mm^2", Kind::Stress, 800.0, None);
    check("8000 kgf/mm2", Kind::Stress, 78_453.2, None);
    check("800 mpa", Kind::Stress, 800.0, None);
    check("69.7 Nm/°", Kind::TorsionalRate, 69.7, None);
    check("69.7 N·m / deg u 2 %", Kind::TorsionalRate, 69.7, Some(('u', 1.394)));
    check("15.5 N/mm", Kind::LinearRate, 15.5, None);
    check("15500 N/m", Kind::LinearRate, 15.5, None);
    check("1.4 hz", Kind::Frequency, 1.4, None);
    check("84 1/min", Kind::Frequency, 1.4, None);
    check("84/min", Kind::Frequency, 1.4, None);
    check("250 J", Kind::Energy, 250.0, None);
    check("0.14", Kind::Ratio, 0.14, None);
    check("0.14 ± 0.02", Kind::Ratio, 0.14, Some(('t', 0.02)));
    check("50 ± 0.5 %", Kind::Ratio, 0.5, Some(('t', 0.005)));
    check("50 % ± 0.5", Kind::Ratio, 0.5, Some(('t', 0.005)));
    check("98 per cent", Kind::Ratio, 0.98, None);
}

/// JCGM 100:2008 (GUM), clauses from memory: 4.3.7 gives limits ± a the variance a²/3; F.2.2.1
/// gives an indication with the step δx the standard uncertainty 0.29·δx.
#[test]
fn spreads_as_standard_uncertainty() {
    let u = |text: &str| parse_amount(text, Kind::Angle).unwrap().standard_uncertainty();
    let deg = |text: &str| u(text).unwrap().shown();
    assert_eq!(u("32.5 deg"), None);
    assert!((deg("32.5 deg u 0.15 deg") - 0.15).abs() < 1e-15);
    assert!((deg("32.5 deg ± 0.5 deg").powi(2) - 0.25 / 3.0).abs() < 1e-15);
    assert_eq!(deg("32.5 deg ± 0.5 deg"), deg("32.5 deg tol 0.5 deg"));
    assert!((deg("32.5 deg res 1 deg") - 0.29).abs() < 0.005);
    assert!((deg("32.5 deg res 0.1 deg").powi(2) - 0.01 / 12.0).abs() < 1e-16);
    // A gauge's step and limits of half of it say the same.
    assert!((deg("1 deg res 0.2 deg") / deg("1 deg tol 0.1 deg") - 1.0).abs() < 1e-15);
}

#[test]
fn places() {
    for text in [
        "-55, 235, -20 mm",
        "X -55, Y 235, Z -20 mm",
        "x=-55, y=235, z=-20 mm",
        "\u{2212}55 mm, 23.5 cm, \u{2212}20 mm",
        "-55; 235; -20 mm",
        "-55 , 235,-20 mm",
        "-5.5e1, 235.0, -20 mm",
    ] {
        let read = parse_place(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        let off = |a: Length, mm: f64| (a.to_mm() - mm).abs();
        let Place { x, y, z } = read.place;
        let far = off(x, -55.0).max(off(y, 235.0)).max(off(z, -20.0));
        assert!(far < 1e-12, "{text}: {}", read.place);
        assert_eq!((read.spread, read.text.as_str()), (None, text));
    }
    let read = parse_place("X -55, Y 235, Z -20 mm u 1.5 mm").unwrap();
    assert_eq!(read.spread, Some(Spread::Uncertainty(Length::mm(1.5).into())));
    assert_eq!(read.standard_uncertainty(), Some(Length::mm(1.5)));
    let read = parse_place("-55, 235, -20 ± 3 mm").unwrap();
    assert_eq!(read.place, Place::mm(-55.0, 235.0, -20.0));
    assert_eq!(read.spread, Some(Spread::Tolerance(Length::mm(3.0).into())));
}

#[test]
fn plate_points() {
    for text in ["250, 6 mm", "u 250, w 6 mm", "U = 250, W = 6 mm", "25 cm, 6 mm"] {
        let read = parse_plate_point(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        let PlatePoint { u, w } = read.point;
        let far = (u.to_mm() - 250.0).abs().max((w.to_mm() - 6.0).abs());
        assert!(far < 1e-12, "{text}: {}", read.point);
    }
    let read = parse_plate_point("u 250, w 6 mm u 1 mm").unwrap();
    assert_eq!(read.standard_uncertainty(), Some(Length::mm(1.0)));
}

#[test]
fn a_kind_is_kept() {
    let read = parse_amount("32.5 deg", Kind::Angle).unwrap().amount;
    assert_eq!(Angle::try_from(read), Ok(Angle::deg(32.5)));
    assert_eq!(Length::try_from(read), Err(Kind::Angle));
    assert_eq!(Amount::from(Angle::deg(32.5)), read);
}

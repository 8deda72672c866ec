//! What is shown: decimals, uncertainties, strokes, other units.

use axlewright_quantity::{
    Amount, Angle, Force, Frequency, Kind, Length, Mass, Place, PlatePoint, Ratio, Stress, Torque,
    format_rounded, parse_amount,
};

#[test]
fn plain_amounts() {
    let mm = |x: f64| Length::mm(x).to_string();
    for (shown, expected) in [
        (mm(96.04), "96.0 mm"),
        (mm(-0.04), "-0.04 mm"),
        (mm(0.03), "0.03 mm"),
        (mm(0.1234), "0.12 mm"),
        (mm(-1e-9), "0.0 mm"),
        (mm(-0.0), "0.0 mm"),
        (Angle::deg(11.0).to_string(), "11.00 deg"),
        (Angle::deg(0.5).to_string(), "0.50 deg"),
        (Torque::nm(45.11059).to_string(), "45.1 N·m"),
        (Mass::kg(212.5).to_string(), "212.5 kg"),
        (Stress::gpa(78.5).to_string(), "78500 MPa"),
        (Stress::mpa(5.25).to_string(), "5.2 MPa"),
        (Ratio::one(0.14).to_string(), "0.140"),
        (Frequency::hz(1.4).to_string(), "1.40 Hz"),
        (format!("{:.3}", Length::mm(96.04)), "96.040 mm"),
        (format!("[{:>10}]", Length::mm(96.0)), "[   96.0 mm]"),
        (format!("[{:<10.0}]", Length::mm(96.0)), "[96 mm     ]"),
        (mm(1e300), "1.0000000000000001e300 mm"),
        (Place::mm(-55.0, 235.0, -20.0).to_string(), "-55.0, 235.0, -20.0 mm"),
        (PlatePoint::mm(250.0, 6.0).to_string(), "250.0, 6.0 mm"),
    ] {
        // The last digit of 1e297 m in millimetres is the machine's.
        let same = shown == expected || shown == "1e300 mm";
        assert!(same, "{shown}, expected {expected}");
    }
}

/// JCGM 100:2008 (GUM), 7.2.6, example from memory: y = 10.057 62 Ω with u = 27 mΩ is rounded to
/// 10.058 Ω. The digits are the same with any unit.
#[test]
fn gum_7_2_6() {
    let shown = Amount::from(Length::mm(10.057_62)).with_uncertainty(Length::mm(0.027).into());
    assert_eq!(shown, "10.058 u 0.027 mm");
}

#[test]
fn with_uncertainty() {
    for (value, u, expected) in [
        (96.04, 4.77, "96 u 5 mm"),
        (96.04, 5.0, "96 u 5 mm"),
        (96.04, 0.996, "96.0 u 1.0 mm"),
        (96.04, 0.0996, "96.04 u 0.10 mm"),
        (96.04, 0.03, "96.04 u 0.03 mm"),
        (96.04, 3.54, "96.0 u 3.5 mm"),
        (96.04, 3.56, "96 u 4 mm"),
        (1234.5, 27.0, "1234 u 27 mm"),
        (1235.0, 470.0, "1200 u 500 mm"),
        (1235.0, 9960.0, "1000 u 10000 mm"),
        (-0.02, 4.0, "0 u 4 mm"),
        (96.04, 0.0, "96.0 mm"),
        (96.04, -1.0, "96.0 mm"),
        (96.04, f64::NAN, "96.0 mm"),
        (96.04, f64::INFINITY, "96.0 mm"),
        (f64::NAN, 1.0, "NaN mm"),
    ] {
        let amount = Amount::from(Length::mm(value));
        assert_eq!(amount.with_uncertainty(Length::mm(u).into()), expected, "{value} u {u}");
    }
    let other = Amount::from(Length::mm(96.0)).with_uncertainty(Angle::deg(1.0).into());
    assert_eq!(other, "96.0 mm");
}

#[test]
fn with_tolerance() {
    for (value, half, expected) in [
        (96.04, 5.0, "96 mm ± 5 mm"),
        (96.04, 0.5, "96.0 mm ± 0.5 mm"),
        (96.04, 20.0, "100 mm ± 20 mm"),
        (96.04, 25.0, "96 mm ± 25 mm"),
    ] {
        let amount = Amount::from(Length::mm(value));
        assert_eq!(amount.with_tolerance(Length::mm(half).into()), expected);
    }
}

/// An uncertainty that is shown is read back as one, and a tolerance as a tolerance.
#[test]
fn what_is_shown_is_read_back() {
    let (value, u) = (Amount::from(Angle::deg(31.25)), Amount::from(Angle::deg(0.15)));
    let read = parse_amount(&value.with_uncertainty(u), Kind::Angle).unwrap();
    assert!((read.standard_uncertainty().unwrap().shown() - 0.15).abs() < 1e-12);
    // As it stands in a sentence, with the spaces of a page.
    for text in ["31.25° (u 0.15°)", "31.25\u{202f}deg\u{a0}(u\u{a0}0.15\u{202f}deg)"] {
        let read = parse_amount(text, Kind::Angle).unwrap();
        assert!((read.amount.shown() - 31.25).abs() < 1e-12);
        assert!((read.standard_uncertainty().unwrap().shown() - 0.15).abs() < 1e-12);
    }
    let read = parse_amount("−12\u{202f}753\u{202f}N (u 110 N)", Kind::Force).unwrap();
    assert_eq!(read.amount, Amount::from(Force::n(-12753.0)));
    for broken in ["31.25° (u 0.15°", "(u 0.15°)", "31° (u 0.15°) more", "12\u{202f}75 N"] {
        assert!(parse_amount(broken, Kind::Angle).is_err(), "{broken}");
    }
    let read = parse_amount(&value.with_tolerance(u), Kind::Angle).unwrap();
    assert!((read.standard_uncertainty().unwrap().shown() - 0.15 / 3f64.sqrt()).abs() < 1e-12);
}

#[test]
fn degrees_and_minutes() {
    for (deg, expected) in [
        (-0.5, "-0°30'"),
        (0.1, "0°06'"),
        (32.5, "32°30'"),
        (-1.999, "-2°00'"),
        (0.999, "1°00'"),
        (-0.001, "0°00'"),
        (0.0, "0°00'"),
        (f64::NAN, "NaN deg"),
    ] {
        assert_eq!(Angle::deg(deg).degrees_minutes(), expected);
    }
}

#[test]
fn in_other_units() {
    let torque = Amount::from(Torque::kgf_m(4.6));
    let shown = |unit: &str| torque.in_unit(unit).unwrap().to_string();
    assert_eq!(shown("kgf m"), "4.60 kgf m");
    assert_eq!(shown("mkg"), "4.60 kgf m");
    assert_eq!(shown("ft lb"), "33.3 lbf ft");
    assert_eq!(shown("lbf in"), "399 lbf in");
    assert_eq!(format!("{:.0}", torque.in_unit("Nm").unwrap()), "45 N·m");
    let u = Amount::from(Torque::nm(2.0)).in_unit("lbf ft").unwrap();
    assert_eq!(torque.in_unit("lbf ft").unwrap().with_uncertainty(u), "33.3 u 1.5 lbf ft");
    let angle = Amount::from(Angle::deg(0.5));
    assert_eq!(angle.in_unit("'").unwrap().to_string(), "30.0'");
    let half = Amount::from(Ratio::one(0.5));
    assert_eq!(half.in_unit("%").unwrap().to_string(), "50.0 %");
    assert_eq!(half.in_unit("").unwrap().to_string(), "0.500");
    let refused = |unit: &str| torque.in_unit(unit).unwrap_err().to_string();
    assert!(refused("mm").starts_with("`mm` measures a length, and a torque is asked for"));
    assert!(refused("lbf fr").starts_with("unknown unit `lbf fr`, did you mean `lbf ft`"));
}

#[test]
fn rounded_to_the_tool() {
    let nm = |x: f64| Amount::from(Torque::nm(x));
    for (value, step, expected) in [
        (45.110_59, 0.5, "45.0 N·m"),
        (45.26, 0.5, "45.5 N·m"),
        (45.110_59, 1.0, "45 N·m"),
        (45.110_59, 5.0, "45 N·m"),
        (47.6, 5.0, "50 N·m"),
        (45.110_59, 0.25, "45.00 N·m"),
        (-0.1, 0.5, "0.0 N·m"),
        (45.110_59, 0.0, "45.1 N·m"),
        (45.110_59, f64::NAN, "45.1 N·m"),
    ] {
        assert_eq!(format_rounded(nm(value), nm(step)), expected, "{value} to {step}");
    }
    assert_eq!(format_rounded(nm(45.11), Length::mm(1.0).into()), "45.1 N·m");
}

/// Any number at all is shown without a panic, and briefly.
#[test]
fn wild_numbers() {
    for x in [f64::MAX, f64::MIN, f64::MIN_POSITIVE, 5e-324, f64::NAN, f64::INFINITY, -0.0] {
        for kind in Kind::ALL {
            let amount = Amount::from_si(kind, x);
            for text in [
                amount.to_string(),
                amount.with_uncertainty(amount),
                amount.with_tolerance(amount),
                format_rounded(amount, amount),
                format_rounded(amount, Amount::from_shown(kind, 1.0)),
            ] {
                assert!(text.len() < 80, "{text}");
            }
        }
        assert!(Angle::from_si(x).degrees_minutes().len() < 80);
    }
}

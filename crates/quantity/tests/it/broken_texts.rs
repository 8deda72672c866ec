//! What is refused: each text with its whole message and the part of it that is underlined.

use axlewright_quantity::{Kind, QuantityError, parse_amount, parse_place, parse_plate_point};

/// The lists that end many messages, written out once.
fn spelt_out(message: &str) -> String {
    message
        .replace("<angle>", "an angle is written in deg, °, 32°30', rad")
        .replace("<length>", "a length is written in mm, cm, m, in, ft")
        .replace("<mass>", "a mass is written in kg, g, lb")
        .replace("<force>", "a force is written in N, daN, kN, kgf, lbf")
        .replace("<torque>", "a torque is written in N·m, daN·m, kgf m, lbf ft, lbf in")
        .replace("<stress>", "a stress is written in MPa, GPa, Pa, N/mm2, kgf/mm2, psi")
        .replace("<share>", "a share is written in a bare number or %")
        .replace("<frequency>", "a frequency is written in Hz, 1/min")
        .replace("<spring>", "a spring rate is written in N/mm, N/m, kgf/mm, lbf/in")
}

/// What one row gets wrong, if anything.
fn compare<T: std::fmt::Debug>(
    text: &str,
    answer: Result<T, QuantityError>,
    message: &str,
    underlined: &str,
) -> Option<String> {
    let error = match answer {
        Ok(read) => return Some(format!("{text:?} was read as {read:?}")),
        Err(error) => error,
    };
    let (found, part) = (error.to_string(), &text[error.span()]);
    let hint = error.hint().unwrap_or("it has none");
    let fine = found == spelt_out(message) && part == underlined && !hint.ends_with('.');
    (!fine).then(|| format!("{text:?}: {found} | underlined {part:?} | {hint}"))
}

/// Texts that are no angle.
const ANGLES: &[(&str, &str, &str)] = &[
    // Nothing, or no number.
    ("", "nothing is written where an angle is asked for", ""),
    (" \t", "nothing is written where an angle is asked for", " \t"),
    ("deg", "no number at `deg`", "deg"),
    ("about 32 deg", "no number at `about 32 deg`", "about 32 deg"),
    ("- 5 deg", "no number at `- 5 deg`", "- 5 deg"),
    ("--5 deg", "no number at `--5 deg`", "--5 deg"),
    ("± 0.5 deg", "no number at `± 0.5 deg`", "± 0.5 deg"),
    ("u 0.15 deg", "no number at `u 0.15 deg`", "u 0.15 deg"),
    (". deg", "no number at `. deg`", ". deg"),
    ("٣٢ deg", "no number at `٣٢ deg`", "٣٢ deg"),
    ("\u{7}x deg", "no number at `\u{fffd}x deg`", "\u{7}x deg"),
    // Numbers that are none.
    ("32.5.1 deg", "`32.5.1` is not one number", "32.5.1"),
    ("1/2 deg", "`1/2` is not one number", "1/2"),
    ("32 5 deg", "`32 5` is not one number", "32 5"),
    ("nan deg", "`nan` is not a finite number", "nan"),
    ("-NaN", "`-NaN` is not a finite number", "-NaN"),
    ("inf deg", "`inf` is not a finite number", "inf"),
    ("∞ deg", "`∞` is not a finite number", "∞"),
    ("1e400 deg", "`1e400` is not a finite number", "1e400"),
    ("1e30 deg", "`1e30 deg` is too large for an angle: the limit is 3600 deg", "1e30 deg"),
    ("-3601°", "`-3601°` is too large for an angle: the limit is 3600 deg", "-3601°"),
    (
        "1e-400 deg",
        "`1e-400 deg` is too small for an angle: write 0 or check the exponent",
        "1e-400 deg",
    ),
    ("32,5 deg", "`32,5` has a comma in the number; write `32.5`", "32,5"),
    ("-0,5° ± 0.5°", "`-0,5` has a comma in the number; write `-0.5`", "-0,5"),
    ("32 deg ± 0,5 deg", "`0,5` has a comma in the number; write `0.5`", "0,5"),
    ("30 to 32 deg", "`30 to 32` is a range, and one value is asked for", "30 to 32"),
    ("30-32 deg", "`30 - 32` is a range, and one value is asked for", "30-32"),
    ("30…32 deg", "unknown unit `…32 deg`; <angle>", "…32 deg"),
    ("30..32 deg", "`30 .. 32` is a range, and one value is asked for", "30..32"),
    // Units.
    ("32.5", "`32.5` has no unit; <angle>", "32.5"),
    ("0", "`0` has no unit; <angle>", "0"),
    ("32.5 ± 0.5", "`32.5` has no unit; <angle>", "32.5"),
    ("32.5 ± 5 %", "`32.5` has no unit; <angle>", "32.5"),
    (
        "32 mm",
        "`mm` measures a length, and an angle is asked for, written in deg, °, 32°30', rad",
        "mm",
    ),
    (
        "32 %",
        "`%` measures a share, and an angle is asked for, written in deg, °, 32°30', rad",
        "%",
    ),
    ("32 dge", "unknown unit `dge`, did you mean `deg`; <angle>", "dge"),
    ("32 degre", "unknown unit `degre`, did you mean `deg`; <angle>", "degre"),
    ("32 gon", "unknown unit `gon`; <angle>", "gon"),
    ("32 q", "unknown unit `q`; <angle>", "q"),
    // Degrees, minutes, seconds.
    ("32°75'", "`75` are too many minutes of arc; they go up to 59", "75"),
    ("32°60'", "`60` are too many minutes of arc; they go up to 59", "60"),
    ("32°30'60\"", "`60` are too many seconds of arc; they go up to 59", "60"),
    ("32.5°30'", "`32.5` has decimals before a smaller unit; write one or the other", "32.5"),
    ("32°30.5'10\"", "`30.5` has decimals before a smaller unit; write one or the other", "30.5"),
    ("32°30", "`30` needs its mark, ' for minutes or \" for seconds of arc", "30"),
    ("30'32°", "`32` is out of order; an angle is written degrees, minutes, seconds", "32"),
    ("32°30'10'", "`10` is out of order; an angle is written degrees, minutes, seconds", "10"),
    ("0°-30'", "`-30` has a sign inside the angle; it stands once, in front of the degrees", "-30"),
    ("32°30' left", "`left` is left over after the quantity", "left"),
    // Spreads.
    ("32 deg ±", "nothing follows `±`", "±"),
    ("32 deg u ", "nothing follows `u`", "u"),
    ("32 deg ± 0 deg", "the spread `0 deg` must be greater than zero", "0 deg"),
    ("32 deg ± 0°00'", "the spread `0°00'` must be greater than zero", "0°00'"),
    ("32 deg ± -0.5 deg", "the spread `-0.5` must be greater than zero", "-0.5"),
    ("32 deg u -0", "the spread `-0` must be greater than zero", "-0"),
    ("32 deg ± nan deg", "`nan` is not a finite number", "nan"),
    ("32 deg tol inf", "`inf` is not a finite number", "inf"),
    ("32 deg ± about 1 deg", "no number at `about 1 deg`", "about 1 deg"),
    (
        "32 deg ± 5 mm",
        "`mm` measures a length, and an angle is asked for, written in deg, °, 32°30', rad",
        "mm",
    ),
    ("32 deg ± 5 dg", "unknown unit `dg`, did you mean `deg`; <angle>", "dg"),
    (
        "32 deg res 4000 deg",
        "`4000 deg` is too large for an angle: the limit is 3600 deg",
        "4000 deg",
    ),
    ("-0°30' ± 20", "`20` needs its own unit, since the value has several", "20"),
    (
        "32 deg res 5 %",
        "`5 %` cannot be a share of the value here; write it in the unit of the value",
        "5 %",
    ),
    (
        "0 deg ± 5 %",
        "`5 %` cannot be a share of the value here; write it in the unit of the value",
        "5 %",
    ),
    ("32 deg U 0.3 deg", "`U` is an expanded uncertainty and its factor is not given", "U"),
    // Left over.
    ("32 deg left", "`left` is left over after the quantity", "left"),
    ("32 deg +0.5 -0.2", "`+0.5 -0.2` is left over after the quantity", "+0.5 -0.2"),
    ("32 deg ± 0.5 deg u 0.1 deg", "`u 0.1 deg` is left over after the quantity", "u 0.1 deg"),
    ("32 deg ± 1 deg (cold)", "`(cold)` is left over after the quantity", "(cold)"),
];

/// Texts that are not of another kind.
const OTHERS: &[(Kind, &str, &str, &str)] = &[
    (Kind::Force, "1 200 N", "`1 200` has a blank in the number; write `1200`", "1 200"),
    (Kind::Force, "1,200 N", "`1,200` has a comma in the number; write `1.200` or `1200`", "1,200"),
    (Kind::Force, "1.234,5 N", "`1.234,5` has a comma in the number; write `1234.5`", "1.234,5"),
    (Kind::Force, "1,234.5 N", "`1,234.5` has a comma in the number; write `1234.5`", "1,234.5"),
    (Kind::Force, "5 mN", "unknown unit `mN`, did you mean `N`; <force>", "mN"),
    (
        Kind::Force,
        "5 kg",
        "`kg` measures a mass, and a force is asked for, written in N, daN, kN, kgf, lbf",
        "kg",
    ),
    (Kind::Mass, "5 N", "`N` measures a force, and a mass is asked for, written in kg, g, lb", "N"),
    (Kind::Mass, "5 G", "unknown unit `G`; <mass>", "G"),
    (Kind::Torque, "5 m N", "unknown unit `m N`, did you mean `N·m`; <torque>", "m N"),
    (Kind::Torque, "5 mN·m", "unknown unit `mN·m`, did you mean `N·m`; <torque>", "mN·m"),
    (Kind::Torque, "5 kfg m", "unknown unit `kfg m`, did you mean `kgf m`; <torque>", "kfg m"),
    (
        Kind::Torque,
        "5 J",
        "`J` measures an energy, and a torque is asked for, \
         written in N·m, daN·m, kgf m, lbf ft, lbf in",
        "J",
    ),
    (
        Kind::Energy,
        "5 N·m",
        "`N·m` measures a torque, and an energy is asked for, written in J",
        "N·m",
    ),
    (Kind::Stress, "800 mPa", "unknown unit `mPa`, did you mean `MPa`; <stress>", "mPa"),
    (Kind::Length, "5 Mm", "unknown unit `Mm`, did you mean `mm`; <length>", "Mm"),
    (Kind::Length, "5 m m", "`m` is left over after the quantity", "m"),
    (
        Kind::Length,
        "5 nm",
        "`nm` measures a torque, and a length is asked for, written in mm, cm, m, in, ft",
        "nm",
    ),
    (
        Kind::LinearRate,
        "15 N",
        "`N` measures a force, and a spring rate is asked for, \
         written in N/mm, N/m, kgf/mm, lbf/in",
        "N",
    ),
    (Kind::LinearRate, "15 N/mn", "unknown unit `N/mn`, did you mean `N/mm`; <spring>", "N/mn"),
    (Kind::Frequency, "84 rpn", "unknown unit `rpn`; <frequency>", "rpn"),
    (Kind::Ratio, "50 pct", "unknown unit `pct`; <share>", "pct"),
    (
        Kind::Ratio,
        "0.5 mm",
        "`mm` measures a length, and a share is asked for, written in a bare number or %",
        "mm",
    ),
    (
        Kind::Ratio,
        "0.14 ± 10 %",
        "`0.14 ± 10 %` can be read in two ways; write the % after both numbers or after neither",
        "0.14 ± 10 %",
    ),
    (
        Kind::Ratio,
        "0.5 ± 0.1 %",
        "`0.5 ± 0.1 %` can be read in two ways; write the % after both numbers or after neither",
        "0.5 ± 0.1 %",
    ),
    (Kind::Ratio, "2e6", "`2e6` is too large for a share: the limit is 1000000", "2e6"),
];

/// Texts that are no place.
const PLACES: &[(&str, &str, &str)] = &[
    ("", "nothing is written where a length is asked for", ""),
    (
        "-55, 235 mm",
        "2 of the coordinates X, Y, Z given; each is written once, with commas between",
        "-55, 235 mm",
    ),
    (
        "-55 235 -20 mm",
        "1 of the coordinates X, Y, Z given; each is written once, with commas between",
        "-55 235 -20 mm",
    ),
    (
        "1, 2, 3, 4 mm u 1 mm",
        "4 of the coordinates X, Y, Z given; each is written once, with commas between",
        "1, 2, 3, 4 mm",
    ),
    (
        "-55,5, 235, -20 mm",
        "`55,5` can be read in two ways; put a blank after a comma between coordinates",
        "55,5",
    ),
    ("Y 235, X -55, Z -20 mm", "`Y` stands where X belongs; the order is X, Y, Z", "Y"),
    ("-55, 235, -20", "`-20` has no unit; <length>", "-20"),
    ("-55 mm, 235, -20", "`-20` has no unit; <length>", "-20"),
    ("-55, , -20 mm", "no number at ``", ""),
    ("nan, 235, -20 mm", "`nan` is not a finite number", "nan"),
    ("A 1, 2, 3 mm", "no number at `A 1`", "A 1"),
    (
        "-55, 235, -20 deg",
        "`deg` measures an angle, and a length is asked for, written in mm, cm, m, in, ft",
        "deg",
    ),
    ("1e9, 0, 0 mm", "`1e9` is too large for a length: the limit is 1000000 mm", "1e9"),
    ("1, 2, 3 mm ± 0 mm", "the spread `0 mm` must be greater than zero", "0 mm"),
    (
        "1, 2, 3 mm u 5 %",
        "`5 %` measures a share, and a length is asked for, written in mm, cm, m, in, ft",
        "5 %",
    ),
    ("1, 2, 3 mm front", "`front` is left over after the quantity", "front"),
];

/// Texts that are no point of the plate.
const PLATE_POINTS: &[(&str, &str, &str)] = &[
    (
        "250,6 mm",
        "`250,6` can be read in two ways; put a blank after a comma between coordinates",
        "250,6",
    ),
    (
        "250 mm",
        "1 of the coordinates u, w given; each is written once, with commas between",
        "250 mm",
    ),
    ("w 6, u 250 mm", "`w` stands where u belongs; the order is u, w", "w"),
    ("u 250, u 6 mm", "`u` stands where w belongs; the order is u, w", "u"),
];

#[test]
fn check() {
    let angles = ANGLES.iter().map(|(t, m, u)| compare(t, parse_amount(t, Kind::Angle), m, u));
    let others = OTHERS.iter().map(|(k, t, m, u)| compare(t, parse_amount(t, *k), m, u));
    let places = PLACES.iter().map(|(t, m, u)| compare(t, parse_place(t), m, u));
    let points = PLATE_POINTS.iter().map(|(t, m, u)| compare(t, parse_plate_point(t), m, u));
    let rows: Vec<_> = angles.chain(others).chain(places).chain(points).collect();
    assert!(rows.len() >= 100, "{} rows", rows.len());
    let wrong: Vec<_> = rows.into_iter().flatten().collect();
    assert!(wrong.is_empty(), "{} rows are wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn hints_fit_the_case() {
    let hint = |text: &str, kind| parse_amount(text, kind).unwrap_err().hint().unwrap_or("");
    assert!(hint("5 kg", Kind::Force).contains("kgf or lbf"));
    assert!(hint("5 N", Kind::Mass).contains("kg or lb"));
    assert!(hint("5 N·m", Kind::Energy).contains("kept for torques"));
    assert!(hint("5", Kind::Torque).contains("4.6 kgf m"));
    assert!(hint("30-32 deg", Kind::Angle).contains("31 deg ± 1 deg"));
    assert!(hint("0°-30'", Kind::Angle).contains("-0°30'"));
}

/// Every example in a hint is one that is read.
#[test]
fn examples_are_read() {
    for kind in Kind::ALL {
        let mut seen = 0;
        for example in kind.example().split('`').skip(1).step_by(2) {
            parse_amount(example, kind).unwrap_or_else(|e| panic!("{example}: {e}"));
            seen += 1;
        }
        assert!(seen > 0, "{kind}");
    }
}

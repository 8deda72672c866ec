//! Factors against print, against their exact definitions, and against hand-multiplied rows.

use axlewright_quantity::{Kind, Torque, parse_amount};

/// What one text is in SI base units.
fn si(text: &str, kind: Kind) -> f64 {
    parse_amount(text, kind).unwrap().amount.to_si()
}

/// NIST SP 811 (2008 edition, 2014 text), App. B.8, as read in a reprint of its factors.
/// Printed to seven digits or exact: text, kind, as printed, half a unit in the last place.
const AS_PRINTED: [(&str, Kind, f64, f64); 7] = [
    ("1 kgf m", Kind::Torque, 9.806_65, 0.5e-5),
    ("1 kgf/mm2", Kind::Stress, 9_806_650.0, 0.5),
    ("1 lbf ft", Kind::Torque, 1.355_818, 0.5e-6),
    ("1 lbf in", Kind::Torque, 0.112_984_8, 0.5e-7),
    ("1 lbf/in", Kind::LinearRate, 175.126_8, 0.5e-4),
    ("1 lbf", Kind::Force, 4.448_222, 0.5e-6),
    ("1 psi", Kind::Stress, 6_894.757, 0.5e-3),
];

#[test]
fn nist_sp_811_as_printed() {
    for (text, kind, printed, half_digit) in AS_PRINTED {
        let ours = si(text, kind);
        assert!((ours - printed).abs() <= half_digit, "{text}: {ours}, printed {printed}");
    }
}

/// From the exact definitions lb = 0.453 592 37 kg, gₙ = 9.806 65 m/s², in = 0.0254 m, multiplied
/// out by hand in decimals. Most printed rows are too coarse to see a pound-force rounded to seven
/// digits (a share of 8.6e-8); these are not.
const EXACT: [(&str, Kind, f64); 20] = [
    ("1 kgf", Kind::Force, 9.806_65),
    ("1 kp", Kind::Force, 9.806_65),
    ("1 lbf", Kind::Force, 4.448_221_615_260_5),
    ("1 daN", Kind::Force, 10.0),
    ("1 kgf m", Kind::Torque, 9.806_65),
    ("1 mkg", Kind::Torque, 9.806_65),
    ("1 lbf ft", Kind::Torque, 1.355_817_948_331_400_4),
    ("1 lbf in", Kind::Torque, 0.112_984_829_027_616_7),
    ("12 lbf in", Kind::Torque, 1.355_817_948_331_400_4),
    ("1 kgf/mm2", Kind::Stress, 9_806_650.0),
    ("1 N/mm2", Kind::Stress, 1e6),
    ("1 psi", Kind::Stress, 6_894.757_293_168_361),
    ("1 kgf/mm", Kind::LinearRate, 9_806.65),
    ("1 lbf/in", Kind::LinearRate, 175.126_835_246_476_36),
    ("1 lb", Kind::Mass, 0.453_592_37),
    ("1 in", Kind::Length, 0.025_4),
    ("1 ft", Kind::Length, 0.304_8),
    ("180 deg", Kind::Angle, std::f64::consts::PI),
    ("10800'", Kind::Angle, std::f64::consts::PI),
    ("60 1/min", Kind::Frequency, 1.0),
];

#[test]
fn exact_definitions() {
    for (text, kind, exact) in EXACT {
        let ours = si(text, kind);
        assert!((ours / exact - 1.0).abs() <= 1e-15, "{text}: {ours:.17e}, exact {exact:.17e}");
    }
}

/// Torsional rates are the torque's exact factor times 180/π; no print was found for them.
#[test]
fn torsional_rates_by_their_torque() {
    let per_degree = 180.0 / std::f64::consts::PI;
    for (text, torque) in [
        ("1 N·m/deg", 1.0),
        ("1 kgf m/deg", 9.806_65),
        ("1 lbf ft/deg", 1.355_817_948_331_400_4),
        ("1 lbf in/deg", 0.112_984_829_027_616_7),
    ] {
        let share = si(text, Kind::TorsionalRate) / (torque * per_degree);
        assert!((share - 1.0).abs() <= 1e-15, "{text}: {share}");
    }
    assert_eq!(si("1 N·m/rad", Kind::TorsionalRate), 1.0);
}

/// Torques in kgf·m, N·m, lbf·ft and lbf·in: derived from the factors of NIST SP 811 above, in no
/// publication.
const KGF_M: [(f64, f64, f64, f64); 6] = [
    (3.9, 38.245_9, 28.208_8, 338.505),
    (5.3, 51.975_2, 38.335_0, 460.020),
    (6.4, 62.762_6, 46.291_3, 555.495),
    (8.1, 79.433_9, 58.587_4, 703.049),
    (10.3, 101.008_5, 74.500_0, 894.001),
    (13.7, 134.351_1, 99.092_3, 1_189.107),
];

#[test]
fn torque_list_values_derived() {
    // Rows end in an exact 5, so half a digit is reached to the last bit.
    const TIE: f64 = 1e-9;
    for (kgf_m, nm, lbf_ft, lbf_in) in KGF_M {
        let read = parse_amount(&format!("{kgf_m} kgf m"), Kind::Torque).unwrap().amount;
        let torque = Torque::try_from(read).unwrap();
        assert!((torque.to_nm() - nm).abs() <= 0.5e-4 + TIE, "{kgf_m} kgf m: {torque}");
        assert!((torque.to_lbf_ft() - lbf_ft).abs() <= 0.5e-4 + TIE, "{kgf_m} kgf m: {torque}");
        assert!((torque.to_lbf_in() - lbf_in).abs() <= 0.5e-3 + TIE, "{kgf_m} kgf m: {torque}");
    }
}

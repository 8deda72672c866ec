//! Measurement uncertainty.

use super::check;
use axlewright_mechanics::statistics::{Combined, Freedom, Part, combine, repeats};
use axlewright_quantity::{Angle, Length, Ratio};

fn part_nm(u: f64, nu: f64) -> Part<Length> {
    let freedom = if nu.is_finite() { Freedom::Of(Ratio::one(nu)) } else { Freedom::Infinite };
    Part { u: Length::m(u * 1e-9), freedom }
}

fn nu<Q>(combined: &Combined<Q>) -> f64 {
    match combined.freedom {
        Freedom::Of(nu) => nu.to_one(),
        Freedom::Infinite => f64::INFINITY,
    }
}

/// JCGM 100:2008 (GUM), H.1, end gauge; read as inputs and printed results in third-party tests of
/// it. d: u of 5.8 nm (ν 24), 3.9 nm (ν 5), 6.7 nm (ν 8); printed u(d) = 9.7 nm, ν = 25.6.
#[test]
fn gum_h1_comparator() {
    let d = combine(&[part_nm(5.8, 24.0), part_nm(3.9, 5.0), part_nm(6.7, 8.0)]).unwrap();
    check("u(d), nm", d.u.to_m() * 1e9, 9.7, 0.05);
    // Print uses the rounded 9.7 nm, to the fourth power: (9.7/9.682)⁴ is 0.75 % more.
    check("ν(d)", nu(&d) * (9.7e-9 / d.u.to_m()).powi(4), 25.6, 0.05);
}

/// JCGM 100:2008 (GUM), H.1, budget: gauge 25 nm (ν 18), comparator 9.7 nm (ν 25.6), expansion
/// ±1e-6/°C at −0.1 °C on 50 mm (ν 50), temperature difference ±0.05 °C times 11.5e-6/°C (ν 2).
/// Printed u = 32 nm, ν = 16 (cut off to a whole number).
#[test]
fn gum_h1_budget() {
    let length_nm = 50_000_623.0;
    let rectangular = |half_width: f64| half_width / 3.0_f64.sqrt();
    let budget = combine(&[
        part_nm(25.0, 18.0),
        part_nm(9.7, 25.6),
        part_nm(length_nm * rectangular(1e-6) * 0.1, 50.0),
        part_nm(length_nm * rectangular(0.05) * 11.5e-6, 2.0),
    ])
    .unwrap();
    check("u, nm", budget.u.to_m() * 1e9, 32.0, 0.5);
    check("ν", nu(&budget).floor(), 16.0, 0.0);
}

/// Sandia National Laboratories, ENGR224 course: 0.57 (ν 9) with 0.25 (no limit): ν = 12.8.
#[test]
fn welch_satterthwaite_two_parts() {
    let both = combine(&[part_nm(0.57, 9.0), part_nm(0.25, f64::INFINITY)]).unwrap();
    check("ν", nu(&both), 12.8, 0.05);
}

/// The same course: Y = X₁/X₂·Y_u with 0.1820 (u 0.00093, ν 9), 0.1823 (u 0.00058, ν 19) and
/// 0.6978 (u 0.0026, ν 19). Printed y = 0.6967, u = 0.00494, ν = 27.7.
#[test]
fn welch_satterthwaite_ratio() {
    let (x1, x2, yu) = (0.1820, 0.1823, 0.6978);
    let y = x1 / x2 * yu;
    check("y", y, 0.6967, 0.5e-4);
    let parts = [(0.00093 / x1, 9.0), (0.00058 / x2, 19.0), (0.0026 / yu, 19.0)];
    let part = |(share, nu): (f64, f64)| Part {
        u: Ratio::one(y * share),
        freedom: Freedom::Of(Ratio::one(nu)),
    };
    let all = combine(&parts.map(part)).unwrap();
    // The slides carry parts rounded to three places, which their u and ν show.
    check("u", all.u.to_one(), 0.00494, 0.000_02);
    check("ν", nu(&all), 27.7, 0.25);
}

/// JCGM 100:2008 (GUM), H.2, phase readings. The mean 1.04446 and u = 7.5e-4 were read in
/// third-party documentation; the five readings are from memory, so this is no evidence of print.
#[test]
fn gum_h2_mean_from_memory() {
    let phi = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433].map(Angle::rad);
    let mean = repeats(&phi, None).unwrap();
    check("φ", mean.value.to_rad(), 1.04446, 0.5e-5);
    check("u(φ)", mean.u.to_rad(), 7.5e-4, 0.05e-4);
    assert_eq!(mean.freedom, Freedom::Of(Ratio::one(4.0)));
}

/// JCGM 100:2008 (GUM), G.4.1, from memory: relative u of 0.25 % (ν 9), 0.57 % (ν 4) and
/// 0.82 % (ν 14): 1.03 %, ν 19.0. No evidence of print.
#[test]
fn gum_g41_from_memory() {
    let part =
        |(percent, nu)| Part { u: Ratio::percent(percent), freedom: Freedom::Of(Ratio::one(nu)) };
    let all = combine(&[(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)].map(part)).unwrap();
    check("u, %", all.u.to_percent(), 1.03, 0.005);
    check("ν", nu(&all), 19.0, 0.05);
}

//! Repeats and quadrature by hand and by a second road.

use axlewright_mechanics::statistics::{Freedom, Part, StatisticsError, combine, repeats};
use axlewright_quantity::{Amount, Angle, Kind, Length, Ratio};
use proptest::prelude::*;

/// By hand: 33.1, 33.2, 33.3, 33.2: mean 33.2, s² = 0.02/3, u² = s²/4; a step of 0.1 adds
/// 0.01/12.
#[test]
fn four_readings_by_hand() {
    let readings = [33.1, 33.2, 33.3, 33.2].map(Angle::deg);
    let plain = repeats(&readings, None).unwrap();
    assert!((plain.value.to_deg() - 33.2).abs() < 1e-12);
    assert!((plain.u.to_deg() - (0.02_f64 / 12.0).sqrt()).abs() < 1e-12);
    assert_eq!(plain.freedom, Freedom::Of(Ratio::one(3.0)));
    let with_step = repeats(&readings, Some(Angle::deg(0.1))).unwrap();
    assert!((with_step.u.to_deg() - (0.03_f64 / 12.0).sqrt()).abs() < 1e-12);
    // ν = 3·(0.03/0.02)² = 6.75.
    let Freedom::Of(nu) = with_step.freedom else { panic!("ν is not infinite") };
    assert!((nu.to_one() - 6.75).abs() < 1e-9);
}

#[test]
fn one_reading_needs_the_gauges_step() {
    let one = [Angle::deg(33.0)];
    assert_eq!(repeats(&one, None).unwrap_err(), StatisticsError::OneReading);
    let known = repeats(&one, Some(Angle::deg(0.1))).unwrap();
    assert!((known.u.to_deg() - 0.1 / 12.0_f64.sqrt()).abs() < 1e-12);
    assert_eq!(known.freedom, Freedom::Infinite);
    assert_eq!(repeats::<Angle>(&[], None).unwrap_err(), StatisticsError::None);
}

#[test]
fn refusals() {
    let mixed = [Amount::from_shown(Kind::Length, 1.0), Amount::from_shown(Kind::Angle, 1.0)];
    assert_eq!(
        repeats(&mixed, None).unwrap_err().to_string(),
        "reading 2 is in deg; the first is in mm"
    );
    let readings = [1.0, f64::NAN].map(Length::mm);
    assert_eq!(repeats(&readings, None).unwrap_err().to_string(), "reading 2 is not a number");
    assert!(repeats(&[Length::mm(1.0)], Some(Length::mm(-1.0))).is_err());
    let no_freedom = Part { u: Length::mm(1.0), freedom: Freedom::Of(Ratio::one(0.0)) };
    assert!(combine(&[no_freedom]).is_err());
    assert!(combine(&[Part { u: Length::mm(-1.0), freedom: Freedom::Infinite }]).is_err());
    assert!(combine::<Length>(&[]).is_err());
}

proptest! {
    /// s² by all pairs, Σ(xᵢ − xⱼ)²/(2n(n − 1)) over ordered pairs, needs no mean.
    #[test]
    fn scatter_by_pairs(values in prop::collection::vec(-50.0..50.0_f64, 2..12)) {
        let readings: Vec<Angle> = values.iter().copied().map(Angle::deg).collect();
        let n = values.len() as f64;
        let pairs: f64 = values.iter()
            .flat_map(|a| values.iter().map(move |b| (a - b).powi(2))).sum();
        let by_pairs = (pairs / (2.0 * n * (n - 1.0)) / n).sqrt();
        let ours = repeats(&readings, None).unwrap();
        prop_assert!((ours.u.to_deg() - by_pairs).abs() < 1e-9);
    }

    /// ν lies between the least of the parts' and their sum (JCGM 100:2008, G.4.1, note).
    #[test]
    fn effective_freedom_is_bounded(
        parts in prop::collection::vec((0.1..5.0_f64, 1.0..50.0_f64), 1..6),
    ) {
        let given: Vec<Part<Length>> = parts.iter()
            .map(|&(u, nu)| Part { u: Length::mm(u), freedom: Freedom::Of(Ratio::one(nu)) })
            .collect();
        let Freedom::Of(nu) = combine(&given).unwrap().freedom else {
            return Err(TestCaseError::fail("ν is infinite"));
        };
        let least = parts.iter().map(|part| part.1).fold(f64::INFINITY, f64::min);
        let sum: f64 = parts.iter().map(|part| part.1).sum();
        prop_assert!(least * (1.0 - 1e-9) <= nu.to_one() && nu.to_one() <= sum * (1.0 + 1e-9));
    }

    #[test]
    fn nothing_panics(bits in prop::collection::vec(any::<u64>(), 0..6), step in any::<u64>()) {
        let readings: Vec<Length> =
            bits.into_iter().map(|bits| Length::m(f64::from_bits(bits))).collect();
        if let Ok(found) = repeats(&readings, Some(Length::m(f64::from_bits(step)))) {
            prop_assert!(found.value.is_finite() && found.u.is_finite());
        }
    }
}

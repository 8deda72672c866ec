//! The bar by a second road, and its refusals.

use axlewright_mechanics::bar::{
    Bar, BarError, BarSize, BarSwap, FourNumbers, Sag, SagReading, Section,
    free_angle_after_bar_change,
};
use axlewright_quantity::{Angle, Length, Ratio, Stress, Torque, TorsionalRate};
use proptest::prelude::*;
use std::f64::consts::PI;

fn size(diameter: f64, bore: f64, length: f64, gpa: f64) -> BarSize {
    BarSize {
        diameter: Length::mm(diameter),
        bore: Length::mm(bore),
        length: Length::mm(length),
        modulus: Stress::gpa(gpa),
    }
}

/// The slow road: a bar is thin rings turned by the same angle; each carries shear G·r·φ/L over
/// its area at its radius.
fn rate_by_rings(size: BarSize, rings: u32) -> f64 {
    let (inner, outer) = (size.bore.to_m() / 2.0, size.diameter.to_m() / 2.0);
    let width = (outer - inner) / f64::from(rings);
    (0..rings)
        .map(|ring| {
            let r = inner + (f64::from(ring) + 0.5) * width;
            let stress_per_twist = size.modulus.to_pa() * r / size.length.to_m();
            stress_per_twist * 2.0 * PI * r * width * r
        })
        .sum()
}

#[test]
fn closed_form_against_thin_rings() {
    for given in [size(23.0, 0.0, 540.0, 78.5), size(30.0, 18.0, 700.0, 77.2)] {
        let closed = Bar::new(given).unwrap().rate().to_nm_per_rad();
        // The middle of a ring leaves an error that falls with the square of its width.
        for (rings, within) in [(10, 6e-3), (100, 6e-5), (1000, 6e-7)] {
            let summed = rate_by_rings(given, rings);
            assert!((summed / closed - 1.0).abs() < within, "{summed} and {closed}");
            assert_ne!(summed, closed);
        }
        assert!(0.0 < closed);
    }
}

/// Derived, no publication: d = 25 mm, L = 700 mm, G = 78.5 GPa: 4300.6247 N·m/rad, 75.06006
/// N·m/deg, 325.9493 MPa at 1000 N·m.
#[test]
fn derived_figures() {
    let bar = Bar::new(size(25.0, 0.0, 700.0, 78.5)).unwrap();
    assert!((bar.rate().to_nm_per_rad() - 4300.6247).abs() < 0.5e-4);
    assert!((bar.rate().to_nm_per_deg() - 75.060_06).abs() < 0.5e-5);
    assert!((bar.shear(Torque::nm(-1000.0)).to_mpa() - 325.9493).abs() < 0.5e-4);
}

proptest! {
    #[test]
    fn torque_and_twist_are_each_others_inverse(twist in -60.0..60.0_f64, share in 0.9..1.0_f64) {
        let bar = Bar::new(size(23.0, 0.0, 540.0, 78.5)).unwrap();
        let bar = bar.with_rate_share(Ratio::one(share)).unwrap();
        let back = bar.twist(bar.torque(Angle::deg(twist)));
        prop_assert!((back.to_deg() - twist).abs() < 1e-9);
    }

    #[test]
    fn four_numbers_are_the_full_swap_of_solid_bars(
        manual in 0.0..45.0_f64, ride in -5.0..20.0_f64, old in 15.0..30.0_f64,
        new in 15.0..30.0_f64,
    ) {
        let (manual, ride) = (Angle::deg(manual), Angle::deg(ride));
        let quick = free_angle_after_bar_change(FourNumbers {
            manual_free: manual, ride,
            old_diameter: Length::mm(old), new_diameter: Length::mm(new),
        });
        let bar = |d| Bar::new(size(d, 0.0, 540.0, 78.5)).unwrap();
        let full = BarSwap { manual_free: manual, ride, old: bar(old), new: bar(new) }.free_angle();
        match (quick, full) {
            (Ok(quick), Ok(full)) => {
                prop_assert!((quick - full).to_deg().abs() < 1e-9);
                // The point of it: both bars carry the same torque at ride.
                let before = bar(old).torque(manual - ride);
                let after = bar(new).torque(full - ride);
                prop_assert!((before - after).to_nm().abs() < 1e-6);
            }
            (quick, full) => prop_assert!(quick.is_err() && full.is_err()),
        }
    }

    #[test]
    fn nothing_panics(bits in prop::array::uniform4(any::<u64>())) {
        let [a, b, c, d] = bits.map(f64::from_bits);
        let given = BarSize {
            diameter: Length::m(a), bore: Length::m(b), length: Length::m(c),
            modulus: Stress::pa(d),
        };
        if let Ok(bar) = Bar::new(given) {
            prop_assert!(bar.rate().is_finite() && 0.0 < bar.rate().to_si());
        }
        let section = Section { diameter: Length::m(a), bore: Length::m(b) };
        let _ = Bar::with_rate(TorsionalRate::nm_per_rad(c), section);
        let numbers = FourNumbers {
            manual_free: Angle::rad(a), ride: Angle::rad(b),
            old_diameter: Length::m(c), new_diameter: Length::m(d),
        };
        if let Ok(angle) = free_angle_after_bar_change(numbers) { prop_assert!(angle.is_finite()); }
    }
}

/// Worked by hand: (22/23)⁴ = 234256/279841 = 0.837104; 11 + 19·0.837104 = 26.90497.
#[test]
fn four_numbers_by_hand() {
    let angle = free_angle_after_bar_change(FourNumbers {
        manual_free: Angle::deg(30.0),
        ride: Angle::deg(11.0),
        old_diameter: Length::mm(22.0),
        new_diameter: Length::mm(23.0),
    });
    assert!((angle.unwrap().to_deg() - 26.904_97).abs() < 0.5e-5);
}

#[test]
fn sag_found_is_sag_fitted() {
    let bar = Bar::new(size(22.0, 0.0, 540.0, 78.5)).unwrap();
    // A bar fitted at 30° that has set by 2° stands at 11° under the torque of 17° of twist.
    let torque = bar.torque(Angle::deg(17.0));
    let reading = SagReading { fitted_free: Angle::deg(30.0), ride: Angle::deg(11.0), torque };
    let sag = Sag::found(reading, &bar).unwrap();
    assert!((sag.set.to_deg() - 2.0).abs() < 1e-9);
    assert!((sag.free_angle().unwrap().to_deg() - 28.0).abs() < 1e-9);
}

#[test]
fn a_measured_rate_is_kept_and_a_share_scales_it() {
    let section = Section { diameter: Length::mm(23.0), bore: Length::ZERO };
    let bar = Bar::with_rate(TorsionalRate::nm_per_deg(60.0), section).unwrap();
    let soft = bar.with_rate_share(Ratio::percent(98.0)).unwrap();
    assert!((soft.rate().to_nm_per_deg() - 58.8).abs() < 1e-9);
    assert_eq!(soft.shear(Torque::nm(500.0)), bar.shear(Torque::nm(500.0)));
}

#[test]
fn refusals_say_what_and_how_much() {
    let refused = |given| {
        let error: BarError = Bar::new(given).unwrap_err();
        assert!(!error.hint().is_empty());
        error.to_string()
    };
    assert_eq!(
        refused(size(0.023, 0.0, 540.0, 78.5)),
        "bar diameter is 0.023 mm; it must lie between 1 mm and 500 mm"
    );
    assert_eq!(
        refused(size(23.0, 23.0, 540.0, 78.5)),
        "bore is 23.000 mm in a bar of 23.000 mm; it must be 0 or more and smaller than the bar"
    );
    assert!(refused(size(23.0, -1.0, 540.0, 78.5)).starts_with("bore is -1.000 mm"));
    assert!(refused(size(23.0, 0.0, 5.0, 78.5)).starts_with("active length is 5.000 mm"));
    assert!(refused(size(23.0, 0.0, 540.0, 78_500.0)).starts_with("modulus of rigidity is 78500"));
    assert!(refused(size(f64::NAN, 0.0, 540.0, 78.5)).starts_with("bar diameter is not a number"));
    let bar = Bar::new(size(23.0, 0.0, 540.0, 78.5)).unwrap();
    let share = bar.with_rate_share(Ratio::percent(2.0)).unwrap_err();
    assert_eq!(share.to_string(), "rate share is 0.020; it must lie between 0.5 and 1.5");
}

//! Friction classes, coefficients and nut factors.

use super::check;
use axlewright_mechanics::joints::{Bolt, Friction, Surface, Thread};
use axlewright_quantity::Ratio;

/// VDI 2230, friction classes, as restated by amesweb.info: A 0.04–0.10, B 0.08–0.16,
/// C 0.14–0.24, D 0.20–0.35, E 0.30 and more. What is said of a surface by its class is that band.
#[test]
fn friction_classes() {
    let of_class = |surface: Surface, class: &str| {
        let mut said = surface.statements().iter();
        let range = said.find(|said| said.source.contains(class)).unwrap().range();
        [range.least().thread().to_one(), range.most().head().to_one()]
    };
    for surface in [Surface::ZincOiled, Surface::PhosphateOiled, Surface::Greased] {
        assert_eq!(of_class(surface, "class B"), [0.08, 0.16], "{surface}");
    }
    assert_eq!(of_class(Surface::Unknown, "classes B and C"), [0.08, 0.24]);
}

/// MIL-HDBK-60 Table II: graphite 0.07, molybdenum disulphide 0.11, cadmium dry 0.12, zinc dry
/// 0.17, machine oil 0.15, each ± 20 %: every surface's range takes its row in.
#[test]
fn coefficients_lie_in_the_ranges() {
    let rows = [
        (Surface::Graphite, 0.07),
        (Surface::Moly, 0.11),
        (Surface::Cadmium, 0.12),
        (Surface::ZincDry, 0.17),
        (Surface::Oiled, 0.15),
    ];
    for (surface, printed) in rows {
        let range = surface.range();
        let (least, most) = (range.least().thread().to_one(), range.most().thread().to_one());
        assert!(least <= 0.8 * printed + 1e-12 && 1.2 * printed - 1e-12 <= most, "{surface}");
    }
}

/// Nut factor, K = T/(F·d).
fn nut_factor(bolt: &Bolt, friction: &Friction) -> f64 {
    bolt.lever(friction) / bolt.thread().diameter()
}

/// MIL-HDBK-60, §100.5: T = P·[0.159·L + d·(0.531·μ₁ + 0.625·μ₂)], P the preload and L the lead.
fn mil(thread: &Thread, mu: f64) -> f64 {
    0.159 * thread.pitch().to_mm() / thread.diameter().to_mm() + (0.531 + 0.625) * mu
}

/// MIL-HDBK-60, §100.5. Its coefficients stand for d₂ = 0.92·d and a bearing face from d to 1.5·d,
/// so that standard heads differ by up to 3 %; M10 at 0.12 comes to 0.1626 there.
#[test]
fn short_form_of_the_handbook() {
    check("1/2π", 1.0 / std::f64::consts::TAU, 0.159, 0.000_5);
    check("thread", 0.92 / (2.0 * 30.0_f64.to_radians().cos()), 0.531, 0.000_5);
    check("head", (1.0 + 1.5) / 4.0, 0.625, 1e-12);
    for size in ["M6", "M8", "M10", "M12", "M14", "M16", "M18", "M20"] {
        let thread = Thread::parse(size).unwrap();
        let friction = Friction::same(Ratio::one(0.12)).unwrap();
        let ours = nut_factor(&Bolt::hexagon(thread).unwrap(), &friction);
        check(size, ours, mil(&thread, 0.12), 0.03 * ours);
    }
    let m10 = Thread::parse("M10").unwrap();
    check("M10", mil(&m10, 0.12), 0.1626, 0.000_1);
    let friction = Friction::same(Ratio::one(0.12)).unwrap();
    let ours = nut_factor(&Bolt::hexagon(m10).unwrap(), &friction);
    check("M10 by the exact form", ours, 0.1626, 0.01 * 0.1626);
}

/// NASA TM-106943, p. 6: K about 0.11 to 0.15 lubricated, about 0.2 not.
#[test]
fn nut_factors() {
    let m10 = Bolt::hexagon(Thread::parse("M10").unwrap()).unwrap();
    let greased = Surface::Greased.range();
    assert!(nut_factor(&m10, &greased.least()) < 0.11 + 0.005);
    assert!(0.15 < nut_factor(&m10, &greased.most()));
    let dry = Surface::Dry.range();
    let (low, high) = (nut_factor(&m10, &dry.least()), nut_factor(&m10, &dry.most()));
    assert!(low < 0.205 && 0.2 < high);
    assert!(Surface::ZincDry.disagree());
    assert!(!Surface::Oiled.disagree());
}

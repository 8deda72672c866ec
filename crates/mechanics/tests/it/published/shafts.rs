//! Torsion of round shafts.

use super::check;
use axlewright_mechanics::bar::{Bar, BarSize};
use axlewright_quantity::{Angle, Length, Stress, Torque};

fn shaft(diameter_mm: f64, bore_mm: f64, length_m: f64, modulus_gpa: f64) -> Bar {
    Bar::new(BarSize {
        diameter: Length::mm(diameter_mm),
        bore: Length::mm(bore_mm),
        length: Length::m(length_m),
        modulus: Stress::gpa(modulus_gpa),
    })
    .unwrap()
}

/// Brown University, ENGN0310 course notes, Torsion, SP1: solid shaft, T = 250 N·m, L = 0.4 m,
/// D = 30 mm, G = 77 GPa. Printed: θ = 0.0163314 rad = 0.93572°.
#[test]
fn t1_solid_shaft() {
    let twist = shaft(30.0, 0.0, 0.4, 77.0).twist(Torque::nm(250.0));
    check("θ, rad", twist.to_rad(), 0.016_331_4, 0.5e-7);
    check("θ, deg", twist.to_deg(), 0.935_72, 0.5e-5);
}

/// The same notes print J = 7.95216e-8 m⁴ for 30 mm, 1.27235e-6 m⁴ for 60 mm and 9.04377e-7 m⁴ for
/// 60/44 mm. Our J shows in the rate of a bar: k·L/G.
#[test]
fn t1_t2_second_moments() {
    let j = |d, bore| shaft(d, bore, 1.0, 77.0).rate().to_nm_per_rad() / 77e9;
    check("J 30", j(30.0, 0.0), 7.952_16e-8, 0.5e-13);
    check("J 60", j(60.0, 0.0), 1.272_35e-6, 0.5e-11);
    check("J 60/44", j(60.0, 44.0), 9.043_77e-7, 0.5e-12);
}

/// Brown University, ENGN0310 course notes, Torsion, SP3: T = 250 N·m through 0.6 m of 60/44 mm,
/// 0.2 m of 60 mm and 0.4 m of 30 mm in a row, G = 77 GPa. Printed: θ = 0.0189958 rad = 1.08838°.
#[test]
fn t2_stepped_shaft() {
    let parts = [(60.0, 44.0, 0.6), (60.0, 0.0, 0.2), (30.0, 0.0, 0.4)];
    let twist = parts.iter().fold(Angle::ZERO, |sum, &(d, bore, l)| {
        sum + shaft(d, bore, l, 77.0).twist(Torque::nm(250.0))
    });
    check("θ, rad", twist.to_rad(), 0.018_995_8, 0.5e-7);
    check("θ, deg", twist.to_deg(), 1.088_38, 0.5e-5);
}

/// Solved problem 302 of a strength-of-materials collection (mecha-engineeringbd.com): 12 kN·m over
/// 6 m with at most 3°, G = 83 GPa. Printed: d = 113.98 mm, τ = 41.27 MPa.
#[test]
fn t5_sizing() {
    let bar = shaft(113.98, 0.0, 6.0, 83.0);
    let torque = Torque::nm(12_000.0);
    // Half a unit in the diameter's last place, 0.005 mm, is 0.018 % of the twist: 0.0006°.
    check("θ, deg", bar.twist(torque).to_deg(), 3.0, 0.0006);
    // The printed stress is cut off, not rounded (unrounded diameter: 41.277): a whole last unit.
    check("τ, MPa", bar.shear(torque).to_mpa(), 41.27, 0.01);
}

/// From memory, so no evidence of print: R. C. Hibbeler, Mechanics of Materials, SI 10th ed.,
/// Ex. 5.1 (solid r = 100 mm 118 kN·m; tube 75/100 mm 80.5 kN·m, 56.2 MPa inside, all at 75 MPa);
/// F. P. Beer et al., Mechanics of Materials, Ex. 3.01 to 3.03 (60/40 mm: 4.08 kN·m at 120 MPa;
/// 2° over 1.5 m 1.829 kN·m; 70 MPa at the bore 3.90°).
#[test]
fn t6_t7_from_memory() {
    let at = |bar: Bar, mpa: f64, per_nm: f64| mpa / bar.shear(Torque::nm(1.0)).to_mpa() / per_nm;
    check("solid, kN·m", at(shaft(200.0, 0.0, 1.0, 77.0), 75.0, 1e3), 118.0, 0.5);
    check("tube, kN·m", at(shaft(200.0, 150.0, 1.0, 77.0), 75.0, 1e3), 80.5, 0.05);
    let bar = shaft(60.0, 40.0, 1.5, 77.0);
    check("60/40, kN·m", at(bar, 120.0, 1e3), 4.08, 0.005);
    // Memory has 1.829; the formula gives 1.8295, on the edge of the last place.
    check("2°, kN·m", bar.torque(Angle::deg(2.0)).to_nm() / 1e3, 1.829, 0.000_6);
    // 70 MPa at the 20 mm radius is 105 MPa at the 30 mm radius. Memory cuts 3.907° off.
    let twist = bar.twist(Torque::nm(at(bar, 105.0, 1.0)));
    check("70 MPa inside, deg", twist.to_deg(), 3.90, 0.01);
}

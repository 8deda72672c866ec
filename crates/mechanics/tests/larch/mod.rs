//! Invented geometry that several tests share: the Larch 1300's left rear corner (a scenario of
//! ours, no car's figures), and two more that look quite different.
#![allow(dead_code, reason = "each test file uses its part")]

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, TrailingArm};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Corner, Gas, On, Weight};
use axlewright_quantity::{Angle, Force, Length, Mass, Place, PlatePoint, TorsionalRate};

pub const fn point(u: f64, w: f64) -> PlatePoint {
    PlatePoint { u: Length::mm(u), w: Length::mm(w) }
}

pub const fn design() -> ArmDesign {
    ArmDesign {
        hub: Place::mm(0.0, 610.0, 0.0),
        inner_pivot: Place::mm(-55.0, 235.0, -20.0),
        hole_front: point(250.0, 6.0),
        hole_rear: point(330.0, 6.0),
        w_moves: HolesMoved::Both,
        design_angle: Angle::deg(11.0),
        wheel_centre: Place::mm(-455.0, 668.0, -95.0),
        camber: Angle::deg(-0.5),
        toe: Angle::deg(0.1),
        tyre_radius: Length::mm(292.0),
    }
}

/// A short, wide arm on a plate with its holes set low, its rear one moved alone.
pub const fn stub() -> ArmDesign {
    ArmDesign {
        hub: Place::mm(15.0, 540.0, -8.0),
        inner_pivot: Place::mm(40.0, 310.0, 35.0),
        hole_front: point(180.0, -22.0),
        hole_rear: point(295.0, -14.0),
        w_moves: HolesMoved::Rear,
        design_angle: Angle::deg(4.0),
        wheel_centre: Place::mm(-390.0, 640.0, -60.0),
        camber: Angle::deg(-1.2),
        toe: Angle::deg(0.3),
        tyre_radius: Length::mm(265.0),
    }
}

/// A long arm whose pivot lies well ahead and above, its front hole moved alone.
pub const fn reed() -> ArmDesign {
    ArmDesign {
        hub: Place::mm(0.0, 680.0, 0.0),
        inner_pivot: Place::mm(120.0, 180.0, 60.0),
        hole_front: point(310.0, 12.0),
        hole_rear: point(420.0, -5.0),
        w_moves: HolesMoved::Front,
        design_angle: Angle::deg(16.0),
        wheel_centre: Place::mm(-560.0, 735.0, -170.0),
        camber: Angle::deg(0.4),
        toe: Angle::deg(-0.2),
        tyre_radius: Length::mm(310.0),
    }
}

pub fn designs() -> [(&'static str, ArmDesign); 3] {
    [("larch", design()), ("stub", stub()), ("reed", reed())]
}

pub fn arm() -> TrailingArm {
    TrailingArm::new(design()).unwrap()
}

pub const DAMPER: Span = Span::Points {
    body: Place::mm(-470.0, 560.0, 250.0),
    arm_at_design: Place::mm(-525.0, 590.0, -110.0),
};

/// k = G·π·d⁴/(32·L) with G 78.5 GPa, L 540 mm.
pub fn bar(d_mm: f64) -> TorsionalRate {
    let j = std::f64::consts::PI * (d_mm * 1e-3).powi(4) / 32.0;
    TorsionalRate::nm_per_rad(78.5e9 * j / 0.54)
}

pub fn corner() -> Corner {
    Corner {
        linkage: Linkage::Arm(arm()),
        bar_rate: bar(23.0),
        gas: Some(Gas { span: DAMPER, force: Force::n(120.0) }),
        bush: None,
        shift: Shift::default(),
    }
}

/// 280 kg on the ground less 36 kg unsprung.
pub fn load() -> Force {
    Mass::kg(280.0 - 36.0).weight()
}

pub const PLATE: Weight = Weight { mass: Mass::kg(2.1), on: On::Plate(point(160.0, 0.0)) };
pub const ARM: Weight =
    Weight { mass: Mass::kg(22.0), on: On::Arm(Place::mm(-400.0, 590.0, -100.0)) };
pub const JACK: Place = Place::mm(-440.0, 600.0, -150.0);

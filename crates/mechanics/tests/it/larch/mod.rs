//! Invented geometry that several tests share: the Larch 1300's left rear corner (a scenario of
//! ours, no car's figures), and two more that look quite different.
#![allow(dead_code, reason = "each test file uses its part")]

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, TrailingArm};
use axlewright_mechanics::car::stages::{Item, sprung};
use axlewright_mechanics::car::{Car, FrontCorner, Pair, RearCorner, Tyre, Wheels};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Corner, Gas, On, Weight};
use axlewright_quantity::{
    Angle, Force, Length, LinearRate, Mass, Place, PlatePoint, TorsionalRate,
};

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

/// The whole car, empty, half a tank, its bars indexed so that it stands at its manual's trim.
pub fn car() -> Car {
    let tyre = LinearRate::n_per_mm(190.0);
    let at_ride = corner().free_angle_for(Angle::deg(11.0), load()).unwrap();
    let front = |y: f64| FrontCorner {
        // Level at ride: the road is where the rear wheels' contacts are.
        contact: Place::mm(1845.0, y, -95.0 - 292.0),
        rate: LinearRate::n_per_mm(15.5),
        weight: Mass::kg(212.5),
        unsprung: Mass::kg(32.0),
        tyre_rate: Some(tyre),
        raised: Length::ZERO,
    };
    let rear = RearCorner {
        corner: corner(),
        free: at_ride,
        unsprung: Mass::kg(36.0),
        tyre: Tyre { rate: Some(tyre), weight: Mass::kg(280.0) },
    };
    // Stages: shell, engine and gearbox, half a tank, doors and trim. Heights are guesses.
    let item = |kg: f64, x: f64, z: f64| Item { mass: Mass::kg(kg), at: Place::mm(x, 0.0, z) };
    let items = [
        item(476.0, 900.0, 250.0),
        item(165.0, -480.0, 0.0),
        item(18.0, 1750.0, 50.0),
        item(190.0, 333.0, 350.0),
    ];
    Car {
        sprung: sprung(&items).unwrap(),
        front: Pair { left: front(645.0), right: front(-645.0) },
        rear: Pair::both(rear),
        front_coupling: None,
        rear_coupling: None,
        floor: Wheels::default(),
    }
}

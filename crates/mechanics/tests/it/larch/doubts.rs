//! The Larch 1300's rear corner with all that is not known exactly (a scenario of ours).
#![allow(dead_code, reason = "each test file uses its part")]

use axlewright_mechanics::arm::ArmDesign;
use axlewright_mechanics::bar::BarSize;
use axlewright_mechanics::chance::Shape;
use axlewright_mechanics::chance::corner::{Best, Carrier, Case, Doubt, Item, Measuring, Spring};
use axlewright_mechanics::linkage::{Shift, Span};
use axlewright_mechanics::load::{Bush, Gas};
use axlewright_quantity::{Amount, Angle, Force, Kind, Length, Mass, Ratio, Stress, TorsionalRate};

use super::larch;

pub fn best() -> Best {
    Best {
        carrier: Carrier::Arm(larch::design()),
        spring: Spring::Size(BarSize {
            diameter: Length::mm(23.0),
            bore: Length::ZERO,
            length: Length::mm(540.0),
            modulus: Stress::gpa(78.5),
        }),
        rate_share: Ratio::one(1.0),
        gas: Some(Gas { span: larch::DAMPER, force: Force::n(120.0) }),
        bush: None,
        shift: Shift::default(),
        weight: Mass::kg(280.0),
        unsprung: Mass::kg(36.0),
        settling: Length::mm(3.0),
    }
}

/// Hardpoints 1.5 mm, distances 1 mm, and the rest as the scenario has it.
pub fn doubts() -> Vec<Doubt> {
    let normal = |item: Item, u: Amount| Doubt { item, u, shape: Shape::Normal };
    let mut all = vec![
        normal(Item::BarDiameter, Length::mm(0.03).into()),
        normal(Item::BarLength, Length::mm(1.0).into()),
        normal(Item::RateShare, Ratio::percent(2.0).into()),
        Doubt {
            item: Item::Gas,
            u: Amount::from_si(Kind::Force, 20.0 / 3_f64.sqrt()),
            shape: Shape::Rectangular,
        },
        normal(Item::Weight, Mass::kg(8.0).into()),
        normal(Item::Reading, Angle::deg(0.15).into()),
        normal(Item::Level, Angle::deg(0.1).into()),
        Doubt {
            item: Item::Lash,
            u: Amount::from_si(Kind::Angle, Angle::deg(0.05).to_rad() / 3_f64.sqrt()),
            shape: Shape::Rectangular,
        },
        normal(Item::Settling, Length::mm(2.0).into()),
        normal(Item::Friction, Length::mm(4.0).into()),
        normal(Item::TyreRadius, Length::mm(1.0).into()),
    ];
    for &item in Item::ALL {
        let point = matches!(item.by(), Measuring::Arm | Measuring::Damper);
        let own =
            item as usize >= Item::HubX as usize && item as usize <= Item::DamperArmZ as usize;
        if point && own {
            all.push(normal(item, Length::mm(1.5).into()));
        }
    }
    all
}

pub fn case() -> Case {
    Case::new(best(), &doubts()).unwrap()
}

/// Best values by item, in the items' order.
pub fn values(design: &ArmDesign, best: &Best) -> Vec<(Item, Amount)> {
    let mut all: Vec<(Item, Amount)> =
        Item::ALL.iter().map(|&item| (item, Amount::from_si(item.kind(), 0.0))).collect();
    let mut put = |item: Item, amount: Amount| all[item as usize].1 = amount;
    let Spring::Size(size) = best.spring else { panic!("a bar by its size") };
    put(Item::BarDiameter, size.diameter.into());
    put(Item::BarBore, size.bore.into());
    put(Item::BarLength, size.length.into());
    put(Item::BarModulus, size.modulus.into());
    put(Item::RateShare, best.rate_share.into());
    put(Item::Gas, best.gas.unwrap().force.into());
    put(Item::Weight, best.weight.into());
    put(Item::Unsprung, best.unsprung.into());
    put(Item::Settling, best.settling.into());
    put(Item::ShiftU, best.shift.u.into());
    put(Item::ShiftW, best.shift.w.into());
    let bush = best.bush.unwrap_or(Bush { rate: TorsionalRate::ZERO, neutral: Angle::ZERO });
    put(Item::BushRate, bush.rate.into());
    put(Item::BushNeutral, bush.neutral.into());
    put(Item::TyreRadius, design.tyre_radius.into());
    put(Item::DesignAngle, design.design_angle.into());
    put(Item::Camber, design.camber.into());
    put(Item::Toe, design.toe.into());
    let Span::Points { body, arm_at_design } = best.gas.unwrap().span else { panic!("points") };
    let places = [
        ([Item::HubX, Item::HubY, Item::HubZ], design.hub),
        ([Item::PivotX, Item::PivotY, Item::PivotZ], design.inner_pivot),
        ([Item::WheelX, Item::WheelY, Item::WheelZ], design.wheel_centre),
        ([Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ], body),
        ([Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ], arm_at_design),
    ];
    for ([x, y, z], at) in places {
        put(x, at.x.into());
        put(y, at.y.into());
        put(z, at.z.into());
    }
    put(Item::HoleFrontU, design.hole_front.u.into());
    put(Item::HoleFrontW, design.hole_front.w.into());
    put(Item::HoleRearU, design.hole_rear.u.into());
    put(Item::HoleRearW, design.hole_rear.w.into());
    all
}

//! One build, solved by [`crate::load`] itself: the road that the fast one is held against.

use axlewright_quantity::{
    Angle, Force, Length, Mass, Place, PlatePoint, Ratio, Stress, TorsionalRate,
};

use super::item::{COUNT, Item};
use super::{Best, Carrier, ChanceError, Numbers, OUTCOMES, Spring};
use crate::arm::{ArmDesign, TrailingArm};
use crate::bar::{Bar, BarSize};
use crate::lever::{LeverDesign, PlaneLever};
use crate::linkage::{Linkage, Shift, Span};
use crate::load::{Bush, Corner, Gas};

/// What of a corner is no number: which parts there are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Exact {
    best: Best,
}

fn place(n: &Numbers, x: Item, y: Item, z: Item) -> Place {
    let [x, y, z] = [x, y, z].map(|item| Length::m(get(n, item)));
    Place { x, y, z }
}

pub(super) fn get(numbers: &Numbers, item: Item) -> f64 {
    numbers.get(item.number()).copied().unwrap_or(f64::NAN)
}

/// The best values as plain numbers; what the corner does not have stays zero.
pub(super) fn numbers(best: &Best) -> Numbers {
    let mut numbers = [0.0; COUNT];
    let mut put = |item: Item, si: f64| {
        numbers.get_mut(item.number()).into_iter().for_each(|n| *n = si);
    };
    let mut put_place = |[x, y, z]: [Item; 3], at: Place| {
        put(x, at.x.to_m());
        put(y, at.y.to_m());
        put(z, at.z.to_m());
    };
    match &best.carrier {
        Carrier::Arm(arm) => {
            put_place([Item::HubX, Item::HubY, Item::HubZ], arm.hub);
            put_place([Item::PivotX, Item::PivotY, Item::PivotZ], arm.inner_pivot);
            put_place([Item::WheelX, Item::WheelY, Item::WheelZ], arm.wheel_centre);
        }
        Carrier::Lever(lever) => put_place([Item::HubX, Item::HubY, Item::HubZ], lever.hub),
    }
    if let Some(Gas { span: Span::Points { body, arm_at_design }, .. }) = best.gas {
        put_place([Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ], body);
        put_place([Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ], arm_at_design);
    }
    match &best.carrier {
        Carrier::Arm(arm) => {
            put(Item::HoleFrontU, arm.hole_front.u.to_m());
            put(Item::HoleFrontW, arm.hole_front.w.to_m());
            put(Item::HoleRearU, arm.hole_rear.u.to_m());
            put(Item::HoleRearW, arm.hole_rear.w.to_m());
            put(Item::TyreRadius, arm.tyre_radius.to_m());
            put(Item::DesignAngle, arm.design_angle.to_rad());
            put(Item::Camber, arm.camber.to_rad());
            put(Item::Toe, arm.toe.to_rad());
        }
        Carrier::Lever(lever) => {
            put(Item::LeverReach, lever.reach.to_m());
            put(Item::LeverAngle, lever.ride_angle.to_rad());
            put(Item::LeverTrim, lever.trim_at_ride.to_m());
            put(Item::TyreRadius, lever.tyre_radius.to_m());
        }
    }
    match best.spring {
        Spring::Size(size) => {
            put(Item::BarDiameter, size.diameter.to_m());
            put(Item::BarBore, size.bore.to_m());
            put(Item::BarLength, size.length.to_m());
            put(Item::BarModulus, size.modulus.to_pa());
        }
        Spring::Rate(rate) => put(Item::BarRate, rate.to_nm_per_rad()),
    }
    if let Some(gas) = best.gas {
        put(Item::Gas, gas.force.to_n());
        match gas.span {
            Span::Points { .. } => {}
            Span::Upright { reach } => put(Item::DamperReach, reach.to_m()),
            Span::Lengths([(_, a), (_, b), (_, c)]) => {
                put(Item::DamperLengthA, a.to_m());
                put(Item::DamperLengthB, b.to_m());
                put(Item::DamperLengthC, c.to_m());
            }
        }
    }
    if let Some(bush) = best.bush {
        put(Item::BushRate, bush.rate.to_nm_per_rad());
        put(Item::BushNeutral, bush.neutral.to_rad());
    }
    put(Item::RateShare, best.rate_share.to_one());
    put(Item::Weight, best.weight.to_kg());
    put(Item::Unsprung, best.unsprung.to_kg());
    put(Item::Settling, best.settling.to_m());
    put(Item::ShiftU, best.shift.u.to_m());
    put(Item::ShiftW, best.shift.w.to_m());
    numbers
}

impl Exact {
    pub(super) const fn new(best: &Best) -> Self {
        Self { best: *best }
    }

    fn linkage(&self, n: &Numbers) -> Result<Linkage, ChanceError> {
        let length = |item| Length::m(get(n, item));
        let angle = |item| Angle::rad(get(n, item));
        let made = match self.best.carrier {
            Carrier::Arm(arm) => Linkage::Arm(
                TrailingArm::new(ArmDesign {
                    hub: place(n, Item::HubX, Item::HubY, Item::HubZ),
                    inner_pivot: place(n, Item::PivotX, Item::PivotY, Item::PivotZ),
                    hole_front: PlatePoint {
                        u: length(Item::HoleFrontU),
                        w: length(Item::HoleFrontW),
                    },
                    hole_rear: PlatePoint {
                        u: length(Item::HoleRearU),
                        w: length(Item::HoleRearW),
                    },
                    w_moves: arm.w_moves,
                    design_angle: angle(Item::DesignAngle),
                    wheel_centre: place(n, Item::WheelX, Item::WheelY, Item::WheelZ),
                    camber: angle(Item::Camber),
                    toe: angle(Item::Toe),
                    tyre_radius: length(Item::TyreRadius),
                })
                .map_err(crate::linkage::LinkageError::from)?,
            ),
            Carrier::Lever(_) => Linkage::Lever(
                PlaneLever::new(LeverDesign {
                    hub: place(n, Item::HubX, Item::HubY, Item::HubZ),
                    reach: length(Item::LeverReach),
                    ride_angle: angle(Item::LeverAngle),
                    trim_at_ride: length(Item::LeverTrim),
                    tyre_radius: length(Item::TyreRadius),
                })
                .map_err(crate::linkage::LinkageError::from)?,
            ),
        };
        Ok(made)
    }

    fn rate(&self, n: &Numbers) -> Result<TorsionalRate, ChanceError> {
        let share = get(n, Item::RateShare);
        match self.best.spring {
            Spring::Size(_) => {
                let bar = Bar::new(BarSize {
                    diameter: Length::m(get(n, Item::BarDiameter)),
                    bore: Length::m(get(n, Item::BarBore)),
                    length: Length::m(get(n, Item::BarLength)),
                    modulus: Stress::pa(get(n, Item::BarModulus)),
                })?;
                Ok(bar.with_rate_share(Ratio::one(share))?.rate())
            }
            Spring::Rate(_) => Ok(TorsionalRate::nm_per_rad(share * get(n, Item::BarRate))),
        }
    }

    /// The corner of these numbers.
    pub(super) fn corner(&self, n: &Numbers) -> Result<Corner, ChanceError> {
        let length = |item| Length::m(get(n, item));
        let span = |span: Span| match span {
            Span::Points { .. } => Span::Points {
                body: place(n, Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ),
                arm_at_design: place(n, Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ),
            },
            Span::Upright { .. } => Span::Upright { reach: length(Item::DamperReach) },
            Span::Lengths([(a, _), (b, _), (c, _)]) => Span::Lengths([
                (a, length(Item::DamperLengthA)),
                (b, length(Item::DamperLengthB)),
                (c, length(Item::DamperLengthC)),
            ]),
        };
        let gas = |gas: Gas| Gas { span: span(gas.span), force: Force::n(get(n, Item::Gas)) };
        let bush = |_| Bush {
            rate: TorsionalRate::nm_per_rad(get(n, Item::BushRate)),
            neutral: Angle::rad(get(n, Item::BushNeutral)),
        };
        let corner = Corner {
            linkage: self.linkage(n)?,
            bar_rate: self.rate(n)?,
            gas: self.best.gas.map(gas),
            bush: self.best.bush.map(bush),
            shift: Shift { u: length(Item::ShiftU), w: length(Item::ShiftW) },
        };
        corner.check()?;
        Ok(corner)
    }

    /// All that a build tells.
    pub(super) fn build(
        &self,
        n: &Numbers,
        free: f64,
        trim: f64,
    ) -> Result<[f64; OUTCOMES], ChanceError> {
        let corner = self.corner(n)?;
        let errors: f64 = [Item::Reading, Item::Level, Item::Lash].map(|i| get(n, i)).iter().sum();
        let load = Mass::kg(get(n, Item::Weight) - get(n, Item::Unsprung)).weight();
        let (settling, friction) = (get(n, Item::Settling), get(n, Item::Friction));
        let ride = corner.angle_for(Angle::rad(free + errors), load)?;
        let stance = corner.linkage.stance(corner.shift.at(ride))?;
        let stands = corner.trim(ride)?.to_m() - settling;
        let wanted = corner.angle_at_trim(Length::m(trim + settling))?;
        let needed = corner.free_angle_for(wanted, load)?;
        // A plain lever tells neither camber nor toe: nought, and nobody asks it.
        let [camber, toe] = [stance.camber, stance.toe].map(|a| a.map_or(0.0, Angle::to_rad));
        Ok([stands, stands + friction, ride.to_rad(), needed.to_rad(), camber, toe])
    }
}

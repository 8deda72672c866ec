//! One build: a corner of its numbers, solved by [`crate::load`].

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
use crate::root::Near;

/// What of a corner is no number: which parts there are.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Model {
    best: Best,
}

/// What a build is asked for, in SI units.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    /// Free angle as the gauge tells it.
    pub(super) free: f64,
    /// Trim wanted.
    pub(super) trim: f64,
}

/// Where the best values rest and where they have the wanted trim: no build is far from it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Start {
    ride: Near,
    wanted: Near,
}

fn place(n: &Numbers, x: Item, y: Item, z: Item) -> Place {
    let [x, y, z] = [x, y, z].map(|item| Length::m(get(n, item)));
    Place { x, y, z }
}

pub(super) fn get(numbers: &Numbers, item: Item) -> f64 {
    numbers.get(item.number()).copied().unwrap_or(f64::NAN)
}

/// Puts numbers in their places.
struct Fill(Numbers);

impl Fill {
    fn put(&mut self, item: Item, si: f64) {
        self.0.get_mut(item.number()).into_iter().for_each(|n| *n = si);
    }

    fn place(&mut self, [x, y, z]: [Item; 3], at: Place) {
        self.put(x, at.x.to_m());
        self.put(y, at.y.to_m());
        self.put(z, at.z.to_m());
    }

    fn carrier(&mut self, carrier: &Carrier) {
        let hub = [Item::HubX, Item::HubY, Item::HubZ];
        match carrier {
            Carrier::Arm(arm) => {
                self.place(hub, arm.hub);
                self.place([Item::PivotX, Item::PivotY, Item::PivotZ], arm.inner_pivot);
                self.place([Item::WheelX, Item::WheelY, Item::WheelZ], arm.wheel_centre);
                self.put(Item::HoleFrontU, arm.hole_front.u.to_m());
                self.put(Item::HoleFrontW, arm.hole_front.w.to_m());
                self.put(Item::HoleRearU, arm.hole_rear.u.to_m());
                self.put(Item::HoleRearW, arm.hole_rear.w.to_m());
                self.put(Item::TyreRadius, arm.tyre_radius.to_m());
                self.put(Item::DesignAngle, arm.design_angle.to_rad());
                self.put(Item::Camber, arm.camber.to_rad());
                self.put(Item::Toe, arm.toe.to_rad());
            }
            Carrier::Lever(lever) => {
                self.place(hub, lever.hub);
                self.put(Item::LeverReach, lever.reach.to_m());
                self.put(Item::LeverAngle, lever.ride_angle.to_rad());
                self.put(Item::LeverTrim, lever.trim_at_ride.to_m());
                self.put(Item::TyreRadius, lever.tyre_radius.to_m());
            }
        }
    }

    fn spring(&mut self, spring: &Spring) {
        match spring {
            Spring::Size(size) => {
                self.put(Item::BarDiameter, size.diameter.to_m());
                self.put(Item::BarBore, size.bore.to_m());
                self.put(Item::BarLength, size.length.to_m());
                self.put(Item::BarModulus, size.modulus.to_pa());
            }
            Spring::Rate(rate) => self.put(Item::BarRate, rate.to_nm_per_rad()),
        }
    }

    fn gas(&mut self, gas: &Gas) {
        self.put(Item::Gas, gas.force.to_n());
        match gas.span {
            Span::Points { body, arm_at_design } => {
                self.place([Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ], body);
                self.place([Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ], arm_at_design);
            }
            Span::Upright { reach } => self.put(Item::DamperReach, reach.to_m()),
            Span::Lengths([(_, a), (_, b), (_, c)]) => {
                self.put(Item::DamperLengthA, a.to_m());
                self.put(Item::DamperLengthB, b.to_m());
                self.put(Item::DamperLengthC, c.to_m());
            }
        }
    }
}

/// The best values as plain numbers; what the corner does not have stays zero.
pub(super) fn numbers(best: &Best) -> Numbers {
    let mut fill = Fill([0.0; COUNT]);
    fill.carrier(&best.carrier);
    fill.spring(&best.spring);
    best.gas.iter().for_each(|gas| fill.gas(gas));
    if let Some(bush) = best.bush {
        fill.put(Item::BushRate, bush.rate.to_nm_per_rad());
        fill.put(Item::BushNeutral, bush.neutral.to_rad());
    }
    fill.put(Item::RateShare, best.rate_share.to_one());
    fill.put(Item::Weight, best.weight.to_kg());
    fill.put(Item::Unsprung, best.unsprung.to_kg());
    fill.put(Item::Settling, best.settling.to_m());
    fill.put(Item::ShiftU, best.shift.u.to_m());
    fill.put(Item::ShiftW, best.shift.w.to_m());
    fill.0
}

impl Model {
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
        asked: Asked,
        start: Option<Start>,
    ) -> Result<[f64; OUTCOMES], ChanceError> {
        let corner = self.corner(n)?;
        let errors: f64 = [Item::Reading, Item::Level, Item::Lash].map(|i| get(n, i)).iter().sum();
        let load = load(n);
        let settling = get(n, Item::Settling);
        let free = Angle::rad(asked.free + errors);
        let ride = corner.rest(free, load, start.map(|start| start.ride))?;
        let stance = corner.linkage.stance(corner.shift.at(ride))?;
        let stands = corner.linkage.hub()[2] - stance.wheel_centre.z.to_m() - settling;
        let trim = Length::m(asked.trim + settling);
        let wanted = start.map(|start| start.wanted);
        let wanted = corner.linkage.at_trim(trim, corner.shift, wanted)?;
        let needed = corner.free_angle_for(wanted, load)?;
        let read = stands + get(n, Item::Friction);
        // A plain lever tells neither camber nor toe; 0 is never read.
        let [camber, toe] = [stance.camber, stance.toe].map(|a| a.map_or(0.0, Angle::to_rad));
        Ok([stands, read, ride.to_rad(), needed.to_rad(), camber, toe])
    }

    /// Where builds of a corner with these best values begin; none where a slope is not to be had,
    /// and each then walks from its own free angle.
    pub(super) fn start(&self, n: &Numbers, asked: Asked) -> Option<Start> {
        let corner = self.corner(n).ok()?;
        let (free, load) = (Angle::rad(asked.free), load(n));
        let ride = corner.rest(free, load, None).ok()?;
        let trim = Length::m(asked.trim + get(n, Item::Settling));
        let wanted = corner.angle_at_trim(trim).ok()?;
        // By differences: these slopes only steer, they decide nothing.
        let step = Angle::rad(1e-5);
        let less = |f: &dyn Fn(Angle) -> Option<f64>, at: Angle| {
            Some((f(at + step)? - f(at - step)?) / (2.0 * step.to_rad()))
        };
        let needed = |at: Angle| Some(corner.free_angle_for(at, load).ok()?.to_rad());
        let trim = |at: Angle| Some(-corner.trim(at).ok()?.to_m());
        // k(θ₀ − θ) + M − F·(−z′) is k times θ₀ less the free angle that θ asks for.
        let stiffness = -corner.bar_rate.to_nm_per_rad() * less(&needed, ride)?;
        Some(Start {
            ride: Near { at: ride.to_rad(), slope: stiffness },
            wanted: Near { at: wanted.to_rad(), slope: less(&trim, wanted)? },
        })
    }
}

/// What the spring carries.
fn load(n: &Numbers) -> Force {
    Mass::kg(get(n, Item::Weight) - get(n, Item::Unsprung)).weight()
}

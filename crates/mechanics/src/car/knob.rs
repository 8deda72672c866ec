//! What can be turned or is not known for sure, and what can be read: the two lists that
//! sensitivities, corrections and learning share.

use axlewright_quantity::{Amount, Angle, Force, Kind, Length, LinearRate, Mass, Side};
use num_dual::Dual64;

use super::kernel::Values;
use super::{Car, CarError, Wheel, input};

/// Something that can be turned, or that is not known for sure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Knob {
    /// Free angle of the bar as indexed (tail down +): vernier steps, sag, reading error.
    FreeAngle(Side),
    /// Fore-aft eccentric: shift of the holes along the plate, + rearward.
    ShiftU(Side),
    /// Up-down eccentric: shift of the holes, + up the plate.
    ShiftW(Side),
    /// Rate of the bar, as a share of the one entered.
    BarShare(Side),
    /// Gas force of the damper.
    Gas(Side),
    /// Sprung mass.
    SprungMass,
    /// Its centre, forward.
    CentreX,
    /// Its centre, to the left.
    CentreY,
    /// Its centre, up.
    CentreZ,
    /// Mass of a corner that does not ride on its spring.
    Unsprung(Wheel),
    /// Tyre's rate.
    TyreRate(Wheel),
    /// Wheel rate in front.
    FrontRate(Side),
    /// How much higher the body stands at a front corner under the same load: screw or set.
    FrontRaised(Side),
    /// Floor under a wheel.
    Floor(Wheel),
    /// Anti-roll bar's coupling, in front.
    FrontCoupling,
    /// The same behind.
    RearCoupling,
}

/// Something that scales, tapes and gauges read off the standing car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Figure {
    /// On scales.
    Weight(Wheel),
    /// Bar axis above wheel centre, by plumb: as two heights over the floor tell it.
    Trim(Side),
    /// Left trim less right trim.
    TrimDifference,
    /// Plate angle below the body's horizontal.
    PlateAngle(Side),
    /// Camber of a rear wheel against plumb.
    Camber(Side),
    /// Toe of a rear wheel against the body's centre line.
    Toe(Side),
    /// (RF + LR)/total.
    CrossWeight,
    /// Where the rear wheels together point, + to the left of the centre line.
    Thrust,
    /// Nose of the body up, against plumb.
    Pitch,
    /// Left side of the body up, against plumb.
    Roll,
}

/// Every figure, in the order of the tables.
pub const FIGURES: [Figure; 17] = [
    Figure::Weight(Wheel::LeftFront),
    Figure::Weight(Wheel::RightFront),
    Figure::Weight(Wheel::LeftRear),
    Figure::Weight(Wheel::RightRear),
    Figure::Trim(Side::Left),
    Figure::Trim(Side::Right),
    Figure::TrimDifference,
    Figure::PlateAngle(Side::Left),
    Figure::PlateAngle(Side::Right),
    Figure::Camber(Side::Left),
    Figure::Camber(Side::Right),
    Figure::Toe(Side::Left),
    Figure::Toe(Side::Right),
    Figure::CrossWeight,
    Figure::Thrust,
    Figure::Pitch,
    Figure::Roll,
];

impl Figure {
    /// Which quantity it is.
    ///
    /// # Valid for
    /// Every car.
    pub const fn kind(self) -> Kind {
        match self {
            Self::Weight(_) => Kind::Mass,
            Self::Trim(_) | Self::TrimDifference => Kind::Length,
            Self::CrossWeight => Kind::Ratio,
            _ => Kind::Angle,
        }
    }

    /// What people call it.
    pub fn name(self) -> String {
        match self {
            Self::Weight(at) => format!("weight {}", at.code()),
            Self::Trim(side) => format!("trim {}", side.word()),
            Self::TrimDifference => "trim, left less right".into(),
            Self::PlateAngle(side) => format!("plate angle {}", side.word()),
            Self::Camber(side) => format!("rear camber {}", side.word()),
            Self::Toe(side) => format!("rear toe {}", side.word()),
            Self::CrossWeight => "cross weight".into(),
            Self::Thrust => "thrust angle".into(),
            Self::Pitch => "pitch of the body".into(),
            Self::Roll => "roll of the body".into(),
        }
    }
}

impl Figure {
    /// Its place in [`FIGURES`].
    pub(super) fn number(self) -> usize {
        let side = |s: Side| usize::from(s == Side::Right);
        match self {
            Self::Weight(Wheel::LeftFront) => 0,
            Self::Weight(Wheel::RightFront) => 1,
            Self::Weight(Wheel::LeftRear) => 2,
            Self::Weight(Wheel::RightRear) => 3,
            Self::Trim(s) => 4 + side(s),
            Self::TrimDifference => 6,
            Self::PlateAngle(s) => 7 + side(s),
            Self::Camber(s) => 9 + side(s),
            Self::Toe(s) => 11 + side(s),
            Self::CrossWeight => 13,
            Self::Thrust => 14,
            Self::Pitch => 15,
            Self::Roll => 16,
        }
    }
}

impl Knob {
    /// Which quantity it is turned by.
    ///
    /// # Valid for
    /// Every car.
    pub const fn kind(self) -> Kind {
        match self {
            Self::FreeAngle(_) => Kind::Angle,
            Self::ShiftU(_)
            | Self::ShiftW(_)
            | Self::CentreX
            | Self::CentreY
            | Self::CentreZ
            | Self::FrontRaised(_)
            | Self::Floor(_) => Kind::Length,
            Self::BarShare(_) => Kind::Ratio,
            Self::Gas(_) => Kind::Force,
            Self::SprungMass | Self::Unsprung(_) => Kind::Mass,
            Self::TyreRate(_) | Self::FrontRate(_) | Self::FrontCoupling | Self::RearCoupling => {
                Kind::LinearRate
            }
        }
    }

    /// What people call it.
    pub fn name(self) -> String {
        match self {
            Self::FreeAngle(side) => format!("free angle of the {} bar", side.word()),
            Self::ShiftU(side) => format!("fore-aft eccentric {}", side.word()),
            Self::ShiftW(side) => format!("up-down eccentric {}", side.word()),
            Self::BarShare(side) => format!("rate of the {} bar", side.word()),
            Self::Gas(side) => format!("gas force of the {} damper", side.word()),
            Self::SprungMass => "sprung mass".into(),
            Self::CentreX => "centre of mass, forward".into(),
            Self::CentreY => "centre of mass, to the left".into(),
            Self::CentreZ => "centre of mass, up".into(),
            Self::Unsprung(at) => format!("unsprung mass {}", at.code()),
            Self::TyreRate(at) => format!("tyre rate {}", at.code()),
            Self::FrontRate(side) => format!("front wheel rate {}", side.word()),
            Self::FrontRaised(side) => format!("front height {}", side.word()),
            Self::Floor(at) => format!("floor under {}", at.code()),
            Self::FrontCoupling => "front anti-roll bar".into(),
            Self::RearCoupling => "rear anti-roll bar".into(),
        }
    }

    fn is_of(self, car: &Car) -> bool {
        match self {
            Self::ShiftU(side) | Self::ShiftW(side) => {
                matches!(car.rear[side].corner.linkage, crate::linkage::Linkage::Arm(_))
            }
            Self::Gas(side) => car.rear[side].corner.gas.is_some(),
            Self::TyreRate(at) => super::tyre_rate(car, at).is_some(),
            Self::FrontCoupling => car.front_coupling.is_some(),
            Self::RearCoupling => car.rear_coupling.is_some(),
            _ => true,
        }
    }

    /// Every knob a car has.
    pub(super) fn all_of(car: &Car) -> Vec<Self> {
        let mut knobs = vec![Self::SprungMass, Self::CentreX, Self::CentreY, Self::CentreZ];
        for side in Side::BOTH {
            knobs.extend([
                Self::FreeAngle(side),
                Self::BarShare(side),
                Self::ShiftU(side),
                Self::ShiftW(side),
                Self::Gas(side),
                Self::FrontRate(side),
                Self::FrontRaised(side),
            ]);
        }
        for at in super::WHEELS {
            knobs.extend([Self::Unsprung(at), Self::Floor(at), Self::TyreRate(at)]);
        }
        knobs.extend([Self::FrontCoupling, Self::RearCoupling]);
        knobs.retain(|knob| knob.is_of(car));
        knobs
    }

    /// Where a wheel stands in the arrays.
    fn at(wheel: Wheel) -> usize {
        Figure::Weight(wheel).number()
    }

    /// One unit of this knob, as the dual part of the values.
    pub(super) fn seed(self, v: &mut Values<Dual64>) {
        let side = |s: Side| usize::from(s == Side::Right);
        match self {
            Self::FreeAngle(s) => v.free[side(s)].eps = 1.0,
            Self::ShiftU(s) => v.shift[side(s)][0].eps = 1.0,
            Self::ShiftW(s) => v.shift[side(s)][1].eps = 1.0,
            Self::BarShare(s) => v.share[side(s)].eps = 1.0,
            Self::Gas(s) => v.gas[side(s)].eps = 1.0,
            Self::SprungMass => v.mass.eps = 1.0,
            Self::CentreX => v.centre[0].eps = 1.0,
            Self::CentreY => v.centre[1].eps = 1.0,
            Self::CentreZ => v.centre[2].eps = 1.0,
            Self::Unsprung(at) => v.unsprung[Self::at(at)].eps = 1.0,
            // What is kept is 1/c, and d(1/c) = −(1/c)²·dc.
            Self::TyreRate(at) => {
                let give = &mut v.give[Self::at(at)];
                give.eps = -give.re * give.re;
            }
            Self::FrontRate(s) => v.rate[side(s)].eps = 1.0,
            Self::FrontRaised(s) => v.raised[side(s)].eps = 1.0,
            Self::Floor(at) => v.floor[Self::at(at)].eps = 1.0,
            Self::FrontCoupling => v.coupling[0].eps = 1.0,
            Self::RearCoupling => v.coupling[1].eps = 1.0,
        }
    }

    pub(super) fn turn(self, car: &Car, by: Amount) -> Result<Car, CarError> {
        if by.kind() != self.kind() {
            let given = by.kind().with_article();
            return Err(input(self.name(), given, "a step of its own kind"));
        }
        if !self.is_of(car) {
            return Err(CarError::NotKnown { what: self.name() });
        }
        let mut car = car.clone();
        self.turn_corner(&mut car, by.to_si());
        self.turn_body(&mut car, by.to_si());
        Ok(car)
    }

    /// What belongs to one corner, by an SI step.
    fn turn_corner(self, car: &mut Car, step: f64) {
        let length = Length::from_si(step);
        match self {
            Self::FreeAngle(s) => add(&mut car.rear[s].free, Angle::from_si(step)),
            Self::ShiftU(s) => add(&mut car.rear[s].corner.shift.u, length),
            Self::ShiftW(s) => add(&mut car.rear[s].corner.shift.w, length),
            Self::BarShare(s) => {
                let rate = &mut car.rear[s].corner.bar_rate;
                *rate = *rate * (1.0 + step);
            }
            Self::Gas(s) => {
                if let Some(gas) = &mut car.rear[s].corner.gas {
                    add(&mut gas.force, Force::from_si(step));
                }
            }
            Self::Unsprung(at) => {
                let mass = match super::is_front(at) {
                    true => &mut car.front[at.side()].unsprung,
                    false => &mut car.rear[at.side()].unsprung,
                };
                add(mass, Mass::from_si(step));
            }
            Self::TyreRate(at) => {
                let rate = match super::is_front(at) {
                    true => &mut car.front[at.side()].tyre_rate,
                    false => &mut car.rear[at.side()].tyre.rate,
                };
                if let Some(rate) = rate {
                    add(rate, LinearRate::from_si(step));
                }
            }
            Self::FrontRate(s) => add(&mut car.front[s].rate, LinearRate::from_si(step)),
            Self::FrontRaised(s) => add(&mut car.front[s].raised, length),
            Self::Floor(at) => add(&mut car.floor[at], length),
            _ => {}
        }
    }

    /// What belongs to the body or an axle, by an SI step.
    fn turn_body(self, car: &mut Car, step: f64) {
        let length = Length::from_si(step);
        match self {
            Self::SprungMass => add(&mut car.sprung.mass, Mass::from_si(step)),
            Self::CentreX => add(&mut car.sprung.centre.x, length),
            Self::CentreY => add(&mut car.sprung.centre.y, length),
            Self::CentreZ => add(&mut car.sprung.centre.z, length),
            Self::FrontCoupling | Self::RearCoupling => {
                let rate = match self {
                    Self::FrontCoupling => &mut car.front_coupling,
                    _ => &mut car.rear_coupling,
                };
                if let Some(rate) = rate {
                    add(rate, LinearRate::from_si(step));
                }
            }
            _ => {}
        }
    }
}

fn add<Q: Copy + std::ops::Add<Output = Q>>(to: &mut Q, by: Q) {
    *to = *to + by;
}

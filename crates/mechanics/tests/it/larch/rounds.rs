//! The demo's first round on the wheels: what is doubted, wanted, and can be turned.
#![allow(dead_code, reason = "each test file uses its part")]

use std::time::Duration;

use axlewright_mechanics::car::correct::{
    Adjusters, Band, Eccentrics, Goals, Screws, ToothTimes, tooth_moves,
};
use axlewright_mechanics::car::learn::{Doubt, Reading, Round};
use axlewright_mechanics::car::{Figure, Knob, Pair, Wheel};
use axlewright_mechanics::splines::{Ends, Splines};
use axlewright_quantity::{Angle, Force, Length, LinearRate, Mass, Ratio, Side};

pub fn minutes(n: u64) -> Duration {
    Duration::from_secs(60 * n)
}

pub fn goals() -> Goals {
    Goals {
        trim: Some(Band { target: Length::mm(95.0), within: Length::mm(5.0) }),
        trim_difference: Some(Length::mm(5.0)),
        cross_weight: Some(Band { target: Ratio::percent(50.0), within: Ratio::percent(0.5) }),
        camber: Some(Band { target: Angle::deg(-0.5), within: Angle::deg(20.0 / 60.0) }),
        toe: Some(Band { target: Angle::deg(0.1), within: Angle::deg(5.0 / 60.0) }),
        keep: Ratio::one(1.0),
    }
}

pub fn adjusters() -> Adjusters {
    let splines = Splines::new(38, 42).unwrap();
    let times = ToothTimes { end: minutes(40), tooth: minutes(1) };
    let moves = tooth_moves(&splines, Ends::Both, Angle::deg(6.0), times).unwrap();
    let six = Pair::both(Ratio::one(6.0));
    let throw = Length::mm(4.0);
    Adjusters {
        teeth: Pair::both(moves),
        screws: Some(Screws {
            per_turn: Length::mm(2.4),
            turns_up: six,
            turns_down: six,
            takes: minutes(10),
        }),
        eccentrics: Some(Pair::both(Eccentrics {
            throw_u: throw,
            throw_w: throw,
            takes: minutes(25),
        })),
    }
}

pub fn doubts() -> Vec<Doubt> {
    let mut doubts = vec![
        Doubt { knob: Knob::SprungMass, u: Mass::kg(12.0).into() },
        Doubt { knob: Knob::CentreX, u: Length::mm(20.0).into() },
        Doubt { knob: Knob::CentreY, u: Length::mm(10.0).into() },
    ];
    for side in Side::BOTH {
        doubts.extend([
            Doubt { knob: Knob::FreeAngle(side), u: Angle::deg(0.4).into() },
            Doubt { knob: Knob::BarShare(side), u: Ratio::percent(2.0).into() },
            Doubt { knob: Knob::Gas(side), u: Force::n(20.0).into() },
            Doubt { knob: Knob::ShiftU(side), u: Length::mm(1.0).into() },
            Doubt { knob: Knob::ShiftW(side), u: Length::mm(1.0).into() },
            Doubt { knob: Knob::FrontRaised(side), u: Length::mm(5.0).into() },
            Doubt { knob: Knob::FrontRate(side), u: LinearRate::n_per_mm(0.5).into() },
        ]);
    }
    doubts
}

pub fn first() -> Round {
    let weight = |at, kg| Reading {
        figure: Figure::Weight(at),
        value: Mass::kg(kg).into(),
        u: Mass::kg(3.0).into(),
    };
    let angle =
        |figure, deg| Reading { figure, value: Angle::deg(deg).into(), u: Angle::deg(0.05).into() };
    let trim = |side, mm| Reading {
        figure: Figure::Trim(side),
        value: Length::mm(mm).into(),
        u: Length::mm(2.0).into(),
    };
    let readings = vec![
        weight(Wheel::LeftFront, 210.0),
        weight(Wheel::RightFront, 215.0),
        weight(Wheel::LeftRear, 288.0),
        weight(Wheel::RightRear, 272.0),
        trim(Side::Left, 99.0),
        trim(Side::Right, 94.0),
        angle(Figure::Camber(Side::Left), -0.30),
        angle(Figure::Camber(Side::Right), -0.60),
        angle(Figure::Toe(Side::Left), -0.04),
        angle(Figure::Toe(Side::Right), 0.22),
    ];
    Round { moved: Vec::new(), readings }
}

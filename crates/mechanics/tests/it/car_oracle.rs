//! Whole cars against tables from two independent programs: least energy with SciPy
//! (`reference/car_oracle.py`) and a rigid-body engine (`reference/engine_oracle.py`).

use std::collections::BTreeMap;

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, Shift, TrailingArm};
use axlewright_mechanics::car::{
    Car, Figure, FrontCorner, Pair, RearCorner, Rest, Sprung, Tyre, Wheel, Wheels,
};
use axlewright_mechanics::lever::{LeverDesign, PlaneLever};
use axlewright_mechanics::linkage::{Linkage, Span};
use axlewright_mechanics::load::{Bush, Corner, Gas};
use axlewright_quantity::{
    Angle, Force, Length, LinearRate, Mass, Place, PlatePoint, Side, TorsionalRate,
};

const CARS: &str = include_str!("../../../../reference/cars.csv");
const RESTS: &str = include_str!("../../../../reference/rests.csv");

fn rows(table: &str) -> impl Iterator<Item = Vec<&str>> {
    let lines = table.lines().filter(|l| !l.starts_with('#')).skip(1);
    lines.map(|l| l.split(',').collect())
}

type Part = BTreeMap<String, Vec<f64>>;

struct Data(BTreeMap<String, Part>);

impl Data {
    fn all(table: &str) -> BTreeMap<String, Self> {
        let mut cars: BTreeMap<String, Self> = BTreeMap::new();
        for row in rows(table) {
            let numbers = row[3..].iter().filter(|c| !c.is_empty());
            let numbers = numbers.map(|c| c.parse().unwrap()).collect();
            let car = cars.entry(row[0].to_owned()).or_insert(Self(BTreeMap::new()));
            let part = car.0.entry(row[1].to_owned()).or_default();
            part.insert(row[2].to_owned(), numbers);
        }
        cars
    }
    fn one(&self, part: &str, key: &str) -> f64 {
        self.0[part][key][0]
    }
    fn mm(&self, part: &str, key: &str) -> Length {
        Length::mm(self.one(part, key))
    }
    fn kg(&self, part: &str, key: &str) -> Mass {
        Mass::kg(self.one(part, key))
    }
    fn rate(&self, part: &str, key: &str) -> LinearRate {
        LinearRate::n_per_mm(self.one(part, key))
    }
    fn place(&self, part: &str, key: &str) -> Place {
        let v = &self.0[part][key];
        Place::mm(v[0], v[1], v[2])
    }
    fn point(&self, part: &str, key: &str) -> PlatePoint {
        let v = &self.0[part][key];
        PlatePoint::mm(v[0], v[1])
    }

    fn front(&self, part: &str) -> FrontCorner {
        FrontCorner {
            contact: self.place(part, "contact"),
            rate: self.rate(part, "rate"),
            weight: self.kg(part, "weight"),
            unsprung: self.kg(part, "unsprung"),
            tyre_rate: Some(self.rate(part, "tyre")),
            raised: self.mm(part, "raised"),
        }
    }

    fn linkage(&self, part: &str) -> Linkage {
        if self.one(part, "lever") == 1.0 {
            return Linkage::Lever(
                PlaneLever::new(LeverDesign {
                    hub: self.place(part, "hub"),
                    reach: self.mm(part, "reach"),
                    ride_angle: Angle::deg(self.one(part, "angle")),
                    trim_at_ride: self.mm(part, "trim"),
                    tyre_radius: self.mm(part, "radius"),
                })
                .unwrap(),
            );
        }
        let w_moves = match self.0[part]["moves"].as_slice() {
            [1.0, 1.0] => HolesMoved::Both,
            [1.0, 0.0] => HolesMoved::Front,
            _ => HolesMoved::Rear,
        };
        Linkage::Arm(
            TrailingArm::new(ArmDesign {
                hub: self.place(part, "hub"),
                inner_pivot: self.place(part, "pivot"),
                hole_front: self.point(part, "front"),
                hole_rear: self.point(part, "rear"),
                w_moves,
                design_angle: Angle::deg(self.one(part, "angle")),
                wheel_centre: self.place(part, "wheel"),
                camber: Angle::deg(self.one(part, "camber")),
                toe: Angle::deg(self.one(part, "toe")),
                tyre_radius: self.mm(part, "radius"),
            })
            .unwrap(),
        )
    }

    fn rear(&self, part: &str) -> RearCorner {
        let linkage = self.linkage(part);
        let span = match &linkage {
            Linkage::Arm(_) => Span::Points {
                body: self.place(part, "damper_body"),
                arm_at_design: self.place(part, "damper_arm"),
            },
            Linkage::Lever(_) => Span::Upright { reach: self.mm(part, "gas_reach") },
        };
        let shift = &self.0[part]["shift"];
        let (rate, neutral) = (self.one(part, "bush"), Angle::deg(self.one(part, "bush_at")));
        RearCorner {
            corner: Corner {
                linkage,
                bar_rate: TorsionalRate::nm_per_rad(self.one(part, "bar")),
                gas: Some(Gas { span, force: Force::n(self.one(part, "gas")) }),
                bush: Some(Bush { rate: TorsionalRate::nm_per_rad(rate), neutral }),
                shift: Shift { u: Length::mm(shift[0]), w: Length::mm(shift[1]) },
            },
            free: Angle::deg(self.one(part, "free")),
            unsprung: self.kg(part, "unsprung"),
            tyre: Tyre { rate: Some(self.rate(part, "tyre")), weight: self.kg(part, "weight") },
        }
    }

    fn car(&self) -> Car {
        Car {
            sprung: Sprung { mass: self.kg("car", "mass"), centre: self.place("car", "centre") },
            front: Pair { left: self.front("LF"), right: self.front("RF") },
            rear: Pair { left: self.rear("LR"), right: self.rear("RR") },
            front_coupling: Some(self.rate("car", "front_bar")),
            rear_coupling: Some(self.rate("car", "rear_bar")),
            floor: Wheels::of(|w| self.mm(w.code(), "floor")),
        }
    }
}

/// The figures of a rest in the order of the table.
fn told(rest: &Rest) -> Vec<f64> {
    let figure = |f: Figure| rest.figure(f).unwrap().shown();
    let mut all: Vec<f64> =
        [Wheel::LeftFront, Wheel::RightFront, Wheel::LeftRear, Wheel::RightRear]
            .map(|w| figure(Figure::Weight(w)))
            .to_vec();
    all.push(rest.attitude.height.to_mm());
    all.push(rest.attitude.pitch.to_deg());
    // The oracle turns the body nose up first, then about its own long axis.
    let (pitch, roll) = (rest.attitude.pitch, rest.attitude.roll);
    all.push((roll.sin() / pitch.cos()).asin().to_degrees());
    all.extend([rest.front_travel.left.to_mm(), rest.front_travel.right.to_mm()]);
    all.extend(Side::BOTH.map(|s| figure(Figure::PlateAngle(s))));
    for side in Side::BOTH {
        let rear = &rest.rear[side];
        all.push(rear.trim.to_mm());
        let angles = rear.angles.map_or([f64::NAN; 2], |a| [a.camber.to_deg(), a.toe.to_deg()]);
        all.extend(angles);
    }
    all.extend([pitch.to_deg(), roll.to_deg(), rest.cross_weight.to_one()]);
    all
}

#[test]
fn whole_cars_rest_where_their_energy_is_least() {
    let cars = Data::all(CARS);
    let (mut count, mut largest) = (0, 0.0_f64);
    for row in rows(RESTS) {
        let rest = cars[row[0]].car().rest().unwrap();
        let theirs: Vec<f64> = row[1..].iter().map(|c| c.parse().unwrap()).collect();
        let ours = told(&rest);
        assert_eq!(ours.len(), theirs.len());
        for (k, (ours, theirs)) in ours.iter().zip(&theirs).enumerate() {
            if ours.is_nan() {
                continue;
            }
            let off = (ours - theirs).abs();
            // The table holds nine places; the oracle may leave 2e-5 N, which over a wheel rate
            // of 10 N/mm would be 2e-6 mm, and mostly leaves far less.
            assert!(off <= 2e-8, "{} column {}: {ours}, theirs {theirs}", row[0], k + 2);
            largest = largest.max(off);
        }
        count += 1;
    }
    println!("{count} cars, at most {largest:e} apart");
    assert_eq!(count, 30);
    assert!(largest > 0.0);
}

const ENGINE_CARS: &str = include_str!("../../../../reference/engine_cars.csv");
const ENGINE_RESTS: &str = include_str!("../../../../reference/engine_rests.csv");

/// The engine slides its tyres along uprights that hang plumb along the car but lean with it
/// across: that differs from ours by the square of a lean of less than a degree.
#[test]
fn whole_cars_rest_where_a_rigid_body_engine_lets_them() {
    let cars = Data::all(ENGINE_CARS);
    let (mut count, mut largest) = (0, [0.0_f64; 3]);
    for row in rows(ENGINE_RESTS) {
        let data = &cars[row[0]];
        let mut car = data.car();
        // The engine's floor gives a little; how much is written down.
        for wheel in axlewright_mechanics::car::WHEELS {
            car.floor[wheel] = car.floor[wheel] + data.mm(wheel.code(), "sunk");
        }
        let rest = car.rest().unwrap();
        let theirs: Vec<f64> = row[1..].iter().map(|c| c.parse().unwrap()).collect();
        let figure = |f: Figure| rest.figure(f).unwrap().shown();
        let mut ours: Vec<(usize, f64)> =
            axlewright_mechanics::car::WHEELS.map(|w| (0, figure(Figure::Weight(w)))).to_vec();
        for side in Side::BOTH {
            ours.push((1, figure(Figure::Trim(side))));
            ours.push((2, figure(Figure::PlateAngle(side))));
        }
        ours.push((2, rest.attitude.pitch.to_deg()));
        ours.push((2, rest.attitude.roll.to_deg()));
        ours.push((1, rest.attitude.height.to_mm()));
        // Kilograms, millimetres, degrees.
        let within = [0.02, 0.01, 0.002];
        for (k, ((kind, ours), theirs)) in ours.iter().zip(&theirs).enumerate() {
            let off = (ours - theirs).abs();
            largest[*kind] = largest[*kind].max(off);
            let what = format!("{} column {}: {ours}, theirs {theirs}", row[0], k + 2);
            assert!(off <= within[*kind], "{what}");
        }
        count += 1;
    }
    println!("{count} cars, at most {largest:?} kg, mm, deg apart");
    assert_eq!(count, 10);
    assert!(largest.iter().all(|l| 0.0 < *l));
}

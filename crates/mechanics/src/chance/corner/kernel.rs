//! Four builds abreast: the load equation of [`crate::load`] with arm, bar, damper and weight of
//! each build.
//!
//! Start from the slopes at the best values, one chord and one secant step, then the last step
//! taken from the slope and the outcomes corrected by it. What is left over after the last step is
//! smaller than that step by a factor of a thousand or more; builds with a last step above 1e-6
//! rad, and builds that do not reach, are left to [`super::exact`].

use axlewright_quantity::exact::STANDARD_GRAVITY;

use super::exact::{get, numbers};
use super::item::{COUNT, Item};
use super::{Carrier, Case, Numbers, OUTCOMES, Spring};
use crate::arm::HolesMoved;
use crate::arm::kernel::{V3, add, cross, dot, scale, sub};
use crate::arm::number::{ABREAST, Lanes, Real};
use crate::arm::trig::{sin_cos_abreast, wheel_angles_abreast};
use crate::chance::Shape;
use crate::linkage::Span;

/// Largest last step that is taken without asking the exact road.
const STEP_MAX: f64 = 1e-6;

/// A case made ready for many builds.
#[derive(Debug, Clone)]
pub(super) struct Fast {
    numbers: Numbers,
    free: f64,
    trim: f64,
    w_moves: [f64; 2],
    by_size: bool,
    gas: bool,
    bush: bool,
    /// Camber and toe vary, so their tangents are taken anew for every build.
    wheel_varies: bool,
    /// Ride angle and its slopes by each doubt.
    ride: Guess,
    /// The same of the angle at the wanted trim.
    wanted: Guess,
    /// d(moment)/dθ at the ride angle.
    stiffness: f64,
    /// How the free angle needed changes with the angle at the wanted trim.
    needed_slope: f64,
}

/// A straight line through the best values.
#[derive(Debug, Clone, Default)]
struct Guess {
    at: f64,
    slopes: Vec<f64>,
}

/// Four corners with everything that does not change with the plate angle worked out.
struct Four {
    /// Pivot to hub.
    to_hub: V3<Lanes>,
    front: [Lanes; 2],
    /// How far the rear hole is above the front hole, square to the plate.
    rise: Lanes,
    reach: Lanes,
    per_reach: Lanes,
    along: Lanes,
    across: Lanes,
    per_across: Lanes,
    branch: Lanes,
    wheel: V3<Lanes>,
    axle: V3<Lanes>,
    eye: V3<Lanes>,
    /// Body eye to pivot.
    from_body: V3<Lanes>,
    radius: Lanes,
    rate: Lanes,
    gas: Lanes,
    bush: [Lanes; 2],
    load: Lanes,
}

/// Four corners at four angles.
struct Seen {
    /// Arm's axes now.
    axes: [V3<Lanes>; 3],
    spin: V3<Lanes>,
    /// Pivot to wheel centre.
    wheel: V3<Lanes>,
    wheel_rate: V3<Lanes>,
}

/// What turns the plate, and the axle with its slope.
struct Turned {
    /// Moment of all but the bar, tail down.
    moment: Lanes,
    axle: V3<Lanes>,
    axle_rate: V3<Lanes>,
}

fn place([e, f, g]: &[V3<Lanes>; 3], [a, b, c]: V3<Lanes>) -> V3<Lanes> {
    let at = |i: usize| {
        let one = |v: &V3<Lanes>| v.get(i).copied().unwrap_or(Lanes::of(f64::NAN));
        one(e) * a + one(f) * b + one(g) * c
    };
    [at(0), at(1), at(2)]
}

impl Four {
    /// The pose, as in [`crate::arm::kernel`], written for four arms instead of one.
    #[inline]
    fn see(&self, angle: Lanes) -> Seen {
        let (sin, cos) = sin_cos_abreast(angle);
        let [u, w] = self.front;
        let x = self.to_hub[0] - u * cos - w * sin;
        let z = self.to_hub[2] - u * sin + w * cos;
        let y = (self.reach * self.reach - (x * x + z * z)).root();
        let e = scale([x, y, z], self.per_reach);
        let lean = e[2] * cos - e[0] * sin;
        let room = -(lean * lean) + 1.0;
        let c = (self.rise + lean * (self.reach - self.along)) * self.per_across;
        let root = (room - c * c).root() * self.branch;
        let per_room = room.over();
        let (up, side) = (c * per_room, root * per_room);
        let lean_up = up * lean;
        let f = [
            -(up * sin) - lean_up * e[0] + side * e[1] * cos,
            -(lean_up * e[1]) - side * (e[2] * sin + e[0] * cos),
            up * cos - lean_up * e[2] + side * e[1] * sin,
        ];
        let g = cross(e, f);
        // The turning per radian of plate angle.
        let (hole_x, hole_z) = (u * sin - w * cos, -(u * cos) - w * sin);
        let hole_y = -(e[0] * hole_x + e[2] * hole_z) / e[1];
        let swing = scale(cross(e, [hole_x, hole_y, hole_z]), self.per_reach);
        let rear = add(scale(e, self.along), scale(f, self.across));
        let [seen_x, _, seen_z] = sub(rear, self.to_hub);
        let [lift_x, _, lift_z] = cross(swing, rear);
        let missing = cos * (seen_x - lift_z) + sin * (seen_z + lift_x);
        let per_turn = missing * self.per_across / (cos * g[2] - sin * g[0]);
        let spin = add(swing, scale(e, per_turn));
        let axes = [e, f, g];
        let wheel = place(&axes, self.wheel);
        Seen { axes, spin, wheel, wheel_rate: cross(spin, wheel) }
    }

    #[inline]
    fn turn(&self, angle: Lanes, seen: &Seen, (gas, bush): (bool, bool)) -> Turned {
        let axle = place(&seen.axes, self.axle);
        let axle_rate = cross(seen.spin, axle);
        let flat = (axle[0] * axle[0] + axle[1] * axle[1]).root();
        let flat_rate = (axle[0] * axle_rate[0] + axle[1] * axle_rate[1]) / flat;
        let drop = flat_rate * self.radius - seen.wheel_rate[2];
        let mut moment = -(self.load * drop);
        if gas {
            let eye = place(&seen.axes, self.eye);
            let span = add(eye, self.from_body);
            let slope = dot(span, cross(seen.spin, eye)) / dot(span, span).root();
            moment = moment + self.gas * slope;
        }
        if bush {
            let [rate, neutral] = self.bush;
            moment = moment + rate * (neutral - angle);
        }
        Turned { moment, axle, axle_rate }
    }
}

/// Items with limits of their own, and which; a case whose draws could come near one is left to
/// the exact road, which refuses what is beyond.
const LIMITS: [(Item, f64, f64); 9] = [
    (Item::BarDiameter, 0.001, 0.5),
    (Item::BarLength, 0.01, 20.0),
    (Item::BarModulus, 1e9, 500e9),
    (Item::RateShare, 0.5, 1.5),
    (Item::Gas, -1e5, 1e5),
    (Item::TyreRadius, 0.0, 20.0),
    (Item::Camber, -0.78, 0.78),
    (Item::Toe, -0.78, 0.78),
    (Item::DesignAngle, -1.04, 1.04),
];
/// No normal number of 20 million is as far out.
const FAR: f64 = 8.0;

impl Fast {
    /// None for corners that are solved one by one.
    pub(super) fn new(case: &Case, free: f64, trim: f64) -> Option<Self> {
        let Carrier::Arm(arm) = case.best.carrier else { return None };
        let gas = match case.best.gas.map(|gas| gas.span) {
            None => false,
            Some(Span::Points { .. }) => true,
            Some(_) => return None,
        };
        let u = |item: Item| {
            case.doubts.iter().find(|doubt| doubt.item == item).map_or(0.0, |doubt| doubt.u.to_si())
        };
        let best = numbers(&case.best);
        let by_size = matches!(case.best.spring, Spring::Size(_));
        let near = |&(item, low, high): &(Item, f64, f64)| {
            let (x, far) = (get(&best, item), FAR * u(item));
            (by_size || !matches!(item.by(), super::Measuring::Bar))
                && far > 0.0
                && (x - far < low || high < x + far)
        };
        let tailed = case.doubts.iter().any(|doubt| matches!(doubt.shape, Shape::Student { .. }));
        if tailed || LIMITS.iter().any(near) || 0.0 < u(Item::BarBore) {
            return None;
        }
        let solved = |numbers: &Numbers| case.exact.angles(numbers, free, trim).ok();
        let (ride, wanted) = solved(&best)?;
        let mut made = Self {
            numbers: best,
            free,
            trim,
            w_moves: match arm.w_moves {
                HolesMoved::Both => [1.0, 1.0],
                HolesMoved::Front => [1.0, 0.0],
                HolesMoved::Rear => [0.0, 1.0],
            },
            by_size,
            gas,
            bush: case.best.bush.is_some(),
            wheel_varies: 0.0 < u(Item::Camber) || 0.0 < u(Item::Toe),
            ride: Guess { at: ride, slopes: Vec::new() },
            wanted: Guess { at: wanted, slopes: Vec::new() },
            stiffness: 0.0,
            needed_slope: 0.0,
        };
        for doubt in &case.doubts {
            let moved = |by: f64| {
                let mut numbers = best;
                *numbers.get_mut(doubt.item.number())? += by * doubt.u.to_si();
                solved(&numbers)
            };
            let (up, down) = (moved(1.0)?, moved(-1.0)?);
            let per = 0.5 / doubt.u.to_si();
            made.ride.slopes.push(per * (up.0 - down.0));
            made.wanted.slopes.push(per * (up.1 - down.1));
        }
        made.slopes();
        (made.stiffness.is_finite() && made.needed_slope.is_finite()).then_some(made)
    }

    /// The two slopes at the best values, by differences: they only steer, they decide nothing.
    fn slopes(&mut self) {
        let four = self.four(&self.numbers.map(Lanes::of));
        let have = (self.gas, self.bush);
        let free = Lanes::of(self.free);
        let (h, at) = (1e-5, Lanes::of(self.ride.at));
        let moment = |angle: Lanes| {
            four.rate * (free - angle) + four.turn(angle, &four.see(angle), have).moment
        };
        self.stiffness = ((moment(at + h) - moment(at - h)) * (0.5 / h)).value();
        let at = Lanes::of(self.wanted.at);
        let needed =
            |angle: Lanes| angle - four.turn(angle, &four.see(angle), have).moment / four.rate;
        self.needed_slope = ((needed(at + h) - needed(at - h)) * (0.5 / h)).value();
    }

    /// What does not change with the plate angle, for four builds.
    fn four(&self, n: &[Lanes; COUNT]) -> Four {
        let of = |item: Item| n.get(item.number()).copied().unwrap_or(Lanes::of(f64::NAN));
        let three = |x, y, z| [of(x), of(y), of(z)];
        let hub = three(Item::HubX, Item::HubY, Item::HubZ);
        let pivot = three(Item::PivotX, Item::PivotY, Item::PivotZ);
        let to_hub = sub(hub, pivot);
        let (sin, cos) = sin_cos_abreast(of(Item::DesignAngle));
        let hole = |u: Lanes, w: Lanes| {
            [to_hub[0] - u * cos - w * sin, to_hub[1], to_hub[2] - u * sin + w * cos]
        };
        let (front_u, front_w) = (of(Item::HoleFrontU), of(Item::HoleFrontW));
        let rear_w = of(Item::HoleRearW);
        let (to_front, to_rear) = (hole(front_u, front_w), hole(of(Item::HoleRearU), rear_w));
        let reach = dot(to_front, to_front).root();
        let per_reach = reach.over();
        let first = scale(to_front, per_reach);
        let along = dot(first, to_rear);
        let aside = sub(to_rear, scale(first, along));
        let across = dot(aside, aside).root();
        let per_across = across.over();
        let second = scale(aside, per_across);
        let third = cross(first, second);
        let held = dot(second, cross(first, [-sin, Lanes::of(0.0), cos]));
        // The exact road's limits of what holds the arm; NaN sends a build there.
        let holds = |held: f64| if held.abs() >= 0.02 { held.signum() } else { f64::NAN };
        let room = |length: f64| if length >= 0.001 { 0.0 } else { f64::NAN };
        let branch = held.each(holds) + across.each(room) + to_hub[1].each(room);
        let in_arm = |v: V3<Lanes>| [dot(first, v), dot(second, v), dot(third, v)];
        let axle = self.axle(of(Item::Camber), of(Item::Toe));
        let wheel = sub(three(Item::WheelX, Item::WheelY, Item::WheelZ), pivot);
        let eye = sub(three(Item::DamperArmX, Item::DamperArmY, Item::DamperArmZ), pivot);
        let body = three(Item::DamperBodyX, Item::DamperBodyY, Item::DamperBodyZ);
        let (du, dw) = (of(Item::ShiftU), of(Item::ShiftW));
        let [w_front, w_rear] = self.w_moves;
        let front = [front_u + du, front_w + dw * w_front];
        Four {
            to_hub,
            front,
            rise: dw * w_rear + rear_w - front[1],
            reach,
            per_reach,
            along,
            across,
            per_across,
            branch,
            wheel: in_arm(wheel),
            axle: in_arm(axle),
            eye: in_arm(eye),
            from_body: sub(pivot, body),
            radius: of(Item::TyreRadius),
            rate: self.rate(of),
            gas: of(Item::Gas),
            bush: [of(Item::BushRate), of(Item::BushNeutral)],
            load: (of(Item::Weight) - of(Item::Unsprung)) * STANDARD_GRAVITY,
        }
    }

    fn rate(&self, of: impl Fn(Item) -> Lanes) -> Lanes {
        if !self.by_size {
            return of(Item::BarRate) * of(Item::RateShare);
        }
        let fourth = |x: Lanes| (x * x) * (x * x);
        let polar = (fourth(of(Item::BarDiameter)) - fourth(of(Item::BarBore)))
            * (std::f64::consts::PI / 32.0);
        of(Item::RateShare) * of(Item::BarModulus) * polar / of(Item::BarLength)
    }

    /// Outward unit vector of the axle at the design angle.
    fn axle(&self, camber: Lanes, toe: Lanes) -> V3<Lanes> {
        let tan = |angle: Lanes| {
            if self.wheel_varies {
                let (sin, cos) = sin_cos_abreast(angle);
                sin / cos
            } else {
                Lanes::of(angle.value().tan())
            }
        };
        let s = [tan(toe), Lanes::of(1.0), -tan(camber)];
        scale(s, dot(s, s).root().over())
    }

    /// Fills what it can of a block; the rest stays NaN.
    pub(super) fn block(&self, drawn: &[(usize, Vec<f64>)], columns: &mut [Vec<f64>; OUTCOMES]) {
        let len = columns.first().map_or(0, Vec::len);
        let best = self.numbers.map(Lanes::of);
        for from in (0..len).step_by(ABREAST) {
            let mut n = best;
            let (mut ride, mut wanted) = (Lanes::of(self.ride.at), Lanes::of(self.wanted.at));
            let slopes = self.ride.slopes.iter().zip(&self.wanted.slopes);
            for ((item, column), (by_ride, by_wanted)) in drawn.iter().zip(slopes) {
                let dx = four_of(column, from);
                if let Some(x) = n.get_mut(*item) {
                    *x = *x + dx;
                }
                ride = ride + dx * *by_ride;
                wanted = wanted + dx * *by_wanted;
            }
            let told = self.build(&n, ride, wanted);
            for (column, told) in columns.iter_mut().zip(told) {
                let places = column.iter_mut().skip(from);
                places.zip(told.0).for_each(|(place, y)| *place = y);
            }
        }
    }

    /// Four builds; NaN in all outcomes of one that is left to the exact road.
    #[inline]
    fn build(&self, n: &[Lanes; COUNT], ride: Lanes, wanted: Lanes) -> [Lanes; OUTCOMES] {
        let of = |item: Item| n.get(item.number()).copied().unwrap_or(Lanes::of(f64::NAN));
        let four = self.four(n);
        let have = (self.gas, self.bush);
        let free = of(Item::Reading) + of(Item::Level) + of(Item::Lash) + self.free;
        let moment = |angle: Lanes, turned: &Turned| four.rate * (free - angle) + turned.moment;
        // A chord with the best values' slope, then a secant.
        let at_first = moment(ride, &four.turn(ride, &four.see(ride), have));
        let second = ride - at_first * (1.0 / self.stiffness);
        let at_second = moment(second, &four.turn(second, &four.see(second), have));
        let secant = (second - ride) / (at_second - at_first);
        // Where the first guess was exact there is no secant to take.
        let slope = secant.each(|s| if s.is_finite() { s } else { 1.0 / self.stiffness });
        let third = second - at_second * slope;
        let seen = four.see(third);
        let turned = four.turn(third, &seen, have);
        let step = -(moment(third, &turned) * slope);
        let trim_of = |seen: &Seen| four.to_hub[2] - seen.wheel[2];
        let settling = of(Item::Settling);
        let stands = trim_of(&seen) - seen.wheel_rate[2] * step - settling;
        let axle = add(turned.axle, scale(turned.axle_rate, step));
        let (minus_camber, toe) = wheel_angles_abreast(axle[2], axle[0], axle[1]);
        // The angle at the wanted trim, by Newton.
        let target = settling + self.trim;
        let newton = |seen: &Seen| (trim_of(seen) - target) / seen.wheel_rate[2];
        let nearer = wanted + newton(&four.see(wanted));
        let there = four.see(nearer);
        let last = newton(&there);
        let needed =
            nearer - four.turn(nearer, &there, have).moment / four.rate + last * self.needed_slope;
        let fine = step.with(last, |a, b| {
            if a.abs() <= STEP_MAX && b.abs() <= STEP_MAX { 0.0 } else { f64::NAN }
        });
        let read = stands + of(Item::Friction);
        [stands, read, third + step, needed, -minus_camber, toe].map(|y| y + fine)
    }
}

/// Four numbers of a column; zero beyond its end.
#[inline]
fn four_of(column: &[f64], from: usize) -> Lanes {
    match column.get(from..from + ABREAST) {
        Some(&[a, b, c, d]) => Lanes([a, b, c, d]),
        _ => {
            let mut lanes = [0.0; ABREAST];
            let rest = column.get(from..).unwrap_or(&[]);
            lanes.iter_mut().zip(rest).for_each(|(lane, x)| *lane = *x);
            Lanes(lanes)
        }
    }
}

//! The car at rest: loads, trims, angles, and how they follow every knob.
//!
//! ```text
//!    camber against plumb          trim, by plumb                toe, thrust
//!        n                            O hub ───────┬─            ▯\      /▯   + toe-in: fronts of
//!       ↑ ╱ wheel plane                ‾‾──__      │ trim          ↖    ↗     the wheels inward
//!       │╱                                   ⊙ ────┴─              half the difference: thrust
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | N | load of a wheel, as kilograms on scales | kg | [`Rest::weights`] |
//! | θ | plate angle below the body's horizontal, + tail down | rad | [`RearRest::plate_angle`] |
//! | s | outward direction of the wheel's axle | 1 | |
//!
//! Camber and toe are given twice: in the body's own axes (what the arm's geometry says) and
//! against plumb and the body's heading (what a gauge and strings read on the car as it leans and
//! as the floor slopes). On a level floor with the body level both are one.
//!
//! **Source.** As [`super`]; ISO 8855:2011, 7.1, for camber and toe as projected angles.

use axlewright_quantity::{Amount, Angle, Force, Length, Mass, Ratio, Side};
use num_dual::Dual64;

use super::kernel::{
    Fixed, HEIGHT, LEAN, LOADS, NOSE, Seen, Split, UNKNOWNS, Values, X, mirrored, up,
};
use super::knob::{FIGURES, Figure, Knob};
use super::{Car, CarError, Pair, WHEELS, Wheel, Wheels, cross_weight};
use crate::arm::kernel::{Real, V3, cross, dot, lift, scale, sub, up_to};
use crate::linkage::{Linkage, Shift};

/// Where the body stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Attitude {
    /// Body's origin (bar axis, centre plane) over the floor's reference.
    pub height: Length,
    /// Slope of the body along the car, nose up +: what a level on a sill reads.
    pub pitch: Angle,
    /// Slope of the body across the car, left side up +.
    pub roll: Angle,
}

/// Camber and toe of one rear wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelAngles {
    /// Camber in the body's axes, + top outward: lean and floor left out.
    pub camber_in_body: Angle,
    /// Toe in the body's axes, + toe-in.
    pub toe_in_body: Angle,
    /// Camber against plumb: what a gauge reads as the car stands, lean and floor included.
    pub camber: Angle,
    /// Toe in the level plane, against the body's heading: what strings along the car read.
    pub toe: Angle,
}

/// A rear corner at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RearRest {
    /// Below the body's horizontal, tail down +.
    pub plate_angle: Angle,
    /// Bar axis above wheel centre, by plumb: two heights over the floor, as a tape tells it.
    pub trim: Length,
    /// The same along the body's own upright, as the arm's geometry tells it.
    pub trim_in_body: Length,
    /// Load on bar, gas and bush at the contact: the wheel's load less what is not sprung.
    pub spring_load: Force,
    /// Not known to a plain lever.
    pub angles: Option<WheelAngles>,
}

/// The car at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// What four scales read.
    pub weights: Wheels<Mass>,
    /// Where the body stands.
    pub attitude: Attitude,
    /// The rear corners.
    pub rear: Pair<RearRest>,
    /// Rise of each front wheel in the body from its design height, + bump.
    pub front_travel: Pair<Length>,
    /// (RF + LR)/total.
    pub cross_weight: Ratio,
    /// Where the rear wheels together point, + to the left; not known to plain levers.
    pub thrust: Option<Angle>,
    /// Largest force left unbalanced.
    pub left_over: Force,
    /// Newton steps spent.
    pub steps: u32,
}

impl Rest {
    /// One figure of it.
    ///
    /// # Errors
    /// Camber, toe or thrust of a corner known as a plain lever only.
    /// # Valid for
    /// As the rest itself.
    pub fn figure(&self, figure: Figure) -> Result<Amount, CarError> {
        let angles =
            |side: Side, what| self.rear[side].angles.ok_or(CarError::LeverOnly { what, side });
        Ok(match figure {
            Figure::Weight(at) => self.weights[at].into(),
            Figure::Trim(side) => self.rear[side].trim.into(),
            Figure::TrimDifference => (self.rear.left.trim - self.rear.right.trim).into(),
            Figure::PlateAngle(side) => self.rear[side].plate_angle.into(),
            Figure::Camber(side) => angles(side, "camber")?.camber.into(),
            Figure::Toe(side) => angles(side, "toe")?.toe.into(),
            Figure::CrossWeight => self.cross_weight.into(),
            Figure::Thrust => {
                let [left, right] = [angles(Side::Left, "toe")?, angles(Side::Right, "toe")?];
                ((right.toe - left.toe) / 2.0).into()
            }
            Figure::Pitch => self.attitude.pitch.into(),
            Figure::Roll => self.attitude.roll.into(),
        })
    }
}

/// How every figure follows every knob, at one rest.
#[derive(Debug, Clone)]
pub struct Sensitivities {
    knobs: Vec<Knob>,
    slopes: Vec<[f64; FIGURES.len()]>,
    known: [bool; FIGURES.len()],
}

impl Sensitivities {
    /// The knobs this car has.
    pub fn knobs(&self) -> &[Knob] {
        &self.knobs
    }

    /// How much a figure changes for a small step of a knob: the exact slope times the step.
    ///
    /// # Valid for
    /// Small steps.
    /// # Errors
    /// A knob this car has not, a figure it cannot tell, or a step of another kind.
    /// # Source
    /// Implicit function theorem, see [`Car::rest_with_slopes`].
    pub fn change(&self, figure: Figure, knob: Knob, step: Amount) -> Result<Amount, CarError> {
        if step.kind() != knob.kind() {
            let given = step.kind().with_article();
            return Err(super::input(knob.name(), given, "a step of its own kind"));
        }
        let unknown = |what| CarError::NotKnown { what };
        let slope = self
            .slope(figure, knob)
            .ok_or_else(|| unknown(format!("{} with {}", figure.name(), knob.name())))?;
        Ok(Amount::from_si(figure.kind(), slope * step.to_si()))
    }

    /// SI slope.
    pub(super) fn slope(&self, figure: Figure, knob: Knob) -> Option<f64> {
        let row = self.knobs.iter().position(|k| *k == knob)?;
        let column = figure.number();
        self.known[column].then_some(self.slopes[row][column])
    }
}

/// Largest step of one Newton iteration: plate angle, rad; front travel, m; height, m; lean.
const STEP_MAX: [f64; 4] = [0.12, 0.1, 0.1, 0.05];
/// Forces balanced to this, N.
const CLOSED_N: f64 = 1e-7;
/// Newton steps in one go.
const STEPS_MAX: u32 = 40;
/// Sine of the lean beyond which a car is no longer standing.
const LEAN_MAX: f64 = 0.2588;
/// A tyre-like rate, N/m, that weighs a gap against a force.
const GAP_RATE: f64 = 2e5;
/// A lever-like length, m, that weighs a moment on the plate against a force.
const LEVER: f64 = 0.4;

struct Found {
    x: X<f64>,
    seen: [Seen<Dual64>; 4],
    left_over: f64,
    steps: u32,
}

/// Sizes of what is left over, in newtons.
fn as_forces(r: &X<f64>) -> X<f64> {
    let mut f = *r;
    for row in &mut f[2..4] {
        *row /= LEVER;
    }
    for row in &mut f[LOADS..HEIGHT] {
        *row *= GAP_RATE;
    }
    f
}

fn size(r: &X<f64>) -> f64 {
    as_forces(r).iter().map(|a| a * a).sum::<f64>().sqrt()
}

fn values(seen: &[Seen<Dual64>; 4], x: &X<f64>, fixed: &Fixed) -> X<f64> {
    let lifted = x.map(Dual64::from);
    fixed.left_over(seen, &lifted, &fixed.values.lift()).map(plain)
}

/// The largest share of a step that keeps it within [`STEP_MAX`].
fn shortened(step: &X<f64>) -> f64 {
    let [angle, travel, height, lean] = STEP_MAX;
    let limits = [(0..2, travel), (2..4, angle), (HEIGHT..NOSE, height), (NOSE..UNKNOWNS, lean)];
    let mut share = 1.0_f64;
    for (range, limit) in limits {
        for s in &step[range] {
            share = share.min(limit / s.abs().max(limit));
        }
    }
    share
}

/// Newton towards `left_over = target`, each step shortened until the distance falls.
fn newton(fixed: &Fixed, start: &X<f64>, target: &X<f64>, steps: &mut u32) -> Option<Found> {
    let off = |seen: &[Seen<Dual64>; 4], x: &X<f64>| {
        let mut r = values(seen, x, fixed);
        r.iter_mut().zip(target).for_each(|(r, t)| *r -= t);
        r
    };
    let mut x = *start;
    let mut seen = fixed.see_all(&x)?;
    let mut r = off(&seen, &x);
    for _ in 0..STEPS_MAX {
        let here = size(&r);
        if here <= CLOSED_N {
            return Some(Found { x, seen, left_over: here, steps: *steps });
        }
        *steps += 1;
        let step = Split::of(fixed.slopes(&seen, &x))?.solve(&r);
        let mut share = shortened(&step);
        let mut moved = false;
        for _ in 0..12 {
            let mut tried = x;
            tried.iter_mut().zip(&step).for_each(|(x, s)| *x -= share * s);
            if tried[NOSE].abs().max(tried[LEAN].abs()) < 0.5
                && let Some(see) = fixed.see_all(&tried)
            {
                let r_tried = off(&see, &tried);
                if size(&r_tried) < here * (1.0 - 1e-4 * share) {
                    (x, seen, r, moved) = (tried, see, r_tried, true);
                    break;
                }
            }
            share *= 0.5;
        }
        if !moved {
            // At the end of what the digits hold the distance no longer falls.
            return (here <= 1e3 * CLOSED_N).then_some(Found {
                x,
                seen,
                left_over: here,
                steps: *steps,
            });
        }
    }
    None
}

/// The unknowns of a car that rests so.
fn at_rest(rest: &Rest) -> X<f64> {
    let mut x = [0.0; UNKNOWNS];
    x[..2].copy_from_slice(&Side::BOTH.map(|side| rest.front_travel[side].to_m()));
    x[2..LOADS].copy_from_slice(&Side::BOTH.map(|side| rest.rear[side].plate_angle.to_rad()));
    x[LOADS..HEIGHT].copy_from_slice(&WHEELS.map(|at| rest.weights[at].weight().to_n()));
    x[HEIGHT] = rest.attitude.height.to_m();
    x[NOSE] = rest.attitude.pitch.to_rad().sin();
    x[LEAN] = rest.attitude.roll.to_rad().sin();
    x
}

/// From where a car like it rests, if that is known; directly; else along the path `left_over =
/// (1 − λ)·left_over(start)`; where the path ends, what is left over there.
fn find(fixed: &Fixed, known: Option<&Rest>) -> Result<Found, CarError> {
    let (start, mut steps) = (fixed.start(), 0);
    let zero = [0.0; UNKNOWNS];
    for start in known.map(at_rest).into_iter().chain([start]) {
        if let Some(found) = newton(fixed, &start, &zero, &mut steps) {
            return Ok(found);
        }
    }
    let seen = fixed.see_all(&start).ok_or_else(|| {
        fixed.out_of_reach(&start).unwrap_or(CarError::NotKnown { what: "the arm's reach".into() })
    })?;
    let first = values(&seen, &start, fixed);
    let (mut x, mut share, mut stride) = (start, 0.0, 0.25);
    while stride > 1e-3 && steps < 1000 {
        let next = f64::min(share + stride, 1.0);
        match newton(fixed, &x, &first.map(|r| r * (1.0 - next)), &mut steps) {
            Some(found) if next >= 1.0 => return Ok(found),
            Some(found) => (x, share, stride) = (found.x, next, stride * 1.5),
            None => stride *= 0.4,
        }
    }
    let left = first.map(|r| r * (1.0 - share));
    let forces = as_forces(&left);
    let worst = |w: usize| forces[w].abs().max(forces[LOADS + w].abs());
    let at = (0..4).max_by(|a, b| worst(*a).total_cmp(&worst(*b))).map_or(WHEELS[0], |w| WHEELS[w]);
    let largest = forces.iter().fold(0.0_f64, |m, f| m.max(f.abs()));
    Err(CarError::NoRest { steps, left_over: Force::n(largest), at })
}

/// Refuses a rest that is none: lying on its side, a wheel in the air, a spring that gives way.
fn check(found: &Found, fixed: &Fixed) -> Result<(), CarError> {
    let x = &found.x;
    if LEAN_MAX < x[NOSE].abs().max(x[LEAN].abs()) {
        let lean = Angle::rad(x[NOSE].abs().max(x[LEAN].abs()).asin());
        let given = format!("{:.1}° at rest", lean.to_deg());
        return Err(super::input("lean of the body", given, "less than 15°"));
    }
    for (i, at) in WHEELS.into_iter().enumerate() {
        if x[LOADS + i] < 0.0 {
            return Err(CarError::OffTheRoad { at, pull: Force::n(-x[LOADS + i]).as_weight() });
        }
    }
    let slopes = fixed.slopes(&found.seen, x);
    for (i, at) in WHEELS.into_iter().enumerate() {
        // The balance falls with the travel where the spring pushes the wheel back.
        if slopes[i][i] >= 0.0 {
            return Err(CarError::GivesWay { at });
        }
    }
    Ok(())
}

/// Axle seen against plumb and the body's heading: (camber, toe), as a left wheel.
fn against<D: Real>(axle: V3<D>, n: V3<D>) -> (D, D) {
    let forward: V3<D> = lift([1.0, 0.0, 0.0]);
    let level = sub(forward, scale(n, n[0]));
    let heading = scale(level, dot(level, level).sqrt().recip());
    let left = cross(n, heading);
    let (x, y, z) = (dot(axle, heading), dot(axle, left), dot(axle, n));
    (-z.atan2(y), x.atan2(y))
}

/// All figures in the order of [`FIGURES`].
fn figures<D: Real>(fixed: &Fixed, seen: &[Seen<D>; 4], x: &X<D>) -> [D; FIGURES.len()] {
    let n = up(x);
    let kg = |w: usize| x[LOADS + w] / D::from(axlewright_quantity::exact::STANDARD_GRAVITY);
    let trim = |i: usize| {
        let hub = fixed.linkage(i).hub();
        dot(mirrored(i, n), sub(lift(hub), seen[2 + i].centre))
    };
    let angles = |i: usize| against(seen[2 + i].axle, mirrored(i, n));
    let [(camber_l, toe_l), (camber_r, toe_r)] = [angles(0), angles(1)];
    let total = kg(0) + kg(1) + kg(2) + kg(3);
    [
        kg(0),
        kg(1),
        kg(2),
        kg(3),
        trim(0),
        trim(1),
        trim(0) - trim(1),
        x[2],
        x[3],
        camber_l,
        camber_r,
        toe_l,
        toe_r,
        (kg(1) + kg(2)) / total,
        (toe_r - toe_l) * 0.5,
        n[0].asin(),
        n[1].asin(),
    ]
}

fn plain(d: Dual64) -> f64 {
    d.re
}

fn tell(found: &Found, fixed: &Fixed) -> Rest {
    let x = &found.x;
    let all = figures(fixed, &found.seen, &x.map(Dual64::from)).map(plain);
    let at = |figure: Figure| all[figure.number()];
    let weights = Wheels::of(|w| Mass::kg(at(Figure::Weight(w))));
    let rear = Pair::of(|side| {
        let i = usize::from(side == Side::Right);
        let seen = &found.seen[2 + i];
        let axle = seen.axle.map(plain);
        let angles = matches!(fixed.linkage(i), Linkage::Arm(_)).then(|| WheelAngles {
            camber_in_body: Angle::rad(-f64::atan2(axle[2], axle[1])),
            toe_in_body: Angle::rad(f64::atan2(axle[0], axle[1])),
            camber: Angle::rad(at(Figure::Camber(side))),
            toe: Angle::rad(at(Figure::Toe(side))),
        });
        let unsprung = Mass::kg(fixed.values.unsprung[2 + i]).weight();
        RearRest {
            plate_angle: Angle::rad(x[2 + i]),
            trim: Length::m(at(Figure::Trim(side))),
            trim_in_body: Length::m(fixed.linkage(i).hub()[2] - seen.centre[2].re),
            spring_load: Force::n(x[LOADS + 2 + i]) - unsprung,
            angles,
        }
    });
    let known = rear.left.angles.is_some() && rear.right.angles.is_some();
    Rest {
        weights,
        attitude: Attitude {
            height: Length::m(x[HEIGHT]),
            pitch: Angle::rad(at(Figure::Pitch)),
            roll: Angle::rad(at(Figure::Roll)),
        },
        rear,
        front_travel: Pair { left: Length::m(x[0]), right: Length::m(x[1]) },
        cross_weight: cross_weight(&weights),
        thrust: known.then(|| Angle::rad(at(Figure::Thrust))),
        left_over: Force::n(found.left_over),
        steps: found.steps,
    }
}

fn solved<'a>(car: &'a Car, known: Option<&Rest>) -> Result<(Found, Fixed<'a>), CarError> {
    car.check()?;
    let fixed = Fixed::of(car);
    let found = find(&fixed, known)?;
    check(&found, &fixed)?;
    Ok((found, fixed))
}

pub(super) fn rest(car: &Car, known: Option<&Rest>) -> Result<Rest, CarError> {
    let (found, fixed) = solved(car, known)?;
    Ok(tell(&found, &fixed))
}

/// The rest, and the slopes with these knobs.
pub(super) fn rest_with_slopes(
    car: &Car,
    knobs: Vec<Knob>,
) -> Result<(Rest, Sensitivities), CarError> {
    let has = Knob::all_of(car);
    if let Some(knob) = knobs.iter().find(|k| !has.contains(k)) {
        return Err(CarError::NotKnown { what: knob.name() });
    }
    let (found, fixed) = solved(car, None)?;
    let lost = || CarError::NotKnown { what: "slopes at this rest".to_owned() };
    let split = Split::of(fixed.slopes(&found.seen, &found.x)).ok_or_else(lost)?;
    let mut slopes = Vec::with_capacity(knobs.len());
    for knob in &knobs {
        slopes.push(slope_row(&fixed, &found, &split, *knob).ok_or_else(lost)?);
    }
    let arm = |side: Side| matches!(car.rear[side].corner.linkage, Linkage::Arm(_));
    let known = FIGURES.map(|f| match f {
        Figure::Camber(side) | Figure::Toe(side) => arm(side),
        Figure::Thrust => arm(Side::Left) && arm(Side::Right),
        _ => true,
    });
    Ok((tell(&found, &fixed), Sensitivities { knobs, slopes, known }))
}

/// Slopes of all figures with one knob.
fn slope_row(
    fixed: &Fixed,
    found: &Found,
    split: &Split,
    knob: Knob,
) -> Option<[f64; FIGURES.len()]> {
    let mut v: Values<Dual64> = fixed.values.lift();
    knob.seed(&mut v);
    let see = |x: &X<Dual64>| {
        let s = |i: usize| fixed.see(i, x[i], &v);
        Some([s(0)?, s(1)?, s(2)?, s(3)?])
    };
    let still = found.x.map(Dual64::from);
    let seen = see(&still)?;
    let pushed = fixed.left_over(&seen, &still, &v).map(|d| d.eps);
    let follows = split.solve(&pushed);
    let mut x = still;
    x.iter_mut().zip(follows).for_each(|(x, f)| x.eps = -f);
    Some(figures(fixed, &see(&x)?, &x).map(|d| d.eps))
}

impl Car {
    fn check(&self) -> Result<(), CarError> {
        let mass = self.sprung.mass;
        let kg = |m: Mass| format!("{:.1} kg", m.to_kg());
        if !(10.0..=20_000.0).contains(&mass.to_kg()) {
            return Err(super::input("sprung mass", kg(mass), "between 10 kg and 20 000 kg"));
        }
        let near =
            |p: axlewright_quantity::Place| [p.x, p.y, p.z].iter().all(|c| c.to_m().abs() <= 20.0);
        if !near(self.sprung.centre) {
            let given = "not a place a car can have";
            return Err(super::input("centre of the sprung mass", given, "within 20 m"));
        }
        for at in WHEELS {
            self.check_wheel(at, near)?;
        }
        for (what, rate) in [
            ("front anti-roll bar", self.front_coupling),
            ("rear anti-roll bar", self.rear_coupling),
        ] {
            if let Some(rate) = rate
                && !(0.0..=1e7).contains(&rate.to_n_per_m())
            {
                let given = format!("{:.1} N/mm", rate.to_n_per_mm());
                return Err(super::input(what, given, "0 to 10 000 N/mm"));
            }
        }
        Ok(())
    }

    fn check_wheel(
        &self,
        at: Wheel,
        near: impl Fn(axlewright_quantity::Place) -> bool,
    ) -> Result<(), CarError> {
        let (unsprung, weight) =
            if super::is_front(at) { self.check_front(at, near)? } else { self.check_rear(at)? };
        let kg = |m: Mass| format!("{:.1} kg", m.to_kg());
        if !(0.0..=1000.0).contains(&unsprung.to_kg()) {
            return bad("unsprung mass", at, kg(unsprung), "0 to 1000 kg");
        }
        if !(0.0..=10_000.0).contains(&weight.to_kg()) {
            return bad("weight at the design height", at, kg(weight), "0 to 10 000 kg");
        }
        if let Some(rate) = super::tyre_rate(self, at)
            && !(1e3..=1e8).contains(&rate.to_n_per_m())
        {
            let given = format!("{:.3} N/mm", rate.to_n_per_mm());
            return bad("tyre rate", at, given, "1 to 100 000 N/mm");
        }
        if !up_to(self.floor[at].to_m(), 1.0) {
            let given = format!("{:.1} mm", self.floor[at].to_mm());
            return bad("floor", at, given, "within 1 m of the reference");
        }
        Ok(())
    }

    fn check_front(
        &self,
        at: Wheel,
        near: impl Fn(axlewright_quantity::Place) -> bool,
    ) -> Result<(Mass, Mass), CarError> {
        let front = &self.front[at.side()];
        let contact = at.side().to_left(front.contact);
        if !(near(front.contact) && 0.05 <= contact.y.to_m()) {
            let given = format!("Y {:.1} mm", front.contact.y.to_mm());
            return bad("contact", at, given, "on its own side: left above zero, right below");
        }
        if !(1e2..=1e7).contains(&front.rate.to_n_per_m()) {
            let given = format!("{:.3} N/mm", front.rate.to_n_per_mm());
            return bad("wheel rate", at, given, "0.1 to 10 000 N/mm");
        }
        if !up_to(front.raised.to_m(), 0.5) {
            let given = format!("{:.1} mm", front.raised.to_mm());
            return bad("height at the screw", at, given, "within 500 mm");
        }
        Ok((front.unsprung, front.weight))
    }

    fn check_rear(&self, at: Wheel) -> Result<(Mass, Mass), CarError> {
        let side = at.side();
        let rear = &self.rear[side];
        rear.corner.check().map_err(|source| CarError::Rear { side, source })?;
        if !up_to(rear.free.to_deg(), 120.0) {
            let given = format!("{:.2}°", rear.free.to_deg());
            return bad("free angle", at, given, "between -120° and 120°");
        }
        let (wheel, _, _) = rear.corner.linkage.wheel();
        if wheel[1] < 0.05 {
            let given = format!("{:.1} mm", wheel[1] * 1e3);
            return bad("Y of the wheel", at, given, "at least 50 mm out, given as a left one");
        }
        let Shift { u, w } = rear.corner.shift;
        if !(up_to(u.to_m(), 0.1) && up_to(w.to_m(), 0.1)) {
            let given = format!("{:.1} and {:.1} mm", u.to_mm(), w.to_mm());
            return bad("eccentrics", at, given, "within 100 mm of the middle");
        }
        Ok((rear.unsprung, rear.tyre.weight))
    }
}

fn bad<T>(what: &str, at: Wheel, given: String, must: &'static str) -> Result<T, CarError> {
    Err(super::input(format!("{what} {}", at.code()), given, must))
}

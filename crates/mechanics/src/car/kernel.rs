//! The equations of rest in plain SI numbers, written once for numbers and for dual numbers.
//!
//! A wheel is seen as a left one: for a right wheel n is mirrored before and the contact after,
//! and nothing else differs. Energy V = m·g(H + n·c) + Σ[U(q) + m_u·g(H + G) + T(H + G − h)] with
//! T′ = −N; its slopes are the equations of the module's text.

use axlewright_quantity::{Side, exact::STANDARD_GRAVITY};
use num_dual::Dual64;

use super::{Car, CarError, WHEELS, Wheel, is_front};
use crate::arm::kernel::Real;
use crate::arm::kernel::{At, Motion, V3, add, cross, dot, lift, scale, sub};
use crate::arm::si;
use crate::linkage::Linkage;
use crate::load;

/// Unknowns: travel of each wheel, load of each wheel, height, and the sines of pitch and roll.
pub(super) const UNKNOWNS: usize = 11;
pub(super) const LOADS: usize = 4;
pub(super) const HEIGHT: usize = 8;
pub(super) const NOSE: usize = 9;
pub(super) const LEAN: usize = 10;

pub(super) type X<D> = [D; UNKNOWNS];

/// Every knob as it stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Values<D> {
    pub(super) mass: D,
    pub(super) centre: V3<D>,
    pub(super) free: [D; 2],
    pub(super) shift: [[D; 2]; 2],
    pub(super) share: [D; 2],
    pub(super) gas: [D; 2],
    pub(super) unsprung: [D; 4],
    /// Sinking per load of each tyre; zero for one that does not give.
    pub(super) give: [D; 4],
    pub(super) rate: [D; 2],
    pub(super) raised: [D; 2],
    pub(super) floor: [D; 4],
    pub(super) coupling: [D; 2],
}

impl Values<f64> {
    pub(super) fn of(car: &Car) -> Self {
        let pair = |f: &dyn Fn(Side) -> f64| [f(Side::Left), f(Side::Right)];
        let four = |f: &dyn Fn(Wheel) -> f64| WHEELS.map(f);
        let rear = |side: Side| &car.rear[side];
        Self {
            mass: car.sprung.mass.to_kg(),
            centre: si(car.sprung.centre),
            free: pair(&|s| rear(s).free.to_rad()),
            shift: [Side::Left, Side::Right].map(|s| {
                let shift = rear(s).corner.shift;
                [shift.u.to_m(), shift.w.to_m()]
            }),
            share: [1.0; 2],
            gas: pair(&|s| rear(s).corner.gas.map_or(0.0, |g| g.force.to_n())),
            unsprung: four(&|w| match is_front(w) {
                true => car.front[w.side()].unsprung.to_kg(),
                false => rear(w.side()).unsprung.to_kg(),
            }),
            give: four(&|w| super::tyre_rate(car, w).map_or(0.0, |r| 1.0 / r.to_n_per_m())),
            rate: pair(&|s| car.front[s].rate.to_n_per_m()),
            raised: pair(&|s| car.front[s].raised.to_m()),
            floor: four(&|w| car.floor[w].to_m()),
            coupling: [car.front_coupling, car.rear_coupling]
                .map(|c| c.map_or(0.0, |c| c.to_n_per_m())),
        }
    }

    pub(super) fn lift<D: Real>(&self) -> Values<D> {
        Values {
            mass: D::from(self.mass),
            centre: lift(self.centre),
            free: self.free.map(D::from),
            shift: self.shift.map(|s| s.map(D::from)),
            share: self.share.map(D::from),
            gas: self.gas.map(D::from),
            unsprung: self.unsprung.map(D::from),
            give: self.give.map(D::from),
            rate: self.rate.map(D::from),
            raised: self.raised.map(D::from),
            floor: self.floor.map(D::from),
            coupling: self.coupling.map(D::from),
        }
    }
}

/// What no knob changes.
pub(super) struct Fixed<'a> {
    rear: [&'a load::Corner; 2],
    /// Rear wheel centre at the design angle, as a left one.
    wheel: [V3<f64>; 2],
    /// Front contacts at the design height, as left ones.
    contact: [V3<f64>; 2],
    /// Load of each wheel at which its tyre has its loaded radius, N.
    at_load: [f64; 4],
    /// The knobs.
    pub(super) values: Values<f64>,
}

/// A wheel for its travel: places and directions as a left one, and their slopes with the travel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen<D> {
    pub(super) centre: V3<D>,
    pub(super) axle: V3<D>,
    centre_slope: V3<D>,
    axle_slope: V3<D>,
    /// What drives the travel on, besides an anti-roll bar: −dU/dq.
    drive: D,
    radius: f64,
}

impl Seen<Dual64> {
    /// The same without its slopes.
    fn still(&self) -> Self {
        let d = |x: Dual64| Dual64::from(x.re);
        Self {
            centre: self.centre.map(d),
            axle: self.axle.map(d),
            centre_slope: self.centre_slope.map(d),
            axle_slope: self.axle_slope.map(d),
            drive: d(self.drive),
            radius: self.radius,
        }
    }
}

/// A wheel's share of the equations.
#[derive(Debug, Clone, Copy)]
struct Share<D> {
    /// Tyre above the floor: zero when it touches as loaded.
    gap: D,
    /// Balance of the travel.
    balance: D,
    force: D,
    /// Lowest point, in the car's own axes.
    contact: V3<D>,
}

/// Straight up in body axes.
pub(super) fn up<D: Real>(x: &X<D>) -> V3<D> {
    let (a, b) = (x[NOSE], x[LEAN]);
    [a, b, (-(a * a) - b * b + 1.0).sqrt()]
}

/// Left as it is, right mirrored in the centre plane; its own inverse.
pub(super) fn mirrored<D: Real>(wheel: usize, [x, y, z]: V3<D>) -> V3<D> {
    if wheel.is_multiple_of(2) { [x, y, z] } else { [x, -y, z] }
}

/// What is tangent to "straight up", of a vector.
fn tangent<D: Real>([x, y, z]: V3<D>, [nx, ny, nz]: V3<D>) -> [D; 2] {
    [x - z * nx / nz, y - z * ny / nz]
}

impl<'a> Fixed<'a> {
    pub(super) fn of(car: &'a Car) -> Self {
        let (left, right) = (&car.rear.left.corner, &car.rear.right.corner);
        let contact = |side: Side| si(side.to_left(car.front[side].contact));
        Self {
            rear: [left, right],
            wheel: [left.linkage.wheel().0, right.linkage.wheel().0],
            contact: [contact(Side::Left), contact(Side::Right)],
            at_load: WHEELS.map(|w| {
                let mass = match is_front(w) {
                    true => car.front[w.side()].weight,
                    false => car.rear[w.side()].tyre.weight,
                };
                mass.weight().to_n()
            }),
            values: Values::of(car),
        }
    }

    /// Where a solve begins: as designed, level.
    pub(super) fn start(&self) -> X<f64> {
        let mut x = [0.0; UNKNOWNS];
        for (i, corner) in self.rear.iter().enumerate() {
            x[2 + i] = corner.linkage.design_rad();
        }
        x[LOADS..HEIGHT].copy_from_slice(&self.at_load);
        let low = |i: usize| -self.wheel[i][2] + self.rear[i].linkage.wheel().2;
        x[HEIGHT] = 0.5 * (low(0) + low(1));
        x
    }

    pub(super) fn linkage(&self, i: usize) -> &Linkage {
        &self.rear[i].linkage
    }

    /// How the wheel stands for its travel; none where the arm does not reach.
    pub(super) fn see<D: Real>(&self, wheel: usize, q: D, v: &Values<D>) -> Option<Seen<D>> {
        if wheel < 2 {
            let [x, y, z] = self.contact[wheel];
            let (o, l) = (D::from(0.0), D::from(1.0));
            let at_design = -v.unsprung[wheel] * STANDARD_GRAVITY + self.at_load[wheel];
            return Some(Seen {
                centre: [D::from(x), D::from(y), q + z],
                axle: [o, l, o],
                centre_slope: [o, o, l],
                axle_slope: [o, o, o],
                drive: -(at_design + (q + v.raised[wheel]) * v.rate[wheel]),
                radius: 0.0,
            });
        }
        let i = wheel - 2;
        let corner = self.rear[i];
        let motion = match &corner.linkage {
            Linkage::Arm(arm) => {
                let (sin, cos) = q.sin_cos();
                arm.motion(&At { sin, cos, du: v.shift[i][0], dw: v.shift[i][1] }).ok()?
            }
            Linkage::Lever(lever) => lever.motion(q),
        };
        let (centre, axle, radius) = corner.linkage.wheel();
        let axle = motion.direction(axle);
        Some(Seen {
            centre: motion.carry(centre),
            axle,
            centre_slope: motion.velocity(centre),
            axle_slope: cross(motion.spin, axle),
            drive: self.drive(i, q, &motion, v),
            radius,
        })
    }

    /// What turns the plate tail down: bar, bush, gas.
    fn drive<D: Real>(&self, i: usize, angle: D, motion: &Motion<D>, v: &Values<D>) -> D {
        let corner = self.rear[i];
        let rate = v.share[i] * corner.bar_rate.to_nm_per_rad();
        let mut moment = (v.free[i] - angle) * rate;
        if let Some(bush) = &corner.bush {
            moment += (-angle + bush.neutral.to_rad()) * bush.rate.to_nm_per_rad();
        }
        if let Some(gas) = &corner.gas {
            moment += gas.span.raw(motion, angle).1 * v.gas[i];
        }
        moment
    }

    /// One wheel's share, without the anti-roll bar.
    fn share<D: Real>(&self, wheel: usize, seen: &Seen<D>, x: &X<D>, v: &Values<D>) -> Share<D> {
        let (n, load) = (mirrored(wheel, up(x)), x[LOADS + wheel]);
        let force = load - v.unsprung[wheel] * STANDARD_GRAVITY;
        let (mut height, mut fall) = (dot(n, seen.centre), dot(n, seen.centre_slope));
        let mut contact = seen.centre;
        if seen.radius != 0.0 {
            // Lowest point of a thin disc, seen along n.
            let lean = dot(n, seen.axle);
            let flat = (-(lean * lean) + 1.0).sqrt();
            height -= flat * seen.radius;
            fall += lean * dot(n, seen.axle_slope) * seen.radius / flat;
            let down = sub(n, scale(seen.axle, lean));
            contact = sub(contact, scale(down, flat.recip() * seen.radius));
        }
        let sunk = (load - self.at_load[wheel]) * v.give[wheel];
        Share {
            gap: x[HEIGHT] + height - v.floor[wheel] + sunk,
            balance: seen.drive + force * fall,
            force,
            contact: mirrored(wheel, contact),
        }
    }

    /// Force of an anti-roll bar on the left wheel of an axle, downward; the right has it upward.
    fn coupled<D: Real>(&self, axle: usize, seen: [&Seen<D>; 2], v: &Values<D>) -> D {
        let [left, right] = seen.map(|s| s.centre[2]);
        let at_ease = match axle {
            0 => self.contact[0][2] - self.contact[1][2],
            _ => self.wheel[0][2] - self.wheel[1][2],
        };
        (left - right - at_ease) * v.coupling[axle]
    }

    /// What is not balanced: zero at rest.
    pub(super) fn left_over<D: Real>(&self, seen: &[Seen<D>; 4], x: &X<D>, v: &Values<D>) -> X<D> {
        let mut r = [D::from(0.0); UNKNOWNS];
        let n = up(x);
        let weight = v.mass * STANDARD_GRAVITY;
        let [cx, cy] = tangent(v.centre, n);
        let mut sum = [-weight, -(weight * cx), -(weight * cy)];
        for (wheel, s) in seen.iter().enumerate() {
            let share = self.share(wheel, s, x, v);
            r[wheel] = share.balance;
            r[LOADS + wheel] = share.gap;
            let [mx, my] = tangent(share.contact, n);
            sum = add(sum, [share.force, share.force * mx, share.force * my]);
        }
        for axle in 0..2 {
            let (l, r_) = (2 * axle, 2 * axle + 1);
            let force = self.coupled(axle, [&seen[l], &seen[r_]], v);
            r[l] -= force * seen[l].centre_slope[2];
            r[r_] += force * seen[r_].centre_slope[2];
        }
        [r[HEIGHT], r[NOSE], r[LEAN]] = sum;
        r
    }

    /// Slopes of [`left_over`](Self::left_over) with the unknowns, row by row, from wheels seen
    /// with their travels' slopes.
    pub(super) fn slopes(&self, seen: &[Seen<Dual64>; 4], x: &X<f64>) -> [X<f64>; UNKNOWNS] {
        let v = self.values.lift::<Dual64>();
        let mut rows = [[0.0; UNKNOWNS]; UNKNOWNS];
        let still = seen.map(|s| s.still());
        let lifted = x.map(Dual64::from);
        let n = up(&lifted);
        let mut column = |at: usize, wheel: usize, share: &Share<Dual64>, n: V3<Dual64>| {
            rows[wheel][at] = share.balance.eps;
            rows[LOADS + wheel][at] = share.gap.eps;
            let [mx, my] = tangent(share.contact, n);
            for (row, value) in
                [(HEIGHT, share.force), (NOSE, share.force * mx), (LEAN, share.force * my)]
            {
                rows[row][at] += value.eps;
            }
        };
        for wheel in 0..4 {
            // Its travel.
            column(wheel, wheel, &self.share(wheel, &seen[wheel], &lifted, &v), n);
            // Its load.
            let mut moved = lifted;
            moved[LOADS + wheel].eps = 1.0;
            column(LOADS + wheel, wheel, &self.share(wheel, &still[wheel], &moved, &v), n);
            // The body.
            rows_body(self, wheel, &still[wheel], &lifted, &v, &mut column);
        }
        let weight = v.mass * STANDARD_GRAVITY;
        for at in [NOSE, LEAN] {
            let mut moved = lifted;
            moved[at].eps = 1.0;
            let [cx, cy] = tangent(v.centre, up(&moved));
            rows[NOSE][at] -= (weight * cx).eps;
            rows[LEAN][at] -= (weight * cy).eps;
        }
        for axle in 0..2 {
            let (l, r) = (2 * axle, 2 * axle + 1);
            if self.values.coupling[axle] == 0.0 {
                continue;
            }
            for (at, pair) in [(l, [&seen[l], &still[r]]), (r, [&still[l], &seen[r]])] {
                let force = self.coupled(axle, pair, &v);
                rows[l][at] -= (force * pair[0].centre_slope[2]).eps;
                rows[r][at] += (force * pair[1].centre_slope[2]).eps;
            }
        }
        rows
    }

    /// The wheels seen, each with its travel's slopes.
    pub(super) fn see_all(&self, x: &X<f64>) -> Option<[Seen<Dual64>; 4]> {
        let v = self.values.lift::<Dual64>();
        let see = |i: usize| self.see(i, Dual64::new(x[i], 1.0), &v);
        Some([see(0)?, see(1)?, see(2)?, see(3)?])
    }

    /// Names the wheel whose arm does not reach its travel.
    pub(super) fn out_of_reach(&self, x: &X<f64>) -> Option<CarError> {
        let found = (2..4).find(|i| self.see(*i, x[*i], &self.values).is_none())?;
        let side = if found == 2 { Side::Left } else { Side::Right };
        let angle = axlewright_quantity::Angle::rad(x[found]);
        let shift = self.rear[found - 2].shift;
        let source = self.rear[found - 2].linkage.stance(shift.at(angle)).err()?;
        Some(CarError::Rear { side, source })
    }
}

fn rows_body(
    fixed: &Fixed,
    wheel: usize,
    still: &Seen<Dual64>,
    lifted: &X<Dual64>,
    v: &Values<Dual64>,
    column: &mut impl FnMut(usize, usize, &Share<Dual64>, V3<Dual64>),
) {
    for at in [HEIGHT, NOSE, LEAN] {
        let mut moved = *lifted;
        moved[at].eps = 1.0;
        column(at, wheel, &fixed.share(wheel, still, &moved, v), up(&moved));
    }
}

/// A square matrix split into triangles, its rows exchanged for the largest pivots.
#[derive(Debug, Clone)]
pub(super) struct Split {
    rows: [X<f64>; UNKNOWNS],
    order: [usize; UNKNOWNS],
}

impl Split {
    /// None for a matrix that is as good as singular.
    pub(super) fn of(mut rows: [X<f64>; UNKNOWNS]) -> Option<Self> {
        let mut order = [0; UNKNOWNS];
        let mut size = [0.0; UNKNOWNS];
        for (i, row) in rows.iter().enumerate() {
            order[i] = i;
            size[i] = row.iter().fold(0.0_f64, |m, a| m.max(a.abs()));
            if !(0.0 < size[i] && size[i].is_finite()) {
                return None;
            }
        }
        for k in 0..UNKNOWNS {
            let mut best = k;
            for i in k + 1..UNKNOWNS {
                if rows[best][k].abs() * size[i] < rows[i][k].abs() * size[best] {
                    best = i;
                }
            }
            rows.swap(k, best);
            order.swap(k, best);
            size.swap(k, best);
            let pivot = rows[k][k];
            if pivot.abs() <= 1e-13 * size[k] {
                return None;
            }
            let (above, below) = rows.split_at_mut(k + 1);
            let pivot_row = &above[k];
            for row in below {
                if row[k] == 0.0 {
                    continue;
                }
                let factor = row[k] / pivot;
                row[k] = factor;
                for j in k + 1..UNKNOWNS {
                    row[j] -= factor * pivot_row[j];
                }
            }
        }
        Some(Self { rows, order })
    }

    pub(super) fn solve(&self, right: &X<f64>) -> X<f64> {
        let mut y = [0.0; UNKNOWNS];
        for i in 0..UNKNOWNS {
            let known = self.rows[i][..i].iter().zip(&y).map(|(r, y)| r * y).sum::<f64>();
            y[i] = right[self.order[i]] - known;
        }
        for i in (0..UNKNOWNS).rev() {
            let known = self.rows[i].iter().zip(&y).skip(i + 1).map(|(r, y)| r * y).sum::<f64>();
            y[i] = (y[i] - known) / self.rows[i][i];
        }
        y
    }
}

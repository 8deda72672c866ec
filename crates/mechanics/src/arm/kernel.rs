//! The arm's closed form in plain SI numbers, written once for numbers and for dual numbers.

use std::ops::Deref;

use num_dual::DualNum;

/// What the closed form is written in: a number, or one that carries its slope along.
pub(crate) trait Real: DualNum<Primitive = f64> + Copy {}
impl<D: DualNum<Primitive = f64> + Copy> Real for D {}

/// A vector in vehicle axes.
pub(crate) type V3<D> = [D; 3];

/// Whether a number is no larger than a limit, either way; false for NaN.
#[inline]
pub(crate) fn up_to(value: f64, most: f64) -> bool {
    value.abs() <= most
}

/// Whether a number is larger than another; false for NaN.
#[inline]
pub(crate) fn above(value: f64, floor: f64) -> bool {
    value > floor
}

#[inline]
pub(crate) fn cross<D: Real>([ax, ay, az]: V3<D>, [bx, by, bz]: V3<D>) -> V3<D> {
    [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]
}

#[inline]
pub(crate) fn dot<D: Real>([ax, ay, az]: V3<D>, [bx, by, bz]: V3<D>) -> D {
    ax * bx + ay * by + az * bz
}

#[inline]
pub(crate) fn add<D: Real>([ax, ay, az]: V3<D>, [bx, by, bz]: V3<D>) -> V3<D> {
    [ax + bx, ay + by, az + bz]
}

#[inline]
pub(crate) fn sub<D: Real>([ax, ay, az]: V3<D>, [bx, by, bz]: V3<D>) -> V3<D> {
    [ax - bx, ay - by, az - bz]
}

#[inline]
pub(crate) fn scale<D: Real>([ax, ay, az]: V3<D>, k: D) -> V3<D> {
    [ax * k, ay * k, az * k]
}

#[inline]
pub(crate) fn lift<D: Real>(v: V3<f64>) -> V3<D> {
    let [x, y, z] = v;
    [D::from(x), D::from(y), D::from(z)]
}

pub(crate) fn norm(v: V3<f64>) -> f64 {
    dot(v, v).sqrt()
}

/// How a rigid arm stands against its design pose.
///
/// Every point fixed to the arm obeys `now = centre + turn·(design − centre)`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stand<D> {
    pub(crate) centre: V3<f64>,
    pub(crate) turn: [V3<D>; 3],
}

/// How it stands, and how it turns per radian of plate angle: its points move at
/// `spin × (now − centre)` per radian.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Motion<D> {
    pub(crate) stand: Stand<D>,
    pub(crate) spin: V3<D>,
}

impl<D> Deref for Motion<D> {
    type Target = Stand<D>;

    #[inline]
    fn deref(&self) -> &Stand<D> {
        &self.stand
    }
}

impl<D: Real> Stand<D> {
    /// Where a point of the arm is now, seen from the centre.
    #[inline]
    pub(crate) fn arm_of(&self, design: V3<f64>) -> V3<D> {
        self.direction(sub(design, self.centre))
    }
    /// A direction fixed to the arm.
    #[inline]
    pub(crate) fn direction(&self, design: V3<f64>) -> V3<D> {
        rotate(&self.turn, design)
    }
    #[inline]
    pub(crate) fn carry(&self, design: V3<f64>) -> V3<D> {
        add(lift(self.centre), self.arm_of(design))
    }
}

impl<D: Real> Motion<D> {
    /// Velocity of a point of the arm, per radian of plate angle.
    #[inline]
    pub(crate) fn velocity(&self, design: V3<f64>) -> V3<D> {
        cross(self.spin, self.arm_of(design))
    }
}

#[inline]
pub(crate) fn rotate<D: Real>(turn: &[V3<D>; 3], v: V3<f64>) -> V3<D> {
    let row = |[x, y, z]: V3<D>| x * v[0] + y * v[1] + z * v[2];
    // Written out: `map` on arrays is not always inlined, and this is the inmost loop.
    [row(turn[0]), row(turn[1]), row(turn[2])]
}

/// The lowest point of a thin disc of radius `r` whose axle has the unit direction `s`, seen from
/// the disc's centre.
#[inline]
pub(crate) fn lowest_of_disc<D: Real>([sx, sy, sz]: V3<D>, r: f64) -> V3<D> {
    let flat = (-(sz * sz) + 1.0).sqrt();
    let k = sz * r / flat;
    [k * sx, k * sy, -flat * r]
}

/// Velocity of that lowest point as the axle's direction changes at `ds`.
#[inline]
pub(crate) fn lowest_of_disc_rate<D: Real>(s: V3<D>, ds: V3<D>, r: f64) -> V3<D> {
    let [sx, sy, sz] = s;
    let [dx, dy, dz] = ds;
    let flat = (sx * sx + sy * sy).sqrt();
    let d_flat = (sx * dx + sy * dy) / flat;
    let k = sz / flat;
    let d_k = (dz - k * d_flat) / flat;
    [(d_k * sx + k * dx) * r, (d_k * sy + k * dy) * r, -d_flat * r]
}

/// Constants of one arm, worked out once.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Kernel {
    pub(crate) hub: V3<f64>,
    pub(crate) pivot: V3<f64>,
    /// Plate coordinates (u, w) of the front and the rear hole.
    pub(crate) holes: [[f64; 2]; 2],
    /// 1 where the up-down eccentric moves that hole, 0 where not.
    pub(crate) w_moves: [f64; 2],
    /// Pivot to front hole.
    pub(crate) reach: f64,
    pub(crate) per_reach: f64,
    /// Rear hole along and across the line from pivot to front hole.
    pub(crate) along: f64,
    pub(crate) across: f64,
    pub(crate) per_across: f64,
    /// Which of the two turns about the line pivot–front hole is the design's: +1 or −1.
    pub(crate) branch: f64,
    /// Unit vectors of the arm's own frame at the design pose.
    pub(crate) design: [V3<f64>; 3],
}

/// What stands in the way of a pose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Short {
    /// The front hole's line misses the sphere about the inner pivot.
    FrontHole,
    /// No turn about the line pivot–front hole brings the rear hole to its place.
    RearHole,
}

/// The plate's position: sine and cosine of its angle, and the two shifts.
#[derive(Debug, Clone, Copy)]
pub(crate) struct At<D> {
    pub(crate) sin: D,
    pub(crate) cos: D,
    pub(crate) du: D,
    pub(crate) dw: D,
}

impl<D: Real> At<D> {
    pub(crate) fn new(angle: D, du: f64, dw: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        Self { sin, cos, du: D::from(du), dw: D::from(dw) }
    }
}

/// The arm's own frame: first axis from the pivot to the front hole, second towards the rear
/// hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Frame<D> {
    pub(crate) axes: [V3<D>; 3],
}

impl<D: Real> Frame<D> {
    /// A vector given along the arm's own axes, in vehicle axes.
    #[inline]
    pub(crate) fn place(&self, [a, b, c]: V3<f64>) -> V3<D> {
        let [e, f, g] = self.axes;
        let at = |i: usize| e[i] * a + f[i] * b + g[i] * c;
        [at(0), at(1), at(2)]
    }
}

impl Kernel {
    /// The arm's frame with the plate as given; no iteration.
    #[inline]
    pub(crate) fn frame<D: Real>(&self, at: &At<D>) -> Result<Frame<D>, Short> {
        let [[u, w], [_, w_rear]] = self.holes;
        let (u, w) = (at.du + u, at.dw * self.w_moves[0] + w);
        let x = -u * at.cos - w * at.sin + (self.hub[0] - self.pivot[0]);
        let z = -u * at.sin + w * at.cos + (self.hub[2] - self.pivot[2]);
        let y_sq = -(x * x + z * z) + self.reach * self.reach;
        if !above(y_sq.re(), 0.0) {
            return Err(Short::FrontHole);
        }
        let first = scale([x, y_sq.sqrt(), z], D::from(self.per_reach));
        let lean = first[2] * at.cos - first[0] * at.sin;
        let room = -(lean * lean) + 1.0;
        let rise = at.dw * self.w_moves[1] + w_rear - w + lean * (self.reach - self.along);
        let c = rise * self.per_across;
        let root_sq = room - c * c;
        if !above(root_sq.re(), 0.0) {
            return Err(Short::RearHole);
        }
        let root = root_sq.sqrt() * self.branch;
        let per_room = room.recip();
        let (up, side) = (c * per_room, root * per_room);
        // n̂ has no Y, so the products with it are written out.
        let [ex, ey, ez] = first;
        let lean_up = up * lean;
        let second = [
            -(up * at.sin) - lean_up * ex + side * ey * at.cos,
            -(lean_up * ey) - side * (ez * at.sin + ex * at.cos),
            up * at.cos - lean_up * ez + side * ey * at.sin,
        ];
        Ok(Frame { axes: [first, second, cross(first, second)] })
    }

    /// The turn from the design pose to this frame.
    #[inline]
    pub(crate) fn turn<D: Real>(&self, frame: &Frame<D>) -> [V3<D>; 3] {
        let [e, f, g] = frame.axes;
        let [a, b, c] = self.design;
        let row = |i: usize| {
            let at = |j: usize| e[i] * a[j] + f[i] * b[j] + g[i] * c[j];
            [at(0), at(1), at(2)]
        };
        [row(0), row(1), row(2)]
    }

    /// The holes' places in this frame.
    #[inline]
    pub(crate) fn holes_now<D: Real>(&self, frame: &Frame<D>) -> [V3<D>; 2] {
        let [e, f, _] = frame.axes;
        let front = scale(e, D::from(self.reach));
        let rear = add(scale(e, D::from(self.along)), scale(f, D::from(self.across)));
        [add(front, lift(self.pivot)), add(rear, lift(self.pivot))]
    }

    /// The arm's turning per unit of a change that moves the front hole at `hole` (x and z) and
    /// the rear hole at `rise` up the plate, while the plate itself turns by `plate` (0 or 1).
    #[inline]
    fn spin<D: Real>(
        &self,
        at: &At<D>,
        frame: &Frame<D>,
        (hole, rise, plate): ([D; 2], D, f64),
    ) -> V3<D> {
        let [e, f, g] = frame.axes;
        let arm = scale(e, D::from(self.reach));
        let dy = -(arm[0] * hole[0] + arm[2] * hole[1]) / arm[1];
        let swing = scale(cross(e, [hole[0], dy, hole[1]]), D::from(self.per_reach));
        let rear = add(scale(e, D::from(self.along)), scale(f, D::from(self.across)));
        let normal = [-at.sin, D::from(0.0), at.cos];
        let along_plate = [-at.cos, D::from(0.0), -at.sin];
        let seen = add(rear, lift(sub(self.pivot, self.hub)));
        let missing = rise - dot(along_plate, seen) * plate - dot(normal, cross(swing, rear));
        add(swing, scale(e, missing / (dot(normal, g) * self.across)))
    }

    /// The arm's turning per radian of plate angle.
    #[inline]
    pub(crate) fn spin_angle<D: Real>(&self, at: &At<D>, frame: &Frame<D>) -> V3<D> {
        let [[u, w], _] = self.holes;
        let (u, w) = (at.du + u, at.dw * self.w_moves[0] + w);
        let hole = [u * at.sin - w * at.cos, -(u * at.cos) - w * at.sin];
        self.spin(at, frame, (hole, D::from(0.0), 1.0))
    }

    /// The arm's turning per metre of fore-aft shift.
    #[inline]
    pub(crate) fn spin_u<D: Real>(&self, at: &At<D>, frame: &Frame<D>) -> V3<D> {
        self.spin(at, frame, ([-at.cos, -at.sin], D::from(0.0), 0.0))
    }

    /// The arm's turning per metre of up-down shift.
    #[inline]
    pub(crate) fn spin_w<D: Real>(&self, at: &At<D>, frame: &Frame<D>) -> V3<D> {
        let [front, rear] = self.w_moves;
        self.spin(at, frame, ([-at.sin * front, at.cos * front], D::from(rear), 0.0))
    }

    #[inline]
    pub(crate) fn motion<D: Real>(&self, at: &At<D>) -> Result<Motion<D>, Short> {
        self.frame(at).map(|frame| self.motion_of(at, &frame))
    }

    #[inline]
    pub(crate) fn stand_of<D: Real>(&self, frame: &Frame<D>) -> Stand<D> {
        Stand { centre: self.pivot, turn: self.turn(frame) }
    }

    #[inline]
    pub(crate) fn motion_of<D: Real>(&self, at: &At<D>, frame: &Frame<D>) -> Motion<D> {
        Motion { stand: self.stand_of(frame), spin: self.spin_angle(at, frame) }
    }
}

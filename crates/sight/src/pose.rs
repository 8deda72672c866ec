//! Where a flat sheet stands before a camera, from places of known points.
//!
//! ```text
//!        sheet, z towards the camera           camera: x right, y down, z forward
//!          y ▲
//!            │   · ·                                        ╱│
//!            ⊙──▶ x   - - - - c = R·w + t - - - - - - - - ◁  │
//!                                                           ╲│
//! ```
//!
//! A plane and its picture are related by a homography; its columns give the pose (first guess).
//! Small or distant sheets look nearly the same when tilted the other way, so both are tried.
//!
//! # Source
//! Homography of a plane, `H ~ K·(r₁ r₂ t)`; the pose from it is textbook, the second one is the
//! first turned about the line of sight's perpendicular (own derivation). Checked against OpenCV
//! in `reference/photo_oracle.py`.

use nalgebra::{Matrix3, SMatrix, SVector, Vector2, Vector3};

/// Turned by `rotation`, then moved by `shift`; millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Pose {
    pub rotation: Matrix3<f64>,
    pub shift: Vector3<f64>,
}

impl Pose {
    pub(crate) fn identity() -> Self {
        Self { rotation: Matrix3::identity(), shift: Vector3::zeros() }
    }

    pub(crate) fn of(&self, point: &Vector3<f64>) -> Vector3<f64> {
        self.rotation * point + self.shift
    }

    pub(crate) fn inverse(&self) -> Self {
        let rotation = self.rotation.transpose();
        Self { rotation, shift: -(rotation * self.shift) }
    }

    /// First `other`, then this.
    pub(crate) fn after(&self, other: &Self) -> Self {
        Self { rotation: self.rotation * other.rotation, shift: self.of(&other.shift) }
    }

    /// Turned a little further, by a rotation vector in the outer axes, and moved.
    pub(crate) fn moved(&self, turn: Vector3<f64>, by: Vector3<f64>) -> Self {
        Self { rotation: turned(turn) * self.rotation, shift: self.shift + by }
    }
}

/// The rotation by a vector along its axis, its length the angle in radians (Rodrigues).
pub(crate) fn turned(vector: Vector3<f64>) -> Matrix3<f64> {
    nalgebra::Rotation3::new(vector).into_inner()
}

/// The rotation vector of a rotation.
pub(crate) fn turn_of(rotation: &Matrix3<f64>) -> Vector3<f64> {
    nalgebra::Rotation3::from_matrix_unchecked(*rotation).scaled_axis()
}

/// The matrix of `v ×`.
pub(crate) fn cross(v: &Vector3<f64>) -> Matrix3<f64> {
    v.cross_matrix()
}

/// A point of the sheet and the direction (X/Z, Y/Z) in which it is seen.
pub(crate) type Sighting = (Vector2<f64>, Vector2<f64>);

/// The pose of a sheet and how well it fits: root of the mean square, in the units of the
/// directions.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Fit {
    pub pose: Pose,
    pub rms: f64,
}

/// The poses that explain a sheet's sightings, the best first; none where there is no such thing:
/// fewer than four points, or all in a line.
pub(crate) fn planar(sightings: &[Sighting]) -> Vec<Fit> {
    let Some(first) = homography(sightings).and_then(|h| from_homography(&h)) else {
        return Vec::new();
    };
    let mut fits: Vec<Fit> = Vec::new();
    let Some(best) = refined(first, sightings) else { return fits };
    fits.push(best);
    if let Some(other) = refined(other_way(&best.pose, sightings), sightings) {
        let apart = turn_of(&(other.pose.rotation * best.pose.rotation.transpose())).norm();
        if 1e-3 < apart {
            fits.push(other);
        }
    }
    fits.sort_by(|a, b| a.rms.total_cmp(&b.rms));
    fits
}

/// Eight unknowns by least squares, both sides shifted and scaled to size one.
fn homography(sightings: &[Sighting]) -> Option<Matrix3<f64>> {
    if sightings.len() < 4 {
        return None;
    }
    let normal = |pick: fn(&Sighting) -> Vector2<f64>| {
        let n = sightings.len() as f64;
        let middle: Vector2<f64> = sightings.iter().map(pick).sum::<Vector2<f64>>() / n;
        let spread = sightings.iter().map(|s| (pick(s) - middle).norm()).sum::<f64>() / n;
        (middle, spread)
    };
    let (wm, ws) = normal(|s| s.0);
    let (dm, ds) = normal(|s| s.1);
    if ws <= 0.0 || ds <= 0.0 {
        return None;
    }
    let mut a = SMatrix::<f64, 8, 8>::zeros();
    let mut b = SVector::<f64, 8>::zeros();
    for (w, d) in sightings {
        let (w, d) = ((w - wm) / ws, (d - dm) / ds);
        let rows = [
            ([w.x, w.y, 1.0, 0.0, 0.0, 0.0, -d.x * w.x, -d.x * w.y], d.x),
            ([0.0, 0.0, 0.0, w.x, w.y, 1.0, -d.y * w.x, -d.y * w.y], d.y),
        ];
        for (row, right) in rows {
            let row = SVector::<f64, 8>::from(row);
            a += row * row.transpose();
            b += row * right;
        }
    }
    let x = a.cholesky()?.solve(&b);
    let h = Matrix3::new(x[0], x[1], x[2], x[3], x[4], x[5], x[6], x[7], 1.0);
    let to = Matrix3::new(ds, 0.0, dm.x, 0.0, ds, dm.y, 0.0, 0.0, 1.0);
    let from = Matrix3::new(1.0 / ws, 0.0, -wm.x / ws, 0.0, 1.0 / ws, -wm.y / ws, 0.0, 0.0, 1.0);
    let h = to * h * from;
    h.iter().all(|v| v.is_finite()).then_some(h)
}

fn from_homography(h: &Matrix3<f64>) -> Option<Pose> {
    let (a, b, t) = (h.column(0).into_owned(), h.column(1).into_owned(), h.column(2).into_owned());
    let scale = 2.0 / (a.norm() + b.norm());
    if !scale.is_finite() {
        return None;
    }
    // In front of the camera.
    let scale = if t.z < 0.0 { -scale } else { scale };
    let (a, b) = (a * scale, b * scale);
    let near = Matrix3::from_columns(&[a, b, a.cross(&b)]);
    let svd = near.svd(true, true);
    let (u, v) = (svd.u?, svd.v_t?);
    let mut rotation = u * v;
    if rotation.determinant() < 0.0 {
        let mut u = u;
        u.column_mut(2).neg_mut();
        rotation = u * v;
    }
    Some(Pose { rotation, shift: t * scale })
}

/// The sheet tilted the other way about its middle: mirrored in the plane across the line of sight,
/// then with the mirror taken out of its thickness.
fn other_way(pose: &Pose, sightings: &[Sighting]) -> Pose {
    let n = sightings.len().max(1) as f64;
    let middle = sightings.iter().map(|s| s.0).sum::<Vector2<f64>>() / n;
    let middle = Vector3::new(middle.x, middle.y, 0.0);
    let at = pose.of(&middle);
    let sight = at.normalize();
    let mirror = Matrix3::identity() - sight * sight.transpose() * 2.0;
    let mut rotation = mirror * pose.rotation;
    rotation.column_mut(2).neg_mut();
    Pose { rotation, shift: at - rotation * middle }
}

/// Gauss-Newton with a damping that follows success, on directions.
fn refined(start: Pose, sightings: &[Sighting]) -> Option<Fit> {
    let cost = |pose: &Pose| -> Option<f64> {
        sightings.iter().try_fold(0.0, |sum, (w, d)| {
            let c = pose.of(&Vector3::new(w.x, w.y, 0.0));
            (1e-9 < c.z).then(|| sum + (Vector2::new(c.x, c.y) / c.z - d).norm_squared())
        })
    };
    let mut pose = start;
    let mut now = cost(&pose)?;
    let mut damping = 1e-6;
    for _ in 0..100 {
        let mut a = SMatrix::<f64, 6, 6>::zeros();
        let mut b = SVector::<f64, 6>::zeros();
        for (w, d) in sightings {
            let turned = pose.rotation * Vector3::new(w.x, w.y, 0.0);
            let c = turned + pose.shift;
            let (x, y) = (c.x / c.z, c.y / c.z);
            let by_point = nalgebra::Matrix2x3::new(1.0, 0.0, -x, 0.0, 1.0, -y) / c.z;
            let mut j = SMatrix::<f64, 2, 6>::zeros();
            j.fixed_view_mut::<2, 3>(0, 0).copy_from(&(by_point * -cross(&turned)));
            j.fixed_view_mut::<2, 3>(0, 3).copy_from(&by_point);
            a += j.transpose() * j;
            b -= j.transpose() * (Vector2::new(x, y) - d);
        }
        let mut damped = a;
        for i in 0..6 {
            damped[(i, i)] *= 1.0 + damping;
        }
        let step = damped.cholesky()?.solve(&b);
        let next = pose.moved(step.fixed_rows::<3>(0).into(), step.fixed_rows::<3>(3).into());
        match cost(&next) {
            Some(less) if less <= now => {
                let gain = now - less;
                (pose, now) = (next, less);
                damping = (damping / 10.0).max(1e-12);
                if gain <= 1e-14 * now {
                    break;
                }
            }
            _ if 1e8 < damping => break,
            _ => damping *= 10.0,
        }
    }
    Some(Fit { pose, rms: (now / sightings.len() as f64).sqrt() })
}

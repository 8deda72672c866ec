//! The lens: from a direction to a place in the picture and back.
//!
//! ```text
//!         picture                 camera: x right, y down, z forward
//!     ┌────────────┐
//!     │     c ·────┼─ f ──╲     m = (X/Z, Y/Z), r² = |m|²
//!     │   p ·      │       ╲    p = c + f·(1 + k₁r² + k₂r⁴)·m
//!     └────────────┘
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | f | focal length | pixels | `focal` |
//! | c | where the axis meets the picture | pixels | `centre` |
//! | k₁, k₂ | radial distortion; k₁ < 0 is a barrel | 1 | `k1`, `k2` |
//!
//! Square pixels, no tangential part: a telephone's lens is centred to a few pixels, and what is
//! left of it shows in the residuals.
//!
//! # Source
//! Pinhole camera with radial distortion, as the public libraries define it; checked against
//! OpenCV (`reference/photo_oracle.py`) and against printed figures of other libraries' tests.

use nalgebra::{Matrix2x3, Vector2, Vector3};

use crate::grey::Pixel;

/// A lens with its picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lens {
    /// Focal length in pixels.
    pub focal: f64,
    /// Where the lens's axis meets the picture.
    pub centre: Pixel,
    /// Radial distortion, the part that grows with the square of the radius.
    pub k1: f64,
    /// Radial distortion, the part that grows with its fourth power.
    pub k2: f64,
}

/// How a place in the picture moves with what it depends on.
pub(crate) struct Seen {
    pub at: Vector2<f64>,
    /// By the point in the camera's axes.
    pub by_point: Matrix2x3<f64>,
    /// By f, cx, cy, k₁, k₂.
    pub by_lens: [Vector2<f64>; 5],
}

/// Nothing closer than this to the camera, or behind it, is seen; mm.
const NEAR_MM: f64 = 1.0;
/// Steps to undo the distortion.
const UNDO_STEPS_MAX: usize = 30;

impl Lens {
    /// Where a point in the camera's axes is seen; `None` behind the camera, and where the model
    /// of the distortion folds back on itself.
    pub(crate) fn project(&self, point: &Vector3<f64>) -> Option<Pixel> {
        let seen = self.seen(point)?;
        Some(Pixel { x: seen.at.x, y: seen.at.y })
    }

    pub(crate) fn seen(&self, point: &Vector3<f64>) -> Option<Seen> {
        if point.z < NEAR_MM || !point.iter().all(|c| c.is_finite()) {
            return None;
        }
        let (x, y) = (point.x / point.z, point.y / point.z);
        let r2 = x * x + y * y;
        let grows = 1.0 + r2 * (3.0 * self.k1 + 5.0 * self.k2 * r2);
        if grows <= 0.05 {
            return None;
        }
        let g = 1.0 + r2 * (self.k1 + self.k2 * r2);
        let by_r2 = self.k1 + 2.0 * self.k2 * r2;
        let f = self.focal;
        // d(g·m)/dm, then dm/dpoint.
        let xx = f * (g + 2.0 * x * x * by_r2);
        let xy = f * 2.0 * x * y * by_r2;
        let yy = f * (g + 2.0 * y * y * by_r2);
        let by_point = Matrix2x3::new(
            xx / point.z,
            xy / point.z,
            -(xx * x + xy * y) / point.z,
            xy / point.z,
            yy / point.z,
            -(xy * x + yy * y) / point.z,
        );
        let m = Vector2::new(x, y);
        Some(Seen {
            at: Vector2::new(self.centre.x + f * g * x, self.centre.y + f * g * y),
            by_point,
            by_lens: [
                m * g,
                Vector2::new(1.0, 0.0),
                Vector2::new(0.0, 1.0),
                m * (f * r2),
                m * (f * r2 * r2),
            ],
        })
    }

    /// The direction that is seen at a place, as (X/Z, Y/Z, 1); `None` where no direction is: the
    /// model reaches only so far out.
    ///
    /// # Accuracy
    /// Put back through the lens it meets the place to a millionth of a pixel.
    pub(crate) fn ray(&self, at: Pixel) -> Option<Vector3<f64>> {
        let (xd, yd) = ((at.x - self.centre.x) / self.focal, (at.y - self.centre.y) / self.focal);
        let rd = xd.hypot(yd);
        if !rd.is_finite() {
            return None;
        }
        // Newton along the radius, from the middle outwards, where the model still grows.
        let mut r = rd;
        for _ in 0..UNDO_STEPS_MAX {
            let r2 = r * r;
            let grows = 1.0 + r2 * (3.0 * self.k1 + 5.0 * self.k2 * r2);
            if grows <= 0.05 {
                r *= 0.7;
                continue;
            }
            let over = r * (1.0 + r2 * (self.k1 + self.k2 * r2)) - rd;
            let next = (r - over / grows).max(0.0);
            if (next - r).abs() < 1e-14 * (1.0 + r) {
                break;
            }
            r = next;
        }
        let scale = if rd < 1e-12 { 1.0 } else { r / rd };
        let ray = Vector3::new(xd * scale, yd * scale, 1.0);
        let back = self.project(&(ray * 1000.0))?;
        (back.to(at) < 1e-6).then_some(ray)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lens(focal: f64, centre: (f64, f64), k: (f64, f64)) -> Lens {
        Lens { focal, centre: Pixel { x: centre.0, y: centre.1 }, k1: k.0, k2: k.1 }
    }

    /// GTSAM, `testCal3Bundler.cpp`, as seen: f 500, k1 = k2 = 1e-3, c (1000, 2000), point (2, 3)
    /// is seen at (2182, 3773), to 1e-7.
    #[test]
    fn a_printed_point_is_seen_where_it_was_printed() {
        let lens = lens(500.0, (1000.0, 2000.0), (1e-3, 1e-3));
        let seen = lens.project(&Vector3::new(2000.0, 3000.0, 1000.0)).unwrap();
        assert!(seen.to(Pixel { x: 2182.0, y: 3773.0 }) < 1e-7, "{seen:?}");
    }

    #[test]
    fn there_and_back_is_where_it_was() {
        for k in [(0.0, 0.0), (-0.2, 0.05), (0.1, 0.1), (-0.1, -0.02), (0.3, -0.1)] {
            let lens = lens(3000.0, (2000.0, 1500.0), k);
            for at in [(0.0, 0.0), (2000.0, 1500.0), (3999.0, 10.0), (1234.5, 2999.0)] {
                let at = Pixel { x: at.0, y: at.1 };
                let ray = lens.ray(at).unwrap_or_else(|| panic!("{k:?} {at:?}"));
                let back = lens.project(&(ray * 1234.0)).unwrap();
                assert!(back.to(at) < 1e-6, "{k:?}: {at:?} {back:?}");
            }
        }
    }

    /// A barrel that folds back before the corner of the picture: no direction is seen there, and
    /// none is made up.
    #[test]
    fn where_no_direction_is_seen_none_is_told() {
        let lens = lens(1000.0, (1000.0, 1000.0), (-0.4, 0.0));
        // The model reaches r(1 - 0.4 r²) = 0.6086 at the most, at r = 0.9129.
        assert!(lens.ray(Pixel { x: 1600.0, y: 1000.0 }).is_some());
        assert!(lens.ray(Pixel { x: 1620.0, y: 1000.0 }).is_none());
        assert!(lens.ray(Pixel { x: f64::NAN, y: 0.0 }).is_none());
        assert!(lens.project(&Vector3::new(0.0, 0.0, -5.0)).is_none());
        assert!(lens.project(&Vector3::new(2.0, 0.0, 1.0)).is_none());
    }
}

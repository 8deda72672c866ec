//! A tap says which; the picture says where: circles by their edge, edges by a line.
//!
//! ```text
//!        · · ·            rays from the tap, each to where the grey jumps; the ellipse through
//!      ·   │   ·          most of those places; then every place again, across the ellipse, to
//!     · ───+─── ·         a fraction of a pixel
//!      ·   │   ·
//!        · · ·
//! ```
//!
//! The middle of the ellipse is not quite where the circle's middle is seen, since the nearer half
//! looks larger; for a hole of 20 mm at 1 m that is less than a tenth of a pixel, and counted into
//! the doubt.
//!
//! # Source
//! Conic by least squares with A + C = 1, weighted by its slope (Sampson), both from memory;
//! checked against ellipses drawn by formula and against rendered bolt heads.

use nalgebra::{SMatrix, SVector};

use crate::edge::{line_through, step};
use crate::grey::{Grey, Pixel};
use crate::shot::TapDoubt;

/// A tap put where the picture says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Refined {
    /// Where it is.
    pub at: Pixel,
    /// How far off that may be.
    pub doubt: TapDoubt,
    /// Of a circle: its outline in the picture.
    pub outline: Option<Ellipse>,
}

/// An ellipse in a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipse {
    /// Its middle.
    pub centre: Pixel,
    /// Half its longer and half its shorter axis, pixels.
    pub half: (f64, f64),
    /// Direction of the longer axis, from x towards y, radians.
    pub turn: f64,
}

/// Rays from a tap.
const RAYS: usize = 96;
/// The largest circle that is looked for, pixels from the tap.
const REACH_PX: f64 = 260.0;
/// The smallest: below it there is no inside.
const RADIUS_PX_MIN: f64 = 4.0;
/// Grey levels that an edge must jump by.
const JUMP_MIN: f64 = 18.0;
/// Share of the rays that must meet the ellipse.
const SHARE_MIN: f64 = 0.6;
/// No edge is better known than that, px; and what the perspective of a circle may add.
const DOUBT_PX_MIN: f64 = 0.05;
const CIRCLE_PX: f64 = 0.1;

/// The circle in which a tap lies: its middle. `None` where there is none that most rays meet.
pub fn circle(grey: &Grey, tap: Pixel) -> Option<Refined> {
    if !tap.is_finite() || !grey.holds(tap, 2.0) {
        return None;
    }
    let mut best: Option<(Vec<Pixel>, Conic)> = None;
    for outward in [1.0, -1.0] {
        let jumps = jumps(grey, tap, outward);
        let Some((on, conic)) = most(&jumps) else { continue };
        if best.as_ref().is_none_or(|(most, _)| most.len() < on.len()) {
            best = Some((on, conic));
        }
    }
    let (on, conic) = best?;
    if (on.len() as f64) < SHARE_MIN * RAYS as f64 {
        return None;
    }
    let ellipse = conic.ellipse()?;
    let sharp: Vec<Pixel> = on.iter().filter_map(|p| across(grey, &conic, *p)).collect();
    let (points, conic) = if on.len() / 2 < sharp.len() {
        let conic = fit(&sharp)?;
        (sharp, conic)
    } else {
        (on, conic)
    };
    let better = conic.ellipse()?;
    // The tap lies inside, and sharpening finds the same circle.
    if ellipse.half.1 < RADIUS_PX_MIN
        || better.half.1 < 0.2 * better.half.0
        || conic.at(better.centre) * conic.at(tap) < 0.0
        || 3.0 < better.centre.to(ellipse.centre)
    {
        return None;
    }
    let scatter = (points.iter().map(|p| conic.distance(*p).powi(2)).sum::<f64>()
        / (points.len() as f64 - 5.0).max(1.0))
    .sqrt();
    // A mean over n points all round, in each coordinate half of them count.
    let u = (scatter * (2.0 / points.len() as f64).sqrt()).max(DOUBT_PX_MIN).hypot(CIRCLE_PX);
    Some(Refined { at: better.centre, doubt: TapDoubt::Round(u), outline: Some(better) })
}

/// The edge next to a tap: the place on it that is nearest. `None` where there is none within a few
/// pixels, or it is not straight.
pub fn edge(grey: &Grey, tap: Pixel) -> Option<Refined> {
    const NEAR_PX: f64 = 6.0;
    if !tap.is_finite() || !grey.holds(tap, 3.0 * NEAR_PX) {
        return None;
    }
    let mut normal = steepest(grey, tap, NEAR_PX)?;
    let mut middle = tap;
    let mut found = None;
    for _ in 0..2 {
        let along = (-normal.1, normal.0);
        let points: Vec<Pixel> = (-12..=12)
            .filter_map(|n| {
                let s = f64::from(n) * 0.75;
                let at = Pixel { x: middle.x + s * along.0, y: middle.y + s * along.1 };
                let step = step(grey, at, normal, NEAR_PX)?;
                (step.offset.abs() < NEAR_PX * 0.8).then_some(Pixel {
                    x: at.x + step.offset * normal.0,
                    y: at.y + step.offset * normal.1,
                })
            })
            .collect();
        if points.len() < 12 {
            return None;
        }
        let line = line_through(&points)?;
        let t = (tap.x - line.at.x) * line.along.0 + (tap.y - line.at.y) * line.along.1;
        middle = Pixel { x: line.at.x + t * line.along.0, y: line.at.y + t * line.along.1 };
        let side = -line.along.1 * normal.0 + line.along.0 * normal.1;
        normal =
            if side < 0.0 { (line.along.1, -line.along.0) } else { (-line.along.1, line.along.0) };
        let across_u = (line.scatter / (line.count as f64).sqrt()).max(DOUBT_PX_MIN);
        found = Some((line, across_u));
    }
    let (line, across_u) = found?;
    if 1.0 < line.scatter || NEAR_PX < middle.to(tap) {
        return None;
    }
    let doubt = TapDoubt::Edge { along: line.along, along_u: 0.5, across_u };
    Some(Refined { at: middle, doubt, outline: None })
}

/// The direction in which the grey rises most around a place.
fn steepest(grey: &Grey, at: Pixel, around: f64) -> Option<(f64, f64)> {
    let (mut xx, mut xy, mut yy, mut sx, mut sy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let reach = around as i32;
    for dy in -reach..=reach {
        for dx in -reach..=reach {
            let p = Pixel { x: at.x + f64::from(dx), y: at.y + f64::from(dy) };
            let gx = grey.at(Pixel { x: p.x + 1.0, ..p }) - grey.at(Pixel { x: p.x - 1.0, ..p });
            let gy = grey.at(Pixel { y: p.y + 1.0, ..p }) - grey.at(Pixel { y: p.y - 1.0, ..p });
            xx += gx * gx;
            xy += gx * gy;
            yy += gy * gy;
            sx += gx;
            sy += gy;
        }
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let n = (turn.cos(), turn.sin());
    let strength = xx + yy;
    if strength < 1000.0 {
        return None;
    }
    Some(if n.0 * sx + n.1 * sy < 0.0 { (-n.0, -n.1) } else { n })
}

/// Along each ray, the places where the grey jumps: up for `outward` 1, down for -1.
fn jumps(grey: &Grey, tap: Pixel, outward: f64) -> Vec<Vec<Pixel>> {
    (0..RAYS)
        .map(|ray| {
            let turn = ray as f64 / RAYS as f64 * std::f64::consts::TAU;
            let (dx, dy) = (turn.cos(), turn.sin());
            let at = |r: f64| Pixel { x: tap.x + r * dx, y: tap.y + r * dy };
            let slope = |r: f64| outward * (grey.at(at(r + 1.5)) - grey.at(at(r - 1.5)));
            let mut found = Vec::new();
            let mut r = 2.0;
            while r < REACH_PX && grey.holds(at(r), 3.0) && found.len() < 3 {
                let here = slope(r);
                if JUMP_MIN < here && slope(r - 0.5) <= here && slope(r + 0.5) < here {
                    found.push(at(r));
                    r += 3.0;
                }
                r += 0.5;
            }
            found
        })
        .collect()
}

/// The ellipse through most of the jumps, and those it goes through; one a ray.
fn most(jumps: &[Vec<Pixel>]) -> Option<(Vec<Pixel>, Conic)> {
    const TRIES: usize = 300;
    const WITHIN_PX: f64 = 1.5;
    let mut best: Option<(Vec<Pixel>, Conic)> = None;
    // The same numbers by chance every time.
    let mut seed = 0x9E37_79B9_u32;
    let mut next = |below: usize| {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 8) as usize % below.max(1)
    };
    for round in 0..TRIES {
        let start = next(jumps.len());
        let pick: Vec<Pixel> = (0..5)
            .filter_map(|n| {
                let ray = &jumps[(start + n * jumps.len() / 5 + next(7)) % jumps.len()];
                // Mostly the first edge.
                let which = if round % 3 == 0 { next(ray.len()) } else { 0 };
                ray.get(which).copied()
            })
            .collect();
        if pick.len() < 5 {
            continue;
        }
        let Some(conic) = fit(&pick) else { continue };
        if conic.ellipse().is_none_or(|e| e.half.1 < RADIUS_PX_MIN || REACH_PX < e.half.0) {
            continue;
        }
        let on = on_it(jumps, &conic, WITHIN_PX);
        if best.as_ref().is_none_or(|(most, _)| most.len() < on.len()) {
            best = Some((on, conic));
        }
    }
    let (on, _) = best?;
    let conic = fit(&on)?;
    let on = on_it(jumps, &conic, WITHIN_PX);
    let conic = fit(&on)?;
    Some((on, conic))
}

fn on_it(jumps: &[Vec<Pixel>], conic: &Conic, within: f64) -> Vec<Pixel> {
    let near = |ray: &Vec<Pixel>| ray.iter().copied().find(|p| conic.distance(*p).abs() < within);
    jumps.iter().filter_map(near).collect()
}

/// A place on the outline, put right across it.
fn across(grey: &Grey, conic: &Conic, at: Pixel) -> Option<Pixel> {
    let (gx, gy) = conic.slope(at);
    let size = gx.hypot(gy);
    let mut normal = (gx / size, gy / size);
    let ahead = Pixel { x: at.x + 2.0 * normal.0, y: at.y + 2.0 * normal.1 };
    let behind = Pixel { x: at.x - 2.0 * normal.0, y: at.y - 2.0 * normal.1 };
    if grey.at(ahead) < grey.at(behind) {
        normal = (-normal.0, -normal.1);
    }
    let found = step(grey, at, normal, 4.0)?;
    (found.offset.abs() < 2.0)
        .then_some(Pixel { x: at.x + found.offset * normal.0, y: at.y + found.offset * normal.1 })
}

/// A x² + B xy + C y² + D x + E y + F about a middle, in units of a size.
#[derive(Debug, Clone, Copy)]
struct Conic {
    c: [f64; 6],
    middle: Pixel,
    size: f64,
}

impl Conic {
    fn at(&self, p: Pixel) -> f64 {
        let (x, y) = ((p.x - self.middle.x) / self.size, (p.y - self.middle.y) / self.size);
        let [a, b, c, d, e, f] = self.c;
        a * x * x + b * x * y + c * y * y + d * x + e * y + f
    }

    /// Its slope per pixel.
    fn slope(&self, p: Pixel) -> (f64, f64) {
        let (x, y) = ((p.x - self.middle.x) / self.size, (p.y - self.middle.y) / self.size);
        let [a, b, c, d, e, _] = self.c;
        ((2.0 * a * x + b * y + d) / self.size, (b * x + 2.0 * c * y + e) / self.size)
    }

    /// The distance of a place from it, to first order, pixels.
    fn distance(&self, p: Pixel) -> f64 {
        let (gx, gy) = self.slope(p);
        self.at(p) / gx.hypot(gy).max(1e-12)
    }

    fn ellipse(&self) -> Option<Ellipse> {
        let [a, b, c, d, e, f] = self.c;
        let determinant = 4.0 * a * c - b * b;
        if determinant <= 1e-9 {
            return None;
        }
        let x = (b * e - 2.0 * c * d) / determinant;
        let y = (b * d - 2.0 * a * e) / determinant;
        let rest = -(f + (d * x + e * y) / 2.0);
        let mean = (a + c) / 2.0;
        let differ = ((a - c) / 2.0).hypot(b / 2.0);
        let (long, short) = (rest / (mean - differ), rest / (mean + differ));
        if !(0.0 < long && 0.0 < short) {
            return None;
        }
        // The longer axis is where the form is least.
        let turn = 0.5 * b.atan2(a - c) + std::f64::consts::FRAC_PI_2;
        let centre = Pixel { x: self.middle.x + x * self.size, y: self.middle.y + y * self.size };
        let half = (long.sqrt() * self.size, short.sqrt() * self.size);
        centre.is_finite().then_some(Ellipse { centre, half, turn })
    }
}

/// The conic with A + C = 1 that is closest to points: five or more.
fn fit(points: &[Pixel]) -> Option<Conic> {
    if points.len() < 5 {
        return None;
    }
    let n = points.len() as f64;
    let middle = Pixel {
        x: points.iter().map(|p| p.x).sum::<f64>() / n,
        y: points.iter().map(|p| p.y).sum::<f64>() / n,
    };
    let size = points.iter().map(|p| p.to(middle)).sum::<f64>() / n;
    if size.is_nan() || size <= 1e-6 {
        return None;
    }
    let mut conic: Option<Conic> = None;
    for _ in 0..if points.len() == 5 { 1 } else { 8 } {
        let mut normal = SMatrix::<f64, 5, 5>::zeros();
        let mut right = SVector::<f64, 5>::zeros();
        for p in points {
            let weight = conic.as_ref().map_or(1.0, |conic| {
                let (gx, gy) = conic.slope(*p);
                1.0 / (gx * gx + gy * gy).max(1e-12)
            });
            let (x, y) = ((p.x - middle.x) / size, (p.y - middle.y) / size);
            let row = SVector::<f64, 5>::from([x * x - y * y, x * y, x, y, 1.0]);
            normal += row * row.transpose() * weight;
            right -= row * (y * y * weight);
        }
        let s = normal.cholesky()?.solve(&right);
        conic = Some(Conic { c: [s[0], s[1], 1.0 - s[0], s[2], s[3], s[4]], middle, size });
    }
    conic
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_ellipse_is_found_again_from_its_points() {
        for (a, b, turn) in [(20.0, 12.0, 0.4), (9.0, 8.5, -1.2), (100.0, 31.0, 1.5)] {
            let points: Vec<Pixel> = (0..12)
                .map(|n| {
                    let t = f64::from(n) * 0.5;
                    let (x, y) = (a * f64::cos(t), b * f64::sin(t));
                    let (c, s) = (f64::cos(turn), f64::sin(turn));
                    Pixel { x: 300.0 + c * x - s * y, y: 200.0 + s * x + c * y }
                })
                .collect();
            let found = fit(&points).and_then(|conic| conic.ellipse()).unwrap();
            assert!(found.centre.to(Pixel { x: 300.0, y: 200.0 }) < 1e-7, "{found:?}");
            assert!((found.half.0 - a).abs() < 1e-7 && (found.half.1 - b).abs() < 1e-7);
            assert!(((found.turn - turn).sin()).abs() < 1e-7, "{found:?} {turn}");
        }
    }
}

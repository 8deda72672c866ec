//! Edges between dark and light, to a fraction of a pixel.
//!
//! ```text
//!   grey                          Across an edge the grey goes from one level to another. Where
//!   light ──────╮                 it would jump if nothing were blurred is where the area under
//!               │╲                the curve says: between -w and w,
//!               │ ╲
//!   dark        │  ╰──────            n₀ = w·(2·mean − dark − light)/(light − dark)
//!        -w    n₀        w  ──▶ n
//! ```
//!
//! Blur that is the same both ways leaves that place where it was, and noise averages out over the
//! whole window, unlike where the curve is steepest.
//!
//! # Source
//! Own derivation: the integral of a step blurred by a symmetric kernel that ends inside
//! the window.

use crate::grey::{Grey, Pixel};

/// A straight line in a picture: through `at`, along `along` (length 1).
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line {
    pub at: Pixel,
    pub along: (f64, f64),
    /// Standard deviation of the points about it, pixels.
    pub scatter: f64,
    /// How many points it was fitted to.
    pub count: usize,
}

/// What a window across an edge shows.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    /// Where the edge is, along the normal from the middle of the window.
    pub offset: f64,
    /// Standard deviation of the blur, pixels.
    pub blur: f64,
}

/// Steps between the samples across an edge, pixels.
const SAMPLE_PX: f64 = 0.5;
/// An edge must differ by so many grey levels.
const CONTRAST_MIN: f64 = 12.0;

/// The edge within `reach` of a place, dark on the side where `normal` comes from.
///
/// The levels are those of the outer quarters of the window.
pub(crate) fn step(grey: &Grey, at: Pixel, normal: (f64, f64), reach: f64) -> Option<Step> {
    if !grey.holds(at, reach + 1.0) {
        return None;
    }
    let half = (reach / SAMPLE_PX).floor().max(3.0) as i32;
    let sample = |n: i32| {
        let n = f64::from(n) * SAMPLE_PX;
        grey.at(Pixel { x: at.x + n * normal.0, y: at.y + n * normal.1 })
    };
    let profile: Vec<f64> = (-half..=half).map(sample).collect();
    let tail = (profile.len() / 5).max(2);
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let dark = mean(&profile[..tail]);
    let light = mean(&profile[profile.len() - tail..]);
    let contrast = light - dark;
    if contrast < CONTRAST_MIN {
        return None;
    }
    // Trapezoids: the two ends count half.
    let sum = profile.iter().sum::<f64>() - (profile[0] + profile[profile.len() - 1]) / 2.0;
    let mean_all = sum / f64::from(2 * half);
    let window = f64::from(half) * SAMPLE_PX;
    let offset = -window * (2.0 * mean_all - dark - light) / contrast;
    // The spread of the slope about the edge is that of the blur.
    let mut second = 0.0;
    for (n, pair) in (-half..half).zip(profile.windows(2)) {
        let middle = (f64::from(n) + 0.5) * SAMPLE_PX - offset;
        second += (pair[1] - pair[0]) / contrast * middle * middle;
    }
    Some(Step { offset, blur: second.max(0.0).sqrt() })
}

/// The straight line through points, those far off left out; `None` for fewer than four.
pub(crate) fn line_through(points: &[Pixel]) -> Option<Line> {
    let mut kept: Vec<Pixel> = points.to_vec();
    let mut line = fit(&kept)?;
    for _ in 0..3 {
        let mut far: Vec<f64> = kept.iter().map(|p| distance(&line, *p).abs()).collect();
        far.sort_by(f64::total_cmp);
        // 1.4826 times the median is a normal distribution's standard deviation; no closer than
        // what nothing can be better than.
        let limit = (4.0 * 1.4826 * far[far.len() / 2]).max(0.05);
        let fewer: Vec<Pixel> =
            kept.iter().copied().filter(|p| distance(&line, *p).abs() <= limit).collect();
        if fewer.len() == kept.len() {
            break;
        }
        kept = fewer;
        line = fit(&kept)?;
    }
    Some(line)
}

fn distance(line: &Line, p: Pixel) -> f64 {
    (p.x - line.at.x) * -line.along.1 + (p.y - line.at.y) * line.along.0
}

/// Total least squares: along the larger principal axis of the points.
fn fit(points: &[Pixel]) -> Option<Line> {
    if points.len() < 4 {
        return None;
    }
    let n = points.len() as f64;
    let at = Pixel {
        x: points.iter().map(|p| p.x).sum::<f64>() / n,
        y: points.iter().map(|p| p.y).sum::<f64>() / n,
    };
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (dx, dy) = (p.x - at.x, p.y - at.y);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let along = (turn.cos(), turn.sin());
    let mut line = Line { at, along, scatter: 0.0, count: points.len() };
    let sum: f64 = points.iter().map(|p| distance(&line, *p).powi(2)).sum();
    line.scatter = (sum / (n - 2.0)).sqrt();
    Some(line)
}

/// Where two lines cross; `None` if they hardly do.
pub(crate) fn crossing(a: &Line, b: &Line) -> Option<Pixel> {
    let cross = a.along.0 * b.along.1 - a.along.1 * b.along.0;
    if cross.abs() < 0.1 {
        return None;
    }
    let t = ((b.at.x - a.at.x) * b.along.1 - (b.at.y - a.at.y) * b.along.0) / cross;
    Some(Pixel { x: a.at.x + t * a.along.0, y: a.at.y + t * a.along.1 })
}

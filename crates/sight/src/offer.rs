//! A point given in one photograph, looked for in another.
//!
//! ```text
//!    first photograph          second photograph
//!    ┌───────────┐             ┌───────────┐     what is seen at x lies on one line of the other
//!    │     x     │             │ ·         │     picture, further along it the deeper it is; for
//!    │           │             │   ·       │     each depth the surroundings of x are laid there
//!    │           │             │     ○     │     as a plane like the sheet's would look, and the
//!    │           │             │       ·   │     place where they fit best is offered
//!    └───────────┘             └───────────┘
//! ```
//!
//! It is an offer: a person looks at it before it counts as a tap.
//!
//! # Source
//! Normalised cross-correlation along the epipolar line; own arrangement.

use axlewright_quantity::Length;
use nalgebra::Vector3;

use crate::grey::{Grey, Pixel};
use crate::measure::Measured;

/// Where a point may be in a second photograph.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offer {
    /// The place.
    pub at: Pixel,
    /// How well the surroundings fit, 1 at the best.
    pub fit: f64,
}

/// A photograph with its number in the question.
#[derive(Debug, Clone, Copy)]
pub struct Look<'a> {
    /// Its number, from 0.
    pub shot: usize,
    /// Its pixels.
    pub grey: &'a Grey,
}

/// Half the side of the surroundings, and the step between their places, pixels.
const HALF: i32 = 10;
const STEP_PX: f64 = 1.5;
/// Depths that are tried between near and far.
const DEPTHS: usize = 400;
/// A worse fit is not offered, and not one that another depth reaches nearly.
const FIT_MIN: f64 = 0.8;
const FIT_APART: f64 = 0.05;
/// Depths whose places are closer than this are the same offer, pixels.
const SAME_PX: f64 = 6.0;

/// The place in `to` that shows what `from` shows at a place; `None` where nothing fits, or two
/// places fit alike.
pub fn offer(
    measured: &Measured,
    from: Look<'_>,
    at: Pixel,
    to: Look<'_>,
    (near, far): (Length, Length),
) -> Option<Offer> {
    let patch = Patch::of(from.grey, at)?;
    let mut fits: Vec<Offer> = Vec::new();
    for n in 0..DEPTHS {
        let t = n as f64 / (DEPTHS - 1) as f64;
        let depth = 1.0 / ((1.0 - t) / near.to_mm() + t / far.to_mm());
        let Some(found) = fit(measured, from, at, to, (&patch, depth)) else { continue };
        fits.push(found);
    }
    let best = fits.iter().copied().max_by(|a, b| a.fit.total_cmp(&b.fit))?;
    let rival = fits
        .iter()
        .filter(|one| SAME_PX < one.at.to(best.at))
        .map(|one| one.fit)
        .fold(f64::NEG_INFINITY, f64::max);
    (FIT_MIN <= best.fit && rival < best.fit - FIT_APART).then_some(best)
}

/// The surroundings of a place, freed of how light they are and how strong.
struct Patch(Vec<f64>);

impl Patch {
    fn of(grey: &Grey, at: Pixel) -> Option<Self> {
        grey.holds(at, f64::from(HALF) * STEP_PX + 1.0).then_some(())?;
        Self::even(places().map(|(dx, dy)| grey.at(Pixel { x: at.x + dx, y: at.y + dy })).collect())
    }

    fn even(mut values: Vec<f64>) -> Option<Self> {
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        values.iter_mut().for_each(|value| *value -= mean);
        let size = values.iter().map(|value| value * value).sum::<f64>().sqrt();
        // A bare surface fits everywhere.
        if size < 3.0 * (values.len() as f64).sqrt() {
            return None;
        }
        values.iter_mut().for_each(|value| *value /= size);
        Some(Self(values))
    }

    fn fit(&self, other: &Self) -> f64 {
        self.0.iter().zip(&other.0).map(|(a, b)| a * b).sum()
    }
}

fn places() -> impl Iterator<Item = (f64, f64)> {
    (-HALF..=HALF)
        .flat_map(|y| (-HALF..=HALF).map(move |x| (f64::from(x) * STEP_PX, f64::from(y) * STEP_PX)))
}

/// How well the surroundings fit at one depth, lying as the first sheet does.
fn fit(
    measured: &Measured,
    from: Look<'_>,
    at: Pixel,
    to: Look<'_>,
    (patch, depth): (&Patch, f64),
) -> Option<Offer> {
    let middle = measured.on_sight(from.shot, at, Length::mm(depth))?;
    let seen = measured.seen_at(middle, to.shot)?;
    to.grey.holds(seen, 2.0).then_some(())?;
    let eye = measured.on_sight(from.shot, at, Length::ZERO)?;
    let vector = |p: [Length; 3]| Vector3::from(p.map(Length::to_mm));
    let (middle, eye) = (vector(middle), vector(eye));
    let mut values = Vec::with_capacity(patch.0.len());
    for (dx, dy) in places() {
        let beside = Pixel { x: at.x + dx, y: at.y + dy };
        let ray = vector(measured.on_sight(from.shot, beside, Length::mm(1.0))?) - eye;
        // Where that line of sight meets the plane through the point, z of the first sheet.
        let t = (middle.z - eye.z) / ray.z;
        let world = eye + ray * t;
        let there = measured.seen_at([world.x, world.y, world.z].map(Length::mm), to.shot)?;
        values.push(to.grey.at(there));
    }
    let found = Patch::even(values)?;
    Some(Offer { at: seen, fit: patch.fit(&found) })
}

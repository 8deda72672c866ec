//! What is known, what is sought, and how the one shows in the other.
//!
//! | unknown | meaning | unit |
//! |---|---|---|
//! | f, c, k₁, k₂ | a lens ([`crate::lens`]) | px, 1 |
//! | e | of a photograph: how much longer its focal length is than its lens's | 1 |
//! | R, t | of a photograph: from the first sheet's axes to the camera's | rad, mm |
//! | S, d | of every other sheet: from its axes to the first sheet's | rad, mm |
//! | a, b | of a sheet: how far its middle lies behind its edges, along x and along y | mm |
//! | s | the printer's scale, along and up | 1 |
//! | P | of a point: where it is, in the first sheet's axes or in the one it lies on | mm |
//!
//! A corner of a tag at (x, y) of its sheet is at
//!
//! ```text
//!     w = S·(s₁x, s₂y, a·(ξ² - 1/3) + b·(η² - 1/3)) + d,   ξ, η: x, y from the sheet's middle,
//!     p = lens(R·w + t)                                    over its half width and height
//! ```
//!
//! # Source
//! Bundle adjustment, as photogrammetry has it; the derivatives are by the chain rule, checked by
//! differences in the tests.

use nalgebra::{Matrix2, Vector2, Vector3};

use crate::grey::Pixel;
use crate::lens::Lens;
use crate::pose::{Pose, cross};

/// A lens with how sure each of its numbers is beforehand: f, cx, cy, k₁, k₂. A number with no
/// doubt is held.
#[derive(Debug, Clone, Copy)]
pub(crate) struct LensPrior {
    pub lens: Lens,
    pub u: [f64; 5],
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct PhotoIn {
    pub lens: usize,
    /// Doubt of e, about 0; none: held.
    pub focus_u: f64,
}

/// A sheet's middle and half size, for its bend; mm.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SheetIn {
    pub middle: Vector2<f64>,
    pub half: Vector2<f64>,
    /// Doubt of a and b, about 0; none: held.
    pub bend_u: f64,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct PointIn {
    /// The sheet in whose plane it lies.
    pub on: Option<usize>,
    /// How far it may lie off that plane, mm.
    pub off_u: f64,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct CornerIn {
    pub photo: usize,
    pub sheet: usize,
    /// As printed, mm.
    pub at: Vector2<f64>,
    pub seen: Pixel,
    /// Which tag it belongs to, as the caller counts them.
    pub tag: usize,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct TapIn {
    pub photo: usize,
    pub point: usize,
    pub seen: Pixel,
    /// Makes a difference in pixels into one in standard deviations.
    pub weight: Matrix2<f64>,
}

/// Everything that is given.
#[derive(Debug, Clone, Default)]
pub(crate) struct Given {
    pub lenses: Vec<LensPrior>,
    pub photos: Vec<PhotoIn>,
    /// The first one's axes are those of the answer.
    pub sheets: Vec<SheetIn>,
    pub scale: [f64; 2],
    /// Doubt of the scale: common to both ways, and of each way alone.
    pub scale_u: [f64; 2],
    pub points: Vec<PointIn>,
    pub corners: Vec<CornerIn>,
    pub taps: Vec<TapIn>,
    /// Per photograph: standard deviation of a corner's coordinate, px.
    pub corner_u: Vec<f64>,
}

/// Everything that is sought, at some values.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub lenses: Vec<Lens>,
    pub focus: Vec<f64>,
    pub cameras: Vec<Pose>,
    pub sheets: Vec<Pose>,
    pub bends: Vec<[f64; 2]>,
    /// Of the printer's scale: the mean of both ways, and half their difference.
    pub scale: [f64; 2],
    pub points: Vec<Vector3<f64>>,
}

/// Where each unknown stands among all of them; held ones stand nowhere.
#[derive(Debug, Clone)]
pub(crate) struct Places {
    pub lenses: Vec<[Option<usize>; 5]>,
    pub focus: Vec<Option<usize>>,
    pub cameras: Vec<usize>,
    pub sheets: Vec<Option<usize>>,
    pub bends: Vec<Option<usize>>,
    pub scale: [Option<usize>; 2],
    pub points: Vec<usize>,
    pub count: usize,
}

impl Places {
    pub(crate) fn new(given: &Given) -> Self {
        let mut count = 0;
        let mut next = |width: usize| {
            count += width;
            count - width
        };
        let lenses =
            given.lenses.iter().map(|prior| prior.u.map(|u| (0.0 < u).then(|| next(1)))).collect();
        let focus =
            given.photos.iter().map(|photo| (0.0 < photo.focus_u).then(|| next(1))).collect();
        let cameras = given.photos.iter().map(|_| next(6)).collect();
        let sheets = (0..given.sheets.len()).map(|n| (0 < n).then(|| next(6))).collect();
        let bends =
            given.sheets.iter().map(|sheet| (0.0 < sheet.bend_u).then(|| next(2))).collect();
        let scale = given.scale_u.map(|u| (0.0 < u).then(|| next(1)));
        let points = given.points.iter().map(|_| next(3)).collect();
        Self { lenses, focus, cameras, sheets, bends, scale, points, count }
    }
}

/// One observation: what is left of it, in standard deviations, and how it moves with the unknowns.
pub(crate) struct Row {
    pub left: Vector2<f64>,
    pub by: Vec<(usize, Vector2<f64>)>,
}

impl State {
    /// After a step of all unknowns.
    pub(crate) fn stepped(&self, places: &Places, step: &nalgebra::DVector<f64>) -> Self {
        let mut next = self.clone();
        let three = |at: usize| Vector3::new(step[at], step[at + 1], step[at + 2]);
        for (lens, at) in next.lenses.iter_mut().zip(&places.lenses) {
            let parts = [
                &mut lens.focal,
                &mut lens.centre.x,
                &mut lens.centre.y,
                &mut lens.k1,
                &mut lens.k2,
            ];
            for (part, at) in parts.into_iter().zip(at) {
                *part += at.map_or(0.0, |at| step[at]);
            }
        }
        for (focus, at) in next.focus.iter_mut().zip(&places.focus) {
            *focus += at.map_or(0.0, |at| step[at]);
        }
        for (pose, at) in next.cameras.iter_mut().zip(&places.cameras) {
            *pose = pose.moved(three(*at), three(at + 3));
        }
        for (pose, at) in next.sheets.iter_mut().zip(&places.sheets) {
            if let Some(at) = at {
                *pose = pose.moved(three(*at), three(at + 3));
            }
        }
        for (bend, at) in next.bends.iter_mut().zip(&places.bends) {
            if let Some(at) = at {
                bend[0] += step[*at];
                bend[1] += step[at + 1];
            }
        }
        for (scale, at) in next.scale.iter_mut().zip(&places.scale) {
            *scale += at.map_or(0.0, |at| step[at]);
        }
        for (point, at) in next.points.iter_mut().zip(&places.points) {
            *point += three(*at);
        }
        next
    }

    /// The lens of a photograph, focused as it was.
    pub(crate) fn lens_of(&self, given: &Given, photo: usize) -> Lens {
        let lens = self.lenses[given.photos[photo].lens];
        Lens { focal: lens.focal * (1.0 + self.focus[photo]), ..lens }
    }

    /// Where a point is, in the first sheet's axes.
    pub(crate) fn world(&self, given: &Given, point: usize) -> Vector3<f64> {
        match given.points[point].on {
            Some(sheet) => self.sheets[sheet].of(&self.points[point]),
            None => self.points[point],
        }
    }

    /// A printed place in its sheet's axes.
    pub(crate) fn printed(&self, given: &Given, sheet: usize, at: Vector2<f64>) -> Vector3<f64> {
        let q = bulge(&given.sheets[sheet], at);
        let bend = self.bends[sheet];
        let [mean, half] = self.scale;
        Vector3::new(at.x * (mean + half), at.y * (mean - half), bend[0] * q.x + bend[1] * q.y)
    }

    /// A corner as it should be seen; `None` if it would not be.
    pub(crate) fn corner(&self, given: &Given, places: &Places, n: usize) -> Option<Row> {
        let corner = &given.corners[n];
        let local = self.printed(given, corner.sheet, corner.at);
        let pose = &self.sheets[corner.sheet];
        let mut row = Row { left: Vector2::zeros(), by: Vec::with_capacity(24) };
        let (at, by_world) =
            self.seen(given, places, corner.photo, &pose.of(&local), &mut row.by)?;
        let by_local = by_world * pose.rotation;
        add_sheet(places.sheets[corner.sheet], pose, &local, &by_world, &mut row.by);
        let x = by_local.column(0) * corner.at.x;
        let y = by_local.column(1) * corner.at.y;
        if let Some(at) = places.scale[0] {
            row.by.push((at, x + y));
        }
        if let Some(at) = places.scale[1] {
            row.by.push((at, x - y));
        }
        if let Some(at) = places.bends[corner.sheet] {
            let q = bulge(&given.sheets[corner.sheet], corner.at);
            row.by.push((at, by_local.column(2) * q.x));
            row.by.push((at + 1, by_local.column(2) * q.y));
        }
        let u = given.corner_u[corner.photo];
        row.left = (at - Vector2::new(corner.seen.x, corner.seen.y)) / u;
        row.by.iter_mut().for_each(|(_, by)| *by /= u);
        Some(row)
    }

    /// A tap as it should be; `None` if its point would not be seen.
    pub(crate) fn tap(&self, given: &Given, places: &Places, n: usize) -> Option<Row> {
        let tap = &given.taps[n];
        let mut row = Row { left: Vector2::zeros(), by: Vec::with_capacity(20) };
        let world = self.world(given, tap.point);
        let (at, by_world) = self.seen(given, places, tap.photo, &world, &mut row.by)?;
        let mut by_point = by_world;
        if let Some(sheet) = given.points[tap.point].on {
            let pose = &self.sheets[sheet];
            add_sheet(places.sheets[sheet], pose, &self.points[tap.point], &by_world, &mut row.by);
            by_point = by_world * pose.rotation;
        }
        add(places.points[tap.point], &by_point, &mut row.by);
        row.left = tap.weight * (at - Vector2::new(tap.seen.x, tap.seen.y));
        row.by.iter_mut().for_each(|(_, by)| *by = tap.weight * *by);
        Some(row)
    }

    /// Where a point of the first sheet's axes is seen, and how that moves with the point; how it
    /// moves with lens and camera goes into `by`.
    fn seen(
        &self,
        given: &Given,
        places: &Places,
        photo: usize,
        world: &Vector3<f64>,
        by: &mut Vec<(usize, Vector2<f64>)>,
    ) -> Option<(Vector2<f64>, nalgebra::Matrix2x3<f64>)> {
        let which = given.photos[photo].lens;
        let camera = &self.cameras[photo];
        let turned = camera.rotation * world;
        let seen = self.lens_of(given, photo).seen(&(turned + camera.shift))?;
        let longer = 1.0 + self.focus[photo];
        for (n, at) in places.lenses[which].iter().enumerate() {
            if let Some(at) = at {
                let scale = if n == 0 { longer } else { 1.0 };
                by.push((*at, seen.by_lens[n] * scale));
            }
        }
        if let Some(at) = places.focus[photo] {
            by.push((at, seen.by_lens[0] * self.lenses[which].focal));
        }
        add(places.cameras[photo], &(seen.by_point * -cross(&turned)), by);
        add(places.cameras[photo] + 3, &seen.by_point, by);
        Some((seen.at, seen.by_point * camera.rotation))
    }

    /// What is known beforehand, in standard deviations, one number each.
    pub(crate) fn beforehand(&self, given: &Given, places: &Places) -> Vec<(usize, f64, f64)> {
        let mut rows = Vec::new();
        let mut know = |at: Option<usize>, off: f64, u: f64| {
            if let Some(at) = at {
                rows.push((at, off / u, 1.0 / u));
            }
        };
        for ((prior, lens), at) in given.lenses.iter().zip(&self.lenses).zip(&places.lenses) {
            let was = prior.lens;
            let off = [
                lens.focal - was.focal,
                lens.centre.x - was.centre.x,
                lens.centre.y - was.centre.y,
                lens.k1 - was.k1,
                lens.k2 - was.k2,
            ];
            (0..5).for_each(|n| know(at[n], off[n], prior.u[n]));
        }
        for (n, photo) in given.photos.iter().enumerate() {
            know(places.focus[n], self.focus[n], photo.focus_u);
        }
        for (n, sheet) in given.sheets.iter().enumerate() {
            know(places.bends[n], self.bends[n][0], sheet.bend_u);
            know(places.bends[n].map(|at| at + 1), self.bends[n][1], sheet.bend_u);
        }
        let [along, up] = given.scale;
        know(places.scale[0], self.scale[0] - (along + up) / 2.0, given.scale_u[0]);
        know(places.scale[1], self.scale[1] - (along - up) / 2.0, given.scale_u[1]);
        for (n, point) in given.points.iter().enumerate() {
            if point.on.is_some() {
                know(Some(places.points[n] + 2), self.points[n].z, point.off_u);
            }
        }
        rows
    }
}

fn add(at: usize, block: &nalgebra::Matrix2x3<f64>, by: &mut Vec<(usize, Vector2<f64>)>) {
    for n in 0..3 {
        by.push((at + n, block.column(n).into_owned()));
    }
}

fn add_sheet(
    at: Option<usize>,
    pose: &Pose,
    local: &Vector3<f64>,
    by_world: &nalgebra::Matrix2x3<f64>,
    by: &mut Vec<(usize, Vector2<f64>)>,
) {
    let Some(at) = at else { return };
    add(at, &(by_world * -cross(&(pose.rotation * local))), by);
    add(at + 3, by_world, by);
}

/// ξ² - 1/3 and η² - 1/3.
fn bulge(sheet: &SheetIn, at: Vector2<f64>) -> Vector2<f64> {
    (at - sheet.middle).component_div(&sheet.half).map(|v| v * v - 1.0 / 3.0)
}

//! What is asked of an answer: angles, places, poses, offsets, each with its doubt.

use axlewright_quantity::{Angle, Length, Pixels};
use nalgebra::{Matrix3, Vector3};

use crate::adjust::model::State;
use crate::grey::Pixel;
use crate::lens::Lens;
use crate::measure::Measured;
use crate::pose::{Pose, turn_of};
use crate::sheet::{Sheet, SheetId};

/// A value with its standard uncertainty (k = 1).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sure<Q> {
    /// The value.
    pub value: Q,
    /// Its standard uncertainty.
    pub u: Q,
}

/// A place in a sheet's axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Along the line.
    pub x: Sure<Length>,
    /// Up the paper.
    pub y: Sure<Length>,
    /// Out of the paper, to the camera.
    pub z: Sure<Length>,
    /// Correlation of x with y, x with z, y with z.
    pub correlation: [f64; 3],
}

/// The angle between two directions, and which way the second is turned against the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turn {
    /// Without sign, 0 to 180 degrees.
    pub angle: Sure<Angle>,
    /// Whether the second is turned clockwise against the first, as the sheets are looked at.
    pub clockwise: bool,
}

/// Where a camera or a sheet stands, in the first sheet's axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stand {
    /// Where its origin is.
    pub at: Spot,
    /// How it is turned: the rotation vector's parts, each with its doubt.
    pub turn: [Sure<Angle>; 3],
}

/// A lens as it was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LensFound {
    /// The best values.
    pub lens: Lens,
    /// Their doubts: f, cx, cy in pixels, then k₁, k₂.
    pub u: [f64; 5],
    /// The focal length that shows the same on 36 × 24 mm, compared by the diagonal.
    pub equivalent: Sure<Length>,
}

/// How far each end of a line may lie off the edge it was laid along; chosen, no source.
pub const SEAT: Length = Length::mm(0.5);

/// The doubt of a line's direction from how its ends lie: `u·√2` over its length.
///
/// # Source
/// Both ends independent; small angle.
pub fn seat_doubt(seat: Length, line: Length) -> Angle {
    Angle::rad(seat / line * 2.0_f64.sqrt())
}

fn mm(value: f64, variance: f64) -> Sure<Length> {
    Sure { value: Length::mm(value), u: Length::mm(variance.max(0.0).sqrt()) }
}

fn rad(value: f64, variance: f64) -> Sure<Angle> {
    Sure { value: Angle::rad(value), u: Angle::rad(variance.max(0.0).sqrt()) }
}

fn spot((value, covariance): (Vector3<f64>, Matrix3<f64>)) -> Spot {
    let correlation = |i: usize, j: usize| {
        let both = (covariance[(i, i)] * covariance[(j, j)]).sqrt();
        if 0.0 < both { covariance[(i, j)] / both } else { 0.0 }
    };
    Spot {
        x: mm(value.x, covariance[(0, 0)]),
        y: mm(value.y, covariance[(1, 1)]),
        z: mm(value.z, covariance[(2, 2)]),
        correlation: [correlation(0, 1), correlation(0, 2), correlation(1, 2)],
    }
}

impl Measured {
    /// The sheets, the first one's axes being those of the answer.
    pub fn sheets(&self) -> &[SheetId] {
        &self.ground_sheets
    }

    /// The photographs that took part, as numbers of the question.
    pub fn shots(&self) -> &[usize] {
        &self.ground_shots
    }

    /// The names of the points that have a place.
    pub fn points(&self) -> &[String] {
        &self.names
    }

    /// How far a corner of a tag is off in a photograph: standard deviation.
    pub fn corner_doubt(&self, shot: usize) -> Option<Pixels> {
        self.given.corner_u.get(self.shot_place(shot)?).copied().map(Pixels::px)
    }

    fn sheet_place(&self, id: SheetId) -> Option<usize> {
        self.ground_sheets.iter().position(|sheet| *sheet == id)
    }

    pub(crate) fn shot_place(&self, shot: usize) -> Option<usize> {
        self.ground_shots.iter().position(|number| *number == shot)
    }

    /// The lens of a photograph, focused as it was.
    pub fn lens(&self, shot: usize) -> Option<LensFound> {
        let photo = self.shot_place(shot)?;
        let which = self.given.photos[photo].lens;
        let lens = self.state().lens_of(&self.given, photo);
        let u_of =
            |at: Option<usize>| at.map_or(0.0, |at| self.best.covariance[(at, at)].max(0.0).sqrt());
        let focal =
            |state: &State| Some(Vector3::new(state.lens_of(&self.given, photo).focal, 0.0, 0.0));
        let (_, spread) = self.covariance_of(focal)?;
        let mut u = self.places().lenses[which].map(u_of);
        u[0] = spread[(0, 0)].max(0.0).sqrt();
        let taken = &self.question_shots[shot];
        let equivalent = |px: f64| Length::mm(crate::start::equivalent_mm(taken, px));
        Some(LensFound {
            lens,
            u,
            equivalent: Sure { value: equivalent(lens.focal), u: equivalent(u[0]) },
        })
    }

    /// Where a photograph was taken from, in the first sheet's axes.
    pub fn camera(&self, shot: usize) -> Option<Stand> {
        let photo = self.shot_place(shot)?;
        self.stand(|state| state.cameras[photo].inverse())
    }

    /// Where a sheet stands, in the first sheet's axes.
    pub fn sheet(&self, id: SheetId) -> Option<Stand> {
        let sheet = self.sheet_place(id)?;
        self.stand(|state| state.sheets[sheet])
    }

    fn stand(&self, pose: impl Fn(&State) -> Pose) -> Option<Stand> {
        let at = spot(self.covariance_of(|state| Some(pose(state).shift))?);
        let now = pose(self.state()).rotation;
        let turn = turn_of(&now);
        // Small turns about the answer: no jump where the vector is half a turn long.
        let small = |state: &State| Some(turn_of(&(pose(state).rotation * now.transpose())));
        let (_, spread) = self.covariance_of(small)?;
        let turn = [0, 1, 2].map(|n| rad(turn[n], spread[(n, n)]));
        Some(Stand { at, turn })
    }

    /// The angle in space between the lines of two sheets, as printed: nothing of how they were
    /// laid.
    pub fn sheet_angle(&self, from: SheetId, to: SheetId) -> Option<Turn> {
        let (from, to) = (self.sheet_place(from)?, self.sheet_place(to)?);
        self.turn(move |state| {
            let a = state.sheets[from].rotation;
            let b = state.sheets[to].rotation;
            Some((a.column(0).into_owned(), b.column(0).into_owned(), a.column(2).into_owned()))
        })
    }

    /// The angle in space between the planes of two sheets.
    pub fn plane_angle(&self, from: SheetId, to: SheetId) -> Option<Sure<Angle>> {
        let (from, to) = (self.sheet_place(from)?, self.sheet_place(to)?);
        let turn = self.turn(move |state| {
            let a = state.sheets[from].rotation;
            let b = state.sheets[to].rotation;
            Some((a.column(2).into_owned(), b.column(2).into_owned(), a.column(0).into_owned()))
        })?;
        Some(turn.angle)
    }

    /// The angle between the edges that two sheets were laid along: [`Self::sheet_angle`], with how
    /// each line is seated.
    pub fn line_angle(&self, from: SheetId, to: SheetId, seat: Length) -> Option<Turn> {
        let mut turn = self.sheet_angle(from, to)?;
        let doubts = [self.line_length(from)?, self.line_length(to)?]
            .map(|line| seat_doubt(seat, line).to_rad());
        turn.angle.u = Angle::rad(doubts.iter().fold(turn.angle.u.to_rad(), |a, b| a.hypot(*b)));
        Some(turn)
    }

    /// The angle between a sheet's line, as it is seated, and the straight line through points.
    pub fn points_angle(&self, from: SheetId, names: &[&str], seat: Length) -> Option<Turn> {
        let sheet = self.sheet_place(from)?;
        let points: Vec<usize> = names
            .iter()
            .map(|name| self.names.iter().position(|own| own == name))
            .collect::<Option<_>>()?;
        if points.len() < 2 {
            return None;
        }
        let mut turn = self.turn(|state| {
            let at: Vec<Vector3<f64>> =
                points.iter().map(|point| state.world(&self.given, *point)).collect();
            let a = state.sheets[sheet].rotation;
            let line = direction(&at)?;
            Some((a.column(0).into_owned(), line, a.column(2).into_owned()))
        })?;
        let doubt = seat_doubt(seat, self.line_length(from)?).to_rad();
        turn.angle.u = Angle::rad(turn.angle.u.to_rad().hypot(doubt));
        Some(turn)
    }

    /// As much of a sheet's line as stands under tags that were seen: more may have been cut off.
    pub fn line_length(&self, id: SheetId) -> Option<Length> {
        let (low, high) = self.extents[self.sheet_place(id)?];
        let margin = Sheet::new(id).tags.first().map_or(0.0, |tag| tag.size.to_mm() / 8.0);
        Some(Length::mm(high.x - low.x + 2.0 * margin).min(Sheet::new(id).line))
    }

    /// The angle between two directions; the third is what it is looked at along.
    fn turn(
        &self,
        directions: impl Fn(&State) -> Option<(Vector3<f64>, Vector3<f64>, Vector3<f64>)>,
    ) -> Option<Turn> {
        let (a, b, towards) = directions(self.state())?;
        let crossed = |state: &State| {
            let (a, b, _) = directions(state)?;
            Some(a.cross(&b) / (a.norm() * b.norm()))
        };
        let (cross, spread) = self.covariance_of(crossed)?;
        let (sine, cosine) = (cross.norm(), a.dot(&b) / (a.norm() * b.norm()));
        let worst = spread.symmetric_eigenvalues().max().max(0.0);
        // Where the angle is hardly there it has no direction: the largest doubt of any.
        let u = if 3.0 * worst.sqrt() < sine && 0.05 < cosine.abs() {
            let along = cross / sine;
            ((along.transpose() * spread * along)[(0, 0)].max(0.0)).sqrt() / cosine.abs()
        } else if cosine.abs() <= 0.05 {
            let dot = |state: &State| {
                let (a, b, _) = directions(state)?;
                Some(Vector3::new(a.dot(&b) / (a.norm() * b.norm()), 0.0, 0.0))
            };
            self.covariance_of(dot)?.1[(0, 0)].max(0.0).sqrt() / sine
        } else {
            worst.sqrt()
        };
        Some(Turn {
            angle: Sure { value: Angle::rad(sine.atan2(cosine)), u: Angle::rad(u) },
            clockwise: cross.dot(&towards) < 0.0,
        })
    }

    /// Where a point is, in the axes of a sheet.
    pub fn point(&self, name: &str, frame: SheetId) -> Option<Spot> {
        let point = self.names.iter().position(|own| own == name)?;
        let frame = self.sheet_place(frame)?;
        let given = &self.given;
        Some(spot(self.covariance_of(|state| {
            // In its own sheet's axes nothing but the point itself is in doubt.
            if given.points[point].on == Some(frame) {
                return Some(state.points[point]);
            }
            Some(state.sheets[frame].inverse().of(&state.world(given, point)))
        })?))
    }

    /// The sheet in whose plane a point was said to lie.
    pub fn plane_of(&self, name: &str) -> Option<SheetId> {
        let point = self.names.iter().position(|own| own == name)?;
        self.given.points[point].on.map(|sheet| self.ground_sheets[sheet])
    }

    /// In how many photographs a point was tapped, those left out not counted.
    pub fn times_tapped(&self, name: &str) -> usize {
        let of = |r: &&crate::measure::Residual| r.point.as_deref() == Some(name) && !r.left_out;
        self.residuals.iter().filter(of).count()
    }

    /// Where the second sheet's origin is in the first one's axes: for the two halves of a strip,
    /// how far one part has moved against the other.
    pub fn offset(&self, from: SheetId, to: SheetId) -> Option<Stand> {
        let (from, to) = (self.sheet_place(from)?, self.sheet_place(to)?);
        self.stand(move |state| state.sheets[from].inverse().after(&state.sheets[to]))
    }

    /// Where a point of the first sheet's axes would be seen in a photograph.
    pub fn seen_at(&self, place: [Length; 3], shot: usize) -> Option<Pixel> {
        let photo = self.shot_place(shot)?;
        let world = Vector3::from(place.map(Length::to_mm));
        let camera = self.state().cameras[photo].of(&world);
        self.state().lens_of(&self.given, photo).project(&camera)
    }

    /// The line in a second photograph on which a place of a first one lies, as places along it:
    /// from `near` to `far` before the first camera, evenly in what the picture shows.
    pub fn epipolar(
        &self,
        from: usize,
        at: Pixel,
        to: usize,
        (near, far): (Length, Length),
    ) -> Vec<Pixel> {
        const PLACES: usize = 64;
        let along = |n: usize| {
            let t = n as f64 / (PLACES - 1) as f64;
            let inverse = (1.0 - t) / near.to_mm() + t / far.to_mm();
            self.seen_at(self.on_sight(from, at, Length::mm(1.0 / inverse))?, to)
        };
        (0..PLACES).filter_map(along).collect()
    }

    /// The point of the first sheet's axes that a photograph shows at a place, so far before the
    /// camera.
    pub fn on_sight(&self, shot: usize, at: Pixel, depth: Length) -> Option<[Length; 3]> {
        let photo = self.shot_place(shot)?;
        let ray = self.state().lens_of(&self.given, photo).ray(at)?;
        let world = self.state().cameras[photo].inverse().of(&(ray * depth.to_mm()));
        Some([world.x, world.y, world.z].map(Length::mm))
    }
}

/// The direction of the straight line that fits points best, from the first to the last.
fn direction(points: &[Vector3<f64>]) -> Option<Vector3<f64>> {
    let (first, last) = (points.first()?, points.last()?);
    let whole = last - first;
    if points.len() == 2 {
        return Some(whole);
    }
    let middle = points.iter().sum::<Vector3<f64>>() / points.len() as f64;
    let spread: Matrix3<f64> = points.iter().map(|p| (p - middle) * (p - middle).transpose()).sum();
    let eigen = spread.symmetric_eigen();
    let along = eigen.eigenvectors.column(eigen.eigenvalues.imax()).into_owned();
    Some(if along.dot(&whole) < 0.0 { -along } else { along })
}

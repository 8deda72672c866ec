//! From photographs and taps to lenses, poses and points, with how sure each is.
//!
//! ```text
//!    tags ──▶ poses one by one ──▶ all together ──▶ how good are corners ──▶ taps ──▶ answer
//!              (each sheet may        ▲                    │                      │
//!               tilt either way)      └── a tag that is off, left out          └── a tap, likewise
//! ```

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use crate::adjust::model::{Given, Places, PointIn, State, TapIn};
use crate::adjust::solve::{Best, NoAnswer, solve};
use crate::grey::Pixel;
use crate::judge;
use crate::remark::{Remark, What};
use crate::sheet::SheetId;
use crate::shot::{LensKnown, Question, Tap, TapDoubt};
use crate::start::{Ground, closest, ground};

/// Why nothing was measured.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeasureError {
    /// No photograph shows a sheet.
    #[error("none of the photographs shows enough of a sheet")]
    NoSheets {
        /// What was noticed on the way.
        remarks: Vec<Remark>,
    },
    /// The tags were found, but do not fit one camera and flat sheets.
    #[error("the tags do not fit flat sheets seen through a lens")]
    NoFit {
        /// What was noticed on the way.
        remarks: Vec<Remark>,
    },
    /// More than can be adjusted at once.
    #[error("{count} {what} are too many; {limit} are allowed")]
    TooMany {
        /// Photographs, or points.
        what: &'static str,
        /// How many.
        count: usize,
        /// How many are allowed.
        limit: usize,
    },
    /// A number that is none.
    #[error("{what} is no number that can be used")]
    NotANumber {
        /// What.
        what: &'static str,
    },
}

impl MeasureError {
    /// What would be right.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NoSheets { .. } => What::NoTags.hint(),
            Self::NoFit { .. } => {
                "take the photographs again: sheets flat, nothing moved between them, no zoom"
            }
            Self::TooMany { .. } => "measure one corner at a time",
            Self::NotANumber { .. } => "give pixels and scales as plain numbers",
        }
    }

    /// What was noticed on the way.
    pub fn remarks(&self) -> &[Remark] {
        match self {
            Self::NoSheets { remarks } | Self::NoFit { remarks } => remarks,
            _ => &[],
        }
    }
}

/// Photographs that are adjusted at once.
pub const SHOTS_MAX: usize = 24;
/// Points that are adjusted at once.
pub const POINTS_MAX: usize = 120;

/// What is left of an observation in a photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// The photograph, from 0.
    pub shot: usize,
    /// A point's name; `None` for a corner of a tag.
    pub point: Option<String>,
    /// Where it was seen.
    pub seen: Pixel,
    /// Where the answer puts it.
    pub fitted: Pixel,
    /// How far apart the two are, in standard deviations of that difference; `None` where nothing
    /// else holds the point, so that it fits whatever was tapped.
    pub off: Option<f64>,
    /// Whether it was left out of the answer.
    pub left_out: bool,
}

/// The answer: everything in the axes of the first sheet.
#[derive(Debug, Clone)]
pub struct Measured {
    pub(crate) question_shots: Vec<crate::shot::Shot>,
    pub(crate) ground_sheets: Vec<SheetId>,
    pub(crate) ground_shots: Vec<usize>,
    pub(crate) extents: Vec<(Vector2<f64>, Vector2<f64>)>,
    pub(crate) given: Given,
    pub(crate) best: Best,
    pub(crate) names: Vec<String>,
    /// What is left of every corner and tap.
    pub residuals: Vec<Residual>,
    /// What spoils it, or may.
    pub remarks: Vec<Remark>,
}

/// Measures.
///
/// # Errors
/// [`MeasureError`]: nothing to measure by, or nothing that fits.
pub fn measure(question: &Question) -> Result<Measured, MeasureError> {
    check(question)?;
    let mut remarks = judge::before(question);
    let Some(mut ground) = ground(question, &mut remarks) else {
        return Err(MeasureError::NoSheets { remarks });
    };
    let no_fit = |remarks: &[Remark]| MeasureError::NoFit { remarks: remarks.to_vec() };
    let sheets_only = settle(question, &mut ground).map_err(|_| no_fit(&remarks))?;
    remarks.append(&mut ground.remarks);
    let mut points = Points::new(question, &ground, &sheets_only.state, &mut remarks);
    let (best, left_out) =
        with_points(&mut ground, &mut points, sheets_only.state.clone(), &mut remarks)
            .map_err(|_| no_fit(&remarks))?;
    let extents = ground.sheets.iter().map(|id| crate::start::extent(*id, &ground.tags)).collect();
    let residuals = residuals(question, &ground, &points, &best, &left_out);
    let mut measured = Measured {
        question_shots: question.shots.clone(),
        ground_sheets: ground.sheets.clone(),
        ground_shots: ground.shots.clone(),
        extents,
        given: ground.given.clone(),
        best,
        names: points.names.clone(),
        residuals,
        remarks: Vec::new(),
    };
    judge::after(question, &ground, &measured, &mut remarks);
    remarks.sort_by_key(|remark| (std::cmp::Reverse(remark.what.weight()), remark.shot));
    measured.remarks = remarks;
    Ok(measured)
}

fn check(question: &Question) -> Result<(), MeasureError> {
    let many = |what, count, limit| Err(MeasureError::TooMany { what, count, limit });
    if SHOTS_MAX < question.shots.len() {
        return many("photographs", question.shots.len(), SHOTS_MAX);
    }
    let mut names: Vec<&str> = question.taps.iter().map(|tap| tap.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    if POINTS_MAX < names.len() {
        return many("points", names.len(), POINTS_MAX);
    }
    let sound = |tap: &Tap| {
        let doubt = match tap.doubt {
            TapDoubt::Round(u) => 1e-6 < u && u.is_finite(),
            TapDoubt::Edge { along, along_u, across_u } => {
                1e-9 < along.0.hypot(along.1)
                    && along.0.hypot(along.1).is_finite()
                    && [along_u, across_u].iter().all(|u| 1e-6 < *u && u.is_finite())
            }
        };
        doubt && tap.at.is_finite()
    };
    if !question.taps.iter().all(sound) {
        return Err(MeasureError::NotANumber { what: "the place or doubt of a tap" });
    }
    if let Some(scale) = question.scale {
        let near = |s: f64| (0.5..=2.0).contains(&s);
        let u = scale.u.to_one();
        if !(near(scale.along.to_one()) && near(scale.up.to_one()) && 0.0 < u && u < 0.5) {
            return Err(MeasureError::NotANumber { what: "the printer's scale" });
        }
    }
    Ok(())
}

/// Sheets and cameras alone: the better of both tilts, and how good the corners are.
fn settle(question: &Question, ground: &mut Ground) -> Result<Best, NoAnswer> {
    let mut best = first(question, ground)?;
    if question.held.corner_doubt.is_none() {
        best = weighed(ground, best)?;
    }
    either_way(ground, &best);
    Ok(best)
}

/// With tags that are off left out, bent sheets let be bent, and the corners given the doubt they
/// show.
fn weighed(ground: &mut Ground, best: Best) -> Result<Best, NoAnswer> {
    const TAGS_OFF_MAX: usize = 8;
    let mut best = best;
    for _ in 0..TAGS_OFF_MAX {
        weigh(ground, &best);
        best = solve(&ground.given, best.state.clone())?;
        let Some(tag) = worst_tag(ground, &best) else { break };
        let off = ground.tags.remove(tag);
        if let Some(tag) = crate::family::TagId::new(off.number) {
            let what = What::TagOff { tag, sheet: off.sheet };
            ground.remarks.push(Remark { shot: Some(off.shot), what });
        }
        ground.set_corners();
        best = solve(&ground.given, best.state.clone())?;
    }
    loosen(ground, &best);
    for _ in 0..2 {
        weigh(ground, &best);
        best = solve(&ground.given, best.state.clone())?;
    }
    Ok(best)
}

/// A sheet that is bent by more than card is, is not held to be flat any longer.
fn loosen(ground: &mut Ground, best: &Best) {
    const BENT_U_MM: f64 = 3.0;
    for (sheet, bend) in ground.given.sheets.iter_mut().zip(&best.state.bends) {
        if bend.iter().any(|bend| 2.0 * sheet.bend_u < bend.abs()) {
            sheet.bend_u = BENT_U_MM;
        }
    }
}

/// The lowest of all starts: lenses longer and shorter where nothing is known of them, each sheet
/// tilted this way and that.
fn first(question: &Question, ground: &mut Ground) -> Result<Best, NoAnswer> {
    let unknown: Vec<bool> = ground
        .given
        .photos
        .iter()
        .zip(&ground.shots)
        .map(|(_, shot)| question.shots[*shot].lens == LensKnown::Unknown)
        .collect();
    let factors: &[f64] =
        if unknown.contains(&true) { &[1.0, 0.75, 1.35, 1.8, 2.5] } else { &[1.0] };
    let known: Vec<_> = ground.given.lenses.clone();
    let mut lowest: Option<Best> = None;
    for factor in factors {
        for (photo, unknown) in unknown.iter().enumerate() {
            let lens = ground.given.photos[photo].lens;
            if *unknown {
                ground.given.lenses[lens].lens.focal = known[lens].lens.focal * factor;
            }
        }
        ground.fit_each();
        let start = ground.start(&[]);
        // What was known stays what is held against.
        ground.given.lenses.clone_from(&known);
        let Some(best) = start.and_then(|start| solve(&ground.given, start).ok()) else { continue };
        let best = tilted(ground, best);
        if lowest.as_ref().is_none_or(|lowest| best.cost < lowest.cost) {
            lowest = Some(best);
        }
    }
    lowest.ok_or(NoAnswer::Open)
}

/// Tries the other tilt of each sheet in each photograph, and keeps what fits better.
fn tilted(ground: &Ground, best: Best) -> Best {
    let mut best = best;
    let mut other: Vec<(usize, usize)> = Vec::new();
    let in_doubt: Vec<(usize, usize)> = ground
        .fits
        .iter()
        .filter(|(_, fits)| 1 < fits.len() && fits[1].rms < 4.0 * fits[0].rms)
        .map(|(at, _)| *at)
        .collect();
    for at in in_doubt {
        let mut tried = other.clone();
        tried.push(at);
        let start = ground.start(&tried);
        if let Some(better) = start.and_then(|start| solve(&ground.given, start).ok())
            && better.cost < best.cost
        {
            best = better;
            other = tried;
        }
    }
    best
}

/// Says which sheets would fit nearly as well tilted the other way.
fn either_way(ground: &mut Ground, best: &Best) {
    /// Sums of squares this close are not told apart: 1 in 400 of a normal distribution.
    const CLOSE: f64 = 9.0;
    let at: Vec<(usize, usize)> = ground.fits.keys().copied().collect();
    for (photo, sheet) in at {
        let Some(fits) = ground.fits.get(&(photo, sheet)) else { continue };
        if fits.len() < 2 || 3.0 * fits[0].rms < fits[1].rms {
            continue;
        }
        for fit in fits.clone() {
            let mut start = best.state.clone();
            if sheet == 0 {
                // The others go with the camera, as far as they were seen from it.
                let moved = fit.pose.inverse().after(&best.state.cameras[photo]);
                start.cameras[photo] = fit.pose;
                if ground.shots.len() == 1 {
                    start.sheets[1..].iter_mut().for_each(|pose| *pose = moved.after(pose));
                }
            } else {
                start.sheets[sheet] = best.state.cameras[photo].inverse().after(&fit.pose);
            }
            let Ok(other) = solve(&ground.given, start) else { continue };
            let apart = crate::pose::turn_of(
                &(other.state.sheets[sheet].rotation.transpose()
                    * best.state.sheets[sheet].rotation),
            )
            .norm()
                + crate::pose::turn_of(
                    &(other.state.cameras[photo].rotation
                        * best.state.cameras[photo].rotation.transpose()),
                )
                .norm();
            if 0.02 < apart && other.cost < best.cost + CLOSE {
                let what = What::EitherWay { sheet: ground.sheets[sheet] };
                ground.remarks.push(Remark { shot: Some(ground.shots[photo]), what });
                break;
            }
        }
    }
}

/// How far the corners of each photograph are off, from what is left of them and how much of them
/// the unknowns could take up.
///
/// # Source
/// Estimation of variance components by redundancy numbers, W. Förstner 1979, from memory.
fn weigh(ground: &mut Ground, best: &Best) {
    /// No picture is better than that, and none that is worse is believed.
    const RANGE_PX: (f64, f64) = (0.01, 3.0);
    let mut left = vec![0.0; ground.shots.len()];
    let mut free = vec![0.0; ground.shots.len()];
    for (n, corner) in ground.given.corners.iter().enumerate() {
        let Some(row) = best.state.corner(&ground.given, &best.places, n) else { continue };
        left[corner.photo] += row.left.norm_squared();
        free[corner.photo] += 2.0 - best.spread(&row).trace();
    }
    for (photo, u) in ground.given.corner_u.iter_mut().enumerate() {
        // With little to go by, the usual value keeps its part.
        const USUAL: f64 = 4.0;
        let factor = ((left[photo] + USUAL) / (free[photo] + USUAL)).sqrt();
        *u = (*u * factor).clamp(RANGE_PX.0, RANGE_PX.1);
    }
}

/// The tag that is furthest off, if that is further than chance has it.
fn worst_tag(ground: &Ground, best: &Best) -> Option<usize> {
    /// In standard deviations of a corner; 1 in a million of a normal distribution.
    const OFF_MAX: f64 = 5.5;
    /// What is off by less spoils nothing: there are more corners.
    const OFF_PX_MIN: f64 = 0.2;
    let mut worst = (OFF_MAX, None);
    for (n, corner) in ground.given.corners.iter().enumerate() {
        let row = best.state.corner(&ground.given, &best.places, n)?;
        let off = significance(&row.left, &best.spread(&row))?.sqrt();
        if row.left.norm() * ground.given.corner_u[corner.photo] < OFF_PX_MIN {
            continue;
        }
        let of_sheet = ground
            .tags
            .iter()
            .filter(|tag| tag.shot == ground.tags[corner.tag].shot)
            .filter(|tag| tag.sheet == ground.tags[corner.tag].sheet)
            .count();
        if worst.0 < off && 3 < of_sheet {
            worst = (off, Some(corner.tag));
        }
    }
    worst.1
}

/// The square of a residual in its own standard deviations: `rᵀ(1 - JCJᵀ)⁻¹r`; `None` where
/// the unknowns take it all up.
///
/// # Source
/// Studentised residual of leaving one out, W. Baarda 1968, from memory.
fn significance(left: &Vector2<f64>, spread: &Matrix2<f64>) -> Option<f64> {
    let eigen = (Matrix2::identity() - spread).symmetric_eigen();
    let along = eigen.eigenvectors.transpose() * left;
    let mut sum = 0.0;
    let mut any = false;
    for n in 0..2 {
        // Less than that is rounding.
        if 1e-4 < eigen.eigenvalues[n] {
            sum += along[n] * along[n] / eigen.eigenvalues[n];
            any = true;
        }
    }
    any.then_some(sum)
}

/// The points of a question, as far as they can be placed.
struct Points {
    names: Vec<String>,
    inputs: Vec<PointIn>,
    starts: Vec<Vector3<f64>>,
    /// Taps that take part: number in the question, and the adjustment's.
    taps: Vec<(usize, TapIn)>,
}

/// How far a point in a sheet's plane may be off it; chosen, no source: paper, card and paint.
const OFF_PLANE_MM: f64 = 0.1;

impl Points {
    fn new(question: &Question, ground: &Ground, state: &State, remarks: &mut Vec<Remark>) -> Self {
        let mut points =
            Self { names: Vec::new(), inputs: Vec::new(), starts: Vec::new(), taps: Vec::new() };
        let mut names: Vec<&str> = Vec::new();
        for tap in &question.taps {
            if !names.contains(&tap.name.as_str()) {
                names.push(&tap.name);
            }
        }
        for name in names {
            let taps: Vec<(usize, &Tap)> = question
                .taps
                .iter()
                .enumerate()
                .filter(|(_, tap)| tap.name == name)
                .filter(|(_, tap)| usable(question, ground, tap, remarks))
                .collect();
            if let Err(Some(what)) = points.place(&taps, ground, state) {
                remarks.push(Remark { shot: None, what });
            }
        }
        points
    }

    /// One point with its taps; what is wrong if it cannot be placed, nothing if it has no taps.
    fn place(
        &mut self,
        taps: &[(usize, &Tap)],
        ground: &Ground,
        state: &State,
    ) -> Result<(), Option<What>> {
        let name = || taps.first().map(|(_, tap)| tap.name.clone()).unwrap_or_default();
        let on = taps.iter().find_map(|(_, tap)| tap.sheet).and_then(|id| ground.sheet_index(id));
        let sights: Vec<(Vector3<f64>, Vector3<f64>)> = taps
            .iter()
            .filter_map(|(_, tap)| {
                let photo = ground.shot_index(tap.shot)?;
                let ray = state.lens_of(&ground.given, photo).ray(tap.at)?;
                let back = state.cameras[photo].inverse();
                Some((back.shift, back.rotation * ray))
            })
            .collect();
        let point = name();
        if taps.is_empty() {
            return Err(None);
        }
        let start = match on {
            Some(sheet) => sights.first().and_then(|(eye, ray)| {
                let to_sheet = state.sheets[sheet].inverse();
                let (eye, ray) = (to_sheet.of(eye), to_sheet.rotation * ray);
                let t = -eye.z / ray.z;
                (0.0 < t && t < 1e5).then(|| eye + ray * t)
            }),
            None if sights.len() < 2 => return Err(Some(What::Once { point })),
            None => closest(&sights).filter(|at| {
                sights.iter().all(|(eye, ray)| 0.0 < (at - eye).dot(ray)) && at.norm() < 1e5
            }),
        };
        let Some(start) = start else { return Err(Some(What::NoPlace { point })) };
        let index = self.names.len();
        for (number, tap) in taps {
            let Some(photo) = ground.shot_index(tap.shot) else { continue };
            let weight = weight(&tap.doubt);
            self.taps.push((*number, TapIn { photo, point: index, seen: tap.at, weight }));
        }
        self.names.push(point);
        self.inputs.push(PointIn { on, off_u: OFF_PLANE_MM });
        self.starts.push(start);
        Ok(())
    }
}

fn usable(question: &Question, ground: &Ground, tap: &Tap, remarks: &mut Vec<Remark>) -> bool {
    let Some(shot) = question.shots.get(tap.shot) else { return false };
    let point = || tap.name.clone();
    let inside = |value: f64, side: u32| -1.0 <= value && value <= f64::from(side);
    if !(inside(tap.at.x, shot.width) && inside(tap.at.y, shot.height)) {
        remarks.push(Remark { shot: Some(tap.shot), what: What::Outside { point: point() } });
        return false;
    }
    if let Some(sheet) = tap.sheet
        && ground.sheet_index(sheet).is_none()
    {
        remarks
            .push(Remark { shot: Some(tap.shot), what: What::NoSheet { point: point(), sheet } });
        return false;
    }
    ground.shot_index(tap.shot).is_some()
}

fn weight(doubt: &TapDoubt) -> Matrix2<f64> {
    match doubt {
        TapDoubt::Round(u) => Matrix2::identity() / *u,
        TapDoubt::Edge { along, along_u, across_u } => {
            let along = Vector2::new(along.0, along.1).normalize();
            let across = Vector2::new(-along.y, along.x);
            Matrix2::from_rows(&[(along / *along_u).transpose(), (across / *across_u).transpose()])
        }
    }
}

/// The taps that were left out, as numbers of the question.
type LeftOut = Vec<usize>;

fn with_points(
    ground: &mut Ground,
    points: &mut Points,
    start: State,
    remarks: &mut Vec<Remark>,
) -> Result<(Best, LeftOut), NoAnswer> {
    let mut left_out = Vec::new();
    let mut starts = points.starts.clone();
    let mut state = start;
    loop {
        ground.given.points.clone_from(&points.inputs);
        ground.given.taps = points
            .taps
            .iter()
            .filter(|(number, _)| !left_out.contains(number))
            .map(|(_, tap)| *tap)
            .collect();
        state.points.clone_from(&starts);
        let best = match solve(&ground.given, state.clone()) {
            Ok(best) => best,
            // One point that cannot be placed must not take the others with it.
            Err(_) if !points.names.is_empty() => {
                let Some(bad) = unplaced(ground, points, &state, &starts, &left_out) else {
                    return Err(NoAnswer::Unsettled);
                };
                let what = What::NoPlace { point: points.names[bad].clone() };
                remarks.push(Remark { shot: None, what });
                points.remove(bad);
                starts.remove(bad);
                continue;
            }
            Err(why) => return Err(why),
        };
        let offs = tap_offs(ground, points, &best, &left_out);
        let Some(bad) = bad_tap(&offs, points) else {
            return Ok((best, left_out));
        };
        let (number, tap) = points.taps[bad.at];
        let point = points.names[tap.point].clone();
        if bad.alone {
            let what = What::BadTap { point };
            remarks.push(Remark { shot: Some(ground.shots[tap.photo]), what });
            left_out.push(number);
        } else {
            // Which of them is wrong cannot be told: all of them are believed less.
            remarks.push(Remark { shot: None, what: What::TapsDiffer { point } });
            points.doubt(tap.point, bad.off.sqrt() / 1.5);
        }
        starts.clone_from(&best.state.points);
        state = best.state;
    }
}

impl Points {
    /// So many times more doubt of every tap on a point.
    fn doubt(&mut self, point: usize, times: f64) {
        for (_, tap) in self.taps.iter_mut().filter(|(_, tap)| tap.point == point) {
            tap.weight /= times;
        }
    }

    fn remove(&mut self, point: usize) {
        self.names.remove(point);
        self.inputs.remove(point);
        self.starts.remove(point);
        self.taps.retain(|(_, tap)| tap.point != point);
        for (_, tap) in &mut self.taps {
            if point < tap.point {
                tap.point -= 1;
            }
        }
    }
}

/// The first point that has no answer even by itself.
fn unplaced(
    ground: &Ground,
    points: &Points,
    state: &State,
    starts: &[Vector3<f64>],
    left_out: &[usize],
) -> Option<usize> {
    (0..points.names.len()).find(|point| {
        let mut given = ground.given.clone();
        given.points = vec![points.inputs[*point]];
        given.taps = points
            .taps
            .iter()
            .filter(|(number, tap)| tap.point == *point && !left_out.contains(number))
            .map(|(_, tap)| TapIn { point: 0, ..*tap })
            .collect();
        let alone = State { points: vec![starts[*point]], ..state.clone() };
        solve(&given, alone).is_err()
    })
}

/// How far each tap that takes part is off: its place in `points.taps`, and what the sum of squares
/// would lose without it.
fn tap_offs(
    ground: &Ground,
    points: &Points,
    best: &Best,
    left_out: &[usize],
) -> Vec<(usize, f64)> {
    let taken = (0..points.taps.len()).filter(|at| !left_out.contains(&points.taps[*at].0));
    taken
        .enumerate()
        .filter_map(|(n, at)| {
            let row = best.state.tap(&ground.given, &best.places, n)?;
            Some((at, significance(&row.left, &best.spread(&row))?))
        })
        .collect()
}

struct BadTap {
    /// Its place in `points.taps`.
    at: usize,
    /// What the sum of squares would lose without it.
    off: f64,
    /// Whether no other tap on its point could be the bad one instead.
    alone: bool,
}

/// The tap that is furthest off, if that is further than one sound set of taps in two hundred has
/// any.
///
/// # Source
/// `-2·ln p` is the limit that the square of two normal numbers passes with chance p.
fn bad_tap(offs: &[(usize, f64)], points: &Points) -> Option<BadTap> {
    const SOUND_SETS: f64 = 200.0;
    /// Sums of squares this close are not told apart: 1 in 400 of a normal distribution.
    const CLOSE: f64 = 9.0;
    let limit = 2.0 * (SOUND_SETS * offs.len().max(1) as f64).ln();
    let (at, off) = offs.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1))?;
    if off < limit {
        return None;
    }
    let point = points.taps[at].1.point;
    let mut others = offs.iter().filter(|(other, _)| *other != at);
    let alone =
        others.all(|(other, less)| points.taps[*other].1.point != point || *less + CLOSE < off);
    Some(BadTap { at, off, alone })
}

fn residuals(
    question: &Question,
    ground: &Ground,
    points: &Points,
    best: &Best,
    left_out: &[usize],
) -> Vec<Residual> {
    let (given, places) = (&ground.given, &best.places);
    let mut all = Vec::new();
    for (n, corner) in given.corners.iter().enumerate() {
        let Some(row) = best.state.corner(given, places, n) else { continue };
        let by = row.left * given.corner_u[corner.photo];
        all.push(Residual {
            shot: ground.shots[corner.photo],
            point: None,
            seen: corner.seen,
            fitted: Pixel { x: corner.seen.x + by.x, y: corner.seen.y + by.y },
            off: significance(&row.left, &best.spread(&row)).map(f64::sqrt),
            left_out: false,
        });
    }
    // Also of those that were left out: that is where they stand out.
    let mut whole = given.clone();
    whole.taps = points.taps.iter().map(|(_, tap)| *tap).collect();
    for (n, (number, tap)) in points.taps.iter().enumerate() {
        let Some(row) = best.state.tap(&whole, places, n) else { continue };
        let left_out = left_out.contains(number);
        let world = best.state.world(given, tap.point);
        let camera = best.state.cameras[tap.photo].of(&world);
        let fitted = best.state.lens_of(given, tap.photo).project(&camera);
        let off = if left_out {
            let whole = Matrix2::identity() + best.spread(&row);
            whole.try_inverse().map(|inverse| (row.left.transpose() * inverse * row.left)[(0, 0)])
        } else {
            significance(&row.left, &best.spread(&row))
        };
        all.push(Residual {
            shot: question.taps[*number].shot,
            point: Some(points.names[tap.point].clone()),
            seen: tap.seen,
            fitted: fitted.unwrap_or(tap.seen),
            off: off.map(f64::sqrt),
            left_out,
        });
    }
    all
}

impl Measured {
    pub(crate) fn state(&self) -> &State {
        &self.best.state
    }

    pub(crate) fn places(&self) -> &Places {
        &self.best.places
    }

    /// Covariance of up to three numbers that follow from the answer, by central differences over
    /// a hundredth of each unknown's own doubt.
    pub(crate) fn covariance_of(
        &self,
        figure: impl Fn(&State) -> Option<Vector3<f64>>,
    ) -> Option<(Vector3<f64>, Matrix3<f64>)> {
        let best = &self.best;
        let value = figure(&best.state)?;
        let count = best.places.count;
        let mut slopes = nalgebra::DMatrix::zeros(3, count);
        for n in 0..count {
            let width = 0.01 * best.covariance[(n, n)].sqrt();
            if width.is_nan() || width <= 0.0 {
                continue;
            }
            let mut step = nalgebra::DVector::zeros(count);
            step[n] = width;
            let above = figure(&best.state.stepped(&best.places, &step))?;
            step[n] = -width;
            let below = figure(&best.state.stepped(&best.places, &step))?;
            slopes.set_column(n, &((above - below) / (2.0 * width)));
        }
        let covariance = &slopes * &best.covariance * slopes.transpose();
        Some((value, Matrix3::from_fn(|i, j| covariance[(i, j)])))
    }
}

//! Where the adjustment starts: lenses from what is known of them, sheets and cameras one by one.

use std::collections::BTreeMap;

use nalgebra::{Vector2, Vector3};

use crate::adjust::model::{CornerIn, Given, LensPrior, PhotoIn, SheetIn, State};
use crate::grey::Pixel;
use crate::lens::Lens;
use crate::pose::{Fit, Pose, Sighting, planar};
use crate::remark::{Remark, What};
use crate::sheet::{Kind, Sheet, SheetId};
use crate::shot::{LensKnown, Question, Shot};

/// Diagonal of 36 × 24 mm, to which equivalent focal lengths refer (CIPA DCG-001, as restated).
const FILM_DIAGONAL_MM: f64 = 43.266_615;
/// Of the focal length a file names: its rounding to whole millimetres is 2 %, and whether the
/// width or the diagonal is compared makes 4 % (own reckoning).
const EQUIVALENT_U: f64 = 0.04;
/// Where nothing is known: most telephones' main lens. Common practice, no source.
const UNKNOWN_MM: f64 = 26.0;
const UNKNOWN_U: f64 = 0.25;
/// Chosen, no source: the lens's axis is within 0.5 % of the diagonal, distortion is small since
/// telephones take it out themselves, and focusing from 1 to 1.5 m moves the lens by 0.2 %.
const CENTRE_U: f64 = 0.005;
const DISTORTION_U: f64 = 0.1;
const FOCUS_U: f64 = 0.002;
/// Card glued flat; chosen, no source.
const BEND_U_MM: f64 = 0.2;
/// The printer's scale where nobody checked it, and the difference between both ways; chosen.
const SCALE_U: f64 = 0.02;
const SCALE_WAYS_U: f64 = 0.002;
/// Before the corners themselves tell, px.
const CORNER_U: f64 = 0.05;
/// Fewer tags of a sheet are not used.
const TAGS_MIN: usize = 2;

/// A tag's corners in one photograph.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TagSeen {
    pub shot: usize,
    pub sheet: SheetId,
    pub number: u16,
    /// On the sheet as printed, mm.
    pub at: [Vector2<f64>; 4],
    pub seen: [Pixel; 4],
    pub blur: Option<f64>,
}

/// All that was found, ready to be adjusted.
pub(crate) struct Ground {
    /// The sheets in the order of the adjustment: the first one's axes are those of the answer.
    pub sheets: Vec<SheetId>,
    /// Shots that take part, as numbers of the question.
    pub shots: Vec<usize>,
    pub tags: Vec<TagSeen>,
    pub given: Given,
    /// Per shot and sheet, the poses that come into question.
    pub fits: BTreeMap<(usize, usize), Vec<Fit>>,
    pub remarks: Vec<Remark>,
}

/// Sorts what was found; `None` where no photograph shows enough of a sheet.
pub(crate) fn ground(question: &Question, remarks: &mut Vec<Remark>) -> Option<Ground> {
    let tags = usable(question, remarks);
    let (sheets, shots) = connected(question, &tags, remarks)?;
    let tags: Vec<TagSeen> = tags
        .into_iter()
        .filter(|tag| shots.contains(&tag.shot) && sheets.contains(&tag.sheet))
        .collect();
    let (lenses, photos) = lenses(question, &shots, &tags);
    let given = Given {
        lenses,
        photos,
        sheets: sheets.iter().map(|id| sheet_in(*id, &tags, question.held.flat)).collect(),
        scale: question.scale.map_or([1.0, 1.0], |s| [s.along.to_one(), s.up.to_one()]),
        scale_u: match question.scale {
            _ if question.held.flat => [0.0, 0.0],
            // Mean and half difference of two independent readings.
            Some(scale) => [scale.u.to_one() / 2.0_f64.sqrt(); 2],
            None => [SCALE_U, SCALE_WAYS_U / 2.0],
        },
        points: Vec::new(),
        corners: Vec::new(),
        taps: Vec::new(),
        corner_u: vec![question.held.corner_doubt.unwrap_or(CORNER_U); shots.len()],
    };
    let mut ground =
        Ground { sheets, shots, tags, given, fits: BTreeMap::new(), remarks: Vec::new() };
    ground.set_corners();
    ground.fit_each();
    Some(ground)
}

/// Tags grouped by sheet, twins and scraps left out.
fn usable(question: &Question, remarks: &mut Vec<Remark>) -> Vec<TagSeen> {
    let mut tags = Vec::new();
    for (shot, photo) in question.shots.iter().enumerate() {
        let mut of_sheet: BTreeMap<SheetId, Vec<TagSeen>> = BTreeMap::new();
        for seen in &photo.seen {
            let Some(id) = SheetId::of_tag(seen.tag) else { continue };
            let twins = photo.seen.iter().filter(|other| other.tag == seen.tag).count();
            if 1 < twins {
                let what = What::Twice { tag: seen.tag, sheet: id };
                let remark = Remark { shot: Some(shot), what };
                if !remarks.contains(&remark) {
                    remarks.push(remark);
                }
                continue;
            }
            let Some(tag) = Sheet::new(id).tag(seen.tag).copied() else { continue };
            let half = tag.size.to_mm() / 2.0;
            let (x, y) = (tag.centre.x.to_mm(), tag.centre.y.to_mm());
            let at = [(-half, -half), (half, -half), (half, half), (-half, half)]
                .map(|(dx, dy)| Vector2::new(x + dx, y + dy));
            let number = seen.tag.number();
            let found =
                TagSeen { shot, sheet: id, number, at, seen: seen.corners, blur: seen.blur };
            of_sheet.entry(id).or_default().push(found);
        }
        for (sheet, found) in of_sheet {
            if found.len() < TAGS_MIN {
                let what = What::TooFew { sheet, tags: found.len() };
                remarks.push(Remark { shot: Some(shot), what });
            } else {
                tags.extend(found);
            }
        }
    }
    tags
}

/// The sheets and shots that hang together, the sheet whose axes are used first: the body's, else
/// the one that most photographs show.
fn connected(
    question: &Question,
    tags: &[TagSeen],
    remarks: &mut Vec<Remark>,
) -> Option<(Vec<SheetId>, Vec<usize>)> {
    let shows =
        |shot: usize, sheet: SheetId| tags.iter().any(|tag| tag.shot == shot && tag.sheet == sheet);
    let all: Vec<usize> = (0..question.shots.len()).collect();
    let mut ids: Vec<SheetId> = tags.iter().map(|tag| tag.sheet).collect();
    ids.sort();
    ids.dedup();
    let order = |id: &SheetId| {
        let times = all.iter().filter(|shot| shows(**shot, *id)).count();
        let first = match id.kind() {
            Kind::Body => 0,
            Kind::Plate => 1,
            Kind::Floor => 2,
            Kind::Strip => 3,
        };
        (first, usize::MAX - times, *id)
    };
    ids.sort_by_key(order);
    let mut sheets = vec![*ids.first()?];
    let mut shots: Vec<usize> = Vec::new();
    loop {
        let more: Vec<usize> = all
            .iter()
            .copied()
            .filter(|shot| !shots.contains(shot) && sheets.iter().any(|id| shows(*shot, *id)))
            .collect();
        shots.extend(&more);
        let further: Vec<SheetId> = ids
            .iter()
            .copied()
            .filter(|id| !sheets.contains(id) && shots.iter().any(|shot| shows(*shot, *id)))
            .collect();
        sheets.extend(&further);
        if more.is_empty() && further.is_empty() {
            break;
        }
    }
    shots.sort_unstable();
    for shot in all {
        if !shots.contains(&shot) && tags.iter().any(|tag| tag.shot == shot) {
            remarks.push(Remark { shot: Some(shot), what: What::Apart });
        }
    }
    Some((sheets, shots))
}

/// One lens for all photographs that may have been taken with the same one.
fn lenses(
    question: &Question,
    shots: &[usize],
    tags: &[TagSeen],
) -> (Vec<LensPrior>, Vec<PhotoIn>) {
    let key = |shot: &Shot| (shot.width, shot.height);
    let mut lenses: Vec<(usize, LensPrior)> = Vec::new();
    let mut photos = Vec::new();
    for number in shots {
        let shot = &question.shots[*number];
        let same = lenses.iter().position(|(first, _)| {
            let first = &question.shots[*first];
            key(first) == key(shot) && first.lens == shot.lens
        });
        let lens = same.unwrap_or_else(|| {
            let of_it: Vec<&TagSeen> = tags
                .iter()
                .filter(|tag| {
                    let other = &question.shots[tag.shot];
                    key(other) == key(shot) && other.lens == shot.lens
                })
                .collect();
            lenses.push((*number, prior(shot, &of_it)));
            lenses.len() - 1
        });
        let held = matches!(shot.lens, LensKnown::Held(_));
        photos.push(PhotoIn { lens, focus_u: if held { 0.0 } else { FOCUS_U } });
    }
    (lenses.into_iter().map(|(_, prior)| prior).collect(), photos)
}

/// The focal length in pixels that an equivalent one stands for.
pub(crate) fn focal_px(shot: &Shot, equivalent_mm: f64) -> f64 {
    equivalent_mm / FILM_DIAGONAL_MM * f64::from(shot.width).hypot(f64::from(shot.height))
}

/// The equivalent focal length of one in pixels, mm.
pub(crate) fn equivalent_mm(shot: &Shot, focal_px: f64) -> f64 {
    focal_px * FILM_DIAGONAL_MM / f64::from(shot.width).hypot(f64::from(shot.height))
}

fn prior(shot: &Shot, _tags: &[&TagSeen]) -> LensPrior {
    let (width, height) = (f64::from(shot.width), f64::from(shot.height));
    let diagonal = width.hypot(height);
    let (focal, u) = match shot.lens {
        LensKnown::Held(lens) => return LensPrior { lens, u: [0.0; 5] },
        LensKnown::Equivalent(mm) => (focal_px(shot, mm.to_mm()), EQUIVALENT_U),
        LensKnown::Unknown => (focal_px(shot, UNKNOWN_MM), UNKNOWN_U),
    };
    let centre = Pixel { x: (width - 1.0) / 2.0, y: (height - 1.0) / 2.0 };
    LensPrior {
        lens: Lens { focal, centre, k1: 0.0, k2: 0.0 },
        u: [focal * u, diagonal * CENTRE_U, diagonal * CENTRE_U, DISTORTION_U, DISTORTION_U],
    }
}

/// The middle and half size of what of a sheet was seen.
fn sheet_in(id: SheetId, tags: &[TagSeen], flat: bool) -> SheetIn {
    let (low, high) = extent(id, tags);
    let half = ((high - low) / 2.0).map(|v| v.max(5.0));
    SheetIn { middle: (low + high) / 2.0, half, bend_u: if flat { 0.0 } else { BEND_U_MM } }
}

/// The outermost corners of a sheet's tags that were seen, mm.
pub(crate) fn extent(id: SheetId, tags: &[TagSeen]) -> (Vector2<f64>, Vector2<f64>) {
    let corners = tags.iter().filter(|tag| tag.sheet == id).flat_map(|tag| tag.at);
    corners.fold(
        (Vector2::repeat(f64::INFINITY), Vector2::repeat(f64::NEG_INFINITY)),
        |(low, high), at| (low.inf(&at), high.sup(&at)),
    )
}

impl Ground {
    pub(crate) fn sheet_index(&self, id: SheetId) -> Option<usize> {
        self.sheets.iter().position(|sheet| *sheet == id)
    }

    pub(crate) fn shot_index(&self, shot: usize) -> Option<usize> {
        self.shots.iter().position(|number| *number == shot)
    }

    /// The corners of all tags, as the adjustment wants them.
    pub(crate) fn set_corners(&mut self) {
        let mut corners = Vec::with_capacity(self.tags.len() * 4);
        for (number, tag) in self.tags.iter().enumerate() {
            let (Some(photo), Some(sheet)) =
                (self.shot_index(tag.shot), self.sheet_index(tag.sheet))
            else {
                continue;
            };
            for (at, seen) in tag.at.iter().zip(tag.seen) {
                corners.push(CornerIn { photo, sheet, at: *at, seen, tag: number });
            }
        }
        self.given.corners = corners;
    }

    /// The pose of every sheet in every photograph, by itself, with the lenses as they are.
    pub(crate) fn fit_each(&mut self) {
        self.fits.clear();
        for photo in 0..self.shots.len() {
            for sheet in 0..self.sheets.len() {
                let lens = self.given.lenses[self.given.photos[photo].lens].lens;
                let fits = planar(&self.sightings(photo, sheet, &lens));
                if !fits.is_empty() {
                    self.fits.insert((photo, sheet), fits);
                }
            }
        }
    }

    fn sightings(&self, photo: usize, sheet: usize, lens: &Lens) -> Vec<Sighting> {
        let [along, up] = self.given.scale;
        self.given
            .corners
            .iter()
            .filter(|corner| corner.photo == photo && corner.sheet == sheet)
            .filter_map(|corner| {
                let ray = lens.ray(corner.seen)?;
                let at = Vector2::new(corner.at.x * along, corner.at.y * up);
                Some((at, Vector2::new(ray.x, ray.y)))
            })
            .collect()
    }

    /// A start from one pose per photograph and sheet: `other` names those for which the second one
    /// is taken. `None` where something stays without a pose.
    pub(crate) fn start(&self, other: &[(usize, usize)]) -> Option<State> {
        let pose = |photo: usize, sheet: usize| {
            let fits = self.fits.get(&(photo, sheet))?;
            let second = usize::from(other.contains(&(photo, sheet)) && 1 < fits.len());
            fits.get(second).map(|fit| fit.pose)
        };
        let mut cameras: Vec<Option<Pose>> = vec![None; self.shots.len()];
        let mut sheets: Vec<Option<Pose>> = vec![None; self.sheets.len()];
        *sheets.first_mut()? = Some(Pose::identity());
        for _ in 0..self.shots.len() + self.sheets.len() {
            for (photo, camera) in cameras.iter_mut().enumerate() {
                for (sheet, there) in sheets.iter_mut().enumerate() {
                    let Some(seen) = pose(photo, sheet) else { continue };
                    match (*camera, *there) {
                        (None, Some(there)) => *camera = Some(seen.after(&there.inverse())),
                        (Some(camera), None) => *there = Some(camera.inverse().after(&seen)),
                        _ => {}
                    }
                }
            }
        }
        let [along, up] = self.given.scale;
        Some(State {
            lenses: self.given.lenses.iter().map(|prior| prior.lens).collect(),
            focus: vec![0.0; self.shots.len()],
            cameras: cameras.into_iter().collect::<Option<_>>()?,
            sheets: sheets.into_iter().collect::<Option<_>>()?,
            bends: vec![[0.0; 2]; self.sheets.len()],
            scale: [(along + up) / 2.0, (along - up) / 2.0],
            points: Vec::new(),
        })
    }
}

/// Where lines of sight come closest to each other: least sum of squared distances. `None` where
/// they run side by side.
pub(crate) fn closest(rays: &[(Vector3<f64>, Vector3<f64>)]) -> Option<Vector3<f64>> {
    let mut a = nalgebra::Matrix3::zeros();
    let mut b = Vector3::zeros();
    for (eye, direction) in rays {
        let d = direction.normalize();
        let across = nalgebra::Matrix3::identity() - d * d.transpose();
        a += across;
        b += across * eye;
    }
    let least = a.symmetric_eigenvalues().min();
    // The angle between them is about the root of that: a third of a degree.
    if least < 3e-5 {
        return None;
    }
    a.cholesky().map(|factor| factor.solve(&b))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From (±1, 0, 0), two skew lines of sight to (0, ±0.1, 5). By symmetry the place is
    /// (0, 0, z); its squared distance from each line, 1 + z² - (1 + 5z)²/26.01, is least at
    /// z = 5/1.01.
    #[test]
    fn skew_lines_meet_half_way() {
        let eye = |x: f64| Vector3::new(x, 0.0, 0.0);
        let to = |x: f64, y: f64| Vector3::new(-x, y, 5.0);
        let found = closest(&[(eye(1.0), to(1.0, 0.1)), (eye(-1.0), to(-1.0, -0.1))]).unwrap();
        assert!((found - Vector3::new(0.0, 0.0, 5.0 / 1.01)).norm() < 1e-9, "{found}");
    }

    /// Lines of sight that run side by side meet nowhere: GTSAM, `testTriangulation.cpp`, identical
    /// poses; COLMAP, `ParallelRays`.
    #[test]
    fn parallel_lines_meet_nowhere() {
        let along = Vector3::new(0.1, 0.2, 1.0);
        assert!(closest(&[(Vector3::zeros(), along), (Vector3::x(), along * 3.0)]).is_none());
        assert!(closest(&[(Vector3::zeros(), along)]).is_none());
        assert!(closest(&[]).is_none());
    }
}

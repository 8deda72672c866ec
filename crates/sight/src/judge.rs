//! Gross causes: what in photographs, sheets and taps spoils an answer whatever its figures say.
//!
//! All limits are chosen, no source, unless it is said where they come from: they are where the
//! renderer's pictures begin to give answers that are off by more than their doubt.

use axlewright_quantity::{Angle, Length};
use nalgebra::Vector3;

use crate::measure::Measured;
use crate::remark::{Remark, What};
use crate::sheet::{Sheet, SheetId};
use crate::shot::{LensKnown, Question, Shot};
use crate::start::{Ground, TagSeen, equivalent_mm};

/// Long side over short side of pictures as cameras make them.
const SHAPES: [f64; 5] = [1.0, 5.0 / 4.0, 4.0 / 3.0, 3.0 / 2.0, 16.0 / 9.0];
const SHAPE_WITHIN: f64 = 0.01;
const TAG_PIXELS_MIN: f64 = 24.0;
const BLUR_PX_MAX: f64 = 2.0;
/// Of a cell: beyond it, neighbouring edges run into each other.
const BLUR_CELLS_MAX: f64 = 0.3;
const SQUARE: Angle = Angle::deg(10.0);
const NO_PERSPECTIVE: Angle = Angle::deg(2.0);
const SAME_PLACE: Angle = Angle::deg(8.0);
const BEND_MM_MAX: f64 = 0.6;
const CORNER_PX_MAX: f64 = 0.35;
/// In standard deviations of what was known beforehand.
const LENS_OFF_MAX: f64 = 3.0;

/// What can be said before anything is computed.
pub(crate) fn before(question: &Question) -> Vec<Remark> {
    let mut remarks = Vec::new();
    for (number, shot) in question.shots.iter().enumerate() {
        let mut say = |what| remarks.push(Remark { shot: Some(number), what });
        if shot.mirrored {
            say(What::Mirrored);
        } else if shot.seen.is_empty() {
            say(What::NoTags);
        }
        if shot.lens == LensKnown::Unknown {
            say(What::LensUnknown);
            if !usual_shape(shot) {
                say(What::Cut);
            }
        }
    }
    let tags = question.shots.iter().any(|shot| !shot.seen.is_empty());
    if question.scale.is_none() && tags && !question.held.flat {
        remarks.push(Remark { shot: None, what: What::ScaleUnchecked });
    }
    remarks
}

fn usual_shape(shot: &Shot) -> bool {
    let (width, height) = (f64::from(shot.width), f64::from(shot.height));
    let shape = width.max(height) / width.min(height).max(1.0);
    SHAPES.iter().any(|usual| (shape / usual - 1.0).abs() < SHAPE_WITHIN)
}

/// What the answer shows.
pub(crate) fn after(
    question: &Question,
    ground: &Ground,
    measured: &Measured,
    remarks: &mut Vec<Remark>,
) {
    for (photo, shot) in ground.shots.iter().enumerate() {
        let mut say = |what| remarks.push(Remark { shot: Some(*shot), what });
        let tags: Vec<&TagSeen> = ground.tags.iter().filter(|tag| tag.shot == *shot).collect();
        if blurred(&tags) {
            say(What::Blurred);
        } else if CORNER_PX_MAX < measured.given.corner_u[photo] {
            say(What::PoorFit);
        }
        small(&tags).for_each(&mut say);
        cropped(question, ground, measured, photo).into_iter().for_each(&mut say);
        square(ground, measured, photo).into_iter().for_each(&mut say);
        if lens_off(question, measured, *shot, photo) {
            say(What::LensDoubtful);
        }
    }
    for (n, bend) in measured.state().bends.iter().enumerate() {
        let worst = if bend[0].abs() < bend[1].abs() { bend[1] } else { bend[0] };
        if BEND_MM_MAX < worst.abs() {
            let what = What::NotFlat { sheet: ground.sheets[n], by: Length::mm(worst) };
            remarks.push(Remark { shot: None, what });
        }
    }
    same_place(ground, measured, remarks);
}

fn side(tag: &TagSeen) -> f64 {
    (0..4).map(|n| tag.seen[n].to(tag.seen[(n + 1) % 4])).sum::<f64>() / 4.0
}

fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

fn blurred(tags: &[&TagSeen]) -> bool {
    let blur = median(tags.iter().filter_map(|tag| tag.blur).collect());
    let cells = median(tags.iter().filter_map(|tag| Some(tag.blur? / (side(tag) / 8.0))).collect());
    blur.is_some_and(|blur| BLUR_PX_MAX < blur) || cells.is_some_and(|c| BLUR_CELLS_MAX < c)
}

fn small(tags: &[&TagSeen]) -> impl Iterator<Item = What> {
    let mut sheets: Vec<SheetId> = tags.iter().map(|tag| tag.sheet).collect();
    sheets.sort();
    sheets.dedup();
    let sized: Vec<(SheetId, f64)> = sheets
        .into_iter()
        .filter_map(|sheet| {
            let sides = tags.iter().filter(|tag| tag.sheet == sheet).map(|tag| side(tag));
            Some((sheet, median(sides.collect())?))
        })
        .collect();
    sized
        .into_iter()
        .filter(|(_, px)| *px < TAG_PIXELS_MIN)
        .map(|(sheet, px)| What::TooSmall { sheet, pixels: px.round() as u32 })
}

/// Tags that should be in the picture and reach over its edge.
fn cropped(question: &Question, ground: &Ground, measured: &Measured, photo: usize) -> Vec<What> {
    let shot = ground.shots[photo];
    let size = &question.shots[shot];
    let inside = |x: f64, y: f64| {
        0.0 <= x && x < f64::from(size.width) && 0.0 <= y && y < f64::from(size.height)
    };
    let mut found = Vec::new();
    for (place, id) in ground.sheets.iter().enumerate() {
        let seen: Vec<u16> = ground
            .tags
            .iter()
            .filter(|tag| tag.shot == shot && tag.sheet == *id)
            .map(|tag| tag.number)
            .collect();
        if seen.is_empty() {
            continue;
        }
        let state = measured.state();
        let sheet = Sheet::new(*id);
        let cut = sheet.tags.iter().filter(|tag| {
            let half = tag.size.to_mm() / 2.0;
            let over = [(-half, -half), (half, -half), (half, half), (-half, half)]
                .iter()
                .filter(|(dx, dy)| {
                    let (x, y) = (tag.centre.x.to_mm() + dx, tag.centre.y.to_mm() + dy);
                    let world = state.sheets[place].of(&Vector3::new(x, y, 0.0));
                    let camera = state.cameras[photo].of(&world);
                    let lens = state.lens_of(&measured.given, photo);
                    lens.project(&camera).is_none_or(|p| !inside(p.x, p.y))
                })
                .count();
            0 < over && !seen.contains(&tag.id.number())
        });
        let tags = cut.count();
        if 0 < tags {
            found.push(What::Cropped { sheet: *id, tags });
        }
    }
    found
}

/// Sheets that are looked at from straight in front, and pictures in which nothing is tilted.
fn square(ground: &Ground, measured: &Measured, photo: usize) -> Vec<What> {
    let state = measured.state();
    let shot = ground.shots[photo];
    let mut found = Vec::new();
    let mut all_flat = true;
    for (place, id) in ground.sheets.iter().enumerate() {
        let of_it: Vec<&TagSeen> = ground.tags.iter().filter(|tag| tag.sheet == *id).collect();
        if !of_it.iter().any(|tag| tag.shot == shot) {
            continue;
        }
        let pose = state.cameras[photo].after(&state.sheets[place]);
        let normal = pose.rotation.column(2).into_owned();
        let to_camera = -pose.of(&Vector3::new(0.0, 75.0, 0.0)).normalize();
        let tilt = Angle::rad(normal.dot(&to_camera).clamp(-1.0, 1.0).acos());
        let to_axis = Angle::rad((-normal.z).clamp(-1.0, 1.0).acos());
        all_flat &= to_axis < NO_PERSPECTIVE;
        let alone = of_it.iter().all(|tag| tag.shot == shot);
        if alone && tilt < SQUARE {
            found.push(What::TooSquare { sheet: *id, tilt });
        }
    }
    if all_flat {
        found.insert(0, What::NoPerspective);
    }
    found
}

fn lens_off(question: &Question, measured: &Measured, shot: usize, photo: usize) -> bool {
    let prior = measured.given.lenses[measured.given.photos[photo].lens];
    let found = measured.state().lenses[measured.given.photos[photo].lens];
    let [f, cx, cy, ..] = prior.u;
    let taken = &question.shots[shot];
    if f <= 0.0 {
        return false;
    }
    let off = (found.focal - prior.lens.focal).abs() / f;
    let aside = ((found.centre.x - prior.lens.centre.x) / cx)
        .hypot((found.centre.y - prior.lens.centre.y) / cy);
    // A lens of less than 10 mm equivalent sees behind itself.
    LENS_OFF_MAX < off || LENS_OFF_MAX < aside || equivalent_mm(taken, found.focal) < 10.0
}

/// Photographs taken from nearly the same place, where no two are further apart.
fn same_place(ground: &Ground, measured: &Measured, remarks: &mut Vec<Remark>) {
    let state = measured.state();
    let middle = Vector3::new(0.0, 75.0, 0.0);
    let from = |photo: usize| (state.cameras[photo].inverse().shift - middle).normalize();
    let count = ground.shots.len();
    let mut close = Vec::new();
    for a in 0..count {
        for b in a + 1..count {
            let apart = Angle::rad(from(a).dot(&from(b)).clamp(-1.0, 1.0).acos());
            if SAME_PLACE <= apart {
                return;
            }
            close.push((a, b, apart));
        }
    }
    for (a, b, apart) in close {
        let what = What::SamePlace { other: ground.shots[a], apart };
        remarks.push(Remark { shot: Some(ground.shots[b]), what });
    }
}

//! Against other programs: OpenCV where nothing is in doubt, SciPy where everything is. The tables
//! come from `reference/photo_oracle.py`.

use std::collections::BTreeMap;

use axlewright_quantity::{Length, Ratio};
use axlewright_sight::family::TagId;
use axlewright_sight::find::Seen;
use axlewright_sight::grey::Pixel;
use axlewright_sight::lens::Lens;
use axlewright_sight::measure::{Measured, measure};
use axlewright_sight::sheet::{Sheet, SheetId};
use axlewright_sight::shot::{Held, LensKnown, Question, Scale, Shot, Tap, TapDoubt};

const LENSES: &str = include_str!("../../../../reference/photo_lenses.csv");
const CORNERS: &str = include_str!("../../../../reference/photo_corners.csv");
const TAPS: &str = include_str!("../../../../reference/photo_taps.csv");
const POSES: &str = include_str!("../../../../reference/photo_poses.csv");
const POINTS: &str = include_str!("../../../../reference/photo_points.csv");
const FITS: &str = include_str!("../../../../reference/photo_fits.csv");

fn rows(table: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    table
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
        .map(|line| line.split(',').collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap()
}

fn cases(kind: &str) -> Vec<String> {
    rows(LENSES).filter(|row| row[0] == kind).map(|row| row[1].to_owned()).collect()
}

/// The photographs of a case; the lens as it is, or as a file would name it.
fn question(kind: &str, case: &str) -> Question {
    let of_it = |row: &Vec<&str>| row[0] == kind && row[1] == case;
    let known = rows(LENSES).find(of_it).unwrap();
    let lens = match kind {
        "exact" => LensKnown::Held(Lens {
            focal: number(known[2]),
            centre: Pixel { x: number(known[3]), y: number(known[4]) },
            k1: number(known[5]),
            k2: number(known[6]),
        }),
        _ => LensKnown::Equivalent(Length::mm(number(known[7]))),
    };
    let mut tags: BTreeMap<(usize, u16), [Pixel; 4]> = BTreeMap::new();
    for row in rows(CORNERS).filter(of_it) {
        let (shot, tag): (usize, u16) = (row[2].parse().unwrap(), row[4].parse().unwrap());
        let corner: usize = row[5].parse().unwrap();
        let sheet = Sheet::new(SheetId::from_code(row[3]).unwrap());
        let printed = sheet.tag(TagId::new(tag).unwrap()).unwrap();
        // The table's own statement of the sheet, read from its drawing, and ours.
        let x = printed.centre.x.to_mm() + printed.size.to_mm() * [-0.5, 0.5, 0.5, -0.5][corner];
        let y = printed.centre.y.to_mm() + printed.size.to_mm() * [-0.5, -0.5, 0.5, 0.5][corner];
        assert!((x - number(row[6])).abs() < 1e-9 && (y - number(row[7])).abs() < 1e-9);
        tags.entry((shot, tag)).or_default()[corner] =
            Pixel { x: number(row[8]), y: number(row[9]) };
    }
    let count = 1 + tags.keys().map(|(shot, _)| *shot).max().unwrap();
    let shots = (0..count).map(|shot| {
        let of_shot = tags.iter().filter(|((of, _), _)| *of == shot);
        let seen = of_shot.map(|((_, tag), corners)| Seen {
            tag: TagId::new(*tag).unwrap(),
            corners: *corners,
            blur: None,
        });
        Shot { width: 4000, height: 3000, lens, seen: seen.collect(), mirrored: false }
    });
    let shots = shots.collect();
    let taps = rows(TAPS).filter(of_it).map(|row| Tap {
        shot: row[2].parse().unwrap(),
        name: row[3].to_owned(),
        at: Pixel { x: number(row[5]), y: number(row[6]) },
        doubt: TapDoubt::TAP,
        sheet: SheetId::from_code(row[4]),
    });
    let held = Held { flat: kind == "exact", corner_doubt: Some(0.05) };
    let scale = Some(Scale::read(Ratio::one(1.0), Ratio::one(1.0)));
    Question { shots, taps: taps.collect(), scale, held }
}

/// The rotation matrix of a rotation vector, by Rodrigues' formula.
fn rotation(v: [f64; 3]) -> [[f64; 3]; 3] {
    let angle = v.iter().map(|c| c * c).sum::<f64>().sqrt();
    if angle < 1e-300 {
        return [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    }
    let [x, y, z] = v.map(|c| c / angle);
    let (c, s) = (angle.cos(), angle.sin());
    let k = 1.0 - c;
    [
        [c + x * x * k, x * y * k - z * s, x * z * k + y * s],
        [y * x * k + z * s, c + y * y * k, y * z * k - x * s],
        [z * x * k - y * s, z * y * k + x * s, c + z * z * k],
    ]
}

fn times(a: [[f64; 3]; 3], b: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| (0..3).map(|k| a[i][k] * b[k][j]).sum()))
}

fn turned_back(a: [[f64; 3]; 3]) -> [[f64; 3]; 3] {
    [0, 1, 2].map(|i| [0, 1, 2].map(|j| a[j][i]))
}

fn of(a: [[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    [0, 1, 2].map(|i| (0..3).map(|k| a[i][k] * v[k]).sum())
}

/// From a sheet's axes to the camera's, as our answer has it.
fn sheet_to_camera(found: &Measured, shot: usize, sheet: SheetId) -> ([[f64; 3]; 3], [f64; 3]) {
    let parts = |stand: axlewright_sight::figures::Stand| {
        let turn = rotation(stand.turn.map(|turn| turn.value.to_rad()));
        (turn, [stand.at.x, stand.at.y, stand.at.z].map(|at| at.value.to_mm()))
    };
    let (camera, eye) = parts(found.camera(shot).unwrap());
    let (placed, at) = parts(found.sheet(sheet).unwrap());
    let back = turned_back(camera);
    (times(back, placed), of(back, [0, 1, 2].map(|n| at[n] - eye[n])))
}

#[test]
fn noise_free_poses_are_those_of_opencv() {
    let mut compared = 0;
    for case in cases("exact") {
        let found = measure(&question("exact", &case)).unwrap();
        for row in rows(POSES).filter(|row| row[0] == case) {
            let shot = row[1].parse().unwrap();
            let (turn, shift) = sheet_to_camera(&found, shot, SheetId::from_code(row[2]).unwrap());
            let theirs = rotation([3, 4, 5].map(|n| number(row[n])));
            let differ = times(turn, turned_back(theirs));
            // The sine of the angle between the two: half the antisymmetric part's size.
            let sine = [(2, 1), (0, 2), (1, 0)]
                .map(|(i, j)| (differ[i][j] - differ[j][i]) / 2.0)
                .iter()
                .fold(0.0, |sum: f64, part| sum.hypot(*part));
            assert!(sine < 1e-6, "case {case}, shot {shot}: {sine} rad");
            for n in 0..3 {
                let off = shift[n] - number(row[6 + n]);
                assert!(off.abs() < 1e-6, "case {case}, shot {shot}: {off} mm");
            }
            compared += 1;
        }
    }
    assert!(16 <= compared);
}

#[test]
fn noise_free_points_are_those_of_opencv() {
    let mut compared = 0;
    for case in cases("exact") {
        let found = measure(&question("exact", &case)).unwrap();
        for row in rows(POINTS).filter(|row| row[0] == case) {
            let body = found.sheets()[0];
            let spot = found.point(row[1], body).unwrap();
            for (n, at) in [spot.x, spot.y, spot.z].into_iter().enumerate() {
                let off = at.value.to_mm() - number(row[2 + n]);
                assert!(off.abs() < 1e-6, "case {case}, {}: {off} mm", row[1]);
            }
            compared += 1;
        }
    }
    assert!(20 <= compared);
}

#[test]
fn with_noise_figures_and_doubts_are_those_of_scipy() {
    let mut compared = 0;
    for case in cases("noisy") {
        let found = measure(&question("noisy", &case)).unwrap();
        assert!(found.residuals.iter().all(|residual| !residual.left_out));
        let (body, plate) = (found.sheets()[0], found.sheets()[1]);
        for row in rows(FITS).filter(|row| row[0] == case) {
            let (value, u) = (number(row[2]), number(row[3]));
            let ours = match row[1] {
                // The lens itself, not as one picture was focused, is not told.
                "f" => continue,
                "k1" => {
                    let lens = found.lens(0).unwrap();
                    (lens.lens.k1, lens.u[3])
                }
                "angle" => {
                    let angle = found.sheet_angle(body, plate).unwrap().angle;
                    (angle.value.to_deg(), angle.u.to_deg())
                }
                point => {
                    let (name, axis) = point.split_once(' ').unwrap();
                    let frame = found.plane_of(name).unwrap_or(body);
                    let spot = found.point(name, frame).unwrap();
                    let at = match axis {
                        "x" => spot.x,
                        "y" => spot.y,
                        _ => spot.z,
                    };
                    (at.value.to_mm(), at.u.to_mm())
                }
            };
            let off = (ours.0 - value).abs() / u;
            assert!(off < 1e-3, "case {case}, {}: {} is {off} u off {value}", row[1], ours.0);
            let doubt = (ours.1 / u - 1.0).abs();
            assert!(doubt < 1e-3, "case {case}, {}: u {} for {u}", row[1], ours.1);
            compared += 1;
        }
    }
    assert!(200 <= compared);
}

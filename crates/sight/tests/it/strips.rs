//! Strips across a joint, and a point looked for in a second photograph.

use axlewright_quantity::{Length, Ratio};
use axlewright_sight::figures::{Stand, Sure};
use axlewright_sight::grey::{Grey, Pixel};
use axlewright_sight::measure::{Measured, measure};
use axlewright_sight::offer::{Look, offer};
use axlewright_sight::sheet::{Half, Paper, SheetId};
use axlewright_sight::shot::Scale;

use crate::scene::{Camera, Chance, Placed, body, question, two_sheets};

fn halves() -> (SheetId, SheetId) {
    let half = |half| SheetId::strip(Paper::A4, 3, half).unwrap();
    (half(Half::Upper), half(Half::Lower))
}

/// One photograph of a strip from half a metre, its lower half moved.
fn strip(along: f64, across: f64, turn: f64, seed: u64) -> Stand {
    let (upper, lower) = halves();
    let moved = Placed { turn, at: [along, across, 0.0], ..Placed::default() };
    let mut camera = Camera::around(24.0, 18.0, 500.0);
    camera.eye = [0, 1, 2].map(|n| camera.eye[n] - [190.0, 60.0, 0.0][n]);
    camera.target = [0.0, 0.0, 0.0];
    let placed = [(upper, Placed::default()), (lower, moved)];
    let asked = question(&[camera], &placed, 0.05, &mut Chance::new(seed));
    let found: Measured = measure(&asked).unwrap();
    assert!(found.remarks.is_empty(), "{:?}", found.remarks);
    found.offset(upper, lower).unwrap()
}

/// A mark that moved 0.8 mm along, 0.3 mm across, and turned by half a degree.
#[test]
fn a_mark_that_moved_is_measured_to_a_tenth() {
    let off = |sure: Sure<Length>, truth: f64| (sure.value.to_mm() - truth) / sure.u.to_mm();
    for seed in 0..10 {
        let before = strip(0.0, 0.0, 0.0, seed);
        let after = strip(0.8, -0.3, 0.5, 100 + seed);
        for (stand, along, across, turn) in [(before, 0.0, 0.0, 0.0), (after, 0.8, -0.3, 0.5)] {
            assert!(off(stand.at.x, along).abs() < 4.0, "{stand:?}");
            assert!(off(stand.at.y, across).abs() < 4.0, "{stand:?}");
            assert!(stand.at.x.u.to_mm() < 0.1 && stand.at.y.u.to_mm() < 0.1, "{stand:?}");
            let turned = stand.turn[2];
            assert!((turned.value.to_deg() - turn).abs() < 4.0 * turned.u.to_deg(), "{stand:?}");
        }
    }
}

/// What the printer made smaller comes out smaller.
#[test]
fn the_scale_scales_every_length() {
    let cameras = [Camera::around(28.0, 12.0, 1300.0), Camera::around(-25.0, 20.0, 1200.0)];
    let mut asked = question(&cameras, &two_sheets(), 0.0, &mut Chance::new(1));
    let far = |found: &Measured| found.sheet(found.sheets()[1]).unwrap().at.x.value;
    let whole = far(&measure(&asked).unwrap());
    asked.scale = Some(Scale::read(Ratio::one(0.97), Ratio::one(0.97)));
    let small = far(&measure(&asked).unwrap());
    assert!((small / whole - 0.97).abs() < 1e-6, "{}", small / whole);
}

/// A wall of blotches in the first sheet's plane and before it, as a camera sees it.
fn wall(camera: &Camera) -> Grey {
    let (width, height) = (4000_u32, 3000_u32);
    let mut pixels = vec![90_u8; width as usize * height as usize];
    let mut chance = Chance::new(11);
    for _ in 0..1400 {
        let at = [chance.even() * 900.0 - 250.0, chance.even() * 700.0 - 300.0, 40.0];
        let (grey, half) = ((chance.even() * 255.0) as u8, 3.0 + chance.even() * 9.0);
        // Squares in the plane, each filled by places closer than a pixel.
        let steps = (half * 6.0) as i32;
        for v in -steps..=steps {
            for u in -steps..=steps {
                let part = |n: i32| f64::from(n) / f64::from(steps) * half;
                let seen = camera.sees([at[0] + part(u), at[1] + part(v), at[2]]);
                let (x, y) = (seen.x.round(), seen.y.round());
                if 0.0 <= x && x < f64::from(width) && 0.0 <= y && y < f64::from(height) {
                    pixels[y as usize * width as usize + x as usize] = grey;
                }
            }
        }
    }
    Grey::new(width, height, pixels).unwrap()
}

#[test]
fn a_point_is_found_again_in_a_second_photograph() {
    let cameras = [Camera::around(12.0, 8.0, 1300.0), Camera::around(-12.0, 12.0, 1250.0)];
    let asked = question(&cameras, &two_sheets(), 0.03, &mut Chance::new(5));
    let found = measure(&asked).unwrap();
    assert_eq!(found.sheets()[0], body());
    let walls = cameras.map(|camera| wall(&camera));
    let reach = (Length::mm(900.0), Length::mm(1800.0));
    let (mut offered, mut wrong) = (0, 0);
    for n in 0..12 {
        let place = [f64::from(n) * 45.0 - 60.0, f64::from(n % 4) * 70.0 - 60.0, 40.0];
        let (here, there) = (cameras[0].sees(place), cameras[1].sees(place));
        let looks = [0, 1].map(|shot| Look { shot, grey: &walls[shot] });
        // It lies on the line that is drawn for it.
        let line = found.epipolar(0, here, 1, reach);
        let near = line.windows(2).map(|pair| beside(pair[0], pair[1], there));
        assert!(near.fold(f64::INFINITY, f64::min) < 2.0);
        let Some(one) = offer(&found, looks[0], here, looks[1], reach) else { continue };
        offered += 1;
        wrong += usize::from(3.0 < (one.at.x - there.x).hypot(one.at.y - there.y));
    }
    assert!(8 <= offered && wrong == 0, "{offered} offered, {wrong} of them wrong");
}

/// How far a place is from a line between two others.
fn beside(a: Pixel, b: Pixel, p: Pixel) -> f64 {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let t = (((p.x - a.x) * dx + (p.y - a.y) * dy) / (dx * dx + dy * dy)).clamp(0.0, 1.0);
    (p.x - a.x - t * dx).hypot(p.y - a.y - t * dy)
}

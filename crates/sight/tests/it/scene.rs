//! Corners as a camera would show them, computed here in plain arithmetic: a second statement of
//! what a camera does, without pictures.

use axlewright_quantity::{Length, Ratio};
use axlewright_sight::find::Seen;
use axlewright_sight::grey::Pixel;
use axlewright_sight::lens::Lens;
use axlewright_sight::sheet::{Kind, Paper, Sheet, SheetId};
use axlewright_sight::shot::{LensKnown, Question, Scale, Shot, Tap, TapDoubt};

pub type Vec3 = [f64; 3];

pub fn body() -> SheetId {
    SheetId::whole(Kind::Body, Paper::A4).unwrap()
}

pub fn plate() -> SheetId {
    SheetId::whole(Kind::Plate, Paper::A4).unwrap()
}

/// Normal numbers, the same every time.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// Between 0 and 1. J. Stat. Software 8 (2003), from memory.
    pub fn even(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.even()).ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }
}

/// A sheet in the body sheet's axes: turned by `turn` degrees about its z, then by `lean` about x,
/// then moved; its middle bent out by so many mm over half its width.
#[derive(Clone, Copy, Default)]
pub struct Placed {
    pub turn: f64,
    pub lean: f64,
    pub at: Vec3,
    pub bend_mm: f64,
}

impl Placed {
    pub fn world(&self, x: f64, y: f64) -> Vec3 {
        let z = self.bend_mm * ((x / 125.0).powi(2) - 1.0 / 3.0);
        let (c, s) = (self.turn.to_radians().cos(), self.turn.to_radians().sin());
        let (x, y) = (c * x - s * y, s * x + c * y);
        let (c, s) = (self.lean.to_radians().cos(), self.lean.to_radians().sin());
        let (y, z) = (c * y - s * z, s * y + c * z);
        [x + self.at[0], y + self.at[1], z + self.at[2]]
    }
}

/// A camera at a place, looking at another, upright.
#[derive(Clone, Copy)]
pub struct Camera {
    pub eye: Vec3,
    pub target: Vec3,
    pub lens: Lens,
}

fn less(a: Vec3, b: Vec3) -> Vec3 {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

fn dot(a: Vec3, b: Vec3) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: Vec3, b: Vec3) -> Vec3 {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: Vec3) -> Vec3 {
    let size = dot(a, a).sqrt();
    a.map(|v| v / size)
}

pub const SIZE: (u32, u32) = (4000, 3000);

pub fn lens() -> Lens {
    Lens { focal: 3050.0, centre: Pixel { x: 2010.0, y: 1490.0 }, k1: 0.02, k2: -0.015 }
}

impl Camera {
    /// At so many degrees to the right of and above the scene's middle, so far away.
    pub fn around(right: f64, above: f64, away: f64) -> Self {
        let target = [190.0, 60.0, 0.0];
        let (r, a) = (right.to_radians(), above.to_radians());
        let d = [r.sin() * a.cos(), a.sin(), r.cos() * a.cos()];
        let eye = [0, 1, 2].map(|n| target[n] + away * d[n]);
        Self { eye, target, lens: lens() }
    }

    pub fn sees(&self, world: Vec3) -> Pixel {
        let z = unit(less(self.target, self.eye));
        let x = unit(cross(z, [0.0, 1.0, 0.0]));
        let y = cross(z, x);
        let d = less(world, self.eye);
        let (mx, my) = (dot(d, x) / dot(d, z), dot(d, y) / dot(d, z));
        let r2 = mx * mx + my * my;
        let g = self.lens.focal * (1.0 + self.lens.k1 * r2 + self.lens.k2 * r2 * r2);
        Pixel { x: self.lens.centre.x + g * mx, y: self.lens.centre.y + g * my }
    }
}

/// A question as careful people ask it: the scale is known, the file names the lens.
pub fn question(
    cameras: &[Camera],
    sheets: &[(SheetId, Placed)],
    noise_px: f64,
    chance: &mut Chance,
) -> Question {
    let shots = cameras.iter().map(|camera| {
        let mut seen = Vec::new();
        for (id, placed) in sheets {
            for tag in &Sheet::new(*id).tags {
                let half = tag.size.to_mm() / 2.0;
                let (x, y) = (tag.centre.x.to_mm(), tag.centre.y.to_mm());
                let corners =
                    [(-half, -half), (half, -half), (half, half), (-half, half)].map(|(dx, dy)| {
                        let at = camera.sees(placed.world(x + dx, y + dy));
                        Pixel {
                            x: at.x + noise_px * chance.normal(),
                            y: at.y + noise_px * chance.normal(),
                        }
                    });
                let inside = |p: &Pixel| {
                    0.0 < p.x && p.x < f64::from(SIZE.0) && 0.0 < p.y && p.y < f64::from(SIZE.1)
                };
                if corners.iter().all(inside) {
                    seen.push(Seen { tag: tag.id, corners, blur: Some(0.8) });
                }
            }
        }
        let lens = LensKnown::Equivalent(Length::mm(26.0));
        Shot { width: SIZE.0, height: SIZE.1, lens, seen, mirrored: false }
    });
    Question {
        shots: shots.collect(),
        scale: Some(Scale::read(Ratio::one(1.0), Ratio::one(1.0))),
        ..Question::default()
    }
}

/// The usual two sheets, the plate's turned 19 degrees clockwise.
pub fn two_sheets() -> Vec<(SheetId, Placed)> {
    let turned = Placed { turn: -19.0, lean: 2.0, at: [330.0, 40.0, 25.0], bend_mm: 0.0 };
    vec![(body(), Placed::default()), (plate(), turned)]
}

pub fn tap(shot: usize, name: &str, at: Pixel, sheet: Option<SheetId>) -> Tap {
    Tap { shot, name: name.to_owned(), at, doubt: TapDoubt::TAP, sheet }
}

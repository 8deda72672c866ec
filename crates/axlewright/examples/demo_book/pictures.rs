//! The photos of the demo book: drawn, not taken. Flat shapes on a plain ground, the same to the
//! last pixel every time.

use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder, ImageResult};

/// Pixels across and down.
const SIZE: (u32, u32) = (400, 300);
const QUALITY: u8 = 80;

type Colour = [f64; 3];
type Point = (f64, f64);

const GROUND: Colour = [66.0, 62.0, 58.0];
const IRON: Colour = [128.0, 130.0, 134.0];
const DARK: Colour = [84.0, 86.0, 90.0];
const BRIGHT: Colour = [190.0, 193.0, 196.0];
const PAINT: Colour = [236.0, 222.0, 84.0];
const RUST: Colour = [139.0, 84.0, 52.0];
const RUBBER: Colour = [36.0, 36.0, 38.0];
const WOOD: Colour = [176.0, 141.0, 98.0];

/// What a picture shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Subject {
    /// A bolt head with an offset, a painted line across it and the arm; the head turned by so
    /// many degrees from where the line was painted.
    Eccentric {
        /// Where the line runs.
        line_deg: f64,
        /// By how much the head has turned since.
        turned_deg: f64,
    },
    /// The end of a bar in its ring of teeth, one tooth of each painted.
    Teeth {
        /// Teeth of the ring.
        count: u32,
        /// Which one is painted.
        painted: u32,
    },
    /// The end of a bar with a painted letter.
    BarEnd {
        /// Left or right.
        is_left: bool,
    },
    /// The plate on the bench; rusty, or bare.
    Plate {
        /// As it came off.
        is_rusty: bool,
    },
    /// A straightedge on the plate with a gauge on it.
    Gauge {
        /// The plate's angle, tail down.
        angle_deg: f64,
    },
    /// A hose between body and arm.
    Hose,
}

/// The picture as a JPEG file.
pub fn draw(subject: Subject) -> ImageResult<Vec<u8>> {
    let mut sheet = Sheet::new();
    match subject {
        Subject::Eccentric { line_deg, turned_deg } => eccentric(&mut sheet, line_deg, turned_deg),
        Subject::Teeth { count, painted } => teeth(&mut sheet, count, painted),
        Subject::BarEnd { is_left } => bar_end(&mut sheet, is_left),
        Subject::Plate { is_rusty } => plate(&mut sheet, is_rusty),
        Subject::Gauge { angle_deg } => gauge(&mut sheet, angle_deg),
        Subject::Hose => hose(&mut sheet),
    }
    sheet.jpeg()
}

/// Pixels, painted over one shape after another.
struct Sheet {
    pixels: Vec<Colour>,
}

/// A point that lies so far from another one, in a direction.
fn polar((x, y): Point, radius: f64, deg: f64) -> Point {
    let (sin, cos) = deg.to_radians().sin_cos();
    (radius.mul_add(cos, x), radius.mul_add(sin, y))
}

impl Sheet {
    fn new() -> Self {
        let (width, height) = SIZE;
        let shade = |x: u32, y: u32| {
            // A little unevenness, so that it looks like a thing and not like a screen.
            let mixed = (x.wrapping_mul(374_761_393) ^ y.wrapping_mul(668_265_263)) >> 7;
            f64::from(mixed % 9) - 4.0
        };
        let pixels = (0..height).flat_map(|y| (0..width).map(move |x| (x, y)));
        Self { pixels: pixels.map(|(x, y)| GROUND.map(|c| c + shade(x, y))).collect() }
    }

    /// Paints every pixel by how deep it lies in a shape: its distance to the edge, minus inside.
    /// Only what is within `reach` of `middle` is looked at.
    fn paint(
        &mut self,
        (middle, reach): (Point, f64),
        colour: Colour,
        edge: impl Fn(Point) -> f64,
    ) {
        let (width, height) = SIZE;
        let span = |at: f64, most: u32| {
            let low = (at - reach - 1.0).clamp(0.0, f64::from(most)) as u32;
            let high = (at + reach + 2.0).clamp(0.0, f64::from(most)) as u32;
            low..high
        };
        for y in span(middle.1, height) {
            for x in span(middle.0, width) {
                let at = (f64::from(x) + 0.5, f64::from(y) + 0.5);
                let share = (0.5 - edge(at)).clamp(0.0, 1.0);
                let Some(pixel) = self.pixels.get_mut((y * width + x) as usize) else { continue };
                for (old, new) in pixel.iter_mut().zip(colour) {
                    *old += (new - *old) * share;
                }
            }
        }
    }

    fn disc(&mut self, middle: Point, radius: f64, colour: Colour) {
        self.paint((middle, radius), colour, |(x, y)| (x - middle.0).hypot(y - middle.1) - radius);
    }

    /// A line with round ends.
    fn line(&mut self, from: Point, to: Point, thick: f64, colour: Colour) {
        let middle = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let long = dx.hypot(dy).max(1e-9);
        self.paint((middle, long / 2.0 + thick), colour, |(x, y)| {
            let (px, py) = (x - from.0, y - from.1);
            let along = ((px * dx + py * dy) / (long * long)).clamp(0.0, 1.0);
            (px - along * dx).hypot(py - along * dy) - thick / 2.0
        });
    }

    /// A regular polygon.
    fn polygon(&mut self, middle: Point, radius: f64, sides: u32, deg: f64, colour: Colour) {
        let step = 360.0 / f64::from(sides);
        let inner = radius * (step / 2.0).to_radians().cos();
        self.paint((middle, radius), colour, |(x, y)| {
            let distance = |side: u32| {
                let (nx, ny) = polar((0.0, 0.0), 1.0, deg + step * (f64::from(side) + 0.5));
                (x - middle.0) * nx + (y - middle.1) * ny - inner
            };
            (0..sides).map(distance).fold(f64::NEG_INFINITY, f64::max)
        });
    }

    fn curve(&mut self, points: &[Point], thick: f64, colour: Colour) {
        for pair in points.windows(2) {
            if let [from, to] = pair {
                self.line(*from, *to, thick, colour);
            }
        }
    }

    fn jpeg(&self) -> ImageResult<Vec<u8>> {
        let byte = |c: &f64| c.round().clamp(0.0, 255.0) as u8;
        let raw: Vec<u8> = self.pixels.iter().flat_map(|pixel| pixel.iter().map(byte)).collect();
        let mut file = Vec::new();
        let encoder = JpegEncoder::new_with_quality(&mut file, QUALITY);
        encoder.write_image(&raw, SIZE.0, SIZE.1, ExtendedColorType::Rgb8)?;
        Ok(file)
    }
}

fn eccentric(sheet: &mut Sheet, line_deg: f64, turned_deg: f64) {
    let middle = (200.0, 150.0);
    sheet.line((-20.0, 190.0), (420.0, 128.0), 150.0, IRON);
    sheet.line((-20.0, 118.0), (420.0, 56.0), 3.0, DARK);
    sheet.disc(middle, 66.0, DARK);
    sheet.disc(polar(middle, 9.0, turned_deg - 60.0), 60.0, BRIGHT);
    sheet.polygon(middle, 40.0, 6, turned_deg, IRON);
    sheet.disc(middle, 13.0, DARK);
    // The line on the arm stays; the one on the head goes with it.
    for deg in [line_deg, line_deg + 180.0] {
        sheet.line(polar(middle, 70.0, deg), polar(middle, 122.0, deg), 7.0, PAINT);
        let on_head = deg + turned_deg;
        sheet.line(polar(middle, 16.0, on_head), polar(middle, 64.0, on_head), 7.0, PAINT);
    }
}

fn teeth(sheet: &mut Sheet, count: u32, painted: u32) {
    let middle = (200.0, 150.0);
    sheet.disc(middle, 140.0, IRON);
    sheet.disc(middle, 104.0, DARK);
    sheet.disc(middle, 92.0, BRIGHT);
    for tooth in 0..count {
        let deg = 360.0 * f64::from(tooth) / f64::from(count) - 90.0;
        let colour = if tooth == painted { PAINT } else { BRIGHT };
        sheet.line(polar(middle, 88.0, deg), polar(middle, 101.0, deg), 7.0, colour);
        if tooth == painted {
            sheet.line(polar(middle, 108.0, deg), polar(middle, 138.0, deg), 6.0, PAINT);
        }
    }
    sheet.disc(middle, 10.0, DARK);
}

fn bar_end(sheet: &mut Sheet, is_left: bool) {
    sheet.line((-40.0, 150.0), (330.0, 150.0), 110.0, IRON);
    sheet.line((-40.0, 122.0), (330.0, 122.0), 12.0, BRIGHT);
    sheet.line((280.0, 150.0), (372.0, 150.0), 128.0, DARK);
    for tooth in 0..11 {
        let y = 94.0 + 11.0 * f64::from(tooth);
        sheet.line((276.0, y), (376.0, y), 5.0, BRIGHT);
    }
    let stem = [(120.0, 118.0), (120.0, 184.0)];
    let rest: &[Point] = if is_left {
        &[(120.0, 184.0), (158.0, 184.0)]
    } else {
        &[
            (120.0, 118.0),
            (150.0, 122.0),
            (156.0, 136.0),
            (148.0, 150.0),
            (120.0, 152.0),
            (160.0, 184.0),
        ]
    };
    sheet.curve(&stem, 9.0, PAINT);
    sheet.curve(rest, 9.0, PAINT);
}

fn plate(sheet: &mut Sheet, is_rusty: bool) {
    sheet.line((-20.0, 262.0), (420.0, 262.0), 120.0, WOOD);
    let colour = if is_rusty { RUST } else { BRIGHT };
    sheet.line((80.0, 150.0), (330.0, 150.0), 96.0, colour);
    sheet.disc((86.0, 150.0), 62.0, colour);
    for spot in 0..46_u32 {
        let (x, y) = (40 + (spot * 89) % 320, 104 + (spot * 53) % 92);
        let radius = 2.0 + f64::from(spot % 5);
        if is_rusty {
            let dark = RUST.map(|c| c * 0.72);
            sheet.disc((f64::from(x), f64::from(y)), radius, dark);
        }
    }
    for hole in [(250.0, 146.0), (318.0, 146.0)] {
        sheet.disc(hole, 13.0, RUBBER);
    }
    sheet.disc((86.0, 150.0), 30.0, DARK);
}

fn gauge(sheet: &mut Sheet, angle_deg: f64) {
    let hub = (96.0, 96.0);
    let tail = polar(hub, 250.0, angle_deg);
    sheet.line(hub, tail, 84.0, IRON);
    sheet.disc(hub, 54.0, IRON);
    sheet.disc(hub, 26.0, DARK);
    for along in [180.0, 240.0] {
        sheet.disc(polar(hub, along, angle_deg), 10.0, RUBBER);
    }
    sheet.line(polar(hub, -70.0, angle_deg), polar(hub, 290.0, angle_deg), 12.0, BRIGHT);
    let seat = polar(hub, 130.0, angle_deg);
    let middle = polar(seat, 48.0, angle_deg - 90.0);
    sheet.disc(middle, 42.0, RUBBER);
    sheet.disc(middle, 36.0, [228.0, 228.0, 222.0]);
    for mark in 0..36 {
        let deg = 10.0 * f64::from(mark);
        sheet.line(polar(middle, 29.0, deg), polar(middle, 33.0, deg), 1.5, RUBBER);
    }
    sheet.line(middle, polar(middle, 28.0, angle_deg + 180.0), 2.5, [180.0, 40.0, 36.0]);
}

fn hose(sheet: &mut Sheet) {
    sheet.line((-20.0, 46.0), (420.0, 30.0), 84.0, DARK);
    sheet.line((230.0, 330.0), (430.0, 210.0), 96.0, IRON);
    let points: Vec<Point> = (0..=40)
        .map(|step| {
            let t = f64::from(step) / 40.0;
            let x = 110.0 + 190.0 * t;
            (x, 84.0 + 150.0 * t * t + 46.0 * (t * std::f64::consts::PI).sin())
        })
        .collect();
    sheet.curve(&points, 20.0, RUBBER);
    sheet.line((110.0, 60.0), (110.0, 96.0), 30.0, BRIGHT);
    sheet.line((296.0, 226.0), (314.0, 250.0), 30.0, BRIGHT);
    sheet.line((210.0, 158.0), (200.0, 178.0), 6.0, PAINT);
}

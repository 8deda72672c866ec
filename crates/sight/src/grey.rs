//! A picture as grey pixels, and places in it.
//!
//! ```text
//!      ┌───▶ x     pixels are counted from the upper left one; whole numbers are the middles
//!      │           of pixels, so the picture reaches from -0.5 to width - 0.5
//!    y ▼
//! ```

/// A place in a picture, in pixels: whole numbers are the middles of pixels.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Pixel {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

impl Pixel {
    /// The distance to another place.
    pub(crate) fn to(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }

    pub(crate) fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

/// A picture in grey, upright.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Grey {
    width: u32,
    height: u32,
    pixels: Vec<u8>,
}

/// No side may be longer: what a JPEG can say.
const SIDE_MAX: u32 = 65_535;

impl Grey {
    /// A picture from its rows, one byte a pixel; `None` if there are not `width × height` of them,
    /// or none, or a side is longer than 65 535.
    pub fn new(width: u32, height: u32, pixels: Vec<u8>) -> Option<Self> {
        let sound = 0 < width && 0 < height && width <= SIDE_MAX && height <= SIDE_MAX;
        let count = u64::from(width) * u64::from(height);
        (sound && count == pixels.len() as u64).then_some(Self { width, height, pixels })
    }

    /// Pixels across.
    pub const fn width(&self) -> u32 {
        self.width
    }

    /// Pixels down.
    pub const fn height(&self) -> u32 {
        self.height
    }

    /// Row after row.
    pub fn pixels(&self) -> &[u8] {
        &self.pixels
    }

    /// Turned left for right.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mut pixels = self.pixels.clone();
        pixels.chunks_exact_mut(self.width as usize).for_each(<[u8]>::reverse);
        Self { pixels, ..*self }
    }

    /// With every `by` × `by` pixels made into their mean.
    pub(crate) fn shrunk(&self, by: u32) -> Self {
        let (width, height) = ((self.width / by).max(1), (self.height / by).max(1));
        let (whole, step) = (self.width as usize, by as usize);
        let mut pixels = Vec::with_capacity(width as usize * height as usize);
        for row in 0..height as usize {
            for column in 0..width as usize {
                let mut sum = 0_u32;
                let mut count = 0_u32;
                for y in row * step..((row + 1) * step).min(self.height as usize) {
                    let line = &self.pixels[y * whole..(y + 1) * whole];
                    for grey in &line[column * step..((column + 1) * step).min(whole)] {
                        sum += u32::from(*grey);
                        count += 1;
                    }
                }
                pixels.push(((sum + count / 2) / count.max(1)) as u8);
            }
        }
        Self { width, height, pixels }
    }

    /// Whether a place and so much around it are inside the picture.
    pub(crate) fn holds(&self, at: Pixel, around: f64) -> bool {
        let inside =
            |value: f64, side: u32| around <= value && value <= f64::from(side) - 1.0 - around;
        inside(at.x, self.width) && inside(at.y, self.height)
    }

    /// The grey at a place between pixels, bilinear; at the border the nearest pixel's.
    pub(crate) fn at(&self, at: Pixel) -> f64 {
        let clamp = |value: f64, side: u32| value.clamp(0.0, f64::from(side) - 1.0);
        let (x, y) = (clamp(at.x, self.width), clamp(at.y, self.height));
        let (x0, y0) = (x as usize, y as usize);
        let x1 = (x0 + 1).min(self.width as usize - 1);
        let y1 = (y0 + 1).min(self.height as usize - 1);
        let (fx, fy) = (x - x0 as f64, y - y0 as f64);
        let width = self.width as usize;
        let grey = |x: usize, y: usize| f64::from(self.pixels[y * width + x]);
        let upper = grey(x0, y0) * (1.0 - fx) + grey(x1, y0) * fx;
        let lower = grey(x0, y1) * (1.0 - fx) + grey(x1, y1) * fx;
        upper * (1.0 - fy) + lower * fy
    }
}

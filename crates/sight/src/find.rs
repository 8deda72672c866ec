//! Finding the tags in a picture, their corners to a few hundredths of a pixel.
//!
//! ```text
//!     3 ┌──────┐ 2      corners of the black square, from the lower left one as the sheet is
//!       │ ▀▄▀█ │        read, anticlockwise: (-, -), (+, -), (+, +), (-, +) of half its size in
//!       │ █▄▀▄ │        the sheet's axes
//!     0 └──────┘ 1
//! ```
//!
//! A library written in C finds and reads the tags; every edge of every tag is then placed anew by
//! `edge`, since the library's corners are for knowing where a robot is, not for measuring. On
//! input that it does not expect the library may end the program: where that must not happen, call
//! [`find`] in a program of its own. What goes in and what comes out are plain values.
//!
//! # Source
//! AprilTag, family 36h11 (BSD-2-Clause, © The Regents of The University of Michigan).

use apriltag::{DetectorBuilder, Family, Image};

use crate::edge::{self, Line};
use crate::family::TagId;
use crate::grey::{Grey, Pixel};
use crate::sheet::SheetId;

/// A tag as it is seen in a picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Which one.
    pub tag: TagId,
    /// Its corners: lower left, lower right, upper right, upper left as the sheet is read.
    pub corners: [Pixel; 4],
    /// How far its edges are blurred: standard deviation in pixels, if that could be seen.
    pub blur: Option<f64>,
}

/// Why no tags can be looked for.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FindError {
    /// The library did not start.
    #[error("the tag finder did not start: {0}")]
    NoFinder(String),
}

impl FindError {
    /// What would be right.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NoFinder(_) => "close other programs to free memory, and try again",
        }
    }
}

/// More pixels than this are looked at through a smaller copy.
const PIXELS_MAX: u64 = 16_000_000;
/// Misread cells that are put right. The family bears five; each one more finds more that are none.
const MISREAD_MAX: usize = 1;
/// How clearly the cells of a tag stand apart, in grey levels: below it, it is clutter.
const MARGIN_MIN: f32 = 15.0;

/// Whether a picture without tags has some when it is turned left for right: a mirror image.
///
/// # Errors
/// [`FindError`] where the finder cannot be started.
pub fn is_mirrored(grey: &Grey) -> Result<bool, FindError> {
    Ok(1 < find(&grey.mirrored())?.len())
}

/// Every tag of our sheets in a picture, in the order of their numbers; a number that is there
/// twice comes twice.
///
/// # Errors
/// [`FindError`] where the finder cannot be started.
pub fn find(grey: &Grey) -> Result<Vec<Seen>, FindError> {
    let pixels = u64::from(grey.width()) * u64::from(grey.height());
    let by = (1..).find(|by| pixels / (by * by) <= PIXELS_MAX).unwrap_or(1) as u32;
    let small;
    let looked_at = if by == 1 {
        grey
    } else {
        small = grey.shrunk(by);
        &small
    };
    let scale = f64::from(by);
    let mut found: Vec<Seen> = raw(looked_at)?
        .into_iter()
        .map(|(tag, corners)| {
            let corners = corners.map(|p| Pixel { x: p.x * scale - 0.5, y: p.y * scale - 0.5 });
            sharpened(grey, tag, corners)
        })
        .collect();
    found.sort_by(|a, b| {
        (a.tag, a.corners[0].x)
            .partial_cmp(&(b.tag, b.corners[0].x))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    Ok(found)
}

/// The library's own corners, in its way of counting: the middle of the first pixel is 0.5.
fn raw(grey: &Grey) -> Result<Vec<(TagId, [Pixel; 4])>, FindError> {
    let failed = |why: apriltag::Error| FindError::NoFinder(why.to_string());
    let (width, height) = (grey.width() as usize, grey.height() as usize);
    let mut image = Image::zeros_with_stride(width, height, width).map_err(failed)?;
    let stride = image.stride();
    let rows = image.as_slice_mut().chunks_mut(stride.max(1));
    for (to, from) in rows.zip(grey.pixels().chunks(width)) {
        to[..width].copy_from_slice(from);
    }
    let family = Family::tag_36h11();
    let builder = DetectorBuilder::new().add_family_bits(family, MISREAD_MAX);
    let mut detector = builder.build().map_err(failed)?;
    detector.set_thread_number(1);
    detector.set_decimation(2.0);
    let found = detector.detect(&image);
    let ours = found.iter().filter(|one| MARGIN_MIN <= one.decision_margin()).filter_map(|one| {
        let tag = TagId::new(u16::try_from(one.id()).ok()?)?;
        SheetId::of_tag(tag)?;
        let corners = one.corners().map(|[x, y]| Pixel { x, y });
        corners.iter().all(|p| p.is_finite()).then_some((tag, corners))
    });
    Ok(ours.collect())
}

/// The corners where the edges of the black square cross; the library's own where they cannot be
/// seen well enough.
fn sharpened(grey: &Grey, tag: TagId, corners: [Pixel; 4]) -> Seen {
    let mut seen = Seen { tag, corners, blur: None };
    // The second time the windows stand where they belong.
    for _ in 0..2 {
        let Some(better) = once(grey, &seen) else { return seen };
        seen = better;
    }
    seen
}

fn once(grey: &Grey, seen: &Seen) -> Option<Seen> {
    let mut lines = Vec::with_capacity(4);
    let mut blurs = Vec::new();
    for side in 0..4 {
        let (from, to) = (seen.corners[side], seen.corners[(side + 1) % 4]);
        // As wide as it is across this side: seen from aside, a tag is a narrow one.
        let across = area(&seen.corners) / from.to(to);
        lines.push(side_line(grey, (from, to), across, &mut blurs)?);
    }
    let mut corners = seen.corners;
    for (corner, at) in corners.iter_mut().enumerate() {
        let cross = edge::crossing(&lines[(corner + 3) % 4], &lines[corner])?;
        // A jump of more than that is some other edge.
        if !grey.holds(cross, 0.0) || 3.0 < cross.to(*at) {
            return None;
        }
        *at = cross;
    }
    blurs.sort_by(f64::total_cmp);
    Some(Seen { tag: seen.tag, corners, blur: blurs.get(blurs.len() / 2).copied() })
}

/// What four corners enclose.
fn area(corners: &[Pixel; 4]) -> f64 {
    let twice: f64 = (0..4)
        .map(|n| {
            let (a, b) = (corners[n], corners[(n + 1) % 4]);
            a.x * b.y - a.y * b.x
        })
        .sum();
    (twice / 2.0).abs()
}

/// One side of the black square. Its margin and its border are one cell wide each, an eighth of
/// what the tag is across, and the window stays within them.
fn side_line(
    grey: &Grey,
    (from, to): (Pixel, Pixel),
    across: f64,
    blurs: &mut Vec<f64>,
) -> Option<Line> {
    let length = from.to(to);
    let reach = (0.55 * across / 8.0).clamp(1.5, 6.0);
    let wide = (0.9 * across / 8.0).clamp(2.0, 10.0);
    let along = ((to.x - from.x) / length, (to.y - from.y) / length);
    // The corners go anticlockwise as the sheet is read, so the light margin is to the right of the
    // way; y runs down.
    let outward = (-along.1, along.0);
    let count = (length * 0.75).clamp(8.0, 120.0) as usize;
    let mut points = Vec::with_capacity(count);
    for n in 0..count {
        let t = 0.12 + 0.76 * (n as f64 + 0.5) / count as f64;
        let at = Pixel { x: from.x + t * (to.x - from.x), y: from.y + t * (to.y - from.y) };
        let Some(step) = edge::step(grey, at, outward, reach) else { continue };
        if reach / 2.0 < step.offset.abs() {
            continue;
        }
        // A wider window sees all of a blur, and the next cells' edges now and then.
        if n % 4 == 0
            && let Some(wide) = edge::step(grey, at, outward, wide)
        {
            blurs.push(wide.blur);
        }
        points.push(Pixel { x: at.x + step.offset * outward.0, y: at.y + step.offset * outward.1 });
    }
    if points.len() * 2 < count {
        return None;
    }
    edge::line_through(&points)
}

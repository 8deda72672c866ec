//! The fits of one bar, closing in on the free angle that is wanted.
//!
//! ```text
//!   35 ┤  ●                     plate angle over the number of the fit, each with its u
//!      │   ╲                    long-dashed dotted: the angle wanted
//!   26 ┼ ─ ─╲●─ ─●─ ─ ⊙ ─ ─     between the dashed lines: half a vernier step to either side
//!      └──┬──┬───┬────┬──       double-dotted: where the next move would land
//!  fit    1  2   3   next       below each fit the teeth that were moved before it
//! anchor  0 −10 +2   −1
//! ```
//!
//! Where the last fits lie so close to the target that they cannot be told apart, a second plot
//! under the first shows them enlarged.

use axlewright_setup::record::{Fit, SideAttempts};
use axlewright_setup::{Item, Leaf};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for};
use crate::format;
use crate::labels::Rooms;
use crate::travel_curves::{places, value_axis};

/// Width of the drawing in its own millimetres.
const WIDTH: f64 = 200.0;
/// Room left of the plots for numbers and the heads of the rows.
const LEFT: f64 = 36.0;
/// Room right of them.
const RIGHT: f64 = 12.0;
/// Height of one plot.
const PLOT: f64 = 72.0;
/// Of a long history the last so many fits are drawn.
const FITS_MAX: usize = 6;
/// Most ticks on an axis.
const TICKS_MAX: usize = 24;
/// The enlarged plot reaches so many half steps to either side of the target.
const DETAIL: f64 = 4.0;
/// It is drawn where it enlarges by so much.
const WORTH_ENLARGING: f64 = 4.0;

/// One fit, or the place where the next would land; in degrees.
struct Spot {
    head: String,
    angle: f64,
    u: f64,
    teeth: Option<[i64; 2]>,
    shown: String,
    is_next: bool,
}

/// What is drawn against: the target and how near the teeth come to it; in degrees.
#[derive(Clone, Copy)]
struct Aim {
    target: f64,
    within: f64,
}

/// A plot on the sheet.
struct Plot<'a> {
    name: &'static str,
    top: f64,
    low: f64,
    high: f64,
    step: f64,
    columns: &'a [f64],
}

/// The chart of one bar's fits; nothing without a fit whose angle is known.
///
/// # Units and sign
/// Unloaded plate angles in degrees, tail down positive.
pub fn attempts_chart(side: &SideAttempts) -> Option<Drawing> {
    let mut spots: Vec<Spot> = side.fits.iter().filter_map(spot).collect();
    spots.drain(..spots.len().saturating_sub(FITS_MAX));
    if spots.is_empty() {
        return None;
    }
    spots.extend(next(side));
    let aim = aim(side);
    let h = text_height_for(WIDTH);
    let mut drawing = Drawing {
        name: format!("attempts-{}", side.side),
        title: format!("Fits of the {} bar", side.side),
        description: describe(&spots, aim),
        frame: Frame { left: 0.0, right: WIDTH, bottom: 0.0, top: 0.0 },
        text_height: h,
        shapes: Vec::new(),
    };
    let each = (WIDTH - LEFT - RIGHT) / spots.len() as f64;
    let columns: Vec<f64> = (0..spots.len()).map(|n| LEFT + each * (n as f64 + 0.5)).collect();
    let (low, high) = span(&spots, aim);
    let title =
        Label::new(Point::new(0.5, h * 1.4), Anchor::Start, "unloaded plate angle, °, + tail down");
    drawing.text("title", title.strong());
    drawing.frame.top = h * 2.2;
    let plot = Plot::new("all", 0.0, (low, high), &columns);
    let mut foot = plot.draw(&mut drawing, &spots, aim);
    if let Some((low, high)) = detail(&spots, aim, high - low) {
        let title = Label::new(
            Point::new(0.5, foot - h * 1.4),
            Anchor::Start,
            "the same near the target, enlarged",
        );
        drawing.text("title, enlarged", title.strong());
        let plot = Plot::new("enlarged", foot - h * 2.8, (low, high), &columns);
        foot = plot.draw(&mut drawing, &spots, aim);
    }
    drawing.frame.bottom = rows(&mut drawing, &spots, &columns, foot) - h * 0.6;
    Some(drawing)
}

fn degrees(leaf: &Leaf) -> Option<f64> {
    Some(format::printed(leaf.value)).filter(|value| value.is_finite())
}

fn spot(fit: &Fit) -> Option<Spot> {
    let leaf = fit.angle.as_ref()?.value.get("angle")?.as_leaf()?;
    Some(Spot {
        head: fit.number.to_string(),
        angle: degrees(leaf)?,
        u: leaf.u.map_or(0.0, format::printed),
        teeth: Some([i64::from(fit.anchor_teeth), i64::from(fit.plate_teeth)]),
        shown: format::shown(leaf).number,
        is_next: false,
    })
}

/// Where the next move would land; nothing if none is to be made.
fn next(side: &SideAttempts) -> Option<Spot> {
    let value = &side.next.as_ref()?.value;
    let teeth = |name| match value.get(name) {
        Some(Item::Count(teeth, _)) => Some(*teeth),
        _ => None,
    };
    let (anchor, plate) = (teeth("anchor_teeth")?, teeth("plate_teeth")?);
    let is_again = value.get("read_again") == Some(&Item::Flag(true));
    if is_again || (anchor == 0 && plate == 0) {
        return None;
    }
    let leaf = value.get("after")?.as_leaf()?;
    Some(Spot {
        head: "next".to_owned(),
        angle: degrees(leaf)?,
        u: leaf.u.map_or(0.0, format::printed),
        teeth: Some([anchor, plate]),
        shown: format::shown(leaf).number,
        is_next: true,
    })
}

fn aim(side: &SideAttempts) -> Option<Aim> {
    let target = side.target.as_ref().and_then(degrees)?;
    let within = side.within.as_ref().and_then(degrees).unwrap_or(0.0);
    Some(Aim { target, within })
}

/// Least and greatest angle, with all there is to see between them.
fn span(spots: &[Spot], aim: Option<Aim>) -> (f64, f64) {
    let ends = spots.iter().flat_map(|spot| [spot.angle - spot.u, spot.angle + spot.u]);
    let band = aim.into_iter().flat_map(|aim| [aim.target - aim.within, aim.target + aim.within]);
    let frame = Frame::around(ends.chain(band).map(|angle| Point::new(0.0, angle)));
    frame.map_or((0.0, 1.0), |frame| (frame.bottom, frame.top))
}

/// What the enlarged plot shows, where there is one.
fn detail(spots: &[Spot], aim: Option<Aim>, whole: f64) -> Option<(f64, f64)> {
    let aim = aim.filter(|aim| 0.0 < aim.within)?;
    let off = |spot: &Spot| (spot.angle - aim.target).abs() + spot.u;
    // The last fit, and where the next would land.
    let ends = if spots.last().is_some_and(|spot| spot.is_next) { 2 } else { 1 };
    let last = spots.iter().rev().take(ends).map(off).fold(0.0, f64::max);
    let half = last.max(aim.within * DETAIL).min(aim.within * DETAIL * 2.0);
    let is_near = |spot: &&Spot| off(spot) <= half;
    (spots.iter().any(|spot| is_near(&spot)) && half * 2.0 * WORTH_ENLARGING <= whole)
        .then_some((aim.target - half, aim.target + half))
}

impl<'a> Plot<'a> {
    fn new(name: &'static str, top: f64, (low, high): (f64, f64), columns: &'a [f64]) -> Self {
        let least = if high - low < 0.2 { 0.1 } else { 0.0 };
        let ends = Frame { left: 0.0, right: 0.0, bottom: low - least, top: high + least };
        let (low, high, step) = value_axis(ends);
        Self { name, top, low, high, step, columns }
    }

    fn y(&self, angle: f64) -> f64 {
        self.top - PLOT + (angle - self.low) / (self.high - self.low) * PLOT
    }

    fn holds(&self, spot: &Spot) -> bool {
        let slack = self.step * 0.01;
        self.low - slack <= spot.angle && spot.angle <= self.high + slack
    }

    /// Draws it; the lowest y it uses.
    fn draw(&self, drawing: &mut Drawing, spots: &[Spot], aim: Option<Aim>) -> f64 {
        let mut rooms = Rooms::new(drawing.text_height);
        self.axis(drawing);
        if let Some(aim) = aim {
            self.target(drawing, &mut rooms, aim);
        }
        let there: Vec<(f64, &Spot)> = self.columns.iter().copied().zip(spots).collect();
        for pair in there.windows(2) {
            if let [(from, one), (to, other)] = pair {
                self.way(drawing, (*from, one), (*to, other));
            }
        }
        let seen = |(_, spot): &&(f64, &Spot)| self.holds(spot);
        for (x, spot) in there.iter().filter(seen) {
            let (half, y) = (drawing.text_height * 0.5, self.y(spot.angle));
            rooms.claim(Frame { left: x - half, right: x + half, bottom: y - half, top: y + half });
        }
        for (x, spot) in there.iter().filter(seen) {
            self.spot(drawing, &mut rooms, *x, spot);
        }
        self.top - PLOT
    }

    fn axis(&self, drawing: &mut Drawing) {
        let (h, places) = (drawing.text_height, places(self.step));
        for n in 0..TICKS_MAX {
            let angle = self.low + self.step * n as f64;
            if self.high + self.step * 0.01 < angle {
                break;
            }
            let at = Point::new(LEFT, self.y(angle));
            let form = Form::Line { from: at, to: Point::new(LEFT + h * 0.35, at.y) };
            drawing.narrow(format!("{}, tick", self.name), form);
            let at = Point::new(LEFT - h * 0.4, at.y);
            let label = Label::new(at, Anchor::End, format::figures(angle, places));
            drawing.text(format!("{}, number", self.name), label);
        }
        let (low, high) = (Point::new(LEFT, self.y(self.low)), Point::new(LEFT, self.y(self.high)));
        drawing.narrow(format!("{}, axis", self.name), Form::Line { from: low, to: high });
        let form = Form::Line { from: low, to: Point::new(WIDTH - RIGHT, low.y) };
        drawing.narrow(format!("{}, foot", self.name), form);
    }

    /// The angle wanted, and the band that the teeth can always reach, where it can be seen.
    fn target(&self, drawing: &mut Drawing, rooms: &mut Rooms, aim: Aim) {
        let (h, end, y) = (drawing.text_height, WIDTH - RIGHT, self.y(aim.target));
        let (low, high) = (self.y(aim.target - aim.within), self.y(aim.target + aim.within));
        if h * 0.8 <= high - low {
            let at = |x, y| Point::new(x, y);
            let outline = vec![at(LEFT, low), at(end, low), at(end, high), at(LEFT, high)];
            let form = Form::Hatch { loops: vec![outline], pitch: h * 0.5, angle: 45.0 };
            drawing.narrow(format!("{}, band", self.name), form);
            for (name, y) in [("lower", low), ("upper", high)] {
                let form = Form::Line { from: at(LEFT, y), to: at(end, y) };
                drawing.add(format!("{}, {name} limit", self.name), LineKind::Hidden, form);
            }
        }
        let form = Form::Line { from: Point::new(LEFT, y), to: Point::new(end, y) };
        drawing.add(format!("{}, target", self.name), LineKind::Centre, form);
        let words = format!("wanted {}°", format::figures(aim.target, 1));
        let above = high.max(y) + h * 0.8;
        let label = Label::new(Point::new(end, above), Anchor::End, words);
        rooms.claim(label.room(h));
        drawing.text(format!("{}, target's word", self.name), label);
    }

    /// The way from one fit to the next, as far as it lies in the plot.
    fn way(&self, drawing: &mut Drawing, (x, one): (f64, &Spot), (to_x, other): (f64, &Spot)) {
        if !self.holds(one) || !self.holds(other) {
            return;
        }
        let (from, to) = (Point::new(x, self.y(one.angle)), Point::new(to_x, self.y(other.angle)));
        let long = from.distance(to);
        let gap = drawing.text_height * 0.45;
        if long <= gap * 3.0 {
            return;
        }
        let form =
            Form::Arrow { from: from.toward(to, gap / long), to: to.toward(from, gap / long) };
        let line = if other.is_next { LineKind::OtherPosition } else { LineKind::Narrow };
        drawing.add(format!("{}, way to {}", self.name, other.head), line, form);
    }

    fn spot(&self, drawing: &mut Drawing, rooms: &mut Rooms, x: f64, spot: &Spot) {
        let (h, y) = (drawing.text_height, self.y(spot.angle));
        let (low, high) = (
            self.y((spot.angle - spot.u).max(self.low)),
            self.y((spot.angle + spot.u).min(self.high)),
        );
        if h * 0.6 < high - low {
            let at = |x, y| Point::new(x, y);
            let form = Form::Line { from: at(x, low), to: at(x, high) };
            drawing.accent(format!("{}, u of {}", self.name, spot.head), LineKind::Narrow, form);
            for y in [low, high] {
                let form = Form::Line { from: at(x - h * 0.2, y), to: at(x + h * 0.2, y) };
                drawing.accent(format!("{}, end of u", self.name), LineKind::Narrow, form);
            }
        }
        let (line, fill) = match spot.is_next {
            true => (LineKind::OtherPosition, Fill::Paper),
            false => (LineKind::Outline, Fill::Solid),
        };
        let form = Form::Circle { centre: Point::new(x, y), radius: h * 0.24, fill };
        drawing.accent(format!("{}, fit {}", self.name, spot.head), line, form);
        let (up, down) = (high.max(y + h * 0.3) + h * 0.85, low.min(y - h * 0.3) - h * 0.85);
        let beside = h * 0.7;
        let places = [
            (Point::new(x, up), Anchor::Middle),
            (Point::new(x, down), Anchor::Middle),
            (Point::new(x + beside, y), Anchor::Start),
            (Point::new(x - beside, y), Anchor::End),
        ];
        let (least, most) = (self.top - PLOT + h * 0.6, self.top + h * 0.25);
        let inside = |at: &(Point, Anchor)| (least..=most).contains(&at.0.y);
        let label = rooms.place(&format!("{}°", spot.shown), places.into_iter().filter(inside));
        drawing.text(format!("{}, angle of {}", self.name, spot.head), label);
    }
}

/// Under the plots: which fit, and the teeth moved before it. The lowest y it uses.
fn rows(drawing: &mut Drawing, spots: &[Spot], columns: &[f64], foot: f64) -> f64 {
    let h = drawing.text_height;
    let teeth = |spot: &Spot, end: usize| {
        let moved = spot.teeth.and_then(|teeth| teeth.get(end).copied());
        moved.map_or(String::new(), format::signed)
    };
    let all = [("fit", 1.2), ("anchor", 2.6), ("plate", 4.0)];
    for (row, (name, down)) in all.into_iter().enumerate() {
        let y = foot - h * down;
        drawing.text(name, Label::new(Point::new(0.5, y), Anchor::Start, name));
        for (x, spot) in columns.iter().zip(spots) {
            let text = match row {
                0 => spot.head.clone(),
                row => teeth(spot, row - 1),
            };
            let label = Label::new(Point::new(*x, y), Anchor::Middle, text);
            let label = if row == 0 { label.strong() } else { label };
            drawing.text(format!("{name} of {}", spot.head), label);
        }
    }
    let y = foot - h * 5.4;
    let words = "teeth moved, + tail down";
    drawing.text("rows, words", Label::new(Point::new(0.5, y), Anchor::Start, words));
    y - h * 0.6
}

fn describe(spots: &[Spot], aim: Option<Aim>) -> String {
    let wanted = aim.map_or(String::new(), |aim| {
        format!("Wanted: {} degrees. ", format::figures(aim.target, 1))
    });
    let fits = spots.iter().map(|spot| match spot.is_next {
        true => format!("The next move would land at {} degrees.", spot.shown),
        false => format!("Fit {}: {} degrees.", spot.head, spot.shown),
    });
    format!("{wanted}{}", fits.collect::<Vec<_>>().join(" "))
}

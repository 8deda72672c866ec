//! Both splined ends of the bar with the move drawn.
//!
//! ```text
//!      anchor end               plate end
//!    ╭──anchor──╮             ╭──plate──╮     ▼ paint mark on the part that stays
//!    │ ╭─bar──╮ │             │ ╭─bar─╮ │     the other mark is where the moving part
//!    │ ╰──────╯ │             │ ╰─────╯ │     ends up, counted in teeth
//!    ╰──────────╯             ╰─────────╯
//! ```
//!
//! At the anchor the bar turns (with the plate on it) and the anchor stays; at the plate end the
//! plate turns and the bar stays. Both are seen from outside the car. The drawing is to no
//! scale: real splines are smaller; counts and directions are what matters.

use axlewright_quantity::Side;
use axlewright_setup::{Rotation, SplineScene, Turn, teeth_words};

use crate::drawing::{
    Anchor, Arc, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for,
};

/// Width of the drawing in its own millimetres; two rings side by side.
const WIDTH: f64 = 200.0;
/// Radius of a ring's outside.
const OUTSIDE: f64 = 37.0;
/// Where the texts below the rings start.
const FOOT: f64 = -50.0;
/// Radii of tooth tips and tooth roots.
const TEETH: (f64, f64) = (27.0, 30.0);
/// Above so many teeth they are not drawn one by one.
const TEETH_DRAWN_MAX: u32 = 120;

struct Ring {
    name: &'static str,
    centre: Point,
    teeth: u32,
    /// Teeth to move, + tail down.
    count: i32,
    /// The part that moves is the bar, inside; otherwise the plate, outside.
    is_bar_moving: bool,
    moving: &'static str,
    fixed: &'static str,
}

/// Both ends of the bar as seen from outside, with what to turn, how many teeth and which way.
pub fn spline_rings(scene: &SplineScene) -> Drawing {
    let h = text_height_for(WIDTH);
    let mut drawing = Drawing {
        name: format!("spline-rings-{}", scene.side.word()),
        title: format!("Splines of the {} bar, both ends seen from outside", scene.side.word()),
        description: format!("{} {}", anchor_words(scene), plate_words(scene)),
        frame: Frame { left: 0.0, right: WIDTH, bottom: FOOT - h * 5.6, top: 52.0 },
        text_height: h,
        shapes: Vec::new(),
    };
    let anchor = Ring {
        name: "anchor end",
        centre: Point::new(WIDTH * 0.25, 0.0),
        teeth: scene.anchor_teeth,
        count: scene.anchor_move,
        is_bar_moving: true,
        moving: "bar",
        fixed: "anchor",
    };
    let plate = Ring {
        name: "plate end",
        centre: Point::new(WIDTH * 0.75, 0.0),
        teeth: scene.plate_teeth,
        count: scene.plate_move,
        is_bar_moving: false,
        moving: "plate",
        fixed: "bar",
    };
    for ring in [anchor, plate] {
        ring.draw(&mut drawing, scene);
    }
    drawing
}

/// What to do at the anchor end, in words.
pub(crate) fn anchor_words(scene: &SplineScene) -> String {
    match turned(scene.anchor_move, scene.side) {
        None => "Anchor end: leave it as it is.".to_owned(),
        Some(turned) => format!("Anchor end: turn bar and plate together {turned}."),
    }
}

/// What to do at the plate end, in words.
pub(crate) fn plate_words(scene: &SplineScene) -> String {
    match turned(scene.plate_move, scene.side) {
        None => "Plate end: leave it as it is.".to_owned(),
        Some(turned) => format!("Plate end: move the plate on the bar {turned}."),
    }
}

/// `2 teeth tail up (anticlockwise, seen from outside)`; nothing for none.
fn turned(teeth: i32, side: Side) -> Option<String> {
    let turn = Turn::of_teeth(teeth)?;
    let seen = turn.seen_from_outside(side).words();
    Some(format!("{} {} ({seen}, seen from outside)", teeth_words(teeth), turn.words()))
}

impl Ring {
    fn draw(&self, drawing: &mut Drawing, scene: &SplineScene) {
        let c = self.centre;
        let circle = |radius| Form::Circle { centre: c, radius, fill: Fill::Empty };
        drawing.add(format!("{}, outside", self.name), LineKind::Outline, circle(OUTSIDE));
        if self.is_bar_moving {
            // The anchor is fixed to the body: hatched like ground.
            let loops = vec![ring_points(c, OUTSIDE, 72), ring_points(c, TEETH.1 + 1.0, 72)];
            let form = Form::Hatch { loops, pitch: 4.0, angle: 45.0 };
            drawing.narrow(format!("{}, fixed part", self.name), form);
        }
        self.draw_teeth(drawing);
        for (dx, dy) in [(6.0, 0.0), (0.0, 6.0)] {
            let form = Form::Line {
                from: Point::new(c.x - dx, c.y - dy),
                to: Point::new(c.x + dx, c.y + dy),
            };
            drawing.add(format!("{}, centre", self.name), LineKind::Centre, form);
        }
        self.draw_move(drawing, scene);
        self.write(drawing, scene);
    }

    fn draw_teeth(&self, drawing: &mut Drawing) {
        let name = format!("{}, teeth", self.name);
        if self.teeth == 0 || self.teeth > TEETH_DRAWN_MAX {
            for radius in [TEETH.0, TEETH.1] {
                let form = Form::Circle { centre: self.centre, radius, fill: Fill::Empty };
                drawing.narrow(name.clone(), form);
            }
            return;
        }
        let pitch = 360.0 / f64::from(self.teeth);
        // A tooth of the bar stands at twelve o'clock.
        let profile = [(-0.32, TEETH.0), (-0.16, TEETH.1), (0.16, TEETH.1), (0.32, TEETH.0)];
        let points = (0..self.teeth)
            .flat_map(|n| profile.map(|(part, r)| (90.0 + pitch * (f64::from(n) + part), r)))
            .map(|(angle, r)| Point::polar(self.centre, r, angle))
            .collect();
        let form = Form::Polyline { points, closed: true, fill: Fill::Empty };
        drawing.narrow(name, form);
    }

    /// Degrees on the drawing that the moving part turns; anticlockwise is positive.
    fn turn(&self, scene: &SplineScene) -> f64 {
        let down = match Turn::TailDown.seen_from_outside(scene.side) {
            Rotation::Clockwise => -1.0,
            Rotation::Anticlockwise => 1.0,
        };
        down * f64::from(self.count) * 360.0 / f64::from(self.teeth.max(1))
    }

    fn draw_move(&self, drawing: &mut Drawing, scene: &SplineScene) {
        let turn = self.turn(scene);
        let (fixed, moving) = if self.is_bar_moving {
            ((OUTSIDE, TEETH.1), (18.5, TEETH.0))
        } else {
            ((18.5, TEETH.0), (OUTSIDE, TEETH.1))
        };
        // The paint mark on the part that stays, and where the other's mark is now.
        drawing.add(
            format!("{}, mark on the {}", self.name, self.fixed),
            LineKind::Outline,
            wedge(self.centre, fixed, 90.0, Fill::Solid),
        );
        drawing.add(
            format!("{}, mark on the {} now", self.name, self.moving),
            LineKind::Narrow,
            wedge(self.centre, moving, 90.0, Fill::Empty),
        );
        if self.count == 0 {
            return;
        }
        drawing.accent(
            format!("{}, mark on the {} after", self.name, self.moving),
            LineKind::Narrow,
            wedge(self.centre, moving, 90.0 + turn, Fill::Solid),
        );
        let radius = if self.is_bar_moving { 15.5 } else { 40.5 };
        let arc = Arc {
            centre: self.centre,
            radius,
            from: 90.0,
            // More than a full turn cannot be drawn as an arc and need not be.
            to: 90.0 + turn.clamp(-350.0, 350.0),
            start_arrow: false,
            end_arrow: true,
        };
        drawing.accent(format!("{}, move", self.name), LineKind::Outline, Form::Arc(arc));
        self.number_teeth(drawing, turn);
    }

    /// Every tooth counted where there are few, every fifth where there are many.
    fn number_teeth(&self, drawing: &mut Drawing, turn: f64) {
        let count = self.count.unsigned_abs();
        if count > TEETH_DRAWN_MAX || self.is_bar_moving && count < 2 {
            return;
        }
        let radius = if self.is_bar_moving { 9.0 } else { 46.0 };
        let apart = (drawing.text_height * 1.15 / radius).to_degrees();
        let per_tooth = turn.abs() / f64::from(count);
        let every = [1, 2, 5, 10, 20, 50]
            .into_iter()
            .find(|e| f64::from(*e) * per_tooth >= apart)
            .unwrap_or(count.max(1));
        for n in (1..=count).filter(|n| n % every == 0 || *n == count) {
            let is_crowding_last = n != count && count - n < every;
            let is_past_turn = f64::from(n) * per_tooth > 330.0;
            if is_crowding_last || is_past_turn {
                continue;
            }
            let angle = 90.0 + turn * f64::from(n) / f64::from(count);
            let at = Point::polar(self.centre, radius, angle);
            let label = Label::new(at, Anchor::Middle, n.to_string());
            let name = format!("{}, tooth {n}", self.name);
            drawing.accent(name, LineKind::Narrow, Form::Text(label));
        }
    }

    /// Under the ring: which end, what turns, how many teeth, which way.
    fn write(&self, drawing: &mut Drawing, scene: &SplineScene) {
        let h = drawing.text_height;
        let row = |n: f64| Point::new(self.centre.x, FOOT - h * (0.7 + 1.3 * n));
        let title = format!("{}, {} teeth", self.name, self.teeth);
        drawing.text(format!("{}, title", self.name), Label::new(row(0.0), Anchor::Middle, title));
        let lines: Vec<String> = match Turn::of_teeth(self.count) {
            None => vec!["stays as it is".to_owned()],
            Some(turn) => vec![
                format!("{} {}", self.moving, teeth_words(self.count)),
                turn.seen_from_outside(scene.side).words().to_owned(),
                format!("({})", turn.words()),
            ],
        };
        for (n, line) in lines.into_iter().enumerate() {
            let label = Label::new(row(1.0 + n as f64), Anchor::Middle, line);
            let name = format!("{}, line {}", self.name, n + 1);
            if n == 0 && self.count != 0 {
                drawing.accent(name, LineKind::Narrow, Form::Text(label.strong()));
            } else {
                drawing.text(name, label);
            }
        }
    }
}

/// A paint mark between two radii, pointing at the teeth.
fn wedge(centre: Point, (blunt, sharp): (f64, f64), angle: f64, fill: Fill) -> Form {
    let half = (2.4 / blunt).to_degrees();
    let points = vec![
        Point::polar(centre, sharp, angle),
        Point::polar(centre, blunt, angle - half),
        Point::polar(centre, blunt, angle + half),
    ];
    Form::Polyline { points, closed: true, fill }
}

fn ring_points(centre: Point, radius: f64, count: u32) -> Vec<Point> {
    (0..count)
        .map(|n| Point::polar(centre, radius, 360.0 * f64::from(n) / f64::from(count)))
        .collect()
}

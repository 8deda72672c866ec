//! Side view of a corner: where the plate is in each state and what fits where.
//!
//! ```text
//!        damper eye o
//!                   ║        ╮ window arcs 1, 2, 3 … about the hub,
//!   hub O──══════──o╫──+   ╮ ╮ balloons A, B, C … on the reference
//!        \╲ plate   o wheel ╮╯ lines of the states
//!          ╲╲  · stop bolt ╯╯  angle scale
//! ```
//!
//! Seen from outside the car: the nose is to the left on a left corner, to the right on a right
//! one. The geometry comes as a left one; the drawing is mirrored as a whole at the end.
//! A plate angle θ, + tail down, is the direction −θ on a left drawing.

use axlewright_quantity::{Angle, Place, Side};
use axlewright_setup::{CornerScene, SceneState};

use crate::drawing::{
    Anchor, AngleDimension, Arc, Dimension, Drawing, Fill, Form, Frame, Label, LineKind, Point,
    text_height_for, width_max_for,
};
use crate::format;
use crate::labels::{Rooms, spread};

/// The hub is the drawing's origin.
const HUB: Point = Point::new(0.0, 0.0);
/// Plate angles beyond these are not drawn: no arm of this kind reaches them.
const ANGLE_LIMITS: (f64, f64) = (-60.0, 89.0);
/// How far the angle scale goes beyond the states, in degrees.
const MARGIN: f64 = 7.0;
/// Distance between window arcs, in letter heights.
const ARC_STEP: f64 = 0.8;
/// Anything further from the hub than this, in millimetres, is a slip of the pen.
const REACH_MAX: f64 = 5_000.0;
/// Plate length assumed for the drawing's scale where no outline is known.
const REACH_USUAL: f64 = 350.0;

/// The letters of the states, in the order they come.
const LETTERS: [&str; 8] = ["A", "B", "C", "D", "E", "F", "G", "H"];

/// The state that somebody asks about, where there is one.
const HERE: &str = "here";

struct View<'a> {
    scene: &'a CornerScene,
    drawing: Drawing,
    rooms: Rooms,
    /// States that can be drawn, with letter and plate angle in degrees.
    states: Vec<(&'static str, &'a SceneState, f64)>,
    /// Least and greatest plate angle on the scale, in degrees.
    scale: (f64, f64),
    scale_radius: f64,
    /// How far the plate reaches from the hub; nothing if its outline is not known.
    plate_reach: f64,
}

/// The corner in side view with its states, or nothing if no state is known.
///
/// # Units and sign
/// Millimetres about the hub; seen from outside, so a right corner has its nose to the right.
pub fn side_view(scene: &CornerScene) -> Option<Drawing> {
    let mut view = View::new(scene)?;
    view.draw_axes();
    view.draw_plates();
    view.draw_wheel();
    view.draw_damper();
    view.draw_stop_bolt();
    view.draw_scale();
    view.draw_windows();
    view.draw_state_letters();
    view.fit_frame();
    if scene.corner.side() == Side::Right {
        view.drawing.mirror();
    }
    view.write_key();
    Some(view.drawing)
}

impl<'a> View<'a> {
    fn new(scene: &'a CornerScene) -> Option<Self> {
        let states: Vec<_> = scene
            .states
            .iter()
            .filter(|s| (ANGLE_LIMITS.0..=ANGLE_LIMITS.1).contains(&s.angle.to_deg()))
            .zip(LETTERS)
            .map(|(state, letter)| (letter, state, state.angle.to_deg()))
            .collect();
        if states.is_empty() {
            return None;
        }
        let angles = states.iter().map(|s| s.2);
        let (low, high) = angles.fold((f64::MAX, f64::MIN), |(l, h), a| (l.min(a), h.max(a)));
        let scale = (low - MARGIN, high + MARGIN);
        let scale_radius = reach(scene, &states) + 30.0;
        let arcs = scene.windows.len() as f64;
        // Width = front overhang + scale + arcs and letters, which grow with the width itself.
        let own = 110.0 + scale_radius;
        let h = text_height_for(own / (1.0 - text_height_for(1.0) * (ARC_STEP * arcs + 3.4)));
        let drawing = Drawing {
            name: format!("side-view-{}", scene.corner.code()),
            title: format!("{} corner, side view from outside", crate::words::corner(scene.corner)),
            description: describe(scene, &states),
            frame: Frame::default(),
            text_height: h,
            shapes: Vec::new(),
        };
        let reaches = scene.outline.iter().map(|p| p.u.to_mm()).filter(|u| *u < REACH_MAX);
        let plate_reach = reaches.fold(0.0, f64::max);
        let rooms = Rooms::new(h);
        Some(Self { scene, drawing, rooms, states, scale, scale_radius, plate_reach })
    }

    fn h(&self) -> f64 {
        self.drawing.text_height
    }

    fn point(&self, place: &Place) -> Point {
        let hub = &self.scene.hub;
        Point::new((hub.x - place.x).to_mm(), (place.z - hub.z).to_mm())
    }

    /// The state by which wheel and damper are drawn.
    fn ride(&self) -> Option<&'a SceneState> {
        let named = |name| self.states.iter().find(|(_, s, _)| s.name == name).map(|(_, s, _)| *s);
        named(HERE).filter(|here| here.pose.is_some()).or_else(|| named("ride"))
    }

    /// The state that the drawing is about: where somebody asks, else where the plates shall hang.
    fn main(&self) -> &'static str {
        if self.states.iter().any(|(_, s, _)| s.name == HERE) { HERE } else { "hang at target" }
    }

    fn target(&self) -> Option<f64> {
        let main = self.main();
        self.states.iter().find(|(_, s, _)| s.name == main).map(|(_, _, a)| *a)
    }

    fn draw_axes(&mut self) {
        let form = Form::Line {
            from: Point::new(-70.0, 0.0),
            to: Point::new(self.scale_radius - 12.0, 0.0),
        };
        self.drawing.add("horizontal through the hub", LineKind::Centre, form);
        let form = Form::Line { from: Point::new(0.0, -75.0), to: Point::new(0.0, 75.0) };
        self.drawing.add("vertical through the hub", LineKind::Centre, form);
        let h = self.h();
        let y = 75.0 + h * 1.5;
        let form = Form::Arrow { from: Point::new(h, y), to: Point::new(-h * 1.2, y) };
        self.drawing.narrow("direction of the nose", form);
        let label = self.rooms.place("nose", [(Point::new(h * 1.3, y), Anchor::Start)]);
        self.drawing.text("nose", label);
    }

    fn draw_plates(&mut self) {
        let main = self.main();
        for (_, state, angle) in self.states.clone() {
            let name = format!("plate at {}", state.name);
            let turn = |u: f64, w: f64| {
                let (sin, cos) = angle.to_radians().sin_cos();
                Point::new(u * cos + w * sin, w * cos - u * sin)
            };
            let points: Vec<Point> =
                self.scene.outline.iter().map(|p| turn(p.u.to_mm(), p.w.to_mm())).collect();
            let form = if points.len() > 2 {
                Form::Polyline { points, closed: true, fill: Fill::Empty }
            } else {
                Form::Line { from: HUB, to: turn(REACH_USUAL, 0.0) }
            };
            match state.name {
                "ride" => self.drawing.add(name, LineKind::Outline, form),
                it if it == main => self.drawing.accent(name, LineKind::Outline, form),
                _ => self.drawing.add(name, LineKind::OtherPosition, form),
            }
            if state.name == "ride" || state.name == main {
                for (n, hole) in self.scene.holes.iter().enumerate() {
                    let form = Form::Circle {
                        centre: turn(hole.u.to_mm(), hole.w.to_mm()),
                        radius: 7.0,
                        fill: Fill::Empty,
                    };
                    self.drawing.narrow(format!("hole {} at {}", n + 1, state.name), form);
                }
            }
        }
        let form = Form::Circle { centre: HUB, radius: 11.0, fill: Fill::Paper };
        self.drawing.add("bar, end on", LineKind::Outline, form);
    }

    fn draw_wheel(&mut self) {
        let Some(pose) = self.ride().and_then(|s| s.pose) else { return };
        let centre = self.point(&pose.wheel_centre);
        let cross = self.h() * 0.5;
        for (dx, dy) in [(cross, 0.0), (0.0, cross)] {
            let form = Form::Line {
                from: Point::new(centre.x - dx, centre.y - dy),
                to: Point::new(centre.x + dx, centre.y + dy),
            };
            self.drawing.narrow("wheel centre at ride", form);
        }
        if let Some(tyre) = self.scene.tyre_radius.filter(|r| r.to_mm() < REACH_MAX) {
            let form = Form::Circle { centre, radius: tyre.to_mm(), fill: Fill::Empty };
            self.drawing.narrow("tyre at ride", form);
            let half = tyre.to_mm() * 0.45;
            let foot = centre.y - tyre.to_mm();
            let form = Form::Line {
                from: Point::new(centre.x - half, foot),
                to: Point::new(centre.x + half, foot),
            };
            self.drawing.narrow("ground at ride", form);
        }
        self.draw_trim(centre);
    }

    /// Bar axis above wheel centre, where the drawing shows it; the key has it in words.
    fn draw_trim(&mut self, centre: Point) {
        let h = self.h();
        if centre.y.abs() < h * 0.5 {
            return;
        }
        let beside = [
            (Point::new(centre.x - h * 0.3, centre.y / 2.0), Anchor::End),
            (Point::new(centre.x + h * 0.3, centre.y / 2.0), Anchor::Start),
        ];
        let label = self.rooms.place(&format::figures(-centre.y, 0), beside);
        let from = Point::new(centre.x, 0.0);
        let dimension = Dimension { from, to: centre, stand_off: 0.0, label };
        self.drawing.narrow("trim at ride", Form::Dimension(dimension));
    }

    fn draw_damper(&mut self) {
        let arm = self.ride().and_then(|s| s.pose).and_then(|p| p.damper_arm);
        let (Some(body), Some(arm)) = (self.scene.damper_body, arm) else { return };
        let (top, foot) = (self.point(&body), self.point(&arm));
        let length = top.distance(foot);
        if !(length > 0.0 && length < REACH_MAX) {
            return;
        }
        let (nx, ny) = ((foot.y - top.y) / length * 20.0, (top.x - foot.x) / length * 20.0);
        let side = |p: Point, k: f64| Point::new(p.x + nx * k, p.y + ny * k);
        let (a, b) = (top.toward(foot, 0.1), top.toward(foot, 0.55));
        let tube = vec![side(a, 1.0), side(b, 1.0), side(b, -1.0), side(a, -1.0)];
        let form = Form::Line { from: top, to: foot };
        self.drawing.narrow("damper rod at ride", form);
        let form = Form::Polyline { points: tube, closed: true, fill: Fill::Paper };
        self.drawing.narrow("damper tube at ride", form);
        for (name, centre) in [("damper eye, body", top), ("damper eye, arm", foot)] {
            let form = Form::Circle { centre, radius: 9.0, fill: Fill::Paper };
            self.drawing.narrow(name, form);
        }
        let h = self.h();
        let at = Point::new(side(a, 1.0).x.min(side(a, -1.0).x) - h, top.y - h * 0.2);
        let label = self.rooms.place("damper", [(at, Anchor::End)]);
        self.drawing.narrow("damper, named", Form::Leader { tip: a, label });
    }

    fn draw_stop_bolt(&mut self) {
        let Some((at, clearance, radius)) = self.scene.stop_bolt else { return };
        let centre = self.point(&at);
        if centre.distance(HUB) > REACH_MAX || !centre.is_finite() {
            return;
        }
        let form = Form::Circle { centre, radius: clearance.to_mm(), fill: Fill::Empty };
        self.drawing.add("room the stop bolt needs", LineKind::Hidden, form);
        let form = Form::Circle { centre, radius: radius.to_mm(), fill: Fill::Solid };
        self.drawing.narrow("stop bolt", form);
        let h = self.h();
        let below = (1..6).map(|n| {
            let at = Point::new(centre.x - h * 1.6, centre.y - h * (1.6 + f64::from(n)));
            (at, Anchor::End)
        });
        let label = self.rooms.place("stop bolt", below);
        self.drawing.narrow("stop bolt, named", Form::Leader { tip: centre, label });
    }

    fn draw_scale(&mut self) {
        let (r, h, (low, high)) = (self.scale_radius, self.h(), self.scale);
        let arc = Arc {
            centre: HUB,
            radius: r,
            from: -low,
            to: -high,
            start_arrow: false,
            end_arrow: false,
        };
        self.drawing.narrow("angle scale", Form::Arc(arc));
        let mut degrees = (low / 5.0).ceil() * 5.0;
        while degrees <= high {
            let is_ten = degrees.rem_euclid(10.0) < 0.1;
            let long = if is_ten { 0.45 } else { 0.25 } * h;
            let form = Form::Line {
                from: Point::polar(HUB, r, -degrees),
                to: Point::polar(HUB, r - long, -degrees),
            };
            self.drawing.narrow(format!("scale {degrees:.0} deg"), form);
            if is_ten {
                let text = format!("{}°", format::figures(degrees, 0));
                let at = Point::polar(HUB, r - h * 1.35, -degrees);
                let label = Label::new(at, Anchor::Middle, text);
                if self.rooms.is_free(label.room(h)) {
                    self.rooms.claim(label.room(h));
                    self.drawing.text(format!("scale number {degrees:.0}"), label);
                }
            }
            degrees += 5.0;
        }
    }
}

/// The furthest thing from the hub that is drawn, in millimetres.
fn reach(scene: &CornerScene, states: &[(&'static str, &SceneState, f64)]) -> f64 {
    let outline = scene.outline.iter().map(|p| p.u.to_mm().hypot(p.w.to_mm()));
    let ride = states.iter().find(|(_, s, _)| s.name == "ride").and_then(|(_, s, _)| s.pose);
    let arm = ride.into_iter().flat_map(|p| [Some(p.wheel_centre), p.damper_arm]).flatten();
    let arm = arm.map(|p| (p.x - scene.hub.x).to_mm().hypot((p.z - scene.hub.z).to_mm()));
    let far = outline.chain(arm).filter(|r| *r < REACH_MAX).fold(0.0, f64::max);
    if far > 0.0 { far } else { REACH_USUAL }
}

fn describe(scene: &CornerScene, states: &[(&'static str, &SceneState, f64)]) -> String {
    let list: Vec<String> = states
        .iter()
        .map(|(_, s, _)| format!("{} {}", s.name, format::amount(s.angle.into())))
        .collect();
    let windows: Vec<String> =
        scene.windows.iter().map(|w| window_words(w.name, &w.spans)).collect();
    let mut text = format!("Plate angle below the body's horizontal: {}.", list.join(", "));
    if !windows.is_empty() {
        text.push_str(&format!(" What fits: {}.", windows.join("; ")));
    }
    text
}

type Spans = [(Option<Angle>, Option<Angle>)];

/// `damper −4.2° to 31.0°`.
fn window_words(name: &str, spans: &Spans) -> String {
    let end = |a: Option<Angle>| a.map(|a| format::amount(a.into()));
    let spans: Vec<String> = spans
        .iter()
        .map(|(from, to)| match (end(*from), end(*to)) {
            (Some(from), Some(to)) => format!("{} to {to}", from.trim_end_matches('°')),
            (None, Some(to)) => format!("up to {to}"),
            (Some(from), None) => format!("from {from}"),
            (None, None) => "everywhere".to_owned(),
        })
        .collect();
    match spans.is_empty() {
        true => format!("{name} nowhere"),
        false => format!("{name} {}", spans.join(", ")),
    }
}

impl View<'_> {
    fn draw_windows(&mut self) {
        let (h, (low, high)) = (self.h(), self.scale);
        for (n, window) in self.scene.windows.iter().enumerate() {
            let radius = self.scale_radius + h * (0.9 + ARC_STEP * n as f64);
            // An end off the scale is drawn like an open one: with an arrowhead.
            let is_end = |a: Option<Angle>| a.is_some_and(|a| (low..=high).contains(&a.to_deg()));
            for (from, to) in &window.spans {
                let (start, end) = (
                    from.map_or(low, |a| a.to_deg()).clamp(low, high),
                    to.map_or(high, |a| a.to_deg()).clamp(low, high),
                );
                if end <= start {
                    continue;
                }
                let arc = Arc {
                    centre: HUB,
                    radius,
                    from: -start,
                    to: -end,
                    start_arrow: !is_end(*from),
                    end_arrow: !is_end(*to),
                };
                let name = format!("window {}", window.name);
                self.drawing.narrow(name, Form::Arc(arc));
                for (angle, is_tick) in [(start, is_end(*from)), (end, is_end(*to))] {
                    if is_tick {
                        let form = Form::Line {
                            from: Point::polar(HUB, radius - h * 0.22, -angle),
                            to: Point::polar(HUB, radius + h * 0.22, -angle),
                        };
                        let name = format!("end of window {}", window.name);
                        self.drawing.add(name, LineKind::Outline, form);
                    }
                }
                self.number_window(n, radius, start, end);
            }
        }
    }

    /// The window's number in a break of its arc, near the end with the smaller angle.
    fn number_window(&mut self, n: usize, radius: f64, start: f64, end: f64) {
        let step = (self.h() * 0.5 / radius).to_degrees();
        let candidates = (2..60).map(|k| {
            let angle = (start + step * f64::from(k)).min(f64::midpoint(start, end));
            (Point::polar(HUB, radius, -angle), Anchor::Middle)
        });
        let label = self.rooms.place(&(n + 1).to_string(), candidates).strong();
        self.drawing.text(format!("window number {}", n + 1), label);
    }

    /// Reference lines of the states out to the scale, with a letter on each.
    fn draw_state_letters(&mut self) {
        let h = self.h();
        let arcs = self.scene.windows.len() as f64;
        let out = self.scale_radius + h * (0.9 + ARC_STEP * arcs);
        let at = out + h * 1.3;
        let gap = (h * 1.45 / at).to_degrees();
        let wanted: Vec<f64> = self.states.iter().map(|s| s.2).collect();
        let placed = spread(&wanted, gap);
        for ((letter, state, angle), shown) in self.states.clone().into_iter().zip(placed) {
            let accent = state.name == self.main();
            // The plate shows the line's direction; it is drawn from the bolt holes outward.
            let start = Point::polar(HUB, self.plate_reach * 0.6, -angle);
            let line = Form::Line { from: start, to: Point::polar(HUB, out - h * 0.4, -angle) };
            let tie = Form::Line {
                from: Point::polar(HUB, out - h * 0.4, -angle),
                to: Point::polar(HUB, at - h * 0.65, -shown),
            };
            let centre = Point::polar(HUB, at, -shown);
            let ring = Form::Circle { centre, radius: h * 0.65, fill: Fill::Paper };
            let label = Label::new(centre, Anchor::Middle, letter).strong();
            self.rooms.claim(label.room(h));
            let name = format!("reference line at {}", state.name);
            let d = &mut self.drawing;
            if accent {
                d.accent(name, LineKind::Centre, line);
                d.accent("letter", LineKind::Narrow, tie);
                d.accent("letter", LineKind::Narrow, ring);
                d.accent(format!("letter {letter}"), LineKind::Narrow, Form::Text(label));
            } else {
                d.add(name, LineKind::Centre, line);
                d.narrow("letter", tie);
                d.narrow("letter", ring);
                d.text(format!("letter {letter}"), label);
            }
        }
        self.draw_target_angle();
    }

    /// The angle at hang, from the horizontal to the reference line, named where there is room.
    fn draw_target_angle(&mut self) {
        let Some(angle) = self.target().filter(|a| a.abs() > 4.0) else { return };
        let (h, radius) = (self.h(), self.scale_radius * 0.42);
        let text = degrees(angle);
        let below = (0..8).map(|n| {
            let y = -self.scale_radius * 0.32 - h * f64::from(n);
            (Point::new(-h * 0.6, y), Anchor::Middle)
        });
        let label = self.rooms.place(&text, below.collect::<Vec<_>>()).strong();
        let foot = Point::polar(HUB, radius, -angle * 0.8);
        let tie = Form::Line { from: foot, to: Point::new(label.at.x, label.at.y + h * 0.6) };
        self.drawing.accent("plate angle at hang, tie", LineKind::Narrow, tie);
        let dimension = AngleDimension { centre: HUB, radius, from: 0.0, to: -angle, label };
        let name = "plate angle at hang, target";
        self.drawing.accent(name, LineKind::Narrow, Form::AngleDimension(dimension));
    }

    fn fit_frame(&mut self) {
        let shapes = &self.drawing.shapes;
        let bounds = shapes.iter().flat_map(|s| bounds(&s.form));
        let texts = self.drawing.text_rooms();
        let corners = texts
            .iter()
            .flat_map(|(_, f)| [Point::new(f.left, f.bottom), Point::new(f.right, f.top)]);
        let frame = Frame::around(bounds.chain(corners)).unwrap_or_default();
        self.drawing.frame = frame.grown(self.h() * 0.3);
    }

    /// The key under the drawing: what letters and numbers mean. Two columns where there is
    /// room, otherwise one below the other.
    fn write_key(&mut self) {
        let h = self.h();
        let frame = self.drawing.frame;
        let (letters, numbers) = (self.letter_rows(), self.number_rows());
        let width = |rows: &[(String, bool)]| {
            let widths = rows.iter().map(|(text, strong)| {
                let label = Label::new(Point::default(), Anchor::Start, text.as_str());
                Label { strong: *strong, ..label }.room(h).width()
            });
            widths.fold(0.0, f64::max)
        };
        let both = width(&letters) + width(&numbers) + h * 0.9;
        let is_wide = both <= width_max_for(h);
        let wider = if is_wide { (both - frame.width()).max(0.0) } else { 0.0 };
        let frame =
            Frame { left: frame.left - wider / 2.0, right: frame.right + wider / 2.0, ..frame };
        let left = frame.left + h * 0.2;
        let second = left + width(&letters) + h * 0.5;
        let (x, first_row) = if is_wide { (second, 0) } else { (left, letters.len()) };
        let row = |n: usize| frame.bottom - h * 1.3 - h * 1.45 * n as f64;
        let below = letters.len().max(first_row + numbers.len());
        let columns = [(left, 0, letters), (x, first_row, numbers)];
        for (x, first, rows) in columns {
            for (n, (text, strong)) in rows.into_iter().enumerate() {
                let name = format!("key {}", text.split(' ').next().unwrap_or_default());
                let label = Label::new(Point::new(x, row(first + n)), Anchor::Start, text);
                if strong {
                    let form = Form::Text(label.strong());
                    self.drawing.accent(name, LineKind::Narrow, form);
                } else {
                    self.drawing.text(name, label);
                }
            }
        }
        self.drawing.frame = Frame { bottom: row(below.saturating_sub(1)) - h * 1.1, ..frame };
    }

    fn letter_rows(&self) -> Vec<(String, bool)> {
        let row = |(letter, state, angle): &(&str, &SceneState, f64)| {
            let trim = match state.pose.filter(|_| state.name == "ride") {
                Some(pose) => {
                    let trim = (self.scene.hub.z - pose.wheel_centre.z).to_mm();
                    format!(", trim {}", format::figures(trim, 0))
                }
                None => String::new(),
            };
            let text = format!("{letter} {} {}{trim}", state.name, degrees(*angle));
            (text, state.name == self.main())
        };
        self.states.iter().map(row).collect()
    }

    fn number_rows(&self) -> Vec<(String, bool)> {
        let windows = self.scene.windows.iter().enumerate();
        let row = |(n, w): (usize, &axlewright_setup::NamedWindow)| {
            (format!("{} {}", n + 1, window_words(w.name, &w.spans)), false)
        };
        windows.map(row).collect()
    }
}

fn degrees(angle: f64) -> String {
    format::amount(Angle::deg(angle).into())
}

/// Points that a shape's ink does not pass, good enough to fit a frame.
fn bounds(form: &Form) -> Vec<Point> {
    match form {
        Form::Line { from, to } | Form::Arrow { from, to } => vec![*from, *to],
        Form::Polyline { points, .. } => points.clone(),
        Form::Circle { centre, radius, .. } => vec![
            Point::new(centre.x - radius, centre.y - radius),
            Point::new(centre.x + radius, centre.y + radius),
        ],
        Form::Arc(arc) => (0..=8)
            .map(|n| {
                let part = f64::from(n) / 8.0;
                Point::polar(arc.centre, arc.radius, arc.from + (arc.to - arc.from) * part)
            })
            .collect(),
        Form::Leader { tip, .. } => vec![*tip],
        Form::Dimension(d) => vec![d.from, d.to],
        _ => Vec::new(),
    }
}

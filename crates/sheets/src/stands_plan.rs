//! The car on its stands in plan: loads, centre of mass, and the least pushes.
//!
//! ```text
//!            nose ▲
//!       ▣ LF      │      ▣ RF     ▣ foot of a stand, drawn to scale
//!             ◄───⊕───►           ⊕ centre of mass; arrows as long as the least
//!       ▣ LR      ▼      ▣ RR       push in that direction is strong
//! ```
//!
//! X (forward) is up the page, Y (left) to the left of it.

use axlewright_quantity::{Force, Place};
use axlewright_setup::{StandScene, SupportScene, UpsetArrow};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, LineKind, Point, text_height_for};
use crate::format;
use crate::labels::Rooms;

/// A place further away than this, in millimetres, is a slip of the pen.
const REACH_MAX: f64 = 20_000.0;
/// No stand has a foot of more than this half width, in millimetres.
const FOOT_MAX: f64 = 500.0;

/// The stands seen from above, nose up; nothing if there is no stand to draw.
///
/// # Units and sign
/// Millimetres; forward is up, left is left. Arrows start at the centre of mass, their length
/// in proportion to the push.
pub fn stands_plan(scene: &SupportScene) -> Option<Drawing> {
    let stands: Vec<&StandScene> = scene.stands.iter().filter(|s| in_reach(&s.at)).collect();
    let feet = Frame::around(stands.iter().map(|s| plan(&s.at)))?;
    let feet = feet.grown(stands.iter().map(|s| half_foot(s)).fold(60.0, f64::max));
    // Room beside the feet for half of a stand's longest line.
    let h = text_height_for(feet.width() * 1.3);
    let side = feet.width() * 0.15;
    let mut drawing = Drawing {
        name: "stands-plan".to_owned(),
        title: "The car on its stands, seen from above".to_owned(),
        description: describe(scene),
        frame: Frame {
            left: feet.left - side,
            right: feet.right + side,
            bottom: feet.bottom - h * 4.2,
            top: feet.top + h * 5.2,
        },
        text_height: h,
        shapes: Vec::new(),
    };
    let mut rooms = Rooms::new(h);
    draw_nose(&mut drawing, &mut rooms, feet);
    draw_polygon(&mut drawing, &stands);
    for stand in &stands {
        draw_stand(&mut drawing, &mut rooms, stand, feet);
    }
    if in_reach(&scene.centre) {
        draw_pushes(&mut drawing, &mut rooms, scene, feet);
    }
    let texts = drawing.text_rooms().into_iter().map(|(_, room)| room).filter(|r| r.is_finite());
    drawing.frame = texts.fold(drawing.frame, Frame::joined);
    Some(drawing)
}

fn in_reach(place: &Place) -> bool {
    plan(place).distance(Point::default()) < REACH_MAX
}

/// Half the width of a foot, in millimetres; a slip of the pen does not cover the drawing.
fn half_foot(stand: &StandScene) -> f64 {
    let half = stand.foot.to_mm();
    if (0.0..=FOOT_MAX).contains(&half) { half } else { 0.0 }
}

/// From above: forward is up, left is left.
fn plan(place: &Place) -> Point {
    Point::new(-place.y.to_mm(), place.x.to_mm())
}

fn draw_nose(drawing: &mut Drawing, rooms: &mut Rooms, feet: Frame) {
    let h = drawing.text_height;
    let x = f64::midpoint(feet.left, feet.right);
    let foot = feet.top + h * 1.4;
    let from = Point::new(x, foot);
    let form = Form::Arrow { from, to: Point::new(x, foot + h * 1.6) };
    drawing.add("direction of the nose", LineKind::Outline, form);
    let label = rooms.place("nose", [(Point::new(x, foot + h * 2.4), Anchor::Middle)]);
    drawing.text("nose", label);
    let form = Form::Line {
        from: Point::new(x, feet.bottom - h * 0.5),
        to: Point::new(x, feet.top + h * 1.0),
    };
    drawing.add("centre plane", LineKind::Centre, form);
}

/// The area between the stands, around which the car is safe from tipping as a whole.
fn draw_polygon(drawing: &mut Drawing, stands: &[&StandScene]) {
    let mut points: Vec<Point> = stands.iter().map(|s| plan(&s.at)).collect();
    let n = points.len() as f64;
    let middle =
        points.iter().fold(Point::default(), |sum, p| Point::new(sum.x + p.x / n, sum.y + p.y / n));
    let direction = |p: &Point| (p.y - middle.y).atan2(p.x - middle.x);
    points.sort_by(|a, b| direction(a).total_cmp(&direction(b)));
    if points.len() > 2 {
        let form = Form::Polyline { points, closed: true, fill: Fill::Empty };
        drawing.add("area between the stands", LineKind::Hidden, form);
    }
}

fn draw_stand(drawing: &mut Drawing, rooms: &mut Rooms, stand: &StandScene, feet: Frame) {
    let h = drawing.text_height;
    let at = plan(&stand.at);
    let f = half_foot(stand);
    let corners = [(-f, -f), (f, -f), (f, f), (-f, f)];
    let points: Vec<Point> =
        corners.into_iter().map(|(x, y)| Point::new(at.x + x, at.y + y)).collect();
    let square = Frame { left: at.x - f, right: at.x + f, bottom: at.y - f, top: at.y + f };
    rooms.claim(square);
    let form = Form::Hatch { loops: vec![points.clone()], pitch: h * 0.6, angle: 45.0 };
    drawing.narrow(format!("foot of stand {}", stand.name), form);
    let form = Form::Polyline { points, closed: true, fill: Fill::Empty };
    drawing.add(format!("stand {}", stand.name), LineKind::Outline, form);
    let form = Form::Circle { centre: at, radius: h * 0.35, fill: Fill::Paper };
    drawing.add(format!("saddle of stand {}", stand.name), LineKind::Outline, form);
    let is_front = at.y >= f64::midpoint(feet.bottom, feet.top);
    let lines = [
        stand.name.clone(),
        format::amount(stand.estimate.into()),
        format!("{} to {}", newtons(stand.range.0), newtons(stand.range.1)),
    ];
    for (n, text) in lines.iter().enumerate() {
        // Above the front stands, below the rear ones; the name nearest to its stand.
        let away = h * (0.8 + 1.2 * n as f64);
        let y = if is_front { square.top + h * 3.9 - away } else { square.bottom - away };
        let mut label = rooms.place(text, [(Point::new(at.x, y), Anchor::Middle)]);
        label.strong = n == 1;
        drawing.text(format!("stand {}, line {}", stand.name, n + 1), label);
    }
}

fn newtons(force: Force) -> String {
    format::figures(force.to_n(), 0)
}

fn draw_pushes(drawing: &mut Drawing, rooms: &mut Rooms, scene: &SupportScene, feet: Frame) {
    let h = drawing.text_height;
    let centre = plan(&scene.centre);
    let strongest = scene.pushes.iter().map(|p| p.push.to_n()).filter(|n| n.is_finite());
    let strongest = strongest.fold(0.0, f64::max);
    let longest = feet.width().min(feet.height()) * 0.36;
    let direction = |push: &UpsetArrow| {
        let length = push.forward.hypot(push.left);
        Point::new(-push.left / length, push.forward / length)
    };
    let usable = |p: &&UpsetArrow| {
        p.push.to_n() > 0.0 && p.push.is_finite() && direction(p).is_finite() && strongest > 0.0
    };
    let pushes: Vec<&UpsetArrow> = scene.pushes.iter().filter(usable).collect();
    let tip = |push: &UpsetArrow, more: f64| {
        let (d, long) = (direction(push), longest * push.push.to_n() / strongest + more);
        Point::new(centre.x + d.x * long, centre.y + d.y * long)
    };
    let outline: Vec<Point> = pushes.iter().map(|p| tip(p, 0.0)).collect();
    if outline.len() > 2 {
        let form = Form::Polyline { points: outline, closed: true, fill: Fill::Empty };
        drawing.add("outline of the least pushes", LineKind::OtherPosition, form);
    }
    let weakest = pushes.iter().map(|p| p.push.to_n()).fold(f64::MAX, f64::min);
    for push in &pushes {
        let (to, d) = (tip(push, 0.0), direction(push));
        let form = Form::Arrow { from: centre, to };
        let name = format!("push {}", push.words);
        let is_least = push.push.to_n() <= weakest;
        if is_least {
            drawing.accent(name, LineKind::Outline, form);
        } else {
            drawing.narrow(name, form);
        }
        let anchor = match d.x {
            x if x > 0.35 => Anchor::Start,
            x if x < -0.35 => Anchor::End,
            _ => Anchor::Middle,
        };
        let candidates = (0..12).map(|n| (tip(push, h * (0.75 + 0.35 * f64::from(n))), anchor));
        let label = rooms.place(&format::amount(push.push.into()), candidates);
        let name = format!("push {}, number", push.words);
        if is_least {
            drawing.accent(name, LineKind::Narrow, Form::Text(label.strong()));
        } else {
            drawing.text(name, label);
        }
    }
    draw_centre(drawing, centre);
}

/// Centre of mass: a circle with two opposite quarters filled.
fn draw_centre(drawing: &mut Drawing, centre: Point) {
    let radius = drawing.text_height * 0.55;
    let form = Form::Circle { centre, radius, fill: Fill::Paper };
    drawing.add("centre of mass", LineKind::Outline, form);
    for start in [0.0, 180.0] {
        let rim = (0..=8).map(|n| Point::polar(centre, radius, start + 11.25 * f64::from(n)));
        let points = std::iter::once(centre).chain(rim).collect();
        let form = Form::Polyline { points, closed: true, fill: Fill::Solid };
        drawing.narrow("centre of mass, quarter", form);
    }
}

fn describe(scene: &SupportScene) -> String {
    let stands: Vec<String> = scene
        .stands
        .iter()
        .map(|s| format!("{} carries about {}", s.name, format::amount(s.estimate.into())))
        .collect();
    let pushes: Vec<String> = scene
        .pushes
        .iter()
        .map(|p| format!("{} at {}: {}", p.words, format::amount(p.push.into()), p.gives_way))
        .collect();
    let mut text = format!("Stands: {}.", stands.join(", "));
    if !pushes.is_empty() {
        text.push_str(&format!(
            " The car can come off by a push {} above the floor: {}.",
            format::amount(scene.push_height.into()),
            pushes.join("; "),
        ));
    }
    text
}

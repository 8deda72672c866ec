//! The bolts of a joint as their heads are seen, with the order in which they are tightened.
//!
//! ```text
//!      ⬡₁ ─────────→ …        in each head its place in the order, an arrow to the next
//!           ✚                 ✚ the middle of all bolts
//!      …            ⬡₂        beside each head its letter: A for bolt 1 of the car file
//!   ←── nose                  where it is known which way the heads look
//! ```
//!
//! x to the right and y up, as the car file has them; a right joint is the mirror of its left one.

use axlewright_quantity::Length;
use axlewright_setup::joints::{BoltScene, JointScene, Nose, bolt_letter};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for};
use crate::labels::Rooms;

/// A place further away than this, in millimetres, is a slip of the pen.
const REACH_MAX: f64 = 20_000.0;
/// Sizes of heads, in millimetres; what is not known or cannot be is drawn in between.
const HEAD_MIN: f64 = 4.0;
const HEAD_MAX: f64 = 60.0;
/// A hexagon is a little wider than the face that bears under it.
const FLATS_OF_FACE: f64 = 1.0 / 0.93;
/// Of so many bolts the arrows from one to the next are drawn; more would only cross.
const ARROWS_MAX: usize = 12;

/// The layout of a joint; nothing without two bolts or more.
///
/// # Units and sign
/// Millimetres, seen from the bolt heads, to scale.
pub fn joint_layout(scene: &JointScene) -> Option<Drawing> {
    let bolts: Vec<&BoltScene> = scene.layout.iter().filter(|bolt| in_reach(bolt)).collect();
    if bolts.len() < 2 {
        return None;
    }
    let across = flats(scene.head);
    let around = Frame::around(bolts.iter().map(|bolt| at(bolt)))?.grown(across);
    let around = at_least_as_high(around, across);
    // A joint of small extent gets no giant letters: the drawing is widened instead.
    let h = text_height_for(around.width() * 1.2);
    let mut drawing = Drawing {
        name: format!("joint-{}", scene.joint),
        title: format!("Order of tightening, {}", scene.name),
        description: describe(scene, &bolts),
        frame: around.grown(h * 1.4),
        text_height: h,
        shapes: Vec::new(),
    };
    let mut rooms = Rooms::new(h);
    for bolt in &bolts {
        rooms.claim(head_frame(at(bolt), across));
    }
    draw_middle(&mut drawing, &mut rooms, &bolts, across);
    draw_ways(&mut drawing, &bolts, across);
    for bolt in &bolts {
        draw_bolt(&mut drawing, &mut rooms, bolt, across, scene.thread);
    }
    let texts = drawing.text_rooms().into_iter().map(|(_, room)| room).filter(|r| r.is_finite());
    drawing.frame = texts.fold(drawing.frame, Frame::joined);
    if let Some(nose) = scene.nose {
        draw_nose(&mut drawing, nose);
    }
    Some(drawing)
}

/// Below all bolts an arrow to the nose of the car, at the edge it points to.
fn draw_nose(drawing: &mut Drawing, nose: Nose) {
    let (h, frame) = (drawing.text_height, drawing.frame);
    let y = frame.bottom - h * 0.9;
    let (edge, way, anchor) = match nose {
        Nose::Left => (frame.left, 1.0, Anchor::Start),
        Nose::Right => (frame.right, -1.0, Anchor::End),
    };
    let tail = edge + way * h * 4.0;
    let form = Form::Arrow { from: Point::new(tail, y), to: Point::new(edge, y) };
    drawing.add("arrow to the nose", LineKind::Outline, form);
    let label = Label::new(Point::new(tail + way * h * 0.6, y), anchor, "nose".to_owned());
    drawing.text("name of the arrow", label);
    drawing.frame.bottom = y - h * 0.9;
}

fn in_reach(bolt: &BoltScene) -> bool {
    at(bolt).distance(Point::default()) < REACH_MAX
}

fn at(bolt: &BoltScene) -> Point {
    Point::new(bolt.x.to_mm(), bolt.y.to_mm())
}

/// Width across flats of the hexagons, in millimetres.
fn flats(head: Option<Length>) -> f64 {
    let face = head.map_or(f64::NAN, Length::to_mm);
    let face = if face.is_finite() { face } else { 15.0 };
    face.clamp(HEAD_MIN, HEAD_MAX) * FLATS_OF_FACE
}

/// A row of bolts is given some height, so that the labels have room.
fn at_least_as_high(frame: Frame, across: f64) -> Frame {
    let missing = (frame.width() * 0.3 - frame.height()).max(0.0) / 2.0;
    let narrow = (frame.height() * 0.8 - frame.width()).max(across) / 2.0;
    Frame {
        left: frame.left - narrow,
        right: frame.right + narrow,
        bottom: frame.bottom - missing,
        top: frame.top + missing,
    }
}

fn head_frame(centre: Point, across: f64) -> Frame {
    let half = across / 3.0_f64.sqrt();
    Frame { left: centre.x, right: centre.x, bottom: centre.y, top: centre.y }.grown(half)
}

fn describe(scene: &JointScene, bolts: &[&BoltScene]) -> String {
    let mut turns: Vec<&&BoltScene> = bolts.iter().collect();
    turns.sort_by_key(|bolt| bolt.turn);
    let letters: Vec<String> = turns.iter().map(|bolt| bolt_letter(bolt.number)).collect();
    let nose = scene
        .nose
        .map_or(String::new(), |nose| format!(", the nose of the car to the {}", nose.word()));
    format!(
        "{} bolts of {}, seen from their heads{nose}. Tighten bolt {} in this order, in every \
         pass.",
        bolts.len(),
        scene.name,
        letters.join(", then "),
    )
}

/// The middle of all bolts, with centre lines through it.
fn draw_middle(drawing: &mut Drawing, rooms: &mut Rooms, bolts: &[&BoltScene], across: f64) {
    let n = bolts.len() as f64;
    let middle = bolts.iter().fold(Point::default(), |sum, bolt| {
        Point::new(sum.x + bolt.x.to_mm() / n, sum.y + bolt.y.to_mm() / n)
    });
    let arm = across * 0.35;
    for (name, dx, dy) in [("middle, across", arm, 0.0), ("middle, upright", 0.0, arm)] {
        let from = Point::new(middle.x - dx, middle.y - dy);
        let to = Point::new(middle.x + dx, middle.y + dy);
        drawing.narrow(name, Form::Line { from, to });
    }
    let point = Frame { left: middle.x, right: middle.x, bottom: middle.y, top: middle.y };
    rooms.claim(point.grown(arm));
}

/// Arrows from each bolt to the next.
fn draw_ways(drawing: &mut Drawing, bolts: &[&BoltScene], across: f64) {
    if ARROWS_MAX < bolts.len() {
        return;
    }
    let mut turns: Vec<&&BoltScene> = bolts.iter().collect();
    turns.sort_by_key(|bolt| bolt.turn);
    for (from, to) in turns.iter().zip(turns.iter().skip(1)) {
        let (a, b) = (at(from), at(to));
        let long = a.distance(b);
        let clear = across * 0.78;
        if long <= clear * 2.0 {
            continue;
        }
        let form =
            Form::Arrow { from: a.toward(b, clear / long), to: a.toward(b, 1.0 - clear / long) };
        drawing.narrow(format!("from bolt {} to bolt {}", from.number, to.number), form);
    }
}

fn draw_bolt(
    drawing: &mut Drawing,
    rooms: &mut Rooms,
    bolt: &BoltScene,
    across: f64,
    thread: Option<Length>,
) {
    let h = drawing.text_height;
    let centre = at(bolt);
    let number = bolt.number;
    // Corners of a hexagon are half its flats over cos 30° from the middle.
    let corner = across / 3.0_f64.sqrt();
    let reach = corner + across * 0.16;
    for (name, dx, dy) in [("across", reach, 0.0), ("upright", 0.0, reach)] {
        let from = Point::new(centre.x - dx, centre.y - dy);
        let to = Point::new(centre.x + dx, centre.y + dy);
        let name = format!("centre line of bolt {number}, {name}");
        drawing.add(name, LineKind::Centre, Form::Line { from, to });
    }
    let points: Vec<Point> =
        (0..6).map(|n| Point::polar(centre, corner, 30.0 + 60.0 * f64::from(n))).collect();
    let form = Form::Polyline { points, closed: true, fill: Fill::Paper };
    drawing.add(format!("head of bolt {number}"), LineKind::Outline, form);
    let inside = Label::new(centre, Anchor::Middle, bolt.turn.to_string()).strong();
    let room = inside.room(h);
    let fits = room.width() < across * 0.9 && room.height() < across;
    if fits {
        let name = format!("turn of bolt {number}");
        drawing.accent(name, LineKind::Narrow, Form::Text(inside));
    } else if let Some(thread) = thread.filter(|thread| thread.is_finite()) {
        let radius = (thread.to_mm() / 2.0).clamp(0.5, across * 0.4);
        let form = Form::Circle { centre, radius, fill: Fill::Empty };
        drawing.narrow(format!("thread of bolt {number}"), form);
    }
    let letter = bolt_letter(number);
    let text = if fits { letter } else { format!("{}: {letter}", bolt.turn) };
    let off = corner + h * 0.85;
    let aside = across / 2.0 + h * 0.4;
    let label = rooms.place(
        &text,
        [
            (Point::new(centre.x, centre.y - off), Anchor::Middle),
            (Point::new(centre.x, centre.y + off), Anchor::Middle),
            (Point::new(centre.x + aside, centre.y), Anchor::Start),
            (Point::new(centre.x - aside, centre.y), Anchor::End),
        ],
    );
    drawing.text(format!("name of bolt {number}"), label.strong());
}

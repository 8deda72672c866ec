//! The car in plan on its wheels: what each wheel reads, and what to move there.
//!
//! ```text
//!   210 kg  ▯────┬────▯  215 kg          nose up the page; the body dashed
//!           │    │    │
//!           │    ⊕    │                  accent: what to turn, at the wheel it belongs to
//!   288 kg  ▯═O──┼──O═▯  272 kg
//!   trim 99 mm        trim 94 mm
//! ```
//!
//! To no scale: places are where they are on every car, figures are what counts.

use axlewright_setup::{Assessment, Item};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for};
use crate::format;

/// Width of the drawing in its own millimetres.
const WIDTH: f64 = 200.0;
/// Half the track, and where the axles are.
const HALF_TRACK: f64 = 17.5;
const AXLES: [f64; 2] = [66.0, 0.0];
/// Half width and half length of a tyre.
const TYRE: (f64, f64) = (3.0, 9.0);
/// Letters that fit beside the car.
const LETTERS: usize = 22;

/// One wheel: its code, which side it is drawn on, which axle.
const WHEELS: [(&str, f64, usize); 4] =
    [("LF", -1.0, 0), ("RF", 1.0, 0), ("LR", -1.0, 1), ("RR", 1.0, 1)];

/// What is read and moved at the four wheels; nothing before the first round.
///
/// # Units and sign
/// Figures as in the findings `car.state` and `car.moves`.
pub fn wheels_plan(all: &Assessment) -> Option<Drawing> {
    let state = all.find("car.state", None)?;
    let readings = state.value.get("readings").map(Item::items).unwrap_or_default();
    let steps = all.find("car.moves", None).and_then(|found| found.value.get("steps"));
    let steps = steps.map(Item::items).unwrap_or_default();
    let h = text_height_for(WIDTH);
    let columns: Vec<(Vec<String>, Vec<String>)> =
        WHEELS.iter().map(|(code, ..)| (read(readings, code), moved(steps, code))).collect();
    let longest = |axle: usize| {
        let of = WHEELS.iter().zip(&columns).filter(|((.., a), _)| *a == axle);
        of.map(|(_, (read, moved))| read.len() + moved.len()).max().unwrap_or(0)
    };
    let line = h * 1.35;
    // The front's column must end above where the rear's begins.
    let front_foot = line * (longest(0) as f64 + 1.5);
    let apart = (AXLES[0] - AXLES[1]).max(front_foot);
    let axles = [apart, 0.0];
    let bottom = (-line * (longest(1) as f64)).min(-TYRE.1 - h * 2.0);
    let mut drawing = Drawing {
        name: "wheels-plan".to_owned(),
        title: "The car on its wheels".to_owned(),
        description: describe(&columns),
        frame: Frame { left: 0.0, right: WIDTH, bottom, top: apart + TYRE.1 + h * 3.0 },
        text_height: h,
        shapes: Vec::new(),
    };
    body(&mut drawing, axles, h);
    for ((code, way, axle), (read, moved)) in WHEELS.iter().zip(&columns) {
        let y = axles.get(*axle).copied().unwrap_or(0.0);
        wheel(&mut drawing, code, Point::new(WIDTH / 2.0 + way * HALF_TRACK, y), !moved.is_empty());
        let anchor = if *way < 0.0 { Anchor::End } else { Anchor::Start };
        let x = WIDTH / 2.0 + way * (HALF_TRACK + TYRE.0 + 3.0);
        let mut at = y + line * 0.5;
        for (n, text) in read.iter().enumerate() {
            let label = Label::new(Point::new(x, at), anchor, text.clone());
            let label = if n == 0 { label.strong() } else { label };
            drawing.text(format!("{code}, line {}", n + 1), label);
            at -= line;
        }
        for (n, text) in moved.iter().enumerate() {
            let label = Label::new(Point::new(x, at), anchor, text.clone());
            drawing.accent(format!("{code}, move {}", n + 1), LineKind::Narrow, Form::Text(label));
            at -= line;
        }
    }
    Some(drawing)
}

/// The body dashed, its centre line, both axles, the nose.
fn body(drawing: &mut Drawing, axles: [f64; 2], h: f64) {
    let (middle, [front, rear]) = (WIDTH / 2.0, axles);
    let half = HALF_TRACK - TYRE.0 - 2.0;
    let points = [
        (-half * 0.75, front + TYRE.1 + h),
        (half * 0.75, front + TYRE.1 + h),
        (half, front),
        (half, rear),
        (half * 0.8, rear - TYRE.1),
        (-half * 0.8, rear - TYRE.1),
        (-half, rear),
        (-half, front),
    ];
    let points = points.iter().map(|(x, y)| Point::new(middle + x, *y)).collect();
    let outline = Form::Polyline { points, closed: true, fill: Fill::Empty };
    drawing.add("body", LineKind::Hidden, outline);
    let centre = Form::Line {
        from: Point::new(middle, rear - TYRE.1 - h * 0.6),
        to: Point::new(middle, front + TYRE.1 + h * 1.6),
    };
    drawing.add("centre line", LineKind::Centre, centre);
    for (name, y) in [("front axle", front), ("rear axle", rear)] {
        let from = Point::new(middle - HALF_TRACK, y);
        let to = Point::new(middle + HALF_TRACK, y);
        drawing.add(name, LineKind::Centre, Form::Line { from, to });
    }
    let nose = Form::Arrow {
        from: Point::new(middle, (front + rear) / 2.0 - h * 1.5),
        to: Point::new(middle, (front + rear) / 2.0 + h * 1.5),
    };
    drawing.narrow("to the nose", nose);
    let at = Point::new(middle, front + TYRE.1 + h * 2.2);
    drawing.text("nose", Label::new(at, Anchor::Middle, "nose"));
}

fn wheel(drawing: &mut Drawing, code: &str, at: Point, is_moved: bool) {
    let (w, l) = TYRE;
    let points = [(-w, -l), (w, -l), (w, l), (-w, l)];
    let points = points.iter().map(|(x, y)| Point::new(at.x + x, at.y + y)).collect();
    let form = Form::Polyline { points, closed: true, fill: Fill::Paper };
    let name = format!("tyre {code}");
    if is_moved {
        drawing.accent(name, LineKind::Outline, form);
    } else {
        drawing.add(name, LineKind::Outline, form);
    }
}

fn word<'a>(item: &'a Item, key: &str) -> &'a str {
    match item.get(key) {
        Some(Item::Word(word)) => word,
        _ => "",
    }
}

/// What was read last at a wheel, the weight first.
fn read(readings: &[Item], code: &str) -> Vec<String> {
    let last = readings.iter().filter_map(|row| match row.get("round") {
        Some(Item::Count(round, _)) => Some(*round),
        _ => None,
    });
    let Some(last) = last.max() else { return vec![code.to_owned()] };
    let of_last = |row: &&Item| matches!(row.get("round"), Some(Item::Count(n, _)) if *n == last);
    let own = readings.iter().filter(of_last).filter(|row| word(row, "corner") == code);
    let mut lines = Vec::new();
    for row in own {
        let Some(leaf) = row.get("read").and_then(Item::as_leaf) else { continue };
        let shown = format::shown(leaf);
        let value = format!("{}{}", shown.number, format::with_space(shown.unit));
        let doubt = if row.get("fits") == Some(&Item::Flag(false)) { " ?" } else { "" };
        lines.push(match word(row, "what") {
            "weight" => format!("{code} {value}{doubt}"),
            "toe" => format!("toe-in {value}{doubt}"),
            what => format!("{what} {value}{doubt}"),
        });
    }
    if !lines.first().is_some_and(|line| line.starts_with(code)) {
        lines.insert(0, code.to_owned());
    }
    lines
}

/// What to move at a wheel, in as few words as there is room for.
fn moved(steps: &[Item], code: &str) -> Vec<String> {
    let own = steps.iter().filter(|step| word(step, "corner") == code);
    let mut lines = Vec::new();
    for step in own {
        match word(step, "what") {
            "teeth" => {
                let count = |key| match step.get(key) {
                    Some(Item::Count(n, _)) => i32::try_from(*n).unwrap_or(0),
                    _ => 0,
                };
                for (end, n) in [("anchor", count("anchor_teeth")), ("plate", count("plate_teeth"))]
                {
                    if n != 0 {
                        let way = if n < 0 { "up" } else { "down" };
                        lines.push(format!("{end} {}, tail {way}", n.unsigned_abs()));
                    }
                }
            }
            "front screw" => {
                let turns = step.get("turns").and_then(Item::amount).map_or(0.0, |a| a.to_si());
                let way = if turns < 0.0 { "down" } else { "up" };
                lines.push(format!("screw {:.2} {way}", turns.abs()));
            }
            "eccentrics" => {
                lines.push("eccentrics".to_owned());
                for (key, ways) in
                    [("along_the_plate", ["back", "forward"]), ("across_the_plate", ["up", "down"])]
                {
                    let mark = step.get(key).and_then(|one| one.get("mark"));
                    let mark = mark.and_then(Item::amount).map_or(0.0, |a| a.shown());
                    if 0.05 <= mark.abs() {
                        let [more, less] = ways;
                        let way = if mark < 0.0 { less } else { more };
                        lines.push(format!("{:.1} mm {way}", mark.abs()));
                    }
                }
            }
            _ => {}
        }
    }
    lines.into_iter().map(|line| shortened(&line)).collect()
}

fn shortened(line: &str) -> String {
    if line.chars().count() <= LETTERS {
        return line.to_owned();
    }
    let start: String = line.chars().take(LETTERS - 1).collect();
    format!("{start}…")
}

fn describe(columns: &[(Vec<String>, Vec<String>)]) -> String {
    let one = |(read, moved): &(Vec<String>, Vec<String>)| {
        let moves =
            if moved.is_empty() { String::new() } else { format!("; move: {}", moved.join(", ")) };
        format!("{}{moves}", read.join(", "))
    };
    columns.iter().map(one).collect::<Vec<String>>().join(". ")
}

//! Camber, toe and damper length over wheel travel: three plots above each other that share the
//! travel axis, with droop, ride and full bump marked.

use axlewright_quantity::Angle;
use axlewright_setup::{Finding, Item};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for};
use crate::format;
use crate::labels::spread;

/// Width of the drawing in its own millimetres.
const WIDTH: f64 = 200.0;
/// Room left of the plots for the numbers on their axes.
const LEFT: f64 = 32.0;
/// Room between the value axis and the first row, so that its mark clears the titles.
const PAD: f64 = 11.0;
/// Room right of the plots.
const RIGHT: f64 = 10.0;
/// Height of one plot.
const PLOT: f64 = 40.0;
/// Aim for about so many divisions on an axis.
const DIVISIONS: f64 = 3.0;
/// More parts than this would set the numbers of a value axis on top of each other.
const PARTS_MAX: f64 = 4.01;
/// More ticks than this are never drawn.
const TICKS_MAX: usize = 24;

struct Curve {
    title: String,
    /// Travel and value, in printed units.
    points: Vec<(f64, f64)>,
}

/// The curves of a `travel` finding; nothing if its table has fewer than two rows.
///
/// Marks are names with plate angles (droop, ride, full bump); each is put where the table
/// reaches that plate angle.
///
/// # Units and sign
/// Travel in millimetres, + when the wheel moves up in the body.
pub fn travel_curves(travel: &Finding, marks: &[(&'static str, Angle)]) -> Option<Drawing> {
    let rows = travel.value.items();
    let curves: Vec<Curve> = [("camber", "camber"), ("toe", "toe-in"), ("damper", "damper")]
        .into_iter()
        .filter_map(|(key, name)| curve(rows, key, name))
        .collect();
    let all = curves.iter().flat_map(|c| &c.points).map(|(t, _)| Point::new(*t, 0.0));
    let range = Frame::around(all).filter(|f| f.width() > 0.0)?;
    let h = text_height_for(WIDTH);
    let marks = travels_of(rows, marks);
    let subject = travel.of.as_ref().map(crate::words::subject).unwrap_or_default();
    let mut drawing = Drawing {
        name: format!("travel-{}", subject.replace(' ', "-").to_lowercase()),
        title: format!("{subject}: camber, toe-in and damper length over wheel travel"),
        description: describe(&curves),
        frame: Frame { left: 0.0, right: WIDTH, bottom: 0.0, top: h * 2.4 },
        text_height: h,
        shapes: Vec::new(),
    };
    let x = |t: f64| LEFT + PAD + (t - range.left) / range.width() * (WIDTH - LEFT - PAD - RIGHT);
    let block = PLOT + h * 2.6;
    let foot = -block * curves.len() as f64;
    draw_marks(&mut drawing, &marks, &x, foot + h * 0.2);
    for (n, curve) in curves.iter().enumerate() {
        draw_plot(&mut drawing, curve, &x, -block * n as f64 - h * 2.2);
    }
    draw_travel_axis(&mut drawing, range, &x, foot + h * 0.2);
    drawing.frame.bottom = foot - h * 3.2;
    Some(drawing)
}

fn value(row: &Item, key: &str) -> Option<f64> {
    row.get(key).and_then(Item::amount).map(format::printed).filter(|v| v.is_finite())
}

fn curve(rows: &[Item], key: &str, name: &str) -> Option<Curve> {
    let points: Vec<(f64, f64)> =
        rows.iter().filter_map(|row| Some((value(row, "travel")?, value(row, key)?))).collect();
    let unit = rows.iter().find_map(|row| row.get(key)?.amount()).map(|a| format::unit(a.kind()));
    (points.len() > 1).then(|| Curve { title: format!("{name}, {}", unit.unwrap_or("")), points })
}

/// Travel at which the table's plate angle is the mark's, between two rows.
fn travels_of(rows: &[Item], marks: &[(&'static str, Angle)]) -> Vec<(&'static str, f64)> {
    let table: Vec<(f64, f64)> = rows
        .iter()
        .filter_map(|row| Some((value(row, "travel")?, value(row, "plate_angle")?)))
        .collect();
    let travel_at = |angle: f64| {
        table.iter().zip(table.iter().skip(1)).find_map(|((t1, a1), (t2, a2))| {
            let part = (angle - a1) / (a2 - a1);
            (-1e-6..=1.0 + 1e-6).contains(&part).then(|| t1 + (t2 - t1) * part)
        })
    };
    marks.iter().filter_map(|(name, angle)| Some((*name, travel_at(angle.to_deg())?))).collect()
}

fn draw_marks(
    drawing: &mut Drawing,
    marks: &[(&'static str, f64)],
    x: &impl Fn(f64) -> f64,
    foot: f64,
) {
    let h = drawing.text_height;
    // Room for the longest word, so that neighbours stay apart.
    let longest = marks.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let gap = h * 0.6 * longest as f64;
    let wanted: Vec<f64> = marks.iter().map(|(_, t)| x(*t)).collect();
    let half = gap / 2.0;
    let held: Vec<f64> = wanted.iter().map(|p| p.clamp(half, WIDTH - half)).collect();
    for (((name, _), at), shown) in marks.iter().zip(wanted).zip(spread(&held, gap)) {
        let (top, foot) = (Point::new(at, 0.0), Point::new(at, foot));
        let form = Form::Line { from: top, to: foot };
        drawing.add(format!("mark {name}"), LineKind::Centre, form);
        let tie = Form::Line { from: top, to: Point::new(shown, h * 0.6) };
        drawing.narrow(format!("mark {name}, tie"), tie);
        let label = Label::new(Point::new(shown, h * 1.3), Anchor::Middle, *name);
        drawing.text(format!("mark {name}, word"), label);
    }
}

fn draw_plot(drawing: &mut Drawing, curve: &Curve, x: &impl Fn(f64) -> f64, top: f64) {
    let h = drawing.text_height;
    let values = Frame::around(curve.points.iter().map(|(_, v)| Point::new(0.0, *v)));
    let Some(values) = values else { return };
    let (low, high, step) = value_axis(values);
    let span = high - low;
    let y = |v: f64| top - PLOT + (v - low) / span * PLOT;
    let name = curve.title.split(',').next().unwrap_or_default();
    let title = Label::new(Point::new(0.5, top + h * 1.3), Anchor::Start, &curve.title).strong();
    drawing.text(format!("{name}, title"), title);
    let places = places(step);
    for n in 0..TICKS_MAX {
        let v = low + step * n as f64;
        if v > high + step * 0.01 {
            break;
        }
        let from = Point::new(LEFT, y(v));
        let is_zero = v.abs() < step * 0.01;
        let end = if is_zero { WIDTH - RIGHT } else { LEFT + h * 0.35 };
        let form = Form::Line { from, to: Point::new(end, y(v)) };
        drawing.narrow(format!("{name}, rule"), form);
        let at = Point::new(LEFT - h * 0.4, y(v));
        let label = Label::new(at, Anchor::End, format::figures(v, places));
        drawing.text(format!("{name}, number"), label);
    }
    let form = Form::Line { from: Point::new(LEFT, y(low)), to: Point::new(LEFT, y(low + span)) };
    drawing.narrow(format!("{name}, axis"), form);
    let points = curve.points.iter().map(|(t, v)| Point::new(x(*t), y(*v))).collect();
    let form = Form::Polyline { points, closed: false, fill: Fill::Empty };
    drawing.accent(format!("{name}, curve"), LineKind::Outline, form);
}

fn draw_travel_axis(drawing: &mut Drawing, range: Frame, x: &impl Fn(f64) -> f64, foot: f64) {
    let h = drawing.text_height;
    let form = Form::Line { from: Point::new(LEFT, foot), to: Point::new(x(range.right), foot) };
    drawing.add("travel axis", LineKind::Outline, form);
    let step = step(range.width());
    let first = (range.left / step).ceil() * step;
    for n in 0..TICKS_MAX {
        let t = first + step * n as f64;
        if t > range.right {
            break;
        }
        let at = Point::new(x(t), foot);
        let form = Form::Line { from: at, to: Point::new(at.x, foot - h * 0.4) };
        drawing.narrow("travel, tick", form);
        let at = Point::new(at.x, foot - h * 1.1);
        let label = Label::new(at, Anchor::Middle, format::figures(t, places(step)));
        drawing.text("travel, number", label);
    }
    let at = Point::new(f64::midpoint(LEFT, WIDTH - RIGHT), foot - h * 2.5);
    drawing.text("travel, title", Label::new(at, Anchor::Middle, "wheel travel, mm, + up"));
}

/// A step of 1, 2 or 5 times a power of ten that divides the span into a few parts.
fn step(span: f64) -> f64 {
    let raw = span / DIVISIONS;
    if !(raw > 1e-9 && raw.is_finite()) {
        return 1.0;
    }
    let ten = 10f64.powf(raw.log10().floor());
    let lead = raw / ten;
    ten * if lead < 1.5 {
        1.0
    } else if lead < 3.0 {
        2.0
    } else if lead < 7.0 {
        5.0
    } else {
        10.0
    }
}

/// Ends and step of a value axis: round numbers, no more parts than its numbers have room for.
pub(crate) fn value_axis(values: Frame) -> (f64, f64, f64) {
    let mut step = step(values.height());
    for _ in 0..4 {
        let low = (values.bottom / step).floor() * step;
        let high = ((values.top / step).ceil() * step).max(low + step);
        if (high - low) / step <= PARTS_MAX {
            return (low, high, step);
        }
        step *= 2.0;
    }
    (values.bottom, values.top.max(values.bottom + step), step)
}

pub(crate) fn places(step: f64) -> usize {
    (-step.log10().floor()).clamp(0.0, 4.0) as usize
}

fn describe(curves: &[Curve]) -> String {
    let list: Vec<String> = curves
        .iter()
        .filter_map(|c| {
            let ((t1, v1), (t2, v2)) = (c.points.first()?, c.points.last()?);
            let f = |v: &f64| format::figures(*v, 2);
            let (t1, t2) = (format::figures(*t1, 0), format::figures(*t2, 0));
            Some(format!("{}: {} at {t1} mm, {} at {t2} mm of travel", c.title, f(v1), f(v2)))
        })
        .collect();
    format!("{}.", list.join("; "))
}

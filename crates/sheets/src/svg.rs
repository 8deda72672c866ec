//! Drawings as SVG text. The only place where y is flipped.
//!
//! Colours are `currentColor` and the custom properties `--accent` and `--paper`, so light,
//! dark and print are the page's business. Line widths do not scale with the drawing: at 96
//! pixels to the inch, wide is 0.5 mm and narrow 0.25 mm, on screen and on paper.

use std::fmt::Write;

use crate::drawing::{
    Anchor, AngleDimension, Arc, Dimension, Drawing, Fill, Form, Label, LineKind, Point, Shape,
};

/// Wide line in CSS pixels, 0.5 mm.
const WIDE_PX: f64 = 1.9;
/// Narrow line in CSS pixels, 0.25 mm: half the wide one (ISO 128-2:2020, from memory).
const NARROW_PX: f64 = 0.95;
/// An arrowhead's length in letter heights.
const ARROW_LENGTH: f64 = 0.75;
/// No hatching of more lines than this: what is finer is grey anyway.
const HATCH_LINES_MAX: f64 = 400.0;

/// A drawing as one `<svg>` element with title and description, to be put into a page.
///
/// Shapes with a coordinate that is not a number are left out.
pub fn to_svg(drawing: &Drawing) -> String {
    let mut out = String::with_capacity(256 + drawing.shapes.len() * 160);
    let frame = drawing.frame;
    let (name, h) = (escape(&drawing.name), drawing.text_height);
    let _ = write!(
        out,
        "<svg class=\"drawing\" role=\"img\" xmlns=\"http://www.w3.org/2000/svg\" \
         viewBox=\"{} {} {} {}\" aria-labelledby=\"{name}-t {name}-d\" fill=\"none\" \
         stroke=\"currentColor\" stroke-linejoin=\"round\" font-size=\"{}\">\
         <title id=\"{name}-t\">{}</title><desc id=\"{name}-d\">{}</desc>",
        number(frame.left),
        number(-frame.top),
        number(frame.width()),
        number(frame.height()),
        number(h),
        escape(&drawing.title),
        escape(&drawing.description),
    );
    for shape in drawing.shapes.iter().filter(|shape| is_drawable(&shape.form)) {
        write_shape(&mut out, shape, h);
    }
    out.push_str("</svg>");
    out
}

fn write_shape(out: &mut String, shape: &Shape, h: f64) {
    let colour = if shape.accent { "var(--accent, currentColor)" } else { "currentColor" };
    let _ = write!(out, "<g data-shape=\"{}\"", escape(&shape.name));
    if shape.accent {
        let _ = write!(out, " stroke=\"{colour}\"");
    }
    let (width, dashes) = pen(shape.line);
    let _ = write!(out, " stroke-width=\"{width}\"");
    if !dashes.is_empty() {
        let _ = write!(out, " stroke-dasharray=\"{dashes}\"");
    }
    out.push('>');
    write_form(out, &shape.form, h, colour);
    out.push_str("</g>");
}

/// Width and dashes of a line kind, in pixels: long dash 24 d would swallow the short edges of
/// a plate on a telephone, so 14 d are drawn; gaps 3 d, dots half a width.
const fn pen(line: LineKind) -> (f64, &'static str) {
    match line {
        LineKind::Outline => (WIDE_PX, ""),
        LineKind::Narrow => (NARROW_PX, ""),
        LineKind::Centre => (NARROW_PX, "14 3 1 3"),
        LineKind::OtherPosition => (NARROW_PX, "14 3 1 3 1 3"),
        LineKind::Hidden => (NARROW_PX, "6 3"),
    }
}

fn write_form(out: &mut String, form: &Form, h: f64, colour: &str) {
    match form {
        Form::Line { from, to } => write_path(out, &[*from, *to], false, Fill::Empty, colour),
        Form::Arrow { from, to } => {
            write_path(out, &[*from, *to], false, Fill::Empty, colour);
            write_head(out, *from, *to, h, colour);
        }
        Form::Polyline { points, closed, fill } => {
            write_path(out, points, *closed, *fill, colour);
        }
        Form::Circle { centre, radius, fill } => {
            let _ = write!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"{} vector-effect=\"non-scaling-stroke\"/>",
                number(centre.x),
                number(-centre.y),
                number(radius.abs()),
                fill_attribute(*fill, colour),
            );
        }
        Form::Arc(arc) => write_arc(out, arc, h, colour),
        Form::Hatch { loops, pitch, angle } => write_hatch(out, loops, *pitch, *angle),
        Form::Dimension(dimension) => write_dimension(out, dimension, h, colour),
        Form::AngleDimension(dimension) => write_angle(out, dimension, h, colour),
        Form::Leader { tip, label } => {
            let room = label.room(h);
            let end = match label.anchor {
                Anchor::Start => Point::new(room.left - h * 0.15, label.at.y),
                Anchor::End => Point::new(room.right + h * 0.15, label.at.y),
                Anchor::Middle if tip.y < label.at.y => Point::new(label.at.x, room.bottom),
                Anchor::Middle => Point::new(label.at.x, room.top),
            };
            write_path(out, &[*tip, end], false, Fill::Empty, colour);
            write_dot(out, *tip, h * 0.13, colour);
            write_label(out, label, h, colour);
        }
        Form::Text(label) => write_label(out, label, h, colour),
    }
}

fn write_path(out: &mut String, points: &[Point], closed: bool, fill: Fill, colour: &str) {
    out.push_str("<path d=\"");
    for (n, p) in points.iter().enumerate() {
        let _ = write!(out, "{}{} {}", if n == 0 { 'M' } else { 'L' }, number(p.x), number(-p.y));
    }
    let _ = write!(
        out,
        "{}\"{} vector-effect=\"non-scaling-stroke\"/>",
        if closed { "Z" } else { "" },
        if closed { fill_attribute(fill, colour) } else { String::new() },
    );
}

fn fill_attribute(fill: Fill, colour: &str) -> String {
    match fill {
        Fill::Empty => String::new(),
        Fill::Paper => " fill=\"var(--paper, #fff)\"".to_owned(),
        Fill::Solid => format!(" fill=\"{colour}\""),
    }
}

/// An arrowhead at `to`, as if the line came from `from`.
fn write_head(out: &mut String, from: Point, to: Point, h: f64, colour: &str) {
    let length = from.distance(to);
    if length <= 0.0 {
        return;
    }
    let (ux, uy) = ((to.x - from.x) / length, (to.y - from.y) / length);
    let (long, half) = (h * ARROW_LENGTH, h * ARROW_LENGTH * 0.18);
    let back = Point::new(to.x - ux * long, to.y - uy * long);
    let barbs = [
        to,
        Point::new(back.x - uy * half, back.y + ux * half),
        Point::new(back.x + uy * half, back.y - ux * half),
    ];
    write_path(out, &barbs, true, Fill::Solid, colour);
}

fn write_dot(out: &mut String, at: Point, radius: f64, colour: &str) {
    let _ = write!(
        out,
        "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{colour}\" stroke=\"none\"/>",
        number(at.x),
        number(-at.y),
        number(radius),
    );
}

fn write_arc(out: &mut String, arc: &Arc, h: f64, colour: &str) {
    let start = Point::polar(arc.centre, arc.radius, arc.from);
    let end = Point::polar(arc.centre, arc.radius, arc.to);
    let turn = arc.to - arc.from;
    let _ = write!(
        out,
        "<path d=\"M{} {}A{r} {r} 0 {} {} {} {}\" vector-effect=\"non-scaling-stroke\"/>",
        number(start.x),
        number(-start.y),
        u8::from(turn.abs() > 180.0),
        u8::from(turn < 0.0),
        number(end.x),
        number(-end.y),
        r = number(arc.radius),
    );
    // A head is straight; it points along the chord that its own length cuts off.
    let step = (h * ARROW_LENGTH / arc.radius).to_degrees().copysign(turn);
    if arc.end_arrow {
        write_head(out, Point::polar(arc.centre, arc.radius, arc.to - step), end, h, colour);
    }
    if arc.start_arrow {
        write_head(out, Point::polar(arc.centre, arc.radius, arc.from + step), start, h, colour);
    }
}

fn write_dimension(out: &mut String, d: &Dimension, h: f64, colour: &str) {
    let length = d.from.distance(d.to);
    if length <= 0.0 {
        return;
    }
    let (nx, ny) = (-(d.to.y - d.from.y) / length, (d.to.x - d.from.x) / length);
    let off = |p: Point, by: f64| Point::new(p.x + nx * by, p.y + ny * by);
    let (from, to) = (off(d.from, d.stand_off), off(d.to, d.stand_off));
    if d.stand_off != 0.0 {
        let past = d.stand_off + (h * 0.25).copysign(d.stand_off);
        for p in [d.from, d.to] {
            write_path(out, &[p, off(p, past)], false, Fill::Empty, colour);
        }
    }
    write_path(out, &[from, to], false, Fill::Empty, colour);
    write_head(out, from, to, h, colour);
    write_head(out, to, from, h, colour);
    write_label(out, &d.label, h, colour);
}

fn write_angle(out: &mut String, d: &AngleDimension, h: f64, colour: &str) {
    let arc = Arc {
        centre: d.centre,
        radius: d.radius,
        from: d.from,
        to: d.to,
        start_arrow: true,
        end_arrow: true,
    };
    write_arc(out, &arc, h, colour);
    write_label(out, &d.label, h, colour);
}

/// The text with a rim of the ground colour, so that lines behind it break off.
fn write_label(out: &mut String, label: &Label, h: f64, colour: &str) {
    let anchor = match label.anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    };
    let _ = write!(
        out,
        "<text x=\"{}\" y=\"{}\" dy=\"0.36em\" text-anchor=\"{anchor}\" fill=\"{colour}\" \
         stroke=\"var(--paper, #fff)\" stroke-width=\"{}\" stroke-dasharray=\"none\" \
         paint-order=\"stroke\"{}>{}</text>",
        number(label.at.x),
        number(-label.at.y),
        number(h * 0.24),
        if label.strong { " font-weight=\"600\"" } else { "" },
        escape(&label.text),
    );
}

/// Parallel lines inside the loops, even-odd: an odd number of crossings before is inside.
fn write_hatch(out: &mut String, loops: &[Vec<Point>], pitch: f64, angle: f64) {
    let (sin, cos) = angle.to_radians().sin_cos();
    // Along the lines s, across them t.
    let turned: Vec<Vec<(f64, f64)>> = loops
        .iter()
        .map(|l| l.iter().map(|p| (p.x * cos + p.y * sin, p.y * cos - p.x * sin)).collect())
        .collect();
    let across = turned.iter().flatten().map(|(_, t)| *t);
    let (low, high) = across.fold((f64::MAX, f64::MIN), |(a, b), t| (a.min(t), b.max(t)));
    if !(pitch > 0.0 && low < high && (high - low) / pitch <= HATCH_LINES_MAX) {
        return;
    }
    out.push_str("<path d=\"");
    let mut t = (low / pitch).floor() * pitch + pitch * 0.5;
    while t < high {
        for pair in crossings(&turned, t).chunks_exact(2) {
            if let [a, b] = pair {
                let xy = |s: f64| (number(s * cos - t * sin), number(-(s * sin + t * cos)));
                let ((x1, y1), (x2, y2)) = (xy(*a), xy(*b));
                let _ = write!(out, "M{x1} {y1}L{x2} {y2}");
            }
        }
        t += pitch;
    }
    out.push_str("\" vector-effect=\"non-scaling-stroke\"/>");
}

fn crossings(loops: &[Vec<(f64, f64)>], t: f64) -> Vec<f64> {
    let mut found = Vec::new();
    for points in loops {
        let ends = points.iter().skip(1).chain(points.first());
        for ((s1, t1), (s2, t2)) in points.iter().zip(ends) {
            if (*t1 <= t) != (*t2 <= t) {
                found.push(s1 + (s2 - s1) * (t - t1) / (t2 - t1));
            }
        }
    }
    found.sort_by(f64::total_cmp);
    found
}

fn is_drawable(form: &Form) -> bool {
    let text_is_fine = form.label().is_none_or(|label| label.at.is_finite());
    text_is_fine
        && match form {
            Form::Line { from, to } | Form::Arrow { from, to } => {
                from.is_finite() && to.is_finite()
            }
            Form::Polyline { points, .. } => points.iter().all(|p| p.is_finite()),
            Form::Circle { centre, radius, .. } => centre.is_finite() && radius.is_finite(),
            Form::Arc(arc) => {
                Point::polar(arc.centre, arc.radius, arc.from).is_finite()
                    && arc.to.is_finite()
                    && arc.radius > 0.0
            }
            Form::Hatch { loops, .. } => loops.iter().flatten().all(|p| p.is_finite()),
            Form::Dimension(d) => d.from.is_finite() && d.to.is_finite(),
            Form::AngleDimension(d) => {
                Point::polar(d.centre, d.radius, d.from).is_finite()
                    && d.to.is_finite()
                    && d.radius > 0.0
            }
            Form::Leader { tip, .. } => tip.is_finite(),
            Form::Text(_) => true,
        }
}

/// A coordinate to a tenth of a millimetre, without trailing zeros.
fn number(value: f64) -> String {
    let mut text = format!("{value:.1}");
    if let Some(short) = text.strip_suffix(".0") {
        text.truncate(short.len());
    }
    if text == "-0" { "0".to_owned() } else { text }
}

/// Text made safe for XML content and attributes; control characters, which XML cannot hold,
/// become spaces.
pub(crate) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

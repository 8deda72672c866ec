//! The printed sheets for measuring with photographs, as SVG and as a page that prints.
//!
//! Unlike a drawing, a sheet is true to size: its width and height are the paper's, in millimetres,
//! and it is black on white whatever the screen's colours are. It is printed upright and used on
//! its side:
//!
//! ```text
//!     printed            in use: turned a quarter anticlockwise
//!    ┌───────┐ ─▶ u     ┌────────────┐
//!    │ │  ▢ ▢│          │ ▢ ▢ ▢      │   X = v along the line, Y = u up from it
//!    │ │  ▢ ▢│          │ ▢ ▢ ▢      │
//!    │ │  ▢ ▢│          │ ────────── │ the line
//!    └───────┘          └────────────┘
//!   v ▼
//! ```

use std::fmt::Write;

use axlewright_sight::family::CELLS;
use axlewright_sight::sheet::{Half, Kind, Page, Paper, Sheet, SheetPoint, Tag};

use crate::svg::escape;

const TEXT_MM: f64 = 3.6;
const SMALL_MM: f64 = 2.8;
const TITLE_MM: f64 = 5.0;

/// Millimetres on the page in use, from its lower left corner.
#[derive(Clone, Copy)]
struct At {
    x: f64,
    y: f64,
}

fn at(point: SheetPoint) -> At {
    At { x: point.x.to_mm(), y: point.y.to_mm() }
}

/// A page as one SVG file, width and height in millimetres.
pub fn target_svg(page: &Page) -> String {
    let (short, long) = page.paper.sides();
    let (width, height) = (number(short.to_mm()), number(long.to_mm()));
    let mut out = String::with_capacity(60_000);
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"sans-serif\">\n<title>{}</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#fff\"/>\n",
        escape(&title(page)),
    );
    for (sheet, origin) in &page.sheets {
        write_sheet(&mut out, sheet, at(*origin));
    }
    write_checks(&mut out, page);
    write_words(&mut out, page);
    out.push_str("</svg>\n");
    out
}

/// The same as an HTML file that prints on its paper without margins.
pub fn target_html(page: &Page) -> String {
    let (short, long) = page.paper.sides();
    let (width, height) = (number(short.to_mm()), number(long.to_mm()));
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>{}</title>\n\
         <style>@page {{ size: {width}mm {height}mm; margin: 0 }} \
         html, body {{ margin: 0; background: #fff }} svg {{ display: block }}</style>\n{}\
         </html>\n",
        escape(&title(page)),
        target_svg(page),
    )
}

fn title(page: &Page) -> String {
    let paper = match page.paper {
        Paper::A4 => "A4",
        Paper::Letter => "Letter",
    };
    let what = match page.kind {
        Kind::Body => "Body sheet",
        Kind::Plate => "Plate sheet",
        Kind::Floor => "Floor sheet",
        Kind::Strip => "Strips for marks",
    };
    format!("{what}, {paper}")
}

fn write_sheet(out: &mut String, sheet: &Sheet, origin: At) {
    let _ = writeln!(out, "<g id=\"{}\">", sheet.id);
    for tag in &sheet.tags {
        write_tag(out, tag, origin);
    }
    // Both halves of a pair have the line; it is drawn once.
    if sheet.id.half() != Some(Half::Lower) {
        let half = sheet.line.to_mm() / 2.0;
        let (from, to) = (shifted(origin, -half, 0.0), shifted(origin, half, 0.0));
        write_line(out, "line", from, to, 0.25);
        write_line(out, "mark", origin, shifted(origin, 0.0, -3.0), 0.25);
    }
    out.push_str("</g>\n");
    match sheet.id.half() {
        Some(half) => {
            let name = sheet.id.to_string();
            let name = name.strip_prefix("strip-").unwrap_or(&name);
            let y = if half == Half::Upper { 15.6 } else { -15.6 - SMALL_MM * 0.7 };
            write_text(out, shifted(origin, -45.0, y), SMALL_MM, name);
        }
        None => {
            let y = -3.0 - SMALL_MM;
            write_text(out, shifted(origin, 2.0, y), SMALL_MM, "0: the middle of the line");
        }
    }
    if sheet.id.kind() == Kind::Plate {
        write_cuts(out, sheet, origin);
    }
}

/// Dotted lines between rows and columns of tags, along which a sheet may be made smaller.
fn write_cuts(out: &mut String, sheet: &Sheet, origin: At) {
    let Some(first) = sheet.tags.first() else { return };
    let pitch = first.size.to_mm() * 10.0 / 8.0;
    let bounds = sheet.tags.iter().fold((0.0_f64, 0.0_f64), |(x, y), tag| {
        (x.max(tag.centre.x.to_mm()), y.max(tag.centre.y.to_mm()))
    });
    let (right, top) = (bounds.0 + pitch / 2.0, bounds.1 + pitch / 2.0);
    let bottom = first.centre.y.to_mm() - pitch / 2.0;
    let mut cut = |from: At, to: At| {
        let _ = writeln!(
            out,
            "<path d=\"{} {}\" stroke=\"#999\" stroke-width=\"0.2\" stroke-dasharray=\"0.6 1.4\"/>",
            step('M', from),
            step('L', to),
        );
    };
    let mut y = bottom + pitch;
    while y < top - 1.0 {
        cut(shifted(origin, -right, y), shifted(origin, right, y));
        y += pitch;
    }
    let mut x = -right + pitch;
    while x < right - 1.0 {
        cut(shifted(origin, x, bottom), shifted(origin, x, top));
        x += pitch;
    }
}

/// One black square and one path of white cells, so that no hairline is left between two cells.
fn write_tag(out: &mut String, tag: &Tag, origin: At) {
    let size = tag.size.to_mm();
    let cell = size / f64::from(CELLS);
    let left = origin.x + tag.centre.x.to_mm() - size / 2.0;
    let top = origin.y + tag.centre.y.to_mm() + size / 2.0;
    let square = |x: f64, y: f64, side: f64| {
        // Written as it lies on the upright page: u = Y, v = X.
        let (u, v) = (top - y, left + x);
        let (u, v, u2, v2) = (number(u), number(v), number(u - side), number(v + side));
        format!("M{u} {v}H{u2}V{v2}H{u}Z")
    };
    let white: String = tag
        .id
        .white_cells()
        .map(|(x, y)| square(f64::from(x) * cell, f64::from(y) * cell, cell))
        .collect();
    let _ = writeln!(
        out,
        "<path id=\"tag-{}\" d=\"{}\"/><path fill=\"#fff\" d=\"{white}\"/>",
        tag.id.number(),
        square(0.0, 0.0, size),
    );
}

fn write_checks(out: &mut String, page: &Page) {
    let [(along_from, along), (up_from, up)] = page.checks;
    let (from, length) = (at(along_from), along.to_mm());
    if page.kind == Kind::Strip {
        write_line(out, "check-along", from, shifted(from, length, 0.0), 0.25);
    }
    for end in [0.0, length] {
        let end = shifted(from, end, 0.0);
        write_line(out, "tick", shifted(end, 0.0, -3.0), shifted(end, 0.0, 1.5), 0.25);
    }
    let words = format!("check: {} mm from tick to tick", number(length));
    write_text(out, shifted(from, 3.0, -3.0 - SMALL_MM), SMALL_MM, &words);
    let (from, length) = (at(up_from), up.to_mm());
    write_line(out, "check-up", from, shifted(from, 0.0, length), 0.25);
    for end in [0.0, length] {
        let end = shifted(from, 0.0, end);
        write_line(out, "tick", shifted(end, -2.0, 0.0), shifted(end, 2.0, 0.0), 0.25);
    }
    let words = format!("check: {} mm", number(length));
    write_text(out, shifted(from, -18.0, length + 2.0), SMALL_MM, &words);
}

fn write_words(out: &mut String, page: &Page) {
    let (short, _) = page.paper.sides();
    let mut y = short.to_mm() - 12.0;
    let left = 14.0;
    write_text(out, At { x: left, y }, TITLE_MM, &format!("Axlewright · {}", title(page)));
    y -= TITLE_MM + 1.6;
    for line in words(page.kind) {
        write_text(out, At { x: left, y }, TEXT_MM, line);
        y -= TEXT_MM * 1.35;
    }
}

const PRINT: &str = "1. Print at 100 %, not fitted to the page. Measure both checks with a rule; \
    give what you read with --scale.";

/// What to do with the sheet, a few short lines.
fn words(kind: Kind) -> &'static [&'static str] {
    match kind {
        Kind::Body => &[
            PRINT,
            "2. Glue it on stiff flat card, cut along the long line. It must not be bent or wavy.",
            "3. Lay the cut edge along the sill, tags up, and tape it down.",
        ],
        Kind::Plate => &[
            PRINT,
            "2. Glue it on stiff flat card, cut along the long line. What hangs over the plate \
             comes off at dotted lines.",
            "3. Lay the cut edge along the plate's reference line, through hub centre and bolt \
             holes, and tape it down.",
        ],
        Kind::Floor => {
            &[PRINT, "2. Tape it flat on the floor, the long line along a line on the floor."]
        }
        Kind::Strip => &[
            PRINT,
            "2. Cut out a pair in one piece. Glue it across the joint, its line over the gap \
             between the two parts.",
            "3. Cut through the line with a knife. Photograph it before the joint is opened, and \
             again after.",
        ],
    }
}

fn shifted(from: At, dx: f64, dy: f64) -> At {
    At { x: from.x + dx, y: from.y + dy }
}

fn step(letter: char, to: At) -> String {
    format!("{letter}{} {}", number(to.y), number(to.x))
}

fn write_line(out: &mut String, class: &str, from: At, to: At, width: f64) {
    let _ = writeln!(
        out,
        "<path class=\"{class}\" d=\"{}{}\" stroke=\"#000\" stroke-width=\"{width}\"/>",
        step('M', from),
        step('L', to),
    );
}

fn write_text(out: &mut String, from: At, height: f64, text: &str) {
    let _ = writeln!(
        out,
        "<text transform=\"translate({} {}) rotate(90)\" font-size=\"{height}\">{}</text>",
        number(from.y),
        number(from.x),
        escape(text),
    );
}

/// To a ten thousandth of a millimetre, without trailing zeros.
fn number(value: f64) -> String {
    let text = format!("{value:.4}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

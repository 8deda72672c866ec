//! Where builds land: trim of many builds of each rear corner against the tolerance.
//!
//! ```text
//!  left    ▁▂▄█▇▄▂▁         bars: share of builds; between the dashed lines: the tolerance
//!       ┆    │    ┆   83    line: the mean; number: builds in 100 that land within
//!  right ▁▃██▅▂             solid bars land within, empty ones do not
//!       ──┴──┴──┴── mm
//! ```

use axlewright_quantity::Length;
use axlewright_setup::{Finding, Item};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, text_height_for};
use crate::format;

/// Width of the drawing in its own millimetres.
const WIDTH: f64 = 200.0;
/// Room left of the plot for names and counts.
const LEFT: f64 = 44.0;
/// Height of one side's bars.
const HEIGHT: f64 = 34.0;
/// Most ticks on the axis.
const TICKS_MAX: usize = 12;

/// One bar, in millimetres, and its share.
struct Bar {
    from: f64,
    to: f64,
    share: f64,
}

/// The chart of a `car.forecast`; nothing where it has no builds.
///
/// # Units and sign
/// Millimetres of trim, settled: the bar's axis above the wheel's centre.
pub fn forecast_chart(forecast: &Finding) -> Option<Drawing> {
    let value = &forecast.value;
    let of = |key: &str, part: &str| value.get(key).and_then(|item| item.get(part));
    let mm = |item: Option<&Item>| {
        let amount = item.and_then(Item::amount)?;
        Some(Length::try_from(amount).ok()?.to_mm())
    };
    let (low, high) = (mm(of("band", "low"))?, mm(of("band", "high"))?);
    let sides: Vec<(&str, &str, Vec<Bar>)> = [("left", "LR"), ("right", "RR")]
        .into_iter()
        .map(|(name, code)| (name, code, bars(of("histogram", code))))
        .filter(|(.., bars)| !bars.is_empty())
        .collect();
    let all = || sides.iter().flat_map(|(.., bars)| bars);
    let tallest = all().map(|bar| bar.share).fold(0.0, f64::max);
    let left = all().map(|bar| bar.from).fold(low, f64::min);
    let right = all().map(|bar| bar.to).fold(high, f64::max);
    let is_wide = left < right;
    if sides.is_empty() || tallest <= 0.0 || !is_wide {
        return None;
    }
    let margin = (right - left) * 0.04;
    let (left, right) = (left - margin, right + margin);
    let h = text_height_for(WIDTH);
    let x = move |mm: f64| LEFT + (mm - left) / (right - left) * (WIDTH - LEFT - 4.0);
    let row = HEIGHT + h * 1.8;
    let foot = -row * sides.len() as f64;
    let mut drawing = Drawing {
        name: "forecast-chart".to_owned(),
        title: "Where builds land".to_owned(),
        description: forecast.why.words.clone(),
        frame: Frame { left: 0.0, right: WIDTH, bottom: foot - h * 4.0, top: h * 2.6 },
        text_height: h,
        shapes: Vec::new(),
    };
    for (n, (name, code, bars)) in sides.iter().enumerate() {
        let base = -row * (n as f64 + 1.0) + h * 0.4;
        let count = match of("within", code) {
            Some(Item::Count(count, _)) => count.to_string(),
            _ => "?".to_owned(),
        };
        let up = HEIGHT / tallest;
        draw_bars(&mut drawing, name, bars, (low, high), |bar| {
            (x(bar.from), x(bar.to), base, base + bar.share * up)
        });
        let at = |y: f64| Point::new(1.0, base + y);
        drawing.text(format!("{name}, name"), Label::new(at(HEIGHT * 0.8), Anchor::Start, *name));
        let count =
            Label::new(at(HEIGHT * 0.8 - h * 1.5), Anchor::Start, format!("{count} of 100"));
        drawing.text(format!("{name}, count"), count.strong());
        let within = Label::new(at(HEIGHT * 0.8 - h * 3.0), Anchor::Start, "land within");
        drawing.text(format!("{name}, within"), within);
        let ground = Form::Line { from: Point::new(x(left), base), to: Point::new(x(right), base) };
        drawing.narrow(format!("{name}, ground"), ground);
        if let Some(mean) = mm(of("trim", code).and_then(|trim| trim.get("mean"))) {
            let from = Point::new(x(mean), base);
            let to = Point::new(x(mean), base + HEIGHT + h * 0.4);
            drawing.add(format!("{name}, mean"), LineKind::Centre, Form::Line { from, to });
        }
    }
    for (name, at) in [("least", low), ("most", high)] {
        let form =
            Form::Line { from: Point::new(x(at), foot + h * 0.4), to: Point::new(x(at), h * 0.4) };
        drawing.accent(format!("tolerance, {name}"), LineKind::Hidden, form);
        let label = Label::new(Point::new(x(at), h * 1.4), Anchor::Middle, mm_text(at));
        drawing.accent(format!("tolerance, {name}, number"), LineKind::Narrow, Form::Text(label));
    }
    axis(&mut drawing, (left, right), foot, h, x);
    Some(drawing)
}

fn mm_text(mm: f64) -> String {
    format!("{}{}", format::figures(mm, 0), format::with_space("mm"))
}

fn bars(item: Option<&Item>) -> Vec<Bar> {
    let rows = item.map(Item::items).unwrap_or_default();
    let bar = |row: &Item| {
        let amount = |key| row.get(key).and_then(Item::amount);
        let mm = |key| Some(Length::try_from(amount(key)?).ok()?.to_mm());
        Some(Bar { from: mm("from")?, to: mm("to")?, share: amount("share")?.to_si() })
    };
    rows.iter().filter_map(bar).filter(|bar| bar.from.is_finite() && bar.to.is_finite()).collect()
}

/// Bars whose middle lies within the tolerance are filled, the others are not.
fn draw_bars(
    drawing: &mut Drawing,
    name: &str,
    bars: &[Bar],
    (low, high): (f64, f64),
    place: impl Fn(&Bar) -> (f64, f64, f64, f64),
) {
    for (n, bar) in bars.iter().enumerate().filter(|(_, bar)| 0.0 < bar.share) {
        let (left, right, bottom, top) = place(bar);
        let middle = (bar.from + bar.to) / 2.0;
        let inside = low <= middle && middle <= high;
        let points = vec![
            Point::new(left, bottom),
            Point::new(right, bottom),
            Point::new(right, top),
            Point::new(left, top),
        ];
        let fill = Fill::Empty;
        let form = Form::Polyline { points: points.clone(), closed: true, fill };
        drawing.narrow(format!("{name}, bar {}", n + 1), form);
        if inside {
            let form = Form::Hatch { loops: vec![points], pitch: 1.6, angle: 45.0 };
            drawing.narrow(format!("{name}, bar {}, within", n + 1), form);
        }
    }
}

fn axis(
    drawing: &mut Drawing,
    (left, right): (f64, f64),
    foot: f64,
    h: f64,
    x: impl Fn(f64) -> f64,
) {
    let steps = [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];
    let step = steps.into_iter().find(|step| (right - left) / step <= 8.0).unwrap_or(200.0);
    let first = (left / step).ceil() * step;
    let ticks = (0..TICKS_MAX).map(|n| first + step * n as f64).take_while(|at| *at <= right);
    for at in ticks {
        let form = Form::Line {
            from: Point::new(x(at), foot + h * 0.4),
            to: Point::new(x(at), foot - h * 0.2),
        };
        drawing.narrow(format!("tick {at:.0}"), form);
        let label = Label::new(Point::new(x(at), foot - h), Anchor::Middle, format::figures(at, 0));
        drawing.text(format!("tick {at:.0}, number"), label);
    }
    let at = Point::new((x(left) + x(right)) / 2.0, foot - h * 2.6);
    drawing.text("axis", Label::new(at, Anchor::Middle, "trim once settled, mm"));
}

//! The order of work as a map: where one stands at each step, and which order the arm's angle
//! dictates.
//!
//! ```text
//!     left   under          under  right
//!     rear   left   bench   right  rear        one column for each station, left of the car
//!      ┊      ┊      ┊       ┊      ┊          to the left; one row for each step, downward
//!      ●14────┐      ┊       ┊      ┊ ────┐
//!      ┊      ●15    ┊       ┊      ┊     A    wide line: the way through the work
//!      ◆16────┘      ┊       ┊      ┊ ◂───┘    diamond: hold point
//! ```

use axlewright_setup::{Finding, Item};

use crate::drawing::{Anchor, Drawing, Fill, Form, Frame, Label, LineKind, Point, width_max_for};
use crate::stretches::{Stretch, is, word};

/// Letter height; everything else on the map is sized by it.
const H: f64 = 4.0;
/// Between two rows.
const PITCH: f64 = 1.5 * H;
/// From a dot's middle to its number.
const NUMBER_OFF: f64 = 0.75 * H;
/// Between two channels for arcs, at the right edge.
const CHANNEL: f64 = 0.95 * H;
/// Columns and channels side by side, so that headings stay apart; arcs that find no channel stand
/// only in the list beneath the map.
const SIDE_BY_SIDE_MAX: usize = 13;
/// Columns; steps at further stations share the last.
const LANES_MAX: usize = 8;
/// Right of the columns, at least.
const MARGIN: f64 = 0.5 * H;
/// Width of a strong digit in letter heights, on the wide side.
const DIGIT: f64 = 0.6;
/// Lines of a column's heading.
const HEAD_LINES_MAX: usize = 3;

/// An arc that the map draws, by the numbers of its steps in the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapArc {
    /// Whether the arm's angle is the reason; otherwise one step makes the other possible.
    pub is_geometry: bool,
    /// The letter on the map; only arcs of geometry have one.
    pub letter: Option<char>,
    /// Number of the step that comes first.
    pub before: usize,
    /// Number of the step that comes after it.
    pub after: usize,
    /// The reason in words.
    pub words: String,
    channel: Option<usize>,
}

/// Arcs of `order.arcs` within a stretch: those of geometry with their letters, then those of
/// parts. What other arcs imply is left out.
pub fn map_arcs(stretch: &Stretch<'_>, arcs: &Finding) -> Vec<MapArc> {
    let number = |id: Option<&str>| {
        let at = stretch.steps.iter().position(|step| word(step, "step") == id)?;
        Some(stretch.first + at)
    };
    let mut out: Vec<MapArc> = Vec::new();
    for arc in arcs.value.items().iter().filter(|arc| !is(arc, "implied")) {
        let reason = word(arc, "reason").unwrap_or_default();
        let is_geometry = reason == "geometry";
        let ends = (number(word(arc, "before")), number(word(arc, "after")));
        if let ((Some(before), Some(after)), true) = (ends, is_geometry || reason == "part") {
            let words = word(arc, "words").unwrap_or_default().to_owned();
            out.push(MapArc { is_geometry, letter: None, before, after, words, channel: None });
        }
    }
    out.sort_by_key(|arc| (!arc.is_geometry, arc.before, arc.after));
    give_channels(&mut out, SIDE_BY_SIDE_MAX - lanes(&places(stretch)).len());
    let mut letters = 'A'..='Z';
    for arc in out.iter_mut().filter(|arc| arc.is_geometry && arc.channel.is_some()) {
        arc.letter = letters.next();
    }
    out
}

/// Arcs of geometry first, then short ones: those run next to the columns, long ones further out.
/// An arc gets the innermost channel that is free over its rows.
fn give_channels(arcs: &mut [MapArc], most: usize) {
    let mut taken: Vec<Vec<(usize, usize)>> = Vec::new();
    let mut turns: Vec<&mut MapArc> = arcs.iter_mut().collect();
    turns.sort_by_key(|arc| (!arc.is_geometry, arc.after.abs_diff(arc.before), arc.before));
    for arc in turns {
        let (top, bottom) = (arc.before.min(arc.after), arc.before.max(arc.after));
        let free = |spans: &Vec<(usize, usize)>| spans.iter().all(|s| s.1 < top || bottom < s.0);
        arc.channel = match taken.iter().position(free) {
            None if taken.len() < most => {
                taken.push(Vec::new());
                Some(taken.len() - 1)
            }
            found => found,
        };
        if let Some(spans) = arc.channel.and_then(|at| taken.get_mut(at)) {
            spans.push((top, bottom));
        }
    }
}

fn places<'a>(stretch: &Stretch<'a>) -> Vec<&'a str> {
    stretch.steps.iter().map(|step| word(step, "station").unwrap_or(NOWHERE)).collect()
}

/// The map of one stretch of a plan; nothing for a stretch without steps, or all in one place and
/// without arcs.
///
/// Letters are 12 px high on a telephone 390 px wide whatever the number of steps, as the map
/// grows downward.
pub fn order_map(stretch: &Stretch<'_>, arcs: &[MapArc]) -> Option<Drawing> {
    let map = Map::new(stretch, arcs)?;
    let frame = Frame { left: 0.0, right: map.width, bottom: map.bottom(), top: H };
    let holds = stretch.steps.iter().filter(|step| is(step, "hold")).count();
    let last = stretch.first + stretch.steps.len() - 1;
    let lanes: Vec<&str> = map.lanes.iter().map(String::as_str).collect();
    let mut drawing = Drawing {
        name: format!("order-map-{}", stretch.first),
        title: format!("{}, steps {} to {last}", stretch.title, stretch.first),
        description: format!(
            "{} steps in order, downward, each in the column of the place where it is done: {}. \
             {holds} hold points. {} arcs between steps.",
            stretch.steps.len(),
            lanes.join(", "),
            arcs.len(),
        ),
        frame,
        text_height: H,
        shapes: Vec::new(),
    };
    map.draw_lanes(&mut drawing);
    map.draw_way(&mut drawing);
    for arc in arcs {
        map.draw_arc(&mut drawing, arc);
    }
    for (row, step) in stretch.steps.iter().enumerate() {
        map.draw_step(&mut drawing, row, step);
    }
    map.draw_key(&mut drawing);
    Some(drawing)
}

/// The measures of one map.
struct Map {
    width: f64,
    first: usize,
    lanes: Vec<String>,
    /// The lane of each row.
    rows: Vec<usize>,
    lane_width: f64,
    channels: usize,
    has_geometry: bool,
    has_parts: bool,
    has_holds: bool,
}

const NOWHERE: &str = "any place";
const ELSEWHERE: &str = "other places";

impl Map {
    fn new(stretch: &Stretch<'_>, arcs: &[MapArc]) -> Option<Self> {
        let places = places(stretch);
        let lanes = lanes(&places);
        // One place and no arcs: there is nothing to see.
        if lanes.is_empty() || (lanes.len() == 1 && arcs.is_empty()) {
            return None;
        }
        let lane = |place: &&str| lanes.iter().position(|lane| lane == place);
        let rows = places.iter().map(|place| lane(place).unwrap_or(lanes.len() - 1)).collect();
        let drawn = |arc: &&MapArc| arc.channel.is_some();
        let channels = arcs.iter().filter_map(|arc| arc.channel).max().map_or(0, |most| most + 1);
        let width = width_max_for(H);
        // The numbers of the last column keep clear of the channels.
        let digits = (stretch.first + stretch.steps.len()).to_string().len() as f64;
        let number_width = NUMBER_OFF + (digits * DIGIT + 0.3) * H;
        let room = width - channels as f64 * CHANNEL;
        let rough = (room - MARGIN) / lanes.len() as f64;
        let margin = MARGIN.max(number_width - rough * 0.45);
        let lane_width = (room - margin) / lanes.len() as f64;
        Some(Self {
            width,
            first: stretch.first,
            rows,
            lane_width,
            channels,
            lanes,
            has_geometry: arcs.iter().filter(drawn).any(|arc| arc.is_geometry),
            has_parts: arcs.iter().filter(drawn).any(|arc| !arc.is_geometry),
            has_holds: stretch.steps.iter().any(|step| is(step, "hold")),
        })
    }

    fn lane_x(&self, lane: usize) -> f64 {
        (lane as f64 + 0.5) * self.lane_width
    }

    fn row_y(row: usize) -> f64 {
        -(HEAD_LINES_MAX as f64 * 1.15 * H + PITCH * (row as f64 + 0.4))
    }

    fn at(&self, row: usize) -> Point {
        let lane = self.rows.get(row).copied().unwrap_or(0);
        Point::new(self.lane_x(lane), Self::row_y(row))
    }

    fn channel_x(&self, channel: usize) -> f64 {
        let outward = self.channels.saturating_sub(channel);
        self.width - CHANNEL * (outward as f64 - 0.5)
    }

    fn number(&self, row: usize) -> String {
        (self.first + row).to_string()
    }

    /// Where the number of a row ends.
    fn after_number(&self, row: usize) -> f64 {
        let at = self.at(row);
        let label =
            Label::new(Point::new(at.x + NUMBER_OFF, at.y), Anchor::Start, self.number(row));
        label.strong().room(H).right + H * 0.2
    }

    fn key_top(&self) -> f64 {
        Self::row_y(self.rows.len()) - 0.4 * H
    }

    fn keys(&self) -> Vec<(Key, &'static str)> {
        let all = [
            (true, Key::Way, "the way through the work"),
            (self.has_holds, Key::Hold, "hold point: signed before going on"),
            (self.has_geometry, Key::Geometry, "in this order because of the arm’s angle"),
            (self.has_parts, Key::Part, "one step makes the other possible"),
        ];
        all.into_iter().filter(|(there, ..)| *there).map(|(_, key, words)| (key, words)).collect()
    }

    fn bottom(&self) -> f64 {
        self.key_top() - PITCH * self.keys().len() as f64
    }

    fn draw_lanes(&self, drawing: &mut Drawing) {
        let end = Self::row_y(self.rows.len().saturating_sub(1)) - PITCH * 0.5;
        let letters = (self.lane_width / (H * 0.58)).floor().max(3.0) as usize;
        for (at, lane) in self.lanes.iter().enumerate() {
            let x = self.lane_x(at);
            let lines = heading(lane, letters);
            // The last line of every heading stands on one height.
            let top = -1.15 * H * (HEAD_LINES_MAX - lines.len()) as f64;
            for (n, line) in lines.into_iter().enumerate() {
                let place = Point::new(x, top - 1.15 * H * n as f64);
                drawing.text(
                    format!("heading {lane}, line {n}"),
                    Label::new(place, Anchor::Middle, line),
                );
            }
            let from = Point::new(x, -1.15 * H * (HEAD_LINES_MAX as f64 - 0.4));
            let form = Form::Line { from, to: Point::new(x, end) };
            drawing.add(format!("lane {lane}"), LineKind::Centre, form);
        }
    }

    /// Down the lane, across between two rows, down to the next dot.
    fn draw_way(&self, drawing: &mut Drawing) {
        let mut points = Vec::new();
        for row in 0..self.rows.len() {
            let at = self.at(row);
            if 0 < row {
                let from = self.at(row - 1);
                let across = (from.y + at.y) / 2.0;
                if from.x != at.x {
                    points.push(Point::new(from.x, across));
                    points.push(Point::new(at.x, across));
                }
            }
            points.push(at);
        }
        let form = Form::Polyline { points, closed: false, fill: Fill::Empty };
        drawing.add("way", LineKind::Outline, form);
    }

    fn draw_arc(&self, drawing: &mut Drawing, arc: &MapArc) {
        let (Some(channel), true) = (arc.channel, arc.before >= self.first) else { return };
        let rows = (arc.before - self.first, arc.after.saturating_sub(self.first));
        let x = self.channel_x(channel);
        let (top, bottom) = (Self::row_y(rows.0), Self::row_y(rows.1));
        let begin = Point::new(self.after_number(rows.0), top);
        let tip = Point::new(self.after_number(rows.1), bottom);
        let letter = arc.letter.map_or(String::new(), |letter| format!(" {letter}"));
        let name = format!("arc{letter}: {} before {}", arc.before, arc.after);
        let points = vec![begin, Point::new(x, top), Point::new(x, bottom)];
        let path = Form::Polyline { points, closed: false, fill: Fill::Empty };
        let arrow = Form::Arrow { from: Point::new(x, bottom), to: tip };
        if !arc.is_geometry {
            drawing.add(name.clone(), LineKind::Hidden, path);
            drawing.add(format!("{name}, head"), LineKind::Hidden, arrow);
            return;
        }
        drawing.accent(name.clone(), LineKind::OtherPosition, path);
        drawing.accent(format!("{name}, head"), LineKind::OtherPosition, arrow);
        if let Some(letter) = arc.letter {
            let y = Self::row_y((rows.0 + rows.1) / 2) - PITCH / 2.0;
            let label = Label::new(Point::new(x, y), Anchor::Middle, letter.to_string());
            drawing.accent(format!("{name}, letter"), LineKind::Narrow, Form::Text(label.strong()));
        }
    }

    fn draw_step(&self, drawing: &mut Drawing, row: usize, step: &Item) {
        let at = self.at(row);
        let number = self.number(row);
        let is_hold = is(step, "hold");
        draw_mark(drawing, &format!("step {number}"), at, is_hold);
        let place = Point::new(at.x + NUMBER_OFF, at.y);
        let label = Label::new(place, Anchor::Start, number.clone());
        let label = if is_hold { label.strong() } else { label };
        drawing.text(format!("number {number}"), label);
    }

    fn draw_key(&self, drawing: &mut Drawing) {
        for (n, (key, words)) in self.keys().into_iter().enumerate() {
            let y = self.key_top() - PITCH * (n as f64 + 0.1);
            let (from, to) = (Point::new(H * 0.4, y), Point::new(H * 4.2, y));
            let name = format!("key {words}");
            match key {
                Key::Way => {
                    drawing.add(name, LineKind::Outline, Form::Line { from, to });
                    draw_mark(drawing, "key step", from.toward(to, 0.5), false);
                }
                Key::Hold => draw_mark(drawing, &name, from.toward(to, 0.5), true),
                Key::Geometry => {
                    drawing.accent(name, LineKind::OtherPosition, Form::Arrow { from, to });
                }
                Key::Part => drawing.add(name, LineKind::Hidden, Form::Arrow { from, to }),
            }
            let place = Point::new(H * 5.0, y);
            drawing.text(format!("words of {words}"), Label::new(place, Anchor::Start, words));
        }
    }
}

/// What the key explains.
#[derive(Clone, Copy)]
enum Key {
    Way,
    Hold,
    Geometry,
    Part,
}

/// A dot, and for a hold point a diamond around it.
fn draw_mark(drawing: &mut Drawing, name: &str, at: Point, is_hold: bool) {
    if is_hold {
        let far = 0.62 * H;
        let corners = [(far, 0.0), (0.0, far), (-far, 0.0), (0.0, -far)];
        let points = corners.map(|(x, y)| Point::new(at.x + x, at.y + y)).to_vec();
        let form = Form::Polyline { points, closed: true, fill: Fill::Paper };
        drawing.add(format!("{name}, hold point"), LineKind::Outline, form);
    }
    let radius = if is_hold { 0.18 * H } else { 0.3 * H };
    drawing.add(name, LineKind::Outline, Form::Circle { centre: at, radius, fill: Fill::Solid });
}

/// The columns: the left of the car to the left, its right to the right, the rest between.
fn lanes(places: &[&str]) -> Vec<String> {
    let mut all: Vec<(&str, usize)> = Vec::new();
    for place in places {
        match all.iter_mut().find(|(had, _)| had == place) {
            Some((_, uses)) => *uses += 1,
            None => all.push((place, 1)),
        }
    }
    let crowded = LANES_MAX < all.len();
    if crowded {
        all.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
        all.truncate(LANES_MAX - 1);
    }
    let mut names: Vec<&str> = all.into_iter().map(|(name, _)| name).collect();
    let side = |name: &str| {
        let says = |word: &str| name.split_whitespace().any(|w| w == word);
        if says("left") { 0 } else { 1 + usize::from(says("right")) }
    };
    names.sort_by(|a, b| {
        let by_name = if side(a) == 2 { b.cmp(a) } else { a.cmp(b) };
        side(a).cmp(&side(b)).then(by_name)
    });
    let rest = crowded.then_some(ELSEWHERE);
    names.into_iter().chain(rest).map(str::to_owned).collect()
}

/// A station in lines of at most so many letters; words too long are cut.
fn heading(lane: &str, letters: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in lane.split_whitespace() {
        let word: String = if letters < word.chars().count() {
            word.chars().take(letters.saturating_sub(1)).chain(['…']).collect()
        } else {
            word.to_owned()
        };
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= letters => {
                line.push(' ');
                line.push_str(&word);
            }
            _ => lines.push(word),
        }
    }
    lines.truncate(HEAD_LINES_MAX);
    lines
}

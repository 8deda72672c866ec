//! Drawings as values: named shapes in millimetres, x to the right, y up.
//!
//! ```text
//!   y ▲     a drawing is a list of shapes, each with a name ("plate at ride"), a line kind
//!     │     and a form; it is asked about its dimensions in tests and turned into SVG in
//!     └──▶ x   one place, `to_svg`, which is also the only place where y is flipped.
//! ```
//!
//! Angles on the drawing are degrees, anticlockwise from +x as one looks at it.

/// A point on the drawing, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

/// A rectangle on the drawing, in millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Frame {
    /// Least x.
    pub left: f64,
    /// Greatest x.
    pub right: f64,
    /// Least y.
    pub bottom: f64,
    /// Greatest y.
    pub top: f64,
}

/// What a line means, in the language of technical drawing.
///
/// # Source
/// Line types after ISO 128-2:2020 (numbers from memory): 01.2 continuous wide, 01.1 continuous
/// narrow, 04.1 long-dashed dotted, 05.1 long-dashed double-dotted, 02.1 dashed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// Continuous wide: visible outlines.
    Outline,
    /// Continuous narrow: dimension, extension and leader lines, hatching, scales.
    Narrow,
    /// Long-dashed dotted narrow: centre and reference lines.
    Centre,
    /// Long-dashed double-dotted narrow: other positions of a moving part.
    OtherPosition,
    /// Dashed narrow: what is hidden, and limits that are not edges.
    Hidden,
}

/// What fills a closed form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fill {
    /// Nothing.
    Empty,
    /// The ground: hides what is drawn before.
    Paper,
    /// The line's own colour.
    Solid,
}

/// Which part of a text its point holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The text starts there.
    Start,
    /// The text is centred there.
    Middle,
    /// The text ends there.
    End,
}

/// A text; its point is half way up the letters.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Where it is held.
    pub at: Point,
    /// By which end.
    pub anchor: Anchor,
    /// The words.
    pub text: String,
    /// Set heavier.
    pub strong: bool,
}

/// A length between two points, with its number.
#[derive(Debug, Clone, PartialEq)]
pub struct Dimension {
    /// First point measured.
    pub from: Point,
    /// Second point measured.
    pub to: Point,
    /// How far the dimension line stands off, to the left of the way from → to.
    pub stand_off: f64,
    /// The number with its unit.
    pub label: Label,
}

/// An angle between two directions, with its number.
#[derive(Debug, Clone, PartialEq)]
pub struct AngleDimension {
    /// Vertex.
    pub centre: Point,
    /// Radius of the dimension arc.
    pub radius: f64,
    /// First direction, degrees.
    pub from: f64,
    /// Second direction, degrees.
    pub to: f64,
    /// The number with its unit.
    pub label: Label,
}

/// An arc of a circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// Centre.
    pub centre: Point,
    /// Radius.
    pub radius: f64,
    /// Where it starts, degrees.
    pub from: f64,
    /// Where it ends, degrees; less than `from` runs clockwise.
    pub to: f64,
    /// Arrowhead at the start.
    pub start_arrow: bool,
    /// Arrowhead at the end.
    pub end_arrow: bool,
}

/// The geometry of one shape.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// A straight line.
    Line {
        /// One end.
        from: Point,
        /// The other.
        to: Point,
    },
    /// A line with an arrowhead at its end.
    Arrow {
        /// Tail.
        from: Point,
        /// Head.
        to: Point,
    },
    /// Points joined by lines.
    Polyline {
        /// The points in order.
        points: Vec<Point>,
        /// Whether the last joins the first.
        closed: bool,
        /// What fills it, if closed.
        fill: Fill,
    },
    /// A circle.
    Circle {
        /// Centre.
        centre: Point,
        /// Radius.
        radius: f64,
        /// What fills it.
        fill: Fill,
    },
    /// An arc.
    Arc(Arc),
    /// Hatching inside closed loops; a loop inside a loop is a hole.
    Hatch {
        /// The loops.
        loops: Vec<Vec<Point>>,
        /// Distance between lines.
        pitch: f64,
        /// Their direction, degrees.
        angle: f64,
    },
    /// A length with its number.
    Dimension(Dimension),
    /// An angle with its number.
    AngleDimension(AngleDimension),
    /// A line from a text to what it names; the dot sits at the tip.
    Leader {
        /// What is named.
        tip: Point,
        /// The name.
        label: Label,
    },
    /// A text.
    Text(Label),
}

/// One named shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// What it is: `plate at ride`.
    pub name: String,
    /// How its lines are drawn.
    pub line: LineKind,
    /// In the one accent colour.
    pub accent: bool,
    /// Its geometry.
    pub form: Form,
}

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// A short name, unique on its page: `side-view-LR`.
    pub name: String,
    /// What it shows, in one line.
    pub title: String,
    /// What it says, for those who cannot see it.
    pub description: String,
    /// What is visible.
    pub frame: Frame,
    /// Height of the letters.
    pub text_height: f64,
    /// The shapes, the first at the back.
    pub shapes: Vec<Shape>,
}

/// Width of the sheet's drawings on a telephone 390 px wide, in pixels: what is left between
/// the margins of page and figure.
const PHONE_WIDTH_PX: f64 = 350.0;
/// Letter height there, in pixels, for a start.
const PHONE_TEXT_PX: f64 = 12.4;
/// The least letter height that is promised there, in pixels.
const PHONE_TEXT_PX_MIN: f64 = 12.01;
/// Mean width of a letter in parts of the letter height; on the wide side, so that labels that
/// are found apart here are apart in any sans-serif face.
const LETTER_WIDTH: f64 = 0.56;
/// Height of a line of text in parts of the letter height.
const LINE_HEIGHT: f64 = 1.1;

impl Point {
    pub(crate) const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }
    /// From a centre, a radius and a direction in degrees.
    pub(crate) fn polar(centre: Self, radius: f64, degrees: f64) -> Self {
        let (sin, cos) = degrees.to_radians().sin_cos();
        Self::new(centre.x + radius * cos, centre.y + radius * sin)
    }
    pub(crate) fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
    pub(crate) const fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
    /// A point between, `part` 0 here and 1 there.
    pub(crate) fn toward(self, other: Self, part: f64) -> Self {
        Self::new(self.x + (other.x - self.x) * part, self.y + (other.y - self.y) * part)
    }
}

impl Frame {
    pub(crate) fn around(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        points.into_iter().filter(|p| p.is_finite()).fold(None, |frame: Option<Self>, p| {
            let f = frame.unwrap_or(Self { left: p.x, right: p.x, bottom: p.y, top: p.y });
            Some(Self {
                left: f.left.min(p.x),
                right: f.right.max(p.x),
                bottom: f.bottom.min(p.y),
                top: f.top.max(p.y),
            })
        })
    }
    pub(crate) fn width(self) -> f64 {
        self.right - self.left
    }
    pub(crate) fn height(self) -> f64 {
        self.top - self.bottom
    }
    /// Larger by so much on every side.
    pub(crate) fn grown(self, by: f64) -> Self {
        Self {
            left: self.left - by,
            right: self.right + by,
            bottom: self.bottom - by,
            top: self.top + by,
        }
    }
    pub(crate) fn is_finite(self) -> bool {
        [self.left, self.right, self.bottom, self.top].into_iter().all(f64::is_finite)
    }
    pub(crate) fn joined(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            right: self.right.max(other.right),
            bottom: self.bottom.min(other.bottom),
            top: self.top.max(other.top),
        }
    }
    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.bottom < other.top
            && other.bottom < self.top
    }
}

impl Anchor {
    const fn mirrored(self) -> Self {
        match self {
            Self::Start => Self::End,
            Self::Middle => Self::Middle,
            Self::End => Self::Start,
        }
    }
}

impl Label {
    /// The room its letters take, estimated on the wide side.
    pub(crate) fn room(&self, text_height: f64) -> Frame {
        let letters = self.text.chars().count() as f64;
        let wide = letters * text_height * LETTER_WIDTH * if self.strong { 1.06 } else { 1.0 };
        let left = match self.anchor {
            Anchor::Start => self.at.x,
            Anchor::Middle => self.at.x - wide / 2.0,
            Anchor::End => self.at.x - wide,
        };
        let half = text_height * LINE_HEIGHT / 2.0;
        Frame { left, right: left + wide, bottom: self.at.y - half, top: self.at.y + half }
    }
    fn mirrored(self) -> Self {
        Self { at: Point::new(-self.at.x, self.at.y), anchor: self.anchor.mirrored(), ..self }
    }
}

impl Form {
    /// Its text, if it carries one.
    pub fn label(&self) -> Option<&Label> {
        match self {
            Self::Text(label) | Self::Leader { label, .. } => Some(label),
            Self::Dimension(dimension) => Some(&dimension.label),
            Self::AngleDimension(dimension) => Some(&dimension.label),
            _ => None,
        }
    }

    /// Seen from the other side: reflected in the line x = 0, texts still readable.
    fn mirrored(self) -> Self {
        let m = |p: Point| Point::new(-p.x, p.y);
        let all = |points: Vec<Point>| points.into_iter().map(m).collect();
        match self {
            Self::Line { from, to } => Self::Line { from: m(from), to: m(to) },
            Self::Arrow { from, to } => Self::Arrow { from: m(from), to: m(to) },
            Self::Polyline { points, closed, fill } => {
                Self::Polyline { points: all(points), closed, fill }
            }
            Self::Circle { centre, radius, fill } => {
                Self::Circle { centre: m(centre), radius, fill }
            }
            Self::Arc(arc) => Self::Arc(Arc {
                centre: m(arc.centre),
                from: 180.0 - arc.from,
                to: 180.0 - arc.to,
                ..arc
            }),
            Self::Hatch { loops, pitch, angle } => Self::Hatch {
                loops: loops.into_iter().map(all).collect(),
                pitch,
                angle: 180.0 - angle,
            },
            Self::Dimension(d) => Self::Dimension(Dimension {
                from: m(d.from),
                to: m(d.to),
                stand_off: -d.stand_off,
                label: d.label.mirrored(),
            }),
            Self::AngleDimension(d) => Self::AngleDimension(AngleDimension {
                centre: m(d.centre),
                radius: d.radius,
                from: 180.0 - d.from,
                to: 180.0 - d.to,
                label: d.label.mirrored(),
            }),
            Self::Leader { tip, label } => Self::Leader { tip: m(tip), label: label.mirrored() },
            Self::Text(label) => Self::Text(label.mirrored()),
        }
    }
}

impl Drawing {
    /// The shape with that name; the first, should there be several.
    pub fn shape(&self, name: &str) -> Option<&Shape> {
        self.shapes.iter().find(|shape| shape.name == name)
    }

    /// The room each text takes, in the order of the shapes; estimated on the wide side.
    pub fn text_rooms(&self) -> Vec<(&str, Frame)> {
        self.shapes
            .iter()
            .filter_map(|shape| shape.form.label())
            .map(|label| (label.text.as_str(), label.room(self.text_height)))
            .collect()
    }

    pub(crate) fn mirror(&mut self) {
        let shapes = std::mem::take(&mut self.shapes);
        self.shapes = shapes.into_iter().map(|s| Shape { form: s.form.mirrored(), ..s }).collect();
        let frame = self.frame;
        self.frame = Frame { left: -frame.right, right: -frame.left, ..frame };
    }

    /// Adds a shape with narrow lines.
    pub(crate) fn narrow(&mut self, name: impl Into<String>, form: Form) {
        self.add(name, LineKind::Narrow, form);
    }

    pub(crate) fn add(&mut self, name: impl Into<String>, line: LineKind, form: Form) {
        self.shapes.push(Shape { name: name.into(), line, accent: false, form });
    }

    /// Adds a shape in the accent colour.
    pub(crate) fn accent(&mut self, name: impl Into<String>, line: LineKind, form: Form) {
        self.shapes.push(Shape { name: name.into(), line, accent: true, form });
    }

    pub(crate) fn text(&mut self, name: impl Into<String>, label: Label) {
        self.narrow(name, Form::Text(label));
    }
}

impl Label {
    pub(crate) fn new(at: Point, anchor: Anchor, text: impl Into<String>) -> Self {
        Self { at, anchor, text: text.into(), strong: false }
    }
    pub(crate) fn strong(self) -> Self {
        Self { strong: true, ..self }
    }
}

/// The widest a drawing with such letters may be for them to be read on a telephone.
pub(crate) fn width_max_for(text_height: f64) -> f64 {
    text_height * PHONE_WIDTH_PX / PHONE_TEXT_PX_MIN
}

/// Letter height for a drawing so wide that its texts can be read on a telephone.
pub(crate) fn text_height_for(width: f64) -> f64 {
    width * PHONE_TEXT_PX / PHONE_WIDTH_PX
}

//! The shapes of what comes out: findings, their numbers, their reasons, and gaps.

use axlewright_quantity::{Amount, Corner};

/// What a finding or a gap is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// One wheel's corner.
    Corner(Corner),
    /// A stand, by the name the car file gives it.
    Stand(String),
    /// A step of the work, by its id.
    Step(String),
    /// A joint, by its id.
    Joint(String),
    /// Something that photographs show.
    Sighted(Sighted),
}

/// What is seen in photographs, by the names it has there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sighted {
    /// A photograph.
    Photo(String),
    /// A printed sheet, by its code.
    Sheet(String),
    /// Two printed sheets.
    Sheets(String, String),
    /// A point.
    Point(String),
    /// The line through points.
    Points(Vec<String>),
}

impl std::fmt::Display for Sighted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Photo(name) | Self::Sheet(name) | Self::Point(name) => f.write_str(name),
            Self::Sheets(a, b) => write!(f, "{a} and {b}"),
            Self::Points(names) => f.write_str(&names.join(" to ")),
        }
    }
}

/// For findings that exist twice: with the bar on the planned teeth, or as it stands now.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// With the free angle at its target: the plan.
    Target,
    /// With the teeth the bar sits on now: what counts for safety before the act.
    Now,
}

/// One number shown to a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Leaf {
    /// The value, in the unit its kind is shown in.
    pub value: Amount,
    /// Standard uncertainty (k = 1), or `None` where none can be given.
    pub u: Option<Amount>,
    /// The text it was copied from, word for word, if it was copied.
    pub written: Option<String>,
}

/// The value of a finding: a number, or an object or list of them.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A quantity.
    Leaf(Leaf),
    /// A whole number of things; exact. The unit names the things.
    Count(i64, &'static str),
    /// A word from a fixed list, or a sentence.
    Word(String),
    /// Yes or no.
    Flag(bool),
    /// Named parts, in order.
    Object(Vec<(&'static str, Self)>),
    /// Several of the same shape, in order.
    List(Vec<Self>),
    /// Not known, or open: an end of a window that nothing limits.
    Nothing,
}

/// One thing a finding was computed from.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is, in words.
    pub name: String,
    /// Its value, if it is a number.
    pub value: Option<Amount>,
    /// Its standard uncertainty, if it has one.
    pub u: Option<Amount>,
    /// Where it comes from: a line of the car file, a manual page, a definition.
    pub from: String,
    /// The part of the finding's variance it causes, 0 to 1; of the finding's first number.
    pub share: Option<f64>,
}

/// Why a finding is what it is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Why {
    /// In words, for the restorer.
    pub words: String,
    /// The formula, in the symbols of `docs/method.md`.
    pub formula: &'static str,
    /// The standard or derivation behind it.
    pub source: &'static str,
    /// What went in, the one that matters most first.
    pub inputs: Vec<Input>,
}

/// Something the car file leads to.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// Its id, a public name: `free-angle.target`.
    pub id: &'static str,
    /// What it is about; `None` for the whole car.
    pub of: Option<Subject>,
    /// With which teeth, where that matters.
    pub at: Option<State>,
    /// The number or numbers.
    pub value: Item,
    /// Formula, source, inputs, words.
    pub why: Why,
}

/// One of several contradicting or incomplete rows behind a gap.
#[derive(Debug, Clone, PartialEq)]
pub struct GapRow {
    /// The row's value as written.
    pub written: String,
    /// Which cars it is for.
    pub builds: String,
    /// Its source, or "no source".
    pub source: String,
    /// The line of the car file.
    pub line: u32,
}

/// Something still to be measured, looked up or decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Gap {
    /// Stable name: the car file's key, or the spec's name.
    pub id: String,
    /// What it is about.
    pub of: Option<Subject>,
    /// What to measure or decide.
    pub measure: String,
    /// How: tape, plumb line, straightedge, scale; and how good it has to be.
    pub how: String,
    /// The ids of the findings that wait for it.
    pub blocks: Vec<&'static str>,
    /// The rows that contradict each other or leave a hole, if that is the gap.
    pub rows: Vec<GapRow>,
}

impl Item {
    /// A number without uncertainty yet.
    pub fn leaf(value: impl Into<Amount>) -> Self {
        Self::Leaf(Leaf { value: value.into(), u: None, written: None })
    }

    /// A number, or [`Item::Nothing`].
    pub fn maybe<Q: Into<Amount>>(value: Option<Q>) -> Self {
        value.map_or(Self::Nothing, Self::leaf)
    }

    /// The part of an object with that name.
    pub fn get(&self, name: &str) -> Option<&Self> {
        match self {
            Self::Object(parts) => parts.iter().find(|(n, _)| *n == name).map(|(_, item)| item),
            _ => None,
        }
    }

    /// The part of an object with that name, to be filled in.
    pub(crate) fn get_mut(&mut self, name: &str) -> Option<&mut Self> {
        match self {
            Self::Object(parts) => parts.iter_mut().find(|(n, _)| *n == name).map(|(_, item)| item),
            _ => None,
        }
    }

    /// The items of a list; empty for anything else.
    pub fn items(&self) -> &[Self] {
        match self {
            Self::List(items) => items,
            _ => &[],
        }
    }

    /// The number, if it is one.
    pub fn as_leaf(&self) -> Option<&Leaf> {
        match self {
            Self::Leaf(leaf) => Some(leaf),
            _ => None,
        }
    }

    /// The quantity, if it is a number.
    pub fn amount(&self) -> Option<Amount> {
        self.as_leaf().map(|leaf| leaf.value)
    }

    /// Every quantity in it, in order.
    pub fn leaves(&self) -> Vec<&Leaf> {
        let mut all = Vec::new();
        self.each_leaf(&mut |leaf| all.push(leaf));
        all
    }

    /// Shows every quantity in it, in order.
    fn each_leaf<'a>(&'a self, see: &mut impl FnMut(&'a Leaf)) {
        match self {
            Self::Leaf(leaf) => see(leaf),
            Self::Object(parts) => parts.iter().for_each(|(_, item)| item.each_leaf(see)),
            Self::List(items) => items.iter().for_each(|item| item.each_leaf(see)),
            _ => {}
        }
    }

    /// The values of its quantities, in order, in SI.
    pub(crate) fn numbers(&self) -> Vec<f64> {
        let mut all = Vec::new();
        self.each_leaf(&mut |leaf| all.push(leaf.value.to_si()));
        all
    }

    /// Every quantity in it, in order, to be filled in.
    pub(crate) fn leaves_mut(&mut self) -> Vec<&mut Leaf> {
        match self {
            Self::Leaf(leaf) => vec![leaf],
            Self::Object(parts) => parts.iter_mut().flat_map(|(_, i)| i.leaves_mut()).collect(),
            Self::List(items) => items.iter_mut().flat_map(Self::leaves_mut).collect(),
            _ => Vec::new(),
        }
    }
}

//! The printed sheets: which tags stand where, the line to lay along an edge, what to check with a
//! rule.
//!
//! ```text
//!        working position of a page, the line at the bottom         sheet axes
//!      ┌──────────────────────────────────────────────────┐
//!      │  words                                           │         y ▲
//!      │  ┌──┐ ┌──┐ ┌──┐ ┌──┐ ┌──┐   ─┬─                  │           │
//!      │  └──┘ └──┘ └──┘ └──┘ └──┘    │ second length     │           ⊙──▶ x
//!      │  ┌──┐ ┌──┐ ┌──┐ ┌──┐ ┌──┐    │ to check          │         z out of the paper,
//!      │  └──┘ └──┘ └──┘ └──┘ └──┘   ─┴─                  │         to the camera
//!      │ |────────────────┴─────────────────| the line    │
//!      └──────────────────────────────────────────────────┘
//!                         0, where the line has its mark
//! ```
//!
//! The origin is the mark in the middle of the line, x runs along the line to the right as the
//! words are read, y up the paper. Of a strip, the line is the cut between the two halves of a
//! pair: both halves have the same axes as long as they have not been moved.
//!
//! Every sheet has tags of its own, also on the other paper, so that a picture says by itself what
//! is in it.
//!
//! # Source
//! Layout, sizes and numbers are our own. Paper: A4 is 210 × 297 mm, Letter 8.5 × 11 in.

use std::fmt;

use axlewright_quantity::Length;

use crate::family::TagId;

/// The paper a page is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Paper {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// What a sheet is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// On the body, its line along the sill.
    Body,
    /// On the spring plate, its line along the reference line.
    Plate,
    /// On the floor.
    Floor,
    /// Pairs of strips for marks: one half on each of two parts.
    Strip,
}

/// Which half of a pair of strips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Half {
    /// Above the cut.
    Upper,
    /// Below it.
    Lower,
}

/// One rigid piece of paper: a whole page, or half of a pair of strips.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct SheetId {
    kind: Kind,
    paper: Paper,
    /// Of strips: the pair, from 0, and the half.
    half: Option<(u8, Half)>,
}

/// A point of a sheet, in its own axes.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SheetPoint {
    /// Along the line.
    pub x: Length,
    /// Up the paper.
    pub y: Length,
}

/// One tag where it is printed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tag {
    /// Which of the family.
    pub id: TagId,
    /// The middle of it.
    pub centre: SheetPoint,
    /// Across the black square.
    pub size: Length,
}

/// One sheet as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Which one.
    pub id: SheetId,
    /// Its tags, row by row from the line.
    pub tags: Vec<Tag>,
    /// Length of its line, half of it on either side of the origin.
    pub line: Length,
}

/// A page with what is printed on it, in the working position: from its lower left corner, the long
/// side along.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// What for.
    pub kind: Kind,
    /// On which paper.
    pub paper: Paper,
    /// The sheets on it, each with where its origin stands on the page.
    pub sheets: Vec<(Sheet, SheetPoint)>,
    /// The lengths to check with a rule: along the page, then up it, each from its lower left end.
    pub checks: [(SheetPoint, Length); 2],
}

impl Paper {
    /// Both.
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    /// Its short and its long side.
    pub const fn sides(self) -> (Length, Length) {
        match self {
            Self::A4 => (Length::mm(210.0), Length::mm(297.0)),
            Self::Letter => (Length::inches(8.5), Length::inches(11.0)),
        }
    }

    /// As it is typed: `a4`, `letter`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Body, Self::Plate, Self::Floor, Self::Strip];

    /// As it is typed: `body`, `plate`, `floor`, `strip`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Body => "body",
            Self::Plate => "plate",
            Self::Floor => "floor",
            Self::Strip => "strip",
        }
    }

    const fn grid(self) -> Grid {
        match self {
            Self::Body => Grid { columns: 5, rows: 3, cell_mm: 5.0, pitch_mm: 50.0, foot_mm: 4.0 },
            Self::Plate => Grid { columns: 7, rows: 4, cell_mm: 3.5, pitch_mm: 35.0, foot_mm: 2.0 },
            Self::Floor => Grid { columns: 3, rows: 2, cell_mm: 7.5, pitch_mm: 76.0, foot_mm: 4.0 },
            Self::Strip => Grid { columns: 6, rows: 1, cell_mm: 1.5, pitch_mm: 15.0, foot_mm: 0.0 },
        }
    }

    const fn tags_on_a_page(self) -> u16 {
        let grid = self.grid();
        let on_a_sheet = grid.columns as u16 * grid.rows as u16;
        match self {
            Self::Strip => on_a_sheet * 2 * PAIRS as u16,
            _ => on_a_sheet,
        }
    }
}

/// Pairs of strips on a page: two beside each other, four above each other.
const PAIRS: u8 = 8;
const PAIRS_BESIDE: u8 = 2;
const PAIR_WIDTH_MM: f64 = 125.0;
const PAIR_HEIGHT_MM: f64 = 36.0;
/// How far the line stands above the long edge: printers leave that much white.
const MARGIN_MM: f64 = 16.0;
/// The length to check up a page.
const UP_MM: f64 = 150.0;

/// Tags in rows and columns above the line.
struct Grid {
    columns: u8,
    rows: u8,
    /// A cell of a tag; ten of them with its margin.
    cell_mm: f64,
    pitch_mm: f64,
    /// From the line to the lowest margin.
    foot_mm: f64,
}

impl SheetId {
    /// The sheet of a page that holds only one; `None` for strips.
    pub const fn whole(kind: Kind, paper: Paper) -> Option<Self> {
        match kind {
            Kind::Strip => None,
            _ => Some(Self { kind, paper, half: None }),
        }
    }

    /// Half of a pair of strips, counted from 1.
    pub const fn strip(paper: Paper, pair: u8, half: Half) -> Option<Self> {
        if pair == 0 || PAIRS < pair {
            return None;
        }
        Some(Self { kind: Kind::Strip, paper, half: Some((pair - 1, half)) })
    }

    /// What it is for.
    pub const fn kind(self) -> Kind {
        self.kind
    }

    /// On which paper.
    pub const fn paper(self) -> Paper {
        self.paper
    }

    /// The half beside it, if it is one of a pair.
    pub fn partner(self) -> Option<Self> {
        let (pair, half) = self.half?;
        let half = match half {
            Half::Upper => Half::Lower,
            Half::Lower => Half::Upper,
        };
        Some(Self { half: Some((pair, half)), ..self })
    }

    /// Which half it is, of strips.
    pub fn half(self) -> Option<Half> {
        self.half.map(|(_, half)| half)
    }

    /// Every sheet there is.
    pub fn all() -> impl Iterator<Item = Self> {
        Paper::ALL.into_iter().flat_map(|paper| {
            Kind::ALL.into_iter().flat_map(move |kind| {
                let halves = match kind {
                    Kind::Strip => (0..PAIRS)
                        .flat_map(|pair| [Half::Upper, Half::Lower].map(|half| Some((pair, half))))
                        .collect(),
                    _ => vec![None],
                };
                halves.into_iter().map(move |half| Self { kind, paper, half })
            })
        })
    }

    /// The sheet that a text names: its code (`body-a4`, `strip-letter-3-upper`).
    pub fn from_code(code: &str) -> Option<Self> {
        Self::all().find(|sheet| sheet.to_string() == code)
    }

    /// The sheet that a tag belongs to; `None` for tags of the family that no sheet has.
    pub fn of_tag(tag: TagId) -> Option<Self> {
        Self::all().find(|sheet| {
            let first = sheet.first_tag();
            (first..first + sheet.tag_count()).contains(&tag.number())
        })
    }

    fn tag_count(self) -> u16 {
        let grid = self.kind.grid();
        u16::from(grid.columns) * u16::from(grid.rows)
    }

    fn first_tag(self) -> u16 {
        let pages = Kind::ALL.into_iter().flat_map(|kind| Paper::ALL.map(|paper| (kind, paper)));
        let before: u16 = pages
            .take_while(|page| *page != (self.kind, self.paper))
            .map(|(kind, _)| kind.tags_on_a_page())
            .sum();
        let within = self.half.map_or(0, |(pair, half)| 2 * u16::from(pair) + half as u16);
        before + within * self.tag_count()
    }
}

impl fmt::Display for SheetId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}", self.kind.word(), self.paper.word())?;
        match self.half {
            None => Ok(()),
            Some((pair, Half::Upper)) => write!(f, "-{}-upper", pair + 1),
            Some((pair, Half::Lower)) => write!(f, "-{}-lower", pair + 1),
        }
    }
}

impl Sheet {
    /// The sheet as it is printed.
    pub fn new(id: SheetId) -> Self {
        let grid = id.kind.grid();
        let mut tags = Vec::new();
        let mut number = id.first_tag();
        for row in 0..grid.rows {
            for column in 0..grid.columns {
                let x = (f64::from(column) - f64::from(grid.columns - 1) / 2.0) * grid.pitch_mm;
                let y = grid.foot_mm + 5.0 * grid.cell_mm + f64::from(row) * grid.pitch_mm;
                let y = if id.half() == Some(Half::Lower) { -y } else { y };
                let (x, y) = (Length::mm(x), Length::mm(y));
                let size = Length::mm(f64::from(crate::family::CELLS) * grid.cell_mm);
                if let Some(id) = TagId::new(number) {
                    tags.push(Tag { id, centre: SheetPoint { x, y }, size });
                }
                number += 1;
            }
        }
        Self { id, tags, line: line_of(id) }
    }

    /// The tag with that number, if it is on this sheet.
    pub fn tag(&self, id: TagId) -> Option<&Tag> {
        self.tags.iter().find(|tag| tag.id == id)
    }
}

fn line_of(id: SheetId) -> Length {
    match (id.kind, id.paper) {
        (Kind::Strip, _) => Length::mm(90.0),
        (Kind::Plate, _) | (_, Paper::Letter) => Length::mm(250.0),
        (_, Paper::A4) => Length::mm(270.0),
    }
}

impl Page {
    /// What is printed on a page.
    pub fn new(kind: Kind, paper: Paper) -> Self {
        let (_, long) = paper.sides();
        let middle = long / 2.0;
        let at = |x: Length, y_mm: f64| SheetPoint { x, y: Length::mm(y_mm) };
        let sheets: Vec<(Sheet, SheetPoint)> = SheetId::all()
            .filter(|id| id.kind == kind && id.paper == paper)
            .map(|id| {
                let origin = match id.half {
                    None => at(middle, MARGIN_MM),
                    Some((pair, _)) => {
                        let (row, column) = (pair / PAIRS_BESIDE, pair % PAIRS_BESIDE);
                        let x_mm = (f64::from(column) - 0.5) * PAIR_WIDTH_MM;
                        let y_mm = MARGIN_MM + (f64::from(row) + 0.5) * PAIR_HEIGHT_MM;
                        at(middle + Length::mm(x_mm), y_mm)
                    }
                };
                (Sheet::new(id), origin)
            })
            .collect();
        let along = match kind {
            Kind::Strip => Length::mm(240.0),
            _ => sheets.first().map_or(Length::ZERO, |(sheet, _)| sheet.line),
        };
        let along_y_mm = if kind == Kind::Strip { MARGIN_MM - 5.0 } else { MARGIN_MM };
        let checks = [
            (at(middle - along / 2.0, along_y_mm), along),
            (at(long - Length::mm(9.0), MARGIN_MM), Length::mm(UP_MM)),
        ];
        Self { kind, paper, sheets, checks }
    }
}

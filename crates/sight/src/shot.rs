//! What goes in: photographs with their tags, taps, and what is known of printer and lens.

use axlewright_quantity::{Length, Ratio};

use crate::find::Seen;
use crate::grey::Pixel;
use crate::lens::Lens;
use crate::sheet::SheetId;

/// What is known of a photograph's lens beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LensKnown {
    /// Nothing: 26 mm equivalent is taken, with a doubt of a quarter.
    Unknown,
    /// The focal length that would show the same on 36 × 24 mm, as cameras write it.
    Equivalent(Length),
    /// The lens, exactly: for checks against other programs.
    Held(Lens),
}

/// One photograph: its size, its lens, and the tags found in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shot {
    /// Pixels across, upright.
    pub width: u32,
    /// Pixels down, upright.
    pub height: u32,
    /// What is known of its lens.
    pub lens: LensKnown,
    /// The tags in it.
    pub seen: Vec<Seen>,
    /// Whether there are tags in it only when it is turned left for right.
    pub mirrored: bool,
}

/// How far a tap may be from what it means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TapDoubt {
    /// The same every way; a standard deviation per coordinate.
    Round(f64),
    /// Sure across an edge, less sure along it.
    Edge {
        /// The edge's direction in the picture; its length does not matter.
        along: (f64, f64),
        /// Standard deviation along it.
        along_u: f64,
        /// Standard deviation across it.
        across_u: f64,
    },
}

impl TapDoubt {
    /// A finger or mouse on a magnified picture: half a pixel.
    ///
    /// # Source
    /// Chosen, no source.
    pub const TAP: Self = Self::Round(0.5);
}

/// A point shown in a photograph.
#[derive(Debug, Clone, PartialEq)]
pub struct Tap {
    /// Which photograph, from 0.
    pub shot: usize,
    /// The point's name; the same in every photograph.
    pub name: String,
    /// Where it was tapped.
    pub at: Pixel,
    /// How far off that may be.
    pub doubt: TapDoubt,
    /// The sheet in whose plane the point lies, if it does.
    pub sheet: Option<SheetId>,
}

/// How large the printer printed, 1 for true to size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    /// Along the line: what the rule read, over what stands beside the check.
    pub along: Ratio,
    /// Up the paper, likewise.
    pub up: Ratio,
    /// The doubt of each; of what was read with a rule, 0.7 in a thousand.
    pub u: Ratio,
}

impl Scale {
    /// As read with a rule: 0.15 mm over 150 to 270 mm.
    ///
    /// # Source
    /// Chosen, no source: both ends against the strokes of a steel rule, a tenth of a millimetre
    /// each.
    pub const fn read(along: Ratio, up: Ratio) -> Self {
        Self { along, up, u: Ratio::one(7e-4) }
    }
}

/// Everything that is measured together: photographs of things that did not move between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Question {
    /// The photographs.
    pub shots: Vec<Shot>,
    /// The points shown in them.
    pub taps: Vec<Tap>,
    /// The printer's scale, if it was checked.
    pub scale: Option<Scale>,
    /// What is not to be found out.
    pub held: Held,
}

/// What is taken as given: for checks against other programs.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Held {
    /// Sheets are perfectly flat and as large as the scale says.
    pub flat: bool,
    /// How far a corner's coordinate is off, pixels.
    pub corner_doubt: Option<f64>,
}

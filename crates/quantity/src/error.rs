//! What can be wrong with a quantity as written.

use std::ops::Range;

use crate::unit::accepted;
use crate::{Amount, Kind};

/// Why a text is not the quantity that was asked for.
///
/// The message says what is wrong and what is allowed; [`Self::hint`] what to write instead;
/// [`Self::span`] which bytes of the text to underline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are the words of the message above them")]
pub enum QuantityError {
    /// Nothing but blanks.
    #[error("nothing is written where {} is asked for", kind.with_article())]
    Empty { kind: Kind, span: Range<usize> },
    /// A number is expected here and something else stands here.
    #[error("no number at `{found}`")]
    NoNumber { found: String, span: Range<usize> },
    /// It begins like a number and is none.
    #[error("`{found}` is not one number")]
    BadNumber { found: String, span: Range<usize> },
    /// NaN or an infinity.
    #[error("`{found}` is not a finite number")]
    NotFinite { found: String, span: Range<usize> },
    /// More than any car has of it.
    #[error("`{found}` is too large for {}: the limit is {limit:.0}", limit.kind().with_article())]
    TooLarge { found: String, limit: Amount, span: Range<usize> },
    /// Not zero, and nearer to it than anything that can be measured.
    #[error("`{found}` is too small for {}: write 0 or check the exponent", kind.with_article())]
    TooSmall { found: String, kind: Kind, span: Range<usize> },
    /// A comma inside a number.
    #[error("`{found}` has a comma in the number; write `{right}`")]
    Comma { found: String, right: String, span: Range<usize> },
    /// Thousands set apart by a blank.
    #[error("`{found}` has a blank in the number; write `{right}`")]
    SplitDigits { found: String, right: String, span: Range<usize> },
    /// Two numbers with "to" between them.
    #[error("`{found}` is a range, and one value is asked for")]
    RangeWritten { found: String, span: Range<usize> },
    /// A number without its unit.
    #[error("`{found}` has no unit; {} is written in {}", kind.with_article(), accepted(*kind))]
    MissingUnit { found: String, kind: Kind, span: Range<usize> },
    /// A unit of nothing known here.
    #[error(
        "unknown unit `{unit}`{}; {} is written in {}",
        nearest.map(|n| format!(", did you mean `{n}`")).unwrap_or_default(),
        kind.with_article(), accepted(*kind)
    )]
    UnknownUnit { unit: String, nearest: Option<&'static str>, kind: Kind, span: Range<usize> },
    /// A known unit of another kind of quantity.
    #[error(
        "`{unit}` measures {}, and {} is asked for, written in {}",
        is.with_article(), kind.with_article(), accepted(*kind)
    )]
    WrongKind { unit: String, is: Kind, kind: Kind, span: Range<usize> },
    /// Minutes or seconds of arc from 60 up.
    #[error("`{found}` are too many {part} of arc; they go up to 59")]
    SixtyOrMore { found: String, part: &'static str, span: Range<usize> },
    /// `32.5°30'`: a decimal fraction, and then a smaller unit as well.
    #[error("`{found}` has decimals before a smaller unit; write one or the other")]
    DecimalsBeforeMinutes { found: String, span: Range<usize> },
    /// `32°30`: is it minutes?
    #[error("`{found}` needs its mark, ' for minutes or \" for seconds of arc")]
    MissingMark { found: String, span: Range<usize> },
    /// `32'30°`: the parts of an angle out of order, or one twice.
    #[error("`{found}` is out of order; an angle is written degrees, minutes, seconds")]
    PartOrder { found: String, span: Range<usize> },
    /// `0°-30'`: the sign belongs to the whole.
    #[error("`{found}` has a sign inside the angle; it stands once, in front of the degrees")]
    SignInside { found: String, span: Range<usize> },
    /// `±` or `u` with nothing after it.
    #[error("nothing follows `{mark}`")]
    MissingSpread { mark: String, span: Range<usize> },
    /// A spread of nothing or less.
    #[error("the spread `{found}` must be greater than zero")]
    SpreadNotPositive { found: String, span: Range<usize> },
    /// `-0°30' ± 20`: degrees or minutes?
    #[error("`{found}` needs its own unit, since the value has several")]
    MissingSpreadUnit { found: String, span: Range<usize> },
    /// `0.14 ± 10 %`: per cent of what?
    #[error("`{found}` can be read in two ways; write the % after both numbers or after neither")]
    AmbiguousShare { found: String, span: Range<usize> },
    /// A percentage of nothing, or of a gauge's step.
    #[error("`{found}` cannot be a share of the value here; write it in the unit of the value")]
    ShareOfNothing { found: String, span: Range<usize> },
    /// Capital `U`, the expanded uncertainty, whose factor is not written.
    #[error("`U` is an expanded uncertainty and its factor is not given")]
    Expanded { span: Range<usize> },
    /// Something after the end.
    #[error("`{found}` is left over after the quantity")]
    LeftOver { found: String, span: Range<usize> },
    /// Too few or too many coordinates.
    #[error("{found} of the coordinates {axes} given; each is written once, with commas between")]
    CoordinateCount { found: usize, axes: &'static str, span: Range<usize> },
    /// `Y` where `X` belongs.
    #[error("`{found}` stands where {wanted} belongs; the order is {axes}")]
    AxisOrder { found: String, wanted: &'static str, axes: &'static str, span: Range<usize> },
    /// `250,6`: two coordinates, or a decimal comma?
    #[error("`{found}` can be read in two ways; put a blank after a comma between coordinates")]
    TightComma { found: String, span: Range<usize> },
}

impl QuantityError {
    /// The bytes of the text that are wrong; always within it and on character boundaries. Empty
    /// at the place where something is missing.
    pub fn span(&self) -> Range<usize> {
        match self {
            Self::Empty { span, .. }
            | Self::NoNumber { span, .. }
            | Self::BadNumber { span, .. }
            | Self::NotFinite { span, .. }
            | Self::TooLarge { span, .. }
            | Self::TooSmall { span, .. }
            | Self::Comma { span, .. }
            | Self::SplitDigits { span, .. }
            | Self::RangeWritten { span, .. }
            | Self::MissingUnit { span, .. }
            | Self::UnknownUnit { span, .. }
            | Self::WrongKind { span, .. }
            | Self::SixtyOrMore { span, .. }
            | Self::DecimalsBeforeMinutes { span, .. }
            | Self::MissingMark { span, .. }
            | Self::PartOrder { span, .. }
            | Self::SignInside { span, .. }
            | Self::MissingSpread { span, .. }
            | Self::SpreadNotPositive { span, .. }
            | Self::MissingSpreadUnit { span, .. }
            | Self::AmbiguousShare { span, .. }
            | Self::ShareOfNothing { span, .. }
            | Self::Expanded { span }
            | Self::LeftOver { span, .. }
            | Self::CoordinateCount { span, .. }
            | Self::AxisOrder { span, .. }
            | Self::TightComma { span, .. } => span.clone(),
        }
    }

    /// What to write instead, where the message alone does not say it.
    pub fn hint(&self) -> Option<&'static str> {
        Some(match self {
            Self::Empty { kind, .. }
            | Self::MissingUnit { kind, .. }
            | Self::UnknownUnit { kind, .. }
            | Self::TooSmall { kind, .. } => kind.example(),
            Self::TooLarge { limit, .. } => limit.kind().example(),
            Self::WrongKind { is: Kind::Mass, kind: Kind::Force, .. } => {
                "a force is written in kgf or lbf where a scale or an old manual says kg or lb"
            }
            Self::WrongKind { is: Kind::Force, kind: Kind::Mass, .. } => {
                "a mass is written in kg or lb, not as the force with which it weighs down"
            }
            Self::WrongKind { is: Kind::Torque, kind: Kind::Energy, .. } => {
                "an energy is written in J; N·m is kept for torques"
            }
            Self::WrongKind { kind, .. } => kind.example(),
            Self::NoNumber { .. } | Self::BadNumber { .. } | Self::NotFinite { .. } => {
                "a number is digits with a point for the decimals, such as -32.5"
            }
            Self::Comma { .. } => "the decimals follow a point, and thousands are not set apart",
            Self::RangeWritten { .. } => {
                "write the middle and half the width: 30 to 32 deg is `31 deg ± 1 deg`"
            }
            Self::SixtyOrMore { .. } | Self::PartOrder { .. } | Self::MissingMark { .. } => {
                "32°30'15\" is 32 degrees, 30 minutes, 15 seconds"
            }
            Self::DecimalsBeforeMinutes { .. } => "32.5° is 32°30'",
            Self::SignInside { .. } => "write -0°30' for half a degree below zero",
            Self::MissingSpread { .. } | Self::SpreadNotPositive { .. } => {
                "`± 0.5 deg` or `tol 0.5 deg` is a tolerance, `u 0.15 deg` a standard \
                 uncertainty, `res 0.1 deg` a gauge's step"
            }
            Self::MissingSpreadUnit { .. } => "write `-0°30' ± 20'`",
            Self::Expanded { .. } => "divide it by its factor (mostly 2) and write `u`",
            Self::LeftOver { .. } => {
                "one value and one spread are read; unequal limits such as +0.5 -0.2 are written \
                 as their middle ± half the width"
            }
            Self::CoordinateCount { .. } | Self::AxisOrder { .. } | Self::TightComma { .. } => {
                "a place is written `-55, 235, -20 mm` (X, Y, Z), a point on the plate `250, 6 mm` \
                 (u, w); decimals follow a point"
            }
            Self::SplitDigits { .. }
            | Self::AmbiguousShare { .. }
            | Self::ShareOfNothing { .. } => return None,
        })
    }
}

/// A piece of the writer's text fit for a message: short, and nothing in it moves the cursor.
pub fn cut(text: &str) -> String {
    const LONGEST: usize = 40;
    let mut out: String = text
        .chars()
        .take(LONGEST)
        .map(|c| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c })
        .collect();
    if text.chars().nth(LONGEST).is_some() {
        out.push('…');
    }
    out
}

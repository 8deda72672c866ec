//! Angles in degrees, minutes and seconds of arc: `-0°30'`, `32 deg 30' 15"`.

use crate::scan::{Number, Piece, is_minus, take_number};
use crate::{Angle, QuantityError};

/// One part of such an angle, in the order in which they are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Part {
    Degrees,
    Minutes,
    Seconds,
}

impl Part {
    const fn per_degree(self) -> f64 {
        match self {
            Self::Degrees => 1.0,
            Self::Minutes => 60.0,
            Self::Seconds => 3600.0,
        }
    }
    const fn name(self) -> &'static str {
        match self {
            Self::Degrees => "degrees",
            Self::Minutes => "minutes",
            Self::Seconds => "seconds",
        }
    }
}

/// Longer marks before their beginnings: two strokes are seconds, one is minutes.
const MARKS: [(Part, &[&str]); 3] = [
    (Part::Degrees, &["degrees", "degree", "deg", "°", "º", "˚"]),
    (Part::Seconds, &["''", "′′", "’’", "″", "”", "\"", "arcsec"]),
    (Part::Minutes, &["'", "′", "’", "ʹ", "arcmin"]),
];

/// The mark at the front, and what follows it.
fn take_mark(piece: Piece<'_>) -> Option<(Part, Piece<'_>)> {
    MARKS.iter().find_map(|(part, texts)| {
        let mark = texts.iter().find(|m| piece.text.starts_with(**m))?;
        Some((*part, piece.split(mark.len()).1))
    })
}

/// Whether another number stands here.
fn goes_on(piece: Piece<'_>) -> bool {
    let (_, body) = piece.split_while(|c| is_minus(c) || c == '+');
    body.first().is_some_and(|c| c.is_ascii_digit())
}

/// The radians of an angle of which `first` was only the first part; `None` if it has just one.
/// The sign of the first part is that of the whole, also when the degrees are 0.
pub(crate) fn in_parts(first: Number<'_>, rest: Piece<'_>) -> Result<Option<f64>, QuantityError> {
    let Some((mut part, after)) = take_mark(rest) else { return Ok(None) };
    let mut rest = after.trim();
    if !goes_on(rest) {
        return Ok(None);
    }
    let mut degrees = first.size / part.per_degree();
    let mut last = first;
    while goes_on(rest) {
        let (number, next, after) = take_part(rest, part, last)?;
        degrees += number.size / next.per_degree();
        (part, last, rest) = (next, number, after);
    }
    if !rest.is_empty() {
        return Err(QuantityError::LeftOver { found: rest.found(), span: rest.span() });
    }
    let signed = if first.negative { -degrees } else { degrees };
    Ok(Some(Angle::deg(signed).to_si()))
}

/// A further part, which must be smaller than the one before it.
fn take_part<'a>(
    piece: Piece<'a>,
    before: Part,
    last: Number<'a>,
) -> Result<(Number<'a>, Part, Piece<'a>), QuantityError> {
    let (number, next) = take_number(piece)?;
    let (found, span) = (number.piece.found(), number.piece.span());
    let Some((part, after)) = take_mark(next.trim()) else {
        // `32 deg +0.5 -0.2` are unequal limits.
        if number.signed {
            return Err(QuantityError::LeftOver { found: piece.found(), span: piece.span() });
        }
        return Err(QuantityError::MissingMark { found, span });
    };
    if number.signed {
        return Err(QuantityError::SignInside { found, span });
    }
    if part <= before {
        return Err(QuantityError::PartOrder { found, span });
    }
    if !last.whole {
        let (found, span) = (last.piece.found(), last.piece.span());
        return Err(QuantityError::DecimalsBeforeMinutes { found, span });
    }
    if number.size >= 60.0 {
        return Err(QuantityError::SixtyOrMore { found, part: part.name(), span });
    }
    Ok((number, part, after.trim()))
}

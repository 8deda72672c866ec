//! Reading a quantity from the text a person writes.
//!
//! ```text
//! quantity = value [ mark value ]      mark  = ± | +/- | +- | tol | u | res
//!          | value "(" mark value ")"  as this program shows a doubt: 26.4° (u 0.7°)
//! value    = number [ unit ]           number = sign? digits, a point for the decimals
//!          | sign? d° m' [ s" ]        the sign belongs to the whole angle
//! place    = value, value, value [ mark value ]
//! ```
//!
//! Of two units in `32.5 deg ± 0.5 deg` either one may be left out; both count for both then.
//! A spread in per cent after a value that is no share is that share of the value.

use crate::error::cut;
use crate::scan::{Number, Piece, is_minus, take_number};
use crate::strokes::in_parts;
use crate::unit::{self, Unit};
use crate::{
    Amount, Kind, Length, Place, PlatePoint, QuantityError, Spread, Written, WrittenPlace,
    WrittenPlatePoint,
};

/// Which of the three things a spread is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Tolerance,
    Uncertainty,
    Resolution,
}

/// The unit after a number.
#[derive(Debug, Clone, Copy)]
enum After {
    Nothing,
    Unit(&'static Unit),
    /// The number was an angle in several parts and is in SI already.
    Parts,
}

/// A number with whatever unit stood behind it.
#[derive(Debug, Clone, Copy)]
struct Reading<'a> {
    number: Number<'a>,
    piece: Piece<'a>,
    /// In the unit that follows, or in SI if it came in parts.
    value: f64,
    after: After,
}

/// What follows the value.
struct Tail<'a> {
    mark: Mark,
    piece: Piece<'a>,
}

/// Reads `"32.5 deg ± 0.5 deg"`, `"-0°30' ± 20'"`, `"4.6 kgf m"`, `"210 mm u 1 mm"` as a quantity
/// of the kind asked for.
///
/// # Units and sign
/// A unit is required, except for a share. A bare `±` is a tolerance.
/// # Valid for
/// Magnitudes up to [`Kind::limit`]; a spread greater than zero.
/// # Errors
/// Says what it did not know, where in the text, and what would be right.
pub fn parse_amount(text: &str, kind: Kind) -> Result<Written, QuantityError> {
    let whole = Piece::new(text).trim();
    if whole.is_empty() {
        return Err(QuantityError::Empty { kind, span: 0..text.len() });
    }
    let (head, tail) = split_tail(whole)?;
    let value = read(head, kind)?;
    let second = tail.as_ref().map(|t| read_spread(t, kind)).transpose()?;
    let shared = shared_unit(value, second, whole, kind)?;
    let amount = value.amount(shared, kind)?;
    let spread = match (&tail, second) {
        (Some(tail), Some(second)) => Some(spread(tail.mark, second, shared, amount)?),
        _ => None,
    };
    Ok(Written { amount, spread, text: text.to_owned() })
}

/// Reads `"-55, 235, -20 mm"` or `"X -55, Y 235, Z -20 mm u 1.5 mm"` as a place in the car's axes.
///
/// # Units and sign
/// X forward, Y left, Z up; always in that order. One unit may do for all three; a spread is that
/// of each coordinate.
/// # Errors
/// As [`parse_amount`], and for coordinates that are missing, too many or out of order.
pub fn parse_place(text: &str) -> Result<WrittenPlace, QuantityError> {
    let ([x, y, z], spread) = coordinates(text, ["X", "Y", "Z"], "X, Y, Z")?;
    Ok(WrittenPlace { place: Place { x, y, z }, spread, text: text.to_owned() })
}

/// Reads `"250, 6 mm"` as a point of the spring plate.
///
/// # Units and sign
/// From the hub: u rearward along the reference line, w up; always in that order. One unit may do
/// for both; a spread is that of each.
/// # Errors
/// As [`parse_place`].
pub fn parse_plate_point(text: &str) -> Result<WrittenPlatePoint, QuantityError> {
    let ([u, w], spread) = coordinates(text, ["u", "w"], "u, w")?;
    Ok(WrittenPlatePoint { point: PlatePoint { u, w }, spread, text: text.to_owned() })
}

/// Splits off the first mark and what follows it. A mark needs a value before it, so that the
/// `u` of a plate point is not taken for one.
fn split_tail(whole: Piece<'_>) -> Result<(Piece<'_>, Option<Tail<'_>>), QuantityError> {
    let mut before = ' ';
    for (i, c) in whole.text.char_indices() {
        let (head, rest) = whole.split(i);
        let found = mark_at(rest, before);
        before = c;
        let Some((mark, length)) = found else { continue };
        let (head, inside) = out_of_brackets(head.trim());
        if head.is_empty() || head.text.ends_with([',', ';']) {
            continue;
        }
        let (sign, piece) = rest.split(length);
        let piece = match (inside, piece.text.trim_end().strip_suffix(')')) {
            (Some(_), Some(text)) => piece.split(text.len()).0,
            (Some(open), None) => {
                return Err(QuantityError::LeftOver { found: open.found(), span: open.span() });
            }
            (None, _) => piece,
        };
        let Some(mark) = mark else {
            return Err(QuantityError::Expanded { span: sign.span() });
        };
        let piece = piece.trim();
        if piece.is_empty() {
            return Err(QuantityError::MissingSpread { mark: sign.found(), span: sign.span() });
        }
        return Ok((head, Some(Tail { mark, piece })));
    }
    Ok((whole, None))
}

/// What stands before a bracket that ends it, and the bracket.
fn out_of_brackets(head: Piece<'_>) -> (Piece<'_>, Option<Piece<'_>>) {
    match head.text.strip_suffix('(') {
        Some(text) => {
            let (value, open) = head.split(text.len());
            (value.trim(), Some(open))
        }
        None => (head, None),
    }
}

/// The mark standing here and its length; `None` inside for a capital `U`.
fn mark_at(rest: Piece<'_>, before: char) -> Option<(Option<Mark>, usize)> {
    if let Some(sign) = ["±", "+/-", "+/\u{2212}", "+-"].iter().find(|s| rest.text.starts_with(**s))
    {
        return Some((Some(Mark::Tolerance), sign.len()));
    }
    if !(before.is_whitespace() || before.is_ascii_digit() || "°'\"′″’”%.(".contains(before))
    {
        return None;
    }
    let (word, after) = rest.split_while(char::is_alphabetic);
    // `u/…` would be a unit, if not a known one.
    let ends = !after.text.starts_with(['/', '·', '*']);
    let mark = match word.text {
        "u" => Some(Mark::Uncertainty),
        "U" => None,
        w if w.eq_ignore_ascii_case("tol") => Some(Mark::Tolerance),
        w if w.eq_ignore_ascii_case("res") => Some(Mark::Resolution),
        _ => return None,
    };
    ends.then_some((mark, word.text.len()))
}

/// A number and the unit after it, the whole piece.
fn read(piece: Piece<'_>, kind: Kind) -> Result<Reading<'_>, QuantityError> {
    let (number, rest) = take_number(piece)?;
    let rest = rest.trim();
    let reading = |after| Reading { number, piece, value: number.value(), after };
    if rest.is_empty() {
        return Ok(reading(After::Nothing));
    }
    if kind == Kind::Angle
        && let Some(si) = in_parts(number, rest)?
    {
        return Ok(Reading { number, piece, value: si, after: After::Parts });
    }
    match unit::find(rest.text, kind) {
        Some(found) if found.kind == kind => Ok(reading(After::Unit(found))),
        Some(found) => Err(wrong_kind(rest, found.kind, kind)),
        None => Err(diagnose(number, rest, kind)),
    }
}

fn wrong_kind(unit: Piece<'_>, is: Kind, kind: Kind) -> QuantityError {
    QuantityError::WrongKind { unit: unit.found(), is, kind, span: unit.span() }
}

/// Why the text after a number is no unit.
fn diagnose(number: Number<'_>, rest: Piece<'_>, kind: Kind) -> QuantityError {
    let end = rest.at + rest.text.len();
    let both =
        |rest: Piece<'_>| (number.piece.at..rest.at + rest.text.len(), cut(number.piece.text));
    let (gap, after) = rest.split_while(|c| is_minus(c) || c == '.');
    let to = rest.text.strip_prefix("to ").map_or(0, |_| 3);
    let later = if gap.is_empty() { rest.split(to).1 } else { after }.trim();
    let (digits, _) = later.split_while(|c| c.is_ascii_digit() || c == '.');
    if !digits.is_empty() && later.at > rest.at {
        let (span, start) = both(digits);
        let found = format!("{start} {} {}", rest.up_to(later.at).trim().text, digits.text);
        return QuantityError::RangeWritten { found: cut(&found), span };
    }
    if !digits.is_empty() {
        let (span, start) = both(digits);
        let found = cut(&format!("{start} {}", digits.text));
        let thousands = digits.text.len() == 3 && number.whole;
        if thousands {
            return QuantityError::SplitDigits {
                found,
                right: format!("{start}{}", digits.text),
                span,
            };
        }
        return QuantityError::BadNumber { found, span };
    }
    let prefixes = || {
        let blanks = rest.text.char_indices().rev().filter(|(_, c)| c.is_whitespace()).take(8);
        blanks.filter_map(|(i, _)| unit::find(rest.split(i).0.trim().text, kind).map(|u| (i, u)))
    };
    if let Some((i, _)) = prefixes().find(|(_, u)| u.kind == kind) {
        let over = rest.split(i).1.trim();
        return QuantityError::LeftOver { found: over.found(), span: over.span() };
    }
    if rest.text.starts_with('+') {
        return QuantityError::LeftOver { found: rest.found(), span: rest.span() };
    }
    let nearest = unit::nearest(rest.text, kind);
    if nearest.is_none()
        && let Some((i, other)) = prefixes().next()
    {
        return wrong_kind(rest.split(i).0.trim(), other.kind, kind);
    }
    QuantityError::UnknownUnit { unit: rest.found(), nearest, kind, span: rest.at..end }
}

/// Reads the number after a mark; it must be greater than zero.
fn read_spread<'a>(tail: &Tail<'a>, kind: Kind) -> Result<Reading<'a>, QuantityError> {
    let (number, rest) = take_number(tail.piece)?;
    if number.negative {
        let (found, span) = (number.piece.found(), number.piece.span());
        return Err(QuantityError::SpreadNotPositive { found, span });
    }
    // A share of the value: `80 N·m ± 4 %`.
    if let Some(unit) = unit::find(rest.trim().text, kind).filter(|u| u.kind == Kind::Ratio) {
        let value = number.value();
        return Ok(Reading { number, piece: tail.piece, value, after: After::Unit(unit) });
    }
    read(tail.piece, kind)
}

/// The unit that counts where one of the two numbers has none.
fn shared_unit(
    value: Reading<'_>,
    second: Option<Reading<'_>>,
    whole: Piece<'_>,
    kind: Kind,
) -> Result<&'static Unit, QuantityError> {
    let missing = || {
        let piece = value.number.piece;
        let found = piece.found();
        QuantityError::MissingUnit { found, kind, span: piece.span() }
    };
    match (value.after, second.map(|s| (s, s.after))) {
        (After::Unit(own), _) => Ok(own),
        (After::Parts, Some((s, After::Nothing))) => {
            let (found, span) = (s.piece.found(), s.piece.span());
            Err(QuantityError::MissingSpreadUnit { found, span })
        }
        (After::Nothing, Some((s, After::Unit(other)))) if other.kind == kind => {
            // Up to 1 a bare number is likely the share itself, not one in a hundred of it.
            let (size, half_width) = (value.number.size, s.number.size);
            let doubtful = size != 0.0 && (size <= 1.0 || half_width > size);
            if kind == Kind::Ratio && doubtful {
                let (found, span) = (whole.found(), whole.span());
                return Err(QuantityError::AmbiguousShare { found, span });
            }
            Ok(other)
        }
        (After::Nothing, _) if kind != Kind::Ratio => Err(missing()),
        _ => unit::of_kind(kind).next().ok_or_else(missing),
    }
}

impl Reading<'_> {
    /// As an amount, by its own unit or the one it shares.
    fn amount(self, shared: &Unit, kind: Kind) -> Result<Amount, QuantityError> {
        let si = match self.after {
            After::Parts => self.value,
            After::Unit(unit) => self.value * unit.si,
            After::Nothing => self.value * shared.si,
        };
        self.within_reason(Amount::from_si(kind, si))
    }

    fn within_reason(self, amount: Amount) -> Result<Amount, QuantityError> {
        /// A thousand times less than an atom's width, in any of the base units.
        const SMALLEST: f64 = 1e-13;
        let (kind, size) = (amount.kind(), amount.to_si().abs());
        let (found, span) = (self.piece.found(), self.piece.span());
        let limit = kind.limit();
        if size.is_nan() || size > limit.to_si() {
            return Err(QuantityError::TooLarge { found, limit, span });
        }
        let zero = matches!(self.after, After::Parts) || self.number.is_zero();
        if size < SMALLEST && !zero {
            return Err(QuantityError::TooSmall { found, kind, span });
        }
        Ok(amount)
    }
}

/// The spread in the value's kind.
fn spread(
    mark: Mark,
    second: Reading<'_>,
    shared: &Unit,
    value: Amount,
) -> Result<Spread, QuantityError> {
    let kind = value.kind();
    let (found, span) = (second.piece.found(), second.piece.span());
    let size = match second.after {
        After::Unit(unit) if unit.kind != kind => {
            if value.to_si() == 0.0 || mark == Mark::Resolution {
                return Err(QuantityError::ShareOfNothing { found, span });
            }
            let share = second.value * unit.si * value.to_si().abs();
            second.within_reason(Amount::from_si(kind, share))?
        }
        _ => second.amount(shared, kind)?,
    };
    if size.to_si() <= 0.0 {
        return Err(QuantityError::SpreadNotPositive { found, span });
    }
    Ok(match mark {
        Mark::Tolerance => Spread::Tolerance(size),
        Mark::Uncertainty => Spread::Uncertainty(size),
        Mark::Resolution => Spread::Resolution(size),
    })
}

/// Several lengths with commas between and one spread for all.
fn coordinates<const N: usize>(
    text: &str,
    names: [&'static str; N],
    axes: &'static str,
) -> Result<([Length; N], Option<Spread>), QuantityError> {
    let kind = Kind::Length;
    let whole = Piece::new(text).trim();
    if whole.is_empty() {
        return Err(QuantityError::Empty { kind, span: 0..text.len() });
    }
    let (head, tail) = split_tail(whole)?;
    let pieces = list(head)?;
    if pieces.len() != N {
        let (found, span) = (pieces.len(), head.span());
        return Err(QuantityError::CoordinateCount { found, axes, span });
    }
    let mut readings = Vec::with_capacity(N);
    for (piece, name) in pieces.into_iter().zip(names) {
        readings.push(read(strip_axis(piece, name, &names, axes)?, kind)?);
    }
    let second = tail.as_ref().map(|t| read_spread(t, kind)).transpose()?;
    let Some(last) = readings.last() else {
        return Err(QuantityError::Empty { kind, span: head.span() });
    };
    let shared = shared_unit(*last, second, whole, kind)?;
    let mut out = [Length::ZERO; N];
    for (place, reading) in out.iter_mut().zip(&readings) {
        *place = Length::from_si(reading.amount(shared, kind)?.to_si());
    }
    let spread = match (&tail, second) {
        (Some(tail), Some(second)) => {
            // A share would be another length at each coordinate.
            if matches!(second.after, After::Unit(u) if u.kind != kind) {
                return Err(wrong_kind(tail.piece, Kind::Ratio, kind));
            }
            Some(spread(tail.mark, second, shared, Amount::from_si(kind, 0.0))?)
        }
        _ => None,
    };
    Ok((out, spread))
}

/// The pieces between the commas. A comma with a digit close behind it could be a decimal one.
fn list(head: Piece<'_>) -> Result<Vec<Piece<'_>>, QuantityError> {
    let mut out = Vec::new();
    let mut rest = head;
    while let Some(i) = rest.text.find([',', ';']) {
        let (piece, after) = rest.split(i);
        let (separator, after) = after.split(1);
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        if separator.text == "," && digit(after.first()) && digit(piece.text.chars().next_back()) {
            let part = |c: char| c.is_ascii_digit() || c == '.';
            let from = piece.text.trim_end_matches(part).len();
            let (digits, _) = after.split_while(part);
            let tight = rest.split(from).1.up_to(digits.at + digits.text.len());
            return Err(QuantityError::TightComma { found: tight.found(), span: tight.span() });
        }
        out.push(piece.trim());
        rest = after;
    }
    out.push(rest.trim());
    Ok(out)
}

/// Without the axis name in front, if it has one; it must be the right one.
fn strip_axis<'a>(
    piece: Piece<'a>,
    wanted: &'static str,
    names: &[&'static str],
    axes: &'static str,
) -> Result<Piece<'a>, QuantityError> {
    let (word, rest) = piece.split_while(char::is_alphabetic);
    if word.text.eq_ignore_ascii_case(wanted) {
        return Ok(rest.trim().split_while(|c| c == '=' || c == ':').1.trim());
    }
    if names.iter().any(|n| word.text.eq_ignore_ascii_case(n)) {
        let (found, span) = (word.found(), word.span());
        return Err(QuantityError::AxisOrder { found, wanted, axes, span });
    }
    Ok(piece)
}

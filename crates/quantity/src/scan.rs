//! Pieces of the writer's text that remember where they stood, and the number at their front.

use std::ops::Range;

use crate::QuantityError;
use crate::error::cut;

/// Part of the text, with the byte at which it begins.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Piece<'a> {
    pub(crate) text: &'a str,
    pub(crate) at: usize,
}

impl<'a> Piece<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }
    /// Without the blanks around it.
    pub(crate) fn trim(self) -> Self {
        let text = self.text.trim_start();
        Self { text: text.trim_end(), at: self.at + self.text.len() - text.len() }
    }
    pub(crate) fn is_empty(self) -> bool {
        self.text.is_empty()
    }
    pub(crate) fn span(self) -> Range<usize> {
        self.at..self.at + self.text.len()
    }
    pub(crate) fn found(self) -> String {
        cut(self.text)
    }
    pub(crate) fn first(self) -> Option<char> {
        self.text.chars().next()
    }
    /// The first `n` bytes and the rest; everything and nothing if `n` is no boundary.
    pub(crate) fn split(self, n: usize) -> (Self, Self) {
        let (head, tail) = self.text.split_at_checked(n).unwrap_or((self.text, ""));
        (Self { text: head, at: self.at }, Self { text: tail, at: self.at + head.len() })
    }
    /// The characters at the front that pass, and the rest.
    pub(crate) fn split_while(self, pass: impl Fn(char) -> bool) -> (Self, Self) {
        self.split(self.text.find(|c| !pass(c)).unwrap_or(self.text.len()))
    }
    /// From the front of `self` to the end of `other`, which lies within it or follows it.
    pub(crate) fn up_to(self, end: usize) -> Self {
        self.split(end.saturating_sub(self.at)).0
    }
}

/// A number as written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Number<'a> {
    pub(crate) piece: Piece<'a>,
    /// Its size, without the sign.
    pub(crate) size: f64,
    /// Also true of `-0`, which matters in `-0°30'`.
    pub(crate) negative: bool,
    pub(crate) signed: bool,
    /// Digits only: no point, no exponent.
    pub(crate) whole: bool,
}

impl Number<'_> {
    pub(crate) fn value(self) -> f64 {
        if self.negative { -self.size } else { self.size }
    }
    /// Whether any digit of the mantissa is not 0, whatever the exponent made of it.
    pub(crate) fn is_zero(self) -> bool {
        let mantissa = self.piece.text.split(['e', 'E']).next().unwrap_or_default();
        !mantissa.contains(|c: char| matches!(c, '1'..='9'))
    }
}

/// Sets thousands apart where numbers are shown: a space so narrow that nobody types it.
const GROUPING: char = '\u{202f}';

fn is_digit(c: char) -> bool {
    c.is_ascii_digit()
}

pub(crate) fn is_minus(c: char) -> bool {
    matches!(c, '-' | '\u{2212}' | '\u{2013}')
}

/// The number at the front of a piece, and what follows it.
pub(crate) fn take_number(piece: Piece<'_>) -> Result<(Number<'_>, Piece<'_>), QuantityError> {
    let (sign, body) = match piece.first() {
        Some(c) if is_minus(c) || c == '+' => piece.split(c.len_utf8()),
        _ => piece.split(0),
    };
    let rest = skip_whole_digits(body);
    let left = body.up_to(rest.at);
    // Two points or more are a range, which is found out with the other ranges.
    let pointed = rest.text.starts_with('.') && !rest.text.starts_with("..");
    let (point, after) = rest.split(usize::from(pointed));
    let (right, mut rest) = after.split_while(is_digit);
    if left.is_empty() && right.is_empty() {
        return Err(no_number(piece, body));
    }
    let mut whole = point.is_empty();
    if let Some(after) = skip_exponent(rest) {
        rest = after;
        whole = false;
    }
    let written = piece.up_to(rest.at);
    look_on(written, rest)?;
    let size = body.up_to(rest.at).text.replace(GROUPING, "").parse();
    let size: f64 = size.map_err(|_| bad(written))?;
    if !size.is_finite() {
        return Err(QuantityError::NotFinite { found: written.found(), span: written.span() });
    }
    let negative = sign.first().is_some_and(is_minus);
    Ok((Number { piece: written, size, negative, signed: !sign.is_empty(), whole }, rest))
}

/// What follows the digits before the point, groups of three set apart as this program shows them.
fn skip_whole_digits(piece: Piece<'_>) -> Piece<'_> {
    let (digits, mut rest) = piece.split_while(is_digit);
    if digits.is_empty() || 3 < digits.text.len() {
        return rest;
    }
    while rest.text.starts_with(GROUPING) {
        let (group, after) = rest.split(GROUPING.len_utf8()).1.split_while(is_digit);
        if group.text.len() != 3 {
            break;
        }
        rest = after;
    }
    rest
}

/// What follows an exponent, if one stands here: an `e` alone may begin a unit.
fn skip_exponent(piece: Piece<'_>) -> Option<Piece<'_>> {
    let (_, after) = piece.split(usize::from(piece.text.starts_with(['e', 'E'])));
    let signed = after.text.starts_with(['+', '-']);
    let (digits, rest) = after.split(usize::from(signed)).1.split_while(is_digit);
    (after.at > piece.at && !digits.is_empty()).then_some(rest)
}

fn bad(piece: Piece<'_>) -> QuantityError {
    QuantityError::BadNumber { found: piece.found(), span: piece.span() }
}

fn no_number(piece: Piece<'_>, body: Piece<'_>) -> QuantityError {
    let (word, _) = body.split_while(char::is_alphabetic);
    let endless = ["nan", "inf", "infinity"].contains(&word.text.to_lowercase().as_str());
    if endless || body.text.starts_with('∞') {
        let sign_of_it = body.text.chars().next().map_or(0, char::len_utf8);
        let written = piece.up_to(body.at + word.text.len().max(sign_of_it));
        return QuantityError::NotFinite { found: written.found(), span: written.span() };
    }
    QuantityError::NoNumber { found: piece.found(), span: piece.span() }
}

/// Refuses what only looks like the end of the number.
fn look_on(number: Piece<'_>, rest: Piece<'_>) -> Result<(), QuantityError> {
    let mut chars = rest.text.chars();
    let (next, then) = (chars.next(), chars.next());
    let digit_then = then.is_some_and(|c| c.is_ascii_digit());
    match next {
        Some(',') if digit_then => Err(comma(number, rest)),
        Some('.') if then != Some('.') => {
            let (more, _) = rest.split_while(|c| is_digit(c) || c == '.');
            Err(QuantityError::BadNumber {
                found: cut(&format!("{}{}", number.text, more.text)),
                span: number.at..more.at + more.text.len(),
            })
        }
        Some('/') if digit_then => {
            let (more, _) = rest.split_while(|c| is_digit(c) || c == '/');
            Err(QuantityError::BadNumber {
                found: cut(&format!("{}{}", number.text, more.text)),
                span: number.at..more.at + more.text.len(),
            })
        }
        _ => Ok(()),
    }
}

fn comma(number: Piece<'_>, rest: Piece<'_>) -> QuantityError {
    let (more, _) = rest.split_while(|c| is_digit(c) || c == ',' || c == '.');
    let found = format!("{}{}", number.text, more.text);
    let bare = |c: char| found.replace(c, "");
    // `1.234,5` sets thousands apart with the point; `1,234.5` and `1,234,567` with the comma.
    let right = if number.text.contains('.') {
        bare('.').replace(',', ".")
    } else if more.text.matches([',', '.']).count() > 1 {
        bare(',')
    } else if more.text.len() == 4 {
        format!("{}` or `{}", found.replace(',', "."), bare(','))
    } else {
        found.replace(',', ".")
    };
    let span = number.at..more.at + more.text.len();
    QuantityError::Comma { found: cut(&found), right: cut(&right), span }
}

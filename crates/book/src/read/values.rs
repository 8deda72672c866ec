//! One value of the file: its type, its words, its range.

use super::{Line, Reader};
use crate::car_file::{Entry, For, PlanPoint, SidePoint, Value, has_side};
use crate::field::{Field, Shape};
use crate::problem::{ProblemKind, cut, shown};
use axlewright_quantity::{
    Amount, Angle, Kind, Length, Place, PlatePoint, QuantityError, Ratio, Side, Spread,
    parse_amount, parse_place, parse_plate_point,
};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeArray, DeValue};

/// How far from the bar axis anything on a car may lie, along one axis.
const FAR: Length = Length::m(6.0);
/// How far past the centre line a part of the other side may reach before the sides are doubted.
const PAST_CENTRE: Length = Length::mm(50.0);
/// Corners of an outline: more are no better, and they are compared two by two.
const POINTS: usize = 100;
const POINTS_LEAST: usize = 3;

/// What a value is, for a message.
pub(super) fn found(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a bare number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a section",
    }
}

/// The same entry with another value.
pub(super) fn with_value<A, B>(entry: Entry<A>, value: B) -> Entry<B> {
    let Entry { spread, text, line, span, .. } = entry;
    Entry { value, spread, text, line, span }
}

/// What was probably meant: close in spelling, or the one that holds it as a part.
pub(crate) fn closest<'k>(given: &str, known: &[&'k str]) -> Option<&'k str> {
    closest_to(&given.to_lowercase().replace('-', "_"), known)
}

/// The same for texts in the normal form of those known.
pub(crate) fn closest_to<'k>(given: &str, known: &[&'k str]) -> Option<&'k str> {
    const LONGEST: usize = 48;
    let length = given.chars().count();
    if length == 0 || LONGEST < length {
        return None;
    }
    let distance = |k: &&str| strsim::damerau_levenshtein(given, k);
    let near = known.iter().min_by_key(|k| distance(k))?;
    if distance(near) <= ((length + 1) / 3).max(1) {
        return Some(near);
    }
    let mut holding = known.iter().filter(|k| 4 <= length && k.contains(given));
    let only = holding.next()?;
    holding.next().is_none().then_some(only)
}

/// What may be written for a quantity.
#[derive(Clone, Copy)]
pub(crate) struct Limits {
    pub(crate) kind: Kind,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) example: &'static str,
}

impl Reader<'_> {
    pub(super) fn wrong_type(&mut self, line: &Line<'_>, wanted: &'static str, example: &str) {
        let (key, example) = (line.key.clone(), example.to_owned());
        let found = found(line.value.get_ref());
        self.problem(ProblemKind::WrongType { key, found, wanted, example }, line.value.span());
    }

    /// A text that is not blank; anything else than text is a problem.
    pub(super) fn string(
        &mut self,
        line: &Line<'_>,
        wanted: &'static str,
        example: &str,
    ) -> Option<String> {
        match line.value.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => None,
            DeValue::String(text) => Some(text.clone().into_owned()),
            _ => {
                self.wrong_type(line, wanted, example);
                None
            }
        }
    }

    pub(super) fn entry<T>(
        &self,
        value: T,
        spread: Option<Spread>,
        text: String,
        line: &Line<'_>,
    ) -> Entry<T> {
        let span = line.value.span();
        Entry { value, spread, text, line: self.line_of(&span), span }
    }

    /// Free words.
    pub(super) fn words(&mut self, line: &Line<'_>, example: &str) -> Option<Entry<String>> {
        let text = self.string(line, "words in quotes", example)?;
        Some(self.entry(text.clone(), None, text, line))
    }

    /// Free words, or a date without quotes.
    pub(super) fn words_or_date(&mut self, line: &Line<'_>, eg: &str) -> Option<Entry<String>> {
        if let DeValue::Datetime(date) = line.value.get_ref() {
            let text = date.to_string();
            return Some(self.entry(text.clone(), None, text, line));
        }
        self.words(line, eg)
    }

    /// One of a few words, spelt as the table spells it.
    pub(super) fn word(
        &mut self,
        line: &Line<'_>,
        known: &'static [&'static str],
    ) -> Option<Entry<&'static str>> {
        let example = known.first().copied().unwrap_or_default();
        let text = self.string(line, "one of a few words, in quotes", example)?;
        let word = known.iter().copied().find(|k| k.eq_ignore_ascii_case(text.trim()));
        if word.is_none() {
            let (key, given) = (line.key.clone(), cut(&text));
            let close = closest_word(&text, known);
            let kind = ProblemKind::UnknownWord { key, given, close, known };
            self.problem(kind, line.value.span());
        }
        word.map(|word| self.entry(word, None, text, line))
    }

    /// A whole number, with or without quotes.
    pub(super) fn count(
        &mut self,
        line: &Line<'_>,
        low: u32,
        high: u32,
        example: &str,
    ) -> Option<Entry<u32>> {
        let text = match line.value.get_ref() {
            DeValue::Integer(integer) => integer.to_string(),
            DeValue::String(text) if text.trim().is_empty() => return None,
            DeValue::String(text) => text.trim().to_owned(),
            _ => {
                self.wrong_type(line, "a whole number", example);
                return None;
            }
        };
        let digits = text.strip_prefix(['-', '+']).unwrap_or(&text);
        if !digits.bytes().all(|b| b.is_ascii_digit()) || digits.is_empty() {
            self.wrong_type(line, "a whole number", example);
            return None;
        }
        match text.parse::<u32>() {
            Ok(n) if (low..=high).contains(&n) => Some(self.entry(n, None, text, line)),
            _ => {
                let (key, given) = (line.key.clone(), cut(&text));
                let (low, high) = (low.to_string(), high.to_string());
                let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
                self.problem(kind, line.value.span());
                None
            }
        }
    }

    /// Yes or no.
    pub(super) fn flag(&mut self, line: &Line<'_>) -> Option<bool> {
        match line.value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            DeValue::String(text) if text.trim().is_empty() => None,
            _ => {
                self.wrong_type(line, "true or false, without quotes", "true");
                None
            }
        }
    }

    /// A quantity with its unit, inside its limits.
    pub(super) fn amount(&mut self, line: &Line<'_>, limits: Limits) -> Option<Entry<Amount>> {
        let entry = match line.value.get_ref() {
            DeValue::String(text) if text.trim().is_empty() => return None,
            DeValue::String(text) => match parse_amount(text, limits.kind) {
                Ok(read) => self.entry(read.amount, read.spread, read.text, line),
                Err(error) => {
                    self.quantity_error(line, error, limits.example);
                    return None;
                }
            },
            DeValue::Integer(integer) => self.bare(line, &integer.to_string(), limits)?,
            DeValue::Float(float) => self.bare(line, float.as_str(), limits)?,
            _ => {
                self.wrong_type(line, "a quantity in quotes", limits.example);
                return None;
            }
        };
        self.in_range(line, &entry, limits).then_some(entry)
    }

    /// A number without quotes: fine for a share, which has no unit; else a problem.
    fn bare(&mut self, line: &Line<'_>, text: &str, limits: Limits) -> Option<Entry<Amount>> {
        let key = line.key.clone();
        let number: Option<f64> = text.parse().ok().filter(|n: &f64| n.is_finite());
        let kind = match (number, limits.kind) {
            (Some(number), Kind::Ratio) => {
                let amount = Amount::from(Ratio::one(number));
                return Some(self.entry(amount, None, text.to_owned(), line));
            }
            (Some(_), kind) => {
                let (given, fixed) = (cut(text), format!("{} {}", cut(text), kind.unit()));
                ProblemKind::BareNumber { key, given, fixed }
            }
            (None, _) => {
                let example = limits.example.to_owned();
                ProblemKind::NotFinite { key, given: cut(text), example }
            }
        };
        self.problem(kind, line.value.span());
        None
    }

    fn in_range(&mut self, line: &Line<'_>, entry: &Entry<Amount>, limits: Limits) -> bool {
        let Some(kind) = out_of_range(&line.key, &entry.text, entry.value, limits) else {
            return true;
        };
        self.problem(kind, line.value.span());
        false
    }

    fn quantity_error(&mut self, line: &Line<'_>, error: QuantityError, example: &str) {
        let span = self.inside(line.value, error.span());
        let (key, example) = (line.key.clone(), example.to_owned());
        self.problem(ProblemKind::Quantity { key, error, example }, span);
    }

    /// Bytes of a string's content as bytes of the file; the whole string where they differ.
    fn inside(&self, value: &Spanned<DeValue<'_>>, part: Range<usize>) -> Range<usize> {
        let span = value.span();
        let raw = self.text.get(span.clone()).unwrap_or_default();
        let quote = if raw.starts_with('\'') { '\'' } else { '"' };
        let content = raw.strip_prefix(quote).and_then(|raw| raw.strip_suffix(quote));
        let plain = content
            .is_some_and(|c| !c.contains(['\\', '\n']) && value.get_ref().as_str() == Some(c));
        if plain { span.start + 1 + part.start..span.start + 1 + part.end } else { span }
    }

    /// A field of the table, put where it belongs.
    pub(super) fn field(&mut self, field: Field, line: &Line<'_>, whom: For) {
        let example = field.example();
        let entry = match field.shape() {
            Shape::Amount { kind, low, high } => {
                self.amount(line, Limits { kind, low, high, example }).map(|e| {
                    let v = Value::Amount(e.value);
                    with_value(e, v)
                })
            }
            Shape::Count { low, high } => self.count(line, low, high, example).map(|e| {
                let v = Value::Count(e.value);
                with_value(e, v)
            }),
            Shape::Word(known) => self.word(line, known).map(|e| {
                let v = Value::Word(e.value);
                with_value(e, v)
            }),
            Shape::Place | Shape::BodyPlace => self.place(field, line, whom).map(|e| {
                let v = Value::Place(e.value);
                with_value(e, v)
            }),
            Shape::PlatePoint => self.plate_point(line, example).map(|e| {
                let v = Value::PlatePoint(e.value);
                with_value(e, v)
            }),
            Shape::SidePoint => self.pair(line, "X, Z", example).map(|e| {
                let point = SidePoint { x: e.value.u, z: e.value.w };
                with_value(e, Value::SidePoint(point))
            }),
            Shape::Outline => self.outline(line, example),
            Shape::Lengths => self.lengths(line, example),
        };
        if let Some(entry) = entry {
            self.car.fields.put(field, whom, entry);
        }
    }

    fn place(&mut self, field: Field, line: &Line<'_>, whom: For) -> Option<Entry<Place>> {
        let text = self.string(line, "a place in quotes", field.example())?;
        let read = match parse_place(&text) {
            Ok(read) => read,
            Err(error) => {
                self.quantity_error(line, error, field.example());
                return None;
            }
        };
        let Place { x, y, z } = read.place;
        if !self.near(line, [('X', x), ('Y', y), ('Z', z)]) {
            return None;
        }
        let wanted = if whom == For::Only(Side::Right) { Side::Right } else { Side::Left };
        if has_side(field.shape()) && wanted.to_left(read.place).y < -PAST_CENTRE {
            let kind = ProblemKind::SwappedSides {
                key: line.key.clone(),
                given: shown(y.into()),
                found: wanted.other(),
                wanted,
            };
            self.problem(kind, line.value.span());
            return None;
        }
        let place = if has_side(field.shape()) { wanted.to_left(read.place) } else { read.place };
        Some(self.entry(place, read.spread, read.text, line))
    }

    /// Whether coordinates are those of a car.
    fn near<const N: usize>(&mut self, line: &Line<'_>, coordinates: [(char, Length); N]) -> bool {
        let Some((axis, far)) = coordinates.into_iter().find(|(_, c)| FAR < c.abs()) else {
            return true;
        };
        let (key, given) = (line.key.clone(), shown(far.into()));
        let kind = ProblemKind::FarAway { key, axis, given, limit: shown(FAR.into()) };
        self.problem(kind, line.value.span());
        false
    }

    fn plate_point(&mut self, line: &Line<'_>, example: &str) -> Option<Entry<PlatePoint>> {
        let text = self.string(line, "a point in quotes", example)?;
        match parse_plate_point(&text) {
            Ok(read) => {
                let near = self.near(line, [('u', read.point.u), ('w', read.point.w)]);
                near.then(|| self.entry(read.point, read.spread, read.text, line))
            }
            Err(error) => {
                self.quantity_error(line, error, example);
                None
            }
        }
    }

    /// Two coordinates of the car.
    fn pair(
        &mut self,
        line: &Line<'_>,
        axes: &'static str,
        example: &str,
    ) -> Option<Entry<PlatePoint>> {
        let entry = self.two(line, axes, example)?;
        let mut names = axes.chars().filter(|c| c.is_alphabetic());
        let mut name = || names.next().unwrap_or('X');
        let near = self.near(line, [(name(), entry.value.u), (name(), entry.value.w)]);
        near.then_some(entry)
    }

    /// Two coordinates that are not the plate's own. They are written like the plate's.
    pub(super) fn two(
        &mut self,
        line: &Line<'_>,
        axes: &'static str,
        example: &str,
    ) -> Option<Entry<PlatePoint>> {
        let text = self.string(line, "two coordinates in quotes", example)?;
        match parse_plate_point(&text) {
            Ok(read) => Some(self.entry(read.point, read.spread, read.text, line)),
            Err(QuantityError::CoordinateCount { .. } | QuantityError::AxisOrder { .. }) => {
                let (key, example) = (line.key.clone(), example.to_owned());
                let kind = ProblemKind::NotTwo { key, given: cut(&text), axes, example };
                self.problem(kind, line.value.span());
                None
            }
            Err(error) => {
                self.quantity_error(line, error, example);
                None
            }
        }
    }

    /// A point seen from above.
    pub(super) fn plan_point(&mut self, line: &Line<'_>, eg: &str) -> Option<Entry<PlanPoint>> {
        let entry = self.pair(line, "X, Y", eg)?;
        let point = PlanPoint { x: entry.value.u, y: entry.value.w };
        Some(with_value(entry, point))
    }

    /// The entries of a list, or nothing for a blank.
    pub(super) fn list<'d>(
        &mut self,
        line: &Line<'d>,
        what: &'static str,
        eg: &str,
    ) -> Option<&'d DeArray<'d>> {
        match line.value.get_ref() {
            DeValue::Array(list) if list.is_empty() => None,
            DeValue::Array(list) => Some(list),
            DeValue::String(text) if text.trim().is_empty() => None,
            _ => {
                self.wrong_type(line, what, eg);
                None
            }
        }
    }

    fn outline(&mut self, line: &Line<'_>, example: &str) -> Option<Entry<Value>> {
        let list = self.list(line, "a list of points", example)?;
        let key = line.key.clone();
        let given = list.len();
        if given < POINTS_LEAST {
            let kind = ProblemKind::TooFewPoints { key, given, least: POINTS_LEAST };
            self.problem(kind, line.value.span());
            return None;
        }
        if POINTS < given {
            let kind = ProblemKind::TooManyPoints { key, given, limit: POINTS };
            self.problem(kind, line.value.span());
            return None;
        }
        let (mut points, mut spread) = (Vec::with_capacity(given), None);
        for (i, value) in list.iter().enumerate() {
            let item = Line { key: format!("{key}, point {}", i + 1), value };
            if let Some(entry) = self.plate_point(&item, "250, 50 mm") {
                points.push(entry.value);
                spread = spread.or(entry.spread);
            } else if value.get_ref().as_str().is_some_and(|t| t.trim().is_empty()) {
                let kind = ProblemKind::BlankInList { key: item.key };
                self.problem(kind, value.span());
            }
        }
        // An outline with a corner left out is another outline.
        let whole = points.len() == given;
        whole.then(|| self.entry(Value::Outline(points), spread, self.raw(line), line))
    }

    fn lengths(&mut self, line: &Line<'_>, example: &str) -> Option<Entry<Value>> {
        let list = self.list(line, "a list of three lengths at plate angles", example)?;
        let key = line.key.clone();
        if list.len() != 3 {
            let kind = ProblemKind::LengthCount { key, given: list.len() };
            self.problem(kind, line.value.span());
            return None;
        }
        let (mut read, mut spread) = (Vec::with_capacity(3), None);
        for (i, value) in list.iter().enumerate() {
            let item = Line { key: format!("{key}, entry {}", i + 1), value };
            let (angle, length, own) = self.length_at(&item)?;
            spread = spread.or(own);
            read.push((angle, length));
        }
        read.sort_by(|a, b| a.0.to_si().total_cmp(&b.0.to_si()));
        let lengths: [(Angle, Length); 3] = read.try_into().ok()?;
        let apart = Angle::deg(0.5);
        let [first, second, third] = lengths.map(|(angle, _)| angle);
        let twin = [(first, second), (second, third)].into_iter().find(|(a, b)| *b - *a < apart);
        if let Some((angle, _)) = twin {
            let angle = shown(angle.into());
            self.problem(ProblemKind::SameAngleTwice { key, angle }, line.value.span());
            return None;
        }
        Some(self.entry(Value::Lengths(lengths), spread, self.raw(line), line))
    }

    /// `"352 mm at 11 deg"`
    fn length_at(&mut self, item: &Line<'_>) -> Option<(Angle, Length, Option<Spread>)> {
        let text = self.string(item, "a length at a plate angle", "352 mm at 11 deg");
        let text = text.unwrap_or_default();
        let Some((length, angle)) = text.split_once(" at ") else {
            if item.value.get_ref().is_str() {
                let kind =
                    ProblemKind::NotLengthAtAngle { key: item.key.clone(), given: cut(&text) };
                self.problem(kind, item.value.span());
            }
            return None;
        };
        let length = match parse_amount(length, Kind::Length) {
            Ok(read) => read,
            Err(error) => {
                self.quantity_error(item, error, "352 mm at 11 deg");
                return None;
            }
        };
        let angle = match parse_amount(angle, Kind::Angle) {
            Ok(read) => read,
            Err(error) => {
                let (key, example) = (item.key.clone(), "352 mm at 11 deg".to_owned());
                let kind = ProblemKind::Quantity { key, error, example };
                self.problem(kind, item.value.span());
                return None;
            }
        };
        let limits = |kind, low, high| Limits { kind, low, high, example: "352 mm at 11 deg" };
        let length_entry = self.entry(length.amount, length.spread, length.text, item);
        let angle_entry = self.entry(angle.amount, None, angle.text, item);
        let sound = self.in_range(item, &length_entry, limits(Kind::Length, 1.0, 3000.0))
            && self.in_range(item, &angle_entry, limits(Kind::Angle, -45.0, 60.0));
        if !sound {
            return None;
        }
        let angle = Angle::try_from(angle.amount).ok()?;
        Some((angle, Length::try_from(length.amount).ok()?, length.spread))
    }

    /// A value as it stands in the file.
    pub(super) fn raw(&self, line: &Line<'_>) -> String {
        self.text.get(line.value.span()).unwrap_or_default().to_owned()
    }
}

/// What there is to say of a quantity outside its limits.
pub(crate) fn out_of_range(
    key: &str,
    text: &str,
    amount: Amount,
    limits: Limits,
) -> Option<ProblemKind> {
    let number = amount.shown();
    // A limit written down is inside, whatever the last bit of its conversion says.
    let slack = 1e-9 * limits.low.abs().max(limits.high.abs());
    if limits.low - slack <= number && number <= limits.high + slack {
        return None;
    }
    let limit = |n: f64| shown(Amount::from_shown(limits.kind, n));
    Some(ProblemKind::OutOfRange {
        key: key.to_owned(),
        given: cut(text.trim()),
        low: limit(limits.low),
        high: limit(limits.high),
        slip: slip(number, limits),
    })
}

fn closest_word(given: &str, known: &'static [&'static str]) -> Option<&'static str> {
    closest(&given.trim().to_lowercase(), known)
}

/// The slips that are made most, where one of them would explain the number.
fn slip(number: f64, limits: Limits) -> Option<String> {
    let fits = |n: f64| limits.low <= n && n <= limits.high;
    let text = |n: f64| shown(Amount::from_shown(limits.kind, n));
    let mut guesses = Vec::new();
    if fits(-number) {
        guesses.push(text(-number));
    }
    let factors: &[f64] = match limits.kind {
        Kind::Stress => &[1000.0, 1e-3],
        Kind::Ratio => &[0.01],
        _ => &[10.0, 0.1],
    };
    guesses.extend(factors.iter().map(|k| number * k).filter(|n| fits(*n)).map(text));
    if limits.kind == Kind::Length {
        if fits(number * 25.4) {
            guesses.push(shown(Amount::from_shown(limits.kind, number)).replace("mm", "in"));
        }
        if fits(number / 25.4) && number != 0.0 {
            guesses.push(text(number / 25.4));
        }
    }
    guesses.dedup();
    (!guesses.is_empty()).then(|| guesses.join(" or "))
}

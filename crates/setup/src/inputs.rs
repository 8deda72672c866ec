//! What is known of one corner, as numbers that can be looked up and nudged.

use std::collections::BTreeMap;
use std::ops::{Deref, DerefMut};

use axlewright_book::{
    Arrow, CarFile, Class, Entry, Field, Hung, Lash, Origin, Pick, Reading, ReadingWhat, Seat,
    Spec, SpecWhat, Value,
};
use axlewright_mechanics::level;
use axlewright_quantity::{Amount, Angle, Kind, Length, Ratio, Side, Spread};

use crate::memo::Memo;

/// One number among the inputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Slot {
    /// One coordinate of a field; 0 for a plain number.
    Field(Field, u8),
    /// The manual's figure that holds for this car.
    Spec(SpecWhat),
    /// The bar the manual's free angle was written for, where its row says so.
    SpecBar,
    /// Slope of the body at this side, nose up positive.
    BodySlope,
    /// What the gauge shows on a level face.
    GaugeOffset,
    /// The plate angle as the gauge showed it.
    PlateReading,
    /// How much of the rate by measures the bar has in its anchor.
    RateShare,
    /// A target somebody typed, in place of the computed one.
    Goal,
    /// A free angle somebody typed, in place of the reading.
    Start,
    /// What the change of bar by four numbers leaves out.
    FourNumbersModel,
    /// Twist or torque somebody typed.
    BarLoad,
    /// A gauge's reading, arrow to the nose.
    FirstReading,
    /// The same, the gauge turned end for end.
    TurnedReading,
    /// How far the arm's half of a mark sits rearward of the plate's, along the plate.
    MarkRearward,
    /// How far it sits above it, square to the plate.
    MarkUp,
    /// A number of a row that belongs to no corner, by its place among them.
    Row(u16),
}

impl Slot {
    /// A number of its own, in the order of the slots: quicker to compare than the slot itself.
    pub(crate) const fn key(self) -> u32 {
        let (kind, of) = match self {
            Self::Field(field, part) => (0, (field as u32) << 8 | part as u32),
            Self::Spec(what) => (1, what as u32),
            Self::SpecBar => (2, 0),
            Self::BodySlope => (3, 0),
            Self::GaugeOffset => (4, 0),
            Self::PlateReading => (5, 0),
            Self::RateShare => (6, 0),
            Self::Goal => (7, 0),
            Self::Start => (8, 0),
            Self::FourNumbersModel => (9, 0),
            Self::BarLoad => (10, 0),
            Self::FirstReading => (11, 0),
            Self::TurnedReading => (12, 0),
            Self::MarkRearward => (13, 0),
            Self::MarkUp => (14, 0),
            Self::Row(at) => (15, at as u32),
        };
        kind << 24 | of
    }
}

/// A set of slots, in their order, each with its key.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Slots(Vec<(u32, Slot)>);

impl Slots {
    /// Where a key is, or where it would stand.
    fn place(&self, key: u32) -> Result<usize, usize> {
        // Mostly what comes is last, or there already.
        match self.0.last() {
            Some((last, _)) if key <= *last => self.0.binary_search_by_key(&key, |one| one.0),
            _ => Err(self.0.len()),
        }
    }

    pub(crate) fn insert(&mut self, slot: Slot) {
        let key = slot.key();
        if let Err(place) = self.place(key) {
            self.0.insert(place, (key, slot));
        }
    }

    pub(crate) fn contains(&self, slot: &Slot) -> bool {
        self.place(slot.key()).is_ok()
    }

    pub(crate) fn iter(&self) -> impl Iterator<Item = &Slot> {
        self.into_iter()
    }

    /// Takes in what another set holds.
    pub(crate) fn extend(&mut self, other: &Self) {
        match (self.0.last(), other.0.first()) {
            (_, None) => {}
            (Some((last, _)), Some((first, _))) if first <= last => self.merge(&other.0),
            _ => self.0.extend_from_slice(&other.0),
        }
    }

    fn merge(&mut self, theirs: &[(u32, Slot)]) {
        let mut mine = self.0.iter().peekable();
        let missing = theirs.iter().filter(|one| {
            while mine.next_if(|own| own.0 < one.0).is_some() {}
            mine.next_if(|own| own.0 == one.0).is_none()
        });
        let missing = missing.count();
        if missing == 0 {
            return;
        }
        let mut all = Vec::with_capacity(self.0.len() + missing);
        let mut theirs = theirs.iter().peekable();
        for own in &self.0 {
            while let Some(one) = theirs.next_if(|one| one.0 < own.0) {
                all.push(*one);
            }
            theirs.next_if(|one| one.0 == own.0);
            all.push(*own);
        }
        all.extend(theirs);
        self.0 = all;
    }
}

/// A slot out of its place.
type OfPlace<'a> = fn(&'a (u32, Slot)) -> &'a Slot;

impl<'a> IntoIterator for &'a Slots {
    type Item = &'a Slot;
    type IntoIter = std::iter::Map<std::slice::Iter<'a, (u32, Slot)>, OfPlace<'a>>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.iter().map(|one| &one.1)
    }
}

/// Something that was asked for and is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Need {
    /// A field of the car file.
    Field(Field),
    /// A row of the manual that holds for this car.
    Spec(SpecWhat),
    /// Sill readings, both ways round.
    Level,
    /// The plate angle after the fit.
    PlateReading,
    /// Where the gauge sat for it.
    ReadingSeat,
    /// What hung on the bar then.
    ReadingHung,
    /// How the lash stood then.
    ReadingLash,
    /// Which way round the gauge stood then.
    ReadingArrow,
    /// Where the manual's angle is to be read.
    SpecSeat,
    /// What was in the car when trim and weights were stated.
    LoadState,
    /// Mass and place of each stage of the build.
    Masses,
    /// A round of readings on the wheels.
    Round,
}

/// A value with its uncertainty and its origin.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Known {
    pub(crate) value: Value,
    pub(crate) u: Option<Amount>,
    /// Measured, and nobody said how sure it is.
    pub(crate) unsure: bool,
    pub(crate) text: String,
    pub(crate) from: String,
}

/// How the plate angle was read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(crate) struct ReadingFacts {
    pub(crate) arrow: Option<Arrow>,
    pub(crate) hung: Option<Hung>,
    pub(crate) lash: Option<Lash>,
    pub(crate) seat: Option<level::Seat>,
}

/// What is known of one side, and what looks at it have worked out. To change what is known is to
/// forget what was worked out from it.
#[derive(Debug)]
pub(crate) struct Inputs {
    facts: SideFacts,
    memo: Memo,
}

impl Deref for Inputs {
    type Target = SideFacts;

    fn deref(&self) -> &SideFacts {
        &self.facts
    }
}

impl DerefMut for Inputs {
    fn deref_mut(&mut self) -> &mut SideFacts {
        self.memo = Memo::default();
        &mut self.facts
    }
}

impl Clone for Inputs {
    fn clone(&self) -> Self {
        Self { facts: self.facts.clone(), memo: Memo::default() }
    }
}

/// What is known of each field, found by the field's number: they are asked for some ten thousand
/// times in one assessment.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Fields(Vec<Option<Known>>);

impl Default for Fields {
    fn default() -> Self {
        Self(vec![None; Field::ALL.len()])
    }
}

impl Fields {
    pub(crate) fn get(&self, field: &Field) -> Option<&Known> {
        self.0.get(*field as usize)?.as_ref()
    }

    pub(crate) fn contains_key(&self, field: &Field) -> bool {
        self.get(field).is_some()
    }

    /// Gives what was known before.
    pub(crate) fn insert(&mut self, field: Field, known: Known) -> Option<Known> {
        self.0.get_mut(field as usize)?.replace(known)
    }

    /// In the order of the fields.
    pub(crate) fn iter(&self) -> impl Iterator<Item = (&Field, &Known)> {
        self.into_iter()
    }
}

impl<'a> IntoIterator for &'a Fields {
    type Item = (&'a Field, &'a Known);
    type IntoIter = Box<dyn Iterator<Item = Self::Item> + 'a>;

    fn into_iter(self) -> Self::IntoIter {
        let all = Field::ALL.iter().zip(&self.0);
        Box::new(all.filter_map(|(field, known)| Some((field, known.as_ref()?))))
    }
}

impl<'a> IntoIterator for &'a mut Fields {
    type Item = (&'a Field, &'a mut Known);
    type IntoIter = Box<dyn Iterator<Item = Self::Item> + 'a>;

    fn into_iter(self) -> Self::IntoIter {
        let all = Field::ALL.iter().zip(&mut self.0);
        Box::new(all.filter_map(|(field, known)| Some((field, known.as_mut()?))))
    }
}

/// What is known of one side.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct SideFacts {
    pub(crate) side: Side,
    /// False where nobody said which side is meant and the left stands in.
    pub(crate) side_said: bool,
    pub(crate) fields: Fields,
    /// Everything that is one number and no field.
    pub(crate) numbers: BTreeMap<Slot, Known>,
    pub(crate) reading: ReadingFacts,
    pub(crate) load_state: Option<String>,
    /// Offset of the edge the manual's free angle is read at; `None` while its seat is not known.
    pub(crate) spec_seat: Option<Angle>,
    /// How far the manual lets the trim be from its figure.
    pub(crate) trim_tolerance: Option<Length>,
    /// Rows whose numbers are asked for by their place; only the checks of one way against another
    /// have any.
    pub(crate) rows: Vec<crate::checks::Row>,
}

/// The coordinates of a value, in SI.
pub(crate) fn coordinates(value: &Value) -> Vec<Amount> {
    let length = |l: Length| Amount::from(l);
    match value {
        Value::Amount(amount) => vec![*amount],
        Value::Place(p) => vec![length(p.x), length(p.y), length(p.z)],
        Value::SidePoint(p) => vec![length(p.x), length(p.z)],
        Value::PlatePoint(p) => vec![length(p.u), length(p.w)],
        Value::Outline(points) => points.iter().flat_map(|p| [length(p.u), length(p.w)]).collect(),
        Value::Lengths(rows) => rows.iter().map(|(_, l)| length(*l)).collect(),
        Value::Count(_) | Value::Word(_) => Vec::new(),
    }
}

/// The value with one coordinate moved.
pub(crate) fn nudged(value: &Value, part: u8, by: Amount) -> Value {
    let mut moved = value.clone();
    let d = Length::from_si(by.to_si());
    let at = usize::from(part);
    match &mut moved {
        Value::Amount(a) => *a = Amount::from_si(a.kind(), a.to_si() + by.to_si()),
        Value::Place(p) => match part {
            0 => p.x = p.x + d,
            1 => p.y = p.y + d,
            _ => p.z = p.z + d,
        },
        Value::SidePoint(p) if part == 0 => p.x = p.x + d,
        Value::SidePoint(p) => p.z = p.z + d,
        Value::PlatePoint(p) if part == 0 => p.u = p.u + d,
        Value::PlatePoint(p) => p.w = p.w + d,
        Value::Outline(points) => {
            if let Some(p) = points.get_mut(at / 2) {
                if at.is_multiple_of(2) { p.u = p.u + d } else { p.w = p.w + d }
            }
        }
        Value::Lengths(rows) => {
            if let Some((_, l)) = rows.get_mut(at) {
                *l = *l + d;
            }
        }
        Value::Count(_) | Value::Word(_) => {}
    }
    moved
}

impl Known {
    /// A number somebody typed or a definition gives.
    pub(crate) fn number(value: impl Into<Amount>, u: Option<Amount>, from: &str) -> Self {
        let value = value.into();
        let text = String::new();
        let from = from.to_owned();
        Self { value: Value::Amount(value), u, unsure: false, text, from }
    }
}

fn line(number: u32) -> String {
    format!("car file, line {number}")
}

/// Where a reading stands: in the car file, or in the log.
fn place(origin: Origin) -> String {
    match origin {
        Origin::Line(number) => line(number),
        entry @ Origin::Entry(_) => entry.to_string(),
    }
}

fn spread_or_class(entry: &Entry<Amount>, class: Option<Amount>) -> Option<Amount> {
    entry.spread.map(|s| s.standard_uncertainty()).or(class)
}

impl Inputs {
    /// Nothing known yet.
    pub(crate) fn empty(side: Side) -> Self {
        // "Good to about a degree": limits, as of any tolerance.
        let model_u = Spread::Tolerance(Angle::deg(1.0).into()).standard_uncertainty();
        let model = Known::number(Angle::ZERO, Some(model_u), "own judgement, docs/method.md");
        let facts = SideFacts {
            side,
            side_said: true,
            fields: Fields::default(),
            numbers: BTreeMap::from([(Slot::FourNumbersModel, model)]),
            reading: ReadingFacts::default(),
            load_state: None,
            spec_seat: None,
            trim_tolerance: None,
            rows: Vec::new(),
        };
        Self { facts, memo: Memo::default() }
    }

    /// The same, worked out anew by every look.
    #[cfg(test)]
    pub(crate) fn forgetful(mut self) -> Self {
        self.memo.forgets = true;
        self
    }

    /// What looks at these inputs have worked out already.
    pub(crate) const fn memo(&self) -> &Memo {
        &self.memo
    }

    /// Everything a car file knows of one side.
    pub(crate) fn from_car(car: &CarFile, side: Side) -> Self {
        let mut inputs = Self::empty(side);
        inputs.load_state = car.load_state.as_ref().map(|entry| entry.value.clone());
        for field in Field::ALL {
            if let Some(entry) = car.get(*field, side) {
                // "0 mm" says that a bar is solid: a fact, not a reading that might be less.
                let solid =
                    *field == Field::BarBore && car.length(*field, side) == Some(Length::ZERO);
                let u = car.uncertainty(*field, side);
                let usual = entry.spread.is_none() && field.usual_doubt().is_some();
                let doubt = if usual { "; its doubt: common practice, no source" } else { "" };
                let known = Known {
                    value: entry.value.clone(),
                    u: if solid { None } else { u },
                    unsure: u.is_none() && field.class().is_some() && !solid,
                    text: entry.text.clone(),
                    from: format!("{}{doubt}", line(entry.line)),
                };
                inputs.fields.insert(*field, known);
            }
        }
        if let Some(share) = car.ratio(Field::UncertaintyBarRate, Side::Left) {
            let known =
                Known::number(Ratio::one(1.0), Some(share.into()), "one, as the formula gives it");
            inputs.numbers.insert(Slot::RateShare, known);
        }
        for what in [SpecWhat::FreeAngle, SpecWhat::Trim] {
            if let Pick::One(spec) = car.pick(what) {
                inputs.take_spec(spec);
            }
        }
        inputs.take_level(car);
        inputs.take_plate_reading(car);
        inputs
    }

    fn take_spec(&mut self, spec: &Spec) {
        let from = spec.source.as_ref().map_or_else(
            || format!("{}, no source named", line(spec.line)),
            |source| format!("{} ({})", source.value, line(spec.line)),
        );
        // A manual's ± is a tolerance to meet, not a doubt about the figure: no uncertainty.
        let known = Known {
            value: spec.value.value.clone(),
            u: None,
            unsure: false,
            text: spec.value.text.clone(),
            from: from.clone(),
        };
        self.numbers.insert(Slot::Spec(spec.what), known);
        if spec.what == SpecWhat::Trim
            && let Some(Spread::Tolerance(limit)) = spec.value.spread
        {
            self.trim_tolerance = Length::try_from(limit).ok();
        }
        if spec.what == SpecWhat::FreeAngle {
            if let Some(bar) = &spec.bar_diameter {
                let known = Known {
                    value: Value::Amount(bar.value),
                    u: bar.spread.map(|s| s.standard_uncertainty()),
                    unsure: false,
                    text: bar.text.clone(),
                    from,
                };
                self.numbers.insert(Slot::SpecBar, known);
            }
            self.spec_seat = match (spec.seat, &spec.seat_offset) {
                (Some(Seat::ReferenceLine), _) => Some(Angle::ZERO),
                (Some(Seat::Edge), Some(offset)) => Angle::try_from(offset.value).ok(),
                _ => None,
            };
        }
    }

    /// The last reading of a kind on this side: a later one takes the place of an earlier one.
    fn last<'a>(&self, car: &'a CarFile, what: ReadingWhat) -> Option<&'a Reading> {
        car.readings.iter().rfind(|r| r.what == what && r.side == Some(self.side))
    }

    fn take_level(&mut self, car: &CarFile) {
        let Some(sill) = self.last(car, ReadingWhat::SillLevel) else { return };
        let (Some(turned), Some(arrow)) = (&sill.turned, sill.arrow) else { return };
        let angle = |a: Amount| Angle::try_from(a).unwrap_or(Angle::ZERO);
        let (mut first, mut second) = (angle(sill.value.value), angle(turned.value));
        if arrow == Arrow::Tail {
            // The second reading then had the arrow to the nose.
            std::mem::swap(&mut first, &mut second);
        }
        let Ok(found) = level::reversal(level::Shown { first, turned: second }) else { return };
        let u = spread_or_class(&sill.value, car.class_uncertainty(Class::Level));
        let from = format!("sill readings, {}", place(sill.origin()));
        for (slot, value) in [(Slot::BodySlope, found.slope), (Slot::GaugeOffset, found.offset)] {
            self.numbers.insert(slot, Known::number(value, u, &from));
        }
    }

    fn take_plate_reading(&mut self, car: &CarFile) {
        if let Some(reading) = self.last(car, ReadingWhat::PlateAngle) {
            self.read_as(car, reading);
        }
    }

    /// Takes this plate reading for the one that holds.
    pub(crate) fn read_as(&mut self, car: &CarFile, reading: &Reading) {
        let known = Known {
            value: Value::Amount(reading.value.value),
            u: spread_or_class(&reading.value, car.class_uncertainty(Class::Gauge)),
            unsure: false,
            text: reading.value.text.clone(),
            from: format!("plate reading, {}", place(reading.origin())),
        };
        self.numbers.insert(Slot::PlateReading, known);
        let edge = |entry: &Entry<Amount>| {
            let tail_down = Angle::try_from(entry.value).ok()?;
            Some(level::Seat::Edge { tail_down })
        };
        self.reading = ReadingFacts {
            arrow: reading.arrow,
            hung: reading.hung,
            lash: reading.lash,
            seat: match reading.seat {
                Some(Seat::ReferenceLine) => Some(level::Seat::ReferenceLine),
                Some(Seat::Edge) => reading.seat_offset.as_ref().and_then(edge),
                None => None,
            },
        };
    }

    /// The value behind a slot and which coordinate of it.
    pub(crate) fn known(&self, slot: Slot) -> Option<(&Known, u8)> {
        match slot {
            Slot::Field(field, part) => self.fields.get(&field).map(|k| (k, part)),
            other => self.numbers.get(&other).map(|k| (k, 0)),
        }
    }

    /// What a slot is, in words.
    pub(crate) fn name(&self, slot: Slot) -> String {
        match slot {
            Slot::Field(field, part) => field_part_name(field, part, self.fields.get(&field)),
            Slot::Spec(what) => format!("{what} by the manual"),
            Slot::SpecBar => "bar diameter the manual's free angle is for".to_owned(),
            Slot::BodySlope => format!("slope of the {} sill, nose up", self.side),
            Slot::GaugeOffset => "what the gauge shows on a level face".to_owned(),
            Slot::PlateReading => format!("{} plate angle as the gauge showed it", self.side),
            Slot::RateShare => "rate of the bar in its anchor, as a share".to_owned(),
            Slot::Goal => "plate angle wanted".to_owned(),
            Slot::Start => "plate angle now".to_owned(),
            Slot::FourNumbersModel => {
                "what four numbers leave out: the damper's gas, weight and geometry".to_owned()
            }
            Slot::BarLoad => "load on the bar".to_owned(),
            Slot::FirstReading => "first reading, arrow to the nose".to_owned(),
            Slot::TurnedReading => "reading with the gauge turned end for end".to_owned(),
            Slot::MarkRearward => "the arm rearward of its mark on the plate".to_owned(),
            Slot::MarkUp => "the arm above its mark on the plate".to_owned(),
            Slot::Row(at) => {
                self.rows.get(usize::from(at)).map_or(String::new(), |row| row.key.clone())
            }
        }
    }
}

fn field_part_name(field: Field, part: u8, known: Option<&Known>) -> String {
    let axis = match known.map(|k| &k.value) {
        Some(Value::Place(_)) => ["X", "Y", "Z"].get(usize::from(part)).copied(),
        Some(Value::SidePoint(_)) => ["X", "Z"].get(usize::from(part)).copied(),
        Some(Value::PlatePoint(_)) => ["u", "w"].get(usize::from(part)).copied(),
        Some(Value::Outline(_)) => {
            let axis = if part.is_multiple_of(2) { "u" } else { "w" };
            return format!("{}, point {}, {axis}", field.name(), part / 2 + 1);
        }
        Some(Value::Lengths(_)) => ["first", "second", "third"].get(usize::from(part)).copied(),
        _ => None,
    };
    axis.map_or_else(|| field.name().to_owned(), |axis| format!("{}, {axis}", field.name()))
}

/// The kind of a slot's coordinate is always a length but for plain numbers; an uncertainty of
/// another kind (a share on a length) would be a slip in the table, so it is not used.
pub(crate) fn fits(u: Amount, coordinate: Amount) -> bool {
    u.kind() == coordinate.kind() || coordinate.kind() == Kind::Ratio
}

//! One look at a corner's inputs: notes every number it hands out, so that each finding knows
//! what it came from, each gap what it blocks, and each uncertainty can be pushed through.

use std::cell::RefCell;
use std::collections::BTreeSet;

use axlewright_book::{Field, SidePoint, SpecWhat, Value};
use axlewright_quantity::{Amount, Angle, Length, Place, PlatePoint};

use crate::inputs::{Inputs, Need, Slot, Slots, coordinates, nudged};
use crate::memo::{Done, Memo, Part};

/// What a look has come upon.
#[derive(Debug, Default)]
pub(crate) struct Trace {
    /// Every number it has asked for, also on ways that came to nothing.
    pub(crate) read: Slots,
    /// Numbers handed out.
    pub(crate) seen: Slots,
    /// Words and counts handed out: they matter, and cannot be nudged.
    pub(crate) exact: BTreeSet<Field>,
    /// What was asked for and is not known.
    pub(crate) missing: BTreeSet<Need>,
    /// What was known and cannot be, in words.
    pub(crate) faults: BTreeSet<String>,
}

/// The inputs, with at most one number moved.
#[derive(Debug)]
pub(crate) struct Look<'a> {
    pub(crate) inputs: &'a Inputs,
    nudge: Option<(Slot, Amount)>,
    /// Whether it notes what it comes upon.
    notes: bool,
    trace: RefCell<Trace>,
}

impl<'a> Look<'a> {
    /// The inputs as they are.
    pub(crate) fn plain(inputs: &'a Inputs) -> Self {
        Self { inputs, nudge: None, notes: true, trace: RefCell::default() }
    }

    /// The inputs as they are; nothing is noted.
    pub(crate) fn quiet(inputs: &'a Inputs) -> Self {
        Self { notes: false, ..Self::plain(inputs) }
    }

    /// The inputs with one number moved; nothing is noted.
    pub(crate) fn nudged(inputs: &'a Inputs, slot: Slot, by: Amount) -> Self {
        Self { nudge: Some((slot, by)), ..Self::quiet(inputs) }
    }

    /// What it has come upon; empty where it notes nothing.
    pub(crate) fn into_trace(self) -> Trace {
        self.trace.into_inner()
    }

    /// A piece of work that asks this look alone, done once for all looks at these inputs that find
    /// the same numbers; see [`crate::memo`].
    pub(crate) fn part<T: Clone + 'a>(
        &self,
        of: impl Fn(&'a Memo) -> &'a Part<T>,
        f: impl Fn(&Self) -> Option<T>,
    ) -> Option<T> {
        let memo = self.inputs.memo();
        if memo.forgets {
            return f(self);
        }
        let part = of(memo);
        let known = part.as_known.get_or_init(|| {
            let look = Self::plain(self.inputs);
            let value = f(&look);
            Done { value, trace: look.into_trace() }
        });
        let Some((slot, by)) = self.nudge.filter(|(slot, _)| known.trace.read.contains(slot))
        else {
            self.note(&known.trace);
            return known.value.clone();
        };
        let key = (slot.key(), by.to_si().to_bits());
        if let Some(done) = part.moved.borrow().get(&key) {
            return done.clone();
        }
        let value = f(self);
        part.moved.borrow_mut().insert(key, value.clone());
        value
    }

    /// Notes what another look has come upon.
    fn note(&self, other: &Trace) {
        if !self.notes {
            return;
        }
        let mut trace = self.trace.borrow_mut();
        trace.read.extend(&other.read);
        trace.seen.extend(&other.seen);
        trace.exact.extend(&other.exact);
        trace.missing.extend(&other.missing);
        trace.faults.extend(other.faults.iter().cloned());
    }

    /// Tries something that may be out of reach for now: its gaps are not noted if it is.
    pub(crate) fn attempt<T>(&self, f: impl Fn(&Self) -> Option<T>) -> Option<T> {
        if !self.notes {
            return f(self);
        }
        let before = self.trace.take();
        let found = f(self);
        let mut after = self.trace.replace(before);
        let mut trace = self.trace.borrow_mut();
        trace.read.extend(&after.read);
        if found.is_some() {
            trace.seen.extend(&after.seen);
            trace.exact.append(&mut after.exact);
        }
        found
    }

    /// Notes that something is not known.
    pub(crate) fn missing<T>(&self, need: Need) -> Option<T> {
        if self.notes {
            self.trace.borrow_mut().missing.insert(need);
        }
        None
    }

    /// Notes that the inputs contradict each other or the metal.
    pub(crate) fn fault<T>(&self, words: impl std::fmt::Display) -> Option<T> {
        if self.notes {
            self.trace.borrow_mut().faults.insert(words.to_string());
        }
        None
    }

    /// The value, or a fault in words.
    pub(crate) fn ok<T, E: std::fmt::Display>(&self, result: Result<T, E>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(error) => self.fault(error),
        }
    }

    /// Whether a field is known; asking does not make it an input.
    pub(crate) fn has(&self, field: Field) -> bool {
        self.inputs.fields.contains_key(&field)
    }

    /// A field's value if it is known; a gap is not opened.
    pub(crate) fn optional(&self, field: Field) -> Option<Value> {
        let known = self.inputs.fields.get(&field)?;
        if self.notes {
            let count = coordinates(&known.value).len();
            let mut trace = self.trace.borrow_mut();
            if count == 0 {
                trace.exact.insert(field);
            }
            for part in 0..u8::try_from(count).unwrap_or(u8::MAX) {
                trace.read.insert(Slot::Field(field, part));
                trace.seen.insert(Slot::Field(field, part));
            }
        }
        Some(match self.nudge {
            Some((Slot::Field(moved, part), by)) if moved == field => {
                nudged(&known.value, part, by)
            }
            _ => known.value.clone(),
        })
    }

    /// A field's value; what is not known is noted.
    pub(crate) fn value(&self, field: Field) -> Option<Value> {
        self.optional(field).or_else(|| self.missing(Need::Field(field)))
    }

    /// A field's quantity.
    pub(crate) fn get<Q: TryFrom<Amount>>(&self, field: Field) -> Option<Q> {
        amount_of(self.value(field)?)
    }

    /// A field's quantity if it is known.
    pub(crate) fn get_optional<Q: TryFrom<Amount>>(&self, field: Field) -> Option<Q> {
        amount_of(self.optional(field)?)
    }

    /// A field's place, as a left one.
    pub(crate) fn place(&self, field: Field) -> Option<Place> {
        match self.value(field)? {
            Value::Place(place) => Some(place),
            _ => None,
        }
    }

    /// A field's point in side view.
    pub(crate) fn side_point(&self, field: Field) -> Option<SidePoint> {
        match self.value(field)? {
            Value::SidePoint(point) => Some(point),
            _ => None,
        }
    }

    /// A field's point on the plate.
    pub(crate) fn plate_point(&self, field: Field) -> Option<PlatePoint> {
        match self.value(field)? {
            Value::PlatePoint(point) => Some(point),
            _ => None,
        }
    }

    /// The plate's outline.
    pub(crate) fn outline(&self) -> Option<Vec<PlatePoint>> {
        match self.value(Field::PlateOutline)? {
            Value::Outline(points) => Some(points),
            _ => None,
        }
    }

    /// A field's three lengths, if they are known.
    pub(crate) fn lengths_optional(&self, field: Field) -> Option<[(Angle, Length); 3]> {
        match self.optional(field)? {
            Value::Lengths(rows) => Some(rows),
            _ => None,
        }
    }

    /// A field's whole number.
    pub(crate) fn count(&self, field: Field) -> Option<u32> {
        match self.value(field)? {
            Value::Count(count) => Some(count),
            _ => None,
        }
    }

    /// A field's word.
    pub(crate) fn word(&self, field: Field) -> Option<&'static str> {
        match self.value(field)? {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }

    /// A number that is no field, if it is known.
    pub(crate) fn number_optional<Q: TryFrom<Amount>>(&self, slot: Slot) -> Option<Q> {
        let known = self.inputs.numbers.get(&slot)?;
        if self.notes {
            let mut trace = self.trace.borrow_mut();
            trace.read.insert(slot);
            trace.seen.insert(slot);
        }
        let value = match self.nudge {
            Some((moved, by)) if moved == slot => nudged(&known.value, 0, by),
            _ => known.value.clone(),
        };
        amount_of(value)
    }

    /// A number that is no field.
    pub(crate) fn number<Q: TryFrom<Amount>>(&self, slot: Slot, need: Need) -> Option<Q> {
        self.number_optional(slot).or_else(|| self.missing(need))
    }

    /// The manual's figure that holds for this car.
    pub(crate) fn spec<Q: TryFrom<Amount>>(&self, what: SpecWhat) -> Option<Q> {
        self.number(Slot::Spec(what), Need::Spec(what))
    }
}

fn amount_of<Q: TryFrom<Amount>>(value: Value) -> Option<Q> {
    match value {
        Value::Amount(amount) => Q::try_from(amount).ok(),
        _ => None,
    }
}

//! The torque wrenches the owner has.

use axlewright_book::{self as book, CarFile, Entry, TorqueUnit};
use axlewright_mechanics::joints::Wrench;
use axlewright_mechanics::joints::wrench::{self, WrenchKind};
use axlewright_quantity::{Amount, Length, Ratio, Torque};

use super::gaps::Waiting;

/// A wrench with its name and how its owner reads it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Owned {
    pub(crate) name: String,
    pub(crate) wrench: Wrench,
    /// How far off it may be, as a share of the reading.
    pub(crate) tolerance: Ratio,
    /// Where that comes from.
    pub(crate) tolerance_from: String,
    pub(crate) unit: Option<TorqueUnit>,
}

fn quantity<Q: TryFrom<Amount>>(entry: Option<&Entry<Amount>>) -> Option<Q> {
    Q::try_from(entry?.value).ok()
}

/// The wrenches that can be used; what is missing of the others is noted.
pub(super) fn read(car: &CarFile, waiting: &mut Waiting) -> Vec<Owned> {
    if car.wrenches.is_empty() {
        waiting.no_wrench();
    }
    car.wrenches.iter().filter_map(|row| one(row, waiting)).collect()
}

fn one(row: &book::Wrench, waiting: &mut Waiting) -> Option<Owned> {
    let (from, to) = (quantity::<Torque>(row.from.as_ref()), quantity::<Torque>(row.to.as_ref()));
    let missing: Vec<&'static str> =
        [("from", from.is_none()), ("to", to.is_none()), ("kind", row.kind.is_none())]
            .into_iter()
            .filter_map(|(key, is_missing)| is_missing.then_some(key))
            .collect();
    if !missing.is_empty() {
        waiting.wrench(row, &missing);
    }
    let kind = match row.kind? {
        book::WrenchKind::Click => WrenchKind::Click,
        book::WrenchKind::Beam => WrenchKind::Beam,
    };
    // A beam's scale begins at nothing, which is no torque to be set.
    let made = Wrench::new(kind, from?.max(wrench::TORQUE_LEAST), to?);
    let made = made.and_then(|made| match quantity::<Length>(row.length.as_ref()) {
        Some(arm) => made.with_arm(arm),
        None => Ok(made),
    });
    match made {
        Ok(wrench) => Some(Owned {
            name: row.name.value.clone(),
            wrench,
            tolerance: quantity(row.tolerance.as_ref()).unwrap_or_else(|| wrench.tolerance()),
            tolerance_from: row.tolerance.as_ref().map_or_else(
                || "ISO 6789, for a sound wrench".to_owned(),
                |entry| format!("{}, car file, line {}", row.name.value, entry.line),
            ),
            unit: row.unit,
        }),
        Err(error) => {
            waiting.wrench_fault(row, &error);
            None
        }
    }
}

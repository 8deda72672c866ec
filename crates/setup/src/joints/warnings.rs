//! What is wrong with a joint, or may be, with what to do.

use axlewright_book::{JointKind, Locking, Position};
use axlewright_mechanics::joints::warnings::ArmPosition;
use axlewright_mechanics::joints::{JointError, Warning};

use super::case::{Case, Plating};
use super::setting::Reach;
use super::words;
use crate::finding::{Item, Why};

/// A warning as it is shown.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    id: &'static str,
    words: String,
    advice: String,
}

impl From<Warning> for Found {
    fn from(warning: Warning) -> Self {
        Self { id: warning.id(), words: warning.words(), advice: warning.advice() }
    }
}

/// The arm position as the joints know it; nothing for those that do not matter.
pub(super) const fn arm_position(position: Position) -> Option<ArmPosition> {
    match position {
        Position::Any | Position::BarOut => None,
        Position::Hang => Some(ArmPosition::Hang),
        Position::StopBoltClear => Some(ArmPosition::Raised),
        Position::Ride => Some(ArmPosition::Ride),
        Position::WheelsDown => Some(ArmPosition::OnWheels),
    }
}

/// Everything that can be said against a joint. `wrong` are the bolts that got their torque with
/// the arm elsewhere than it must be.
pub(super) fn found(case: &Case, wrong: &[(u32, Position)]) -> Result<Vec<Found>, JointError> {
    let mut all: Vec<Found> = Vec::new();
    if let (Plating::Electroplated(record), Some(class), Some(thread)) =
        (case.plating, case.class, &case.thread)
    {
        all.extend(Warning::plated(class, thread, record)?.map(Found::from));
    }
    for (bolt, now) in wrong {
        let must = case.position.and_then(arm_position);
        let both = must.zip(arm_position(*now));
        let warning = both.and_then(|(must, now)| Warning::position(must, now));
        all.extend(warning.map(|warning| {
            let found = Found::from(warning);
            Found { words: format!("{}: {}", super::named(i64::from(*bolt)), found.words), ..found }
        }));
    }
    if case.one_time == Some(true) && case.reused == Some(true) {
        let part = one_time_part(case.locking).to_owned();
        all.push(Warning::OneTimePartReused { part }.into());
    }
    if let Some(Reach::Beyond { beyond, .. }) = &case.reach {
        all.push(Warning::WrenchOutOfRange(*beyond).into());
    }
    if let Some(strain) = &case.strain {
        if let Some(rub) = &case.rub {
            all.extend(Warning::slip(rub.slip(strain.range.least)?).map(Found::from));
        }
        if let Some(demands) = strain.demand {
            all.extend(Warning::yield_share(demands.middle).map(Found::from));
            let under = |class| Warning::proof_share(class, demands.middle);
            all.extend(case.class.and_then(under).map(Found::from));
        }
    }
    if let Some((into, engagement)) = case.engagement {
        all.extend(Warning::engagement(into, engagement).map(Found::from));
    }
    if let (Some(bolt), Some(listed), Some(then), Some(now)) =
        (&case.bolt, &case.listed, case.then, case.now)
    {
        let change = bolt.changed_surface(listed.torque, &then.range(), &now.range())?;
        all.extend(Warning::surface(then, now, listed.torque, change).map(Found::from));
    }
    Ok(all)
}

const fn one_time_part(locking: Option<Locking>) -> &'static str {
    match locking {
        Some(Locking::Nut) => "the locking nut",
        Some(Locking::Washer) => "the locking washer or tab",
        Some(Locking::Cotter) => "the cotter",
        Some(Locking::Compound) => "the bolt with its locking compound",
        Some(Locking::None) | None => "a part of this joint",
    }
}

/// The finding's value.
pub(super) fn item(found: &[Found]) -> Item {
    let rows = found.iter().map(|found| {
        Item::Object(vec![
            ("id", words(found.id)),
            ("words", words(&found.words)),
            ("advice", words(&found.advice)),
        ])
    });
    Item::List(rows.collect())
}

/// The reasons: how many, and what could not be looked at.
pub(super) fn why(case: &Case, found: &[Found]) -> Why {
    let count = match found.len() {
        0 => "Nothing was found against this joint. That does not make it right.".to_owned(),
        1 => "One thing is to be settled.".to_owned(),
        more => format!("{more} things are to be settled."),
    };
    let not_checked = not_checked(case);
    let rest = if not_checked.is_empty() {
        String::new()
    } else {
        format!(" Not looked at, for want of figures: {}.", not_checked.join(", "))
    };
    Why {
        words: format!("{count}{rest}"),
        formula: "each against its limit: 90 % of yield, 40 % of proof load, 1.2 times the load, \
                  360 HV, the scales at hand",
        source: "VDI 2230; ISO 898-1:2013; ISO 4042:2018, 4.4; common practice where no standard \
                 is named",
        inputs: Vec::new(),
    }
}

fn not_checked(case: &Case) -> Vec<&'static str> {
    let strained = case.strain.as_ref();
    let rows = [
        ("plating", case.plating == Plating::NotSaid),
        ("preload", strained.is_none_or(|strain| strain.demand.is_none())),
        ("slip", case.kind == Some(JointKind::Friction) && case.rub.is_none()),
        ("how it carries its load", case.kind.is_none()),
        ("a change of surface", case.then.is_none() || case.now.is_none()),
        ("threads in engagement", case.engagement.is_none()),
        ("parts for one use", case.one_time.is_none()),
    ];
    rows.into_iter().filter_map(|(what, open)| open.then_some(what)).collect()
}

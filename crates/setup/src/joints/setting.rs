//! Which wrench, what to set on it, and in how many passes.

use axlewright_book::TorqueUnit;
use axlewright_mechanics::joints::sequence::usual_passes;
use axlewright_mechanics::joints::wrench::{Beyond, Choice, choose};
use axlewright_mechanics::joints::{JointError, Wrench};
use axlewright_quantity::{Amount, Angle, Length, Ratio, Torque};

use super::case::{Case, Listed};
use super::words;
use super::wrenches::Owned;
use crate::cautions;
use crate::finding::{Input, Item, Leaf, Why};

/// What the wrenches at hand answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Reach<'a> {
    /// This one, with its arm where that counts.
    Set { owned: &'a Owned, setting: Torque, of_scale: Ratio, arm: Option<Length> },
    /// None of them; the nearest by name.
    Beyond { beyond: Beyond, nearest: &'a str },
    /// No wrench was named: what any would have to be set to.
    NoWrench { setting: Torque },
}

impl<'a> Case<'a> {
    /// The wrenches as they would be used here: one that states no arm is held at the joint's.
    fn at_hand(&self) -> Vec<Wrench> {
        let held = |owned: &Owned| match (owned.wrench.arm(), self.arm) {
            (None, Some(arm)) => owned.wrench.with_arm(arm).unwrap_or(owned.wrench),
            _ => owned.wrench,
        };
        self.wrenches.iter().map(held).collect()
    }

    fn chosen(&self, torque: Torque) -> Result<Option<Reach<'a>>, JointError> {
        let adapter = self.adapter.as_ref();
        let list = self.at_hand();
        if list.is_empty() {
            let setting = match (adapter, self.arm) {
                (None, _) => torque,
                (Some(adapter), Some(arm)) => adapter.setting(torque, arm)?,
                (Some(_), None) => return Ok(None),
            };
            return Ok(Some(Reach::NoWrench { setting }));
        }
        match choose(&list, torque, adapter) {
            Ok(Choice::Set(found)) => Ok(self.wrenches.get(found.wrench).map(|owned| Reach::Set {
                owned,
                setting: found.setting,
                of_scale: found.of_scale,
                arm: list.get(found.wrench).and_then(Wrench::arm),
            })),
            Ok(Choice::Beyond(beyond)) => {
                let nearest = self.wrenches.get(beyond.nearest).map_or("", |o| o.name.as_str());
                Ok(Some(Reach::Beyond { beyond, nearest }))
            }
            Err(JointError::NoArm) => Ok(None),
            Err(error) => Err(error),
        }
    }

    /// The unit in which this joint's wrench is read.
    fn read_in(&self, reach: Option<&Reach>) -> TorqueUnit {
        match reach {
            Some(Reach::Set { owned, .. }) => owned.unit.unwrap_or(self.unit),
            _ => self.unit,
        }
    }
}

/// The wrench for the joint's final torque; nothing where torque or arm are not known.
pub(super) fn reach<'a>(case: &Case<'a>) -> Result<Option<Reach<'a>>, JointError> {
    let Some(listed) = &case.listed else { return Ok(None) };
    // Asked for its errors: a torque that no joint has.
    usual_passes(listed.torque, case.bolts())?;
    case.chosen(listed.torque)
}

/// Why a torque that takes the bolt past its yield, at the friction to count with, is not told.
pub(super) fn over_yield(case: &Case) -> Option<String> {
    let used = case.strain.as_ref()?.of_yield()?;
    (1.0 < used.to_one()).then(|| cautions::NO_SETTING.rest.trim_end_matches('.').to_owned())
}

/// `4.40 kgf m`.
pub(super) fn in_unit(torque: Torque, unit: TorqueUnit) -> String {
    let amount = Amount::from(torque);
    amount.in_unit(unit.word()).map_or_else(|_| amount.to_string(), |shown| shown.to_string())
}

/// The finding's value.
pub(super) fn item(case: &Case, listed: &Listed) -> Item {
    let reach = case.reach.as_ref().filter(|_| case.withheld.is_none());
    let unit = case.read_in(reach);
    let torque = Leaf { value: listed.torque.into(), u: None, written: listed.written.clone() };
    let (wrench, setting, of_scale, tolerance, arm) = match reach {
        Some(Reach::Set { owned, setting, of_scale, arm }) => {
            let arm = arm.filter(|_| case.adapter.is_some());
            (Some(&owned.name), Some(*setting), Some(*of_scale), Some(owned.tolerance), arm)
        }
        Some(Reach::NoWrench { setting }) => {
            (None, Some(*setting), None, None, case.arm.filter(|_| case.adapter.is_some()))
        }
        Some(Reach::Beyond { .. }) | None => (None, None, None, None, None),
    };
    let is_told = case.withheld.is_none();
    Item::Object(vec![
        ("torque", Item::Leaf(torque)),
        ("preferred", words(in_unit(listed.torque, case.unit))),
        ("list_tolerance", Item::maybe(listed.tolerance)),
        ("wrench", wrench.map_or(Item::Nothing, words)),
        ("setting", Item::maybe(setting)),
        ("reading", setting.map_or(Item::Nothing, |setting| words(in_unit(setting, unit)))),
        ("of_scale", Item::maybe(of_scale)),
        ("wrench_tolerance", Item::maybe(tolerance)),
        ("adapter", Item::maybe(case.adapter.map(|adapter| adapter.length()))),
        ("adapter_angle", Item::maybe(case.adapter.map(|adapter| adapter.angle()))),
        ("wrench_arm", Item::maybe(arm)),
        ("passes", if is_told { passes(case, listed) } else { Item::Nothing }),
        ("beyond", if is_told { beyond(case) } else { Item::Nothing }),
        ("withheld", case.withheld.as_ref().map_or(Item::Nothing, words)),
    ])
}

/// Each pass with the wrench that reaches it: a small share may be below a large wrench's scale.
fn passes(case: &Case, listed: &Listed) -> Item {
    let passes = usual_passes(listed.torque, case.bolts()).unwrap_or_default();
    let one = |pass: axlewright_mechanics::joints::sequence::Pass| {
        let is_last = pass.torque == listed.torque;
        let same = || match &case.reach {
            Some(Reach::Set { owned, .. }) => {
                let alone = Case { wrenches: std::slice::from_ref(*owned), ..case.clone() };
                match alone.chosen(pass.torque) {
                    Ok(Some(Reach::Set { setting, .. })) => {
                        Some((Some(owned.name.clone()), setting, owned.unit))
                    }
                    _ => None,
                }
            }
            _ => None,
        };
        let other = || match case.chosen(pass.torque) {
            Ok(Some(Reach::Set { owned, setting, .. })) => {
                Some((Some(owned.name.clone()), setting, owned.unit))
            }
            Ok(Some(Reach::NoWrench { setting })) => Some((None, setting, None)),
            _ => None,
        };
        let found = same().or_else(other);
        let reading = found
            .as_ref()
            .map(|(_, setting, unit)| words(in_unit(*setting, unit.unwrap_or(case.unit))));
        let wrench = found.as_ref().and_then(|(name, _, _)| name.clone());
        Item::Object(vec![
            ("share", Item::leaf(if is_last { Ratio::one(1.0) } else { pass.share })),
            ("torque", Item::leaf(pass.torque)),
            ("wrench", wrench.map_or(Item::Nothing, Item::Word)),
            ("setting", Item::maybe(found.map(|(_, setting, _)| setting))),
            ("reading", reading.unwrap_or(Item::Nothing)),
        ])
    };
    Item::List(passes.into_iter().map(one).collect())
}

/// Of a joint that no wrench at hand reaches: what would.
fn beyond(case: &Case) -> Item {
    let Some(Reach::Beyond { beyond, nearest }) = &case.reach else { return Item::Nothing };
    Item::Object(vec![
        ("needed", Item::leaf(beyond.needed)),
        ("top_least", Item::leaf(beyond.top_least)),
        ("top_most", Item::leaf(beyond.top_most)),
        ("nearest", words(*nearest)),
        ("nearest_end", Item::leaf(beyond.nearest_end)),
    ])
}

/// The reasons.
pub(super) fn why(case: &Case, listed: &Listed) -> Why {
    let mut inputs = vec![Input {
        name: "torque by the list".to_owned(),
        value: Some(listed.torque.into()),
        u: listed.u.map(Amount::from),
        from: listed.from.clone(),
        share: None,
    }];
    let mut input = |name: &str, value: Option<Amount>, from: &str| {
        inputs.extend(value.map(|value| Input {
            name: name.to_owned(),
            value: Some(value),
            u: None,
            from: from.to_owned(),
            share: None,
        }));
    };
    if let Some(adapter) = &case.adapter {
        input("length of the extension", Some(adapter.length().into()), &case.from);
        input("its angle to the wrench", Some(adapter.angle().into()), &case.from);
        if let Some(Reach::Set { arm, owned, .. }) = &case.reach {
            let from = if owned.wrench.arm().is_some() { &owned.name } else { &case.from };
            input("arm of the wrench", arm.map(Amount::from), from);
        }
    }
    Why {
        words: sentence(case, listed),
        formula: "T_w = T·L/(L + E·cos a); without an extension T_w = T",
        source: "NIST SP 811 for the units; FAA AC 43.13-1B, ch. 7, for the extension; ISO 6789 \
                 for the scale",
        inputs,
    }
}

fn sentence(case: &Case, listed: &Listed) -> String {
    let reach = case.reach.as_ref();
    let nm = in_unit(listed.torque, TorqueUnit::NM);
    let asked = match &listed.written {
        Some(written) => format!("The list says {written}, which is {nm}."),
        None => format!("For the preload asked for the torque is {nm}."),
    };
    if let Some(why) = &case.withheld {
        return format!("{asked} {} {why}.", cautions::NO_SETTING.head);
    }
    let then = match reach {
        Some(Reach::Set { owned, setting, of_scale, arm }) => {
            let reading = in_unit(*setting, case.read_in(reach));
            let share = of_scale.to_percent();
            format!(
                "Set {reading} on the {}, {share:.0} % of its scale.{}",
                owned.name,
                extension(case, *arm)
            )
        }
        Some(Reach::NoWrench { setting }) => {
            let reading = in_unit(*setting, case.unit);
            format!("Set {reading}; no wrench was named.{}", extension(case, case.arm))
        }
        Some(Reach::Beyond { beyond, .. }) => format!(
            "No wrench at hand is used at {}: borrow one whose scale ends between {} and {}.",
            in_unit(beyond.needed, case.unit),
            in_unit(beyond.top_least, case.unit),
            in_unit(beyond.top_most, case.unit)
        ),
        None => "What to set with the extension cannot be said until the arm of the wrench is \
                 known."
            .to_owned(),
    };
    format!("{asked} {then}")
}

fn extension(case: &Case, arm: Option<Length>) -> String {
    let (Some(adapter), Some(arm)) = (&case.adapter, arm) else { return String::new() };
    let how = if adapter.angle() == Angle::ZERO {
        "in line".to_owned()
    } else {
        format!("at {:.0}°", adapter.angle().to_deg())
    };
    format!(
        " The extension of {:.0} mm {how} on an arm of {:.0} mm gives the bolt more than the \
         wrench shows: pull with one hand on the mark of the grip, or the figure is wrong.",
        adapter.length().to_mm(),
        arm.to_mm()
    )
}

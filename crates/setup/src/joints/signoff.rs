//! How far the bolts are, and what still forbids signing a joint off.

use axlewright_book::log::Asked;
use axlewright_book::{BoltNow, BoltState, Joint, JointState, Position, Torqued};
use axlewright_mechanics::joints::wrench;
use axlewright_quantity::{Ratio, Torque};

use super::case::Case;
use super::setting::{Reach, in_unit};
use super::{finding, words};
use crate::finding::{Finding, Item, Leaf, Why};

/// How far a written value may be from the list's where neither list nor wrench says: ±4 %.
///
/// ISO 6789, setting tools of class A: no wrench tells them apart.
const VALUE_TOLERANCE: Ratio = Ratio::one(0.04);

/// One thing that forbids signing off.
#[derive(Debug, Clone, PartialEq)]
struct Forbids {
    /// Which bolt; nothing where it is about the joint.
    bolt: Option<u32>,
    reason: &'static str,
    words: String,
}

/// What a joint's state says, for the car as a whole.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Verdict {
    joint: String,
    ready: bool,
    bolts_left: usize,
}

/// Bolts that got their torque with the arm elsewhere than it must be.
pub(super) fn wrong_positions(case: &Case, state: &JointState) -> Vec<(u32, Position)> {
    let wrong = |bolt: &BoltNow| {
        let now = bolt.torqued.as_ref()?.position?;
        let is_wrong = now.matters() && !case.position?.is_met_by(now);
        is_wrong.then_some((bolt.bolt, now))
    };
    state.bolts.iter().filter_map(wrong).collect()
}

/// Adds `joint.state` and `joint.sign-off`.
pub(super) fn add(
    case: &Case,
    joint: &Joint,
    state: &JointState,
    out: &mut Vec<Finding>,
) -> Verdict {
    let forbids = forbids(case, state);
    let mut left: Vec<u32> = forbids.iter().filter_map(|one| one.bolt).collect();
    left.dedup();
    let verdict = Verdict {
        joint: joint.id.value.clone(),
        ready: forbids.is_empty(),
        bolts_left: left.len(),
    };
    let of = case.of.as_ref();
    out.push(finding("joint.state", of, state_item(case, state), state_why(case, state)));
    out.push(finding("joint.sign-off", of, item(&forbids), why(case, &forbids)));
    verdict
}

/// What forbids signing a joint off, in words.
pub(super) fn in_words(case: &Case, state: &JointState) -> Vec<String> {
    forbids(case, state).iter().map(|one| super::forbids_words(&row(one))).collect()
}

fn forbids(case: &Case, state: &JointState) -> Vec<Forbids> {
    let mut forbids: Vec<Forbids> = Vec::new();
    if case.count.is_none() {
        forbids.push(of_joint("count-not-known", "how many bolts it has is not known"));
    }
    if case.position.is_none() {
        let words = "how the arm has to stand for the final torque is not known";
        forbids.push(of_joint("position-not-known", words));
    }
    if case.listed.is_none() {
        forbids.push(of_joint("torque-not-known", "the list's torque is not known"));
    }
    for bolt in &state.bolts {
        forbids.extend(of_bolt(case, bolt));
    }
    forbids
}

fn of_joint(reason: &'static str, words: &str) -> Forbids {
    Forbids { bolt: None, reason, words: words.to_owned() }
}

fn of_bolt(case: &Case, now: &BoltNow) -> Vec<Forbids> {
    let bolt = now.bolt;
    let mut all = Vec::new();
    let mut forbid = |reason, words: String| {
        all.push(Forbids { bolt: Some(bolt), reason, words });
    };
    match (&now.torqued, now.loosened) {
        (None, Some(origin)) => {
            let state = now.state;
            forbid("loosened", format!("loosened after it was tight ({origin}); now {state}"));
        }
        (None, None) if now.state == BoltState::Snug => {
            forbid("snug", "snug, not at its torque".to_owned());
        }
        (None, None) => forbid("open", "open".to_owned()),
        (Some(_), _) => {}
    }
    if let Some(origin) = now.mark_without_torque {
        let words = format!("paint-marked ({origin}), and no row says that it was torqued");
        forbid("mark-without-torque", words);
    }
    let Some(torqued) = &now.torqued else { return all };
    if let Some((reason, words)) = position_fault(case, torqued) {
        forbid(reason, words);
    }
    if let Some((reason, words)) = value_fault(case, torqued) {
        forbid(reason, words);
    }
    if let Some(words) = off_scale(case, torqued) {
        forbid("wrench-out-of-range", words);
    }
    all
}

/// What is wrong with how the arm stood.
fn position_fault(case: &Case, torqued: &Torqued) -> Option<(&'static str, String)> {
    let must = case.position.filter(|must| must.matters())?;
    match torqued.position.filter(|now| now.matters()) {
        Some(now) if must.is_met_by(now) => None,
        Some(now) => {
            let words = format!("torqued with the arm at `{now}`; it must be at `{must}`");
            Some(("wrong-arm-position", words))
        }
        None => {
            let words = format!("torqued, and no row says how the arm stood; it must be `{must}`");
            Some(("position-not-said", words))
        }
    }
}

/// What the joint asks of its torque; nothing where that is not known.
pub(super) fn asked(case: &Case) -> Option<Asked> {
    let listed = case.listed.as_ref()?;
    let share = match &case.reach {
        Some(Reach::Set { owned, .. }) => owned.tolerance,
        _ => VALUE_TOLERANCE,
    };
    let through = match (&case.adapter, &case.reach) {
        (Some(_), Some(Reach::Set { setting, .. } | Reach::NoWrench { setting })) => {
            Some((*setting, in_unit(*setting, case.unit)))
        }
        _ => None,
    };
    Some(Asked {
        list: listed.torque,
        written: listed.written.clone().unwrap_or_else(|| in_unit(listed.torque, case.unit)),
        share,
        tolerance: listed.tolerance.unwrap_or(Torque::ZERO),
        through,
    })
}

/// What is wrong with the torque that was written down.
fn value_fault(case: &Case, torqued: &Torqued) -> Option<(&'static str, String)> {
    let asked = asked(case)?;
    let got = match &torqued.value {
        Some(entry) => Some((entry.text.as_str(), Torque::try_from(entry.value).ok()?)),
        None => None,
    };
    if case.withheld.is_some() && got.is_some() {
        let words = "torqued, and what the wrench has to show is not told".to_owned();
        return Some(("value-in-doubt", words));
    }
    asked.fault(got).map(|fault| (fault.reason, fault.words))
}

/// What is wrong with the torque of a bolt, beyond that it has none: in words.
pub(super) fn not_as_asked(case: &Case, now: &BoltNow) -> Option<String> {
    let torqued = now.torqued.as_ref()?;
    let value = value_fault(case, torqued).map(|(_, words)| words);
    value.or_else(|| position_fault(case, torqued).map(|(_, words)| words))
}

/// A reading outside the part of its scale in which that wrench is used.
fn off_scale(case: &Case, torqued: &Torqued) -> Option<String> {
    let got = Torque::try_from(torqued.value.as_ref()?.value).ok()?;
    let name = torqued.wrench.as_ref()?.value.trim();
    let owned = case.wrenches.iter().find(|owned| owned.name.trim().eq_ignore_ascii_case(name))?;
    let (from, to) = owned.wrench.usable();
    let slack = 1.0 + wrench::TORQUE_LEAST.to_nm() / wrench::TORQUE_MOST.to_nm();
    let inside = from <= got * slack && got <= to * slack;
    let unit = owned.unit.unwrap_or(case.unit);
    (!inside).then(|| {
        format!(
            "torqued to {} with the {name}, which is used from {} to {}",
            in_unit(got, unit),
            in_unit(from, unit),
            in_unit(to, unit)
        )
    })
}

fn number(bolt: u32) -> Item {
    Item::Count(i64::from(bolt), "bolt")
}

fn state_item(case: &Case, state: &JointState) -> Item {
    let one = |now: &BoltNow| {
        let torqued = now.torqued.as_ref();
        let value = torqued.and_then(|torqued| torqued.value.as_ref()).map(|entry| {
            let written = Some(entry.text.clone());
            Item::Leaf(Leaf { value: entry.value, u: None, written })
        });
        let wrench = torqued.and_then(|torqued| torqued.wrench.as_ref());
        let position = torqued.and_then(|torqued| torqued.position);
        let date = torqued.and_then(|torqued| torqued.date.as_ref());
        Item::Object(vec![
            ("bolt", number(now.bolt)),
            ("state", words(now.state.word())),
            ("value", value.unwrap_or(Item::Nothing)),
            ("wrench", wrench.map_or(Item::Nothing, |wrench| words(&wrench.value))),
            ("position", position.map_or(Item::Nothing, |position| words(position.word()))),
            ("date", date.map_or(Item::Nothing, |date| words(&date.value))),
            ("fault", not_as_asked(case, now).map_or(Item::Nothing, Item::Word)),
        ])
    };
    Item::List(state.bolts.iter().map(one).collect())
}

fn state_why(case: &Case, state: &JointState) -> Why {
    let of = |wanted: BoltState| state.bolts.iter().filter(|bolt| bolt.state == wanted).count();
    let parts: Vec<String> = BoltState::ALL
        .iter()
        .map(|wanted| (of(*wanted), wanted.word()))
        .filter(|(count, _)| 0 < *count)
        .map(|(count, word)| format!("{count} {word}"))
        .collect();
    let parts = if parts.is_empty() { "no bolt known".to_owned() } else { parts.join(", ") };
    Why {
        words: format!("{}: {parts}.", case.name),
        formula: "open → snug → torqued → paint-marked; loosened, it is open or snug again",
        source: "the [[bolt]] rows of the car file, the later superseding the earlier",
        inputs: Vec::new(),
    }
}

fn item(forbids: &[Forbids]) -> Item {
    Item::Object(vec![
        ("ready", Item::Flag(forbids.is_empty())),
        ("forbids", Item::List(forbids.iter().map(row).collect())),
    ])
}

fn row(forbids: &Forbids) -> Item {
    Item::Object(vec![
        ("bolt", forbids.bolt.map_or(Item::Nothing, number)),
        ("reason", words(forbids.reason)),
        ("words", words(&forbids.words)),
    ])
}

const RULE: &str = "every bolt torqued, to the list's value, with the arm as it must be, on the \
    wrench's scale, and not loosened since";
const RULE_SOURCE: &str = "own rule, docs/method.md, joints; ISO 6789 for how near a value must be";

fn why(case: &Case, forbids: &[Forbids]) -> Why {
    let said: Vec<String> = forbids.iter().map(|one| super::forbids_words(&row(one))).collect();
    let words = if said.is_empty() {
        format!("{}: by what was written down nothing forbids signing it off.", case.name)
    } else {
        format!("{} cannot be signed off: {}.", case.name, said.join("; "))
    };
    Why { words, formula: RULE, source: RULE_SOURCE, inputs: Vec::new() }
}

/// The car as a whole.
pub(super) fn of_the_car(verdicts: &[Verdict]) -> Finding {
    let count = |number: usize| i64::try_from(number).unwrap_or(i64::MAX);
    let left: Vec<&Verdict> = verdicts.iter().filter(|verdict| !verdict.ready).collect();
    let bolts: usize = left.iter().map(|verdict| verdict.bolts_left).sum();
    let said = if left.is_empty() {
        "By what was written down nothing forbids signing off the joints.".to_owned()
    } else {
        format!(
            "{} of {} joints cannot be signed off; {bolts} bolts are in the way.",
            left.len(),
            verdicts.len()
        )
    };
    let value = Item::Object(vec![
        ("ready", Item::Flag(left.is_empty())),
        ("joints", Item::Count(count(verdicts.len()), "joints")),
        ("joints_left", Item::Count(count(left.len()), "joints")),
        ("bolts_left", Item::Count(count(bolts), "bolts")),
        ("left", Item::List(left.iter().map(|verdict| words(&verdict.joint)).collect())),
    ]);
    let why = Why { words: said, formula: RULE, source: RULE_SOURCE, inputs: Vec::new() };
    finding("joints.sign-off", None, value, why)
}

//! Every quantity that can be had two ways is had two ways, and the ways are held against each
//! other by their joint uncertainty. What disagrees is told with what may be wrong.
//!
//! # Source
//! The uncertainty of the difference: JCGM 100:2008 (GUM), 5.1.2, by moving every input that either
//! way reads, so that what both read counts only as far as it moves them apart. The levels: own
//! judgement, docs/method.md.

mod file;
mod likely;
mod limits;
mod rows;
mod suspects;
mod ways;

use std::collections::BTreeSet;

use axlewright_book::{CarFile, Field};
use axlewright_quantity::{Amount, Angle, Corner, Kind, Length, Mass, Ratio, Side};

use crate::cross_check::CrossCheck;
use crate::finding::{Gap, Input, Subject, Why};
use crate::inputs::{Inputs, Slot, Slots, coordinates};
use crate::look::Look;
use crate::{Assessment, cautions};

pub use file::mends;
pub(crate) use rows::Row;
use ways::{WAYS, Way};

/// From here a difference is told: one in eighty of a sound pair.
const NOTE: f64 = 2.5;
/// From here it stops: with some twenty checks, one sound car in two hundred comes to it on any.
const STOP: f64 = 3.6;

/// What cannot be told while two ways disagree: teeth, and corrections on the wheels.
const HELD_BACK: [&str; 7] = [
    "index.choices",
    "screw.change",
    "index.both-sides",
    "car.moves",
    "car.after",
    "car.hand-over",
    "car.rear-only",
];

/// Two ways as they stand.
#[derive(Debug, Clone)]
struct Measured {
    differ: f64,
    u: f64,
    seen: Slots,
    exact: BTreeSet<Field>,
}

impl Measured {
    fn times_u(&self) -> f64 {
        (self.differ / self.u).abs()
    }
}

/// A check at one corner, or of the whole car.
struct Pair<'a> {
    way: &'static Way,
    inputs: &'a Inputs,
    of: Option<Subject>,
}

impl Pair<'_> {
    /// The difference with these inputs in place of its own.
    fn differ(&self, inputs: &Inputs) -> Option<f64> {
        (self.way.differ)(&Look::quiet(inputs))
    }

    fn measure(&self) -> Option<Measured> {
        let look = Look::plain(self.inputs);
        let differ = (self.way.differ)(&look)?;
        let trace = look.into_trace();
        let allowed = (self.way.allow)(&Look::quiet(self.inputs));
        let parts = trace.seen.iter().filter_map(|slot| self.part(*slot, differ));
        let u = parts.fold(allowed * allowed, |sum, part| sum + part * part).sqrt();
        (0.0 < u && differ.is_finite() && u.is_finite()).then_some(Measured {
            differ,
            u,
            seen: trace.seen,
            exact: trace.exact,
        })
    }

    /// What one input's uncertainty does to the difference.
    fn part(&self, slot: Slot, base: f64) -> Option<f64> {
        let (known, part) = self.inputs.known(slot)?;
        let kind = coordinates(&known.value).get(usize::from(part))?.kind();
        let u = known.u?.to_si();
        let moved = |by: f64| {
            let by = Amount::from_si(kind, by);
            (self.way.differ)(&Look::nudged(self.inputs, slot, by))
        };
        match (moved(u), moved(-u)) {
            (Some(up), Some(down)) => Some((up - down) / 2.0),
            (Some(one), None) | (None, Some(one)) => Some(one - base),
            (None, None) => None,
        }
    }
}

/// Adds the findings and cautions of what disagrees, and holds back what rests on it.
pub(crate) fn add(car: &CarFile, sides: [&Inputs; 2], out: &mut Assessment) {
    let [mut left, mut right] = sides.map(doubted);
    rows::add(car, &mut left);
    right.trim_tolerance = left.trim_tolerance;
    let pairs = pairs([&left, &right]);
    let measured: Vec<Option<Measured>> = pairs.iter().map(Pair::measure).collect();
    let mut standing = Vec::new();
    for (at, one) in measured.iter().enumerate() {
        let (Some(one), Some(pair)) = (one, pairs.get(at)) else { continue };
        if one.times_u() < NOTE || is_twin(&pairs, &measured, at) {
            continue;
        }
        let check = told(&pairs, &measured, at, one);
        if STOP < one.times_u() {
            let (head, rest) = words(pair.way, one, &check, true);
            let caution = match reason(car, pair.way.id) {
                Some(reason) => cautions::set_aside(&head, pair.way.id, reason),
                None => {
                    standing.push(pair.way.id);
                    cautions::cross_check(&head, &rest)
                }
            };
            out.cautions.push(cautions::of(caution, pair.of.clone()));
        } else if reason(car, pair.way.id).is_none() {
            let (head, rest) = words(pair.way, one, &check, false);
            let caution = cautions::nearly_disagree(&head, &rest);
            out.cautions.push(cautions::of(caution, pair.of.clone()));
        }
        let why = why(pair, one, &check);
        out.findings.push(check.clone().finding(why));
        out.cross_checks.push(check);
    }
    hold_back(&standing, out);
    names(car, out);
}

/// How far a car is from what most of its layout are like; no unit.
fn unlikely(car: &CarFile) -> f64 {
    let mut left = doubted(&Inputs::from_car(car, Side::Left));
    rows::add(car, &mut left);
    suspects::unlikely_as_it_is(&left)
}

/// Checks that are set aside and do not exist.
fn names(car: &CarFile, out: &mut Assessment) {
    for row in &car.set_aside {
        for check in &row.checks {
            let name = check.value.trim();
            let known = || all_ways().map(|way| way.id).chain([crate::wheels::ROUND_STATE]);
            if known().all(|own| own != name) {
                let known: Vec<&str> = known().collect();
                out.problems.push(format!(
                    "[[set_aside]], line {}: there is no check `{name}`; there are {}",
                    check.line,
                    known.join(", "),
                ));
            }
        }
    }
}

/// Every check, two ways first, then limits.
fn all_ways() -> impl Iterator<Item = &'static Way> {
    WAYS.iter().chain(limits::LIMITS)
}

/// Every check of both corners and of the car.
fn pairs<'a>([left, right]: [&'a Inputs; 2]) -> Vec<Pair<'a>> {
    let of = |side| Some(Subject::Corner(Corner::rear(side)));
    let mut all = Vec::new();
    for way in all_ways() {
        if way.each_side {
            all.push(Pair { way, inputs: left, of: of(Side::Left) });
            all.push(Pair { way, inputs: right, of: of(Side::Right) });
        } else {
            all.push(Pair { way, inputs: left, of: None });
        }
    }
    all
}

/// Whether the left side has told the same already: what is written once for both sides.
fn is_twin(pairs: &[Pair<'_>], measured: &[Option<Measured>], at: usize) -> bool {
    let Some(before) = at.checked_sub(1) else { return false };
    let (Some(a), Some(b)) = (pairs.get(before), pairs.get(at)) else { return false };
    let (Some(Some(x)), Some(Some(y))) = (measured.get(before), measured.get(at)) else {
        return false;
    };
    a.way.id == b.way.id && (x.differ - y.differ).abs() <= 1e-9 * x.differ.abs()
}

/// The inputs with a doubt for whatever was measured and has none: what the figure should be good
/// to. A check that trusted such a number wholly would cry over nothing.
fn doubted(inputs: &Inputs) -> Inputs {
    let mut all = inputs.clone();
    for (field, known) in &mut all.fields {
        if known.u.is_none() {
            known.u = usual(*field, &known.value);
        }
    }
    let angle = |deg: f64| Some(Amount::from(Angle::deg(deg)));
    let share = crate::inputs::Known::number(Ratio::one(1.0), Some(Ratio::one(0.02).into()), "");
    all.numbers.entry(Slot::RateShare).or_insert(share);
    for (slot, known) in &mut all.numbers {
        let usual = match slot {
            Slot::PlateReading => angle(0.15),
            Slot::BodySlope | Slot::GaugeOffset => angle(0.1),
            Slot::Spec(axlewright_book::SpecWhat::FreeAngle) => Some(rows::PRINTED.into()),
            Slot::SpecBar => Some(Length::mm(0.03).into()),
            _ => None,
        };
        known.u = known.u.or(usual);
    }
    all
}

/// What a figure is usually good to, as a standard uncertainty: own judgement, from what the
/// starter file asks for.
fn usual(field: Field, value: &axlewright_book::Value) -> Option<Amount> {
    use axlewright_book::{Class, Value};
    let Value::Amount(amount) = value else {
        return field.class().map(|_| Length::mm(1.5).into());
    };
    let share = |part: f64| Some(Amount::from_si(amount.kind(), amount.to_si().abs() * part));
    if amount.to_si() == 0.0 {
        return None;
    }
    match field.class() {
        Some(Class::Hardpoint) => Some(Length::mm(1.5).into()),
        Some(Class::Distance) => Some(Length::mm(1.0).into()),
        Some(Class::BarDiameter) => Some(Length::mm(0.03).into()),
        Some(Class::BarRate) => share(0.02),
        Some(Class::CornerWeight) => Some(Mass::kg(8.0).into()),
        Some(Class::Gauge | Class::Level) => Some(Angle::deg(0.15).into()),
        Some(Class::TrimReading) => Some(Length::mm(2.0).into()),
        Some(_) => None,
        None => match (field, amount.kind()) {
            (Field::BarShearModulus, _) => share(0.01),
            (Field::DamperFittedGas | Field::DamperOriginalGas, _) => share(0.15),
            (Field::LoadUnsprung | Field::FrontUnsprung, _) => share(0.1),
            (_, Kind::Mass) => share(0.05),
            (_, Kind::LinearRate | Kind::TorsionalRate) => share(0.1),
            _ => None,
        },
    }
}

fn told(
    pairs: &[Pair<'_>],
    measured: &[Option<Measured>],
    at: usize,
    one: &Measured,
) -> CrossCheck {
    let (way, of) = pairs.get(at).map_or((&WAYS[0], None), |pair| (pair.way, pair.of.clone()));
    CrossCheck {
        id: way.id,
        of,
        between: way.between.map(str::to_owned),
        differ: Amount::from_si(way.kind, one.differ),
        u: Amount::from_si(way.kind, one.u),
        suspects: suspects::of(pairs, measured, at),
    }
}

/// Why the owner has set a check aside.
fn reason<'a>(car: &'a CarFile, id: &str) -> Option<&'a str> {
    let of = |row: &&axlewright_book::SetAside| row.checks.iter().any(|c| c.value.trim() == id);
    car.set_aside.iter().find(of).map(|row| row.reason.value.trim())
}

/// What disagrees, and what may be wrong with it.
fn words(way: &Way, one: &Measured, check: &CrossCheck, stops: bool) -> (String, String) {
    let [first, second] = way.between;
    let head = format!(
        "{} differs by {} (u {}) between two ways: {first}, and {second}.",
        way.what,
        amount(Amount::from_si(way.kind, one.differ.abs())),
        amount(check.u),
    );
    let suspects = if check.suspects.is_empty() {
        "No single slip explains it: look at every figure behind both.".to_owned()
    } else {
        let each = check.suspects.iter().map(|s| format!("`{}`: {}", s.what, s.explains));
        format!("Look first at {}.", each.collect::<Vec<_>>().join("; then "))
    };
    if !stops {
        return (head, suspects);
    }
    let rest = format!(
        "{suspects} Teeth and corrections are held back until the figure is mended, or the check \
         `{}` is set aside with a reason.",
        way.id
    );
    (head, rest)
}

fn why(pair: &Pair<'_>, one: &Measured, check: &CrossCheck) -> Why {
    let (head, _) = words(pair.way, one, check, true);
    let input = |slot: &Slot| {
        let (known, part) = pair.inputs.known(*slot)?;
        Some(Input {
            name: pair.inputs.name(*slot),
            value: coordinates(&known.value).get(usize::from(part)).copied(),
            u: known.u,
            from: known.from.clone(),
            share: None,
        })
    };
    Why {
        words: format!("{head} That is {:.1} times its doubt.", one.times_u()),
        formula: "first way − second way; u² = Σ (half of what ± u of each input moves it)²",
        source: "JCGM 100:2008, 5.1.2, 5.1.3 note 2; docs/method.md, two ways to one quantity",
        inputs: one.seen.iter().filter_map(input).collect(),
    }
}

/// A figure as a person writes it: four digits at most.
fn amount(amount: Amount) -> String {
    let shown = amount.shown();
    let places = match shown.abs() {
        n if 100.0 <= n => 0,
        n if 10.0 <= n => 1,
        _ => 2,
    };
    let text = format!("{shown:.places$}");
    let text = if places == 0 {
        text
    } else {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    let unit = amount.kind().unit();
    let text = crate::say::minus(text);
    if amount.kind() == Kind::Angle { format!("{text}°") } else { format!("{text} {unit}") }
}

/// Takes out what rests on figures that disagree, and says that it waits.
fn hold_back(standing: &[&'static str], out: &mut Assessment) {
    if standing.is_empty() {
        return;
    }
    out.findings.retain(|finding| !HELD_BACK.contains(&finding.id));
    out.cautions.retain(|caution| !caution.id.starts_with("teeth."));
    let mut ids: Vec<&str> = standing.to_vec();
    ids.dedup();
    for id in ids {
        out.gaps.insert(
            0,
            Gap {
                id: format!("{}.{id}", CrossCheck::ID),
                of: None,
                measure: format!("which of two ways is right: the check `{id}`"),
                how: format!(
                    "Mend the figure that slipped; or, if both are right, write a [[set_aside]] \
                     with check = \"{id}\" and the reason."
                ),
                blocks: HELD_BACK.to_vec(),
                rows: Vec::new(),
            },
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Seventeen checks, each a two-sided normal: one car in two hundred comes to the level.
    ///
    /// # Source
    /// erfc by its continued fraction; the tail of the normal at 3.6 is 3.18e-4 (NIST tables).
    #[test]
    fn the_level_is_that_of_one_sound_car_in_two_hundred() {
        let tail = 3.18e-4_f64;
        let any = 1.0 - (1.0 - tail).powi(16);
        assert!((any - 0.005).abs() < 1e-3, "{any}");
        assert!((3.5..=3.7).contains(&STOP) && NOTE < STOP);
    }

    #[test]
    fn every_check_has_its_own_name() {
        let mut ids: Vec<&str> = all_ways().map(|way| way.id).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), WAYS.len() + limits::LIMITS.len());
    }
}

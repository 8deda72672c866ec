//! Rounds on the wheels: what they say of the car, and what each reading fits.

use axlewright_book::{Class, Correction, Field, MassKind, MassRow, MoveBy, MoveRow, RoundRow};
use axlewright_mechanics::car::learn::{self, Doubt, Lesson, Reading};
use axlewright_mechanics::car::{Figure, Knob};
use axlewright_mechanics::level::RimToe;
use axlewright_mechanics::linkage::Shift;
use axlewright_mechanics::splines::Move;
use axlewright_quantity::{Amount, Angle, Corner, Kind, Length, Side};

use super::bench::Bench;
use super::expected::{self, Survey};
use super::whole::{Case, Cause, Facts, Key, Sight, car_on_floor, shift};
use crate::inputs::{Need, Slot};
use crate::look::Look;
use crate::model;

/// How alike the heights of the two front springs are taken to be before anything was read: own
/// judgement, docs/method.md.
const FRONT_HEIGHT: Length = Length::mm(5.0);
/// An eccentric of which nobody says where it stands may be anywhere in its circle: e·sin α over
/// all α has this share of the throw as its standard deviation.
const ANYWHERE: f64 = std::f64::consts::FRAC_1_SQRT_2;
/// Share of a trim's uncertainty that is left when it was read from above and from below: common
/// practice, no source.
const SETTLED: f64 = 0.5;

/// What stands before a lesson.
#[derive(Debug, Default)]
pub(crate) struct Notes {
    /// Sentences on what was left out and why.
    pub(crate) left_out: Vec<String>,
    /// Rows of `[uncertainty]` without which a reading says nothing.
    pub(crate) missing: Vec<Field>,
    /// The last round says that the car had not settled.
    pub(crate) unsettled: bool,
}

/// What the rounds teach, and the car they are about.
#[derive(Debug)]
pub(crate) struct Taught {
    pub(crate) lesson: Lesson,
    pub(crate) case: Case,
    pub(crate) rounds: Vec<learn::Round>,
    pub(crate) notes: Notes,
}

/// Which eccentric moves what; `None` where that is not said or it is a plain bolt.
pub(crate) fn eccentric_knob(look: &Look, which: Correction, side: Side) -> Option<Knob> {
    use axlewright_book::{Shift as Moves, Value};
    let field = match which {
        Correction::FrontEccentric => Field::EccentricsFrontShifts,
        Correction::RearEccentric => Field::EccentricsRearShifts,
        _ => return None,
    };
    let Some(Value::Word(word)) = look.optional(field) else { return None };
    match Moves::from_word(word)? {
        Moves::BothAlongU => Some(Knob::ShiftU(side)),
        Moves::BothAlongW | Moves::FrontAlongW | Moves::RearAlongW => Some(Knob::ShiftW(side)),
        Moves::Nothing => None,
    }
}

/// Relative uncertainty of a bar's rate, all its measures taken together.
fn rate_share(facts: &Facts, side: Side) -> f64 {
    let inputs = facts.sides[side];
    let plain = Look::plain(inputs);
    let Some(bar) = model::bar(&plain) else { return 0.0 };
    let base = bar.rate();
    let mut variance = 0.0;
    for slot in plain.into_trace().seen.iter().copied() {
        let Some((_, Some(u), _)) = facts.known(Cause::Of(side, slot)) else { continue };
        let moved = model::bar(&Look::nudged(inputs, slot, u)).map(|bar| bar.rate());
        if let Some(moved) = moved {
            variance += (moved / base - 1.0).powi(2);
        }
    }
    variance.sqrt()
}

/// What is doubted of the car before anything was read, as knobs of the model.
///
/// The points of arm and damper, the tyre and what else has no knob of its own move the trim at a
/// given free angle: their part is put on the free angle, which moves the trim the same way.
pub(crate) fn doubts(bench: &Bench, survey: &Survey) -> Vec<Doubt> {
    let facts = bench.facts;
    let mut doubts = Vec::new();
    let mut add = |knob: Knob, u: f64| {
        if 0.0 < u && u.is_finite() {
            doubts.push(Doubt { knob, u: Amount::from_si(knob.kind(), u) });
        }
    };
    let geometry = geometry(bench, survey);
    for side in Side::BOTH {
        let own = facts.known(Cause::Extra(Key::Free(side))).and_then(|(_, u, _)| u);
        let own = own.map_or(0.0, Amount::to_si);
        add(Knob::FreeAngle(side), own.hypot(geometry[usize::from(side == Side::Right)]));
        add(Knob::BarShare(side), rate_share(facts, side));
        let of = |field| {
            let slot = Slot::Field(field, 0);
            facts.known(Cause::Of(side, slot)).and_then(|(_, u, _)| u).map_or(0.0, Amount::to_si)
        };
        let gas = facts.sides[side].fields.get(&Field::DamperFittedGas);
        if gas.is_some_and(
            |known| !matches!(&known.value, axlewright_book::Value::Amount(a) if a.to_si() == 0.0),
        ) {
            add(Knob::Gas(side), of(Field::DamperFittedGas));
        }
        add(Knob::FrontRate(side), of(Field::FrontWheelRate));
        add(Knob::FrontRaised(side), FRONT_HEIGHT.to_m());
        for which in [Correction::FrontEccentric, Correction::RearEccentric] {
            if let Some((knob, u)) = eccentric_doubt(facts, which, side) {
                add(knob, u);
            }
        }
    }
    for (knob, u) in centre(survey) {
        add(knob, u);
    }
    doubts
}

/// How sure it is where an eccentric stands, in metres of shift.
fn eccentric_doubt(facts: &Facts, which: Correction, side: Side) -> Option<(Knob, f64)> {
    let look = Look::plain(facts.sides[side]);
    if !model::has_arm(&look) {
        return None;
    }
    let knob = eccentric_knob(&look, which, side)?;
    let throw = look.get_optional::<Length>(Field::EccentricsThrow)?.to_m();
    let field = turned_field(which)?;
    let slot = Slot::Field(field, 0);
    let Some((turned, u, _)) = facts.known(Cause::Of(side, slot)) else {
        return Some((knob, throw * ANYWHERE));
    };
    let u = u.map_or(0.0, Amount::to_si);
    // At the middle in proportion; at the end of the throw the second order is what is left.
    let (slope, bend) = (turned.to_si().cos() * u, turned.to_si().sin() * u * u / 2.0);
    Some((knob, throw * slope.hypot(bend).min(ANYWHERE)))
}

pub(crate) const fn turned_field(which: Correction) -> Option<Field> {
    match which {
        Correction::FrontEccentric => Some(Field::EccentricsFrontTurned),
        Correction::RearEccentric => Some(Field::EccentricsRearTurned),
        _ => None,
    }
}

/// Per side: the trim's uncertainty at a given free angle by what has no knob, as a free angle.
fn geometry(bench: &Bench, survey: &Survey) -> [f64; 2] {
    let moves = survey.finished_moves();
    let slopes = bench.plain(|sight| {
        let (_, slopes) = car_on_floor(sight, &Case::default())?.rest_with_slopes().ok()?;
        let per = |side: Side| {
            let one = Angle::rad(1.0).into();
            slopes.change(Figure::Trim(side), Knob::FreeAngle(side), one).ok()
        };
        Some([per(Side::Left)?.to_si(), per(Side::Right)?.to_si()])
    });
    let places = [survey.leaf(["trim_read", "LR"]), survey.leaf(["trim_read", "RR"])];
    let (Some([left, right]), [Some(lr), Some(rr)]) = (slopes, places) else { return [0.0; 2] };
    [(lr, left), (rr, right)].map(|(place, slope)| {
        let own = moves.parts.iter().filter(|(cause, _)| {
            matches!(cause, Cause::Of(_, Slot::Field(field, _)) if is_geometry(*field))
        });
        let parts = own.filter_map(|(_, parts)| parts.get(place));
        let variance: f64 = parts.map(|part| (part / slope).powi(2)).sum();
        if variance.is_finite() { variance.sqrt() } else { 0.0 }
    })
}

/// Fields that are places and lengths of arm, plate, damper and tyre.
fn is_geometry(field: Field) -> bool {
    let here = ["arm", "plate", "damper", "damper.fitted", "tyre", "lever", "ride"];
    here.contains(&field.section()) && field != Field::DamperFittedGas
}

/// How sure the sprung mass and its centre are.
fn centre(survey: &Survey) -> [(Knob, f64); 3] {
    let moves = survey.carried_moves();
    let of = |number: usize| {
        let parts = moves.parts.iter().filter_map(|(_, parts)| parts.get(number));
        parts.map(|p| p * p).sum::<f64>().sqrt()
    };
    [(Knob::SprungMass, of(0)), (Knob::CentreX, of(1)), (Knob::CentreY, of(2))]
}

/// What the car held in a round, and a sentence where that is not what the file speaks of.
pub(crate) fn case_of(facts: &Facts, round: &RoundRow) -> (Case, Option<String>) {
    let same = |a: &str, b: &str| a.trim().eq_ignore_ascii_case(b.trim());
    let stage = round.stage.as_ref().map(|stage| stage.value.as_str());
    let stage = stage.filter(|stage| !same(stage, MassRow::FINISHED));
    let stage = stage
        .and_then(|stage| facts.stages().find(|(_, row)| same(&row.name.value, stage)))
        .map(|(i, _)| i);
    let load = round.load.as_ref().map_or("", |load| load.value.as_str()).to_lowercase();
    let rows = facts.car.masses.iter().enumerate();
    let loads = rows.filter(|(_, row)| row.kind == MassKind::Load);
    let loads: Vec<usize> = loads
        .filter(|(_, row)| load.contains(&row.name.value.trim().to_lowercase()))
        .map(|(i, _)| i)
        .collect();
    let said = facts.car.load_state.as_ref().map(|state| state.value.clone());
    let told = match &said {
        Some(state) if stage.is_none() && !load.contains(&state.trim().to_lowercase()) => {
            Some(format!(
                "A round was read with `{}` in the car, and its weights and trims are stated for \
                 `{state}`: they are compared as if nothing but {} differed.",
                round.load.as_ref().map_or("", |load| load.value.trim()),
                if loads.is_empty() { "the name" } else { "the loads named" },
            ))
        }
        _ => None,
    };
    (Case { stage, loads }, told)
}

/// A reading's own spread, else its row of `[uncertainty]`.
fn uncertainty(
    facts: &Facts,
    entry: &axlewright_book::Entry<Amount>,
    class: Class,
) -> Option<Amount> {
    entry.spread.map(|s| s.standard_uncertainty()).or_else(|| facts.car.class_uncertainty(class))
}

/// The toe as an angle: millimetres at the rim need the length they were read over.
pub(crate) fn toe_angle(facts: &Facts, amount: Amount) -> Option<Angle> {
    if amount.kind() == Kind::Angle {
        return Angle::try_from(amount).ok();
    }
    let difference = Length::try_from(amount).ok()?;
    let diameter = facts.car.length(Field::ToeOver, Side::Left)?;
    RimToe { difference, diameter }.angle().ok()
}

fn readings(facts: &Facts, round: &RoundRow, has_arm: bool, notes: &mut Notes) -> Vec<Reading> {
    let mut readings = Vec::new();
    let mut need = |class: Class| {
        let field = class.field();
        if !notes.missing.contains(&field) {
            notes.missing.push(field);
        }
    };
    for (corner, entry) in &round.weight {
        match uncertainty(facts, entry, Class::Scale) {
            Some(u) => {
                readings.push(Reading { figure: Figure::Weight(*corner), value: entry.value, u });
            }
            None => need(Class::Scale),
        }
    }
    for (corner, entry) in &round.trim {
        match uncertainty(facts, entry, Class::TrimReading) {
            Some(u) => {
                let own = entry.spread.is_some();
                let share = if round.settled == Some(true) && !own { SETTLED } else { 1.0 };
                let u = Amount::from_si(u.kind(), u.to_si() * share);
                readings.push(Reading {
                    figure: Figure::Trim(corner.side()),
                    value: entry.value,
                    u,
                });
            }
            None => need(Class::TrimReading),
        }
    }
    if has_arm {
        for (corner, entry) in round.camber.iter().filter(|(corner, _)| !corner.is_front()) {
            match uncertainty(facts, entry, Class::CamberReading) {
                Some(u) => {
                    let figure = Figure::Camber(corner.side());
                    readings.push(Reading { figure, value: entry.value, u });
                }
                None => need(Class::CamberReading),
            }
        }
        for (corner, entry) in round.toe.iter().filter(|(corner, _)| !corner.is_front()) {
            let u = uncertainty(facts, entry, Class::ToeReading);
            let (Some(value), Some(u)) = (toe_angle(facts, entry.value), u) else {
                need(Class::ToeReading);
                continue;
            };
            let u = toe_angle(facts, u).unwrap_or(Angle::ZERO);
            let figure = Figure::Toe(corner.side());
            readings.push(Reading { figure, value: value.into(), u: u.into() });
        }
    }
    readings
}

/// A correction that was made, as a knob and a step. `at` is where the eccentrics stood.
fn moved(sight: &Sight, row: &MoveRow, at: Shift) -> Option<(Knob, Amount)> {
    let side = row.corner.side();
    let look = sight.at(side);
    match (row.what, row.by) {
        (Correction::Anchor, MoveBy::Teeth(anchor_teeth)) => {
            let made = Move { anchor_teeth, plate_teeth: 0 };
            Some((Knob::FreeAngle(side), model::splines(look)?.change(made).into()))
        }
        (Correction::Plate, MoveBy::Teeth(plate_teeth)) => {
            let made = Move { anchor_teeth: 0, plate_teeth };
            Some((Knob::FreeAngle(side), model::splines(look)?.change(made).into()))
        }
        (Correction::FrontScrew, MoveBy::Turns(turns)) => {
            let per = look.get::<Length>(Field::FrontScrew)?;
            Some((Knob::FrontRaised(side), (per * turns.to_one()).into()))
        }
        (Correction::FrontScrew, MoveBy::Distance(length)) => {
            Some((Knob::FrontRaised(side), length.into()))
        }
        (which, by) => {
            let knob = eccentric_knob(look, which, side)?;
            let length = match by {
                MoveBy::Distance(length) => length,
                MoveBy::Turns(turns) => {
                    let throw = look.get::<Length>(Field::EccentricsThrow)?;
                    let stood = if matches!(knob, Knob::ShiftU(_)) { at.u } else { at.w };
                    let from = (stood / throw).clamp(-1.0, 1.0).asin();
                    throw * (from + turns.to_one() * std::f64::consts::TAU).sin() - stood
                }
                MoveBy::Teeth(_) => return None,
            };
            Some((knob, length.into()))
        }
    }
}

/// All rounds as the model reads them.
fn rounds(bench: &Bench, notes: &mut Notes) -> (Case, Vec<learn::Round>) {
    let facts = bench.facts;
    let sight = Sight::plain(facts);
    let has_arm = Side::BOTH.into_iter().all(|side| model::has_arm(sight.at(side)));
    let mut at = Side::BOTH.map(|side| shift(sight.at(side)).unwrap_or_default());
    let mut all = Vec::new();
    let mut moved_since = Vec::new();
    let mut case: Option<Case> = None;
    for (number, row) in (1..).zip(&facts.car.rounds) {
        let (own, told) = case_of(facts, row);
        notes.unsettled = row.settled == Some(false);
        notes.left_out.extend(told);
        let differs = case.as_ref().is_some_and(|case| *case != own);
        if differs {
            notes.left_out.push(format!(
                "Round {number} was read with something else in the car than the first: its \
                 readings are left out of what is learned."
            ));
        } else {
            case = Some(own);
            let readings = readings(facts, row, has_arm, notes);
            all.push(learn::Round { moved: std::mem::take(&mut moved_since), readings });
        }
        for one in &row.moved_after {
            let number = usize::from(one.corner.side() == Side::Right);
            let Some(stood) = at.get_mut(number) else { continue };
            match moved(&sight, one, *stood) {
                Some((knob, by)) => {
                    let by_length = Length::try_from(by).unwrap_or(Length::ZERO);
                    match knob {
                        Knob::ShiftU(_) => stood.u = stood.u + by_length,
                        Knob::ShiftW(_) => stood.w = stood.w + by_length,
                        _ => {}
                    }
                    moved_since.push((knob, by));
                }
                None => notes.left_out.push(format!(
                    "`{}` cannot be put into the model: what it moves is not in the car file.",
                    one.text
                )),
            }
        }
    }
    // What was moved after the last round is moved all the same, and nothing was read since.
    if !moved_since.is_empty() {
        all.push(learn::Round { moved: moved_since, readings: Vec::new() });
    }
    (case.unwrap_or_default(), all)
}

/// What the rounds teach, or nothing with the gaps noted under these ids.
pub(crate) fn teach(bench: &mut Bench, survey: &Survey, ids: &[&'static str]) -> Option<Taught> {
    let mut notes = Notes::default();
    let (case, rounds) = rounds(bench, &mut notes);
    let read: usize = rounds.iter().map(|round| round.readings.len()).sum();
    let sight = Sight::plain(bench.facts);
    let entered = car_on_floor(&sight, &case);
    if read == 0 && notes.missing.is_empty() {
        sight.missing::<()>(Need::Round);
    }
    for field in &notes.missing {
        sight.missing::<()>(Need::Field(*field));
    }
    let seen = sight.into_seen();
    for id in ids {
        bench.wait_for(id, &seen);
    }
    let entered = entered.filter(|_| 0 < read)?;
    let doubts = doubts(bench, survey);
    match learn::learn(&entered, &doubts, &rounds) {
        Ok(lesson) => Some(Taught { lesson, case, rounds, notes }),
        Err(error) => {
            bench.waiting.faults.insert(format!("on its wheels: {error}"));
            None
        }
    }
}

/// The corner a figure is read at, and what it is called in a finding.
pub(crate) const fn place(figure: Figure) -> Option<(Corner, &'static str)> {
    Some(match figure {
        Figure::Weight(corner) => (corner, "weight"),
        Figure::Trim(side) => (Corner::rear(side), "trim"),
        Figure::Camber(side) => (Corner::rear(side), "camber"),
        Figure::Toe(side) => (Corner::rear(side), "toe"),
        Figure::PlateAngle(side) => (Corner::rear(side), "plate angle"),
        _ => return None,
    })
}

/// The remaining settling, the mean of both sides.
pub(crate) fn settling(bench: &Bench) -> Option<Length> {
    bench.plain(|sight| {
        let [left, right] = Side::BOTH.map(|side| expected::settling(sight, side));
        Some((left? + right?) / 2.0)
    })
}

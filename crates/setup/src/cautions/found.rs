//! Which cautions follow from a car file.

use axlewright_book::{BarFinish, Field, Value};
use axlewright_quantity::{Angle, Corner};

use super::Caution;
use crate::droop::SELDOM;
use crate::finding::{Finding, State};
use crate::inputs::Inputs;
use crate::look::Look;
use crate::say::deg;
use crate::{Assessment, Item, Subject, bars, model, teeth};

/// A free angle this far from where it should be, that its opposite sign would bring near, was
/// read with the sign the wrong way round: own choice, far beyond any bar change.
const FAR: Angle = Angle::deg(20.0);
const NEAR: Angle = Angle::deg(12.0);

pub(crate) fn add(sides: [&Inputs; 2], out: &mut Assessment) {
    let mut cautions = Vec::new();
    for inputs in sides {
        let mut found: Vec<Caution> = Vec::new();
        found.extend(sign(inputs));
        found.extend(spoilt(inputs));
        for id in ["bar.shear-at-ride", "bar.shear-at-full-bump"] {
            found.extend(overstressed(inputs, out, id));
        }
        found.extend(tears(inputs, out));
        found.extend(too_coarse(inputs, out));
        found.extend(no_reading(inputs, out));
        cautions.extend(found.into_iter().map(|caution| caution.about(of(inputs))));
    }
    cautions.extend(pulling(out));
    cautions.extend(out.find("car.suspect-reading", None).map(|f| super::suspect(&f.why.words)));
    out.cautions.append(&mut cautions);
}

fn of(inputs: &Inputs) -> Subject {
    Subject::Corner(Corner::rear(inputs.side))
}

/// A bar that was plated, ground or stamped.
fn spoilt(inputs: &Inputs) -> Option<Caution> {
    let look = Look::plain(inputs);
    if let Some(warning) = bars::plated(&look) {
        return Some(super::plated(&warning.words(), &warning.advice()));
    }
    let ground = BarFinish::Ground.word();
    let is_ground = look.optional(Field::BarFinish) == Some(Value::Word(ground));
    is_ground.then(|| super::ground(inputs.side))
}

/// More stress than the bar may bear.
fn overstressed(inputs: &Inputs, out: &Assessment, id: &'static str) -> Option<Caution> {
    let found = out.find(id, Some(&of(inputs)))?;
    let leaf = found.value.get("share_of_allowable").and_then(Item::as_leaf)?;
    let (share, u) = (leaf.value.to_si(), leaf.u.map_or(0.0, |u| u.to_si()));
    if 1.0 < share {
        return Some(super::overstressed(inputs.side, &found.why.words));
    }
    // Twice its doubt: one bar in forty bears more than it may.
    let doubt = format!("{:.0} %", 100.0 * u);
    (1.0 < share + 2.0 * u).then(|| super::near_its_limit(inputs.side, &found.why.words, &doubt))
}

/// The nearest choice of teeth leaves the car outside the manual's tolerance.
fn too_coarse(inputs: &Inputs, out: &Assessment) -> Option<Caution> {
    let best = out.find("index.choices", Some(&of(inputs)))?.value.items().first()?;
    let outside = best.get("within_tolerance") == Some(&Item::Flag(false));
    let trim = best.get("trim").and_then(Item::amount)?.shown();
    outside.then(|| super::too_coarse(inputs.side, &format!("{trim:.0} mm")))
}

/// Stands that carry nothing, or may.
fn pulling(out: &Assessment) -> Vec<Caution> {
    let each = out.findings.iter().filter(|found| found.id == "stands").filter_map(|found| {
        let Some(of @ Subject::Stand(name)) = &found.of else { return None };
        let load = found.value.get("estimate").and_then(Item::as_leaf);
        let least = load.map(|leaf| leaf.value.to_si() - 2.0 * leaf.u.map_or(0.0, |u| u.to_si()));
        let told = match least {
            None => super::pulls(name),
            Some(least) if least < 0.0 => super::may_pull(name),
            Some(_) => return None,
        };
        Some(told.about(of.clone()))
    });
    each.collect()
}

/// What spans arm and body and ends before any stop does, on either choice of teeth.
fn tears(inputs: &Inputs, out: &Assessment) -> Vec<Caution> {
    let mut found: Vec<(super::Tears, State)> = Vec::new();
    for state in [State::Now, State::Target] {
        let of = |f: &&Finding| f.id == "droop" && f.of == Some(of(inputs)) && f.at == Some(state);
        let Some(droop) = out.findings.iter().find(of) else { continue };
        let rows = droop.value.get("limits").map(Item::items).unwrap_or_default();
        let angle = |row: &Item| Angle::try_from(row.get("angle")?.amount()?).ok();
        let stops = rows.iter().filter(|row| row.get("before_stop").is_none());
        let Some(stop) = stops.filter_map(angle).reduce(Angle::min) else { continue };
        for row in rows {
            let chance = row.get("before_stop").and_then(Item::amount).map_or(0.0, |a| a.to_si());
            let (Some(Item::Word(part)), Some(from)) = (row.get("by"), angle(row)) else {
                continue;
            };
            if SELDOM <= chance {
                let [from, to] = [from, stop].map(|angle| deg(angle, 1));
                let tears = super::Tears { part: part.clone(), from, to, surely: 0.5 <= chance };
                found.push((tears, state));
            }
        }
    }
    let both = |one: &super::Tears| found.iter().filter(|(other, _)| other == one).count() == 2;
    let told = found.iter().filter(|(one, state)| *state == State::Now || !both(one));
    told.map(|(one, state)| one.caution(inputs.side, (!both(one)).then_some(*state))).collect()
}

/// Teeth are told, and counted from no reading.
fn no_reading(inputs: &Inputs, out: &Assessment) -> Option<Caution> {
    let told = out.find("index.choices", Some(&of(inputs))).is_some();
    (told && !teeth::is_read(&Look::plain(inputs))).then(super::no_reading)
}

/// A reading whose sign looks like a slip.
fn sign(inputs: &Inputs) -> Option<Caution> {
    let look = Look::plain(inputs);
    let now = model::free_now(&look)?;
    let goal = model::free_goal(&look).or_else(|| model::manual_free(&look))?;
    let (as_read, turned) = ((now - goal).abs(), (-now - goal).abs());
    let is_slip = FAR < as_read && turned < NEAR;
    is_slip.then(|| super::sign_slip(inputs.side, &deg(now, 1), &deg(as_read, 0)))
}

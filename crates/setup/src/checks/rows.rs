//! Numbers that stand in rows of the car file and belong to no corner: stages, rounds, sills, and
//! the other side's figures where each side has its own.

use std::collections::BTreeSet;

use axlewright_book::{
    Arrow, CarFile, Class, Entry, Field, MassKind, Pick, ReadingWhat, SpecWhat, Value,
};
use axlewright_mechanics::joints::{Class as BoltClass, Thread};
use axlewright_quantity::{Amount, Angle, Corner, Force, Kind, Length, Mass, Side, Spread, Torque};

use crate::inputs::{Inputs, Known, Slot};
use crate::look::Look;

/// What a row's number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum What {
    /// Mass of a stage of the build, and how far forward its centre lies.
    StageMass,
    StageX,
    /// Mass of what is in the car for a while, and how far forward its centre lies.
    LoadMass,
    LoadX,
    /// Under a wheel, in the last round of the finished car.
    Weight(Corner),
    /// Trim and camber of a rear wheel in that round.
    Trim(Side),
    Camber(Side),
    /// A sill, arrow to the nose, and the gauge turned.
    Sill(Side),
    SillTurned(Side),
    /// A free angle of the manual for another bar, and that bar.
    OtherFree,
    OtherBar,
    /// The push of the damper the manual's free angle was written for.
    ManualGas,
    /// What the manual wants of the wheel.
    ManualCamber,
    ManualToe,
    /// A stand: its top and height, and where it stands.
    StandTop,
    StandHeight,
    StandX,
    StandY,
    StandRating,
    /// The two ends of a wrench's scale.
    WrenchFrom,
    WrenchTo,
    /// The right side's own figure.
    Right(Field),
    /// A listed torque, and what the bolt's size and class take, in thousandths of a newton metre.
    Torque(u32),
}

impl What {
    /// The side of a number that each side has, and the same of the other side.
    pub(super) fn twin(self) -> Option<(Side, Self)> {
        Some(match self {
            Self::Weight(corner) => {
                let of = if corner.is_front() { Corner::front } else { Corner::rear };
                (corner.side(), Self::Weight(of(corner.side().other())))
            }
            Self::Trim(side) => (side, Self::Trim(side.other())),
            Self::Camber(side) => (side, Self::Camber(side.other())),
            Self::Sill(side) => (side, Self::Sill(side.other())),
            Self::SillTurned(side) => (side, Self::SillTurned(side.other())),
            _ => return None,
        })
    }
}

/// A number of a row: what it is, and the name it has for a person.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Row {
    pub(crate) what: What,
    pub(crate) key: String,
}

/// What is doubted of a mass and its place where the row does not say: "good to 5 kg and 50 mm".
const MASS: Mass = Mass::kg(5.0);
const PLACE: Length = Length::mm(50.0);
/// What a printed angle is rounded to, as a standard uncertainty: half a degree wide.
pub(super) const PRINTED: Angle = Angle::deg(0.144);

/// Adds the rows to the left side's inputs.
pub(super) fn add(car: &CarFile, inputs: &mut Inputs) {
    stages(car, inputs);
    round(car, inputs);
    sills(car, inputs);
    manual(car, inputs);
    alignment(car, inputs);
    stands(car, inputs);
    torques(car, inputs);
    wrenches(car, inputs);
    for field in [Field::LoadCornerWeight, Field::FrontCornerWeight, Field::BarFittedDiameter] {
        let (left, right) = (car.get(field, Side::Left), car.get(field, Side::Right));
        let apart = left.map(|entry| entry.line) != right.map(|entry| entry.line);
        if let (true, Some(entry)) = (apart, right)
            && let Value::Amount(value) = entry.value
        {
            let u = car.uncertainty(field, Side::Right);
            let key = format!("right.{}", field.path());
            put(inputs, What::Right(field), key, (value, u), (entry.line, &entry.text));
        }
    }
}

fn put(
    inputs: &mut Inputs,
    what: What,
    key: String,
    (value, u): (Amount, Option<Amount>),
    (line, text): (u32, &str),
) {
    let Ok(at) = u16::try_from(inputs.rows.len()) else { return };
    let known = Known {
        value: Value::Amount(value),
        u,
        unsure: false,
        text: text.to_owned(),
        from: format!("car file, line {line}"),
    };
    inputs.rows.push(Row { what, key });
    inputs.numbers.insert(Slot::Row(at), known);
}

/// One more stage, that nobody has written.
pub(super) fn stage(inputs: &mut Inputs, mass: Mass, x: Length) {
    for (what, value) in [(What::StageMass, mass.into()), (What::StageX, x.into())] {
        put(inputs, what, "masses".to_owned(), (value, None), (0, ""));
    }
}

fn spread(entry: &Entry<Amount>, or: impl Into<Amount>) -> (Amount, Option<Amount>) {
    let u = entry.spread.map_or_else(|| or.into(), Spread::standard_uncertainty);
    (entry.value, Some(u))
}

fn stages(car: &CarFile, inputs: &mut Inputs) {
    for row in &car.masses {
        let (Some(mass), Some(at)) = (&row.mass, &row.at) else { continue };
        let (what, where_) = match row.kind {
            MassKind::Stage => (What::StageMass, What::StageX),
            MassKind::Load => (What::LoadMass, What::LoadX),
        };
        let name = row.name.value.trim();
        // A twentieth of what is light.
        let u = MASS.min(Mass::try_from(mass.value).unwrap_or(MASS) * 0.2);
        put(inputs, what, format!("masses.{name}.mass"), spread(mass, u), (row.line, &mass.text));
        let x = (at.value.x.into(), Some(PLACE.into()));
        put(inputs, where_, format!("masses.{name}.at X"), x, (row.line, &at.text));
    }
}

/// The last round of the finished car in the load the file's weights are stated in.
fn round(car: &CarFile, inputs: &mut Inputs) {
    let load = car.load_state.as_ref().map(|load| load.value.trim().to_lowercase());
    let finished = |stage: &Entry<String>| stage.value.trim().eq_ignore_ascii_case("finished");
    let of_load = |entry: &Entry<String>| Some(entry.value.trim().to_lowercase()) == load;
    let found = car.rounds.iter().enumerate().rfind(|(_, row)| {
        row.stage.as_ref().is_none_or(finished)
            && row.load.as_ref().is_some_and(of_load)
            && !row.weight.is_empty()
    });
    let Some((at, row)) = found else { return };
    let scale = car.class_uncertainty(Class::Scale).unwrap_or(Mass::kg(3.0).into());
    for (corner, entry) in &row.weight {
        let key = format!("round {}.weight.{}", at + 1, corner.code());
        put(inputs, What::Weight(*corner), key, spread(entry, scale), (row.line, &entry.text));
    }
    let (trim, camber) = (Length::mm(4.0).into(), Angle::deg(0.15).into());
    let trim = car.class_uncertainty(Class::TrimReading).unwrap_or(trim);
    let camber = car.class_uncertainty(Class::CamberReading).unwrap_or(camber);
    let trims = row.trim.iter().map(|one| ("trim", What::Trim as fn(Side) -> What, trim, one));
    let cambers =
        row.camber.iter().map(|one| ("camber", What::Camber as fn(Side) -> What, camber, one));
    for (name, what, u, (corner, entry)) in trims.chain(cambers) {
        if corner.is_front() {
            continue;
        }
        let key = format!("round {}.{name}.{}", at + 1, corner.code());
        put(inputs, what(corner.side()), key, spread(entry, u), (row.line, &entry.text));
    }
}

fn sills(car: &CarFile, inputs: &mut Inputs) {
    let level = car.class_uncertainty(Class::Level).unwrap_or(Angle::deg(0.1).into());
    for side in Side::BOTH {
        let is_sill = |r: &&axlewright_book::Reading| {
            r.what == ReadingWhat::SillLevel && r.side == Some(side)
        };
        let Some(sill) = car.readings.iter().rfind(is_sill) else { continue };
        let (Some(turned), Some(arrow)) = (&sill.turned, sill.arrow) else { continue };
        let key = format!("reading.sill-level.{side}");
        let keys = [key.clone(), format!("{key}.turned")];
        let [nose, tail] = match arrow {
            Arrow::Nose => [(&sill.value, &keys[0]), (turned, &keys[1])],
            Arrow::Tail => [(turned, &keys[1]), (&sill.value, &keys[0])],
        };
        let (nose, tail) = ((nose.0, nose.1.clone()), (tail.0, tail.1.clone()));
        put(inputs, What::Sill(side), nose.1, spread(nose.0, level), (sill.line, &nose.0.text));
        put(
            inputs,
            What::SillTurned(side),
            tail.1,
            spread(tail.0, level),
            (sill.line, &tail.0.text),
        );
    }
}

/// Another row of the manual for the same angle: other bars, no push of a damper in either.
fn manual(car: &CarFile, inputs: &mut Inputs) {
    let Pick::One(own) = car.pick(SpecWhat::FreeAngle) else { return };
    if let Some(gas) = &own.damper_gas {
        let key = "spec.free-angle.damper_gas".to_owned();
        put(inputs, What::ManualGas, key, (gas.value, None), (own.line, &gas.text));
    }
    let push = |spec: &axlewright_book::Spec| spec.damper_gas.as_ref().map(|gas| gas.value);
    let other = car.specs_of(SpecWhat::FreeAngle).find(|row| {
        row.line != own.line
            && push(row) == push(own)
            && row.seat == own.seat
            && row.bar_diameter.is_some()
    });
    let Some(row) = other else { return };
    let (Value::Amount(angle), Some(bar)) = (&row.value.value, &row.bar_diameter) else { return };
    let free = (*angle, Some(PRINTED.into()));
    let key = format!("spec.free-angle of line {}", row.line);
    put(inputs, What::OtherFree, key, free, (row.line, &row.value.text));
    let text = &bar.text;
    let bar = (bar.value, Some(Length::mm(0.03).into()));
    let key = format!("spec.free-angle.bar_diameter of line {}", row.line);
    put(inputs, What::OtherBar, key, bar, (row.line, text));
}

fn alignment(car: &CarFile, inputs: &mut Inputs) {
    for (what, of) in [(SpecWhat::Camber, What::ManualCamber), (SpecWhat::Toe, What::ManualToe)] {
        let Pick::One(spec) = car.pick(what) else { continue };
        let Value::Amount(value) = spec.value.value else { continue };
        // A minute or two of printing; what a car may differ by is the check's own.
        let u = Some(Angle::deg(0.02).into());
        let key = format!("spec.{}", what.word());
        put(inputs, of, key, (value, u), (spec.line, &spec.value.text));
    }
}

/// Both ends of each wrench's scale; a scale is right to what it is printed.
fn wrenches(car: &CarFile, inputs: &mut Inputs) {
    for wrench in &car.wrenches {
        let (Some(from), Some(to)) = (&wrench.from, &wrench.to) else { continue };
        let name = wrench.name.value.trim();
        for (what, key, entry) in [(What::WrenchFrom, "from", from), (What::WrenchTo, "to", to)] {
            let key = format!("wrench.{name}.{key}");
            put(inputs, what, key, (entry.value, None), (wrench.line, &entry.text));
        }
    }
}

/// Stands with all four of their figures.
fn stands(car: &CarFile, inputs: &mut Inputs) {
    let near = Some(Length::mm(3.0).into());
    for stand in &car.stands {
        let (Some(at), Some(top), Some(height)) = (&stand.at, &stand.top_z, &stand.height) else {
            continue;
        };
        let name = stand.name.as_ref().map_or("without a name", |name| name.value.as_str());
        let mut row = |what, key: &str, value: Amount, text: &str| {
            let key = format!("stand.{name}.{key}");
            put(inputs, what, key, (value, near), (stand.line, text));
        };
        row(What::StandTop, "top_z", top.value, &top.text);
        row(What::StandHeight, "height", height.value, &height.text);
        row(What::StandX, "at X", at.value.x.into(), &at.text);
        row(What::StandY, "at Y", at.value.y.into(), &at.text);
        if let Some(rating) = &stand.rating {
            let key = format!("stand.{name}.rating");
            let printed = (rating.value, None);
            put(inputs, What::StandRating, key, printed, (stand.line, &rating.text));
        }
    }
}

/// Torques of joints, and the manual's rows for them, where thread and class are known. What a bolt
/// takes: nut factor 0.2, 70 % of its proof load; common practice, no source.
fn torques(car: &CarFile, inputs: &mut Inputs) {
    let mut seen = BTreeSet::new();
    for joint in &car.joints {
        let text = |entry: &Option<Entry<String>>| entry.as_ref().map(|e| e.value.clone());
        let (Some(thread), Some(class)) = (text(&joint.thread), text(&joint.class)) else {
            continue;
        };
        let (Ok(thread), Ok(class)) = (Thread::parse(&thread), BoltClass::parse(&class)) else {
            continue;
        };
        let Ok(strength) = class.strength(&thread) else { continue };
        let takes = 0.2 * thread.diameter().to_si() * 0.7 * strength.proof_load(&thread).to_si();
        let takes = What::Torque((takes * 1000.0).clamp(1.0, 4e9) as u32);
        let id = joint.id.text.as_str();
        if let Some(torque) = joint.torque.as_ref().filter(|torque| seen.insert(torque.line)) {
            let key = format!("joint.{id}.torque");
            put(inputs, takes, key, (torque.value, None), (torque.line, &torque.text));
        }
        let called = joint.called();
        for row in car.specs_of(SpecWhat::Torque) {
            let of = row.joint.as_deref().is_some_and(|own| own == id || own == called);
            if let (true, Value::Amount(value)) = (of && seen.insert(row.line), &row.value.value) {
                let name = row.joint.as_deref().unwrap_or_default();
                let key = format!("spec.torque.{name}");
                put(inputs, takes, key, (*value, None), (row.line, &row.value.text));
            }
        }
    }
}

/// Listed torques, in newton metres.
pub(super) fn torques_listed(look: &Look) -> Vec<f64> {
    let rows = look.inputs.rows.iter().enumerate();
    let of = rows.filter(|(_, row)| matches!(row.what, What::Torque(_)));
    of.filter_map(|(at, _)| number(look, Slot::Row(u16::try_from(at).ok()?), Kind::Torque))
        .collect()
}

/// Listed torques, each as a share of what its bolt takes.
pub(super) fn torque_shares(look: &Look) -> Vec<f64> {
    let rows = look.inputs.rows.iter().enumerate();
    rows.filter_map(|(at, row)| {
        let What::Torque(takes) = row.what else { return None };
        let torque = look.number_optional::<Torque>(Slot::Row(u16::try_from(at).ok()?))?;
        Some(torque.to_si() * 1000.0 / f64::from(takes))
    })
    .collect()
}

/// The numbers of one kind, in order.
pub(super) fn all(look: &Look, what: What) -> Vec<f64> {
    let rows = look.inputs.rows.iter().enumerate().filter(|(_, row)| row.what == what);
    rows.filter_map(|(at, _)| {
        let slot = Slot::Row(u16::try_from(at).ok()?);
        let known = look.inputs.numbers.get(&slot)?;
        let Value::Amount(amount) = known.value else { return None };
        number(look, slot, amount.kind())
    })
    .collect()
}

/// The one number of a kind.
pub(super) fn one(look: &Look, what: What) -> Option<f64> {
    all(look, what).first().copied()
}

fn number(look: &Look, slot: Slot, kind: Kind) -> Option<f64> {
    Some(match kind {
        Kind::Mass => look.number_optional::<Mass>(slot)?.to_kg(),
        Kind::Length => look.number_optional::<Length>(slot)?.to_si(),
        Kind::Angle => look.number_optional::<Angle>(slot)?.to_rad(),
        Kind::Torque => look.number_optional::<Torque>(slot)?.to_si(),
        Kind::Force => look.number_optional::<Force>(slot)?.to_si(),
        _ => return None,
    })
}

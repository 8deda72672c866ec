//! What is known of the whole car, as numbers that can be looked up and nudged, and the car that
//! `mechanics` computes with.
//!
//! Each rear corner is looked up as it is everywhere else; what belongs to the whole car stands
//! beside them: masses, free angles as the teeth are thought to stand. A number that carries an
//! uncertainty is moved by it, up and down, and the car is put on its wheels again each time.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use axlewright_book::{CarFile, Class, Field, MassKind, MassRow};
use axlewright_mechanics::car::stages::{self, Item as Part};
use axlewright_mechanics::car::{
    Car, CarError, FrontCorner, Pair, RearCorner, Sprung, Tyre, Wheel, Wheels,
};
use axlewright_mechanics::linkage::Shift;
use axlewright_quantity::{Amount, Angle, Corner, Length, Mass, Place, Side};

use crate::inputs::{Inputs, Known, Need, Slot, coordinates, fits};
use crate::look::{Look, Trace};
use crate::model;

/// A number of the whole car that is no field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Key {
    /// Free angle as the teeth are thought to stand, + tail down.
    Free(Side),
    /// A mass row: how heavy.
    Mass(usize),
    /// Its centre, forward.
    MassX(usize),
    /// Its centre, to the left.
    MassY(usize),
    /// Its centre, up.
    MassZ(usize),
}

/// Anything that may be other than it is thought to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Cause {
    /// A number of one rear or front corner.
    Of(Side, Slot),
    /// A number of the whole car.
    Extra(Key),
}

/// What is known of the whole car.
#[derive(Debug)]
pub(crate) struct Facts<'a> {
    pub(crate) car: &'a CarFile,
    pub(crate) sides: Pair<&'a Inputs>,
    pub(crate) extras: BTreeMap<Key, Known>,
}

/// A rear corner before its teeth are known, and where its tyre meets the floor at the design.
#[derive(Debug, Clone)]
pub(crate) struct Rear {
    contact: Place,
    corner: axlewright_mechanics::load::Corner,
    unsprung: Mass,
    tyre: Tyre,
}

/// Which car is meant: how far it is built, what is in it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Case {
    /// Number of the last stage that is on, among the mass rows; `None` is the finished car.
    pub(crate) stage: Option<usize>,
    /// Numbers of the loads in it, among the mass rows.
    pub(crate) loads: Vec<usize>,
}

fn row_name(row: &MassRow) -> &str {
    row.name.value.trim()
}

impl<'a> Facts<'a> {
    /// Masses from the car file; free angles are put in by whoever knows them.
    pub(crate) fn new(car: &'a CarFile, sides: Pair<&'a Inputs>) -> Self {
        let mut extras = BTreeMap::new();
        let class = car.class_uncertainty(Class::CornerWeight);
        for (i, row) in car.masses.iter().enumerate() {
            let from = format!("car file, line {}", row.line);
            let mut put = |key, value: Amount, u: Option<Amount>| {
                extras.insert(key, Known::number(value, u, &from));
            };
            if let Some(mass) = &row.mass {
                let u = mass.spread.map(|s| s.standard_uncertainty()).or(class);
                put(Key::Mass(i), mass.value, u);
            }
            if let Some(at) = &row.at {
                let u = at.spread.map(|s| s.standard_uncertainty());
                put(Key::MassX(i), at.value.x.into(), u);
                put(Key::MassY(i), at.value.y.into(), u);
            }
            if let Some(z) = &row.z {
                let u = z.spread.map(|s| s.standard_uncertainty());
                put(Key::MassZ(i), z.value, u);
            }
        }
        Self { car, sides, extras }
    }

    /// What a number is, in words.
    pub(crate) fn name(&self, cause: Cause) -> String {
        let row = |i: usize| self.car.masses.get(i).map_or("mass", row_name);
        match cause {
            Cause::Of(side, slot) => self.sides[side].name(slot),
            Cause::Extra(Key::Free(side)) => format!("free angle, {side}"),
            Cause::Extra(Key::Mass(i)) => format!("{}: mass", row(i)),
            Cause::Extra(Key::MassX(i)) => format!("{}: centre, forward", row(i)),
            Cause::Extra(Key::MassY(i)) => format!("{}: centre, to the left", row(i)),
            Cause::Extra(Key::MassZ(i)) => format!("{}: centre, up", row(i)),
        }
    }

    /// Value, uncertainty and origin of a number.
    pub(crate) fn known(&self, cause: Cause) -> Option<(Amount, Option<Amount>, &Known)> {
        let (known, part) = match cause {
            Cause::Of(side, slot) => self.sides[side].known(slot)?,
            Cause::Extra(key) => (self.extras.get(&key)?, 0),
        };
        let value = *coordinates(&known.value).get(usize::from(part))?;
        let u = known.u.filter(|u| fits(*u, value) && 0.0 < u.to_si());
        Some((value, u, known))
    }

    /// The stages by their names, in the order of the file.
    pub(crate) fn stages(&self) -> impl Iterator<Item = (usize, &MassRow)> {
        self.car.masses.iter().enumerate().filter(|(_, row)| row.kind == MassKind::Stage)
    }

    /// In words: `"finished"` or the stage, and what is in it.
    pub(crate) fn words(&self, case: &Case) -> (String, String) {
        let name = |i: &usize| self.car.masses.get(*i).map_or("", row_name).to_owned();
        let stage = case.stage.as_ref().map_or(MassRow::FINISHED.to_owned(), name);
        let mut load: Vec<String> = case.loads.iter().map(name).collect();
        if case.stage.is_none()
            && let Some(state) = &self.car.load_state
        {
            load.insert(0, state.value.clone());
        }
        (stage, load.join(", "))
    }
}

/// The facts with at most one number moved, noting what is asked for.
#[derive(Debug)]
pub(crate) struct Sight<'a> {
    pub(crate) facts: &'a Facts<'a>,
    looks: Pair<Look<'a>>,
    nudge: Option<(Key, Amount)>,
    seen: RefCell<BTreeSet<Key>>,
}

/// All a sight has come upon.
#[derive(Debug, Default)]
pub(crate) struct Seen {
    pub(crate) extras: BTreeSet<Key>,
    pub(crate) sides: Pair<Trace>,
}

impl<'a> Sight<'a> {
    /// The facts as they are.
    pub(crate) fn plain(facts: &'a Facts<'a>) -> Self {
        let looks = Pair::of(|side| Look::plain(facts.sides[side]));
        Self { facts, looks, nudge: None, seen: RefCell::default() }
    }

    /// The facts with one number moved; what is asked of the sides is not noted.
    pub(crate) fn nudged(facts: &'a Facts<'a>, cause: Cause, by: Amount) -> Self {
        let looks = Pair::of(|side| match cause {
            Cause::Of(of, slot) if of == side => Look::nudged(facts.sides[side], slot, by),
            _ => Look::quiet(facts.sides[side]),
        });
        let nudge = match cause {
            Cause::Extra(key) => Some((key, by)),
            Cause::Of(..) => None,
        };
        Self { facts, looks, nudge, seen: RefCell::default() }
    }

    /// One side's numbers.
    pub(crate) fn at(&self, side: Side) -> &Look<'a> {
        &self.looks[side]
    }

    /// A number of the whole car, if it is known.
    pub(crate) fn extra<Q: TryFrom<Amount>>(&self, key: Key) -> Option<Q> {
        let known = self.facts.extras.get(&key)?;
        self.seen.borrow_mut().insert(key);
        let value = *coordinates(&known.value).first()?;
        let moved = match self.nudge {
            Some((at, by)) if at == key => {
                Amount::from_si(value.kind(), value.to_si() + by.to_si())
            }
            _ => value,
        };
        Q::try_from(moved).ok()
    }

    /// Notes what the numbers contradict.
    pub(crate) fn ok<T>(&self, result: Result<T, CarError>) -> Option<T> {
        self.looks.left.ok(result.map_err(|error| format!("on its wheels: {error}")))
    }

    /// Notes that something of the whole car is not known.
    pub(crate) fn missing<T>(&self, need: Need) -> Option<T> {
        for side in Side::BOTH {
            self.at(side).missing::<T>(need);
        }
        None
    }

    /// What it has come upon.
    pub(crate) fn into_seen(self) -> Seen {
        Seen { extras: self.seen.into_inner(), sides: self.looks.map(Look::into_trace) }
    }
}

/// The rear corner of a side, asking for all it needs before it gives up.
fn rear(look: &Look) -> Option<Rear> {
    look.part(|memo| &memo.rear, rear_anew)
}

fn rear_anew(look: &Look) -> Option<Rear> {
    if !model::has_arm(look) && !look.has(Field::LeverHalfTrack) {
        look.missing::<()>(Need::Field(Field::LeverHalfTrack));
    }
    let (corner, ride) = (model::corner(look), model::ride_angle(look));
    let unsprung = look.get::<Mass>(Field::LoadUnsprung);
    let weight = look.get::<Mass>(Field::LoadCornerWeight);
    let rate = look.get_optional(Field::TyreRate);
    let shift = shift(look);
    let mut corner = corner?;
    let contact = look.ok(corner.linkage.stance(Shift::default().at(ride?)))?.contact;
    corner.shift = shift.unwrap_or_default();
    Some(Rear { contact, corner, unsprung: unsprung?, tyre: Tyre { rate, weight: weight? } })
}

/// Where the eccentrics stand, if that and their throw are known.
pub(crate) fn shift(look: &Look) -> Option<Shift> {
    let throw = look.get_optional::<Length>(Field::EccentricsThrow)?;
    let of = |field| {
        let turned = look.get_optional::<Angle>(field)?;
        Some(throw * turned.to_rad().sin())
    };
    Some(Shift { u: of(Field::EccentricsFrontTurned)?, w: of(Field::EccentricsRearTurned)? })
}

fn front(sight: &Sight, side: Side, ground: Length) -> Option<FrontCorner> {
    let look = sight.at(side);
    let x = look.get::<Length>(Field::FrontContactX);
    let y = look.get::<Length>(Field::FrontHalfTrack);
    let rate = look.get(Field::FrontWheelRate);
    let weight = look.get::<Mass>(Field::FrontCornerWeight);
    let unsprung = look.get::<Mass>(Field::FrontUnsprung);
    let contact = Place { x: x?, y: y?, z: ground };
    Some(FrontCorner {
        contact: side.to_left(contact),
        rate: rate?,
        weight: weight?,
        unsprung: unsprung?,
        tyre_rate: look.get_optional(Field::FrontTyreRate),
        raised: Length::ZERO,
    })
}

/// What the springs carry when the corner weights are those of the file: each spring's load at its
/// contact.
fn sprung_by_weights(sight: &Sight, contacts: Pair<Place>) -> Option<Vec<Part>> {
    let mut parts = Vec::new();
    for side in Side::BOTH {
        let look = sight.at(side);
        let front_weight = look.get::<Mass>(Field::FrontCornerWeight);
        let front_unsprung = look.get::<Mass>(Field::FrontUnsprung);
        let x = look.get::<Length>(Field::FrontContactX);
        let y = look.get::<Length>(Field::FrontHalfTrack);
        let rear_weight = look.get::<Mass>(Field::LoadCornerWeight);
        let rear_unsprung = look.get::<Mass>(Field::LoadUnsprung);
        let z = Length::ZERO;
        let at = Place { x: x?, y: y?, z };
        let mass = front_weight? - front_unsprung?;
        parts.push(Part { mass, at: side.to_left(at) });
        let at = Place { z, ..contacts[side] };
        parts.push(Part { mass: rear_weight? - rear_unsprung?, at: side.to_left(at) });
    }
    Some(parts)
}

/// One mass row.
fn part(sight: &Sight, i: usize) -> Option<Part> {
    let mass = sight.extra::<Mass>(Key::Mass(i));
    let x = sight.extra::<Length>(Key::MassX(i));
    let y = sight.extra::<Length>(Key::MassY(i));
    let z = sight.extra::<Length>(Key::MassZ(i)).unwrap_or(Length::ZERO);
    let (Some(mass), Some(x), Some(y)) = (mass, x, y) else {
        return sight.missing(Need::Masses);
    };
    Some(Part { mass, at: Place { x, y, z } })
}

/// The height of the centre of mass over the bar axis, where every stage says its own.
fn height(sight: &Sight) -> Option<Length> {
    let (mut sum, mut mass) = (0.0, 0.0);
    for (i, _) in sight.facts.stages() {
        let one = sight.extra::<Mass>(Key::Mass(i))?.to_kg();
        sum += one * sight.extra::<Length>(Key::MassZ(i))?.to_mm();
        mass += one;
    }
    (0.0 < mass).then(|| Length::mm(sum / mass))
}

fn sprung(sight: &Sight, case: &Case, contacts: Pair<Place>) -> Option<Sprung> {
    let mut parts = match case.stage {
        None => {
            let mut parts = sprung_by_weights(sight, contacts)?;
            let z = height(sight).unwrap_or(Length::ZERO);
            parts.iter_mut().for_each(|part| part.at.z = z);
            parts
        }
        Some(last) => {
            let on = sight.facts.stages().filter(|(i, _)| *i <= last);
            on.map(|(i, _)| part(sight, i)).collect::<Option<Vec<Part>>>()?
        }
    };
    for load in &case.loads {
        parts.push(part(sight, *load)?);
    }
    sight.ok(stages::sprung(&parts))
}

/// Height of the floor under each wheel, where it was measured.
fn floor(sight: &Sight) -> Wheels<Length> {
    Wheels::of(|wheel: Wheel| {
        let field = match wheel {
            Corner::LeftFront => Field::FloorLeftFront,
            Corner::RightFront => Field::FloorRightFront,
            Corner::LeftRear => Field::FloorLeftRear,
            Corner::RightRear => Field::FloorRightRear,
        };
        sight.at(Side::Left).get_optional(field).unwrap_or(Length::ZERO)
    })
}

/// All of a car but what it carries.
pub(crate) struct Chassis {
    car: Car,
    contacts: Pair<Place>,
}

/// The car on the floor as measured, nothing on its springs; asks for all it needs before it gives
/// up.
pub(crate) fn chassis(sight: &Sight) -> Option<Chassis> {
    let rears = Pair::of(|side| rear(sight.at(side)));
    let frees = Pair::of(|side| match sight.extra::<Angle>(Key::Free(side)) {
        Some(free) => Some(free),
        None => sight.at(side).missing(Need::PlateReading),
    });
    let z = |rear: &Option<Rear>| rear.as_ref().map_or(Length::ZERO, |rear| rear.contact.z);
    let ground = (z(&rears.left) + z(&rears.right)) / 2.0;
    let fronts = Pair::of(|side| front(sight, side, ground));
    let coupling = |field| sight.at(Side::Left).get(field);
    let (front_bar, rear_bar) = (coupling(Field::AntiRollFront), coupling(Field::AntiRollRear));
    let (left, right) = (rears.left?, rears.right?);
    let contacts = Pair { left: left.contact, right: right.contact };
    let of = |rear: Rear, free: Angle| RearCorner {
        corner: rear.corner,
        free,
        unsprung: rear.unsprung,
        tyre: rear.tyre,
    };
    let car = Car {
        sprung: Sprung { mass: Mass::ZERO, centre: Place::default() },
        front: Pair { left: fronts.left?, right: fronts.right? },
        rear: Pair { left: of(left, frees.left?), right: of(right, frees.right?) },
        front_coupling: Some(front_bar?),
        rear_coupling: Some(rear_bar?),
        floor: floor(sight),
    };
    Some(Chassis { car, contacts })
}

impl Chassis {
    /// The same with what a case puts on it.
    pub(crate) fn carrying(&self, sight: &Sight, case: &Case) -> Option<Car> {
        let sprung = sprung(sight, case, self.contacts)?;
        Some(Car { sprung, ..self.car.clone() })
    }
}

/// The car of a case on the floor as measured; asks for all it needs before it gives up.
pub(crate) fn car_on_floor(sight: &Sight, case: &Case) -> Option<Car> {
    let Some(chassis) = chassis(sight) else {
        // What the springs carry is asked for all the same, for the gaps.
        let _ = sprung(sight, case, Pair::default());
        return None;
    };
    chassis.carrying(sight, case)
}

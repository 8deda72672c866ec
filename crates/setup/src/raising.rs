//! Raising the arm to the stop bolt, the ride stick, and the travel table.

use axlewright_book::Field;
use axlewright_mechanics::load::Hanging;
use axlewright_mechanics::raise::{Lift, Raise};
use axlewright_mechanics::travel::{Run, TravelRow};
use axlewright_quantity::{Angle, Force, Length, Mass};

use crate::angles::{free_at, teeth_words};
use crate::engine::{Bench, Recipe};
use crate::finding::{Item, State};
use crate::look::Look;
use crate::say::{deg, kg, mm, newtons};
use crate::stands::{StandSet, body, jack};
use crate::{droop, model, windows};

const DERIVED: &str = "virtual work; own derivation, docs/method.md";
/// What every stand is to keep while an arm is raised: own choice, about 20 kg of weight.
const KEEP: Force = Force::n(200.0);
/// More than this over one stand is no ballast any more: own choice, ten sandbags.
const BALLAST_MOST: Mass = Mass::kg(100.0);
/// Rows of the travel table are this far apart.
const ROW: Length = Length::mm(10.0);

pub(crate) fn add(bench: &mut Bench, stands: Option<&StandSet>) {
    for state in [State::Target, State::Now] {
        raise(bench, stands, state);
        droop::add(bench, state);
    }
    ride_stick(bench);
    travel(bench);
}

/// From hang, arm on, to where the stop bolt goes in.
fn to_stop_bolt(look: &Look, state: State) -> Option<(Raise, axlewright_quantity::Place)> {
    let clear = windows::stop_bolt_clear(look);
    raised_to(look, state, clear)
}

/// From hang, arm on, to a plate angle.
fn raised_to(
    look: &Look,
    state: State,
    to: Option<Angle>,
) -> Option<(Raise, axlewright_quantity::Place)> {
    let (corner, weights) = (model::corner_without_gas(look), model::arm_weights(look));
    let free = free_at(look, state);
    let jack_point = look.place(Field::ArmJackPoint);
    let (corner, weights, jack_point) = (corner?, weights?, jack_point?);
    let on = Hanging { weights: &weights, damper: false };
    let to = to?;
    let raise = look.ok(Lift { free: free?, on, jack_point }.to(&corner, to))?;
    let stance = look.ok(corner.linkage.stance(model::at(to)))?;
    Some((raise, stance.carry(jack_point)))
}

/// What holds the arm at one plate angle: the jack's force, the lift, the energy in the bar.
pub(crate) fn at(bench: &mut Bench, angle: Angle) {
    for state in [State::Now, State::Target] {
        let formula = "F_j·(−dz_j/dθ) = k(θ₀ − θ) + Σ m·g·(−dz/dθ), E = ½k(θ₀ − θ)²";
        bench.add(
            Recipe { id: "at.hold", at: Some(state), formula, source: DERIVED },
            |look| {
                let (raise, _) = raised_to(look, state, Some(angle))?;
                Some(Item::Object(vec![
                    ("force", Item::leaf(raise.force)),
                    ("lift", Item::leaf(raise.lift)),
                    ("energy", Item::leaf(raise.energy)),
                ]))
            },
            |_, _| {
                format!(
                    "To hold the arm at {} on its jack point, no damper on it, {}.",
                    deg(angle, 1),
                    teeth_words(state)
                )
            },
        );
    }
}

fn raise(bench: &mut Bench, stands: Option<&StandSet>, state: State) {
    let recipe = Recipe {
        id: "raise.stop-bolt",
        at: Some(state),
        formula: "F_j·(−dz_j/dθ) = k(θ₀ − θ) + Σ m·g·(−dz/dθ), E = ½k(θ₀ − θ)²; stands on equal \
                  springs",
        source: DERIVED,
    };
    let bag = bench.plain(|look| look.get_optional::<Mass>(Field::ShellBag));
    bench.add_judged(
        recipe,
        |look| {
            let (raise, at) = to_stop_bolt(look, state)?;
            let mut parts = vec![
                ("angle", Item::leaf(raise.to)),
                ("from_angle", Item::leaf(raise.from)),
                ("clear_by", Item::leaf(raise.to - raise.from)),
                ("lift", Item::leaf(raise.lift)),
                ("force", Item::leaf(raise.force)),
                ("energy", Item::leaf(raise.energy)),
            ];
            let on_stands =
                stands.and_then(|set| look.attempt(|look| stands_part(look, set, at, raise.force)));
            parts.extend(on_stands.unwrap_or_else(|| {
                let names =
                    ["stand", "stand_before", "stand_after", "after", "lifts_car", "ballast"];
                names.map(|name| (name, Item::Nothing)).to_vec()
            }));
            Some(Item::Object(parts))
        },
        |item| advise(item, bag, state, stands),
        |item, _| raise_words(item, state),
    );
}

/// What the jack does to the stands, and the ballast that keeps them loaded.
fn stands_part(
    look: &Look,
    set: &StandSet,
    jack_at: axlewright_quantity::Place,
    force: Force,
) -> Option<Vec<(&'static str, Item)>> {
    let load = body(look)?;
    // A place of the left half: on the right the jack stands mirrored, and so do the stands.
    let jack_at = look.inputs.side.to_left(jack_at);
    let push = jack(jack_at, force);
    let before = look.ok(set.stands.estimates(&load, &[]))?;
    let after = look.ok(set.stands.estimates(&load, &[push]))?;
    let nearest = set.stands.nearest(jack_at.into());
    let rear = rear_stands(set);
    let ballast = look.ok(set.stands.ballast_on(&after, &rear, KEEP))?;
    let each = set.names.iter().zip(&after).map(|(name, load)| {
        Item::Object(vec![("stand", Item::Word(name.clone())), ("load", Item::leaf(*load))])
    });
    Some(vec![
        ("stand", Item::Word(set.names.get(nearest)?.clone())),
        ("stand_before", Item::leaf(*before.get(nearest)?)),
        ("stand_after", Item::leaf(*after.get(nearest)?)),
        ("after", Item::List(each.collect())),
        ("lifts_car", Item::Flag(after.iter().any(|load| *load <= Force::ZERO))),
        ("ballast", Item::maybe(ballast.map(|range| range.least))),
    ])
}

/// The stands behind the middle of all: where the bags go.
fn rear_stands(set: &StandSet) -> Vec<usize> {
    let stands = set.stands.all();
    let middle = stands.iter().map(|s| s.at.x.to_mm()).sum::<f64>() / stands.len() as f64;
    let each = stands.iter().enumerate();
    each.filter(|(_, stand)| stand.at.x.to_mm() < middle).map(|(at, _)| at).collect()
}

/// The ballast that keeps every stand loaded at what it carries less twice the doubt of that, in
/// whole kilograms, rounded up.
enum Margin {
    /// What the stands carry is not known.
    NoStands,
    /// What they carry is known, but not how surely.
    NoDoubt,
    /// No ballast over the rear stands does.
    None,
    /// This much over each of them.
    Over(Mass),
}

fn margin(item: &Item, stands: Option<&StandSet>) -> Margin {
    let Some((set, after)) = stands.zip(item.get("after").filter(|a| **a != Item::Nothing)) else {
        return Margin::NoStands;
    };
    let least = after.items().iter().map(|row| {
        let leaf = row.get("load")?.as_leaf()?;
        Some(Force::from_si(leaf.value.to_si() - 2.0 * leaf.u?.to_si()))
    });
    let Some(least) = least.collect::<Option<Vec<Force>>>() else { return Margin::NoDoubt };
    let found = set.stands.ballast_on(&least, &rear_stands(set), KEEP);
    let Ok(Some(range)) = found else { return Margin::None };
    // What rounding of the last digit makes of a whole number is not one kilogram more.
    let whole = Mass::kg((range.least.to_kg() - 1e-9).ceil().max(0.0));
    match range.most {
        Some(most) if most < whole => Margin::None,
        _ => Margin::Over(whole),
    }
}

/// Whether the arm hangs clear of the stop bolt as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Clear {
    Yes,
    /// Nearer than twice the doubt; whether the figures themselves say that it has to be raised.
    Perhaps {
        raised: bool,
    },
    No,
}

/// Decided by the angle alone: a force has its own reasons to be small.
fn clear(item: &Item) -> Clear {
    let Some(by) = item.get("clear_by").and_then(Item::as_leaf) else { return Clear::No };
    let doubt = 2.0 * by.u.map_or(windows::UNSURE.to_rad(), |u| u.to_si());
    match by.value.to_si() {
        by if doubt <= by => Clear::Yes,
        by if -doubt < by => Clear::Perhaps { raised: by < 0.0 },
        _ => Clear::No,
    }
}

/// No figures of raising where nothing is raised, and no load on a stand that would have to pull.
fn strip(item: &mut Item, clear: Clear) {
    const RAISING: [&str; 3] = ["lift", "force", "energy"];
    const STANDS: [&str; 6] =
        ["stand", "stand_before", "stand_after", "after", "lifts_car", "ballast"];
    let Item::Object(parts) = item else { return };
    let raised = matches!(clear, Clear::No | Clear::Perhaps { raised: true });
    for (name, part) in parts {
        let pulls =
            name.starts_with("stand_") && part.amount().is_some_and(|load| load.to_si() < 0.0);
        let nothing_raised = !raised && (RAISING.contains(name) || STANDS.contains(name));
        if pulls || nothing_raised {
            *part = Item::Nothing;
        }
    }
}

/// What to do about the stands before the jack goes up, the ballast in whole bags where their mass
/// is known.
///
/// # Source
/// Coverage of two standard uncertainties: JCGM 100:2008, 6.3.3.
fn advise(item: &mut Item, bag: Option<Mass>, state: State, stands: Option<&StandSet>) {
    let margin = margin(item, stands);
    let needed = match margin {
        Margin::Over(mass) => Some(mass),
        _ => None,
    };
    let bags = needed.zip(bag).map(|(need, bag)| (need / bag).ceil() as i64);
    let clear = clear(item);
    let advice = match clear {
        Clear::Yes => String::new(),
        Clear::Perhaps { .. } => format!(
            "It may hang clear of the stop bolt already: offer the bolt up first. If it does not \
             go in: {}",
            advice(&margin, bags, state)
        ),
        Clear::No => advice(&margin, bags, state),
    };
    strip(item, clear);
    let (needed, bags) = if clear == Clear::Yes { (None, None) } else { (needed, bags) };
    let Item::Object(parts) = item else { return };
    // Half-differences through "none needed" fade to nothing just where it matters.
    for (name, part) in parts.iter_mut() {
        if let ("ballast", Item::Leaf(leaf)) = (*name, part) {
            leaf.u = None;
        }
    }
    parts.push(("ballast_with_margin", Item::maybe(needed)));
    parts.push(("bags", bags.map_or(Item::Nothing, |bags| Item::Count(bags, "bags"))));
    parts.push(("advice", Item::Word(advice)));
}

fn advice(margin: &Margin, bags: Option<i64>, state: State) -> String {
    let teeth = teeth_words(state);
    match margin {
        Margin::NoStands => "What the stands carry is not known yet: do not raise the arm before \
                             it is."
            .to_owned(),
        Margin::NoDoubt => "How surely the stands' loads are known is not known: say how sure the \
                            measurements are; do not raise the arm before."
            .to_owned(),
        Margin::None => format!(
            "Do not raise the arm {teeth}: no ballast over the rear stands keeps every stand \
             loaded. Do it in the dry run with the bar out, or on the wheels."
        ),
        Margin::Over(mass) if BALLAST_MOST < *mass => format!(
            "Do not raise the arm {teeth}: it would take {} over each rear stand. Choose other \
             teeth first, or do it in the dry run with the bar out.",
            kg(*mass)
        ),
        Margin::Over(mass) if mass.to_kg() < 0.5 => format!(
            "By the estimate of equal stands every stand keeps {} without ballast, {teeth}, in 97 \
             of 100 cars measured like this one. Watch the stands all the same.",
            newtons(KEEP)
        ),
        Margin::Over(mass) => {
            let bags = bags.map_or(String::new(), |bags| format!(", {bags} bags"));
            format!(
                "First put {}{bags} over each rear stand, {teeth}: with that every stand keeps {} \
                 in 97 of 100 cars measured like this one. Watch the stands all the same.",
                kg(*mass),
                newtons(KEEP)
            )
        }
    }
}

fn raise_words(item: &Item, state: State) -> String {
    let amount = |name: &str| item.get(name).and_then(Item::amount);
    let force = amount("force").and_then(|a| Force::try_from(a).ok()).unwrap_or(Force::ZERO);
    let lift = amount("lift").and_then(|a| Length::try_from(a).ok()).unwrap_or(Length::ZERO);
    let angle = amount("angle").and_then(|a| Angle::try_from(a).ok()).unwrap_or(Angle::ZERO);
    let energy = amount("energy").map_or(0.0, |a| a.shown());
    let teeth = teeth_words(state);
    if amount("force").is_none() {
        return match item.get("advice") {
            Some(Item::Word(advice)) if !advice.is_empty() => advice.clone(),
            _ => format!("The arm hangs clear of the stop bolt already, {teeth}."),
        };
    }
    let mut words = format!(
        "Raising the jack point by {} to {} takes {} and leaves {energy:.0} J in the bar, {teeth}.",
        mm(lift, 0),
        deg(angle, 1),
        newtons(force),
    );
    if item.get("lifts_car") == Some(&Item::Flag(true)) {
        words += " Without ballast that lifts the car off a stand.";
    }
    if let Some(Item::Word(advice)) = item.get("advice") {
        words = format!("{words} {advice}");
    }
    words
}

fn ride_stick(bench: &mut Bench) {
    let recipe = Recipe {
        id: "ride.stick",
        at: None,
        formula: "ℓ at the plate angle of the manual's trim",
        source: "position of the arm; own derivation, docs/method.md",
    };
    bench.add(
        recipe,
        |look| {
            let (linkage, damper) = (model::linkage(look), model::damper(look));
            let ride = model::ride_angle(look);
            let (linkage, damper) = (linkage?, damper?);
            let at = look.ok(damper.at(&linkage, model::at(ride?)))?;
            match at.length {
                Some(length) => Some(Item::leaf(length)),
                None => look.fault("the damper's length is not known at any angle"),
            }
        },
        |item, _| {
            let length = item.amount().map_or(f64::NAN, |a| a.shown());
            format!(
                "Two holes {length:.0} mm apart in a bar of wood or steel make a dummy damper that \
                 holds the unloaded arm at ride. With the torsion bar out only."
            )
        },
    );
}

fn rows(look: &Look) -> Option<Vec<TravelRow>> {
    let (corner, free) = (model::corner(look), model::free_settled(look));
    let ride = model::ride_angle(look);
    let (droop, full_bump) = (droop::stopped_at(look), windows::full_bump(look));
    let damper = look.attempt(model::damper);
    let hose = look.attempt(model::hose);
    let run = Run {
        free: free?,
        ride: ride?,
        droop: droop?,
        full_bump: full_bump?,
        step: ROW,
        damper: damper.as_ref(),
        hose: hose.as_ref(),
    };
    look.ok(corner?.travel(&run))
}

fn travel(bench: &mut Bench) {
    let recipe = Recipe {
        id: "travel",
        at: None,
        formula: "pose and load at plate angles whose trims differ by 10 mm",
        source: DERIVED,
    };
    bench.add(
        recipe,
        |look| {
            let row = |row: TravelRow| {
                let bend = row.bend.map(
                    |[front, rear]| {
                        if front.abs() < rear.abs() { rear } else { front }
                    },
                );
                Item::Object(vec![
                    ("travel", Item::leaf(row.travel)),
                    ("plate_angle", Item::leaf(row.angle)),
                    ("camber", Item::maybe(row.camber)),
                    ("toe", Item::maybe(row.toe)),
                    ("contact_x", Item::leaf(row.contact_shift_x)),
                    ("damper", Item::maybe(row.damper)),
                    ("hose", Item::maybe(row.hose)),
                    ("plate_bend", Item::maybe(bend)),
                    ("load", Item::leaf(row.load)),
                ])
            };
            Some(Item::List(rows(look)?.into_iter().map(row).collect()))
        },
        |_, _| {
            "From droop to full bump, rings squashed; bump is plus. Between rows everything is \
             smooth."
                .to_owned()
        },
    );
}

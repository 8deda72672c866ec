//! Raising the arm to the stop bolt, the ride stick, and the travel table.

use axlewright_book::Field;
use axlewright_mechanics::load::Hanging;
use axlewright_mechanics::raise::{Lift, Raise as Raised};
use axlewright_mechanics::travel::{Run, TravelRow};
use axlewright_quantity::{Amount, Angle, Force, Length, Mass};

use crate::angles::{free_at, teeth_words};
use crate::engine::{Bench, Recipe};
use crate::finding::{Finding, Item, State, Subject};
use crate::look::Look;
use crate::say::{deg, kg, mm, newtons};
use crate::stands::{StandSet, body, jack};
use crate::{Assessment, cautions, droop, model, windows};

/// Of the finding that tells what raising an arm to its stop bolt takes.
const ID: &str = "raise.stop-bolt";
/// Its parts that are figures of raising.
const RAISING: [&str; 3] = ["lift", "force", "energy"];
/// Its parts about the stands.
const STANDS: [&str; 5] = ["stand", "stand_before", "stand_after", "after", "lifts_car"];
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
fn to_stop_bolt(look: &Look, state: State) -> Option<(Raised, axlewright_quantity::Place)> {
    let clear = windows::stop_bolt_clear(look);
    raised_to(look, state, clear)
}

/// From hang, arm on, to a plate angle.
fn raised_to(
    look: &Look,
    state: State,
    to: Option<Angle>,
) -> Option<(Raised, axlewright_quantity::Place)> {
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

/// What holds the arm at one plate angle: the jack's force, the lift, the energy in the bar; judged
/// as raising to the stop bolt is, and with no figure where that has none.
pub(crate) fn at(bench: &mut Bench, of: &Assessment, stands: Option<&StandSet>, angle: Angle) {
    for state in [State::Now, State::Target] {
        let is_one =
            |found: &&Finding| found.id == ID && found.at == Some(state) && found.of == bench.of;
        let raise = of.findings.iter().find(is_one);
        let barred =
            raise.filter(|raise| matches!(Raise::of(raise), Raise::Forbidden(_) | Raise::Unknown));
        let formula = "F_j·(−dz_j/dθ) = k(θ₀ − θ) + Σ m·g·(−dz/dθ), E = ½k(θ₀ − θ)²";
        bench.add_judged(
            Recipe { id: "at.hold", at: Some(state), formula, source: DERIVED },
            |look| parts(look, stands, raised_to(look, state, Some(angle))?),
            |item| {
                let judged = Judged::of(item, stands);
                // Where the stop bolt is does not matter here.
                judged.write(item, Clear::No, None, state);
                if let Some(raise) = barred {
                    held_back(item, &raise.value);
                }
            },
            |item, _| {
                let to = format!(
                    "To hold the arm at {} on its jack point, no damper on it, {}.",
                    deg(angle, 1),
                    teeth_words(state)
                );
                match item.get("advice") {
                    Some(Item::Word(advice)) => format!("{to} {advice}"),
                    _ => to,
                }
            },
        );
    }
}

/// What raising to the stop bolt has no figure for, holding at any angle has none for.
fn held_back(item: &mut Item, raise: &Item) {
    for part in RAISING.iter().chain(&STANDS) {
        put(item, part, Item::Nothing);
    }
    for part in ["may", "barred_by", "ballast_with_margin", "bags", "advice"] {
        if let Some(told) = raise.get(part) {
            put(item, part, told.clone());
        }
    }
}

fn raise(bench: &mut Bench, stands: Option<&StandSet>, state: State) {
    let recipe = Recipe {
        id: ID,
        at: Some(state),
        formula: "F_j·(−dz_j/dθ) = k(θ₀ − θ) + Σ m·g·(−dz/dθ), E = ½k(θ₀ − θ)²; stands on equal \
                  springs",
        source: DERIVED,
    };
    let bag = bench.plain(|look| look.get_optional::<Mass>(Field::ShellBag));
    bench.add_judged(
        recipe,
        |look| parts(look, stands, to_stop_bolt(look, state)?),
        |item| Judged::of(item, stands).write(item, clear(item), bag, state),
        |item, _| raise_words(item, state),
    );
}

/// What raising takes and what the stands then carry, before it is judged.
fn parts(
    look: &Look,
    stands: Option<&StandSet>,
    (raise, at): (Raised, axlewright_quantity::Place),
) -> Option<Item> {
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
    parts.extend(on_stands.unwrap_or_else(|| STANDS.map(|name| (name, Item::Nothing)).to_vec()));
    Some(Item::Object(parts))
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
    let each = set.names.iter().zip(&after).map(|(name, load)| {
        Item::Object(vec![("stand", Item::Word(name.clone())), ("load", Item::leaf(*load))])
    });
    Some(vec![
        ("stand", Item::Word(set.names.get(nearest)?.clone())),
        ("stand_before", Item::leaf(*before.get(nearest)?)),
        ("stand_after", Item::leaf(*after.get(nearest)?)),
        ("after", Item::List(each.collect())),
        ("lifts_car", Item::Flag(after.iter().any(|load| *load <= Force::ZERO))),
    ])
}

/// The stands behind the middle of all: where the bags go.
fn rear_stands(set: &StandSet) -> Vec<usize> {
    let stands = set.stands.all();
    let middle = stands.iter().map(|s| s.at.x.to_mm()).sum::<f64>() / stands.len() as f64;
    let each = stands.iter().enumerate();
    each.filter(|(_, stand)| stand.at.x.to_mm() < middle).map(|(at, _)| at).collect()
}

/// Whether an arm may be raised, judged once: what every face tells comes from here.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) enum Raise {
    /// What it takes, or what the stands then carry, or how surely, is not known.
    #[default]
    Unknown,
    /// The stands do not bear it: why, one sentence without its full stop.
    Forbidden(String),
    /// There is nothing to raise.
    Clear,
    /// What it takes, in words that go on from the side.
    Known(String),
}

impl Raise {
    /// What was judged of a finding.
    pub(crate) fn of(raise: &Finding) -> Self {
        match said(&raise.value, "may") {
            Some(MAY) => Self::Known(jacking(&raise.value)),
            Some(NOT_YET) => {
                Self::Forbidden(said(&raise.value, "barred_by").unwrap_or_default().to_owned())
            }
            Some(CLEAR) => Self::Clear,
            _ => Self::Unknown,
        }
    }
}

/// The judgement's public words.
const MAY: &str = "may be raised";
const NOT_YET: &str = "NOT YET";
const NOT_KNOWN: &str = "not known";
const CLEAR: &str = "hangs clear";

/// The ballast that keeps every stand loaded at what it carries less twice the doubt of that, in
/// whole kilograms, rounded up; or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Judged {
    /// What the stands carry is not known.
    NoStands,
    /// What they carry is known, but not how surely.
    NoDoubt,
    /// No ballast over the rear stands does.
    None,
    /// More than ballast can be.
    TooMuch,
    /// This much over each of them, and no more than that where there is a bound.
    Over(Mass, Option<Mass>),
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

impl Judged {
    /// # Source
    /// Coverage of two standard uncertainties: JCGM 100:2008, 6.3.3.
    fn of(item: &Item, stands: Option<&StandSet>) -> Self {
        let after = item.get("after").filter(|after| **after != Item::Nothing);
        let Some((set, after)) = stands.zip(after) else { return Self::NoStands };
        let least = after.items().iter().map(|row| {
            let leaf = row.get("load")?.as_leaf()?;
            Some(Force::from_si(leaf.value.to_si() - 2.0 * leaf.u?.to_si()))
        });
        let Some(least) = least.collect::<Option<Vec<Force>>>() else { return Self::NoDoubt };
        let found = set.stands.ballast_on(&least, &rear_stands(set), KEEP);
        let Ok(Some(range)) = found else { return Self::None };
        // What rounding of the last digit makes of a whole number is not one kilogram more.
        let whole = Mass::kg((range.least.to_kg() - 1e-9).ceil().max(0.0));
        match range.most {
            Some(most) if most < whole => Self::None,
            _ if BALLAST_MOST < whole => Self::TooMuch,
            most => Self::Over(whole, most),
        }
    }

    const fn may(self) -> &'static str {
        match self {
            Self::NoStands | Self::NoDoubt => NOT_KNOWN,
            Self::None | Self::TooMuch => NOT_YET,
            Self::Over(..) => MAY,
        }
    }

    /// Why it is not to be done: one sentence without its full stop and without a figure.
    const fn barred_by(self) -> Option<&'static str> {
        match self {
            Self::None => Some(
                "no ballast over the rear stands keeps every stand loaded when this arm is raised",
            ),
            Self::TooMuch => {
                Some("raising this arm would take more over each rear stand than ten sandbags")
            }
            _ => None,
        }
    }

    /// Into the item: the judgement, what to do, and no figure that must not be told.
    fn write(self, item: &mut Item, clear: Clear, bag: Option<Mass>, state: State) {
        let clear_already = clear == Clear::Yes;
        let may = if clear_already { CLEAR } else { self.may() };
        let needed = match self {
            Self::Over(needed, _) if !clear_already => Some(needed),
            _ => None,
        };
        let raised = matches!(clear, Clear::No | Clear::Perhaps { raised: true });
        strip(item, raised && may == MAY);
        let Item::Object(parts) = item else { return };
        let word = |word: Option<&str>| word.map_or(Item::Nothing, |w| Item::Word(w.to_owned()));
        let try_first = matches!(clear, Clear::Perhaps { .. });
        parts.push(("may", word(Some(may))));
        parts.push(("barred_by", word(self.barred_by().filter(|_| !clear_already))));
        parts.push(("try_first", Item::Flag(try_first)));
        parts.push(("ballast_with_margin", Item::maybe(needed)));
        parts.push(("bags", bags(needed, bag)));
        parts.push(("advice", Item::Nothing));
        let advice = if clear_already { String::new() } else { self.advice(item, state) };
        put(item, "advice", Item::Word(advice));
    }

    /// What to do before the jack goes up.
    fn advice(self, item: &Item, state: State) -> String {
        let teeth = teeth_words(state);
        let first = if item.get("try_first") == Some(&Item::Flag(true)) {
            "It may hang clear of the stop bolt already: offer the bolt up first. If it does not \
             go in: "
        } else {
            ""
        };
        let then = match self {
            Self::NoStands => cautions::by_cards("What the stands then carry is not known:").words,
            Self::NoDoubt => {
                cautions::by_cards(
                    "How surely the stands' loads are known is not said, so they do not count:",
                )
                .words
            }
            Self::None | Self::TooMuch => {
                cautions::not_yet(state, self.barred_by().unwrap_or_default()).words
            }
            Self::Over(mass, _) if mass.to_kg() < 0.5 => format!(
                "By the estimate of equal stands every stand keeps {} without ballast, {teeth}, \
                 in 97 of 100 cars measured like this one. Watch the stands all the same.",
                newtons(KEEP)
            ),
            Self::Over(..) => format!(
                "First put {}, {teeth}: with that every stand keeps {} in 97 of 100 cars measured \
                 like this one. Watch the stands all the same.",
                weight(item).unwrap_or_default(),
                newtons(KEEP)
            ),
        };
        format!("{first}{then}")
    }
}

/// How many bags a mass is.
fn bags(needed: Option<Mass>, bag: Option<Mass>) -> Item {
    let bags = needed.zip(bag).map(|(need, bag)| (need / bag).ceil() as i64);
    bags.map_or(Item::Nothing, |bags| Item::Count(bags, "bags"))
}

/// No figures of raising but where it may be raised, and no load on a stand that would have to
/// pull.
fn strip(item: &mut Item, told: bool) {
    let Item::Object(parts) = item else { return };
    for (name, part) in parts {
        let pulls =
            name.starts_with("stand_") && part.amount().is_some_and(|load| load.to_si() < 0.0);
        let held_back = !told && (RAISING.contains(name) || STANDS.contains(name));
        if pulls || held_back {
            *part = Item::Nothing;
        }
    }
}

fn put(item: &mut Item, name: &str, value: Item) {
    if let Some(part) = item.get_mut(name) {
        *part = value;
    }
}

fn said<'a>(item: &'a Item, name: &str) -> Option<&'a str> {
    match item.get(name) {
        Some(Item::Word(word)) => Some(word),
        _ => None,
    }
}

fn amount<Q: TryFrom<Amount>>(item: &Item, name: &str) -> Option<Q> {
    Q::try_from(item.get(name)?.amount()?).ok()
}

/// What lies over each rear stand: `59 kg, 6 bags, over each rear stand`; nothing where none is
/// needed or none is told.
fn weight(item: &Item) -> Option<String> {
    let mass = amount::<Mass>(item, "ballast_with_margin").filter(|mass| 0.5 < mass.to_kg())?;
    Some(match item.get("bags") {
        Some(Item::Count(bags, _)) => {
            let bags = if *bags == 1 { "1 bag".to_owned() } else { format!("{bags} bags") };
            format!("{}, {bags}, over each rear stand", kg(mass))
        }
        _ => format!("{} over each rear stand", kg(mass)),
    })
}

/// The order of ballast, jack and bolt, for whoever does it.
fn jacking(item: &Item) -> String {
    let mut words = String::new();
    if item.get("try_first") == Some(&Item::Flag(true)) {
        words += "offer the bolt up first; if it does not go in: ";
    }
    if let Some(weight) = weight(item) {
        words += &format!("put {weight}; then ");
    }
    words += "jack the arm up";
    let lift = amount::<Length>(item, "lift");
    let (to, force) = (amount::<Angle>(item, "angle"), amount::<Force>(item, "force"));
    if let (Some(lift), Some(to), Some(force)) = (lift, to, force) {
        words += &format!(" by {} to {}, {}", mm(lift, 0), deg(to, 1), newtons(force));
    } else {
        words += " until the bolt goes in, by no more than its doubt";
    }
    words
}

/// The bags go on once and lie there for both sides: where both arms may be raised, both findings
/// tell the greater of the two figures, unless that is more than the other side bears.
pub(crate) fn agree(out: &mut Assessment, stands: Option<&StandSet>, bag: Option<Mass>) {
    for state in [State::Target, State::Now] {
        let is_one = |finding: &&mut Finding| {
            finding.id == ID
                && finding.at == Some(state)
                && said(&finding.value, "may") == Some(MAY)
                && matches!(finding.of, Some(Subject::Corner(_)))
        };
        let mut both: Vec<&mut Finding> = out.findings.iter_mut().filter(is_one).collect();
        let judged = both.iter().map(|finding| match Judged::of(&finding.value, stands) {
            Judged::Over(least, most) => Some((least, most)),
            _ => None,
        });
        let Some(judged) = judged.collect::<Option<Vec<_>>>() else { continue };
        let more = judged.iter().map(|(least, _)| *least).reduce(Mass::max);
        let borne = |more: &Mass| judged.iter().all(|(_, most)| most.is_none_or(|m| *more <= m));
        let Some(more) = more.filter(borne) else { continue };
        let less = |(least, _): &(Mass, Option<Mass>)| *least < more;
        for (finding, _) in both.iter_mut().zip(&judged).filter(|(_, one)| less(one)) {
            put(&mut finding.value, "ballast_with_margin", Item::leaf(more));
            put(&mut finding.value, "bags", bags(Some(more), bag));
            let advice = Judged::Over(more, None).advice(&finding.value, state);
            put(&mut finding.value, "advice", Item::Word(advice));
            finding.why.words = raise_words(&finding.value, state);
        }
    }
}

/// What is laid over the rear stands before any arm is raised, with the teeth aimed at; nothing
/// where no figure is told.
pub(crate) fn ballast(out: &Assessment) -> Option<String> {
    let told =
        out.findings.iter().filter(|finding| finding.id == ID && finding.at == Some(State::Target));
    let told = told.filter(|finding| said(&finding.value, "may") == Some(MAY));
    let mass = |finding: &&Finding| {
        amount::<Mass>(&finding.value, "ballast_with_margin").map_or(0.0, Mass::to_kg)
    };
    let most = told.max_by(|a, b| mass(a).total_cmp(&mass(b)))?;
    weight(&most.value)
}

fn raise_words(item: &Item, state: State) -> String {
    let teeth = teeth_words(state);
    let advice = said(item, "advice").unwrap_or_default();
    let (Some(lift), Some(to), Some(force)) = (
        amount::<Length>(item, "lift"),
        amount::<Angle>(item, "angle"),
        amount::<Force>(item, "force"),
    ) else {
        return match advice {
            "" => format!("The arm hangs clear of the stop bolt already, {teeth}."),
            advice => advice.to_owned(),
        };
    };
    let energy = item.get("energy").and_then(Item::amount).map_or(0.0, |a| a.shown());
    let mut words = format!(
        "Raising the jack point by {} to {} takes {} and leaves {energy:.0} J in the bar, {teeth}.",
        mm(lift, 0),
        deg(to, 1),
        newtons(force),
    );
    if item.get("lifts_car") == Some(&Item::Flag(true)) {
        words += " Without ballast that lifts the car off a stand.";
    }
    format!("{words} {advice}")
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

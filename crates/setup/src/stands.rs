//! What the stands carry, and the push that upsets the car on them.

use axlewright_book::{CarFile, Entry, Field, StandRow};
use axlewright_mechanics::supports::{Direction, Load, PointForce, Spot, Stand, Stands, Upset};
use axlewright_quantity::{Amount, Force, Length, Mass, Place};

use crate::engine::{Bench, Recipe};
use crate::finding::{Gap, Item, Subject};
use crate::look::Look;
use crate::say::newtons;
use crate::scene::{StandScene, SupportScene, UpsetArrow};

const STATICS: &str = "rigid body on equal springs; statics; docs/method.md, supports";

/// The stands of a car file, all measured.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StandSet {
    pub(crate) stands: Stands,
    pub(crate) names: Vec<String>,
}

/// What a stand is called when its owner gave it no name.
fn name_of(row: &StandRow, number: usize) -> String {
    row.name.as_ref().map_or_else(|| format!("stand {number}"), |name| name.value.clone())
}

fn quantity<Q: TryFrom<Amount>>(entry: Option<&Entry<Amount>>) -> Option<Q> {
    Q::try_from(entry?.value).ok()
}

fn stand(row: &StandRow) -> Option<Stand> {
    let at = row.at.as_ref()?.value;
    Some(Stand {
        at: Spot { x: at.x, y: at.y },
        height: quantity(row.height.as_ref())?,
        foot_half_width: quantity(row.foot.as_ref())?,
        friction: quantity(row.friction.as_ref())?,
        rating: quantity(row.rating.as_ref())?,
    })
}

/// What is still to be measured at the stands.
fn gaps(car: &CarFile) -> Vec<Gap> {
    let blocks = vec!["stands", "stands.upset", "raise.stop-bolt"];
    if car.stands.is_empty() {
        return vec![Gap {
            id: "stand".to_owned(),
            of: None,
            measure: "the stands under the body".to_owned(),
            how: "One [[stand]] for each: where its saddle is from above (X forward of the bar \
                  axis, Y left of the middle), the saddle's height above the floor, half the \
                  width of its foot, its rating. Tape, good to 10 mm."
                .to_owned(),
            blocks,
            rows: Vec::new(),
        }];
    }
    let mut gaps = Vec::new();
    for (row, number) in car.stands.iter().zip(1..) {
        let known = [
            ("at", row.at.is_some()),
            ("height", row.height.is_some()),
            ("foot", row.foot.is_some()),
            ("friction", row.friction.is_some()),
            ("rating", row.rating.is_some()),
        ];
        let missing: Vec<&str> =
            known.iter().filter(|(_, known)| !known).map(|(key, _)| *key).collect();
        if !missing.is_empty() {
            let name = name_of(row, number);
            gaps.push(Gap {
                id: format!("stand.{}", missing.join("+")),
                of: Some(Subject::Stand(name.clone())),
                measure: format!("{} of the {name} stand", missing.join(", ")),
                how: format!("Tape from the floor and the bar axis; line {}.", row.line),
                blocks: blocks.clone(),
                rows: Vec::new(),
            });
        }
    }
    gaps
}

/// The stands, or what is missing; a fault goes to `faults` in words.
pub(crate) fn read(car: &CarFile, faults: &mut Vec<String>) -> (Option<StandSet>, Vec<Gap>) {
    let gaps = gaps(car);
    if !gaps.is_empty() {
        return (None, gaps);
    }
    let names: Vec<String> = car.stands.iter().zip(1..).map(|(r, n)| name_of(r, n)).collect();
    let Some(stands) = car.stands.iter().map(stand).collect::<Option<Vec<Stand>>>() else {
        return (None, gaps);
    };
    match Stands::new(stands) {
        Ok(stands) => (Some(StandSet { stands, names }), gaps),
        Err(error) => {
            faults.push(format!("stands: {error}"));
            (None, gaps)
        }
    }
}

/// The body as it stands on them.
pub(crate) fn body(look: &Look) -> Option<Load> {
    let mass = look.get::<Mass>(Field::ShellMass);
    let centre = look.place(Field::ShellMassAt);
    Some(Load::of_mass(mass?, centre?.into()))
}

/// Adds the stands' findings.
pub(crate) fn add(bench: &mut Bench, set: &StandSet) {
    for (at, name) in set.names.iter().enumerate() {
        bench.of = Some(Subject::Stand(name.clone()));
        one(bench, set, at, name);
    }
    bench.of = None;
    upset(bench, set);
}

fn one(bench: &mut Bench, set: &StandSet, at: usize, name: &str) {
    let recipe = Recipe {
        id: "stands",
        at: None,
        formula: "Nᵢ = W/n + equal-spring moments; least and most over all Nᵢ ≥ 0 that balance",
        source: STATICS,
    };
    bench.add(
        recipe,
        |look| {
            let loads = look.ok(set.stands.loads(&body(look)?, &[]))?;
            let load = loads.get(at)?;
            Some(Item::Object(vec![
                ("estimate", Item::leaf(load.estimate)),
                ("least", Item::leaf(load.least)),
                ("most", Item::leaf(load.most)),
                ("share_of_rating", Item::leaf(load.share_of_rating)),
            ]))
        },
        |item, _| {
            let number = |name: &str| item.get(name).and_then(Item::amount).map(|a| a.shown());
            let (estimate, most) = (number("estimate"), number("most"));
            format!(
                "The {name} stand carries about {:.0} N if all give alike, and never more than \
                 {:.0} N however the floor lies.",
                estimate.unwrap_or(f64::NAN),
                most.unwrap_or(f64::NAN),
            )
        },
    );
}

fn upsets(look: &Look, set: &StandSet) -> Option<Vec<Upset>> {
    let (load, height) = (body(look), look.get::<Length>(Field::ShellPushHeight));
    look.ok(set.stands.upset(&load?, &[], height?))
}

fn upset(bench: &mut Bench, set: &StandSet) {
    let recipe = Recipe {
        id: "stands.upset",
        at: None,
        formula: "least H with H/n = μ·Nᵢ(H), (H/n)·h = Nᵢ(H)·a or Nᵢ(H) = 0",
        source: STATICS,
    };
    bench.add(
        recipe,
        |look| {
            let rows = upsets(look, set)?.into_iter().map(|upset| {
                let stand = set.names.get(upset.stand).cloned();
                Item::Object(vec![
                    ("direction", Item::Word(upset.direction.words().to_owned())),
                    ("push", Item::leaf(upset.push)),
                    ("gives_way", Item::Word(upset.gives_way.words().to_owned())),
                    ("stand", stand.map_or(Item::Nothing, Item::Word)),
                ])
            });
            Some(Item::List(rows.collect()))
        },
        |item, _| upset_words(item),
    );
}

fn upset_words(item: &Item) -> String {
    let push = |row: &&Item| row.get("push").and_then(Item::amount).map_or(0.0, |a| a.shown());
    let Some(worst) = item.items().iter().min_by(|a, b| push(a).total_cmp(&push(b))) else {
        return String::new();
    };
    let word = |name: &str| match worst.get(name) {
        Some(Item::Word(word)) => word.clone(),
        _ => String::new(),
    };
    format!(
        "The car can come off at about {} pushed {}: {} ({}). A man on a long bar pulls 500 to \
         700 N (common practice, no source).",
        newtons(Force::n(push(&worst))),
        word("direction"),
        word("gives_way"),
        word("stand"),
    )
}

/// What the plan drawing shows.
pub(crate) fn scene(look: &Look, set: &StandSet) -> Option<SupportScene> {
    let load = body(look)?;
    let centre = look.place(Field::ShellMassAt)?;
    let loads = set.stands.loads(&load, &[]).ok()?;
    let each = set.stands.all().iter().zip(&set.names).zip(&loads);
    let stands = each
        .map(|((stand, name), load)| StandScene {
            name: name.clone(),
            at: Place { x: stand.at.x, y: stand.at.y, z: Length::ZERO },
            foot: stand.foot_half_width,
            estimate: load.estimate,
            range: (load.least, load.most),
        })
        .collect();
    let pushes = upsets(look, set).unwrap_or_default();
    Some(SupportScene {
        stands,
        centre,
        push_height: look.get(Field::ShellPushHeight).unwrap_or(Length::ZERO),
        pushes: pushes
            .into_iter()
            .map(|upset| {
                let (forward, left) = way(upset.direction);
                let name = set.names.get(upset.stand).map_or("", String::as_str);
                UpsetArrow {
                    forward,
                    left,
                    words: upset.direction.words(),
                    push: upset.push,
                    gives_way: format!("{name}: {}", upset.gives_way.words()),
                }
            })
            .collect(),
    })
}

/// Forward and leftward parts of a direction, for drawing its arrow.
fn way(direction: Direction) -> (f64, f64) {
    let d = std::f64::consts::FRAC_1_SQRT_2;
    match direction {
        Direction::Nose => (1.0, 0.0),
        Direction::NoseLeft => (d, d),
        Direction::Left => (0.0, 1.0),
        Direction::TailLeft => (-d, d),
        Direction::Tail => (-1.0, 0.0),
        Direction::TailRight => (-d, -d),
        Direction::Right => (0.0, -1.0),
        Direction::NoseRight => (d, -d),
    }
}

/// A jack under a place, pushing up.
pub(crate) fn jack(at: Place, up: Force) -> PointForce {
    PointForce { at: at.into(), up }
}

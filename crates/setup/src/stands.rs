//! What the stands carry, and the push that upsets the car on them.

use axlewright_book::{CarFile, Entry, Field, StandRow};
use axlewright_mechanics::supports::{
    Direction, Load, PointForce, Spot, Stand, Stands, SupportError, Upset,
};
use axlewright_quantity::{Amount, Force, Length, Mass, Place, Ratio};

use crate::engine::{Bench, Recipe};
use crate::finding::{Finding, Gap, Item, Subject};
use crate::look::Look;
use crate::say::newtons;
use crate::scene::{StandScene, SupportScene, UpsetArrow};

const STATICS: &str = "rigid body on equal springs; statics; docs/method.md, supports";

/// The stands of a car file, all measured.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct StandSet {
    pub(crate) stands: Stands,
    pub(crate) names: Vec<String>,
    /// With the least and with the greatest friction their saddles may have.
    friction: [Stands; 2],
}

impl StandSet {
    fn of(rows: &[StandRow], names: Vec<String>) -> Option<Result<Self, SupportError>> {
        let each = |pick: fn([Ratio; 2], Ratio) -> Ratio| {
            let stands = rows.iter().map(|row| {
                let stand = stand(row)?;
                Some(Stand { friction: pick(range(row, stand.friction), stand.friction), ..stand })
            });
            stands.collect::<Option<Vec<Stand>>>().map(Stands::new)
        };
        let friction = [each(|[low, _], _| low)?, each(|[_, high], _| high)?];
        Some(each(|_, stated| stated)?.and_then(|stands| {
            let [low, high] = friction;
            Ok(Self { stands, names, friction: [low?, high?] })
        }))
    }

    /// Some of them.
    fn only(&self, which: &[usize]) -> Option<Self> {
        let some = |stands: &Stands| stands.only(which).ok();
        let [low, high] = &self.friction;
        Some(Self {
            stands: some(&self.stands)?,
            names: which.iter().filter_map(|at| self.names.get(*at).cloned()).collect(),
            friction: [some(low)?, some(high)?],
        })
    }
}

/// Least and greatest friction of a saddle: what the file allows it, else from half to one and a
/// half of what it says, dry paint to a film of oil.
///
/// # Source
/// Common practice, no source.
fn range(row: &StandRow, stated: Ratio) -> [Ratio; 2] {
    let spread = row.friction.as_ref().and_then(|entry| entry.spread);
    let half = spread.map_or(0.5 * stated.to_one(), |s| 2.0 * s.standard_uncertainty().to_si());
    let within = |share: f64| Ratio::one(share.clamp(0.01, 2.0));
    [within(stated.to_one() - half), within(stated.to_one() + half)]
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
    let Some(set) = StandSet::of(&car.stands, names) else { return (None, gaps) };
    match set {
        Ok(set) => (Some(set), gaps),
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
    let pressing = bench.plain(|look| look.ok(set.stands.pressing(&body(look)?, &[])));
    let pressing = pressing.unwrap_or_default();
    let carrying = set.only(&pressing);
    for (at, name) in set.names.iter().enumerate() {
        bench.of = Some(Subject::Stand(name.clone()));
        let place = pressing.iter().position(|stand| *stand == at);
        one(bench, set, at, carrying.as_ref().zip(place));
    }
    bench.of = None;
    upset(bench, carrying.as_ref().unwrap_or(set));
}

/// One stand; among the ones that carry, where it does.
fn one(bench: &mut Bench, set: &StandSet, at: usize, carrying: Option<(&StandSet, usize)>) {
    let recipe = Recipe {
        id: "stands",
        at: None,
        formula: "Nᵢ = W/n + equal-spring moments over the stands that press; least and most over \
                  all Nᵢ ≥ 0 that balance",
        source: STATICS,
    };
    bench.add(
        recipe,
        |look| {
            let body = body(look)?;
            let loads = look.ok(set.stands.loads(&body, &[]))?;
            let load = loads.get(at)?;
            let estimate = match carrying {
                Some((set, place)) => {
                    Item::leaf(*look.ok(set.stands.estimates(&body, &[]))?.get(place)?)
                }
                None => Item::Nothing,
            };
            Some(Item::Object(vec![
                ("estimate", estimate),
                ("least", Item::leaf(load.least)),
                ("most", Item::leaf(load.most)),
                ("share_of_rating", Item::leaf(load.share_of_rating)),
            ]))
        },
        |item, _| {
            let number = |name: &str| item.get(name).and_then(Item::amount).map(|a| a.shown());
            let most = number("most").unwrap_or(f64::NAN);
            let name = set.names.get(at).map_or("", String::as_str);
            match number("estimate") {
                Some(estimate) => format!(
                    "The {name} stand carries about {estimate:.0} N if all give alike, and never \
                     more than {most:.0} N however the floor lies."
                ),
                None => format!(
                    "If all give alike the {name} stand would have to pull: the body lies on the \
                     others. It never carries more than {most:.0} N however the floor lies."
                ),
            }
        },
    );
}

/// Of one direction, every stand's least pushes: with the least friction and with the greatest.
fn pushes(look: &Look, set: &StandSet) -> Option<Item> {
    let (load, height) = (body(look), look.get::<Length>(Field::ShellPushHeight));
    let (load, height) = (load?, height?);
    let [low, high] = &set.friction;
    let [low, high] = [low, high].map(|stands| look.ok(stands.upset_of_each(&load, &[], height)));
    let (low, high) = (low?, high?);
    let rows = low.into_iter().map(|upset| {
        let same =
            |other: &&Upset| (other.stand, other.direction) == (upset.stand, upset.direction);
        let highest = high.iter().find(same).map(|other| other.push);
        Item::Object(vec![
            ("direction", Item::Word(upset.direction.words().to_owned())),
            ("push", Item::leaf(upset.push)),
            ("highest", Item::maybe(highest)),
            ("gives_way", Item::Word(upset.gives_way.words().to_owned())),
            ("stand", set.names.get(upset.stand).cloned().map_or(Item::Nothing, Item::Word)),
        ])
    });
    Some(Item::List(rows.collect()))
}

/// The stand that gives way first in each direction: at the least friction and twice the doubt of
/// the load below; surely with the greatest and twice the doubt above.
fn weakest(item: &mut Item) {
    let end = |row: &Item, name: &str, times: f64| {
        let leaf = row.get(name).and_then(Item::as_leaf)?;
        Some((leaf.value.to_si() + times * leaf.u.map_or(0.0, |u| u.to_si())).max(0.0))
    };
    let mut told: Vec<Item> = Vec::new();
    for direction in Direction::ALL {
        let here = Item::Word(direction.words().to_owned());
        let of = |row: &&Item| row.get("direction") == Some(&here);
        let rows: Vec<&Item> = item.items().iter().filter(of).collect();
        let lowest = |row: &Item| end(row, "push", -2.0).unwrap_or(f64::INFINITY);
        let first = rows.iter().min_by(|a, b| lowest(a).total_cmp(&lowest(b)));
        let highest = rows.iter().filter_map(|row| end(row, "highest", 2.0)).reduce(f64::min);
        let Some(mut row) = first.map(|row| (*row).clone()) else { continue };
        let push = lowest(&row);
        if let Item::Object(parts) = &mut row {
            for (name, part) in parts {
                match *name {
                    "push" => *part = Item::leaf(Force::n(push)),
                    "highest" => *part = Item::maybe(highest.map(Force::n)),
                    _ => {}
                }
            }
        }
        told.push(row);
    }
    *item = Item::List(told);
}

fn upset(bench: &mut Bench, set: &StandSet) {
    let recipe = Recipe {
        id: "stands.upset",
        at: None,
        formula: "least H with H/n = μ·Nᵢ(H), (H/n)·h = Nᵢ(H)·a or Nᵢ(H) = 0; from the least μ \
                  less 2 u to the greatest μ and 2 u",
        source: STATICS,
    };
    bench.add_judged(recipe, |look| pushes(look, set), weakest, |item, _| upset_words(item));
}

fn upset_words(item: &Item) -> String {
    let newtons_of = |row: &Item, name: &str| {
        row.get(name).and_then(Item::amount).map_or(0.0, |amount| amount.shown())
    };
    let push = |row: &Item| newtons_of(row, "push");
    let Some(worst) = item.items().iter().min_by(|a, b| push(a).total_cmp(&push(b))) else {
        return String::new();
    };
    let word = |name: &str| match worst.get(name) {
        Some(Item::Word(word)) => word.clone(),
        _ => String::new(),
    };
    format!(
        "The car can come off at {} pushed {}: {} ({}). By friction and by how sure its mass and \
         centre are it may be anything up to {}. A man on a long bar pulls 500 to 700 N (common \
         practice, no source).",
        newtons(Force::n(push(worst))),
        word("direction"),
        word("gives_way"),
        word("stand"),
        newtons(Force::n(newtons_of(worst, "highest"))),
    )
}

/// What the plan drawing shows, from what was found.
pub(crate) fn scene(look: &Look, set: &StandSet, found: &[Finding]) -> Option<SupportScene> {
    let load = body(look)?;
    let centre = look.place(Field::ShellMassAt)?;
    let loads = set.stands.loads(&load, &[]).ok()?;
    let each = set.stands.all().iter().zip(&set.names).zip(&loads);
    let force = |item: Option<&Item>| Force::try_from(item?.amount()?).ok();
    let carries = |name: &str| {
        let of = Some(Subject::Stand(name.to_owned()));
        let one = found.iter().find(|finding| finding.id == "stands" && finding.of == of)?;
        force(one.value.get("estimate"))
    };
    let stands = each
        .map(|((stand, name), load)| StandScene {
            name: name.clone(),
            at: Place { x: stand.at.x, y: stand.at.y, z: Length::ZERO },
            foot: stand.foot_half_width,
            estimate: carries(name).unwrap_or(Force::ZERO),
            range: (load.least, load.most),
        })
        .collect();
    let rows = found.iter().find(|finding| finding.id == "stands.upset");
    let rows = rows.map(|finding| finding.value.items()).unwrap_or_default();
    let word = |row: &Item, name: &str| match row.get(name) {
        Some(Item::Word(word)) => word.clone(),
        _ => String::new(),
    };
    Some(SupportScene {
        stands,
        centre,
        push_height: look.get(Field::ShellPushHeight).unwrap_or(Length::ZERO),
        pushes: Direction::ALL
            .into_iter()
            .filter_map(|direction| {
                let words = direction.words();
                let row = rows.iter().find(|row| word(row, "direction") == words)?;
                let (forward, left) = way(direction);
                let gives_way = format!("{}: {}", word(row, "stand"), word(row, "gives_way"));
                Some(UpsetArrow { forward, left, words, push: force(row.get("push"))?, gives_way })
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

//! What a witness mark is worth: a mark across arm and plate that is missed by so much on return
//! changes camber and toe by so much.
//!
//! ```text
//!    plate  ───────┼──────────   scribed across both before they came apart
//!    arm    ─────────┼────────   on return the arm's half sits 1.5 mm rearward
//!                  →│ │←
//! ```
//!
//! | symbol | meaning | unit |
//! |---|---|---|
//! | δu | arm's half rearward of the plate's, along the plate | mm |
//! | δw | arm's half above the plate's, square to the plate | mm |
//! | ∂γ/∂δ, ∂ψ/∂δ | camber and toe of the wheel per shift of both bolt holes | °/mm |
//!
//! Linear in the offset: the exact slopes at the ride angle, eccentrics in their middle. Against
//! the arm moved by the whole offset that is good to 2 % at 4 mm on the demo car (see the tests).
//!
//! **Limits.** One mark tells how far the arm has moved on its plate, not how far it has turned
//! there: it is taken as moved without turning. With two marks apart from each other both are seen.

use axlewright_book::log::Mark;
use axlewright_book::{CarFile, Class, PartKind};
use axlewright_mechanics::arm::{PoseChange, PoseStep};
use axlewright_quantity::{Amount, Angle, Kind, Length, Side, parse_amount};

use crate::engine::{Bench, Recipe, Waiting};
use crate::finding::{Finding, Gap, Item};
use crate::inputs::{Inputs, Known, Slot};
use crate::look::Look;
use crate::say::{deg_signed, mm};
use crate::{gaps, model};

/// Why an offset is worth nothing that can be told.
#[derive(Debug, Clone, PartialEq)]
pub enum NoWorth {
    /// For a reason that no measuring changes: the parts it joins, or its words. One sentence.
    Because(String),
    /// These are to be measured first.
    Gaps(Vec<Gap>),
}

impl NoWorth {
    /// In one sentence.
    pub fn words(&self) -> String {
        match self {
            Self::Because(why) => why.clone(),
            Self::Gaps(gaps) => {
                let what: Vec<&str> = gaps.iter().map(|gap| gap.measure.as_str()).collect();
                format!("What it is worth waits for: {}.", what.join("; "))
            }
        }
    }
}

/// A way the arm's half of a mark can sit off the plate's.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Rearward,
    Forward,
    Up,
    Down,
}

const WAYS: [(&str, Way); 4] =
    [("rearward", Way::Rearward), ("forward", Way::Forward), ("up", Way::Up), ("down", Way::Down)];

/// An offset, understood: rearward and up, each with its uncertainty if one was said.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Offset {
    rearward: Option<(Length, Option<Length>)>,
    up: Option<(Length, Option<Length>)>,
}

/// What the offset of a mark is worth in camber and toe at ride: the finding `mark.worth`.
///
/// The offset is said of the arm's half against the plate's: `1.5 mm rearward`, `0.5 mm up`, both
/// with a comma between, or `0 mm`.
///
/// # Errors
/// Where it cannot be told, and why.
pub fn worth(car: &CarFile, mark: &Mark) -> Result<Finding, NoWorth> {
    if !joins_arm_and_plate(car, &mark.between) {
        let why = "It does not join arm and spring plate, so it says nothing of camber and toe.";
        return Err(NoWorth::Because(why.to_owned()));
    }
    let Some(side) = side_of(car, mark) else {
        let why = "Nobody said on which side of the car it is.";
        return Err(NoWorth::Because(why.to_owned()));
    };
    let text = mark.offset.as_deref().unwrap_or_default();
    let offset = read(text).map_err(NoWorth::Because)?;
    let mut inputs = Inputs::from_car(car, side);
    let by_class = car.class_uncertainty(Class::Distance).and_then(|u| Length::try_from(u).ok());
    for (slot, part) in [(Slot::MarkRearward, offset.rearward), (Slot::MarkUp, offset.up)] {
        let Some((value, said)) = part else { continue };
        let from = match (said, by_class) {
            (Some(_), _) => format!("`{}`, as read", mark.mark),
            (None, Some(_)) => format!("`{}`, as sure as any distance of the car file", mark.mark),
            (None, None) => format!("`{}`; nobody said how sure it is", mark.mark),
        };
        let u = said.or(by_class).map(Amount::from);
        let known = Known { unsure: u.is_none(), ..Known::number(value, u, &from) };
        inputs.numbers.insert(slot, known);
    }
    let mut waiting = Waiting::default();
    let mut bench = Bench::corner(&inputs, &mut waiting);
    bench.add(WORTH, |look| item(look, &mark.mark), words);
    match bench.findings.pop() {
        Some(finding) => Ok(finding),
        None => Err(why_not(car, waiting)),
    }
}

/// What a millimetre between arm and plate is worth at each rear corner: the findings `mark.rate`,
/// and what is to be measured first.
pub fn rates(car: &CarFile) -> (Vec<Finding>, Vec<Gap>) {
    let mut waiting = Waiting::default();
    let mut found = Vec::new();
    for side in Side::BOTH {
        let inputs = Inputs::from_car(car, side);
        let mut bench = Bench::corner(&inputs, &mut waiting);
        bench.add(
            RATE,
            |look| {
                let rows = [("rearward", MM, Length::ZERO), ("up", Length::ZERO, MM)];
                let row = |(way, rearward, up): (&str, Length, Length)| {
                    let change = change(look, rearward, up)?;
                    Some(Item::Object(vec![
                        ("way", Item::Word(way.to_owned())),
                        ("by", Item::leaf(MM)),
                        ("camber", Item::leaf(change.camber)),
                        ("toe", Item::leaf(change.toe)),
                    ]))
                };
                rows.into_iter().map(row).collect::<Option<Vec<Item>>>().map(Item::List)
            },
            |_, _| {
                format!(
                    "What camber and toe of the {side} wheel change when the arm moves on its \
                     plate by a millimetre, at ride, without turning on it."
                )
            },
        );
        found.append(&mut bench.findings);
    }
    let gaps = gaps::from_waiting(car, &waiting);
    (found, gaps)
}

const MM: Length = Length::mm(1.0);
const SOURCE: &str = "exact slopes of the arm on its plate; docs/method.md, witness marks";
const WORTH: Recipe = Recipe {
    id: "mark.worth",
    at: None,
    formula: "Δγ = δu·∂γ/∂δu + δw·∂γ/∂δw, Δψ = δu·∂ψ/∂δu + δw·∂ψ/∂δw at ride",
    source: SOURCE,
};
const RATE: Recipe = Recipe {
    id: "mark.rate",
    at: None,
    formula: "∂γ/∂δu, ∂ψ/∂δu, ∂γ/∂δw, ∂ψ/∂δw at ride, times 1 mm",
    source: SOURCE,
};

fn change(look: &Look, rearward: Length, up: Length) -> Option<PoseChange> {
    let (arm, ride) = (model::arm_linkage(look), model::ride_angle_or_stated(look));
    let slopes = look.ok(arm?.pose_with_slopes(model::at(ride?)))?;
    Some(slopes.change(PoseStep { angle: Angle::ZERO, shift_u: rearward, shift_w: up }))
}

fn item(look: &Look, mark: &str) -> Option<Item> {
    let rearward = look.number_optional::<Length>(Slot::MarkRearward);
    let up = look.number_optional::<Length>(Slot::MarkUp);
    let change = change(look, rearward.unwrap_or(Length::ZERO), up.unwrap_or(Length::ZERO))?;
    Some(Item::Object(vec![
        ("mark", Item::Word(mark.to_owned())),
        ("camber", Item::leaf(change.camber)),
        ("toe", Item::leaf(change.toe)),
        ("rearward", Item::maybe(rearward)),
        ("up", Item::maybe(up)),
    ]))
}

fn words(item: &Item, look: &Look) -> String {
    let angle = |name| {
        let amount = item.get(name).and_then(Item::amount);
        amount.and_then(|amount| Angle::try_from(amount).ok()).unwrap_or(Angle::ZERO)
    };
    let part = |slot, plus, minus| {
        let by = look.number_optional::<Length>(slot).filter(|by| *by != Length::ZERO)?;
        let way = if Length::ZERO < by { plus } else { minus };
        Some(format!("{} {way}", mm(by.abs(), 1)))
    };
    let parts = [
        part(Slot::MarkRearward, "further rearward", "further forward"),
        part(Slot::MarkUp, "higher", "lower"),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        return "On its mark: as far as this mark tells, camber and toe are what they were."
            .to_owned();
    }
    format!(
        "The arm sits {} on its plate than it did. At ride that makes {} of camber (plus is the \
         top further out) and {} of toe-in at this wheel.",
        parts.join(" and "),
        deg_signed(angle("camber"), 2),
        deg_signed(angle("toe"), 2),
    )
}

fn why_not(car: &CarFile, waiting: Waiting) -> NoWorth {
    let gaps = gaps::from_waiting(car, &waiting);
    if gaps.is_empty() {
        let faults: Vec<String> = waiting.faults.into_iter().collect();
        return NoWorth::Because(format!("The arm cannot be worked out: {}.", faults.join("; ")));
    }
    NoWorth::Gaps(gaps)
}

/// Whether one of the parts is an arm and the other a plate: by their kinds or, of a part whose
/// kind is not said, by the words of its id and of its name.
fn joins_arm_and_plate(car: &CarFile, between: &[String; 2]) -> bool {
    let is = |id: &str, kind: PartKind| {
        let word = kind.word();
        if let Some(said) = car.part(id).and_then(|part| part.kind) {
            return said == kind;
        }
        let has = |text: &str| {
            text.split(|c: char| !c.is_alphanumeric()).any(|w| w.eq_ignore_ascii_case(word))
        };
        let name = car.part(id).and_then(|part| part.name.as_ref());
        has(id) || name.is_some_and(|name| has(&name.value))
    };
    let [one, other] = between;
    let pair = |arm: &str, plate: &str| is(arm, PartKind::Arm) && is(plate, PartKind::Plate);
    pair(one, other) || pair(other, one)
}

fn side_of(car: &CarFile, mark: &Mark) -> Option<Side> {
    let said = mark.side.as_deref().map(str::trim);
    let named = Side::BOTH.into_iter().find(|side| said == Some(side.word()));
    named.or_else(|| mark.between.iter().find_map(|id| car.part(id)?.side))
}

/// An offset in words, or what is wrong with it.
fn read(text: &str) -> Result<Offset, String> {
    let mut offset = Offset::default();
    for piece in text.split(',').map(str::trim).filter(|piece| !piece.is_empty()) {
        let (ways, rest): (Vec<&str>, Vec<&str>) =
            piece.split_whitespace().partition(|word| way(word).is_some());
        let written = parse_amount(&rest.join(" "), Kind::Length)
            .map_err(|why| format!("`{piece}` is no offset: {why}."))?;
        let u = written.standard_uncertainty().and_then(|u| Length::try_from(u).ok());
        let by = Length::try_from(written.amount).unwrap_or(Length::ZERO);
        let (is_along, by) = match (ways.as_slice(), by) {
            ([one], by) => match way(one) {
                Some(Way::Rearward) | None => (true, by),
                Some(Way::Forward) => (true, -by),
                Some(Way::Up) => (false, by),
                Some(Way::Down) => (false, -by),
            },
            ([], Length::ZERO) => {
                offset.rearward.get_or_insert((by, u));
                offset.up.get_or_insert((by, u));
                continue;
            }
            _ => {
                return Err(format!(
                    "`{piece}` does not say which way the arm's half sits off the plate's: \
                     rearward or forward, up or down."
                ));
            }
        };
        let slot = if is_along { &mut offset.rearward } else { &mut offset.up };
        if slot.replace((by, u)).is_some() {
            return Err(format!("`{text}` says twice how far it is off one way."));
        }
    }
    if offset == Offset::default() {
        return Err("No offset was read.".to_owned());
    }
    Ok(offset)
}

fn way(word: &str) -> Option<Way> {
    WAYS.into_iter().find(|(own, _)| own.eq_ignore_ascii_case(word)).map(|(_, way)| way)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn is(text: &str, rearward: Option<f64>, up: Option<f64>) {
        let offset = read(text).unwrap_or_else(|why| panic!("{text}: {why}"));
        let mm = |part: Option<(Length, Option<Length>)>| part.map(|(by, _)| by);
        assert_eq!(mm(offset.rearward), rearward.map(Length::mm), "{text}");
        assert_eq!(mm(offset.up), up.map(Length::mm), "{text}");
    }

    #[test]
    fn an_offset_is_read_with_its_way() {
        is("1.5 mm rearward", Some(1.5), None);
        is("1.5 mm forward", Some(-1.5), None);
        is("0.5 mm Up", None, Some(0.5));
        is("0.5 mm down", None, Some(-0.5));
        is("1 mm forward, 2 mm up", Some(-1.0), Some(2.0));
        is("0 mm", Some(0.0), Some(0.0));
        is("1.5 mm u 0.3 mm rearward", Some(1.5), None);
        is("1.5 mm rearward u 0.3 mm", Some(1.5), None);
        let (_, u) = read("1.5 mm rearward u 0.3 mm").unwrap().rearward.unwrap();
        assert_eq!(u, Some(Length::mm(0.3)));
    }

    #[test]
    fn an_offset_without_a_way_is_not_guessed_at() {
        for text in ["1.5 mm", "", "rearward", "1 mm up up", "1 deg up", "1 mm up, 2 mm down"] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}

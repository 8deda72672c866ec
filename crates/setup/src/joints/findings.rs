//! The findings of one joint, but for how far its bolts are.

use axlewright_book::{JointKind, Locking, Position, bolt_letter};
use axlewright_mechanics::joints::Order;
use axlewright_quantity::Length;

use super::case::Case;
use super::scene::Nose;
use super::warnings::{self, Found};
use super::{finding, setting, words};
use crate::cautions::{self, Caution};
use crate::finding::{Finding, Input, Item, Why};

/// Adds what can be said of a joint.
pub(super) fn add(case: &Case, warned: &[Found], out: &mut Vec<Finding>) {
    let mut put = |id, value, why| out.push(finding(id, case.of.as_ref(), value, why));
    let (value, why) = caution(case);
    put("joint.caution", value, why);
    if let Some(position) = case.position {
        put("joint.position", words(position.word()), position_why(case, position));
    }
    if let Some(listed) = &case.listed {
        put("joint.setting", setting::item(case, listed), setting::why(case, listed));
    }
    if let Some((value, why)) = order(case) {
        put("joint.order", value, why);
    }
    put("joint.warning", warnings::item(warned), warnings::why(case, warned));
    if let (Some(strain), Some(listed)) = (&case.strain, &case.listed) {
        put("joint.preload", strain.preload(), strain.why_preload(case, listed));
        if let Some(value) = strain.utilisation() {
            put("joint.utilisation", value, strain.why_utilisation(case, listed));
        }
    }
}

/// Cautions, the owner's own first, the one of every joint last.
pub(super) fn cautions(case: &Case) -> Vec<Caution> {
    let mut all: Vec<Caution> = Vec::new();
    all.extend(case.caution.as_deref().map(cautions::own));
    all.extend(case.safety.and_then(cautions::of_safety));
    all.extend(case.eccentric.map(cautions::of_eccentric));
    let is_friction = case.kind == Some(JointKind::Friction);
    all.extend(is_friction.then(|| cautions::FRICTION.caution()));
    let has_cotter = case.locking == Some(Locking::Cotter);
    all.extend(has_cotter.then(|| cautions::COTTER.caution()));
    all.push(cautions::MANUAL_DECIDES.caution());
    all
}

fn caution(case: &Case) -> (Item, Why) {
    let told = cautions(case).into_iter().map(|caution| Item::Word(caution.words));
    let value = Item::List(told.collect());
    let why = Why {
        words: "Before a wrench is set. Where the manual or local rules say otherwise, they hold."
            .to_owned(),
        formula: "none: rules, not figures",
        source: "common practice, no source; the owner's own words where the car file has them",
        inputs: Vec::new(),
    };
    (value, why)
}

fn position_why(case: &Case, position: Position) -> Why {
    let reason = match position {
        Position::Any | Position::BarOut => {
            " By the car file nothing in this joint turns with the arm."
        }
        Position::Hang | Position::StopBoltClear => "",
        Position::Ride => {
            " Loaded or not. A rubber bush clamped at any other angle stays twisted on the road: \
             it pulls at the arm and tears."
        }
        Position::WheelsDown => " A pull this hard takes a car off its stands.",
    };
    let arm = cautions::arm(Some(position)).words;
    Why {
        words: format!("Final torque: {arm}.{reason}"),
        formula: "none: stated by the car file",
        source: "the joint's row; reasons are common practice, no source",
        inputs: vec![input("arm position", None, &case.from)],
    }
}

fn input(name: &str, value: Option<Length>, from: &str) -> Input {
    let (name, from) = (name.to_owned(), from.to_owned());
    Input { name, value: value.map(Into::into), u: None, from, share: None }
}

/// Tightening order: of the layout, or of so few bolts that it does not matter.
fn order(case: &Case) -> Option<(Item, Why)> {
    let count = |number: usize| Item::Count(i64::try_from(number).unwrap_or(i64::MAX), "bolt");
    let (bolts, off, crookedness, exact, said) = match (&case.layout, case.count) {
        (Some(layout), _) => {
            let order = layout.order();
            let said = order_words(&order, case.nose);
            let numbers = order.bolts.iter().map(|bolt| count(bolt + 1)).collect();
            let off = order.off_middle.iter().map(|off| Item::leaf(*off)).collect();
            (numbers, Item::List(off), Item::leaf(order.crookedness), order.exact, said)
        }
        (None, Some(few @ 1..=2)) => {
            let numbers = (1..=usize::try_from(few).unwrap_or(1)).map(count).collect();
            let said = match few {
                1 => "One bolt: no order to keep.".to_owned(),
                _ => "Two bolts, turn about: neither order is better.".to_owned(),
            };
            (numbers, Item::Nothing, Item::Nothing, true, said)
        }
        _ => return None,
    };
    let value = Item::Object(vec![
        ("bolts", Item::List(bolts)),
        ("off_middle", off),
        ("crookedness", crookedness),
        ("exact", Item::Flag(exact)),
    ]);
    let why = Why {
        words: said,
        formula: "least Σ e, e from the middle of all bolts to the middle of those tight; then the \
                  least k·e, one after the other",
        source: "own derivation, docs/method.md, joints; opposite pairs from the middle outwards: \
                 common practice, no source",
        inputs: vec![input("places of the bolts", None, &case.from)],
    };
    Some((value, why))
}

fn order_words(order: &Order, nose: Option<Nose>) -> String {
    let letter = |bolt: &usize| bolt_letter(u32::try_from(bolt + 1).unwrap_or(0));
    let names: Vec<String> = order.bolts.iter().map(letter).collect();
    let nose = nose.map_or(String::new(), |nose| {
        format!(", seen from the heads with the nose of the car to the {}", nose.word())
    });
    let furthest = order.off_middle.iter().copied().fold(Length::ZERO, Length::max);
    let how = if order.exact {
        "No order holds the plate straighter while it is drawn down.".to_owned()
    } else {
        format!(
            "A good order, not proven the best: {:.0} mm of crookedness, no order has less than \
             {:.0} mm.",
            order.crookedness.to_mm(),
            order.least.to_mm()
        )
    };
    format!(
        "Bolts {} in every pass{nose}; the last pass round again until none moves. The clamping \
         force strays at most {:.0} mm from the middle. {how} Where the manual gives an order, it \
         holds.",
        names.join(" – "),
        furthest.to_mm()
    )
}

//! Which slip explains a difference: each that a hand makes is tried on each number that the two
//! ways read, and kept where the ways then agree. A slip in one number mostly disturbs several
//! checks, so the likeliest is the one after which all of them together disagree least.

use axlewright_book::{Field, Shape, Value};
use axlewright_quantity::{Amount, Kind, Side};

use super::{Measured, Pair, amount};
use crate::cross_check::{Slip, Suspect};
use crate::inputs::{Inputs, Slot, coordinates, nudged};

/// Two ways agree again: within so many of their uncertainties.
const AGREE: f64 = 2.0;
/// How many are told.
const TOLD: usize = 4;
/// A disagreement beyond this counts no more than this.
const MOST: f64 = 30.0;

/// A number without its slip.
struct Tried {
    key: String,
    slip: Slip,
    meant: Option<Amount>,
    words: String,
    inputs: Inputs,
}

/// What a slip costs before it is believed: units and decimal points slip most. Own judgement.
const fn rarity(slip: Slip) -> f64 {
    match slip {
        Slip::Unit | Slip::Decimal => 0.0,
        Slip::Sign | Slip::GaugeTurned => 0.5,
        Slip::Side | Slip::Tooth => 1.0,
        Slip::Edge | Slip::Stage => 2.0,
    }
}

/// The suspects of one check, the likeliest first.
pub(super) fn of(pairs: &[Pair<'_>], measured: &[Option<Measured>], at: usize) -> Vec<Suspect> {
    let (Some(pair), Some(Some(one))) = (pairs.get(at), measured.get(at)) else {
        return Vec::new();
    };
    let before = score(pairs, measured, |pair| pair.differ(pair.inputs));
    let mut kept: Vec<(f64, f64, Tried)> = Vec::new();
    for tried in tries(pair.inputs, one) {
        let Some(differ) = pair.differ(&tried.inputs) else { continue };
        let times = (differ / one.u).abs();
        if AGREE < times {
            continue;
        }
        // A field of both sides is mended on both; a side's own reading on its side alone.
        let after = score(pairs, measured, |other| {
            if std::ptr::eq(other.inputs, pair.inputs) {
                other.differ(&tried.inputs)
            } else {
                other.differ(&twin(other.inputs, pair.inputs, &tried.inputs))
            }
        });
        if after < before {
            kept.push((after + rarity(tried.slip), times, tried));
        }
    }
    kept.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut told: Vec<Suspect> = Vec::new();
    for (_, times, tried) in kept {
        if TOLD <= told.len() {
            break;
        }
        let explains = format!("{}, then both agree within {:.1} u", tried.words, times.max(0.1));
        let Tried { key, slip, meant, .. } = tried;
        told.push(Suspect { what: key, slip, meant, explains });
    }
    told
}

/// How much all checks disagree together.
fn score(
    pairs: &[Pair<'_>],
    measured: &[Option<Measured>],
    differ: impl Fn(&Pair<'_>) -> Option<f64>,
) -> f64 {
    let each = pairs.iter().zip(measured).filter_map(|(pair, one)| {
        let one = one.as_ref()?;
        // What can no longer be worked out agrees with nothing.
        let times = differ(pair).map_or(MOST, |d| (d / one.u).abs().min(MOST));
        Some(times * times)
    });
    each.sum()
}

/// The other side with what was changed on the first, where both have it from one line.
fn twin(other: &Inputs, before: &Inputs, after: &Inputs) -> Inputs {
    let mut all = other.clone();
    for (field, known) in &after.fields {
        let was = before.fields.get(field);
        let own = all.fields.get(field);
        let shared = was.zip(own).is_some_and(|(a, b)| a.from == b.from);
        if shared && was.is_some_and(|was| was.value != known.value) {
            all.fields.insert(*field, known.clone());
        }
    }
    for slot in [
        Slot::Spec(axlewright_book::SpecWhat::FreeAngle),
        Slot::Spec(axlewright_book::SpecWhat::Trim),
        Slot::SpecBar,
    ] {
        if let Some(known) = after.numbers.get(&slot) {
            all.numbers.insert(slot, known.clone());
        }
    }
    all
}

/// What a number is called for a person who is to mend it.
fn key(inputs: &Inputs, slot: Slot) -> Option<String> {
    let axis =
        |names: &[&str], part: u8| names.get(usize::from(part)).map_or("", |n| *n).to_owned();
    Some(match slot {
        Slot::Field(field, part) => {
            let value = &inputs.fields.get(&field)?.value;
            let axis = match value {
                Value::Place(_) => axis(&[" X", " Y", " Z"], part),
                Value::SidePoint(_) => axis(&[" X", " Z"], part),
                Value::PlatePoint(_) => axis(&[" u", " w"], part),
                Value::Amount(_) => String::new(),
                _ => return None,
            };
            format!("{}{axis}", field.path())
        }
        Slot::Spec(what) => format!("spec.{}", what.word().replace(' ', "-")),
        Slot::SpecBar => "spec.free-angle.bar_diameter".to_owned(),
        Slot::PlateReading => format!("reading.plate-angle.{}", inputs.side),
        Slot::BodySlope => format!("reading.sill-level.{}", inputs.side),
        Slot::Row(at) => inputs.rows.get(usize::from(at))?.key.clone(),
        _ => return None,
    })
}

fn tries(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let mut all = Vec::new();
    for slot in &one.seen {
        let Some(name) = key(inputs, *slot) else { continue };
        let Some((known, part)) = inputs.known(*slot) else { continue };
        let Some(was) = coordinates(&known.value).get(usize::from(part)).copied() else { continue };
        for (slip, meant) in meant(*slot, was, inputs) {
            let by = Amount::from_si(was.kind(), meant.to_si() - was.to_si());
            if let Some(inputs) = with(inputs, *slot, by) {
                let words =
                    format!("{} in place of {} ({})", amount(meant), amount(was), slip.word());
                all.push(Tried { key: name.clone(), slip, meant: Some(meant), words, inputs });
            }
        }
    }
    all.extend(whole_places(inputs, one));
    all.extend(turned(inputs, one));
    all.extend(counts(inputs, one));
    all.extend(swapped(inputs, one));
    all
}

/// The inputs with one number moved.
fn with(inputs: &Inputs, slot: Slot, by: Amount) -> Option<Inputs> {
    let (known, part) = inputs.known(slot)?;
    let mut moved = known.clone();
    moved.value = nudged(&known.value, part, by);
    let mut all = inputs.clone();
    match slot {
        Slot::Field(field, _) => all.fields.insert(field, moved),
        other => all.numbers.insert(other, moved),
    };
    Some(all)
}

/// What may have been meant by a number.
fn meant(slot: Slot, was: Amount, inputs: &Inputs) -> Vec<(Slip, Amount)> {
    let si = was.to_si();
    let mut all = Vec::new();
    let mut put = |slip, si: f64| {
        let meant = Amount::from_si(was.kind(), si);
        if may_be(slot, meant) {
            all.push((slip, meant));
        }
    };
    if si == 0.0 {
        return all;
    }
    for factor in [10.0, 0.1] {
        put(Slip::Decimal, si * factor);
    }
    let units: &[f64] = match was.kind() {
        Kind::Length => &[25.4],
        Kind::Mass => &[0.453_592_37],
        Kind::Force => &[9.806_65, 4.448_221_615_260_5],
        Kind::Torque | Kind::TorsionalRate => {
            &[9.806_65, 1.355_817_948_331_4, 9.806_65 / 1.355_817_948_331_4]
        }
        _ => &[],
    };
    for unit in units {
        put(Slip::Unit, si / unit);
        put(Slip::Unit, si * unit);
    }
    if signed(slot) {
        put(Slip::Sign, -si);
    }
    let seat =
        matches!(slot, Slot::PlateReading | Slot::Spec(_) | Slot::Field(Field::RidePlateAngle, _));
    if seat && was.kind() == Kind::Angle {
        for edge in edges(inputs) {
            put(Slip::Edge, si - edge);
        }
    }
    all
}

fn signed(slot: Slot) -> bool {
    match slot {
        Slot::Field(field, _) => match field.shape() {
            Shape::Amount { low, .. } => low < 0.0,
            Shape::Place | Shape::BodyPlace | Shape::SidePoint | Shape::PlatePoint => true,
            _ => false,
        },
        Slot::Spec(_) | Slot::PlateReading | Slot::BodySlope => true,
        Slot::Row(_) => true,
        _ => false,
    }
}

/// Whether the file would take such a number.
fn may_be(slot: Slot, meant: Amount) -> bool {
    match slot {
        Slot::Field(field, part) => match field.shape() {
            Shape::Amount { low, high, .. } => (low..=high).contains(&meant.shown()),
            // The left side's Y is not minus.
            Shape::Place if part == 1 => 0.0 < meant.to_si(),
            _ => meant.to_si().abs() < 5.0,
        },
        Slot::Row(_) if matches!(meant.kind(), Kind::Mass | Kind::Torque) => 0.0 < meant.to_si(),
        _ => true,
    }
}

/// Angles of the plate's long edges against its line, tail further down; in radians.
fn edges(inputs: &Inputs) -> Vec<f64> {
    let Some(known) = inputs.fields.get(&Field::PlateOutline) else { return Vec::new() };
    let Value::Outline(points) = &known.value else { return Vec::new() };
    let next = points.iter().skip(1).chain(points.first());
    let long = points.iter().zip(next).filter(|(a, b)| 200.0 < (a.u - b.u).to_mm().abs());
    long.map(|(a, b)| (-(b.w - a.w).to_si() / (b.u - a.u).to_si()).atan()).collect()
}

/// A whole place in the other unit.
fn whole_places(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let mut all = Vec::new();
    let mut fields: Vec<Field> = Vec::new();
    for slot in &one.seen {
        if let Slot::Field(field, 1..) = slot
            && !fields.contains(field)
        {
            fields.push(*field);
        }
    }
    for field in fields {
        let Some(known) = inputs.fields.get(&field) else { continue };
        if matches!(known.value, Value::Lengths(_)) {
            continue;
        }
        for (factor, words) in [
            (1.0 / 25.4, "millimetres in place of inches (unit)"),
            (25.4, "inches in place of millimetres (unit)"),
        ] {
            let mut moved = known.clone();
            for (part, was) in coordinates(&known.value).iter().enumerate() {
                let Ok(part) = u8::try_from(part) else { break };
                let by = Amount::from_si(was.kind(), was.to_si() * (factor - 1.0));
                moved.value = nudged(&moved.value, part, by);
            }
            if coordinates(&moved.value).iter().any(|c| 5.0 < c.to_si().abs()) {
                continue;
            }
            let mut tried = inputs.clone();
            tried.fields.insert(field, moved);
            let (key, words) = (field.path().to_owned(), words.to_owned());
            all.push(Tried { key, slip: Slip::Unit, meant: None, words, inputs: tried });
        }
    }
    all
}

/// The plate read with the gauge's arrow the other way.
fn turned(inputs: &Inputs, one: &Measured) -> Option<Tried> {
    use axlewright_book::Arrow;
    if !one.seen.contains(&Slot::PlateReading) {
        return None;
    }
    let mut tried = inputs.clone();
    let (arrow, word) = match inputs.reading.arrow? {
        Arrow::Nose => (Arrow::Tail, "tail"),
        Arrow::Tail => (Arrow::Nose, "nose"),
    };
    tried.reading.arrow = Some(arrow);
    let key = format!("reading.plate-angle.{}.arrow", inputs.side);
    let words = format!("arrow to the {word} (gauge turned)");
    Some(Tried { key, slip: Slip::GaugeTurned, meant: None, words, inputs: tried })
}

/// One tooth, ring or turn more or less.
fn counts(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let mut all = Vec::new();
    for field in &one.exact {
        let Some(known) = inputs.fields.get(field) else { continue };
        let Value::Count(was) = known.value else { continue };
        for meant in [was.saturating_sub(1), was + 1] {
            let mut tried = inputs.clone();
            let mut moved = known.clone();
            moved.value = Value::Count(meant);
            tried.fields.insert(*field, moved);
            let words = format!("{meant} in place of {was} (tooth)");
            let key = field.path().to_owned();
            all.push(Tried { key, slip: Slip::Tooth, meant: None, words, inputs: tried });
        }
    }
    all
}

/// Two rows of one figure, left for right.
fn swapped(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let slot = |at: usize| u16::try_from(at).ok().map(Slot::Row);
    let mut all = Vec::new();
    for (at, row) in inputs.rows.iter().enumerate() {
        let Some((Side::Left, twin)) = row.what.twin() else { continue };
        let other = inputs.rows.iter().position(|other| other.what == twin).and_then(slot);
        let Some((own, other)) = slot(at).zip(other) else { continue };
        let (Some(a), Some(b)) = (inputs.numbers.get(&own), inputs.numbers.get(&other)) else {
            continue;
        };
        if a.value == b.value || !one.seen.contains(&own) {
            continue;
        }
        let mut tried = inputs.clone();
        tried.numbers.insert(own, b.clone());
        tried.numbers.insert(other, a.clone());
        let meant = coordinates(&b.value).first().copied();
        let words = "left in place of right (side)".to_owned();
        all.push(Tried { key: row.key.clone(), slip: Slip::Side, meant, words, inputs: tried });
    }
    all
}

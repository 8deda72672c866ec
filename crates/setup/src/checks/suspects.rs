//! Which slip explains a difference: each that a hand makes is tried on each number that the two
//! ways read, and kept where the ways then agree. A slip in one number mostly disturbs several
//! checks, so the likeliest is the one after which all of them together disagree least.

use std::collections::BTreeMap;

use axlewright_book::{Field, Shape, Value};
use axlewright_quantity::{Amount, Kind, Length, Mass, Side, parse_amount};

use super::likely::LIKELY;
use super::rows::{self, What};
use super::{Measured, Pair, amount, ways};
use crate::cross_check::{Slip, Suspect};
use crate::inputs::{Inputs, Slot, coordinates, nudged};
use crate::look::Look;

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
    /// What it costs besides: a number that nobody would have written, a row that would have to be
    /// thought of.
    odd: f64,
    inputs: Inputs,
}

/// What a slip costs before it is believed: units and decimal points slip most. Own judgement.
const fn rarity(slip: Slip) -> f64 {
    match slip {
        Slip::Unit | Slip::Decimal => 0.0,
        Slip::Sign | Slip::GaugeTurned => 0.5,
        Slip::Side | Slip::Tooth | Slip::Stage => 1.0,
        Slip::Edge => 2.0,
    }
}

/// The suspects of one check, the likeliest first.
pub(super) fn of(pairs: &[Pair<'_>], measured: &[Option<Measured>], at: usize) -> Vec<Suspect> {
    let (Some(pair), Some(Some(one))) = (pairs.get(at), measured.get(at)) else {
        return Vec::new();
    };
    let before = score(pairs, measured, |pair| pair.differ(pair.inputs));
    let usual: Vec<Option<f64>> = LIKELY.iter().map(|of| of(&Look::quiet(pair.inputs))).collect();
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
            let cost = rarity(tried.slip) + tried.odd + unlikely(&usual, &tried.inputs);
            kept.push((after + cost, times, tried));
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

/// How far a car is from what most are like.
pub(super) fn unlikely_as_it_is(inputs: &Inputs) -> f64 {
    unlikely(&[], inputs)
}

/// How far a corner is from what most are like; what can no longer be worked out counts as far.
fn unlikely(before: &[Option<f64>], inputs: &Inputs) -> f64 {
    let now = LIKELY.iter().map(|of| of(&Look::quiet(inputs)));
    let each = now.enumerate().map(|(at, now)| match (before.get(at), now) {
        (_, Some(now)) => now.abs().min(4.0).powi(2),
        (Some(Some(_)), None) => 16.0,
        _ => 0.0,
    });
    0.25 * each.sum::<f64>()
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
    let units = Units::of(inputs);
    for slot in &one.seen {
        let Some(name) = key(inputs, *slot) else { continue };
        let Some((known, part)) = inputs.known(*slot) else { continue };
        let Some(was) = coordinates(&known.value).get(usize::from(part)).copied() else { continue };
        for (slip, meant) in meant(*slot, was, inputs) {
            let by = Amount::from_si(was.kind(), meant.to_si() - was.to_si());
            if let Some(inputs) = with(inputs, *slot, by) {
                let words =
                    format!("{} in place of {} ({})", amount(meant), amount(was), slip.word());
                let wrench = of_wrench(&inputs, *slot);
                let rounded = match slip {
                    // A number read in the other unit is rounded as it was read.
                    Slip::Unit if units.is_usual(wrench, was.kind(), &known.text) => {
                        rounding(&known.text).max(PRINTED)
                    }
                    Slip::Unit => PRINTED,
                    // The other slips keep the digits.
                    _ => 1e-6,
                };
                let odd = odd(&units, wrench, (meant, rounded));
                let (key, meant) = (name.clone(), Some(meant));
                all.push(Tried { key, slip, meant, words, odd, inputs });
            }
        }
    }
    all.extend(whole_places(inputs, one));
    all.extend(whole_rows(inputs, one));
    all.extend(left_out(inputs, one));
    all.extend(turned(inputs, one));
    all.extend(counts(inputs, one));
    all.extend(swapped(inputs, one));
    all
}

/// The unit most numbers of a kind are written in, in SI.
struct Units(Vec<((bool, Kind), f64)>);

/// Printed numbers are this near to round ones, as a share, whatever they were converted from.
pub(super) const PRINTED: f64 = 2.5e-4;

impl Units {
    fn of_kind(&self, wrench: bool, kind: Kind) -> f64 {
        self.0.iter().find(|(own, _)| *own == (wrench, kind)).map_or(1.0, |(_, si)| *si)
    }

    /// Whether a number is written in the unit that most of its kind are written in.
    fn is_usual(&self, wrench: bool, kind: Kind, text: &str) -> bool {
        let own = unit(text).and_then(|unit| parse_amount(&format!("1 {unit}"), kind).ok());
        own.is_some_and(|own| own.amount.to_si() == self.of_kind(wrench, kind))
    }

    fn of(inputs: &Inputs) -> Self {
        let mut found: BTreeMap<((bool, Kind), String), usize> = BTreeMap::new();
        let fields = inputs.fields.iter().map(|(_, known)| (false, known));
        let numbers = inputs.numbers.iter().map(|(slot, known)| (of_wrench(inputs, *slot), known));
        for (group, known) in fields.chain(numbers) {
            let Some(first) = coordinates(&known.value).first().copied() else { continue };
            if let Some(unit) = unit(&known.text) {
                *found.entry(((group, first.kind()), unit.to_owned())).or_default() += 1;
            }
        }
        let mut rows: Vec<_> = found.into_iter().collect();
        rows.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
        let mut units: Vec<((bool, Kind), f64)> = Vec::new();
        for ((of, unit), _) in rows {
            let si = || Some(parse_amount(&format!("1 {unit}"), of.1).ok()?.amount.to_si());
            if units.iter().all(|(other, _)| *other != of)
                && let Some(si) = si()
            {
                units.push((of, si));
            }
        }
        Self(units)
    }
}

/// Wrenches have their own scales, whatever the list is written in.
fn of_wrench(inputs: &Inputs, slot: Slot) -> bool {
    let Slot::Row(at) = slot else { return false };
    let row = inputs.rows.get(usize::from(at));
    row.is_some_and(|row| matches!(row.what, What::WrenchFrom | What::WrenchTo))
}

/// The unit behind the numbers of a written value, before its spread.
fn unit(text: &str) -> Option<&str> {
    let from = text.find(|c: char| c.is_alphabetic() || matches!(c, '°' | '%'))?;
    let rest = text.get(from..)?;
    let end = rest.find('±').or_else(|| rest.find(" u ")).unwrap_or(rest.len());
    Some(rest.get(..end)?.trim())
}

/// People read and print round numbers: each digit of what was meant costs something, in the unit
/// in which the file writes such numbers.
fn odd(units: &Units, wrench: bool, (meant, rounded): (Amount, f64)) -> f64 {
    let unit = units.of_kind(wrench, meant.kind());
    0.7 * f64::from(digits(meant.to_si() / unit, rounded))
}

/// Half of the last digit of a written number, as a share of it.
fn rounding(text: &str) -> f64 {
    let number = text.trim_start_matches('-');
    let end = number.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(number.len());
    let all: String = number.get(..end).unwrap_or_default().chars().filter(|c| *c != '.').collect();
    all.trim_start_matches('0').parse::<f64>().map_or(0.0, |digits| 0.5 / digits)
}

/// How many digits a number needs to be right to such a share of it; five at most.
pub(super) fn digits(number: f64, share: f64) -> i32 {
    if number == 0.0 || !number.is_finite() {
        return 1;
    }
    let whole = number.abs().log10().floor();
    let is_right = |digits: &i32| {
        let scale = 10_f64.powf(f64::from(*digits) - 1.0 - whole);
        ((number * scale).round() / scale - number).abs() < share * number.abs()
    };
    (1..5).find(is_right).unwrap_or(5)
}

/// A stage of the build that is in no row: how heavy, and where, follows from both axles.
fn left_out(inputs: &Inputs, one: &Measured) -> Option<Tried> {
    let stage = |slot: &Slot| {
        let Slot::Row(at) = slot else { return false };
        inputs.rows.get(usize::from(*at)).is_some_and(|row| row.what == What::StageMass)
    };
    if !one.seen.iter().any(stage) {
        return None;
    }
    let look = Look::quiet(inputs);
    let (rear, front) = (ways::axle(&look, true)?, ways::axle(&look, false)?);
    let (rear_x, front_x) = ways::axles(&look)?;
    let mass = -(rear + front);
    let x = -(rear * rear_x + front * front_x) / mass;
    if mass < 10.0 || !(2.0 * rear_x..1.5 * front_x).contains(&x) {
        return None;
    }
    let mut tried = inputs.clone();
    let (mass, x) = (Mass::kg(mass), Length::from_si(x));
    rows::stage(&mut tried, mass, x);
    let words = format!(
        "a stage of about {:.0} kg, {:.0} mm forward of the bar axis, in a row of its own (stage)",
        mass.to_kg(),
        x.to_mm()
    );
    // Two numbers are thought of, where a slip is one.
    let (key, slip, odd) = ("masses".to_owned(), Slip::Stage, 4.0);
    Some(Tried { key, slip, meant: None, words, odd, inputs: tried })
}

/// What a corner weight is without somebody in the car, or with a stage that was not there yet.
fn stages(inputs: &Inputs, slot: Slot, was: f64) -> Vec<f64> {
    let rear = match slot {
        Slot::Field(Field::LoadCornerWeight, _) => true,
        Slot::Field(Field::FrontCornerWeight, _) => false,
        _ => return Vec::new(),
    };
    let look = Look::quiet(inputs);
    let Some((rear_x, front_x)) = ways::axles(&look) else { return Vec::new() };
    let of = |mass, x, sign: f64| {
        let share = move |(kg, x): (f64, f64)| {
            let to_rear = (front_x - x) / (front_x - rear_x);
            was + sign * kg * if rear { to_rear } else { 1.0 - to_rear } / 2.0
        };
        let rows: Vec<(f64, f64)> =
            rows::all(&look, mass).into_iter().zip(rows::all(&look, x)).collect();
        rows.into_iter().map(share)
    };
    let there = of(What::StageMass, What::StageX, 1.0);
    there.chain(of(What::LoadMass, What::LoadX, -1.0)).collect()
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
    // One unit stands behind all numbers of a place.
    let units = if is_place(slot, inputs) { &[] } else { units };
    for unit in units {
        put(Slip::Unit, si / unit);
        put(Slip::Unit, si * unit);
    }
    if signed(slot) {
        put(Slip::Sign, -si);
    }
    for meant in stages(inputs, slot, si) {
        put(Slip::Stage, meant);
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

/// Whether a number is one coordinate of several.
fn is_place(slot: Slot, inputs: &Inputs) -> bool {
    match slot {
        Slot::Field(field, _) => {
            inputs.fields.get(&field).is_some_and(|known| !matches!(known.value, Value::Amount(_)))
        }
        Slot::Row(at) => {
            let row = inputs.rows.get(usize::from(at));
            row.is_some_and(|row| row.key.ends_with(" X") || row.key.ends_with(" Y"))
        }
        _ => false,
    }
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

/// The same of a place in a row: of a stage, of a stand.
fn whole_rows(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let mut all: Vec<Tried> = Vec::new();
    let mut done: Vec<&str> = Vec::new();
    for slot in &one.seen {
        let Slot::Row(at) = slot else { continue };
        let Some(row) = inputs.rows.get(usize::from(*at)) else { continue };
        let Some(stem) = row.key.strip_suffix(" X").or_else(|| row.key.strip_suffix(" Y")) else {
            continue;
        };
        if done.contains(&stem) {
            continue;
        }
        done.push(stem);
        for (factor, words) in INCHES {
            let mut tried = inputs.clone();
            for (at, row) in inputs.rows.iter().enumerate() {
                let own = row.key.strip_prefix(stem).is_some_and(|axis| axis.starts_with(' '));
                let (true, Ok(at)) = (own, u16::try_from(at)) else { continue };
                let Some((known, _)) = inputs.known(Slot::Row(at)) else { continue };
                let Value::Amount(was) = known.value else { continue };
                let by = Amount::from_si(was.kind(), was.to_si() * (factor - 1.0));
                tried = with(&tried, Slot::Row(at), by).unwrap_or(tried);
            }
            let (key, words) = (stem.to_owned(), words.to_owned());
            let slip = Slip::Unit;
            all.push(Tried { key, slip, meant: None, words, odd: 0.0, inputs: tried });
        }
    }
    all
}

/// A length in the other unit.
const INCHES: [(f64, &str); 2] = [
    (1.0 / 25.4, "millimetres in place of inches (unit)"),
    (25.4, "inches in place of millimetres (unit)"),
];

/// A whole place in the other unit.
fn whole_places(inputs: &Inputs, one: &Measured) -> Vec<Tried> {
    let mut all = Vec::new();
    let mut fields: Vec<Field> = Vec::new();
    for slot in &one.seen {
        if let Slot::Field(field, _) = slot
            && is_place(*slot, inputs)
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
        for (factor, words) in INCHES {
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
            all.push(Tried { key, slip: Slip::Unit, meant: None, words, odd: 0.0, inputs: tried });
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
    Some(Tried { key, slip: Slip::GaugeTurned, meant: None, words, odd: 0.0, inputs: tried })
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
            all.push(Tried { key, slip: Slip::Tooth, meant: None, words, odd: 0.0, inputs: tried });
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
        all.push(Tried {
            key: row.key.clone(),
            slip: Slip::Side,
            meant,
            words,
            odd: 0.0,
            inputs: tried,
        });
    }
    all
}

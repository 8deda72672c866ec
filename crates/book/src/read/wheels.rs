//! Rows of the whole car on its wheels: masses, rounds, and what was moved.

use super::rows::{Row, each};
use super::values::{Limits, closest_to, found};
use super::{Line, Reader};
use crate::car_file::{Entry, same_name};
use crate::problem::{ProblemKind, cut};
use crate::wheels::{MassRow, MoveRow, RoundRow, RoundWhat};
use crate::words::MassKind;
use axlewright_quantity::{Amount, Corner, Kind, parse_amount};
use toml::Spanned;
use toml::de::DeValue;

const MASS_KEYS: &[&str] = &["name", "kind", "mass", "at", "z"];
const ROUND_KEYS: &[&str] =
    &["load", "stage", "weight", "trim", "camber", "toe", "settled", "moved_after", "date", "note"];
const CORNERS: &[&str] = &["LF", "RF", "LR", "RR"];
const REAR: &[&str] = &["LR", "RR"];
/// Corrections between two rounds: more than a car has screws.
const MOVES: usize = 40;

pub(super) fn masses(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "masses", value, MASS_KEYS, |r, row| {
        if let Some(mass) = mass(r, &row) {
            r.car.masses.push(mass);
        }
    });
}

fn mass(r: &mut Reader<'_>, row: &Row<'_>) -> Option<MassRow> {
    if row.is_blank(MASS_KEYS) {
        return None;
    }
    let name = row.text("name", "engine and gearbox", r);
    let kind = row.word("kind", MassKind::WORDS, MassKind::from_word, r);
    let limits = |kind, low, high, example| Limits { kind, low, high, example };
    let mass = row.amount("mass", limits(Kind::Mass, 0.1, 5000.0, "165 kg"), r);
    let at = row.get("at").and_then(|line| r.plan_point(&line, "-480, 0 mm"));
    let z = row.amount("z", limits(Kind::Length, -2000.0, 3000.0, "150 mm"), r);
    row.without("name", "engine and gearbox", r);
    row.without("kind", MassKind::Stage.word(), r);
    let (name, kind) = (name?, kind?);
    let twin = r.car.masses.iter().find(|old| same_name(&old.name.value, &name.value));
    if let Some(first_line) = twin.map(|old| old.line) {
        let id = cut(name.value.trim());
        // The message puts an s behind it.
        r.problem(ProblemKind::SameId { id, what: "masse", first_line }, name.span);
        return None;
    }
    let line = r.line_of(&row.span);
    Some(MassRow { name, kind, mass, at, z, line })
}

pub(super) fn rounds(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "round", value, ROUND_KEYS, |r, row| {
        if let Some(round) = round(r, &row) {
            r.car.rounds.push(round);
        }
    });
}

fn round(r: &mut Reader<'_>, row: &Row<'_>) -> Option<RoundRow> {
    let mut out = RoundRow {
        load: row.text("load", "empty, half a tank", r),
        stage: row.text("stage", "finished", r),
        settled: row.flag("settled", r),
        date: row.text("date", "1964-06-20", r).map(|e| e.value),
        note: row.text("note", "rolled and settled", r).map(|e| e.value),
        line: r.line_of(&row.span),
        ..RoundRow::default()
    };
    for what in [RoundWhat::Weight, RoundWhat::Trim, RoundWhat::Camber, RoundWhat::Toe] {
        if let Some(line) = row.get(what.key()) {
            corners(r, &line, what, &mut out);
        }
    }
    if let Some(line) = row.get("moved_after") {
        out.moved_after = moves(r, &line);
    }
    near_stage(r, row, &out);
    let is_read = !(out.weight.is_empty()
        && out.trim.is_empty()
        && out.camber.is_empty()
        && out.toe.is_empty());
    if is_read && row.is_blank(&["load"]) {
        row.without("load", "empty, half a tank", r);
    }
    (is_read || !out.moved_after.is_empty()).then_some(out)
}

/// A stage that no mass is called by: said, and the round read all the same.
fn near_stage(r: &mut Reader<'_>, row: &Row<'_>, round: &RoundRow) {
    let Some(stage) = &round.stage else { return };
    let stages = r.car.masses.iter().filter(|mass| mass.kind == MassKind::Stage);
    let mut known: Vec<String> = stages.map(|mass| mass.name.value.trim().to_owned()).collect();
    if known.is_empty() || same_name(&stage.value, MassRow::FINISHED) {
        return;
    }
    known.push(MassRow::FINISHED.to_owned());
    if known.iter().any(|name| same_name(name, &stage.value)) {
        return;
    }
    let names: Vec<&str> = known.iter().map(String::as_str).collect();
    let close = closest_to(&stage.value.to_lowercase(), &names).map(cut);
    let (key, given) = ("round.stage".to_owned(), cut(stage.value.trim()));
    let known = known.iter().map(|name| cut(name)).collect();
    let kind =
        ProblemKind::UnknownId { key, given, what: "stage", is: None, close, known, more: 0 };
    r.problem(kind, row.span_of("stage"));
}

/// `{ LF = "210 kg", … }`
fn corners(r: &mut Reader<'_>, line: &Line<'_>, what: RoundWhat, out: &mut RoundRow) {
    let known = if what == RoundWhat::Trim { REAR } else { CORNERS };
    let table = match line.value.get_ref() {
        DeValue::Table(table) => table,
        DeValue::String(text) if text.trim().is_empty() => return,
        _ => {
            let example = match what {
                RoundWhat::Weight => "{ LF = \"210 kg\", RF = \"215 kg\" }",
                RoundWhat::Trim => "{ LR = \"99 mm\", RR = \"94 mm\" }",
                RoundWhat::Camber => "{ LR = \"-0.30 deg\", RR = \"-0.60 deg\" }",
                RoundWhat::Toe => "{ LR = \"-0.04 deg\", RR = \"0.22 deg\" }",
            };
            let (key, found) = (line.key.clone(), found(line.value.get_ref()));
            let kind = ProblemKind::NotByCorner { key, found, example };
            return r.problem(kind, line.value.span());
        }
    };
    for (key, value) in table {
        let name: &str = key.get_ref();
        let corner = Corner::from_code(name).filter(|c| known.contains(&c.code()));
        let Some(corner) = corner else {
            let close = closest_to(&name.to_uppercase(), known).map(str::to_owned);
            let (section, given, known) = (line.key.clone(), cut(name), known.to_vec());
            let elsewhere = None;
            let kind = ProblemKind::UnknownKey { section, given, close, elsewhere, known };
            r.problem(kind, key.span());
            continue;
        };
        let item = Line { key: format!("{}.{corner}", line.key), value };
        if let Some(entry) = reading(r, &item, what) {
            out.of_mut(what).entry(corner).or_insert(entry);
        }
    }
}

fn reading(r: &mut Reader<'_>, line: &Line<'_>, what: RoundWhat) -> Option<Entry<Amount>> {
    let choices = what.limits();
    let text = line.value.get_ref().as_str().unwrap_or_default();
    let reads = choices.iter().find(|limits| parse_amount(text, limits.kind).is_ok());
    let limits = reads.or_else(|| choices.first())?;
    let (kind, low, high, example) = (limits.kind, limits.low, limits.high, limits.example);
    r.amount(line, Limits { kind, low, high, example })
}

fn moves(r: &mut Reader<'_>, line: &Line<'_>) -> Vec<MoveRow> {
    const LIST: &str = "[[\"LR\", \"anchor\", \"-2\"]]";
    let Some(list) = r.list(line, "a list of what was moved", LIST) else { return Vec::new() };
    if MOVES < list.len() {
        let (key, given) = (line.key.clone(), list.len());
        r.problem(ProblemKind::TooManyEntries { key, given, limit: MOVES }, line.value.span());
    }
    let mut out = Vec::new();
    for (i, value) in list.iter().take(MOVES).enumerate() {
        let item = Line { key: format!("{}, entry {}", line.key, i + 1), value };
        out.extend(one_move(r, &item));
    }
    out
}

/// `["LR", "anchor", "-2"]`
fn one_move(r: &mut Reader<'_>, item: &Line<'_>) -> Option<MoveRow> {
    let words: Option<Vec<String>> = item.value.get_ref().as_array().and_then(|list| {
        let words = list.iter().map(|word| match word.get_ref() {
            DeValue::String(text) => Some(text.clone().into_owned()),
            DeValue::Integer(number) => Some(number.to_string()),
            DeValue::Float(number) => Some(number.to_string()),
            _ => None,
        });
        words.collect()
    });
    let parsed = match words.as_deref() {
        Some([corner, what, by]) => MoveRow::parse(&cut(corner), &cut(what), &cut(by)),
        _ => Err("three words are needed: where, what and by how much".to_owned()),
    };
    match parsed {
        Ok(row) => Some(MoveRow { line: r.line_of(&item.value.span()), ..row }),
        Err(why) => {
            let kind = ProblemKind::NotAMove { key: item.key.clone(), why };
            r.problem(kind, item.value.span());
            None
        }
    }
}

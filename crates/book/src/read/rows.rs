//! Rows: the manual's specs, the stands, the readings.

use super::values::{Limits, closest, found};
use super::{Line, Reader};
use crate::builds::{Builds, Dates, RangeFault};
use crate::car_file::{Entry, PlanPoint, Reading, SetAside, Spec, StandRow, Value, same_subject};
use crate::problem::{ProblemKind, cut};
use crate::words::{Arrow, Hung, Lash, ReadingWhat, Seat, SpecWhat};
use axlewright_quantity::{Amount, Corner, Kind, Length, Side};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Rows of one kind: far more than any car has, few enough to compare two by two.
const ROWS: usize = 400;

const SPEC_KEYS: &[&str] = &[
    "what",
    "joint",
    "value",
    "builds",
    "dates",
    "bar_diameter",
    "damper_gas",
    "seat",
    "seat_offset",
    "source",
    "note",
];
const STAND_KEYS: &[&str] = &["name", "at", "top_z", "height", "foot", "friction", "rating"];
const READING_KEYS: &[&str] = &[
    "what",
    "side",
    "corner",
    "value",
    "turned",
    "arrow",
    "hung",
    "lash",
    "seat",
    "seat_offset",
    "date",
    "note",
];
pub(crate) const SIDES: &[&str] = &["left", "right"];
pub(crate) const CORNERS: &[&str] =
    &["left front", "right front", "left rear", "right rear", "LF", "RF", "LR", "RR"];

pub(crate) const OFFSET: Limits =
    Limits { kind: Kind::Angle, low: -15.0, high: 15.0, example: "1.2 deg" };

/// The key that only a method's rows have.
const WHEN: &str = "when";

/// One row, key by key.
pub(super) struct Row<'d> {
    pub(super) name: &'static str,
    table: &'d DeTable<'d>,
    known: &'static [&'static str],
    pub(super) span: Range<usize>,
}

impl<'d> Row<'d> {
    /// A section read like a row.
    pub(super) const fn of_section(
        (name, known): (&'static str, &'static [&'static str]),
        table: &'d DeTable<'d>,
        span: Range<usize>,
    ) -> Self {
        Self { name, table, known, span }
    }

    pub(super) fn get(&self, key: &'static str) -> Option<Line<'d>> {
        let value = self.table.get(key)?;
        Some(Line { key: format!("{}.{key}", self.name), value })
    }

    /// Whether every value is a blank, as in the starter file.
    pub(super) fn is_blank(&self, keys: &[&str]) -> bool {
        keys.iter().all(|key| match self.table.get(*key).map(Spanned::get_ref) {
            None => true,
            Some(DeValue::String(text)) => text.trim().is_empty(),
            Some(DeValue::Array(list)) => list.is_empty(),
            Some(_) => false,
        })
    }

    /// Where a key's value stands; the row, if it has none.
    pub(super) fn span_of(&self, key: &'static str) -> Range<usize> {
        self.get(key).map_or(self.span.clone(), |line| line.value.span())
    }

    pub(super) fn count(
        &self,
        key: &'static str,
        (low, high): (u32, u32),
        example: &str,
        r: &mut Reader<'_>,
    ) -> Option<Entry<u32>> {
        r.count(&self.get(key)?, low, high, example)
    }

    /// Says that a key is missing, unless a slip that has been told of is what hides it.
    pub(super) fn without(&self, key: &'static str, example: &str, r: &mut Reader<'_>) {
        let misspelt = self.table.iter().any(|(own, _)| {
            let own: &str = own.get_ref();
            !self.known.contains(&own) && closest(own, self.known) == Some(key)
        });
        if self.is_blank(&[key]) && !misspelt && !r.has_lost(self.span.start) {
            let kind = ProblemKind::RowWithout { key, example: example.to_owned() };
            r.problem(kind, self.span.clone());
        }
    }

    pub(super) fn flag(&self, key: &'static str, r: &mut Reader<'_>) -> Option<bool> {
        r.flag(&self.get(key)?)
    }

    pub(super) fn amount(
        &self,
        key: &'static str,
        limits: Limits,
        r: &mut Reader<'_>,
    ) -> Option<Entry<Amount>> {
        r.amount(&self.get(key)?, limits)
    }

    pub(super) fn text(
        &self,
        key: &'static str,
        example: &str,
        r: &mut Reader<'_>,
    ) -> Option<Entry<String>> {
        r.words_or_date(&self.get(key)?, example)
    }

    pub(super) fn word<T>(
        &self,
        key: &'static str,
        known: &'static [&'static str],
        from: impl Fn(&str) -> Option<T>,
        r: &mut Reader<'_>,
    ) -> Option<T> {
        from(r.word(&self.get(key)?, known)?.value)
    }
}

/// Goes through the rows of one name.
pub(super) fn each(
    r: &mut Reader<'_>,
    name: &'static str,
    value: &Spanned<DeValue<'_>>,
    known: &'static [&'static str],
    mut read: impl FnMut(&mut Reader<'_>, Row<'_>),
) {
    let DeValue::Array(rows) = value.get_ref() else {
        let found = found(value.get_ref());
        return r.problem(ProblemKind::NotRows { name: name.to_owned(), found }, value.span());
    };
    if ROWS < rows.len() {
        let kind = ProblemKind::TooManyRows { name, count: rows.len(), limit: ROWS };
        r.problem(kind, value.span());
    }
    for row in rows.iter().take(ROWS) {
        let DeValue::Table(table) = row.get_ref() else {
            let found = found(row.get_ref());
            r.problem(ProblemKind::NotRows { name: name.to_owned(), found }, row.span());
            continue;
        };
        if r.answers.as_ref().is_some_and(|answers| !super::method::is_on(table, answers)) {
            continue;
        }
        let has_when = r.answers.is_some();
        for (key, _) in table {
            let own: &str = key.get_ref();
            let is_known = known.contains(&own) || (has_when && own == WHEN);
            if !is_known {
                let section = format!("[{name}]");
                r.unknown_key(&section, key.get_ref(), key.span(), known.to_vec(), None);
            }
        }
        read(r, Row { name, table, known, span: row.span() });
    }
}

fn limits_of(what: SpecWhat) -> Limits {
    let limits = |kind, low, high, example| Limits { kind, low, high, example };
    match what {
        SpecWhat::FreeAngle => limits(Kind::Angle, -30.0, 80.0, "30.0 deg ± 0.5 deg"),
        SpecWhat::Trim => limits(Kind::Length, -300.0, 500.0, "95 mm ± 5 mm"),
        SpecWhat::TrimDifference => limits(Kind::Length, 0.0, 100.0, "5 mm"),
        SpecWhat::Camber => limits(Kind::Angle, -10.0, 10.0, "-0°30' ± 20'"),
        SpecWhat::Toe => limits(Kind::Angle, -10.0, 10.0, "0°06' ± 5'"),
        SpecWhat::CrossWeight => limits(Kind::Ratio, 0.3, 0.7, "50 % ± 0.5 %"),
        // Rings are counted, not measured; only the example is used.
        SpecWhat::DamperRings => limits(Kind::Ratio, 0.0, 40.0, "6"),
        SpecWhat::Torque => limits(Kind::Torque, 0.1, 2000.0, "4.6 kgf m"),
    }
}

pub(super) fn specs(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    let mut spans = Vec::new();
    each(r, "spec", value, SPEC_KEYS, |r, row| {
        if let Some(spec) = spec(r, &row) {
            let same = |old: &&Spec| same_words(old, &spec);
            if let Some(first_line) = r.car.specs.iter().find(same).map(|old| old.line) {
                return r.problem(ProblemKind::SameRow { first_line }, row.span.clone());
            }
            r.car.specs.push(spec);
            spans.push(row.span);
        }
    });
    // One row alone needs no range to be picked; beside others it must say whose it is.
    let without: Vec<_> = (r.car.specs.iter().zip(spans))
        .filter(|(spec, _)| spec.builds.is_none() && spec.dates.is_none())
        .filter(|(spec, _)| r.car.specs.iter().filter(|o| same_subject(spec, o)).count() > 1)
        .map(|(_, span)| span)
        .collect();
    for span in without {
        r.problem(ProblemKind::RowForAll, span);
    }
}

/// Whether a range was written, so that its absence is a problem already told.
fn failed_range(row: &Row<'_>) -> bool {
    !row.is_blank(&["builds", "dates"])
}

fn spec(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Spec> {
    let what = row.word("what", SpecWhat::WORDS, SpecWhat::from_word, r);
    let value = what.and_then(|what| spec_value(r, row, what));
    let joint = row.text("joint", "hub cover", r).map(|e| e.value);
    let builds = builds(r, row);
    let dates = dates(r, row);
    let diameter = Limits { kind: Kind::Length, low: 8.0, high: 60.0, example: "22 mm" };
    let gas = Limits { kind: Kind::Force, low: 0.0, high: 2000.0, example: "0 N" };
    let bar_diameter = row.amount("bar_diameter", diameter, r);
    let damper_gas = row.amount("damper_gas", gas, r);
    let seat = row.word("seat", Seat::WORDS, Seat::from_word, r);
    let seat_offset = row.amount("seat_offset", OFFSET, r);
    let source = row.text("source", "workshop manual, p. 31", r);
    let note = row.text("note", "second edition", r).map(|e| e.value);
    if !row.is_blank(&["value"]) {
        row.without("what", SpecWhat::FreeAngle.word(), r);
    }
    let (what, value) = (what?, value?);
    if what != SpecWhat::FreeAngle {
        only_for_free_angle(r, row, what);
    }
    match (what, &joint) {
        (SpecWhat::Torque, None) => row.without("joint", "hub cover", r),
        (SpecWhat::Torque, Some(joint)) => super::ids::near_joint(r, row, joint),
        (_, None) => {}
        (_, Some(_)) => not_for_row(r, row, "joint", what.word(), "only a torque names its joint"),
    }
    // A range that could not be read leaves open for which cars the row holds: it holds for none.
    if builds.is_none() && dates.is_none() && failed_range(row) {
        return None;
    }
    let line = r.line_of(&row.span);
    Some(Spec {
        what,
        joint,
        value,
        builds,
        dates,
        bar_diameter,
        damper_gas,
        seat,
        seat_offset,
        source,
        note,
        line,
    })
}

fn only_for_free_angle(r: &mut Reader<'_>, row: &Row<'_>, what: SpecWhat) {
    for key in ["bar_diameter", "damper_gas", "seat", "seat_offset"] {
        if !row.is_blank(&[key]) {
            not_for_row(r, row, key, what.word(), "only a free angle depends on it");
        }
    }
}

pub(super) fn not_for_row(
    r: &mut Reader<'_>,
    row: &Row<'_>,
    key: &'static str,
    what: &'static str,
    why: &'static str,
) {
    let Some(line) = row.get(key) else { return };
    let span = line.value.span();
    r.problem(ProblemKind::KeyNotForRow { key: line.key, what, why }, span);
}

fn spec_value(r: &mut Reader<'_>, row: &Row<'_>, what: SpecWhat) -> Option<Entry<Value>> {
    use super::values::with_value;
    let line = row.get("value")?;
    if what == SpecWhat::DamperRings {
        let entry = r.count(&line, 0, 40, "6")?;
        let value = Value::Count(entry.value);
        return Some(with_value(entry, value));
    }
    let entry = r.amount(&line, limits_of(what))?;
    let value = Value::Amount(entry.value);
    Some(with_value(entry, value))
}

fn builds(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Builds> {
    let line = row.get("builds")?;
    let entry = r.words(&line, "2468-3990")?;
    let (key, given) = (line.key, cut(&entry.text));
    let kind = match Builds::parse(&entry.text) {
        Ok(builds) => return Some(builds),
        Err(RangeFault::Unreadable) => ProblemKind::UnreadableBuilds { key, given },
        Err(RangeFault::Backwards) => ProblemKind::RangeBackwards { key, given },
    };
    r.problem(kind, entry.span);
    None
}

fn dates(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Dates> {
    let line = row.get("dates")?;
    let entry = r.words(&line, "1962-08 to 1964-03")?;
    let (key, given) = (line.key, cut(&entry.text));
    let kind = match Dates::parse(&entry.text) {
        Ok(dates) => return Some(dates),
        Err(RangeFault::Unreadable) => ProblemKind::UnreadableDates { key, given },
        Err(RangeFault::Backwards) => ProblemKind::RangeBackwards { key, given },
    };
    r.problem(kind, entry.span);
    None
}

/// Whether two rows were written in the same words.
fn same_words(a: &Spec, b: &Spec) -> bool {
    let text = |e: &Option<Entry<String>>| e.as_ref().map(|e| e.value.clone());
    let amount = |e: &Option<Entry<Amount>>| e.as_ref().map(|e| e.text.clone());
    same_subject(a, b)
        && a.value.text.trim() == b.value.text.trim()
        && (a.builds, a.dates, a.seat) == (b.builds, b.dates, b.seat)
        && amount(&a.bar_diameter) == amount(&b.bar_diameter)
        && amount(&a.damper_gas) == amount(&b.damper_gas)
        && amount(&a.seat_offset) == amount(&b.seat_offset)
        && text(&a.source) == text(&b.source)
        && a.note == b.note
}

pub(super) fn stands(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "stand", value, STAND_KEYS, |r, row| {
        let length = |low, high, example| Limits { kind: Kind::Length, low, high, example };
        let at = row.get("at").and_then(|line| r.plan_point(&line, "20, 450 mm"));
        let stand = StandRow {
            name: row.text("name", "left rear", r),
            at,
            top_z: row.amount("top_z", length(-1500.0, 1500.0, "-120 mm"), r),
            height: row.amount("height", length(50.0, 2000.0, "480 mm"), r),
            foot: row.amount("foot", length(20.0, 600.0, "110 mm"), r),
            friction: row.amount(
                "friction",
                Limits { kind: Kind::Ratio, low: 0.0, high: 1.2, example: "0.2" },
                r,
            ),
            rating: row.amount(
                "rating",
                Limits { kind: Kind::Mass, low: 50.0, high: 20_000.0, example: "1000 kg" },
                r,
            ),
            line: r.line_of(&row.span),
        };
        if row.is_blank(&["at", "top_z", "height", "foot", "friction", "rating"]) {
            return;
        }
        against_others(r, &row, &stand);
        r.car.stands.push(stand);
    });
    let count = r.car.stands.len();
    if !matches!(count, 0 | 3 | 4) {
        r.problem(ProblemKind::StandCount { count }, value.span());
    }
}

/// A stand against those read before it, and its name against its place.
fn against_others(r: &mut Reader<'_>, row: &Row<'_>, stand: &StandRow) {
    let name = stand.name.as_ref().map_or("without a name", |n| n.value.as_str());
    let called = |s: &StandRow| s.name.as_ref().map(|n| n.value.trim().to_lowercase());
    let twin = r.car.stands.iter().find(|s| s.name.is_some() && called(s) == called(stand));
    if let (Some(first_line), Some(own)) = (twin.map(|t| t.line), &stand.name) {
        let kind = ProblemKind::SameName { name: cut(name), first_line };
        r.problem(kind, own.span.clone());
    }
    let Some(at) = &stand.at else { return };
    let near = |p: &PlanPoint| {
        let (dx, dy) = (p.x - at.value.x, p.y - at.value.y);
        dx.to_mm().hypot(dy.to_mm()) < 20.0
    };
    let spot = r.car.stands.iter().find(|s| s.at.as_ref().is_some_and(|p| near(&p.value)));
    if let Some(first_line) = spot.map(|s| s.line) {
        let kind = ProblemKind::SameSpot { name: cut(name), first_line };
        r.problem(kind, row.get("at").map_or(row.span.clone(), |l| l.value.span()));
    }
    let lower = name.to_lowercase();
    let named = Side::BOTH
        .into_iter()
        .find(|side| lower.contains(side.word()) && !lower.contains(side.other().word()));
    let found = if at.value.y < Length::ZERO { Side::Right } else { Side::Left };
    if let Some(named) = named.filter(|named| *named != found && at.value.y != Length::ZERO) {
        let y = crate::problem::shown(at.value.y.into());
        let kind = ProblemKind::StandOnWrongSide { name: cut(name), named, found, y };
        r.problem(kind, at.span.clone());
    }
}

pub(crate) fn reading_limits(what: ReadingWhat) -> Limits {
    let limits = |kind, low, high, example| Limits { kind, low, high, example };
    match what {
        ReadingWhat::SillLevel => limits(Kind::Angle, -30.0, 30.0, "0.3 deg"),
        ReadingWhat::PlateAngle => limits(Kind::Angle, -60.0, 90.0, "35.2 deg"),
        ReadingWhat::Trim => limits(Kind::Length, -300.0, 500.0, "97 mm"),
        ReadingWhat::Camber => limits(Kind::Angle, -15.0, 15.0, "-0.5 deg"),
        ReadingWhat::Toe => limits(Kind::Angle, -15.0, 15.0, "0.1 deg"),
        ReadingWhat::CornerWeight => limits(Kind::Mass, 1.0, 3000.0, "280 kg"),
    }
}

pub(super) fn readings(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "reading", value, READING_KEYS, |r, row| {
        if let Some(reading) = reading(r, &row) {
            r.car.readings.push(reading);
        }
    });
}

fn reading(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Reading> {
    let what = row.word("what", ReadingWhat::WORDS, ReadingWhat::from_word, r);
    let limits = what.map(reading_limits);
    let value = limits.and_then(|limits| row.amount("value", limits, r));
    let turned = limits.and_then(|limits| row.amount("turned", limits, r));
    let side = row.word("side", SIDES, |w| Side::BOTH.into_iter().find(|s| s.word() == w), r);
    let corner = row.word("corner", CORNERS, corner_from, r);
    let arrow = row.word("arrow", Arrow::WORDS, Arrow::from_word, r);
    let hung = row.word("hung", Hung::WORDS, Hung::from_word, r);
    let lash = row.word("lash", Lash::WORDS, Lash::from_word, r);
    let seat = row.word("seat", Seat::WORDS, Seat::from_word, r);
    let seat_offset = row.amount("seat_offset", OFFSET, r);
    let date = row.text("date", "1991-05-04", r).map(|e| e.value);
    let note = row.text("note", "before strip-down", r).map(|e| e.value);
    if !row.is_blank(&["value"]) {
        row.without("what", ReadingWhat::PlateAngle.word(), r);
    }
    let (what, value) = (what?, value?);
    if row.is_blank(&["corner"]) {
        row.without("side", "left", r);
    }
    let is_angle = matches!(what, ReadingWhat::SillLevel | ReadingWhat::PlateAngle);
    for key in ["hung", "lash", "seat", "seat_offset"] {
        if what != ReadingWhat::PlateAngle && !row.is_blank(&[key]) {
            not_for_row(r, row, key, what.word(), "only a plate angle depends on it");
        }
    }
    if !is_angle && !row.is_blank(&["arrow"]) {
        not_for_row(r, row, "arrow", what.word(), "only a level or a plate angle depends on it");
    }
    if let (Some(side), Some(corner)) = (side, corner)
        && corner.side() != side
    {
        let why = "side and corner name different sides: keep one of them";
        not_for_row(r, row, "corner", what.word(), why);
    }
    let side = side.or_else(|| corner.map(Corner::side));
    let corner = corner.or_else(|| side.map(Corner::rear));
    let line = r.line_of(&row.span);
    Some(Reading {
        what,
        side,
        corner,
        value,
        turned,
        arrow,
        hung,
        lash,
        seat,
        seat_offset,
        date,
        note,
        line,
        entry: None,
    })
}

pub(crate) fn corner_from(word: &str) -> Option<Corner> {
    Some(match word {
        "left front" | "LF" => Corner::LeftFront,
        "right front" | "RF" => Corner::RightFront,
        "left rear" | "LR" => Corner::LeftRear,
        "right rear" | "RR" => Corner::RightRear,
        _ => return None,
    })
}

const SET_ASIDE_KEYS: &[&str] = &["check", "reason"];

/// Checks that are to hold nothing back: one name or several, and a reason.
pub(super) fn set_asides(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "set_aside", value, SET_ASIDE_KEYS, |r, row| {
        if row.is_blank(SET_ASIDE_KEYS) {
            return;
        }
        let checks = r.texts(&row, "check", "a list of names", "[\"free-angle\"]");
        let example = "weighed twice: the manual's angle is for the saloon";
        let reason = row.text("reason", example, r);
        row.without("check", "free-angle", r);
        row.without("reason", example, r);
        let (line, checks) = (r.line_of(&row.span), checks.into_iter().map(|(_, e)| e).collect());
        if let Some(reason) = reason {
            r.car.set_aside.push(SetAside { checks, reason, line });
        }
    });
}

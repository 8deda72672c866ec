//! Ids: rows written once for each side, and rows that name each other.
//!
//! A row for each side becomes a left and a right one, `hub-cover-left` and `hub-cover-right`.
//! Where another row for each side names it without a side, the left one means the left one's.
//! Every id that stands in the file is gathered before any row is read, so that a row may name
//! one further down, and one that could not be read itself is not called unknown.

use super::method::{Answers, is_on};
use super::rows::Row;
use super::values::closest_to;
use super::{Line, Reader};
use crate::car_file::{Entry, same_name};
use crate::problem::{ProblemKind, cut};
use axlewright_quantity::Side;
use std::collections::{BTreeMap, BTreeSet};
use toml::de::{DeTable, DeValue};

/// Of this many names that mean nothing the nearest is looked for: it takes time, and a file with
/// more of them has another trouble.
const GUESSES: usize = 100;
/// Names in one list.
const NAMES: usize = 64;
/// Characters of an id.
pub(crate) const LONGEST: usize = 48;
const SIDES: &[&str] = &["each", "left", "right", "none"];
const ENDINGS: [(&str, Whose); 3] = [
    ("-left", Whose::Only(Some(Side::Left))),
    ("-right", Whose::Only(Some(Side::Right))),
    ("-both", Whose::Each),
];

/// For which side of the car a row was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Whose {
    /// For each: two rows in one.
    Each,
    /// For one, or for the car as a whole.
    Only(Option<Side>),
}

impl Whose {
    /// The sides for which a row of its own is made.
    pub(super) const fn sides(self) -> &'static [Option<Side>] {
        match self {
            Self::Each => &[Some(Side::Left), Some(Side::Right)],
            Self::Only(None) => &[None],
            Self::Only(Some(Side::Left)) => &[Some(Side::Left)],
            Self::Only(Some(Side::Right)) => &[Some(Side::Right)],
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Each => "each",
            Self::Only(None) => "none",
            Self::Only(Some(side)) => side.word(),
        }
    }

    fn from_word(word: &str) -> Option<Self> {
        let side = || Side::BOTH.into_iter().find(|side| side.word() == word);
        match word {
            "each" => Some(Self::Each),
            "none" => Some(Self::Only(None)),
            _ => side().map(|side| Self::Only(Some(side))),
        }
    }
}

/// The name of the row that is made of one for each side.
pub(super) fn sided(id: &Entry<String>, whose: Whose, side: Option<Side>) -> Entry<String> {
    let mut own = id.clone();
    if let (Whose::Each, Some(side)) = (whose, side) {
        own.value = one_of(&id.value, side);
    }
    own
}

fn one_of(id: &str, side: Side) -> String {
    format!("{id}-{side}")
}

/// What rows can be named for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Named {
    Joint,
    Part,
    Step,
}

impl Named {
    const ALL: [Self; 3] = [Self::Joint, Self::Part, Self::Step];
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Joint => "joint",
            Self::Part => "part",
            Self::Step => "step",
        }
    }
}

/// Every id of one kind, as written, with the side of its row.
type Written = BTreeMap<String, Whose>;

/// Every name that stands in the file.
#[derive(Debug, Default)]
pub(super) struct Ids {
    joints: Written,
    parts: Written,
    steps: Written,
    joint_names: Vec<String>,
    wrench_names: Vec<String>,
    /// Words of the lines that are not TOML. A name among them may be that of a row.
    lost: BTreeSet<String>,
    /// Ids of a method's rows that the answers switch off.
    off: BTreeSet<String>,
    /// What the method holds, of a car file that follows one.
    held: [Written; 3],
    guesses: usize,
}

impl Ids {
    pub(super) fn of(
        document: &DeTable<'_>,
        lost: &str,
        answers: Option<&Answers>,
        method: Option<&Self>,
    ) -> Self {
        let there = |row: &DeTable<'_>| answers.is_none_or(|answers| is_on(row, answers));
        let texts = |rows: &str, key: &str| -> Vec<(String, Whose)> {
            let rows = document.get(rows).and_then(|rows| rows.get_ref().as_array());
            let tables = rows.into_iter().flatten().filter_map(|row| row.get_ref().as_table());
            let text = |row: &DeTable<'_>, key: &str| {
                let text = row.get(key)?.get_ref().as_str()?.trim();
                (!text.is_empty()).then(|| text.to_owned())
            };
            let whose = |row: &DeTable<'_>| {
                let word = text(row, "side").unwrap_or_default().to_lowercase();
                Whose::from_word(&word).unwrap_or(Whose::Only(None))
            };
            let tables = tables.filter(|row| there(row));
            tables.filter_map(|row| Some((text(row, key)?, whose(row)))).collect()
        };
        let names = |rows, key| texts(rows, key).into_iter().map(|(name, _)| name).collect();
        // Of two rows of one id the first is kept. What is badly spelt counts as well spelt, so
        // that the slip is told once, and not again where the row is named.
        let written = |rows| {
            let all = texts(rows, "id");
            let spelt = |(id, whose): &(String, Whose)| (as_id(id), *whose);
            let spelt: Vec<(String, Whose)> = all.iter().map(spelt).collect();
            spelt.into_iter().rev().chain(all.into_iter().rev()).collect()
        };
        let held = method.map_or_else(Default::default, |method| {
            [method.joints.clone(), method.parts.clone(), method.steps.clone()]
        });
        // A row that changes one of the method's is no row of its own.
        let with_held = |rows, held: &Written| {
            let mut all: Written = written(rows);
            all.retain(|id, _| rows_of(held, id).is_empty());
            all.extend(held.iter().map(|(id, whose)| (id.clone(), *whose)));
            all
        };
        let [joints, parts, steps] = &held;
        Self {
            joints: with_held("joint", joints),
            parts: with_held("part", parts),
            steps: with_held("step", steps),
            joint_names: names("joint", "name"),
            wrench_names: names("wrench", "name"),
            lost: lost.split(|c| !is_id(c)).filter(|w| !w.is_empty()).map(str::to_owned).collect(),
            off: match (answers, method) {
                (Some(answers), _) => switched_off(document, answers),
                (None, Some(method)) => method.off.clone(),
                (None, None) => BTreeSet::new(),
            },
            held,
            guesses: 0,
        }
    }

    /// The rows of the method that an id of the car file stands for, side and all; and whether the
    /// method has it, but not with these answers.
    pub(super) fn held(&self, named: Named, id: &str) -> (Vec<String>, bool) {
        let [joints, parts, steps] = &self.held;
        let held = match named {
            Named::Joint => joints,
            Named::Part => parts,
            Named::Step => steps,
        };
        let rows = rows_of(held, id);
        let follows = self.held.iter().any(|held| !held.is_empty());
        let is_off = follows && rows.is_empty() && self.is_off(named, id);
        (rows, is_off)
    }

    /// Whether a name is that of a row which the answers switch off.
    pub(super) fn is_off(&self, named: Named, id: &str) -> bool {
        let bare = ENDINGS.iter().find_map(|(end, _)| id.strip_suffix(end));
        let key = |id: &str| format!("{} {id}", named.word());
        [Some(id), bare].into_iter().flatten().any(|id| self.off.contains(&key(id)))
    }

    const fn written(&self, named: Named) -> &Written {
        match named {
            Named::Joint => &self.joints,
            Named::Part => &self.parts,
            Named::Step => &self.steps,
        }
    }
}

/// The ids, side and all, of the rows that an id stands for.
fn rows_of(held: &Written, id: &str) -> Vec<String> {
    match held.get(id) {
        Some(Whose::Each) => Side::BOTH.iter().map(|side| one_of(id, *side)).collect(),
        Some(Whose::Only(_)) => vec![id.to_owned()],
        None => {
            let of_each =
                ENDINGS.iter().filter(|(_, whose)| *whose != Whose::Each).any(|(end, _)| {
                    id.strip_suffix(end).is_some_and(|id| held.get(id) == Some(&Whose::Each))
                });
            if of_each { vec![id.to_owned()] } else { Vec::new() }
        }
    }
}

/// Ids of rows that are not there with these answers, each with what it is an id of.
fn switched_off(document: &DeTable<'_>, answers: &Answers) -> BTreeSet<String> {
    let mut off = BTreeSet::new();
    for named in Named::ALL {
        let rows = document.get(named.word()).and_then(|rows| rows.get_ref().as_array());
        let tables = rows.into_iter().flatten().filter_map(|row| row.get_ref().as_table());
        let ids = |is_wanted: bool| {
            let wanted = tables.clone().filter(move |row| is_on(row, answers) == is_wanted);
            wanted.filter_map(|row| row.get("id")?.get_ref().as_str())
        };
        let on: BTreeSet<&str> = ids(true).collect();
        let gone = ids(false).filter(|id| !on.contains(id));
        off.extend(gone.map(|id| format!("{} {id}", named.word())));
    }
    off
}

/// What a name stands for: the row's name as written, and whether its side was named.
enum Meant {
    /// A row for each side, and the side or sides named with it, if any.
    Each(String, Option<Whose>),
    /// A row of its own.
    One(String, Option<Side>),
}

impl Ids {
    fn meant(&self, named: Named, given: &str) -> Option<Meant> {
        let written = self.written(named);
        match written.get(given) {
            Some(Whose::Each) => return Some(Meant::Each(given.to_owned(), None)),
            Some(Whose::Only(side)) => return Some(Meant::One(given.to_owned(), *side)),
            None => {}
        }
        let (id, whose) =
            ENDINGS.iter().find_map(|(end, w)| given.strip_suffix(end).map(|id| (id, *w)))?;
        let is_each = written.get(id) == Some(&Whose::Each);
        is_each.then(|| Meant::Each(id.to_owned(), Some(whose)))
    }
}

/// Whether a list may name what is on the other side than its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Across {
    Allowed,
    Wrong,
}

/// Names of one list, for the rows that are made of the one they stand in: for each of
/// [`Whose::sides`] its own.
pub(super) type PerSide = Vec<Vec<Entry<String>>>;

impl Reader<'_> {
    /// The id of a row, and the sides for which it was written; a problem if it has none.
    pub(super) fn id(
        &mut self,
        row: &Row<'_>,
        named: Named,
        example: &str,
    ) -> Option<(Entry<String>, Whose)> {
        let whose = match row.get("side") {
            Some(_) if row.is_blank(&["side"]) => Some(Whose::Only(None)),
            Some(_) => row.word("side", SIDES, Whose::from_word, self),
            None => Some(Whose::Only(None)),
        };
        if row.is_blank(&["id"]) {
            row.without("id", example, self);
            return None;
        }
        let line = row.get("id")?;
        let mut id = self.words(&line, example)?;
        id.value = id.value.trim().to_owned();
        let fixed = as_id(&id.value);
        if fixed != id.value || LONGEST < fixed.len() {
            let (key, given) = (line.key, cut(&id.value));
            let fixed = if LONGEST < fixed.len() { String::new() } else { fixed };
            self.problem(ProblemKind::BadId { key, given, fixed }, id.span);
            return None;
        }
        let whose = whose?;
        self.ending_fits(&line, &id, whose).then_some(())?;
        self.is_new(named, &id, whose).then_some((id, whose))
    }

    /// An id may end in a side only if it is the row's own.
    fn ending_fits(&mut self, line: &Line<'_>, id: &Entry<String>, whose: Whose) -> bool {
        let found = ENDINGS.iter().find(|(end, _)| id.value.ends_with(end));
        let Some((end, side)) = found.filter(|(_, side)| *side != whose || whose == Whose::Each)
        else {
            return true;
        };
        let bare = id.value.strip_suffix(end).unwrap_or_default();
        let fixed = match side {
            _ if bare.is_empty() => "hub-cover".to_owned(),
            _ => bare.to_owned(),
        };
        let (key, given, side) = (line.key.clone(), cut(&id.value), whose.word());
        self.problem(ProblemKind::IdNamesSide { key, given, side, fixed }, id.span.clone());
        false
    }

    fn is_new(&mut self, named: Named, id: &Entry<String>, whose: Whose) -> bool {
        for side in whose.sides() {
            let own = sided(id, whose, *side).value;
            let twin = |twin: &Entry<String>| (twin.value == own).then_some(twin.line);
            let first_line = match named {
                Named::Joint => self.car.joints.iter().find_map(|j| twin(&j.id)),
                Named::Part => self.car.parts.iter().find_map(|p| twin(&p.id)),
                Named::Step => self.car.steps.iter().find_map(|s| twin(&s.id)),
            };
            if let Some(first_line) = first_line {
                let kind = ProblemKind::SameId { id: own, what: named.word(), first_line };
                self.problem(kind, id.span.clone());
                return false;
            }
        }
        true
    }

    /// The items of a list of texts; one text alone is a list of one. Blanks in it are problems.
    pub(super) fn texts(
        &mut self,
        row: &Row<'_>,
        key: &'static str,
        what: &'static str,
        example: &str,
    ) -> Vec<(String, Entry<String>)> {
        let Some(line) = row.get(key) else { return Vec::new() };
        if line.value.get_ref().is_str() {
            let only = self.words(&line, example);
            return only.into_iter().map(|text| (line.key.clone(), text)).collect();
        }
        let Some(list) = self.list(&line, what, example) else { return Vec::new() };
        if NAMES < list.len() {
            let (key, given) = (line.key.clone(), list.len());
            let kind = ProblemKind::TooManyEntries { key, given, limit: NAMES };
            self.problem(kind, line.value.span());
        }
        let mut out = Vec::new();
        for (i, value) in list.iter().take(NAMES).enumerate() {
            let item = Line { key: format!("{}, entry {}", line.key, i + 1), value };
            match self.words(&item, example.trim_matches(['[', ']', '"'])) {
                Some(text) => out.push((item.key, text)),
                None if value.get_ref().is_str() => {
                    self.problem(ProblemKind::BlankInList { key: item.key }, value.span());
                }
                None => {}
            }
        }
        out
    }

    /// A list of names of rows, for each row that is made of this one.
    pub(super) fn names(
        &mut self,
        row: &Row<'_>,
        key: &'static str,
        named: Named,
        (whose, across): (Whose, Across),
    ) -> PerSide {
        let mut out = vec![Vec::new(); whose.sides().len()];
        let (what, example) = match named {
            Named::Joint => ("a list of ids of joints", "[\"hub-cover\"]"),
            Named::Part => ("a list of ids of parts", "[\"plate\"]"),
            Named::Step => ("a list of ids of steps", "[\"plate-on\"]"),
        };
        for (key, entry) in self.texts(row, key, what, example) {
            self.name(&key, &entry, named, (whose, across), &mut out);
        }
        out
    }

    fn name(
        &mut self,
        key: &str,
        entry: &Entry<String>,
        named: Named,
        (whose, across): (Whose, Across),
        out: &mut PerSide,
    ) {
        let given = entry.value.trim();
        let Some(meant) = self.ids.meant(named, given) else {
            return self.unknown_id(key, entry, named);
        };
        for (side, names) in whose.sides().iter().zip(out) {
            let ids = match (&meant, side) {
                (Meant::One(id, other), _) => vec![(id.clone(), *other)],
                (Meant::Each(id, Some(of)), _) => of_sides(id, of.sides()),
                (Meant::Each(id, None), Some(side)) => of_sides(id, &[Some(*side)]),
                (Meant::Each(_, None), None) => {
                    let (key, given) = (key.to_owned(), given.to_owned());
                    let kind = ProblemKind::WhichSide { key, given, both: true };
                    return self.problem(kind, entry.span.clone());
                }
            };
            for (id, of) in ids {
                if let (Across::Wrong, Some(side), Some(of)) = (across, *side, of)
                    && side != of
                {
                    let (key, given) = (key.to_owned(), given.to_owned());
                    let kind = ProblemKind::OtherSide { key, given, side };
                    return self.problem(kind, entry.span.clone());
                }
                if names.iter().any(|old| old.value == id) {
                    let (key, given) = (key.to_owned(), given.to_owned());
                    return self
                        .problem(ProblemKind::NamedTwice { key, given }, entry.span.clone());
                }
                names.push(Entry { value: id, ..entry.clone() });
            }
        }
    }

    /// The one row a name stands for.
    pub(super) fn one_name(&mut self, line: &Line<'_>, named: Named) -> Option<Entry<String>> {
        let entry = self.words(line, "hub-cover-left")?;
        let given = entry.value.trim();
        let value = match self.ids.meant(named, given) {
            None => {
                self.unknown_id(&line.key, &entry, named);
                return None;
            }
            Some(Meant::One(id, _)) => id,
            Some(Meant::Each(id, Some(Whose::Only(Some(side))))) => one_of(&id, side),
            Some(Meant::Each(id, _)) => {
                let kind = ProblemKind::WhichSide { key: line.key.clone(), given: id, both: false };
                self.problem(kind, entry.span);
                return None;
            }
        };
        Some(Entry { value, ..entry })
    }

    fn unknown_id(&mut self, key: &str, entry: &Entry<String>, named: Named) {
        let given = entry.value.trim();
        let bare = ENDINGS.iter().find_map(|(end, _)| given.strip_suffix(end));
        if [Some(given), bare].into_iter().flatten().any(|id| self.ids.lost.contains(id)) {
            return;
        }
        // A method names what other answers would switch on.
        if self.answers.is_some() && self.ids.is_off(named, given) {
            return;
        }
        let is = Named::ALL.into_iter().find(|n| self.ids.meant(*n, given).is_some());
        let close = if is.is_some() { None } else { self.close_id(given, named) };
        let all = self.ids.written(named);
        let known: Vec<String> = all.keys().take(ProblemKind::FEW).cloned().collect();
        let more = all.len() - known.len();
        let (key, given, what) = (key.to_owned(), cut(given), named.word());
        let is = is.map(Named::word);
        let kind = ProblemKind::UnknownId { key, given, what, is, close, known, more };
        self.problem(kind, entry.span.clone());
    }

    /// The id that was probably meant, with the side that was named.
    fn close_id(&mut self, given: &str, named: Named) -> Option<String> {
        self.ids.guesses += 1;
        if GUESSES < self.ids.guesses || LONGEST < given.len() {
            return None;
        }
        let wanted = as_id(given);
        let with_end = ENDINGS.iter().find_map(|(end, _)| {
            let bare = wanted.strip_suffix(end)?;
            Some((bare, *end))
        });
        let all: Vec<&str> = self.ids.written(named).keys().map(String::as_str).collect();
        if let Some(id) = closest_to(&wanted, &all) {
            return Some(id.to_owned());
        }
        let (bare, end) = with_end?;
        let is_each = |id: &&str| self.ids.written(named).get(*id) == Some(&Whose::Each);
        let each: Vec<&str> = all.into_iter().filter(is_each).collect();
        closest_to(bare, &each).map(|id| format!("{id}{end}"))
    }

    /// A name that need not be one of these, and is nearly.
    fn near_name(&mut self, line: &Line<'_>, given: &str, known: &[String]) {
        if known.iter().any(|name| same_name(name, given)) {
            return;
        }
        self.ids.guesses += 1;
        if GUESSES < self.ids.guesses {
            return;
        }
        let lower: Vec<String> = known.iter().map(|name| name.trim().to_lowercase()).collect();
        let choice: Vec<&str> = lower.iter().map(String::as_str).collect();
        let close = closest_to(&given.trim().to_lowercase(), &choice);
        let at = close.and_then(|close| lower.iter().position(|name| name == close));
        if let Some(close) = at.and_then(|at| known.get(at)) {
            let (key, given, close) = (line.key.clone(), cut(given), cut(close));
            self.problem(ProblemKind::NearName { key, given, close }, line.value.span());
        }
    }

    /// Whether the wrench is one that the owner has; a borrowed one may be called anything.
    pub(super) fn near_wrench(&mut self, line: &Line<'_>, given: &str) {
        let known = self.ids.wrench_names.clone();
        self.near_name(line, given, &known);
    }
}

/// Whether a row of the manual speaks of a joint of this file; the manual's list is longer.
pub(super) fn near_joint(r: &mut Reader<'_>, row: &Row<'_>, given: &str) {
    let Some(line) = row.get("joint") else { return };
    if r.ids.meant(Named::Joint, given.trim()).is_none() {
        let ids = r.ids.joints.keys().cloned();
        let known: Vec<String> = r.ids.joint_names.iter().cloned().chain(ids).collect();
        r.near_name(&line, given, &known);
    }
}

fn of_sides(id: &str, sides: &[Option<Side>]) -> Vec<(String, Option<Side>)> {
    let one = |side: &Option<Side>| side.map(|side| (one_of(id, side), Some(side)));
    sides.iter().filter_map(one).collect()
}

/// What a text would be as an id.
pub(crate) fn as_id(text: &str) -> String {
    let mut out = String::new();
    for c in text.trim().chars() {
        match c {
            'a'..='z' | '0'..='9' => out.push(c),
            'A'..='Z' => out.push(c.to_ascii_lowercase()),
            ' ' | '_' | '-' | '.' | '/' if !out.is_empty() && !out.ends_with('-') => out.push('-'),
            _ => {}
        }
    }
    out.truncate(out.trim_end_matches('-').len());
    out
}

/// Whether a character may stand in an id.
const fn is_id(c: char) -> bool {
    matches!(c, 'a'..='z' | '0'..='9' | '-')
}

/// Whether a value is a text with nothing in it.
pub(super) fn is_blank(value: &DeValue<'_>) -> bool {
    value.as_str().is_some_and(|text| text.trim().is_empty())
}

//! Rows: parts and steps; and the two sections that say what time costs and when there is some.

use super::ids::{Across, Named, PerSide, Whose, is_blank, sided};
use super::method::Held;
use super::rows::{Row, each, not_for_row};
use super::values::{Limits, closest_to, found, with_value};
use super::{Line, Reader};
use crate::calendar::{Day, Session};
use crate::car_file::{Entry, same_name};
use crate::problem::{ProblemKind, cut};
use crate::step::{CalendarRows, Changeover, PartRow, Step, Way};
use crate::words::{Act, Hands, PartKind, PartState, Phase, Position, Spanning, Weekday};
use axlewright_quantity::{Kind, Side};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const PART_KEYS: &[&str] =
    &["id", "name", "kind", "side", "state", "back_in_days", "handed", "spans", "note", "strike"];
const STEP_KEYS: &[&str] = &[
    "id",
    "phase",
    "words",
    "does",
    "side",
    "station",
    "minutes",
    "people",
    "hands",
    "tool",
    "arm",
    "arm_at",
    "needs",
    "fits",
    "removes",
    "snug",
    "torques",
    "after",
    "hold",
    "reading",
    "caution",
    "right_after",
    "place",
    "strike",
];
/// What a car file may say of a step of its method.
const OVER_STEP: &[&str] = &["id", "strike", "words", "minutes", "people", "tool", "after"];
const CHANGEOVER_KEYS: &[&str] = &["walk", "jack", "wash", "tool", "walk_between"];
const CALENDAR_KEYS: &[&str] = &["start", "sessions", "helper"];

/// Minutes of one step: up to a whole day.
pub(crate) const STEP_MINUTES: (u32, u32) = (1, 24 * 60);
/// Minutes of a change from one thing to another.
const CHANGE_MINUTES: (u32, u32) = (0, 240);
/// Ways between stations.
const WAYS: usize = 200;
/// Stations that lie on no side of the car, so that a step for each side is done there twice.
const OF_NO_SIDE: &[&str] =
    &["bench", "shelf", "cabin", "pedals", "nose", "tail", "road", "round the car"];

const ARM_AT: Limits = Limits { kind: Kind::Angle, low: -45.0, high: 60.0, example: "11 deg" };

pub(super) fn parts(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "part", value, PART_KEYS, |r, row| {
        if row.is_blank(PART_KEYS) {
            return;
        }
        match r.held(&row, Named::Part) {
            Held::Own => r.own_is_not_struck(&row),
            Held::Rows(ids) => return part_over(r, &row, &ids),
            Held::Off => return,
        }
        let id = r.id(&row, Named::Part, "plate");
        let name = row.text("name", "spring plate", r);
        let kind = row.word("kind", PartKind::WORDS, PartKind::from_word, r);
        let state = row.word("state", PartState::WORDS, PartState::from_word, r);
        let back_in_days = row.count("back_in_days", (0, 730), "12", r);
        let handed = row.flag("handed", r).unwrap_or(false);
        let spans = row.word("spans", Spanning::WORDS, Spanning::from_word, r);
        let note = row.text("note", "at the plater", r);
        if state != Some(PartState::Out) && !row.is_blank(&["back_in_days"]) {
            let what = state.map_or("a part whose state is not said", |state| match state {
                PartState::OnTheBench => "a part on the bench",
                PartState::Fitted => "a fitted part",
                PartState::Out => "a part that is out",
            });
            not_for_row(r, &row, "back_in_days", what, "only what is out comes back");
        }
        let Some((id, whose)) = id else { return };
        let line = r.line_of(&row.span);
        for side in whose.sides() {
            let (id, side, name) = (sided(&id, whose, *side), *side, name.clone());
            let (back_in_days, note) = (back_in_days.clone(), note.clone());
            let (entry, against_hand) = (None, None);
            r.car.parts.push(PartRow {
                id,
                name,
                kind,
                side,
                state,
                back_in_days,
                handed,
                against_hand,
                spans,
                note,
                line,
                entry,
            });
        }
    });
}

pub(super) fn steps(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "step", value, STEP_KEYS, |r, row| {
        if row.is_blank(STEP_KEYS) {
            return;
        }
        match r.held(&row, Named::Step) {
            Held::Own => {
                r.own_is_not_struck(&row);
                step(r, &row);
            }
            Held::Rows(ids) => step_over(r, &row, &ids),
            Held::Off => {}
        }
    });
}

/// What the car file says of a part of its method.
fn part_over(r: &mut Reader<'_>, row: &Row<'_>, ids: &[String]) {
    if r.is_struck(row, Named::Part, ids) {
        return;
    }
    for key in ["side", "spans"].into_iter().filter(|key| !row.is_blank(&[key])) {
        not_for_row(r, row, key, "a part of the method", "the method says it");
    }
    let name = row.text("name", "spring plate", r);
    let kind = row.word("kind", PartKind::WORDS, PartKind::from_word, r);
    let state = row.word("state", PartState::WORDS, PartState::from_word, r);
    let back_in_days = row.count("back_in_days", (0, 730), "12", r);
    let handed = row.flag("handed", r);
    let note = row.text("note", "at the plater", r);
    if state != Some(PartState::Out) && !row.is_blank(&["back_in_days"]) {
        not_for_row(r, row, "back_in_days", NOT_OUT, "only what is out comes back");
    }
    let line = r.line_of(&row.span);
    for part in r.car.parts.iter_mut().filter(|part| ids.contains(&part.id.value)) {
        part.name = name.clone().or_else(|| part.name.take());
        part.kind = kind.or(part.kind);
        part.state = state.or(part.state);
        part.back_in_days.clone_from(&back_in_days);
        part.handed = handed.unwrap_or(part.handed);
        part.note = note.clone().or_else(|| part.note.take());
        part.line = line;
    }
}

const NOT_OUT: &str = "a part that is not said to be out";

/// What the car file says of a step of its method.
fn step_over(r: &mut Reader<'_>, row: &Row<'_>, ids: &[String]) {
    if r.is_struck(row, Named::Step, ids) {
        return;
    }
    for key in STEP_KEYS.iter().filter(|key| !OVER_STEP.contains(key) && !row.is_blank(&[key])) {
        let why = "to do it otherwise strike the step and write your own";
        not_for_row(r, row, key, "a step of the method", why);
    }
    let words = row.text("words", "plate on its bar, mark to mark", r);
    let minutes = row.count("minutes", STEP_MINUTES, "10", r);
    let people = row.count("people", (1, 8), "1", r);
    let tool = row.text("tool", "torque wrench", r);
    for id in ids {
        let side = r.car.steps.iter().find(|s| s.id.value == *id).and_then(|s| s.side);
        let after = r.names(row, "after", Named::Step, (Whose::Only(side), Across::Allowed));
        let after: Vec<Entry<String>> = after.into_iter().flatten().collect();
        if let Some(same) = after.iter().find(|name| name.value == *id) {
            r.problem(ProblemKind::AfterItself { id: id.clone() }, same.span.clone());
        }
        let Some(step) = r.car.steps.iter_mut().find(|step| step.id.value == *id) else { continue };
        step.words = words.clone().unwrap_or_else(|| step.words.clone());
        step.minutes = minutes.clone().or_else(|| step.minutes.take());
        step.people = people.clone().or_else(|| step.people.take());
        step.tool = tool.clone().or_else(|| step.tool.take());
        for name in after {
            let fresh = step.after.iter().all(|had| had.value != name.value);
            if fresh && name.value != *id {
                step.after.push(name);
            }
        }
    }
}

impl Reader<'_> {
    /// Whether a row strikes what the method holds.
    pub(super) fn is_struck(&mut self, row: &Row<'_>, named: Named, ids: &[String]) -> bool {
        let is_struck = row.flag("strike", self) == Some(true);
        if is_struck {
            self.struck.extend(ids.iter().map(|id| (named, id.clone())));
        }
        is_struck
    }

    /// Only what the method holds can be struck.
    pub(super) fn own_is_not_struck(&mut self, row: &Row<'_>) {
        if !row.is_blank(&["strike"]) {
            let why = "only what the method holds is struck: take your own row out";
            not_for_row(self, row, "strike", "the file's own", why);
        }
    }
}

/// The lists of one step, for each row that is made of it.
struct Lists {
    needs: PerSide,
    snug: PerSide,
    torques: PerSide,
    after: PerSide,
}

fn step(r: &mut Reader<'_>, row: &Row<'_>) {
    let id = r.id(row, Named::Step, "plate-on");
    let phase = row.word("phase", Phase::WORDS, Phase::from_word, r);
    let words = row.text("words", "plate on its bar, mark to mark", r);
    row.without("phase", "assembly", r);
    row.without("words", "plate on its bar, mark to mark", r);
    let whose = id.as_ref().map_or(Whose::Only(None), |(_, whose)| *whose);
    let lists = id.is_some().then(|| lists(r, row, whose));
    let fits = spanning(r, row, "fits");
    let removes = spanning(r, row, "removes");
    let does = acts(r, row);
    fits_or_removes(r, &fits, &removes);
    let line = r.line_of(&row.span);
    let nothing =
        || Entry { value: String::new(), spread: None, text: String::new(), line, span: 0..0 };
    let step = Step {
        id: nothing(),
        phase: phase.unwrap_or(Phase::BeforeStripDown),
        words: words.clone().unwrap_or_else(nothing),
        does,
        side: None,
        station: station(r, row, whose),
        minutes: row.count("minutes", STEP_MINUTES, "10", r),
        people: row.count("people", (1, 8), "1", r),
        hands: row.word("hands", Hands::WORDS, Hands::from_word, r),
        tool: row.text("tool", "torque wrench", r),
        arm: row.word("arm", Position::WORDS, Position::from_word, r),
        arm_at: row.amount("arm_at", ARM_AT, r),
        needs: Vec::new(),
        fits,
        removes,
        snug: Vec::new(),
        torques: Vec::new(),
        after: Vec::new(),
        hold: row.flag("hold", r).unwrap_or(false),
        reading: row.text("reading", "trim as the car came", r),
        caution: row.text("caution", "the bar is loaded: stay clear of the plate", r),
        place: row.word("place", Phase::WORDS, Phase::from_word, r),
        line,
    };
    if !row.is_blank(&["arm"]) && !row.is_blank(&["arm_at"]) {
        let why = "it says how the arm stands a second time: keep one of the two";
        not_for_row(r, row, "arm_at", "a step with `arm`", why);
    }
    if let (Some((id, whose)), Some(lists), Some(_), Some(_)) = (id, lists, phase, words) {
        each_side(r, &step, (&id, whose), lists);
    }
}

fn lists(r: &mut Reader<'_>, row: &Row<'_>, whose: Whose) -> Lists {
    let mut after = r.names(row, "after", Named::Step, (whose, Across::Allowed));
    // What the right one of a step for each side comes after besides.
    if !row.is_blank(&["right_after"]) {
        let right = (Whose::Only(Some(Side::Right)), Across::Allowed);
        let more = r.names(row, "right_after", Named::Step, right);
        match (whose, after.last_mut()) {
            (Whose::Each, Some(own)) => own.extend(more.into_iter().flatten()),
            _ => {
                let why = "it says what the right one of two comes after: write it in `after`";
                not_for_row(r, row, "right_after", "a step that is not for each side", why);
            }
        }
    }
    Lists {
        needs: r.names(row, "needs", Named::Part, (whose, Across::Wrong)),
        snug: r.names(row, "snug", Named::Joint, (whose, Across::Wrong)),
        torques: r.names(row, "torques", Named::Joint, (whose, Across::Wrong)),
        after,
    }
}

fn each_side(r: &mut Reader<'_>, step: &Step, (id, whose): (&Entry<String>, Whose), lists: Lists) {
    let Lists { needs, snug, torques, after } = lists;
    let lists = needs.into_iter().zip(snug).zip(torques).zip(after);
    for (side, (((needs, snug), torques), after)) in whose.sides().iter().zip(lists) {
        let id = sided(id, whose, *side);
        let itself = after.iter().find(|name| name.value == id.value);
        if let Some(span) = itself.map(|name| name.span.clone()) {
            r.problem(ProblemKind::AfterItself { id: id.value.clone() }, span);
        }
        let after = after.into_iter().filter(|name| name.value != id.value).collect();
        let station = step.station.clone().map(|station| match (whose, side) {
            (Whose::Each, Some(side)) => {
                let value = station_of(&station.value, *side);
                Entry { value, ..station }
            }
            _ => station,
        });
        let step = step.clone();
        r.car.steps.push(Step { id, side: *side, station, needs, snug, torques, after, ..step });
    }
}

/// The words for what reaches from body to arm.
fn spanning(r: &mut Reader<'_>, row: &Row<'_>, key: &'static str) -> Vec<Entry<Spanning>> {
    let what = ("a list of what reaches from body to arm", "[\"damper\"]");
    let twice = Repeats::Wrong;
    listed(r, row, (key, what, twice), (Spanning::from_word, Spanning::WORDS))
}

/// The words for what a step does. Raising and letting down may come twice in one step.
fn acts(r: &mut Reader<'_>, row: &Row<'_>) -> Vec<Entry<Act>> {
    let what = ("a list of what the step does", "[\"holds\", \"raises\"]");
    listed(r, row, ("does", what, Repeats::Allowed), (Act::from_word, Act::WORDS))
}

/// Whether a word may stand in a list twice.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Repeats {
    Allowed,
    Wrong,
}

/// A key, what it lists with an example, and whether words may repeat.
type ListKey = (&'static str, (&'static str, &'static str), Repeats);

/// How a word is read, and the words there are.
type Vocabulary<W> = (fn(&str) -> Option<W>, &'static [&'static str]);

/// A list of words of one kind.
fn listed<W: Copy + PartialEq>(
    r: &mut Reader<'_>,
    row: &Row<'_>,
    (key, (what, example), repeats): ListKey,
    (from_word, known): Vocabulary<W>,
) -> Vec<Entry<W>> {
    let mut out: Vec<Entry<W>> = Vec::new();
    for (key, entry) in r.texts(row, key, what, example) {
        let word = from_word(&entry.value);
        let given = cut(entry.value.trim());
        let fresh = |word: W| repeats == Repeats::Allowed || out.iter().all(|o| o.value != word);
        let kind = match word {
            Some(word) if fresh(word) => {
                out.push(with_value(entry, word));
                continue;
            }
            Some(_) => ProblemKind::NamedTwice { key, given },
            None => {
                let close = closest_to(&entry.value.trim().to_lowercase(), known);
                ProblemKind::UnknownWord { key, given, close, known }
            }
        };
        r.problem(kind, entry.span);
    }
    out
}

fn fits_or_removes(r: &mut Reader<'_>, fits: &[Entry<Spanning>], removes: &[Entry<Spanning>]) {
    for removed in removes {
        if fits.iter().any(|fitted| fitted.value == removed.value) {
            let what = removed.value.word();
            r.problem(ProblemKind::FitsAndRemoves { what }, removed.span.clone());
        }
    }
}

/// Where one stands, in small letters and single blanks, so that one place has one name. The side
/// of a step for each is still missing.
fn station(r: &mut Reader<'_>, row: &Row<'_>, whose: Whose) -> Option<Entry<String>> {
    let mut entry = row.text("station", "left rear", r)?;
    entry.value = as_station(&entry.value);
    let wrong = |side: &Side| match whose {
        Whose::Each => true,
        Whose::Only(own) => own == Some(side.other()),
    };
    let named = |side: &Side| entry.value.split(' ').any(|word| word == side.word());
    if Side::BOTH.iter().any(|side| named(side) && wrong(side)) {
        let (key, given) = ("step.station".to_owned(), cut(&entry.value));
        let side = match whose {
            Whose::Each => "each",
            Whose::Only(side) => side.map_or("none", Side::word),
        };
        let kind = ProblemKind::StationNamesSide { key, given, side };
        r.problem(kind, entry.span);
        return None;
    }
    Some(entry)
}

fn as_station(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// A station with the side it is on.
fn station_of(station: &str, side: Side) -> String {
    match station {
        "front" | "rear" => format!("{side} {station}"),
        _ if OF_NO_SIDE.contains(&station) => station.to_owned(),
        _ => format!("{station} {side}"),
    }
}

/// Names of rows that could not be read have been told of; they are taken out of the lists.
pub(super) fn only_what_is_there(r: &mut Reader<'_>) {
    let of = |ids: &mut dyn Iterator<Item = &String>| {
        ids.cloned().collect::<std::collections::BTreeSet<String>>()
    };
    let joints = of(&mut r.car.joints.iter().map(|joint| &joint.id.value));
    let parts = of(&mut r.car.parts.iter().map(|part| &part.id.value));
    let steps = of(&mut r.car.steps.iter().map(|step| &step.id.value));
    for step in &mut r.car.steps {
        let lists = [
            (&mut step.needs, &parts),
            (&mut step.snug, &joints),
            (&mut step.torques, &joints),
            (&mut step.after, &steps),
        ];
        for (list, there) in lists {
            list.retain(|name| there.contains(&name.value));
        }
    }
}

/// Goes through the keys of a section that is no section of fields.
fn keys<'d>(
    r: &mut Reader<'_>,
    name: &'static str,
    value: &'d Spanned<DeValue<'d>>,
    known: &[&'static str],
) -> Option<&'d DeTable<'d>> {
    let table = r.table(name, name, value)?;
    for (key, _) in table {
        if !known.contains(&key.get_ref().as_ref()) {
            r.unknown_key(name, key.get_ref(), key.span(), known.to_vec(), None);
        }
    }
    Some(table)
}

pub(super) fn changeover(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    let Some(table) = keys(r, "changeover", value, CHANGEOVER_KEYS) else { return };
    let (low, high) = CHANGE_MINUTES;
    let minutes = |r: &mut Reader<'_>, key: &str, example: &str| {
        let line = Line { key: format!("changeover.{key}"), value: table.get(key)? };
        r.count(&line, low, high, example)
    };
    let read = Changeover {
        walk: minutes(r, "walk", "1"),
        jack: minutes(r, "jack", "6"),
        wash: minutes(r, "wash", "3"),
        tool: minutes(r, "tool", "1"),
        walk_between: ways(r, table),
        line: r.line_of(&value.span()),
    };
    if read != (Changeover { line: read.line, ..Changeover::default() }) {
        r.car.changeover = Some(read);
    }
}

fn ways(r: &mut Reader<'_>, table: &DeTable<'_>) -> Vec<Way> {
    const EXAMPLE: &str = "[[\"left rear\", \"right rear\", 2]]";
    let Some(value) = table.get("walk_between") else { return Vec::new() };
    let line = Line { key: "changeover.walk_between".to_owned(), value };
    let Some(list) = r.list(&line, "a list of ways", EXAMPLE) else { return Vec::new() };
    if WAYS < list.len() {
        let (key, given) = (line.key.clone(), list.len());
        r.problem(ProblemKind::TooManyEntries { key, given, limit: WAYS }, value.span());
    }
    let mut out: Vec<Way> = Vec::new();
    for (i, value) in list.iter().take(WAYS).enumerate() {
        let item = Line { key: format!("{}, entry {}", line.key, i + 1), value };
        let Some(way) = way(r, &item) else { continue };
        let same = |old: &&Way| {
            [(&old.one, &old.other), (&old.other, &old.one)].contains(&(&way.one, &way.other))
        };
        if let Some(first_line) = out.iter().find(same).map(|old| old.line) {
            let Way { one, other, .. } = way;
            r.problem(ProblemKind::SameWay { one, other, first_line }, value.span());
        } else {
            out.push(way);
        }
    }
    out
}

/// `["left rear", "right rear", 2]`
fn way(r: &mut Reader<'_>, item: &Line<'_>) -> Option<Way> {
    let list = item.value.get_ref().as_array();
    let Some([one, other, minutes]) = list.map(|list| list.get(..).unwrap_or_default()) else {
        let found = match list.map(|list| list.len()) {
            None => found(item.value.get_ref()),
            Some(0..3) => "a list of less than three",
            Some(_) => "a list of more than three",
        };
        let kind = ProblemKind::NotAWay { key: item.key.clone(), found };
        r.problem(kind, item.value.span());
        return None;
    };
    let line = |value| Line { key: item.key.clone(), value };
    let one = way_end(r, &line(one));
    let other = way_end(r, &line(other));
    let (low, high) = CHANGE_MINUTES;
    let minutes = r.count(&line(minutes), low, high, "2");
    let (one, other, minutes) = (one?, other?, minutes?.value);
    if one == other {
        r.problem(ProblemKind::WayToItself { station: one }, item.value.span());
        return None;
    }
    Some(Way { one, other, minutes, line: r.line_of(&item.value.span()) })
}

/// A station at the end of a way: one at which something is done.
fn way_end(r: &mut Reader<'_>, line: &Line<'_>) -> Option<String> {
    if is_blank(line.value.get_ref()) {
        r.problem(ProblemKind::BlankInList { key: line.key.clone() }, line.value.span());
        return None;
    }
    let given = as_station(&r.words(line, "left rear")?.value);
    let stations = r.car.steps.iter().filter_map(|step| step.station.as_ref());
    let mut all: Vec<&str> = stations.map(|station| station.value.as_str()).collect();
    all.sort_unstable();
    all.dedup();
    if !all.is_empty() && !all.contains(&given.as_str()) {
        let close = closest_to(&given, &all).map(cut);
        let known: Vec<String> =
            all.iter().take(ProblemKind::FEW).map(|station| cut(station)).collect();
        let more = all.len() - known.len();
        let (key, given) = (line.key.clone(), cut(&given));
        let kind = ProblemKind::UnknownStation { key, given, close, known, more };
        r.problem(kind, line.value.span());
    }
    Some(given)
}

pub(super) fn calendar(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    let Some(table) = keys(r, "calendar", value, CALENDAR_KEYS) else { return };
    let row = Row::of_section(("calendar", CALENDAR_KEYS), table, value.span());
    let start = row.get("start").and_then(|line| day(r, &line));
    let sessions = sessions(r, &row);
    let helper = helper(r, &row, &sessions);
    if start.is_some() || !sessions.is_empty() || !helper.is_empty() {
        let line = r.line_of(&value.span());
        r.car.calendar = Some(CalendarRows { start, sessions, helper, line });
    }
}

fn day(r: &mut Reader<'_>, line: &Line<'_>) -> Option<Entry<Day>> {
    let entry = r.words_or_date(line, "1964-05-04")?;
    if let Some(day) = Day::parse(&entry.text) {
        return Some(with_value(entry, day));
    }
    let (key, given) = (line.key.clone(), cut(entry.text.trim()));
    r.problem(ProblemKind::UnreadableDay { key, given }, entry.span);
    None
}

fn sessions(r: &mut Reader<'_>, row: &Row<'_>) -> Vec<Entry<Session>> {
    let what = "a list of times to work in";
    let mut out: Vec<Entry<Session>> = Vec::new();
    for (key, entry) in r.texts(row, "sessions", what, "[\"Mon 19:00 180\"]") {
        let Some(session) = Session::parse(&entry.value) else {
            let given = cut(entry.value.trim());
            r.problem(ProblemKind::UnreadableSession { key, given }, entry.span);
            continue;
        };
        let meets = |old: &&Entry<Session>| {
            let old = old.value;
            old.day == session.day && old.start < session.end() && session.start < old.end()
        };
        if let Some(old) = out.iter().find(meets).map(|old| old.value) {
            let mut pair = [old, session];
            pair.sort_by_key(|session| session.start);
            let [first, second] = pair.map(|session| session.to_string());
            r.problem(ProblemKind::SessionsOverlap { first, second }, entry.span);
        } else {
            out.push(with_value(entry, session));
        }
    }
    out
}

fn helper(r: &mut Reader<'_>, row: &Row<'_>, all: &[Entry<Session>]) -> Vec<Entry<Weekday>> {
    let mut out: Vec<Entry<Weekday>> = Vec::new();
    for (key, entry) in r.texts(row, "helper", "a list of days", "[\"Sat\"]") {
        let given = cut(entry.value.trim());
        let Some(day) = Weekday::from_word(&entry.value) else {
            let known = Weekday::WORDS;
            let of_start = |w: &&&str| {
                let start = entry.value.trim().get(..3);
                start.is_some_and(|start| same_name(start, w))
            };
            let close = known.iter().find(of_start).copied();
            r.problem(ProblemKind::UnknownWord { key, given, close, known }, entry.span);
            continue;
        };
        if out.iter().any(|old| old.value == day) {
            r.problem(ProblemKind::NamedTwice { key, given }, entry.span);
            continue;
        }
        if !all.is_empty() && all.iter().all(|session| session.value.day != day) {
            let kind = ProblemKind::NoSessionForHelper { day: day.word() };
            r.problem(kind, entry.span.clone());
        }
        out.push(with_value(entry, day));
    }
    out
}

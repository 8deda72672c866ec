//! Rows: joints, their bolts, and the wrenches.

use super::ids::{Named, sided};
use super::method::Held;
use super::rows::{Row, each, not_for_row};
use super::values::Limits;
use super::{Line, Reader};
use crate::car_file::{Entry, same_name};
use crate::joint::{BoltPoint, BoltRow, Joint, Wrench};
use crate::joint_state::BoltNow;
use crate::problem::{ProblemKind, cut, shown};
use crate::words::{
    BoltState, Eccentric, Heads, JointKind, Locking, Position, Safety, TorqueUnit, WrenchKind,
};
use axlewright_quantity::{Amount, Kind, Length, Side, Torque, parse_amount};
use toml::Spanned;
use toml::de::DeValue;

const UNITS_KEYS: &[&str] = &["torque"];
const JOINT_KEYS: &[&str] = &[
    "id",
    "name",
    "side",
    "thread",
    "class",
    "count",
    "layout",
    "heads",
    "torque",
    "torque_source",
    "list_surface",
    "surface",
    "plated",
    "process_record",
    "position",
    "kind",
    "load",
    "faces",
    "face_friction",
    "locking",
    "one_time",
    "reused",
    "engagement",
    "nut_class",
    "head_width",
    "hole",
    "adapter",
    "adapter_angle",
    "wrench_arm",
    "caution",
    "safety",
    "eccentric",
    "strike",
];
const BOLT_KEYS: &[&str] = &["joint", "bolt", "state", "value", "wrench", "position", "date"];
const WRENCH_KEYS: &[&str] = &["name", "from", "to", "length", "kind", "tolerance", "unit"];

/// How far a bolt of a layout may lie from its zero.
const BOLT_FAR: Length = Length::mm(1000.0);
/// Nearer than this two bolts are one.
const SAME_BOLT: Length = Length::mm(1.0);

pub(crate) const TORQUE: Limits =
    Limits { kind: Kind::Torque, low: 0.1, high: 2000.0, example: "4.4 kgf m" };
const LOAD: Limits = Limits { kind: Kind::Force, low: 1.0, high: 1e6, example: "2500 N" };
const FRICTION: Limits = Limits { kind: Kind::Ratio, low: 0.01, high: 1.0, example: "0.15" };
const TURN: Limits = Limits { kind: Kind::Angle, low: -180.0, high: 180.0, example: "0 deg" };
const TOLERANCE: Limits = Limits { kind: Kind::Ratio, low: 0.0, high: 0.5, example: "4 %" };

const fn length(low: f64, high: f64, example: &'static str) -> Limits {
    Limits { kind: Kind::Length, low, high, example }
}

pub(super) fn units(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    let Some(table) = r.table("units", "units", value) else { return };
    for (key, value) in table {
        let name: &str = key.get_ref();
        if name == "torque" {
            r.car.torque_unit = r.torque_unit(&Line { key: "units.torque".to_owned(), value });
        } else {
            r.unknown_key("units", name, key.span(), UNITS_KEYS.to_vec(), None);
        }
    }
}

impl Reader<'_> {
    /// One of the units of torque, in any spelling in which it may stand behind a number.
    fn torque_unit(&mut self, line: &Line<'_>) -> Option<TorqueUnit> {
        let text = line.value.get_ref().as_str().unwrap_or_default();
        let one = parse_amount(&format!("1 {text}"), Kind::Torque).ok();
        let is = |unit: &TorqueUnit| {
            one.as_ref().is_some_and(|one| {
                one.spread.is_none() && one.amount == Amount::from(factor(*unit))
            })
        };
        let spelt = TorqueUnit::ALL.iter().copied().find(is);
        spelt.or_else(|| TorqueUnit::from_word(self.word(line, TorqueUnit::WORDS)?.value))
    }
}

const fn factor(unit: TorqueUnit) -> Torque {
    match unit {
        TorqueUnit::KgfM => Torque::kgf_m(1.0),
        TorqueUnit::NM => Torque::nm(1.0),
        TorqueUnit::LbfFt => Torque::lbf_ft(1.0),
    }
}

pub(super) fn joints(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "joint", value, JOINT_KEYS, |r, row| {
        if row.is_blank(JOINT_KEYS) {
            return;
        }
        match r.held(&row, Named::Joint) {
            Held::Own => r.own_is_not_struck(&row),
            Held::Rows(ids) => return joint_over(r, &row, &ids),
            Held::Off => return,
        }
        let id = r.id(&row, Named::Joint, "hub-cover");
        let mut read = joint(r, &row);
        read.unread = unread(&row, &read);
        within(r, &row, &read);
        for_its_kind(r, &row, &read);
        let Some((id, whose)) = id else { return };
        for side in whose.sides() {
            let mut own = Joint { id: sided(&id, whose, *side), side: *side, ..read.clone() };
            if whose.sides().len() == 2 && *side == Some(Side::Right) {
                mirror(&mut own);
            }
            r.car.joints.push(own);
        }
    });
}

/// What the car file says of a joint of its method: thread and torque, mostly.
fn joint_over(r: &mut Reader<'_>, row: &Row<'_>, ids: &[String]) {
    if r.is_struck(row, Named::Joint, ids) {
        return;
    }
    if !row.is_blank(&["side"]) {
        not_for_row(r, row, "side", "a joint of the method", "the method says it");
    }
    let read = joint(r, row);
    let unread = unread(row, &read);
    for (at, id) in ids.iter().enumerate() {
        let Some(place) = r.car.joints.iter().position(|joint| joint.id.value == *id) else {
            continue;
        };
        let Some(old) = r.car.joints.get(place).cloned() else { continue };
        let mut own = over(read.clone(), old);
        own.unread.clone_from(&unread);
        if at == 0 {
            within(r, row, &own);
            for_its_kind(r, row, &own);
        }
        if read.layout.is_some() && ids.len() == 2 && own.side == Some(Side::Right) {
            mirror(&mut own);
        }
        if let Some(joint) = r.car.joints.get_mut(place) {
            *joint = own;
        }
    }
}

/// What is said now, and where nothing is, what was said before.
fn over(now: Joint, old: Joint) -> Joint {
    Joint {
        id: old.id,
        side: old.side,
        name: now.name.or(old.name),
        thread: now.thread.or(old.thread),
        class: now.class.or(old.class),
        count: now.count.or(old.count),
        layout: now.layout.or(old.layout),
        heads: now.heads.or(old.heads),
        torque: now.torque.or(old.torque),
        torque_source: now.torque_source.or(old.torque_source),
        list_surface: now.list_surface.or(old.list_surface),
        surface: now.surface.or(old.surface),
        plated: now.plated.or(old.plated),
        process_record: now.process_record.or(old.process_record),
        position: now.position.or(old.position),
        kind: now.kind.or(old.kind),
        load: now.load.or(old.load),
        faces: now.faces.or(old.faces),
        face_friction: now.face_friction.or(old.face_friction),
        locking: now.locking.or(old.locking),
        one_time: now.one_time.or(old.one_time),
        reused: now.reused.or(old.reused),
        engagement: now.engagement.or(old.engagement),
        nut_class: now.nut_class.or(old.nut_class),
        head_width: now.head_width.or(old.head_width),
        hole: now.hole.or(old.hole),
        adapter: now.adapter.or(old.adapter),
        adapter_angle: now.adapter_angle.or(old.adapter_angle),
        wrench_arm: now.wrench_arm.or(old.wrench_arm),
        caution: now.caution.or(old.caution),
        safety: now.safety.or(old.safety),
        eccentric: now.eccentric.or(old.eccentric),
        unread: now.unread,
        line: now.line,
    }
}

/// Everything of a joint but its id and its side.
fn joint(r: &mut Reader<'_>, row: &Row<'_>) -> Joint {
    let line = r.line_of(&row.span);
    Joint {
        id: Entry { value: String::new(), spread: None, text: String::new(), line, span: 0..0 },
        name: row.text("name", "hub cover to body", r),
        side: None,
        thread: figure(r, row, "thread", "M10x1.5"),
        class: figure(r, row, "class", "8.8"),
        count: row.count("count", (1, Joint::MOST_BOLTS), "4", r),
        layout: layout(r, row),
        heads: row.word("heads", Heads::WORDS, Heads::from_word, r),
        torque: row.amount("torque", TORQUE, r),
        torque_source: row.text("torque_source", "workshop manual, section T, p. 3", r),
        list_surface: row.text("list_surface", "dry", r),
        surface: row.text("surface", "zinc-oiled", r),
        plated: row.text("plated", "zinc", r),
        process_record: row.flag("process_record", r),
        position: row.word("position", Position::OF_JOINTS, Position::from_word, r),
        kind: row.word("kind", JointKind::WORDS, JointKind::from_word, r),
        load: row.amount("load", LOAD, r),
        faces: row.count("faces", (1, 8), "1", r),
        face_friction: row.amount("face_friction", FRICTION, r),
        locking: row.word("locking", Locking::WORDS, Locking::from_word, r),
        one_time: row.flag("one_time", r),
        reused: row.flag("reused", r),
        engagement: row.amount("engagement", length(1.0, 200.0, "14 mm"), r),
        nut_class: figure(r, row, "nut_class", "8"),
        head_width: row.amount("head_width", length(4.0, 100.0, "17 mm"), r),
        hole: row.amount("hole", length(3.0, 80.0, "11 mm"), r),
        adapter: row.amount("adapter", length(0.0, 600.0, "60 mm"), r),
        adapter_angle: row.amount("adapter_angle", TURN, r),
        wrench_arm: row.amount("wrench_arm", length(50.0, 2000.0, "420 mm"), r),
        caution: row.text("caution", "hold the plate: the bar is loaded", r),
        safety: row.word("safety", Safety::WORDS, Safety::from_word, r),
        eccentric: row.word("eccentric", Eccentric::WORDS, Eccentric::from_word, r),
        unread: Vec::new(),
        line,
    }
}

/// What changes the setting, is written, and could not be read: left out, another is told.
fn unread(row: &Row<'_>, joint: &Joint) -> Vec<&'static str> {
    let all = [
        ("torque", joint.torque.is_some()),
        ("adapter", joint.adapter.is_some()),
        ("adapter_angle", joint.adapter_angle.is_some()),
        ("wrench_arm", joint.wrench_arm.is_some()),
    ];
    let wrong = all.iter().filter(|(key, is_read)| !is_read && !row.is_blank(&[key]));
    wrong.map(|(key, _)| *key).collect()
}

/// A text that has at least one figure in it, as every thread and every class has.
fn figure(
    r: &mut Reader<'_>,
    row: &Row<'_>,
    key: &'static str,
    example: &'static str,
) -> Option<Entry<String>> {
    let line = row.get(key)?;
    let text = r.words(&line, example)?;
    if text.value.bytes().any(|b| b.is_ascii_digit()) {
        return Some(text);
    }
    let (key, given) = (line.key, cut(text.value.trim()));
    r.problem(ProblemKind::NoFigure { key, given, example }, text.span);
    None
}

fn layout(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Entry<Vec<BoltPoint>>> {
    const EXAMPLE: &str = "[\"-48, 32 mm\", \"48, 32 mm\"]";
    let line = row.get("layout")?;
    let list = r.list(&line, "a list of points", EXAMPLE)?;
    let limit = Joint::MOST_BOLTS as usize;
    if limit < list.len() {
        let (key, given) = (line.key.clone(), list.len());
        r.problem(ProblemKind::TooManyEntries { key, given, limit }, line.value.span());
        return None;
    }
    let mut points = Vec::with_capacity(list.len());
    for (i, value) in list.iter().enumerate() {
        let item = Line { key: format!("{}, point {}", line.key, i + 1), value };
        if super::ids::is_blank(value.get_ref()) {
            r.problem(ProblemKind::BlankInList { key: item.key }, value.span());
        } else {
            points.extend(bolt_point(r, &item));
        }
    }
    // A layout with a bolt left out is another layout.
    (points.len() == list.len()).then(|| r.entry(points, None, r.raw(&line), &line))
}

fn bolt_point(r: &mut Reader<'_>, item: &Line<'_>) -> Option<BoltPoint> {
    let entry = r.two(item, "x, y", "-48, 32 mm")?;
    let point = BoltPoint { x: entry.value.u, y: entry.value.w };
    let far = [point.x, point.y].into_iter().find(|c| BOLT_FAR < c.abs());
    if let Some(far) = far {
        let (given, limit) = (shown(far.into()), shown(BOLT_FAR.into()));
        r.problem(ProblemKind::BoltFar { key: item.key.clone(), given, limit }, entry.span);
        return None;
    }
    Some(point)
}

/// The right one's bolts, seen from their heads.
fn mirror(joint: &mut Joint) {
    for point in joint.layout.iter_mut().flat_map(|layout| &mut layout.value) {
        point.x = Length::ZERO - point.x;
    }
}

/// A joint's figures against each other.
fn within(r: &mut Reader<'_>, row: &Row<'_>, joint: &Joint) {
    if let Some(layout) = &joint.layout {
        let points = layout.value.as_slice();
        let same = |a: &BoltPoint, b: &BoltPoint| {
            (a.x - b.x).to_mm().hypot((a.y - b.y).to_mm()) < SAME_BOLT.to_mm()
        };
        let twin = points.iter().enumerate().find_map(|(i, a)| {
            let before = points.iter().take(i).position(|b| same(a, b))?;
            Some((before + 1, i + 1))
        });
        if let Some((first, second)) = twin {
            r.problem(ProblemKind::SameBoltPlace { first, second }, layout.span.clone());
        }
        let count = joint.count.as_ref().map(|count| count.value);
        if let Some(count) = count.filter(|count| *count as usize != points.len()) {
            let kind = ProblemKind::LayoutCount { points: points.len(), count };
            r.problem(kind, layout.span.clone());
        }
    }
    let why = "the head or nut has to bear outside the hole";
    less(r, row, ("hole", &joint.hole), ("head_width", &joint.head_width), why);
}

/// The first must be less than the second.
fn less(
    r: &mut Reader<'_>,
    row: &Row<'_>,
    (smaller, small): (&'static str, &Option<Entry<Amount>>),
    (greater, great): (&'static str, &Option<Entry<Amount>>),
    why: &'static str,
) {
    let (Some(small), Some(great)) = (small, great) else { return };
    if great.value.to_si() <= small.value.to_si() {
        let later = if small.span.start < great.span.start { great } else { small };
        let [smaller, greater] = [smaller, greater].map(|key| format!("{}.{key}", row.name));
        let [small, great] = [small, great].map(|entry| shown(entry.value));
        let kind = ProblemKind::NotLessInRow { smaller, small, greater, great, why };
        r.problem(kind, later.span.clone());
    }
}

fn for_its_kind(r: &mut Reader<'_>, row: &Row<'_>, joint: &Joint) {
    let of_kind = match joint.kind {
        Some(JointKind::Bearing) => Some("a bearing joint"),
        Some(JointKind::Fastening) => Some("a fastening joint"),
        Some(JointKind::Friction) | None => None,
    };
    for key in ["load", "faces", "face_friction"] {
        if let Some(what) = of_kind.filter(|_| !row.is_blank(&[key])) {
            not_for_row(r, row, key, what, "only a friction joint must not slip");
        }
    }
    if joint.plated.as_ref().is_some_and(|plated| same_name(&plated.value, "none"))
        && joint.process_record == Some(true)
    {
        let why = "only what was plated has a record of it";
        not_for_row(r, row, "process_record", "a joint that is not plated", why);
    }
}

pub(super) fn wrenches(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "wrench", value, WRENCH_KEYS, |r, row| {
        if let Some(wrench) = wrench(r, &row) {
            r.car.wrenches.push(wrench);
        }
    });
}

fn wrench(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Wrench> {
    if row.is_blank(WRENCH_KEYS) {
        return None;
    }
    let scale = Limits { low: 0.0, high: 5000.0, example: "25 N m", ..TORQUE };
    let name = row.text("name", "small click wrench", r);
    let from = row.amount("from", scale, r);
    let to = row.amount("to", scale, r);
    let length = row.amount("length", length(50.0, 2000.0, "420 mm"), r);
    let kind = row.word("kind", WrenchKind::WORDS, WrenchKind::from_word, r);
    let tolerance = row.amount("tolerance", TOLERANCE, r);
    let unit = row.get("unit").and_then(|line| r.torque_unit(&line));
    less(r, row, ("from", &from), ("to", &to), "a scale runs from the least to the greatest");
    row.without("name", "small click wrench", r);
    let name = name?;
    let twin = r.car.wrenches.iter().find(|old| same_name(&old.name.value, &name.value));
    if let Some(first_line) = twin.map(|old| old.line) {
        let kind = ProblemKind::SameWrench { name: cut(name.value.trim()), first_line };
        r.problem(kind, name.span);
        return None;
    }
    let line = r.line_of(&row.span);
    Some(Wrench { name, from, to, length, kind, tolerance, unit, line })
}

pub(super) fn bolts(r: &mut Reader<'_>, value: &Spanned<DeValue<'_>>) {
    each(r, "bolt", value, BOLT_KEYS, |r, row| {
        if let Some(bolt) = bolt(r, &row) {
            against_rows_above(r, &row, &bolt);
            r.car.bolts.push(bolt);
        }
    });
}

fn bolt(r: &mut Reader<'_>, row: &Row<'_>) -> Option<BoltRow> {
    if row.is_blank(BOLT_KEYS) {
        return None;
    }
    let joint = row.get("joint").and_then(|line| r.one_name(&line, Named::Joint));
    let bolt = row.count("bolt", (1, Joint::MOST_BOLTS), "2", r);
    let state = row.word("state", BoltState::WORDS, BoltState::from_word, r);
    let value = row.amount("value", TORQUE, r);
    let wrench = row.text("wrench", "small click wrench", r);
    let position = row.word("position", Position::OF_JOINTS, Position::from_word, r);
    let date = row.text("date", "1964-05-11", r);
    row.without("joint", "hub-cover-left", r);
    row.without("state", BoltState::Torqued.word(), r);
    if let (Some(wrench), Some(line)) = (&wrench, row.get("wrench")) {
        r.near_wrench(&line, &wrench.value);
    }
    let joint = joint?;
    // A joint that could not be read has been told of; its bolts wait for it.
    let count = r.car.joint(&joint.value)?.bolt_count();
    let bolt = match bolt {
        // A joint of one bolt needs no number.
        None if count == Some(1) && row.is_blank(&["bolt"]) => 1,
        None if row.is_blank(&["bolt"]) => {
            row.without("bolt", "1", r);
            return None;
        }
        bolt => bolt?.value,
    };
    if let Some(count) = count.filter(|count| *count < bolt) {
        let kind = ProblemKind::NoSuchBolt { bolt, joint: joint.value, count };
        r.problem(kind, row.span_of("bolt"));
        return None;
    }
    let line = r.line_of(&row.span);
    Some(BoltRow { joint, bolt, state: state?, value, wrench, position, date, line, entry: None })
}

fn against_rows_above(r: &mut Reader<'_>, row: &Row<'_>, bolt: &BoltRow) {
    if bolt.state == BoltState::Open && bolt.value.is_some() {
        not_for_row(r, row, "value", "an open bolt", "a loose bolt has no torque");
    }
    let same = |old: &&BoltRow| old.joint.value == bolt.joint.value && old.bolt == bolt.bolt;
    let before = r.car.bolts.iter().filter(same).fold(BoltNow::open(bolt.bolt), BoltNow::after);
    if bolt.state == BoltState::PaintMarked && before.after(bolt).marked.is_none() {
        let (bolt, joint) = (bolt.bolt, bolt.joint.value.clone());
        r.problem(ProblemKind::MarkWithoutTorque { bolt, joint }, row.span_of("state"));
    }
}

//! From text to car file: everything that can be said, and everything that is wrong, at once.

mod checks;
mod ids;
mod joints;
mod long;
mod method;
mod outline;
mod rows;
mod steps;
mod syntax;
mod values;
mod wheels;

pub(crate) use ids::{LONGEST as LONGEST_ID, as_id};
pub(crate) use joints::TORQUE;
pub(crate) use method::{expand, rows_with};
pub(crate) use rows::{CORNERS, OFFSET, SIDES, corner_from, reading_limits};
pub(crate) use steps::STEP_MINUTES;
pub(crate) use values::{Limits, closest, closest_to, out_of_range};

use crate::builds::YearMonth;
use crate::car_file::{CarFile, FORMAT, For};
use crate::field::Field;
use crate::problem::{Lines, Problem, ProblemKind, cut};
use axlewright_quantity::Side;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Greatest size of a car file in bytes: the demo's is 50 kB, the starter file with all its words
/// 40 kB. At this size the worst text found takes under two seconds to read.
pub const LARGEST: usize = 1 << 18;

/// What stands in the file once for the whole car, besides the sections of fields.
const WHOLE_CAR: &[&str] = &[
    "car",
    "spec",
    "stand",
    "reading",
    "units",
    "joint",
    "bolt",
    "wrench",
    "part",
    "step",
    "changeover",
    "calendar",
    "masses",
    "round",
    "set_aside",
    "answers",
];

const CAR_KEYS: &[&str] = &["name", "build_number", "build_date", "load_state", "notes"];

/// Reads a car file. What can be read is in the [`CarFile`]; whatever cannot is a [`Problem`],
/// in the order of the text. A blank is neither: it is simply not there.
///
/// # Valid for
/// Any text. Above [`LARGEST`] nothing is read and the only problem says so.
pub fn read(text: &str) -> (CarFile, Vec<Problem>) {
    let mut reader = Reader::new(text);
    if text.len() > LARGEST {
        reader.problem(ProblemKind::TooLong { bytes: text.len(), limit: LARGEST }, 0..0);
        return (reader.car, reader.problems);
    }
    let mended = syntax::mend(text, &mut reader);
    let (document, _) = DeTable::parse_recoverable(&mended);
    reader.lost = lost(text, &mended);
    let held = method::follow(&mut reader, document.get_ref());
    reader.ids = ids::Ids::of(document.get_ref(), &reader.lost, None, held.as_ref());
    reader.document(document.get_ref());
    checks::together(&mut reader);
    let Reader { car, mut problems, .. } = reader;
    problems.sort_by_key(|p| (p.span.start, p.severity, p.span.end));
    (car, problems)
}

/// What was taken out of the text because it is not TOML, in its place; line breaks stand for all
/// the rest.
fn lost(text: &str, mended: &str) -> String {
    let pairs = text.bytes().zip(mended.bytes());
    let kept = pairs.map(|(was, is)| if was == is { b'\n' } else { was }).collect::<Vec<u8>>();
    String::from_utf8_lossy(&kept).into_owned()
}

/// The file as it is read.
struct Reader<'t> {
    text: &'t str,
    lines: Lines<'t>,
    car: CarFile,
    problems: Vec<Problem>,
    ids: ids::Ids,
    /// As [`lost`] says.
    lost: String,
    /// Of a method: with which answers it is read.
    answers: Option<method::Answers>,
    /// What the car file strikes of its method.
    struck: Vec<(ids::Named, String)>,
}

/// A key of the file with its value.
struct Line<'d> {
    /// As a person would name it: `bar.bore`, `right.arm.hub`.
    key: String,
    value: &'d Spanned<DeValue<'d>>,
}

impl<'t> Reader<'t> {
    fn new(text: &'t str) -> Self {
        let lines = Lines::new(text);
        let (car, problems, ids, lost) = Default::default();
        let (answers, struck) = Default::default();
        Self { text, lines, car, problems, ids, lost, answers, struck }
    }

    fn problem(&mut self, kind: ProblemKind, span: Range<usize>) {
        self.problems.push(Problem::new(kind, span, &self.lines));
    }

    /// Whether something of the row that begins there was taken out.
    fn has_lost(&self, start: usize) -> bool {
        let row = self.text.get(start..).unwrap_or_default();
        let end = row.find("\n[").map_or(self.text.len(), |end| start + end);
        self.lost.get(start..end).is_some_and(|lost| !lost.trim().is_empty())
    }

    /// The line in which something begins; of a method none, for it stands in no car file.
    fn line_of(&self, span: &Range<usize>) -> u32 {
        if self.answers.is_some() {
            return 0;
        }
        self.lines.at(span.start).0
    }

    fn document(&mut self, document: &DeTable<'_>) {
        if !document.contains_key("format") {
            self.problem(ProblemKind::NoFormat, 0..0);
        }
        for (key, value) in document {
            let name: &str = key.get_ref();
            match name {
                "format" => self.format(value),
                "method" => {}
                "car" => self.car_section(value),
                "spec" => rows::specs(self, value),
                "stand" => rows::stands(self, value),
                "reading" => rows::readings(self, value),
                "left" => self.one_side(Side::Left, value),
                "right" => self.one_side(Side::Right, value),
                _ if WHOLE_CAR.contains(&name) => {}
                _ if is_section(name) => self.section(name, "", value, For::Both),
                _ => self.unknown_at_top(name, key.span(), value),
            }
        }
        self.job(document);
    }

    /// Joints, parts and steps. What is named by others is read before them.
    fn job(&mut self, document: &DeTable<'_>) {
        const ORDER: [&str; 11] = [
            "units",
            "joint",
            "wrench",
            "bolt",
            "part",
            "step",
            "changeover",
            "calendar",
            "masses",
            "round",
            "set_aside",
        ];
        for name in ORDER {
            let Some(value) = document.get(name) else { continue };
            match name {
                "masses" => wheels::masses(self, value),
                "round" => wheels::rounds(self, value),
                "set_aside" => rows::set_asides(self, value),
                "units" => joints::units(self, value),
                "joint" => joints::joints(self, value),
                "wrench" => joints::wrenches(self, value),
                "bolt" => joints::bolts(self, value),
                "part" => steps::parts(self, value),
                "step" => steps::steps(self, value),
                "changeover" => steps::changeover(self, value),
                _ => steps::calendar(self, value),
            }
        }
        self.strike_out();
        steps::only_what_is_there(self);
    }

    fn format(&mut self, value: &Spanned<DeValue<'_>>) {
        let line = Line { key: "format".to_owned(), value };
        let DeValue::Integer(integer) = value.get_ref() else {
            return self.wrong_type(&line, "a whole number", "1");
        };
        let given = cut(integer.as_str());
        match u32::from_str_radix(integer.as_str(), integer.radix()) {
            Ok(FORMAT) => self.car.format = FORMAT,
            Ok(0) => self.problem(ProblemKind::NoSuchFormat { given }, value.span()),
            Ok(newer) => {
                self.car.format = newer;
                self.problem(ProblemKind::NewerFormat { given, known: FORMAT }, value.span());
            }
            Err(_) if given.starts_with('-') => {
                self.problem(ProblemKind::NoSuchFormat { given }, value.span());
            }
            Err(_) => {
                self.problem(ProblemKind::NewerFormat { given, known: FORMAT }, value.span());
            }
        }
    }

    /// The table of a section, or a problem if it is something else.
    fn table<'d>(
        &mut self,
        name: &str,
        header: &str,
        value: &'d Spanned<DeValue<'d>>,
    ) -> Option<&'d DeTable<'d>> {
        match value.get_ref() {
            DeValue::Table(table) => Some(table),
            other => {
                let found = values::found(other);
                let (name, header) = (name.to_owned(), format!("[{header}]"));
                self.problem(ProblemKind::NotASection { name, found, header }, value.span());
                None
            }
        }
    }

    fn car_section(&mut self, value: &Spanned<DeValue<'_>>) {
        let Some(table) = self.table("car", "car", value) else { return };
        for (key, value) in table {
            let name: &str = key.get_ref();
            let line = Line { key: format!("car.{name}"), value };
            match name {
                "name" => self.car.name = self.words(&line, "Larch 1300"),
                "load_state" => self.car.load_state = self.words(&line, "empty, half a tank"),
                "notes" => self.car.notes = self.words(&line, "what else is to be known"),
                "build_number" => {
                    self.car.build_number = self.count(&line, 1, 999_999_999, "2611");
                }
                "build_date" => self.car.build_date = self.month(&line),
                _ => self.unknown_key("car", name, key.span(), CAR_KEYS.to_vec(), None),
            }
        }
    }

    fn month(&mut self, line: &Line<'_>) -> Option<crate::Entry<YearMonth>> {
        let entry = self.words_or_date(line, "1963-09")?;
        match YearMonth::parse(&entry.text) {
            Some(month) => Some(values::with_value(entry, month)),
            None => {
                let given = cut(&entry.text);
                let kind = ProblemKind::UnreadableMonth { key: line.key.clone(), given };
                self.problem(kind, entry.span);
                None
            }
        }
    }

    fn one_side(&mut self, side: Side, value: &Spanned<DeValue<'_>>) {
        let Some(table) = self.table(side.word(), &format!("{side}.bar"), value) else { return };
        let prefix = format!("{side}.");
        for (key, value) in table {
            let name: &str = key.get_ref();
            let of_whole_car =
                WHOLE_CAR.contains(&name) || Field::of_section(name).any(Field::is_of_whole_car);
            if is_section(name) && !of_whole_car {
                self.section(name, &prefix, value, For::Only(side));
            } else if of_whole_car {
                let kind = ProblemKind::NotOneSided { section: name.to_owned() };
                self.problem(kind, key.span());
            } else {
                let close = values::closest(name, &sections());
                let known = sections();
                let given = format!("{side}.{}", cut(name));
                let close = close.map(|c| format!("{side}.{c}"));
                self.problem(ProblemKind::UnknownSection { given, close, known }, key.span());
            }
        }
    }

    /// A section of the table of fields; `prefix` is `left.` or `right.` or nothing.
    fn section(&mut self, path: &str, prefix: &str, value: &Spanned<DeValue<'_>>, whom: For) {
        let full = format!("{prefix}{path}");
        let Some(table) = self.table(&full, &full, value) else { return };
        for (key, value) in table {
            let name: &str = key.get_ref();
            let full = format!("{path}.{name}");
            if let Some(field) = Field::from_path(&full) {
                self.field(field, &Line { key: format!("{prefix}{full}"), value }, whom);
            } else if Field::of_section(&full).next().is_some() {
                self.section(&full, prefix, value, whom);
            } else {
                let known = keys_of(path);
                self.unknown_key(&format!("{prefix}{path}"), name, key.span(), known, Some(path));
            }
        }
    }

    fn unknown_key(
        &mut self,
        section: &str,
        given: &str,
        span: Range<usize>,
        known: Vec<&'static str>,
        path: Option<&str>,
    ) {
        let close = values::closest(given, &known).map(str::to_owned);
        let elsewhere = if close.is_some() { None } else { home_of(given, path) };
        let (section, given) = (cut(section), cut(given));
        self.problem(ProblemKind::UnknownKey { section, given, close, elsewhere, known }, span);
    }

    fn unknown_at_top(&mut self, name: &str, span: Range<usize>, value: &Spanned<DeValue<'_>>) {
        let is_section = matches!(value.get_ref(), DeValue::Table(_)) || value.get_ref().is_array();
        if is_section {
            let close = values::closest(name, &all_sections()).map(str::to_owned);
            let known = all_sections();
            self.problem(ProblemKind::UnknownSection { given: cut(name), close, known }, span);
        } else {
            self.unknown_key("the head of the file", name, span, vec!["format", "method"], None);
        }
    }
}

/// The sections of fields at the top of the file.
fn sections() -> Vec<&'static str> {
    let mut out: Vec<&'static str> = Vec::new();
    for field in Field::ALL {
        let top = field.path().split('.').next().unwrap_or_default();
        if !out.contains(&top) {
            out.push(top);
        }
    }
    out
}

/// Every name that may stand at the top of the file.
fn all_sections() -> Vec<&'static str> {
    let (first, others) = WHOLE_CAR.split_at(2);
    [first, &sections(), others, &["left", "right"]].concat()
}

fn is_section(name: &str) -> bool {
    Field::ALL.iter().any(|f| f.path().split('.').next() == Some(name))
}

/// What may stand in a section: its keys, and the sections inside it.
fn keys_of(path: &str) -> Vec<&'static str> {
    let mut out: Vec<&'static str> = Vec::new();
    for field in Field::ALL {
        let rest = field.path().strip_prefix(path).and_then(|rest| rest.strip_prefix('.'));
        let name = rest.and_then(|rest| rest.split('.').next());
        if let Some(name) = name.filter(|name| !out.contains(name)) {
            out.push(name);
        }
    }
    out
}

/// The one other section in which a key is known.
fn home_of(key: &str, not: Option<&str>) -> Option<&'static str> {
    if CAR_KEYS.contains(&key) {
        return Some("car");
    }
    let mut homes = Field::ALL.iter().filter(|f| f.key() == key && Some(f.section()) != not);
    let home = homes.next()?;
    homes.next().is_none().then(|| home.section())
}

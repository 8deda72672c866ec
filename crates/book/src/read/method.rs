//! Reading a method, and a car file that follows one.
//!
//! ```text
//!   method's text ──answers──▶ its rows ──overlay──▶ joints, parts, steps of the car
//!                                           ▲
//!   car file ── rows with an id of the method's, and rows of its own
//! ```
//!
//! What comes from a method stands in no line of the car file: its line is 0.

use super::ids::{Ids, Named};
use super::rows::{Row, each};
use super::values::{closest_to, found};
use super::{Line, Reader, lost, syntax};
use crate::car_file::CarFile;
use crate::method::{Answer, Follows, Method, Question};
use crate::problem::{Problem, ProblemKind, cut};
use std::collections::BTreeMap;
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

const HEAD_KEYS: &[&str] = &["name", "version", "title", "layout"];
const QUESTION_KEYS: &[&str] = &["id", "ask", "choices", "unanswered", "stops", "stops_words"];
/// What stands at the top of a method.
const SECTIONS: &[&str] = &["method", "question", "joint", "part", "step", "changeover"];

/// Answers by question: `half_shaft`, `yes`.
pub(super) type Answers = BTreeMap<String, String>;

/// A method, read.
pub(crate) struct Expanded {
    pub(crate) method: Method,
    pub(crate) answers: Vec<Answer>,
    pub(crate) car: CarFile,
    pub(crate) problems: Vec<Problem>,
    ids: Ids,
}

/// Reads a method's text with these answers.
pub(crate) fn expand(text: &str, given: &Answers) -> Expanded {
    let mut reader = Reader::new(text);
    let mended = syntax::mend(text, &mut reader);
    let (document, _) = DeTable::parse_recoverable(&mended);
    let document = document.get_ref();
    reader.lost = lost(text, &mended);
    let method = head(&mut reader, document);
    let answers: Vec<Answer> = method.questions.iter().map(|q| answer(q, given)).collect();
    let by_question = |a: &Answer| (a.question.clone(), a.choice.clone());
    reader.answers = Some(answers.iter().map(by_question).collect());
    reader.ids = Ids::of(document, &reader.lost, reader.answers.as_ref(), None);
    conditions(&mut reader, document, &method.questions);
    for (key, value) in document {
        let name: &str = key.get_ref();
        match name {
            "format" => reader.format(value),
            _ if SECTIONS.contains(&name) => {}
            _ => {
                let close = closest_to(name, SECTIONS).map(str::to_owned);
                let (given, known) = (cut(name), SECTIONS.to_vec());
                reader.problem(ProblemKind::UnknownSection { given, close, known }, key.span());
            }
        }
    }
    reader.job(document);
    let Reader { car, mut problems, ids, .. } = reader;
    problems.sort_by_key(|p| (p.span.start, p.severity, p.span.end));
    Expanded { method, answers, car, problems, ids }
}

fn answer(question: &Question, given: &Answers) -> Answer {
    let own = given.get(&question.id).filter(|choice| question.choices.contains(choice));
    Answer {
        question: question.id.clone(),
        choice: own.unwrap_or(&question.unanswered).clone(),
        is_given: own.is_some(),
    }
}

fn head(r: &mut Reader<'_>, document: &DeTable<'_>) -> Method {
    let mut method = Method::default();
    match document.get("method") {
        Some(value) => {
            if let Some(table) = r.table("method", "method", value) {
                for (key, _) in table {
                    if !HEAD_KEYS.contains(&key.get_ref().as_ref()) {
                        r.unknown_key("method", key.get_ref(), key.span(), HEAD_KEYS.into(), None);
                    }
                }
                let row = Row::of_section(("method", HEAD_KEYS), table, value.span());
                let mut text = |key, example| {
                    row.without(key, example, r);
                    row.text(key, example, r).map(|entry| entry.value).unwrap_or_default()
                };
                method.name = text("name", "trailing-arm");
                method.title = text("title", "trailing arm on a plate");
                method.layout = text("layout", "cars with a bar across the tail");
                method.version = row.count("version", (1, 9999), "1", r).map_or(0, |e| e.value);
            }
        }
        None => r.problem(ProblemKind::NotAMethod, 0..0),
    }
    if let Some(value) = document.get("question") {
        each(r, "question", value, QUESTION_KEYS, |r, row| {
            method.questions.extend(question(r, &row));
        });
    }
    method
}

fn question(r: &mut Reader<'_>, row: &Row<'_>) -> Option<Question> {
    for (key, example) in
        [("id", "brake"), ("ask", "drum or disc?"), ("choices", "[\"drum\", \"disc\"]")]
    {
        row.without(key, example, r);
    }
    let id = row.text("id", "brake", r)?.value;
    let ask = row.text("ask", "drum or disc?", r)?.value;
    let choices: Vec<String> = r
        .texts(row, "choices", "a list of answers", "[\"drum\", \"disc\"]")
        .into_iter()
        .map(|(_, entry)| entry.value.trim().to_owned())
        .collect();
    let first = choices.first()?.clone();
    let mut one_of = |key| {
        let entry = row.text(key, &first, r)?;
        if choices.contains(&entry.value) {
            return Some(entry.value);
        }
        unknown_choice(r, &format!("question.{key}"), &entry.value, &choices, entry.span);
        None
    };
    let unanswered = one_of("unanswered").unwrap_or_else(|| first.clone());
    let stops = one_of("stops");
    let words = row.text("stops_words", "not for this method", r).map(|entry| entry.value);
    Some(Question { id, ask, choices, unanswered, stops: stops.zip(words) })
}

fn unknown_choice(
    r: &mut Reader<'_>,
    key: &str,
    given: &str,
    choices: &[String],
    span: Range<usize>,
) {
    let known: Vec<&str> = choices.iter().map(String::as_str).collect();
    let close = closest_to(&given.trim().to_lowercase(), &known).map(str::to_owned);
    let (key, given, known) = (key.to_owned(), cut(given.trim()), choices.to_vec());
    r.problem(ProblemKind::UnknownAnswer { key, given, close, known }, span);
}

/// Every `when` of the rows, held against the questions.
fn conditions(r: &mut Reader<'_>, document: &DeTable<'_>, questions: &[Question]) {
    for name in ["joint", "part", "step"] {
        let rows = document.get(name).and_then(|rows| rows.get_ref().as_array());
        let tables = rows.into_iter().flatten().filter_map(|row| row.get_ref().as_table());
        for value in tables.filter_map(|row| row.get("when")) {
            for condition in conditions_of(value) {
                let known = split(condition).is_some_and(|(question, choices)| {
                    let question = questions.iter().find(|q| q.id == question);
                    let is_choice =
                        |q: &Question| choices.iter().all(|c| q.choices.iter().any(|own| own == c));
                    question.is_some_and(is_choice)
                });
                if !known {
                    let (key, given) = (format!("{name}.when"), cut(condition));
                    r.problem(ProblemKind::NotACondition { key, given }, value.span());
                }
            }
        }
    }
}

/// The conditions of a `when`: one text, or a list of texts that all must hold.
fn conditions_of<'d>(value: &'d Spanned<DeValue<'d>>) -> Vec<&'d str> {
    match value.get_ref() {
        DeValue::String(text) => vec![text.as_ref()],
        DeValue::Array(list) => list.iter().map(|v| v.get_ref().as_str().unwrap_or("")).collect(),
        _ => vec![""],
    }
}

/// `stop = bolt apart | bolt of the cover`
fn split(condition: &str) -> Option<(&str, Vec<&str>)> {
    let (question, choices) = condition.split_once('=')?;
    Some((question.trim(), choices.split('|').map(str::trim).collect()))
}

/// Whether a row is there with these answers.
pub(super) fn is_on(row: &DeTable<'_>, answers: &Answers) -> bool {
    let Some(when) = row.get("when") else { return true };
    conditions_of(when).into_iter().all(|condition| {
        split(condition).is_some_and(|(question, choices)| {
            answers.get(question).is_some_and(|choice| choices.contains(&choice.as_str()))
        })
    })
}

/// The rows of a method's text that are there with these answers, without what makes them depend
/// on answers: as they stand in a car file.
pub(crate) fn rows_with(text: &str, given: &Answers) -> String {
    let Expanded { answers, ids, .. } = expand(text, given);
    let answers: Answers = answers.into_iter().map(|a| (a.question, a.choice)).collect();
    let (document, _) = DeTable::parse_recoverable(text);
    let document = document.get_ref();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut out = String::new();
    let mut keeps = false;
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        if line.starts_with('[') {
            let name = line.trim().trim_matches(['[', ']']);
            let at = seen.entry(name).or_default();
            let rows = document.get(name).and_then(|rows| rows.get_ref().as_array());
            let row = rows.and_then(|rows| rows.get(*at)).and_then(|row| row.get_ref().as_table());
            *at += 1;
            keeps = match name {
                "changeover" => true,
                "joint" | "part" | "step" => row.is_some_and(|row| is_on(row, &answers)),
                _ => false,
            };
            if keeps {
                out.push('\n');
            }
        }
        let key = line.split('=').next().unwrap_or_default().trim();
        if !keeps || key == "when" || line.trim().is_empty() || line.starts_with('#') {
            continue;
        }
        let mut whole = line.to_owned();
        if let Some((_, named)) = NAMING.iter().find(|(own, _)| *own == key) {
            while !whole.contains(']') && whole.contains('[') {
                let Some(more) = lines.next() else { break };
                whole.push_str(more.trim());
            }
            let names: Vec<&str> = whole.split('"').skip(1).step_by(2).collect();
            let there = names.into_iter().filter(|name| !ids.is_off(*named, name));
            let listed: Vec<String> = there.map(|name| format!("\"{name}\"")).collect();
            whole = format!("{key} = [{}]", listed.join(", "));
        }
        out.push_str(&whole);
        out.push('\n');
    }
    out
}

/// The keys of a step that name other rows.
const NAMING: [(&str, Named); 5] = [
    ("needs", Named::Part),
    ("snug", Named::Joint),
    ("torques", Named::Joint),
    ("after", Named::Step),
    ("right_after", Named::Step),
];

/// Takes the method that the car file names, with its answers, before any of its rows is read;
/// gives the ids it holds.
pub(super) fn follow(r: &mut Reader<'_>, document: &DeTable<'_>) -> Option<Ids> {
    let Some(value) = document.get("method") else {
        if let Some(answers) = document.get("answers") {
            r.problem(ProblemKind::AnswersToNothing, answers.span());
        }
        return None;
    };
    let name = r.words(&Line { key: "method".to_owned(), value }, "trailing-arm")?;
    let Some(text) = Method::text(&name.value) else {
        let known = Method::names();
        let bare = name.value.trim().split(' ').next().unwrap_or_default().to_lowercase();
        let close = closest_to(&bare, &known);
        let given = cut(name.value.trim());
        r.problem(ProblemKind::UnknownMethod { given, close, known }, name.span);
        return None;
    };
    let (questions, _, _) = Method::read(text, &Answers::new());
    let given = answers(r, document, &questions.questions);
    let Expanded { method, answers, car, ids, .. } = expand(text, &given);
    let stopped = method.stopped_by(&given).map(|[question, _, words]| {
        let span = document.get("answers").and_then(|v| v.get_ref().as_table()?.get(question));
        let span = span.map_or(name.span, Spanned::span);
        r.problem(ProblemKind::NotThisMethod { words: words.to_owned() }, span);
        words.to_owned()
    });
    let is_stopped = stopped.is_some();
    r.car.follows = Some(Follows { method, answers, stopped });
    if is_stopped {
        return None;
    }
    let CarFile { joints, parts, steps, changeover, .. } = car;
    (r.car.joints, r.car.parts, r.car.steps) = (joints, parts, steps);
    r.car.changeover = changeover;
    Some(ids)
}

fn answers(r: &mut Reader<'_>, document: &DeTable<'_>, questions: &[Question]) -> Answers {
    let mut given = Answers::new();
    let Some(value) = document.get("answers") else { return given };
    let Some(table) = r.table("answers", "answers", value) else { return given };
    for (key, value) in table {
        let name: &str = key.get_ref();
        let Some(question) = questions.iter().find(|question| question.id == name) else {
            let known: Vec<String> = questions.iter().map(|q| q.id.clone()).collect();
            let words: Vec<&str> = known.iter().map(String::as_str).collect();
            let close = closest_to(&name.to_lowercase(), &words).map(str::to_owned);
            let given = cut(name);
            r.problem(ProblemKind::UnknownQuestion { given, close, known }, key.span());
            continue;
        };
        let choice = match value.get_ref() {
            DeValue::Boolean(true) => "yes".to_owned(),
            DeValue::Boolean(false) => "no".to_owned(),
            DeValue::String(text) => text.trim().to_lowercase(),
            other => found(other).to_owned(),
        };
        if choice.is_empty() {
            continue;
        }
        if question.choices.contains(&choice) {
            given.insert(name.to_owned(), choice);
        } else {
            let key = format!("answers.{name}");
            unknown_choice(r, &key, &choice, &question.choices, value.span());
        }
    }
    given
}

/// Whose a row of the car file is.
pub(super) enum Held {
    /// Its own.
    Own,
    /// The method's: the ids, side and all, of the rows it changes.
    Rows(Vec<String>),
    /// Of no use: the method has such a row, and not with these answers.
    Off,
}

impl Reader<'_> {
    /// Whether a row bears an id of the method's.
    pub(super) fn held(&mut self, row: &Row<'_>, named: Named) -> Held {
        let Some(id) = row.get("id").and_then(|line| line.value.get_ref().as_str()) else {
            return Held::Own;
        };
        let id = id.trim().to_owned();
        let (rows, is_off) = self.ids.held(named, &id);
        if is_off {
            let (what, given) = (named.word(), cut(&id));
            self.problem(ProblemKind::SwitchedOff { what, given }, row.span_of("id"));
            return Held::Off;
        }
        match rows.is_empty() {
            true => Held::Own,
            false => Held::Rows(rows),
        }
    }

    /// Takes out what the car file strikes of the method. What came after a struck step comes after
    /// what that one came after.
    pub(super) fn strike_out(&mut self) {
        let struck = std::mem::take(&mut self.struck);
        let is_struck =
            |named: Named, id: &str| struck.iter().any(|(n, own)| *n == named && own == id);
        self.car.joints.retain(|joint| !is_struck(Named::Joint, &joint.id.value));
        self.car.parts.retain(|part| !is_struck(Named::Part, &part.id.value));
        while let Some(at) =
            self.car.steps.iter().position(|step| is_struck(Named::Step, &step.id.value))
        {
            let gone = self.car.steps.remove(at);
            for step in &mut self.car.steps {
                let Some(place) = step.after.iter().position(|id| id.value == gone.id.value) else {
                    continue;
                };
                step.after.remove(place);
                for before in &gone.after {
                    let fresh = step.after.iter().all(|had| had.value != before.value);
                    if fresh && before.value != step.id.value {
                        step.after.push(before.clone());
                    }
                }
            }
        }
    }
}

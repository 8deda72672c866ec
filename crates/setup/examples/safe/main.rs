//! Plans of the demo with figures left out, for a judge that shares no code with them.
//!
//! ```text
//! cargo run --package axlewright-setup --example safe -- slice | python3 reference/safe_judge.py
//! ```
//!
//! One line of JSON for each case: each figure left out in turn, each table left out, random
//! halves, and with `soak` five hundred invented cars; `slice` is a seeded handful of each, for the
//! tests.
//! With `break-arc` or `break-gate` behind it a plan is spoilt on purpose, so that the judge can be
//! seen to fail: the stop bolt of every plan goes out late, or every gate is left out.

use std::fmt::Write as _;

use axlewright_book::{CarFile, Severity, read};
use axlewright_quantity::{Corner, Side};
use axlewright_setup::order::{Control, OrderQuestion, order};
use axlewright_setup::{Assessment, Item, Subject, assess};

#[path = "../workshop/sim/dice.rs"]
#[expect(dead_code, reason = "the other example rolls the rest of it")]
mod dice;

use dice::Dice;

const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");
const SEED: u64 = 2611;
/// Findings the judge asks after.
const ASKED: [&str; 6] =
    ["window.damper", "window.half-shaft", "window.hose", "window.cable", "droop", "index.choices"];
/// Tables whose rows other rows name: without one the file has an error that names it.
const NAMED: [&str; 2] = ["[[joint]]", "[[part]]"];
/// Keys that are no figures, whatever digits stand in them.
const NO_FIGURES: [&str; 9] =
    ["words", "caution", "after", "needs", "id", "name", "does", "note", "format"];

/// A piece of the file: the table it stands in, and its lines.
struct Piece {
    table: String,
    text: String,
    is_figure: bool,
}

/// What is left out or changed, and the file that is left.
struct Case {
    name: String,
    text: String,
    is_named: bool,
}

fn is_open(text: &str) -> bool {
    let brackets = text.matches('[').count() != text.matches(']').count();
    let braces = text.matches('{').count() != text.matches('}').count();
    brackets || braces || text.matches("\"\"\"").count() % 2 == 1
}

/// The file in pieces: one for each key with its value, one for each head of a table.
fn pieces(text: &str) -> Vec<Piece> {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut table = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let mut whole = format!("{line}\n");
        let code = line.split('#').next().unwrap_or_default();
        if code.starts_with('[') {
            table = code.trim().to_owned();
        } else if code.contains('=') {
            while is_open(&whole) {
                let Some(more) = lines.next() else { break };
                let _ = writeln!(whole, "{more}");
            }
        }
        let key = code.split('=').next().unwrap_or_default().trim();
        let digits = whole.split('=').skip(1).any(|v| v.contains(|c: char| c.is_ascii_digit()));
        let is_figure = !code.starts_with('[') && digits && !NO_FIGURES.contains(&key);
        pieces.push(Piece { table: table.clone(), text: whole, is_figure });
    }
    pieces
}

fn joined<'a>(pieces: impl Iterator<Item = &'a Piece>) -> String {
    pieces.map(|piece| piece.text.as_str()).collect()
}

/// Each figure left out in turn.
fn figures(pieces: &[Piece]) -> Vec<Case> {
    let figures = pieces.iter().enumerate().filter(|(_, piece)| piece.is_figure);
    figures
        .map(|(out, piece)| {
            let kept = pieces.iter().enumerate().filter(|(at, _)| *at != out);
            let first = piece.text.lines().next().unwrap_or_default();
            Case {
                name: format!("figure: {} {first}", piece.table),
                text: joined(kept.map(|(_, piece)| piece)),
                is_named: false,
            }
        })
        .collect()
}

/// Each table left out; a step is no table, it stops the plan.
fn tables(pieces: &[Piece]) -> Vec<Case> {
    let mut cases = Vec::new();
    let heads: Vec<usize> =
        (0..pieces.len()).filter(|at| pieces[*at].text.starts_with('[')).collect();
    for (at, head) in heads.iter().enumerate() {
        let table = &pieces[*head].table;
        if table == "[[step]]" {
            continue;
        }
        let end = heads.get(at + 1).copied().unwrap_or(pieces.len());
        let kept = pieces.iter().enumerate().filter(|(i, _)| *i < *head || end <= *i);
        let text = joined(kept.map(|(_, piece)| piece));
        let named = NAMED.contains(&table.as_str());
        let is_named = named && has_errors(&text);
        cases.push(Case { name: format!("table: {table} {at}"), text, is_named });
    }
    cases
}

/// Random halves: every figure is left out with one chance in two.
fn halves(pieces: &[Piece], many: u64) -> Vec<Case> {
    let case = |car: u64| {
        let mut dice = Dice::new(SEED, car, 1);
        let kept: Vec<&Piece> =
            pieces.iter().filter(|piece| !piece.is_figure || dice.happens(0.5)).collect();
        let text = joined(kept.into_iter());
        Case { name: format!("half: {car}"), text, is_named: false }
    };
    (0..many).map(case).collect()
}

/// Cars nobody built: every length, mass and angle up to a quarter off, one figure in ten left out.
fn invented(pieces: &[Piece], many: u64) -> Vec<Case> {
    let case = |car: u64| {
        let mut dice = Dice::new(SEED, car, 2);
        let mut text = String::new();
        for piece in pieces {
            let of_car = piece.is_figure && !piece.table.starts_with("[[");
            if of_car && dice.happens(0.1) {
                continue;
            }
            text += &if of_car { shaken(&piece.text, &mut dice) } else { piece.text.clone() };
        }
        Case { name: format!("invented: {car}"), text, is_named: false }
    };
    // One that cannot be read is no car.
    let mut cases: Vec<Case> = (0..many * 4).map(case).collect();
    cases.retain(|case| !has_errors(&case.text));
    cases.truncate(usize::try_from(many).unwrap_or(0));
    cases
}

/// Every number with a point, or with two digits and more, made larger or smaller.
fn shaken(text: &str, dice: &mut Dice) -> String {
    let (code, rest) = text.split_once('#').map_or((text, ""), |(code, rest)| (code, rest));
    let mut out = String::new();
    let mut number = String::new();
    for letter in code.chars().chain(['\u{0}']) {
        if letter.is_ascii_digit() || (letter == '.' && !number.is_empty()) {
            number.push(letter);
            continue;
        }
        if !number.is_empty() {
            match number.parse::<f64>().ok().filter(|_| 3 <= number.len()) {
                Some(value) => {
                    let _ = write!(out, "{:.2}", value * (1.0 + dice.within(0.25)));
                }
                None => out += &number,
            }
            number.clear();
        }
        if letter != '\u{0}' {
            out.push(letter);
        }
    }
    if rest.is_empty() { out } else { format!("{out}#{rest}") }
}

fn has_errors(text: &str) -> bool {
    read(text).1.iter().any(|problem| problem.severity == Severity::Error)
}

fn quoted<S: AsRef<str>>(list: impl IntoIterator<Item = S>) -> String {
    let one = |text: S| {
        let plain: String = text.as_ref().chars().filter(|c| !c.is_control()).collect();
        format!("\"{}\"", plain.replace('\\', "\\\\").replace('"', "\\\""))
    };
    list.into_iter().map(one).collect::<Vec<_>>().join(", ")
}

fn ids(out: &Assessment, key: Option<&str>) -> Vec<String> {
    let id = if key.is_some() { "order.safety" } else { "order.sequence" };
    let value = out.find(id, None).map(|found| &found.value);
    let list = match key {
        Some(key) => value.and_then(|value| value.get(key)),
        None => value,
    };
    let rows = list.map(Item::items).unwrap_or_default().iter();
    rows.filter_map(|row| match row.get("step") {
        Some(Item::Word(id)) => Some(id.clone()),
        _ => None,
    })
    .collect()
}

fn known(facts: &Assessment) -> Vec<String> {
    let mut known = Vec::new();
    for side in Side::BOTH {
        let of = Subject::Corner(Corner::rear(side));
        let found = ASKED.iter().filter(|id| facts.find(id, Some(&of)).is_some());
        known.extend(found.map(|id| format!("{id}-{side}")));
    }
    known
}

/// One line for the judge.
fn judged(case: &Case, spoil: &str) -> String {
    let (car, problems): (CarFile, _) = read(&case.text);
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error);
    let mut told: Vec<String> = errors.map(|problem| problem.what.clone()).collect();
    let facts = assess(&car);
    let question = OrderQuestion { moves: Some(1), ..OrderQuestion::default() };
    let out = if told.is_empty() {
        order(&car, &facts, &question, &mut |_| Control::Go)
            .unwrap_or_else(|problems| Assessment { problems, ..Assessment::default() })
    } else {
        Assessment::default()
    };
    told.extend(out.problems.iter().cloned());
    let (mut sequence, mut gates) = (ids(&out, None), ids(&out, Some("gates")));
    if spoil == "break-arc" {
        late(&mut sequence, "stop-bolt-off-left", "bar-out-left");
    }
    if spoil == "break-gate" {
        gates.clear();
    }
    let all = car.steps.iter().map(|step| step.id.value.as_str());
    format!(
        "{{\"case\": {}, \"expect\": \"{}\", \"order\": [{}], \"all\": [{}], \"gates\": [{}], \
         \"known\": [{}], \"problems\": [{}]}}",
        quoted([&case.name]),
        if case.is_named { "named" } else { "plan" },
        quoted(sequence),
        quoted(all),
        quoted(gates),
        quoted(known(&facts)),
        quoted(told),
    )
}

/// Puts a step behind another.
fn late(order: &mut Vec<String>, id: &str, behind: &str) {
    if let Some(from) = order.iter().position(|step| step == id) {
        let step = order.remove(from);
        let to = order.iter().position(|step| step == behind).map_or(order.len(), |at| at + 1);
        order.insert(to, step);
    }
}

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let kind = words.first().map_or("all", String::as_str);
    let spoil = words.get(1).map_or("", String::as_str);
    let pieces = pieces(LARCH);
    let mut cases =
        vec![Case { name: "whole: demo".to_owned(), text: LARCH.to_owned(), is_named: false }];
    let every = |cases: Vec<Case>, nth: usize| cases.into_iter().step_by(nth);
    match kind {
        "slice" => {
            cases.extend(every(figures(&pieces), 29));
            cases.extend(every(tables(&pieces), 13));
            cases.extend(halves(&pieces, 8));
            cases.extend(invented(&pieces, 4));
        }
        _ => {
            cases.extend(figures(&pieces));
            cases.extend(tables(&pieces));
            cases.extend(halves(&pieces, 200));
            if kind == "soak" {
                cases.extend(invented(&pieces, 500));
            }
        }
    }
    let half = cases.len().div_ceil(2).max(1);
    let lines: Vec<String> = std::thread::scope(|scope| {
        let work = |some: &'_ [Case]| -> Vec<String> {
            some.iter().map(|case| judged(case, spoil)).collect()
        };
        let hands: Vec<_> =
            cases.chunks(half).map(|some| scope.spawn(move || work(some))).collect();
        let joined = |hand: std::thread::ScopedJoinHandle<'_, Vec<String>>| {
            hand.join().unwrap_or_else(|_| std::process::exit(101))
        };
        hands.into_iter().flat_map(joined).collect()
    });
    for line in lines {
        println!("{line}");
    }
}

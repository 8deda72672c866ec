//! The demo's file with something left out of it.

use std::fmt::Write as _;

use axlewright_book::{Severity, read};

use super::{Case, Dice, Expect, SEED};

/// Tables whose rows other rows name: without one the file has an error that names it.
const NAMED: [&str; 2] = ["[[joint]]", "[[part]]"];
/// Keys that are no figures, whatever digits stand in them.
const NO_FIGURES: [&str; 9] =
    ["words", "caution", "after", "needs", "id", "name", "does", "note", "format"];

/// A piece of the file: the table it stands in, and its lines.
#[derive(Clone)]
pub struct Piece {
    pub table: String,
    pub text: String,
    pub is_figure: bool,
}

fn is_open(text: &str) -> bool {
    let brackets = text.matches('[').count() != text.matches(']').count();
    let braces = text.matches('{').count() != text.matches('}').count();
    brackets || braces || text.matches("\"\"\"").count() % 2 == 1
}

/// The file in pieces: one for each key with its value, one for each head of a table.
pub fn pieces(text: &str) -> Vec<Piece> {
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

pub fn joined<'a>(pieces: impl Iterator<Item = &'a Piece>) -> String {
    pieces.map(|piece| piece.text.as_str()).collect()
}

pub fn key(piece: &Piece) -> &str {
    piece.text.split('=').next().unwrap_or_default().trim()
}

/// Each figure left out in turn.
pub fn figures(pieces: &[Piece]) -> Vec<Case> {
    let figures = pieces.iter().enumerate().filter(|(_, piece)| piece.is_figure);
    figures
        .map(|(out, piece)| {
            let kept = pieces.iter().enumerate().filter(|(at, _)| *at != out);
            let first = piece.text.lines().next().unwrap_or_default();
            let name = format!("figure: {} {first}", piece.table);
            Case::plan(name, joined(kept.map(|(_, piece)| piece)))
        })
        .collect()
}

/// Where each table begins and ends.
fn blocks(pieces: &[Piece]) -> Vec<(usize, usize)> {
    let heads: Vec<usize> =
        (0..pieces.len()).filter(|at| pieces[*at].text.starts_with('[')).collect();
    let end = |at: usize| heads.get(at + 1).copied().unwrap_or(pieces.len());
    heads.iter().enumerate().map(|(at, head)| (*head, end(at))).collect()
}

/// Each table left out; a step is no table, it stops the plan.
pub fn tables(pieces: &[Piece]) -> Vec<Case> {
    let mut cases = Vec::new();
    for (at, (head, end)) in blocks(pieces).into_iter().enumerate() {
        let table = &pieces[head].table;
        if table == "[[step]]" {
            continue;
        }
        let kept = pieces.iter().enumerate().filter(|(i, _)| *i < head || end <= *i);
        let text = joined(kept.map(|(_, piece)| piece));
        let mut case = Case::plan(format!("table: {table} {at}"), text);
        if NAMED.contains(&table.as_str()) && has_errors(&case.text) {
            case.expect = Expect::Named;
        }
        cases.push(case);
    }
    cases
}

/// Random halves: every figure is left out with one chance in two.
pub fn halves(pieces: &[Piece], many: u64) -> Vec<Case> {
    let case = |car: u64| {
        let mut dice = Dice::new(SEED, car, 1);
        let kept: Vec<&Piece> =
            pieces.iter().filter(|piece| !piece.is_figure || dice.happens(0.5)).collect();
        Case::plan(format!("half: {car}"), joined(kept.into_iter()))
    };
    (0..many).map(case).collect()
}

fn is_after(piece: &Piece) -> bool {
    piece.table == "[[step]]" && key(piece) == "after"
}

/// The method with nothing said of what comes after what, but that the engine comes late: with it
/// in first, no ballast would be needed.
pub fn unsaid(pieces: &[Piece]) -> String {
    let engine = |piece: &Piece| piece.text.contains("stop-bolt-in-both");
    joined(pieces.iter().filter(|piece| !is_after(piece) || engine(piece)))
}

/// The same with every second `after` left out by chance: what each step does has to do.
pub fn unsaid_halves(pieces: &[Piece], many: u64) -> Vec<Case> {
    let case = |car: u64| {
        let mut dice = Dice::new(SEED, car, 3);
        let kept: Vec<&Piece> =
            pieces.iter().filter(|piece| !is_after(piece) || dice.happens(0.5)).collect();
        Case::plan(format!("unsaid: {car}"), joined(kept.into_iter()))
    };
    let mut cases = vec![Case::plan("unsaid: all".to_owned(), unsaid(pieces))];
    cases.extend((0..many).map(case));
    cases
}

/// Each step left out: with those that name it as they are, and with its name taken out of them.
pub fn steps(pieces: &[Piece]) -> Vec<Case> {
    let mut cases = Vec::new();
    for (head, end) in blocks(pieces) {
        let Some(id) = pieces[head..end].iter().find(|piece| key(piece) == "id") else { continue };
        if pieces[head].table != "[[step]]" {
            continue;
        }
        let id = id.text.split('"').nth(1).unwrap_or_default();
        let kept = pieces.iter().enumerate().filter(|(at, _)| *at < head || end <= *at);
        let kept: Vec<&Piece> = kept.map(|(_, piece)| piece).collect();
        let text = joined(kept.iter().copied());
        if has_errors(&text) {
            let name = format!("step: {id} left out and still named");
            cases.push(Case { expect: Expect::Named, ..Case::plan(name, text) });
        }
        let text = kept.iter().map(|piece| without(piece, id)).collect();
        let mut case = Case::plan(format!("step: {id} left out"), text);
        case.expect = Expect::Stops;
        case.about = id.to_owned();
        cases.push(case);
    }
    cases
}

/// A piece with a step's name taken out of its `after`.
fn without(piece: &Piece, id: &str) -> String {
    if !is_after(piece) {
        return piece.text.clone();
    }
    let names = piece.text.split('"').skip(1).step_by(2);
    let is_it = |name: &str| {
        let plain = name.strip_suffix("-left").or_else(|| name.strip_suffix("-right"));
        let plain = plain.or_else(|| name.strip_suffix("-both")).unwrap_or(name);
        name == id || plain == id
    };
    let kept: Vec<String> =
        names.filter(|name| !is_it(name)).map(|name| format!("\"{name}\"")).collect();
    format!("after = [{}]\n", kept.join(", "))
}

pub fn has_errors(text: &str) -> bool {
    read(text).1.iter().any(|problem| problem.severity == Severity::Error)
}

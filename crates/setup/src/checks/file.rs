//! Mends of a file that cannot be: where an error stands, each slip a hand makes is tried on the
//! numbers of its row, and kept where the file can then be. The likeliest is the one after which
//! the car disagrees with itself least.

use std::ops::Range;

use axlewright_book::{Problem, Severity};
use axlewright_quantity::{Amount, Kind, exact, parse_amount};

use super::suspects;
use crate::assess;
use crate::cautions;
use crate::cross_check::{Slip, Suspect};

/// How many are told, and how many are assessed.
const TOLD: usize = 3;
const ASSESSED: usize = 6;

/// A value as it stands in the text, without its quotes.
struct Place<'a> {
    name: String,
    span: Range<usize>,
    text: &'a str,
}

fn errors(text: &str) -> Vec<Problem> {
    let (_, problems) = axlewright_book::read(text);
    problems.into_iter().filter(|problem| problem.severity == Severity::Error).collect()
}

/// What may be wrong with a car file that holds errors, the likeliest first: of each row in which
/// an error stands, the slips without which there are fewer.
pub fn mends(text: &str) -> Vec<Suspect> {
    let before = errors(text);
    let mut kept: Vec<(usize, usize, Suspect, String)> = Vec::new();
    for problem in before.iter().take(4) {
        let at = &problem.span;
        let row = row(text, at.start);
        // Where the row alone has the error, it tells of most tries that they are none: a whole
        // file takes a hundred times as long to read.
        let own_errors = errors_of_row(text, &row);
        let by_row = own_errors.iter().any(|own| own.what == problem.what);
        let own = |place: &Place<'_>| place.span.start <= at.end && at.start <= place.span.end;
        // What the error names, then the value it stands in, then its neighbours.
        let named = |place: &Place<'_>| problem.what.contains(&format!("`{}`", place.name));
        for place in &places(text, at.start) {
            let far = usize::from(!own(place)) + usize::from(!named(place));
            for (slip, suspect, mended) in tries(text, place) {
                let row = row.start..(row.end + mended.len()).saturating_sub(text.len());
                if by_row && own_errors.len() <= errors_of_row(&mended, &row).len() {
                    continue;
                }
                let left = errors(&mended).len();
                if left < before.len() {
                    let cost = far + digits(&suspect) + usize::from(slip == Slip::Sign);
                    kept.push((left, cost, suspect, mended));
                }
            }
        }
    }
    kept.sort_by_key(|one| (one.0, one.1));
    kept.truncate(ASSESSED);
    let mut told: Vec<(usize, f64, Suspect)> = Vec::new();
    for (left, cost, suspect, mended) in kept {
        let (car, _) = axlewright_book::read(&mended);
        // A stop weighs more than anything a car may be like.
        let wrong = 20.0 * disagreements(&car) as f64;
        told.push((left, wrong + super::unlikely(&car) + cost as f64, suspect));
    }
    told.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    told.into_iter().take(TOLD).map(|one| one.2).collect()
}

/// People read and print round numbers: how many digits the mend has.
fn digits(suspect: &Suspect) -> usize {
    let share = if suspect.slip == Slip::Unit { suspects::PRINTED } else { 1e-6 };
    let number = suspect.meant.map_or(1.0, Amount::shown);
    usize::try_from(suspects::digits(number, share)).unwrap_or_default()
}

/// Cautions that stop, and checks that disagree.
fn disagreements(car: &axlewright_book::CarFile) -> usize {
    let out = assess(car);
    let stops = out.cautions.iter().filter(|c| c.severity == cautions::Severity::Stop).count();
    stops + out.cross_checks.len() + out.problems.len()
}

/// The row in which a byte stands, from its heading to the next.
fn row(text: &str, at: usize) -> Range<usize> {
    let before = text.get(..at).unwrap_or_default();
    let from = before.rfind("\n[").map_or(0, |n| n + 1);
    let rest = text.get(from..).unwrap_or_default();
    let next = rest.get(1..).and_then(|more| more.find("\n[")).map(|n| from + n + 2);
    from..next.unwrap_or(text.len())
}

/// The errors of a row as if it were a file.
fn errors_of_row(text: &str, row: &Range<usize>) -> Vec<Problem> {
    errors(&format!("format = 1\n{}", text.get(row.clone()).unwrap_or_default()))
}

/// The values of the row in which a byte stands.
fn places(text: &str, at: usize) -> Vec<Place<'_>> {
    let Range { start: from, end } = row(text, at);
    let block = text.get(from..end).unwrap_or_default();
    let word = |key: &str| {
        let line =
            block.lines().find(|line| line.split('=').next().is_some_and(|k| k.trim() == key));
        line.and_then(|line| line.split('"').nth(1)).unwrap_or_default()
    };
    let head = block.lines().next().unwrap_or_default();
    let section = head.split('#').next().unwrap_or_default().trim().trim_matches(['[', ']']);
    let stem = match (head.starts_with("[["), section) {
        (false, name) => name.to_owned(),
        (true, "stand" | "masses" | "wrench") => format!("{section}.{}", word("name")),
        (true, "joint") => format!("joint.{}", word("id")),
        (true, "reading") => {
            format!("reading.{}.{}", word("what").replace(' ', "-"), word("side"))
        }
        (true, "spec") => {
            let joint = word("joint");
            let dot = if joint.is_empty() { "" } else { "." };
            format!("spec.{}{dot}{joint}", word("what").replace(' ', "-"))
        }
        _ => return Vec::new(),
    };
    let mut all = Vec::new();
    let mut start = from;
    for line in block.split_inclusive('\n') {
        let parts = line.split_once('=').and_then(|(key, value)| {
            let at = start + key.len() + 1;
            let Some(open) = value.find('"') else {
                // A bare count.
                let bare = value.split('#').next()?;
                let from = at + bare.len() - bare.trim_start().len();
                let count = bare.trim();
                return count.parse::<u32>().ok().map(|_| (key.trim(), from..from + count.len()));
            };
            let close = value.get(open + 1..)?.find('"')? + open + 1;
            Some((key.trim(), at + open + 1..at + close))
        });
        start += line.len();
        let Some((key, span)) = parts else { continue };
        let Some(value) = text.get(span.clone()) else { continue };
        let own = key == "value" && matches!(section, "reading" | "spec");
        let name = if own { stem.clone() } else { format!("{stem}.{key}") };
        if value.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
            all.push(Place { name, span, text: value });
        }
    }
    all
}

/// Where the numbers stand in a value, up to its tolerance.
fn numbers(value: &str) -> Vec<Range<usize>> {
    let end = value.find(['±', 'u']).unwrap_or(value.len());
    let mut all = Vec::new();
    let mut open: Option<usize> = None;
    let part = |c: char| c.is_ascii_digit() || matches!(c, '-' | '.');
    for (at, c) in value.char_indices().filter(|(at, _)| *at < end).chain([(end, ' ')]) {
        match (open, part(c)) {
            (None, true) => open = Some(at),
            (Some(from), false) => {
                all.push(from..at);
                open = None;
            }
            _ => {}
        }
    }
    all
}

/// Which coordinate a number of a place is called.
fn axis(name: &str, count: usize, at: usize) -> &'static str {
    let names: &[&str] = match (count, name.split('.').next()) {
        (3, _) => &[" X", " Y", " Z"],
        (2, Some("plate")) => &[" u", " w"],
        (2, Some("stop_bolt")) => &[" X", " Z"],
        (2, _) => &[" X", " Y"],
        _ => &[],
    };
    names.get(at).copied().unwrap_or_default()
}

fn written(number: f64) -> String {
    let text = format!("{number:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The unit behind the numbers.
fn unit(value: &str, last: &Range<usize>) -> String {
    let rest = value.get(last.end..).unwrap_or_default();
    let end = rest.find(['±']).or_else(|| rest.find(" u ")).unwrap_or(rest.len());
    rest.get(..end).unwrap_or_default().trim().to_owned()
}

fn amount(text: &str) -> Option<Amount> {
    Kind::ALL.iter().find_map(|kind| parse_amount(text, *kind).ok()).map(|read| read.amount)
}

/// One more or less.
fn counts(text: &str, place: &Place<'_>, count: u32) -> Vec<(Slip, Suspect, String)> {
    let each = [count.saturating_sub(1), count.saturating_add(1)].into_iter();
    let other = each.filter(|meant| *meant != count);
    let tried = other.map(|meant| {
        let mut mended = text.to_owned();
        mended.replace_range(place.span.clone(), &meant.to_string());
        let explains = format!("{meant} in place of {count} ({})", Slip::Tooth.word());
        let what = place.name.clone();
        (Slip::Tooth, Suspect { what, slip: Slip::Tooth, meant: None, explains }, mended)
    });
    tried.collect()
}

/// Units of torque, in newton metres.
const TORQUES: [(&str, f64); 3] =
    [("N m", 1.0), ("kgf m", exact::KILOGRAM_FORCE_N), ("lbf ft", exact::POUND_FORCE_FOOT_NM)];

/// Each slip of one value, undone.
fn tries(text: &str, place: &Place<'_>) -> Vec<(Slip, Suspect, String)> {
    if let Ok(count) = place.text.parse::<u32>() {
        return counts(text, place, count);
    }
    let found = numbers(place.text);
    let Some(last) = found.last() else { return Vec::new() };
    let unit = unit(place.text, last);
    let mut all = Vec::new();
    let mut put =
        |slip: Slip, what: String, value: String, meant: Option<Amount>, words: String| {
            let mut mended = text.to_owned();
            mended.replace_range(place.span.clone(), &value);
            let explains = format!("{words} ({})", slip.word());
            all.push((slip, Suspect { what, slip, meant, explains }, mended));
        };
    for (at, token) in found.iter().enumerate() {
        let Some(own) = place.text.get(token.clone()) else { continue };
        let Ok(number) = own.parse::<f64>() else { continue };
        for (slip, factor) in [(Slip::Decimal, 0.1), (Slip::Decimal, 10.0), (Slip::Sign, -1.0)] {
            let new = written(number * factor);
            let mut value = place.text.to_owned();
            value.replace_range(token.clone(), &new);
            let what = format!("{}{}", place.name, axis(&place.name, found.len(), at));
            let meant = amount(&format!("{new} {unit}"));
            put(slip, what, value, meant, format!("{new} {unit} in place of {own} {unit}"));
        }
    }
    for (is, was) in [("mm", "in"), ("in", "mm"), ("kg", "lb"), ("lb", "kg"), ("N", "lbf")]
        .into_iter()
        .chain(TORQUES.into_iter().flat_map(|(is, _)| TORQUES.map(|(was, _)| (is, was))))
    {
        if is == was {
            continue;
        }
        if unit != was {
            continue;
        }
        let tail = place.text.get(last.end..).unwrap_or_default().replacen(was, is, 1);
        let value = format!("{}{tail}", place.text.get(..last.end).unwrap_or_default());
        let meant = if found.len() == 1 { amount(&value) } else { None };
        put(Slip::Unit, place.name.clone(), value, meant, format!("{is} in place of {was}"));
    }
    let read = TORQUES.into_iter().flat_map(|(own, si)| {
        TORQUES.into_iter().filter(move |(other, _)| *other != own).map(move |(_, o)| (own, o / si))
    });
    let others =
        [("mm", exact::INCH_M * 1e3), ("kg", exact::POUND_KG), ("N", exact::POUND_FORCE_N)];
    for (own, factor) in others.into_iter().chain(read) {
        if unit != own {
            continue;
        }
        let mut value = place.text.to_owned();
        for token in found.iter().rev() {
            let Some(Ok(number)) = place.text.get(token.clone()).map(str::parse::<f64>) else {
                continue;
            };
            value.replace_range(token.clone(), &written(number * factor));
        }
        let meant = if found.len() == 1 { amount(&value) } else { None };
        put(Slip::Unit, place.name.clone(), value, meant, "read in the other unit".to_owned());
    }
    all
}

//! What the program says of a slip.

use std::collections::BTreeSet;

use axlewright_book::{CarFile, Problem, ProblemKind, Severity};
use axlewright_quantity::{Amount, parse_amount};
use axlewright_setup::{Assessment, Item, assess};

use super::sites::{Hand, Slipped};
use super::unknowable;

/// What came of a slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// At once, and the first mend named restores the value.
    Named,
    /// At once, with another mend in front, or none.
    Caught,
    /// Only in the findings of joints, or of the round on the wheels.
    Elsewhere,
    /// Not at all.
    Missed,
    /// Nothing in the file could show it: on the committed list.
    Unknowable,
}

impl Outcome {
    pub const ALL: [Self; 5] =
        [Self::Named, Self::Caught, Self::Elsewhere, Self::Missed, Self::Unknowable];

    pub const fn word(self) -> &'static str {
        match self {
            Self::Named => "at once, mend named",
            Self::Caught => "at once",
            Self::Elsewhere => "elsewhere",
            Self::Missed => "missed",
            Self::Unknowable => "unknowable",
        }
    }
}

/// Ids of findings that speak up beside `check`.
const ELSEWHERE: [&str; 3] = ["car.suspect-reading", "joint.warning", "joint.warnings"];

/// What the program says of a file before anything is asked.
#[derive(Debug, Default, PartialEq)]
pub struct Told {
    at_once: BTreeSet<String>,
    elsewhere: BTreeSet<String>,
}

fn told_by(problems: &[Problem], out: Option<&Assessment>) -> Told {
    let mut told = Told::default();
    told.at_once.extend(problems.iter().map(|problem| problem.what.clone()));
    let Some(out) = out else { return told };
    told.at_once.extend(out.problems.iter().cloned());
    let caution =
        |c: &axlewright_setup::Caution| format!("{} {:?} {}", c.id, c.of, c.severity.word());
    told.at_once.extend(out.cautions.iter().map(caution));
    for finding in out.findings.iter().filter(|f| ELSEWHERE.contains(&f.id)) {
        // One entry a row: what is left of a list has told nothing new.
        let rows = match &finding.value {
            Item::List(rows) => rows.clone(),
            other => vec![other.clone()],
        };
        let words = |row: &Item| match row.get("id").or_else(|| row.get("corner")) {
            Some(Item::Word(word)) => word.clone(),
            _ => String::new(),
        };
        let row = |row: &Item| format!("{} {:?} {}", finding.id, finding.of, words(row));
        told.elsewhere.extend(rows.iter().map(row));
    }
    told
}

/// Reads and assesses a file; not beyond an error in it.
fn look(text: &str) -> (CarFile, Vec<Problem>, Option<Assessment>) {
    let (car, problems) = axlewright_book::read(text);
    let out = (!has_error(&problems)).then(|| assess(&car));
    (car, problems, out)
}

fn has_error(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity == Severity::Error)
}

/// What is told of the file without a slip.
pub fn sound(text: &str) -> Told {
    let (_, problems, out) = look(text);
    told_by(&problems, out.as_ref())
}

/// Alarms of the program's own checks of one quantity against another, in words.
pub fn alarms(text: &str) -> Vec<String> {
    let (_, problems, out) = look(text);
    let mut all: Vec<String> = problems
        .iter()
        .filter(|p| p.severity == Severity::Error)
        .map(|p| format!("{} ({})", p.what, p.line))
        .collect();
    if let Some(out) = out {
        all.extend(out.cautions.iter().filter(|c| c.id == "cross-check").map(|c| c.words.clone()));
    }
    all
}

fn near(a: Amount, b: Amount) -> bool {
    let (a, b) = (a.to_si(), b.to_si());
    (a - b).abs() <= 0.01 * a.abs().max(b.abs())
}

/// Whether a problem's mend gives back the value.
fn mends(problem: &Problem, slipped: &Slipped) -> bool {
    let over = problem.span.start < slipped.span.end && slipped.span.start < problem.span.end;
    if !over {
        return false;
    }
    match (&problem.kind, slipped.meant) {
        (ProblemKind::OutOfRange { slip: Some(guesses), .. }, Some(meant)) => {
            let mut each = guesses.split(" or ").flat_map(|part| part.split(", "));
            each.any(|guess| {
                parse_amount(guess.trim(), meant.kind()).is_ok_and(|read| near(read.amount, meant))
            })
        }
        (ProblemKind::SwappedSides { .. }, _) => {
            matches!(slipped.hand, Hand::Sign | Hand::Sides)
        }
        _ => false,
    }
}

/// What is told of a slipped file beyond what is told of the sound one, in words.
pub fn words(slipped: &Slipped, before: &Told) -> Vec<String> {
    let (_, problems, out) = look(&slipped.text);
    let told = told_by(&problems, out.as_ref());
    let mut all: Vec<String> = told.at_once.difference(&before.at_once).cloned().collect();
    if has_error(&problems) {
        let mends = axlewright_setup::mends(&slipped.text);
        all.extend(mends.iter().map(|s| format!("mend {}: {}", s.what, s.explains)));
    }
    for check in out.iter().flat_map(|out| &out.cross_checks) {
        let times = check.times_u().map_or(0.0, axlewright_quantity::Ratio::to_one);
        all.push(format!("{} {times:.1} u", check.id));
        all.extend(check.suspects.iter().map(|s| format!("  {}: {}", s.what, s.explains)));
    }
    all
}

/// Whether the first suspect of any check is the slip that was made.
fn names(out: &Assessment, slipped: &Slipped) -> bool {
    if slipped.hand == Hand::Sign
        && out.cautions.iter().any(|c| c.id == "reading.sign")
        && slipped.name.starts_with("reading.plate-angle")
    {
        return true;
    }
    let checks = out.findings.iter().filter(|f| f.id == "cross-check");
    checks.filter_map(|f| f.value.get("suspects")?.items().first()).any(|first| {
        // What was left out has no name: the row that is missing, with its mass and its place.
        let left_out = slipped.hand == Hand::Stage && slipped.meant.is_none();
        let what = matches!(first.get("what"), Some(Item::Word(what))
            if *what == slipped.number || *what == slipped.name || left_out && what == "masses");
        let meant = first.get("meant").and_then(Item::amount);
        match (slipped.meant, meant) {
            (Some(a), Some(b)) => what && near(a, b),
            (None, None) => what,
            _ => false,
        }
    })
}

/// Whether a suspect is the slip that was made, with the value it was made on.
fn is_it(suspect: &axlewright_setup::Suspect, slipped: &Slipped) -> bool {
    let what = suspect.what == slipped.number || suspect.what == slipped.name;
    let same = match (slipped.meant, suspect.meant) {
        (Some(a), Some(b)) => near(a, b),
        (None, None) => true,
        _ => false,
    };
    what && same
}

/// What came of one slip, `before` being told of the file without it: as the program is, and as it
/// would be without its checks of one way against another.
pub fn judge(slipped: &Slipped, before: &Told) -> [Outcome; 2] {
    let (_, problems, out) = look(&slipped.text);
    let without = out.clone().map(|mut out| {
        out.cautions.retain(|caution| caution.id != "cross-check");
        out.findings.retain(|finding| finding.id != "cross-check");
        out
    });
    [out, without].map(|out| judged(slipped, before, &problems, out.as_ref()))
}

fn judged(
    slipped: &Slipped,
    before: &Told,
    problems: &[Problem],
    out: Option<&Assessment>,
) -> Outcome {
    let told = told_by(problems, out);
    let new = told.at_once.difference(&before.at_once).next().is_some();
    if new {
        let by_file = problems.iter().any(|problem| mends(problem, slipped));
        let by_check = out.is_some_and(|out| names(out, slipped));
        let by_mend = || {
            has_error(problems)
                && axlewright_setup::mends(&slipped.text).first().is_some_and(|s| is_it(s, slipped))
        };
        return if by_file || by_check || by_mend() { Outcome::Named } else { Outcome::Caught };
    }
    if told.elsewhere.difference(&before.elsewhere).next().is_some() {
        return Outcome::Elsewhere;
    }
    if unknowable::why(slipped).is_some() { Outcome::Unknowable } else { Outcome::Missed }
}

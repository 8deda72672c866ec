//! A table of broken files, and what each must say.

use axlewright_book::{CarFile, Field, Problem, Severity, read};
use axlewright_quantity::Side;
use std::ops::Range;
use std::sync::LazyLock;

pub const DEMO: &str = include_str!("../../../../../examples/larch-1300/car.toml");
const MARK: char = '‸';

/// One broken file.
pub struct Row {
    /// A piece of the demo file, found once in it; empty for a file of its own.
    find: &'static str,
    /// What stands there instead, with the mark.
    put: &'static str,
    /// The whole of what is said to be wrong; up to `…` where another crate's words follow.
    what: &'static str,
    /// A part of what is said to be right.
    right: &'static str,
    /// Sections that cannot be read besides the piece itself.
    loses: &'static [&'static str],
}

pub const fn row(
    find: &'static str,
    put: &'static str,
    what: &'static str,
    right: &'static str,
) -> Row {
    Row { find, put, what, right, loses: &[] }
}

pub const fn losing(loses: &'static [&'static str], row: Row) -> Row {
    Row { loses, ..row }
}

/// Line and column of a byte, found another way than the reader does it.
fn place(text: &str, byte: usize) -> (u32, u32) {
    text[..byte].chars().fold(
        (1, 1),
        |(line, column), c| {
            if c == '\n' { (line + 1, 1) } else { (line, column + 1) }
        },
    )
}

fn check(row: &Row, severity: Severity) {
    let said = |text: &str| format!("{} → {}\n{text}", row.find, row.put);
    let (at, marked) = if row.find.is_empty() {
        (0, row.put.to_owned())
    } else {
        assert_eq!(DEMO.matches(row.find).count(), 1, "{}", said("must be in the demo once"));
        let at = DEMO.find(row.find).expect("just counted");
        (at, DEMO.replacen(row.find, row.put, 1))
    };
    let byte = marked.find(MARK).unwrap_or_else(|| panic!("{}", said("has no mark")));
    let text = marked.replacen(MARK, "", 1);
    let (car, problems) = read(&text);
    sound(&text, &problems);
    let found: Vec<(&str, (u32, u32))> =
        problems.iter().map(|p| (shortened(&p.what, row.what), (p.line, p.column))).collect();
    let want = row.what.trim_end_matches('…');
    assert_eq!(found, [(want, place(&text, byte))], "{}", said("says something else"));
    let problem = &problems[0];
    assert!(problem.right.contains(row.right), "{}", said(&problem.right));
    assert_eq!(problem.severity, severity, "{}", said("is as bad as that"));
    if !row.find.is_empty() {
        the_rest_is_read(row, &car, at..at + row.find.len());
    }
}

/// As much of a message as is expected word for word.
fn shortened<'w>(what: &'w str, want: &str) -> &'w str {
    match want.strip_suffix('…') {
        Some(start) if what.starts_with(start) => &what[..start.len()],
        _ => what,
    }
}

/// The demo file without a slip.
static WHOLE: LazyLock<CarFile> = LazyLock::new(|| read(DEMO).0);

/// What holds for every problem.
pub fn sound(text: &str, problems: &[Problem]) {
    for p in problems {
        assert!(text.get(p.span.clone()).is_some(), "{p:?} lies outside the text");
        assert_eq!((p.line, p.column), place(text, p.span.start), "{p:?}");
        assert!(!p.what.is_empty() && !p.right.is_empty(), "{p:?}");
        assert!(!p.what.ends_with('.') && !p.what.contains('\n'), "{p:?}");
    }
    assert!(problems.is_sorted_by_key(|p| p.span.start));
}

fn the_rest_is_read(row: &Row, car: &CarFile, touched: Range<usize>) {
    let whole = &*WHOLE;
    let untouched = |span: &Range<usize>| span.end <= touched.start || touched.end <= span.start;
    for field in Field::ALL {
        if row.loses.contains(&field.section()) {
            continue;
        }
        for side in Side::BOTH {
            let want = whole.get(*field, side).filter(|entry| untouched(&entry.span));
            if let Some(want) = want {
                let got = car.get(*field, side).map(|entry| &entry.value);
                assert_eq!(got, Some(&want.value), "{field} is lost by {}", row.put);
            }
        }
    }
    let lost = |name: &str| row.loses.contains(&name);
    if !lost("spec") {
        for spec in whole.specs.iter().filter(|s| untouched(&s.value.span)) {
            let twin = car.specs.iter().any(|s| s.value.value == spec.value.value);
            assert!(twin, "the row of line {} is lost by {}", spec.line, row.put);
        }
    }
    if !lost("stand") {
        let least = whole.stands.len() - usize::from(row.find.contains("stand"));
        assert!(least <= car.stands.len(), "a stand is lost by {}", row.put);
    }
    if !lost("reading") {
        for reading in whole.readings.iter().filter(|r| untouched(&r.value.span)) {
            let twin = car.readings.iter().any(|r| r.value.value == reading.value.value);
            assert!(twin, "the reading of line {} is lost by {}", reading.line, row.put);
        }
    }
    the_rest_of_the_job_is_read(row, car, &touched);
}

/// Joints, wrenches, parts and steps of rows in which nothing was changed.
fn the_rest_of_the_job_is_read(row: &Row, car: &CarFile, touched: &Range<usize>) {
    let got = job(car);
    for ((name, id, line), region) in WHOLE_JOB.iter() {
        let apart = region.end <= touched.start || touched.end <= region.start;
        let kept = || got.iter().any(|(kind, own, _)| (kind, own) == (name, id));
        let lost = apart && !row.loses.contains(name) && !kept();
        assert!(!lost, "{name} `{id}` of line {line} is lost by {}", row.put);
    }
}

/// Kind, id and line of each joint, wrench, part and step.
fn job(car: &CarFile) -> Vec<(&'static str, &str, u32)> {
    let joints = car.joints.iter().map(|j| ("joint", j.id.value.as_str(), j.line));
    let wrenches = car.wrenches.iter().map(|w| ("wrench", w.name.value.as_str(), w.line));
    let parts = car.parts.iter().map(|p| ("part", p.id.value.as_str(), p.line));
    let steps = car.steps.iter().map(|s| ("step", s.id.value.as_str(), s.line));
    joints.chain(wrenches).chain(parts).chain(steps).collect()
}

type OfJob = (&'static str, &'static str, u32);

/// The same of the demo, with the bytes of each row.
static WHOLE_JOB: LazyLock<Vec<(OfJob, Range<usize>)>> = LazyLock::new(|| {
    let all = job(&WHOLE);
    assert!(150 < all.len(), "the demo has lost its work");
    all.into_iter().map(|one| (one, row_of_line(one.2))).collect()
});

/// The bytes of the demo's row whose header stands in that line.
fn row_of_line(line: u32) -> Range<usize> {
    let start = DEMO.split_inclusive('\n').take(line as usize - 1).map(str::len).sum();
    let end = DEMO[start + 1..].find("\n[").map_or(DEMO.len(), |i| start + 1 + i);
    start..end
}

/// Errors, one and all.
pub fn errors(rows: &[Row]) {
    for row in rows {
        check(row, Severity::Error);
    }
}

/// Warnings: the file can be used.
pub fn warnings(rows: &[Row]) {
    for row in rows {
        check(row, Severity::Warning);
    }
}

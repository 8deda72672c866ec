//! Rules about Rust files.

use super::code::{Function, Source};
use super::{Faults, PURE};

/// More does not fit on a screen, and then nobody reads it whole.
const LINES: usize = 70;
/// Two files side by side.
const COLUMNS: usize = 100;
/// A function that has to be long says so directly above it, and why.
const LONG: &str = "tidy: long because ";

/// No function over 70 lines, blank lines and comments not counted.
///
/// Tests are left out, since a table of rows is the test; so are functions that a macro writes,
/// whose table stands there once for all of them.
pub fn long_functions(file: &Source) -> Faults {
    let excused = |function: &Function| {
        let reason = function.notes.iter().find_map(|note| note.strip_prefix(LONG));
        reason.is_some_and(|reason| reason.split_whitespace().count() >= 3)
    };
    file.functions()
        .iter()
        .filter(|function| !function.test && function.lines > LINES && !excused(function))
        .map(|function| {
            let (line, name, lines) = (function.line, &function.name, function.lines);
            format!("{}:{line}: `{name}` has {lines} lines, {LINES} are allowed", file.path)
        })
        .collect()
}

/// No line over 100 columns.
pub fn long_lines(file: &Source) -> Faults {
    let lines = file.raw.iter().enumerate();
    lines
        .map(|(line, text)| (line + 1, text.chars().count()))
        .filter(|(_, columns)| *columns > COLUMNS)
        .map(|(line, columns)| format!("{}:{line}: {columns} columns", file.path))
        .collect()
}

/// What gives up on the user's input, or was left lying about, may not ship.
pub fn leftovers(file: &Source) -> Faults {
    const EVERYWHERE: &[&str] = &["todo!(", "dbg!(", "unimplemented!("];
    const LIBRARY: &[&str] =
        &[".unwrap()", ".expect(", ".unwrap_err()", "panic!(", "unreachable!("];
    let library = file.is_library() && file.crate_name() != "xtask";
    let mut faults = Faults::new();
    for (line, code) in file.code.iter().enumerate() {
        let banned =
            EVERYWHERE.iter().chain(if library && !file.test[line] { LIBRARY } else { &[] });
        let hits = banned.filter(|word| code.contains(**word));
        faults.extend(hits.map(|word| format!("{}:{}: `{word}`", file.path, line + 1)));
    }
    faults
}

/// A test that is wrong today asserts the wrong value and says so; it is never switched off, and
/// it never waits for the clock.
pub fn idle_tests(file: &Source) -> Faults {
    const BANNED: &[&str] = &["#[ignore", "thread::sleep"];
    // A bench asks at a steady pace, and so has to wait.
    if file.path.contains("/benches/") {
        return Faults::new();
    }
    let lines = file.code.iter().enumerate().filter(|(line, _)| file.test[*line]);
    lines
        .flat_map(|(line, code)| {
            let hits = BANNED.iter().filter(move |word| code.contains(**word));
            hits.map(move |word| (line + 1, *word))
        })
        .map(|(line, word)| format!("{}:{line}: `{word}` in a test", file.path))
        .collect()
}

/// Every public function of `mechanics` that answers with a number says where the formula comes
/// from (`# Source`) or what it holds for (`# Valid for`).
///
/// Left out: what makes a value of its own type, what only hands out a field or passes the question
/// on (one expression, nothing worked out in it), answers in words, and counts.
pub fn unsourced(file: &Source) -> Faults {
    if file.crate_name() != "mechanics" || !file.is_library() {
        return Faults::new();
    }
    let said = |function: &Function| {
        function.doc.iter().any(|line| line == "# Source" || line == "# Valid for")
    };
    file.functions()
        .iter()
        .filter(|function| function.public && !function.test)
        .filter(|function| answers_a_number(function) && !passes_on(&function.body))
        .filter(|function| !said(function))
        .map(|function| {
            let (line, name) = (function.line, &function.name);
            format!("{}:{line}: `{name}` has neither `# Source` nor `# Valid for`", file.path)
        })
        .collect()
}

fn answers_a_number(function: &Function) -> bool {
    const NO_NUMBER: &[&str] = &[
        "Self", "bool", "str", "String", "Side", "Corner", "Ordering", "Option", "Result", "Vec",
        "static", "Error", "u8", "u16", "u32", "u64", "usize",
    ];
    let Some(answer) = after_arrow(&function.signature) else { return false };
    // A failure is told in words: only what comes back when all is well counts.
    let good = match answer.trim().strip_prefix("Result<") {
        Some(inner) => first_argument(inner),
        None => answer,
    };
    good.split(|letter: char| !letter.is_alphanumeric() && letter != '_')
        .filter(|word| !word.is_empty())
        .any(|word| !NO_NUMBER.contains(&word) && !word.ends_with("Error"))
}

/// The answer's type: what follows the arrow behind the closing parenthesis of the parameters.
fn after_arrow(signature: &str) -> Option<&str> {
    let mut depth = 0_i32;
    for (at, letter) in signature.char_indices() {
        match letter {
            '(' => depth += 1,
            ')' => depth -= 1,
            _ => continue,
        }
        if depth == 0 {
            let rest = signature[at + 1..].trim().strip_prefix("->")?;
            return Some(rest.split(" where ").next().unwrap_or(rest).trim());
        }
    }
    None
}

fn first_argument(inner: &str) -> &str {
    let mut depth = 0_i32;
    for (at, letter) in inner.char_indices() {
        match letter {
            '<' | '(' | '[' => depth += 1,
            '>' | ')' | ']' => depth -= 1,
            ',' if depth == 0 => return &inner[..at],
            _ => {}
        }
    }
    inner
}

/// One expression without arithmetic or a choice: a field, a struct, a call.
fn passes_on(body: &str) -> bool {
    const WORK: &[&str] = &[";", " + ", " - ", " * ", " / ", "if ", "match ", "-self", "|"];
    !WORK.iter().any(|work| body.contains(work))
}

/// A bare number never crosses a crate boundary: no `f64` in the signature of a public function
/// of a library crate.
///
/// Left out: `quantity`, where numbers get their units; and drawings, which are in millimetres
/// throughout. A private kernel is `pub(crate)` and may use plain SI numbers.
pub fn bare_numbers(file: &Source) -> Faults {
    let krate = file.crate_name();
    let bound = PURE.contains(&krate) && krate != "quantity" && file.is_library();
    if !bound || (krate == "sheets" && file.path.contains("/draw")) {
        return Faults::new();
    }
    file.functions()
        .iter()
        .filter(|function| function.public && !function.test)
        .filter(|function| {
            let words = function.signature.split(|c: char| !c.is_alphanumeric() && c != '_');
            words.into_iter().any(|word| word == "f64" || word == "f32")
        })
        .map(|function| {
            let (line, name) = (function.line, &function.name);
            format!("{}:{line}: `{name}` takes or returns a number without a unit", file.path)
        })
        .collect()
}

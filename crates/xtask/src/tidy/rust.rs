//! Rules about Rust files that neither the compiler nor clippy knows. Files are read line by line,
//! as rustfmt leaves them.

use super::{Faults, PURE, Source};

/// Two files side by side.
const COLUMNS: usize = 100;

/// No line over 100 columns; rustfmt leaves a long string as it is.
pub fn long_lines(file: &Source) -> Faults {
    let lines = file.lines.iter().enumerate();
    lines
        .map(|(line, text)| (line + 1, text.chars().count()))
        .filter(|(_, columns)| *columns > COLUMNS)
        .map(|(line, columns)| format!("{}:{line}: {columns} columns", file.path))
        .collect()
}

/// A test that is wrong today asserts the wrong value and says so; it is never switched off, and
/// it never waits for the clock.
pub fn idle_tests(file: &Source) -> Faults {
    let is_test = file.path.contains("/tests/") || file.path.ends_with("/tests.rs");
    let is_idle = |text: &str| {
        let text = text.trim_start();
        text.starts_with("#[ignore")
            || is_test && text.contains("thread::sleep") && !text.starts_with("//")
    };
    let lines = file.lines.iter().enumerate().filter(|(_, text)| is_idle(text));
    lines
        .map(|(line, text)| format!("{}:{}: `{}` in a test", file.path, line + 1, text.trim()))
        .collect()
}

/// A function that other crates may call.
struct Function {
    line: usize,
    name: String,
    /// The doc comment's lines, without the slashes.
    doc: Vec<String>,
    /// From its name to the body's brace, on one line.
    signature: String,
    /// What the body says, on one line, comments and the insides of strings left out.
    body: String,
}

fn public_functions(file: &Source) -> Vec<Function> {
    let mut found = Vec::new();
    for (line, text) in file.lines.iter().enumerate() {
        let code = text.trim_start();
        let mut begins = ["pub fn ", "pub const fn "].iter();
        let Some(rest) = begins.find_map(|begin| code.strip_prefix(begin)) else { continue };
        let name = rest.split(['(', '<']).next().unwrap_or(rest).to_owned();
        // The body ends with the brace that stands as far in as the function itself.
        let end = format!("{}}}", &text[..text.len() - code.len()]);
        let is_one_line = text.ends_with('}');
        let whole = file.lines[line..].iter().enumerate();
        let whole = whole.take_while(|(at, next)| *at == 0 || !is_one_line && **next != end);
        let whole = whole.map(|(_, next)| next.trim()).filter(|next| !next.starts_with("//"));
        let whole = whole.collect::<Vec<_>>().join(" ");
        let (signature, body) = whole.split_once(" {").unwrap_or((&whole, ""));
        found.push(Function {
            line: line + 1,
            name,
            doc: doc_above(&file.lines[..line]),
            signature: signature.to_owned(),
            body: body.split('"').step_by(2).collect(),
        });
    }
    found
}

/// The doc comment that ends here, attributes passed over.
fn doc_above(lines: &[String]) -> Vec<String> {
    let above = lines.iter().rev().map(|line| line.trim());
    let above = above.take_while(|line| line.starts_with("///") || line.starts_with("#["));
    above.filter_map(|line| line.strip_prefix("///")).map(|words| words.trim().to_owned()).collect()
}

/// Every public function of `mechanics` that answers with a number says where the formula comes
/// from (`# Source`) or what it holds for (`# Valid for`).
///
/// Left out: what makes a value of its own type, what only hands out a field or passes the question
/// on (one expression, nothing worked out in it), answers in words, and counts.
pub fn unsourced(file: &Source) -> Faults {
    if !file.path.starts_with("crates/mechanics/src/") {
        return Faults::new();
    }
    let said = |function: &Function| {
        function.doc.iter().any(|line| line == "# Source" || line == "# Valid for")
    };
    public_functions(file)
        .iter()
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
    let Some((_, answer)) = function.signature.rsplit_once(") -> ") else { return false };
    let answer = answer.split(" where ").next().unwrap_or(answer);
    // A failure is told in words.
    words(answer).any(|word| !NO_NUMBER.contains(&word) && !word.ends_with("Error"))
}

fn words(text: &str) -> impl Iterator<Item = &str> {
    let words = text.split(|letter: char| !letter.is_alphanumeric() && letter != '_');
    words.filter(|word| !word.is_empty())
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
    let bound = PURE.contains(&krate) && krate != "quantity" && file.path.contains("/src/");
    if !bound || (krate == "sheets" && file.path.contains("/draw")) {
        return Faults::new();
    }
    public_functions(file)
        .iter()
        .filter(|function| words(&function.signature).any(|word| word == "f64" || word == "f32"))
        .map(|function| {
            let (line, name) = (function.line, &function.name);
            format!("{}:{line}: `{name}` takes or returns a number without a unit", file.path)
        })
        .collect()
}

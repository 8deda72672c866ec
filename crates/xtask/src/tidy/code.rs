//! Rust source, read just well enough for rules about it: comments and the insides of strings are
//! blanked, lines keep their numbers, and functions are found with their docs and bodies.

/// One file of the tree.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path from the top folder, with `/`.
    pub path: String,
    /// The lines as they are.
    pub raw: Vec<String>,
    /// The lines with comments blanked and the insides of strings replaced by `_`.
    pub code: Vec<String>,
    /// Whether each line belongs to tests.
    pub test: Vec<bool>,
}

/// A function with a body.
#[derive(Debug, Clone)]
pub struct Function {
    /// Its name.
    pub name: String,
    /// The line of the word `fn`, counted from 1.
    pub line: usize,
    /// From its name to the body's brace, on one line.
    pub signature: String,
    /// What the body says, on one line.
    pub body: String,
    /// Lines from signature to closing brace, without blank ones and comments.
    pub lines: usize,
    /// The doc comment's lines, without the slashes.
    pub doc: Vec<String>,
    /// The ordinary comments directly above it.
    pub notes: Vec<String>,
    /// Callable from another crate, as far as the word `pub` says.
    pub public: bool,
    /// Part of the tests.
    pub test: bool,
}

impl Source {
    /// Reads a file's text.
    pub fn new(path: &str, text: &str) -> Self {
        let code: Vec<String> = blanked(text).lines().map(str::to_owned).collect();
        let raw: Vec<String> = text.lines().map(str::to_owned).collect();
        let test = test_lines(path, &code);
        Self { path: path.to_owned(), raw, code, test }
    }

    /// The crate's folder name, for a file under `crates/`.
    pub fn crate_name(&self) -> &str {
        self.path.strip_prefix("crates/").and_then(|rest| rest.split('/').next()).unwrap_or("")
    }

    /// True for what ships: not tests, benches, examples.
    pub fn is_library(&self) -> bool {
        self.path.contains("/src/") && !self.path.ends_with("/tests.rs")
    }

    /// Every function with a body, in order.
    pub fn functions(&self) -> Vec<Function> {
        let all: Vec<char> = self.code.join("\n").chars().collect();
        let mut found = Vec::new();
        let mut at = 0;
        while let Some(start) = next_word(&all, at, "fn") {
            at = start + 2;
            if let Some(function) = self.function(&all, start) {
                found.push(function);
            }
        }
        found
    }

    fn function(&self, all: &[char], start: usize) -> Option<Function> {
        let name_start = start + 3;
        let name: String =
            all.get(name_start..)?.iter().take_while(|c| is_word(**c)).copied().collect();
        if name.is_empty() {
            return None;
        }
        let open = body_start(all, name_start)?;
        let close = matching(all, open)?;
        let line_of = |index: usize| all[..index].iter().filter(|c| **c == '\n').count();
        let (first, last) = (line_of(start), line_of(close));
        let before = self.code[first].split("fn ").next().unwrap_or("").trim().to_owned();
        let (doc, notes) = self.above(first);
        Some(Function {
            name,
            line: first + 1,
            signature: one_line(&all[name_start..open]),
            body: one_line(&all[open + 1..close]),
            lines: self.code[first..=last].iter().filter(|line| !line.trim().is_empty()).count(),
            doc,
            notes,
            public: before == "pub" || before.starts_with("pub "),
            test: self.test[first],
        })
    }

    /// Doc comment and ordinary comments above a line, attributes passed over.
    fn above(&self, line: usize) -> (Vec<String>, Vec<String>) {
        let (mut doc, mut notes) = (Vec::new(), Vec::new());
        for raw in self.raw[..line].iter().rev().map(|raw| raw.trim()) {
            if let Some(words) = raw.strip_prefix("///") {
                doc.push(words.trim().to_owned());
            } else if let Some(words) = raw.strip_prefix("//") {
                notes.push(words.trim().to_owned());
            } else if !raw.starts_with("#[") {
                break;
            }
        }
        doc.reverse();
        notes.reverse();
        (doc, notes)
    }
}

fn is_word(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '_'
}

fn one_line(part: &[char]) -> String {
    part.iter().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

fn next_word(all: &[char], from: usize, word: &str) -> Option<usize> {
    let word: Vec<char> = word.chars().collect();
    (from..all.len().saturating_sub(word.len())).find(|&at| {
        all[at..].starts_with(&word)
            && (at == 0 || !is_word(all[at - 1]))
            && all.get(at + word.len()) == Some(&' ')
    })
}

/// The brace that opens a body; none for a declaration that ends in `;`.
fn body_start(all: &[char], from: usize) -> Option<usize> {
    let mut depth = 0_i32;
    for (offset, letter) in all[from..].iter().enumerate() {
        match letter {
            '(' | '[' => depth += 1,
            ')' | ']' => depth -= 1,
            '{' if depth == 0 => return Some(from + offset),
            ';' if depth == 0 => return None,
            _ => {}
        }
    }
    None
}

fn matching(all: &[char], open: usize) -> Option<usize> {
    let mut depth = 0_i32;
    for (offset, letter) in all[open..].iter().enumerate() {
        match letter {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return Some(open + offset);
        }
    }
    None
}

/// Lines of whole test files, and of items that stand under `#[cfg(test)]`.
fn test_lines(path: &str, code: &[String]) -> Vec<bool> {
    let outside = ["/tests/", "/benches/", "/examples/"].iter().any(|part| path.contains(part));
    let mut test = vec![outside || path.ends_with("/tests.rs"); code.len()];
    let mut line = 0;
    while line < code.len() {
        if !code[line].trim_start().starts_with("#[cfg(test)]") {
            line += 1;
            continue;
        }
        let last = item_end(code, line);
        test[line..=last].fill(true);
        line = last + 1;
    }
    test
}

/// The last line of the item that follows an attribute.
fn item_end(code: &[String], from: usize) -> usize {
    let mut depth = 0_i32;
    for (line, text) in code.iter().enumerate().skip(from) {
        let mut opened = false;
        for letter in text.chars() {
            match letter {
                '{' => {
                    depth += 1;
                    opened = true;
                }
                '}' => depth -= 1,
                ';' if depth == 0 => return line,
                _ => {}
            }
        }
        if depth <= 0 && (opened || text.trim_start().starts_with('}')) {
            return line;
        }
    }
    code.len() - 1
}

/// The text with comments as spaces and the insides of strings and characters as `_`.
pub fn blanked(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while at < letters.len() {
        let end = token_end(&letters, at);
        let filler = match letters[at] {
            '/' if end > at + 1 => Some(' '),
            '"' | '\'' | 'r' if end > at + 1 => Some('_'),
            _ => None,
        };
        for (offset, &letter) in letters[at..end].iter().enumerate() {
            let edge = offset == 0 || offset + 1 == end - at;
            out.push(match filler {
                _ if letter == '\n' => '\n',
                Some(' ') => ' ',
                Some(_) if !edge => '_',
                _ => letter,
            });
        }
        at = end;
    }
    out
}

/// Where a comment, string or character that starts here ends; one letter on for anything else.
fn token_end(letters: &[char], at: usize) -> usize {
    let rest = &letters[at..];
    let length = match rest {
        ['/', '/', ..] => rest.iter().position(|c| *c == '\n').unwrap_or(rest.len()),
        ['/', '*', ..] => block_comment(rest),
        ['r', '"' | '#', ..] if at == 0 || !is_word(letters[at - 1]) || letters[at - 1] == 'b' => {
            raw_string(rest)
        }
        ['"', ..] => quoted(rest),
        ['\'', '\\', ..] => {
            2 + rest[2..].iter().skip(1).position(|c| *c == '\'').map_or(1, |n| n + 2)
        }
        ['\'', _, '\'', ..] => 3,
        _ => 1,
    };
    at + length.clamp(1, rest.len())
}

fn block_comment(rest: &[char]) -> usize {
    let (mut depth, mut at) = (0, 0);
    while at < rest.len() {
        match rest[at..] {
            ['/', '*', ..] => (depth, at) = (depth + 1, at + 2),
            ['*', '/', ..] => (depth, at) = (depth - 1, at + 2),
            _ => at += 1,
        }
        if depth == 0 {
            return at;
        }
    }
    at
}

fn raw_string(rest: &[char]) -> usize {
    let hashes = rest[1..].iter().take_while(|c| **c == '#').count();
    if rest.get(1 + hashes) != Some(&'"') {
        return 1;
    }
    let closing: Vec<char> = std::iter::once('"').chain(std::iter::repeat_n('#', hashes)).collect();
    let from = hashes + 2;
    let inside = rest[from..].windows(closing.len()).position(|part| part == closing);
    inside.map_or(rest.len(), |inside| from + inside + closing.len())
}

fn quoted(rest: &[char]) -> usize {
    let mut at = 1;
    while at < rest.len() {
        match rest[at] {
            '\\' => at += 2,
            '"' => return at + 1,
            _ => at += 1,
        }
    }
    rest.len()
}

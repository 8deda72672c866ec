//! The rules of this repository as functions: from files to faults.
//!
//! `tests/tidy.rs` runs each of them over the tree, and over a bad sample that it must catch.

pub mod arrows;
pub mod rust;
pub mod supply;
pub mod texts;

use std::path::Path;

/// One file of the tree.
#[derive(Debug, Clone)]
pub struct Source {
    /// Path from the top folder, with `/`.
    pub path: String,
    /// Its lines.
    pub lines: Vec<String>,
}

impl Source {
    /// Reads a file's text.
    pub fn new(path: &str, text: &str) -> Self {
        Self { path: path.to_owned(), lines: text.lines().map(str::to_owned).collect() }
    }

    /// The crate's folder name, for a file under `crates/`.
    pub fn crate_name(&self) -> &str {
        self.path.strip_prefix("crates/").and_then(|rest| rest.split('/').next()).unwrap_or("")
    }
}

/// What is wrong, and where: `crates/x/src/y.rs:12: …`.
pub type Faults = Vec<String>;

/// Places that hold nothing written by hand.
const PASSED_OVER: &[&str] = &["target", ".git", "node_modules"];

/// Crates that ship and are pure: values in, values out.
pub const PURE: &[&str] =
    &["quantity", "mechanics", "planning", "book", "sight", "setup", "sheets"];

/// Every file under the top folder with one of these endings, in order.
pub fn files(top: &Path, endings: &[&str]) -> Vec<Source> {
    let mut found = Vec::new();
    walk(top, top, endings, &mut found);
    found.sort_by(|a, b| a.path.cmp(&b.path));
    found
}

fn walk(top: &Path, folder: &Path, endings: &[&str], found: &mut Vec<Source>) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        // In a second working tree `.git` is a file that says where the first one is.
        if PASSED_OVER.contains(&name.as_str()) {
            continue;
        }
        if path.is_dir() {
            walk(top, &path, endings, found);
            continue;
        }
        let wanted = endings.is_empty() || endings.iter().any(|ending| name.ends_with(ending));
        // What is not text (a photo) has no lines to look at.
        let (true, Ok(text)) = (wanted, std::fs::read_to_string(&path)) else { continue };
        let relative = path.strip_prefix(top).unwrap_or(&path).to_string_lossy().replace('\\', "/");
        found.push(Source::new(&relative, &text));
    }
}

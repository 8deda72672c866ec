//! Rules about words: links, sources, and what may not stand in any file.

use std::collections::{BTreeMap, BTreeSet};

use super::{Faults, Source};

/// Every relative link in a Markdown file leads to a file, and every `#heading` to a heading.
pub fn links(files: &[Source], exists: impl Fn(&str) -> bool) -> Faults {
    let headings: BTreeMap<&str, BTreeSet<String>> =
        files.iter().map(|file| (file.path.as_str(), headings(file))).collect();
    let mut faults = Faults::new();
    for file in files {
        for (line, link) in links_of(file) {
            if link.contains("://") || link.starts_with("mailto:") {
                continue;
            }
            let (path, heading) =
                link.split_once('#').map_or((link.as_str(), None), |(path, to)| (path, Some(to)));
            let target = resolved(&file.path, path);
            if !path.is_empty() && !exists(&target) {
                faults.push(format!("{}:{line}: no file {target}", file.path));
                continue;
            }
            let target = if path.is_empty() { file.path.as_str() } else { target.as_str() };
            let there = |to: &str| headings.get(target).is_none_or(|known| known.contains(to));
            if heading.is_some_and(|to| !there(to)) {
                faults.push(format!("{}:{line}: no heading #{}", file.path, heading.unwrap_or("")));
            }
        }
    }
    faults
}

/// Lines outside fenced code, with their numbers.
fn prose(file: &Source) -> impl Iterator<Item = (usize, &str)> {
    let mut fenced = false;
    file.lines.iter().enumerate().filter_map(move |(line, text)| {
        if text.trim_start().starts_with("```") {
            fenced = !fenced;
            return None;
        }
        (!fenced).then_some((line + 1, text.as_str()))
    })
}

fn links_of(file: &Source) -> Vec<(usize, String)> {
    let mut found = Vec::new();
    for (line, text) in prose(file) {
        for part in text.split("](").skip(1) {
            let link = part.split([')', ' ']).next().unwrap_or_default();
            found.push((line, link.to_owned()));
        }
    }
    found
}

/// Headings as links name them: lower case, spaces as hyphens, other signs left out.
fn headings(file: &Source) -> BTreeSet<String> {
    prose(file)
        .filter(|(_, text)| text.starts_with('#'))
        .map(|(_, text)| text.trim_start_matches('#').trim())
        .map(|heading| {
            let kept = heading.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
            kept.map(|c| if c == ' ' { '-' } else { c.to_ascii_lowercase() }).collect()
        })
        .collect()
}

fn resolved(from: &str, link: &str) -> String {
    let mut parts: Vec<&str> = from.split('/').collect();
    parts.pop();
    for part in link.split('/') {
        match part {
            "." | "" => {}
            ".." => drop(parts.pop()),
            name => parts.push(name),
        }
    }
    parts.join("/")
}

/// No path of one person's machine in any file. The patterns are put together here so that this
/// file does not hold what it forbids.
pub fn machine_paths(file: &Source) -> Faults {
    let places = ["wo,rk", "tm,p", "ro,ot", "ho,me", "Use,rs"];
    let patterns: Vec<String> =
        places.iter().map(|place| format!("/{}/", place.replace(',', ""))).collect();
    let mut faults = Faults::new();
    for (line, text) in file.lines.iter().enumerate() {
        let hits = patterns.iter().filter(|pattern| text.contains(pattern.as_str()));
        faults.extend(hits.map(|pattern| format!("{}:{}: {pattern}", file.path, line + 1)));
    }
    faults
}

/// A row of docs/sources.md: `| [KEY] | cited as | what it is | used for |`.
#[derive(Debug, Clone, PartialEq)]
pub struct Cited {
    key: String,
    cited_as: String,
}

/// The rows of docs/sources.md.
pub fn cited(sources: &Source) -> Vec<Cited> {
    let cells = |text: &str| -> Option<Cited> {
        let mut cells = text.trim().strip_prefix('|')?.split('|').map(str::trim);
        let key = cells.next()?.strip_prefix('[')?.strip_suffix(']')?.to_owned();
        Some(Cited { key, cited_as: cells.next()?.to_owned() })
    };
    sources.lines.iter().filter_map(|line| cells(line)).collect()
}

/// Who publishes standards and reports that are cited by number.
const PUBLISHERS: &[&str] =
    &["JCGM", "NIST", "ISO", "DIN", "EN", "VDI", "WCAG", "RFC", "FAA", "MIL"];

/// Every standard and journal that the code names, and every `[KEY]` in backticks, has a row in
/// docs/sources.md; every row there is cited somewhere; no `# Source` stands empty.
pub fn sources(files: &[Source], rows: &[Cited]) -> Faults {
    let mut faults = Faults::new();
    for file in files {
        for (line, text) in file.lines.iter().enumerate() {
            let at = format!("{}:{}", file.path, line + 1);
            for key in keys(text) {
                if !rows.iter().any(|row| row.key == key) {
                    faults.push(format!("{at}: `[{key}]` is not in docs/sources.md"));
                }
            }
            for name in designations(text) {
                if !rows.iter().any(|row| row.cited_as.starts_with(&name)) {
                    faults.push(format!("{at}: {name} is not in docs/sources.md"));
                }
            }
            for volume in volumes(text) {
                if !rows.iter().any(|row| row.cited_as.ends_with(&volume)) {
                    faults.push(format!("{at}: volume {volume} is not in docs/sources.md"));
                }
            }
            let next = file.lines.get(line + 1).map_or("", |next| next.trim());
            let words = next.trim_start_matches(['/', '!', ' ']);
            let empty = words.is_empty() || words.starts_with('#') || !next.starts_with("//");
            let doc = text.trim().trim_start_matches(['/', '!', ' ']);
            if doc == "# Source" && text.trim().starts_with("//") && empty {
                faults.push(format!("{at}: an empty `# Source`"));
            }
        }
    }
    for row in rows {
        let used = |file: &Source| {
            let key = format!("`[{}", row.key);
            file.lines.iter().any(|line| line.contains(&key) || line.contains(&row.cited_as))
        };
        if !files.iter().any(used) {
            faults.push(format!("docs/sources.md: [{}] is cited nowhere", row.key));
        }
    }
    faults
}

/// `` `[KEY]` `` and `` `[KEY, eq. 3]` `` in doc comments.
fn keys(text: &str) -> Vec<String> {
    if !text.trim_start().starts_with("//") {
        return Vec::new();
    }
    let starts = text.split("`[").skip(1);
    starts
        .filter_map(|rest| {
            let key: String =
                rest.chars().take_while(|c| c.is_ascii_uppercase() || c.is_ascii_digit()).collect();
            let closes = rest[key.len()..].starts_with(']') || rest[key.len()..].starts_with(", ");
            (key.len() > 2 && closes).then_some(key)
        })
        .collect()
}

/// `ISO 8855`, `JCGM 100`, `NIST SP 811`, …: a publisher, perhaps a series, a number; the year
/// behind a colon and the clause are left off.
fn designations(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let publisher = word.trim_start_matches(|c: char| !c.is_alphanumeric());
        if !PUBLISHERS.contains(&publisher) {
            continue;
        }
        let number = |word: &&str| word.starts_with(|c: char| c.is_ascii_digit());
        let series = words
            .get(at + 1)
            .filter(|word| word.len() < 4 && word.chars().all(|c| c.is_ascii_uppercase()));
        let place = if series.is_some() { at + 2 } else { at + 1 };
        let Some(number) = words.get(place).filter(|word| number(word)) else { continue };
        let digits: String =
            number.chars().take_while(|c| c.is_ascii_digit() || "-.".contains(*c)).collect();
        let digits = digits.trim_end_matches(['-', '.']);
        let parts: Vec<&str> =
            [Some(publisher), series.copied(), Some(digits)].into_iter().flatten().collect();
        found.push(parts.join(" "));
    }
    found
}

/// `18 (1970)`: the volume and the year of a journal, in comments.
fn volumes(text: &str) -> Vec<String> {
    if !text.trim_start().starts_with("//") {
        return Vec::new();
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    words
        .windows(3)
        .filter_map(|three| {
            let [journal, volume, year] = three else { return None };
            let year = year.strip_prefix('(')?.split(')').next()?;
            let is_year = year.len() == 4 && year.chars().all(|c| c.is_ascii_digit());
            let is_volume = volume.starts_with(|c: char| c.is_ascii_digit())
                && volume.chars().all(|c| c.is_ascii_alphanumeric());
            // A report's series (`SP 811 (2008)`) is a designation, not a journal.
            let is_journal = journal.chars().any(|c| c.is_lowercase()) || *journal == "NBS";
            (is_year && is_volume && is_journal).then(|| format!("{volume} ({year})"))
        })
        .collect()
}

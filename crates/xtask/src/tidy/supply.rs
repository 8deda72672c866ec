//! What the program is built from, held against the lock file: every crate in its version, its
//! licence, and no version older than the one that mends what is known to be wrong with it.

use std::collections::BTreeSet;

use super::{Faults, Source};

/// Licences of which one is enough, or that have to be kept beside another.
const LICENCES: &[&str] = &[
    "MIT",
    "Apache-2.0",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "ISC",
    "Zlib",
    "Unlicense",
    "BSL-1.0",
    "Unicode-3.0",
];

/// A table's row, as its cells.
fn rows<'a>(doc: &'a Source, cells: usize) -> impl Iterator<Item = (usize, Vec<&'a str>)> {
    doc.lines.iter().enumerate().filter_map(move |(line, text)| {
        let row: Vec<&str> = text.strip_prefix("| `")?.split('|').map(str::trim).collect();
        (row.len() == cells + 1).then_some((line + 1, row))
    })
}

/// The packages of a lock file that come from elsewhere: name and version.
fn locked(lock: &str) -> BTreeSet<(String, String)> {
    let packages = lock.split("[[package]]").skip(1);
    let value = |package: &str, key: &str| {
        let line = package.lines().find_map(|line| line.strip_prefix(key)?.strip_prefix(" = \""));
        line.map(|line| line.trim_end_matches('"').to_owned())
    };
    packages
        .filter(|package| value(package, "source").is_some())
        .filter_map(|package| Some((value(package, "name")?, value(package, "version")?)))
        .collect()
}

/// The table of crates is that of the lock file, and every licence is one of those allowed.
pub fn crates(doc: &Source, lock: &str) -> Faults {
    let mut faults = Faults::new();
    let mut left = locked(lock);
    for (line, row) in rows(doc, 3) {
        let (name, version, licence) = (row[0].trim_end_matches('`'), row[1], row[2]);
        if !left.remove(&(name.to_owned(), version.to_owned())) {
            faults.push(format!("{}:{line}: {name} {version} is not locked", doc.path));
        }
        if !is_allowed(licence) {
            faults.push(format!("{}:{line}: {name} under `{licence}`", doc.path));
        }
    }
    let missing = left.iter().map(|(name, version)| {
        format!("{}: no row for {name} {version}; `cargo xtask supply` writes it", doc.path)
    });
    faults.extend(missing);
    faults
}

/// `(A OR B) AND C`: of each part joined by `AND` one licence is allowed.
fn is_allowed(licence: &str) -> bool {
    let plain = licence.replace(['(', ')'], "");
    plain.split(" AND ").all(|part| part.split(" OR ").any(|one| LICENCES.contains(&one.trim())))
}

/// Every crate with a known advisory is locked in a version that mends it, or not locked at all;
/// and the table says of which day the knowledge is.
pub fn advisories(doc: &Source, lock: &str) -> Faults {
    let locked = locked(lock);
    let mut faults = Faults::new();
    let mut count = 0;
    for (line, row) in rows(doc, 4) {
        let (name, since) = (row[0].trim_end_matches('`'), row[2]);
        count += 1;
        let Some(since) = numbers(since) else {
            faults.push(format!("{}:{line}: `{}` is no version", doc.path, row[2]));
            continue;
        };
        for (_, version) in locked.iter().filter(|(its, _)| its == name) {
            if numbers(version).is_none_or(|version| version < since) {
                let (path, id) = (&doc.path, row[1]);
                faults.push(format!("{path}:{line}: {name} {version} is older than {id} allows"));
            }
        }
    }
    let is_dated = doc.lines.iter().any(|line| {
        let date = line.strip_prefix("Advisories as known on ");
        date.and_then(|rest| rest.get(..10)).is_some_and(is_day)
    });
    if !is_dated || count == 0 {
        faults.push(format!("{}: it does not say what is known and of which day", doc.path));
    }
    faults
}

fn is_day(text: &str) -> bool {
    let parts: Vec<&str> = text.split('-').collect();
    let lengths: Vec<usize> = parts.iter().map(|part| part.len()).collect();
    lengths == [4, 2, 2] && parts.iter().all(|part| part.bytes().all(|b| b.is_ascii_digit()))
}

/// `1.44.2` as numbers; what stands behind `-` or `+` is left out.
fn numbers(version: &str) -> Option<[u64; 3]> {
    let plain = version.split(['-', '+']).next()?;
    let mut parts = plain.split('.').map(str::parse);
    let numbers = [parts.next()?.ok()?, parts.next()?.ok()?, parts.next()?.ok()?];
    parts.next().is_none().then_some(numbers)
}

//! Who may know whom: the arrows of ARCHITECTURE.md, read from the manifests.

use toml::de::{DeTable, DeValue};

use super::{Faults, PURE, Source};

/// Each crate with the crates it may use. A crate that is not listed may not exist.
const ALLOWED: &[(&str, &[&str])] = &[
    ("quantity", &[]),
    ("mechanics", &["quantity"]),
    ("planning", &[]),
    ("book", &["quantity"]),
    ("store", &["quantity", "book"]),
    ("setup", &["quantity", "mechanics", "planning", "book", "sight"]),
    ("sight", &["quantity"]),
    ("sheets", &["quantity", "setup", "sight"]),
    ("axlewright", &["quantity", "book", "store", "setup", "sheets", "sight"]),
    ("xtask", &[]),
];

/// Shapes for JSON belong outward; what is below is compared by value. `book` keeps the bodies of
/// its log as JSON.
const NO_SERDE: &[&str] = &["quantity", "mechanics", "planning"];
const SERDE: &[&str] = &["serde", "serde_derive", "serde_json"];
/// Crates that bring a clock, chance, files, a network or a database.
const OUTSIDE: &[&str] = &[
    "axum",
    "chrono",
    "getrandom",
    "hyper",
    "jiff",
    "mio",
    "rand",
    "reqwest",
    "rusqlite",
    "tempfile",
    "time",
    "tokio",
    "ureq",
];

/// Faults in one manifest, `crates/NAME/Cargo.toml`.
pub fn manifest(file: &Source) -> Faults {
    let name = file.crate_name();
    let text = file.lines.join("\n");
    let Ok(parsed) = DeTable::parse(&text) else {
        return vec![format!("{}: not TOML", file.path)];
    };
    let table = parsed.get_ref();
    let mut faults = Faults::new();
    let mut fault = |what: String| faults.push(format!("{}: {what}", file.path));
    let Some((_, allowed)) = ALLOWED.iter().find(|(krate, _)| *krate == name) else {
        fault(format!("`{name}` has no place in the table of arrows"));
        return faults;
    };
    for section in ["dependencies", "dev-dependencies", "build-dependencies"] {
        for dependency in names(table, section) {
            let ours = match dependency.strip_prefix("axlewright-") {
                Some(ours) => ours,
                None if dependency == "axlewright" => "axlewright",
                None => {
                    if section == "dependencies" {
                        foreign(name, &dependency, &mut fault);
                    }
                    continue;
                }
            };
            if !allowed.contains(&ours) {
                fault(format!("`{name}` must not know `{ours}` ({section})"));
            }
        }
    }
    let lints = table.get("lints").and_then(|lints| lints.get_ref().get("workspace"));
    if !matches!(lints.map(|lints| lints.get_ref()), Some(DeValue::Boolean(true))) {
        fault("the workspace's lints are not switched on".to_owned());
    }
    faults
}

fn foreign(name: &str, dependency: &str, fault: &mut impl FnMut(String)) {
    if NO_SERDE.contains(&name) && SERDE.contains(&dependency) {
        fault(format!("`{name}` must not know `{dependency}`: shapes for JSON stand further out"));
    }
    if PURE.contains(&name) && OUTSIDE.contains(&dependency) {
        fault(format!("`{name}` is pure and must not know `{dependency}`"));
    }
}

fn names(table: &DeTable<'_>, section: &str) -> Vec<String> {
    let Some(DeValue::Table(section)) = table.get(section).map(|section| section.get_ref()) else {
        return Vec::new();
    };
    section.iter().map(|(name, _)| name.get_ref().to_string()).collect()
}

/// Every dependency of a crate is named somewhere in its code; one that is not only costs time.
pub fn unused(manifest: &Source, files: &[Source]) -> Faults {
    let krate = format!("crates/{}/", manifest.crate_name());
    let text = manifest.lines.join("\n");
    let Ok(parsed) = DeTable::parse(&text) else { return Faults::new() };
    let mut faults = Faults::new();
    for section in ["dependencies", "dev-dependencies"] {
        for dependency in names(parsed.get_ref(), section) {
            let path = dependency.replace('-', "_");
            let uses = |line: &String| {
                let line = line.split("//").next().unwrap_or_default();
                line.match_indices(&path).any(|(at, _)| {
                    let after = line[at + path.len()..].chars().next().unwrap_or(' ');
                    let before = line[..at].chars().next_back().unwrap_or(' ');
                    let word = |c: char| c.is_alphanumeric() || c == '_';
                    !word(after) && !word(before)
                })
            };
            let ours = files.iter().filter(|file| file.path.starts_with(&krate));
            if !ours.flat_map(|file| &file.lines).any(uses) {
                faults.push(format!("{}: `{dependency}` is not used", manifest.path));
            }
        }
    }
    faults
}

/// The bans that keep a crate pure stand in a `clippy.toml` of its own, the same in each.
pub fn bans(files: &[Source]) -> Faults {
    let mut faults = Faults::new();
    let of = |krate: &str| {
        let path = format!("crates/{krate}/clippy.toml");
        files.iter().find(|file| file.path == path)
    };
    let first = PURE.iter().find_map(|krate| of(krate));
    for krate in PURE {
        match (of(krate), first) {
            (None, _) => faults.push(format!("crates/{krate}: clippy.toml is missing")),
            (Some(own), Some(first)) if own.lines != first.lines => {
                faults.push(format!("{} differs from {}", own.path, first.path));
            }
            _ => {}
        }
    }
    if first.is_some_and(|first| !first.lines.iter().any(|line| line.contains("disallowed-"))) {
        faults.push("the bans are empty".to_owned());
    }
    faults
}

/// Every dependency of the workspace is named, in backticks, in the table of ARCHITECTURE.md.
pub fn told(root_manifest: &str, architecture: &str) -> Faults {
    let Ok(parsed) = DeTable::parse(root_manifest) else {
        return vec!["Cargo.toml: not TOML".to_owned()];
    };
    let Some(DeValue::Table(workspace)) =
        parsed.get_ref().get("workspace").map(|workspace| workspace.get_ref())
    else {
        return vec!["Cargo.toml: no workspace".to_owned()];
    };
    names(workspace, "dependencies")
        .into_iter()
        .filter(|name| !name.starts_with("axlewright"))
        .filter(|name| !architecture.contains(&format!("| `{name}`")))
        .map(|name| format!("ARCHITECTURE.md: no row `{name}` in the table of dependencies"))
        .collect()
}

//! The rules of this repository, held against the tree; and each rule against a sample that breaks
//! it, since a rule that cannot fail says nothing.

use axlewright_xtask::root;
use axlewright_xtask::tidy::{Faults, Source, arrows, files, rust, supply, texts};

fn clean(faults: Faults) {
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults.join("\n"));
}

fn over_rust(rule: fn(&Source) -> Faults) {
    let files = files(&root(), &[".rs"]);
    assert!(files.len() > 20, "the tree was not found");
    clean(files.iter().flat_map(rule).collect());
}

fn one(path: &str, text: &str, rule: fn(&Source) -> Faults) -> usize {
    rule(&Source::new(path, text)).len()
}

const MECHANICS: &str = "crates/mechanics/src/bar.rs";

#[test]
fn crates_know_only_whom_the_arrows_allow() {
    let manifests = files(&root(), &["Cargo.toml"]);
    let manifests = manifests.iter().filter(|file| file.path.starts_with("crates/"));
    clean(manifests.flat_map(arrows::manifest).collect());
}

#[test]
fn a_forbidden_arrow_is_caught() {
    let check = |krate: &str, dependencies: &str| {
        let text = format!("[lints]\nworkspace = true\n[dependencies]\n{dependencies}\n");
        one(&format!("crates/{krate}/Cargo.toml"), &text, arrows::manifest)
    };
    assert_eq!(check("mechanics", "axlewright-quantity.workspace = true"), 0);
    assert_eq!(check("mechanics", "axlewright-book.workspace = true"), 1);
    assert_eq!(check("planning", "axlewright-mechanics.workspace = true"), 1);
    assert_eq!(check("sheets", "axlewright-mechanics = { path = '../mechanics' }"), 1);
    assert_eq!(check("mechanics", "serde.workspace = true"), 1);
    assert_eq!(check("setup", "serde.workspace = true"), 0);
    assert_eq!(check("setup", "tokio = '1'"), 1);
    assert_eq!(check("garage", ""), 1);
    let unlinted = "[dependencies]\n";
    assert_eq!(one("crates/mechanics/Cargo.toml", unlinted, arrows::manifest), 1);
    let dev = "[lints]\nworkspace = true\n[dev-dependencies]\naxlewright-setup.workspace = true\n";
    assert_eq!(one("crates/mechanics/Cargo.toml", dev, arrows::manifest), 1);
}

#[test]
fn every_dependency_is_used() {
    let (manifests, code) = (files(&root(), &["Cargo.toml"]), files(&root(), &[".rs"]));
    let manifests = manifests.iter().filter(|file| file.path.starts_with("crates/"));
    clean(manifests.flat_map(|manifest| arrows::unused(manifest, &code)).collect());
}

#[test]
fn an_unused_dependency_is_caught() {
    let manifest = Source::new(
        "crates/sheets/Cargo.toml",
        "[dependencies]\nmaud = '0.27'\nserde_json = '1'\n",
    );
    let code = |text| [Source::new("crates/sheets/src/a.rs", text)];
    let count = |text| arrows::unused(&manifest, &code(text)).len();
    assert_eq!(count("use maud::html;\nlet x = serde_json::json!(1);"), 0);
    assert_eq!(count("use maud::html;\n// serde_json"), 1);
    assert_eq!(count("use maud_other::html;\nuse my_serde_json::x;"), 2);
}

#[test]
fn pure_crates_carry_the_same_bans() {
    clean(arrows::bans(&files(&root(), &["clippy.toml"])));
}

#[test]
fn a_missing_or_differing_ban_is_caught() {
    let file = |krate: &str, text: &str| Source::new(&format!("crates/{krate}/clippy.toml"), text);
    let bans = "disallowed-methods = []\n";
    let mut all: Vec<Source> =
        axlewright_xtask::tidy::PURE.iter().map(|krate| file(krate, bans)).collect();
    assert_eq!(arrows::bans(&all).len(), 0);
    all[2] = file("planning", "disallowed-methods = [1]\n");
    assert_eq!(arrows::bans(&all).len(), 1);
    all.remove(2);
    assert_eq!(arrows::bans(&all).len(), 1);
}

#[test]
fn every_dependency_has_its_reason_in_the_architecture() {
    let read = |name: &str| std::fs::read_to_string(root().join(name)).unwrap();
    clean(arrows::told(&read("Cargo.toml"), &read("ARCHITECTURE.md")));
}

#[test]
fn a_dependency_without_a_reason_is_caught() {
    let manifest = "[workspace.dependencies]\nmaud = '0.27'\naxlewright-book = '0.1'\n";
    assert_eq!(arrows::told(manifest, "| `maud` | pages |").len(), 0);
    assert_eq!(arrows::told(manifest, "maud is nice").len(), 1);
}

#[test]
fn lines_fit_beside_each_other() {
    over_rust(rust::long_lines);
}

#[test]
fn a_long_line_is_caught() {
    assert_eq!(one(MECHANICS, &"°".repeat(100), rust::long_lines), 0);
    assert_eq!(one(MECHANICS, &"x".repeat(101), rust::long_lines), 1);
}

#[test]
fn no_test_is_switched_off_or_waits() {
    over_rust(rust::idle_tests);
}

#[test]
fn a_test_switched_off_is_caught() {
    let path = "crates/mechanics/tests/a.rs";
    assert_eq!(one(path, "#[test]\n#[ignore]\nfn f() {}\n", rust::idle_tests), 1);
    let sleeps = ["std::thread::", "sleep(x);"].concat();
    assert_eq!(one(path, &sleeps, rust::idle_tests), 1);
    assert_eq!(one("crates/store/src/a.rs", &sleeps, rust::idle_tests), 0);
    assert_eq!(one(path, "#[test]\nfn f() {}\n", rust::idle_tests), 0);
}

#[test]
fn numbers_of_mechanics_say_where_they_come_from() {
    over_rust(rust::unsourced);
}

#[test]
fn an_unsourced_number_is_caught_and_plain_makers_and_getters_are_not() {
    let count = |text: &str| one(MECHANICS, text, rust::unsourced);
    assert_eq!(count("/// Rate.\npub fn rate(&self) -> Rate { self.k * 2.0 }"), 1);
    assert_eq!(
        count("/// Rate.\npub fn rate(&self) -> Result<Rate, BarError> {\nlet k = g();\nk\n}"),
        1
    );
    assert_eq!(count("/// Rate.\n///\n/// # Source\n/// X.\npub fn rate() -> Rate { g() }"), 0);
    assert_eq!(
        count("/// Rate.\n/// # Valid for\n/// X.\n#[must_use]\npub fn r() -> R { g() }"),
        0
    );
    assert_eq!(count("/// Made.\npub fn new(l: Length) -> Result<Self, BarError> { g() }"), 0);
    assert_eq!(count("/// Got.\npub fn length(&self) -> Length { self.size.length }"), 0);
    assert_eq!(count("/// Sum.\npub fn sum(&self) -> Length { self.parts.total(self.of) }"), 0);
    assert_eq!(count("/// Count.\npub fn count(&self) -> usize { self.a + self.b }"), 0);
    assert_eq!(count("/// Half.\npub fn half(&self) -> Length { self.length / 2.0 }"), 1);
    assert_eq!(count("/// Hint.\npub fn hint(&self) -> Option<&'static str> { g() }"), 0);
    assert_eq!(count("fn kernel(d: f64) -> f64 { d }\npub(crate) fn k() -> Rate { g() }"), 0);
    assert_eq!(one("crates/setup/src/a.rs", "pub fn r() -> Rate { g() }", rust::unsourced), 0);
}

#[test]
fn no_bare_number_crosses_a_crate_boundary() {
    over_rust(rust::bare_numbers);
}

#[test]
fn a_bare_number_is_caught() {
    let count = |path: &str, text: &str| one(path, text, rust::bare_numbers);
    assert_eq!(count(MECHANICS, "pub fn rate(d: f64) -> Rate { g() }"), 1);
    assert_eq!(count(MECHANICS, "pub fn rate(\n    d: Length,\n) -> Option<f64> { g() }"), 1);
    assert_eq!(count(MECHANICS, "pub(crate) fn rate(d: f64) -> f64 { g() }"), 0);
    assert_eq!(count(MECHANICS, "pub fn rate(d: Length) -> Rate { let x: f64 = 0.0; g(x) }"), 0);
    assert_eq!(count("crates/quantity/src/a.rs", "pub fn mm(v: f64) -> Length { g() }"), 0);
    assert_eq!(count("crates/sheets/src/drawing.rs", "pub fn at(x_mm: f64) {}"), 0);
    assert_eq!(count("crates/sheets/src/html.rs", "pub fn at(x: f64) {}"), 1);
}

#[test]
fn links_lead_somewhere() {
    let top = root();
    clean(texts::links(&files(&top, &[".md"]), |path| top.join(path).exists()));
}

#[test]
fn a_dead_link_is_caught() {
    let check = |text: &str| {
        let file = Source::new("docs/guide.md", text);
        texts::links(&[file], |path| path == "README.md" || path == "docs/method.md").len()
    };
    assert_eq!(check("# A b\n[x](../README.md) [y](method.md) [z](#a-b) [w](https://a.org/)"), 0);
    assert_eq!(check("[x](README.md)"), 1);
    assert_eq!(check("# A\n[x](#b)"), 1);
    assert_eq!(check("```\n[x](nowhere.md)\n```"), 0);
}

#[test]
fn no_machine_path_stands_in_any_file() {
    clean(files(&root(), &[]).iter().flat_map(texts::machine_paths).collect());
}

#[test]
fn a_machine_path_is_caught() {
    let path = format!("cd /{}/x", ["ho", "me"].concat());
    assert_eq!(one("README.md", &path, texts::machine_paths), 1);
    assert_eq!(one("README.md", "cd docs/home", texts::machine_paths), 0);
}

#[test]
fn sources_and_citations_match() {
    let cites = ["crates/", "docs/method", "reference/"];
    let all = files(&root(), &[".rs", ".py", ".js", ".md"]);
    let of = |path: &str| all.iter().find(|file| file.path == path);
    let rows = texts::cited(of("docs/sources.md").unwrap());
    assert!(rows.len() > 5, "docs/sources.md has hardly a row");
    let citing: Vec<Source> = all
        .iter()
        .filter(|file| cites.iter().any(|start| file.path.starts_with(start)))
        .filter(|file| !file.path.starts_with("crates/xtask/"))
        .cloned()
        .collect();
    clean(texts::sources(&citing, &rows));
}

#[test]
fn a_missing_source_and_an_unused_one_are_caught() {
    let rows = texts::cited(&Source::new(
        "docs/sources.md",
        "| key | cited as | what |\n|---|---|---|\n| [GUM] | JCGM 100:2008 | x |\n",
    ));
    let check = |text: &str| texts::sources(&[Source::new(MECHANICS, text)], &rows).len();
    assert_eq!(check("/// # Source\n/// JCGM 100:2008, 4.2.1.\n"), 0);
    assert_eq!(check("/// `[GUM, 4.2.1]`\n"), 0);
    assert_eq!(check("/// JCGM 100:2008 and ISO 8855.\n"), 1);
    assert_eq!(check("/// JCGM 100:2008 and NIST SP 811 (2008).\n"), 1);
    assert_eq!(check("/// `[GUM]` and `[OTHER]`\n"), 1);
    assert_eq!(check("/// JCGM 100:2008; A. Author, Some Journal 18 (1970), 1138.\n"), 1);
    assert_eq!(check("/// nothing cited\n"), 1);
    assert_eq!(check("/// JCGM 100:2008\n/// # Source\npub fn f() {}\n"), 1);
}

fn read(path: &str) -> String {
    std::fs::read_to_string(root().join(path)).unwrap()
}

#[test]
fn what_the_program_is_built_from_is_written_down() {
    let (doc, lock) = (Source::new("docs/supply.md", &read("docs/supply.md")), read("Cargo.lock"));
    clean(supply::crates(&doc, &lock));
    clean(supply::advisories(&doc, &lock));
}

#[test]
fn a_crate_without_a_row_a_foreign_licence_and_an_old_version_are_caught() {
    let package = |name: &str, version: &str| {
        format!("[[package]]\nname = \"{name}\"\nversion = \"{version}\"\nsource = \"r\"\n\n")
    };
    let own = "[[package]]\nname = \"own\"\nversion = \"0.1.0\"\n";
    let lock = [&package("tar", "0.4.40"), &package("toml", "1.2.0"), own].concat();
    let crates = |text: &str| supply::crates(&Source::new("docs/supply.md", text), &lock).len();
    let good = "| `tar` | 0.4.40 | MIT OR GPL-3.0 |\n| `toml` | 1.2.0 | (MIT OR X) AND ISC |\n";
    assert_eq!(crates(good), 0);
    assert_eq!(crates("| `tar` | 0.4.40 | MIT |\n"), 1);
    // Another version is not locked, and the one that is has no row.
    assert_eq!(crates(&good.replace("0.4.40", "0.4.41")), 2);
    assert_eq!(crates(&good.replace("MIT OR GPL-3.0", "GPL-3.0")), 1);
    assert_eq!(crates(&good.replace("AND ISC", "AND GPL-3.0")), 1);
    let known = |text: &str| supply::advisories(&Source::new("docs/supply.md", text), &lock).len();
    let good = "Advisories as known on 2026-01-31.\n| `tar` | ID-1 | 0.4.36 | links |\n";
    assert_eq!(known(good), 0);
    assert_eq!(known(&good.replace("0.4.36", "0.4.41")), 1);
    assert_eq!(known(&good.replace("0.4.36", "soon")), 1);
    assert_eq!(known(&good.replace("2026-01-31", "a day")), 1);
    assert_eq!(known("Advisories as known on 2026-01-31.\n"), 1);
}

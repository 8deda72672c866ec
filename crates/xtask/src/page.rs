//! What a person sees, in a real browser: `tests/browser/`, run by Node.js. The page on the bench,
//! and the sheet on screens and on paper.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::stage::{Report, Tally, cargo, output, run, run_tests};
use crate::tools::test_tools;
use crate::{Wrong, no_arguments, root};

/// The oldest Node.js whose own test runner does what `tests/browser/` needs.
const NODE_MAJOR_MIN: u32 = 20;

/// Builds the program, fetches the two pinned packages, and runs every test in the browser.
pub fn test_all(tests: &mut Tally) -> Result<(), String> {
    run_tests(&mut node_tests(&ready()?), tests)
}

fn node_tests(ready: &Ready) -> Command {
    let mut call = node_call(ready);
    call.args(["--test", "--test-concurrency=2", "--test-reporter=./report.mjs"]);
    call
}

/// `cargo xtask look`: pictures of a sheet, and the checks of `cargo xtask test` on it; or pictures
/// of every screen.
pub fn look(arguments: &[String]) -> Result<Report, Wrong> {
    let file = match arguments {
        [] => None,
        [page] if page == "--page" => return shown("every screen", |_| pictures(&[])),
        [file] if !file.starts_with('-') => Some(Path::new(file)),
        _ => return Err(Wrong("one HTML file, --page, or nothing for the demo sheet".to_owned())),
    };
    shown("sheet", |tests| {
        let ready = ready()?;
        let sheet = file.map_or_else(|| ready.demo.join("car-sheet.html"), Path::to_path_buf);
        let sheet = sheet.canonicalize().map_err(|why| format!("{}: {why}", sheet.display()))?;
        run(node_call(&ready).args(["pictures.mjs", "--sheet"]).arg(&sheet))?;
        let mut checks = node_tests(&ready);
        run_tests(checks.arg("sheet.test.mjs").env("AXLEWRIGHT_SHEET", &sheet), tests)
    })
}

/// `cargo xtask screenshots`: the few pictures that the README shows.
pub fn screenshots(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    shown("pictures", |_| pictures(&["--readme"]))
}

fn shown(what: &str, work: impl FnOnce(&mut Tally) -> Result<(), String>) -> Result<Report, Wrong> {
    let mut report = Report::default();
    report.stage("tools", |_| test_tools());
    report.stage(what, work);
    report.close();
    Ok(report)
}

fn pictures(which: &[&str]) -> Result<(), String> {
    run(node_call(&ready()?).arg("pictures.mjs").args(which))
}

/// How long a weak telephone waits for its first words, and `demo` for its first screen: of the
/// program as it is given away.
pub fn paint() -> Result<(), String> {
    let ready = ready()?;
    run(cargo().args(["build", "--release", "--locked", "--quiet", "--package", "axlewright"]))?;
    run(node_call(&ready).arg("paint.mjs").env("AXLEWRIGHT_PROGRAM", program("release")))
}
/// What a Node.js call needs, made ready.
struct Ready {
    folder: PathBuf,
    program: PathBuf,
    demo: PathBuf,
}

fn ready() -> Result<Ready, String> {
    new_enough(&output(Command::new("node").arg("--version"))?)?;
    run(cargo().args(["build", "--locked", "--quiet", "--package", "axlewright"]))?;
    let folder = root().join("tests").join("browser");
    run(Command::new("npm").args(["ci", "--ignore-scripts"]).current_dir(&folder))?;
    let program = program("debug");
    let demo = root().join("target").join("page-demo");
    let _ = std::fs::remove_dir_all(&demo);
    // What it says is long, and not what is tested here.
    output(Command::new(&program).args(["demo", "--once", "--out"]).arg(&demo))?;
    Ok(Ready { folder, program, demo })
}

fn program(profile: &str) -> PathBuf {
    let target = std::env::var_os("CARGO_TARGET_DIR").map(PathBuf::from);
    let target = root().join(target.unwrap_or_else(|| PathBuf::from("target")));
    target.join(profile).join("axlewright")
}

fn node_call(ready: &Ready) -> Command {
    let mut call = Command::new("node");
    call.current_dir(&ready.folder)
        .env("AXLEWRIGHT_PROGRAM", &ready.program)
        .env("AXLEWRIGHT_DEMO", &ready.demo);
    call
}

/// `v20.19.2` is new enough.
fn new_enough(version: &str) -> Result<(), String> {
    let version = version.trim();
    let major = version.trim_start_matches('v').split('.').next().and_then(|v| v.parse().ok());
    match major {
        Some(major) if NODE_MAJOR_MIN <= major => Ok(()),
        _ => Err(format!("Node.js {NODE_MAJOR_MIN} or later is needed, this is `{version}`")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_old_node_is_refused() {
        assert!(new_enough("v20.19.2\n").is_ok() && new_enough("v24.0.0").is_ok());
        assert!(new_enough("v18.20.4").is_err() && new_enough("nonsense").is_err());
    }
}

//! The page on the bench in a real browser: `tests/browser/`, run by Node.js.

use std::path::PathBuf;
use std::process::Command;

use crate::stage::{Report, Tally, cargo, output, run, run_tests};
use crate::tools::test_tools;
use crate::{Wrong, no_arguments, root};

/// The oldest Node.js whose own test runner does what `tests/browser/` needs.
const NODE_MAJOR_MIN: u32 = 20;

/// Builds the program, fetches the two pinned packages, and runs every test of the page.
pub fn test_page(tests: &mut Tally) -> Result<(), String> {
    let node = ready()?;
    run_tests(node_call(&node).args(["--test", "--test-concurrency=1"]).args(REPORT), tests)
}

const REPORT: [&str; 1] = ["--test-reporter=./report.mjs"];

/// `cargo xtask screenshots`: the few pictures that the README shows.
pub fn screenshots(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("tools", |_| test_tools());
    report.stage("pictures", |_| pictures(Some("--readme")));
    report.close();
    Ok(report)
}

/// Pictures of every screen, as `pictures.mjs` lays them down.
pub fn pictures(which: Option<&str>) -> Result<(), String> {
    let node = ready()?;
    run(node_call(&node).arg("pictures.mjs").args(which))
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

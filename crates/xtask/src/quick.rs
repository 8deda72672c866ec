//! `cargo xtask quick`: what a change touches, in a minute.

use std::collections::BTreeSet;
use std::process::Command;

use serde_json::Value;

use crate::stage::{Report, cargo, output, run, run_tests};
use crate::{Wrong, root};

/// Not Rust, and not read by a Rust test other than the tidy rules.
const APART: &[&str] = &["docs/", "fuzz/", "tests/browser/", ".ci/", ".gitignore", "LICENSE"];

pub fn run_chore(arguments: &[String]) -> Result<Report, Wrong> {
    let against = match arguments {
        [] => None,
        [revision] if !revision.starts_with('-') => Some(revision.as_str()),
        _ => return Err(Wrong("one revision, or nothing".to_owned())),
    };
    let mut report = Report::default();
    let mut packages = Vec::new();
    report.stage("what changed", |_| {
        packages = touched(&changed(against)?, &known()?);
        println!("   {}", packages.join(", "));
        Ok(())
    });
    let chosen: Vec<&str> = packages.iter().flat_map(|package| ["-p", package]).collect();
    report.stage("format", |_| run(cargo().args(["fmt", "--all", "--check"])));
    report.stage("lints", |_| {
        let lints = ["--all-targets", "--", "-D", "warnings"];
        run(cargo().args(["clippy", "--locked"]).args(&chosen).args(lints))
    });
    report.stage("tests", |tests| {
        let tested = ["--lib", "--bins", "--tests", "--no-fail-fast"];
        run_tests(cargo().args(["test", "--locked"]).args(&chosen).args(tested), tests)
    });
    report.not_run(
        "slow tests, docs, the browser, crates that the change does not reach: `cargo xtask test`",
    );
    report.close();
    Ok(report)
}

/// A crate of ours, and those it stands on.
struct Known {
    name: String,
    folder: String,
    on: BTreeSet<String>,
}

fn known() -> Result<Vec<Known>, String> {
    let metadata = ["metadata", "--no-deps", "--format-version", "1", "--offline"];
    let all: Value = serde_json::from_str(&output(cargo().args(metadata))?)
        .map_err(|error| format!("cargo metadata: {error}"))?;
    Ok(packages(&all))
}

fn packages(metadata: &Value) -> Vec<Known> {
    let list = |value: &Value| value.as_array().cloned().unwrap_or_default();
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let known = |package: &Value| {
        let manifest = text(&package["manifest_path"]).replace('\\', "/");
        let folder = manifest.rsplit('/').nth(1).unwrap_or_default().to_owned();
        let on = list(&package["dependencies"]).iter().map(|on| text(&on["name"])).collect();
        Known { name: text(&package["name"]), folder, on }
    };
    list(&metadata["packages"]).iter().map(known).collect()
}

/// Files that differ from the revision; else those the working tree changes, or where it changes
/// nothing, those of the last commit.
fn changed(against: Option<&str>) -> Result<Vec<String>, String> {
    let git = |arguments: &[&str]| {
        let said = output(Command::new("git").args(arguments).current_dir(root()))?;
        Ok::<_, String>(said.lines().map(str::to_owned).collect::<Vec<_>>())
    };
    let since = |revision| {
        let mut files = git(&["diff", "--name-only", "--no-renames", revision])?;
        files.extend(git(&["ls-files", "--others", "--exclude-standard"])?);
        Ok(files)
    };
    match against {
        Some(revision) => since(revision),
        None => {
            let files: Vec<String> = since("HEAD")?;
            if files.is_empty() { since("HEAD^") } else { Ok(files) }
        }
    }
}

/// The crates that these files belong to and all that stand on them. The tidy rules look at every
/// file, so `xtask` is always one; a file outside the crates may be read by any of them.
fn touched(files: &[String], known: &[Known]) -> Vec<String> {
    let mut reached: BTreeSet<&str> = BTreeSet::new();
    for krate in known {
        let own = format!("crates/{}/", krate.folder);
        let is_own = |file: &String| {
            let apart = file.ends_with(".md") || APART.iter().any(|start| file.starts_with(start));
            file.starts_with(&own) || !file.starts_with("crates/") && !apart
        };
        if krate.folder == "xtask" || files.iter().any(is_own) {
            reached.insert(&krate.name);
        }
    }
    loop {
        let more = known.iter().filter(|krate| {
            !reached.contains(krate.name.as_str())
                && krate.on.iter().any(|on| reached.contains(on.as_str()))
        });
        let more: Vec<&str> = more.map(|krate| krate.name.as_str()).collect();
        if more.is_empty() {
            break;
        }
        reached.extend(more);
    }
    reached.into_iter().map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn reached(files: &[&str]) -> String {
        let package = |name: &str, on: &[&str]| {
            let on: Vec<Value> = on.iter().map(|on| json!({"name": on})).collect();
            json!({
                "name": name, "manifest_path": format!("/x/crates/{name}/Cargo.toml"),
                "dependencies": on
            })
        };
        let all = json!({"packages": [
            package("rim", &["middle", "clap"]), package("middle", &["core"]),
            package("core", &[]), package("beside", &[]), package("xtask", &[])
        ]});
        let files: Vec<String> = files.iter().map(|file| (*file).to_owned()).collect();
        touched(&files, &packages(&all)).join(" ")
    }

    #[test]
    fn a_change_reaches_its_crate_and_all_that_stand_on_it() {
        assert_eq!(reached(&["crates/middle/src/a.rs"]), "middle rim xtask");
        assert_eq!(reached(&["crates/core/tests/it/main.rs"]), "core middle rim xtask");
        assert_eq!(reached(&["crates/rim/Cargo.toml", "crates/beside/x"]), "beside rim xtask");
        assert_eq!(reached(&["docs/method.md", "README.md", "tests/browser/a.mjs"]), "xtask");
        assert_eq!(reached(&["Cargo.lock"]), "beside core middle rim xtask");
        assert_eq!(reached(&["examples/car.toml"]), "beside core middle rim xtask");
    }
}

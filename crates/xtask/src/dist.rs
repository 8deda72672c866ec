//! `cargo xtask dist`: the program in one archive, for a machine without Rust.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use crate::stage::{Report, cargo, output, run, write};
use crate::{Wrong, no_arguments, root};

/// Files of the repository that go along as they are.
const ALONG: &[&str] = &["README.md", "CHANGELOG.md", "LICENSE-APACHE", "LICENSE-MIT"];
/// Shells and what their script is called where they look for it.
const SHELLS: &[(&str, &str)] =
    &[("bash", "axlewright.bash"), ("zsh", "_axlewright"), ("fish", "axlewright.fish")];

pub fn run_chore(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("program", |_| {
        run(cargo().args(["build", "--release", "--locked", "--package", "axlewright"]))
    });
    report.stage("archive", |_| archive());
    report.close();
    Ok(report)
}

fn archive() -> Result<(), String> {
    let told = output(cargo().args(["metadata", "--format-version", "1", "--locked"]))?;
    let told: Value = serde_json::from_str(&told).map_err(|why| why.to_string())?;
    let target = PathBuf::from(told["target_directory"].as_str().unwrap_or("target"));
    let version = version_of(&told, "axlewright").ok_or("no package is called axlewright")?;
    let name = format!("axlewright-{version}-{}", host()?);
    let above = target.join("dist");
    let folder = above.join(&name);
    let _ = std::fs::remove_dir_all(&folder);
    let program = folder.join("axlewright");
    copy(&target.join("release").join("axlewright"), &program)?;
    run(Command::new("strip").arg(&program))?;
    run(Command::new(&program).args(["man", "--out"]).arg(folder.join("man").join("man1")))?;
    for (shell, file) in SHELLS {
        let script = output(Command::new(&program).args(["completions", shell]))?;
        write(&folder.join("completions").join(file), script.as_bytes())?;
    }
    for file in ALONG {
        copy(&root().join(file), &folder.join(file))?;
    }
    copy(&root().join("docs").join("guide.md"), &folder.join("docs").join("guide.md"))?;
    licences(&told, &folder.join("licences"))?;
    // The same files give the same archive, whoever packs them and when.
    let packed = above.join(format!("{name}.tar.gz"));
    let same = ["--sort=name", "--owner=0", "--group=0", "--numeric-owner", "--mtime=@0"];
    let mut tar = Command::new("tar");
    tar.args(same).args(["-czf"]).arg(&packed).arg("-C").arg(&above).arg(&name);
    run(tar.env("GZIP", "-n"))?;
    let size = std::fs::metadata(&packed).map_err(|why| why.to_string())?.len();
    println!("{} ({:.1} MB)", packed.display(), size as f64 / 1e6);
    Ok(())
}

/// The machine that the program is for, as the compiler calls it.
fn host() -> Result<String, String> {
    let told = output(Command::new("rustc").arg("-vV"))?;
    let host = told.lines().find_map(|line| line.strip_prefix("host: "));
    host.map(str::to_owned).ok_or_else(|| "rustc tells no host".to_owned())
}

fn version_of(told: &Value, name: &str) -> Option<String> {
    let all = told["packages"].as_array()?;
    let own = all.iter().find(|package| package["name"] == name && package["source"].is_null())?;
    Some(own["version"].as_str()?.to_owned())
}

/// The licences of everything the program is built from, each package's own text beside its name.
fn licences(told: &Value, into: &Path) -> Result<(), String> {
    let used = used(told, "axlewright");
    let mut without = Vec::new();
    for package in told["packages"].as_array().into_iter().flatten() {
        let text = |key: &str| package[key].as_str().unwrap_or_default();
        if package["source"].is_null() || !used.iter().any(|id| *id == text("id")) {
            continue;
        }
        let name = format!("{}-{}", text("name"), text("version"));
        let from = Path::new(text("manifest_path")).parent().unwrap_or(Path::new("."));
        let mut count = 0;
        for file in std::fs::read_dir(from).into_iter().flatten().flatten() {
            let called = file.file_name().to_string_lossy().to_lowercase();
            let is_text = ["license", "licence", "copying", "copyright", "notice", "unlicense"]
                .iter()
                .any(|word| called.starts_with(word));
            if is_text && file.path().is_file() {
                copy(&file.path(), &into.join(&name).join(file.file_name()))?;
                count += 1;
            }
        }
        if count == 0 {
            without.push(format!("{name}: {}", text("license")));
        }
    }
    let words = "Packages that come without a text of their own, and the licence they name:";
    write(
        &into.join("without-a-text.txt"),
        format!("{words}\n\n{}\n", without.join("\n")).as_bytes(),
    )
}

/// The ids of everything that is built into a package: what builds or tests it is not in it.
fn used<'a>(told: &'a Value, name: &str) -> Vec<&'a str> {
    let nodes = || told["resolve"]["nodes"].as_array().into_iter().flatten();
    let own = |id: &str| {
        let all = told["packages"].as_array().into_iter().flatten();
        all.clone().any(|package| package["id"] == id && package["name"] == name)
    };
    let mut found: Vec<&str> =
        nodes().filter_map(|node| node["id"].as_str()).filter(|id| own(id)).collect();
    let mut at = 0;
    while let Some(id) = found.get(at).copied() {
        at += 1;
        let Some(node) = nodes().find(|node| node["id"] == id) else { continue };
        for dep in node["deps"].as_array().into_iter().flatten() {
            let kinds = dep["dep_kinds"].as_array().into_iter().flatten();
            let built_in = kinds.clone().any(|kind| kind["kind"].is_null());
            if let Some(id) = dep["pkg"].as_str()
                && built_in
                && !found.contains(&id)
            {
                found.push(id);
            }
        }
    }
    found
}

fn copy(from: &Path, to: &Path) -> Result<(), String> {
    let failed = |why: std::io::Error| format!("cannot copy {}: {why}", from.display());
    if let Some(folder) = to.parent() {
        std::fs::create_dir_all(folder).map_err(failed)?;
    }
    std::fs::copy(from, to).map(|_| ()).map_err(failed)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn only_what_is_built_in_is_used() {
        let dep = |id: &str, kind: Value| json!({ "pkg": id, "dep_kinds": [{ "kind": kind }] });
        let told = json!({
            "packages": [{ "id": "own", "name": "axlewright", "source": null, "version": "0.1.0" }],
            "resolve": { "nodes": [
                { "id": "own", "deps": [
                    dep("a", Value::Null), dep("tests", json!("dev")), dep("c", json!("build"))] },
                { "id": "a", "deps": [dep("b", Value::Null), dep("own", Value::Null)] },
                { "id": "b", "deps": [] }
            ] }
        });
        assert_eq!(used(&told, "axlewright"), ["own", "a", "b"]);
        assert_eq!(version_of(&told, "axlewright").as_deref(), Some("0.1.0"));
        assert_eq!(version_of(&told, "another"), None);
    }
}

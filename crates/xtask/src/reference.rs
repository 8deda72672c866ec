//! `cargo xtask reference`: the independent roads, walked again.
//!
//! Each `reference/*_oracle.py` takes `--out DIR` and writes its tables there as CSV. The tables
//! that the tests read are committed beside the scripts; this chore proves that they are what the
//! scripts say, with the versions pinned in `reference/requirements.txt`.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::stage::{Report, Tally, output};
use crate::{Wrong, root, stage};

/// How far a number may differ from the committed one, as a share of the larger of it and 1: the
/// tables hold millimetres and degrees, and another processor rounds a sum differently.
const TOLERANCE: f64 = 1e-8;
/// No more than this many differences are printed per table.
const SHOWN: usize = 10;

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    let accept = match arguments {
        [] => false,
        [word] if word == "--accept" => true,
        _ => return Err(Wrong("only --accept is known here".to_owned())),
    };
    let mut report = Report::default();
    stages(&mut report, accept);
    report.close();
    Ok(report)
}

/// The stages alone, for `soak`.
pub fn stages(report: &mut Report, accept: bool) {
    let mut python = Err("no Python environment".to_owned());
    report.stage("Python environment", |_| {
        python = environment();
        python.as_ref().map(|_| ()).map_err(Clone::clone)
    });
    let Ok(python) = python else { return };
    let oracles = scripts("_oracle.py");
    if oracles.is_empty() {
        report.stage("references", |_| Err("no reference/*_oracle.py found".to_owned()));
    }
    for oracle in oracles {
        let name = format!("reference {}", file_name(&oracle));
        report.stage(&name, |tests| regenerate(&python, &oracle, accept, tests));
    }
}

/// The scripts under `reference/` whose names end so, in order.
pub fn scripts(ending: &str) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(root().join("reference")) else { return Vec::new() };
    let mut found: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.to_string_lossy().ends_with(ending))
        .collect();
    found.sort();
    found
}

/// A Python of our own with exactly the pinned packages; made anew when the pins change.
pub fn environment() -> Result<PathBuf, String> {
    let pins = root().join("reference").join("requirements.txt");
    let wanted = std::fs::read_to_string(&pins)
        .map_err(|error| format!("reference/requirements.txt: {error}"))?;
    let folder = root().join("target").join("reference-venv");
    let python = folder.join("bin").join("python");
    let stamp = folder.join("pins.txt");
    if python.exists() && std::fs::read_to_string(&stamp).is_ok_and(|had| had == wanted) {
        return Ok(python);
    }
    stage::run(Command::new("python3").args(["-m", "venv", "--clear"]).arg(&folder))?;
    let install = ["-m", "pip", "install", "--quiet", "--requirement"];
    stage::run(Command::new(&python).args(install).arg(&pins))?;
    stage::write(&stamp, wanted.as_bytes())?;
    Ok(python)
}

/// Runs one oracle; each of its tables counts as one test.
fn regenerate(python: &Path, oracle: &Path, accept: bool, tests: &mut Tally) -> Result<(), String> {
    let committed = root().join("reference");
    let fresh = root().join("target").join("reference-new").join(file_name(oracle));
    let _ = std::fs::remove_dir_all(&fresh);
    std::fs::create_dir_all(&fresh).map_err(|error| error.to_string())?;
    print!("{}", output(Command::new(python).arg(oracle).arg("--out").arg(&fresh))?);
    let tables = tables_in(&fresh)?;
    if tables.is_empty() {
        return Err("it wrote no table".to_owned());
    }
    let mut differing = 0;
    for table in &tables {
        let name = file_name(table);
        let new = read(table)?;
        let old = read(&committed.join(&name)).unwrap_or_default();
        let differences = differences(&old, &new);
        for difference in differences.iter().take(SHOWN) {
            println!("   {name}: {difference}");
        }
        println!("   {name}: {} rows, {} differences", new.lines().count(), differences.len());
        let differs = !differences.is_empty() && !accept;
        differing += u64::from(differs);
        tests.failed += u64::from(differs);
        tests.passed += u64::from(!differs);
        if accept {
            stage::write(&committed.join(&name), new.as_bytes())?;
        }
    }
    if differing == 0 {
        return Ok(());
    }
    Err(format!("{differing} of {} tables differ from the committed ones", tables.len()))
}

fn tables_in(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let entries = std::fs::read_dir(folder).map_err(|error| error.to_string())?;
    let mut tables: Vec<PathBuf> = entries
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "csv"))
        .collect();
    tables.sort();
    Ok(tables)
}

fn read(path: &Path) -> Result<String, String> {
    std::fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))
}

fn file_name(path: &Path) -> String {
    path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}

/// Cell by cell: numbers within [`TOLERANCE`], everything else letter by letter. Lines that start
/// with `#` tell where a table came from and are compared too, since they name the versions.
fn differences(old: &str, new: &str) -> Vec<String> {
    let (old, new): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let mut found = Vec::new();
    if old.len() != new.len() {
        found.push(format!("{} lines committed, {} lines now", old.len(), new.len()));
    }
    for (line, (was, is)) in old.iter().zip(&new).enumerate() {
        let (was, is): (Vec<&str>, Vec<&str>) = (was.split(',').collect(), is.split(',').collect());
        if was.len() != is.len() {
            found.push(format!("line {}: {} cells, now {}", line + 1, was.len(), is.len()));
            continue;
        }
        for (column, (was, is)) in was.iter().zip(&is).enumerate() {
            if !same(was.trim(), is.trim()) {
                found.push(format!("line {}, cell {}: {was}, now {is}", line + 1, column + 1));
            }
        }
    }
    found
}

fn same(was: &str, is: &str) -> bool {
    if was == is {
        return true;
    }
    let (Ok(was), Ok(is)) = (was.parse::<f64>(), is.parse::<f64>()) else { return false };
    (was - is).abs() <= TOLERANCE * was.abs().max(is.abs()).max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_compared_as_numbers_and_words_as_words() {
        assert!(differences("a,b\n1.0,2\n", "a,b\n1.000000000001,2.0\n").is_empty());
        assert_eq!(differences("a\n1.0\n", "a\n1.0001\n").len(), 1);
        assert_eq!(differences("a\n1.0\n", "b\n1.0\n").len(), 1);
    }

    #[test]
    fn a_missing_row_cell_or_a_number_that_is_none_is_a_difference() {
        assert_eq!(differences("a\n1\n2\n", "a\n1\n").len(), 1);
        assert_eq!(differences("a\n1,2\n", "a\n1\n").len(), 1);
        assert_eq!(differences("a\n1\n", "a\nnan\n").len(), 1);
        assert_eq!(differences("", "a\n1\n").len(), 1);
    }
}

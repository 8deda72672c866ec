//! `cargo xtask supply`: the table of everything that the program is built from, anew.

use std::fmt::Write;

use serde_json::Value;

use crate::stage::{Report, cargo, output, write};
use crate::{Wrong, no_arguments, root};

/// Between these two lines of `docs/supply.md` stands the table.
const BEGIN: &str = "<!-- written by `cargo xtask supply` -->";
const END: &str = "<!-- end of it -->";

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("docs/supply.md", |_| renew());
    report.close();
    Ok(report)
}

fn renew() -> Result<(), String> {
    let path = root().join("docs").join("supply.md");
    let text = std::fs::read_to_string(&path).map_err(|why| why.to_string())?;
    let told = output(cargo().args(["metadata", "--format-version", "1", "--locked"]))?;
    let told: Value = serde_json::from_str(&told).map_err(|why| why.to_string())?;
    let (before, rest) = text.split_once(BEGIN).ok_or("docs/supply.md has lost its marks")?;
    let (_, after) = rest.split_once(END).ok_or("docs/supply.md has lost its marks")?;
    write(&path, format!("{before}{BEGIN}\n\n{}\n{END}{after}", table(&told)).as_bytes())
}

/// Name, version and licence of every package that is not our own.
fn table(told: &Value) -> String {
    let mut rows: Vec<[&str; 3]> = (told["packages"].as_array().into_iter().flatten())
        .filter(|package| !package["source"].is_null())
        .map(|package| {
            ["name", "version", "license"].map(|key| package[key].as_str().unwrap_or(""))
        })
        .collect();
    rows.sort_unstable();
    let mut table = "| crate | version | licence |\n|---|---|---|\n".to_owned();
    for [name, version, licence] in rows {
        // A slash between licences is the older spelling of `OR`.
        let licence = licence.replace(" / ", " OR ").replace('/', " OR ");
        let _ = writeln!(table, "| `{name}` | {version} | {licence} |");
    }
    table
}

//! `cargo xtask timing`: how long a newcomer waits for the first build.

use std::path::Path;
use std::time::Instant;

use serde_json::Value;

use crate::stage::{Report, cargo};
use crate::{Wrong, no_arguments, root, stage};

/// What the README promises: `cargo build --release` from nothing, on two cores.
const PROMISED_SECONDS: f64 = 240.0;
/// A dependency above this is named in ARCHITECTURE.md with its seconds.
const NAMED_SECONDS: f64 = 5.0;

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("cold release build", |_| cold_build());
    report.close();
    Ok(report)
}

fn cold_build() -> Result<(), String> {
    let folder = root().join("target").join(format!("timing-{}", std::process::id()));
    let start = Instant::now();
    let built = stage::run(
        cargo()
            .args(["build", "--release", "--locked", "--timings"])
            .env("CARGO_TARGET_DIR", &folder),
    );
    let seconds = start.elapsed().as_secs_f64();
    let units = units(&folder.join("cargo-timings").join("cargo-timing.html"));
    // Nothing else uses this folder; leaving it would only fill the disk.
    let _ = std::fs::remove_dir_all(&folder);
    built?;
    println!("cold release build: {seconds:.0} s on {} cores", cores());
    for (name, seconds) in units?.iter().filter(|(_, seconds)| *seconds > NAMED_SECONDS) {
        println!("{seconds:>8.1} s  {name}");
    }
    if seconds > PROMISED_SECONDS {
        return Err(format!("{seconds:.0} s is over the promised {PROMISED_SECONDS:.0} s"));
    }
    Ok(())
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// Every compiled unit with its seconds, slowest first, from cargo's own timing page.
fn units(page: &Path) -> Result<Vec<(String, f64)>, String> {
    let text =
        std::fs::read_to_string(page).map_err(|error| format!("cargo left no timings: {error}"))?;
    parse_units(&text).ok_or_else(|| "cargo's timings have another form than expected".to_owned())
}

fn parse_units(text: &str) -> Option<Vec<(String, f64)>> {
    let list = text.split("const UNIT_DATA = ").nth(1)?;
    let first = serde_json::Deserializer::from_str(list).into_iter::<Value>().next()?.ok()?;
    let mut units = Vec::new();
    for unit in first.as_array()? {
        let target = unit["target"].as_str().unwrap_or_default();
        let name = format!("{} {}{target}", unit["name"].as_str()?, unit["version"].as_str()?);
        units.push((name, unit["duration"].as_f64()?));
    }
    units.sort_by(|a, b| b.1.total_cmp(&a.1));
    Some(units)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_read_from_cargos_page_slowest_first() {
        let page = r#"<script>const UNIT_DATA = [
            {"i":0,"name":"a","version":"1.0.0","mode":"todo","target":"","duration":0.5},
            {"i":1,"name":"b","version":"2.0.0","mode":"todo","target":" build","duration":7.25}
        ];
        const CONCURRENCY_DATA = [];</script>"#;
        let units = parse_units(page).unwrap();
        assert_eq!(units, [("b 2.0.0 build".to_owned(), 7.25), ("a 1.0.0".to_owned(), 0.5)]);
        assert_eq!(parse_units("<html></html>"), None);
    }
}

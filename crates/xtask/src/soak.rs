//! `cargo xtask soak`: the long tier, before an issue is closed.

use std::path::PathBuf;
use std::process::Command;

use jiff::Timestamp;

use crate::stage::{Report, cargo, output, run_tests};
use crate::suite::SLOW;
use crate::{Wrong, bench, photo, reference, root, safe, simulate, stage};

/// Property cases per test in this tier; the everyday run uses proptest's own 256.
const CASES: &str = "20000";
/// Writers killed and books damaged in this tier; the everyday run kills 300 and damages 400.
const KILLS: &str = "5000";
const COPIES: &str = "20000";
const HEAD: &str = "# Long runs\n\n\
    One row per `cargo xtask soak`, appended by it. Seconds per stage; a stage in capitals failed.\
    \n\n| date (UTC) | commit | machine | fuzzing per target | tests | stages |\n\
    |---|---|---|---|---|---|\n";

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    let minutes = match arguments {
        [] => 20,
        [word, number] if word == "--minutes" => number
            .parse()
            .ok()
            .filter(|minutes| (1..=600).contains(minutes))
            .ok_or_else(|| Wrong(format!("`{number}` minutes: a whole number from 1 to 600")))?,
        _ => return Err(Wrong("only --minutes N is known here".to_owned())),
    };
    let mut report = Report::default();
    let targets = fuzz_targets();
    let each = (minutes * 60 / (targets.len() as u64).max(1)).max(1);
    report.stage("fuzz targets built", |_| match targets.len() {
        0 => Err("no fuzz/fuzz_targets/*.rs found".to_owned()),
        _ => build_fuzzers(),
    });
    for target in &targets {
        report.stage(&format!("fuzz {target}"), |_| fuzz(target, each));
    }
    report.stage("property tests, many cases", |tests| {
        let all = ["test", "--release", "--locked", "--workspace", "--no-fail-fast"];
        run_tests(cargo().args(all).env("PROPTEST_CASES", CASES).env(SLOW, "1"), tests)
    });
    report.stage("store killed and damaged, many times", |tests| {
        let store = ["test", "--release", "--locked", "-p", "axlewright-store", "--no-fail-fast"];
        let many = [("AXLEWRIGHT_KILLS", KILLS), ("AXLEWRIGHT_COPIES", COPIES), (SLOW, "1")];
        run_tests(cargo().args(store).args(["--", "--nocapture"]).envs(many), tests)
    });
    reference::stages(&mut report, false);
    bench::stages(&mut report);
    safe::stages(&mut report, safe::Asked::Soak);
    simulate::stages(&mut report, simulate::Asked::WHOLE);
    photo::stages(&mut report, photo::Asked::WHOLE);
    let row = report.row();
    report.stage("row in docs/soak.md", |_| append(&row, each));
    report.close();
    Ok(report)
}

/// What the fuzzing engine needs to see which way a run took, on a stable toolchain; the address
/// sanitiser is left out, as no code of ours is `unsafe`.
const SEEN_BY_THE_FUZZER: &str = "--cfg fuzzing -Ccodegen-units=1 -Cpasses=sancov-module \
    -Cllvm-args=-sanitizer-coverage-level=4 \
    -Cllvm-args=-sanitizer-coverage-inline-8bit-counters \
    -Cllvm-args=-sanitizer-coverage-pc-table -Cllvm-args=-sanitizer-coverage-trace-compares";
/// Named, so that the flags above do not reach build scripts.
const FUZZ_TRIPLE: &str = "x86_64-unknown-linux-gnu";
/// One input may take no longer than this, in seconds: a hang is a fault.
const FUZZ_PATIENCE: &str = "-timeout=10";

/// The names of `fuzz/fuzz_targets/*.rs`.
fn fuzz_targets() -> Vec<String> {
    let mut found: Vec<String> = paths(root().join("fuzz").join("fuzz_targets"))
        .iter()
        .filter(|path| path.extension().is_some_and(|ending| ending == "rs"))
        .filter_map(|path| path.file_stem())
        .map(|stem| stem.to_string_lossy().into_owned())
        .collect();
    found.sort();
    found
}

fn paths(folder: PathBuf) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    entries.map(|entry| entry.path()).collect()
}

fn build_fuzzers() -> Result<(), String> {
    let build = ["build", "--release", "--locked", "--target", FUZZ_TRIPLE];
    let mut command = cargo();
    command.current_dir(root().join("fuzz")).env("RUSTFLAGS", SEEN_BY_THE_FUZZER);
    stage::run(command.args(build))
}

/// Fuzzes one target for that long, from what was found before, from the replayed corpora, and from
/// those of its own name.
fn fuzz(target: &str, seconds: u64) -> Result<(), String> {
    let folder = root().join("fuzz").join("target");
    let found = folder.join("corpus").join(target);
    std::fs::create_dir_all(&found).map_err(|error| error.to_string())?;
    let own = format!("{target}_corpus");
    let corpora = paths(root().join("crates"))
        .into_iter()
        .flat_map(|krate| ["corpus", &own].map(|name| krate.join("tests").join(name)))
        .filter(|corpus| corpus.is_dir());
    let mut command = Command::new(folder.join(FUZZ_TRIPLE).join("release").join(target));
    command.current_dir(&folder).arg(&found).args(corpora);
    command.arg(format!("-max_total_time={seconds}")).args([FUZZ_PATIENCE, "-print_final_stats=1"]);
    stage::run(&mut command)
}

fn append(row: &str, fuzz_seconds: u64) -> Result<(), String> {
    let path = root().join("docs").join("soak.md");
    let mut text = std::fs::read_to_string(&path).unwrap_or_else(|_| HEAD.to_owned());
    let mut git = Command::new("git");
    let commit = output(git.current_dir(root()).args(["rev-parse", "--short", "HEAD"]))?;
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    text.push_str(&format!(
        "| {} | {} | {} {}, {cores} cores | {fuzz_seconds} s | {row} |\n",
        today(),
        commit.trim(),
        std::env::consts::OS,
        std::env::consts::ARCH,
    ));
    stage::write(&path, text.as_bytes())
}

/// Today's date, UTC.
pub fn today() -> String {
    Timestamp::now().strftime("%Y-%m-%d").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn minutes_out_of_range_are_a_wrong_call() {
        for number in ["0", "601", "-3", "1.5", "ten"] {
            assert!(run(&["--minutes".to_owned(), number.to_owned()]).is_err(), "{number}");
        }
    }
}

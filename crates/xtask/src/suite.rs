//! `cargo xtask test`: all that must hold before a change lands.

use crate::stage::{Report, cargo, run_tests};
use crate::{Wrong, no_arguments, page, safe, stage, tools};

/// Opens the gate of the slow tests; at the desk it stays closed.
pub const SLOW: &str = "AXLEWRIGHT_SLOW_TESTS";

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("format", |_| stage::run(cargo().args(["fmt", "--all", "--check"])));
    report.stage("lints", |_| {
        let lints = ["clippy", "--locked", "--workspace", "--all-targets", "--", "-D", "warnings"];
        stage::run(cargo().args(lints))
    });
    report.stage("docs", |_| {
        let docs = ["doc", "--locked", "--workspace", "--no-deps", "--quiet"];
        stage::run(cargo().args(docs).env("RUSTDOCFLAGS", "-D warnings"))
    });
    report.stage("tools", |_| tools::test_tools());
    report.stage("tests", |tests| {
        let all = ["test", "--locked", "--workspace", "--no-fail-fast"];
        run_tests(cargo().args(all).env(SLOW, "1"), tests)
    });
    safe::stages(&mut report, safe::Asked::Slice);
    report.stage("sheet and page in the browser", page::test_all);
    report.not_run("fuzzing, many property cases, references anew, benches: `cargo xtask soak`");
    report.not_run("two thousand simulated restorers: `cargo xtask simulate`");
    report.not_run("the cold release build: `cargo xtask timing`");
    report.close();
    Ok(report)
}

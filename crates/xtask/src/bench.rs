//! `cargo xtask bench`: our times, and beside them in the same run those of the usual road.

use crate::stage::{Report, cargo};
use crate::{Wrong, no_arguments, page, reference, stage};

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    stages(&mut report);
    report.close();
    Ok(report)
}

/// The stages alone, for `soak`. Benches start their peers themselves, in the pinned Python.
pub fn stages(report: &mut Report) {
    report.stage("benches, peers beside them", |_| {
        let python = reference::environment()?;
        let benches = ["bench", "--locked", "--workspace", "--benches"];
        stage::run(cargo().args(benches).env("AXLEWRIGHT_PYTHON", python))
    });
    report.stage("first words on a telephone", |_| page::paint());
}

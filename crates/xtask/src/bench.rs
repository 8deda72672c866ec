//! `cargo xtask bench`: our times, and beside them in the same run those of the usual road.

use std::process::Command;

use crate::stage::{Report, cargo};
use crate::{Wrong, no_arguments, reference, stage};

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    stages(&mut report);
    report.close();
    Ok(report)
}

/// The stages alone, for `soak`.
pub fn stages(report: &mut Report) {
    report.stage("benches", |_| stage::run(cargo().args(["bench", "--locked", "--workspace"])));
    let peers = reference::scripts("_bench.py");
    if peers.is_empty() {
        report.not_run("the same work in Python: there is no reference/*_bench.py");
        return;
    }
    report.stage("the same work in Python", |_| {
        let python = reference::environment()?;
        peers.iter().try_for_each(|peer| stage::run(Command::new(&python).arg(peer)))
    });
}

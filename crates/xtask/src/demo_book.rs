//! `cargo xtask demo-book`: the archive that `axlewright demo` unpacks, anew.

use crate::stage::{Report, cargo, run};
use crate::{Wrong, no_arguments, root};

pub fn run_chore(arguments: &[String]) -> Result<Report, Wrong> {
    no_arguments(arguments)?;
    let mut report = Report::default();
    report.stage("examples/larch-1300/book.tar", |_| {
        let example = ["run", "--quiet", "--package", "axlewright", "--example", "demo_book", "--"];
        run(cargo().args(example).arg(root().join("examples/larch-1300/book.tar")))
    });
    report.close();
    Ok(report)
}

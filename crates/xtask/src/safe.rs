//! `cargo xtask safe`: the demo's plan with figures left out, judged by a program that shares
//! nothing with the one that made it.

use std::process::{Command, Stdio};

use crate::stage::{Report, cargo, output};
use crate::{Wrong, root};

/// How many cases.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// A seeded handful of each kind, for `cargo xtask test`.
    Slice,
    /// Each figure and each table left out, and two hundred random halves.
    All,
    /// All that, and five hundred invented cars.
    Soak,
}

impl Asked {
    const fn word(self) -> &'static str {
        match self {
            Self::Slice => "slice",
            Self::All => "all",
            Self::Soak => "soak",
        }
    }
}

pub fn run_chore(arguments: &[String]) -> Result<Report, Wrong> {
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let asked = match words.as_slice() {
        [] => Asked::All,
        ["--slice"] => Asked::Slice,
        ["--soak"] => Asked::Soak,
        _ => return Err(Wrong("only --slice or --soak is known here".to_owned())),
    };
    let mut report = Report::default();
    stages(&mut report, asked);
    report.close();
    Ok(report)
}

/// The stages alone, for `test` and `soak`. A judge that finds nothing wrong in a spoilt plan is no
/// judge, so it is shown one of each kind.
pub fn stages(report: &mut Report, asked: Asked) {
    report.stage(&format!("no plan hurts anybody: {}", asked.word()), |_| {
        let (said, is_right) = judged(asked.word(), "")?;
        println!("{said}");
        if is_right { Ok(()) } else { Err("a plan is wrong: see above".to_owned()) }
    });
    for spoilt in ["break-arc", "break-gate"] {
        report.stage(&format!("the judge finds a spoilt plan: {spoilt}"), |_| {
            match judged(Asked::Slice.word(), spoilt)? {
                (_, false) => Ok(()),
                (said, true) => Err(format!("it finds nothing: {said}")),
            }
        });
    }
}

/// What the judge says of the plans, and whether it is content.
fn judged(cases: &str, spoilt: &str) -> Result<(String, bool), String> {
    let example = ["run", "--quiet", "--locked", "--package", "axlewright-setup"];
    let mut made = cargo();
    made.args(example).args(["--example", "safe", "--", cases, spoilt]);
    let plans = output(&mut made)?;
    let file = root().join("target").join(format!("plans-{cases}.jsonl"));
    std::fs::write(&file, plans).map_err(|error| format!("{}: {error}", file.display()))?;
    let plans =
        std::fs::File::open(&file).map_err(|error| format!("{}: {error}", file.display()))?;
    let judge = root().join("reference").join("safe_judge.py");
    let said = Command::new("python3")
        .arg(judge)
        .stdin(plans)
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| format!("python3: {error}; it is needed for the judge"))?;
    match said.status.code() {
        Some(code @ (0 | 1)) => Ok((String::from_utf8_lossy(&said.stdout).into_owned(), code == 0)),
        _ => Err("the judge broke down".to_owned()),
    }
}

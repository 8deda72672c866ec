//! `cargo xtask safe`: the demo's plan with figures left out, invented cars, and a builder with one
//! safeguard less, judged by a program that shares nothing with the one that made it.

use std::process::{Command, Stdio};

use crate::stage::{Report, cargo, output};
use crate::{Wrong, root};

/// How many cases.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// A seeded handful of each kind, for `cargo xtask test`.
    Slice,
    /// The methods in the program, nothing measured, with 256 ways to answer.
    Answers,
    /// Each figure, table and step left out, two hundred random halves, five hundred invented cars,
    /// and each safeguard taken out of the builder.
    All,
    /// All that, with five thousand random halves.
    Soak,
}

impl Asked {
    const fn word(self) -> &'static str {
        match self {
            Self::Slice => "slice",
            Self::Answers => "answers",
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
        ["--answers"] => Asked::Answers,
        ["--soak"] => Asked::Soak,
        _ => return Err(Wrong("only --slice, --answers or --soak is known here".to_owned())),
    };
    let mut report = Report::default();
    stages(&mut report, asked);
    report.close();
    Ok(report)
}

/// The stage alone, for `test` and `soak`. Among the plans are some that a builder with a safeguard
/// less has made: a judge that finds nothing in them is no judge, and that fails too.
pub fn stages(report: &mut Report, asked: Asked) {
    report.stage(&format!("no plan hurts anybody: {}", asked.word()), |_| {
        let (said, is_right) = judged(asked.word())?;
        println!("{said}");
        if is_right {
            Ok(())
        } else {
            Err("a plan is wrong, or the judge is: see above".to_owned())
        }
    });
}

/// What the judge says of the plans, and whether it is content.
fn judged(cases: &str) -> Result<(String, bool), String> {
    let example = ["run", "--quiet", "--locked", "--package", "axlewright-setup"];
    let mut made = cargo();
    made.args(example).args(["--example", "safe", "--", cases]);
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

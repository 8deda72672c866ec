//! Chores: tests, tidy rules, references, benches, timings and pictures of the sheet.
//!
//! No other crate depends on this one. Every chore is a function from its arguments to a
//! [`Report`]; the exit code is 0 when nothing failed, 1 when something did and 2 when the call
//! itself was wrong.
//!
//! Children run in the terminal's own process group, so Ctrl-C reaches them as it reaches this
//! program.

mod bench;
mod demo_book;
mod dist;
mod page;
mod photo;
mod quick;
mod reference;
mod safe;
mod simulate;
mod slips;
mod soak;
mod stage;
mod suite;
mod supply;
pub mod tidy;
mod timing;
mod tools;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

pub use stage::{Report, tally};

/// One chore: its name, its help and what it does.
struct Chore {
    name: &'static str,
    usage: &'static str,
    help: &'static str,
    run: fn(&[String]) -> Result<Report, Wrong>,
}

/// A call that makes no sense, with what would.
#[derive(Debug)]
pub struct Wrong(pub String);

const CHORES: &[Chore] = &[
    Chore {
        name: "quick",
        usage: "cargo xtask quick [REVISION]",
        help: "The loop of a minute: format, then lints and tests of the crates that a change \
               touches and of those that stand on them. The change is what the working tree \
               differs in from HEAD; where it differs in nothing, the last commit; with REVISION, \
               all that differs from there. Slow tests stay shut.",
        run: quick::run_chore,
    },
    Chore {
        name: "test",
        usage: "cargo xtask test",
        help: "Everything that must hold before a change lands: format, lints, docs, all tests, \
               the slow ones too, and the demo sheet and the page on the bench in a real browser. \
               Installs what is missing (as root, with apt-get). Lists what it did not run.",
        run: suite::run,
    },
    Chore {
        name: "soak",
        usage: "cargo xtask soak [--minutes N]",
        help: "The long tier: fuzzing for a bounded time, many property cases, the references \
               anew, the benches. Appends a dated row to docs/soak.md. N minutes are \
               for fuzzing, 20 if not said; the rest comes on top.",
        run: soak::run,
    },
    Chore {
        name: "reference",
        usage: "cargo xtask reference [--accept]",
        help: "Runs every reference/*_oracle.py in its own pinned Python environment and compares \
               what comes out, number by number, with the tables that are committed. --accept \
               copies the new tables over the old ones.",
        run: reference::run,
    },
    Chore {
        name: "bench",
        usage: "cargo xtask bench",
        help: "Runs the benches. Where the usual road is a Python package, the bench does the same \
               work there in the same run, with the versions of reference/requirements.txt.",
        run: bench::run,
    },
    Chore {
        name: "simulate",
        usage: "cargo xtask simulate [--cars N] [--seed S]",
        help: "Two thousand random cars (or N) and their restorers, with realistic errors, led by \
               the tool and by hand; the table, with date, seed and command, into \
               docs/workshop.md.",
        run: simulate::run,
    },
    Chore {
        name: "slips",
        usage: "cargo xtask slips",
        help: "Every slip of a hand in every number of the demo's car file, and two hundred sound \
               cars: what is caught, what is missed, what is called a slip and is none; the table, \
               with its date, into docs/slips.md.",
        run: slips::run,
    },
    Chore {
        name: "safe",
        usage: "cargo xtask safe [--slice | --soak]",
        help: "Plans of the demo's work with each figure left out in turn, each table, each step, \
               random halves, five hundred invented cars, and a builder with one safeguard less; \
               with --soak five thousand halves. A second program, reference/safe_judge.py, \
               replays each and finds the act that hurts somebody.",
        run: safe::run_chore,
    },
    Chore {
        name: "photo",
        usage: "cargo xtask photo [--scenes N] [--seed S]",
        help: "Renders 201 pictures of the printed sheets (three a scene, N scenes), measures them \
               and prints how far off that is, beside how far off it may be.",
        run: photo::run_chore,
    },
    Chore {
        name: "look",
        usage: "cargo xtask look [FILE.html | --page]",
        help: "Pictures of the demo sheet (or of FILE) in target/look/sheet/: phone and laptop, \
               light and dark, printed on A4 and Letter; then the same checks as in `test`. With \
               --page, of every screen of the demo's book in target/look/page/: phone, laptop and \
               print, in every theme.",
        run: page::look,
    },
    Chore {
        name: "screenshots",
        usage: "cargo xtask screenshots",
        help: "Takes the README's pictures of the page anew, into docs/pictures/.",
        run: page::screenshots,
    },
    Chore {
        name: "supply",
        usage: "cargo xtask supply",
        help: "Writes the table of crates, versions and licences in docs/supply.md anew, from the \
               lock file. What is known to be wrong with which version is written there by hand.",
        run: supply::run,
    },
    Chore {
        name: "demo-book",
        usage: "cargo xtask demo-book",
        help: "Makes the archive of the demo's book anew, examples/larch-1300/book.tar, from the \
               story and the pictures in crates/axlewright/examples/demo_book/.",
        run: demo_book::run_chore,
    },
    Chore {
        name: "dist",
        usage: "cargo xtask dist",
        help: "The program in one archive for a machine without Rust, target/dist/: stripped, with \
               manual pages, what shells need to finish its commands, and the licences of \
               everything in it.",
        run: dist::run_chore,
    },
    Chore {
        name: "timing",
        usage: "cargo xtask timing",
        help: "Builds the release binary from nothing in a fresh folder, prints the seconds and \
               every dependency that took over five of them.",
        run: timing::run,
    },
];

/// Runs the chore that the arguments name.
pub fn run(arguments: &[String]) -> ExitCode {
    let (name, rest) = match arguments.split_first() {
        Some((name, rest)) => (name.as_str(), rest),
        None => ("help", arguments),
    };
    if matches!(name, "help" | "--help" | "-h") {
        print!("{}", overview());
        return ExitCode::SUCCESS;
    }
    let Some(chore) = CHORES.iter().find(|chore| chore.name == name) else {
        eprintln!("no chore is called `{name}`\n\n{}", overview());
        return ExitCode::from(2);
    };
    if rest.iter().any(|word| word == "--help" || word == "-h") {
        println!("{}\n\n{}", chore.usage, chore.help);
        return ExitCode::SUCCESS;
    }
    match (chore.run)(rest) {
        Ok(report) if report.passed() => ExitCode::SUCCESS,
        Ok(_) => ExitCode::FAILURE,
        Err(Wrong(why)) => {
            eprintln!("{why}\nusage: {}", chore.usage);
            ExitCode::from(2)
        }
    }
}

fn overview() -> String {
    let mut text = String::from("cargo xtask CHORE\n\n");
    for chore in CHORES {
        text.push_str(&format!("  {}\n", chore.usage));
        for line in wrapped(chore.help, 84) {
            text.push_str(&format!("      {line}\n"));
        }
    }
    text
}

fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.is_empty() => line.push_str(word),
            Some(line) if line.len() + 1 + word.len() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// The repository's top folder.
pub fn root() -> PathBuf {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    here.ancestors().nth(2).unwrap_or(here).to_path_buf()
}

/// Refuses every argument: for chores that take none.
fn no_arguments(arguments: &[String]) -> Result<(), Wrong> {
    match arguments.first() {
        None => Ok(()),
        Some(word) => Err(Wrong(format!("`{word}` is not expected here"))),
    }
}

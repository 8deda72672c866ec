//! `cargo xtask simulate`: restorers by the thousand, and the table of what came of it.

use std::process::Stdio;

use crate::stage::{Report, cargo, output, write};
use crate::{Wrong, root, soak};

/// How many cars, from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    cars: u64,
    seed: u64,
}

impl Asked {
    /// What the committed table is made of.
    pub const WHOLE: Self = Self { cars: 2000, seed: 2611 };

    fn from(arguments: &[String]) -> Result<Self, Wrong> {
        let mut asked = Self::WHOLE;
        for pair in arguments.chunks(2) {
            let [word, number] = pair else {
                return Err(Wrong("a number is missing at the end".to_owned()));
            };
            let whole = number.parse::<u64>().ok();
            match (word.as_str(), whole) {
                ("--cars", Some(n)) if (1..=1_000_000).contains(&n) => asked.cars = n,
                ("--seed", Some(n)) => asked.seed = n,
                _ => return Err(Wrong(format!("`{word} {number}` is not understood"))),
            }
        }
        Ok(asked)
    }
}

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    let asked = Asked::from(arguments)?;
    let mut report = Report::default();
    stages(&mut report, asked);
    report.close();
    Ok(report)
}

/// The stage alone, for `soak`.
pub fn stages(report: &mut Report, asked: Asked) {
    report.stage(&format!("{} simulated restorers", asked.cars), |_| {
        let (cars, seed) = (asked.cars.to_string(), asked.seed.to_string());
        let program = ["--release", "--locked", "--package", "axlewright-setup"];
        let example = ["--example", "workshop", "--", "--cars", &cars, "--seed", &seed];
        let mut call = cargo();
        // Progress passes by on the error stream; the table is what comes out.
        call.arg("run").args(program).args(example).stderr(Stdio::inherit());
        let table = output(&mut call)?;
        println!("{table}");
        let path = root().join("docs").join("workshop.md");
        let text = std::fs::read_to_string(&path)
            .map_err(|error| format!("cannot read {}: {error}", path.display()))?;
        let command = format!("cargo xtask simulate --cars {cars} --seed {seed}");
        let text = with_table(&text, &format!("{}, `{command}`.", soak::today()), &table)?;
        write(&path, text.as_bytes())
    });
}

/// Below this heading the page is the machine's.
const MARK: &str = "## What came of it\n";

/// The page with everything below its last heading made anew.
fn with_table(page: &str, when: &str, table: &str) -> Result<String, String> {
    let (above, _) = page
        .split_once(MARK)
        .ok_or_else(|| format!("docs/workshop.md has no heading `{}`", MARK.trim()))?;
    Ok(format!("{above}{MARK}\n{when}\n\n{}\n", table.trim_end()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(words: &str) -> Option<Asked> {
        let words: Vec<String> = words.split_whitespace().map(str::to_owned).collect();
        Asked::from(&words).ok()
    }

    #[test]
    fn calls_are_read() {
        assert_eq!(asked(""), Some(Asked::WHOLE));
        assert_eq!(asked("--seed 5 --cars 60"), Some(Asked { cars: 60, seed: 5 }));
        for wrong in ["--cars", "--cars 0", "--cars many", "--seed -1", "--loud 3"] {
            assert_eq!(asked(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn only_the_table_is_made_anew() {
        let page = format!("# Page\n\nAdvice.\n\n{MARK}\nold\n");
        let new = with_table(&page, "Today.", "| new |\n").unwrap();
        assert_eq!(new, format!("# Page\n\nAdvice.\n\n{MARK}\nToday.\n\n| new |\n"));
        assert_eq!(with_table(&new, "Today.", "| new |\n").unwrap(), new);
        assert!(with_table("# Page\n", "", "").is_err());
    }
}

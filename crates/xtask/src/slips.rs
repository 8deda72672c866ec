//! `cargo xtask slips`: every slip of a hand in the demo's car file, and what is said of it.

use std::process::Stdio;

use crate::stage::{Report, cargo, output, write};
use crate::{Wrong, root, soak};

pub fn run(arguments: &[String]) -> Result<Report, Wrong> {
    if let Some(word) = arguments.first() {
        return Err(Wrong(format!("`{word}` is not understood")));
    }
    let mut report = Report::default();
    report.stage("slips of a hand, and sound cars", |_| {
        let program = ["--release", "--locked", "--package", "axlewright-setup"];
        let mut call = cargo();
        call.arg("run").args(program).args(["--example", "slips"]).stderr(Stdio::inherit());
        let table = output(&mut call)?;
        println!("{table}");
        let path = root().join("docs").join("slips.md");
        let text = std::fs::read_to_string(&path)
            .map_err(|error| format!("cannot read {}: {error}", path.display()))?;
        let when = format!("{}, `cargo xtask slips`.", soak::today());
        write(&path, with_table(&text, &when, &table)?.as_bytes())
    });
    report.close();
    Ok(report)
}

/// Below this heading the page is the machine's.
const MARK: &str = "## What came of it\n";

fn with_table(page: &str, when: &str, table: &str) -> Result<String, String> {
    let (above, _) = page
        .split_once(MARK)
        .ok_or_else(|| format!("docs/slips.md has no heading `{}`", MARK.trim()))?;
    Ok(format!("{above}{MARK}\n{when}\n\n{}\n", table.trim_end()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_table_is_made_anew() {
        let page = format!("# Slips\n\nWhat.\n\n{MARK}\nold\n");
        let new = with_table(&page, "Today.", "| new |\n").unwrap();
        assert_eq!(new, format!("# Slips\n\nWhat.\n\n{MARK}\nToday.\n\n| new |\n"));
        assert!(with_table("# Slips\n", "", "").is_err());
    }

    #[test]
    fn it_takes_no_arguments() {
        assert!(run(&["--loud".to_owned()]).is_err());
    }
}

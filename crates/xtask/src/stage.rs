//! One stage after another, each timed, all of them summed into one closing line.

use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

/// What a chore did: stages with their seconds, tests counted, and what it left out.
#[derive(Debug, Default)]
pub struct Report {
    stages: Vec<Stage>,
    not_run: Vec<String>,
    tests: Tally,
}

#[derive(Debug)]
struct Stage {
    name: String,
    seconds: f64,
    /// Of all processors together, where the system tells it.
    processor: Option<f64>,
    failure: Option<String>,
}

/// Tests that passed and failed.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Tally {
    /// How many passed.
    pub passed: u64,
    /// How many failed.
    pub failed: u64,
}

impl Report {
    /// Runs `work`, timed, under `name`. A failure is written down; later stages still run, so
    /// that one call tells everything that is wrong.
    pub fn stage(&mut self, name: &str, work: impl FnOnce(&mut Tally) -> Result<(), String>) {
        println!("\n== {name}");
        let (start, before) = (Instant::now(), processor_of_children());
        let failure = work(&mut self.tests).err();
        let seconds = start.elapsed().as_secs_f64();
        let processor = processor_of_children().zip(before).map(|(now, then)| now - then);
        match &failure {
            None => println!("== {name}: ok, {seconds:.1} s"),
            Some(why) => println!("== {name}: FAILED, {seconds:.1} s: {why}"),
        }
        self.stages.push(Stage { name: name.to_owned(), seconds, processor, failure });
    }

    /// Notes something that this chore leaves to another one.
    pub fn not_run(&mut self, what: &str) {
        self.not_run.push(what.to_owned());
    }

    /// True when every stage and every test passed.
    pub fn passed(&self) -> bool {
        self.tests.failed == 0 && self.stages.iter().all(|stage| stage.failure.is_none())
    }

    /// Prints the table of stages, what was not run, and the closing line.
    ///
    /// A failed stage in which no single test failed (a lint, a missing tool) counts as one
    /// failure, so that the closing line never says `0 failed` beside a failing exit code.
    pub fn close(&self) {
        println!();
        for stage in &self.stages {
            let word = if stage.failure.is_some() { "FAILED" } else { "ok" };
            let processor = stage.processor.map_or_else(String::new, |p| format!("{p:.0} s"));
            println!("{:>8.1} s {processor:>8}  {word:<6}  {}", stage.seconds, stage.name);
        }
        let total: f64 = self.stages.iter().map(|stage| stage.seconds).sum();
        let processor: f64 = self.stages.iter().filter_map(|stage| stage.processor).sum();
        println!(
            "{total:>8.1} s {processor:>6.0} s  in all; the second is of all processors together"
        );
        for what in &self.not_run {
            println!("not run here: {what}");
        }
        for stage in &self.stages {
            if let Some(why) = &stage.failure {
                println!("failed: {}: {why}", stage.name);
            }
        }
        let Tally { passed, failed } = self.closing_tally();
        println!("\naxlewright: {passed} passed, {failed} failed");
    }

    /// Counts and stages as two cells of a Markdown row.
    pub fn row(&self) -> String {
        let Tally { passed, failed } = self.closing_tally();
        let stages: Vec<String> = self
            .stages
            .iter()
            .map(|stage| match stage.failure {
                None => format!("{} {:.0}", stage.name, stage.seconds),
                Some(_) => format!("{} {:.0}", stage.name.to_uppercase(), stage.seconds),
            })
            .collect();
        format!("{passed} passed, {failed} failed | {}", stages.join("; "))
    }

    fn closing_tally(&self) -> Tally {
        let failed_stages = self.stages.iter().filter(|stage| stage.failure.is_some()).count();
        Tally { failed: self.tests.failed.max(failed_stages as u64), ..self.tests }
    }
}

/// Processor seconds of all children that have ended, and theirs; nothing where no `/proc` tells
/// it.
fn processor_of_children() -> Option<f64> {
    /// What the kernel counts in on every Linux that Rust runs on.
    const TICKS_PER_SECOND: f64 = 100.0;
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    // The name in brackets may hold anything; the third field stands behind it.
    let (_, behind) = stat.rsplit_once(')')?;
    let fields: Vec<&str> = behind.split_whitespace().collect();
    let ticks = |field: usize| fields.get(field - 3)?.parse::<f64>().ok();
    Some((ticks(16)? + ticks(17)?) / TICKS_PER_SECOND)
}

/// The counts in one line of a test runner, if it is a closing line of one:
/// `test result: ok. 12 passed; 1 failed; …`.
pub fn tally(line: &str) -> Option<Tally> {
    let counts = line.trim_start().strip_prefix("test result:")?;
    let count = |word: &str| -> Option<u64> {
        let before = counts.split(word).next().filter(|before| before.len() < counts.len())?;
        before.split_whitespace().next_back()?.parse().ok()
    };
    Some(Tally { passed: count(" passed")?, failed: count(" failed")? })
}

/// Runs a command with the terminal's own streams; anything but success is a failure.
pub fn run(command: &mut Command) -> Result<(), String> {
    let name = shown(command);
    println!("   {name}");
    let status = command
        .stdin(Stdio::null())
        .status()
        .map_err(|error| format!("`{name}` could not be started: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("`{name}` ended with {status}")) }
}

/// Runs a command whose output is passed on line by line while test results are counted.
pub fn run_tests(command: &mut Command, tests: &mut Tally) -> Result<(), String> {
    let name = shown(command);
    println!("   {name}");
    let mut child = command
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|error| format!("`{name}` could not be started: {error}"))?;
    let mut runners = 0;
    if let Some(out) = child.stdout.take() {
        for line in BufReader::new(out).lines() {
            let line = line.map_err(|error| format!("reading `{name}`: {error}"))?;
            // A broken pipe on our side must not lose the count.
            let _ = writeln!(std::io::stdout(), "{line}");
            if let Some(found) = tally(&line) {
                runners += 1;
                tests.passed += found.passed;
                tests.failed += found.failed;
            }
        }
    }
    let status = child.wait().map_err(|error| format!("waiting for `{name}`: {error}"))?;
    match (status.success(), runners) {
        (true, 0) => Err(format!("`{name}` ran no test at all")),
        (true, _) => Ok(()),
        (false, _) => Err(format!("`{name}` ended with {status}")),
    }
}

/// The standard output of a command, or why there is none.
pub fn output(command: &mut Command) -> Result<String, String> {
    let name = shown(command);
    let got = command
        .stdin(Stdio::null())
        .output()
        .map_err(|error| format!("`{name}` could not be started: {error}"))?;
    if !got.status.success() {
        let words = String::from_utf8_lossy(&got.stderr);
        return Err(format!("`{name}` ended with {}: {}", got.status, words.trim()));
    }
    Ok(String::from_utf8_lossy(&got.stdout).into_owned())
}

/// Cargo, as the one that called us, in the repository's top folder.
pub fn cargo() -> Command {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let mut command = Command::new(program);
    command.current_dir(crate::root());
    command
}

/// True when a program of that name stands in one of the folders of `PATH`.
pub fn found(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

/// Writes a file, making its folder first.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), String> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder)
            .map_err(|error| format!("cannot make {}: {error}", folder.display()))?;
    }
    std::fs::write(path, bytes).map_err(|error| format!("cannot write {}: {error}", path.display()))
}

fn shown(command: &Command) -> String {
    let mut words = vec![command.get_program().to_string_lossy().into_owned()];
    if let Some(last) = words[0].rsplit('/').next() {
        words[0] = last.to_owned();
    }
    words.extend(command.get_args().map(|word| word.to_string_lossy().into_owned()));
    words.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closing_lines_of_test_runners_are_read() {
        let line = "test result: FAILED. 12 passed; 3 failed; 0 ignored; 0 measured; 0 filtered";
        assert_eq!(tally(line), Some(Tally { passed: 12, failed: 3 }));
        assert_eq!(tally("test arm::closes ... ok"), None);
        assert_eq!(tally("test result: nothing of the kind"), None);
    }

    #[test]
    fn a_failed_stage_without_tests_still_counts_as_a_failure() {
        let mut report = Report::default();
        report.stage("good", |tests| {
            tests.passed += 4;
            Ok(())
        });
        assert!(report.passed());
        report.stage("bad", |_| Err("a lint".to_owned()));
        assert!(!report.passed());
        assert_eq!(report.closing_tally(), Tally { passed: 4, failed: 1 });
    }

    #[test]
    fn the_processor_of_children_is_counted() {
        let before = processor_of_children().unwrap();
        assert!(
            run(Command::new("sh")
                .args(["-c", "i=0; while [ $i -lt 200000 ]; do i=$((i+1)); done"]))
            .is_ok()
        );
        let spent = processor_of_children().unwrap() - before;
        assert!((0.01..60.0).contains(&spent), "{spent}");
    }

    #[test]
    fn a_command_that_ends_badly_or_does_not_exist_is_a_failure() {
        assert!(run(Command::new("true").arg("x")).is_ok());
        assert!(run(&mut Command::new("false")).is_err());
        assert!(run(&mut Command::new("no-such-program-here")).is_err());
        let mut tests = Tally::default();
        let silent = run_tests(&mut Command::new("true"), &mut tests);
        assert!(silent.is_err_and(|why| why.contains("ran no test")));
    }
}

//! The planner beside a general solver, in one run, on invented jobs like the demo car's:
//! `cargo bench -p axlewright-planning --bench jobs -- [--jobs N] [--seconds N] [--moves N]`.
//!
//! Ours gets the moves that the product spends unless told otherwise; the peer (OR-Tools CP-SAT,
//! one worker, `reference/planning/bench_jobs.py`) gets the seconds asked for, for each job.
//! Seconds are the processor's, so that a busy machine changes neither. Both orders are replayed
//! from the draft before their values count. The table of `docs/order-solver.md` is `--jobs 60
//! --seconds 20`; fewer jobs are spread over the same sizes. The Python is found as in the benches
//! of `mechanics`.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a bench stands at the rim: it looks at the clock and starts its peer"
)]

#[path = "../tests/it/common/mod.rs"]
mod common;

use std::io::Write as _;
use std::process::{Command, ExitCode, Stdio};

use axlewright_planning::{Control, Draft, Effort, State, Work, plan};

/// Of the full table.
const JOBS: usize = 60;
/// The fewest steps and the most.
const STEPS: [usize; 2] = [80, 300];
/// As `setup::order` spends them.
const USUAL_MOVES: f64 = 3e6;

/// The `n`th of [`JOBS`]: steps, phases, seed.
fn job(n: usize) -> (usize, usize, u64) {
    let [least, most] = STEPS;
    (least + (most - least) * n / (JOBS - 1), 6 + n % 5, n as u64 + 1)
}

/// One answer: seconds of changeover, proven bound, seconds of the processor.
#[derive(Clone, Copy)]
struct Answer {
    value: i64,
    bound: i64,
    took: f64,
}

impl Answer {
    fn proven(self) -> bool {
        self.value == self.bound
    }
    fn gap(self) -> f64 {
        100.0 * (self.value - self.bound) as f64 / self.value.max(1) as f64
    }
    /// Value, bound, gap, proven, seconds, as cells.
    fn cells(self) -> String {
        let [value, bound] = [self.value, self.bound].map(|seconds| seconds as f64 / 60.0);
        let proven = if self.proven() { "yes" } else { "" };
        format!("{value} | {bound} | {:.1} | {proven} | {:.2}", self.gap(), self.took)
    }
}

/// Seconds of processor time that this process has used.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // After the name in brackets: 12th and 13th are user and system time in hundredths.
    let ticks = stat.rsplit(')').next().unwrap_or("").split_whitespace().skip(11).take(2);
    ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0
}

fn ours(draft: &Draft, moves: u64) -> Answer {
    let start = processor_s();
    let work = Work::new(draft.clone()).expect("the generator is sound");
    let state = State::fresh(&work);
    let found = plan(&work, &state, None, Effort::of(moves), &mut |_| Control::Go);
    let took = processor_s() - start;
    let value = common::check(draft, &found.order());
    assert_eq!(value, found.cost.changeover.to_seconds());
    Answer { value, bound: found.bound.to_seconds(), took }
}

/// The draft as the peer reads it: costs of each feature, what each task asks for (−1: open), arcs.
fn told(draft: &Draft) -> String {
    let costs: Vec<_> = draft.features.iter().map(common::changeovers).collect();
    let ask = |value: Option<usize>| value.map_or(-1, |value| value as i64);
    let asks = draft.tasks.iter().map(|task| common::asks(draft, task).into_iter().map(ask));
    let asks: Vec<Vec<i64>> = asks.map(Iterator::collect).collect();
    let at = |id: &str| draft.tasks.iter().position(|task| task.id == id).expect("a task's id");
    let arcs: Vec<_> = draft.arcs.iter().map(|arc| [at(&arc.before), at(&arc.after)]).collect();
    format!("{{\"costs\": {costs:?}, \"asks\": {asks:?}, \"arcs\": {arcs:?}}}")
}

fn peer(draft: &Draft, seconds: f64) -> Result<Answer, String> {
    let ours = concat!(env!("CARGO_MANIFEST_DIR"), "/../../target/reference-venv/bin/python");
    let usual = if std::path::Path::new(ours).exists() { ours } else { "python3" };
    let python = std::env::var("AXLEWRIGHT_PYTHON").unwrap_or_else(|_| usual.into());
    let said = |error: std::io::Error| format!("{python}: {error}");
    let mut child = Command::new(&python)
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/planning/bench_jobs.py"))
        .args(["--seconds", &seconds.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(said)?;
    let mut stdin = child.stdin.take().expect("asked for");
    stdin.write_all(told(draft).as_bytes()).map_err(said)?;
    drop(stdin);
    let out = child.wait_with_output().map_err(said)?;
    let text = String::from_utf8_lossy(&out.stdout);
    let mut words = text.split_whitespace();
    let mut number = || words.next().and_then(|word| word.parse::<f64>().ok());
    let (Some(value), Some(bound), Some(took)) = (number(), number(), number()) else {
        return Err(format!("{python} ended with {} and said: {text}", out.status));
    };
    let order: Vec<usize> = words.skip(1).map_while(|word| word.parse().ok()).collect();
    if order.len() != draft.tasks.len() {
        return Err(format!("no order after {took} s: {text}"));
    }
    // Its path through a feature may end dearer than what its own order comes to.
    let replayed = common::check(draft, &order);
    assert!(replayed <= value as i64, "the peer says {value}, its order comes to {replayed}");
    Ok(Answer { value: replayed, bound: bound as i64, took })
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: f64| {
        let at = words.iter().position(|word| word == name);
        at.and_then(|at| words.get(at + 1)?.parse::<f64>().ok()).unwrap_or(usual)
    };
    let jobs = (number("--jobs", 6.0) as usize).clamp(2, JOBS);
    let seconds = number("--seconds", 10.0);
    let moves = number("--moves", USUAL_MOVES) as u64;
    println!(
        "Minutes of changeover; ours at {moves} moves, the peer with {seconds} s, one worker.\n"
    );
    let answer = "value | bound | gap % | proven | s";
    println!("| steps | phases | {answer} | peer's {answer} |");
    println!("|---|---|{}", "---|".repeat(10));
    let mut both = Vec::new();
    for n in 0..jobs {
        let (steps, phases, seed) = job(n * (JOBS - 1) / (jobs - 1));
        let draft = common::job(phases, steps, seed);
        let mine = ours(&draft, moves);
        let theirs = match peer(&draft, seconds) {
            Ok(theirs) => theirs,
            Err(why) => {
                eprintln!(
                    "no peer: {why}; AXLEWRIGHT_PYTHON names one with reference/requirements.txt"
                );
                return ExitCode::FAILURE;
            }
        };
        // Each proves something of the other.
        assert!(mine.bound <= theirs.value && theirs.bound <= mine.value, "a bound is wrong");
        println!("| {steps} | {phases} | {} | {} |", mine.cells(), theirs.cells());
        both.push((mine, theirs));
    }
    summary(&both);
    ExitCode::SUCCESS
}

fn summary(both: &[(Answer, Answer)]) {
    let count = |holds: &dyn Fn(Answer, Answer) -> bool| {
        both.iter().filter(|&&(mine, theirs)| holds(mine, theirs)).count()
    };
    let mean = |of: &dyn Fn(Answer, Answer) -> f64| {
        both.iter().map(|&(mine, theirs)| of(mine, theirs)).sum::<f64>() / both.len() as f64
    };
    let worse = |a: Answer, b: Answer| b.value < a.value;
    println!("\nof {} jobs                ours    peer", both.len());
    let (a, b) = (count(&|a, _| a.proven()), count(&|_, b| b.proven()));
    println!("proven best            {a:>6}  {b:>6}");
    let (a, b) = (count(&|a, b| worse(b, a)), count(&worse));
    println!("cheaper order          {a:>6}  {b:>6}");
    let (a, b) = (count(&|a, b| b.bound < a.bound), count(&|a, b| a.bound < b.bound));
    println!("higher bound           {a:>6}  {b:>6}");
    let (a, b) = (mean(&|a, _| a.gap()), mean(&|_, b| b.gap()));
    println!("gap on average, %      {a:>6.1}  {b:>6.1}");
    let (a, b) = (mean(&|a, _| a.took), mean(&|_, b| b.took));
    println!("seconds on average     {a:>6.1}  {b:>6.1}");
    let dearer = mean(&|a, b| 100.0 * (b.value - a.value) as f64 / a.value as f64);
    println!("peer's orders dearer by {dearer:.1} % on average");
}

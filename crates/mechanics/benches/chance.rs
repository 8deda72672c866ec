//! How long a million builds of a corner take, and the same builds over NumPy arrays beside them:
//! `cargo bench -p axlewright-mechanics --bench chance`.
//!
//! Both sides draw every input of every build and solve each build for ride angle, trim, free
//! angle needed, camber and toe. Means and spreads of all outcomes must agree as two samples do.
//! The Python is found as in `pose`.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a benchmark reads the clock and starts its peer; the crate itself does neither"
)]

use std::fmt::Write as _;
use std::hint::black_box;
use std::io::Write as _;
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

use axlewright_mechanics::chance::budget::{Better, budget};
use axlewright_mechanics::chance::corner::{Ask, Builds, Case, Limits, Told};
use axlewright_mechanics::chance::{Plan, Shape, unwatched};
use axlewright_quantity::{Angle, Length, Side};

#[path = "../tests/it/larch/doubts.rs"]
mod doubts;
#[path = "../tests/it/larch/mod.rs"]
mod larch;

const BUILDS: usize = 1_000_000;
const ASK: Ask<'static> =
    Ask { free: Angle::deg(25.6), trim: Length::mm(95.0), side: Side::Left, shared: &[] };

/// Seconds of processor time that this process has used, where the system tells; a busy machine
/// stretches the clock's seconds but hardly these.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    // After the name in brackets: 12th and 13th are user and system time in hundredths.
    let ticks = stat.rsplit(')').next().unwrap_or("").split_whitespace().skip(11).take(2);
    ticks.filter_map(|t| t.parse::<f64>().ok()).sum::<f64>() / 100.0
}

/// The fastest of so many: what else runs on the machine only ever adds.
fn fastest_s(times: usize, mut work: impl FnMut()) -> f64 {
    work();
    let taken = (0..times).map(|_| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64()
    });
    taken.fold(f64::INFINITY, f64::min)
}

fn job(case: &Case) -> String {
    let mut text = format!("{BUILDS} 1\n{:e} {:e}\n", ASK.free.to_rad(), ASK.trim.to_m());
    for (item, value) in doubts::values(&larch::design(), case.best()) {
        let doubt = case.doubts().iter().find(|doubt| doubt.item == item);
        let (u, shape) = doubt.map_or((0.0, Shape::Normal), |d| (d.u.to_si(), d.shape));
        let shape = if shape == Shape::Normal { "Normal" } else { "Rectangular" };
        writeln!(text, "{item:?} {:e} {u:e} {shape}", value.to_si()).expect("a string takes it");
    }
    text
}

fn peer(job: &str) -> Result<String, String> {
    let ours = concat!(env!("CARGO_MANIFEST_DIR"), "/../../target/reference-venv/bin/python");
    let usual = if std::path::Path::new(ours).exists() { ours } else { "python3" };
    let python = std::env::var("AXLEWRIGHT_PYTHON").unwrap_or_else(|_| usual.into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/bench_chance.py");
    let mut child = Command::new(&python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("{python}: {e}"))?;
    let mut stdin = child.stdin.take().expect("asked for");
    stdin.write_all(job.as_bytes()).map_err(|e| format!("{python}: {e}"))?;
    drop(stdin);
    let out = child.wait_with_output().map_err(|e| format!("{python}: {e}"))?;
    if out.status.success() {
        String::from_utf8(out.stdout).map_err(|e| e.to_string())
    } else {
        Err(format!("{python} ended with {}", out.status))
    }
}

/// Greatest difference of means and spreads, in standard deviations of the difference of two
/// samples.
fn apart(line: &str, ours: &Builds) -> Option<(String, [f64; 2], f64)> {
    let mut words = line.split_whitespace();
    let name = words.next()?.to_owned();
    let numbers: Vec<f64> = words.map(str::parse).collect::<Result<_, _>>().ok()?;
    let (&[clock, processor], outcomes) = numbers.split_first_chunk()?;
    let root = (2.0 / BUILDS as f64).sqrt();
    let worst = outcomes.chunks(2).zip(Told::ALL).map(|(theirs, told)| {
        let ours = ours.of(told);
        let (mean, u) = (ours.mean().ok()?.to_si(), ours.u().ok()?.to_si());
        let (by_mean, by_u) = ((theirs[0] - mean) / u, (theirs[1] / u - 1.0) * 2_f64.sqrt());
        Some(by_mean.abs().max(by_u.abs()) / root)
    });
    let worst = worst.collect::<Option<Vec<f64>>>()?.into_iter().fold(0.0, f64::max);
    (outcomes.len() == 2 * Told::ALL.len()).then_some((name, [clock, processor], worst))
}

fn main() -> ExitCode {
    let case = doubts::case();
    let plan = Plan { seed: 1, draws: BUILDS };
    let builds = || case.builds(&ASK, plan, &unwatched).expect("the demo corner stands");
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let before = processor_s();
        let seconds = pool.install(|| fastest_s(15, || _ = black_box(builds())));
        (seconds, (processor_s() - before) / 16.0)
    };
    println!("{BUILDS} builds, {} inputs in doubt, fastest of 15\n", case.doubts().len());
    let ((one, one_cpu), (two, two_cpu)) = (on(1), on(2));
    println!("{:<52}{one:>8.3} s, processor {one_cpu:.3} s", "builds, one thread");
    println!("{:<52}{two:>8.3} s, processor {two_cpu:.3} s", "builds, two threads");
    let first = builds();
    let sorted = fastest_s(3, || _ = black_box(first.of(Told::Trim).u()));
    println!("{:<52}{sorted:>8.3} s", "sorting one outcome, its mean and spread");
    let limits = Limits { low: Length::mm(90.0), high: Length::mm(100.0), left_right: None };
    let small = Plan { seed: 1, draws: 20_000 };
    let ranked = fastest_s(3, || {
        let told = (Told::Trim, &limits);
        _ = black_box(budget(&case, &ASK, told, |_| Better::Halved, small, &unwatched));
    });
    println!("{:<52}{ranked:>8.3} s", "budget of all measurings, 20 000 builds each");
    let answer = match peer(&job(&case)) {
        Ok(answer) => answer,
        Err(why) => {
            eprintln!(
                "no peer: {why}; set AXLEWRIGHT_PYTHON to one with reference/requirements.txt"
            );
            return ExitCode::FAILURE;
        }
    };
    let heads = ["s", "one thread", "two", "processor s", "ours", "apart"];
    let [a, b, c, d, e, f] = heads;
    println!("\n{:<22}{a:>9}{b:>12}{c:>10}{d:>13}{e:>10}{f:>9}", "the same");
    for line in answer.lines() {
        if let Some((name, [seconds, processor], apart)) = apart(line, &first) {
            let [a, b] = [one, two].map(|ours| format!("{:.1} ×", seconds / ours));
            let c = format!("{:.1} ×", processor / one_cpu);
            println!("{name:<22}{seconds:>9.3}{a:>12}{b:>10}{processor:>13.3}{c:>10}{apart:>8.1}σ");
            assert!(apart < 5.0, "{name} came to other outcomes: {apart} standard deviations");
        } else {
            println!("{line}");
        }
    }
    ExitCode::SUCCESS
}

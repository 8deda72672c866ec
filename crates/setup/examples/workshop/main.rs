//! Simulated restorers: `workshop [--cars N] [--seed S] [--threads N] [--scan]`.
#![allow(
    clippy::disallowed_methods,
    reason = "an example stands at the rim: it looks at the clock and writes what it found"
)]

mod sim;
mod table;

use std::process::ExitCode;
use std::time::Instant;

use sim::Procedure;

struct Asked {
    cars: u64,
    seed: u64,
    threads: usize,
    scan: bool,
}

fn arguments() -> Result<Asked, String> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut asked = Asked { cars: 2000, seed: 2611, threads, scan: false };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--scan" {
            asked.scan = true;
            continue;
        }
        let number = words.next().and_then(|n| n.parse::<u64>().ok());
        let number = number.ok_or_else(|| format!("{word} wants a whole number"))?;
        match word.as_str() {
            "--cars" if (1..=1_000_000).contains(&number) => asked.cars = number,
            "--seed" => asked.seed = number,
            "--threads" if (1..=256).contains(&number) => asked.threads = number as usize,
            _ => return Err(format!("{word} {number} is not understood")),
        }
    }
    Ok(asked)
}

fn main() -> ExitCode {
    let asked = match arguments() {
        Ok(asked) => asked,
        Err(words) => {
            eprintln!("{words}\nusage: workshop [--cars N] [--seed S] [--threads N] [--scan]");
            return ExitCode::from(2);
        }
    };
    if asked.scan {
        print!("{}", table::scan(asked.seed, asked.cars));
        return ExitCode::SUCCESS;
    }
    let start = Instant::now();
    let step = (asked.cars / 20).max(1);
    let told = |done: u64| {
        if done.is_multiple_of(step) {
            let seconds = start.elapsed().as_secs_f64();
            eprintln!("{done} of {} cars, {seconds:.0} s", asked.cars);
        }
    };
    let whole = (asked.seed, asked.cars, asked.threads);
    let (outcomes, faults) = sim::all(whole, &Procedure::ADVISED, &told);
    print!("{}", table::table(&outcomes, &faults));
    for fault in faults.iter().take(10) {
        eprintln!("no outcome: {fault}");
    }
    if outcomes.is_empty() { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

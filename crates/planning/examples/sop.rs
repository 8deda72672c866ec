//! Solves one TSPLIB `.sop` file: `sop FILE.sop [--seconds N] [--moves N] [--bytes N] [--json]`.
#![allow(
    clippy::disallowed_methods,
    reason = "an example stands at the rim: it reads a file and looks at the clock"
)]

use std::process::ExitCode;
use std::time::{Duration, Instant};

use axlewright_planning::{Control, Effort, Found, Matrix, solve_matrix};

struct Asked {
    file: String,
    seconds: f64,
    effort: Effort,
    json: bool,
    trace: bool,
}

fn main() -> ExitCode {
    let asked = match arguments() {
        Ok(asked) => asked,
        Err(words) => {
            eprintln!("{words}");
            eprintln!("usage: sop FILE.sop [--seconds N] [--moves N] [--seed N] [--json]");
            return ExitCode::from(2);
        }
    };
    let text = match std::fs::read_to_string(&asked.file) {
        Ok(text) => text,
        Err(error) => {
            eprintln!("{}: {error}", asked.file);
            return ExitCode::from(3);
        }
    };
    match Matrix::parse_sop(&text) {
        Ok(matrix) => {
            run(&matrix, &asked);
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{}: {error}", asked.file);
            ExitCode::from(1)
        }
    }
}

fn arguments() -> Result<Asked, String> {
    let mut words = std::env::args().skip(1);
    let effort = Effort::of(u64::MAX);
    let mut asked = Asked { file: String::new(), seconds: 10.0, effort, json: false, trace: false };
    while let Some(word) = words.next() {
        let mut number = || {
            let text = words.next().unwrap_or_default();
            text.parse::<f64>()
                .ok()
                .filter(|n| n.is_finite() && *n >= 0.0)
                .ok_or_else(|| format!("{word} wants a number, not '{text}'"))
        };
        match word.as_str() {
            "--json" => asked.json = true,
            "--trace" => asked.trace = true,
            "--seconds" => asked.seconds = number()?,
            "--moves" => asked.effort.moves = number()? as u64,
            "--seed" => asked.effort.seed = number()? as u64,
            "--bytes" => asked.effort.bytes = number()? as usize,
            file if asked.file.is_empty() && !file.starts_with('-') => {
                asked.file = file.to_owned();
            }
            other => return Err(format!("'{other}' is not known here")),
        }
    }
    if asked.file.is_empty() { Err("no file named".to_owned()) } else { Ok(asked) }
}

fn run(matrix: &Matrix, asked: &Asked) {
    let start = Instant::now();
    let limit = Duration::try_from_secs_f64(asked.seconds).unwrap_or(Duration::MAX);
    let mut shown = (0, 0);
    let found = solve_matrix(matrix, asked.effort, &mut |progress| {
        if asked.trace && shown != (progress.value, progress.bound) {
            shown = (progress.value, progress.bound);
            let seconds = start.elapsed().as_secs_f64();
            eprintln!("{seconds:8.3} s  {:>9} {:>9}", progress.value, progress.bound);
        }
        if start.elapsed() < limit { Control::Go } else { Control::OutOfTime }
    });
    let seconds = start.elapsed().as_secs_f64();
    if asked.json { json(&found, seconds) } else { words(&found, seconds) }
}

fn json(found: &Found, seconds: f64) {
    let Found { value, bound, moves, order, .. } = found;
    println!(
        "{{\"value\": {value}, \"bound\": {bound}, \"proven\": {}, \"seconds\": {seconds:.3}, \
         \"moves\": {moves}, \"stopped_by\": \"{}\", \"sequence\": {order:?}}}",
        found.proven(),
        found.stopped_by.word(),
    );
}

fn words(found: &Found, seconds: f64) {
    let Found { value, bound, moves, order, .. } = found;
    println!("value      {value}");
    println!("bound      {bound}{}", if found.proven() { " (proven the best)" } else { "" });
    println!("seconds    {seconds:.3} ({moves} moves)");
    println!("stopped by {}", found.stopped_by.word());
    println!("sequence   {order:?}");
}

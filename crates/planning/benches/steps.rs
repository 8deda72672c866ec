//! Changeover, bound and time on invented, mirrored step sets.
//!
//! `cargo bench -p axlewright-planning --bench steps -- [--moves N] [--seconds N] [--seeds N]
//! [--phases N] [SIZE…]`; fewer phases than one in 14 steps leave more freedom and are harder.
#![allow(clippy::disallowed_methods, reason = "a bench stands at the rim: it looks at the clock")]

#[path = "../tests/it/common/mod.rs"]
mod common;

use std::time::{Duration, Instant};

use axlewright_planning::{Control, Effort, State, Work, plan};

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: f64| {
        let at = words.iter().position(|word| word == name);
        at.and_then(|at| words.get(at + 1)?.parse::<f64>().ok()).unwrap_or(usual)
    };
    let limit = Duration::from_secs_f64(number("--seconds", 10.0).clamp(0.0, 1e6));
    let moves = number("--moves", 1e18) as u64;
    let flags = |at: usize| at.checked_sub(1).is_some_and(|at| words[at].starts_with("--"));
    let mut sizes: Vec<usize> = words
        .iter()
        .enumerate()
        .filter(|&(at, _)| !flags(at))
        .filter_map(|(_, word)| word.parse().ok())
        .collect();
    let phases = number("--phases", 0.0) as usize;
    if sizes.is_empty() {
        sizes = vec![40, 60, 80, 100, 120, 200, 300];
    }
    println!(
        "| steps | seed | changeover s | bound s | gap % | stopped by | first plan ms | s | moves |"
    );
    println!("|---|---|---|---|---|---|---|---|---|");
    for size in sizes {
        for seed in 1..=number("--seeds", 5.0) as u64 {
            let phases = if phases == 0 { 1 + size / 14 } else { phases };
            let draft = common::invented_in(phases, size, seed);
            let work = Work::new(draft).expect("the generator is sound");
            let state = State::fresh(&work);
            let start = Instant::now();
            let mut first = None;
            let found = plan(&work, &state, None, Effort::of(moves), &mut |_| {
                first.get_or_insert_with(|| start.elapsed());
                if start.elapsed() < limit { Control::Go } else { Control::OutOfTime }
            });
            let seconds = start.elapsed().as_secs_f64();
            let (value, bound) = (found.cost.changeover.to_seconds(), found.bound.to_seconds());
            println!(
                "| {size} | {seed} | {value} | {bound} | {:.2} | {} | {} | {seconds:.2} | {} |",
                100.0 * (value - bound) as f64 / value.max(1) as f64,
                found.stopped_by.word(),
                first.map_or(0, |first| first.as_millis()),
                found.moves,
            );
        }
    }
}

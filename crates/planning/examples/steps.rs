//! Scratch.
#![allow(clippy::disallowed_methods, reason = "an example looks at the clock")]
#[path = "../tests/common/mod.rs"]
mod common;
use axlewright_planning::*;
use std::time::Instant;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    let (n, moves): (usize, f64) = (a[1].parse().unwrap(), a[2].parse().unwrap());
    for seed in 1..=a.get(3).map_or(3, |s| s.parse().unwrap()) {
        let work = Work::new(common::invented(n, seed)).unwrap();
        let state = State::fresh(&work);
        let t = Instant::now();
        let mut shown = (0, 0);
        let p = plan(&work, &state, None, Effort::of(moves as u64), &mut |p| {
            if a.len() > 4 && (p.value, p.bound) != shown { shown = (p.value, p.bound); eprintln!("{:.3} {} {} {}", t.elapsed().as_secs_f64(), p.value, p.bound, p.moves); }
            Control::Go
        });
        println!("{n} seed {seed}: {} bound {} gap {:.2}% {} {:.2}s {} | {}", p.cost.changeover.to_seconds(), p.bound.to_seconds(),
            100.0 * (p.cost.changeover.to_seconds() - p.bound.to_seconds()) as f64 / p.cost.changeover.to_seconds() as f64, p.stopped_by.word(), t.elapsed().as_secs_f64(), p.moves, p.bound_in_words(&work));
    }
}

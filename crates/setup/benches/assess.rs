//! How long one assessment of a car takes, the demo's: `cargo bench -p axlewright-setup --bench
//! assess`. Also alone, many times over, for a profiler: `… --bench assess -- 100`.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a benchmark reads the clock; the crate itself does not"
)]

use std::hint::black_box;
use std::time::Instant;

use axlewright_book::{CarFile, read};
use axlewright_setup::assess;

const LARCH: &str = include_str!("../../../examples/larch-1300/car.toml");

/// The demo's car as far as `upto` parts in `of` of its lines go, or all of it.
fn car(upto: usize, of: usize) -> CarFile {
    let lines = LARCH.lines().count() * upto / of;
    let text: String = LARCH.lines().take(lines).map(|line| format!("{line}\n")).collect();
    read(&text).0
}

/// Milliseconds a turn: least and median.
fn times(turns: usize, mut turn: impl FnMut()) -> (f64, f64) {
    turn();
    let mut all: Vec<f64> = (0..turns)
        .map(|_| {
            let start = Instant::now();
            turn();
            start.elapsed().as_secs_f64() * 1e3
        })
        .collect();
    all.sort_by(f64::total_cmp);
    (all[0], all[turns / 2])
}

fn main() {
    let turns = std::env::args().filter_map(|word| word.parse().ok()).next().unwrap_or(21_usize);
    for (what, car) in [("whole car", car(1, 1)), ("first half of its file", car(1, 2))] {
        let findings = assess(&car).findings.len();
        let (least, median) = times(turns, || {
            black_box(assess(black_box(&car)));
        });
        println!("{what}, {findings} findings: {median:.1} ms, at best {least:.1} ms");
    }
}

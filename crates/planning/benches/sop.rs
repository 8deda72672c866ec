//! Value, bound and time on the published instances, at a stated effort.
//!
//! `cargo bench -p axlewright-planning --bench sop -- [--moves N] [--seconds N] [NAME…]`
//!
//! Instances: TSPLIB, SOP, Reinelt 1991 (ORSA J. Computing 3, 376).
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    reason = "a bench stands at the rim: it reads files and looks at the clock"
)]

#[path = "../tests/sop/best_known.rs"]
mod best_known;

use std::time::{Duration, Instant};

use axlewright_planning::{Control, Effort, Matrix, solve_matrix};
use best_known::BEST_KNOWN;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |name: &str, usual: f64| {
        let at = words.iter().position(|word| word == name);
        at.and_then(|at| words.get(at + 1)?.parse::<f64>().ok()).unwrap_or(usual)
    };
    let moves = number("--moves", 1e18) as u64;
    let limit = Duration::from_secs_f64(number("--seconds", 10.0).clamp(0.0, 1e6));
    let effort = Effort { bytes: number("--bytes", 256e6) as usize, ..Effort::of(moves) };
    let named = |name: &str| words.iter().any(|word| word == name);
    let any = BEST_KNOWN.iter().any(|row| named(row.0));
    println!("| instance | best known | value | excess % | bound | gap % | proven | s | moves |");
    println!("|---|---|---|---|---|---|---|---|---|");
    let (mut reached, mut proven, mut all) = (0, 0, 0);
    for &(name, best) in BEST_KNOWN.iter().filter(|row| !any || named(row.0)) {
        let path = format!("{}/tests/sop/{name}.sop", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).expect("the instances are in the repository");
        let matrix = Matrix::parse_sop(&text).expect("the instances are sound");
        let start = Instant::now();
        let found = solve_matrix(&matrix, effort, &mut |_| {
            if start.elapsed() < limit { Control::Go } else { Control::OutOfTime }
        });
        let seconds = start.elapsed().as_secs_f64();
        assert!(found.bound <= best && best <= found.value, "{name}: a bug or news");
        assert_eq!(matrix.cost(&found.order), Some(found.value));
        let share = |part: i64| 100.0 * part as f64 / found.value.max(1) as f64;
        println!(
            "| {name} | {best} | {} | {:.2} | {} | {:.2} | {} | {seconds:.2} | {} |",
            found.value,
            100.0 * (found.value - best) as f64 / best as f64,
            found.bound,
            share(found.value - found.bound),
            if found.proven() { "yes" } else { "" },
            found.moves,
        );
        all += 1;
        reached += i32::from(found.value == best);
        proven += i32::from(found.proven());
    }
    println!("\nbest known reached on {reached} of {all}, proven on {proven}");
}

//! Published instances: best known values reached and never beaten, bounds never above them.
//!
//! Instances: TSPLIB, SOP, Reinelt 1991 (ORSA J. Computing 3, 376). Best known values from the
//! later literature's tables, second hand.

#[path = "../sop/best_known.rs"]
mod best_known;

use axlewright_planning::{Control, Effort, Matrix, MatrixError, StoppedBy, solve_matrix};
use best_known::BEST_KNOWN;

fn read(name: &str) -> Matrix {
    let path = format!("{}/tests/sop/{name}.sop", env!("CARGO_MANIFEST_DIR"));
    #[allow(clippy::disallowed_methods, reason = "a test reads its data")]
    let text = std::fs::read_to_string(path).unwrap();
    Matrix::parse_sop(&text).unwrap()
}

/// Precedences and cost read straight from the numbers, not through the crate.
fn replay(name: &str, order: &[usize]) -> i64 {
    let path = format!("{}/tests/sop/{name}.sop", env!("CARGO_MANIFEST_DIR"));
    #[allow(clippy::disallowed_methods, reason = "a test reads its data")]
    let text = std::fs::read_to_string(path).unwrap();
    let body = text.split("EDGE_WEIGHT_SECTION").nth(1).unwrap().replace("EOF", " ");
    let numbers: Vec<i64> = body.split_whitespace().map(|w| w.parse().unwrap()).collect();
    let len = numbers[0] as usize;
    let at = |i: usize, j: usize| numbers[1 + i * len + j];
    let mut sorted = order.to_vec();
    sorted.sort_unstable();
    assert_eq!(sorted, (0..len).collect::<Vec<_>>());
    for (place, &i) in order.iter().enumerate() {
        for &later in &order[place + 1..] {
            assert_ne!(at(i, later), -1, "{name}: {later} must come before {i}");
        }
    }
    order.windows(2).map(|pair| at(pair[0], pair[1])).sum()
}

/// Moves, and how far above the best known value the order may stay, in parts per thousand.
fn check(name: &str, moves: u64, excess: i64, proven: bool) {
    let best = BEST_KNOWN.iter().find(|row| row.0 == name).unwrap().1;
    let found = solve_matrix(&read(name), Effort::of(moves), &mut |_| Control::Go);
    assert_eq!(replay(name, &found.order), found.value, "{name}");
    assert!(found.value >= best, "{name}: {} beats {best}: a bug or news", found.value);
    assert!(found.bound <= best, "{name}: bound {} above {best}", found.bound);
    let above = (found.value - best) * 1000;
    assert!(above <= excess * best, "{name}: {} instead of {best}", found.value);
    assert_eq!(found.proven(), proven, "{name}: bound {}", found.bound);
    assert_eq!(found.stopped_by == StoppedBy::Proof, proven);
}

#[test]
fn small_instances_are_proven() {
    for name in ["ESC07", "ESC11", "ESC12", "ESC25", "ESC63", "br17.10"] {
        check(name, 1_000_000, 0, true);
    }
}

#[test]
fn larger_ones_come_close_and_are_bounded() {
    for (name, excess) in [("ry48p.3", 10), ("ft53.3", 10), ("rbg048a", 10), ("p43.2", 10)] {
        check(name, 150_000, excess, false);
    }
}

#[test]
fn same_seed_same_order() {
    let matrix = read("ft53.1");
    let solve = |seed| {
        let effort = Effort { seed, ..Effort::of(20_000) };
        solve_matrix(&matrix, effort, &mut |_| Control::Go)
    };
    assert_eq!(solve(3), solve(3));
    assert_ne!(solve(3).order, solve(4).order);
}

#[test]
fn every_instance_is_read() {
    let len = |name: &str| read(name).len();
    for (name, _) in BEST_KNOWN {
        assert!(len(name) > 8);
    }
    assert_eq!((len("ESC07"), len("rbg150a"), len("prob.100")), (9, 152, 100));
}

#[test]
fn bad_text_is_refused_with_its_line() {
    let bad = |text: &str| Matrix::parse_sop(text).unwrap_err();
    assert!(matches!(bad(""), MatrixError::Text { line: 0, .. }));
    assert!(matches!(bad("EDGE_WEIGHT_SECTION"), MatrixError::Text { line: 1, .. }));
    let text = "EDGE_WEIGHT_SECTION\n2\n0 x\n";
    assert_eq!(bad(text).to_string(), "line 3: 'x' is no whole number");
    let few = "EDGE_WEIGHT_SECTION\n2\n0 1 2\n";
    assert_eq!(bad(few).to_string(), "the matrix has 3 entries; 2 tasks need 4");
    let negative = "EDGE_WEIGHT_SECTION\n2\n0 -7\n1 0";
    assert!(matches!(bad(negative), MatrixError::Cost { from: 0, to: 1, given: -7 }));
    let round = "EDGE_WEIGHT_SECTION\n2\n0 -1\n-1 0";
    assert_eq!(bad(round), MatrixError::Loop);
    let huge = "EDGE_WEIGHT_SECTION\n99999999999\n0";
    assert!(matches!(bad(huge), MatrixError::TooMany { .. }));
    assert!(matches!(bad("EDGE_WEIGHT_SECTION\n-3\n0"), MatrixError::TooMany { .. }));
}

//! Checks against print: one file per kind of source. The citation heads the table, each row is
//! copied as printed, and the tolerance is half a unit in the last printed place, or a sentence
//! says what else makes the difference. Rows marked *from memory* were not read in their source;
//! they are kept apart and prove nothing about print.

mod bolts;
mod chance;
mod friction;
mod shafts;
mod stands;
mod uncertainty;
mod wrenches;

/// Asserts that a computed value is what was printed, within the tolerance given.
#[track_caller]
fn check(what: &str, ours: f64, printed: f64, tolerance: f64) {
    assert!(
        (ours - printed).abs() <= tolerance,
        "{what}: ours {ours}, printed {printed}, tolerance {tolerance}"
    );
}

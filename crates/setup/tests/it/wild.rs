//! No file makes set-up panic or hang, however little sense it makes.

use super::{LARCH, slow};
use axlewright_setup::assess;
use proptest::prelude::*;

fn check(text: &str) -> Result<(), TestCaseError> {
    let (car, _) = axlewright_book::read(text);
    let out = assess(&car);
    for finding in &out.findings {
        for leaf in finding.value.leaves() {
            prop_assert!(leaf.value.to_si().is_finite(), "{}: {leaf:?}", finding.id);
            prop_assert!(leaf.u.is_none_or(|u| u.to_si().is_finite()), "{}: {leaf:?}", finding.id);
        }
    }
    Ok(())
}

/// Where the numbers stand in the demo's file.
fn numbers() -> Vec<std::ops::Range<usize>> {
    let bytes = LARCH.as_bytes();
    let mut found = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        if bytes[at].is_ascii_digit() {
            let end = (at..bytes.len())
                .find(|i| !bytes[*i].is_ascii_digit() && bytes[*i] != b'.')
                .unwrap_or(bytes.len());
            found.push(at..end);
            at = end;
        } else {
            at += 1;
        }
    }
    found
}

proptest! {
    #![proptest_config(ProptestConfig { cases: slow::cases(4, 48), ..ProptestConfig::default() })]

    /// A few numbers anywhere in the file become others.
    #[test]
    fn other_numbers(
        changes in prop::collection::vec((any::<prop::sample::Index>(), 0.0..2000.0_f64), 1..6),
    ) {
        let places = numbers();
        let mut text = LARCH.to_owned();
        let mut picked: Vec<(usize, f64)> =
            changes.iter().map(|(at, value)| (at.index(places.len()), *value)).collect();
        picked.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
        picked.dedup_by_key(|(at, _)| *at);
        for (at, value) in picked {
            text.replace_range(places[at].clone(), &format!("{value:.1}"));
        }
        check(&text)?;
    }

    /// A few lines go missing.
    #[test]
    fn fewer_lines(gone in prop::collection::vec(any::<prop::sample::Index>(), 1..40)) {
        let lines: Vec<&str> = LARCH.lines().collect();
        let gone: Vec<usize> = gone.iter().map(|at| at.index(lines.len())).collect();
        let kept = lines.iter().enumerate().filter(|(at, _)| !gone.contains(at));
        let text: String = kept.map(|(_, line)| format!("{line}\n")).collect();
        check(&text)?;
    }
}

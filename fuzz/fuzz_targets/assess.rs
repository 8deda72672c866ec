//! Any text at all, read and assessed: no panic, no hang, no figure that is not a number.
//!
//! With a nightly toolchain: `cargo fuzz run assess crates/book/tests/corpus`.
//! On the stable toolchain, without the address sanitiser, see `fuzz/README.md`.

#![no_main]

use axlewright_setup::order::{Control, OrderQuestion, order};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let (car, _) = axlewright_book::read(text);
    let out = axlewright_setup::assess(&car);
    for finding in &out.findings {
        for leaf in finding.value.leaves() {
            assert!(leaf.value.to_si().is_finite(), "{}: {leaf:?}", finding.id);
            assert!(leaf.u.is_none_or(|u| u.to_si().is_finite()), "{}: {leaf:?}", finding.id);
        }
    }
    let question = OrderQuestion { moves: Some(2_000), ..Default::default() };
    let _ = order(&car, &out, &question, &mut |_| Control::Go);
});

//! Any text at all is read without a panic, and every problem points into the text.
//!
//! With a nightly toolchain: `cargo fuzz run car_file crates/book/tests/corpus`.
//! On the stable toolchain, without the address sanitiser, see `fuzz/README.md`.

#![no_main]

use axlewright_book::{Field, read};
use axlewright_quantity::Side;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let (car, problems) = read(text);
    for problem in &problems {
        assert!(text.get(problem.span.clone()).is_some(), "{problem:?}");
        assert!(0 < problem.line && 0 < problem.column, "{problem:?}");
        assert!(!problem.what.is_empty() && !problem.right.is_empty(), "{problem:?}");
    }
    for side in Side::BOTH {
        for field in Field::ALL {
            let amount = car.amount(*field, side);
            assert!(amount.is_none_or(|a| a.to_si().is_finite()), "{field} is {amount:?}");
            let _ = car.uncertainty(*field, side);
        }
    }
    let _ = car.build_holes();
});

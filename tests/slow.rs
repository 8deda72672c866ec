//! The gate of the slow tests, one for all crates. `cargo xtask test` opens it; at the desk the
//! rest is enough. A property with many cases asks for fewer of them instead of staying away.

use std::io::Write;

/// Whether `AXLEWRIGHT_SLOW_TESTS` is set.
#[allow(clippy::disallowed_methods, reason = "what is pure is the crate, not its tests")]
pub fn open() -> bool {
    std::env::var("AXLEWRIGHT_SLOW_TESTS").is_ok_and(|said| !said.is_empty() && said != "0")
}

/// True when the gate is closed, said in a line that no test runner holds back: a slow test
/// returns at once.
#[allow(dead_code, reason = "each crate's tests use their part")]
pub fn skipped() -> bool {
    let skip = !open();
    if skip {
        let thread = std::thread::current();
        let test = thread.name().unwrap_or("a slow test");
        let _ = writeln!(
            std::io::stderr(),
            "skipped, slow: {test}; AXLEWRIGHT_SLOW_TESTS=1 runs it, as does `cargo xtask test`"
        );
    }
    skip
}

/// How many cases a property tries.
#[allow(dead_code, reason = "each crate's tests use their part")]
pub fn cases(at_the_desk: u32, all: u32) -> u32 {
    if open() { all } else { at_the_desk }
}

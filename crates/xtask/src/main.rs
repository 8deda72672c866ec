//! `cargo xtask`: the chores of this repository. `cargo xtask help` lists them.

use std::process::ExitCode;

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    axlewright_xtask::run(&arguments)
}

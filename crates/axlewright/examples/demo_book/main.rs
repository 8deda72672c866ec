//! The archive of the demo's book, made anew: `cargo xtask demo-book`. The story and its pictures
//! are told here; the program carries the archive alone.

mod pictures;
mod story;

use std::process::ExitCode;

fn main() -> ExitCode {
    let Some(to) = std::env::args_os().nth(1) else {
        eprintln!("which file?");
        return ExitCode::from(2);
    };
    let written = story::archive().and_then(|bytes| Ok(std::fs::write(to, bytes)?));
    match written {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

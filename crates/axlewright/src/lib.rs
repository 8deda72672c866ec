//! The rim of Axlewright: the command line, and the only place that touches files and terminal.
//!
//! [`run`] is the whole program as a function: arguments and two streams in, an [`Exit`] out, so
//! that tests need no process. What a command *does* stands in [`desk`], shared by every face of
//! the program; what it *says* stands in `cli`, one file per command. Nothing here computes a
//! number: numbers come as findings from `axlewright-setup`.

pub mod desk;
pub mod json;
pub mod web;

mod cli;
mod tame;
mod text;

use std::ffi::OsString;
use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::process::ExitCode;

use tame::Tame;

/// How a call ended; the numbers are a public interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Nothing wrong. Gaps are not wrong, unless `--strict` was given.
    Fine = 0,
    /// Something in the input is wrong: the car file, or the numbers typed.
    Problems = 1,
    /// The call itself is wrong: unknown option, missing argument, a value that is no number.
    WrongCall = 2,
    /// A file, a lock or the disk.
    Disk = 3,
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit as u8)
    }
}

/// Where a call writes, and what surrounds it.
///
/// Both streams are given ANSI styles; whoever passes them in strips the styles where they do
/// not belong.
pub struct Streams<'a> {
    /// Data.
    pub out: &'a mut dyn Write,
    /// Words about the data, where there are both.
    pub err: &'a mut dyn Write,
    /// True when somebody sits at a desktop that can open a file.
    pub desktop: bool,
    /// True when `out` is a terminal, so that somebody is there to end what goes on and on.
    pub terminal: bool,
    /// True when somebody at a terminal sees `err` while it is written.
    pub watched: bool,
    /// Where a path that is typed begins; empty for the folder the process stands in.
    pub folder: &'a Path,
}

/// Runs one call of the program. The first argument is the program's own name.
pub fn run<I, T>(args: I, streams: &mut Streams<'_>) -> Exit
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let (mut out, mut err) = (Tame::new(streams.out), Tame::new(streams.err));
    let Streams { desktop, terminal, watched, folder, .. } = *streams;
    let (out, err): (&mut dyn Write, &mut dyn Write) = (&mut out, &mut err);
    cli::run(args, &mut Streams { out, err, desktop, terminal, watched, folder })
}

/// The process around [`run`]: real arguments, real streams.
pub fn main() -> ExitCode {
    let terminal = io::stdout().is_terminal();
    let desktop = terminal && desk::has_desktop();
    let watched = io::stderr().is_terminal() && io::stdin().is_terminal();
    let mut out = anstream::AutoStream::auto(io::stdout());
    let mut err = anstream::AutoStream::auto(io::stderr());
    let folder = Path::new("");
    let mut streams = Streams { out: &mut out, err: &mut err, desktop, terminal, watched, folder };
    run(std::env::args_os(), &mut streams).into()
}

//! `axlewright man`: the manual page of the program, or those of all its commands.

use std::path::{Path, PathBuf};

use clap::Args;
use clap_mangen::Man as Page;

use super::{Failure, Outcome, call};
use crate::{Exit, Streams, desk};

/// Write the manual pages, for `man`
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright man | man -l -                            read the page of the program
  axlewright man --out ~/.local/share/man/man1         write those of all commands

`man axlewright-order` then shows the page of one command.")]
pub struct Man {
    /// A folder for the pages of all commands [default: the program's own page, to the output]
    #[arg(long, value_name = "FOLDER")]
    out: Option<PathBuf>,
}

impl Man {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        // Every command takes its whole name then: `axlewright-book-add`.
        let mut command = call();
        command.build();
        let Some(folder) = &self.out else {
            streams.out.write_all(page(command)?.as_bytes())?;
            return Ok(Exit::Fine);
        };
        let count = write_all(&command, folder)?;
        writeln!(streams.out, "{}", folder.display())?;
        writeln!(streams.err, "{count} pages.")?;
        Ok(Exit::Fine)
    }
}

fn page(command: clap::Command) -> std::io::Result<String> {
    let mut text = Vec::new();
    Page::new(command).render(&mut text)?;
    Ok(String::from_utf8_lossy(&text).into_owned())
}

/// The pages of a command and of all below it; tells how many.
fn write_all(command: &clap::Command, folder: &Path) -> Result<usize, Failure> {
    let name = Page::new(command.clone()).get_filename();
    desk::write_manual(&page(command.clone())?, &folder.join(name))?;
    let mut count = 1;
    for below in command.get_subcommands().filter(|below| !below.is_hide_set()) {
        count += write_all(below, folder)?;
    }
    Ok(count)
}

//! `axlewright completions`: what a shell needs to finish a command after a few letters.

use clap::Args;
use clap_complete::{Shell, generate};

use super::{Outcome, call};
use crate::{Exit, Streams};

/// Print what lets a shell finish commands
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright completions bash > ~/.local/share/bash-completion/completions/axlewright
  axlewright completions fish > ~/.config/fish/completions/axlewright.fish
  axlewright completions zsh > ~/.zfunc/_axlewright

zsh looks into ~/.zfunc where .zshrc says: fpath+=~/.zfunc, before compinit.")]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Completions {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        // Written in one piece, so that a closed pipe is met once and not in the library.
        let mut script = Vec::new();
        generate(self.shell, &mut call(), "axlewright", &mut script);
        streams.out.write_all(&script)?;
        Ok(Exit::Fine)
    }
}

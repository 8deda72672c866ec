//! `axlewright new`: a car file to fill in.

use std::path::PathBuf;

use clap::Args;

use super::Outcome;
use crate::{Exit, Streams, desk, text};

/// Start a car file: every measurement explained and left blank
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  axlewright new my-car        writes my-car/car.toml

What you leave blank is a gap, not an error: fill in the first section, run
`axlewright check my-car/car.toml`, and go on from there. A car file that is
there already is never overwritten.")]
pub struct New {
    /// The folder for the car; made if it is not there
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
}

impl New {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let path = desk::start_car(&self.folder)?;
        writeln!(streams.out, "{}", path.display())?;
        let shown = path.display();
        text::paragraph(
            streams.err,
            "",
            &format!(
                "A car file with every measurement explained and left blank. Open `{shown}` in \
                 an editor and fill in the first section: two bar diameters and two angles \
                 already give a free angle. Then:"
            ),
        )?;
        writeln!(streams.err, "  axlewright check {shown}")?;
        Ok(Exit::Fine)
    }
}

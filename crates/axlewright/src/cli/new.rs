//! `axlewright new`: a car file to fill in, or one with its order of work.

use std::collections::BTreeMap;
use std::path::PathBuf;

use axlewright_book::{Method, Severity};
use axlewright_setup::cautions;
use clap::Args;

use super::{Failure, Outcome, method};
use crate::{Exit, Streams, desk, text};

/// Start a car file: every measurement explained and left blank, or the whole order of work
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright new my-car                       writes my-car/car.toml
  axlewright new wren --method trailing-arm   the same with the work in it
  axlewright new wren --method mine.toml --answer brake=disc

The method trailing-arm is for a bar across the tail with a trailing arm on a
plate; every other car has bars, torque, joints, record and steps of its own.

What you leave blank is a gap, not an error: fill in the first section, run
`axlewright check my-car/car.toml`, and go on from there. A car file that is
there already is never overwritten.")]
pub struct New {
    /// The folder for the car; made if it is not there
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// The method it follows: one in the program, or a file
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// Answers a question of the method: `brake=disc`
    #[arg(long, value_name = "QUESTION=ANSWER", requires = "method")]
    answer: Vec<String>,
}

impl New {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        if let Some(name) = &self.method {
            return self.with_method(name, streams);
        }
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

    fn with_method(&self, name: &str, streams: &mut Streams<'_>) -> Outcome {
        let text = method::text_of(name, streams)?;
        let (head, _, problems) = Method::read(&text, &BTreeMap::new());
        if let Some(wrong) = problems.iter().find(|problem| problem.severity == Severity::Error) {
            return Err(Failure::Call {
                what: format!("`{name}`, line {}: {}", wrong.line, wrong.what),
                right: format!("`axlewright method check {name}` tells all of it"),
            });
        }
        let answers = method::answers(&self.answer, &head)?;
        let car = self.folder.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
        let mut written = head.starter(&car, &answers, &[cautions::WORK.words()]);
        if Method::text(name).is_none() {
            // A method that is not in the program comes along, row by row.
            let end = written.find("method = ").unwrap_or(written.len());
            written.truncate(end);
            written.push_str(&format!("\n[car]\nname = \"{}\"\n", car.replace(['"', '\\'], "")));
            written.push_str(&Method::rows(&text, &answers));
        }
        let path = desk::start_car_with(&self.folder, &written)?;
        writeln!(streams.out, "{}", path.display())?;
        let shown = path.display();
        text::paragraph(streams.err, "", &head.layout)?;
        text::paragraph(
            streams.err,
            "",
            "Any other car has bars, torque, joints, record and steps of its own without a \
             method. The order of work stands already, with nothing measured:",
        )?;
        writeln!(streams.err, "  axlewright order {shown}")?;
        Ok(Exit::Fine)
    }
}

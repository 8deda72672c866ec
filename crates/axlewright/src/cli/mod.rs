//! The command line: one file per command, all of them listed here.

mod bar;
mod book;
mod car;
mod check;
mod completions;
mod demo;
mod dossier;
mod explain;
mod forecast;
mod index;
mod joints;
mod level;
mod man;
mod measure;
mod method;
mod new;
mod order;
mod serve;
mod sheet;
mod status;
mod target;
mod today;
mod torque;
mod trim;
mod typed;

use std::any::TypeId;
use std::ffi::OsString;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use axlewright_setup::quick::QuickError;
use axlewright_setup::{Assessment, cautions};
use clap::builder::{PathBufValueParser, TypedValueParser};
use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::desk::bench::Refused;
use crate::desk::{DeskError, Fault};
use crate::{Exit, Streams, json, text};

const ABOUT: &str = "From measurements to a build sheet: which plate angle this car must hang at, \
    which teeth to choose, what fits when, and what is still to be measured.";

const AFTER: &str = "\
Start here:
  axlewright demo                       the demo car and its build sheet
  axlewright new wren --method trailing-arm   a car with its order of work
  axlewright new my-car                 a car file to fill in
  axlewright check my-car/car.toml      what is wrong, what is missing
  axlewright sheet my-car/car.toml      the build sheet
  axlewright serve my-car/car.toml      the page, for the phone on the bench
  axlewright status my-car/car.toml     where the job stands, what comes next

Exit codes: 0 fine (gaps included; --strict makes them 1), 1 problems in the
input, 2 wrong call, 3 file, lock or disk.";

/// What stands below the help.
fn after_help() -> String {
    format!("{AFTER}\n\n{}", cautions::WORK.words())
}

/// The note that goes with every `u` on the terminal.
const NOTE_U: &str = "u: standard uncertainty; about two in three such figures are closer to the \
    truth than u, nineteen in twenty closer than twice u.";

#[derive(Debug, Parser)]
#[command(name = "axlewright", version, about = ABOUT, after_help = after_help())]
#[command(disable_help_subcommand = true, max_term_width = 80)]
struct Call {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Demo(demo::Demo),
    New(new::New),
    Book(Box<book::Book>),
    Check(check::Check),
    Sheet(sheet::Sheet),
    Target(target::Target),
    Measure(Box<measure::Measure>),
    Dossier(dossier::Dossier),
    Serve(serve::Serve),
    Index(index::Index),
    Bar(Box<bar::Bar>),
    Level(level::Level),
    Order(order::Order),
    Joints(joints::Joints),
    Method(method::MethodCall),
    Trim(trim::Trim),
    Forecast(forecast::Forecast),
    Today(today::Today),
    Explain(explain::Explain),
    Status(status::Status),
    Torque(Box<torque::TorqueOf>),
    Completions(completions::Completions),
    Man(man::Man),
}

/// Why a command stopped before its end.
#[derive(Debug)]
enum Failure {
    /// Its own output could not be written.
    Stream(io::Error),
    /// A file or folder.
    Desk(DeskError),
    /// An entry that was not written.
    Refused(Refused),
    /// The call leaves something out.
    Call {
        /// What.
        what: String,
        /// What would be right.
        right: String,
    },
}

impl From<io::Error> for Failure {
    fn from(why: io::Error) -> Self {
        Self::Stream(why)
    }
}

impl From<DeskError> for Failure {
    fn from(why: DeskError) -> Self {
        Self::Desk(why)
    }
}

impl From<Refused> for Failure {
    fn from(why: Refused) -> Self {
        Self::Refused(why)
    }
}

type Outcome = Result<Exit, Failure>;

/// Runs one call; see [`crate::run`].
pub fn run<I, T>(args: I, streams: &mut Streams<'_>) -> Exit
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let outcome = match parse(args, streams.folder) {
        Ok(call) => dispatch(&call.command, streams).and_then(|exit| {
            streams.out.flush()?;
            Ok(exit)
        }),
        Err(refused) => refuse(&refused, streams).map_err(Failure::from),
    };
    outcome.unwrap_or_else(|failure| explain(&failure, streams))
}

fn parse<I, T>(args: I, folder: &Path) -> Result<Call, clap::Error>
where
    I: IntoIterator<Item = T>,
    T: Into<OsString> + Clone,
{
    let mut command = beginning_in(folder, Call::command());
    let mut matches = command.try_get_matches_from_mut(args)?;
    Call::from_arg_matches_mut(&mut matches).map_err(|refused| refused.format(&mut command))
}

/// The whole command line, for what is written from it.
fn call() -> clap::Command {
    Call::command()
}

/// The command with every path it takes beginning in `folder`.
fn beginning_in(folder: &Path, command: clap::Command) -> clap::Command {
    if folder.as_os_str().is_empty() {
        return command;
    }
    let path = |arg: clap::Arg| {
        if arg.get_value_parser().type_id() != TypeId::of::<PathBuf>() {
            return arg;
        }
        let folder = folder.to_path_buf();
        // A lone hyphen is no path: what is asked for goes to `out`.
        let begun = move |typed| if typed == Path::new("-") { typed } else { folder.join(typed) };
        arg.value_parser(PathBufValueParser::new().map(begun))
    };
    command.mut_args(path).mut_subcommands(|command| beginning_in(folder, command))
}

fn dispatch(command: &Command, streams: &mut Streams<'_>) -> Outcome {
    match command {
        Command::Demo(demo) => demo.run(streams),
        Command::New(new) => new.run(streams),
        Command::Book(book) => book.run(streams),
        Command::Check(check) => check.run(streams),
        Command::Sheet(sheet) => sheet.run(streams),
        Command::Target(target) => target.run(streams),
        Command::Measure(measure) => measure.run(streams),
        Command::Dossier(dossier) => dossier.run(streams),
        Command::Serve(serve) => serve.run(streams),
        Command::Index(index) => index.run(streams),
        Command::Bar(bar) => bar.run(streams),
        Command::Level(level) => level.run(streams),
        Command::Order(order) => order.run(streams),
        Command::Joints(joints) => joints.run(streams),
        Command::Method(method) => method.run(streams),
        Command::Trim(trim) => trim.run(streams),
        Command::Forecast(forecast) => forecast.run(streams),
        Command::Today(today) => today.run(streams),
        Command::Explain(explain) => explain.run(streams),
        Command::Status(status) => status.run(streams),
        Command::Torque(torque) => torque.run(streams),
        Command::Completions(completions) => completions.run(streams),
        Command::Man(man) => man.run(streams),
    }
}

/// Help and version are answers and go to stdout; a wrong call goes to stderr.
fn refuse(refused: &clap::Error, streams: &mut Streams<'_>) -> io::Result<Exit> {
    let text = refused.render();
    if refused.use_stderr() {
        write!(streams.err, "{}", text.ansi())?;
        Ok(Exit::WrongCall)
    } else {
        write!(streams.out, "{}", text.ansi())?;
        streams.out.flush()?;
        Ok(Exit::Fine)
    }
}

/// Says why a command stopped. Whoever closed the pipe has read enough: that is no error.
fn explain(failure: &Failure, streams: &mut Streams<'_>) -> Exit {
    let (exit, what, right) = match failure {
        Failure::Stream(why) if why.kind() == io::ErrorKind::BrokenPipe => return Exit::Fine,
        Failure::Stream(why) => {
            let what = format!("cannot write the output: {why}");
            (Exit::Disk, what, "check the disk it goes to".to_owned())
        }
        Failure::Desk(why) => (Exit::Disk, why.to_string(), why.hint()),
        Failure::Refused(why) => {
            let exit = if why.is_input() { Exit::Problems } else { Exit::Disk };
            let said = why.to_string();
            // Some say themselves which field they are about.
            let field = why.field().filter(|field| {
                // A reason that is not there yet is no slip in the field that takes it.
                !["in_spite", "fitted"].contains(field) && !said.contains(&format!("`{field}`"))
            });
            let field = field.map(|field| format!("{field}: ")).unwrap_or_default();
            (exit, format!("{field}{said}"), as_typed(&why.hint()))
        }
        Failure::Call { what, right } => (Exit::WrongCall, what.clone(), right.clone()),
    };
    // If the words cannot be written either, the exit code still tells.
    let _ = complain(streams.err, &what, Some(&right));
    exit
}

/// A hint in the words of the command line: `side = "left"` of a file is `--side left` here.
fn as_typed(hint: &str) -> String {
    let mut said = hint.to_owned();
    for key in ["in_spite", "fitted", "waived", "position"] {
        said = said.replace(&format!("`{key}`"), &format!("`--{}`", key.replace('_', "-")));
    }
    for key in ["side", "corner", "arrow", "hung", "lash", "seat", "verdict", "position"] {
        let written = format!("`{key} = \"");
        while let Some((before, rest)) = said.split_once(&written) {
            let Some((value, after)) = rest.split_once("\"`") else { break };
            let quote = if value.contains(' ') { "\"" } else { "" };
            let key = key.replace('_', "-");
            said = format!("{before}`--{key} {quote}{value}{quote}`{after}");
        }
    }
    said
}

/// One error with its help line, in the form `check` uses.
fn complain(err: &mut dyn Write, what: &str, right: Option<&str>) -> io::Result<()> {
    writeln!(err, "\x1b[1m\x1b[31merror\x1b[0m: {what}")?;
    match right {
        Some(right) => writeln!(err, "  = help: {right}"),
        None => Ok(()),
    }
}

fn print_json(
    streams: &mut Streams<'_>,
    assessment: &Assessment,
    faults: &[Fault],
) -> io::Result<()> {
    write_json(streams, &json::document(assessment, faults))
}

/// Writes a document in one piece: every piece is looked through for what commands a terminal.
fn write_json(streams: &mut Streams<'_>, document: &serde_json::Value) -> io::Result<()> {
    let mut text = serde_json::to_string_pretty(document).map_err(io::Error::from)?;
    text.push('\n');
    streams.out.write_all(text.as_bytes())
}

/// What a quick calculator does with its answer: JSON, or the words `tell` finds for it.
fn answer(
    streams: &mut Streams<'_>,
    as_json: bool,
    answered: Result<Assessment, QuickError>,
    tell: impl FnOnce(&mut dyn Write, &Assessment) -> io::Result<()>,
) -> Outcome {
    let (assessment, faults) = match answered {
        Ok(assessment) => {
            let faults: Vec<Fault> =
                assessment.problems.iter().map(|what| Fault::of_the_whole(what)).collect();
            (assessment, faults)
        }
        Err(refused) => {
            let mut fault = Fault::of_the_whole(&refused.to_string());
            fault.right = Some(refused.hint().to_owned());
            (Assessment::default(), vec![fault])
        }
    };
    if as_json {
        print_json(streams, &assessment, &faults)?;
    } else {
        for fault in &faults {
            complain(streams.err, &fault.what, fault.right.as_deref())?;
        }
        if !assessment.findings.is_empty() {
            tell(streams.out, &assessment)?;
        }
        for gap in &assessment.gaps {
            text::gap(streams.out, gap)?;
        }
    }
    Ok(if faults.iter().any(|fault| fault.is_error) { Exit::Problems } else { Exit::Fine })
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::Call;

    #[test]
    fn the_command_line_is_consistent() {
        Call::command().debug_assert();
    }

    #[test]
    fn every_command_has_a_sentence_and_an_example() {
        for command in Call::command().get_subcommands() {
            let name = command.get_name();
            assert!(command.get_about().is_some(), "{name} says nothing about itself");
            let after = command.get_after_help().map(ToString::to_string).unwrap_or_default();
            assert!(after.contains(&format!("axlewright {name}")), "{name} shows no example");
        }
    }
}

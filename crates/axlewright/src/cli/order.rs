//! `axlewright order`: the order of work, why a step stands where it stands, how to get back to
//! something, and when it is done.

mod tell;
pub mod watch;

use axlewright_book::Phase;
use clap::Args;

pub use tell::next_step;

use super::Outcome;
use super::car::{Begun, CarCall};
use crate::desk::{Asked, OrderCall};
use crate::{Exit, Streams};
use watch::Watch;

/// Plan the work: what comes when and why, what now, what to undo, when it is done
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright order my-car/car.toml                       the whole plan
  axlewright order my-car/car.toml --have bench          with what is on the bench
  axlewright order my-car/car.toml --have=-bush-outer    all parts but these two
  axlewright order my-car/car.toml --done-phase strip-down --done dry-on-left
  axlewright order my-car/car.toml --why half-shaft-in-left
  axlewright order my-car/car.toml --done … --back-out plate-left
  axlewright order my-car/car.toml --when

Names are the ids of the car file's [[step]] and [[part]] rows; `bar-in` or
`bar-in-both` means bar-in-left and bar-in-right. The same call gives the same
plan, unless --seconds or the Enter key ends the search; the last line and the
JSON say what ended it: proof, effort, seconds or user.")]
pub struct Order {
    #[command(flatten)]
    car: CarCall,
    /// Say why this step stands where it stands
    #[arg(long, value_name = "STEP", conflicts_with_all = ["back_out", "when"])]
    why: Option<String>,
    /// Say what to undo to be at this step or part again, and the way to return
    #[arg(long, value_name = "X", conflicts_with = "when")]
    back_out: Option<String>,
    /// Say when it is done, what that hangs on, and how late each part may come
    #[arg(long)]
    when: bool,
    /// Steps done, in the order they were done
    #[arg(long, value_name = "STEPS", value_delimiter = ',')]
    done: Vec<String>,
    /// Take every step up to the end of this phase as done: `strip-down`
    #[arg(long, value_name = "PHASE", value_parser = phase)]
    done_phase: Option<Phase>,
    /// Parts at hand [default: all come in time]; `bench` for what the car file
    /// says is there; `-NAME` first: all parts but that
    #[arg(long, value_name = "PARTS", value_delimiter = ',', allow_hyphen_values = true)]
    have: Vec<String>,
    /// Search no longer than this
    #[arg(long, value_name = "N", value_parser = seconds, allow_hyphen_values = true)]
    seconds: Option<f64>,
}

impl Order {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let mut watch = Watch::new(streams.err, streams.watched, self.seconds);
        let call = self.call();
        let view = self.car.open()?;
        let (found, faults) = view.answer_order(&call, &mut |progress| watch.ask(progress));
        watch.clear()?;
        let exit = match self.car.begin(streams, &view, &found, &faults)? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        if exit == Exit::Problems && found.findings.is_empty() {
            // A plan with a step missing strands whoever follows it: no plan is better.
            if view.has_errors() {
                self.car.refuse(streams, "no order is made while a step cannot be read")?;
            }
            return Ok(exit);
        }
        tell::answer(streams.out, &found, &call)?;
        Ok(exit)
    }

    fn call(&self) -> OrderCall {
        let tidy = |names: &[String]| {
            let names = names.iter().map(|name| name.trim().to_owned());
            names.filter(|name| !name.is_empty()).collect()
        };
        let asked = match (&self.why, &self.back_out, self.when) {
            (Some(step), ..) => Asked::Why(step.trim().to_owned()),
            (_, Some(what), _) => Asked::BackOut(what.trim().to_owned()),
            (.., true) => Asked::When,
            _ => Asked::Plan,
        };
        let (done, have) = (tidy(&self.done), tidy(&self.have));
        OrderCall { asked, done, done_phase: self.done_phase, have }
    }
}

/// A phase by its name, with blanks or hyphens.
fn phase(text: &str) -> Result<Phase, String> {
    let plain = |name: &str| name.trim().to_lowercase().replace('-', " ");
    let found = Phase::ALL.iter().find(|phase| plain(phase.word()) == plain(text));
    found.copied().ok_or_else(|| {
        let all: Vec<&str> = Phase::ALL.iter().map(|phase| phase.word()).collect();
        format!("the phases are: {}", all.join(", "))
    })
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.trim().parse::<f64>().ok();
    let number = number.filter(|seconds| seconds.is_finite() && 0.0 <= *seconds);
    number.ok_or_else(|| "a number of seconds, 0 or more".to_owned())
}

//! What every command that takes a car begins with: the car opened, then JSON or its problems.

use std::path::PathBuf;
use std::sync::Arc;

use axlewright_setup::Assessment;
use clap::Args;

use super::{Failure, check, complain, print_json};
use crate::desk::Fault;
use crate::desk::bench::{Bench, View};
use crate::{Exit, Streams};

/// The arguments of every command that takes a car.
#[derive(Debug, Args)]
pub struct CarCall {
    /// The car file, the folder it lies in, or a book
    #[arg(value_name = "CAR")]
    pub path: PathBuf,
    /// Print findings, gaps and problems as JSON instead
    #[arg(long)]
    pub json: bool,
    /// End with 1 when anything is still to be measured, decided or put right first
    #[arg(long)]
    pub strict: bool,
}

/// Whether a command has still something to say, and how it ends.
pub enum Begun {
    /// All is said.
    Over(Exit),
    /// The words are still to come.
    GoOn(Exit),
}

impl CarCall {
    /// Opens the car to look at it.
    pub fn open(&self) -> Result<Arc<View>, Failure> {
        Ok(Bench::open(&self.path)?.look())
    }

    /// Says the answer as JSON and is done, or says what is wrong with the car and goes on.
    pub fn begin(
        &self,
        streams: &mut Streams<'_>,
        view: &View,
        found: &Assessment,
        faults: &[Fault],
    ) -> Result<Begun, Failure> {
        let exit = self.verdict(faults, found);
        if self.json {
            print_json(streams, found, faults)?;
            return Ok(Begun::Over(exit));
        }
        if !faults.is_empty() {
            check::print_faults(streams.err, view, faults)?;
        }
        Ok(Begun::GoOn(exit))
    }

    /// The exit code of an answer.
    pub fn verdict(&self, faults: &[Fault], assessment: &Assessment) -> Exit {
        verdict(faults, assessment, self.strict)
    }

    /// Says that something is not made while the car file holds errors.
    pub fn refuse(&self, streams: &mut Streams<'_>, what: &str) -> std::io::Result<()> {
        let shown = self.path.display();
        let right = format!("mend the car file; `axlewright check {shown}` shows how far it is");
        complain(streams.err, what, Some(&right))
    }
}

/// The exit code: errors are problems; gaps and what must not be gone on with only when asked for.
pub fn verdict(faults: &[Fault], assessment: &Assessment, strict: bool) -> Exit {
    let is_wrong = faults.iter().any(|fault| fault.is_error);
    let is_open = !assessment.gaps.is_empty() || assessment.must_stop() || is_unsure(assessment);
    let is_incomplete = strict && is_open;
    if is_wrong || is_incomplete { Exit::Problems } else { Exit::Fine }
}

/// Whether an order of work was made without something, or has a step that is not to be done yet.
fn is_unsure(assessment: &Assessment) -> bool {
    let safety = assessment.find("order.safety", None);
    let holds = |key: &str| {
        let list = safety.and_then(|found| found.value.get(key));
        list.is_some_and(|list| !list.items().is_empty())
    };
    holds("unknown") || holds("gates")
}

/// Adds what came up on the way to an answer, unless it was said of the car already.
pub fn add_faults(faults: &mut Vec<Fault>, found: &Assessment) {
    let told = |what: &String| faults.iter().any(|fault| fault.what == *what);
    let more: Vec<Fault> = (found.problems.iter())
        .filter(|what| !told(what))
        .map(|what| Fault::of_the_whole(what))
        .collect();
    faults.extend(more);
}

#[cfg(test)]
mod tests {
    use axlewright_setup::cautions;

    use super::*;

    #[test]
    fn what_must_not_be_gone_on_with_ends_a_strict_call_with_1() {
        let told = |caution: cautions::Fixed| Assessment {
            cautions: vec![caution.caution()],
            ..Assessment::default()
        };
        assert_eq!(verdict(&[], &told(cautions::NO_SETTING), true), Exit::Problems);
        assert_eq!(verdict(&[], &told(cautions::NO_SETTING), false), Exit::Fine);
        assert_eq!(verdict(&[], &told(cautions::BRAKES), true), Exit::Fine);
    }
}

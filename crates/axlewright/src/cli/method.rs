//! `axlewright method`: the methods in the program, to look at, to write out, to look over.

use std::collections::BTreeMap;
use std::path::PathBuf;

use axlewright_book::{CarFile, Method, Phase, Severity, Step};
use axlewright_quantity::Side;
use axlewright_setup::order::{Control, OrderQuestion, order};
use clap::{Args, Subcommand};

use super::{Failure, Outcome, complain};
use crate::{Exit, Streams, desk, text};

/// The work that comes with the program: show a method, write it out, look one over
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright method show trailing-arm
  axlewright method export trailing-arm --out mine.toml
  axlewright method check mine.toml
  axlewright new wren --method mine.toml

A method holds no figure of any car. Written out it can be changed, and given
to others.")]
pub struct MethodCall {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// What it is for, what it asks, and its steps
    Show {
        /// A method in the program, or a file
        #[arg(value_name = "METHOD", default_value = "trailing-arm")]
        method: String,
        /// Answers a question: `brake=disc`
        #[arg(long, value_name = "QUESTION=ANSWER")]
        answer: Vec<String>,
    },
    /// Its text, to change or to pass on
    Export {
        /// A method in the program
        #[arg(value_name = "METHOD", default_value = "trailing-arm")]
        method: String,
        /// Where it goes; `-` is the output
        #[arg(long, value_name = "FILE", default_value = "-")]
        out: PathBuf,
    },
    /// What is wrong with a method, with each of its answers in turn
    Check {
        /// The file, or a method in the program
        #[arg(value_name = "METHOD")]
        method: String,
    },
}

/// The text of a method: one in the program, or a file.
pub fn text_of(name: &str, streams: &Streams<'_>) -> Result<String, Failure> {
    match Method::text(name) {
        Some(text) => Ok(text.to_owned()),
        None if streams.folder.join(name).is_file() => {
            Ok(desk::read_car_file(&streams.folder.join(name))?)
        }
        None => Err(Failure::Call {
            what: format!("there is no method and no file `{name}`"),
            right: format!("methods in the program: {}", Method::names().join(", ")),
        }),
    }
}

/// Answers as they are typed.
pub fn answers(typed: &[String], method: &Method) -> Result<BTreeMap<String, String>, Failure> {
    let mut answers = BTreeMap::new();
    for one in typed {
        let wrong = |right: String| Failure::Call {
            what: format!("`{one}` answers no question of the method `{}`", method.name),
            right,
        };
        let (question, answer) = one.split_once('=').unwrap_or((one, ""));
        let (question, answer) = (question.trim(), answer.trim().to_lowercase());
        let Some(asked) = method.questions.iter().find(|asked| asked.id == question) else {
            let known: Vec<&str> = method.questions.iter().map(|q| q.id.as_str()).collect();
            return Err(wrong(format!("questions: {}", known.join(", "))));
        };
        if !asked.choices.contains(&answer) {
            return Err(wrong(format!("{}: {}", asked.ask, asked.choices.join(", "))));
        }
        answers.insert(question.to_owned(), answer);
    }
    Ok(answers)
}

impl MethodCall {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        match &self.what {
            What::Show { method, answer } => {
                let text = text_of(method, streams)?;
                let (head, _, _) = Method::read(&text, &BTreeMap::new());
                let answers = answers(answer, &head)?;
                let (method, car, _) = Method::read(&text, &answers);
                show(streams, &method, &answers, &car)
            }
            What::Export { method, out } => {
                let text = text_of(method, streams)?;
                if out.as_os_str() == "-" {
                    write!(streams.out, "{text}")?;
                } else {
                    desk::write_new(&text, out)?;
                    writeln!(streams.out, "{}", out.display())?;
                }
                Ok(Exit::Fine)
            }
            What::Check { method } => check(streams, &text_of(method, streams)?),
        }
    }
}

fn show(
    streams: &mut Streams<'_>,
    method: &Method,
    answers: &BTreeMap<String, String>,
    car: &CarFile,
) -> Outcome {
    let out = &mut *streams.out;
    writeln!(out, "{}: {}", method.written(), method.title)?;
    text::paragraph(out, "", &method.layout)?;
    if let Some([question, choice, why]) = method.stopped_by(answers) {
        let words = format!("With {question} = {choice} it does not serve: {why}.");
        text::paragraph(out, "", &words)?;
        return Ok(Exit::Problems);
    }
    writeln!(out, "\nIt asks")?;
    for question in &method.questions {
        let lead = format!("  {:<14} ", question.id);
        let words = format!("{} {}", question.ask, question.choices.join(" | "));
        text::hanging(out, &lead, &" ".repeat(17), &words)?;
    }
    writeln!(out, "\nIts {} steps; hold points are signed", car.steps.len())?;
    for phase in Phase::ALL {
        writeln!(out, "  {phase}")?;
        let once = |step: &&Step| step.phase == *phase && step.side != Some(Side::Right);
        for step in car.steps.iter().filter(once) {
            let first = step.words.value.split(". ").next().unwrap_or_default();
            let signed = if step.is_signed() { " (hold point)" } else { "" };
            let each = if step.side.is_some() { "each side: " } else { "" };
            let lead = format!("    {:<18} ", step.id.text);
            text::hanging(out, &lead, &" ".repeat(23), &format!("{each}{first}{signed}"))?;
        }
    }
    writeln!(out, "\n{} parts, {} joints.", car.parts.len(), car.joints.len())?;
    Ok(Exit::Fine)
}

/// Every answer in turn, the others as they are taken unanswered.
fn each_answer(method: &Method) -> Vec<BTreeMap<String, String>> {
    let mut all = vec![BTreeMap::new()];
    for question in &method.questions {
        let serves =
            |choice: &&String| question.stops.as_ref().is_none_or(|(stop, _)| stop != *choice);
        let choices = question.choices.iter().filter(serves);
        let one = |choice: &String| BTreeMap::from([(question.id.clone(), choice.clone())]);
        all.extend(choices.map(one));
    }
    all
}

fn check(streams: &mut Streams<'_>, text: &str) -> Outcome {
    let (method, _, _) = Method::read(text, &BTreeMap::new());
    let mut told: Vec<String> = Vec::new();
    let mut exit = Exit::Fine;
    for answers in each_answer(&method) {
        let (_, car, problems) = Method::read(text, &answers);
        let with: Vec<String> = answers.iter().map(|(q, a)| format!(" ({q} = {a})")).collect();
        let with = with.concat();
        let of_text = problems.iter().map(|problem| {
            let is_error = problem.severity == Severity::Error;
            (format!("line {}: {}", problem.line, problem.what), problem.right.clone(), is_error)
        });
        let mut all: Vec<(String, String, bool)> = of_text.collect();
        all.extend(unused(&car).into_iter().map(|(what, right)| (what, right, true)));
        let facts = axlewright_setup::assess(&car);
        let question = OrderQuestion { moves: Some(1), ..OrderQuestion::default() };
        let plan = order(&car, &facts, &question, &mut |_| Control::Go);
        let wrong = plan.map_or_else(|wrong| wrong, |plan| plan.problems);
        all.extend(wrong.into_iter().map(|what| (what, String::new(), true)));
        for (what, right, is_error) in all {
            if told.contains(&what) {
                continue;
            }
            let right = Some(right.as_str()).filter(|right| !right.is_empty());
            complain(streams.err, &format!("{what}{with}"), right)?;
            told.push(what);
            if is_error {
                exit = Exit::Problems;
            }
        }
    }
    if exit == Exit::Fine {
        writeln!(streams.out, "No problems: {}, with every answer in turn.", method.written())?;
    }
    Ok(exit)
}

/// Parts that no step uses and joints that none tightens.
fn unused(car: &CarFile) -> Vec<(String, String)> {
    let used = |id: &str| car.steps.iter().any(|step| step.needs.iter().any(|n| n.value == id));
    let tight = |id: &str| car.steps.iter().any(|step| step.torques.iter().any(|n| n.value == id));
    let parts = car.parts.iter().map(|part| &part.id.value).filter(|id| !used(id));
    let joints = car.joints.iter().map(|joint| &joint.id.value).filter(|id| !tight(id));
    let parts = parts.map(|id| {
        let right = "name it in `needs` of the step that handles it".to_owned();
        (format!("no step uses the part `{id}`"), right)
    });
    let joints = joints.map(|id| {
        let right = "name it in `torques` of a step".to_owned();
        (format!("no step brings the joint `{id}` to its torque"), right)
    });
    parts.chain(joints).collect()
}

//! Methods: the steps, parts and joints of one layout, which come with the program.
//!
//! A method is a text like a car file, with questions at its head. Answers switch its rows on and
//! off; what is left of it stands in the car as if the car file held it, and the car file's own
//! rows change or strike it. No figure of any car is in a method.

use crate::car_file::CarFile;
use crate::problem::Problem;
use crate::read::{expand, rows_with};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A method as it is written.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Method {
    /// Its name, `trailing-arm`.
    pub name: String,
    /// Which writing of it; an older one is kept for books that were begun with it.
    pub version: u32,
    /// What it is called.
    pub title: String,
    /// Which cars it is for, in one sentence.
    pub layout: String,
    /// What is asked before it fits a car, in its order.
    pub questions: Vec<Question>,
}

/// Something that tells one car from another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// Its key under `[answers]`.
    pub id: String,
    /// What is asked.
    pub ask: String,
    /// What may be answered.
    pub choices: Vec<String>,
    /// What is taken while nobody has answered: the careful one.
    pub unanswered: String,
    /// An answer with which the method does not serve, and why.
    pub stops: Option<(String, String)>,
}

/// What was answered, or is taken for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The question's key.
    pub question: String,
    /// The choice.
    pub choice: String,
    /// Whether the car file says so; else it is what is taken unanswered.
    pub is_given: bool,
}

/// The method that a car file follows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Follows {
    /// The method.
    pub method: Method,
    /// Its answers, in the order of the questions.
    pub answers: Vec<Answer>,
    /// Why the method does not serve this car, if it does not: then none of it is taken.
    pub stopped: Option<String>,
}

/// Every method in the program, each in every writing there was: name, version, text.
const BUILT_IN: [(&str, u32, &str); 1] =
    [("trailing-arm", 1, include_str!("../methods/trailing-arm.toml"))];

impl Method {
    /// Name and version as a car file writes them.
    pub fn written(&self) -> String {
        format!("{} {}", self.name, self.version)
    }

    /// The names of the methods in the program.
    pub fn names() -> Vec<&'static str> {
        let mut names: Vec<&'static str> = BUILT_IN.iter().map(|(name, ..)| *name).collect();
        names.dedup();
        names
    }

    /// The answer, if one of these is such, with which the method does not serve: the question's
    /// key, the choice, and why.
    pub fn stopped_by(&self, answers: &BTreeMap<String, String>) -> Option<[&str; 3]> {
        self.questions.iter().find_map(|question| {
            let (choice, why) = question.stops.as_ref()?;
            let told = [question.id.as_str(), choice.as_str(), why.as_str()];
            (answers.get(&question.id) == Some(choice)).then_some(told)
        })
    }

    /// The text of a method in the program, by name or by name and version; without one, the
    /// newest.
    pub fn text(name: &str) -> Option<&'static str> {
        let (name, version) = match name.trim().split_once(' ') {
            Some((name, version)) => (name, Some(version.trim().parse::<u32>().ok()?)),
            None => (name.trim(), None),
        };
        let fits = |row: &&(&str, u32, &str)| {
            row.0 == name && version.is_none_or(|version| version == row.1)
        };
        BUILT_IN.iter().filter(fits).max_by_key(|row| row.1).map(|row| row.2)
    }

    /// A car file that follows the method, for a car that was named, with these answers; at most
    /// forty lines. `beware` is what may hurt or kill, a paragraph each.
    pub fn starter(
        &self,
        car: &str,
        answers: &BTreeMap<String, String>,
        beware: &[String],
    ) -> String {
        let mut out = String::new();
        for words in beware {
            crate::starter::remark("", words, &mut out);
        }
        let words = "The order of work comes with the method and stands now: `axlewright order`. \
                     Rows of your own, [[step]], [[part]], [[joint]], go below; one with an id of \
                     the method's changes it, and `strike = true` takes it out.";
        crate::starter::remark("", words, &mut out);
        crate::starter::remark("", &self.layout, &mut out);
        let car = car.replace(['"', '\\'], "");
        let written = self.written();
        let _ = write!(
            out,
            "format = 1\nmethod = \"{written}\"\n\n[car]\nname = \"{car}\"\nbuild_number = \"\"\n\n"
        );
        let words = "What your car has. Blank: the first of the words is taken.";
        crate::starter::remark("", words, &mut out);
        out.push_str("[answers]\n");
        for question in &self.questions {
            let given = answers.get(&question.id).map_or("", String::as_str);
            let value = format!("{} = \"{given}\"", question.id);
            let words = format!("{} {}", question.ask, question.choices.join(" | "));
            if value.len().max(22) + words.len() < 94 {
                let _ = writeln!(out, "{value:<22} # {words}");
            } else {
                crate::starter::remark("", &words, &mut out);
                let _ = writeln!(out, "{value}");
            }
        }
        out
    }

    /// The rows of a method's text that are there with these answers, as a car file holds them:
    /// for a method that is not in the program.
    pub fn rows(text: &str, answers: &BTreeMap<String, String>) -> String {
        rows_with(text, answers)
    }

    /// Reads a method with these answers, the others taken unanswered: what is left of it stands in
    /// the car. The problems are those of the text.
    pub fn read(text: &str, answers: &BTreeMap<String, String>) -> (Self, CarFile, Vec<Problem>) {
        let mut read = expand(text, answers);
        let (method, answers) = (read.method.clone(), read.answers);
        read.car.follows = Some(Follows { method, answers, stopped: None });
        (read.method, read.car, read.problems)
    }
}

impl CarFile {
    /// The method this car follows, if it follows one.
    pub const fn method(&self) -> Option<&Follows> {
        self.follows.as_ref()
    }
}

//! `axlewright book log`: the entries, one line each.

use std::io::{self, Write};
use std::path::PathBuf;

use axlewright_book::log::{Entry, KINDS, State};
use clap::Args;

use super::{car_name, look_at, print_json};
use crate::cli::Outcome;
use crate::desk::say;
use crate::{Streams, json, text};

/// Show the entries: who wrote what, when, and what was struck
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book log larch
  axlewright book log larch --kind reading --kind attempt
  axlewright book log larch --since 2026-11-25
  axlewright book log larch --grep eccentric --json

The moment is in universal time. A struck entry has a cross and the number of
the strike.")]
pub struct Log {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// Only entries of this kind; may be given again
    #[arg(long, value_name = "KIND", value_parser = kind)]
    kind: Vec<&'static str>,
    /// Only entries from this day on, or from this number on
    #[arg(long, value_name = "DAY or N", value_parser = since)]
    since: Option<Since>,
    /// Only entries with these letters in them, large or small
    #[arg(long, value_name = "TEXT")]
    grep: Option<String>,
    /// Print the entries as JSON instead
    #[arg(long)]
    json: bool,
}

#[derive(Debug, Clone)]
enum Since {
    Day(String),
    Seq(u64),
}

fn kind(text: &str) -> Result<&'static str, String> {
    let words: Vec<&'static str> = KINDS.iter().map(|(_, word, _)| *word).collect();
    let found = words.iter().find(|word| word.eq_ignore_ascii_case(text.trim()));
    found.copied().ok_or_else(|| format!("the kinds are: {}", words.join(", ")))
}

fn since(text: &str) -> Result<Since, String> {
    let text = text.trim();
    if let Ok(seq) = text.parse() {
        return Ok(Since::Seq(seq));
    }
    let day = text.parse::<jiff::civil::Date>();
    day.map(|day| Since::Day(day.to_string()))
        .map_err(|_| "a day as 2026-11-25, or an entry's number".to_owned())
}

impl Log {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (bench, exit) = look_at(streams, &self.book)?;
        let view = bench.look();
        let state = view.state();
        let wanted = self.grep.as_deref().map(str::to_lowercase);
        let entries = state.entries().iter().filter(|entry| self.wants(entry, wanted.as_deref()));
        if self.json {
            let entries: Vec<_> =
                entries.map(|entry| json::entry(entry, state.struck_by(entry.seq))).collect();
            print_json(streams, car_name(&bench).as_deref(), "entries", entries.into())?;
            return Ok(exit);
        }
        let mut shown = 0_usize;
        for entry in entries {
            one(streams.out, entry, state)?;
            shown += 1;
        }
        let all = text::counted(state.entries().len(), "entry").replace("entrys", "entries");
        writeln!(streams.err, "{shown} of {all}")?;
        Ok(exit)
    }

    fn wants(&self, entry: &Entry, letters: Option<&str>) -> bool {
        let is_kind = self.kind.is_empty() || self.kind.contains(&entry.body.kind());
        let is_since = match &self.since {
            None => true,
            Some(Since::Seq(seq)) => *seq <= entry.seq,
            // The same form, so the order of the letters is that of the days.
            Some(Since::Day(day)) => *day <= entry.at,
        };
        is_kind
            && is_since
            && letters.is_none_or(|letters| {
                let words = format!("{} {}", entry.by, say::in_words(&entry.body));
                words.to_lowercase().contains(letters)
                    || entry.body.to_json().to_lowercase().contains(letters)
            })
    }
}

fn one(out: &mut dyn Write, entry: &Entry, state: &State) -> io::Result<()> {
    let minute = entry.at.get(..16).unwrap_or(&entry.at).replace('T', " ");
    let strike = state.struck_by(entry.seq);
    let cross = if strike.is_some() { "x" } else { " " };
    let struck = strike.map(|by| format!(" [struck by entry {by}]")).unwrap_or_default();
    let head = format!("{:>6}{cross} {minute}  {:<9} ", entry.seq, entry.body.kind());
    let words = format!("{}{struck} · {}", say::in_words(&entry.body), entry.by);
    text::hanging(out, &head, "          ", &words)
}

//! `axlewright book parts` and `book marks`: what is where, what is still out, what a mark is
//! worth.

use std::io::{self, Write};
use std::path::PathBuf;

use axlewright_book::PartState;
use axlewright_book::log::{Body, MarkLife, State};
use clap::Args;
use serde_json::{Value, json};

use super::{car_name, look_at, print_json};
use crate::cli::Outcome;
use crate::desk::bench::View;
use crate::desk::book::{KeptPart, parts_of};
use crate::desk::say;
use crate::{Exit, Streams, text};

/// Show the parts: what is still out and when it is due, where the others are
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book parts larch
  axlewright book parts larch --of bar-left        its whole life
  axlewright book parts larch --json")]
pub struct Parts {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// Everything that happened to this part
    #[arg(long, value_name = "PART")]
    of: Option<String>,
    /// Print the parts as JSON instead
    #[arg(long)]
    json: bool,
}

impl Parts {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (bench, exit) = look_at(streams, &self.book)?;
        let view = bench.look();
        let mut parts = parts_of(&view);
        if let Some(of) = &self.of {
            parts.retain(|part| part.id == of);
            if parts.is_empty() {
                let right = format!("`axlewright book parts {}` lists them", self.book.display());
                let what = format!("no part is called `{of}`");
                super::super::complain(streams.err, &what, Some(&right))?;
                return Ok(Exit::Problems);
            }
        }
        if self.json {
            let parts: Vec<Value> = parts.iter().map(|part| as_json(part, view.state())).collect();
            print_json(streams, car_name(&bench).as_deref(), "parts", parts.into())?;
            return Ok(exit);
        }
        match (&self.of, parts.first()) {
            (Some(_), Some(part)) => tell_life(streams.out, part, view.state())?,
            _ => tell_parts(streams.out, &parts, &view)?,
        }
        Ok(exit)
    }
}

fn as_json(part: &KeptPart<'_>, state: &State) -> Value {
    let life = part.life;
    json!({
        "part": part.id,
        "name": part.name,
        "where": part.place.map(PartState::word),
        "due": part.due,
        "verdict": part.verdict(state),
        "decided": life.and_then(|life| life.fate).map(|(what, _)| say::happened_to(what)),
        "fitted_to": life.and_then(|life| life.side).map(axlewright_quantity::Side::word),
        "entries": life.map(|life| life.events.clone()).unwrap_or_default(),
    })
}

fn tell_parts(out: &mut dyn Write, parts: &[KeptPart<'_>], view: &View) -> io::Result<()> {
    let places = [
        ("Still out", Some(PartState::Out)),
        ("On the bench", Some(PartState::OnTheBench)),
        ("On the car", Some(PartState::Fitted)),
        ("Nobody says where", None),
    ];
    for (title, place) in places {
        let here: Vec<&KeptPart> = parts.iter().filter(|part| part.place == place).collect();
        if here.is_empty() {
            continue;
        }
        text::heading(out, &format!("{title}: {}", text::counted(here.len(), "part")))?;
        for part in here {
            let mut words = format!("{}: {}", part.id, part.name);
            if part.is_out() {
                let due = part.due.as_deref().unwrap_or("no day was said");
                words.push_str(&format!(", due {due}"));
            }
            if let Some(verdict) = part.verdict(view.state()) {
                words.push_str(&format!(", {verdict}"));
            }
            text::hanging(out, "  ", "    ", &words)?;
        }
    }
    Ok(())
}

fn tell_life(out: &mut dyn Write, part: &KeptPart<'_>, state: &State) -> io::Result<()> {
    let place = part.place.map_or("nobody says where", PartState::word);
    let due = part.due.as_ref().map(|due| format!(", due {due}")).unwrap_or_default();
    text::paragraph(out, "", &format!("{}: {}, {place}{due}", part.id, part.name))?;
    for seq in part.life.map(|life| life.events.as_slice()).unwrap_or_default() {
        tell_entry(out, *seq, state)?;
    }
    Ok(())
}

fn tell_entry(out: &mut dyn Write, seq: u64, state: &State) -> io::Result<()> {
    let Some(entry) = state.entry(seq) else { return Ok(()) };
    let day = entry.day().unwrap_or_default();
    let words = format!("{} · {}", say::in_words(&entry.body), entry.by);
    text::hanging(out, &format!("  {seq:>5}  {day}  "), "         ", &words)
}

/// Show the witness marks: between what, how far off on return, which are void
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright book marks larch
  axlewright book marks larch --json

A mark is void once a part under it was replaced or refinished: there is nothing
left to come back to.")]
pub struct Marks {
    /// The book's folder
    #[arg(value_name = "BOOK")]
    book: PathBuf,
    /// Print the marks as JSON instead
    #[arg(long)]
    json: bool,
}

impl Marks {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let (bench, exit) = look_at(streams, &self.book)?;
        let view = bench.look();
        let state = view.state();
        let marks = &state.facts().marks;
        if self.json {
            let marks: Vec<Value> =
                marks.iter().map(|(name, mark)| one(name, mark, state)).collect();
            print_json(streams, car_name(&bench).as_deref(), "marks", marks.into())?;
            return Ok(exit);
        }
        if marks.is_empty() {
            writeln!(streams.out, "No marks yet: `axlewright book add mark` writes one.")?;
        }
        for (name, mark) in marks {
            tell_mark(streams.out, name, mark, state)?;
        }
        Ok(exit)
    }
}

/// The offset of a mark, as written.
fn offset(mark: &MarkLife, state: &State) -> Option<String> {
    match &state.entry(mark.offset?)?.body {
        Body::Mark(said) => said.offset.clone(),
        _ => None,
    }
}

fn photos(name: &str, state: &State) -> usize {
    state.facts().photos.get(name).map_or(0, Vec::len)
}

fn one(name: &str, mark: &MarkLife, state: &State) -> Value {
    json!({
        "mark": name,
        "between": mark.between,
        "side": mark.side.map(axlewright_quantity::Side::word),
        "made": mark.made,
        "offset": offset(mark, state),
        "void": mark.void.as_ref().map(|void| json!({ "part": void.part, "entry": void.seq })),
        "photos": photos(name, state),
        "entries": mark.events,
    })
}

fn tell_mark(out: &mut dyn Write, name: &str, mark: &MarkLife, state: &State) -> io::Result<()> {
    let [first, second] = &mark.between;
    let worth = match (&mark.void, offset(mark, state)) {
        (Some(void), _) => format!("VOID: {} was {} (entry {})", void.part, void.word(), void.seq),
        (None, Some(offset)) => format!("back, {offset} off"),
        (None, None) => "not looked at since".to_owned(),
    };
    let photos = match photos(name, state) {
        0 => "no photo".to_owned(),
        some => text::counted(some, "photo"),
    };
    let words = format!("{name}: {first} to {second}, {worth}, {photos} (entry {})", mark.made);
    text::hanging(out, "", "  ", &words)
}

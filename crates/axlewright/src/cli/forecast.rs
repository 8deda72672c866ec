//! `axlewright forecast`: how many of a hundred builds land within tolerance, and which measurement
//! made better helps most.

use std::io::{self, Write};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::time::Duration;

use axlewright_setup::wheels::{self, Go, Progress, Question};
use axlewright_setup::{Assessment, Finding, Item};
use clap::Args;

use super::car::{Begun, CarCall, add_faults};
use super::order::watch::listen;
use super::trim::{number, word};
use super::{NOTE_U, Outcome};
use crate::{Streams, text};

/// Build the car twenty thousand times over: how many need no second indexing
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright forecast my-car/car.toml
  axlewright forecast my-car/car.toml --builds 1000000 --seed 7
  axlewright forecast my-car/car.toml --json

Each build has parts and readings a little other than they are thought to be,
as far as the car file says how sure they are. The same seed gives the same
builds on any machine, unless the Enter key ends the run; the JSON says what
ended it: effort or user.")]
pub struct Forecast {
    #[command(flatten)]
    car: CarCall,
    /// How many builds of each corner
    #[arg(long, value_name = "N", default_value_t = 20_000)]
    #[arg(value_parser = clap::value_parser!(u32).range(100..=20_000_000))]
    builds: u32,
    /// Which builds: the same number gives the same ones
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
}

/// Between two pictures of the line.
const EVERY: Duration = Duration::from_millis(150);
/// A run that is over sooner shows nothing.
const QUIET: u32 = 3;

impl Forecast {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let view = self.car.open()?;
        let facts = view.assessment();
        let builds = usize::try_from(self.builds).unwrap_or(usize::MAX);
        let question = Question { builds, seed: self.seed };
        let found = watched(streams, |watch| wheels::forecast(view.car(), facts, question, watch))?;
        let mut faults = view.faults().to_vec();
        add_faults(&mut faults, &found);
        let exit = match self.car.begin(streams, &view, &found, &faults)? {
            Begun::Over(exit) => return Ok(exit),
            Begun::GoOn(exit) => exit,
        };
        answer(streams.out, &found)?;
        Ok(exit)
    }
}

/// Runs something on a thread of its own and draws how far it is; Enter ends it.
pub fn watched(
    streams: &mut Streams<'_>,
    run: impl Send + FnOnce(&(dyn Fn(Progress) -> Go + Sync)) -> Assessment,
) -> io::Result<Assessment> {
    let (done, of) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let over = AtomicBool::new(false);
    let stop = std::sync::Arc::new(AtomicBool::new(false));
    let watch = |progress: Progress| {
        of.store(progress.of, Ordering::Relaxed);
        done.fetch_max(progress.done, Ordering::Relaxed);
        if stop.load(Ordering::Relaxed) { Go::Stop } else { Go::On }
    };
    std::thread::scope(|scope| {
        let work = scope.spawn(|| {
            let found = run(&watch);
            over.store(true, Ordering::Relaxed);
            found
        });
        let mut rounds = 0;
        while streams.watched && !over.load(Ordering::Relaxed) && !work.is_finished() {
            std::thread::sleep(EVERY);
            rounds += 1;
            if rounds < QUIET {
                continue;
            }
            if rounds == QUIET {
                listen(&stop);
            }
            let line = line(done.load(Ordering::Relaxed), of.load(Ordering::Relaxed));
            write!(streams.err, "\r{line:<width$}", width = text::COLUMNS)?;
            streams.err.flush()?;
        }
        if QUIET <= rounds {
            write!(streams.err, "\r{:<width$}\r", "", width = text::COLUMNS)?;
            streams.err.flush()?;
        }
        // The work has no way to panic; if it did, an empty answer says so by what is missing.
        Ok(work.join().unwrap_or_default())
    })
}

fn line(done: usize, of: usize) -> String {
    const BAR: usize = 20;
    let filled = (done * BAR).checked_div(of).unwrap_or(0).min(BAR);
    let bar: String = (0..BAR).map(|at| if at < filled { '#' } else { '.' }).collect();
    format!("[{bar}] {done} of {of} builds. Enter ends.")
}

fn answer(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    if let Some(forecast) = found.find("car.forecast", None) {
        writeln!(out, "{}: how sure", found.car.as_deref().unwrap_or("The car"))?;
        writeln!(out)?;
        text::paragraph(out, "", &forecast.why.words)?;
        writeln!(out)?;
        counts(out, forecast)?;
        text::paragraph(out, "", NOTE_U)?;
    }
    if let Some(budget) = found.find("car.budget", None) {
        text::heading(out, "Which measurement helps most")?;
        text::paragraph(out, "", &budget.why.words)?;
        writeln!(out)?;
        worths(out, budget)?;
    }
    found.gaps.iter().try_for_each(|gap| text::gap(out, gap))
}

fn count(item: Option<&Item>) -> String {
    match item {
        Some(Item::Count(count, _)) => count.to_string(),
        _ => "-".to_owned(),
    }
}

fn counts(out: &mut dyn Write, forecast: &Finding) -> io::Result<()> {
    let value = &forecast.value;
    let of = |key: &str, corner: &str| value.get(key).and_then(|item| item.get(corner));
    let heads = ["", "trim", "19 in 20 between", "of 100 within"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for (name, corner) in [("left", "LR"), ("right", "RR")] {
        let trim = of("trim", corner);
        let end = |key| number(trim.and_then(|trim| trim.get(key)));
        rows.push(vec![
            name.to_owned(),
            number(trim.and_then(|trim| trim.get("mean"))),
            format!("{} to {}", end("low"), end("high")),
            count(of("within", corner)),
        ]);
    }
    let apart = value.get("difference");
    let end = |key| number(apart.and_then(|apart| apart.get(key)));
    rows.push(vec![
        "left less right".to_owned(),
        number(apart.and_then(|apart| apart.get("mean"))),
        format!("{} to {}", end("low"), end("high")),
        String::new(),
    ]);
    rows.push(vec![
        "both, and level".to_owned(),
        String::new(),
        String::new(),
        count(value.get("both_within")),
    ]);
    text::table(out, "  ", &rows)?;
    let builds = count(value.get("builds"));
    writeln!(out, "\n  {builds} builds of each corner, seed {}", word(value, "seed"))?;
    if word(value, "stopped_by") == "user" {
        writeln!(out, "  ended by you: fewer builds than asked for")?;
    }
    writeln!(out)
}

fn worths(out: &mut dyn Write, budget: &Finding) -> io::Result<()> {
    writeln!(out, "   gain   share   of 100")?;
    let all = budget.value.get("rows").map(Item::items).unwrap_or_default();
    for row in all {
        let amount = |key: &str| row.get(key).and_then(Item::amount);
        let gain = amount("gain").map_or(0.0, |a| a.to_si());
        let share = amount("share").map_or_else(|| "-".to_owned(), text::percent);
        let then = count(row.get("within_then"));
        let first = format!("  {gain:>+5.1}   {share:>5}   {then:>6}   ");
        let rest = " ".repeat(first.chars().count());
        text::hanging(out, &first, &rest, word(row, "how"))?;
    }
    Ok(())
}

//! Slips of the hand in the demo's car file, and what is said of them:
//! `slips [--threads N] [--missed | --told] [--cars N] [--only WORD] [--open FILE]`.
#![allow(
    clippy::disallowed_methods,
    clippy::indexing_slicing,
    reason = "an example stands at the rim, and reads a file that is known"
)]

mod aside;
mod judge;
mod sites;
mod sound;
mod table;
mod unknowable;

use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use judge::Outcome;
use sites::Slipped;

/// The demo's car file.
const LARCH: &str = include_str!("../../../../examples/larch-1300/car.toml");

struct Asked {
    threads: usize,
    cars: u64,
    missed: bool,
    /// Whether what is told of the others is printed too.
    told: bool,
    only: Option<String>,
    /// What an earlier call of `--missed` printed: what was not named then is made again.
    open: Option<String>,
}

fn arguments() -> Result<Asked, String> {
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let mut asked =
        Asked { threads, cars: 200, missed: false, told: false, only: None, open: None };
    let mut words = std::env::args().skip(1);
    while let Some(word) = words.next() {
        if word == "--missed" || word == "--told" {
            asked.missed = true;
            asked.told |= word == "--told";
            continue;
        }
        let value = words.next().ok_or_else(|| format!("{word} wants a value"))?;
        match (word.as_str(), value.parse::<u64>()) {
            ("--threads", Ok(n)) if (1..=256).contains(&n) => asked.threads = n as usize,
            ("--cars", Ok(n)) => asked.cars = n,
            ("--only", _) => asked.only = Some(value),
            ("--open", _) => {
                let text = std::fs::read_to_string(&value);
                asked.open = Some(text.map_err(|error| format!("{value}: {error}"))?);
            }
            _ => return Err(format!("{word} {value} is not understood")),
        }
    }
    Ok(asked)
}

/// Every slip judged, in order, on some threads.
fn judged(slips: &[Slipped], threads: usize) -> Vec<[Outcome; 2]> {
    let before = judge::sound(LARCH);
    let (next, found) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(slip) = slips.get(at) else { break };
                    let outcome = judge::judge(slip, &before);
                    if let Ok(mut all) = found.lock() {
                        all.push((at, outcome));
                    }
                }
            });
        }
    });
    let mut all = found.into_inner().unwrap_or_default();
    all.sort_unstable();
    all.into_iter().map(|(_, outcome)| outcome).collect()
}

fn main() -> ExitCode {
    let asked = match arguments() {
        Ok(asked) => asked,
        Err(words) => {
            eprintln!("{words}");
            return ExitCode::from(2);
        }
    };
    let (car, _) = axlewright_book::read(LARCH);
    let mut slips = sites::slips(LARCH, &car);
    if let Some(word) = &asked.only {
        slips.retain(|slip| slip.name.contains(word.as_str()));
    }
    if let Some(open) = &asked.open {
        let line = |slip: &Slipped| {
            let wrote = slip.wrote.replace('\n', " ");
            format!("{} {}: {wrote}", slip.number, slip.hand.word())
        };
        let named = Outcome::Named.word();
        let still = |slip: &Slipped| {
            let line = line(slip);
            open.lines().any(|l| l.ends_with(&line) && !l.starts_with(named))
        };
        slips.retain(|slip| still(slip) && !aside::is_aside(&slip.name));
    }
    let both = judged(&slips, asked.threads);
    let [outcomes, without]: [Vec<Outcome>; 2] =
        [0, 1].map(|at| both.iter().map(|one| one[at]).collect());
    if asked.missed {
        let before = judge::sound(LARCH);
        for (slip, outcome) in slips.iter().zip(&outcomes) {
            let aside = if aside::is_aside(&slip.name) { "aside " } else { "" };
            let wrote = slip.wrote.replace('\n', " ");
            let (hand, word) = (slip.hand.word(), outcome.word());
            eprintln!("{word}: {aside}{} {hand}: {wrote}", slip.number);
            // What was set aside is not looked into.
            let look = asked.told && aside.is_empty() && *outcome != Outcome::Named;
            for line in look.then(|| judge::words(slip, &before)).into_iter().flatten() {
                eprintln!("    {line}");
            }
        }
    }
    print!("{}", table::table(&slips, &outcomes));
    println!("\nWithout the checks of one way against another:\n");
    print!("{}", table::fields(&slips, &without));
    if 0 < asked.cars {
        print!("{}", table::sound(asked.cars, &sound::alarmed(asked.cars, asked.threads)));
    }
    print!("{}", table::unknown(&slips, &outcomes));
    ExitCode::SUCCESS
}

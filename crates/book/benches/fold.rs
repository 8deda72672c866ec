//! How long a long log takes to be understood and folded, and what it takes in memory:
//! `cargo bench -p axlewright-book --bench fold`.
//!
//! 100 000 entries of a whole restoration with 5000 parts, a tenth of it struck or restored. The
//! JSON of the bodies is read first, as a store hands it over; then the entries are folded.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a benchmark reads the clock and its own memory; the crate itself does neither"
)]

use std::hint::black_box;
use std::sync::Arc;
use std::time::Instant;

use axlewright_book::log::{
    Attempt, Body, Bolt, Entry, Mark, Part, PartHappened, Photo, Reading, Round, Step,
    StepHappened, fold,
};

const ENTRIES: u64 = 100_000;
const PARTS: u64 = 5_000;

const CAR: &str = include_str!("../../../examples/larch-1300/car.toml");

fn main() {
    let texts: Vec<(String, u32, String)> = (1..=ENTRIES)
        .map(|seq| {
            let body = body(seq);
            (body.kind().to_owned(), body.version(), body.to_json())
        })
        .collect();
    let before = peak_mb();
    let start = Instant::now();
    let entries: Vec<Arc<Entry>> = texts
        .iter()
        .zip(1..)
        .map(|((kind, version, text), seq)| {
            let body = Body::from_json(kind, *version, text);
            let at = "2026-11-25T21:00:00Z".to_owned();
            Arc::new(Entry { seq, at, by: "restorer".to_owned(), body })
        })
        .collect();
    println!("{ENTRIES} bodies read from JSON: {:.3} s", start.elapsed().as_secs_f64());

    let busy = on_the_processor();
    let mut times: Vec<f64> = (0..7)
        .map(|_| {
            let entries = entries.clone();
            let start = Instant::now();
            black_box(fold(entries));
            start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    if let (Some(before), Some(after)) = (busy, on_the_processor()) {
        println!("fold, time on the processor, mean of 7: {:.3} s", (after - before) / 7.0);
    }
    println!("fold, best and median of 7: {:.3} s, {:.3} s", times[0], times[3]);

    let state = fold(entries);
    let (parts, unfolded) = (state.facts().parts.len(), state.unfolded().count());
    println!("{parts} parts, {} struck, {unfolded} not folded", state.struck().len());
    let start = Instant::now();
    black_box(state.car());
    println!("the car as it stands, its file read: {:.4} s", start.elapsed().as_secs_f64());
    let start = Instant::now();
    black_box(state.car());
    println!("the car as it stands, again: {:.4} s", start.elapsed().as_secs_f64());
    let mut state = state;
    let start = Instant::now();
    for seq in ENTRIES + 1..=ENTRIES + 1000 {
        let body = body(seq | 1);
        let at = "2026-11-25T21:00:00Z".to_owned();
        if !matches!(body, Body::Strike { .. }) {
            state.after(Entry { seq, at, by: "restorer".to_owned(), body });
        }
    }
    let each = start.elapsed().as_secs_f64() / 1000.0;
    println!("one more entry: {:.1} µs", each * 1e6);
    if let (Some(before), Some(after)) = (before, peak_mb()) {
        println!("peak memory {after} MB; {before} MB before the entries were there");
    }
}

/// One body after the other, the same on every run.
#[expect(clippy::too_many_lines, reason = "one table of bodies, a row for each kind")]
fn body(seq: u64) -> Body {
    let text = |text: &str| Some(text.to_owned());
    let reading = |value: u64| Reading {
        what: "plate angle".to_owned(),
        side: text("left"),
        value: format!("{}.{} deg u 0.15 deg", 20 + value % 15, value % 10),
        arrow: text("nose"),
        hung: text("plate"),
        lash: text("lifted"),
        seat: text("reference line"),
        ..Reading::default()
    };
    let part = |n: u64| format!("part-{}", n % PARTS);
    match seq % 20 {
        _ if seq == 1 => Body::CarFile { text: CAR.to_owned() },
        0 | 10 => Body::Strike { seq: seq - 1 - seq % 7, why: "read wrongly".to_owned() },
        1 | 2 => Body::Reading(reading(seq)),
        3..=7 => Body::Part(Part {
            part: part(seq / 20 * 5 + seq % 20),
            happened: match seq % 4 {
                0 => PartHappened::Tagged,
                1 => PartHappened::Inspected,
                2 => PartHappened::Ordered,
                _ => PartHappened::Fitted,
            },
            side: None,
            verdict: None,
            due: None,
            in_spite: None,
            name: Some(format!("part number {}", (seq / 20 * 5 + seq % 20) % PARTS)),
            note: text("seen in good light, thread clean"),
        }),
        8 => Body::Mark(Mark {
            mark: format!("mark {}", seq / 20),
            between: [part(seq), part(seq + 1)],
            ..Mark::default()
        }),
        9 | 11 | 12 | 13 => Body::Photo(Photo {
            sha256: format!("{seq:064x}"),
            media: "image/jpeg".to_owned(),
            bytes: 300_000,
            width: 1600,
            height: 1200,
            of: part(seq),
            when: text("before"),
            note: None,
        }),
        14 => Body::Step(Step {
            step: "fit-plates".to_owned(),
            happened: StepHappened::Started,
            minutes: Some(12),
            found: None,
            in_spite: None,
            note: None,
        }),
        15 => Body::Bolt(Bolt {
            joint: "hub-cover-left".to_owned(),
            bolt: 1 + u32::from(seq.is_multiple_of(3)),
            state: "torqued".to_owned(),
            value: text("4.4 kgf m"),
            wrench: text("middle click wrench"),
            position: text("ride"),
            date: None,
        }),
        16 => Body::Attempt(Attempt {
            side: "left".to_owned(),
            anchor_teeth: 1,
            plate_teeth: -1,
            reading: reading(seq),
            ..Attempt::default()
        }),
        17 if seq % 1000 == 17 => Body::Round(Round {
            load: "empty, half a tank".to_owned(),
            weight: [("LF", "210 kg"), ("RF", "215 kg"), ("LR", "288 kg"), ("RR", "272 kg")]
                .map(|(at, value)| (at.to_owned(), value.to_owned()))
                .into(),
            ..Round::default()
        }),
        _ => Body::Note {
            about: part(seq),
            text: "Thread chased, washer under the head was missing, new one put in.".to_owned(),
        },
    }
}

/// Seconds this process has been on a processor, where the system tells: on a busy machine the
/// clock also counts the waiting.
fn on_the_processor() -> Option<f64> {
    let text = std::fs::read_to_string("/proc/self/schedstat").ok()?;
    let ns: f64 = text.split_whitespace().next()?.parse().ok()?;
    Some(ns / 1e9)
}

/// The most memory this process has had, where the system tells.
fn peak_mb() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    let kb: u64 = line.split_whitespace().nth(1)?.parse().ok()?;
    Some(kb / 1024)
}

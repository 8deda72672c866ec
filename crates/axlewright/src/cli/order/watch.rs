//! Watching a search: its line on the terminal, its clock, and the key that ends it.

use std::io::{self, BufRead, Write};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use axlewright_setup::order::{Control, Progress};

use crate::text;

/// A search that is over sooner shows nothing.
const QUIET: Duration = Duration::from_millis(300);
/// Between two pictures of the line.
const EVERY: Duration = Duration::from_millis(150);
/// Width of the bar, in letters.
const BAR: usize = 20;

/// What is shown of a search, and what ends it.
pub struct Watch<'a> {
    err: &'a mut dyn Write,
    /// Whether somebody sits at a terminal.
    watched: bool,
    seconds: Option<f64>,
    begun: Instant,
    drawn: Option<Instant>,
    enter: Arc<AtomicBool>,
}

impl<'a> Watch<'a> {
    pub fn new(err: &'a mut dyn Write, watched: bool, seconds: Option<f64>) -> Self {
        let (begun, enter) = (Instant::now(), Arc::new(AtomicBool::new(false)));
        Self { err, watched, seconds, begun, drawn: None, enter }
    }

    /// What a search asks now and then: whether to go on.
    pub fn ask(&mut self, progress: &Progress<'_>) -> Control {
        let passed = self.begun.elapsed();
        if self.seconds.is_some_and(|most| most <= passed.as_secs_f64()) {
            return Control::OutOfTime;
        }
        if self.enter.load(Ordering::Relaxed) {
            return Control::Stop;
        }
        let is_due = self.drawn.is_none_or(|last| EVERY <= last.elapsed());
        if self.watched && QUIET <= passed && is_due {
            if self.drawn.is_none() {
                listen(&self.enter);
            }
            // A line that cannot be drawn is no reason to end the search.
            let _ = write!(self.err, "\r{}", padded(&line(progress)));
            let _ = self.err.flush();
            self.drawn = Some(Instant::now());
        }
        Control::Go
    }

    /// Takes the line off the terminal.
    pub fn clear(self) -> io::Result<()> {
        if self.drawn.is_some() {
            write!(self.err, "\r{}\r", padded(""))?;
            self.err.flush()?;
        }
        Ok(())
    }
}

/// Enter ends the search. The thread waits for a line that may never come; it ends with the
/// process.
pub fn listen(enter: &Arc<AtomicBool>) {
    let enter = Arc::clone(enter);
    std::thread::spawn(move || {
        let mut line = String::new();
        if io::stdin().lock().read_line(&mut line).is_ok_and(|read| 0 < read) {
            enter.store(true, Ordering::Relaxed);
        }
    });
}

/// Filled with blanks, so that nothing of a longer line stays; no escape is needed for that.
fn padded(line: &str) -> String {
    format!("{line:<width$}", width = text::COLUMNS)
}

/// How far the proof is: what no order can have less than, as a share of the best found.
fn line(progress: &Progress<'_>) -> String {
    let gap = progress.gap_per_mille();
    let filled = usize::try_from(1000u64.saturating_sub(gap)).unwrap_or(0) * BAR / 1000;
    let bar: String = (0..BAR).map(|at| if at < filled { '#' } else { '.' }).collect();
    let best = text::minutes_of_seconds(progress.value);
    let bound = text::minutes_of_seconds(progress.bound);
    format!("[{bar}] best {best}, at least {bound}, gap {}.{} %. Enter ends.", gap / 10, gap % 10)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn progress(value: i64, bound: i64) -> Progress<'static> {
        Progress { value, bound, moves: 1, order: &[] }
    }

    #[test]
    fn the_line_says_best_bound_and_gap() {
        let said = line(&progress(12_000, 9_000));
        assert_eq!(
            said,
            "[###############.....] best 3 h 20 min, at least 2 h 30 min, gap 25.0 %. Enter ends."
        );
        for (value, bound) in [(0, 0), (i64::MAX, 0), (1, i64::MAX), (i64::MIN, i64::MAX)] {
            assert!(line(&progress(value, bound)).starts_with('['));
        }
    }

    #[test]
    fn the_clock_ends_a_search_and_nobody_watching_sees_nothing() {
        let mut err = Vec::new();
        let mut watch = Watch::new(&mut err, false, Some(0.0));
        assert_eq!(watch.ask(&progress(10, 5)), Control::OutOfTime);
        watch.clear().unwrap();
        let mut watch = Watch::new(&mut err, false, None);
        watch.begun -= Duration::from_secs(10);
        assert_eq!(watch.ask(&progress(10, 5)), Control::Go);
        watch.clear().unwrap();
        assert!(err.is_empty());
    }

    #[test]
    fn somebody_watching_sees_a_line_that_is_taken_off_again() {
        let mut err = Vec::new();
        let mut watch = Watch::new(&mut err, true, None);
        assert_eq!(watch.ask(&progress(600, 300)), Control::Go);
        assert!(watch.drawn.is_none(), "too early for a line");
        watch.begun -= Duration::from_secs(1);
        assert_eq!(watch.ask(&progress(600, 300)), Control::Go);
        watch.enter.store(true, Ordering::Relaxed);
        assert_eq!(watch.ask(&progress(600, 300)), Control::Stop);
        watch.clear().unwrap();
        let said = String::from_utf8(err).unwrap();
        assert!(said.starts_with("\r[##########..........] best 10 min"), "{said:?}");
        assert!(said.ends_with(&format!("\r{}\r", " ".repeat(text::COLUMNS))), "{said:?}");
    }
}

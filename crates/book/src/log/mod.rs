//! The log of a book: entries that are only ever added, and the state they fold to.
//!
//! An [`Entry`] is a [`Body`] with its number, its moment and who wrote it. In the log's text the
//! body stands as a JSON object beside its kind and the version of that kind; [`Body::to_json`] and
//! [`Body::from_json`] are the only way across. A body that cannot be read — a kind that is not
//! known here, a newer version, an object of another shape — is kept as it stands
//! ([`Unread`]) and says what would read it. Nothing is lost and nothing is guessed at.

pub mod body;
mod car;
mod check;
mod diff;
mod figures;
mod form;
mod gate;
mod json;
pub mod line;
mod refusal;
mod signing;
mod state;
mod torque;

pub use body::{
    Attempt, Body, Bolt, Energy, Lost, Mark, Moved, Part, PartHappened, Photo, Reading, Recheck,
    Round, Signed, Step, StepHappened,
};
pub use car::{import_of, readings_in};
pub use check::{answer, check, completed};
pub use diff::{Change, Diff, DiffLine, diff};
pub use figures::{Figures, Unfigured};
pub use form::{BEFORE_STRIP_DOWN, PHOTO_BYTES_MAX, PHOTO_PIXELS_MAX, ReadingKey, Spot, What};
pub use gate::{Gate, gated};
pub use json::{KINDS, Kind, Unread, Why};
pub use line::{Line, LineError, Sha, seal};
pub use refusal::Refusal;
pub use signing::{JOB, Judge, NOW, Overtaken, Standing, StillOpen, joint_at, open_in_words};
pub use state::{
    AttemptAt, Facts, LoadedFile, MarkLife, PartLife, ReadingAt, RecheckLife, State, StepLife,
    Tooth, Unfolded, Void, fold,
};
pub use torque::{Asked, NotAsAsked, position_refused};

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number in the log, the first being 1.
    pub seq: u64,
    /// When it was written: RFC 3339, in UTC, `2026-11-25T21:00:00Z`.
    pub at: String,
    /// Who wrote it.
    pub by: String,
    /// What it says.
    pub body: Body,
}

impl Entry {
    /// The day it was written on, `2026-11-25`, as far as its moment names one.
    pub fn day(&self) -> Option<&str> {
        self.at.get(..10).filter(|day| crate::Day::parse(day).is_some())
    }
}

/// Whether a moment is written as the log writes it: `2026-11-25T21:00:00Z`, with or without parts
/// of a second.
pub fn is_moment(at: &str) -> bool {
    let (Some(day), Some(clock)) = (at.get(..10), at.get(10..)) else { return false };
    let Some(clock) = clock.strip_prefix('T').and_then(|clock| clock.strip_suffix('Z')) else {
        return false;
    };
    let (whole, parts) = match clock.split_once('.') {
        Some((whole, parts)) => (whole, Some(parts)),
        None => (clock, None),
    };
    let two = |text: &str| match text.as_bytes() {
        [tens @ b'0'..=b'9', ones @ b'0'..=b'9'] => Some((tens - b'0') * 10 + (ones - b'0')),
        _ => None,
    };
    let numbers: Vec<Option<u8>> = whole.split(':').take(4).map(two).collect();
    // A leap second is written 60.
    let in_day = matches!(numbers.as_slice(), [Some(0..=23), Some(0..=59), Some(0..=60)]);
    let parts_are_digits = parts.is_none_or(|parts| {
        (1..=9).contains(&parts.len()) && parts.bytes().all(|b| b.is_ascii_digit())
    });
    crate::Day::parse(day).is_some() && in_day && parts_are_digits
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_written_one_way() {
        let good = ["2026-11-25T21:00:00Z", "2024-02-29T23:59:60Z", "2026-11-25T00:00:00.123Z"];
        for at in good {
            assert!(is_moment(at), "{at}");
        }
        let bad = [
            "",
            "2026-11-25",
            "2026-11-25 21:00:00Z",
            "2026-11-25T21:00:00",
            "2026-11-25T21:00:00+01:00",
            "2026-11-31T21:00:00Z",
            "2023-02-29T21:00:00Z",
            "2026-11-25T24:00:00Z",
            "2026-11-25T21:60:00Z",
            "2026-11-25T21:00Z",
            "2026-11-25T21:00:00.Z",
            "2026-11-25T2é:00:00Z",
            "2026-11-2é",
        ];
        for at in bad {
            assert!(!is_moment(at), "{at}");
        }
    }
}

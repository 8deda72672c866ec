//! Lengths of time in whole seconds: exact to add up and to prove things with.

use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Sub};

/// Hours in the longest time that is taken for one task, changeover or wait.
pub(crate) const HOURS_MAX: i64 = 10_000;

/// A length of time, or an instant counted from some start.
///
/// # Units and sign
/// Whole seconds; a negative one is only ever a mistake to be reported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Time(i64);

impl Time {
    /// None at all.
    pub const ZERO: Self = Self(0);
    /// The longest that is taken for one task or changeover: ten thousand hours.
    pub const LONGEST: Self = Self(HOURS_MAX * 3600);

    /// From whole seconds.
    #[must_use]
    pub const fn seconds(seconds: i64) -> Self {
        Self(seconds)
    }
    /// From whole minutes.
    #[must_use]
    pub const fn minutes(minutes: i64) -> Self {
        Self(minutes.saturating_mul(60))
    }
    /// From whole hours.
    #[must_use]
    pub const fn hours(hours: i64) -> Self {
        Self(hours.saturating_mul(3600))
    }
    /// From whole days of 24 hours.
    #[must_use]
    pub const fn days(days: i64) -> Self {
        Self(days.saturating_mul(86_400))
    }
    /// In whole seconds.
    #[must_use]
    pub const fn to_seconds(self) -> i64 {
        self.0
    }
    /// In minutes, rounded up: what to reckon with.
    #[must_use]
    pub const fn to_minutes_up(self) -> i64 {
        self.0.saturating_add(59).div_euclid(60)
    }
}

impl Add for Time {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0.saturating_add(other.0))
    }
}
impl AddAssign for Time {
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}
impl Sub for Time {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0.saturating_sub(other.0))
    }
}
impl Sum for Time {
    fn sum<I: Iterator<Item = Self>>(times: I) -> Self {
        times.fold(Self::ZERO, Add::add)
    }
}

impl fmt::Display for Time {
    /// `2 h 5 min`, `40 s`, `1 min 30 s`; hours are not turned into days.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "−" } else { "" };
        let all = self.0.unsigned_abs();
        let (hours, minutes, seconds) = (all / 3600, all / 60 % 60, all % 60);
        let words: Vec<String> = [(hours, "h"), (minutes, "min"), (seconds, "s")]
            .into_iter()
            .filter(|&(count, _)| count > 0)
            .map(|(count, unit)| format!("{count} {unit}"))
            .collect();
        if words.is_empty() { f.write_str("0 min") } else { write!(f, "{sign}{}", words.join(" ")) }
    }
}

#[cfg(test)]
mod tests {
    use super::Time;

    #[test]
    fn shown_as_a_person_says_it() {
        for (time, words) in [
            (Time::ZERO, "0 min"),
            (Time::seconds(40), "40 s"),
            (Time::seconds(90), "1 min 30 s"),
            (Time::minutes(125), "2 h 5 min"),
            (Time::days(9), "216 h"),
            (Time::seconds(-60), "−1 min"),
        ] {
            assert_eq!(time.to_string(), words);
        }
        assert_eq!(Time::seconds(61).to_minutes_up(), 2);
        assert_eq!(Time::seconds(i64::MAX) + Time::days(1), Time::seconds(i64::MAX));
    }
}

//! Days and working sessions.

use crate::builds::{YearMonth, digits};
use crate::words::Weekday;
use std::fmt;

/// A day of the Gregorian calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day {
    month: YearMonth,
    day: u8,
}

/// A time of the week at which there is work.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Session {
    /// On which day.
    pub day: Weekday,
    /// When it begins, in minutes after midnight.
    pub start: u32,
    /// How long it lasts, in minutes; it ends before midnight.
    pub minutes: u32,
    /// Every so many weeks, from the first such day on or after the start of the calendar.
    pub every: u32,
}

impl Day {
    /// Years 1885 to 2100; nothing for a day that is on no calendar.
    pub fn new(year: u16, month: u8, day: u8) -> Option<Self> {
        let month = YearMonth::new(year, month)?;
        (1..=days_in(month)).contains(&day).then_some(Self { month, day })
    }

    /// `"1964-05-04"`.
    pub fn parse(text: &str) -> Option<Self> {
        let text = text.trim();
        let (month, day) = text.rsplit_once('-')?;
        if day.len() != 2 || month.len() != 7 {
            return None;
        }
        let month = YearMonth::parse(month)?;
        Self::new(month.year(), month.month(), digits(day)?.try_into().ok()?)
    }

    /// The year.
    pub const fn year(self) -> u16 {
        self.month.year()
    }
    /// The month, 1 to 12.
    pub const fn month(self) -> u8 {
        self.month.month()
    }
    /// The day of the month, from 1.
    pub const fn day(self) -> u8 {
        self.day
    }

    /// Days from 1885-01-01, which is 0: the difference of two is the days between them.
    pub fn number(self) -> u32 {
        let (year, month) = (u32::from(self.year()), self.month());
        let years: u32 = (1885..year).map(|y| if is_leap(y) { 366 } else { 365 }).sum();
        let months = (1..month).filter_map(|m| YearMonth::new(self.year(), m));
        let before: u32 = months.map(|m| u32::from(days_in(m))).sum();
        years + before + u32::from(self.day) - 1
    }

    /// The day that comes so many days after 1885-01-01; nothing after the year 2100.
    pub fn from_number(number: u32) -> Option<Self> {
        /// Days in 216 years, and some more.
        const BEYOND: u32 = 80_000;
        let (mut year, mut left) = (1885, Some(number).filter(|n| *n < BEYOND)?);
        while let Some(rest) = left.checked_sub(if is_leap(year) { 366 } else { 365 }) {
            (year, left) = (year + 1, rest);
        }
        let year = u16::try_from(year).ok()?;
        for month in 1..=12 {
            let days = u32::from(days_in(YearMonth::new(year, month)?));
            if left < days {
                return Self::new(year, month, u8::try_from(left + 1).ok()?);
            }
            left -= days;
        }
        None
    }

    /// Its day of the week.
    pub fn weekday(self) -> Weekday {
        // 1885-01-01 was a Thursday, the third after Monday.
        let after_monday = (self.number() + 3) % 7;
        let day = Weekday::ALL.get(after_monday as usize);
        day.copied().unwrap_or(Weekday::Mon)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{:02}", self.month, self.day)
    }
}

/// Every fourth year but the full centuries that are not divisible by 400.
const fn is_leap(year: u32) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

fn days_in(month: YearMonth) -> u8 {
    match month.month() {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(u32::from(month.year())) => 29,
        2 => 28,
        _ => 31,
    }
}

impl Session {
    /// `"Mon 19:00 180"`, `"Sat 09:00 420 every 2"`: day, when it begins, minutes, every how many
    /// weeks.
    pub fn parse(text: &str) -> Option<Self> {
        let words: Vec<&str> = text.split_whitespace().take(6).collect();
        let (day, start, minutes, every) = match *words.as_slice() {
            [day, start, minutes] => (day, start, minutes, 1),
            [day, start, minutes, "every", every] => (day, start, minutes, digits(every)?),
            _ => return None,
        };
        let (hour, minute) = start.split_once(':')?;
        let (hour, minute, minutes) = (digits(hour)?, digits(minute)?, digits(minutes)?);
        let sound = hour < 24 && minute < 60 && (1..=8).contains(&every) && 0 < minutes;
        let start = hour.checked_mul(60)?.checked_add(minute)?;
        let before_midnight = start.checked_add(minutes)? <= 24 * 60;
        let day = Weekday::from_word(day)?;
        (sound && before_midnight).then_some(Self { day, start, minutes, every })
    }

    /// The first minute after it, after midnight.
    pub const fn end(self) -> u32 {
        self.start + self.minutes
    }
}

impl fmt::Display for Session {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (hour, minute) = (self.start / 60, self.start % 60);
        write!(f, "{} {hour:02}:{minute:02} {}", self.day, self.minutes)?;
        if self.every == 1 { Ok(()) } else { write!(f, " every {}", self.every) }
    }
}

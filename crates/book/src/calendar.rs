//! Days and working sessions.

use crate::builds::{YearMonth, digits};
use crate::words::Weekday;
use jiff::Span;
use jiff::civil::{Date, date};
use std::fmt;

/// A day of the Gregorian calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Day(Date);

/// The first day there is.
const FIRST: Date = date(1885, 1, 1);
/// The last one.
const LAST: Date = date(2100, 12, 31);

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
        let [month, day] = [month, day].map(i8::try_from);
        Self::of(Date::new(year.try_into().ok()?, month.ok()?, day.ok()?).ok()?)
    }

    fn of(date: Date) -> Option<Self> {
        (FIRST..=LAST).contains(&date).then_some(Self(date))
    }

    /// `"1964-05-04"`.
    pub fn parse(text: &str) -> Option<Self> {
        let (month, day) = text.trim().rsplit_once('-')?;
        if day.len() != 2 || month.len() != 7 {
            return None;
        }
        let month = YearMonth::parse(month)?;
        Self::new(month.year(), month.month(), digits(day)?.try_into().ok()?)
    }

    /// The year.
    pub fn year(self) -> u16 {
        self.0.year().unsigned_abs()
    }
    /// The month, 1 to 12.
    pub fn month(self) -> u8 {
        self.0.month().unsigned_abs()
    }
    /// The day of the month, from 1.
    pub fn day(self) -> u8 {
        self.0.day().unsigned_abs()
    }

    /// Days from 1885-01-01, which is 0: the difference of two is the days between them.
    pub fn number(self) -> u32 {
        (self.0 - FIRST).get_days().unsigned_abs()
    }

    /// The day that comes so many days after 1885-01-01; nothing after the year 2100.
    pub fn from_number(number: u32) -> Option<Self> {
        let after = Span::new().try_days(number).ok()?;
        Self::of(FIRST.checked_add(after).ok()?)
    }

    /// Its day of the week.
    pub fn weekday(self) -> Weekday {
        let after_monday = self.0.weekday().to_monday_zero_offset();
        let day = Weekday::ALL.get(usize::from(after_monday.unsigned_abs()));
        day.copied().unwrap_or(Weekday::Mon)
    }
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
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

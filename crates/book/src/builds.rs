//! For which cars a row of the manual holds.

use std::fmt;

/// A month of a year, as on a build plate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct YearMonth {
    year: u16,
    month: u8,
}

impl YearMonth {
    /// Years 1885 to 2100, months 1 to 12.
    pub fn new(year: u16, month: u8) -> Option<Self> {
        ((1885..=2100).contains(&year) && (1..=12).contains(&month)).then_some(Self { year, month })
    }
    /// `"1963-09"`, or a whole date, of which the day is let go.
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.trim().split('-');
        let (year, month, day) = (parts.next()?, parts.next()?, parts.next());
        if year.len() != 4 || month.len() != 2 || parts.next().is_some() {
            return None;
        }
        if let Some(day) = day {
            let day: u8 = digits(day)?.try_into().ok()?;
            if !(1..=31).contains(&day) {
                return None;
            }
        }
        Self::new(digits(year)?.try_into().ok()?, digits(month)?.try_into().ok()?)
    }
    /// The year.
    pub const fn year(self) -> u16 {
        self.year
    }
    /// The month, 1 to 12.
    pub const fn month(self) -> u8 {
        self.month
    }
}

impl fmt::Display for YearMonth {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}", self.year, self.month)
    }
}

/// A range of build numbers or of months; both ends belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Range<T> {
    /// Every car.
    All,
    /// From the first one up to and with this one.
    UpTo(T),
    /// From this one on.
    From(T),
    /// Both ends said.
    Between(T, T),
}

/// Build numbers.
pub type Builds = Range<u32>;
/// Build dates.
pub type Dates = Range<YearMonth>;

/// Why a range cannot be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum RangeFault {
    /// Not one of the four forms.
    Unreadable,
    /// The end comes before the start.
    Backwards,
}

impl<T: Copy + Ord> Range<T> {
    /// Whether it holds for that car.
    pub fn contains(&self, at: T) -> bool {
        match *self {
            Self::All => true,
            Self::UpTo(last) => at <= last,
            Self::From(first) => first <= at,
            Self::Between(first, last) => first <= at && at <= last,
        }
    }
    /// Where it starts, if it does.
    pub fn first(&self) -> Option<T> {
        match *self {
            Self::All | Self::UpTo(_) => None,
            Self::From(first) | Self::Between(first, _) => Some(first),
        }
    }
    /// Where it ends, if it does.
    pub fn last(&self) -> Option<T> {
        match *self {
            Self::All | Self::From(_) => None,
            Self::UpTo(last) | Self::Between(_, last) => Some(last),
        }
    }

    fn parse_with(
        text: &str,
        between: impl Fn(&str) -> Option<(T, T)>,
        one: impl Fn(&str) -> Option<T>,
    ) -> Result<Self, RangeFault> {
        let text = text.trim();
        let lower = text.to_ascii_lowercase();
        let after = |word: &str| {
            let rest = lower.strip_prefix(word)?;
            rest.starts_with(' ').then(|| one(rest)).flatten()
        };
        if lower == "all" {
            return Ok(Self::All);
        }
        if let Some(last) = after("up to") {
            return Ok(Self::UpTo(last));
        }
        if let Some(first) = after("from") {
            return Ok(Self::From(first));
        }
        let (first, last) = between(&lower).ok_or(RangeFault::Unreadable)?;
        if last < first { Err(RangeFault::Backwards) } else { Ok(Self::Between(first, last)) }
    }
}

impl Builds {
    pub(crate) fn parse(text: &str) -> Result<Self, RangeFault> {
        Self::parse_with(
            text,
            |text| {
                let (first, last) = text
                    .split_once('-')
                    .or_else(|| text.split_once('\u{2013}'))
                    .or_else(|| text.split_once(" to "))?;
                Some((digits(first)?, digits(last)?))
            },
            digits,
        )
    }
}

impl Dates {
    pub(crate) fn parse(text: &str) -> Result<Self, RangeFault> {
        Self::parse_with(
            text,
            |text| {
                let (first, last) =
                    text.split_once(" to ").or_else(|| text.split_once('\u{2013}'))?;
                Some((YearMonth::parse(first)?, YearMonth::parse(last)?))
            },
            YearMonth::parse,
        )
    }
}

impl<T: fmt::Display> fmt::Display for Range<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::All => f.write_str("all"),
            Self::UpTo(last) => write!(f, "up to {last}"),
            Self::From(first) => write!(f, "from {first}"),
            Self::Between(first, last) => write!(f, "{first} to {last}"),
        }
    }
}

/// Digits and nothing else, so that `+5` is no build number.
pub(crate) fn digits(text: &str) -> Option<u32> {
    let text = text.trim();
    let all_digits = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    all_digits.then(|| text.parse().ok()).flatten()
}

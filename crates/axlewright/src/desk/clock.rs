//! The clock and whoever is at the bench: the only place that asks the system for either.

use std::time::SystemTime;

use jiff::Timestamp;

/// The variable that says who writes, where no option does.
pub const BY_VARIABLE: &str = "AXLEWRIGHT_BY";

/// Where systems keep the name of whoever is logged in.
const LOGIN_VARIABLES: [&str; 3] = ["USER", "LOGNAME", "USERNAME"];

/// This program was written after that: a clock that says less is not set.
const NOT_BEFORE: &str = "2025-01-01T00:00:00Z";

/// What the clock says. Set beyond all calendars it says the last moment that has a name, which the
/// log does not take: it is told as a clock that is wrong, and nothing panics.
fn moment() -> Timestamp {
    Timestamp::try_from(SystemTime::now()).unwrap_or(Timestamp::MAX)
}

/// The moment as the log writes it: RFC 3339, in UTC, to the second.
pub fn now() -> String {
    written(moment())
}

fn written(moment: Timestamp) -> String {
    moment.strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// Microseconds since 1970, to tell one start of the program from another.
pub(crate) fn since_epoch_us() -> u64 {
    u64::try_from(moment().as_microsecond()).unwrap_or_default()
}

/// The year and the month, as far as the clock knows them.
pub(crate) fn year_and_month() -> (i32, u8) {
    let now = now();
    let number = |from: usize, to: usize| now.get(from..to).and_then(|part| part.parse().ok());
    // Room for whoever adds a year.
    (number(0, 4).unwrap_or(1970).clamp(1970, 9998), number(5, 7).unwrap_or(1).clamp(1, 12) as u8)
}

/// Whole days from a moment of the log to now; nothing for what is none. Less than nothing where
/// the clock has gone back.
pub fn days_since(at: &str) -> Option<i64> {
    days_between(at, moment())
}

fn days_between(at: &str, now: Timestamp) -> Option<i64> {
    let then: Timestamp = at.parse().ok()?;
    Some((now.as_second() - then.as_second()) / 86_400)
}

/// What is wrong with the clock, going by the moment of the last entry (nothing for none): beyond
/// what a log takes, before this program was made, or behind that entry.
pub fn trouble(last: Option<&str>) -> Option<String> {
    trouble_at(moment(), last)
}

/// Clocks of two devices differ by so many seconds without anybody noticing.
const BEHIND: i64 = 120;

fn trouble_at(moment: Timestamp, last: Option<&str>) -> Option<String> {
    let now = written(moment);
    if !axlewright_book::log::is_moment(&now) {
        return Some(format!("it says {}, which no log can hold", &now[..now.len().min(10)]));
    }
    if now.as_str() < NOT_BEFORE {
        return Some(format!("it says {}, which is long ago: it is not set", &now[..10]));
    }
    let last: Timestamp = last?.parse().ok()?;
    let behind = last.as_second() - moment.as_second();
    (BEHIND < behind).then(|| format!("it says {now}, and the last entry is of {}", written(last)))
}

/// Whose hand is in the log: as said, else as [`BY_VARIABLE`] says, else the system's name for
/// whoever is logged in; nothing where none of them says.
pub fn who(said: Option<&str>) -> Option<String> {
    let plain = |name: &str| Some(name.trim().to_owned()).filter(|name| !name.is_empty());
    let variables = std::iter::once(BY_VARIABLE).chain(LOGIN_VARIABLES);
    let mut told = variables.filter_map(|name| plain(&std::env::var(name).ok()?));
    said.and_then(plain).or_else(|| told.next())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_moment_is_one_the_log_takes() {
        assert!(axlewright_book::log::is_moment(&now()), "{}", now());
    }

    #[test]
    fn a_clock_that_is_wrong_is_told_and_never_panics() {
        let at = |text: &str| text.parse::<Timestamp>().unwrap();
        let last = Some("2026-11-25T21:00:00Z");
        for fine in ["2026-11-25T20:58:30Z", "2026-11-25T21:00:00Z", "2099-01-01T00:00:00Z"] {
            assert_eq!(trouble_at(at(fine), last), None, "{fine}");
        }
        let rows = [
            ("1970-01-01T00:00:03Z", "long ago"),
            ("2026-11-25T20:50:00Z", "the last entry is of 2026-11-25T21:00:00Z"),
            ("2203-01-01T00:00:00Z", "which no log can hold"),
        ];
        for (now, wanted) in rows {
            let said = trouble_at(at(now), last).unwrap();
            assert!(said.contains(wanted), "{now}: {said}");
        }
        for beyond in [Timestamp::MAX, Timestamp::MIN] {
            assert!(trouble_at(beyond, last).is_some());
        }
        assert_eq!(trouble_at(at("2026-11-25T20:50:00Z"), None), None);
        let days = |then: &str| days_between(then, at("2026-11-25T21:00:00Z"));
        assert_eq!((days("2026-11-11T21:00:00Z"), days("x")), (Some(14), None));
    }

    #[test]
    fn what_is_said_goes_before_the_system() {
        assert_eq!(who(Some(" Ida ")).as_deref(), Some("Ida"));
        assert_ne!(who(Some("  ")).as_deref(), Some(""));
    }
}

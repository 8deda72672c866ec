//! Days and sessions.

use axlewright_book::{Day, Session, Weekday};

#[test]
fn days_follow_each_other_without_a_gap() {
    let months =
        |year: u16| (1..=12).flat_map(move |month| (1..=31).map(move |day| (year, month, day)));
    let days: Vec<Day> =
        (1885..=2100).flat_map(months).filter_map(|(y, m, d)| Day::new(y, m, d)).collect();
    // 216 years; 54 of them divisible by 4, less 1900 and 2100.
    assert_eq!(days.len(), 216 * 365 + 52);
    for (number, day) in (0..).zip(&days) {
        assert_eq!(day.number(), number, "{day}");
        assert_eq!(Day::from_number(number), Some(*day));
        assert_eq!(Day::parse(&day.to_string()), Some(*day));
    }
    assert!(days.is_sorted());
    let beyond = u32::try_from(days.len()).expect("few enough");
    for number in [beyond, 79_999, 80_000, u32::MAX] {
        assert_eq!(Day::from_number(number), None);
    }
    let seven = |i: usize| Weekday::ALL[(i + 3) % 7];
    assert!(days.iter().enumerate().all(|(i, day)| day.weekday() == seven(i)));
}

/// Days of the week that many remember: the first of Unix time was a Thursday, and the first of the
/// year 2000 a Saturday (from memory).
#[test]
fn the_weekday_is_that_of_the_calendar() {
    for (text, weekday) in [
        ("1970-01-01", Weekday::Thu),
        ("2000-01-01", Weekday::Sat),
        ("2000-02-29", Weekday::Tue),
        ("2000-03-01", Weekday::Wed),
    ] {
        assert_eq!(Day::parse(text).map(Day::weekday), Some(weekday), "{text}");
    }
    let days = |a, b| Day::parse(b).map(Day::number).zip(Day::parse(a).map(Day::number));
    // 30 years, seven of them leap years.
    assert_eq!(days("1970-01-01", "2000-01-01").map(|(b, a)| b - a), Some(30 * 365 + 7));
}

#[test]
fn what_is_no_day_is_refused() {
    for text in [
        "",
        "1964",
        "1964-05",
        "1964-5-4",
        "1964-05-4",
        "64-05-04",
        "1964-02-30",
        "1963-02-29",
        "1900-02-29",
        "1964-13-01",
        "1964-00-01",
        "1964-05-00",
        "1964-05-32",
        "1964/05/04",
        "1964-05-04-01",
        "+964-05-04",
        "1964-05-+4",
        "1884-12-31",
        "2101-01-01",
        "1964-05-04 x",
    ] {
        assert_eq!(Day::parse(text), None, "{text}");
    }
    assert!(Day::parse(" 1964-02-29 ").is_some() && Day::parse("2000-02-29").is_some());
}

#[test]
fn sessions_are_read_and_shown() {
    let session = |day, start, minutes, every| Some(Session { day, start, minutes, every });
    assert_eq!(Session::parse("Mon 19:00 180"), session(Weekday::Mon, 1140, 180, 1));
    assert_eq!(Session::parse(" sat  9:05 420 every 2 "), session(Weekday::Sat, 545, 420, 2));
    assert_eq!(Session::parse("Sun 00:00 1440"), session(Weekday::Sun, 0, 1440, 1));
    for text in ["Mon 19:00 180", "Sat 09:05 420 every 2"] {
        assert_eq!(Session::parse(text).map(|s| s.to_string()).as_deref(), Some(text));
    }
    for text in [
        "",
        "Mon",
        "Mon 19:00",
        "19:00 180",
        "Mon 19.00 180",
        "Mon 24:00 10",
        "Mon 19:60 10",
        "Mon 19:00 0",
        "Mon 19:00 -5",
        "Mon 22:00 121",
        "Mon 19:00 180 every 0",
        "Mon 19:00 180 every 9",
        "Mon 19:00 180 each 2",
        "Mon 19:00 180 every",
        "Moon 19:00 180",
        "Mon 19:00 180 every 2 weeks",
        "Mon 19:00 99999999999",
        "Mon 4294967295:00 1",
    ] {
        assert_eq!(Session::parse(text), None, "{text}");
    }
}

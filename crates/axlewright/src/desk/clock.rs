//! The clock and whoever is at the bench: the only place that asks the system for either.

use jiff::Timestamp;

/// The variable that says who writes, where no option does.
pub const BY_VARIABLE: &str = "AXLEWRIGHT_BY";

/// Where systems keep the name of whoever is logged in.
const LOGIN_VARIABLES: [&str; 3] = ["USER", "LOGNAME", "USERNAME"];

/// The moment as the log writes it: RFC 3339, in UTC, to the second.
pub fn now() -> String {
    Timestamp::now().strftime("%Y-%m-%dT%H:%M:%SZ").to_string()
}

/// Microseconds since 1970, to tell one start of the program from another.
pub(crate) fn since_epoch_us() -> u64 {
    u64::try_from(Timestamp::now().as_microsecond()).unwrap_or_default()
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
    fn what_is_said_goes_before_the_system() {
        assert_eq!(who(Some(" Ida ")).as_deref(), Some("Ida"));
        assert_ne!(who(Some("  ")).as_deref(), Some(""));
    }
}

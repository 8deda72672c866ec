//! How this device wants to see the page, and who holds it: three cookies, set by a plain form.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use super::guard::{Caller, cookie};
use super::pairing::Device;

/// The cookies' names.
pub(super) const THEME: &str = "axlewright_theme";
pub(super) const TORQUE: &str = "axlewright_torque";
pub(super) const BY: &str = "axlewright_by";
/// The entry that this device has written just now.
const WROTE: &str = "axlewright_wrote";
/// How long that is just now, in seconds.
const JUST_NOW: u32 = 60;

/// Letters in a name at most.
pub(super) const NAME_MAX: usize = 60;

/// Light, dark, bright sun, or as the device has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Theme {
    /// As the device has it.
    #[default]
    Device,
    /// Dark on white.
    Light,
    /// Light on black.
    Dark,
    /// Black on white, heavy, for bright sun.
    Sun,
}

impl Theme {
    pub(super) const ALL: [(Self, &'static str, &'static str); 4] = [
        (Self::Device, "device", "As this device has it"),
        (Self::Light, "light", "Light"),
        (Self::Dark, "dark", "Dark"),
        (Self::Sun, "sun", "Bright sun: black on white, heavier, larger"),
    ];

    pub(super) fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known, _)| *known == word).map(|(theme, ..)| *theme)
    }

    pub(super) fn word(self) -> &'static str {
        Self::ALL.iter().find(|(theme, ..)| *theme == self).map_or("device", |(_, word, _)| word)
    }
}

/// Which torque stands first: as the wrench reads, or as the list has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Torque {
    /// As the wrench reads.
    #[default]
    Wrench,
    /// As the list has it.
    List,
}

impl Torque {
    pub(super) const ALL: [(Self, &'static str, &'static str); 2] = [
        (Self::Wrench, "wrench", "What to set on the wrench first"),
        (Self::List, "list", "The list’s own figure first"),
    ];

    pub(super) fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known, _)| *known == word).map(|(torque, ..)| *torque)
    }

    pub(super) fn word(self) -> &'static str {
        Self::ALL.iter().find(|(torque, ..)| *torque == self).map_or("wrench", |(_, word, _)| word)
    }
}

/// What the three cookies and the address say; nonsense in one is as if it were not there.
#[derive(Debug, Clone, Default)]
pub(super) struct Prefs {
    pub(super) theme: Theme,
    pub(super) torque: Torque,
    pub(super) by: Option<String>,
    /// The device, where it is a paired one.
    pub(super) device: Option<Device>,
    /// The entry that has just been written, where the address says so.
    pub(super) wrote: Option<u64>,
}

impl<S: Sync> FromRequestParts<S> for Prefs {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        let value = |name| cookie(&parts.headers, name);
        let device = parts.extensions.get::<Caller>().and_then(|caller| caller.0.clone());
        let by = value(BY).and_then(from_cookie).filter(|name| is_name(name));
        Ok(Self {
            // Whose a paired device is was said once, and is not for the device to change.
            by: device.as_ref().and_then(|device| device.person.clone()).or(by),
            device,
            theme: value(THEME).and_then(Theme::of_word).unwrap_or_default(),
            torque: value(TORQUE).and_then(Torque::of_word).unwrap_or_default(),
            wrote: parts.uri.query().and_then(wrote).filter(|seq| {
                // A link alone acknowledges nothing: it was this device, a moment ago.
                value(WROTE).and_then(|said| said.parse().ok()) == Some(*seq)
            }),
        })
    }
}

/// What a device is told that has written an entry.
pub(super) fn wrote_cookie(seq: u64) -> String {
    format!("{WROTE}={seq}; Path=/; Max-Age={JUST_NOW}; HttpOnly; SameSite=Strict")
}

fn wrote(query: &str) -> Option<u64> {
    query.split('&').find_map(|pair| pair.strip_prefix("wrote="))?.parse().ok()
}

/// Whether it is a name as people have: no control characters, not empty, not endless.
pub(super) fn is_name(name: &str) -> bool {
    let count = name.chars().count();
    !name.trim().is_empty() && count <= NAME_MAX && !name.chars().any(char::is_control)
}

/// A text in letters that a cookie may hold: its bytes in hexadecimal.
pub(super) fn to_cookie(text: &str) -> String {
    text.bytes().map(|byte| format!("{byte:02x}")).collect()
}

fn from_cookie(value: &str) -> Option<String> {
    let digits: Option<Vec<u8>> =
        value.chars().map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok())).collect();
    let digits = digits.filter(|digits| digits.len() % 2 == 0)?;
    let bytes = digits.chunks_exact(2).map(|pair| match pair {
        [high, low] => high * 16 + low,
        _ => 0,
    });
    String::from_utf8(bytes.collect()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_survives_its_cookie() {
        for name in ["Ann", "Jörg Ölmann", "<b>; path=/", "a\"b"] {
            assert_eq!(from_cookie(&to_cookie(name)).as_deref(), Some(name));
        }
        for broken in ["f", "zz", "ff", "%"] {
            assert_eq!(from_cookie(broken), None, "{broken}");
        }
        assert!(is_name("Ann") && !is_name("  ") && !is_name("a\nb") && !is_name(&"x".repeat(61)));
    }
}

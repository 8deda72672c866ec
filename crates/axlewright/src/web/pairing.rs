//! Letting another device in: a code that is good once, and the cookie that it is changed for.

use std::collections::BTreeSet;
use std::io;
use std::sync::{Mutex, PoisonError};

use crate::desk::clock;

/// Letters of a code: no two that look alike on a dirty screen.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// Letters in a code: forty bits.
const CODE_LENGTH: usize = 8;
/// Wrong codes after which the code is changed for another.
const WRONG_MAX: u32 = 10;
/// Devices that may be paired at one time; the one paired longest ago must pair again.
const DEVICES_MAX: usize = 16;
/// The cookie's name.
pub(super) const COOKIE: &str = "axlewright_pair";

/// What came of a code that was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Paired {
    /// Right: the cookie's value. The code is used up and another one stands.
    Yes(String),
    /// Wrong.
    No,
}

/// Codes and the devices that were let in.
#[derive(Debug)]
pub(super) struct Pairing(Mutex<Inside>);

#[derive(Debug)]
struct Inside {
    code: String,
    wrong: u32,
    devices: Vec<String>,
}

impl Pairing {
    /// With a fresh code.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub(super) fn new() -> io::Result<Self> {
        Ok(Self(Mutex::new(Inside { code: fresh_code()?, wrong: 0, devices: Vec::new() })))
    }

    fn inside(&self) -> std::sync::MutexGuard<'_, Inside> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The code that is good now.
    pub(super) fn code(&self) -> String {
        self.inside().code.clone()
    }

    /// Tries a code, as typed: case, spaces and hyphens do not matter.
    pub(super) fn try_code(&self, typed: &str) -> Paired {
        let typed: String = typed
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let mut inside = self.inside();
        let (right, next) = (same(&typed, &inside.code), fresh_code());
        if !right {
            inside.wrong += 1;
            if let (true, Ok(next)) = (WRONG_MAX <= inside.wrong, next) {
                (inside.code, inside.wrong) = (next, 0);
            }
            return Paired::No;
        }
        let (Ok(next), Ok(cookie)) = (next, fresh_cookie()) else { return Paired::No };
        (inside.code, inside.wrong) = (next, 0);
        if DEVICES_MAX <= inside.devices.len() {
            inside.devices.remove(0);
        }
        inside.devices.push(cookie.clone());
        Paired::Yes(cookie)
    }

    /// Whether a cookie was given out here.
    pub(super) fn knows(&self, cookie: &str) -> bool {
        let inside = self.inside();
        // Every one is compared in full, so that the time taken says nothing.
        let known: BTreeSet<bool> = inside.devices.iter().map(|d| same(cookie, d)).collect();
        known.contains(&true)
    }
}

/// Compares in a time that depends on the lengths alone.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |diff, (a, b)| diff | (a ^ b)) == 0
}

fn random<const N: usize>() -> io::Result<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|why| io::Error::other(why.to_string()))?;
    Ok(bytes)
}

fn fresh_code() -> io::Result<String> {
    let letter = |byte: u8| LETTERS.get(usize::from(byte % 32)).copied().unwrap_or(b'A');
    Ok(random::<CODE_LENGTH>()?.map(letter).iter().map(|letter| char::from(*letter)).collect())
}

fn fresh_cookie() -> io::Result<String> {
    Ok(random::<32>()?.iter().map(|byte| format!("{byte:02x}")).collect())
}

/// Letters that no other start of the program has, whatever the clock says; where the system has no
/// randomness to give, the moment must do.
pub(super) fn mark() -> String {
    let by_clock = || clock::since_epoch_us().to_be_bytes();
    let bytes = random::<8>().unwrap_or_else(|_| by_clock());
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_good_once() {
        let pairing = Pairing::new().unwrap();
        let code = pairing.code();
        let typed = format!(" {}-{} ", code[..4].to_lowercase(), &code[4..]);
        let Paired::Yes(cookie) = pairing.try_code(&typed) else { panic!("{code} was refused") };
        assert!(pairing.knows(&cookie));
        assert!(!pairing.knows(&cookie[1..]) && !pairing.knows(""));
        assert_ne!(pairing.code(), code);
        assert_eq!(pairing.try_code(&code), Paired::No);
    }

    #[test]
    fn guessing_changes_the_code() {
        let pairing = Pairing::new().unwrap();
        let code = pairing.code();
        for _ in 0..WRONG_MAX {
            assert_eq!(pairing.try_code("WRONGONE"), Paired::No);
        }
        assert_eq!(pairing.try_code(&code), Paired::No);
    }

    #[test]
    fn only_so_many_devices_stay_paired() {
        let pairing = Pairing::new().unwrap();
        let mut cookies = Vec::new();
        for _ in 0..=DEVICES_MAX {
            let Paired::Yes(cookie) = pairing.try_code(&pairing.code()) else { panic!() };
            cookies.push(cookie);
        }
        assert!(!pairing.knows(&cookies[0]) && pairing.knows(&cookies[1]));
    }
}

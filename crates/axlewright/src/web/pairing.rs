//! Letting another device in: a code that is good once and for ten minutes, the cookie that it is
//! changed for, and the devices that were let in.

use std::collections::BTreeMap;
use std::io;
use std::net::IpAddr;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use crate::desk::clock;

/// Letters of a code: no two that look alike on a dirty screen.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";
/// Letters in a code: forty bits.
const CODE_LENGTH: usize = 8;
/// A code is good for so long.
const CODE_FOR: Duration = Duration::from_secs(10 * 60);
/// Wrong codes from one address after which it has to wait.
const WRONG_MAX: u32 = 5;
/// How long it has to wait after the last one.
const WAIT: Duration = Duration::from_secs(60);
/// Addresses of which wrong codes are remembered; the one heard of longest ago is forgotten.
const ADDRESSES_MAX: usize = 512;
/// Devices that may be paired at one time; the one paired longest ago must pair again.
const DEVICES_MAX: usize = 16;
/// A device is let in for so long, then it pairs anew.
const LET_IN_FOR: Duration = Duration::from_secs(30 * 24 * 3600);

/// The cookie's name. Given in secret it bears the one that browsers let nobody set but the host
/// itself, in secret.
pub(super) const fn cookie_name(is_secret: bool) -> &'static str {
    if is_secret { "__Host-axlewright_pair" } else { "axlewright_pair" }
}

/// What came of a code that was typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Paired {
    /// Right: the cookie's value. The code is used up.
    Yes(String),
    /// Wrong, or not good any more.
    No,
    /// Not even looked at: too many were wrong. True when this is new.
    Wait(bool),
}

/// Codes and the devices that were let in.
#[derive(Debug, Default)]
pub(super) struct Pairing(Mutex<Inside>);

#[derive(Debug, Default)]
struct Inside {
    code: Option<(String, Instant)>,
    wrong: BTreeMap<IpAddr, (u32, Instant)>,
    devices: Vec<Device>,
    /// The number of the next device.
    next: u32,
}

/// A device that was let in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Device {
    /// Its number, from 1.
    pub(super) id: u32,
    cookie: String,
    paired: Instant,
    /// Whose it is: the name that stands under what is written on it, and the only one that is
    /// signed with there.
    pub(super) person: Option<String>,
    /// When it was paired, RFC 3339.
    pub(super) since: String,
    /// From which address.
    pub(super) from: IpAddr,
}

impl Pairing {
    fn inside(&self) -> MutexGuard<'_, Inside> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The code that is good now, and whether it is a new one.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub(super) fn code(&self, now: Instant) -> io::Result<(String, bool)> {
        let mut inside = self.inside();
        if let Some((code, made)) = &inside.code
            && now.saturating_duration_since(*made) < CODE_FOR
        {
            return Ok((code.clone(), false));
        }
        let code = fresh_code()?;
        inside.code = Some((code.clone(), now));
        Ok((code, true))
    }

    /// Tries a code, as typed: case, spaces and hyphens do not matter. Wrong ones keep that address
    /// waiting and change nothing for any other.
    pub(super) fn try_code(
        &self,
        (typed, person): (&str, Option<&str>),
        from: IpAddr,
        now: Instant,
    ) -> Paired {
        let typed: String = typed
            .chars()
            .filter(|c| !c.is_whitespace() && *c != '-')
            .map(|c| c.to_ascii_uppercase())
            .collect();
        let mut inside = self.inside();
        if inside.waits(from, now) {
            return Paired::Wait(false);
        }
        let is_good = inside.code.as_ref().is_some_and(|(code, made)| {
            // Compared in any case, so that the time taken says nothing.
            let is_right = same(&typed, code);
            is_right && now.saturating_duration_since(*made) < CODE_FOR
        });
        if !is_good {
            return if inside.was_wrong(from, now) { Paired::Wait(true) } else { Paired::No };
        }
        let Ok(cookie) = fresh_cookie() else { return Paired::No };
        (inside.code, inside.next) = (None, inside.next.saturating_add(1));
        if DEVICES_MAX <= inside.devices.len() {
            inside.devices.remove(0);
        }
        let (id, person, since) = (inside.next, person.map(str::to_owned), clock::now());
        let device = Device { id, cookie: cookie.clone(), paired: now, person, since, from };
        inside.devices.push(device);
        Paired::Yes(cookie)
    }

    /// The device that a cookie was given to, if it is still let in.
    pub(super) fn device(&self, cookie: &str, now: Instant) -> Option<Device> {
        let mut inside = self.inside();
        let is_let_in = |device: &Device| now.saturating_duration_since(device.paired) < LET_IN_FOR;
        inside.devices.retain(is_let_in);
        // Every one is compared in full, so that the time taken says nothing.
        let mut found = None;
        for device in &inside.devices {
            if same(cookie, &device.cookie) {
                found = Some(device.clone());
            }
        }
        found
    }

    /// Every device that was let in, in the order in which they came.
    pub(super) fn devices(&self) -> Vec<Device> {
        self.inside().devices.clone()
    }

    /// Lets a device in no longer; true if there was one of that number.
    pub(super) fn forget(&self, id: u32) -> bool {
        let mut inside = self.inside();
        let before = inside.devices.len();
        inside.devices.retain(|device| device.id != id);
        inside.devices.len() < before
    }

    /// Says whose a device is; true if there is one of that number.
    pub(super) fn name(&self, id: u32, person: &str) -> bool {
        let mut inside = self.inside();
        let device = inside.devices.iter_mut().find(|device| device.id == id);
        device.map(|device| device.person = Some(person.to_owned())).is_some()
    }
}

impl Inside {
    fn waits(&self, from: IpAddr, now: Instant) -> bool {
        self.wrong.get(&from).is_some_and(|(count, last)| {
            WRONG_MAX <= *count && now.saturating_duration_since(*last) < WAIT
        })
    }

    /// Remembers a wrong code; true if the address has to wait from now on.
    fn was_wrong(&mut self, from: IpAddr, now: Instant) -> bool {
        if !self.wrong.contains_key(&from) && ADDRESSES_MAX <= self.wrong.len() {
            let oldest = self.wrong.iter().min_by_key(|(_, (_, last))| *last);
            if let Some(oldest) = oldest.map(|(address, _)| *address) {
                self.wrong.remove(&oldest);
            }
        }
        let (count, last) = self.wrong.entry(from).or_insert((0, now));
        // Once it has waited, it begins anew.
        if WAIT <= now.saturating_duration_since(*last) {
            *count = 0;
        }
        (*count, *last) = (*count + 1, now);
        WRONG_MAX <= *count
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

    const ONE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 7));
    const OTHER: IpAddr = IpAddr::V4(std::net::Ipv4Addr::new(192, 168, 1, 8));

    fn start() -> (Pairing, Instant, String) {
        let (pairing, now) = (Pairing::default(), Instant::now());
        let (code, is_new) = pairing.code(now).unwrap();
        assert!(is_new);
        (pairing, now, code)
    }

    #[test]
    fn a_code_is_good_once() {
        let (pairing, now, code) = start();
        let typed = format!(" {}-{} ", code[..4].to_lowercase(), &code[4..]);
        let Paired::Yes(cookie) = pairing.try_code((&typed, Some("Ida")), ONE, now) else {
            panic!("{code} was refused")
        };
        let device = pairing.device(&cookie, now).unwrap();
        assert_eq!((device.id, device.person.as_deref(), device.from), (1, Some("Ida"), ONE));
        assert_eq!((pairing.device(&cookie[1..], now), pairing.device("", now)), (None, None));
        assert_ne!(pairing.code(now).unwrap(), (code.clone(), false));
        assert_eq!(pairing.try_code((&code, None), ONE, now), Paired::No);
    }

    #[test]
    fn a_code_is_good_for_ten_minutes() {
        let (pairing, now, code) = start();
        let late = now + CODE_FOR;
        assert_eq!(pairing.code(late - Duration::from_secs(1)).unwrap(), (code.clone(), false));
        assert_eq!(pairing.try_code((&code, None), ONE, late), Paired::No);
        assert_ne!(pairing.code(late).unwrap().0, code);
    }

    #[test]
    fn a_device_is_let_in_for_thirty_days() {
        let (pairing, now, code) = start();
        let Paired::Yes(cookie) = pairing.try_code((&code, None), ONE, now) else { panic!() };
        let last = now + LET_IN_FOR - Duration::from_secs(1);
        assert!(pairing.device(&cookie, last).is_some());
        assert_eq!(pairing.device(&cookie, now + LET_IN_FOR), None);
        assert!(pairing.devices().is_empty());
    }

    #[test]
    fn guessing_keeps_the_guesser_waiting_and_nobody_else() {
        let (pairing, now, code) = start();
        let wrong = ("WRONGONE", None);
        for _ in 1..WRONG_MAX {
            assert_eq!(pairing.try_code(wrong, ONE, now), Paired::No);
        }
        assert_eq!(pairing.try_code(wrong, ONE, now), Paired::Wait(true));
        // Not even the right one: whoever guesses learns nothing meanwhile.
        assert_eq!(pairing.try_code((&code, None), ONE, now), Paired::Wait(false));
        assert_eq!(pairing.code(now).unwrap(), (code.clone(), false));
        assert!(matches!(pairing.try_code((&code, None), OTHER, now), Paired::Yes(_)));
        let (code, _) = pairing.code(now + WAIT).unwrap();
        assert!(matches!(pairing.try_code((&code, None), ONE, now + WAIT), Paired::Yes(_)));
    }

    #[test]
    fn wrong_codes_from_everywhere_are_not_remembered_without_end() {
        let (pairing, now, code) = start();
        for number in 0..5_000_u32 {
            let from = IpAddr::V4((0x0A00_0000 + number).into());
            pairing.try_code(("WRONGONE", None), from, now);
        }
        assert_eq!(pairing.inside().wrong.len(), ADDRESSES_MAX);
        assert!(matches!(pairing.try_code((&code, None), OTHER, now), Paired::Yes(_)));
    }

    #[test]
    fn devices_are_listed_named_and_forgotten_and_only_so_many_stay() {
        let pairing = Pairing::default();
        let now = Instant::now();
        let mut cookies = Vec::new();
        for _ in 0..=DEVICES_MAX {
            let (code, _) = pairing.code(now).unwrap();
            let Paired::Yes(cookie) = pairing.try_code((&code, None), ONE, now) else { panic!() };
            cookies.push(cookie);
        }
        assert_eq!(pairing.device(&cookies[0], now), None);
        let ids: Vec<u32> = pairing.devices().iter().map(|device| device.id).collect();
        assert_eq!(ids, (2..=DEVICES_MAX as u32 + 1).collect::<Vec<u32>>());
        assert!(pairing.name(2, "Max") && !pairing.name(1, "Max"));
        assert_eq!(pairing.device(&cookies[1], now).unwrap().person.as_deref(), Some("Max"));
        assert!(pairing.forget(2) && !pairing.forget(2));
        assert_eq!(pairing.device(&cookies[1], now), None);
        assert!(pairing.device(&cookies[2], now).is_some());
    }
}

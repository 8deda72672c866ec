//! Places for connections: some for this machine's own browser, some for devices that are paired,
//! and a few for strangers, who are there only to pair. However many strangers come, they take no
//! place from the others.

use std::collections::BTreeMap;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::{Notify, OwnedSemaphorePermit, Semaphore};

/// Connections of this machine's own browser at one time.
pub(super) const OWN_MAX: usize = 64;
/// Connections of all paired devices at one time; each has a handful.
pub(super) const PAIRED_MAX: usize = 64;
/// Connections of everybody who is not paired, yet.
pub(super) const STRANGERS_MAX: usize = 24;

/// All places.
#[derive(Debug)]
pub(super) struct Doors {
    own: Arc<Semaphore>,
    paired: Arc<Semaphore>,
    strangers: Mutex<Strangers>,
}

#[derive(Debug, Default)]
struct Strangers {
    /// In the order in which they came.
    all: Vec<Stranger>,
    next: u64,
}

#[derive(Debug)]
struct Stranger {
    number: u64,
    peer: IpAddr,
    /// Whether it has asked for anything yet.
    has_asked: bool,
    leave: Arc<Notify>,
}

/// A connection's place; given back when it is dropped.
#[derive(Debug)]
pub(super) struct Place {
    doors: Arc<Doors>,
    kind: Mutex<Kind>,
    leave: Arc<Notify>,
}

#[derive(Debug)]
enum Kind {
    Friend(#[allow(dead_code, reason = "held until the connection ends")] OwnedSemaphorePermit),
    Stranger(u64),
}

fn locked<T>(lock: &Mutex<T>) -> MutexGuard<'_, T> {
    lock.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Default for Doors {
    fn default() -> Self {
        let (own, paired) = (Semaphore::new(OWN_MAX), Semaphore::new(PAIRED_MAX));
        Self { own: Arc::new(own), paired: Arc::new(paired), strangers: Mutex::default() }
    }
}

impl Doors {
    /// A place for this machine's own browser, if one is free.
    pub(super) fn own(self: &Arc<Self>) -> Option<Place> {
        let permit = Arc::clone(&self.own).try_acquire_owned().ok()?;
        let (doors, kind) = (Arc::clone(self), Mutex::new(Kind::Friend(permit)));
        Some(Place { doors, kind, leave: Arc::default() })
    }

    /// A place for somebody else. There always is one: where all are taken, the address with the
    /// most connections gives one up, the oldest that has not even asked for anything first. So
    /// whoever comes to pair finds a place, however many others sit there.
    pub(super) fn stranger(self: &Arc<Self>, peer: IpAddr) -> Place {
        let mut strangers = locked(&self.strangers);
        let (number, leave) = (strangers.next, Arc::new(Notify::new()));
        strangers.next += 1;
        let (has_asked, told) = (false, Arc::clone(&leave));
        strangers.all.push(Stranger { number, peer, has_asked, leave: told });
        if STRANGERS_MAX < strangers.all.len()
            && let Some(out) = strangers.one_too_many()
        {
            strangers.all.remove(out).leave.notify_one();
        }
        drop(strangers);
        Place { doors: Arc::clone(self), kind: Mutex::new(Kind::Stranger(number)), leave }
    }

    /// Waits until every friend has left.
    pub(super) async fn empty(&self) {
        let _ = self.own.acquire_many(OWN_MAX as u32).await;
        let _ = self.paired.acquire_many(PAIRED_MAX as u32).await;
    }
}

impl Strangers {
    /// Which of them goes; never the one that came last.
    fn one_too_many(&self) -> Option<usize> {
        let mut counts: BTreeMap<IpAddr, usize> = BTreeMap::new();
        for stranger in &self.all {
            *counts.entry(stranger.peer).or_default() += 1;
        }
        let before_last = self.all.len().checked_sub(1)?;
        let places = self.all.iter().take(before_last).enumerate();
        // Of those that are alike the first, which is the oldest.
        let worth = |stranger: &Stranger| {
            let many = counts.get(&stranger.peer).copied().unwrap_or(0);
            (std::cmp::Reverse(many), stranger.has_asked)
        };
        places.min_by_key(|(_, stranger)| worth(stranger)).map(|(at, _)| at)
    }
}

impl Place {
    /// Whether it is only one of a stranger.
    pub(super) fn is_stranger(&self) -> bool {
        matches!(*locked(&self.kind), Kind::Stranger(_))
    }

    /// Notes that something was asked for.
    pub(super) fn has_asked(&self) {
        if let Kind::Stranger(number) = *locked(&self.kind) {
            let mut strangers = locked(&self.doors.strangers);
            if let Some(one) = strangers.all.iter_mut().find(|one| one.number == number) {
                one.has_asked = true;
            }
        }
    }

    /// Makes it the place of a paired device, if one of those is free; true if it is one.
    pub(super) fn befriend(&self) -> bool {
        let mut kind = locked(&self.kind);
        let Kind::Stranger(number) = *kind else { return true };
        let Ok(permit) = Arc::clone(&self.doors.paired).try_acquire_owned() else { return false };
        *kind = Kind::Friend(permit);
        locked(&self.doors.strangers).all.retain(|stranger| stranger.number != number);
        true
    }

    /// Waits until somebody else needs the place.
    pub(super) async fn needed(&self) {
        self.leave.notified().await;
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        if let Kind::Stranger(number) = *locked(&self.kind) {
            locked(&self.doors.strangers).all.retain(|stranger| stranger.number != number);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn from(last: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, last])
    }

    /// Whether a place was taken back.
    fn is_needed(place: &Place) -> bool {
        locked(&place.doors.strangers).all.iter().all(|one| !Arc::ptr_eq(&one.leave, &place.leave))
    }

    #[test]
    fn whoever_comes_to_pair_finds_a_place_among_any_number_of_others() {
        let doors = Arc::new(Doors::default());
        let phone = doors.stranger(from(1));
        phone.has_asked();
        let mut crowd = Vec::new();
        for number in 0..144 {
            crowd.push(doors.stranger(from(10 + number % 3)));
        }
        assert_eq!(locked(&doors.strangers).all.len(), STRANGERS_MAX);
        assert!(!is_needed(&phone));
        let another = doors.stranger(from(2));
        crowd.push(doors.stranger(from(10)));
        assert!(!is_needed(&another) && !is_needed(&phone));
        // Of a crowd of one each, those go that have asked for nothing.
        let mut many = Vec::new();
        for number in 0..100 {
            many.push(doors.stranger(from(100 + number)));
        }
        assert!(is_needed(&another) && !is_needed(&phone));
        drop((crowd, many, another));
        assert_eq!(locked(&doors.strangers).all.len(), 1);
    }

    #[test]
    fn strangers_take_no_place_from_friends() {
        let doors = Arc::new(Doors::default());
        let crowd: Vec<Place> = (0..=255).map(|last| doors.stranger(from(last))).collect();
        let own: Vec<Place> = (0..OWN_MAX).filter_map(|_| doors.own()).collect();
        assert_eq!((own.len(), doors.own().is_none()), (OWN_MAX, true));
        let phone = doors.stranger(from(7));
        assert!(phone.is_stranger() && phone.befriend() && !phone.is_stranger());
        let all = (0..PAIRED_MAX - 1).all(|_| {
            // Kept, so that the place stays taken.
            let place = std::mem::ManuallyDrop::new(doors.stranger(from(8)));
            place.befriend()
        });
        assert!(all && !doors.stranger(from(8)).befriend());
        drop((crowd, own));
        assert!(doors.own().is_some());
    }
}

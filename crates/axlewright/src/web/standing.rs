//! How the book stands: whether it is where it was opened, whole, and may be written to. Said on
//! every page and where the program was started, and looked at once a second; in quiet moments the
//! book is brought to rest.

use std::sync::PoisonError;
use std::time::{Duration, Instant};

use axlewright_store::{GroundPart, StoreError};
use maud::{Markup, html};
use tokio::sync::{broadcast, watch};
use tokio::task::spawn_blocking;
use tokio::time::MissedTickBehavior;

use super::site::{Shared, Site};

/// How often it is looked whether the book is still there.
const EVERY: Duration = Duration::from_secs(1);
/// So long after the last entry the book is brought to rest.
const QUIET: Duration = Duration::from_secs(1);

/// One thing to be said: what, and what to do, in words that give away no file and no folder.
pub(super) struct Remark {
    pub(super) what: String,
    pub(super) right: String,
}

/// What is wrong with a book, for whoever sees the page.
pub(super) fn in_public(why: &StoreError) -> Remark {
    let (what, right) = match why {
        StoreError::Moved { part, gone, .. } => (
            format!(
                "the book is not where it was opened: {} {}",
                match part {
                    GroundPart::Folder => "the folder",
                    GroundPart::Database => "the file with its log",
                    GroundPart::Lock => "the file with its lock",
                    GroundPart::Wal => "the file that runs ahead of its log",
                },
                if *gone { "is gone" } else { "is another one now" }
            ),
            "put it back where it was, or end the program and start it again on the right book; \
             nothing is written until then",
        ),
        StoreError::Lost { loss, .. } => (
            loss.to_string(),
            "look for a newer copy of the book, or for the rest of its files; `axlewright book \
             salvage` makes a book of what is here",
        ),
        StoreError::Line { seq, .. } => (
            format!("entry {seq} is damaged"),
            "`axlewright book salvage` makes a book of everything that is whole",
        ),
        StoreError::Corrupt { .. } => (
            "the book is damaged".to_owned(),
            "`axlewright book verify` says what is still good, `axlewright book salvage` makes a \
             book of it",
        ),
        StoreError::ReadOnly { .. } => (
            "the book lies where nothing can be written".to_owned(),
            "copy it to a folder of your own to write in it",
        ),
        StoreError::Full { .. } => (
            "no room is left on the disk with the book".to_owned(),
            "make room there and send it again; what was acknowledged is safe, and what you typed \
             is still here",
        ),
        _ => (
            "the book could not be written to".to_owned(),
            "see what the program says where it was started; what you typed is still here",
        ),
    };
    Remark { what, right: right.to_owned() }
}

/// Everything there is to say about the book before anything else.
pub(super) fn banner(site: &Site) -> Markup {
    let bench = &site.bench;
    let moved = bench.stands().err().map(|why| in_public(&why));
    let looked_at = bench.trouble().map(|why| {
        let Remark { what, right } = in_public(why);
        let seen = match (bench.may_write(), why) {
            (true, _) => String::new(),
            (false, StoreError::ReadOnly { .. }) => "It is only looked at. ".to_owned(),
            (false, _) => format!(
                "The book is only looked at, up to entry {}. What follows does not know the rest: \
                 do not work from it. ",
                bench.look().seq()
            ),
        };
        Remark { what, right: format!("{seen}{}", axlewright_sheets::capital(&right)) }
    });
    let clock = bench.clock_trouble().map(|what| Remark {
        what: format!("the clock of the machine with the book may be wrong: {what}"),
        right: "set it; what is written meanwhile bears the moment that the clock says".to_owned(),
    });
    html! {
        @for remark in moved.into_iter().chain(looked_at).chain(clock) {
            p.fault role="alert" {
                b { (axlewright_sheets::capital(&remark.what)) ". " }
                (axlewright_sheets::capital(&remark.right)) "."
            }
        }
    }
}

/// Looks after a book for as long as it is served.
pub(super) async fn tend(site: Shared, mut ended: watch::Receiver<bool>) {
    let mut told = site.bench.subscribe();
    let mut every = tokio::time::interval(EVERY);
    every.set_missed_tick_behavior(MissedTickBehavior::Delay);
    // What a start has written is at rest already.
    let mut written: Option<Instant> = None;
    loop {
        tokio::select! {
            () = until_end(&mut ended) => return,
            change = told.recv() => match change {
                Err(broadcast::error::RecvError::Closed) => return,
                _ => written = Some(Instant::now()),
            },
            _ = every.tick() => {
                look(&site);
                if written.is_some_and(|written| QUIET <= written.elapsed()) {
                    written = None;
                    let rested = Shared::clone(&site);
                    let settled = spawn_blocking(move || rested.bench.settle());
                    if let Ok(Err(why)) = settled.await {
                        // The next entry is refused with the same; it is not said every second.
                        site.say(&format!("not brought to rest: {why}"));
                    }
                }
            }
        }
    }
}

async fn until_end(ended: &mut watch::Receiver<bool>) {
    // Nobody left to say so is an end as well.
    let _ = ended.wait_for(|ended| *ended).await;
}

/// Says it where the program was started, and has every page say it, when it changes.
fn look(site: &Site) {
    let now = site.bench.stands().err();
    let said = now.as_ref().map(|why| format!("{why}; {}", why.hint()));
    let mut was = site.moved.lock().unwrap_or_else(PoisonError::into_inner);
    if *was == said {
        return;
    }
    site.say(said.as_deref().unwrap_or("the book is back where it was opened"));
    *was = said;
    site.standing.send_modify(|changes| *changes += 1);
}

//! What was done to each joint, bolt by bolt.

use axlewright_book::{BoltNow, Torqued};

use super::{BoltLine, Book, JointRecord, Said, steps};
use crate::finding::{Item, Leaf, Subject};
use crate::joints::forbids_words;

/// What people call a joint, with its side.
pub(super) fn name(book: Book<'_>, id: &str) -> String {
    let scene = book.found.joints.iter().find(|scene| scene.joint == id);
    scene.map_or_else(|| id.to_owned(), |scene| scene.name.clone())
}

/// The joints of the car file, as its rows and the log have them.
pub(super) fn joints(book: Book<'_>) -> Vec<JointRecord> {
    let states = book.car.joint_states();
    let one = |state: axlewright_book::JointState| {
        let of = Subject::Joint(state.joint.clone());
        let verdict = book.found.find("joint.sign-off", Some(&of)).map(|found| &found.value);
        let forbids = verdict.and_then(|value| value.get("forbids")).map(Item::items);
        JointRecord {
            name: name(book, &state.joint),
            bolts: state.bolts.iter().map(|now| bolt(book, now, &of)).collect(),
            ready: verdict.and_then(|value| value.get("ready")) == Some(&Item::Flag(true)),
            forbids: forbids.unwrap_or_default().iter().map(forbids_words).collect(),
            signed: steps::signed(book, &state.joint),
            joint: state.joint,
        }
    };
    states.into_iter().map(one).collect()
}

fn bolt(book: Book<'_>, now: &BoltNow, of: &Subject) -> BoltLine {
    let torqued = now.torqued.as_ref();
    let stamp = |torqued: &Torqued| {
        book.stamp_at(torqued.origin, torqued.date.as_ref().map(|date| date.value.as_str()))
    };
    let value = torqued.and_then(|torqued| {
        let entry = torqued.value.as_ref()?;
        let text = entry.text.trim().to_owned();
        let u = entry.spread.map(|spread| spread.standard_uncertainty());
        let leaf = Leaf { value: entry.value, u, written: Some(text.clone()) };
        Some(Said { text, leaf: Some(leaf), how: String::new(), stamp: stamp(torqued) })
    });
    let wrench = torqued.and_then(|torqued| torqued.wrench.as_ref());
    let rows = book.found.find("joint.state", Some(of)).map(|found| found.value.items());
    let number = Item::Count(i64::from(now.bolt), "bolt");
    let row = rows.unwrap_or_default().iter().find(|row| row.get("bolt") == Some(&number));
    let fault = match row.and_then(|row| row.get("fault")) {
        Some(Item::Word(words)) => Some(words.clone()),
        _ => None,
    };
    BoltLine {
        fault,
        bolt: now.bolt,
        state: now.state,
        value,
        wrench: wrench.map(|wrench| wrench.value.trim().to_owned()),
        position: torqued.and_then(|torqued| torqued.position).map(|position| position.word()),
        torqued: torqued.map(stamp),
        marked: now.marked.map(|origin| book.stamp_at(origin, None)),
        loosened: now.loosened.map(|origin| book.stamp_at(origin, None)),
    }
}

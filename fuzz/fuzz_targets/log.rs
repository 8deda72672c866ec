//! Any lines at all as entries of a log: no panic; what cannot be read is kept whole; folding at
//! once is folding one by one; a struck entry changes nothing.
//!
//! Each line is the kind of an entry, its version and its body: `note 1 {"about":"","text":"a"}`.
//!
//! With a nightly toolchain: `cargo fuzz run log crates/book/tests/log_corpus`.
//! On the stable toolchain, without the address sanitiser, see `fuzz/README.md`.

#![no_main]

use axlewright_book::log::{Body, Entry, Line, State, Unfigured, check, fold};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let mut entries = Vec::new();
    let mut state = State::default();
    for (line, seq) in text.lines().zip(1..) {
        let _ = Line::read(line);
        let mut words = line.splitn(3, ' ');
        let mut word = || words.next().unwrap_or_default();
        let (kind, version, json) = (word(), word(), word());
        let version = version.parse().unwrap_or(1);
        let body = Body::from_json(kind, version, json);
        if matches!(body, Body::Unread(_)) {
            assert_eq!((body.kind(), body.version()), (kind, version));
            assert_eq!(body.to_json(), json);
        } else {
            assert_eq!(Body::from_json(kind, version, &body.to_json()), body);
        }
        let before = state.unfolded().count();
        let may = check(&state, &body, &Unfigured);
        let strikes = matches!(body, Body::Strike { .. });
        let at = "2026-11-25T21:00:00Z".to_owned();
        let entry = Entry { seq, at, by: "me".to_owned(), body };
        state.after(entry.clone());
        assert!(strikes || may.is_err() || state.unfolded().count() == before, "{entry:?}");
        entries.push(entry);
    }
    let whole = fold(entries.clone());
    assert_eq!(whole, state);
    let (car, problems) = state.car();
    for problem in &problems {
        assert!(0 < problem.line && !problem.what.is_empty() && !problem.right.is_empty());
    }
    let _ = (axlewright_book::log::import_of(&car), car.joint_states());
    if let Some(last) = entries.last()
        && state.struck_by(last.seq).is_none()
    {
        let mut struck = state.clone();
        let (seq, why) = (last.seq, "wrong".to_owned());
        struck.after(Entry { seq: seq + 1, body: Body::Strike { seq, why }, ..last.clone() });
        entries.pop();
        assert_eq!(struck.facts(), fold(entries).facts());
    }
});

//! Text that nobody would write: it is read without a panic, and every problem points into it.
//!
//! The corpus in `tests/corpus` holds one file per kind of trouble; a file the fuzzer finds is
//! added there. It is replayed as it stands, and then mutated by a seeded generator, so that every
//! run of the tests sees the same texts.
#![allow(clippy::disallowed_methods, reason = "a test reads its corpus")]

use crate::slow;
use axlewright_book::{CarFile, Field, Joint, read, starter};
use axlewright_quantity::Side;
use proptest::prelude::*;
use std::collections::BTreeSet;

const DEMO: &str = include_str!("../../../../examples/larch-1300/car.toml");

/// A small job with most of what may be written.
const JOB: &str = include_str!("../corpus/job.toml");

/// What the fuzzer kept as the fewest short texts that reach everything short texts reached in
/// reading; set apart by the record separator.
const FOUND: &str = include_str!("../found.txt");

/// Mutated texts made from each file of the corpus.
const ROUNDS: u32 = 60;

/// What holds for any text.
fn survives(text: &str) {
    let (car, problems) = read(text);
    for p in &problems {
        assert!(text.get(p.span.clone()).is_some(), "{p:?} of {text:?}");
        let line = text.split('\n').nth(p.line as usize - 1);
        let width = line.map(|line| line.chars().count() as u32);
        assert!(width.is_some_and(|w| (1..=w + 1).contains(&p.column)), "{p:?} of {text:?}");
        assert!(!p.what.is_empty() && !p.right.is_empty(), "{p:?} of {text:?}");
    }
    assert!(problems.is_sorted_by_key(|p| p.span.start));
    for side in Side::BOTH {
        for field in Field::ALL {
            let amount = car.amount(*field, side);
            assert!(amount.is_none_or(|a| a.to_si().is_finite()), "{field} of {text:?}");
            let _ = car.uncertainty(*field, side);
        }
    }
    the_job_holds_together(&car, text);
    for hole in car.build_holes() {
        assert!(hole.first <= hole.last, "{hole:?} of {text:?}");
    }
}

/// Ids are unique, and every name is that of a row that is there.
fn the_job_holds_together(car: &CarFile, text: &str) {
    let ids = |ids: Vec<&String>| {
        let set: BTreeSet<String> = ids.iter().map(|id| (*id).clone()).collect();
        assert_eq!(set.len(), ids.len(), "an id stands twice in {text:?}");
        set
    };
    let joints = ids(car.joints.iter().map(|j| &j.id.value).collect());
    let parts = ids(car.parts.iter().map(|p| &p.id.value).collect());
    let steps = ids(car.steps.iter().map(|s| &s.id.value).collect());
    for step in &car.steps {
        let lists = [
            (&step.needs, &parts),
            (&step.snug, &joints),
            (&step.torques, &joints),
            (&step.after, &steps),
        ];
        for (list, there) in lists {
            assert!(list.iter().all(|name| there.contains(&name.value)), "{step:?} of {text:?}");
        }
        assert!(step.after.iter().all(|name| name.value != step.id.value), "{text:?}");
        assert!(step.minutes.as_ref().is_none_or(|m| (1..=1440).contains(&m.value)), "{text:?}");
    }
    assert!(car.bolts.iter().all(|bolt| joints.contains(&bolt.joint.value)), "{text:?}");
    for state in car.joint_states() {
        assert!(state.bolts.len() <= Joint::MOST_BOLTS as usize, "{text:?}");
    }
    for session in car.calendar.iter().flat_map(|c| &c.sessions) {
        assert!(session.value.end() <= 1440, "{text:?}");
    }
}

/// The corpus, in one order everywhere.
fn corpus() -> Vec<(String, String)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/corpus");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .expect("the corpus is committed")
        .map(|entry| entry.expect("the folder can be read").path())
        .collect();
    files.sort();
    let text = |path: &std::path::PathBuf| {
        let bytes = std::fs::read(path).expect("the file can be read");
        (path.display().to_string(), String::from_utf8_lossy(&bytes).into_owned())
    };
    files.iter().map(text).collect()
}

#[test]
fn the_corpus_is_replayed() {
    let files = corpus();
    assert!(10 <= files.len(), "the corpus has gone");
    for (_, text) in &files {
        survives(text);
    }
    survives(&starter(&[]));
    let found: Vec<&str> = FOUND.split('\u{1e}').collect();
    assert!(200 <= found.len(), "the fuzzer's texts have gone");
    for text in found {
        survives(text);
    }
}

#[test]
fn the_small_job_is_sound_before_it_is_spoilt() {
    let (car, problems) = read(JOB);
    assert!(problems.is_empty(), "{problems:#?}");
    assert_eq!((car.joints.len(), car.bolts.len(), car.steps.len()), (2, 2, 3));
}

/// Numbers that look random and are the same in every run.
///
/// # Source
/// G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n.max(1) as u64) as usize
    }
}

/// Pieces that mean something to the reader.
const PIECES: &[&str] = &[
    "[",
    "]",
    "[[",
    "]]",
    "\"",
    "'",
    "\"\"\"",
    "'''",
    "=",
    "\n",
    "\r\n",
    "\r",
    "#",
    ",",
    "{",
    "}",
    ".",
    "\\",
    "±",
    " u ",
    "-",
    "e999",
    "nan",
    "°",
    "\u{feff}",
    "\0",
    "[[spec]]\n",
    "[[step]]\n",
    "[[joint]]\n",
    "[[part]]\n",
    "[calendar]\n",
    "-left",
    "-both",
    "each",
    "id = \"x\"\n",
    "after = [\"x\"]\n",
    "[left.arm]\n",
    "format = 2\n",
    " at ",
    "99999999999",
];

fn mutated(text: &str, other: &str, dice: &mut Dice) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len() + 1);
        let end = (at + dice.below(40)).min(bytes.len());
        match dice.below(6) {
            0 => drop(bytes.drain(at..end)),
            1 => {
                let piece = PIECES[dice.below(PIECES.len())];
                bytes.splice(at..at, piece.bytes());
            }
            2 => {
                let copy = bytes[at..end].to_vec();
                let to = dice.below(bytes.len() + 1);
                bytes.splice(to..to, copy);
            }
            3 => {
                let from = dice.below(other.len());
                let piece = other.bytes().skip(from).take(60).collect::<Vec<_>>();
                bytes.splice(at..at, piece);
            }
            4 => bytes.truncate(at),
            _ => {
                if let Some(byte) = bytes.get_mut(at) {
                    *byte = dice.below(256) as u8;
                }
            }
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[test]
fn the_corpus_is_mutated() {
    let mut files = corpus();
    files.push(("demo".to_owned(), DEMO.to_owned()));
    let mut dice = Dice(0x1300_2611_1963_0009);
    for (_, text) in &files {
        for _ in 0..slow::cases(ROUNDS / 10, ROUNDS) {
            let other = &files[dice.below(files.len())].1;
            survives(&mutated(text, other, &mut dice));
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: slow::cases(12, 96),
        failure_persistence: None,
        ..Default::default()
    })]

    #[test]
    fn bytes_of_the_demo_may_be_anything(
        changes in prop::collection::vec((0..DEMO.len(), any::<u8>()), 1..12)
    ) {
        let mut bytes = DEMO.as_bytes().to_vec();
        for (at, byte) in changes {
            bytes[at] = byte;
        }
        survives(&String::from_utf8_lossy(&bytes));
    }

    #[test]
    fn any_value_of_any_key_of_the_job_is_read(
        at in any::<prop::sample::Index>(), value in "[ -~°±]{0,30}"
    ) {
        let lines: Vec<&str> = JOB.split_inclusive('\n').collect();
        let keys: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].contains(" = ")).collect();
        let line = keys[at.index(keys.len())];
        let key = lines[line].split(" = ").next().unwrap_or_default();
        for value in [format!("'{}'", value.replace(['\'', '\\'], "")), value] {
            let put = format!("{key} = {value}\n");
            let own = |(i, old)| if i == line { put.as_str() } else { old };
            let text: String = lines.iter().copied().enumerate().map(own).collect();
            survives(&text);
        }
    }

    #[test]
    fn any_short_text_is_read(text in "(?s).{0,200}") {
        survives(&text);
    }

    #[test]
    fn any_value_of_any_field_is_read(field in 0..Field::ALL.len(), value in "[ -~°±]{0,30}") {
        let field = Field::ALL[field];
        let value = value.replace(['\'', '\\'], "");
        survives(&format!("format = 1\n[{}]\n{} = '{value}'\n", field.section(), field.key()));
        survives(&format!("format = 1\n[{}]\n{} = {value}\n", field.section(), field.key()));
    }
}

//! Laws of the fold, over many made-up logs.

use super::*;
use axlewright_book::log::{Body, Energy, Recheck, Signed, Unfigured, check, import_of};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// One of a few sides, parts, values: few, so that entries meet.
fn few(all: &'static [&'static str]) -> impl Strategy<Value = String> {
    prop::sample::select(all).prop_map(str::to_owned)
}

fn parts() -> impl Strategy<Value = Body> {
    use PartHappened::*;
    let happened = prop::sample::select(vec![
        Tagged, Inspected, Kept, Refinished, Replaced, Ordered, Due, Arrived, Fitted, Removed,
    ]);
    let id = few(&["bar-left", "bar-right", "plate-left", "plate-right", "engine", "Oops"]);
    (id, happened, prop::option::of(few(&["left", "right"]))).prop_map(|(id, happened, side)| {
        let side = side.filter(|_| happened == Fitted);
        let due = (happened == Due).then(|| "1964-05-13".to_owned());
        Body::Part(Part { side, due, ..part(&id, happened) })
    })
}

/// Any entry but a strike, some of them senseless.
fn body() -> impl Strategy<Value = Body> {
    let side = || few(&["left", "right", "middle"]);
    let value = || few(&["35.2 deg", "31 deg u 0.15 deg", "27°06'", "12", "99 mm", ""]);
    let reading = (side(), value(), prop::bool::ANY).prop_map(|(side, value, early)| {
        let stage = early.then(|| "before strip-down".to_owned());
        let mut reading = plate_reading(&side, &value);
        reading.stage = stage;
        Body::Reading(reading)
    });
    let attempt = (side(), value(), -3..4, -3..4)
        .prop_map(|(side, value, a, p)| Body::Attempt(attempt(&side, (a, p), &value)));
    let round = few(&["97 mm", "99 mm", "x"]).prop_map(|trim| Body::Round(round(&trim)));
    let mark = (few(&["one", "two"]), prop::option::of(few(&["0 mm", "1 mm"])))
        .prop_map(|(name, offset)| Body::Mark(mark(&name, offset.as_deref())));
    let step = (
        few(&["look", "plate-on-left", "gone"]),
        prop::sample::select(vec![
            StepHappened::Started,
            StepHappened::Done,
            StepHappened::BackedOut,
        ]),
    )
        .prop_map(|(id, happened)| step(&id, happened));
    let bolt = (1..6_u32, few(&["open", "snug", "torqued", "paint-marked", "loose"]))
        .prop_map(|(n, state)| bolt("hub-cover-left", n, &state, None));
    let recheck = (few(&["nuts", ""]), prop::option::of(1..9_u32), prop::option::of(1..9_u32))
        .prop_map(|(what, due_km, done_km)| {
            Body::Recheck(Recheck { what, due_km, done_km, found: None })
        });
    let signed = few(&["look", "job"])
        .prop_map(|of| Body::Signed(Signed { of, name: "A. Smith".into(), ..Signed::default() }));
    let file = few(&[CAR, "format = 1\n", "rain"]).prop_map(|text| Body::CarFile { text });
    let energy = (few(&["as told", "not remembered", "?"]), prop::option::of(side()))
        .prop_map(|(said, side)| Body::Energy(Energy { said, side, note: None }));
    let note = few(&["rain", " "]).prop_map(|text| Body::Note { about: String::new(), text });
    let raw = (few(&["note", "part", "smell", "strike"]), 0..3_u32, ".{0,12}")
        .prop_map(|(kind, version, text)| Body::from_json(&kind, version, &text));
    prop_oneof![
        3 => reading, 2 => attempt, 2 => round, 5 => parts(), 4 => mark, 3 => step, 3 => bolt,
        2 => recheck, 2 => energy, 1 => signed, 1 => file, 1 => note, 1 => raw
    ]
}

/// A log in which every so often an entry is struck.
fn bodies() -> impl Strategy<Value = Vec<Body>> {
    let strike = (0..40_u64).prop_map(strike);
    prop::collection::vec(prop_oneof![4 => body(), 1 => strike], 0..40)
}

/// What a state says, with the words of entries in place of their numbers.
fn told(state: &State) -> BTreeMap<String, String> {
    let mut out = BTreeMap::new();
    let words = |seq: &u64| state.entry(*seq).map(|entry| entry.body.to_json());
    let facts = state.facts();
    for (key, seqs) in &facts.readings {
        out.insert(format!("reading {key:?}"), format!("{:?}", seqs.last().map(words)));
    }
    for (id, life) in &facts.parts {
        let now = (life.place, life.side, life.due, life.fate.map(|(fate, _)| fate));
        out.insert(format!("part {id}"), format!("{now:?} {}", life.events.len()));
    }
    for (name, life) in &facts.marks {
        let now =
            (&life.between, life.offset.as_ref().map(words), life.void.as_ref().map(|v| &v.part));
        out.insert(format!("mark {name}"), format!("{now:?}"));
    }
    for (id, life) in &facts.steps {
        out.insert(format!("step {id}"), format!("{:?} {:?}", life.now, life.minutes));
    }
    for (joint, bolts) in &facts.bolts {
        for (bolt, seqs) in bolts {
            let all: Vec<Option<String>> = seqs.iter().map(words).collect();
            out.insert(format!("bolt {joint} {bolt}"), format!("{all:?}"));
        }
    }
    for (side, all) in &facts.attempts {
        let sums: Vec<(i64, i64)> = all.iter().map(|a| (a.anchor_moved, a.plate_moved)).collect();
        out.insert(format!("attempts {side:?}"), format!("{sums:?}"));
    }
    out.insert("came".to_owned(), format!("{:?}", facts.came_km.map(|(km, _)| km)));
    out.insert("open".to_owned(), format!("{:?}", state.rechecks_open()));
    out.insert("file".to_owned(), format!("{:?}", state.car_text()));
    out
}

/// What two bodies speak of; bodies that speak of different things do not depend on each other.
fn subject(body: &Body) -> Vec<String> {
    match body {
        Body::Reading(r) => vec![format!("plate {:?}", r.side)],
        Body::Attempt(a) => vec![format!("plate {:?}", Some(&a.side))],
        Body::Part(p) => vec![p.part.clone()],
        Body::Mark(m) => [m.between.to_vec(), vec![format!("mark {}", m.mark)]].concat(),
        Body::Step(s) => vec![format!("step {}", s.step)],
        Body::Bolt(b) => vec![format!("bolt {}", b.bolt)],
        other => vec![other.kind().to_owned()],
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn folding_at_once_is_folding_one_by_one(bodies in bodies()) {
        let entries = log(&bodies);
        let at_once = fold(entries.clone());
        let mut one_by_one = State::default();
        for entry in entries {
            one_by_one.after(entry);
        }
        prop_assert_eq!(at_once, one_by_one);
    }

    #[test]
    fn a_struck_entry_changes_nothing(bodies in bodies(), at in any::<prop::sample::Index>()) {
        prop_assume!(!bodies.is_empty());
        let seq = 1 + at.index(bodies.len()) as u64;
        let state = fold(log(&bodies));
        // A strike that is struck already may not be struck once more.
        prop_assume!(state.struck_by(seq).is_none());
        let next = 1 + bodies.len() as u64;
        let mut struck = state.clone();
        struck.after(entry(next, strike(seq)));
        // The log as it would be had the entry never been written; strikes of it, and strikes of
        // those, have no target then, and are left out with it.
        let mut gone = std::collections::BTreeSet::from([seq]);
        let without = log(&bodies).into_iter().filter(|entry| {
            let strikes_gone = |of: &u64| gone.contains(of) && *of < entry.seq;
            if matches!(&entry.body, Body::Strike { seq: of, .. } if strikes_gone(of)) {
                gone.insert(entry.seq);
            }
            !gone.contains(&entry.seq)
        });
        let without = fold(without);
        prop_assert_eq!(struck.facts(), without.facts());
        // And struck again, the strike changes nothing.
        struck.after(entry(next + 1, strike(next)));
        prop_assert_eq!(struck.facts(), state.facts());
    }

    #[test]
    fn the_order_of_independent_entries_does_not_matter(
        before in bodies(), one in body(), other in body(), after in bodies(),
    ) {
        let subjects = subject(&one);
        prop_assume!(subject(&other).iter().all(|what| !subjects.contains(what)));
        // Numbers change places with the entries, so that nothing after may strike them.
        let last = before.len() as u64;
        let strikes = |body: &Body| matches!(body, Body::Strike { seq, .. } if last < *seq);
        let after: Vec<Body> = after.into_iter().filter(|body| !strikes(body)).collect();
        let with = |middle: [&Body; 2]| {
            let middle = middle.map(Clone::clone);
            fold(log(&[&before, middle.as_slice(), &after].concat()))
        };
        let (there, back) = (with([&one, &other]), with([&other, &one]));
        prop_assert_eq!(told(&there), told(&back));
        prop_assert_eq!(there.unfolded().count(), back.unfolded().count());
    }

    #[test]
    fn bodies_are_read_as_they_were_written(body in body()) {
        let read = Body::from_json(body.kind(), body.version(), &body.to_json());
        prop_assert_eq!(read, body);
    }
}

proptest! {
    // Each step reads the car file anew.
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn nothing_makes_it_panic_and_what_was_checked_folds(bodies in bodies()) {
        let mut state = book(&[]);
        for body in bodies {
            let seq = state.last_seq() + 1;
            let before = state.unfolded().count();
            let may = check(&state, &body, &Unfigured);
            state.after(entry(seq, body.clone()));
            if may.is_ok() {
                // Only a strike may leave others without what they spoke of: a mark not made.
                if !matches!(body, Body::Strike { .. }) {
                    prop_assert_eq!(state.unfolded().count(), before);
                }
            } else {
                state.after(entry(seq + 1, strike(seq)));
            }
            let (car, _) = state.car();
            let _ = import_of(&car);
        }
    }
}

/// The same walk as the fuzz target's, over the texts it starts from and those it has found.
#[test]
fn the_texts_of_the_fuzz_target_are_taken() {
    let texts = [
        (include_str!("../../log_corpus/kinds.txt"), vec![21]),
        (include_str!("../../log_corpus/odd.txt"), Vec::new()),
    ];
    for (text, not_counted) in texts {
        let bodies: Vec<Body> = text
            .lines()
            .map(|line| {
                let words: Vec<&str> = line.splitn(3, ' ').collect();
                Body::from_json(words[0], words[1].parse().unwrap(), words[2])
            })
            .collect();
        let state = fold(log(&bodies));
        let mut one_by_one = State::default();
        for entry in log(&bodies) {
            one_by_one.after(entry);
        }
        assert_eq!(state, one_by_one);
        let _ = state.car();
        let told: Vec<u64> = state.unfolded().map(|one| one.seq).collect();
        if !not_counted.is_empty() {
            assert_eq!(told, not_counted);
        }
    }
}

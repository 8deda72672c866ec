use std::path::Path;
use std::sync::Arc;
use std::thread;

use axlewright_book::log::{Body, PartHappened, Reading, Step, StepHappened};
use axlewright_setup::changed;
use axlewright_store::{StoreError, verify};
use tempfile::{TempDir, tempdir};

use super::{Bench, PhotoOf, Refused, locked};
use crate::desk::book::begin_book;
use crate::desk::{DEMO_CAR, DeskError};

/// A book begun with the demo car, open for writing.
fn book() -> (TempDir, Bench) {
    let folder = tempdir().unwrap();
    let begun = begin_book(&folder.path().join("book"), "Ida", DEMO_CAR).unwrap();
    (folder, begun.bench)
}

fn note(text: &str) -> Body {
    Body::Note { about: String::new(), text: text.to_owned() }
}

/// The left plate, as read in the same way as in the demo car file.
fn plate(value: &str) -> Body {
    let said = |word: &str| Some(word.to_owned());
    Body::Reading(Reading {
        what: "plate angle".to_owned(),
        side: said("left"),
        value: value.to_owned(),
        arrow: said("nose"),
        hung: said("plate"),
        lash: said("lifted"),
        seat: said("reference line"),
        ..Reading::default()
    })
}

fn step(id: &str) -> Body {
    let (step, happened) = (id.to_owned(), StepHappened::Done);
    let (minutes, found, in_spite, note) = (None, None, None, None);
    Body::Step(Step { step, happened, minutes, found, in_spite, note })
}

#[test]
fn a_note_and_a_step_leave_the_figures_and_a_reading_does_not() {
    let (_folder, bench) = book();
    let first = bench.look();
    let before = first.assessment();
    bench.write("Ida", note("rain")).unwrap();
    let noted = bench.look();
    assert!(std::ptr::eq(before, noted.assessment()), "a note was assessed");
    assert!(std::ptr::eq(first.car(), noted.car()), "a note had the car file read again");
    let plan = noted.order();
    bench.write("Ida", step("load-state")).unwrap();
    let stepped = bench.look();
    assert!(std::ptr::eq(before, stepped.assessment()), "a step was assessed");
    assert!(stepped.order_if_ready().is_none(), "a step leaves the plan of before");
    assert_ne!(plan, stepped.order());
    bench.write("Ida", plate("31.0 deg")).unwrap();
    let read = bench.look();
    assert!(read.is_fresh());
    assert!(!changed(before, read.assessment()).is_empty(), "a reading changed nothing");
    assert_eq!(first.assessment(), before, "a view changed");
}

#[test]
fn figures_nobody_asked_for_are_not_computed() {
    let (_folder, bench) = book();
    bench.write("Ida", plate("31.0 deg")).unwrap();
    let view = bench.look();
    assert!(!view.is_figured() && view.is_fresh());
    let free = view.assessment().find("free-angle.now", None).unwrap();
    let input = free.why.inputs.iter().find(|input| input.from.contains("plate reading")).unwrap();
    assert_eq!(input.from, format!("plate reading, entry {}", view.seq()));
}

#[test]
fn a_struck_reading_changes_the_figures_back_and_striking_the_strike_again() {
    let (_folder, bench) = book();
    let before = bench.look().assessment().clone();
    let reading = bench.write("Ida", plate("31.0 deg")).unwrap();
    let with = bench.look().assessment().clone();
    assert_ne!(before, with);
    let strike = bench.strike("Ida", reading.seq, "wrong side").unwrap();
    assert_eq!(*bench.look().assessment(), before);
    bench.strike("Ida", strike.seq, "it was right").unwrap();
    assert_eq!(*bench.look().assessment(), with);
    assert_eq!(bench.look().seq(), strike.seq + 1);
}

#[test]
fn nobody_waits_for_figures_that_are_being_computed() {
    let (_folder, bench) = book();
    let bench = Arc::new(bench);
    let old = bench.look();
    let before = old.assessment();
    let mut told = bench.subscribe();
    let busy = locked(&bench.figuring);
    let writer = thread::spawn({
        let bench = Arc::clone(&bench);
        move || bench.write("Ida", plate("31.0 deg")).unwrap()
    });
    // The entry is on the disk and told; its figures cannot be made while we hold the lock.
    let seq = told.blocking_recv().unwrap();
    let view = bench.look();
    assert_eq!(view.seq(), seq);
    assert!(!view.is_fresh());
    assert!(std::ptr::eq(before, view.assessment()), "figures of before stand meanwhile");
    assert!(view.state().entry(seq).is_some());
    drop(busy);
    assert_eq!(writer.join().unwrap().seq, seq);
    assert_eq!(told.blocking_recv().unwrap(), seq, "told again once the figures are there");
    assert!(bench.look().is_fresh());
    assert!(!changed(before, bench.look().assessment()).is_empty());
}

#[test]
fn many_writers_write_one_after_the_other() {
    let (folder, bench) = book();
    let bench = Arc::new(bench);
    let first = bench.look().seq();
    let threads: Vec<_> = (0..6)
        .map(|hand| {
            let bench = Arc::clone(&bench);
            thread::spawn(move || {
                let write = |n| bench.write("Ida", note(&format!("{hand}.{n}"))).unwrap().seq;
                (0..5).map(write).collect::<Vec<u64>>()
            })
        })
        .collect();
    let mut seqs: Vec<u64> =
        threads.into_iter().flat_map(|thread| thread.join().unwrap()).collect();
    seqs.sort_unstable();
    assert_eq!(seqs, (first + 1..=first + 30).collect::<Vec<u64>>());
    let view = bench.look();
    assert_eq!((view.seq(), view.state().entries().len() as u64), (first + 30, first + 30));
    drop(bench);
    let found = verify(&folder.path().join("book")).unwrap();
    assert!(found.is_whole(), "{:?}", found.faults);
    assert_eq!(found.safe, first + 30);
}

#[test]
fn several_entries_are_written_together_or_not_at_all() {
    let (_folder, bench) = book();
    let before = bench.look().seq();
    let bad = vec![note("good"), plate("31.0 deg"), step("no-such-step")];
    let refused = bench.write_all("Ida", bad).unwrap_err();
    assert_eq!(refused.field(), Some("step"));
    assert!(refused.is_input());
    assert_eq!(bench.look().seq(), before);
    // An entry is checked after those before it: a step is done only once.
    let twice = vec![step("load-state"), step("load-state")];
    assert_eq!(bench.write_all("Ida", twice).unwrap_err().field(), Some("happened"));
    assert_eq!(
        bench.write_all("Ida", vec![note("a"), note("b")]).unwrap(),
        [before + 1, before + 2]
    );
    assert_eq!(bench.write_all("Ida", Vec::new()).unwrap(), [0; 0]);
    assert_eq!(bench.look().seq(), before + 2);
}

#[test]
fn a_car_file_and_a_book_that_is_only_looked_at_take_nothing() {
    let (folder, bench) = book();
    let path = folder.path().join("car.toml");
    std::fs::write(&path, DEMO_CAR).unwrap();
    for open in [path.as_path(), folder.path()] {
        let file = Bench::open(open).unwrap();
        assert!(!file.is_book() && !file.may_write());
        assert_eq!(file.look().seq(), 0);
        assert!(matches!(file.write("Ida", note("x")), Err(Refused::NotABook(_))));
        assert!(file.photo("Ida", &[], PhotoOf::default()).is_err());
    }
    // Readers need no lock, and see what was written before they came.
    bench.write("Ida", note("rain")).unwrap();
    let reader = Bench::open(&folder.path().join("book")).unwrap();
    assert!(reader.is_book() && !reader.may_write());
    assert_eq!(reader.look().seq(), bench.look().seq());
    let refused = reader.write("Ida", note("x")).unwrap_err();
    assert!(matches!(refused, Refused::Store(StoreError::Reader { .. })));
    assert!(!refused.is_input());
    let second = Bench::own(&folder.path().join("book"), "Max").unwrap_err();
    assert!(matches!(&second, DeskError::Book(StoreError::Locked { .. })), "{second}");
    assert!(second.to_string().contains("Ida"), "{second}");
}

#[test]
fn photos_are_taken_in_shown_and_refused() {
    let (folder, bench) = book();
    let bytes = photo(90);
    let of = PhotoOf { of: "bar-left".to_owned(), ..PhotoOf::default() };
    let seq = bench.photo("Ida", &bytes, of.clone()).unwrap().seq;
    let view = bench.look();
    let Body::Photo(said) = &view.state().entry(seq).unwrap().body else { panic!("no photo") };
    assert_eq!((said.width, said.height, said.media.as_str()), (3, 2, "image/png"));
    assert!(!bench.photo_bytes(said).unwrap().is_empty());
    assert!(bench.thumb(said).unwrap().starts_with(&[0xFF, 0xD8]));
    let before = bench.look().seq();
    let refused = bench.photo("Ida", b"not a photo", of.clone()).unwrap_err();
    assert!(refused.is_input() && refused.to_string().contains("neither JPEG"), "{refused}");
    assert!(bench.photo("Ida", &bytes, of).is_err(), "the same photo of the same thing twice");
    assert!(bench.photo("Ida", &photo(7), PhotoOf::default()).is_err(), "a photo of nothing");
    assert_eq!(bench.look().seq(), before);
    let found = verify(&folder.path().join("book")).unwrap();
    assert_eq!((found.photos, found.unlogged.len()), (1, 0), "what was refused was kept");
}

/// Three pixels by two.
fn photo(grey: u8) -> Vec<u8> {
    use image::{ExtendedColorType, ImageEncoder};
    let mut file = Vec::new();
    let encoder = image::codecs::png::PngEncoder::new(&mut file);
    encoder.write_image(&[grey; 18], 3, 2, ExtendedColorType::Rgb8).unwrap();
    file
}

#[test]
fn a_part_that_comes_changes_what_can_be_done_tonight() {
    let (_folder, bench) = book();
    let waits = |bench: &Bench| bench.look().tonight().find("order.blocked-by", None).cloned();
    let before = waits(&bench);
    let arrived = Body::Part(axlewright_book::log::Part {
        part: "hose-left".to_owned(),
        happened: PartHappened::Arrived,
        side: None,
        verdict: None,
        due: None,
        in_spite: None,
        name: None,
        note: None,
    });
    bench.write("Ida", arrived).unwrap();
    assert_ne!(before, waits(&bench));
}

#[test]
fn the_bench_is_shared_between_threads() {
    fn is_shared<T: Send + Sync>(_: &T) {}
    let (_folder, bench) = book();
    is_shared(&bench);
    is_shared(&bench.look());
    assert_eq!(bench.path().file_name(), Path::new("book").file_name());
}

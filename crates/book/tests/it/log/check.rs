//! What may not be written, at which field, and what would be right.

use super::*;
use axlewright_book::log::{
    Body, Moved, Photo, Reading, Recheck, Refusal, Signed, Unfigured, check,
};

fn refusal(state: &State, body: &Body) -> Refusal {
    check(state, body, &Unfigured).expect_err(&format!("this must not be written: {body:?}"))
}

/// Rows of: what was there before, what is to be written, the field, words of what and right.
fn refused(before: &[Body], body: Body, field: &str, said: &str, right: &str) {
    let state = book(before);
    let refusal = refusal(&state, &body);
    assert_eq!(refusal.field, field, "{refusal:?}");
    assert!(refusal.what.contains(said), "{refusal:?}");
    assert!(refusal.right.contains(right), "{refusal:?}");
}

fn written(before: &[Body], body: Body) {
    let state = book(before);
    check(&state, &body, &Unfigured).unwrap_or_else(|refusal| panic!("{refusal:?}: {body:?}"));
}

#[test]
fn readings() {
    let left = || plate_reading("left", "35.2 deg");
    let trim = || Reading {
        what: "trim".into(),
        corner: text("LR"),
        value: "97 mm".into(),
        load: text("empty"),
        ..Reading::default()
    };
    written(&[], Body::Reading(left()));
    written(&[], Body::Reading(trim()));
    let free =
        Reading { what: "play in the hub".into(), value: "none".into(), ..Reading::default() };
    written(&[], Body::Reading(free));
    let rows: Vec<(Reading, &str, &str, &str)> = vec![
        (Reading { value: "35.2".into(), ..left() }, "value", "unit", "deg"),
        (Reading { value: "35.2 mm".into(), ..left() }, "value", "mm", "angle"),
        (Reading { value: "352 deg".into(), ..left() }, "value", "between", "35.2 deg"),
        (Reading { value: "  ".into(), ..left() }, "value", "", "35.2 deg"),
        (Reading { what: "plate angel".into(), ..left() }, "what", "nearly", "plate angle"),
        (Reading { what: "".into(), ..left() }, "what", "blank", "plate angle"),
        (Reading { side: text("lft"), ..left() }, "side", "few words", "left"),
        (Reading { side: None, ..left() }, "side", "none is named", "left"),
        (Reading { corner: text("RR"), ..left() }, "corner", "different sides", "one of them"),
        (Reading { corner: text("LF"), side: None, ..left() }, "corner", "rear wheel", "LR"),
        (Reading { arrow: text("up"), ..left() }, "arrow", "few words", "nose"),
        (Reading { hung: text("everything"), ..left() }, "hung", "few words", "plate and arm"),
        (Reading { lash: text("loose"), ..left() }, "lash", "few words", "lifted"),
        (Reading { seat: text("corner"), ..left() }, "seat", "few words", "edge"),
        (Reading { seat_offset: text("40 deg"), ..left() }, "seat_offset", "between", ""),
        (Reading { turned: text("x"), ..left() }, "turned", "", "deg"),
        (Reading { stage: text("later"), ..left() }, "stage", "few words", "before strip-down"),
        (Reading { load: None, ..trim() }, "load", "not said", "half a tank"),
        (Reading { hung: text("plate"), ..trim() }, "hung", "does not belong", "plate angle"),
        (Reading { arrow: text("nose"), ..trim() }, "arrow", "does not belong", "level"),
        (Reading { note: Some("x".repeat(20_001)), ..trim() }, "note", "bytes long", "shorten"),
        (Reading { gauge: text("two\nlines"), ..trim() }, "gauge", "one line", "note"),
    ];
    for (reading, field, said, right) in rows {
        refused(&[], Body::Reading(reading), field, said, right);
    }
}

#[test]
fn parts() {
    use PartHappened::*;
    let fit = |id: &str, side: &str| Part { side: text(side), ..part(id, Fitted) };
    written(&[], Body::Part(fit("bar-left", "left")));
    written(&[], Body::Part(part("bar-left", Fitted)));
    written(&[], Body::Part(fit("engine", "left")));
    let against = Part { in_spite: text("the marks were swapped"), ..fit("bar-left", "right") };
    written(&[], Body::Part(against));
    let named = Part { name: text("a washer"), ..part("washer", Tagged) };
    written(&[], Body::Part(named.clone()));
    written(&[Body::Part(named)], Body::Part(part("washer", Kept)));
    let fitted = || [Body::Part(part("bar-left", Fitted))];
    written(&[fitted(), [Body::Part(part("bar-left", Removed))]].concat(), fitted()[0].clone());

    refused(
        &[],
        Body::Part(fit("bar-left", "right")),
        "side",
        "belongs on the left",
        "other side's",
    );
    refused(&fitted(), fitted()[0].clone(), "happened", "fitted already (entry 2)", "removed");
    refused(&[], Body::Part(part("bar-left", Removed)), "happened", "on the bench", "strike");
    refused(&[], Body::Part(part("bar-lefd", Kept)), "part", "no such part", "`bar-left`");
    refused(&[], Body::Part(part("Bar left", Kept)), "part", "small letters", "bar-left");
    refused(&[], Body::Part(part("", Kept)), "part", "small letters", "");
    refused(&[], Body::Part(part("plate-left", Due)), "due", "not said", "2026-11-25");
    let rows = [
        (Part { due: text("soon"), ..part("bar-left", Due) }, "due", "no day"),
        (Part { due: text("2026-11-25"), ..part("bar-left", Kept) }, "due", "not belong"),
        (Part { verdict: text("fine"), ..part("bar-left", Inspected) }, "verdict", "few words"),
        (Part { verdict: text("good"), ..part("bar-left", Kept) }, "verdict", "not belong"),
        (Part { side: text("left"), ..part("bar-left", Kept) }, "side", "not belong"),
        (Part { in_spite: text("why not"), ..fit("bar-left", "left") }, "in_spite", "nothing is"),
        (Part { in_spite: text(" "), ..fit("bar-left", "right") }, "in_spite", "blank"),
    ];
    for (part, field, said) in rows {
        refused(&[], Body::Part(part), field, said, "");
    }
}

#[test]
fn marks() {
    let made = || Body::Mark(mark("eccentric", None));
    let read = || Body::Mark(mark("eccentric", Some("1.5 mm rearward")));
    let new_plate = || Body::Part(part("plate-left", PartHappened::Replaced));
    written(&[], made());
    written(&[made()], read());
    written(&[made(), read()], read());
    written(&[made(), new_plate()], made());
    refused(&[], read(), "mark", "no such mark", "before it is read");
    refused(&[made()], made(), "mark", "already (entry 2)", "another name");
    refused(&[made(), new_plate()], read(), "mark", "`plate-left` was replaced (entry 3)", "anew");
    // The part was not replaced after all.
    written(&[made(), new_plate(), strike(3)], read());
    let between = |a: &str, b: &str, offset| {
        let between = [a.to_owned(), b.to_owned()];
        Body::Mark(Mark { between, ..mark("eccentric", offset) })
    };
    refused(&[], between("plate-left", "plate-left", None), "between", "to itself", "two parts");
    refused(&[], between("plate-left", "axle", None), "between", "no such part", "entered first");
    let other = between("plate-left", "bar-right", Some("0 mm"));
    refused(&[made()], other, "between", "joins `plate-left` and `bar-left`", "these two");
    written(&[made()], between("bar-left", "plate-left", Some("0 mm")));
}

#[test]
fn steps_and_signatures() {
    use StepHappened::*;
    written(&[], step("look", Started));
    written(&[step("look", Started)], step("look", Done));
    written(&[step("look", Done)], step("look", BackedOut));
    written(&[step("look", Done), step("look", BackedOut)], step("look", Done));
    refused(
        &[step("look", Done)],
        step("look", Done),
        "happened",
        "done already (entry 2)",
        "backed",
    );
    refused(&[step("look", Started)], step("look", Started), "happened", "begun already", "done");
    refused(&[], step("look", BackedOut), "happened", "neither begun nor done", "");
    refused(&[], step("loook", Done), "step", "no such step", "`look`");
    let named = |of: &str, name: &str| {
        Body::Signed(Signed { of: of.into(), name: name.into(), ..Signed::default() })
    };
    for of in ["look", "hub-cover-left", "job"] {
        refused(&[], named(of, "  "), "name", "nobody", "their name");
    }
    refused(&[], named("lok", "A. Smith"), "of", "no such step or joint", "`job`");
}

fn sign(of: &str, in_spite: Option<&str>) -> Body {
    let (of, name, in_spite) = (of.into(), "A. Smith".into(), in_spite.map(str::to_owned));
    Body::Signed(Signed { of, name, in_spite, ..Signed::default() })
}

#[test]
fn nothing_is_signed_before_it_is_done() {
    use StepHappened::*;
    let because = || Some("he asked for it");
    // A hold point: never before its step, not even with a reason.
    refused(&[], sign("look", None), "of", "is not done", "is done");
    refused(&[], sign("look", because()), "of", "is not done", "is done");
    refused(&[step("look", Started)], sign("look", None), "of", "is not done", "");
    written(&[step("look", Done)], sign("look", None));
    refused(&[step("look", Done)], sign("look", because()), "in_spite", "nothing is open", "out");
    refused(&[step("look", Done), step("look", BackedOut)], sign("look", None), "of", "not", "");
    // A joint: its first bolt has its torque by the file, the other three have not.
    refused(&[], sign("hub-cover-left", None), "in_spite", "bolt B: open", "never that it holds");
    let others = [2, 3, 4].map(|n| bolt("hub-cover-left", n, "torqued", Some("4.4 kgf m")));
    written(&others, sign("hub-cover-left", None));
    // The job: two steps for the plates, two joints, three parts away or none, one hold point.
    refused(&[], sign("job", None), "in_spite", "3 steps open, 2 joints not fit", "`in_spite`");
    refused(&[], sign("job", None), "in_spite", "2 parts away", "");
    written(&[], sign("job", because()));
    refused(&[], sign("job", Some(" ")), "in_spite", "blank", "");
}

/// Steps that hold each other up.
const STEPS: &str = r#"

[[step]]
id = "droop"
phase = "before strip-down"
words = "how far it droops"
hold = true
reading = "cannot be taken again"

[[step]]
id = "arm-off"
phase = "strip-down"
words = "arm off"
after = ["droop"]

[[step]]
id = "cover-torque"
phase = "assembly"
words = "the covers, crosswise"
torques = ["hub-cover-both"]
after = ["arm-off"]

[[step]]
id = "wheels-down"
phase = "on the wheels"
words = "down"
after = ["cover-torque", "look"]
hold = true
"#;

#[test]
fn a_hold_point_and_a_reading_hold_up_what_comes_after() {
    use StepHappened::*;
    let file = || Body::CarFile { text: format!("{CAR}{STEPS}") };
    let before = |bodies: &[Body]| [&[file()], bodies].concat();
    let waived = |note: Option<&str>| {
        let (step, note) = ("droop".to_owned(), note.map(str::to_owned));
        let (minutes, in_spite) = (None, None);
        Body::Step(Step { step, happened: Waived, minutes, in_spite, note })
    };
    let spite = |step: &str| {
        let (step, in_spite) = (step.to_owned(), Some("no time".to_owned()));
        Body::Step(Step { step, happened: Done, minutes: None, in_spite, note: None })
    };
    refused(&before(&[]), step("arm-off", Done), "in_spite", "`droop` is not read", "first");
    refused(&before(&[]), step("arm-off", Started), "in_spite", "`droop` is not read", "first");
    written(&before(&[]), spite("arm-off"));
    written(&before(&[step("droop", Done)]), step("arm-off", Done));
    refused(&before(&[step("droop", Done)]), spite("arm-off"), "in_spite", "nothing is", "out");
    refused(&before(&[step("droop", Done)]), sign("droop", None), "of", "not signed", "waived");
    refused(&before(&[]), waived(None), "note", "why", "one sentence");
    written(&before(&[]), waived(Some("it came in pieces")));
    written(&before(&[waived(Some("it came in pieces"))]), step("arm-off", Done));
    let look = Step {
        step: "look".to_owned(),
        happened: Waived,
        minutes: None,
        in_spite: None,
        note: Some("no".to_owned()),
    };
    refused(&before(&[]), Body::Step(look), "happened", "no reading", "only such");
    // A step that brings a joint to its torque is not done while a bolt is open, nor left out.
    let done = [step("droop", Done), step("arm-off", Done), step("look", Done)];
    let short = "brings `hub-cover-left` to its torque, and it is not: bolt B: open";
    refused(&before(&done), step("cover-torque", Done), "in_spite", short, "first");
    refused(&before(&done), step("wheels-down", Done), "in_spite", "(and ", "first");
    let torqued = |joint: &str, from: u32| {
        let all = (from..=4).map(|n| bolt(joint, n, "torqued", Some("4.4 kgf m")));
        all.collect::<Vec<_>>()
    };
    let tight = [&done[..], &torqued("hub-cover-left", 2), &torqued("hub-cover-right", 1)].concat();
    written(&before(&tight), step("cover-torque", Done));
    let tight = [&tight[..], &[step("cover-torque", Done)]].concat();
    // The other hold point before it is done and not signed.
    let unsigned = "`look` is done and not signed";
    refused(&before(&tight), step("wheels-down", Done), "in_spite", unsigned, "first");
    let signed = [&tight[..], &[sign("look", None)]].concat();
    written(&before(&signed), step("wheels-down", Done));
    // Loosened again, the next hold point is closed again.
    let loose = [&signed[..], &[bolt("hub-cover-left", 2, "open", None)]].concat();
    refused(&before(&loose), step("wheels-down", Done), "in_spite", short, "first");
}

#[test]
fn bolts() {
    let left = |n, state, value| bolt("hub-cover-left", n, state, value);
    written(&[], left(2, "snug", None));
    written(&[], left(4, "torqued", Some("44 N m")));
    // Bolt 1 is torqued in the car file.
    written(&[], left(1, "paint-marked", None));
    written(&[left(2, "torqued", None)], left(2, "paint-marked", None));
    written(&[], left(2, "paint-marked", Some("44 N m")));
    refused(&[], left(2, "paint-marked", None), "state", "no row above", "torqued");
    refused(&[left(1, "open", None)], left(1, "paint-marked", None), "state", "", "torqued");
    refused(&[], left(2, "torqued", None), "value", "not said", "with its unit");
    refused(&[], left(5, "snug", None), "bolt", "has 4", "counted from 1");
    refused(&[], left(0, "snug", None), "bolt", "between 1 and 64", "");
    refused(&[], bolt("hub-cover", 1, "snug", None), "joint", "no such joint", "hub-cover-left");
    refused(&[], left(2, "tight", None), "state", "few words", "torqued");
    refused(&[], left(2, "open", Some("44 N m")), "value", "no torque", "leave it out");
    refused(&[], left(2, "torqued", Some("44")), "value", "unit", "4.4 kgf m");
    refused(&[], left(2, "torqued", Some("44 kN m")), "value", "", "");
}

#[test]
fn attempts_rounds_and_moves() {
    let fit = || attempt("left", (1, -1), "31 deg");
    written(&[], Body::Attempt(fit()));
    let rows = [
        (Attempt { side: "both".into(), ..fit() }, "side", "few words"),
        (Attempt { anchor_teeth: 201, ..fit() }, "anchor_teeth", "between"),
        (Attempt { anchor_at: Some(39), ..fit() }, "anchor_at", "between 0 and 38"),
        (Attempt { plate_at: Some(43), ..fit() }, "plate_at", "between 0 and 42"),
        (Attempt { reading: plate_reading("right", "31 deg"), ..fit() }, "reading.side", "is not"),
        (Attempt { reading: plate_reading("left", "31"), ..fit() }, "reading.value", "unit"),
    ];
    for (attempt, field, said) in rows {
        refused(&[], Body::Attempt(attempt), field, said, "");
    }
    let trim = Reading { what: "trim".into(), load: text("empty"), ..Reading::default() };
    let trim = Reading { value: "97 mm".into(), corner: text("LR"), ..trim };
    let other = Attempt { reading: trim, ..fit() };
    refused(&[], Body::Attempt(other), "reading.what", "plate angle", "");

    written(&[], Body::Round(round("97 mm")));
    let of = |at: &str, value: &str| [(at.to_owned(), value.to_owned())].into();
    let rows = [
        (Round { load: " ".into(), ..round("97 mm") }, "load", "blank"),
        (Round { weight: of("XX", "200 kg"), ..round("97 mm") }, "weight.XX", "few words"),
        (Round { weight: of("LF", "200"), ..round("97 mm") }, "weight.LF", "unit"),
        (Round { trim: of("LF", "97 mm"), ..round("97 mm") }, "trim.LF", "no trim"),
        (Round { toe: of("LR", "40 deg"), ..round("97 mm") }, "toe.LR", "between"),
        (Round { load: "empty".into(), ..Round::default() }, "weight", "no reading"),
    ];
    for (round, field, said) in rows {
        refused(&[], Body::Round(round), field, said, "");
    }
    written(&[], Body::Round(Round { toe: of("LR", "1.5 mm"), ..round("97 mm") }));

    let moved = |corner: &str, adjuster: &str, by: &str| {
        let [corner, adjuster, by] = [corner, adjuster, by].map(str::to_owned);
        Body::Moved(Moved { corner, adjuster, by })
    };
    written(&[], moved("LR", "anchor", "-2"));
    written(&[], moved("LR", "front eccentric", "1.2 mm"));
    written(&[], moved("LF", "front screw", "0.25"));
    refused(&[], moved("LF", "anchor", "1"), "adjuster", "no anchor at LF", "screw");
    refused(&[], moved("LR", "anchor", "0.5"), "by", "no number of teeth", "");
    refused(&[], moved("rear", "anchor", "1"), "corner", "few words", "LR");
    refused(&[], moved("LR", "jack", "1"), "adjuster", "few words", "anchor");
}

#[test]
fn photos_notes_and_rechecks() {
    let photo = || Photo {
        sha256: "0a".repeat(32),
        media: "image/jpeg".into(),
        bytes: 100,
        width: 30,
        height: 20,
        of: "eccentric".into(),
        ..Photo::default()
    };
    written(&[], Body::Photo(photo()));
    let rows = [
        (Photo { sha256: "0A".repeat(32), ..photo() }, "sha256", "no SHA-256"),
        (Photo { sha256: "../../etc".into(), ..photo() }, "sha256", "no SHA-256"),
        (Photo { media: "image/gif".into(), ..photo() }, "media", "few words"),
        (Photo { bytes: 0, ..photo() }, "bytes", "limit"),
        (Photo { width: 60_000, height: 60_000, ..photo() }, "width", "pixels"),
        (Photo { of: "".into(), ..photo() }, "of", "blank"),
        (Photo { when: text("during"), ..photo() }, "when", "few words"),
    ];
    for (photo, field, said) in rows {
        refused(&[], Body::Photo(photo), field, said, "");
    }
    refused(
        &[Body::Photo(photo())],
        Body::Photo(photo()),
        "sha256",
        "already (entry 2)",
        "another",
    );
    let note = |text: &str| Body::Note { about: String::new(), text: text.into() };
    written(&[], note("rain"));
    refused(&[], note(" \n"), "text", "blank", "words");
    let recheck = |what: &str, due_km, done_km| {
        Body::Recheck(Recheck { what: what.into(), due_km, done_km, found: None })
    };
    written(&[], recheck("hub nuts", Some(100), None));
    written(&[], recheck("", None, Some(60)));
    refused(&[], recheck("", Some(100), None), "what", "not said", "hub nuts");
    refused(&[], recheck("hub nuts", None, None), "due_km", "neither", "distance");
    let due = recheck("hub nuts", Some(100), None);
    refused(std::slice::from_ref(&due), due.clone(), "due_km", "already", "once");
}

#[test]
fn strikes_and_car_files() {
    let note = || Body::Note { about: String::new(), text: "rain".into() };
    written(&[note()], strike(2));
    written(&[note(), strike(2)], strike(3));
    refused(&[note()], strike(9), "seq", "no entry 9", "1 to 2");
    refused(&[note(), strike(2)], strike(2), "seq", "struck already (entry 3)", "strike entry 3");
    refused(&[], strike(1), "seq", "only car file", "first");
    let unsaid = Body::Strike { seq: 2, why: "".into() };
    refused(&[note()], unsaid, "why", "blank", "");
    let file = |text: &str| Body::CarFile { text: text.to_owned() };
    written(&[], file("format = 1\n"));
    written(&[file("format = 1\n")], strike(1));
    refused(&[], file(CAR), "text", "entry 1, letter for letter", "change it");
    refused(&[], file("format = 99\n"), "text", "format is 99", "later one");
    refused(&[], file("rain"), "text", "format", "format = 1");
    refused(&[], file(&"#\n".repeat(200_000)), "text", "bytes long", "");
    let newer = Body::from_json("note", 2, "{}");
    refused(&[], newer, "kind", "version 2", "version of Axlewright");
    // Without a car file nothing can be named.
    let empty = fold(log(&[]));
    assert_eq!(refusal(&empty, &step("look", StepHappened::Done)).field, "step");
    assert!(check(&empty, &note(), &Unfigured).is_ok());
}

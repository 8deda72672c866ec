//! What entries come to.

use super::*;
use axlewright_book::log::{
    Body, Energy, Photo, ReadingKey, Recheck, Signed, Spot, Unfigured, What, check, completed,
};
use axlewright_book::{PartState, ReadingWhat};
use axlewright_quantity::{Corner, Side};

fn plate_key(side: Side) -> ReadingKey {
    let what = What::Known(ReadingWhat::PlateAngle);
    ReadingKey { what, spot: Spot::Corner(Corner::rear(side)), stage: None }
}

#[test]
fn the_last_reading_holds_and_a_struck_one_does_not() {
    let left = plate_key(Side::Left);
    let first = Body::Reading(plate_reading("left", "35.2 deg"));
    let second = Body::Attempt(attempt("left", (1, -2), "31.0 deg"));
    let mut state = book(&[first, second]);
    assert_eq!(state.reading(&left).map(|r| (r.entry.seq, r.value)), Some((3, "31.0 deg")));
    state.after(entry(4, strike(3)));
    assert_eq!(state.reading(&left).map(|r| r.value), Some("35.2 deg"));
    assert_eq!(state.struck_by(3), Some(4));
    assert!(state.facts().attempts.is_empty());
    // The strike of the strike brings it back.
    state.after(entry(5, strike(4)));
    assert_eq!(state.reading(&left).map(|r| r.value), Some("31.0 deg"));
    assert_eq!((state.struck_by(3), state.struck_by(4)), (None, Some(5)));
    let values: Vec<&str> = state.readings_of(&left).map(|r| r.value).collect();
    assert_eq!(values, ["35.2 deg", "31.0 deg"]);
}

#[test]
fn a_round_is_a_reading_of_each_wheel_it_names() {
    let state = book(&[Body::Round(round("97 mm"))]);
    let key = |what, corner| ReadingKey {
        what: What::Known(what),
        spot: Spot::Corner(corner),
        stage: None,
    };
    let trim = state.reading(&key(ReadingWhat::Trim, Corner::LeftRear));
    assert_eq!(trim.map(|r| (r.entry.seq, r.value)), Some((2, "97 mm")));
    let weight = state.reading(&key(ReadingWhat::CornerWeight, Corner::LeftFront));
    assert_eq!(weight.map(|r| r.value), Some("210 kg"));
    // Of a stage of the build, it says nothing of the finished car.
    let shell = Round { stage: text("shell"), ..round("97 mm") };
    let state = book(&[Body::Round(shell)]);
    assert_eq!(state.reading(&key(ReadingWhat::Trim, Corner::LeftRear)), None);
}

#[test]
fn teeth_are_counted_through_from_the_first_fit() {
    let at = |n| Some(n);
    let fits = [
        Attempt { anchor_at: at(3), plate_at: at(9), ..attempt("left", (0, 0), "35 deg") },
        attempt("left", (-7, 8), "34 deg"),
        attempt("right", (5, 5), "27 deg"),
        Attempt { plate_at: at(11), ..attempt("left", (1, 1), "30 deg") },
    ];
    let state = book(&fits.map(Body::Attempt));
    let left = &state.facts().attempts[&Side::Left];
    let sums: Vec<(i64, i64)> = left.iter().map(|a| (a.anchor_moved, a.plate_moved)).collect();
    assert_eq!(sums, [(0, 0), (-7, 8), (-6, 9)]);
    let anchor = left[2].anchor_at.map(|tooth| (tooth.counted, tooth.seq, tooth.moved_since));
    assert_eq!(anchor, Some((3, 2, -6)));
    let plate = left[2].plate_at.map(|tooth| (tooth.counted, tooth.seq, tooth.moved_since));
    assert_eq!(plate, Some((11, 5, 0)));
    assert_eq!(state.facts().attempts[&Side::Right].len(), 1);
}

#[test]
fn a_part_goes_its_way() {
    use PartHappened::*;
    let due = Part { due: text("1964-05-13"), ..part("plate-left", Due) };
    let side = Part { side: text("left"), ..part("plate-left", Fitted) };
    let steps = [due, part("plate-left", Arrived), side, part("plate-left", Removed)];
    let bodies: Vec<Body> = steps.into_iter().map(Body::Part).collect();
    let life = |count: usize| book(&bodies[..count]).facts().parts["plate-left"].clone();
    assert_eq!(life(1).place, Some(PartState::Out));
    assert_eq!(life(1).due.map(|day| day.to_string()).as_deref(), Some("1964-05-13"));
    assert_eq!((life(2).place, life(2).due), (Some(PartState::OnTheBench), None));
    let fitted = life(3);
    let told = (fitted.place, fitted.fitted, fitted.side);
    assert_eq!(told, (Some(PartState::Fitted), Some(4), Some(Side::Left)));
    assert_eq!(
        (life(4).place, life(4).fitted, life(4).side),
        (Some(PartState::OnTheBench), None, None)
    );
    assert_eq!(life(4).events, [2, 3, 4, 5]);
}

#[test]
fn a_mark_is_void_once_a_part_it_joins_is_replaced() {
    let made = Body::Mark(mark("eccentric", None));
    let read = Body::Mark(mark("eccentric", Some("1.5 mm rearward")));
    let new_bar = Body::Part(part("bar-left", PartHappened::Replaced));
    let other = Body::Part(part("bar-right", PartHappened::Replaced));

    let state = book(&[made.clone(), other.clone(), read.clone()]);
    let life = &state.facts().marks["eccentric"];
    assert_eq!((life.made, life.offset, life.void.is_some()), (2, Some(4), false));

    let mut state = book(&[made.clone(), new_bar.clone(), read.clone()]);
    let life = &state.facts().marks["eccentric"];
    let void = life.void.as_ref().map(|void| (void.part.as_str(), void.seq));
    assert_eq!((life.offset, void), (None, Some(("bar-left", 3))));
    let told: Vec<(u64, bool)> =
        state.unfolded().map(|one| (one.seq, one.why.contains("void"))).collect();
    assert_eq!(told, [(4, true)]);
    // It was not replaced after all: the mark tells again, and so does its offset.
    state.after(entry(5, strike(3)));
    assert_eq!(state.facts().marks["eccentric"].offset, Some(4));
    assert_eq!(state.unfolded().count(), 0);
    // Made anew, it tells of the new parts.
    let state = book(&[made.clone(), new_bar, made]);
    assert_eq!(state.facts().marks["eccentric"].void, None);
    // Never made, it tells nothing.
    assert_eq!(book(&[read]).unfolded().count(), 1);
}

#[test]
fn steps_signatures_photos_and_notes_are_found_again() {
    use StepHappened::*;
    let photo = Photo {
        sha256: "0".repeat(64),
        media: "image/png".to_owned(),
        bytes: 10,
        width: 3,
        height: 4,
        of: "eccentric".to_owned(),
        ..Photo::default()
    };
    let signed = Signed { of: "look".into(), name: "A. Smith".into(), ..Signed::default() };
    let state = book(&[
        step("plate-on-right", Done),
        step("plate-on-left", Started),
        step("look", Done),
        step("plate-on-left", Done),
        step("look", BackedOut),
        Body::Photo(photo),
        Body::Signed(signed),
        Body::Note { about: "bar-left".into(), text: "a nick near the anchor".into() },
    ]);
    assert_eq!(state.steps_done(), ["plate-on-right", "plate-on-left"]);
    let left = &state.facts().steps["plate-on-left"];
    assert_eq!((left.events.as_slice(), left.minutes), ([3, 5].as_slice(), Some(20)));
    assert_eq!(state.facts().photos["eccentric"], [7]);
    assert_eq!(state.facts().signed["look"], [8]);
    assert_eq!(state.facts().notes, [9]);
}

#[test]
fn rechecks_are_due_by_distance() {
    let recheck = |what: &str, due_km, done_km| {
        Body::Recheck(Recheck { what: what.into(), due_km, done_km, found: None })
    };
    let due = [5, 100, 500].map(|km| recheck("hub nuts", Some(km), None));
    let told = |more: &[Body]| {
        let state = book(&[&due, more].concat());
        let open: Vec<u32> = state.rechecks_open().into_iter().map(|(km, _)| km).collect();
        (open, state.facts().came_km.map(|(km, _)| km))
    };
    assert_eq!(told(&[]), (vec![5, 100, 500], None));
    assert_eq!(told(&[recheck("hub nuts", None, Some(4))]), (vec![100, 500], Some(4)));
    // One look at 120 km answers for both that were due by then.
    assert_eq!(told(&[recheck("hub nuts", None, Some(120))]), (vec![500], Some(120)));
    // How far the car came is not a look at anything.
    assert_eq!(told(&[recheck("", None, Some(60))]), (vec![5, 100, 500], Some(60)));
    assert_eq!(told(&[recheck("trim", None, Some(7))]).0, [5, 100, 500]);
}

#[test]
fn what_makes_no_sense_is_told_and_changes_nothing() {
    let sound = book(&[]);
    let wrong = [
        Body::Reading(plate_reading("left", "35.2")),
        Body::Reading(plate_reading("middle", "35.2 deg")),
        Body::Reading(plate_reading("left", "350 deg")),
        bolt("hub-cover-left", 0, "torqued", None),
        bolt("hub-cover-left", 1, "loose", None),
        strike(77),
        Body::from_json("smell", 1, "{}"),
        Body::from_json("note", 9, "{}"),
        Body::Note { about: String::new(), text: " ".into() },
    ];
    for body in wrong {
        let state = book(std::slice::from_ref(&body));
        let told: Vec<u64> = state.unfolded().map(|one| one.seq).collect();
        assert_eq!(told, [2], "{body:?}");
        let mut facts = state.facts().clone();
        facts.unfolded.clear();
        assert_eq!(&facts, sound.facts(), "{body:?}");
    }
}

#[test]
fn numbers_that_do_not_rise_are_told() {
    let mut state = book(&[Body::Note { about: String::new(), text: "rain".into() }]);
    state.after(entry(2, Body::Note { about: String::new(), text: "again".into() }));
    state.after(entry(9, Body::Note { about: String::new(), text: "after a hole".into() }));
    assert_eq!(state.unfolded().map(|one| one.seq).collect::<Vec<_>>(), [2]);
    assert_eq!(state.facts().notes, [2, 9]);
    assert!(state.entry(9).is_some() && state.entry(5).is_none() && state.entry(0).is_none());
}

#[test]
fn a_mark_is_void_once_a_part_under_it_is_worked_on() {
    let across = |one: &str, also: &[&str]| {
        let between = [one.to_owned(), "arm-left".to_owned()];
        let also = also.iter().map(|id| (*id).to_owned()).collect();
        Body::Mark(Mark { between, also, ..mark("line", None) })
    };
    let is_void = |made: Body, part_of: &str, happened: PartHappened| {
        let state = book(&[made, Body::Part(part(part_of, happened))]);
        let void = state.facts().marks["line"].void.clone();
        void.is_some_and(|void| void.part == part_of && void.happened == happened)
    };
    use PartHappened::{Inspected, Kept, Refinished, Removed, Replaced};
    let plain = || across("clip-left", &["hose-left"]);
    for id in ["clip-left", "arm-left", "hose-left"] {
        for happened in [Replaced, Refinished] {
            assert!(is_void(plain(), id, happened), "{id} {happened:?}");
        }
        for happened in [Inspected, Kept, Removed] {
            assert!(!is_void(plain(), id, happened), "{id} {happened:?}");
        }
    }
    assert!(!is_void(plain(), "plate-left", Replaced), "it is no mark on an eccentric");
    let eccentric = || across("front-eccentric-set-left", &[]);
    assert!(is_void(eccentric(), "plate-left", Replaced));
    assert!(is_void(eccentric(), "plate-left", Refinished));
    assert!(!is_void(eccentric(), "plate-right", Replaced), "the other side's");
}

/// Kinds in the car file tell what lies under a mark on an eccentric, whatever the ids are called;
/// where they are not said, the words of the ids tell as ever.
#[test]
fn kinds_of_parts_tell_what_lies_under_a_mark() {
    let parts = |plate: &str, cam: &str| {
        let part =
            |id: &str, kind: &str| format!("[[part]]\nid = \"{id}\"\nside = \"each\"\n{kind}");
        let (plate, cam) = (part("blade", plate), part("cam", cam));
        let others = ["trailing", "plate-nut"].map(|id| part(id, ""));
        format!("format = 1\n{plate}{cam}{}{}", others[0], others[1])
    };
    let made = |text: &str, one: &str, other: &str| {
        let state = fold([entry(1, Body::CarFile { text: text.to_owned() })]);
        assert!(state.file().unwrap().problems.is_empty(), "{:?}", state.file().unwrap().problems);
        let between = [one.to_owned(), other.to_owned()];
        let body = completed(&state, Body::Mark(Mark { between, ..mark("line", None) }));
        let mut state = state;
        state.after(entry(2, body));
        state
    };
    let is_void = |state: &State, id: &str| {
        let mut state = state.clone();
        state.after(entry(3, Body::Part(part(id, PartHappened::Replaced))));
        state.facts().marks["line"].void.is_some()
    };
    let said = parts("kind = \"plate\"\n", "kind = \"eccentric\"\n");
    let all_said = said.replace("\"trailing\"\n", "\"trailing\"\nkind = \"arm\"\n");
    let state = made(&all_said, "cam-left", "trailing-left");
    assert_eq!(state.facts().marks["line"].over, Some(vec!["blade-left".to_owned()]));
    for (id, void) in [
        ("blade-left", true),
        ("cam-left", true),
        ("trailing-left", true),
        ("blade-right", false),
        ("plate-nut-left", false),
    ] {
        assert_eq!(is_void(&state, id), void, "{id}");
    }
    // The arm's kind is not said, or no plate's: nothing is added, and the words tell.
    for text in [&said, &parts("", "kind = \"eccentric\"\n")] {
        assert_eq!(made(text, "cam-left", "trailing-left").facts().marks["line"].over, None);
    }
    let by_words = made(&parts("", ""), "cam-left", "trailing-left");
    assert!(!is_void(&by_words, "blade-left"));
}

/// What was said last of a side holds; a strike takes it back.
#[test]
fn what_nobody_remembers_is_kept_until_somebody_looked() {
    let said = |said: &str, side: Option<&str>| {
        Body::Energy(Energy { said: said.into(), side: side.map(str::to_owned), note: None })
    };
    let forgotten = |bodies: &[Body]| {
        let state = book(bodies);
        assert_eq!(state.unfolded().count(), 0);
        state.facts().not_remembered.keys().copied().collect::<Vec<Side>>()
    };
    assert_eq!(forgotten(&[said("as told", None)]), []);
    assert_eq!(forgotten(&[said("not remembered", None)]), Side::BOTH);
    assert_eq!(forgotten(&[said("Not remembered", Some("left"))]), [Side::Left]);
    let both_then_one = [said("not remembered", None), said("as told", Some("left"))];
    assert_eq!(forgotten(&both_then_one), [Side::Right]);
    assert_eq!(forgotten(&[said("not remembered", None), strike(2)]), []);
    let state = book(&[step("look", StepHappened::Done), said("not remembered", Some("right"))]);
    assert_eq!(state.car().0.not_remembered, [(Side::Right, 1)]);
    assert!(check(&State::default(), &said("perhaps", None), &Unfigured).is_err());
}

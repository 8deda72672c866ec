//! From a log to the record that a document shows.

use super::{LARCH, LEFT, RIGHT, number};
use axlewright_book::log::{
    Attempt, Body, Bolt, Entry, Mark, Moved, Part, PartHappened, Photo, Reading, Recheck, Round,
    Signed, State, Step, StepHappened, fold,
};
use axlewright_mechanics::arm::{ArmDesign, HolesMoved, PoseAt, TrailingArm};
use axlewright_quantity::{Angle, Length, Place, PlatePoint, Side};
use axlewright_setup::record::{self, Record, still_open};
use axlewright_setup::{Assessment, Item, assess, marks};

fn entry(seq: u64, body: Body) -> Entry {
    Entry { seq, at: format!("2026-11-25T21:{:02}:00Z", seq % 60), by: "Ada".to_owned(), body }
}

fn entries(bodies: impl IntoIterator<Item = Body>) -> Vec<Entry> {
    let file = Body::CarFile { text: LARCH.to_owned() };
    (1..).zip([file].into_iter().chain(bodies)).map(|(seq, body)| entry(seq, body)).collect()
}

fn assessed(state: &State) -> (axlewright_book::CarFile, Assessment) {
    let (car, _) = state.car();
    let found = assess(&car);
    (car, found)
}

fn record(state: &State) -> Record {
    let (car, found) = assessed(state);
    Record::of(state, &car, &found, None)
}

fn of(bodies: impl IntoIterator<Item = Body>) -> Record {
    let state = fold(entries(bodies));
    assert_eq!(state.unfolded().collect::<Vec<_>>(), Vec::<&axlewright_book::log::Unfolded>::new());
    record(&state)
}

fn text(words: &str) -> String {
    words.to_owned()
}

fn plate_reading(value: &str) -> Reading {
    Reading {
        what: text("plate angle"),
        side: Some(text("left")),
        value: text(value),
        arrow: Some(text("nose")),
        hung: Some(text("plate")),
        lash: Some(text("lifted")),
        seat: Some(text("reference line")),
        ..Reading::default()
    }
}

fn attempt((anchor_teeth, plate_teeth): (i32, i32), value: &str) -> Body {
    let reading = plate_reading(value);
    Body::Attempt(Attempt {
        side: text("left"),
        anchor_teeth,
        plate_teeth,
        reading,
        ..Attempt::default()
    })
}

fn bolt(joint: &str, bolt: u32, state: &str, value: Option<&str>) -> Body {
    Body::Bolt(Bolt {
        joint: text(joint),
        bolt,
        state: text(state),
        value: value.map(text),
        wrench: value.map(|_| text("middle click wrench")),
        position: value.map(|_| text("hang")),
        ..Bolt::default()
    })
}

fn step(step: &str, happened: StepHappened, minutes: Option<u32>) -> Body {
    let (found, in_spite, note) = (None, None, None);
    Body::Step(Step { step: text(step), happened, minutes, found, in_spite, note })
}

fn signed(of: &str) -> Body {
    Body::Signed(Signed { of: text(of), name: text("Ada"), ..Signed::default() })
}

fn part(part: &str, happened: PartHappened) -> Body {
    let part = text(part);
    let (side, verdict, due, in_spite, name, note) = (None, None, None, None, None, None);
    Body::Part(Part { part, happened, side, verdict, due, in_spite, name, note })
}

fn mark(offset: Option<&str>) -> Body {
    Body::Mark(Mark {
        mark: text("left arm on plate"),
        between: [text("arm-left"), text("plate-left")],
        also: vec![],
        over: None,
        side: Some(text("left")),
        offset: offset.map(text),
        note: None,
    })
}

fn photo(of: &str, when: Option<&str>, digit: char) -> Body {
    Body::Photo(Photo {
        sha256: digit.to_string().repeat(64),
        media: text("image/jpeg"),
        bytes: 1000,
        width: 640,
        height: 480,
        of: text(of),
        when: when.map(text),
        note: None,
    })
}

fn deg(amount: axlewright_quantity::Amount) -> f64 {
    Angle::try_from(amount).unwrap().to_deg()
}

/// Something of every kind, with little sense in its order.
fn everything() -> Vec<Body> {
    let round = Round {
        load: text("empty, half a tank"),
        trim: [("LR", "97 mm"), ("RR", "94 mm")].map(|(at, mm)| (text(at), text(mm))).into(),
        camber: [("LR", "-0.4 deg")].map(|(at, deg)| (text(at), text(deg))).into(),
        settled: Some(true),
        ..Round::default()
    };
    let (corner, adjuster, by) = (text("LR"), text("rear eccentric"), text("0.25"));
    let recheck = |due_km, done_km, found: Option<&str>| {
        let (what, found) = (text("hub nuts"), found.map(text));
        Body::Recheck(Recheck { what, due_km, done_km, found })
    };
    let before = Reading { stage: Some(text("before strip-down")), ..plate_reading("12.0 deg") };
    let free = Reading {
        what: text("rust in the tunnel"),
        value: text("none found"),
        ..Reading::default()
    };
    vec![
        Body::Reading(before),
        Body::Reading(free),
        mark(None),
        photo("left arm on plate", Some("before"), 'a'),
        photo("left arm on plate", Some("after"), 'b'),
        photo("bar-left", None, 'c'),
        part("arm-left", PartHappened::Tagged),
        part("arm-left", PartHappened::Replaced),
        part("bush-inner-left", PartHappened::Arrived),
        step("load-state", StepHappened::Started, None),
        step("load-state", StepHappened::Done, Some(25)),
        step("ride-first-left", StepHappened::Done, Some(10)),
        signed("ride-first-left"),
        step("ride-first-left", StepHappened::BackedOut, None),
        attempt((0, 0), "35.2 deg"),
        attempt((-10, 10), "26.4 deg"),
        bolt("hub-cover-left", 1, "torqued", Some("43 N m")),
        bolt("hub-cover-left", 2, "snug", None),
        bolt("hub-cover-left", 1, "paint-marked", None),
        signed("job"),
        Body::Round(round.clone()),
        Body::Moved(Moved { corner, adjuster, by }),
        Body::Round(round),
        recheck(Some(100), None, None),
        recheck(None, Some(110), Some("a quarter of a turn")),
        Body::Note { about: text("bar-left"), text: text("scratched near the anchor") },
    ]
}

#[test]
fn a_struck_entry_appears_under_the_strikes_and_nowhere_else() {
    if crate::slow::skipped() {
        return;
    }
    let all = entries(everything());
    let last = all.len() as u64;
    let plain = |mut record: Record| {
        // These tell of the log as such.
        (record.first, record.last, record.counts) = (None, None, Default::default());
        std::mem::take(&mut record.strikes);
        record.writers.clear();
        record
    };
    // Assessing a car takes long without optimisation: only where figures depend on the entry.
    let told = |state: &State, assesses: bool| {
        let (car, _) = state.car();
        let found = if assesses { assess(&car) } else { Assessment::default() };
        Record::of(state, &car, &found, None)
    };
    let whole = fold(all.clone());
    let (car, found) = assessed(&whole);
    let of_all = Record::of(&whole, &car, &found, None);
    assert!(!of_all.open.unread.is_empty() && !of_all.open.away.is_empty());
    assert_eq!(still_open(&whole, &car, &found), of_all.open);
    // The car file is not struck here: without it there is nothing to compare.
    for struck in 2..=last {
        let why = text("wrong car");
        let strike = entry(last + 1, Body::Strike { seq: struck, why });
        let body = &all[struck as usize - 1].body;
        let assesses = matches!(body, Body::Bolt(_) | Body::Attempt(_));
        let with = told(&fold(all.iter().cloned().chain([strike])), assesses);
        let without = told(&fold(all.iter().filter(|e| e.seq != struck).cloned()), assesses);
        assert_eq!(with.strikes.len(), 1, "entry {struck}");
        assert_eq!(with.strikes[0].struck.seq(), Some(struck));
        assert_eq!(with.strikes[0].by.seq(), Some(last + 1));
        assert_eq!(with.strikes[0].why, "wrong car");
        assert!(!with.strikes[0].said.is_empty(), "entry {struck}");
        assert!(without.strikes.is_empty());
        assert_eq!(plain(with), plain(without), "entry {struck}");
    }
}

#[test]
fn a_strike_that_is_struck_brings_everything_back() {
    let mut all = entries(everything());
    let last = all.len() as u64;
    let whole = record(&fold(all.clone()));
    let strike = |seq| Body::Strike { seq, why: text("it was right after all") };
    all.push(entry(last + 1, strike(5)));
    all.push(entry(last + 2, strike(last + 1)));
    let back = record(&fold(all));
    assert_eq!((back.marks, back.readings), (whole.marks, whole.readings));
    // What is struck now is the strike.
    assert_eq!(back.strikes.len(), 1);
    assert_eq!(back.strikes[0].struck.seq(), Some(last + 1));
}

#[test]
fn fits_come_with_the_free_angle_they_mean_and_the_next_move() {
    let state = fold(entries([attempt((0, 0), "35.2 deg"), attempt((-10, 10), "26.2 deg")]));
    let (car, found) = assessed(&state);
    let record = Record::of(&state, &car, &found, None);
    let [left] = record.attempts.as_slice() else { panic!("{:?}", record.attempts) };
    assert_eq!((left.side, left.fits.len()), (Side::Left, 2));
    // By hand: the sill read +0.3 and +0.1, so slope 0.1 and gauge 0.2; lifted, so nothing hung.
    let angle = |at: usize| left.fits[at].angle.as_ref().unwrap();
    assert!((deg(number(&angle(0).value, "angle")) - (35.2 - 0.2 - 0.1)).abs() < 1e-9);
    assert!((deg(number(&angle(1).value, "angle")) - (26.2 - 0.3)).abs() < 1e-9);
    let target = found.find("free-angle.target", Some(&LEFT)).unwrap().value.amount().unwrap();
    assert_eq!(left.target.as_ref().map(|leaf| leaf.value), Some(target));
    assert!((deg(number(&angle(1).value, "off")) - (25.9 - deg(target))).abs() < 1e-9);
    // The gauge has 0.15 deg, the sill 0.1 deg on top.
    let u = angle(0).value.get("angle").unwrap().as_leaf().unwrap().u.map(deg).unwrap();
    assert!((0.15..0.35).contains(&u), "{u}");
    // −10 anchor and +10 plate teeth make −10·360/38 + 10·360/42 = −9.02 deg: as counted.
    assert_eq!(left.fits[0].told, None);
    assert_eq!(left.fits[1].told.as_deref(), Some("as counted"));
    // Half of 360/798 deg.
    let within = left.within.as_ref().map(|leaf| deg(leaf.value)).unwrap();
    assert!((within - 180.0 / 798.0).abs() < 1e-9, "{within}");
    let next = &left.next.as_ref().unwrap().value;
    let now = deg(number(next, "angle"));
    let u_now = next.get("angle").unwrap().as_leaf().unwrap().u.map(deg).unwrap();
    // Two readings carried to one place lie between the two, and are surer than either.
    assert!((25.877..25.9).contains(&now), "{now}");
    assert!(u_now < u, "{u_now} {u}");
    let after = deg(number(next, "after"));
    assert!((after - deg(target)).abs() <= within + 0.05, "{after}");
    assert!((after - deg(target)).abs() <= (now - deg(target)).abs() + 1e-9);
}

#[test]
fn a_tooth_too_many_is_told() {
    // One tooth more at the anchor than was counted: 360/38 = 9.47 deg further tail up.
    let record = of([attempt((0, 0), "35.2 deg"), attempt((-1, 1), "24.8 deg")]);
    let told = record.attempts[0].fits[1].told.clone().unwrap();
    assert!(told.contains("anchor") && told.contains("tail up"), "{told}");
}

#[test]
fn bolts_carry_torque_wrench_position_and_who() {
    let record = of([
        bolt("hub-cover-left", 1, "torqued", Some("43 N m")),
        bolt("hub-cover-left", 1, "paint-marked", None),
        bolt("hub-cover-left", 2, "torqued", Some("43 N m")),
        bolt("hub-cover-left", 2, "open", None),
    ]);
    let joint = record.joints.iter().find(|joint| joint.joint == "hub-cover-left").unwrap();
    let [one, two, three, four] = joint.bolts.as_slice() else { panic!("{joint:?}") };
    assert_eq!(one.value.as_ref().map(|value| value.text.as_str()), Some("43 N m"));
    assert_eq!(one.wrench.as_deref(), Some("middle click wrench"));
    assert_eq!(one.position, Some("hang"));
    let by = one.torqued.as_ref().unwrap();
    assert_eq!((by.seq(), by.by.as_deref()), (Some(2), Some("Ada")));
    assert_eq!(by.day.as_deref(), Some("2026-11-25"));
    assert_eq!(one.marked.as_ref().and_then(|stamp| stamp.seq()), Some(3));
    assert_eq!(two.torqued, None);
    assert_eq!(two.loosened.as_ref().and_then(|stamp| stamp.seq()), Some(5));
    assert_eq!((&three.torqued, &four.torqued), (&None, &None));
    assert!(!joint.ready);
    let open = record.open.untorqued.iter().find(|gap| gap.id == "torque.hub-cover-left").unwrap();
    assert!(open.measure.ends_with("bolts B, C, D to their torque"), "{}", open.measure);
}

#[test]
fn a_signature_falls_with_what_it_signed() {
    let holds = |record: &Record| {
        record.signatures.iter().map(record::Signature::holds).collect::<Vec<_>>()
    };
    let done = step("hard-bolts", StepHappened::Done, None);
    let undone = step("hard-bolts", StepHappened::BackedOut, None);
    let (step, joint) = (signed("hard-bolts"), signed("hub-cover-left"));
    let tight = (1..=4).map(|n| bolt("hub-cover-left", n, "torqued", Some("43.2 N m")));
    let loose = bolt("hub-cover-left", 1, "open", None);
    let all: Vec<Body> = [done.clone(), step.clone()]
        .into_iter()
        .chain(tight)
        .chain([joint, signed("job")])
        .collect();
    let record = of(all.clone());
    assert_eq!(holds(&record), [true, true, false], "the job never held");
    let job = record.signatures[2].standing();
    // 110 steps and 20 joints in the file, one and one of them done.
    assert!(job.starts_with("signed with 109 steps open, 19 joints not fit"), "{job}");
    let then = |body: Body| of(all.iter().cloned().chain([body]));
    assert_eq!(holds(&then(undone.clone())), [false, true, false]);
    assert_eq!(holds(&then(loose)), [true, false, false]);
    // A strike of what it stood on is told; a strike of the strike gives it back.
    let strike = |seq: u64| Body::Strike { seq, why: text("not so") };
    let struck = then(strike(2));
    assert_eq!(holds(&struck), [false, true, false]);
    let told = struck.signatures[0].overtaken.clone().unwrap();
    assert_eq!(told, "entry 2, on which it stood, was struck after it (entry 10)");
    let back = of(all.iter().cloned().chain([strike(2), strike(10)]));
    assert_eq!(holds(&back), [true, true, false]);
    assert_eq!(holds(&then(strike(5))), [true, false, false], "a bolt's torque was struck");
    let is_open =
        |record: &Record| record.open.unsigned.iter().any(|gap| gap.id == "sign.hard-bolts");
    assert!(!is_open(&of(all.clone())));
    assert!(is_open(&then(undone.clone())));
    // Done and signed once more, it holds again.
    let again = of(all.into_iter().chain([undone, done, step]));
    assert!(!is_open(&again));
    // Signed first and done afterwards, it never holds.
    let late = of([signed("hard-bolts"), self::step("hard-bolts", StepHappened::Done, None)]);
    assert_eq!(late.signatures[0].standing(), "signed with 1 step open: `hard-bolts` is not done");
}

#[test]
fn every_hold_point_is_open_until_it_is_signed() {
    let record = of([]);
    let (car, _) = axlewright_book::read(LARCH);
    // What is read and cannot be read again is not signed.
    let holds = car.steps.iter().filter(|step| step.hold && step.reading.is_none()).count();
    // Nothing is torqued, so no joint waits for a signature; the job does.
    assert_eq!(record.open.unsigned.len(), holds + 1);
    assert!(4 < holds);
    assert_eq!(record.open.untorqued.len(), car.joints.len());
    let unread: Vec<&str> = record.open.unread.iter().map(|gap| gap.id.as_str()).collect();
    assert!(unread.contains(&"read.ride-first-left"), "{unread:?}");
    // Six parts are out in the demo's file: two bushes and a hose on each side.
    let away: Vec<&str> = record.open.away.iter().map(|gap| gap.id.as_str()).collect();
    assert!(away.contains(&"part.hose-left"), "{away:?}");
}

#[test]
fn minutes_are_held_against_estimates() {
    let record = of([
        step("load-state", StepHappened::Done, Some(25)),
        step("ride-first-left", StepHappened::Done, Some(10)),
        step("ride-first-right", StepHappened::Done, None),
    ]);
    // 20 and 12 minutes in the file.
    let minutes = record.minutes;
    assert_eq!((minutes.steps, minutes.took, minutes.estimate), (2, 35, 32));
}

#[test]
fn readings_stand_before_and_now_and_none_is_lost() {
    let record = of(everything());
    let line = |what: &str, side: Side| {
        let at = Some(axlewright_quantity::Corner::rear(side));
        record.readings.iter().find(|line| line.what == what && line.corner == at).unwrap()
    };
    let plate = line("plate angle", Side::Left);
    assert_eq!(plate.before.as_ref().unwrap().text, "12.0 deg");
    assert_eq!(plate.now.as_ref().unwrap().text, "26.4 deg");
    let earlier: Vec<&str> = plate.earlier.iter().map(|said| said.text.as_str()).collect();
    assert_eq!(earlier, ["35.2 deg"]);
    let trim = line("trim", Side::Left);
    assert_eq!(trim.now.as_ref().unwrap().text, "97 mm");
    // 4 mm by the file, halved by settling first.
    let u = trim.now.as_ref().unwrap().leaf.as_ref().unwrap().u.unwrap();
    assert!((Length::try_from(u).unwrap().to_mm() - 2.0).abs() < 1e-9);
    let free = record.readings.iter().find(|line| line.what == "rust in the tunnel").unwrap();
    assert_eq!(free.now.as_ref().unwrap().text, "none found");
    // A round of the car file comes before the log's.
    assert_eq!(record.rounds.len(), 3);
    assert_eq!(record.rounds[1].moved.len(), 1);
    let recheck = &record.rechecks[0];
    assert_eq!((recheck.due_km.as_slice(), recheck.overdue), ([].as_slice(), false));
    assert_eq!(recheck.done[0].0, 110);
}

fn larch_arm() -> TrailingArm {
    let mm = Place::mm;
    TrailingArm::new(ArmDesign {
        hub: mm(0.0, 610.0, 0.0),
        inner_pivot: mm(-55.0, 235.0, -20.0),
        hole_front: PlatePoint::mm(250.0, 6.0),
        hole_rear: PlatePoint::mm(330.0, 6.0),
        w_moves: HolesMoved::Both,
        design_angle: Angle::deg(11.0),
        wheel_centre: mm(-455.0, 668.0, -95.0),
        camber: Angle::deg(-0.5),
        toe: Angle::deg(0.1),
        tyre_radius: Length::mm(292.0),
    })
    .unwrap()
}

fn moved(u: f64, w: f64) -> (f64, f64) {
    let angle = Angle::deg(11.0);
    let at = |u: f64, w: f64| {
        let at = PoseAt { angle, shift_u: Length::mm(u), shift_w: Length::mm(w) };
        larch_arm().pose(at).unwrap()
    };
    let (before, after) = (at(0.0, 0.0), at(u, w));
    ((after.camber - before.camber).to_deg(), (after.toe - before.toe).to_deg())
}

/// The arm moved by the whole offset, by its poses, at the same ride angle. Linear against whole:
/// half a hundredth of a degree over 4 mm.
#[test]
fn a_missed_mark_is_worth_what_moving_the_arm_makes() {
    let (car, _) = axlewright_book::read(LARCH);
    let rows = [
        ("0.2 mm rearward", 0.2, 0.0),
        ("0.2 mm up", 0.0, 0.2),
        ("1.5 mm forward", -1.5, 0.0),
        ("4 mm down", 0.0, -4.0),
        ("1 mm rearward, 2 mm down", 1.0, -2.0),
    ];
    for (offset, u, w) in rows {
        for side in ["left", "right"] {
            let mark = Mark {
                mark: text("arm on plate"),
                between: [format!("plate-{side}"), format!("arm-{side}")],
                also: vec![],
                over: None,
                side: None,
                offset: Some(text(offset)),
                note: None,
            };
            let found = marks::worth(&car, &mark).unwrap_or_else(|why| panic!("{}", why.words()));
            assert_eq!(found.of.as_ref(), Some(if side == "left" { &LEFT } else { &RIGHT }));
            let (camber, toe) = moved(u, w);
            let near = |name: &str, real: f64| {
                let told = deg(number(&found.value, name));
                let off = (told - real).abs();
                assert!(off < 0.005, "{offset} {side}: {name} {told}, moved {real}");
                assert!(off < 0.02 * real.abs().max(0.02), "{offset}: {name} {told} {real}");
            };
            near("camber", camber);
            near("toe", toe);
            assert!(0.0 < camber.hypot(toe));
        }
    }
}

#[test]
fn a_mark_says_what_it_is_worth_or_why_not() {
    let record = of([mark(None), mark(Some("1.5 mm rearward"))]);
    let [one] = record.marks.as_slice() else { panic!("{:?}", record.marks) };
    let worth = one.worth.as_ref().unwrap();
    assert!(worth.why.words.contains("1.5 mm further rearward"), "{}", worth.why.words);
    // The offset's own uncertainty, 1 mm as any distance of the file, outweighs all else.
    assert!(worth.why.inputs[0].name.contains("rearward of its mark"));
    let leaf = worth.value.get("camber").and_then(Item::as_leaf).unwrap();
    assert!(leaf.u.is_some_and(|u| 0.0 < u.to_si()));

    let undirected = of([mark(None), mark(Some("1.5 mm"))]);
    let why = undirected.marks[0].no_worth.clone().unwrap();
    assert!(why.contains("which way"), "{why}");

    let void =
        of([mark(None), mark(Some("1.5 mm rearward")), part("plate-left", PartHappened::Replaced)]);
    let [one] = void.marks.as_slice() else { panic!() };
    let why = one.void.clone().unwrap();
    assert!(why.contains("spring plate, left") && why.contains("entry 4"), "{why}");
    assert_eq!((&one.worth, &one.no_worth), (&None, &None));

    let no_arm = LARCH.replace("inner_pivot = \"-55, 235, -20 mm\"", "");
    let (car, _) = axlewright_book::read(&no_arm);
    let Body::Mark(read) = mark(Some("1 mm up")) else { panic!() };
    let why = marks::worth(&car, &read).unwrap_err();
    assert!(why.words().contains("inner pivot"), "{}", why.words());
}

#[test]
fn photos_go_to_their_mark_as_a_pair() {
    let record = of(everything());
    let mark = &record.marks[0];
    assert_eq!((mark.before.len(), mark.after.len()), (1, 1));
    assert!(mark.before[0].sha256.starts_with('a') && mark.after[0].sha256.starts_with('b'));
    let [other] = record.photos.as_slice() else { panic!("{:?}", record.photos) };
    assert_eq!(other.of, "torsion bar, 23 mm, left");
}

#[test]
fn an_empty_log_and_a_bare_car_file_have_a_record_too() {
    let empty = record(&State::default());
    assert_eq!((empty.counts.entries, empty.first), (0, None));
    let bare = of([]);
    assert!(bare.attempts.is_empty() && bare.marks.is_empty() && bare.signatures.is_empty());
    assert!(!bare.joints.is_empty() && !bare.parts.is_empty() && !bare.steps.is_empty());
    let camber = bare.alignment.rows.iter().find(|row| row.what == "camber").unwrap();
    assert_eq!(camber.wanted.as_ref().map(|(text, _)| text.as_str()), Some("-0°30' ± 20'"));
    assert_eq!(bare.alignment.rates.len(), 2);
}

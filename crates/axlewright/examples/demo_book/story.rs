//! The story in the demo book: an invented car, taken apart, measured, and half put together.
//! Figures are those of the demo car file, or follow from them; what was read before the strip-down
//! is invented as the car is.

use std::error::Error;

use axlewright_book::log::{
    Attempt, BEFORE_STRIP_DOWN, Body, Bolt, Mark, Part, PartHappened, Photo, Reading, Recheck,
    Signed, Step, StepHappened, import_of,
};
use axlewright_book::{ReadingWhat, read};
use axlewright_store::{Draft, Holder, Store, export};

use super::pictures::{Subject, draw};

/// What the program gives out as its demo, for which the story is told.
const DEMO_CAR: &str = include_str!("../../../../examples/larch-1300/car.toml");
/// In place of the demo's car file, which the program puts there: the archive does not change with
/// every word of it.
const CAR_FILE: &str = "format = 1\n";
/// Who writes the demo book.
const OWNER: &str = "owner";
/// Whose signature stands under what two have to see.
const NEIGHBOUR: &str = "neighbour";
const SIDES: [&str; 2] = ["left", "right"];
const EMPTY: &str = "empty, half a tank";
/// Minutes from one entry to the next.
const APART: u32 = 3;

/// The book with the whole story in it, as an archive.
pub fn archive() -> Result<Vec<u8>, Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let holder = Holder { by: OWNER.to_owned(), since: String::new() };
    let mut store = Store::create(&folder.path().join("book"), &holder)?;
    let mut story = Story { store: &store, drafts: Vec::new(), day: "", minute: 0 };
    begin(&mut story);
    before_strip_down(&mut story)?;
    strip_down(&mut story);
    inspected(&mut story)?;
    dry_run(&mut story);
    first_fit(&mut story)?;
    let drafts = story.drafts;
    store.append(&drafts)?;
    let mut bytes = Vec::new();
    export(&store, &mut bytes)?;
    Ok(bytes)
}

type Told = Result<(), Box<dyn Error>>;

struct Story<'a> {
    store: &'a Store,
    drafts: Vec<Draft>,
    day: &'static str,
    minute: u32,
}

impl Story<'_> {
    /// A new session, from this hour on.
    fn on(&mut self, day: &'static str, hour: u32) {
        (self.day, self.minute) = (day, 60 * hour);
    }

    /// Writes one entry; gives its number.
    fn write(&mut self, body: Body) -> u64 {
        self.minute += APART;
        let at = format!("{}T{:02}:{:02}:00Z", self.day, self.minute / 60 % 24, self.minute % 60);
        self.drafts.push(Draft { at, by: OWNER.to_owned(), body });
        self.drafts.len() as u64
    }

    fn note(&mut self, about: &str, text: &str) -> u64 {
        self.write(Body::Note { about: about.to_owned(), text: text.to_owned() })
    }

    fn strike(&mut self, seq: u64, why: &str) -> u64 {
        self.write(Body::Strike { seq, why: why.to_owned() })
    }

    fn done(&mut self, step: &str, minutes: u32) {
        let (step, minutes) = (step.to_owned(), Some(minutes));
        let (happened, found, in_spite, note) = (StepHappened::Done, None, None, None);
        self.write(Body::Step(Step { step, happened, minutes, found, in_spite, note }));
    }

    fn both_done(&mut self, step: &str, minutes: [u32; 2]) {
        for (side, minutes) in SIDES.into_iter().zip(minutes) {
            self.done(&format!("{step}-{side}"), minutes);
        }
    }

    fn sign(&mut self, of: &str, name: &str, as_what: &str) {
        let (of, name, as_what) = (of.to_owned(), name.to_owned(), Some(as_what.to_owned()));
        self.write(Body::Signed(Signed { of, name, as_what, ..Signed::default() }));
    }

    /// A reading that cannot be taken again is not signed; that it was seen twice is worth a line.
    fn both_read(&mut self, step: &str) {
        for side in SIDES {
            self.note(&format!("{step}-{side}"), "Looked at twice; both times the same.");
        }
    }

    fn part(&mut self, part: &str, happened: PartHappened, more: impl FnOnce(&mut Part)) {
        let mut body = Part {
            part: part.to_owned(),
            happened,
            side: None,
            verdict: None,
            due: None,
            in_spite: None,
            name: None,
            note: None,
        };
        more(&mut body);
        self.write(Body::Part(body));
    }

    fn mark(&mut self, mark: &str, between: [String; 2], side: &str) {
        let (mark, side) = (mark.to_owned(), Some(side.to_owned()));
        self.write(Body::Mark(Mark { mark, between, side, ..Mark::default() }));
    }

    fn photo(&mut self, of: &str, when: Option<&str>, subject: Subject) -> Told {
        let said = self.store.add_photo(&draw(subject)?)?.entry(of);
        let (when, note) = (when.map(str::to_owned), Some("drawn for the demo".to_owned()));
        self.write(Body::Photo(Photo { when, note, ..said }));
        Ok(())
    }
}

/// The readings of the demo's first fit, as the car file has them.
fn of_first_fit(what: ReadingWhat) -> Vec<Reading> {
    let (car, _) = read(DEMO_CAR);
    let readings = import_of(&car).into_iter().filter_map(|body| match body {
        Body::Reading(reading) if reading.what == what.word() => Some(reading),
        _ => None,
    });
    readings.collect()
}

/// A reading that can never be taken again.
fn first(what: &str, side: &str, value: &str) -> Reading {
    Reading {
        what: what.to_owned(),
        side: Some(side.to_owned()),
        value: value.to_owned(),
        stage: Some(BEFORE_STRIP_DOWN.to_owned()),
        ..Reading::default()
    }
}

/// The same on the wheels, where the load matters.
fn on_wheels(what: &str, side: &str, value: &str) -> Reading {
    Reading { load: Some(EMPTY.to_owned()), ..first(what, side, value) }
}

/// The same with the gauge.
fn with_gauge(what: &str, side: &str, value: &str, turned: Option<&str>) -> Reading {
    Reading {
        turned: turned.map(str::to_owned),
        arrow: Some("nose".to_owned()),
        gauge: Some("angle gauge".to_owned()),
        ..first(what, side, value)
    }
}

fn begin(story: &mut Story<'_>) {
    story.on("1964-03-02", 19);
    story.write(Body::CarFile { text: CAR_FILE.to_owned() });
    story.note("", "An invented car and an invented story: a demo, nobody's work.");
    story
        .note("", "The car stands in the garage, complete. Book begun before the first nut turns.");
}

fn before_strip_down(story: &mut Story<'_>) -> Told {
    story.on("1964-03-04", 19);
    story.done("load-state", 25);
    for (side, trim, damper) in [("left", "88 mm", "358 mm"), ("right", "91 mm", "361 mm")] {
        story.write(Body::Reading(on_wheels("trim", side, trim)));
        story.write(Body::Reading(on_wheels("damper length", side, damper)));
    }
    story.both_done("ride-first", [15, 12]);
    story.both_read("ride-first");
    let sills = [("left", "0.4 deg", "0.2 deg"), ("right", "0.3 deg", "0.1 deg")];
    for (side, value, turned) in sills {
        story.write(Body::Reading(with_gauge("sill level", side, value, Some(turned))));
    }
    let plate = |side, value| with_gauge("plate angle", side, value, None);
    story.write(Body::Reading(plate("left", "10.2 deg")));
    let slip = story.write(Body::Reading(plate("right", "16.0 deg")));
    story.strike(slip, "read on the plate's edge, not on the straightedge");
    story.write(Body::Reading(plate("right", "10.6 deg")));
    story.both_done("angles-first", [14, 18]);
    story.both_read("angles-first");
    story.on("1964-03-06", 19);
    marks(story)?;
    story.done("hub-nuts-loose", 15);
    story.on("1964-03-07", 9);
    story.done("car-up", 35);
    story.sign("car-up", NEIGHBOUR, "second pair of eyes");
    for (side, value) in [("left", "22.6 deg"), ("right", "22.8 deg")] {
        story.write(Body::Reading(with_gauge("plate angle at droop", side, value, None)));
    }
    story
        .note("droop-first-left", "The damper stops it on both sides; the hoses still hang slack.");
    story.both_done("droop-first", [10, 10]);
    story.both_read("droop-first");
    Ok(())
}

fn marks(story: &mut Story<'_>) -> Told {
    let lines =
        [("left rear", 24.0), ("left front", 63.0), ("right rear", 151.0), ("right front", 118.0)];
    for (place, line_deg) in lines {
        let (side, end) = place.split_once(' ').unwrap_or((place, ""));
        let name = format!("{place} eccentric");
        let between = [format!("{end}-eccentric-set-{side}"), format!("arm-{side}")];
        story.mark(&name, between, side);
        let drawn = Subject::Eccentric { line_deg, turned_deg: 0.0 };
        story.photo(&name, Some("before"), drawn)?;
    }
    for side in SIDES {
        let name = format!("{side} plate to arm");
        story.mark(&name, [format!("plate-{side}"), format!("arm-{side}")], side);
    }
    story.photo("hose-left", Some("before"), Subject::Hose)?;
    story.both_done("marks", [18, 15]);
    story.both_read("marks");
    for (side, painted) in [("left", 5), ("right", 37)] {
        let name = format!("{side} tooth at the plate");
        story.mark(&name, [format!("bar-{side}"), format!("plate-{side}")], side);
        story.photo(&name, Some("before"), Subject::Teeth { count: 42, painted })?;
    }
    story.both_done("tooth-marks", [20, 14]);
    story.both_read("tooth-marks");
    Ok(())
}

fn strip_down(story: &mut Story<'_>) {
    story.on("1964-03-07", 11);
    story.both_done("lines-off", [25, 22]);
    story.both_done("half-shaft-off", [30, 24]);
    story.on("1964-03-21", 9);
    story.both_done("damper-off", [15, 12]);
    for (side, minutes) in SIDES.into_iter().zip([18, 15]) {
        story.done(&format!("stop-bolt-off-{side}"), minutes);
        let unload = format!("unload-bar-{side}");
        story.done(&unload, 8);
        story.sign(&unload, OWNER, "restorer");
    }
    for (side, minutes) in SIDES.into_iter().zip([35, 28]) {
        let arm_off = format!("arm-off-{side}");
        story.done(&arm_off, minutes);
        story.sign(&arm_off, OWNER, "restorer");
    }
    story.both_done("bar-out", [40, 30]);
    story.done("engine-out", 140);
    for (part, note) in [
        ("plate-left", "box 3, label PL"),
        ("plate-right", "box 3, label PR"),
        ("arm-left", "shelf, label AL"),
        ("arm-right", "shelf, label AR"),
        ("rings-left", "six rings in a bag"),
        ("rings-right", "six rings in a bag"),
    ] {
        story.part(part, PartHappened::Tagged, |part| part.note = Some(note.to_owned()));
    }
}

fn inspected(story: &mut Story<'_>) -> Told {
    story.on("1964-03-23", 19);
    for (side, is_left) in [("left", true), ("right", false)] {
        let bar = format!("bar-{side}");
        story.part(&bar, PartHappened::Replaced, |part| {
            part.note =
                Some("the 22 mm bar failed the crack test; 23 mm of the same length".into());
        });
        story.part(&bar, PartHappened::Inspected, |part| {
            part.verdict = Some("good".to_owned());
            part.note = Some("23.0 mm at five places, no nick catches the rag".to_owned());
        });
        story.photo(&bar, None, Subject::BarEnd { is_left })?;
    }
    story.both_done("bar-check", [22, 20]);
    story.both_done("anchor-check", [25, 25]);
    let plate = "plate-left";
    story.photo(plate, Some("before"), Subject::Plate { is_rusty: true })?;
    story.on("1964-03-25", 19);
    for side in SIDES {
        let plate = format!("plate-{side}");
        story.part(&plate, PartHappened::Inspected, |part| part.verdict = Some("good".to_owned()));
        story.part(&plate, PartHappened::Refinished, |part| {
            part.note = Some("bare metal where it meets the arm".to_owned());
        });
    }
    story.photo(plate, Some("after"), Subject::Plate { is_rusty: false })?;
    story.both_done("plate-check", [20, 20]);
    story.done("arms-compare", 30);
    story.sign("arms-compare", OWNER, "restorer");
    story.on("1964-04-01", 19);
    story.done("hubs-built", 95);
    story.done("dampers-check", 20);
    story.note("rings-left", "Seven rings came with each damper; the two pages say six and seven.");
    story.done("hard-bolts", 15);
    story.sign("hard-bolts", OWNER, "restorer");
    story.note("damper-bottom-left", "Two of the 10.9 bolts came back bright, without a record.");
    story.done("verdicts", 20);
    orders(story);
    Ok(())
}

/// What is away: the bushes nine days from the first day of the calendar, the plater twelve, the
/// hoses four.
fn orders(story: &mut Story<'_>) {
    let away = [
        ("1964-05-13", "ordered", &["bush-inner", "bush-outer"][..]),
        ("1964-05-08", "ordered", &["hose"][..]),
        (
            "1964-05-16",
            "at the plater's",
            &[
                "stop-bolt-set",
                "cover-bolts",
                "front-eccentric-set",
                "rear-eccentric-set",
                "damper-top-bolt",
                "pivot-bolt",
                "bracket-bolts",
            ][..],
        ),
    ];
    for (due, note, parts) in away {
        for part in parts {
            for side in SIDES {
                story.part(&format!("{part}-{side}"), PartHappened::Ordered, |part| {
                    part.due = Some(due.to_owned());
                    part.note = Some(note.to_owned());
                });
            }
        }
    }
}

fn dry_run(story: &mut Story<'_>) {
    story.on("1964-04-13", 19);
    story.done("dry-on-left", 35);
    story.done("dry-swing-left", 30);
    story.sign("dry-swing-left", OWNER, "restorer");
    story.note(
        "dry-swing-left",
        "Swings free from end to end; the string for the hose goes taut low.",
    );
}

/// A fit with the plate alone on the bar, on the old bushes.
fn fit(reading: Reading, plate_teeth: i32, at: [u32; 2]) -> Attempt {
    Attempt {
        side: reading.side.clone().unwrap_or_default(),
        anchor_teeth: 0,
        plate_teeth,
        anchor_at: at.first().copied(),
        plate_at: at.last().copied(),
        reading,
    }
}

fn first_fit(story: &mut Story<'_>) -> Told {
    story.on("1964-04-27", 19);
    story.note(
        "",
        "Bars in on the old bushes and workshop bolts, for a first reading of both sides.",
    );
    for sill in of_first_fit(ReadingWhat::SillLevel) {
        story.write(Body::Reading(sill));
    }
    let plates = of_first_fit(ReadingWhat::PlateAngle);
    for (reading, at) in plates.iter().zip([[12, 6], [27, 37]]) {
        story.write(Body::Attempt(fit(reading.clone(), 0, at)));
    }
    for (side, bolts) in [("left", 4), ("right", 2)] {
        for bolt in 1..=bolts {
            story.write(Body::Bolt(snug(&format!("hub-cover-{side}"), bolt)));
        }
    }
    let early = story.write(Body::Bolt(Bolt {
        state: "torqued".to_owned(),
        value: Some("4.4 kgf m".to_owned()),
        wrench: Some("middle click wrench".to_owned()),
        position: Some("hang".to_owned()),
        ..snug("hub-cover-left", 1)
    }));
    story.strike(early, "tapped the wrong line: it is only snug until both plates were compared");
    story.on("1964-04-29", 19);
    let note = story.note("", "Left 35.2: far out, and a whole tooth of the plate is 8.6 degrees.");
    let strike = story.strike(note, "figure not checked");
    story.strike(strike, "checked: 360 by 42 teeth is 8.6");
    if let Some(first) = plates.first() {
        // The plate one tooth tail up: 360°/42 less than the first fit, and a tenth as read.
        let reading = Reading { value: "26.7 deg".to_owned(), ..first.clone() };
        story.write(Body::Attempt(fit(reading, -1, [12, 5])));
    }
    story.photo("plate-read-left", None, Subject::Gauge { angle_deg: 26.7 })?;
    story.on("1964-05-01", 19);
    for (what, due_km) in [("trim", 5), ("hub nuts", 100), ("paint marks and hoses", 500)] {
        let (what, due_km) = (what.to_owned(), Some(due_km));
        story.write(Body::Recheck(Recheck { what, due_km, ..Recheck::default() }));
    }
    story.note("", "Left stands where it should. On Monday the right arm's dry run.");
    Ok(())
}

fn snug(joint: &str, bolt: u32) -> Bolt {
    let (joint, state) = (joint.to_owned(), "snug".to_owned());
    Bolt { joint, bolt, state, ..Bolt::default() }
}

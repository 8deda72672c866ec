//! The log: what its entries come to, what may be written, the car it leads to.

mod car;
mod check;
mod fold;
mod laws;

use axlewright_book::log::{
    Attempt, Body, Bolt, Entry, Mark, Part, PartHappened, Reading, Round, State, Step,
    StepHappened, fold,
};

/// A car file with something of everything.
pub(crate) const CAR: &str = r#"format = 1
[car]
name = "Larch 1300"
load_state = "empty, half a tank"

[splines]
anchor_teeth = 38
plate_teeth = 42

[[reading]]
what = "plate angle"
side = "left"
value = "35.2 deg"
arrow = "nose"
hung = "plate"
lash = "lifted"
seat = "reference line"

[[reading]]
what = "plate angle"
side = "right"
value = "27.1 deg"
arrow = "nose"
hung = "plate"
lash = "lifted"
seat = "reference line"

[[reading]]
what = "trim"
corner = "LR"
value = "99 mm"

[[joint]]
id = "hub-cover"
side = "each"
thread = "M10x1.5"
class = "8.8"
count = 4
torque = "4.4 kgf m"

[[bolt]]
joint = "hub-cover-left"
bolt = 1
state = "torqued"
value = "4.4 kgf m"

[[part]]
id = "bar"
side = "each"
state = "on the bench"

[[part]]
id = "plate"
side = "each"
state = "out"

[[part]]
id = "engine"

[[step]]
id = "plate-on"
side = "each"
phase = "assembly"
words = "plate on its bar, mark to mark"
needs = ["plate", "bar"]

[[step]]
id = "look"
phase = "assembly"
words = "both sides compared"
hold = true

[calendar]
start = 1964-05-04
"#;

pub(crate) fn text(text: &str) -> Option<String> {
    Some(text.to_owned())
}

pub(crate) fn entry(seq: u64, body: Body) -> Entry {
    Entry { seq, at: format!("2026-11-{:02}T21:00:00Z", 1 + seq % 28), by: "me".into(), body }
}

/// A log of these bodies, numbered from 1.
pub(crate) fn log(bodies: &[Body]) -> Vec<Entry> {
    bodies.iter().cloned().zip(1..).map(|(body, seq)| entry(seq, body)).collect()
}

/// The state of a book that begins with [`CAR`] and goes on with these.
pub(crate) fn book(bodies: &[Body]) -> State {
    let file = std::iter::once(Body::CarFile { text: CAR.to_owned() });
    let all: Vec<Body> = file.chain(bodies.iter().cloned()).collect();
    fold(log(&all))
}

pub(crate) fn plate_reading(side: &str, value: &str) -> Reading {
    Reading {
        what: "plate angle".to_owned(),
        side: text(side),
        value: value.to_owned(),
        arrow: text("nose"),
        hung: text("plate"),
        lash: text("lifted"),
        seat: text("reference line"),
        ..Reading::default()
    }
}

pub(crate) fn part(id: &str, happened: PartHappened) -> Part {
    let (side, verdict, due, in_spite, name, note) = Default::default();
    Part { part: id.to_owned(), happened, side, verdict, due, in_spite, name, note }
}

pub(crate) fn mark(name: &str, offset: Option<&str>) -> Mark {
    let between = ["plate-left".to_owned(), "bar-left".to_owned()];
    Mark { mark: name.to_owned(), between, offset: offset.map(str::to_owned), ..Mark::default() }
}

pub(crate) fn step(id: &str, happened: StepHappened) -> Body {
    let (minutes, found, in_spite, note) = (Some(10), None, None, None);
    Body::Step(Step { step: id.to_owned(), happened, minutes, found, in_spite, note })
}

pub(crate) fn bolt(joint: &str, bolt: u32, state: &str, value: Option<&str>) -> Body {
    let value = value.map(str::to_owned);
    Body::Bolt(Bolt { joint: joint.into(), bolt, state: state.into(), value, ..Bolt::default() })
}

pub(crate) fn attempt(side: &str, teeth: (i32, i32), value: &str) -> Attempt {
    let (anchor_teeth, plate_teeth) = teeth;
    let reading = Reading { side: None, ..plate_reading(side, value) };
    Attempt { side: side.to_owned(), anchor_teeth, plate_teeth, reading, ..Attempt::default() }
}

pub(crate) fn round(trim: &str) -> Round {
    Round {
        load: "empty".to_owned(),
        trim: [("LR".to_owned(), trim.to_owned())].into(),
        weight: [("LF".to_owned(), "210 kg".to_owned())].into(),
        ..Round::default()
    }
}

pub(crate) fn strike(seq: u64) -> Body {
    Body::Strike { seq, why: "wrong".to_owned() }
}

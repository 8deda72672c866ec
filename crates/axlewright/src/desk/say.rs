//! An entry of the log in one line of words, for every face of the program.

use axlewright_book::log::{
    Attempt, Body, Bolt, Energy, Lost, Mark, Moved, Part, PartHappened, Photo, Reading, Recheck,
    Round, Signed, Step, StepHappened,
};
use axlewright_book::{Recall, bolt_letter};

/// What an entry says, on one line. Figures stand as they were written.
pub fn in_words(body: &Body) -> String {
    let words = match body {
        Body::CarFile { text } => format!("car file, {} lines", text.lines().count()),
        Body::Reading(reading) => of_reading(reading),
        Body::Part(part) => of_part(part),
        Body::Mark(mark) => of_mark(mark),
        Body::Photo(photo) => of_photo(photo),
        Body::Step(step) => of_step(step),
        Body::Signed(signed) => of_signed(signed),
        Body::Bolt(bolt) => of_bolt(bolt),
        Body::Attempt(attempt) => of_attempt(attempt),
        Body::Round(round) => of_round(round),
        Body::Moved(moved) => of_moved(moved),
        Body::Recheck(recheck) => of_recheck(recheck),
        Body::Energy(energy) => of_energy(energy),
        Body::Note { about, text } if about.trim().is_empty() => text.clone(),
        Body::Note { about, text } => format!("{about}: {text}"),
        Body::Strike { seq, why } => format!("entry {seq} does not count: {why}"),
        Body::Lost(lost) => of_lost(lost),
        Body::Unread(unread) => unread.to_string(),
    };
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What is left of a lost entry stands last: it may be long, and is not to be relied on.
fn of_lost(lost: &Lost) -> String {
    let left = lost.left.as_deref().map(|left| format!("; what can still be read: {left}"));
    format!("lost: {}{}", lost.what, left.unwrap_or_default())
}

/// The word as it was said, and what follows from it.
fn of_energy(energy: &Energy) -> String {
    let side = energy.side.as_deref().unwrap_or("both sides");
    let follows = match Recall::from_word(&energy.said) {
        Some(Recall::NotRemembered) => Some("to be taken as wound"),
        _ => None,
    };
    Line::new(format!("{side}: {}", energy.said.trim()))
        .with("", follows)
        .ends(energy.note.as_deref())
}

/// Words, then whatever was said besides, each with a comma before it.
struct Line(String);

impl Line {
    fn new(words: impl Into<String>) -> Self {
        Self(words.into())
    }

    fn with(mut self, before: &str, said: Option<&str>) -> Self {
        if let Some(said) = said.map(str::trim).filter(|said| !said.is_empty()) {
            self.0.push_str(", ");
            self.0.push_str(before);
            self.0.push_str(said);
        }
        self
    }

    fn ends(self, note: Option<&str>) -> String {
        match note.map(str::trim).filter(|note| !note.is_empty()) {
            Some(note) => format!("{} ({note})", self.0),
            None => self.0,
        }
    }
}

fn of_reading(reading: &Reading) -> String {
    let place = reading.corner.as_deref().or(reading.side.as_deref());
    let place = place.map(|place| format!(" {place}")).unwrap_or_default();
    let stage = reading.stage.as_deref().map(|stage| format!(", {stage}")).unwrap_or_default();
    let edge = reading.seat_offset.as_deref().map(|offset| format!("edge, {offset} off the line"));
    Line::new(format!("{}{place}{stage}: {}", reading.what, reading.value))
        .with("turned ", reading.turned.as_deref())
        .with("arrow to the ", reading.arrow.as_deref())
        .with("hung: ", reading.hung.as_deref())
        .with("tail ", reading.lash.as_deref())
        .with("on the ", edge.as_deref().or(reading.seat.as_deref()))
        .with("with ", reading.gauge.as_deref())
        .with("load: ", reading.load.as_deref())
        .ends(reading.note.as_deref())
}

fn of_part(part: &Part) -> String {
    let name = part.name.as_deref().map(|name| format!(" ({name})")).unwrap_or_default();
    Line::new(format!("{}{name} {}", part.part, happened_to(part.happened)))
        .with("", part.side.as_deref())
        .with("", part.verdict.as_deref())
        .with("due ", part.due.as_deref())
        .with("in spite of its hand: ", part.in_spite.as_deref())
        .ends(part.note.as_deref())
}

/// What happened to a part, as it is typed.
pub const fn happened_to(happened: PartHappened) -> &'static str {
    match happened {
        PartHappened::Tagged => "tagged",
        PartHappened::Inspected => "inspected",
        PartHappened::Kept => "kept",
        PartHappened::Refinished => "refinished",
        PartHappened::Replaced => "replaced",
        PartHappened::Ordered => "ordered",
        PartHappened::Due => "due",
        PartHappened::Arrived => "arrived",
        PartHappened::Fitted => "fitted",
        PartHappened::Removed => "removed",
    }
}

fn of_mark(mark: &Mark) -> String {
    let [one, other] = &mark.between;
    let joins = match &mark.offset {
        Some(offset) => format!("{}: back, {offset} off", mark.mark),
        None => format!("{}: across {one} and {other}", mark.mark),
    };
    Line::new(joins).with("", mark.side.as_deref()).ends(mark.note.as_deref())
}

fn of_photo(photo: &Photo) -> String {
    let name: String = photo.sha256.chars().take(8).collect();
    Line::new(photo.of.clone())
        .with("", photo.when.as_deref())
        .with("", Some(&format!("{} × {} pixels", photo.width, photo.height)))
        .with("", Some(&name))
        .ends(photo.note.as_deref())
}

fn of_step(step: &Step) -> String {
    let happened = match step.happened {
        StepHappened::Started => "begun",
        StepHappened::Done => "done",
        StepHappened::BackedOut => "backed out of",
        StepHappened::Waived => "given up",
    };
    let minutes = step.minutes.map(|minutes| format!("{minutes} min"));
    Line::new(format!("{} {happened}", step.step))
        .with("", step.found.as_deref())
        .with("", minutes.as_deref())
        .with("in spite of what stands against it: ", step.in_spite.as_deref())
        .ends(step.note.as_deref())
}

fn of_signed(signed: &Signed) -> String {
    Line::new(format!("{} signed by {}", signed.of, signed.name))
        .with("", signed.as_what.as_deref())
        .with("in spite of what is open: ", signed.in_spite.as_deref())
        .ends(signed.note.as_deref())
}

fn of_bolt(bolt: &Bolt) -> String {
    Line::new(format!("{} bolt {} {}", bolt.joint, bolt_letter(bolt.bolt), bolt.state))
        .with("", bolt.value.as_deref())
        .with("", bolt.wrench.as_deref())
        .with("arm: ", bolt.position.as_deref())
        .ends(None)
}

fn of_attempt(attempt: &Attempt) -> String {
    let (anchor, plate) = (attempt.anchor_teeth, attempt.plate_teeth);
    let at = |tooth: Option<u32>| tooth.map(|tooth| tooth.to_string());
    let teeth = format!("{}: anchor {anchor:+}, plate {plate:+} teeth", attempt.side);
    let reading = of_reading(&attempt.reading);
    Line::new(teeth)
        .with("anchor at tooth ", at(attempt.anchor_at).as_deref())
        .with("plate at tooth ", at(attempt.plate_at).as_deref())
        .with("then ", Some(&reading))
        .ends(None)
}

fn of_round(round: &Round) -> String {
    let all = [
        ("weight", &round.weight),
        ("trim", &round.trim),
        ("camber", &round.camber),
        ("toe", &round.toe),
    ];
    let mut line = Line::new(format!("load: {}", round.load)).with("", round.stage.as_deref());
    for (what, figures) in all {
        let figures: Vec<String> = figures.iter().map(|(at, by)| format!("{at} {by}")).collect();
        line = line.with(&format!("{what} "), Some(&figures.join(" ")));
    }
    let settled = round.settled.map(|is| if is { "settled" } else { "not settled" });
    line.with("", settled).ends(round.note.as_deref())
}

fn of_moved(moved: &Moved) -> String {
    format!("{} {} by {}", moved.corner, moved.adjuster, moved.by)
}

fn of_recheck(recheck: &Recheck) -> String {
    let km = |km: Option<u32>| km.map(|km| format!("{km} km"));
    let what = if recheck.what.trim().is_empty() { "the car" } else { recheck.what.as_str() };
    let done = if recheck.what.trim().is_empty() { "has come " } else { "done at " };
    Line::new(what)
        .with("due at ", km(recheck.due_km).as_deref())
        .with(done, km(recheck.done_km).as_deref())
        .with("", recheck.found.as_deref())
        .ends(None)
}

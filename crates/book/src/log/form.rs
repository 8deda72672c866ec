//! What a body says, read word for word: the same for a body that is to be written and for one
//! that stands in the log, whatever else is known of the car.

use std::collections::BTreeMap;

use axlewright_quantity::{Corner, Kind, Side, Written, parse_amount};

use super::body::{
    self, Body, Energy, Mark, Moved, Part, PartHappened, Photo, Recheck, Round, Signed, Step,
    StepHappened,
};
use super::refusal::Refusal;
use crate::calendar::Day;
use crate::joint::Joint;
use crate::problem::{ProblemKind, cut};
use crate::read::{
    CORNERS, LARGEST, LONGEST_ID, Limits, OFFSET, SIDES, STEP_MINUTES, TORQUE, as_id, closest,
    closest_to, corner_from, out_of_range, reading_limits,
};
use crate::wheels::MoveRow;
use crate::words::{
    Arrow, BoltState, Correction, Found, Hung, Lash, Position, ReadingWhat, Recall, Seat,
};

/// The stage of a reading that says how the car was before anything was touched.
pub const BEFORE_STRIP_DOWN: &str = "before strip-down";

/// Longest free text in an entry, in bytes: a page and more.
const LONGEST_TEXT: usize = 20_000;
/// Longest name, in bytes.
const LONGEST_NAME: usize = 200;
/// Most teeth a bar or plate is moved at once.
const TEETH: i32 = 200;
/// Greatest distance of a re-check, in kilometres.
const FARTHEST_KM: u32 = 1_000_000;
/// Wheels, as a round names them.
const WHEELS: &[&str] = &["LF", "RF", "LR", "RR"];
/// Toe as a difference of distances.
const RIM: Limits = Limits { kind: Kind::Length, low: -100.0, high: 100.0, example: "1.5 mm" };
/// The largest photo, in bytes; whatever takes one in has this limit and no other.
pub const PHOTO_BYTES_MAX: u64 = 25 * 1024 * 1024;
/// The most pixels a photo may have.
pub const PHOTO_PIXELS_MAX: u64 = 50_000_000;

/// What was read, for the log: one of the words that are computed with, or free words.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum What {
    /// Something the assessment computes with.
    Known(ReadingWhat),
    /// Anything else, in small letters.
    Free(String),
}

/// Where on the car a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Spot {
    /// Of no side.
    Car,
    /// Of one side.
    Side(Side),
    /// At one wheel. What is computed with is always of a wheel: of a side, the rear one.
    Corner(Corner),
}

/// What makes two readings readings of the same thing: the later one supersedes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ReadingKey {
    /// What was read.
    pub what: What,
    /// Where.
    pub spot: Spot,
    /// When, if not as the car is now: before strip-down, or a stage of building.
    pub stage: Option<String>,
}

/// A reading, understood.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Read {
    pub(super) key: ReadingKey,
    /// Nothing for free words.
    pub(super) value: Option<Written>,
    pub(super) turned: Option<Written>,
    pub(super) arrow: Option<Arrow>,
    pub(super) hung: Option<Hung>,
    pub(super) lash: Option<Lash>,
    pub(super) seat: Option<Seat>,
    pub(super) seat_offset: Option<Written>,
}

impl Read {
    /// A reading of which nothing but its key is known.
    pub(super) fn of(key: ReadingKey) -> Self {
        let (value, turned, arrow, hung, lash, seat, seat_offset) = Default::default();
        Self { key, value, turned, arrow, hung, lash, seat, seat_offset }
    }
}

/// A bolt's row, understood.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ReadBolt {
    pub(super) state: BoltState,
    pub(super) value: Option<Written>,
    pub(super) position: Option<Position>,
}

/// What a body says, as far as it takes reading to know it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Form {
    /// What it says stands in its words.
    Plain,
    Reading(Read),
    Attempt(Side, Read),
    Round(Vec<OfRound>),
}

/// What a body says, if it can be understood at all.
pub(super) fn form(body: &Body) -> Result<Form, Refusal> {
    match body {
        Body::Reading(reading) => self::reading(reading).map(Form::Reading),
        Body::Attempt(attempt) => {
            self::attempt(attempt).map(|(side, read)| Form::Attempt(side, read))
        }
        Body::Round(round) => self::round(round).map(Form::Round),
        _ => plain(body).map(|()| Form::Plain),
    }
}

fn plain(body: &Body) -> Result<(), Refusal> {
    match body {
        Body::CarFile { text } => car_file(text),
        Body::Reading(_) | Body::Attempt(_) | Body::Round(_) => Ok(()),
        Body::Part(part) => self::part(part),
        Body::Mark(mark) => self::mark(mark),
        Body::Photo(photo) => self::photo(photo),
        Body::Step(step) => self::step(step),
        Body::Signed(signed) => self::signed(signed),
        Body::Bolt(bolt) => self::bolt(bolt).map(drop),
        Body::Moved(moved) => self::moved(moved, 0).map(drop),
        Body::Recheck(recheck) => self::recheck(recheck),
        Body::Energy(energy) => self::energy(energy),
        Body::Note { about, text } => {
            named_or_nothing("about", about)?;
            said("text", text, "what is worth keeping")
        }
        Body::Strike { why, .. } => said("why", why, "wrong side of the car"),
        Body::Lost(lost) => within("what", &lost.what, LONGEST_TEXT),
        Body::Unread(unread) => {
            let right = "read it with the version of Axlewright that wrote it, or a later one";
            Err(Refusal::new("kind", unread.to_string(), right))
        }
    }
}

fn car_file(text: &str) -> Result<(), Refusal> {
    if LARGEST < text.len() {
        let kind = ProblemKind::TooLong { bytes: text.len(), limit: LARGEST };
        return Err(Refusal::of("text", &kind));
    }
    Ok(())
}

/// A text that must not be blank, nor a book in itself.
fn said(field: &str, text: &str, example: &str) -> Result<(), Refusal> {
    if text.trim().is_empty() {
        let right = format!("write it in words, for instance \"{example}\"");
        return Err(Refusal::new(field, format!("`{field}` is blank"), right));
    }
    within(field, text, LONGEST_TEXT)
}

fn named(field: &str, text: &str, example: &str) -> Result<(), Refusal> {
    said(field, text, example)?;
    named_or_nothing(field, text)
}

fn named_or_nothing(field: &str, text: &str) -> Result<(), Refusal> {
    within(field, text, LONGEST_NAME)?;
    if text.chars().any(char::is_control) {
        let what = format!("`{field}` is `{}`, which is not one line of text", cut(text));
        return Err(Refusal::new(field, what, "write it on one line; a note holds the rest"));
    }
    Ok(())
}

fn within(field: &str, text: &str, limit: usize) -> Result<(), Refusal> {
    if text.len() <= limit {
        return Ok(());
    }
    let what = format!("`{field}` is {} bytes long; the limit is {limit} bytes", text.len());
    Err(Refusal::new(field, what, "shorten it, or split it into several notes"))
}

fn noted(note: Option<&String>) -> Result<(), Refusal> {
    note.map_or(Ok(()), |note| within("note", note, LONGEST_TEXT))
}

fn word<T>(
    field: &str,
    given: &str,
    known: &'static [&'static str],
    from: impl Fn(&str) -> Option<T>,
) -> Result<T, Refusal> {
    let spelt = known.iter().find(|word| word.eq_ignore_ascii_case(given.trim()));
    spelt.and_then(|word| from(word)).ok_or_else(|| {
        let close = closest_to(&given.trim().to_lowercase(), known);
        let (key, given) = (field.to_owned(), cut(given));
        Refusal::of(field, &ProblemKind::UnknownWord { key, given, close, known })
    })
}

fn word_if<T>(
    field: &str,
    given: Option<&String>,
    known: &'static [&'static str],
    from: impl Fn(&str) -> Option<T>,
) -> Result<Option<T>, Refusal> {
    given.map(|given| word(field, given, known, from)).transpose()
}

fn side_from(word: &str) -> Option<Side> {
    Side::BOTH.into_iter().find(|side| side.word() == word)
}

fn side_if(given: Option<&String>) -> Result<Option<Side>, Refusal> {
    word_if("side", given, SIDES, side_from)
}

/// `left` or `right`.
pub(super) fn side(field: &str, given: &str) -> Result<Side, Refusal> {
    word(field, given, SIDES, side_from)
}

fn amount(field: &str, text: &str, limits: Limits) -> Result<Written, Refusal> {
    within(field, text, LONGEST_NAME)?;
    let written = parse_amount(text, limits.kind).map_err(|error| {
        let (key, example) = (field.to_owned(), limits.example.to_owned());
        Refusal::of(field, &ProblemKind::Quantity { key, error, example })
    })?;
    match out_of_range(field, text, written.amount, limits) {
        Some(kind) => Err(Refusal::of(field, &kind)),
        None => Ok(written),
    }
}

fn amount_if(
    field: &str,
    text: Option<&String>,
    limits: Limits,
) -> Result<Option<Written>, Refusal> {
    text.map(|text| amount(field, text, limits)).transpose()
}

fn day(field: &str, text: &str) -> Result<Day, Refusal> {
    Day::parse(text).ok_or_else(|| {
        let (key, given) = (field.to_owned(), cut(text));
        Refusal::of(field, &ProblemKind::UnreadableDay { key, given })
    })
}

/// What was read; a slip of the pen is not taken for free words.
fn what(given: &str) -> Result<What, Refusal> {
    named("what", given, ReadingWhat::PlateAngle.word())?;
    if let Some(known) = ReadingWhat::from_word(given) {
        return Ok(What::Known(known));
    }
    let free = given.trim().to_lowercase();
    if let Some(close) = closest(&free, ReadingWhat::WORDS)
        && strsim::damerau_levenshtein(&free, close) <= 2
    {
        let what = format!("`what` is `{}`, which is nearly `{close}`", cut(given));
        let right = format!("write `{close}`, or other words for something else");
        return Err(Refusal::new("what", what, right));
    }
    Ok(What::Free(free))
}

pub(super) fn reading(body: &body::Reading) -> Result<Read, Refusal> {
    let what = what(&body.what)?;
    let side = side_if(body.side.as_ref())?;
    let corner = word_if("corner", body.corner.as_ref(), CORNERS, corner_from)?;
    if let (Some(side), Some(corner)) = (side, corner)
        && corner.side() != side
    {
        let what = "side and corner name different sides";
        return Err(Refusal::new("corner", what, "keep one of them"));
    }
    let spot = match (corner, side) {
        (Some(corner), _) => Spot::Corner(corner),
        (None, Some(side)) => Spot::Side(side),
        (None, None) => Spot::Car,
    };
    let stage = match body.stage.as_deref() {
        None => None,
        Some(given) => Some(word("stage", given, &[BEFORE_STRIP_DOWN], |w| Some(w.to_owned()))?),
    };
    for (field, text) in [("gauge", &body.gauge), ("load", &body.load)] {
        text.as_ref().map_or(Ok(()), |text| named_or_nothing(field, text))?;
    }
    body.date.as_ref().map_or(Ok(()), |date| named_or_nothing("date", date))?;
    noted(body.note.as_ref())?;
    match what {
        What::Known(known) => known_reading(body, known, spot, stage),
        What::Free(_) => {
            said("value", &body.value, "none found")?;
            let key = ReadingKey { what, spot, stage };
            Ok(Read::of(key))
        }
    }
}

fn known_reading(
    body: &body::Reading,
    what: ReadingWhat,
    spot: Spot,
    stage: Option<String>,
) -> Result<Read, Refusal> {
    let corner = match spot {
        Spot::Corner(corner) => corner,
        Spot::Side(side) => Corner::rear(side),
        Spot::Car => {
            let kind = ProblemKind::RowWithout { key: "side", example: "left".to_owned() };
            let what =
                format!("a reading of the {what} is of a side or a wheel, and none is named");
            return Err(Refusal::new("side", what, kind.right()));
        }
    };
    let limits = reading_limits(what);
    let is_plate = what == ReadingWhat::PlateAngle;
    if is_plate && corner != Corner::rear(corner.side()) {
        let what = "a spring plate is read at a rear wheel";
        return Err(Refusal::new("corner", what, "write LR or RR"));
    }
    let only_plate = [
        ("hung", &body.hung),
        ("lash", &body.lash),
        ("seat", &body.seat),
        ("seat_offset", &body.seat_offset),
    ];
    let extra = only_plate.iter().find(|(_, text)| !is_plate && text.is_some());
    if let Some((field, _)) = extra {
        return Err(not_of(field, what, "only a plate angle depends on it"));
    }
    if !is_plate && what != ReadingWhat::SillLevel && body.arrow.is_some() {
        return Err(not_of("arrow", what, "only a level or a plate angle depends on it"));
    }
    let is_loaded = !is_plate && what != ReadingWhat::SillLevel;
    if is_loaded && body.load.as_ref().is_none_or(|load| load.trim().is_empty()) {
        let what = format!("what was in the car while the {what} was read is not said");
        return Err(Refusal::new("load", what, "for instance \"empty, half a tank\""));
    }
    Ok(Read {
        key: ReadingKey { what: What::Known(what), spot: Spot::Corner(corner), stage },
        value: Some(amount("value", &body.value, limits)?),
        turned: amount_if("turned", body.turned.as_ref(), limits)?,
        arrow: word_if("arrow", body.arrow.as_ref(), Arrow::WORDS, Arrow::from_word)?,
        hung: word_if("hung", body.hung.as_ref(), Hung::WORDS, Hung::from_word)?,
        lash: word_if("lash", body.lash.as_ref(), Lash::WORDS, Lash::from_word)?,
        seat: word_if("seat", body.seat.as_ref(), Seat::WORDS, Seat::from_word)?,
        seat_offset: amount_if("seat_offset", body.seat_offset.as_ref(), OFFSET)?,
    })
}

fn not_of(field: &str, what: ReadingWhat, why: &'static str) -> Refusal {
    let kind = ProblemKind::KeyNotForRow { key: field.to_owned(), what: what.word(), why };
    Refusal::of(field, &kind)
}

/// The id of something, as the car file would spell it.
fn id(field: &str, given: &str) -> Result<(), Refusal> {
    // A side of a row for each is added to its id.
    let longest = LONGEST_ID + "-right".len();
    let is_letter = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit();
    let words_are_sound =
        given.split('-').all(|word| !word.is_empty() && word.bytes().all(is_letter));
    if words_are_sound && given.len() <= longest {
        return Ok(());
    }
    let fixed = as_id(given);
    let fixed = if fixed.len() <= longest { fixed } else { String::new() };
    let (key, given) = (field.to_owned(), cut(given));
    Err(Refusal::of(field, &ProblemKind::BadId { key, given, fixed }))
}

fn part(body: &Part) -> Result<(), Refusal> {
    id("part", &body.part)?;
    side_if(body.side.as_ref())?;
    let is = |happened| body.happened == happened;
    let only = |field: &str, present: bool, allowed: bool, with: &str| {
        if present && !allowed {
            let what = format!("`{field}` does not belong here");
            return Err(Refusal::new(field, what, format!("it goes with {with}")));
        }
        Ok(())
    };
    only("side", body.side.is_some(), is(PartHappened::Fitted), "a part that is fitted")?;
    only("in_spite", body.in_spite.is_some(), is(PartHappened::Fitted), "a part that is fitted")?;
    only("verdict", body.verdict.is_some(), is(PartHappened::Inspected), "an inspection")?;
    let is_away = is(PartHappened::Ordered) || is(PartHappened::Due);
    only("due", body.due.is_some(), is_away, "a part that is ordered or due")?;
    if let Some(verdict) = &body.verdict {
        word("verdict", verdict, &["good", "doubtful", "scrap"], |_| Some(()))?;
    }
    match &body.due {
        Some(due) => drop(day("due", due)?),
        None if is(PartHappened::Due) => {
            let what = "the day on which it is expected is not said";
            return Err(Refusal::new("due", what, "write it as in \"2026-11-25\""));
        }
        None => {}
    }
    if let Some(why) = &body.in_spite {
        said("in_spite", why, "the marks were found on the wrong ends")?;
    }
    if let Some(name) = &body.name {
        named("name", name, "spring plate")?;
    }
    noted(body.note.as_ref())
}

fn mark(body: &Mark) -> Result<(), Refusal> {
    named("mark", &body.mark, "left rear eccentric")?;
    for part in &body.between {
        id("between", part)?;
    }
    let [one, other] = &body.between;
    if one == other {
        let what = format!("the mark joins `{}` to itself", cut(one));
        return Err(Refusal::new("between", what, "name the two parts it runs across"));
    }
    side_if(body.side.as_ref())?;
    if let Some(offset) = &body.offset {
        named("offset", offset, "1.5 mm rearward, or 0 mm")?;
    }
    noted(body.note.as_ref())
}

fn energy(body: &Energy) -> Result<(), Refusal> {
    word("said", &body.said, Recall::WORDS, Recall::from_word)?;
    side_if(body.side.as_ref())?;
    noted(body.note.as_ref())
}

fn photo(body: &Photo) -> Result<(), Refusal> {
    let is_hash = body.sha256.len() == 64
        && body.sha256.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b));
    if !is_hash {
        let what = format!("`sha256` is `{}`, which is no SHA-256", cut(&body.sha256));
        return Err(Refusal::new("sha256", what, "64 digits and small letters a to f"));
    }
    word("media", &body.media, &["image/jpeg", "image/png", "image/webp"], |_| Some(()))?;
    if body.bytes == 0 || PHOTO_BYTES_MAX < body.bytes {
        let what = format!("the photo has {} bytes; the limit is {PHOTO_BYTES_MAX}", body.bytes);
        return Err(Refusal::new("bytes", what, "a smaller picture"));
    }
    let pixels = u64::from(body.width) * u64::from(body.height);
    if pixels == 0 || PHOTO_PIXELS_MAX < pixels {
        let what = format!("the photo has {pixels} pixels; the limit is {PHOTO_PIXELS_MAX}");
        return Err(Refusal::new("width", what, "a smaller picture"));
    }
    named("of", &body.of, "left rear eccentric")?;
    if let Some(when) = &body.when {
        word("when", when, &["before", "after"], |_| Some(()))?;
    }
    noted(body.note.as_ref())
}

fn step(body: &Step) -> Result<(), Refusal> {
    id("step", &body.step)?;
    let (low, high) = (0, STEP_MINUTES.1);
    if let Some(minutes) = body.minutes.filter(|minutes| high < *minutes) {
        let (key, given) = ("minutes".to_owned(), minutes.to_string());
        let (low, high) = (low.to_string(), high.to_string());
        let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
        return Err(Refusal::of("minutes", &kind));
    }
    word_if("found", body.found.as_ref(), Found::WORDS, Found::from_word)?;
    if body.happened == StepHappened::Waived && body.note.as_deref().is_none_or(is_blank) {
        let what = "why it was given up is not said";
        return Err(Refusal::new("note", what, "one sentence: `the car came in pieces`"));
    }
    in_spite(body.in_spite.as_ref())?;
    noted(body.note.as_ref())
}

fn is_blank(text: &str) -> bool {
    text.trim().is_empty()
}

/// Why something was done in spite of what stands against it: said, where it is there at all.
fn in_spite(why: Option<&String>) -> Result<(), Refusal> {
    why.map_or(Ok(()), |why| said("in_spite", why, "the inspector comes tomorrow"))
}

fn signed(body: &Signed) -> Result<(), Refusal> {
    named("of", &body.of, "job")?;
    if body.name.trim().is_empty() {
        let what = "nobody's name is under it";
        return Err(Refusal::new("name", what, "whoever signs writes their name"));
    }
    named("name", &body.name, "")?;
    if let Some(role) = &body.as_what {
        named("as_what", role, "restorer")?;
    }
    in_spite(body.in_spite.as_ref())?;
    noted(body.note.as_ref())
}

pub(super) fn bolt(body: &body::Bolt) -> Result<ReadBolt, Refusal> {
    id("joint", &body.joint)?;
    if body.bolt == 0 || Joint::MOST_BOLTS < body.bolt {
        let (key, given) = ("bolt".to_owned(), body.bolt.to_string());
        let (low, high) = ("1".to_owned(), Joint::MOST_BOLTS.to_string());
        let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
        return Err(Refusal::of("bolt", &kind));
    }
    let state = word("state", &body.state, BoltState::WORDS, BoltState::from_word)?;
    let value = amount_if("value", body.value.as_ref(), TORQUE)?;
    if state == BoltState::Open && value.is_some() {
        let what = "an open bolt has no torque";
        return Err(Refusal::new("value", what, "leave it out, or say `torqued`"));
    }
    for (field, text) in [("wrench", &body.wrench), ("date", &body.date)] {
        text.as_ref().map_or(Ok(()), |text| named(field, text, "small click wrench"))?;
    }
    let position =
        word_if("position", body.position.as_ref(), Position::OF_JOINTS, Position::from_word)?;
    Ok(ReadBolt { state, value, position })
}

/// An attempt's side and its reading, which is of that side.
pub(super) fn attempt(body: &body::Attempt) -> Result<(Side, Read), Refusal> {
    let side = side("side", &body.side)?;
    for (field, teeth) in [("anchor_teeth", body.anchor_teeth), ("plate_teeth", body.plate_teeth)] {
        if !(-TEETH..=TEETH).contains(&teeth) {
            let (key, given) = (field.to_owned(), teeth.to_string());
            let (low, high) = ((-TEETH).to_string(), TEETH.to_string());
            let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
            return Err(Refusal::of(field, &kind));
        }
    }
    let own = &body.reading;
    let read = if own.side.is_none() && own.corner.is_none() {
        // A reading that names no place is of the attempt's side.
        reading(&body::Reading { side: Some(body.side.clone()), ..own.clone() })
    } else {
        reading(own)
    };
    let read = read.map_err(|refusal| refusal.inside("reading"))?;
    if read.key.what != What::Known(ReadingWhat::PlateAngle) {
        let what = "the reading of an attempt is the plate angle that followed";
        return Err(Refusal::new("reading.what", what, "write `plate angle`"));
    }
    if read.key.spot != Spot::Corner(Corner::rear(side)) {
        let what = format!("the attempt is on the {side}, and its reading is not");
        return Err(Refusal::new("reading.side", what, format!("write `{side}`")));
    }
    if read.key.stage.is_some() {
        let what = "a fit and what was read before strip-down are not the same day's work";
        return Err(Refusal::new("reading.stage", what, "leave it out"));
    }
    Ok((side, read))
}

/// One figure of a round.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct OfRound {
    pub(super) what: ReadingWhat,
    pub(super) corner: Corner,
    pub(super) value: Written,
}

/// The stage of a round's readings: nothing for the finished car.
pub(super) fn stage_of(body: &Round) -> Option<&str> {
    body.stage
        .as_deref()
        .map(str::trim)
        .filter(|stage| !stage.is_empty() && !stage.eq_ignore_ascii_case("finished"))
}

pub(super) fn round(body: &Round) -> Result<Vec<OfRound>, Refusal> {
    said("load", &body.load, "empty, half a tank")?;
    named_or_nothing("load", &body.load)?;
    if let Some(stage) = &body.stage {
        named("stage", stage, "finished")?;
    }
    noted(body.note.as_ref())?;
    let mut out = Vec::new();
    for (field, what, map) in of_round(body) {
        for (at, text) in map {
            let field = format!("{field}.{}", cut(at));
            let corner = word(&field, at, WHEELS, corner_from)?;
            if out.iter().any(|one: &OfRound| (one.what, one.corner) == (what, corner)) {
                let what = format!("`{field}` is there twice");
                return Err(Refusal::new(&field, what, "keep one of the two"));
            }
            if what == ReadingWhat::Trim && corner.is_front() {
                let what = format!("{} has no trim: it is read at the rear", corner.code());
                return Err(Refusal::new(&field, what, "leave it out"));
            }
            let value = match amount(&field, text, reading_limits(what)) {
                // Toe may also be the difference of two distances at the rim.
                Err(refusal) if what == ReadingWhat::Toe => {
                    amount(&field, text, RIM).map_err(|_| refusal)?
                }
                read => read?,
            };
            out.push(OfRound { what, corner, value });
        }
    }
    if out.is_empty() {
        let what = "the round has no reading in it";
        return Err(Refusal::new("weight", what, "write what was read at one wheel at least"));
    }
    Ok(out)
}

/// The four maps of a round.
pub(super) fn of_round(
    body: &Round,
) -> [(&'static str, ReadingWhat, &BTreeMap<String, String>); 4] {
    [
        ("weight", ReadingWhat::CornerWeight, &body.weight),
        ("trim", ReadingWhat::Trim, &body.trim),
        ("camber", ReadingWhat::Camber, &body.camber),
        ("toe", ReadingWhat::Toe, &body.toe),
    ]
}

/// A correction, understood.
pub(super) fn moved(body: &Moved, seq: u64) -> Result<MoveRow, Refusal> {
    let corner = word("corner", &body.corner, WHEELS, corner_from)?;
    let what = word("adjuster", &body.adjuster, Correction::WORDS, Correction::from_word)?;
    if corner.is_front() != (what == Correction::FrontScrew) {
        let what = format!("there is no {what} at {}", corner.code());
        let right = "the front has a screw; the rear has teeth and eccentrics";
        return Err(Refusal::new("adjuster", what, right));
    }
    within("by", &body.by, LONGEST_NAME)?;
    MoveRow::from_log(body, seq).map_err(|what| {
        let right = "teeth as in \"-2\", turns as in \"0.25\", a distance as in \"1.2 mm\"";
        Refusal::new("by", what, right)
    })
}

fn recheck(body: &Recheck) -> Result<(), Refusal> {
    named_or_nothing("what", &body.what)?;
    if body.due_km.is_none() && body.done_km.is_none() {
        let what = "neither when it is due nor when it was done is said";
        return Err(Refusal::new("due_km", what, "write the distance since hand-over, in km"));
    }
    for (field, km) in [("due_km", body.due_km), ("done_km", body.done_km)] {
        if let Some(km) = km.filter(|km| FARTHEST_KM < *km) {
            let (key, given) = (field.to_owned(), km.to_string());
            let (low, high) = ("0".to_owned(), FARTHEST_KM.to_string());
            let kind = ProblemKind::OutOfRange { key, given, low, high, slip: None };
            return Err(Refusal::of(field, &kind));
        }
    }
    let blank = body.what.trim().is_empty();
    if blank && (body.due_km.is_some() || body.found.is_some()) {
        let what = "what is to be looked at is not said";
        return Err(Refusal::new("what", what, "for instance \"hub nuts\""));
    }
    body.found.as_ref().map_or(Ok(()), |found| within("found", found, LONGEST_TEXT))
}

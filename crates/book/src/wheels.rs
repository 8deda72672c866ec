//! The whole car on its wheels: what it weighs stage by stage, and what was read and moved.

use crate::car_file::{Entry, PlanPoint};
use crate::log::body;
use crate::words::{Correction, MassKind};
use axlewright_quantity::{Amount, Corner, Kind, Length, Ratio, parse_amount};
use std::collections::BTreeMap;

/// A mass that the springs carry: a stage of the build, or a load.
#[derive(Debug, Clone, PartialEq)]
pub struct MassRow {
    /// What it is: `shell`, `driver`.
    pub name: Entry<String>,
    /// Whether it stays on the car.
    pub kind: MassKind,
    /// How heavy, wheels and what hangs on them left out.
    pub mass: Option<Entry<Amount>>,
    /// Its centre of mass, seen from above; right is minus.
    pub at: Option<Entry<PlanPoint>>,
    /// The height of that centre above the bar axis.
    pub z: Option<Entry<Amount>>,
    /// The line its `[[masses]]` stands in.
    pub line: u32,
}

impl MassRow {
    /// What a stage is called once every stage is there.
    pub const FINISHED: &'static str = "finished";
}

/// One pass of readings on the wheels, and what was moved after it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RoundRow {
    /// What was in the car.
    pub load: Option<Entry<String>>,
    /// The stage of the build; the finished car where none is named.
    pub stage: Option<Entry<String>>,
    /// Mass shown by the scale under each wheel.
    pub weight: BTreeMap<Corner, Entry<Amount>>,
    /// Trim at the rear wheels.
    pub trim: BTreeMap<Corner, Entry<Amount>>,
    /// Camber of each wheel, top outward positive.
    pub camber: BTreeMap<Corner, Entry<Amount>>,
    /// Toe-in of each wheel: an angle, or the difference of two distances at the rim.
    pub toe: BTreeMap<Corner, Entry<Amount>>,
    /// Whether trim was read after lift-and-release and push-and-release, and the mean taken.
    pub settled: Option<bool>,
    /// What was moved after these readings and before the next round.
    pub moved_after: Vec<MoveRow>,
    /// When.
    pub date: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// The line its `[[round]]` stands in.
    pub line: u32,
    /// The entry of a book's log it comes from, if it comes from one.
    pub entry: Option<u64>,
}

/// One correction that was made.
#[derive(Debug, Clone, PartialEq)]
pub struct MoveRow {
    /// At which corner.
    pub corner: Corner,
    /// What was moved.
    pub what: Correction,
    /// By how much.
    pub by: MoveBy,
    /// As written.
    pub text: String,
    /// The line it stands in, or that of its round.
    pub line: u32,
    /// The entry of a book's log it comes from, if it comes from one.
    pub entry: Option<u64>,
}

/// How far something was moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MoveBy {
    /// Whole teeth, tail down positive.
    Teeth(i32),
    /// Turns: of a screw, up positive; of an eccentric, towards more toe-in or more camber.
    Turns(Ratio),
    /// How far the mark of an eccentric moved, or the body at a screw.
    Distance(Length),
}

/// Teeth anybody moves at once, and turns of a screw: beyond, it is a slip.
const MOST_TEETH: i32 = 200;
const MOST_TURNS: f64 = 40.0;
const FARTHEST: Length = Length::mm(60.0);

impl MoveRow {
    /// What would be right.
    pub(crate) const EXAMPLE: &'static str = "[\"LR\", \"anchor\", \"-2\"]";

    /// From its three words: `LR`, `anchor`, `-2`.
    ///
    /// # Errors
    /// One sentence that says which of the three cannot be.
    pub fn parse(corner: &str, what: &str, by: &str) -> Result<Self, String> {
        let Some(at) = Corner::from_code(corner) else {
            return Err(format!("`{corner}` is no corner: write LF, RF, LR or RR"));
        };
        let Some(moved) = Correction::from_word(what) else {
            let known = Correction::WORDS.join(", ");
            return Err(format!("`{what}` is nothing that is moved: {known}"));
        };
        if at.is_front() != (moved == Correction::FrontScrew) {
            return Err(format!("there is no {moved} at {at}"));
        }
        let by = how_far(moved, by)?;
        let text = format!("{at} {moved} {}", by_text(by));
        Ok(Self { corner: at, what: moved, by, text, line: 0, entry: None })
    }

    /// From an entry of the log.
    ///
    /// # Errors
    /// As [`Self::parse`].
    pub fn from_log(moved: &body::Moved, seq: u64) -> Result<Self, String> {
        let row = Self::parse(&moved.corner, &moved.adjuster, &moved.by)?;
        Ok(Self { entry: Some(seq), ..row })
    }
}

fn by_text(by: MoveBy) -> String {
    match by {
        MoveBy::Teeth(teeth) => format!("{teeth:+} teeth"),
        MoveBy::Turns(turns) => format!("{:+} turns", turns.to_one()),
        MoveBy::Distance(length) => format!("{:+} mm", length.to_mm()),
    }
}

fn how_far(what: Correction, by: &str) -> Result<MoveBy, String> {
    let by = by.trim();
    if matches!(what, Correction::Anchor | Correction::Plate) {
        let teeth = by.parse::<i32>().ok().filter(|n| n.abs() <= MOST_TEETH);
        let refused = || format!("`{by}` is no number of teeth: write 2 or -2, tail down positive");
        return teeth.map(MoveBy::Teeth).ok_or_else(refused);
    }
    if let Some(turns) = by.parse::<f64>().ok().filter(|n| n.abs() <= MOST_TURNS) {
        return Ok(MoveBy::Turns(Ratio::one(turns)));
    }
    let length = parse_amount(by, Kind::Length).ok();
    let length = length.and_then(|read| Length::try_from(read.amount).ok());
    let refused = || format!("`{by}` is neither turns, as 0.25, nor a distance, as 1.2 mm");
    length.filter(|l| l.abs() <= FARTHEST).map(MoveBy::Distance).ok_or_else(refused)
}

/// One kind of reading of a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum RoundWhat {
    Weight,
    Trim,
    Camber,
    Toe,
}

/// The least and the greatest that is taken, in the unit its kind is shown in, and an example.
pub(crate) struct RoundLimits {
    pub(crate) kind: Kind,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) example: &'static str,
}

impl RoundWhat {
    pub(crate) const fn key(self) -> &'static str {
        match self {
            Self::Weight => "weight",
            Self::Trim => "trim",
            Self::Camber => "camber",
            Self::Toe => "toe",
        }
    }

    /// In the order in which a text is tried: toe is an angle, or a length at the rim.
    pub(crate) const fn limits(self) -> &'static [RoundLimits] {
        match self {
            Self::Weight => const { &[limits(Kind::Mass, 1.0, 3000.0, "288 kg")] },
            Self::Trim => const { &[limits(Kind::Length, -300.0, 500.0, "99 mm")] },
            Self::Camber => const { &[limits(Kind::Angle, -15.0, 15.0, "-0.30 deg")] },
            Self::Toe => {
                const {
                    &[
                        limits(Kind::Angle, -15.0, 15.0, "0.10 deg"),
                        limits(Kind::Length, -100.0, 100.0, "1.5 mm"),
                    ]
                }
            }
        }
    }
}

const fn limits(kind: Kind, low: f64, high: f64, example: &'static str) -> RoundLimits {
    RoundLimits { kind, low, high, example }
}

impl RoundRow {
    /// The readings of one kind, to be filled in.
    pub(crate) const fn of_mut(&mut self, what: RoundWhat) -> &mut BTreeMap<Corner, Entry<Amount>> {
        match what {
            RoundWhat::Weight => &mut self.weight,
            RoundWhat::Trim => &mut self.trim,
            RoundWhat::Camber => &mut self.camber,
            RoundWhat::Toe => &mut self.toe,
        }
    }

    /// From an entry of the log, and one sentence for each reading that cannot be one: those are
    /// left out. What was moved afterwards stands in entries of its own.
    pub fn from_log(round: &body::Round, seq: u64) -> (Self, Vec<String>) {
        let words = |text: &str| Entry {
            value: text.to_owned(),
            spread: None,
            text: text.to_owned(),
            line: 0,
            span: 0..0,
        };
        let mut row = Self {
            load: Some(words(&round.load)).filter(|load| !load.value.trim().is_empty()),
            stage: round.stage.as_deref().map(words),
            settled: round.settled,
            note: round.note.clone(),
            entry: Some(seq),
            ..Self::default()
        };
        let mut refused = Vec::new();
        let kinds = [
            (RoundWhat::Weight, &round.weight),
            (RoundWhat::Trim, &round.trim),
            (RoundWhat::Camber, &round.camber),
            (RoundWhat::Toe, &round.toe),
        ];
        for (what, texts) in kinds {
            for (corner, text) in texts {
                match reading(what, corner, text) {
                    Ok((corner, entry)) => {
                        row.of_mut(what).insert(corner, entry);
                    }
                    Err(why) => refused.push(why),
                }
            }
        }
        (row, refused)
    }
}

/// One reading of a round from its words.
fn reading(what: RoundWhat, corner: &str, text: &str) -> Result<(Corner, Entry<Amount>), String> {
    let key = what.key();
    let Some(at) = Corner::from_code(corner) else {
        return Err(format!("{key}: `{corner}` is no corner: write LF, RF, LR or RR"));
    };
    if what == RoundWhat::Trim && at.is_front() {
        return Err(format!("trim: {at} has none; it is the height of the bar's axis at the rear"));
    }
    let mut why = String::new();
    for limits in what.limits() {
        match parse_amount(text, limits.kind) {
            Ok(read) => {
                let number = read.amount.shown();
                if number < limits.low || limits.high < number {
                    let (low, high, unit) = (limits.low, limits.high, limits.kind.unit());
                    return Err(format!(
                        "{key} at {at}: `{text}` does not lie between {low} and {high} {unit}"
                    ));
                }
                let (value, spread, text) = (read.amount, read.spread, read.text);
                return Ok((at, Entry { value, spread, text, line: 0, span: 0..0 }));
            }
            Err(error) if why.is_empty() => why = error.to_string(),
            Err(_) => {}
        }
    }
    Err(format!("{key} at {at}: {why}"))
}

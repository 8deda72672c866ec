//! What is wrong with a car file, where, and what would be right.

use crate::field::Field;
use crate::wheels::MoveRow;
pub(crate) use axlewright_quantity::cut;
use axlewright_quantity::{Amount, QuantityError, Side};
use std::ops::Range;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// The line cannot be used as it stands.
    Error,
    /// It can be used, and is likely not what was meant.
    Warning,
}

/// One thing wrong with a car file.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// How bad it is.
    pub severity: Severity,
    /// Its bytes in the text, always inside it and on character boundaries.
    pub span: Range<usize>,
    /// Line, the first being 1.
    pub line: u32,
    /// Column in characters, the first being 1.
    pub column: u32,
    /// What is wrong: one sentence, lower case, no full stop.
    pub what: String,
    /// What would be right.
    pub right: String,
    /// The same as facts.
    pub kind: ProblemKind,
}

/// What can be wrong, with the facts of the case.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are the words of the message above them")]
pub enum ProblemKind {
    // The text as TOML.
    #[error("{what}")]
    Syntax { what: String, right: &'static str },
    #[error("the bracket opened here is not closed before the next section or key")]
    ListNotClosed,
    #[error("`{key}` stands here a second time{}", first_in(*first_line))]
    WrittenTwice { key: String, first_line: Option<u32> },
    #[error("the file is {bytes} bytes long; the limit is {limit} bytes")]
    TooLong { bytes: usize, limit: usize },
    #[error("more than {limit} lines cannot be read; the rest is not looked at")]
    TooBroken { limit: usize },

    // The frame of the file.
    #[error("the file does not say which format it is written in")]
    NoFormat,
    #[error("format is {given}; this version reads format {known}")]
    NewerFormat { given: String, known: u32 },
    #[error("format is {given}; the first format is 1")]
    NoSuchFormat { given: String },
    #[error("unknown section `[{given}]`")]
    UnknownSection { given: String, close: Option<String>, known: Vec<&'static str> },
    #[error("unknown key `{given}` in `{section}`")]
    UnknownKey {
        section: String,
        given: String,
        close: Option<String>,
        elsewhere: Option<&'static str>,
        known: Vec<&'static str>,
    },
    #[error("`{section}` belongs to the whole car and cannot differ from side to side")]
    NotOneSided { section: String },
    #[error("`{name}` is {found}; it must be a section")]
    NotASection { name: String, found: &'static str, header: String },
    #[error("`{name}` is {found}; it is written as rows, each under its own `[[{name}]]`")]
    NotRows { name: String, found: &'static str },
    #[error("{count} rows of `[[{name}]]`; the limit is {limit}")]
    TooManyRows { name: &'static str, count: usize, limit: usize },

    // One value.
    #[error("`{key}` is the bare number {given}; it needs its unit")]
    BareNumber { key: String, given: String, fixed: String },
    #[error("`{key}` is {given}, which is no number")]
    NotFinite { key: String, given: String, example: String },
    #[error("`{key}` is {found}; it must be {wanted}")]
    WrongType { key: String, found: &'static str, wanted: &'static str, example: String },
    #[error("`{key}`: {error}")]
    Quantity { key: String, error: QuantityError, example: String },
    #[error("`{key}` is `{given}`; it must be one of a few words")]
    UnknownWord {
        key: String,
        given: String,
        close: Option<&'static str>,
        known: &'static [&'static str],
    },
    #[error("`{key}` is {given}; it must lie between {low} and {high}")]
    OutOfRange { key: String, given: String, low: String, high: String, slip: Option<String> },
    #[error("`{key}` lies {given} from the bar axis along {axis}; the limit is {limit}")]
    FarAway { key: String, axis: char, given: String, limit: String },
    #[error("`{key}` has Y {given}, on the {found} of the car, and stands for the {wanted} side")]
    SwappedSides { key: String, given: String, found: Side, wanted: Side },
    #[error("`{key}` has {given} points; an outline needs at least {least}")]
    TooFewPoints { key: String, given: usize, least: usize },
    #[error("`{key}` has {given} points; the limit is {limit}")]
    TooManyPoints { key: String, given: usize, limit: usize },
    #[error("`{key}` has {given} lengths; it needs three, at three different plate angles")]
    LengthCount { key: String, given: usize },
    #[error("`{key}` is `{given}`; it needs the two coordinates {axes}")]
    NotTwo { key: String, given: String, axes: &'static str, example: String },
    #[error("`{key}` is blank; a list has no blanks in it")]
    BlankInList { key: String },
    #[error("`{key}` gives `{given}`, which is not a length at a plate angle")]
    NotLengthAtAngle { key: String, given: String },
    #[error("`{key}` gives two lengths at {angle}")]
    SameAngleTwice { key: String, angle: String },
    #[error("`{key}` is `{given}`, which is no range of build numbers")]
    UnreadableBuilds { key: String, given: String },
    #[error("`{key}` is `{given}`, which is no range of months")]
    UnreadableDates { key: String, given: String },
    #[error("`{key}` is `{given}`, which runs backwards")]
    RangeBackwards { key: String, given: String },
    #[error("`{key}` is `{given}`, which is no month of a year")]
    UnreadableMonth { key: String, given: String },

    // The method.
    #[error("`method` is `{given}`, and the program has no such method")]
    UnknownMethod { given: String, close: Option<&'static str>, known: Vec<&'static str> },
    #[error("`[answers]` answers the questions of a method, and the file follows none")]
    AnswersToNothing,
    #[error("the method asks no question `{given}`")]
    UnknownQuestion { given: String, close: Option<String>, known: Vec<String> },
    #[error("`{key}` is `{given}`, which is no answer to it")]
    UnknownAnswer { key: String, given: String, close: Option<String>, known: Vec<String> },
    #[error("the method is not for this car: {words}")]
    NotThisMethod { words: String },
    #[error("the method has the {what} `{given}`, but not with these answers")]
    SwitchedOff { what: &'static str, given: String },
    #[error("the text does not say `[method]`")]
    NotAMethod,
    #[error("`{key}` is `{given}`, which is no question with its answers")]
    NotACondition { key: String, given: String },

    // Rows.
    #[error("this row does not say `{key}`")]
    RowWithout { key: &'static str, example: String },
    #[error("`{key}` does not belong in a row of {what}")]
    KeyNotForRow { key: String, what: &'static str, why: &'static str },
    #[error("this row says the same as the one in line {first_line}, word for word")]
    SameRow { first_line: u32 },
    #[error("this row, one of several of its kind, does not say for which cars it holds")]
    RowForAll,
    #[error("stand `{name}` stands where the one in line {first_line} stands")]
    SameSpot { name: String, first_line: u32 },
    #[error("two stands are called `{name}`")]
    SameName { name: String, first_line: u32 },
    #[error("stand `{name}` is named for the {named} and stands on the {found}, Y {y}")]
    StandOnWrongSide { name: String, named: Side, found: Side, y: String },
    #[error("{count} stands; loads can be worked out for three or four")]
    StandCount { count: usize },
    #[error("`{key}` has {given} entries; the limit is {limit}")]
    TooManyEntries { key: String, given: usize, limit: usize },
    #[error("`{smaller}` is {small} and `{greater}` is {great}; it must be less")]
    NotLessInRow {
        smaller: String,
        small: String,
        greater: String,
        great: String,
        why: &'static str,
    },

    // Names, and rows that name each other.
    #[error("`{key}` is `{given}`; an id is made of small letters, digits and hyphens")]
    BadId { key: String, given: String, fixed: String },
    #[error("`{key}` is `{given}`, and the row's side is {side}")]
    IdNamesSide { key: String, given: String, side: &'static str, fixed: String },
    #[error("there are two of `{id}` among the {what}s")]
    SameId { id: String, what: &'static str, first_line: u32 },
    #[error("two wrenches are called `{name}`")]
    SameWrench { name: String, first_line: u32 },
    #[error("`{key}` names `{given}`, and there is no such {what}")]
    UnknownId {
        key: String,
        given: String,
        what: &'static str,
        is: Option<&'static str>,
        close: Option<String>,
        known: Vec<String>,
        more: usize,
    },
    #[error("`{key}` names `{given}`, which there is on each side")]
    WhichSide { key: String, given: String, both: bool },
    #[error("`{key}` names `{given}`, which is not on the {side}, as the step is")]
    OtherSide { key: String, given: String, side: Side },
    #[error("`{key}` is `{given}`, and nothing is called so")]
    NearName { key: String, given: String, close: String },
    #[error("`{key}` names `{given}` a second time")]
    NamedTwice { key: String, given: String },
    #[error("the step `{id}` comes after itself")]
    AfterItself { id: String },
    #[error("the step both fits and removes the {what}")]
    FitsAndRemoves { what: &'static str },
    #[error("`{key}` is `{given}`, which names a side; the step's side is {side}")]
    StationNamesSide { key: String, given: String, side: &'static str },

    // Joints and bolts.
    #[error("`{key}` is `{given}`, which has no figure in it")]
    NoFigure { key: String, given: String, example: &'static str },
    #[error("`{key}` lies {given} from the layout's zero; the limit is {limit}")]
    BoltFar { key: String, given: String, limit: String },
    #[error("`joint.layout` has {points} points, and `joint.count` is {count}")]
    LayoutCount { points: usize, count: u32 },
    #[error("bolts {first} and {second} of the layout are in the same place")]
    SameBoltPlace { first: usize, second: usize },
    #[error("`bolt.bolt` is {bolt}, and `{joint}` has {count}")]
    NoSuchBolt { bolt: u32, joint: String, count: u32 },
    #[error("bolt {bolt} of `{joint}` is paint-marked, and no row above says it was torqued")]
    MarkWithoutTorque { bolt: u32, joint: String },

    // The log against the car file.
    #[error("this {what} reads {given}; entry {seq} of the log reads {now}, and that holds")]
    ReadingSuperseded { what: &'static str, given: String, seq: u64, now: String },
    #[error("entry {seq} speaks of the {what} `{id}`, which the car file does not have")]
    EntryOfNothing { seq: u64, what: &'static str, id: String },
    #[error("entry {seq} does not count: {why}")]
    EntryNotCounted { seq: u64, why: String },

    // Time.
    #[error("`{key}` is `{given}`, which is no day")]
    UnreadableDay { key: String, given: String },
    #[error("`{key}` is `{given}`, which is no time to work in")]
    UnreadableSession { key: String, given: String },
    #[error("`{second}` begins before `{first}` is over")]
    SessionsOverlap { first: String, second: String },
    #[error("a second person comes on {day}, and there is no session on that day")]
    NoSessionForHelper { day: &'static str },
    #[error("`{key}` is {found}; a way is two stations and the minutes between them")]
    NotAWay { key: String, found: &'static str },
    #[error("the way from `{station}` leads to itself")]
    WayToItself { station: String },
    #[error("the way between `{one}` and `{other}` is given twice")]
    SameWay { one: String, other: String, first_line: u32 },
    #[error("`{key}` names `{given}`, and no step is done there")]
    UnknownStation {
        key: String,
        given: String,
        close: Option<String>,
        known: Vec<String>,
        more: usize,
    },

    // On the wheels.
    #[error("`{key}` is {found}; it is written corner by corner")]
    NotByCorner { key: String, found: &'static str, example: &'static str },
    #[error("`{key}` cannot be read as a move: {why}")]
    NotAMove { key: String, why: String },

    // Several values against each other.
    #[error("`{smaller}` is {small} and `{greater}` is {great}; it must be less")]
    NotLess { smaller: Field, small: String, greater: Field, great: String, why: &'static str },
    #[error("{rings} rings of {height} on {closed} leave no travel before {open}")]
    NoTravel { rings: u32, height: String, closed: String, open: String },
    #[error("both `bar.rate` and `bar.length` with `bar.shear_modulus` are given")]
    RateTwice,
    #[error("the inner pivot, {pivot} from the centre line, is not inboard of the hub, {hub}")]
    PivotOutboard { pivot: String, hub: String },
    #[error("the wheel centre, X {wheel}, is not behind the hub, X {hub}")]
    WheelNotBehind { wheel: String, hub: String },
    #[error("the jack point, X {jack}, is not behind the bar axis, X {hub}")]
    JackNotBehind { jack: String, hub: String },
    #[error("the wheel centre, {wheel} from the centre line, is inboard of the hub, {hub}")]
    WheelInboard { wheel: String, hub: String },
    #[error(
        "the shaft's inner joint, {joint} from the centre line, is not inboard of the wheel, \
         {wheel}"
    )]
    JointOutboard { joint: String, wheel: String },
    #[error(
        "the hub is at X {x}, Z {z}; X and Z are counted from the bar axis, which is its centre"
    )]
    HubOffAxis { x: String, z: String },
    #[error("`{one}` and `{other}` are the same place")]
    SamePlace { one: Field, other: Field },
    #[error("`{key}` is {length}, and its ends are {apart} apart")]
    TooShort { key: Field, length: String, apart: String },
    #[error("the damper's bolts are {apart} apart; it reaches from {closed} to {open}")]
    DamperOutOfReach { apart: String, closed: String, open: String },
    #[error("the outline crosses itself between its sides {first} and {second}")]
    OutlineCrosses { first: usize, second: usize },
    #[error("the outline encloses nothing")]
    OutlineFlat,
    #[error("the hub, u 0 and w 0, lies outside the outline")]
    HubOutside,
    #[error("`{key}` lies outside the outline")]
    HoleOutside { key: Field },
    #[error("the front hole, u {front}, is not nearer the hub than the rear one, u {rear}")]
    HolesSwapped { front: String, rear: String },
    #[error("`bush.kind` is greased and `bush.rate` is {rate}")]
    GreasedWithRate { rate: String },
    #[error("`bar.original_diameter` is {original} and `bar.fitted_diameter` {fitted}")]
    BarsFarApart { original: String, fitted: String },
    #[error(
        "the free angle {free} is not below the ride angle {ride}: the bar would carry nothing"
    )]
    FreeNotBelowRide { free: String, ride: String },
    #[error(
        "`lever.hub_to_wheel` is {lever}, and the coordinates put the wheel {apart} from the hub"
    )]
    LeverDiffers { lever: String, apart: String },
}

impl ProblemKind {
    /// How many of the names that are known a message lists.
    pub(crate) const FEW: usize = 12;

    /// How bad it is.
    pub fn severity(&self) -> Severity {
        match self {
            Self::RowForAll
            | Self::SameRow { .. }
            | Self::ReadingSuperseded { .. }
            | Self::EntryOfNothing { .. }
            | Self::NearName { .. }
            | Self::NamedTwice { .. }
            | Self::MarkWithoutTorque { .. }
            | Self::NoSessionForHelper { .. }
            | Self::UnknownStation { .. }
            | Self::RateTwice
            | Self::SwitchedOff { .. }
            | Self::StandCount { .. }
            | Self::HubOffAxis { .. }
            | Self::DamperOutOfReach { .. }
            | Self::BarsFarApart { .. }
            | Self::WheelInboard { .. }
            | Self::LeverDiffers { .. } => Severity::Warning,
            _ => Severity::Error,
        }
    }

    /// What would be right.
    pub fn right(&self) -> String {
        self.right_in_frame()
            .or_else(|| self.right_for_value())
            .or_else(|| self.right_for_row())
            .or_else(|| self.right_for_names())
            .or_else(|| self.right_for_job())
            .or_else(|| self.right_for_method())
            .unwrap_or_else(|| self.right_together().to_owned())
    }

    fn right_in_frame(&self) -> Option<String> {
        Some(match self {
            Self::Syntax { right, .. } => (*right).to_owned(),
            Self::ListNotClosed => "close it, a list with `]`".to_owned(),
            Self::WrittenTwice { .. } => {
                "keep one of the two; the first is the one read here".to_owned()
            }
            Self::TooLong { .. } => {
                "one file holds one car; photographs and notes go elsewhere".into()
            }
            Self::TooBroken { .. } => "mend the lines named above and check again".to_owned(),
            Self::NoFormat => "write `format = 1` as the first line".to_owned(),
            Self::NewerFormat { .. } => {
                "read it with the version of Axlewright that wrote it, or a later one".to_owned()
            }
            Self::NoSuchFormat { .. } => "write `format = 1`".to_owned(),
            Self::UnknownSection { close, known, .. } => {
                meant(close.as_deref(), None, "sections", known)
            }
            Self::UnknownKey { close, elsewhere, known, .. } => {
                meant(close.as_deref(), *elsewhere, "known here", known)
            }
            Self::NotOneSided { section } => format!("write it once, under `[{section}]`"),
            Self::NotASection { header, .. } => {
                format!("write `{header}` on a line of its own and its keys below")
            }
            Self::NotRows { name, .. } => format!("write `[[{name}]]`, in double brackets"),
            Self::TooManyRows { .. } => {
                "one file holds one car; leave out what is not its".to_owned()
            }
            _ => return None,
        })
    }

    fn right_for_value(&self) -> Option<String> {
        Some(match self {
            Self::BareNumber { fixed, .. } => format!("write it with its unit, \"{fixed}\""),
            Self::NotFinite { example, .. } | Self::WrongType { example, .. } => {
                format!("write {}, or leave it blank until it is known", quoted(example))
            }
            Self::Quantity { error, example, .. } => match error.hint() {
                Some(hint) => format!("{hint}; here for instance {}", quoted(example)),
                None => format!("for instance {}", quoted(example)),
            },
            Self::UnknownWord { close, known, .. } => {
                meant(close.as_deref(), None, "known here", known)
            }
            Self::OutOfRange { slip, .. } => match slip {
                Some(slip) => format!("was {slip} meant?"),
                None => "look at the sign, the unit and the decimal point".to_owned(),
            },
            Self::FarAway { .. } => "look at the unit and the decimal point".to_owned(),
            Self::SwappedSides { wanted, .. } => match wanted {
                Side::Left => "the left side has positive Y: are the sides swapped?",
                Side::Right => "the right side has negative Y: are the sides swapped?",
            }
            .to_owned(),
            Self::TooFewPoints { .. } => "corners in order, once round: [\"-60, 55 mm\", …]".into(),
            Self::TooManyPoints { .. } => {
                "corners are enough; curves need a point per 20 mm".into()
            }
            Self::LengthCount { .. } | Self::NotLengthAtAngle { .. } => {
                "write [\"330 mm at 5 deg\", \"352 mm at 11 deg\", \"400 mm at 25 deg\"]".to_owned()
            }
            Self::NotTwo { example, .. } => format!("write {}", quoted(example)),
            Self::BlankInList { .. } => "fill it in, or take it out".to_owned(),
            Self::SameAngleTwice { .. } => {
                "measure at three different angles: near full bump, ride and droop".to_owned()
            }
            Self::UnreadableBuilds { .. } => {
                "write \"2468-3990\", \"up to 2650\", \"from 2600\" or \"all\"".to_owned()
            }
            Self::UnreadableDates { .. } => {
                "write \"1962-08 to 1964-03\", \"up to 1963-09\", \"from 1963-09\" or \"all\""
                    .into()
            }
            Self::RangeBackwards { .. } => "the first comes first".to_owned(),
            Self::UnreadableMonth { .. } => "write year and month, \"1963-09\"".to_owned(),
            _ => return None,
        })
    }

    fn right_for_row(&self) -> Option<String> {
        Some(match self {
            Self::RowWithout { key, example } => format!("write `{key} = {}`", quoted(example)),
            Self::KeyNotForRow { why, .. } => (*why).to_owned(),
            Self::SameRow { .. } => "keep one of them".to_owned(),
            Self::RowForAll => {
                "write the range the manual prints, builds = \"2468-3990\", or builds = \"all\""
                    .to_owned()
            }
            Self::SameSpot { .. } => "each stand has its own place: look at the signs".to_owned(),
            Self::SameName { first_line, .. } => {
                format!("give one of them another name; the first is in line {first_line}")
            }
            Self::StandOnWrongSide { .. } => {
                "Y is positive to the left: look at the sign".to_owned()
            }
            Self::StandCount { .. } => "name the three or four that carry the car".to_owned(),
            _ => return None,
        })
    }

    fn right_for_names(&self) -> Option<String> {
        Some(match self {
            Self::BadId { fixed, .. } if fixed.is_empty() => "as in \"hub-cover\"".to_owned(),
            Self::BadId { fixed, .. } => format!("write {}", quoted(fixed)),
            Self::IdNamesSide { fixed, .. } => {
                format!("write id = {}: the side is added where the row is for each", quoted(fixed))
            }
            Self::SameId { first_line, .. } => {
                format!("give one of them another id; the first is in line {first_line}")
            }
            Self::SameWrench { first_line, .. } => {
                format!("give one of them another name; the first is in line {first_line}")
            }
            Self::UnknownId { close, is, known, more, what, .. } => match (close, is) {
                (Some(close), _) => format!("did you mean `{close}`?"),
                (None, Some(is)) => format!("that is a {is}; here a {what} is meant"),
                (None, None) => listed(what, known, *more),
            },
            Self::WhichSide { given, both, .. } => {
                let both = if *both { format!(" or `{given}-both`") } else { String::new() };
                let comma = if both.is_empty() { " or" } else { "," };
                format!("write `{given}-left`{comma} `{given}-right`{both}")
            }
            Self::OtherSide { side, .. } => {
                format!("name what is on the {side}, or give the step side = \"none\"")
            }
            Self::NearName { close, .. } => format!("did you mean `{close}`?"),
            Self::NamedTwice { .. } => "once is enough".to_owned(),
            Self::AfterItself { .. } => {
                "name the step before it; of a step for each side, one side's can come after the \
                 other only if the two are written as rows of their own"
                    .to_owned()
            }
            Self::FitsAndRemoves { .. } => "make two steps of it".to_owned(),
            Self::StationNamesSide { .. } => {
                "for each side write \"rear\" or \"under\" and the side is added; else name the \
                 step's own side"
                    .to_owned()
            }
            Self::UnknownStation { close: Some(close), .. } => {
                format!("did you mean `{close}`?")
            }
            Self::UnknownStation { known, more, .. } => listed("station", known, *more),
            _ => return None,
        })
    }

    fn right_for_job(&self) -> Option<String> {
        Some(match self {
            Self::TooManyEntries { .. } => "make several rows of it".to_owned(),
            Self::NotLessInRow { why, .. } => (*why).to_owned(),
            Self::NoFigure { example, .. } => format!("for instance {}", quoted(example)),
            Self::BoltFar { .. } => "look at the unit and the decimal point".to_owned(),
            Self::LayoutCount { .. } => "give one point for each bolt, or no layout".to_owned(),
            Self::SameBoltPlace { .. } => {
                "each bolt has its own place: look at the signs".to_owned()
            }
            Self::NoSuchBolt { .. } => "bolts are counted from 1".to_owned(),
            Self::MarkWithoutTorque { .. } => {
                "write a row with state = \"torqued\" and its value first; until then the bolt \
                 counts as it stood before"
                    .to_owned()
            }
            Self::UnreadableDay { .. } => "write year, month and day, \"1964-05-04\"".to_owned(),
            Self::UnreadableSession { .. } => {
                "write day, beginning and minutes, over before midnight: \"Mon 19:00 180\", or \
                 \"Sat 09:00 420 every 2\" for every second week"
                    .to_owned()
            }
            Self::SessionsOverlap { .. } => "make one session of the two".to_owned(),
            Self::NoSessionForHelper { .. } => "write a session for it, or leave it out".to_owned(),
            Self::NotByCorner { example, .. } => format!("write {example}"),
            Self::NotAMove { .. } => format!("for instance {}", MoveRow::EXAMPLE),
            Self::NotAWay { .. } => "write [\"left rear\", \"right rear\", 2]".to_owned(),
            Self::WayToItself { .. } => "name two stations".to_owned(),
            Self::SameWay { first_line, .. } => {
                format!("it is the same there and back; keep the one in line {first_line}")
            }
            Self::ReadingSuperseded { .. } => {
                "take the row out; what is read from now on is written into the log".to_owned()
            }
            Self::EntryOfNothing { what, .. } => {
                format!("give the {what} its id back in the car file, or strike the entry")
            }
            Self::EntryNotCounted { .. } => {
                "strike the entry and write it again as it should be".to_owned()
            }
            _ => return None,
        })
    }

    fn right_for_method(&self) -> Option<String> {
        let of = |close: &Option<String>, label: &str, known: &[String]| {
            let known: Vec<&str> = known.iter().map(String::as_str).collect();
            meant(close.as_deref(), None, label, &known)
        };
        Some(match self {
            Self::UnknownMethod { close, known, .. } => meant(*close, None, "methods", known),
            Self::AnswersToNothing => {
                "write `method = \"trailing-arm\"` above the first section".to_owned()
            }
            Self::UnknownQuestion { close, known, .. } => of(close, "questions", known),
            Self::UnknownAnswer { close, known, .. } => of(close, "answers", known),
            Self::NotThisMethod { .. } => {
                "take the maker's manual and the maker's tool; bars, torque, joints and record \
                 serve without a method, and so do steps of your own"
                    .to_owned()
            }
            Self::SwitchedOff { .. } => "change the answer, or take the row out".to_owned(),
            Self::NotAMethod => {
                "a method begins with `format = 1` and `[method]` with name, version, title and \
                 layout"
                    .to_owned()
            }
            Self::NotACondition { .. } => {
                "write when = \"brake = drum\", or \"stop = bolt | damper\" for either".to_owned()
            }
            _ => return None,
        })
    }

    fn right_together(&self) -> &'static str {
        match self {
            Self::NotLess { why, .. } => why,
            Self::NoTravel { .. } => "look at ring count, ring height and the two lengths",
            Self::RateTwice => {
                "the rate is what will be used; leave it blank to have it worked out from the bar"
            }
            Self::PivotOutboard { .. } => "the pivot lies between the centre line and the hub",
            Self::WheelNotBehind { .. } => "X counts forward: behind the bar it is minus",
            Self::JackNotBehind { .. } => {
                "X counts forward: behind the bar it is minus, and only there a jack raises the arm"
            }
            Self::WheelInboard { .. } => "the wheel is mostly further out than the plate",
            Self::JointOutboard { .. } => "the joint lies between the centre line and the wheel",
            Self::HubOffAxis { .. } => {
                "count X and Z from the bar axis, so that the hub has 0 and 0"
            }
            Self::SamePlace { .. } => "measure one of the two again",
            Self::TooShort { .. } => "measure the length and the two ends again",
            Self::DamperOutOfReach { .. } => "measure the two bolts and the damper again",
            Self::OutlineCrosses { .. } => "give the corners in order, once round",
            Self::OutlineFlat => "the points lie on one line or on one spot: trace the plate again",
            Self::HubOutside => "u and w are counted from the hub, which lies inside the plate",
            Self::HoleOutside { .. } => {
                "holes and outline come from one tracing: look at the signs"
            }
            Self::HolesSwapped { .. } => "u counts from the hub to the tail",
            Self::GreasedWithRate { .. } => {
                "a greased bush adds no rate: leave the rate blank, or write kind = \"rubber\""
            }
            Self::BarsFarApart { .. } => "bars that differ so much are rare: measure both again",
            Self::FreeNotBelowRide { .. } => {
                "angles count tail down; a loaded car stands at a smaller angle than the free one"
            }
            Self::LeverDiffers { .. } => "one of the two is wrong; the coordinates are used",
            _ => "",
        }
    }
}

impl Problem {
    pub(crate) fn new(kind: ProblemKind, span: Range<usize>, lines: &Lines<'_>) -> Self {
        let span = lines.inside(span);
        let (line, column) = lines.at(span.start);
        Self {
            severity: kind.severity(),
            span,
            line,
            column,
            what: kind.to_string(),
            right: kind.right(),
            kind,
        }
    }
}

/// Finds lines and columns.
pub(crate) struct Lines<'a> {
    text: &'a str,
    starts: Vec<usize>,
}

impl<'a> Lines<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        let after = text.bytes().enumerate().filter(|(_, b)| *b == b'\n').map(|(i, _)| i + 1);
        Self { text, starts: std::iter::once(0).chain(after).collect() }
    }

    /// Line and column of a byte, both from 1; the column in characters.
    pub(crate) fn at(&self, byte: usize) -> (u32, u32) {
        let line = self.starts.partition_point(|start| *start <= byte).max(1);
        let start = self.starts.get(line - 1).copied().unwrap_or(0);
        let column = self.text.get(start..byte).map_or(0, |before| before.chars().count());
        let number = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        (number(line), number(column.saturating_add(1)))
    }

    /// A span brought inside the text and onto character boundaries.
    fn inside(&self, span: Range<usize>) -> Range<usize> {
        let mut start = span.start.min(self.text.len());
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        let mut end = span.end.clamp(start, self.text.len());
        while !self.text.is_char_boundary(end) {
            end += 1;
        }
        start..end
    }
}

fn first_in(line: Option<u32>) -> String {
    line.map(|line| format!("; it was first written in line {line}")).unwrap_or_default()
}

/// "did you mean", where it belongs instead, and what is known.
fn meant(close: Option<&str>, elsewhere: Option<&str>, label: &str, known: &[&str]) -> String {
    let list = format!("{label}: {}", known.join(", "));
    match (close, elsewhere) {
        (Some(close), _) => format!("did you mean `{close}`? {list}"),
        (None, Some(section)) => format!("it belongs under `[{section}]`; {list}"),
        (None, None) => list,
    }
}

/// The first few of what there is.
fn listed(what: &str, few: &[String], more: usize) -> String {
    match (few, more) {
        ([], _) => format!("the file has no {what} yet"),
        (few, 0) => format!("known: {}", few.join(", ")),
        (few, more) => format!("known: {} and {more} more", few.join(", ")),
    }
}

/// An example as it would stand in the file: lists, numbers and truths as they are, the rest
/// quoted.
fn quoted(example: &str) -> String {
    let bare = example.starts_with('[') || example.bytes().all(|b| b.is_ascii_digit());
    let bare = bare || example == "true";
    if bare { example.to_owned() } else { format!("\"{example}\"") }
}

/// An amount for a message, at most six figures.
pub(crate) fn shown(amount: Amount) -> String {
    let (number, unit) = (amount.shown(), amount.kind().unit());
    let decimals = match number.abs() {
        n if n >= 1000.0 => 0,
        n if n >= 10.0 => 2,
        n if n >= 0.01 || n == 0.0 => 4,
        _ => 6,
    };
    let text = format!("{number:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    };
    let text = if text == "-0" { "0".to_owned() } else { text };
    if unit == "1" { text } else { format!("{text} {unit}") }
}

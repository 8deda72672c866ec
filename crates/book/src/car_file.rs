//! The car file as a value: what is known of one car, with the words it was written in.

use crate::builds::{Builds, Dates, YearMonth};
use crate::field::{Class, Field, Shape};
use crate::joint::{BoltRow, Joint, Wrench};
use crate::step::{CalendarRows, Changeover, PartRow, Step};
use crate::wheels::{MassRow, RoundRow};
use crate::words::{Arrow, Hung, Lash, ReadingWhat, Seat, SpecWhat, TorqueUnit};
use axlewright_quantity::{
    Amount, Angle, Corner, Force, Kind, Length, LinearRate, Mass, Place, PlatePoint, Ratio, Side,
    Spread, Stress, TorsionalRate,
};
use std::ops::Range;

/// The format this version reads and writes.
pub const FORMAT: u32 = 1;

/// A value with the words it was written in and where they stand.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry<T> {
    /// The value.
    pub value: T,
    /// What was said of its spread, if anything. For a place it holds for each coordinate.
    pub spread: Option<Spread>,
    /// As written, word for word.
    pub text: String,
    /// Its line in the file, the first being 1; 0 for what stands in an entry of the log.
    pub line: u32,
    /// Its bytes in the file; none for what stands in an entry of the log.
    pub span: Range<usize>,
}

/// Where a row of the car was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Origin {
    /// In a line of the car file, the first being 1.
    Line(u32),
    /// In an entry of the log.
    Entry(u64),
}

impl Origin {
    pub(crate) fn of(line: u32, entry: Option<u64>) -> Self {
        entry.map_or(Self::Line(line), Self::Entry)
    }
}

impl std::fmt::Display for Origin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Line(line) => write!(f, "line {line}"),
            Self::Entry(seq) => write!(f, "entry {seq}"),
        }
    }
}

/// A point seen from the side of the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SidePoint {
    /// Forward of the rear bar axis.
    pub x: Length,
    /// Above the rear bar axis.
    pub z: Length,
}

/// A point seen from above the car.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanPoint {
    /// Forward of the rear bar axis.
    pub x: Length,
    /// To the left of the centre line.
    pub y: Length,
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A quantity.
    Amount(Amount),
    /// A whole number.
    Count(u32),
    /// One of a few words, spelt as the table spells it.
    Word(&'static str),
    /// A place; of a side, always as if it were the left one.
    Place(Place),
    /// A point in side view.
    SidePoint(SidePoint),
    /// A point of the plate.
    PlatePoint(PlatePoint),
    /// The plate's outline, at least three points.
    Outline(Vec<PlatePoint>),
    /// Three lengths at three different plate angles, by rising angle.
    Lengths([(Angle, Length); 3]),
}

/// A row of the manual.
#[derive(Debug, Clone, PartialEq)]
pub struct Spec {
    /// What it speaks of.
    pub what: SpecWhat,
    /// The joint, for a torque.
    pub joint: Option<String>,
    /// The figure: [`Value::Amount`], or [`Value::Count`] for rings.
    pub value: Entry<Value>,
    /// Build numbers it holds for, if said.
    pub builds: Option<Builds>,
    /// Build dates it holds for, if said.
    pub dates: Option<Dates>,
    /// The bar a free angle was written for.
    pub bar_diameter: Option<Entry<Amount>>,
    /// The damper's push a free angle was written with.
    pub damper_gas: Option<Entry<Amount>>,
    /// Where the angle is to be read.
    pub seat: Option<Seat>,
    /// How far that edge's angle is from the reference line's, + tail further down.
    pub seat_offset: Option<Entry<Amount>>,
    /// Manual and page.
    pub source: Option<Entry<String>>,
    /// Anything else.
    pub note: Option<String>,
    /// The line its `[[spec]]` stands in.
    pub line: u32,
}

/// A stand under the body.
#[derive(Debug, Clone, PartialEq)]
pub struct StandRow {
    /// What the restorer calls it.
    pub name: Option<Entry<String>>,
    /// Where it stands, from above.
    pub at: Option<Entry<PlanPoint>>,
    /// The body's underside there, above the bar axis (below it is minus).
    pub top_z: Option<Entry<Amount>>,
    /// The saddle above the floor.
    pub height: Option<Entry<Amount>>,
    /// Half the width of the foot.
    pub foot: Option<Entry<Amount>>,
    /// Friction of the saddle.
    pub friction: Option<Entry<Amount>>,
    /// The mass it is rated for.
    pub rating: Option<Entry<Amount>>,
    /// The line its `[[stand]]` stands in.
    pub line: u32,
}

/// A reading, as the gauge or the tape showed it.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was read.
    pub what: ReadingWhat,
    /// Which side of the car.
    pub side: Option<Side>,
    /// Which wheel; for a `side`, the rear one.
    pub corner: Option<Corner>,
    /// As shown.
    pub value: Entry<Amount>,
    /// As shown at the same place with the gauge turned end for end.
    pub turned: Option<Entry<Amount>>,
    /// Where the gauge's arrow pointed.
    pub arrow: Option<Arrow>,
    /// What hung on the bar.
    pub hung: Option<Hung>,
    /// How the lash stood.
    pub lash: Option<Lash>,
    /// Where the gauge sat.
    pub seat: Option<Seat>,
    /// How far that edge's angle is from the reference line's, + tail further down.
    pub seat_offset: Option<Entry<Amount>>,
    /// When.
    pub date: Option<String>,
    /// Anything else.
    pub note: Option<String>,
    /// The line its `[[reading]]` stands in; 0 if it stands in the log.
    pub line: u32,
    /// The entry of the log it stands in.
    pub entry: Option<u64>,
}

impl Reading {
    /// Where it was written.
    pub fn origin(&self) -> Origin {
        Origin::of(self.line, self.entry)
    }
}

/// Checks that are not to hold anything back, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Names of the checks: `free-angle`.
    pub checks: Vec<Entry<String>>,
    /// Why both ways are right all the same.
    pub reason: Entry<String>,
    /// The line its `[[set_aside]]` stands in.
    pub line: u32,
}

/// Which row of the manual holds for this car.
#[derive(Debug, Clone, PartialEq)]
pub enum Pick<'a> {
    /// This one. Where several rows agree word for figure, the first of them.
    One(&'a Spec),
    /// The file has no such row.
    NoRow,
    /// Several rows hold and differ.
    Overlap(Vec<&'a Spec>),
    /// There are rows, and none holds for this car.
    Hole(Vec<&'a Spec>),
    /// There are rows, and the car's build number or date, which would pick, is not known.
    NoBuildNumber(Vec<&'a Spec>),
}

/// Build numbers that no row of one kind speaks for, between two that do.
#[derive(Debug, Clone, PartialEq)]
pub struct BuildHole<'a> {
    /// First number without a row.
    pub first: u32,
    /// Last number without a row.
    pub last: u32,
    /// The row that ends before it.
    pub before: &'a Spec,
    /// The row that starts after it.
    pub after: &'a Spec,
}

/// What is known of one car.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CarFile {
    /// The format number as written; 0 when none was.
    pub format: u32,
    /// What the car is called.
    pub name: Option<Entry<String>>,
    /// Its build (chassis) number.
    pub build_number: Option<Entry<u32>>,
    /// When it was built.
    pub build_date: Option<Entry<YearMonth>>,
    /// What is in the car when its trim and weights are stated.
    pub load_state: Option<Entry<String>>,
    /// Anything else.
    pub notes: Option<Entry<String>>,
    /// See [`CarFile::method`].
    pub(crate) follows: Option<crate::method::Follows>,
    /// Rows of the manual, in the order of the file.
    pub specs: Vec<Spec>,
    /// Stands under the body, in the order of the file.
    pub stands: Vec<StandRow>,
    /// Readings, in the order of the file.
    pub readings: Vec<Reading>,
    /// The unit in which the owner reads torques.
    pub torque_unit: Option<TorqueUnit>,
    /// Joints, in the order of the file, a left one before its right one.
    pub joints: Vec<Joint>,
    /// What was done to their bolts, in the order of the file.
    pub bolts: Vec<BoltRow>,
    /// Torque wrenches, in the order of the file.
    pub wrenches: Vec<Wrench>,
    /// Parts, in the order of the file, a left one before its right one.
    pub parts: Vec<PartRow>,
    /// Steps, in the order of the file, a left one before its right one.
    pub steps: Vec<Step>,
    /// What changing from one thing to another costs.
    pub changeover: Option<Changeover>,
    /// When there is time to work.
    pub calendar: Option<CalendarRows>,
    /// What the springs carry, stage by stage, and what may be put in the car.
    pub masses: Vec<MassRow>,
    /// Rounds on the wheels, the oldest first.
    pub rounds: Vec<RoundRow>,
    /// Checks of one way against another that the owner has set aside, with his reasons.
    pub set_aside: Vec<SetAside>,
    /// Ids of the steps that are done, in the order in which they were: only a log says so.
    pub done: Vec<String>,
    /// Sides whose bar nobody remembers, each with how many of the steps done were done before that
    /// was said: only a log says so.
    pub not_remembered: Vec<(Side, usize)>,
    pub(crate) fields: Fields,
}

/// For which corners a line was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum For {
    /// Both, mirrored.
    Both,
    /// One of them.
    Only(Side),
}

/// The fields that were written, one slot per field and side.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Fields {
    slots: std::collections::BTreeMap<(Field, u8), Entry<Value>>,
}

impl Fields {
    const fn slot(whom: For) -> u8 {
        match whom {
            For::Both => 0,
            For::Only(Side::Left) => 1,
            For::Only(Side::Right) => 2,
        }
    }
    pub(crate) fn put(&mut self, field: Field, whom: For, entry: Entry<Value>) {
        self.slots.entry((field, Self::slot(whom))).or_insert(entry);
    }
    pub(crate) fn get(&self, field: Field, side: Side) -> Option<&Entry<Value>> {
        let own = self.slots.get(&(field, Self::slot(For::Only(side))));
        own.or_else(|| self.slots.get(&(field, Self::slot(For::Both))))
    }
}

impl CarFile {
    /// What was written for a field, for one side: `[right.arm]` goes before `[arm]`. A place
    /// comes back as if it were the left one's.
    pub fn get(&self, field: Field, side: Side) -> Option<&Entry<Value>> {
        self.fields.get(field, side)
    }

    /// A field's quantity.
    pub fn amount(&self, field: Field, side: Side) -> Option<Amount> {
        match self.get(field, side)?.value {
            Value::Amount(amount) => Some(amount),
            _ => None,
        }
    }

    /// A field's whole number.
    pub fn count(&self, field: Field, side: Side) -> Option<u32> {
        match self.get(field, side)?.value {
            Value::Count(count) => Some(count),
            _ => None,
        }
    }

    /// A field's word.
    pub fn word(&self, field: Field, side: Side) -> Option<&'static str> {
        match self.get(field, side)?.value {
            Value::Word(word) => Some(word),
            _ => None,
        }
    }

    /// A field's place, as if it were the left one's.
    pub fn place(&self, field: Field, side: Side) -> Option<Place> {
        match self.get(field, side)?.value {
            Value::Place(place) => Some(place),
            _ => None,
        }
    }

    /// A field's point in side view.
    pub fn side_point(&self, field: Field, side: Side) -> Option<SidePoint> {
        match self.get(field, side)?.value {
            Value::SidePoint(point) => Some(point),
            _ => None,
        }
    }

    /// A field's point on the plate.
    pub fn plate_point(&self, field: Field, side: Side) -> Option<PlatePoint> {
        match self.get(field, side)?.value {
            Value::PlatePoint(point) => Some(point),
            _ => None,
        }
    }

    /// A field's outline.
    pub fn outline(&self, field: Field, side: Side) -> Option<&[PlatePoint]> {
        match &self.get(field, side)?.value {
            Value::Outline(points) => Some(points),
            _ => None,
        }
    }

    /// A field's three lengths.
    pub fn lengths(&self, field: Field, side: Side) -> Option<[(Angle, Length); 3]> {
        match self.get(field, side)?.value {
            Value::Lengths(lengths) => Some(lengths),
            _ => None,
        }
    }

    /// The plate angle at which the places on one side's arm were measured: `arm.at`, or the ride
    /// angle, as the file's head says.
    pub fn arm_measured_at(&self, side: Side) -> Option<Angle> {
        self.angle(Field::ArmAt, side).or_else(|| self.angle(Field::RidePlateAngle, side))
    }

    /// The standard uncertainty of a field: from its own spread, else from its row of
    /// `[uncertainty]`, else none. For places it holds for each coordinate.
    ///
    /// # Source
    /// JCGM 100:2008 (GUM), 4.3.7: limits without a distribution are taken as rectangular.
    pub fn uncertainty(&self, field: Field, side: Side) -> Option<Amount> {
        let entry = self.get(field, side)?;
        if let Some(spread) = entry.spread {
            return Some(spread.standard_uncertainty());
        }
        let Some(class) = field.class() else { return field.usual_doubt() };
        let class = self.class_uncertainty(class)?;
        match (class.kind(), &entry.value) {
            // A share is of the value it belongs to.
            (Kind::Ratio, Value::Amount(value)) if value.kind() != Kind::Ratio => {
                Some(Amount::from_si(value.kind(), value.to_si().abs() * class.to_si()))
            }
            _ => Some(class),
        }
    }

    /// A row of `[uncertainty]`: a standard uncertainty, k = 1; [`Class::BarRate`] is a share.
    pub fn class_uncertainty(&self, class: Class) -> Option<Amount> {
        self.amount(class.field(), Side::Left)
    }

    /// The rows of one kind, in the order of the file.
    pub fn specs_of(&self, what: SpecWhat) -> impl Iterator<Item = &Spec> {
        self.specs.iter().filter(move |spec| spec.what == what)
    }

    /// The row that holds for this car. For torques, see [`Self::pick_torque`].
    pub fn pick(&self, what: SpecWhat) -> Pick<'_> {
        self.pick_from(self.specs_of(what).collect())
    }

    /// The torque row of one joint that holds for this car.
    pub fn pick_torque(&self, joint: &str) -> Pick<'_> {
        self.pick_torque_of(|name| same_name(name, joint))
    }

    pub(crate) fn pick_torque_of(&self, is_meant: impl Fn(&str) -> bool) -> Pick<'_> {
        let of_joint = |spec: &&Spec| spec.joint.as_deref().is_some_and(&is_meant);
        self.pick_from(self.specs_of(SpecWhat::Torque).filter(of_joint).collect())
    }

    fn pick_from<'a>(&'a self, rows: Vec<&'a Spec>) -> Pick<'a> {
        if rows.is_empty() {
            return Pick::NoRow;
        }
        if rows.iter().any(|row| self.holds(row).is_none()) {
            return Pick::NoBuildNumber(rows);
        }
        let holding: Vec<&Spec> =
            rows.iter().copied().filter(|row| self.holds(row) == Some(true)).collect();
        match holding.as_slice() {
            [] => Pick::Hole(rows),
            [only] => Pick::One(only),
            [first, others @ ..] if others.iter().all(|other| agree(first, other)) => {
                Pick::One(first)
            }
            _ => Pick::Overlap(holding),
        }
    }

    /// Whether a row holds for this car; nothing when what would tell is not known. A row that
    /// names no cars holds for all; where it is one of several of its kind, the reader warns of it.
    pub fn holds(&self, spec: &Spec) -> Option<bool> {
        let by_number = match (&spec.builds, &self.build_number) {
            (None | Some(Builds::All), _) => Some(true),
            (Some(builds), Some(number)) => Some(builds.contains(number.value)),
            (Some(_), None) => None,
        };
        let by_date = match (&spec.dates, &self.build_date) {
            (None | Some(Dates::All), _) => Some(true),
            (Some(dates), Some(date)) => Some(dates.contains(date.value)),
            (Some(_), None) => None,
        };
        match (by_number, by_date) {
            (Some(false), _) | (_, Some(false)) => Some(false),
            (Some(true), Some(true)) => Some(true),
            _ => None,
        }
    }

    /// Every run of build numbers that falls between two rows of one kind (for torques: of one
    /// joint), whether or not this car is among them: the manual has a slip there.
    pub fn build_holes(&self) -> Vec<BuildHole<'_>> {
        let mut holes = Vec::new();
        for (i, spec) in self.specs.iter().enumerate() {
            let first_of_kind =
                self.specs.iter().position(|other| same_subject(spec, other)) == Some(i);
            if first_of_kind {
                let rows = self.specs.iter().filter(|other| same_subject(spec, other)).collect();
                holes.append(&mut holes_between(rows));
            }
        }
        holes
    }
}

macro_rules! typed {
    ($($name:ident $type:ident $words:literal)+) => {
        impl CarFile { $(
            #[doc = concat!("A field's ", $words, ".")]
            pub fn $name(&self, field: Field, side: Side) -> Option<$type> {
                $type::try_from(self.amount(field, side)?).ok()
            }
        )+ }
    };
}
typed! {
    length Length "length"
    angle Angle "angle"
    mass Mass "mass"
    force Force "force"
    stress Stress "stress"
    ratio Ratio "share"
    torsional_rate TorsionalRate "torsional rate"
    linear_rate LinearRate "rate"
}

/// Whether two names are one to a reader.
pub(crate) fn same_name(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// Whether two rows speak of the same thing.
pub(crate) fn same_subject(a: &Spec, b: &Spec) -> bool {
    let joint = |spec: &Spec| spec.joint.clone().unwrap_or_default();
    a.what == b.what && same_name(&joint(a), &joint(b))
}

/// Whether two rows say the same, so that it does not matter which is taken.
fn agree(a: &Spec, b: &Spec) -> bool {
    let amount = |e: &Option<Entry<Amount>>| e.as_ref().map(|e| e.value);
    a.value.value == b.value.value
        && a.value.spread == b.value.spread
        && amount(&a.bar_diameter) == amount(&b.bar_diameter)
        && amount(&a.damper_gas) == amount(&b.damper_gas)
        && a.seat == b.seat
        && amount(&a.seat_offset) == amount(&b.seat_offset)
}

fn holes_between(mut rows: Vec<&Spec>) -> Vec<BuildHole<'_>> {
    // A row without a range speaks for every number, so there is no hole.
    let Some(mut ranged) = rows
        .drain(..)
        .map(|row| row.builds.filter(|b| *b != Builds::All).map(|b| (b, row)))
        .collect::<Option<Vec<_>>>()
    else {
        return Vec::new();
    };
    ranged.sort_by_key(|(builds, _)| builds.first().unwrap_or(0));
    let mut holes = Vec::new();
    let mut reached: Option<(u32, &Spec)> = None;
    for (builds, row) in ranged {
        let first = builds.first().unwrap_or(0);
        if let Some((last, before)) = reached
            && let Some(next) = last.checked_add(1)
            && next < first
        {
            holes.push(BuildHole { first: next, last: first - 1, before, after: row });
        }
        let last = builds.last().unwrap_or(u32::MAX);
        if reached.is_none_or(|(so_far, _)| so_far < last) {
            reached = Some((last, row));
        }
    }
    holes
}

/// Whether a place is one side's, so that its Y has a sign to keep.
pub(crate) const fn has_side(shape: Shape) -> bool {
    matches!(shape, Shape::Place)
}

//! Questions asked without a car file: a few numbers in, the same findings out.
//!
//! Each builds the inputs a car file would have given and runs the same computations.

use axlewright_book::{self as book, Field, SpecWhat, Value};
use axlewright_mechanics::bar::{Bar, BarError, BarSize};
use axlewright_mechanics::joints::JointError;
use axlewright_mechanics::level::{self, LevelError, Shown};
use axlewright_mechanics::splines::{SplineError, Splines};
use axlewright_quantity::{Amount, Angle, Corner, Length, Side, Spread, Stress, Torque};

use crate::engine::{Bench, Recipe, Waiting};
use crate::finding::{Item, Subject};
use crate::inputs::{Inputs, Known, Slot};
use crate::{Assessment, angles, bars, teeth};

/// What was typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Given<Q> {
    /// The value.
    pub value: Q,
    /// Its spread, if one was typed.
    pub spread: Option<Spread>,
    /// The text word for word.
    pub text: String,
}

/// Which teeth to move from one free angle to another.
#[derive(Debug, Clone, PartialEq)]
pub struct IndexQuestion {
    /// Teeth at the anchor end.
    pub anchor_teeth: u32,
    /// Teeth at the plate end.
    pub plate_teeth: u32,
    /// Plate angle as it is, + tail down.
    pub now: Given<Angle>,
    /// Plate angle wanted.
    pub target: Given<Angle>,
    /// Which side of the car; without it, clockwise and anticlockwise cannot be said.
    pub side: Option<Side>,
}

/// Rate and stress of a bar.
#[derive(Debug, Clone, PartialEq)]
pub struct BarQuestion {
    /// Diameter.
    pub diameter: Given<Length>,
    /// Bore; solid where not said.
    pub bore: Option<Given<Length>>,
    /// Working length.
    pub length: Given<Length>,
    /// Shear modulus of its steel.
    pub modulus: Given<Stress>,
    /// What it bears.
    pub load: Option<BarLoad>,
    /// What it may bear.
    pub allowable: Option<Given<Stress>>,
}

/// What a bar bears.
#[derive(Debug, Clone, PartialEq)]
pub enum BarLoad {
    /// An angle of twist.
    Twist(Given<Angle>),
    /// A torque.
    Torque(Given<Torque>),
}

/// The free angle after a change of bar.
#[derive(Debug, Clone, PartialEq)]
pub struct FourNumbers {
    /// The manual's free angle.
    pub manual: Given<Angle>,
    /// Plate angle at ride.
    pub ride: Given<Angle>,
    /// Diameter the manual was written for.
    pub old: Given<Length>,
    /// Diameter going in.
    pub new: Given<Length>,
}

/// A gauge turned end for end, and perhaps a plate read with it.
#[derive(Debug, Clone, PartialEq)]
pub struct LevelQuestion {
    /// Arrow to the nose, as shown.
    pub first: Given<Angle>,
    /// Turned end for end, as shown.
    pub turned: Given<Angle>,
    /// The plate, read with the same gauge on the reference line.
    pub plate: Option<PlateReading>,
}

/// A plate read with the gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateReading {
    /// As shown.
    pub value: Given<Angle>,
    /// Which way round the gauge stood.
    pub arrow: book::Arrow,
}

/// Why there is no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum QuickError {
    /// About the teeth.
    #[error(transparent)]
    Splines(#[from] SplineError),
    /// About the bar.
    #[error(transparent)]
    Bar(#[from] BarError),
    /// About an angle reading.
    #[error(transparent)]
    Level(#[from] LevelError),
    /// About a joint.
    #[error(transparent)]
    Joint(#[from] JointError),
}

impl QuickError {
    /// What would be right.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::Splines(error) => error.hint(),
            Self::Bar(error) => error.hint(),
            Self::Level(error) => error.hint(),
            Self::Joint(error) => error.hint(),
        }
    }
}

fn known<Q: Into<Amount> + Copy>(given: &Given<Q>) -> Known {
    Known {
        value: Value::Amount(given.value.into()),
        u: given.spread.map(|s| s.standard_uncertainty()),
        unsure: false,
        text: given.text.clone(),
        from: "typed".to_owned(),
    }
}

fn count(teeth: u32) -> Known {
    let (u, from) = (None, "typed".to_owned());
    Known { value: Value::Count(teeth), u, unsure: false, text: teeth.to_string(), from }
}

/// Runs part of the findings over typed inputs.
fn ask(inputs: &Inputs, of: Option<Side>, add: impl FnOnce(&mut Bench)) -> Assessment {
    let mut waiting = Waiting::default();
    let mut bench = Bench::corner(inputs, &mut waiting);
    bench.of = of.map(|side| Subject::Corner(Corner::rear(side)));
    add(&mut bench);
    let findings = bench.findings;
    let problems = waiting.faults.into_iter().collect();
    Assessment { findings, problems, ..Default::default() }
}

/// Which teeth to move: `vernier.step` and `index.choices`.
///
/// # Errors
/// Counts no spline has; angles beyond a quarter turn.
pub fn index(question: &IndexQuestion) -> Result<Assessment, QuickError> {
    let splines = Splines::new(question.anchor_teeth, question.plate_teeth)?;
    // Asked once beforehand for its errors; the finding asks again.
    let wanted = axlewright_mechanics::splines::Wanted {
        count: 1,
        ends: axlewright_mechanics::splines::Ends::Both,
    };
    splines.choices(question.now.value, question.target.value, wanted)?;
    let mut inputs = Inputs::empty(question.side.unwrap_or(Side::Left));
    inputs.side_said = question.side.is_some();
    inputs.fields.insert(Field::SplinesAnchorTeeth, count(question.anchor_teeth));
    inputs.fields.insert(Field::SplinesPlateTeeth, count(question.plate_teeth));
    inputs.numbers.insert(Slot::Goal, known(&question.target));
    inputs.numbers.insert(Slot::Start, known(&question.now));
    Ok(ask(&inputs, question.side, |bench| {
        teeth::step(bench);
        teeth::choices(bench);
    }))
}

/// Rate of a bar, and stress, torque and twist under a load: `bar.rate` and `bar.shear`.
///
/// # Errors
/// Measures no bar has.
pub fn bar(question: &BarQuestion) -> Result<Assessment, QuickError> {
    let bore = question.bore.as_ref().map_or(Length::ZERO, |bore| bore.value);
    Bar::new(BarSize {
        diameter: question.diameter.value,
        bore,
        length: question.length.value,
        modulus: question.modulus.value,
    })?;
    let mut inputs = Inputs::empty(Side::Left);
    let solid = || Known::number(Length::ZERO, None, "solid");
    let mut put = |field, known| inputs.fields.insert(field, known);
    put(Field::BarFittedDiameter, known(&question.diameter));
    put(Field::BarBore, question.bore.as_ref().map_or_else(solid, known));
    put(Field::BarLength, known(&question.length));
    put(Field::BarShearModulus, known(&question.modulus));
    if let Some(allowable) = &question.allowable {
        put(Field::BarAllowableShear, known(allowable));
    }
    let load = question.load.as_ref().map(|load| match load {
        BarLoad::Twist(twist) => known(twist),
        BarLoad::Torque(torque) => known(torque),
    });
    if let Some(load) = load {
        inputs.numbers.insert(Slot::BarLoad, load);
    }
    Ok(ask(&inputs, None, |bench| {
        bars::rate(bench);
        if question.load.is_some() {
            bars::shear_under_load(bench);
        }
    }))
}

/// The free angle after a change of bar: `free-angle.manual` and `free-angle.by-four-numbers`.
///
/// # Errors
/// Angles beyond a quarter turn, diameters no bar has.
pub fn four_numbers(question: &FourNumbers) -> Result<Assessment, QuickError> {
    axlewright_mechanics::bar::free_angle_after_bar_change(
        axlewright_mechanics::bar::FourNumbers {
            manual_free: question.manual.value,
            ride: question.ride.value,
            old_diameter: question.old.value,
            new_diameter: question.new.value,
        },
    )?;
    let mut inputs = Inputs::empty(Side::Left);
    inputs.numbers.insert(Slot::Spec(SpecWhat::FreeAngle), known(&question.manual));
    inputs.fields.insert(Field::RidePlateAngle, known(&question.ride));
    inputs.fields.insert(Field::BarOriginalDiameter, known(&question.old));
    inputs.fields.insert(Field::BarFittedDiameter, known(&question.new));
    Ok(ask(&inputs, None, |bench| {
        angles::manual(bench);
        angles::four_numbers(bench);
    }))
}

/// A reversal: `body.level`, `gauge.offset`, and `plate.angle` where a plate was read.
///
/// # Errors
/// Readings no gauge shows.
pub fn level(question: &LevelQuestion) -> Result<Assessment, QuickError> {
    let shown = Shown { first: question.first.value, turned: question.turned.value };
    level::reversal(shown)?;
    let mut inputs = Inputs::empty(Side::Left);
    inputs.numbers.insert(Slot::FirstReading, known(&question.first));
    inputs.numbers.insert(Slot::TurnedReading, known(&question.turned));
    if let Some(plate) = &question.plate {
        inputs.numbers.insert(Slot::PlateReading, known(&plate.value));
        inputs.reading.arrow = Some(plate.arrow);
    }
    Ok(ask(&inputs, None, |bench| reversal_findings(bench, question.plate.is_some())))
}

fn reversal_findings(bench: &mut Bench, with_plate: bool) {
    const SOURCE: &str = "reversal of a level; own derivation, docs/method.md";
    let found = |look: &crate::look::Look| {
        let first = look.number_optional::<Angle>(Slot::FirstReading)?;
        let turned = look.number_optional::<Angle>(Slot::TurnedReading)?;
        look.ok(level::reversal(Shown { first, turned }))
    };
    let recipe = |id, formula| Recipe { id, at: None, formula, source: SOURCE };
    bench.add(
        recipe("body.level", "β = (r₁ − r₂)/2"),
        |look| Some(Item::leaf(found(look)?.slope)),
        |_, _| "Slope of what the gauge lay on, nose up positive.".to_owned(),
    );
    bench.add(
        recipe("gauge.offset", "o = (r₁ + r₂)/2"),
        |look| Some(Item::leaf(found(look)?.offset)),
        |_, _| "What the gauge shows on a truly level face.".to_owned(),
    );
    if !with_plate {
        return;
    }
    bench.add(
        recipe("plate.angle", "θ = (ρ − o) − β; arrow to the tail: θ = −(ρ − o) − β"),
        |look| {
            let reversal = found(look)?;
            let arrow = match look.inputs.reading.arrow? {
                book::Arrow::Nose => level::Arrow::Nose,
                book::Arrow::Tail => level::Arrow::Tail,
            };
            let reading = level::PlateReading {
                shown: look.number_optional(Slot::PlateReading)?,
                arrow,
                gauge_offset: reversal.offset,
                body_slope: reversal.slope,
                seat: level::Seat::ReferenceLine,
            };
            Some(Item::leaf(look.ok(reading.plate_angle())?))
        },
        |_, _| "Plate angle below the body's horizontal, tail down positive.".to_owned(),
    );
}

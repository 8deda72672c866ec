//! Every field of the car file, in one table.
//!
//! The parser, the "did you mean", the starter file and the texts of a gap all come from here, so
//! a field cannot be readable and yet unexplained. The order is the order of the starter file:
//! sections by the rung at which they first pay, one section's keys together.

use crate::words::{Adjuster, BarFinish, BushKind, Preset, Shift, ToeBy};
use axlewright_quantity::{Amount, Kind, Length, Mass};

/// What may be written for a field.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// A quantity with its unit; the limits are in the unit the kind is shown in.
    Amount {
        /// Which quantity.
        kind: Kind,
        /// Least sensible number, in [`Kind::unit`].
        low: f64,
        /// Greatest sensible number, in [`Kind::unit`].
        high: f64,
    },
    /// A whole number.
    Count {
        /// Least.
        low: u32,
        /// Greatest.
        high: u32,
    },
    /// One of a few words.
    Word(&'static [&'static str]),
    /// A place of one side of the car, `"X, Y, Z mm"`; the right side has negative Y.
    Place,
    /// A place of the whole car, `"X, Y, Z mm"`; Y may have either sign.
    BodyPlace,
    /// A point in side view, `"X, Z mm"`.
    SidePoint,
    /// A point of the plate, `"u, w mm"`: u from the hub along the plate to the tail, w up.
    PlatePoint,
    /// The plate's outline, a list of at least three plate points.
    Outline,
    /// Three lengths at three plate angles, `["310 mm at 25 deg", …]`.
    Lengths,
}

/// Which row of `[uncertainty]` speaks for a field that carries no spread of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Class {
    /// A coordinate of a point on body, plate or arm.
    Hardpoint,
    /// A distance read with tape or rule.
    Distance,
    /// A bar's diameter.
    BarDiameter,
    /// The rate of a bar in its anchor, as a share.
    BarRate,
    /// A corner weight.
    CornerWeight,
    /// An angle read with the gauge.
    Gauge,
    /// The body's level.
    Level,
    /// A trim reading, stiction in it.
    TrimReading,
    /// A mass shown by a scale under a wheel.
    Scale,
    /// A camber read on the wheels.
    CamberReading,
    /// A toe read on the wheels.
    ToeReading,
}

impl Class {
    /// The field of `[uncertainty]` that holds it.
    pub const fn field(self) -> Field {
        match self {
            Self::Hardpoint => Field::UncertaintyHardpoint,
            Self::Distance => Field::UncertaintyDistance,
            Self::BarDiameter => Field::UncertaintyBarDiameter,
            Self::BarRate => Field::UncertaintyBarRate,
            Self::CornerWeight => Field::UncertaintyCornerWeight,
            Self::Gauge => Field::UncertaintyGauge,
            Self::Level => Field::UncertaintyLevel,
            Self::TrimReading => Field::UncertaintyTrimReading,
            Self::Scale => Field::UncertaintyScale,
            Self::CamberReading => Field::UncertaintyCamberReading,
            Self::ToeReading => Field::UncertaintyToeReading,
        }
    }
}

/// One row of the table.
struct Row {
    path: &'static str,
    shape: Shape,
    rung: u8,
    class: Option<Class>,
    example: &'static str,
    name: &'static str,
    how: &'static str,
    good: &'static str,
    unlocks: &'static str,
}

macro_rules! fields {
    ($($id:ident = $path:literal, rung $rung:literal, $shape:expr, $class:expr, $example:literal,
        name $name:literal how $how:literal good $good:literal unlocks $unlocks:literal;)+) => {
        /// A field of the car file. The order is that of the starter file.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Field {
            $(#[doc = concat!("`", $path, "`: ", $name, ".")] $id,)+
        }
        impl Field {
            /// Every field, in the order of the starter file.
            pub const ALL: &'static [Self] = &[$(Self::$id,)+];
        }
        const TABLE: &[Row] = &[$(Row {
            path: $path, shape: $shape, rung: $rung, class: $class, example: $example,
            name: $name, how: $how, good: $good, unlocks: $unlocks,
        },)+];
    };
}

const fn amount(kind: Kind, low: f64, high: f64) -> Shape {
    Shape::Amount { kind, low, high }
}
const fn length(low: f64, high: f64) -> Shape {
    amount(Kind::Length, low, high)
}
const fn angle(low: f64, high: f64) -> Shape {
    amount(Kind::Angle, low, high)
}
const fn mass(low: f64, high: f64) -> Shape {
    amount(Kind::Mass, low, high)
}
const fn share(low: f64, high: f64) -> Shape {
    amount(Kind::Ratio, low, high)
}
const fn count(low: u32, high: u32) -> Shape {
    Shape::Count { low, high }
}
const HARDPOINT: Option<Class> = Some(Class::Hardpoint);
const DISTANCE: Option<Class> = Some(Class::Distance);
const DIAMETER: Option<Class> = Some(Class::BarDiameter);
const RATE: Option<Class> = Some(Class::BarRate);
const WEIGHT: Option<Class> = Some(Class::CornerWeight);
const GAUGE: Option<Class> = Some(Class::Gauge);

/// How sure an estimate is that carries no spread of its own, per coordinate, in millimetres and
/// kilograms, k = 1. No tape reads these: masses and their centres come from papers, scales and a
/// balance on a broomstick, and a jack's head is set down by eye.
///
/// # Source
/// Common practice, no source.
const ESTIMATES: [(Field, Kind, f64); 5] = [
    (Field::ShellMass, Kind::Mass, 20.0),
    (Field::ShellMassAt, Kind::Length, 50.0),
    (Field::PlateMassAt, Kind::Length, 10.0),
    (Field::ArmMassAt, Kind::Length, 15.0),
    (Field::ArmJackPoint, Kind::Length, 10.0),
];

fields! {
    BarOriginalDiameter = "bar.original_diameter", rung 1, length(8.0, 60.0), DIAMETER, "22.0 mm",
        name "diameter of the bars the manual was written for"
        how "Micrometer or calliper on the plain part of an original bar, at three places and two \
             ways across; or the manual's figure, and then say so in a comment."
        good "0.05 mm: a tenth on 22 mm is 1.8 per cent of the rate"
        unlocks "the free angle from four numbers";
    BarFittedDiameter = "bar.fitted_diameter", rung 1, length(8.0, 60.0), DIAMETER, "23.0 mm",
        name "diameter of the bars going in"
        how "Micrometer or calliper on the plain part of the bar, at three places and two ways \
             across, free of paint. Take the mean; write both bars under [left.bar] and \
             [right.bar] if they differ."
        good "0.05 mm: a tenth on 23 mm is 1.75 per cent of the rate"
        unlocks "the free angle from four numbers; the rate and the stress of the bar";
    BarBore = "bar.bore", rung 3, length(0.0, 55.0), DIAMETER, "0 mm",
        name "bore of a hollow bar"
        how "Write \"0 mm\" for a solid bar. Otherwise a small-hole gauge at both ends."
        good "0.1 mm"
        unlocks "the rate of the bar from its measures";
    BarLength = "bar.length", rung 3, length(100.0, 2000.0), DISTANCE, "540 mm",
        name "working length of the bar"
        how "Tape along the bar from where the thin part begins at one end to where it ends at the \
             other, half of each fillet taken in; the splined heads do not count."
        good "2 mm"
        unlocks "the rate of the bar from its measures; the stress in it";
    BarShearModulus = "bar.shear_modulus", rung 3, amount(Kind::Stress, 60_000.0, 90_000.0), None,
        "78.5 GPa",
        name "shear modulus of the bar's steel"
        how "From the maker of the bar. Spring steels lie close together, but the figure is yours \
             to enter: none is taken for granted."
        good "1 per cent"
        unlocks "the rate of the bar from its measures";
    BarRate = "bar.rate", rung 3, amount(Kind::TorsionalRate, 1.0, 2000.0), RATE, "70 N·m/deg",
        name "rate of the bar, instead of its measures"
        how "Only if the manual prints it, or a workshop has measured it. Leave it blank if length \
             and modulus are given."
        good "2 per cent"
        unlocks "trim, load and stress without the bar's length";
    BarAllowableShear = "bar.allowable_shear", rung 3, amount(Kind::Stress, 100.0, 1500.0), None,
        "800 MPa",
        name "greatest shear stress the bar may see"
        how "From the maker of the bar, for its steel, heat treatment and preset."
        good "the printed figure"
        unlocks "how far ride and full bump are from what the bar may bear";
    BarSag = "bar.sag", rung 3, angle(0.0, 20.0), GAUGE, "0 deg",
        name "angle by which a used bar has set"
        how "Write \"0 deg\" for a new bar. For a used one: the free angle it had when new on some \
             marked teeth, less the one it shows on the same teeth now."
        good "0.3 deg"
        unlocks "where a used bar will let the car settle";
    BarPreset = "bar.preset", rung 3, Shape::Word(Preset::WORDS), None, "handed",
        name "whether the bars are handed"
        how "Look for L and R, arrows or paint at the ends. \"handed\" or \"none\"."
        good "certain: a handed bar on the wrong side can crack"
        unlocks "which bar goes to which side";
    BarFinish = "bar.finish", rung 3, Shape::Word(BarFinish::WORDS), None, "painted",
        name "what is on the bars' steel"
        how "\"bare\", \"painted\", \"plated\" or \"ground\". A bar that went to the plater with \
             the bolts is plated: write it, whatever it cost."
        good "certain: a plated or ground bar can break without a sign"
        unlocks "whether the bars may be loaded at all";

    RidePlateAngle = "ride.plate_angle", rung 1, angle(-45.0, 60.0), GAUGE, "11.0 deg",
        name "plate angle at ride height"
        how "The manual's design angle; or, before anything is taken apart, the car on its wheels \
             on a level floor, rolled and settled, gauge on a straightedge through hub centre and \
             bolt holes. Tail below hub is plus. Read the sill with the same gauge."
        good "0.3 deg"
        unlocks "the free angle from four numbers; every place on the arm is read at this angle";

    SplinesAnchorTeeth = "splines.anchor_teeth", rung 2, count(4, 200), None, "38",
        name "teeth at the anchor end of the bar"
        how "Paint one tooth and count round to it, twice."
        good "exact: a miscount spoils every move"
        unlocks "which teeth to move";
    SplinesPlateTeeth = "splines.plate_teeth", rung 2, count(4, 200), None, "42",
        name "teeth at the plate end of the bar"
        how "Paint one tooth and count round to it, twice."
        good "exact: a miscount spoils every move"
        unlocks "which teeth to move";
    SplinesLash = "splines.lash", rung 2, angle(0.0, 5.0), GAUGE, "0.1 deg",
        name "lash in the splines, both ends together"
        how "Gauge on the plate alone; let the tail hang, then lift it by hand until the lash is \
             just taken up. The difference."
        good "0.05 deg"
        unlocks "readings taken with the tail hanging";
    SplinesAdjuster = "splines.adjuster", rung 2, Shape::Word(Adjuster::WORDS), None, "splines",
        name "how the plate angle is set"
        how "\"splines\" when both ends of the bar can be moved by teeth, \"anchor only\", \"plate \
             only\", or \"screw\"."
        good "certain"
        unlocks "which moves there are";

    LeverHubToWheel = "lever.hub_to_wheel", rung 3, length(100.0, 1200.0), DISTANCE, "465 mm",
        name "distance from bar axis to wheel centre, seen from the side"
        how "Bring both centres out to one side with a square, onto a board stood along the car, \
             and tape straight from mark to mark."
        good "2 mm"
        unlocks "trim in millimetres and the load on the bar, without coordinates";
    LeverHubToDamper = "lever.hub_to_damper", rung 3, length(50.0, 1200.0), DISTANCE, "536 mm",
        name "distance from bar axis to the damper's lower eye, seen from the side"
        how "The same board: mark the lower damper bolt's centre too, and tape from the hub's."
        good "3 mm"
        unlocks "what the damper's gas does to trim, without coordinates";
    LeverHalfTrack = "lever.half_track", rung 6, length(200.0, 1500.0), DISTANCE, "668 mm",
        name "how far the rear tyre meets the floor from the centre line"
        how "Middle of tread to middle of tread, halved. Not needed once the wheel centre has its \
             coordinates."
        good "5 mm"
        unlocks "how weight shares between left and right, without coordinates";

    LoadCornerWeight = "load.corner_weight", rung 3, mass(20.0, 2000.0), WEIGHT, "280 kg",
        name "weight on one rear wheel of the finished car"
        how "Scales under all four wheels, the car level, rolled and settled; or the rear axle \
             weight in its papers, halved. Say in car.load_state what was in the car."
        good "8 kg from a book is fit for a first setting, 3 kg once weighed"
        unlocks "trim, stress and wheel load";
    LoadUnsprung = "load.unsprung", rung 3, mass(1.0, 500.0), None, "36 kg",
        name "part of that weight the bar does not carry"
        how "Wheel, brake and hub whole, plus what a bathroom scale shows under the arm's wheel \
             end with the inner end held level."
        good "3 kg"
        unlocks "the load on the bar";
    LoadSettling = "load.settling", rung 3, length(0.0, 40.0), Some(Class::TrimReading), "3 mm",
        name "trim that new bars and bushes lose in the first kilometres"
        how "From the maker of the bars, or from a car already done. Write \"0 mm\" for used \
             parts."
        good "2 mm"
        unlocks "a free angle that is right after bedding-in";

    TyreRadius = "tyre.radius", rung 3, length(100.0, 600.0), DISTANCE, "292 mm",
        name "loaded radius of the tyre"
        how "Car on its wheels at the right pressure: floor to wheel centre, upright."
        good "2 mm"
        unlocks "the contact point and how it moves";
    TyreRate = "tyre.rate", rung 3, amount(Kind::LinearRate, 30.0, 1000.0), None, "190 N/mm",
        name "rate of the tyre"
        how "Radius at two known loads from the tyre's data; the loads' difference over the \
             radii's."
        good "10 per cent"
        unlocks "how the body sits on its tyres";

    BushKind = "bush.kind", rung 3, Shape::Word(BushKind::WORDS), None, "greased",
        name "what carries the plate's hub"
        how "\"greased\" when the inner face turns in the bush, \"rubber\" when the rubber grips \
             both faces and twists."
        good "certain"
        unlocks "whether the bush helps the bar";
    BushRate = "bush.rate", rung 3, amount(Kind::TorsionalRate, 0.0, 200.0), None, "4 N·m/deg",
        name "rate of a rubber bush in twist"
        how "Plate and arm without a bar: spring balance square to the plate at a known distance, \
             and the angle it moves."
        good "10 per cent"
        unlocks "trim with rubber bushes";
    BushNeutralAngle = "bush.neutral_angle", rung 3, angle(-45.0, 60.0), GAUGE, "11 deg",
        name "plate angle at which the rubber bush was clamped"
        how "Gauge on the plate as the bush is tightened. Leave blank until it is."
        good "1 deg"
        unlocks "trim with rubber bushes";

    DamperOriginalClosed = "damper.original.closed", rung 3, length(80.0, 900.0), DISTANCE,
        "262 mm",
        name "original damper, eye to eye, pushed in to the metal"
        how "Tape between eye centres, rings off."
        good "2 mm"
        unlocks "the ring count that lets a new damper meet its rings where the old one did";
    DamperOriginalOpen = "damper.original.open", rung 3, length(80.0, 1500.0), DISTANCE, "462 mm",
        name "original damper, eye to eye, pulled out"
        how "Tape between eye centres."
        good "2 mm"
        unlocks "where the droop used to end";
    DamperOriginalGas = "damper.original.gas", rung 3, amount(Kind::Force, 0.0, 2000.0), None,
        "0 N",
        name "push of the original damper at ride length"
        how "Write \"0 N\" for an oil damper without gas: let go half in, it stays."
        good "20 N"
        unlocks "the difference new dampers make to trim";
    DamperOriginalRings = "damper.original.rings", rung 3, count(0, 40), None, "6",
        name "rings in the original damper's stop stack"
        how "Count them on the rod, and compare with the manual's row."
        good "exact"
        unlocks "where the wheel used to meet the rings";
    DamperOriginalRingHeight = "damper.original.ring_height", rung 3, length(1.0, 60.0), DISTANCE,
        "12 mm",
        name "height of one ring of the original damper"
        how "Calliper across the whole stack, over the count."
        good "0.5 mm"
        unlocks "where the wheel used to meet the rings";

    DamperFittedClosed = "damper.fitted.closed", rung 3, length(80.0, 900.0), DISTANCE, "252 mm",
        name "fitted damper, eye to eye, pushed in to the metal"
        how "Tape between eye centres, rings off. A gas damper pushes: hold it in with a strap, \
             and never stand in line with it."
        good "2 mm"
        unlocks "the damper's window; full bump";
    DamperFittedOpen = "damper.fitted.open", rung 3, length(80.0, 1500.0), DISTANCE, "474 mm",
        name "fitted damper, eye to eye, pulled out"
        how "Tape between eye centres."
        good "2 mm"
        unlocks "the damper's window; what stops the droop";
    DamperFittedGas = "damper.fitted.gas", rung 3, amount(Kind::Force, 0.0, 2000.0), None,
        "120 N u 20 N",
        name "push of the fitted damper at ride length"
        how "Damper upright on a bathroom scale, pressed down slowly to its ride length; times \
             9.81 if the scale shows kilograms. Write \"0 N\" if it does not push."
        good "20 N: a hundred newtons are about 5 mm of trim"
        unlocks "trim with gas dampers";
    DamperFittedRings = "damper.fitted.rings", rung 3, count(0, 40), None, "7",
        name "rings in the fitted damper's stop stack, as sold"
        how "Count them on the rod."
        good "exact"
        unlocks "the ring count to fit";
    DamperFittedRingHeight = "damper.fitted.ring_height", rung 3, length(1.0, 60.0), DISTANCE,
        "12 mm",
        name "height of one ring of the fitted damper"
        how "Calliper across the whole stack, over the count."
        good "0.5 mm"
        unlocks "the ring count to fit";

    DamperSquash = "damper.squash", rung 3, share(0.1, 1.0), None, "50 %",
        name "share of their height the rings keep at full bump"
        how "From the maker, or a ring between vice jaws with card, as hard as a man can close it."
        good "10 per cent"
        unlocks "full bump and the stress there";
    DamperLengths = "damper.lengths", rung 4, Shape::Lengths, DISTANCE,
        "[\"330 mm at 5 deg\", \"352 mm at 11 deg\", \"400 mm at 25 deg\"]",
        name "distance between the damper bolts at three plate angles"
        how "Arm swung by hand with the bar out, gauge on the plate, tape between the two bolt \
             centres. Instead of the coordinates."
        good "2 mm"
        unlocks "the damper's window without coordinates";
    DamperBodyEye = "damper.body_eye", rung 5, Shape::Place, HARDPOINT, "-470, 560, 250 mm",
        name "centre of the damper's upper bolt, on the body"
        how "Plumb line to the floor: X forward of the bar axis (behind it is minus), Y from the \
             centre line, Z above the bar axis."
        good "2 mm each way"
        unlocks "the damper's window and the ride stick";
    DamperArmEye = "damper.arm_eye", rung 5, Shape::Place, HARDPOINT, "-525, 590, -110 mm",
        name "centre of the damper's lower bolt, on the arm"
        how "As the upper one, with the arm held at the angle of [arm]."
        good "2 mm each way"
        unlocks "the damper's window and the ride stick";

    PlateMass = "plate.mass", rung 3, mass(0.1, 50.0), None, "2.1 kg",
        name "mass of the plate alone"
        how "Kitchen scale."
        good "0.2 kg"
        unlocks "the free angle from a reading with the plate on the bar";
    PlateMassAt = "plate.mass_at", rung 3, Shape::PlatePoint, None, "160, 0 mm",
        name "balance point of the plate"
        how "Balance it on an edge, and measure from the hub."
        good "10 mm"
        unlocks "the free angle from a reading with the plate on the bar";
    PlateOutline = "plate.outline", rung 4, Shape::Outline, HARDPOINT,
        "[\"-60, 55 mm\", \"250, 50 mm\", \"250, -46 mm\", \"-60, -55 mm\"]",
        name "outline of the plate"
        how "Lay the plate on paper and trace it; draw the line through hub centre and bolt holes; \
             from the hub, u runs along that line to the tail and w square to it, up. Corners in \
             order, once round."
        good "1 mm near the stop bolt, 3 mm elsewhere"
        unlocks "at which plate angles the stop bolt goes in";
    PlateHoleFront = "plate.hole_front", rung 5, Shape::PlatePoint, HARDPOINT, "250, 6 mm",
        name "front bolt hole of the plate"
        how "On the same tracing."
        good "1 mm"
        unlocks "camber, toe and plate bend over travel";
    PlateHoleRear = "plate.hole_rear", rung 5, Shape::PlatePoint, HARDPOINT, "330, 6 mm",
        name "rear bolt hole of the plate"
        how "On the same tracing."
        good "1 mm"
        unlocks "camber, toe and plate bend over travel";
    PlateBendLimit = "plate.bend_limit", rung 5, length(0.0, 80.0), None, "12 mm",
        name "how far the plate may be bent sideways at its bolt holes"
        how "From the maker; if nobody says, leave it blank."
        good "2 mm"
        unlocks "at which plate angles the plate is bent too far";

    StopBoltAt = "stop_bolt.at", rung 4, Shape::SidePoint, HARDPOINT, "-214, -146 mm",
        name "centre of the stop bolt's hole in the body, in side view"
        how "X forward and Z up from the bar axis: straightedge level through the axis, rule down."
        good "1.5 mm"
        unlocks "at which plate angles the stop bolt goes in";
    StopBoltClearance = "stop_bolt.clearance", rung 4, length(1.0, 60.0), DISTANCE, "14 mm",
        name "room the stop bolt needs around its centre to go in"
        how "Half the head or socket across its corners, and two millimetres."
        good "1 mm"
        unlocks "at which plate angles the stop bolt goes in";
    StopBoltRadius = "stop_bolt.radius", rung 4, length(1.0, 40.0), DISTANCE, "5 mm",
        name "radius of the stop bolt where the plate rests on it"
        how "Calliper over shank or sleeve, halved."
        good "0.5 mm"
        unlocks "what stops the droop";

    HoseFreeLength = "hose.free_length", rung 4, length(40.0, 1500.0), DISTANCE, "166 mm u 2 mm",
        name "length of the brake hose between the same two faces, laid straight"
        how "Tape along the hose, not pulled."
        good "2 mm"
        unlocks "at which plate angles the hose is taut";
    HoseDrawnTo = "hose.drawn_to", rung 4, share(0.5, 1.0), None, "95 %",
        name "share of its length to which the hose may be drawn straight"
        how "Your own caution; a hose is never to be taut."
        good "your choice"
        unlocks "at which plate angles the hose is taut";
    HoseLengths = "hose.lengths", rung 4, Shape::Lengths, DISTANCE,
        "[\"121 mm at 5 deg\", \"129 mm at 11 deg\", \"152 mm at 25 deg\"]",
        name "straight distance between the hose ends at three plate angles"
        how "Arm swung by hand with the bar out, tape between the two fittings. Instead of the \
             coordinates."
        good "2 mm"
        unlocks "the hose's window without coordinates";
    HoseBodyEnd = "hose.body_end", rung 5, Shape::Place, HARDPOINT, "-150, 400, 30 mm",
        name "brake hose, fixed end on the body"
        how "Centre of the fitting's face; plumb line and level from the bar axis."
        good "3 mm each way"
        unlocks "at which plate angles the hose is taut";
    HoseArmEnd = "hose.arm_end", rung 5, Shape::Place, HARDPOINT, "-260, 430, -30 mm",
        name "brake hose, end on the arm"
        how "The same, arm held at the angle of [arm]."
        good "3 mm each way"
        unlocks "at which plate angles the hose is taut";

    CableFreeLength = "cable.free_length", rung 4, length(40.0, 3000.0), DISTANCE, "452 mm",
        name "length of the cable's sheath between the same two points"
        how "Tape along it, laid straight."
        good "2 mm"
        unlocks "at which plate angles the cable is taut";
    CableDrawnTo = "cable.drawn_to", rung 4, share(0.5, 1.0), None, "98 %",
        name "share of its length to which the cable may be drawn straight"
        how "Your own caution."
        good "your choice"
        unlocks "at which plate angles the cable is taut";
    CableLengths = "cable.lengths", rung 4, Shape::Lengths, DISTANCE,
        "[\"400 mm at 5 deg\", \"424 mm at 11 deg\", \"446 mm at 25 deg\"]",
        name "straight distance between the cable ends at three plate angles"
        how "Arm swung by hand with the bar out. Instead of the coordinates."
        good "2 mm"
        unlocks "the cable's window without coordinates";
    CableBodyEnd = "cable.body_end", rung 5, Shape::Place, HARDPOINT, "-130, 200, 15 mm",
        name "handbrake cable, fixed end on the body"
        how "Where the sheath ends; plumb line and level from the bar axis."
        good "3 mm each way"
        unlocks "at which plate angles the cable is taut";
    CableArmEnd = "cable.arm_end", rung 5, Shape::Place, HARDPOINT, "-395, 520, -70 mm",
        name "handbrake cable, end on the arm"
        how "Where the sheath begins again, arm held at the angle of [arm]."
        good "3 mm each way"
        unlocks "at which plate angles the cable is taut";

    HalfShaftJointLimit = "half_shaft.joint_limit", rung 4, angle(1.0, 60.0), None, "20 deg",
        name "greatest angle of either joint"
        how "From the maker of the shaft."
        good "1 deg"
        unlocks "at which plate angles the shaft is within its joints";
    HalfShaftPlungeLimit = "half_shaft.plunge_limit", rung 4, length(1.0, 200.0), DISTANCE, "22 mm",
        name "how far the shaft may slide either way from its design length"
        how "Push and pull the bare shaft in its inner joint; half the travel."
        good "2 mm"
        unlocks "at which plate angles the shaft is within its plunge";
    HalfShaftLengths = "half_shaft.lengths", rung 4, Shape::Lengths, DISTANCE,
        "[\"402 mm at 5 deg\", \"403 mm at 11 deg\", \"412 mm at 25 deg\"]",
        name "distance between the joint centres at three plate angles"
        how "Arm swung by hand with the bar out. Instead of the coordinates."
        good "2 mm"
        unlocks "the shaft's plunge without coordinates";
    HalfShaftOuterInboard = "half_shaft.outer_inboard", rung 5, length(0.0, 400.0), DISTANCE,
        "95 mm",
        name "outer joint: how far inboard of the wheel centre, along the wheel axis"
        how "Hub face to joint centre, less hub face to wheel centre."
        good "2 mm"
        unlocks "at which plate angles the shaft is within its joints";
    HalfShaftInnerJoint = "half_shaft.inner_joint", rung 5, Shape::Place, HARDPOINT,
        "-455, 170, -70 mm",
        name "centre of the half-shaft's inner joint"
        how "From the gearbox flange: half the joint's width outward."
        good "2 mm each way"
        unlocks "at which plate angles the shaft is within its joints";

    ShellMass = "shell.mass", rung 4, mass(20.0, 5000.0), None, "520 kg",
        name "mass of the body as it stands on the stands now"
        how "The weight of the whole car from its papers, less what is off it, part by part; both \
             arms count if they are on. Never put a scale under a stand that carries the car."
        good "20 kg"
        unlocks "what each stand carries, and whether raising an arm lifts the car off one";
    ShellMassAt = "shell.mass_at", rung 4, Shape::BodyPlace, None, "900, 0, 250 mm",
        name "centre of mass of the body as it stands now"
        how "X from front and rear axle weights, less what is off; Y is zero for a body that is \
             alike left and right; Z is seldom known, and a hand above the sills is a start."
        good "50 mm"
        unlocks "what each stand carries, and the push that upsets the car";
    ShellBag = "shell.bag", rung 4, mass(0.5, 50.0), None, "10 kg",
        name "mass of one sandbag you have at hand"
        how "Bathroom scale."
        good "0.5 kg"
        unlocks "how many bags, and where, before an arm is raised";
    ShellPushHeight = "shell.push_height", rung 4, length(100.0, 2500.0), DISTANCE, "900 mm",
        name "height above the floor at which somebody might lean or pull on the car"
        how "Tape from the floor to where you stand and pull."
        good "50 mm"
        unlocks "the push that upsets the car";

    ArmAt = "arm.at", rung 4, angle(-45.0, 60.0), GAUGE, "11 deg",
        name "plate angle at which the places on the arm were measured"
        how "Leave blank if it was the ride angle; otherwise the gauge on the plate while \
             measuring. It holds for [arm] and for the arm ends of damper, hose and cable."
        good "0.2 deg"
        unlocks "coordinates measured with the arm in any position";
    ArmMass = "arm.mass", rung 4, mass(1.0, 200.0), None, "22 kg",
        name "mass of arm, hub and brake without the wheel"
        how "Bathroom scale, as it will hang on the car."
        good "0.5 kg"
        unlocks "the angle the arm will hang at; what the jack has to push";
    ArmMassAt = "arm.mass_at", rung 4, Shape::Place, None, "-400, 590, -100 mm",
        name "centre of mass of arm, hub and brake"
        how "Balance the arm on a broomstick two ways, mark both lines, measure where they cross \
             with the arm held at the angle of [arm]."
        good "15 mm"
        unlocks "the angle the arm will hang at; what the jack has to push";
    ArmJackPoint = "arm.jack_point", rung 4, Shape::Place, None, "-440, 600, -150 mm",
        name "where the jack lifts the arm"
        how "Flat, square and near the hub; measured like the wheel centre."
        good "10 mm"
        unlocks "what it takes to raise the arm, and what the stands carry meanwhile";
    ArmHub = "arm.hub", rung 5, Shape::Place, HARDPOINT, "0, 610, 0 mm",
        name "hub: centre of the bar in the middle of the plate's thickness"
        how "X and Z are zero, since the bar axis is where they start; Y from the centre line."
        good "1 mm"
        unlocks "camber, toe and plate bend over travel";
    ArmInnerPivot = "arm.inner_pivot", rung 5, Shape::Place, HARDPOINT, "-55, 235, -20 mm",
        name "centre of the arm's inner pivot"
        how "Plumb line to the floor for X and Y; level and rule from the bar axis for Z."
        good "1.5 mm each way"
        unlocks "camber and toe over travel, eccentric rates";
    ArmWheelCentre = "arm.wheel_centre", rung 5, Shape::Place, HARDPOINT, "-455, 668, -95 mm",
        name "wheel centre"
        how "Centre of the hub in the wheel's middle plane, arm held at the angle of [arm]. Behind \
             the bar X is minus; below it Z is minus."
        good "2 mm each way"
        unlocks "trim, wheel rate and travel from the geometry";
    ArmCamber = "arm.camber", rung 5, angle(-10.0, 10.0), GAUGE, "-0.50 deg",
        name "camber at that angle"
        how "Gauge upright on the brake drum, twice with the drum half a turn on; the mean. Top \
             outward is plus."
        good "0.1 deg"
        unlocks "camber over travel";
    ArmToe = "arm.toe", rung 5, angle(-10.0, 10.0), None, "0.10 deg",
        name "toe-in of that wheel at that angle"
        how "Two rules square to the centre line at rim front and rim rear; their difference over \
             the rim's diameter. Toe-in is plus."
        good "0.05 deg"
        unlocks "toe over travel";

    EccentricsThrow = "eccentrics.throw", rung 5, length(0.2, 20.0), None, "4.0 mm",
        name "throw of an eccentric, each way"
        how "Calliper over the eccentric, thick side less thin side, halved."
        good "0.2 mm"
        unlocks "how much camber and toe can be set";
    EccentricsFrontShifts = "eccentrics.front_shifts", rung 5, Shape::Word(Shift::WORDS), None,
        "both holes along u",
        name "what the front eccentric moves"
        how "Turn it by hand with both bolts just snug and watch the arm against the plate."
        good "certain: moving one hole or both differs fourfold"
        unlocks "how much camber and toe a turn gives";
    EccentricsRearShifts = "eccentrics.rear_shifts", rung 5, Shape::Word(Shift::WORDS), None,
        "both holes along w",
        name "what the rear eccentric moves"
        how "Turn it by hand with both bolts just snug and watch the arm against the plate."
        good "certain: moving one hole or both differs fourfold"
        unlocks "how much camber and toe a turn gives";
    EccentricsFrontTurned = "eccentrics.front_turned", rung 6, angle(-90.0, 90.0), None, "0 deg",
        name "how far the front eccentric stands from its middle"
        how "By its mark: zero is the middle of its throw, plus is the way that carries the arm's \
             holes away from the hub. As it stands now."
        good "5 deg"
        unlocks "turns for camber and toe, and how much throw is left";
    EccentricsRearTurned = "eccentrics.rear_turned", rung 6, angle(-90.0, 90.0), None, "0 deg",
        name "how far the rear eccentric stands from its middle"
        how "By its mark: zero is the middle of its throw, plus is the way that carries the arm's \
             holes up against the plate. As it stands now."
        good "5 deg"
        unlocks "turns for camber and toe, and how much throw is left";

    FrontCornerWeight = "front.corner_weight", rung 6, mass(20.0, 2000.0), WEIGHT, "212.5 kg",
        name "weight on one front wheel of the finished car"
        how "Scales under all four wheels, the car level, rolled and settled; or the front axle \
             weight in its papers, halved. In the same load as the rear ones."
        good "8 kg from a book, 3 kg once weighed"
        unlocks "what the car should read on its wheels; which corrections it needs";
    FrontUnsprung = "front.unsprung", rung 6, mass(1.0, 500.0), None, "32 kg",
        name "part of that weight the front spring does not carry"
        how "Wheel, brake and hub whole, plus half of the arms."
        good "3 kg"
        unlocks "what the front springs carry";
    FrontContactX = "front.contact_x", rung 6, length(200.0, 5000.0), HARDPOINT, "1845 mm",
        name "how far the front tyre meets the floor forward of the rear bar axis"
        how "Plumb line from bar axis and front wheel centre to the floor; tape between the marks."
        good "5 mm"
        unlocks "how weight shares between front and rear";
    FrontHalfTrack = "front.half_track", rung 6, length(200.0, 1500.0), HARDPOINT, "645 mm",
        name "how far the front tyre meets the floor from the centre line"
        how "Middle of tread to middle of tread, halved."
        good "5 mm"
        unlocks "how weight shares between left and right";
    FrontWheelRate = "front.wheel_rate", rung 6, amount(Kind::LinearRate, 2.0, 500.0), None,
        "15.5 N/mm",
        name "rate of the front spring at the wheel"
        how "From the manual; or 20 kg on the wing over the wheel, bounced and let settle, and how \
             far it went down: newtons over millimetres, the other front wheel's share halved."
        good "10 per cent"
        unlocks "how the car leans and pitches; what a correction does to the other wheels";
    FrontTyreRate = "front.tyre_rate", rung 6, amount(Kind::LinearRate, 30.0, 1000.0), None,
        "180 N/mm",
        name "rate of the front tyre"
        how "As with the rear one. Leave it blank to have the tyre taken as rigid, which is said \
             wherever it matters."
        good "10 per cent"
        unlocks "how the body sits on its front tyres";
    FrontScrew = "front.screw", rung 6, length(0.1, 20.0), None, "2.4 mm",
        name "body height one turn of the front screw gives at that corner"
        how "Mark the wing's edge, turn the screw twice, roll and settle, measure; halve it. Leave \
             it blank if there is none."
        good "0.2 mm"
        unlocks "cross weight by the front screws";
    FrontScrewTurns = "front.screw_turns", rung 6, count(0, 40), None, "6",
        name "turns of that screw left each way"
        how "Count them from where it stands to its end, the weight off the spring."
        good "half a turn"
        unlocks "cross weight by the front screws";

    AntiRollFront = "anti_roll.front", rung 6, amount(Kind::LinearRate, 0.0, 500.0), None,
        "0 N/mm",
        name "rate of the front anti-roll bar"
        how "Newtons it puts on each front wheel for a millimetre that one wheel stands higher in \
             its travel than the other. \"0 N/mm\" where there is none."
        good "10 per cent"
        unlocks "how the car leans; the share of roll stiffness front and rear";
    AntiRollRear = "anti_roll.rear", rung 6, amount(Kind::LinearRate, 0.0, 500.0), None,
        "0 N/mm",
        name "rate of the rear anti-roll bar"
        how "As with the front one. \"0 N/mm\" where there is none."
        good "10 per cent"
        unlocks "how the car leans; the share of roll stiffness front and rear";

    FloorLeftFront = "floor.left_front", rung 6, length(-100.0, 100.0), None, "0 mm",
        name "height of the floor under the left front wheel"
        how "Water level or a clear hose from wheel to wheel; higher is plus, one of the four zero."
        good "1 mm: 5 mm under one wheel is several kilograms"
        unlocks "readings on a floor that is not flat";
    FloorRightFront = "floor.right_front", rung 6, length(-100.0, 100.0), None, "0 mm",
        name "height of the floor under the right front wheel"
        how "As under the left front wheel."
        good "1 mm"
        unlocks "readings on a floor that is not flat";
    FloorLeftRear = "floor.left_rear", rung 6, length(-100.0, 100.0), None, "0 mm",
        name "height of the floor under the left rear wheel"
        how "As under the left front wheel."
        good "1 mm"
        unlocks "readings on a floor that is not flat";
    FloorRightRear = "floor.right_rear", rung 6, length(-100.0, 100.0), None, "0 mm",
        name "height of the floor under the right rear wheel"
        how "As under the left front wheel."
        good "1 mm"
        unlocks "readings on a floor that is not flat";

    ToeBy = "toe.by", rung 6, Shape::Word(ToeBy::WORDS), None, "strings",
        name "how toe is read"
        how "\"strings\" for strings or rods along the car and a rule to the rim; \"light\" for \
             a light thrown from the wheel to a scale."
        good "certain"
        unlocks "the hand-over sheet";
    ToeOver = "toe.over", rung 6, length(50.0, 20_000.0), None, "340 mm",
        name "length over which millimetres of toe are read"
        how "With strings: the rim's diameter between the two places of the rule. With a light: \
             from the wheel to the scale."
        good "5 mm"
        unlocks "toe written in millimetres";

    UncertaintyBarDiameter = "uncertainty.bar_diameter", rung 1, length(0.001, 1.0), None,
        "0.03 mm",
        name "how sure a bar's diameter is"
        how "The spread of the readings along and across the bar."
        good "your own micrometer"
        unlocks "how sure the free angle from four numbers is";
    UncertaintyGauge = "uncertainty.gauge", rung 2, angle(0.001, 10.0), None, "0.15 deg",
        name "how sure an angle on the plate is"
        how "Take the gauge off and set it down again, five times."
        good "your own gauge"
        unlocks "how sure the teeth are";
    UncertaintyLevel = "uncertainty.level", rung 2, angle(0.001, 10.0), None, "0.1 deg",
        name "how sure the body's level is"
        how "Read the sill at three places."
        good "your own gauge"
        unlocks "how sure the teeth are";
    UncertaintyHardpoint = "uncertainty.hardpoint", rung 3, length(0.01, 100.0), None, "1.5 mm",
        name "how sure a coordinate is"
        how "Measure one point three times on different days; the spread, not the best."
        good "your own tape and plumb line"
        unlocks "how sure each figure is";
    UncertaintyDistance = "uncertainty.distance", rung 3, length(0.01, 100.0), None, "1 mm",
        name "how sure a distance is"
        how "The same, with one distance."
        good "your own tape"
        unlocks "how sure each figure is";
    UncertaintyBarRate = "uncertainty.bar_rate", rung 3, share(0.0, 0.3), None, "2 %",
        name "how sure the rate of a bar in its anchor is, as a share"
        how "Steel, fillets, seats and anchor give together more than the formula knows."
        good "2 % is a start until rounds on the wheels have taught better"
        unlocks "how sure trim is";
    UncertaintyCornerWeight = "uncertainty.corner_weight", rung 3, mass(0.01, 200.0), None, "8 kg",
        name "how sure a corner weight is"
        how "8 kg from a book, 3 kg from scales."
        good "your own source"
        unlocks "how sure trim is";
    UncertaintyTrimReading = "uncertainty.trim_reading", rung 3, length(0.01, 100.0), None, "4 mm",
        name "how sure a trim reading is, stiction in it"
        how "Lift and let go, read; push and let go, read. Half the difference."
        good "your own car: halved by taking the mean of both"
        unlocks "how sure the round on the wheels is";
    UncertaintyScale = "uncertainty.scale", rung 6, mass(0.01, 100.0), None, "3 kg",
        name "how sure a scale under a wheel is"
        how "Weigh twice, the car rolled off and on again between; and swap two scales."
        good "your own scales: 3 kg is usual once stiction is shaken out"
        unlocks "how sure the round on the wheels is";
    UncertaintyCamberReading = "uncertainty.camber_reading", rung 6, angle(0.001, 5.0), None,
        "0.1 deg",
        name "how sure a camber on the wheels is"
        how "Read, turn the wheel half a turn, read again, roll, repeat."
        good "your own gauge"
        unlocks "how sure the round on the wheels is";
    UncertaintyToeReading = "uncertainty.toe_reading", rung 6, angle(0.001, 5.0), None, "0.05 deg",
        name "how sure the toe of one wheel is"
        how "Set the strings up afresh, three times."
        good "your own strings"
        unlocks "how sure the round on the wheels is";
}

impl Field {
    fn row(self) -> &'static Row {
        // The enum and the table come out of one macro, so the index is always inside it.
        const FIRST: &Row = &TABLE[0];
        TABLE.get(self as usize).unwrap_or(FIRST)
    }
    /// Where it stands in the car file: `"bar.fitted_diameter"`.
    pub fn path(self) -> &'static str {
        self.row().path
    }
    /// The section it stands in: `"bar"`, `"damper.original"`.
    pub fn section(self) -> &'static str {
        self.path().rsplit_once('.').map_or("", |(section, _)| section)
    }
    /// Its key inside the section.
    pub fn key(self) -> &'static str {
        self.path().rsplit_once('.').map_or(self.path(), |(_, key)| key)
    }
    /// What may be written for it.
    pub fn shape(self) -> Shape {
        self.row().shape
    }
    /// The rung of the work at which it first pays: 1 is the first four numbers, 6 the whole car
    /// on its wheels.
    pub fn rung(self) -> u8 {
        self.row().rung
    }
    /// Which row of `[uncertainty]` speaks for it when it carries no spread of its own.
    pub fn class(self) -> Option<Class> {
        self.row().class
    }
    /// How sure it is taken to be where it carries no spread of its own and no row of
    /// `[uncertainty]` speaks for it: masses, their centres, and where a jack is set down.
    ///
    /// # Source
    /// Common practice, no source.
    pub fn usual_doubt(self) -> Option<Amount> {
        let (_, kind, u) = ESTIMATES.iter().find(|(field, ..)| *field == self)?;
        Some(match kind {
            Kind::Mass => Mass::kg(*u).into(),
            _ => Length::mm(*u).into(),
        })
    }
    /// How it is written, as it would stand in the file.
    pub fn example(self) -> &'static str {
        self.row().example
    }
    /// What it is, in words.
    pub fn name(self) -> &'static str {
        self.row().name
    }
    /// How to measure it with tape, plumb line, straightedge, level or scale.
    pub fn how(self) -> &'static str {
        self.row().how
    }
    /// How good it has to be.
    pub fn good_enough(self) -> &'static str {
        self.row().good
    }
    /// What it makes possible.
    pub fn unlocks(self) -> &'static str {
        self.row().unlocks
    }
    /// Whether it belongs to the whole car, so that `[left.…]` and `[right.…]` cannot change it.
    pub fn is_of_whole_car(self) -> bool {
        matches!(self.section(), "shell" | "uncertainty" | "anti_roll" | "floor" | "toe")
    }
    /// The field at a path.
    pub fn from_path(path: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|f| f.path() == path)
    }
    /// The fields of a section, in order.
    pub fn of_section(section: &str) -> impl Iterator<Item = Self> {
        Self::ALL.iter().copied().filter(move |f| f.section() == section)
    }
}

impl std::fmt::Display for Field {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.path())
    }
}

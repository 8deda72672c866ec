//! A random car as it is, and what its restorer measured of it.
//!
//! The car is an invented one with every figure varied; the restorer's file is the same car with
//! the errors of tape, micrometer, book or scales. Nothing of the truth goes into the file.

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, TrailingArm};
use axlewright_mechanics::bar::{Bar, BarSize};
use axlewright_mechanics::car::{Car, FrontCorner, Pair, RearCorner, Sprung, Tyre, Wheel, Wheels};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Corner, Gas, PlateOnBar};
use axlewright_mechanics::splines::Splines;
use axlewright_quantity::{
    Angle, Force, Length, LinearRate, Mass, Place, PlatePoint, Ratio, Side, Stress,
};

use super::Fault;
use super::dice::Dice;

/// One standard uncertainty each, unless said otherwise.
pub mod errors {
    /// Tape on a point of arm or damper, each coordinate; a distance on the plate. mm.
    pub const POINT: f64 = 1.5;
    pub const DISTANCE: f64 = 1.0;
    /// How far left and right differ as they were made, each coordinate. mm.
    pub const MADE: f64 = 0.5;
    /// Camber and toe of an arm as it was made, deg.
    pub const MADE_CAMBER: f64 = 0.2;
    pub const MADE_TOE: f64 = 0.08;
    /// Micrometer on the bar, mm; its rate in the anchor, as a share, half its variance in both
    /// bars alike.
    pub const DIAMETER: f64 = 0.03;
    pub const RATE: f64 = 0.02;
    /// Gas force, N: as likely anywhere within.
    pub const GAS: f64 = 20.0;
    /// A corner's weight from the book, and on scales, kg.
    pub const BOOK: f64 = 8.0;
    pub const SCALES: f64 = 3.0;
    /// Settling of new bars and bushes, mm: what is allowed for, and how far it may be off, half
    /// of that variance on both sides alike.
    pub const SETTLING: f64 = 3.0;
    pub const SETTLING_U: f64 = 2.0;
    /// Height of a front corner by its spring's set, mm; its rate, N/mm.
    pub const FRONT: f64 = 5.0;
    pub const FRONT_RATE: f64 = 0.5;
    /// One reading of the plate, of the sill; lash that is not taken up, as likely within; deg.
    pub const GAUGE: f64 = 0.15;
    pub const LEVEL: f64 = 0.1;
    pub const LASH: f64 = 0.05;
    /// Trim read on a car rolled once, mm: friction; the tape itself.
    pub const FRICTION: f64 = 4.0;
    pub const TAPE: f64 = 1.0;
    /// One reading of camber or toe, deg.
    pub const ALIGNMENT: f64 = 0.05;
    /// A tooth too many or too few at an end that comes apart, counted once.
    pub const MISCOUNT: f64 = 0.03;
    /// An eccentric set by its mark, mm; a screw, turns.
    pub const MARK: f64 = 0.15;
    pub const SCREW: f64 = 0.05;
}

pub const THROW_MM: f64 = 4.0;
pub const SCREW_MM: f64 = 2.4;
pub const SCREW_TURNS: f64 = 6.0;

/// What the manual wants.
#[derive(Debug, Clone, Copy)]
pub struct Spec {
    pub trim: Length,
    pub camber: Angle,
    pub toe: Angle,
}

/// One side's bar with nothing but the plate on it.
pub type Plates = Pair<PlateOnBar>;

/// The car as it is.
#[derive(Debug, Clone)]
pub struct Truth {
    /// Bars at the angles that give the wanted trims.
    pub car: Car,
    pub plates: Plates,
    pub splines: Splines,
    pub spec: Spec,
    /// What settling takes off each free angle.
    pub settles: Pair<Angle>,
}

/// The car as its restorer measured it.
#[derive(Debug, Clone)]
pub struct File {
    pub car: Car,
    pub plates: Plates,
    pub splines: Splines,
    /// Standard uncertainty of a corner's weight, kg.
    pub weight_u: f64,
    /// Millimetres of trim per degree of free angle.
    pub mm_per_deg: Pair<f64>,
}

fn point(dice: &mut Dice, at: Place, u: f64) -> Place {
    let mut off = || Length::mm(dice.normal(u));
    Place { x: at.x + off(), y: at.y + off(), z: at.z + off() }
}

struct Drawn {
    design: ArmDesign,
    damper: (Place, Place),
    gas: f64,
    diameter: f64,
    rear: f64,
    front: f64,
    front_rate: f64,
}

fn draw(dice: &mut Dice) -> Drawn {
    let hub_y = 610.0 + dice.within(40.0);
    let trim = 95.0 + dice.within(20.0);
    let hole = 250.0 + dice.within(15.0);
    let w = 6.0 + dice.within(4.0);
    let at = |u: f64| PlatePoint { u: Length::mm(u), w: Length::mm(w) };
    let design = ArmDesign {
        hub: Place::mm(0.0, hub_y, 0.0),
        inner_pivot: Place::mm(
            -55.0 + dice.within(15.0),
            hub_y - 375.0 + dice.within(25.0),
            -20.0 + dice.within(10.0),
        ),
        hole_front: at(hole),
        hole_rear: at(hole + 80.0 + dice.within(5.0)),
        w_moves: HolesMoved::Both,
        design_angle: Angle::deg(11.0 + dice.within(2.0)),
        wheel_centre: Place::mm(-455.0 + dice.within(25.0), hub_y + 58.0, -trim),
        camber: Angle::deg(-0.5 + dice.within(0.3)),
        toe: Angle::deg(0.1 + dice.within(0.05)),
        tyre_radius: Length::mm(292.0 + dice.within(10.0)),
    };
    let damper =
        (Place::mm(-470.0, hub_y - 50.0, 250.0), Place::mm(-525.0, hub_y - 20.0, -trim - 15.0));
    Drawn {
        design,
        damper,
        gas: 120.0 + dice.within(40.0),
        diameter: 23.0 + dice.within(1.0),
        rear: 280.0 + dice.within(25.0),
        front: 212.5 + dice.within(20.0),
        front_rate: 15.5 + dice.within(2.0),
    }
}

fn bar(diameter_mm: f64) -> Result<Bar, Fault> {
    Ok(Bar::new(BarSize {
        diameter: Length::mm(diameter_mm),
        bore: Length::ZERO,
        length: Length::mm(540.0),
        modulus: Stress::gpa(78.5),
    })?)
}

fn corner(design: ArmDesign, damper: (Place, Place), gas: f64, bar: &Bar) -> Result<Corner, Fault> {
    let span = Span::Points { body: damper.0, arm_at_design: damper.1 };
    Ok(Corner {
        linkage: Linkage::Arm(TrailingArm::new(design)?),
        bar_rate: bar.rate(),
        gas: Some(Gas { span, force: Force::n(gas) }),
        bush: None,
        shift: Shift::default(),
    })
}

fn plate(corner: &Corner) -> PlateOnBar {
    let centre = PlatePoint { u: Length::mm(160.0), w: Length::ZERO };
    PlateOnBar { bar_rate: corner.bar_rate, bush: None, mass: Mass::kg(2.1), centre }
}

const UNSPRUNG_REAR: f64 = 36.0;
const UNSPRUNG_FRONT: f64 = 32.0;
const FRONT_X: f64 = 1845.0;
const FRONT_Y: f64 = 645.0;

/// Sprung mass and its centre from what each wheel carries: four weights say three things; the
/// fourth, the diagonal, is the springs' own affair.
fn sprung(weights: &Wheels<f64>, design: &ArmDesign) -> Sprung {
    let rear_x = design.wheel_centre.x.to_mm();
    let rear_y = design.wheel_centre.y.to_mm();
    let f = weights.front.map(|w| w - UNSPRUNG_FRONT);
    let r = weights.rear.map(|w| w - UNSPRUNG_REAR);
    let mass = f.left + f.right + r.left + r.right;
    let x = ((f.left + f.right) * FRONT_X + (r.left + r.right) * rear_x) / mass;
    let y = ((f.left - f.right) * FRONT_Y + (r.left - r.right) * rear_y) / mass;
    Sprung { mass: Mass::kg(mass), centre: Place::mm(x, y, 250.0) }
}

struct Build<'a> {
    corners: &'a Pair<Corner>,
    design: &'a ArmDesign,
    weights: Wheels<f64>,
    /// Weights at which tyres and front springs have their design length.
    book: (f64, f64),
    front_rate: Pair<f64>,
    raised: Pair<f64>,
}

fn build(b: &Build) -> Car {
    let tyre = LinearRate::n_per_mm(190.0);
    let ground = b.design.wheel_centre.z - b.design.tyre_radius;
    Car {
        sprung: sprung(&b.weights, b.design),
        front: Pair::of(|side| FrontCorner {
            contact: Place {
                x: Length::mm(FRONT_X),
                y: Length::mm(if side == Side::Left { FRONT_Y } else { -FRONT_Y }),
                z: ground,
            },
            rate: LinearRate::n_per_mm(b.front_rate[side]),
            weight: Mass::kg(b.book.0),
            unsprung: Mass::kg(UNSPRUNG_FRONT),
            tyre_rate: Some(tyre),
            raised: Length::mm(b.raised[side]),
        }),
        rear: Pair::of(|side| RearCorner {
            corner: b.corners[side].clone(),
            free: Angle::ZERO,
            unsprung: Mass::kg(UNSPRUNG_REAR),
            tyre: Tyre { rate: Some(tyre), weight: Mass::kg(b.book.1) },
        }),
        front_coupling: None,
        rear_coupling: None,
        floor: Wheels::default(),
    }
}

/// Free angle at which this corner by itself stands at a trim under a weight on scales.
pub fn free_for(corner: &Corner, trim: Length, weight_kg: f64) -> Result<Angle, Fault> {
    let load = Mass::kg(weight_kg - UNSPRUNG_REAR).weight();
    Ok(corner.free_angle_for(corner.angle_at_trim(trim)?, load)?)
}

/// Millimetres of trim per degree of free angle, the load staying what it is.
fn mm_per_deg(corner: &Corner, trim: Length, weight_kg: f64) -> Result<f64, Fault> {
    let at = |mm: f64| Ok::<_, Fault>(free_for(corner, trim + Length::mm(mm), weight_kg)?.to_deg());
    Ok(2.0 / (at(1.0)? - at(-1.0)?))
}

/// The bars turned until both trims are what is wanted.
fn stood(mut car: Car, trim: Length, weight_kg: f64) -> Result<Car, Fault> {
    for side in Side::BOTH {
        car.rear[side].free = free_for(&car.rear[side].corner, trim, weight_kg)?;
    }
    for _ in 0..40 {
        let rest = car.rest()?;
        let off = Pair::of(|side| (rest.rear[side].trim - trim).to_mm());
        if off.left.abs().max(off.right.abs()) < 1e-6 {
            return Ok(car);
        }
        for side in Side::BOTH {
            let per = mm_per_deg(&car.rear[side].corner, trim, weight_kg)?;
            car.rear[side].free = car.rear[side].free - Angle::deg(off[side] / per);
        }
    }
    Err("both trims at once were not found".into())
}

/// Everything of one car.
pub struct Made {
    pub truth: Truth,
    /// Weights from the book.
    pub by_book: File,
    /// Weights from four scales, as often as advised.
    pub weighed: File,
    /// From four scales, once.
    pub weighed_once: File,
}

/// Teeth of the two ends: pairs a tooth or a few apart, as such bars have them (chosen, no source).
const TEETH: [(u32, u32); 5] = [(38, 42), (40, 44), (36, 40), (34, 38), (42, 44)];

#[expect(clippy::too_many_lines, reason = "one car drawn in one go, truth and file side by side")]
pub fn make(seed: u64, car: u64, weighings: u32) -> Result<Made, Fault> {
    use errors::*;
    let mut dice = Dice::new(seed, car, 0);
    let drawn = draw(&mut dice);
    let (anchor, plate_end) = dice.one_of(&TEETH).ok_or("no teeth")?;
    let splines = Splines::new(anchor, plate_end)?;
    let spec = Spec {
        trim: Length::ZERO - drawn.design.wheel_centre.z,
        camber: drawn.design.camber,
        toe: drawn.design.toe,
    };
    let half = 0.5_f64.sqrt();
    let d = &mut dice;
    let rate = d.normal(half * RATE);
    // The truth: each side a little other than the drawing.
    let mut of_side = || -> Result<(Corner, f64), Fault> {
        let base = drawn.design;
        let design = ArmDesign {
            inner_pivot: point(d, base.inner_pivot, MADE),
            wheel_centre: point(d, base.wheel_centre, MADE),
            camber: base.camber + Angle::deg(d.normal(MADE_CAMBER)),
            toe: base.toe + Angle::deg(d.normal(MADE_TOE)),
            ..base
        };
        let damper = (point(d, drawn.damper.0, MADE), point(d, drawn.damper.1, MADE));
        let diameter = drawn.diameter + d.normal(DIAMETER);
        let bar = bar(diameter)?.with_rate_share(Ratio::one(1.0 + rate + d.normal(half * RATE)))?;
        Ok((corner(design, damper, drawn.gas + d.within(GAS), &bar)?, diameter))
    };
    let (left, left_diameter) = of_side()?;
    let (right, right_diameter) = of_side()?;
    let corners = Pair { left, right };
    let book = (drawn.front, drawn.rear);
    let nominal = |w: Wheel| if w.is_front() { drawn.front } else { drawn.rear };
    let weights = Wheels::of(|w| nominal(w) + dice.normal(BOOK));
    let truth = build(&Build {
        corners: &corners,
        design: &drawn.design,
        weights,
        book,
        front_rate: Pair::of(|_| drawn.front_rate + dice.normal(FRONT_RATE)),
        raised: Pair::of(|_| dice.normal(FRONT)),
    });
    let truth = stood(truth, spec.trim, drawn.rear)?;
    let carried = truth.rest()?.weights;
    let mut settles = Pair::both(Angle::ZERO);
    let alike = SETTLING + dice.normal(half * SETTLING_U);
    for side in Side::BOTH {
        let per = mm_per_deg(&corners[side], spec.trim, drawn.rear)?;
        settles[side] = Angle::deg((alike + dice.normal(half * SETTLING_U)) / per);
    }
    let plates = corners.clone().map(|c| plate(&c));
    let truth = Truth { car: truth, plates, splines, spec, settles };

    // The file: one arm measured, the other taken as its mirror.
    let design = ArmDesign {
        inner_pivot: point(&mut dice, drawn.design.inner_pivot, POINT),
        wheel_centre: point(&mut dice, drawn.design.wheel_centre, POINT),
        hole_front: off_plate(&mut dice, drawn.design.hole_front),
        hole_rear: off_plate(&mut dice, drawn.design.hole_rear),
        ..drawn.design
    };
    let body = point(&mut dice, drawn.damper.0, POINT);
    let damper = (body, point(&mut dice, drawn.damper.1, POINT));
    // The diameters as the micrometer has them: off from the true ones, not from the drawing.
    let read = [left_diameter, right_diameter].map(|mm| mm + dice.normal(DIAMETER));
    let corners = Pair {
        left: corner(design, damper, drawn.gas, &bar(read[0])?)?,
        right: corner(design, damper, drawn.gas, &bar(read[1])?)?,
    };
    let first = Wheels::of(|w| carried[w].to_kg() + dice.normal(SCALES));
    let more = Wheels::of(|_| dice.mean(SCALES, weighings - 1));
    let n = f64::from(weighings);
    let mean = Wheels::of(|w| match weighings {
        1 => first[w],
        _ => (first[w] + (n - 1.0) * (carried[w].to_kg() + more[w])) / n,
    });
    let file = |weights: Wheels<f64>, weight_u: f64| -> Result<File, Fault> {
        let mut car = build(&Build {
            corners: &corners,
            design: &design,
            weights,
            book,
            front_rate: Pair::both(drawn.front_rate),
            raised: Pair::both(0.0),
        });
        let wanted = spec.trim + Length::mm(SETTLING);
        let mut per = Pair::both(0.0);
        for side in Side::BOTH {
            car.rear[side].free = free_for(&corners[side], wanted, weights.rear[side])?;
            per[side] = mm_per_deg(&corners[side], wanted, weights.rear[side])?;
        }
        let plates = corners.clone().map(|c| plate(&c));
        Ok(File { car, plates, splines, weight_u, mm_per_deg: per })
    };
    Ok(Made {
        truth,
        by_book: file(Wheels::of(nominal), BOOK)?,
        weighed: file(mean, SCALES / n.sqrt())?,
        weighed_once: file(first, SCALES)?,
    })
}

fn off_plate(dice: &mut Dice, at: PlatePoint) -> PlatePoint {
    let mut off = || Length::mm(dice.normal(errors::DISTANCE));
    PlatePoint { u: at.u + off(), w: at.w + off() }
}

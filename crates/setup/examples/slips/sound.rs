//! Sound cars: a maker's car is drawn, its manual made from it, parts are changed, and every figure
//! is read with the doubt the file states. Whatever is then called a slip is a false alarm.

#[path = "../workshop/sim/dice.rs"]
#[allow(dead_code, reason = "the simulated workshop throws them in more ways")]
mod dice;

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use axlewright_mechanics::arm::{ArmDesign, HolesMoved, TrailingArm};
use axlewright_mechanics::bar::{Bar, BarSize};
use axlewright_mechanics::linkage::{Linkage, Shift, Span};
use axlewright_mechanics::load::{Corner, Gas};
use axlewright_quantity::{Angle, Force, Length, Mass, Place, PlatePoint, Stress};
use dice::Dice;

use super::{LARCH, judge, sites};

pub const SEED: u64 = 1963;

/// A sound car that was called a slip.
pub struct Alarmed {
    pub car: u64,
    pub words: Vec<String>,
}

type Fault = Box<dyn std::error::Error>;

/// A maker's car.
struct Maker {
    hub_y: f64,
    trim: f64,
    ride: f64,
    wheel: [f64; 3],
    pivot: [f64; 3],
    holes: [[f64; 2]; 2],
    damper: [[f64; 3]; 2],
    bars: [f64; 2],
    length: f64,
    gas: f64,
    settling: f64,
    rear: f64,
    front: f64,
}

fn half(number: f64) -> f64 {
    (number * 2.0).round() / 2.0
}

fn draw(dice: &mut Dice) -> Maker {
    let hub_y = (610.0 + dice.within(40.0)).round();
    let trim = (95.0 + dice.within(20.0)).round();
    let old = half(22.0 + dice.within(1.5));
    let steps = [-0.5, 0.0, 0.5, 1.0, 1.5];
    let new = old + dice.one_of(&steps).unwrap_or(0.0);
    let hole = 250.0 + dice.within(10.0);
    Maker {
        hub_y,
        trim,
        ride: half(11.0 + dice.within(2.0)),
        wheel: [-455.0 + dice.within(25.0), hub_y + 58.0, -trim],
        pivot: [
            -55.0 + dice.within(15.0),
            hub_y - 375.0 + dice.within(25.0),
            -20.0 + dice.within(10.0),
        ],
        holes: [[hole, 6.0], [hole + 80.0, 6.0]],
        damper: [[-470.0, hub_y - 50.0, 250.0], [-525.0, hub_y - 20.0, -trim - 15.0]],
        bars: [old, new],
        length: (540.0 + dice.within(30.0)).round(),
        gas: dice.one_of(&[0.0, 80.0, 120.0, 160.0]).unwrap_or(0.0),
        settling: 3.0,
        rear: half(280.0 + dice.within(30.0)),
        front: half(212.5 + dice.within(20.0)),
    }
}

const UNSPRUNG: [f64; 2] = [36.0, 32.0];
const FRONT_X: f64 = 1845.0;

fn place([x, y, z]: [f64; 3]) -> Place {
    Place::mm(x, y, z)
}

/// The free angle with one of the bars, the damper's push and the height above the trim.
fn free(maker: &Maker, bar: f64, gas: f64, above: f64) -> Result<f64, Fault> {
    let at = |[u, w]: [f64; 2]| PlatePoint { u: Length::mm(u), w: Length::mm(w) };
    let design = ArmDesign {
        hub: Place::mm(0.0, maker.hub_y, 0.0),
        inner_pivot: place(maker.pivot),
        hole_front: at(maker.holes[0]),
        hole_rear: at(maker.holes[1]),
        w_moves: HolesMoved::Both,
        design_angle: Angle::deg(maker.ride),
        wheel_centre: place(maker.wheel),
        camber: Angle::deg(-0.5),
        toe: Angle::deg(0.1),
        tyre_radius: Length::mm(292.0),
    };
    let size = BarSize {
        diameter: Length::mm(bar),
        bore: Length::ZERO,
        length: Length::mm(maker.length),
        modulus: Stress::gpa(78.5),
    };
    let span = Span::Points { body: place(maker.damper[0]), arm_at_design: place(maker.damper[1]) };
    let corner = Corner {
        linkage: Linkage::Arm(TrailingArm::new(design)?),
        bar_rate: Bar::new(size)?.rate(),
        gas: (0.0 < gas).then(|| Gas { span, force: Force::n(gas) }),
        bush: None,
        shift: Shift::default(),
    };
    let load = Mass::kg(maker.rear - UNSPRUNG[0]).weight();
    let angle = corner.angle_at_trim(Length::mm(maker.trim + above))?;
    Ok(corner.free_angle_for(angle, load)?.to_deg())
}

/// What a hand writes, by the name of the number.
type Written = BTreeMap<String, String>;

struct Hand<'a> {
    dice: &'a mut Dice,
    written: Written,
}

impl Hand<'_> {
    fn put(&mut self, name: &str, text: String) {
        self.written.insert(name.to_owned(), text);
    }
    fn read(&mut self, name: &str, (value, unit): (f64, &str), u: f64) {
        let value = value + self.dice.normal(u);
        self.put(name, format!("{value:.2} {unit}"));
    }
    fn point(&mut self, name: &str, at: [f64; 3]) {
        let [x, y, z] = at.map(|mm| mm + self.dice.normal(1.5));
        self.put(name, format!("{x:.1}, {y:.1}, {z:.1} mm"));
    }
}

fn measured(maker: &Maker, dice: &mut Dice) -> Result<Written, Fault> {
    let manual = half(free(maker, maker.bars[0], 0.0, 0.0)?);
    let target = free(maker, maker.bars[1], maker.gas, maker.settling)?;
    let mut hand = Hand { dice, written: Written::new() };
    let old = maker.bars[0];
    hand.put("spec.free-angle", format!("{manual:.1} deg ± 0.5 deg"));
    hand.put("spec.free-angle.bar_diameter", format!("{old:.1} mm"));
    // The first series had thinner bars and the same arm.
    let before = half(free(maker, old - 1.0, 0.0, 0.0)?);
    hand.put("first", format!("value = \"{before:.1} deg ± 0.5 deg\""));
    hand.put("first.bar", format!("bar_diameter = \"{:.1} mm\"", old - 1.0));
    hand.put("spec.trim", format!("{:.0} mm ± 5 mm", maker.trim));
    hand.put("ride.plate_angle", format!("{:.1} deg", maker.ride));
    hand.read("bar.original_diameter", (old, "mm"), 0.03);
    hand.read("bar.fitted_diameter", (maker.bars[1], "mm"), 0.03);
    hand.read("bar.length", (maker.length, "mm"), 1.0);
    hand.read("load.corner_weight", (maker.rear, "kg"), 8.0);
    hand.read("front.corner_weight", (maker.front, "kg"), 8.0);
    // A damper without gas has no push to read: nought is what it is.
    let gas = if maker.gas == 0.0 {
        "0 N".to_owned()
    } else {
        let read = maker.gas + hand.dice.normal(20.0 / 3.0_f64.sqrt());
        format!("{read:.0} N ± 20 N")
    };
    hand.put("damper.fitted.gas", gas);
    hand.point("arm.wheel_centre", maker.wheel);
    hand.point("arm.inner_pivot", maker.pivot);
    hand.point("damper.body_eye", maker.damper[0]);
    hand.point("damper.arm_eye", maker.damper[1]);
    let [dx, dy, dz] = [maker.wheel[0] + 455.0, maker.hub_y - 610.0, maker.wheel[2] + 95.0];
    hand.put("arm.hub", format!("0, {:.0}, 0 mm", maker.hub_y));
    for (name, [x, y, z]) in [
        ("arm.mass_at", [-400.0, 590.0, -100.0]),
        ("arm.jack_point", [-440.0, 600.0, -150.0]),
        ("half_shaft.inner_joint", [-455.0, 170.0, -70.0]),
        ("hose.arm_end", [-260.0, 430.0, -30.0]),
        ("cable.arm_end", [-395.0, 520.0, -70.0]),
    ] {
        hand.point(name, [x + dx, y + dy, z + dz]);
    }
    hand.point("hose.body_end", [-150.0 + dx, 400.0 + dy, 30.0 + dz]);
    hand.point("cable.body_end", [-130.0 + dx, 200.0 + dy, 15.0 + dz]);
    for (name, [u, w]) in
        [("plate.hole_front", maker.holes[0]), ("plate.hole_rear", maker.holes[1])]
    {
        let [u, w] = [u, w].map(|mm| mm + hand.dice.normal(1.0));
        hand.put(name, format!("{u:.1}, {w:.1} mm"));
    }
    plates(&mut hand, target);
    masses(maker, &mut hand);
    Ok(hand.written)
}

/// Sills and plates, as one gauge shows them; the first fit is anywhere within a coarse tooth.
fn plates(hand: &mut Hand<'_>, target: f64) {
    let (slope, offset) = (hand.dice.normal(0.3), hand.dice.normal(0.2));
    for side in ["left", "right"] {
        let slope = slope + hand.dice.normal(0.05);
        let sill = format!("reading.sill-level.{side}");
        hand.read(&sill, (offset + slope, "deg"), 0.1);
        hand.read(&format!("{sill}.turned"), (offset - slope, "deg"), 0.1);
        let fit = target + hand.dice.within(9.0);
        let plate = format!("reading.plate-angle.{side}");
        hand.read(&plate, (fit + slope + offset, "deg"), 0.15);
    }
}

/// Stages that make the weights on the wheels: what is not the shell drawn, the shell the rest.
fn masses(maker: &Maker, hand: &mut Hand<'_>) {
    let sprung = [maker.rear - UNSPRUNG[0], maker.front - UNSPRUNG[1]].map(|kg| 2.0 * kg);
    let mut left = sprung[0] + sprung[1];
    let mut moment = sprung[0] * maker.wheel[0] + sprung[1] * FRONT_X;
    for (who, kg, x) in [
        ("engine and gearbox", 165.0, -480.0),
        ("fuel, half a tank", 18.0, 1750.0),
        ("doors, glass, trim, seats", 190.0, 333.0),
    ] {
        let kg = kg * (1.0 + hand.dice.within(0.1));
        left -= kg;
        moment -= kg * x;
        stage(hand, who, (kg, x));
    }
    let x = moment / left;
    stage(hand, "shell", (left, x));
    // On its stands with both arms, each 22 kg with its centre 400 mm behind the axis or so.
    let arms = 2.0 * 22.0;
    hand.read("shell.mass", (left + arms, "kg"), 20.0);
    let centre = (left * x - arms * 400.0) / (left + arms) + hand.dice.normal(50.0);
    hand.put("shell.mass_at", format!("{centre:.0}, 0, 250 mm"));
}

fn stage(hand: &mut Hand<'_>, who: &str, (kg, x): (f64, f64)) {
    hand.read(&format!("masses.{who}.mass"), (kg, "kg"), if kg < 50.0 { 1.0 } else { 5.0 });
    let x = x + hand.dice.normal(50.0);
    hand.put(&format!("masses.{who}.at"), format!("{x:.0}, 0 mm"));
}

/// The demo's file with a drawn car's numbers in it, and no round on its wheels.
pub fn car(number: u64) -> Result<String, Fault> {
    let mut dice = Dice::new(SEED, number, 0);
    let maker = draw(&mut dice);
    let written = measured(&maker, &mut dice)?;
    let end = LARCH.find("# Round one").unwrap_or(LARCH.len());
    let mut text = LARCH[..end].to_owned();
    for (name, was) in
        [("first", "value = \"34.0 deg ± 0.5 deg\""), ("first.bar", "bar_diameter = \"21 mm\"")]
    {
        text = text.replacen(was, written.get(name).map_or(was, String::as_str), 1);
    }
    let (file, _) = axlewright_book::read(&text);
    let mut all = sites::sites(&file);
    all.sort_by_key(|site| std::cmp::Reverse(site.span.start));
    for site in all {
        if let Some(value) = written.get(&site.name) {
            text.replace_range(site.span, &format!("\"{value}\""));
        }
    }
    Ok(text)
}

/// The sound cars that are called slips.
pub fn alarmed(cars: u64, threads: usize) -> Vec<Alarmed> {
    let (next, found) = (AtomicU64::new(0), Mutex::new(Vec::new()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    if cars <= at {
                        break;
                    }
                    let words = match car(at) {
                        Ok(text) => judge::alarms(&text),
                        Err(fault) => vec![format!("not made: {fault}")],
                    };
                    if let (false, Ok(mut all)) = (words.is_empty(), found.lock()) {
                        all.push(Alarmed { car: at, words });
                    }
                }
            });
        }
    });
    let mut all = found.into_inner().unwrap_or_default();
    all.sort_by_key(|one: &Alarmed| one.car);
    all
}

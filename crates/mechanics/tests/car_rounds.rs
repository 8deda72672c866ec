//! Rounds on the wheels: what the readings say, and moves that bring everything inside.

mod larch;
#[path = "larch/rounds.rs"]
mod rounds;

use std::time::{Duration, Instant};

use axlewright_mechanics::car::correct::{
    Adjusters, Band, Eccentrics, Goals, Screws, ToothTimes, correct, tooth_moves,
};
use axlewright_mechanics::car::learn::{Doubt, Reading, Round, learn};
use axlewright_mechanics::car::{Figure, Knob, Pair, Wheel};
use axlewright_mechanics::splines::{Ends, Splines};
use axlewright_quantity::{Angle, Force, Length, LinearRate, Mass, Ratio, Side};

#[test]
fn the_demo_round_is_explained_and_corrected() {
    let car = larch::car();
    let at = Instant::now();
    let lesson = learn(&car, &rounds::doubts(), &[rounds::first()]).unwrap();
    println!("learned in {:?}", at.elapsed());
    for k in &lesson.knobs {
        println!(
            "{:32} {:9.3} ± {:.3} (was {:.3}) {}",
            k.knob.name(),
            k.by.shown(),
            k.u.shown(),
            k.u_before.shown(),
            k.by.kind().unit()
        );
    }
    for r in &lesson.readings {
        let says: Vec<String> =
            r.says.iter().take(2).map(|(k, a)| format!("{} {:+.2}", k.name(), a.shown())).collect();
        println!(
            "{:24} {:8.3} expected {:8.3} left {:7.3} z {:5.2} {} {}",
            r.reading.figure.name(),
            r.reading.value.shown(),
            r.expected.shown(),
            r.left.shown(),
            r.z.to_one(),
            r.misread,
            says.join(", ")
        );
    }
    let at = Instant::now();
    let plan = correct(&lesson.car, &rounds::goals(), &rounds::adjusters()).unwrap();
    println!("corrected in {:?}", at.elapsed());
    println!(
        "{:?}\n{:#?}\nworst {}\n{:?}",
        plan.steps,
        plan.after_level,
        plan.worst.to_one(),
        plan.missed
    );
}

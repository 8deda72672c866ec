//! How long a whole car takes to come to rest, its slopes, a lesson and a plan of corrections:
//! `cargo bench -p axlewright-mechanics --bench car`.
//!
//! Every car differs from the one before in mass, centre and both free angles; each is solved from
//! its design position, nothing is kept.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a benchmark reads the clock; the crate itself does not"
)]

use std::hint::black_box;
use std::time::Instant;

use axlewright_mechanics::car::Car;
use axlewright_quantity::{Angle, Length, Mass};

#[path = "../tests/it/larch/mod.rs"]
mod larch;
#[path = "../tests/it/larch/rounds.rs"]
mod rounds;

const CARS: usize = 400;

/// Cars spread evenly and the same on every run (Weyl sequence on √2, √3, √5, √7).
fn cars() -> Vec<Car> {
    let spread = |n: usize, step: f64| (n as f64 * step).fract() - 0.5;
    let base = larch::car();
    let one = |n| {
        let mut car = base.clone();
        car.sprung.mass = car.sprung.mass + Mass::kg(200.0 * spread(n, std::f64::consts::SQRT_2));
        car.sprung.centre.y = Length::mm(40.0 * spread(n, 3_f64.sqrt()));
        car.rear.left.free = car.rear.left.free + Angle::deg(4.0 * spread(n, 5_f64.sqrt()));
        car.rear.right.free = car.rear.right.free + Angle::deg(4.0 * spread(n, 7_f64.sqrt()));
        car
    };
    (1..=CARS).map(one).collect()
}

/// Median over batches, µs per item.
fn median_us(items: usize, batches: usize, mut batch: impl FnMut()) -> f64 {
    batch();
    let mut taken: Vec<f64> = (0..batches)
        .map(|_| {
            let start = Instant::now();
            batch();
            start.elapsed().as_nanos() as f64 * 1e-3 / items as f64
        })
        .collect();
    taken.sort_by(f64::total_cmp);
    taken[taken.len() / 2]
}

fn main() {
    let cars = cars();
    let mut steps = 0;
    for car in &cars {
        steps += car.rest().expect("a car stands").steps;
    }
    let rest = median_us(CARS, 31, || {
        for car in black_box(&cars) {
            black_box(car.rest().ok());
        }
    });
    let slopes = median_us(CARS, 15, || {
        for car in black_box(&cars) {
            black_box(car.rest_with_slopes().ok());
        }
    });
    let (base, round) = (larch::car(), [rounds::first()]);
    let doubts = rounds::doubts();
    let learn = median_us(1, 15, || {
        black_box(axlewright_mechanics::car::learn::learn(&base, &doubts, &round).ok());
    });
    let (goals, adjusters) = (rounds::goals(), rounds::adjusters());
    let lesson = axlewright_mechanics::car::learn::learn(&base, &doubts, &round).expect("learns");
    let pairs = adjusters.teeth.left.len() * adjusters.teeth.right.len();
    let plan = median_us(1, 7, || {
        black_box(
            axlewright_mechanics::car::correct::correct(&lesson.car, &goals, &adjusters).ok(),
        );
    });
    println!("one core, {CARS} different cars, median of batches\n");
    println!("{:<52}{rest:>10.1} µs", "whole car at rest");
    println!("{:<52}{:>10.1}", "   Newton steps a car", f64::from(steps) / CARS as f64);
    println!("{:<52}{slopes:>10.1} µs", "with slopes of 17 figures for every knob");
    println!("{:<52}{learn:>10.0} µs", "learning 17 knobs from ten readings");
    println!("{:<52}{plan:>10.0} µs", format!("corrections, {pairs} pairs of tooth moves"));
}

//! Cars and restorers by the thousand: each knows what he measured, the world has the truth.
//!
//! ```text
//!   truth ── tape, scales, gauge, each with its error ──→ file ──→ tool ──→ moves
//!     ↑                                                                      │
//!     └───────────── hands: miscounts, marks missed a little ────────────────┘
//!   judged by the truth; what the readings say stands beside it
//! ```

pub mod bench;
pub mod dice;
pub mod wheels;
pub mod world;

use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

use axlewright_mechanics::car::Pair;
use axlewright_quantity::Side;

use bench::Hung;
use dice::Dice;
use wheels::{Done, as_filed, assembled};
use world::{File, Made, errors};

/// Whatever goes wrong with one car: it is counted, never left out silently.
pub type Fault = Box<dyn std::error::Error + Send + Sync>;

/// How carefully he reads and counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Procedure {
    /// The gauge laid on the plate afresh so many times, the mean taken.
    pub plate_readings: u32,
    /// The same on the sill.
    pub sill_readings: u32,
    /// Share of the level's variance that no repeating takes off.
    pub level_lasts: f64,
    /// Every move of teeth counted again from the paint marks before it is drawn home.
    pub count_twice: bool,
    /// Trim read after lift and let go and after push and let go, the mean taken.
    pub lift_and_push: bool,
    /// Rolled, settled and read so many times.
    pub settlings: u32,
    /// Camber and toe read so many times.
    pub alignment_readings: u32,
    /// On the scales so many times, before strip-down and in each round.
    pub weighings: u32,
    /// Shares of the tolerances that a plan may use up: the first that can be had.
    pub keeps: &'static [f64],
}

impl Procedure {
    /// One reading of each, one count.
    pub const PLAIN: Self = Self {
        plate_readings: 1,
        sill_readings: 1,
        level_lasts: 0.5,
        count_twice: false,
        lift_and_push: false,
        settlings: 1,
        alignment_readings: 1,
        weighings: 1,
        keeps: &[0.5, 0.6, 0.7, 0.8, 0.9, 1.0],
    };
    /// What the guide advises.
    pub const ADVISED: Self = Self {
        plate_readings: 6,
        sill_readings: 6,
        count_twice: true,
        lift_and_push: true,
        settlings: 3,
        alignment_readings: 4,
        weighings: 3,
        ..Self::PLAIN
    };

    /// A tooth too many or too few, per end.
    pub fn miscount(&self) -> f64 {
        // Counted twice, both counts have to be wrong by the same tooth.
        if self.count_twice { errors::MISCOUNT.powi(2) / 2.0 } else { errors::MISCOUNT }
    }

    /// How sure a plate's angle is, deg.
    pub fn index_u(&self) -> f64 {
        let plate = errors::GAUGE.powi(2) + errors::LASH.powi(2) / 3.0;
        let sill = errors::LEVEL.powi(2);
        let scatter = sill * (1.0 - self.level_lasts);
        let once = plate / f64::from(self.plate_readings) + scatter / f64::from(self.sill_readings);
        (once + sill * self.level_lasts).sqrt()
    }
}

/// One restorer's way with one car.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    pub hung: Pair<Hung>,
    pub done: Done,
}

/// One car, done in every way.
#[derive(Debug, Clone, Copy)]
pub struct Outcome {
    /// Vernier step, deg.
    pub step: f64,
    /// Millimetres of trim per vernier step.
    pub mm_per_step: f64,
    /// With scales.
    pub advised: Way,
    /// With scales.
    pub plain: Way,
    /// Weights from the book; on the wheels as the first.
    pub advised_by_book: Way,
    /// Scales, but no tool.
    pub by_hand: Way,
}

fn way(
    (made, file): (&Made, &File),
    (seed, car, stream): (u64, u64, u64),
    procedure: Option<&Procedure>,
) -> Result<Way, Fault> {
    let mut wanted = Pair::both(axlewright_quantity::Angle::ZERO);
    for side in Side::BOTH {
        wanted[side] = file.plates[side].hang(file.car.rear[side].free)?;
    }
    let hung = bench::both(|side| {
        // Where a plate is first put on is the same in every way: one stream for each side.
        let own = stream + u64::from(side == Side::Right);
        let mut dice = Dice::new(seed, car, own);
        let at = (&file.splines, wanted[side]);
        match procedure {
            Some(procedure) => bench::by_tool(at, &mut dice, *procedure),
            None => Ok(bench::by_hand(at, &mut dice)),
        }
    })?;
    let mut dice = Dice::new(seed, car, stream + 2);
    let real = assembled(&made.truth, hung.map(|h| h.angle))?;
    let done = match procedure {
        Some(procedure) => {
            let filed = as_filed(file, hung.map(|h| h.taken_for))?;
            wheels::by_tool(&made.truth, file, (real, filed), &mut dice, procedure)?
        }
        None => wheels::by_hand(&made.truth, file, real, &mut dice)?,
    };
    Ok(Way { hung, done })
}

/// One car.
pub fn one(seed: u64, car: u64, advised: &Procedure) -> Result<Outcome, Fault> {
    let made = world::make(seed, car, advised.weighings)?;
    let step = made.truth.splines.vernier_step().to_deg();
    let once = (&made, &made.weighed_once);
    Ok(Outcome {
        step,
        mm_per_step: step * made.weighed.mm_per_deg.left,
        advised: way((&made, &made.weighed), (seed, car, 16), Some(advised))?,
        plain: way(once, (seed, car, 32), Some(&Procedure::PLAIN))?,
        advised_by_book: way((&made, &made.by_book), (seed, car, 48), Some(advised))?,
        by_hand: way(once, (seed, car, 64), None)?,
    })
}

/// All cars, on all threads, in their order; what went wrong with those that have no outcome.
pub fn all(
    (seed, cars, threads): (u64, u64, usize),
    advised: &Procedure,
    told: &(dyn Fn(u64) + Sync),
) -> (Vec<Outcome>, Vec<String>) {
    let next = AtomicU64::new(0);
    let found: Mutex<Vec<(u64, Result<Outcome, String>)>> = Mutex::new(Vec::new());
    std::thread::scope(|scope| {
        for _ in 0..threads.max(1) {
            scope.spawn(|| {
                loop {
                    let car = next.fetch_add(1, Ordering::Relaxed);
                    if car >= cars {
                        break;
                    }
                    let outcome = one(seed, car, advised).map_err(|e| format!("car {car}: {e}"));
                    let Ok(mut found) = found.lock() else { break };
                    found.push((car, outcome));
                    told(found.len() as u64);
                }
            });
        }
    });
    let mut found = found.into_inner().unwrap_or_default();
    found.sort_by_key(|(car, _)| *car);
    let (mut outcomes, mut faults) = (Vec::new(), Vec::new());
    for (_, outcome) in found {
        match outcome {
            Ok(outcome) => outcomes.push(outcome),
            Err(why) => faults.push(why),
        }
    }
    (outcomes, faults)
}

/// So many of so many.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Share {
    pub hits: u32,
    pub of: u32,
}

impl Share {
    pub fn of(each: impl Iterator<Item = bool>) -> Self {
        each.fold(Self::default(), |s, hit| Self { hits: s.hits + u32::from(hit), of: s.of + 1 })
    }
    pub fn value(&self) -> f64 {
        f64::from(self.hits) / f64::from(self.of.max(1))
    }
    /// Where the share lies 95 times in 100 (`[SHARES]` in `docs/sources.md`).
    pub fn between(&self) -> (f64, f64) {
        let (n, p, z) = (f64::from(self.of.max(1)), self.value(), 1.96);
        let middle = p + z * z / (2.0 * n);
        let half = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
        let below = 1.0 + z * z / n;
        ((middle - half) / below, (middle + half) / below)
    }
}

//! The ladder of corrections, by what is touched: nothing, eccentrics, front screws, bars. A rung
//! is climbed only for the manual's tolerances; what an owner wishes besides is shown beside it,
//! and a bar is drawn for no wish.
//!
//! ```text
//!   the manual ─→ eccentrics ─→ + front screws ─→ + bars     the lowest that does it, on top
//!   the wish   ─→ eccentrics ─→ + front screws               beside it
//!   more room  ─→ eccentrics,     front screws,   bars       what a bar would add, last
//! ```

use axlewright_mechanics::car::correct::{self, Adjusters, Band, Goals, Plan};
use axlewright_mechanics::car::{Car, CarError, Pair};
use axlewright_quantity::{Angle, Ratio};

/// Shares of a tolerance that a prediction with bars may use up, the first that can be had: what is
/// not known must not throw it out again. Own choice; what it is worth stands in
/// `docs/workshop.md`.
const KEEPS: [f64; 6] = [0.5, 0.6, 0.7, 0.8, 0.9, 1.0];
/// Cross weight that nobody judges stays so near to where it would have been. Own choice: what a
/// wish is usually stated with.
const HELD: f64 = 0.005;
/// A bar that leaves less of the worst tolerance free than this adds nothing. Own choice.
const ADDS: f64 = 0.02;

/// What a rung is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum For {
    /// What the manual's tolerances need.
    Manual,
    /// What the owner's wish adds.
    Wish,
    /// What a bar would add.
    Bars,
}

impl For {
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Manual => "manual",
            Self::Wish => "wish",
            Self::Bars => "bars",
        }
    }
}

/// A plan, with what it was sought for.
#[derive(Debug, Clone)]
pub(super) struct Rung {
    pub(super) what: For,
    pub(super) plan: Plan,
    pub(super) goals: Goals,
}

impl Rung {
    pub(super) fn has_teeth(&self) -> bool {
        self.plan.teeth.left.change != Angle::ZERO || self.plan.teeth.right.change != Angle::ZERO
    }

    /// The largest share of a whole tolerance that is used up.
    pub(super) fn used(&self) -> f64 {
        self.plan.worst.to_one() * self.goals.keep.to_one()
    }
}

/// What may be turned on a rung: the first touches eccentrics alone, the last everything.
fn allowed(all: &Adjusters) -> [Adjusters; 3] {
    let none = Pair::both(Vec::new());
    [
        Adjusters { teeth: none.clone(), screws: None, eccentrics: all.eccentrics },
        Adjusters { teeth: none, screws: all.screws, eccentrics: all.eccentrics },
        all.clone(),
    ]
}

/// The plan with room to spare where bars are drawn anyway.
fn with_room(car: &Car, goals: &Goals, adjusters: &Adjusters) -> Result<(Plan, Goals), CarError> {
    let with = |keep: &f64| Goals { keep: Ratio::one(*keep), ..*goals };
    let mut goals = with(&KEEPS[0]);
    let mut plan = correct::correct(car, &goals, adjusters)?;
    for keep in &KEEPS[1..] {
        if plan.missed.is_empty() {
            break;
        }
        goals = with(keep);
        plan = correct::correct(car, &goals, adjusters)?;
    }
    Ok((plan, goals))
}

/// The rungs, the one to take first.
pub(super) fn climb(car: &Car, goals: &Goals, all: &Adjusters) -> Result<Vec<Rung>, CarError> {
    let foretold = car.on_level_floor().rest()?.cross_weight;
    let held = Some(Band { target: foretold, within: Ratio::one(HELD) });
    let manual = Goals { cross_weight: None, ..*goals };
    let [turned, screwed, drawn] = allowed(all);
    // Eccentrics leave cross weight where it is; screws and bars are to hold it.
    let steady = Goals { cross_weight: held, ..manual };
    let mut first =
        Rung { what: For::Manual, plan: correct::correct(car, &manual, &turned)?, goals: manual };
    if !first.plan.missed.is_empty() && all.screws.is_some() {
        let plan = correct::correct(car, &steady, &screwed)?;
        if plan.missed.len() < first.plan.missed.len() {
            first = Rung { what: For::Manual, plan, goals: steady };
        }
    }
    let has_teeth = [&all.teeth.left, &all.teeth.right].iter().any(|moves| 1 < moves.len());
    if !first.plan.missed.is_empty() && has_teeth {
        let (plan, goals) = with_room(car, &steady, &drawn)?;
        if plan.missed.len() < first.plan.missed.len() {
            first = Rung { what: For::Manual, plan, goals };
        }
    }
    let mut rungs = vec![first];
    if goals.cross_weight.is_some() {
        rungs.extend(wished(car, goals, &rungs, [&screwed, &drawn])?);
    }
    let higher = rungs.iter().any(Rung::has_teeth);
    if !higher && has_teeth && rungs.iter().all(|rung| rung.plan.missed.is_empty()) {
        let wanted = if goals.cross_weight.is_some() { *goals } else { steady };
        let (plan, goals) = with_room(car, &wanted, &drawn)?;
        let bars = Rung { what: For::Bars, plan, goals };
        let used = rungs.last().map_or(f64::MAX, Rung::used);
        if bars.has_teeth() && bars.plan.missed.is_empty() && bars.used() < used - ADDS {
            rungs.push(bars);
        }
    }
    Ok(rungs)
}

/// What the wish adds to the first rung; nothing where that meets it, or where nothing does.
fn wished(
    car: &Car,
    goals: &Goals,
    rungs: &[Rung],
    [screwed, drawn]: [&Adjusters; 2],
) -> Result<Option<Rung>, CarError> {
    let (Some(first), Some(wish)) = (rungs.first(), goals.cross_weight) else { return Ok(None) };
    let off = |plan: &Plan| {
        (plan.after_level.cross_weight.to_one() - wish.target.to_one()).abs() / wish.within.to_one()
    };
    if off(&first.plan) <= 1.0 || screwed.screws.is_none() {
        return Ok(None);
    }
    // Teeth that the manual asks for stay those; no other tooth is moved for a wish.
    let teeth = Pair { left: vec![first.plan.teeth.left], right: vec![first.plan.teeth.right] };
    let fixed = Adjusters { teeth, ..drawn.clone() };
    let adjusters = if first.has_teeth() { &fixed } else { screwed };
    let plan = correct::correct(car, goals, adjusters)?;
    let better = plan.missed.len() <= first.plan.missed.len() && off(&plan) < off(&first.plan);
    Ok(better.then_some(Rung { what: For::Wish, plan, goals: *goals }))
}

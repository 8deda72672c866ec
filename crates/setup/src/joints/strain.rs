//! What a torque does to the bolt: preload, and what that asks of the metal.

use axlewright_mechanics::joints::preload::{Demand, PreloadRange};
use axlewright_mechanics::joints::{FrictionRange, JointError};
use axlewright_quantity::{Amount, Force, Ratio};

use super::case::{Case, Listed};
use super::setting::Reach;
use crate::finding::{Input, Item, Leaf, Why};

/// How far off a click wrench may be of which nothing else is known: ±4 %.
///
/// ISO 6789, setting tools of class A.
const WRENCH_TOLERANCE: Ratio = Ratio::one(0.04);

/// Preload and demand of one joint.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strain {
    pub(super) friction: FrictionRange,
    pub(super) tolerance: Ratio,
    tolerance_from: String,
    /// Friction and wrench together.
    pub(super) range: PreloadRange,
    /// With a wrench that reads true: the friction alone.
    pub(super) rub: PreloadRange,
    /// Standard uncertainty of the middle: friction, wrench, and the list's own if it states one.
    pub(super) u: Force,
    pub(super) demand: Option<Demands>,
}

/// What the bolt bears: at the middle of the friction, and at its ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Demands {
    pub(super) middle: Demand,
    pub(super) least: Demand,
    pub(super) most: Demand,
}

/// Computes it where thread, face, surface and torque are known.
pub(super) fn strain(case: &Case) -> Result<Option<Strain>, JointError> {
    let (Some(bolt), Some(listed), Some(now)) = (&case.bolt, &case.listed, case.now) else {
        return Ok(None);
    };
    let (tolerance, tolerance_from) = match &case.reach {
        Some(Reach::Set { owned, .. }) => (owned.tolerance, owned.tolerance_from.clone()),
        _ => (WRENCH_TOLERANCE, "ISO 6789, for a sound click wrench".to_owned()),
    };
    let friction = now.range();
    let range = bolt.range(listed.torque, &friction, tolerance)?;
    let rub = bolt.range(listed.torque, &friction, Ratio::ZERO)?;
    let share = listed.u.map_or(0.0, |u| u / listed.torque);
    let u = Force::n(range.u.to_n().hypot(range.middle.to_n() * share));
    let demand = match &case.strength {
        Some(strength) => Some(Demands {
            middle: bolt.demand(rub.middle, &friction.middle(), strength)?,
            least: bolt.demand(rub.least, &friction.most(), strength)?,
            most: bolt.demand(rub.most, &friction.least(), strength)?,
        }),
        None => None,
    };
    Ok(Some(Strain { friction, tolerance, tolerance_from, range, rub, u, demand }))
}

fn leaf(value: impl Into<Amount>, u: impl Into<Amount>) -> Item {
    Item::Leaf(Leaf { value: value.into(), u: Some(u.into()), written: None })
}

impl Strain {
    /// Pull and twist together, of yield, at the middle of the friction.
    pub(super) fn of_yield(&self) -> Option<Ratio> {
        self.demand.map(|demand| demand.middle.of_yield)
    }

    /// The value of `joint.preload`.
    pub(super) fn preload(&self) -> Item {
        Item::Object(vec![
            ("preload", leaf(self.rub.middle, self.u)),
            ("least", Item::leaf(self.rub.least)),
            ("most", Item::leaf(self.rub.most)),
            ("tightening_factor", Item::leaf(self.range.tightening_factor())),
        ])
    }

    /// The value of `joint.utilisation`; its u by the same rule as the preload's.
    pub(super) fn utilisation(&self) -> Option<Item> {
        let Demands { middle, least, most } = self.demand.as_ref()?;
        // The wrench moves both shares in proportion; so does the list.
        let shift = self.u_of_torque();
        let u = |share: fn(&Demand) -> Ratio| {
            let rub = (share(most) - share(least)).to_one().abs() / 2.0 / 3.0_f64.sqrt();
            Ratio::one(rub.hypot(share(middle).to_one() * shift))
        };
        Some(Item::Object(vec![
            ("of_yield", leaf(middle.of_yield, u(|d| d.of_yield))),
            ("of_proof", leaf(middle.of_proof, u(|d| d.of_proof))),
            ("of_yield_most", Item::leaf(most.of_yield)),
            ("of_proof_least", Item::leaf(least.of_proof)),
            ("reduced_stress", Item::leaf(middle.reduced)),
        ]))
    }

    /// Standard uncertainty of the torque as a share: what of u is not friction.
    fn u_of_torque(&self) -> f64 {
        let all = self.u / self.rub.middle;
        let rub = self.u_of_friction();
        (all * all - rub * rub).max(0.0).sqrt()
    }

    fn u_of_friction(&self) -> f64 {
        (self.rub.most - self.rub.least) / self.rub.middle / 2.0 / 3.0_f64.sqrt()
    }

    fn inputs(&self, case: &Case, listed: &Listed) -> Vec<Input> {
        let total = (self.u / self.rub.middle).powi(2);
        let share = |part: f64| (0.0 < total).then(|| (part * part / total).min(1.0));
        let wrench = self.tolerance.to_one() / 3.0_f64.sqrt();
        let list = listed.u.map_or(0.0, |u| u / listed.torque);
        let (least, most) = (self.friction.least().head(), self.friction.most().head());
        let spread = (most - least).to_one() / 2.0 / 3.0_f64.sqrt();
        let surface = case.now.map_or("", |now| now.words());
        let statements = case.now.map_or(&[][..], |now| now.statements());
        let sources: Vec<&str> = statements.iter().map(|told| told.source).collect();
        let mut inputs = vec![
            Input {
                name: format!("friction in the thread and under the head, {surface}"),
                value: Some(self.friction.middle().head().into()),
                u: Some(Ratio::one(spread).into()),
                from: sources.join("; "),
                share: share(self.u_of_friction()),
            },
            Input {
                name: "what the wrench gives of its reading".to_owned(),
                value: Some(Ratio::one(1.0).into()),
                u: Some(Ratio::one(wrench).into()),
                from: self.tolerance_from.clone(),
                share: share(wrench),
            },
            Input {
                name: "torque at the bolt".to_owned(),
                value: Some(listed.torque.into()),
                u: listed.u.map(Amount::from),
                from: listed.from.clone(),
                share: listed.u.and_then(|_| share(list)),
            },
        ];
        inputs.extend(case.bolt.map(|bolt| Input {
            name: format!("thread {}, face under the head, mean", bolt.thread()),
            value: Some(bolt.face().friction_diameter().into()),
            u: None,
            from: case.from.clone(),
            share: None,
        }));
        inputs
    }

    /// The reasons of `joint.preload`.
    pub(super) fn why_preload(&self, case: &Case, listed: &Listed) -> Why {
        let apart = case.now.filter(|now| now.disagree()).map_or("", |_| {
            " What is printed about this surface disagrees with itself; the range takes in all of \
             it."
        });
        Why {
            words: format!(
                "Each bolt pulls with about {:.1} kN: {:.1} kN if it rubs as much as this surface \
                 may, {:.1} kN if as little. A wrench good to {:.0} % adds to that. This is \
                 information; the manual's torque is what is set.{apart}",
                self.rub.middle.to_kn(),
                self.rub.least.to_kn(),
                self.rub.most.to_kn(),
                self.tolerance.to_percent(),
            ),
            formula: "F = T/(½·d₂·tan(φ + ρ′) + ½·D_km·μ); u² = (half the spread over μ)²/3 + \
                      (F·tolerance)²/3",
            source: "VDI 2230, exact form; JCGM 100:2008, 4.3.7 and 5.1.2",
            inputs: self.inputs(case, listed),
        }
    }

    /// The reasons of `joint.utilisation`.
    pub(super) fn why_utilisation(&self, case: &Case, listed: &Listed) -> Why {
        let middle = self.demand.map(|demands| demands.middle);
        let most = self.demand.map(|demands| demands.most);
        let percent = |share: Option<Ratio>| share.map_or(f64::NAN, |share| share.to_percent());
        let class = case.class.map_or("", |class| class.name());
        let over = most.filter(|demand| Ratio::one(1.0) < demand.of_yield).map_or("", |_| {
            " So much would stretch it for good: if it turns on and the torque no longer rises, \
             stop and renew it."
        });
        let nut = case.class.filter(|class| class.is_nut()).map_or("", |_| {
            " Only the nut's class is known: taken is the strongest bolt it is made for, so the \
             true share may be higher."
        });
        Why {
            words: format!(
                "Pull and twist together reach {:.0} % of the yield of class {class}, {:.0} % if \
                 it rubs as little as it may; the pull alone is {:.0} % of the proof load. Aimed \
                 at is under 90 % of yield and over 40 % of proof.{over}{nut}",
                percent(middle.map(|demand| demand.of_yield)),
                percent(most.map(|demand| demand.of_yield)),
                percent(middle.map(|demand| demand.of_proof)),
            ),
            formula: "σ_red = √(σ² + 3·τ²) over R_p0.2; F over S_p·A_s",
            source: "VDI 2230 for σ_red; ISO 898-1:2013 for yield and proof load",
            inputs: self.inputs(case, listed),
        }
    }
}

//! Builds of one corner: the same car put together many times, each time with parts and readings
//! a little other than they are thought to be.
//!
//! ```text
//!   gauge says θ₀, the bar stands at θ₀ + errors of reading, level and lash
//!        │
//!        ▼          a bar, a damper, a weight, an arm that are each a little off
//!   ride angle θ:  k(θ₀ − θ) + k_b(θ_b − θ) + P·dℓ/dθ = F·(−dz/dθ)
//!        │
//!        ▼
//!   trim = hub's height − wheel centre's − settling      → within tolerance, or once more
//!   read = trim + friction
//! ```
//!
//! | symbol | meaning | here |
//! |---|---|---|
//! | θ₀ | free angle as the gauge tells it, weights taken out | [`Ask::free`] |
//! | θ | plate angle on the wheels, before settling | [`Told::Ride`] |
//! | trim | bar axis above wheel centre, settled | [`Told::Trim`] |
//! | – | the same as the tape finds it | [`Told::TrimRead`] |
//! | θ₀* | free angle this build would have needed for the wanted trim | [`Told::FreeNeeded`] |
//!
//! **Model.** Per build the load equation of [`crate::load`] is solved for the ride angle, with
//! every input of that build, by [`crate::load::Corner`]: no linear short cut. The search begins
//! where the best values rest.
//!
//! **Limits.** Those of [`crate::load`]. Camber and toe are those before settling. Inputs of one
//! corner are independent; what both corners share (one batch of steel, one gauge) is named in
//! [`Ask::shared`], and is then the same number in the same build of both.
//!
//! **Source.** JCGM 101, 7; the model is that of [`crate::load`], checked against it build by
//! build, and against a peer in NumPy (`reference/bench_chance.py`).

use axlewright_quantity::{Amount, Angle, Kind, Length, Mass, Ratio, Side, TorsionalRate};

use super::draw::Well;
use super::{ChanceError, Distribution, Draws, Ended, Outcomes, Plan, Shape, Tally, Watch, blocks};
use crate::arm::ArmDesign;
use crate::bar::BarSize;
use crate::lever::LeverDesign;
use crate::linkage::Shift;
use crate::load::{Bush, Gas};

mod build;
mod item;

pub use item::{Item, Measuring};

use build::{Asked, Model, Start};
use item::COUNT;

/// One number per item, in SI units.
type Numbers = [f64; COUNT];

/// What carries the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Carrier {
    /// A rigid arm between plate and inner pivot.
    Arm(ArmDesign),
    /// A plain lever about the bar's axis.
    Lever(LeverDesign),
}

/// How the bar's rate is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spring {
    /// From its measures.
    Size(BarSize),
    /// From a test or the manual.
    Rate(TorsionalRate),
}

/// A corner as it is thought to be: best values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// What carries the wheel.
    pub carrier: Carrier,
    /// The bar.
    pub spring: Spring,
    /// Share of the bar's rate left by a yielding anchor, 1 for none lost.
    pub rate_share: Ratio,
    /// Gas damper, when it has gas.
    pub gas: Option<Gas>,
    /// Rubber bush that twists with the plate, if any.
    pub bush: Option<Bush>,
    /// Where the eccentrics stand.
    pub shift: Shift,
    /// What the scale under the wheel shows in the load state that the trim is for.
    pub weight: Mass,
    /// Wheel-equivalent unsprung mass in it.
    pub unsprung: Mass,
    /// Trim that bar and bushes will lose, + lower.
    pub settling: Length,
}

/// How sure one number is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Which.
    pub item: Item,
    /// Standard uncertainty, k = 1, of the item's kind.
    pub u: Amount,
    /// Shape of the distribution.
    pub shape: Shape,
}

/// A corner with all its doubts, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    best: Best,
    numbers: Numbers,
    doubts: Vec<Doubt>,
    model: Model,
}

/// What is asked of every build.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ask<'a> {
    /// Free angle to which the plate is indexed, as the gauge tells it.
    pub free: Angle,
    /// Trim that is wanted after settling.
    pub trim: Length,
    /// Which corner: left and right draw different numbers.
    pub side: Side,
    /// Items that are one number for both corners.
    pub shared: &'a [Item],
}

impl Ask<'_> {
    const fn si(&self) -> Asked {
        Asked { free: self.free.to_rad(), trim: self.trim.to_m() }
    }
}

/// What a build tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Told {
    /// Trim, settled.
    Trim,
    /// Trim, settled, as it is read with friction in it.
    TrimRead,
    /// Plate angle on the wheels, before settling.
    Ride,
    /// The free angle this build would have needed for the wanted trim, true, not as read.
    FreeNeeded,
    /// Camber before settling, + top outward.
    Camber,
    /// Toe before settling, + toe-in.
    Toe,
}

impl Told {
    /// All of them.
    pub const ALL: [Self; OUTCOMES] =
        [Self::Trim, Self::TrimRead, Self::Ride, Self::FreeNeeded, Self::Camber, Self::Toe];

    /// What kind of quantity it is.
    ///
    /// # Source
    /// The quantity's definition.
    pub const fn kind(self) -> Kind {
        match self {
            Self::Trim | Self::TrimRead => Kind::Length,
            Self::Ride | Self::FreeNeeded | Self::Camber | Self::Toe => Kind::Angle,
        }
    }
}

/// How many outcomes a build has.
const OUTCOMES: usize = 6;

/// Builds of one corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Builds {
    draws: Draws<OUTCOMES>,
}

/// What is good enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Least trim.
    pub low: Length,
    /// Most trim.
    pub high: Length,
    /// Most that left and right may differ, where it matters.
    pub left_right: Option<Length>,
}

impl Case {
    /// A corner and how sure its numbers are. What is not listed is taken as exact: the caller
    /// says so by leaving it out.
    ///
    /// # Errors
    /// An uncertainty of another kind, below zero or listed twice; a corner that makes no sense.
    pub fn new(best: Best, doubts: &[Doubt]) -> Result<Self, ChanceError> {
        let mut sorted = doubts.to_vec();
        sorted.sort_by_key(|doubt| doubt.item);
        for doubt in &sorted {
            if doubt.u.kind() != doubt.item.kind() {
                let (found, wanted) = (doubt.u.kind(), doubt.item.kind());
                return Err(ChanceError::Kind { what: doubt.item.words(), found, wanted });
            }
            Distribution::new(Amount::from_si(doubt.item.kind(), 0.0), doubt.u, doubt.shape)?;
        }
        if sorted.iter().zip(sorted.iter().skip(1)).any(|(a, b)| a.item == b.item) {
            return Err(ChanceError::Nonsense { what: "an item listed twice" });
        }
        sorted.retain(|doubt| 0.0 < doubt.u.to_si());
        let numbers = build::numbers(&best);
        for (item, number) in Item::ALL.iter().zip(&numbers) {
            if !number.is_finite() {
                return Err(ChanceError::Nonsense { what: item.words() });
            }
        }
        let model = Model::new(&best);
        model.corner(&numbers)?;
        Ok(Self { best, numbers, doubts: sorted, model })
    }

    /// The best values.
    pub const fn best(&self) -> &Best {
        &self.best
    }

    /// The doubts, in the items' order.
    pub fn doubts(&self) -> &[Doubt] {
        &self.doubts
    }

    /// The same with another standard uncertainty for some items; an item without doubt stays
    /// without.
    ///
    /// # Errors
    /// An uncertainty of another kind or below zero.
    pub fn with(&self, u: impl Fn(&Doubt) -> Amount) -> Result<Self, ChanceError> {
        let doubts: Vec<Doubt> =
            self.doubts.iter().map(|doubt| Doubt { u: u(doubt), ..*doubt }).collect();
        Self::new(self.best, &doubts)
    }

    /// What the best values alone tell.
    ///
    /// # Valid for
    /// One build with no doubt in it, friction and errors of reading zero.
    /// # Errors
    /// When there is no such ride angle, or no angle gives the wanted trim.
    pub fn plain(&self, ask: &Ask<'_>) -> Result<[Amount; 6], ChanceError> {
        let told = self.model.build(&self.numbers, ask.si(), None)?;
        let mut told = told.into_iter();
        Ok(Told::ALL.map(|which| Amount::from_si(which.kind(), told.next().unwrap_or(f64::NAN))))
    }

    /// What each doubt alone adds to one of the things told, with its sign.
    ///
    /// # Valid for
    /// Outcomes that are nearly straight over one standard uncertainty.
    /// # Errors
    /// When a build moved by one uncertainty cannot be put together.
    /// # Source
    /// JCGM 100:2008, 5.1.3 note 2: half the difference between + u and − u.
    pub fn parts(&self, ask: &Ask<'_>, told: Told) -> Result<Vec<(Item, Amount)>, ChanceError> {
        let part = |doubt: &Doubt| {
            let moved = |by: f64| {
                let mut numbers = self.numbers;
                let at = numbers.get_mut(doubt.item.number());
                at.into_iter().for_each(|n| *n += by * doubt.u.to_si());
                let build = self.model.build(&numbers, ask.si(), None)?;
                build.get(told as usize).copied().ok_or(ChanceError::NoOutcome)
            };
            let half = 0.5 * (moved(1.0)? - moved(-1.0)?);
            Ok((doubt.item, Amount::from_si(told.kind(), half)))
        };
        self.doubts.iter().map(part).collect()
    }

    /// Many builds.
    ///
    /// # Accuracy
    /// Each build to 1e-9 rad of ride angle; shares to what so many draws allow.
    /// # Errors
    /// Too few or too many draws; best values for which there is no ride angle.
    /// # Source
    /// JCGM 101, 7; [`crate::load`] for each build.
    pub fn builds(
        &self,
        ask: &Ask<'_>,
        plan: Plan,
        watch: Watch<'_>,
    ) -> Result<Builds, ChanceError> {
        let asked = ask.si();
        self.model.build(&self.numbers, asked, None)?;
        let start = self.model.start(&self.numbers, asked);
        let well = Well::new(plan.seed);
        let streams: Vec<(usize, f64, Shape, u64)> = self
            .doubts
            .iter()
            .map(|doubt| {
                let own = ask.side == Side::Right && !ask.shared.contains(&doubt.item);
                let stream = doubt.item.number() + if own { COUNT } else { 0 };
                (doubt.item.number(), doubt.u.to_si(), doubt.shape, stream as u64)
            })
            .collect();
        let work = |block: u64, len: usize| {
            let drawn: Vec<(usize, Vec<f64>)> = streams
                .iter()
                .map(|&(item, u, shape, stream)| {
                    let mut column = vec![0.0; len];
                    well.stream(stream, block).fill(shape, &mut column);
                    column.iter_mut().for_each(|z| *z *= u);
                    (item, column)
                })
                .collect();
            self.block(&drawn, len, asked, start)
        };
        let draws = blocks(Told::ALL.map(Told::kind), plan, work, watch)?;
        Ok(Builds { draws })
    }

    fn block(
        &self,
        drawn: &[(usize, Vec<f64>)],
        len: usize,
        asked: Asked,
        start: Option<Start>,
    ) -> [Vec<f64>; OUTCOMES] {
        let mut columns: [Vec<f64>; OUTCOMES] = std::array::from_fn(|_| vec![f64::NAN; len]);
        for n in 0..len {
            let mut numbers = self.numbers;
            for (item, column) in drawn {
                if let (Some(x), Some(dx)) = (numbers.get_mut(*item), column.get(n)) {
                    *x += dx;
                }
            }
            let told = self.model.build(&numbers, asked, start);
            let told = told.ok().filter(|told| told.iter().all(|y| y.is_finite()));
            let told = told.unwrap_or([f64::NAN; OUTCOMES]);
            for (column, y) in columns.iter_mut().zip(told) {
                column.get_mut(n).into_iter().for_each(|place| *place = y);
            }
        }
        columns
    }
}

impl Builds {
    /// One of the things told, over all builds.
    pub fn of(&self, told: Told) -> Outcomes {
        Outcomes::new(told.kind(), self.column(told).to_vec())
    }

    fn column(&self, told: Told) -> &[f64] {
        self.draws.columns.get(told as usize).map_or(&[], Vec::as_slice)
    }

    /// Builds made.
    pub const fn made(&self) -> usize {
        self.draws.made
    }
    /// Builds that cannot be put together.
    pub const fn refused(&self) -> usize {
        self.draws.refused
    }
    /// What ended the run.
    pub const fn ended(&self) -> Ended {
        self.draws.ended
    }

    /// Of this corner less of the other, build by build; only as many as both have.
    ///
    /// # Valid for
    /// Two runs with the same seed, one for each side, with the same shared items.
    pub fn less(&self, other: &Self, told: Told) -> Outcomes {
        let (one, other) = (self.column(told), other.column(told));
        let apart = one.iter().zip(other).map(|(a, b)| a - b).collect();
        Outcomes::new(told.kind(), apart)
    }

    /// Builds of this corner with a trim in its limits.
    ///
    /// # Errors
    /// An outcome that is no trim.
    /// # Source
    /// Counting; a build that cannot be put together is not within.
    pub fn within(&self, told: Told, limits: &Limits) -> Result<Tally, ChanceError> {
        let trims = self.trims(told)?;
        let hits = trims.iter().filter(|&&trim| limits.hold(trim)).count();
        Ok(Tally { hits, of: trims.len() })
    }

    /// Builds with both corners in their limits and no further apart than either allows.
    ///
    /// # Valid for
    /// As [`less`](Self::less).
    /// # Errors
    /// An outcome that is no trim.
    /// # Source
    /// Counting.
    pub fn both_within(
        &self,
        right: &Self,
        told: Told,
        (own, others): (&Limits, &Limits),
    ) -> Result<Tally, ChanceError> {
        let (one, other) = (self.trims(told)?, right.trims(told)?);
        let most = [own.left_right, others.left_right].into_iter().flatten();
        let most = most.map(Length::to_m).fold(f64::INFINITY, f64::min);
        let fine =
            |&(&a, &b): &(&f64, &f64)| own.hold(a) && others.hold(b) && (a - b).abs() <= most;
        let hits = one.iter().zip(other).filter(fine).count();
        Ok(Tally { hits, of: one.len().min(other.len()) })
    }

    fn trims(&self, told: Told) -> Result<&[f64], ChanceError> {
        match told {
            Told::Trim | Told::TrimRead => Ok(self.column(told)),
            _ => Err(ChanceError::Kind {
                what: "what the limits are on",
                found: told.kind(),
                wanted: Kind::Length,
            }),
        }
    }
}

impl Limits {
    /// Whether a trim is in them; false for NaN.
    fn hold(&self, trim_m: f64) -> bool {
        self.low.to_m() <= trim_m && trim_m <= self.high.to_m()
    }
}

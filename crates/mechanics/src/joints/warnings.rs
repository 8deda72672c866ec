//! What is wrong with a joint, or may be: each with its facts, its words and what to do.
//!
//! | id | when |
//! |---|---|
//! | `plated-high-strength` | electroplated, hardness reaches the bands of ISO 4042, no record |
//! | `plated-spring` | a torsion bar or spring was electroplated |
//! | `joint-slip` | a friction joint holds less than 1.2 times its load |
//! | `changed-surface` | the list was written for another surface than there is today |
//! | `over-yield-share` | σ_red above 90 % of yield |
//! | `under-used` | preload under 40 % of the proof load |
//! | `short-engagement` | fewer threads in than it takes |
//! | `one-time-part-reused` | a part made for one use was put back |
//! | `wrong-arm-position` | tightened, or about to be, with the arm elsewhere than it must be |
//! | `wrench-out-of-range` | no wrench of the list reaches the setting |
//!
//! **Hydrogen.** Acid and plating bath let hydrogen into hard steel; a bolt under load then breaks
//! hours or days later, without a sign before. By ISO 4042:2018 the hardest a class may be decides:
//! 360 to 390 HV (10.9; 9.8 at the very edge) takes a plating process proven to be harmless, above
//! 390 HV (12.9) baking. A plater's record is what tells it; the eye cannot. Baking weeks later
//! does not heal cracks that have begun: such a bolt is renewed.
//!
//! # Valid for
//! Warnings only. A joint without one is not thereby right.
//! # Source
//! ISO 4042:2018, 4.4, for the bands; ISO 898-1 for hardness; the ISO 2081 family for springs. The
//! limits of 90 and 40 %: VDI 2230 for the first, common practice, no source, for the second.

use axlewright_quantity::{Ratio, Torque};

use super::class::Vickers;
use super::engagement::{Engagement, Into};
use super::preload::{ChangedSurface, Demand, YIELD_SHARE};
use super::slip::{RESERVE, Slip};
use super::wrench::Beyond;
use super::{Class, JointError, Surface, Thread};

/// Share of the proof load below which a bolt is under-used.
pub const PROOF_SHARE_LEAST: Ratio = Ratio::one(0.4);

/// What ISO 4042 asks of an electroplated bolt.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PlatingBand {
    /// Nothing: too soft to suffer.
    Free,
    /// A process proven to be harmless.
    ProvenProcess,
    /// Baking.
    Bake,
}

impl PlatingBand {
    /// From the most hardness that is specified.
    ///
    /// # Source
    /// ISO 4042:2018, 4.4: 360 ≤ HV ≤ 390, and above.
    pub const fn of(hardness_most: Vickers) -> Self {
        match hardness_most.0 {
            0..360 => Self::Free,
            360..=390 => Self::ProvenProcess,
            _ => Self::Bake,
        }
    }
}

/// What the plater wrote down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PlatingRecord {
    /// Nothing.
    None,
    /// That the process is verified.
    ProvenProcess,
    /// That the parts were baked, at what heat, how long and how soon.
    Baked,
}

/// Where the arm has to be when a joint is made tight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ArmPosition {
    /// Hanging.
    Hang,
    /// Held up.
    Raised,
    /// At the ride angle, loaded or not.
    Ride,
    /// The wheels on the floor.
    OnWheels,
}

impl ArmPosition {
    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Hang => "hanging",
            Self::Raised => "raised",
            Self::Ride => "at the ride angle",
            Self::OnWheels => "with the wheels on the floor",
        }
    }

    /// How to get there.
    const fn how(self) -> &'static str {
        match self {
            Self::Hang => "let the arm hang",
            Self::Raised => "raise the arm",
            Self::Ride => "bring the arm to the ride angle",
            Self::OnWheels => "set the car on its wheels",
        }
    }

    /// Whether a joint that must be tightened here may be tightened there. On its wheels the car
    /// is at ride; at ride on a stick it is not on its wheels.
    pub const fn is_met_by(self, now: Self) -> bool {
        matches!(
            (self, now),
            (Self::Hang, Self::Hang)
                | (Self::Raised, Self::Raised)
                | (Self::Ride, Self::Ride | Self::OnWheels)
                | (Self::OnWheels, Self::OnWheels)
        )
    }
}

/// One thing that is, or may be, wrong.
#[derive(Debug, Clone, PartialEq)]
#[allow(missing_docs, reason = "the fields are the facts that the words name")]
pub enum Warning {
    /// Electroplated and hard, without the record it takes.
    PlatedHighStrength {
        class: Class,
        hardness_most: Vickers,
        band: PlatingBand,
        record: PlatingRecord,
    },
    /// A spring or torsion bar was electroplated.
    PlatedSpring { part: String },
    /// A friction joint holds too little.
    JointSlip(Slip),
    /// Another surface than the list was written for.
    ChangedSurface { then: Surface, now: Surface, list: Torque, change: ChangedSurface },
    /// Too near to yield.
    OverYieldShare { demand: Demand, most: Ratio },
    /// Hardly tight.
    UnderUsed { demand: Demand, least: Ratio },
    /// Too few threads.
    ShortEngagement { into: Into, engagement: Engagement },
    /// A part for one use was used again.
    OneTimePartReused { part: String },
    /// The arm is elsewhere than it must be.
    WrongArmPosition { must: ArmPosition, now: ArmPosition },
    /// No wrench reaches.
    WrenchOutOfRange(Beyond),
}

impl Warning {
    /// Of an electroplated bolt. A nut is not pulled and has none.
    ///
    /// # Errors
    /// A class that is not made at this size.
    pub fn plated(
        class: Class,
        thread: &Thread,
        record: PlatingRecord,
    ) -> Result<Option<Self>, JointError> {
        let hardness_most = class.strength(thread)?.hardness_most;
        let band = PlatingBand::of(hardness_most);
        let proven = match band {
            PlatingBand::Free => true,
            PlatingBand::ProvenProcess => record != PlatingRecord::None,
            PlatingBand::Bake => record == PlatingRecord::Baked,
        };
        let bad = !proven && !class.is_nut();
        Ok(bad.then_some(Self::PlatedHighStrength { class, hardness_most, band, record }))
    }

    /// Of a friction joint, from the least preload.
    pub fn slip(slip: Slip) -> Option<Self> {
        (slip.reserve < RESERVE).then_some(Self::JointSlip(slip))
    }

    /// Of a surface that has changed.
    pub fn surface(
        then: Surface,
        now: Surface,
        list: Torque,
        change: ChangedSurface,
    ) -> Option<Self> {
        (then != now).then_some(Self::ChangedSurface { then, now, list, change })
    }

    /// Of a bolt near yield; from the middle of the friction range.
    pub fn yield_share(demand: Demand) -> Option<Self> {
        let over = YIELD_SHARE < demand.of_yield;
        over.then_some(Self::OverYieldShare { demand, most: YIELD_SHARE })
    }

    /// Of a bolt that is hardly tight; from the middle of the friction range. Never of a nut known
    /// by its class alone: how strong the part is on which it sits, nobody has said.
    pub fn proof_share(class: Class, demand: Demand) -> Option<Self> {
        let under = demand.of_proof < PROOF_SHARE_LEAST && !class.is_nut();
        under.then_some(Self::UnderUsed { demand, least: PROOF_SHARE_LEAST })
    }

    /// Of threads that are in.
    pub fn engagement(into: Into, engagement: Engagement) -> Option<Self> {
        (!engagement.is_enough()).then_some(Self::ShortEngagement { into, engagement })
    }

    /// Of where the arm is.
    pub fn position(must: ArmPosition, now: ArmPosition) -> Option<Self> {
        (!must.is_met_by(now)).then_some(Self::WrongArmPosition { must, now })
    }

    /// Its id.
    pub const fn id(&self) -> &'static str {
        match self {
            Self::PlatedHighStrength { .. } => "plated-high-strength",
            Self::PlatedSpring { .. } => "plated-spring",
            Self::JointSlip(_) => "joint-slip",
            Self::ChangedSurface { .. } => "changed-surface",
            Self::OverYieldShare { .. } => "over-yield-share",
            Self::UnderUsed { .. } => "under-used",
            Self::ShortEngagement { .. } => "short-engagement",
            Self::OneTimePartReused { .. } => "one-time-part-reused",
            Self::WrongArmPosition { .. } => "wrong-arm-position",
            Self::WrenchOutOfRange(_) => "wrench-out-of-range",
        }
    }

    /// What is the matter, with its figures.
    pub fn words(&self) -> String {
        match self {
            Self::PlatedHighStrength { class, hardness_most, band, .. } => {
                let asks = match band {
                    PlatingBand::Bake => "has to be baked after plating",
                    _ => "takes a plating process proven to be harmless",
                };
                format!(
                    "class {class} may be as hard as {hardness_most}; electroplated it {asks}, \
                     and there is no record of that: it can break under load days later"
                )
            }
            Self::PlatedSpring { part } => format!(
                "{part} was electroplated: spring steel takes up hydrogen in the bath and can \
                 break without a sign"
            ),
            Self::JointSlip(slip) => format!(
                "held by friction alone it may slide at {:.0} N; the load is {:.0} N, and \
                 {:.1} times that is asked for",
                slip.holds.to_n(),
                slip.load.to_n(),
                RESERVE.to_one()
            ),
            Self::ChangedSurface { then, now, list, change } => format!(
                "the list's {:.1} N·m stands for {}; today it is {}, where the same torque gives \
                 about {:.1} kN in place of {:.1} kN",
                list.to_nm(),
                then.words(),
                now.words(),
                change.preload_now.to_kn(),
                change.preload_then.to_kn()
            ),
            Self::OverYieldShare { demand, most } => format!(
                "pull and twist together reach {:.0} % of yield; {:.0} % is the limit",
                demand.of_yield.to_percent(),
                most.to_percent()
            ),
            Self::UnderUsed { demand, least } => format!(
                "the preload is {:.0} % of the proof load; under {:.0} % a joint works loose",
                demand.of_proof.to_percent(),
                least.to_percent()
            ),
            Self::ShortEngagement { into, engagement } => format!(
                "{:.1} mm of thread are in {}; it takes {:.1} mm",
                engagement.length.to_mm(),
                into.words(),
                engagement.needed.to_mm()
            ),
            Self::OneTimePartReused { part } => {
                format!("{part} is made for one use and was used again")
            }
            Self::WrongArmPosition { must, now } => {
                format!("to be tightened {}; the arm is {}", must.words(), now.words())
            }
            Self::WrenchOutOfRange(beyond) => {
                let over = beyond.nearest_end < beyond.needed;
                format!(
                    "no wrench on the list is used at {:.1} N·m; the nearest {} at {:.1} N·m",
                    beyond.needed.to_nm(),
                    if over { "ends" } else { "begins to be" },
                    beyond.nearest_end.to_nm()
                )
            }
        }
    }

    /// What to do.
    pub fn advice(&self) -> String {
        let fixed = match self {
            Self::PlatedHighStrength { .. } => {
                "renew the bolt, or get the plater's record; do not bake it now, a late bake does \
                 not heal it"
            }
            Self::PlatedSpring { .. } => {
                "do not load it; renew it. Bars and springs are painted or oiled, never plated"
            }
            Self::JointSlip(_) => {
                "bare, clean, dry faces and the full torque; if that is not enough, ask who \
                 answers for the design"
            }
            Self::ChangedSurface { change, .. } => {
                return format!(
                    "the maker's manual decides; for the old preload it would be about {:.1} N·m \
                     ({:.1} to {:.1}), or bring the surface back to what the list meant",
                    change.torque.to_nm(),
                    change.torque_least.to_nm(),
                    change.torque_most.to_nm()
                );
            }
            Self::OverYieldShare { .. } => {
                "check unit, thread and class against the manual before a wrench is set; a bolt \
                 once pulled past yield is renewed"
            }
            Self::UnderUsed { .. } => {
                "check unit, thread and class against the manual; some joints are meant to be \
                 light, such as clips and brackets"
            }
            Self::ShortEngagement { .. } => {
                "a longer bolt, or one washer less; count whole threads"
            }
            Self::OneTimePartReused { .. } => "fit a new one",
            Self::WrongArmPosition { must, .. } => {
                return format!(
                    "leave it at snug, {}, then tighten; if it was tightened already, loosen it \
                     and do it again there",
                    must.how()
                );
            }
            Self::WrenchOutOfRange(beyond) => {
                return format!(
                    "borrow one whose scale ends between {:.0} and {:.0} N·m; neither guess by \
                     feel nor lengthen the handle with a tube",
                    beyond.top_least.to_nm().ceil(),
                    beyond.top_most.to_nm().floor()
                );
            }
        };
        fixed.to_owned()
    }
}

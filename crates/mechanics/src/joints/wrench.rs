//! Torque wrenches: which one, what to set, and how true it is.
//!
//! ```text
//!   in line                                   at an angle
//!   ◎────E────▣───────────L───────────✋      ◎
//!   bolt     square              hand          ╲ E
//!                                               ╲    a
//!   lever at the bolt   L + E·cos a              ▣───────────L───────────✋
//!   lever at the wrench L
//!   T_w = T·L/(L + E·cos a)      a = 0 straight on, 90° no change, 180° back along the arm
//! ```
//!
//! The hand pulls square to the arm at its mark; the wrench feels the pull times L, the bolt the
//! pull times its own distance from the hand along the arm.
//!
//! | symbol | meaning | unit | where |
//! |---|---|---|---|
//! | T | torque at the bolt | N·m | argument |
//! | T_w | what the wrench is set to | N·m | [`Setting::setting`] |
//! | L | wrench arm, square to hand | mm | [`Wrench::with_arm`] |
//! | E, a | adapter and its angle | mm, ° | [`Adapter`] |
//!
//! # Valid for
//! One hand on the mark of the grip, pulling square and slowly. With an adapter the place of the
//! hand counts; without one it does not. A wrench is checked every year or 5000 pulls (the year
//! from memory), and after every fall.
//! # Source
//! The adapter: FAA AC 43.13-1B, ch. 7; the angle: statics, as in US Army TM 9-254. Tolerances:
//! ISO 6789, as restated by a maker of torque tools. From 20 % of its scale: the lowest point at
//! which ISO 6789 checks a wrench.

use axlewright_quantity::{Angle, Length, Ratio, Torque};

use super::JointError;
use super::error::{length, torque};

/// Least torque taken.
pub const TORQUE_LEAST: Torque = Torque::nm(0.05);
/// Most torque taken.
pub const TORQUE_MOST: Torque = Torque::nm(5000.0);
/// Share of its scale from which a click wrench is used.
pub const FROM_SHARE: Ratio = Ratio::one(0.2);

const ARM_LEAST: Length = Length::mm(50.0);
const ARM_MOST: Length = Length::mm(2000.0);
/// Share of the arm that must be left as lever.
const LEFT_SHARE: f64 = 0.25;
/// Relative slack of a comparison with the end of a scale: far below any mark on it.
const ON_SCALE: f64 = 1e-9;

/// How a wrench tells its torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum WrenchKind {
    /// Set beforehand; gives way or clicks.
    Click,
    /// Read off a bending beam.
    Beam,
}

/// A torque wrench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wrench {
    kind: WrenchKind,
    least: Torque,
    most: Torque,
    arm: Option<Length>,
}

impl Wrench {
    /// From the ends of its scale.
    ///
    /// # Errors
    /// A torque outside 0.05 to 5000 N·m, or the ends the wrong way round.
    pub fn new(kind: WrenchKind, least: Torque, most: Torque) -> Result<Self, JointError> {
        torque("least of the scale", least)?;
        torque("most of the scale", most)?;
        if least < most {
            Ok(Self { kind, least, most, arm: None })
        } else {
            Err(JointError::Backwards { what: "scale of the wrench" })
        }
    }

    /// With its arm, from the square to the mark where the hand pulls.
    ///
    /// # Errors
    /// An arm outside 50 to 2000 mm.
    pub fn with_arm(self, arm: Length) -> Result<Self, JointError> {
        length("wrench arm", arm, ARM_LEAST, ARM_MOST)?;
        Ok(Self { arm: Some(arm), ..self })
    }

    /// Its arm L, if known.
    pub const fn arm(&self) -> Option<Length> {
        self.arm
    }

    /// The ends of its scale.
    pub const fn scale(&self) -> (Torque, Torque) {
        (self.least, self.most)
    }

    /// The part of its scale that is used: a click wrench from 20 % of its top.
    ///
    /// # Source
    /// ISO 6789 checks at 20, 60 and 100 % of the scale.
    pub fn usable(&self) -> (Torque, Torque) {
        let from = match self.kind {
            WrenchKind::Click => self.least.max(self.most * FROM_SHARE.to_one()),
            WrenchKind::Beam => self.least,
        };
        (from, self.most)
    }

    /// How far off a sound one may read, as a share of the reading: ±4 %, ±6 % where the scale
    /// ends at 10 N·m or below; ±6 % for a beam.
    ///
    /// # Source
    /// ISO 6789, setting tools of class A; beam from memory.
    pub fn tolerance(&self) -> Ratio {
        let small = self.most <= Torque::nm(10.0);
        if small || self.kind == WrenchKind::Beam { Ratio::one(0.06) } else { Ratio::one(0.04) }
    }

    fn holds(&self, setting: Torque) -> bool {
        let (least, most) = self.usable();
        least * (1.0 - ON_SCALE) <= setting && setting <= most * (1.0 + ON_SCALE)
    }
}

/// What sits between wrench and bolt: an extension, a crowfoot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adapter {
    length: Length,
    angle: Angle,
}

impl Adapter {
    /// From its length, bolt to square, and its angle to the arm: 0 straight on, 180° back.
    ///
    /// # Errors
    /// A length outside 0 to 1000 mm, an angle beyond half a turn.
    pub fn new(reach: Length, angle: Angle) -> Result<Self, JointError> {
        length("adapter", reach, Length::ZERO, Length::mm(1000.0))?;
        if !angle.is_finite() || 180.0 + 1e-9 < angle.to_deg().abs() {
            return Err(JointError::NotANumber { what: "angle of the adapter within half a turn" });
        }
        Ok(Self { length: reach, angle })
    }

    /// Its length E.
    pub const fn length(&self) -> Length {
        self.length
    }

    /// Its angle a to the arm.
    pub const fn angle(&self) -> Angle {
        self.angle
    }

    /// Lever at the bolt over lever at the wrench, (L + E·cos a)/L.
    fn gain(&self, arm: Length) -> Result<f64, JointError> {
        length("wrench arm", arm, ARM_LEAST, ARM_MOST)?;
        let left = arm + self.length * self.angle.cos();
        let least = arm * LEFT_SHARE;
        if left < least { Err(JointError::NoLever { left, least }) } else { Ok(left / arm) }
    }

    /// What the wrench is set to, T_w = T·L/(L + E·cos a).
    ///
    /// # Errors
    /// A torque or arm out of range; an adapter turned back so far that no lever is left.
    /// # Source
    /// FAA AC 43.13-1B, ch. 7; the angle by statics.
    pub fn setting(&self, joint: Torque, arm: Length) -> Result<Torque, JointError> {
        torque("torque", joint)?;
        Ok(joint / self.gain(arm)?)
    }
}

/// A wrench of the list and what to set on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Its place in the list given to [`choose`].
    pub wrench: usize,
    /// What to set on it.
    pub setting: Torque,
    /// The same as a share of its scale's top.
    pub of_scale: Ratio,
    /// How far off it may read, as a share of the reading.
    pub tolerance: Ratio,
}

/// No wrench of the list reaches: what it would take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beyond {
    /// What would have to be set, with the adapter on the arm of [`Self::nearest`].
    pub needed: Torque,
    /// The top of the smallest wrench that would do.
    pub top_least: Torque,
    /// The top of the largest click wrench that would do, of whose scale this is 20 %.
    pub top_most: Torque,
    /// The wrench that comes nearest, its place in the list.
    pub nearest: usize,
    /// The end of its usable scale that is nearest.
    pub nearest_end: Torque,
}

/// What the list of wrenches answers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Choice {
    /// Take this one.
    Set(Setting),
    /// Take none; borrow one.
    Beyond(Beyond),
}

/// The wrench to take: of those whose usable scale holds the setting, the one with the smallest
/// top, whose marks are the finest; the earlier in the list where two are alike.
///
/// # Errors
/// An empty list; a torque out of range; with an adapter, no wrench that states its arm and is
/// left a lever.
/// # Source
/// [`Adapter::setting`], [`Wrench::usable`].
pub fn choose(
    wrenches: &[Wrench],
    joint: Torque,
    adapter: Option<&Adapter>,
) -> Result<Choice, JointError> {
    torque("torque", joint)?;
    if wrenches.is_empty() {
        return Err(JointError::NoWrench);
    }
    let mut best: Option<(Torque, Setting)> = None;
    let mut nearest: Option<(f64, Beyond)> = None;
    let mut unfit = JointError::NoArm;
    for (place, wrench) in wrenches.iter().enumerate() {
        let setting = match (adapter, wrench.arm) {
            (None, _) => joint,
            (Some(_), None) => continue,
            (Some(adapter), Some(arm)) => match adapter.setting(joint, arm) {
                Ok(setting) => setting,
                Err(error) => {
                    unfit = error;
                    continue;
                }
            },
        };
        let (_, top) = wrench.scale();
        if wrench.holds(setting) {
            if best.is_none_or(|(held, _)| top < held) {
                let of_scale = Ratio::one(setting / top);
                let tolerance = wrench.tolerance();
                best = Some((top, Setting { wrench: place, setting, of_scale, tolerance }));
            }
        } else {
            let (miss, beyond) = missed(wrench, place, setting);
            if nearest.is_none_or(|(least, _)| miss < least) {
                nearest = Some((miss, beyond));
            }
        }
    }
    match (best, nearest) {
        (Some((_, setting)), _) => Ok(Choice::Set(setting)),
        (None, Some((_, beyond))) => Ok(Choice::Beyond(beyond)),
        (None, None) => Err(unfit),
    }
}

/// By what ratio a wrench misses a setting, with what it would take.
fn missed(wrench: &Wrench, nearest: usize, needed: Torque) -> (f64, Beyond) {
    let (from, to) = wrench.usable();
    let (nearest_end, miss) = if needed < from { (from, from / needed) } else { (to, needed / to) };
    let top_most = needed / FROM_SHARE.to_one();
    (miss, Beyond { needed, top_least: needed, top_most, nearest, nearest_end })
}

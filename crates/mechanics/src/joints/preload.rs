//! From torque to preload and back, and what it asks of the bolt.
//!
//! ```text
//!   T = F·( ½·d₂·tan(φ + ρ′) + ½·D_km·μ_b )      tan φ = P/(π·d₂)   lead of the thread
//!           thread             head              tan ρ′ = μ_th/cos 30°   friction on the flank
//!
//!   pull   σ = F/A_s                             T into the bolt itself: the thread's share
//!   twist  τ = 1.5·(d₂/d_s)·tan(φ + ρ′)·σ        σ_red = √(σ² + 3·τ²)
//! ```
//!
//! This is the exact form. The widely used shorter one, T = F·(0.16·P + 0.58·d₂·μ_th +
//! ½·D_km·μ_b), leaves out how lead and friction act on each other and is up to 0.45 % off the
//! published tables, which the exact form meets to their last digit.
//!
//! The twist is that of a shaft yielding over its whole section (W = π·d³/12). It fades once the
//! wrench is off; the pull stays.
//!
//! # Valid for
//! Below yield: [`PreloadRange`] and [`Demand`] say how far below. Shanks turned thinner than the
//! thread yield earlier and are not covered.
//! # Source
//! VDI 2230, assembly preload and tightening torque, in the exact form.

use std::f64::consts::PI;

use axlewright_quantity::{Force, Length, Ratio, Stress, Torque};

use super::error::{force, length, share, torque};
use super::{Face, Friction, FrictionRange, JointError, Strength, Thread};

/// Share of yield to which a bolt is tightened at the most.
///
/// VDI 2230: ν = 0.9.
pub const YIELD_SHARE: Ratio = Ratio::one(0.9);

/// Cosine of half the flank angle, cos 30°.
const FLANK: f64 = 0.866_025_403_784_438_6;
const FORCE_LEAST: Force = Force::n(1.0);
const FORCE_MOST: Force = Force::kn(5000.0);

/// A thread with what bears under its head or nut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bolt {
    thread: Thread,
    face: Face,
}

/// The preload one torque may give. A most beyond yield, which [`Bolt::demand`] tells, means that
/// the bolt may stretch before it gets there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PreloadRange {
    /// At the middle of the friction range, wrench true.
    pub middle: Force,
    /// At the most friction, wrench reading high.
    pub least: Force,
    /// At the least friction, wrench reading low.
    pub most: Force,
    /// Standard uncertainty (k = 1) of the middle, [`Bolt::range`].
    pub u: Force,
}

impl PreloadRange {
    /// Tightening factor, α_A = most/least.
    ///
    /// # Source
    /// VDI 2230.
    pub fn tightening_factor(&self) -> Ratio {
        Ratio::one(self.most / self.least)
    }
}

/// What a preload asks of a bolt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// σ_red, pull and twist together while tightening.
    pub reduced: Stress,
    /// σ_red as a share of yield.
    pub of_yield: Ratio,
    /// F as a share of the proof load.
    pub of_proof: Ratio,
}

/// A listed torque and a surface that is no longer the one the list was written for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChangedSurface {
    /// Preload the list stood for, at the middle of the friction then.
    pub preload_then: Force,
    /// Preload the list's torque gives today, at the middle of today's friction.
    pub preload_now: Force,
    /// Torque that gives the old preload at the middle of today's friction.
    pub torque: Torque,
    /// The same at the least friction of today.
    pub torque_least: Torque,
    /// The same at the most.
    pub torque_most: Torque,
}

impl Bolt {
    /// With the face that is turned, head or nut.
    ///
    /// # Errors
    /// A hole the thread does not go through, or a face smaller than the thread.
    pub fn new(thread: Thread, face: Face) -> Result<Self, JointError> {
        let most = thread.diameter() * 4.0;
        length("hole under the head", face.hole(), thread.nut_crest_diameter(), most)?;
        length("bearing face", face.outer(), thread.diameter(), most * 2.0)?;
        Ok(Self { thread, face })
    }

    /// With a standard hexagon head, [`Face::hexagon`].
    ///
    /// # Errors
    /// A size without a head on record.
    pub fn hexagon(thread: Thread) -> Result<Self, JointError> {
        Self::new(thread, Face::hexagon(&thread)?)
    }

    /// Its thread.
    pub const fn thread(&self) -> &Thread {
        &self.thread
    }

    /// The face that is turned.
    pub const fn face(&self) -> &Face {
        &self.face
    }

    /// tan(φ + ρ′).
    fn climb(&self, friction: &Friction) -> f64 {
        let lead = self.thread.pitch() / (self.thread.pitch_diameter() * PI);
        let rub = friction.thread().to_one() / FLANK;
        (lead + rub) / (1.0 - lead * rub)
    }

    /// Torque per preload: ½·d₂·tan(φ + ρ′) + ½·D_km·μ_b.
    ///
    /// # Source
    /// VDI 2230, exact form.
    pub fn lever(&self, friction: &Friction) -> Length {
        let thread = self.thread.pitch_diameter() * (0.5 * self.climb(friction));
        thread + self.face.friction_diameter() * (0.5 * friction.head().to_one())
    }

    /// Torque that gives a preload.
    ///
    /// # Errors
    /// A preload outside 1 N to 5000 kN.
    /// # Source
    /// VDI 2230, exact form.
    pub fn torque(&self, preload: Force, friction: &Friction) -> Result<Torque, JointError> {
        force("preload", preload, FORCE_LEAST, FORCE_MOST)?;
        Ok(preload * self.lever(friction))
    }

    /// Preload that a torque gives.
    ///
    /// # Errors
    /// A torque outside 0.05 to 5000 N·m.
    /// # Source
    /// VDI 2230, exact form.
    pub fn preload(&self, given: Torque, friction: &Friction) -> Result<Force, JointError> {
        torque("torque", given)?;
        Ok(given / self.lever(friction))
    }

    /// Least and most preload over a friction range, with a wrench true to `wrench` of its reading
    /// (0.04: ±4 %).
    ///
    /// The standard uncertainty takes both as rectangular: half the spread over the friction
    /// range, and the wrench's tolerance, each over √3.
    ///
    /// # Errors
    /// A torque outside 0.05 to 5000 N·m, a tolerance outside 0 to 0.5.
    /// # Valid for
    /// Thread and head at the same end of their ranges together, which is the worse assumption.
    /// # Source
    /// VDI 2230 for the preload; JCGM 100:2008, 4.3.7 and 5.1.2, for the uncertainty.
    pub fn range(
        &self,
        given: Torque,
        friction: &FrictionRange,
        wrench: Ratio,
    ) -> Result<PreloadRange, JointError> {
        let off = share("tolerance of the wrench", wrench, Ratio::ZERO, Ratio::one(0.5))?;
        let middle = self.preload(given, &friction.middle())?;
        let low = self.preload(given, &friction.most())?;
        let high = self.preload(given, &friction.least())?;
        let root3 = 3.0_f64.sqrt();
        let (rub, tool) = ((high - low).to_n() / 2.0 / root3, middle.to_n() * off / root3);
        Ok(PreloadRange {
            middle,
            least: low * (1.0 - off),
            most: high * (1.0 + off),
            u: Force::n(rub.hypot(tool)),
        })
    }

    /// Reduced stress while tightening, σ_red = F/A_s·√(1 + 3·(1.5·(d₂/d_s)·tan(φ + ρ′))²).
    ///
    /// # Errors
    /// A preload outside 1 N to 5000 kN.
    /// # Source
    /// VDI 2230.
    pub fn reduced_stress(
        &self,
        preload: Force,
        friction: &Friction,
    ) -> Result<Stress, JointError> {
        force("preload", preload, FORCE_LEAST, FORCE_MOST)?;
        Ok(preload / self.thread.stress_area() * self.twist_factor(friction))
    }

    fn twist_factor(&self, friction: &Friction) -> f64 {
        let slender = self.thread.pitch_diameter() / self.thread.stress_diameter();
        let twist = 1.5 * slender * self.climb(friction);
        (1.0 + 3.0 * twist * twist).sqrt()
    }

    /// What a preload asks of a bolt of this strength.
    ///
    /// # Errors
    /// A preload outside 1 N to 5000 kN.
    /// # Source
    /// VDI 2230; proof load by ISO 898-1.
    pub fn demand(
        &self,
        preload: Force,
        friction: &Friction,
        strength: &Strength,
    ) -> Result<Demand, JointError> {
        let reduced = self.reduced_stress(preload, friction)?;
        Ok(Demand {
            reduced,
            of_yield: Ratio::one(reduced / strength.yields),
            of_proof: Ratio::one(preload / strength.proof_load(&self.thread)),
        })
    }

    /// What becomes of a listed torque on a surface that has changed.
    ///
    /// Information: the maker's manual decides, and it may have been written with a reserve that
    /// no formula knows.
    ///
    /// # Errors
    /// A torque outside 0.05 to 5000 N·m.
    /// # Source
    /// Equal preload before and after, by VDI 2230.
    pub fn changed_surface(
        &self,
        list: Torque,
        then: &FrictionRange,
        now: &FrictionRange,
    ) -> Result<ChangedSurface, JointError> {
        let preload_then = self.preload(list, &then.middle())?;
        Ok(ChangedSurface {
            preload_then,
            preload_now: self.preload(list, &now.middle())?,
            torque: preload_then * self.lever(&now.middle()),
            torque_least: preload_then * self.lever(&now.least()),
            torque_most: preload_then * self.lever(&now.most()),
        })
    }
}

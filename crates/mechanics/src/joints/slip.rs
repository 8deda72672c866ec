//! Friction joints: parts that are held by being pressed together, not by the bolt's shank.
//!
//! ```text
//!        ┌──┐   ↓ F            faces n = 1       n = 2
//!   ═════╡  ╞═════  → Q           ═══            ═══   ←
//!   ═════╡  ╞═════  ←             ═══            ═══ →
//!        └──┘   ↑ F                              ═══   ←
//!   holds  Q_max = z·F·μ·n     z bolts, each clamping with F
//! ```
//!
//! # Valid for
//! Faces flat, bare, clean and dry. Paint, sealant or grease under a clamp creeps and lets go of
//! the preload; a turning moment on the joint is not covered.
//! # Source
//! Coulomb friction; VDI 2230 for the reserve against slip.

use axlewright_quantity::{Force, Ratio};

use super::JointError;
use super::error::{force, share};

/// Least reserve against slip under a steady load.
///
/// VDI 2230: 1.2 for a steady, 1.8 for an alternating load; from memory.
pub const RESERVE: Ratio = Ratio::one(1.2);

/// A joint that must not slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionJoint {
    bolts: usize,
    faces: usize,
    friction: Ratio,
    load: Force,
}

/// Whether it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slip {
    /// Load at which it would slide.
    pub holds: Force,
    /// Load that must not move it.
    pub load: Force,
    /// Their ratio.
    pub reserve: Ratio,
}

impl FrictionJoint {
    /// From the count of bolts, the faces that would slide, the friction of those faces and the
    /// load along them.
    ///
    /// # Errors
    /// More than 64 bolts or 4 faces, or none; friction outside 0.02 to 0.8; a load outside 1 N to
    /// 1000 kN.
    pub fn new(
        bolts: usize,
        faces: usize,
        friction: Ratio,
        load: Force,
    ) -> Result<Self, JointError> {
        let count = |what, given, most| match given {
            0 => Err(JointError::Count { what, given, least: 1, most }),
            _ if most < given => Err(JointError::Count { what, given, least: 1, most }),
            _ => Ok(given),
        };
        share("friction of the faces", friction, super::friction::LEAST, super::friction::MOST)?;
        force("load along the faces", load, Force::n(1.0), Force::kn(1000.0))?;
        let bolts = count("bolts", bolts, super::sequence::COUNT_MAX)?;
        Ok(Self { bolts, faces: count("sliding faces", faces, 4)?, friction, load })
    }

    /// Load it holds when each bolt clamps with this preload, z·F·μ·n. Give the least preload that
    /// can be, [`super::PreloadRange::least`].
    ///
    /// # Errors
    /// A preload outside 1 N to 5000 kN.
    /// # Source
    /// Coulomb friction.
    pub fn slip(&self, preload_each: Force) -> Result<Slip, JointError> {
        force("preload", preload_each, Force::n(1.0), Force::kn(5000.0))?;
        // At most 64 and 4: exact as floating numbers.
        let grips = (self.bolts * self.faces) as f64;
        let holds = preload_each * (grips * self.friction.to_one());
        Ok(Slip { holds, load: self.load, reserve: Ratio::one(holds / self.load) })
    }
}

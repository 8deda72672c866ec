//! What bears under the head or nut: a ring between the hole and the edge of the face.
//!
//! ```text
//!        ┌───────┐
//!        │ head  │
//!    ────┴─┐   ┌─┴────
//!    │←──d_w──────→│     edge of the bearing face
//!       │← d_h →│        hole, or its chamfer where that is wider
//!          D_km = (d_w + d_h)/2, where the friction is taken to act
//! ```
//!
//! # Valid for
//! A flat face bearing all round. On a real face the pressure is not even; over a ring as wide as
//! a hexagon's the mean diameter is right to about 1 %.
//! # Source
//! D_km by VDI 2230. Figures of standard heads and holes are from memory and may be overridden by
//! what is measured; the published tables confirm them (`tests/it/published/bolts.rs`).

use axlewright_quantity::Length;

use super::error::length;
use super::{JointError, Thread};

/// Nominal d, bearing face d_w of a hexagon head, clearance hole d_h, in mm.
///
/// ISO 4014, least d_w of grade A, and ISO 273, medium: from memory. M14 is 19.37 as the
/// published torques ask for, not the 19.64 that is sometimes listed.
const HEADS: &[(f64, f64, f64)] = &[
    (6.0, 8.88, 6.6),
    (8.0, 11.63, 9.0),
    (10.0, 14.63, 11.0),
    (12.0, 16.63, 13.5),
    (14.0, 19.37, 15.5),
    (16.0, 22.49, 17.5),
    (18.0, 25.34, 20.0),
    (20.0, 28.19, 22.0),
    (22.0, 31.71, 24.0),
    (24.0, 33.61, 26.0),
];

/// A ring-shaped bearing face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Face {
    outer: Length,
    hole: Length,
}

impl Face {
    /// From measured diameters.
    ///
    /// # Errors
    /// A diameter outside 3 to 200 mm, or a hole that leaves no face.
    pub fn new(outer: Length, hole: Length) -> Result<Self, JointError> {
        let (least, most) = (Length::mm(3.0), Length::mm(200.0));
        length("hole under the head", hole, least, most)?;
        length("bearing face", outer, hole + Length::mm(0.2), most)?;
        Ok(Self { outer, hole })
    }

    /// Hexagon head or nut of today's standard on a medium clearance hole.
    ///
    /// # Errors
    /// A size without a head on record (M7, M9, M11, M15, M17).
    /// # Source
    /// ISO 4014 and ISO 273, from memory.
    pub fn hexagon(thread: &Thread) -> Result<Self, JointError> {
        let d = thread.diameter().to_mm();
        let row = HEADS.iter().find(|(size, _, _)| (size - d).abs() < 1e-6);
        let Some((_, outer, hole)) = row else {
            return Err(JointError::NoHead { thread: thread.to_string() });
        };
        Self::new(Length::mm(*outer), Length::mm(*hole))
    }

    /// Outer diameter d_w.
    pub const fn outer(&self) -> Length {
        self.outer
    }

    /// Inner diameter d_h.
    pub const fn hole(&self) -> Length {
        self.hole
    }

    /// Diameter at which the friction acts, D_km = (d_w + d_h)/2.
    ///
    /// # Source
    /// VDI 2230.
    pub fn friction_diameter(&self) -> Length {
        (self.outer + self.hole) / 2.0
    }
}

//! What the metal of a torsion-bar suspension does: angles and how to read them, bars, splines,
//! arms, windows, stands, and how sure any of it is.
//!
//! Values in, values out. The crate knows no car, no job, no file and no date. Axes are those of
//! ISO 8855 (X forward, Y left, Z up), every corner is computed as a left one, and θ is the plate
//! angle below the body's horizontal, positive with the tail down.

pub mod arm;
pub mod bar;
pub mod car;
pub mod chance;
pub mod droop;
pub mod joints;
pub mod level;
pub mod lever;
pub mod linkage;
pub mod load;
pub mod raise;
mod root;
pub mod splines;
pub mod statistics;
pub mod supports;
pub mod travel;
pub mod windows;

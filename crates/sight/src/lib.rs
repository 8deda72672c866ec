//! Measuring with photographs of printed sheets: pixels and taps in, angles and places out, each
//! with its doubt. Knows no car, no file and no clock.
//!
//! ```text
//!        ┌───────────┐           a sheet of tags lies on one part, another on a second one;
//!        │ ▣ ▣ ▣ ▣ ▣ │  ▣▣▣▣▣    from one photograph of both, the angle between them; from two
//!        │ ▣ ▣ ▣ ▣ ▣ │ ╱         or more, every point tapped in them, in space
//!        └───────────┘    ·
//!              ╲        ╱
//!               ╲      ╱         picture ──▶ [`find`] ──▶ tags ─┐
//!                ╲    ╱          taps ───▶ [`refine`] ─▶ places ─┼─▶ [`measure`] ──▶ [`figures`]
//!                 [▭]            lens, scale ──────────────────┘       └─▶ [`remark`]
//! ```
//!
//! - [`sheet`]: what is printed, with which tags of the [`family`]
//! - [`find`]: tags in a picture, corners to a few hundredths of a pixel; may run in a program of
//!   its own, since it calls a library that may end it
//! - [`refine`]: a tap on a circle or an edge, put where the picture says
//! - [`shot`]: the question; [`measure`]: the answer, from one adjustment of everything
//! - [`figures`]: what is asked of the answer, each figure with its standard uncertainty (k = 1)
//! - [`offer`]: a point given in one photograph, looked for in another
//! - [`remark`]: what spoils a measurement, in words
//!
//! Millimetres and radians inside; pixels are counted as [`grey`] says.

mod adjust;
mod edge;
pub mod family;
pub mod figures;
pub mod find;
pub mod grey;
mod judge;
pub mod lens;
pub mod measure;
pub mod offer;
mod pose;
pub mod refine;
pub mod remark;
pub mod sheet;
pub mod shot;
mod start;

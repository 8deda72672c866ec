//! Bolted joints: what a torque does to a bolt, and how to put it there.
//!
//! ```text
//!        T  torque at the head                  thread, one flank unrolled
//!      ┌─────────┐                                     ╱│
//!      │  head   │  bearing face:                     ╱ │ P  pitch
//!   ▁▁▁└─┐     ┌─┘▁▁▁  d_w outside,                  ╱φ │
//!   ▒▒▒▒▒│     │▒▒▒▒▒  d_h the hole          ───────╱────
//!   ▒▒▒▒▒│  ↑  │▒▒▒▒▒                            π·d₂
//!   ░░░░░│  F  │░░░░░  F pulls the bolt,
//!   ░░░░░│  ↓  │░░░░░  clamps the parts       d  nominal, over the crests
//!   ▓▓▓▓▓╞═════╡▓▓▓▓▓                         d₂ pitch diameter, where the flanks bear
//!   ▓▓▓▓▓╞═════╡▓▓▓▓▓  m  threads in          d₃ root of the bolt's thread
//!   ▓▓▓▓▓╞═════╡▓▓▓▓▓     engagement          D₁ crest of the nut's thread
//! ```
//!
//! | symbol | meaning | unit | where |
//! |---|---|---|---|
//! | d, P | nominal diameter, pitch | mm | [`Thread::diameter`], [`Thread::pitch`] |
//! | d₂, d₃, D₁ | pitch, root, nut crest diameter | mm | [`Thread::pitch_diameter`] … |
//! | A_s | stress area | mm² | [`Thread::stress_area`] |
//! | d_w, d_h | bearing face, hole | mm | [`Face`] |
//! | μ | friction, in the thread and under the head | 1 | [`Friction`] |
//! | T | torque, + tightens | N·m | [`Bolt::torque`] |
//! | F | preload, + pulls the bolt and clamps the parts | N | [`Bolt::preload`] |
//! | σ_red | pull and twist taken together | MPa | [`Bolt::reduced_stress`] |
//! | L, E, a | wrench arm, adapter, angle between them | mm, ° | [`wrench`] |
//! | x, y | place of a bolt on the face of the joint | mm | [`sequence::Spot`] |
//!
//! Every figure here is information. The maker's manual decides how tight a joint is made, and
//! what is said of friction is at best good to a third of the preload.
//!
//! # Valid for
//! ISO metric threads M6 to M24 with 60° flanks, solid shanks no thinner than the thread, steel
//! bolts below yield, tightened by torque at room temperature. Not for bolts tightened by angle
//! past yield, for tapered seats (wheel bolts) or for threads worn or damaged.
//! # Source
//! VDI 2230 for torque and preload in the exact form; ISO 724, ISO 898-1, ISO 4042, ISO 6789 and
//! FAA AC 43.13-1B as named where they are used. Rows are checked in `tests/it/published/bolts.rs`,
//! `friction.rs` and `wrenches.rs` beside it.

pub mod class;
pub mod engagement;
mod error;
pub mod face;
pub mod friction;
pub mod preload;
pub mod sequence;
pub mod slip;
pub mod thread;
pub mod warnings;
pub mod wrench;

pub use class::{Class, Strength};
pub use error::JointError;
pub use face::Face;
pub use friction::{Friction, FrictionRange, Surface};
pub use preload::{Bolt, PreloadRange};
pub use sequence::{Layout, Order};
pub use thread::Thread;
pub use warnings::Warning;
pub use wrench::{Adapter, Wrench};

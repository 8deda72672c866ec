//! Drawings and pages of the demo and of cars half measured.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod common;
mod dossier;
mod drawings;
mod joints;
mod order;
mod sheet;
mod wheels;

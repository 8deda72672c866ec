//! Photographs measured: tables from other programs, sheets as printed, tags as they are read, and
//! what is told when something is wrong.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod family;
mod oracle;
mod remarks;
mod scene;
mod sheets;
mod strips;

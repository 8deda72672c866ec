//! The car file and the log as their callers see them.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod broken;
mod broken_job;
mod calendar;
mod demo;
mod fields;
mod joint_state;
mod log;
mod method;
mod mutations;
mod sides;
#[path = "../../../../tests/slow.rs"]
mod slow;
mod spec_rows;
mod starter;
mod table;
mod wheels;

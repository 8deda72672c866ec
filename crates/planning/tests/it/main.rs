//! Orders, loops, ways back and evenings, against brute force and against published optima.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod back_out;
mod brute;
mod calendar;
mod common;
mod critical_path;
mod loops;
mod order;
mod sop;

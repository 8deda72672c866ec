//! The store as its callers see it.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod archive;
mod book;
mod common;
mod damage;
mod faults;
mod ground;
mod memory;
mod old;
#[path = "../../../../fuzz/parts.rs"]
mod parts;
mod photos;
mod python;
mod salvage;
#[path = "../../../../tests/slow.rs"]
mod slow;

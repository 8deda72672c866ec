//! The program from outside: the real binary in folders of its own, and `run` without a process.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod book;
mod calls;
mod common;
mod demo;
mod demo_archive;
mod dossier;
mod doubt;
mod files;
mod in_process;
mod installed;
mod joints;
mod method;
mod mistakes;
mod order;
mod paper;
mod photographs;
mod quick;
mod raising;
mod served;
mod shape;
#[path = "../../../../tests/slow.rs"]
mod slow;
mod status;
mod web;
mod wheels;

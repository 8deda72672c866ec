//! The store as its callers see it.

mod archive;
mod book;
mod common;
mod damage;
mod faults;
mod ground;
mod memory;
mod old;
mod photos;
mod python;
mod salvage;
#[path = "../../../../tests/slow.rs"]
mod slow;

//! The store as its callers see it.

mod archive;
mod book;
#[path = "../common/mod.rs"]
mod common;
mod damage;
mod ground;
mod old;
mod photos;
mod python;
mod salvage;

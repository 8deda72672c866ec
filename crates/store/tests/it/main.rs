//! The store as its callers see it.

mod archive;
mod book;
#[path = "../common/mod.rs"]
mod common;
mod damage;
mod old;
mod photos;
mod python;

//! The store as its callers see it.

mod archive;
mod book;
mod common;
mod damage;
mod faults;
mod old;
mod photos;
mod python;

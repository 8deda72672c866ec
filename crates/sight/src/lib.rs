//! Measuring with photographs.
mod adjust;
mod edge;
pub mod family;
pub mod figures;
pub mod find;
pub mod grey;
mod judge;
pub mod lens;
pub mod measure;
mod pose;
pub mod refine;
pub mod remark;
pub mod sheet;
pub mod shot;
mod start;

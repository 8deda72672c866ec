//! Photographs measured: tables from other programs, sheets as printed, tags as they are read, and
//! what is told when something is wrong.

mod family;
mod oracle;
mod remarks;
mod scene;
mod sheets;

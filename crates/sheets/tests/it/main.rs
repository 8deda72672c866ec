//! Drawings and pages of the demo and of cars half measured.

mod common;
mod dossier;
mod drawings;
mod joints;
mod order;
mod sheet;
mod wheels;

//! Orders, loops, ways back and evenings, against brute force and against published optima.

mod back_out;
mod brute;
mod calendar;
mod common;
mod critical_path;
mod loops;
mod order;
mod sop;

//! What the metal does, against print, by two roads, and against scripts that share nothing.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod bar;
mod car;
mod car_oracle;
mod car_rounds;
mod chance;
mod chance_corner;
#[path = "larch/doubts.rs"]
mod doubts;
mod joints;
mod joints_order;
mod larch;
mod level;
mod load;
mod oracle;
mod pose;
mod published;
#[path = "larch/rounds.rs"]
mod rounds;
mod splines;
mod statistics;
mod supports;
mod windows;

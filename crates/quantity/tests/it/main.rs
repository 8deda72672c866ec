//! Quantities as their callers see them: read, shown, refused.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a test gives up where it cannot go on"
)]

mod broken_texts;
mod published_factors;
mod reading;
mod round_trip;
mod showing;

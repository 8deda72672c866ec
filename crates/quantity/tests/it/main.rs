//! Quantities as their callers see them: read, shown, refused.

mod broken_texts;
mod published_factors;
mod reading;
mod round_trip;
mod showing;

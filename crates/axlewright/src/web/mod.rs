//! The page on the bench: what the restorer has in the hand while working.
//!
//! Every screen is HTML made here and works as plain forms; one small script adds live refresh,
//! previews, and care for what was typed and not yet written. Everything shown comes from `setup`
//! and `sheets`; nothing is computed here.
//!
//! ```text
//!   socket ─→ serve: how many, how slow ─→ guard: which host, paired, from our own page
//!                                            └─→ routes: one file per screen ─→ frame
//! ```

mod assets;
mod doors;
mod fields;
mod form;
mod frame;
mod guard;
mod live;
mod pairing;
mod parts_of_pages;
mod prefs;
mod screens;
mod serve;
mod site;
mod standing;
mod tell;
#[cfg_attr(not(feature = "tls"), path = "no_tls.rs")]
mod tls;
mod writing;

pub use serve::{Options, Running, ServeError, app, start};
pub use site::Say;

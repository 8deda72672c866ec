//! How many threads must be in: so many that the bolt breaks before the thread strips.
//!
//! | screwed into | up to 8.8 | above |
//! |---|---|---|
//! | a steel nut | 0.8·d | 0.8·d |
//! | steel | 1.0·d | 1.25·d |
//!
//! Only whole threads count: the chamfers at both ends are taken off before measuring.
//!
//! # Valid for
//! Sound threads of the nominal size. A thread once stripped and helped out is another matter.
//! # Source
//! Common practice, no source; the nut's 0.8·d is the height of a regular nut, from memory.

use axlewright_quantity::Length;

use super::error::length;
use super::{Class, JointError, Thread};

/// What a thread is cut into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Into {
    /// A steel nut of the bolt's own class or above.
    Nut,
    /// Steel.
    Steel,
}

/// Threads in engagement against what it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engagement {
    /// As measured.
    pub length: Length,
    /// What it takes.
    pub needed: Length,
}

impl Engagement {
    /// Whether it is enough.
    pub fn is_enough(&self) -> bool {
        self.needed <= self.length
    }
}

impl Into {
    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nut => "a steel nut",
            Self::Steel => "steel",
        }
    }

    /// Length of whole threads that it takes.
    ///
    /// # Source
    /// Common practice, no source: the table above.
    pub fn needed(self, thread: &Thread, class: Class) -> Length {
        let strong = matches!(class.bolt(), Class::Bolt9_8 | Class::Bolt10_9 | Class::Bolt12_9);
        let diameters = match (self, strong) {
            (Self::Nut, _) => 0.8,
            (Self::Steel, false) => 1.0,
            (Self::Steel, true) => 1.25,
        };
        thread.diameter() * diameters
    }

    /// A measured length against it.
    ///
    /// # Errors
    /// A length outside 0 to 200 mm.
    /// # Source
    /// [`Self::needed`].
    pub fn engagement(
        self,
        thread: &Thread,
        class: Class,
        measured: Length,
    ) -> Result<Engagement, JointError> {
        length("engagement", measured, Length::ZERO, Length::mm(200.0))?;
        Ok(Engagement { length: measured, needed: self.needed(thread, class) })
    }
}

//! Property classes: what the metal of a bolt bears.
//!
//! | class | tensile | yield | proof | hardness, HV |
//! |---|---|---|---|---|
//! | 8.8 up to M16 | 800 MPa | 640 MPa | 580 MPa | 250–320 |
//! | 8.8 above M16 | 830 MPa | 660 MPa | 600 MPa | 255–335 |
//! | 10.9 | 1040 MPa | 940 MPa | 830 MPa | 320–380 |
//! | 12.9 | 1220 MPa | 1100 MPa | 970 MPa | 385–435 |
//!
//! and 4.6 to 6.8 and 9.8, in the table below. All are the least a sound bolt has, except the upper
//! hardness. *Yield* is the lower yield point of 4.6 and 5.6, the 0.2 % limit from 8.8 up; for 4.8,
//! 5.8 and 6.8 the standard states a figure for the proof ratio only.
//!
//! **Nuts.** A nut's class is one figure; it is made to break the thread of no bolt up to the class
//! that begins with that figure (ISO 898-2, from memory). Where only the nut's class is known, as
//! with the nut on a hub, the strength taken is that of the strongest bolt it is made for, and the
//! part it sits on may be weaker.
//!
//! # Valid for
//! Steel bolts with their marking, at room temperature, never overheated, never stretched.
//! # Source
//! ISO 898-1:2013, table of mechanical properties.

use std::fmt;
use std::str::FromStr;

use axlewright_quantity::{Force, Length, Stress};

use super::error::cut;
use super::{JointError, Thread};

/// Property class of a bolt, or of a nut where that is all that is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "the names say it")]
pub enum Class {
    Bolt4_6,
    Bolt4_8,
    Bolt5_6,
    Bolt5_8,
    Bolt6_8,
    Bolt8_8,
    Bolt9_8,
    Bolt10_9,
    Bolt12_9,
    Nut5,
    Nut6,
    Nut8,
    Nut9,
    Nut10,
    Nut12,
}

/// Vickers hardness, HV.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Vickers(pub u16);

impl fmt::Display for Vickers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} HV", self.0)
    }
}

/// What a class bears at one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// Least tensile strength, R_m.
    pub tensile: Stress,
    /// Least yield: R_eL, R_p0.2, or the figure stated for the proof ratio.
    pub yields: Stress,
    /// Stress under proof load, S_p.
    pub proof: Stress,
    /// Least hardness.
    pub hardness_least: Vickers,
    /// Most hardness.
    pub hardness_most: Vickers,
}

/// Diameter up to which 8.8 has its lower row and 9.8 is made.
const SMALL: Length = Length::mm(16.0);

impl Class {
    /// All of them, bolts first, from the weakest up.
    pub const ALL: [Self; 15] = [
        Self::Bolt4_6,
        Self::Bolt4_8,
        Self::Bolt5_6,
        Self::Bolt5_8,
        Self::Bolt6_8,
        Self::Bolt8_8,
        Self::Bolt9_8,
        Self::Bolt10_9,
        Self::Bolt12_9,
        Self::Nut5,
        Self::Nut6,
        Self::Nut8,
        Self::Nut9,
        Self::Nut10,
        Self::Nut12,
    ];

    /// As it is marked.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bolt4_6 => "4.6",
            Self::Bolt4_8 => "4.8",
            Self::Bolt5_6 => "5.6",
            Self::Bolt5_8 => "5.8",
            Self::Bolt6_8 => "6.8",
            Self::Bolt8_8 => "8.8",
            Self::Bolt9_8 => "9.8",
            Self::Bolt10_9 => "10.9",
            Self::Bolt12_9 => "12.9",
            Self::Nut5 => "5",
            Self::Nut6 => "6",
            Self::Nut8 => "8",
            Self::Nut9 => "9",
            Self::Nut10 => "10",
            Self::Nut12 => "12",
        }
    }

    /// From the marking: `8.8`, `10.9`, or `8` for a nut.
    ///
    /// # Errors
    /// What is no class, with those there are; the markings of before 1967 with today's.
    pub fn parse(text: &str) -> Result<Self, JointError> {
        let written = text.trim().replace(',', ".");
        if let Some(class) = Self::ALL.into_iter().find(|class| class.name() == written) {
            return Ok(class);
        }
        // DIN 267 before 1967, from memory.
        let old = match written.to_uppercase().as_str() {
            "4D" => Some("4.6"),
            "5D" => Some("5.6"),
            "5S" => Some("5.8"),
            "6S" => Some("6.8"),
            "8G" => Some("8.8"),
            "10K" => Some("10.9"),
            "12K" => Some("12.9"),
            _ => None,
        };
        if let Some(today) = old {
            return Err(JointError::OldClass { given: cut(text), today });
        }
        let names = |nut: bool| {
            let of = Self::ALL.into_iter().filter(|class| class.is_nut() == nut);
            of.map(Self::name).collect::<Vec<_>>().join(", ")
        };
        Err(JointError::NotAClass { given: cut(text), bolts: names(false), nuts: names(true) })
    }

    /// Whether it is a nut's.
    pub const fn is_nut(self) -> bool {
        matches!(
            self,
            Self::Nut5 | Self::Nut6 | Self::Nut8 | Self::Nut9 | Self::Nut10 | Self::Nut12
        )
    }

    /// The bolt whose strength is taken: itself, or the strongest a nut is made for.
    ///
    /// # Source
    /// ISO 898-2, from memory.
    pub const fn bolt(self) -> Self {
        match self {
            Self::Nut5 => Self::Bolt5_8,
            Self::Nut6 => Self::Bolt6_8,
            Self::Nut8 => Self::Bolt8_8,
            Self::Nut9 => Self::Bolt9_8,
            Self::Nut10 => Self::Bolt10_9,
            Self::Nut12 => Self::Bolt12_9,
            bolt => bolt,
        }
    }

    /// What it bears at this size.
    ///
    /// # Errors
    /// 9.8 above M16, which is not made.
    /// # Source
    /// ISO 898-1:2013.
    pub fn strength(self, thread: &Thread) -> Result<Strength, JointError> {
        let small = thread.diameter() <= SMALL;
        let [tensile, yields, proof, hardness_least, hardness_most] = match self.bolt() {
            Self::Bolt4_6 => [400, 240, 225, 120, 220],
            Self::Bolt4_8 => [420, 340, 310, 130, 220],
            Self::Bolt5_6 => [500, 300, 280, 155, 220],
            Self::Bolt5_8 => [520, 420, 380, 160, 220],
            Self::Bolt6_8 => [600, 480, 440, 190, 250],
            Self::Bolt9_8 if small => [900, 720, 650, 290, 360],
            Self::Bolt9_8 => {
                let (class, thread) = (self.name(), thread.to_string());
                return Err(JointError::NotAtThisSize { class, thread });
            }
            Self::Bolt10_9 => [1040, 940, 830, 320, 380],
            Self::Bolt12_9 => [1220, 1100, 970, 385, 435],
            // What is left is 8.8: nuts were turned into their bolts above.
            _ if small => [800, 640, 580, 250, 320],
            _ => [830, 660, 600, 255, 335],
        };
        let mpa = |figure: u16| Stress::mpa(f64::from(figure));
        Ok(Strength {
            tensile: mpa(tensile),
            yields: mpa(yields),
            proof: mpa(proof),
            hardness_least: Vickers(hardness_least),
            hardness_most: Vickers(hardness_most),
        })
    }
}

impl Strength {
    /// Force a sound bolt bears without a lasting stretch, S_p·A_s.
    ///
    /// # Source
    /// ISO 898-1.
    pub fn proof_load(&self, thread: &Thread) -> Force {
        self.proof * thread.stress_area()
    }
}

impl fmt::Display for Class {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Class {
    type Err = JointError;
    fn from_str(text: &str) -> Result<Self, JointError> {
        Self::parse(text)
    }
}

//! Threads: from the designation to the diameters that carry.
//!
//! ```text
//!    │←──── d ────→│        d₂ = d − 0.649 519·P      where the flanks bear
//!    ╲╱╲╱╲╱  ╲╱╲╱╲╱         d₃ = d − 1.226 869·P      root of the bolt
//!     │←─── d₃ ──→│         D₁ = d − 1.082 532·P      crest of the nut
//!      60° flanks           A_s = π/4·((d₂ + d₃)/2)²
//! ```
//!
//! With H = √3/2·P the height of the sharp triangle, d₂ = d − 2·⅜H, d₃ = d₂ − 2·(½ − 1/12)·H and
//! D₁ = d − 2·⅝H; the figures above are these, multiplied out.
//!
//! # Valid for
//! ISO metric threads M6 to M24, diameters and pitches of ISO 261 (first three choices, as sold
//! for cars; the list is from memory). A worn, stretched or plated thread is not its nominal size.
//! # Source
//! ISO 724 for the diameters, ISO 898-1 for the stress area.

use std::f64::consts::PI;
use std::fmt;
use std::str::FromStr;

use axlewright_quantity::{Area, Length};

use super::JointError;
use super::error::cut;

/// Height of the sharp triangle in pitches, √3/2.
const SHARP: f64 = 0.866_025_403_784_438_6;

/// Diameter in mm, coarse pitch in mm if it has one, fine pitches from the widest down.
///
/// ISO 261, from memory.
const SIZES: &[(f64, Option<f64>, &[f64])] = &[
    (6.0, Some(1.0), &[0.75]),
    (7.0, Some(1.0), &[0.75]),
    (8.0, Some(1.25), &[1.0, 0.75]),
    (9.0, Some(1.25), &[1.0, 0.75]),
    (10.0, Some(1.5), &[1.25, 1.0, 0.75]),
    (11.0, Some(1.5), &[1.0, 0.75]),
    (12.0, Some(1.75), &[1.5, 1.25, 1.0]),
    (14.0, Some(2.0), &[1.5, 1.25, 1.0]),
    (15.0, None, &[1.5, 1.0]),
    (16.0, Some(2.0), &[1.5, 1.0]),
    (17.0, None, &[1.5, 1.0]),
    (18.0, Some(2.5), &[2.0, 1.5, 1.0]),
    (20.0, Some(2.5), &[2.0, 1.5, 1.0]),
    (22.0, Some(2.5), &[2.0, 1.5, 1.0]),
    (24.0, Some(3.0), &[2.0, 1.5, 1.0]),
];

/// Two lengths in mm closer than this are one entry of the list.
const SAME_MM: f64 = 1e-6;

/// A thread that is made: diameter and pitch from the list.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thread {
    diameter_mm: f64,
    pitch_mm: f64,
    coarse: bool,
    left_handed: bool,
}

impl Thread {
    /// Right-handed, from diameter and pitch; without a pitch the coarse one.
    ///
    /// # Errors
    /// A diameter or pitch that is not on the list, with what is.
    pub fn new(diameter: Length, pitch: Option<Length>) -> Result<Self, JointError> {
        if !diameter.is_finite() || pitch.is_some_and(|pitch| !pitch.is_finite()) {
            return Err(JointError::NotANumber { what: "diameter or pitch" });
        }
        let given = diameter.to_mm();
        let same = |a: f64, b: f64| (a - b).abs() < SAME_MM;
        let row = SIZES.iter().find(|(d, _, _)| same(*d, given));
        let Some((diameter_mm, coarse, fine)) = row else {
            return Err(JointError::NoSize { given: plain(given), known: near(given) });
        };
        let pitches = || coarse.iter().chain(fine.iter()).copied();
        let known = || {
            let all: Vec<String> = pitches().map(|p| format!("{} mm", plain(p))).collect();
            all.join(", ")
        };
        let wanted = match (pitch, coarse) {
            (Some(pitch), _) => pitch.to_mm(),
            (None, Some(coarse)) => *coarse,
            (None, None) => {
                let diameter = plain(*diameter_mm);
                return Err(JointError::NoCoarse { diameter, known: known() });
            }
        };
        let Some(pitch_mm) = pitches().find(|p| same(*p, wanted)) else {
            let (diameter, given) = (plain(*diameter_mm), plain(wanted));
            return Err(JointError::NoPitch { diameter, given, known: known() });
        };
        let coarse = coarse.is_some_and(|c| same(c, pitch_mm));
        Ok(Self { diameter_mm: *diameter_mm, pitch_mm, coarse, left_handed: false })
    }

    /// From its designation: `M12x1.5`, `M12×1.5`, `M12` for the coarse one; `LH` behind it for a
    /// left-handed thread. A tolerance class such as `-6g` is read over.
    ///
    /// # Errors
    /// What is not a thread, or one that is not made, with what would be right.
    pub fn parse(text: &str) -> Result<Self, JointError> {
        let not = || JointError::NotAThread { given: cut(text) };
        if 40 < text.len() {
            return Err(not());
        }
        let upper: String = text.trim().to_uppercase().replace(',', ".");
        let (body, left_handed) = match upper.strip_suffix("LH") {
            Some(body) => (body.trim_end().trim_end_matches('-').trim_end(), true),
            None => (upper.as_str(), false),
        };
        let body = match body.split_once('-') {
            Some((body, class)) if is_tolerance(class) => body,
            Some(_) => return Err(not()),
            None => body,
        };
        let body = body.trim().strip_prefix('M').ok_or_else(not)?;
        let mut parts = body.split(['X', '×', '*']);
        let mut number = || parts.next().map(|part| figure(part).ok_or_else(not)).transpose();
        let (diameter, pitch, more) = (number()?.ok_or_else(not)?, number()?, number()?);
        if more.is_some() {
            return Err(not());
        }
        let thread = Self::new(Length::mm(diameter), pitch.map(Length::mm))?;
        Ok(Self { left_handed, ..thread })
    }

    /// Every thread on the list, right-handed.
    ///
    /// # Source
    /// ISO 261, from memory.
    pub fn all() -> impl Iterator<Item = Self> {
        SIZES.iter().flat_map(|(diameter_mm, coarse, fine)| {
            let one = move |pitch_mm: f64, coarse: bool| Self {
                diameter_mm: *diameter_mm,
                pitch_mm,
                coarse,
                left_handed: false,
            };
            let coarse = coarse.iter().map(move |p| one(*p, true));
            coarse.chain(fine.iter().map(move |p| one(*p, false)))
        })
    }

    /// Nominal diameter d, over the crests.
    pub const fn diameter(&self) -> Length {
        Length::mm(self.diameter_mm)
    }

    /// Pitch P, from crest to crest.
    pub const fn pitch(&self) -> Length {
        Length::mm(self.pitch_mm)
    }

    /// Pitch diameter, d₂ = d − ¾·H with H = √3/2·P.
    ///
    /// # Source
    /// ISO 724.
    pub fn pitch_diameter(&self) -> Length {
        Length::mm(self.diameter_mm - 0.75 * SHARP * self.pitch_mm)
    }

    /// Root diameter of the bolt, d₃ = d − 17/12·H.
    ///
    /// # Source
    /// ISO 724 with the rounded root of ISO 68-1.
    pub fn root_diameter(&self) -> Length {
        Length::mm(self.diameter_mm - 17.0 / 12.0 * SHARP * self.pitch_mm)
    }

    /// Crest diameter of the nut, D₁ = d − 5/4·H.
    ///
    /// # Source
    /// ISO 724.
    pub fn nut_crest_diameter(&self) -> Length {
        Length::mm(self.diameter_mm - 1.25 * SHARP * self.pitch_mm)
    }

    /// Diameter of the round bar that is as strong, d_s = (d₂ + d₃)/2.
    ///
    /// # Source
    /// ISO 898-1.
    pub fn stress_diameter(&self) -> Length {
        (self.pitch_diameter() + self.root_diameter()) / 2.0
    }

    /// Stress area, A_s = π/4·d_s².
    ///
    /// # Source
    /// ISO 898-1.
    pub fn stress_area(&self) -> Area {
        let d = self.stress_diameter().to_m();
        Area::m2(PI / 4.0 * d * d)
    }
}

impl fmt::Display for Thread {
    /// As it is written: `M12`, `M12×1.5`, `M24×1.5 LH`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut name = format!("M{}", plain(self.diameter_mm));
        if !self.coarse {
            name.push_str(&format!("×{}", plain(self.pitch_mm)));
        }
        if self.left_handed {
            name.push_str(" LH");
        }
        f.pad(&name)
    }
}

impl FromStr for Thread {
    type Err = JointError;
    fn from_str(text: &str) -> Result<Self, JointError> {
        Self::parse(text)
    }
}

/// A plain figure: digits, perhaps with a point; no sign, no exponent.
fn figure(text: &str) -> Option<f64> {
    let text = text.trim();
    let digits = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    let number: f64 = if digits { text.parse().ok()? } else { return None };
    number.is_finite().then_some(number)
}

/// `6G`, `6H`, `5G6G`: figure and letter.
fn is_tolerance(text: &str) -> bool {
    let text = text.trim();
    text.starts_with(|c: char| c.is_ascii_digit())
        && text.ends_with(|c: char| c.is_ascii_alphabetic())
        && text.chars().all(|c| c.is_ascii_alphanumeric())
}

/// A figure without noughts at its end.
fn plain(mm: f64) -> String {
    let text = format!("{mm:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// The sizes next to a figure, or all of them where it is far off.
fn near(mm: f64) -> String {
    let close: Vec<String> = SIZES
        .iter()
        .filter(|(d, _, _)| (d - mm).abs() <= 1.5)
        .map(|(d, _, _)| format!("M{}", plain(*d)))
        .collect();
    if close.is_empty() {
        "M6 to M24".to_owned()
    } else {
        format!("M6 to M24, next to it {}", close.join(", "))
    }
}

//! The torsion bar: rate, torque, shear, energy, a change of bar, and sag.
//!
//! ```text
//!   anchor end             active length L                plate end
//!  ▒▒▓▓▓▓▓╲══════════════════════════════════════╱▓▓▓▓▓   D outside, d bore (0 if solid)
//!  ▒▒▓▓▓▓▓╱══════════════════════════════════════╲▓▓▓▓▓ ↻ torque T, twist φ = θ₀ − θ
//!   held                                         plate at θ, tail down +
//! ```
//!
//! | symbol | meaning | unit | field or function |
//! |---|---|---|---|
//! | D, d | outside and bore diameter | mm | [`BarSize::diameter`], [`BarSize::bore`] |
//! | L | active length between the splines | mm | [`BarSize::length`] |
//! | G | modulus of rigidity | GPa | [`BarSize::modulus`] |
//! | J | polar second moment, π(D⁴ − d⁴)/32 | m⁴ | – |
//! | s | share of the rate left by a yielding anchorage | 1 | [`Bar::with_rate_share`] |
//! | k | rate, s·G·J/L | N·m/deg | [`Bar::rate`] |
//! | φ | twist from the unloaded bar, + when the plate is tail up of θ₀ | deg | – |
//! | T | torque, k·φ | N·m | [`Bar::torque`] |
//! | τ | shear stress at the surface, T·D/(2J) | MPa | [`Bar::shear`] |
//! | θ₀ | free angle: plate angle of the unloaded bar | deg | – |
//! | δ | sag: how far a tired bar has set, towards tail up | deg | [`Sag::set`] |
//!
//! # Valid for
//! A straight round bar of one section in its elastic range. Twist of the splined ends and fillets
//! belongs to the active length if the maker's drawing says so, otherwise to the rate share.
//! # Source
//! Torsion of a round shaft (de Saint-Venant), as in any text on strength of materials; checked
//! in `tests/it/published/shafts.rs`. The modulus is an input because published values for spring
//! steel differ by a tenth of their value.

use axlewright_quantity::{Angle, Length, Ratio, Stress, Torque, TorsionalRate};
use std::f64::consts::PI;

/// Why a bar or a change of bar was refused.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum BarError {
    /// Not a number, or infinite.
    #[error("{what} is not a number")]
    NotANumber {
        /// Which.
        what: &'static str,
    },
    /// A length outside what a torsion bar has.
    #[error("{what} is {:.3} mm; it must lie between {:.0} mm and {:.0} mm",
        .given.to_mm(), .least.to_mm(), .most.to_mm())]
    Length {
        /// Which.
        what: &'static str,
        /// As given.
        given: Length,
        /// Least that is taken.
        least: Length,
        /// Most that is taken.
        most: Length,
    },
    /// A bore that leaves no wall.
    #[error("bore is {:.3} mm in a bar of {:.3} mm; it must be 0 or more and smaller than the bar",
        .bore.to_mm(), .diameter.to_mm())]
    Bore {
        /// As given.
        bore: Length,
        /// Outside diameter.
        diameter: Length,
    },
    /// A modulus no metal has.
    #[error("modulus of rigidity is {:.3} GPa; it must lie between 1 GPa and 500 GPa",
        .given.to_gpa())]
    Modulus {
        /// As given.
        given: Stress,
    },
    /// A rate no bar has.
    #[error("rate is {:.4} N·m/deg; it must lie between 0.001 and 1 000 000 N·m/deg",
        .given.to_nm_per_deg())]
    Rate {
        /// As given.
        given: TorsionalRate,
    },
    /// A rate share that is not near one.
    #[error("rate share is {:.3}; it must lie between 0.5 and 1.5", .given.to_one())]
    Share {
        /// As given.
        given: Ratio,
    },
    /// A plate angle beyond a quarter turn.
    #[error("{what} is {:.2}°; it must lie between -90° and 90°", .given.to_deg())]
    Angle {
        /// Which.
        what: &'static str,
        /// As given.
        given: Angle,
    },
}

impl BarError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NotANumber { .. } => "measure it again and write a number with its unit",
            Self::Length { .. } => "measure the plain part between the splines; check the unit",
            Self::Bore { .. } => "a solid bar has a bore of 0 mm",
            Self::Modulus { .. } => {
                "spring steel is published between 74 GPa and 80 GPa; check the unit"
            }
            Self::Rate { .. } => "give torque per degree of twist; check the unit",
            Self::Share { .. } => "1 is a rigid anchorage; one that yields is a little less",
            Self::Angle { .. } => {
                "plate angles are degrees below the body's horizontal, tail down +"
            }
        }
    }
}

/// Outside and bore diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Outside.
    pub diameter: Length,
    /// Bore; zero for a solid bar.
    pub bore: Length,
}

/// What is measured on a bar to compute its rate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarSize {
    /// Outside diameter of the active length.
    pub diameter: Length,
    /// Bore; zero for a solid bar.
    pub bore: Length,
    /// Active length.
    pub length: Length,
    /// Modulus of rigidity of the steel.
    pub modulus: Stress,
}

/// A torsion bar: how stiff it is, and how strong its section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bar {
    section: Section,
    /// Rate with a rigid anchorage, in N·m/rad.
    rigid: TorsionalRate,
    share: Ratio,
}

const MM_SMALL: f64 = 1.0;
const MM_THICK: f64 = 500.0;
const MM_LONG: f64 = 20_000.0;

fn length(what: &'static str, given: Length, least: f64, most: f64) -> Result<Length, BarError> {
    if !given.is_finite() {
        return Err(BarError::NotANumber { what });
    }
    // A millionth of room: a limit met exactly must not be lost to metres.
    if given.to_mm() < least * (1.0 - 1e-6) || most * (1.0 + 1e-6) < given.to_mm() {
        let (least, most) = (Length::mm(least), Length::mm(most));
        return Err(BarError::Length { what, given, least, most });
    }
    Ok(given)
}

fn plate_angle(what: &'static str, given: Angle) -> Result<Angle, BarError> {
    if !given.is_finite() {
        return Err(BarError::NotANumber { what });
    }
    if 90.000_001 < given.to_deg().abs() {
        return Err(BarError::Angle { what, given });
    }
    Ok(given)
}

impl Section {
    fn checked(self) -> Result<Self, BarError> {
        let diameter = length("bar diameter", self.diameter, MM_SMALL, MM_THICK)?;
        if !self.bore.is_finite() {
            return Err(BarError::NotANumber { what: "bore" });
        }
        if self.bore < Length::ZERO || diameter <= self.bore {
            return Err(BarError::Bore { bore: self.bore, diameter });
        }
        Ok(self)
    }

    /// Polar second moment of area in m⁴, `J = π(D⁴ − d⁴)/32`.
    fn polar_m4(self) -> f64 {
        let (d_out, d_in) = (self.diameter.to_m(), self.bore.to_m());
        PI * (d_out.powi(4) - d_in.powi(4)) / 32.0
    }
}

fn checked_rate(given: TorsionalRate) -> Result<TorsionalRate, BarError> {
    if !given.is_finite() {
        return Err(BarError::NotANumber { what: "rate" });
    }
    if (1e-3..=1e6).contains(&given.to_nm_per_deg()) {
        Ok(given)
    } else {
        Err(BarError::Rate { given })
    }
}

impl Bar {
    /// From measured size and the steel's modulus, `k = G·π(D⁴ − d⁴)/(32·L)`.
    ///
    /// # Accuracy
    /// Fourth power of the diameter: 0.1 mm too much on 23 mm makes the rate 1.7 % too high.
    /// # Errors
    /// A diameter outside 1 mm to 500 mm, a length outside 10 mm to 20 m, a bore that leaves no
    /// wall, a modulus outside 1 GPa to 500 GPa, or anything that is not a number.
    /// # Source
    /// Torsion of a round shaft; `tests/it/published/shafts.rs`, T1, T2 and T5.
    pub fn new(size: BarSize) -> Result<Self, BarError> {
        let section = Section { diameter: size.diameter, bore: size.bore }.checked()?;
        let length = length("active length", size.length, 10.0, MM_LONG)?;
        if !size.modulus.is_finite() {
            return Err(BarError::NotANumber { what: "modulus of rigidity" });
        }
        if !(1.0 - 1e-6..=500.0 + 1e-6).contains(&size.modulus.to_gpa()) {
            return Err(BarError::Modulus { given: size.modulus });
        }
        let rate = size.modulus.to_pa() * section.polar_m4() / length.to_m();
        let rigid = checked_rate(TorsionalRate::nm_per_rad(rate))?;
        Ok(Self { section, rigid, share: Ratio::one(1.0) })
    }

    /// From a rate that was measured or printed; the section serves the shear stress only.
    ///
    /// # Errors
    /// A rate outside 0.001 to 1 000 000 N·m/deg, or a section as in [`Bar::new`].
    /// # Source
    /// The rate is the caller's.
    pub fn with_rate(rate: TorsionalRate, section: Section) -> Result<Self, BarError> {
        let (rigid, section) = (checked_rate(rate)?, section.checked()?);
        Ok(Self { section, rigid, share: Ratio::one(1.0) })
    }

    /// The same bar in an anchorage that yields: only this share of its rate is left.
    ///
    /// # Valid for
    /// An anchorage that yields in proportion to the torque. With no measurement take 1, with a
    /// standard uncertainty of 2 % (common practice, no source). Shear per torque stays as it is.
    /// # Errors
    /// A share outside 0.5 to 1.5.
    /// # Source
    /// Two springs in a row: `1/k = 1/k_bar + 1/k_anchorage`, so `s = 1/(1 + k_bar/k_anchorage)`.
    pub fn with_rate_share(self, share: Ratio) -> Result<Self, BarError> {
        if !share.is_finite() {
            return Err(BarError::NotANumber { what: "rate share" });
        }
        if !(0.5..=1.5).contains(&share.to_one()) {
            return Err(BarError::Share { given: share });
        }
        Ok(Self { share, ..self })
    }

    /// Torque per angle of twist, `k = s·G·J/L`. Always positive.
    ///
    /// # Source
    /// As [`Bar::new`] and [`Bar::with_rate_share`].
    pub fn rate(&self) -> TorsionalRate {
        self.rigid * self.share.to_one()
    }

    /// Torque at a twist, `T = k·φ`, with the sign of the twist.
    ///
    /// # Valid for
    /// The elastic range: compare [`Bar::shear`] with what the steel allows.
    /// # Source
    /// Definition of the rate.
    pub fn torque(&self, twist: Angle) -> Torque {
        self.rate() * twist
    }

    /// Twist under a torque, `φ = T/k`, with the sign of the torque.
    ///
    /// # Source
    /// Definition of the rate.
    pub fn twist(&self, torque: Torque) -> Angle {
        torque / self.rate()
    }

    /// Shear stress at the surface, `τ = |T|·D/(2J)`. Never negative.
    ///
    /// # Valid for
    /// The plain length; the splines' roots and any nick or pit are worse.
    /// # Source
    /// Torsion of a round shaft; `tests/it/published/shafts.rs`, T5.
    pub fn shear(&self, torque: Torque) -> Stress {
        let (t, d, j) = (torque.to_nm(), self.section.diameter.to_m(), self.section.polar_m4());
        Stress::pa(t.abs() * d / (2.0 * j))
    }
}

/// The four numbers that give a free angle after a change of bar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FourNumbers {
    /// Free angle the manual gives for the old bar, tail down +.
    pub manual_free: Angle,
    /// Plate angle at ride, tail down +.
    pub ride: Angle,
    /// Diameter of the bar the manual's angle is for.
    pub old_diameter: Length,
    /// Diameter of the bar that goes in.
    pub new_diameter: Length,
}

/// Free angle with which a new bar carries the car where the old one did:
/// `θ₀ = θ_ride + (θ_manual − θ_ride)·(d_old/d_new)⁴`.
///
/// # Units and sign
/// Tail down is positive.
/// # Valid for
/// Two solid bars of one length and one steel, the same load on the plate at ride. A gas damper,
/// a rubber bush or another load changes the answer; for bars that differ in anything but the
/// diameter use [`BarSwap`].
/// # Accuracy
/// About a degree, mostly from the ride angle and the load; 0.03 mm on 23 mm is worth 0.5 % of the
/// twist.
/// # Errors
/// An angle beyond 90°, a diameter outside 1 mm to 500 mm, anything that is not a number.
/// # Source
/// Equal torque at ride, `k·φ` the same for both, and `k ∝ d⁴`.
pub fn free_angle_after_bar_change(numbers: FourNumbers) -> Result<Angle, BarError> {
    let manual = plate_angle("the manual's free angle", numbers.manual_free)?;
    let ride = plate_angle("plate angle at ride", numbers.ride)?;
    let old = length("old bar diameter", numbers.old_diameter, MM_SMALL, MM_THICK)?;
    let new = length("new bar diameter", numbers.new_diameter, MM_SMALL, MM_THICK)?;
    plate_angle("the free angle that follows", ride + (manual - ride) * (old / new).powi(4))
}

/// A change of bar where both bars are known in full.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarSwap {
    /// Free angle of the old bar, tail down +.
    pub manual_free: Angle,
    /// Plate angle at ride, tail down +.
    pub ride: Angle,
    /// The bar that angle is for.
    pub old: Bar,
    /// The bar that goes in.
    pub new: Bar,
}

impl BarSwap {
    /// `θ₀ = θ_ride + (θ_manual − θ_ride)·k_old/k_new`: the same torque at ride.
    ///
    /// # Units and sign
    /// Tail down is positive.
    /// # Valid for
    /// The same load on the plate at ride before and after.
    /// # Errors
    /// An angle beyond 90°, the result's included.
    /// # Source
    /// Equal torque at ride.
    pub fn free_angle(&self) -> Result<Angle, BarError> {
        let manual = plate_angle("the manual's free angle", self.manual_free)?;
        let ride = plate_angle("plate angle at ride", self.ride)?;
        let share = self.old.rate() / self.new.rate();
        plate_angle("the free angle that follows", ride + (manual - ride) * share)
    }
}

/// A bar that has set in service.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sag {
    /// Free angle it was fitted with, tail down +.
    pub fitted_free: Angle,
    /// How far it has set towards tail up.
    pub set: Angle,
}

/// What is read before strip-down to find how far a bar has set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SagReading {
    /// Free angle it was fitted with, tail down +.
    pub fitted_free: Angle,
    /// Plate angle now, with the car standing, tail down +.
    pub ride: Angle,
    /// Torque the car's weight puts on the bar at that angle.
    pub torque: Torque,
}

impl Sag {
    /// Free angle the bar acts as having now, `θ₀ − δ`.
    ///
    /// # Units and sign
    /// Tail down is positive; a bar that has set stands less tail down when unloaded.
    /// # Errors
    /// An angle beyond 90°.
    /// # Source
    /// A permanent twist shifts the torque–angle line without tilting it.
    pub fn free_angle(&self) -> Result<Angle, BarError> {
        let fitted = plate_angle("fitted free angle", self.fitted_free)?;
        let set = plate_angle("sag", self.set)?;
        plate_angle("the free angle that follows", fitted - set)
    }

    /// Sag found from a reading on the wheels, `δ = θ₀ − (θ_ride + T/k)`.
    ///
    /// # Accuracy
    /// That of the load: 3 % on the corner weight is 3 % of the twist.
    /// # Errors
    /// An angle beyond 90°, a torque that is not a number.
    /// # Source
    /// `T = k(θ₀ − δ − θ_ride)` solved for δ.
    pub fn found(reading: SagReading, bar: &Bar) -> Result<Self, BarError> {
        let fitted_free = plate_angle("fitted free angle", reading.fitted_free)?;
        let ride = plate_angle("plate angle at ride", reading.ride)?;
        if !reading.torque.is_finite() {
            return Err(BarError::NotANumber { what: "torque on the bar" });
        }
        let set = plate_angle("sag", fitted_free - ride - bar.twist(reading.torque))?;
        Ok(Self { fitted_free, set })
    }
}

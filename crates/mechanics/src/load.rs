//! Load and ride: bar, gas and bush against the load at the contact, by virtual work.
//!
//! ```text
//!        body (held)
//!    ┌────────┬─────────┐
//!    │  bar k │ gas P ↓ │         turn the plate by dθ, tail down: the bar gives
//!    O────────┴──__     │         k(θ₀ − θ) dθ, the gas P dℓ, the bush k_b(θ_b − θ) dθ,
//!            θ    ‾‾──__⊙         and the road takes F·(−dz)
//!                       ↑ F at the contact
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | θ₀ | free angle: the plate with no load on the bar | rad | `free` |
//! | k | bar's rate | N·m/rad | [`Corner::bar_rate`] |
//! | k_b, θ_b | rubber bush's rate and the angle at which it is at ease | N·m/rad, rad | [`Bush`] |
//! | P, ℓ | gas force of the damper, + pushing it longer; its length | N, m | [`Gas`] |
//! | F | spring load at the contact: corner weight less unsprung weight | N | `load` |
//! | z | height of the contact in body axes | m | [`crate::linkage::Stance::contact`] |
//!
//! **Virtual work.** F·(−dz/dθ) = k(θ₀ − θ) + k_b(θ_b − θ) + P·dℓ/dθ. The same sum with weights
//! m·g·(−dz_m/dθ) in place of F gives the angles at which plate or arm hang. The wheel rate is
//! dF/dz along this curve, with exact second derivatives.
//!
//! **Limits.** Quasi-static, no friction; the damper's gas force is taken as constant over its
//! stroke (it grows as the rod goes in, by a few per cent: common practice, no source). The body is
//! held still and level.
//!
//! **Source.** Principle of virtual work; own derivation. Checked against the minimum of
//! potential energy, in the tests and by `reference/load_oracle.py`; the rate of a plain lever
//! against the closed form dF/dz = k/(R cos α)² − T sin α/(R² cos³ α).

use axlewright_quantity::{
    Angle, Energy, Force, Frequency, Length, LinearRate, Mass, Place, PlatePoint, TorsionalRate,
};
use num_dual::Dual64;

use crate::arm::kernel::Real;
use crate::arm::kernel::{Motion, up_to};
use crate::arm::{out_of_reach, si};
use crate::linkage::{Linkage, LinkageError, Raw, Shift, Span};
use crate::root::Near;

/// A gas damper as a spring of constant force.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gas {
    /// Eye to eye.
    pub span: Span,
    /// Push at mid stroke, + lengthening.
    pub force: Force,
}

/// A rubber bush that twists with the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bush {
    /// Torque per twist.
    pub rate: TorsionalRate,
    /// Plate angle at which it was clamped, so at ease.
    pub neutral: Angle,
}

/// Something heavy and what it goes with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weight {
    /// How heavy.
    pub mass: Mass,
    /// Where its centre of mass is.
    pub on: On,
}

/// What a weight goes with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum On {
    /// Fixed to the plate, in its coordinates.
    Plate(PlatePoint),
    /// Fixed to the arm: its place at the design angle.
    Arm(Place),
}

/// What hangs on the bar, with the wheel in the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hanging<'a> {
    /// Plate, arm assembly, wheel: whatever is fitted now.
    pub weights: &'a [Weight],
    /// Whether the corner's gas damper is fitted.
    pub damper: bool,
}

/// One sprung corner, computed as a left one.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    /// What carries the wheel.
    pub linkage: Linkage,
    /// Rate of the torsion bar as it sits in its anchor.
    pub bar_rate: TorsionalRate,
    /// Gas damper, when it has gas and is fitted on the road.
    pub gas: Option<Gas>,
    /// Rubber bush that twists with the plate, if any.
    pub bush: Option<Bush>,
    /// Where the eccentrics stand.
    pub shift: Shift,
}

/// The plate alone on the bar: what is seen at indexing, before there is an arm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateOnBar {
    /// Rate of the torsion bar.
    pub bar_rate: TorsionalRate,
    /// Rubber bush that twists with the plate, if any.
    pub bush: Option<Bush>,
    /// Mass of the plate.
    pub mass: Mass,
    /// Its centre of mass in plate coordinates.
    pub centre: PlatePoint,
}

fn input(what: &'static str, given: String, must: &'static str) -> LinkageError {
    LinkageError::Input { what, given, must }
}

fn finite(what: &'static str, angle: Angle) -> Result<f64, LinkageError> {
    let a = angle.to_rad();
    if a.abs() <= std::f64::consts::PI {
        Ok(a)
    } else {
        Err(input(what, format!("{:.2}°", angle.to_deg()), "an angle between -180° and 180°"))
    }
}

fn finite_load(load: Force) -> Result<f64, LinkageError> {
    if load.to_n().abs() <= 1e6 {
        Ok(load.to_n())
    } else {
        Err(input("spring load", format!("{:.0} N", load.to_n()), "a force a corner can carry"))
    }
}

fn bar_rate(rate: TorsionalRate) -> Result<f64, LinkageError> {
    let k = rate.to_nm_per_rad();
    // From a knitting needle to a ship's shaft: outside it the unit has slipped.
    if (1e-2..1e9).contains(&k) {
        Ok(k)
    } else {
        let given = format!("{:.3} N·m/deg", rate.to_nm_per_deg());
        Err(input("bar rate", given, "above zero and within what a bar can have"))
    }
}

/// Natural frequency of a mass on a spring, f = √(c/m)/2π.
///
/// # Valid for
/// One mass that moves one way on a linear spring, undamped; damping at a third of critical
/// lowers it by 6 %.
/// # Errors
/// When rate or mass is not greater than zero, or so far off that no frequency comes of it.
/// # Source
/// Oscillator of one mass; checked against √(g/s)/2π with s the sag under the mass's own weight.
pub fn natural_frequency(rate: LinearRate, mass: Mass) -> Result<Frequency, LinkageError> {
    let (c, m) = (rate.to_n_per_m(), mass.to_kg());
    let hertz = (c / m).sqrt() / std::f64::consts::TAU;
    if 0.0 < c && 0.0 < m && 0.0 < hertz && hertz.is_finite() {
        Ok(Frequency::hz(hertz))
    } else {
        let given = format!("{:.3} N/mm on {m:.1} kg", rate.to_n_per_mm());
        let must = "greater than zero and what a car can have";
        Err(input("spring rate or sprung mass", given, must))
    }
}

/// Rate of two springs that carry the same load one on the other, `a·b/(a + b)`: a wheel's
/// spring and its tyre.
///
/// # Valid for
/// Two rates greater than zero; the result is then below either of them.
/// # Source
/// The same force in both, the sinkings added: 1/c = 1/a + 1/b.
pub fn in_series(a: LinearRate, b: LinearRate) -> LinearRate {
    let (a, b) = (a.to_n_per_m(), b.to_n_per_m());
    LinearRate::n_per_m(a * b / (a + b))
}

impl Bush {
    fn check(&self) -> Result<(), LinkageError> {
        finite("neutral angle of the bush", self.neutral)?;
        if (0.0..1e9).contains(&self.rate.to_nm_per_rad()) {
            return Ok(());
        }
        let given = format!("{} N·m/deg", self.rate.to_nm_per_deg());
        Err(input("bush rate", given, "zero or more, and within what a bush can have"))
    }

    fn torque<D: Real>(&self, angle: D) -> D {
        (-angle + self.neutral.to_rad()) * self.rate.to_nm_per_rad()
    }
}

impl Weight {
    /// Moment that turns the plate tail down, m·g·(−dz/dθ).
    fn moment(&self, angle: f64, motion: Option<&Motion<f64>>) -> Option<f64> {
        let drop = match self.on {
            On::Plate(PlatePoint { u, w }) => u.to_m() * angle.cos() + w.to_m() * angle.sin(),
            On::Arm(at) => -motion?.velocity(si(at))[2],
        };
        Some(self.mass.weight().to_n() * drop)
    }
}

impl PlateOnBar {
    fn check(&self) -> Result<f64, LinkageError> {
        self.bush.map_or(Ok(()), |bush| bush.check())?;
        bar_rate(self.bar_rate)
    }

    fn moment_less_bar(&self, angle: f64) -> Option<f64> {
        let weight = Weight { mass: self.mass, on: On::Plate(self.centre) };
        Some(weight.moment(angle, None)? + self.bush.map_or(0.0, |b| b.torque(angle)))
    }

    /// The angle at which the plate hangs, for a free angle.
    ///
    /// # Valid for
    /// A plate that swings free: nothing bolted to it, no friction.
    /// # Accuracy
    /// 1e-8°.
    /// # Errors
    /// When the rate is not positive or no rest is found.
    /// # Source
    /// Principle of virtual work; checked by hand and by least energy (`reference/load_oracle.py`).
    pub fn hang(&self, free: Angle) -> Result<Angle, LinkageError> {
        let (k, from) = (self.check()?, finite("free angle", free)?);
        let walk = crate::root::Walk {
            start: from,
            step: 0.01,
            farthest: 1.6,
            within: 1e-8_f64.to_radians(),
        };
        let found = crate::root::settle(walk, |a| Some(k * (from - a) + self.moment_less_bar(a)?));
        found.map(Angle::rad).map_err(|_| LinkageError::NoSuchAngle {
            what: "rest to the hanging plate".into(),
            looked_to: Angle::rad(from + 1.6),
        })
    }

    /// The free angle behind a measured hanging angle: the plate's own weight taken out.
    ///
    /// # Valid for
    /// As [`hang`](Self::hang): a plate that sticks was not hanging where it was measured.
    /// # Errors
    /// When the rate is not positive.
    /// # Source
    /// θ₀ = θ − M/k with M the moment of plate and bush; checked as the inverse of `hang`.
    pub fn free_from_hanging(&self, measured: Angle) -> Result<Angle, LinkageError> {
        let (k, a) = (self.check()?, finite("measured angle", measured)?);
        let moment = self.moment_less_bar(a).unwrap_or(f64::NAN);
        if moment.is_finite() {
            Ok(Angle::rad(a - moment / k))
        } else {
            Err(input("plate mass or place", "not a number".into(), "a mass and a place"))
        }
    }
}

impl Corner {
    pub(crate) fn check(&self) -> Result<f64, LinkageError> {
        if let Some(gas) = &self.gas {
            gas.span.check()?;
            if !up_to(gas.force.to_n(), 1e5) {
                let given = format!("{} N", gas.force.to_n());
                return Err(input("gas force of the damper", given, "a force of some 100 N"));
            }
        }
        self.bush.map_or(Ok(()), |bush| bush.check())?;
        bar_rate(self.bar_rate)
    }

    /// What turns the plate tail down besides the bar: bush and gas.
    fn besides<D: Real>(&self, angle: D, motion: &Motion<D>, damper: bool) -> D {
        let bush = self.bush.map_or(D::from(0.0), |b| b.torque(angle));
        match &self.gas {
            Some(gas) if damper => bush + gas.span.raw(motion, angle).1 * gas.force.to_n(),
            _ => bush,
        }
    }

    pub(crate) fn raw<D: Real>(&self, angle: D) -> Result<Raw<D>, LinkageError> {
        let at = Angle::rad(angle.re());
        Ok(self.linkage.raw(angle, self.shift).map_err(|short| out_of_reach(at, short))?)
    }

    fn motion(&self, angle: f64) -> Result<Motion<f64>, LinkageError> {
        let short = |short| out_of_reach(Angle::rad(angle), short);
        Ok(self.linkage.motion(angle, self.shift).map_err(short)?)
    }

    fn drop_there(&self, what: &'static str, angle: f64, drop: f64) -> Result<f64, LinkageError> {
        // A tenth of a millimetre per degree carries nothing.
        if drop.abs() > 0.006 {
            Ok(drop)
        } else {
            Err(LinkageError::NoLever { what, angle: Angle::rad(angle) })
        }
    }

    /// The free angle that carries a spring load at a plate angle,
    /// θ₀ = θ + (F·(−dz/dθ) − k_b(θ_b − θ) − P·dℓ/dθ)/k.
    ///
    /// # Errors
    /// When the arm does not reach, or an input is out of range.
    /// # Source
    /// Principle of virtual work, see the module's text; gas and bush checked by hand.
    pub fn free_angle_for(&self, ride: Angle, load: Force) -> Result<Angle, LinkageError> {
        let (k, a, f) = (self.check()?, finite("plate angle", ride)?, finite_load(load)?);
        let raw = self.raw(a)?;
        let besides = self.besides(a, &raw.motion, true);
        Ok(Angle::rad(a + (f * raw.contact_drop - besides) / k))
    }

    /// The plate angle at which a free angle carries a spring load.
    ///
    /// # Valid for
    /// The stable rest that is reached by loading the corner from its free angle.
    /// # Accuracy
    /// 1e-8°.
    /// # Errors
    /// When no rest lies within the arm's reach.
    pub fn angle_for(&self, free: Angle, load: Force) -> Result<Angle, LinkageError> {
        self.rest(free, load, None)
    }

    /// [`angle_for`](Self::angle_for), begun where a corner much like this one rests.
    pub(crate) fn rest(
        &self,
        free: Angle,
        load: Force,
        near: Option<Near>,
    ) -> Result<Angle, LinkageError> {
        let (k, from, f) = (self.check()?, finite("free angle", free)?, finite_load(load)?);
        let what = || format!("rest to a spring load of {f:.0} N");
        self.linkage.settle((from, near), what, |a| {
            let raw = self.linkage.raw(a, self.shift).ok()?;
            Some(k * (from - a) + self.besides(a, &raw.motion, true) - f * raw.contact_drop)
        })
    }

    /// The spring load at the contact, F = (k(θ₀ − θ) + k_b(θ_b − θ) + P·dℓ/dθ)/(−dz/dθ).
    ///
    /// # Errors
    /// When the arm does not reach, or the contact does not move up and down there.
    /// # Source
    /// Principle of virtual work; checked against the closed form of a plain lever.
    pub fn spring_load(&self, angle: Angle, free: Angle) -> Result<Force, LinkageError> {
        let (k, a) = (self.check()?, finite("plate angle", angle)?);
        let from = finite("free angle", free)?;
        let raw = self.raw(a)?;
        let drop = self.drop_there("the contact", a, raw.contact_drop)?;
        Ok(Force::n((k * (from - a) + self.besides(a, &raw.motion, true)) / drop))
    }

    /// Wheel rate dF/dz at the contact: how much more the spring carries per rise of the wheel.
    ///
    /// # Accuracy
    /// Exact derivative (dual numbers), no differences.
    /// # Errors
    /// As [`spring_load`](Self::spring_load).
    /// # Source
    /// dF/dz = (dM/dθ − F·d(−z′)/dθ)/((−z′)·z′) with M the tail-down moment; own derivation.
    pub fn wheel_rate(&self, angle: Angle, free: Angle) -> Result<LinearRate, LinkageError> {
        let (k, a) = (self.check()?, finite("plate angle", angle)?);
        let from = finite("free angle", free)?;
        let at = Dual64::new(a, 1.0);
        let raw = self.raw(at)?;
        self.drop_there("the contact", a, raw.contact_drop.re)?;
        let moment = (-at + from) * k + self.besides(at, &raw.motion, true);
        let load = moment / raw.contact_drop;
        Ok(LinearRate::n_per_m(-load.eps / raw.contact_drop.re))
    }

    /// Energy stored in the bar, ½k(θ₀ − θ)².
    ///
    /// # Valid for
    /// A bar in its elastic range. What gas, bush and raised weights hold is not in it.
    /// # Errors
    /// When the rate is not positive.
    /// # Source
    /// Linear spring; checked by the work of a jack over its path.
    pub fn bar_energy(&self, angle: Angle, free: Angle) -> Result<Energy, LinkageError> {
        let twist = finite("free angle", free)? - finite("plate angle", angle)?;
        Ok(Energy::j(0.5 * self.check()? * twist * twist))
    }

    /// Bar axis above wheel centre at a plate angle.
    ///
    /// # Errors
    /// When the arm does not reach.
    pub fn trim(&self, angle: Angle) -> Result<Length, LinkageError> {
        self.linkage.trim(self.shift.at(angle))
    }

    /// Plate angle at a trim.
    ///
    /// # Errors
    /// When nothing in the arm's reach gives it.
    pub fn angle_at_trim(&self, trim: Length) -> Result<Angle, LinkageError> {
        self.linkage.angle_at_trim(trim, self.shift)
    }

    /// Moment of everything but the bar that turns the plate tail down, wheel in the air.
    pub(crate) fn hanging_moment(&self, angle: f64, on: &Hanging) -> Result<f64, LinkageError> {
        let on_arm = |w: &Weight| matches!(w.on, On::Arm(_));
        let gas = on.damper && self.gas.is_some();
        let moves = gas || on.weights.iter().any(on_arm);
        let motion = if moves { Some(self.motion(angle)?) } else { None };
        let besides = match &motion {
            Some(motion) => self.besides(angle, motion, on.damper),
            None => self.bush.map_or(0.0, |b| b.torque(angle)),
        };
        let weights: Option<f64> =
            on.weights.iter().map(|w| w.moment(angle, motion.as_ref())).sum();
        weights.map(|w| w + besides).filter(|m| m.is_finite()).ok_or_else(|| {
            input("a mass or its place", "not a number".into(), "a mass and where it is")
        })
    }

    /// Everything that turns the plate tail down, wheel in the air: zero where it hangs.
    pub(crate) fn moment_in_air(
        &self,
        free: Angle,
        angle: Angle,
        on: &Hanging,
    ) -> Result<f64, LinkageError> {
        let (k, a) = (self.check()?, finite("plate angle", angle)?);
        Ok(k * (finite("free angle", free)? - a) + self.hanging_moment(a, on)?)
    }

    /// The plate angle at which things hang with the wheel in the air.
    ///
    /// # Valid for
    /// The stable rest reached from the free angle, with nothing else touching the arm.
    /// # Errors
    /// When no rest lies within the arm's reach.
    /// # Source
    /// Principle of virtual work; checked by least energy (`reference/load_oracle.py`).
    pub fn hang(&self, free: Angle, on: &Hanging) -> Result<Angle, LinkageError> {
        let (k, from) = (self.check()?, finite("free angle", free)?);
        // What hangs there turns a bar a little way only, and the bar's rate is most of the slope.
        let near = Near { at: from, slope: -k };
        self.linkage.settle(
            (from, Some(near)),
            || "rest to what hangs on the bar".into(),
            |a| Some(k * (from - a) + self.hanging_moment(a, on).ok()?),
        )
    }

    /// The free angle behind an angle measured with things hanging on the bar.
    ///
    /// # Errors
    /// When the arm does not reach, or an input is out of range.
    /// # Source
    /// θ₀ = θ − M/k with M the moment of all but the bar; checked as the inverse of
    /// [`hang`](Self::hang).
    pub fn free_from_hanging(&self, measured: Angle, on: &Hanging) -> Result<Angle, LinkageError> {
        let (k, a) = (self.check()?, finite("measured angle", measured)?);
        Ok(Angle::rad(a - self.hanging_moment(a, on)? / k))
    }
}

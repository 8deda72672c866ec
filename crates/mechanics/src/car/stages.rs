//! A car that is not finished yet: what is on the springs, and where. And what a change of bar
//! does to the share of roll stiffness.
//!
//! ```text
//!    engine      fuel    shell   driver                     c_t  c    c  c_t     roll by φ:
//!      ▪          ▪       ▪        ▪                         ≷   ≷    ≷   ≷      couple = K·φ
//!   ───┴──────────┴───────┴────────┴───  Σm, Σm·p/Σm        ─┴───┴────┴───┴─
//!                                                              ├── t ──┤
//! ```
//!
//! | symbol | meaning | unit | field |
//! |---|---|---|---|
//! | m, p | mass of an item and its place | kg, m | [`Item`] |
//! | c, c_t, c_a | wheel rate, tyre's rate, anti-roll bar's coupling | N/m | [`Axle`] |
//! | t | track | m | [`Axle::track`] |
//! | K | roll stiffness: couple per lean | N·m/rad | [`Axle::roll_stiffness`] |
//!
//! **Source.** Statics. Roll share: elastic parts only, roll centres left out.

use axlewright_quantity::{Angle, Length, LinearRate, Mass, Place, Ratio, TorsionalRate};

use super::{CarError, Sprung, input};
use crate::load::in_series;

/// Something that rides on the springs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Item {
    /// How heavy.
    pub mass: Mass,
    /// Its centre of mass.
    pub at: Place,
}

/// Everything together: Σm and Σm·p/Σm.
///
/// # Valid for
/// Masses that ride on the springs; below zero for something taken out of a known whole.
/// # Errors
/// When a number is none, or nothing is left.
/// # Source
/// Definition of the centre of mass.
pub fn sprung(items: &[Item]) -> Result<Sprung, CarError> {
    let sum = |f: &dyn Fn(&Item) -> f64| items.iter().map(|i| i.mass.to_kg() * f(i)).sum::<f64>();
    let mass = sum(&|_| 1.0);
    if !(1e-3 < mass && mass.is_finite()) {
        let given = format!("{mass:.1} kg");
        return Err(input("mass of everything together", given, "greater than zero"));
    }
    let mean = |f: &dyn Fn(&Item) -> f64| Length::m(sum(f) / mass);
    let centre = Place {
        x: mean(&|i| i.at.x.to_m()),
        y: mean(&|i| i.at.y.to_m()),
        z: mean(&|i| i.at.z.to_m()),
    };
    if ![centre.x, centre.y, centre.z].iter().all(|c| c.to_m().abs() <= 20.0) {
        return Err(input("centre of mass", "not a place a car can have", "within 20 m"));
    }
    Ok(Sprung { mass: Mass::kg(mass), centre })
}

/// One axle, as far as its roll stiffness goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axle {
    /// Load per travel at each wheel, without the tyre.
    pub wheel_rate: LinearRate,
    /// Each tyre's rate; `None` is one that does not give.
    pub tyre_rate: Option<LinearRate>,
    /// Anti-roll bar: force at each wheel per difference of travel.
    pub coupling: Option<LinearRate>,
    /// Between the contacts.
    pub track: Length,
}

impl Axle {
    /// Couple that resists a lean, `K = ½·c·t² + c_a·t²`, the tyres' ½·c_t·t² in series.
    ///
    /// # Valid for
    /// Small leans; springs alike on both sides; elastic parts only, no roll centre.
    /// # Errors
    /// When a rate or the track is not greater than zero.
    /// # Source
    /// Statics of a beam on two springs; checked by leaning the whole car.
    pub fn roll_stiffness(&self) -> Result<TorsionalRate, CarError> {
        let (c, t) = (self.wheel_rate.to_n_per_m(), self.track.to_m());
        if !(0.0 < c && c < 1e9) {
            let given = format!("{:.2} N/mm", self.wheel_rate.to_n_per_mm());
            return Err(input("wheel rate", given, "greater than zero"));
        }
        if !(0.1..=10.0).contains(&t) {
            return Err(input("track", format!("{:.0} mm", t * 1e3), "100 mm to 10 m"));
        }
        let each = c + 2.0 * self.coupling.map_or(0.0, LinearRate::to_n_per_m);
        if !(0.0 < each && each < 1e9) {
            return Err(input("anti-roll bar", "below zero or far off", "zero or more"));
        }
        let with_tyre = match self.tyre_rate {
            Some(tyre) if 0.0 < tyre.to_n_per_m() => {
                in_series(LinearRate::n_per_m(each), tyre).to_n_per_m()
            }
            Some(tyre) => {
                let given = format!("{:.1} N/mm", tyre.to_n_per_mm());
                return Err(input("tyre rate", given, "greater than zero"));
            }
            None => each,
        };
        Ok(TorsionalRate::nm_per_rad(0.5 * with_tyre * t * t))
    }
}

/// Roll stiffness of both axles, and the front's share of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollShare {
    /// In front.
    pub front: TorsionalRate,
    /// Behind.
    pub rear: TorsionalRate,
    /// Front over both.
    pub front_share: Ratio,
}

/// The front's share of the roll stiffness, `K_f/(K_f + K_r)`. A stiffer rear bar lowers it: the
/// tail comes round sooner in a bend, and in some places such a change needs approval.
///
/// # Valid for
/// Elastic parts only, as [`Axle::roll_stiffness`].
/// # Errors
/// As there.
/// # Source
/// Definition; the caution is common practice, no source.
pub fn roll_share(front: &Axle, rear: &Axle) -> Result<RollShare, CarError> {
    let (front, rear) = (front.roll_stiffness()?, rear.roll_stiffness()?);
    let one = Angle::rad(1.0);
    let share = (front * one).to_nm() / ((front * one).to_nm() + (rear * one).to_nm());
    Ok(RollShare { front, rear, front_share: Ratio::one(share) })
}

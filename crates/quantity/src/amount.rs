//! A quantity whose kind is known only at run time: what a finding's leaf or a car file's field
//! holds.

use crate::{
    Angle, Energy, Force, Frequency, Length, LinearRate, Mass, Ratio, Stress, Torque, TorsionalRate,
};

/// Which quantity an [`Amount`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// [`Length`]
    Length,
    /// [`Angle`]
    Angle,
    /// [`Mass`]
    Mass,
    /// [`Force`]
    Force,
    /// [`Torque`]
    Torque,
    /// [`Stress`]
    Stress,
    /// [`TorsionalRate`]
    TorsionalRate,
    /// [`LinearRate`]
    LinearRate,
    /// [`Energy`]
    Energy,
    /// [`Frequency`]
    Frequency,
    /// [`Ratio`]
    Ratio,
}

/// A quantity of any kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    kind: Kind,
    si: f64,
}

impl Kind {
    /// The unit in which this kind is shown to people and written to JSON.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Length => "mm",
            Self::Angle => "deg",
            Self::Mass => "kg",
            Self::Force => "N",
            Self::Torque => "N·m",
            Self::Stress => "MPa",
            Self::TorsionalRate => "N·m/deg",
            Self::LinearRate => "N/mm",
            Self::Energy => "J",
            Self::Frequency => "Hz",
            Self::Ratio => "1",
        }
    }

    /// How many SI base units one shown unit is.
    const fn shown_unit_si(self) -> f64 {
        match self {
            Self::Length => Length::mm(1.0).to_si(),
            Self::Angle => Angle::deg(1.0).to_si(),
            Self::Mass => Mass::kg(1.0).to_si(),
            Self::Force => Force::n(1.0).to_si(),
            Self::Torque => Torque::nm(1.0).to_si(),
            Self::Stress => Stress::mpa(1.0).to_si(),
            Self::TorsionalRate => TorsionalRate::nm_per_deg(1.0).to_si(),
            Self::LinearRate => LinearRate::n_per_mm(1.0).to_si(),
            Self::Energy => Energy::j(1.0).to_si(),
            Self::Frequency => Frequency::hz(1.0).to_si(),
            Self::Ratio => 1.0,
        }
    }
}

impl Amount {
    /// From a kind and its SI base value.
    pub const fn from_si(kind: Kind, si: f64) -> Self {
        Self { kind, si }
    }
    /// From a kind and a number in the unit that kind is shown in.
    pub const fn from_shown(kind: Kind, shown: f64) -> Self {
        Self { kind, si: shown * kind.shown_unit_si() }
    }
    /// Which quantity it is.
    pub const fn kind(self) -> Kind {
        self.kind
    }
    /// The SI base value.
    pub const fn to_si(self) -> f64 {
        self.si
    }
    /// The number in the unit that goes with it, [`Kind::unit`].
    pub const fn shown(self) -> f64 {
        self.si / self.kind.shown_unit_si()
    }
}

macro_rules! into_amount {
    ($($name:ident)+) => { $(
        impl From<$name> for Amount {
            fn from(q: $name) -> Self { Self::from_si(Kind::$name, q.to_si()) }
        }
        impl TryFrom<Amount> for $name {
            /// The kind it really is.
            type Error = Kind;
            fn try_from(a: Amount) -> Result<Self, Kind> {
                if a.kind == Kind::$name { Ok(Self::from_si(a.si)) } else { Err(a.kind) }
            }
        }
    )+ };
}
into_amount! { Length Angle Mass Force Torque Stress TorsionalRate LinearRate Energy Frequency Ratio }

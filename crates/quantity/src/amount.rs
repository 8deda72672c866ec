//! A quantity whose kind is known only at run time: what a finding's leaf or a car file's field
//! holds.

use crate::{
    Angle, Energy, Force, Frequency, Length, LinearRate, Mass, Pixels, Ratio, Stress, Torque,
    TorsionalRate,
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
    /// [`Pixels`]
    Pixels,
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
            Self::Pixels => "px",
            Self::Ratio => "1",
        }
    }

    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Length,
        Self::Angle,
        Self::Mass,
        Self::Force,
        Self::Torque,
        Self::Stress,
        Self::TorsionalRate,
        Self::LinearRate,
        Self::Energy,
        Self::Frequency,
        Self::Pixels,
        Self::Ratio,
    ];

    /// What people call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Angle => "angle",
            Self::Mass => "mass",
            Self::Force => "force",
            Self::Torque => "torque",
            Self::Stress => "stress",
            Self::TorsionalRate => "torsional rate",
            Self::LinearRate => "spring rate",
            Self::Energy => "energy",
            Self::Frequency => "frequency",
            Self::Pixels => "distance in a picture",
            Self::Ratio => "share",
        }
    }

    /// `"a length"`, `"an angle"`.
    pub const fn with_article(self) -> &'static str {
        match self {
            Self::Length => "a length",
            Self::Angle => "an angle",
            Self::Mass => "a mass",
            Self::Force => "a force",
            Self::Torque => "a torque",
            Self::Stress => "a stress",
            Self::TorsionalRate => "a torsional rate",
            Self::LinearRate => "a spring rate",
            Self::Energy => "an energy",
            Self::Frequency => "a frequency",
            Self::Pixels => "a distance in a picture",
            Self::Ratio => "a share",
        }
    }

    /// How one is written, as a sentence for a hint.
    pub const fn example(self) -> &'static str {
        match self {
            Self::Length => "a length is written like `210 mm u 1 mm`",
            Self::Angle => "an angle is written like `32.5 deg ± 0.5 deg` or `-0°30' ± 20'`",
            Self::Mass => "a mass is written like `212.5 kg u 3 kg`",
            Self::Force => "a force is written like `120 N ± 20 N`",
            Self::Torque => "a torque is written like `4.6 kgf m`, `45 N·m` or `33 lbf ft`",
            Self::Stress => "a stress is written like `800 MPa` or `78.5 GPa`",
            Self::TorsionalRate => "a torsional rate is written like `69.7 N·m/deg`",
            Self::LinearRate => "a spring rate is written like `15.5 N/mm`",
            Self::Energy => "an energy is written like `250 J`",
            Self::Frequency => "a frequency is written like `1.4 Hz` or `84 1/min`",
            Self::Pixels => "a distance in a picture is written like `12.5 px`",
            Self::Ratio => "a share is written like `0.14` or `50 % ± 0.5 %`",
        }
    }

    /// The most of it that is read from a text, either way of zero: far more than any car has,
    /// so that what lies beyond is a slip of the pen.
    ///
    /// # Source
    /// Chosen, no source: the largest round figure that keeps every later product finite.
    pub const fn limit(self) -> Amount {
        Amount::from_shown(
            self,
            match self {
                Self::Length => 1e6,
                Self::Angle => 3600.0,
                Self::Mass => 1e6,
                Self::Force => 1e8,
                Self::Torque => 1e8,
                Self::Stress => 1e7,
                Self::TorsionalRate => 1e8,
                Self::LinearRate => 1e8,
                Self::Energy => 1e9,
                Self::Frequency => 1e6,
                Self::Pixels => 1e6,
                Self::Ratio => 1e6,
            },
        )
    }

    /// The units in which it may be written, the one it is shown in first. A share's bare number
    /// is the empty name.
    pub fn units(self) -> impl Iterator<Item = &'static str> {
        crate::unit::of_kind(self).map(|u| u.name)
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
            Self::Pixels => Pixels::px(1.0).to_si(),
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
into_amount! {
    Length Angle Mass Force Torque Stress TorsionalRate LinearRate Energy Frequency Pixels
    Ratio
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.name())
    }
}

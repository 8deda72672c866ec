//! Friction in the thread and under the head: what is printed about it, side by side.
//!
//! Nine tenths of a torque go into friction, and friction is the least known figure of a joint.
//! So no surface has *a* coefficient here: each has what was printed about it, source by source,
//! and the range that takes all of it in. Where two sources cannot both be right, that is said
//! ([`Surface::disagree`]); zinc without oil is the plain case, which one handbook puts below bare
//! steel and another above it.
//!
//! A nut factor K (T = K·d·F) is turned into a coefficient with the short form of MIL-HDBK-60,
//! K = 0.159·P/d + (0.531 + 0.625)·μ, at P/d = 0.15 (M10).
//!
//! # Valid for
//! Steel on steel, clean threads, hand speed. Re-used bolts, rust, paint under the head and
//! locking compound are outside every range.
//! # Source
//! VDI 2230 friction classes; MIL-HDBK-60 Table II; NASA TM-106943; Shigley, Table 8-15; Bickford
//! and Nassar, ch. 2, Table 1 (second hand).

use std::fmt;
use std::str::FromStr;

use axlewright_quantity::Ratio;

use super::JointError;
use super::error::{cut, share};

/// Least coefficient taken.
pub const LEAST: Ratio = Ratio::one(0.02);
/// Most coefficient taken.
pub const MOST: Ratio = Ratio::one(0.80);

/// One pair of coefficients.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Friction {
    thread: Ratio,
    head: Ratio,
}

impl Friction {
    /// In the thread and under the head.
    ///
    /// # Errors
    /// A coefficient outside [`LEAST`] to [`MOST`].
    pub fn new(thread: Ratio, head: Ratio) -> Result<Self, JointError> {
        share("friction in the thread", thread, LEAST, MOST)?;
        share("friction under the head", head, LEAST, MOST)?;
        Ok(Self { thread, head })
    }

    /// The same in both places.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn same(both: Ratio) -> Result<Self, JointError> {
        Self::new(both, both)
    }

    /// In the thread, μ_th.
    pub const fn thread(&self) -> Ratio {
        self.thread
    }

    /// Under the head, μ_b.
    pub const fn head(&self) -> Ratio {
        self.head
    }
}

/// A coefficient known to lie between two figures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionRange {
    thread: (Ratio, Ratio),
    head: (Ratio, Ratio),
}

impl FrictionRange {
    /// The same least and most in both places.
    ///
    /// # Errors
    /// A coefficient outside [`LEAST`] to [`MOST`], or the least more than the most.
    pub fn new(least: Ratio, most: Ratio) -> Result<Self, JointError> {
        share("least friction", least, LEAST, MOST)?;
        share("most friction", most, LEAST, MOST)?;
        if most < least {
            return Err(JointError::Backwards { what: "friction" });
        }
        Ok(Self::of(least, most))
    }

    const fn of(least: Ratio, most: Ratio) -> Self {
        Self { thread: (least, most), head: (least, most) }
    }

    /// The slippery end, which gives the most preload for a torque.
    pub const fn least(&self) -> Friction {
        Friction { thread: self.thread.0, head: self.head.0 }
    }

    /// The rough end, which gives the least preload.
    pub const fn most(&self) -> Friction {
        Friction { thread: self.thread.1, head: self.head.1 }
    }

    /// Half-way between.
    ///
    /// # Valid for
    /// A range about which nothing more is known; no claim that the middle is likelier.
    pub fn middle(&self) -> Friction {
        let half = |(a, b): (Ratio, Ratio)| (a + b) / 2.0;
        Friction { thread: half(self.thread), head: half(self.head) }
    }
}

impl From<Friction> for FrictionRange {
    fn from(one: Friction) -> Self {
        Self { thread: (one.thread, one.thread), head: (one.head, one.head) }
    }
}

/// What is on the thread and under the head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Surface {
    /// Bare or black steel, degreased.
    Dry,
    /// Bare or black steel with engine oil.
    Oiled,
    /// Zinc, no oil.
    ZincDry,
    /// Zinc with engine oil.
    ZincOiled,
    /// Phosphate with oil.
    PhosphateOiled,
    /// Cadmium, no oil.
    Cadmium,
    /// Any coat with plain grease.
    Greased,
    /// Moly or anti-seize paste.
    Moly,
    /// Graphite.
    Graphite,
    /// As found.
    Unknown,
}

/// In what form something was printed.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Printed {
    /// A coefficient with a scatter in parts of one.
    Around(f64, f64),
    /// Coefficients from to.
    Between(f64, f64),
    /// Nut factors from to.
    NutFactor(f64, f64),
}

/// What one source says about a surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Statement {
    printed: Printed,
    /// Who says it, about what.
    pub source: &'static str,
}

impl Statement {
    /// Least and most coefficient it stands for.
    ///
    /// # Source
    /// Nut factors by the short form of MIL-HDBK-60, §100.5, at P/d = 0.15.
    pub fn range(&self) -> FrictionRange {
        let of_k = |k: f64| (k - 0.159 * 0.15) / (0.531 + 0.625);
        let (least, most) = match self.printed {
            Printed::Around(mu, scatter) => (mu * (1.0 - scatter), mu * (1.0 + scatter)),
            Printed::Between(least, most) => (least, most),
            Printed::NutFactor(least, most) => (of_k(least), of_k(most)),
        };
        FrictionRange::of(Ratio::one(least), Ratio::one(most))
    }
}

const fn told(printed: Printed, source: &'static str) -> Statement {
    Statement { printed, source }
}

const NASA_LUBRICATED: Statement =
    told(Printed::NutFactor(0.11, 0.15), "NASA TM-106943: lubricated, K 0.11 to 0.15");
const SHIGLEY_LUBRICATED: Statement =
    told(Printed::NutFactor(0.18, 0.18), "Shigley, Table 8-15: lubricated, K 0.18");
const MIL_OIL: Statement =
    told(Printed::Around(0.15, 0.20), "MIL-HDBK-60 Table II: machine oil, 0.15 ± 20 %");
const CLASS_B: Statement = told(
    Printed::Between(0.08, 0.16),
    "VDI 2230 class B, 0.08 to 0.16 (that it holds for this surface: from memory)",
);

impl Surface {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Dry,
        Self::Oiled,
        Self::ZincDry,
        Self::ZincOiled,
        Self::PhosphateOiled,
        Self::Cadmium,
        Self::Greased,
        Self::Moly,
        Self::Graphite,
        Self::Unknown,
    ];

    /// As it is written.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Dry => "dry",
            Self::Oiled => "oiled",
            Self::ZincDry => "zinc-dry",
            Self::ZincOiled => "zinc-oiled",
            Self::PhosphateOiled => "phosphate-oiled",
            Self::Cadmium => "cadmium",
            Self::Greased => "greased",
            Self::Moly => "moly",
            Self::Graphite => "graphite",
            Self::Unknown => "unknown",
        }
    }

    /// In plain words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Dry => "bare or black steel, dry",
            Self::Oiled => "bare or black steel, oiled",
            Self::ZincDry => "zinc plated, dry",
            Self::ZincOiled => "zinc plated, oiled",
            Self::PhosphateOiled => "phosphated, oiled",
            Self::Cadmium => "cadmium plated, dry",
            Self::Greased => "plain grease",
            Self::Moly => "moly or anti-seize paste",
            Self::Graphite => "graphite",
            Self::Unknown => "not known",
        }
    }

    /// From its name; blanks and underscores do for hyphens.
    ///
    /// # Errors
    /// What is no surface, with those there are.
    pub fn parse(text: &str) -> Result<Self, JointError> {
        let written = text.trim().to_lowercase().replace([' ', '_'], "-");
        if let Some(surface) = Self::ALL.into_iter().find(|s| s.name() == written) {
            return Ok(surface);
        }
        let nearest = match written.as_str() {
            "zinc" | "zinc-plated" | "galvanised" => Some("zinc-dry"),
            "oil" | "engine-oil" | "lubricated" => Some("oiled"),
            "grease" => Some("greased"),
            "anti-seize" | "antiseize" | "mos2" | "copper-paste" => Some("moly"),
            "phosphate" | "phosphated" => Some("phosphate-oiled"),
            "bare" | "black" | "clean" => Some("dry"),
            _ => None,
        };
        let known = Self::ALL.map(Self::name).join(", ");
        Err(JointError::NotASurface { given: cut(text), nearest, known })
    }

    /// What is printed about it, source by source; never empty.
    ///
    /// # Source
    /// Each statement names its own.
    pub const fn statements(self) -> &'static [Statement] {
        use Printed::{Around, Between, NutFactor};
        const DRY: &[Statement] = &[
            told(NutFactor(0.20, 0.20), "NASA TM-106943: unlubricated, K about 0.2"),
            told(NutFactor(0.30, 0.30), "Shigley, Table 8-15: black finish, K 0.30"),
            told(NutFactor(0.20, 0.20), "Bickford and Nassar: bare steel, K 0.2 (second hand)"),
        ];
        const ZINC_DRY: &[Statement] = &[
            told(Around(0.17, 0.20), "MIL-HDBK-60 Table II: zinc dry, 0.17 ± 20 %"),
            told(NutFactor(0.20, 0.20), "Shigley, Table 8-15: zinc, K 0.20"),
            told(NutFactor(0.295, 0.295), "Bickford and Nassar: zinc dry, K 0.295 (second hand)"),
        ];
        const CADMIUM: &[Statement] = &[
            told(Around(0.12, 0.20), "MIL-HDBK-60 Table II: cadmium dry, 0.12 ± 20 %"),
            told(NutFactor(0.16, 0.16), "Shigley, Table 8-15: cadmium, K 0.16"),
            told(NutFactor(0.20, 0.20), "Bickford and Nassar: cadmium dry, K 0.2 (second hand)"),
        ];
        const MOLY: &[Statement] = &[
            told(Around(0.11, 0.20), "MIL-HDBK-60 Table II: molybdenum disulphide, 0.11 ± 20 %"),
            told(NutFactor(0.12, 0.12), "Shigley, Table 8-15: anti-seize, K 0.12"),
        ];
        const GRAPHITE: &[Statement] =
            &[told(Around(0.07, 0.20), "MIL-HDBK-60 Table II: graphite, 0.07 ± 20 %")];
        const UNKNOWN: &[Statement] = &[
            told(NutFactor(0.20, 0.20), "Shigley, Table 8-15: where nothing is known, K 0.20"),
            told(Between(0.08, 0.24), "VDI 2230 classes B and C together, 0.08 to 0.24 (chosen)"),
        ];
        match self {
            Self::Dry => DRY,
            Self::Oiled => &[MIL_OIL, NASA_LUBRICATED, SHIGLEY_LUBRICATED],
            Self::ZincDry => ZINC_DRY,
            Self::ZincOiled | Self::PhosphateOiled => {
                &[CLASS_B, MIL_OIL, NASA_LUBRICATED, SHIGLEY_LUBRICATED]
            }
            Self::Cadmium => CADMIUM,
            Self::Greased => &[CLASS_B, NASA_LUBRICATED, SHIGLEY_LUBRICATED],
            Self::Moly => MOLY,
            Self::Graphite => GRAPHITE,
            Self::Unknown => UNKNOWN,
        }
    }

    /// The range that takes in every statement.
    ///
    /// # Source
    /// [`Self::statements`].
    pub fn range(self) -> FrictionRange {
        let ranges = || self.statements().iter().map(Statement::range);
        let least = ranges().map(|r| r.least().thread).fold(MOST, Ratio::min);
        let most = ranges().map(|r| r.most().thread).fold(LEAST, Ratio::max);
        FrictionRange::of(least, most)
    }

    /// Whether two of its sources cannot both be right: their figures lie more than a quarter
    /// apart, which is more than the scatter they state.
    pub fn disagree(self) -> bool {
        let apart = |a: &Statement, b: &Statement| {
            b.range().most().thread * 1.25 < a.range().least().thread
        };
        let all = self.statements();
        all.iter().any(|a| all.iter().any(|b| apart(a, b)))
    }
}

impl fmt::Display for Surface {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Surface {
    type Err = JointError;
    fn from_str(text: &str) -> Result<Self, JointError> {
        Self::parse(text)
    }
}

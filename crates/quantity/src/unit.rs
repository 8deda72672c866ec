//! The units that are read and shown: one table, from which parser, display and messages all draw.

use crate::types::exact::{
    FOOT_M, INCH_M, KILOGRAM_FORCE_N, POUND_FORCE_FOOT_NM, POUND_FORCE_INCH_NM, POUND_FORCE_N,
    POUND_KG, PSI_PA,
};
use crate::{Angle, Frequency, Kind, TorsionalRate};

/// How far capitals may stray from the usual spelling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Case {
    /// Not at all: `g` is a gram and `G` is not.
    Exact,
    /// All small or all capital: `mm` or `MM`, but never `Mm`, which is a megametre.
    Uniform,
    /// As it comes: no prefix to mistake in `Lb` or `DEG`.
    Any,
}

/// One unit of one kind of quantity.
#[derive(Debug)]
pub(crate) struct Unit {
    /// As it is shown.
    pub(crate) name: &'static str,
    /// What it measures.
    pub(crate) kind: Kind,
    /// SI base units in one of it.
    pub(crate) si: f64,
    /// Decimals that make sense on a car.
    pub(crate) places: usize,
    case: Case,
    /// Spellings in the normal form of [`normal`]; a `·` in one may be left out by the writer.
    pub(crate) spellings: &'static [&'static str],
}

const fn unit(
    kind: Kind,
    (name, si, places): (&'static str, f64, usize),
    case: Case,
    spellings: &'static [&'static str],
) -> Unit {
    Unit { name, kind, si, places, case, spellings }
}

const DEG: f64 = Angle::deg(1.0).to_si();
const PER_DEG: f64 = TorsionalRate::nm_per_deg(1.0).to_si();

/// Every unit; within a kind the one it is shown in comes first.
pub(crate) static UNITS: &[Unit] = &[
    unit(Kind::Length, ("mm", 1e-3, 1), Case::Uniform, &["mm"]),
    unit(Kind::Length, ("cm", 1e-2, 2), Case::Uniform, &["cm"]),
    unit(Kind::Length, ("m", 1.0, 4), Case::Exact, &["m"]),
    unit(Kind::Length, ("in", INCH_M, 3), Case::Any, &["in", "inch", "inches"]),
    unit(Kind::Length, ("ft", FOOT_M, 3), Case::Any, &["ft", "foot", "feet"]),
    unit(Kind::Angle, ("deg", DEG, 2), Case::Any, &["deg", "°", "degree", "degrees"]),
    unit(Kind::Angle, ("'", DEG / 60.0, 1), Case::Any, &["'", "arcmin"]),
    unit(Kind::Angle, ("\"", DEG / 3600.0, 0), Case::Any, &["\"", "''", "arcsec"]),
    unit(Kind::Angle, ("rad", 1.0, 4), Case::Any, &["rad"]),
    unit(Kind::Mass, ("kg", 1.0, 1), Case::Any, &["kg"]),
    unit(Kind::Mass, ("g", 1e-3, 0), Case::Exact, &["g"]),
    unit(Kind::Mass, ("lb", POUND_KG, 1), Case::Any, &["lb", "lbs"]),
    unit(Kind::Force, ("N", 1.0, 0), Case::Uniform, &["N"]),
    unit(Kind::Force, ("daN", 10.0, 1), Case::Uniform, &["daN"]),
    unit(Kind::Force, ("kN", 1e3, 2), Case::Uniform, &["kN"]),
    unit(Kind::Force, ("kgf", KILOGRAM_FORCE_N, 1), Case::Any, &["kgf", "kp"]),
    unit(Kind::Force, ("lbf", POUND_FORCE_N, 1), Case::Any, &["lbf"]),
    unit(Kind::Torque, ("N·m", 1.0, 1), Case::Uniform, &["N·m"]),
    unit(Kind::Torque, ("daN·m", 10.0, 2), Case::Uniform, &["daN·m", "m·daN"]),
    unit(
        Kind::Torque,
        ("kgf m", KILOGRAM_FORCE_N, 2),
        Case::Any,
        &["kgf·m", "kg·m", "kp·m", "m·kgf", "m·kg", "m·kp"],
    ),
    unit(
        Kind::Torque,
        ("lbf ft", POUND_FORCE_FOOT_NM, 1),
        Case::Any,
        &["lbf·ft", "lb·ft", "lbs·ft", "ft·lbf", "ft·lb", "ft·lbs"],
    ),
    unit(
        Kind::Torque,
        ("lbf in", POUND_FORCE_INCH_NM, 0),
        Case::Any,
        &["lbf·in", "lb·in", "lbs·in", "in·lbf", "in·lb", "in·lbs"],
    ),
    unit(Kind::Stress, ("MPa", 1e6, 0), Case::Uniform, &["MPa"]),
    unit(Kind::Stress, ("GPa", 1e9, 1), Case::Uniform, &["GPa"]),
    unit(Kind::Stress, ("Pa", 1.0, 0), Case::Uniform, &["Pa"]),
    unit(Kind::Stress, ("N/mm2", 1e6, 0), Case::Uniform, &["N/mm2"]),
    unit(
        Kind::Stress,
        ("kgf/mm2", KILOGRAM_FORCE_N * 1e6, 1),
        Case::Any,
        &["kgf/mm2", "kp/mm2", "kg/mm2"],
    ),
    unit(Kind::Stress, ("psi", PSI_PA, 0), Case::Any, &["psi", "lbf/in2", "lb/in2"]),
    unit(
        Kind::TorsionalRate,
        ("N·m/deg", PER_DEG, 2),
        Case::Uniform,
        &["N·m/deg", "N·m/°", "N·m/degree"],
    ),
    unit(Kind::TorsionalRate, ("N·m/rad", 1.0, 0), Case::Uniform, &["N·m/rad"]),
    unit(
        Kind::TorsionalRate,
        ("kgf m/deg", KILOGRAM_FORCE_N * PER_DEG, 3),
        Case::Any,
        &["kgf·m/deg", "kgf·m/°", "kg·m/deg", "kg·m/°", "kp·m/deg", "kp·m/°", "m·kg/deg", "m·kg/°"],
    ),
    unit(
        Kind::TorsionalRate,
        ("lbf ft/deg", POUND_FORCE_FOOT_NM * PER_DEG, 2),
        Case::Any,
        &["lbf·ft/deg", "lbf·ft/°", "lb·ft/deg", "lb·ft/°", "ft·lb/deg", "ft·lb/°", "ft·lbf/deg"],
    ),
    unit(
        Kind::TorsionalRate,
        ("lbf in/deg", POUND_FORCE_INCH_NM * PER_DEG, 1),
        Case::Any,
        &["lbf·in/deg", "lbf·in/°", "lb·in/deg", "lb·in/°", "in·lb/deg", "in·lb/°", "in·lbf/deg"],
    ),
    unit(Kind::LinearRate, ("N/mm", 1e3, 2), Case::Uniform, &["N/mm"]),
    unit(Kind::LinearRate, ("N/m", 1.0, 0), Case::Uniform, &["N/m"]),
    unit(
        Kind::LinearRate,
        ("kgf/mm", KILOGRAM_FORCE_N * 1e3, 3),
        Case::Any,
        &["kgf/mm", "kp/mm", "kg/mm"],
    ),
    unit(Kind::LinearRate, ("lbf/in", POUND_FORCE_N / INCH_M, 1), Case::Any, &["lbf/in", "lb/in"]),
    unit(Kind::Energy, ("J", 1.0, 1), Case::Uniform, &["J"]),
    unit(Kind::Frequency, ("Hz", 1.0, 2), Case::Any, &["Hz"]),
    unit(
        Kind::Frequency,
        ("1/min", Frequency::per_minute(1.0).to_si(), 0),
        Case::Any,
        &["1/min", "/min"],
    ),
    unit(Kind::Pixels, ("px", 1.0, 2), Case::Any, &["px"]),
    unit(Kind::Ratio, ("", 1.0, 3), Case::Exact, &[]),
    unit(Kind::Ratio, ("%", 1e-2, 1), Case::Any, &["%", "percent", "per·cent"]),
];

/// The kind's units, the one it is shown in first.
pub(crate) fn of_kind(kind: Kind) -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().filter(move |u| u.kind == kind)
}

/// A text as the table spells it: every way to write a product is `·`, every square a `2`, every
/// stroke of an angle the ASCII one.
pub(crate) fn normal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut gap = false;
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        let letters = || out.chars().next_back().is_some_and(char::is_alphabetic);
        let dot = c == '.' && letters() && chars.peek().is_some_and(|n| n.is_alphabetic());
        if c.is_whitespace() || dot || "·⋅•∙*×-\u{2010}\u{2011}".contains(c) {
            gap = true;
            continue;
        }
        if gap && c != '/' && !out.ends_with('/') {
            out.push('·');
        }
        gap = false;
        match c {
            '^' => {}
            '²' => out.push('2'),
            'º' | '˚' => out.push('°'),
            '′' | '’' | 'ʹ' => out.push('\''),
            '″' | '”' => out.push('"'),
            _ => out.push(c),
        }
    }
    if gap {
        out.push('·');
    }
    out
}

fn joined(text: &str) -> String {
    text.replace('·', "")
}

impl Unit {
    /// Whether `written`, in normal form, is this unit to the letter.
    fn is_exactly(&self, written: &str) -> bool {
        let open = written.contains('·');
        self.spellings.iter().any(|s| *s == written || (!open && joined(s) == written))
    }

    /// Whether it is this unit but for capitals that cannot mislead.
    fn is_nearly(&self, written: &str) -> bool {
        let has = |test: fn(char) -> bool| written.chars().any(test);
        let mixed = has(char::is_uppercase) && has(char::is_lowercase);
        let allowed = match self.case {
            Case::Exact => false,
            Case::Uniform => !mixed,
            Case::Any => true,
        };
        let open = written.contains('·');
        let same = |a: &str| a.to_lowercase() == written.to_lowercase();
        allowed && self.spellings.iter().any(|s| same(s) || (!open && same(&joined(s))))
    }
}

/// The unit a text names. The kind that is wanted wins where capitals alone leave a choice.
pub(crate) fn find(text: &str, wanted: Kind) -> Option<&'static Unit> {
    // The longest spelling has ten characters; a page of prose needs no closer look.
    if text.len() > 64 {
        return None;
    }
    let written = normal(text);
    let exact = || UNITS.iter().find(|u| u.is_exactly(&written));
    let near = || of_kind(wanted).find(|u| u.is_nearly(&written));
    let other = || UNITS.iter().find(|u| u.is_nearly(&written));
    exact().or_else(near).or_else(other)
}

/// The wanted kind's unit whose spelling is nearest to a text that names none.
pub(crate) fn nearest(text: &str, wanted: Kind) -> Option<&'static str> {
    let written = joined(&normal(text)).to_lowercase();
    let length = written.chars().count();
    let limit = match length {
        0 | 1 => return None,
        2 | 3 => 1,
        4..=16 => 2,
        _ => return None,
    };
    of_kind(wanted)
        .flat_map(|u| u.spellings.iter().map(move |s| (u, joined(s).to_lowercase())))
        .map(|(u, s)| (strsim::damerau_levenshtein(&written, &s), u.name))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// The names of the wanted kind's units, for a message.
pub(crate) fn accepted(kind: Kind) -> String {
    match kind {
        Kind::Ratio => "a bare number or %".to_owned(),
        Kind::Angle => "deg, °, 32°30', rad".to_owned(),
        _ => of_kind(kind).map(|u| u.name).collect::<Vec<_>>().join(", "),
    }
}

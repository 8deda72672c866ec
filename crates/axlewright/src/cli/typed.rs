//! Quantities as they are typed: `"23 mm"`, `"36 deg u 0.2 deg"`, or a bare number in the unit
//! the option's help names.

use axlewright_quantity::{Amount, Angle, Force, Kind, Length, Stress, Torque, parse_amount};
use axlewright_setup::quick::Given;

/// An angle; bare numbers are degrees.
pub fn angle(text: &str) -> Result<Given<Angle>, String> {
    given(text, Kind::Angle, "deg")
}

/// A length; bare numbers are millimetres.
pub fn length(text: &str) -> Result<Given<Length>, String> {
    given(text, Kind::Length, "mm")
}

/// A modulus; bare numbers are gigapascals.
pub fn modulus(text: &str) -> Result<Given<Stress>, String> {
    given(text, Kind::Stress, "GPa")
}

/// A stress; bare numbers are megapascals.
pub fn stress(text: &str) -> Result<Given<Stress>, String> {
    given(text, Kind::Stress, "MPa")
}

/// A torque; bare numbers are newton metres.
pub fn torque(text: &str) -> Result<Given<Torque>, String> {
    given(text, Kind::Torque, "N·m")
}

/// A force; bare numbers are newtons.
pub fn force(text: &str) -> Result<Given<Force>, String> {
    given(text, Kind::Force, "N")
}

/// A whole number, as it is counted.
pub fn whole<N: std::str::FromStr>(text: &str) -> Result<N, String> {
    text.trim().parse().map_err(|_| "it is counted in whole numbers, as in 20".to_owned())
}

fn given<Q: TryFrom<Amount>>(text: &str, kind: Kind, unit: &str) -> Result<Given<Q>, String> {
    let is_bare = text.trim().parse::<f64>().is_ok_and(f64::is_finite);
    let full = if is_bare { format!("{} {unit}", text.trim()) } else { text.to_owned() };
    let written = parse_amount(&full, kind).map_err(|why| match why.hint() {
        Some(hint) => format!("{why}; {hint}"),
        None => why.to_string(),
    })?;
    let value = Q::try_from(written.amount)
        .map_err(|_| format!("`{text}` is not in {unit} or a unit like it"))?;
    Ok(Given { value, spread: written.spread, text: full })
}

//! Quantities inside sentences, rounded to what the sentence is about; and words of all faces.

use axlewright_quantity::{Angle, Force, Length, Mass};

/// `"26.4°"`, a true minus sign before negative ones.
pub(crate) fn deg(angle: Angle, places: usize) -> String {
    minus(format!("{:.places$}°", angle.to_deg()))
}

/// The same with a plus sign before positive ones.
pub(crate) fn deg_signed(angle: Angle, places: usize) -> String {
    minus(format!("{:+.places$}°", angle.to_deg()))
}

/// `"95 mm"`.
pub(crate) fn mm(length: Length, places: usize) -> String {
    minus(format!("{:.places$} mm", length.to_mm()))
}

/// `"1146 N"`, to three figures.
pub(crate) fn newtons(force: Force) -> String {
    let n = force.to_n();
    let step = if n.abs() < 1000.0 { 1.0 } else { 10.0 };
    minus(format!("{:.0} N", (n / step).round() * step))
}

/// `"26 kg"`.
pub(crate) fn kg(mass: Mass) -> String {
    format!("{:.0} kg", mass.to_kg())
}

pub(crate) fn minus(text: String) -> String {
    text.replacen('-', "−", 1)
}

/// Minutes as people say them: `2 h 15 min`.
pub fn duration(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}

/// With a capital letter in front: `Dry run`.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

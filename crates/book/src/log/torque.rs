//! A torque that is written down, held against what the list and the wrench give; and how the arm
//! has to stand for it.

use axlewright_quantity::{Kind, Ratio, Torque, parse_amount};

use crate::words::Position;

/// What a joint asks of its torque, as it is figured from the list and the wrench.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The list's torque, at the bolt.
    pub list: Torque,
    /// The same as it is written.
    pub written: String,
    /// How far off a value may be, as a share of what it should be.
    pub share: Ratio,
    /// How far off the list itself lets it be; nothing where it does not say.
    pub tolerance: Torque,
    /// What the wrench shows for it through an extension, and how that is read; nothing without.
    pub through: Option<(Torque, String)>,
}

/// What is wrong with a torque that was written down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAsAsked {
    /// A public word: `no-value`, `wrong-value` or `value-in-doubt`.
    pub reason: &'static str,
    /// One sentence, without a full stop: what was expected, and which slip would explain it.
    pub words: String,
}

/// Units in which a torque is told, for whoever wrote the right figure in the wrong one.
const UNITS: [&str; 5] = ["N m", "kgf m", "lbf ft", "lbf in", "kgf cm"];

impl Asked {
    /// What is wrong with a torque; `text` is what was written, `got` what that is. Nothing where
    /// it is as asked.
    pub fn fault(&self, got: Option<(&str, Torque)>) -> Option<NotAsAsked> {
        let asked = &self.written;
        let not = |reason, words| Some(NotAsAsked { reason, words });
        let Some((text, got)) = got else {
            let words = format!("torqued, and no row says to what; the list says {asked}");
            return not("no-value", words);
        };
        let text = text.trim();
        match &self.through {
            None if self.is_near(got, self.list) => None,
            None => {
                let slip = self.slip(text, got, self.list);
                not("wrong-value", format!("torqued to {text}; the list says {asked}{slip}"))
            }
            Some((setting, _)) if self.is_near(got, *setting) => None,
            Some((_, reading)) if self.is_near(got, self.list) => not(
                "value-in-doubt",
                format!(
                    "torqued to {text} through an extension. If the wrench showed that, the bolt \
                     has too much: with the extension it shows {reading}. Loosen it and do it \
                     again, or write what the wrench showed"
                ),
            ),
            Some((setting, reading)) => {
                let slip = self.slip(text, got, *setting);
                not(
                    "wrong-value",
                    format!(
                        "torqued to {text}; with the extension the wrench shows {reading} for the \
                         list's {asked}{slip}"
                    ),
                )
            }
        }
    }

    fn is_near(&self, got: Torque, wanted: Torque) -> bool {
        (got - wanted).abs() <= (wanted * self.share.to_one()).max(self.tolerance)
    }

    /// The slip of the pen that would explain it, the nearest first; else nothing.
    fn slip(&self, text: &str, got: Torque, wanted: Torque) -> String {
        let far = |torque: Torque| (torque / wanted - 1.0).abs();
        let is_sign = |letter: char| letter.is_ascii_digit() || ".,+- ".contains(letter);
        let number = text.split(|letter| !is_sign(letter)).next().unwrap_or_default().trim();
        let in_unit = |unit: &str| {
            let read = parse_amount(&format!("{number} {unit}"), Kind::Torque).ok()?;
            Torque::try_from(read.amount).ok()
        };
        let units = UNITS.iter().filter_map(|unit| {
            let words = format!("{number} {unit} would be right: look which unit the wrench shows");
            Some((far(in_unit(unit)?), words))
        });
        let points = [(0.1, "a tenth"), (10.0, "ten times")].map(|(times, said)| {
            let words = format!("{said} of that would be right: look where its point belongs");
            (far(got * times), words)
        });
        let mut all: Vec<(f64, String)> =
            units.chain(points).filter(|(far, _)| *far <= self.share.to_one()).collect();
        all.sort_by(|(one, _), (other, _)| one.total_cmp(other));
        all.into_iter()
            .next()
            .map_or_else(String::new, |(_, words)| format!(". {}", capital(&words)))
    }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Why a bolt may not get its torque with the arm as it stands; nothing where it may. What must be
/// is the joint's own position; what is said as `any` says nothing.
pub fn position_refused(must: Position, now: Option<Position>) -> Option<String> {
    if !must.matters() {
        return None;
    }
    match now.filter(|now| now.matters()) {
        Some(now) if must.is_met_by(now) => None,
        Some(now) => {
            Some(format!("the arm is at `{now}`, and this joint gets its torque only at `{must}`"))
        }
        None => Some(format!(
            "how the arm stands is not said, and this joint gets its torque only at `{must}`"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn asked(through: Option<(f64, &str)>) -> Asked {
        Asked {
            list: Torque::kgf_m(4.4),
            written: "4.4 kgf m".to_owned(),
            share: Ratio::one(0.04),
            tolerance: Torque::ZERO,
            through: through.map(|(nm, reading)| (Torque::nm(nm), reading.to_owned())),
        }
    }

    fn told(asked: &Asked, text: &str) -> Option<NotAsAsked> {
        let read = parse_amount(text, Kind::Torque).unwrap();
        asked.fault(Some((text, Torque::try_from(read.amount).unwrap())))
    }

    /// 4.4 kgf m = 43.15 N·m = 31.83 lbf ft (9.80665 N and 1.355 818 N·m, NIST SP 811, B.8).
    #[test]
    fn a_slip_of_the_pen_is_named() {
        let plain = asked(None);
        for right in ["4.4 kgf m", "43 N m", "43.2 N m", "31.8 lbf ft", "4.3 kgf m"] {
            assert_eq!(told(&plain, right), None, "{right}");
        }
        for (wrong, slip) in [
            ("44 kgf m", "A tenth of that would be right"),
            ("0.44 kgf m", "Ten times of that would be right"),
            ("4.4 N m", "4.4 kgf m would be right: look which unit"),
            ("43.15 kgf m", "43.15 N m would be right: look which unit"),
            ("31.8 N m", "31.8 lbf ft would be right"),
            ("432 N m", "A tenth of that would be right"),
        ] {
            let told = told(&plain, wrong).unwrap();
            assert_eq!(told.reason, "wrong-value");
            assert!(told.words.contains("the list says 4.4 kgf m"), "{told:?}");
            assert!(told.words.contains(slip), "{told:?}");
        }
        let none = told(&plain, "36 N m").unwrap();
        assert!(none.words.ends_with("the list says 4.4 kgf m"), "no slip explains it: {none:?}");
        assert_eq!(plain.fault(None).unwrap().reason, "no-value");
    }

    #[test]
    fn through_an_extension_it_is_what_the_wrench_shows() {
        // 60 mm in line on an arm of 420 mm: 420/480 of it.
        let through = asked(Some((43.15 * 420.0 / 480.0, "37.8 N·m")));
        assert_eq!(told(&through, "37.8 N m"), None);
        assert_eq!(told(&through, "43.15 N m").unwrap().reason, "value-in-doubt");
        let tenfold = told(&through, "378 N m").unwrap();
        assert!(tenfold.words.contains("A tenth of that"), "{tenfold:?}");
    }

    #[test]
    fn an_arm_position_is_met_or_refused() {
        use Position::*;
        assert_eq!(position_refused(Any, None), None);
        assert_eq!(position_refused(Ride, Some(WheelsDown)), None, "on its wheels it is at ride");
        for (must, now) in
            [(Ride, Some(Hang)), (Ride, None), (Ride, Some(Any)), (WheelsDown, Some(Ride))]
        {
            assert!(position_refused(must, now).is_some(), "{must} {now:?}");
        }
    }
}

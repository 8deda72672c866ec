//! What can be wrong with a joint as described.

use axlewright_quantity::{Force, Length, Ratio, Torque};

use super::sequence;
use super::wrench;

/// Why nothing can be said about a joint. [`Self::hint`] says what would be right.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[allow(missing_docs, reason = "the fields are the words of the message above them")]
pub enum JointError {
    /// Not a designation at all.
    #[error("`{given}` is not a thread; one is written like `M12x1.5`")]
    NotAThread { given: String },
    /// A diameter that is not made, or not covered.
    #[error("no thread M{given}; the sizes are {known}")]
    NoSize { given: String, known: String },
    /// A pitch that this diameter is not made with.
    #[error("M{diameter} has no pitch of {given} mm; it is made with {known}")]
    NoPitch { diameter: String, given: String, known: String },
    /// A diameter that has no coarse pitch to stand for none written.
    #[error("M{diameter} has no coarse pitch; write the pitch, {known}")]
    NoCoarse { diameter: String, known: String },
    /// Not a property class.
    #[error("`{given}` is not a property class; bolts have {bolts}, nuts {nuts}")]
    NotAClass { given: String, bolts: String, nuts: String },
    /// A marking of before 1967.
    #[error("`{given}` is an old marking; what is sold as {today} today stands for it")]
    OldClass { given: String, today: &'static str },
    /// Class 9.8 above 16 mm.
    #[error("class {class} is made up to M16 only; this is {thread}")]
    NotAtThisSize { class: &'static str, thread: String },
    /// Not a named surface.
    #[error("`{given}` is not a surface{}; the surfaces are {known}",
        nearest.map(|n| format!(", did you mean `{n}`")).unwrap_or_default())]
    NotASurface { given: String, nearest: Option<&'static str>, known: String },
    /// No head on record for this thread.
    #[error("no standard head or hole is on record for {thread}")]
    NoHead { thread: String },
    /// Not a number, or infinite.
    #[error("{what} is not a number")]
    NotANumber { what: &'static str },
    /// A length no joint has.
    #[error("{what} is {:.2} mm; it must lie between {:.2} mm and {:.2} mm",
        .given.to_mm(), .least.to_mm(), .most.to_mm())]
    Size { what: &'static str, given: Length, least: Length, most: Length },
    /// A torque no joint has.
    #[error("{what} is {:.2} N·m; it must lie between {:.2} N·m and {:.0} N·m",
        .given.to_nm(), .least.to_nm(), .most.to_nm())]
    Torque { what: &'static str, given: Torque, least: Torque, most: Torque },
    /// A force no joint has.
    #[error("{what} is {:.0} N; it must lie between {:.0} N and {:.0} N",
        .given.to_n(), .least.to_n(), .most.to_n())]
    Force { what: &'static str, given: Force, least: Force, most: Force },
    /// A share or coefficient out of range.
    #[error("{what} is {:.3}; it must lie between {:.3} and {:.3}",
        .given.to_one(), .least.to_one(), .most.to_one())]
    Share { what: &'static str, given: Ratio, least: Ratio, most: Ratio },
    /// A range the wrong way round.
    #[error("{what}: the least is more than the most")]
    Backwards { what: &'static str },
    /// An adapter that leaves no lever.
    #[error("the adapter leaves a lever of {:.0} mm; at least {:.0} mm must be left",
        .left.to_mm(), .least.to_mm())]
    NoLever { left: Length, least: Length },
    /// A count out of range.
    #[error("{given} {what}; it must be {least} to {most}")]
    Count { what: &'static str, given: usize, least: usize, most: usize },
    /// Two bolts in one place.
    #[error("bolts {first} and {second} are {:.1} mm apart; no two bolts are nearer than {:.0} mm",
        .apart.to_mm(), sequence::APART_LEAST.to_mm())]
    SamePlace { first: usize, second: usize, apart: Length },
    /// Passes that do not rise to the whole torque.
    #[error("the passes must rise and end at 100 %")]
    Passes,
    /// An adapter, and no wrench whose arm is known.
    #[error("with an adapter the wrench's arm counts, and no wrench on the list states it")]
    NoArm,
    /// No wrench was given.
    #[error("no torque wrench is on the list")]
    NoWrench,
}

impl JointError {
    /// What to do about it.
    pub const fn hint(&self) -> &'static str {
        match self {
            Self::NotAThread { .. } => {
                "M, the diameter, x, the pitch; without a pitch the coarse one is meant"
            }
            Self::NoSize { .. } => "measure over the crests: a bolt is 0.1 to 0.3 mm under size",
            Self::NoPitch { .. } | Self::NoCoarse { .. } => {
                "measure over ten crests and divide by ten, or use a thread gauge"
            }
            Self::NotAClass { .. } => "read it off the head: two figures with a point between",
            Self::OldClass { .. } => "write today's class, if the marking is read beyond doubt",
            Self::NotAtThisSize { .. } => "read the marking on the head again",
            Self::NotASurface { .. } => "say what is on the thread and under the head today",
            Self::NoHead { .. } => "measure the face under the head and the hole, in mm",
            Self::NotANumber { .. } => "a number is digits with a point for the decimals",
            Self::Size { .. } => "measure again; lengths are in mm",
            Self::Torque { .. } => "check the unit: 1 kgf m is 9.81 N·m, 1 lbf ft is 1.36 N·m",
            Self::Force { .. } => "check the unit; forces are in N",
            Self::Share { .. } => "friction of steel on steel lies between 0.04 and 0.4",
            Self::Backwards { .. } => "write the smaller figure first",
            Self::NoLever { .. } => "turn the adapter outward or use a shorter one",
            Self::Count { .. } => "count again",
            Self::SamePlace { .. } => "check the coordinates, in mm",
            Self::Passes => "three passes: 40 %, 70 %, 100 %",
            Self::NoArm => "measure from the square to the mark where the hand pulls, in mm",
            Self::NoWrench => "enter the wrenches with the ends of their scales",
        }
    }
}

/// Finite, and within both ends.
pub(super) fn length(
    what: &'static str,
    given: Length,
    least: Length,
    most: Length,
) -> Result<f64, JointError> {
    if !given.is_finite() {
        return Err(JointError::NotANumber { what });
    }
    if (least..=most).contains(&given) {
        Ok(given.to_si())
    } else {
        Err(JointError::Size { what, given, least, most })
    }
}

/// Finite, above nothing, and no more than any wrench of the garage gives.
pub(super) fn torque(what: &'static str, given: Torque) -> Result<f64, JointError> {
    if !given.is_finite() {
        return Err(JointError::NotANumber { what });
    }
    let (least, most) = (wrench::TORQUE_LEAST, wrench::TORQUE_MOST);
    if (least..=most).contains(&given) {
        Ok(given.to_si())
    } else {
        Err(JointError::Torque { what, given, least, most })
    }
}

/// Finite, and within both ends.
pub(super) fn force(
    what: &'static str,
    given: Force,
    least: Force,
    most: Force,
) -> Result<f64, JointError> {
    if !given.is_finite() {
        return Err(JointError::NotANumber { what });
    }
    if (least..=most).contains(&given) {
        Ok(given.to_si())
    } else {
        Err(JointError::Force { what, given, least, most })
    }
}

/// Finite, and within both ends.
pub(super) fn share(
    what: &'static str,
    given: Ratio,
    least: Ratio,
    most: Ratio,
) -> Result<f64, JointError> {
    if !given.is_finite() {
        return Err(JointError::NotANumber { what });
    }
    if (least..=most).contains(&given) {
        Ok(given.to_si())
    } else {
        Err(JointError::Share { what, given, least, most })
    }
}

/// A piece of a text fit for a message.
pub(super) fn cut(text: &str) -> String {
    let clean = |c: char| if c.is_control() { char::REPLACEMENT_CHARACTER } else { c };
    let mut out: String = text.trim().chars().take(24).map(clean).collect();
    if text.trim().chars().nth(24).is_some() {
        out.push('…');
    }
    out
}

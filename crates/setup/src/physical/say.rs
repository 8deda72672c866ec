//! Where the energy is, in words.

use axlewright_quantity::Side;

use super::{Bar, Corner, Held, State};

/// What a corner's bar carries and what holds its arm, as one line's half.
fn corner_words(corner: &Corner) -> String {
    let held = match corner.held {
        Held::Nothing => "held by nothing".to_owned(),
        Held::Carried => "arm carried by hand or stack".to_owned(),
        Held::Jack if corner.two_holds => "held by the jack and a second hold".to_owned(),
        Held::Jack => "held by the jack alone".to_owned(),
        Held::Stop(span) => format!("held by the {span}"),
        Held::Wheel => "held by the wheel".to_owned(),
    };
    match corner.bar {
        Bar::Out => "bar out".to_owned(),
        Bar::Free => "free".to_owned(),
        Bar::Hanging => "hanging, its own arm only".to_owned(),
        Bar::Wound => format!("WOUND, {held}"),
        Bar::Unknown => "WOUND, for nobody remembers".to_owned(),
    }
}

impl State {
    /// Where the energy is: "L WOUND, held by the stop bolt · R free".
    pub fn energy(&self) -> String {
        let [left, right] = Side::BOTH.map(|side| corner_words(self.corner(side)));
        format!("L {left} · R {right}")
    }
}

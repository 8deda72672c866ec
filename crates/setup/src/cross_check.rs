//! One quantity had two ways, and the two disagree.

use axlewright_quantity::{Amount, Ratio};

use crate::finding::{Finding, Item, Leaf, Subject, Why};

/// A slip of reading, writing or typing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// Written in another unit than read.
    Unit,
    /// The decimal point in another place.
    Decimal,
    /// The other sign.
    Sign,
    /// Left for right.
    Side,
    /// The gauge's arrow the other way.
    GaugeTurned,
    /// The plate's edge for its reference line.
    Edge,
    /// A tooth too many or too few.
    Tooth,
    /// At another stage of the build, or in another load.
    Stage,
}

impl Slip {
    /// Its public word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Unit => "unit",
            Self::Decimal => "decimal",
            Self::Sign => "sign",
            Self::Side => "side",
            Self::GaugeTurned => "gauge turned",
            Self::Edge => "edge for line",
            Self::Tooth => "tooth",
            Self::Stage => "stage",
        }
    }
}

/// What may be wrong, with the slip that would explain it.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// What may be wrong: a reading, a row, a field.
    pub what: String,
    /// How.
    pub slip: Slip,
    /// What the number is without the slip; nothing where a word or several numbers slipped.
    pub meant: Option<Amount>,
    /// What it would be without the slip, and how well the two ways agree then; a sentence.
    pub explains: String,
}

/// Two ways to one quantity, and how far they are from each other.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossCheck {
    /// The name of the check, by which the car file sets it aside: `free-angle`.
    pub id: &'static str,
    /// What it is about; `None` for the whole car.
    pub of: Option<Subject>,
    /// The two ways: ids of findings or keys of the car file.
    pub between: [String; 2],
    /// The first way less the second.
    pub differ: Amount,
    /// The standard uncertainty (k = 1) of that difference; of the same kind, never negative.
    pub u: Amount,
    /// The likeliest first.
    pub suspects: Vec<Suspect>,
}

impl CrossCheck {
    /// The id of every one.
    pub const ID: &'static str = "cross-check";

    /// How many standard uncertainties lie between the two ways; never negative. Nothing where the
    /// uncertainty is not above nought.
    pub fn times_u(&self) -> Option<Ratio> {
        let u = self.u.to_si();
        (0.0 < u).then(|| Ratio::one((self.differ.to_si() / u).abs()))
    }

    /// As a finding, with its reasons.
    pub fn finding(self, why: Why) -> Finding {
        let word = |text: String| Item::Word(text);
        let suspects = self.suspects.into_iter().map(|suspect| {
            Item::Object(vec![
                ("what", word(suspect.what)),
                ("slip", word(suspect.slip.word().to_owned())),
                ("meant", Item::maybe(suspect.meant)),
                ("explains", word(suspect.explains)),
            ])
        });
        let differ = Leaf { value: self.differ, u: Some(self.u), written: None };
        let value = Item::Object(vec![
            ("check", word(self.id.to_owned())),
            ("between", Item::List(self.between.into_iter().map(word).collect())),
            ("differ", Item::Leaf(differ)),
            ("u", Item::leaf(self.u)),
            ("suspects", Item::List(suspects.collect())),
        ]);
        Finding { id: Self::ID, of: self.of, at: None, value, why }
    }
}

#[cfg(test)]
mod tests {
    use axlewright_quantity::{Angle, Corner};

    use super::*;

    fn check() -> CrossCheck {
        CrossCheck {
            id: "free-angle",
            of: Some(Subject::Corner(Corner::LeftRear)),
            between: ["free-angle.target".to_owned(), "free-angle.by-four-numbers".to_owned()],
            differ: Angle::deg(-4.2).into(),
            u: Angle::deg(0.7).into(),
            suspects: vec![Suspect {
                what: "bar.fitted_diameter".to_owned(),
                slip: Slip::Decimal,
                meant: Some(axlewright_quantity::Length::mm(23.0).into()),
                explains: "23.0 mm in place of 2.30 mm: then both agree within 0.3 u".to_owned(),
            }],
        }
    }

    /// By hand: 4.2 over 0.7 is six, whichever way the two differ.
    #[test]
    fn a_disagreement_is_counted_in_its_own_doubt() {
        assert!((check().times_u().unwrap().to_one() - 6.0).abs() < 1e-9);
        assert_eq!(CrossCheck { u: Angle::ZERO.into(), ..check() }.times_u(), None);
    }

    #[test]
    fn it_is_a_finding_of_the_public_shape() {
        let finding = check().finding(Why { words: "They differ.".to_owned(), ..Why::default() });
        assert_eq!((finding.id, finding.at), ("cross-check", None));
        assert_eq!(finding.of, Some(Subject::Corner(Corner::LeftRear)));
        let Item::Object(parts) = &finding.value else { panic!("{:?}", finding.value) };
        let keys: Vec<&str> = parts.iter().map(|(key, _)| *key).collect();
        assert_eq!(keys, ["check", "between", "differ", "u", "suspects"]);
        let differ = finding.value.get("differ").and_then(Item::as_leaf).unwrap();
        assert_eq!(differ.u, finding.value.get("u").and_then(Item::amount));
        let suspect = &finding.value.get("suspects").unwrap().items()[0];
        assert_eq!(suspect.get("slip"), Some(&Item::Word("decimal".to_owned())));
    }
}

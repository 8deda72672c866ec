//! Every field of the table takes what its limits allow and nothing beyond, and says so.

use axlewright_book::{Class, Field, ProblemKind, Shape, read};
use axlewright_quantity::{Amount, Kind, Side};

/// Reads one field; the message, or nothing when the value was taken.
fn refused(field: Field, value: &str) -> Option<String> {
    let text = format!("format = 1\n[{}]\n{} = \"{value}\"\n", field.section(), field.key());
    let (car, problems) = read(&text);
    assert_eq!(car.get(field, Side::Right).is_some(), problems.is_empty(), "{field} = {value}");
    assert!(problems.len() <= 1, "{problems:#?}");
    problems.into_iter().next().map(|p| {
        assert!(matches!(p.kind, ProblemKind::OutOfRange { .. }), "{field} = {value}: {p:#?}");
        p.what
    })
}

#[test]
fn quantities_keep_to_their_limits() {
    for field in Field::ALL {
        let Shape::Amount { kind, low, high } = field.shape() else { continue };
        let unit = if kind == Kind::Ratio { "" } else { kind.unit() };
        let beyond = (high - low) * 0.001;
        for inside in [low, high, low + beyond, high - beyond] {
            assert_eq!(refused(*field, &format!("{inside:.6} {unit}")), None, "{field}");
        }
        for outside in [low - beyond, high + beyond, -high - beyond - low.abs()] {
            let written = format!("{outside:.6} {unit}");
            let what = refused(*field, &written);
            let what = what.unwrap_or_else(|| panic!("{field} takes {written}"));
            for part in [field.path(), written.trim(), unit] {
                assert!(what.contains(part), "`{what}` does not say {part}");
            }
        }
    }
}

#[test]
fn counts_keep_to_their_limits() {
    for field in Field::ALL {
        let Shape::Count { low, high } = field.shape() else { continue };
        for inside in [low, high] {
            assert_eq!(refused(*field, &inside.to_string()), None, "{field}");
        }
        for outside in [i64::from(low) - 1, i64::from(high) + 1] {
            assert!(refused(*field, &outside.to_string()).is_some(), "{field} takes {outside}");
        }
    }
}

#[test]
fn paths_are_unique_and_find_their_field() {
    for field in Field::ALL {
        assert_eq!(Field::from_path(field.path()), Some(*field));
        assert_eq!(format!("{}.{}", field.section(), field.key()), field.path());
        assert!((1..=6).contains(&field.rung()), "{field}");
        for words in [field.name(), field.how(), field.good_enough(), field.unlocks()] {
            assert!(!words.is_empty(), "{field} has a text missing");
        }
    }
}

#[test]
fn a_class_is_of_the_kind_of_its_fields() {
    for field in Field::ALL {
        let Some(class) = field.class() else { continue };
        let kind = |f: Field| match f.shape() {
            Shape::Amount { kind, .. } => kind,
            _ => Kind::Length,
        };
        let of_class = kind(class.field());
        let fits = of_class == kind(*field) || class == Class::BarRate;
        assert!(fits, "{field} takes its uncertainty from {}", class.field());
    }
}

#[test]
fn a_share_of_uncertainty_is_of_the_value_it_belongs_to() {
    let text = "format = 1\n[bar]\nrate = \"70 N·m/deg\"\n[uncertainty]\nbar_rate = \"2 %\"\n";
    let (car, problems) = read(text);
    assert!(problems.is_empty(), "{problems:#?}");
    let u = car.uncertainty(Field::BarRate, Side::Left).map(Amount::shown);
    assert!(u.is_some_and(|u| (u - 1.4).abs() < 1e-9), "{u:?}");
}

//! Masses and rounds of the car file: read as written, broken ones told, and the same from a log.

use crate::table::{DEMO, Row, errors, losing, row};
#[allow(dead_code, reason = "this table is shared, and warnings are told elsewhere")]
use axlewright_book::log::body;
use axlewright_book::{Correction, Field, MassKind, MoveBy, MoveRow, RoundRow, read};
use axlewright_quantity::{Amount, Corner, Length, Ratio, Side};

const WEIGHT: &str =
    "weight = { LF = \"210 kg\", RF = \"215 kg\", LR = \"288 kg\", RR = \"272 kg\" }";
const TRIM: &str = "trim = { LR = \"99 mm\", RR = \"94 mm\" }";
const ENGINE: &str = "name = \"engine and gearbox\"\nkind = \"stage\"";
const SETTLED: &str = "settled = true";

const BROKEN: &[Row] = &[
    row(
        WEIGHT,
        "weight = ‸\"985 kg\"",
        "`round.weight` is text; it is written corner by corner",
        "write { LF = \"210 kg\", RF = \"215 kg\" }",
    ),
    row(
        WEIGHT,
        "weight = { ‸FL = \"210 kg\", RF = \"215 kg\" }",
        "unknown key `FL` in `round.weight`",
        "did you mean `LF`?",
    ),
    row(
        WEIGHT,
        "weight = { LF = \"210 kg\", RF = \"215 ‸mm\" }",
        "`round.weight.RF`: `mm` …",
        "288 kg",
    ),
    row(
        WEIGHT,
        "weight = { LF = \"210 kg\", RF = ‸215 }",
        "`round.weight.RF` is the bare number 215; it needs its unit",
        "\"215 kg\"",
    ),
    row(
        TRIM,
        "trim = { LR = \"99 mm\", RR = ‸\"940 mm\" }",
        "`round.trim.RR` is 940 mm; it must lie between -300 mm and 500 mm",
        "94 mm",
    ),
    row(
        TRIM,
        "trim = { ‸LF = \"99 mm\", RR = \"94 mm\" }",
        "unknown key `LF` in `round.trim`",
        "did you mean `LR`?",
    ),
    row(
        "toe = { LR = \"-0.04 deg\", RR = \"0.22 deg\" }",
        "toe = { LR = \"-0.04 deg\", RR = \"0.22 ‸kg\" }",
        "`round.toe.RR`: `kg` …",
        "0.10 deg",
    ),
    row(
        SETTLED,
        "settled = ‸\"yes\"",
        "`round.settled` is text; it must be true or false, without quotes",
        "true",
    ),
    row(
        SETTLED,
        "moved_after = [‸[\"LR\", \"anchor\", \"two\"]]",
        "`round.moved_after, entry 1` cannot be read as a move: `two` is no number of teeth: write \
         2 or -2, tail down positive",
        "[\"LR\", \"anchor\", \"-2\"]",
    ),
    row(
        SETTLED,
        "moved_after = [[\"LR\", \"anchor\", 2], ‸[\"LF\", \"anchor\", 2]]",
        "`round.moved_after, entry 2` cannot be read as a move: there is no anchor at LF",
        "[\"LR\", \"anchor\", \"-2\"]",
    ),
    row(
        SETTLED,
        "moved_after = [‸[\"LR\", \"anchor\"]]",
        "`round.moved_after, entry 1` cannot be read as a move: three words are needed: where, \
         what and by how much",
        "[\"LR\", \"anchor\", \"-2\"]",
    ),
    row(
        "stage = \"finished\"",
        "stage = ‸\"finshed\"",
        "`round.stage` names `finshed`, and there is no such stage",
        "did you mean `finished`?",
    ),
    row(
        "[[round]]\nload = \"empty, half a tank\"",
        "‸[[round]]",
        "this row does not say `load`",
        "load = \"empty, half a tank\"",
    ),
    row(
        ENGINE,
        "name = \"engine and gearbox\"\nkind = ‸\"stag\"",
        "`masses.kind` is `stag`; it must be one of a few words",
        "did you mean `stage`?",
    ),
    row(
        ENGINE,
        "name = ‸\"Shell\"\nkind = \"stage\"",
        "there are two of `Shell` among the masses",
        "another id",
    ),
    losing(
        &["anti_roll"],
        row(
            "[anti_roll]",
            "[left.‸anti_roll]",
            "`anti_roll` belongs to the whole car and cannot differ from side to side",
            "write it once",
        ),
    ),
];

#[test]
fn broken_wheels() {
    errors(BROKEN);
}

#[test]
fn the_demo_carries_its_masses_and_its_first_round() {
    let (car, problems) = read(DEMO);
    assert!(problems.is_empty(), "{problems:#?}");
    let stages = car.masses.iter().filter(|m| m.kind == MassKind::Stage);
    let sprung: f64 = stages.filter_map(|m| m.mass.as_ref()).map(|m| m.value.shown()).sum();
    let corners = |front: Field, rear: Field| {
        let of = |field| car.mass(field, Side::Left).map_or(f64::NAN, |m| m.to_kg());
        2.0 * (of(front) + of(rear))
    };
    let total = corners(Field::FrontCornerWeight, Field::LoadCornerWeight);
    let unsprung = corners(Field::FrontUnsprung, Field::LoadUnsprung);
    // The stages together are what the corner weights leave to the springs.
    assert!((sprung - (total - unsprung)).abs() < 1e-9, "{sprung} {total} {unsprung}");
    let [round] = car.rounds.as_slice() else { panic!("{:#?}", car.rounds) };
    let shown = |amount: Option<&axlewright_book::Entry<Amount>>| amount.map(|e| e.value.shown());
    assert_eq!(shown(round.weight.get(&Corner::LeftRear)), Some(288.0));
    assert_eq!(shown(round.trim.get(&Corner::RightRear)), Some(94.0));
    assert_eq!(shown(round.camber.get(&Corner::RightRear)), Some(-0.6));
    assert_eq!(shown(round.toe.get(&Corner::LeftRear)), Some(-0.04));
    assert_eq!(round.settled, Some(true));
}

#[test]
fn toe_may_be_millimetres_and_moves_have_three_forms() {
    let text = "format = 1\n[[round]]\nload = \"empty\"\ntoe = { LR = \"1.5 mm\" }\nmoved_after = \
                [[\"LR\", \"plate\", 3], [\"rf\", \"front screw\", -0.5], \
                [\"RR\", \"rear eccentric\", \"1.2 mm\"]]\n";
    let (car, problems) = read(text);
    assert!(problems.is_empty(), "{problems:#?}");
    let round = &car.rounds[0];
    let toe = round.toe.get(&Corner::LeftRear).map(|e| Length::try_from(e.value));
    assert_eq!(toe, Some(Ok(Length::mm(1.5))));
    let moves: Vec<(Corner, Correction, MoveBy)> =
        round.moved_after.iter().map(|m| (m.corner, m.what, m.by)).collect();
    assert_eq!(
        moves,
        [
            (Corner::LeftRear, Correction::Plate, MoveBy::Teeth(3)),
            (Corner::RightFront, Correction::FrontScrew, MoveBy::Turns(Ratio::one(-0.5))),
            (Corner::RightRear, Correction::RearEccentric, MoveBy::Distance(Length::mm(1.2))),
        ]
    );
}

#[test]
fn a_round_of_the_log_is_the_same_round() {
    let of = |pairs: &[(&str, &str)]| {
        pairs.iter().map(|(corner, text)| ((*corner).to_owned(), (*text).to_owned())).collect()
    };
    let logged = body::Round {
        load: "empty, half a tank".to_owned(),
        stage: Some("finished".to_owned()),
        weight: of(&[("LF", "210 kg"), ("RF", "215 kg"), ("LR", "288 kg"), ("RR", "272 kg")]),
        trim: of(&[("LR", "99 mm"), ("RR", "94 mm"), ("LF", "12 mm")]),
        camber: of(&[("LR", "-0.30 deg"), ("RR", "-0.60 deg"), ("LF", "a lot")]),
        toe: of(&[("LR", "-0.04 deg"), ("RR", "0.22 deg"), ("XX", "1 deg")]),
        settled: Some(true),
        note: None,
    };
    let (round, refused) = RoundRow::from_log(&logged, 57);
    assert_eq!(refused.len(), 3, "{refused:#?}");
    assert!(refused.iter().any(|why| why.contains("LF has none")), "{refused:#?}");
    assert_eq!(round.entry, Some(57));
    let written = &read(DEMO).0.rounds[0];
    type Of = fn(&RoundRow) -> &std::collections::BTreeMap<Corner, axlewright_book::Entry<Amount>>;
    let all: [Of; 4] = [|r| &r.weight, |r| &r.trim, |r| &r.camber, |r| &r.toe];
    for of in all {
        let amounts = |row: &RoundRow| {
            of(row).iter().map(|(corner, e)| (*corner, e.value)).collect::<Vec<_>>()
        };
        assert_eq!(amounts(&round), amounts(written));
    }
    let moved =
        body::Moved { corner: "LR".to_owned(), adjuster: "anchor".to_owned(), by: "-2".to_owned() };
    assert_eq!(MoveRow::from_log(&moved, 58).map(|m| (m.by, m.entry)), {
        Ok((MoveBy::Teeth(-2), Some(58)))
    });
}

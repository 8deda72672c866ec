//! Every bolt's state, folded from its rows.

use axlewright_book::{
    BoltNow, BoltRow, BoltState, Entry, Joint, Origin, Position, joint_states, read,
};
use axlewright_quantity::{Amount, Torque};
use proptest::prelude::*;

fn entry<T>(value: T) -> Entry<T> {
    Entry { value, spread: None, text: String::new(), line: 1, span: 0..0 }
}

/// In that line of a car file.
fn at(line: u32) -> Option<Origin> {
    Some(Origin::Line(line))
}

fn bolt_row(bolt: u32, state: BoltState, nm: Option<u8>, line: u32) -> BoltRow {
    BoltRow {
        joint: entry("cover".to_owned()),
        bolt,
        state,
        value: nm.map(|nm| entry(Amount::from(Torque::nm(f64::from(nm))))),
        wrench: None,
        position: Some(Position::Ride),
        date: None,
        line,
        entry: None,
    }
}

/// A joint of so many bolts.
fn joint(count: u32) -> Joint {
    let text = format!("format = 1\n[[joint]]\nid = \"cover\"\ncount = {count}\n");
    let (car, problems) = read(&text);
    assert!(problems.is_empty(), "{problems:#?}");
    car.joints.into_iter().next().expect("there is one")
}

fn after(rows: &[BoltRow]) -> BoltNow {
    rows.iter().fold(BoltNow::open(1), BoltNow::after)
}

/// State after each row, with the torque kept and the lines of mark and loosening.
type Told = (BoltState, Option<f64>, Option<Origin>, Option<Origin>);

fn story(rows: &[(BoltState, Option<u8>)]) -> Vec<Told> {
    let mut now = BoltNow::open(1);
    let mut out = Vec::new();
    for ((state, nm), line) in rows.iter().zip(1..) {
        now = now.after(&bolt_row(1, *state, *nm, line));
        let value = now.torqued.as_ref().and_then(|t| t.value.as_ref());
        out.push((now.state, value.map(|v| v.value.to_si().round()), now.marked, now.loosened));
    }
    out
}

#[test]
fn a_bolt_goes_from_open_to_paint_marked() {
    use BoltState::{Open, PaintMarked, Snug, Torqued};
    let told = story(&[(Snug, None), (Torqued, Some(43)), (PaintMarked, None)]);
    assert_eq!(
        told,
        [
            (Snug, None, None, None),
            (Torqued, Some(43.0), None, None),
            (PaintMarked, Some(43.0), at(3), None),
        ]
    );
    let told = story(&[(Torqued, Some(43)), (PaintMarked, None), (Open, None), (Snug, None)]);
    assert_eq!(told[2..], [(Open, None, None, at(3)), (Snug, None, None, at(3))]);
}

#[test]
fn snug_again_is_loosened_and_torqued_again_wants_a_new_mark() {
    use BoltState::{PaintMarked, Snug, Torqued};
    let told = story(&[
        (Torqued, Some(43)),
        (PaintMarked, None),
        (Torqued, Some(45)),
        (Snug, Some(10)),
        (Torqued, Some(44)),
    ]);
    assert_eq!(told[2], (Torqued, Some(45.0), None, None));
    assert_eq!(told[3], (Snug, None, None, at(4)));
    assert_eq!(told[4], (Torqued, Some(44.0), None, None));
}

#[test]
fn a_mark_without_a_torque_proves_nothing() {
    use BoltState::{PaintMarked, Snug};
    let now = after(&[bolt_row(1, Snug, None, 1), bolt_row(1, PaintMarked, None, 2)]);
    assert_eq!((now.state, now.mark_without_torque, now.marked), (Snug, at(2), None));
    let now = after(&[bolt_row(1, PaintMarked, Some(43), 7)]);
    assert_eq!((now.state, now.marked, now.mark_without_torque), (PaintMarked, at(7), None));
    assert_eq!(
        now.torqued.map(|t| (t.origin, t.position)),
        Some((Origin::Line(7), Some(Position::Ride)))
    );
}

#[test]
fn every_bolt_of_every_joint_is_told_even_if_no_row_speaks_of_it() {
    let text = "format = 1\n[[joint]]\nid = \"cover\"\nside = \"each\"\ncount = 4\n\
                [[joint]]\nid = \"nut\"\ncount = 1\n[[joint]]\nid = \"plain\"\n\
                [[bolt]]\njoint = \"cover-right\"\nbolt = 3\nstate = \"snug\"\n\
                [[bolt]]\njoint = \"nut\"\nstate = \"torqued\"\nvalue = \"32 kgf m\"\n\
                [[bolt]]\njoint = \"plain\"\nbolt = 2\nstate = \"snug\"\n";
    let (car, problems) = read(text);
    assert!(problems.is_empty(), "{problems:#?}");
    let states: Vec<(String, Vec<BoltState>)> = car
        .joint_states()
        .into_iter()
        .map(|j| (j.joint, j.bolts.iter().map(|b| b.state).collect()))
        .collect();
    use BoltState::{Open, Snug, Torqued};
    assert_eq!(
        states,
        [
            ("cover-left".to_owned(), vec![Open; 4]),
            ("cover-right".to_owned(), vec![Open, Open, Snug, Open]),
            ("nut".to_owned(), vec![Torqued]),
            ("plain".to_owned(), vec![Open, Snug]),
        ]
    );
}

fn any_state() -> impl Strategy<Value = BoltState> {
    prop::sample::select(BoltState::ALL)
}

fn any_rows(bolts: u32) -> impl Strategy<Value = Vec<BoltRow>> {
    let row = (1..=bolts, any_state(), prop::option::of(any::<u8>()));
    prop::collection::vec(row, 0..12).prop_map(|rows| {
        let rows = rows.into_iter().zip(1..);
        rows.map(|((bolt, state, nm), line)| bolt_row(bolt, state, nm, line)).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..Default::default() })]

    #[test]
    fn loosening_always_reopens(mut rows in any_rows(1), to in prop::sample::select(
        vec![BoltState::Open, BoltState::Snug]), nm in prop::option::of(any::<u8>())) {
        let before = after(&rows);
        let line = 99;
        rows.push(bolt_row(1, to, nm, line));
        let now = after(&rows);
        prop_assert_eq!(now.state, to);
        prop_assert!(now.torqued.is_none() && now.marked.is_none());
        let was_tight = before.torqued.is_some() || before.state > to;
        prop_assert_eq!(now.loosened == at(line), was_tight);
        // Neither can a stroke of paint bring back what was loosened.
        rows.push(bolt_row(1, BoltState::PaintMarked, None, 100));
        prop_assert_eq!(after(&rows).state, to);
    }

    #[test]
    fn a_torque_supersedes_all_before_it(mut rows in any_rows(1), nm in any::<u8>()) {
        let row = bolt_row(1, BoltState::Torqued, Some(nm), 99);
        rows.push(row.clone());
        prop_assert_eq!(after(&rows), after(&[row]));
    }

    #[test]
    fn a_state_and_its_proof_go_together(rows in any_rows(1)) {
        let now = after(&rows);
        prop_assert_eq!(now.torqued.is_some(), BoltState::Torqued <= now.state);
        prop_assert_eq!(now.marked.is_some(), now.state == BoltState::PaintMarked);
        prop_assert!(now.torqued.is_none() || now.loosened.is_none());
        // No bolt is further than the furthest that was ever written of it.
        let furthest = rows.iter().map(|row| row.state).max().unwrap_or(BoltState::Open);
        prop_assert!(now.state <= furthest);
    }

    #[test]
    fn bolts_do_not_touch_each_other(rows in any_rows(4), bolt in 1_u32..=4) {
        let joint = joint(4);
        let own: Vec<BoltRow> = rows.iter().filter(|r| r.bolt == bolt).cloned().collect();
        let all = joint_states(std::slice::from_ref(&joint), &rows);
        prop_assert_eq!(all.len(), 1);
        prop_assert_eq!(all[0].bolts.len(), 4);
        let expected = own.iter().fold(BoltNow::open(bolt), BoltNow::after);
        prop_assert_eq!(&all[0].bolts[bolt as usize - 1], &expected);
        // A row of another joint changes nothing.
        let mut with_other = rows.clone();
        let mut other = bolt_row(bolt, BoltState::Open, None, 50);
        other.joint = entry("cover-left".to_owned());
        with_other.push(other);
        prop_assert_eq!(joint_states(&[joint], &with_other), all);
    }
}

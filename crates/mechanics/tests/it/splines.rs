//! Teeth against trying every pair, and the picture of the turn.

use axlewright_mechanics::splines::{
    Adjuster, Choice, Ends, Move, ReachBy, Rotation, Screw, Splines, Turn, Wanted,
};
use axlewright_quantity::{Angle, Ratio, Side};
use proptest::prelude::*;

const THREE: Wanted = Wanted { count: 3, ends: Ends::Both };
/// Below any vernier step (least 0.009°), above any rounding.
const TIE_DEG: f64 = 1e-7;

/// Size of error, ends, teeth of one pair, by plain division.
fn by_hand(n: (u32, u32), p: i32, q: i32, wanted: f64) -> (f64, u8, u32) {
    let change = 360.0 * f64::from(p) / f64::from(n.0) + 360.0 * f64::from(q) / f64::from(n.1);
    let ends = u8::from(p != 0) + u8::from(q != 0);
    ((change - wanted).abs(), ends, p.unsigned_abs() + q.unsigned_abs())
}

/// Every pair within one and a half turns at each end.
fn every_pair(n: (u32, u32)) -> impl Iterator<Item = (i32, i32)> {
    let (p_most, q_most) = (n.0 as i32 * 3 / 2, n.1 as i32 * 3 / 2);
    (-p_most..=p_most).flat_map(move |p| (-q_most..=q_most).map(move |q| (p, q)))
}

fn figures(choice: &Choice) -> (f64, u8, u32) {
    (choice.error.to_deg().abs(), choice.ends, choice.as_move().teeth())
}

/// One is at least as good in all three.
fn covers(one: (f64, u8, u32), other: (f64, u8, u32)) -> bool {
    one.0 <= other.0 + TIE_DEG && one.1 <= other.1 && one.2 <= other.2
}

/// The listing against all pairs: first is best, each angle has its fewest teeth, the unbeaten are
/// unbeaten and complete, the nearest angles are the nearest.
fn check_choices(n: (u32, u32), now: f64, target: f64) {
    let splines = Splines::new(n.0, n.1).unwrap();
    let listed = splines.choices(Angle::deg(now), Angle::deg(target), THREE).unwrap();
    let all: Vec<(f64, u8, u32)> =
        every_pair(n).map(|(p, q)| by_hand(n, p, q, target - now)).collect();
    let least = all.iter().map(|pair| pair.0).fold(f64::INFINITY, f64::min);
    let nearest = all.iter().filter(|pair| pair.0 < least + TIE_DEG);
    let best = nearest.map(|pair| (pair.1, pair.2)).min().unwrap();
    let (error, ends, teeth) = figures(&listed[0]);
    assert!((error - least).abs() < TIE_DEG, "{error} is not the least error {least}");
    assert_eq!((ends, teeth), best);
    for choice in &listed {
        let mine = figures(choice);
        let again = by_hand(n, choice.anchor_teeth, choice.plate_teeth, target - now);
        assert!((mine.0 - again.0).abs() < TIE_DEG);
        let beaten = all.iter().any(|&pair| covers(pair, mine) && !(covers(mine, pair)));
        assert_eq!(choice.undominated, !beaten, "{choice:?}");
        // The fewest teeth at this angle are listed too.
        let fewest = every_pair(n)
            .filter(|&(p, q)| {
                let made = Move { anchor_teeth: p, plate_teeth: q };
                (splines.change(made) - choice.change).to_deg().abs() < TIE_DEG
            })
            .map(|(p, q)| p.unsigned_abs() + q.unsigned_abs())
            .min();
        let same = |other: &&Choice| (other.change - choice.change).to_deg().abs() < TIE_DEG;
        assert_eq!(listed.iter().filter(same).map(|other| other.as_move().teeth()).min(), fewest);
    }
    for &pair in &all {
        let covered =
            listed.iter().any(|choice| choice.undominated && covers(figures(choice), pair));
        assert!(covered, "{pair:?} is neither listed nor beaten");
    }
    // The three nearest angles are there, whichever side of the target they are on.
    let mut changes: Vec<f64> = every_pair(n)
        .map(|(p, q)| 360.0 * (f64::from(p) / f64::from(n.0) + f64::from(q) / f64::from(n.1)))
        .collect();
    changes.sort_by(|a, b| (a - target + now).abs().total_cmp(&(b - target + now).abs()));
    changes.dedup_by(|a, b| (*a - *b).abs() < TIE_DEG);
    let third = (changes[2] - target + now).abs();
    for change in changes.iter().filter(|change| (**change - target + now).abs() < third - TIE_DEG)
    {
        assert!(listed.iter().any(|choice| (choice.change.to_deg() - change).abs() < TIE_DEG));
    }
    let near = |choice: &&Choice| figures(choice).0 < third + TIE_DEG;
    let mut listed_near: Vec<f64> =
        listed.iter().filter(near).map(|choice| choice.change.to_deg()).collect();
    listed_near.sort_by(f64::total_cmp);
    listed_near.dedup_by(|a, b| (*a - *b).abs() < TIE_DEG);
    assert!(3 <= listed_near.len());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn choices_against_every_pair(
        anchor in 2..30_u32, plate in 2..30_u32, now in -20.0..20.0_f64, by in -70.0..70.0_f64,
    ) {
        check_choices((anchor, plate), now, now + by);
    }

    #[test]
    fn nearest_and_fewest_for_any_teeth(
        anchor in 2..=200_u32, plate in 2..=200_u32, now in -90.0..90.0_f64,
        target in -90.0..90.0_f64,
    ) {
        let n = (anchor, plate);
        let splines = Splines::new(anchor, plate).unwrap();
        let listed = splines.choices(Angle::deg(now), Angle::deg(target), THREE).unwrap();
        let mut best = (f64::INFINITY, u8::MAX, u32::MAX);
        for (p, q) in every_pair(n) {
            let pair = by_hand(n, p, q, target - now);
            let closer = pair.0 < best.0 - TIE_DEG;
            if closer || (pair.0 < best.0 + TIE_DEG && (pair.1, pair.2) < (best.1, best.2)) {
                best = pair;
            }
        }
        let first = figures(&listed[0]);
        prop_assert!((first.0 - best.0).abs() < TIE_DEG);
        prop_assert_eq!((first.1, first.2), (best.1, best.2));
        prop_assert!(first.0 <= splines.vernier_step().to_deg() / 2.0 + TIE_DEG);
    }

    #[test]
    fn nothing_panics(
        bits in prop::array::uniform3(any::<u64>()), moved in any::<(i32, i32)>(),
        count in any::<usize>(), n in any::<(u32, u32)>(),
    ) {
        let _ = Splines::new(n.0, n.1);
        let splines = Splines::new(38, 42).unwrap();
        let [a, b, u] = bits.map(|bits| Angle::rad(f64::from_bits(bits)));
        let wanted = Wanted { count, ends: Ends::Both };
        let _ = splines.choices(a, b, wanted);
        let made = Move { anchor_teeth: moved.0, plate_teeth: moved.1 };
        prop_assert!(splines.change(made).is_finite());
        let _ = (made.teeth(), made.words(Side::Left));
        let (turns_down, turns_up) = (Ratio::one(b.to_rad()), Ratio::one(1.0));
        let screw = Screw { per_turn: a, turns_down, turns_up };
        let _ = Adjuster::Screw(screw).nearest(b, u);
    }
}

/// By hand: with 45 and 50 teeth one tooth is 8° inside and 7.2° outside.
#[test]
fn steps_by_hand() {
    let splines = Splines::new(45, 50).unwrap();
    assert!((splines.anchor_step().to_deg() - 8.0).abs() < 1e-12);
    assert!((splines.plate_step().to_deg() - 7.2).abs() < 1e-12);
    assert!((splines.vernier_step().to_deg() - 0.8).abs() < 1e-12);
    // One tooth down inside and one up outside is the difference.
    let one = Move { anchor_teeth: 1, plate_teeth: -1 };
    assert!((splines.change(one).to_deg() - 0.8).abs() < 1e-12);
}

/// By hand: from 20.1° to 22.4° is 2.3°; three of those differences are 2.4°.
#[test]
fn a_move_by_hand() {
    let splines = Splines::new(45, 50).unwrap();
    let listed = splines.choices(Angle::deg(20.1), Angle::deg(22.4), THREE).unwrap();
    let first = listed[0];
    assert_eq!((first.anchor_teeth, first.plate_teeth, first.ends), (3, -3, 2));
    assert!((first.error.to_deg() - 0.1).abs() < 1e-9);
    assert!((first.angle.to_deg() - 22.5).abs() < 1e-9);
    // The neighbours of the best angle are there, and so is leaving it alone.
    let moves: Vec<(i32, i32)> =
        listed.iter().map(|choice| (choice.anchor_teeth, choice.plate_teeth)).collect();
    assert_eq!(moves, [(3, -3), (2, -2), (4, -4), (1, -1), (0, 0)]);
    let unbeaten: Vec<bool> = listed.iter().map(|choice| choice.undominated).collect();
    assert_eq!(unbeaten, [true, true, false, true, true]);
}

#[test]
fn equal_counts_one_end_and_nothing_to_do() {
    let equal = Splines::new(36, 36).unwrap();
    let listed = equal.choices(Angle::deg(10.0), Angle::deg(31.0), THREE).unwrap();
    // Either end gives the same; the anchor is left alone.
    assert_eq!((listed[0].anchor_teeth, listed[0].plate_teeth, listed[0].ends), (0, 2, 1));
    let splines = Splines::new(45, 50).unwrap();
    let only = |ends, count| {
        splines.choices(Angle::deg(20.0), Angle::deg(30.0), Wanted { count, ends }).unwrap()
    };
    assert!(only(Ends::AnchorOnly, 4).iter().all(|choice| choice.plate_teeth == 0));
    assert_eq!(only(Ends::AnchorOnly, 4)[0].anchor_teeth, 1);
    assert!(only(Ends::PlateOnly, 4).iter().all(|choice| choice.anchor_teeth == 0));
    assert_eq!(only(Ends::PlateOnly, 4)[0].plate_teeth, 1);
    let there = splines.choices(Angle::deg(30.0), Angle::deg(30.0), THREE).unwrap();
    assert_eq!((there[0].ends, there[0].undominated), (0, true));
    assert_eq!(there.len(), 3);
    assert!(!there[1].undominated);
}

/// The second road to the picture: turn the tail about the hub, look at it from outside, and see
/// which way it went round on the viewer's own sheet of paper.
#[test]
fn clockwise_as_seen_from_outside() {
    for side in Side::BOTH {
        for turn in [Turn::TailDown, Turn::TailUp] {
            let down = if turn == Turn::TailDown { 1.0 } else { -1.0 };
            let tail = |theta: f64| [-theta.cos(), 0.0, -theta.sin()];
            // Looking from outside towards the car; up is Z; right-hand side of the view is
            // look × up.
            let look = [0.0, if side == Side::Left { -1.0 } else { 1.0 }, 0.0];
            let right = [look[1], -look[0], 0.0];
            let on_paper = |at: [f64; 3]| (at[0] * right[0] + at[1] * right[1], at[2]);
            let (before, after) = (on_paper(tail(0.3)), on_paper(tail(0.3 + 0.1 * down)));
            let anticlockwise = 0.0 < before.0 * after.1 - before.1 * after.0;
            let seen = turn.seen_from_outside(side);
            assert_eq!(seen == Rotation::Anticlockwise, anticlockwise, "{side} {turn:?}");
        }
    }
}

#[test]
fn moves_in_words() {
    let made = Move { anchor_teeth: 3, plate_teeth: -1 };
    assert_eq!(
        made.words(Side::Left),
        "anchor end: bar and plate together 3 teeth tail down (clockwise seen from outside); \
         plate end: the plate on the bar 1 tooth tail up (anticlockwise seen from outside)"
    );
    assert!(made.words(Side::Right).contains("3 teeth tail down (anticlockwise"));
    assert!(!made.words(None).contains("clockwise"));
    assert_eq!(Move::default().words(Side::Left), "leave both ends as they are");
}

#[test]
fn screws_stop_at_their_ends() {
    let screw =
        Screw { per_turn: Angle::deg(0.5), turns_down: Ratio::one(6.0), turns_up: Ratio::one(2.0) };
    let near = Adjuster::Screw(screw).nearest(Angle::deg(30.0), Angle::deg(31.2)).unwrap();
    let ReachBy::Turns { turns, at_end } = near.by else { panic!("a screw turns") };
    assert!((turns.to_one() - 2.4).abs() < 1e-9 && !at_end);
    let beyond = Adjuster::Screw(screw).nearest(Angle::deg(30.0), Angle::deg(27.0)).unwrap();
    assert!((beyond.error.to_deg() - 2.0).abs() < 1e-9);
    assert!(matches!(beyond.by, ReachBy::Turns { at_end: true, .. }));
    let teeth = Adjuster::Splines(Splines::new(45, 50).unwrap());
    let near = teeth.nearest(Angle::deg(20.1), Angle::deg(22.4)).unwrap();
    assert_eq!(near.by, ReachBy::Teeth(Move { anchor_teeth: 3, plate_teeth: -3 }));
}

#[test]
fn refusals_say_what_and_how_much() {
    let error = Splines::new(1, 42).unwrap_err();
    assert_eq!(error.to_string(), "the anchor end has 1 teeth; it must have 2 to 200");
    assert!(error.hint().contains("paint one tooth"));
    assert!(Splines::new(38, 201).is_err());
    let splines = Splines::new(38, 42).unwrap();
    let far = splines.choices(Angle::deg(33.0), Angle::deg(330.0), THREE).unwrap_err();
    assert_eq!(far.to_string(), "target angle is 330.00°; it must lie between -90° and 90°");
}

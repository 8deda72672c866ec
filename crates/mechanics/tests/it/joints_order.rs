//! Tightening order: the trade's patterns, every order of small layouts counted out, and what must
//! not matter.

use axlewright_mechanics::joints::sequence::{COUNT_MAX, EXACT_MAX, Spot};
use axlewright_mechanics::joints::{JointError, Layout, Order};
use axlewright_quantity::Length;
use proptest::prelude::*;

type Point = (f64, f64);

fn spot(x: &f64, y: &f64) -> Spot {
    Spot::new(Length::mm(*x), Length::mm(*y))
}

fn layout(points: &[Point]) -> Layout {
    Layout::new(points.iter().map(|(x, y)| spot(x, y)).collect()).unwrap()
}

fn order(points: &[Point]) -> Vec<usize> {
    layout(points).order().bolts
}

fn circle(count: usize, radius: f64) -> Vec<Point> {
    let step = std::f64::consts::TAU / count as f64;
    (0..count)
        .map(|i| (radius * (i as f64 * step).cos(), radius * (i as f64 * step).sin()))
        .collect()
}

fn row(count: usize) -> Vec<Point> {
    (0..count).map(|i| (40.0 * i as f64, 0.0)).collect()
}

fn grid(columns: usize, rows: usize) -> Vec<Point> {
    let cells = (0..columns).flat_map(|x| (0..rows).map(move |y| (x, y)));
    cells.map(|(x, y)| (50.0 * x as f64, 50.0 * y as f64)).collect()
}

/// From the middle of all bolts to the middle of the tight ones, in mm.
fn off_middle(points: &[Point], tight: &[usize]) -> f64 {
    let mean = |which: &[usize]| {
        let n = which.len() as f64;
        let sum = which.iter().fold((0.0, 0.0), |s, i| (s.0 + points[*i].0, s.1 + points[*i].1));
        (sum.0 / n, sum.1 / n)
    };
    let (middle, tight) = (mean(&(0..points.len()).collect::<Vec<_>>()), mean(tight));
    (tight.0 - middle.0).hypot(tight.1 - middle.1)
}

/// Crookedness from its definition: that lever summed over the bolts.
fn crooked(points: &[Point], order: &[usize]) -> f64 {
    (1..=order.len()).map(|k| off_middle(points, &order[..k])).sum()
}

fn permutations(count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let shorter = permutations(count - 1);
    shorter
        .iter()
        .flat_map(|order| {
            (0..count).map(move |place| {
                let mut longer = order.clone();
                longer.insert(place, count - 1);
                longer
            })
        })
        .collect()
}

fn is_permutation(order: &Order, count: usize) -> bool {
    let mut sorted = order.bolts.clone();
    sorted.sort_unstable();
    sorted == (0..count).collect::<Vec<_>>() && order.off_middle.len() == count
}

/// Distances of every bolt of an order from every other: the order as a shape, whichever way it
/// is turned or mirrored.
fn shape(points: &[Point], order: &[usize]) -> Vec<f64> {
    let apart =
        |i: &usize, j: &usize| (points[*i].0 - points[*j].0).hypot(points[*i].1 - points[*j].1);
    order.iter().flat_map(|i| order.iter().map(move |j| apart(i, j))).collect()
}

fn same_shape(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-4)
}

// The trade's patterns -----------------------------------------------------------------------

#[test]
fn four_on_a_circle_go_crosswise() {
    assert_eq!(order(&circle(4, 40.0)), [0, 2, 1, 3]);
}

#[test]
fn rectangle_goes_by_its_diagonals() {
    let cover = [(-48.0, -32.0), (48.0, -32.0), (48.0, 32.0), (-48.0, 32.0)];
    // One diagonal, then the other; from its second bolt on the shorter side of the first.
    assert_eq!(order(&cover), [0, 2, 3, 1]);
}

#[test]
fn five_on_a_circle_go_as_a_star() {
    let star = order(&circle(5, 50.0));
    for pair in star.windows(2) {
        let step = (pair[0] + 5 - pair[1]) % 5;
        assert!(step == 2 || step == 3, "{star:?}");
    }
}

/// Eight: each second bolt lies opposite, and the second pair square to the first.
#[test]
fn pairs_on_a_circle() {
    for count in [6, 8, 10, 12, 16, 24] {
        let bolts = order(&circle(count, 70.0));
        for pair in bolts.chunks(2) {
            assert_eq!((pair[0] + count / 2) % count, pair[1], "{count}: {bolts:?}");
        }
    }
    let eight = order(&circle(8, 70.0));
    assert_eq!(eight[0].abs_diff(eight[2]) % 4, 2, "{eight:?}");
}

#[test]
fn rows_go_from_the_middle_outwards() {
    for count in 2..=30 {
        let points = row(count);
        let middle = 20.0 * (count - 1) as f64;
        let out: Vec<f64> = order(&points).iter().map(|i| (points[*i].0 - middle).abs()).collect();
        assert!(out.windows(2).all(|pair| pair[0] <= pair[1] + 1e-9), "{count}: {out:?}");
    }
    assert_eq!(order(&row(5)), [2, 1, 3, 0, 4]);
    // A row measured with a rule, not quite even: still outwards.
    let measured = [(-40.0, 0.5), (-18.0, 0.0), (0.0, -0.5), (20.0, 0.0), (41.0, 0.0)];
    let ours = order(&measured);
    assert_eq!(ours[0], 2);
    assert!(ours[1..3].contains(&1) && ours[1..3].contains(&3), "{ours:?}");
}

#[test]
fn fields_go_from_the_middle_outwards() {
    // Three by three: the middle, the four beside it in pairs, the four corners in pairs.
    let nine = order(&grid(3, 3));
    assert_eq!(nine[0], 4);
    assert_eq!(nine[1] + nine[2], 8);
    let mut beside = nine[1..5].to_vec();
    beside.sort_unstable();
    assert_eq!(beside, [1, 3, 5, 7]);
    // Two rows of three: the two in the middle, then corner to corner.
    let six = order(&grid(3, 2));
    assert_eq!((six[0], six[1]), (2, 3));
    assert_eq!((six[2] + six[3], six[4] + six[5]), (5, 5));
}

/// Why the largest moment alone is not the measure: in a row of five it is least if one goes to
/// and fro, which traps a bulge.
#[test]
fn largest_moment_alone_would_go_to_and_fro() {
    let points = row(5);
    let largest = |order: &[usize]| {
        let off = (1..=order.len()).map(|k| off_middle(&points, &order[..k]));
        off.zip(1..).map(|(e, k)| e * f64::from(k)).fold(0.0, f64::max)
    };
    let outwards = order(&points);
    let to_and_fro = [2, 3, 0, 4, 1];
    assert!(largest(&to_and_fro) < largest(&outwards));
    assert!(crooked(&points, &outwards) < crooked(&points, &to_and_fro));
}

// The criterion ------------------------------------------------------------------------------

/// All orders of odd layouts counted out: none is straighter than ours.
#[test]
fn no_order_is_straighter() {
    let layouts: [&[Point]; 5] = [
        &[(0.0, 0.0), (50.0, 0.0), (0.0, 70.0)],
        &[(0.0, 0.0), (90.0, 10.0), (130.0, 60.0), (20.0, 80.0), (70.0, 40.0)],
        &[(0.0, 0.0), (30.0, 0.0), (60.0, 0.0), (90.0, 0.0), (200.0, 15.0), (10.0, 44.0)],
        &[
            (0.0, 0.0),
            (10.0, 3.0),
            (20.0, 0.0),
            (30.0, 9.0),
            (40.0, 0.0),
            (50.0, 5.0),
            (300.0, 0.0),
        ],
        &[(-60.0, 0.0), (60.0, 0.0), (0.0, 90.0), (0.0, -45.0), (31.0, 52.0), (-28.0, 47.0)],
    ];
    for points in layouts {
        let ours = layout(points).order();
        assert!(ours.exact && is_permutation(&ours, points.len()));
        let counted = permutations(points.len())
            .iter()
            .map(|order| crooked(points, order))
            .fold(f64::INFINITY, f64::min);
        let at_ours = crooked(points, &ours.bolts);
        assert!((ours.crookedness.to_mm() - at_ours).abs() < 1e-9);
        assert!((at_ours - counted).abs() < 1e-6, "{at_ours}, counted out {counted}");
    }
}

/// Where each bolt has an opposite one, the bound is met.
#[test]
fn bound_is_met_by_pairs() {
    for points in [circle(20, 90.0), row(14), row(21), grid(5, 4), grid(6, 6)] {
        let ours = layout(&points).order();
        // So many are bounded by the formula and not by search.
        assert!(!ours.exact);
        let (got, bound) = (ours.crookedness.to_mm(), ours.least.to_mm());
        assert!((got - bound).abs() < 1e-6 * bound, "{}: {got}, bound {bound}", points.len());
    }
}

#[test]
fn odd_layouts_are_refused() {
    let refused = |points: &[Point]| {
        Layout::new(points.iter().map(|(x, y)| spot(x, y)).collect()).unwrap_err()
    };
    let twice = refused(&[(0.0, 0.0), (50.0, 0.0), (50.0, 0.5)]);
    assert_eq!(
        twice.to_string(),
        "bolts 2 and 3 are 0.5 mm apart; no two bolts are nearer than 3 mm"
    );
    assert!(matches!(refused(&[]), JointError::Count { .. }));
    assert!(matches!(refused(&row(COUNT_MAX + 1)), JointError::Count { .. }));
    assert!(matches!(refused(&[(0.0, f64::NAN)]), JointError::NotANumber { .. }));
    assert!(matches!(refused(&[(0.0, 1e9)]), JointError::Size { .. }));
    let one = layout(&[(7.0, 7.0)]).order();
    assert_eq!((one.bolts.as_slice(), one.crookedness), (&[0][..], Length::ZERO));
}

// What must not matter -----------------------------------------------------------------------

/// Bolts anywhere, none nearer than 5 mm to another.
fn anywhere(count: std::ops::RangeInclusive<usize>) -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((0.0..300.0_f64, 0.0..200.0_f64), count).prop_filter("apart", |points| {
        points
            .iter()
            .enumerate()
            .all(|(i, a)| points[..i].iter().all(|b| 5.0 < (a.0 - b.0).hypot(a.1 - b.1)))
    })
}

/// Bolts on the crossings of a net: many ties.
fn on_a_net(count: std::ops::RangeInclusive<usize>) -> impl Strategy<Value = Vec<Point>> {
    prop::sample::subsequence((0..25).collect::<Vec<i32>>(), count).prop_map(|cells| {
        cells.iter().map(|c| (30.0 * f64::from(c % 5), 30.0 * f64::from(c / 5))).collect()
    })
}

fn some_layout() -> impl Strategy<Value = Vec<Point>> {
    prop_oneof![
        anywhere(2..=EXACT_MAX),
        on_a_net(2..=EXACT_MAX),
        (2..=EXACT_MAX).prop_map(|count| circle(count, 60.0)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn turned_shifted_mirrored_reordered_it_is_the_same_order(
        points in some_layout(),
        turn in 0.0..std::f64::consts::TAU, x in -500.0..500.0_f64, y in -500.0..500.0_f64,
        mirror in any::<bool>(), seed in any::<u64>(),
    ) {
        let ours = layout(&points).order();
        let moved = |(px, py): Point| {
            let px = if mirror { -px } else { px };
            let (s, c) = turn.sin_cos();
            (c * px - s * py + x, s * px + c * py + y)
        };
        let mut other: Vec<Point> = points.iter().copied().map(moved).collect();
        let mut state = seed | 1;
        for last in (1..other.len()).rev() {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            other.swap(last, (state % (last as u64 + 1)) as usize);
        }
        let theirs = layout(&other).order();
        prop_assert!(is_permutation(&theirs, points.len()));
        prop_assert!(
            same_shape(&shape(&points, &ours.bolts), &shape(&other, &theirs.bolts)),
            "{points:?}: {:?}, moved {:?}", ours.bolts, theirs.bolts
        );
    }

    #[test]
    fn never_worse_than_the_row(points in prop_oneof![anywhere(1..=40), on_a_net(1..=25)]) {
        let layout = layout(&points);
        let ours = layout.order();
        prop_assert!(is_permutation(&ours, points.len()));
        let row = crooked(&points, &(0..points.len()).collect::<Vec<_>>());
        let slack = 1e-6;
        prop_assert!(ours.crookedness.to_mm() <= row + slack);
        // From one end to the other as well.
        let mut along: Vec<usize> = (0..points.len()).collect();
        along.sort_by(|a, b| points[*a].0.total_cmp(&points[*b].0));
        prop_assert!(ours.crookedness.to_mm() <= crooked(&points, &along) + slack);
        prop_assert!(ours.least.to_mm() <= ours.crookedness.to_mm() + slack);
        prop_assert_eq!(ours.exact, points.len() <= EXACT_MAX);
    }

    #[test]
    fn bound_holds_for_every_order(points in anywhere(EXACT_MAX + 1..=24), seed in any::<u64>()) {
        let least = layout(&points).order().least.to_mm();
        let mut order: Vec<usize> = (0..points.len()).collect();
        let mut state = seed | 1;
        for last in (1..order.len()).rev() {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            order.swap(last, (state % (last as u64 + 1)) as usize);
        }
        prop_assert!(least <= crooked(&points, &order) + 1e-6);
    }

    #[test]
    fn any_figures_are_taken_or_refused(
        points in prop::collection::vec((any::<f64>(), any::<f64>()), 0..20),
    ) {
        let spots = points.iter().map(|(x, y)| spot(x, y)).collect();
        if let Ok(layout) = Layout::new(spots) {
            prop_assert!(is_permutation(&layout.order(), points.len()));
        }
    }
}

//! The plate's outline: does it cross itself, and what lies inside it?
//!
//! ```text
//!   w up
//!    │   ┌─────────────────────
//!    │   │  ∘ hub (0, 0)   ∘ front hole   ∘ rear hole
//!    │   └─────────────────────
//!    └──────────────────────────→ u, to the tail
//! ```

use axlewright_quantity::PlatePoint;

/// Millimetres; a plate drawn to a hundredth is drawn well.
type Xy = (f64, f64);

fn xy(p: PlatePoint) -> Xy {
    (p.u.to_mm(), p.w.to_mm())
}

/// Twice the area of the triangle, positive for a turn to the left.
fn turn(a: Xy, b: Xy, c: Xy) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}

/// Whether the point lies on the segment, given that the three lie on one line.
fn between(a: Xy, b: Xy, p: Xy) -> bool {
    a.0.min(b.0) <= p.0 && p.0 <= a.0.max(b.0) && a.1.min(b.1) <= p.1 && p.1 <= a.1.max(b.1)
}

fn touch(a: Xy, b: Xy, c: Xy, d: Xy) -> bool {
    let (abc, abd) = (turn(a, b, c), turn(a, b, d));
    let (cda, cdb) = (turn(c, d, a), turn(c, d, b));
    let apart = |x: f64, y: f64| (0.0 < x && 0.0 < y) || (x < 0.0 && y < 0.0);
    if abc == 0.0 && between(a, b, c) || abd == 0.0 && between(a, b, d) {
        return true;
    }
    if cda == 0.0 && between(c, d, a) || cdb == 0.0 && between(c, d, b) {
        return true;
    }
    let level = abc == 0.0 && abd == 0.0;
    !level && !apart(abc, abd) && !apart(cda, cdb)
}

/// Two sides that touch though they are not neighbours, counted from 1; side i runs from point i.
pub(super) fn crossing(points: &[PlatePoint]) -> Option<(usize, usize)> {
    let n = points.len();
    let side = |i: usize| Some((xy(*points.get(i)?), xy(*points.get((i + 1) % n)?)));
    for i in 0..n {
        for j in i + 2..n {
            if i == 0 && j == n - 1 {
                continue;
            }
            let ((a, b), (c, d)) = (side(i)?, side(j)?);
            if touch(a, b, c, d) {
                return Some((i + 1, j + 1));
            }
        }
    }
    None
}

/// The enclosed area in mm², whichever way round the points run.
pub(super) fn area(points: &[PlatePoint]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| (xy(*a), xy(*b)))
        .map(|(a, b)| a.0 * b.1 - b.0 * a.1)
        .sum();
    (twice / 2.0).abs()
}

/// Whether a point lies inside: a ray from it to the tail meets the outline an odd number of times.
pub(super) fn contains(points: &[PlatePoint], at: PlatePoint) -> bool {
    let (u, w) = xy(at);
    let next = points.iter().cycle().skip(1);
    let crossed = points.iter().zip(next).map(|(a, b)| (xy(*a), xy(*b))).filter(|(a, b)| {
        (a.1 <= w) != (b.1 <= w) && u < a.0 + (w - a.1) / (b.1 - a.1) * (b.0 - a.0)
    });
    crossed.count() % 2 == 1
}

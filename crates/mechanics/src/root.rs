//! Bracketed, bounded searches for a root, an edge and a minimum.
//!
//! A search checks its own precondition, stops after a stated number of steps and answers with
//! an error that says what was left over, never with its last guess.
//!
//! **Source.** The root search is regula falsi with the Illinois halving, with a bisection
//! whenever three steps together have not quartered the bracket, so that any three at least
//! halve it (own arrangement of textbook parts); the minimum is golden section.

/// How fine and how long to search.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Search {
    /// Width of the bracket to reach, in the unit of the argument.
    pub(crate) within: f64,
    /// Evaluations allowed.
    pub(crate) steps_max: u32,
}

/// Why no root was found.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub(crate) enum RootError {
    /// Both ends have the same sign.
    #[error("no change of sign between the ends: {at_low} and {at_high}")]
    NotBracketed {
        /// Value at the low end.
        at_low: f64,
        /// Value at the high end.
        at_high: f64,
    },
    /// The steps ran out.
    #[error("still {width} wide after {steps} steps")]
    NoConvergence {
        /// Evaluations spent.
        steps: u32,
        /// Width left.
        width: f64,
    },
    /// The function has no value somewhere in the bracket.
    #[error("no value at {at}")]
    NoValue {
        /// Where.
        at: f64,
    },
}

/// An argument and the value there.
type Point = (f64, f64);

fn nearest([(a, fa), (b, fb)]: [Point; 2]) -> f64 {
    if fa.abs() < fb.abs() { a } else { b }
}

/// Two arguments at which signs differ, brought as near to each other as the search asks: their
/// signs stay, their values may be scaled. A root that is met exactly is both.
fn narrowed(
    search: Search,
    [(mut a, mut fa), (mut b, mut fb)]: [Point; 2],
    mut value: impl FnMut(f64) -> Result<f64, RootError>,
) -> Result<[Point; 2], RootError> {
    if fa.signum() == fb.signum() {
        return Err(RootError::NotBracketed { at_low: fa, at_high: fb });
    }
    let mut width_before = (b - a).abs();
    for step in 0..search.steps_max {
        let width = (b - a).abs();
        if width <= search.within {
            return Ok([(a, fa), (b, fb)]);
        }
        let bisect = step % 3 == 2 && width > 0.25 * width_before;
        if step % 3 == 2 {
            width_before = width;
        }
        let guess = if bisect { 0.5 * (a + b) } else { (a * fb - b * fa) / (fb - fa) };
        // Half the tolerance inside, so that the last step closes the bracket from both sides.
        let margin = 0.5 * search.within;
        let (least, most) = (a.min(b) + margin, a.max(b) - margin);
        let c = if least < most { guess.clamp(least, most) } else { 0.5 * (a + b) };
        let fc = value(c)?;
        if fc == 0.0 {
            return Ok([(c, fc); 2]);
        }
        if fc.signum() == fb.signum() {
            fa *= 0.5;
        } else {
            (a, fa) = (b, fb);
        }
        (b, fb) = (c, fc);
    }
    Err(RootError::NoConvergence { steps: search.steps_max, width: (b - a).abs() })
}

/// Between an argument where `f` is not negative and one where it is: the last where it is not, to
/// within the search. Nothing where the search does not close, or `f` has no value.
pub(crate) fn last_above(
    search: Search,
    (yes, no): (f64, f64),
    mut f: impl FnMut(f64) -> f64,
) -> Option<f64> {
    let mut value =
        |at: f64| Some(f(at)).filter(|v| v.is_finite()).ok_or(RootError::NoValue { at });
    let ends = [(yes, value(yes).ok()?), (no, value(no).ok()?)];
    if ends[0].1 == 0.0 {
        // A touch: the sign alone says where it ends.
        return None;
    }
    let ends = narrowed(search, ends, value).ok()?;
    ends.into_iter().find(|(_, f)| 0.0 <= *f).map(|(at, _)| at)
}

/// Between an argument where `holds` is true and one where it is false: the last true one.
pub(crate) fn edge(
    search: Search,
    (mut yes, mut no): (f64, f64),
    mut holds: impl FnMut(f64) -> bool,
) -> f64 {
    for _ in 0..search.steps_max {
        if (no - yes).abs() <= search.within {
            break;
        }
        let middle = 0.5 * (yes + no);
        if holds(middle) { yes = middle } else { no = middle }
    }
    yes
}

/// A walk from a start to where a falling function passes zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Walk {
    /// Where to begin; the function must have a value here.
    pub(crate) start: f64,
    /// First step; each further one is half as long again, or longer where the function says that
    /// its zero is still far.
    pub(crate) step: f64,
    /// How far from the start to look.
    pub(crate) farthest: f64,
    /// Width of the bracket to reach.
    pub(crate) within: f64,
}

/// Why a walk found no zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Lost {
    /// There is no value at the start.
    NoStart,
    /// No zero up to here.
    Until(f64),
}

/// The longest step that a walk takes on the word of a line through its last two places.
const STRIDE_MAX: f64 = 0.3;

/// Where `f` falls through zero, the nearest one to the start in the direction in which `f`
/// says that zero lies. `f` has no value where a mechanism does not reach.
///
/// A rest that `f` (a moment) restores is stable; one that `f` drives away from is never
/// returned.
pub(crate) fn settle(walk: Walk, mut f: impl FnMut(f64) -> Option<f64>) -> Result<f64, Lost> {
    let mut value = |at: f64| f(at).filter(|v| v.is_finite());
    let at_start = value(walk.start).ok_or(Lost::NoStart)?;
    if at_start == 0.0 {
        return Ok(walk.start);
    }
    let way = at_start.signum();
    let (mut here, mut step) = ((walk.start, at_start), walk.step);
    // The step grows by half each time, so 100 steps pass any range in use.
    for _ in 0..100 {
        let left = walk.farthest - (here.0 - walk.start).abs();
        if left <= 0.0 {
            break;
        }
        let mut next = here.0 + way * step.min(left);
        let mut last = false;
        if value(next).is_none() {
            let search = Search { within: walk.within, steps_max: 60 };
            (next, last) = (edge(search, (here.0, next), |a| value(a).is_some()), true);
        }
        let Some(at_next) = value(next) else { break };
        if at_next == 0.0 {
            return Ok(next);
        }
        if at_next.signum() != way {
            let search = Search { within: walk.within, steps_max: 200 };
            let value = |at: f64| value(at).ok_or(RootError::NoValue { at });
            let ends = narrowed(search, [here, (next, at_next)], value);
            return ends.map(nearest).map_err(|_| Lost::Until(next));
        }
        // Half as far again, or past where the line through the last two is zero.
        let ahead = at_next * (next - here.0) / (here.1 - at_next);
        let farther = if 0.0 < ahead * way { (1.1 * ahead.abs()).min(STRIDE_MAX) } else { 0.0 };
        step = (1.5 * step).max(farther);
        here = (next, at_next);
        if last {
            break;
        }
    }
    Err(Lost::Until(here.0))
}

/// Where a function much like this one had its zero, and its slope there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Near {
    pub(crate) at: f64,
    pub(crate) slope: f64,
}

/// The stable zero next to a known one, by secants; nothing where they do not settle soon.
///
/// What a secant leaves is the product of the two errors before it, times half the curvature over
/// the slope: less than one per radian for the functions searched here.
pub(crate) fn settle_near(
    near: Near,
    within: f64,
    mut f: impl FnMut(f64) -> Option<f64>,
) -> Option<f64> {
    let (mut a, mut at_a) = (near.at, f(near.at)?);
    let mut b = a - at_a / near.slope;
    // There already: no secant can be laid through two points that are one.
    if (b - a).abs() <= within && near.slope < 0.0 {
        return Some(b);
    }
    for _ in 0..8 {
        let at_b = f(b)?;
        let slope = (at_b - at_a) / (b - a);
        let c = b - at_b / slope;
        if slope < 0.0 && ((c - b) * (c - a)).abs() <= within {
            return Some(c);
        }
        ((a, at_a), b) = ((b, at_b), c);
    }
    None
}

/// The highest of `f` between two arguments, where it has one hump there: golden section.
pub(crate) fn highest((low, high): (f64, f64), mut f: impl FnMut(f64) -> f64) -> (f64, f64) {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (low, high);
    let (mut c, mut d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    // 40 steps shrink the bracket by 4e-9.
    for _ in 0..40 {
        if fc >= fd {
            (b, d, fd) = (d, c, fc);
            c = b - GOLDEN * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + GOLDEN * (b - a);
            fd = f(d);
        }
    }
    if fc >= fd { (c, fc) } else { (d, fd) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FINE: Search = Search { within: 1e-12, steps_max: 150 };

    type Curve = fn(f64) -> f64;

    fn root(
        search: Search,
        (low, high): Point,
        mut f: impl FnMut(f64) -> Option<f64>,
    ) -> Result<f64, RootError> {
        let mut value = |at: f64| f(at).filter(|v| v.is_finite()).ok_or(RootError::NoValue { at });
        let ends = [(low, value(low)?), (high, value(high)?)];
        narrowed(search, ends, value).map(nearest)
    }

    #[test]
    fn roots_of_all_shapes_are_found_within_the_steps() {
        let rows: [(&str, Curve, f64, f64, f64); 5] = [
            ("line", |x| x - 0.3, -1.0, 2.0, 0.3),
            ("cube", |x| x * x * x - 8.0, 0.0, 50.0, 2.0),
            ("steep", |x| (20.0 * (x - 0.7)).tanh() + 1e-3 * (x - 0.7), -3.0, 3.0, 0.7),
            ("flat", |x| (x - 0.25).powi(9), -1.0, 1.0, 0.25),
            ("cosine", f64::cos, 1.0, 2.0, std::f64::consts::FRAC_PI_2),
        ];
        for (what, f, low, high, at) in rows {
            for ends in [(low, high), (high, low)] {
                let mut calls = 0;
                let found = root(FINE, ends, |x| {
                    calls += 1;
                    Some(f(x))
                });
                // A ninth power is lost in rounding within a hundredth of its root.
                let within = if what == "flat" { 1e-2 } else { 1e-11 };
                assert!((found.unwrap() - at).abs() < within, "{what}");
                // Without the halving the cube, one end of its bracket stuck, takes 34.
                let few = if what == "flat" { 152 } else { 28 };
                assert!(calls <= few, "{what}: {calls}");
            }
        }
    }

    #[test]
    fn the_last_that_fits_is_on_the_side_that_fits() {
        let search = Search { within: 1e-9, steps_max: 60 };
        for (yes, no) in [(0.0, 1.0), (-3.0, 0.9), (0.69, 0.8)] {
            let mut calls = 0;
            let at = last_above(search, (yes, no), |x| {
                calls += 1;
                0.343 - x.powi(3)
            });
            let at = at.unwrap();
            assert!(at <= 0.7 && 0.7 - at <= 1e-9, "{at}");
            assert!(calls <= 16, "{calls}");
        }
        // A step, as at the end of what a mechanism reaches.
        let at = last_above(search, (0.0, 1.0), |x| if x <= 0.4 { 2.0 } else { -1.0 }).unwrap();
        assert!(at <= 0.4 && 0.4 - at <= 1e-9, "{at}");
        assert_eq!(last_above(search, (0.0, 1.0), |x| x + 1.0), None);
        assert_eq!(last_above(search, (0.0, 1.0), |_| f64::NAN), None);
    }

    #[test]
    fn a_search_says_what_it_could_not() {
        let same = root(FINE, (0.0, 1.0), |x| Some(x + 1.0));
        assert_eq!(same, Err(RootError::NotBracketed { at_low: 1.0, at_high: 2.0 }));
        let short = Search { steps_max: 2, ..FINE };
        let unfinished = root(short, (0.0, 50.0), |x| Some(x * x * x - 8.0));
        assert!(
            matches!(unfinished, Err(RootError::NoConvergence { steps: 2, width }) if width > 1.0)
        );
        let hole = root(FINE, (0.0, 1.0), |x| (x < 0.9).then_some(x - 0.5));
        assert_eq!(hole, Err(RootError::NoValue { at: 1.0 }));
        assert!(root(FINE, (0.0, 1.0), |_| Some(f64::NAN)).is_err());
    }

    #[test]
    fn a_walk_finds_the_stable_zero_and_stops_at_the_edge() {
        let walk = Walk { start: 0.0, step: 0.05, farthest: 4.0, within: 1e-10 };
        // Falls through zero at 1 and rises through it at 2: only the first is stable.
        let f = |x: f64| (x - 1.0) * (x - 2.0);
        assert!((settle(walk, |x| Some(f(x))).unwrap() - 1.0).abs() < 1e-9);
        // From between them the walk turns back to it.
        let between = Walk { start: 1.7, ..walk };
        assert!((settle(between, |x| Some(f(x))).unwrap() - 1.0).abs() < 1e-9);
        // A value only up to 0.8: the edge is named.
        let short = settle(walk, |x| (x <= 0.8).then(|| f(x)));
        assert!(matches!(short, Err(Lost::Until(at)) if (at - 0.8).abs() < 1e-9));
        assert_eq!(settle(walk, |_| None), Err(Lost::NoStart));
        assert!(matches!(settle(walk, |_| Some(1.0)), Err(Lost::Until(at)) if at == 4.0));
    }

    #[test]
    fn a_zero_next_to_a_known_one_is_found_in_few_steps() {
        let falls = |x: f64| 1.0 - x - 0.2 * (x - 0.9).powi(2);
        let at = 1.0 - 0.2 * 0.01;
        let at = (0..9).fold(at, |x: f64, _| 1.0 - 0.2 * (x - 0.9).powi(2));
        for (start, slope) in [(at, -1.0), (0.97, -1.0), (1.05, -0.7), (0.8, -2.0)] {
            let mut calls = 0;
            let found = settle_near(Near { at: start, slope }, 1e-12, |x| {
                calls += 1;
                Some(falls(x))
            });
            assert!((found.unwrap() - at).abs() < 1e-12, "{start}");
            assert!(calls <= 6, "{calls} from {start}");
        }
        // A zero that drives away, a hole, and no zero at all.
        let near = Near { at: 0.1, slope: -1.0 };
        assert_eq!(settle_near(near, 1e-12, Some), None);
        assert_eq!(settle_near(near, 1e-12, |x| (x < 0.15).then_some(1.0 - x)), None);
        assert_eq!(settle_near(near, 1e-12, |_| Some(f64::NAN)), None);
        assert_eq!(settle_near(near, 1e-12, |x| Some(1.0 + x * x)), None);
    }

    #[test]
    fn the_top_of_a_hump_is_found() {
        let (at, top) = highest((-1.0, 3.0), |x| 2.0 - (x - 0.4).powi(2));
        assert!((at - 0.4).abs() < 1e-7 && (top - 2.0).abs() < 1e-14);
        let (at, _) = highest((0.0, 1.0), |x| x);
        assert!(at > 1.0 - 1e-7);
    }
}

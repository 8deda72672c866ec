//! Least squares: the values at which all observations and all that is known beforehand fit best.
//!
//! Minimised is the sum of squares of everything in standard deviations, by Gauss–Newton steps
//! that are shortened where they do not help (Levenberg–Marquardt).
//!
//! # Source
//! D. W. Marquardt, J. SIAM 11 (1963), from memory; the answers are checked against SciPy's least
//! squares of the same cost (`reference/photo_oracle.py`).

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix2};

use super::model::{Given, Places, Row, State};

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NoAnswer {
    /// Something cannot be told from what is given.
    Open,
    /// Still moving after so many steps.
    Unsettled,
}

/// The best values and how sure they are.
#[derive(Debug, Clone)]
pub(crate) struct Best {
    pub state: State,
    pub places: Places,
    /// Of all unknowns that are not held.
    pub covariance: DMatrix<f64>,
    /// The sum of squares.
    pub cost: f64,
}

const STEPS_MAX: usize = 200;
/// A step that promises less than this, as a share of a standard deviation squared, is the last.
const PROMISE_MIN: f64 = 1e-14;

/// The best values, from a start that is near enough.
pub(crate) fn solve(given: &Given, start: State) -> Result<Best, NoAnswer> {
    let places = Places::new(given);
    let mut state = start;
    let mut cost = cost_of(given, &places, &state).ok_or(NoAnswer::Open)?;
    let mut damping = 1e-3;
    for _ in 0..STEPS_MAX {
        let (normal, slope) = normal(given, &places, &state).ok_or(NoAnswer::Open)?;
        let mut damped = normal.clone();
        for n in 0..places.count {
            damped[(n, n)] *= 1.0 + damping;
        }
        let factor = Cholesky::new(damped).ok_or(NoAnswer::Open)?;
        let step = -factor.solve(&slope);
        let promise = -slope.dot(&step) - 0.5 * step.dot(&(&normal * &step));
        let next = state.stepped(&places, &step);
        match cost_of(given, &places, &next) {
            Some(less) if less <= cost => {
                state = next;
                cost = less;
                damping = (damping / 8.0).max(1e-15);
                if promise < PROMISE_MIN * (1.0 + cost) {
                    return finish(given, places, state, cost);
                }
            }
            // As low as rounding lets it.
            _ if promise < 1e-10 * (1.0 + cost) => return finish(given, places, state, cost),
            _ if 1e12 < damping => return Err(NoAnswer::Unsettled),
            _ => damping *= 10.0,
        }
    }
    Err(NoAnswer::Unsettled)
}

fn finish(given: &Given, places: Places, state: State, cost: f64) -> Result<Best, NoAnswer> {
    let (normal, _) = normal(given, &places, &state).ok_or(NoAnswer::Open)?;
    let covariance = inverse(&normal).ok_or(NoAnswer::Open)?;
    Ok(Best { state, places, covariance, cost })
}

/// The inverse, its rows and columns brought to size one first: radians, pixels and millimetres
/// differ by many powers of ten.
fn inverse(normal: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = normal.nrows();
    let scale = DVector::from_fn(n, |i, _| 1.0 / normal[(i, i)].sqrt());
    if !scale.iter().all(|s| s.is_finite()) {
        return None;
    }
    let scaled = DMatrix::from_fn(n, n, |i, j| normal[(i, j)] * scale[i] * scale[j]);
    let factor: Cholesky<f64, Dyn> = Cholesky::new(scaled)?;
    // What hangs together too closely to be told apart is open, whatever rounding says.
    let least = factor.l_dirty().diagonal().iter().copied().fold(f64::INFINITY, f64::min);
    if least < 1e-7 {
        return None;
    }
    let inverse = factor.inverse();
    Some(DMatrix::from_fn(n, n, |i, j| inverse[(i, j)] * scale[i] * scale[j]))
}

fn cost_of(given: &Given, places: &Places, state: &State) -> Option<f64> {
    let mut sum = 0.0;
    for n in 0..given.corners.len() {
        sum += state.corner(given, places, n)?.left.norm_squared();
    }
    for n in 0..given.taps.len() {
        sum += state.tap(given, places, n)?.left.norm_squared();
    }
    sum += state.beforehand(given, places).iter().map(|(_, left, _)| left * left).sum::<f64>();
    sum.is_finite().then_some(sum)
}

/// The normal matrix and the slope of half the sum of squares.
fn normal(given: &Given, places: &Places, state: &State) -> Option<(DMatrix<f64>, DVector<f64>)> {
    let mut matrix = DMatrix::zeros(places.count, places.count);
    let mut slope = DVector::zeros(places.count);
    let mut take = |row: &Row| {
        for (i, a) in &row.by {
            slope[*i] += a.dot(&row.left);
            for (j, b) in &row.by {
                matrix[(*i, *j)] += a.dot(b);
            }
        }
    };
    for n in 0..given.corners.len() {
        take(&state.corner(given, places, n)?);
    }
    for n in 0..given.taps.len() {
        take(&state.tap(given, places, n)?);
    }
    for (at, left, by) in state.beforehand(given, places) {
        slope[at] += by * left;
        matrix[(at, at)] += by * by;
    }
    Some((matrix, slope))
}

impl Best {
    /// The covariance that the answer gives a row's prediction, in its standard deviations.
    pub(crate) fn spread(&self, row: &Row) -> Matrix2<f64> {
        let mut sum = Matrix2::zeros();
        for (i, a) in &row.by {
            for (j, b) in &row.by {
                sum += a * b.transpose() * self.covariance[(*i, *j)];
            }
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Matrix2, Vector2, Vector3};

    use super::*;
    use crate::adjust::model::{CornerIn, LensPrior, PhotoIn, PointIn, SheetIn, TapIn};
    use crate::grey::Pixel;
    use crate::lens::Lens;
    use crate::pose::{Pose, turned};

    /// One of everything, nothing held.
    fn one_of_everything() -> (Given, State) {
        let lens =
            Lens { focal: 3000.0, centre: Pixel { x: 2000.0, y: 1500.0 }, k1: 0.05, k2: -0.03 };
        let sheet = SheetIn {
            middle: Vector2::new(3.0, 70.0),
            half: Vector2::new(120.0, 70.0),
            bend_u: 0.2,
        };
        let corner = |sheet, x, y| CornerIn {
            photo: 0,
            sheet,
            at: Vector2::new(x, y),
            seen: Pixel { x: 1900.0, y: 1400.0 },
            tag: 0,
        };
        let weight = Matrix2::new(2.0, 0.3, -0.4, 1.5);
        let tap = |point| TapIn { photo: 0, point, seen: Pixel { x: 2100.0, y: 1450.0 }, weight };
        let given = Given {
            lenses: vec![LensPrior { lens, u: [30.0, 20.0, 20.0, 0.1, 0.1] }],
            photos: vec![PhotoIn { lens: 0, focus_u: 0.002 }],
            sheets: vec![sheet; 2],
            scale: [1.0, 1.0],
            scale_u: [0.01, 0.002],
            points: vec![PointIn { on: None, off_u: 0.1 }, PointIn { on: Some(1), off_u: 0.1 }],
            corners: vec![corner(0, -80.0, 20.0), corner(1, 90.0, 110.0)],
            taps: vec![tap(0), tap(1)],
            corner_u: vec![0.07],
        };
        let pose = |r: [f64; 3], t: [f64; 3]| Pose {
            rotation: turned(Vector3::from(r)),
            shift: Vector3::from(t),
        };
        let state = State {
            lenses: vec![lens],
            focus: vec![0.001],
            cameras: vec![pose([2.8, 0.3, -0.2], [-40.0, 30.0, 1300.0])],
            sheets: vec![Pose::identity(), pose([0.1, 0.05, -0.4], [300.0, 40.0, 30.0])],
            bends: vec![[0.3, -0.2], [0.1, 0.4]],
            scale: [0.999, 0.001],
            points: vec![Vector3::new(120.0, -40.0, -60.0), Vector3::new(30.0, 20.0, 0.1)],
        };
        (given, state)
    }

    /// Every derivative of every observation against a difference of its value.
    #[test]
    fn derivatives_are_those_of_the_values() {
        let (given, state) = one_of_everything();
        let places = Places::new(&given);
        assert_eq!(places.count, 5 + 1 + 6 + 6 + 4 + 2 + 6);
        let observed = |state: &State| -> Vec<Row> {
            let corners = (0..2).map(|n| state.corner(&given, &places, n).unwrap());
            corners.chain((0..2).map(|n| state.tap(&given, &places, n).unwrap())).collect()
        };
        let here = observed(&state);
        let mut moved = 0;
        for n in 0..places.count {
            let width = if n == 0 { 1e-2 } else { 1e-5 };
            let mut step = DVector::zeros(places.count);
            step[n] = width;
            let above = observed(&state.stepped(&places, &step));
            step[n] = -width;
            let below = observed(&state.stepped(&places, &step));
            for ((row, above), below) in here.iter().zip(&above).zip(&below) {
                let difference = (above.left - below.left) / (2.0 * width);
                let told: Vector2<f64> =
                    row.by.iter().filter(|(at, _)| *at == n).map(|(_, by)| *by).sum();
                let scale = 1.0 + difference.norm();
                assert!((told - difference).norm() < 2e-5 * scale, "{n}: {told} {difference}");
                moved += usize::from(1e-9 < difference.norm());
            }
        }
        assert!(60 < moved, "only {moved} derivatives are not zero");
    }

    /// What cannot be told from what is given is said to be open, not made up.
    #[test]
    fn what_is_open_has_no_answer() {
        let (mut given, mut state) = one_of_everything();
        given.points.truncate(1);
        given.taps.truncate(1);
        state.points.truncate(1);
        assert!(solve(&given, state).is_err());
    }
}

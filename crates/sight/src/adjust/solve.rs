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

//! Learning from rounds: which bar, which side, how the centre of mass lies, and which reading
//! fits nothing.
//!
//! ```text
//!   what is doubted, ± u ──┐                    ┌── what it is, ± less
//!   scales, trims, gauges ─┼── the car's model ─┼── what the next round should read, ± u
//!   moves between rounds ──┘                    └── a reading no cause explains: read it again
//! ```
//!
//! | symbol | meaning | field |
//! |---|---|---|
//! | p, u₀ | how far each knob is off what was entered; its uncertainty before | [`Doubt`] |
//! | y, u | a reading and its uncertainty | [`Reading`] |
//! | f(p), J | what the model reads, and its slopes | [`Car::rest_with_slopes`] |
//! | C | covariance of p afterwards, (C₀⁻¹ + JᵀR⁻¹J)⁻¹ | [`Belief`] |
//! | z | reading less what all others and the doubts foretell, over its u | [`Said::z`] |
//!
//! Least Σ(p/u₀)² + Σ((y − f)/u)² by Gauss–Newton, each step shortened until the sum falls. With
//! p in units of u₀ the matrix is 1 + JᵀR⁻¹J: never singular, however little was read. What the
//! readings cannot tell apart stays as doubtful as it was.
//!
//! **Valid for.** Errors that are independent and near normal; doubts entered as honest standard
//! uncertainties. A reading is named when it lies more than three u from what everything else
//! foretells (one honest reading in 370 does); it is then left out.
//!
//! **Source.** Gaussian least squares with prior information (JCGM 100:2008 for the meaning of u;
//! textbook Bayes); leave-one-out residual r/(u·√(1 − h)), h the reading's own weight. Checked
//! against a fit without derivatives and by planted truths.

use axlewright_quantity::{Amount, Ratio};

use super::knob::{FIGURES, Figure, Knob};
use super::rest::{Rest, Sensitivities, rest_with_slopes};
use super::{Car, CarError, input};

/// A knob that is not known for sure: off what was entered by zero, give or take u.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Which.
    pub knob: Knob,
    /// Standard uncertainty, in the knob's own kind.
    pub u: Amount,
}

/// One figure as read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// What was read.
    pub figure: Figure,
    /// What it showed.
    pub value: Amount,
    /// Its standard uncertainty, friction and stiction included.
    pub u: Amount,
}

/// One pass of readings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Round {
    /// What was turned since the round before; before the first, since the car as entered.
    pub moved: Vec<(Knob, Amount)>,
    /// What was read then.
    pub readings: Vec<Reading>,
}

/// What is believed of the knobs.
#[derive(Debug, Clone, PartialEq)]
pub struct Belief {
    knobs: Vec<Knob>,
    /// SI covariance, row by row.
    covariance: Vec<Vec<f64>>,
}

/// A knob before and after.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Which.
    pub knob: Knob,
    /// How far it is off what was entered.
    pub by: Amount,
    /// How sure that is.
    pub u: Amount,
    /// How doubtful it was before.
    pub u_before: Amount,
}

/// What one reading said.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Which round, counted from one.
    pub round: usize,
    /// What was read.
    pub reading: Reading,
    /// What the car as entered (moves done) would have read.
    pub expected: Amount,
    /// Reading less what the car as learned reads.
    pub left: Amount,
    /// Reading less what all others foretell, in units of how sure that difference is.
    pub z: Ratio,
    /// It fits no cause: probably misread, and left out.
    pub misread: bool,
    /// What this reading by itself moved each knob by, the largest share of its doubt first.
    pub says: Vec<(Knob, Amount)>,
}

/// What the rounds teach.
#[derive(Debug, Clone, PartialEq)]
pub struct Lesson {
    /// The car as it is now: what was learned put in, and all moves done.
    pub car: Car,
    /// Every doubted knob.
    pub knobs: Vec<Learned>,
    /// Every reading.
    pub readings: Vec<Said>,
    /// What is believed now, for the next prediction.
    pub belief: Belief,
    /// Σz² of the readings kept over their number: near or below one where the doubts are honest.
    pub fit: Ratio,
}

/// A figure foretold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// Which.
    pub figure: Figure,
    /// What it should read.
    pub value: Amount,
    /// How sure that is; the reading's own uncertainty comes on top.
    pub u: Amount,
}

/// A reading farther from what the others foretell than this many u is taken for a misreading.
const MISREAD_Z: f64 = 3.0;
/// Gauss–Newton steps.
const STEPS_MAX: usize = 30;

fn positive(what: String, u: Amount) -> Result<f64, CarError> {
    if 0.0 < u.to_si() && u.to_si().is_finite() {
        Ok(u.to_si())
    } else {
        Err(input(
            what,
            format!("u {} {}", u.shown(), u.kind().unit()),
            "an uncertainty above zero",
        ))
    }
}

impl Belief {
    /// Nothing learned yet: the doubts as entered, independent of each other.
    ///
    /// # Errors
    /// An uncertainty that is zero or none, or of another kind than its knob; a knob named twice.
    pub fn of(doubts: &[Doubt]) -> Result<Self, CarError> {
        let mut covariance = vec![vec![0.0; doubts.len()]; doubts.len()];
        for (i, doubt) in doubts.iter().enumerate() {
            let name = doubt.knob.name();
            if doubt.u.kind() != doubt.knob.kind() {
                let given = doubt.u.kind().with_article();
                return Err(input(name, given, "doubted in its own kind"));
            }
            if doubts[..i].iter().any(|d| d.knob == doubt.knob) {
                return Err(input(name, "named twice", "doubted once"));
            }
            covariance[i][i] = positive(name, doubt.u)?.powi(2);
        }
        Ok(Self { knobs: doubts.iter().map(|d| d.knob).collect(), covariance })
    }

    /// The knobs it is about.
    pub fn knobs(&self) -> &[Knob] {
        &self.knobs
    }

    /// Standard uncertainty of a knob; none of one that is not doubted.
    ///
    /// # Valid for
    /// Near normal errors.
    pub fn u(&self, knob: Knob) -> Option<Amount> {
        let i = self.place(knob)?;
        Some(Amount::from_si(knob.kind(), self.covariance[i][i].max(0.0).sqrt()))
    }

    /// How much two knobs are known only together: −1 to 1.
    ///
    /// # Valid for
    /// Near normal errors.
    pub fn correlation(&self, a: Knob, b: Knob) -> Option<Ratio> {
        let (i, j) = (self.place(a)?, self.place(b)?);
        let size = (self.covariance[i][i] * self.covariance[j][j]).sqrt();
        (0.0 < size).then(|| Ratio::one((self.covariance[i][j] / size).clamp(-1.0, 1.0)))
    }

    fn place(&self, knob: Knob) -> Option<usize> {
        self.knobs.iter().position(|k| *k == knob)
    }

    /// What every figure of a car should read, and how sure that is.
    ///
    /// # Units and sign
    /// `u` is of the figure itself, u² = J·C·Jᵀ; add a reading's own uncertainty in quadrature.
    /// # Valid for
    /// Doubts small enough that the car follows them in proportion.
    /// # Errors
    /// As [`Car::rest`]; a doubted knob the car has not.
    /// # Source
    /// JCGM 100:2008, 5.2 (correlated inputs).
    pub fn forecast(&self, car: &Car) -> Result<(Rest, Vec<Foretold>), CarError> {
        let (rest, slopes) = rest_with_slopes(car, self.knobs.clone())?;
        let mut foretold = Vec::new();
        for figure in FIGURES {
            let Ok(value) = rest.figure(figure) else { continue };
            let u = self.u_of(figure, &slopes)?;
            foretold.push(Foretold { figure, value, u: Amount::from_si(figure.kind(), u) });
        }
        Ok((rest, foretold))
    }

    fn u_of(&self, figure: Figure, slopes: &Sensitivities) -> Result<f64, CarError> {
        let row = self.row(figure, slopes)?;
        let spread = |i: usize| {
            self.covariance[i].iter().zip(&row).map(|(c, r)| c * r).sum::<f64>() * row[i]
        };
        Ok((0..row.len()).map(spread).sum::<f64>().max(0.0).sqrt())
    }

    fn row(&self, figure: Figure, slopes: &Sensitivities) -> Result<Vec<f64>, CarError> {
        let slope = |k: &Knob| {
            let what = || format!("{} with {}", figure.name(), k.name());
            slopes.slope(figure, *k).ok_or_else(|| CarError::NotKnown { what: what() })
        };
        self.knobs.iter().map(slope).collect()
    }
}

/// Everything at one guess of the knobs.
struct Trial {
    /// Reading less model, over u.
    off: Vec<f64>,
    /// Slopes of the model over u, per doubt's u₀.
    rows: Vec<Vec<f64>>,
    /// Model, SI.
    reads: Vec<f64>,
}

/// Where the sum is least: the knobs in units of their doubts, and the inverse of the matrix.
struct Best {
    p: Vec<f64>,
    trial: Trial,
    inverse: Vec<Vec<f64>>,
}

struct Fit<'a> {
    car: &'a Car,
    doubts: Vec<(Knob, f64)>,
    rounds: &'a [Round],
    /// Which readings count.
    kept: Vec<bool>,
}

/// A car with a knob that may already have been turned: (1 + a)(1 + b) for shares, else a + b.
fn turned(car: &Car, moves: impl IntoIterator<Item = (Knob, Amount)>) -> Result<Car, CarError> {
    let mut car = car.clone();
    for (knob, by) in moves {
        car = knob.turn(&car, by)?;
    }
    Ok(car)
}

impl Fit<'_> {
    fn doubted(&self, p: &[f64]) -> impl Iterator<Item = (Knob, Amount)> {
        let turn =
            |(&(knob, u), s): (&(Knob, f64), &f64)| (knob, Amount::from_si(knob.kind(), u * s));
        self.doubts.iter().zip(p).map(turn).collect::<Vec<_>>().into_iter()
    }

    fn trial(&self, p: &[f64]) -> Result<Trial, CarError> {
        let mut car = turned(self.car, self.doubted(p))?;
        let mut trial = Trial { off: Vec::new(), rows: Vec::new(), reads: Vec::new() };
        for round in self.rounds {
            car = turned(&car, round.moved.iter().copied())?;
            if round.readings.is_empty() {
                continue;
            }
            let knobs = self.doubts.iter().map(|(knob, _)| *knob).collect();
            let (rest, slopes) = rest_with_slopes(&car, knobs)?;
            for reading in &round.readings {
                let read = rest.figure(reading.figure)?.to_si();
                let u = reading.u.to_si();
                let mut row = Vec::with_capacity(self.doubts.len());
                for ((knob, u_knob), s) in self.doubts.iter().zip(p) {
                    let what = || CarError::NotKnown { what: knob.name() };
                    let slope = slopes.slope(reading.figure, *knob).ok_or_else(what)?;
                    // A share's slope is per share of the rate as it is now.
                    let per = match knob {
                        Knob::BarShare(_) => 1.0 + u_knob * s,
                        _ => 1.0,
                    };
                    row.push(slope / per * u_knob / u);
                }
                trial.off.push((reading.value.to_si() - read) / u);
                trial.rows.push(row);
                trial.reads.push(read);
            }
        }
        Ok(trial)
    }

    fn sum(&self, trial: &Trial, p: &[f64]) -> f64 {
        let kept = trial.off.iter().zip(&self.kept).filter(|(_, kept)| **kept);
        p.iter().map(|s| s * s).sum::<f64>() + kept.map(|(o, _)| o * o).sum::<f64>()
    }

    /// 1 + JᵀR⁻¹J of the readings kept.
    fn matrix(&self, trial: &Trial) -> Vec<Vec<f64>> {
        let n = self.doubts.len();
        let mut a = vec![vec![0.0; n]; n];
        for (i, row) in a.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        for (row, _) in trial.rows.iter().zip(&self.kept).filter(|(_, kept)| **kept) {
            for i in 0..n {
                for j in 0..n {
                    a[i][j] += row[i] * row[j];
                }
            }
        }
        a
    }

    /// Best p, the trial there, and the inverse of the matrix.
    fn best(&self) -> Result<Best, CarError> {
        let mut p = vec![0.0; self.doubts.len()];
        let mut trial = self.trial(&p)?;
        for _ in 0..STEPS_MAX {
            let mut slope: Vec<f64> = p.iter().map(|s| -s).collect();
            for ((row, off), _) in
                trial.rows.iter().zip(&trial.off).zip(&self.kept).filter(|(_, kept)| **kept)
            {
                slope.iter_mut().zip(row).for_each(|(s, r)| *s += r * off);
            }
            let inverse = inverse(&self.matrix(&trial))?;
            let step: Vec<f64> = inverse.iter().map(|row| dot(row, &slope)).collect();
            let (here, mut share, mut moved) = (self.sum(&trial, &p), 1.0, false);
            for _ in 0..20 {
                let tried: Vec<f64> = p.iter().zip(&step).map(|(p, s)| p + share * s).collect();
                if let Ok(next) = self.trial(&tried)
                    && self.sum(&next, &tried) <= here
                {
                    (p, trial, moved) = (tried, next, true);
                    break;
                }
                share *= 0.5;
            }
            let small = step.iter().all(|s| s.abs() < 1e-9);
            if small || !moved {
                break;
            }
        }
        let inverse = inverse(&self.matrix(&trial))?;
        Ok(Best { p, trial, inverse })
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Inverse of a symmetric matrix whose smallest eigenvalue is at least one, by Cholesky.
fn inverse(a: &[Vec<f64>]) -> Result<Vec<Vec<f64>>, CarError> {
    let n = a.len();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let sum = a[i][j] - dot(&l[i][..j], &l[j][..j]);
            if i != j {
                l[i][j] = sum / l[j][j];
            } else if 0.0 < sum && sum.is_finite() {
                l[i][i] = sum.sqrt();
            } else {
                let what = "a reading or a doubt";
                return Err(input(what, "far too small an uncertainty", "an honest uncertainty"));
            }
        }
    }
    let mut inverse = vec![vec![0.0; n]; n];
    // Column by column; the inverse is symmetric, so each is kept as a row.
    for (c, column) in inverse.iter_mut().enumerate() {
        let mut y = vec![0.0; n];
        for i in 0..n {
            let unit = if i == c { 1.0 } else { 0.0 };
            y[i] = (unit - dot(&l[i][..i], &y[..i])) / l[i][i];
        }
        for i in (0..n).rev() {
            let below: f64 = (i + 1..n).map(|k| l[k][i] * column[k]).sum();
            column[i] = (y[i] - below) / l[i][i];
        }
    }
    Ok(inverse)
}

/// h·: how much of a reading's own scatter its fitted value keeps.
fn own_weight(row: &[f64], inverse: &[Vec<f64>]) -> f64 {
    inverse.iter().zip(row).map(|(line, r)| r * dot(line, row)).sum()
}

/// Every reading's z, kept or not, from one fit.
fn scores(Best { trial, inverse, .. }: &Best, kept: &[bool]) -> Vec<f64> {
    let z = |((off, row), kept): ((&f64, &Vec<f64>), &bool)| {
        let h = own_weight(row, inverse);
        // Left out, it foretells nothing of itself: its own u and the foretelling's add up.
        if *kept { off / (1.0 - h).max(1e-12).sqrt() } else { off / (1.0 + h).sqrt() }
    };
    trial.off.iter().zip(&trial.rows).zip(kept).map(z).collect()
}

fn check(car: &Car, rounds: &[Round]) -> Result<(), CarError> {
    for reading in rounds.iter().flat_map(|r| &r.readings) {
        let Reading { figure, value, u } = reading;
        let name = figure.name();
        if value.kind() != figure.kind() || u.kind() != figure.kind() {
            let given = value.kind().with_article();
            return Err(input(name, given, "read in its own kind, its u too"));
        }
        if !value.to_si().is_finite() {
            return Err(input(name, "not a number", "what the gauge showed"));
        }
        positive(name, *u)?;
        if let Figure::Camber(side) | Figure::Toe(side) = figure
            && matches!(car.rear[*side].corner.linkage, crate::linkage::Linkage::Lever(_))
        {
            let what = if matches!(figure, Figure::Camber(_)) { "camber" } else { "toe" };
            return Err(CarError::LeverOnly { what, side: *side });
        }
    }
    Ok(())
}

/// Fits what is doubted to what was read.
///
/// # Units and sign
/// Readings as scales and gauges show them on this floor, in the kinds of their figures; knobs as
/// offsets from the car as entered.
/// # Valid for
/// See the module. Moves between rounds are taken as made exactly as said.
/// # Accuracy
/// To 1e-9 of each doubt.
/// # Errors
/// No rest; a reading or doubt of the wrong kind or without an uncertainty; a knob or figure the
/// car has not.
/// # Source
/// See the module.
pub fn learn(car: &Car, doubts: &[Doubt], rounds: &[Round]) -> Result<Lesson, CarError> {
    let prior = Belief::of(doubts)?;
    check(car, rounds)?;
    let scaled: Vec<(Knob, f64)> = doubts.iter().map(|d| (d.knob, d.u.to_si())).collect();
    let count = rounds.iter().map(|r| r.readings.len()).sum();
    let mut fit = Fit { car, doubts: scaled, rounds, kept: vec![true; count] };
    let before = fit.trial(&vec![0.0; doubts.len()])?;
    let mut best = fit.best()?;
    let mut z = scores(&best, &fit.kept);
    let agreed = repeated(rounds);
    // At most a third may be misread; beyond that it is the model that does not fit.
    for _ in 0..count / 3 {
        let worst = (0..count)
            .filter(|i| fit.kept[*i] && !agreed[*i] && MISREAD_Z < z[*i].abs())
            .max_by(|a, b| z[*a].abs().total_cmp(&z[*b].abs()));
        let Some(worst) = worst else { break };
        fit.kept[worst] = false;
        best = fit.best()?;
        z = scores(&best, &fit.kept);
    }
    let Best { p, trial, inverse } = best;
    let mut now = turned(car, fit.doubted(&p))?;
    for round in rounds {
        now = turned(&now, round.moved.iter().copied())?;
    }
    let u = |i: usize| fit.doubts[i].1;
    // A share is believed of the rate as it is now.
    let per = |i: usize| match fit.doubts[i].0 {
        Knob::BarShare(_) => u(i) / (1.0 + p[i] * u(i)),
        _ => u(i),
    };
    let covariance = (0..doubts.len())
        .map(|i| inverse[i].iter().enumerate().map(|(j, c)| c * per(i) * per(j)).collect())
        .collect();
    let belief = Belief { knobs: prior.knobs, covariance };
    let knobs = doubts.iter().enumerate().map(|(i, doubt)| {
        let amount = |si| Amount::from_si(doubt.knob.kind(), si);
        let (by, after) = (amount(p[i] * u(i)), amount(inverse[i][i].sqrt() * u(i)));
        Learned { knob: doubt.knob, by, u: after, u_before: doubt.u }
    });
    let kept = z.iter().zip(&fit.kept).filter(|(_, kept)| **kept);
    let squares: f64 = kept.clone().map(|(z, _)| z * z).sum();
    let knobs = knobs.collect();
    Ok(Lesson {
        car: now,
        knobs,
        readings: said(&fit, [&before, &trial], &inverse, &z),
        belief,
        fit: Ratio::one(squares / (kept.count().max(1) as f64)),
    })
}

/// Whether a reading was made again in another round with nothing moved between, and both agree
/// within two of their uncertainties: nobody misreads the same twice.
fn repeated(rounds: &[Round]) -> Vec<bool> {
    let all: Vec<(usize, &Reading)> = (rounds.iter().enumerate())
        .flat_map(|(n, round)| round.readings.iter().map(move |reading| (n, reading)))
        .collect();
    let still = |a: usize, b: usize| rounds[a + 1..=b].iter().all(|round| round.moved.is_empty());
    let agree = |(n, a): &(usize, &Reading), (m, b): &(usize, &Reading)| {
        let off = (a.value.to_si() - b.value.to_si()).abs();
        let near = off <= 2.0 * a.u.to_si().hypot(b.u.to_si());
        n != m && a.figure == b.figure && near && still(*n.min(m), *n.max(m))
    };
    all.iter().map(|one| all.iter().any(|other| agree(one, other))).collect()
}

fn said(fit: &Fit, [before, after]: [&Trial; 2], inverse: &[Vec<f64>], z: &[f64]) -> Vec<Said> {
    let all = (1..).zip(fit.rounds);
    let readings = all.flat_map(|(n, round)| round.readings.iter().map(move |r| (n, *r)));
    readings
        .enumerate()
        .map(|(i, (round, reading))| {
            let kind = reading.figure.kind();
            let row = &after.rows[i];
            let innovation = (reading.value.to_si() - before.reads[i]) / reading.u.to_si();
            let share = |k: usize| dot(&inverse[k], row) * innovation;
            let mut says: Vec<(f64, Knob, Amount)> = (0..fit.doubts.len())
                .map(|k| {
                    let (knob, u) = fit.doubts[k];
                    let s = if fit.kept[i] { share(k) } else { 0.0 };
                    (s.abs(), knob, Amount::from_si(knob.kind(), s * u))
                })
                .collect();
            says.sort_by(|a, b| b.0.total_cmp(&a.0));
            Said {
                round,
                reading,
                expected: Amount::from_si(kind, before.reads[i]),
                left: Amount::from_si(kind, after.off[i] * reading.u.to_si()),
                z: Ratio::one(z[i]),
                misread: !fit.kept[i],
                says: says.into_iter().map(|(_, knob, by)| (knob, by)).collect(),
            }
        })
        .collect()
}

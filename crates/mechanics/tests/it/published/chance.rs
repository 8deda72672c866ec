//! Propagation of distributions: the worked examples of JCGM 101 and JCGM 100:2008, each beside
//! what its closed form gives. Where a printed figure is from memory the closed form, worked out
//! here by hand, is the check that counts.

use super::check;
use axlewright_mechanics::chance::{
    Distribution, Draws, Inputs, Outcomes, Plan, Shape, compare, run, unwatched,
};
use axlewright_quantity::{Amount, Kind, Ratio};

const PLAN: Plan = Plan { seed: 2008, draws: 1_000_000 };

fn number(x: f64) -> Amount {
    Amount::from_si(Kind::Ratio, x)
}

fn normal(x: f64, u: f64) -> Distribution<Amount> {
    Distribution::normal(number(x), number(u)).unwrap()
}

fn even(low: f64, high: f64) -> Distribution<Amount> {
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    let u = number(half / 3_f64.sqrt());
    Distribution::new(number(middle), u, Shape::Rectangular).unwrap()
}

fn one(inputs: &Inputs, model: impl Fn(&[f64]) -> f64 + Sync) -> Outcomes {
    let typed = |x: &[Amount]| {
        let plain: Vec<f64> = x.iter().map(|x| x.to_si()).collect();
        Some([number(model(&plain))])
    };
    let draws: Draws<1> = run(inputs, PLAN, typed, &unwatched).unwrap();
    draws.outcome(0).unwrap()
}

fn mean_and_u(drawn: &Outcomes) -> (f64, f64) {
    (drawn.mean().unwrap().to_si(), drawn.u().unwrap().to_si())
}

fn ends(drawn: &Outcomes) -> (f64, f64) {
    let interval = drawn.interval(Ratio::percent(95.0)).unwrap();
    (interval.low.to_si(), interval.high.to_si())
}

fn agrees((y, u): (f64, f64), drawn: &Outcomes, digits: u8) -> bool {
    compare((number(y), number(u)), drawn, Ratio::percent(95.0), digits).unwrap().agrees
}

/// JCGM 101, 9.2: Y = X₁ + X₂ + X₃ + X₄. Four normal inputs of u 1: y 0, u 2.0, 95 % within
/// ±3.92. Four rectangular ones of u 1: ±3.88, by print ±2√3·(2 − (3/5)^¼), which is worked out
/// here from the sum of four even numbers: below s from the end, s⁴/24. The linear ±3.92 stays
/// within the second digit's half, 0.05. With u(X₄) = 10: u 10.1, ±17.0 where the linear road has
/// ±19.9 (all print from memory).
#[test]
fn additive_model() {
    let sum = |x: &[f64]| x.iter().sum::<f64>();
    let drawn = one(&Inputs::new(vec![normal(0.0, 1.0); 4]), sum);
    let (mean, spread) = mean_and_u(&drawn);
    check("mean", mean, 0.0, 5.0 * 2.0 / 1e3);
    check("u", spread, 2.0, 0.01);
    let (low, high) = ends(&drawn);
    check("low", low, -3.92, 0.02);
    check("high", high, 3.92, 0.02);
    // By the linear road u² = 1 + 1 + 1 + 1.
    assert!(agrees((0.0, 2.0), &drawn, 2));

    let even_one = even(-3_f64.sqrt(), 3_f64.sqrt());
    let drawn = one(&Inputs::new(vec![even_one; 4]), sum);
    let by_hand = 2.0 * 3_f64.sqrt() * (2.0 - 0.6_f64.powf(0.25));
    check("by hand", by_hand, 3.88, 0.005);
    let (low, high) = ends(&drawn);
    check("low", low, -by_hand, 0.01);
    check("high", high, by_hand, 0.01);
    assert!(agrees((0.0, 2.0), &drawn, 2));

    let wide = even(-10.0 * 3_f64.sqrt(), 10.0 * 3_f64.sqrt());
    let drawn = one(&Inputs::new(vec![even_one, even_one, even_one, wide]), sum);
    check("u", mean_and_u(&drawn).1, 10.1, 0.05);
    let linear = 103_f64.sqrt();
    check("linear half width", 1.959_964 * linear, 19.9, 0.05);
    let (low, high) = ends(&drawn);
    check("low, from memory", low, -17.0, 0.06);
    check("high, from memory", high, 17.0, 0.06);
    assert!(!agrees((0.0, linear), &drawn, 2));
}

/// JCGM 101, 9.3: calibration of a mass. Inputs and print from memory: linear 1.2340, u 0.0539 mg
/// and [1.1285, 1.3395]; drawn 1.2341, u 0.0754, shortest interval [1.0834, 1.3825], which is the
/// one in the middle but for luck, the outcome being even; they do not agree. By hand: air
/// density and the difference of the inverse densities are independent, so the variance of their
/// product is a product of second moments; E 1/ρ and E 1/ρ² of an even ρ are integrals.
#[test]
fn mass_calibration() {
    let inputs = Inputs::new(vec![
        normal(100_000.0, 0.050),
        normal(1.234, 0.020),
        even(1.10, 1.30),
        even(7000.0, 9000.0),
        even(7950.0, 8050.0),
    ]);
    let model = |x: &[f64]| (x[0] + x[1]) * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 1e5;
    let drawn = one(&inputs, model);
    let first = |a: f64, b: f64| (b / a).ln() / (b - a);
    let second = |a: f64, b: f64| 1.0 / (a * b);
    let square = second(7000.0, 9000.0) + second(7950.0, 8050.0)
        - 2.0 * first(7000.0, 9000.0) * first(7950.0, 8050.0);
    let air = 0.2_f64.powi(2) / 12.0;
    let by_hand = (0.050_f64.powi(2) + 0.020_f64.powi(2) + 1e10 * air * square).sqrt();
    let (mean, spread) = mean_and_u(&drawn);
    check("u by hand", spread, by_hand, 3e-4);
    // Printed after draws, too, so to one of its last digit.
    check("u, from memory", by_hand, 0.0754, 1e-4);
    check("mean, from memory", mean, 1.2341, 4e-4);
    let (low, high) = ends(&drawn);
    check("low, from memory", low, 1.0834, 2e-3);
    check("high, from memory", high, 1.3825, 2e-3);
    assert!(!agrees((1.2340, 0.0539), &drawn, 1));
}

/// JCGM 101, 9.4: comparison loss, Y = X₁² + X₂² with u 0.005 each. Print from memory, in 10⁻⁶:
/// at x₁ 0: 50, u 50; correlated by 0.9: u 67; at x₁ 0.010: 150, u 112; at 0.050: 2551, u 502. By
/// hand: mean x² + 2u², variance 4u²x² + 4u⁴(1 + r²); at 0, Y is exponential, and a share p of it
/// lies below −2u²·ln(1 − p). (The printed intervals are shortest ones, which nothing here asks
/// for.)
#[test]
fn comparison_loss() {
    let rows = [
        (0.000, 0.0, 50.0, 50.0),
        (0.000, 0.9, 50.0, 67.0),
        (0.010, 0.0, 150.0, 112.0),
        (0.050, 0.0, 2551.0, 502.0),
    ];
    let (w, square) = (0.005_f64, |x: &[f64]| x[0] * x[0] + x[1] * x[1]);
    for (x, r, mean_printed, u_printed) in rows {
        let inputs = Inputs::new(vec![normal(x, w), normal(0.0, w)]);
        let inputs = inputs.correlated(&[(0, 1, Ratio::one(r))]).unwrap();
        let drawn = one(&inputs, square);
        let (mean, spread) = mean_and_u(&drawn);
        let by_hand = (x * x + 2.0 * w * w) * 1e6;
        check("mean by hand", mean * 1e6, by_hand, 5.0 * spread * 1e3);
        check("mean, from memory", by_hand, mean_printed, 1.0);
        let u_by_hand = (4.0 * w * w * x * x + 4.0 * w.powi(4) * (1.0 + r * r)).sqrt() * 1e6;
        check("u by hand", spread * 1e6, u_by_hand, 0.006 * u_by_hand);
        check("u, from memory", u_by_hand, u_printed, 0.5);
        if x == 0.0 && r == 0.0 {
            let (low, high) = ends(&drawn);
            for (end, beyond) in [(low, 0.975_f64), (high, 0.025)] {
                let by_hand = -2.0 * w * w * beyond.ln() * 1e6;
                check("end by hand", end * 1e6, by_hand, 0.01 * by_hand + 0.05);
            }
        }
    }
}

/// JCGM 100:2008 (GUM), H.2: resistance, reactance and impedance from voltage, current and phase
/// read together, so correlated. Means, uncertainties and correlations of the inputs by the raw
/// readings (from memory; they give the means, u and r that were seen). Seen: R 127.732, X 219.847,
/// Z 254.260 Ω with u 0.071, 0.295, 0.236 (X by full precision rounds to 0.296). From memory:
/// r(R, X) −0.588, r(R, Z) −0.485, r(X, Z) 0.993.
#[test]
fn impedance_from_correlated_readings() {
    let v = [5.007, 4.994, 5.005, 4.990, 4.999];
    let i = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3];
    let phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
    let mean = |x: [f64; 5]| x.iter().sum::<f64>() / 5.0;
    let shared = |x: [f64; 5], y: [f64; 5]| {
        let pairs = x.iter().zip(y);
        pairs.map(|(a, b)| (a - mean(x)) * (b - mean(y))).sum::<f64>() / 20.0
    };
    let u = |x: [f64; 5]| shared(x, x).sqrt();
    let r = |x, y| Ratio::one(shared(x, y) / (u(x) * u(y)));
    check("u(V), V", u(v), 3.2e-3, 0.05e-3);
    check("u(I), A", u(i), 9.5e-6, 0.05e-6);
    check("u(φ), rad", u(phase), 7.5e-4, 0.05e-4);
    check("r(V, I)", r(v, i).to_one(), -0.36, 0.005);
    check("r(V, φ)", r(v, phase).to_one(), 0.86, 0.005);
    check("r(I, φ)", r(i, phase).to_one(), -0.65, 0.005);
    let inputs = Inputs::new([v, i, phase].map(|x| normal(mean(x), u(x))).to_vec());
    let pairs = [(0, 1, r(v, i)), (0, 2, r(v, phase)), (1, 2, r(i, phase))];
    let inputs = inputs.correlated(&pairs).unwrap();
    let model = |x: &[Amount]| {
        let [v, i, phase] = [x[0], x[1], x[2]].map(Amount::to_si);
        Some([v / i * phase.cos(), v / i * phase.sin(), v / i].map(number))
    };
    let drawn: Draws<3> = run(&inputs, PLAN, model, &unwatched).unwrap();
    let rows = [(127.732, 0.071), (219.847, 0.295), (254.260, 0.236)];
    for (n, (value, u)) in (0..).zip(rows) {
        let (mean, spread) = mean_and_u(&drawn.outcome(n).unwrap());
        check("mean", mean, value, 2e-3);
        check("drawn u", spread, u, 1.5e-3);
    }
    for (a, b, printed) in [(0, 1, -0.588), (0, 2, -0.485), (1, 2, 0.993)] {
        let r = drawn.correlation(a, b).unwrap().to_one();
        check("correlation, from memory", r, printed, 4e-3);
    }
    // Without the correlations u(R) would come out 2.7 times as large (derived: 0.1945).
    let alone = Inputs::new(inputs.each().to_vec());
    let alone: Draws<3> = run(&alone, PLAN, model, &unwatched).unwrap();
    check("u(R) without correlations", mean_and_u(&alone.outcome(0).unwrap()).1, 0.1945, 1e-3);
}

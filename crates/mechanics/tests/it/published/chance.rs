//! Propagation of distributions: the worked examples of JCGM 101 and JCGM 100:2008, each beside
//! what its closed form gives. Where a printed figure is from memory the closed form, worked out
//! here by hand, is the check that counts.

use super::check;
use axlewright_mechanics::chance::{
    Distribution, Draws, Inputs, Middle, Outcomes, Plan, Shape, compare, linear, run, unwatched,
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
    Distribution::within(number(middle), number(half), Shape::Rectangular).unwrap()
}

fn one(inputs: &Inputs, model: impl Fn(&[f64]) -> f64 + Sync) -> (f64, f64, Outcomes) {
    let typed = |x: &[Amount]| {
        let plain: Vec<f64> = x.iter().map(|x| x.to_si()).collect();
        Some([number(model(&plain))])
    };
    let [line] = linear(inputs, typed).unwrap();
    let draws: Draws<1> = run(inputs, PLAN, typed, &unwatched).unwrap();
    (line.value.to_si(), line.u.to_si(), draws.outcome(0).unwrap())
}

fn mean_and_u(drawn: &Outcomes) -> (f64, f64) {
    (drawn.mean().unwrap().to_si(), drawn.u().unwrap().to_si())
}

fn ends(drawn: &Outcomes, middle: Middle) -> (f64, f64) {
    let interval = drawn.interval(Ratio::percent(95.0), middle).unwrap();
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
    let (y, u, drawn) = one(&Inputs::new(vec![normal(0.0, 1.0); 4]), sum);
    check("linear u", u, 2.0, 1e-9);
    let (mean, spread) = mean_and_u(&drawn);
    check("mean", mean, 0.0, 5.0 * 2.0 / 1e3);
    check("u", spread, 2.0, 0.01);
    let (low, high) = ends(&drawn, Middle::Symmetric);
    check("low", low, -3.92, 0.02);
    check("high", high, 3.92, 0.02);
    assert!(agrees((y, u), &drawn, 2));

    let even_one = even(-3_f64.sqrt(), 3_f64.sqrt());
    let (y, u, drawn) = one(&Inputs::new(vec![even_one; 4]), sum);
    let by_hand = 2.0 * 3_f64.sqrt() * (2.0 - 0.6_f64.powf(0.25));
    check("by hand", by_hand, 3.88, 0.005);
    let (low, high) = ends(&drawn, Middle::Symmetric);
    check("low", low, -by_hand, 0.01);
    check("high", high, by_hand, 0.01);
    check("linear half width", 1.959_964 * u, 3.92, 0.005);
    assert!(agrees((y, u), &drawn, 2));

    let wide = even(-10.0 * 3_f64.sqrt(), 10.0 * 3_f64.sqrt());
    let (y, u, drawn) = one(&Inputs::new(vec![even_one, even_one, even_one, wide]), sum);
    check("u", mean_and_u(&drawn).1, 10.1, 0.05);
    check("linear u", u, 103_f64.sqrt(), 1e-9);
    check("linear half width", 1.959_964 * u, 19.9, 0.05);
    let (low, high) = ends(&drawn, Middle::Symmetric);
    check("low, from memory", low, -17.0, 0.06);
    check("high, from memory", high, 17.0, 0.06);
    assert!(!agrees((y, u), &drawn, 2));
}

/// JCGM 101, 9.3: calibration of a mass. Inputs and print from memory: linear u 0.0539 mg and
/// [1.1285, 1.3395]; drawn 1.2341, u 0.0754, [1.0834, 1.3825]; they do not agree. By hand: air
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
    let (y, u, drawn) = one(&inputs, model);
    check("linear u, from memory", u, 0.0539, 0.5e-4);
    check("linear y, from memory", y, 1.2340, 0.5e-4);
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
    let (low, high) = ends(&drawn, Middle::Shortest);
    check("low, from memory", low, 1.0834, 2e-3);
    check("high, from memory", high, 1.3825, 2e-3);
    assert!(!agrees((y, u), &drawn, 1));
}

/// JCGM 101, 9.4: comparison loss, Y = X₁² + X₂² with u 0.005 each. Print from memory, in 10⁻⁶:
/// at x₁ 0: 50, u 50, shortest [0, 150]; correlated by 0.9: u 67, [0, 185]; at x₁ 0.010: 150,
/// u 112, [0, 367]; at 0.050: 2551, u 502, [1590, 3543]. By hand: mean x² + 2u², variance
/// 4u²x² + 4u⁴(1 + r²); at 0, Y is exponential and 95 % of it lies below −2u²·ln 0.05. The linear
/// road has u = 0 at x₁ 0, no interval at all.
#[test]
fn comparison_loss() {
    let rows = [
        (0.000, 0.0, 50.0, 50.0, 0.0, 150.0),
        (0.000, 0.9, 50.0, 67.0, 0.0, 185.0),
        (0.010, 0.0, 150.0, 112.0, 0.0, 367.0),
        (0.050, 0.0, 2551.0, 502.0, 1590.0, 3543.0),
    ];
    let (w, square) = (0.005_f64, |x: &[f64]| x[0] * x[0] + x[1] * x[1]);
    for (x, r, mean_printed, u_printed, low_printed, high_printed) in rows {
        let inputs = Inputs::new(vec![normal(x, w), normal(0.0, w)]);
        let inputs = inputs.correlated(&[(0, 1, Ratio::one(r))]).unwrap();
        let (_, u, drawn) = one(&inputs, square);
        check("linear u", u, 2.0 * x * w, 1e-12);
        let (mean, spread) = mean_and_u(&drawn);
        let by_hand = (x * x + 2.0 * w * w) * 1e6;
        check("mean by hand", mean * 1e6, by_hand, 5.0 * spread * 1e3);
        check("mean, from memory", by_hand, mean_printed, 1.0);
        let u_by_hand = (4.0 * w * w * x * x + 4.0 * w.powi(4) * (1.0 + r * r)).sqrt() * 1e6;
        check("u by hand", spread * 1e6, u_by_hand, 0.006 * u_by_hand);
        check("u, from memory", u_by_hand, u_printed, 0.5);
        let (low, high) = ends(&drawn, Middle::Shortest);
        check("low, from memory", low * 1e6, low_printed, 0.004 * mean_printed + 0.5);
        check("high, from memory", high * 1e6, high_printed, 0.01 * high_printed);
        if x == 0.0 && r == 0.0 {
            let by_hand = -2.0 * w * w * 0.05_f64.ln() * 1e6;
            check("high by hand", high * 1e6, by_hand, 1.5);
        }
    }
}

/// JCGM 100:2008 (GUM), H.1, end gauge, with its distributions: inputs read in third-party tests.
/// Linear u 32 nm (seen). Drawn: the products with means of zero, which the linear road leaves
/// out, add (by hand, variances of products of independent factors); print after second-order
/// terms 34 nm (from memory).
#[test]
fn end_gauge() {
    let arcsine =
        |x: f64, half: f64| Distribution::within(number(x), number(half), Shape::Arcsine).unwrap();
    let l = 50_000_623.0;
    let inputs = Inputs::new(vec![
        normal(l, 25.0),
        normal(215.0, 5.8),
        normal(0.0, 3.9),
        normal(0.0, 6.7),
        even(9.5e-6, 13.5e-6),
        even(-1e-6, 1e-6),
        normal(-0.1, 0.2),
        arcsine(0.0, 0.5),
        even(-0.05, 0.05),
    ]);
    let model = |x: &[f64]| x[0] + x[1] + x[2] + x[3] - x[0] * (x[5] * (x[6] + x[7]) + x[4] * x[8]);
    let (y, u, drawn) = one(&inputs, model);
    check("linear u, nm", u, 32.0, 0.5);
    check("l, nm, from memory", y, 50_000_838.0, 0.5);
    let third = |half: f64| half * half / 3.0;
    let temperature = 0.1_f64.powi(2) + 0.2_f64.powi(2) + 0.5_f64.powi(2) / 2.0;
    let products = third(1e-6) * temperature + third(0.05) * (11.5e-6_f64.powi(2) + third(2e-6));
    let by_hand =
        (625.0 + 5.8_f64.powi(2) + 3.9_f64.powi(2) + 6.7_f64.powi(2) + l * l * products).sqrt();
    check("second order, from memory", by_hand, 34.0, 0.5);
    check("drawn u, nm", mean_and_u(&drawn).1, by_hand, 0.15);
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
    let lines = linear(&inputs, model).unwrap();
    for ((n, line), (value, u)) in (0..).zip(lines).zip(rows) {
        check("value", line.value.to_si(), value, 0.5e-3);
        check("linear u", line.u.to_si(), u, 1e-3);
        let (mean, spread) = mean_and_u(&drawn.outcome(n).unwrap());
        check("mean", mean, value, 2e-3);
        check("drawn u", spread, u, 1.5e-3);
    }
    for (a, b, printed) in [(0, 1, -0.588), (0, 2, -0.485), (1, 2, 0.993)] {
        let r = drawn.correlation(a, b).unwrap().to_one();
        check("correlation, from memory", r, printed, 4e-3);
    }
    // Without the correlations u(R) would come out 2.7 times as large (derived: 0.1945).
    let alone = linear(&Inputs::new(inputs.each().to_vec()), model).unwrap();
    check("u(R) without correlations", alone[0].u.to_si(), 0.1945, 0.5e-4);
}

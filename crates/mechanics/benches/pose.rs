//! How long a pose, its slopes and a free-angle solve take, and the same poses in Python beside
//! them: `cargo bench -p axlewright-mechanics --bench pose`.
//!
//! Every pose is a new angle and a new pair of shifts; nothing is kept from one to the next. Times
//! are the processor's, which a busy machine hardly stretches. The peer runs in the same run on the
//! same poses; the Python is `$AXLEWRIGHT_PYTHON`, else the one that `cargo xtask reference` made,
//! else `python3`, and needs `reference/requirements.txt`.
#![allow(
    clippy::expect_used,
    clippy::panic,
    clippy::unwrap_used,
    reason = "a bench gives up where it cannot go on"
)]
#![allow(
    clippy::disallowed_methods,
    clippy::disallowed_types,
    reason = "a benchmark reads the clock and starts its peer; the crate itself does neither"
)]

use std::fmt::Write as _;
use std::hint::black_box;
use std::io::Write as _;
use std::process::{Command, ExitCode, Stdio};
use std::time::Instant;

use axlewright_mechanics::arm::{ArmDesign, Pose, PoseAt, Shift, TrailingArm};
use axlewright_mechanics::load::Corner;
use axlewright_quantity::{Angle, Force, Length, Place};

#[path = "../tests/it/larch/mod.rs"]
mod larch;

/// Poses in one batch: their inputs are 2.4 MB, so neither side works from its first cache.
const POSES: usize = 100_000;
/// Poses whose outputs are compared with the peer's.
const FEW: usize = 300;

/// Numbers spread evenly and the same on every run (Weyl sequence on √2, √3, √5).
fn poses() -> Vec<PoseAt> {
    let spread = |n: usize, step: f64| (n as f64 * step).fract();
    (0..POSES)
        .map(|n| PoseAt {
            angle: Angle::deg(-10.0 + 50.0 * spread(n, std::f64::consts::SQRT_2)),
            shift_u: Length::mm(-4.0 + 8.0 * spread(n, 3_f64.sqrt())),
            shift_w: Length::mm(-4.0 + 8.0 * spread(n, 5_f64.sqrt())),
        })
        .collect()
}

/// Time on the processor in ns where the system tells, by the clock where not.
fn now_ns(since: Instant) -> f64 {
    let stat = std::fs::read_to_string("/proc/self/schedstat").unwrap_or_default();
    let ran = stat.split_whitespace().next().and_then(|ns| ns.parse().ok());
    ran.unwrap_or(since.elapsed().as_nanos() as f64)
}

/// Mean over batches, ns per item; the system counts in ticks, so one batch alone says little.
fn mean_ns(items: usize, batches: usize, mut batch: impl FnMut()) -> f64 {
    let since = Instant::now();
    batch();
    let start = now_ns(since);
    (0..batches).for_each(|_| batch());
    (now_ns(since) - start) / (items * batches) as f64
}

fn outputs(p: &Pose) -> [f64; 10] {
    let (w, c) = (p.wheel_centre, p.contact);
    let places = [w.x, w.y, w.z, c.x, c.y, c.z].map(Length::to_m);
    let [a, b, c, d, e, f] = places;
    let [front, rear] = p.bend.map(Length::to_m);
    [a, b, c, d, e, f, p.camber.to_rad(), p.toe.to_rad(), front, rear]
}

fn means(arm: &TrailingArm, poses: &[PoseAt]) -> [f64; 10] {
    let mut sum = [0.0; 10];
    for at in poses {
        let out = outputs(&arm.pose(*at).expect("within reach"));
        sum.iter_mut().zip(out).for_each(|(s, o)| *s += o);
    }
    sum.map(|s| s / poses.len() as f64)
}

fn job(design: &ArmDesign, poses: &[PoseAt]) -> String {
    let place = |p: Place| format!("{:e} {:e} {:e}", p.x.to_m(), p.y.to_m(), p.z.to_m());
    let mut text = format!("{} {}", place(design.hub), place(design.inner_pivot));
    for hole in [design.hole_front, design.hole_rear] {
        write!(text, " {:e} {:e}", hole.u.to_m(), hole.w.to_m()).expect("a string takes it");
    }
    let angles = [design.camber, design.toe].map(Angle::to_rad);
    let wheel = place(design.wheel_centre);
    let (ride, radius) = (design.design_angle.to_rad(), design.tyre_radius.to_m());
    writeln!(text, " {ride:e} {wheel} {:e} {:e} {radius:e}", angles[0], angles[1])
        .expect("a string takes it");
    for at in poses {
        let (u, w) = (at.shift_u.to_m(), at.shift_w.to_m());
        writeln!(text, "{:e} {u:e} {w:e}", at.angle.to_rad()).expect("a string takes it");
    }
    text
}

fn peer(job: &str) -> Result<String, String> {
    let ours = concat!(env!("CARGO_MANIFEST_DIR"), "/../../target/reference-venv/bin/python");
    let usual = if std::path::Path::new(ours).exists() { ours } else { "python3" };
    let python = std::env::var("AXLEWRIGHT_PYTHON").unwrap_or_else(|_| usual.into());
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/bench_pose.py");
    let mut child = Command::new(&python)
        .arg(script)
        .env_remove("OPENBLAS_CORETYPE")
        .env_remove("OPENBLAS_L2_SIZE")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .map_err(|e| format!("{python}: {e}"))?;
    let mut stdin = child.stdin.take().expect("asked for");
    stdin.write_all(job.as_bytes()).map_err(|e| format!("{python}: {e}"))?;
    drop(stdin);
    let out = child.wait_with_output().map_err(|e| format!("{python}: {e}"))?;
    if out.status.success() {
        String::from_utf8(out.stdout).map_err(|e| e.to_string())
    } else {
        Err(format!("{python} ended with {}", out.status))
    }
}

struct Peer<'a> {
    name: &'a str,
    ns: f64,
    apart: f64,
}

fn read_peer<'a>(line: &'a str, ours: &[f64; 10]) -> Option<Peer<'a>> {
    let mut words = line.split_whitespace();
    let name = words.next()?;
    let numbers: Vec<f64> = words.map(str::parse).collect::<Result<_, _>>().ok()?;
    let (ns, means) = (numbers.first()?, numbers.get(2..12)?);
    let apart = means.iter().zip(ours).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    Some(Peer { name, ns: *ns, apart })
}

fn corner() -> Corner {
    larch::corner()
}

/// One word to fold a pose into, so that the compiler keeps every output.
fn fold(pose: &Pose) -> f64 {
    outputs(pose).iter().sum()
}

/// Nanoseconds per pose.
fn ours(arm: &TrailingArm, poses: &[PoseAt]) -> f64 {
    let pose_ns = mean_ns(POSES, 101, || {
        let mut sum = 0.0;
        for at in black_box(poses) {
            sum += arm.pose(*at).map_or(f64::NAN, |p| fold(&p));
        }
        black_box(sum);
    });
    let slopes_ns = mean_ns(POSES, 101, || {
        for at in black_box(poses) {
            black_box(arm.pose_with_slopes(*at).ok());
        }
    });
    let corner = corner();
    let load = larch::load();
    let free_ns = mean_ns(POSES, 101, || {
        let mut sum = 0.0;
        for at in black_box(poses) {
            sum += corner.free_angle_for(at.angle, load).map_or(f64::NAN, Angle::to_rad);
        }
        black_box(sum);
    });
    let solves = 10_000;
    let angle_ns = mean_ns(solves, 51, || {
        let mut sum = 0.0;
        for at in black_box(&poses[..solves]) {
            let more = Force::n(at.shift_u.to_mm() * 100.0);
            let free = Angle::deg(26.0) + Angle::deg(at.shift_w.to_mm());
            sum += corner.angle_for(free, load + more).map_or(f64::NAN, Angle::to_rad);
        }
        black_box(sum);
    });
    println!("{:<44}{pose_ns:>12.1} ns", "pose");
    println!("{:<44}{slopes_ns:>12.1} ns", "pose with slopes (θ, δu, δw)");
    println!("{:<44}{free_ns:>12.1} ns", "free angle for a ride angle and a load");
    println!("{:<44}{angle_ns:>12.1} ns", "ride angle for a free angle and a load");
    pose_ns
}

fn main() -> ExitCode {
    let poses = poses();
    let design = larch::design();
    let arm = TrailingArm::new(design).expect("the invented arm holds together");
    assert!(arm.reach(Shift::default()).is_ok());
    println!("one core, {POSES} different poses, mean of batches\n");
    let ours = ours(&arm, &poses);
    let answer = match peer(&job(&design, &poses)) {
        Ok(answer) => answer,
        Err(why) => {
            eprintln!(
                "no peer: {why}; set AXLEWRIGHT_PYTHON to one with reference/requirements.txt"
            );
            return ExitCode::FAILURE;
        }
    };
    let few = means(&arm, &poses[..FEW]);
    println!("\n{:<30}{:>14}{:>14}{:>12}", "the same poses", "ns per pose", "ours", "apart");
    for line in answer.lines() {
        if let Some(Peer { name, ns, apart }) = read_peer(line, &few) {
            let times = format!("{:.1} ×", ns / ours);
            println!("{name:<30}{ns:>14.1}{times:>14}{apart:>12.1e}");
            // SciPy's root finder stops near 1e-8; the closed form agrees to rounding.
            assert!(apart < 1e-6, "{name} came to other poses: means {apart:e} apart");
        } else {
            println!("{line}");
        }
    }
    ExitCode::SUCCESS
}

//! One picture of 12 megapixels with two sheets in a cluttered ground, and the adjustment of two
//! photographs with 30 points.
//!
//! `cargo bench -p axlewright-sight --bench sight`: the least of several runs, on the processor
//! alone, so that what else the machine does counts little; and the most memory held.

#![allow(clippy::disallowed_methods, reason = "a bench is a program, and looks at the clock")]

#[path = "../tests/it/scene.rs"]
#[allow(dead_code, reason = "the tests use the rest of it")]
mod scene;

use axlewright_sight::find::find;
use axlewright_sight::grey::{Grey, Pixel};
use axlewright_sight::measure::measure;
use axlewright_sight::sheet::Sheet;

use scene::{Camera, Chance, SIZE, question, tap, two_sheets};

fn main() {
    println!("| what | ms on the processor |\n|---|---|");
    let camera = Camera::around(25.0, 12.0, 1400.0);
    let grey = picture(&camera);
    let mut tags = 0;
    let found = least(7, || tags = find(&grey).map_or(0, |seen| seen.len()));
    println!("| tags in a picture of 12 megapixels, {tags} found | {found:.0} |");
    assert!(43 <= tags, "only {tags} tags");
    let cameras = [camera, Camera::around(-25.0, 18.0, 1300.0)];
    let mut chance = Chance::new(7);
    let mut asked = question(&cameras, &two_sheets(), 0.03, &mut chance);
    for n in 0..30 {
        let place = [chance.even() * 500.0, chance.even() * 300.0 - 100.0, chance.even() * 200.0];
        for (shot, camera) in cameras.iter().enumerate() {
            let at = camera.sees(place);
            let at = Pixel { x: at.x + 0.5 * chance.normal(), y: at.y + 0.5 * chance.normal() };
            asked.taps.push(tap(shot, &format!("p{n}"), at, None));
        }
    }
    let mut points = 0;
    let adjusted = least(20, || points = measure(&asked).map_or(0, |found| found.points().len()));
    println!("| two photographs and {points} points adjusted, with doubts | {adjusted:.1} |");
    assert_eq!(points, 30);
    if let Some(kilobytes) = status("/proc/self/status", "VmHWM:") {
        println!("\nMost memory held: {} MB, 24 of them the picture itself.", kilobytes / 1024);
    }
}

/// Ruled noise with the tags of two sheets in it, each pixel the mean of what falls into it.
fn picture(camera: &Camera) -> Grey {
    let (width, height) = (SIZE.0 as usize, SIZE.1 as usize);
    let mut chance = Chance::new(3);
    let mut pixels: Vec<u8> = (0..width * height)
        .map(|n| {
            let (x, y) = (n % width, n / width);
            let ground = 90.0 + 40.0 * ((x / 90 + y / 70) % 3) as f64;
            (ground + 12.0 * (chance.even() - 0.5)) as u8
        })
        .collect();
    let mut sums = vec![(0_u32, 0_u32); width * height];
    for (id, placed) in two_sheets() {
        for tag in Sheet::new(id).tags {
            let white: Vec<(u8, u8)> = tag.id.white_cells().collect();
            let cell = tag.size.to_mm() / 8.0;
            const PARTS: u32 = 400;
            for v in 0..PARTS {
                for u in 0..PARTS {
                    let at = |n: u32| f64::from(n) / f64::from(PARTS) * 10.0 - 1.0;
                    let (x, y) = (at(u), at(v));
                    let inside = (0.0..8.0).contains(&x) && (0.0..8.0).contains(&y);
                    let light = !inside || white.contains(&(x as u8, y as u8));
                    let right = tag.centre.x.to_mm() + (x - 4.0) * cell;
                    let up = tag.centre.y.to_mm() - (y - 4.0) * cell;
                    let seen = camera.sees(placed.world(right, up));
                    let at = seen.y.round() as usize * width + seen.x.round() as usize;
                    sums[at].0 += if light { 220 } else { 25 };
                    sums[at].1 += 1;
                }
            }
        }
    }
    for (pixel, (sum, count)) in pixels.iter_mut().zip(sums) {
        if let Some(mean) = sum.checked_div(count) {
            *pixel = mean as u8;
        }
    }
    Grey::new(SIZE.0, SIZE.1, pixels).unwrap()
}

/// The least milliseconds on the processor of so many runs.
fn least(runs: usize, mut work: impl FnMut()) -> f64 {
    let mut least = f64::INFINITY;
    for _ in 0..runs {
        let start = processor_ms();
        work();
        least = least.min(processor_ms() - start);
    }
    least
}

/// What this program has used of the processor; the clock on the wall where that is not told.
fn processor_ms() -> f64 {
    let told = std::fs::read_to_string("/proc/self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(
        || {
            let since = std::time::SystemTime::UNIX_EPOCH.elapsed();
            since.map_or(0.0, |since| since.as_secs_f64() * 1e3)
        },
        |ns| ns / 1e6,
    )
}

fn status(path: &str, name: &str) -> Option<u64> {
    let text = std::fs::read_to_string(path).ok()?;
    let line = text.lines().find(|line| line.starts_with(name))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

//! Any bytes at all are a picture to measure by or none, without a panic and without the end of the
//! program: decoded, looked through for tags, refined at a few places, measured by itself and twice.

#![no_main]

use axlewright::desk::photograph::photograph;
use axlewright_sight::grey::Pixel;
use axlewright_sight::measure::measure;
use axlewright_sight::refine;
use axlewright_sight::shot::{Question, Tap, TapDoubt};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let Ok(photo) = photograph(bytes) else { return };
    let (width, height) = (f64::from(photo.shot.width), f64::from(photo.shot.height));
    let mut question =
        Question { shots: vec![photo.shot.clone(), photo.shot], ..Question::default() };
    for (n, byte) in bytes.iter().rev().take(12).enumerate() {
        let at = Pixel { x: f64::from(*byte) / 200.0 * width, y: (n as f64) / 10.0 * height };
        for refined in [refine::circle(&photo.grey, at), refine::edge(&photo.grey, at)] {
            if let Some(found) = refined {
                assert!(found.at.x.is_finite() && found.at.y.is_finite());
            }
        }
        let (name, doubt) = (format!("p{}", n / 2), TapDoubt::TAP);
        question.taps.push(Tap { shot: n % 2, name, at, doubt, sheet: None });
    }
    match measure(&question) {
        Err(why) => assert!(!why.to_string().is_empty() && !why.hint().is_empty()),
        Ok(found) => {
            for name in found.points() {
                let spot = found.point(name, found.sheets()[0]).expect("it has a place");
                for at in [spot.x, spot.y, spot.z] {
                    assert!(at.value.is_finite() && at.u.is_finite(), "{spot:?}");
                }
            }
        }
    }
});

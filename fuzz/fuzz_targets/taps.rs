//! Any corners and taps at all: measured or refused, without a panic, every figure a number.

#![no_main]

use axlewright_quantity::{Length, Ratio};
use axlewright_sight::family::TagId;
use axlewright_sight::find::Seen;
use axlewright_sight::grey::Pixel;
use axlewright_sight::measure::measure;
use axlewright_sight::shot::{LensKnown, Question, Scale, Shot, Tap, TapDoubt};
use libfuzzer_sys::fuzz_target;

/// Numbers from bytes, nought when they are used up.
struct Numbers<'a>(&'a [u8]);

impl Numbers<'_> {
    fn next(&mut self) -> f64 {
        let taken = self.0.len().min(2);
        let (now, rest) = self.0.split_at(taken);
        self.0 = rest;
        match now {
            // Now and then one that is none.
            [0xFF, 0xFF] => f64::NAN,
            [a, b] => f64::from(u16::from_le_bytes([*a, *b])) / 16.0,
            _ => 0.0,
        }
    }
}

fuzz_target!(|bytes: &[u8]| {
    let mut numbers = Numbers(bytes);
    let mut question = Question::default();
    let shots = 1 + numbers.next() as usize % 3;
    for shot in 0..shots {
        let tags = numbers.next() as usize % 12;
        // A square grid that the bytes pull out of shape.
        let seen = (0..tags).filter_map(|n| {
            let tag = TagId::new((n + 5 * (numbers.next() as usize % 8)) as u16)?;
            let (left, top) = (500.0 + 90.0 * (n % 5) as f64, 900.0 - 90.0 * (n / 5) as f64);
            let corners = [(0.0, 0.0), (70.0, 0.0), (70.0, -70.0), (0.0, -70.0)].map(|(x, y)| {
                Pixel { x: left + x + numbers.next() / 256.0, y: top + y + numbers.next() / 256.0 }
            });
            let sound = corners.iter().all(|p| p.x.is_finite() && p.y.is_finite());
            sound.then_some(Seen { tag, corners, blur: None })
        });
        let seen: Vec<Seen> = seen.collect();
        let lens = match numbers.next() as u32 % 3 {
            0 => LensKnown::Unknown,
            _ => LensKnown::Equivalent(Length::mm(26.0)),
        };
        question.shots.push(Shot { width: 2000, height: 1500, lens, seen, mirrored: false });
        for n in 0..numbers.next() as usize % 6 {
            let at = Pixel { x: numbers.next(), y: numbers.next() };
            let name = format!("p{n}");
            question.taps.push(Tap { shot, name, at, doubt: TapDoubt::TAP, sheet: None });
        }
    }
    let s = Ratio::one(0.5 + numbers.next() / 4096.0);
    question.scale = (bytes.len() % 2 == 0).then_some(Scale::read(s, s));
    match measure(&question) {
        Err(why) => assert!(!why.to_string().is_empty() && !why.hint().is_empty()),
        Ok(found) => {
            assert!(found.remarks.iter().all(|r| !r.what.to_string().is_empty()));
            for name in found.points() {
                let spot = found.point(name, found.sheets()[0]).expect("it has a place");
                for at in [spot.x, spot.y, spot.z] {
                    assert!(at.value.is_finite() && at.u.is_finite(), "{spot:?}");
                }
            }
        }
    }
});

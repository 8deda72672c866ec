//! How much memory a photo takes while it is looked at, held by measuring it: a process of its own
//! takes one in and says the most it ever held.
#![cfg(target_os = "linux")]

use std::fs;
use std::io::Cursor;
use std::process::{Command, Output};

use axlewright_store::Prepared;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage, Rgba, RgbaImage};

const PHOTO: &str = "AXLEWRIGHT_PHOTO_TO_LOOK_AT";
const LOOKER: &str = "memory::a_photo_is_looked_at";

/// Most memory this process has held, in bytes, as Linux counts it.
fn most_held() -> u64 {
    let status = fs::read_to_string("/proc/self/status").unwrap();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap();
    line.trim().trim_end_matches(" kB").parse::<u64>().unwrap() * 1024
}

#[test]
fn a_photo_is_looked_at() {
    let Some(path) = std::env::var_os(PHOTO) else { return };
    let bytes = fs::read(path).unwrap();
    let before = most_held();
    let said = match Prepared::of(&bytes) {
        Ok(_) => "taken".to_owned(),
        Err(why) => why.to_string(),
    };
    println!("\nlooked: {} {said}", most_held() - before);
}

/// Looks at a photo in a process that may hold no more than so many kilobytes (0: any number).
fn looked_at(bytes: &[u8], limit: u64) -> Output {
    let folder = tempfile::tempdir().unwrap();
    let photo = folder.path().join("photo");
    fs::write(&photo, bytes).unwrap();
    let program = std::env::current_exe().unwrap();
    let limit = if limit == 0 { "unlimited".to_owned() } else { limit.to_string() };
    let call = format!("ulimit -v {limit}; exec \"$0\" --exact {LOOKER} --nocapture");
    Command::new("sh").args(["-c", &call]).arg(program).env(PHOTO, photo).output().unwrap()
}

fn figures(out: &Output) -> (u64, String) {
    let text = String::from_utf8_lossy(&out.stdout).into_owned();
    let line = text.lines().find_map(|line| line.strip_prefix("looked: "));
    let line = line.unwrap_or_else(|| panic!("{out:?}"));
    let (bytes, said) = line.split_once(' ').unwrap();
    (bytes.parse().unwrap(), said.to_owned())
}

fn written(image: DynamicImage, format: ImageFormat) -> Vec<u8> {
    let mut bytes = Cursor::new(Vec::new());
    image.write_to(&mut bytes, format).unwrap();
    bytes.into_inner()
}

/// The most that a pixel may take, in bytes, and what a process takes besides: what the limits on
/// the number of pixels are reckoned from.
const A_PIXEL: u64 = 8;
const A_PIXEL_OF_WEBP_WITH_ALPHA: u64 = 12;
const BESIDES: u64 = 8_000_000;

/// Coded by another program than ours, in ways that ours does not write.
const CODED: [(&str, &[u8], u64); 3] = [
    ("in passes", include_bytes!("../photos/progressive.jpg"), A_PIXEL),
    ("with loss", include_bytes!("../photos/lossy.webp"), A_PIXEL),
    (
        "with loss and alpha",
        include_bytes!("../photos/lossy-alpha.webp"),
        A_PIXEL_OF_WEBP_WITH_ALPHA,
    ),
];

#[test]
fn a_photo_takes_no_more_memory_than_its_pixels_may() {
    const SIDE: u32 = 1_600;
    let rgb = DynamicImage::ImageRgb8(RgbImage::from_pixel(SIDE, SIDE, Rgb([9, 80, 7])));
    let rgba = DynamicImage::ImageRgba8(RgbaImage::from_pixel(SIDE, SIDE, Rgba([9, 80, 7, 3])));
    let deep = DynamicImage::ImageRgb16(rgb.to_rgb16());
    let rows = [
        ("jpeg", written(rgb.clone(), ImageFormat::Jpeg), A_PIXEL),
        ("png", written(rgb.clone(), ImageFormat::Png), A_PIXEL),
        ("png with alpha", written(rgba.clone(), ImageFormat::Png), A_PIXEL),
        ("deep png", written(deep, ImageFormat::Png), A_PIXEL),
        ("webp", written(rgb, ImageFormat::WebP), A_PIXEL),
        ("webp with alpha", written(rgba, ImageFormat::WebP), A_PIXEL_OF_WEBP_WITH_ALPHA),
    ];
    let rows = rows.iter().map(|(name, bytes, most)| (*name, bytes.as_slice(), *most));
    let pixels = u64::from(SIDE) * u64::from(SIDE);
    for (name, bytes, most) in rows.chain(CODED) {
        let (held, said) = figures(&looked_at(bytes, 0));
        assert_eq!(said, "taken", "{name}");
        println!("{name}: {:.1} bytes a pixel", held as f64 / pixels as f64);
        assert!(held <= most * pixels + BESIDES, "{name}: {held} bytes for {pixels} pixels");
        assert!(pixels < held, "{name}: nothing was measured");
    }
}

/// A WebP whose chunk of words about the picture claims to be four gigabytes long.
fn webp_that_claims_too_much() -> Vec<u8> {
    let plain = written(
        DynamicImage::ImageRgb8(RgbImage::from_pixel(8, 8, Rgb([1, 2, 3]))),
        ImageFormat::WebP,
    );
    let mut bytes = b"RIFF\0\0\0\0WEBPVP8X\x0A\0\0\0\x08\0\0\0\x07\0\0\x07\0\0".to_vec();
    bytes.extend(&plain[12..]);
    bytes.extend(b"EXIF\xE0\xFF\xFF\xFFII*\0");
    bytes.resize(300, 0);
    let length = (bytes.len() as u32 - 8).to_le_bytes();
    bytes[4..8].copy_from_slice(&length);
    bytes
}

#[test]
fn a_length_that_is_a_lie_asks_for_no_memory() {
    // In three gigabytes, of which it would take more than there are.
    let out = looked_at(&webp_that_claims_too_much(), 3_000_000);
    assert!(out.status.success(), "{out:?}");
    let (held, said) = figures(&out);
    assert_eq!(said, "the photo ends in the middle");
    assert!(held < BESIDES, "{held} bytes");
}

#[test]
fn a_jpeg_too_short_for_its_pixels_is_not_a_whole_one() {
    // The frame of a large picture around the code of a small one.
    let mut small = written(
        DynamicImage::ImageRgb8(RgbImage::from_pixel(64, 64, Rgb([1, 2, 3]))),
        ImageFormat::Jpeg,
    );
    let frame = small.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
    small[frame + 5..frame + 9].copy_from_slice(&[0x1B, 0x9F, 0x1B, 0x9F]);
    assert_eq!(Prepared::of(&small), Err(axlewright_store::PhotoError::Cut));
}

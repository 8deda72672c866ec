//! What is taken in, what is taken off, what is refused.

use std::fs;
use std::io::Cursor;

use axlewright_store::{
    Media, PHOTO_BYTES_MAX, PhotoError, Prepared, Store, StoreError, THUMB_SIDE_MAX,
};
use exif::experimental::Writer;
use exif::{Field, In, Rational, Reader, Tag, Value};
use image::{ImageFormat, Rgb, RgbImage};

use crate::common::{corpus, encoded, filled, holder, picture, place};

/// A TIFF block with an orientation, a camera's name and a latitude (tags 0x0112, 0x010F, 0x8825
/// and in it 0x0001), as EXIF has them. From memory.
fn exif(turned: u8) -> Vec<u8> {
    let mut block = b"II*\0\x08\0\0\0\x03\0".to_vec();
    block.extend(b"\x0F\x01\x02\0\x08\0\0\0\x32\0\0\0");
    block.extend([0x12, 0x01, 3, 0, 1, 0, 0, 0, turned, 0, 0, 0]);
    block.extend(b"\x25\x88\x04\0\x01\0\0\0\x3A\0\0\0");
    block.extend([0; 4]);
    block.extend(b"Camera7\0");
    block.extend(b"\x01\0\x01\0\x02\0\x02\0\0\0N\0\0\0\0\0\0\0");
    block.extend(b"latitude 52.5");
    block
}

const SECRETS: &[&[u8]] =
    &[b"Camera7", b"latitude", b"xap/1.0", b"a comment", b"behind", b"Photoshop"];

fn segment(marker: u8, content: &[u8]) -> Vec<u8> {
    let mut segment = vec![0xFF, marker];
    segment.extend((content.len() as u16 + 2).to_be_bytes());
    segment.extend(content);
    segment
}

/// A JPEG as phones write them, with everything in it that should not be seen.
fn talkative_jpeg(words: &[u8], picture: RgbImage) -> Vec<u8> {
    let plain = encoded(picture, ImageFormat::Jpeg);
    let mut bytes = plain[..2].to_vec();
    bytes.extend(segment(0xE1, &[b"Exif\0\0".as_slice(), words].concat()));
    bytes.extend(segment(0xE1, b"http://ns.adobe.com/xap/1.0/\0<latitude>52.5</latitude>"));
    bytes.extend(segment(0xED, b"Photoshop 3.0\0latitude"));
    bytes.extend(segment(0xFE, b"a comment"));
    bytes.extend(&plain[2..]);
    // A second picture behind the first, with its own place, as some phones do.
    bytes.extend(b"behind");
    bytes.extend(segment(0xE1, &[b"Exif\0\0".as_slice(), &exif(1)].concat()));
    bytes
}

fn png_chunk(kind: &[u8; 4], content: &[u8]) -> Vec<u8> {
    let mut typed = kind.to_vec();
    typed.extend(content);
    let mut crc = !0_u32;
    for byte in &typed {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            crc = (crc >> 1) ^ (0xEDB8_8320 & (crc & 1).wrapping_neg());
        }
    }
    [&(content.len() as u32).to_be_bytes(), typed.as_slice(), &(!crc).to_be_bytes()].concat()
}

fn talkative_png(words: &[u8], picture: RgbImage) -> Vec<u8> {
    let plain = encoded(picture, ImageFormat::Png);
    // The signature and IHDR: 8 + 4 + 4 + 13 + 4 bytes.
    let mut bytes = plain[..33].to_vec();
    bytes.extend(png_chunk(b"eXIf", words));
    bytes.extend(png_chunk(b"tEXt", b"Comment\0a comment"));
    bytes.extend(png_chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0latitude"));
    bytes.extend(&plain[33..]);
    bytes.extend(b"behind");
    bytes
}

fn talkative_webp(words: &[u8], picture: RgbImage) -> Vec<u8> {
    let (width, height) = picture.dimensions();
    let plain = encoded(picture, ImageFormat::WebP);
    let chunk = |kind: &[u8; 4], content: &[u8]| {
        let mut chunk = kind.to_vec();
        chunk.extend((content.len() as u32).to_le_bytes());
        chunk.extend(content);
        chunk.extend(vec![0; content.len() % 2]);
        chunk
    };
    let mut head = vec![0x0C, 0, 0, 0];
    head.extend(&(width - 1).to_le_bytes()[..3]);
    head.extend(&(height - 1).to_le_bytes()[..3]);
    let mut inside = b"WEBP".to_vec();
    inside.extend(chunk(b"VP8X", &head));
    inside.extend(&plain[12..]);
    inside.extend(chunk(b"EXIF", words));
    inside.extend(chunk(b"XMP ", b"<latitude/>"));
    let mut bytes = chunk(b"RIFF", &inside);
    bytes.extend(b"behind");
    bytes
}

fn holds(bytes: &[u8], secret: &[u8]) -> bool {
    bytes.windows(secret.len()).any(|window| window == secret)
}

#[test]
fn place_time_and_names_are_taken_off_and_the_picture_is_not_touched() {
    for turned in [1, 6, 3, 8] {
        // Twelve across, seven down; 6 and 8 lie on their side (EXIF 2.32: rows and columns of
        // orientations 5 to 8 change places).
        let wanted = if turned < 5 { (12, 7) } else { (7, 12) };
        let rows = [
            (Media::Jpeg, talkative_jpeg(&exif(turned), picture(1, 12, 7))),
            (Media::Png, talkative_png(&exif(turned), picture(1, 12, 7))),
            (Media::Webp, talkative_webp(&exif(turned), picture(1, 12, 7))),
        ];
        for (media, bytes) in rows {
            let format = image::guess_format(&bytes).unwrap();
            let photo = Prepared::of(&bytes).unwrap();
            assert_eq!(photo.file().media, media);
            assert_eq!((photo.file().width, photo.file().height), wanted, "{media:?} {turned}");
            for secret in SECRETS {
                let said = String::from_utf8_lossy(secret);
                assert!(!holds(photo.bytes(), secret), "{media:?} {turned}: {said}");
            }
            assert!(holds(&bytes, SECRETS[0]) && holds(&bytes, SECRETS[1]));
            let before = image::load_from_memory_with_format(&bytes, format).unwrap();
            let after = image::load_from_memory_with_format(photo.bytes(), format).unwrap();
            assert_eq!(before, after, "{media:?}");
            // A second time there is nothing left to take.
            let again = Prepared::of(photo.bytes()).unwrap();
            assert_eq!(again.bytes(), photo.bytes());
        }
    }
}

/// A camera's words as a library for them writes them: what measuring needs, and what nobody needs
/// to know.
fn words_of_a_lens() -> Vec<u8> {
    let number = |num, denom| Value::Rational(vec![Rational { num, denom }]);
    let text = |said: &str| Value::Ascii(vec![said.as_bytes().to_vec()]);
    let all = [
        (Tag::Orientation, Value::Short(vec![6])),
        (Tag::FocalLength, number(425, 100)),
        (Tag::FocalLengthIn35mmFilm, Value::Short(vec![26])),
        (Tag::DigitalZoomRatio, number(1, 1)),
        (Tag::FocalPlaneXResolution, number(71_428, 10)),
        (Tag::FocalPlaneResolutionUnit, Value::Short(vec![3])),
        (Tag::PixelXDimension, Value::Long(vec![12])),
        (Tag::Model, text("Camera7")),
        (Tag::DateTimeOriginal, text("2026:05:01 10:00:00")),
        (Tag::MakerNote, Value::Undefined(b"latitude 52.5".to_vec(), 0)),
        (Tag::GPSLatitudeRef, text("N")),
        (Tag::GPSLatitude, number(525, 10)),
    ];
    let fields = all.map(|(tag, value)| Field { tag, ifd_num: In::PRIMARY, value });
    let mut writer = Writer::new();
    fields.iter().for_each(|field| writer.push_field(field));
    let mut block = Cursor::new(Vec::new());
    writer.write(&mut block, false).unwrap();
    block.into_inner()
}

#[test]
fn what_measuring_needs_of_the_lens_stays_and_nothing_beside_it() {
    let words = words_of_a_lens();
    for bytes in [
        talkative_jpeg(&words, picture(1, 12, 7)),
        talkative_png(&words, picture(1, 12, 7)),
        talkative_webp(&words, picture(1, 12, 7)),
    ] {
        let photo = Prepared::of(&bytes).unwrap();
        let media = photo.file().media;
        let kept = Reader::new().read_from_container(&mut Cursor::new(photo.bytes())).unwrap();
        let mut said: Vec<String> =
            kept.fields().map(|f| format!("{} {}", f.tag, f.display_value())).collect();
        said.sort();
        let wanted = [
            "DigitalZoomRatio 1",
            "FocalLength 4.25",
            "FocalLengthIn35mmFilm 26",
            "FocalPlaneResolutionUnit cm",
            "FocalPlaneXResolution 7142.8",
            "Orientation row 0 at right and column 0 at top",
            "PixelXDimension 12",
        ];
        assert_eq!(said, wanted, "{media:?}");
        for secret in [b"Camera7".as_slice(), b"latitude", b"2026:05:01"] {
            assert!(holds(&bytes, secret) && !holds(photo.bytes(), secret), "{media:?}");
        }
        assert_eq!(Prepared::of(photo.bytes()).unwrap().bytes(), photo.bytes());
    }
}

#[test]
fn a_photo_lies_under_its_hash_once_and_comes_back() {
    let (_folder, book) = place();
    let store = Store::create(&book, &holder()).unwrap();
    let bytes = talkative_jpeg(&exif(6), picture(2, 12, 7));
    let photo = store.add_photo(&bytes).unwrap();
    assert_eq!(store.add_photo(&bytes).unwrap(), photo);
    let kept = fs::read(book.join(photo.path())).unwrap();
    assert_eq!(axlewright_book::log::Sha::of(&kept), photo.sha);
    assert_eq!(store.photo(&photo).unwrap(), kept);
    // One that was damaged is made good by the same photo.
    fs::write(book.join(photo.path()), "rust").unwrap();
    assert!(matches!(store.photo(&photo), Err(StoreError::Corrupt { .. })));
    store.add_photo(&bytes).unwrap();
    assert_eq!(store.photo(&photo).unwrap(), kept);
}

#[test]
fn a_small_picture_is_upright_and_made_anew() {
    let (_folder, book) = place();
    let store = Store::create(&book, &holder()).unwrap();
    // Left half red, right half blue; turned by 6 (a quarter to the right) red is on top.
    let wide =
        RgbImage::from_fn(
            1200,
            600,
            |x, _| {
                if x < 600 { Rgb([255, 0, 0]) } else { Rgb([0, 0, 255]) }
            },
        );
    let photo = store.add_photo(&talkative_jpeg(&exif(6), wide)).unwrap();
    let thumb = store.thumb(&photo).unwrap();
    let small = image::load_from_memory(&thumb).unwrap().to_rgb8();
    assert_eq!(small.dimensions(), (THUMB_SIDE_MAX / 2, THUMB_SIDE_MAX));
    let (top, bottom) = (small.get_pixel(100, 50), small.get_pixel(100, 430));
    assert!(200 < top[0] && top[2] < 50, "{top:?}");
    assert!(200 < bottom[2] && bottom[0] < 50, "{bottom:?}");
    fs::remove_dir_all(book.join("thumbs")).unwrap();
    assert_eq!(store.thumb(&photo).unwrap(), thumb);
    assert!(book.join("thumbs").is_dir());
}

#[test]
fn what_is_no_photo_is_refused_and_says_why() {
    let good = encoded(picture(3, 64, 64), ImageFormat::Jpeg);
    let refused = |bytes: &[u8]| Prepared::of(bytes).unwrap_err();
    assert_eq!(refused(b""), PhotoError::NotAPhoto);
    assert_eq!(refused(b"<html><script>"), PhotoError::NotAPhoto);
    assert_eq!(refused(b"GIF89a\x01\0\x01\0\0\0\0;"), PhotoError::NotAPhoto);
    // Half of what was sent; decoders would show it with a grey half.
    assert_eq!(refused(&good[..good.len() / 2]), PhotoError::Cut);
    assert_eq!(refused(&good[..good.len() - 2]), PhotoError::Cut);
    let mut big = good.clone();
    big.resize(PHOTO_BYTES_MAX as usize + 1, 0);
    assert_eq!(refused(&big), PhotoError::TooBig { bytes: PHOTO_BYTES_MAX + 1 });
    big.pop();
    assert!(Prepared::of(&big).is_ok());
    assert!(matches!(refused(b"\xFF\xD8\xFF\xD9"), PhotoError::Damaged { .. }));
    for why in [PhotoError::NotAPhoto, PhotoError::Cut, PhotoError::Moving] {
        assert!(!why.hint().is_empty());
    }
}

#[test]
fn a_small_file_that_claims_a_huge_picture_is_not_decoded() {
    // The size stands in the frame's head (JPEG: SOF0, height before width) and in IHDR (PNG).
    let mut jpeg = encoded(picture(4, 16, 16), ImageFormat::Jpeg);
    let frame = jpeg.windows(2).position(|pair| pair == [0xFF, 0xC0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0xFF, 0xFF, 0xFF, 0xFF]);
    let (width, height) = (65_535, 65_535);
    assert_eq!(Prepared::of(&jpeg).unwrap_err(), PhotoError::TooManyPixels { width, height });
    let plain = encoded(picture(4, 16, 16), ImageFormat::Png);
    let mut head = plain[16..29].to_vec();
    head[..8].copy_from_slice(&[0, 0, 0x40, 0, 0, 0, 0x40, 0]);
    let png = [&plain[..8], &png_chunk(b"IHDR", &head), &plain[33..]].concat();
    let (width, height) = (16_384, 16_384);
    assert_eq!(Prepared::of(&png).unwrap_err(), PhotoError::TooManyPixels { width, height });
    // Within the pixels, but eight bytes to each.
    head[..8].copy_from_slice(&[0, 0, 0x1B, 0x58, 0, 0, 0x1B, 0x58]);
    head[8..10].copy_from_slice(&[16, 6]);
    let png = [&plain[..8], &png_chunk(b"IHDR", &head), &plain[33..]].concat();
    let deep = Prepared::of(&png).unwrap_err();
    assert!(matches!(deep, PhotoError::TooDeep { .. } | PhotoError::Damaged { .. }), "{deep}");
}

#[test]
fn broken_photos_never_panic() {
    type Maker = fn(&[u8], RgbImage) -> Vec<u8>;
    let makers: [Maker; 3] = [talkative_jpeg, talkative_png, talkative_webp];
    let mut dice = crate::common::Dice(11);
    let (mut refused, mut taken) = (0, 0);
    for make in makers {
        let good = make(&words_of_a_lens(), picture(5, 12, 7));
        for _ in 0..300 {
            let mut bytes = good.clone();
            for _ in 0..=dice.below(3) {
                let at = dice.below(bytes.len() as u64) as usize;
                bytes[at] ^= 1 << dice.below(8);
            }
            bytes.truncate(bytes.len() - (dice.below(4) * dice.below(40)) as usize);
            match Prepared::of(&bytes) {
                Ok(photo) => {
                    taken += 1;
                    assert!(Prepared::of(photo.bytes()).is_ok());
                }
                Err(why) => {
                    refused += 1;
                    assert!(!why.to_string().is_empty());
                }
            }
        }
    }
    assert!(100 < refused && 100 < taken, "{refused} refused, {taken} taken");
}

#[test]
fn photos_left_over_from_a_killed_process_are_cleared() {
    let (_folder, book) = place();
    filled(&book, 5);
    let draft = book.join("photos").join(".incoming-1-1");
    fs::write(&draft, "half").unwrap();
    Store::open(&book, &holder()).unwrap();
    assert!(!draft.exists());
}

#[test]
fn what_the_fuzzer_begins_with_is_taken_in_and_stays_as_it_is_or_is_refused() {
    let (mut taken, mut refused) = (Vec::new(), Vec::new());
    for (name, bytes) in corpus("photo_corpus") {
        match Prepared::of(&bytes) {
            Err(why) => {
                assert!(!why.to_string().is_empty() && !why.hint().is_empty());
                refused.push(name);
            }
            Ok(photo) => {
                let again = Prepared::of(photo.bytes()).unwrap();
                assert_eq!(again.bytes(), photo.bytes(), "{name}");
                taken.push(name);
            }
        }
    }
    let bad =
        ["claims-four-gigabytes.webp", "cut.png", "moving.webp", "too-short-for-its-pixels.jpg"];
    refused.sort();
    assert_eq!(refused, bad);
    assert!(refused.len() < taken.len(), "{taken:?}");
}

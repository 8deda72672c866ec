//! Which of a camera's words stay with a photo: which way up it is, and what measuring in it needs
//! of the lens. Place, time, names and all else go.
//!
//! Source: CIPA DC-008 (Exif 2.32), 4.6.4 and 4.6.5; tags by name as the reader's library has them.

use std::io::Cursor;
use std::panic::catch_unwind;

use exif::experimental::Writer;
use exif::{Exif, Field, In, Rational, Reader, Tag, Value};
use image::metadata::Orientation;

/// Focal length, the same on 35 mm film, digital zoom; pixels on the sensor for each unit of length
/// and in the picture as it was taken.
const OF_THE_LENS: [Tag; 8] = [
    Tag::FocalLength,
    Tag::FocalLengthIn35mmFilm,
    Tag::DigitalZoomRatio,
    Tag::FocalPlaneXResolution,
    Tag::FocalPlaneYResolution,
    Tag::FocalPlaneResolutionUnit,
    Tag::PixelXDimension,
    Tag::PixelYDimension,
];

/// A TIFF block of our own with the words that stay; none where there are none of them.
///
/// It is written anew, number by number, so that nothing else comes along; of the same words it is
/// the same to the last byte.
pub fn that_stay(said: Option<&[u8]>) -> Option<Vec<u8>> {
    let block = said?;
    let turned = Orientation::from_exif_chunk(block).filter(|o| *o != Orientation::NoTransforms);
    let turned = turned.map(|o| field(Tag::Orientation, Value::Short(vec![o.to_exif().into()])));
    // Unreadable words about a picture are no fault of the picture.
    let read = catch_unwind(|| Reader::new().read_raw(block.to_vec()).ok()).ok().flatten();
    let of_the_lens = read.iter().flat_map(|exif| OF_THE_LENS.map(|tag| number(exif, tag)));
    let all: Vec<Field> = turned.into_iter().chain(of_the_lens.flatten()).collect();
    let mut writer = Writer::new();
    all.iter().for_each(|field| writer.push_field(field));
    let mut written = Cursor::new(Vec::new());
    // A block without a word is refused by the writer, and is none.
    writer.write(&mut written, true).ok().map(|()| written.into_inner())
}

fn field(tag: Tag, value: Value) -> Field {
    Field { tag, ifd_num: In::PRIMARY, value }
}

/// One number under a tag, in the shape in which it stays.
fn number(exif: &Exif, tag: Tag) -> Option<Field> {
    let value = match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Short(all) => Value::Short(vec![*all.first()?]),
        Value::Long(all) => Value::Long(vec![*all.first()?]),
        Value::Rational(all) => {
            let Rational { num, denom } = *all.first()?;
            Value::Rational(vec![Rational { num, denom }])
        }
        _ => return None,
    };
    Some(field(tag, value))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Tag 0x0112, one short: what books of before keep, by the same hash.
    fn turned(by: u8) -> Vec<u8> {
        let mut block = b"II*\0\x08\0\0\0\x01\0\x12\x01\x03\0\x01\0\0\0".to_vec();
        block.extend([by, 0, 0, 0, 0, 0, 0, 0]);
        block
    }

    #[test]
    fn a_block_with_the_orientation_alone_is_that_of_older_books() {
        assert_eq!(that_stay(Some(&turned(6))), Some(turned(6)));
        assert_eq!(that_stay(Some(&turned(1))), None);
    }

    #[test]
    fn nothing_readable_is_nothing() {
        assert_eq!(that_stay(None), None);
        for block in [b"".as_slice(), b"II*\0", &[0xFF; 60], b"II*\0\x08\0\0\0\xFF\xFF"] {
            assert_eq!(that_stay(Some(block)), None, "{block:?}");
        }
    }
}

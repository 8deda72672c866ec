//! Takes everything off a photo that is not the picture, without touching the picture.
//!
//! What may stay is listed, everything else goes: cameras and phones put place, time, names and
//! whole second pictures into corners that no list of things to remove would name.
//!
//! - JPEG: ISO/IEC 10918-1, Annex B (segments); the picture ends at its end marker, what is tucked
//!   behind it goes
//! - PNG: W3C PNG (Third Edition), section 5 (chunks)
//! - WebP: RFC 9649, section 2 (RIFF chunks)
//!
//! What stays of the camera's words stands in an EXIF block of our own, see [`super::words`].

use super::{Media, PHOTO_PIXELS_MAX, PhotoError};

/// A picture without everything else.
#[derive(Debug, PartialEq, Eq)]
pub struct Bare {
    /// The file.
    pub bytes: Vec<u8>,
    /// The EXIF block of the file that it was taken from.
    pub exif: Option<Vec<u8>>,
}

/// The bare picture, with the words about it that are to stay, as a TIFF block. Every length in the
/// file is held against the file itself here, before any decoder believes it.
pub fn bare(bytes: &[u8], media: Media, words: Option<&[u8]>) -> Result<Bare, PhotoError> {
    let mut exif = None;
    let bytes = match media {
        Media::Jpeg => jpeg(bytes, words, &mut exif),
        Media::Png => png(bytes, words, &mut exif),
        Media::Webp => webp(bytes, words, &mut exif),
    }?;
    Ok(Bare { bytes, exif })
}

/// Where a block of EXIF stands, by itself.
const EXIF_MARK: &[u8] = b"Exif\0\0";

/// Keeps the first block of several.
fn found(exif: &mut Option<Vec<u8>>, block: &[u8]) {
    exif.get_or_insert_with(|| block.strip_prefix(EXIF_MARK).unwrap_or(block).to_vec());
}

/// Bytes read from the left.
struct Rest<'a>(&'a [u8]);

impl<'a> Rest<'a> {
    fn take(&mut self, length: usize) -> Result<&'a [u8], PhotoError> {
        let (taken, rest) = self.0.split_at_checked(length).ok_or(PhotoError::Cut)?;
        self.0 = rest;
        Ok(taken)
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], PhotoError> {
        let (taken, rest) = self.0.split_first_chunk().ok_or(PhotoError::Cut)?;
        self.0 = rest;
        Ok(*taken)
    }
}

type Words<'a> = Option<&'a [u8]>;

fn jpeg(
    bytes: &[u8],
    words: Words,
    exif_found: &mut Option<Vec<u8>>,
) -> Result<Vec<u8>, PhotoError> {
    const START: u8 = 0xD8;
    const END: u8 = 0xD9;
    const SCAN: u8 = 0xDA;
    let mut rest = Rest(bytes);
    let mut bare = rest.take(2)?.to_vec();
    if let Some(block) = words {
        // Before everything else, as EXIF wants it. A dozen numbers are far below its limit.
        bare.extend([0xFF, 0xE1]);
        bare.extend((2 + EXIF_MARK.len() as u16 + block.len() as u16).to_be_bytes());
        bare.extend(EXIF_MARK);
        bare.extend(block);
    }
    // Eight by eight pixels take a bit of code at least, in whichever way they are coded.
    let (mut blocks, mut coded) = (0, 0);
    loop {
        let [first] = rest.array()?;
        if first != 0xFF {
            // Stray bytes between segments: decoders pass over them, and so do we.
            continue;
        }
        let mut marker = 0xFF;
        while marker == 0xFF {
            [marker] = rest.array()?;
        }
        match marker {
            END if 8 * coded < blocks => return Err(PhotoError::Cut),
            END => {
                bare.extend([0xFF, END]);
                return Ok(bare);
            }
            // Without a length; nothing to keep between segments.
            0x00 | 0x01 | 0xD0..=0xD7 | START => continue,
            _ => {}
        }
        let length = rest.array()?;
        let said = usize::from(u16::from_be_bytes(length)).checked_sub(2).ok_or(PhotoError::Cut)?;
        let content = rest.take(said)?;
        if marker == 0xE1 && content.starts_with(EXIF_MARK) {
            found(exif_found, content);
        }
        if is_frame(marker) {
            blocks = blocks_of(content);
        }
        let keep = match marker {
            // JFIF, without its small picture, which no longer may show the same.
            0xE0 if content.starts_with(b"JFIF\0") && 14 <= content.len() => {
                bare.extend([0xFF, 0xE0, 0, 16]);
                bare.extend(&content[..12]);
                bare.extend([0, 0]);
                false
            }
            0xE2 => content.starts_with(b"ICC_PROFILE\0"),
            0xEE => content.starts_with(b"Adobe"),
            // Frames, tables, scans, restarts; no application's segments, no comments.
            0xC0..=0xCF | 0xDA..=0xDD => true,
            _ => false,
        };
        if keep {
            bare.extend([0xFF, marker]);
            bare.extend(length);
            bare.extend(content);
        }
        if marker == SCAN {
            let scan = scan_length(rest.0);
            coded += scan;
            bare.extend(rest.take(scan)?);
        }
    }
}

/// Whether a segment tells the size of the picture (ISO/IEC 10918-1, table B.1).
fn is_frame(marker: u8) -> bool {
    matches!(marker, 0xC0..=0xCF) && !matches!(marker, 0xC4 | 0xC8 | 0xCC)
}

/// How many blocks of eight by eight pixels a frame has, lines and columns of it rounded down; none
/// for one that is too large, and told as that later.
fn blocks_of(frame: &[u8]) -> usize {
    let number = |at: usize| match frame.get(at..at + 2) {
        Some([high, low]) => usize::from(u16::from_be_bytes([*high, *low])),
        _ => 0,
    };
    let (lines, columns) = (number(1), number(3));
    if PHOTO_PIXELS_MAX < lines as u64 * columns as u64 { 0 } else { (lines / 8) * (columns / 8) }
}

/// How long the coded data is, up to the next marker that is not part of it.
fn scan_length(bytes: &[u8]) -> usize {
    let ends = |pair: &[u8]| pair[0] == 0xFF && !matches!(pair[1], 0x00 | 0xD0..=0xD7 | 0xFF);
    bytes.windows(2).position(ends).unwrap_or(bytes.len())
}

fn png(
    bytes: &[u8],
    words: Words,
    exif_found: &mut Option<Vec<u8>>,
) -> Result<Vec<u8>, PhotoError> {
    const KEEP: &[&[u8; 4]] = &[
        b"IHDR", b"PLTE", b"IDAT", b"IEND", b"tRNS", b"gAMA", b"cHRM", b"sRGB", b"iCCP", b"cICP",
        b"sBIT", b"bKGD", b"pHYs",
    ];
    let mut rest = Rest(bytes);
    let mut bare = rest.take(8)?.to_vec();
    loop {
        let length = rest.array()?;
        let kind: [u8; 4] = rest.array()?;
        let said = usize::try_from(u32::from_be_bytes(length)).map_err(|_| PhotoError::Cut)?;
        let content = rest.take(said)?;
        let check: [u8; 4] = rest.array()?;
        if &kind == b"eXIf" {
            found(exif_found, content);
        }
        if KEEP.contains(&&kind) {
            bare.extend(length);
            bare.extend(kind);
            bare.extend(content);
            bare.extend(check);
        }
        match &kind {
            // The first chunk; ours may stand anywhere between it and the data.
            b"IHDR" => {
                if let Some(block) = words {
                    let mut chunk = b"eXIf".to_vec();
                    chunk.extend(block);
                    bare.extend((block.len() as u32).to_be_bytes());
                    bare.extend(&chunk);
                    bare.extend(crc32(&chunk).to_be_bytes());
                }
            }
            b"IEND" => return Ok(bare),
            _ => {}
        }
    }
}

/// The check value of a PNG chunk. W3C PNG (Third Edition), Annex D.
fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = u32::MAX;
    for byte in bytes {
        crc ^= u32::from(*byte);
        for _ in 0..8 {
            crc = if crc & 1 == 1 { 0xEDB8_8320 ^ (crc >> 1) } else { crc >> 1 };
        }
    }
    !crc
}

fn webp(
    bytes: &[u8],
    words: Words,
    exif_found: &mut Option<Vec<u8>>,
) -> Result<Vec<u8>, PhotoError> {
    /// Bits of the first byte of `VP8X`.
    const PROFILE: u8 = 0x20;
    const ALPHA: u8 = 0x10;
    const EXIF: u8 = 0x08;
    let mut rest = Rest(bytes);
    rest.take(4)?;
    let said = usize::try_from(u32::from_le_bytes(rest.array()?)).map_err(|_| PhotoError::Cut)?;
    // What is tucked behind the picture goes.
    let mut rest = Rest(rest.take(said)?);
    let mut bare = b"RIFF\0\0\0\0".to_vec();
    bare.extend(rest.take(4)?);
    let mut extended = false;
    while !rest.0.is_empty() {
        let kind: [u8; 4] = rest.array()?;
        let length = rest.array()?;
        let said = usize::try_from(u32::from_le_bytes(length)).map_err(|_| PhotoError::Cut)?;
        let content = rest.take(said)?;
        // Chunks begin at even places; the last one's padding is sometimes left out.
        if said % 2 == 1 && !rest.0.is_empty() {
            rest.take(1)?;
        }
        let mut content = content.to_vec();
        match &kind {
            b"ANIM" | b"ANMF" => return Err(PhotoError::Moving),
            b"VP8X" => {
                let Some(flags) = content.first_mut() else { return Err(PhotoError::Cut) };
                *flags &= PROFILE | ALPHA;
                if words.is_some() {
                    *flags |= EXIF;
                }
                extended = true;
            }
            b"VP8 " | b"VP8L" | b"ALPH" | b"ICCP" => {}
            b"EXIF" => {
                found(exif_found, &content);
                continue;
            }
            _ => continue,
        }
        chunk(&mut bare, &kind, &content);
    }
    if let Some(block) = words.filter(|_| extended) {
        chunk(&mut bare, b"EXIF", block);
    }
    let whole = u32::try_from(bare.len() - 8).map_err(|_| PhotoError::Cut)?;
    bare[4..8].copy_from_slice(&whole.to_le_bytes());
    Ok(bare)
}

fn chunk(bare: &mut Vec<u8>, kind: &[u8; 4], content: &[u8]) {
    bare.extend(kind);
    bare.extend((content.len() as u32).to_le_bytes());
    bare.extend(content);
    if content.len() % 2 == 1 {
        bare.push(0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_check_value_is_the_published_one() {
        // W3C PNG (Third Edition): the chunk IEND is empty and its check value is AE 42 60 82.
        assert_eq!(crc32(b"IEND").to_be_bytes(), [0xAE, 0x42, 0x60, 0x82]);
    }

    #[test]
    fn what_is_cut_is_not_a_photo() {
        for media in [Media::Jpeg, Media::Png, Media::Webp] {
            assert_eq!(bare(b"", media, None), Err(PhotoError::Cut));
            assert_eq!(bare(&[0xFF; 40], media, None), Err(PhotoError::Cut));
        }
    }
}

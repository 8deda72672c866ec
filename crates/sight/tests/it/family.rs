//! The table of the family against the library that reads tags.

use apriltag::{DetectorBuilder, Family, Image};
use axlewright_sight::family::{CELLS, COUNT, TagId};

const CELL: usize = 5;

/// Every tag drawn as our table has it, 24 in a row.
fn drawn() -> (usize, usize, Vec<u8>) {
    let pitch = 12 * CELL;
    let (width, rows) = (24 * pitch, usize::from(COUNT).div_ceil(24));
    let height = rows * pitch;
    let mut pixels = vec![255_u8; width * height];
    for number in 0..COUNT {
        let tag = TagId::new(number).unwrap();
        let (left, top) = (
            usize::from(number) % 24 * pitch + 2 * CELL,
            usize::from(number) / 24 * pitch + 2 * CELL,
        );
        let mut cell = |x: usize, y: usize, grey: u8| {
            for dy in 0..CELL {
                let start = (top + y * CELL + dy) * width + left + x * CELL;
                pixels[start..start + CELL].fill(grey);
            }
        };
        let side = usize::from(CELLS);
        (0..side * side).for_each(|n| cell(n % side, n / side, 0));
        tag.white_cells().for_each(|(x, y)| cell(usize::from(x), usize::from(y), 255));
    }
    (width, height, pixels)
}

#[test]
fn every_tag_is_read_as_the_number_it_was_drawn_for() {
    let (width, height, pixels) = drawn();
    let mut image = Image::zeros_with_stride(width, height, width).unwrap();
    image.as_slice_mut().copy_from_slice(&pixels);
    // No misread cell is put right here.
    let builder = DetectorBuilder::new().add_family_bits(Family::tag_36h11(), 0);
    let mut found: Vec<(usize, f64, f64)> = builder
        .build()
        .unwrap()
        .detect(&image)
        .iter()
        .map(|one| (one.id(), one.center()[0], one.center()[1]))
        .collect();
    found.sort_by_key(|one| one.0);
    assert_eq!(found.len(), usize::from(COUNT));
    for (number, (id, x, y)) in found.into_iter().enumerate() {
        assert_eq!(id, number);
        let (column, row) = (number % 24, number / 24);
        let pitch = (12 * CELL) as f64;
        assert!((x - (column as f64 + 0.5) * pitch).abs() < 1.0, "{number}");
        assert!((y - (row as f64 + 0.5) * pitch).abs() < 1.0, "{number}");
    }
}

/// AprilTag, `tag36h11.c`, as seen: the first three codes and the last, and the smallest number of
/// cells in which two differ.
#[test]
fn the_codes_are_the_published_ones() {
    let code = |number: u16| {
        let at =
            |x: u8, y: u8| TagId::new(number).unwrap().white_cells().any(|cell| cell == (x, y));
        // The first five bits stand along the top; the next three below it.
        [(1, 1), (2, 1), (3, 1), (4, 1), (5, 1), (2, 2), (3, 2), (4, 2)]
            .iter()
            .fold(0_u64, |code, (x, y)| code << 1 | u64::from(at(*x, *y)))
    };
    for (number, published) in
        [(0, 0xd_7e00_984b_u64), (1, 0xd_da66_4ca7), (2, 0xd_c4a1_c821), (586, 0xe_8b77_2fe0)]
    {
        assert_eq!(code(number), published >> 28, "tag {number}");
    }
    assert!(TagId::new(COUNT).is_none());
}

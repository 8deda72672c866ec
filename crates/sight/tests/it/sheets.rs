//! What is printed where.

use std::collections::BTreeSet;

use axlewright_sight::sheet::{Kind, Page, Paper, Sheet, SheetId};

fn pages() -> impl Iterator<Item = Page> {
    Kind::ALL.into_iter().flat_map(|kind| Paper::ALL.map(|paper| Page::new(kind, paper)))
}

#[test]
fn no_tag_is_on_two_sheets() {
    let mut seen = BTreeSet::new();
    for id in SheetId::all() {
        let sheet = Sheet::new(id);
        assert!(sheet.tags.len() >= 6, "{id}");
        for tag in &sheet.tags {
            assert!(seen.insert(tag.id), "{id}: tag {} twice", tag.id.number());
            assert_eq!(SheetId::of_tag(tag.id), Some(id));
        }
    }
    assert_eq!(seen.len(), 2 * (15 + 28 + 6 + 96));
}

#[test]
fn codes_name_sheets() {
    for id in SheetId::all() {
        assert_eq!(SheetId::from_code(&id.to_string()), Some(id));
        assert_eq!(id.partner().is_some(), id.kind() == Kind::Strip);
        assert_eq!(id.partner().and_then(SheetId::partner), id.half().map(|_| id));
    }
    assert_eq!(SheetId::from_code("body"), None);
    assert_eq!(SheetId::strip(Paper::A4, 9, axlewright_sight::sheet::Half::Upper), None);
}

/// Printers leave 5 mm white at an edge, some a little less; common practice, no source.
#[test]
fn tags_with_their_margins_are_on_the_paper_and_apart() {
    for page in pages() {
        let (short, long) = page.paper.sides();
        let mut squares: Vec<(f64, f64, f64)> = Vec::new();
        for (sheet, origin) in &page.sheets {
            for tag in &sheet.tags {
                let (x, y) = (origin.x + tag.centre.x, origin.y + tag.centre.y);
                squares.push((x.to_mm(), y.to_mm(), tag.size.to_mm() * 10.0 / 8.0));
            }
        }
        for (n, (x, y, size)) in squares.iter().enumerate() {
            let half = size / 2.0;
            assert!(5.0 < x - half && x + half < long.to_mm() - 5.0, "{:?}", page.kind);
            assert!(5.0 < y - half && y + half < short.to_mm() - 5.0, "{:?}", page.kind);
            for (other_x, other_y, _) in &squares[n + 1..] {
                let apart = (x - other_x).abs().max((y - other_y).abs());
                assert!(size - 1e-9 <= apart, "{:?}", page.kind);
            }
        }
    }
}

#[test]
fn lines_and_checks_are_on_the_paper() {
    for page in pages() {
        let (short, long) = page.paper.sides();
        let [(along, length), (up, height)] = page.checks;
        assert!(5.0 < along.x.to_mm() && 5.0 < along.y.to_mm());
        assert!((along.x + length).to_mm() < long.to_mm() - 5.0);
        assert!(up.x.to_mm() < long.to_mm() - 5.0);
        assert!((up.y + height).to_mm() < short.to_mm() - 5.0);
        assert!(100.0 < length.to_mm() && 100.0 < height.to_mm());
    }
}

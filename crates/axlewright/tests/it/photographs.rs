//! Sheets printed, pictures measured: the six small pictures of `reference/photo_render.py`, whose
//! truth stands beside them, the demo's three, and everything that can be wrong with one.

use std::path::{Path, PathBuf};

use image::{DynamicImage, GrayImage, ImageFormat, RgbImage};
use serde_json::{Value, json};
use tempfile::{TempDir, tempdir};

use crate::common::{Said, run};

fn photo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/it/photos").join(name)
}

fn demo(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/larch-1300/photos").join(name)
}

fn truth() -> Vec<Value> {
    serde_json::from_slice(&std::fs::read(photo("truth.json")).unwrap()).unwrap()
}

/// `axlewright measure` of files, with more words.
fn measure(files: &[PathBuf], more: &[&str]) -> Said {
    let folder = tempdir().unwrap();
    let files: Vec<&str> = files.iter().map(|file| file.to_str().unwrap()).collect();
    let args: Vec<&str> = ["measure"].iter().chain(&files).chain(more).copied().collect();
    run(folder.path(), &args)
}

fn found<'a>(document: &'a Value, id: &str) -> Vec<&'a Value> {
    let findings = document["findings"].as_array().unwrap();
    findings.iter().filter(|finding| finding["id"] == id).collect()
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

/// The value's distance from the truth, in its own doubt.
fn off(leaf: &Value, truth: f64) -> f64 {
    (number(&leaf["value"]) - truth).abs() / number(&leaf["u"])
}

/// What is told of the photographs, in one string.
fn told(document: &Value) -> String {
    document["cautions"].to_string() + &document["problems"].to_string()
}

/// Every picture by itself, with the lens the file names and without: the angle between the sheets
/// as it was rendered, u no more than 0.06 degrees.
#[test]
fn one_picture_gives_the_angle_between_its_sheets() {
    let folder = tempdir().unwrap();
    let (mut within, mut count) = (0, 0);
    for scene in truth() {
        let truth = number(&scene["angles"]["body-a4 plate-a4"]);
        for name in scene["photos"].as_array().unwrap() {
            let taken = photo(name.as_str().unwrap());
            let bare = folder.path().join("bare.jpg");
            std::fs::write(&bare, without_words(&std::fs::read(&taken).unwrap())).unwrap();
            for (file, words) in [(taken, true), (bare, false)] {
                let document = measure(&[file], &["--scale", "1", "--json"]).ends_with(0).json();
                let angle = found(&document, "photo.sheet-angle")[0];
                assert_eq!(angle["unit"], "deg");
                assert_eq!(angle["of"]["sheets"], json!(["body-a4", "plate-a4"]));
                assert!(number(&angle["u"]) <= 0.06, "{angle}");
                let off = off(angle, truth);
                assert!(off < 3.5, "{name}: {off} u from {truth}: {angle}");
                within += u32::from(off < 2.0);
                count += 1;
                let unknown = told(&document).contains("does not say which lens");
                assert_eq!(unknown, !words, "{}", told(&document));
            }
        }
    }
    assert_eq!(count, 12);
    assert!(10 <= within, "{within} of {count} within 2 u");
}

/// A JPEG without its application segments.
fn without_words(jpeg: &[u8]) -> Vec<u8> {
    let mut bare = jpeg[..2].to_vec();
    let mut at = 2;
    while jpeg[at + 1] != 0xDA {
        let length = 2 + usize::from(u16::from_be_bytes([jpeg[at + 2], jpeg[at + 3]]));
        if !(0xE1..=0xEF).contains(&jpeg[at + 1]) {
            bare.extend(&jpeg[at..at + length]);
        }
        at += length;
    }
    bare.extend(&jpeg[at..]);
    bare
}

/// Scenes from two and three sides with their points, in a plane and in space.
#[test]
fn several_pictures_give_points_in_space() {
    let folder = tempdir().unwrap();
    let (mut within, mut count) = (0, 0);
    for scene in truth().iter().filter(|scene| scene["photos"].as_array().unwrap().len() > 1) {
        let points = folder.path().join("points.json");
        std::fs::write(&points, scene["points"].to_string()).unwrap();
        let files: Vec<PathBuf> = scene["photos"]
            .as_array()
            .unwrap()
            .iter()
            .map(|name| photo(name.as_str().unwrap()))
            .collect();
        let more = ["--scale", "1", "--json", "--points", points.to_str().unwrap()];
        let document = measure(&files, &more).ends_with(0).json();
        let angle = found(&document, "photo.sheet-angle")[0];
        assert!(off(angle, number(&scene["angles"]["body-a4 plate-a4"])) < 3.0, "{angle}");
        for point in found(&document, "photo.point") {
            let name = point["of"]["point"].as_str().unwrap();
            let value = &point["value"];
            let truth: Vec<f64> = match scene["plane"].get(name) {
                Some(on) => {
                    assert_eq!(value["axes"], on[0]);
                    on.as_array().unwrap()[1..].iter().map(number).collect()
                }
                None => scene["space"][name].as_array().unwrap().iter().map(number).collect(),
            };
            for (axis, truth) in ["x", "y", "z"].iter().zip(truth) {
                let off = off(&value[axis], truth);
                assert!(off < 4.0, "{name} {axis}: {off} u from {truth}: {value}");
                within += u32::from(off < 2.0);
                count += 1;
            }
        }
        assert_eq!(found(&document, "photo.lens").len(), files.len());
        assert_eq!(found(&document, "photo.residual").len(), files.len());
        assert_eq!(found(&document, "photo.pose").len(), files.len() + 1);
    }
    let share = 100.0 * f64::from(within) / f64::from(count);
    assert!(80 < count && (90.0..99.5).contains(&share), "{share} in 100 of {count}");
}

/// Where the demo's parts are (`examples/larch-1300/car.toml`), the hub and the bolt holes on the
/// plate's outer face, 6 mm outside its middle; the plate at 11 degrees.
fn demo_places() -> Vec<(&'static str, [f64; 3])> {
    let (c, s) = (11_f64.to_radians().cos(), 11_f64.to_radians().sin());
    let hole = |u: f64| [-(u * c + 6.0 * s), 616.0, -u * s + 6.0 * c];
    vec![
        ("hub", [0.0, 616.0, 0.0]),
        ("hole-front", hole(250.0)),
        ("hole-rear", hole(330.0)),
        ("pivot", [-55.0, 235.0, -20.0]),
        ("wheel", [-455.0, 668.0, -95.0]),
        ("damper-body", [-470.0, 560.0, 250.0]),
        ("damper-arm", [-525.0, 590.0, -110.0]),
        ("hose-body", [-150.0, 400.0, 30.0]),
        ("cable-body", [-130.0, 200.0, 15.0]),
        ("jack-point", [-440.0, 600.0, -150.0]),
    ]
}

/// The three pictures that come with the demo, tapped roughly: its own coordinates come out.
#[test]
fn the_demos_pictures_give_the_demos_coordinates() {
    let files = ["left-1.jpg", "left-2.jpg", "left-3.jpg"].map(demo);
    let taps = demo("taps.json");
    let more = ["--scale", "1", "--points", taps.to_str().unwrap(), "--json"];
    let on_car = ["--at", "330, 690, -110 mm", "--side", "left", "--line", "hub,hole-front"];
    let more: Vec<&str> = more.iter().chain(&on_car).copied().collect();
    let document = measure(&files, &more).ends_with(0).json();
    assert_eq!(told(&document), "[][]");
    let of = |id: &str, name: &str| {
        let all = found(&document, id);
        let one = all.into_iter().find(|finding| finding["of"]["point"] == name);
        one.unwrap_or_else(|| panic!("no {id} of {name}"))["value"].clone()
    };
    let (mut within, mut count) = (0, 0);
    for (name, truth) in demo_places() {
        let place = of("photo.place", name);
        for (axis, truth) in ["x", "y", "z"].iter().zip(truth) {
            assert!(off(&place[axis], truth) < 2.0, "{name} {axis}: {place}, not {truth}");
        }
        // The camera's part alone, in the sheet's axes: x to the rear, y up, z outward.
        let spot = of("photo.point", name);
        let in_sheet = [330.0 - truth[0], truth[2] + 110.0, truth[1] - 690.0];
        for (axis, truth) in ["x", "y", "z"].iter().zip(in_sheet) {
            let off = off(&spot[axis], truth);
            assert!(off < 3.5, "{name} {axis}: {spot}, not {truth}");
            assert!((number(&spot[axis]["value"]) - truth).abs() < 0.6, "{name}: {spot}");
            within += u32::from(off < 2.0);
            count += 1;
        }
    }
    assert!(0.9 * f64::from(count) <= f64::from(within), "{within} of {count}");
    let angles = found(&document, "photo.sheet-angle");
    assert!(off(angles[0], 11.0) < 3.0, "{}", angles[0]);
    // From the hub to the front hole, which lies 6 mm above the line over 250 mm.
    let lines = found(&document, "photo.angle");
    let line = lines.iter().find(|finding| finding["of"]["points"].is_array()).unwrap();
    assert!(off(line, 11.0 - (6.0_f64 / 250.0).atan().to_degrees()) < 2.0, "{line}");
}

/// A picture of its own in a folder of its own, from a committed one.
fn changed(name: &str, change: impl Fn(RgbImage) -> DynamicImage) -> (TempDir, PathBuf) {
    let folder = tempdir().unwrap();
    let picture = image::open(photo(name)).unwrap().to_rgb8();
    let path = folder.path().join("changed.png");
    change(picture).save_with_format(&path, ImageFormat::Png).unwrap();
    (folder, path)
}

#[test]
fn a_mirror_image_is_refused() {
    let (_folder, path) = changed("a0.jpg", |picture| DynamicImage::from(picture).fliph());
    let document = measure(&[path], &["--scale", "1", "--json"]).ends_with(1).json();
    assert!(told(&document).contains("mirror image"), "{}", told(&document));
    assert_eq!(found(&document, "photo.sheet-angle").len(), 0);
}

#[test]
fn a_picture_without_tags_is_refused() {
    let (_folder, path) =
        changed("a0.jpg", |picture| DynamicImage::from(picture).crop_imm(0, 0, 500, 400));
    let document = measure(&[path], &["--scale", "1", "--json"]).ends_with(1).json();
    assert!(told(&document).contains("no tag"), "{}", told(&document));
}

#[test]
fn a_blurred_picture_is_told() {
    let (_folder, path) = changed("a0.jpg", |picture| DynamicImage::from(picture).blur(2.4));
    let said = measure(&[path], &["--scale", "1", "--json"]);
    assert!(told(&said.json()).contains("blurred"), "{}", said.out);
}

#[test]
fn a_part_of_a_picture_is_told() {
    let (_folder, path) =
        changed("a0.jpg", |picture| DynamicImage::from(picture).crop_imm(200, 300, 1100, 700));
    let said = measure(&[path], &["--scale", "1", "--json"]);
    assert!(told(&said.json()).contains("part of a picture"), "{}", said.out);
}

#[test]
fn a_sheet_cut_by_the_edge_is_told() {
    let whole = measure(&[photo("a0.jpg")], &["--scale", "1", "--json"]).json();
    assert!(!told(&whole).contains("cut off"), "{}", told(&whole));
    let (_folder, path) = changed("a0.jpg", |picture| {
        // Through the body sheet's left column of tags.
        let from = first_tag_x(&picture);
        let (width, height) = (picture.width() - from, picture.height());
        DynamicImage::from(picture).crop_imm(from, 0, width, height)
    });
    let said = measure(&[path], &["--scale", "1", "--json"]);
    assert!(told(&said.json()).contains("cut off"), "{}", said.out);
}

/// The middle of the leftmost tag.
fn first_tag_x(picture: &RgbImage) -> u32 {
    let grey = DynamicImage::from(picture.clone()).to_luma8();
    let (width, height) = grey.dimensions();
    let grey = axlewright_sight::grey::Grey::new(width, height, grey.into_raw()).unwrap();
    let seen = axlewright_sight::find::find(&grey).unwrap();
    let left = seen.iter().map(|seen| (seen.corners[0].x + seen.corners[1].x) / 2.0);
    left.fold(f64::INFINITY, f64::min) as u32
}

/// The page itself on a screen, true to scale, as a screenshot has it.
#[test]
fn a_copy_of_the_screen_is_told() {
    use axlewright_sight::sheet::{Kind, Page, Paper};
    let page = Page::new(Kind::Body, Paper::A4);
    let scale = 4.0;
    let (short, long) = page.paper.sides();
    let (width, height) = ((long.to_mm() * scale) as u32, (short.to_mm() * scale) as u32);
    let mut screen = GrayImage::from_pixel(width, height, image::Luma([255]));
    for (sheet, origin) in &page.sheets {
        for tag in &sheet.tags {
            let cell = tag.size.to_mm() / 8.0 * scale;
            let left = (origin.x + tag.centre.x).to_mm() * scale - 4.0 * cell;
            let top = f64::from(height) - (origin.y + tag.centre.y).to_mm() * scale - 4.0 * cell;
            let white: Vec<(u8, u8)> = tag.id.white_cells().collect();
            for y in 0..(8.0 * cell) as u32 {
                for x in 0..(8.0 * cell) as u32 {
                    let at = ((f64::from(x) / cell) as u8, (f64::from(y) / cell) as u8);
                    let grey = if white.contains(&at) { 255 } else { 0 };
                    screen.put_pixel(left as u32 + x, top as u32 + y, image::Luma([grey]));
                }
            }
        }
    }
    let folder = tempdir().unwrap();
    let path = folder.path().join("screen.png");
    screen.save(&path).unwrap();
    let said = measure(&[path], &["--scale", "1", "--json"]);
    assert!(told(&said.json()).contains("copy of a screen"), "{}", said.out);
}

#[test]
fn a_bent_sheet_and_an_unchecked_scale_are_told() {
    let document = measure(&[photo("bent0.jpg")], &["--json"]).ends_with(0).json();
    assert!(told(&document).contains("body-a4 is not flat"), "{}", told(&document));
    assert!(told(&document).contains("scale was not checked"), "{}", told(&document));
    let sound = measure(&[photo("a0.jpg")], &["--scale", "1", "--json"]).ends_with(0).json();
    assert_eq!(told(&sound), "[][]");
}

#[test]
fn the_same_picture_twice_is_told() {
    let twice = [photo("a0.jpg"), photo("a0.jpg")];
    let said = measure(&twice, &["--scale", "1", "--json"]);
    assert!(told(&said.json()).contains("nearly the same place"), "{}", said.out);
}

/// A tap 20 pixels off among three on a point.
#[test]
fn a_bad_tap_is_named() {
    let scene = &truth()[0];
    let mut points = scene["points"].clone();
    let bad = points.as_array_mut().unwrap();
    let bad = bad.iter_mut().find(|tap| tap["photo"] == "a1.jpg" && tap["name"] == "s3").unwrap();
    bad["x"] = json!(number(&bad["x"]) + 14.0);
    bad["y"] = json!(number(&bad["y"]) - 14.0);
    let folder = tempdir().unwrap();
    let path = folder.path().join("points.json");
    std::fs::write(&path, points.to_string()).unwrap();
    let files = ["a0.jpg", "a1.jpg", "a2.jpg"].map(photo);
    let more = ["--scale", "1", "--json", "--points", path.to_str().unwrap()];
    let document = measure(&files, &more).ends_with(0).json();
    let told = told(&document);
    assert!(told.contains("on s3"), "{told}");
}

#[test]
fn broken_pictures_are_refused_as_photos_are() {
    let folder = tempdir().unwrap();
    let bytes = std::fs::read(photo("a0.jpg")).unwrap();
    for (name, bytes, words) in [
        ("half.jpg", &bytes[..bytes.len() / 3], ""),
        ("text.jpg", b"not a picture".as_slice(), "neither JPEG, PNG nor WebP"),
        ("nothing.jpg", b"".as_slice(), "neither JPEG, PNG nor WebP"),
    ] {
        let path = folder.path().join(name);
        std::fs::write(&path, bytes).unwrap();
        let said = measure(&[path], &["--scale", "1", "--json"]);
        // Half a picture may still be one, with grey below.
        let document = said.json();
        let refused = !document["problems"].as_array().unwrap().is_empty();
        assert_eq!(said.code, i32::from(refused), "{name}: {document}");
        if !words.is_empty() {
            assert!(told(&document).contains(words), "{name}: {}", told(&document));
            assert!(told(&document).contains(name));
        }
    }
    let gone = measure(&[folder.path().join("gone.jpg")], &[]).ends_with(3);
    assert!(gone.err.contains("gone.jpg"), "{}", gone.err);
}

#[test]
fn points_that_are_none_are_told_with_their_number() {
    let folder = tempdir().unwrap();
    let path = folder.path().join("points.json");
    for (text, words) in [
        ("{}", "no list"),
        ("[1", "points.json"),
        (r#"[{"photo": "b.jpg", "name": "n", "x": 1, "y": 1}]"#, "point 1: `photo` names none"),
        (r#"[{"photo": 1, "name": " ", "x": 1, "y": 1}]"#, "no `name`"),
        (r#"[{"photo": 1, "name": "n", "x": "1", "y": 1}]"#, "`x` is no number"),
        (r#"[{"photo": 1, "name": "n", "x": 1, "y": 1, "sheet": "roof"}]"#, "called `roof`"),
        (r#"[{"photo": 1, "name": "n", "x": 1, "y": 1, "shape": "star"}]"#, "`shape`"),
        (r#"[{"photo": 1, "name": "n", "x": 9, "y": 9, "shape": "circle"}]"#, "no such shape"),
    ] {
        std::fs::write(&path, text).unwrap();
        let more = ["--points", path.to_str().unwrap()];
        let said = measure(&[photo("a0.jpg")], &more).ends_with(1);
        assert!(said.err.contains(words), "{text}: {}", said.err);
    }
}

#[test]
fn sheets_are_true_to_size() {
    let folder = tempdir().unwrap();
    for (paper, width, height) in [("a4", "210mm", "297mm"), ("letter", "215.9mm", "279.4mm")] {
        for sheet in ["body", "plate", "floor", "strip"] {
            for ending in ["svg", "html"] {
                let name = format!("{sheet}.{ending}");
                let args = ["target", "--paper", paper, "--sheet", sheet, "--out", &name];
                run(folder.path(), &args).ends_with(0);
                let text = std::fs::read_to_string(folder.path().join(&name)).unwrap();
                let size = format!("width=\"{width}\" height=\"{height}\"");
                assert!(text.contains(&size), "{sheet} {paper} {ending}");
            }
        }
    }
    let args = ["target", "--sheet", "body", "--out", "body.pdf"];
    run(folder.path(), &args).ends_with(2);
}

/// What the renderer reads is what is printed.
#[test]
fn the_references_sheets_are_the_printed_ones() {
    let folder = tempdir().unwrap();
    let kept = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../reference/sheets");
    for sheet in ["body", "plate", "strip"] {
        run(folder.path(), &["target", "--sheet", sheet, "--out", "s.svg"]).ends_with(0);
        let printed = std::fs::read_to_string(folder.path().join("s.svg")).unwrap();
        let kept = std::fs::read_to_string(kept.join(format!("{sheet}-a4.svg"))).unwrap();
        assert!(printed == kept, "`axlewright target --sheet {sheet}` prints another sheet");
    }
}

/// A picture with bytes changed, cut and doubled, four hundred times: measured or refused, with
/// words, and never the end of the program.
#[test]
fn any_bytes_are_a_picture_or_are_refused_with_words() {
    use axlewright::desk::photograph::photograph;
    let seed = include_bytes!("../../../sight/tests/photograph_corpus/sheet.jpg");
    let mut number = 0x1234_5678_u32;
    let mut next = move |below: usize| {
        number = number.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (number >> 8) as usize % below.max(1)
    };
    let (mut taken, mut refused) = (0, 0);
    for round in 0..400 {
        let mut bytes = seed.to_vec();
        for _ in 0..=next(4) {
            let at = next(bytes.len());
            match next(4) {
                0 => bytes.truncate(at.max(4)),
                1 => bytes[at] = next(256) as u8,
                2 => bytes[at] ^= 1 << next(8),
                _ => {
                    let part: Vec<u8> = bytes[at..].iter().take(next(60)).copied().collect();
                    let to = next(bytes.len());
                    bytes.splice(to..to, part);
                }
            }
        }
        match photograph(&bytes) {
            Ok(photo) => {
                assert!(0 < photo.shot.width && 0 < photo.grey.height(), "{round}");
                taken += 1;
            }
            Err(why) => {
                assert!(!why.to_string().is_empty() && !why.hint().is_empty(), "{round}");
                refused += 1;
            }
        }
    }
    assert!(20 < taken && 20 < refused, "{taken} taken, {refused} refused");
    assert!(photograph(seed).unwrap().shot.seen.len() > 5);
}

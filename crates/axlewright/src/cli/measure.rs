//! `axlewright measure`: angles, places and marks from photographs of printed sheets.

use std::collections::BTreeSet;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use axlewright_quantity::{Kind as Quantity, Length, Place, Ratio, parse_amount, parse_place};
use axlewright_setup::photographs::{OnCar, Photographs, photographs};
use axlewright_setup::quick::Given;
use axlewright_setup::{Assessment, Finding, Item, Severity, Subject};
use axlewright_sight::grey::Pixel;
use axlewright_sight::refine;
use axlewright_sight::sheet::{Kind, SheetId};
use axlewright_sight::shot::{Held, Question, Scale, Tap, TapDoubt};
use clap::Args;
use serde_json::Value;

use super::index::SideWord;
use super::{Failure, NOTE_U, Outcome, complain, print_json, typed};
use crate::desk::photograph::{Photograph, PhotographError, read_photograph};
use crate::desk::{DeskError, Fault};
use crate::{Exit, Streams, text};

/// Measure with photographs of printed sheets: angles, places, marks
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  axlewright measure corner.jpg --scale 0.998
  axlewright measure a.jpg b.jpg c.jpg --points taps.json --line hub,hole --json
  axlewright measure after.jpg --before before.jpg

Print the sheets with `axlewright target`. FILE of --points is a JSON list of
  {\"photo\": \"a.jpg\", \"name\": \"hub\", \"x\": 1520.5, \"y\": 830, \"sheet\": \"plate\"}
in pixels from the upper left corner of the upright picture. A sheet is named
where the point lies in its plane; elsewhere it is null, and the point has to be
tapped in two photographs. \"shape\": \"circle\" or \"edge\" beside it lets the
picture say where exactly. How to take the pictures: docs/photos.md.")]
pub struct Measure {
    /// Photographs of the same things, none of them moved in between
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// Points tapped in the photographs, as JSON
    #[arg(long, value_name = "FILE")]
    points: Option<PathBuf>,
    /// The printer's scale: a check length as read with a rule over what stands there; both ways
    /// as 0.998,1.001
    #[arg(long, value_name = "SCALE", value_parser = scale)]
    scale: Option<Scale>,
    /// How far each end of a sheet's line may lie off its edge [default: 0.5 mm]
    #[arg(long, value_name = "LENGTH", value_parser = typed::length)]
    seat: Option<Given<Length>>,
    /// The line through these points, held against the first sheet's line
    #[arg(long = "line", value_name = "POINT,POINT")]
    lines: Vec<String>,
    /// Where the mark of the body sheet's line is on the car: "X, Y, Z"; the sheet upright, its
    /// line along the sill
    #[arg(long, value_name = "PLACE", allow_hyphen_values = true, requires = "side")]
    #[arg(value_parser = place)]
    at: Option<Place>,
    /// The side of the car the body sheet is on, with --at
    #[arg(long, value_enum, requires = "at")]
    side: Option<SideWord>,
    /// A photograph from before something was moved; may be given again
    #[arg(long, value_name = "PHOTO")]
    before: Vec<PathBuf>,
    /// Print the findings as JSON instead
    #[arg(long)]
    json: bool,
}

fn scale(text: &str) -> Result<Scale, String> {
    let hint = || "write it like 0.998, or 0.998,1.001 for along and up".to_owned();
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    let one = |part: &str| -> Result<Ratio, String> {
        let written = parse_amount(part, Quantity::Ratio).map_err(|why| why.to_string())?;
        let value = written.amount.to_si();
        if !(0.8..=1.2).contains(&value) {
            return Err(format!("no printer prints at {value}; {}", hint()));
        }
        Ratio::try_from(written.amount).map_err(|_| hint())
    };
    match parts[..] {
        [both] => Ok(Scale::read(one(both)?, one(both)?)),
        [along, up] => Ok(Scale::read(one(along)?, one(up)?)),
        _ => Err(hint()),
    }
}

fn place(text: &str) -> Result<Place, String> {
    parse_place(text).map(|written| written.place).map_err(|why| match why.hint() {
        Some(hint) => format!("{why}; {hint}"),
        None => why.to_string(),
    })
}

impl Measure {
    pub fn run(&self, streams: &mut Streams<'_>) -> Outcome {
        let mut faults = Vec::new();
        let names = names(&self.photos);
        let taken = read_all(&self.photos, &names, &mut faults)?;
        let before_names = self::names(&self.before);
        let before = read_all(&self.before, &before_names, &mut faults)?;
        let taps = match &self.points {
            Some(path) => self.taps(path, &taken, &mut faults)?,
            None => Vec::new(),
        };
        let question = |taken: &[Photograph], taps: Vec<Tap>| Question {
            shots: taken.iter().map(|photo| photo.shot.clone()).collect(),
            taps,
            scale: self.scale,
            held: Held::default(),
        };
        let ask = Photographs {
            names,
            question: question(&taken, taps),
            before: (!before.is_empty()).then(|| (before_names, question(&before, Vec::new()))),
            lines: self.lines.iter().map(|line| listed(line)).collect(),
            seat: self.seat.as_ref().map(|seat| seat.value),
            on_car: self.at.zip(self.side).map(|(at, side)| OnCar { at, side: side.into() }),
        };
        // Pictures that are none are told; the figures of the others would not be what was asked.
        let found = if faults.is_empty() { photographs(&ask) } else { Assessment::default() };
        faults.extend(found.problems.iter().map(|what| Fault::of_the_whole(what)));
        if self.json {
            print_json(streams, &found, &faults)?;
        } else {
            for fault in &faults {
                complain(streams.err, &fault.what, fault.right.as_deref())?;
            }
            tell(streams.out, &found)?;
        }
        Ok(if faults.is_empty() { Exit::Fine } else { Exit::Problems })
    }

    fn taps(
        &self,
        path: &Path,
        taken: &[Photograph],
        faults: &mut Vec<Fault>,
    ) -> Result<Vec<Tap>, Failure> {
        let text = read_text(path)?;
        let mut fault = |what: String, right: &str| {
            let mut fault = Fault::of_the_whole(&format!("{}: {what}", path.display()));
            fault.right = Some(right.to_owned());
            faults.push(fault);
        };
        let rows = match serde_json::from_str::<Value>(&text) {
            Ok(Value::Array(rows)) => rows,
            Ok(_) => {
                fault("it is no list".to_owned(), "put the points between [ and ]");
                return Ok(Vec::new());
            }
            Err(why) => {
                fault(why.to_string(), "write it as JSON: [{\"photo\": \"a.jpg\", …}]");
                return Ok(Vec::new());
            }
        };
        let mut taps = Vec::new();
        for (number, row) in rows.iter().enumerate() {
            match self.tap(row, taken) {
                Ok(tap) => taps.push(tap),
                Err((what, right)) => fault(format!("point {}: {what}", number + 1), &right),
            }
        }
        Ok(taps)
    }

    fn tap(&self, row: &Value, taken: &[Photograph]) -> Result<Tap, (String, String)> {
        let wrong = |what: &str, right: &str| (what.to_owned(), right.to_owned());
        let shot = match &row["photo"] {
            Value::String(name) => self.shot(name),
            Value::Number(number) => number
                .as_u64()
                .and_then(|n| usize::try_from(n).ok()?.checked_sub(1))
                .filter(|n| *n < self.photos.len()),
            _ => None,
        };
        let shot = shot.ok_or_else(|| {
            wrong(
                "`photo` names none of the photographs",
                "write the name as it is on the command line",
            )
        })?;
        let name = row["name"].as_str().filter(|name| !name.trim().is_empty());
        let name = name.ok_or_else(|| wrong("it has no `name`", "give each point a name"))?;
        let number = |key: &str| {
            row[key].as_f64().filter(|n| n.is_finite()).ok_or_else(|| {
                wrong(&format!("`{key}` is no number"), "give pixels from the upper left corner")
            })
        };
        let mut at = Pixel { x: number("x")?, y: number("y")? };
        let sheet = match &row["sheet"] {
            Value::Null => None,
            Value::String(word) => Some(sheet_named(word, taken).ok_or_else(|| {
                wrong(&format!("no sheet is called `{word}`"), "body, plate, floor, or null")
            })?),
            _ => return Err(wrong("`sheet` is no word", "body, plate, floor, or null")),
        };
        let mut doubt = TapDoubt::TAP;
        let picture = taken.get(shot).map(|photo| &photo.grey);
        let refined = match (row["shape"].as_str(), picture) {
            (None, _) if row["shape"].is_null() => None,
            (Some("circle"), Some(grey)) => Some(refine::circle(grey, at)),
            (Some("edge"), Some(grey)) => Some(refine::edge(grey, at)),
            (Some("point") | Some(_), None) | (Some("point"), _) => None,
            _ => return Err(wrong("`shape` is no shape", "circle, edge or point")),
        };
        match refined {
            Some(Some(found)) => (at, doubt) = (found.at, found.doubt),
            Some(None) => {
                let right = "tap nearer to it, or leave `shape` out";
                return Err(wrong(&format!("no such shape is there at {name}"), right));
            }
            None => {}
        }
        Ok(Tap { shot, name: name.to_owned(), at, doubt, sheet })
    }

    /// The photograph with that name, as it was typed or without its folder.
    fn shot(&self, name: &str) -> Option<usize> {
        let typed = self.photos.iter().position(|path| path.as_os_str() == name);
        let bare =
            || self.photos.iter().position(|path| path.file_name().is_some_and(|f| f == name));
        typed.or_else(bare)
    }
}

/// `plate`, where only one paper of it is there, or `plate-a4`.
fn sheet_named(word: &str, taken: &[Photograph]) -> Option<SheetId> {
    if let Some(sheet) = SheetId::from_code(word) {
        return Some(sheet);
    }
    let kind = Kind::ALL.into_iter().find(|kind| kind.word() == word)?;
    let there: BTreeSet<SheetId> = taken
        .iter()
        .flat_map(|photo| &photo.shot.seen)
        .filter_map(|seen| SheetId::of_tag(seen.tag))
        .filter(|sheet| sheet.kind() == kind)
        .collect();
    match there.len() {
        0 => SheetId::whole(kind, axlewright_sight::sheet::Paper::A4),
        1 => there.first().copied(),
        _ => None,
    }
}

fn listed(line: &str) -> Vec<String> {
    line.split(',').map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect()
}

/// Each by its file's name; where two are called the same, by the whole path.
fn names(paths: &[PathBuf]) -> Vec<String> {
    let bare = |path: &PathBuf| {
        path.file_name().unwrap_or(path.as_os_str()).to_string_lossy().into_owned()
    };
    paths
        .iter()
        .map(|path| match paths.iter().filter(|other| bare(other) == bare(path)).count() {
            1 => bare(path),
            _ => path.display().to_string(),
        })
        .collect()
}

fn read_all(
    paths: &[PathBuf],
    names: &[String],
    faults: &mut Vec<Fault>,
) -> Result<Vec<Photograph>, Failure> {
    let mut taken = Vec::new();
    for (path, name) in paths.iter().zip(names) {
        match read_photograph(path) {
            Ok(photo) => taken.push(photo),
            Err(PhotographError::File(why)) => return Err(why.into()),
            Err(why) => {
                let mut fault = Fault::of_the_whole(&format!("{name}: {why}"));
                fault.right = Some(why.hint());
                faults.push(fault);
            }
        }
    }
    Ok(taken)
}

/// No list of points is longer.
const POINTS_BYTES_MAX: u64 = 4 * 1024 * 1024;

fn read_text(path: &Path) -> Result<String, DeskError> {
    use std::io::Read;
    let refused = |why: io::Error| match why.kind() {
        io::ErrorKind::NotFound => DeskError::NoFile(path.to_owned()),
        _ => DeskError::Read(path.to_owned(), why),
    };
    let mut text = String::new();
    let file = fs::File::open(path).map_err(refused)?;
    file.take(POINTS_BYTES_MAX).read_to_string(&mut text).map_err(refused)?;
    Ok(text)
}

fn tell(out: &mut dyn Write, found: &Assessment) -> io::Result<()> {
    for caution in &found.cautions {
        match caution.severity {
            Severity::Note => text::hanging(out, "Note     ", "         ", &caution.words)?,
            _ => text::caution(out, caution)?,
        }
    }
    if !found.cautions.is_empty() {
        writeln!(out)?;
    }
    for (id, title) in
        [("photo.sheet-angle", "Between sheets"), ("photo.angle", "Between lines, as seated")]
    {
        for finding in found.findings.iter().filter(|finding| finding.id == id) {
            let Some(leaf) = finding.value.as_leaf() else { continue };
            let value = text::value_and_u(leaf.value, leaf.u);
            writeln!(out, "{title}: {} {value}", of(finding))?;
        }
    }
    places(out, found, "photo.offset", "Strips", &["along", "across", "turn"])?;
    places(out, found, "photo.mark", "Moved since", &["along", "across", "turn"])?;
    places(out, found, "photo.point", "Points, in a sheet's axes", &["x", "y", "z"])?;
    places(out, found, "photo.place", "Points, in the car's axes", &["x", "y", "z"])?;
    if found.findings.is_empty() {
        return Ok(());
    }
    writeln!(out)?;
    text::paragraph(out, "", NOTE_U)?;
    text::paragraph(out, "", "With --json: lens, poses, residuals, and how each figure is known.")
}

fn places(
    out: &mut dyn Write,
    found: &Assessment,
    id: &str,
    title: &str,
    keys: &[&'static str],
) -> io::Result<()> {
    let of_it: Vec<&Finding> = found.findings.iter().filter(|finding| finding.id == id).collect();
    if of_it.is_empty() {
        return Ok(());
    }
    writeln!(out, "\n{title}:")?;
    let cell = |item: Option<&Item>| match item.and_then(Item::as_leaf) {
        Some(leaf) => text::value_and_u(leaf.value, leaf.u),
        None => text::cell(item),
    };
    let mut rows = vec![
        std::iter::once(String::new())
            .chain(keys.iter().map(|k| (*k).to_owned()))
            .collect::<Vec<_>>(),
    ];
    rows.extend(of_it.iter().map(|finding| {
        std::iter::once(of(finding))
            .chain(keys.iter().map(|key| cell(finding.value.get(key))))
            .collect()
    }));
    text::table(out, "  ", &rows)
}

fn of(finding: &Finding) -> String {
    match &finding.of {
        Some(Subject::Sighted(what)) => what.to_string(),
        _ => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scale_is_read_one_way_or_both() {
        assert_eq!(scale("0.998").unwrap(), Scale::read(Ratio::one(0.998), Ratio::one(0.998)));
        assert_eq!(scale("99.8 %, 1.001").unwrap().up, Ratio::one(1.001));
        for wrong in ["", "a", "0.1", "1,1,1", "2"] {
            assert!(scale(wrong).is_err(), "{wrong}");
        }
    }
}

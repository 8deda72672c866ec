//! What is looked for on the screen and on paper.

use std::collections::BTreeSet;
use std::process::Command;

use serde_json::{Value, json};

use super::Paper;
use super::browser::{Browser, View, from_base64};
use crate::stage::{output, write};

const PAGE: &str = include_str!("page.js");
const MARKS: &str = include_str!("marks.js");
const CONTRAST: &str = include_str!("contrast.js");
/// WCAG 2.2, success criterion 1.4.3, for letters of ordinary size; asked of all sizes here.
const CONTRAST_WANTED: f64 = 4.5;
/// Smaller letters cannot be read at arm's length in a garage. Common practice, no source.
const LETTERS_PX: f64 = 12.0;
/// Widest margin that printers are set to by their drivers as a rule (15 mm); what fits between
/// two of these fits with narrower ones. Common practice, no source.
const MARGIN_INCHES: f64 = 15.0 / 25.4;
/// Height of one picture on which contrast is measured; a browser cannot draw ever taller ones.
const BAND: f64 = 4_000.0;
/// What stands folded on a page is read too, once it is opened.
const UNFOLD: &str = "document.querySelectorAll('details').forEach(d => d.open = true)";
/// One of each kind stays open, told by the elements and classes in it: a sheet repeats the same
/// table a hundred times, and pictures of all of them would take minutes and show nothing new.
const UNFOLD_ONE_OF_EACH: &str = "(() => {
    const seen = new Set();
    for (const fold of document.querySelectorAll('details')) {
        const parts = [...fold.querySelectorAll('*')].map(e => e.tagName + '.' + e.className);
        const kind = [...new Set(parts)].sort().join(' ');
        fold.open = !seen.has(kind);
        seen.add(kind);
    }
})()";
/// Letters out, all else as it was. Through the style sheet object, which a page's own security
/// policy does not forbid.
const NO_LETTERS: &str = "(() => {
    const sheet = new CSSStyleSheet();
    sheet.replaceSync(`*, *::before, *::after, *::marker { \
        -webkit-text-fill-color: transparent !important; text-shadow: none !important; \
        text-decoration-color: transparent !important; transition: none !important } \
        svg text, svg tspan { fill: transparent !important }`);
    document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
    // A halo (stroke painted first) belongs to the ground; any other stroke to the letter.
    for (const text of document.querySelectorAll('svg text, svg tspan')) {
        if (!getComputedStyle(text).paintOrder.startsWith('stroke')) text.style.stroke = 'none';
    }
})()";

/// Things looked for, each with what is wrong with it.
type Checks = Vec<(&'static str, Vec<String>)>;

pub fn on_screen(browser: &mut Browser, address: &str, view: View) -> Result<Checks, String> {
    let mut page = browser.open(address, view)?;
    page.value(UNFOLD)?;
    page.settle()?;
    let state = page.value(PAGE)?;
    let outside = page.requests().into_iter().filter(|asked| !ours(asked, address)).collect();
    let complaints = page.complaints();
    page.value(UNFOLD_ONE_OF_EACH)?;
    page.settle()?;
    let pictured = page.value(PAGE)?;
    page.value(NO_LETTERS)?;
    page.settle()?;
    let height = number(&pictured, "height");
    let mut bands = Vec::new();
    let mut top = 0.0;
    while top < height {
        let tall = BAND.min(height - top);
        bands.push((top, page.picture(top, f64::from(view.width), tall)?));
        top += BAND;
    }
    drop(page);
    let poor = poor_contrast(browser, &bands, &pictured["texts"])?;
    Ok(vec![
        ("layout width", layout(&state, view)),
        ("no sideways scrolling", sideways(&state)),
        ("letters of 12 px or more", small_letters(&state)),
        ("contrast of 4.5:1 or more", poor),
        ("nothing asked for outside", outside),
        ("no complaints", complaints),
        ("title, language and named drawings", named(&state)),
    ])
}

/// The page itself and what it carries within it.
fn ours(asked: &str, address: &str) -> bool {
    let asked = asked.split('#').next().unwrap_or(asked);
    asked == address || asked.starts_with("data:") || asked.starts_with("blob:")
}

fn layout(state: &Value, view: View) -> Vec<String> {
    let width = number(state, "width");
    if width == f64::from(view.width) {
        return Vec::new();
    }
    vec![format!("laid out {width} px wide on a screen of {} px", view.width)]
}

fn sideways(state: &Value) -> Vec<String> {
    let (width, scroll) = (number(state, "width"), number(state, "scroll"));
    if scroll <= width {
        return Vec::new();
    }
    let mut problems = vec![format!("{scroll} px wide on {width} px")];
    problems.extend(words(state, "wide"));
    problems
}

fn small_letters(state: &Value) -> Vec<String> {
    let texts = state["texts"].as_array().map(Vec::as_slice).unwrap_or_default();
    let mut problems: Vec<String> = texts
        .iter()
        .filter(|text| number(text, "size") < LETTERS_PX - 0.01)
        .map(|text| format!("{} at {:.1} px", text["words"], number(text, "size")))
        .collect();
    if texts.is_empty() {
        problems.push("no text at all on the page".to_owned());
    }
    problems
}

fn named(state: &Value) -> Vec<String> {
    let mut problems = Vec::new();
    for what in ["title", "language"] {
        if state[what].as_str().unwrap_or_default().is_empty() {
            problems.push(format!("the page has no {what}"));
        }
    }
    let unnamed = words(state, "unnamed");
    problems.extend(unnamed.map(|svg| format!("a drawing without a name: {svg}")));
    problems
}

fn poor_contrast(
    browser: &mut Browser,
    bands: &[(f64, String)],
    texts: &Value,
) -> Result<Vec<String>, String> {
    let blank =
        View { name: "blank", width: 400, height: 300, scale: 1.0, phone: false, dark: false };
    let mut page = browser.open("about:blank", blank)?;
    let (mut poor, mut looked) = (Vec::new(), 0.0);
    for (top, png) in bands {
        let with = json!([png, top, texts, CONTRAST_WANTED]);
        let got = page.value(&format!("({CONTRAST})(...{with})"))?;
        looked += number(&got, "looked");
        poor.extend(words(&got, "poor"));
    }
    if looked == 0.0 {
        poor.push("no text could be looked at".to_owned());
    }
    Ok(poor)
}

pub fn on_paper(browser: &mut Browser, address: &str, paper: &Paper) -> Result<Checks, String> {
    // Laid out as wide as the print will be, so that rules for print can be asked about. The
    // browser shrinks what is too wide and drops what runs over, so the paper alone shows neither.
    let pixels = |inches: f64| (inches * 96.0).floor() as u32;
    let width = pixels(paper.inches.0 - 2.0 * MARGIN_INCHES);
    let height = pixels(paper.inches.1);
    let view = View { name: "paper", width, height, scale: 1.0, phone: false, dark: false };
    let mut page = browser.open(address, view)?;
    page.media("print", "light")?;
    page.settle()?;
    let state = page.value(PAGE)?;
    let pdf = page.print(paper.inches.0, paper.inches.1)?;
    let file = crate::root().join("target").join("look").join(format!("check-{}.pdf", paper.name));
    write(&file, &from_base64(&pdf))?;
    let boxes = output(Command::new("pdftotext").arg("-bbox").arg(&file).arg("-"))?;
    let printed = output(Command::new("pdftotext").arg("-raw").arg(&file).arg("-"))?;
    page.show_as(view)?;
    page.media("print", "light")?;
    let marked = page.value(&format!("({MARKS})({height})"))?;
    write(&file, &from_base64(&page.print(paper.inches.0, paper.inches.1)?))?;
    let on_pages = output(Command::new("pdftotext").arg("-raw").arg(&file).arg("-"))?;
    let _ = std::fs::remove_file(&file);
    let pages = printed_pages(&boxes);
    Ok(vec![
        ("what belongs together on one page", torn(&marked, &on_pages)),
        ("drawings kept whole", words(&state, "split").collect()),
        ("paper of the right size", wrong_size(&pages, paper)),
        ("no empty page", empty_pages(&pages)),
        ("no word cut off", cut_off(&state)),
        ("every word printed", lost_words(&state, &printed)),
    ])
}

fn cut_off(state: &Value) -> Vec<String> {
    let texts = state["texts"].as_array().into_iter().flatten();
    texts.filter(|text| text["cut"] == true).map(|text| text["words"].to_string()).collect()
}

/// Words that stand on the page but not on the paper. A word is a run of letters and digits.
fn lost_words(state: &Value, printed: &str) -> Vec<String> {
    let in_words = |text: &str| -> BTreeSet<String> {
        let runs = text.split(|letter: char| !letter.is_alphanumeric());
        runs.filter(|run| run.chars().count() > 1).map(str::to_lowercase).collect()
    };
    let texts = state["texts"].as_array().into_iter().flatten();
    let wanted: BTreeSet<String> =
        texts.filter_map(|text| text["all"].as_str()).flat_map(in_words).collect();
    wanted.difference(&in_words(printed)).cloned().collect()
}

/// Pairs of marks that came out on different pages. Pages are parted by form feeds; a mark that was
/// not printed (its place is hidden on paper) tells nothing.
fn torn(marked: &Value, printed: &str) -> Vec<String> {
    let pages: Vec<&str> = printed.split('\u{c}').collect();
    let page_of = |mark: &Value| {
        let mark = mark.as_str()?;
        pages.iter().position(|page| page.contains(mark)).map(|page| page + 1)
    };
    let pairs: Vec<&Value> = marked.as_array().into_iter().flatten().collect();
    let found: Vec<(usize, usize, &str)> = pairs
        .iter()
        .filter_map(|pair| Some((page_of(&pair[0])?, page_of(&pair[1])?, pair[2].as_str()?)))
        .collect();
    if found.is_empty() && !pairs.is_empty() {
        return vec!["no mark came out in print".to_owned()];
    }
    found
        .iter()
        .filter(|(from, to, _)| from != to)
        .map(|(from, to, what)| format!("{what}, pages {from} and {to}"))
        .collect()
}

/// One printed page as the PDF reader sees it, in points.
#[derive(Debug, Default, PartialEq)]
struct Printed {
    size: (f64, f64),
    words: usize,
}

/// Reads `pdftotext -bbox`: a `<page>` per page, a `<word>` per word.
fn printed_pages(boxes: &str) -> Vec<Printed> {
    let mut pages: Vec<Printed> = Vec::new();
    for line in boxes.lines().map(str::trim_start) {
        let at = |name: &str| attribute(line, name).unwrap_or(f64::NAN);
        if line.starts_with("<page ") {
            pages.push(Printed { size: (at("width"), at("height")), words: 0 });
        } else if let Some(page) = pages.last_mut().filter(|_| line.starts_with("<word ")) {
            page.words += 1;
        }
    }
    pages
}

fn attribute(line: &str, name: &str) -> Option<f64> {
    let from = line.find(&format!("{name}=\""))? + name.len() + 2;
    line[from..].split('"').next()?.parse().ok()
}

fn wrong_size(pages: &[Printed], paper: &Paper) -> Vec<String> {
    if pages.is_empty() {
        return vec!["nothing was printed".to_owned()];
    }
    let near = |a: f64, b: f64| (a - b).abs() < 1.5;
    pages
        .iter()
        .filter(|page| !near(page.size.0, paper.points.0) || !near(page.size.1, paper.points.1))
        .map(|page| format!("{:?} pt instead of {:?} pt", page.size, paper.points))
        .collect()
}

fn empty_pages(pages: &[Printed]) -> Vec<String> {
    let empty = pages.iter().enumerate().filter(|(_, page)| page.words == 0);
    empty.map(|(number, _)| format!("page {} of {}", number + 1, pages.len())).collect()
}

fn number(value: &Value, name: &str) -> f64 {
    value[name].as_f64().unwrap_or(f64::NAN)
}

fn words<'a>(value: &'a Value, name: &str) -> impl Iterator<Item = String> + use<'a> {
    let list = value[name].as_array().into_iter().flatten();
    list.filter_map(Value::as_str).map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_pages_are_read_with_their_words() {
        let boxes = "<doc>\n  <page width=\"595.0\" height=\"842.0\">\n    \
            <word xMin=\"40\" yMin=\"50\" xMax=\"90\" yMax=\"60\">Plate</word>\n    \
            <word xMin=\"580\" yMin=\"50\" xMax=\"620\" yMax=\"60\">angle</word>\n  </page>\n  \
            <page width=\"595.0\" height=\"842.0\">\n  </page>\n</doc>";
        let pages = printed_pages(boxes);
        assert_eq!((pages.len(), pages[0].words, pages[0].size), (2, 2, (595.0, 842.0)));
        assert_eq!(empty_pages(&pages), ["page 2 of 2"]);
    }

    #[test]
    fn marks_on_different_pages_are_told() {
        let marked = json!([["ZQ0QZ", "ZQ1QZ", "a"], ["ZQ2QZ", "ZQ3QZ", "b"], ["ZQ4QZ", "x", "c"]]);
        let printed = "ZQ0QZ one ZQ1QZ\nZQ2QZ Heading\u{c}ZQ3QZ text ZQ4QZ\u{c}";
        assert_eq!(torn(&marked, printed), ["b, pages 1 and 2"]);
        assert_eq!(torn(&marked, "nothing").len(), 1);
    }

    #[test]
    fn a_word_missing_on_paper_is_told() {
        let state = json!({"texts": [{"all": "Plate angle, left: 27.9°"}]});
        assert!(lost_words(&state, "PLATE angle left 27.9").is_empty());
        assert_eq!(lost_words(&state, "Plate left 27.9"), ["angle"]);
    }

    #[test]
    fn only_the_page_itself_and_what_it_carries_is_ours() {
        let page = "file:///x/sheet.html";
        assert!(ours("file:///x/sheet.html#corner", page));
        assert!(ours("data:image/png;base64,AA", page));
        assert!(!ours("file:///x/other.css", page));
        assert!(!ours("http://127.0.0.1:9/a.png", page));
    }
}

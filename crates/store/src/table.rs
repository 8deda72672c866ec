//! Tables for spreadsheets.

use std::borrow::Cow;
use std::io::{self, Write};

/// Writes a table as RFC 4180 has it: commas, CRLF, quotes where they are needed, the first line
/// being the names of the columns. UTF-8. A cell that a spreadsheet would take for a formula begins
/// with an apostrophe, which spreadsheets do not show; a number, with its sign and unit, does not.
///
/// # Errors
/// What the writer says, or a row with more or fewer cells than there are columns.
pub fn write_table<W: Write>(
    out: W,
    columns: &[&str],
    rows: impl IntoIterator<Item = Vec<String>>,
) -> io::Result<()> {
    let mut table = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(out);
    table.write_record(columns)?;
    for row in rows {
        table.write_record(row.iter().map(|cell| no_formula(cell).into_owned()))?;
    }
    table.flush()
}

/// A text that a spreadsheet takes as a text (CWE-1236).
fn no_formula(cell: &str) -> Cow<'_, str> {
    let begins = |marks: &[char]| cell.starts_with(marks);
    let is_formula = begins(&['=', '@', '\t', '\r'])
        || begins(&['+', '-']) && !is_number(cell.get(1..).unwrap_or_default());
    if is_formula { Cow::Owned(format!("'{cell}")) } else { Cow::Borrowed(cell) }
}

/// Digits, perhaps with a point, and then perhaps a unit: letters, and nothing to reckon with.
fn is_number(text: &str) -> bool {
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    unit.len() < text.len()
        && unit.chars().all(|c| c.is_alphabetic() || matches!(c, ' ' | '°' | '·' | '²'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_reads_as_the_standard_has_it() {
        let cell = |text: &str| text.to_owned();
        let rows = vec![
            vec![cell("plate-left"), cell("a \"good\" one, tagged")],
            vec![cell("é"), cell("two\nlines")],
            vec![cell(""), cell("")],
        ];
        let mut out = Vec::new();
        write_table(&mut out, &["part", "note"], rows).unwrap();
        // RFC 4180 (2005), section 2, rules 1 to 7.
        let wanted =
            "part,note\r\nplate-left,\"a \"\"good\"\" one, tagged\"\r\né,\"two\nlines\"\r\n,\r\n";
        assert_eq!(String::from_utf8(out).unwrap(), wanted);
        let formulas = [
            ("=HYPERLINK(\"http://evil\",\"x\")", "'="),
            ("=cmd|\"/C calc\"!A0", "'="),
            ("+1+cmd|'/C calc'!A0", "'+1"),
            ("-2+3", "'-2"),
            ("@SUM(A1)", "'@"),
            ("\t=1", "'\t="),
            ("-2 teeth", "-2 teeth"),
            ("+0.25", "+0.25"),
            ("-1.5 mm", "-1.5 mm"),
            ("a = b", "a = b"),
        ];
        for (text, begins) in formulas {
            assert!(no_formula(text).starts_with(begins), "{text}");
        }
        let short = vec![vec![cell("one cell")]];
        assert!(write_table(Vec::new(), &["part", "note"], short).is_err());
    }
}

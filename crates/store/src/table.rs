//! Tables for spreadsheets.

use std::io::{self, Write};

/// Writes a table as RFC 4180 has it: commas, CRLF, quotes where they are needed, the first line
/// being the names of the columns. UTF-8.
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
        table.write_record(&row)?;
    }
    table.flush()
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
        let short = vec![vec![cell("one cell")]];
        assert!(write_table(Vec::new(), &["part", "note"], short).is_err());
    }
}

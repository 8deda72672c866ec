//! Texts over several lines that are not closed.
//!
//! To a parser such a text runs on to the next three quotes, which may be those of a text many
//! rows further down: everything between is lost, and what follows is read inside out. A reader
//! sees at once where it should have ended: no text goes on over a section's header, and none is
//! closed by the quotes that begin another key's value.

use super::syntax::{is_header, is_key};
use std::ops::Range;

/// Marks of a text over several lines.
const MARKS: [&str; 2] = ["\"\"\"", "'''"];

/// A text that is not closed.
pub(super) struct Unclosed {
    /// Where its three quotes stand, up to the end of the line.
    pub(super) shown: Range<usize>,
    /// Its lines.
    pub(super) lost: Range<usize>,
}

/// Every text that runs over a header or up to another key's quotes, first to last; no more than
/// so many of them.
pub(super) fn unclosed(text: &str, sections: &[&str], most: usize) -> Vec<Unclosed> {
    let mut out = Vec::new();
    let mut open: Option<Open> = None;
    let mut at = 0;
    for line in text.split_inclusive('\n') {
        let own = line.trim();
        open = match open {
            Some(open) if runs_over(own, open.mark, sections) => {
                out.push(open.lost(text));
                if most <= out.len() {
                    break;
                }
                opened(line, at)
            }
            Some(mut open) => match line.find(open.mark) {
                Some(end) => {
                    let after = end + open.mark.len();
                    opened(line.get(after..).unwrap_or_default(), at + after)
                }
                None => {
                    open.end = open.end.or((is_key(own) || is_header(own)).then_some(at));
                    Some(open)
                }
            },
            None => opened(line, at),
        };
        at += line.len();
    }
    out
}

/// A text that has begun.
struct Open {
    mark: &'static str,
    /// Where its quotes stand.
    at: usize,
    /// Where the first line begins that looks like no text: another key, a header.
    end: Option<usize>,
}

impl Open {
    fn lost(self, text: &str) -> Unclosed {
        let line_end = text.get(self.at..).and_then(|rest| rest.find('\n'));
        let line_end = line_end.map_or(text.len(), |i| self.at + i);
        let start = text.get(..self.at).and_then(|before| before.rfind('\n')).map_or(0, |i| i + 1);
        Unclosed { shown: self.at..line_end, lost: start..self.end.unwrap_or(line_end) }
    }
}

/// Whether a line cannot belong to a text over several lines.
fn runs_over(line: &str, mark: &str, sections: &[&str]) -> bool {
    let name = line.trim_start_matches('[').split(['.', ']']).next().unwrap_or_default().trim();
    let header = is_header(line) && line.ends_with(']') && sections.contains(&name);
    let value = line.split_once('=').map(|(_, value)| value.trim_start());
    header || (is_key(line) && value.is_some_and(|value| value.starts_with(mark)))
}

/// The text that begins in a line, outside other quotes and remarks, and does not end in it.
fn opened(line: &str, at: usize) -> Option<Open> {
    let mut i = 0;
    while let Some(rest) = line.get(i..) {
        let mark = MARKS.into_iter().find(|mark| rest.starts_with(mark));
        let c = rest.chars().next()?;
        i += match (mark, c) {
            (Some(mark), _) => match rest.get(mark.len()..).and_then(|inner| inner.find(mark)) {
                Some(end) => end + 2 * mark.len(),
                None => return Some(Open { mark, at: at + i, end: None }),
            },
            (None, '#') => return None,
            (None, '"' | '\'') => 1 + quoted(rest.get(1..)?, c)?,
            _ => c.len_utf8(),
        };
    }
    None
}

/// Bytes of a text on one line up to and with its closing quote.
fn quoted(text: &str, quote: char) -> Option<usize> {
    let mut escaped = false;
    for (i, c) in text.char_indices() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quote == '"' => escaped = true,
            _ if c == quote => return Some(i + 1),
            _ => {}
        }
    }
    None
}

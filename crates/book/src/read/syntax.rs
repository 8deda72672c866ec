//! Text that is not TOML: said in the words of the garage, and taken out so that the rest of the
//! file can still be read.
//!
//! One slip makes a TOML parser stumble over what follows it, so its later complaints are not
//! worth passing on. The first is reported, its lines are blanked (every byte a space, so that all
//! places in the text stay what they were), and the text is read again, up to a limit.

use super::long::{Unclosed, unclosed};
use super::{Reader, all_sections};
use crate::problem::{ProblemKind, cut};
use std::ops::Range;
use toml::de::DeTable;

/// How many slips are looked for before giving up on the rest.
const SLIPS: usize = 60;

/// How many lines a list may span when looking for the one that was not closed.
const LIST_LINES: usize = 400;

const CLOSE_LONG: &str = "end it with three quotes, or write it on one line in one quote each";

const DUPLICATE: &str = "duplicate key";

/// The text with everything that is not TOML blanked out. The lengths are the same.
pub(super) fn mend(text: &str, reader: &mut Reader<'_>) -> String {
    let mut mended = text.to_owned();
    for Unclosed { shown, lost } in unclosed(text, &all_sections(), SLIPS) {
        let what = "the three closing quotes are missing".to_owned();
        reader.problem(ProblemKind::Syntax { what, right: CLOSE_LONG }, shown);
        mended = blanked(&mended, lost);
    }
    for pass in 0.. {
        let errors = DeTable::parse_recoverable(&mended).1;
        let slips = errors.iter().filter(|e| !is_duplicate(e));
        let Some(first) = slips.min_by_key(|e| start_of(e)) else {
            duplicates(&errors, text, reader);
            break;
        };
        let at = start_of(first).min(mended.len());
        if pass == SLIPS {
            reader.problem(ProblemKind::TooBroken { limit: SLIPS }, at..at);
            return blanked(&mended, line_start(&mended, at)..mended.len());
        }
        let (kind, span, lost) = judge(&mended, first);
        reader.problem(kind, span);
        let next = blanked(&mended, lost);
        if next == mended {
            // Nothing was left there to take out; what follows cannot be read.
            return blanked(&mended, line_start(&mended, at)..mended.len());
        }
        mended = next;
    }
    mended
}

fn is_duplicate(error: &toml::de::Error) -> bool {
    error.message().starts_with(DUPLICATE) || error.message().starts_with("cannot extend value")
}

fn start_of(error: &toml::de::Error) -> usize {
    error.span().map_or(usize::MAX, |span| span.start)
}

/// What to say of a slip, where, and which bytes go with it.
fn judge(text: &str, error: &toml::de::Error) -> (ProblemKind, Range<usize>, Range<usize>) {
    let span = error.span().unwrap_or(text.len()..text.len());
    let at = span.start.min(text.len());
    let (start, end) = line_around(text, at);
    let line = text.get(start..end).unwrap_or_default();
    if let Some(open) = open_bracket(text, start) {
        let whole = line_start(text, open)..list_end(text, line_around(text, open).1);
        if whole.end <= start || line.trim().is_empty() {
            return (ProblemKind::ListNotClosed, open..open + 1, whole);
        }
        return (syntax(error, line), visible(text, span, (start, end)), whole);
    }
    if let Some(open) = open_long_string(text, end) {
        let lost = line_around(text, open);
        return (syntax(error, line), open..lost.1, lost.0..lost.1);
    }
    let lost = if is_header_like(line) {
        // Keys below a header that cannot be read must not fall to the section above it.
        start..next_header(text, end)
    } else if line.trim().is_empty() {
        let before = text.get(..start).unwrap_or_default().trim_end().len();
        line_start(text, before)..before
    } else {
        start..list_end(text, end)
    };
    let shown = if line.trim().is_empty() { lost.clone() } else { span };
    (syntax(error, line), visible(text, shown, (start, end)), lost)
}

/// What to underline: an empty span shows nobody anything.
fn visible(text: &str, span: Range<usize>, (start, end): (usize, usize)) -> Range<usize> {
    let line = text.get(start..end).unwrap_or_default();
    let indent = line.len() - line.trim_start().len();
    let whole = start + indent..start + line.trim_end().len();
    let rest = text.get(span.start..end).unwrap_or_default();
    let blanks = rest.len() - rest.trim_start().len();
    let value = line.find('=').and_then(|eq| {
        let after = line.get(eq + 1..)?;
        let quote = after.find(['"', '\''])?;
        Some(start + eq + 1 + quote..whole.end)
    });
    if !span.is_empty() {
        return span;
    }
    if !is_key(line.trim_start()) {
        return whole;
    }
    if !rest.trim().is_empty() {
        return span.start + blanks..whole.end;
    }
    value.filter(|v| !v.is_empty()).unwrap_or(whole)
}

/// The message for a line. The parser knows only what it met; the line often tells more.
fn syntax(error: &toml::de::Error, line: &str) -> ProblemKind {
    let message = error.message();
    let key = line.trim_start().split(['=', ' ', ':']).next().unwrap_or_default();
    let after_key = line.trim_start().strip_prefix(key).unwrap_or_default().trim_start();
    let value = line.split_once('=').map(|(_, value)| value.trim());
    let said = |what: &str, right| ProblemKind::Syntax { what: what.to_owned(), right };
    if is_header_like(line) && !line.trim_start().starts_with('[') {
        return said("the bracket before the section's name is missing", "write `[bar]`");
    }
    if line.trim_start().starts_with('[') && message.starts_with("unquoted keys") {
        return said("the section has no name", "write `[bar]`");
    }
    if after_key.starts_with(':') {
        return said("there is a `:` where `=` belongs", "write `key = \"540 mm\"`");
    }
    if message.starts_with("key with no value") && value.is_some() {
        return said("the key has a blank in it", "a key is one word, with _ for a blank");
    }
    if value == Some("") {
        return said("nothing stands after `=`", "write \"\" to leave it blank");
    }
    let number = value.and_then(|v| v.split_once(','));
    let digits = |s: &str| s.trim().bytes().all(|b| b.is_ascii_digit() || b == b'-');
    if number.is_some_and(|(whole, part)| {
        digits(whole) && part.starts_with(|c: char| c.is_ascii_digit())
    }) {
        let right = "decimals follow a point, and a quantity stands in quotes, \"540.5 mm\"";
        return said("there is a comma in the number", right);
    }
    let (what, right) = in_words(message);
    ProblemKind::Syntax { what, right }
}

fn duplicates(errors: &[toml::de::Error], text: &str, reader: &mut Reader<'_>) {
    // The first writing of each is looked for from the top, so their number is bounded too.
    for error in errors.iter().take(SLIPS) {
        let span = error.span().unwrap_or_default();
        let key = text.get(span.clone()).unwrap_or_default();
        let first_line = first_written(text, span.start, key);
        reader.problem(ProblemKind::WrittenTwice { key: cut(key), first_line }, span);
    }
}

/// The line of the first key or header like the one at `at`.
fn first_written(text: &str, at: usize, key: &str) -> Option<u32> {
    let (start, end) = line_around(text, at);
    let here = text.get(start..end)?.trim();
    let before: Vec<&str> = text.get(..start)?.lines().collect();
    let same = |line: &&str| match here.strip_prefix('[') {
        Some(_) => line.trim() == here,
        None => line.trim().strip_prefix(key).is_some_and(|r| r.trim_start().starts_with('=')),
    };
    // A key's first writing stands in the same section, so the nearest above; a header's, anywhere.
    let index = before.iter().rposition(same)?;
    u32::try_from(index + 1).ok()
}

fn line_start(text: &str, at: usize) -> usize {
    line_around(text, at).0
}

/// Start and end of the line that byte stands in; its line break is not part of it.
fn line_around(text: &str, at: usize) -> (usize, usize) {
    let bytes = text.as_bytes();
    let at = at.min(bytes.len());
    let start = bytes.iter().take(at).rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
    let end = bytes.iter().skip(at).position(|b| *b == b'\n').map_or(bytes.len(), |i| at + i);
    (start, end)
}

/// Where the next line begins that is a section's header.
fn next_header(text: &str, from: usize) -> usize {
    let mut at = from;
    for line in text.get(from..).unwrap_or_default().split_inclusive('\n') {
        if line.trim_start().starts_with('[') {
            return at;
        }
        at += line.len();
    }
    text.len()
}

/// The bracket or brace of a value that is still open where the line at `start` begins.
fn open_bracket(text: &str, start: usize) -> Option<usize> {
    let (mut at, mut depth) = (start, 0_i32);
    for line in text.get(..start)?.split_inclusive('\n').rev().take(LIST_LINES) {
        at -= line.len();
        if is_header(line.trim_start()) {
            return None;
        }
        let (opened, first) = brackets(line);
        depth += opened;
        if is_key(line.trim_start()) {
            return if depth > 0 { first.map(|i| at + i) } else { None };
        }
    }
    None
}

/// Where the lines end that begin with no letter and no remark: what is left of a list.
fn list_end(text: &str, from: usize) -> usize {
    let mut at = from;
    let rest = text.get(from..).unwrap_or_default();
    // The first piece is the line break of the line before.
    for (i, line) in rest.split_inclusive('\n').enumerate() {
        let own = line.trim_start();
        let ends = own.is_empty() || is_header(own) || own.starts_with(is_own_start);
        if 0 < i && ends {
            break;
        }
        at += line.len();
    }
    at
}

/// `[bar]` or `[[spec]]`, but not a list's `["…`.
pub(super) fn is_header(line: &str) -> bool {
    let inner = line.strip_prefix("[[").or_else(|| line.strip_prefix('['));
    inner.is_some_and(|r| r.trim_start().starts_with(|c: char| c.is_ascii_alphabetic()))
}

/// What a line of its own may start with.
fn is_own_start(c: char) -> bool {
    c == '#' || c.is_alphabetic()
}

/// A header, or what was meant for one.
fn is_header_like(line: &str) -> bool {
    let line = line.trim();
    let named = line.starts_with(|c: char| c.is_ascii_alphabetic());
    line.starts_with('[') || (named && line.ends_with(']') && !line.contains(['=', '"']))
}

/// `key = …`
pub(super) fn is_key(line: &str) -> bool {
    line.split_once('=').is_some_and(|(key, _)| {
        let key = key.trim();
        !key.is_empty() && key.bytes().all(|b| b.is_ascii_alphanumeric() || b"_-.".contains(&b))
    })
}

/// Brackets opened less brackets closed outside quotes and remarks, and the first one opened.
fn brackets(line: &str) -> (i32, Option<usize>) {
    let (mut depth, mut first, mut quote) = (0, None, None);
    for (i, b) in line.bytes().enumerate() {
        match (quote, b) {
            (Some(open), _) if open == b => quote = None,
            (Some(_), _) => {}
            (None, b'"' | b'\'') => quote = Some(b),
            (None, b'#') => break,
            (None, b'[' | b'{') => {
                depth += 1;
                first = first.or(Some(i));
            }
            (None, b']' | b'}') => depth -= 1,
            _ => {}
        }
    }
    (depth, first)
}

/// The last `"""` or `'''` before `end`, if one of them is open there.
fn open_long_string(text: &str, end: usize) -> Option<usize> {
    let before = text.get(..end)?;
    let open = |mark: &str| {
        let odd = before.matches(mark).count() % 2 == 1;
        odd.then(|| before.rfind(mark)).flatten()
    };
    open("\"\"\"").or_else(|| open("'''"))
}

/// The text with those bytes as spaces; line breaks stay.
fn blanked(text: &str, lost: Range<usize>) -> String {
    let mut out = String::with_capacity(text.len());
    for (i, c) in text.char_indices() {
        if lost.contains(&i) && c != '\n' {
            out.extend(std::iter::repeat_n(' ', c.len_utf8()));
        } else {
            out.push(c);
        }
    }
    out
}

/// The parser's message in our words, and what would be right.
fn in_words(message: &str) -> (String, &'static str) {
    const KNOWN: &[(&str, &str, &str)] = &[
        (
            "string values must be quoted",
            "the value is not in quotes",
            "quantities and words stand in quotes, \"540 mm\"",
        ),
        (
            "key with no value",
            "there is a key here and no `=` with a value",
            "write `key = \"540 mm\"`; a remark begins with #",
        ),
        ("missing value", "nothing stands after `=`", "write \"\" to leave it blank"),
        ("extra `=`", "there is a second `=`", "one key, one `=`, one value a line"),
        ("invalid unquoted key", "this is no key", "keys are plain letters, digits and _"),
        ("unquoted keys", "the key before `=` is missing", "write `key = \"540 mm\"`"),
        ("invalid key", "there is no key before `=`", "write `key = \"540 mm\"`"),
        (
            "unclosed table",
            "the bracket of the section is not closed",
            "write `[bar]`; nothing under it is read until then",
        ),
        (
            "unclosed array table",
            "the brackets of the row are not closed",
            "write `[[spec]]`; nothing under it is read until then",
        ),
        ("missing table open", "a bracket is closed that was not opened", "write `[bar]`"),
        ("missing array opening", "a bracket is closed that was not opened", "write [ … ]"),
        ("unclosed array", "the list is not closed", "end the list with `]`"),
        ("missing comma", "a comma is missing", "put a comma between the entries"),
        ("extra comma", "there is a comma too many", "one comma between two entries"),
        (
            "unexpected key or value",
            "something is left over on this line",
            "one key and one value a line; a remark begins with #",
        ),
        (
            "unexpected content",
            "something is left over on this line",
            "one key and one value a line; a remark begins with #",
        ),
        ("missing opening quote", "a quote is missing", "quotes stand before and after a value"),
        ("invalid basic string", "the closing quote is missing", "end the value with \""),
        ("invalid literal string", "the closing quote is missing", "end the value with '"),
        ("invalid multi-line", "the three closing quotes are missing", CLOSE_LONG),
        ("unexpected leading zero", "the number begins with a zero", "write it without the zero"),
        ("cannot recurse", "too many brackets inside each other", "a list holds plain entries"),
        ("carriage return", "a stray carriage return", "save the file with plain line ends"),
        ("invalid comment", "a character that is not text", "take it out"),
        ("missing escaped", "a `\\` that stands for nothing", "write / or \\\\"),
        ("unclosed inline table", "the brace is not closed", "write sections, not braces"),
    ];
    let found = KNOWN.iter().filter(|(start, ..)| message.starts_with(start));
    match found.max_by_key(|(start, ..)| start.len()) {
        Some((_, what, right)) => ((*what).to_owned(), right),
        None => (
            format!("this cannot be read: {}", cut(message)),
            "one key and one value a line, `key = \"540 mm\"`",
        ),
    }
}

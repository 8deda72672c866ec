//! Nothing that stands in a book, a car file or an archive commands a terminal.
//!
//! A note may come from a paired telephone, an archive from anywhere; what is in them may hold the
//! sequences by which a terminal is told to clear its screen, hide text or fill the clipboard
//! (CWE-150). Everything the program says goes through here: control characters and those that turn
//! the direction of writing are shown as `\u001b`, as JSON has them, so that a document stays the
//! same document. What colours our own words passes.

use std::io::{self, Write};

/// Colours and weights in use here; none that hides what is written (ECMA-48, SGR).
const STYLES: [&str; 21] = [
    "0", "1", "2", "3", "4", "22", "23", "24", "31", "32", "33", "34", "35", "36", "39", "91",
    "92", "93", "94", "95", "96",
];
/// No sequence of ours is longer, in bytes.
const STYLE_BYTES_MAX: usize = 24;

/// Whether a character may go to a terminal as it is.
const fn is_plain(letter: char) -> bool {
    match letter {
        '\n' | '\t' => true,
        '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}' => false,
        // They turn the direction of writing, or end such a turn (Unicode, UAX #9).
        '\u{61c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' => false,
        _ => true,
    }
}

/// How many bytes at the front of a text may go to a terminal as they are.
fn plain_run(text: &str) -> usize {
    let mut length = 0;
    // Most of what is said is letters of one byte, and told by it.
    let one_byte = |byte: &&u8| matches!(byte, b'\n' | b'\t' | b' '..=b'~');
    loop {
        let rest = text.get(length..).unwrap_or_default();
        length += rest.as_bytes().iter().take_while(one_byte).count();
        match text.get(length..).and_then(|rest| rest.chars().next()) {
            Some(letter) if is_plain(letter) => length += letter.len_utf8(),
            _ => return length,
        }
    }
}

/// A text with everything shown that would command a terminal.
pub fn tamed(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    text.chars().for_each(|letter| put(&mut out, letter));
    out
}

fn put(out: &mut String, letter: char) {
    if is_plain(letter) {
        out.push(letter);
    } else {
        out.push_str(&format!("\\u{:04x}", u32::from(letter)));
    }
}

/// A stream on its way to a terminal.
pub struct Tame<'a> {
    inner: &'a mut dyn Write,
    /// What is not known to be whole yet: a letter or a style of which the rest is still to come.
    begun: Vec<u8>,
    /// Whether nothing stands on the line yet.
    at_start: bool,
    /// Whether the line is one that is drawn again and again.
    is_drawn: bool,
}

impl<'a> Tame<'a> {
    /// In front of another stream.
    pub fn new(inner: &'a mut dyn Write) -> Self {
        Self { inner, begun: Vec::new(), at_start: true, is_drawn: false }
    }

    /// Takes what is whole off the front of `text`; the rest stays.
    fn taken(&mut self, text: &mut &str) -> String {
        let mut out = String::with_capacity(text.len());
        loop {
            let (run, rest) = text.split_at(plain_run(text));
            if !run.is_empty() {
                self.at_start = run.ends_with('\n');
                self.is_drawn &= !run.contains('\n');
                out.push_str(run);
                *text = rest;
            }
            let Some(letter) = text.chars().next() else { break };
            if letter == '\u{1b}' {
                match style(text) {
                    Style::Ours(length) => {
                        out.push_str(&text[..length]);
                        *text = &text[length..];
                        continue;
                    }
                    Style::Begun => break,
                    Style::Foreign => {}
                }
            }
            *text = &text[letter.len_utf8()..];
            // A line that begins with it is drawn over; in the middle of one it would hide words.
            if letter == '\r' && (self.at_start || self.is_drawn) {
                self.is_drawn = true;
                out.push(letter);
                continue;
            }
            self.at_start = letter == '\n';
            self.is_drawn &= letter != '\n';
            put(&mut out, letter);
        }
        out
    }

    fn pass(&mut self, is_end: bool) -> io::Result<()> {
        let bytes = std::mem::take(&mut self.begun);
        let whole = match std::str::from_utf8(&bytes) {
            Ok(_) => bytes.len(),
            // A letter whose rest is still to come, or never will.
            Err(why) if why.error_len().is_none() && !is_end => why.valid_up_to(),
            Err(_) => {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                let out = self.taken(&mut text.as_str());
                return self.inner.write_all(out.as_bytes());
            }
        };
        let mut text = std::str::from_utf8(&bytes[..whole]).unwrap_or_default();
        let mut out = self.taken(&mut text);
        if is_end {
            out.push_str(&tamed(text));
        } else {
            self.begun = [text.as_bytes(), &bytes[whole..]].concat();
        }
        self.inner.write_all(out.as_bytes())
    }
}

/// What stands at the beginning of a text.
enum Style {
    /// One of ours, of that length.
    Ours(usize),
    /// Perhaps one of ours, whose end is still to come.
    Begun,
    /// Something else.
    Foreign,
}

fn style(text: &str) -> Style {
    let Some(rest) = text.strip_prefix('\u{1b}') else { return Style::Foreign };
    let Some(rest) = rest.strip_prefix('[') else {
        return if rest.is_empty() { Style::Begun } else { Style::Foreign };
    };
    let length = rest.bytes().take_while(|byte| byte.is_ascii_digit() || *byte == b';').count();
    match rest.as_bytes().get(length) {
        None if length < STYLE_BYTES_MAX => Style::Begun,
        Some(b'm') if rest[..length].split(';').all(|code| STYLES.contains(&code)) => {
            Style::Ours(2 + length + 1)
        }
        _ => Style::Foreign,
    }
}

impl Write for Tame<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.begun.extend_from_slice(bytes);
        self.pass(false)?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        self.pass(true)?;
        self.inner.flush()
    }
}

impl Drop for Tame<'_> {
    fn drop(&mut self) {
        // What was only begun is shown as it is; whoever wants to know of failures flushes.
        let _ = self.pass(true);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Written byte by byte and at once: how it comes in makes no difference.
    fn shown(text: &str) -> String {
        let [mut whole, mut pieces] = [Vec::new(), Vec::new()];
        Tame::new(&mut whole).write_all(text.as_bytes()).unwrap();
        {
            let mut tame = Tame::new(&mut pieces);
            text.as_bytes().iter().for_each(|byte| tame.write_all(&[*byte]).unwrap());
        }
        assert_eq!(whole, pieces);
        String::from_utf8(whole).unwrap()
    }

    #[test]
    fn what_commands_a_terminal_is_shown_instead() {
        let rows = [
            ("plain\tand\nlines é 漢 🔧", "plain\tand\nlines é 漢 🔧"),
            // The clipboard (OSC 52), the title (OSC 0), a cleared screen, hidden text.
            ("\u{1b}]52;c;Y3VybA==\u{7}", "\\u001b]52;c;Y3VybA==\\u0007"),
            ("\u{1b}]0;x\u{1b}\\", "\\u001b]0;x\\u001b\\"),
            ("\u{1b}[2J\u{1b}[8mhidden", "\\u001b[2J\\u001b[8mhidden"),
            ("\u{1b}[30;40mhidden\u{9b}2J", "\\u001b[30;40mhidden\\u009b2J"),
            ("a line\rhidden\u{8}\u{7f}", "a line\\u000dhidden\\u0008\\u007f"),
            ("\u{202e}desrever\u{2066}", "\\u202edesrever\\u2066"),
            ("\u{1b}", "\\u001b"),
            ("\u{1b}[1", "\\u001b[1"),
            ("\u{1b}[111111111111111111111111111m", "\\u001b[111111111111111111111111111m"),
        ];
        for (text, wanted) in rows {
            assert_eq!(shown(text), wanted);
        }
    }

    #[test]
    fn our_own_styles_and_drawn_lines_pass() {
        for text in [
            "\u{1b}[1m\u{1b}[31merror\u{1b}[0m: what\n",
            "\u{1b}[1;91mx\u{1b}[0m",
            "\r[###] best 10 min\r[####] best 9 min\r\n",
        ] {
            assert_eq!(shown(text), text);
        }
        assert_eq!(shown("\rdrawn\nthen\rhidden"), "\rdrawn\nthen\\u000dhidden");
    }

    #[test]
    fn bytes_that_are_no_text_pass_as_marks_of_that() {
        let mut out = Vec::new();
        Tame::new(&mut out).write_all(b"a\xffb\xc3").unwrap();
        assert_eq!(String::from_utf8(out).unwrap(), "a\u{fffd}b\u{fffd}");
    }

    #[test]
    fn a_document_stays_the_same_document() {
        let value = serde_json::json!({ "text": "\u{9b}2J \u{202e} \u{1b}[2J é\n" });
        let said = shown(&format!("{value:#}\n"));
        assert_eq!(serde_json::from_str::<serde_json::Value>(&said).unwrap(), value);
        assert!(!said.contains(['\u{9b}', '\u{202e}', '\u{1b}']));
    }
}

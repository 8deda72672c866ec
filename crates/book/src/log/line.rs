//! One entry as one line of text, sealed to the line before it.
//!
//! ```text
//! {"seq":1,"at":"…","by":"…","kind":"note","version":1,"body":{…},"before":"…","hash":"…"}
//!  └────────────────────── what `hash` is the SHA-256 of ───────────────────┘
//! ```
//!
//! The order of the keys, and that there is no blank between them, is part of the form: one entry
//! has one line, and a line that was touched no longer matches its own hash. `before` is the hash
//! of the line before, so that a line cannot be taken out, put in or moved without it showing. This
//! guards against failing disks and careless hands; someone who means to deceive can seal anew.

use std::fmt;

use serde::de::IgnoredAny;
use sha2::{Digest, Sha256};

use super::{Body, Entry, is_moment};

/// The longest line that is written or read, in bytes: room for the largest car file with every
/// letter of it escaped.
pub const LINE_BYTES_MAX: usize = 32 * 1024 * 1024;

/// The largest number an entry may bear: what a database's row number holds.
pub const SEQ_MAX: u64 = i64::MAX as u64;

/// The SHA-256 of a line, or of a file.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Sha(pub [u8; 32]);

impl Sha {
    /// What stands before the first line: nothing.
    pub const NOTHING: Self = Self([0; 32]);

    /// Of these bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// From 64 lower-case hexadecimal digits, and nothing else.
    pub fn from_hex(text: &str) -> Option<Self> {
        let digit = |byte: u8| match byte {
            b'0'..=b'9' => Some(byte - b'0'),
            b'a'..=b'f' => Some(byte - b'a' + 10),
            _ => None,
        };
        let digits = text.as_bytes();
        if digits.len() != 64 {
            return None;
        }
        let mut sha = [0; 32];
        for (byte, pair) in sha.iter_mut().zip(digits.chunks_exact(2)) {
            *byte = digit(pair[0])? << 4 | digit(pair[1])?;
        }
        Some(Self(sha))
    }
}

impl fmt::Display for Sha {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; 64];
        for (pair, byte) in text.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        f.write_str(std::str::from_utf8(&text).unwrap_or_default())
    }
}

impl fmt::Debug for Sha {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self}")
    }
}

/// A line of the log that is whole in itself: its hash is the hash of what it says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    entry: Entry,
    before: Sha,
    hash: Sha,
    text: String,
}

/// What is wrong with a line of the log.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineError {
    /// It is longer than any entry may be.
    #[error("the line has {bytes} bytes; {LINE_BYTES_MAX} are allowed")]
    TooLong {
        /// How long it is.
        bytes: usize,
    },
    /// It is not put together as a line is.
    #[error("at byte {at} of the line {wanted} was expected")]
    Form {
        /// Where, in bytes from 0.
        at: usize,
        /// What should stand there.
        wanted: &'static str,
    },
    /// Its number is none.
    #[error("an entry's number is from 1 to {SEQ_MAX}, not {seq}")]
    Number {
        /// The number.
        seq: u64,
    },
    /// Its moment is none.
    #[error("`{at}` is not a moment in UTC, like 2026-11-25T21:00:00Z")]
    Moment {
        /// As written.
        at: String,
    },
    /// The body is not one JSON object on one line.
    #[error("the body of entry {seq} is not one JSON object on one line: {what}")]
    Body {
        /// The entry.
        seq: u64,
        /// What is wrong.
        what: String,
    },
    /// It says something else than what it was sealed with.
    #[error("entry {seq} was altered: its hash is {is}, the line says {said}")]
    Altered {
        /// The entry.
        seq: u64,
        /// The hash that stands in the line.
        said: Sha,
        /// The hash of what the line says.
        is: Sha,
    },
    /// It would not be read as what was to be written.
    #[error("entry {seq} would not be read back as it was meant")]
    NotItself {
        /// The entry.
        seq: u64,
    },
    /// A number is missing or out of turn.
    #[error("entry {wanted} was expected here, not {seq}")]
    OutOfTurn {
        /// The number that should follow.
        wanted: u64,
        /// The number that is there.
        seq: u64,
    },
    /// It was sealed to another line than the one before it.
    #[error("entry {seq} follows a line with the hash {said}; the line before it has {is}")]
    Broken {
        /// The entry.
        seq: u64,
        /// The hash it names.
        said: Sha,
        /// The hash of the line before.
        is: Sha,
    },
}

/// `,"hash":"` and so on, with their lengths, since the end of a line has a fixed one.
const BEFORE: &str = r#","before":""#;
const HASH: &str = r#"","hash":""#;
const END: &str = r#""}"#;
const HEX: usize = 64;
const TAIL: usize = BEFORE.len() + HEX + HASH.len() + HEX + END.len();

/// Puts an entry on a line and seals it to the one before ([`Sha::NOTHING`] for the first).
///
/// # Errors
/// Where the line would not be read back as this entry.
pub fn seal(entry: &Entry, before: Sha) -> Result<Line, LineError> {
    let word = |text: &str| serde_json::Value::from(text).to_string();
    let mut text = format!(
        r#"{{"seq":{},"at":{},"by":{},"kind":{},"version":{},"body":{}{BEFORE}{before}""#,
        entry.seq,
        word(&entry.at),
        word(&entry.by),
        word(entry.body.kind()),
        entry.body.version(),
        entry.body.to_json(),
    );
    let hash = Sha::of(text.as_bytes());
    // The quote that ends `before` is sealed too; `HASH` starts with it.
    text.push_str(&format!("{}{hash}{END}", &HASH[1..]));
    let line = Line::read(&text)?;
    if line.entry == *entry && line.before == before {
        Ok(line)
    } else {
        Err(LineError::NotItself { seq: entry.seq })
    }
}

impl Line {
    /// Reads one line, without its line break. A body that is not understood is kept as it stands
    /// ([`Body::Unread`]); anything else that is not exactly as [`seal`] writes it is an error.
    ///
    /// # Errors
    /// What is wrong with it, the first thing only.
    pub fn read(text: &str) -> Result<Self, LineError> {
        if LINE_BYTES_MAX < text.len() {
            return Err(LineError::TooLong { bytes: text.len() });
        }
        let (said, tail, before, hash) = split_tail(text)?;
        let mut head = Head { text: said, at: 0 };
        head.take(r#"{"seq":"#, r#"`{"seq":`"#)?;
        let seq = head.number()?;
        if !(1..=SEQ_MAX).contains(&seq) {
            return Err(LineError::Number { seq });
        }
        head.take(r#","at":"#, r#"`,"at":`"#)?;
        let at = head.word()?;
        head.take(r#","by":"#, r#"`,"by":`"#)?;
        let by = head.word()?;
        head.take(r#","kind":"#, r#"`,"kind":`"#)?;
        let kind = head.word()?;
        head.take(r#","version":"#, r#"`,"version":`"#)?;
        let from = head.at;
        let version = u32::try_from(head.number()?)
            .map_err(|_| LineError::Form { at: from, wanted: "a version below 2³²" })?;
        head.take(r#","body":"#, r#"`,"body":`"#)?;
        // Altered comes first: after it, nothing that the line says can be trusted.
        let is = Sha::of(&text.as_bytes()[..tail]);
        if is != hash {
            return Err(LineError::Altered { seq, said: hash, is });
        }
        if !is_moment(&at) {
            return Err(LineError::Moment { at });
        }
        let body = read_body(seq, &kind, version, &said[head.at..])?;
        let entry = Entry { seq, at, by, body };
        Ok(Self { entry, before, hash, text: text.to_owned() })
    }

    /// Whether it follows that line; `None` for the first of a log.
    ///
    /// # Errors
    /// A number out of turn, or another line before it than the one it was sealed to.
    pub fn follows(&self, previous: Option<&Self>) -> Result<(), LineError> {
        self.follows_on(previous.map_or((0, Sha::NOTHING), |line| (line.entry.seq, line.link())))
    }

    /// The same, from the number and the [link](Line::link) of the line before.
    ///
    /// # Errors
    /// As [`Line::follows`].
    pub fn follows_on(&self, (last, hash): (u64, Sha)) -> Result<(), LineError> {
        let (seq, wanted) = (self.entry.seq, last.saturating_add(1));
        if seq != wanted {
            return Err(LineError::OutOfTurn { wanted, seq });
        }
        if self.before != hash {
            return Err(LineError::Broken { seq, said: self.before, is: hash });
        }
        Ok(())
    }

    /// What it says.
    pub fn entry(&self) -> &Entry {
        &self.entry
    }

    /// What it says, the line given up for it.
    pub fn into_entry(self) -> Entry {
        self.entry
    }

    /// Its own hash.
    pub fn hash(&self) -> Sha {
        self.hash
    }

    /// What the next line names as the hash of the line before it: this one's own or, where this
    /// one stands in the place of a lost one, that one's.
    pub fn link(&self) -> Sha {
        let lost = match &self.entry.body {
            Body::Lost(lost) => lost.hash.as_deref().and_then(Sha::from_hex),
            _ => None,
        };
        lost.unwrap_or(self.hash)
    }

    /// The hash of the line before.
    pub fn before(&self) -> Sha {
        self.before
    }

    /// The line, without a line break.
    pub fn text(&self) -> &str {
        &self.text
    }
}

/// Cuts a line before `,"before":`; also where the sealed part ends, and the two hashes.
fn split_tail(text: &str) -> Result<(&str, usize, Sha, Sha), LineError> {
    let form = |at, wanted| LineError::Form { at, wanted };
    let start = text
        .len()
        .checked_sub(TAIL)
        .filter(|start| text.is_char_boundary(*start))
        .ok_or(form(0, "an entry with its two hashes"))?;
    let (said, tail) = text.split_at(start);
    let mut tail = tail.strip_prefix(BEFORE).ok_or(form(start, r#"`,"before":"`"#))?;
    let before = tail.get(..HEX).and_then(Sha::from_hex);
    let before = before.ok_or(form(start + BEFORE.len(), "64 hexadecimal digits"))?;
    tail = &tail[HEX..];
    let sealed = start + BEFORE.len() + HEX + 1;
    tail = tail.strip_prefix(HASH).ok_or(form(sealed - 1, r#"`","hash":"`"#))?;
    let hash = tail.get(..HEX).and_then(Sha::from_hex);
    let hash = hash.ok_or(form(sealed - 1 + HASH.len(), "64 hexadecimal digits"))?;
    if &tail[HEX..] != END {
        return Err(form(text.len() - END.len(), r#"`"}`"#));
    }
    Ok((said, sealed, before, hash))
}

fn read_body(seq: u64, kind: &str, version: u32, text: &str) -> Result<Body, LineError> {
    let wrong = |what: &str| LineError::Body { seq, what: what.to_owned() };
    if !text.starts_with('{') || !text.ends_with('}') {
        return Err(wrong("it does not stand between `{` and `}`"));
    }
    if text.contains(['\n', '\r']) {
        return Err(wrong("a line break stands in it"));
    }
    let body = Body::from_json(kind, version, text);
    if matches!(body, Body::Unread(_)) {
        // A body that is understood has been read as JSON; this one has not.
        serde_json::from_str::<IgnoredAny>(text).map_err(|why| wrong(&why.to_string()))?;
    }
    Ok(body)
}

/// The part of a line before its body, read from the left.
struct Head<'a> {
    text: &'a str,
    at: usize,
}

impl Head<'_> {
    fn take(&mut self, literal: &str, wanted: &'static str) -> Result<(), LineError> {
        if !self.text[self.at..].starts_with(literal) {
            return Err(LineError::Form { at: self.at, wanted });
        }
        self.at += literal.len();
        Ok(())
    }

    fn number(&mut self) -> Result<u64, LineError> {
        let rest = &self.text[self.at..];
        let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
        let text = &rest[..digits];
        let plain = !text.starts_with('0') || text == "0";
        let number = text.parse().ok().filter(|_| plain);
        let wanted = "a whole number";
        let number = number.ok_or(LineError::Form { at: self.at, wanted })?;
        self.at += digits;
        Ok(number)
    }

    /// A JSON string, escaped as it is written here and no other way.
    fn word(&mut self) -> Result<String, LineError> {
        let rest = &self.text[self.at..];
        let wrong = LineError::Form { at: self.at, wanted: "a text in double quotes" };
        let mut escaped = true;
        let end = rest.bytes().position(|byte| {
            // The opening quote counts as escaped, so that it does not end the text.
            let ends = byte == b'"' && !escaped;
            escaped = byte == b'\\' && !escaped;
            ends
        });
        let Some(end) = end.filter(|_| rest.starts_with('"')) else { return Err(wrong) };
        let written = &rest[..=end];
        let Ok(word) = serde_json::from_str::<String>(written) else { return Err(wrong) };
        let again = serde_json::Value::from(word.as_str()).to_string();
        if again != written {
            return Err(wrong);
        }
        self.at += written.len();
        Ok(word)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(seq: u64, text: &str) -> Entry {
        let body = Body::Note { about: String::new(), text: text.to_owned() };
        Entry { seq, at: "2026-11-25T21:00:00Z".to_owned(), by: "J. Smith".to_owned(), body }
    }

    #[test]
    fn a_line_has_the_form_that_is_promised() {
        let line = seal(&note(1, "rain"), Sha::NOTHING).unwrap();
        let said = format!(
            "{}{}{}",
            r#"{"seq":1,"at":"2026-11-25T21:00:00Z","by":"J. Smith","kind":"note","version":1,"#,
            r#""body":{"about":"","text":"rain"},"before":""#,
            "0".repeat(64)
        );
        // Reckoned outside this program, with sha256sum, over the line up to `,"hash":"`.
        let hash = "41c5d3abc1bad225d72eba0184b66fd6238fdfa0b7197328c4c9cf2a108bea4a";
        assert_eq!(line.text(), format!(r#"{said}","hash":"{hash}"}}"#));
        assert_eq!(line.hash().to_string(), hash);
    }

    #[test]
    fn what_is_sealed_is_read_again() {
        let texts = ["", "\u{0}\n\r\t\\\"", "é 漢 🔧", r#"","before":""#, r#"\"}"#, "\u{2028}"];
        let mut last: Option<Line> = None;
        for (seq, text) in (1..).zip(texts) {
            let mut entry = note(seq, text);
            entry.by = text.to_owned();
            let line = seal(&entry, last.as_ref().map_or(Sha::NOTHING, Line::hash)).unwrap();
            assert!(!line.text().contains('\n'));
            let read = Line::read(line.text()).unwrap();
            assert_eq!((read.entry(), &read), (&entry, &line));
            line.follows(last.as_ref()).unwrap();
            last = Some(line);
        }
    }

    #[test]
    fn every_byte_counts() {
        let line = seal(&note(7, "4.6 kgf m \\ é"), Sha::of(b"x")).unwrap();
        let bytes = line.text().as_bytes();
        let mut tried = 0;
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut touched = bytes.to_vec();
                touched[at] ^= 1 << bit;
                // Text that is no longer UTF-8 does not come this far.
                let Ok(touched) = String::from_utf8(touched) else { continue };
                tried += 1;
                assert!(Line::read(&touched).is_err(), "byte {at}, bit {bit}: {touched}");
            }
            if let Some(short) = line.text().get(..at) {
                assert!(Line::read(short).is_err());
            }
        }
        assert!(1500 < tried, "{tried}");
        assert!(Line::read(&format!("{}\n", line.text())).is_err());
        assert!(Line::read(&format!(" {}", line.text())).is_err());
    }

    #[test]
    fn lines_taken_out_put_in_or_moved_show() {
        let one = seal(&note(1, "one"), Sha::NOTHING).unwrap();
        let two = seal(&note(2, "two"), one.hash()).unwrap();
        let three = seal(&note(3, "three"), two.hash()).unwrap();
        let other = seal(&note(2, "zwei"), one.hash()).unwrap();
        one.follows(None).unwrap();
        three.follows(Some(&two)).unwrap();
        let (wanted, seq) = (2, 3);
        assert_eq!(three.follows(Some(&one)), Err(LineError::OutOfTurn { wanted, seq }));
        assert!(matches!(three.follows(Some(&other)), Err(LineError::Broken { seq: 3, .. })));
        assert!(matches!(two.follows(None), Err(LineError::OutOfTurn { wanted: 1, seq: 2 })));
        let first = seal(&note(1, "one"), Sha::of(b"")).unwrap();
        assert!(matches!(first.follows(None), Err(LineError::Broken { seq: 1, .. })));
    }

    #[test]
    fn what_would_not_be_read_back_is_not_sealed() {
        assert_eq!(seal(&note(0, ""), Sha::NOTHING), Err(LineError::Number { seq: 0 }));
        assert!(seal(&note(SEQ_MAX, ""), Sha::NOTHING).is_ok());
        let mut entry = note(1, "");
        entry.at = "yesterday".to_owned();
        assert!(matches!(seal(&entry, Sha::NOTHING), Err(LineError::Moment { .. })));
        let unread = |kind: &str, body: &str| {
            let (kind, body) = (kind.to_owned(), body.to_owned());
            let why = super::super::Why::UnknownKind;
            let body = Body::Unread(super::super::Unread { kind, version: 1, body, why });
            seal(&Entry { body, ..note(1, "") }, Sha::NOTHING)
        };
        assert!(unread("smell", r#"{"of":"oil"}"#).is_ok());
        for body in ["", "1", "{", "{}{}", "{\n}", r#"{"a":1},"b":{}"#] {
            assert!(matches!(unread("smell", body), Err(LineError::Body { .. })), "{body}");
        }
        let known = unread("note", r#"{"about":"","text":""}"#);
        assert_eq!(known, Err(LineError::NotItself { seq: 1 }));
    }

    #[test]
    fn a_line_says_what_is_wrong_with_it() {
        let line = seal(&note(1, "rain"), Sha::NOTHING).unwrap().text().to_owned();
        let said = |text: &str| Line::read(text).unwrap_err().to_string();
        assert_eq!(said(""), "at byte 0 of the line an entry with its two hashes was expected");
        assert_eq!(
            said(&line.replace(r#"{"seq":1"#, r#"{"seq":01"#)),
            "at byte 7 of the line a whole number was expected"
        );
        let altered = said(&line.replace("rain", "Rain"));
        assert!(altered.starts_with("entry 1 was altered: its hash is "), "{altered}");
    }
}

//! Bodies as JSON: `kind`, `version` and one object.

use std::fmt;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use super::body::{
    Attempt, Body, Bolt, Energy, Lost, Mark, Moved, Part, Photo, Reading, Recheck, Round, Signed,
    Step,
};

/// What a body speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// [`Body::CarFile`].
    CarFile,
    /// [`Body::Reading`].
    Reading,
    /// [`Body::Part`].
    Part,
    /// [`Body::Mark`].
    Mark,
    /// [`Body::Photo`].
    Photo,
    /// [`Body::Step`].
    Step,
    /// [`Body::Signed`].
    Signed,
    /// [`Body::Bolt`].
    Bolt,
    /// [`Body::Attempt`].
    Attempt,
    /// [`Body::Round`].
    Round,
    /// [`Body::Moved`].
    Moved,
    /// [`Body::Recheck`].
    Recheck,
    /// [`Body::Note`].
    Note,
    /// [`Body::Strike`].
    Strike,
    /// [`Body::Lost`].
    Lost,
    /// [`Body::Energy`].
    Energy,
}

/// Every kind, its word in the log, and the newest version of its body that is read here.
pub const KINDS: &[(Kind, &str, u32)] = &[
    (Kind::CarFile, "car-file", 1),
    (Kind::Reading, "reading", 1),
    (Kind::Part, "part", 1),
    (Kind::Mark, "mark", 1),
    (Kind::Photo, "photo", 1),
    (Kind::Step, "step", 1),
    (Kind::Signed, "signed", 1),
    (Kind::Bolt, "bolt", 1),
    (Kind::Attempt, "attempt", 1),
    (Kind::Round, "round", 1),
    (Kind::Moved, "moved", 1),
    (Kind::Recheck, "recheck", 1),
    (Kind::Note, "note", 1),
    (Kind::Strike, "strike", 1),
    (Kind::Lost, "lost", 1),
    (Kind::Energy, "energy", 1),
];

impl Kind {
    /// As the log spells it.
    pub fn word(self) -> &'static str {
        self.row().1
    }

    /// The newest version of its body that is read here, which is also the one that is written.
    pub fn version(self) -> u32 {
        self.row().2
    }

    /// From the log's spelling.
    pub fn from_word(word: &str) -> Option<Self> {
        KINDS.iter().find(|(_, known, _)| *known == word).map(|(kind, ..)| *kind)
    }

    fn row(self) -> (Self, &'static str, u32) {
        // The table has a row for each; a test holds it to that.
        KINDS.iter().find(|(kind, ..)| *kind == self).copied().unwrap_or((self, "", 0))
    }
}

/// A body that this version cannot read, as it stands in the log.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unread {
    /// Its kind, as written.
    pub kind: String,
    /// Its version, as written.
    pub version: u32,
    /// Its JSON text, byte for byte.
    pub body: String,
    /// What stands in the way.
    pub why: Why,
}

/// Why a body cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// No such kind is known here.
    UnknownKind,
    /// The body is newer than what is read here.
    Newer {
        /// The newest version that is.
        known: u32,
    },
    /// It is not the object its kind and version promise.
    Shape {
        /// What is wrong, and where.
        what: String,
    },
}

impl fmt::Display for Unread {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (kind, version) = (&self.kind, self.version);
        match &self.why {
            Why::UnknownKind => write!(
                f,
                "an entry of the kind `{kind}`, version {version}, which is not known here; a \
                 newer axlewright that knows `{kind}` reads it"
            ),
            Why::Newer { known } => write!(
                f,
                "`{kind}` in version {version}; here it is read up to version {known}; a newer \
                 axlewright that knows `{kind}` version {version} reads it"
            ),
            Why::Shape { what } => {
                write!(
                    f,
                    "`{kind}` in version {version} does not have that version's shape: {what}"
                )
            }
        }
    }
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct CarFileBody {
    text: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct NoteBody {
    about: String,
    text: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StrikeBody {
    seq: u64,
    why: String,
}

fn write<T: Serialize>(body: &T) -> String {
    // Texts, whole numbers and maps keyed by text always have a JSON form. Were that ever untrue,
    // the empty text would be refused by whoever reads the line again before it is stored.
    serde_json::to_string(body).unwrap_or_default()
}

fn read<T: DeserializeOwned>(text: &str) -> Result<T, String> {
    serde_json::from_str(text).map_err(|error| error.to_string())
}

impl Body {
    /// What it speaks of; nothing for a body that was not understood.
    pub fn known_kind(&self) -> Option<Kind> {
        Some(match self {
            Self::CarFile { .. } => Kind::CarFile,
            Self::Reading(_) => Kind::Reading,
            Self::Part(_) => Kind::Part,
            Self::Mark(_) => Kind::Mark,
            Self::Photo(_) => Kind::Photo,
            Self::Step(_) => Kind::Step,
            Self::Signed(_) => Kind::Signed,
            Self::Bolt(_) => Kind::Bolt,
            Self::Attempt(_) => Kind::Attempt,
            Self::Round(_) => Kind::Round,
            Self::Moved(_) => Kind::Moved,
            Self::Recheck(_) => Kind::Recheck,
            Self::Note { .. } => Kind::Note,
            Self::Strike { .. } => Kind::Strike,
            Self::Lost(_) => Kind::Lost,
            Self::Energy(_) => Kind::Energy,
            Self::Unread(_) => return None,
        })
    }

    /// The word that stands for its kind in the log.
    pub fn kind(&self) -> &str {
        match self {
            Self::Unread(unread) => &unread.kind,
            known => known.known_kind().map_or("", Kind::word),
        }
    }

    /// The version in which it is written.
    pub fn version(&self) -> u32 {
        match self {
            Self::Unread(unread) => unread.version,
            known => known.known_kind().map_or(0, Kind::version),
        }
    }

    /// The body's JSON object, on one line, the same for the same body.
    pub fn to_json(&self) -> String {
        match self {
            Self::CarFile { text } => write(&CarFileBody { text: text.clone() }),
            Self::Reading(body) => write(body),
            Self::Part(body) => write(body),
            Self::Mark(body) => write(body),
            Self::Photo(body) => write(body),
            Self::Step(body) => write(body),
            Self::Signed(body) => write(body),
            Self::Bolt(body) => write(body),
            Self::Attempt(body) => write(body),
            Self::Round(body) => write(body),
            Self::Moved(body) => write(body),
            Self::Recheck(body) => write(body),
            Self::Note { about, text } => {
                write(&NoteBody { about: about.clone(), text: text.clone() })
            }
            Self::Strike { seq, why } => write(&StrikeBody { seq: *seq, why: why.clone() }),
            Self::Lost(body) => write(body),
            Self::Energy(body) => write(body),
            Self::Unread(unread) => unread.body.clone(),
        }
    }

    /// From what stands in the log. What cannot be read comes back as [`Body::Unread`], whole.
    ///
    /// # Valid for
    /// Any text.
    pub fn from_json(kind: &str, version: u32, body: &str) -> Self {
        let unread = |why| {
            let (kind, body) = (kind.to_owned(), body.to_owned());
            Self::Unread(Unread { kind, version, body, why })
        };
        let Some(known) = Kind::from_word(kind) else { return unread(Why::UnknownKind) };
        if known.version() < version {
            return unread(Why::Newer { known: known.version() });
        }
        if version == 0 {
            let what = "versions are counted from 1".to_owned();
            return unread(Why::Shape { what });
        }
        Self::of_kind(known, body).unwrap_or_else(|what| unread(Why::Shape { what }))
    }

    /// Version 1 of each kind; the only one there is so far.
    fn of_kind(kind: Kind, text: &str) -> Result<Self, String> {
        Ok(match kind {
            Kind::CarFile => {
                let CarFileBody { text } = read(text)?;
                Self::CarFile { text }
            }
            Kind::Reading => Self::Reading(read::<Reading>(text)?),
            Kind::Part => Self::Part(read::<Part>(text)?),
            Kind::Mark => Self::Mark(read::<Mark>(text)?),
            Kind::Photo => Self::Photo(read::<Photo>(text)?),
            Kind::Step => Self::Step(read::<Step>(text)?),
            Kind::Signed => Self::Signed(read::<Signed>(text)?),
            Kind::Bolt => Self::Bolt(read::<Bolt>(text)?),
            Kind::Attempt => Self::Attempt(read::<Attempt>(text)?),
            Kind::Round => Self::Round(read::<Round>(text)?),
            Kind::Moved => Self::Moved(read::<Moved>(text)?),
            Kind::Recheck => Self::Recheck(read::<Recheck>(text)?),
            Kind::Note => {
                let NoteBody { about, text } = read(text)?;
                Self::Note { about, text }
            }
            Kind::Strike => {
                let StrikeBody { seq, why } = read(text)?;
                Self::Strike { seq, why }
            }
            Kind::Lost => Self::Lost(read::<Lost>(text)?),
            Kind::Energy => Self::Energy(read::<Energy>(text)?),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shapes of version 1, letter by letter: they are in books already written.
    #[test]
    fn each_kind_has_its_shape() {
        let rows = [
            ("car-file", r#"{"text":"format = 1\n"}"#),
            ("reading", r#"{"what":"plate angle","side":"left","value":"35.2 deg"}"#),
            ("part", r#"{"part":"damper-left","happened":"fitted","side":"left"}"#),
            ("mark", r#"{"mark":"left rear eccentric","between":["plate-left","arm-left"]}"#),
            (
                "photo",
                r#"{"sha256":"00","media":"image/png","bytes":9,"width":1,"height":2,"of":"a"}"#,
            ),
            ("step", r#"{"step":"fit-bar-left","happened":"backed-out","minutes":7}"#),
            ("signed", r#"{"of":"job","name":"A. Smith"}"#),
            ("bolt", r#"{"joint":"hub-cover-left","bolt":2,"state":"torqued","value":"44 N m"}"#),
            (
                "attempt",
                concat!(
                    r#"{"side":"left","anchor_teeth":1,"plate_teeth":-2,"anchor_at":3,"#,
                    r#""reading":{"what":"plate angle","value":"35.2 deg"}}"#
                ),
            ),
            ("round", r#"{"load":"empty","weight":{"LF":"210 kg"},"settled":true}"#),
            ("moved", r#"{"corner":"LF","adjuster":"front screw","by":"0.25"}"#),
            ("recheck", r#"{"what":"hub nuts","due_km":100}"#),
            ("note", r#"{"about":"","text":"rain"}"#),
            ("strike", r#"{"seq":3,"why":"wrong side"}"#),
            ("lost", r#"{"hash":"00","what":"its line was altered","left":"{\"se"}"#),
            ("energy", r#"{"said":"not remembered","side":"left"}"#),
        ];
        for (kind, text) in rows {
            let body = Body::from_json(kind, 1, text);
            assert!(!matches!(body, Body::Unread(_)), "{kind}: {body:?}");
            assert_eq!((body.kind(), body.version(), body.to_json().as_str()), (kind, 1, text));
        }
        assert_eq!(KINDS.len(), rows.len());
        for ((_, word, _), (kind, _)) in KINDS.iter().zip(rows) {
            assert_eq!(*word, kind);
        }
    }

    #[test]
    fn what_cannot_be_read_is_kept_whole() {
        let rows = [
            ("smell", 1, r#"{"of": "oil"}"#, Why::UnknownKind, "knows `smell`"),
            ("note", 2, r#"{ "mood" :1}"#, Why::Newer { known: 1 }, "version 2 reads it"),
        ];
        for (kind, version, text, why, said) in rows {
            let body = Body::from_json(kind, version, text);
            let Body::Unread(unread) = &body else { panic!("{body:?}") };
            assert_eq!((&unread.why, unread.body.as_str()), (&why, text));
            assert!(unread.to_string().contains(said), "{unread}");
            assert_eq!((body.kind(), body.version()), (kind, version));
            assert_eq!(body.to_json(), text);
        }
        for (kind, version, text) in [
            ("note", 0, r#"{"about":"","text":""}"#),
            ("note", 1, ""),
            ("note", 1, "[]"),
            ("note", 1, r#"{"about":"","text":"","mood":1}"#),
            ("note", 1, r#"{"about":""}"#),
            ("bolt", 1, r#"{"joint":"a","bolt":-1,"state":"open"}"#),
            ("part", 1, r#"{"part":"a","happened":"melted"}"#),
        ] {
            let body = Body::from_json(kind, version, text);
            let Body::Unread(unread) = &body else { panic!("{body:?}") };
            assert!(matches!(unread.why, Why::Shape { .. }), "{unread}");
            assert_eq!(body.to_json(), text);
        }
        let deep = "[".repeat(100_000);
        assert!(matches!(Body::from_json("note", 1, &deep), Body::Unread(_)));
    }
}

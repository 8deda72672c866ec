//! The last page: the hash that seals the log, and how to check that nothing was changed.

use axlewright_setup::record::Record;
use maud::{Markup, html};

use super::{counted, part as numbered};

pub(super) fn part(record: &Record) -> Markup {
    let counts = record.counts;
    numbered(
        "seal",
        "9",
        "How to check it",
        html! {
            @match &record.head {
                Some((seq, hash)) => {
                    p { "The log ends with entry " b.num { (seq) } ", whose hash is" }
                    p.hash { code { (broken(hash)) } }
                    ol {
                        li {
                            "Run " code { "axlewright book verify BOOK" } " on the book or on a \
                             copy of it. It works every hash out anew and says which entry, if \
                             any, was touched, taken out or moved."
                        }
                        li {
                            "Compare the hash of the last entry with the one above. Entries \
                             written since this page was made \
                             come after it; that of entry " (seq) " stays."
                        }
                        li {
                            "It can be done without this program: each entry is one line of text \
                             and holds the SHA-256 of the line before; the hash of a line is the \
                             SHA-256 of what stands before its own "
                            code { "hash" } ". The form is written down in full in the program’s \
                             papers, under “The book”."
                        }
                    }
                    p {
                        "What it proves: whoever kept this page can tell whether the book was \
                         changed since. It does not prove that what was written is true. Someone \
                         who holds the book alone could seal it anew; a signed copy of this page \
                         in other hands is what guards against that."
                    }
                }
                None => {
                    p.open {
                        "No book stands behind this dossier, only a car file: there is no log that \
                         could be checked."
                    }
                }
            }
            p {
                (counted(counts.entries, "entry", "entries")) " in the log, "
                (counts.struck) " of them struck out, "
                (counts.unfolded) " that make no sense, "
                (counts.unread) " that this version cannot read. "
                (counted(record.car_files.len() as u64, "car file", "car files")) " loaded."
            }
            div.hold {
                p { "Kept by:" }
                div.sign { span { "Name" } span.rule {} span { "Day" } span.rule.short {} }
            }
        },
    )
}

/// A hash in groups that can be read out.
fn broken(hash: &str) -> String {
    let signs: Vec<char> = hash.chars().collect();
    let groups: Vec<String> = signs.chunks(8).map(|group| group.iter().collect()).collect();
    groups.join(" ")
}

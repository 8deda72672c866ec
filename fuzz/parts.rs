//! An archive from a row of parts, since no chance finds a tar's sums: a letter (`r` a README, `l`
//! a log as it stands, `s` a log sealed here from lines of text, `p` a photo under its own hash,
//! `n` anything under a name of its own up to a `;`, `d` a folder, `x` another program's words, `t`
//! raw bytes), two bytes for the length, and the content. The fuzzer makes such rows, and the
//! store's tests read those that are kept.

use axlewright_book::log::{Body, Entry, Sha, seal};

fn sealed(text: &[u8]) -> Vec<u8> {
    let (mut log, mut last) = (Vec::new(), Sha::NOTHING);
    for (seq, line) in (1..).zip(text.split(|byte| *byte == b'\n')) {
        let line = String::from_utf8_lossy(line).into_owned();
        let (kind, body) = line.split_once(' ').unwrap_or(("note", "{}"));
        let body = Body::from_json(kind, 1, body);
        let (at, by) = ("2026-11-25T21:00:00Z".to_owned(), kind.to_owned());
        let Ok(line) = seal(&Entry { seq, at, by, body }, last) else { continue };
        last = line.hash();
        log.extend(line.text().as_bytes());
        log.push(b'\n');
    }
    log
}

/// The archive that a row of parts stands for.
pub fn archive(mut bytes: &[u8]) -> Vec<u8> {
    let mut tar = tar::Builder::new(Vec::new());
    while let [letter, high, low, rest @ ..] = bytes {
        let length = usize::from(u16::from_be_bytes([*high, *low])).min(rest.len());
        let (content, after) = rest.split_at(length);
        bytes = after;
        let sha = Sha::of(content);
        let (kind, name, content) = match letter {
            b'l' => (tar::EntryType::Regular, b"log.jsonl".to_vec(), content.to_vec()),
            b's' => (tar::EntryType::Regular, b"log.jsonl".to_vec(), sealed(content)),
            b'p' => {
                let name = format!("photos/{}/{sha}.png", &sha.to_string()[..2]);
                (tar::EntryType::Regular, name.into_bytes(), content.to_vec())
            }
            b'n' => {
                let end = content.iter().position(|byte| *byte == b';').unwrap_or(content.len());
                let kind = tar::EntryType::Regular;
                (kind, content[..end].to_vec(), content[end..].to_vec())
            }
            b'd' => (tar::EntryType::Directory, content.to_vec(), Vec::new()),
            b'x' => (tar::EntryType::XHeader, b"x".to_vec(), content.to_vec()),
            b't' => {
                let mut raw = tar.into_inner().expect("a vector takes everything");
                raw.truncate(raw.len() - 1024);
                raw.extend(content);
                return raw;
            }
            _ => (tar::EntryType::Regular, b"README.txt".to_vec(), content.to_vec()),
        };
        let mut header = tar::Header::new_ustar();
        let name = &name[..name.len().min(100)];
        header.as_mut_bytes()[..name.len()].copy_from_slice(name);
        header.set_entry_type(kind);
        header.set_size(content.len() as u64);
        header.set_cksum();
        tar.append(&header, content.as_slice()).expect("a vector takes everything");
    }
    tar.into_inner().expect("a vector takes everything")
}

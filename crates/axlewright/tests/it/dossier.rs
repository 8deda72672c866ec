//! The dossier through the real program, on the demo's book.

use std::fs;
use std::path::Path;

use crate::common::run;
use tempfile::tempdir;

/// The demo's folder, its book in `demo/book`.
fn demo(folder: &Path) {
    run(folder, &["demo", "--once", "--no-open", "--out", "demo"]).ends_with(0);
}

/// What stands between two places of a text.
fn between<'a>(text: &'a str, from: &str, to: &str) -> &'a str {
    let start = text.find(from).unwrap_or_else(|| panic!("no `{from}`"));
    let rest = &text[start..];
    &rest[..rest.find(to).unwrap_or_else(|| panic!("no `{to}` after `{from}`"))]
}

#[test]
fn the_demo_book_gives_a_dossier_sealed_with_the_hash_of_its_log() {
    let folder = tempdir().unwrap();
    demo(folder.path());
    let said = run(folder.path(), &["dossier", "demo/book"]).ends_with(0);
    assert_eq!(said.out, "demo/book/dossier.html\n");
    let html = fs::read_to_string(folder.path().join("demo/book/dossier.html")).unwrap();

    // The last line of the export says how the log is sealed.
    run(folder.path(), &["book", "export", "demo/book", "book.tar"]).ends_with(0);
    let tar = fs::read(folder.path().join("book.tar")).unwrap();
    let text = String::from_utf8_lossy(&tar);
    let hashes = text.split("\"hash\":\"").skip(1).map(|rest| &rest[..64]);
    let last = hashes.last().unwrap().to_owned();
    let shown = between(&html, "class=\"hash\"><code>", "</code>").split_once("<code>").unwrap().1;
    assert_eq!(shown.replace(' ', ""), last);

    // Photos are inside, and nothing is fetched.
    assert!(4 < html.matches("src=\"data:image/jpeg;base64,").count());
    assert_eq!(html.matches(" src=").count(), html.matches("src=\"data:image/").count());
    for words in ["id=\"attempts-left-t\"", "For the alignment shop", "data-finding=\"mark.rate\""]
    {
        assert!(html.contains(words), "{words}");
    }
}

#[test]
fn a_struck_entry_moves_to_the_strikes_and_a_lost_photo_is_said() {
    let folder = tempdir().unwrap();
    demo(folder.path());
    let note = ["book", "add", "note", "demo/book", "a rag left in the tunnel", "--by", "Ada"];
    run(folder.path(), &note).ends_with(0);
    let page = || {
        let said = run(folder.path(), &["dossier", "demo/book", "--out", "-"]).ends_with(0);
        let found = between(&said.out, "class=\"part\" id=\"found\"", "id=\"done\"").to_owned();
        let struck = between(&said.out, "class=\"part\" id=\"struck\"", "id=\"seal\"").to_owned();
        (found, struck, said.out)
    };
    let words = "a rag left in the tunnel";
    let (found, struck, _) = page();
    assert!(found.contains(words) && !struck.contains(words));
    let log = run(folder.path(), &["book", "log", "demo/book", "--json"]).ends_with(0).json();
    let last = log["entries"].as_array().unwrap().last().unwrap();
    let seq = last["seq"].as_u64().unwrap().to_string();
    let why = "it was fetched out again";
    run(folder.path(), &["book", "strike", "demo/book", &seq, "--why", why, "--by", "Jo"])
        .ends_with(0);
    let (found, struck, whole) = page();
    assert!(!found.contains(words) && struck.contains(words) && struck.contains(why));
    assert_eq!(whole.matches(words).count(), 1);

    assert!(!whole.contains("in the book, not in this file"));
    for folder in ["photos", "thumbs"].map(|name| folder.path().join("demo/book").join(name)) {
        fs::remove_dir_all(folder).unwrap();
    }
    let (_, _, whole) = page();
    assert!(whole.contains("in the book, not in this file"));
}

#[test]
fn a_dossier_replaces_nothing_foreign_and_is_not_made_from_errors() {
    let folder = tempdir().unwrap();
    demo(folder.path());
    let mine = folder.path().join("mine.html");
    fs::write(&mine, "my own page").unwrap();
    run(folder.path(), &["dossier", "demo/book", "--out", "mine.html"]).ends_with(3);
    assert_eq!(fs::read_to_string(&mine).unwrap(), "my own page");
    // A car file alone has a dossier too: the record in it is empty.
    let said = run(folder.path(), &["dossier", "demo/car.toml"]).ends_with(0);
    assert_eq!(said.out, "demo/car-dossier.html\n");
    assert!(said.err.contains("book new"), "{}", said.err);
    let html = fs::read_to_string(folder.path().join("demo/car-dossier.html")).unwrap();
    assert!(html.contains("No book stands behind this dossier"));
    // The shop has to loosen the eccentrics, whatever their owner calls them.
    let torques = "Torques of the eccentrics";
    assert!(between(&html, torques, "Set by").contains("rear eccentric, right"));
    let car = fs::read_to_string(folder.path().join("demo/car.toml")).unwrap();
    let renamed = car.replace("name = \"rear eccentric\"", "name = \"cam bolt\"");
    fs::write(folder.path().join("renamed.toml"), renamed).unwrap();
    run(folder.path(), &["dossier", "renamed.toml"]).ends_with(0);
    let html = fs::read_to_string(folder.path().join("renamed-dossier.html")).unwrap();
    assert!(between(&html, torques, "Set by").contains("cam bolt, right"));
    fs::write(folder.path().join("broken.toml"), "format = 1\n[bar]\nlength = 5\n").unwrap();
    let said = run(folder.path(), &["dossier", "broken.toml"]).ends_with(1);
    assert!(said.err.contains("no dossier is made"), "{}", said.err);
    assert!(!folder.path().join("broken-dossier.html").exists());
    run(folder.path(), &["dossier", "nowhere"]).ends_with(3);
}

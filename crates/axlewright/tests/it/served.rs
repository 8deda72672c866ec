//! A book while it is served by the real program: killed, moved away, restored over, damaged.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use tempfile::{TempDir, tempdir};

use crate::common::{Said, program, run, said, tiny_png};
use crate::slow;
use crate::web::{Answer, answer, connect, form};

/// A program that serves a book; killed when it is dropped.
struct Served {
    child: Child,
    host: String,
    /// What it says, line by line, from both of its outputs.
    lines: Receiver<String>,
}

impl Served {
    fn start(folder: &Path) -> Self {
        let mut command = program(folder, &["serve", "book", "--port", "0", "--no-open"]);
        Self::of(command.env("AXLEWRIGHT_BY", "Ida"))
    }

    fn of(command: &mut Command) -> Self {
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let (say, lines) = channel();
        let outs: [Box<dyn std::io::Read + Send>; 2] =
            [Box::new(child.stdout.take().unwrap()), Box::new(child.stderr.take().unwrap())];
        for out in outs {
            let say = say.clone();
            std::thread::spawn(move || {
                BufReader::new(out).lines().map_while(Result::ok).for_each(|line| {
                    let _ = say.send(line);
                });
            });
        }
        let mut served = Self { child, host: String::new(), lines };
        let said = served.hears("http://127.0.0.1:");
        let host = said.split("http://").nth(1).unwrap();
        served.host = host.trim_end_matches('/').to_owned();
        served
    }

    /// Waits for a line with these words in it.
    #[track_caller]
    fn hears(&self, words: &str) -> String {
        let mut heard = Vec::new();
        loop {
            match self.lines.recv_timeout(Duration::from_secs(60)) {
                Ok(line) if line.contains(words) => return line,
                Ok(line) => heard.push(line),
                Err(_) => panic!("no `{words}` in {heard:?}"),
            }
        }
    }

    fn send(&self, bytes: &[u8]) -> Answer {
        let mut stream = connect(&self.host);
        let _ = stream.write_all(bytes);
        answer(&mut stream)
    }

    fn get(&self, path: &str) -> String {
        let host = &self.host;
        let head = format!("GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        self.send(head.as_bytes()).is(200).text()
    }

    fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let (host, body) = (&self.host, form(fields));
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        );
        self.send(head.as_bytes())
    }

    fn note(&self, text: &str, once: &str) -> Answer {
        self.post("/log", &[("about", ""), ("text", text), ("once", once)])
    }

    /// The entry that an answer says it has become.
    fn wrote(answer: Answer) -> u64 {
        let answer = answer.is(303);
        let to = answer.header("location").unwrap();
        let seq = to.split("wrote=").nth(1).unwrap().split('&').next().unwrap();
        seq.parse().unwrap()
    }

    fn photo(&self, of: &str) -> Answer {
        self.upload(of, &tiny_png(80))
    }

    fn upload(&self, of: &str, file: &[u8]) -> Answer {
        self.send(&self.photo_form(of, file))
    }

    /// A form with a photo in it, as a browser sends it.
    fn photo_form(&self, of: &str, file: &[u8]) -> Vec<u8> {
        let mut body = format!(
            "--b\r\nContent-Disposition: form-data; name=\"of\"\r\n\r\n{of}\r\n--b\r\n\
             Content-Disposition: form-data; name=\"photo\"; filename=\"a.png\"\r\n\
             Content-Type: image/png\r\n\r\n"
        )
        .into_bytes();
        body.extend(file);
        body.extend(b"\r\n--b--\r\n");
        let host = &self.host;
        let head = format!(
            "POST /marks/photo HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: \
             close\r\nContent-Type: multipart/form-data; boundary=b\r\nContent-Length: {}\r\n\r\n",
            body.len()
        );
        [head.into_bytes(), body].concat()
    }

    /// Asks it to end, as a system does, and waits for that.
    fn ends(mut self) {
        let pid = self.child.id().to_string();
        assert!(Command::new("kill").args(["-TERM", &pid]).status().unwrap().success());
        assert!(self.child.wait().unwrap().success());
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A folder with a book in it that holds a starter car file and a note.
fn begun() -> (TempDir, PathBuf) {
    let folder = tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    book(folder.path(), &["new", "book", "--car", "car/car.toml"]).ends_with(0);
    book(folder.path(), &["add", "note", "book", "before"]).ends_with(0);
    let path = folder.path().join("book");
    (folder, path)
}

fn book(folder: &Path, args: &[&str]) -> Said {
    said(program(folder, &[&["book"], args].concat()).env("AXLEWRIGHT_BY", "Ida").output().unwrap())
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let to = to.join(entry.file_name());
        match entry.file_type().unwrap().is_dir() {
            true => copy(&entry.path(), &to),
            false => fs::copy(entry.path(), to).map(|_| ()).unwrap(),
        }
    }
}

fn names(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
    let mut names: Vec<String> = names.map(|name| name.into_string().unwrap()).collect();
    names.sort();
    names
}

/// Looks at the page again and again until something is so.
#[track_caller]
fn until(served: &Served, what: &str, mut is_so: impl FnMut() -> bool) {
    let looked = (0..20_000).any(|_| {
        served.get("/all");
        is_so()
    });
    assert!(looked, "in vain: {what}");
}

#[test]
fn a_book_that_came_to_rest_is_one_file() {
    let (folder, path) = begun();
    let alone = ["book.head", "book.lock", "book.sqlite"];
    assert_eq!(names(&path), alone, "after each call of the command line");
    let served = Served::start(folder.path());
    Served::wrote(served.note("and then nothing for a second", "1"));
    let wal = path.join("book.sqlite-wal");
    until(&served, "the write-ahead file is empty", || fs::metadata(&wal).unwrap().len() == 0);
    let copied = folder.path().join("copied");
    fs::create_dir(&copied).unwrap();
    fs::copy(path.join("book.sqlite"), copied.join("book.sqlite")).unwrap();
    let said = book(folder.path(), &["verify", "copied"]).ends_with(0);
    assert!(said.out.contains("Nothing is wrong: 3 entries"), "{}", said.out);
    assert!(said.out.contains("No book.head lies beside the log"), "{}", said.out);
    Served::wrote(served.note("and ended at once", "2"));
    served.ends();
    assert_eq!(names(&path), alone, "after a clean end");
    let said = book(folder.path(), &["verify", "book"]).ends_with(0);
    assert!(said.out.contains("Nothing is wrong: 4 entries"), "{}", said.out);
}

#[test]
fn nothing_is_acknowledged_once_the_book_is_not_where_it_was() {
    type Row = (&'static str, fn(&Path));
    let rows: [Row; 4] = [
        ("the folder is gone", |path| fs::remove_dir_all(path).unwrap()),
        ("the folder is gone", |path| fs::rename(path, path.with_file_name("away")).unwrap()),
        ("the file with its log is gone", |path| {
            for name in names(path).iter().filter(|name| name.starts_with("book.sqlite")) {
                fs::remove_file(path.join(name)).unwrap();
            }
        }),
        ("the folder is another one now", |path| {
            // A restore over the book that is being served.
            fs::rename(path, path.with_file_name("away")).unwrap();
            copy(&path.with_file_name("backup"), path);
        }),
    ];
    for (what, act) in rows {
        let (folder, path) = begun();
        book(folder.path(), &["backup", "book", "backup"]).ends_with(0);
        let served = Served::start(folder.path());
        assert_eq!(Served::wrote(served.note("while it stood", "1")), 3);
        act(&path);
        let refused = served.note("after it", "2").says(503, "not where it was opened");
        assert!(refused.text().contains(what), "{}", refused.text());
        let refused = served.photo("bar").is(503);
        assert!(refused.text().contains(what));
        // On every page, and where the program was started.
        for page in ["/", "/log", "/parts", "/settings"] {
            assert!(served.get(page).contains(what), "{what}: {page}");
        }
        served.hears("is not where it was opened");
        drop(served);
        for name in ["book", "away", "backup"] {
            let there = folder.path().join(name);
            if there.join("book.sqlite").is_file() {
                assert!(!there.join("photos").exists() && !there.join("thumbs").exists());
                let log = book(folder.path(), &["log", name]).ends_with(0).out;
                assert!(!log.contains("after it"), "{log}");
            }
        }
    }
}

#[test]
fn put_back_it_is_written_to_again_and_says_so() {
    let (folder, path) = begun();
    let served = Served::start(folder.path());
    fs::rename(&path, path.with_file_name("away")).unwrap();
    served.hears("is not where it was opened");
    fs::rename(path.with_file_name("away"), &path).unwrap();
    served.hears("is back where it was opened");
    assert_eq!(Served::wrote(served.note("again", "1")), 3);
    assert!(!served.get("/log").contains("not where it was"));
}

#[test]
fn a_lock_taken_away_lets_nobody_in_unnoticed() {
    let (folder, path) = begun();
    let served = Served::start(folder.path());
    fs::remove_file(path.join("book.lock")).unwrap();
    // Another program is let in now, and writes an entry of the same number.
    book(folder.path(), &["add", "note", "book", "from elsewhere"]).ends_with(0);
    served.note("from the page", "1").says(503, "the file with its lock");
    drop(served);
    let log = book(folder.path(), &["log", "book"]).ends_with(0).out;
    assert!(log.contains("from elsewhere") && !log.contains("from the page"), "{log}");
}

#[test]
fn a_form_sent_again_after_a_kill_is_written_once() {
    let (folder, _path) = begun();
    let served = Served::start(folder.path());
    let seq = Served::wrote(served.note("anchor +2, plate -3", "page-7"));
    drop(served);
    let served = Served::start(folder.path());
    // The telephone has had no answer and sends the same form again.
    assert_eq!(Served::wrote(served.note("anchor +2, plate -3", "page-7")), seq);
    assert_eq!(Served::wrote(served.note("anchor +2, plate -3", "page-8")), seq + 1);
    // Struck, it is meant anew: what was struck is never said to be written.
    served.post(&format!("/log/{seq}"), &[("why", "slip"), ("once", "page-9")]).is(303);
    let again = Served::wrote(served.note("anchor +2, plate -3", "page-7"));
    assert_eq!(again, seq + 3);
    assert_eq!(Served::wrote(served.note("anchor +2, plate -3", "page-7")), again);
    let struck =
        Served::wrote(served.post(&format!("/log/{seq}"), &[("why", "slip"), ("once", "page-9")]));
    assert_eq!(struck, seq + 2);
    // A photo is not taken in twice either.
    let page = served.get("/log");
    assert!(page.contains(&format!("data-seq=\"{again}\"")), "{page}");
}

#[test]
fn an_acknowledgement_is_for_whoever_wrote() {
    let (folder, _path) = begun();
    let served = Served::start(folder.path());
    let answer = served.note("mine", "1").is(303);
    let cookie = answer.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    let host = &served.host;
    let get = |path: &str, cookie: &str| {
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n"
        );
        served.send(head.as_bytes()).is(200).text()
    };
    assert!(get("/log?wrote=3", &cookie).contains("Written: "));
    for (path, cookie) in
        [("/log?wrote=999999", &*cookie), ("/log?wrote=3", "a=b"), ("/log?wrote=2", &*cookie)]
    {
        assert!(!get(path, cookie).contains("Written: "), "{path}");
    }
}

/// Spoils the line of an entry in a book at rest.
fn spoil(path: &Path, words: &str) {
    let file = path.join("book.sqlite");
    let mut bytes = fs::read(&file).unwrap();
    let all: Vec<usize> = {
        let parts = bytes.windows(words.len()).enumerate();
        parts.filter(|(_, part)| *part == words.as_bytes()).map(|(at, _)| at).collect()
    };
    assert!(!all.is_empty());
    all.iter().for_each(|at| bytes[*at..at + 3].copy_from_slice(b"###"));
    fs::write(file, bytes).unwrap();
}

#[test]
fn a_damaged_book_is_looked_at_salvaged_and_worked_with_again() {
    let (folder, path) = begun();
    let place = folder.path();
    book(place, &["add", "note", "book", "to be damaged"]).ends_with(0);
    book(place, &["add", "note", "book", "after the damage"]).ends_with(0);
    spoil(&path, "to be damaged");
    let said = book(place, &["log", "book"]).ends_with(3);
    assert!(said.out.contains("before") && !said.out.contains("after the damage"), "{}", said.out);
    assert!(said.err.contains("is damaged at entry 3"), "{}", said.err);
    assert!(said.err.contains("Only entries 1 to 2 are shown"), "{}", said.err);
    book(place, &["csv", "book", "--out", "tables"]).ends_with(3);
    book(place, &["add", "note", "book", "no"]).ends_with(3);
    // What is worked out under the car is not worked out from half a log.
    run(place, &["order", "book"]).ends_with(3);
    // The page shows it, with a word before everything else, and takes nothing.
    let served = Served::start(place);
    let page = served.get("/log");
    assert!(page.contains("Entry 3 is damaged") && page.contains("up to entry 2"), "{page}");
    served.note("no", "1").is(503);
    drop(served);
    let said = book(place, &["salvage", "book", "whole"]).ends_with(3);
    assert!(said.err.contains("entries: 3 of 4 as they were written"), "{}", said.err);
    assert!(said.err.contains("entry 3 is lost: its line was damaged"), "{}", said.err);
    book(place, &["verify", "whole"]).ends_with(0);
    let log = book(place, &["log", "whole"]).ends_with(0).out;
    let log: Vec<&str> = log.split_whitespace().collect();
    let log = log.join(" ");
    assert!(log.contains("after the damage") && log.contains("###be damaged"), "{log}");
    // No figures before somebody has looked at the hole.
    let said = run(place, &["check", "whole"]).ends_with(1);
    assert!(said.out.contains("entry 3 does not count: it was lost"), "{}", said.out);
    book(place, &["strike", "whole", "3", "--why", "only a note"]).ends_with(0);
    run(place, &["check", "whole"]).ends_with(0);
    let said = book(place, &["salvage", "whole", "again", "--json"]).ends_with(0).json();
    assert_eq!(said["salvaged"]["lost"].as_array().unwrap().len(), 0);
    assert_eq!(said["salvaged"]["whole"], 5);
}

#[test]
fn a_cut_off_end_is_told_by_everything_that_reads_the_log() {
    let (folder, path) = begun();
    let place = folder.path();
    let early = fs::read(path.join("book.sqlite")).unwrap();
    book(place, &["add", "note", "book", "cut off"]).ends_with(0);
    fs::write(path.join("book.sqlite"), early).unwrap();
    let words = "entry 3 was acknowledged, and 2 are here";
    for args in [
        &["log", "book"][..],
        &["verify", "book"],
        &["add", "note", "book", "no"],
        &["export", "book", "a.tar"],
        &["backup", "book", "copy"],
    ] {
        let said = book(place, args).ends_with(3);
        assert!(said.err.contains(words), "{args:?}: {}", said.err);
    }
    book(place, &["export", "book", "b.tar", "--partial"]).ends_with(0);
    let found = book(place, &["verify", "book", "--json"]).ends_with(3).json();
    assert_eq!(
        (&found["verified"]["acknowledged"], &found["verified"]["safe"]),
        (&3.into(), &2.into())
    );
    let page = Served::start(place).get("/");
    assert!(page.contains("Entry 3 was acknowledged, and 2 are here"), "{page}");
}

#[test]
fn a_book_that_may_only_be_read_is_served_to_look_at() {
    let (_folder, path) = begun();
    let lock = path.join("book.lock");
    let mut command = Command::new("strace");
    command.args(["-f", "-qq", "-o", "/dev/null", "-P", lock.to_str().unwrap()]);
    command.args(["-e", "inject=openat:error=EROFS", "--", env!("CARGO_BIN_EXE_axlewright")]);
    command.args(["serve", path.to_str().unwrap(), "--port", "0", "--no-open"]);
    let served = Served::of(command.env("AXLEWRIGHT_BY", "Ida"));
    let page = served.get("/log");
    assert!(page.contains("The book lies where nothing can be written"), "{page}");
    assert!(page.contains("before"));
    served.note("no", "1").is(503);
}

#[test]
fn copies_say_what_they_lack_and_are_checked() {
    let (folder, path) = begun();
    let place = folder.path();
    fs::write(place.join("a.png"), tiny_png(9)).unwrap();
    book(place, &["photo", "book", "a.png", "--for", "left mark"]).ends_with(0);
    let said = book(place, &["verify", "book"]).ends_with(0);
    assert!(said.out.contains("No copy of this book was made"), "{}", said.out);
    let said = book(place, &["backup", "book", "one"]).ends_with(0);
    assert!(said.err.contains("lies on the same disk as the book"), "{}", said.err);
    let said = book(place, &["backup", "book", "one", "--check"]).ends_with(0);
    assert!(said.out.contains("Put back, the copy is the book: all 3 entries"), "{}", said.out);
    book(place, &["add", "note", "book", "later"]).ends_with(0);
    let said = book(place, &["backup", "book", "one", "--check"]).ends_with(0);
    assert!(said.out.contains("up to entry 3; 1 of 4 came later"), "{}", said.out);
    // An old copy is remarked on.
    let note = fs::read_to_string(path.join("book.backup")).unwrap();
    let at = note.lines().nth(1).unwrap();
    fs::write(path.join("book.backup"), note.replace(at, "at 2020-01-01T00:00:00Z")).unwrap();
    let said = book(place, &["verify", "book"]).ends_with(0);
    assert!(said.out.contains("The last copy of this book is") && said.out.contains("days old"));
    // On the page too, where it is served, and not only there.
    let page = Served::start(place).get("/settings");
    assert!(page.contains("The last copy of this book is") && page.contains("on the same disk"));
    // The photo goes missing, then cannot be read: named, and all the rest is copied.
    let photos = path.join("photos");
    let inner = photos.join(&names(&photos)[0]);
    let photo = inner.join(&names(&inner)[0]);
    let mut traced = Command::new("strace");
    traced.args(["-f", "-qq", "-o", "/dev/null", "-P", photo.to_str().unwrap()]);
    traced.args(["-e", "inject=read:error=EIO", "--", env!("CARGO_BIN_EXE_axlewright")]);
    traced.args(["book", "backup", "book", "two"]).current_dir(place);
    let said = crate::common::said(traced.output().unwrap()).ends_with(3);
    assert!(said.err.contains("cannot be read: input/output error"), "{}", said.err);
    assert!(said.err.contains("entries: 4, photos: 0"), "{}", said.err);
    assert_eq!(names(&place.join("two")), ["book.head", "book.sqlite"]);
    fs::write(&photo, "rust").unwrap();
    for (args, made) in [
        (&["backup", "book", "three"][..], "three"),
        (&["export", "book", "three.tar"], "three.tar"),
        (&["import", "three.tar", "four"], "four"),
    ] {
        let said = book(place, args).ends_with(3);
        assert!(said.err.contains("the photo `"), "{}", said.err);
        assert!(place.join(made).exists());
    }
    book(place, &["import", "three.tar", "five", "--partial"]).ends_with(0);
    fs::remove_file(&photo).unwrap();
    book(place, &["backup", "book", "six", "--partial"]).ends_with(0);
    book(place, &["backup", "book", "two", "--check"]).ends_with(3);
}

#[test]
fn a_new_book_is_never_there_without_its_car_file() {
    let folder = tempdir().unwrap();
    let place = folder.path();
    run(place, &["new", "car"]).ends_with(0);
    // Killed at each of its waits for the disk.
    let mut killed = 0;
    for count in 1..30 {
        let name = format!("book{count}");
        let mut traced = Command::new("strace");
        traced.args(["-f", "-qq", "-o", "/dev/null", "-e"]);
        traced.arg(format!("inject=fsync,fdatasync:signal=KILL:when={count}"));
        traced.args(["--", env!("CARGO_BIN_EXE_axlewright"), "book", "new", &name]);
        traced.args(["--car", "car/car.toml"]).current_dir(place).env("AXLEWRIGHT_BY", "Ida");
        if traced.output().unwrap().status.success() {
            break;
        }
        killed += 1;
        if place.join(&name).join("book.sqlite").exists() {
            let log = book(place, &["log", &name]).ends_with(0);
            assert!(log.out.contains("car file"), "killed at {count}: {}", log.out);
        } else {
            book(place, &["new", &name, "--car", "car/car.toml"]).ends_with(0);
        }
    }
    assert!(3 < killed, "{killed}");
}

/// A WebP of 300 bytes whose words about the picture claim to be four gigabytes long.
fn webp_that_claims_too_much() -> Vec<u8> {
    let mut plain = std::io::Cursor::new(Vec::new());
    image::DynamicImage::new_rgb8(8, 8).write_to(&mut plain, image::ImageFormat::WebP).unwrap();
    let mut bytes = b"RIFF\0\0\0\0WEBPVP8X\x0A\0\0\0\x08\0\0\0\x07\0\0\x07\0\0".to_vec();
    bytes.extend(&plain.into_inner()[12..]);
    bytes.extend(b"EXIF\xE0\xFF\xFF\xFFII*\0");
    bytes.resize(300, 0);
    let length = (bytes.len() as u32 - 8).to_le_bytes();
    bytes[4..8].copy_from_slice(&length);
    bytes
}

#[cfg(target_os = "linux")]
#[test]
fn a_photo_that_claims_too_much_ends_nothing_where_memory_is_short() {
    let (_folder, path) = begun();
    let mut command = Command::new("sh");
    // Three gigabytes of addresses, of which the photo would take four.
    command.args(["-c", "ulimit -v 3000000; exec \"$0\" serve \"$1\" --port 0 --no-open"]);
    command.args([env!("CARGO_BIN_EXE_axlewright"), path.to_str().unwrap()]);
    let served = Served::of(command.env("AXLEWRIGHT_BY", "Ida"));
    let limits = fs::read_to_string(format!("/proc/{}/limits", served.child.id())).unwrap();
    let line = limits.lines().find(|line| line.starts_with("Max address space")).unwrap();
    assert_eq!(line.split_whitespace().nth(3), Some("3072000000"));
    let refused = served.upload("bar", &webp_that_claims_too_much()).is(422);
    assert!(refused.text().contains("ends in the middle"), "{}", refused.text());
    assert_eq!(Served::wrote(served.photo("bar")), 3);
    served.ends();
}

#[test]
fn a_photo_that_stops_on_its_way_gives_up_its_place() {
    if slow::skipped() {
        return;
    }
    let (folder, _path) = begun();
    let served = Served::start(folder.path());
    // As many as are taken in at one time, and none of them goes on.
    let mut stopped: Vec<_> = (0..4).map(|_| connect(&served.host)).collect();
    let form = served.photo_form("stops", &tiny_png(7));
    for stream in &mut stopped {
        stream.write_all(&form[..form.len() / 2]).unwrap();
    }
    // Taken as soon as they have been given up, well before half a minute has gone.
    assert_eq!(Served::wrote(served.photo("goes on")), 3);
    for mut stream in stopped {
        answer(&mut stream).says(408, "stopped arriving");
    }
}

#[cfg(unix)]
#[test]
fn what_is_made_is_for_the_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, path) = begun();
    let place = folder.path();
    let served = Served::start(place);
    Served::wrote(served.photo("bar"));
    fn open_to_others(folder: &Path, seen: &mut Vec<String>) -> Vec<String> {
        let mut found = Vec::new();
        for entry in fs::read_dir(folder).unwrap() {
            let entry = entry.unwrap();
            let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
            let is_folder = entry.file_type().unwrap().is_dir();
            seen.push(entry.file_name().into_string().unwrap());
            if mode != if is_folder { 0o700 } else { 0o600 } {
                found.push(format!("{} {mode:o}", entry.path().display()));
            }
            if is_folder {
                found.extend(open_to_others(&entry.path(), seen));
            }
        }
        found
    }
    let mut seen = Vec::new();
    assert_eq!(open_to_others(place, &mut seen), [""; 0]);
    for name in ["book", "book.sqlite-wal", "book.sqlite-shm", "book.head", "book.lock", "thumbs"] {
        assert!(seen.iter().any(|one| one == name), "no {name} in {seen:?}");
    }
    drop(served);
    book(place, &["backup", "book", "copy"]).ends_with(0);
    book(place, &["export", "book", "book.tar"]).ends_with(0);
    book(place, &["import", "book.tar", "again"]).ends_with(0);
    book(place, &["csv", "book", "--out", "tables"]).ends_with(0);
    book(place, &["salvage", "book", "whole"]).ends_with(0);
    run(place, &["dossier", "book", "--out", "dossier.html"]).ends_with(0);
    assert_eq!(open_to_others(place, &mut seen), [""; 0]);
    // Whom the owner has let in is not shut out when it is written anew.
    let dossier = place.join("dossier.html");
    fs::set_permissions(&dossier, fs::Permissions::from_mode(0o644)).unwrap();
    run(place, &["dossier", "book", "--out", "dossier.html"]).ends_with(0);
    assert_eq!(fs::metadata(&dossier).unwrap().permissions().mode() & 0o777, 0o644);
    assert!(path.join("book.backup").is_file());
}

#[test]
fn a_clock_that_went_back_is_told_wherever_somebody_writes() {
    use axlewright_book::log::Body;
    use axlewright_store::{Draft, Holder, Store};
    let (folder, path) = begun();
    let place = folder.path();
    let holder = Holder { by: "x".to_owned(), since: String::new() };
    let mut store = Store::open(&path, &holder).unwrap();
    let body = Body::Note { about: String::new(), text: "by a clock that ran ahead".to_owned() };
    let at = "2099-11-25T21:00:00Z".to_owned();
    store.append(&[Draft { at, by: "Ida".to_owned(), body }]).unwrap();
    drop(store);
    let said = book(place, &["verify", "book"]).ends_with(0);
    assert!(!said.out.contains("clock"), "{}", said.out);
    let said = book(place, &["add", "note", "book", "later"]).ends_with(0);
    assert!(said.err.contains("the clock of this machine may be wrong"), "{}", said.err);
    assert!(said.err.contains("the last entry is of 2099-11-25T21:00:00Z"), "{}", said.err);
    // From then on the log itself says so, and is whole.
    let said = book(place, &["verify", "book"]).ends_with(0);
    let words: Vec<&str> = said.out.split_whitespace().collect();
    let words = words.join(" ");
    assert!(words.contains("Nothing is wrong: 4 entries"), "{words}");
    assert!(words.contains("The clock was set back, or stood wrong"), "{words}");
    assert!(words.contains("the entry before it of 2099-11-25T21:00:00Z."), "{words}");
    let found = book(place, &["verify", "book", "--json"]).ends_with(0).json();
    assert_eq!(found["verified"]["backwards"][0]["entry"], 4);
    let page = Served::start(place).get("/log");
    assert!(!page.contains("may be wrong"), "the last entry is of today");
}

#[test]
fn what_a_killed_export_left_is_swept_up() {
    let (folder, _path) = begun();
    let place = folder.path();
    let left = |number: u32| place.join(format!(".book.tar.{number}.part"));
    fs::write(left(1), "half of it").unwrap();
    fs::write(left(2), "being written").unwrap();
    let held = fs::OpenOptions::new().write(true).open(left(2)).unwrap();
    held.lock().unwrap();
    fs::write(place.join(".book.tar.notes.part"), "somebody's own").unwrap();
    book(place, &["export", "book", "book.tar"]).ends_with(0);
    assert_eq!(
        names(place),
        [".book.tar.2.part", ".book.tar.notes.part", "book", "book.tar", "car"]
    );
}

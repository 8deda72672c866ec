//! What must not get in: each is refused in a plain sentence, and nothing is written.

use super::{Page, form};
use crate::common::run;
use axlewright_book::log::PHOTO_BYTES_MAX;

const NOTE: [(&str, &str); 2] = [("about", "x"), ("text", "written from elsewhere")];

#[test]
fn a_form_from_another_page_is_refused() {
    let page = Page::open();
    let own = format!("Origin: http://{}\r\n", page.host);
    let rows = [
        "Origin: http://evil.example\r\n".to_owned(),
        "Origin: null\r\n".to_owned(),
        "Sec-Fetch-Site: cross-site\r\n".to_owned(),
        "Sec-Fetch-Site: same-site\r\n".to_owned(),
        "Sec-Fetch-Site: none\r\n".to_owned(),
        format!("{own}Sec-Fetch-Site: cross-site\r\n"),
        format!("Origin: http://evil.example\r\n{own}"),
        format!("Origin: https://{}\r\n", page.host),
        format!("Origin: http://{}0\r\n", page.host),
        String::new(),
    ];
    for headers in rows {
        page.writes_nothing(|page| page.post_with("/log", &form(&NOTE), &headers))
            .says(403, "came from another page");
    }
    // The same form from our own page is written, so that the refusals mean something.
    let before = page.seq();
    page.post_with("/log", &form(&NOTE), &own).is(303);
    page.post_with("/log", &form(&NOTE), &format!("{own}Sec-Fetch-Site: same-origin\r\n")).is(303);
    assert_eq!(page.seq(), before + 2);
}

#[test]
fn another_name_for_this_machine_is_refused() {
    let page = Page::open();
    let port = page.port();
    let asked = |host: &str| {
        let head = format!("GET / HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        page.send(head.as_bytes())
    };
    for host in [
        "evil.example".to_owned(),
        format!("evil.example:{port}"),
        format!("127.0.0.1.evil.example:{port}"),
        format!("127.0.0.1:{}", port.wrapping_add(1)),
        "127.0.0.1".to_owned(),
        format!("0.0.0.0:{port}"),
        String::new(),
    ] {
        asked(&host).says(421, "not this machine");
    }
    asked(&format!("localhost:{port}")).is(200);
    let without = page.send(b"GET / HTTP/1.1\r\nConnection: close\r\n\r\n");
    assert!(without.status == 421 || without.status == 400, "{}", without.status);
    let twice = format!("GET / HTTP/1.1\r\nHost: {0}\r\nHost: {0}\r\n\r\n", page.host);
    let twice = page.send(twice.replace("\r\n\r\n", "\r\nConnection: close\r\n\r\n").as_bytes());
    assert_ne!(twice.status, 200);
}

#[test]
fn no_path_leads_to_a_file() {
    let page = Page::open();
    for path in [
        "/../../../../etc/passwd",
        "/assets/../../../etc/passwd",
        "/assets/..%2f..%2f..%2fetc%2fpasswd",
        "/assets/%2e%2e/book.sqlite",
        "/photo/..%2fbook.sqlite",
        "/photo/%00",
        "/thumb/%2fetc%2fpasswd",
        "/step/..%2f..%2fetc",
        "/joints/%ff%fe",
        "/parts/..",
        "/order/99999999999999999999",
        "/why/%3Cscript%3E",
        "/log/0",
        "/log/-1",
        "/geometry/LF",
        "//evil.example/",
    ] {
        let answer = page.get(path);
        assert!(matches!(answer.status, 400 | 404), "{path}: {}", answer.status);
        let text = answer.text();
        assert!(!text.contains("root:") && !text.contains("SQLite"), "{path}: {text}");
        assert!(!text.contains("<script>"), "{path}: {text}");
    }
    for method in ["PUT", "DELETE", "PATCH", "TRACE", "OPTIONS"] {
        let head =
            format!("{method} / HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n", page.host);
        page.send(head.as_bytes()).says(405, "only read");
    }
    page.post("/order", &[]).says(405, "Nothing can be written here");
}

#[test]
fn a_script_in_any_field_stays_a_text() {
    let page = Page::open();
    let evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>";
    let forms: &[(&str, &[&str])] = &[
        ("/log", &["about", "text"]),
        ("/settings", &["by", "theme", "torque"]),
        ("/readings", &["what", "side", "value", "turned", "arrow", "gauge", "load", "note"]),
        ("/splines", &["side", "anchor_teeth", "plate_teeth", "reading.value", "reading.note"]),
        ("/step/marks-left", &["happened", "minutes", "note", "name"]),
        ("/joints/hub-cover-left", &["go", "position", "wrench", "value"]),
        ("/parts", &["part", "name", "happened", "note"]),
        ("/parts/damper-left", &["happened", "side", "due", "in_spite", "note"]),
        ("/marks", &["mark", "one", "other", "side", "offset", "note"]),
        (
            "/wheels/round",
            &["load", "stage", "weight.LF", "trim.LR", "camber.RF", "toe.RR", "note"],
        ),
        ("/wheels/moved", &["corner", "adjuster", "by"]),
        ("/wheels/recheck", &["what", "due_km", "done_km", "found"]),
        ("/car/text", &["text", "do"]),
        ("/log/1", &["why"]),
    ];
    let clean = |html: &str, of: &str| {
        for raw in ["<script>alert", "<img src=x", "\"'>"] {
            assert!(!html.contains(raw), "{raw} in {of}:\n{html}");
        }
    };
    for (path, fields) in forms {
        let all: Vec<(&str, &str)> = fields.iter().map(|name| (*name, evil)).collect();
        clean(&page.post(path, &all).text(), path);
    }
    // What may hold any words is written with them, and shown as the words they are.
    page.post("/log", &[("about", evil), ("text", evil)]).is(303);
    page.post("/step/hard-bolts", &[("happened", "done")]).is(303);
    page.post("/step/hard-bolts", &[("happened", "signed"), ("name", evil)]).is(303);
    page.post("/wheels/recheck", &[("what", evil), ("due_km", "5")]).is(303);
    page.post("/readings", &[("what", evil), ("value", evil), ("note", evil)]).is(303);
    let mark = [("mark", evil), ("one", "plate-left"), ("other", "arm-left"), ("note", evil)];
    page.post("/marks", &mark).is(303);
    page.post("/parts", &[("part", "odd"), ("name", evil), ("happened", "tagged")]).is(303);
    let asked = "?q=%3Cscript%3Ealert(1)%3C/script%3E%22'%3E&kind=%22'%3E&of=%22'%3E&what=%22'%3E";
    for path in
        ["/log", "/step/hard-bolts", "/wheels", "/readings", "/marks", "/parts", "/order/back-out"]
    {
        let html = page.get(&format!("{path}{asked}")).is(200).text();
        clean(&html, path);
    }
    assert!(page.get("/log").text().contains("&lt;script&gt;"), "the words are lost");
}

#[test]
fn what_is_too_long_or_broken_is_refused() {
    let page = Page::open();
    let own = format!("Origin: http://{}\r\n", page.host);
    let long = "x".repeat(70_000);
    page.writes_nothing(|page| page.post("/log", &[("about", "x"), ("text", &long)]))
        .says(413, "too long");
    for body in ["text=%ff", "text=%c3", "%ff=a"] {
        page.writes_nothing(|page| page.post_with("/log", body, &own))
            .says(400, "could not be read");
    }
    let many = "a=1&".repeat(5000);
    page.writes_nothing(|page| page.post_with("/log", &many, &own)).says(400, "could not be read");
    let json = format!(
        "POST /log HTTP/1.1\r\nHost: {0}\r\nConnection: close\r\n{own}Content-Type: \
         application/json\r\nContent-Length: 2\r\n\r\n{{}}",
        page.host
    );
    page.writes_nothing(|page| page.send(json.as_bytes())).says(415, "not a form");
}

/// A form with a file in it.
fn upload(page: &Page, file: &[u8], of: &str) -> super::Answer {
    let mark = "cut-here";
    let mut body = Vec::new();
    let field = format!(
        "--{mark}\r\nContent-Disposition: form-data; name=\"of\"\r\n\r\n{of}\r\n--{mark}\r\n\
         Content-Disposition: form-data; name=\"photo\"; filename=\"../../evil.php\"\r\n\
         Content-Type: image/jpeg\r\n\r\n"
    );
    body.extend_from_slice(field.as_bytes());
    body.extend_from_slice(file);
    body.extend_from_slice(format!("\r\n--{mark}--\r\n").as_bytes());
    send_parts(page, &body, &format!("multipart/form-data; boundary={mark}"))
}

fn send_parts(page: &Page, body: &[u8], media: &str) -> super::Answer {
    let head = format!(
        "POST /marks/photo HTTP/1.1\r\nHost: {0}\r\nOrigin: http://{0}\r\nConnection: close\r\n\
         Content-Type: {media}\r\nContent-Length: {1}\r\n\r\n",
        page.host,
        body.len()
    );
    let mut bytes = head.into_bytes();
    bytes.extend_from_slice(body);
    page.send(&bytes)
}

/// Two by two grey pixels, as PNG.
const PIXELS: &[u8] = &[
    0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 0x00, 0x00, 0x00, 0x0D, 0x49, 0x48, 0x44, 0x52,
    0x00, 0x00, 0x00, 0x02, 0x00, 0x00, 0x00, 0x02, 0x08, 0x00, 0x00, 0x00, 0x00, 0x57, 0xDD, 0x52,
    0xF8, 0x00, 0x00, 0x00, 0x0E, 0x49, 0x44, 0x41, 0x54, 0x78, 0x9C, 0x63, 0x68, 0x70, 0x60, 0x50,
    0xF8, 0x00, 0x00, 0x04, 0xB6, 0x01, 0xD1, 0x63, 0xF1, 0x18, 0xB3, 0x00, 0x00, 0x00, 0x00, 0x49,
    0x45, 0x4E, 0x44, 0xAE, 0x42, 0x60, 0x82,
];

/// The picture with something in it that is no picture, so that it has as many bytes.
fn padded(bytes: usize) -> Vec<u8> {
    // A part that only its maker knows, behind the head of the file.
    let (head, rest) = PIXELS.split_at(33);
    let length = u32::try_from(bytes - PIXELS.len() - 12).unwrap();
    let mut out = [head, &length.to_be_bytes(), b"prVt"].concat();
    out.resize(out.len() + length as usize, 0);
    out.extend([[0; 4].as_slice(), rest].concat());
    assert_eq!(out.len(), bytes);
    out
}

#[test]
fn the_page_and_the_command_line_take_photos_of_the_same_size() {
    let folder = tempfile::tempdir().unwrap();
    run(folder.path(), &["new", "car"]).ends_with(0);
    let limit = usize::try_from(PHOTO_BYTES_MAX).unwrap();
    // The first of these one of them took and the other refused.
    for (bytes, page_says, code) in [(25_584_138, 303, 0), (limit, 303, 0), (limit + 1, 413, 1)] {
        let photo = padded(bytes);
        upload(&Page::open(), &photo, "x").is(page_says);
        std::fs::write(folder.path().join("photo.png"), &photo).unwrap();
        let book = format!("book-{bytes}");
        run(folder.path(), &["book", "new", &book, "--car", "car/car.toml", "--by", "Ann"])
            .ends_with(0);
        let take = ["book", "photo", &book, "photo.png", "--for", "x", "--by", "Ann"];
        run(folder.path(), &take).ends_with(code);
    }
}

#[test]
fn only_whole_pictures_of_bounded_size_are_taken_in() {
    let page = Page::open();
    page.writes_nothing(|page| upload(page, b"<?php evil(); ?>", "x")).says(422, "neither JPEG");
    page.writes_nothing(|page| upload(page, b"", "x")).says(422, "no picture was chosen");
    let mut cut = PIXELS.to_vec();
    cut.truncate(50);
    page.writes_nothing(|page| upload(page, &cut, "x")).is(422);
    page.writes_nothing(|page| upload(page, &vec![0xFF; 26_300_000], "x")).says(413, "25 MiB");
    for media in ["multipart/form-data", "multipart/form-data; boundary=", "text/plain"] {
        let sent = page.writes_nothing(|page| send_parts(page, b"--x\r\nbroken", media));
        assert!(matches!(sent.status, 400 | 415), "{media}: {}", sent.status);
    }
    page.writes_nothing(|page| {
        send_parts(
            page,
            b"--x\r\nContent-Disposition: form-data; name=\"of\"\r\n\r\nno end",
            "multipart/form-data; boundary=x",
        )
    })
    .says(400, "not a whole picture");
    let before = page.seq();
    upload(&page, PIXELS, "left rear eccentric").is(303);
    assert_eq!(page.seq(), before + 1);
    let html = page.get("/marks").text();
    let name = html.split("/photo/").nth(1).unwrap().split('"').next().unwrap().to_owned();
    let photo = page.get(&format!("/photo/{name}")).is(200);
    assert_eq!(photo.header("content-type"), Some("image/png"));
    assert_eq!(photo.header("x-content-type-options"), Some("nosniff"));
    page.get(&format!("/photo/{}", "0".repeat(64))).is(404);
}

#[test]
fn control_characters_are_not_written() {
    let page = Page::open();
    let rows: [(&str, &[(&str, &str)]); 4] = [
        ("/log", &[("text", "\u{1b}]52;c;Y3VybA==\u{7}\u{1b}[2J")]),
        ("/log", &[("text", "fine"), ("about", "\u{9b}2J")]),
        ("/wheels/recheck", &[("what", "nuts"), ("due_km", "9"), ("found", "\u{8}")]),
        ("/marks", &[("mark", "m"), ("one", "plate-left"), ("other", "arm-left"), ("note", "\0")]),
    ];
    for (path, fields) in rows {
        let refused = page.writes_nothing(|page| page.post(path, fields)).is(422);
        let text = refused.text();
        assert!(text.contains("control character") || text.contains("one line"), "{text}");
    }
    page.post("/log", &[("text", "tabs\tand\r\nline breaks are fine")]).is(303);
}

#[test]
fn a_photo_that_stops_on_its_way_holds_up_no_other() {
    let page = Page::served(false);
    let photo = |of: &str, whole: bool| {
        let mut body = format!(
            "--b\r\nContent-Disposition: form-data; name=\"of\"\r\n\r\n{of}\r\n--b\r\n\
             Content-Disposition: form-data; name=\"photo\"; filename=\"a.png\"\r\n\r\n"
        )
        .into_bytes();
        body.extend(crate::common::tiny_png(7));
        body.extend(b"\r\n--b--\r\n");
        let (host, length) = (&page.host, body.len());
        let head = format!(
            "POST /marks/photo HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: \
             close\r\nContent-Type: multipart/form-data; boundary=b\r\nContent-Length: \
             {length}\r\n\r\n"
        );
        body.truncate(if whole { length } else { length / 2 });
        [head.into_bytes(), body].concat()
    };
    let mut stopped: Vec<_> = (0..3).map(|_| page.connect()).collect();
    for stream in &mut stopped {
        std::io::Write::write_all(stream, &photo("stops", false)).unwrap();
    }
    page.send(&photo("goes on", true)).is(303);
}

#[test]
fn many_who_ask_for_the_dossier_at_once_get_the_same_one() {
    let page = Page::open();
    let get = || page.get("/dossier/print").is(200).text();
    let all: Vec<String> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..8).map(|_| scope.spawn(get)).collect();
        threads.into_iter().map(|thread| thread.join().unwrap()).collect()
    });
    assert!(all.iter().all(|one| *one == all[0] && one.contains("Larch 1300")));
    page.post("/log", &[("text", "only in the next one")]).is(303);
    assert!(get().contains("only in the next one") && !all[0].contains("only in the next one"));
    assert!(page.get("/dossier/sheet/print").text() != all[0]);
    assert!(all[0].contains("http-equiv=\"Content-Security-Policy\""));
}

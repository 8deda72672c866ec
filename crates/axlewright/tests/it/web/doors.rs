//! Who is let in: pairing, many connections, slow ones, and a second server on one book.

use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Stdio};

use super::{Answer, Page, answer, connect, form};
use crate::common::{program, run};

/// Another address of this machine than its own browser uses: a device elsewhere, to the page.
fn elsewhere(page: &Page) -> String {
    format!("127.0.0.2:{}", page.port())
}

fn ask(host: &str, method: &str, path: &str, headers: &str, body: &str) -> Answer {
    let mut stream = connect(host);
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nAccept: text/html\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\
         {headers}\r\n{body}",
        body.len()
    );
    let _ = stream.write_all(head.as_bytes());
    answer(&mut stream)
}

#[test]
#[cfg(target_os = "linux")] // Elsewhere 127.0.0.2 is no address of this machine.
fn another_device_pairs_with_a_code_that_is_good_once() {
    let page = Page::served(true);
    let host = elsewhere(&page);
    let origin = format!("Origin: http://{host}\r\n");
    assert_eq!(ask(&host, "GET", "/", "", "").is(303).header("location"), Some("/pair"));
    let note = form(&[("text", "not paired")]);
    for cookie in ["", "Cookie: axlewright_pair=\r\n", "Cookie: axlewright_pair=00\r\n"] {
        let headers = format!("{origin}{cookie}");
        page.writes_nothing(|_| ask(&host, "POST", "/log", &headers, &note))
            .says(401, "not paired");
        for path in ["/events", "/photo/00", "/dossier/sheet"] {
            let status = ask(&host, "GET", path, cookie, "").status;
            assert!(status == 303 || status == 401, "{path}: {status}");
        }
    }
    let code = page.running().pairing_code().unwrap();
    let pair = |code: &str| ask(&host, "POST", "/pair", &origin, &form(&[("code", code)]));
    pair("WRONGONE").says(403, "not the code");
    // Looking uses nothing up.
    assert!(ask(&host, "GET", &format!("/pair?code={code}"), "", "").text().contains(&code));
    let paired = pair(&code.to_lowercase()).is(303);
    let cookie = paired.header("set-cookie").unwrap();
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"), "{cookie}");
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    ask(&host, "GET", "/", &cookie, "").is(200);
    ask(&host, "POST", "/log", &format!("{origin}{cookie}"), &note).is(303);
    pair(&code).says(403, "not the code");
    // Guessing spends the code that stands there.
    let code = page.running().pairing_code().unwrap();
    for _ in 0..10 {
        pair("WRONGONE").is(403);
    }
    pair(&code).says(403, "not the code");
    // This machine's own browser needs none.
    page.get("/").is(200);
}

#[test]
#[cfg(target_os = "linux")]
fn without_lan_no_other_address_answers() {
    let page = Page::served(false);
    assert!(std::net::TcpStream::connect(elsewhere(&page)).is_err());
    page.get("/pair").is(200);
}

#[test]
fn one_device_cannot_take_all_connections_and_a_slow_one_holds_up_nobody() {
    let page = Page::served(false);
    let mut held = Vec::new();
    for _ in 0..30 {
        let mut stream = page.connect();
        stream.write_all(b"GET / HTTP/1.1\r\nHost: 127").unwrap();
        held.push(stream);
    }
    page.get("/").is(200);
    let mut turned_away = None;
    for _ in 0..60 {
        let mut stream = page.connect();
        stream.write_all(b"GET / HTTP/1.1\r\nHost: 127").unwrap();
        held.push(stream);
    }
    for mut stream in held.drain(30..) {
        // The ones inside are waited for by the server; only who was turned away has an answer.
        stream.set_read_timeout(Some(std::time::Duration::from_millis(200))).unwrap();
        let got = answer(&mut stream);
        if got.status != 0 {
            turned_away = Some(got);
            break;
        }
    }
    let text = turned_away.expect("somebody is turned away").is(503).text();
    assert!(text.starts_with("Too many connections"), "{text}");
    drop(held);
    // With the doors free again the page answers; how soon is the system's affair.
    let free = (0..20_000).any(|_| page.get("/all").status == 200);
    assert!(free);
}

/// The program serving a book, with its first lines read.
fn serve(folder: &std::path::Path, book: &str) -> (Child, String) {
    let args = ["serve", book, "--no-open", "--port", "0"];
    let mut child = program(folder, &args).stdout(Stdio::piped()).spawn().unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut line).unwrap();
    let url = line.split("http://").nth(1).unwrap_or_else(|| panic!("{line}")).trim().to_owned();
    (child, url.trim_end_matches('/').to_owned())
}

#[test]
#[cfg(unix)]
fn a_second_server_on_one_book_is_refused_and_the_first_ends_quietly() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), axlewright::desk::DEMO_CAR).unwrap();
    run(folder.path(), &["book", "new", "book", "--car", "car.toml", "--by", "Ann"]).ends_with(0);
    let (mut child, host) = serve(folder.path(), "book");
    let said = run(folder.path(), &["serve", "book", "--no-open", "--port", "0"]).ends_with(3);
    assert!(said.err.contains("open elsewhere"), "{}", said.err);
    let origin = format!("Origin: http://{host}\r\n");
    ask(&host, "POST", "/log", &origin, &form(&[("text", "kept")])).is(303);
    let term = std::process::Command::new("kill").arg(child.id().to_string()).status().unwrap();
    assert!(term.success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let log = run(folder.path(), &["book", "log", "book"]).ends_with(0);
    assert!(log.out.contains("kept"), "{}", log.out);
}

#[test]
#[cfg(unix)]
fn a_car_file_alone_is_shown_and_not_written_to() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("car.toml"), axlewright::desk::DEMO_CAR).unwrap();
    let (mut child, host) = serve(folder.path(), "car.toml");
    assert!(ask(&host, "GET", "/", "", "").is(200).text().contains("Larch 1300"));
    let origin = format!("Origin: http://{host}\r\n");
    let refused = ask(&host, "POST", "/log", &origin, &form(&[("text", "x")]));
    refused.says(409, "car file without a book");
    let kill = std::process::Command::new("kill").arg(child.id().to_string()).status().unwrap();
    assert!(kill.success());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

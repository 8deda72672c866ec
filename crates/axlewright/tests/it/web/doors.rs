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
    // This machine's own browser needs none.
    page.get("/").is(200);
}

/// A device elsewhere that was paired, as whose: the header with its cookie.
fn paired(page: &Page, host: &str, person: &str) -> String {
    let origin = format!("Origin: http://{host}\r\n");
    let code = page.running().pairing_code().unwrap();
    let fields = form(&[("code", &code), ("by", person)]);
    let answer = ask(host, "POST", "/pair", &origin, &fields).is(303);
    let cookie = answer.header("set-cookie").unwrap().split(';').next().unwrap().to_owned();
    format!("{origin}Cookie: {cookie}\r\n")
}

#[test]
#[cfg(target_os = "linux")]
fn guessing_is_slowed_down_changes_no_code_and_says_little() {
    let page = Page::served(true);
    let host = elsewhere(&page);
    let origin = format!("Origin: http://{host}\r\n");
    let code = page.running().pairing_code().unwrap();
    let pair = |code: &str| ask(&host, "POST", "/pair", &origin, &form(&[("code", code)]));
    for _ in 1..5 {
        pair("WRONGONE").says(403, "not the code");
    }
    for _ in 0..3 {
        let answer = pair("WRONGONE").says(429, "Wait a minute");
        assert_eq!(answer.header("retry-after"), Some("60"));
    }
    // The code stands, and another address is let in by it at once.
    assert_eq!(page.running().pairing_code().unwrap(), code);
    pair(&code).is(429);
    let other = format!("127.0.0.1:{}", page.running().port());
    let settings = ask(&other, "GET", "/settings", "", "").is(200).text();
    assert!(settings.contains(&code), "the code is no other on the screen");
    let said = page.said();
    let lines = said.iter().filter(|line| line.contains("wrong codes")).count();
    assert!(lines == 1 && said.len() <= 2, "{said:?}");
}

#[test]
#[cfg(target_os = "linux")]
fn a_device_is_somebodys_and_signs_with_no_other_name() {
    let page = Page::served(true);
    let host = elsewhere(&page);
    let ida = paired(&page, &host, "Ida");
    let sign = |headers: &str, name: &str| {
        ask(
            &host,
            "POST",
            "/sign",
            headers,
            &form(&[("of", "job"), ("name", name), ("in_spite", "a test")]),
        )
    };
    page.writes_nothing(|_| sign(&ida, "Max")).says(422, "this device is Ida’s, and signs");
    sign(&ida, "Ida").is(303);
    // What it says of itself in a cookie of its own making does not count.
    let headers = ida.replace("Cookie: ", "Cookie: axlewright_by=4d6178; ");
    ask(&host, "POST", "/log", &headers, &form(&[("text", "whose?")])).is(303);
    let log = page.get("/log").text();
    assert!(log.contains("Ida · note") && !log.contains("Max · note"), "{log}");
    // Nor does it give itself another name, or anybody else one.
    let rename = form(&[("id", "1"), ("do", "name"), ("by", "Max")]);
    ask(&host, "POST", "/settings/device", &ida, &rename).says(403, "at the machine");
    // One that nobody has named does not sign until it is named.
    let unnamed = paired(&page, &host, "");
    sign(&unnamed, "Max").says(422, "nobody has said whose device this is");
    ask(&host, "POST", "/settings", &unnamed, &form(&[("by", "Max")])).is(303);
    ask(&host, "POST", "/settings", &unnamed, &form(&[("by", "Ida")])).is(303);
    sign(&unnamed, "Ida").says(422, "this device is Max’s");
}

#[test]
#[cfg(target_os = "linux")]
fn devices_are_listed_and_forgotten_at_the_machine_itself() {
    let page = Page::served(true);
    let host = elsewhere(&page);
    let [ida, max] = ["Ida", "Max"].map(|person| paired(&page, &host, person));
    let list = page.get("/settings").is(200).text();
    assert!(list.contains("value=\"Ida\"") && list.contains("Forget device 2"), "{list}");
    // A device sees itself alone, and neither the code nor the others.
    let own = ask(&host, "GET", "/settings", &ida, "").is(200).text();
    let code = page.running().pairing_code().unwrap();
    assert!(own.contains("Leave: let it in no longer"), "{own}");
    assert!(!own.contains(&code) && !own.contains("Max"), "{own}");
    page.post("/settings/device", &[("id", "1"), ("do", "name"), ("by", "Eva")]).is(303);
    assert!(page.get("/settings").text().contains("value=\"Eva\""));
    page.post("/settings/device", &[("id", "1"), ("do", "forget")]).is(303);
    assert_eq!(ask(&host, "GET", "/", &ida, "").is(303).header("location"), Some("/pair"));
    ask(&host, "GET", "/", &max, "").is(200);
    let forget = |id: &str| form(&[("id", id), ("do", "forget")]);
    ask(&host, "POST", "/settings/device", &max, &forget("1")).is(403);
    ask(&host, "POST", "/settings/device", &max, &forget("2")).is(303);
    ask(&host, "GET", "/", &max, "").is(303);
    page.post("/settings/device", &[("id", "2"), ("do", "forget")]).is(404);
}

#[test]
#[cfg(target_os = "linux")]
fn strangers_keep_nobody_out() {
    let page = Page::served(true);
    let host = elsewhere(&page);
    let phone = paired(&page, &host, "Ida");
    // Many more than there are places, and they go on coming.
    let mut crowd = Vec::new();
    for _ in 0..144 {
        let mut stream = connect(&host);
        stream.write_all(b"GET / HTTP/1.1\r\nHost: 127").unwrap();
        crowd.push(stream);
    }
    for _ in 0..20 {
        page.get("/").is(200);
        ask(&host, "GET", "/", &phone, "").is(200);
        crowd.push(connect(&host));
    }
    // And whoever comes to pair is let in at the first try.
    paired(&page, &host, "Max");
    drop(crowd);
}

#[test]
fn another_page_gets_nothing_out_of_this_one() {
    let page = Page::open();
    let ask = |path: &str, site: &str, mode: &str, dest: &str| {
        let host = &page.host;
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nSec-Fetch-Site: {site}\r\nSec-Fetch-Mode: \
             {mode}\r\nSec-Fetch-Dest: {dest}\r\nConnection: close\r\n\r\n"
        );
        page.send(head.as_bytes()).status
    };
    let rows = [
        ("/dossier/file", "cross-site", "no-cors", "image", 403),
        ("/dossier/file", "cross-site", "navigate", "iframe", 403),
        ("/dossier/file", "cross-site", "navigate", "document", 403),
        ("/wheels/forecast", "same-site", "navigate", "document", 403),
        ("/log", "cross-site", "no-cors", "script", 403),
        ("/log", "same-site", "cors", "empty", 403),
        ("/log", "cross-site", "navigate", "iframe", 403),
        // A link in a letter leads here, as a link does.
        ("/log", "cross-site", "navigate", "document", 200),
        ("/log", "none", "navigate", "document", 200),
        ("/dossier/sheet", "same-origin", "navigate", "document", 200),
        ("/events", "cross-site", "cors", "empty", 403),
    ];
    for (path, site, mode, dest, wanted) in rows {
        assert_eq!(ask(path, site, mode, dest), wanted, "{path} {site} {mode} {dest}");
    }
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

/// A browser that takes exactly one certificate, by its fingerprint, whoever vouches for it.
#[cfg(all(target_os = "linux", feature = "tls"))]
mod secret {
    use std::io::{Read, Write};
    use std::sync::Arc;

    use rustls::client::danger::{HandshakeSignatureValid, ServerCertVerified, ServerCertVerifier};
    use rustls::pki_types::{CertificateDer, ServerName, UnixTime};
    use rustls::{DigitallySignedStruct, Error, SignatureScheme};
    use sha2::{Digest, Sha256};
    use tokio_rustls::rustls;

    #[derive(Debug)]
    pub struct Only(pub String);

    impl ServerCertVerifier for Only {
        fn verify_server_cert(
            &self,
            shown: &CertificateDer<'_>,
            _: &[CertificateDer<'_>],
            _: &ServerName<'_>,
            _: &[u8],
            _: UnixTime,
        ) -> Result<ServerCertVerified, Error> {
            let digest: Vec<String> =
                Sha256::digest(shown).iter().map(|byte| format!("{byte:02X}")).collect();
            match digest.join(":") == self.0 {
                true => Ok(ServerCertVerified::assertion()),
                false => Err(Error::General("another certificate".to_owned())),
            }
        }

        fn verify_tls12_signature(
            &self,
            _: &[u8],
            _: &CertificateDer<'_>,
            _: &DigitallySignedStruct,
        ) -> Result<HandshakeSignatureValid, Error> {
            Err(Error::General("too old".to_owned()))
        }

        fn verify_tls13_signature(
            &self,
            said: &[u8],
            shown: &CertificateDer<'_>,
            signed: &DigitallySignedStruct,
        ) -> Result<HandshakeSignatureValid, Error> {
            let known = rustls::crypto::ring::default_provider().signature_verification_algorithms;
            rustls::crypto::verify_tls13_signature(said, shown, signed, &known)
        }

        fn supported_verify_schemes(&self) -> Vec<SignatureScheme> {
            vec![SignatureScheme::ECDSA_NISTP256_SHA256]
        }
    }

    /// Sends something in secret and gives back the whole answer.
    pub fn ask(host: &str, fingerprint: &str, bytes: &[u8]) -> std::io::Result<String> {
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = rustls::ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .dangerous()
            .with_custom_certificate_verifier(Arc::new(Only(fingerprint.to_owned())))
            .with_no_client_auth();
        let name = ServerName::try_from("127.0.0.2").unwrap();
        let talk = rustls::ClientConnection::new(Arc::new(config), name).unwrap();
        let mut stream = rustls::StreamOwned::new(talk, super::connect(host));
        stream.write_all(bytes)?;
        let mut answer = Vec::new();
        // How the other side hangs up says nothing about what it said.
        let _ = stream.read_to_end(&mut answer);
        Ok(String::from_utf8_lossy(&answer).into_owned())
    }
}

#[test]
#[cfg(all(target_os = "linux", feature = "tls"))]
fn what_goes_to_another_device_can_be_secret() {
    let page = Page::with(axlewright::web::Options { lan: true, tls: true, ..Default::default() });
    let host = elsewhere(&page);
    let fingerprint = page.running().fingerprint().unwrap().to_owned();
    let send = |method: &str, path: &str, headers: &str, body: &str| {
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nAccept: text/html\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\
             {headers}\r\n{body}",
            body.len()
        );
        secret::ask(&host, &fingerprint, head.as_bytes()).unwrap()
    };
    // In clear nothing is told but where to go.
    let answer = ask(&host, "GET", "/pair?code=ABCDEFGH", "", "").is(308);
    assert_eq!(answer.header("location"), Some(&*format!("https://{host}/pair")));
    let origin = format!("Origin: https://{host}\r\n");
    let code = form(&[("code", &page.running().pairing_code().unwrap()), ("by", "Ida")]);
    let in_clear = format!("Origin: http://{host}\r\n");
    assert!(send("POST", "/pair", &in_clear, &code).starts_with("HTTP/1.1 403"));
    let answer = send("POST", "/pair", &origin, &code);
    let cookie = answer.split("set-cookie: ").nth(1).unwrap().split("\r\n").next().unwrap();
    assert!(cookie.contains("; Secure") && cookie.contains("HttpOnly"), "{cookie}");
    assert!(cookie.starts_with("__Host-") && cookie.contains("; Path=/;"), "{cookie}");
    let cookie = format!("Cookie: {}\r\n", cookie.split(';').next().unwrap());
    let shown = send("GET", "/log", &cookie, "");
    assert!(shown.starts_with("HTTP/1.1 200") && shown.contains("camera=(self)"), "{shown}");
    let written = send("POST", "/log", &format!("{origin}{cookie}"), &form(&[("text", "secret")]));
    assert!(written.starts_with("HTTP/1.1 303"), "{written}");
    // A certificate that somebody else put in its place is not taken by whoever compares.
    let other = fingerprint.replace(['A', '1'], "0");
    assert!(secret::ask(&host, &other, b"GET / HTTP/1.1\r\n\r\n").is_err());
    // This machine's own browser needs no secrecy; the picture holds the fingerprint.
    page.get("/").is(200);
    let picture = page.running().invitation();
    let bare = fingerprint.replace(':', "").to_lowercase();
    assert!(picture.is_none_or(|picture| picture.ends_with(&format!("#sha256-{bare}"))));
    assert!(page.get("/settings").text().contains(&fingerprint));
}

//! Word of every change, to everybody who listens.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;

use super::Page;

/// The next line that begins like this.
fn next(lines: &mut BufReader<TcpStream>, begins: &str) -> String {
    loop {
        let mut line = String::new();
        assert_ne!(lines.read_line(&mut line).unwrap(), 0, "the stream ended");
        if let Some(rest) = line.strip_prefix(begins) {
            return rest.trim().to_owned();
        }
    }
}

fn listen(page: &Page) -> BufReader<TcpStream> {
    let mut stream = page.connect();
    let head = format!("GET /events HTTP/1.1\r\nHost: {}\r\n\r\n", page.host);
    stream.write_all(head.as_bytes()).unwrap();
    BufReader::new(stream)
}

#[test]
fn two_devices_hear_of_every_entry_by_its_number() {
    let page = Page::served(false);
    let mut devices = [listen(&page), listen(&page)];
    let first = page.seq();
    for device in &mut devices {
        assert_eq!(next(device, "id: "), first.to_string());
    }
    for n in 1..=3 {
        page.post("/log", &[("text", "one more")]).is(303);
        for device in &mut devices {
            assert_eq!(next(device, "id: "), (first + n).to_string());
        }
    }
}

#[test]
fn what_one_device_writes_the_other_sees_on_its_next_look() {
    let page = Page::served(false);
    let before = page.get("/wheels").text();
    assert!(!before.contains("hub nuts at the corner shop"));
    let fields = [("what", "hub nuts at the corner shop"), ("due_km", "100")];
    page.post("/wheels/recheck", &fields).is(303);
    // Screens are kept ready-made; a kept one must not outlive the entry.
    assert!(page.get("/wheels").text().to_lowercase().contains("hub nuts at the corner shop"));
}

#[test]
fn an_end_is_an_end_for_those_who_listen_too() {
    let page = Page::served(false);
    let mut device = listen(&page);
    next(&mut device, "id: ");
    page.stop();
    let mut rest = String::new();
    while device.read_line(&mut rest).is_ok_and(|count| 0 < count) {}
}

#[test]
fn a_device_listens_with_three_tabs_and_the_oldest_of_more_is_told() {
    let page = Page::served(false);
    // One after the other, each waited for: which is the oldest is then no accident.
    let in_turn = |_| {
        let mut tab = listen(&page);
        next(&mut tab, "id: ");
        tab
    };
    let mut tabs: Vec<BufReader<TcpStream>> = (0..3).map(in_turn).collect();
    let mut more: Vec<BufReader<TcpStream>> = (0..6).map(in_turn).collect();
    // Those that had to go were told so, and their streams have ended.
    for tab in tabs.iter_mut().chain(more.iter_mut().take(3)) {
        assert_eq!(next(tab, "event: enough"), "");
        let mut rest = String::new();
        while tab.read_line(&mut rest).is_ok_and(|count| 0 < count && rest.len() < 1_000) {}
        assert!(!rest.contains("change"), "{rest}");
    }
    let seq = page.seq();
    page.post("/log", &[("text", "heard by three")]).is(303);
    for tab in more.iter_mut().skip(3) {
        assert_eq!(next(tab, "id: "), (seq + 1).to_string());
    }
}

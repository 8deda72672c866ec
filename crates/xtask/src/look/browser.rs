//! A headless Chromium, spoken to in the DevTools protocol over a pipe.
//!
//! A pipe instead of a port: nothing listens, nothing has to be found free, and the browser ends
//! by itself when we do, however we end.

use std::io::{BufRead, BufReader, Write};
use std::path::PathBuf;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

/// No single step of a page may take longer.
const PATIENCE: Duration = Duration::from_secs(60);
const QUIET: &[&str] = &[
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--remote-debugging-pipe",
];
/// The protocol is spoken on descriptors 3 and 4; the shell lays our pipes there.
const REDIRECT: &str = r#"exec "$0" "$@" 3<&0 </dev/null 4>&1 >/dev/null 2>"$BROWSER_LOG""#;

pub struct Browser {
    child: Child,
    to: ChildStdin,
    from: Receiver<Value>,
    profile: PathBuf,
    last_id: u64,
    /// Events that came while an answer was awaited.
    events: Vec<Value>,
}

/// How a page is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct View {
    pub name: &'static str,
    pub width: u32,
    pub height: u32,
    /// Device pixels per CSS pixel in pictures.
    pub scale: f64,
    /// A phone: the page's own viewport line decides about the layout width.
    pub phone: bool,
    pub dark: bool,
}

impl Browser {
    pub fn start() -> Result<Self, String> {
        let profile = crate::root().join("target").join(format!("browser-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&profile);
        std::fs::create_dir_all(&profile).map_err(|error| error.to_string())?;
        let mut child = Command::new("sh")
            .args(["-c", REDIRECT, "chromium"])
            .args(QUIET)
            .arg(format!("--user-data-dir={}", profile.display()))
            .env("BROWSER_LOG", profile.join("log.txt"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .map_err(|error| format!("chromium could not be started: {error}"))?;
        let (Some(to), Some(out)) = (child.stdin.take(), child.stdout.take()) else {
            return Err("chromium has no pipes".to_owned());
        };
        let (send, from) = channel();
        std::thread::spawn(move || {
            for message in BufReader::new(out).split(0).map_while(Result::ok) {
                let Ok(message) = serde_json::from_slice(&message) else { continue };
                if send.send(message).is_err() {
                    break;
                }
            }
        });
        let mut browser = Self { child, to, from, profile, last_id: 0, events: Vec::new() };
        browser.call(None, "Browser.getVersion", json!({}))?;
        Ok(browser)
    }

    /// Opens an address in a new page under that view, and waits until it stands still.
    pub fn open(&mut self, address: &str, view: View) -> Result<Page<'_>, String> {
        let target = self.call(None, "Target.createTarget", json!({"url": "about:blank"}))?;
        let attach = json!({"targetId": target["targetId"], "flatten": true});
        let session = self.call(None, "Target.attachToTarget", attach)?;
        let session = session["sessionId"].as_str().unwrap_or_default().to_owned();
        let target = target["targetId"].clone();
        let mut page = Page { browser: self, session, target };
        for domain in ["Page.enable", "Network.enable", "Runtime.enable", "Log.enable"] {
            page.call(domain, json!({}))?;
        }
        page.show_as(view)?;
        page.browser.events.clear();
        let went = page.call("Page.navigate", json!({"url": address}))?;
        if let Some(why) = went["errorText"].as_str() {
            return Err(format!("{address}: {why}"));
        }
        page.wait_for("Page.loadEventFired")?;
        page.settle()?;
        Ok(page)
    }

    fn call(&mut self, session: Option<&str>, method: &str, with: Value) -> Result<Value, String> {
        self.last_id += 1;
        let mut message = json!({"id": self.last_id, "method": method, "params": with});
        if let Some(session) = session {
            message["sessionId"] = json!(session);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        let sent = self.to.write_all(&bytes).and_then(|()| self.to.flush());
        sent.map_err(|error| format!("{method}: the browser is gone ({error}){}", self.log()))?;
        let until = Instant::now() + PATIENCE;
        loop {
            let message = self.next(until).map_err(|why| format!("{method}: {why}"))?;
            if message["id"] != json!(self.last_id) {
                self.events.push(message);
            } else if let Some(error) = message.get("error") {
                return Err(format!("{method}: {error}"));
            } else {
                return Ok(message["result"].clone());
            }
        }
    }

    fn next(&self, until: Instant) -> Result<Value, String> {
        let left = until.saturating_duration_since(Instant::now());
        self.from
            .recv_timeout(left)
            .map_err(|_| format!("no answer from the browser{}", self.log()))
    }

    /// What the browser last said, for the error message.
    fn log(&self) -> String {
        let log = std::fs::read_to_string(self.profile.join("log.txt")).unwrap_or_default();
        log.lines().last().map(|line| format!("; it said: {line}")).unwrap_or_default()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Asked first, so that its helpers go with it; then made sure of. Nothing more can be
        // done about a failure here.
        let _ = self.call(None, "Browser.close", json!({}));
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = std::fs::remove_dir_all(&self.profile);
    }
}

/// One open page.
pub struct Page<'a> {
    browser: &'a mut Browser,
    session: String,
    target: Value,
}

impl Drop for Page<'_> {
    fn drop(&mut self) {
        // Left open it would only cost memory until the browser ends.
        let _ = self.browser.call(None, "Target.closeTarget", json!({"targetId": self.target}));
    }
}

impl Page<'_> {
    pub fn call(&mut self, method: &str, with: Value) -> Result<Value, String> {
        let session = self.session.clone();
        self.browser.call(Some(&session), method, with)
    }

    pub fn show_as(&mut self, view: View) -> Result<(), String> {
        let size = json!({"width": view.width, "height": view.height, "mobile": view.phone,
            "deviceScaleFactor": view.scale});
        self.call("Emulation.setDeviceMetricsOverride", size)?;
        let scheme = if view.dark { "dark" } else { "light" };
        self.media("screen", scheme)
    }

    /// As on paper, so that the rules for print can be asked about.
    pub fn media(&mut self, media: &str, scheme: &str) -> Result<(), String> {
        let features = json!([{"name": "prefers-color-scheme", "value": scheme}]);
        let with = json!({"media": media, "features": features});
        self.call("Emulation.setEmulatedMedia", with).map(|_| ())
    }

    /// The value of a JavaScript expression; promises are awaited.
    pub fn value(&mut self, expression: &str) -> Result<Value, String> {
        let with = json!({"expression": expression, "returnByValue": true, "awaitPromise": true});
        let got = self.call("Runtime.evaluate", with)?;
        if let Some(thrown) = got.get("exceptionDetails") {
            return Err(format!("script failed: {}", thrown["exception"]["description"]));
        }
        Ok(got["result"]["value"].clone())
    }

    /// Waits until the letters are there and two frames were drawn.
    pub fn settle(&mut self) -> Result<(), String> {
        self.value(
            "document.fonts.ready.then(() => new Promise(done => \
             requestAnimationFrame(() => requestAnimationFrame(() => done(true)))))",
        )
        .map(|_| ())
    }

    /// A picture (PNG, as base64) of a part of the page, in CSS pixels from its top left corner.
    pub fn picture(&mut self, top: f64, width: f64, height: f64) -> Result<String, String> {
        let clip = json!({"x": 0, "y": top, "width": width, "height": height, "scale": 1});
        let with = json!({"format": "png", "captureBeyondViewport": true, "clip": clip});
        let got = self.call("Page.captureScreenshot", with)?;
        got["data"].as_str().map(str::to_owned).ok_or_else(|| "no picture came".to_owned())
    }

    /// The page printed on paper of that size in inches (PDF, as base64), as it would be from any
    /// window: what was emulated before is taken back, or the screen's rules would be printed.
    pub fn print(&mut self, width: f64, height: f64) -> Result<String, String> {
        self.call("Emulation.setEmulatedMedia", json!({"media": "", "features": []}))?;
        self.call("Emulation.clearDeviceMetricsOverride", json!({}))?;
        let with = json!({"paperWidth": width, "paperHeight": height, "printBackground": false});
        let got = self.call("Page.printToPDF", with)?;
        got["data"].as_str().map(str::to_owned).ok_or_else(|| "no print came".to_owned())
    }

    /// Every address that was asked for since the page was opened.
    pub fn requests(&self) -> Vec<String> {
        self.events_of("Network.requestWillBeSent")
            .filter_map(|event| event["params"]["request"]["url"].as_str().map(str::to_owned))
            .collect()
    }

    /// What the page complained about: uncaught errors and refused resources.
    pub fn complaints(&self) -> Vec<String> {
        let thrown = self
            .events_of("Runtime.exceptionThrown")
            .map(|event| event["params"]["exceptionDetails"]["text"].to_string());
        let logged = self
            .events_of("Log.entryAdded")
            .map(|event| &event["params"]["entry"])
            .filter(|entry| entry["level"] == "error")
            .map(|entry| entry["text"].to_string());
        thrown.chain(logged).collect()
    }

    fn events_of<'b>(&'b self, method: &'b str) -> impl Iterator<Item = &'b Value> {
        let ours = move |event: &&Value| {
            event["method"] == method && event["sessionId"] == self.session.as_str()
        };
        self.browser.events.iter().filter(ours)
    }

    fn wait_for(&mut self, method: &str) -> Result<(), String> {
        let until = Instant::now() + PATIENCE;
        while self.events_of(method).next().is_none() {
            let event = self.browser.next(until).map_err(|why| format!("{method}: {why}"))?;
            self.browser.events.push(event);
        }
        Ok(())
    }
}

/// The bytes behind base64 text; other letters are passed over.
pub fn from_base64(text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    let (mut bits, mut count) = (0_u32, 0);
    for letter in text.bytes() {
        let six = match letter {
            b'A'..=b'Z' => letter - b'A',
            b'a'..=b'z' => letter - b'a' + 26,
            b'0'..=b'9' => letter - b'0' + 52,
            b'+' => 62,
            b'/' => 63,
            _ => continue,
        };
        bits = bits << 6 | u32::from(six);
        count += 6;
        if count >= 8 {
            count -= 8;
            bytes.push((bits >> count & 0xff) as u8);
        }
    }
    bytes
}

#[cfg(test)]
mod tests {
    use super::from_base64;

    #[test]
    fn base64_reads_the_vectors_of_rfc_4648() {
        let vectors: &[(&str, &str)] = &[
            ("", ""),
            ("Zg==", "f"),
            ("Zm8=", "fo"),
            ("Zm9v", "foo"),
            ("Zm9vYg==", "foob"),
            ("Zm9vYmE=", "fooba"),
            ("Zm9vYmFy", "foobar"),
        ];
        for (text, bytes) in vectors {
            assert_eq!(from_base64(text), bytes.as_bytes(), "{text}");
        }
    }
}

//! What all screens share: the car, who may see it, and pages already made.

use std::collections::HashMap;
use std::net::SocketAddr;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, PreEscaped, html};
use tokio::sync::{Semaphore, watch};

use super::fields::ONCE_HERE;
use super::frame::{self, NotWritten, Screen};
use super::live::Listeners;
use super::pairing::{self, Pairing};
use super::prefs::Prefs;
use super::screens::Document;
use super::standing;
use super::tls::Tls;
use crate::desk::bench::{Bench, View};

/// Pages kept per state of the book; a car has a few hundred.
const PAGES_KEPT_MAX: usize = 1024;

/// Photos that may be on their way here at one time; each is held in memory.
const UPLOADS_MAX: usize = 4;

/// Between two lines that others can bring about at will.
const RARELY: Duration = Duration::from_secs(10);

/// Shared by every request.
pub(super) type Shared = Arc<Site>;

/// The car and its page.
#[derive(Debug)]
pub(super) struct Site {
    pub(super) bench: Bench,
    /// Codes and devices; nothing where only this machine is served.
    pub(super) pairing: Option<Pairing>,
    /// What it takes to encrypt what goes to other devices, where that is wanted.
    pub(super) tls: Option<Tls>,
    own: Option<SocketAddr>,
    ended: watch::Sender<bool>,
    /// How often it has changed whether the book is where it was.
    pub(super) standing: watch::Sender<u64>,
    /// What was last said about where the book is.
    pub(super) moved: Mutex<Option<String>>,
    said_rarely: Mutex<Option<Instant>>,
    pub(super) listeners: Listeners,
    kept: Mutex<Kept>,
    say: Say,
    /// Who writes where a device names nobody.
    pub(super) by: String,
    /// Tells the drafts that a device keeps for this book from those for another.
    book: String,
    /// Tells the pages of this start from those of any other.
    start: String,
    /// The number of the next page that goes out.
    next_page: AtomicU64,
    /// One photo is taken in at a time: decoding needs much memory.
    pub(super) photos: Semaphore,
    /// Photos on their way here.
    pub(super) uploads: Semaphore,
    /// The last document that was made, of which view: it may be large, and is made one at a time.
    pub(super) document: tokio::sync::Mutex<Option<(Document, Arc<View>, Arc<str>)>>,
}

/// How other devices come here.
#[derive(Debug)]
pub(super) struct Lan {
    /// Codes and devices; nothing where only this machine is served.
    pub(super) pairing: Option<Pairing>,
    /// What it takes to encrypt.
    pub(super) tls: Option<Tls>,
    /// Where they find this machine.
    pub(super) own: Option<SocketAddr>,
}

/// Says a line where the program was started.
#[derive(Clone)]
pub struct Say(Arc<dyn Fn(&str) + Send + Sync>);

impl Say {
    /// Through a function that may be called from any thread.
    pub fn new(say: impl Fn(&str) + Send + Sync + 'static) -> Self {
        Self(Arc::new(say))
    }
}

impl std::fmt::Debug for Say {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Say")
    }
}

/// What was made from one view, and the view.
#[derive(Debug, Default)]
struct Kept {
    of: Option<Arc<View>>,
    pages: HashMap<(Screen, String), Arc<str>>,
}

impl Site {
    pub(super) fn new(
        bench: Bench,
        Lan { pairing, tls, own }: Lan,
        (say, by): (Say, String),
    ) -> Self {
        let (ended, _) = watch::channel(false);
        let (photos, uploads) = (Semaphore::new(1), Semaphore::new(UPLOADS_MAX));
        // A book is known by its first line; a car file alone is not written to.
        let first = bench.hash(1).ok().flatten();
        let book = first.map(|sha| sha.to_string().chars().take(16).collect()).unwrap_or_default();
        Self {
            bench,
            pairing,
            tls,
            own,
            ended,
            standing: watch::channel(0).0,
            moved: Mutex::default(),
            said_rarely: Mutex::default(),
            listeners: Listeners::default(),
            kept: Mutex::default(),
            say,
            by,
            book,
            start: pairing::mark(),
            next_page: AtomicU64::new(1),
            photos,
            uploads,
            document: tokio::sync::Mutex::default(),
        }
    }

    /// The code that is good now; nothing where only this machine is served.
    pub(super) fn code(&self) -> Option<String> {
        let (code, _) = self.pairing.as_ref()?.code(Instant::now()).ok()?;
        Some(code)
    }

    /// Says the code for a device that wants to pair where the program was started, if it is one
    /// that was not said yet.
    pub(super) fn tell_code(&self) {
        let Some(pairing) = &self.pairing else { return };
        if let Ok((code, true)) = pairing.code(Instant::now()) {
            self.say(&format!("Code for the next device: {code}"));
        }
    }

    /// Says something that others can bring about at will: at most once in a while.
    pub(super) fn say_rarely(&self, line: &str) {
        let now = Instant::now();
        let mut last = self.said_rarely.lock().unwrap_or_else(PoisonError::into_inner);
        if last.is_none_or(|last| RARELY <= now.saturating_duration_since(last)) {
            *last = Some(now);
            self.say(line);
        }
    }

    /// Says a line where the program was started.
    pub(super) fn say(&self, line: &str) {
        (self.say.0)(line);
    }

    /// Where another device pairs: address and code in one.
    pub(super) fn invitation(&self) -> Option<String> {
        let (code, own) = (self.code()?, self.own?);
        Some(match &self.tls {
            // Behind the mark nothing is sent anywhere: it is there to be compared.
            Some(tls) => {
                let fingerprint = tls.fingerprint().replace(':', "").to_lowercase();
                format!("https://{own}/pair?code={code}#sha256-{fingerprint}")
            }
            None => format!("http://{own}/pair?code={code}"),
        })
    }

    /// Turns true when the server ends.
    pub(super) fn ended(&self) -> watch::Receiver<bool> {
        self.ended.subscribe()
    }

    pub(super) fn end(&self) {
        self.ended.send_replace(true);
    }

    /// A screen of the car as it is now. What was made once is kept for as long as the car stays
    /// as it is; `key` tells apart what one screen can show.
    pub(super) async fn screen(
        &self,
        prefs: &Prefs,
        screen: Screen,
        key: String,
        make: impl FnOnce(&View) -> Markup + Send + 'static,
    ) -> Response {
        let view = self.bench.look();
        let body = match self.kept(&view, screen, &key) {
            Some(body) => body,
            None => {
                let seen = Arc::clone(&view);
                // A first look at an order takes a second; others are not to wait for it.
                let made = tokio::task::spawn_blocking(move || make(&seen).into_string()).await;
                let Ok(made) = made else { return super::tell::sorry() };
                let body: Arc<str> = made.into();
                self.keep(&view, screen, key, &body);
                body
            }
        };
        self.framed((prefs, None), &view, screen, &PreEscaped(body))
    }

    /// A screen that is made for this one answer: a form that came back, a result.
    pub(super) fn once(&self, prefs: &Prefs, screen: Screen, body: Markup) -> Response {
        let view = self.bench.look();
        self.framed((prefs, None), &view, screen, &body)
    }

    /// The screen that a form was sent from, and why nothing was written.
    pub(super) fn refused(
        &self,
        prefs: &Prefs,
        screen: Screen,
        body: Markup,
        why: &NotWritten,
    ) -> Response {
        let view = self.bench.look();
        self.framed((prefs, Some(why)), &view, screen, &body)
    }

    fn framed<T: AsRef<str>>(
        &self,
        for_whom: (&Prefs, Option<&NotWritten>),
        view: &View,
        screen: Screen,
        body: &PreEscaped<T>,
    ) -> Response {
        let body = html! { (standing::banner(self)) (PreEscaped(body.0.as_ref())) };
        let of = (view, self.by.as_str(), self.book.as_str());
        let page = frame::frame(for_whom, of, screen, &body.0).into_string();
        // Pages are kept and go out many times; what is typed into each has its own number.
        let number = self.next_page.fetch_add(1, Ordering::Relaxed);
        Html(page.replace(ONCE_HERE, &format!("{}-{number}", self.start))).into_response()
    }

    fn kept(&self, view: &Arc<View>, screen: Screen, key: &str) -> Option<Arc<str>> {
        let kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let is_same = kept.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, view));
        is_same.then(|| kept.pages.get(&(screen, key.to_owned())).cloned()).flatten()
    }

    fn keep(&self, view: &Arc<View>, screen: Screen, key: String, body: &Arc<str>) {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if !kept.of.as_ref().is_some_and(|of| Arc::ptr_eq(of, view)) {
            // A slower thread may come with an older view: then it is that one's pages for a while.
            *kept = Kept { of: Some(Arc::clone(view)), pages: HashMap::new() };
        }
        if kept.pages.len() < PAGES_KEPT_MAX {
            kept.pages.insert((screen, key), Arc::clone(body));
        }
    }
}

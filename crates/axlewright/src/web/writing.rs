//! From a form to an entry in the log: written and on the disk, or back with the reason.

use std::sync::Arc;

use axlewright_book::log::{Body, Sha};
use axlewright_store::StoreError;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use maud::Markup;

use super::fields::{ENTER, Fill, ONCE, Wrong};
use super::form::{Fields, escape};
use super::frame::{NotWritten, Screen};
use super::prefs::{self, Prefs};
use super::site::Shared;
use super::standing::{Remark, in_public};
use super::tell;
use crate::desk::bench::{Bench, Hand, Refused, View, Written};

/// A form that was sent: which one, from which screen, and where to go when it is written.
#[derive(Debug)]
pub(super) struct Form<'a> {
    pub(super) site: &'a Shared,
    pub(super) prefs: &'a Prefs,
    pub(super) screen: Screen,
    pub(super) name: String,
    pub(super) sent: Fields,
    pub(super) then: String,
}

impl Form<'_> {
    /// Writes an entry and goes on, or shows the screen again with what was typed and what is
    /// wrong with it.
    pub(super) async fn write(
        self,
        body: Result<Body, Wrong>,
        again: impl FnOnce(&View, &Fill) -> Markup + Send + 'static,
    ) -> Response {
        match body {
            _ if self.is_by_key() => self.refuse_key(again).await,
            Ok(body) => self.act(move |bench, hand| bench.write(hand, body), again).await,
            Err(wrong) => self.refuse(StatusCode::UNPROCESSABLE_ENTITY, wrong, again).await,
        }
    }

    /// The same for anything that writes.
    pub(super) async fn act(
        self,
        act: impl FnOnce(&Bench, Hand<'_>) -> Result<Written, Refused> + Send + 'static,
        again: impl FnOnce(&View, &Fill) -> Markup + Send + 'static,
    ) -> Response {
        if self.is_by_key() {
            return self.refuse_key(again).await;
        }
        let (site, by, once) = (Arc::clone(self.site), self.by(), self.once());
        // Writing waits for the disk, and the figures are computed on the way. It goes on when the
        // device hangs up in the middle.
        let work = move || act(&site.bench, Hand { by: &by, once });
        match tokio::task::spawn_blocking(work).await {
            Ok(Ok(written)) => self.go_on(written.seq),
            Ok(Err(refused)) => {
                let (status, wrong) = self.words(&refused);
                self.refuse(status, wrong, again).await
            }
            Err(_) => tell::sorry(),
        }
    }

    /// Whether a key sent it, and no button: then nobody said what is to be written.
    pub(super) fn is_by_key(&self) -> bool {
        self.sent.get(ENTER).is_some()
    }

    async fn refuse_key(
        self,
        again: impl FnOnce(&View, &Fill) -> Markup + Send + 'static,
    ) -> Response {
        self.refuse(StatusCode::UNPROCESSABLE_ENTITY, Wrong::by_key(), again).await
    }

    fn by(&self) -> String {
        self.prefs.by.clone().unwrap_or_else(|| self.site.by.clone())
    }

    /// Which form it is: its name and all that stands in it, the number of its page too. A greasy
    /// thumb taps twice, an answer is lost on its way, the other machine is switched off in
    /// between: the same form is the same hash, and is written once.
    fn once(&self) -> Option<Sha> {
        self.sent.get(ONCE)?;
        // Lengths in front, so that no two rows of fields make the same bytes.
        let mut bytes = Vec::new();
        let mut add = |text: &str| {
            bytes.extend((text.len() as u64).to_le_bytes());
            bytes.extend(text.as_bytes());
        };
        add(&self.name);
        self.sent.pairs().for_each(|(name, value)| [name, value].into_iter().for_each(&mut add));
        Some(Sha::of(&bytes))
    }

    /// The answer to a form that was written before, for a screen that would refuse it by what has
    /// come of it.
    pub(super) async fn already(&self) -> Option<Response> {
        let (site, once) = (Arc::clone(self.site), Some(self.once()?));
        let known = tokio::task::spawn_blocking(move || site.bench.already(once)).await;
        let seqs = known.ok()?.ok()??;
        Some(self.go_on(seqs.first().copied()?))
    }

    fn go_on(&self, seq: u64) -> Response {
        let sign = if self.then.contains('?') { '&' } else { '?' };
        let (path, place) = self.then.split_once('#').unwrap_or((&self.then, ""));
        let place = if place.is_empty() { String::new() } else { format!("#{place}") };
        let to = format!("{path}{sign}wrote={seq}&form={}{place}", escape(&self.name));
        let mut response = Redirect::to(&to).into_response();
        if let Ok(cookie) = HeaderValue::from_str(&prefs::wrote_cookie(seq)) {
            response.headers_mut().append(header::SET_COOKIE, cookie);
        }
        response
    }

    /// A refusal in words that give away no file and no folder; the terminal gets all of it.
    fn words(&self, refused: &Refused) -> (StatusCode, Wrong) {
        let wrong = |what: &str, right: &str| Wrong::new("", what, right);
        if let Refused::NotABook(_) = refused {
            let right = "start a book from it with `axlewright book new` and serve that";
            return (StatusCode::CONFLICT, wrong("this is a car file without a book", right));
        }
        if refused.is_input() {
            let field = refused.field().unwrap_or_default();
            let wrong = Wrong::new(field, refused.to_string(), refused.hint());
            return (StatusCode::UNPROCESSABLE_ENTITY, wrong);
        }
        self.site.say(&format!("not written: {refused} ({})", refused.hint()));
        let said = match refused {
            Refused::Store(why) => in_public(why),
            Refused::Clock(_) => Remark { what: refused.to_string(), right: refused.hint() },
            _ => in_public(&StoreError::Reader { path: Default::default() }),
        };
        (StatusCode::SERVICE_UNAVAILABLE, wrong(&said.what, &said.right))
    }

    /// Shows the screen again.
    pub(super) async fn refuse(
        self,
        status: StatusCode,
        wrong: Wrong,
        again: impl FnOnce(&View, &Fill) -> Markup + Send + 'static,
    ) -> Response {
        let fill = Fill::back(&self.name, self.sent, wrong);
        let why = NotWritten::of(&fill);
        let view = self.site.bench.look();
        let made = tokio::task::spawn_blocking(move || again(&view, &fill)).await;
        match made {
            Ok(body) => {
                (status, self.site.refused(self.prefs, self.screen, body, &why)).into_response()
            }
            Err(_) => tell::sorry(),
        }
    }
}

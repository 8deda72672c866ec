//! Word of every change, as server-sent events: one for each entry, its number as the id.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Extension;
use axum::body::Body;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use hyper::body::{Bytes, Frame};
use tokio::sync::{Notify, broadcast, watch};

use super::guard::Caller;
use super::site::{Shared, Site};

/// A line that means nothing, so that both sides notice a broken connection.
const EVERY: Duration = Duration::from_secs(10);

/// Streams of one device at one time. A browser has six connections to a page; with more than a few
/// of them held by tabs that listen, none is left to load a page or to send a form.
const STREAMS_MAX: usize = 3;

/// Who listens: by device, in the order in which they came.
#[derive(Debug, Default)]
pub(super) struct Listeners(Mutex<BTreeMap<u32, Vec<Arc<Notify>>>>);

/// One that listens; its place is given back when it is dropped.
struct Listening {
    site: Shared,
    device: u32,
    leave: Arc<Notify>,
}

impl Listening {
    /// One more of a device, 0 for this machine's own browser; the oldest of too many ends.
    fn begin(site: &Shared, device: u32) -> Self {
        let leave = Arc::new(Notify::new());
        let mut all = site.listeners.0.lock().unwrap_or_else(PoisonError::into_inner);
        let of_device = all.entry(device).or_default();
        of_device.push(Arc::clone(&leave));
        if STREAMS_MAX < of_device.len() {
            of_device.remove(0).notify_one();
        }
        Self { site: Arc::clone(site), device, leave }
    }
}

impl Drop for Listening {
    fn drop(&mut self) {
        let mut all = self.site.listeners.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(of_device) = all.get_mut(&self.device) {
            of_device.retain(|one| !Arc::ptr_eq(one, &self.leave));
            if of_device.is_empty() {
                all.remove(&self.device);
            }
        }
    }
}

/// The stream itself: the last entry known at once, then each as it comes.
pub(super) async fn events(
    State(site): State<Shared>,
    Extension(caller): Extension<Caller>,
) -> Response {
    let listening = Listening::begin(&site, caller.0.map_or(0, |device| device.id));
    // Listened first and looked afterwards: what comes in between is told twice, never missed.
    let told = site.bench.subscribe();
    let now = site.bench.look().seq();
    let first = Bytes::from(format!("retry: 1000\n{}", event(now)));
    let (ended, standing) = (site.ended(), site.standing.subscribe());
    let heard = Heard { told, ended, standing, listening, is_over: false };
    let stream = Events { first: Some(first), next: wait(heard) };
    let headers =
        [(header::CONTENT_TYPE, "text/event-stream"), (header::CACHE_CONTROL, "no-store")];
    (StatusCode::OK, headers, Body::new(stream)).into_response()
}

/// Tells every stream that it ends.
pub(super) fn end(site: &Site) {
    site.end();
}

fn event(seq: u64) -> String {
    format!("id: {seq}\nevent: change\ndata: {seq}\n\n")
}

/// The book is another one than it was, or back: pages are to say so, though no entry came.
const STANDING: &[u8] = b"event: standing\ndata:\n\n";

/// Another tab of this device listens now; this one may ask again when somebody looks at it.
const ENOUGH: &[u8] = b"event: enough\ndata:\n\n";

/// What a stream listens to.
struct Heard {
    told: broadcast::Receiver<u64>,
    ended: watch::Receiver<bool>,
    standing: watch::Receiver<u64>,
    listening: Listening,
    is_over: bool,
}

type Waiting = Pin<Box<dyn Future<Output = Option<(Bytes, Heard)>> + Send>>;

struct Events {
    first: Option<Bytes>,
    next: Waiting,
}

fn wait(mut heard: Heard) -> Waiting {
    Box::pin(async move {
        if heard.is_over {
            return None;
        }
        let bytes = tokio::select! {
            () = heard.listening.leave.notified() => {
                heard.is_over = true;
                Bytes::from_static(ENOUGH)
            }
            _ = heard.ended.wait_for(|ended| *ended) => return None,
            changed = heard.standing.changed() => match changed {
                Ok(()) => Bytes::from_static(STANDING),
                Err(_) => return None,
            },
            change = heard.told.recv() => match change {
                Ok(seq) => Bytes::from(event(seq)),
                // Too many at once for a slow reader: the last is as good as all.
                Err(broadcast::error::RecvError::Lagged(_)) => {
                    Bytes::from(event(heard.listening.site.bench.look().seq()))
                }
                Err(broadcast::error::RecvError::Closed) => return None,
            },
            () = tokio::time::sleep(EVERY) => Bytes::from_static(b":\n\n"),
        };
        Some((bytes, heard))
    })
}

impl hyper::body::Body for Events {
    type Data = Bytes;
    type Error = Infallible;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Infallible>>> {
        if let Some(first) = self.first.take() {
            return Poll::Ready(Some(Ok(Frame::data(first))));
        }
        match self.next.as_mut().poll(context) {
            Poll::Pending => Poll::Pending,
            Poll::Ready(None) => Poll::Ready(None),
            Poll::Ready(Some((bytes, heard))) => {
                self.next = wait(heard);
                Poll::Ready(Some(Ok(Frame::data(bytes))))
            }
        }
    }
}

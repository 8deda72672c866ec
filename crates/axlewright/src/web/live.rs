//! Word of every change, as server-sent events: one for each entry, its number as the id.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::body::Body;
use axum::extract::State;
use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use hyper::body::{Bytes, Frame};
use tokio::sync::{broadcast, watch};

use super::site::{Shared, Site};

/// A line that means nothing, so that both sides notice a broken connection.
const EVERY: Duration = Duration::from_secs(10);

/// The stream itself: the last entry known at once, then each as it comes.
pub(super) async fn events(State(site): State<Shared>) -> Response {
    // Listened first and looked afterwards: what comes in between is told twice, never missed.
    let told = site.bench.subscribe();
    let now = site.bench.look().seq();
    let first = Bytes::from(format!("retry: 1000\n{}", event(now)));
    let heard = Heard { told, ended: site.ended(), standing: site.standing.subscribe(), site };
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

/// What a stream listens to.
struct Heard {
    told: broadcast::Receiver<u64>,
    ended: watch::Receiver<bool>,
    standing: watch::Receiver<u64>,
    site: Shared,
}

type Waiting = Pin<Box<dyn Future<Output = Option<(Bytes, Heard)>> + Send>>;

struct Events {
    first: Option<Bytes>,
    next: Waiting,
}

fn wait(mut heard: Heard) -> Waiting {
    Box::pin(async move {
        let bytes = tokio::select! {
            _ = heard.ended.wait_for(|ended| *ended) => return None,
            changed = heard.standing.changed() => match changed {
                Ok(()) => Bytes::from_static(STANDING),
                Err(_) => return None,
            },
            change = heard.told.recv() => match change {
                Ok(seq) => Bytes::from(event(seq)),
                // Too many at once for a slow reader: the last is as good as all.
                Err(broadcast::error::RecvError::Lagged(_)) => {
                    Bytes::from(event(heard.site.bench.look().seq()))
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

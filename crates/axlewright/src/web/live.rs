//! Word of every change, as server-sent events: one for each entry, its number as the id.

use std::convert::Infallible;
use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
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
    let stream = Events { first: Some(first), next: wait(told, site.ended(), Arc::clone(&site)) };
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

type Next = Option<(Bytes, broadcast::Receiver<u64>, watch::Receiver<bool>, Shared)>;
type Waiting = Pin<Box<dyn Future<Output = Next> + Send>>;

struct Events {
    first: Option<Bytes>,
    next: Waiting,
}

fn wait(
    mut told: broadcast::Receiver<u64>,
    mut ended: watch::Receiver<bool>,
    site: Shared,
) -> Waiting {
    Box::pin(async move {
        let bytes = tokio::select! {
            _ = ended.wait_for(|ended| *ended) => return None,
            change = told.recv() => match change {
                Ok(seq) => Bytes::from(event(seq)),
                // Too many at once for a slow reader: the last is as good as all.
                Err(broadcast::error::RecvError::Lagged(_)) => {
                    Bytes::from(event(site.bench.look().seq()))
                }
                Err(broadcast::error::RecvError::Closed) => return None,
            },
            () = tokio::time::sleep(EVERY) => Bytes::from_static(b":\n\n"),
        };
        Some((bytes, told, ended, site))
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
            Poll::Ready(Some((bytes, told, ended, site))) => {
                self.next = wait(told, ended, site);
                Poll::Ready(Some(Ok(Frame::data(bytes))))
            }
        }
    }
}

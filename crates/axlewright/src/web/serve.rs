//! The listening socket: loopback unless asked otherwise, a bounded number of connections, no
//! patience for those who send or take their bytes drop by drop, and a quiet end.

use std::io;
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, UdpSocket};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use axum::Router;
use axum::body::Body;
use hyper::body::Incoming;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use tokio::time::timeout;

use super::doors::{Doors, Place};
use super::pairing::Pairing;
use super::site::{Lan, Say, Site};
use super::tls::Tls;

use super::{live, screens, standing};
use crate::desk::bench::Bench;

/// From the first byte of a request's head to its last, or to the next request.
const HEAD_WITHIN: Duration = Duration::from_secs(15);
/// The same for who is not paired, and how long such a connection may last.
const STRANGERS_HEAD_WITHIN: Duration = Duration::from_secs(5);
const STRANGERS_WITHIN: Duration = Duration::from_secs(30);
/// A connection is closed after this long, whatever it does; pages ask again by themselves.
const CONNECTION_WITHIN: Duration = Duration::from_secs(15 * 60);
/// How long requests may take to finish after the end was asked for.
const END_WITHIN: Duration = Duration::from_secs(3);
/// Largest head of a request, in bytes.
const HEAD_BYTES_MAX: usize = 32 * 1024;

/// How to serve.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Options {
    /// The port; 0 for any free one.
    pub port: u16,
    /// Whether other devices on the local network may pair and use it.
    pub lan: bool,
    /// Whether what goes to other devices is encrypted.
    pub tls: bool,
    /// Who writes where a device names nobody.
    pub by: String,
}

/// Why nothing is served.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port is not to be had.
    #[error("cannot listen on port {port}: {why}")]
    Port {
        /// Which.
        port: u16,
        /// What the system says.
        why: io::Error,
    },
    /// The system gives no threads or no randomness.
    #[error("cannot start the page: {0}")]
    System(io::Error),
}

impl ServeError {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::Port { why, .. } if why.kind() == io::ErrorKind::AddrInUse => {
                "something listens there already, perhaps this program: open that page, or choose \
                 another port with `--port`"
                    .to_owned()
            }
            Self::Port { .. } => "choose another port with `--port`, above 1024".to_owned(),
            Self::System(_) => "close other programs and try again".to_owned(),
        }
    }
}

/// Where a request came in and from whom.
#[derive(Debug, Clone)]
pub(super) struct Reached {
    /// Our end.
    pub(super) local: SocketAddr,
    /// The other end.
    pub(super) peer: IpAddr,
    /// The connection's place.
    pub(super) place: Arc<Place>,
    /// Whether nobody on the way can read it.
    pub(super) is_secret: bool,
}

impl Reached {
    /// Whether it is this machine's own browser.
    pub(super) fn is_own(&self) -> bool {
        is_own(self.local.ip())
    }
}

/// The address under which this machine speaks to itself, and that nobody else reaches.
fn is_own(local: IpAddr) -> bool {
    local == Ipv4Addr::LOCALHOST || local == Ipv6Addr::LOCALHOST
}

/// A page that is being served, until it is stopped.
#[derive(Debug)]
pub struct Running {
    local: SocketAddr,
    site: Arc<Site>,
    end: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Running {
    /// Where this machine's own browser finds it.
    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.local.port())
    }

    /// The port.
    pub fn port(&self) -> u16 {
        self.local.port()
    }

    /// Where other devices pair, with the code that is good for one of them; nothing where only
    /// this machine is served.
    pub fn invitation(&self) -> Option<String> {
        self.site.invitation()
    }

    /// The fingerprint of the certificate that other devices are shown; nothing where what goes to
    /// them is not encrypted.
    pub fn fingerprint(&self) -> Option<&str> {
        self.site.tls.as_ref().map(Tls::fingerprint)
    }

    /// The code alone.
    pub fn pairing_code(&self) -> Option<String> {
        self.site.code()
    }

    /// Ends it: no new connections, those at work may finish.
    pub fn stop(mut self) {
        self.end_now();
    }

    /// Waits until somebody asks the program to end.
    pub fn wait(mut self) {
        if let Some(thread) = self.thread.take() {
            // A panicked server has ended, which is what was waited for.
            let _ = thread.join();
        }
    }

    fn end_now(&mut self) {
        // Nobody listens any more where the server has ended by itself.
        let _ = self.end.send(true);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        self.end_now();
    }
}

/// Starts serving a car on threads of its own. It ends on Ctrl-C, when the system asks the program
/// to end, or with [`Running::stop`].
///
/// # Errors
/// When the port is taken, or the system gives no threads.
pub fn start(bench: Bench, options: Options, say: Say) -> Result<Running, ServeError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(ServeError::System)?;
    let address = if options.lan { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let refused = |why| ServeError::Port { port: options.port, why };
    let listener = runtime.block_on(TcpListener::bind((address, options.port))).map_err(refused)?;
    let local = listener.local_addr().map_err(refused)?;
    // An address that the whole world may know is none to invite to: nobody is let in there.
    let own = if options.lan { own_address().filter(|own| is_private(*own)) } else { None };
    let pairing = options.lan.then(Pairing::default);
    if let Some(pairing) = &pairing {
        // Without randomness nobody could ever be let in.
        pairing.code(Instant::now()).map_err(ServeError::System)?;
    }
    let tls = options.tls.then(|| Tls::new(own)).transpose().map_err(ServeError::System)?;
    let own = own.map(|own| SocketAddr::new(own, local.port()));
    let lan = Lan { pairing, tls, own };
    let site = Arc::new(Site::new(bench, lan, (say, options.by)));
    let (end, ended) = watch::channel(false);
    // The first screen shows what comes next, which takes a moment to plan: begun before it is
    // asked for, and nothing is lost if it cannot be.
    let view = site.bench.look();
    let _ = std::thread::Builder::new().name("plan".to_owned()).spawn(move || {
        view.tonight();
    });
    let served = Arc::clone(&site);
    let thread = std::thread::Builder::new()
        .name("page".to_owned())
        .spawn(move || {
            runtime.block_on(listen(listener, served, ended));
            // Whoever does not finish in time is cut off; the log is written in whole lines.
            runtime.shutdown_timeout(END_WITHIN);
        })
        .map_err(ServeError::System)?;
    Ok(Running { local, site, end, thread: Some(thread) })
}

/// The page without a socket: every request counts as come in at `local`, an address of this
/// machine's own.
pub fn app(bench: Bench, by: String, local: SocketAddr) -> Router {
    let lan = Lan { pairing: None, tls: None, own: None };
    let site = Arc::new(Site::new(bench, lan, (Say::new(|_| ()), by)));
    let peer = local.ip();
    let place = Arc::new(Arc::new(Doors::default()).stranger(peer));
    screens::app(site).layer(axum::Extension(Reached { local, peer, place, is_secret: false }))
}

/// This machine's address on the local network. Nothing is sent: the system only says which
/// address it would use.
fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // Any address outside; 192.0.2.0/24 belongs to documentation (RFC 5737).
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    let address = socket.local_addr().ok()?.ip();
    (!address.is_unspecified()).then_some(address)
}

/// Whether an address belongs to this machine or to a network that is somebody's own (RFC 1918,
/// RFC 3927). A page that was never meant for the whole world is not shown to it, whichever way the
/// machine is connected.
fn is_private(address: IpAddr) -> bool {
    match address {
        IpAddr::V4(ip) => ip.is_loopback() || ip.is_private() || ip.is_link_local(),
        IpAddr::V6(ip) => ip.is_loopback(),
    }
}

async fn listen(listener: TcpListener, site: Arc<Site>, mut ended: watch::Receiver<bool>) {
    let doors = Arc::new(Doors::default());
    let app = screens::app(Arc::clone(&site));
    let tended = tokio::spawn(standing::tend(Arc::clone(&site), site.ended()));
    let asked = asked_to_end();
    tokio::pin!(asked);
    loop {
        tokio::select! {
            _ = ended.changed() => break,
            () = &mut asked => break,
            accepted = listener.accept() => match accepted {
                Ok((stream, peer)) => let_in(stream, peer.ip(), &doors, &app, &site),
                // Out of file handles, or the other side has gone: the next one may do better.
                Err(_) => tokio::time::sleep(Duration::from_millis(50)).await,
            },
        }
    }
    drop(listener);
    live::end(&site);
    // All places free again means that every request has finished.
    let _ = timeout(END_WITHIN, doors.empty()).await;
    let _ = tended.await;
    let rested = tokio::task::spawn_blocking(move || site.bench.settle());
    // Closing the book does it again; what is in the way is nobody's loss.
    let _ = timeout(END_WITHIN, rested).await;
}

/// Gives a connection its place, or sends it away.
fn let_in(stream: TcpStream, peer: IpAddr, doors: &Arc<Doors>, app: &Router, site: &Arc<Site>) {
    let Ok(local) = stream.local_addr() else { return };
    if !is_private(peer) || !is_private(local.ip()) {
        return;
    }
    let place = if is_own(local.ip()) { doors.own() } else { Some(doors.stranger(peer)) };
    match place {
        Some(place) => {
            let reached = Reached { local, peer, place: Arc::new(place), is_secret: false };
            let place = Arc::clone(&reached.place);
            let (app, ended, site) = (app.clone(), site.ended(), Arc::clone(site));
            tokio::spawn(async move {
                tokio::select! {
                    () = connection(stream, app, reached, (ended, site)) => {}
                    () = overstayed(&place) => {}
                }
            });
        }
        None => {
            tokio::spawn(turn_away(stream));
        }
    }
}

/// Finds out how the other side wants to speak, and answers it.
async fn connection(
    stream: TcpStream,
    app: Router,
    mut reached: Reached,
    (ended, site): (watch::Receiver<bool>, Arc<Site>),
) {
    // Small answers at once; where the system does not know the option they come a little later.
    let _ = stream.set_nodelay(true);
    let tls = site.tls.as_ref().filter(|_| !reached.is_own());
    let Some(tls) = tls else { return answer(stream, app, reached, ended).await };
    let wanted = timeout(STRANGERS_HEAD_WITHIN, Tls::is_wanted(&stream)).await;
    match wanted {
        Ok(Ok(true)) => {
            let agreed = timeout(STRANGERS_HEAD_WITHIN, tls.accept(stream)).await;
            if let Ok(Ok(stream)) = agreed {
                reached.is_secret = true;
                answer(stream, app, reached, ended).await;
            }
        }
        // Sent on to where it is.
        Ok(Ok(false)) => answer(stream, app, reached, ended).await,
        _ => {}
    }
}

async fn answer(
    stream: impl AsyncRead + AsyncWrite + Unpin + Send + 'static,
    app: Router,
    reached: Reached,
    mut ended: watch::Receiver<bool>,
) {
    let patience = if reached.place.is_stranger() { STRANGERS_HEAD_WITHIN } else { HEAD_WITHIN };
    let app = TowerToHyperService::new(app);
    let service = hyper::service::service_fn(move |request: hyper::Request<Incoming>| {
        reached.place.has_asked();
        let mut request = request.map(Body::new);
        request.extensions_mut().insert(reached.clone());
        hyper::service::Service::call(&app, request)
    });
    let mut http = hyper::server::conn::http1::Builder::new();
    http.timer(TokioTimer::new()).header_read_timeout(patience).max_buf_size(HEAD_BYTES_MAX);
    let served = http.serve_connection(TokioIo::new(stream), service);
    tokio::pin!(served);
    let until_end = async {
        tokio::select! {
            _ = served.as_mut() => return,
            _ = ended.wait_for(|ended| *ended) => {}
        }
        served.as_mut().graceful_shutdown();
        let _ = served.await;
    };
    // A broken connection is the other side's affair; so is one that lasts too long.
    let _ = timeout(CONNECTION_WITHIN, until_end).await;
}

/// Waits until a stranger's place is needed, or has been held for long enough.
async fn overstayed(place: &Place) {
    tokio::select! {
        () = place.needed() => {}
        () = tokio::time::sleep(STRANGERS_WITHIN) => {}
    }
    if !place.is_stranger() {
        std::future::pending::<()>().await;
    }
}

/// Says in one line that there are too many.
async fn turn_away(mut stream: TcpStream) {
    const WORDS: &str = "Too many connections at one time. Close other pages and try again.\n";
    let answer = format!(
        "HTTP/1.1 503 Service Unavailable\r\nContent-Type: text/plain; charset=utf-8\r\n\
         Content-Length: {}\r\nRetry-After: 2\r\nConnection: close\r\n\r\n{WORDS}",
        WORDS.len()
    );
    let told = async {
        stream.write_all(answer.as_bytes()).await?;
        stream.shutdown().await
    };
    // Whoever does not take even this is left to himself.
    let _ = timeout(Duration::from_secs(2), told).await;
}

/// Ends when the terminal or the system asks the program to end.
async fn asked_to_end() {
    let interrupt = async {
        // Where no handler can be had, the system ends the program in its own way.
        if tokio::signal::ctrl_c().await.is_err() {
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminate = async {
        use tokio::signal::unix::{SignalKind, signal};
        // Asked to end, or the terminal it was started in was closed.
        let asked = (signal(SignalKind::terminate()), signal(SignalKind::hangup()));
        let (Ok(mut terminate), Ok(mut hangup)) = asked else {
            return std::future::pending::<()>().await;
        };
        tokio::select! {
            _ = terminate.recv() => {}
            _ = hangup.recv() => {}
        }
    };
    #[cfg(not(unix))]
    let terminate = std::future::pending::<()>();
    tokio::select! {
        () = interrupt => {}
        () = terminate => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_networks_of_ones_own_are_served() {
        let is_let_in = |text: &str| is_private(text.parse().unwrap());
        for own in ["127.0.0.1", "10.0.0.7", "172.16.0.1", "172.31.255.9", "192.168.178.20"] {
            assert!(is_let_in(own), "{own}");
        }
        assert!(is_let_in("169.254.3.4") && is_let_in("::1"));
        for other in ["8.8.8.8", "100.64.0.1", "172.32.0.1", "192.0.2.1", "0.0.0.0", "2001:db8::1"]
        {
            assert!(!is_let_in(other), "{other}");
        }
    }
}

//! The page encrypted, for devices on the network: with a certificate of our own making, new at
//! each start, that no authority vouches for. A browser says so and asks; its fingerprint stands in
//! the pairing picture and beside it, to compare. What goes over the air is then readable by nobody
//! else, and a browser lets such a page ask for the camera.

use std::io;
use std::net::IpAddr;
use std::sync::Arc;

use rcgen::{CertificateParams, DistinguishedName, DnType, KeyPair, date_time_ymd};
use sha2::{Digest, Sha256};
use tokio::net::TcpStream;
use tokio_rustls::rustls::crypto::ring::default_provider;
use tokio_rustls::rustls::pki_types::PrivatePkcs8KeyDer;
use tokio_rustls::rustls::version::TLS13;
use tokio_rustls::rustls::{self, ServerConfig};
use tokio_rustls::server::TlsStream;

use crate::desk::clock;

/// How a browser begins to speak in secret (RFC 8446, section 5.1: a handshake record).
const HANDSHAKE: u8 = 0x16;

/// What it takes to encrypt a connection.
#[derive(Clone)]
pub(super) struct Tls {
    acceptor: tokio_rustls::TlsAcceptor,
    fingerprint: String,
}

impl std::fmt::Debug for Tls {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Tls")
    }
}

impl Tls {
    /// With a fresh key and a certificate for this machine's address.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub(super) fn new(own: Option<IpAddr>) -> io::Result<Self> {
        let other = |why: rcgen::Error| io::Error::other(why.to_string());
        let names = own.map(|own| own.to_string()).into_iter().chain(["localhost".to_owned()]);
        let mut params = CertificateParams::new(names.collect::<Vec<String>>()).map_err(other)?;
        params.distinguished_name = DistinguishedName::new();
        params.distinguished_name.push(DnType::CommonName, "Axlewright on the bench");
        // Some browsers take none that is good for more than a year or so.
        let (year, month) = clock::year_and_month();
        params.not_before = date_time_ymd(year, month, 1);
        params.not_after = date_time_ymd(year + 1, month, 1);
        let key = KeyPair::generate().map_err(other)?;
        let certificate = params.self_signed(&key).map_err(other)?;
        let fingerprint = spelt(&Sha256::digest(certificate.der()));
        let key = PrivatePkcs8KeyDer::from(key.serialize_der());
        let refused = |why: rustls::Error| io::Error::other(why.to_string());
        let mut config = ServerConfig::builder_with_provider(Arc::new(default_provider()))
            .with_protocol_versions(&[&TLS13])
            .map_err(refused)?
            .with_no_client_auth()
            .with_single_cert(vec![certificate.der().clone()], key.into())
            .map_err(refused)?;
        config.alpn_protocols = vec![b"http/1.1".to_vec()];
        Ok(Self { acceptor: Arc::new(config).into(), fingerprint })
    }

    /// The certificate's SHA-256, as browsers show it.
    pub(super) fn fingerprint(&self) -> &str {
        &self.fingerprint
    }

    /// Whether the other side wants to speak in secret. Waits for its first byte.
    pub(super) async fn is_wanted(stream: &TcpStream) -> io::Result<bool> {
        let mut first = [0];
        Ok(stream.peek(&mut first).await? == 1 && first == [HANDSHAKE])
    }

    /// Agrees on a key with the other side.
    pub(super) async fn accept(&self, stream: TcpStream) -> io::Result<TlsStream<TcpStream>> {
        self.acceptor.accept(stream).await
    }
}

/// `AB:CD:…`
fn spelt(bytes: &[u8]) -> String {
    let pairs: Vec<String> = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
    pairs.join(":")
}

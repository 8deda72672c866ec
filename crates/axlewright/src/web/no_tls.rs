//! A program that was built without encryption says so when it is asked for.

use std::io;
use std::net::IpAddr;

use tokio::net::TcpStream;

/// There is none.
#[derive(Debug, Clone)]
pub(super) enum Tls {}

impl Tls {
    /// Refuses.
    ///
    /// # Errors
    /// Always.
    pub(super) fn new(_: Option<IpAddr>) -> io::Result<Self> {
        Err(io::Error::other("this program was built without encryption (the feature `tls`)"))
    }

    pub(super) fn fingerprint(&self) -> &str {
        match *self {}
    }

    pub(super) async fn is_wanted(_: &TcpStream) -> io::Result<bool> {
        Ok(false)
    }

    pub(super) async fn accept(&self, _: TcpStream) -> io::Result<TcpStream> {
        match *self {}
    }
}

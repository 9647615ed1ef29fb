//! Who is at the other end of a request.

use std::net::SocketAddr;

/// An extension of every request: the device that sent it and whether the way here was encrypted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peer {
    pub addr: SocketAddr,
    pub tls: bool,
}

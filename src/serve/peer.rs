//! Who is at the other end of a request.

use std::net::SocketAddr;

/// An extension of every request: the device that sent it, whether the way here was encrypted, and whether it asked
/// for this server by its name on the LAN.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Peer {
    pub addr: SocketAddr,
    pub tls: bool,
    pub by_name: bool,
}

impl Peer {
    /// A connection of which nothing is known yet but its ends.
    pub fn at(addr: SocketAddr, tls: bool) -> Self {
        Peer { addr, tls, by_name: false }
    }

    /// This machine itself, unencrypted: what a router driven in process stands for.
    pub fn here() -> Self {
        Self::at(([127, 0, 0, 1], 0).into(), false)
    }
}
